"""Invented job lists of any length, and copying them with nothing but the csv module or openpyxl.

python job_lists.py IN OUT      the floor: copies a list and adds as many result columns
"""

from __future__ import annotations

import csv
import random
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

__all__ = ["HEADINGS", "RESULTS", "rows", "write_csv", "write_xlsx"]

HEADINGS = [
    "job", "machine", "resin", "virgin share", "regrind share", "share basis", "virgin density",
    "regrind density", "throughput", "drying hours", "reserve", "note",
]  # fmt: skip

#: Result cells such as ``size`` adds to a row: eleven, of the usual lengths.
RESULTS: list[Any] = [
    35.2147239263804, 19.3084214932127, 12.0, 2.17521665428548, 20.0, 3.6253610904758, "EXAMPLE-20",
    12600, "shares by volume: by mass the volume would be 12.5 % larger", None, None,
]  # fmt: skip

# Resin, bulk density and regrind density in lb/ft3, hours: invented, of the usual magnitude.
_RESINS = [
    (f"resin {at}", 30 + at * 17 % 23 + at % 4 / 4, 16 + at * 5 % 12 + at % 2 / 2, 1.5 + at % 6 / 2)
    for at in range(40)
]
_REGRIND = (0, 0, 0, 5, 10, 15, 20, 25, 30, 40, 50)


def _typical(rng: random.Random, job: int) -> list[Any]:
    """A row of an estimator's list: few resins and recipes, throughputs to one decimal."""
    resin, virgin, regrind, hours = rng.choice(_RESINS)
    share = rng.choice(_REGRIND)
    return [
        f"job {job}", f"IM-{rng.randrange(60):02d}", resin, 100 - share, share,
        rng.choice(("volume", "mass", None)) if share else None, virgin,
        regrind if share else None, round(rng.uniform(8, 900), 1), hours,
        rng.choice((None, None, 0.1)), "invented",
    ]  # fmt: skip


def _all_different(rng: random.Random, job: int) -> list[Any]:
    """A row in which nothing repeats: measured densities, computed shares."""
    share = round(rng.uniform(1, 60), 3)
    return [
        f"job {job}", f"IM-{rng.randrange(60):02d}", f"lot {job}", round(100 - share, 3), share,
        rng.choice(("volume", "mass", None)), round(rng.uniform(28, 55), 4),
        round(rng.uniform(14, 28), 4), round(rng.uniform(8, 900), 3),
        round(rng.uniform(1, 8), 3), round(rng.uniform(0, 0.2), 4), "invented",
    ]  # fmt: skip


def rows(count: int, all_different: bool = False) -> Iterator[list[Any]]:
    """Headings and ``count`` jobs as cell values; the same ones every time."""
    rng, make = random.Random(7), _all_different if all_different else _typical
    yield HEADINGS
    for job in range(1, count + 1):
        yield make(rng, job)


def write_csv(path: Path, count: int, all_different: bool = False) -> Path:
    """A list as .csv."""
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows(count, all_different))
    return path


def write_xlsx(path: Path, count: int, all_different: bool = False) -> Path:
    """A list as .xlsx."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Jobs")
    for row in rows(count, all_different):
        sheet.append(row)
    book.save(path)
    return path


def _copy_csv(source: str, target: str) -> None:
    results = ["" if cell is None else str(cell) for cell in RESULTS]
    with (
        Path(source).open(encoding="utf-8-sig", newline="") as file,
        Path(target).open("w", encoding="utf-8-sig", newline="") as out,
    ):
        write = csv.writer(out).writerow
        for row in csv.reader(file):
            write(row + results)


def _copy_xlsx(source: str, target: str) -> None:
    from openpyxl import Workbook, load_workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Sized jobs")
    for row in load_workbook(source, read_only=True).active.iter_rows(values_only=True):
        sheet.append([*row, *RESULTS])
    book.save(target)


if __name__ == "__main__":
    copy = _copy_xlsx if sys.argv[1].endswith(".xlsx") else _copy_csv
    copy(sys.argv[1], sys.argv[2])
