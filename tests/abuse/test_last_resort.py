"""Whatever goes wrong: one line, status 2, no traceback, and nothing that steers a terminal."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy
import pytest

from abuse.hostile import JOB, SHEET, book, cell, make, row, run, sheet
from hoppersheet import CellError, call
from hoppersheet.screen import LONGEST_LINE, Screen, json_text
from hoppersheet.tables.headings import read_headings
from hoppersheet.tables.job_rows import JOB_COLUMNS


@pytest.mark.parametrize(
    "problem",
    [
        ZeroDivisionError("float division by zero"),
        KeyError("xl/worksheets/\x1b[2Jsheet1.xml"),
        OSError([("file", "copy", "no space left on device")] * 2000),
        AssertionError(),
        UnicodeEncodeError("utf-8", "\udcff", 0, 1, "surrogates not allowed"),
        MemoryError(),
        RecursionError(),
    ],
)
def test_what_nobody_thought_of(problem: Exception, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise problem

    monkeypatch.setattr("hoppersheet.workbook.names.put_plain_names", fails)
    done = run("names", "book.xlsx", "--out", "out.xlsx")
    lines = done.err.splitlines()
    assert (done.status, done.out, len(lines)) == (2, "", 1)
    assert lines[0].startswith("hoppersheet: ") and len(lines[0]) <= LONGEST_LINE + 20
    assert lines[0].isprintable()


@pytest.mark.parametrize(
    "words", [("size",), ("nosuch",), ("--nosuch",), ("functions", "HOPPER_X"), ("audit", "a", "b")]
)
def test_wrong_usage_is_one_line(words: tuple[str, ...]) -> None:
    assert run(*words).one_line


STEERING = "\x1b]0;title\x07\x1b[2J\x9b31m\u202etxt.\x7f"


def test_signs_that_steer_a_terminal_are_cleaned() -> None:
    below = io.StringIO()
    screen = Screen(below)
    print(f"a{STEERING}\tb", file=screen)
    assert below.getvalue() == "a\ufffd]0;title\ufffd\ufffd[2J\ufffd31m\ufffdtxt.\ufffd\tb\n"
    assert json.loads(json_text({STEERING: [float("inf"), float("nan"), (1.5,)]})) == {
        STEERING: ["inf", "nan", [1.5]]
    }
    assert json_text(STEERING).isprintable()


def test_names_of_sheets_and_parts_that_steer_a_terminal(tmp_path: Path) -> None:
    named = make(tmp_path / "named.xlsx", **{"xl/workbook.xml": book(name="One\u009b31mTwo")})
    twice = make(tmp_path / "twice.xlsx", **{"xl/\x1b[2Ja.xml": "<a/>", "xl/\x1b[2JA.xml": "<a/>"})
    for path in (named, twice):
        for words in (("audit", path, "--engine", "core"), ("size", path)):
            done = run(*words)
            assert not set(STEERING) - set("txt.itle02J]3[1m;\t\n") & set(done.out + done.err)
    done = run("audit", named, "--engine", "core", "--json")
    assert "\u009b" not in done.out and json.loads(done.out)


def test_a_stored_infinite_value_is_refused_in_one_line(tmp_path: Path) -> None:
    rows = JOB + f'<row r="3">{cell("A3", "1e999")}</row>'.replace(
        'A3" t="inlineStr"><is><t xml:space="preserve">1e999</t></is>', 'A3"><v>1e999</v>'
    )
    done = run("audit", make(tmp_path / "b.xlsx", **{SHEET: sheet(rows)}), "--json")
    assert done.one_line and "A3 holds '1e999'" in done.err


def test_a_value_that_becomes_infinite_makes_no_broken_json(tmp_path: Path) -> None:
    rows = JOB + f'<row r="3">{cell("A3", 1, "1E308*10")}</row>'
    rows += f'<row r="4">{cell("A4", 4, "HOPPER_REQUIRED_VOLUME(A3,C2,D2)")}</row>'
    done = run(
        "audit", make(tmp_path / "b.xlsx", **{SHEET: sheet(rows)}), "--engine", "core", "--json"
    )
    json.loads(done.out, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))


@pytest.mark.parametrize(
    "text", ["a(" * 1000, "a( " * 700, "a[ " * 700 + "]", "a ," * 700, "%" * 2000]
)
def test_a_long_heading_is_read_in_one_pass(text: str) -> None:
    """17 s when each bracket was tried as the first; a test of its kind ends the suite's budget."""
    for _ in range(200):
        assert read_headings([text], JOB_COLUMNS) == {}


def test_a_duration_of_numpy_is_refused_like_any_text() -> None:
    with pytest.raises(CellError, match="#VALUE! drying_hours"):
        call("HOPPER_REQUIRED_VOLUME", 220, numpy.timedelta64(4, "h"), 36.4)


def test_a_gap_in_the_catalog_of_a_book(tmp_path: Path) -> None:
    rows = row(1, 12, "EXAMPLE-12") + row(3, 30, "EXAMPLE-30")
    rows += f'<row r="4">{cell("A4", "", "HOPPER_CATALOG_ENTRY(30,A1:A3,B1:B3)")}</row>'
    path = make(tmp_path / "b.xlsx", **{SHEET: sheet(rows)})
    done = run("audit", path, "--engine", "core")
    assert (done.status in (0, 1) and "examined" in done.out) or "cell" in done.out, done


def test_a_text_that_a_program_with_tabs_would_run(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs.csv"
    jobs.write_text("job,throughput,drying hours,virgin density,note\nA,220,3.5,40,x\t=1+1\n")
    assert run("size", jobs, "--out", tmp_path / "out.csv").status == 0
    assert "x\t'=1+1" in (tmp_path / "out.csv").read_text("utf-8-sig")
