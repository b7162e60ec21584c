"""Sheet *Checks*: every check of the book, rolled up to one flag that *Quote* shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..layout import Field, Table, put, put_across, realign, start_sheet, write_fields
from ..styles import WORDS
from . import other_items
from .catalog import TABLE as CATALOG
from .dryer import LINES as DRYER
from .dryer import TOTALS as DRYERS
from .quote_lines import TABLE as QUOTE
from .quote_sheet import LONGEST_CONDITIONS
from .resins import TABLE as RESINS
from .resins import WET
from .rows import highlight_results
from .shared_hopper import TABLE as SHARED
from .sizing import TABLE as SIZING
from .sizing_columns import LONGEST_JOB, LONGEST_RESIN

if TYPE_CHECKING:
    from collections.abc import Iterable

    from openpyxl import Workbook

__all__ = ["CHECKS", "Check", "write"]


@dataclass(frozen=True)
class Check:
    """One check.

    Attributes:
        text: what must be so.
        found: formula (without "=") of a number of cases, 0 when all is well.
        severity: "fail" stops the quote, "warn" means that the answer may be wrong, "look" asks
            for a second look.
        where: where to look.
    """

    text: str
    found: str
    severity: str = "fail"
    where: str = "Sizing"


_S = SIZING.range


def _errors(table: Table, first: str, last: str) -> str:
    """How many cells from column ``first`` to column ``last`` are in error."""
    span = f"{table.range(first).partition(':')[0]}:{table.range(last).partition(':')[2]}"
    return f"SUMPRODUCT(--ISERROR({span}))"


CHECKS: tuple[Check, ...] = (
    Check("The add-in answers", "IF(ISERROR(HOPPER_VERSION()),1,0)", where="About"),
    Check(
        "The unit system is US or metric",
        'IF(OR(unit_system="US",unit_system="metric"),0,1)'
        '+IF(OR(typed_units="US",typed_units="metric"),0,1)',
        where="Quote, Sizing",
    ),
    Check("At least one line is filled in", "IF(lines_begun=0,1,0)"),
    Check("No begun line has anything still to do", f'COUNTIF({_S("state")},"to do*")'),
    Check("No begun line has an error", f'COUNTIF({_S("state")},"error*")'),
    Check("Every begun line is priced", "lines_not_priced"),
    Check(
        "Every other item has a description, a quantity and a price", "items_not_priced",
        where="Quote",
    ),
    Check(
        "Every begun line stands on the quote",
        f"MAX(0,lines_begun-COUNT({QUOTE.range('line')}))", where="Quote",
    ),
    Check(
        "Share basis stated wherever there is regrind",
        f'SUMPRODUCT(--ISNUMBER({_S("virgin_share")}),--({_S("virgin_share")}<1),'
        f'--({_S("share_basis")}=""))',
    ),
    Check(
        "Every line with the choice below or own has its reason",
        f'SUMPRODUCT((({_S("choice")}="below")+({_S("choice")}="own"))'
        f'*ISERROR({_S("reason_kept")}))',
    ),
    Check(
        "Density for load is not below the density for volume",
        f"SUMPRODUCT(--ISNUMBER({_S('load_used')}),--ISNUMBER({_S('blend')}),"
        f"--({_S('load_used')}<{_S('blend')}))",
    ),
    Check(
        "The Catalog is complete, no model and no size is there twice",
        f'SUMPRODUCT(--({CATALOG.range("state")}<>""),--({CATALOG.range("state")}<>"ok"))',
        where="Catalog",
    ),
    Check(
        "Quote and Catalog have the same currency", "IF(currency=catalog_currency,0,1)",
        where="Quote, Catalog",
    ),
    Check(
        "Customer, prepared by, date and currency are filled in",
        '(customer="")+(prepared_by="")+(quote_date="")+(currency="")', where="Quote",
    ),
    Check(
        "The quote is valid until its date or later",
        'IF(OR(quote_date="",valid_until=""),1,IF(valid_until>=quote_date,0,1))', where="Quote",
    ),
    Check(
        "Total = sum of quantity x price x (1 - discount), plus tax, by another way of summing",
        # SUMPRODUCT takes blanks as 0; every line may be rounded to a cent.
        "IF(lines_begun+items_begun=0,0,IF(ABS(quote_total-(1+tax_rate)*("
        f"SUMPRODUCT({_S('quantity')},{_S('price')})"
        f"-SUMPRODUCT({_S('quantity')},{_S('price')},{_S('discount')})+{other_items.SUM}))"
        "<=0.01*(lines_begun+items_begun+1),0,1))",
        where="Quote",
    ),
    Check(
        "Quantities are whole and at least 1; discounts and tax lie between 0 % and 100 %",
        f"SUMPRODUCT(--ISNUMBER({_S('quantity')}),--({_S('quantity')}<1))"
        f"+SUMPRODUCT(--(ROUND({_S('quantity')},0)<>{_S('quantity')}))"
        f"+SUMPRODUCT(--ISNUMBER({_S('discount')}),--({_S('discount')}<0))"
        f"+SUMPRODUCT(--ISNUMBER({_S('discount')}),--({_S('discount')}>1))"
        '+IF(AND(ISNUMBER(tax_rate),tax_rate>=0,tax_rate<=1),0,1)',
        where="Sizing, Quote",
    ),
    Check(
        "Blend density, required volume and hours held agree with plain arithmetic",
        f'COUNTIF({_S("agrees")},"no")',
    ),
    Check("No error on Dryer", _errors(DRYER, "hoppers", "water"), where="Dryer"),
    Check(
        "Every dryer that lines share stands in the totals",
        f"MAX(0,MAX({DRYER.range('number')})-{DRYERS.rows})", where="Dryer",
    ),
    Check(
        "No error on Shared hopper", _errors(SHARED, "density_used", "most"),
        where="Shared hopper",
    ),
    Check(
        "Lines whose hopper holds less than the drying time",
        f'COUNTIF({_S("holds")},"no*")', "look",
    ),
    Check(
        "Lines with an estimated virgin density",
        f'COUNTIF({_S("virgin_basis")},"estimated")', "look",
    ),
    Check(
        "Lines with regrind of estimated density",
        f'COUNTIFS({_S("regrind_is")},"estimated",{_S("regrind_share")},">0")', "look",
    ),
    Check(
        "Lines with a drying time below what Resins says: the resin may stay wet",
        f'COUNTIF({RESINS.range("agrees")},"*{WET}*")', "warn", "Resins",
    ),
    Check(
        "Lines with a drying time above what Resins says",
        f'COUNTIF({RESINS.range("agrees")},"*drying time above*")', "look", "Resins",
    ),
    Check(
        "Lines with a virgin density outside what Resins says",
        f'COUNTIF({RESINS.range("agrees")},"*virgin density*")', "look", "Resins",
    ),
    Check(
        "Lines with a regrind density outside what Resins says",
        f'COUNTIF({RESINS.range("agrees")},"*regrind density*")', "look", "Resins",
    ),
    Check(
        "Lines with a resin that no table knows: nothing to compare with",
        f'COUNTIF({RESINS.range("agrees")},"not in*")', "look", "Resins",
    ),
    Check(
        "Lines with a figure for the dryer not stated",
        f'IF(room_temperature="",0,COUNTIF({DRYER.range("in_words")},"not stated*"))', "look",
        "Dryer",
    ),
    Check(
        "The drying air is not drier than the room air",
        'IF(ISERROR(room_over_drying),1,IF(room_over_drying="",0,'
        "IF(room_over_drying>1,0,1)))", "look", "Dryer",
    ),
    Check(
        "Jobs of the shared hopper that are held too short", "N(shared_short)", "look",
        "Shared hopper",
    ),
    Check(
        "Jobs of the shared hopper that are over-dried when it is full, or may be",
        "N(shared_over)+N(shared_unknown)", "look", "Shared hopper",
    ),
    Check(
        "Texts that are longer than the printed page shows",
        f"SUMPRODUCT(--(LEN({_S('job')})>{LONGEST_JOB}))"
        f"+SUMPRODUCT(--(LEN({_S('resin')})>{LONGEST_RESIN}))"
        f"+IF(LEN(quote_conditions)>{LONGEST_CONDITIONS},1,0)", "look", "Sizing, Quote",
    ),
    Check(
        "Catalog rows whose size, price or empty mass does not fit the others: see A slip? there",
        f'COUNTIF({CATALOG.range("slips")},"look*")', "look", "Catalog",
    ),
    Check(
        "Catalog rows that are marked as invented",
        f'COUNTIF({CATALOG.range("note")},"invented*")', "look", "Catalog",
    ),
)  # fmt: skip

_COUNTS = (
    Field(
        "Lines begun on Sizing", "lines_begun", "calc", f"=COUNT({_S('line')})", show="whole",
        note="A row counts as soon as anything is typed into it.",
    ),
    Field(
        "of these, not priced", "lines_not_priced", "calc",
        f"=lines_begun-COUNT({QUOTE.range('total')})", show="whole",
        note="While this is not 0 the quote shows no total.",
    ),
    Field(
        "Other items begun on Quote", "items_begun", "calc", f"={other_items.BEGUN}", show="whole",
    ),
    Field(
        "of these, not priced", "items_not_priced", "calc",
        f"=items_begun-{other_items.PRICED}", show="whole",
        note="While this is not 0 the quote shows no total.",
    ),
)  # fmt: skip

_HEADING_ROW = 13


def _write_flag(book: Workbook, last_row: int) -> None:
    sheet = book["Checks"]
    span = f"$D${_HEADING_ROW + 1}:$D${last_row}"
    cases = span.replace("D", "C")
    fields = (
        Field(
            "All checks", "checks_flag", "check",
            '=IF(checks_failed>0,"NOT READY: "&checks_failed&" of "&'
            f'ROWS({span})&" checks fail, see sheet Checks",'
            'IF(checks_warned=0,"All checks pass","No check fails, but "&checks_warned&'
            'IF(checks_warned=1," WARNING"," WARNINGS"))&IF(checks_to_look_at=0,"",", "&'
            'checks_to_look_at&IF(checks_to_look_at=1," case"," cases")&" to look at")&'
            'IF(checks_warned+checks_to_look_at=0,"",": see sheet Checks"))',
        ),
        Field(
            "Checks that fail", "checks_failed", "check", f'=COUNTIF({span},"fail")', show="whole"
        ),
        Field(
            "Cases that are a warning", "checks_warned", "check",
            f'=SUMIF({span},"warn",{cases})', show="whole",
        ),
        Field(
            "Cases to look at", "checks_to_look_at", "check", f'=SUMIF({span},"look",{cases})',
            show="whole",
        ),
    )  # fmt: skip
    write_fields(book, sheet, fields, 3, {"label": "A:B", "value": "C:E", "word": "F"})
    realign(sheet["C3"], wrap_text=True)
    sheet.row_dimensions[3].height = 28
    write_fields(
        book, sheet, _COUNTS, 7, {"label": "A:B", "value": "C:E", "word": "F", "note": "G"}
    )


def write(book: Workbook, checks: Iterable[Check] = CHECKS) -> None:
    """Add the sheet."""
    sheet = start_sheet(book, "Checks", "Checks", "G")
    for letter, width in zip("ABCDEFG", (5, 78, 10, 10, 20, 12, 50), strict=True):
        sheet.column_dimensions[letter].width = width
    headings = ("No.", "What must be so, or is worth a look", "Cases", "Result", "Where", "")
    for letter, heading in zip("ABCDE", headings, strict=False):
        put(sheet, f"{letter}{_HEADING_ROW}", heading, "heading")
    row = _HEADING_ROW
    for number, check in enumerate(checks, 1):
        row += 1
        put(sheet, f"A{row}", number, "label", align="center")
        put(sheet, f"B{row}", check.text, "label", align="left")
        put(sheet, f"C{row}", f"={check.found}", "check", "0", align="center")
        # A check that is itself in error has not passed.
        put(
            sheet, f"D{row}",
            f'=IF(ISERROR($C{row}),"fail",IF($C{row}=0,"pass","{check.severity}"))',
            "check", align="center",
        )  # fmt: skip
        put(sheet, f"E{row}", check.where, "label", align="center")
        put(sheet, f"F{row}", WORDS["check"], "word")
    _write_flag(book, row)
    highlight_results(sheet, f"D{_HEADING_ROW + 1}:D{row}")
    note = row + 2
    put_across(
        sheet, f"A{note}:E{note}",
        "fail: the quote is not ready, and the sheet Quote says so. warn: the answer may be wrong. "
        "look: a person decides. "
        "A check that cannot be computed counts as failed.", "note",
    )  # fmt: skip
    sheet.row_dimensions[note].height = 28
    sheet.page_setup.orientation = "portrait"
    sheet.print_area = f"A1:F{note}"
