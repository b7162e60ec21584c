"""Catalogs: usable volume, free columns, invented rows, one currency."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

import hoppersheet
from hoppersheet import CellError, call
from hoppersheet.errors import InputFileError
from hoppersheet.tables.catalog import NOT_STATED, CatalogTable, catalog_unit, read_catalog
from hoppersheet.tables.joblist import open_catalog
from hoppersheet.tables.joblist.terminal import price_of

FT3 = 0.028316846592  # NIST SP 811 App. B.8: m3
HEAD = ["size [ft3]", "model", "price [USD]"]


def volumes(table: CatalogTable) -> list[float]:
    return [round(size.volume / FT3, 9) for size in table.sizes]


def read(rows: list[list[Any]], **more: Any) -> CatalogTable:
    return read_catalog(rows, "US", **more)


# --- usable volume ------------------------------------------------------------------------


def test_without_a_word_the_whole_size_counts_and_that_is_said() -> None:
    table = read([HEAD, [20, "A", 5], [12, "B", 4]])
    assert volumes(table) == [12, 20]
    assert table.usable_words == NOT_STATED and "gross or usable" in NOT_STATED


def test_a_list_wide_share() -> None:
    table = read([HEAD, [20, "A", 5], [12, "B", 4]], usable=0.9)
    assert volumes(table) == [10.8, 18] and table.usable_words == "90 % of every size, as stated"
    assert [size.gross / FT3 for size in table.sizes] == pytest.approx([12, 20])
    assert volumes(read([[12], [20]], usable=0.5)) == [6, 10]
    # The next size is the one whose usable part is large enough.
    below, above = table.around(11 * FT3)
    assert below is not None and above is not None and (below.model, above.model) == ("B", "A")


@pytest.mark.parametrize(
    ("heading", "cells", "expected"),
    [
        ("usable", [0.9, 0.8], [10.8, 16]),
        ("usable", [90, 80], [10.8, 16]),
        ("usable", ["90 %", "80%"], [10.8, 16]),
        ("usable", ["90 %", 0.8], [10.8, 16]),
        ("usable", ["90 %", 80], [10.8, 16]),
        ("Usable [%]", [90, 80], [10.8, 16]),
        ("usable share", [1, 0.8], [12, 16]),
        ("usable", [100, 80], [12, 16]),
        ("usable", [None, 0.8], [12, 16]),
        ("usable volume [ft3]", [11, 17], [11, 17]),
        ("usable volume [L]", [283.16846592, None], [10, 20]),
        ("net volume (ft3)", [11, 17], [11, 17]),
    ],
)
def test_an_own_column(heading: str, cells: list[Any], expected: list[float]) -> None:
    table = read([["size [ft3]", "model", heading], [12, "A", cells[0]], [20, "B", cells[1]]])
    assert volumes(table) == pytest.approx(expected)
    assert heading in table.usable_words and ("100 % where it is blank, assumed" in
        table.usable_words) == (None in cells)  # fmt: skip


def test_a_blank_takes_the_list_wide_share() -> None:
    rows = [["size [ft3]", "usable"], [12, None], [20, "80 %"], [None, None]]
    table = read(rows, usable=0.95)
    assert volumes(table) == pytest.approx([11.4, 16])
    assert table.usable_words == "the catalog's column 'usable'; 95 % where it is blank, as stated"


def test_usable_volumes_alone_are_the_sizes() -> None:
    table = read([["usable volume [ft3]", "model"], [12, "A"]])
    assert volumes(table) == [12] and table.usable_words == (
        "the catalog's column 'usable volume [ft3]'"
    )


@pytest.mark.parametrize(
    ("rows", "reason"),
    [
        ([["size", "usable"], [12, 0.9], [20, 90]], "fractions in row 2 and percentages in row 3"),
        ([["size", "usable"], [12, 1], [20, 90]], "fractions in row 2 and percentages in row 3"),
        ([["size", "usable"], [12, 0.1]], "row 2 .*0.1 is not between 20 % and 100 %"),
        ([["size", "usable"], [12, "110 %"]], "row 2 .*not between 20 % and 100 %"),
        ([["size", "usable"], [12, "full"]], "row 2 .*'full' is not a number"),
        ([["size", "usable"], [12, "#REF!"]], "row 2 .*#REF!"),
        ([["size", "usable", "usable volume"], [12, 1, 12]], "both a usable share and a usable"),
        ([["size", "usable volume"], [12, 13]], "usable volume is 108 % of the size"),
    ],
)
def test_what_makes_no_sense_is_refused_by_row(rows: list[list[Any]], reason: str) -> None:
    with pytest.raises(CellError, match=reason):
        read(rows)


@pytest.mark.parametrize("usable", [0, 0.1, 1.01, 90])
def test_a_list_wide_share_that_makes_no_sense(usable: float) -> None:
    with pytest.raises(CellError, match=r"not between 0\.2 and 1"):
        read([[12]], usable=usable)


@pytest.mark.parametrize(
    ("typed", "model", "words"),
    [
        (None, "EXAMPLE-30", "gross or usable"),
        ("90 %", "EXAMPLE-30", "90 % of every size, as stated"),
        ("70", "EXAMPLE-45", "70 % of every size, as stated"),
        ("0.7", "EXAMPLE-45", "70 % of every size, as stated"),
    ],
)
def test_the_command_takes_a_usable_share(typed: str | None, model: str, words: str) -> None:
    # 220 lb/h x 3.5 h / 36.4 lb/ft3 = 21.15 ft3; 70 % of 30 ft3 are 21 ft3.
    table, _ = open_catalog(None, "US", "US", typed)
    _, above = table.around(220 * 3.5 / 36.4 * FT3)
    assert above is not None and above.model == model and words in table.usable_words


@pytest.mark.parametrize("typed", ["full", "0.1", "110 %", ""])
def test_the_command_refuses_a_share_that_makes_no_sense(typed: str) -> None:
    with pytest.raises(InputFileError, match="usable"):
        open_catalog(None, "US", "US", typed)


def test_the_function_looks_the_model_up_by_usable_volume() -> None:
    # 220 lb/h x 3.5 h / 36.4 lb/ft3 = 21.15 ft3: arithmetic identity.
    jobs = [["throughput", "drying hours", "virgin density"], [220, 3.5, 36.4]]
    catalog = [["size [ft3]", "model", "usable"], [20, "A", 1], [23, "B", 0.9], [30, "C", 0.9]]
    row = dict(zip(*call("HOPPER_SIZE_JOBS", jobs, catalog), strict=True))
    assert (row["model"], row["next size [ft3]"]) == ("C", 27)
    assert row["size below [ft3]"] == pytest.approx(20.7)


# --- the other columns --------------------------------------------------------------------


def test_free_columns_and_marks() -> None:
    rows = [
        [*HEAD, "Height [in]", "voltage", "lead time", None, "invented"],
        [12, "A", 4, 60, "480 V", "4 weeks", "x", "yes"],
        [20, "B", 5, None, "480 V", None, None, "no"],
        [30, "C", 6],
    ]
    first, second, third = read(rows).sizes
    assert first.more == {"Height [in]": 60, "voltage": "480 V", "lead time": "4 weeks"}
    assert second.more == {"voltage": "480 V"} and not third.more
    assert [size.invented for size in (first, second, third)] == [True, False, False]
    noted = read([["size", "note"], [12, "Invented demo data"], [20, "not invented"]]).sizes
    assert [size.invented for size in noted] == [True, False]


@pytest.mark.parametrize(
    ("heading", "currency"),
    [
        ("price [USD]", "USD"), ("price (EUR)", "EUR"), ("List price, EUR", "EUR"),
        ("Price in CHF", "CHF"), ("price \u20ac", "\u20ac"), ("price USD", "USD"), ("price", ""),
    ],
)  # fmt: skip
def test_currency_of_the_prices(heading: str, currency: str) -> None:
    table = read([["size", "model", heading], [12, "A", 4360]])
    assert (table.currency, table.sizes[0].price) == (currency, 4360)


def test_one_catalog_one_currency() -> None:
    rows = [["size", "price", "currency"], [12, 4360, "USD"], [20, 5890, "USD"]]
    assert read(rows).currency == "USD"
    rows[2][2] = "EUR"
    with pytest.raises(CellError, match="prices are in EUR and USD"):
        read(rows)


def test_the_demo_catalog_is_marked_as_invented_throughout() -> None:
    path = Path(hoppersheet.__file__).parent / "data" / "demo_catalog.csv"
    rows: list[list[Any]] = list(csv.reader(path.read_text().splitlines()))
    table = read(rows)
    assert len(table.sizes) == len(rows) - 1 and table.currency == "USD"
    for size in table.sizes:
        ft3 = size.volume / FT3
        assert size.invented and size.model == f"EXAMPLE-{ft3:.0f}"
        assert float(size.more["size in L"]) == pytest.approx(ft3 * 28.316846592, abs=0.5)
    prices = [float(size.price) for size in table.sizes]
    assert prices == sorted(prices)


def test_a_column_of_units_beside_the_sizes() -> None:
    """Liters of NIST SP 811 B.8: 1 ft3 is 28.316846592 L."""
    rows = [["Model", "Size", "Unit"], ["A", 10, "ft3"], ["B", 900, "L"], ["C", "25 ft3", None]]
    table = read_catalog(rows, "US")
    assert [size.model for size in table.sizes] == ["A", "C", "B"]
    assert table.sizes[2].volume == pytest.approx(0.9)
    assert catalog_unit(rows[:3]) == "its own"


CATALOGS = [
    ("Volumen (l);Typ;Preis EUR\n250;E-250;1.000,00\n320;E-320;1.200,00\n1.000;E-1;4.500,00", ()),
    ("Volume utile (l);Modèle;Prix en EUR\n250;E-250;1000\n320;E-320;1200", ()),
    ("Größe,Bezeichnung,Artikel,VK (EUR)\nL,,,\n250,E-250,1,1000\n320,E-320,2,1200", ()),
    ("Model,Liters,Price\nE-250,250,1000\nE-320,320,1200", ()),
    (
        "Size (L),Model,Price\nSmall line,,\n250,E-250,1000\n320,E-320,1200\nTotal,,2200\n"
        "570,Total,2200",
        ("row 2 'Small line', a title or a note", "row 5 'Total', a total",
         "row 6 'Total', a total"),
    ),
    (
        "Sizes\n\n,,\nSize (L),Model,Price\n\n250,E-250,1000\n\n320,E-320,1200\nTotal,,2200",
        ("row 9 'Total', a total",),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "left_out"), CATALOGS, ids=range(len(CATALOGS)))
def test_catalogs_as_people_send_them(text: str, left_out: tuple[str, ...], tmp_path: Path) -> None:
    (tmp_path / "sizes.csv").write_text(text, encoding="utf-8")
    table, _ = open_catalog(str(tmp_path / "sizes.csv"), "as the list says", "metric")
    _, following = table.around(0.3)
    assert following is not None
    assert (following.volume, following.model) == (pytest.approx(0.32), "E-320")
    assert price_of(following.price) == 1200
    assert tuple(table.left_out) == left_out


def test_a_catalog_without_sizes_is_told_so(tmp_path: Path) -> None:
    (tmp_path / "sizes.csv").write_text("Model,Capacity kg,Price\nE-250,150,1000\n")
    with pytest.raises(InputFileError, match="no column of sizes among its headings 'Model'"):
        open_catalog(str(tmp_path / "sizes.csv"), "as the list says", "metric")
