"""The unit of each column's plain numbers, and where it comes from."""

from __future__ import annotations

from collections.abc import Mapping

from ...cells.numbers_in_text import shown
from ...cells.quantities import QUANTITIES
from ...cells.units import HOME_FACTORS, canonical
from ...cells.wording import rounded
from ..heading_words import plain_text
from ..job_columns import AS_LISTED, LINE_ABOVE, Question, quantity_of
from ..jobwords.units import (
    same_unit,
    says_hours_and_minutes,
    says_part_of_a_day,
    says_running_time,
    speaks_metric,
    tidy_unit,
    unit_in,
    unit_measures,
    unit_system,
    unknown_unit,
    what_is_wrong,
)
from .evidence import Evidence
from .reading import Column
from .survey import Facts

__all__ = ["ColumnUnits", "is_per_day", "per_day_note"]

#: Plain masses from here on are grams in a metric list; less may be kilograms.
_LEAST_GRAMS = 5.0


class ColumnUnits:
    """Decides the unit of every column of a list.

    Attributes:
        unit_indexes: column -> index of the column that holds each row's unit.
        assumed: what had to be assumed, in words.
        daily: heading of the throughput where some cells name a rate per day, else "".
    """

    def __init__(self, evidence: Evidence) -> None:
        self._evidence = evidence
        self._chosen = evidence.chosen
        self._survey = evidence.survey
        self.assumed: list[str] = []
        self.daily = ""
        self.unit_indexes = self._unit_indexes()

    def _unit_indexes(self) -> dict[str, int]:
        """Column -> the column of units that belongs to it."""
        found: dict[str, int] = {}
        for at in self._evidence.unit_columns:
            texts = self._survey.facts[at].texts
            if not texts:
                continue
            left = sorted(
                (p for p in self._chosen.found_at.items() if quantity_of(p[0])),
                key=lambda pair: (pair[1] > at, abs(pair[1] - at)),
            )
            for name, index in left:
                m = self._chosen.meanings[index]
                has_unit = (m is not None and m.title.unit) or index in self._evidence.row_units
                quantity = quantity_of(name)
                fits = all(unit_measures(tidy_unit(text.strip()), quantity) for text in texts)
                if fits and not has_unit and name not in found:
                    found[name] = at
                    break
            else:
                if self._chosen.is_ignored(at):
                    continue
                heading = self._chosen.headings[at].strip()
                raise Question(
                    f"which column do the units in {shown(heading)} belong to "
                    f"({', '.join(map(shown, list(texts)[:3]))})? Write the unit into the heading "
                    f'of that column, or use --ignore "{heading}"'
                )
        return found

    def _stated_systems(self, unit_indexes: Mapping[str, int]) -> set[str]:
        """The unit systems that the list names anywhere."""
        found = set()
        exempt = {
            self._chosen.found_at.get(name) for name in ("shot mass", "part mass", "runner mass")
        }  # grams in both
        for at, m in enumerate(self._chosen.meanings):
            if m is not None and m.title.unit and at not in exempt:
                found.add(unit_system(m.title.unit))
        found.update(map(unit_system, self._evidence.row_units.values()))
        for at, facts in self._survey.facts.items():
            if at not in exempt and at not in self._evidence.unit_columns:
                found.update(map(unit_system, facts.units))
        for at in unit_indexes.values():
            found.update(unit_system(text) for text in self._survey.facts[at].texts)
        notes = [text for _, text in self._survey.notes]
        for text in (
            *self._evidence.above,
            *notes,
            *(h for h in self._chosen.headings if "(" in h or "[" in h),
        ):
            if speaks_metric(text):
                found.add("metric")
        return found - {""}

    def columns(self, density_note: str) -> dict[str, Column]:
        """Each column with its unit.

        Args:
            density_note: what the receipt says of the density.

        Raises:
            Question: a unit cannot be told.
        """
        unit_indexes = self.unit_indexes
        stated = self._stated_systems(unit_indexes)
        signals = set(stated)
        columns: dict[str, Column] = {}
        undecided = []
        for name, index in self._chosen.found_at.items():
            quantity = quantity_of(name)
            heading = self._chosen.headings[index].strip()
            m = self._chosen.meanings[index]
            title_unit = m.title.unit if m is not None else ""
            column = Column(name, index, heading, quantity)
            if not quantity:
                columns[name] = column
                continue
            facts = self._survey.facts[index]
            if name in unit_indexes:
                at = unit_indexes[name]
                column = column._replace(
                    unit_from=f"column {shown(self._chosen.headings[at].strip())}", unit_at=at
                )
            elif title_unit:
                self._check_unit(heading, title_unit, quantity)
                self._compare_units(heading, title_unit, index, quantity)
                if quantity == "drying hours" and says_hours_and_minutes(heading, title_unit):
                    raise Question(
                        f"is {shown(heading)} in hours or minutes, or is min the least? Write "
                        "'drying hours (h)' or 'drying time (min)'"
                    )
                column = column._replace(unit=title_unit, unit_from="heading")
            elif unknown := unknown_unit(heading):
                raise Question(
                    f"the heading {shown(heading)} names {shown(unknown)}, which cannot be "
                    f"converted{what_is_wrong(unknown, quantity)}; "
                    f"{_give_unit(heading, quantity)}"
                )
            elif index in self._evidence.row_units:
                row = self._evidence.units_row
                column = column._replace(
                    unit=self._evidence.row_units[index], unit_from=f"units row, row {row}"
                )
            elif quantity in ("bulk density", "throughput") and self._unit_above(quantity):
                column = column._replace(unit=self._unit_above(quantity), unit_from=LINE_ABOVE)
            elif quantity == "shot mass":
                column = self._mass_unit(column, facts, stated)
            elif quantity in ("bulk density", "throughput"):
                undecided.append(name)
                if facts.bare and self._fit(quantity, facts) == ["metric"]:
                    signals.add("metric")
            elif quantity == "drying hours":
                column = self._hours_unit(column, facts)
            else:
                measure = QUANTITIES[quantity]
                both = {measure.us, measure.metric} - {"1"}
                column = column._replace(unit=measure.us, unit_from="default" if both else "")
            if name == "virgin density" and density_note:
                column = column._replace(note=density_note)
            columns[name] = self._per_day(column)
        for name in undecided:
            columns[name] = self._bare_unit(columns[name], stated, signals)
        return columns

    def _compare_units(self, heading: str, unit: str, index: int, quantity: str) -> None:
        """A row of units below the headings may contradict them."""
        below = self._evidence.row_units.get(index)
        if below and quantity not in ("share", "reserve") and not same_unit(below, unit, quantity):
            row = self._evidence.units_row
            raise Question(
                f"is {shown(heading)} in {unit}, as the heading says, or in {below}, as row {row} "
                "says? Make them the same"
            )

    def _check_unit(self, heading: str, unit: str, quantity: str) -> None:
        """A heading that the user named may hold a unit of something else."""
        if not unit_measures(unit, quantity):
            raise Question(
                f"the heading {shown(heading)} names {shown(unit)}, which is no unit of "
                f"{QUANTITIES[quantity].called}; {_give_unit(heading, quantity)}"
            )

    def _per_day(self, column: Column) -> Column:
        if column.quantity != "throughput":
            return column
        units = [column.unit, *self._survey.facts[column.at].units]
        if column.unit_at is not None:
            units += self._survey.facts[column.unit_at].texts
        if any(map(is_per_day, filter(None, units))):
            self._refuse_part_of_a_day(column.typed)
        if column.unit and is_per_day(column.unit):
            self.assumed.append(per_day_note(column.typed))
        elif any(map(is_per_day, filter(None, units))):
            self.daily = column.typed
        return column

    def _refuse_part_of_a_day(self, throughput: str) -> None:
        """A throughput per day is spread over 24 h, unless the list says how long a day is."""
        asked = f"how many hours of the day does a job run? {shown(throughput)} is per day, and "
        read = set(self._chosen.found_at.values())
        for at, heading in enumerate(self._chosen.headings):
            facts = self._survey.facts.get(at)
            if at in read or self._chosen.is_ignored(at) or facts is None or not facts.texts:
                continue
            if says_running_time(heading):
                raise Question(
                    f"{asked}{shown(heading.strip())} is not read. Give the throughput per hour, "
                    f'or use --ignore "{heading.strip()}" to spread it over 24 h'
                )
        notes = [text for _, text in self._survey.notes]
        for text in (throughput, *self._evidence.above, *notes):
            if says_part_of_a_day(text):
                raise Question(
                    f"{asked}{shown(' '.join(text.split()), 60)} speaks of shifts. Give the "
                    "throughput per hour"
                )

    def _unit_above(self, quantity: str) -> str:
        """The unit of a quantity that the lines above the list name, "" where they do not."""
        return unit_in("\n".join(self._evidence.above), quantity)

    def _mass_unit(self, column: Column, facts: Facts, stated: set[str]) -> Column:
        """The unit of the mass of a shot or a part that names none: grams beside metric units."""
        if not facts.bare:
            cells = ", ".join(facts.units)
            return column._replace(unit="g", unit_from=f"cells: {cells}" if cells else "")
        metric = self._evidence.units == "metric" or (
            self._evidence.units == AS_LISTED and stated == {"metric"}
        )
        if metric and not facts.units and min(facts.sample, default=0.0) >= _LEAST_GRAMS:
            return column._replace(unit="g", unit_from="default")
        low, high = (rounded(f(facts.sample, default=0.0)) for f in (min, max))
        raise Question(
            f"is {shown(column.typed)} in g, kg, oz or lb ({low} to {high})? Put it in the "
            f"heading: '{column.typed} (g)'"
        )

    def _hours_unit(self, column: Column, facts: Facts) -> Column:
        names_hours = "hour" in plain_text(column.typed) or "stunden" in plain_text(column.typed)
        names_hours = (
            names_hours
            or "heures" in plain_text(column.typed)
            or "horas" in plain_text(column.typed)
        )
        sample = [value for value in facts.sample if value > 0]
        if sample and not names_hours and min(sample) > 12:
            raise Question(
                f"is {shown(column.typed)} in hours or minutes ({rounded(min(sample))} to "
                f"{rounded(max(sample))})? Put it in the heading: '{column.typed} (h)' or "
                f"'{column.typed} (min)'"
            )
        return column._replace(unit="h", unit_from="heading" if names_hours else "default")

    def _fit(self, quantity: str, facts: Facts) -> list[str]:
        """The unit systems in which most of the plain numbers can be right."""
        measure = QUANTITIES[quantity]
        fits = []
        for system in ("US", "metric"):
            scale = HOME_FACTORS[measure.unit(system)][0]
            inside = sum(measure.low <= v * scale <= measure.high for v in facts.sample)
            if facts.sample and inside * 2 > len(facts.sample):
                fits.append(system)
        return fits

    def _bare_unit(self, column: Column, stated: set[str], signals: set[str]) -> Column:
        """The unit of a column of density or throughput that names none."""
        measure = QUANTITIES[column.quantity]
        facts = self._survey.facts[column.at]
        if not facts.bare:
            cells = ", ".join(facts.units) or "no number in it"
            system = self._evidence.units if self._evidence.units != AS_LISTED else "US"
            if not facts.units and "metric" in signals and self._evidence.units == AS_LISTED:
                system = "metric"
            return column._replace(
                unit=measure.unit(system), unit_from=f"cells: {cells}" if facts.units else ""
            )
        if self._evidence.units != AS_LISTED:
            return column._replace(unit=measure.unit(self._evidence.units), unit_from="--units")
        us, metric = measure.us, measure.metric
        heading = column.typed
        answer = (
            f"Put it in the heading ('{heading} ({metric})'), or give --units metric or --units us"
        )
        if facts.units:
            raise Question(
                f"some cells of {shown(heading)} name a unit ({', '.join(list(facts.units)[:3])}), "
                f"others do not: are those in {metric} or {us}? {answer}"
            )
        fits = self._fit(column.quantity, facts)
        if not fits and facts.sample:
            low, high = rounded(min(facts.sample)), rounded(max(facts.sample))
            raise Question(
                f"in which unit is {shown(heading)} ({low} to {high})? It can be neither {us} nor "
                f"{metric}. {answer}"
            )
        if not signals - {"US"}:
            return column._replace(unit=us, unit_from="default")
        if len(fits) == 1 and facts.sample:
            other = us if fits == ["metric"] else metric
            unit = measure.unit(fits[0])
            self.assumed.append(
                f"{column.name} in {unit}: the list does not say, but in {other} it would be "
                "impossible"
            )
            return column._replace(unit=unit, unit_from=f"by its values, impossible in {other}")
        speaks = self._metric_words(stated)
        raise Question(
            f"is {shown(heading)} in {metric} or {us}? {speaks}, but this column names no unit. "
            f"{answer}"
        )

    def _metric_words(self, stated: set[str]) -> str:
        """What in the list speaks metric, for the question."""
        if "metric" not in stated:
            return "The densities can only be metric"
        for m in self._chosen.meanings:
            if m is not None and m.title.unit and unit_system(m.title.unit) == "metric":
                return f"The list uses {m.title.unit}"
        for facts in self._survey.facts.values():
            for unit in facts.units:
                if unit_system(unit) == "metric":
                    return f"The list uses {unit}"
        return "The list uses metric units"

    def result_system(self, columns: Mapping[str, Column]) -> str:
        """The unit system of the results: that of most numbers, or as stated."""
        if self._evidence.units != AS_LISTED:
            return self._evidence.units
        for name in ("throughput", "virgin density", "blend density"):
            column = columns.get(name)
            if column is None:
                continue
            facts = self._survey.facts[column.at]
            votes = {"US": 0, "metric": 0}
            units = dict(facts.units)
            if column.unit_at is not None:
                units = dict.fromkeys(self._survey.facts[column.unit_at].texts, 1)
            for unit, count in units.items():
                if unit_system(unit):
                    votes[unit_system(unit)] += count
            if column.unit and facts.bare and unit_system(column.unit):
                votes[unit_system(column.unit)] += facts.bare
            if votes["US"] != votes["metric"]:
                return max(votes, key=lambda system: votes[system])
        stated = self._stated_systems({})
        return "metric" if stated == {"metric"} else "US"


def _give_unit(heading: str, quantity: str) -> str:
    """How to answer which unit a column is in."""
    measure = QUANTITIES[quantity]
    bare = heading.partition("(")[0].strip() or measure.name
    return f"give the numbers and the heading a unit such as '{bare} ({measure.metric})'"


def is_per_day(unit: str) -> bool:
    """Whether a unit of throughput counts days."""
    return canonical(unit).endswith(("/d", "/day", "/days"))


def per_day_note(heading: str) -> str:
    """What is assumed of a rate per day."""
    return f"throughput per day spread over 24 h ({shown(heading)})"
