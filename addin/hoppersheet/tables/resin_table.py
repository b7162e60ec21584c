"""The built-in resin table: names, values with their sources, and usual ranges.

``data/resins.csv`` holds one value per row, with unit and source: a citation, "common practice, no
source" or "from memory". ``data/resin_names.csv`` holds what each resin is and what else it is
called; forms of a resin that dry differently (pellets, flake, amorphous) are resins of their own.
The files are read when somebody first asks for a resin.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple

from ..cells.numbers_in_text import shown
from ..cells.units import HOME_FACTORS, nearest
from ..errors import NoAnswer

__all__ = [
    "COLORS",
    "ENDS",
    "PROPERTIES",
    "RANGED",
    "RATIO",
    "STORED",
    "TABLE_VERSION",
    "ResinValue",
    "called",
    "full_name",
    "mentioned",
    "mentions_none",
    "name_key",
    "names_of_resins",
    "one_resin",
    "other_names",
    "read_rows",
    "resin_names",
    "stored_value",
    "synonyms",
    "without_color",
    "without_grade",
]

#: Goes up with every change of the data files; a test pins them to it.
TABLE_VERSION = "2026.4"

#: A name of a resin has no more words, and a longer text is searched no further.
_MOST_WORDS, _LONGEST_TEXT = 6, 200
#: What stands between two names of one resin: brackets, a comma, a dash or an equals sign.
_BETWEEN_SAYINGS = re.compile(r"[();=]|,(?!\d)|\s[-\u2013\u2014]\s")
_GRADE = re.compile(r"[0-9]{3,}[0-9./\-]*")
#: Words that change neither density nor drying. "Clear" may: clear PET is amorphous, or PETG.
COLORS = {
    "black", "white", "gray", "grey", "red", "blue", "green", "yellow", "brown", "natural",
    "virgin", "prime", "schwarz", "wei\u00df", "weiss", "grau", "rot", "blau", "gr\u00fcn", "gelb",
    "natur", "farblos", "noir", "blanc", "gris", "rouge", "bleu", "vert", "jaune", "naturel",
    "negro", "blanco", "rojo", "azul", "verde", "amarillo",
    "orange", "pink", "purple", "violet", "beige", "ivory", "cream", "tan", "silver", "charcoal",
    "anthracite", "anthrazit", "silber", "dark", "light", "bright", "dunkelgrau", "hellgrau",
    "bk", "blk", "wh", "wht", "gry", "gy", "rd", "blu", "grn", "gn", "ylw", "yel", "nat", "ntl",
    "nc",
}  # fmt: skip
_COLOR_BEHIND = re.compile(rf"(?<=\w)[\-/_](?=(?:{'|'.join(sorted(COLORS))})$)", re.IGNORECASE)
#: Property that the files hold -> its quantity. The first four also come with low and high.
STORED = {
    "bulk density": "bulk density",
    "regrind density": "bulk density",
    "drying temperature": "temperature",
    "drying hours": "drying hours",
    "moisture limit": "moisture",
    "specific heat": "specific heat",
}
RANGED = ("bulk density", "regrind density", "drying temperature", "drying hours")
ENDS = ("", " low", " high")
#: Worked out: regrind density over bulk density.
RATIO = "regrind ratio"

#: Every property that is a number -> its quantity, in the order of the table.
PROPERTIES: dict[str, str] = {
    name + end: quantity
    for name, quantity in STORED.items()
    for end in (ENDS if name in RANGED else ENDS[:1])
}


class ResinValue(NamedTuple):
    """One value in SI with where it comes from."""

    resin: str
    property: str
    si: float
    source: str


def read_rows(file_name: str) -> list[dict[str, str]]:
    """The rows of a data file of the package."""
    # Here, and not at the top: offices import this module at every start.
    import csv
    from pathlib import Path

    path = Path(__file__).parents[1] / "data" / file_name
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# --- names --------------------------------------------------------------------------------


_NO_SIGNS = re.compile(r"[^\w%]|_")


def name_key(name: str) -> str:
    """A name without case, spaces, hyphens and other signs: "PA 6.6" and "pa66" are one."""
    if name.isascii() and name.isalnum():
        return name.lower()
    return _key_of_signs(name)


@lru_cache(maxsize=4096)
def _key_of_signs(name: str) -> str:
    text = (name if name.isascii() else unicodedata.normalize("NFKC", name)).casefold()
    return _NO_SIGNS.sub("", text)


@lru_cache(maxsize=1)
def _full_names() -> dict[str, str]:
    """The table's own name of each resin -> its full name and form, in the table's order."""
    return {row["resin"]: row["full name"] for row in read_rows("resin_names.csv")}


def resin_names() -> list[str]:
    """The resins of the built-in table, in its order."""
    return list(_full_names())


def full_name(resin: str) -> str:
    """Full name and form of a resin under the table's own name."""
    return _full_names()[resin]


def other_names(resin: str) -> list[str]:
    """What else a resin is called, as the file has it, under the table's own name."""
    cells = [row["also called"] for row in read_rows("resin_names.csv") if row["resin"] == resin]
    return [name.strip() for name in ";".join(cells).split(";") if name.strip()]


@lru_cache(maxsize=1)
def _names() -> dict[str, tuple[str, ...]]:
    """Key of a name -> the resins that are called so."""
    rows = read_rows("resin_names.csv")
    known: dict[str, tuple[str, ...]] = {}
    for row in rows:
        for name in (row["full name"], *row["also called"].split(";")):
            others = known.get(name_key(name), ())
            if name.strip() and row["resin"] not in others:
                known[name_key(name)] = (*others, row["resin"])
    # The table's own name is never ambiguous.
    known.update({name_key(row["resin"]): (row["resin"],) for row in rows})
    return known


def names_of_resins() -> dict[str, tuple[str, ...]]:
    """Every name that is known, by its key -> the resins that are called so."""
    return dict(_names())


@lru_cache(maxsize=4096)
def called(name: str) -> tuple[str, ...]:
    """The resins that go by a name: none, one, or several to ask about.

    A name said twice ("Polycarbonate (PC)", "nylon - PA66") is what both sayings mean; where they
    mean different resins, all of them are asked about. A color changes no resin; any other word
    does, and "ABS regrind" is not taken for ABS.
    """
    known = _names().get(name_key(name), ())
    if not known and len(name) <= _LONGEST_TEXT:
        name = _COLOR_BEHIND.sub(" ", name)
    if known and ";" in name:
        alone = [_names().get(name_key(part), ()) for part in _BETWEEN_SAYINGS.split(name)]
        if len(alone) > 1 and all(alone) and not set(alone[0]).intersection(*alone[1:]):
            return tuple(dict.fromkeys(resin for one in alone for resin in one))  # "ABS; PC"
    if known or len(name) > _LONGEST_TEXT:
        return known
    if not _says_more(name):
        return ()
    parts = [
        part
        for part in _BETWEEN_SAYINGS.split(name)
        if name_key(part) and not COLORS.issuperset(part.casefold().split())
    ]
    meant = [_without_color(part) for part in parts]
    if not meant or not all(meant):
        return ()
    both = [resin for resin in meant[0] if all(resin in others for others in meant[1:])]
    return tuple(both or dict.fromkeys(resin for resins in meant for resin in resins))


def _without_color(part: str) -> tuple[str, ...]:
    """The resins that a saying means, with or without the color in it."""
    words = [word for word in part.split() if word.casefold() not in COLORS]
    return _names().get(name_key(part), ()) or _names().get(name_key(" ".join(words)), ())


def without_color(name: str) -> str:
    """A name without commas, brackets and the words for its color: how the quote workbook reads."""
    words = re.sub("[,()]", " ", _COLOR_BEHIND.sub(" ", name.strip())).split()
    return " ".join(word for word in words if word.casefold() not in COLORS)


@lru_cache(maxsize=4096)
def without_grade(name: str) -> str:
    """The one resin of a name with the number of a grade in it ("PC 2407"), "" for any other name.

    For lists, which mark the row. A filler ("PP 40 % talc", "GF20") is no such number.
    """
    if called(name) or len(name) > _LONGEST_TEXT:
        return ""
    words = name.split()
    rest = [word for word in words if not _GRADE.fullmatch(word)]
    found = called(" ".join(rest)) if len(rest) < len(words) else ()
    return found[0] if len(found) == 1 else ""


@lru_cache(maxsize=1)
def _beginnings() -> frozenset[str]:
    """All that the key of a name may begin with."""
    return frozenset(key[:end] for key in _names() for end in range(1, len(key) + 1))


_RUNS = re.compile(r"[a-z0-9]+")


def mentions_none(name: str) -> bool:
    """Whether a text surely means no resin: no letters or digits in it begin a known name.

    Quick, for the lot numbers of a long list. False says nothing.
    """
    return name.isascii() and _beginnings().isdisjoint(_RUNS.findall(name.lower()))


def mentioned(name: str) -> tuple[str, ...]:
    """The resins that a free text may mean: by the whole name, or by any words within it.

    For warnings only: "POM black 20" mentions POM. A value is never taken on such a reading.
    """
    if called(name):
        return called(name)
    words = re.findall(r"[^\s,;()]+", name[:_LONGEST_TEXT])
    keys = [name_key(word) for word in words]
    # Words that need no more than a look at the table of names, as those of most texts.
    simple = name.isascii() and not _says_more(" ".join(words))
    names, beginnings = _names(), _beginnings()
    found: dict[str, None] = {}
    for start, key in enumerate(keys):
        if simple and key and key not in beginnings:
            continue
        for end in range(start + 1, min(start + _MOST_WORDS, len(words)) + 1):
            if simple:
                resins = names.get("".join(keys[start:end]), ())
            else:
                resins = called(" ".join(words[start:end]))
            found.update(dict.fromkeys(resins))
    return tuple(found)


def _says_more(name: str) -> bool:
    """Whether a text holds several sayings or a color."""
    return bool(_BETWEEN_SAYINGS.search(name)) or not COLORS.isdisjoint(name.casefold().split())


@lru_cache(maxsize=256)
def synonyms(resin: str) -> frozenset[str]:
    """Keys of all names that mean this resin and no other."""
    return frozenset(key for key, resins in _names().items() if resins == (resin,))


def one_resin(name: str) -> str:
    """The table's own name of the one resin that is called ``name``.

    Raises:
        NoAnswer: no resin is called so, or several are; says which.
    """
    resins = called(name)
    if len(resins) > 1:
        raise NoAnswer(
            f"several resins are called {shown(name)}: {', '.join(resins)}; name one", "resin"
        )
    if not resins:
        within = mentioned(name)
        near = None if within else nearest(name_key(name), _names())
        hint = f"; did you mean {' or '.join(_names()[near])}?" if near else ""
        if within:
            hint = f"; {' and '.join(within[:2])} alone {'are' if len(within) > 1 else 'is'}"
        raise NoAnswer(f"{shown(name)} is not in the resin table{hint}", "resin")
    return resins[0]


# --- values -------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _table() -> dict[tuple[str, str], ResinValue]:
    table = {}
    for row in read_rows("resins.csv"):
        scale, offset = HOME_FACTORS[row["unit"]]
        value = ResinValue(
            row["resin"], row["property"], float(row["value"]) * scale + offset, row["source"]
        )
        table[value.resin, value.property] = value
    return table


def stored_value(resin: str, wanted: str) -> ResinValue | None:
    """A value of a resin under the table's own name; None where nobody has given one."""
    return _table().get((resin, wanted))
