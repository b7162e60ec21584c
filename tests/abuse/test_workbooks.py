"""Workbooks that a nasty customer would send: one clear line, or a correct result; never half.

Structure of the parts after ECMA-376 part 1. ``tests/workbook/test_package.py`` attacks the reader;
here every command that takes a workbook is attacked through the command line.
"""

from __future__ import annotations

import os
import re
import zipfile
from collections.abc import Callable
from pathlib import Path
from xml.sax.saxutils import escape

import openpyxl
import pytest

from abuse.hostile import (
    BOOK,
    COMMANDS,
    HEADINGS,
    JOB,
    MAIN,
    MASS,
    OFFICE,
    PACKAGE,
    RELS,
    SHEET,
    STRINGS,
    STYLES,
    book,
    cell,
    each_command,
    make,
    relations,
    row,
    run,
    sheet,
)  # fmt: skip
from hoppersheet.workbook import archive, sheet_scan
from hoppersheet.workbook.package import Package
from hoppersheet.workbook.safe_xml import elements

Make = Callable[[Path], None]


def whole(out: Path, opens: bool = True, source: Path | None = None) -> None:
    """The output opens in another reader, and every part that is not as it came is XML."""
    came = {}
    if source is not None:
        with zipfile.ZipFile(source) as archive:
            came = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(out) as archive:
        assert archive.testzip() is None
        for name in archive.namelist():
            part = archive.read(name)
            if name.endswith((".xml", ".rels", ".vml")) and part != came.get(name):
                elements(part, name)
    if opens:
        openpyxl.load_workbook(out)


def opens_elsewhere(path: Path) -> bool:
    """Whether openpyxl reads the workbook as it came; a copy of a broken one is broken too."""
    try:
        openpyxl.load_workbook(path)
    except Exception:
        return False
    return True


# --- refused by every command -------------------------------------------------------------

_LAUGHS = "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(8))
LAUGHTER = f'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">{_LAUGHS}]>'


def _changed(**parts: str | bytes | None) -> Make:
    return lambda path: void(make(path, **parts))


def void(_: object) -> None:
    """Nothing."""


def _bytes(change: Callable[[bytes], bytes]) -> Make:
    return lambda path: void(path.write_bytes(change(make(path).read_bytes())))


REFUSED: dict[str, tuple[Make, str]] = {
    "zip bomb": (_changed(**{STRINGS: b"<sst>" + b"a" * 30_000_000}), "times its packed size"),
    "zip bomb of settings": (_changed(**{STYLES: b"<a/>" * 5_000_000}), "is 19 MB large"),
    "zip bomb in a picture": (_changed(**{"xl/media/a.png": bytes(20_000_000)}), "packed size"),
    "billion laughs in a sheet": (
        _changed(**{SHEET: LAUGHTER + sheet(row(1, *HEADINGS) + row(2, "&i;", 100, 4, 36.5))}),
        "document type",
    ),
    "billion laughs in UTF-16": (
        _changed(**{STRINGS: (LAUGHTER + "<sst>&i;</sst>").encode("utf-16")}),
        "document type",
    ),
    "a file named in an entity": (
        _changed(**{SHEET: '<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]>' + sheet()}),
        "document type",
    ),
    "too many parts": (_changed(**{f"xl/{i}.bin": "" for i in range(101)}), "parts"),
    "17 billion merged cells": (
        _changed(**{
            SHEET: sheet(after='<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>')
        }),
        "merges 17179869184 cells",
    ),
    "cut in half": (_bytes(lambda data: data[: len(data) // 2]), "damaged or cut short"),
    "cut at the end": (_bytes(lambda data: data[:-10]), "damaged or cut short"),
    "no zip": (lambda path: void(path.write_bytes(b"job,throughput\n")), "not an .xlsx"),
    "empty": (lambda path: void(path.write_bytes(b"")), "empty"),
    "NUL bytes": (lambda path: void(path.write_bytes(bytes(10_000))), "not an .xlsx"),
    "a password, or an old .xls": (
        lambda path: void(path.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))),
        "password",
    ),
    "an .ods under another name": (
        _changed(mimetype="application/vnd.oasis.opendocument.spreadsheet"),
        "OpenDocument",
    ),
    "a folder": (Path.mkdir, ""),
    "a pipe": (os.mkfifo, "pipe"),
    "an endless device": (lambda path: path.symlink_to("/dev/zero"), "device"),
    "not there": (lambda path: None, ""),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_refused_by_every_command_in_one_line(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archive, "MOST_PARTS", 100)
    path = tmp_path / "book.xlsx"
    REFUSED[name][0](path)
    for command, (done, out) in each_command(path).items():
        assert done.one_line, (command, done)
        assert "book.xlsx" in done.err and REFUSED[name][1] in done.err, (command, done)
        assert not out.exists()


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("no sheet part", {SHEET: None}),
        ("no workbook part", {BOOK: None}),
        ("a sheet part outside the package", {
            RELS: relations().replace("worksheets/sheet1", "../../../../etc/passwd")
        }),
        ("an absurd shared string", {
            SHEET: sheet(row(1, *HEADINGS) + '<row r="2"><c r="A2" t="s"><v>99999999</v></c></row>')
        }),
        ("a number that is none", {
            SHEET: sheet(row(1, *HEADINGS) + '<row r="2"><c r="A2"><v>nan</v></c></row>')
        }),
        ("rows inside rows inside rows", {SHEET: sheet("<row>" * 50_000)}),
        ("an encoding of its own", {SHEET: '<?xml version="1.0" encoding="utf-7"?>' + sheet()}),
        ("a part of garbage", {SHEET: os.urandom(0) + bytes(range(256)) * 8}),
    ],
)  # fmt: skip
def test_damage_is_named_in_one_line(name: str, parts: dict, tmp_path: Path) -> None:
    """A command that need not look at what is damaged may do its work; nobody gives a traceback."""
    refused = 0
    for command, (done, out) in each_command(make(tmp_path / "book.xlsx", **parts)).items():
        if done.status == 2:
            assert done.one_line and not out.exists(), (command, done)
            refused += 1
        else:
            assert "Traceback" not in done.err
    assert refused >= 4, name


def test_more_cells_than_are_taken_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheet_scan, "MOST_CELLS", 1000)
    path = make(tmp_path / "book.xlsx", **{SHEET: sheet(f'<row r="1">{"<c/>" * 1001}</row>')})
    done = run("compute", path, "--engine", "core", "--out", tmp_path / "out.xlsx")
    assert done.one_line and "more than 1000 cells" in done.err


# --- strange, but workbooks: everything is computed or named ------------------------------

_TABLE = (
    f'<table xmlns="{MAIN}" id="1" name="T" displayName="T" ref="garbage"><tableColumns count="1">'
    '<tableColumn id="1" name="a"/></tableColumns></table>'
)
_WITH_TABLE = {
    SHEET: sheet(JOB, after='<tableParts count="1"><tablePart r:id="rId1"/></tableParts>'),
    "xl/worksheets/_rels/sheet1.xml.rels": f'<Relationships xmlns="{PACKAGE}"><Relationship '
    f'Id="rId1" Type="{OFFICE}/table" Target="../tables/table1.xml"/></Relationships>',
    "xl/tables/table1.xml": _TABLE,
}


def _formula(*formulas: str) -> dict[str, str]:
    cells = "".join(cell(f"{chr(65 + i)}3", 1, escape(f)) for i, f in enumerate(formulas))
    return {SHEET: sheet(f'{JOB}<row r="3">{cells}</row>')}


STRANGE: dict[str, dict[str, str]] = {
    "nested 1,300 deep": _formula("IF(A1," * 1300 + MASS + ")" * 1300),
    "brackets 4,000 deep": _formula(MASS + "+" + "(" * 4000 + "1" + ")" * 4000),
    "8,192 characters of terms": _formula(MASS + "+1" * 4080),
    "8,000 signs": _formula(MASS + "*" + "-" * 8000 + "1"),
    "refers to itself": _formula("HOPPER_HELD_MASS(16,B3)", "A3+1"),
    "names that refer to each other": {
        **_formula("HOPPER_HELD_MASS(16,aa)"),
        BOOK: book('<definedNames><definedName name="aa">bb+1</definedName><definedName name="bb">'
                   "aa+1</definedName></definedNames>"),
    },
    "names that shadow functions": {
        **_formula(f"{MASS}+SUM(1,2)", "HOPPER_HELD_MASS", "SUM"),
        BOOK: book('<definedNames><definedName name="HOPPER_HELD_MASS">One!$B$2</definedName>'
                   '<definedName name="SUM">One!$B$2</definedName><definedName name="bad">#REF!'
                   '</definedName><definedName name="_xlnm.Print_Area" localSheetId="77">One!$A$1'
                   "</definedName></definedNames>"),
    },
    "broken formulas": _formula("HOPPER_HELD_MASS(", ")(*&HOPPER_HELD_MASS()", "{HOPPER_X",
                                'HOPPER_HELD_MASS("', "'[HOPPER_X(1)",
                                *(f"HOPPER_HELD_MASS(16,{f})" for f in (
                                    "IF()", "IF(1)", "IFERROR()", "CHOOSE()", "CHOOSE(1E99,1)",
                                    "ROW(1)", "INDEX()", "VLOOKUP(1)"))),
    "numbers that overflow": _formula("HOPPER_HELD_MASS(16,1E308*10)",
                                      "HOPPER_HELD_MASS(16,10^400)",
                                      "HOPPER_HELD_MASS(16,(-8)^0.5)",
                                      "HOPPER_HELD_MASS(16,EXP(1E9))",
                                      "SUM(1E308,1E308)+HOPPER_HELD_MASS(16,MOD(1,0))"),
    "the whole sheet as a range": _formula("HOPPER_HELD_MASS(16,SUM(E1:XFD1048576)*0+36.5)",
                                           "HOPPER_NEXT_SIZE(16,E1:XFD1048576)"),
    "an array formula that is nowhere": {
        SHEET: sheet(f'{JOB}<row r="3"><c r="A3"><f t="array" ref="hello">{MASS}</f></c></row>')
    },
    "an array formula over the sheet": {
        SHEET: sheet(f'{JOB}<row r="3"><c r="A3"><f t="array" ref="A3:XFD1048576">{MASS}</f></c>'
                     "</row>")
    },
    "formulas of no kind": {
        SHEET: sheet(f'{JOB}<row r="3"><c r="A3"><f t="weird">{MASS}</f></c><c r="B3"><f/></c>'
                     '<c r="C3"><f t="dataTable" ref="C3:D4" dt2D="1" r1="A1" r2="A2"/></c></row>')
    },
    "two cells in one place": {
        SHEET: sheet(f'{JOB}<row r="3">{cell("A3", 1, MASS)}{cell("A3", 2, MASS)}</row>')
    },
    "two billion hidden columns": {
        SHEET: sheet(JOB, before='<cols><col min="1" max="2000000000" hidden="1"/></cols>')
    },
    "ruled all over": {
        SHEET: sheet(JOB, after='<conditionalFormatting sqref="A1:XFD1048576"><cfRule '
                     f'type="expression" priority="1"><formula>{MASS}</formula></cfRule>'
                     "</conditionalFormatting>")
    },
    "a table that is nowhere": _WITH_TABLE,
    "an empty table part": {**_WITH_TABLE, "xl/tables/table1.xml": ""},
    "the last cell of a sheet": {
        SHEET: sheet(JOB + '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>')
    },
    "dates before dates began": {
        SHEET: sheet(JOB + '<row r="3"><c r="A3" s="1"><v>-5</v></c><c r="B3" s="1"><v>1e300</v>'
                     "</c></row>")
    },
    "a style that is not there": {SHEET: sheet(JOB + '<row r="3"><c r="A3" s="99999"/></row>')},
    "signs that no XML allows": {
        SHEET: sheet(f'{JOB}<row r="3">{cell("A3", "x_x0001_y_xD800_")}'
                     + cell("B3", 1, escape('HOPPER_RESIN("P"&CHAR(1)&CHAR(27),"bulk density")'))
                     + "</row>")
    },
    "parts that climb out": {"../../../evil.xml": "<x/>", "/etc/evil.xml": "<x/>"},
    "a sheet that is called like a formula": {
        **_formula(MASS), BOOK: book(name="=1+1")
    },
    "quotation marks in a name": {**_formula(MASS), BOOK: book(name="It's &quot;q&quot; &lt;")},
}  # fmt: skip


@pytest.mark.parametrize("name", STRANGE)
def test_strange_workbooks_give_whole_files_or_one_line(name: str, tmp_path: Path) -> None:
    path = make(tmp_path / "book.xlsx", **STRANGE[name])
    before = path.read_bytes()
    sizes_below = name == "the last cell of a sheet"
    opens = opens_elsewhere(path)
    for command, (done, out) in each_command(path).items() if not sizes_below else ():
        assert done.status in (0, 1, 2)
        assert "Traceback" not in done.err and "Warning" not in done.err
        if done.status == 2:
            assert done.one_line and not out.exists(), (command, done)
        else:
            whole(out, opens, path)
        if command == "size":
            assert ("1 job sized" in done.out) or done.status == 2, done
    if sizes_below:
        done = run("size", path, "--out", tmp_path / "out.xlsx")
        assert done.one_line and "1048573 empty rows below" in done.err
        assert run(*COMMANDS["audit"][:1], path, *COMMANDS["audit"][1:]).status in (0, 1)
    assert path.read_bytes() == before
    assert not list(tmp_path.parent.glob("evil*")) and not Path("/etc/evil.xml").exists()


@pytest.mark.calc
@pytest.mark.parametrize(
    "name", ["nested 1,300 deep", "brackets 4,000 deep", "8,192 characters of terms"]
)
def test_calc_computes_or_names_a_formula_that_is_too_deep(name: str, tmp_path: Path) -> None:
    """Excel ends at 64 levels (its published limits); Calc gives an error, which is named."""
    path, out = make(tmp_path / "book.xlsx", **STRANGE[name]), tmp_path / "out.xlsx"
    done = run("compute", path, "--engine", "calc", "--out", out)
    assert done.status == 0 and "2 formulas: 2 computed" in done.out, done
    whole(out)
    value = Package(out).values("One")["A3"]
    if name == "8,192 characters of terms":
        assert value == 584 + 4080
    else:
        assert value == "#VALUE!" and "One!A3 #VALUE!" in done.out


def test_merged_inputs_count_for_each_row_and_the_receipt_says_so(tmp_path: Path) -> None:
    """Only the first cell of merged ones holds the value; a person reads it for all of them."""
    rows = row(1, *HEADINGS) + row(2, "A", 100, 4, 36.5) + row(3, "B", 100, None, 36.5)
    merged = '<mergeCells count="1"><mergeCell ref="C2:C3"/></mergeCells>'
    done = run("size", make(tmp_path / "b.xlsx", **{SHEET: sheet(rows, after=merged)}))
    assert done.status == 0 and "2 jobs sized, 0 with a problem" in done.out
    assert "merged cells count for each of their rows: C2:C3" in done.out


def test_the_audit_report_runs_nothing_of_the_book(tmp_path: Path) -> None:
    """Names of file and sheet, labels and texts that begin like formulas stay text."""
    rows = f'<row r="3">{cell("A3", "=9+9")}{cell("B3", 999, MASS)}{cell("C3", "@x")}</row>'
    path = tmp_path / "=5+5.xlsx"
    make(path, **{SHEET: sheet(JOB + rows), BOOK: book(name="=1+1")})
    out = tmp_path / "report.xlsx"
    assert run("audit", path, "--engine", "core", "--out", out).status == 1
    whole(out)
    live = {
        c.value
        for s in openpyxl.load_workbook(out).worksheets
        for line in s.iter_rows()
        for c in line
        if c.data_type == "f" and re.search(r"=[159]\+[159]", str(c.value))
    }
    assert not live
