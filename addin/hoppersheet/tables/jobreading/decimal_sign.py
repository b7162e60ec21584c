"""The decimal sign of a list, by what the numeric columns that are read prove."""

from __future__ import annotations

from collections.abc import Mapping

from ...cells.quantities import QUANTITIES
from ...cells.units import factor
from ...errors import CellError
from ..job_cells import typed
from .reading import Column
from .survey import Survey

__all__ = ["settle_sign"]


def settle_sign(
    columns: Mapping[str, Column], survey: Survey
) -> tuple[dict[str, Column], str, str]:
    """(columns, sign, its proof in words), by what the numeric columns that are read prove."""
    proofs: dict[str, tuple[int, str]] = {}
    doubtful = False
    for column in columns.values():
        if not column.quantity:
            continue
        facts = survey.facts[column.at]
        for sign, proof in facts.proofs.items():
            proofs.setdefault(sign, proof)
        doubtful = doubtful or bool(facts.doubtful)
        for text, (row, unit) in facts.doubtful.items():
            sign = _by_limits(column, text, unit)
            if sign:
                proofs.setdefault(sign, (row, text))
    settled = words = ""
    if len(proofs) == 1:
        (settled, (row, text)), *_ = proofs.items()
        words = f"proven by {text.strip()!r} in row {row}"
    elif doubtful and proofs:
        both = " and ".join(f"{text.strip()!r} in row {row}" for row, text in proofs.values())
        words = f"not settled: {both} prove different signs"
    signed = {}
    for name, column in columns.items():
        if column.quantity:
            facts = survey.facts[column.at]
            sure = settled == "." or not facts.doubtful
            plain = facts.plain and sure and column.unit_at is None
            column = column._replace(sign=settled, plain=plain)
        signed[name] = column
    return signed, settled, words


def _by_limits(column: Column, text: str, unit: str) -> str:
    """The sign under which alone a text is possible, "" where both are or none is."""
    found = typed(text)
    if column.unit_at is not None:
        return ""
    measure = QUANTITIES[column.quantity]
    if column.quantity == "share":
        low, high, scale, offset = 0.0, 100.0, 1.0, 0.0
    else:
        try:
            scale, offset = factor(unit or column.unit or "1", measure.si)
        except CellError:
            return ""
        low, high = measure.low, measure.high
    fits = [
        sign
        for sign, value in ((",", found.if_comma), (".", found.if_point))
        if low <= value * scale + offset <= high
    ]
    return fits[0] if len(fits) == 1 else ""
