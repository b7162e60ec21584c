"""``hoppersheet resins``: every value and caution can be read, at any width."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from hoppersheet import call
from hoppersheet.cells.units import HOME_FACTORS
from hoppersheet.cli import cli
from hoppersheet.commands.resins import described, resin_list
from hoppersheet.tables.hazards import hazards
from hoppersheet.tables.resin_table import TABLE_VERSION, read_rows, resin_names


def run(*words: str, columns: int = 80) -> tuple[int, str]:
    done = CliRunner().invoke(cli, ["resins", *words], env={"COLUMNS": str(columns)})
    return done.exit_code, done.output


@pytest.mark.parametrize("columns", [80, 100, 132, 200])
def test_the_list_fits_and_leaves_no_resin_out(columns: int) -> None:
    status, output = run(columns=columns)
    lines = output.splitlines()
    assert status == 0 and max(map(len, lines)) <= columns
    assert [line.split("  ")[0] for line in lines[2 : 2 + len(resin_names())]] == resin_names()
    assert f"{len(resin_names())} resins, resin table {TABLE_VERSION}" in output
    assert ("Regrind and cautions show from" in " ".join(output.split())) == (columns < 132)
    assert "does not prove safety or harm outside it" in " ".join(output.split())


@pytest.mark.parametrize("resin", resin_names())
def test_a_resin_shows_every_value_source_and_caution(resin: str) -> None:
    text = described(resin, 80)
    assert max(map(len, text.splitlines())) <= 80
    flat = " ".join(text.split())
    for row in read_rows("resins.csv"):
        if row["resin"] == resin:
            assert " ".join(row["source"].split()) in flat
    for hazard in hazards(resin):
        assert hazard.text in flat and hazard.source in flat


def test_figures_are_those_of_the_function() -> None:
    # PC: 0.62 to 0.72 kg/L; lb/ft3 by NIST SP 811 App. B.8 (16.01846 kg/m3).
    low, high = (call("HOPPER_RESIN", "PC", f"bulk density {end}") for end in ("low", "high"))
    assert low == pytest.approx(620 / 16.01846, rel=1e-6)
    assert f"{low:.1f}-{high:.1f} (0.62-0.72)" in resin_list(["PC"], 80)
    assert f"0.62-0.72 ({low:.1f}-{high:.1f})" in resin_list(["PC"], 80, "metric")
    assert HOME_FACTORS["degF"] and "212-250 (100-121)" in resin_list(["PC"], 80)
    assert "50 ppm" in resin_list(["PET"], 80) and "0.02 %" in resin_list(["PC"], 80)


def test_a_name_of_several_lists_them_and_an_unknown_one_is_refused() -> None:
    status, output = run("nylon")
    assert status == 0 and output.startswith("Several resins are called 'nylon':")
    assert "PA612" in output and "7 resins" in output
    status, output = run("polycarbnat")
    assert status == 2 and "did you mean PC?" in output
    status, output = run("acetal", "--units", "metric")
    assert status == 0 and output.startswith("POM: polyoxymethylene")
    assert "react violently" in " ".join(output.split())
