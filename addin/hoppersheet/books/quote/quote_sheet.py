"""Sheet *Quote*: what the customer gets, one printed page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from openpyxl.worksheet.properties import PageSetupProperties

from ..cautions import CAUTIONS
from ..layout import (
    Column,
    Field,
    Table,
    put,
    put_across,
    realign,
    text_height,
    write_fields,
    write_table,
)
from ..styles import failed, noticed, passed, ruled, style_name
from ..validation import Rule, a_date, a_share, a_text, one_of
from .rows import highlight_errors, when
from .sizing import TABLE as SIZING

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["TABLE", "write"]

_LAST = "L"
_MARGIN = "N"  # beside the printed page: the words that say what is what


def _from(key: str, text: bool = False) -> str:
    """The value of a Sizing column for the line; empty text for an empty cell."""
    value = f"INDEX({SIZING.range(key)},{{line}})"
    return f'IF({{line}}="","",{value}{"&" + chr(34) * 2 if text else ""})'


def _at(key: str) -> str:
    return f"INDEX({SIZING.range(key)},{{line}})"


TABLE = Table(
    "Quote",
    first_row=20,
    rows=20,
    columns=(
        Column(
            "line", "Line", show="whole", width=5, align="center",
            # The lines that were begun, without gaps; none is left out.
            formula=f'IF(ROWS({{line:above}})>lines_begun,"",'
            f"SMALL({SIZING.range('line')},ROWS({{line:above}})))",
        ),
        Column("job", "Job", width=21, formula=_from("job", text=True)),
        Column(
            "mix", "Resin and mix", width=30,
            formula='IF({line}="","",'
            f"{_at('resin')}&IF({_at('regrind_share')}=0,\", virgin\","
            f"\", \"&ROUND(100*{_at('regrind_share')},1)&\" % regrind by \"&"
            f"{_at('share_basis')}))",
        ),
        Column("throughput", "Throughput", quantity="throughput", width=11,
               formula=_from("throughput_used")),
        Column("hours", "Drying time", show="hours", unit="h", width=8, formula=_from("hours")),
        Column("model", "Hopper model", width=13, formula=_from("model", text=True)),
        Column("size", "Hopper size", quantity="volume", width=9, formula=_from("chosen")),
        Column("held", "Hours held", show="hours", unit="h", width=8,
               formula=_from("hours_held")),
        Column("quantity", "Qty", show="whole", width=5, align="center",
               formula=_from("quantity")),
        Column("price", "Unit price", show="money", width=12, formula=_from("price")),
        Column(
            "discount", "Disc.", show="share", width=8,
            formula=f'IF({{line}}="","",IF({_at("discount")}="","",{_at("discount")}))',
        ),
        Column("total", "Total", show="money", width=14, formula=_from("line_total")),
    ),
)  # fmt: skip

_WIDTH = sum(column.width for column in TABLE.columns)

_HEADER_LEFT = (
    Field("Customer", "customer", rule=a_text(60, "Who gets this quote.")),
    Field("Project", "project", rule=a_text(60)),
    Field("Prepared by", "prepared_by", rule=a_text(60, "Your name.")),
    Field("From", "seller", rule=a_text(60, "Your company.")),
    Field("Quote number", "quote_number", rule=a_text(30)),
)
_HEADER_RIGHT = (
    Field("Date", "quote_date", rule=a_date("The day of the quote."), show="date"),
    Field("Valid until", "valid_until", rule=a_date("The last day it holds."), show="date"),
    Field(
        "Currency", "currency", value="USD",
        rule=Rule("textLength", "3", "3", "three letters, as in ISO 4217", "Three letters."),
    ),
    Field(
        "Tax rate", "tax_rate", value=0, show="share",
        rule=a_share(prompt="Tax on the subtotal, 0 % if there is none."),
    ),
    Field(
        "Units", "unit_system", value="US",
        rule=one_of(
            "US", "metric",
            prompt="Switches the whole book. Figures already typed stay what they are: Sizing "
            "says in which units they were typed.",
        ),
    ),
)  # fmt: skip

_TOTALS = (
    Field(
        "Subtotal", "quote_subtotal", "calc",
        f'=IF(lines_begun=0,"",IF(lines_not_priced>0,NA(),SUM({TABLE.range("total")})))',
        show="money",
    ),
    Field(
        "Tax", "quote_tax", "calc",
        '=IF(lines_begun=0,"",IF(tax_rate="",NA(),ROUND(quote_subtotal*tax_rate,2)))', show="money",
    ),
    Field(
        "Total", "quote_total", "calc",
        '=IF(lines_begun=0,"",quote_subtotal+quote_tax)', show="money", style="total",
    ),
)  # fmt: skip


def _count(key: str, value: str) -> str:
    return f'COUNTIF({SIZING.range(key)},"{value}")'


_CHOSEN = f"COUNTA({SIZING.range('choice')})"

#: What the customer should know about how the hoppers were chosen.
_BASIS = (
    '="Volume = throughput x drying time / bulk density, plus the reserve stated for the line."',
    '=IF(allowed_shortfall=0,"Size: the next catalog size up'
    '","Size: the catalog size below where it is short by no more than "&'
    'ROUND(100*allowed_shortfall,1)&" %, else the next size up")&'
    f'IF({_CHOSEN}=0,".","; "&{_CHOSEN}&'
    '" line(s) chosen individually.")',
    f'=IF(lines_begun=0,"","Virgin densities: "&{_count("virgin_basis", "measured")}&" measured, "&'
    f'{_count("virgin_basis", "data sheet")}&" from data sheets, "&'
    f'{_count("virgin_basis", "estimated")}&" estimated. Regrind densities estimated: "&'
    f'COUNTIFS({SIZING.range("regrind_is")},"estimated",'
    f'{SIZING.range("regrind_share")},">0")&".")',
    # Said only where it is known of every line.
    f'=IF(lines_begun=0,"",IF(COUNT({SIZING.range("hours_held")})<lines_begun,'
    '"Not every line has a hopper yet.",'
    f'IF({_count("holds", "no*")}=0,"Every hopper holds its drying time at the throughput '
    f'stated.",{_count("holds", "no*")}&" hopper(s) hold less than the drying time: compare the '
    'columns.")))',
    '="Hoppers and prices: "&catalog_name&IF(catalog_date="","",", of "&'
    'TEXT(catalog_date,"yyyy-mm-dd"))&"."',
)


def _write_header(book: Workbook, sheet: Worksheet) -> None:
    for cell in sheet[f"A1:{_LAST}1"][0]:
        cell.style = style_name("title")
    sheet.row_dimensions[1].height = 38
    put_across(sheet, "A1:G1", "Quote: drying hoppers", "title")
    put_across(
        sheet, f"H1:{_LAST}1",
        '=IF(seller="","",seller)&IF(quote_number="","","  |  "&quote_number)', "subtitle",
        align="right",
    )  # fmt: skip
    sheet.row_dimensions[2].height = 8
    write_fields(book, sheet, _HEADER_LEFT, 3, {"label": "A:B", "value": "C:F"})
    write_fields(book, sheet, _HEADER_RIGHT, 3, {"label": "H:J", "value": "K:L"}, align="right")
    sheet.row_dimensions[8].height = 8


def _write_basis_and_totals(book: Workbook, sheet: Worksheet) -> None:
    put_across(sheet, "A9:G9", "How these hoppers were sized", "section")
    for row, text in enumerate(_BASIS, 10):
        put_across(sheet, f"A{row}:G{row}", text, "caution")
        sheet.row_dimensions[row].height = 16
    put_across(sheet, f"H9:{_LAST}9", '="Price in "&currency', "section")
    write_fields(book, sheet, _TOTALS, 10, {"label": "H:J", "value": "K:L"}, align="right")
    put_across(
        sheet, f"H13:{_LAST}13",
        '=IF(lines_begun=0,"No line is filled in on Sizing.",IF(lines_not_priced=0,"",'
        'lines_not_priced&" of "&lines_begun&" lines not priced: no total. See Sizing."))', "alarm",
    )  # fmt: skip
    put_across(sheet, f"H14:{_LAST}14", "=checks_flag", "text")
    realign(sheet["H14"], vertical="center")
    flag = f"H14:{_LAST}14"
    when(sheet, flag, "ISERROR($H$14)", failed())
    when(sheet, flag, 'LEFT($H$14,3)="NOT"', failed())
    when(sheet, flag, 'ISNUMBER(SEARCH("look",$H$14))', noticed())
    when(sheet, flag, 'LEFT($H$14,3)="All"', passed())
    highlight_errors(sheet, f"K10:{_LAST}12")
    sheet.row_dimensions[15].height = 8


def _write_foot(sheet: Worksheet) -> None:
    row = TABLE.last_row + 2
    put(sheet, f"A{row}", "Conditions", "label")
    put_across(sheet, f"C{row}:{_LAST}{row}", None, "input")
    rule = a_text(250, "Delivery, payment, anything else the customer should read.")
    validation = rule.validation("Conditions")
    validation.add(f"C{row}")
    sheet.add_data_validation(validation)
    row += 2
    put_across(sheet, f"A{row}:{_LAST}{row}", "Please note", "section")
    for row, caution in enumerate(CAUTIONS, row + 1):  # noqa: B020 goes on from the heading
        put_across(sheet, f"A{row}:{_LAST}{row}", caution, "caution")
        sheet.row_dimensions[row].height = text_height(caution, _WIDTH, 9)
    sheet.print_area = f"A1:{_LAST}{row}"


def _write_margin(sheet: Worksheet) -> None:
    """What is what, in words, beside the printed page."""
    sheet.column_dimensions["M"].width = 2
    sheet.column_dimensions[_MARGIN].width = 46
    notes: dict[int, Any] = {
        1: "Beside the page, not printed",
        3: "input: the straw-colored cells of rows 3 to 7",
        10: "calculated: everything below row 8, from Sizing and Catalog",
        14: "check: all checks of the book, see the sheet Checks",
        TABLE.first_row: "calculated: one line per row of Sizing; type nothing here",
        TABLE.last_row + 2: "input: conditions",
    }
    for row, text in notes.items():
        put(sheet, f"{_MARGIN}{row}", text, "note")


def write(book: Workbook) -> None:
    """Add the sheet, first in the book."""
    sheet = book.create_sheet(TABLE.sheet, 0)
    sheet.sheet_view.showGridLines = False
    write_table(sheet, TABLE, heading_height=42, row_height=20, calc_style="printed")
    # The words of the columns stand in the margin; the customer does not need them.
    for cell in sheet[f"A{TABLE.first_row - 1}:{_LAST}{TABLE.first_row - 1}"][0]:
        cell.value = None
        cell.style = "Normal"
    sheet.row_dimensions[TABLE.first_row - 1].height = 3
    _write_header(book, sheet)
    _write_basis_and_totals(book, sheet)
    lines = f"A{TABLE.first_row}:{_LAST}{TABLE.last_row}"
    highlight_errors(sheet, lines)
    when(sheet, lines, f'$A{TABLE.first_row}<>""', ruled())
    _write_foot(sheet)
    _write_margin(sheet)
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_setup.orientation = "portrait"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_LETTER
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 1
    sheet.print_options.horizontalCentered = True
    sheet.page_margins.left = sheet.page_margins.right = 0.5
    sheet.page_margins.top = 0.5
    sheet.page_margins.bottom = 0.7
    sheet.oddFooter.left.text = "&8&F"
    sheet.oddFooter.right.text = "&8Page &P"
