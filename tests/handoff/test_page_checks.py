"""What keeps a page from a customer: errors, cells not computed, the flag, invented rows."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName
from pypdf import PdfReader

from abuse.hostile import run
from hoppersheet.handoff.page_checks import PageState, examine_page
from hoppersheet.workbook.book import book_of
from hoppersheet.workbook.package import Package


def book(path: Path, cells: dict[str, object], **names: str) -> Path:
    """A sheet *Page* and a *Catalog* with an invented row, and what a test needs; all made up."""
    workbook = openpyxl.Workbook()
    page = workbook.active
    assert page is not None
    page.title = "Page"
    for ref, value in cells.items():
        page[ref] = value
    catalog = workbook.create_sheet("Catalog")
    for row in (
        ("size [ft3]", "model", "invented [yes or no]"),
        (12, "EXAMPLE-12", "yes"),
        (20, "OWN-20", "no"),
        (30, "OWN-30", None),
    ):
        catalog.append(row)
    settings = workbook.create_sheet("Settings")
    for at, (name, value) in enumerate(names.items(), 1):
        settings.cell(at, 1, value)
        workbook.defined_names[name] = DefinedName(name, attr_text=f"Settings!$A${at}")
    page.print_area = "A1:C20"
    page.row_dimensions[15].hidden = True
    workbook.save(path)
    return path


def looked_at(path: Path, *not_computed: str) -> PageState:
    package = Package(path)
    values = {sheet.name: package.values(sheet.name) for sheet in package.sheets}
    return examine_page(book_of(package), values, "Page", list(not_computed))


@pytest.mark.parametrize(
    ("cells", "names", "stop"),
    [
        ({"A1": "OWN-20"}, {"quote_ready": True, "demonstration": "no"}, ""),
        ({"A1": "OWN-20"}, {"quote_ready": "ready"}, ""),
        ({"A1": "OWN-20"}, {"quote_ready": 1}, ""),
        ({"A1": "OWN-20"}, {"quote_ready": 0}, "not ready"),
        ({"A1": "OWN-20"}, {}, ""),
        ({"A1": "#NAME?"}, {}, "1 cell shows an error: A1 #NAME?"),
        ({"A1": "#N/A", "B2": "#REF!"}, {}, "2 cells show an error: A1 #N/A, B2 #REF!"),
        ({"E1": "#N/A", "A15": "#N/A", "A25": "#N/A"}, {}, ""),  # not printed
        ({"A1": 5}, {"quote_ready": False}, "says that it is not ready (quote_ready)"),
        (
            {"A1": 5},
            {"quote_ready": False, "checks_flag": "2 checks fail"},
            "(quote_ready): 2 checks fail",
        ),
        ({"A1": 5}, {"quote_ready": "2 lines unfinished"}, "(quote_ready): 2 lines unfinished"),
        ({"A1": 5}, {"quote_ready": None}, "is not ready"),
        ({"A1": 5}, {"quote_ready": "#N/A"}, "is not ready (quote_ready): #N/A"),
        ({"A1": "EXAMPLE-12"}, {}, "invented rows of Catalog: EXAMPLE-12"),
        ({"A1": "2 x EXAMPLE-12, with stand"}, {"demonstration": "no"}, "EXAMPLE-12"),
        ({"A1": "EXAMPLE-12"}, {"demonstration": "yes"}, ""),
        ({"A1": "EXAMPLE-1"}, {}, ""),
    ],
)
def test_a_page_is_looked_at(
    cells: dict[str, object], names: dict[str, str], stop: str, tmp_path: Path
) -> None:
    state = looked_at(book(tmp_path / "b.xlsx", cells, **names))
    assert len(state.stops) == bool(stop)
    assert stop in "".join(state.stops)
    for name in ("quote_ready", "demonstration"):
        assert (name in " ".join(state.missing)) == (name not in names)


def test_only_invented_rows_of_the_page_are_named(tmp_path: Path) -> None:
    """A note *invented* in a row is no heading; a catalog that the page does not use is no news."""
    path = book(tmp_path / "b.xlsx", {"A1": "EXAMPLE-12"})
    workbook = openpyxl.load_workbook(path)
    for n in range(5, 12):
        workbook["Catalog"].append((10 * n, f"OWN-{10 * n}", "no", "invented"))
    workbook.copy_worksheet(workbook["Catalog"]).title = "Dryers"
    for row in workbook["Dryers"].iter_rows(min_row=2, min_col=2, max_col=2):
        row[0].value = f"D-{row[0].row}"
    workbook.save(path)
    (stop,) = looked_at(path).stops
    assert stop.startswith("invented rows of Catalog: EXAMPLE-12; a demonstration")


def test_a_cell_that_was_not_computed_stops_the_page(tmp_path: Path) -> None:
    state = looked_at(book(tmp_path / "b.xlsx", {"A1": 5, "B2": 6}), "B2", "Z9")
    assert state.stops == ["not computed, or depends on a cell that was not: B2"]


@pytest.mark.calc
def test_a_page_that_is_not_fit_is_written_as_a_draft_only(tmp_path: Path) -> None:
    cells: dict[str, object] = {f"A{n}": f"=IF({n}<4,HOPPER_NOPE({n}),0)" for n in range(1, 9)}
    path, out = book(tmp_path / "b.xlsx", cells, quote_ready="no price"), tmp_path / "page.pdf"
    done = run("handoff", path, "--page", "page", "--out", out)
    assert done.status == 1 and not out.exists()
    assert "not ready for a customer: 3 cells show an error: A1 #NAME?, A2 #NAME?" in done.err
    assert "(quote_ready): no price" in done.err and "Nothing written" in done.out
    done = run("handoff", path, "--page", "page", "--out", out, "--draft")
    assert done.status == 1 and "with DRAFT on every page" in done.out
    assert all("DRAFT" in page.extract_text() for page in PdfReader(out).pages)


@pytest.mark.calc
def test_a_demonstration_says_so_and_long_pages_end_where_they_are_filled(tmp_path: Path) -> None:
    cells: dict[str, object] = {f"A{n}": '=IF(ROW()<80,"line "&ROW(),"")' for n in range(1, 900)}
    path, out = book(tmp_path / "b.xlsx", cells, demonstration="yes"), tmp_path / "page.pdf"
    workbook = openpyxl.load_workbook(path)
    workbook["Page"].print_area = "A1:C900"
    workbook["Page"]["B1"] = "EXAMPLE-12"
    workbook.save(path)
    done = run("handoff", path, "--page", "Page", "--out", out)
    assert done.status == 0, done
    assert "invented models on the page: EXAMPLE-12, in a demonstration" in done.out, done
    assert "no flag quote_ready" in done.out
    pages = PdfReader(out).pages
    assert len(pages) == 2  # of 79 lines; the other 820 rows show nothing
    assert all("DEMONSTRATION" in page.extract_text() for page in pages)
