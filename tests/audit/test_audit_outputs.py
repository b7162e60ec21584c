"""The report workbook and the annotated copy, on real files."""

from __future__ import annotations

import zipfile
from pathlib import Path

import openpyxl
import pytest
from openpyxl.comments import Comment

from audit.audit_books import COLUMN, LINES, at, clean_book, stored
from hoppersheet.audit import audit_book
from hoppersheet.audit.assumption_groups import grouped
from hoppersheet.audit.outputs.annotate import annotate
from hoppersheet.audit.outputs.report import write_report


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with a chart sheet's neighbors: comments, a picture of styles, one wrong price."""
    workbook = clean_book()
    sheet = workbook["Sizing"]
    sheet[at("price", 0)] = 1350.0
    sheet[at("rate", 0)].comment = Comment("as the customer says", "sales")
    sheet[at("required", 1)].comment = Comment("checked by hand & found < 10", "sales")
    sheet.column_dimensions[COLUMN["job"]].width = 30
    return stored(workbook, tmp_path_factory.mktemp("audit") / "book.xlsx")


def test_the_report_lists_everything_with_links(book: Path, tmp_path: Path) -> None:
    audit = audit_book(book, "core")
    write_report(audit, tmp_path / "report.xlsx")
    report = openpyxl.load_workbook(tmp_path / "report.xlsx")
    assert report.sheetnames == ["Sign-off", "Findings", "Assumptions", "Inputs by line", "Cells"]
    heading = 4  # row of the headings, below the title
    findings = report["Findings"]
    assert findings.max_row == heading + len(audit.findings) == heading + 1
    link = findings.cell(heading + 1, 3).hyperlink
    assert link.location == f"Sizing!{at('price', 0)}" and link.target.endswith("book.xlsx")
    assert [cell.value for cell in findings[heading + 1]][5:7] == [1350, 1500]
    assert [cell.value for cell in findings[heading]][8:] == ["Accepted by", "Why", "When"]
    assert report["Cells"].max_row == heading + audit.cells
    assert report["Inputs by line"].max_row == heading + len(audit.assumptions)
    assert report["Assumptions"].max_row == heading + len(grouped(audit.assumptions))
    said = [str(cell.value) for row in report["Sign-off"].iter_rows() for cell in row if cell.value]
    assert any(text.startswith("1 finding: 1 error, 0 warnings, 0 notes. Fix") for text in said)
    assert "price differs" in said  # what was found, in the list of kinds
    assert any("not found: error value, circular" in text for text in said)
    # Model 10 lists at 1500, one piece is quoted: 150.00 at stake
    assert any(text.startswith("150.00 at stake. The list price") for text in said) or any(
        "The price 1350 of 'Model 10'" in text for text in said
    )
    # a line per job: 60 lb/h x 4 h / 28 lb/ft3 = 8.571 ft3, in 10 ft3 4.67 h
    row = next(r for r in report["Sign-off"].iter_rows(values_only=True) if r[0] == "Press 1")
    assert row[:2] == ("Press 1", "Model 10") and row[6:8] == (1350, 1) and row[9] == 1350
    assert [round(x, 3) for x in row[3:6]] == [8.571, 4, 4.667]
    assert "47 of 47 sizing cells examined." in said
    for sheet in report:  # each prints on pages as wide as the sheet
        assert sheet.sheet_properties.pageSetUpPr.fitToPage and sheet.print_area


def test_a_text_like_a_formula_stays_text(tmp_path: Path) -> None:
    workbook = clean_book()
    workbook["Sizing"][at("blend", 0)] = "=1+1"
    audit = audit_book(stored(workbook, tmp_path / "book.xlsx"), "core")
    write_report(audit, tmp_path / "report.xlsx")
    cells = [
        c for sheet in openpyxl.load_workbook(tmp_path / "report.xlsx") for r in sheet for c in r
    ]
    assert "=1+1" in {c.value for c in cells}
    assert not {c.data_type for c in cells} & {"f", "e"}


def test_annotating_changes_nothing_else(book: Path, tmp_path: Path) -> None:
    audit = audit_book(book, "core")
    out = tmp_path / "copy.xlsx"
    before = book.read_bytes()
    count = annotate(audit, out)
    assert book.read_bytes() == before
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(out) as new:
        assert new.testzip() is None
        touched = {n for n in old.namelist() if new.read(n) != old.read(n)}
        added = set(new.namelist()) - set(old.namelist())
    # The sheet has comments already: only their texts and boxes change.
    assert all("comment" in name.lower() or "vml" in name.lower() for name in touched)
    assert len(touched) == 2 and added == set()
    copy = openpyxl.load_workbook(out)["Sizing"]
    comments = {c.coordinate: c.comment.text for row in copy.iter_rows() for c in row if c.comment}
    assert len(comments) == count + 1  # one comment stands where nothing was added
    assert comments[at("rate", 0)] == "as the customer says"
    kept = comments[at("required", 1)]
    assert kept.startswith("checked by hand & found < 10\n") and "72 lb/h x 4 h" in kept
    # 60 lb/h x 4 h / 28 lb/ft3 = 8.571 ft3
    assert "60 lb/h x 4 h / 28 lb/ft3 x (1 + 0) = 8.571 ft3" in comments[at("required", 0)]
    assert "price differs" in comments[at("price", 0)]
    assert audit_book(out, "core").findings == audit.findings


def test_a_sheet_without_comments_gets_its_first(tmp_path: Path) -> None:
    book = stored(clean_book(), tmp_path / "book.xlsx")
    out = tmp_path / "copy.xlsx"
    assert annotate(audit_book(book, "core"), out) == 4 * LINES  # density, volume, next size, load
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(out) as new:
        touched = {n for n in old.namelist() if new.read(n) != old.read(n)}
        sheet, plain = (z.read("xl/worksheets/sheet1.xml") for z in (new, old))
        assert touched == {"[Content_Types].xml", "xl/worksheets/sheet1.xml"}
    start, _, rest = sheet.partition(b"<legacyDrawing")
    assert start + rest.partition(b"/>")[2] == plain
    copy = openpyxl.load_workbook(out)["Sizing"]
    assert copy[at("required", 0)].comment.author == "hoppersheet audit"


@pytest.mark.calc
def test_calc_reads_the_comments(tmp_path: Path) -> None:
    from hoppersheet.hosts.calc.office import Office
    from hoppersheet.workbook.package import Package

    book = stored(clean_book(), tmp_path / "book.xlsx")
    annotate(audit_book(book, "core"), tmp_path / "copy.xlsx")
    with Office(timeout=120) as office:
        saved = tmp_path / "saved.xlsx"
        office.compute(tmp_path / "copy.xlsx", save_as=saved)
    assert Package(saved).sheets[0].name == "Sizing"
    texts = openpyxl.load_workbook(saved)["Sizing"][at("required", 0)].comment.text
    assert "60 lb/h x 4 h / 28 lb/ft3" in texts
