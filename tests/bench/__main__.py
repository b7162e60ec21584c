"""What hoppersheet costs, as ratios against the least that the same work could take.

    .venv/bin/python tests/bench               # everything; a third of an hour
    .venv/bin/python tests/bench csv calc      # some parts
    .venv/bin/python tests/bench --quick       # tiny sizes: only whether it still runs

Prints the table of README.md here. The two things of a row run in turn and the least
time of each counts, so a busy machine makes it slower and hardly wrong; still, run it on an idle
one. ``found`` is a ratio of processor time; what the clock says stands beside it.
"""

from __future__ import annotations

import argparse
import csv
import json
import platform
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

import book_rows  # noqa: E402
import calc_rows  # noqa: E402
import job_lists  # noqa: E402
from measuring import Pair, Row, Run, in_turn, print_table, process  # noqa: E402

PYTHON = sys.executable
LISTS = {"a typical list": False, "a list in which nothing repeats": True}


# --- files --------------------------------------------------------------------------------


def _sized(source: Path, folder: Path, times: int) -> Pair:
    """``size`` of a list, and a copy of it with as many columns."""
    sized, copied = (folder / f"{name}{source.suffix}" for name in ("sized", "copied"))
    size = [PYTHON, "-m", "hoppersheet", "size", str(source), "--force", "--out", str(sized)]
    copy = [PYTHON, str(HERE / "job_lists.py"), str(source), str(copied)]
    pair = in_turn(lambda: process(size, (0, 1)), lambda: process(copy), times)
    _compare(sized, copied)
    for made in (sized, copied):
        made.unlink()
    return pair


def _compare(sized: Path, copied: Path) -> None:
    """The columns of the list must have arrived in both files, as they were."""
    if sized.suffix == ".csv":
        with sized.open(encoding="utf-8-sig") as one, copied.open(encoding="utf-8-sig") as other:
            _compare_rows(csv.reader(one), csv.reader(other))
    else:
        from openpyxl import load_workbook

        _compare_rows(
            *(load_workbook(file, read_only=True).active.values for file in (sized, copied))
        )


def _compare_rows(one: object, other: object) -> None:
    width, count = len(job_lists.HEADINGS), 0
    for count, (a, b) in enumerate(zip(one, other, strict=True)):  # type: ignore[call-overload]
        if list(a[:width]) != list(b[:width]):
            raise AssertionError(f"row {count + 1}: {a} sized, {b} copied")
    if not count:
        raise AssertionError("nothing was written")


def _file_row(pair: Pair, work: str, compared: str, goal: str, memory: int, bound: str) -> Row:
    found = f"{pair.ratio('cpu'):.2f}x ({pair.ratio('wall'):.2f}x on the clock), {pair.peak:.0f} MB"
    ours, floor = pair.least("cpu")
    goal = f"{goal}, <= {memory} MB"
    return Row(work, compared, goal, found, f"{ours:.1f} / {floor:.1f}", bound)


def of_csv(quick: bool, folder: Path) -> list[Row]:
    """A large .csv to .csv."""
    count, times = (300, 1) if quick else (1_000_000, 3)
    rows = []
    for name, all_different in LISTS.items():
        source = job_lists.write_csv(folder / "jobs.csv", count, all_different)
        rows.append(
            _file_row(
                _sized(source, folder, times), f"`size` of {count:,} rows .csv, {name}",
                "the csv module copying as many columns", "<= 4x", 150,
                "numbers from text and text from numbers; the csv module alone is C",
            )
        )  # fmt: skip
    return rows


def of_xlsx(quick: bool, folder: Path) -> list[Row]:
    """A large .xlsx to .xlsx."""
    count, times = (300, 1) if quick else (100_000, 2)
    source = job_lists.write_xlsx(folder / "jobs.xlsx", count, all_different=True)
    return [
        _file_row(
            _sized(source, folder, times),
            f"`size` of {count:,} rows .xlsx, a list in which nothing repeats",
            "openpyxl streaming a copy with as many columns", "<= 1.0x", 300,
            "openpyxl reading and writing XML",
        )
    ]  # fmt: skip


def growth(quick: bool, folder: Path) -> list[Row]:
    """The cost of a row must not depend on how many there are."""
    counts = {
        ".csv": (200,) if quick else (10_000, 100_000, 1_000_000),
        ".xlsx": () if quick else (10_000, 100_000),
    }
    rows = []
    for ending, sizes in counts.items():
        for count in sizes:
            write = job_lists.write_csv if ending == ".csv" else job_lists.write_xlsx
            pair = _sized(write(folder / f"jobs{ending}", count), folder, 1 if quick else 2)
            ours, floor = pair.least("cpu")
            rows.append(
                Row(
                    f"`size` of {count:,} rows {ending}, a typical list", "as above", "linear",
                    f"{1e6 * ours / count:.1f} us a row, {pair.peak:.0f} MB",
                    f"{ours:.2f} / {floor:.2f}", "starting up, below 100,000 rows",
                )
            )  # fmt: skip
    return rows


# --- starting -----------------------------------------------------------------------------


def starting(quick: bool, _folder: Path) -> list[Row]:
    """What a fresh interpreter takes until the first answer."""
    call = "import hoppersheet; hoppersheet.call('HOPPER_REQUIRED_VOLUME', 120, 4, 30)"
    commands = {
        "`import hoppersheet` and a first plain-number call": ([PYTHON, "-c", call], 40),
        "`hoppersheet --version`": ([PYTHON, "-m", "hoppersheet", "--version"], 120),
    }
    rows = []
    for work, (command, goal) in commands.items():
        pair = in_turn(
            lambda command=command: process(command),  # type: ignore[misc]
            lambda: process([PYTHON, "-c", "pass"]),
            1 if quick else 25,
        )
        more = {what: 1000 * (a - b) for what in ("cpu", "wall") for a, b in [pair.least(what)]}
        ours, floor = pair.least("wall")
        rows.append(
            Row(
                work, "bare `python -c pass`", f"<= +{goal} ms",
                f"+{more['cpu']:.0f} ms (+{more['wall']:.0f} ms on the clock)",
                f"{ours:.3f} / {floor:.3f}",
                "importing modules of the standard library and of click",
            )
        )  # fmt: skip
    return rows


# --- Excel --------------------------------------------------------------------------------

# What is left out at the end of a formula our VBA does not hand over.
_SIZES = ["values", [[size] for size in (0.5, 1, 2, 4, 7, 10, 16, 25, 40, 60, 90, 140, 210)]]
_CALLS = {
    "HOPPER_REQUIRED_VOLUME": [100, 4, 36.5],
    "HOPPER_BLEND_DENSITY": [["values", [[0.7, 0.3]]], ["values", [[35, 19]]], "mass"],
    "HOPPER_NEXT_SIZE": [10.96, _SIZES],
}


def excel(quick: bool, _folder: Path) -> list[Row]:
    """A cell through xlwings' own CallUDF over stand-ins for pywin32, as a user has it."""
    rounds = 1 if quick else 60
    orders = [{"block": ["numpy", "pandas"]}, *(["time", *c, rounds] for c in _CALLS.items())]
    done = subprocess.run(
        [PYTHON, str(HERE.parent / "hosts" / "excel" / "call_udf.py")],
        input="".join(json.dumps(order) + "\n" for order in orders),
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode != 0:
        raise RuntimeError(f"the Excel path could not be measured: {done.stderr}")
    rows = []
    for name, line in zip(_CALLS, done.stdout.splitlines()[1:], strict=True):
        ours, nothing = zip(*json.loads(line)["times"], strict=True)
        pair = Pair([Run(t, t) for t in ours], [Run(t, t) for t in nothing])
        mine, floor = (1e6 * seconds for seconds in pair.least("cpu"))
        rows.append(
            Row(
                f"one cell {name} through xlwings", "an empty function, same arguments",
                "<= 1.3x", f"{pair.ratio('cpu'):.2f}x", f"{mine:.1f} / {floor:.1f} us",
                "xlwings converting each argument; over real COM both sides are slower still",
            )
        )  # fmt: skip
    return rows


PARTS: dict[str, Callable[[bool, Path], list[Row]]] = {
    "xlsx": of_xlsx,
    "csv": of_csv,
    "excel": excel,
    "calc": calc_rows.cells,
    "start": starting,
    "audit": calc_rows.audit,
    "books": book_rows.books,
    "growth": growth,
}


def _machine() -> str:
    """Date and machine, for the head of the table."""
    cpu = Path("/proc/cpuinfo")
    models = [x for x in cpu.read_text().splitlines() if x.startswith("model name")]
    model = models[0].partition(":")[2].strip() if models else platform.processor()
    return (
        f"{time.strftime('%Y-%m-%d')}, {len(models)} cores {model}, {platform.system()}, "
        f"Python {platform.python_version()}"
    )


def main() -> None:
    """Run the parts that were asked for and print the table."""
    parser = argparse.ArgumentParser(prog="tests/bench", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("parts", nargs="*", metavar="PART", help=", ".join(PARTS))
    parser.add_argument("--quick", action="store_true", help="tiny sizes; the times mean nothing")
    arguments = parser.parse_args()
    unknown = set(arguments.parts) - set(PARTS)
    if unknown:
        parser.error(f"no part {', '.join(sorted(unknown))}; there are {', '.join(PARTS)}")
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # so that all that was begun ends
    rows = []
    for name in arguments.parts or PARTS:
        print(f"{name} ...", file=sys.stderr, flush=True)
        with tempfile.TemporaryDirectory(prefix="hoppersheet-bench-") as folder:
            rows += PARTS[name](arguments.quick, Path(folder))
    print(_machine() + (", quick: the times mean nothing" if arguments.quick else "") + "\n")
    print_table(rows)


if __name__ == "__main__":
    main()
