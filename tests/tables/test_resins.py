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
from hoppersheet.tables.hazards import never_together, softens_at
from hoppersheet.tables.resin_table import PROPERTIES, TABLE_VERSION, called, resin_names

DATA = Path(hoppersheet.__file__).parent / "data"
RANGED = ("bulk density", "regrind density", "drying temperature", "drying hours")
RESINS = resin_names()

#: How a source begins. Nothing else counts as one: a web page without title and publisher is
#: "common practice, no source".
SOURCES = (
    "common practice, no source",
    "from memory",
    "Crawford, Plastics Engineering, Table 1.8",
    "EN 1991-1-1:2002, Table A.7",
    "Margolis (ed.), Engineering Plastics Handbook, McGraw-Hill 2006, ch. 7, p. 145",
    "Brandau, Bottles, Preforms and Closures, Elsevier",
    'plastic-industry.com, "Injection Molding General Processing Guidelines"',
    'Autodesk, Moldflow Adviser 2025 help, "PETG materials"',
    "recyclers' published specifications of washed PET flake",
    # Resin producers.
    'Toray, "Before injection-molding a nylon resin"',
    'Covestro, TPU processing, "General Remarks"',
    "Arkema, processing guidelines for polyether block amide",
    'Solvay, processing guide of sulfone polymers, "Resin Drying"',
)
#: Density of the solid, kg/L. Crawford, Plastics Engineering, Table 1.8; those below the blank
#: line: plastic-industry.com, "Injection Molding General Processing Guidelines" (specific gravity,
#: the low end where it is a range).
SOLID = {
    "ABS": 1.04, "POM": 1.41, "PMMA": 1.18, "PA66": 1.14, "PET": 1.36, "PC": 1.15, "PP": 0.905,
    "PS": 1.05, "LDPE": 0.92, "HDPE": 0.95, "PVC-U": 1.40, "SAN": 1.08,

    "ASA": 1.05, "PC/ABS": 1.13, "EVA": 0.937, "HIPS": 1.05, "PA6": 1.13, "PA46": 1.17,
    "PA610": 1.07, "PA612": 1.03, "PBT": 1.31, "PEEK": 1.37, "PEI": 1.27, "PES": 1.37,
    "PPE/PS": 1.04, "TPU": 1.19, "LCP": 1.5,
}  # fmt: skip
#: degC at which the resin melts, or softens where it is amorphous. From memory, but for nylon
#: (Toray, "Before injection-molding a nylon resin"), PC and PETG (glass transition; Autodesk,
#: Moldflow Adviser 2025 help), PSU (187 to 190 degC, a resin handbook) and PET (melts at 245 degC:
#: Plastics Technology, "Why (and What) You Need to Dry").
SOFT = {
    "LDPE": 105, "LLDPE": 118, "HDPE": 128, "PP": 160, "PS": 95, "HIPS": 93, "SAN": 102, "SMMA": 95,
    "ABS": 100, "ASA": 98, "PC": 150, "PC-GF20": 148, "PC/ABS": 112, "PC/PBT": 115, "PMMA": 103,
    "PA6": 225, "PA66": 265, "PA6-GF30": 225, "PA66-GF30": 265, "PA11": 187, "PA12": 177,
    "PA46": 290, "PA610": 225, "PA612": 215, "PPA": 300, "PET": 245, "PET-GF30": 245, "PETG": 88,
    "PBT": 223, "PBT-GF30": 223, "TPC-ET": 150, "POM": 163, "PVC-U": 78, "PVC-P": 80, "TPU": 115,
    "TPU soft": 110, "TPU hard": 120, "TPE-S": 95, "TPV": 150, "PEBA": 130, "PLA": 150,
    "PLA amorphous": 55, "PPE/PS": 130, "PSU": 187, "PES": 220, "PPSU": 215, "PEI": 215,
    "PEEK": 334, "PPS-GF40": 280, "LCP": 280, "PVDF": 165, "CA": 90, "CAB": 85, "EVA": 70,
    "EVOH": 158,
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
    assert (TABLE_VERSION, digest) == ("2026.4", "3651a202e0a2")
    assert call("HOPPER_VERSION").endswith(f", resin table {TABLE_VERSION}")


def test_table_holds_what_a_quote_asks_for() -> None:
    assert len(RESINS) >= 20 and len(set(RESINS)) == len(RESINS)
    assert {row["resin"] for row in TABLE} <= set(RESINS)
    assert len({row["resin"] for row in TABLE if row["property"] == "regrind density"}) >= 20
    for resin in RESINS:
        assert metric(resin, "bulk density") > 0
        known = {row["property"] for row in TABLE if row["resin"] == resin}
        # What has no temperature and no hours says why.
        without = {"drying temperature", "drying hours"} - known
        if without:
            assert metric(resin, "caution softens") != "none listed" or resin == "PE film fluff"
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
    if any(row["resin"] == resin and row["property"] == "regrind density" for row in TABLE):
        assert 0.2 <= metric(resin, "regrind density") / SOLID[resin] <= 0.45


def test_every_drying_temperature_stays_below_what_softens_the_resin() -> None:
    dried = {row["resin"] for row in TABLE if row["property"] == "drying temperature"}
    assert dried == set(SOFT)
    hot = {
        resin: (metric(resin, "drying temperature high"), SOFT[resin])
        for resin in SOFT
        if metric(resin, "drying temperature high") >= SOFT[resin]
    }
    # TPU is dried close to where it sticks; the table says so. EVA: see its caution.
    assert hot.keys() <= {"TPU"}
    for resin in SOFT:
        found = softens_at(resin)
        # What the table says itself: its own high end does not pass its own softening point.
        if found is not None and found.only != "regrind" and resin != "EVA":
            assert metric(resin, "drying temperature high") <= (found.temperature or 0) + 1e-6


def test_limits_and_hours_are_those_of_a_dryer() -> None:
    for row in TABLE:
        if row["property"] == "moisture limit":
            assert 30e-6 <= float(row["value"]) <= 0.003  # 30 ppm to 0.3 %, common practice
        if row["property"].startswith("drying hours"):
            assert 1 <= float(row["value"]) <= 16
    # No hours or temperatures of vacuum ovens.
    assert not [row for row in TABLE if "vacuum" in row["source"]]
    assert not [row for row in TABLE if "unattributed" in row["source"]]


def test_seen_values_of_the_literature() -> None:
    # Crawford Table 1.8, kJ/(kg K).
    heats = {"ABS": 1.3, "POM": 1.5, "PMMA": 1.5, "PA66": 1.7, "PP": 2.0, "PS": 1.3,
             "LDPE": 2.2, "HDPE": 2.2, "PVC-U": 0.9, "SAN": 1.3}  # fmt: skip
    assert {resin: metric(resin, "specific heat") for resin in heats} == heats
    # A mean up to the drying temperature lies above the value for room temperature, Crawford 1.0
    # and 1.2; how far, from memory.
    assert 1.0 < metric("PET", "specific heat") <= 1.5
    assert 1.2 < metric("PC", "specific heat") <= 1.5
    # Brandau, Bottles, Preforms and Closures: at most 50 ppm; molding PET 0.02 % (common practice).
    assert metric("PET", "moisture limit") == pytest.approx(50e-6)
    assert metric("PET-GF30", "moisture limit") == pytest.approx(0.0002)
    # Autodesk, "PETG materials": not to exceed 66 degC, below 0.04 %.
    assert metric("PETG", "drying temperature high") == pytest.approx(66)
    assert metric("PETG", "moisture limit") == pytest.approx(0.0004)
    # Covestro, "General Remarks": 80 to 110 degC by hardness.
    assert metric("TPU soft", "drying temperature low") == pytest.approx(80)
    assert metric("TPU hard", "drying temperature high") == pytest.approx(110)
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
    # Every name that asks means at least two resins; the common ones are among them.
    assert {"pe", "nylon", "polyester", "pvc", "tpe", "rpet", "glass-filled nylon"} <= asks
    assert all(len(called(name)) > 1 for name in asks)


#: As people write them in lists and quotes -> the resin, or the resins that the refusal asks about.
PEOPLE_WRITE = {
    "PC": "PC", "polycarbonate": "PC", "Polycarb": "PC", "p.c.": "PC", "PC clear": "PC",
    "PC GF": "PC-GF20", "20% GF PC": "PC-GF20", "glass filled polycarbonate": "PC-GF20",
    "PC/ABS": "PC/ABS", "ABS+PC": "PC/ABS", "abs / pc": "PC/ABS", "PC ABS alloy": "PC/ABS",
    "PC/PBT": "PC/PBT", "PBT-PC": "PC/PBT", "ABS": "ABS", "abs natural": "ABS", "ASA": "ASA",
    "SAN": "SAN", "acrylic": "PMMA", "Acrylics": "PMMA", "PMMA": "PMMA", "GPPS": "PS",
    "crystal styrene": "PS", "HIPS": "HIPS", "hi-ps": "HIPS", "impact polystyrene": "HIPS",
    "styrene": "PS, HIPS", "polypro": "PP", "PP copo": "PP", "PP homopolymer": "PP",
    "homopolymer PP": "PP", "HDPE": "HDPE", "PE-HD": "HDPE", "high density PE": "HDPE",
    "LDPE": "LDPE", "LLDPE": "LLDPE", "PE": "LDPE, LLDPE, HDPE", "film fluff": "PE film fluff",
    "LDPE film regrind": "PE film fluff", "Nylon 6": "PA6", "N6": "PA6", "PA 6": "PA6",
    "Nylon 6/6": "PA66", "nylon 66": "PA66", "PA6.6": "PA66", "PA 66": "PA66", "N66": "PA66",
    "nylon": "PA6, PA66, PA11, PA12, PA46, PA610, PA612", "33% GF nylon 66": "PA66-GF30",
    "Nylon 6/6 GF30": "PA66-GF30", "PA66 GF 30%": "PA66-GF30", "PA66-GF30": "PA66-GF30",
    "30 % glass filled nylon 6": "PA6-GF30", "PA6 GF30": "PA6-GF30",
    "glass-filled nylon": "PA6-GF30, PA66-GF30", "nylon 12": "PA12", "PA-11": "PA11",
    "nylon 4/6": "PA46", "nylon 6/10": "PA610", "PA 612": "PA612", "HTN": "PPA", "PPA": "PPA",
    "PET": "PET", "PETE": "PET", "bottle PET": "PET", "PET preform": "PET", "CPET": "PET",
    "rPET pellets": "PET", "APET": "PET amorphous", "A-PET": "PET amorphous",
    "PET sheet regrind": "PET amorphous", "PET skeleton": "PET amorphous",
    "PET flake": "PET flake", "bottle flake": "PET flake", "rPET flakes": "PET flake",
    "rPET": "PET flake, PET amorphous", "PET regrind": "PET flake, PET amorphous",
    "PET GF": "PET-GF30", "PETG": "PETG", "pet-g": "PETG", "copolyester": "PETG",
    "polyester": "PET, PETG, PBT", "PBT": "PBT", "PBT GF30": "PBT-GF30",
    "30% glass-filled PBT": "PBT-GF30", "acetal": "POM", "Acetal copolymer": "POM", "POM-C": "POM",
    "PVC": "PVC-U, PVC-P", "rigid PVC": "PVC-U", "uPVC": "PVC-U", "flex PVC": "PVC-P",
    "soft PVC": "PVC-P", "vinyl": "PVC-U, PVC-P", "TPU": "TPU", "urethane": "TPU",
    "TPU 80A": "TPU soft", "TPU 64D": "TPU hard", "TPE": "TPC-ET, TPU, TPE-S, TPV, PEBA",
    "SEBS": "TPE-S", "TPR": "TPE-S", "TPV": "TPV", "TPEE": "TPC-ET", "COPE": "TPC-ET",
    "PEBA": "PEBA", "PLA": "PLA", "amorphous PLA": "PLA amorphous", "CPLA": "PLA",
    "modified PPO": "PPE/PS", "PPE": "PPE/PS", "polysulfone": "PSU", "PESU": "PES",
    "PPSU": "PPSU", "PPS": "PPS-GF40", "40% glass-filled PPS": "PPS-GF40", "PEEK": "PEEK",
    "PEI": "PEI", "LCP": "LCP", "PVDF": "PVDF", "butyrate": "CAB", "cellulose acetate": "CA",
    "cellulosic": "CA, CAB", "COC": "COC", "COP": "COC", "EVA": "EVA", "EVOH": "EVOH",
    "SMMA": "SMMA", "unobtainium": "",
    # Said twice, with a color, or with a word that changes what it is.
    "Nylon 6,6": "PA66", "Nylon 6,6 (PA66)": "PA66",
    "Polycarbonate (PC)": "PC", "Acetal (POM)": "POM", "POM - acetal copolymer": "POM",
    "nylon (PA66)": "PA66", "polyester (PET)": "PET", "PA 66 = nylon 6/6": "PA66",
    "PET (APET)": "PET, PET amorphous", "PC, ABS": "PC/ABS", "PC; PMMA": "PC, PMMA",
    "PET (flake)": "PET flake", "PET (amorphous)": "PET amorphous", "ABS black": "ABS",
    "PA66 GF30 black": "PA66-GF30",
    "natural HDPE": "HDPE", "ABS (black)": "ABS", "virgin PP": "PP", "white nylon": (
        "PA6, PA66, PA11, PA12, PA46, PA610, PA612"),
    "ABS regrind": "", "PET clear": "", "PC scrap": "", "PA66 GF50": "", "PC (foamed)": "",
    "black": "", "()": "", "PP talc filled": "", "PA6 (recycled)": "",
}  # fmt: skip


@pytest.mark.parametrize(("typed", "meant"), PEOPLE_WRITE.items())
def test_names_as_people_write_them(typed: str, meant: str) -> None:
    """One resin, or a refusal that names every resin it may be, or "not in the table"."""
    assert len(PEOPLE_WRITE) > 80
    if meant in RESINS:
        assert metric(typed, "name") == meant
        return
    with pytest.raises(CellError, match="#N/A resin: ") as refused:
        metric(typed, "name")
    wanted = f"called {typed!r}: {meant}; name one" if meant else "is not in the resin table"
    assert wanted in refused.value.reason
    # What no value is taken for may still be warned of.
    assert never_together([typed, typed]).unknown in ([], [typed])


def test_a_trade_word_is_never_two_resins_in_silence() -> None:
    """No name leads to one resin while it is a whole word combination of another's own name."""
    for row in rows("resin_names.csv"):
        assert called(row["resin"]) == (row["resin"],)
        assert called(row["full name"]) == (row["resin"],)


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
        ("polycarbonatt", "did you mean PC?"),
        ("polypropilenne", "did you mean PP?"),
        ("PEKK", "did you mean PEEK?"),
        ("nylon", "PA6, PA66, PA11, PA12, PA46, PA610, PA612; name one"),
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
    assert own("PC", "bulk density source") == "row 2 of your own table: own cup"
    assert own("Blend 7", "source") == "drying hours: row 3 of your own table"


def test_an_own_density_is_not_mixed_with_the_built_in_range() -> None:
    with pytest.raises(CellError, match=r"#N/A own_table: row 2 .*but no bulk density low"):
        own("PC", "bulk density low")
    with pytest.raises(CellError, match=r"#N/A own_table: .*no bulk density for 'Blend 7'"):
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
        ([["resin", "Drying Hours", "drying  hours"], ["PC", 4, 5]], "appears twice"),
        ("metric", "unit system"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused(table: Any, reason: str) -> None:
    with pytest.raises(CellError, match=f"#VALUE! own_table: .*{reason}"):
        own("PC", "drying hours", table)


def test_an_error_in_the_headings_comes_out() -> None:
    with pytest.raises(CellError, match="#REF! own_table"):
        own("PC", "drying hours", [["resin", "#REF!"], ["PC", 4]])


def test_an_own_caution_comes_first_and_a_house_blend_is_never_called_safe() -> None:
    table = [["resin", "caution", "drying hours"], ["acetal", "Ask  Joe.", 3], ["Blend 7", None, 5],
             ["Blend 8", "Sticks.", 5], ["Blend 9", "#REF!", 5]]  # fmt: skip
    assert own("POM", "caution", table).startswith("Ask Joe. POM and PVC must never meet")
    pet = [["resin", "caution"], ["PET", "House rule."]]
    assert "70 degC (158 degF)" in own("PET", "caution", pet, "metric")
    assert own("POM", "caution over-dried", table).startswith("Overheated")
    assert own("Blend 8", "caution", table) == "Sticks. The resin maker's data sheet governs."
    assert own("blend 7", "name", table) == "Blend 7" and own("POM", "name", table) == "POM"
    for wanted in ("caution", "caution softens", "never with", "full name"):
        with pytest.raises(CellError, match=r"#N/A own_table: 'Blend 7' .*only in.* is not known"):
            own("Blend 7", wanted, table)
    with pytest.raises(CellError, match="#REF! own_table"):
        own("Blend 9", "caution", table)
    with pytest.raises(CellError, match="#N/A resin"):
        own("Blend 1", "caution", table)
