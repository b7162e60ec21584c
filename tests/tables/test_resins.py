"""The resin table: every value sourced and plausible; names found however they are typed."""

from __future__ import annotations

import csv
import hashlib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import hoppersheet
from hoppersheet import CellError, call
from hoppersheet.cells.quantities import QUANTITIES
from hoppersheet.cells.units import HOME_FACTORS
from hoppersheet.tables.resin_table import PROPERTIES, TABLE_VERSION, resin_names

DATA = Path(hoppersheet.__file__).parent / "data"
RANGED = ("bulk density", "regrind density", "drying temperature", "drying hours")
RESINS = resin_names()

#: How a source begins. Nothing else counts as one.
SOURCES = (
    "common practice, no source",
    "from memory",
    "Crawford, Plastics Engineering, Table 1.8",
    "EN 1991-1-1:2002, Table A.7",
    "Margolis (ed.), Engineering Plastics Handbook, McGraw-Hill 2006, ch. 7, p. 145",
    "recyclers' published specifications of washed PET flake",
    "processing guide of a sulfone producer (read on the web)",
    "molding guideline table, unattributed (read on the web)",
    "mold-design notes on material drying, unattributed (read on the web)",
    "injection-molding design guide, page on PC, unattributed (read on the web)",
    "injection-molding design guide, page on PET, unattributed (read on the web)",
    "table of thermal properties at 23 degC, unattributed (read on the web)",
    "trade article on drying polyamides (read on the web)",
    "wiki page on pre-drying for injection molding, low authority (read on the web)",
)
#: Crawford, Plastics Engineering, Table 1.8: density of the solid, kg/L.
SOLID = {
    "ABS": 1.04, "POM": 1.41, "PMMA": 1.18, "PA66": 1.14, "PET": 1.36, "PC": 1.15, "PP": 0.905,
    "PS": 1.05, "LDPE": 0.92, "HDPE": 0.95, "PVC-U": 1.40, "SAN": 1.08,
}  # fmt: skip


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


TABLE = rows("resins.csv")


def metric(resin: str, wanted: str, *own: Any) -> Any:
    return call("HOPPER_RESIN", resin, wanted, *(own or ("none",)), "metric")


# --- the table ----------------------------------------------------------------------------


def test_version_goes_up_with_every_change_of_the_table() -> None:
    content = b"".join(
        (DATA / name).read_bytes()
        for name in ("resins.csv", "resin_names.csv", "resin_hazards.csv")
    )
    digest = hashlib.sha256(content.replace(b"\r\n", b"\n")).hexdigest()[:12]
    # A change of the table changes quotes: raise TABLE_VERSION, then write the new pair here.
    assert (TABLE_VERSION, digest) == ("2026.2", "3fab2f04fe88")
    assert call("HOPPER_VERSION").endswith(f", resin table {TABLE_VERSION}")


def test_table_holds_what_a_quote_asks_for() -> None:
    assert len(RESINS) >= 20 and len(set(RESINS)) == len(RESINS)
    assert {row["resin"] for row in TABLE} <= set(RESINS)
    assert len({row["resin"] for row in TABLE if row["property"] == "regrind density"}) >= 20
    for resin in RESINS:
        assert metric(resin, "bulk density") > 0
        known = {row["property"] for row in TABLE if row["resin"] == resin}
        # Only what must be crystallized first has no temperature and no hours of its own.
        without = {"drying temperature", "drying hours"} - known
        assert not without or "crystallize it first" in metric(resin, "caution softens")
    keys = [(row["resin"], row["property"]) for row in TABLE]
    assert len(set(keys)) == len(keys)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['resin']} {row['property']}")
def test_every_value_has_a_source_and_is_possible(row: dict[str, str]) -> None:
    assert row["source"].startswith(SOURCES) and row["source"] == row["source"].strip()
    measure = QUANTITIES[PROPERTIES[row["property"]]]
    assert row["unit"] in (measure.metric, measure.us)
    scale, offset = HOME_FACTORS[row["unit"]]
    assert measure.low <= float(row["value"]) * scale + offset <= measure.high
    assert metric(row["resin"], f"{row['property']} source") == row["source"]


@pytest.mark.parametrize("resin", RESINS)
def test_low_typical_and_high_are_in_order(resin: str) -> None:
    known = {row["property"] for row in TABLE if row["resin"] == resin}
    for name in RANGED:
        ends = {name, f"{name} low", f"{name} high"}
        assert not ends & known or ends <= known
        if name in known:
            assert (
                metric(resin, f"{name} low") <= metric(resin, name) <= metric(resin, f"{name} high")
            )
    if "regrind density" in known:
        assert metric(resin, "regrind density high") < metric(resin, "bulk density low")


@pytest.mark.parametrize("resin", SOLID)
def test_bulk_density_leaves_believable_voids(resin: str) -> None:
    """Pellets pack to 0.5 to 0.66 of the solid, flake to 0.2 to 0.45 (both from memory)."""
    for end in ("", " low"):
        assert 0.5 <= metric(resin, f"bulk density{end}") / SOLID[resin] <= 0.66
    assert 0.2 <= metric(resin, "regrind density") / SOLID[resin] <= 0.45


def test_seen_values_of_the_literature() -> None:
    # Crawford Table 1.8, kJ/(kg K).
    heats = {"ABS": 1.3, "POM": 1.5, "PMMA": 1.5, "PA66": 1.7, "PET": 1.0, "PC": 1.2, "PP": 2.0,
             "PS": 1.3, "LDPE": 2.2, "HDPE": 2.2, "PVC-U": 0.9, "SAN": 1.3}  # fmt: skip
    assert {resin: metric(resin, "specific heat") for resin in heats} == heats
    # EN 1991-1-1 Table A.7, 6.4 kN/m3 at g 9.80665 m/s2.
    assert metric("LDPE", "bulk density high") == pytest.approx(6.4 / 9.80665, abs=5e-5)


# --- names --------------------------------------------------------------------------------


def test_every_synonym_finds_its_resin_or_asks_which() -> None:
    asks = set()
    for row in rows("resin_names.csv"):
        for name in (row["resin"], row["full name"], *row["also called"].split(";")):
            if not name.strip():
                continue
            try:
                found = metric(name, "bulk density")
            except CellError as problem:
                assert problem.code == "#N/A" and row["resin"] in problem.reason
                asks.add(name.strip().casefold())
            else:
                assert found == metric(row["resin"], "bulk density")
    assert asks == {
        "pe", "polyethylene", "pa", "nylon", "polyamide", "polyester",
        "pvc", "polyvinyl chloride", "pvc compound", "vinyl",
    }  # fmt: skip


@given(st.sampled_from(RESINS), st.data())
def test_case_spaces_and_hyphens_do_not_matter(resin: str, data: st.DataObject) -> None:
    typed = "".join(
        data.draw(st.sampled_from(("", " ", "-", "_"))) + data.draw(st.sampled_from((s.lower(), s)))
        for s in resin
    )
    assert metric(typed, "name") == resin


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("polycarbonat", "did you mean PC?"),
        ("polypropilene", "did you mean PP?"),
        ("PEKK", "did you mean PEEK?"),
        ("nylon", "PA6, PA66, PA11, PA12; name one"),
        ("qqq", "is not in the resin table"),
    ],
)
def test_unknown_resins_are_named_with_a_way_out(typed: str, words: str) -> None:
    with pytest.raises(CellError, match="#N/A resin: ") as refused:
        metric(typed, "bulk density")
    assert words in refused.value.reason


def test_a_value_that_nobody_has_is_not_invented() -> None:
    with pytest.raises(CellError, match=r"#N/A property: .*no sourced value.*moisture limit of PP"):
        metric("PP", "moisture limit")
    with pytest.raises(CellError, match="HOPPER_REGRIND_DENSITY"):
        metric("PEEK", "regrind density")


def test_unknown_property_is_a_wrong_kind() -> None:
    with pytest.raises(CellError, match=r"#VALUE! property: .*did you mean 'bulk density'"):
        metric("PC", "bulk densty")
    assert metric("PC", "Bulk_Density LOW") == metric("PC", "bulk density low")


def test_sources_in_one_line_and_in_explain() -> None:
    assert "specific heat: Crawford, Plastics Engineering, Table 1.8" in metric("ABS", "source")
    line = call("HOPPER_EXPLAIN", "HOPPER_RESIN", "pbt", "drying temperature")
    assert "drying temperature of PBT 248 degF (120 degC), Margolis" in line


# --- the user's own rows ------------------------------------------------------------------

OWN = [
    ["Resin", "Bulk density [kg/m3]", "bulk density high", "drying hours", "notes", "source"],
    ["poly-carbonate", 600, 45, None, "x", "own cup"],
    ["Blend 7", None, None, 5, None, None],
    ["PA 6", "0.61 kg/L", None, "5 h", None, ""],
    ["", None, None, None, None, None],
    ["bad", "much", "#N/A", 0.1, None, None],
]


def own(resin: str, wanted: str, table: Any = None, units: str = "US") -> Any:
    return call("HOPPER_RESIN", resin, wanted, OWN if table is None else table, units)


def test_own_rows_win_property_by_property() -> None:
    assert own("PC", "bulk density", units="metric") == pytest.approx(0.6)
    assert own("PC", "bulk density high") == 45.0  # no unit in the heading: that of the sheet
    assert own("PC", "drying hours") == metric("PC", "drying hours")
    assert own("nylon 6", "bulk density", units="metric") == pytest.approx(0.61)
    assert own("blend-7", "drying hours") == 5.0
    assert own("PC", "bulk density source") == "row 2 of the own table: own cup"
    assert own("Blend 7", "source") == "drying hours: row 3 of the own table"


def test_an_own_density_is_not_mixed_with_the_built_in_range() -> None:
    with pytest.raises(CellError, match=r"#N/A own_table: row 2 .*but no bulk density low"):
        own("PC", "bulk density low")
    with pytest.raises(CellError, match=r"#N/A own_table: .*no bulk density of 'Blend 7'"):
        own("Blend 7", "bulk density")


@pytest.mark.parametrize(
    ("wanted", "reason"),
    [
        ("bulk density", r"#VALUE! own_table: 'much' is not a number.*row 6.*'bulk density'"),
        ("bulk density high", r"#N/A own_table: "),
        ("drying hours", r"#NUM! own_table: .*0\.1 h.*0\.75 h.*row 6"),
    ],
)
def test_a_wrong_own_cell_is_named(wanted: str, reason: str) -> None:
    with pytest.raises(CellError, match=reason):
        own("bad", wanted)


@pytest.mark.parametrize(
    ("table", "reason"),
    [
        ([["name", "drying hours"], ["PC", 4]], "no column 'resin'"),
        ([[None]], "no column 'resin'"),
        ([["resin", "bulk dens [kg/L]"], ["PC", 0.6]], "unknown heading .*'bulk density'"),
        ([["resin", "drying hours [kg]"], ["PC", 4]], "not a unit of drying hours"),
        ([["resin", "drying hours"], ["PC", 4], ["polycarbonate", 5]], "rows 2 and 3"),
        ([["resin", "Drying Hours", "drying  hours"], ["PC", 4, 5]], "stands twice"),
        ("metric", "unit system"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused(table: Any, reason: str) -> None:
    with pytest.raises(CellError, match=f"#VALUE! own_table: .*{reason}"):
        own("PC", "drying hours", table)


def test_an_error_in_the_headings_comes_out() -> None:
    with pytest.raises(CellError, match="#REF! own_table"):
        own("PC", "drying hours", [["resin", "#REF!"], ["PC", 4]])
