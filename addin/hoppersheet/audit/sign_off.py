"""The table that whoever signs a quote reads first: a row per line, and what it comes to."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from ..cells.wording import in_system
from ..workbook.formulas import Place, quoted_sheet
from .calls import cell_name
from .findings import Finding

if TYPE_CHECKING:
    from .context import Context
    from .line_cells import Worked
    from .unsized import Unsized

__all__ = ["SignOff", "SignedLine", "sign_off"]


@dataclass(frozen=True)
class SignedLine:
    """One line of the quote.

    Attributes:
        needs, chosen: volumes in ``unit``; None for a hopper that has none.
        asked, holds: hours.
        price, net: as the workbook has them; right_net: worked out again.
        verdict: what to think of it, in a word or two.
    """

    job: str
    where: str
    unit: str
    needs: float | None
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
    """All lines, and the total as it stands and as it was worked out again.

    Attributes:
        right_total: None where it does not follow from all lines; ``why`` says what is missing.
        as_they_are: lines in it whose net price was taken as the workbook has it.
    """

    lines: list[SignedLine] = field(default_factory=list)
    total: float | None = None
    right_total: float | None = None
    as_they_are: int = 0
    why: str = ""
    total_cell: str = ""

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


_OPEN = {"error": "ERROR", "warning": "to decide"}
#: Cell -> (how grave, which one, what is said of it) of the gravest open finding that names it.
_Gravest = dict[str, tuple[int, int, str]]


def _gravest(findings: list[Finding]) -> _Gravest:
    """The first of the gravest findings by cell."""
    found: _Gravest = {}
    for at, one in enumerate(findings):
        if one.severity in _OPEN and not one.accepted:
            rank = (list(_OPEN).index(one.severity), at, f"{_OPEN[one.severity]}: {one.kind}")
            for cell in (f"{quoted_sheet(one.sheet)}!{one.cell}", *one.cells):
                found[cell] = min(rank, found.get(cell, rank))
    return found


def _verdict(context: Context, worked: Worked, gravest: _Gravest) -> str:
    own = {cell_name(place) for place in worked.record.places}
    decided = min((gravest[cell] for cell in own if cell in gravest), default=None)
    if decided is not None:
        return decided[2]
    size = worked.line.chosen_volume
    if size is None:
        return "no size chosen"
    if "net price" in worked.record.blank:
        return f"no price in {cell_name(worked.record.blank['net price'])}"
    if size < worked.line.required * (1 - 1e-9):
        reason = context.reason_for(worked.line)
        short = f"SHORT {(1 - size / worked.line.required) * 100:.2g} %"
        return f"{short}, reason: {reason.text!r}" if reason else short
    if worked.priced_on is not None:
        name = f" of {worked.priced_on!r}" if worked.priced_on else " of another line"
        return f"holds, in the hopper{name}"
    return "holds"


def sign_off(context: Context, findings: list[Finding]) -> SignOff:
    """The lines that are offered, with what they come to."""
    money = context.money
    found = SignOff(
        total=money.value, right_total=money.right, as_they_are=money.as_they_are, why=money.why
    )
    if context.money.total is not None:
        found.total_cell = cell_name(context.money.total)
    gravest = _gravest(findings)
    rows = [
        (worked.line.place, _signed(context, worked, gravest))
        for worked in context.worked
        if context.is_quoted(worked.line)
    ]
    rows += [(one.place, _not_sized(context, one)) for one in context.unsized]
    sheets = list(context.book.sheets)
    rows.sort(key=lambda row: (sheets.index(row[0][0]), *_in_reading_order(context, row[0])))
    found.lines = [line for _, line in rows]
    return found


def _in_reading_order(context: Context, place: Place) -> tuple[int, int]:
    """By rows; by columns where each line is one."""
    sheet, row, column = place
    return (column, row) if context.labels.sideways(sheet) else (row, column)


def _signed(context: Context, worked: Worked, gravest: _Gravest) -> SignedLine:
    line = worked.line
    size = line.chosen_size
    return SignedLine(
        worked.name,
        cell_name(line.place),
        "ft3" if line.system == "US" else "L",
        in_system(line.required, "volume", line.system),
        None if size is None else in_system(size, "volume", line.system),
        worked.model,
        None if worked.asked is None else worked.asked / 3600,
        None if worked.held is None else worked.held / 3600,
        worked.price, worked.quantity, worked.discount, worked.net, worked.right_net,
        _verdict(context, worked, gravest),
    )  # fmt: skip


def _not_sized(context: Context, one: Unsized) -> SignedLine:
    """A hopper without a volume: what stands beside it, and why it has none."""
    beside: dict[str, Any] = {}
    for cell in context.labels.beside(one.place):
        beside.setdefault(context.labels.role(cell.place), context.value(cell.place))

    def number(role: str) -> float | None:
        value = beside.get(role)
        return value if isinstance(value, float) else None

    return SignedLine(
        job=one.name, where=cell_name(one.place), unit="ft3", needs=None, chosen=None, model="",
        asked=None, holds=None, price=number("list price"), quantity=number("quantity") or 0.0,
        discount=number("discount") or 0.0, net=number("net price"), right_net=None,
        verdict=f"not sized: {one.why}",
    )  # fmt: skip
