"""What may be typed into an input cell: described as data, written as the program's validation.

Every input has one. It shows a prompt when the cell is chosen and refuses a value outside, with
a message that says the limits in both unit systems.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..cells.quantities import QUANTITIES
from ..cells.wording import in_system, rounded

if TYPE_CHECKING:
    from openpyxl.worksheet.datavalidation import DataValidation

__all__ = ["Rule", "a_date", "a_share", "a_text", "a_whole", "amount", "one_of", "quantity"]


#: How a figure is typed with its own unit.
_EXAMPLES = {
    "bulk density": "0.55 g/cm3",
    "throughput": "45 kg/h",
    "temperature": "80 degC",
    "room temperature": "25 degC",
    "altitude": "300 m",
    "specific airflow": "4 m3/h/(kg/h)",
    "specific heat": "1.2 kJ/(kg K)",
    "length": "2.4 m",
}


@dataclass(frozen=True)
class Rule:
    """One validation.

    Attributes:
        kind: "list", "decimal", "whole", "date", "textLength" or "custom", as in the file format.
        first, second: the bounds, the list, or the condition, as formulas without "="; in a
            condition ``{cell}`` stands for the cell itself.
        says: what is allowed, for the error message.
        prompt: shown while the cell is chosen.
        style: "stop" refuses, "warning" asks whether the value is meant.
    """

    kind: str
    first: str
    second: str = ""
    says: str = ""
    prompt: str = ""
    style: str = "stop"

    def validation(self, title: str, first_cell: str) -> DataValidation:
        """As openpyxl wants it; add the cells to it, ``first_cell`` (``"G15"``) being the first."""
        from openpyxl.worksheet.datavalidation import DataValidation

        made = DataValidation(
            type=self.kind,
            operator=None if self.kind in ("list", "custom") else "between",
            formula1=self.first.replace("{cell}", first_cell),
            formula2=self.second or None,
            allow_blank=True,
            errorStyle=self.style,
            showErrorMessage=True,
            showInputMessage=True,
        )
        # The limits of the file format: 32 characters for a title, 255 for a text.
        made.promptTitle = made.errorTitle = title[:32]
        made.error = f"{title}: {self.says}."[:255]
        made.prompt = (self.prompt or f"{self.says[:1].upper()}{self.says[1:]}.")[:255]
        return made


def one_of(*options: str, prompt: str = "") -> Rule:
    """One of a few words, offered as a list."""
    return Rule("list", f'"{",".join(options)}"', says=" or ".join(options), prompt=prompt)


def a_text(longest: int = 80, prompt: str = "") -> Rule:
    """Any text up to ``longest`` characters."""
    return Rule("textLength", "0", str(longest), f"up to {longest} characters", prompt)


def a_date(prompt: str = "") -> Rule:
    """A date of this century."""
    return Rule("date", "36526", "73050", "a date between 2000 and 2099", prompt)


def a_whole(low: int, high: int, prompt: str = "") -> Rule:
    """A whole number."""
    return Rule("whole", str(low), str(high), f"a whole number from {low} to {high}", prompt)


def a_share(high: float = 1.0, prompt: str = "") -> Rule:
    """A fraction from 0 to ``high``, typed as a percentage."""
    return Rule("decimal", "0", repr(high), f"0 % to {high * 100:g} %", prompt)


def amount(low: float, high: float, prompt: str = "") -> Rule:
    """A plain number between two limits."""
    return Rule("decimal", repr(low), repr(high), f"a number from {low:g} to {high:g}", prompt)


def quantity(name: str, prompt: str = "", system: str = "unit_system") -> Rule:
    """A number within the hard limits of the quantity ``name``, or text with its own unit.

    ``system`` is the named cell that says in which unit system a plain number is typed. A text
    must begin like a number; the cell function that converts it judges the rest.
    """
    measure = QUANTITIES[name]
    # Rounding does no harm: the cell function itself refuses what lies outside.
    us, metric = (
        [in_system(si, name, each) for si in (measure.low, measure.high)]
        for each in ("US", "metric")
    )
    us_text, metric_text = (
        f"{rounded(low)} to {rounded(high)} {unit}".removesuffix(" 1")
        for (low, high), unit in ((us, measure.us), (metric, measure.metric))
    )
    if us == metric:
        return Rule("decimal", repr(us[0]), repr(us[1]), us_text, prompt)
    low, high = (f'IF({system}="metric",{m:.9g},{u:.9g})' for u, m in zip(us, metric, strict=True))
    return Rule(
        "custom",
        f"IF(ISNUMBER({{cell}}),AND({{cell}}>={low},{{cell}}<={high}),"
        'ISNUMBER(VALUE(LEFT(TRIM({cell}),1)&"1")))',
        says=f"{us_text} ({metric_text}), as a number in the unit of the heading or with its unit",
        prompt=f"{prompt} Or type it with its unit: {_EXAMPLES[name]}.".strip(),
    )
