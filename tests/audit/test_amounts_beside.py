"""Freight, options and services beside the lines: counted once, or told. All figures are invented.

What is at stake is worked out beside each case.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from audit.audit_books import COLUMN, FIRST, clean_book, stored
from audit.planted.styles import build, save
from audit.test_totals import MONEY, ROW, SUM, book_with
from hoppersheet.audit import Finding, audit_book


def money(row: int) -> str:
    return f"{MONEY}{ROW + row}"


S, FREIGHT, TAX = money(0), money(1), money(2)
STAND, MAGNET, OPTIONS = money(1), money(2), money(3)
TAXED = {"Subtotal": f"={SUM}", "Freight": 480, "VAT 19 %": f"=ROUND(({S}+{FREIGHT})*0.19,2)"}
WITH_OPTIONS = {"Subtotal": f"={SUM}", "Floor stand, USD": 640, "Magnet drawer, USD": 415}
ADDED = f"=SUM({STAND}:{MAGNET})"


def loud(book: Any, path: Path) -> list[Finding]:
    audit = audit_book(stored(book, path / "book.xlsx"), "core")
    return [f for f in audit.findings if f.severity != "note"]


@pytest.mark.parametrize(
    "block",
    [
        {**TAXED, "Total": f"={S}+{FREIGHT}+{TAX}"},
        {**TAXED, "VAT 19 %": f"={S}*0.19", "Total": f"=SUM({S}:{TAX})"},
        {**WITH_OPTIONS, "Options, USD": ADDED, "Total": f"={S}+{OPTIONS}"},
        {**WITH_OPTIONS, "Total": f"=SUM({S}:{MAGNET})"},
        {"Subtotal": f"={SUM}", "Spare filters, USD": (4, 85), "Total": f"={S}+{FREIGHT}*"
         f"{COLUMN['quantity']}{ROW + 1}"},
        {"Subtotal": f"={SUM}", "Option: stand, USD": 640, "Valid for days": 60, "Total": f"={S}"},
        {"Subtotal": f"={SUM}", "Freight": 0, "Total": f"={S}+{FREIGHT}"},
    ],
)  # fmt: skip
def test_what_counts_once_is_quiet(block: dict[str, Any], tmp_path: Path) -> None:
    assert loud(book_with(block), tmp_path) == []


@pytest.mark.parametrize(
    ("block", "kind", "cell", "stake"),
    [
        # taxed and not added: 480 is missing, its tax is not
        ({**TAXED, "Total": f"={S}+{TAX}"}, "total skips lines", money(3), 480),
        # 640 + 415 counted twice, in both ways
        ({**WITH_OPTIONS, "Options, USD": ADDED, "Total": f"={S}+{OPTIONS}+{OPTIONS}"},
         "total skips lines", money(4), 1055),
        ({**WITH_OPTIONS, "Options, USD": ADDED, "Total": f"=SUM({S}:{OPTIONS})"},
         "total skips lines", money(4), 1055),
        # 1500 typed for 1055
        ({**WITH_OPTIONS, "Options, USD": 1500, "Total": f"={S}+{OPTIONS}"},
         "typed over", OPTIONS, 445),
        ({**WITH_OPTIONS, "Total": f"={S}+{STAND}"}, "total skips lines", MAGNET, 415),
        ({**WITH_OPTIONS, "Options, USD": ADDED, "Total": f"={S}"}, "total skips lines", OPTIONS,
         1055),
        ({"Subtotal": f"={SUM}", "Freight": None, "Total": f"={S}+{FREIGHT}"},
         "blank read as 0", FREIGHT, 0),
    ],
)  # fmt: skip
def test_what_does_not_count_once_is_told(
    block: dict[str, Any], kind: str, cell: str, stake: float, tmp_path: Path
) -> None:
    found = loud(book_with(block), tmp_path)
    assert [(f.kind, f.cell) for f in found] == [(kind, cell)]
    assert found[0].money == pytest.approx(stake, abs=0.01)


@pytest.mark.parametrize(("net", "severity"), [(5000.0, "error"), ("right", "warning")])
def test_a_net_price_typed_into_a_form(net: Any, severity: str, tmp_path: Path) -> None:
    quote = build("names")
    right = audit_book(save(quote, tmp_path / "book.xlsx"), "core").context.worked[0].net  # type: ignore[union-attr]
    at = quote.put(0, "net", round(right, 2) if net == "right" else net)
    audit = audit_book(save(quote, tmp_path / "book.xlsx"), "core")
    assert [(f.kind, f.severity, f.sheet, f.cell) for f in audit.findings if f.severity != "note"
            ] == [("typed over", severity, *at)]  # fmt: skip


@pytest.mark.parametrize("row", [0, 3])
def test_a_line_without_a_name_is_a_note(row: int, tmp_path: Path) -> None:
    book = clean_book()
    book["Sizing"][f"A{FIRST + row}"] = None
    audit = audit_book(stored(book, tmp_path / "book.xlsx"), "core")
    assert [(f.kind, f.severity, f.cell) for f in audit.findings] == [
        ("no name", "note", f"A{FIRST + row}")
    ]
