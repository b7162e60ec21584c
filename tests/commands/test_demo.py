"""``hoppersheet demo``: the files it writes are the ones that the README shows, and they work."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from hoppersheet.cli import COMMANDS, EXAMPLES, cli
from hoppersheet.commands.demo import FILES

WORKBOOKS = Path(__file__).parents[2] / "workbooks"


def test_the_files_are_those_of_the_checkout_and_size(tmp_path: Path) -> None:
    folder = tmp_path / "a b"
    done = CliRunner().invoke(cli, ["demo", "--out", str(folder)])
    assert done.exit_code == 0, done.output
    assert {path.name for path in folder.iterdir()} == set(FILES)
    for name in FILES:
        assert (folder / name).read_bytes() == (WORKBOOKS / name).read_bytes()
        assert b"nvented" in (folder / name).read_bytes()
    jobs, catalog = folder / "demo_jobs.csv", folder / "demo_catalog.csv"
    sized = CliRunner().invoke(cli, ["size", str(jobs), "--catalog", str(catalog)])
    assert sized.exit_code == 0, sized.output


def test_files_that_are_there_are_kept_without_force(tmp_path: Path) -> None:
    own = tmp_path / "demo_catalog.csv"
    own.write_text("mine")
    refused = CliRunner().invoke(cli, ["demo", "--out", str(tmp_path)])
    assert refused.exit_code != 0 and own.read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == [own.name]
    assert CliRunner().invoke(cli, ["demo", "--out", str(tmp_path), "--force"]).exit_code == 0
    assert own.read_text() != "mine"


def test_no_line_of_the_help_is_cut() -> None:
    lines = CliRunner().invoke(cli, ["--help"], terminal_width=80).output.splitlines()
    for name, text in COMMANDS.items():
        assert any(line.split() == [name, *text.split()] for line in lines), name


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_s_help_ends_with_an_example(name: str) -> None:
    output = CliRunner().invoke(cli, [name, "--help"], terminal_width=80).output
    assert " ".join(output.partition("Example: ")[2].split()) == EXAMPLES[name]
    assert EXAMPLES[name].startswith(f"hoppersheet {name}")
