"""A basis of shares that only the sheet around the blend states. All figures are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from audit.planted.styles import Quote, build, save
from hoppersheet.audit import Finding, audit_book

LITERAL = '=HOPPER_BLEND_DENSITY({virgin_share}:{regrind_share},{virgin}:{regrind},"volume")'
LEFT_OUT = "=HOPPER_BLEND_DENSITY({virgin_share}:{regrind_share},{virgin}:{regrind})"
PLAIN = "={virgin_share}*{virgin}+{regrind_share}*{regrind}"


def found(quote: Quote, path: Path) -> list[Finding]:
    audit = audit_book(save(quote, path / "book.xlsx"), "core")
    return [f for f in audit.findings if f.severity != "note"]


def with_basis(text: object, heading: str = "Basis") -> Quote:
    """Blends by volume, whatever the cells beside them say."""
    quote = build("rows")
    sheet, first = quote.at(0, "basis")
    quote.book[sheet][first].offset(-1, 0).value = heading
    for line in range(quote.lines):
        quote.put(line, "basis", text)
    quote.rewrite("blend", LITERAL)
    return quote


@pytest.mark.parametrize(
    ("heading", "text"),
    [("By", "mass"), ("Share basis", "by weight"), ("Recipe", "wt %"), ("w or v", "Gewicht")],
)
def test_a_cell_of_the_line_says_mass(text: str, heading: str, tmp_path: Path) -> None:
    quote = with_basis(text, heading)
    (told,) = found(quote, tmp_path)
    assert (told.sheet, told.cell) == quote.at(0, "blend") and "mass" in told.message


@pytest.mark.parametrize("formula", [LITERAL, LEFT_OUT, PLAIN])
@pytest.mark.parametrize(
    "title", ["Quote for an invented plant; shares by mass", "Recipes by weight", "Mass shares"]
)
def test_a_title_says_mass(title: str, formula: str, tmp_path: Path) -> None:
    quote = with_basis(None)
    quote.rewrite("blend", formula)
    quote.book["Quote"]["A1"] = title
    assert quote.at(0, "blend")[1] in {f.cell for f in found(quote, tmp_path)}


def test_a_setting_says_mass(tmp_path: Path) -> None:
    quote = with_basis(None)
    terms = quote.book.create_sheet("Terms")
    terms["A1"], terms["B1"] = "Share basis", "mass"
    assert quote.at(0, "blend")[1] in {f.cell for f in found(quote, tmp_path)}


@pytest.mark.parametrize(
    "title",
    ["Shares by volume", "Shares by volume or by mass", "Are the shares by mass?",
     "Shares by volume, unless a recipe is by mass", "Hoppers by mass of resin"],
)  # fmt: skip
def test_what_says_no_other_basis_is_quiet(title: str, tmp_path: Path) -> None:
    quote = with_basis(None)
    quote.book["Quote"]["A1"] = title
    assert found(quote, tmp_path) == []


def test_a_title_is_enough(tmp_path: Path) -> None:
    """A blend without a basis, where the title says by volume: somebody stated it."""
    quote = with_basis(None)
    quote.rewrite("blend", LEFT_OUT)
    assert {f.kind for f in found(quote, tmp_path)} == {"basis not stated"}
    quote.book["Quote"]["A1"] = "All shares by volume"
    assert found(quote, tmp_path) == []
