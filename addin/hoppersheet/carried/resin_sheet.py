"""The resin table that a workbook brings along with HOPPER_RESIN, on a hidden sheet.

Names and cautions are too long for an array in a name. The sheet has a name (without case, spaces
and signs) and its resin in each row on the left, and the values of each resin on the right, in US
and in metric units.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from .._version import __version__
from ..call import call
from ..cells.values import OMITTED
from ..errors import NoAnswer
from ..functions import all_functions
from ..tables.headings import plain_name
from ..tables.resin_table import TABLE_VERSION, names_of_resins, resin_names
from ..workbook.addresses import column_letters
from ..workbook.package import Package
from ..workbook.safe_xml import escaped, quoteattr, spliced

__all__ = ["SHEET", "cells", "names", "put"]

SHEET = "hoppersheet resins"
_HEADINGS, _FIRST = 3, 4
_KEY, _RESIN, _VALUES = 1, 4, 5  # columns
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"


def _rows() -> dict[str, str]:
    """What a row of values is called -> a name by which to ask for it.

    A name that several resins have gets a row of its own: cautions are told for such a name too.
    """
    rows = {resin: resin for resin in resin_names()}
    for key, resins in names_of_resins().items():
        rows.setdefault(" or ".join(resins), key)
    return rows


def _properties() -> list[str]:
    known = all_functions()["HOPPER_RESIN"].argument("property").known
    assert known is not None
    words = known()
    return [*words, *(f"{word} source" for word, quantity in words.items() if quantity)]


@cache
def cells() -> dict[str, str | float]:
    """``"A1"`` -> what stands there."""
    found: dict[str, str | float] = {
        "A1": f"Resin table {TABLE_VERSION}, written by hoppersheet {__version__} "
        "for the function HOPPER_RESIN stored in this workbook. Do not change it: the audit "
        "compares it.",
        f"A{_HEADINGS}": "name",
        f"B{_HEADINGS}": "resin",
        f"D{_HEADINGS}": "resin",
    }
    for row, (key, resins) in enumerate(names_of_resins().items(), _FIRST):
        found[f"A{row}"] = key
        found[f"B{row}"] = " or ".join(resins)
    columns = [(word, units) for units in ("US", "metric") for word in _properties()]
    for column, (word, units) in enumerate(columns, _VALUES):
        letters = column_letters(column)
        found[f"{letters}{_HEADINGS}"] = f"{units} {plain_name(word)}"
        for row, name in enumerate(_rows().values(), _FIRST):
            value = _value(name, word, units)
            if value is not None:
                found[f"{letters}{row}"] = value
    for row, title in enumerate(_rows(), _FIRST):
        found[f"D{row}"] = title
    return found


def _value(resin: str, word: str, units: str) -> Any:
    try:
        return call("HOPPER_RESIN", resin, word, OMITTED, units)
    except NoAnswer:
        return None


def names() -> dict[str, str]:
    """Hidden name -> the range of the sheet that it is."""
    last_name = _FIRST + len(names_of_resins()) - 1
    last_resin = _FIRST + len(_rows()) - 1
    last = column_letters(_VALUES + 2 * len(_properties()) - 1)
    first = column_letters(_VALUES)
    sheet = f"'{SHEET}'!"
    return {
        "HOPPERSHEET_RESIN_NAMES": f"{sheet}$A${_FIRST}:$B${last_name}",
        "HOPPERSHEET_RESINS": f"{sheet}$D${_FIRST}:$D${last_resin}",
        "HOPPERSHEET_RESIN_HEADINGS": f"{sheet}${first}${_HEADINGS}:${last}${_HEADINGS}",
        "HOPPERSHEET_RESIN_VALUES": f"{sheet}${first}${_FIRST}:${last}${last_resin}",
    }


def _xml() -> bytes:
    rows: dict[int, list[tuple[int, str, str | float]]] = {}
    for ref, value in cells().items():
        letters, row = re.fullmatch(r"([A-Z]+)([0-9]+)", ref).groups()  # type: ignore[union-attr]
        column = 0
        for letter in letters:
            column = column * 26 + ord(letter) - 64
        rows.setdefault(int(row), []).append((column, ref, value))
    lines = []
    for row, listed in sorted(rows.items()):
        shown = b"".join(_cell(ref, value) for _, ref, value in sorted(listed))
        lines.append(b'<row r="%d">%b</row>' % (row, shown))
    return (
        b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
        b'<worksheet xmlns="%b"><sheetData>%b</sheetData></worksheet>'
        % (_MAIN.encode(), b"".join(lines))
    )


def _cell(ref: str, value: str | float) -> bytes:
    if isinstance(value, str):
        text = escaped(value)
        return b'<c r="%b" t="inlineStr"><is><t xml:space="preserve">%b</t></is></c>' % (
            ref.encode(), text,
        )  # fmt: skip
    return b'<c r="%b"><v>%b</v></c>' % (ref.encode(), repr(value).encode())


def put(package: Package) -> None:
    """Put the sheet into a workbook, or write the one anew that it has, in memory."""
    there = next((sheet for sheet in package.sheets if sheet.name == SHEET), None)
    if there is not None:
        package.replace(there.part, _xml())
        return
    number = 1
    taken = {part.lower() for part in package.parts}
    folder = package.workbook_part.rpartition("/")[0]
    while f"{folder}/worksheets/resins{number}.xml".lower() in taken:
        number += 1
    part = f"{folder}/worksheets/resins{number}.xml"
    package.add(part, _xml())
    _append(package, "[Content_Types].xml", "Types",
            f'<Override PartName="/{part}" ContentType="{_TYPE}"/>')  # fmt: skip
    rels = f"{folder}/_rels/{package.workbook_part.rpartition('/')[2]}.rels"
    key = "rIdHoppersheetResins"
    _append(package, rels, "Relationships",
            f'<Relationship Id="{key}" Type="{_RELATIONS}/worksheet" '
            f'Target="worksheets/resins{number}.xml"/>')  # fmt: skip
    listed = [e for e in package.elements(package.workbook_part) if e.tag == "sheet"]
    sheet_id = 1 + max(int(e.attributes.get("sheetId", 0)) for e in listed)
    _append(package, package.workbook_part, "sheets",
            f'<sheet xmlns:r="{_RELATIONS}" name={quoteattr(SHEET)} sheetId="{sheet_id}" '
            f'state="hidden" r:id="{key}"/>')  # fmt: skip
    package.__dict__.pop("sheets", None)


def _append(package: Package, part: str, tag: str, new: str) -> None:
    """Put an element at the end of another one's content, under the prefix of that one."""
    data = package.xml(part)
    holder = next(e for e in package.elements(part) if e.tag == tag)
    prefix = re.match(rb"<(\w+:)?", data[holder.start :])
    mark = prefix[1].decode() if prefix and prefix[1] else ""
    entry = new.replace("<", f"<{mark}", 1).encode()
    package.replace_xml(part, spliced(data, {(holder.inner_end, holder.inner_end): entry}))
