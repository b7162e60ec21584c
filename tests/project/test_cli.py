"""The command line around the registry: help, one function described, one call explained."""

from __future__ import annotations

import importlib
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from hoppersheet import __version__
from hoppersheet.cli import COMMANDS, cli
from hoppersheet.functions import all_functions

ROOT = Path(__file__).parents[2]


def run(*words: str) -> Result:
    return CliRunner().invoke(cli, words)


def test_version() -> None:
    assert run("--version").output == f"hoppersheet {__version__}\n"


def test_commands_listed_are_the_files_that_exist() -> None:
    folder = ROOT / "addin" / "hoppersheet" / "commands"
    assert sorted(COMMANDS) == sorted(p.stem for p in folder.glob("*.py") if p.stem != "__init__")


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_and_is_in_the_documents(name: str) -> None:
    command = importlib.import_module(f"hoppersheet.commands.{name}").command
    assert isinstance(command, click.Command) and command.help and command.name == name
    assert run(name, "--help").exit_code == 0
    documents = (ROOT / "README.md").read_text() + (ROOT / "DEVELOPERS.md").read_text()
    assert f"hoppersheet {name}" in documents


def test_functions_lists_every_signature() -> None:
    output = run("functions").output
    for function in all_functions().values():
        assert function.signature in output


@pytest.mark.parametrize("name", all_functions())
def test_a_function_is_described_with_its_arguments_and_source(name: str) -> None:
    function = all_functions()[name]
    output = run("functions", name.lower()).output
    assert function.source in output
    for argument in function.arguments:
        assert argument.text in output


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (("HOPPER_REQUIRED_VOLUME", "100", "4", "36.5"), 0, "10.96 ft3 (310.3 L)"),
        (("hopper_blend_density", "50;50", "48;25"), 0, "36.5 lb/ft3"),
        (("HOPPER_BLEND_DENSITY", "0,5;0,5", "0.6 kg/L;300 kg/m3", "mass", "metric"), 0, "0.4"),
        (("HOPPER_REQUIRED_VOLUME", "100", "4", "36.5", "-", "US"), 0, "10.96 ft3"),
        (("HOPPER_HELD_MASS", "21.154", "36.400"), 0, "770 lb"),
        (("HOPPER_HELD_MASS", "21,154", "36.400"), 1, "ambiguous, 21.154 or 21154"),
        (("HOPPER_REQUIRED_VOLUME", "100", "4:00", "36.5"), 1, "clock time"),
        (("HOPPER_REQUIRED_VOLUME", "-5", "4", "36.5"), 1, "#NUM! throughput"),
        (("HOPPER_BLEND_DENSITY", "0.7,0.3", "48,25"), 1, 'range of cells is written "40;28"'),
        (("HOPPER_REQUIRED_VOLUM", "100"), 2, "did you mean 'HOPPER_REQUIRED_VOLUME'"),
    ],
)  # fmt: skip
def test_explain(words: tuple[str, ...], status: int, said: str) -> None:
    done = run("explain", *words)
    assert (done.exit_code, said in done.output) == (status, True), done.output


@pytest.mark.parametrize(
    "words", [("nosuch",), ("size",), ("functions", "HOPPER_X"), ("--nosuch",)]
)
def test_wrong_usage_is_status_2_without_a_traceback(words: tuple[str, ...]) -> None:
    done = run(*words)
    assert done.exit_code == 2
    assert "Traceback" not in done.output
