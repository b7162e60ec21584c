"""Findings put in order: one cause is one finding, and what is at stake comes first."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from ..workbook.addresses import row_column
from ..workbook.formulas import Place, quoted_sheet
from .calls import cell_name
from .checks.values import value_text
from .failing_checks import Cause, causes_of
from .findings import KINDS, SEVERITIES, Finding, finding, in_ranges
from .verdicts import check_sheets

if TYPE_CHECKING:
    from .context import Context

__all__ = ["in_order"]

#: Kinds that say where a wrong number begins; what only follows from it is not said again.
_CAUSES = frozenset(
    ("typed over", "odd formula", "unit mismatch", "stale value", "price differs", "model differs",
     "error value", "shares", "total skips lines", "circular", "quantity", "discount", "no price",
     "does not follow", "impossible input", "catalog range", "undersized", "not in catalog",
     "external link", "blank read as 0", "not computed", "currency")
)  # fmt: skip
#: Of two findings at one cell the first kind is kept.
_BETTER_KINDS = (
    ("price differs", ("typed over", "odd formula")),
    ("model differs", ("odd formula",)),
    ("quantity", ("typed over", "does not follow")),
    (
        "typed over",
        ("does not follow", "total differs", "model differs", "total skips lines", "odd formula"),
    ),
    ("odd formula", ("does not follow", "total skips lines")),
    ("unit mismatch", ("does not follow", "catalog range")),
    ("shares", ("does not follow", "impossible input", "error value")),
    ("catalog range", ("oversized",)),
    ("stale value", ("does not follow",)),
    ("circular", ("error value", "not computed", "stale value")),
    ("total skips lines", ("does not follow",)),
    ("same job twice", ("odd formula", "total skips lines")),
    ("number as text", ("no price", "total differs")),
    ("no price", ("total skips lines",)),
    ("external link", ("not computed", "odd formula")),
    ("outside typical range", ("against the resin",)),
)
#: Of these kinds only errors say it better.
_ONLY_ERRORS = frozenset(("same job twice", "catalog range"))
#: Kinds that two checks may find at one cell, each in its own words.
_ONCE_A_CELL = frozenset(("total skips lines", "price differs", "odd formula"))
#: What a check says of itself, in its finding.
_QUOTED = re.compile(r"(?<=own check )('[^']*'|\"[^\"]*\")")
#: Kinds of which a column or row of one formula gives one finding.
_ONE_FORMULA = re.compile(
    r"'[^']*'|\"[^\"]*\"|[\w']*!\$?[A-Z]{1,3}\$?\d+|\$?[A-Z]{1,3}\$?\d+|[\d.,]+"
)


def _place(found: Finding) -> Place:
    return (found.sheet, *row_column(found.cell)) if found.sheet else ("", 0, 0)


def _cell_name(found: Finding) -> str:
    return f"{quoted_sheet(found.sheet)}!{found.cell}" if found.sheet else found.cell


def _merged(context: Context, findings: Iterable[Finding]) -> list[Finding]:
    """Findings of one kind and wording at copies of one formula, or in one column, as one."""
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for at, found in enumerate(findings):
        cell = context.book.cell(_place(found)) if found.sheet else None
        wording = _ONE_FORMULA.sub("#", found.message)[:70]
        key: tuple[str, ...] = (found.kind, found.severity, found.sheet, wording)
        if found.kind == "unit mismatch" and " says " in found.message:
            key = (*key[:2], found.message.partition(" says ")[0])  # on sister sheets too
        elif found.cells or cell is None or found.kind in ("error value", "oversized"):
            key = (*key, str(at))
        elif found.kind == "undersized" and cell.form:
            key = (*key, cell.form, str("no reason" in found.message))
        elif cell.form and found.kind != "odd formula":
            key = (*key, cell.form)
        elif found.severity == "note":
            sideways = context.labels.sideways(found.sheet)
            key = (*key, str(cell.place[1 if sideways else 2]))
        else:
            key = (*key, str(at))
        groups.setdefault(key, []).append(found)
    return [_joined(group) for group in groups.values()]


def _joined(group: list[Finding]) -> Finding:
    first = (
        max(group, key=lambda f: (f.money, f.hours)) if any(f.money for f in group) else group[0]
    )
    if len(group) == 1:
        return first
    others = [_place(found) for found in group if found is not first]
    message = f"{first.message} The same holds for {in_ranges(others)}."
    return replace(
        first,
        message=message,
        cells=tuple(
            dict.fromkeys(
                (*map(_cell_name, group), *(cell for found in group for cell in found.cells))
            )
        ),
        money=sum(found.money for found in group),
        hours=max(found.hours for found in group),
    )


def _cells(found: Finding) -> set[str]:
    return {_cell_name(found), *found.cells}


def _without_repeats(findings: list[Finding]) -> list[Finding]:
    """What another finding says better at the same cell is left out; its stake is kept."""
    better: dict[str, dict[str, int]] = {}
    for at, found in enumerate(findings):
        better.setdefault(found.kind, {}).setdefault(_cell_name(found), at)
    dropped: set[int] = set()
    kept = dict(enumerate(findings))
    for kind, worse in _BETTER_KINDS:
        for at, found in enumerate(findings):
            if found.kind not in worse or at in dropped:
                continue
            cells = set(found.cells) or {_cell_name(found)}
            covering = {
                other
                for other, by in enumerate(findings)
                if by.kind == kind and other not in dropped and _cells(by) & cells
                if kind not in _ONLY_ERRORS or by.severity == "error"
            } if kind in better else set()  # fmt: skip
            if covering and cells <= set().union(*(_cells(findings[o]) for o in covering)):
                dropped.add(at)
                first = min(covering)
                kept[first] = replace(
                    kept[first],
                    money=max(kept[first].money, found.money),
                    hours=max(kept[first].hours, found.hours),
                )
    return [kept[at] for at in range(len(findings)) if at not in dropped]


def _with_its_formula(findings: list[Finding]) -> list[Finding]:
    """A size that is too small by a formula unlike its neighbors: one finding with both."""
    odd = {_cell_name(f): f for f in findings if f.kind == "odd formula"}
    both = {_cell_name(f) for f in findings if f.kind == "undersized" and not f.cells} & odd.keys()
    found = []
    for each in findings:
        if _cell_name(each) in both and each.kind == "undersized":
            unlike = odd[_cell_name(each)].message.split("; ")[0]
            each = replace(each, message=f"{each.message} {unlike}.")
        if each.kind != "odd formula" or _cell_name(each) not in both:
            found.append(each)
    return found


def _without_consequences(findings: list[Finding]) -> list[Finding]:
    """The total is said to differ only where nothing says why."""
    causes = [f for f in findings if f.severity == "error" and f.kind in _CAUSES]
    if not causes:
        return findings
    return [f for f in findings if f.kind != "total differs"]


def _without_check_sheets(findings: list[Finding], context: Context) -> list[Finding]:
    """What a sheet of checks tries out on purpose is no finding; one says what it comes to.

    Cells that feed nothing but such sheets belong to them.
    """
    sheets = check_sheets(context)
    kept = [
        f for f in findings if f.sheet not in sheets or f.kind in ("own check", "version")
    ]  # fmt: skip
    folded = len(findings) - len(kept)
    if folded:
        names = ", ".join(repr(name) for name in sorted(sheets))
        first = next(f for f in findings if f.sheet in sheets)
        kept.append(
            Finding(
                "own check", "note", first.sheet, first.cell,
                f"The sheets {names} hold the workbook's own checks and their test data; "
                f"{folded} cells there would be findings in a quote. A check that does not pass is "
                "a finding of its own.",
            )
        )  # fmt: skip
    return kept


def _unsettled(found: Finding) -> bool:
    """An error that a formula makes itself because something is not settled: no cause."""
    return found.kind == "error value" and "NA()" in found.formula


def _with_their_cause(found: list[Finding], context: Context) -> list[Finding]:
    """Name the workbook's own failing checks with the error that they follow from.

    That is the one in the line of the input with which they fail, or a finding at that input; what
    no single input explains is named with the first error. A check that fails without any other
    error stands for itself.
    """
    failing = [f for f in found if f.kind == "own check" and f.severity == "error"]
    if not failing:
        return found
    others = [f for f in found if f not in failing]
    by_place = {_place(f): f for f in failing}
    unsettled = {_place(f): f for f in others if _unsettled(f)}
    named_with: list[tuple[int, list[Finding]]] = []
    for cause in causes_of(context, (*by_place, *unsettled)):
        checks = [by_place[place] for place in cause.checks if place in by_place]
        if not checks:
            continue
        settled = [unsettled[place] for place in cause.checks if place in unsettled]
        others = [f for f in others if f not in settled]
        failing = [f for f in failing if f not in checks]
        at = next((i for i, f in enumerate(others) if _is_about(f, cause, context)), None)
        if at is None:
            others.append(_at_its_cause(cause, checks, context))
            at = len(others) - 1
        else:
            others[at] = _begins_at(others[at], cause, context)
            named_with.append((at, checks))
    for at, checks in named_with:
        others[at] = _fails_too(others[at], checks)
    first = next(
        (
            i for i, f in enumerate(others)
            if f.severity == "error" and f.kind != "own check" and not _unsettled(f)
        ), None,
    )  # fmt: skip
    if first is None or not failing:
        return [*others, *failing]
    others[first] = _fails_too(others[first], failing)
    return others


def _fails_too(found: Finding, checks: list[Finding]) -> Finding:
    cells = ", ".join(f"{f.sheet}!{f.cell}" for f in checks[:4])
    more = f" and {len(checks) - 4} more" if len(checks) > 4 else ""
    return replace(
        found, message=f"{found.message} The workbook's own check fails too ({cells}{more})."
    )


def _is_about(found: Finding, cause: Cause, context: Context) -> bool:
    """Whether a finding is about an input, or about what follows from it before the total."""
    if found.severity != "error" or _unsettled(found) or not found.sheet:
        return False
    if cell_name(cause.place) in _cells(found):
        return True
    if found.kind in ("total differs", "total skips lines", "own check"):
        return False
    return _place(found) in context.precedents.followers([cause.place])


def _begins_at(found: Finding, cause: Cause, context: Context) -> Finding:
    """A finding with the input that it goes back to."""
    name = cell_name(cause.place)
    if name in _cells(found):
        return found
    return replace(
        found,
        message=f"{found.message} It goes back to {_held(cause, context)}.",
        cells=tuple(dict.fromkeys((*_in_order(found), name))),
    )


def _in_order(found: Finding) -> tuple[str, ...]:
    return found.cells or (_cell_name(found),)


def _held(cause: Cause, context: Context) -> str:
    """``"1600 in Sizing!L6 ('stated lb/h')"``, ``"the blank Sizing!L6 ('stated lb/h')"``."""
    label = " ".join(context.labels.label(cause.place).split())
    what = f"{cell_name(cause.place)}{f' ({label!r})' if label else ''}"
    return f"the blank {what}" if cause.value in (None, "") else (
        f"{value_text(cause.value)} in {what}"
    )  # fmt: skip


def _at_its_cause(cause: Cause, checks: list[Finding], context: Context) -> Finding:
    """A failing check, told at the input with which it fails."""
    quoted = _QUOTED.search(checks[0].message)
    name = context.labels.line_name(cause.place)
    line = f" of {name!r}" if name and name != cause.value else ""
    others = f" So do {len(checks) - 1} more of its checks." if len(checks) > 1 else ""
    better = (
        "if it were blank" if cause.better is None else f"with {value_text(cause.better)}, say,"
    )
    return finding(
        "own check",
        "error",
        cause.place,
        f"The workbook's own check {quoted[0] if quoted else 'there'} fails because of "
        f"{_held(cause, context)}{line}: {better} it passes; correct the input, or settle what the "
        f"check asks for.{others}",
        value=cause.value,
        cells=[cause.place, *(_place(check) for check in checks)],
    )


def in_order(findings: Iterable[Finding], context: Context) -> list[Finding]:
    """One finding per cause; errors first, then by money, by hours, by kind and by place."""
    unique: dict[tuple[str, str, str, str], Finding] = {}
    for found in findings:
        # One cell is typed over once, whichever check sees it first.
        text = "" if found.kind == "typed over" else found.message
        unique.setdefault((found.kind, found.sheet, found.cell, text), found)
    once: dict[tuple[str, str, str, bool], Finding] = {}
    for found in unique.values():
        key = (found.kind, found.sheet, found.cell, found.kind in _ONCE_A_CELL)
        key = key if key[3] else (found.kind, found.sheet, found.cell + found.message, False)
        before = once.get(key, found)
        once[key] = replace(
            max(before, found, key=lambda f: len(f.cells)),
            money=max(before.money, found.money),
            hours=max(before.hours, found.hours),
        )
    kept = _without_check_sheets(list(once.values()), context)
    kept = _with_its_formula(_without_repeats(_with_their_cause(kept, context)))
    kept = _without_consequences(_merged(context, kept))
    sheets = {name: at for at, name in enumerate(context.book.sheets)}
    kinds = list(KINDS)

    def rank(found: Finding) -> tuple[int, float, float, int, int, Place]:
        return (
            SEVERITIES.index(found.severity), -round(found.money, 2), -round(found.hours, 3),
            kinds.index(found.kind), sheets.get(found.sheet, -1), _place(found),
        )  # fmt: skip

    return sorted(kept, key=rank)
