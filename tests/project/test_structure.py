"""What the package offers, and that nothing in it is left over."""

from __future__ import annotations

import ast
import doctest
import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import vulture

import hoppersheet
from hoppersheet import doors
from hoppersheet.functions import python_names

ROOT = Path(__file__).parents[2]

#: Called by their names alone: by LibreOffice, by click, by a request to the office's worker, by
#: what a test puts in Excel's place.
CALLED_BY_NAME = (
    "setLocale", "getLocale", "getServiceName", "getImplementationName", "execute",
    "getInteractionHandler", "getProgressHandler",
    "list_commands", "get_command", "format_commands", "*_command",
    "do_*", "__getattr__",
    "Open", "Save", "Close", "Quit", "hresult", "GetTypeInfo",
)  # fmt: skip


def test_the_public_api() -> None:
    """Frozen, as the functions' names are: others' scripts hold these."""
    assert hoppersheet.__all__ == [
        "OMITTED", "CellError", "HoppersheetError", "__version__", "air_heat", "air_moisture",
        "airflow", "audit_book", "blend_density", "call", "catalog_entry", "chance_held", "compute",
        "convert", "count", "dew_point", "explain", "extrusion_rate", "heat", "held_hours",
        "held_mass", "loaded_mass", "max_throughput", "molding_rate", "next_size", "rated_volume",
        "regrind_density", "required_volume", "resin", "sample_density", "sample_spread",
        "shape_volume", "size_below", "size_jobs", "size_margin", "version", "water_removed",
    ]  # fmt: skip
    assert issubclass(hoppersheet.CellError, hoppersheet.HoppersheetError)
    parameters = inspect.signature(hoppersheet.call).parameters
    assert [str(p) for p in parameters.values()] == ["name: 'str'", "*cells: 'Any'"]
    developers = (ROOT / "DEVELOPERS.md").read_text()
    for name in hoppersheet.__all__:
        assert f"hoppersheet.{name}" in developers or name in python_names()
    # What the package's own docstring shows is true.
    for module in (hoppersheet, doors):
        done = doctest.testmod(module)
        assert done.attempted and not done.failed


def test_an_error_of_the_api_says_code_argument_and_reason() -> None:
    try:
        hoppersheet.call("HOPPER_REQUIRED_VOLUME", 100, 4, 0.55)
    except hoppersheet.CellError as problem:
        assert (problem.code, problem.argument) == ("#NUM!", "bulk_density")
        assert "0.55 lb/ft3" in problem.reason
    else:
        raise AssertionError("0.55 lb/ft3 was taken for a bulk density")


SOURCES = {
    ".".join(path.relative_to(ROOT / "addin").with_suffix("").parts).removesuffix(".__init__"): path
    for path in (ROOT / "addin" / "hoppersheet").rglob("*.py")
}


def offered(module: str) -> set[str]:
    """What a module lists in ``__all__``; a command's file offers its command without saying so."""
    for node in ast.parse(SOURCES[module].read_text()).body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            return set(ast.literal_eval(node.value))
    return {"command"} if module.startswith("hoppersheet.commands.") else set()


def taken_from_modules() -> Iterator[tuple[str, str, str]]:
    """(file, module, name) of everything that one of our files imports from another."""
    inside = set(SOURCES.values())
    for path in [*inside, *ROOT.glob("tests/**/*.py"), *ROOT.glob("workbooks/*.py")]:
        parts = path.relative_to(ROOT / "addin" if path in inside else ROOT).parts[:-1]
        for node in ast.walk(ast.parse(path.read_text())):
            if not isinstance(node, ast.ImportFrom):
                continue
            package = list(parts[: len(parts) - node.level + 1]) if node.level else []
            module = ".".join([*package, *([node.module] if node.module else [])])
            for alias in node.names:
                if module in SOURCES and f"{module}.{alias.name}" not in SOURCES:
                    yield str(path.relative_to(ROOT)), module, alias.name


def test_modules_list_what_other_files_take_from_them() -> None:
    taken = list(taken_from_modules())
    assert len(taken) > 500
    assert [use for use in taken if use[2] not in offered(use[1])] == []


def test_the_formulas_know_nothing_of_cells_headings_or_files() -> None:
    """sizing/ takes SI floats and gives SI floats: it imports errors, the record, and itself."""
    for path in (ROOT / "addin" / "hoppersheet" / "sizing").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ImportFrom) and node.level:
                inside = node.level == 1 or node.module in ("errors", "registry")
                assert inside, f"{path.name} imports {node.module}"


def test_nothing_is_left_over() -> None:
    """No function, class, method, import or line that nothing reaches; attributes and variables
    are left out, because openpyxl and the office read those that we set.
    """
    finder = vulture.Vulture(ignore_names=list(CALLED_BY_NAME), ignore_decorators=["@fault"])
    finder.scavenge([str(ROOT / folder) for folder in ("addin/hoppersheet", "workbooks", "tests")])
    left = [
        f"{item.filename.relative_to(ROOT)}:{item.first_lineno} {item.typ} {item.name}"
        for item in finder.get_unused_code(min_confidence=60)
        if item.typ not in ("attribute", "variable")
    ]
    assert left == []


def _identifiers(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Name):
            yield node.id
        elif isinstance(node, ast.arg):
            yield node.arg
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            yield node.name


def test_words_keep_their_one_meaning() -> None:
    """The short list of project words in DEVELOPERS.md, as far as names can be looked at."""
    allowed = {
        "said": (), "told": (), "spot": (), "spots": (),
        "place": ("audit", "handoff", "workbook"), "places": ("audit", "handoff", "workbook"),
        "office": ("hosts", "workbook", "commands"),
    }  # fmt: skip
    seen = set()
    for file in (ROOT / "addin").rglob("*.py"):
        inside = file.relative_to(ROOT / "addin" / "hoppersheet")
        for name in set(_identifiers(ast.parse(file.read_text("utf-8")))):
            for word in set(re.findall("[a-z]+", name.lower())) & allowed.keys():
                seen.add(word)
                assert inside.parts[0] in allowed[word], f"{inside}: {name}"
    assert {"place", "office"} <= seen
