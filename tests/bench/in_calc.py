"""Runs under the Python that has ``uno``: recalculates documents in one office, in turn.

Reads one JSON order on standard input: how to start the office, and the documents, each with
values, formulas of the first row (``{row}``) to be filled down, and array formulas. Each document
is calculated ``times`` times, one after the other in turn. The answer: per document the
``[wall, cpu]`` of every time, and the values of what was calculated.
"""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path
from typing import Any

import uno


def _office_clocks() -> list[int]:
    """The clocks of the processor time of the offices that this process group has started."""
    clocks = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            name, _, rest = stat.read_text().partition("(")[2].rpartition(")")
        except OSError:
            continue  # it has just ended
        if name == "soffice.bin" and int(rest.split()[2]) == os.getpgid(0):
            # What clock_getcpuclockid(3) gives for a process; Python has no name for it.
            clocks.append((~int(stat.parent.name) << 3) | 2)
    return clocks


def _fill(document: Any, order: dict[str, Any]) -> None:
    sheet = document.Sheets.getByIndex(0)
    for address, rows in order["values"].items():
        sheet.getCellRangeByName(address).setDataArray(tuple(map(tuple, rows)))
    for address, formulas in order.get("formulas", {}).items():
        # Filled down from the first row, as people do it.
        area = sheet.getCellRangeByName(address)
        top = area.RangeAddress.StartRow + 1
        first = tuple(formula.format(row=top) for formula in formulas)
        area.getCellRangeByPosition(0, 0, len(first) - 1, 0).setFormulaArray((first,))
        area.fillAuto(uno.Enum("com.sun.star.sheet.FillDirection", "TO_BOTTOM"), 1)
    for address, formula in order.get("arrays", {}).items():
        sheet.getCellRangeByName(address).setArrayFormula(formula)


def _calculated(document: Any, order: dict[str, Any]) -> list[list[Any]]:
    sheet = document.Sheets.getByIndex(0)
    return [list(row) for row in sheet.getCellRangeByName(order["read"]).getDataArray()]


def _timed(document: Any, clocks: list[int]) -> list[float]:
    """Seconds by the clock, and of processor in the office, that one calculation takes."""
    before = [time.perf_counter(), sum(map(time.clock_gettime, clocks))]
    document.calculateAll()
    after = [time.perf_counter(), sum(map(time.clock_gettime, clocks))]
    return [b - a for a, b in zip(before, after)]  # noqa: B905 as old a Python as the office's


def main() -> None:
    order = json.load(sys.stdin)
    sys.path.insert(0, order["worker"])
    import worker

    office = worker.Office(order["soffice"], order["profile"], 60)
    try:
        documents = []
        for document in order["documents"]:
            documents.append(office._open("private:factory/scalc"))
            documents[-1].enableAutomaticCalculation(False)
            _fill(documents[-1], document)
        clocks = _office_clocks()
        times: list[list[list[float]]] = [[] for _ in documents]
        for _ in range(order["times"]):
            for at, document in enumerate(documents):
                times[at].append(_timed(document, clocks))
        values = [_calculated(*pair) for pair in zip(documents, order["documents"])]  # noqa: B905
        for document in documents:
            document.close(True)
    finally:
        office.close()
    print(json.dumps({"times": times, "values": values}))


if __name__ == "__main__":
    main()
