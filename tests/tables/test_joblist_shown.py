"""What people see of a sized list: a terminal of 80 columns, and the audit of a live book."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from hoppersheet.commands.audit import command as audit
from hoppersheet.commands.size import command as size
from hoppersheet.tables.joblist import open_catalog, open_jobs, size_list
from hoppersheet.tables.joblist.terminal import result_lines

_HEAD = "job,resin,throughput [lb/h],drying hours,virgin density [lb/ft3],regrind density [lb/ft3],"
_LONG = "Housing, rear, left hand, black, tool 4711-B, second cavity, customer's own resin"


@pytest.mark.parametrize(
    ("name", "model", "rate"),
    [
        (_LONG, "EXAMPLE-30", 220),
        (_LONG, "EXAMPLE-30-with-a-long-name-480V-left", 220.125),
        ("A", "EXAMPLE-30-with-a-very-long-name-480V-left-hand", 123456.789),
        (_LONG * 3, "EXAMPLE-2000-with-a-long-name-480V-left", 98765.4321),
    ],
)
def test_the_model_is_never_cut(name: str, model: str, rate: float, tmp_path: Path) -> None:
    """At 80 columns the name gives way, then the other system's volume; the model is whole."""
    jobs, catalog = tmp_path / "jobs.csv", tmp_path / "catalog.csv"
    with jobs.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(
            [
                ["job", "throughput [lb/h]", "drying hours", "virgin density [lb/ft3]"],
                [name, rate, 3.5, 36.4],
                ["B", 90, 3, 38],
            ]
        )
    catalog.write_text(f"size [ft3],model\n7,EXAMPLE-7\n15000.5,{model}\n", encoding="utf-8")
    (file,) = open_jobs(str(jobs))
    rows = list(size_list(file, open_catalog(str(catalog), "US", "US")[0]).rows)
    lines = result_lines(rows, 0, "US", 80)
    assert any(model in line for line in lines), lines
    assert model in next(line for line in lines if line.split()[:1] == ["2"])


def test_the_audit_of_a_live_book_agrees_row_by_row(tmp_path: Path) -> None:
    """The book of ``size --formulas``, as the command ``audit`` sees it, and ``size`` itself."""
    jobs, live, sized = (tmp_path / name for name in ("jobs.csv", "live.xlsx", "sized.csv"))
    jobs.write_text(
        f"{_HEAD}regrind share,share basis\n"
        "A,ABS,220,3.5,40,28,0.3,mass\n"
        "B,PC,90,4,41,28,0.1,volume\n"
        "C,ABS,0,3,40,,,\n"
        "D,ABS,75,3,40,,,\n"
        "E,PC,208,3.5,40,28,0.3,\n",
        encoding="utf-8",
    )
    run = CliRunner().invoke
    assert run(size, [str(jobs), "--out", str(sized)]).exit_code == 1
    assert run(size, [str(jobs), "--formulas", "--out", str(live)]).exit_code == 1
    result = run(audit, [str(live), "--engine", "core", "--json"])
    assert result.exit_code == 1
    lines = json.loads(result.output)["sign_off"]["lines"]
    with sized.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [line["job"] for line in lines] == [row["job"] for row in rows] == list("ABCDE")
    for line, row in zip(lines, rows, strict=True):
        for seen, column in (("needs", "required volume [ft3]"), ("chosen", "next size [ft3]")):
            expected = float(row[column]) if row[column] else None
            assert line[seen] == (expected if expected is None else pytest.approx(expected))
        if row["problem"]:
            assert line["verdict"].startswith("not sized") and "below the lowest" in row["problem"]


def test_prices_of_a_workbook_are_numbers(tmp_path: Path) -> None:
    """A catalog of text holds them as text, which SUM passes over."""
    jobs, out = tmp_path / "jobs.csv", tmp_path / "out.xlsx"
    jobs.write_text(f"{_HEAD}regrind share\nA,ABS,220,3.5,40,,\n", encoding="utf-8")
    assert CliRunner().invoke(size, [str(jobs), "--out", str(out)]).exit_code == 0
    head, job = openpyxl.load_workbook(out).worksheets[0].iter_rows(values_only=True)
    assert isinstance(job[head.index("price")], (int, float))
