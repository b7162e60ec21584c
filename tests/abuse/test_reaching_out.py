"""A workbook that would fetch files or run macros: nothing leaves, nothing runs.

What does not happen proves little by itself, so each test also shows that it would: the listener
is reached once by hand, and a Calc that is allowed to fetches for the very same file and runs its
macros (``macros_in_office.py``).
"""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import zipfile
from pathlib import Path
from xml.sax.saxutils import escape

import pytest
import xlwings

from abuse.hostile import (
    BOOK,
    JOB,
    MAIN,
    MASS,
    OFFICE,
    PACKAGE,
    PARTS,
    RELS,
    SHEET,
    SPREADSHEET,
    TYPES,
    book,
    cell,
    each_command,
    make,
    relations,
    run,
    sheet,
)  # fmt: skip
from abuse.listener import Listener
from hoppersheet.hosts.calc import programs, worker_link
from hoppersheet.hosts.excel.vba_project import VbaProject
from hoppersheet.workbook.package import Package


def reaching_out(path: Path, port: int, *more: str) -> Path:
    """A workbook that asks for files of a server in every way that a sheet has.

    ``more`` are formulas to be put below those.
    """
    server = f"http://127.0.0.1:{port}"
    formulas = (
        f'_xlfn.WEBSERVICE("{server}/a")', f"'{server}/[b.xlsx]S'!A1",
        f"INDIRECT(\"'{server}/c.ods'#$Sheet1.A1\")", f'DDE("soffice","{server}/d","A1")',
        f'_xlfn.IMAGE("{server}/e.png")', f'HYPERLINK("{server}/f","f")', "[1]S!$A$1", MASS,
        "'file:///etc/hostname'#$Sheet1.A1", "INDIRECT(\"'file:///etc/hostname'#$Sheet1.A1\")",
        f"{MASS}{'+1' * 4080}", *more,
    )  # fmt: skip
    rows = "".join(
        f'<row r="{i}">{cell(f"A{i}", None, escape(f))}</row>' for i, f in enumerate(formulas, 3)
    )
    link = "xl/externalLinks/externalLink1.xml"
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.externalLink+xml"
    return make(
        path,
        **{
            SHEET: sheet(JOB + rows),
            BOOK: book('<externalReferences><externalReference r:id="rId9"/></externalReferences>'),
            RELS: relations(
                f'<Relationship Id="rId9" Type="{OFFICE}/externalLink" Target="{link[3:]}"/>'
            ),
            link: f'<externalLink xmlns="{MAIN}"><externalBook xmlns:r="{OFFICE}" r:id="rId1">'
            '<sheetNames><sheetName val="S"/></sheetNames><sheetDataSet><sheetData sheetId="0">'
            '<row r="1"><cell r="A1"><v>42</v></cell></row></sheetData></sheetDataSet>'
            "</externalBook></externalLink>",
            "xl/externalLinks/_rels/externalLink1.xml.rels": f'<Relationships xmlns="{PACKAGE}">'
            f'<Relationship Id="rId1" Type="{OFFICE}/externalLinkPath" Target="{server}/g.xlsx" '
            'TargetMode="External"/></Relationships>',
            TYPES: PARTS[TYPES].replace(
                "</Types>", f'<Override PartName="/{link}" ContentType="{kind}"/></Types>'
            ),
        },
    )


def test_no_command_reaches_out(tmp_path: Path) -> None:
    with Listener() as listener:
        socket.create_connection(("127.0.0.1", listener.port)).close()
        path = reaching_out(tmp_path / "book.xlsx", listener.port)
        for command, (done, _) in each_command(path).items():
            assert done.status in (0, 1) or done.one_line, (command, done)
        assert listener.asked == [""]  # the one above, which shows that the listener listens


#: com.sun.star.document.MacroExecMode and UpdateDocMode (LibreOffice's API reference).
NEVER, ALWAYS = 0, 4
NO_UPDATE, FULL_UPDATE = 0, 3
#: [MS-OFFMACRO2] 2.2.1.1: the main part of a workbook that may hold macros.
MACRO_MAIN = "application/vnd.ms-excel.sheet.macroEnabled.main+xml"
#: What runs at opening, and what runs whenever the cell that calls it is computed.
IN_A_CELL, AT_OPENING = ["LeaveMark"], ["Auto_Open", "Workbook_Open"]


def with_macros(path: Path, marks: Path) -> bytes:
    """Give a workbook macros that leave a file of their name in ``marks``; the VBA project."""

    def leaving(name: str) -> str:
        return f'Open "{marks / name}" For Output As #1\nClose #1\n'

    with zipfile.ZipFile(Path(xlwings.__file__).with_name("quickstart.xlsm")) as archive:
        project = VbaProject(archive.read("xl/vbaProject.bin"))
    project.add(
        "Opening",
        f"Sub Auto_Open()\n{leaving('Auto_Open')}End Sub\n"
        f"Function LeaveMark()\n{leaving('LeaveMark')}LeaveMark = 5\nEnd Function\n",
    )
    project.replace(
        "ThisWorkbook",
        project.source("ThisWorkbook")
        + f"Private Sub Workbook_Open()\n{leaving('Workbook_Open')}End Sub\n",
    )
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name).decode() for name in archive.namelist()}
    # Calc looks for no macro of opening, not even Auto_Open, in a book without a code name.
    parts[BOOK] = parts[BOOK].replace("<sheets>", '<workbookPr codeName="ThisWorkbook"/><sheets>')
    parts[RELS] = parts[RELS].replace(
        "</Relationships>",
        '<Relationship Id="rId8" Type="http://schemas.microsoft.com/office/2006/'
        'relationships/vbaProject" Target="vbaProject.bin"/></Relationships>',
    )
    main = f"{SPREADSHEET}.sheet.main+xml"
    assert main in parts[TYPES]
    if path.suffix == ".xlsm":
        parts[TYPES] = parts[TYPES].replace(main, MACRO_MAIN)
    parts[TYPES] = parts[TYPES].replace(
        "</Types>",
        '<Override PartName="/xl/vbaProject.bin" '
        'ContentType="application/vnd.ms-office.vbaProject"/></Types>',
    )
    binary = project.to_bytes()
    make(path, **{**parts, "xl/vbaProject.bin": binary})
    return binary


def in_an_office(path: Path, marks: Path, macros: int, links: int) -> list[list[str]]:
    """Which macros ran where these modes are set: at ``compute``, and at opening in a window."""
    found = programs.find()
    # A proxy, of which an office learns by the environment, would not reach this machine's port.
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith("PYTHON") and not name.lower().endswith("_proxy")
    }
    with subprocess.Popen(
        [
            found.python, Path(__file__).with_name("macros_in_office.py"),
            Path(worker_link.__file__).parent, found.soffice, path.with_name("profile"), path,
            marks, str(macros), str(links),
        ],
        env=kept, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
    ) as control:  # fmt: skip
        try:
            out, err = control.communicate(timeout=120)
        except BaseException:
            os.killpg(control.pid, signal.SIGKILL)  # its office too
            raise
    assert control.returncode == 0, err
    seen: list[list[str]] = json.loads(out)
    return seen


@pytest.mark.calc
@pytest.mark.parametrize("ending", [".xlsm", ".xlsx"])
def test_calc_fetches_nothing_and_runs_no_macro(ending: str, tmp_path: Path) -> None:
    """The stored value of a linked cell is used. Macros under .xlsx, which Excel refuses, Calc
    takes in like any.
    """
    path, out, marks = tmp_path / f"book{ending}", tmp_path / f"out{ending}", tmp_path / "marks"
    marks.mkdir()
    with Listener() as listener:
        reaching_out(path, listener.port, "LeaveMark()")
        binary = with_macros(path, marks)
        before = path.read_bytes()
        done = run("compute", path, "--engine", "calc", "--out", out)
        # 1: this Calc does not know IMAGE, which is named.
        assert (done.status, "IMAGE" in done.out) in ((0, False), (1, True)), done
        assert "Left untouched, and not looked at: 1 link to another workbook." in done.out
        assert listener.asked == [] and not list(marks.iterdir())
        # The same file in a folder that is trusted: still nothing, and then both allowed.
        assert in_an_office(path, marks, NEVER, NO_UPDATE) == [[], []]
        assert listener.asked == []
        computed, opened = in_an_office(path, marks, ALWAYS, FULL_UPDATE)
        # A newer Calc computes such a cell at opening already.
        assert computed == IN_A_CELL and set(opened) - set(IN_A_CELL) == set(AT_OPENING)
        assert listener.asked, "no office fetches anything without the package ca-certificates"
        assert path.read_bytes() == before
    values = Package(out).values("One")
    assert values["A9"] == 42.0 and values["A10"] == 584.0
    assert values["A13"] == 584.0 + 4080  # 8,188 characters
    assert values["F2"] == pytest.approx(400 / 36.5)
    # A newer Calc does not know one of them at all. The last is the macro's: not 5.
    assert {values[f"A{i}"] for i in (3, 4, 5, 11, 12, 14)} <= {"#VALUE!", "#NAME?"}
    assert Package(out).read("xl/vbaProject.bin") == binary
