"""By mass or by volume: where a heading, a cell or a line of text says which."""

from __future__ import annotations

import re

from ..heading_words import plain_text

__all__ = [
    "bases_in",
    "basis_in_cell",
    "decides_basis",
    "makes_exceptions",
    "share_sign",
    "speaks_of_basis",
]

_SHARE_SIGN = re.compile(
    r"(?:by )?(?:(?P<mass>wt|weight|mass|gew|gewichts?|massen?|masa|w/w|m/m|m|w|peso|poids)"
    r"|(?P<volume>vol|volume|volumen|v/v|v))?[\s.\-]*(?:%|percent|pct|prozent)"
    r"|(?:%|percent|pct|prozent)[\s.\-]*(?:by )?"
    r"(?:(?P<mass2>wt|weight|mass|gew|w/w|m/m|w|peso|poids)"
    r"|(?P<volume2>vol|volume|volumen|v/v|v))?\.?"
    r"|by (?P<mass3>weight|mass|wt)|by (?P<volume3>volume|vol)"
)


def share_sign(text: str) -> tuple[bool, str]:
    """(whether a text is a percent sign in some form or a basis, the basis that it says)."""
    match = _SHARE_SIGN.fullmatch(plain_text(text).replace("\u2011", "-").strip(" .,"))
    if match is None:
        return False, ""
    found = match.groupdict()
    if any(found[name] for name in ("mass", "mass2", "mass3")):
        return True, "mass"
    return True, "volume" if any(found[name] for name in ("volume", "volume2", "volume3")) else ""


_AROUND_BASIS = re.compile(r"^(?:by|nach|en|al|in|on)\s+|\s+(?:basis|base|bezug)$")
#: How a blender doses says by what its shares are.
_DOSED = {
    "gravimetric": "mass", "gravimetrisch": "mass", "gravimetrique": "mass",
    "gravimetrico": "mass", "volumetric": "volume", "volumetrisch": "volume",
    "volumetrique": "volume", "volumetrico": "volume",
}  # fmt: skip


def basis_in_cell(text: str) -> str:
    """The basis that a cell says: ``w/w``, ``% v/v``, ``Gew.-%``, ``nach Gewicht``; "" for none."""
    share, basis = share_sign(text)
    if share:
        return basis
    word = _AROUND_BASIS.sub("", plain_text(text))
    return _DOSED.get(word) or share_sign(f"{word} %")[1]


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
