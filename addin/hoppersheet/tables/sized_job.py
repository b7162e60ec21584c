"""What sizing says of one row of a job list."""

from __future__ import annotations

from typing import Any, NamedTuple

from ..errors import CellError

__all__ = ["SizedJob"]


class SizedJob(NamedTuple):
    """The answer for one row, in SI; None where there is no answer.

    ``problem`` is None where the next size was found. With a ``problem`` the other fields hold
    as much as could be worked out. ``not_job`` says why a row is no job; then all others are None.
    ``beside_cells`` are the marks that the row's cells alone would not give.
    """

    blend_density: float | None = None
    required_volume: float | None = None
    size_below: float | None = None
    hours_at_size_below: float | None = None
    next_size: float | None = None
    hours_at_next_size: float | None = None
    model: str = ""
    price: Any = None
    assumed: str = ""
    check: str = ""
    problem: CellError | None = None
    not_job: str = ""
    throughput: float | None = None
    drying_hours: float | None = None
    #: (column, reason) of each thing that is wrong with the row
    faults: tuple[tuple[str, str], ...] = ()
    beside_cells: tuple[str, ...] = ()

    @property
    def is_job(self) -> bool:
        """Whether the row holds a job, sized or not."""
        return not self.not_job
