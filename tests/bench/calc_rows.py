"""What cells cost in a real Calc: against functions that do nothing, and against its own."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
from itertools import islice
from pathlib import Path
from typing import Any

import empty_addin
import job_lists
from measuring import Pair, Row, Run, process

from hoppersheet.hosts.calc import profiles, programs, worker_link

__all__ = ["audit", "cells"]

_HERE = Path(__file__).parent
_BOUND = "reading, checking and rounding in Python, against nothing at all"

_SIZES = [0.5, 1, 2, 4, 7, 10, 16, 25, 40, 60, 90, 140, 210]
_CATALOG = [["size [ft3]", "model"], *([size, f"M{size:g}"] for size in _SIZES)]
_SIZES_AT = "$N$2:$N$14"

#: The result columns of a job list in Calc's own functions, without any check of what they get.
_NATIVE = {
    "Q": "=A{row}",
    "R": "=IF(E{row}=0;G{row};IF(F{row}=\"mass\";(D{row}+E{row})/(D{row}/G{row}+E{row}/H{row});"
    "(D{row}*G{row}+E{row}*H{row})/(D{row}+E{row})))",
    "S": "=I{row}*J{row}/R{row}*(1+N(K{row}))",
    "T": f"=INDEX({_SIZES_AT};MATCH(S{{row}}*(1-1E-9);{_SIZES_AT};1))",
    "U": "=T{row}*R{row}/I{row}",
    "V": f"=IF(S{{row}}*(1-1E-9)>MAX({_SIZES_AT});NA();"
    f"INDEX({_SIZES_AT};IFERROR(MATCH(S{{row}}*(1-1E-9);{_SIZES_AT};1);0)+1))",
    "W": "=V{row}*R{row}/I{row}",
    "X": f"=INDEX($O$2:$O$14;MATCH(V{{row}};{_SIZES_AT};0))",
    "Y": "=IF(AND(E{row}>0;F{row}=\"\");\"shares by volume: by mass the volume would be \"&"
    "TEXT(((D{row}*G{row}+E{row}*H{row})/(D{row}+E{row})^2*(D{row}/G{row}+E{row}/H{row})-1)*100;"
    "\"0.00\")&\" % larger\";\"\")",
    "Z": "=IF(ISNA(V{row});\"required volume: \"&TEXT(S{row};\"0.0\")&"
    "\" ft3 is larger than the largest catalog size\";\"\")",
}  # fmt: skip

#: Function -> its arguments in row {row} of the job list, all with the density in column G.
_CALLS = {
    "REQUIRED_VOLUME": "I{row};J{row};G{row}",
    "BLEND_DENSITY": 'D{row}:E{row};G{row}:H{row};"mass"',
    "NEXT_SIZE": "G{row};$N$2:$N$14",
}


def _measured(
    documents: list[dict[str, Any]], times: int, offices: int
) -> tuple[list[list[Run]], list[Any]]:
    """The runs of each document, calculated in turn ``times`` times an office, and its values.

    Several offices, because each call makes the kernel map and unmap a stack for Python, and where
    in memory that happens decides for a whole document whether it takes 1 us or 15.
    """
    runs: list[list[Run]] = [[] for _ in documents]
    for _ in range(offices):
        found, values = _in_one_office(documents, times)
        for all_runs, more in zip(runs, found, strict=True):
            all_runs += more
    return runs, values


def _in_one_office(
    documents: list[dict[str, Any]], times: int
) -> tuple[list[list[Run]], list[Any]]:
    found = programs.find()
    with tempfile.TemporaryDirectory(prefix="hoppersheet-bench-") as folder:
        profile = profiles.copy_prepared(found, Path(folder) / "profile")
        empty_addin.install(profile, found)
        order = {
            "soffice": str(found.soffice), "profile": str(profile), "documents": documents,
            "times": times, "worker": str(Path(worker_link.__file__).parent),
        }  # fmt: skip
        child = subprocess.Popen(
            [str(found.python), str(_HERE / "in_calc.py")], text=True, start_new_session=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            env={k: v for k, v in os.environ.items() if not k.startswith("PYTHON")},
        )  # fmt: skip
        try:
            out, errors = child.communicate(json.dumps(order), timeout=600)
        except BaseException:  # an office that nobody waits for would calculate on
            os.killpg(child.pid, signal.SIGKILL)
            raise
        if child.returncode != 0:
            raise RuntimeError(f"Calc could not be measured: {errors}")
    answer = json.loads(out)
    runs = [[Run(*both) for both in one] for one in answer["times"]]
    return runs, answer["values"]


def _list(count: int, all_different: bool) -> dict[str, Any]:
    """The values of a document with a job list and a catalog."""
    rows = [
        ["" if cell is None else cell for cell in row]
        for row in islice(job_lists.rows(count, all_different), count + 1)
    ]
    return {f"A1:L{count + 1}": rows, "N1:O14": _CATALOG}


def _check(ours: list[list[Any]], native: list[list[Any]]) -> None:
    """Both sides must have worked out the same, or the comparison compares nothing."""
    for number, (mine, theirs) in enumerate(zip(ours, native, strict=True), 2):
        for a, b in zip(mine[:8], theirs[:8], strict=True):
            same = a == b or (
                isinstance(a, float) and isinstance(b, float) and abs(a - b) <= 1e-9 * abs(b)
            )
            if not same:
                raise AssertionError(f"row {number}: {mine[:8]} here, {theirs[:8]} in Calc")


def cells(quick: bool, _folder: Path) -> list[Row]:
    """Function cells against empty functions, and one array call against native formulas."""
    count, times, offices = (50, 2, 1) if quick else (10_000, 3, 8)
    return [
        *_calls(count, times, offices),
        *_jobs(count, times, min(offices, 3)),
    ]


def _calls(count: int, times: int, offices: int) -> list[Row]:
    """Cells of single functions."""
    last = count + 1
    documents = [
        {
            "values": _list(count, True),
            "formulas": {f"Q2:Q{last}": [f"={prefix}{name}({arguments})"]},
            "read": f"Q2:Q{last}",
        }
        for name, arguments in _CALLS.items()
        for prefix in ("HOPPER_", "EMPTY_")
    ]
    runs, values = _measured(documents, times, offices)
    rows = []
    for at, name in enumerate(_CALLS):
        ours, empty = values[2 * at : 2 * at + 2]
        if not all(isinstance(row[0], float) and row[0] > 0 for row in ours):
            raise AssertionError(f"HOPPER_{name} gave {ours[:5]}")
        if any(row != [0.0] for row in empty):
            raise AssertionError(f"EMPTY_{name} gave {empty[:5]}")
        rows.append(
            _row(Pair(*runs[2 * at : 2 * at + 2]), count,
                 f"{count:,} cells HOPPER_{name} in Calc, recalculated",
                 "an empty add-in function, same arguments", "<= 3x",
                 _BOUND)
        )  # fmt: skip
    return rows


def _jobs(count: int, times: int, offices: int) -> list[Row]:
    """A job list sized by one array formula, and by Calc's own functions."""
    last = count + 1
    lists = {"a typical list": False, "a list in which nothing repeats": True}
    documents = []
    for all_different in lists.values():
        values = _list(count, all_different)
        jobs = f"=HOPPER_SIZE_JOBS($A$1:$L${last};$N$1:$O$14)"
        read = f"Q2:Z{last}"
        documents += [
            {"values": values, "arrays": {f"Q1:Z{last}": jobs}, "read": read},
            {"values": values, "formulas": {read: list(_NATIVE.values())}, "read": read},
        ]
    runs, found = _measured(documents, times, offices)
    rows = []
    for at, name in enumerate(lists):
        _check(*found[2 * at : 2 * at + 2])
        rows.append(
            _row(Pair(*runs[2 * at : 2 * at + 2]), count,
                 f"HOPPER_SIZE_JOBS on {count:,} rows, {name}",
                 "the same columns in Calc's own functions, unchecked", "<= 5x",
                 "reading and checking each cell in Python; ten cells a row handed back")
        )  # fmt: skip
    return rows


def _row(pair: Pair, count: int, work: str, compared: str, goal: str, bound: str) -> Row:
    found = f"{pair.ratio('cpu'):.2f}x ({pair.ratio('wall'):.2f}x on the clock)"
    ours, floor = (1e6 * seconds / count for seconds in pair.least("wall"))
    return Row(work, compared, goal, found, f"{ours:.1f} / {floor:.1f} us each", bound)


def audit(quick: bool, folder: Path) -> list[Row]:
    """An audit against computing the same workbook once in Calc."""
    lines, times = (12, 1) if quick else (1000, 3)
    book, out = _sizing_book(folder / "sizing.xlsx", lines), folder / "computed.xlsx"
    command = [sys.executable, "-m", "hoppersheet"]
    stored = folder / "stored.xlsx"
    process([*command, "compute", str(book), "--out", str(stored)])
    book = stored
    pair = Pair([], [])
    for _ in range(times):
        pair.floor.append(process([*command, "compute", str(book), "--force", "--out", str(out)]))
        pair.ours.append(process([*command, "audit", str(book), "--json"], (0, 1)))
    ours, floor = pair.least("wall")
    return [
        Row(
            f"`audit` of {5 * lines:,} sizing cells", "`compute` of them in Calc", "<= 3x",
            f"{pair.ratio('cpu'):.2f}x ({pair.ratio('wall'):.2f}x on the clock)",
            f"{ours:.1f} / {floor:.1f}",
            "each line worked out again, each figure behind the total tried",
        )
    ]  # fmt: skip


def _sizing_book(path: Path, lines: int) -> Path:
    """A workbook of ``lines`` lines with five calls of ours in each."""
    from openpyxl import Workbook

    from audit.audit_books import CATALOG, COLUMN, FIRST, HEADINGS, formulas

    book = Workbook(write_only=True)
    sheet, catalog = book.create_sheet("Sizing"), book.create_sheet("Catalog")
    sheet.append(["Invented lines"])
    for _ in range(FIRST - 3):
        sheet.append([])
    sheet.append(list(HEADINGS.values()))
    typed = job_lists.rows(lines)
    next(typed)
    for number, job in enumerate(typed, FIRST):
        cells: dict[str, Any] = {
            "job": job[0], "virgin_share": job[3] / 100, "basis": job[5] or "volume",
            "virgin": job[6], "regrind": job[7] or job[6] / 2, "origin": "measured",
            "rate": job[8] / 4, "hours": job[9], "quantity": 1, "high": job[6] + 4, "empty": 300,
        }  # fmt: skip
        cells.update(formulas(number))
        sheet.append([cells.get(key) for key in COLUMN])
    catalog.append(["Size [ft3]", "Model", "Price"])
    for size, model, price in CATALOG:
        catalog.append([size * 2, model, price])
    book.save(path)
    return path
