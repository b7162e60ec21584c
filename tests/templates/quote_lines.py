"""Lines that somebody might type wrong or only half, and what the book must say of each."""

from __future__ import annotations

from typing import Any

#: A complete line in US units: 36.4 lb/ft3 by volume, 35.44 by mass; needs 21.7 ft3.
GOOD: dict[str, Any] = {
    "job": "Press 1", "resin": "PC/ABS", "regrind": 0.3, "virgin": 40, "virgin_from": "data sheet",
    "ground": 28, "ground_from": "measured", "stated": 220, "hours": 3.5, "choice": "EXAMPLE-30",
}  # fmt: skip
GOOD = {**GOOD, "headroom": 9}


def without(*keys: str, **more: Any) -> dict[str, Any]:
    return {**{k: v for k, v in GOOD.items() if k not in keys}, **more}


#: What is wrong -> the line, and how its state begins.
SLIPS: dict[str, tuple[dict[str, Any], str]] = {
    "good": (GOOD, "● ready"),
    "two things": (
        without("headroom", "virgin_from"), "▲ look: density: origin not stated",
    ),
    "only a rate": ({"stated": 90}, "○ unfinished: resin, hours missing"),
    "no hours": (without("hours"), "○ unfinished: hours missing"),
    "no rate": (without("stated"), "○ unfinished: rate missing"),
    "a resin nobody knows, no density": (
        without("virgin", "ground", resin="House blend 7"),
        "○ unfinished: virgin density, regrind density missing",
    ),
    "a resin nobody knows": (without(resin="House blend 7"), "▲ look: resin not in the list"),
    "metric density in a US sheet": (
        without(virgin=0.64), "■ stop: virgin density 0.64 is no lb/ft³",
    ),
    "a unit nobody knows": (
        without(virgin="0.64 kg/x"), "■ stop: virgin density is not a number of its unit",
    ),
    "a share of 30": (without(regrind=30), "■ stop: regrind share 3000 %: type 30 %, not 30"),
    "a text for the share": (without(regrind="some"), "■ stop: regrind share is not a number"),
    "clock time": (without(hours=0.1458333), "■ stop: hours 0.1458: type 4, not 4:00"),
    "hours as a text": (without(hours="3.5 h"), "■ stop: hours: type a number, 4"),
    "words for a rate": (without(stated="many"), "■ stop: rate is not a number of its unit"),
    "larger than the catalog": (
        without("choice", stated=9000), "■ stop: larger than the catalog",
    ),
    "below where nothing is below": (
        without(stated=4, choice="size below", reason="as asked"), "■ stop: no size below",
    ),
    "a model that is not there": (
        without(choice="X-1"), "■ stop: no model X-1 in Catalog",
    ),
    "an invented model": (without(choice="EXAMPLE-100"), "■ stop: invented model"),
    "short, no reason, hydrolyzes": (
        without(choice="size below"), "■ stop: 7.9 % short, no reason (PC/ABS)",
    ),
    "short, no reason": (
        without(resin="PP", choice="size below", hours=3.6, reason="  "),
        "■ stop: 10.5 % short, no reason",
    ),
    "short with a reason": (
        without(choice="size below", reason="runs 190 lb/h"), "▲ look: 7.9 % short, reason given",
    ),
    "no quantity of hoppers": (without(quantity=1.5), "■ stop: qty, split or discount"),
    "a discount of 5": (without(discount=5), "■ stop: qty, split or discount"),
    "by volume in a book by mass": (without(basis="volume"), "▲ look: shares by volume"),
    "density from the table": (without("virgin", "virgin_from"), "▲ look: density from table"),
    "origin not stated": (without("virgin_from"), "▲ look: density: origin not stated"),
    "dried too short": (without(hours=1), "▲ look: dried shorter than usual"),
    "dried too long": (without(hours=20, stated=30), "▲ look: dried longer than usual"),
    # PC/ABS: 79.4 to 110 degC by the resin table, which is 175 to 230 degF.
    "dried too hot": (
        without(temperature=248), "▲ look: dried hotter than usual 230 °F: may degrade",
    ),
    "dried too cool": (
        without(temperature="70 degC"), "▲ look: dried cooler than usual 175 °F: may stay wet",
    ),
    "dried at the end of what is usual": (without(temperature=230), "● ready"),
    # 45 x 35.44 / 220 = 7.25 h, and 7.25 x 220 / 170 = 9.4 h at the lowest rate; 3.5 h are asked.
    "held far longer": (without(choice="EXAMPLE-45"), "▲ look: holds 7.2 h: may be over-dried"),
    "held far longer at the lowest rate": (
        without(low=140, likely=200), "▲ look: holds 7.6 h: may be over-dried",
    ),
    "held far longer, of a resin that does not suffer": (
        without(resin="PEI", choice="EXAMPLE-45", virgin=44, ground=26), "● ready",
    ),
    "a reason that nobody needs": (
        without(reason="low ceiling"), "▲ look: reason not printed: not short",
    ),
    "too tall": (without("headroom"), "▲ look: 1 ft too tall"),
    "shot and cycle disagree": (
        without(shot=420, cycle=36, presses=2), "▲ look: shot and cycle give 185.2",
    ),
    "low above high": (without(low=300, high=200), "■ stop: low, likely, high rate not in order"),
    "pure regrind needs no virgin density": (
        without("virgin", "virgin_from", regrind=1), "● ready",
    ),
    "two hoppers share the rate": (without("choice", split=2), "● ready"),
    "split and qty": (
        without("choice", split=2, quantity=2),
        "▲ look: qty 2 x split 2: 4 hoppers, 440 lb/h",
    ),
    "a shared hopper of one line": (
        without(shared="H1"), "▲ look: no other line shares hopper H1",
    ),
    "at once, and no hopper named": (
        without(turn="at once"), "■ stop: runs at once: which shared hopper?",
    ),
    "has a hopper that others share": (without(shared="H2"), "▲ look: full, held 4.8 h, usual"),
    "shares it, and asks for two": (
        without("choice", shared="H2", quantity=2), "■ stop: hopper H2: which, split, qty and",
    ),
    "shares it, on another dryer": (
        without("choice", shared="h2", dryer="C"), "■ stop: hopper h2 is on dryer A",
    ),
    "in turn in one line": (
        without(choice="EXAMPLE-45", shared="H3", turn="in turn"), "■ stop: hopper H3: in turn, or",
    ),
    "at once in the other": (
        without("choice", shared="H3", turn="at once"), "■ stop: hopper H3: in turn, or at once?",
    ),
    "at once": (without(choice="EXAMPLE-45", shared="H4", turn="at once", hours=3.4), "● ready"),
    "at once, dried for longer": (
        without("choice", shared="H4"), "■ stop: at once with line",
    ),
    "shares with an unfinished one": (
        without(shared="H5"), "○ unfinished: another job of hopper H5 missing",
    ),
    "the unfinished one": (
        without("choice", "hours", shared="H5"), "○ unfinished: hours missing",
    ),
    "a figure with its own unit": (without(stated="99.7903 kg/h"), "● ready"),
    "something assumed": (without(note="hours from the table"), "▲ look: assumed: hours from the"),
    "a formula in error": (without(stated="=1/0"), "■ stop: rate is not a number"),
}  # fmt: skip
