"""Prices against their lists: lists apart from the sizes, several lists, other items in a line.

All names and figures are invented; each amount at stake is worked out beside its case.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from audit.planted.styles import Quote, build, save
from hoppersheet.audit import Audit, audit_book


def audited(quote: Quote, folder: Path) -> Audit:
    return audit_book(save(quote, folder / "book.xlsx"), "core")


def first(audit: Audit) -> tuple[str, str, float]:
    """(kind, cell, money) of the finding that comes first."""
    found = audit.findings[0]
    return found.kind, found.cell, round(found.money, 2)


def apart() -> Quote:
    """The models and prices of the catalog do not stand beside its sizes, as in our own quote."""
    quote = build("rows")
    sheet = quote.book["Catalog"]
    last = sheet.max_row
    sheet.move_range(f"A1:A{last}", cols=20)
    quote.sizes = f"Catalog!$U$2:$U${last}"
    for role in ("next", "model", "price"):
        quote.rewrite(role, quote.formulas[role])
    return quote


def two_lists(named: bool) -> Quote:
    """The last two lines take a list of stainless hoppers, at 1.3 times the price."""
    quote = build("rows")
    steel = quote.book["Catalog"]
    steel.title = "Carbon steel"
    other = quote.book.copy_worksheet(steel)
    other.title = "Stainless"
    for row in range(2, other.max_row + 1):
        other[f"B{row}"] = f"{other[f'B{row}'].value}-S"
        other[f"C{row}"] = 1.3 * other[f"C{row}"].value
    sheet = quote.book["Quote"]
    column = sheet.max_column + 1
    sheet.cell(3, column, "Hopper of")
    for line in range(quote.lines):
        where = "Carbon steel" if line < 4 else "Stainless"
        if named:
            sheet.cell(4 + line, column, where.lower())
        for role in ("next", "model", "price"):
            lists = {
                name: getattr(quote, name).replace("Catalog", f"'{where}'")
                for name in ("sizes", "models", "prices")
            }
            quote.write(line, role, **lists)
    return quote


@pytest.mark.parametrize("named", [True, False])
def test_a_second_list_is_no_error(named: bool, tmp_path: Path) -> None:
    audit = audited(two_lists(named), tmp_path)
    assert audit.status == 0 and audit.coverage.complete
    assert [(f.kind, f.severity) for f in audit.findings if "list" in f.message] == (
        [] if named else [("catalog range", "note")]
    )


def test_the_wrong_one_of_two_lists_is_told_once(tmp_path: Path) -> None:
    quote = two_lists(named=True)
    for role in ("next", "model", "price"):
        cell = quote.cell(5, role)
        cell.value = cell.value.replace("Stainless", "Carbon steel")
    audit = audited(quote, tmp_path)
    worked = audit.context.worked[5]  # type: ignore[union-attr]
    assert worked.price and worked.right_price == pytest.approx(1.3 * worked.price)
    assert first(audit)[:2] == ("model differs", quote.at(5, "model")[1])
    assert first(audit)[2] == pytest.approx(0.3 * worked.net, abs=0.01)  # no discount, one piece
    assert "it is of 'Carbon steel', the line says 'Stainless'" in audit.findings[0].message
    assert len([f for f in audit.findings if f.severity == "error"]) == 1


def test_a_size_may_stand_twice_for_two_materials(tmp_path: Path) -> None:
    quote = build("rows")
    sheet = quote.book["Catalog"]
    sheet["D1"] = "Material"
    last = sheet.max_row
    for row in range(2, last + 1):
        size, model, price = (sheet.cell(row, c).value for c in (1, 2, 3))
        sheet.cell(row, 4, "steel")
        for column, value in enumerate((size, f"{model}-S", 1.3 * price, "stainless"), 1):
            sheet.cell(last - 1 + row, column, value)
    lines = quote.book["Quote"]
    lines["W3"] = "Made of"
    end = 2 * last - 1
    quote.sizes = f"Catalog!$A$2:$A${end}"
    quote.rewrite("next", quote.formulas["next"])
    for line in range(quote.lines):
        row = 4 + line
        lines[f"W{row}"] = "steel" if line else "stainless"
        found = (
            f"SUMPRODUCT((Catalog!$A$2:$A${end}={{chosen}})*(Catalog!$D$2:$D${end}=W{row})*"
            f"(ROW(Catalog!$A$2:$A${end})-1))"
        )
        quote.write(line, "model", f"=INDEX(Catalog!$B$2:$B${end},{found})")
        quote.write(line, "price", f"=INDEX(Catalog!$C$2:$C${end},{found})")
    assert not [f for f in audited(quote, tmp_path).findings if f.severity != "note"]
    lines["W5"] = "stainless"
    quote.cell(1, "price").value = sheet["C4"].value  # steel, and not of that size
    assert first(audited(quote, tmp_path))[:2] == ("price differs", quote.at(1, "price")[1])


def _typed_model(quote: Quote) -> Any:
    return quote.put(2, "model", "EXAMPLE-60")


def _typed_price(quote: Quote) -> Any:
    return quote.put(2, "price", 3990.0)


def _shifted_prices(quote: Quote) -> Any:
    quote.prices = quote.prices.replace("$2", "$3").replace("$11", "$12")
    return quote.rewrite("price", quote.formulas["price"])[0]


@pytest.mark.parametrize(
    ("plant", "kind"),
    [
        (None, ""), (_typed_model, "model differs"), (_typed_price, "price differs"),
        (_shifted_prices, "price differs"),
    ],
)  # fmt: skip
def test_a_list_apart_from_its_sizes(
    plant: Callable[[Quote], Any] | None, kind: str, tmp_path: Path
) -> None:
    quote = apart()
    at = plant(quote) if plant is not None else None
    audit = audited(quote, tmp_path)
    if at is None:
        assert audit.status == 0 and audit.coverage.complete
        assert all(worked.listed_price for worked in audit.context.worked)  # type: ignore[union-attr]
    else:
        assert first(audit)[:2] == (kind, at[1])


def with_dryers() -> Quote:
    """A dryer in each line, from its own list, and a stand; one net price for all of it."""
    quote = build("rows")
    dryers = quote.book.create_sheet("Dryers")
    for row in (
        ("Airflow [cfm]", "Dryer model", "Price [USD]"),
        (120, "EXAMPLE-D120", 7300), (240, "EXAMPLE-D240", 9800), (480, "EXAMPLE-D480", 13900),
    ):  # fmt: skip
        dryers.append(row)
    sheet = quote.book["Quote"]
    for column, heading in zip(
        ("W", "X", "Y", "Z"),
        ("Dryer airflow [cfm]", "Dryer model", "Dryer price [USD]", "Stand price [USD]"),
        strict=True,
    ):
        sheet[f"{column}3"] = heading
    for line in range(quote.lines):
        row = 4 + line
        sheet[f"W{row}"] = (120, 240, 480)[line % 3]
        for column, at in (("X", "B"), ("Y", "C")):
            sheet[f"{column}{row}"] = (
                f"=INDEX(Dryers!${at}$2:${at}$4,MATCH(W{row},Dryers!$A$2:$A$4,0))"
            )
        sheet[f"Z{row}"] = 350
        quote.write(line, "net", f"=({{price}}+Y{row}+Z{row})*{{quantity}}*(1-{{discount}})")
    return quote


def _dryer_prices_off(quote: Quote) -> tuple[str, float]:
    sheet = quote.book["Quote"]
    for row in range(4, 10):
        sheet[f"Y{row}"] = sheet[f"Y{row}"].value.replace("$C$2:$C$4", "$C$1:$C$3")
    sheet["W4"] = sheet["W7"] = 240  # the first of the shifted list is its heading
    return "Y4", 2 * 2500 * 0.95 + 2500 + 3 * 4100 * 0.92 + 2500 + 2 * 2500 * 0.95 + 4100


def _dryer_typed(quote: Quote) -> tuple[str, float]:
    quote.book["Quote"]["Y5"] = 8900
    return "Y5", 900


@pytest.mark.parametrize("plant", [None, _dryer_prices_off, _dryer_typed])
def test_a_dryer_is_an_item_of_its_line(plant: Any, tmp_path: Path) -> None:
    quote = with_dryers()
    at, stake = plant(quote) if plant is not None else ("", 0.0)
    audit = audited(quote, tmp_path)
    if plant is None:
        assert audit.status == 0 and audit.coverage.complete, audit.verdict
    else:
        named = {c for f in audit.findings[:1] for c in (f"Quote!{f.cell}", *f.cells)}
        assert f"Quote!{at}" in named and audit.findings[0].severity == "error"
        assert audit.findings[0].money == pytest.approx(stake, abs=0.5)


def in_another_currency(factor: str, rate: float = 1.09) -> Quote:
    """The catalog is in EUR, the quote in USD, with a rate."""
    quote = build("rows")
    sheet = quote.book["Quote"]
    quote.book["Catalog"]["C1"] = "List price EUR"
    sheet["W1"], sheet["X1"] = "Exchange rate, USD per EUR", rate
    sheet[f"{quote.at(0, 'price')[1][0]}3"] = "List price EUR"
    sheet[f"{quote.at(0, 'net')[1][0]}3"] = "Net price USD"
    quote.rewrite("net", f"={{price}}*{{quantity}}*(1-{{discount}}){factor}")
    return quote


@pytest.mark.parametrize(
    ("factor", "rate", "says"),
    [
        ("*$X$1", 1.09, ""), ("/$X$1", 1.09, "wrong way round"), ("*$X$1", 1.0, "same numbers"),
        ("*1.09", 1.09, "typed inside a formula|is not what follows"),
    ],
)  # fmt: skip
def test_a_rate_turns_one_currency_into_another(
    factor: str, rate: float, says: str, tmp_path: Path
) -> None:
    audit = audited(in_another_currency(factor, rate), tmp_path)
    errors = [f for f in audit.findings if f.severity == "error"]
    if not says:
        assert not errors and audit.sign_off.right_total == pytest.approx(audit.sign_off.total)
    else:
        assert re.search(says, errors[0].message), errors


def test_a_factor_without_a_name_in_one_line_is_told(tmp_path: Path) -> None:
    quote = build("rows")
    quote.book["Quote"]["AB40"] = 0.9
    quote.write(1, "net", "={price}*{quantity}*(1-{discount})*AB40")
    audit = audited(quote, tmp_path)
    worked = audit.context.worked[1]  # type: ignore[union-attr]
    assert first(audit)[1] == quote.at(1)[1]
    assert first(audit)[2] == pytest.approx(worked.net / 9, abs=0.01)


def test_a_margin_between_cost_and_price_is_no_error(tmp_path: Path) -> None:
    """List price, less what a dealer pays less, over what is left of the price asked for."""
    quote = build("rows")
    sheet = quote.book["Quote"]
    for column, heading in zip("WXYZ", ("Dealer discount", "Our cost", "Margin", "Selling price"),
                               strict=True):  # fmt: skip
        sheet[f"{column}3"] = heading
    for line in range(quote.lines):
        row = 4 + line
        sheet[f"W{row}"], sheet[f"Y{row}"] = 0.3, 0.22
        sheet[f"X{row}"] = quote.formula(line, "net", f"={{price}}*(1-W{row})")
        sheet[f"Z{row}"] = f"=ROUND(X{row}/(1-Y{row}),0)"
        quote.write(line, "net", f"=Z{row}*{{quantity}}")
        quote.put(line, "discount", None)
    audit = audited(quote, tmp_path)
    assert not [f for f in audit.findings if f.severity == "error"]
    assert audit.sign_off.right_total == pytest.approx(audit.sign_off.total)
