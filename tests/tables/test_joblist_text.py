"""Text files as ``size`` writes them, against Python's csv module (RFC 4180)."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from hoppersheet.tables.joblist import open_catalog, open_jobs, size_list
from hoppersheet.tables.joblist.text_output import write_text

HEAD = ["job", "throughput [kg/h]", "drying hours", "virgin density [kg/L]", "note"]
#: Cells that a writer of text files can get wrong, also together.
NASTY = st.lists(
    st.sampled_from(['"', ",", ";", "\t", "\n", "\r", "=1", "'", "a", " ", ".5", "-"]), max_size=4
).map("".join)


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    cells=st.lists(st.tuples(NASTY, NASTY), min_size=1, max_size=4),
    separator=st.sampled_from([",", ";", "\t"]),
    comma=st.booleans(),
)
def test_what_is_written_is_what_the_csv_module_would_write(
    cells: list[tuple[str, str]], separator: str, comma: bool, tmp_path: Path
) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "out.csv"
    figures = ["45,5", "4", "0,61"] if comma else ["45.5", "4", "0.61"]
    table = [HEAD, *([f"{name}{at}", *figures, note] for at, (name, note) in enumerate(cells))]
    with jobs.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, delimiter=separator).writerows(table)
    (file,) = open_jobs(str(jobs))
    write_text(size_list(file, open_catalog(None, "metric", "metric")[0]), out)
    text = out.read_bytes().decode("utf-8-sig")
    found = ";" if separator == ";" else ","
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=found))
    assert len(rows) == len(table) and {len(row) for row in rows} == {len(HEAD) + 11}
    assert [row[1:4] for row in rows[1:]] == [figures] * len(cells)
    again = io.StringIO(newline="")
    csv.writer(again, delimiter=found).writerows(rows)
    assert text == again.getvalue()
