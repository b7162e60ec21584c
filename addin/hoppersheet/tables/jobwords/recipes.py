"""Recipes in texts: ``70/30`` or ``80 % virgin, 20 % regrind`` in a cell of its own, or a job's
name or note that speaks of one."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from ...cells.numbers_in_text import shown
from ...errors import WrongKind
from ..heading_words import plain_text

__all__ = [
    "NONE",
    "RECIPE_IN_RESIN",
    "RECIPE_IN_TEXT",
    "is_ratio_of_shares",
    "may_speak_of_recipe",
    "none_words",
    "read_recipe",
    "reads_as_recipe",
]

_VIRGIN = r"(?:virgin|vir|v|neuware|neu|vierge|virgen|prime)"
_REGRIND = r"(?:re-?grind|reground|rg|r|mahlgut|mg|rebroye|broye|molido|remolido)"
_RATIO = re.compile(
    r"([0-9]{1,3}(?:[.,][0-9]+)?)\s*%?\s*[/:\-]\s*([0-9]{1,3}(?:[.,][0-9]+)?)\s*%?(.*)"
)
_PART = re.compile(
    r"(?:(?P<number>[0-9]{1,3}(?:[.,][0-9]+)?)\s*%?\s*(?:of )?"
    rf"(?P<virgin>{_VIRGIN}|)(?P<regrind>{_REGRIND}|)(?![a-z]))"
    rf"|(?:(?P<virgin2>\b{_VIRGIN})|(?P<regrind2>\b{_REGRIND}))\s*:?\s*"
    r"(?P<number2>[0-9]{1,3}(?:[.,][0-9]+)?)\s*%?"
)
_ORDER = re.compile(rf"\b({_VIRGIN})\b\W+\b({_REGRIND})\b|\b({_REGRIND})\b\W+\b({_VIRGIN})\b")
_ONLY_VIRGIN = re.compile(rf"(?:100\s*%?\s*|all |only |pure )?(?:{_VIRGIN}|natural)(?: only)?")
#: A share that is none, in words and signs.
NONE = (
    "-", "--", "\u2013", "\u2014", "\u2212", "none", "no", "nein", "kein", "keine", "keiner",
    "keins", "kein mahlgut", "no regrind", "without", "ohne", "n/a", "n.a.", "na", "non", "aucun",
    "aucune", "sans", "ninguno", "ninguna", "sin", "nil",
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


def none_words(name: str, cell: Any) -> str:
    """The mark of a row in which a sign or a word stands for none."""
    return f"{name} {shown(cell)} taken as none"


def reads_as_recipe(text: str) -> bool:
    """Whether a cell may hold a recipe rather than a recipe's name."""
    plain = plain_text(text)
    if _RATIO.fullmatch(plain) or _ONLY_VIRGIN.fullmatch(plain):
        return True
    return bool(re.search(rf"[0-9]\s*%?\s*(?:{_REGRIND}|{_VIRGIN})(?![a-z])", plain))


def is_ratio_of_shares(text: str) -> bool:
    """Whether a text is two numbers that make 100, or 1: "70/30"."""
    ratio = _RATIO.fullmatch(plain_text(text))
    if ratio is None or ratio[3].strip():
        return False
    total = sum(float(part.replace(",", ".")) for part in ratio.groups()[:2])
    return abs(total - 100) < 0.2 or abs(total - 1) < 0.002


@lru_cache(maxsize=4096)
def read_recipe(text: str, heading: str) -> tuple[float, float]:
    """(virgin, regrind) as fractions.

    Args:
        text: the cell.
        heading: what stands over it; "virgin/regrind" says which of 70/30 is which.

    Raises:
        WrongKind: it cannot be read, or does not say which number is the regrind.
    """
    plain = plain_text(text)
    if _ONLY_VIRGIN.fullmatch(plain) or plain in NONE:
        return 1.0, 0.0
    ratio = _RATIO.fullmatch(plain)
    if ratio is not None:
        order = _ORDER.search(ratio[3]) or _ORDER.search(plain_text(heading))
        first, second = (float(part.replace(",", ".")) for part in ratio.groups()[:2])
        if order is None and {first, second} != {100.0, 0.0}:
            raise WrongKind(
                f"{shown(text)} does not say which of the two is the regrind: call the column "
                "'virgin/regrind' or 'regrind/virgin'",
                "recipe",
            )
        virgin, regrind = (first, second) if order is None or order[1] else (second, first)
        if order is None:  # 100/0 with no order: all of one thing, and nobody says of which
            raise WrongKind(f"{shown(text)} does not say which of the two is the regrind", "recipe")
        return _whole(virgin, regrind, text)
    virgin_share: float | None = None
    regrind_share: float | None = None
    rest = plain
    for match in _PART.finditer(plain):
        number = float((match["number"] or match["number2"]).replace(",", "."))
        if match["virgin"] or match["virgin2"]:
            virgin_share = number
        elif match["regrind"] or match["regrind2"]:
            regrind_share = number
        else:
            continue
        rest = rest.replace(match[0], " ", 1)
    left = re.sub(r"\b(?:and|und|et|y|with|mit|rest|balance|mix|blend|plus|w)\b", " ", rest)
    left = re.sub(rf"\b(?:{_VIRGIN}|{_REGRIND})\b", " ", left)
    if re.search(r"[0-9a-z]", left) or (virgin_share is None and regrind_share is None):
        raise WrongKind(
            f"{shown(text)} is not a recipe that can be read, such as '30 % regrind'", "recipe"
        )
    if regrind_share is None and virgin_share is not None:
        regrind_share = 100.0 - virgin_share
    if virgin_share is None and regrind_share is not None:
        virgin_share = 100.0 - regrind_share
    assert virgin_share is not None and regrind_share is not None
    return _whole(virgin_share, regrind_share, text)


def _whole(virgin: float, regrind: float, text: str) -> tuple[float, float]:
    total = virgin + regrind
    whole = 1.0 if total < 10 else 100.0
    if abs(total - whole) > 1e-3 * whole or min(virgin, regrind) < 0:
        raise WrongKind(f"the shares in {shown(text)} do not sum to 100 %", "recipe")
    return virgin / total, regrind / total
