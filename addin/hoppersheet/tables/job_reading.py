"""How a job list is read: decided per column, from all its cells, before any row is sized.

:class:`ListReader` takes the headings, then all rows once, and gives a :class:`Reading`: for each
column its unit and where that comes from, the decimal sign and what proves it, percent or fraction;
what is not used; what was assumed. A choice that only the writer of the list can make is a
:class:`Question`. The same code reads a range in a worksheet and a file of any kind.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from ..cells.numbers_in_text import shown
from ..cells.quantities import QUANTITIES
from ..cells.units import HOME_FACTORS, canonical, did_you_mean, factor
from ..cells.values import is_blank
from ..cells.wording import rounded
from ..errors import CellError, WrongKind
from .heading_words import plain_text
from .headings import plain_name
from .job_cells import typed
from .job_columns import (
    AS_LISTED,
    JOB_COLUMNS,
    LET_PASS,
    LINE_ABOVE,
    NOT_STATED,
    RATE_WAYS,
    STATED,
    Question,
)
from .job_survey import Facts, Survey
from .jobwords.meanings import DENSITY, Meaning, meaning, says_virgin
from .jobwords.near_misses import may_be
from .jobwords.recipes import is_ratio_of_shares, reads_as_recipe
from .jobwords.share_basis import bases_in, decides_basis, makes_exceptions, speaks_of_basis
from .jobwords.units import (
    is_unit_heading,
    same_unit,
    says_hours_and_minutes,
    speaks_metric,
    tidy_unit,
    unit_in,
    unit_measures,
    unit_system,
    unknown_unit,
)

__all__ = [
    "Column",
    "ListReader",
    "Reading",
    "is_per_day",
    "per_day_note",
    "read_rows",
]

_MACHINES = frozenset(("machines", "presses", "maschinen", "pressen"))
_SHIFTS = ("shift", "schicht", "equipe", "turno")
_NEEDED = ("throughput", "drying hours", "virgin density")
#: Solid density of the lightest resin, poly(4-methylpentene), 0.83 g/cm3 (from memory), in kg/m3:
#: what lies below it is no solid resin, so a column of such densities holds bulk densities.
_LIGHTEST_SOLID = 830.0
#: Plain masses from here on are grams in a metric list; less may be kilograms.
_LEAST_GRAMS = 5.0
_BLOCK = 2048  # rows looked at in one go


class Column(NamedTuple):
    """How one column is read.

    Attributes:
        name: the column's own name; a component's share is ``"masterbatch share"``.
        at: 0 is the first.
        typed: the heading as it stands there.
        quantity: of its numbers, "" for text.
        unit: of its plain numbers.
        unit_from: where the unit comes from, in words.
        mode: "percent" or "fraction" for a ratio's plain numbers, else "".
        sign: the decimal sign of a number that can be read two ways, "" where nothing proves one.
        note: what else the receipt says.
        unit_at: the column that holds each row's unit, None where there is none.
    """

    name: str
    at: int
    typed: str
    quantity: str = ""
    unit: str = ""
    unit_from: str = ""
    mode: str = ""
    sign: str = ""
    note: str = ""
    unit_at: int | None = None


class Reading(NamedTuple):
    """How a list is read, as the receipt tells it.

    Attributes:
        columns: name -> column.
        components: names of the components beside virgin and regrind.
        system: unit system of the results.
        sign: the list's decimal sign, with its proof in words; both "" where nothing needed one.
        basis, basis_from: of rows that state none.
        assumed: what every sized row was assumed.
        virgin_only: what a row without a share was assumed.
        daily: heading of the throughput where some cells name a rate per day, else "".
        maybe_blend: heading of the virgin density where it may be meant for that of the blend,
            else "".
        not_used: headings of columns that are not read, with a reason where there is one.
        searched: indexes of unread columns whose texts speak of a recipe in some row.
        units_row: index among the rows of the row of units, or None.
        headings: the heading cells as they were read.
    """

    columns: Mapping[str, Column]
    components: tuple[str, ...]
    system: str
    sign: str
    sign_proof: str
    basis: str
    basis_from: str
    assumed: tuple[str, ...]
    virgin_only: str
    daily: str
    maybe_blend: str
    not_used: tuple[tuple[str, str], ...]
    searched: tuple[int, ...]
    units_row: int | None
    headings: tuple[str, ...]


class ListReader:
    """Decides how a list is read.

    Args:
        headings: the heading cells.
        units: "US", "metric" or :data:`AS_LISTED`: what the user states.
        own_words: column -> heading, as the user says.
        ignore: headings that the user lets pass unread.
        basis: share basis of rows that state none.
        above: texts above the headings, which may name a unit.

    Raises:
        WrongKind: a needed column is missing (names near misses), stands twice, or has a unit of
            something else.
        Question: a heading that is not read may change the answer.
    """

    def __init__(
        self,
        headings: Sequence[Any],
        units: str = AS_LISTED,
        own_words: Mapping[str, str] | None = None,
        ignore: Iterable[str] = (),
        basis: str = NOT_STATED,
        above: Iterable[str] = (),
    ) -> None:
        self.headings = [cell if isinstance(cell, str) else "" for cell in headings]
        self.units = units
        self._own = tuple((own_words or {}).items())
        self._ignored = {plain_text(text) for text in ignore}
        self._basis = basis
        self._above = [text for text in above if isinstance(text, str)]
        self._meanings = self._read_headings()
        self.found_at: dict[str, int] = {}
        self.components: list[str] = []
        self._assumed: list[str] = []
        self._daily = ""
        self._pick()
        self._units_row: int | None = None
        self._row_units: dict[int, str] = {}
        numeric = [at for name, at in self.found_at.items() if self._quantity(name)]
        words = [at for at, cell in enumerate(self.headings) if is_unit_heading(cell)]
        if "recipe" in self.found_at:
            words.append(self.found_at["recipe"])
        read = {*self.found_at.values(), *words}
        named = {self.found_at.get("job"), self.found_at.get("resin")}
        others = [at for at in range(len(self.headings)) if at not in read or at in named]
        if "recipe" in self.found_at and ("regrind share" in self.found_at):
            others.append(self.found_at.pop("recipe"))
        self._unit_columns = [at for at in words if at != self.found_at.get("recipe")]
        self.survey = Survey(numeric, words, others, self.found_at.get("resin"))

    # --- headings ---

    def _read_headings(self) -> list[Meaning | None]:
        found: list[Meaning | None] = []
        for cell in self.headings:
            try:
                found.append(meaning(cell, self._own) if cell.strip() else None)
            except WrongKind as problem:
                raise WrongKind(f"heading {shown(cell)}: {problem.reason}") from None
        for name, heading in self._own:
            if not any(plain_text(cell) == plain_text(heading) for cell in self.headings):
                near = did_you_mean(heading, [c for c in self.headings if c])
                raise WrongKind(f"there is no heading {shown(heading)} for {name!r}{near}")
        return found

    def _quantity(self, name: str) -> str:
        if name == DENSITY:
            return "bulk density"
        if name in JOB_COLUMNS:
            return JOB_COLUMNS[name]
        return "share" if name.endswith(" share") else "bulk density"

    def _candidates(self, name: str) -> list[int]:
        """Indexes of the headings that could be a column, the best ones only."""
        ranks = [
            (m.rank, at)
            for at, m in enumerate(self._meanings)
            if m is not None
            and m.column == name
            and plain_text(self.headings[at]) not in self._ignored
        ]
        best = min(ranks, default=(0, 0))[0]
        return [at for rank, at in ranks if rank == best]

    def _pick(self) -> None:
        """Settle which heading is which column."""
        for name in (*JOB_COLUMNS, DENSITY):
            found = self._candidates(name)
            if len(found) > 1 and name not in ("job", "resin", "recipe"):
                first, second = found[:2]
                meant = self._meanings[first]
                same = plain_text(self.headings[first]) == plain_text(self.headings[second])
                if meant is not None and meant.rank == 0 and same:
                    raise WrongKind(
                        f"the heading {shown(self.headings[first].strip())} appears twice, in "
                        f"columns {first + 1} and {second + 1}; give the one that does not count "
                        "another name, or put two tables side by side below each other"
                    )
                both = " and ".join(shown(self.headings[at]) for at in found[:2])
                raise Question(
                    f"the headings {both} could both be {name!r}; call one of them that, or use "
                    f'--column "{name}={self.headings[first].strip()}" or --ignore '
                    f'"{self.headings[second].strip()}"'
                )
            if found:
                self.found_at[name] = found[0]
        if DENSITY in self.found_at and {"virgin density", "blend density"} & set(self.found_at):
            del self.found_at[DENSITY]
        way: tuple[str, ...] = ()
        if "throughput" not in self.found_at:
            way = next((w for w in RATE_WAYS if set(w) <= set(self.found_at)), ())
        self._rate_parts = [n for names in RATE_WAYS for n in names if n in self.found_at]
        for name in {*self._rate_parts} - {*way}:
            del self.found_at[name]
        self._rate_way = way
        self._pick_components()
        self._require()

    def _pick_components(self) -> None:
        """Components are the names that have both a share and a density."""
        shares: dict[str, int] = {}
        densities: dict[str, int] = {}
        for at, m in enumerate(self._meanings):
            if m is not None and m.component and not m.column:
                (densities if m.component_density else shares).setdefault(m.component, at)
        for name, at in shares.items():
            if (
                name in densities
                and self._fits(at, "share")
                and self._fits(densities[name], "bulk density")
            ):
                self.components.append(name)
                self.found_at[f"{name} share"], self.found_at[f"{name} density"] = (
                    at,
                    densities[name],
                )

    def _fits(self, at: int, quantity: str) -> bool:
        m = self._meanings[at]
        return m is not None and (not m.title.unit or unit_measures(m.title.unit, quantity))

    def _missing(self) -> list[str]:
        have = self.found_at
        missing = []
        if "throughput" not in have and not self._rate_way:
            missing.append("throughput")
        if "drying hours" not in have and "resin" not in have:
            missing.append("drying hours")
        if not {"virgin density", "blend density", DENSITY, "resin"} & set(have):
            missing.append("virgin density")
        return missing

    def _looks_like(self, name: str) -> list[int]:
        read = set(self.found_at.values())
        return [
            at
            for at, m in enumerate(self._meanings)
            if m is not None
            and not m.column
            and (name in m.missed or may_be(self.headings[at], m.title, name))
            and at not in read
            and plain_text(self.headings[at]) not in self._ignored
        ]

    def _require(self) -> None:
        missing = self._missing()
        absent = [
            name
            for name in (*_NEEDED, "reserve", "share basis")
            if name not in self.found_at
            and not (name == "virgin density" and {DENSITY, "blend density"} & set(self.found_at))
        ]
        if "throughput" in absent and "throughput" not in missing:
            absent.remove("throughput")
        if "regrind density" not in self.found_at and {"regrind share", "recipe"} & {
            *self.found_at
        }:
            absent.append("regrind density")
        for name in absent:
            for at in self._looks_like(name):
                heading = self.headings[at].strip()
                m = self._meanings[at]
                why = ""
                if m is not None and m.title.unit and self._quantity(name):
                    if not unit_measures(m.title.unit, self._quantity(name)):
                        why = _why_not(m.title.unit, self._quantity(name))
                elif m is not None and any(w in plain_text(heading) for w in _SHIFTS):
                    why = _why_not(heading, "throughput")
                elif m is not None and m.title.brackets:
                    why = f", and {shown(m.title.brackets)} is no unit that can be converted"
                raise Question(
                    f"the heading {shown(heading)} is not known, though it looks like "
                    f'{name!r}{why}; rename it, or use --column "{name}={heading}", or --ignore '
                    f'"{heading}" if it is something else'
                )
        if missing:
            read = set(self.found_at.values())
            more = ""
            if "throughput" in missing and self._rate_parts:
                have = " and ".join(map(repr, dict.fromkeys(self._rate_parts)))
                ways = "; ".join(", ".join(names) for names in RATE_WAYS)
                more = f"; {have} alone give no throughput, these would: {ways}"
            others = [
                plain_name(h) for at, h in enumerate(self.headings) if h.strip() and at not in read
            ]
            raise WrongKind(
                f"no column {' and no column '.join(map(repr, missing))} among the headings "
                f"(a job list needs {', '.join(_NEEDED)}; a column 'resin' can replace the last "
                f"two){more or did_you_mean(missing[0], others)}"
            )

    # --- rows ---

    def take(self, rows: Iterable[Sequence[Any]], first: int) -> Reading:
        """Look at every row once and decide.

        Args:
            rows: the rows below the headings.
            first: number of the first of them, for messages.

        Raises:
            Question: see the class.
        """
        block: list[Sequence[Any]] = []
        started = False
        for index, row in enumerate(rows):
            if not started:
                if all(is_blank(cell) for cell in row):
                    block.append(())
                    continue
                started = True
                if self._is_units_row(row):
                    self._units_row = index
                    block.append(())
                    continue
            block.append(row)
            if len(block) == _BLOCK:
                self.survey.add(block, first + index + 1 - _BLOCK)
                block = []
        if block:
            self.survey.add(block, first + index + 1 - len(block))
        return self._decide(first)

    def _is_units_row(self, row: Sequence[Any]) -> bool:
        """Whether the first row below the headings holds units and nothing else."""
        units: dict[int, str] = {}
        name_at = {at: name for name, at in self.found_at.items()}
        for at, cell in enumerate(row):
            if is_blank(cell):
                continue
            if not isinstance(cell, str):
                return False
            text = tidy_unit(cell.strip().strip("[](){}").strip())
            quantity = self._quantity(name_at[at]) if at in name_at else ""
            if quantity and text not in ("-", "\u2013", "1", "") and unit_measures(text, quantity):
                units[at] = text
            elif (
                text in ("-", "\u2013", "")
                or plain_text(text)
                in (
                    "text",
                    "name",
                    "-",
                    "no",
                    "\u00b0c",
                    "\u00b0f",
                    "usd",
                    "eur",
                    "$",
                    "\u20ac",
                    "string",
                    "nr",
                )
                or (at not in name_at and speaks_metric(text))
            ):
                continue
            elif (
                (at in name_at and quantity)
                or any(sign.isdigit() for sign in text)
                or len(text) > 8
            ):
                return False
        self._row_units = units
        return bool(units)

    def _decide(self, first: int) -> Reading:
        self._first = first
        self._recipe_or_not()
        self._density_or_not()
        self._refuse_recipes()
        unit_indexes = self._unit_indexes()
        columns = self._columns_with_units(unit_indexes)
        columns = self._with_signs(columns)
        columns = {name: self._with_mode(column, columns) for name, column in columns.items()}
        basis, basis_from = self._list_basis()
        self._unread_numbers()
        maybe_blend = self._maybe_blend(columns)
        ground = columns.get("regrind density")
        if maybe_blend and (ground is None or not self.survey.facts[ground.at].filled):
            virgin = columns["virgin density"]
            note = "; ".join(filter(None, (virgin.note, _maybe_blend_note(virgin.typed))))
            columns["virgin density"] = virgin._replace(note=note)
        indexes = {column.at for column in columns.values()} | set(unit_indexes.values())
        not_used = tuple(
            (heading.strip(), self._why_unused(at))
            for at, heading in enumerate(self.headings)
            if at not in indexes and heading.strip()
        )
        searched = tuple(
            at
            for at, facts in self.survey.facts.items()
            if facts.speaks and (at not in indexes or at in self._named())
        )
        return Reading(
            columns, tuple(self.components), self._result_system(columns), self._sign,
            self._sign_proof, basis, basis_from, tuple(self._assumed), self._virgin_only(columns),
            self._daily, maybe_blend, not_used, searched, self._units_row, tuple(self.headings),
        )  # fmt: skip

    def _named(self) -> set[int]:
        """Indexes of the job's name and of the resin, whose texts may speak of a recipe too."""
        return {self.found_at[name] for name in ("job", "resin") if name in self.found_at}

    def _why_unused(self, at: int) -> str:
        m = self._meanings[at]
        if plain_text(self.headings[at]) in self._ignored:
            return LET_PASS
        if m is not None and m.recipe and not self.survey.facts[at].texts:
            return "0 or blank in every row"
        return ""

    def _recipe_or_not(self) -> None:
        """A column "mix" is a recipe only where its cells are."""
        at = self.found_at.get("recipe")
        if at is None:
            return
        if not any(map(reads_as_recipe, self.survey.facts[at].texts)):
            del self.found_at["recipe"]

    def _density_or_not(self) -> None:
        """A column "density" is the bulk density where no solid resin could be as light."""
        at = self.found_at.pop(DENSITY, None)
        if at is None:
            return
        heading = shown(self.headings[at].strip())
        m = self._meanings[at]
        unit = self._row_units.get(at) or (m.title.unit if m is not None else "")
        facts = self.survey.facts[at]
        values = []
        if unit or not facts.bare:
            scale = factor(unit, "kg/m3")[0] if unit else 1.0
            values = [value * scale for value in facts.sample]
        else:
            for system in ("US", "metric"):
                scale = HOME_FACTORS[QUANTITIES["bulk density"].unit(system)][0]
                low, high = (QUANTITIES["bulk density"].low, QUANTITIES["bulk density"].high)
                inside = [v * scale for v in facts.sample if low <= v * scale <= high]
                values = inside if len(inside) > len(values) else values
        if facts.units and not values:
            values = (
                [_LIGHTEST_SOLID]
                if not all(unit_measures(u, "bulk density") for u in facts.units)
                else [0.0]
            )
        if values and max(values) < _LIGHTEST_SOLID:
            self.found_at["virgin density"] = at
            self._density_note = "read as the bulk density: lighter than any solid resin"
            return
        raise Question(
            f"is {heading} the bulk density of the pellets? Its values can be those of the solid "
            f"resin, which would make the hopper too small. Rename it, or use --column "
            f'"virgin density={self.headings[at].strip()}"'
        )

    _density_note = ""

    def _refuse_recipes(self) -> None:
        """Ask about an unread column that names a part of the recipe."""
        read = set(self.found_at.values())
        for at, m in enumerate(self._meanings):
            if m is None or not m.recipe or at in read or at not in self.survey.facts:
                continue
            heading = self.headings[at].strip()
            if plain_text(heading) in self._ignored or not self.survey.facts[at].texts:
                continue
            name = m.component or "it"
            how = f'give its density in a column "{name} density"' if m.component else "rename it"
            raise Question(
                f"what is {shown(heading)}? It looks like a part of the recipe and is not read. If "
                f'it is regrind, use --column "regrind share={heading}"; if it is another '
                f'component, {how}; if it is neither, --ignore "{heading}"'
            )

    def _unread_numbers(self) -> None:
        """Ask about unread ratios such as 70/30; say that a number of machines is not read."""
        read = {*self.found_at.values(), *self._unit_columns}
        for at, heading in enumerate(self.headings):
            facts = self.survey.facts.get(at)
            if facts is None or at in read or plain_text(heading) in self._ignored:
                continue
            texts = list(facts.texts)
            name = heading.strip()
            if texts and sum(map(is_ratio_of_shares, texts)) * 2 > len(texts):
                raise Question(
                    f"what is {shown(name)} ({shown(texts[0])})? It looks like shares of virgin "
                    "and regrind and is not read. Call the column 'virgin/regrind' or "
                    f"'regrind/virgin', or use --ignore \"{name}\""
                )
            words = set(plain_text(heading).replace("#", " ").split())
            numbers = all(text.replace(".", "", 1).isdigit() for text in texts)
            several = any(text not in ("1", "1.0") for text in texts)
            if words & _MACHINES and several and numbers:
                self._assumed.append(
                    f"throughput taken for all machines together: {shown(name)} is not read"
                )

    def _virgin_only(self, columns: Mapping[str, Column]) -> str:
        """What is assumed of a row without a share, and why."""
        if self._has_shares():
            return "virgin only: no shares given"
        if "regrind density" in columns:
            return (
                "100 % virgin: the list has a regrind density, but no column says how much regrind"
            )
        passed = [
            shown(self.headings[at].strip())
            for at, m in enumerate(self._meanings)
            if m is not None and m.recipe and plain_text(self.headings[at]) in self._ignored
        ]
        if passed:
            return f"100 % virgin: {' and '.join(passed)} not read, {LET_PASS}"
        return "100 % virgin: the list has no column of shares"

    def _has_shares(self) -> bool:
        shares = {"virgin share", "regrind share", "recipe"} & set(self.found_at)
        return bool(shares or self.components)

    def _maybe_blend(self, columns: Mapping[str, Column]) -> str:
        """Heading of the density where it may be that of the blend and is taken for the virgin's.

        Such is a "bulk density" beside a share of regrind.
        """
        at = self.found_at.get("virgin density")
        m = None if at is None else self._meanings[at]
        if m is None or m.rank == 0 or says_virgin(m.title) or "blend density" in columns:
            return ""
        shares = {"virgin share", "regrind share", "recipe"} & set(columns)
        return columns["virgin density"].typed if shares else ""

    # --- units ---

    def _unit_indexes(self) -> dict[str, int]:
        """Column -> the column of units that belongs to it."""
        found: dict[str, int] = {}
        for at in self._unit_columns:
            texts = self.survey.facts[at].texts
            if not texts:
                continue
            left = sorted(
                (p for p in self.found_at.items() if self._quantity(p[0])),
                key=lambda pair: (pair[1] > at, abs(pair[1] - at)),
            )
            for name, index in left:
                m = self._meanings[index]
                has_unit = (m is not None and m.title.unit) or index in self._row_units
                quantity = self._quantity(name)
                fits = all(unit_measures(tidy_unit(text.strip()), quantity) for text in texts)
                if fits and not has_unit and name not in found:
                    found[name] = at
                    break
            else:
                if plain_text(self.headings[at]) in self._ignored:
                    continue
                heading = self.headings[at].strip()
                raise Question(
                    f"which column do the units in {shown(heading)} belong to "
                    f"({', '.join(map(shown, list(texts)[:3]))})? Write the unit into the heading "
                    f'of that column, or use --ignore "{heading}"'
                )
        return found

    def _stated_systems(self, unit_indexes: Mapping[str, int]) -> set[str]:
        """The unit systems that the list names anywhere."""
        found = set()
        exempt = {self.found_at.get(name) for name in ("shot mass", "part mass")}  # grams in both
        for at, m in enumerate(self._meanings):
            if m is not None and m.title.unit and at not in exempt:
                found.add(unit_system(m.title.unit))
        found.update(map(unit_system, self._row_units.values()))
        for at, facts in self.survey.facts.items():
            if at not in exempt and at not in self._unit_columns:
                found.update(map(unit_system, facts.units))
        for at in unit_indexes.values():
            found.update(unit_system(text) for text in self.survey.facts[at].texts)
        notes = [text for _, text in self.survey.notes]
        for text in (*self._above, *notes, *(h for h in self.headings if "(" in h or "[" in h)):
            if speaks_metric(text):
                found.add("metric")
        return found - {""}

    def _columns_with_units(self, unit_indexes: Mapping[str, int]) -> dict[str, Column]:
        stated = self._stated_systems(unit_indexes)
        signals = set(stated)
        columns: dict[str, Column] = {}
        undecided = []
        for name, index in self.found_at.items():
            quantity = self._quantity(name)
            heading = self.headings[index].strip()
            m = self._meanings[index]
            title_unit = m.title.unit if m is not None else ""
            column = Column(name, index, heading, quantity)
            if not quantity:
                columns[name] = column
                continue
            facts = self.survey.facts[index]
            if name in unit_indexes:
                at = unit_indexes[name]
                column = column._replace(
                    unit_from=f"column {shown(self.headings[at].strip())}", unit_at=at
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
                    f"converted{_why_not(unknown, quantity) or ''}; "
                    f"{_give_unit(heading, quantity)}"
                )
            elif index in self._row_units:
                row = self._first + (self._units_row or 0)
                column = column._replace(
                    unit=self._row_units[index], unit_from=f"units row, row {row}"
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
            if name == "virgin density" and self._density_note:
                column = column._replace(note=self._density_note)
            columns[name] = self._per_day(column)
        for name in undecided:
            columns[name] = self._bare_unit(columns[name], stated, signals)
        return columns

    def _compare_units(self, heading: str, unit: str, index: int, quantity: str) -> None:
        """A row of units below the headings may contradict them."""
        below = self._row_units.get(index)
        if below and quantity not in ("share", "reserve") and not same_unit(below, unit, quantity):
            row = self._first + (self._units_row or 0)
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
        units = [column.unit, *self.survey.facts[column.at].units]
        if column.unit_at is not None:
            units += self.survey.facts[column.unit_at].texts
        if column.unit and is_per_day(column.unit):
            self._assumed.append(per_day_note(column.typed))
        elif any(map(is_per_day, filter(None, units))):
            self._daily = column.typed
        return column

    def _unit_above(self, quantity: str) -> str:
        """The unit of a quantity that the lines above the list name, "" where they do not."""
        return unit_in("\n".join(self._above), quantity)

    def _mass_unit(self, column: Column, facts: Facts, stated: set[str]) -> Column:
        """The unit of the mass of a shot or a part that names none: grams beside metric units."""
        if not facts.bare:
            cells = ", ".join(facts.units)
            return column._replace(unit="g", unit_from=f"cells: {cells}" if cells else "")
        metric = self.units == "metric" or (self.units == AS_LISTED and stated == {"metric"})
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
        facts = self.survey.facts[column.at]
        if not facts.bare:
            cells = ", ".join(facts.units) or "no number in it"
            system = self.units if self.units != AS_LISTED else "US"
            if not facts.units and "metric" in signals and self.units == AS_LISTED:
                system = "metric"
            return column._replace(
                unit=measure.unit(system), unit_from=f"cells: {cells}" if facts.units else ""
            )
        if self.units != AS_LISTED:
            return column._replace(unit=measure.unit(self.units), unit_from="--units")
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
            self._assumed.append(
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
        for m in self._meanings:
            if m is not None and m.title.unit and unit_system(m.title.unit) == "metric":
                return f"The list uses {m.title.unit}"
        for facts in self.survey.facts.values():
            for unit in facts.units:
                if unit_system(unit) == "metric":
                    return f"The list uses {unit}"
        return "The list uses metric units"

    # --- decimal sign ---

    def _with_signs(self, columns: dict[str, Column]) -> dict[str, Column]:
        """Settle the decimal sign, by what the numeric columns that are read prove."""
        proofs: dict[str, tuple[int, str]] = {}
        doubtful = False
        for column in columns.values():
            if not column.quantity:
                continue
            facts = self.survey.facts[column.at]
            for sign, proof in facts.proofs.items():
                proofs.setdefault(sign, proof)
            doubtful = doubtful or bool(facts.doubtful)
            for text, (row, unit) in facts.doubtful.items():
                sign = self._by_limits(column, text, unit)
                if sign:
                    proofs.setdefault(sign, (row, text))
        self._sign = self._sign_proof = ""
        if len(proofs) == 1:
            (self._sign, (row, text)), *_ = proofs.items()
            self._sign_proof = f"proven by {text.strip()!r} in row {row}"
        elif doubtful and proofs:
            both = " and ".join(f"{text.strip()!r} in row {row}" for row, text in proofs.values())
            self._sign_proof = f"not settled: {both} prove different signs"
        return {
            name: column._replace(sign=self._sign) if column.quantity else column
            for name, column in columns.items()
        }

    def _by_limits(self, column: Column, text: str, unit: str) -> str:
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

    # --- percent or fraction ---

    def _with_mode(self, column: Column, columns: Mapping[str, Column]) -> Column:
        if column.quantity not in ("share", "reserve"):
            return column
        facts = self.survey.facts[column.at]
        heading = shown(column.typed)
        percent = column.unit in ("%", "percent", "pct")
        up_to_one = facts.small + facts.ones
        others = column.name != "reserve" and self._other_shares(column.name, columns)
        if percent and up_to_one and not facts.large and not others:
            rows = ", ".join(map(str, facts.small_rows)) + (" ..." if up_to_one > 5 else "")
            value = rounded(next(v for v in facts.sample if 0 < v <= 1)) if facts.sample else "1"
            raise Question(
                f"{heading} says percent, but rows {rows} hold numbers up to 1: is {value} "
                f"{value} % or {rounded(float(value) * 100)} %? Take the percent sign off the "
                "heading, or type whole percentages"
            )
        only_one = facts.ones and not (facts.small or facts.large or facts.percents or percent)
        if only_one and column.name == "regrind share" and not others:
            raise Question(
                f"{heading} has nothing but 0 and 1: is 1 a share of 100 %, of 1 %, or does it "
                "only say that there is regrind? Type the share with its percent sign"
            )
        mode = "percent" if percent or facts.large else "fraction"
        numbers = facts.bare
        if facts.percents and not numbers:
            note = f"percent, {facts.percents} of {facts.filled} cells say so"
        elif mode == "percent":
            note = f"percent, {facts.large} of {numbers} cells over 1"
            if percent:
                note = "percent, heading"
            if up_to_one:
                note += f"; {up_to_one} up to 1, asked about"
        else:
            note = "fraction, no cell over 1" if numbers else "no number in it"
        return column._replace(mode=mode, note=note, unit="1", unit_from="")

    def _other_shares(self, name: str, columns: Mapping[str, Column]) -> bool:
        """Whether other columns complete the shares, so that each row's sum tells percent."""
        shares = [c for c in columns if c == "virgin share" or (c == "regrind share")]
        return len(shares) == 2 and name in shares

    # --- the rest ---

    def _list_basis(self) -> tuple[str, str]:
        bases = {
            m.title.basis: self.headings[at].strip()
            for at, m in enumerate(self._meanings)
            if m is not None
            and m.title.basis
            and at in self.found_at.values()
            and m.column in ("virgin share", "regrind share", "recipe", "")
        }
        bases = {basis: f"heading {shown(heading)}" for basis, heading in bases.items()}
        if self._basis == NOT_STATED and self._has_shares():
            lines = [("above the list", text) for text in self._above]
            lines += [(f"row {number}", text) for number, text in self.survey.notes]
            for where, text in lines:
                named = bases_in(text) if decides_basis(text) else []
                line = f"{where}: {shown(' '.join(text.split()), 60)}"
                if named and makes_exceptions(text) and "share basis" not in self.found_at:
                    raise Question(
                        f"for which rows does this hold, {line}? Give each row its own basis in a "
                        "column 'share basis'"
                    )
                for basis in named:
                    bases.setdefault(basis, line)
        if len(bases) > 1:
            raise Question(
                f"{' and '.join(bases.values())} give different share bases; make them the same, "
                "or give each row its own in a column 'share basis'"
            )
        if bases:
            ((basis, where),) = bases.items()
            return basis, where
        if self._basis == NOT_STATED and self._has_shares():
            self._ask_for_basis()
        return self._basis, "" if self._basis == NOT_STATED else STATED

    def _ask_for_basis(self) -> None:
        """A column that is not read may say how the shares are meant: "gravimetric"."""
        if "share basis" in self.found_at:
            return
        read = {*self.found_at.values()}
        for at, heading in enumerate(self.headings):
            if at in read or at not in self.survey.facts or plain_text(heading) in self._ignored:
                continue
            for text in self.survey.facts[at].texts:
                if speaks_of_basis(text):
                    name = heading.strip()
                    raise Question(
                        f"does {shown(name)} say whether the shares are by mass or by volume "
                        f'({shown(text.strip(), 60)})? If so, say --column "share basis={name}" '
                        f"or give a column 'share basis'; if not, --ignore \"{name}\""
                    )

    def _result_system(self, columns: Mapping[str, Column]) -> str:
        if self.units != AS_LISTED:
            return self.units
        for name in ("throughput", "virgin density", "blend density"):
            column = columns.get(name)
            if column is None:
                continue
            facts = self.survey.facts[column.at]
            votes = {"US": 0, "metric": 0}
            units = dict(facts.units)
            if column.unit_at is not None:
                units = dict.fromkeys(self.survey.facts[column.unit_at].texts, 1)
            for unit, count in units.items():
                if unit_system(unit):
                    votes[unit_system(unit)] += count
            if column.unit and facts.bare and unit_system(column.unit):
                votes[unit_system(column.unit)] += facts.bare
            if votes["US"] != votes["metric"]:
                return max(votes, key=lambda system: votes[system])
        stated = self._stated_systems({})
        return "metric" if stated == {"metric"} else "US"


def _maybe_blend_note(heading: str) -> str:
    return (
        "taken for the virgin resin's; is it the blend's? Then call it 'blend density', or use "
        f'--column "blend density={heading}"'
    )


def _why_not(unit: str, quantity: str) -> str:
    """What is wrong with a unit, as the end of a sentence."""
    if any(word in plain_text(unit) for word in _SHIFTS):
        return ", and a shift has no fixed length: give the rate per hour or per day"
    try:
        factor(tidy_unit(unit), QUANTITIES[quantity].si)
    except CellError as problem:
        return f": {problem.reason}"
    return ""


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


def read_rows(
    rows: Sequence[Sequence[Any]],
    units: str = AS_LISTED,
    basis: str = NOT_STATED,
) -> Reading:
    """Read a list that is held in memory, its headings in the first row.

    Raises:
        WrongKind, Question: as :class:`ListReader`.
    """
    reader = ListReader(rows[0], units, basis=basis)
    return reader.take(rows[1:], 2)
