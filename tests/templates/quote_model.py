"""What the quote workbook must show, worked out from its typed cells alone, by plain arithmetic.

No cell function of ours is called here: blends by the rule of mixtures, sizes by going through the
sorted catalog, the chance by counting a fine grid of quantiles, the coverage factor by the table of
the GUM. Only the resin table is read through the package.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product
from math import sqrt
from statistics import mean, stdev
from typing import Any

from hoppersheet.tables.resin_table import called, stored_value

LB, FT3 = 0.45359237, 0.3048**3  # NIST SP 811 (2008), appendix B: exact
#: SI -> the unit of plain numbers.
SCALE = {
    "US": {"density": FT3 / LB, "rate": 3600 / LB, "volume": 1 / FT3, "mass": 1 / LB},
    "metric": {"density": 1e-3, "rate": 3600.0, "volume": 1e3, "mass": 1.0},
}

#: 1 cfm per lb/h in m3/h per kg/h (NIST SP 811: 0.3048^3 x 60 / 0.45359237).
DUTY_METRIC = FT3 * 60 / LB


def table_value(resin: str, wanted: str, system: str) -> float | None:
    """A density or hours of the resin table in the book's unit, to the six digits of the book."""
    names = called(resin)
    value = stored_value(names[0], wanted) if len(names) == 1 else None
    if value is None:
        return None
    if "temperature" in wanted:
        # The package holds temperatures in degrees Celsius.
        return float(f"{value.si * 1.8 + 32 if system == 'US' else value.si:.6g}")
    if wanted == "specific heat":  # Btu/(lb degF) or kJ/(kg K): NIST SP 811, 4.1868 kJ/kg
        return float(f"{value.si / (4186.8 if system == 'US' else 1000):.6g}")
    if wanted == "moisture limit":
        return float(f"{value.si:.6g}")
    scale = SCALE[system]["density"] if "density" in wanted else 1 / 3600
    return float(f"{value.si * scale:.6g}")


def blend(share: float, virgin: float, ground: float, basis: str) -> float:
    """Rule of mixtures by volume, or by mass (for aggregate blends: Asphalt Institute MS-2)."""
    if share in (0, 1):
        return ground if share else virgin
    if basis == "mass":
        return 1 / ((1 - share) / virgin + share / ground)
    return (1 - share) * virgin + share * ground


_ENDS = ("rate", "low", "likely", "high")


@dataclass
class Model:
    """A book's typed cells: settings by name, the catalog as (usable volume, row), lines."""

    system: str
    catalog: list[dict[str, Any]]
    basis: str = ""
    policy: str = "always next size"
    shortfall: float = 0.05
    ratio: float = 0.5
    allowance: float = 0.2
    measured: dict[tuple[Any, str], float] = field(default_factory=dict)

    @property
    def sizes(self) -> list[float]:
        return sorted(row["volume"] for row in self.catalog)

    def row(self, size: float) -> dict[str, Any]:
        (found,) = (r for r in self.catalog if abs(r["volume"] / size - 1) < 1e-9)
        return found

    def weighed(self, number: int, resin: str, what: str) -> float | None:
        return self.measured.get((number, what), self.measured.get((resin, what)))

    def table(self, resin: str, wanted: str) -> float | None:
        return table_value(resin, wanted, self.system)

    # --- one line -------------------------------------------------------------------------

    def densities(self, line: dict[str, Any], number: int = 0) -> tuple[Any, Any]:
        """(virgin, regrind), "" where not needed or not known."""
        share, resin = line.get("regrind", 0), line["resin"]
        virgin = line.get("virgin") or self.weighed(number, resin, "virgin")
        virgin = virgin or self.table(resin, "bulk density") or ""
        if share == 1:
            virgin = ""
        if share == 0:
            return virgin, ""
        ground = line.get("ground") or self.weighed(number, resin, "regrind")
        if not ground:
            usual = self.table(resin, "regrind density")
            if virgin == "":
                ground = usual or ""
            elif usual is None:
                ground = virgin * self.ratio
            else:
                ground = virgin * usual / (self.table(resin, "bulk density") or 0)
                low, high = (self.table(resin, f"regrind density {end}") for end in ("low", "high"))
                ground = max(min(ground, high or ground), low or ground)
        return virgin, ground

    def line(
        self, line: dict[str, Any], number: int = 0, lines: Sequence[dict[str, Any]] = ()
    ) -> dict[str, Any]:
        """The worked out cells of a complete line, by column key; ``lines``: all of the quote."""
        worked = self._alone(line, number)
        name = line.get("shared")
        mates = [
            (n, mate, self._alone(mate, n))
            for n, mate in enumerate(lines, 1)
            if name and mate.get("shared") == name
        ] or [(number, line, worked)]
        owner, first, _ = mates[0]
        at_once = any(mate.get("turn") == "at once" for _, mate, _ in mates)
        drawing = [w for _, _, w in mates] if at_once else [worked]
        through = {end: sum(w[f"{end}_used"] for w in drawing) for end in _ENDS}
        needs = [w["needs"] for _, _, w in mates]
        return {
            **worked, "hopper_line": owner, "also": int(owner != number), "at_once": int(at_once),
            "hopper_needs": sum(needs) if at_once else max(needs),
            "through": through["rate"], "through_low": through["low"],
            "through_likely": through["likely"], "through_high": through["high"],
            "heaviest": max(w["heavy"] for _, _, w in mates),
            "dryer_used": first.get("dryer", "A"),
            **self._hopper(line, worked, first, through, sum(needs) if at_once else max(needs),
                           max(w["heavy"] for _, _, w in mates), owner != number),
        }  # fmt: skip

    def _alone(self, line: dict[str, Any], number: int) -> dict[str, Any]:
        """What follows from a line's own cells, whatever hopper it has."""
        share, hours = line.get("regrind", 0), line["hours"]
        virgin, ground = self.densities(line, number)
        density = blend(share, virgin, ground, line.get("basis") or self.basis)
        rate = (
            line["stated"]
            if "stated" in line
            else (
                line["shot"]
                / line["cycle"]
                * line.get("presses", 1)
                / 1000
                * SCALE[self.system]["rate"]
            )
        )
        likely = line.get("likely", rate)
        low, high = line.get("low", likely), line.get("high", max(rate, likely))
        needs = rate * hours / density * (1 + line.get("reserve", 0))
        top = self.table(
            line["resin"], "regrind density high" if share == 1 else "bulk density high"
        )
        used = [d for d in (virgin, ground, density) if d != ""]
        heavy = max([top, *used]) if top else max(used) * (1 + self.allowance)

        usual = self.table(line["resin"], "regrind density")
        estimate: Any = ""
        if share and "ground" not in line and virgin != "":
            pure = self.table(line["resin"], "bulk density")
            estimate = virgin * (usual / pure if usual and pure else self.ratio)
        duty = 1.0 if self.system == "US" else DUTY_METRIC
        shot = ""
        if "shot" in line:
            shot = (
                line["shot"]
                / line["cycle"]
                * line.get("presses", 1)
                / 1000
                * (SCALE[self.system]["rate"])
            )
        return {
            "begun": 1, "ground_estimate": estimate, "rate_shot": shot,
            "reserve_used": line.get("reserve", 0), "airflow_used": duty,
            "temperature_used": line.get(
                "temperature", self.table(line["resin"], "drying temperature") or ""
            ),
            "virgin_used": virgin, "ground_used": ground, "blend": density, "rate_used": rate,
            "low_used": low, "likely_used": likely, "high_used": high, "needs": needs,
            "heavy": heavy, "regrind_share": share, "virgin_share": 1 - share,
        }  # fmt: skip

    def _hopper(
        self, line: dict[str, Any], worked: dict[str, Any], first: dict[str, Any],
        through: dict[str, float], needs: float, heavy: float, also: bool,
    ) -> dict[str, Any]:  # fmt: skip
        """The sizes for a need, and the hopper; ``first``: the line that has it."""
        density, hours = worked["blend"], line["hours"]
        split, times = first.get("split", 1), first.get("quantity", 1)
        each = needs / split
        below = max((s for s in self.sizes if s < each * (1 - 1e-9)), default="none")
        after = min((s for s in self.sizes if s >= each * (1 - 1e-9)), default="none")
        choice = first.get("choice")
        if choice is None:
            enough = below != "none" and below >= each * (1 - self.shortfall)
            choice = "size below" if self.policy == "size below allowed" and enough else "next size"
        chosen = {"next size": after, "size below": below}.get(choice)
        if chosen is None:
            (chosen,) = (r["volume"] for r in self.catalog if r["model"] == choice)
        row = self.row(chosen)
        pieces = times * split

        def held(size: Any, rate: str) -> Any:
            return "" if size == "none" else size * split * density / through[rate]

        models = {
            f"{side}_model": size if size == "none" else self.row(size)["model"]
            for side, size in (("below", below), ("next", after))
        }

        def marked(name: str, word: str) -> str:
            several = split > 1 and name != "none"
            room = 10 if several else 13
            cut = name if len(name) <= room else f"{name[: room - 1]}…"
            mark = "\u00a0●" if choice in (word, name) else ""
            return cut + (f"\u00a0x\u00a0{split}" if several else "") + mark

        net = round(pieces * row["price"] * (1 - line.get("discount", 0)) + 1e-9, 2)
        return {
            "split_used": split, "quantity_used": times, "row": self.catalog.index(row) + 1,
            "air": worked["rate_used"] * times * worked["airflow_used"],
            "needs_each": each, "below_size": below, "next_size": after, "choice_used": choice,
            **models, "below": marked(models["below_model"], "size below"),
            "next": marked(models["next_model"], "next size"),
            "below_held": held(below, "rate"), "below_likely": held(below, "likely"),
            "next_held": held(after, "rate"), "next_likely": held(after, "likely"),
            "chosen_size": chosen, "model": row["model"], "held": held(chosen, "rate"),
            "held_likely": held(chosen, "likely"), "most": chosen * split * density / hours,
            "pieces": "" if also else pieces, "price": "" if also else row["price"],
            "net": 0 if also else net, "height": row["height"],
            "loaded": row["empty"] + row["gross"] * heavy,
        }  # fmt: skip


def chance(volume: float, rates: Any, hours: Any, densities: Any, cells: int = 60) -> float:
    """Share of the ranges in which volume x density >= rate x hours: a grid of equal quantiles."""

    def quantile(low: float, likely: float, high: float, p: float) -> float:
        if high == low:
            return low
        peak = (likely - low) / (high - low)
        if p < peak:
            return low + sqrt(p * (high - low) * (likely - low))
        return high - sqrt((1 - p) * (high - low) * (high - likely))

    middles = [(n + 0.5) / cells for n in range(cells)]
    r, h, d = ([quantile(*three, p) for p in middles] for three in (rates, hours, densities))
    return sum(volume * z >= x * y for x, y, z in product(r, h, d)) / cells**3


#: Student's t for 95.45 %, JCGM 100:2008, table G.2: degrees of freedom -> factor.
COVERAGE = {1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 6: 2.52, 7: 2.43, 8: 2.37, 9: 2.32,
            10: 2.28, 20: 2.13, 50: 2.05}  # fmt: skip


def uncertainty(
    masses: list[float], balance: float = 0.1, cup: float = 0.005
) -> tuple[float, float, int]:
    """(relative spread, relative combined uncertainty, effective degrees of freedom) by the GUM."""
    n, spread = len(masses), stdev(masses) / mean(masses)
    a = spread / sqrt(n)
    b = sqrt((balance / mean(masses)) ** 2 / 3 + cup**2 / 3)
    combined = sqrt(a**2 + b**2)
    return spread, combined, int(combined**4 / (a**4 / (n - 1)))
