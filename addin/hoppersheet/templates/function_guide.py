"""The function guide: one page per cell function, as one Markdown text, from the registry alone.

Every number in it is computed while it is written, by the same :func:`hoppersheet.call` that a
cell goes through. The examples are test vectors with their sources, so the guide cannot be
written where one of them fails.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator

from ..call import call
from ..cells.quantities import QUANTITIES
from ..cells.units import SPELLING_GROUPS, spellings_in
from ..cells.values import as_rows, is_error
from ..cells.wording import rounded
from ..describe import argument_words, facts, units_of
from ..functions import all_functions
from ..registry import CATEGORY, UNITS, Argument, CellFunction
from ..vectors import Vector, load_vectors
from .cautions import ABOUT_ARGUMENT, CAUTIONS
from .typed_call import DIGITS, aligned, answer, cell_text, computed, problem, source, typed

__all__ = ["function_guide"]

_MOST_ERRORS = 8  # per page
#: A source that begins so checks our algebra or our rules, and not against the world outside.
_OWN_SOURCES = ("arithmetic identity", "common practice", "rule of the cells", "definition")
_TELLING = 1e-4  # a tolerance from here on is told

_INTRODUCTION = """\
# Function guide

One page per function, in the order of the work. Type a function into a cell of Excel or \
LibreOffice Calc like any other, or take it from the function wizard (Excel: category \
"{category}"; Calc: category "Add-in").

This text is written by `hoppersheet functions --guide` from the functions' own records \
({versions}), and every number in it was computed by them at that moment.
"""

_READING = """\
## How to read a page

- **Square brackets** mark what may be left out. A gap before another argument keeps its comma: \
`=HOPPER_REQUIRED_VOLUME(220, 3.5, 0.58, , "metric")`. Where your spreadsheet separates arguments \
with a semicolon, type semicolons.
- **Plain numbers** are in US customary units, and so is the result, unless the last argument, \
`units`, is `"metric"`.
- **A text with a unit** is converted, in either system: `"0.55 g/cm3"`, `"45 kg/h"`, `"440 L"`, \
`"10 %"`. Decimal comma and point are both read; `"1,234"` and `"1.234"` are refused where both \
1.234 and 1234 are possible.
- **Allowed**: anything else is refused with `#NUM!`. The limits are set so that a metric figure \
in a US sheet, a clock time for hours or a percentage for a fraction fall outside. **Usual**: \
outside of it the function computes, and HOPPER_EXPLAIN and the audit remark on it. Limits and \
usual ranges are common practice, no source.
- **A blank cell** is never taken for zero: `#VALUE!`, in Calc `#NUM!` where 0 is impossible. (In \
Calc the optional `reserve`, `allowed_shortfall` and `altitude` take a blank for their default, \
0.) In a range, blanks are passed over where that leaves no doubt.
- **An error** that goes in comes out as it is.

| a cell shows | because |
|---|---|
| `#VALUE!` | the wrong kind of input: a text that is no number, an unknown unit, a unit of \
something else, a blank, ranges of unequal length, a missing argument |
| `#NUM!` | the right kind of input, but impossible or not allowed |
| `#N/A` | there is no answer |

To read the reason in words, put `HOPPER_EXPLAIN` beside it with the same arguments.

**Cautions for every page**

{cautions}
"""


# --- small pieces -------------------------------------------------------------------------


def _anchor(name: str) -> str:
    """A link to the page of a function."""
    return f"[{name}](#{name.lower()})"


def _in_table(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


def _topics() -> dict[str, list[CellFunction]]:
    topics: dict[str, list[CellFunction]] = {}
    for function in all_functions().values():
        topics.setdefault(function.topic, []).append(function)
    return topics


def _about_topic(functions: list[CellFunction]) -> str:
    """The first sentence of the file in which the topic's functions are defined."""
    text = sys.modules[functions[0].function.__module__].__doc__ or ""
    return " ".join(text.split("\n\n")[0].split())


# --- the parts of a page ------------------------------------------------------------------


def _argument_row(argument: Argument) -> str:
    words = argument_words(argument)
    cells = (f"`{words.name}`", *words[1:])
    return f"| {' | '.join(map(_in_table, cells))} |"


def _known_words(arguments: tuple[Argument, ...]) -> list[str]:
    """A line per argument that knows certain words; those told before are not told again."""
    lines: list[str] = []
    owner: dict[str, str] = {}
    for argument in arguments:
        words, others = [], []
        known = set(argument.known() if argument.known else ())
        for word, quantity in (argument.known() if argument.known else {}).items():
            unit = units_of(QUANTITIES[quantity]).replace(" (metric ", "; ", 1) if quantity else ""
            if word in owner:
                others.append(owner[word])
            else:
                words.append(f"{word} ({unit.removesuffix(')')})" if ";" in unit else word)
                owner[word] = argument.name
        for name in dict.fromkeys(others):
            missing = [word for word, where in owner.items() if where == name and word not in known]
            but = f" but {', '.join(missing)}" if missing else ""
            words.append(f"and the words known in `{name}`{but}")
        if words:
            lines += ["", f"Known in `{argument.name}`: {', '.join(words)}."]
    return lines


def _arguments(function: CellFunction) -> list[str]:
    if not function.arguments:
        return ["", "It takes no arguments."]
    lines = [
        "",
        "| argument | what to type | unit | allowed | usual | when left out |",
        "|---|---|---|---|---|---|",
        *map(_argument_row, function.arguments),
    ]
    return lines + _known_words(function.arguments)


def _example(function: CellFunction, vector: Vector) -> list[str]:
    value, written = computed(vector), typed(vector)
    lines = ["", "**Example**", "", "```text", *written.sheet(), written.formula]
    if isinstance(value, list):
        lines += ["gives", *aligned([[cell_text(x) if x != "" else "" for x in r] for r in value])]
    else:
        lines.append(f"gives {answer(function, vector.arguments, value)}")
    lines.append("```")
    if function.result.kind in ("number", "cell"):
        sentence = call("HOPPER_EXPLAIN", function.name, *vector.arguments)
        # Assumptions and source stand above.
        sentence = sentence.removeprefix(f"{function.name}: ").partition(" Source: ")[0]
        sentence = sentence.partition(" Assumes: ")[0]
        lines += ["", f"In words: {sentence}"]
    expected = ""
    if isinstance(vector.expected, (int, float)):
        expected = f"{rounded(vector.expected, DIGITS)} expected"
        if vector.tolerance_kind == "rel" and vector.tolerance > _TELLING:
            expected += f", within {rounded(vector.tolerance * 100)} %"
        expected += ": "
    return [*lines, "", f"Checked: {expected}{source(vector)}."]


def _is_outside(vector: Vector) -> bool:
    """Whether the source is one that a reader of the guide can make something of."""
    refers_to_a_vector = re.search(r"\b[A-Z][0-9]{2}\b", vector.source)
    return not vector.source.startswith(_OWN_SOURCES) and not refers_to_a_vector


def _other_check(function: CellFunction, example: Vector, vectors: list[Vector]) -> list[str]:
    """How many more values are checked, and one of them from outside the project if there is."""
    good = [v for v in vectors if v is not example and not is_error(v.expected)]
    if not good:
        return []
    count = f"{len(good)} more value{'s are' if len(good) > 1 else ' is'} checked by the tests"
    first = typed(example).formula
    chosen = next((v for v in good if _is_outside(v) and typed(v).formula != first), None)
    if chosen is None:
        return ["", f"{count}."]
    written = typed(chosen)
    beside = f" {written.beside()}" if written.ranges else ""
    value = answer(function, chosen.arguments, computed(chosen))
    call_shown = f"`{written.formula}`{beside} gives {value}"
    return ["", f"{count}, such as: {call_shown} ({source(chosen)})."]


def _error_rows(vectors: list[Vector]) -> Iterator[str]:
    """One row per slip: what was typed, what the cell shows, why."""
    seen = set()
    for vector in vectors:
        cells = [cell for a in vector.arguments for row in as_rows(a) for cell in row]
        if not is_error(vector.expected) or any(map(is_error, cells)):
            continue
        refused = problem(vector)
        # Two slips with one argument are worth telling where they break different limits.
        side = next((w for w in (" below ", " above ", " sum ") if w in refused.reason), "")
        key = (refused.code, refused.argument, side)
        if refused.argument != UNITS.name and key not in seen:
            seen.add(key)
            written = typed(vector)
            call_shown = f"`{written.formula}`" + (f" {written.beside()}" if written.ranges else "")
            reason = f"{refused.argument}: {refused.reason}".removeprefix(": ")
            yield f"| {_in_table(call_shown)} | `{refused.code}` | {_in_table(reason)} |"


def _errors(vectors: list[Vector]) -> list[str]:
    rows = list(_error_rows(vectors))[:_MOST_ERRORS]
    if not rows:
        return []
    return ["", "| typed | shows | because |", "|---|---|---|", *rows]


def _page(function: CellFunction, vectors: list[Vector]) -> list[str]:
    own = [v for v in vectors if v.function == function.name]
    example = own[0]  # the record's own example comes first
    lines = [
        f"### {function.name}",
        "",
        f"**{function.question}** {function.summary}",
        "",
        f"`={function.signature}`",
        *_arguments(function),
        "",
        *(f"- **{title}**: {text}." for title, text in facts(function, ABOUT_ARGUMENT)),
        *_example(function, example),
        *_other_check(function, example, own),
        *_errors(own),
    ]
    if function.see_also:
        lines += ["", f"See also: {', '.join(map(_anchor, function.see_also))}."]
    return [*lines, ""]


# --- the whole ----------------------------------------------------------------------------


def _contents() -> list[str]:
    lines = ["## What do you want to know?", "", "| question | function |", "|---|---|"]
    for functions in _topics().values():
        lines += [f"| {f.question} | {_anchor(f.name)} |" for f in functions]
    return [*lines, ""]


def _spelled(group: str) -> str:
    """The words of one kind, those of one unit together."""
    by_unit: dict[str, list[str]] = {}
    for spelling, unit in spellings_in(group).items():
        by_unit.setdefault(unit, []).append(spelling)
    return "; ".join(", ".join(words) for words in by_unit.values())


def _unit_table() -> list[str]:
    """Which unit words are understood."""
    return [
        "## Units that may be typed",
        "",
        "In a text with a unit, in square brackets in a heading, and in HOPPER_CONVERT. Case, "
        "spaces and the dots of abbreviations do not matter; `per` is `/`, `^` may be left out. "
        "Words are joined to the units of the trade: `lb/cu ft`, `g/cm3`, `kg/h`, `lbs per day`, "
        "`#/hr`, `kg h-1`, `ft/min`, `Btu/(lb degF)`, `cfm/(lb/h)`. `ton`, `T` and `gr` are "
        "refused as ambiguous; the standard flows `scfm` and `Nm3/h` are masses of air, which "
        "HOPPER_AIR_HEAT alone can read.",
        "",
        "| of | words |",
        "|---|---|",
        *(f"| {group} | {_spelled(group)} |" for group in SPELLING_GROUPS),
        "",
    ]


def function_guide() -> str:
    """The guide as Markdown.

    Raises:
        ValueError: an example does not give what its source says.
    """
    vectors = load_vectors()
    introduction = _INTRODUCTION.format(category=CATEGORY, versions=call("HOPPER_VERSION"))
    lines = [
        introduction,
        *_contents(),
        _READING.format(cautions="\n".join(f"- {caution}" for caution in CAUTIONS)),
        *_unit_table(),
    ]
    for topic, functions in _topics().items():
        lines += [f"## {topic.capitalize()}", "", _about_topic(functions), ""]
        for function in functions:
            lines += _page(function, vectors)
    return "\n".join(lines).rstrip("\n") + "\n"
