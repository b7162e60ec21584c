"""Sheet *Checks*: every check of the book, and whether the quote is ready."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..layout import Table
from ..styles import failed, passed
from .catalog import DRYERS as DRYER_CATALOG
from .catalog import TABLE as CATALOG
from .dryer import TABLE as DRYERS
from .dryer import WORKED_OUT
from .grid import landscape, new_sheet, quoted
from .line_check_list import LINE_CHECKS
from .line_checks import SIZING, naming
from .line_checks import TABLE as BEHIND
from .page_shape import units_on_a_page
from .rows import highlight_results, when
from .shared_hopper import TABLE as SHARED

if TYPE_CHECKING:
    from collections.abc import Iterable

    from openpyxl import Workbook

__all__ = ["CHECKS", "FIRST", "SHEET", "Check", "all_checks", "write"]

SHEET = "Checks"
#: Row of the first check.
FIRST = 18


@dataclass(frozen=True)
class Check:
    """One check.

    Attributes:
        text: what must be so.
        wrong: what is not, in a few words, for the list of what keeps the page a draft.
        found: formula (without "=") of a number of cases, 0 when all is well.
        severity: "fail" stops the quote, "look" asks for a second look.
        sheet: where to look.
        cell: the cell to go to; with ``first`` the row is that of the first line named.
        named: formula of the lines that it names, or "".
        which: formula of what is missing, in words, or "".
    """

    text: str
    found: str
    severity: str = "fail"
    sheet: str = "Sizing"
    cell: str = "A1"
    named: str = ""
    which: str = ""
    wrong: str = ""


_S = SIZING.range
_B = BEHIND.range


def _states(table: Table) -> str:
    state = table.range("state")
    return f'SUMPRODUCT(--({state}<>""),--({state}<>"ok"))'


def _blank(names: dict[str, str]) -> tuple[str, str]:
    """(how many of some named cells are blank, which they are, in words)."""
    count = "+".join(f'(TRIM({name})="")' for name in names)
    which = "&".join(f'IF(TRIM({name})="",", {words}","")' for name, words in names.items())
    return count, f"MID({which},3,200)"


_HEAD, _WHICH_OF_HEAD = _blank({
    "customer": "customer", "quote_number": "quote number", "quote_date": "quote date",
    "prepared_by": "prepared by", "seller": "seller", "seller_contact": "address or contact",
})  # fmt: skip
_REVISED = 'revision<>""'

CHECKS: tuple[Check, ...] = (
    Check("The cell functions answer", "IF(ISERROR(HOPPER_VERSION()),1,0)", sheet="About",
          cell="B3", wrong="the cell functions do not answer"),
    Check("The unit system is US or metric, and the typed figures are in it",
          'IF(OR(unit_system="US",unit_system="metric"),0,1)+IF(units_confirmed=unit_system,0,1)',
          sheet="Settings", cell="C6", wrong="the unit system is not confirmed"),
    Check("At least one line is filled in", "IF(lines_begun=0,1,0)", cell="C5",
          wrong="no line is filled in"),
    Check("Nothing is typed below the prepared lines",
          "IF(ISERROR(lines_below),1,lines_below)", cell="C5",
          wrong="something is typed below the lines"),
    Check("Every begun line is priced", "lines_begun-COUNT(" + _S("net") + ")",
          wrong="not every line is priced"),
    Check("Every service has a description and a price",
          "SUM(services_begun)-COUNT(services_total)", sheet="Services", cell="A6",
          wrong="a service without description or price"),
    Check("Every dryer that lines share stands on the quote, or is left out with a reason",
          f'SUMPRODUCT(--({DRYERS.range("stop")}<>""))', sheet="Dryer", cell="B6",
          wrong="a dryer cannot be quoted as it is: Dryer says why"),
    Check("The page is long enough for all that belongs on it; else make the book with more --rows",
          "page_too_short", sheet="Quote", wrong="the page is too short for all lines"),
    Check("The catalog of hoppers is complete; no model and no size is there twice",
          _states(CATALOG), sheet="Catalog", cell="A10", wrong="Catalog is not complete"),
    Check("The catalog of dryers is complete; no model is there twice", _states(DRYER_CATALOG),
          sheet="Dryer catalog", cell=f"A{DRYER_CATALOG.first_row}",
          wrong="Dryer catalog is not complete"),
    Check("Quote and catalog have the same currency", "IF(currency=catalog_currency,0,1)",
          sheet="Settings", cell="G16", wrong="quote and catalog in different currencies"),
    Check("Customer, number, date, prepared by, seller and contact are filled in", _HEAD,
          sheet="Settings", cell="G5", which=_WHICH_OF_HEAD,
          wrong=f'={_WHICH_OF_HEAD}&" missing"'),
    Check("The revision on the page has its own date, not before the quote's",
          f'IF({_REVISED},IF(OR(date_on_page="",quote_date=""),1,IF(date_on_page<quote_date,1,0)),'
          "0)", sheet="Revision", cell="B11", wrong="the revision has no date, or an earlier one"),
    Check("The quote is valid until its date or later",
          'IF(OR(date_on_page="",valid_on_page=""),1,IF(valid_on_page>=date_on_page,0,1))',
          sheet="Settings", cell="G10", wrong="valid until is missing, or before the date"),
    Check("Tax lies between 0 % and 100 %",
          "IF(ISNUMBER(tax_rate),IF(AND(tax_rate>=0,tax_rate<=1),0,1),1)", sheet="Settings",
          cell="G17", wrong="tax is not between 0 % and 100 %"),
    Check("Total = quantity x price x (1 - discount), summed up in another way, plus tax",
          "IF(ISNUMBER(quote_total),IF(ABS(quote_total-(1+tax_rate)*("
          f"SUMPRODUCT({_S('pieces')},{_S('price')})"
          f"-SUMPRODUCT({_S('pieces')},{_S('price')},{_S('discount')})"
          f"+SUMPRODUCT({DRYERS.range('count')},{DRYERS.range('price')})"
          f"-SUMPRODUCT({DRYERS.range('count')},{DRYERS.range('price')},{DRYERS.range('discount')})"
          f"+SUM(services_total)))<=0.01*(lines_begun+20),0,1),0)",
          sheet="Quote", wrong="the total is not the sum of its parts"),
    Check("Needed volume, hours held and the density for load agree with plain "
          "arithmetic", "lines_disagree", wrong="a line disagrees with plain arithmetic"),
    Check("No error on Dryer", "dryer_errors", sheet="Dryer", wrong="an error on Dryer"),
    Check("Resins of the shared hopper may meet", "shared_meets", sheet="Shared hopper",
          cell=f"A{SHARED.first_row}", wrong="resins of the shared hopper must not meet"),
    Check("No error on Shared hopper", "shared_errors", sheet="Shared hopper",
          cell=f"A{SHARED.first_row}", wrong="an error on Shared hopper"),
    Check("No error on Measured density", "measured_errors", sheet="Measured density",
          cell="A8", wrong="an error on Measured density"),
    Check("Lines that stand together on Shared hopper have one hopper on Sizing too",
          "shared_apart", "look", "Shared hopper", f"A{SHARED.first_row}"),
    Check("Jobs of the shared hopper that are held too short", "shared_short", "look",
          "Shared hopper", f"A{SHARED.first_row}"),
    Check("Jobs of the shared hopper that may be over-dried when it is full", "shared_over",
          "look", "Shared hopper", f"A{SHARED.first_row}"),
    Check("One line is worked on there, and is not on Sizing", "one_line_open", "look",
          "One line", "C26"),
    Check("Reasons on Dryer that are not printed: nothing about the dryer needs one",
          f'SUMPRODUCT(--({DRYERS.range("reason")}<>""),--({DRYERS.range("stop")}=""),'
          f'--({DRYERS.range("told")}<>1))', "look", "Dryer", "G6"),
    Check("The paper is that of the unit system: the book was made for the other one",
          "IF(unit_system=resin_table_units,0,1)", "look", "Settings", "C5"),
    Check("The drying air is drier than the room air",
          'IF(ISERROR(room_over_drying),1,IF(room_over_drying="",0,IF(room_over_drying>1,0,1)))',
          "look", "Dryer", "D21"),
    Check("Catalog rows whose size, price or empty mass does not fit the others",
          f'COUNTIF({CATALOG.range("slips")},"look*")', "look", "Catalog", "A10"),
    Check("Catalog sizes are stated as gross or usable",
          'IF(OR(catalog_sizes_are="gross",catalog_sizes_are="usable"),0,1)', "look", "Catalog",
          "K3"),
    Check("Printed columns of Settings are headings of Catalog",
          '(printed_1<>"")*ISNA(MATCH(printed_1,catalog_free_headings,0))'
          '+(printed_2<>"")*ISNA(MATCH(printed_2,catalog_free_headings,0))', "look", "Settings",
          "G20"),
)  # fmt: skip

_WORDS = {"unfinished": "fail", "stop": "fail", "look": "look"}


#: Signs of the lines that a check names before it says that there are more.
_NAMED = 60


def _line_check(key: str, severity: str, heading: str) -> Check:
    last = f"{BEHIND.quoted_sheet}!${BEHIND.letter(naming(key))}${{last}}"
    rest = f"MID({last},3,{_NAMED + 1})"
    commas = f'(LEN({rest})-LEN(SUBSTITUTE({rest},",","")))'
    # Cut before a number, never inside one.
    named = (
        f"IF(LEN({last})<={_NAMED}+2,MID({last},3,{_NAMED}),"
        f'LEFT({rest},FIND("¦",SUBSTITUTE({rest},",","¦",{commas}))-1)&", …")'
    )
    return Check(
        f"Lines: {heading}", f'COUNTIF({_B(key)},"?*")', _WORDS[severity], "Sizing", "B", named,
        wrong=heading,
    )  # fmt: skip


def all_checks() -> tuple[Check, ...]:
    """Those of the book, then those of its lines."""
    return (*CHECKS, *(_line_check(c.key, c.severity, c.heading) for c in LINE_CHECKS))


def _kind(state: str) -> str:
    return f'=COUNTIF({_B("kind")},"{state}")'


def _origin(word: str) -> str:
    return "+".join(f'COUNTIF({_S(key)},"{word}")' for key in ("virgin_is", "ground_is"))


#: Taken from Measured density: nobody typed a density, yet it is measured.
_WEIGHED = "+".join(
    f'SUMPRODUCT(--({_S(origin)}="measured"),--({_S(typed)}=""))'
    for origin, typed in (("virgin_is", "virgin"), ("ground_is", "ground"))
)
#: (how many densities, in words): what is known of each, not more.
_ORIGINS = (
    (_WEIGHED, "weighed for this quote"),
    (f"{_origin('measured')}-({_WEIGHED})", "stated as measured"),
    (_origin("data sheet"), "stated as from a data sheet"),
    (_origin("estimated"), "stated as estimated"),
    (_origin("not stated"), "stated without an origin"),
    (_origin("table"), "typical, from the resin table"),
    (_origin("rule of thumb"), "by rule of thumb"),
)


def _listed(parts: tuple[tuple[str, str], ...]) -> str:
    """Counts in words, those of nothing left out: ``2 from the resin table, 1 by ...``."""
    joined = "&".join(f'IF({count}=0,"",", "&({count})&" {words}")' for count, words in parts)
    return f"MID({joined},3,300)"


_MIXED = (
    f"SUMPRODUCT(({_S('begun')}=1)*ISNUMBER({_S('regrind_share')})*({_S('regrind_share')}>0)*"
    f'({_S("regrind_share")}<1)*({_S("basis_used")}="{{}}"))'
)

_COUNTS = (
    ("Lines begun on Sizing", "lines_begun", f"=SUM({_S('begun')})"),
    ("ready", "lines_ready", _kind("ready")),
    ("look", "lines_look", _kind("look")),
    ("stop", "lines_stop", _kind("stop")),
    ("unfinished", "lines_unfinished", _kind("unfinished")),
    ("mixed by mass", "mixed_by_mass", "=" + _MIXED.format("mass")),
    ("mixed by volume", "mixed_by_volume", "=" + _MIXED.format("volume")),
)  # fmt: skip

_NO_NET = f"(lines_begun-COUNT({_S('net')}))"
_NO_SERVICE = "(SUM(services_begun)-COUNT(services_total))"
_NO_DRYER = f'SUMPRODUCT(--({DRYERS.range("stop")}<>""))'
_NOT_PRICED = f"{_NO_NET}+{_NO_SERVICE}+{_NO_DRYER}"
_DRYERS_QUOTED = f'SUMPRODUCT(--({DRYERS.range("lines")}>0),--({DRYERS.range("choice")}<>"none"))'
_SUMS = (
    ("Subtotal", "quote_subtotal",
     f'=IF(lines_begun+SUM(services_begun)=0,"",IF({_NOT_PRICED}>0,NA(),'
     f"SUM({_S('net')})+SUM(dryer_nets)+SUM(services_total)))", "#,##0.00_)"),
    ("Tax", "quote_tax",
     '=IF(quote_subtotal="","",IF(ISNUMBER(tax_rate),ROUND(quote_subtotal*tax_rate,2),NA()))',
     "#,##0.00_)"),
    ("Total", "quote_total", '=IF(quote_subtotal="","",quote_subtotal+quote_tax)', "#,##0.00_)"),
    ("Why there is no total", "no_total",
     '=IF(ISNUMBER(quote_total),"","No total yet: "&IF(lines_begun=0,"no line is filled in",MID('
     f'IF({_NO_NET}=0,"",", "&({_NO_NET})&" of "&lines_begun&" lines not priced")&'
     f'IF({_NO_SERVICE}=0,"",", "&({_NO_SERVICE})&IF({_NO_SERVICE}=1," service"," services")&'
     f'" not priced")&IF({_NO_DRYER}=0,"",", "&({_NO_DRYER})&IF({_NO_DRYER}=1," dryer"," dryers")&'
     '" not ready")&IF(ISNUMBER(tax_rate),"",", the tax is not a number"),3,200))&".")',
     "General"),
    ("Densities, in words", "densities_in_words", f"={_listed(_ORIGINS)}", "General"),
    # Not added up once more: the lines come together in one cell.
    ("Hoppers and dryers", "quote_equipment",
     '=IF(quote_subtotal="","",ROUND(quote_subtotal-SUM(services_total),2))', "#,##0.00_)"),
)  # fmt: skip


#: So many failing checks are named.
_MOST_NAMED = 3


def _failing(results: str, last: int, *, lines: bool) -> str:
    """Formula that names the first failing checks, with the lines if asked."""
    words, which, so_far = (f"${c}${FIRST}:${c}${last}" for c in "HEI")
    parts = []
    for n in range(1, _MOST_NAMED + 1):
        nth = f"MATCH({n},{so_far},0)"
        at = f"INDEX({which},{nth})"
        part = f"INDEX({words},{nth})"
        if lines:
            some = f'IF(ISNUMBER(FIND(",",{at})),"s "," ")'
            part += f'&IF(ISERROR(VALUE(LEFT({at}&"",1))),""," (line"&{some}&{at}&")")'
        if n > 1:
            part = f'"; "&{part}'
        parts.append(f'IF(COUNTIF({results},"fail")<{n},"",{part})')
    more = f'COUNTIF({results},"fail")-{_MOST_NAMED}'
    return "&".join(parts) + f'&IF({more}>0,"; and "&{more}&" more","")'


def write(book: Workbook, units: str, rows: int, checks: Iterable[Check] = ()) -> None:
    """Add the sheet."""
    listed = tuple(checks) or all_checks()
    sheet, pen = new_sheet(book, SHEET, "Checks")
    pen.widths(A=30, B=520, C=60, D=64, E=150, F=120, G=46, H=360, I=90)
    last = FIRST + len(listed) - 1
    span = f"$D${FIRST}:$D${last}"
    pen.put("A3:B3", "Is the quote ready?", "strong")
    pen.put(
        "C3:F3",
        '=IF(checks_failed=0,"● ready","■ DRAFT: "&checks_failed&IF(checks_failed=1," check fails",'
        '" checks fail"))&IF(checks_to_look_at=0,"","; "&checks_to_look_at&" to look at")',
        "strong",
    )  # fmt: skip
    pen.name("C3", "checks_flag")
    for row, label, name, formula in (
        (
            4,
            "Ready, or why not",
            "quote_ready",
            '=IF(checks_failed=0,"ready",checks_failed&IF(checks_failed=1," of its checks fails: ",'
            f'" of its checks fail: ")&{_failing(span, last, lines=True)})',
        ),
        (5, "Checks that fail", "checks_failed", f'=COUNTIF({span},"fail")'),
        (6, "Checks to look at", "checks_to_look_at", f'=COUNTIF({span},"look")'),
    ):
        pen.put(f"A{row}:B{row}", label, "label", up="top" if row == 4 else "")
        if name == "quote_ready":  # a sentence, of three checks at most
            pen.put(f"C{row}:F{row}", formula, "calc", up="top", wrap=True)
            pen.heights(row, row, 54)
        else:
            pen.put(f"C{row}", formula, "calc", "0", at="right")
        pen.name(f"C{row}", name)
    for row, (label, name, formula) in enumerate(_COUNTS, 7):
        pen.put(f"A{row}:B{row}", label, "label", indent=0 if row == 7 else 1)
        pen.put(f"C{row}", formula, "calc", "0", at="right")
        pen.name(f"C{row}", name)
    for row, (label, name, formula, fmt) in enumerate(_SUMS, 3):
        pen.put(f"H{row}", label, "label")
        pen.put(f"I{row}", formula, "calc", fmt, at="right" if fmt != "General" else "left")
        pen.name(f"I{row}", name)
    pen.put("H16", "In words, for the page", "label")
    pen.put("I16", f"={_failing(span, last, lines=False)}", "calc")
    pen.name("I16", "failing_in_words")
    _write_helpers(book, rows, units)
    for letter, text, at in (
        ("A", "no.", "center"), ("B", "what must be so, or is worth a look", "left"),
        ("C", "cases", "right"), ("D", "result", "center"), ("E", "lines", "left"),
        ("F", "go there", "left"), ("G", "else", "center"), ("H", "what is wrong", "left"),
        ("I", "fails so far", "right"),
    ):  # fmt: skip
        pen.put(f"{letter}{FIRST - 1}", text, "unit", at=at)
    end = BEHIND.first_row + rows - 1
    for row, check in enumerate(listed, FIRST):
        named = check.named.format(last=end)
        pen.put(f"A{row}", row - FIRST + 1, "label", at="center")
        pen.put(f"B{row}", check.text, "calc")
        pen.put(f"C{row}", f"={check.found}", "check", "0_)", at="right")
        # A check that is itself in error has not passed.
        pen.put(
            f"D{row}",
            f'=IF(ISERROR($C{row}),"fail",IF($C{row}=0,"pass",$G{row}))',
            "check", at="center",
        )  # fmt: skip
        which = named or check.which
        pen.put(f"E{row}", f"={which}" if which else None, "check", shrink=True)
        pen.put(f"H{row}", check.wrong or check.text, "label")
        pen.put(f"I{row}", f'=COUNTIF($D${FIRST}:$D{row},"fail")', "label", "0", at="right")
        pen.put(f"G{row}", check.severity, "label", at="center")
        target = f'"#{quoted(check.sheet)}!{check.cell}"'
        if named:
            number = f'VALUE(LEFT($E{row},FIND(",",$E{row}&",")-1))'
            target = f'"#{check.sheet}!B"&({SIZING.first_row - 1}+IF($E{row}="",1,{number}))'
        pen.put(f"F{row}", f'=HYPERLINK({target},"{check.sheet}")', "check", underline="single")
    highlight_results(sheet, f"D{FIRST}:D{last}")
    when(sheet, "C3:F3", "checks_failed=0", passed())
    when(sheet, "C3:F3", "checks_failed>0", failed())
    note = last + 2
    pen.put(
        f"A{note}:F{note}",
        "fail: the page says DRAFT. look: a person decides. A check that cannot be computed has "
        "failed. The lines are explained on Line checks.", "note",
    )  # fmt: skip
    pen.heights(note, note, 30)
    sheet.freeze_panes = "A4"  # the answer stays; the figures under it would fill the window
    landscape(sheet, f"A1:F{note}", "ABCDEF", units)
    sheet.print_title_rows = f"{FIRST - 1}:{FIRST - 1}"


def _write_helpers(book: Workbook, rows: int, units: str) -> None:
    """Counts that Checks needs, below its figures on the right."""
    from .grid import Pen

    pen = Pen(book[SHEET])
    first, others = units_on_a_page(units)
    typed = (
        f"Sizing!$C${SIZING.first_row + rows}:${SIZING.letter('reason')}${SIZING.reach_row + 300}"
    )
    for row, label, name, formula in (
        (9, "Cells typed below the lines", "lines_below", f'=SUMPRODUCT(--({typed}<>""))'),
        (10, "Lines that disagree", "lines_disagree",
         f'=COUNTIF({_B("agrees")},"no")'),
        (11, "Errors on Dryer", "dryer_errors", f"=SUMPRODUCT(--ISERROR({WORKED_OUT}))"),
        (13, "Dryers quoted", "dryers_quoted",
         f"=IF(ISERROR({_DRYERS_QUOTED}),1,{_DRYERS_QUOTED})"),
        (12, "Pages to print of Quote", "quote_pages",
         f"=IF(page_units<={first},1,INT((page_units-{first}-1)/{others})+2)"),
    ):  # fmt: skip
        pen.put(f"H{row}", label, "label")
        pen.put(f"I{row}", formula, "calc", "0", at="right")
        pen.name(f"I{row}", name)
