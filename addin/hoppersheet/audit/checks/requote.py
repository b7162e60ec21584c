"""Results of lines that do not follow from their inputs, found by working each line out again."""

from __future__ import annotations

from collections.abc import Iterator

from ...cells.quantities import QUANTITIES
from ...cells.wording import counted, rounded
from ...workbook.formulas import Place
from ..calls import PlainCall, in_area
from ..catalogs import Catalog
from ..context import Context, cell_name, percent
from ..findings import Finding, finding, in_ranges
from ..label_words import Unit
from ..line_cells import Difference, Worked
from ..refusals import refusal
from .units import unit_gap
from .values import value_text

__all__ = ["check"]

_CENT = 0.01
#: Step -> (kind, what the cell is called, what it follows from).
_STEPS = {
    "density": ("does not follow", "The density of the blend", "the shares and densities"),
    "required volume": (
        "does not follow", "The required volume", "throughput x hours / density",
    ),
    "next size": ("does not follow", "The next size", "the required volume and the catalog"),
    "held hours": ("does not follow", "The hours held", "size x density / throughput"),
    "model": ("model differs", "The model", "the chosen size in the catalog"),
    "list price": ("price differs", "The list price", "the chosen size in the catalog"),
    "item price": ("price differs", "The price of an item beside the hopper", "its own list"),
    "net price": ("does not follow", "The net price", "price x quantity less the discount"),
}  # fmt: skip
_ADVICE = {
    "model": "take the model of that size, or the size and price of that model",
    "list price": "take the catalog price, and show a discount as a discount",
}


def _stake(worked: Worked) -> float:
    """What is at stake in a line, in money."""
    if worked.net is None or worked.right_net is None:
        return 0.0
    return abs(worked.net - worked.right_net)


def _short(worked: Worked) -> float:
    """By how many hours a hopper is short."""
    if worked.asked is None or worked.held is None:
        return 0.0
    return max(0.0, (worked.asked - worked.held) / 3600)


def _differences(context: Context) -> Iterator[Finding]:
    """One finding per step and cause, with the cells of all lines."""
    groups: dict[tuple[str, str, str, str], list[tuple[Worked, Difference]]] = {}
    for worked in context.worked:
        for difference in worked.differences:
            cell = context.book.cell(difference.place)
            form = cell.form if cell is not None else ""
            # A column of one formula is one cause; a typed value or another formula is another.
            key = (difference.step, difference.place[0] if not form else "", form, "")
            if not form:
                key = (*key[:3], str(difference.place))
            groups.setdefault(key, []).append((worked, difference))
    for (step, *_), found in groups.items():
        yield _finding(context, step, found)


def _finding(context: Context, step: str, found: list[tuple[Worked, Difference]]) -> Finding:
    kind, name, source = _STEPS[step]
    first, difference = max(found, key=lambda pair: _stake(pair[0]))
    if difference.typed:
        return _typed(context, found)
    places = [one.place for _, one in found]
    lines = f" ({counted(len(found), 'line')})" if len(found) > 1 else ""
    of = f" of {first.name!r}" if first.name else ""
    money = sum(_stake(worked) for worked, _ in found)
    right, book = _number(difference.right), _number(difference.book)
    why = f": {difference.why}" if difference.why else ""
    effect = ""
    if money and step in ("list price", "net price", "item price"):
        effect = f"; {rounded(money, 9)} in all"
    advice = _ADVICE.get(step, "correct the formula, or state the reason in the sheet")
    cell = context.book.cell(difference.place)
    return finding(
        kind,
        "error",
        min(places),
        f"{name}{of} in {in_ranges(places)}{lines} is not what follows from {source}: {right}, the "
        f"workbook says {book} in {cell_name(difference.place)}{why}{effect}; {advice}.",
        formula=cell.formula if cell is not None else None,
        value=difference.book,
        expected=difference.right,
        cells=places if len(places) > 1 else (),
        money=money,
        hours=max(_short(worked) for worked, _ in found),
    )


def _typed(context: Context, found: list[tuple[Worked, Difference]]) -> Finding:
    """A result that somebody typed where the other lines calculate."""
    first, difference = found[0]
    _, name, source = _STEPS[difference.step]
    of = f" of {first.name!r}" if first.name else ""
    listed = difference.step in ("model", "list price")
    effect, advice = "", "restore the formula, or state the reason in the sheet"
    book, right = difference.book, difference.right
    if difference.step == "list price" and isinstance(book, float) and right:
        side = "below" if book < right else "above"
        share = percent(book / right - 1)
        effect = f"; each hopper is {_number(abs(book - right))} ({share}) {side} list, and so are "
        effect += "the totals"
        advice = f"{_ADVICE['list price']}, or state the reason"
    others = "the other lines calculate" if len(context.worked) > 1 else "a calculation belongs"
    same = isinstance(book, float) and isinstance(right, float) and abs(book - right) < _CENT
    if same:
        effect = ": the same today, and not when one of them changes"
    return finding(
        {"model": "model differs", "list price": "price differs"}.get(
            difference.step, "typed over"
        ),
        "warning" if same else "error",
        difference.place,
        f"{name}{of}, {_number(book)}, is typed where {others}; "
        f"{source} {'says' if listed else 'give'} {_number(right)}{effect}; {advice}.",
        value=book,
        expected=right,
        money=_stake(first),
        hours=_short(first),
    )


def _number(value: object) -> str:
    """An amount with its cents, a measure as it can be read."""
    return (
        rounded(value, 9 if abs(value) >= 1e3 else 6)
        if isinstance(value, float)
        else value_text(value)
    )


# --- the catalog that formulas take -----------------------------------------------------------


def _ranges(context: Context) -> Iterator[Finding]:
    """Formulas that take less than the whole list of sizes, or another part in each line."""
    groups: dict[tuple[Catalog, str, bool], list[tuple[Place, int]]] = {}
    for cell in context.book.formulas():
        for area in set(context.values.areas_of(cell)):
            catalog = context.catalogs.of_area.get(area)
            if catalog is None:
                continue
            missing = sum(not in_area(place, area) for place in catalog.rows)
            if missing:
                key = (catalog, context.labels.label(cell.place), False)
                groups.setdefault(key, []).append((cell.place, missing))
    for (catalog, label, _), found in groups.items():
        places = [place for place, _ in found]
        most = max(missing for _, missing in found)
        slides = len({missing for _, missing in found}) > 1
        how = (
            "a part that slides down from line to line, as a range without $ does"
            if slides
            else "a part of it"
        )
        last = context.book.cell(places[-1])
        stake = _stake_of_sizes(context, set(places))
        yield finding(
            "catalog range",
            "error" if slides or stake else "warning",
            min(places),
            f"{label or 'The formula'} in {in_ranges(places)} takes {how}: up to {most} of "
            f"{counted(len(list(catalog.rows)), 'size')} of the catalog in "
            f"{in_ranges(catalog.rows)} are left out, "
            f"{f'and {rounded(stake, 9)} is at stake' if stake else 'so a size may be missed'}; "
            "let the range cover the whole list, with $ before its rows.",
            formula=last.formula if last is not None else None,
            cells=places if len(places) > 1 else (),
            money=stake,
        )


def _stake_of_sizes(context: Context, places: set[Place]) -> float:
    """What the lines cost more or less whose size is looked up in one of these cells."""
    return sum(
        _stake(worked)
        for worked in context.worked
        if worked.line.chosen is not None
        and worked.right_size != worked.line.chosen_size
        and not places.isdisjoint(context.trail(worked.line.chosen))
    )


def _several_catalogs(context: Context) -> Iterator[Finding]:
    """Lines from another of several catalogs than most, where no text of the line says so."""
    groups: dict[Catalog, list[Worked]] = {}
    for worked in context.worked:
        if worked.line.listed is not None and worked.line.chosen is not None:
            groups.setdefault(worked.line.listed, []).append(worked)
    if len(groups) < 2:
        return
    usual = max(groups, key=lambda listed: len(groups[listed]))

    def form(worked: Worked) -> str:
        chosen = worked.line.chosen
        cell = context.book.cell(context.trail(chosen)[-1]) if chosen is not None else None
        return cell.form if cell is not None else ""

    conditions = {form(worked) for worked in groups[usual]}  # one formula that decides is enough
    for listed, found in groups.items():
        places = [
            worked.line.chosen
            for worked in found
            if worked.line.chosen and not worked.line.names_catalog
            if not form(worked) or form(worked) not in conditions
        ]
        if listed == usual or not places:
            continue
        yield finding(
            "catalog range",
            "note",
            min(places),
            f"{in_ranges(places)} {'takes' if len(places) == 1 else 'take'} sizes and prices from "
            f"the list in {in_ranges(listed.rows)}, the other lines from {in_ranges(usual.rows)}, "
            "and nothing in the line says so; name the list in a column of its own.",
            cells=places if len(places) > 1 else (),
        )


# --- plain formulas ---------------------------------------------------------------------------


def _refused(context: Context) -> Iterator[Finding]:
    """Plain formulas that give a number where our function refuses an input."""
    for place, call in context.plain.items():
        problem = call.error
        if problem is None or not isinstance(context.value(place), float):
            continue
        reason, source = refusal(context, call)
        if source is None and call.name == "HOPPER_BLEND_DENSITY":
            source = _of_blend(context, call, problem.argument)
        at = context.trail(source)[-1] if source is not None else place
        yield finding(
            "impossible input",
            "error",
            at,
            f"{reason}; {cell_name(place)} works it out all the same and gives "
            f"{value_text(context.value(place))}; correct the input.",
            formula=call.cell.formula,
            value=context.value(at),
            cells=(at, place) if at != place else (),
        )


def _of_blend(context: Context, call: PlainCall, argument: str) -> Place | None:
    """The first share or density that a blend refuses."""
    area = context.area_of(context.argument_node(call, argument), call.place)
    for cell in context.values.cells_in(area) if area is not None else ():
        value = cell.value
        if argument == "shares" or (isinstance(value, float) and not 1 < value < 100):
            return cell.place
    return None


def _catalog_units(context: Context) -> Iterator[Finding]:
    """A catalog whose heading says another unit than the volumes that are compared with it."""
    groups: dict[tuple[Catalog, str], list[Place]] = {}
    for line in context.lines:
        if line.listed is None or not line.listed.unit or not isinstance(line.call, PlainCall):
            continue
        unit = line.unit or QUANTITIES["volume"].unit(line.system)
        if unit_gap(Unit(line.listed.unit, True), unit) is not None and line.chosen:
            groups.setdefault((line.listed, unit), []).append(line.chosen)
    for (catalog, unit), places in groups.items():
        top = next(iter(catalog.rows))
        yield finding(
            "unit mismatch",
            "error",
            top,
            f"The catalog in {in_ranges(catalog.rows)} is in {catalog.unit}, the volumes that are "
            f"compared with it are in {unit}: {in_ranges(places)} are chosen by the wrong unit; "
            "convert one of the two.",
            cells=(top, *places),
        )


def check(context: Context) -> Iterator[Finding]:
    """``does not follow``, ``model differs``, ``price differs``, ``catalog range`` and others."""
    yield from _differences(context)
    yield from _ranges(context)
    yield from _several_catalogs(context)
    yield from _refused(context)
    yield from _catalog_units(context)
