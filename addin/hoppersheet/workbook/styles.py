"""How cells are shown, as far as it says something about what they hold."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TypeVar

from .package import Package
from .safe_xml import Element
from .sheet_scan import size_of

__all__ = ["PLAIN", "Look", "Style", "looks_of", "styles_of"]

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
        size: of the font, in points.
        struck: whether a line goes through the text.
    """

    number_format: str = "General"
    font: str = ""
    fill: str = _WHITE
    size: float = 11.0
    struck: bool = False

    @property
    def percent(self) -> bool:
        """Whether a number is shown as a percentage."""
        return "%" in re.sub(r'"[^"]*"|\\.', "", self.number_format)


PLAIN = Style()


@dataclass(frozen=True)
class Look:
    """What a conditional format changes of a cell's style; ``""`` where it leaves it alone."""

    number_format: str = ""
    font: str = ""
    fill: str = ""

    def over(self, style: Style) -> Style:
        """The style of a cell for which the condition holds."""
        return replace(
            style,
            number_format=self.number_format or style.number_format,
            font=self.font or style.font,
            fill=self.fill or style.fill,
        )


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


def _elements(package: Package) -> list[Element]:
    """The elements of the part with the styles; none where there is no such part."""
    relations = package.relations(package.workbook_part).values()
    part = next((part for kind, part in relations if kind == "styles"), "")
    return package.elements(part) if part in package.parts else []


def styles_of(package: Package) -> list[Style]:
    """The cell formats of a workbook, in the order in which cells refer to them.

    Raises:
        InputFileError: the part is damaged.
    """
    formats = {str(number): form for number, form in _BUILT_IN.items()}
    usual = ("", PLAIN.size, False)
    fonts: list[tuple[str, float, bool]] = []
    fills: list[str] = []
    found: list[Style] = []
    solid = False
    for element in _elements(package):
        inside, values = element.inside[-2:], element.attributes
        of_fill = element.inside[-3:-1] == ("fills", "fill")
        if element.tag == "numFmt" and inside[-1:] == ("numFmts",):
            formats[values.get("numFmtId", "")] = values.get("formatCode", "General")
        elif element.tag == "font" and inside[-1:] == ("fonts",):
            fonts.append(usual)
        elif element.tag == "color" and inside == ("fonts", "font"):
            fonts[-1] = (_color(element), *fonts[-1][1:])
        elif element.tag == "sz" and inside == ("fonts", "font"):
            fonts[-1] = (fonts[-1][0], size_of(values.get("val"), PLAIN.size), fonts[-1][2])
        elif element.tag == "strike" and inside == ("fonts", "font"):
            fonts[-1] = (*fonts[-1][:2], values.get("val", "1") in ("1", "true"))
        elif element.tag == "fill" and inside[-1:] == ("fills",):
            fills.append(_WHITE)
        elif element.tag == "patternFill" and inside == ("fills", "fill"):
            # another pattern than a solid one shows two colors, and no text hides in both
            fills[-1] = _WHITE if values.get("patternType", "none") == "none" else ""
            solid = values.get("patternType") == "solid"
        elif element.tag == "fgColor" and of_fill and inside[-1] == "patternFill":
            fills[-1] = _color(element) if solid else fills[-1]
        elif element.tag == "xf" and inside[-1:] == ("cellXfs",):
            font, size, struck = _at(fonts, values.get("fontId", "0"), usual)
            found.append(
                Style(
                    formats.get(values.get("numFmtId", "0"), "General"),
                    font,
                    _at(fills, values.get("fillId", "0"), _WHITE),
                    size,
                    struck,
                )
            )
    return found or [PLAIN]


def looks_of(package: Package) -> list[Look]:
    """What conditional formats change, in the order in which their rules refer to them.

    Raises:
        InputFileError: the part is damaged.
    """
    found: list[Look] = []
    for element in _elements(package):
        if element.tag == "dxf":
            found.append(Look())
        elif not found or "dxf" not in element.inside:
            continue
        elif element.tag == "numFmt":
            code = element.attributes.get("formatCode", "")
            found[-1] = replace(found[-1], number_format=code)
        elif element.tag == "color" and element.inside[-1] == "font":
            found[-1] = replace(found[-1], font=_color(element))
        elif element.tag == "bgColor" and element.inside[-1] == "patternFill":
            # ECMA-376 part 1, 18.8.14: the color of a solid fill stands here in a dxf
            found[-1] = replace(found[-1], fill=_color(element))
    return found


_Item = TypeVar("_Item")


def _at(listed: list[_Item], number: str, instead: _Item) -> _Item:
    return listed[int(number)] if number.isdecimal() and int(number) < len(listed) else instead
