"""No file of the package needs, even in a roundabout way, a file that needs it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import hoppersheet

PACKAGE = Path(hoppersheet.__file__).parent
FILES = {
    ".".join(("hoppersheet", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(
        ".__init__"
    ): path
    for path in PACKAGE.rglob("*.py")
}


def imported(name: str, path: Path) -> Iterator[str]:
    """The files of ours that a file imports: at its head, inside functions, for types alone."""
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in FILES)
        elif isinstance(node, ast.ImportFrom):
            above = package.split(".")[: len(package.split(".")) - max(node.level - 1, 0)]
            base = ".".join([*(above if node.level else []), *filter(None, [node.module])])
            for alias in node.names:
                inner = f"{base}.{alias.name}"
                if inner in FILES:
                    yield inner
                elif base in FILES:
                    yield base


def circles(needs: dict[str, set[str]]) -> list[list[str]]:
    """Groups of files that need each other."""
    reached = {name: _reached(name, needs) for name in needs}
    groups = {
        tuple(sorted(other for other in reached[name] if name in reached[other]))
        for name in needs
        if name in reached[name]
    }
    return [list(group) for group in sorted(groups)]


def _reached(start: str, needs: dict[str, set[str]]) -> set[str]:
    seen: set[str] = set()
    waiting = list(needs[start])
    while waiting:
        name = waiting.pop()
        if name not in seen:
            seen.add(name)
            waiting.extend(needs[name])
    return seen


def test_no_file_needs_itself_in_a_roundabout_way() -> None:
    needs = {name: set(imported(name, path)) - {name} for name, path in FILES.items()}
    assert len(needs) > 100
    assert sum(map(len, needs.values())) > 300, "imports are not seen"
    assert circles(needs) == []


def test_a_circle_is_seen() -> None:
    needs = {"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": {"a"}}
    assert circles(needs) == [["b", "c"]]
