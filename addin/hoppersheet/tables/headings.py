"""Headings of a table that somebody made: case, spacing and order free, with or without a unit.

=========================== ======================= =========================================
typed                       column                  unit of its plain numbers
=========================== ======================= =========================================
``Throughput [kg/h]``       throughput              kg/h; what stands in [ ] must be a unit
``throughput (kg/h)``       throughput              kg/h
``throughput, kg/h``        throughput              kg/h
``throughput kg/h``         throughput              kg/h
``% regrind``               regrind share           %; "regrind" is another word for it
``Dry time``                drying hours            that of the unit system
``throughput (peak)``       none                    "peak" is not a unit of throughput
=========================== ======================= =========================================

A column's own name wins over another word for it. A heading that is none of these and yet looks
like a column that is missing is refused (:func:`refuse_lookalikes`): an unread share of regrind
would make a hopper too small without a word.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from ..cells.numbers_in_text import shown
from ..cells.quantities import QUANTITIES
from ..cells.units import factor
from ..errors import NotThisQuantity, WrongKind

__all__ = ["Heading", "known_headings", "plain_name", "read_headings", "refuse_lookalikes"]

_NO_OTHERS: Mapping[str, tuple[str, ...]] = {}


class Heading(NamedTuple):
    """A recognized column.

    Attributes:
        name: the column's own name.
        at: its column; 0 is the first.
        unit: the unit of its plain numbers, "" where the heading names none.
        typed: the heading as it stands there.
    """

    name: str
    at: int
    unit: str = ""
    typed: str = ""


def plain_name(text: str) -> str:
    """A heading in lower case, with single blanks for any run of blanks, ``_`` and ``-``."""
    return " ".join(re.sub(r"[_\-]", " ", text).casefold().split())


def read_headings(
    cells: Sequence[Any],
    columns: Mapping[str, str],
    others: Mapping[str, tuple[str, ...]] = _NO_OTHERS,
    first_wins: Sequence[str] = (),
) -> dict[str, Heading]:
    """Find the known columns in a heading row.

    Args:
        cells: the heading row as raw cells; cells that are not text are passed over.
        columns: known name -> quantity of its numbers, ``""`` for text.
        others: known name -> other words for it, used where no heading has the name itself.
        first_wins: names of which, of several other words, the first in ``others`` counts.

    Returns:
        Known name -> where it was found. Unknown headings are simply not in it.

    Raises:
        WrongKind: a column stands twice, two headings could be it, or the unit in square brackets
            is unknown or measures something else.
    """
    found: dict[str, Heading] = {}
    second: dict[str, list[Heading]] = {}
    names = {word: name for name, words in others.items() for word in words}
    for index, cell in enumerate(cells):
        if not isinstance(cell, str):
            continue
        for text, unit, certain in _readings(cell):
            word = plain_name(text)
            name = word if word in columns else names.get(word)
            if name is None or not _fits(cell, unit, columns[name], certain):
                continue
            heading = Heading(name, index, unit, cell)
            if word != name:
                second.setdefault(name, []).append(heading)
            elif name in found:
                columns_at = f"{found[name].at + 1} and {index + 1}"
                raise WrongKind(f"the heading {name!r} appears twice, in columns {columns_at}")
            else:
                found[name] = heading
            break
    for name, headings in second.items():
        if name in found:
            continue
        if name in first_wins:
            headings.sort(key=lambda heading: others[name].index(plain_name(heading.typed)))
        elif len(headings) > 1:
            both = " and ".join(shown(heading.typed) for heading in headings[:2])
            raise WrongKind(f"the headings {both} could both be {name!r}; call one of them that")
        found[name] = headings[0]
    return found


def known_headings(
    cells: Sequence[Any],
    columns: Mapping[str, str],
    others: Mapping[str, tuple[str, ...]] = _NO_OTHERS,
) -> set[str]:
    """The columns that a row names, whatever else may be wrong with it: to find a heading row."""
    found: set[str] = set()
    for cell in cells:
        try:
            found.update(read_headings([cell], columns, others))
        except WrongKind:
            found.update(read_headings([str(cell).partition("[")[0]], columns, others))
    return found


def _readings(cell: str) -> Iterator[tuple[str, str, bool]]:
    """(name, unit, whether that is certainly a unit): how a heading can be read, best first.

    Each step looks through the text once: a regular expression that tries every bracket as the
    first one took 17 s for a cell of 2,000 characters.
    """
    text = " ".join(cell.split())
    if text.endswith("]"):
        opening = text.find("[", text.rfind("]", 0, -1) + 1)
        if opening >= 0:
            yield text[:opening], text[opening + 1 : -1].strip(), True
            return
    yield cell, "", True
    if text.endswith(")"):
        opening = text.rfind("(")
        if opening >= 0 and ")" not in text[opening:-1]:
            yield text[:opening], text[opening + 1 : -1].strip(), False
    if text.startswith("%"):
        yield text[1:], "%", False
    name, _, unit = text.rpartition(" ") if " " in text else text.partition(",")
    unit = unit.lstrip(",")
    if unit:
        yield name.rstrip(", "), unit, False


def _fits(cell: str, unit: str, quantity: str, certain: bool) -> bool:
    """Whether ``unit`` measures ``quantity``; refused where it certainly is meant as a unit."""
    if not unit:
        return certain
    if not quantity:
        return certain  # a note in brackets behind a text column
    measure = QUANTITIES[quantity]
    try:
        factor(unit, measure.si)
    except NotThisQuantity:
        if not certain:
            return False
        units = " or ".join(dict.fromkeys((measure.us, measure.metric))).replace("1", "%")
        raise WrongKind(
            f"heading {shown(cell)}: not a unit of {measure.called}, such as {units}"
        ) from None
    except WrongKind as problem:
        if not certain:
            return False
        raise WrongKind(f"heading {shown(cell)}: {problem.reason}") from None
    return True


def refuse_lookalikes(
    cells: Sequence[Any], found: Mapping[str, Heading], looks: Mapping[str, str]
) -> None:
    """Refuse a heading that is not read although it looks like a column that is missing.

    Args:
        cells: the heading row.
        found: the columns that were recognized.
        looks: a word in a heading -> the column it would belong to.

    Raises:
        WrongKind: names the heading, the column, and how to pass it through all the same.
    """
    read = {heading.at for heading in found.values()}
    for index, cell in enumerate(cells):
        if index in read or not isinstance(cell, str):
            continue
        words = re.findall(r"\w+", plain_name(cell))
        if "note" in words[:1]:
            continue
        for word in words:
            name = looks.get(word)
            if name is not None and name not in found:
                raise WrongKind(
                    f"the heading {shown(cell)} is not known, though it looks like {name!r}; call "
                    f'it that, or begin it with "note" if it is something else'
                )
