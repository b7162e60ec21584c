"""The table that whoever signs a quote reads first: a row per line, and what it comes to."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from ..cells.wording import in_system
from ..workbook.formulas import address, quoted_sheet
from .findings import Finding

if TYPE_CHECKING:
    from .context import Context
    from .requote import Worked

__all__ = ["SignOff", "SignedLine", "sign_off"]


@dataclass(frozen=True)
class SignedLine:
    """One line of the quote.

    Attributes:
        needs, chosen: volumes in ``unit``.
        asked, holds: hours.
        price, net: as the workbook has them; right_net: worked out again.
        verdict: what to think of it, in a word or two.
    """

    job: str
    where: str
    unit: str
    needs: float
    chosen: float | None
    model: str
    asked: float | None
    holds: float | None
    price: float | None
    quantity: float
    discount: float
    net: float | None
    right_net: float | None
    verdict: str


@dataclass
class SignOff:
    """All lines, and the total as it stands and as it was worked out again."""

    lines: list[SignedLine] = field(default_factory=list)
    total: float | None = None
    right_total: float | None = None
    total_cell: str = ""

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


def _verdict(context: Context, worked: Worked, findings: list[Finding]) -> str:
    own = {
        f"{quoted_sheet(sheet)}!{address(row, column)}"
        for sheet, row, column in worked.record.places
    }
    for severity, word in (("error", "ERROR"), ("warning", "to decide")):
        for found in findings:
            named = {f"{quoted_sheet(found.sheet)}!{found.cell}", *found.cells}
            if found.severity == severity and not found.accepted and named & own:
                return f"{word}: {found.kind}"
    size = worked.line.chosen_size
    if size is None:
        return "no size chosen"
    if size < worked.line.required * (1 - 1e-9):
        reason = context.reason_for(worked.line)
        short = f"SHORT {(1 - size / worked.line.required) * 100:.2g} %"
        return f"{short}, reason: {reason.text!r}" if reason else short
    return "holds"


def sign_off(context: Context, findings: list[Finding]) -> SignOff:
    """The lines that are offered, with what they come to."""
    found = SignOff(total=context.money.value, right_total=context.money.right)
    if context.money.total is not None:
        sheet, row, column = context.money.total
        found.total_cell = f"{quoted_sheet(sheet)}!{address(row, column)}"
    offered = {id(line) for line in context.quoted}
    for worked in context.worked:
        line = worked.line
        if id(line) not in offered:
            continue
        size = line.chosen_size
        found.lines.append(
            SignedLine(
                worked.name,
                f"{quoted_sheet(line.place[0])}!{address(*line.place[1:])}",
                "ft3" if line.system == "US" else "L",
                in_system(line.required, "volume", line.system),
                None if size is None else in_system(size, "volume", line.system),
                worked.model,
                None if worked.asked is None else worked.asked / 3600,
                None if worked.held is None else worked.held / 3600,
                worked.price, worked.quantity, worked.discount, worked.net, worked.right_net,
                _verdict(context, worked, findings),
            )
        )  # fmt: skip
    return found
