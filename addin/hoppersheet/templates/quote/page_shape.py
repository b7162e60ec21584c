"""The shape of the customer's page: widths, heights, and how much of it one sheet of paper holds.

Under its heading the page is a stream of units of two rows that are all equally high, so that the
page breaks stand where the page is made, and no unit is ever cut.
"""

from __future__ import annotations

from functools import cache

from .grid import portrait_height, portrait_scale

__all__ = [
    "CAPITALS_WIDER",
    "FIRST",
    "HEADING_ROW",
    "HEAD_HEIGHTS",
    "LAST",
    "LINE_LENGTH",
    "MODEL_LENGTH",
    "TEXT_LENGTH",
    "TITLE_LENGTH",
    "UNIT_HEIGHTS",
    "WIDTHS",
    "page_scale",
    "units_of",
    "units_on_a_page",
]

LAST = "L"
HEADING_ROW = 9
#: First row of the stream.
FIRST = 10
#: Of the columns, in pixels.
WIDTHS = dict(zip("ABCDEFGHIJKL", (24, 112, 73, 50, 48, 48, 104, 43, 46, 30, 72, 86), strict=True))
#: Of the rows above the stream, and of the two rows of a unit, in pixels.
HEAD_HEIGHTS = (34, 42, 6, 17, 17, 17, 17, 28, 32)
UNIT_HEIGHTS = (18, 30)
#: What the printer's own rounding may take of a page.
_SPARE = 0.98

#: Signs that the two lines of a text row hold: of our own sentences, and of figures and small
#: letters alone; names in capitals take more room. A test breaks them into lines by the widths of
#: the font.
TEXT_LENGTH, LINE_LENGTH = 245, 260
#: By how much a capital is wider than the mean of the other signs.
CAPITALS_WIDER = 0.45
#: Signs of a name that its cell on the page holds; a longer one stands whole in the text below it.
TITLE_LENGTH, MODEL_LENGTH = 30, 15


def units_of(rows: int) -> int:
    """Units of two rows that the page is prepared with, for so many lines of Sizing."""
    return 4 * rows + 50


def page_scale(units: str) -> int:
    """Percent at which the page is printed, so that its columns fill the paper."""
    return portrait_scale(sum(WIDTHS.values()), units)


@cache
def units_on_a_page(units: str) -> tuple[int, int]:
    """Units of two rows on the first sheet of paper and on each further one."""
    room = portrait_height(units) * 96 / (page_scale(units) / 100) * _SPARE
    first = room - sum(HEAD_HEIGHTS)
    others = room - HEAD_HEIGHTS[HEADING_ROW - 1]
    return int(first // sum(UNIT_HEIGHTS)), int(others // sum(UNIT_HEIGHTS))
