"""What is loaded when: Excel and Calc import the package in their own process, at every start."""

from __future__ import annotations

import ast
import importlib
import json
import pkgutil
import subprocess
import sys
from pathlib import Path

import pytest

import hoppersheet

#: Heavy or third-party: a plain-number call needs none of them.
HEAVY = (
    "pint",
    "openpyxl",
    "xlwings",
    "numpy",
    "pandas",
    "click",
    "rich",
    "psychrolib",
)
PACKAGE = Path(hoppersheet.__file__).parent


def modules_after(code: str) -> set[str]:
    """Which of HEAVY a fresh interpreter has loaded after ``code``."""
    show = f"import json, sys; print(json.dumps([m for m in {HEAVY!r} if m in sys.modules]))"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{show}"], capture_output=True, text=True, check=True
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_a_plain_number_call_prints_an_empty_list() -> None:
    """The command as the project states it, word for word."""
    code = (
        "import hoppersheet, sys; hoppersheet.call('HOPPER_REQUIRED_VOLUME', 120, 4, 30); "
        "print([m for m in ('pint','openpyxl','xlwings','numpy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("[]\n", "")


def test_plain_numbers_ranges_and_refusals_load_nothing_heavy() -> None:
    code = """
import hoppersheet
from hoppersheet import CellError, call
for cells in [("HOPPER_BLEND_DENSITY", [[0.5, 0.5]], [[48, 25]], "mass"),
              ("HOPPER_NEXT_SIZE", 10.96, [[10], [16]]),
              ("HOPPER_EXPLAIN", "HOPPER_HELD_MASS", 16, "36,5"),
              ("HOPPER_REQUIRED_VOLUME", 100, "30 nonsense", 30),
              ("HOPPER_REQUIRED_VOLUME", 100, 4, 0.55),
              ("HOPPER_REQUIRED_VOLUM", 1)]:
    try:
        call(*cells)
    except CellError:
        pass
"""
    assert modules_after(code) == set()


def test_only_a_text_with_another_unit_loads_pint_and_nothing_else() -> None:
    code = "import hoppersheet; hoppersheet.call('HOPPER_HELD_MASS', '16 ft3', '0.4 kg/L')"
    assert modules_after(code) == set()
    code = "import hoppersheet; hoppersheet.call('HOPPER_HELD_MASS', '16 gal', 36.5)"
    # pint itself loads numpy where it is installed.
    assert modules_after(code) - modules_after("import pint") == set()
    assert "pint" in modules_after(code)


def test_the_command_line_s_help_loads_click_and_nothing_else() -> None:
    code = """
import sys
from hoppersheet.cli import cli
cli(["--help"], standalone_mode=False)
"""
    assert modules_after(code) == {"click"}


def needs_an_office(name: str) -> bool:
    """Whether the file imports what only an office's own Python has."""
    source = importlib.util.find_spec(name).origin  # type: ignore[union-attr]
    tree = ast.parse(Path(str(source)).read_text(encoding="utf-8"))
    imported = {
        ((node.module or "") if isinstance(node, ast.ImportFrom) else alias.name).split(".")[0]
        for node in tree.body
        if isinstance(node, (ast.Import, ast.ImportFrom))
        for alias in node.names
    }
    return bool(imported & {"uno", "unohelper", "com"})


MODULES = ["hoppersheet"] + [
    module.name
    for module in pkgutil.walk_packages([str(PACKAGE)], "hoppersheet.")
    if not module.name.endswith(".__main__")
]


def test_only_the_files_of_the_calc_extension_need_an_office() -> None:
    assert all(".hosts.calc." in name for name in MODULES if needs_an_office(name))


@pytest.mark.parametrize("name", [name for name in MODULES if not needs_an_office(name)])
def test_what_a_module_offers_is_there_and_in_order(name: str) -> None:
    module = importlib.import_module(name)
    offered = getattr(module, "__all__", [])
    # Constants first, then classes, then functions, as ruff's RUF022 sorts them.
    kinds = [
        (0 if entry.isupper() else 1 if entry.lstrip("_")[:1].isupper() else 2, entry)
        for entry in offered
    ]
    assert kinds == sorted(kinds)
    assert len(set(offered)) == len(offered)
    for entry in offered:
        assert hasattr(module, entry), entry
