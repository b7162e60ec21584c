"""The words that people put over the columns of a job list, in four languages.

A heading is taken apart into what its words mean: ``Trocknungszeit``, ``drying time`` and ``temps
de séchage`` all say *dry* and *time*. A column is a set of such meanings; a heading with any
other word in it ("throughput (peak)", "rate of scrap") is not that column. A unit may stand in
brackets, behind a comma or at the end; ``%`` at either end; ``wt%`` also says by mass.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from ..cells.quantities import QUANTITIES
from ..cells.units import canonical, factor
from ..cells.units import is_unit as known_unit
from ..errors import NotThisQuantity, WrongKind
from .heading_words import MEANINGS, WORDS, plain_text
from .job_columns import JOB_COLUMNS

__all__ = [
    "AVERAGE_WORDS",
    "DENSITY",
    "RECIPE_IN_RESIN",
    "RECIPE_IN_TEXT",
    "TOTAL_WORDS",
    "Meaning",
    "Title",
    "bases_in",
    "basis_in_cell",
    "decides_basis",
    "is_unit",
    "is_unit_heading",
    "makes_exceptions",
    "may_be",
    "may_speak_of_recipe",
    "meaning",
    "same_unit",
    "says_hours_and_minutes",
    "says_virgin",
    "speaks_metric",
    "speaks_of_basis",
    "tidy_unit",
    "unit_in",
    "unit_measures",
    "unknown_unit",
]

#: A heading that says density and not whose: on a data sheet that is the density of the solid.
DENSITY = "density"

_NOISE = frozenset(
    [
        "of",
        "the",
        "de",
        "du",
        "des",
        "la",
        "le",
        "les",
        "del",
        "el",
        "di",
        "d",
        "l",
        "der",
        "die",
        "das",
        "den",
        "im",
        "in",
        "en",
        "zu",
        "for",
        "fur",
        "pour",
        "para",
        "por",
        "hourly",
        "required",
        "est",
        "estimated",
        "approx",
        "stated",
        "nominal",
        "expected",
    ]
)
_IGNORED = frozenset(("material", "bulk"))
_SHARE_WORDS = frozenset(" ".join(WORDS["share"]).split())
_BULK_WORDS = frozenset(" ".join(WORDS["bulk"]).split())

#: Meanings -> column. ``material`` and ``bulk`` may stand beside others without changing them.
_COLUMNS: dict[frozenset[str], str] = {
    frozenset(words.split()): name
    for words, name in (
        ("rate", "throughput"),
        ("dry time", "drying hours"),
        ("dry hours", "drying hours"),
        ("dry time hours", "drying hours"),
        ("density virgin", "virgin density"),
        ("density regrind", "regrind density"),
        ("virgin", "virgin share"),
        ("virgin share", "virgin share"),
        ("regrind", "regrind share"),
        ("regrind share", "regrind share"),
        ("basis", "share basis"),
        ("share basis", "share basis"),
        ("reserve", "reserve"),
        ("recipe", "recipe"),
        ("virgin regrind", "recipe"),
        ("virgin regrind recipe", "recipe"),
        ("virgin regrind share", "recipe"),
        ("shot mass", "shot mass"),
        ("shot size", "shot mass"),
        ("cycle time", "cycle time"),
        ("cycle", "cycle time"),
        ("part mass", "part mass"),
        ("cavities", "cavities"),
        ("cavities number", "cavities"),
    )
}
#: Names of a job, best first.
_JOB_NAMES = (
    ("job",), ("job", "name"), ("job", "number"), ("part",), ("part", "name"), ("name",),
    ("part", "number"), ("number",),
)  # fmt: skip
_PARTS_PER_HOUR = re.compile(
    r"(?:no\.? of |number of )?(parts|pcs|pieces|stuck|stueck|teile|piezas|units made)"
    r"\s*(?:/|per|pro|je|par|por)\s*(?:h|hr|hour|std|stunde|heure|hora)\.?"
)
_SHOTS_PER_HOUR = re.compile(
    r"(?:no\.? of |number of )?(?:shots|cycles|schuss|zyklen|takte|disparos|injections)"
    r"\s*(?:/|per|pro|je|par|por)\s*(?:h|hr|hour|std|stunde|heure|hora)\.?"
)
_SHARE_UNIT = re.compile(
    r"(?:by )?(?:(?P<mass>wt|weight|mass|gew|masse|w/w|m/m|m|w|peso|poids)"
    r"|(?P<volume>vol|volume|volumen|v/v|v))?[\s.\-]*(?:%|percent|pct|prozent)"
    r"|(?:%|percent|pct|prozent)[\s.\-]*(?:by )?"
    r"(?:(?P<mass2>wt|weight|mass|gew|w/w|m/m|w|peso|poids)"
    r"|(?P<volume2>vol|volume|volumen|v/v|v))?\.?"
    r"|by (?P<mass3>weight|mass)|by (?P<volume3>volume)"
)
#: "V/R", "vir:reg": a ratio whose heading says which comes first.
_RATIO_HEADING = re.compile(
    r"(?:v|vir|virg)\.?\s*[/:]\s*(?:r|reg|rg|mg)\.?|(?:r|reg|rg)\.?\s*[/:]\s*(?:v|vir)\.?"
)
_BRACKETS = re.compile(r"[\[({]([^\[\](){}]*)[\])}]")

#: What a row of totals, or of averages, begins with.
TOTAL_WORDS = (
    "total", "totals", "sum", "summe", "gesamt", "gesamtsumme", "insgesamt", "somme", "suma",
    "subtotal", "sub total", "grand total", "totale", "totaal", "zwischensumme", "sous total",
    "total general", "total hall", "totales", "gesamtdurchsatz", "total throughput", "all jobs",
    "som", "summa", "σ", "∑", "total rate", "overall",
    "ttl", "tot", "ges", "totaux", "cumul",
)  # fmt: skip
AVERAGE_WORDS = (
    "average", "avg", "mean", "mittelwert", "durchschnitt", "moyenne", "promedio", "media", "ø",
    "mittel", "schnitt", "median", "max", "min", "maximum", "minimum",
)  # fmt: skip

_RECIPE_NAMES = (
    r"re-?grind|reground|rg|mahlgut|rebroy\w*|remolid\w*|molido|recycl\w*|reprocess\w*|pcr|pir|"
    r"rezyklat\w*|regenerat|regranulat\w*|recicl\w*|master-?batch|virgin|neuware|vierge|virgen"
)
#: A text that speaks of a recipe: "30% regrind", "mit 20 % Mahlgut", "70/30 virgin/regrind".
RECIPE_IN_TEXT = re.compile(
    rf"(?:[0-9]\s*(?:%|percent|pct|prozent|/)[^,;.]{{0,25}}?\b(?:{_RECIPE_NAMES})\b)"
    rf"|(?:\b(?:{_RECIPE_NAMES})\b[^,;.]{{0,15}}?[0-9]\s*(?:%|percent|pct|prozent))",
    re.IGNORECASE,
)
#: A resin that is called so is not all virgin.
RECIPE_IN_RESIN = re.compile(
    rf"\b(?:{_RECIPE_NAMES.partition('|virgin')[0]})\b|[0-9]\s*%\s*virgin", re.IGNORECASE
)
# Letters of which every text that matches one of the two holds some: looking for them is fast.
_RECIPE_STEMS = (
    "grind", "ground", "rg", "mahlgut", "rebroy", "remolid", "molido", "rec", "repro", "pcr",
    "pir", "rezyklat", "regen", "regran", "master", "virg", "neuware", "vierge",
)  # fmt: skip


def may_speak_of_recipe(text: str) -> bool:
    """False where neither :data:`RECIPE_IN_TEXT` nor :data:`RECIPE_IN_RESIN` can be found."""
    if not text.isascii():
        return True
    lower = text.lower()
    return any(stem in lower for stem in _RECIPE_STEMS)


_RECIPE_HEADING = frozenset(
    [
        "recycled",
        "recycle",
        "recyclate",
        "recyclat",
        "recycling",
        "reprocessed",
        "reprocess",
        "regranulate",
        "repro",
        "pcr",
        "pir",
        "masterbatch",
        "mb",
        "colorant",
        "concentrate",
        "additive",
        "additives",
        "rezyklat",
        "regenerat",
        "regranulat",
        "recycle",
        "recyclé",
        "reciclado",
        "reprocesado",
        "compound",
        "scrapback",
        "farbbatch",
        "batch",
        "mahlgut",
        "regrind",
        "virgin",
        "neuware",
        "rebroye",
        "vierge",
        "virgen",
        "molido",
        "filler",
        "return",
        "returns",
        "rework",
        "ldr",
        "letdown",
        "nucleating",
        "nucleator",
        "antiblock",
        "stabilizer",
        "stabiliser",
    ]
)
#: The same, where the heading has no other word but these: "slip" also packs goods.
_ADDITIVES = frozenset(
    ("slip", "uv", "lubricant", "blowing", "foaming", "modifier", "retardant", "let")
)
_ADDITIVE_WORDS = _ADDITIVES | frozenset(
    ("agent", "aid", "down", "flame", "impact", "processing", "rate", "ratio")
)
_HARMLESS = frozenset(
    [
        "discount",
        "rebate",
        "tax",
        "vat",
        "mwst",
        "ust",
        "margin",
        "markup",
        "humidity",
        "moisture",
        "rh",
        "scrap",
        "ausschuss",
        "yield",
        "oee",
        "efficiency",
        "utilization",
        "utilisation",
        "uptime",
        "availability",
        "probability",
        "chance",
        "commission",
        "deposit",
        "rabatt",
        "remise",
        "tva",
        "iva",
        "descuento",
        "humedad",
        "humidite",
        "feuchte",
        "restfeuchte",
        "shrinkage",
        "shrink",
        "complete",
        "completion",
        "done",
        "progress",
        "win",
        "margen",
        "marge",
        "taxe",
        "merma",
        "rebut",
        "duty",
        "load",
        "auslastung",
        "verfugbarkeit",
        "skonto",
        "price",
    ]
)
#: Words for a reserve that is not called so; they win over "margin".
_RESERVES = frozenset(
    (
        "safety", "sicherheit", "sicherheitszuschlag", "seguridad", "securite", "sicurezza",
        "contingency", "oversize", "oversizing", "surge", "headroom", "growth", "allowance",
    )
)  # fmt: skip


class Title(NamedTuple):
    """What stands over a column.

    Attributes:
        words: its words without unit and accents, lower case.
        unit: the unit it names, as typed; "" where it names none.
        percent: whether it says percent.
        basis: "mass" or "volume" where the percent sign says so ("wt%"), else "".
        brackets: what stands in brackets and is no unit.
    """

    words: tuple[str, ...]
    unit: str = ""
    percent: bool = False
    basis: str = ""
    brackets: str = ""
    #: whether the unit stood in square brackets, where nothing else may stand
    certain: bool = False


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


@lru_cache(maxsize=4096)
def unit_measures(unit: str, quantity: str) -> bool:
    """Whether a text is a unit of a quantity."""
    if quantity == "parts per hour":
        return False
    try:
        if is_unit(unit):
            factor(tidy_unit(unit), QUANTITIES[quantity].si)
            return True
    except WrongKind:
        pass
    return False


_FOREIGN = re.compile(
    r"\b(?:std|stunden?|heures?|horas?|or[ae]|tag|jours?|d[i\u00ed]as?|giorno)\b", re.IGNORECASE
)
_FOREIGN_TIMES = (
    (re.compile(r"\b(?:std|stunden?|heures?|horas?|or[ae])\b\.?", re.IGNORECASE), "h"),
    (re.compile(r"\b(?:tag|jours?|d[i\u00ed]as?|giorno)\b\.?", re.IGNORECASE), "day"),
)


def same_unit(one: str, other: str, quantity: str) -> bool:
    """Whether two units of a quantity are the same, however they are spelled: pcf and lb/ft3."""
    si = QUANTITIES[quantity].si
    (scale, offset), (second, zero) = factor(one, si), factor(other, si)
    return abs(scale / second - 1.0) < 1e-6 and offset == zero


def tidy_unit(unit: str) -> str:
    """A unit as the table of units spells it.

    ``#`` is the trade's sign for pounds; a density in gr/cm3 is one of grams, because no pellets
    weigh a few grains.
    """
    if "#" in unit:
        return unit.replace("#", "lb")
    if _FOREIGN.search(unit):
        for words, symbol in _FOREIGN_TIMES:
            unit = words.sub(symbol, unit)
        return unit
    if unit[:3].casefold() == "gr/":
        return f"g/{unit[3:]}"
    return unit


def basis_in_cell(text: str) -> str:
    """The basis that a cell says as a unit: ``w/w``, ``% v/v``, ``Gew.-%``; "" for none."""
    share, basis = _share_unit(text)
    return basis if share else _share_unit(f"{text} %")[1]


_BY_MASS = re.compile(
    r"\b(?:by|en|nach|al)\s+(?:the\s+)?(?:weight|mass|wt|gewicht|masse|poids|peso|massa)\b"
    r"|\b(?:wt|gew|w/w|m/m|mass|weight)[.\s\-]*(?:%|percent|pct)"
    r"|%\s*(?:wt|weight|mass|gew|w/w)\b|\b(?:gewichts|massen?)(?:prozent|anteil)"
)
_BY_VOLUME = re.compile(
    r"\b(?:by|en|nach|al)\s+(?:the\s+)?(?:volume|vol|volumen)\b"
    r"|\b(?:vol|v/v|volume)[.\s\-]*(?:%|percent|pct)"
    r"|%\s*(?:vol|volume|v/v)\b|\bvolumen?(?:prozent|anteil)"
)


_SHIFT = re.compile(r"\b\w*(?:shift|schicht|equipe|turno)\w*")


def unknown_unit(heading: str) -> str:
    """What in a heading is meant for a unit and cannot be converted: lbs/shift; "" for nothing."""
    plain = re.sub(r"\s*\bper\b\s*|\s*/\s*", "/", plain_text(heading))
    for word in re.findall(r"[^\s,;:()\[\]{}]+", plain):
        first, slash, second = word.partition("/")
        if slash and second and is_unit(first) and not is_unit(word) and not first.isdigit():
            return word
    shift = _SHIFT.search(plain)
    return shift[0] if shift else ""


_BASIS_STEMS = ("wt", "weigh", "mass", "gew", "poids", "peso", "w/w", "m/m", "vol", "v/v")


def bases_in(text: str) -> list[str]:
    """The bases of shares that a line of text speaks of: "all blends by weight"."""
    lower = text.lower()
    if not any(stem in lower for stem in _BASIS_STEMS):  # looking for them is fast
        return []
    plain = plain_text(text)
    found = (("mass", _BY_MASS), ("volume", _BY_VOLUME))
    return [basis for basis, words in found if words.search(plain)]


#: What a line must name for its "by weight" to be about the shares, not about how parts are sold.
_OF_SHARES = re.compile(
    r"%|\b(?:share|regrind|virgin|recipe|blend|mix|ratio|percent|proportion|fraction|component"
    r"|reground|mahlgut|neuware|rezept|misch|prozent|rebroye|broye|recette|melange|teneur"
    r"|pourcentage|remolido|molido|triturado|mezcla|receta|porcentaje)"
    r"|anteil|gemisch"
)
_EXCEPT = re.compile(
    r"\b(?:except|excepting|excluding|unless|but|not|other than|otherwise|ausser|nicht|sauf|pas"
    r"|excepto|salvo|no)\b"
)
#: What may stand beside the basis in a line that says it and nothing else: "all by weight".
_ALL = {"all", "everything", "alles", "tout", "todo", "note", "nb", "figures", "basis"}


def decides_basis(text: str) -> bool:
    """Whether a line that names a basis says it of the shares of the list."""
    plain = plain_text(text)
    rest = _BY_VOLUME.sub(" ", _BY_MASS.sub(" ", plain))
    alone = not set(re.findall(r"[^\W_]+", rest)) - _ALL
    return alone or _OF_SHARES.search(plain) is not None


def makes_exceptions(text: str) -> bool:
    """Whether a line says that it does not hold for all: "except job B"."""
    return _EXCEPT.search(plain_text(text)) is not None


def speaks_of_basis(text: str) -> bool:
    """Whether a cell that is not read speaks of a basis: "weigh blender", "gravimetric"."""
    lower = text.lower()
    if not any(stem in lower for stem in (*_BASIS_STEMS, "gravi")):
        return False
    blender = re.search(r"\b(?:gravimetri\w*|volumetri\w*|weigh blender)\b", plain_text(text))
    return bool(blender or bases_in(text))


def unit_in(text: str, quantity: str) -> str:
    """The unit of a quantity that a line of text names, "" where it names none or several.

    A unit behind a number ("up to 500 kg/h") says how much, not in which unit a column is.
    """
    found = {}
    for word in re.finditer(r"[^\s,;:()\[\]]+", text):
        unit = tidy_unit(word[0].strip("."))
        amount = re.search(r"[0-9]\s*$", text[: word.start()])
        if amount is None and len(unit) > 2 and unit_measures(unit, quantity):
            found[canonical(unit)] = unit
    return next(iter(found.values())) if len(found) == 1 else ""


def is_unit(text: str) -> bool:
    """Whether a text is a unit, be it an ambiguous one; ``#`` counts as pounds."""
    return known_unit(tidy_unit(text))


def is_unit_heading(text: str) -> bool:
    """Whether a heading says that the cells below are units."""
    return plain_text(text).strip(" .:") in (
        "unit", "units", "uom", "einheit", "einheiten", "unite", "unites", "unidad", "unidades",
        "unita", "eenheid", "rate unit", "throughput unit", "density unit", "unit of measure",
    )  # fmt: skip


_METRIC = re.compile(
    r"(?<![a-z])(?:kgs?|kilos?|g/cm3|g/cc|g/ml|kg/l|kg/m3|liters?|litres?|l/h)(?![a-z])"
)


_METRIC_STEMS = ("kg", "kilo", "g/c", "g/m", "liter", "litre", "l/h")


def speaks_metric(text: str) -> bool:
    """Whether a text names a metric unit of mass or volume: "all weights in kg"."""
    if not any(stem in text.lower() for stem in _METRIC_STEMS):  # looking for them is fast
        return False
    return bool(_METRIC.search(plain_text(text).replace("\u00b3", "3")))


def _share_unit(text: str) -> tuple[bool, str]:
    """(whether a text is a percent sign in some form or a basis, the basis that it says)."""
    match = _SHARE_UNIT.fullmatch(plain_text(text).replace("\u2011", "-").strip(" .,"))
    if match is None:
        return False, ""
    found = match.groupdict()
    if any(found[name] for name in ("mass", "mass2", "mass3")):
        return True, "mass"
    return True, "volume" if any(found[name] for name in ("volume", "volume2", "volume3")) else ""


@lru_cache(maxsize=2048)
def _title(text: str) -> Title:
    """Take a heading apart."""
    unit, percent, basis, certain = "", False, "", False
    left: list[str] = []
    for match in _BRACKETS.finditer(text):
        inside = match[1].strip()
        share, stated = _share_unit(inside)
        if share:
            percent, basis = percent or "%" in inside or not stated, basis or stated
            unit = unit or ("%" if "%" in inside or "p" in inside.casefold() else "")
        elif not unit and inside and is_unit(inside):
            unit, certain = inside, match[0][0] == "["
        elif inside:
            left.append(inside)
            certain = certain or match[0][0] == "["
    plain = plain_text(_BRACKETS.sub(" ", text)).replace("_", " ")
    plain, ended = _unit_at_end(plain) if not unit and not percent else (plain, "")
    unit = unit or ended
    whole = re.match(r"(.*?)[\s,;:]*$", plain.strip(" ,;:*"))
    plain = whole[1] if whole else plain
    percent_match = re.search(r"[\w./\-]*\s*%\s*(?:by\s+\w+|wt|vol|w/w|v/v)?", plain)
    if percent_match and not percent:
        at = percent_match
        piece = at[0]
        share, stated = _share_unit(piece)
        if not share:  # a word that is no part of the sign: "regrind %"
            at = re.search(r"%\s*(?:by\s+\w+|wt|vol|w/w|v/v)?", plain) or at
            share, stated = _share_unit(at[0])
            if not share:
                at = re.search(r"%", plain) or at
                share, stated = True, ""
        percent, basis, unit = True, basis or stated, unit or "%"
        plain = (plain[: at.start()] + " " + plain[at.end() :]).strip()
    words = tuple(re.findall(r"[^\W_]+", re.sub(r"(?<=\w)[\-\u2011](?=\w)", "", plain)))
    if not all(word in MEANINGS or word in _NOISE for word in words):
        spaced = tuple(re.findall(r"[^\W_]+", plain))
        if sum(word in MEANINGS for word in spaced) > sum(word in MEANINGS for word in words):
            words = spaced
    return Title(words, tidy_unit(unit), percent or unit == "%", basis, " ".join(left), certain)


def _unit_at_end(plain: str) -> tuple[str, str]:
    """(the rest, the unit) of a heading that ends in a unit without brackets."""
    head, comma, tail = plain.rpartition(",")
    if comma and is_unit(tail.strip()) and "%" not in tail:
        return head, tail.strip()
    tokens = plain.split(" ")
    for count in range(min(5, len(tokens)), 0, -1):
        tail = " ".join(tokens[-count:])
        if "%" in tail or (tail in ("h", "hr", "hrs", "hours", "hour") and count == len(tokens)):
            continue
        # A lone letter is a unit only where it is one of time: "drying h"; "part g" is no unit.
        if (
            is_unit(tail)
            and (len(tail) > 1 or tail in "h#")
            and tail not in ("in", "min", "no", "mb")
        ):
            if tail in MEANINGS and tail not in ("h", "hr", "hrs"):
                continue
            return " ".join(tokens[:-count]), tail
    return plain, ""


@lru_cache(maxsize=2048)
def meaning(text: str, own_words: tuple[tuple[str, str], ...] = ()) -> Meaning:
    """What a heading means.

    Args:
        text: as it stands over the column.
        own_words: pairs of a column and the heading that the user says is it.
    """
    title = _title(text)
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
    if _PARTS_PER_HOUR.fullmatch(plain.strip(" .")):
        return Meaning("parts per hour", title._replace(unit=""), 1)
    if _SHOTS_PER_HOUR.fullmatch(plain.strip(" .")):
        return Meaning("shots per hour", title._replace(unit=""), 1)
    words = [word for word in title.words if word not in _NOISE]
    if not words and title.unit and unit_measures(title.unit, "throughput"):
        return Meaning("throughput", title, 2)  # "lbs per day", "kg/h": nothing but the unit
    known: frozenset[str] = frozenset().union(*(MEANINGS.get(w, frozenset()) for w in words))
    unknown = [word for word in words if word not in MEANINGS]
    basis = ""
    of_shares = known & {"regrind", "virgin", "share"} and known & {"mass", "volume"}
    if of_shares and not known & {"part mass", "density", "shot"}:  # "regrind by weight"
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
    slim = core - _IGNORED if core - _IGNORED else core
    if slim == {"dry"} and title.unit and unit_measures(title.unit, "drying hours"):
        return _with_unit("drying hours", title, 2)
    if slim <= {"virgin", "regrind"} and title.unit and unit_measures(title.unit, "bulk density"):
        one = "regrind" if slim == {"regrind"} else "virgin"
        return _with_unit(f"{one} density", title, 2)
    if slim == {"density", "recipe"} and "ratio" not in title.words:
        return _with_unit("blend density", title, 1)
    name = _COLUMNS.get(slim)
    if name:
        return _with_unit(name, title, 1)
    if core in ({"material"}, {"material", "name"}, {"material", "type"}, {"type"}):
        return Meaning("resin", title, 1 if core != {"type"} else 9) if core != {"type"} else None
    for rank, words in enumerate(_JOB_NAMES, 1):
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


def says_hours_and_minutes(heading: str, unit: str) -> bool:
    """Whether a heading in minutes says hours: "Dry hrs (min)"."""
    minutes = canonical(unit).startswith("min")
    return minutes and bool(re.search(r"\bh(?:ou)?rs?\b|stunden|\bstd\b", plain_text(heading)))


def _unread(title: Title, known: frozenset[str], unknown: list[str], words: list[str]) -> Meaning:
    """What a heading that is no column may have been meant for."""
    missed = []
    reserve = bool(_RESERVES & set(words)) or {"design", "factor"} <= set(words)
    harmless = bool(_HARMLESS & set(words)) and not reserve
    temperature = any(
        w.startswith(("temp", "trocknungstemp")) for w in words
    ) or unit_is_temperature(title.unit)
    if not temperature and not harmless:
        of_density = bool(title.unit) and unit_measures(title.unit, "bulk density")
        if _OF_SOLID & set(words):
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
    recipe = bool(_RECIPE_HEADING & set(words)) and "density" not in known
    rest_of = {word for word in words if "share" not in MEANINGS.get(word, ())}
    recipe = recipe or bool(rest_of & _ADDITIVES and rest_of <= _ADDITIVE_WORDS)
    recipe = recipe or (bool(known & {"virgin", "regrind"}) and "density" not in known)
    recipe = recipe or (title.percent and not harmless)
    recipe = recipe or (known == {"share"} and not unknown)
    recipe = (recipe and not harmless) or bool(_RECIPE_HEADING & set(words))
    recipe = recipe and "density" not in known and not reserve
    rest = [w for w in words if "density" not in MEANINGS.get(w, ()) and w not in _SHARE_WORDS]
    rest = [w for w in rest if w not in _BULK_WORDS]
    component = " ".join(rest)
    density = "density" in known
    is_share = title.percent or "share" in known or bool(_RECIPE_HEADING & set(words))
    if not component or not (density or is_share) or harmless:
        component = ""
    return Meaning("", title, 9, tuple(missed), recipe, component, density)


# What stands over a column that may be one of ours in words that nobody could list.
_MAY_BE = {
    "drying hours": re.compile(
        r"residence|dwell|soak|verweil|etuv|estuf|dryer|pre-?dry|vortrock|\bhold|conditioning"
        r"|retention|turnover|\bhrs?\b|\bhours?\b|\bmin(?:utes?)?\b|\btimes?\b|\bt\b"
    ),
    "virgin density": re.compile(
        r"bulk|\bdens|dicht|schutt|litergew|volumetr|\brho\b|\u03c1|\bpcf\b|\bd\b"
        r"|(?:unit|sp\w*\.?) weight|(?:/|per) ?(?:cu\.? ?)?(?:ft|foot|feet)"
    ),
    "regrind density": re.compile(r"\bdens|dicht|schutt"),
}
_OF_SOLID = frozenset(
    ("solid", "specific", "gravity", "melt", "true", "feststoff", "feststoffdichte", "rohdichte")
)
_SURELY_NOT = re.compile(
    r"lead|deliver|\bdue\b|date|start|\bend|ship|set-?up|change-?over|cycle|zyklus|solid|specific"
    r"|gravity|feststoff|melt|per hour|/ ?h|uptime|downtime|run ?time|gal|last|down ?time|bulk bag"
)


_SAYS_TIME = re.compile(r"\btimes?\b|\bh(?:ou)?rs?\b")


def may_be(heading: str, title: Title, name: str) -> bool:
    """Whether a heading that is not known may be meant for a column, by its words or its unit."""
    words = _MAY_BE.get(name)
    plain = plain_text(heading)
    if words is None or _SURELY_NOT.search(plain) or unit_is_temperature(title.unit):
        return False
    if "temp" in plain and not _SAYS_TIME.search(plain):
        return False
    if title.unit:  # a unit of something else shows that it is not meant
        return unit_measures(title.unit, JOB_COLUMNS[name])
    return bool(words.search(plain))


def unit_is_temperature(unit: str) -> bool:
    """Whether a unit is one of temperature."""
    return bool(unit) and canonical(unit) in (
        "degc",
        "degf",
        "c",
        "f",
        "k",
        "kelvin",
        "deg c",
        "deg f",
    )
