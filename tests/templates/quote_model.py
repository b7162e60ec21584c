"""What the quote workbook must show, worked out from its typed cells alone.

The path is another one than the book's: everything is computed in the unit system in which it was
typed, and only the result is converted, with the exact factors of NIST SP 811 (2008), appendix B
(1 lb = 0.45359237 kg, 1 ft = 0.3048 m). The highest regrind share is found by halving an interval
instead of by the book's formula.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from hoppersheet import CellError, call

LB, L_PER_FT3 = 0.45359237, 0.3048**3 * 1000
TO_METRIC = {
    "bulk density": LB / L_PER_FT3,
    "throughput": LB,
    "volume": L_PER_FT3,
    "mass": LB,
}


@dataclass
class Model:
    """The whole book's typed cells: settings by their names, catalog rows by column key."""

    typed: str
    shown: str
    policy_shortfall: float
    regrind_ratio: float
    load_allowance: float
    catalog: list[dict[str, Any]]
    sizes: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.sizes = {row["model"]: self.volume(row) for row in self.catalog}

    def volume(self, row: dict[str, Any]) -> float:
        """Volume of a catalog row in the typed system's unit."""
        stated, unit = row["stated"], row["stated_unit"]
        if unit in ("lb", "kg"):
            stated /= row["rated_density"]
        return self.to_typed(stated, "volume", "US" if unit in ("lb", "ft3") else "metric")

    def to_typed(self, value: float, quantity: str, system: str) -> float:
        return convert(value, quantity, system, self.typed)

    def show(self, value: Any, quantity: str) -> Any:
        if isinstance(value, str):
            return value
        return convert(value, quantity, self.typed, self.shown)

    # --- one line of Sizing ---------------------------------------------------------------

    def line(self, given: dict[str, Any]) -> dict[str, Any]:
        """Every calculated and checked cell of a complete line, by column key, in shown units."""
        blend, regrind = self.densities(given)
        reserve = given.get("reserve", 0)
        throughput, hours = given["throughput"], given["hours"]
        required = self.ask("HOPPER_REQUIRED_VOLUME", throughput, hours, blend, reserve)
        sizes = [[size] for size in self.sizes.values()]
        policy = self.ask("HOPPER_NEXT_SIZE", required, sizes, self.policy_shortfall)
        below = self.ask("HOPPER_SIZE_BELOW", required, sizes)
        following = self.ask("HOPPER_NEXT_SIZE", required, sizes)
        says = "below" if policy < required * (1 - 1e-9) else "next"
        choice = given.get("choice", says)
        model = given.get("own_model") if choice == "own" else None
        chosen = self.sizes[model] if model else {"next": following, "below": below}[choice]
        row = self.row_of(chosen)
        held = self.ask("HOPPER_HELD_HOURS", chosen, blend, throughput)
        load = given.get("load_density", max(given["virgin_density"], blend) * self.loaded)
        empty = self.to_typed(row["empty"], "mass", "US" if row["empty_unit"] == "lb" else "metric")
        total = round(given["quantity"] * row["price"] * (1 - given.get("discount", 0)) + 1e-9, 2)
        facts = {
            **self.facts("below", below, given, blend, regrind),
            **self.facts("next", following, given, blend, regrind),
        }
        return {
            **facts,
            "regrind_share": 1 - given["virgin_share"],
            "virgin_used": self.show(float(given["virgin_density"]), "bulk density"),
            "regrind_used": self.show(regrind, "bulk density"),
            "regrind_is": given.get("regrind_basis", "estimated"),
            "blend": self.show(blend, "bulk density"),
            "throughput_used": self.show(float(throughput), "throughput"),
            "required": self.show(required, "volume"),
            "price_step": "" if below == "#N/A" else facts["price_next"] - facts["price_below"],
            "policy_size": self.show(policy, "volume"),
            "policy_choice": says,
            "choice_used": choice,
            "reason_kept": given.get("reason")
            or {
                "next": "next size up",
                "below": f"policy: up to {100 * self.policy_shortfall:g} % short",
            }[choice],
            "chosen": self.show(chosen, "volume"),
            "model": row["model"],
            "hours_held": held,
            "holds": "yes"
            if held >= hours * (1 - 1e-9)
            else f"no, {round(100 * (1 - held / hours), 1):g} % short",
            "most": self.show(
                self.ask("HOPPER_MAX_THROUGHPUT", chosen, blend, hours), "throughput"
            ),
            "load_used": self.show(float(load), "bulk density"),
            "loaded": self.show(self.ask("HOPPER_LOADED_MASS", empty, chosen, load), "mass"),
            "price": row["price"],
            "line_total": total,
            "agrees": "yes",
            "to_do": "",
            "state": "ok",
        }

    @property
    def loaded(self) -> float:
        return 1 + self.load_allowance

    def ask(self, name: str, *cells: Any) -> Any:
        """The core's answer in the typed system, an error as the cell shows it."""
        if name == "HOPPER_NEXT_SIZE" and len(cells) == 2:
            cells = (*cells, 0)
        if name == "HOPPER_REQUIRED_VOLUME" and len(cells) == 3:
            cells = (*cells, 0)
        try:
            return call(name, *cells, self.typed)
        except CellError as problem:
            return problem.code

    def densities(self, given: dict[str, Any]) -> tuple[float, float]:
        virgin = given["virgin_density"]
        regrind = given.get("regrind_density")
        if regrind is None:
            regrind = self.ask("HOPPER_REGRIND_DENSITY", virgin, self.regrind_ratio)
        return self.blend(given, 1 - given["virgin_share"], float(regrind)), float(regrind)

    def blend(self, given: dict[str, Any], share: float, regrind: float) -> float:
        density: float = self.ask(
            "HOPPER_BLEND_DENSITY",
            [[1 - share, share]],
            [[given["virgin_density"], regrind]],
            given.get("share_basis", "volume"),
        )
        return density

    def row_of(self, size: float) -> dict[str, Any]:
        (row,) = (
            row for row in self.catalog if abs(self.sizes[row["model"]] - size) <= 1e-9 * size
        )
        return row

    def facts(
        self, key: str, size: Any, given: dict[str, Any], blend: float, regrind: float
    ) -> dict[str, Any]:
        """The eight columns of the size below, or of the next size."""
        names = ("hours", "margin", "most", "growth", "least", "regrind", "price")
        if size == "#N/A":
            return {key: "none", **{f"{name}_{key}": "" for name in names}}
        throughput, hours, reserve = given["throughput"], given["hours"], given.get("reserve", 0)
        required = self.ask("HOPPER_REQUIRED_VOLUME", throughput, hours, blend, reserve)
        most = self.ask("HOPPER_MAX_THROUGHPUT", size, blend, hours)
        # At this density the required volume is exactly the size.
        least = throughput * hours * (1 + reserve) / size
        assert self.ask("HOPPER_REQUIRED_VOLUME", throughput, hours, least, reserve) == (
            self.near(size)
        )
        return {
            key: self.show(size, "volume"),
            f"hours_{key}": self.ask("HOPPER_HELD_HOURS", size, blend, throughput),
            f"margin_{key}": self.ask("HOPPER_SIZE_MARGIN", size, required),
            f"most_{key}": self.show(most, "throughput"),
            f"growth_{key}": most / throughput - 1,
            f"least_{key}": self.show(least, "bulk density"),
            f"regrind_{key}": self.highest_share(size, given, regrind),
            f"price_{key}": self.row_of(size)["price"],
        }

    @staticmethod
    def near(value: float) -> Any:
        import pytest

        return pytest.approx(value, rel=1e-9)

    def highest_share(self, size: float, given: dict[str, Any], regrind: float) -> Any:
        """The highest regrind share at which the required volume is within the size."""
        if "share_basis" not in given:
            return ""

        def fits(share: float) -> bool:
            needed: float = self.ask(
                "HOPPER_REQUIRED_VOLUME",
                given["throughput"],
                given["hours"],
                self.blend(given, share, regrind),
                given.get("reserve", 0),
            )
            return needed <= size

        assert regrind < given["virgin_density"], "the search takes regrind to be the lighter one"
        if fits(1.0):
            return 1.0
        if not fits(0.0):
            return "none"
        low, high = 0.0, 1.0
        for _ in range(50):
            middle = (low + high) / 2
            low, high = (middle, high) if fits(middle) else (low, middle)
        return low


def convert(value: float, quantity: str, source: str, target: str) -> float:
    """``value`` from one unit system into another."""
    if source == target:
        return value
    factor = TO_METRIC[quantity]
    return value * factor if target == "metric" else value / factor
