"""Sheet *Measured density*: weighed cups -> bulk density with its uncertainty -> the lines.

A row feeds every line of its resin, or one line by its number, wherever no density is typed there;
the origin is then "measured". The uncertainty follows the GUM (JCGM 100:2008): spread of the cups
(type A), balance and cup (type B, rectangular), combined, and expanded to about 95 % with the
factor of Student's t for the effective degrees of freedom (Welch and Satterthwaite).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..layout import Column, Table, define_name, put
from ..validation import a_share, a_text, a_whole, amount, one_of, quantity
from . import resins
from .grid import Pen, landscape, letters_between, new_sheet, write_grid
from .rows import highlight_errors

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["CUPS", "SHEET", "TABLE", "measured", "write"]

SHEET = "Measured density"
#: Cups of one sample.
CUPS = 6
METHODS = ("ISO 60", "ASTM D1895 A", "ASTM D1895 B", "ISO 61", "ASTM D1895 C")

_GROUP = "Sample: typed"


def _cup(n: int) -> Column:
    return Column(
        f"cup_{n}", f"cup {n}", "input", show="typed", width=46, align="right",
        group="Net mass: typed", unit="g", fold=n > 4,
        rule=quantity("sample mass", "Net mass of one filled and struck-off cup, in grams."),
    )  # fmt: skip


_CUPS = "{cup_1}:{cup_6}"
_READY = 'AND({volume}<>"",{n}>0)'


def _live(formula: str) -> str:
    return f'IF({{begun}}=0,"",{formula})'


def _known(formula: str) -> str:
    return _live(f'IF({_READY},{formula},"")')


TABLE = Table(
    SHEET, first_row=9, rows=16,
    columns=(
        Column("resin", "resin", "input", width=78, group=_GROUP, unit="as on the line",
               rule=a_text(36, "The name that the lines have."), wrap=True),
        Column("what", "what", "input", width=52, group=_GROUP, unit="list",
               rule=one_of("virgin", "regrind")),
        Column("line", "line", "input", show="whole", width=48, align="center", group=_GROUP,
               unit="or all",
               rule=a_whole(1, 200, "Only for this line of Sizing. Blank: for every line with this "
                            "resin.")),
        Column("lot", "lot, date", "input", width=112, group=_GROUP, rule=a_text(60), wrap=True),
        Column("method", "method", "input", width=90, group=_GROUP, unit="list",
               rule=one_of(*METHODS, prompt="Pellets and powder: ISO 60, D1895 A (100 cm3) or B "
                           "(400 cm3). Flake that does not pour: ISO 61 or D1895 C, the volume "
                           "under the load.")),
        Column("volume", "volume", "input", show="typed", width=50, align="right", group=_GROUP,
               unit="cm³", rule=quantity("cup volume", "Of the cup; for flake the volume under the "
                                         "load.")),
        *(_cup(n) for n in range(1, CUPS + 1)),
        Column("balance", "balance", "input", show="typed", width=62, align="right",
               group="Apparatus: typed", unit="± g or 0.1",
               rule=amount(0.0001, 100, "Limits of error of the balance. Blank: 0.1 g.")),
        Column("cup", "cup", "input", show="share", width=62, align="right",
               group="Apparatus: typed", unit="± or 0.5 %",
               rule=a_share(0.2, "Limits of error of the cup's volume. Blank: 0.5 %.")),
        Column("begun", "begun", show="whole", width=40, group="Result", fold=True,
               formula='IF(SUMPRODUCT(--({resin}:{cup_6}<>""))>0,1,0)'),
        Column("n", "cups", show="whole", width=40, align="right", group="Result",
               formula=_live(f"COUNT({_CUPS})")),
        Column("density", "bulk\ndensity", quantity="bulk density", width=52, align="right",
               group="Result", bold=True,
               formula=_known(f"HOPPER_SAMPLE_DENSITY({_CUPS},{{volume}},unit_system)")),
        Column("spread", "spread", show="share", width=56, align="right", group="Result",
               unit="s / mean",
               formula=_live(f'IF({{n}}<2,"",HOPPER_SAMPLE_SPREAD({_CUPS}))')),
        Column("u_a", "u of the mean", show="moisture", width=70, align="right", group="Result",
               unit="relative", fold=True,
               formula=_live('IF({n}<2,"",{spread}/SQRT({n}))')),
        Column(
            "u_b", "u of balance and cup", show="moisture", width=84, align="right",
            group="Result", unit="relative", fold=True,
            formula=_known('SQRT((IF({balance}="",0.1,{balance})/SQRT(3)/AVERAGE(' + _CUPS + '))^2'
                           '+(IF({cup}="",0.005,{cup})/SQRT(3))^2)'),
        ),
        Column("u_c", "combined u", show="moisture", width=74, align="right", group="Result",
               unit="relative", fold=True,
               formula=_live('IF(OR({u_a}="",{u_b}=""),"",SQRT({u_a}^2+{u_b}^2))')),
        Column("freedom", "effective degrees of freedom", show="whole", width=84, align="right",
               group="Result", fold=True,
               formula=_live('IF({u_c}="","",IF({u_a}=0,1000,'
                             "MIN(1000,INT({u_c}^4/({u_a}^4/({n}-1))))))")),
        Column("factor", "coverage\nfactor", show="hours", width=64, align="right", group="Result",
               unit="k", fold=True,
               formula=_live('IF({u_c}="","",LOOKUP({freedom},coverage_freedom,coverage_factor))')),
        Column("expanded", "expanded\nuncertainty", quantity="bulk density", width=70,
               align="right", group="Result",
               formula=_live('IF({u_c}="","",{factor}*{u_c}*{density})')),
        Column("relative", "of the\ndensity", show="share", width=50, align="right",
               group="Result", unit="±", formula=_live('IF({u_c}="","",{factor}*{u_c})')),
        Column("key", "feeds", width=90, group="Result", fold=True,
               formula='IF(OR({what}="",NOT(ISNUMBER({density}))),"",IF({line}<>"","L"&{line},'
               f'{resins.key_of("{resin}")})&" "&{{what}})'),
        Column(
            "state", "state", "check", width=164, group="State", wrap=True,
            formula=_live(
                'IF({what}="","to do: virgin or regrind",IF(AND({resin}="",{line}=""),'
                '"to do: resin or line",IF({volume}="","to do: volume",IF({n}=0,"to do: masses",'
                'IF(ISERROR({density}),"masses or volume out of range",IF(COUNTIF({key:all},'
                '{key})>1,'
                '"there twice: the first one counts",IF({n}<3,"feeds the lines; three cups or more '
                'show the spread",IF({spread}>0.03,"feeds the lines; the cups differ by more than '
                '3 %: weigh again","feeds the lines"))))))))'
            ),
        ),
    ),
)  # fmt: skip


def measured(key: str, what: str, row: str, resin_key: str) -> str:
    """Formula of a measured value for a line: by its number first, then by its resin.

    Args:
        key: column of the table.
        what: "virgin" or "regrind".
        row: formula of the line's number.
        resin_key: cell with the resin's name without signs.
    """
    keys, values = TABLE.range("key"), TABLE.range(key)
    by_line = f'MATCH("L"&{row}&" {what}",{keys},0)'
    by_resin = f'MATCH({resin_key}&" {what}",{keys},0)'
    return (
        f"IF(ISNUMBER({by_line}),INDEX({values},{by_line}),"
        f'IF({resin_key}="","",IF(ISNUMBER({by_resin}),INDEX({values},{by_resin}),"")))'
    )


#: Student's t for 95.45 %, JCGM 100:2008, table G.2: degrees of freedom -> coverage factor. Between
#: two rows the upper one counts, whose factor is the larger.
COVERAGE = (
    (1, 13.97), (2, 4.53), (3, 3.31), (4, 2.87), (5, 2.65), (6, 2.52), (7, 2.43), (8, 2.37),
    (9, 2.32), (10, 2.28), (11, 2.25), (12, 2.23), (13, 2.21), (14, 2.20), (15, 2.18), (16, 2.17),
    (17, 2.16), (18, 2.15), (19, 2.14), (20, 2.13), (25, 2.11), (30, 2.09), (35, 2.07), (40, 2.06),
    (50, 2.05), (100, 2.025), (1000, 2.0),
)  # fmt: skip

_NOTES = (
    "Fill loosely through the funnel, strike off level, do not shake; at least three cups. "
    "ISO 60 and ASTM D1895 for what pours; ISO 61 and method C of D1895 for flake.",
    "Uncertainty after the GUM (JCGM 100:2008): spread of the cups, balance and cup combined, "
    "expanded to about 95 %. It says nothing about the next lot: sample each.",
)


def write(book: Workbook, units: str) -> None:
    """Add the sheet."""
    sheet, pen = new_sheet(
        book, SHEET, "Measured density: weighed cups",
        "A row feeds the lines that have no typed density, with the origin measured.",
    )  # fmt: skip
    for row, text in enumerate(_NOTES, 3):
        pen.put(f"A{row}", text, "note", wrap=False)
    write_grid(sheet, TABLE, row_px=29)
    _write_coverage(book, pen)
    put(sheet, "A5", "Errors", "label")
    first, last = TABLE.letter("density"), TABLE.letter("state")
    pen.put(
        "B5",
        f"=SUMPRODUCT(--ISERROR({first}{TABLE.first_row}:{last}{TABLE.last_row}))", "calc", "0",
        at="right",
    )  # fmt: skip
    pen.name("B5", "measured_errors")
    highlight_errors(sheet, f"{first}{TABLE.first_row}:{last}{TABLE.last_row}")
    sheet.freeze_panes = f"A{TABLE.first_row}"
    landscape(sheet, f"A1:{last}{TABLE.last_row}", letters_between("A", last), units, margin=0.2)


def _write_coverage(book: Workbook, pen: Pen) -> None:
    """The factors, below the samples."""
    first = TABLE.last_row + 4
    pen.put(f"A{first - 2}", "Coverage factors, JCGM 100:2008 (GUM), table G.2, 95.45 %", "section")
    pen.put(f"A{first - 1}", "deg. of freedom", "label", at="right")
    pen.put(f"B{first - 1}", "k", "label", at="right")
    for row, (freedom, factor) in enumerate(COVERAGE, first):
        pen.put(f"A{row}", freedom, "plain", "0_)", at="right")
        pen.put(f"B{row}", factor, "plain", "0.00#_)", at="right")
    last = first + len(COVERAGE) - 1
    for letter, name in (("A", "coverage_freedom"), ("B", "coverage_factor")):
        define_name(book, name, f"'{SHEET}'!${letter}${first}:${letter}${last}")
