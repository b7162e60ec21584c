"""Sheet *Catalog*: the hoppers that can be quoted, as their maker states them."""

from __future__ import annotations

import csv
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from ...cells.numbers_in_text import parse_number
from ..layout import Column, Field, Table, define_name, start_sheet, write_fields, write_table
from ..styles import noticed
from ..validation import a_date, a_text, amount, one_of
from .rows import highlight_states, when
from .sizing_state import UNREADABLE

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["DEMO_MODELS", "TABLE", "write"]

_STARTED = "{model}&{stated}&{stated_unit}&{rated_density}&{empty}&{empty_unit}&{price}&{note}"

_VOLUME = (
    'IF({stated_unit}="lb",'
    'HOPPER_CONVERT(HOPPER_RATED_VOLUME({stated},{rated_density},"US"),"ft3",unit_volume),'
    'IF({stated_unit}="kg",'
    'HOPPER_CONVERT(HOPPER_RATED_VOLUME({stated},{rated_density},"metric"),"L",unit_volume),'
    "HOPPER_CONVERT({stated},{stated_unit},unit_volume)))"
)
_EMPTY = "HOPPER_CONVERT({empty},{empty_unit},unit_mass)"


def _out_of_order(key: str) -> str:
    """How many smaller sizes have more of ``key`` than this row, and larger ones less."""
    return (
        f'COUNTIFS({{volume:all}},"<"&{{volume}},{{{key}:all}},">"&{{{key}}}*1.000000001)'
        f'+COUNTIFS({{volume:all}},">"&{{volume}},{{{key}:all}},"<"&{{{key}}}*0.999999999)'
    )


def _here(key: str) -> str:
    """Whether the slip is in this row: it disagrees with many others, they with few."""
    return f"AND({{{key}}}>0,2*{{{key}}}>=MAX({{{key}:all}}))"


_SMALLER = 'COUNTIF({volume:all},"<"&{volume}*0.999999999)'
_LARGER = 'COUNTIF({volume:all},">"&{volume}*1.000000001)'
#: Further apart than this, two sizes of one catalog are hardly neighbors.
_FAR = 3
#: A wrong unit or a lost digit makes a row that does not fit between the others.
_SLIPS = (
    f'(IF({_here("price_slips")},", price out of order","")'
    f'&IF({_here("mass_slips")},", empty mass does not fit","")'
    f"&IF(AND({_SMALLER}+{_LARGER}>0,"
    f"IF({_SMALLER}=0,TRUE,{{volume}}>{_FAR}*LARGE({{volume:all}},{_LARGER}+2)),"
    f"IF({_LARGER}=0,TRUE,{{volume}}*{_FAR}<SMALL({{volume:all}},{_SMALLER}+2))),"
    f'", more than {_FAR} times from all other sizes",""))'
)

TABLE = Table(
    sheet="Catalog",
    first_row=11,
    rows=32,
    reach=100,
    columns=(
        Column(
            "model", "Model", "input", width=18, group="As the maker states it",
            rule=a_text(30, "The name that the customer reads on the quote."),
        ),
        Column(
            "stated", "Stated size", "input", show="typed", width=10,
            group="As the maker states it",
            rule=amount(
                0.001, 1e6,
                "Volume of the hopper, or the mass of resin that the maker states; the unit is "
                "typed beside it.",
            ),
        ),
        Column(
            "stated_unit", "Unit of size", "input", width=9, align="center",
            group="As the maker states it",
            rule=one_of(
                "ft3", "L", "lb", "kg",
                prompt="ft3 or L: a volume. lb or kg: a mass, which needs the density at which "
                "the maker states it.",
            ),
        ),
        Column(
            "rated_density", "At density\n(lb/ft3 or kg/L)", "input", show="typed", width=13,
            group="As the maker states it",
            rule=amount(
                0.03, 187,
                "Only where the size is a mass: the bulk density at which the maker states it, in "
                "lb/ft3 for lb, in kg/L for kg.",
            ),
        ),
        Column(
            "empty", "Empty mass", "input", show="typed", width=9, group="As the maker states it",
            rule=amount(0, 1e6, "Mass of the empty hopper with all that hangs on it."),
        ),
        Column(
            "empty_unit", "Unit of mass", "input", width=9, align="center",
            group="As the maker states it", rule=one_of("lb", "kg"),
        ),
        Column(
            "price", "List price", "input", width=12, show="money",
            group="As the maker states it",
            rule=amount(0.01, 1e8, "List price of one hopper, in the currency named above."),
        ),
        Column(
            "note", "Note, source", "input", width=38, group="As the maker states it",
            rule=a_text(200, "Where the figures come from, with its date."),
        ),
        Column(
            "volume", "Volume", quantity="volume", width=10, group="As this book uses it",
            align="right",
            formula=(
                f'IF(OR({_STARTED}="",{{stated}}="",{{stated_unit}}="",'
                'AND(OR({stated_unit}="lb",{stated_unit}="kg"),{rated_density}="")),"",'
                f'IF(ISERROR({_VOLUME}),"{UNREADABLE}",{_VOLUME}))'
            ),
        ),
        Column(
            "empty_used", "Empty mass", quantity="mass", width=10, group="As this book uses it",
            align="right",
            formula=(
                'IF(OR({empty}="",{empty_unit}=""),"",'
                f'IF(ISERROR({_EMPTY}),"{UNREADABLE}",{_EMPTY}))'
            ),
        ),
        Column(
            "state", "State", "check", width=34, group="As this book uses it",
            formula=(
                f'IF({_STARTED}="","",'
                'IF({model}="","to do: model",'
                'IF({volume}="","to do: size with its unit",'
                'IF(ISTEXT({volume}),"the size is not a number of its unit",'
                'IF(NOT(ISNUMBER({price})),"to do: list price, a number",'
                'IF({price}<=0,"the list price is not above 0",'
                'IF({empty_used}="","to do: empty mass",'
                'IF(ISTEXT({empty_used}),"the empty mass is not a number of its unit",'
                'IF(COUNTIF({model:all},{model})>1,"model is there twice",'
                'IF(COUNTIFS({volume:all},">"&{volume}*0.999999999,'
                '{volume:all},"<"&{volume}*1.000000001)>1,'
                '"size is there twice","ok"))))))))))'
            ),
        ),
        Column(
            "price_slips", "Prices out of order", show="whole", width=9, align="center",
            group="Against the other rows",
            formula=f'IF({{state}}="ok",{_out_of_order("price")},"")',
        ),
        Column(
            "mass_slips", "Empty masses out of order", show="whole", width=9, align="center",
            group="Against the other rows",
            formula=f'IF({{state}}="ok",{_out_of_order("empty_used")},"")',
        ),
        Column(
            "slips", "A slip?", "check", width=52, group="Against the other rows",
            formula=(
                'IF({state}<>"ok","",IF('
                f'{_SLIPS}="","no","look: "&MID({_SLIPS},3,200)))'
            ),
        ),
    ),
)  # fmt: skip


#: What the invented catalog of the package does not say: the empty mass of each model, in lb.
_EMPTY_MASSES = {
    "EXAMPLE-1": 60, "EXAMPLE-2": 95, "EXAMPLE-3": 125, "EXAMPLE-5": 175, "EXAMPLE-8": 240,
    "EXAMPLE-12": 320, "EXAMPLE-20": 460, "EXAMPLE-30": 610, "EXAMPLE-45": 840,
    "EXAMPLE-70": 1150, "EXAMPLE-100": 1540, "EXAMPLE-150": 2080, "EXAMPLE-230": 2850,
}  # fmt: skip
#: One model is stated as a mass, so that the template shows how: 45 ft3 x 40 lb/ft3.
_STATED_AS_MASS = {
    "EXAMPLE-45": {
        "stated": 1800.0, "stated_unit": "lb", "rated_density": 40.0,
        "note": "invented demo data; stated as 1800 lb at 40 lb/ft3",
    }
}  # fmt: skip


def _demo_models() -> tuple[dict[str, Any], ...]:
    """The invented catalog, by column key; numbers as numbers."""
    text = files("hoppersheet").joinpath("data/demo_catalog.csv").read_text(encoding="utf-8")
    return tuple(
        {
            "model": row["model"],
            "stated": parse_number(row["size [ft3]"]),
            "stated_unit": "ft3",
            "empty": _EMPTY_MASSES[row["model"]],
            "empty_unit": "lb",
            "price": parse_number(row["price [USD]"]),
            "note": row["note"],
            **_STATED_AS_MASS.get(row["model"], {}),
        }
        for row in csv.DictReader(text.splitlines())
    )


#: The invented catalog of the template; every note begins with "invented".
DEMO_MODELS = _demo_models()


def write(book: Workbook) -> None:
    """Add the sheet with the invented catalog on it."""
    last = TABLE.letter(TABLE.columns[-1].key)
    sheet = start_sheet(
        book, TABLE.sheet, "Catalog", last,
        "Replace the invented models by your own. Units may be mixed; leave blank rows where "
        "you like. More rows: copy the last one down.",
    )  # fmt: skip
    write_fields(
        book,
        sheet,
        (
            Field("Catalog", "catalog_name", value="INVENTED demo catalog", rule=a_text(60)),
            Field("Prices of", "catalog_date", rule=a_date("Date of the price list."), show="date"),
            Field(
                "Currency", "catalog_currency", value="USD",
                rule=a_text(3, "Three letters, as in ISO 4217."),
            ),
        ),
        4,
        {"label": "A", "value": "B:D", "word": "E"},
    )  # fmt: skip
    write_table(sheet, TABLE)
    for row, model in enumerate(DEMO_MODELS, TABLE.first_row):
        for key, value in model.items():
            sheet[TABLE.cell(key, row)] = value
    for key, name in (
        ("model", "catalog_models"),
        ("volume", "catalog_volumes"),
        ("price", "catalog_prices"),
        ("empty_used", "catalog_empty_masses"),
    ):
        define_name(book, name, TABLE.range(key))
    highlight_states(sheet, TABLE, "state")
    cell = TABLE.cell("slips", TABLE.first_row)
    when(sheet, f"{cell}:{TABLE.letter('slips')}{TABLE.last_row}", f'LEFT({cell},4)="look"',
         noticed())  # fmt: skip
    sheet.freeze_panes = f"B{TABLE.first_row}"
    sheet.print_title_rows = f"{TABLE.heading_row}:{TABLE.heading_row}"
    sheet.page_setup.orientation = "landscape"
