"""Runs in a fresh interpreter: cells through the real ``XLPython.CallUDF`` of xlwings.

Reads JSON, one item per line: first ``{"block": [module, ...]}`` with the modules that shall
look as if they were not installed, then calls ``[function, [argument, ...]]``. Answers each line
by ``{"value": ..., "types": [...]}`` or ``{"raised": ...}``.
``["time", function, arguments, rounds]`` measures a call instead. An argument is a plain cell
value, or one of these lists:

    ["missing"]            left out in the formula
    ["range", rows]        a reference: handed over as a Range object, as xlwings' own VBA does
    ["values", rows]       what our VBA makes of a reference: the values
    ["error", number]      an error value by its number in CVErr
    ["decimal", text]      a cell formatted as currency
    ["date", iso]          a date cell
    ["time", h, m]         a cell with a clock time
"""

from __future__ import annotations

import decimal
import json
import sys
import time


class _Blocked:
    """Makes modules look as if they were not installed."""

    def __init__(self, names: list[str]) -> None:
        self.names = set(names)

    def find_spec(self, name: str, *_: object) -> None:
        if name.partition(".")[0] in self.names:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)


def main() -> None:
    order = json.loads(sys.stdin.readline())
    sys.meta_path.insert(0, _Blocked(order["block"]))
    import pywin32_stand_ins as stand_ins

    xlwings = stand_ins.import_xlwings()
    from xlwings import com_server, conversion, udfs

    assert xlwings.func is udfs.xlfunc, "xlwings did not take its Windows branch"
    for name in order["block"]:
        assert name not in sys.modules
    assert (conversion.np is None) == ("numpy" in order["block"])
    assert (conversion.pd is None) == ("pandas" in order["block"])

    server = com_server.XLPython()
    error_base = 0x800A0000 - 2**32

    def cell(value: object) -> object:
        if not isinstance(value, list):
            return float(value) if type(value) is int else value
        kind, *rest = value
        if kind == "missing":
            return stand_ins.MISSING
        if kind == "error":
            return error_base + rest[0]
        if kind == "decimal":
            return decimal.Decimal(rest[0])
        if kind == "date":
            return stand_ins.TimeType.fromisoformat(rest[0])
        if kind == "time":
            return stand_ins.TimeType(1899, 12, 30, *rest)
        rows = tuple(tuple(cell(x) for x in row) for row in rest[0])
        single = len(rows) == 1 and len(rows[0]) == 1
        value = rows[0][0] if single else rows
        return value if kind == "values" else stand_ins.range_of(value)

    def types_in(value: object) -> set[str]:
        if type(value) is list:
            return {"list"}.union(*map(types_in, value))
        return {type(value).__name__}

    def call(function: str, arguments: list[object]) -> object:
        return server.CallUDF(
            "hoppersheet.hosts.excel.functions", function, tuple(map(cell, arguments)), None, None
        )

    def answer(order: list) -> dict[str, object]:
        if order[0] == "time":
            return {"times": _times(server, order[1], tuple(map(cell, order[2])), *order[3:])}
        try:
            value = call(*order)
        except Exception as problem:
            return {"raised": f"{type(problem).__name__}: {problem}"}
        return {"value": value, "types": sorted(types_in(value))}

    print(json.dumps({"xlwings": xlwings.__version__}), flush=True)
    for line in sys.stdin:
        print(json.dumps(answer(json.loads(line))), flush=True)


def _times(
    server: object, function: str, arguments: tuple[object, ...], rounds: int = 9
) -> list[list[float]]:
    """Pairs of seconds per call: ours, and a function with the same reading that does nothing."""
    from hoppersheet.hosts.excel import functions

    module = "hoppersheet.hosts.excel.functions"
    ours = getattr(functions, function)

    def nothing(*_: object) -> float:
        return 0.0

    nothing.__xlfunc__ = ours.__xlfunc__  # type: ignore[attr-defined]
    functions.NOTHING = nothing  # type: ignore[attr-defined]
    pairs = []
    for _ in range(rounds):
        pair = []
        for name in (function, "NOTHING"):
            start = time.process_time()
            for _ in range(500):
                server.CallUDF(module, name, arguments, None, None)  # type: ignore[attr-defined]
            pair.append((time.process_time() - start) / 500)
        pairs.append(pair)
    return pairs


if __name__ == "__main__":
    main()
