"""Job lists that are not what they seem: the right answer, or one line and nothing written."""

from __future__ import annotations

import csv
import io
import os
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest

from abuse.hostile import HEADINGS, Done, run
from hoppersheet.tables.joblist import book_output, text_files

HEAD = ",".join(HEADINGS) + "\n"
JOB = "A,100,4,36.5\n"
GOOD = HEAD + JOB


def sized(path: Path, content: str | bytes, ending: str = ".csv") -> tuple[Done, Path]:
    """Write a list, size it; how that ended, and the output."""
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    out = path.with_name(f"out{ending}")
    done = run("size", path, "--out", out)
    assert [p.name for p in path.parent.iterdir() if p.name.startswith(".")] == []
    return done, out


def rows(path: Path) -> list[list[str]]:
    text = path.read_text("utf-8-sig")
    separator = ";" if text.count(";") > text.count(",") else ","
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))


# --- what other programs write ------------------------------------------------------------


@pytest.mark.parametrize(
    "content",
    [
        GOOD.replace("\n", "\r"),
        GOOD.replace("\n", "\r\n").encode("utf-8-sig"),
        GOOD.encode("utf-16"),
        GOOD.encode("utf-16-le"),
        GOOD.encode("utf-16-be"),
        GOOD.replace(",", ";").replace("36.5", "36,5"),
        GOOD.replace(",", "\t").replace("36.5", "36,5"),
        GOOD.replace("36.5", '"36,5"'),
        "Quote of 2026\n\n" + GOOD + "\n\n,,,\n",
        GOOD.replace("A,", "\0A,"),
        GOOD.replace("A,", "\x1b]0;x\x07,"),
        GOOD.replace("A,", '"A ""12 in"" press",'),
        GOOD.replace("A,", 'A 12" press,'),
        GOOD.replace("A,", '"A, with\na note, and one more",'),
    ],
)
def test_a_list_in_another_dress_gives_the_same_hopper(content: str | bytes, tmp_path) -> None:
    # common practice, no source: 4 h x 100 lb/h / 36.5 lb/ft3 = 10.96 ft3, so 12 ft3
    done, out = sized(tmp_path / "jobs.csv", content)
    assert (done.status, done.err) == (0, "")
    assert (
        "1 job sized, 0 with a problem" in done.out
        and "\x1b" not in done.out
        and "\x07" not in done.out
    )
    table = rows(out)
    at = next(i for i, row in enumerate(table) if "throughput" in row)
    found = dict(zip(table[at], table[at + 1], strict=True))
    assert found["next size [ft3]"] == "12"
    assert len(table) == at + 2  # empty lines at the end do not come out again


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no heading row"),
        (b"\xef\xbb\xbf", "no heading row"),
        (b"\0" * 5000, "no heading row"),
        (b"\xff\xfe\0", "no heading row"),
        (os.urandom(0) + bytes(range(256)) * 40, "no heading row"),
        (HEAD + f'"{"x" * 140_000}",100,4,36.5\n', "line 2"),
        (HEAD.replace("virgin density", "throughput") + JOB, "twice"),
        (HEAD.replace("job", "virgin density [lb/ft3]") + JOB, "could both be"),
        (GOOD + '"B,100,4,36.5\nC,100,4,36.5\n', "line 3: a quotation mark is opened"),
        (GOOD + '"B,100,4,36.5\nC,100,4,36.5\nD",100,4,36.5\n', "lines 3 to 5 are one row"),
        (GOOD + "\n" * 10_001 + JOB, "row 10004 is 10001 empty rows below"),
        (HEAD.strip() + "," * 17_000 + "\n" + JOB, "columns"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_a_list_that_cannot_be_right_is_refused(content, words, ending, tmp_path) -> None:
    done, out = sized(tmp_path / "jobs.csv", content, ending)
    assert done.one_line and words in done.err, done
    assert not out.exists()


def test_a_single_endless_line_is_not_read_into_memory(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(text_files, "_LONGEST_LINE", 3 * 2**20)
    for encoding in ("utf-8", "utf-16"):
        done, _ = sized(tmp_path / "jobs.csv", ("a" * 5 * 2**20).encode(encoding))
        assert done.one_line and "a line of more than 3 MB" in done.err
    many = HEAD + JOB * 400_000  # 5 MB in lines is fine
    jobs = tmp_path / "jobs.csv"
    jobs.write_text(many)
    assert text_files._encoding(jobs.open("rb"), "jobs") == "utf-8-sig"


def test_an_endless_standard_input_is_cut(tmp_path) -> None:
    code = (
        "import sys; from hoppersheet.tables.joblist import opening; opening._MOST_TYPED = 2**20;"
        "sys.argv[1:] = ['size', '-']; from hoppersheet.cli import main; main()"
    )
    with Path("/dev/zero").open("rb") as endless:
        done = subprocess.run(
            [sys.executable, "-c", code], stdin=endless, capture_output=True, timeout=60
        )
    assert done.returncode == 2 and b"larger than 1 MB" in done.stderr


# --- text that a spreadsheet would run ----------------------------------------------------

LIVE = (
    "=1+1", "+1+1", "-1+1", "@SUM(A1)", "=cmd|' /C calc'!A0", "\t=1+1", "\r=1+1", "\n=1+1",
    " =1+1", "\uff1d1+1", "\uff0b1", "\uff20x", "x;=1+1", "x; =1+1", "x;@x", '=HYPERLINK("http://x")',
    '"=1+1', "'=1+1", "=", "-", "+",
)  # fmt: skip
TAME = ("-5", "+4.5", "A-1", "1=1", "a@b", "00123", "'", "x; y", "")


def test_no_text_becomes_a_formula(tmp_path: Path) -> None:
    """In any column: a job, a heading, a number that is none, another column, a model."""
    catalog = tmp_path / "catalog.csv"
    with catalog.open("w", newline="") as file:
        csv.writer(file).writerows([["size", "model"], [16, "=2+2"], [40, "x;=3+3"]])
    jobs = tmp_path / "jobs.csv"
    with jobs.open("w", newline="", encoding="utf-8") as file:
        write = csv.writer(file).writerow
        write(["=1+1 note", *HEADINGS, "@other"])
        for text in (*LIVE, *TAME):
            write([text, text, 100, 4, 36.5, text])
            write(["in the way", "B", text or "=", 4, 36.5, ""])
    for ending in (".csv", ".tsv", ".xlsx"):
        out = tmp_path / f"out{ending}"
        assert run("size", jobs, "--catalog", catalog, "--out", out).status == 1
        if ending == ".xlsx":
            sheet = openpyxl.load_workbook(out).active
            cells = [cell for line in sheet.iter_rows() for cell in line]
            assert {c.data_type for c in cells} <= {"s", "inlineStr", "n"}
            first = [sheet.cell(2 * i + 2, 1).value for i in range(len(LIVE))]
            # XML has one kind of line end (XML 1.0, 2.11), so \r cannot come back as it was
            assert [v.replace("\r", "\n") for v in first] == [v.replace("\r", "\n") for v in LIVE]
            continue
        text = out.read_text("utf-8-sig")
        # As our own separator cuts it, and as a program with a decimal comma cuts it.
        for separator in (",", ";") if ending == ".csv" else ("\t",):
            for line in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
                for cell in line:
                    lone = cell.strip('" ')
                    assert not lone.startswith(("=", "@", "\uff1d", "\uff0b", "\uff20")), cell
                    if lone.startswith(("+", "-")):
                        assert lone.split(",")[0] in TAME, cell
        if ending == ".csv":
            first = [row[0] for row in rows(out)[1::2]]
            assert first[len(LIVE) :] == list(TAME)


def test_signs_that_no_xml_allows_do_not_break_the_workbook(tmp_path: Path) -> None:
    """Production 2 of XML 1.0 has none of these; a program would call the file damaged."""
    signs = "".join(map(chr, (*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF)))
    done, out = sized(tmp_path / "jobs.csv", GOOD.replace("A,", f"A{signs}B,"), ".xlsx")
    assert done.status == 0
    value = openpyxl.load_workbook(out).active["A2"].value
    assert value == "A" + "\ufffd" * len(signs) + "B"


# --- as large as a worksheet --------------------------------------------------------------


def test_more_columns_or_rows_than_a_worksheet_has(tmp_path: Path, monkeypatch) -> None:
    wide = HEAD.strip() + "".join(f",c{i}" for i in range(16_380)) + "\n" + JOB
    done, out = sized(tmp_path / "jobs.csv", wide, ".xlsx")
    assert done.one_line and "16395 columns" in done.err and not out.exists()
    done, out = sized(tmp_path / "jobs.csv", wide)
    assert done.status == 0 and len(rows(out)[1]) == 16_395
    monkeypatch.setattr(book_output, "ROWS", 1000)
    for count, fits in ((999, True), (1000, False)):
        out.with_suffix(".xlsx").unlink(missing_ok=True)
        done, out = sized(tmp_path / "jobs.csv", HEAD + JOB * count, ".xlsx")
        assert out.exists() == fits == (done.status == 0)
        assert fits or (done.one_line and "longer than a worksheet" in done.err)


def test_dates_of_a_1904_workbook_pass_through_as_the_same_days(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    sheet = book.active
    sheet.append([*HEADINGS, "due"])
    sheet.append(["A", 100, 4, 36.5, datetime(2026, 3, 4)])
    sheet.append(
        [datetime(2026, 3, 4), 100, datetime(2026, 3, 4), 36.5, datetime(2026, 3, 4, 5, 6)]
    )
    book.save(tmp_path / "jobs.xlsx")
    for ending in (".xlsx", ".csv"):
        out = tmp_path / f"out{ending}"
        done = run("size", tmp_path / "jobs.xlsx", "--out", out)
        assert done.status == 1 and "row 3: drying hours" in done.err and "a date" in done.err
        if ending == ".csv":
            assert [row[4] for row in rows(out)] == ["due", "2026-03-04", "2026-03-04 05:06:00"]
            assert rows(out)[2][0] == "2026-03-04"
        else:
            assert openpyxl.load_workbook(out).active["E2"].value == datetime(2026, 3, 4)


# --- things that are no files -------------------------------------------------------------


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_a_folder_a_pipe_and_a_device_are_no_lists(ending: str, tmp_path: Path) -> None:
    folder, pipe = tmp_path / f"folder{ending}", tmp_path / f"pipe{ending}"
    folder.mkdir()
    os.mkfifo(pipe)
    device = tmp_path / f"device{ending}"
    device.symlink_to("/dev/zero")
    for path, word in ((folder, "folder"), (pipe, "pipe"), (device, "device")):
        for words in (("size", path), ("size", __file__[:-3] + ".csv", "--catalog", path)):
            done = run(*words)
            assert done.one_line and word in done.err
    done = run("size", tmp_path / ("long" * 66 + ending))
    assert done.one_line and "too long" in done.err
