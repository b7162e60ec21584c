"""The answers in a list of questions that :mod:`.fixes` wrote and somebody filled in."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ...cells.values import is_blank
from ...errors import InputFileError
from ..job_cells import ClockTime, Percent
from ..job_columns import JOB_COLUMNS

__all__ = ["HEADINGS", "Answers", "read_answers"]

#: Headings of a list of questions.
HEADINGS = ("sheet", "row", "job", "heading", "the list says", "question", "answer", "column")


@dataclass
class Answers:
    """What a filled list of questions says.

    Attributes:
        cells: (sheet, row) -> our column -> the answer.
        blank: how many questions were left open.
    """

    cells: dict[tuple[str, int], dict[str, Any]] = field(default_factory=dict)
    blank: int = 0

    def columns(self, sheet: str) -> list[str]:
        """Our columns that have an answer, in their order."""
        found = {name for (where, _), row in self.cells.items() if where == sheet for name in row}
        return [name for name in JOB_COLUMNS if name in found] + sorted(found - set(JOB_COLUMNS))


def read_answers(path: str) -> Answers:
    """Read a filled list of questions.

    Raises:
        InputFileError: it is no such list.
    """
    from ...workbook.package import Package
    from ...workbook.sheet_rows import ShownAs, sheet_rows

    if not Path(path).is_file():
        raise InputFileError(f"there is no file {path}")
    package = Package(path)
    package.refuse_document_types()
    found = sheet_rows(package, package.sheets[0].name, ShownAs(Percent, ClockTime))
    rows = iter(found.rows)
    for row in rows:
        if [str(cell or "") for cell in row[: len(HEADINGS)]] == list(HEADINGS):
            break
    else:
        raise InputFileError(
            f"{path} is not a question list written by --fixes: the headings "
            f"{', '.join(HEADINGS)} are missing"
        )
    answers = Answers()
    for row in rows:
        sheet, number, *_, answer, column = [*row, *[None] * len(HEADINGS)][: len(HEADINGS)]
        if not isinstance(number, float) or is_blank(column):
            continue
        if is_blank(answer):
            answers.blank += 1
            continue
        answers.cells.setdefault((str(sheet or ""), int(number)), {})[str(column)] = answer
    return answers
