"""What the tests of job lists share: a small catalog, a sizer, and the command."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from pathlib import Path
from typing import Any

from hoppersheet.tables.catalog import read_catalog
from hoppersheet.tables.job_rows import JobSizer
from hoppersheet.tables.jobreading.list_reader import ListReader, read_rows
from hoppersheet.tables.sized_job import SizedJob

CATALOG = [["size [ft3]", "model"], [10, "M10"], [16, "M16"], [25, "M25"], [40, "M40"]]
PLAIN = ("throughput", "drying hours", "virgin density")
FULL = (
    "virgin share", "regrind share", "share basis", "virgin density", "regrind density",
    "throughput", "drying hours", "reserve",
)  # fmt: skip


class OneRow:
    """Sizes a row as a list of that one row, with the small catalog."""

    def __init__(self, headings: tuple[str, ...], units: str, basis: str) -> None:
        self._headings, self._units, self._basis = headings, units, basis
        #: column -> its place
        self.columns = ListReader(headings, units, basis=basis).found_at

    def size(self, row: list[Any]) -> SizedJob:
        reading = read_rows([list(self._headings), row], self._units, self._basis)
        catalog = read_catalog(CATALOG, reading.system)
        return JobSizer(reading, catalog).size(row)


def sizer(*headings: str, system: str = "US", basis: str = "not stated") -> OneRow:
    """A sizer for a list with these headings and the small catalog."""
    return OneRow(headings, system, basis)


def run(
    *arguments: str, stdin: bytes = b"", cwd: Path | None = None
) -> subprocess.CompletedProcess:
    command = [sys.executable, "-m", "hoppersheet", "size", *arguments]
    return subprocess.run(command, input=stdin, capture_output=True, cwd=cwd, timeout=120)


def rows_of(path: Path) -> list[dict[str, str]]:
    text = path.read_text(encoding="utf-8-sig")
    separator = "\t" if path.suffix == ".tsv" else ";" if text.count(";") > text.count(",") else ","
    lines = list(csv.reader(io.StringIO(text), delimiter=separator))
    start = next(i for i, line in enumerate(lines) if "throughput" in " ".join(line))
    return [dict(zip(lines[start], line, strict=True)) for line in lines[start + 1 :]]
