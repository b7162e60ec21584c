"""How wide a text is in the workbooks' font, and how many lines it takes; nothing is drawn for it.

Widths: Adobe's font metrics of Helvetica (Core 14 AFM files); Arial and Liberation Sans have them.
"""

from __future__ import annotations

from pypdf._codecs.core_font_metrics import CORE_FONT_METRICS

_PLAIN, _BOLD = (
    CORE_FONT_METRICS[name].character_widths for name in ("Helvetica", "Helvetica-Bold")
)
#: Signs that the metrics do not have, by one of about the same width.
_LIKE = {"³": "2", "°": "'", "…": "—", "▼": "W", "▲": "W", "■": "W", "○": "W", "●": "W", "₂": "2"}
#: Excel shows a column this much narrower than Calc: 7 pixels a unit of width, by its own rule,
#: against 7.16 measured in Calc.
EXCEL = 7 / 7.16


def text_width(text: str, points: float, bold: bool = False) -> float:
    """Pixels at 96 to the inch."""
    widths = _BOLD if bold else _PLAIN
    units = sum(widths.get(_LIKE.get(sign, sign), 667) for sign in text)
    return units / 1000 * points / 72 * 96


def lines_needed(text: str, points: float, width: float, bold: bool = False) -> int:
    """Lines when broken at spaces, and after hyphens as the office programs do."""
    if "\n" in text:
        return sum(lines_needed(part, points, width, bold) for part in text.split("\n"))
    lines, line = 1, ""
    for word in text.replace("-", "- ").split(" "):
        longer = line + word + ("" if word.endswith("-") else " ")
        if text_width(longer.rstrip(), points, bold) > width and line:
            lines, line = lines + 1, word + ("" if word.endswith("-") else " ")
        else:
            line = longer
    return lines
