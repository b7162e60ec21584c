"""What a heading means.

A heading is taken apart into what its words mean: ``Trocknungszeit``, ``drying time`` and ``temps
de séchage`` all say *dry* and *time*. A column is a set of such meanings; a heading with any
other word in it ("throughput (peak)", "rate of scrap") is not that column. A unit may stand in
brackets, behind a comma or at the end; ``%`` at either end; ``wt%`` also says by mass.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from ...cells.quantities import QUANTITIES
from ...cells.units import factor
from ...errors import NotThisQuantity, WrongKind
from ..heading_words import MEANINGS, WORDS, plain_text
from ..job_columns import JOB_COLUMNS
from .titles import Title, title_of
from .units import is_unit, unit_is_temperature, unit_measures
from .vocabulary import (
    ADDITIVE_WORDS,
    ADDITIVES,
    BESIDE_OTHERS,
    COLUMNS,
    HARMLESS,
    JOB_NAMES,
    NOISE,
    OF_SOLID,
    RECIPE_WORDS,
    RESERVES,
)

__all__ = ["DENSITY", "Meaning", "meaning", "says_virgin"]

#: A heading that says density and not whose: on a data sheet that is the density of the solid.
DENSITY = "density"
_SHARE_WORDS = frozenset(" ".join(WORDS["share"]).split())
_BULK_WORDS = frozenset(" ".join(WORDS["bulk"]).split())
_PER_TIME = re.compile(
    r"(?:no\.? of |number of )?(?:"
    r"(?P<parts>parts|pcs|pieces|stuck|stueck|teile|piezas|units made)"
    r"|(?P<shots>shots|strokes|cycles|schuss|schusse|schuesse|hube|huebe|zyklen|takte|disparos"
    r"|ciclos|inyecciones|injections|coups|moulees))"
    r"\s*(?:/|per|pro|je|par|por|an?)\s*(?:"
    r"(?P<hour>h|hr|hour|std|stunde|heure|hora)|(?P<minute>min|minute|mn|minuto))\.?"
)
_IN_A_SHOT = re.compile(
    r"(?:no\.? of |number of )?(?:parts|pieces|pcs|teile|piezas)\s*(?:/|per|pro|je|par|por)\s*"
    r"(?:shot|cycle|stroke|schuss|zyklus|hub|ciclo|inyeccion|moulee)"
)
#: What the trade calls the strokes or cycles of a machine in a minute.
_PER_MINUTE = frozenset(("cpm", "spm"))
#: Words over a count in time that stands in brackets: "Machine speed (strokes/min)".
_OF_A_COUNT = frozenset((
    "speed", "rate", "output", "frequency", "machine", "press", "cycle", "cycles", "cycling",
    "shot", "stroke", "strokes", "shots", "parts", "cpm", "spm", "production", "takt", "hubzahl",
))  # fmt: skip
#: "V/R", "vir:reg": a ratio whose heading says which comes first.
_RATIO_HEADING = re.compile(
    r"(?:v|vir|virg)\.?\s*[/:]\s*(?:r|reg|rg|mg)\.?|(?:r|reg|rg)\.?\s*[/:]\s*(?:v|vir)\.?"
)


class Meaning(NamedTuple):
    """What a heading means: the column, and how surely.

    Attributes:
        column: a key of JOB_COLUMNS, :data:`DENSITY`, or "" for none.
        title: its parts.
        rank: 0 for the column's own name; larger for other words.
        missed: columns that it looks like, without being one.
        recipe: whether it names a part of the recipe or a percentage that is not known harmless.
        component: what a component's share or density is called; "" for none.
        component_density: whether it is the component's density.
    """

    column: str
    title: Title
    rank: int = 0
    missed: tuple[str, ...] = ()
    recipe: bool = False
    component: str = ""
    component_density: bool = False


@lru_cache(maxsize=2048)
def meaning(text: str, own_words: tuple[tuple[str, str], ...] = ()) -> Meaning:
    """What a heading means.

    Args:
        text: as it stands over the column.
        own_words: pairs of a column and the heading that the user says is it.
    """
    title = title_of(text)
    plain = plain_text(text)
    for column, own in own_words:
        if plain == plain_text(own):
            return Meaning(column, title)
    bare = " ".join(title.words)
    if bare in JOB_COLUMNS and not title.brackets:
        return _with_unit(bare, title, 0)
    if _RATIO_HEADING.fullmatch(plain):
        return Meaning("recipe", title, 1)
    if title.words[:1] and title.words[0] in ("note", "notes", "remark", "remarks", "comment"):
        return Meaning("", title)
    count = _count_in_time(plain, title)
    if count:
        return Meaning(count, title._replace(unit="", brackets=""), 1)
    words = [word for word in title.words if word not in NOISE]
    if len(title.words) > 1 and title.words[-1] in ("a", "d", "l"):
        words.append(title.words[-1])  # no article, but the first of "A" and "B"
    if not words and title.unit and unit_measures(title.unit, "throughput"):
        return Meaning("throughput", title, 2)  # "lbs per day", "kg/h": nothing but the unit
    known: frozenset[str] = frozenset().union(*(MEANINGS.get(w, frozenset()) for w in words))
    unknown = [word for word in words if word not in MEANINGS]
    basis = ""
    of_shares = known & {"regrind", "virgin", "share"} and known & {"mass", "volume"}
    if of_shares and not known & {"part", "density", "shot"}:  # "regrind by weight"
        basis = "mass" if "mass" in known else "volume"
        known -= {"mass", "volume"}
    if "by" in unknown:
        unknown.remove("by")
    if basis:
        title = title._replace(basis=title.basis or basis)
    if not unknown and not title.brackets:
        found = _column(known, title)
        if found is not None:
            return found
    return _unread(title, known, unknown, words)


def _count_in_time(plain: str, title: Title) -> str:
    """The column of a heading over shots or parts in an hour, a minute or a shot, else ""."""
    inside = plain_text(title.brackets)
    tries = [] if inside else [plain]
    if inside in _PER_MINUTE:
        tries.append(plain.partition("(")[0])  # "cycles per minute (CPM)"
    if inside and set(title.words) <= _OF_A_COUNT:
        tries.append(inside)
    for text in (each.strip(" .") for each in tries):
        if _IN_A_SHOT.fullmatch(text):
            return "cavities"
        if text in _PER_MINUTE:
            return "shots per minute"
        count = _PER_TIME.fullmatch(text)
        if count is not None:
            what = "parts" if count["parts"] else "shots"
            return f"{what} per {'hour' if count['hour'] else 'minute'}"
    return ""


def _column(known: frozenset[str], title: Title) -> Meaning | None:
    """The column of a heading all of whose words are known."""
    core = known - {"hours"} if known >= {"dry", "hours", "time"} else known
    if core == {"density"} or core == {"density", "material"}:
        return _with_unit(DENSITY, title, 3)
    of_density = bool(title.unit) and unit_measures(title.unit, "bulk density")
    if of_density and "bulk" in core and core <= {"bulk", "mass", "material"}:
        return _with_unit("virgin density", title, 2)  # "Bulk lb/ft3", "bulk weight (kg/l)"
    if core & {"bulk"} and core - {"bulk", "material"} == {"density"}:
        return _with_unit("virgin density", title, 1)
    if "density" in core and "mass" in core:  # masse volumique
        core -= {"mass"}
        if core - {"bulk", "material"} == {"density"}:
            return _with_unit("virgin density" if "bulk" in core else DENSITY, title, 1)
    slim = core - BESIDE_OTHERS if core - BESIDE_OTHERS else core
    if slim == {"dry"} and title.unit and unit_measures(title.unit, "drying hours"):
        return _with_unit("drying hours", title, 2)
    if slim <= {"virgin", "regrind"} and title.unit and unit_measures(title.unit, "bulk density"):
        one = "regrind" if slim == {"regrind"} else "virgin"
        return _with_unit(f"{one} density", title, 2)
    if slim == {"density", "recipe"} and "ratio" not in title.words:
        return _with_unit("blend density", title, 1)
    name = COLUMNS.get(slim)
    if slim == {"runner"} and title.unit:
        name = "runner mass"
    elif "cavities" in slim and slim <= {"cavities", "number", "name"}:
        name = "cavities"  # French "nombre" counts, Spanish "nombre" names
    if name:
        return _with_unit(name, title, 1)
    if core in ({"material"}, {"material", "name"}, {"material", "type"}, {"type"}):
        return Meaning("resin", title, 1 if core != {"type"} else 9) if core != {"type"} else None
    for rank, words in enumerate(JOB_NAMES, 1):
        if slim == set(words):
            return Meaning("job", title, rank)
    return None


def _with_unit(name: str, title: Title, rank: int) -> Meaning:
    """The column, where the unit of the heading fits it."""
    quantity = "bulk density" if name == DENSITY else JOB_COLUMNS[name]
    if title.unit and quantity and not unit_measures(title.unit, quantity):
        if title.certain:
            measure = QUANTITIES[quantity]
            units = " or ".join(dict.fromkeys((measure.us, measure.metric))).replace("1", "%")
            try:
                factor(title.unit, measure.si)
            except NotThisQuantity:
                raise WrongKind(f"not a unit of {measure.called}, such as {units}", name) from None
        if name in ("virgin share", "regrind share") or not is_unit(title.unit):
            return Meaning("", title, missed=(name,), recipe=True)
        return Meaning("", title, missed=(name,))
    return Meaning(name, title, rank)


def says_virgin(title: Title) -> bool:
    """Whether a heading of a density says that it is the virgin resin's."""
    return any("virgin" in MEANINGS.get(word, ()) for word in title.words)


def _unread(title: Title, known: frozenset[str], unknown: list[str], words: list[str]) -> Meaning:
    """What a heading that is no column may have been meant for."""
    missed = []
    reserve = bool(RESERVES & set(words)) or {"design", "factor"} <= set(words)
    harmless = bool(HARMLESS & set(words)) and not reserve
    temperature = any(
        w.startswith(("temp", "trocknungstemp")) for w in words
    ) or unit_is_temperature(title.unit)
    if not temperature and not harmless:
        of_density = bool(title.unit) and unit_measures(title.unit, "bulk density")
        if OF_SOLID & set(words):
            pass  # the density of the solid resin is another thing, and told as not used
        elif "density" in known or of_density:
            missed += ["virgin density", "regrind density"]
        elif "rate" in known or (title.unit and unit_measures(title.unit, "throughput")):
            missed.append("throughput")
        elif known & {"dry", "hours"} or ("time" in known and "cycle" not in known and not unknown):
            missed.append("drying hours")
        if "reserve" in known or reserve:
            missed.append("reserve")
        if known & {"basis"}:
            missed.append("share basis")
    recipe = bool(RECIPE_WORDS & set(words)) and "density" not in known
    rest_of = {word for word in words if "share" not in MEANINGS.get(word, ())}
    recipe = recipe or bool(rest_of & ADDITIVES and rest_of <= ADDITIVE_WORDS)
    recipe = recipe or (bool(known & {"virgin", "regrind"}) and "density" not in known)
    recipe = recipe or (title.percent and not harmless)
    recipe = recipe or (known == {"share"} and not unknown)
    recipe = (recipe and not harmless) or bool(RECIPE_WORDS & set(words))
    recipe = recipe and "density" not in known and not reserve
    rest = [w for w in words if "density" not in MEANINGS.get(w, ()) and w not in _SHARE_WORDS]
    rest = [w for w in rest if w not in _BULK_WORDS]
    component = " ".join(rest)
    density = "density" in known
    is_share = title.percent or "share" in known or bool(RECIPE_WORDS & set(words))
    if not component or not (density or is_share) or harmless:
        component = ""
    return Meaning("", title, 9, tuple(missed), recipe, component, density)
