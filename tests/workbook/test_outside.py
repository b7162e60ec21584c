"""A workbook that names pictures, files and queries outside itself: an office sees none of them.

Each way out is shown to be one: a Calc that gets the file as it is asks this machine's listener,
where LibreOffice takes that way at all.
"""

from __future__ import annotations

import gzip
import os
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader

from abuse.hostile import (
    JOB,
    MAIN,
    OFFICE,
    PACKAGE,
    PARTS,
    RELS,
    SHEET,
    SPREADSHEET,
    TYPES,
    book,
    cell,
    make,
    relations,
    run,
    sheet,
)  # fmt: skip
from abuse.listener import Listener
from hoppersheet.hosts.calc.office import Office
from hoppersheet.workbook.outside import neutralize, outside_words, without_cache
from hoppersheet.workbook.package import Package

DRAW = "http://schemas.openxmlformats.org/drawingml/2006"


def png(width: int, height: int) -> bytes:
    """A gray bitmap (ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        checked = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + checked

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress((b"\0" + b"\x80" * width) * height)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")
    )


def sizes_in(pdf: Path) -> set[tuple[int, int]]:
    """Width and height of the bitmaps in a PDF."""
    objects = [
        item.get_object()
        for page in PdfReader(pdf).pages
        for item in (page["/Resources"].get("/XObject") or {}).values()
    ]
    return {(item["/Width"], item["/Height"]) for item in objects if "/Width" in item}


def rels(*more: str) -> str:
    return f'<Relationships xmlns="{PACKAGE}">{"".join(more)}</Relationships>'


def external(key: str, kind: str, target: str) -> str:
    return (
        f'<Relationship Id="{key}" Type="{OFFICE}/{kind}" Target="{target}" TargetMode="External"/>'
    )


def internal(key: str, kind: str, target: str) -> str:
    return f'<Relationship Id="{key}" Type="{OFFICE}/{kind}" Target="{target}"/>'


def picture(at: int, blip: str) -> str:
    """A picture in a drawing, in row ``at``; ``blip`` is the attribute that names it."""
    return (
        f"<xdr:oneCellAnchor><xdr:from><xdr:col>6</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>{at}"
        '</xdr:row><xdr:rowOff>0</xdr:rowOff></xdr:from><xdr:ext cx="90000" cy="90000"/><xdr:pic>'
        f'<xdr:nvPicPr><xdr:cNvPr id="{at + 2}" name="p{at}"/><xdr:cNvPicPr/></xdr:nvPicPr>'
        f"<xdr:blipFill><a:blip {blip}/><a:stretch><a:fillRect/></a:stretch></xdr:blipFill>"
        '<xdr:spPr><a:xfrm><a:off x="0" y="0"/><a:ext cx="90000" cy="90000"/></a:xfrm>'
        '<a:prstGeom prst="rect"/></xdr:spPr></xdr:pic><xdr:clientData/></xdr:oneCellAnchor>'
    )


def svg(href: str) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="9" height="9"><image width="9" height="9" xlink:href="{href}"/></svg>'
    )


WEB = (
    f'<connections xmlns="{MAIN}"><connection id="1" name="q" type="4" refreshedVersion="4" '
    'refreshOnLoad="1"><webPr sourceData="1" url="{server}/query" htmlTables="1"/></connection>'
    "</connections>"
)
QUERY = f'<queryTable xmlns="{MAIN}" name="q" connectionId="1" refreshOnLoad="1"/>'


LINKED, IN_SVG, KEPT = (37, 23), (41, 29), (31, 19)


def reaching_out(path: Path, server: str) -> Path:
    """A book with a picture for each way out, and a link to click on, which stays."""
    local = path.with_name("local.png"), path.with_name("in_svg.png")
    for file, size in zip(local, (LINKED, IN_SVG), strict=True):
        file.write_bytes(png(*size))
    ways = {
        "rId1": external("rId1", "image", f"{server}/linked.png"),
        "rId2": external("rId2", "hyperlink", f"{server}/called_a_hyperlink.png"),
        "rId3": external("rId3", "image", local[0].as_uri()),
        "rId4": internal("rId4", "image", "../media/a.svg"),
        "rId5": internal("rId5", "image", "../media/b.png"),
        "rId6": internal("rId6", "image", "../media/c.svgz"),
        "rId7": internal("rId7", "image", "../media/plain.svg"),
        "rId8": internal("rId8", "image", "../media/bitmap.png"),
    }
    pictures = "".join(
        picture(at, f'r:{"link" if at < 3 else "embed"}="{key}"') for at, key in enumerate(ways)
    )
    kind = "application/vnd.openxmlformats-officedocument"
    types = "".join(
        f'<Default Extension="{ending}" ContentType="image/{name}"/>'
        for ending, name in (("png", "png"), ("svg", "svg+xml"), ("svgz", "svg+xml"))
    ) + (
        f'<Override PartName="/xl/drawings/drawing1.xml" ContentType="{kind}.drawing+xml"/>'
        f'<Override PartName="/xl/connections.xml" ContentType="{SPREADSHEET}.connections+xml"/>'
        f'<Override PartName="/xl/queryTables/q.xml" ContentType="{SPREADSHEET}.queryTable+xml"/>'
    )
    return make(
        path,
        **{
            SHEET: sheet(
                JOB,
                '<hyperlinks><hyperlink ref="A1" r:id="rId2"/></hyperlinks>'
                '<drawing r:id="rId1"/><picture r:id="rId3"/>',
            ),
            "xl/worksheets/_rels/sheet1.xml.rels": rels(
                internal("rId1", "drawing", "../drawings/drawing1.xml"),
                external("rId2", "hyperlink", f"{server}/clicked"),
                external("rId3", "image", f"{server}/background.png"),
                internal("rId4", "queryTable", "../queryTables/q.xml"),
            ),
            "xl/drawings/drawing1.xml": f'<xdr:wsDr xmlns:xdr="{DRAW}/spreadsheetDrawing" '
            f'xmlns:a="{DRAW}/main" xmlns:r="{OFFICE}">{pictures}</xdr:wsDr>',
            "xl/drawings/_rels/drawing1.xml.rels": rels(*ways.values()),
            "xl/media/a.svg": svg(local[1].as_uri()),
            "xl/media/b.png": svg(f"{server}/svg_called_png.png"),
            "xl/media/c.svgz": gzip.compress(svg(f"{server}/packed.png").encode()),
            "xl/media/plain.svg": '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1'
            f'//EN" "{server}/svg11.dtd">' + svg("#a"),
            "xl/media/bitmap.png": png(*KEPT),
            "xl/connections.xml": WEB.replace("{server}", server),
            "xl/queryTables/q.xml": QUERY,
            RELS: relations(internal("rId8", "connections", "connections.xml")),
            TYPES: PARTS[TYPES].replace("</Types>", f"{types}</Types>"),
        },
    )


@pytest.fixture(scope="module")
def unproxied() -> Iterator[Office]:
    """An office that would reach this machine's own port, whatever proxy the environment names."""
    before = dict(os.environ)
    for name in list(os.environ):
        if name.lower().endswith("_proxy"):
            del os.environ[name]
    try:
        with Office(timeout=120) as office:
            yield office
    finally:
        os.environ.update(before)


@pytest.mark.calc
def test_an_office_fetches_nothing_for_a_working_copy(unproxied: Office, tmp_path: Path) -> None:
    with Listener() as listener:
        path = reaching_out(tmp_path / "book.xlsx", listener.server)
        work = Package(path)
        found = neutralize(work)
        assert outside_words(found) == (
            "4 linked pictures, 3 pictures that name files outside themselves, "
            "1 query of another program's data"
        ), found
        work.save(tmp_path / "work.xlsx")
        values = unproxied.compute(tmp_path / "work.xlsx", pdf=tmp_path / "work.pdf")
        assert values["One"]["F2"] == pytest.approx(JOB_NEEDS)
        assert listener.asked == [] and sizes_in(tmp_path / "work.pdf") == {KEPT}
        # The same office, and the file as it was.
        unproxied.compute(path, pdf=tmp_path / "as_it_was.pdf")
        assert any("/linked.png" in line for line in listener.asked), listener.asked
        assert any("/called_a_hyperlink" in line for line in listener.asked), listener.asked
        assert {LINKED, IN_SVG, KEPT} <= sizes_in(tmp_path / "as_it_was.pdf")


JOB_NEEDS = 400 / 36.5  # ft3; arithmetic identity


def test_what_reaches_nowhere_stays(tmp_path: Path) -> None:
    path = reaching_out(tmp_path / "book.xlsx", "http://127.0.0.1:9")
    before, work = Package(path), Package(path)
    neutralize(work)
    assert work.read("xl/media/bitmap.png") == png(*KEPT)
    assert b"<image" in work.read("xl/media/plain.svg")
    assert b"DOCTYPE" not in work.read("xl/media/plain.svg")
    assert "clicked" in str(work.relations(SHEET))
    assert "called_a_hyperlink" not in str(work.relations("xl/drawings/drawing1.xml"))
    assert Package(path).read("xl/media/a.svg") == before.read("xl/media/a.svg")
    plain = Package(make(tmp_path / "plain.xlsx"))
    assert neutralize(plain) == [] and plain.changed == []


def test_a_picture_under_the_name_of_another_part(tmp_path: Path) -> None:
    hidden = make(tmp_path / "b.xlsx", **{"xl/charts/chart9.xml": svg("file:///etc/hostname")})
    assert [found.part for found in neutralize(Package(hidden))] == ["xl/charts/chart9.xml"]


@pytest.mark.calc
def test_no_command_that_calculates_asks_a_server(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in list(os.environ):
        if name.lower().endswith("_proxy"):
            monkeypatch.delenv(name)
    with Listener() as listener:
        path = reaching_out(tmp_path / "book.xlsx", listener.server)
        before = path.read_bytes()
        done = run("compute", path, "--engine", "calc", "--out", tmp_path / "out.xlsx")
        assert done.status == 0 and "not looked at: 4 linked pictures, 3 pictures" in done.out
        done = run("handoff", path, "--page", "One", "--out", tmp_path / "out.pdf")
        assert done.status == 0 and sizes_in(tmp_path / "out.pdf") == {KEPT}, done
        assert run("audit", path, "--engine", "calc").status in (0, 1)
        assert listener.asked == [] and path.read_bytes() == before
    assert "linked.png" in str(Package(tmp_path / "out.xlsx").relations("xl/drawings/drawing1.xml"))


def linked(path: Path, cached: str, *formulas: tuple[str, object], names: str = "") -> Path:
    link = "xl/externalLinks/externalLink1.xml"
    rows = "".join(
        f'<row r="{i}">{cell(f"A{i}", value, formula)}</row>'
        for i, (formula, value) in enumerate(formulas, 1)
    )
    return make(
        path,
        **{
            SHEET: sheet(rows),
            "xl/workbook.xml": book(
                '<externalReferences><externalReference r:id="rId9"/></externalReferences>' + names
            ),
            RELS: relations(internal("rId9", "externalLink", link[3:])),
            link: f'<externalLink xmlns="{MAIN}"><externalBook xmlns:r="{OFFICE}" r:id="rId1">'
            '<sheetNames><sheetName val="S"/><sheetName val="Two words"/></sheetNames>'
            f"{cached}</externalBook></externalLink>",
            "xl/externalLinks/_rels/externalLink1.xml.rels": rels(
                external("rId1", "externalLinkPath", "prices.xlsx")
            ),
        },
    )


CACHED = (
    '<sheetDataSet><sheetData sheetId="0"><row r="2"><cell r="B2"><v>3550</v></cell></row>'
    "</sheetData></sheetDataSet>"
)


@pytest.mark.parametrize(
    ("formula", "missing"),
    [
        ("[1]S!$B$2", False),
        ("[1]S!B3", True),
        ("SUM([1]S!A1:C9)", False),
        ("SUM([1]S!C1:D9)", True),
        ("'[1]Two words'!A1", True),
        ("[1]Nowhere!B2", True),
        ("[2]S!B2", True),
        ("[1]!a_name", True),
        ("HOPPER_HELD_MASS([1]S!B2,25)", False),
        ("'http://127.0.0.1:9/[b.xlsx]S'!A1", True),
        ("'file:///tmp/b.xlsx'#$S.A1", True),
        ('"[1]S!B3"&"text"', False),
        ("Table1[[#This Row],[Price]]*2", False),
        ("outside*2", True),
        ("inside*2", False),
        ('"outside"', False),
    ],
)
def test_cells_whose_outside_value_is_not_kept(formula: str, missing: bool, tmp_path: Path) -> None:
    names = (
        '<definedNames><definedName name="outside">[1]S!$B$9</definedName>'
        '<definedName name="inside">[1]S!$B$2</definedName></definedNames>'
    )
    path = linked(tmp_path / "b.xlsx", CACHED, (formula.replace("&", "&amp;"), 7), names=names)
    assert bool(without_cache(Package(path))) == missing


def test_a_cell_without_a_stored_value_has_none_to_keep(tmp_path: Path) -> None:
    assert without_cache(Package(linked(tmp_path / "b.xlsx", "", ("[1]S!B2", None)))) == {}
