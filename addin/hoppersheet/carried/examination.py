"""Whether the functions that a workbook brings along are ours, by their texts.

A name takes the place of the add-in wherever there is none: a workbook whose
HOPPER_REQUIRED_VOLUME computes something else gives wrong numbers under a trusted name.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from .._version import __version__
from ..functions import all_functions
from ..workbook.package import DefinedName, Package
from . import resin_sheet
from .book import VERSION_NAME, functions_used, is_ours, version_text
from .helpers import helpers
from .lambdas import carried
from .stored import stored

__all__ = ["Brought", "bring_along", "same_formula"]

_TOKEN = re.compile(
    r'"(?:[^"]|"")*"|[0-9]+\.?[0-9]*(?:[eE][+-]?[0-9]+)?|\.[0-9]+|[A-Za-z_\\][\w.]*|#[A-Z/0]+[!?]?'
    r"|<>|<=|>=|\S"
)
_MARKS = re.compile(r"_xl(?:fn\.(?:_xlws\.)?|pm\.|op\.|udf\.)", re.IGNORECASE)


def _tokens(formula: str) -> list[str]:
    """A formula without what programs write differently: case, spaces, marks, forms of numbers."""
    found: list[str] = []
    for token in _TOKEN.findall(formula):
        if token[0] == '"':
            found.append(token)
        elif token[0].isdigit() or (token[0] == "." and len(token) > 1):
            found.append(repr(float(token)))
        elif token not in "[]":
            found.append(_MARKS.sub("", token).lower())
    # Calc writes TRUE().
    text = "\0".join(found)
    return re.sub(r"\b(true|false)\0\(\0\)", r"\1", text).split("\0")


def same_formula(one: str, other: str) -> bool:
    """Whether two formulas are the same but for how a program has written them down."""
    return _tokens(one) == _tokens(other)


@dataclass
class Brought:
    """The functions that a workbook brings along.

    Attributes:
        version: what the workbook says wrote them, "" where it says nothing.
        functions: the functions of ours that it defines.
        redefined: places whose text is not ours -> that text. A place is a name, or
            ``"Sheet!name"`` for one that holds on a sheet only.
        rewritten: names whose text is ours as another program has written it down.
        missing: functions that it calls and does not bring, though it brings others.
    """

    version: str = ""
    functions: list[str] = field(default_factory=list)
    redefined: dict[str, str] = field(default_factory=dict)
    rewritten: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    @property
    def older(self) -> bool:
        """Whether another version wrote them, so that their texts are not known here."""
        return bool(self.functions) and self.version != __version__


def bring_along(package: Package) -> Brought:
    """What the names of a workbook are that are called like ours.

    Raises:
        InputFileError: the workbook part is damaged.
    """
    found = Brought()
    called_like_ours = [each for each in package.defined_names if _is_called_like_ours(each)]
    if not called_like_ours:
        return found
    ours = {**helpers(), **carried(), VERSION_NAME: version_text()}
    for each in called_like_ours:
        name = each.name.upper()
        if name == VERSION_NAME:
            found.version = each.formula.strip('"').rpartition(" ")[2]
            continue
        if name in all_functions():
            found.functions.append(name)
        _compare(each, ours.get(name), found)
    if "HOPPER_RESIN" in found.functions:
        _compare_table(package, found)
    if found.functions:
        used = functions_used(package)
        found.missing = [name for name in used if name not in found.functions]
    return found


def _is_called_like_ours(each: DefinedName) -> bool:
    name = each.name.upper()
    return is_ours(name) and (not name.startswith("HOPPER_") or name in all_functions())


def _compare(each: DefinedName, ours: str | None, found: Brought) -> None:
    where = each.name if each.sheet is None else f"{each.sheet}!{each.name}"
    if ours is None or each.sheet is not None or not same_formula(each.formula, stored(ours)):
        found.redefined[where] = each.formula
    elif each.formula != stored(ours):
        found.rewritten.append(each.name)


def _compare_table(package: Package, found: Brought) -> None:
    """The hidden sheet counts as the text of HOPPER_RESIN."""
    expected = resin_sheet.cells()
    there: dict[str, object] = {}
    if any(sheet.name == resin_sheet.SHEET for sheet in package.sheets):
        there = dict(package.values(resin_sheet.SHEET))
    for ref in {**expected, **there}:
        if there.get(ref) not in (None, "", expected.get(ref)) or (
            ref in expected and there.get(ref) is None
        ):
            where = f"{resin_sheet.SHEET}!HOPPER_RESIN"
            found.redefined[where] = f"{ref}: {there.get(ref)}"
            return
