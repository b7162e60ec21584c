"""The blend of one row: shares and densities to one bulk density, with all that was assumed."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, NamedTuple

from ..cells.numbers_in_text import shown
from ..cells.quantities import QUANTITIES
from ..cells.reading import choice_reader
from ..cells.values import is_blank
from ..cells.wording import in_both, rounded, with_unit
from ..errors import CellError, NoAnswer, OutOfRange, WrongKind
from ..registry import Argument
from ..sizing.density import BASIS, blend_density
from ..sizing.density import regrind_density as estimated_density
from .heading_words import plain_text
from .job_cells import Percent
from .job_columns import NOT_STATED, STATED
from .job_numbers import column_reader, share_reader
from .jobreading.reading import Reading
from .jobwords.recipes import NONE, none_words, read_recipe
from .jobwords.share_basis import basis_in_cell
from .resin_table import called
from .resins import resin_value
from .usual import check_words
from .usual import regrind_density as regrind_by_table

__all__ = ["Blend", "Blender", "basis_by_line", "looks", "table_value"]

_RATIO_OF_REGRIND = 0.5  # common practice, no source: as HOPPER_REGRIND_DENSITY
_MOST_PARTS = 20.0  # shares that sum to so little are parts ("3 to 1"), not percentages
_MOST_REMEMBERED = 2_000  # blends; many more would only fill the processor's caches
#: A stated and a worked out density that differ by more are told, common practice, no source.
_SAME_DENSITY = 0.05
#: The columns that a blend is made of, beside those of components by name.
_TAKEN = (
    "virgin share", "regrind share", "recipe", "share basis", "virgin density", "regrind density",
    "blend density", "resin",
)  # fmt: skip
_LIGHT, _DENSE = QUANTITIES["bulk density"].typical or (0.0, 1e300)


class Blend(NamedTuple):
    """A row's bulk density in SI, what was assumed, and what deserves a look.

    ``virgin`` and ``regrind`` are the densities as stated, None where they are not.
    """

    density: float
    assumed: tuple[str, ...]
    check: tuple[str, ...]
    all_virgin: bool
    virgin: float | None = None
    regrind: float | None = None
    regrind_share: float = 0.0
    #: (component, share, density in kg/m3) of all that takes part, and the basis of the shares
    parts: tuple[tuple[str, float, float], ...] = ()
    basis: str = NOT_STATED
    #: (what would have to be meant, density in kg/m3 then) of each other reading of the row
    others: tuple[tuple[str, float], ...] = ()


@lru_cache(maxsize=1024)
def table_value(resin: str, wanted: str) -> tuple[float, str] | None:
    """(SI value, "PC, source") of the resin table; None where it has none.

    Raises:
        NoAnswer: the table does not know the resin, or several are called so.
    """
    try:
        value = resin_value(resin, wanted)
    except NoAnswer as problem:
        if problem.argument == "property":
            return None
        raise
    return value.si, f"{value.resin}, {value.source}"


@lru_cache(maxsize=4096)
def looks(
    resin: str,
    hours: float | None,
    virgin: float | None,
    regrind: float | None,
    regrind_share: float,
    system: str,
) -> tuple[str, ...]:
    """What deserves a look about the stated figures, in SI, of a resin that the table knows."""
    return tuple(
        check_words(
            resin,
            drying_hours=hours,
            virgin_density=virgin,
            regrind_density=regrind,
            regrind_share=regrind_share,
            units=system,
        )
    )


def basis_by_line(reading: Reading) -> bool:
    """Whether a line above, between or below the rows states the basis of the shares."""
    return reading.basis_from not in ("", STATED) and not reading.basis_from.startswith("heading")


class Blender:
    """Blends the rows of one list.

    Attributes:
        names: columns whose cells :meth:`blend` takes, in that order; those that the list has.
    """

    def __init__(self, reading: Reading) -> None:
        columns, self.system = reading.columns, reading.system
        parts = [f"{c} {what}" for c in reading.components for what in ("share", "density")]
        self.names = [name for name in (*_TAKEN, *parts) if name in columns]
        index_of = dict(zip(self.names, range(len(self.names))))  # noqa: B905 Python 3.9
        self._basis_index, self._recipe_index, self._resin_index = (
            index_of.get(name) for name in ("share basis", "recipe", "resin")
        )
        self._recipe_heading = columns["recipe"].typed if "recipe" in columns else ""
        self._list_basis = reading.basis
        #: where the list states the basis outside of the rows, "" where it does not
        self._basis_in_list = "" if reading.basis_from == STATED else reading.basis_from
        self._basis_by_line = basis_by_line(reading)
        self._headings = {name: columns[name].typed for name in self.names}
        #: of each column of shares: (index among the cells, component, reader, whether percent)
        self._shares_of = [
            (at, name[: -len(" share")], share_reader(columns[name]), columns[name].mode)
            for at, name in enumerate(self.names)
            if name.endswith(" share")
        ]
        shares = [component for _, component, _, _ in self._shares_of]
        self._two_shares = len(shares) == 2 and shares[0] == "virgin"
        self._virgin_alone = shares == ["virgin"] and "recipe" not in columns
        #: component -> (index among the cells, reader)
        self._density = {
            name[: -len(" density")]: (at, column_reader(columns[name], reading.system, True))
            for at, name in enumerate(self.names)
            if name.endswith(" density")
        }
        self._choose_basis = choice_reader(
            Argument("share basis", "", kind="choice", choices=BASIS)
        )
        self._virgin_only = reading.virgin_only
        self._maybe_blend = reading.maybe_blend
        # A plant runs few blends. Types count, because TRUE is no 1.
        self.remembered = lru_cache(_MOST_REMEMBERED, typed=True)(self._blend)

    def blend(self, cells: Sequence[Any]) -> Blend:
        """The blend of a row's cells, those of :attr:`names`.

        Raises:
            CellError: a cell that counts cannot be read, or the shares do not add up.
        """
        try:
            return self.remembered(*cells)
        except TypeError:  # a range in a cell cannot be looked up
            return self._blend(*cells)

    def _blend(self, *cells: Any) -> Blend:
        assumed: list[str] = []
        check: list[str] = []
        kept = [pair for pair in self._shares(cells, assumed) if pair[1] > 0.0]
        basis_cell = None if self._basis_index is None else cells[self._basis_index]
        if type(basis_cell) is str and basis_cell in BASIS:
            basis = basis_cell
        elif is_blank(basis_cell):
            basis = self._list_basis
        else:
            named = basis_in_cell(basis_cell) if isinstance(basis_cell, str) else ""
            basis = named or self._choose_basis(basis_cell)
        if self._basis_in_list and basis != self._list_basis and len(kept) > 1:
            check.append(f"share basis {basis}, but {self._basis_in_list} says {self._list_basis}")
        own = self._own_density(cells, check)
        if own is not None and "virgin" not in self._density:
            share = dict(kept).get("regrind", 0.0)
            return Blend(own, (), tuple(check), False, None, None, share, (("blend", 1.0, own),))
        parts = []
        virgin = regrind = None
        regrind_share = 0.0
        for name, share in kept:
            density, stated = self._density_of(name, cells, assumed, check)
            parts.append((name, share, density))
            if name == "virgin":
                virgin = density if stated else None
            elif name == "regrind":
                regrind, regrind_share = density if stated else None, share
        alone = len(parts) == 1
        others: list[tuple[str, float]] = []
        by_line = self._basis_by_line and is_blank(basis_cell)
        density = (
            parts[0][2] if alone else self._mixed(parts, basis, assumed, check, others, by_line)
        )
        if own is not None:
            heading = shown(self._headings["blend density"])
            others.append((f"with the density under {heading}", own))
            if abs(own / density - 1.0) > _SAME_DENSITY:
                own_text = with_unit(own, "bulk density", self.system)
                blended = with_unit(density, "bulk density", self.system)
                check.append(f"{heading} is {own_text}, but the shares give {blended}")
        elif self._maybe_blend and regrind is None and regrind_share:
            of_all = self._stated_density("virgin", cells)
            if of_all is not None:
                others.append((f"if {shown(self._maybe_blend)} is the blend's,", of_all))
        return Blend(
            density,
            tuple(assumed),
            tuple(check),
            alone and parts[0][0] == "virgin",
            virgin,
            regrind,
            regrind_share,
            tuple(parts),
            basis,
            tuple(others),
        )

    def _own_density(self, cells: Sequence[Any], check: list[str]) -> float | None:
        """The blend's density as the list states it, None where it does not."""
        try:
            own = self._stated_density("blend", cells, check)
        except CellError as problem:
            if "virgin" not in self._density:
                raise
            check.append(f"not compared with the blend density: {problem.reason}")
            return None
        return own

    def _mixed(
        self,
        parts: Sequence[tuple[str, float, float]],
        basis: str,
        assumed: list[str],
        check: list[str],
        others: list[tuple[str, float]],
        by_line: bool,
    ) -> float:
        names, shares, densities = zip(*parts)  # noqa: B905 Python 3.9
        density_of = dict(zip(names, densities))  # noqa: B905
        virgin, regrind = density_of.get("virgin"), density_of.get("regrind")
        if virgin is not None and regrind is not None and regrind > virgin * 1.0001:
            check.append(
                f"regrind {with_unit(regrind, 'bulk density', self.system)} is denser than virgin "
                f"{with_unit(virgin, 'bulk density', self.system)}"
            )
        if basis != NOT_STATED:
            mixed = blend_density(shares, densities, basis)
            if by_line:
                other = "mass" if basis == "volume" else "volume"
                others.append((f"by {other}", blend_density(shares, densities, other)))
                assumed.append(f"shares by {basis}, {self._basis_in_list}")
            return mixed
        by_volume = blend_density(shares, densities, "volume")
        by_mass = blend_density(shares, densities, "mass")
        others.append(("by mass", by_mass))
        larger = rounded((by_volume / by_mass - 1) * 100, 3)
        assumed.append(f"shares by volume: by mass the volume would be {larger} % larger")
        return by_volume

    # --- shares ---

    def _shares(self, cells: Sequence[Any], assumed: list[str]) -> list[tuple[str, float]]:
        """Component and share, as fractions that sum to 1, virgin first."""
        recipe = None if self._recipe_index is None else cells[self._recipe_index]
        if recipe is not None and not is_blank(recipe):
            virgin, regrind = read_recipe(str(recipe), self._recipe_heading)
            if plain_text(str(recipe)) in NONE:
                assumed.append(none_words("recipe", recipe))
            return [("virgin", virgin), ("regrind", regrind)]
        cell_shares = [read(cells[at]) for at, _, read, _ in self._shares_of]
        if self._two_shares and type(cell_shares[0]) is type(cell_shares[1]) is float:
            virgin, other = cell_shares
            if abs(virgin + other - 100.0) <= 0.1:
                # Two plain percentages, as in most rows: what is below, in fewer steps.
                virgin, other = virgin / 100.0, other / 100.0
                total = virgin + other
                return [("virgin", virgin / total), (self._shares_of[1][1], other / total)]
        stated = []
        for share, (at, name, _, mode) in zip(cell_shares, self._shares_of):  # noqa: B905 Python 3.9
            if share is not None:
                stated.append((name, share, type(share) is Percent, mode))
                if not share and type(cells[at]) is str and plain_text(cells[at]) in NONE:
                    assumed.append(none_words(f"{name} share", cells[at]))
        if not stated:
            assumed.append(self._virgin_only)
            return [("virgin", 1.0)]
        fractions = self._as_fractions(stated)
        total = 0.0
        for _, fraction in fractions:
            total += fraction
        if stated[0][0] != "virgin":
            if total > 1.001:
                raise OutOfRange(f"{rounded(total * 100)} % is above 100 %", "regrind share")
            rest = max(0.0, 1.0 - total)
            fractions.insert(0, ("virgin", rest))
            total += rest
        elif self._virgin_alone and 0.0 < total < 1.0 - 1e-3:
            self._take_rest(total, cells, assumed)
            fractions.append(("regrind", 1.0 - total))
            total = 1.0
        elif abs(total - 1.0) > 1e-3 * (1 + 1e-9):
            typed = [value for _, value, sure, _ in stated if not sure]
            if len(typed) == len(stated) and 1.0 < sum(typed) <= _MOST_PARTS:
                shares = " and ".join(map(rounded, typed))
                raise OutOfRange(
                    f"the shares {shares} add up to neither 1 nor 100; type percentages (3 parts "
                    "to 1 are 75 and 25)",
                    "virgin share",
                )
            listed = ", ".join(f"{rounded(f * 100)} %" for _, f in fractions)
            whole = rounded(total * 100, 6)
            raise OutOfRange(f"the shares {listed} sum to {whole} %, not to 100 %", "virgin share")
        return [(name, fraction / total) for name, fraction in fractions]

    def _take_rest(self, virgin: float, cells: Sequence[Any], assumed: list[str]) -> None:
        """Take the rest of the one share that the list has for regrind, where its density is known.

        Raises:
            OutOfRange: it is not.
        """
        resin = self._resin(cells)
        known = self._stated_density("regrind", cells) is not None
        if not known and not is_blank(resin) and len(called(str(resin))) == 1:
            known = table_value(str(resin).strip(), "regrind density") is not None
        rest = f"{rounded((1.0 - virgin) * 100)} %"
        if not known:
            raise OutOfRange(
                f"{rounded(virgin * 100)} %, and nothing says what the other {rest} is. If it is "
                "regrind, give its density in a column 'regrind density', or its share in a column "
                "'regrind share'",
                "virgin share",
            )
        assumed.append(f"the rest, {rest}, taken for regrind")

    def _as_fractions(
        self, stated: Sequence[tuple[str, float, bool, str]]
    ) -> list[tuple[str, float]]:
        """Plain numbers as fractions: by the column's reading, or because the row sums to 100."""
        whole = one = False
        if stated[0][0] == "virgin":
            # All shares are stated: where they make 100, each of them is a percentage.
            total, plain = 0.0, True
            for _, value, sure, _ in stated:
                total += value
                plain = plain and not sure
            whole, one = plain and abs(total - 100.0) <= 0.1, plain and abs(total - 1.0) <= 1e-3
        result = []
        for name, value, sure, mode in stated:
            if sure or (mode != "percent" and not whole):
                fraction = value
            elif whole:
                fraction = value / 100.0
            elif one and "%" not in self._headings[f"{name} share"]:
                fraction = value
            elif 0.0 < value <= 1.0:
                raise WrongKind(
                    f"{rounded(value)} under the heading {shown(self._headings[f'{name} share'])} "
                    f"is ambiguous: {rounded(value)} % or {rounded(value * 100)} %? Type it with "
                    "its percent sign",
                    f"{name} share",
                )
            else:
                fraction = value / 100.0
            result.append((name, fraction))
        return result

    # --- densities ---

    def _stated_density(
        self, name: str, cells: Sequence[Any], check: list[str] | None = None
    ) -> float | None:
        """Density of a component, or of the blend, as its cell states it; None for a blank.

        What is unusual is added to ``check``.
        """
        column = self._density.get(name)
        if column is None:
            return None
        at, read = column
        si: float | None = read(cells[at])
        if si is not None and check is not None and not _LIGHT <= si <= _DENSE:
            amount = in_both(si, "bulk density", self.system)
            check.append(f"{name} density {amount} is unusual")
        return si

    def _density_of(
        self, name: str, cells: Sequence[Any], assumed: list[str], check: list[str]
    ) -> tuple[float, bool]:
        """(density in kg/m3, whether the list states it) of a component."""
        si = self._stated_density(name, cells, check)
        if si is not None:
            return si, True
        if name == "virgin":
            return self._virgin_from_table(self._resin(cells), assumed), False
        if name == "regrind":
            return self._estimated_regrind(cells, assumed), False
        raise WrongKind("the cell is blank", f"{name} density")

    def _resin(self, cells: Sequence[Any]) -> Any:
        return None if self._resin_index is None else cells[self._resin_index]

    def _virgin_from_table(self, resin: Any, assumed: list[str]) -> float:
        if is_blank(resin):
            raise WrongKind("the cell is blank", "virgin density")
        try:
            found = table_value(str(resin).strip(), "bulk density")
        except CellError as problem:
            raise type(problem)(f"not given, and {problem.reason}", "virgin density") from None
        if found is None:
            raise NoAnswer(
                f"not given, and the resin table has none of {str(resin).strip()}", "virgin density"
            )
        si, source = found
        amount = with_unit(si, "bulk density", self.system)
        assumed.append(f"virgin density {amount} from the resin table ({source})")
        return si

    def _estimated_regrind(self, cells: Sequence[Any], assumed: list[str]) -> float:
        """By the resin table's ratio where it has one, else half of virgin."""
        virgin_notes: list[str] = []
        virgin, _ = self._density_of("virgin", cells, virgin_notes, [])
        assumed.extend(text for text in virgin_notes if text not in assumed)
        resin = self._resin(cells)
        try:
            if is_blank(resin) or len(called(str(resin))) != 1:
                raise NoAnswer("")
            found = regrind_by_table(str(resin), virgin)
        except NoAnswer:
            si = estimated_density(virgin, _RATIO_OF_REGRIND)
            amount = with_unit(si, "bulk density", self.system)
            assumed.append(f"regrind density {amount}: half of virgin (common practice)")
            return si
        amount = with_unit(found.si, "bulk density", self.system)
        how = f"{rounded(found.ratio, 2)} x virgin, the resin table's ratio for {found.resin}"
        kept = f", kept at its {found.kept} end" if found.kept else ""
        assumed.append(f"regrind density {amount}: {how}{kept}")
        return found.si
