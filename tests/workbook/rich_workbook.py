"""Builds one workbook with everything in it that a careless tool loses.

Macros (the compiled project that xlwings ships in its quickstart.xlsm), theme, styles, table,
chart, comments, validations, print settings, defined names, conditional formats of both kinds,
merged cells, a hidden sheet, protection, properties, a calculation chain, custom XML and a
printer's settings; and formulas of every form that a file can store. All content is invented.
"""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import xlwings
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.formatting.rule import ColorScaleRule, FormulaRule
from openpyxl.styles import Border, Font, NamedStyle, PatternFill, Side
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.table import Table, TableStyleInfo

#: Stands for a shared formula in what openpyxl writes; replaced afterwards.
_SHARED = {
    "<f>B2*1</f>": '<f t="shared" ref="K2:K4" si="0">B2*1</f>',
    "<f>B3*1</f>": '<f t="shared" si="0" />',
    "<f>B4*1</f>": '<f t="shared" si="0" />',
}
_EXTENSION = (
    '<extLst><ext xmlns:x14="http://schemas.microsoft.com/office/spreadsheetml/2009/9/main" '
    'uri="{78C0D931-6437-407d-A8EE-F0AAD7539E65}"><x14:conditionalFormattings>'
    '<x14:conditionalFormatting xmlns:xm="http://schemas.microsoft.com/office/excel/2006/main">'
    '<x14:cfRule type="expression" priority="9" id="{00000000-0001-0000-0000-000000000001}">'
    "<xm:f>HOPPER_HELD_MASS(16,36.5)&gt;1</xm:f></x14:cfRule><xm:sqref>F2:F4</xm:sqref>"
    "</x14:conditionalFormatting></x14:conditionalFormattings></ext></extLst>"
)


def build(path: Path, change_xml: Callable[[str, str], str] = lambda part, xml: xml) -> Path:
    """Write the workbook, an .xlsm.

    ``change_xml(part, xml)`` may change what is written into the XML of a part.
    """
    book = openpyxl.load_workbook(
        Path(xlwings.__file__).with_name("quickstart.xlsm"), keep_vba=True
    )
    for sheet in book.sheetnames:
        del book[sheet]
    _sizing(book)
    _catalog(book)
    _quote(book)
    book.create_sheet("Notes").sheet_state = "hidden"
    book["Notes"]["A1"] = "invented"
    book["Notes"]["A2"] = "=1/0"
    book.defined_names["reserve"] = DefinedName("reserve", attr_text="Sizing!$I$1")
    book.defined_names["one_mass"] = DefinedName("one_mass", attr_text="HOPPER_HELD_MASS(16,36.5)")
    book.properties.title = "Invented quote"
    raw = path.with_suffix(".raw")
    book.save(raw)
    _finish(raw, path, change_xml)
    raw.unlink()
    return path


def _sizing(book: openpyxl.Workbook) -> None:
    sheet = book.create_sheet("Sizing")
    sheet.append(
        ["job", "throughput", "drying hours", "virgin share", "virgin density", "regrind density"]
    )
    sheet.append(["A-1", 100, 4, 0.7, 48, 25])
    sheet.append(["A-2", "45 kg/h", 2, 0.5, "0.55 g/cm3", 20])
    sheet.append(["A-3", 10_000, 6, 1, 38, 19])
    sheet["G1"] = "regrind share"
    sheet["H1"], sheet["I1"] = "reserve", 0.1
    for row in (2, 3, 4):
        sheet[f"G{row}"] = f"=1-D{row}"
        sheet[f"H{row}"] = (
            f"=HOPPER_REQUIRED_VOLUME(B{row},C{row},"
            f'HOPPER_BLEND_DENSITY(L{row}:M{row},E{row}:F{row},,"US"),reserve)'
        )
        sheet[f"I{row}"] = f"=HOPPER_NEXT_SIZE(H{row},'Catalog & prices'!$A$2:$A$6)"
        sheet[f"J{row}"] = f'=IFERROR(I{row},"ask us: <"&A{row}&">")'
        sheet[f"K{row}"] = f"=B{row}*1"
        sheet[f"L{row}"] = f"=D{row}"
        sheet[f"M{row}"] = f"=1-L{row}"
        sheet[f"N{row}"] = f"=ISNUMBER(I{row})"
        sheet[f"H{row}"].number_format = '0.0 "ft3"'
    sheet["O2"] = ArrayFormula("O2:P4", "=E2:F4*2")
    sheet["A6"] = "=HOPPER_VERSION()"
    sheet["A7"] = '=HOPPER_EXPLAIN("HOPPER_HELD_MASS",16,36.5)'
    sheet["A8"] = '=""'
    sheet["A9"] = "=SUM(I2:I3)"
    sheet["A10"] = "=one_mass*2"
    sheet["A11"] = ArrayFormula(
        "A11:C13",
        "=HOPPER_SIZE_JOBS(A1:G4,'Catalog & prices'!$A$2:$A$6,\"volume\")",
    )
    marked = NamedStyle(
        "entered", font=Font(name="Georgia", size=13, italic=True, color="FF225577")
    )
    marked.fill = PatternFill("solid", fgColor="FFEFE6D0")
    marked.border = Border(bottom=Side(style="dashed"))
    book.add_named_style(marked)
    for cell in sheet["B2:F4"]:
        for one in cell:
            one.style = "entered"
    sheet.freeze_panes = "B2"
    sheet.column_dimensions["A"].width = 31.5
    sheet.row_dimensions[2].height = 22
    sheet.merge_cells("H6:J7")
    sheet.sheet_properties.tabColor = "FF8844"
    sheet["B2"].comment = Comment("measured, invented", "an estimator", width=300, height=80)
    sheet["A1"].hyperlink = "https://example.org/"
    shares = DataValidation("decimal", operator="between", formula1="0", formula2="1")
    shares.add("D2:D4")
    volume = DataValidation("custom", formula1="HOPPER_HELD_MASS(H2,36.5)>0")
    volume.add("H2:H4")
    sheet.add_data_validation(shares)
    sheet.add_data_validation(volume)
    sheet.conditional_formatting.add(
        "H2:H4", FormulaRule(["HOPPER_HELD_MASS(H2,36.5)>1000"], font=Font(bold=True))
    )
    sheet.conditional_formatting.add(
        "B2:B4",
        ColorScaleRule("min", None, "FFFFFFFF", "formula", "$H$2*2", "FF22AA55"),
    )
    sheet.print_title_rows = "1:1"
    sheet.print_area = "A1:P13"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth = 1
    sheet.oddFooter.center.text = "Page &P of &N"
    sheet.auto_filter.ref = "A1:F4"


def _catalog(book: openpyxl.Workbook) -> None:
    sheet = book.create_sheet("Catalog & prices")
    sheet.append(["size", "model", "price"])
    for row in (
        [10, "INV-10", 900],
        [16, "INV-16", 1250],
        [25, "INV-25", 1700],
        [40, "INV-40", 2400],
    ):
        sheet.append(row)
    table = Table(displayName="Catalog", ref="A1:C5")
    table.tableStyleInfo = TableStyleInfo("TableStyleMedium9", showRowStripes=True)
    sheet.add_table(table)
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=3, min_row=1, max_row=5), titles_from_data=True)
    chart.title = "Invented prices"
    sheet.add_chart(chart, "E2")
    sheet.protection.sheet = True


def _quote(book: openpyxl.Workbook) -> None:
    sheet = book.create_sheet("Quote")
    sheet["A1"] = "=Sizing!I2"
    sheet["A2"] = "=HOPPER_CATALOG_ENTRY(A1,'Catalog & prices'!A2:A5,'Catalog & prices'!C2:C5)"
    sheet["A3"] = "=A2*(1-12.5%)"
    sheet["A4"] = '="Total "&TEXT(A3,"0.00")'


def _finish(raw: Path, path: Path, change_xml: Callable[[str, str], str]) -> None:
    """Add what openpyxl cannot write."""
    with zipfile.ZipFile(raw) as source, zipfile.ZipFile(path, "w") as target:
        for info in source.infolist():
            data = source.read(info)
            if info.filename.endswith((".xml", ".rels")):
                xml = data.decode()
                if 'ref="A1:P' in xml:
                    for old, new in _SHARED.items():
                        assert old in xml
                        xml = xml.replace(old, new)
                    xml = xml.replace("</worksheet>", _EXTENSION + "</worksheet>")
                data = change_xml(info.filename, xml).encode()
            stored = info.filename.endswith(".bin")
            target.writestr(info, data, zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED)
        target.writestr("customXml/item1.xml", "<invented><kept/></invented>")
        target.writestr("xl/printerSettings/printerSettings1.bin", bytes(range(256)))
        target.comment = b"kept too"


def small(path: Path, **cells: object) -> Path:
    """A workbook of one sheet; keys are addresses."""
    book = openpyxl.Workbook()
    for ref, value in cells.items():
        book.active[ref] = value
    book.save(path)
    return path


def slow(path: Path) -> Path:
    """A workbook that keeps Calc at work for a minute and more, each cell about a second."""
    formulas = {f"A{n}": f"=SUMPRODUCT(SIN(ROW($1:$1000000)*{n}))" for n in range(1, 200)}
    return small(path, **formulas)
