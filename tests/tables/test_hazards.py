"""Hazards and ranges of resins: as data, in one set of words, and never silent about a gap."""

from __future__ import annotations

import contextlib

import pytest

from hoppersheet import CellError, call
from hoppersheet.errors import NoAnswer
from hoppersheet.tables.hazards import KINDS, caution, hazards, hazards_of_any, never_together
from hoppersheet.tables.resin_table import one_resin, read_rows, resin_names
from hoppersheet.tables.resins import read_own_table
from hoppersheet.tables.usual import check_words, outside, regrind_density

ROWS = read_rows("resin_hazards.csv")
HOUR = 3600.0


#: How the source of a hazard begins. Nothing else counts as one.
SOURCES = (
    "common practice, no source",
    "from memory",
    "NFPA 660 (2025)",
    '"Quick Note on Safety with PVC & Acetal" (2021), trade training note',
    'Plastics Technology, "Why (and What) You Need to Dry"',
    'Plastics Technology, "What You Need to Know About Drying Specialty Nylons"',
    'Beaumont, injection molding glossary, "Degradation"',
    'Autodesk, Moldflow Adviser 2025 help, "PETG materials"',
    "Kerkstra and Brammer, Injection Molding Advanced Troubleshooting Guide, Hanser 2018, ch. 9",
)


# --- the data -----------------------------------------------------------------------------


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['resins']} {row['kind']}")
def test_every_hazard_is_whole(row: dict[str, str]) -> None:
    known = {*resin_names(), "*"}
    assert row["kind"] in KINDS and row["text"].endswith(".")
    assert row["source"].startswith(SOURCES)
    assert {name.strip() for name in row["resins"].split(";")} <= known
    assert {name.strip() for name in row["others"].split(";") if name} <= known
    assert (row["kind"] == "never with") == bool(row["others"])
    assert (row["kind"] == "softens") == bool(row["temperature"])
    for words in (row["text"], row["brief"]):
        assert ("{temperature}" in words) == bool(row["temperature"])
    assert 0 < len(row["brief"]) <= 60 and not row["brief"].endswith(".")
    assert ";" not in row["brief"]  # lists join their marks with it
    assert row["only"] in ("", "regrind") and row["customer"] in ("", "yes")


def test_resins_that_must_not_meet_say_so_on_both_sides() -> None:
    pairs = {
        (resin, other)
        for resin in resin_names()
        for hazard in hazards(resin)
        for other in hazard.others
    }
    assert pairs == {(other, resin) for resin, other in pairs}
    # "Quick Note on Safety with PVC & Acetal" (2021), trade training note.
    assert ("POM", "PVC-U") in pairs and ("POM", "PVC-P") in pairs


def test_what_softens_when_amorphous_says_so_in_both_units() -> None:
    # Plastics Technology, "Why (and What) You Need to Dry": glass transition about 70 to 75 degC.
    for name in ("PET", "APET", "PET flake"):
        assert "158 degF (70 degC)" in caution(name, "softens")
        assert "70 degC (158 degF)" in caution(name, "softens", "metric")
        assert call("HOPPER_RESIN", name, "softening temperature") == pytest.approx(158)
    with pytest.raises(CellError, match="no softening temperature of PP"):
        call("HOPPER_RESIN", "PP", "softening temperature")


def test_amorphous_pet_does_not_get_the_temperature_of_crystallized_pellets() -> None:
    for name in ("APET", "PET flake", "PET sheet regrind"):
        for wanted in ("drying temperature", "drying hours high"):
            with pytest.raises(CellError, match=f"#N/A .*no sourced value for the {wanted}.*cryst"):
                call("HOPPER_RESIN", name, wanted)


def test_caution_in_a_cell() -> None:
    text = call("HOPPER_RESIN", "acetal", "caution")
    assert text.startswith("POM and PVC must never meet") and text.endswith("sheet governs.")
    assert call("HOPPER_RESIN", "acetal", "never with") == "PVC-U, PVC-P"
    assert call("HOPPER_RESIN", "acetal", "name") == "POM"
    assert call("HOPPER_RESIN", "acetal", "full name") == "polyoxymethylene"
    # Nothing listed is not the same as no hazard, and an unknown resin is not safe.
    assert call("HOPPER_RESIN", "PP", "caution softens") == "none listed"
    assert call("HOPPER_RESIN", "PP", "never with") == "none listed"
    assert "NFPA" not in text and "local codes" in call("HOPPER_RESIN", "PP", "caution")
    with pytest.raises(CellError, match="#N/A resin"):
        call("HOPPER_RESIN", "qqq", "caution")
    # Where a name means several resins, what may apply to one of them is said.
    assert call("HOPPER_RESIN", "PVC", "caution").startswith(
        "PVC-U or PVC-P, so some of this may apply: PVC and POM must never meet"
    )
    assert "hydrolyzes" in call("HOPPER_RESIN", "nylon", "caution hydrolyzes")
    assert call("HOPPER_RESIN", "vinyl", "never with") == "POM"
    assert {hazard.kind for hazard in hazards_of_any("rPET")} >= {"softens", "hydrolyzes", "flow"}


# --- who must not meet --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("names", "pairs"),
    [
        (["POM", "PVC-U"], [("POM", "PVC-U")]),
        (["acetal copolymer", "ABS", "flexible PVC"], [("acetal copolymer", "flexible PVC")]),
        # "PVC" may be either form, and a color behind the name is no other resin.
        (["PVC", "POM black 20"], [("PVC", "POM black 20")]),
        (["PVC-U", "PVC-P", "PVC"], []),
        (["PC", "ABS"], []),
        (["POM", "POM"], []),
        ([], []),
    ],
)
def test_who_must_never_meet(names: list[str], pairs: list[tuple[str, str]]) -> None:
    found = never_together(names)
    assert [(first, second) for first, second, _ in found.meetings] == pairs
    assert not found.unknown
    assert all("react violently" in hazard.text for *_, hazard in found.meetings)


def test_a_resin_that_nobody_knows_is_not_called_safe() -> None:
    assert never_together(["POM", "House blend 7", "X-12"]).unknown == ["House blend 7", "X-12"]


def test_a_long_text_is_searched_no_further() -> None:
    long = " ".join(["word"] * 20_000)
    assert never_together([long, f"{long} PVC", "POM"]).meetings == []
    assert never_together(["black POM, 20 bags", "our (soft PVC) mix"]).meetings


# --- outside what is usual ----------------------------------------------------------------


def test_outside_names_side_and_range() -> None:
    low, high = (call("HOPPER_RESIN", "ABS", f"drying hours {end}") for end in ("low", "high"))
    assert outside("ABS", "drying hours", low * HOUR) is None
    assert outside("ABS", "drying hours", high * HOUR * (1 + 1e-12)) is None
    longer = outside("abs", "drying hours", 9 * HOUR)
    shorter = outside("ABS", "drying hours", 1 * HOUR)
    assert longer is not None and longer.side == "above"
    assert longer.words() == f"longer than usual for ABS: 9 h, usual {low:g} to {high:g} h"
    assert shorter is not None and shorter.words().startswith("shorter than usual for ABS: 1 h")
    light = outside("ABS", "bulk density", 300.0)
    assert light is not None
    assert light.words("metric").startswith("lighter than usual for ABS: 0.3 kg/L, usual 0.58 to")
    assert "lb/ft3" in light.words()


def test_nothing_to_compare_with_is_an_error_and_not_within() -> None:
    for resin, wanted in (("PET flake", "drying hours"), ("qqq", "bulk density")):
        with pytest.raises(NoAnswer):
            outside(resin, wanted, 1000.0)


OWN = read_own_table(
    [["resin", "drying hours", "drying hours low", "drying hours high"], ["Blend 7", 5, 4, 6],
     ["ABS", 3, 3, 3]], "US",
)  # fmt: skip


def test_own_rows_give_the_range() -> None:
    found = outside("ABS", "drying hours", 4 * HOUR, OWN)
    assert found is not None
    assert found.words() == "longer than usual for ABS: 4 h, usual 3 h"
    said = check_words("Blend 7", drying_hours=7 * HOUR, own=OWN)
    assert said == [
        "longer than usual for Blend 7: 7 h, usual 4 to 6 h",
        "no cautions are known of Blend 7: it is only in your own table",
    ]
    with pytest.raises(NoAnswer):
        check_words("Blend 8", drying_hours=7 * HOUR, own=OWN)


def test_words_of_a_job() -> None:
    assert check_words("ABS", drying_hours=3 * HOUR, virgin_density=620.0) == []
    assert check_words("PC", drying_hours=20 * HOUR) == [
        "longer than usual for PC: 20 h, usual 3 to 8 h (it may yellow or degrade)"
    ]
    assert check_words("PET", drying_hours=1 * HOUR) == [
        "shorter than usual for PET: 1 h, usual 4 to 6 h (moist, it hydrolyzes and turns weak)"
    ]
    # Polypropylene carries surface moisture only: nothing hydrolyzes.
    assert check_words("PP", drying_hours=0.8 * HOUR) == [
        "shorter than usual for PP: 0.8 h, usual 1 to 2 h"
    ]
    # Crystallized pellets alone do not soften; with regrind the mix may.
    assert check_words("PET") == []
    assert check_words("PET", regrind_share=0.25) == [
        "PET: regrind softens from 158 degF (70 degC) unless crystallized"
    ]
    assert check_words("PET", regrind_share=0.25, drying_temperature=60.0)[0].startswith("cooler")
    assert any("softens" in text for text in check_words("PET amorphous"))
    assert check_words("PET flake", drying_hours=4 * HOUR)[-1] == (
        "no usual drying hours of PET flake in the resin table"
    )


# --- regrind ------------------------------------------------------------------------------


def test_regrind_from_the_tables_ratio() -> None:
    virgin, low, mid, high = (
        call("HOPPER_RESIN", "PC", name, "none", "metric") * 1000
        for name in ("bulk density", "regrind density low", "regrind density",
                     "regrind density high")
    )  # fmt: skip
    ratio = call("HOPPER_RESIN", "PC", "regrind ratio")
    assert ratio == pytest.approx(mid / virgin)
    found = regrind_density("polycarbonate", virgin)
    assert (found.si, found.kept, found.resin) == (pytest.approx(mid), "", "PC")
    assert "the resin table's ratio for PC" in found.words()
    slightly = regrind_density("PC", virgin * 0.95)
    assert slightly.si == pytest.approx(mid * 0.95)
    # A stated virgin density far off does not carry the estimate out of the table's range.
    heavy, light = regrind_density("PC", 2000.0), regrind_density("PC", 300.0)
    assert (heavy.si, heavy.kept) == (pytest.approx(high), "high")
    assert (light.si, light.kept) == (pytest.approx(low), "low")
    assert "kept at its low end" in light.words()
    with pytest.raises(NoAnswer):
        regrind_density("PEEK", 760.0)


def test_what_explain_says_of_half_of_virgin_is_what_the_table_says() -> None:
    line = call("HOPPER_EXPLAIN", "HOPPER_REGRIND_DENSITY", 40)
    assert "rule of thumb" in line and "too small" in line and '"regrind ratio"' in line
    assert "rule of thumb" not in call("HOPPER_EXPLAIN", "HOPPER_REGRIND_DENSITY", 40, 0.6)
    ratios = {}
    for resin in resin_names():
        with contextlib.suppress(CellError):
            ratios[resin] = call("HOPPER_RESIN", resin, "regrind ratio")
    more = [resin for resin, ratio in ratios.items() if ratio > 0.5]
    assert len(more) > len(ratios) / 2
    assert ratios["PET"] < 0.5 and set(ratios) - set(more) == {"PET", "PET amorphous"}
    # 50/50 by mass at 500 lb/h for 4 h, virgin 0.83 kg/L (arithmetic, lb/ft3 by NIST SP 811):
    # half of virgin 57.9 ft3, the table's middle 65.1, so a 60 ft3 hopper is too small.
    needs = [
        call(
            "HOPPER_REQUIRED_VOLUME", 500, 4,
            call("HOPPER_BLEND_DENSITY", [[0.5, 0.5]], [["0.83 kg/L", f"{regrind} kg/L"]], "mass"),
        )
        for regrind in (0.415, 0.35)
    ]  # fmt: skip
    assert needs == pytest.approx([57.9, 65.1], abs=0.05)
    found = regrind_density("PET", 830.0)
    assert found.si == pytest.approx(350) and found.ratio == pytest.approx(0.35 / 0.83)


def test_one_resin_asks_which() -> None:
    with pytest.raises(NoAnswer, match="PVC-U, PVC-P; name one"):
        one_resin("PVC")
    assert one_resin("soft PVC") == "PVC-P"
