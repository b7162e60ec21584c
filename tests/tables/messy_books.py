"""Workbooks as people really send them: merged cells, percent formats, several sheets, times.

All invented; the expected volumes are worked by hand as in :mod:`tables.messy_lists`.
"""

from __future__ import annotations

import datetime
import struct
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.comments import Comment
from openpyxl.styles import Font

from tables.messy_lists import Expected, by_mass, by_volume, kg, lb

HEAD = ["Job", "Rate (lb/h)", "Dry hours", "Bulk density (lb/ft3)"]


def _book(rows: list[list[Any]], title: str = "Jobs") -> tuple[Any, Any]:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    return book, sheet


def percent_formats(path: Path) -> dict[str, Expected]:
    """Cells that show 30 % and hold 0.3, under a percent heading."""
    head = [*HEAD, "% regrind", "regrind density (lb/ft3)", "basis"]
    rows = [["A", 220, 3.5, 40, 0.3, 28, "mass"], ["B", 90, 3, 40, 0.005, 28, "mass"]]
    book, sheet = _book([head, *rows])
    sheet["E2"].number_format, sheet["E3"].number_format = "0%", "0.0%"
    book.save(path)
    return {
        "A": lb(220, 3.5, by_mass((0.7, 40), (0.3, 28))),
        "B": lb(90, 3, by_mass((0.995, 40), (0.005, 28))),
    }


def times(path: Path) -> dict[str, Expected]:
    """Hours typed as times: shown 4:30, 18:00 and 26:00."""
    book, sheet = _book([HEAD])
    hours = (
        datetime.time(4, 30),
        datetime.time(18, 0),
        datetime.timedelta(hours=26),
        datetime.timedelta(hours=3),
    )
    for name, time in zip("ABCD", hours, strict=True):
        sheet.append([name, 90, time, 40])
        sheet.cell(sheet.max_row, 3).number_format = "[h]:mm" if name > "B" else "h:mm"
    book.save(path)
    return {
        "A": lb(90, 4.5, 40),
        "B": (lb(90, 18, 40), "18 h"),
        "C": (lb(90, 26, 40), "26 h"),
        "D": lb(90, 3, 40),
    }


def merged_headings(path: Path) -> dict[str, Expected]:
    """A merged "Drying" over a temperature and a time; halls merged over several rows."""
    rows = [
        ["Plant North", None, None, None, None, None, None],
        [None, None, None, "Drying", None, "Bulk density (kg/l)", None],
        ["Hall", "Part", "Throughput (kg/h)", "Temp (°C)", "Time (h)", "virgin", "regrind"],
        ["H1", "Hub", 45, 80, 4, 0.61, 0.4],
        [None, "Rim", 62, 65, 3, 0.58, 0.4],
        ["H2", "Lid", 30, 120, 4, 0.66, 0.4],
    ]
    book, sheet = _book(rows)
    for area in ("A1:G1", "D2:E2", "F2:G2", "A4:A5"):
        sheet.merge_cells(area)
    book.save(path)
    return {
        "Hub": (kg(45, 4, 0.61), "100 % virgin"),
        "Rim": kg(62, 3, 0.58),
        "Lid": kg(30, 4, 0.66),
    }


def fourteen_columns(path: Path) -> dict[str, Expected]:
    """The regrind stands in column M, behind a dozen columns that are nobody's business."""
    more = [f"note {i}" for i in range(8)]
    head = [*HEAD, *more, "regrind %", "regrind density (lb/ft3)"]
    rows = [["A", 220, 3.5, 40, *["x"] * 8, 25, 28], ["B", 90, 3, 40, *["x"] * 8, 10, 28]]
    book, _ = _book([head, *rows])
    book.save(path)
    return {
        "A": (lb(220, 3.5, by_volume((0.75, 40), (0.25, 28))), "by volume"),
        "B": (lb(90, 3, by_volume((0.9, 40), (0.1, 28))), "by volume"),
    }


def two_sheets(path: Path) -> dict[str, Expected]:
    """A second sheet with jobs, a hidden one too, and a sheet of notes."""
    book, _ = _book([HEAD, ["A", 220, 3.5, 40], ["B", 90, 3, 38]], "Hall 1")
    for name in ("Hall 2", "Hall 3"):
        other = book.create_sheet(name)
        for row in (HEAD, ["C", 60, 4, 42], ["D", 70, 4, 42], ["E", 80, 4, 42]):
            other.append(row)
    book["Hall 3"].sheet_state = "hidden"
    book.create_sheet("Notes")["A1"] = "call before delivery"
    book.save(path)
    return {"A": lb(220, 3.5, 40), "B": lb(90, 3, 38)}


def text_numbers(path: Path) -> dict[str, Expected]:
    """Numbers typed as text beside real ones, an error, a date, a formula nobody computed."""
    rows = [
        ["Auftrag", "Durchsatz (kg/h)", "Trocknungszeit (h)", "Schüttdichte (kg/l)"],
        ["A", "45,5", 4, "0,61"],
        ["B", 1250, 3, 0.6],
        ["C", "1.250", 3, 0.6],
        ["D", 30, datetime.datetime(2026, 3, 4), 0.6],
        ["E", "=B2*2", 4, 0.61],
        ["F", "#DIV/0!", 4, 0.61],
    ]
    book, sheet = _book(rows)
    sheet["B7"].data_type = "e"
    book.save(path)
    return {
        "A": kg(45.5, 4, 0.61),
        "B": kg(1250, 3, 0.6),
        "C": kg(1250, 3, 0.6),
        "D": "no: a date",
        "E": "no: formula without a stored",
        "F": "no: #DIV/0!",
    }


def titles_and_totals(path: Path) -> dict[str, Expected]:
    """A title, an empty row, a units row, sections, a total of totals."""
    rows = [
        ["Order of the week, all invented"],
        [],
        ["Job", "Rate", "Dry time", "Bulk density"],
        [None, "lb/h", "h", "lb/ft3"],
        ["North"],
        ["A", 220, 3.5, 40],
        ["B", 90, 3, 38],
        ["Total", 310, None, None],
        [],
        ["South"],
        [4711, 60, 4, 42],
        ["Total South", 60, None, None],
        ["Grand total", 370, None, None],
    ]
    book, _ = _book(rows)
    book.save(path)
    return {"A": lb(220, 3.5, 40), "B": lb(90, 3, 38), "4711": lb(60, 4, 42)}


def resin_only(path: Path) -> dict[str, Expected]:
    """Resin and throughput, gaps in the rest; ABS has 4 h and 0.62 kg/L in the resin table."""
    head = ["Part", "Resin", "Throughput (kg/h)", "Density (kg/L)", "Drying time (h)"]
    book, _ = _book([head, ["A", "ABS", 31, None, None], ["B", "ABS", 62, 0.6, None]])
    book.save(path)
    return {"A": (kg(31, 4, 0.62), "resin table"), "B": (kg(62, 4, 0.6), "resin table")}


def crossed_out(path: Path) -> dict[str, Expected]:
    """A job, a rate, and the old one of two rates with a line through them."""
    rows = [["A", 220, 3.5, 40], ["B", 90, 3, 40], ["C", 60, 4, 40], ["D", 0, 3, 40]]
    book, sheet = _book([HEAD, *rows])
    line = Font(strike=True)
    for cell in (*sheet[2], sheet["B3"]):
        cell.font = line
    sheet["B5"] = CellRichText(TextBlock(InlineFont(strike=True), "4"), "50")
    book.save(path)
    crossed = "is crossed out in the sheet: does the job still count, and with which value?"
    return {"B": f"no: '90' {crossed}", "C": lb(60, 4, 40), "D": f"no: '450' {crossed}"}


def units_in_formats(path: Path) -> dict[str, Expected]:
    """Cells that show "45 kg/h", "0.45 t/h" and "240 min", and hold 45, 450 and 240."""
    head = ["Job", "Rate", "Dry time", "Bulk density", "Regrind", "Regrind density (kg/L)"]
    rows = [["A", 45, 240, 0.6, 30, 0.4], ["B", 450, 4, 600, 25, 0.4], ["C", 100, 4, 40, 0, None]]
    book, sheet = _book([head, *rows])
    shown = [
        ['0 "kg/h"', '0 "min"', '0.00\\ "kg/L"', '0" %"'],
        ['0.00, "t/h"', '0 "h"', '0 "kg/m\u00b3"', '0" %"'],
        ['0" lb/h"', '0.0 "h"', '0 "lb/ft3"', '0" %"'],
    ]
    for row, formats in zip(sheet["B2:E4"], shown, strict=True):
        for cell, code in zip(row, formats, strict=True):
            cell.number_format = code
    book.save(path)
    return {
        "A": kg(45, 4, 0.54),
        "B": kg(450, 4, 0.75 * 0.6 + 0.25 * 0.4),
        "C": lb(100, 4, 40),
    }


def a_comment_on_a_figure(path: Path) -> dict[str, Expected]:
    """What somebody wrote into a comment is not read, and the row says so."""
    book, sheet = _book([HEAD, ["A", 220, 3.5, 40], ["B", 90, 3, 40]])
    sheet["B2"].comment = Comment("in kg/h!", "planner")
    book.save(path)
    mark = "'Rate (lb/h)' has a comment that is not read: 'in kg/h!'"
    return {"A": (lb(220, 3.5, 40), mark), "B": lb(90, 3, 40)}


BOOKS = (
    percent_formats, times, merged_headings, fourteen_columns, two_sheets, text_numbers,
    titles_and_totals, resin_only, crossed_out, units_in_formats,
    a_comment_on_a_figure,
)  # fmt: skip


# --- OpenDocument -------------------------------------------------------------------------

_NAMESPACES = " ".join(
    f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{short}:1.0"'
    for short in ("office", "table", "text")
)


def write_ods(path: Path, rows: list[list[Any]]) -> None:
    """The least that is an OpenDocument spreadsheet (OASIS ODF 1.2 part 1, 2.2 and 3.8)."""

    def cell(value: Any) -> str:
        if value is None:
            return "<table:table-cell/>"
        if isinstance(value, (int, float)):
            kind = f'office:value-type="float" office:value="{value}"'
        else:
            kind = 'office:value-type="string"'
        return f"<table:table-cell {kind}><text:p>{value}</text:p></table:table-cell>"

    lines = "".join(f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in rows)
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {_NAMESPACES} '
        f'office:version="1.2"><office:body><office:spreadsheet><table:table table:name="Jobs">'
        f"{lines}</table:table></office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        '<?xml version="1.0" encoding="UTF-8"?><manifest:manifest '
        'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" '
        'manifest:version="1.2">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/>'
        "</manifest:manifest>"
    )
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", kind)
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", manifest)


# --- binary workbooks -----------------------------------------------------------------------


def _record(kind: int, data: bytes = b"") -> bytes:
    """A record: its kind and length, seven bits a byte, then the data ([MS-XLSB] 2.1.4)."""
    out = b""
    for number in (kind, len(data)):
        while number > 127:
            out += bytes((number & 127 | 128,))
            number >>= 7
        out += bytes((number,))
    return out + data


def _wide(text: str) -> bytes:
    """XLWideString ([MS-XLSB] 2.5.169)."""
    return struct.pack("<I", len(text)) + text.encode("utf-16-le")


def write_xlsb(path: Path, rows: list[list[Any]]) -> None:
    """The least that is a binary workbook ([MS-XLSB] 2.4: the records are named beside them)."""

    def cell(at: int, value: Any) -> bytes:
        head = struct.pack("<II", at, 0)  # Cell: column, style and flags
        if isinstance(value, bool):
            return _record(4, head + bytes((value,)))  # BrtCellBool
        if isinstance(value, int):
            return _record(2, head + struct.pack("<I", value << 2 | 2))  # BrtCellRk, an integer
        if isinstance(value, float):
            return _record(5, head + struct.pack("<d", value))  # BrtCellReal
        return _record(6, head + _wide(value))  # BrtCellSt

    lines = b""
    for number, row in enumerate(rows):
        # BrtRowHdr: row, style, height 15 pt, flags, no spans of columns
        lines += _record(0, struct.pack("<IIHHBI", number, 0, 300, 0, 0, 0))
        lines += b"".join(cell(at, value) for at, value in enumerate(row) if value is not None)
    size = struct.pack("<IIII", 0, len(rows) - 1, 0, max(map(len, rows)) - 1)
    # BrtBeginSheet, BrtWsDim, BrtBeginSheetData, ..., BrtEndSheetData, BrtEndSheet
    sheet = _record(129) + _record(148, size) + _record(145) + lines + _record(146) + _record(130)
    bundle = struct.pack("<II", 0, 1) + _wide("rId1") + _wide("Jobs")
    # BrtBeginBook, BrtBeginBundleShs, BrtBundleSh, BrtEndBundleShs, BrtEndBook
    book = _record(131) + _record(143) + _record(156, bundle) + _record(144) + _record(132)
    office = "http://schemas.openxmlformats.org"
    kinds = "application/vnd.ms-excel"

    def relations(target: str, kind: str) -> str:
        return (
            f'<Relationships xmlns="{office}/package/2006/relationships"><Relationship Id="rId1" '
            f'Type="{office}/officeDocument/2006/relationships/{kind}" Target="{target}"/>'
            "</Relationships>"
        )

    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr(
            "[Content_Types].xml",
            f'<Types xmlns="{office}/package/2006/content-types"><Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            f'<Override PartName="/xl/workbook.bin" ContentType="{kinds}.sheet.binary.macroEnabled'
            f'.main"/><Override PartName="/xl/worksheets/sheet1.bin" ContentType="{kinds}.worksheet'
            '"/></Types>',
        )
        archive.writestr("_rels/.rels", relations("xl/workbook.bin", "officeDocument"))
        archive.writestr(
            "xl/_rels/workbook.bin.rels", relations("worksheets/sheet1.bin", "worksheet")
        )
        archive.writestr("xl/workbook.bin", book)
        archive.writestr("xl/worksheets/sheet1.bin", sheet)
