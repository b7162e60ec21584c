"""Everything hoppersheet raises on purpose.

::

    HoppersheetError            base: one clear sentence, never a traceback for the user
    ├── CellError               a cell has no value to show: .code .argument .reason
    │   ├── WrongKind           #VALUE!  the wrong kind of input (text for a number, unknown unit)
    │   │   └── NotThisQuantity #VALUE!  a unit that measures something else
    │   ├── OutOfRange          #NUM!    the right kind, but impossible or out of range
    │   ├── NoAnswer            #N/A     no answer exists (larger than every catalog size)
    │   └── ErrorIn             any code: an input already was an error; the same one comes out
    ├── InputFileError          a file cannot be read or makes no sense (command line: exit 2)
    └── HostError               Excel, Calc or an engine is missing or does not answer (exit 2)
"""

from __future__ import annotations

from collections.abc import Callable

__all__ = [
    "SHEET_ERRORS",
    "CellError",
    "ErrorIn",
    "HoppersheetError",
    "HostError",
    "InputFileError",
    "NoAnswer",
    "NotThisQuantity",
    "OutOfRange",
    "WrongKind",
]

#: The error values a spreadsheet can hand over. The first seven are the
#: classic ones (ECMA-376 part 1, 18.18.11 ST_CellType "e"); the others came later.
SHEET_ERRORS = frozenset(
    (
        "#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A",
        "#GETTING_DATA", "#SPILL!", "#CALC!", "#FIELD!", "#BLOCKED!", "#CONNECT!",
        "#UNKNOWN!", "#BUSY!", "#PYTHON!",
    )
)  # fmt: skip


class HoppersheetError(Exception):
    """Base of all errors that hoppersheet raises on purpose."""


class CellError(HoppersheetError):
    """A cell function has no value to show.

    Attributes:
        code: what the cell shows, e.g. ``"#NUM!"``.
        argument: name of the argument at fault, ``""`` when none is.
        reason: one sentence with the value and the limit it broke.

    A sizing function knows SI only, but the user must read the sentence in the units of the
    sheet: it names its figures in braces and hands them over as ``name=(si_value, quantity)``;
    :mod:`hoppersheet.call` fills them in with :meth:`word`.
    """

    code = "#VALUE!"

    def __init__(self, reason: str, argument: str = "", **figures: tuple[float, str]) -> None:
        self._template = reason
        self.figures = figures
        self.argument = argument
        self.reason = reason
        if figures:
            self.word(lambda value, _quantity: f"{value:.6g}")
        super().__init__(self.reason)

    def word(self, show: Callable[[float, str], str]) -> None:
        """Fill the figures of the sentence in with ``show(si_value, quantity)``."""
        if self.figures:
            self.reason = self._template.format(
                **{name: show(*figure) for name, figure in self.figures.items()}
            )

    def __str__(self) -> str:
        where = f"{self.argument}: " if self.argument else ""
        return f"{self.code} {where}{self.reason}"


class WrongKind(CellError):
    """#VALUE!: the wrong kind of input."""

    code = "#VALUE!"


class NotThisQuantity(WrongKind):
    """#VALUE!: a known unit, but one that measures something else."""


class OutOfRange(CellError):
    """#NUM!: the right kind of input, but impossible or out of range."""

    code = "#NUM!"


class NoAnswer(CellError):
    """#N/A: no answer exists."""

    code = "#N/A"


class ErrorIn(CellError):
    """An input cell already holds an error; the same one comes out."""

    def __init__(self, code: str, argument: str = "") -> None:
        super().__init__(f"the input already is the error {code}", argument)
        self.code = code


class InputFileError(HoppersheetError):
    """A file cannot be read, or what it holds makes no sense."""


class HostError(HoppersheetError):
    """A spreadsheet program or an engine is missing or does not answer."""
