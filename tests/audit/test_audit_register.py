"""The register of assumptions: which step was tried, weighed densities, and the rows in short."""

from __future__ import annotations

from math import sqrt
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from audit.audit_books import stored
from audit.planted.styles import build, save
from hoppersheet.audit import Audit, audit_book
from hoppersheet.audit.assumption_groups import effect_words, grouped

# JCGM 100:2008 (GUM), worked out by hand for cups of 240, 242 and 238 g in 400 cm3:
# mean 240 g, s = sqrt((0 + 4 + 4) / 2) = 2 g; type A (4.2.3): 2 / sqrt(3) / 240 = 0.0048113
# type B, rectangular (4.3.7): balance 0.1 g / sqrt(3) / 240 = 0.00024056, cup 0.5 % / sqrt(3) =
# 0.0028868, together 0.0028968; combined (5.1.2): 0.0056160; effective degrees of freedom (G.4.1)
# 0.0056160^4 / (0.0048113^4 / 2) = 3.71, cut to 3: k = 3.31 (table G.2); U = 0.018589 of 0.6 kg/L
_FACTOR = 3.31
_RELATIVE = 0.018589


def test_the_figures_above_follow_from_the_formulas_of_the_gum() -> None:
    a, b = 2 / sqrt(3) / 240, sqrt((0.1 / sqrt(3) / 240) ** 2 + (0.005 / sqrt(3)) ** 2)
    combined = sqrt(a * a + b * b)
    assert int(combined**4 / (a**4 / 2)) == 3
    assert _FACTOR * combined == pytest.approx(_RELATIVE, abs=5e-7)


def weighed(folder: Path, uncertainty: Any = _RELATIVE * 0.6) -> Audit:
    """A line in kg/h and kg/L, its density from three cups."""
    book = openpyxl.Workbook()
    sheet, cups = book.active, book.create_sheet("Cups")
    sheet.title = "Sizing"
    cups.append(["Cup volume [cm3]", "Cup 1 [g]", "Cup 2 [g]", "Cup 3 [g]", "Bulk density [kg/L]",
                 "Expanded uncertainty [kg/L]", "Coverage factor"])  # fmt: skip
    cups.append([400, 240, 242, 238, '=HOPPER_SAMPLE_DENSITY(B2:D2,A2,"metric")', uncertainty,
                 _FACTOR])  # fmt: skip
    sheet.append(["Job", "Throughput [kg/h]", "Drying hours", "Density [kg/L]",
                  "Required volume [L]", "Chosen size [L]"])  # fmt: skip
    sheet.append(["Press 4", 100, 3.5, "=Cups!E2",
                  '=HOPPER_REQUIRED_VOLUME(B2,C2,D2,,"metric")', 800])  # fmt: skip
    return audit_book(stored(book, folder / "book.xlsx"), "core")


def test_a_weighed_density_moves_by_its_own_uncertainty(tmp_path: Path) -> None:
    found = {a.input: a for a in weighed(tmp_path).assumptions}
    assert set(found) == {"Bulk density", "Throughput", "Drying hours", "reserve"}
    density = found["Bulk density"]
    assert (density.origin, density.cell, density.value) == ("measured", "E2", pytest.approx(0.6))
    assert density.step == "its expanded uncertainty less (0.0112, k = 3.31)"
    # 1 / (1 - 0.018589) - 1 = 1.894 %, not the 11.1 % of 10 % less
    assert density.swing_percent == pytest.approx(100 * (1 / (1 - _RELATIVE) - 1), abs=1e-5)
    # 800 L hold 100 kg/h x 3.5 h down to 0.4375 kg/L
    assert density.holds_until == pytest.approx(350 / 800)
    assert found["Throughput"].step == "10 % more" and found["Throughput"].swing_percent == 10


def test_cups_without_an_uncertainty_are_tried_with_ten_percent(tmp_path: Path) -> None:
    found = weighed(tmp_path, None).assumptions
    assert {a.input for a in found} >= {"Cup 1", "Cup 2", "Cup 3", "Cup volume"}
    assert {a.step for a in found if a.input.startswith("Cup")} == {"10 % more"}


def test_the_register_in_short_has_a_row_per_column(tmp_path: Path) -> None:
    audit = audit_book(save(build("rows"), tmp_path / "book.xlsx"), "core")
    groups = grouped(audit.assumptions)
    rates = next(g for g in groups if g.input == "Throughput")
    assert (rates.cells, rates.count, rates.lines) == ("Quote!J4:J9", 6, 6)
    assert rates.values == "90 to 310" and rates.swing_percent == pytest.approx(10)
    assert len(groups) < 12 < len(audit.assumptions)
    # least room: the line whose volume comes nearest to its size
    drifts = [abs(g.drift_percent) for g in groups if g.drift_percent is not None]
    assert drifts == sorted(drifts)
    least = min((a for a in audit.assumptions if a.holds_until_percent is not None),
                key=lambda a: abs(a.holds_until_percent or 0))  # fmt: skip
    assert groups[0].drift_percent == least.holds_until_percent
    assert f"({least.line!r})" in effect_words(groups[0])
