"""How a list is read, as the decisions on it leave it: what rows and receipts go by."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

__all__ = ["Column", "Reading"]


class Column(NamedTuple):
    """How one column is read.

    Attributes:
        name: the column's own name; a component's share is ``"masterbatch share"``.
        at: 0 is the first.
        typed: the heading as it stands there.
        quantity: of its numbers, "" for text.
        unit: of its plain numbers.
        unit_from: where the unit comes from, in words.
        mode: "percent" or "fraction" for a ratio's plain numbers, else "".
        sign: the decimal sign of a number that can be read two ways, "" where nothing proves one.
        note: what else the receipt says.
        unit_at: the column that holds each row's unit, None where there is none.
        plain: whether every cell is a text that can be read in one way only: blank, or digits with
            at most one decimal point.
        rough: how many cells say "about", "at least" or "at most".
    """

    name: str
    at: int
    typed: str
    quantity: str = ""
    unit: str = ""
    unit_from: str = ""
    mode: str = ""
    sign: str = ""
    note: str = ""
    unit_at: int | None = None
    plain: bool = False
    rough: int = 0


class Reading(NamedTuple):
    """How a list is read, as the receipt tells it.

    Attributes:
        columns: name -> column.
        components: names of the components beside virgin and regrind.
        system: unit system of the results.
        sign: the list's decimal sign, with its proof in words; both "" where nothing needed one.
        basis, basis_from: of rows that state none.
        assumed: what every sized row was assumed.
        virgin_only: what a row without a share was assumed.
        daily: heading of the throughput where some cells name a rate per day, else "".
        maybe_blend: heading of the virgin density where it may be meant for that of the blend,
            else "".
        not_used: headings of columns that are not read, with a reason where there is one.
        searched: indexes of unread columns whose texts speak of a recipe in some row.
        first_row: number of the first row below the headings.
        units_row: index among the rows of the row of units, or None.
        headings: the heading cells as they were read.
        resins: the first different texts of the column of resins -> their first rows.
    """

    columns: Mapping[str, Column]
    components: tuple[str, ...]
    system: str
    sign: str
    sign_proof: str
    basis: str
    basis_from: str
    assumed: tuple[str, ...]
    virgin_only: str
    daily: str
    maybe_blend: str
    not_used: tuple[tuple[str, str], ...]
    searched: tuple[int, ...]
    first_row: int
    units_row: int | None
    headings: tuple[str, ...]
    resins: Mapping[str, int]
