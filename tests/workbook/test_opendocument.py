"""OpenDocument spreadsheets as rows, with what their cells show.

The documents are written here by hand after OASIS OpenDocument 1.2, part 1; what Calc writes is
read in ``tables/test_messy_lists``.
"""

from __future__ import annotations

import zipfile
from datetime import datetime
from pathlib import Path

import pytest

from hoppersheet.errors import InputFileError
from hoppersheet.tables.job_cells import ClockTime, Percent
from hoppersheet.workbook.opendocument import Sheet, opendocument_sheets
from hoppersheet.workbook.sheet_rows import NO_VALUE, ShownAs

_SPACES = " ".join(
    f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for short, name in (
        ("office", "office"), ("table", "table"), ("text", "text"), ("style", "style"),
        ("number", "datastyle"), ("dc", "meta"),
    )
)  # fmt: skip
_OWN = 'xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
STYLES = """
<number:number-style style:name="N1"><number:number number:min-integer-digits="1"/>
<number:text> kg/h</number:text></number:number-style>
<style:style style:name="unit" style:family="table-cell" style:data-style-name="N1"/>
<style:style style:name="base" style:family="table-cell">
<style:text-properties style:text-line-through-style="solid"/></style:style>
<style:style style:name="struck" style:family="table-cell" style:parent-style-name="base"/>
<style:style style:name="line" style:family="text">
<style:text-properties style:text-line-through-type="single"/></style:style>
<style:style style:name="away" style:family="table"><style:table-properties table:display="false"/>
</style:style>
"""


def write(path: Path, tables: str, before: str = "", manifest: str = "<m/>") -> Path:
    """An .ods with these tables."""
    content = (
        f'{before}<office:document-content {_SPACES} {_OWN} office:version="1.2">'
        f"<office:automatic-styles>{STYLES}</office:automatic-styles><office:body>"
        f"<office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", manifest)
    return path


def read(path: Path) -> list[Sheet]:
    def with_text(number: float, code: str) -> float:
        return Shown(number, code)

    found = opendocument_sheets(path, path.name, ShownAs(Percent, ClockTime, with_text))
    assert found is not None
    return found[0]


class Shown(float):
    """A number and its format."""

    code: str

    def __new__(cls, number: float, code: str) -> Shown:
        made = super().__new__(cls, number)
        made.code = code
        return made


def number(value: str, more: str = "") -> str:
    return f'<table:table-cell office:value-type="float" office:value="{value}" {more}/>'


def text(value: str, more: str = "") -> str:
    return (
        f'<table:table-cell office:value-type="string" {more}><text:p>{value}</text:p>'
        "</table:table-cell>"
    )


def test_values_are_what_they_show(tmp_path: Path) -> None:
    cells = (
        '<table:table-cell office:value-type="percentage" office:value="0.25"/>'
        '<table:table-cell office:value-type="time" office:time-value="PT26H30M00S"/>'
        '<table:table-cell office:value-type="date" office:date-value="2024-06-04"/>'
        '<table:table-cell office:value-type="boolean" office:boolean-value="true"/>'
        + number("45", 'table:style-name="unit"')
        + '<table:table-cell office:value-type="string" calcext:value-type="error">'
        "<text:p>#REF!</text:p></table:table-cell>"
        '<table:table-cell table:formula="of:=[.A1]"/>'
        + text('a<text:s text:c="2"/>b</text:p><text:p>c')
    )
    (sheet,) = read(write(tmp_path / "a.ods", f'<table:table table:name="Jobs"><table:table-row>'
                          f"{cells}</table:table-row></table:table>"))  # fmt: skip
    (row,) = sheet.found.rows
    assert row == [0.25, 26.5 / 24, datetime(2024, 6, 4), True, 45, "#REF!", NO_VALUE, "a  b\nc"]
    assert [type(cell) for cell in row[:2]] == [Percent, ClockTime]
    assert row[4].code == '0" kg/h"' and sheet.found.without_value == 1


def test_repeats_merges_strikes_hidden_rows_and_comments(tmp_path: Path) -> None:
    table = (
        '<table:table table:name="Jobs">'
        '<table:table-column table:number-columns-repeated="2"/>'
        '<table:table-column table:visibility="collapse"/>'
        '<table:table-column table:default-cell-style-name="struck"/>'
        '<table:table-row table:number-rows-repeated="3"><table:table-cell '
        'table:number-columns-repeated="16384"/></table:table-row>'
        '<table:table-row table:visibility="filter">'
        + text("A", 'table:number-rows-spanned="2" table:number-columns-spanned="1"')
        + '<table:table-cell table:number-columns-repeated="2"/>'
        + number("1", 'table:number-columns-repeated="2"')
        + "</table:table-row>"
        '<table:table-row table:number-rows-repeated="2"><table:covered-table-cell/>'
        + text('x<text:span text:style-name="line">y</text:span>')
        + '<table:table-cell office:value-type="float" office:value="2"><office:annotation>'
        "<dc:date>2024-01-01</dc:date><text:p>ask</text:p><text:p>them</text:p></office:annotation>"
        "<text:p>2</text:p></table:table-cell></table:table-row>"
        '<table:table-row table:number-rows-repeated="1048570"><table:table-cell '
        'table:number-columns-repeated="16384"/></table:table-row></table:table>'
        '<table:table table:name="Old" table:style-name="away"><table:table-row>'
        + number("1")
        + "</table:table-row></table:table>"
    )
    first, second = read(write(tmp_path / "a.ods", table))
    found = first.found
    assert found.rows == [[], [], [], ["A", None, None, 1, 1], [None, "xy", 2], [None, "xy", 2]]
    assert found.merged == [(3, 0, 2, 1)] and found.hidden_columns == [2]
    assert found.hidden_rows == [3]
    assert found.struck == [(3, 3), (3, 4), (4, 1), (5, 1)]
    assert first.comments == {(5, 3): "ask\nthem"}
    assert first.visible and not second.visible


@pytest.mark.parametrize(
    ("tables", "before", "manifest", "words"),
    [
        ("<table:table/>", "<!DOCTYPE a [<!ENTITY b 'c'>]>", "<m/>", "document type declaration"),
        ("<table:table>", "", "<m/>", "damaged"),
        ("<table:table/>", "", "<m><encryption-data/></m>", "password"),
        ('<table:table><table:table-row table:number-rows-repeated="1048576">'
         + number("1", 'table:number-columns-repeated="16384"')
         + "</table:table-row></table:table>", "", "<m/>", "more than 4,000,000 cells"),
    ],
)  # fmt: skip
def test_what_is_no_list_is_refused(
    tables: str, before: str, manifest: str, words: str, tmp_path: Path
) -> None:
    with pytest.raises(InputFileError, match=words):
        read(write(tmp_path / "a.ods", tables, before, manifest))


def test_what_is_cut_short_is_refused(tmp_path: Path) -> None:
    whole = write(tmp_path / "a.ods", "<table:table/>").read_bytes()
    for size in (3, 40, len(whole) // 2, len(whole) - 5):
        (tmp_path / "cut.ods").write_bytes(whole[:size])
        with pytest.raises(InputFileError, match="not a readable workbook"):
            read(tmp_path / "cut.ods")
