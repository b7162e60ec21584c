"""Prices against their lists: lists apart from the sizes, several lists, other items in a line.

All names and figures are invented; each amount at stake is worked out beside its case.
"""

from __future__ import annotations

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
