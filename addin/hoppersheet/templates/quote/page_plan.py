"""Sheet *Page plan*: where on the customer's page each thing stands.

One row per thing that may stand on the page (``page_things``). Those that apply are numbered in
their order, and the page shows them one after the other in *units* of two rows. A page holds a
fixed number of units
(``quote_sheet.units_on_a_page``, where the sheet has its page breaks): what belongs together, such
as a line and why it is short, begins on the next page where this one has no room for all of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..cautions import CUSTOMER
from .grid import landscape, letters_between, new_sheet
from .page_shape import CAPITALS_WIDER, LINE_LENGTH, units_on_a_page
from .page_things import Block, blocks

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["KEYS", "PIECES", "PLAN", "SHEET", "plan_length", "write"]

SHEET = "Page plan"
#: Columns of the plan.
KEYS = ("shown", "units", "start", "number", "kind", "ref", "title", "mood", "text", "together")
_FIRST = 6
#: Into how many pieces a text may be cut.
PIECES = 10
_ENDS = range(PIECES + 1)
#: What is still to be cut: the signs that piece k may have, and one more.
_RESTS = tuple(f"rest {k}" for k in _ENDS[1:])
_LETTERS = dict(zip((*KEYS, *_ENDS, "length", *_RESTS), letters_between("A", "AF"), strict=True))


def _by_capitals(text: str) -> str:
    """Signs that two lines hold of a text with names: capitals are wider than small letters."""
    rest = text
    for capital in "ABCDEFGHIJKLMNOPQRSTUVWXYZ":
        rest = f'SUBSTITUTE({rest},"{capital}","")'
    share = f"(LEN({text})-LEN({rest}))/MAX(1,LEN({text}))"
    return f"=ROUND({LINE_LENGTH}/(1+{CAPITALS_WIDER}*{share}),0)"


def plan_length(rows: int) -> int:
    """How many rows the plan has for so many lines."""
    return len(blocks(rows))


def PLAN(key: str | int, rows: int) -> str:
    """A column of the plan for other sheets; a number k: where piece k of a text ends."""
    letter = _LETTERS[key]
    return f"'{SHEET}'!${letter}${_FIRST}:${letter}${_FIRST + plan_length(rows) - 1}"


def write(book: Workbook, units: str, rows: int) -> None:
    """Add the sheet."""
    sheet, pen = new_sheet(
        book, SHEET, "Page plan: what may stand on the page, in its order",
        "Calculated from the other sheets; do not type here.",
    )  # fmt: skip
    pen.widths(A=46, B=40, C=40, D=50, E=66, F=34, G=210, H=44, I=560)
    for key, letter in _LETTERS.items():
        head = key if isinstance(key, str) else f"cut {key}"
        pen.put(f"{letter}{_FIRST - 2}", head, "unit")
        if key not in KEYS:
            dimension = sheet.column_dimensions[letter]
            dimension.outlineLevel, dimension.hidden = 1, True
    at = {block.kind: n for n, block in enumerate(blocks(rows), _FIRST)}
    last = _FIRST + plan_length(rows) - 1
    for row, block in enumerate(blocks(rows), _FIRST):
        for key, value in _cells(block, row, at, last, units_on_a_page(units)).items():
            words = key in ("kind", "title", "mood", "text")
            pen.put(
                f"{_LETTERS[key]}{row}", value, "plain", up="top", at="left" if words else "",
                indent=int(key in ("kind", "title")) or None,
            )  # fmt: skip
        if block.title == '"Please note"':
            # Longer than a formula's text may be: a plain text.
            sheet[f"{_LETTERS['text']}{row}"] = " ".join(CUSTOMER)
    start, count = (f"{_LETTERS[key]}{last}" for key in ("start", "units"))
    pen.put("I3", "units on all pages", "label", at="right")
    pen.put("J3", f"={start}+{count}-1", "plain")
    pen.name("J3", "page_units")
    sheet.freeze_panes = f"A{_FIRST}"
    landscape(sheet, f"A1:I{_FIRST + plan_length(rows) - 1}", "ABCDEFGHI", units)
    sheet.print_title_rows = f"{_FIRST - 2}:{_FIRST - 2}"


def _cells(
    block: Block, row: int, at: dict[str, int], last: int, on_a_page: tuple[int, int]
) -> dict[Any, Any]:
    """The cells of one row of the plan; ``at``: the (last) row of each kind of block."""
    c = {key: f"${letter}{row}" for key, letter in _LETTERS.items()}
    up = {key: f"${letter}{row - 1}" for key, letter in _LETTERS.items()}
    first, others = on_a_page

    def page(unit: str) -> str:
        # Without INT: it is no rounding of money, for which the audit would take it.
        further = f"({unit}-{first}-1)"
        return f"IF({unit}<={first},1,({further}-MOD({further},{others}))/{others}+2)"

    unit = f"${_LETTERS['units']}"
    # Added one by one: a SUM would be taken for a total that leaves rows out.
    together = "+".join(f"{unit}{row + n}" for n in range(block.after + 1))
    if block.item:
        # The last item stands on the page of the sums that end it.
        number = f"${_LETTERS['number']}"
        sums = "+".join(f"{unit}{at[kind]}" for kind in ("subtotal", "tax", "total"))
        together += f"+IF(COUNT({number}{row + 1}:{number}{last + 1})=0,{sums},0)"
        if (below := at["equipment"]) > row:
            together += f"+IF(COUNT({number}{row + 1}:{number}{below})=0,{unit}{below},0)"
    here = f"({up['start']}+{up['units']})" if row > _FIRST else "1"
    next_page = f"{first}+({page(here)}-1)*{others}+1"
    begins = f"{here}={first}+({page(here)}-2)*{others}+1"
    ends = f"({here}+{c['together']}-1)"
    crosses = f"{page(ends)}>{page(here)}"
    # What no page holds goes on where it is, unless it shall begin a page.
    long = "FALSE" if block.new_page else f"{c['together']}>{others}"
    start = (
        f"={here}+0"
        if row == _FIRST
        else f"=IF({c['shown']}=0,{here},IF({long},{here},IF({begins},{here},"
        f"IF({crosses},{next_page},{here}))))"
    )

    def beside(key: Any) -> str:
        """A cell that moves on with the piece: all pieces have copies of one formula."""
        return f"{_LETTERS[key]}{row}"

    def rest(k: int) -> str:
        begin, text = beside(k - 1), c["text"]
        return (
            f'=IF({begin}="","",IF({begin}>=LEN({text}),"",MID({text},{begin}+1,{c["length"]}+1)))'
        )

    def end(k: int) -> str:
        """Where piece k ends: after a sentence, a clause, unless that is early, or a word."""
        left, length = beside(f"rest {k}"), c["length"]

        def after_last(sign: str) -> str:
            times = f'(LEN({left})-LEN(SUBSTITUTE({left},"{sign}","")))/{len(sign)}'
            return f'FIND("¦",SUBSTITUTE({left},"{sign}","¦",{times}))+{len(sign) - 1}'

        cut = f"IFERROR({after_last(' ')},{length})"
        # By how much it is short and the reason for it are a paragraph each.
        for sign, early in (("; ", 2), (". ", 4 if block.kind == "reason" else 2)):
            found = after_last(sign)
            cut = f"IF(IFERROR({found},0)>{length}/{early},{found},{cut})"
        return f'=IF({left}="","",IF(LEN({left})<={length},LEN({c["text"]}),{beside(k - 1)}+{cut}))'

    return {
        "shown": f"=IF(IF(ISERROR({block.shown}),TRUE,{block.shown}),1,0)",
        "units": f"=IF({c['shown']}=1,MAX(1,COUNT({c[1]}:{c[PIECES]})),0)",
        "together": f"=IF({c['shown']}=1,{together},0)",
        "start": start,
        "number": f'=IF({c["shown"]}=1,COUNT(${_LETTERS["number"]}${_FIRST - 1}:{up["number"]})+1,'
        '"")' if block.item else None,
        "kind": block.kind,
        "ref": block.ref,
        "title": f'=IF({c["shown"]}=0,"",{block.title})',
        "mood": f'=IF({c["shown"]}=0,"",{block.mood})',
        "text": f'=IF({c["shown"]}=0,"",{block.text})',
        0: f"=IF({c['shown']}=1,0,\"\")",
        **{k: end(k) for k in _ENDS[1:]},
        "length": block.length or _by_capitals(c["text"]),
        **{key: rest(k) for k, key in enumerate(_RESTS, 1)},
    }  # fmt: skip
