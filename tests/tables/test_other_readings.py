"""A row that can be read in two ways says so where the other one would choose another hopper.

All invented. Blends by volume are the sum of share x density, by mass 1 / sum(share / density);
half of virgin for regrind: all common practice, no source. Volumes are throughput x hours / bulk
density, worked by hand beside each case.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from hoppersheet import call
from hoppersheet.commands.size import command
from hoppersheet.tables.joblist import Stated, open_catalog, open_jobs, size_list
from hoppersheet.tables.joblist.receipt import receipt

CATALOG = [["size [ft3]", "model"], *[[size, f"EXAMPLE-{size}"] for size in (12, 20, 30, 45)]]
RATES = "job,throughput [lb/h],drying hours"

# Headings and one job; what the column check must hold, "" for nothing.
CASES = {
    # 220 x 3.5 / 36.4 = 21.15 ft3 by volume, 770 / 35.44 = 21.73 by mass: the 30 holds both.
    "the basis changes nothing": (
        "virgin density [lb/ft3],regrind density [lb/ft3],regrind share",
        "A,220,3.5,40,28,30 %",
        "",
    ),
    # 208 x 3.5 / 36.4 = 20.0 ft3 by volume; / 35.44 = 20.54 by mass: over the 20.
    "the basis changes the size": (
        "virgin density [lb/ft3],regrind density [lb/ft3],regrind share",
        "A,208,3.5,40,28,30 %",
        "by mass it would be EXAMPLE-30",
    ),
    "the same, by mass as stated": (
        "virgin density [lb/ft3],regrind density [lb/ft3],regrind share,share basis",
        "A,208,3.5,40,28,30 %,mass",
        "",
    ),
    # 1638 / 36.4 = 45.0; / 35.44 = 46.2.
    "by mass no size is large enough": (
        "virgin density [lb/ft3],regrind density [lb/ft3],regrind share",
        "A,468,3.5,40,28,30 %",
        "by mass it would be larger than the largest catalog size",
    ),
    # Virgin 40 and regrind half of it: 34; 680 / 34 = 20.0. As the blend's: 680 / 40 = 17: the 20.
    "the blend's density changes nothing": (
        "bulk density [lb/ft3],regrind share,share basis",
        "A,200,3.4,40,30 %,volume",
        "",
    ),
    # 770 / 34 = 22.6: the 30. As the blend's: 770 / 40 = 19.25: the 20.
    "the blend's density changes the size": (
        "bulk density [lb/ft3],regrind share,share basis",
        "A,220,3.5,40,30 %,volume",
        "if 'bulk density [lb/ft3]' is the blend's, it would be EXAMPLE-20",
    ),
    "the heading says virgin": (
        "virgin density [lb/ft3],regrind share,share basis",
        "A,220,3.5,40,30 %,volume",
        "",
    ),
    # All of it regrind, half as dense as 40: 770 / 20 = 38.5: the 45.
    "nothing but regrind": (
        "bulk density [lb/ft3],regrind share",
        "A,220,3.5,40,100 %",
        "if 'bulk density [lb/ft3]' is the blend's, it would be EXAMPLE-20",
    ),
    "no regrind": ("bulk density [lb/ft3],regrind share", "A,220,3.5,40,0 %", ""),
    # 770 / 36.4 = 21.15: the 30; the list's own 41 makes 18.8.
    "both stated, and not the same": (
        "virgin density [lb/ft3],regrind density [lb/ft3],regrind share,share basis,blend density "
        "[lb/ft3]",
        "A,220,3.5,40,28,30 %,volume,41",
        "'blend density [lb/ft3]' is 41 lb/ft3, but the shares give 36.4 lb/ft3; "
        "with the density under 'blend density [lb/ft3]' it would be EXAMPLE-20",
    ),
}


@pytest.mark.parametrize(("headings", "job", "check"), CASES.values(), ids=CASES)
def test_the_row_says_what_else_it_could_be(
    headings: str, job: str, check: str, tmp_path: Path
) -> None:
    path = tmp_path / "list.csv"
    path.write_text(f"{RATES},{headings}\n{job}\n", encoding="utf-8")
    catalog = tmp_path / "catalog.csv"
    catalog.write_text("\n".join(",".join(map(str, row)) for row in CATALOG), encoding="utf-8")
    (file,) = open_jobs(str(path))
    sizes, _ = open_catalog(str(catalog), "US", "US")
    ((_, _, sized),) = size_list(file, sizes).rows
    assert sized.problem is None and sized.check == check
    rows = [f"{RATES},{headings}".split(","), job.split(",")]
    head, found = call("HOPPER_SIZE_JOBS", rows, CATALOG)
    assert found[head.index("check")] == check


def test_the_blend_density_as_the_list_states_it(tmp_path: Path) -> None:
    """Asked for in the receipt, and answered by --column."""
    path = tmp_path / "list.csv"
    path.write_text(
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind %\nA,220,3.5,40,30\n",
        encoding="utf-8",
    )

    def sized(**columns: str) -> tuple[float | None, str, str]:
        named = {name.replace("_", " "): heading for name, heading in columns.items()}
        (file,) = open_jobs(str(path), Stated(columns=named))
        sized = size_list(file, open_catalog(None, "US", "US")[0])
        ((_, _, job),) = sized.rows
        return job.required_volume, job.assumed, " ".join("\n".join(receipt(sized)).split())

    per_ft3 = 0.3048**3  # exact, NIST SP 811
    volume, assumed, said = sized()
    assert volume == pytest.approx(770 / 34 * per_ft3) and "half of virgin" in assumed
    assert "Then call it 'blend density', or use --column \"blend density=Bulk density" in said
    volume, assumed, said = sized(blend_density="Bulk density (lb/ft3)")
    assert volume == pytest.approx(770 / 40 * per_ft3) and assumed == ""
    assert "share basis not needed" in said
    volume, _, said = sized(virgin_density="Bulk density (lb/ft3)")
    assert volume == pytest.approx(770 / 34 * per_ft3) and "is it the blend's" not in said


def test_a_column_let_pass_is_named_where_virgin_is_assumed(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text(
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),PCR %\nA,220,3.5,40,25\n", encoding="utf-8"
    )
    result = CliRunner().invoke(command, [str(path), "--ignore", "PCR %"])
    assert result.exit_code == 0
    assert "100 % virgin: 'PCR %' not read, as you said" in result.output
    assert "PCR % (as you said)" in result.output and "no column of shares" not in result.output


@pytest.mark.parametrize(
    "above",
    [
        [["Dryers of hall 2, rates in kg/h and kg/L", None, None, None], [None] * 4],
        [["", "", "", ""]],
        [],
    ],
)
def test_a_range_with_a_title_above_its_headings(above: list[list[Any]]) -> None:
    """The results stand beside their rows: 45 kg/h x 4 h / 0.6 kg/L = 300 L."""
    jobs = [*above, ["Job", "kg/h", "Drying hours", "kg/L"], ["A", 45, 4, 0.6], ["Sum", 45]]
    table = call("HOPPER_SIZE_JOBS", jobs, [["size [L]"], [100], [400]])
    assert len(table) == len(jobs) and all(set(row) == {""} for row in table[: len(above)])
    head, job, total = table[len(above) :]
    assert head[:3] == ["job", "blend density [kg/L]", "required volume [L]"]
    assert job[:3] == ["A", 0.6, pytest.approx(300)]
    assert total[head.index("check")] == "not a job: 'Sum'"


def test_a_range_with_two_heading_rows_and_one_of_units() -> None:
    jobs = [
        ["Job", "Drying", None, "Rate", "Bulk density"],
        [None, "Temperature", "Time", None, None],
        ["text", "\u00b0C", "min", "kg/h", "kg/m3"],
        ["A", 80, 240, 45, 600],
    ]
    table = call("HOPPER_SIZE_JOBS", jobs, [["size [L]"], [100], [400]])
    assert set(table[0]) == {""} and table[1][0] == "job"
    assert table[2][table[1].index("check")] == "not a job: units"
    assert table[3][2] == pytest.approx(300)
