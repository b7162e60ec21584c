"""Sheet *Settings*: everything that is typed once for the whole quote.

Units, rules and allowances on the left, what the customer reads on the right. *Quote* itself has no
cell to type into.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..layout import has_unit, unit_name
from ..styles import FORMATS
from ..validation import Rule, a_date, a_share, a_text, amount, one_of, quantity
from .grid import landscape, letters_between, new_sheet

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["CONDITIONS", "POLICIES", "SHEET", "write"]

SHEET = "Settings"
#: The stated policy of a quote on "which of two sizes?".
POLICIES = ("always next size", "size below allowed")
#: Lines of conditions, each as long as it likes.
CONDITIONS = 4


@dataclass(frozen=True)
class _Setting:
    label: str
    name: str
    rule: Rule
    value: Any = None
    show: str = "text"
    quantity: str = ""
    note: str = ""

    @property
    def label_value(self) -> str:
        if has_unit(self.quantity):
            return f'="{self.label}, "&{unit_name(self.quantity)}'
        return self.label


_BOOK: tuple[tuple[Any, ...], ...] = (
    (
        "Units",
        _Setting(
            "Unit system", "unit_system",
            one_of("US", "metric", prompt="One system for the whole workbook. Changing it does "
                   "not convert typed figures: type them again, then confirm in the cell below."),
            "US",
            note='=IF(unit_system=resin_table_units,"","The page was made for "&'
            'IF(resin_table_units="US","US Letter","A4")&", and stays so; handoff --page prints it '
            'on "&IF(unit_system="US","US Letter","A4"))',
        ),
        _Setting(
            "The typed figures are in", "units_confirmed",
            one_of("US", "metric", prompt="After a change of the unit system: type the same here "
                   "once all typed figures have been looked through."),
            "US",
            note='=IF(units_confirmed=unit_system,"same as the unit system",'
            '"STOP: units were switched; look through every typed figure, then say so here")',
        ),
    ),
    (
        "Rules of this quote",
        _Setting(
            "Shares are by", "book_basis",
            one_of("volume", "mass", prompt="Recipes of weigh blenders are by mass. Blank: each "
                   "line says it for itself."),
            note="Blank: asked for on each line with regrind.",
        ),
        _Setting(
            "Which of two sizes?", "size_policy",
            one_of(*POLICIES, prompt="always next size: the smallest size that is large enough. "
                   "size below allowed: the size below where it is short by no more than stated."),
            POLICIES[0], note="A line may choose otherwise.",
        ),
        _Setting(
            "Size below allowed within", "policy_shortfall",
            a_share(0.5, "How much smaller than needed a size may be, 0 % to 50 %."), 0.05, "share",
            note="Counts only where the policy is size below allowed.",
        ),
        _Setting(
            "Regrind over virgin density", "regrind_ratio",
            amount(0.1, 1.2, "Estimated regrind density over virgin density."), 0.5,
            note="Where no line and no table has a regrind density. Common practice, no source.",
        ),
        _Setting(
            "Load allowance", "load_allowance",
            a_share(1.0, "How much denser the resin is assumed for the load than for the volume."),
            0.2, "share",
            note="Where the resin table has no high density. Compare EN 1991-1-1, Annex A.",
        ),
        _Setting(
            "Headroom", "book_headroom",
            quantity("length", "From the floor or machine throat to the nearest obstacle. Blank: "
                               "not checked."), quantity="length",
            note="A line may state its own.",
        ),
        _Setting(
            "Demonstration", "demonstration",
            one_of("yes", "no", prompt="yes: invented rows of the catalog may be quoted, and the "
                   "page says DEMONSTRATION, INVENTED."),
            "no", note="Leave it at no: invented rows then stop the quote.",
        ),
    ),
    (
        "Dryer",
        _Setting(
            "Airflow per rate", "book_airflow",
            quantity("specific airflow", "The resin maker's or the dryer's figure governs."),
            quantity="specific airflow",
            note="Blank: 1 cfm per lb/h (3.75 m³/h per kg/h), Society of Plastics Engineers, "
            "Jan 2001.",
        ),
        _Setting(
            "Room temperature", "room_temperature",
            quantity("room temperature", "Temperature of the resin as it enters the hopper."),
            quantity="room temperature", note="Blank: heat and return air are not worked out.",
        ),
        _Setting(
            "Relative humidity", "room_humidity",
            quantity("relative humidity", "On a humid day, 0 % to 100 %."), show="share",
        ),
        _Setting(
            "Altitude", "plant_altitude", quantity("altitude", "Above sea level. Blank: sea "
                                                               "level."),
            quantity="altitude",
        ),
        _Setting(
            "Dew point of the drying air", "drying_dew_point",
            quantity("room temperature", "As the dryer's maker states it, or as measured."),
            quantity="room temperature", note="Below freezing: the frost point.",
        ),
    ),
)  # fmt: skip

_PAGE: tuple[tuple[Any, ...], ...] = (
    (
        "Customer and quote",
        _Setting("Customer", "customer", a_text(80)),
        _Setting("Project", "project", a_text(80)),
        _Setting("Your inquiry", "inquiry", a_text(60, "Date and kind of the inquiry.")),
        _Setting("Quote number", "quote_number", a_text(30)),
        _Setting("Quote date", "quote_date", a_date("The date on the page."), show="date",
                 note="A revision has its own date: sheet Revision."),
        _Setting("Valid until", "valid_until", a_date("The last day of this offer."), show="date",
                 note="A revision is valid for as many days."),
        _Setting("Prepared by", "prepared_by", a_text(60)),
        _Setting("Seller", "seller", a_text(60)),
        _Setting("Address, contact", "seller_contact", a_text(80)),
    ),
    (
        "Price",
        _Setting(
            "Currency", "currency", a_text(3, "Three letters, as in ISO 4217."), "USD",
            note='=IF(currency=catalog_currency,"same as Catalog","STOP: Catalog is in "&'
            "catalog_currency)",
        ),
        _Setting("Tax", "tax_rate", a_share(1.0, "0 % to 100 %. Type 0 % where there is none."),
                 0, "share"),
    ),
    (
        "On the page",
        _Setting(
            "From Catalog, printed 1", "printed_1",
            a_text(30, "Heading of a column of Catalog that is printed with each hopper."),
            note="Heading of a free column of Catalog, such as lead time. Blank: none.",
        ),
        _Setting("From Catalog, printed 2", "printed_2", a_text(30, "A second such heading.")),
        _Setting(
            "Sizing basis for signature", "basis_page",
            one_of("yes", "no", prompt="yes: the figures that the sizing rests on are listed for "
                   "the customer to confirm."), "no",
        ),
        *(
            _Setting(
                f"Conditions, {number}", f"conditions_{number}",
                a_text(400, "Delivery, payment, what is not included."),
            )
            for number in range(1, CONDITIONS + 1)
        ),
    ),
)  # fmt: skip


def _format(setting: _Setting) -> str:
    plain = setting.quantity or isinstance(setting.value, float)
    return FORMATS["typed" if plain and setting.show == "text" else setting.show]


def write(book: Workbook, units: str) -> None:
    """Add the sheet."""
    sheet, pen = new_sheet(
        book, SHEET, "Settings",
        "Typed once for the whole quote. Straw: you type. This sheet itself is not printed.",
    )  # fmt: skip
    pen.widths(A=12, B=156, C=98, D=240, E=14, F=138, G=226, H=220)
    for blocks, label, value, note in ((_BOOK, "B", "C", "D"), (_PAGE, "F", "G", "H")):
        row = 4
        for heading, *settings in blocks:
            pen.put(f"{label}{row}", heading, "section")
            for letter in letters_between(value, note):
                pen.put(f"{letter}{row}", None, "section")
            for row, setting in enumerate(settings, row + 1):  # noqa: B020 goes on
                number = setting.quantity or setting.show in ("share", "date")
                figure = bool(number) or isinstance(setting.value, float)
                wide = setting.name.startswith("conditions")  # a paragraph
                pen.put(f"{label}{row}", setting.label_value, "label", up="top" if wide else "")
                pen.typed(
                    f"{value}{row}:{note}{row}" if wide else f"{value}{row}", setting.rule,
                    setting.label, setting.value, _format(setting), name=setting.name,
                    # Beside texts, a figure stands where they begin.
                    at="right" if figure and value == "C" else "left", wrap=wide or None,
                )  # fmt: skip
                if not wide:
                    pen.put(f"{note}{row}", setting.note or None, "note", up="center", indent=1)
                # As high as two lines of a note, so that both halves keep step.
                pen.heights(row, row, 44 if wide else 30)
            row += 2
    landscape(sheet, "A1:H32", letters_between("A", "H"), units, margin=0.2, fit=True)
    sheet.page_setup.fitToHeight = 1
