"""*Quote*, other items: dryer, freight, start-up; what is sold beside the hoppers.

Each has a description, a quantity and a unit price, and enters the subtotal. One that lacks
something, or has text for a number, makes the total an error: none is left out silently.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.utils import column_index_from_string, get_column_letter

from ..layout import put, put_across
from ..styles import FORMATS
from ..validation import a_text, amount
from .quote_lines import LAST, TABLE
from .rows import highlight_errors

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["BEGUN", "LONGEST", "PRICED", "ROWS", "SUM", "TOTALS", "write_items"]

#: Characters that the page has room for.
LONGEST = 90
#: The rows of the page.
ROWS = tuple(range(TABLE.last_row + 3, TABLE.last_row + 7))
_CELLS = {
    key: f"Quote!${letter}${ROWS[0]}:${letter}${ROWS[-1]}"
    for key, letter in (
        ("text", "A"), ("quantity", TABLE.letter("quantity")), ("price", TABLE.letter("price")),
        ("total", TABLE.letter("total")),
    )
}  # fmt: skip
#: For the sheet Checks: how many were begun, and how many of them have a total.
BEGUN = (
    f'SUMPRODUCT(--(({_CELLS["text"]}<>"")+({_CELLS["quantity"]}<>"")+({_CELLS["price"]}<>"")>0))'
)
PRICED = f"COUNT({_CELLS['total']})"
SUM = f"SUMPRODUCT({_CELLS['quantity']},{_CELLS['price']})"
#: What the subtotal adds up.
TOTALS = _CELLS["total"]


def write_items(sheet: Worksheet) -> None:
    """Dryer, freight, start-up: what is sold beside the hoppers."""
    heading = ROWS[0] - 1
    sheet.row_dimensions[heading - 1].height = 8
    quantity, price, total = (TABLE.letter(key) for key in ("quantity", "price", "total"))
    before = get_column_letter(column_index_from_string(quantity) - 1)
    rules = (
        ("A", a_text(LONGEST, "Such as the dryer, freight, start-up."), "text", "left"),
        (quantity, amount(0.01, 100_000, "How many."), "text", "center"),
        (price, amount(-1e8, 1e8, "In the currency of the quote; a rebate is below 0."), "money",
         "right"),
    )  # fmt: skip
    put_across(sheet, f"A{heading}:{LAST}{heading}", None, "section")
    sheet.unmerge_cells(f"A{heading}:{LAST}{heading}")
    for letter, text, align in (
        ("A", "Other items", ""), (quantity, "Qty", "center"), (price, "Unit price", "right"),
        (total, "Total", "right"),
    ):  # fmt: skip
        put(sheet, f"{letter}{heading}", text, "section", align=align)
    for row in ROWS:
        put_across(sheet, f"A{row}:{before}{row}", None, "input", align="left")
        for letter, _, show, align in rules[1:]:
            put(sheet, f"{letter}{row}", None, "input", FORMATS[show], align=align)
        given = f"LEN(TRIM($A{row}))>0,ISNUMBER(${quantity}{row}),ISNUMBER(${price}{row})"
        put(
            sheet, f"{total}{row}",
            f'=IF(AND($A{row}="",${quantity}{row}="",${price}{row}=""),"",'
            f"IF(AND({given}),ROUND(${quantity}{row}*${price}{row},2),NA()))",
            "printed", FORMATS["money"], align="right",
        )  # fmt: skip
        sheet.row_dimensions[row].height = 16
    for (letter, rule, *_), title in zip(rules, ("Other item", "Quantity", "Unit price"),
                                         strict=True):  # fmt: skip
        validation = rule.validation(title, f"{letter}{ROWS[0]}")
        validation.add(f"{letter}{ROWS[0]}:{letter}{ROWS[-1]}")
        sheet.add_data_validation(validation)
    highlight_errors(sheet, f"{total}{ROWS[0]}:{total}{ROWS[-1]}")
