"""The form that a file keeps of a formula with LAMBDA, and what Excel would refuse.

A file marks functions that came after 2007 (``_xlfn.LET``), parameters and variables
(``_xlpm.volume``), and optional parameters where they are declared (``_xlop.units``).
"""

from __future__ import annotations

import re

__all__ = ["LONGEST_FORMULA", "objections", "stored", "typed"]

#: Most characters of a formula, of a text in it, and most levels of functions (Microsoft, "Excel
#: specifications and limits").
LONGEST_FORMULA, LONGEST_TEXT, MOST_LEVELS = 8192, 255, 64

#: Functions that a file marks; FILTER bears two marks.
_NEW = frozenset(
    ("FILTER", "ISOMITTED", "LAMBDA", "LET", "MAP", "NUMBERVALUE", "REDUCE", "SEQUENCE", "TOCOL",
     "UNICHAR", "VSTACK")
)  # fmt: skip
_TWICE = frozenset(("FILTER",))
# A text, or the name of a sheet.
_TEXT = re.compile(r"""("(?:[^"]|"")*"|'(?:[^']|'')*'(?=!))""")
_WORD = re.compile(r"(?<![\w.!$#])(\[?)([A-Za-z_][A-Za-z0-9_.]*)(\]?)(?![\w.!])(\(?)")
_ERRORS = re.compile(r"#[A-Z/0!?]+")
#: What Excel takes for a cell, in either style of reference.
_CELL = re.compile(r"[a-z]{1,3}[0-9]+|r[0-9]*(?:c[0-9]*)?|c[0-9]*", re.IGNORECASE)


def _mark(match: re.Match[str]) -> str:
    optional, word, _, call = match.groups()
    if optional:
        return f"_xlop.{word}"
    if call and word in _NEW:
        return f"_xlfn.{'_xlws.' if word in _TWICE else ''}{word}{call}"
    return f"_xlpm.{word}{call}" if word.islower() else f"{word}{call}"


def stored(text: str) -> str:
    """A formula as we write it, in the form of a file.

    >>> stored('LAMBDA(volume,[units],LET(half,volume/2,IF(ISOMITTED(units),half,"half")))')
    '_xlfn.LAMBDA(_xlpm.volume,_xlop.units,_xlfn.LET(_xlpm.half,_xlpm.volume/2,IF(_xlfn.ISOMITTED(_xlpm.units),_xlpm.half,"half")))'
    """
    parts = _TEXT.split(text)
    parts[::2] = [_WORD.sub(_mark, part) for part in parts[::2]]
    return "".join(parts)


def typed(text: str) -> str:
    """The reverse of :func:`stored`: what a user sees of it, but for the brackets."""
    parts = _TEXT.split(text)
    parts[::2] = [re.sub(r"_xl(?:fn\.(?:_xlws\.)?|pm\.|op\.)", "", part) for part in parts[::2]]
    return "".join(parts)


def objections(text: str) -> list[str]:
    """What Excel would refuse in a formula of ours; empty where it takes it."""
    found = []
    parts = _TEXT.split(text)
    if len(stored(text)) > LONGEST_FORMULA:
        found.append(f"{len(stored(text))} characters")
    found += [f"the text {part[:30]}..." for part in parts[1::2] if len(part) > LONGEST_TEXT + 2]
    code = "".join(parts[::2])
    found += [
        f"the name {word}"
        for word in {match[2] for match in _WORD.finditer(code)}
        if word.islower() and _CELL.fullmatch(word)
    ]
    depth = deepest = 0
    for sign in code:
        depth += (sign == "(") - (sign == ")")
        deepest = max(deepest, depth)
    if depth:
        found.append("brackets that do not close")
    if deepest > MOST_LEVELS:
        found.append(f"{deepest} levels")
    return found
