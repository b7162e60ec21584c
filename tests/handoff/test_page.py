"""``hoppersheet handoff --page``: what a customer gets is one sheet and nothing behind it."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from hoppersheet.commands.handoff import command
from hoppersheet.errors import InputFileError

DEMO = Path(__file__).parents[2] / "workbooks" / "demo_quote.xlsx"


def run(*words: object) -> tuple[int, str]:
    done = CliRunner().invoke(command, [str(word) for word in words])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.exit_code, done.output


@pytest.mark.calc
def test_the_quote_is_printed_computed_and_alone(tmp_path: Path) -> None:
    # A book that holds no computed value yet, as openpyxl leaves it.
    openpyxl.load_workbook(DEMO).save(tmp_path / "book.xlsx")
    out = tmp_path / "quote.pdf"
    done = run(tmp_path / "book.xlsx", "--page", "quote", "--out", out)
    assert done[0] == 0, done
    assert done[1].startswith("The sheet Quote, computed by LibreOffice Calc"), done
    assert "filled cells of the page, none an error; " in done[1], done
    assert done[1].endswith(f"Written: {out}.\n"), done
    text = "\n".join(page.extract_text() for page in PdfReader(out).pages)
    computed = openpyxl.load_workbook(DEMO, data_only=True)
    ((sheet, cell),) = computed.defined_names["quote_total"].destinations
    assert f"{computed[sheet][cell.replace('$', '')].value:,.2f}" in text
    # What stands on the sheets behind it: the checks, and every model that was not quoted.
    assert "Checks that fail" not in text and "EXAMPLE-" in text
    models = {
        str(cell.value)
        for row in computed["Catalog"].iter_rows()
        for cell in row
        if str(cell.value).startswith("EXAMPLE-")
    }
    words = set(text.replace(",", " ").split())
    assert len(models & words) < len(models)


def test_what_is_not_a_sheet_or_a_pdf_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputFileError, match=r"has no sheet 'Cover'; it has .*Quote, "):
        run(DEMO, "--page", "Cover", "--out", tmp_path / "x.pdf")
    with pytest.raises(InputFileError, match=r"x\.xlsx: one sheet is written as a \.pdf"):
        run(DEMO, "--page", "Quote", "--out", tmp_path / "x.xlsx")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("words", [(), ("--plain", "--page", "Quote"), ("--values", "--plain")])
def test_one_of_the_three_is_chosen(words: tuple[str, ...], tmp_path: Path) -> None:
    code, said = run(DEMO, *words, "--out", tmp_path / "x.pdf")
    assert code == 2
    assert "choose one of --with-functions, --plain, --values and --page" in said


@pytest.mark.calc
def test_the_paper_follows_the_unit_system_of_a_quote_that_was_switched(tmp_path: Path) -> None:
    """Made for US Letter (8.5 x 11 in), now metric: A4 (ISO 216, 210 x 297 mm)."""
    book = openpyxl.load_workbook(DEMO)
    for name in ("unit_system", "units_confirmed"):
        ((sheet, cell),) = book.defined_names[name].destinations
        book[sheet][cell.replace("$", "")] = "metric"
    book.save(tmp_path / "book.xlsx")
    out = tmp_path / "quote.pdf"
    code, said = run(tmp_path / "book.xlsx", "--page", "Quote", "--draft", "--out", out)
    assert code == 1  # the typed figures are still those of the US quote
    assert "Paper: A4, by the unit system" in said
    pages = PdfReader(out).pages
    for page in pages:
        width, height = (float(edge) / 72 * 25.4 for edge in page.mediabox[2:])
        assert (round(width), round(height)) == (210, 297)
    # Nothing ran over to a sheet of its own: each begins with the headings of the columns.
    assert all("Hopper or dryer" in page.extract_text() for page in pages)
