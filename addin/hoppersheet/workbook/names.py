"""Plain names of our functions again, in a workbook that a program has bound to something.

Excel binds a function to the file of the add-in when that file has moved or is missing, and
LibreOffice Calc 7.4 writes its own internal name. Such a workbook shows #NAME? on the next
machine, although the add-in is there. What is known to occur::

    'C:\\Users\\x\\hoppersheet.xlam'!HOPPER_X(    [1]!HOPPER_X(    hoppersheet.xlam!HOPPER_X(
    ORG.HOPPERSHEET.FUNCTIONS.HOPPER_X(    _xll.HOPPER_X(    _xludf.HOPPER_X(
    _xldudf_HOPPER_X(

Functions that the workbook brings along get the text back that Calc 7.4 writes in a form of its
own.
"""

from __future__ import annotations

import os
import re
from collections import Counter
from dataclasses import dataclass, field
from functools import lru_cache

from ..carried.book import carry
from ..carried.examination import bring_along
from ..functions import all_functions
from ..hosts.calc.names import SERVICE
from .package import Package
from .written_formulas import Formula, formulas, rewrite

__all__ = ["NamesReport", "bound_to", "make_plain", "plain", "put_plain_names"]

#: What every binding ends with, right before a function's name.
_BOUND = re.compile(rb"[!.]HOPPER_", re.IGNORECASE)

_SHOWN = 3  # cells named in one line; the rest is counted


@lru_cache(maxsize=1)
def _pattern() -> re.Pattern[str]:
    names = "|".join(sorted(map(re.escape, all_functions()), key=len, reverse=True))
    return re.compile(
        rf"""
          "(?:[^"]|"")*"                                  # a text: left alone
        | (?<![\w.'\]!])
          (?P<bound>
            (?: '(?:[^']|'')*' ! | [\w.\[\]]+ ! )?        # a file or a sheet
            (?: _xl\w+\. | _xldudf_ )*                    # a mark of Excel
            (?: {re.escape(SERVICE)}\. )?                 # Calc's internal name
          )
          (?P<name> {names} ) (?= \( )
        | '(?:[^']|'')*'                                  # the name of a sheet: left alone
        """,
        re.VERBOSE | re.IGNORECASE,
    )


def plain(formula: str) -> str:
    """A formula with the plain names of our functions, otherwise as it was.

    >>> plain("'C:\\\\x\\\\hoppersheet.xlam'!HOPPER_VERSION()&[2]Sheet1!A1")
    'HOPPER_VERSION()&[2]Sheet1!A1'
    """
    return _pattern().sub(
        lambda match: match["name"].upper() if match["bound"] else match[0], formula
    )


def bound_to(formula: str) -> list[str]:
    """What the names of our functions in a formula are bound to; empty where all are plain."""
    return [match["bound"] for match in _pattern().finditer(formula) if match["bound"]]


@dataclass
class NamesReport:
    """What was put right.

    Attributes:
        changed: the formulas as they were, each with its new text.
        links: targets of the workbook's links to other files that only our functions needed. They
            stay in the file, because taking one out would renumber the others.
        carried: names of carried functions that another program had written in a form of its own.
    """

    changed: list[tuple[Formula, str]] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    carried: list[str] = field(default_factory=list)

    def lines(self) -> list[str]:
        """For people: how many of each kind, then what each sheet's were bound to."""
        if not self.changed and not self.carried:
            return ["No name needs a repair; nothing was changed."]
        kinds = Counter(formula.kind for formula, _ in self.changed)
        counted = ", ".join(f"{n} {kind}{'s' if n > 1 else ''}" for kind, n in kinds.items())
        lines = [f"Names repaired in {counted}:"] if self.changed else []
        if self.carried:
            count = f"{len(self.carried)} names"
            lines.insert(
                0, f"Stored functions rewritten, because another program had changed them: {count}."
            )
        cells: dict[tuple[str, str], list[str]] = {}
        for formula, _new in self.changed:
            was = ", ".join(dict.fromkeys(bound_to(formula.text)))
            cells.setdefault((formula.where.rpartition("!")[0], was), []).append(formula.where)
        for (_sheet, was), here in cells.items():
            more = f" and {len(here) - _SHOWN} more" if len(here) > _SHOWN else ""
            lines.append(f"  {', '.join(here[:_SHOWN])}{more}: bound to {was}")
        for target in self.links:
            lines.append(
                f"No formula needs the link to {target} any more; Excel: Data, Edit Links, Break "
                "Link."
            )
        return lines


def make_plain(package: Package) -> NamesReport:
    """Make every name of our functions in the package plain, in memory."""
    written = (part for part in package.parts if part.lower().endswith(".xml"))
    if not any(_BOUND.search(package.xml(part)) for part in written):
        return NamesReport()  # most workbooks: no formula has to be looked at
    report = NamesReport(rewrite(package, plain))
    if report.changed:
        report.links = _links_no_longer_needed(package, report)
    return report


def _links_no_longer_needed(package: Package, report: NamesReport) -> list[str]:
    """Targets of ``[1]!``-like bindings that no formula refers to now."""
    used = {n for formula in formulas(package) for n in re.findall(r"\[(\d+)\]", formula.text)}
    freed = {n for formula, _ in report.changed for n in re.findall(r"\[(\d+)\]", formula.text)}
    relations = package.relations(package.workbook_part)
    order = [
        relations.get(value, ("", ""))[1]
        for element in package.elements(package.workbook_part)
        if element.tag == "externalReference"
        for key, value in element.attributes.items()
        if key.endswith(" id")
    ]
    targets = []
    for number in sorted(freed - used, key=int):
        if 1 <= int(number) <= len(order):
            part = order[int(number) - 1]
            targets += [target for _, target in package.relations(part).values()]
    return targets


def put_plain_names(book: str | os.PathLike[str], out: str | os.PathLike[str]) -> NamesReport:
    """Write ``book`` to ``out`` with plain names; nothing else is changed.

    Raises:
        InputFileError: ``book`` is no readable workbook.
        InputFileError: ``out`` cannot be written.
    """
    package = Package(book)
    package.refuse_document_types()
    report = make_plain(package)
    brought = bring_along(package)
    if brought.rewritten and not brought.redefined and not brought.older:
        carry(package, brought.functions)
        report.carried = brought.rewritten
    package.save(out)
    return report
