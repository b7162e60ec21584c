"""The way through the book, in words: beside *Quote*, above *Sizing*, and on *About*."""

from __future__ import annotations

__all__ = ["IN_SHORT", "STEPS"]

_STEPS = (
    "Catalog: replace the invented models by your own hoppers, with their source. Every quote "
    "made before that has invented sizes and prices.",
    "Quote: type customer, date and currency. Units switches what the book shows, not what was "
    "typed: Sizing says in which units you type, so that no switch makes 100 lb/h into 100 kg/h.",
    "Sizing: choose the units that you type in and the policy, then fill in one row per job, from "
    "left to right. State says what is missing. Hours as a number: 4, not 4:00.",
    "Sizing: compare the size below with the next one. Leave Choice blank to follow the policy, or "
    "choose and give the reason.",
    "A job larger than the largest hopper: split it. Type the throughput of one hopper, and the "
    "number of hoppers as the quantity.",
    "Checks: nothing may fail. Read each warning, and look at what asks for a look.",
    "Quote: print, or export as PDF, this one sheet only, never the whole book: the other sheets "
    "hold margins, the price list and internal reasons. The command hoppersheet handoff BOOK "
    "--page Quote --out quote.pdf writes just this page.",
)

#: Numbered sentences.
STEPS = tuple(f"{number}. {step}" for number, step in enumerate(_STEPS, 1))

#: Two lines above the rows of Sizing.
IN_SHORT = (
    "How to: first put your own hoppers into Catalog, and the customer on Quote. Then one row per "
    "job here, from left to right: type into the straw-colored cells; State (far right) says what "
    "is missing.",
    "Compare the size below with the next one, and choose or leave it to the policy. Then read "
    "Checks, and print or export the sheet Quote alone: this sheet is not for the customer.",
)
