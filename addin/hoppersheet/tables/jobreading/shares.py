"""Percent or fraction, by mass or by volume, and what is assumed where no share is given."""

from __future__ import annotations

from collections.abc import Mapping

from ...cells.numbers_in_text import shown
from ...cells.wording import rounded
from ..job_columns import LET_PASS, NOT_STATED, STATED, Question
from ..jobwords.meanings import says_virgin
from ..jobwords.share_basis import bases_in, decides_basis, makes_exceptions, speaks_of_basis
from .chosen_headings import ChosenHeadings
from .evidence import Evidence
from .reading import Column
from .survey import Facts

__all__ = ["RATIOS", "list_basis", "maybe_blend", "maybe_blend_note", "virgin_only", "with_mode"]

#: Quantities whose numbers may be percentages or fractions.
RATIOS = ("share", "reserve")


def with_mode(column: Column, columns: Mapping[str, Column], facts: Facts) -> Column:
    """A column of shares or of the reserve with its one reading, percent or fraction.

    Raises:
        Question: its numbers can be either.
    """
    if column.quantity not in RATIOS:
        return column
    heading = shown(column.typed)
    percent = column.unit in ("%", "percent", "pct")
    up_to_one = facts.small + facts.ones
    others = column.name != "reserve" and _other_shares(column.name, columns)
    if percent and up_to_one and not facts.large and not others:
        rows = ", ".join(map(str, facts.small_rows)) + (" ..." if up_to_one > 5 else "")
        value = rounded(next(v for v in facts.sample if 0 < v <= 1)) if facts.sample else "1"
        raise Question(
            f"{heading} says percent, but rows {rows} hold numbers up to 1: is {value} "
            f"{value} % or {rounded(float(value) * 100)} %? Take the percent sign off the "
            "heading, or type whole percentages"
        )
    if column.name == "reserve" and facts.bare and not percent and _are_factors(facts):
        value = rounded(max(facts.sample))
        more = rounded((float(value) - 1) * 100)
        raise Question(
            f"is {value} under {heading} {value} %, or a factor, {more} % more? Type the reserve "
            "with its percent sign"
        )
    only_one = facts.ones and not (facts.small or facts.large or facts.percents or percent)
    if only_one and column.name == "regrind share" and not others:
        raise Question(
            f"{heading} has nothing but 0 and 1: is 1 a share of 100 %, of 1 %, or does it "
            "only say that there is regrind? Type the share with its percent sign"
        )
    mode = "percent" if percent or facts.large else "fraction"
    numbers = facts.bare
    if facts.percents and not numbers:
        note = f"percent, {facts.percents} of {facts.filled} cells say so"
    elif mode == "percent":
        note = f"percent, {facts.large} of {numbers} cells over 1"
        if percent:
            note = "percent, heading"
        if up_to_one:
            note += f"; {up_to_one} up to 1, asked about"
    else:
        note = "fraction, no cell over 1" if numbers else "no number in it"
    return column._replace(mode=mode, note=note, unit="1", unit_from="")


def _are_factors(facts: Facts) -> bool:
    """Whether all figures can be factors on the volume: 1, 1.1, 1.25."""
    return (
        all(1.0 <= value < 2.0 for value in facts.sample) and max(facts.sample, default=1.0) > 1.0
    )


def _other_shares(name: str, columns: Mapping[str, Column]) -> bool:
    """Whether other columns complete the shares, so that each row's sum tells percent."""
    shares = [c for c in columns if c == "virgin share" or (c == "regrind share")]
    return len(shares) == 2 and name in shares


def list_basis(evidence: Evidence, stated: str) -> tuple[str, str]:
    """(share basis of rows that state none, where that comes from).

    Raises:
        Question: the list says both, or may say it where it is not read.
    """
    chosen = evidence.chosen
    bases = {
        m.title.basis: chosen.headings[at].strip()
        for at, m in enumerate(chosen.meanings)
        if m is not None
        and m.title.basis
        and at in chosen.found_at.values()
        and m.column in ("virgin share", "regrind share", "recipe", "")
    }
    bases = {basis: f"heading {shown(heading)}" for basis, heading in bases.items()}
    if stated == NOT_STATED and chosen.has_shares():
        lines = [("above the list", text) for text in evidence.above]
        lines += [(f"row {number}", text) for number, text in evidence.survey.notes]
        for where, text in lines:
            named = bases_in(text) if decides_basis(text) else []
            line = f"{where}: {shown(' '.join(text.split()), 60)}"
            if named and makes_exceptions(text) and "share basis" not in chosen.found_at:
                raise Question(
                    f"for which rows does this hold, {line}? Give each row its own basis in a "
                    "column 'share basis'"
                )
            for basis in named:
                bases.setdefault(basis, line)
    if len(bases) > 1:
        raise Question(
            f"{' and '.join(bases.values())} give different share bases; make them the same, "
            "or give each row its own in a column 'share basis'"
        )
    if bases:
        ((basis, where),) = bases.items()
        return basis, where
    if stated == NOT_STATED and chosen.has_shares():
        _ask_for_basis(evidence)
    return stated, "" if stated == NOT_STATED else STATED


def _ask_for_basis(evidence: Evidence) -> None:
    """A column that is not read may say how the shares are meant: "gravimetric"."""
    chosen = evidence.chosen
    if "share basis" in chosen.found_at:
        return
    read = {*chosen.found_at.values()}
    for at, heading in enumerate(chosen.headings):
        if at in read or at not in evidence.survey.facts or chosen.is_ignored(at):
            continue
        for text in evidence.facts(at).texts:
            if speaks_of_basis(text):
                name = heading.strip()
                raise Question(
                    f"does {shown(name)} say whether the shares are by mass or by volume "
                    f'({shown(text.strip(), 60)})? If so, say --column "share basis={name}" '
                    f"or give a column 'share basis'; if not, --ignore \"{name}\""
                )


def virgin_only(chosen: ChosenHeadings, columns: Mapping[str, Column]) -> str:
    """What is assumed of a row without a share, and why."""
    if chosen.has_shares():
        return "virgin only: no shares given"
    if "regrind density" in columns:
        return "100 % virgin: the list has a regrind density, but no column says how much regrind"
    passed = [
        shown(chosen.headings[at].strip())
        for at, m in enumerate(chosen.meanings)
        if m is not None and m.recipe and chosen.is_ignored(at)
    ]
    if passed:
        return f"100 % virgin: {' and '.join(passed)} not read, {LET_PASS}"
    return "100 % virgin: the list has no column of shares"


def maybe_blend(chosen: ChosenHeadings, columns: Mapping[str, Column]) -> str:
    """Heading of the density where it may be that of the blend and is taken for the virgin's.

    Such is a "bulk density" beside a share of regrind.
    """
    at = chosen.found_at.get("virgin density")
    m = None if at is None else chosen.meanings[at]
    if m is None or m.rank == 0 or says_virgin(m.title) or "blend density" in columns:
        return ""
    shares = {"virgin share", "regrind share", "recipe"} & set(columns)
    return columns["virgin density"].typed if shares else ""


def maybe_blend_note(heading: str) -> str:
    """What the receipt says of such a density."""
    return (
        "taken for the virgin resin's; is it the blend's? Then call it 'blend density', or use "
        f'--column "blend density={heading}"'
    )
