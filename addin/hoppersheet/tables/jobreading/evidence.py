"""What a job list shows once all its rows were looked at: the ground of every decision on it."""

from __future__ import annotations

from dataclasses import dataclass, field

from .chosen_headings import ChosenHeadings
from .survey import Facts, Survey

__all__ = ["Evidence"]


@dataclass
class Evidence:
    """What is known of a list.

    Attributes:
        chosen: which heading is which column.
        survey: what the cells of each column look like.
        units: "US", "metric" or AS_LISTED: what the user states.
        above: texts above the headings.
        unit_columns: indexes of the columns whose cells are units.
        units_row: number of the row of units, None where there is none.
        row_units: column's index -> unit in that row.
    """

    chosen: ChosenHeadings
    survey: Survey
    units: str
    above: list[str]
    unit_columns: list[int]
    units_row: int | None = None
    row_units: dict[int, str] = field(default_factory=dict)

    def facts(self, at: int) -> Facts:
        """What the cells of a column look like."""
        return self.survey.facts[at]
