"""How cells are shown, as far as it says something about what they hold."""

from __future__ import annotations

import re
from dataclasses import dataclass

from .package import Package
from .safe_xml import Element

__all__ = ["PLAIN", "Style", "styles_of"]

#: The paper. ECMA-376 part 1, 18.8.19 and 20.1.6.2: theme color 0 is the light background color.
_WHITE = "FFFFFF"
#: ECMA-376 part 1, 18.8.27: 1 and 9 are white, 65 is the background of the screen.
_WHITE_INDEXES = ("1", "9", "65")


#: ECMA-376 part 1, 18.8.30 (numFmt): formats that a file does not spell out.
_BUILT_IN = {
    1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%", 11: "0.00E+00",
    12: "# ?/?", 13: "# ??/??", 14: "mm-dd-yy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy",
    18: "h:mm AM/PM", 19: "h:mm:ss AM/PM", 20: "h:mm", 21: "h:mm:ss", 22: "m/d/yy h:mm",
    37: "#,##0 ;(#,##0)", 38: "#,##0 ;[Red](#,##0)", 39: "#,##0.00;(#,##0.00)",
    40: "#,##0.00;[Red](#,##0.00)", 45: "mm:ss", 46: "[h]:mm:ss", 47: "mmss.0", 48: "##0.0E+0",
    49: "@",
}  # fmt: skip


@dataclass(frozen=True)
class Style:
    """How a cell is shown.

    Attributes:
        number_format: such as ``"0.00%"``; ``"General"`` where none is chosen.
        font, fill: their color as text that is equal where the colors are (``"FFFFFF"`` for
            white, ``"theme 4 0.4"``); ``""`` for the usual font color. Text in the color of
            its background is not seen.
    """

    number_format: str = "General"
    font: str = ""
    fill: str = _WHITE

    @property
    def percent(self) -> bool:
        """Whether a number is shown as a percentage."""
        return "%" in re.sub(r'"[^"]*"|\\.', "", self.number_format)


PLAIN = Style()


def _color(element: Element | None) -> str:
    if element is None:
        return ""
    values = element.attributes
    tint = values.get("tint", "0")
    shade = "" if tint in ("0", "") else f" {tint}"
    if "rgb" in values:
        return values["rgb"][-6:].upper() + shade
    if values.get("theme") == "0" or values.get("indexed") in _WHITE_INDEXES:
        return _WHITE + shade
    for kind in ("theme", "indexed"):
        if kind in values:
            return f"{kind} {values[kind]}{shade}"
    return ""


def styles_of(package: Package) -> list[Style]:
    """The cell formats of a workbook, in the order in which cells refer to them.

    Raises:
        InputFileError: the part is damaged.
    """
    part = next(
        (p for k, p in package.relations(package.workbook_part).values() if k == "styles"), ""
    )
    if part not in package.parts:
        return [PLAIN]
    formats = {str(number): form for number, form in _BUILT_IN.items()}
    fonts: list[str] = []
    fills: list[str] = []
    found: list[Style] = []
    for element in package.elements(part):
        inside, values = element.inside[-2:], element.attributes
        if element.tag == "numFmt" and inside[-1:] == ("numFmts",):
            formats[values.get("numFmtId", "")] = values.get("formatCode", "General")
        elif element.tag == "font" and inside[-1:] == ("fonts",):
            fonts.append("")
        elif element.tag == "color" and inside == ("fonts", "font"):
            fonts[-1] = _color(element)
        elif element.tag == "fill" and inside[-1:] == ("fills",):
            fills.append(_WHITE)
        elif element.tag == "patternFill" and inside == ("fills", "fill"):
            # another pattern than a solid one shows two colors, and no text hides in both
            fills[-1] = _WHITE if values.get("patternType", "none") == "none" else ""
            solid = values.get("patternType") == "solid"
        elif element.tag == "fgColor" and inside == ("fill", "patternFill"):
            fills[-1] = _color(element) if solid else fills[-1]
        elif element.tag == "xf" and inside[-1:] == ("cellXfs",):
            found.append(
                Style(
                    formats.get(values.get("numFmtId", "0"), "General"),
                    _at(fonts, values.get("fontId", "0"), ""),
                    _at(fills, values.get("fillId", "0"), _WHITE),
                )
            )
    return found or [PLAIN]


def _at(listed: list[str], number: str, instead: str) -> str:
    return listed[int(number)] if number.isdecimal() and int(number) < len(listed) else instead
