"""Sheet *Quote*: what the customer gets, one printed page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from openpyxl.styles import Font
from openpyxl.utils import column_index_from_string
from openpyxl.worksheet.properties import PageSetupProperties

from ..cautions import CAUTIONS
from ..layout import (
    Field,
    define_name,
    put,
    put_across,
    realign,
    text_height,
    write_fields,
    write_table,
)
from ..styles import failed, noticed, passed, ruled, style_name
from ..validation import Rule, a_date, a_share, a_text, one_of
from .other_items import ROWS as ITEM_ROWS
from .other_items import TOTALS as ITEM_TOTALS
from .other_items import write_items
from .quote_lines import LAST, MARGIN, SHORT, TABLE
from .rows import highlight_errors, when
from .sizing import TABLE as SIZING
from .steps import STEPS

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = [
    "BASIS_ROW",
    "FLAG_CELL",
    "LONGEST_CONDITIONS",
    "NOT_READY_CELL",
    "NO_TOTAL_CELL",
    "TABLE",
    "write",
]

_HEADER_ROW = 3


_PRINTED = TABLE.columns[: column_index_from_string(LAST)]
_WIDTH = sum(column.width for column in _PRINTED)

#: What the page has room for.
LONGEST_CONDITIONS = 400
_CONDITIONS = ITEM_ROWS[-1] + 2

_HEADER_LEFT = (
    Field("Customer", "customer", rule=a_text(60, "Who gets this quote.")),
    Field("Project", "project", rule=a_text(60)),
    Field("Prepared by", "prepared_by", rule=a_text(60, "Your name.")),
    Field("From", "seller", rule=a_text(60, "Your company.")),
    Field("Address", "seller_address", rule=a_text(60, "Street and town of your company.")),
    Field("Contact", "seller_contact", rule=a_text(60, "Telephone, e-mail.")),
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
            prompt="Switches what the whole book shows, not what was typed: Sizing says in which "
            "units figures are typed, so that no switch makes 100 lb/h into 100 kg/h.",
        ),
    ),
)  # fmt: skip

_TOTALS = (
    Field(
        "Subtotal", "quote_subtotal", "calc",
        '=IF(lines_begun+items_begun=0,"",IF(lines_not_priced+items_not_priced>0,NA(),'
        f"SUM({TABLE.range('total')})+SUM({ITEM_TOTALS})))",
        show="money",
    ),
    Field(
        "Tax", "quote_tax", "calc",
        '=IF(lines_begun+items_begun=0,"",IF(tax_rate="",NA(),ROUND(quote_subtotal*tax_rate,2)))',
        show="money",
    ),
    Field(
        "Total", "quote_total", "calc",
        '=IF(lines_begun+items_begun=0,"",quote_subtotal+quote_tax)', show="money", style="total",
    ),
)  # fmt: skip

#: Why there is no total.
_NO_TOTAL = (
    '=IF(lines_begun=0,"No line is filled in on Sizing.",IF(lines_not_priced>0,'
    'lines_not_priced&" of "&lines_begun&IF(lines_begun=1," line"," lines")&'
    '" not priced: no total. See Sizing.",IF(items_not_priced>0,items_not_priced&'
    'IF(items_not_priced=1," other item"," other items")&" without description, quantity or '
    'price as numbers: no total.","")))'
)


def _count(key: str, value: str) -> str:
    return f'COUNTIF({SIZING.range(key)},"{value}")'


def _some(count: str, words: str) -> str:
    """ ", 2 measured"; nothing for none."""
    return f'IF({count}=0,"",", "&{count}&" {words}")'


_CHOSEN = f"COUNTA({SIZING.range('choice')})"
_ORIGINS = "&".join(
    _some(_count("virgin_basis", basis), words)
    for basis, words in (
        ("measured", "measured"), ("data sheet", "from data sheets"), ("estimated", "estimated"),
    )
)  # fmt: skip
_GUESSED = (
    f'COUNTIFS({SIZING.range("regrind_is")},"estimated",{SIZING.range("regrind_share")},">0")'
)
_HOW_MANY_SHORT = f"MAX({SHORT.range('number')})"


def _short(number: int) -> str:
    """The words of a short line by its number among them."""
    return f"INDEX({SHORT.range('words')},MATCH({number},{SHORT.range('number')},0))"


#: What the customer should know about how the hoppers were chosen.
_BASIS = (
    '="Volume = throughput x drying time / bulk density, plus the reserve stated for the line."',
    '=IF(allowed_shortfall=0,"Size: the next catalog size up'
    '","Size: the catalog size below where it is short by no more than "&'
    'ROUND(100*allowed_shortfall,1)&" %, else the next size up")&'
    f'IF({_CHOSEN}=0,".","; "&{_CHOSEN}&IF({_CHOSEN}=1," line"," lines")&'
    '" chosen individually.")',
    f'=IF(lines_begun=0,"","Virgin densities: "&MID(({_ORIGINS}&", not stated"),3,'
    f'IF(COUNTA({SIZING.range("virgin_basis")})=0,99,LEN({_ORIGINS})-2))&"."&'
    f'IF({_GUESSED}=0,""," Regrind densities: "&{_GUESSED}&" estimated."))',
    # Said only where it is known of every line.
    f'=IF(lines_begun=0,"",IF(COUNT({SIZING.range("hours_held")})<lines_begun,'
    '"Not every line has a hopper yet.",'
    f'IF({_count("holds", "no*")}=0,"Every hopper holds its drying time at the throughput '
    'stated.","Shorter than the drying time: "&'
    f'{_short(1)}&IF({_HOW_MANY_SHORT}>1,"; "&{_short(2)},"")&'
    f'IF({_HOW_MANY_SHORT}>2,"; "&{_short(3)},"")&'
    f'IF({_HOW_MANY_SHORT}>3,"; and "&{_HOW_MANY_SHORT}-3&" more","")&".")))',
    # Not by TEXT: what it takes for a year differs from one language of the program to another.
    '="Hoppers and prices: "&catalog_name&IF(catalog_date="","",", of "&YEAR(catalog_date)&"-"&'
    'RIGHT("0"&MONTH(catalog_date),2)&"-"&RIGHT("0"&DAY(catalog_date),2))&"."',
)
_SHORT_ROW = 3  # of these; it may need two lines


def _write_header(book: Workbook, sheet: Worksheet) -> None:
    for cell in sheet[f"A1:{LAST}1"][0]:
        cell.style = style_name("title")
    sheet.row_dimensions[1].height = 38
    put_across(sheet, "A1:F1", "Quote: drying hoppers", "title")
    put_across(
        sheet, f"G1:{LAST}1",
        '=IF(seller="","",seller)&IF(quote_number="","","  |  "&quote_number)', "subtitle",
        align="right",
    )  # fmt: skip
    sheet.row_dimensions[2].height = 8
    columns = {"label": "A:B", "value": "C:F"}
    write_fields(book, sheet, _HEADER_LEFT, _HEADER_ROW, columns)
    columns = {"label": "H:K", "value": f"L:{LAST}"}
    write_fields(book, sheet, _HEADER_RIGHT, _HEADER_ROW, columns, align="right")
    sheet.row_dimensions[_HEADER_ROW + len(_HEADER_LEFT)].height = 8


#: Row of the two headings "How these hoppers were sized" and "Price in ...".
BASIS_ROW = _HEADER_ROW + len(_HEADER_LEFT) + 1
#: Cells that say why there is no total, and that the quote is not ready.
NO_TOTAL_CELL = f"H{BASIS_ROW + len(_TOTALS) + 1}"
NOT_READY_CELL = f"H{BASIS_ROW + len(_TOTALS) + 2}"
#: The flag beside the page.
FLAG_CELL = f"{MARGIN}{BASIS_ROW + len(_TOTALS) + 2}"


def _write_basis_and_totals(book: Workbook, sheet: Worksheet) -> None:
    row = BASIS_ROW
    put_across(sheet, f"A{row}:G{row}", "How these hoppers were sized", "section")
    for number, text in enumerate(_BASIS):
        here = row + 1 + number
        put_across(sheet, f"A{here}:G{here}", text, "caution")
        sheet.row_dimensions[here].height = 26 if number == _SHORT_ROW else 16
    put_across(sheet, f"H{row}:{LAST}{row}", '="Price in "&currency', "section")
    columns = {"label": "H:K", "value": f"L:{LAST}"}
    write_fields(book, sheet, _TOTALS, row + 1, columns, align="right")
    put_across(sheet, f"{NO_TOTAL_CELL}:{LAST}{NO_TOTAL_CELL[1:]}", _NO_TOTAL, "alarm")
    # The customer reads the flag only where the quote must not go out at all.
    span = f"{NOT_READY_CELL}:{LAST}{NOT_READY_CELL[1:]}"
    put_across(sheet, span, '=IF(LEFT(checks_flag,3)="NOT",checks_flag,"")', "alarm")
    when(sheet, span, f'IF(ISERROR({NOT_READY_CELL}),TRUE,{NOT_READY_CELL}<>"")', failed())
    put(sheet, FLAG_CELL, "=checks_flag", "text")
    realign(sheet[FLAG_CELL], vertical="center")
    when(sheet, FLAG_CELL, f"ISERROR({FLAG_CELL})", failed())
    when(sheet, FLAG_CELL, f'LEFT({FLAG_CELL},3)="NOT"', failed())
    when(sheet, FLAG_CELL, f'ISNUMBER(SEARCH("WARNING",{FLAG_CELL}))', failed())
    when(sheet, FLAG_CELL, f'ISNUMBER(SEARCH("look",{FLAG_CELL}))', noticed())
    when(sheet, FLAG_CELL, f'LEFT({FLAG_CELL},3)="All"', passed())
    highlight_errors(sheet, f"L{row + 1}:{LAST}{row + len(_TOTALS)}")
    sheet.row_dimensions[row + len(_BASIS) + 1].height = 8


def _write_foot(book: Workbook, sheet: Worksheet) -> None:
    row = _CONDITIONS
    sheet.row_dimensions[row - 1].height = 8
    put(sheet, f"A{row}", "Conditions", "label")
    put_across(sheet, f"C{row}:{LAST}{row + 3}", None, "input", align="left")
    realign(sheet[f"C{row}"], wrap_text=True, vertical="top")
    rule = a_text(LONGEST_CONDITIONS, "Delivery, payment, anything the customer should read.")
    validation = rule.validation("Conditions", f"C{row}")
    validation.add(f"C{row}")
    sheet.add_data_validation(validation)
    define_name(book, "quote_conditions", f"Quote!$C${row}")
    row += 4
    sheet.row_dimensions[row].height = 8
    row += 1
    put_across(sheet, f"A{row}:{LAST}{row}", "Please note", "section")
    for row, caution in enumerate(CAUTIONS, row + 1):  # noqa: B020 goes on from the heading
        put_across(sheet, f"A{row}:{LAST}{row}", caution, "caution")
        sheet.row_dimensions[row].height = text_height(caution, _WIDTH, 9)
    row += 1
    put_across(
        sheet, f"A{row}:{LAST}{row}",
        '=IF(quote_number="","","Quote "&quote_number&".")', "note", align="right",
    )  # fmt: skip
    sheet.print_area = f"A1:{LAST}{row}"


def _write_margin(sheet: Worksheet) -> None:
    """What is what, in words, beside the printed page; and the way through the book."""
    for spacer in "NP":
        sheet.column_dimensions[spacer].width = 2
    sheet.column_dimensions[MARGIN].width = 100
    notes: dict[int, Any] = {
        1: "Beside the page, not printed",
        _HEADER_ROW: "input: the straw-colored cells at the head of the page",
        BASIS_ROW + 1: "calculated: everything below, from Sizing and Catalog",
        BASIS_ROW + len(_TOTALS) + 1: "check: all checks of the book, see the sheet Checks",
        TABLE.first_row: "calculated: one line per row of Sizing; type nothing here",
        ITEM_ROWS[0]: "input: other items; they count in the subtotal",
        _CONDITIONS: f"input: conditions, up to {LONGEST_CONDITIONS} characters",
    }
    for row, text in notes.items():
        put(sheet, f"{MARGIN}{row}", text, "note")
    row = TABLE.first_row + 2
    put(sheet, f"{MARGIN}{row}", "How to use this book", "section")
    for row, step in enumerate(STEPS, row + 1):  # noqa: B020 goes on from the heading
        put(sheet, f"{MARGIN}{row}", step, "note", align="left")


def write(book: Workbook) -> None:
    """Add the sheet, first in the book."""
    sheet = book.create_sheet(TABLE.sheet, 0)
    sheet.sheet_view.showGridLines = False
    write_table(sheet, TABLE, heading_height=42, row_height=24.5, calc_style="printed")
    for column in TABLE.columns:
        if column.wrap:
            for row in range(TABLE.first_row, TABLE.last_row + 1):
                font = sheet[TABLE.cell(column.key, row)].font
                sheet[TABLE.cell(column.key, row)].font = Font(
                    name=font.name, size=9, color=font.color
                )
    write_table(sheet, SHORT, heading_height=42, row_height=24.5, calc_style="printed")
    # The words of the columns stand in the margin; the customer does not need them.
    for cell in sheet[TABLE.first_row - 1]:
        cell.value = None
        cell.style = "Normal"
    sheet.row_dimensions[TABLE.first_row - 1].height = 3
    _write_header(book, sheet)
    _write_basis_and_totals(book, sheet)
    lines = f"A{TABLE.first_row}:{LAST}{TABLE.last_row}"
    highlight_errors(sheet, lines)
    # One range for all: Calc shows only one of the conditional formats of overlapping ranges.
    short = column_index_from_string(TABLE.letter("enough"))
    when(
        sheet, lines,
        f'AND(COLUMN(A{TABLE.first_row})={short},${TABLE.cell("enough", TABLE.first_row)}="SHORT")',
        noticed(),
    )  # fmt: skip
    when(sheet, lines, f'$A{TABLE.first_row}<>""', ruled())
    write_items(sheet)
    _write_foot(book, sheet)
    _write_margin(sheet)
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_setup.orientation = "portrait"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_LETTER
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 1
    sheet.print_options.horizontalCentered = True
    sheet.page_margins.left = sheet.page_margins.right = 0.4
    sheet.page_margins.top = 0.4
    sheet.page_margins.bottom = 0.6
    # The name of the file is nothing for the customer; the page's last line has the number.
    sheet.oddFooter.right.text = "&8Page &P of &N"
