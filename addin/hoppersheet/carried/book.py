"""Puts carried functions into a workbook as defined names, and finds those that it has."""

from __future__ import annotations

import re
from collections.abc import Iterable

from .._version import __version__
from ..errors import InputFileError
from ..functions import all_functions
from ..workbook.package import Package
from ..workbook.safe_xml import Element, escaped, quoteattr, spliced
from ..workbook.written_formulas import formulas
from . import resin_sheet
from .lambdas import carried, names_needed
from .stored import stored

__all__ = [
    "LONGEST_COMMENT",
    "VERSION_NAME",
    "can_be_carried",
    "carry",
    "carry_used",
    "drop",
    "functions_used",
    "is_ours",
    "names_in",
    "version_text",
]

#: The hidden name that says which version wrote the others.
VERSION_NAME = "HOPPERSHEET_VERSION"
#: Excel opens no workbook in which a name's comment is longer.
LONGEST_COMMENT = 255

_OURS = re.compile(r"HOPPER(?:SHEET)?_\w+", re.IGNORECASE)
_CALL = re.compile(r'"(?:[^"]|"")*"|(?<![\w.])(HOPPER_\w+)\s*\(', re.IGNORECASE)
#: What may follow the defined names in the workbook part (ECMA-376 part 1, 18.2.27).
_AFTER_NAMES = (
    "calcPr", "oleSize", "customWorkbookViews", "pivotCaches", "smartTagPr", "smartTagTypes",
    "webPublishing", "fileRecoveryPr", "webPublishObjects", "extLst",
)  # fmt: skip


def version_text() -> str:
    """The text of the name that says which version wrote the others."""
    return f'"hoppersheet {__version__}"'


def is_ours(name: str) -> bool:
    """Whether a name is called like a function of ours or one of its hidden names."""
    return _OURS.fullmatch(name) is not None


def functions_used(package: Package) -> list[str]:
    """Our functions that any formula of the workbook calls, in the order of the documentation.

    Formulas of the carried names themselves do not count.
    """
    used = set()
    for formula in formulas(package):
        if formula.kind == "defined name" and _OURS.fullmatch(formula.where):
            continue
        used |= {m[1].upper() for m in _CALL.finditer(formula.text) if m[1]}
    return [name for name in all_functions() if name in used]


def names_in(package: Package) -> dict[str, str]:
    """Name -> formula of the workbook-wide names that are called like a function of ours."""
    return {
        each.name: each.formula
        for each in package.defined_names
        if each.sheet is None and _OURS.fullmatch(each.name)
    }


def carry(package: Package, functions: Iterable[str]) -> list[str]:
    """Put functions, and the hidden names that they need, into a workbook, in memory.

    Names of ours that the workbook has already are written anew; nothing else changes.

    Returns:
        The names written.

    Raises:
        InputFileError: the workbook part is damaged.
        KeyError: a function cannot be carried.
    """
    texts = names_needed(list(functions))
    if resin_sheet.names().keys() & texts.keys():
        resin_sheet.put(package)
    texts[VERSION_NAME] = version_text()
    new = b"".join(_element(name, text) for name, text in texts.items())
    data = package.xml(package.workbook_part)
    found = package.elements(package.workbook_part)
    edits: dict[tuple[int, int], bytes] = {}
    for element in found:
        name = element.attributes.get("name", "")
        if element.tag == "definedName" and _OURS.fullmatch(name):
            edits[element.start, element.end] = b""
    holder = next((e for e in found if e.tag == "definedNames"), None)
    if holder is None:
        offset = _offset(package, found)
        edits[offset, offset] = b"<definedNames>" + new + b"</definedNames>"
    elif data[holder.start : holder.end].endswith(b"/>"):  # <definedNames/>
        edits[holder.start, holder.end] = b"<definedNames>" + new + b"</definedNames>"
    else:
        edits[holder.inner_end, holder.inner_end] = new
    prefix = re.match(rb"<(\w+:)?", data[found[0].start :])
    if prefix and prefix[1]:
        mark = prefix[1]
        edits = {
            at: re.sub(rb"<(/?)(definedNames?)\b", rb"<\1" + mark + rb"\2", text)
            for at, text in edits.items()
        }
    package.replace_xml(package.workbook_part, spliced(data, edits))
    package.__dict__.pop("defined_names", None)
    return list(texts)


def _offset(package: Package, found: list[Element]) -> int:
    """Where the defined names belong in a workbook part that has none."""
    for element in found:
        if element.tag in _AFTER_NAMES and element.inside == ("workbook",):
            return element.start
    root = found[0]
    if root.inner_end == root.end:
        raise InputFileError(f"{package.path}: the part {package.workbook_part} lists no sheets")
    return root.inner_end


def _element(name: str, text: str) -> bytes:
    record = all_functions().get(name)
    if record is None:
        marks = 'hidden="1"'
    else:
        comment = f"{record.summary} Written by hoppersheet {__version__}."
        marks = f"comment={quoteattr(comment[:LONGEST_COMMENT])}"
    start = f"<definedName name={quoteattr(name)} {marks}>"
    return start.encode() + escaped(stored(text)) + b"</definedName>"


def carry_used(package: Package) -> list[str]:
    """Carry every function that a workbook calls, in memory; the functions.

    Raises:
        InputFileError: it calls one that cannot be carried, or its workbook part is damaged.
    """
    used = functions_used(package)
    left = [name for name in used if not can_be_carried(name)]
    if left:
        raise InputFileError(
            f"{', '.join(left)}: only the add-in has it; it cannot be stored in a workbook"
        )
    carry(package, used)
    return used


def drop(package: Package) -> list[str]:
    """Take the carried functions out of a workbook, in memory; the names that are gone."""
    data = package.xml(package.workbook_part)
    found = package.elements(package.workbook_part)
    names = [e for e in found if e.tag == "definedName"]
    ours = [e for e in names if is_ours(e.attributes.get("name", ""))]
    gone = [e for e in found if e.tag == "definedNames"] if len(ours) == len(names) else ours
    if ours:
        edits = {(element.start, element.end): b"" for element in gone}
        package.replace_xml(package.workbook_part, spliced(data, edits))
        package.__dict__.pop("defined_names", None)
    return [element.attributes["name"] for element in ours]


def can_be_carried(name: str) -> bool:
    """Whether a function of ours has a LAMBDA."""
    return name in carried()
