"""Densities, regrind and hours against what the resin table says."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ...cells.wording import counted, rounded, with_unit
from ...errors import CellError
from ...tables.resins import OwnTable, read_own_table, resin_value
from ...tables.usual import Outside, outside
from ...workbook.formulas import Place
from ..context import Context, Line, cell_name, percent
from ..findings import Finding, finding
from ..records import Record
from ..requote import number_of
from .density import origin_of

__all__ = ["check", "hours_of", "hydrolyzes", "own_table", "resin_of", "unknown_resin"]

_BESIDE = 0.1  # of a density outside the table that is not worth a question
_HALF = 1e-6  # relative; closer to half of virgin than this is no measurement


def own_table(context: Context) -> OwnTable | None:
    """The workbook's own resin table, as some call of HOPPER_RESIN takes it."""
    for made in context.all_calls():
        inputs = context.inputs(made) if made.name == "HOPPER_RESIN" else None
        if inputs is not None and "own_table" not in inputs.defaulted:
            try:
                return read_own_table(made.values[2], inputs.system)
            except (CellError, IndexError, TypeError):
                return None
    return None


def resin_of(context: Context, record: Record) -> str:
    """The resin that a line names, ``""`` where it names none."""
    if record.line.job is not None:
        return str(record.line.job.cell("resin") or "")
    place = record.cells.get("resin")
    value = context.value(place) if place is not None else None
    return value.strip() if isinstance(value, str) else ""


def hydrolyzes(resin: str) -> bool:
    """Whether the resin loses strength where it is not dry; False where the table does not say."""
    from ...tables.hazards import hazards_of_any

    try:
        return any(hazard.kind == "hydrolyzes" for hazard in hazards_of_any(resin))
    except CellError:
        return False


def _compared(resin: str, wanted: str, si: float | None, own: OwnTable | None) -> Outside | None:
    if si is None or not resin:
        return None
    try:
        return outside(resin, wanted, si, own)
    except CellError:
        return None


def _figures(context: Context, record: Record) -> Iterator[tuple[str, Place, float]]:
    """(property of the resin table, cell, value in SI) of what a line states."""
    line = record.line
    roles = {"virgin density": "bulk density", "regrind density": "regrind density"}
    if "virgin density" not in record.cells and "regrind density" not in record.cells:
        roles["density"] = "bulk density"
    for role, wanted in {**roles, "hours": "drying hours"}.items():
        place = record.cells.get(role)
        si = number_of(context, record, role)
        if line.job is not None:
            column = {"hours": "drying hours"}.get(role, role)
            place, si = line.job.places.get(column), line.job.number(column)
        if place is not None and si is not None:
            yield wanted, context.trail(place)[-1], si


def hours_of(context: Context, record: Record) -> tuple[Place | None, float | None]:
    """(cell, seconds) of the drying hours that a line states."""
    for wanted, place, si in _figures(context, record):
        if wanted == "drying hours":
            return place, si
    return None, None


def _densities_and_hours(context: Context) -> Iterator[Finding]:
    own = own_table(context)
    reported: set[tuple[Place, str]] = set()
    for record in context.records:
        resin = resin_of(context, record)
        for wanted, place, si in _figures(context, record):
            found = _compared(resin, wanted, si, own)
            if found is None or (place, wanted) in reported:
                continue
            reported.add((place, wanted))
            if wanted == "drying hours":
                if found.side == "below":
                    yield _short_hours(context, record.line, place, found)
                continue
            if _near(found) or origin_of(context, place) in ("estimated", "resin table"):
                continue  # an estimate is told as such, with what it does
            words = _begin(found.words(record.line.system))
            yield finding(
                "against the resin",
                "warning",
                place,
                f"{words} (resin table); {_effect(context, place)}"
                "; weigh a cup of it, or see whether it is the right resin and the right column.",
                value=context.value(place),
            )


def unknown_resin(context: Context, record: Record, own: OwnTable | None) -> bool:
    """Whether no table has a density or drying hours for the resin that a line names."""
    resin = resin_of(context, record)
    return bool(resin) and not any(
        _has(resin, wanted, own) for wanted in ("bulk density low", "drying hours low")
    )


def _has(resin: str, wanted: str, own: OwnTable | None) -> bool:
    try:
        resin_value(resin, wanted, own)
    except CellError:
        return False
    return True


def _unknown(context: Context) -> Iterator[Finding]:
    """Resins that no table knows, so that nothing of their lines could be compared."""
    own = own_table(context)
    places: dict[str, list[Place]] = {}
    for record in context.records:
        place = record.cells.get("resin")
        if not context.is_quoted(record.line):
            continue  # a page that shows a line again, or a sheet that tries something out
        if record.line.job is None and place is not None and unknown_resin(context, record, own):
            places.setdefault(resin_of(context, record), []).append(place)
    for resin, cells in places.items():
        yield finding(
            "against the resin",
            "note",
            min(cells),
            f"The resin table has no line for {resin!r}, so the density and drying hours of "
            f"{counted(len(cells), 'line')} were compared with nothing; see that it is spelled as "
            "meant, and take both from the resin maker's data sheet.",
            value=resin,
            cells=cells if len(cells) > 1 else (),
        )


def _near(found: Outside) -> bool:
    """Whether a density is so little outside the table that a good measurement may be."""
    return found.low * (1 - _BESIDE) <= found.si <= found.high * (1 + _BESIDE)


def _begin(text: str) -> str:
    return text[:1].upper() + text[1:]


def _effect(context: Context, place: Place) -> str:
    lines = context.lines_from.get(place, [])
    where = context.where(lines[0]) if lines else ""
    return f"{where} follows from it" if where else "the volume follows from it"


def _short_hours(context: Context, line: Line, place: Place, found: Outside) -> Finding:
    hours, usual = found.si / 3600, found.low / 3600
    return finding(
        "outside typical range",
        "warning",
        place,
        f"The drying hours {rounded(hours, 3)} of {found.resin!r} are shorter than the resin "
        f"table's {rounded(usual, 3)}; with these {context.where(line)} would be "
        f"{percent(usual / hours - 1)} larger, and the resin may stay wet; check them "
        "against the resin maker's data sheet.",
        value=context.value(place),
        expected=usual,
        hours=usual - hours,
    )


def _regrind(context: Context) -> Iterator[Finding]:
    """Regrind denser than virgin; exactly half of virgin where others are not."""
    halves: dict[Place, tuple[Line, float, float]] = {}
    ratios: Counter[bool] = Counter()
    for record in context.records:
        virgin = number_of(context, record, "virgin density")
        regrind = number_of(context, record, "regrind density")
        place = record.cells.get("regrind density")
        if not virgin or not regrind or place is None:
            continue
        cell = context.book.cell(place)
        half = abs(regrind / virgin - 0.5) < _HALF
        ratios[half] += 1
        if half and cell is not None and cell.typed:
            halves[place] = (record.line, virgin, regrind)
        if regrind > virgin * (1 + 1e-9):
            system = record.line.system
            yield finding(
                "against the resin",
                "warning",
                place,
                f"The regrind, {with_unit(regrind, 'bulk density', system)}, is denser than the "
                f"virgin resin in {cell_name(record.cells['virgin density'])}, "
                f"{with_unit(virgin, 'bulk density', system)}; regrind is nearly always lighter, "
                "so the two may be exchanged and the hopper too small; see which is which.",
                value=context.value(place),
                cells=(place, record.cells["virgin density"]),
            )
    if ratios[False] >= ratios[True]:
        for place, (line, virgin, regrind) in halves.items():
            yield finding(
                "estimated density",
                "note",
                place,
                f"The regrind density {with_unit(regrind, 'bulk density', line.system)} is exactly "
                f"half of virgin, {with_unit(virgin, 'bulk density', line.system)}: a rule of "
                "thumb and no measurement, unlike the other lines; weigh a cup sample.",
                value=context.value(place),
            )


def check(context: Context) -> Iterator[Finding]:
    """``against the resin``, ``outside typical range`` of hours, ``estimated density``."""
    yield from _densities_and_hours(context)
    yield from _unknown(context)
    yield from _regrind(context)
