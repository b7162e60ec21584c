"""Sheet *Quote*: the page for the customer. Everything on it is a formula.

Under the heading it is a stream of units of two rows: figures, and a text below them that may go on
in the next unit. Beside the page stands, for each unit, what it shows; so the page grows with the
lines, and blank rows follow its end only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from openpyxl.formatting.rule import Rule
from openpyxl.styles import Border, Font, Side
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.worksheet.pagebreak import Break

from ..layout import Table
from ..styles import AMBER, BRICK, INK, MUTED, RULE, short
from .dryer import TABLE as DRYERS
from .grid import Pen, letters_between, portrait
from .line_checks import SIZING
from .page_plan import PIECES, PLAN
from .page_shape import (
    FIRST,
    HEAD_HEIGHTS,
    HEADING_ROW,
    LAST,
    MODEL_LENGTH,
    UNIT_HEIGHTS,
    WIDTHS,
    page_scale,
    units_of,
    units_on_a_page,
)
from .page_things import hopper_of
from .services import SERVICES

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["SHEET", "write"]

SHEET = "Quote"


@dataclass(frozen=True)
class _Figure:
    """What a column of the page shows of a line, a dryer and a service."""

    letter: str
    fmt: str = "General"
    line: str = ""
    dryer: str = ""
    service: str = ""
    other: str = '""'
    at: str = "right"
    bold: bool = False


def _of(table: Table, key: str) -> str:
    entry = f"INDEX({table.range(key)},{{ref}})"
    return f'IF({entry}="","",{entry})'


def _priced(key: str) -> str:
    """Nothing for a job that runs in the hopper of another line, which is priced there."""
    return f'IF(INDEX({SIZING.range("also")},{{ref}})=1,"",{_of(SIZING, key)})'


def _model(table: Table) -> str:
    """A long model stands whole in the text below."""
    entry, length = f"INDEX({table.range('model')},{{ref}})", MODEL_LENGTH
    return f'IF({entry}="none","",IF(LEN({entry})>{length},LEFT({entry},{length - 1})&"…",{entry}))'


_HOPPER = (
    f'IF(INDEX({SIZING.range("also")},{{ref}})=1,"hopper of line "&'
    f"{hopper_of('INDEX(' + SIZING.range('hopper_line') + ',{ref})')},{_model(SIZING)})"
)
_SUMS = (
    'IF({kind}="equipment",IF(ISNUMBER(quote_equipment),quote_equipment,"not priced"),'
    'IF({kind}="subtotal",IF(ISNUMBER(quote_subtotal),quote_subtotal,"not priced"),'
    'IF({kind}="tax",IF(ISNUMBER(quote_tax),quote_tax,""),IF({kind}="total",'
    'IF(ISNUMBER(quote_total),quote_total,"not priced"),""))))'
)
_FIGURES = (
    _Figure("D", "[<1.87]0.000_);0.0_)", _of(SIZING, "blend")),
    _Figure("E", "[<100]0.0_);#,##0_)", _of(SIZING, "rate_used")),
    _Figure("F", "[<100]0.0_);#,##0_)", _of(SIZING, "needs")),
    _Figure("G", "General", _HOPPER, _model(DRYERS), at="left", bold=True),
    _Figure("H", "0.0#_)", _of(SIZING, "hours")),
    _Figure("I", "0.00_)", _of(SIZING, "held")),
    _Figure("J", "0_)", _priced("pieces"), _of(DRYERS, "count"),
            'IF({q}="",1,{q})'.replace("{q}", f"INDEX({SERVICES.range('quantity')},{{ref}})")),
    _Figure("K", "#,##0.00_)", _priced("price"), _of(DRYERS, "price"),
            _of(SERVICES, "price")),
    _Figure("L", "#,##0.00_)", _priced("net"), _of(DRYERS, "net"), _of(SERVICES, "total"),
            _SUMS),
)  # fmt: skip

#: Helper columns beside the page: for each unit its row in the plan, and the piece of its text.
_HELP = dict(
    zip(("unit", "new", "kind", "ref", "mood", "place", "piece", "text"), "NOPQRSTU", strict=True)
)


def _stream(row: int, rows: int) -> dict[str, str]:
    """The helper cells of the unit whose first row is ``row``."""
    h = {key: f"${letter}{row}" for key, letter in _HELP.items()}

    def plan(key: str) -> str:
        return f'=IF(N({h["piece"]})=0,"",INDEX({PLAN(key, rows)},{h["place"]}))'

    ends = PLAN(0, rows)
    last = PLAN(PIECES, rows).partition("!")[2].partition(":")[2]
    block = f"{ends.partition(':')[0]}:{last}"
    text = f"INDEX({PLAN('text', rows)},{h['place']})"
    start, end = (f"INDEX({block},{h['place']},{h['piece']}{plus})" for plus in ("", "+1"))
    number = f"({h['unit']}-INDEX({PLAN('start', rows)},{h['place']})+1)"
    return {
        "unit": f"={(row - FIRST) // 2 + 1}",
        # The last row of the plan that starts no later: what is not shown has no units.
        "place": f'=IF({h["unit"]}>page_units,"",MATCH({h["unit"]},{PLAN("start", rows)},1))',
        # 0: nothing, because what comes next begins on the next page.
        "piece": f'=IF({h["place"]}="","",IF({number}>INDEX({PLAN("units", rows)},{h["place"]}),0,'
        f"{number}))",
        "new": f'=IF({h["place"]}="","",IF({h["piece"]}=1,1,0))',
        "kind": plan("kind"),
        "ref": plan("ref"),
        "mood": plan("mood"),
        "text": f'=IF(N({h["piece"]})=0,"",IF({end}="","",TRIM(MID({text},{start}+1,'
                f'{end}-{start}))))',
    }  # fmt: skip


def _figure(figure: _Figure, row: int) -> str:
    names = {"kind": f"$P{row}", "ref": f"$Q{row}"}
    formula = figure.other
    for kind, part in (
        ("service", figure.service), ("dryer", figure.dryer), ("line", figure.line),
    ):  # fmt: skip
        if part:
            formula = f'IF({{kind}}="{kind}",{part},{formula})'
    return f'=IF($O{row}=1,{formula},"")'.format_map(names)


_HEADS = (
    ("A", "No.", "center"), ("B", "Job, resin and mix", "left"),
    ("D", '="Density"&CHAR(10)&unit_bulk_density', "right"),
    ("E", '="Rate"&CHAR(10)&unit_throughput', "right"),
    ("F", '="Needs"&CHAR(10)&unit_volume', "right"), ("G", "Hopper or dryer", "left"),
    ("H", "Asked\nh", "right"), ("I", "Holds\nh", "right"), ("J", "Qty", "right"),
    ("K", "Each", "right"), ("L", "Total", "right"),
)  # fmt: skip
_DATE = 'YEAR({0})&"-"&RIGHT("0"&MONTH({0}),2)&"-"&RIGHT("0"&DAY({0}),2)'


def _date_text(name: str) -> str:
    return f'IF({name}="","",{_DATE.format(name)})'


_REVISED = (
    'IF(revision="","",IF(revision_says="","Revision "&revision,"Revision "&revision&": "'
    "&revision_says))"
)
_NUMBER = 'quote_number&IF(revision="","",", revision "&revision)'
#: Each on a line of its own: no date is broken at its hyphens.
_DATES = (
    f'{_date_text("date_on_page")}&IF(valid_on_page="","",'
    f'IF(date_on_page="","valid until ",", valid until ")&{_date_text("valid_on_page")})'
)
#: (name, label) of what the head says; it fills so many rows, and the long text stands below.
_HEAD = (("customer", "For"), ("project", "Project"), ("inquiry", "Your inquiry"),
         ("prepared_by", "Prepared by"))  # fmt: skip
_HEAD_ROWS, _WHY_ROW = range(4, 8), 8
#: What is sold: no dryer where none is.
_TITLE = (
    f'="Drying hopper"&IF(COUNTIF({SIZING.range("pieces")},1)+2*COUNTIF({SIZING.range("pieces")},'
    '">1")=1,"","s")&IF(dryers_quoted=0,"",'
    f'IF(AND(dryers_quoted=1,COUNTIF({DRYERS.range("count")},">1")=0)," and dryer"," and dryers"))'
)


def _write_head(sheet: Worksheet, pen: Pen) -> None:
    for row, px in enumerate(HEAD_HEIGHTS, 1):
        pen.heights(row, row, px)
    pen.put("A1:F1", _TITLE, "printed", bold=True, size=17)
    pen.put(
        f"G1:{LAST}1",
        '=IF(checks_failed=0,IF(demonstration="yes","DEMONSTRATION","Quote "&' + _NUMBER + "),"
        '"DRAFT")',
        "printed", at="right", bold=True, size=13, up="center", shrink=True,
    )  # fmt: skip
    pen.put(
        "A2:F2", '=seller&IF(OR(seller="",seller_contact=""),"","; ")&seller_contact', "detail",
        wrap=True, up="top",
    )  # fmt: skip
    below = [
        'IF(checks_failed>0,"Not an offer: "&checks_failed&IF(checks_failed=1," check fails.",'
        '" checks fail."),IF(demonstration="yes","INVENTED models and prices: not an offer.",""))',
        f'IF(OR(checks_failed>0,demonstration="yes"),{_NUMBER},"")',
        _DATES,
    ]
    pen.put(
        f"G2:{LAST}2",
        "=MID(" + "&".join(f'IF({part}="","",CHAR(10)&{part})' for part in below) + ",2,200)",
        "detail", at="right", wrap=True, up="top",
    )  # fmt: skip
    pen.rule(f"A3:{LAST}3", "top", "medium")
    # What is filled in, without holes: which of them each row shows stands beside the page.
    beside = _HELP["unit"]
    for n, row in enumerate(_HEAD_ROWS):
        before = f"${beside}${row - 1}" if n else "0"
        which = str(len(_HEAD) + 1)
        for k, (name, _) in reversed(list(enumerate(_HEAD, 1))):
            which = f"IF(AND({before}<{k},LEN(TRIM({name}))>0),{k},{which})"
        pen.put(f"{beside}{row}", f"={which}", "detail")
        shows = f"${beside}${row}>{len(_HEAD)}"
        labels = ",".join(f'"{label}"' for _, label in _HEAD)
        values = ",".join(name for name, _ in _HEAD)
        for where, choices in ((f"A{row}:B{row}", labels), (f"C{row}:{LAST}{row}", values)):
            pen.put(
                where, f'=IF({shows},"",CHOOSE(${beside}${row},{choices})&"")',
                "detail" if choices is labels else "printed", up="center",
                shrink=choices is values,
            )  # fmt: skip
    row = _WHY_ROW
    pen.put(
        f"A{row}:B{row}", '=IF(checks_failed>0,"Why a draft",IF(revision="","","Changed"))',
        "detail", up="top",
    )  # fmt: skip
    pen.put(f"C{row}:{LAST}{row}", f"=IF(checks_failed>0,failing_in_words,{_REVISED})", "printed",
            wrap=True, up="top")  # fmt: skip
    for letter in letters_between("A", LAST):
        pen.put(f"{letter}{HEADING_ROW}", None, "printed")
    for letter, text, at in _HEADS:
        where = f"B{HEADING_ROW}:C{HEADING_ROW}" if letter == "B" else f"{letter}{HEADING_ROW}"
        pen.put(where, text, "printed", at=at, up="bottom", wrap=True, bold=True,
                indent=1 if letter == "G" else None)  # fmt: skip
    pen.rule(f"A{HEADING_ROW}:{LAST}{HEADING_ROW}", "bottom", "medium")


def write(book: Workbook, units: str, rows: int) -> None:
    """Add the sheet."""
    sheet = book.create_sheet(SHEET)
    sheet.sheet_view.showGridLines = False
    pen = Pen(sheet)
    pen.widths(**WIDTHS, M=30)
    _write_head(sheet, pen)
    count = units_of(rows)
    for row in range(FIRST, FIRST + 2 * count, 2):
        _write_unit(pen, row, rows)
    last = FIRST + 2 * count - 1
    for letter in letters_between("N", "U"):
        dimension = sheet.column_dimensions[letter]
        dimension.outlineLevel, dimension.hidden, dimension.width = 1, True, 9
    sheet.column_dimensions["V"].collapsed = True
    first, others = units_on_a_page(units)
    for unit in range(first, count, others):  # never inside a unit
        sheet.row_breaks.append(Break(id=FIRST + 2 * unit - 1))
    pen.put(f"N{HEADING_ROW}", "beside the page: what each unit shows", "detail")
    _looks(sheet, last)
    pen.put("N1", f"=IF(page_units>{count},1,0)+COUNT({PLAN(PIECES, rows)})", "detail")
    pen.name("N1", "page_too_short")
    portrait(sheet, f"A1:{LAST}{last}", units, internal=False)
    # At a scale, not fitted to a width: fitted, Excel passes over the page breaks.
    sheet.sheet_properties.pageSetUpPr.fitToPage = False
    sheet.page_setup.fitToWidth = sheet.page_setup.fitToHeight = None
    sheet.page_setup.scale = page_scale(units)
    sheet.print_title_rows = f"{HEADING_ROW}:{HEADING_ROW}"
    sheet.oddFooter.left.text = "&9Quote"


def _write_unit(pen: Pen, row: int, rows: int) -> None:
    for n, px in enumerate(UNIT_HEIGHTS):
        pen.heights(row + n, row + n, px)
    position = f"$S{row}"
    pen.put(
        f"A{row}", f'=IF($O{row}=1,INDEX({PLAN("number", rows)},{position})&"","")', "printed",
        at="center", color=MUTED, up="bottom",
    )  # fmt: skip
    pen.put(
        f"B{row}:C{row}", f'=IF($O{row}=1,INDEX({PLAN("title", rows)},{position}),"")', "printed",
        bold=True, shrink=True, up="bottom",
    )  # fmt: skip
    for figure in _FIGURES:
        pen.put(
            f"{figure.letter}{row}", _figure(figure, row), "printed", figure.fmt, at=figure.at,
            shrink=True, bold=figure.bold or None, indent=1 if figure.letter == "G" else None,
            up="bottom",
        )  # fmt: skip
    pen.put(f"A{row + 1}", None, "detail")
    pen.put(
        f"B{row + 1}:{LAST}{row + 1}",
        f'=IF(AND(OR($P{row}="sign",$P{row}="confirm"),checks_failed>0),"",$U{row})',
        "detail",
        wrap=True,
        up="top",
    )
    for key, value in _stream(row, rows).items():
        pen.put(f"{_HELP[key]}{row}", value, "detail")


def _looks(sheet: Worksheet, last: int) -> None:
    """Formats by condition: DRAFT, what stops, what is short, the rule above each thing."""

    def add(span: str, formula: str, look: DifferentialStyle, stop: bool = False) -> None:
        sheet.conditional_formatting.add(
            span, Rule(type="expression", dxf=look, formula=[formula], stopIfTrue=stop)
        )

    add(f"G1:{LAST}1", "checks_failed>0", DifferentialStyle(font=Font(bold=True, color=BRICK)))
    add(f"G1:{LAST}1", 'demonstration="yes"', DifferentialStyle(font=Font(bold=True, color=AMBER)))
    add(f"G2:{LAST}2", 'OR(checks_failed>0,demonstration="yes")',
        DifferentialStyle(font=Font(bold=True, color=BRICK)))  # fmt: skip
    add(f"A{_WHY_ROW}:{LAST}{_WHY_ROW}", "checks_failed>0",
        DifferentialStyle(font=Font(color=BRICK)))  # fmt: skip
    f = FIRST
    span = f"A{f}:{LAST}{last}"
    stop = DifferentialStyle(font=Font(bold=True, color=BRICK))
    amber = DifferentialStyle(font=Font(bold=True, color=AMBER))
    rule = Border(top=Side("thin", RULE))
    begins = f'AND($O{f}=1,$P{f}<>"reason")'
    for more, color in ((f',$R{f}="stop"', BRICK), ("", INK)):
        total = Font(bold=True, color=color)
        line = Border(top=Side("thin", INK))
        add(span, f'AND($O{f}=1,$P{f}="total"{more})', DifferentialStyle(font=total, border=line))
    add(span, f'AND($P{f}="reason",$R{f}="stop")', stop)
    add(span, f'AND($P{f - 1}="reason",$R{f - 1}="stop")',
        DifferentialStyle(font=Font(color=BRICK)))  # fmt: skip
    add(span, f'AND($P{f}="reason",$R{f}="short")', amber)
    add(span, f'AND($P{f - 1}="reason",$R{f - 1}="short")',
        DifferentialStyle(font=Font(color=AMBER)))  # fmt: skip
    figures = short("0.00_)")
    figures.border = rule
    add(span, f'AND($P{f}="line",ISNUMBER($I{f}),ISNUMBER($H{f}),COLUMN(A{f})=9,$I{f}<$H{f}*'
              f'0.999999999)',
        figures)  # fmt: skip
    add(span, begins, DifferentialStyle(border=rule))
