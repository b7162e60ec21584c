"""Builds workbooks that a nasty customer would send, part by part, and runs commands on them."""

from __future__ import annotations

import io
import sys
import zipfile
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml"

SHEET, BOOK, RELS = "xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
STRINGS, STYLES, TYPES = "xl/sharedStrings.xml", "xl/styles.xml", "[Content_Types].xml"
HEADINGS = ("job", "throughput", "drying hours", "virgin density")

MASS = "HOPPER_HELD_MASS(16,36.5)"  # 584 lb: arithmetic identity


def cell(ref: str, value: object = None, formula: str = "") -> str:
    """One ``<c>``: a number, a text (inline), or a formula with its stored value."""
    if formula:
        stored = "" if value is None else f"<v>{value}</v>"
        return f'<c r="{ref}"><f>{formula}</f>{stored}</c>'
    if isinstance(value, str):
        return f'<c r="{ref}" t="inlineStr"><is><t xml:space="preserve">{value}</t></is></c>'
    return f'<c r="{ref}"><v>{value}</v></c>'


def row(number: int, *values: object) -> str:
    """One ``<row>`` of values from column A on; None leaves a gap."""
    cells = (cell(f"{chr(65 + i)}{number}", v) for i, v in enumerate(values) if v is not None)
    return f'<row r="{number}">{"".join(cells)}</row>'


#: A job list with one job, and beside it a sizing formula that is right.
JOB = (
    row(1, *HEADINGS)
    + f'<row r="2">{cell("A2", "A")}{cell("B2", 100)}{cell("C2", 4)}{cell("D2", 36.5)}'
    + cell("F2", 10.958904109589, "HOPPER_REQUIRED_VOLUME(B2,C2,D2)")
    + "</row>"
)


def sheet(rows: str = JOB, after: str = "", before: str = "") -> str:
    """The XML of a worksheet with these rows."""
    return (
        f'<worksheet xmlns="{MAIN}" xmlns:r="{OFFICE}">{before}<sheetData>{rows}</sheetData>'
        f"{after}</worksheet>"
    )


def book(after: str = "", before: str = "", name: str = "One") -> str:
    """The XML of the workbook part."""
    return (
        f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}">{before}<sheets>'
        f'<sheet name="{name}" sheetId="1" r:id="rId1"/></sheets>{after}</workbook>'
    )


def relations(*more: str) -> str:
    """The relations of the workbook part."""
    return (
        f'<Relationships xmlns="{PACKAGE}">'
        f'<Relationship Id="rId1" Type="{OFFICE}/worksheet" Target="worksheets/sheet1.xml"/>'
        f'<Relationship Id="rId2" Type="{OFFICE}/sharedStrings" Target="sharedStrings.xml"/>'
        f'<Relationship Id="rId3" Type="{OFFICE}/styles" Target="styles.xml"/>'
        f"{''.join(more)}</Relationships>"
    )


PARTS: dict[str, str] = {
    TYPES: f'<Types xmlns="{_TYPES}"><Default Extension="xml" ContentType="application/xml"/>'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships'
    f'+xml"/><Override PartName="/{BOOK}" ContentType="{SPREADSHEET}.sheet.main+xml"/>'
    f'<Override PartName="/{SHEET}" ContentType="{SPREADSHEET}.worksheet+xml"/>'
    f'<Override PartName="/{STYLES}" ContentType="{SPREADSHEET}.styles+xml"/>'
    f'<Override PartName="/{STRINGS}" ContentType="{SPREADSHEET}.sharedStrings+xml"/></Types>',
    "_rels/.rels": f'<Relationships xmlns="{PACKAGE}"><Relationship Id="rId1" '
    f'Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
    BOOK: book(),
    RELS: relations(),
    SHEET: sheet(),
    STRINGS: f'<sst xmlns="{MAIN}"><si><t>shared</t></si></sst>',
    STYLES: f'<styleSheet xmlns="{MAIN}"><fonts count="1"><font><sz val="11"/><name val="Calibri"'
    '/></font></fonts><fills count="1"><fill><patternFill patternType="none"/></fill></fills>'
    '<borders count="1"><border/></borders><cellStyleXfs count="1"><xf/></cellStyleXfs>'
    '<cellXfs count="2"><xf/><xf numFmtId="14" applyNumberFormat="1"/></cellXfs></styleSheet>',
}


def make(path: Path, **changed: str | bytes | None) -> Path:
    """A small workbook; parts are given by name (``xl/styles.xml``), left out with None."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in {**PARTS, **changed}.items():
            if content is not None:
                archive.writestr(name, content)
    return path


@dataclass
class Done:
    """How a command ended."""

    status: int
    out: str
    err: str

    @property
    def one_line(self) -> bool:
        """Whether it refused its input: status 2 and one clear line, no traceback."""
        lines = self.err.splitlines()
        return (
            self.status == 2
            and len(lines) == 1
            and lines[0].startswith("hoppersheet: ")
            and len(lines[0]) < 400
            and lines[0].isprintable()
            and not self.out
        )


def run(*words: object) -> Done:
    """``hoppersheet WORDS...`` in this process; an exception that escapes fails the test."""
    from hoppersheet.cli import main

    out, err, before = io.StringIO(), io.StringIO(), sys.argv
    sys.argv = ["hoppersheet", *map(str, words)]
    status = 0
    try:
        with redirect_stdout(out), redirect_stderr(err):
            main()
    except SystemExit as ended:
        status = ended.code if isinstance(ended.code, int) else 1
    finally:
        sys.argv = before
    return Done(status, out.getvalue(), err.getvalue())


#: Command -> its words, without the workbook. Calc is left to the marked tests.
COMMANDS: dict[str, tuple[str, ...]] = {
    "size": ("size",),
    "compute": ("compute", "--engine", "core"),
    "audit": ("audit", "--engine", "core"),
    "annotate": ("audit", "--engine", "core", "--annotate"),
    "handoff --plain": ("handoff", "--engine", "core", "--plain"),
    "handoff --values": ("handoff", "--engine", "core", "--values"),
    "names": ("names",),
}


def each_command(path: Path) -> dict[str, tuple[Done, Path]]:
    """Every command on one workbook: how it ended, and its output (which may not exist)."""
    ended = {}
    for at, (name, (command, *options)) in enumerate(COMMANDS.items()):
        out = path.with_name(f"out{at}.xlsx")
        ended[name] = run(command, path, *options, "--out", out), out
        assert not [p.name for p in path.parent.iterdir() if p.name.startswith(".")], name
    return ended
