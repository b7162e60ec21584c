"""Which meanings make a column, and words that stand for more than a meaning: tables of data.

Words are spelled as in :mod:`~hoppersheet.tables.heading_words`, which says what each means.
"""

from __future__ import annotations

__all__ = [
    "ADDITIVES",
    "ADDITIVE_WORDS",
    "AVERAGE_WORDS",
    "BESIDE_OTHERS",
    "COLUMNS",
    "HARMLESS",
    "JOB_NAMES",
    "NOISE",
    "OF_SOLID",
    "RECIPE_WORDS",
    "RESERVES",
    "TOTAL_WORDS",
]

#: Words that change nothing.
NOISE = frozenset((
    "of", "the", "de", "du", "des", "la", "le", "les", "del", "el", "di", "d", "l", "der",
    "die", "das", "den", "im", "a", "in", "en", "zu", "for", "fur", "pour", "para", "por",
    "hourly", "required", "est", "estimated", "approx", "stated", "nominal", "expected",
))  # fmt: skip
#: Meanings that may stand beside those of a column without changing it.
BESIDE_OTHERS = frozenset(("material", "bulk"))
#: Meanings -> column.
COLUMNS: dict[frozenset[str], str] = {
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
        ("runner mass", "runner mass"),
        ("cavities number", "cavities"),
    )
}
#: Names of a job, best first.
JOB_NAMES = (
    ("job",), ("job", "name"), ("job", "number"), ("part",), ("part", "name"), ("name",),
    ("part", "number"), ("number",), ("name", "number"), ("part", "name", "number"),
)  # fmt: skip
#: What a row of totals, or of averages, begins with.
TOTAL_WORDS = (
    "total", "totals", "sum", "summe", "gesamt", "gesamtsumme", "insgesamt", "somme", "suma",
    "subtotal", "sub total", "grand total", "totale", "totaal", "zwischensumme", "sous total",
    "total general", "total hall", "totales", "gesamtdurchsatz", "total throughput", "all jobs",
    "som", "summa", "σ", "∑", "total rate", "overall",
    "ttl", "tot", "ges", "totaux", "cumul", "ergebnis", "endsumme", "ubertrag", "uebertrag",
    "carried forward", "brought forward",
)  # fmt: skip
AVERAGE_WORDS = (
    "average", "avg", "mean", "mittelwert", "durchschnitt", "moyenne", "promedio", "media", "ø",
    "mittel", "schnitt", "median", "max", "min", "maximum", "minimum", "count", "anzahl",
    "number of jobs", "number",
)  # fmt: skip
#: Words of a heading over a part of the recipe.
RECIPE_WORDS = frozenset((
    "recycled", "recycle", "recyclate", "recyclat", "recycling", "reprocessed", "reprocess",
    "regranulate", "repro", "pcr", "pir", "masterbatch", "mb", "colorant", "concentrate",
    "additive", "additives", "rezyklat", "regenerat", "regranulat", "reciclado",
    "reprocesado", "compound", "scrapback", "farbbatch", "batch", "mahlgut", "regrind",
    "virgin", "neuware", "rebroye", "vierge", "virgen", "molido", "filler", "return",
    "returns", "returned", "rework", "ldr", "letdown", "nucleating", "nucleator", "antiblock",
    "stabilizer", "stabiliser",
))  # fmt: skip
#: The same, where the heading has no other word but these: "slip" also packs goods.
ADDITIVES = frozenset((
    "slip", "uv", "lubricant", "blowing", "foaming", "modifier", "retardant", "let",
))  # fmt: skip
ADDITIVE_WORDS = ADDITIVES | frozenset((
    "agent", "aid", "down", "flame", "impact", "processing", "rate", "ratio",
))  # fmt: skip
#: Words of percentages that have nothing to do with the recipe.
HARMLESS = frozenset((
    "discount", "rebate", "tax", "vat", "mwst", "ust", "margin", "markup", "humidity",
    "moisture", "rh", "scrap", "ausschuss", "yield", "oee", "efficiency", "utilization",
    "utilisation", "uptime", "availability", "probability", "chance", "commission", "deposit",
    "rabatt", "remise", "tva", "iva", "descuento", "humedad", "humidite", "feuchte",
    "restfeuchte", "shrinkage", "shrink", "complete", "completion", "done", "progress", "win",
    "margen", "marge", "taxe", "merma", "rebut", "duty", "load", "auslastung",
    "verfugbarkeit", "skonto", "price",
))  # fmt: skip
#: Words for a reserve that is not called so; they win over "margin".
RESERVES = frozenset((
    "safety", "sicherheit", "sicherheitszuschlag", "seguridad", "securite", "sicurezza",
    "contingency", "oversize", "oversizing", "surge", "headroom", "growth", "allowance",
))  # fmt: skip
#: Words for the density of the solid resin, which is another thing than the bulk density.
OF_SOLID = frozenset((
    "solid", "specific", "gravity", "melt", "true", "feststoff", "feststoffdichte",
    "rohdichte",
))  # fmt: skip
