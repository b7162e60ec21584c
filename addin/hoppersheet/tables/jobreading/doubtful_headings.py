"""Headings that only the cells below them explain: a recipe, a density, what is not read."""

from __future__ import annotations

import re

from ...cells.numbers_in_text import shown
from ...cells.quantities import QUANTITIES
from ...cells.units import HOME_FACTORS, factor
from ..heading_words import plain_text
from ..job_columns import EARLIER_RESULT, LET_PASS, Question
from ..jobwords.meanings import DENSITY
from ..jobwords.recipes import is_ratio_of_shares, reads_as_recipe
from ..jobwords.units import unit_measures
from ..jobwords.vocabulary import RECIPE_WORDS
from .evidence import Evidence

__all__ = [
    "density_or_not",
    "recipe_or_not",
    "refuse_recipes",
    "unread_numbers",
    "why_unused",
]

#: Words that make a batch a lot of material.
_OF_LOTS = frozenset(("no", "nr", "num", "number", "nummer", "id", "lot", "code", "name", "date"))
_MAY_BE_SHARE = re.compile(
    r"\s*[<>~]?\s*(?:0*[0-9]{0,2}(?:[.,][0-9]*)?|0*100(?:[.,]0*)?)\s*(?:%.*|percent|pct|wt.*)?"
    r"|.*%.*|\s*[0-9.,]+\s*[:/]\s*[0-9.,]+\s*",
    re.DOTALL,
)
_MACHINES = frozenset(("machines", "presses", "maschinen", "pressen"))
#: Solid density of the lightest resin, poly(4-methylpentene), 0.83 g/cm3 (from memory), in kg/m3:
#: what lies below it is no solid resin, so a column of such densities holds bulk densities.
_LIGHTEST_SOLID = 830.0


def recipe_or_not(evidence: Evidence) -> None:
    """A column "mix" is a recipe only where its cells are."""
    chosen = evidence.chosen
    at = chosen.found_at.get("recipe")
    if at is None:
        return
    if not any(map(reads_as_recipe, evidence.facts(at).texts)):
        del chosen.found_at["recipe"]


def density_or_not(evidence: Evidence) -> str:
    """A column "density" is the bulk density where no solid resin could be as light."""
    chosen = evidence.chosen
    at = chosen.found_at.pop(DENSITY, None)
    if at is None:
        return ""
    heading = shown(chosen.headings[at].strip())
    unit = evidence.row_units.get(at) or chosen.unit(at)
    facts = evidence.facts(at)
    values = []
    if unit or not facts.bare:
        scale = factor(unit, "kg/m3")[0] if unit else 1.0
        values = [value * scale for value in facts.sample]
    else:
        for system in ("US", "metric"):
            scale = HOME_FACTORS[QUANTITIES["bulk density"].unit(system)][0]
            low, high = (QUANTITIES["bulk density"].low, QUANTITIES["bulk density"].high)
            inside = [v * scale for v in facts.sample if low <= v * scale <= high]
            values = inside if len(inside) > len(values) else values
    if facts.units and not values:
        values = (
            [_LIGHTEST_SOLID]
            if not all(unit_measures(u, "bulk density") for u in facts.units)
            else [0.0]
        )
    if values and max(values) < _LIGHTEST_SOLID:
        chosen.found_at["virgin density"] = at
        return "read as the bulk density: lighter than any solid resin"
    raise Question(
        f"is {heading} the bulk density of the pellets? Its values can be those of the solid "
        f"resin, which would make the hopper too small. Rename it, or use --column "
        f'"virgin density={chosen.headings[at].strip()}"'
    )


def names_lots(evidence: Evidence, at: int) -> bool:
    """Whether a column "batch" tells lots apart, and is no part of a recipe."""
    m = evidence.chosen.meanings[at]
    if m is None or m.title.percent or set(m.title.words) & RECIPE_WORDS != {"batch"}:
        return False
    if set(m.title.words) & _OF_LOTS:
        return True
    return not any(map(_MAY_BE_SHARE.fullmatch, evidence.facts(at).texts))


def refuse_recipes(evidence: Evidence) -> None:
    """Ask about an unread column that names a part of the recipe."""
    chosen = evidence.chosen
    read = set(chosen.found_at.values())
    for at, m in enumerate(chosen.meanings):
        if m is None or not m.recipe or at in read or at not in evidence.survey.facts:
            continue
        heading = chosen.headings[at].strip()
        if chosen.is_ignored(at) or not evidence.facts(at).texts or names_lots(evidence, at):
            continue
        name = m.component or "it"
        how = f'give its density in a column "{name} density"' if m.component else "rename it"
        raise Question(
            f"what is {shown(heading)}? It looks like a part of the recipe and is not read. If "
            f'it is regrind, use --column "regrind share={heading}"; if it is another '
            f'component, {how}; if it is neither, --ignore "{heading}"'
        )


def unread_numbers(evidence: Evidence) -> list[str]:
    """Ask about unread ratios such as 70/30; say that a number of machines is not read."""
    chosen = evidence.chosen
    read = {*chosen.found_at.values(), *evidence.unit_columns}
    assumed = []
    for at, heading in enumerate(chosen.headings):
        facts = evidence.survey.facts.get(at)
        if facts is None or at in read or chosen.is_ignored(at):
            continue
        texts = list(facts.texts)
        name = heading.strip()
        if texts and sum(map(is_ratio_of_shares, texts)) * 2 > len(texts):
            raise Question(
                f"what is {shown(name)} ({shown(texts[0])})? It looks like shares of virgin "
                "and regrind and is not read. Call the column 'virgin/regrind' or "
                f"'regrind/virgin', or use --ignore \"{name}\""
            )
        words = set(plain_text(heading).replace("#", " ").split())
        numbers = all(text.replace(".", "", 1).isdigit() for text in texts)
        several = any(text not in ("1", "1.0") for text in texts)
        if words & _MACHINES and several and numbers:
            assumed.append(f"throughput taken for all machines together: {shown(name)} is not read")
    return assumed


def why_unused(evidence: Evidence, at: int) -> str:
    """Why a heading is not read, where there is a reason to tell."""
    chosen = evidence.chosen
    m = chosen.meanings[at]
    if at in chosen.results:
        return EARLIER_RESULT
    if chosen.is_ignored(at):
        return LET_PASS
    if m is not None and m.recipe:
        return "0 or blank in every row" if not evidence.facts(at).texts else "numbers of lots"
    return ""
