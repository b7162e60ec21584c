"""Sheets *Catalog* and *Dryer catalog*: what can be quoted, as its maker states it.

A catalog row marked under the heading *invented* stops the quote, unless the book is marked as a
demonstration. The free columns carry whatever else the seller wants beside a model; *Settings*
names those that are printed.
"""

from __future__ import annotations

import csv
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from ...cells.numbers_in_text import parse_number
from ..layout import Column, Table, define_name
from ..styles import noticed
from ..validation import a_date, a_share, a_text, amount, one_of, quantity
from .grid import landscape, letters_between, new_sheet, write_grid
from .rows import highlight_errors, highlight_states, when

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["DRYERS", "FREE", "TABLE", "demo_dryers", "demo_models", "write"]

#: Free columns, their headings typed by the user.
FREE = 4
_FIRST, _FIRST_DRYER = 10, 6
_ROWS, _REACH = 40, 100
_INVENTED = one_of(
    "yes", "no", prompt="yes: this row is made up, and no quote may carry it, unless the whole "
    "book is marked as a demonstration in Settings."
)  # fmt: skip
#: What a figure of a row says that cannot be read.
UNREADABLE = "not readable"


def _converted(value: str, unit: str, us: str, metric: str, factor: float, named: str) -> str:
    """A stated figure in the book's unit; a text with its own unit is read by HOPPER_CONVERT."""
    to_metric, to_us = f"{factor!r}", f"{1 / factor!r}"
    plain = (
        f'{value}*IF({unit}={named},1,IF(AND({unit}="{us}",unit_system="metric"),{to_metric},'
        f'IF(AND({unit}="{metric}",unit_system="US"),{to_us},NA())))'
    )
    return f"IF(ISNUMBER({value}),{plain},HOPPER_CONVERT({value},{unit},{named}))"


_FT3, _LB = 28.316846592, 0.45359237  # NIST SP 811 (2008), appendix B: exact
_BY_MASS = 'OR({stated_unit}="lb",{stated_unit}="kg")'
_BOOK_MASS = 'IF(unit_system="US","lb","kg")'
_GROSS = (
    f"IF({_BY_MASS},IF({{stated_unit}}={_BOOK_MASS},1,"
    f'IF(unit_system="US",{1 / _FT3!r},{_FT3!r}))*HOPPER_RATED_VOLUME({{stated}},{{rated_density}},'
    'IF({stated_unit}="lb","US","metric")),'
    + _converted("{stated}", "{stated_unit}", "ft3", "L", _FT3, 'IF(unit_system="US","ft3","L")')
    + ")"
)
_EMPTY = _converted("{empty}", "{empty_unit}", "lb", "kg", _LB, _BOOK_MASS)
_STARTED = "{model}&{stated}&{stated_unit}&{rated_density}&{empty}&{empty_unit}&{price}&{note}"
_SHARE = 'IF({usable}<>"",{usable},IF(catalog_sizes_are="usable",1,catalog_usable_share))'


def _out_of_order(key: str) -> str:
    """How many smaller sizes have more of ``key`` than this row, and larger ones less."""
    return (
        f'COUNTIFS({{gross:all}},"<"&{{gross}},{{{key}:all}},">"&{{{key}}}*1.000000001)'
        f'+COUNTIFS({{gross:all}},">"&{{gross}},{{{key}:all}},"<"&{{{key}}}*0.999999999)'
    )


def _here(key: str) -> str:
    """Whether the slip is in this row: it disagrees with many others, they with few."""
    return f"AND(N({{{key}}})>0,2*N({{{key}}})>=MAX({{{key}:all}}))"


_SMALLER = 'COUNTIF({gross:all},"<"&{gross}*0.999999999)'
_LARGER = 'COUNTIF({gross:all},">"&{gross}*1.000000001)'
#: Further apart than this, two sizes of one catalog are hardly neighbors.
_FAR = 3
_SLIPS = (
    f'(IF({_here("price_slips")},", price out of order","")'
    f'&IF({_here("mass_slips")},", empty mass does not fit","")'
    f"&IF(AND({_SMALLER}+{_LARGER}>0,"
    f"IF({_SMALLER}=0,TRUE,{{gross}}>{_FAR}*LARGE({{gross:all}},{_LARGER}+2)),"
    f"IF({_LARGER}=0,TRUE,{{gross}}*{_FAR}<SMALL({{gross:all}},{_SMALLER}+2))),"
    f'", more than {_FAR} times from all other sizes",""))'
)

_MAKER, _BOOK, _OTHERS, _YOURS = (
    "As the maker states it: typed", "As this book uses it", "Against the other rows",
    "Yours: name and type",
)  # fmt: skip


def _free() -> tuple[Column, ...]:
    return tuple(
        Column(f"free_{n}", "", "input", width=66, group=_YOURS if n == 1 else "", wrap=False,
               shrink=True, fold=n > 2, rule=a_text(60, "Whatever belongs to this model."))
        for n in range(1, FREE + 1)
    )  # fmt: skip


def _price() -> Column:
    return Column(
        "price", "list price", "input", width=76, show="money", group=_MAKER,
        rule=amount(0.01, 1e8, "List price of one, in the currency named above."),
    )  # fmt: skip


_SOURCE = (
    Column("invented", "invented", "input", width=56, align="center", group=_MAKER,
           unit="yes or no", rule=_INVENTED),
    Column("note", "note, source", "input", width=110, group=_MAKER, shrink=True,
           rule=a_text(200, "Where the figures come from, with its date.")),
)  # fmt: skip

TABLE = Table(
    "Catalog",
    first_row=_FIRST,
    rows=_ROWS,
    reach=_REACH,
    columns=(
        Column("model", "model", "input", width=96, group=_MAKER, shrink=True, unit="name",
               rule=a_text(60, "The name that the customer reads on the quote.")),
        Column(
            "stated", "stated\nsize", "input", show="typed", width=54, align="right", group=_MAKER,
            rule=amount(0.001, 1e6, "Volume of the hopper, or the mass that the maker states."),
        ),
        Column(
            "stated_unit", "in", "input", width=36, align="center", group=_MAKER, unit="unit",
            rule=one_of("ft3", "L", "lb", "kg", prompt="ft3 or L: a volume. lb or kg: a mass, "
                        "which needs the density at which the maker states it."),
        ),
        Column(
            "rated_density", "at\ndensity", "input", show="typed", width=64, align="right",
            group=_MAKER, unit="if by mass",
            rule=amount(0.03, 187, "Only where the size is a mass: the bulk density at which the "
                        "maker states it, in lb/ft3 for lb, in kg/L for kg."),
        ),
        Column(
            "usable", "usable", "input", show="whole share", width=56, align="right",
            group=_MAKER, unit="or above",
            rule=a_share(1.0, "Share of the stated size that is really filled. Blank: the share "
                         "for the whole catalog, above."),
        ),
        Column("empty", "empty\nmass", "input", show="typed", width=54, align="right", group=_MAKER,
               rule=amount(0, 1e6, "The empty hopper with everything mounted on it.")),
        Column("empty_unit", "in", "input", width=36, align="center", group=_MAKER, unit="unit",
               rule=one_of("lb", "kg")),
        Column("height", "height", "input", "length", show="height", width=46, group=_MAKER,
               rule=quantity("length", "What the headroom must clear.")),
        _price(),
        *_SOURCE,
        *_free(),
        Column(
            "gross", "stated\nsize", quantity="volume", width=52, group=_BOOK, align="right",
            formula=(
                f'IF(OR({_STARTED}="",{{stated}}="",{{stated_unit}}="",'
                f'AND({_BY_MASS},{{rated_density}}="")),"",'
                f'IF(ISERROR({_GROSS}),"{UNREADABLE}",{_GROSS}))'
            ),
        ),
        Column(
            "volume", "usable\nsize", quantity="volume", width=52, group=_BOOK, align="right",
            formula=f'IF(ISNUMBER({{gross}}),{{gross}}*{_SHARE},{{gross}})',
        ),
        Column(
            "empty_used", "empty\nmass", quantity="mass", width=52, group=_BOOK, align="right",
            formula=(
                'IF(OR({empty}="",{empty_unit}=""),"",'
                f'IF(ISERROR({_EMPTY}),"{UNREADABLE}",{_EMPTY}))'
            ),
        ),
        Column(
            "state", "state", "check", width=150, group=_BOOK, shrink=True, fold=True,
            formula=(
                f'IF({_STARTED}="","",'
                'IF({model}="","to do: model",'
                'IF({gross}="","to do: size with its unit",'
                'IF(ISTEXT({volume}),"the size is not a number of its unit",'
                'IF(NOT(ISNUMBER({volume})),"the usable share is not a number",'
                'IF(NOT(ISNUMBER({price})),"to do: list price, a number",'
                'IF({price}<=0,"the list price is not above 0",'
                'IF(ISTEXT({empty_used})*({empty_used}<>""),"the empty mass is not a number of its '
                'unit",'
                'IF(COUNTIF({model:all},{model})>1,"model is there twice",'
                'IF(COUNTIFS({volume:all},">"&{volume}*0.999999999,'
                '{volume:all},"<"&{volume}*1.000000001)>1,'
                '"size is there twice","ok"))))))))))'
            ),
        ),
        Column(
            "offered", "choices", width=90, group=_OTHERS, fold=True,
            formula='IF(ROWS({model:down})=1,"next size",IF(ROWS({model:down})=2,"size below",'
            "INDEX({model:all},ROWS({model:down})-2)&\"\"))",
        ),
        Column("price_slips", "prices out of order", show="whole", width=60, align="center",
               group=_OTHERS, fold=True,
               formula=f'IF({{state}}="ok",{_out_of_order("price")},"")'),
        Column("mass_slips", "empty masses out of order", show="whole", width=60, align="center",
               group=_OTHERS, fold=True,
               formula=f'IF(AND({{state}}="ok",{{empty_used}}<>""),{_out_of_order("empty_used")},"")'),
        Column(
            "slips", "a slip?", "check", width=150, group=_OTHERS, shrink=True, fold=True,
            formula=(
                'IF({state}<>"ok","",IF('
                f'{_SLIPS}="","no","look: "&MID({_SLIPS},3,200)))'
            ),
        ),
        Column(
            "row_state", "state", "check", width=150, group="Row",
            formula='IF({state}<>"ok",{state},IF(LEFT({slips},4)="look",{slips},"ok"))',
        ),
    ),
)  # fmt: skip

_CFM = 1.69901079552  # m3/h in a cfm: 0.3048^3 x 60, NIST SP 811 (2008)
_FLOW = _converted(
    "{stated}", "{stated_unit}", "cfm", "m3/h", _CFM, 'IF(unit_system="US","cfm","m3/h")'
)

DRYERS = Table(
    "Dryer catalog",
    first_row=_FIRST_DRYER,
    rows=20,
    reach=60,
    columns=(
        Column("model", "model", "input", width=116, group=_MAKER, shrink=True, unit="name",
               rule=a_text(60, "The name that the customer reads on the quote.")),
        Column("stated", "airflow", "input", show="typed", width=66, align="right", group=_MAKER,
               rule=amount(0.1, 1e6, "Air that the dryer gives at its duty, as its maker states "
                           "it.")),
        Column("stated_unit", "in", "input", width=48, align="center", group=_MAKER, unit="unit",
               rule=one_of("cfm", "m3/h")),
        Column("temperature", "air up to", "input", "temperature", show="temperature", width=62,
               group=_MAKER,
               rule=quantity("temperature", "Highest temperature of the drying air. Blank: not "
                             "compared.")),
        _price(),
        *_SOURCE,
        *_free(),
        Column(
            "airflow", "airflow", quantity="airflow", width=70, group=_BOOK, align="right",
            formula=f'IF(OR({{stated}}="",{{stated_unit}}=""),"",IF(ISERROR({_FLOW}),'
            f'"{UNREADABLE}",{_FLOW}))',
        ),
        Column(
            "state", "state", "check", width=200, group=_BOOK, shrink=True,
            formula=(
                'IF({model}&{stated}&{stated_unit}&{price}&{note}="","",'
                'IF({model}="","to do: model",'
                'IF({airflow}="","to do: airflow with its unit",'
                'IF(ISTEXT({airflow}),"the airflow is not a number of its unit",'
                'IF(NOT(ISNUMBER({price})),"to do: list price, a number",'
                'IF({price}<=0,"the list price is not above 0",'
                'IF(COUNTIF({model:all},{model})>1,"model is there twice","ok")))))))'
            ),
        ),
    ),
)  # fmt: skip


# --- the invented rows --------------------------------------------------------------------

_DEMO_NOTE = "invented demo data"


def demo_models() -> tuple[dict[str, Any], ...]:
    """The invented catalog of the package; the empty masses, too, are invented."""
    text = files("hoppersheet").joinpath("data/demo_catalog.csv").read_text(encoding="utf-8")
    rows = []
    for row in csv.DictReader(text.splitlines()):
        size = parse_number(row["size [ft3]"])
        rows.append(
            {
                "model": row["model"], "stated": size, "stated_unit": "ft3",
                "empty": round(38 * size**0.62 / 5) * 5, "empty_unit": "lb",
                "height": parse_number(row["height [in]"]) / 12,
                "price": parse_number(row["price [USD]"]), "invented": row["invented"],
                "note": row["note"], "free_1": f"{row['lead time [weeks]']} weeks",
                "free_2": row["voltage"],
            }
        )  # fmt: skip
    return tuple(rows)


def demo_dryers() -> tuple[dict[str, Any], ...]:
    """Invented dryers."""
    sizes = ((60, 6900), (120, 9800), (200, 13400), (350, 18900), (500, 24600), (750, 31800),
             (1000, 39500), (1500, 54200), (2200, 74800), (3200, 101500))  # fmt: skip
    return tuple(
        {
            "model": f"EXAMPLE-D{flow}", "stated": flow, "stated_unit": "cfm", "temperature": 360,
            "price": price, "invented": "yes", "note": _DEMO_NOTE,
        }
        for flow, price in sizes
    )  # fmt: skip


# --- the sheets ---------------------------------------------------------------------------


def write(book: Workbook, units: str) -> None:
    """Add both sheets, with the invented rows on them."""
    sheet, pen = new_sheet(
        book, TABLE.sheet, "Catalog of hoppers",
        "Replace the invented models with your own. Units may be mixed; blank rows are fine. "
        "Lines choose by the usable size.",
    )  # fmt: skip
    pen = write_grid(sheet, TABLE)
    fields: tuple[Any, ...] = (
        ("A3", "Catalog", "B3:F3", a_text(60), "INVENTED demo catalog", "catalog_name", "General"),
        ("A4", "Prices of", "B4:C4", a_date("Date of the price list."), None, "catalog_date",
         "yyyy-mm-dd"),
        ("A5", "Currency", "B5:C5", a_text(3, "Three letters, as in ISO 4217."), "USD",
         "catalog_currency", "General"),
        ("H3:J3", "Stated sizes are", "K3:L3",
         one_of("gross", "usable", prompt="gross: up to the brim; a share of it is filled. usable: "
                "what is really filled."), "gross", "catalog_sizes_are", "General"),
        ("H4:J4", "Usable share of gross", "K4:L4",
         a_share(1.0, "Share of a gross size that is really filled, for rows that state none."),
         1.0, "catalog_usable_share", "0 %"),
    )  # fmt: skip
    for label_at, label, where, rule, value, name, fmt in fields:
        pen.put(label_at, label, "label")
        pen.typed(where, rule, label, value, fmt, name=name, at="left")
    pen.put("M4", '=IF(catalog_sizes_are="","Say whether sizes are gross or usable.",'
            'IF(AND(catalog_sizes_are="gross",catalog_usable_share=1),"Filled to the brim: is that '
            'so?",""))', "alarm", wrap=False)  # fmt: skip
    _fill(sheet, TABLE, demo_models(), units)
    for key, name in (
        ("model", "catalog_models"), ("volume", "catalog_volumes"), ("gross", "catalog_gross"),
        ("price", "catalog_prices"), ("empty_used", "catalog_empty_masses"),
        ("height", "catalog_heights"), ("invented", "catalog_invented"),
        ("slips", "catalog_slips"), ("offered", "choice_list"),
    ):  # fmt: skip
        define_name(book, name, TABLE.range(key))
    _free_headings(book, sheet, TABLE, "catalog_free")
    cell = TABLE.cell("row_state", _FIRST)
    when(sheet, f"{cell}:{TABLE.letter('row_state')}{TABLE.last_row}", f'LEFT({cell},4)="look"',
         noticed())  # fmt: skip
    highlight_states(sheet, TABLE, "row_state")
    sheet.freeze_panes = f"B{_FIRST}"
    last = TABLE.letter("row_state")
    landscape(sheet, f"A1:{last}{TABLE.last_row}", letters_between("A", last), units, margin=0.2)
    sheet.print_title_rows = f"{_FIRST - 2}:{_FIRST - 1}"
    _write_dryers(book, units)


def _write_dryers(book: Workbook, units: str) -> None:
    sheet, _ = new_sheet(
        book, DRYERS.sheet, "Catalog of dryers",
        "Replace the invented models with your own. The sheet Dryer compares their air with what "
        "the hoppers need.",
    )  # fmt: skip
    write_grid(sheet, DRYERS)
    _fill(sheet, DRYERS, demo_dryers(), units)
    for key, name in (
        ("model", "dryer_models"), ("airflow", "dryer_airflows"), ("price", "dryer_prices"),
        ("invented", "dryer_invented"), ("temperature", "dryer_temperatures"),
    ):  # fmt: skip
        define_name(book, name, DRYERS.range(key))
    _free_headings(book, sheet, DRYERS, "dryer_free")
    highlight_states(sheet, DRYERS, "state")
    highlight_errors(sheet, f"A{_FIRST_DRYER}:{DRYERS.letter('state')}{DRYERS.last_row}")
    sheet.freeze_panes = f"B{_FIRST_DRYER}"
    last = DRYERS.letter("state")
    landscape(sheet, f"A1:{last}{DRYERS.last_row}", letters_between("A", last), units)


def _free_headings(book: Workbook, sheet: Worksheet, table: Table, name: str) -> None:
    """The headings of the free columns are typed; the block below them has a book-wide name."""
    from .grid import Pen

    pen = Pen(sheet)
    for n in range(1, FREE + 1):
        letter = table.letter(f"free_{n}")
        pen.typed(f"{letter}{table.first_row - 2}", a_text(30, "Name of this column."),
                  "Free column", {1: "lead time", 2: "voltage"}.get(n), at="left")  # fmt: skip
    first, last = table.letter("free_1"), table.letter(f"free_{FREE}")
    quoted = table.quoted_sheet
    define_name(book, name, f"{quoted}!${first}${table.first_row}:${last}${table.reach_row}")
    head = table.first_row - 2
    define_name(book, f"{name}_headings", f"{quoted}!${first}${head}:${last}${head}")


def _fill(sheet: Worksheet, table: Table, rows: tuple[dict[str, Any], ...], units: str) -> None:
    """Type invented rows; lengths and temperatures in the unit system of the book."""
    for row, cells in enumerate(rows, table.first_row):
        for key, value in cells.items():
            if units == "metric" and key == "height":
                value = round(value * 0.3048, 2)
            if units == "metric" and key == "temperature":
                value = round((value - 32) / 1.8)
            sheet[table.cell(key, row)] = value
