"""The function guide: complete, its links lead somewhere, its numbers are those of the functions.

That the committed one is current is tested with the workbooks, in test_committed.py.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import hoppersheet
from hoppersheet.cli import cli
from hoppersheet.describe import argument_words, facts
from hoppersheet.functions import all_functions
from hoppersheet.templates import function_guide as module
from hoppersheet.templates.cautions import ABOUT_ARGUMENT, CAUTIONS
from hoppersheet.templates.function_guide import function_guide
from hoppersheet.vectors import load_vectors

GUIDE = function_guide()
PAGES = dict(re.findall(r"^### (HOPPER_\w+)\n(.*?)(?=^##|\Z)", GUIDE, re.MULTILINE | re.DOTALL))


def test_there_is_one_page_per_function_in_the_order_of_the_registry() -> None:
    assert list(PAGES) == list(all_functions())
    contents = GUIDE.partition("## How to read")[0]
    assert re.findall(r"\[(HOPPER_\w+)\]", contents) == list(all_functions())


@pytest.mark.parametrize("name", all_functions())
def test_a_page_tells_all_that_the_record_says(name: str) -> None:
    function, page = all_functions()[name], " ".join(PAGES[name].split())
    assert f"`={function.signature}`" in page
    for text in (function.question, function.summary, function.assumptions, function.source):
        assert text.rstrip(".") in page
    told = CliRunner().invoke(cli, ["functions", name]).output
    # One describer: what the command says, the page says too.
    for title, text in facts(function, ABOUT_ARGUMENT):
        assert f"- **{title}**: {text}." in page and f"\n{title}: {text}." in told
    for argument in function.arguments:
        words = argument_words(argument)
        for text in (words.text, words.allowed, words.usual):
            assert text in told and text in page
    for argument in function.arguments:
        assert f"| `{argument.name}` | {argument.text} |" in page
        assert argument.name not in ABOUT_ARGUMENT or ABOUT_ARGUMENT[argument.name] in page
        for option, others in argument.choices.items():
            assert f'"{option}"' in page and all(other in page for other in others)
    assert all(f"[{other}](#{other.lower()})" in page for other in function.see_also)
    assert re.sub(r" \\(seen.*\\)", "", function.example.source) in page
    # Every function can be given something wrong but these: one has no arguments, the other
    # answers with the reason.
    silent = ("HOPPER_VERSION", "HOPPER_EXPLAIN")
    assert ("| typed | shows | because |" in page) == (name not in silent)


def test_all_links_lead_to_a_heading() -> None:
    headings = {h.lower().replace(" ", "-") for h in re.findall(r"^#+ (.+)$", GUIDE, re.MULTILINE)}
    links = set(re.findall(r"\]\(#([^)]+)\)", GUIDE))
    assert links and links <= headings


def test_tables_are_whole() -> None:
    blocks = re.findall(r"(?:^\|.*\n)+", GUIDE, re.MULTILINE)
    assert len(blocks) >= len(all_functions()), "not even one for each function"
    for block in blocks:
        bars = {len(re.findall(r"(?<!\\)\|", line)) for line in block.splitlines()}
        assert len(bars) == 1, block


def test_every_caution_is_there() -> None:
    assert all(f"- {caution}\n" in GUIDE for caution in CAUTIONS)


def test_an_example_as_a_person_would_work_it_out() -> None:
    """Arithmetic: 220 lb/h x 3.5 h / 36.4 lb/ft3; ft3 = 28.316846592 L (NIST SP 811, B.8)."""
    page = PAGES["HOPPER_REQUIRED_VOLUME"]
    cubic_feet = 220 * 3.5 / 36.4
    assert f"gives {cubic_feet:.6g} ft3 ({cubic_feet * 28.316846592:.6g} L)" in page
    # Limits: 0.03 and 3 kg/L over 0.01601846 kg/L per lb/ft3 (NIST SP 811, B.8).
    assert f"{0.03 / 0.01601846:.4g} to {3 / 0.01601846:.4g} lb/ft3 (0.03 to 3 kg/L)" in page


def test_a_formula_of_the_guide_gives_what_the_guide_says() -> None:
    """Every example whose arguments are plain numbers and texts, read back from the page."""
    read = 0
    for formula, shown in re.findall(r"^=(HOPPER_\w+\(.*\))\ngives (\S+)", GUIDE, re.MULTILINE):
        name, _, inner = formula.partition("(")
        texts = [text.strip() for text in re.findall(r'"[^"]*"|[^,()]+', inner)]
        if any(re.match(r"[A-Z]+[0-9]", text) for text in texts) or name == "HOPPER_EXPLAIN":
            continue
        cells = [text[1:-1] if text.startswith('"') else float(text) for text in texts]
        value = hoppersheet.call(name, *cells)
        assert shown == (f"{value:.6g}" if isinstance(value, float) else value.split()[0])
        read += 1
    assert read > 15


def test_no_guide_is_written_where_an_example_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    wrong = [v._replace(expected=1e9) for v in load_vectors()]
    monkeypatch.setattr(module, "load_vectors", lambda: wrong)
    with pytest.raises(ValueError, match="example HOPPER_BLEND_DENSITY"):
        function_guide()


def test_the_command_writes_it(tmp_path: Path) -> None:
    out = tmp_path / "guide.md"
    done = CliRunner().invoke(cli, ["functions", "--guide", "--out", str(out)])
    assert (done.exit_code, done.output) == (0, f"Wrote {out}.\n")
    assert out.read_text(encoding="utf-8") == GUIDE
    assert CliRunner().invoke(cli, ["functions", "--guide"]).output == GUIDE


@pytest.mark.parametrize("words", [["HOPPER_COUNT", "--guide"], ["--out", "guide.md"]])
def test_what_makes_no_sense_is_refused(words: list[str]) -> None:
    assert CliRunner().invoke(cli, ["functions", *words]).exit_code == 2
