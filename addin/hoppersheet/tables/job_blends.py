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
from .job_numbers import column_reader, or_blank, share_reader
from .job_reading import NOT_STATED, Reading
from .job_recipes import read_recipe
from .resin_table import called
from .resins import resin_value
from .usual import check_words
from .usual import regrind_density as regrind_by_table

__all__ = ["Blend", "Blender", "looks", "table_value"]

_RATIO_OF_REGRIND = 0.5  # common practice, no source: as HOPPER_REGRIND_DENSITY
_MOST_REMEMBERED = 10_000
_FIXED = (
    "virgin share", "regrind share", "recipe", "share basis", "virgin density", "regrind density",
    "resin",
)  # fmt: skip


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
) -> tuple[str, ...] | None:
    """What deserves a look about a resin's stated figures, in SI; None where it is not known."""
    if len(called(resin)) != 1:
        return None
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


class Blender:
    """Blends the rows of one list.

    Attributes:
        names: columns whose cells :meth:`blend` takes, in that order.
    """

    def __init__(self, reading: Reading) -> None:
        columns, self.system = reading.columns, reading.system
        parts = [f"{c} {what}" for c in reading.components for what in ("share", "density")]
        self.names = (*_FIXED, *parts)
        self._components = reading.components
        self._basis, self._recipe_heading = reading.basis, ""
        if "recipe" in columns:
            self._recipe_heading = columns["recipe"].typed
        self._modes = {name: columns[name].mode for name in self.names if name in columns}
        self._headings = {name: columns[name].typed for name in self.names if name in columns}
        self._share = {
            name: or_blank(share_reader(columns[name]))
            for name in self.names
            if name.endswith(" share") and name in columns
        }
        self._density = {
            name: or_blank(column_reader(columns[name], reading.system))
            for name in self.names
            if name.endswith(" density") and name in columns
        }
        self._read_basis = or_blank(
            choice_reader(Argument("share basis", "", kind="choice", choices=BASIS))
        )
        self._shares_given = bool(self._share) or "recipe" in columns
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
        given = dict(zip(self.names, cells))  # noqa: B905 Python 3.9
        assumed: list[str] = []
        check: list[str] = []
        shares = self._shares(given, assumed)
        kept = [(name, share) for name, share in shares if share > 0.0]
        densities = [self._density_of(name, given, assumed, check) for name, _ in kept]
        self._compare(kept, densities, check)
        stated = {
            name: None if is_blank(given.get(f"{name} density")) else density
            for (name, _), density in zip(kept, densities)  # noqa: B905 Python 3.9
        }
        density = self._mixed(kept, densities, given, assumed)
        return Blend(
            density,
            tuple(assumed),
            tuple(check),
            len(kept) == 1 and kept[0][0] == "virgin",
            stated.get("virgin"),
            stated.get("regrind"),
            dict(kept).get("regrind", 0.0),
            tuple((n, share, d) for (n, share), d in zip(kept, densities)),  # noqa: B905
            self._read_basis(given["share basis"]) or self._basis,
        )

    def _mixed(
        self,
        kept: Sequence[tuple[str, float]],
        densities: list[float],
        given: dict[str, Any],
        assumed: list[str],
    ) -> float:
        if len(kept) == 1:
            return densities[0]
        parts = [share for _, share in kept]
        basis = self._read_basis(given["share basis"]) or self._basis
        if basis != NOT_STATED:
            return blend_density(parts, densities, basis)
        by_volume = blend_density(parts, densities, "volume")
        by_mass = blend_density(parts, densities, "mass")
        larger = rounded((by_volume / by_mass - 1) * 100, 3)
        assumed.append(f"shares by volume: by mass the volume would be {larger} % larger")
        return by_volume

    # --- shares ---

    def _shares(self, given: dict[str, Any], assumed: list[str]) -> list[tuple[str, float]]:
        """Component -> share, as fractions that sum to 1."""
        if not is_blank(given["recipe"]):
            virgin, regrind = read_recipe(str(given["recipe"]), self._recipe_heading)
            return [("virgin", virgin), ("regrind", regrind)]
        if not self._share and not self._shares_given:
            assumed.append("100 % virgin: the list has no column of shares")
            return [("virgin", 1.0)]
        read = {name: reader(given[name]) for name, reader in self._share.items()}
        stated = {name: share for name, share in read.items() if share is not None}
        if not stated:
            assumed.append("virgin only: no shares given")
            return [("virgin", 1.0)]
        fractions = self._as_fractions(stated)
        rest = 1.0 - sum(fractions.values())
        if "virgin share" not in fractions:
            if rest < -1e-3:
                total = rounded((1.0 - rest) * 100)
                raise OutOfRange(f"{total} % is above 100 %", "regrind share")
            fractions["virgin share"] = max(0.0, rest)
        elif abs(rest) > 1e-3 * (1 + 1e-9):
            listed = ", ".join(f"{rounded(f * 100)} %" for f in fractions.values())
            total = rounded((1.0 - rest) * 100, 6)
            raise OutOfRange(f"the shares {listed} sum to {total} %, not to 100 %", "virgin share")
        whole = sum(fractions.values())
        return [
            (name[: -len(" share")], f / whole)
            for name, f in sorted(fractions.items(), key=lambda pair: self.names.index(pair[0]))
        ]

    def _as_fractions(self, stated: dict[str, tuple[float, bool]]) -> dict[str, float]:
        """Plain numbers as fractions: by the column's reading, or because the row sums to 100."""
        plain = [value for value, sure in stated.values() if not sure]
        # All shares are stated and make 100: then each of them is a percentage.
        whole = (
            "virgin share" in stated
            and abs(sum(plain) - 100.0) <= 0.1
            and len(plain) == len(stated)
        )
        one = (
            "virgin share" in stated and abs(sum(plain) - 1.0) <= 1e-3 and len(plain) == len(stated)
        )
        result = {}
        for name, (value, sure) in stated.items():
            percent = self._modes.get(name) == "percent"
            if sure:
                result[name] = value
            elif whole:
                result[name] = value / 100.0
            elif one and not (percent and self._says_percent(name)):
                result[name] = value
            elif percent:
                if 0.0 < value <= 1.0:
                    raise WrongKind(
                        f"{rounded(value)} under the heading {shown(self._headings[name])} is "
                        f"ambiguous: {rounded(value)} % or {rounded(value * 100)} %? Type it "
                        "with its percent sign",
                        name,
                    )
                result[name] = value / 100.0
            else:
                result[name] = value
        return result

    def _says_percent(self, name: str) -> bool:
        return "%" in self._headings.get(name, "")

    # --- densities ---

    def _density_of(
        self, name: str, given: dict[str, Any], assumed: list[str], check: list[str]
    ) -> float:
        column = f"{name} density"
        read = self._density.get(column)
        cell = given.get(column)
        si = None if read is None else read(cell)
        resin = given["resin"]
        if si is not None:
            typical = QUANTITIES["bulk density"].typical
            if typical and not typical[0] <= si <= typical[1]:
                check.append(f"{column} {in_both(si, 'bulk density', self.system)} is unusual")
            return float(si)
        if name == "virgin":
            return self._virgin_from_table(resin, cell, assumed)
        if name == "regrind":
            return self._estimated_regrind(given, assumed)
        raise WrongKind("the cell is blank", column)

    def _virgin_from_table(self, resin: Any, cell: Any, assumed: list[str]) -> float:
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
        said = with_unit(si, "bulk density", self.system)
        assumed.append(f"virgin density {said} from the resin table ({source})")
        return si

    def _estimated_regrind(self, given: dict[str, Any], assumed: list[str]) -> float:
        """By the resin table's ratio where it has one, else half of virgin."""
        before = len(assumed)
        virgin = self._density_of("virgin", given, assumed, [])
        del assumed[before + 1 :]
        if len(assumed) > before and assumed.count(assumed[-1]) > 1:
            assumed.pop()  # the virgin density was said already
        resin = given["resin"]
        try:
            if is_blank(resin) or len(called(str(resin))) != 1:
                raise NoAnswer("")
            found = regrind_by_table(str(resin), virgin)
        except NoAnswer:
            si = estimated_density(virgin, _RATIO_OF_REGRIND)
            said = with_unit(si, "bulk density", self.system)
            assumed.append(f"regrind density {said}: half of virgin (common practice)")
            return si
        said = with_unit(found.si, "bulk density", self.system)
        how = f"{rounded(found.ratio, 2)} x virgin, the resin table's ratio for {found.resin}"
        kept = f", kept at its {found.kept} end" if found.kept else ""
        assumed.append(f"regrind density {said}: {how}{kept}")
        return found.si

    def _compare(
        self, kept: Sequence[tuple[str, float]], densities: Sequence[float], check: list[str]
    ) -> None:
        by_name = {name: density for (name, _), density in zip(kept, densities)}  # noqa: B905
        virgin, regrind = by_name.get("virgin"), by_name.get("regrind")
        if virgin is not None and regrind is not None and regrind > virgin * 1.0001:
            check.append(
                f"regrind {with_unit(regrind, 'bulk density', self.system)} is denser than virgin "
                f"{with_unit(virgin, 'bulk density', self.system)}"
            )
