"""The README's commands run as written, and what it prints is what they print.

A block of output follows a comment ``<!-- output: COMMAND -->``. After a change of the output,
``.venv/bin/python tests/test_readme.py`` writes the blocks anew.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
_SHELL = re.compile(r"^```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_OUTPUT = re.compile(r"<!-- output: (.+?) -->\n\n```text\n(.*?)```\n", re.DOTALL)

#: What a test must not run from inside a test run, or only a desktop can show.
NOT_RUN = {
    "sh tests/run": "this is the test run",
    ".venv/bin/hoppersheet calc install": "tests/calc/test_installation.py does, and cleans up",
    ".venv/bin/hoppersheet calc status": "goes with calc install",
}
#: Commands that end with 1 because their input has problems or assumptions, as it is meant to.
HAS_FINDINGS = ("demo_jobs", "audit workbooks/demo_quote", "demo_quote.xlsx --plain")


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


def printed(command: str, folder: Path) -> str:
    done = run(f"{command} 2>&1", folder)
    return "\n".join(line.rstrip() for line in done.stdout.splitlines()) + "\n"


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


if __name__ == "__main__":
    README.write_text(
        _OUTPUT.sub(
            lambda m: f"<!-- output: {m[1]} -->\n\n```text\n{printed(m[1], ROOT)}```\n",
            README.read_text(),
        )
    )
