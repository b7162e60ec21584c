"""Formats that hide a number, or show another one than the cell holds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.formatting.rule import CellIsRule, FormulaRule, Rule
from openpyxl.styles import Font, PatternFill
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.styles.numbers import NumberFormat

from audit.planted.styles import build, save
from hoppersheet.audit import audit_book
from hoppersheet.workbook.evaluator import fixed_text

WHITE = Font(color="FFFFFFFF")
NOTHING = DifferentialStyle(numFmt=NumberFormat(numFmtId=200, formatCode=";;;"))


# What a format shows follows from ECMA-376 part 1, 18.8.31 (numFmts).
@pytest.mark.parametrize(
    ("value", "code", "text"),
    [
        (5310.5, '"4,500.00"', "4,500.00"),
        (5310.5, '"included"', "included"),
        (53.0, '0"0"', "530"),
        (53.0, r"\4\5\0", "450"),
        (-5.0, '0;"none"', "none"),
        (5310.5, "General", None),
        (5310.5, '#,##0.00 "USD"', None),
        (21.15, '0.0 "ft3"', None),
        (21.15, '"Q2-"0', None),
        (12.0, "yyyy-mm-dd", None),
        (0.0, '0.0;-0.0;"-"', "-"),
        (7.0, '0.0;-0.0;"-"', None),
    ],
)
def test_the_text_that_a_format_shows_whatever_the_number_is(value, code, text) -> None:
    assert fixed_text(value, code) == text


RULES: dict[str, tuple[Any, bool]] = {
    "white where more than 0": (FormulaRule(formula=["P6>0"], font=WHITE), True),
    "white where less than 0": (FormulaRule(formula=["P6<0"], font=WHITE), False),
    "nothing shown": (Rule(type="expression", dxf=NOTHING, formula=["TRUE"]), True),
    "between": (CellIsRule(operator="between", formula=["0", "1"], font=WHITE), True),
    "not between": (CellIsRule(operator="notBetween", formula=["0", "1"], font=WHITE), False),
    "white on dark": (
        FormulaRule(formula=["TRUE"], font=WHITE, fill=PatternFill("solid", bgColor="FF223344")),
        False,
    ),
    "the first three": (Rule(type="top10", rank=3, dxf=DifferentialStyle(font=WHITE)), True),
}


@pytest.mark.parametrize("name", RULES)
def test_a_conditional_format_that_hides(name: str, tmp_path: Path) -> None:
    rule, hides = RULES[name]
    quote = build("rows")
    cell = quote.cell(2, "discount")
    if rule.formula and "P6" in rule.formula[0]:
        rule.formula = [rule.formula[0].replace("P6", cell.coordinate)]
    cell.parent.conditional_formatting.add(cell.coordinate, rule)
    found = audit_book(save(quote, tmp_path / "book.xlsx"), "core").findings
    unseen = [f for f in found if f.kind == "unseen"]
    assert [f.cell for f in unseen] == ([cell.coordinate] if hides else [])
    assert (
        ("was not worked out" in unseen[0].message) == (name == "the first three") if hides else 1
    )


def test_a_rule_is_read_from_its_first_cell(tmp_path: Path) -> None:
    """A formula of a rule is meant for the first cell of its range; the others move it along."""
    quote = build("rows")
    first, last = quote.cell(0, "discount"), quote.cell(5, "discount")
    area = f"{first.coordinate}:{last.coordinate}"
    rule = FormulaRule(formula=[f"{first.coordinate}>0"], font=WHITE)
    first.parent.conditional_formatting.add(area, rule)
    path = save(quote, tmp_path / "book.xlsx")
    shown = openpyxl.load_workbook(path, data_only=True)[first.parent.title]
    discounts = [c for (c,) in shown[area] if c.value]
    found = [f for f in audit_book(path, "core").findings if f.kind == "unseen"]
    named = {cell.rpartition("!")[2] for f in found for cell in (f.cell, *f.cells)}
    assert named == {c.coordinate for c in discounts} and discounts
