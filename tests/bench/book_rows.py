"""What a whole workbook costs: the demo quote computed by Calc, by the core, and audited."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from measuring import Pair, Row, process

__all__ = ["books"]

_DEMO = Path(__file__).parents[2] / "workbooks" / "demo_quote.xlsx"
_HOPPERSHEET = [sys.executable, "-m", "hoppersheet"]


def _bare(folder: Path) -> list[str]:
    """LibreOffice as anybody starts it to convert a file, with the add-in and nothing of ours."""
    from hoppersheet.hosts.calc import profiles, programs
    from hoppersheet.hosts.calc.office import Office

    with Office():
        pass  # prepares a profile where there is none yet
    prepared = profiles.kept(programs.find())
    assert prepared is not None
    shutil.copytree(prepared, folder / "profile", symlinks=True)
    return [
        str(programs.find().soffice), "--headless", "--convert-to", "xlsx",
        "--outdir", str(folder / "converted"),
        f"-env:UserInstallation={(folder / 'profile').as_uri()}", str(_DEMO),
    ]  # fmt: skip


def books(quick: bool, folder: Path) -> list[Row]:
    """`compute` and `audit` of the demo quote, in turn with what each is compared with."""
    bare, out = _bare(folder), str(folder / "out.xlsx")
    compute = [*_HOPPERSHEET, "compute", str(_DEMO), "--out", out, "--force"]
    audit = [*_HOPPERSHEET, "audit", str(_DEMO), "--json"]
    process(bare)  # warm
    runs: dict[str, list] = {"bare": [], "calc": [], "core": [], "audit": [], "audit core": []}
    for _ in range(1 if quick else 7):
        runs["bare"].append(process(bare))
        runs["calc"].append(process([*compute, "--engine", "calc"]))
        runs["core"].append(process([*compute, "--engine", "core"]))
        runs["audit"].append(process([*audit, "--engine", "calc"], (0, 1)))
        runs["audit core"].append(process([*audit, "--engine", "core"], (0, 1)))
    return [
        _row("`compute` of the demo quote", "`soffice --convert-to xlsx` of it, warm profile",
             "<= 1.3x", Pair(runs["calc"], runs["bare"]),
             "an own copy of the profile, a known call, every cell calculated afresh and read"),
        _row("`compute --engine core` of it", "`compute` in Calc", "< 0.5x",
             Pair(runs["core"], runs["calc"]), "starting Python; formulas in Python"),
        _row("`audit` of it", "`compute` in Calc", "<= 1.3x", Pair(runs["audit"], runs["calc"]),
             "it computes first, then works each line out again and tries the total"),
        _row("`audit --engine core` of it", "`compute --engine core`", "",
             Pair(runs["audit core"], runs["core"]), "the same"),
    ]  # fmt: skip


def _row(work: str, compared: str, goal: str, pair: Pair, bound: str) -> Row:
    ours, floor = pair.least("wall")
    found = f"{pair.ratio('cpu'):.2f}x ({pair.ratio('wall'):.2f}x on the clock)"
    return Row(work, compared, goal, found, f"{ours:.1f} / {floor:.1f}", bound)
