"""Workbooks spoiled by chance, and workbooks that others made, through every command.

    .venv/bin/python tests/abuse/mutants.py FOLDER                   # each file, core engine
    .venv/bin/python tests/abuse/mutants.py FOLDER --mutants 5       # and five spoiled ones of each
    .venv/bin/python tests/abuse/mutants.py FOLDER --engine calc     # computed by one Calc

FOLDER holds .xlsx and .xlsm files, such as those that source packages of libraries carry
for their own tests (``pip download --no-deps --no-binary NAME NAME``). Prints what broke.
A mutant has a number for ever: ``mutant(data, 17)``.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import random
import re
import signal
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

from click.testing import CliRunner

from hoppersheet.cli import cli
from hoppersheet.errors import HoppersheetError

#: Arguments of every command that takes a workbook; OUT stands for a new file.
COMMANDS = {
    "compute": ("compute", "BOOK", "--engine", "core", "--out", "OUT.xlsx"),
    "audit": ("audit", "BOOK", "--engine", "core"),
    "plain": ("handoff", "BOOK", "--plain", "--engine", "core", "--out", "OUT.xlsx"),
    "values": ("handoff", "BOOK", "--values", "--engine", "core", "--out", "OUT.xlsx"),
    "names": ("names", "BOOK", "--out", "OUT.xlsx"),
    "size": ("size", "BOOK", "--out", "OUT.csv"),
}
SECONDS = 60

_WORDS = [
    b"A1", b"$B$2", b"A1:B3", b"XFD1048576", b"ZZZ9", b"Sheet1!A1", b"[1]S!A1", b"#REF!", b"1E308",
    b"-1", b"0", b"", b"&quot;", b"SUM(", b")", b",", b"{1,2;3}", b"HOPPER_NEXT_SIZE(1,", b":",
    b"%", b"OFFSET(A1,1,1)", b"INDIRECT(&quot;A&quot;&amp;1)", b"LET(x,1,x)", b"1048577", b"NaN",
    b"true", b"_x0000_", b"&#10;", b"99999999999", b"A:A", b"1:1", b"nothing", b"#N/A", b"=1",
    b"\xc3\xa9",
]  # fmt: skip


# --- spoiling -----------------------------------------------------------------------------


def _bytes_changed(data: bytes, chance: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def _cut(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data))]


def _value_changed(data: bytes, chance: random.Random) -> bytes:
    """An attribute's value replaced."""
    places = list(re.finditer(rb'="([^"]*)"', data))
    return _put(data, chance.choice(places).span(1), chance) if places else data


def _text_changed(data: bytes, chance: random.Random) -> bytes:
    """The text of an element replaced: formulas, values, names."""
    places = list(re.finditer(rb">([^<>]+)</", data))
    return _put(data, chance.choice(places).span(1), chance) if places else data


def _text_grown(data: bytes, chance: random.Random) -> bytes:
    """Words put into the text of an element."""
    places = list(re.finditer(rb"<f[^>]*>([^<>]*)</", data)) or list(
        re.finditer(rb">([^<>]+)</", data)
    )
    if not places:
        return data
    start, end = chance.choice(places).span(1)
    at = chance.randint(start, end)
    return data[:at] + b"".join(chance.choices(_WORDS, k=3)) + data[at:]


def _put(data: bytes, span: tuple[int, int], chance: random.Random) -> bytes:
    return data[: span[0]] + chance.choice(_WORDS) + data[span[1] :]


def _element_lost(data: bytes, chance: random.Random) -> bytes:
    places = list(re.finditer(rb"<(\w+)[^<>]*/>|<(\w+)[^<>]*>[^<>]*</\2>", data))
    if not places:
        return data
    start, end = chance.choice(places).span()
    return data[:start] + data[end:] * chance.choice((1, 1, 2))


_IN_A_PART: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _bytes_changed, _cut, _value_changed, _value_changed, _text_changed, _text_changed, _text_grown,
    _text_grown, _element_lost,
)  # fmt: skip


def mutant(data: bytes, number: int) -> bytes:
    """The spoiled workbook with this number."""
    chance = random.Random(number)
    if chance.random() < 0.08:  # the file itself
        return chance.choice((_bytes_changed, _cut))(data, chance)
    with zipfile.ZipFile(io.BytesIO(data)) as source:
        parts = {info.filename: source.read(info) for info in source.infolist()}
    for _ in range(chance.randint(1, 3)):
        wanted = [n for n in parts if parts[n] and n.endswith((".xml", ".rels"))]
        sheets = [n for n in wanted if "sheet" in n] or wanted
        name = chance.choice(sheets if chance.random() < 0.7 else wanted)
        if chance.random() < 0.05:
            del parts[name]
        else:
            parts[name] = chance.choice(_IN_A_PART)(parts[name], chance)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as target:
        for name, content in parts.items():
            target.writestr(name, content)
    return made.getvalue()


# --- trying -------------------------------------------------------------------------------


class TookTooLong(BaseException):
    """Not an Exception, so that no handler on the way takes it for a problem of the file."""


@contextlib.contextmanager
def limited(seconds: int) -> Iterator[None]:
    def stop(*_: object) -> None:
        raise TookTooLong

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def broken(book: Path, command: str) -> str:
    """What went wrong, "" where the command did its work or refused the file in one line."""
    out = book.parent / "out"
    arguments = [
        str(book) if word == "BOOK" else word.replace("OUT", str(out)) for word in COMMANDS[command]
    ]
    try:
        with limited(SECONDS):
            result = CliRunner().invoke(cli, arguments)
    except TookTooLong:
        return f"no answer within {SECONDS} s"
    finally:
        for made in book.parent.glob("out*"):
            made.unlink()
    problem = result.exception
    if isinstance(problem, HoppersheetError):
        return ""
    if problem is not None and not isinstance(problem, SystemExit):
        return f"{type(problem).__name__}: {problem}"
    if result.exit_code not in (0, 1, 2):
        return f"status {result.exit_code}"
    found = re.search(r"[^\n]*with these arguments \(\w+\)", result.output)
    return f"a slip of the evaluator: {found[0]}" if found else ""


def _by_calc(books: Iterator[tuple[str, bytes]]) -> Iterator[tuple[str, str, str]]:
    """(file, "calc", what went wrong) of each book computed in one office."""
    from hoppersheet.hosts.calc.office import Office
    from hoppersheet.workbook.compute import with_calc
    from hoppersheet.workbook.engines import Calc
    from hoppersheet.workbook.package import Package

    office = Office(timeout=SECONDS)
    calc = Calc(office.__enter__())
    for name, data in books:
        said = ""
        try:
            package = Package(name, data)
            package.refuse_document_types()
            with limited(2 * SECONDS):
                with_calc(package, calc)
        except HoppersheetError as problem:
            if "answer" in str(problem) or "not running" in str(problem):
                office.__exit__(None, None, None)
                office = Office(timeout=SECONDS)
                calc = Calc(office.__enter__())
        except (Exception, TookTooLong) as problem:
            said = f"{type(problem).__name__}: {problem}"
        yield name, "calc", said
    office.__exit__(None, None, None)


def _by_core(books: Iterator[tuple[str, bytes]]) -> Iterator[tuple[str, str, str]]:
    with tempfile.TemporaryDirectory() as folder:
        for name, data in books:
            book = Path(folder, f"book{Path(name).suffix}")
            book.write_bytes(data)
            for command in COMMANDS:
                yield name, command, broken(book, command)


def _books(folder: Path, mutants: int) -> Iterator[tuple[str, bytes]]:
    for path in sorted(p for p in folder.rglob("*.xls[xm]") if p.is_file()):
        data = path.read_bytes()
        yield path.name, data
        for number in range(mutants):
            with contextlib.suppress(zipfile.BadZipFile, KeyError, ValueError):
                yield f"{path.stem} {number}{path.suffix}", mutant(data, number)


def main() -> None:
    """Try all files of a folder and print what broke."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--mutants", type=int, default=0)
    parser.add_argument("--engine", choices=("core", "calc"), default="core")
    arguments = parser.parse_args()
    books = _books(arguments.folder, arguments.mutants)
    counts: Counter[str] = Counter()
    begun = time.monotonic()
    for name, command, said in (_by_calc if arguments.engine == "calc" else _by_core)(books):
        counts["tried"] += 1
        if said:
            counts["broken"] += 1
            print(f"{name}, {command}: {said[:300]}", flush=True)
    print(dict(counts), f"{time.monotonic() - begun:.0f} s")
    sys.exit(bool(counts["broken"]))


if __name__ == "__main__":
    main()
