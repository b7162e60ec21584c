"""Lines that have no size or no price: they stay in the table, and no total is made up for them."""

from __future__ import annotations

from pathlib import Path

import pytest

from audit.planted.styles import Quote, build, save
from hoppersheet.audit import Audit, audit_book


def audited(quote: Quote, folder: Path) -> Audit:
    return audit_book(save(quote, folder / "book.xlsx"), "core")


def verdict_of(audit: Audit, job: str) -> str:
    return next(line.verdict for line in audit.sign_off.lines if line.job == job)


@pytest.mark.parametrize(
    ("style", "role", "value"),
    [
        ("rows", "hours", "4:00"), ("columns", "virgin", 0.0058), ("sheets", "rate", "as before"),
        ("pages", "hours", "4:00"), ("tables", "rate", "as before"),
    ],
)  # fmt: skip
def test_a_line_without_a_volume_stays_in_the_table(
    style: str, role: str, value: object, tmp_path: Path
) -> None:
    quote = build(style)
    quote.put(2, role, value)
    audit = audited(quote, tmp_path)
    sheet, cell = quote.at(2, "required")
    assert [line.job for line in audit.sign_off.lines][2] == "Gear" and audit.lines == 6
    said = verdict_of(audit, "Gear")
    assert said.startswith(f"not sized: {sheet}!{cell} shows #")
    assert (audit.coverage.worked_out, audit.coverage.lines["not sized"]) == (5, 1)
    assert audit.coverage.not_worked_out == {"'Gear'": said}
    assert audit.status == 1 and not audit.as_dict()["coverage"]["complete"]
    assert "5 of 6 lines worked out again" in " ".join(audit.coverage.sentences())
    assert audit.sign_off.right_total is None and "was not worked out again" in audit.verdict


def test_a_volume_that_hides_its_error_is_no_line_less(tmp_path: Path) -> None:
    quote = build("rows")
    quote.rewrite("required", '=IFERROR(HOPPER_REQUIRED_VOLUME({rate},{hours},{blend}),"")')
    quote.rewrite("net", "=IFERROR({price}*{quantity}*(1-{discount}),0)")
    quote.put(2, "hours", "4:00")
    audit = audited(quote, tmp_path)
    assert verdict_of(audit, "Gear").startswith("not sized: Quote!L6 hides an error: '4:00'")
    assert audit.sign_off.right_total is None and "not sized" in audit.sign_off.why


def test_a_book_in_which_no_line_has_a_volume(tmp_path: Path) -> None:
    quote = build("plain")
    quote.rewrite("required", "={rate}*{hours}/{blend}/0")
    audit = audited(quote, tmp_path)
    assert audit.coverage.lines == {"not sized": 6} and audit.status == 1


def test_prepared_rows_are_no_lines(tmp_path: Path) -> None:
    quote = build("rows")
    for line in (4, 5):
        for role in ("job", "resin", "virgin", "regrind", "rate", "hours", "quantity"):
            quote.put(line, role, None)
    assert audited(quote, tmp_path).coverage.lines == {"by HOPPER_REQUIRED_VOLUME": 4}


@pytest.mark.parametrize(
    ("style", "price"), [("rows", None), ("columns", "on request"), ("pages", None)]
)
def test_without_a_price_no_total_is_made_up(style: str, price: str | None, tmp_path: Path) -> None:
    quote = build(style)
    net = '=IF(ISNUMBER({price}),{price}*{quantity}*(1-{discount}),"")'
    quote.rewrite("net", net)
    total, sums = quote.cell("total").value, quote.cell("sum").value
    a, b = quote.at(0, "net")[1], quote.at(5, "net")[1]
    quote.put("sum", "net", f"=IF(COUNT({a}:{b})<6,NA(),{sums[1:]})")
    quote.put(2, "price", price)
    audit = audited(quote, tmp_path)
    assert total.startswith("=") and audit.sign_off.right_total is None
    kinds = {(f.kind, (f.sheet, f.cell)) for f in audit.findings if f.severity == "error"}
    assert ("no price", quote.at(2, "price")) in kinds
    # a total that shows an error on purpose skips nothing
    assert "total skips lines" not in {kind for kind, _ in kinds}
    assert verdict_of(audit, "Gear") == "ERROR: no price"
    assert audit.coverage.worked_out == 5 and not audit.coverage.complete


def test_a_total_is_what_the_lines_move_whatever_it_is_called(tmp_path: Path) -> None:
    quote = build("rows")
    sheet = quote.book["Quote"]
    # refers to the lines, and is the dryer's price whatever they come to
    sheet["T18"], sheet["U18"] = "Total of the dryer", "=IF(SUM(U4:U9)>0,90000,90000)"
    audit = audited(quote, tmp_path)
    assert audit.sign_off.total_cell == "Quote!U13"


def test_a_job_that_somebody_typed_below_the_lines_is_not_forgotten(tmp_path: Path) -> None:
    quote = build("rows")
    sheet = quote.book["Quote"]
    for role in ("job", "resin", "rate", "hours", "quantity"):
        letter = quote.at(5, role)[1][0]
        sheet[f"{letter}10"] = quote.cell(5, role).value
    audit = audited(quote, tmp_path)
    assert audit.sign_off.lines[-1].verdict == "not sized: Quote!L10 is empty"
    assert audit.status == 1 and not audit.coverage.complete


def test_prices_typed_by_hand_are_compared_with_nothing_and_that_is_said(tmp_path: Path) -> None:
    quote = build("plain")
    for line in range(6):
        for role, value in (("next", None), ("model", "EXAMPLE"), ("price", 5000.0)):
            quote.put(line, role, value)
        quote.put(line, "chosen", (24, 18, 10, 14, 38, 30)[line])
    audit = audited(quote, tmp_path)
    reasons = set(audit.coverage.not_worked_out.values())
    assert reasons == {"list price: there is no catalog to compare it with"}
    assert audit.status == 1 and "Nothing found" not in audit.verdict


@pytest.mark.parametrize(
    ("label", "value", "net"),
    [
        ("Discount on everything", 0.08, "={price}*{quantity}*(1-Quote!$Z$1)"),
        ("EUR per USD", 0.92, "={price}*{quantity}*Quote!$Z$1"),
    ],
)
def test_a_stated_figure_for_all_lines_is_worked_out_too(
    label: str, value: float, net: str, tmp_path: Path
) -> None:
    quote = build("rows")
    quote.book["Quote"]["Y1"], quote.book["Quote"]["Z1"] = label, value
    for line in range(6):
        quote.put(line, "discount", None)
    quote.rewrite("net", net)
    audit = audited(quote, tmp_path)
    assert audit.coverage.worked_out == 6 and audit.coverage.not_worked_out == {}
    right = sum(line.right_net or 0.0 for line in audit.sign_off.lines)
    assert right == pytest.approx(sum(line.net or 0.0 for line in audit.sign_off.lines))


def test_a_total_that_takes_the_largest_line_is_not_all_looked_at(tmp_path: Path) -> None:
    """Jobs in columns: MAX of the lines under 'Total' adds nothing up."""
    from audit.planted.styles import build, save

    quote = build("columns")
    sheet, first = quote.at(0, "net")
    last = quote.at(quote.lines - 1, "net")[1]
    for role in ("sum", "order", "total"):  # with their labels: no other cell is called a total
        for cell in quote.book[sheet][quote.cell(role, "net").row]:
            cell.value = None
    beside = quote.cell(quote.lines - 1, "net").offset(column=1)
    beside.value = f"=MAX({first}:{last})"
    quote.cell(quote.lines - 1, "job").offset(column=1).value = "Total"
    verdict = audit_book(save(quote, tmp_path / "book.xlsx"), "core").verdict
    assert "is called a total, and does not add up" in verdict
