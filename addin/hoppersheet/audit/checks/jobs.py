"""Job lists sized in one call: each row is examined, and each finding names the row's cell."""

from __future__ import annotations

from collections.abc import Iterator

from ...cells.numbers_in_text import split_number
from ...cells.wording import in_system, with_unit
from ...errors import CellError
from ...tables.job_columns import quantity_of, reason_of
from ...workbook.formulas import Place, address
from ..context import Context, cell_name, percent
from ..findings import Finding, finding
from ..jobs import JobRow, JobTable

_SHARES = ("virgin share", "regrind share")


def _called(row: JobRow) -> str:
    return f"The job {row.name!r}" if row.name else "The job"


def _shown_in(row: JobRow) -> str:
    """Where the row's results stand, as a clause."""
    place = row.result_place("next size")
    return f" (shown in {cell_name(place)})" if row.is_shown else ""


def _without_result(context: Context, row: JobRow, problem: CellError) -> Finding:
    column = problem.argument.replace("_", " ")
    of_shares = column in _SHARES and problem.code == "#NUM!"
    named = column in row.places
    place = row.place(column)
    end = "correct the input, or take the job out of the quote"
    if row.sized.required_volume is not None:
        end = "split it over several hoppers, or add the size to the catalog"
    return finding(
        "shares" if of_shares else "error value",
        "error",
        place,
        f"{_called(row)} has no size, {problem.code}{_shown_in(row)}: {reason_of(problem)}; "
        f"nothing can be quoted for it; {end}.",
        value=context.value(place) if named else None,
    )


def _basis(context: Context, row: JobRow) -> Iterator[Finding]:
    """Shares that nobody said the basis of, where it matters."""
    if "shares by volume" not in row.sized.assumed:
        return
    now = row.sized.required_volume
    other = row.table.by_mass.size(row.values).required_volume
    if not now or not other or abs(other / now - 1) < 5e-4:
        return  # equal densities
    place = row.place("share basis", *_SHARES)
    yield finding(
        "basis not stated",
        "warning",
        place,
        f"{_called(row)} does not say whether its shares are by volume or by mass, and they were "
        f"taken by volume; by mass the hopper would have to be {percent(other / now - 1)} larger; "
        "ask for the basis of the recipe (weigh blenders work by mass) and state it in the column "
        "share basis.",
        value=context.value(place),
    )


def _estimated(context: Context, row: JobRow) -> Iterator[Finding]:
    """A regrind density that the list leaves blank is estimated."""
    name = "regrind density "
    texts = [text for text in row.sized.assumed.split("; ") if text.startswith(name)]
    now = row.sized.required_volume
    if not texts or not now:
        return
    taken, _, how = texts[0].removeprefix(name).partition(": ")
    place = row.place("regrind density", "virgin density")
    effect = "the hopper is too small if the true density is lower"
    number, unit = split_number(taken)
    then = row.sized_with({"regrind density": f"{number * 0.9!r} {unit}"}).required_volume
    if "regrind density" in row.places and then:
        effect = f"if it is really 10 % lower, the job needs {percent(then / now - 1)} more volume"
        size = row.sized.next_size
        if size:
            effect += f" (the next size has {percent(size / now - 1)} to spare)"
    yield finding(
        "estimated density",
        "note",
        place,
        f"{_called(row)} states no regrind density, so {taken} was taken ({how}), "
        f"which nobody measured; {effect}; weigh a cup sample before the order.",
        value=context.value(place),
    )


def _takes_part(row: JobRow, name: str) -> bool:
    """Whether a density is one of something: its share is more than nothing."""
    if name not in ("virgin density", "regrind density"):
        return True
    virgin, regrind = (row.number(share) for share in _SHARES)
    if name == "regrind density":
        return bool(regrind)
    return virgin != 0.0


def _unusual(context: Context, row: JobRow) -> Iterator[Finding]:
    from .inputs import unusual

    table = row.table
    for name in row.places:
        argument = table.argument(name) if quantity_of(name) else None
        measure = argument.measure if argument is not None else None
        si = row.number(name)
        if measure is None or measure.typical is None or si is None or not _takes_part(row, name):
            continue
        low, high = measure.typical
        if low * (1 - 1e-9) <= si <= high * (1 + 1e-9) or si == 0.0 >= low:
            continue
        edge = low if si < low else high
        plain = in_system(edge, measure.name, table.system)
        unit = measure.unit(table.system)
        usual = row.sized_with({name: plain if unit == "1" else f"{plain!r} {unit}"})
        effect = "everything that depends on it changes with it"
        if usual.required_volume and row.sized.required_volume:
            change = row.sized.required_volume / usual.required_volume - 1
            limit = with_unit(edge, measure.name, table.system)
            side = "less" if change < 0 else "more"
            effect = f"the required volume is {percent(change)} {side} than with {limit}"
        place = context.trail(row.places[name])[-1]
        of_job = f" of the job {row.name!r}" if row.name else ""
        yield unusual(context, place, name + of_job, measure, si, table.system, effect)


def _not_shown(table: JobTable) -> Iterator[Finding]:
    """Jobs below the last row of the array formula, or a formula that fills one cell only."""
    cell = table.call.cell
    alone = not cell.array and cell.tree is table.call.node
    missing = [row for row in table.rows if (alone or table.shown) and not row.is_shown]
    if not missing:
        return
    first = missing[0]
    name = f"{first.name!r} in " if first.name else ""
    last = address(cell.filled[2], cell.filled[3])
    why = (
        "The formula fills one cell, though its result is a table"
        if alone
        else f"The results end in {last}, but the job list goes on"
    )
    yield finding(
        "total skips lines",
        "error",
        cell.place,
        f"{why}: {len(missing)} job{'s are' if len(missing) > 1 else ' is'} not shown, the first "
        f"{name}{cell_name(first.first)}; whoever reads or adds up the results misses "
        f"{'them' if len(missing) > 1 else 'it'}; enter the formula as an array formula over as "
        "many rows as the list has.",
        formula=cell.formula,
    )


def _inside(context: Context, table: JobTable) -> Iterator[Finding]:
    """Cells of the filled range that have a formula of their own."""
    anchor = table.call.cell
    if not anchor.array:
        return
    sheet = context.book.sheets[anchor.place[0]]
    top, left, bottom, right = anchor.filled
    for (row, column), cell in sorted(sheet.cells.items()):
        inside = top <= row <= bottom and left <= column <= right
        if inside and cell is not anchor and cell.formula is not None:
            place: Place = cell.place
            yield finding(
                "odd formula",
                "error",
                place,
                f"The formula {cell.formula} stands inside {address(top, left)}:"
                f"{address(bottom, right)}, which HOPPER_SIZE_JOBS in {cell_name(anchor.place)} "
                "fills; what the row shows no longer follows from its job; take the formula out.",
                formula=cell.formula,
                value=cell.value,
            )


def check(context: Context) -> Iterator[Finding]:
    """Per row: ``error value``, ``shares``, ``basis not stated``, ``estimated density``, ..."""
    for table in context.job_tables:
        yield from _not_shown(table)
        yield from _inside(context, table)
        for row in table.rows:
            if row.sized.problem is not None:
                yield _without_result(context, row, row.sized.problem)
            yield from _basis(context, row)
            yield from _estimated(context, row)
            yield from _unusual(context, row)
