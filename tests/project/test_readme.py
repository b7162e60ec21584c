"""The README's commands run as written, in blocks and within sentences; what it prints is what
they print; its formulas give what it says; its links and pictures are there.

A block of output follows a comment ``<!-- output: COMMAND -->``. After a change of the output,
``.venv/bin/python tests/project/test_readme.py`` writes the blocks anew.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import hoppersheet
from hoppersheet.cli import COMMANDS
from hoppersheet.functions import all_functions

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
_SHELL = re.compile(r"^```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_OUTPUT = re.compile(r"<!-- output: (.+?) -->\n\n```text\n(.*?)```\n", re.DOTALL)

_BAT = re.compile(r"^```bat\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_TEXT = re.compile(r"^```text\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_BLOCK = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)
_COMMAND = re.compile(r"(?:hoppersheet|pip|py|sh|\.) .+")

#: What a test must not run from inside a test run.
NOT_RUN = {
    "sh tests/run": "this is the test run",
    ".venv/bin/hoppersheet calc install": "tests/hosts/calc/test_installation.py does, and tidies",
    ".venv/bin/hoppersheet calc status": "goes with calc install",
    "hoppersheet calc remove": "goes with calc install",
    "hoppersheet doctor": "ends with 1 where Calc has no add-in; tests/hosts/test_doctor.py does",
    ". .venv/bin/activate": "changes the shell it is typed into, and nothing else",
}
#: Excel is on Windows: elsewhere these say so in one line (tests/hosts/excel runs them).
_WINDOWS_ONLY = "hoppersheet excel "
#: Commands that end with 1 because their input has problems or assumptions, as it is meant to.
HAS_FINDINGS = ("demo_jobs_to_mend", "demo_quote.xlsx --plain")


def shell_lines() -> list[str]:
    lines = [line for block in _SHELL.findall(README.read_text()) for line in block.splitlines()]
    return [line for line in lines if line.strip() and not line.startswith("#")]


def run(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    # The checkout's own commands, whatever environment the tests run in.
    bin_folder = Path(sys.executable).parent
    line = line.replace("sh addin/setup && ", "").replace(".venv/bin/", f"{bin_folder}/")
    line = re.sub(r"(?<![\w/.])(workbooks|addin|tests)/", rf"{ROOT}/\1/", line)
    environment = {**os.environ, "NO_COLOR": "1", "COLUMNS": "80"}
    return subprocess.run(
        ["sh", "-c", line], cwd=folder, env=environment, capture_output=True, text=True, timeout=300
    )


@pytest.mark.parametrize("line", [x for x in shell_lines() if x not in NOT_RUN])
def test_command_of_the_readme(line: str, tmp_path: Path) -> None:
    done = run(line, tmp_path)
    expected = 1 if any(name in line for name in HAS_FINDINGS) else 0
    assert done.returncode == expected, done.stderr


def commands_within() -> list[str]:
    """Commands within sentences and in the block for Windows, as one would type them here."""
    text = README.read_text()
    blocks = [line for block in _BAT.findall(text) for line in block.splitlines()]
    typed = [re.sub(r"^%USERPROFILE%\S*\\(\w+) ", r"\1 ", line) for line in blocks]
    spans = _BLOCK.sub("", text).split("`")[1::2]
    return list(dict.fromkeys([*filter(_COMMAND.fullmatch, spans), *typed]))


RUN_WITHIN = [
    line for line in commands_within() if line not in NOT_RUN and line.startswith("hoppersheet ")
]


@pytest.fixture(scope="module")
def small_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workbook with cells of ours that takes less time than the demo quote."""
    folder = tmp_path_factory.mktemp("small")
    run(".venv/bin/hoppersheet size workbooks/demo_jobs.csv --formulas --out book.xlsx", folder)
    return folder / "book.xlsx"


@pytest.mark.parametrize("line", RUN_WITHIN)
def test_command_within_a_sentence(line: str, small_book: Path, tmp_path: Path) -> None:
    for name in ("BOOK.xlsx", "OLD.xlsx", "NEW.xlsx"):
        # Only the quote workbook has a sheet to print for the customer.
        source = ROOT / "workbooks" / "demo_quote.xlsx" if "--page Quote" in line else small_book
        shutil.copyfile(source, tmp_path / name)
    typed = re.sub(r"\bBOOK\b", "BOOK.xlsx", re.sub(r"--out F\b", "--out F.xlsx", line))
    done = run(f".venv/bin/{typed}", tmp_path)
    if line.startswith(_WINDOWS_ONLY) and sys.platform != "win32":
        assert done.returncode == 2
        assert re.fullmatch(r"hoppersheet: .*Windows.*\n", done.stderr), done.stderr
        return
    assert done.returncode == 0, done.stdout + done.stderr
    assert ("--out F" in line) == (tmp_path / "F.xlsx").is_file()


def test_no_command_is_passed_over() -> None:
    """Each is run, or stands in NOT_RUN with who runs it; the block for Windows installs."""
    lines = {*shell_lines(), *commands_within()}
    assert set(NOT_RUN) <= lines, "NOT_RUN names what the README no longer has"
    left = lines - set(NOT_RUN) - set(RUN_WITHIN) - set(shell_lines())
    assert left == {r"py -m venv %USERPROFILE%\hoppersheet-env", "pip install ."}
    words = {line.split()[1] for line in lines if line.startswith("hoppersheet ")}
    words |= {m for line in lines for m in re.findall(r"\.venv/bin/hoppersheet (\w+)", line)}
    assert words == set(COMMANDS)


def test_installed_as_on_windows(tmp_path: Path) -> None:
    """``py -m venv``, ``pip install .`` and the command from there, with its own data files."""
    subprocess.run([sys.executable, "-m", "venv", tmp_path / "env"], check=True)
    programs = next(folder for folder in (tmp_path / "env").iterdir() if folder.name == "bin")
    copy = tmp_path / "clone"
    # Without git, which an unpacked folder does not need.
    for name in ("addin", "tests"):
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("README.md", "LICENSE", "pyproject.toml"):
        shutil.copyfile(ROOT / name, copy / name)
    subprocess.run(
        [programs / "pip", "install", "--quiet", "--disable-pip-version-check", "."],
        cwd=copy, check=True, timeout=300,
    )  # fmt: skip
    shutil.rmtree(copy)
    for words, said in (
        (["functions", "--guide"], (ROOT / "workbooks" / "function_guide.md").read_text()),
        (["--version"], f"hoppersheet {hoppersheet.__version__}\n"),
    ):
        done = subprocess.run(
            [programs / "hoppersheet", *words], cwd=tmp_path, capture_output=True, text=True
        )
        assert (done.stdout, done.stderr) == (said, "")


def formulas() -> list[tuple[str, str]]:
    """(formula, what stands beside it) of every formula in a block or a sentence."""
    text = README.read_text()
    lines = [line for block in _TEXT.findall(text) for line in block.splitlines()]
    beside = [re.fullmatch(r"=(HOPPER_\w+\(.*\))\s{3,}(.*)", line) for line in lines]
    spans = _BLOCK.sub("", text).split("`")[1::2]
    within = [span[1:] for span in spans if re.fullmatch(r"=HOPPER_\w+\(.*\)", span)]
    return [(m[1], m[2]) for m in beside if m] + [(formula, "") for formula in within]


def arguments_of(formula: str) -> tuple[str, list[str]]:
    """Name of the function and its arguments as they are typed; left out ones are empty."""
    name, _, inner = formula[:-1].partition("(")
    return name, [a.strip() for a in re.findall(r'(?:"[^"]*"|[^,"])+|(?<=,)(?=,)', inner)]


def has_reference(formula: str) -> bool:
    """Whether it names cells, which only the reader has."""
    return not all(
        re.fullmatch(r'"[^"]*"|[0-9.]+|', argument) for argument in arguments_of(formula)[1]
    )


@pytest.mark.parametrize("formula", [formula for formula, _ in formulas()])
def test_formula_of_the_readme_fits_its_function(formula: str) -> None:
    name, texts = arguments_of(formula)
    function = all_functions()[name]
    assert function.arguments[-1:] == () or len(texts) <= len(function.arguments) or (
        function.arguments[-1].kind == "rest"
    )  # fmt: skip


@pytest.mark.parametrize(("formula", "beside"), [x for x in formulas() if not has_reference(x[0])])
def test_formula_of_the_readme_gives_what_stands_beside_it(formula: str, beside: str) -> None:
    name, texts = arguments_of(formula)
    cells = []
    for text in texts:
        if re.fullmatch(r'"[^"]*"', text):
            cells.append(text[1:-1])
        elif text:
            cells.append(float(text))
        else:
            cells.append(hoppersheet.OMITTED)
    value = hoppersheet.call(name, *cells)
    shown = re.match(r"[0-9.]+", beside)
    if shown:
        digits = len(shown[0].partition(".")[2])
        assert f"{value:.{digits}f}" == shown[0]


def test_the_readme_s_formulas_are_found() -> None:
    checked = [x for x, beside in formulas() if re.match("[0-9]", beside) and not has_reference(x)]
    assert len(checked) >= 4 and len(formulas()) >= 10


def test_links_and_pictures_are_there() -> None:
    text = README.read_text()
    headings = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    anchors = {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}
    for target in re.findall(r"\]\(([^)]+)\)", text):
        path, _, anchor = target.partition("#")
        if path:
            assert (ROOT / path).is_file(), target
        else:
            assert anchor in anchors, target
        if path.endswith(".png"):
            assert (ROOT / path).stat().st_size < 150_000, path


def printed(command: str, folder: Path) -> str:
    done = run(f"{command} 2>&1", folder)
    # A reader types the path from the checkout; here it is run from elsewhere.
    said = done.stdout.replace(f"{ROOT}/", "")
    return "\n".join(line.rstrip() for line in said.splitlines()) + "\n"


@pytest.mark.parametrize(
    ("command", "shown"), _OUTPUT.findall(README.read_text()), ids=lambda text: text[:40]
)
def test_output_in_the_readme_is_true(command: str, shown: str, tmp_path: Path) -> None:
    assert printed(command, tmp_path).splitlines() == shown.splitlines()


def test_readme_begins_with_the_job_and_two_commands() -> None:
    text = README.read_text()
    assert len(re.split(r"\n\n", text)[1]) > 200  # one paragraph on the job
    assert shell_lines()[:2] == [
        "sh addin/setup && .venv/bin/hoppersheet size workbooks/demo_jobs.csv",
        "sh tests/run",
    ]
    assert len(_OUTPUT.findall(text)) >= 2
    # Then pictures, before anything else of some length.
    before = text.partition("![")[0]
    assert len(before) < 1800 and "```text" not in before
    assert len(text.splitlines()) <= 280


if __name__ == "__main__":
    README.write_text(
        _OUTPUT.sub(
            lambda m: f"<!-- output: {m[1]} -->\n\n```text\n{printed(m[1], ROOT)}```\n",
            README.read_text(),
        )
    )
