"""What an audit counts as not examined: no formula and no tab goes without a word."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula

from audit.audit_books import stored
from audit.planted.styles import Quote, build, save
from hoppersheet.audit import Audit, audit_book
from hoppersheet.workbook.formulas import address
from hoppersheet.workbook.package import Package


def audited(quote: Quote, folder: Path) -> Audit:
    return audit_book(save(quote, folder / "book.xlsx"), "core")


def _apart(quote: Quote, state: str = "visible") -> Any:
    """A calculation of somebody's own, without a heading: 220 x 3.5 / 36.4 = 21.15 ft3."""
    sheet = quote.book.create_sheet("Old")
    for at, value in enumerate((220, 3.5, 36.4, "=A1*B1/C1"), 1):
        sheet.cell(1, at, value)
    sheet.sheet_state = state
    return sheet


def _hide_row(quote: Quote) -> None:
    _apart(quote).row_dimensions[1].hidden = True


def _hide_column(quote: Quote) -> None:
    _apart(quote).column_dimensions["D"].hidden = True


@pytest.mark.parametrize(
    ("plant", "said"),
    [
        (_apart, ""),
        (lambda quote: _apart(quote, "hidden"), "the sheet 'Old' is hidden"),
        (lambda quote: _apart(quote, "veryHidden"), "the sheet 'Old' is hidden from its menu too"),
        (_hide_row, "row 1 of 'Old' is hidden"),
        (_hide_column, "column D of 'Old' is hidden"),
    ],
)  # fmt: skip
def test_a_formula_that_no_check_took_is_not_examined(
    plant: Callable[[Quote], object], said: str, tmp_path: Path
) -> None:
    quote = build("rows")
    plant(quote)
    audit = audited(quote, tmp_path)
    assert set(audit.coverage.not_examined) == {("Old", 1, 4)} and audit.status == 1
    assert "Old!D1" in audit.verdict and said in audit.verdict
    assert "all was looked at" not in audit.verdict


@pytest.mark.parametrize(
    "formula",
    ["=Quote!A4", '="for "&Quote!A4', "=COUNTA(Quote!A4:A9)", "=Quote!L4", "=ROW()"],
)
def test_what_only_shows_or_counts_is_no_calculation_of_its_own(
    formula: str, tmp_path: Path
) -> None:
    quote = build("rows")
    quote.book.create_sheet("Cover")["B2"] = formula
    audit = audited(quote, tmp_path)
    assert audit.status == 0 and not audit.coverage.not_examined
    assert any("Cover" in said for said in audit.coverage.sentences())


def test_a_volume_worked_out_anew_is_not_examined_where_it_differs(tmp_path: Path) -> None:
    """220 lb/h x 3.5 h / 36.44 lb/ft3, and then 0.9 of it, without a heading."""
    quote = build("rows")
    rate, hours, blend = (f"Quote!{quote.at(0, r)[1]}" for r in ("rate", "hours", "blend"))
    sheet = quote.book.create_sheet("Cover")
    sheet["B2"] = f"={rate}*{hours}/{blend}"
    sheet["B3"] = f"={rate}*{hours}/{blend}*0.9"
    audit = audited(quote, tmp_path)
    assert set(audit.coverage.not_examined) == {("Cover", 3, 2)} and audit.status == 1


def test_a_net_price_that_could_not_be_worked_out_again_is_not_examined(tmp_path: Path) -> None:
    quote = build("rows")
    sheet, _ = quote.at(0, "net")
    for line in range(quote.lines):
        row = 4 + line
        quote.book[sheet][f"Y{row}"] = 120.0 + line  # no heading says what it is
        net = quote.formula(line, "net")
        quote.put(line, "net", f"{net}+Y{row}")
    audit = audited(quote, tmp_path)
    open_ = {(s, address(r, c)) for s, r, c in audit.coverage.not_examined}
    assert open_ and open_ <= {quote.at(line, "net") for line in range(6)}
    assert audit.status == 1


def test_an_empty_book_is_not_called_fine(tmp_path: Path) -> None:
    audit = audit_book(stored(openpyxl.Workbook(), tmp_path / "book.xlsx"), "core")
    assert audit.status == 1 and audit.verdict.startswith("Nothing was examined")


def test_a_sum_of_prices_that_is_no_known_total_is_not_examined(tmp_path: Path) -> None:
    quote = build("rows")
    quote.book["Quote"]["Z30"] = f"=SUM({quote.at(0, 'net')[1]}:{quote.at(4, 'net')[1]})"
    audit = audited(quote, tmp_path)
    assert set(audit.coverage.not_examined) == {("Quote", 30, 26)} and audit.status == 1


def test_amounts_that_no_heading_names_are_followed_to_the_total(tmp_path: Path) -> None:
    """The total takes each list price with its quantity and discount: that is tried out."""
    quote = build("rows")
    quote.book["Quote"][f"U{3}"] = "Ext"  # no heading that anybody would know
    audit = audited(quote, tmp_path)
    assert audit.coverage.worked_out == quote.lines and audit.status == 0
    quote.write(4, "net", "={price}*{quantity}")  # without its discount of 5 %
    audit = audited(quote, tmp_path)
    assert "all was looked at" not in audit.verdict and "as it says" not in audit.verdict
    assert audit.status == 1


# --- books of an unusual kind -----------------------------------------------------------------

_JOB = ("Press 4", 220.0, 3.5, 36.4)  # 220 x 3.5 / 36.4 = 21.15 ft3


def _small(*rows: tuple[Any, ...]) -> openpyxl.Workbook:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "S"
    sheet.append(
        ["Job", "Throughput [lb/h]", "Drying hours", "Density [lb/ft3]", "Required volume [ft3]"]
    )
    for row in rows:
        sheet.append(row)
    return book


def _as_text() -> openpyxl.Workbook:
    book = _small((*_JOB, None))
    book["S"]["E2"].value = "=HOPPER_REQUIRED_VOLUME(B2,C2,D2)"
    book["S"]["E2"].data_type = "s"
    return book


def _array() -> openpyxl.Workbook:
    book = _small(_JOB, _JOB)
    book["S"]["E2"] = ArrayFormula("E2:E3", "=B2:B3*C2:C3/D2:D3")
    return book


def _what_if_table() -> openpyxl.Workbook:
    book = _small((*_JOB, "=HOPPER_REQUIRED_VOLUME(B2,C2,D2)"))
    book["S"]["H2"] = 200.0
    book["S"]["I1"] = "=E2"
    book["S"]["I2"] = DataTableFormula(ref="I2:I2", r1="B2", t="dataTable")
    return book


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: _small((*_JOB, 21.15)), "S!E2 (typed required volumes"),
        (lambda: _small((*_JOB, '="needs "&B2*C2/D2*0.5')), "S!E2 (a volume inside a text"),
        (_as_text, "S!E2 (a formula stored as text"),
        (_array, "S!E2 (a plain formula that was not recognized"),
        (_what_if_table, "S!I2 (taken as stored: the function TABLE)"),
        (lambda: _small((*_JOB, "=NOBODYKNOWS(B2)")), "S!E2 (the function NOBODYKNOWS)"),
    ],
)
def test_an_odd_book_gets_no_all_clear(
    make: Callable[[], openpyxl.Workbook], said: str, tmp_path: Path
) -> None:
    path = tmp_path / "book.xlsx"
    make().save(path)
    audit = audit_book(path, "core")
    assert audit.status == 1 and not audit.coverage.complete and said in audit.verdict


def test_a_unit_in_the_number_format_counts_like_one_in_the_heading(tmp_path: Path) -> None:
    """100 kg/h = 220.46 lb/h; x 3.5 h / 36.4 lb/ft3 = 21.20 ft3, not 9.62."""
    book = _small((*_JOB, "=B2*C2/D2"))
    sheet = book["S"]
    sheet["B1"], sheet["B2"] = "Throughput", 100
    sheet["B2"].number_format = '0" kg/h"'
    found = audit_book(stored(book, tmp_path / "one.xlsx"), "core").findings
    assert [(f.kind, f.cell) for f in found] == [("does not follow", "E2")]
    assert found[0].expected == pytest.approx(100 / 0.45359237 * 3.5 / 36.4)
    sheet["B1"], sheet["E2"] = "Throughput [lb/h]", "=HOPPER_REQUIRED_VOLUME(B2,C2,D2)"
    found = audit_book(stored(book, tmp_path / "two.xlsx"), "core").findings
    assert [(f.kind, f.cell) for f in found] == [("unit mismatch", "B2")]


def test_macros_and_charts_are_told_and_leave_the_cells_examined(tmp_path: Path) -> None:
    quote = build("rows")
    chart = BarChart()
    chart.add_data(Reference(quote.book["Quote"], min_col=9, min_row=3, max_row=9))
    quote.book["Quote"].add_chart(chart, "Z3")
    quote.book["Quote"]["A1"].comment = Comment("valid until the customer calls", "invented")
    quote.book.defined_names["spare"] = DefinedName("spare", attr_text="Quote!$A$1")
    path = save(quote, tmp_path / "book.xlsx")
    package = Package(path)
    rels = "xl/_rels/workbook.xml.rels"
    project = b'<Relationship Id="v" Type="http://x/vbaProject" Target="vbaProject.bin"/>'
    package.replace_xml(rels, package.xml(rels).replace(b"</Relat", project + b"</Relat"))
    package.save(tmp_path / "book.xlsm")
    audit = audit_book(tmp_path / "book.xlsm", "core")
    assert audit.status == 0 and "all was looked at" not in audit.verdict
    assert (
        "Not looked at: 1 chart on 'Quote', 1 worded comment on 'Quote', 1 VBA macro project, "
        "1 unused defined name." in audit.verdict
    )


@pytest.mark.parametrize("formula", ["={rate}*3/{blend}", "={rate}/{blend}", "={virgin}/{blend}"])
def test_a_volume_from_other_figures_is_never_passed_over(formula: str, tmp_path: Path) -> None:
    quote = build("plain")
    volumes = set(quote.rewrite("required", formula))
    audit = audited(quote, tmp_path)
    named = {(s, address(r, c)) for s, r, c in audit.coverage.not_examined}
    named |= {(found.sheet, found.cell) for found in audit.findings}
    assert audit.status == 1 and named & volumes


def test_a_summary_by_model_beside_the_quote_leaves_it_examined(tmp_path: Path) -> None:
    quote = build("rows")
    nets = f"Quote!{quote.at(0, 'net')[1]}:{quote.at(5, 'net')[1]}"
    models = f"Quote!{quote.at(0, 'model')[1]}:{quote.at(5, 'model')[1]}"
    quote.book.create_sheet("By model")["B1"] = f'=SUMIF({models},"EXAMPLE-24",{nets})'
    assert audited(quote, tmp_path).status == 0


@pytest.mark.parametrize("hide", ["hidden", "folded"])
def test_a_hidden_column_with_discounts_is_a_warning_a_folded_one_is_told(
    hide: str, tmp_path: Path
) -> None:
    quote = build("rows")
    letter = quote.at(0, "discount")[1].rstrip("0123456789")
    column = quote.book["Quote"].column_dimensions[letter]
    column.hidden, column.outline_level = True, int(hide == "folded")
    audit = audited(quote, tmp_path)
    if hide == "hidden":
        (found,) = audit.findings
        assert found.kind == "hidden" and f"Column {letter} of 'Quote'" in found.message
    else:
        assert audit.status == 0
        assert any(f"6 cells in {letter}." in said for said in audit.coverage.sentences())


def test_rows_of_the_catalog_that_cannot_be_right_are_told(tmp_path: Path) -> None:
    quote = build("rows")
    catalog = quote.book["Catalog"]
    catalog["C2"] = -3090  # of the smallest size, which no line has
    catalog["A3"] = catalog["A2"].value
    found = [f for f in audited(quote, tmp_path).findings if f.kind == "catalog entry"]
    assert [(f.severity, f.cell) for f in found] == [("error", "C2"), ("warning", "C3")]
