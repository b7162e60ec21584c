"""What the text around a cell says of it: heading or label, unit, and where a value is from.

Works on lists (a heading row above the values) and on forms (a label to the left of the value,
a unit to the right); on our own templates and on whatever people have made themselves.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping
from typing import Any

from ..cells.values import is_error
from ..workbook.book import Book, Cell, Sheet
from ..workbook.formulas import Place
from .label_words import (
    Reason,
    Unit,
    is_label,
    is_prose,
    is_unit,
    is_unit_cell,
    origin_word,
    unit_in,
)
from .roles import role_of

__all__ = ["Labels"]

_BACK = 5_000  # rows between a heading and its last line
_BLANK_ROWS = 3  # so many empty rows end a list
_LABELS = 3  # labels below each other that make a column of them


_BASIS_HEADING = re.compile(
    r"\b(basis|source|origin|based on|from where)\b|^\s*from\s*$", re.IGNORECASE
)
_QUANTITY_WORDS = {"density", "densities", "throughput", "hours", "temperature", "moisture"}


def _words(heading: str) -> set[str]:
    """The words of a heading that can tie it to another one."""
    plain = re.sub(r"[\[(].*", "", heading)
    return set(re.findall(r"[a-z]{4,}", plain.lower())) - {"basis", "source", "origin", "from"}


_REASON = re.compile(r"\b(reasons?|why|remarks?|notes?|comments?)\b", re.IGNORECASE)


_SHARE = re.compile(r"\bshares?\b", re.IGNORECASE)


class Labels:
    """Headings, labels and units of a workbook.

    Args:
        value_of: current value of a cell (headings may be formulas that switch the units).
    """

    def __init__(self, book: Book, value_of: Callable[[Place], Any]) -> None:
        self.book = book
        self.value_of = value_of
        self._heading_rows: dict[tuple[str, int], bool] = {}
        self._forms: dict[str, list[int]] = {}
        self._rows_that_go_on: dict[tuple[str, int], bool] = {}
        self._numbers_in_row: dict[tuple[str, int], int] = {}
        self._headings: dict[Place, tuple[str, int]] = {}
        self._owners: dict[tuple[str, int], dict[int, int]] = {}
        self._labels: dict[Place, str] = {}
        self._roles: dict[Place, str] = {}
        self._label_columns: dict[str, frozenset[int]] = {}

    def sideways(self, name: str) -> bool:
        """Whether a sheet has its labels to the left: a form, or a column per job."""
        return bool(self._labels_in(name))

    def _labels_in(self, name: str) -> frozenset[int]:
        """The columns that hold labels; none where headings stand above what they are about."""
        found = self._label_columns.get(name)
        if found is None:
            # Each text once: a column of one word is a list of it, no column of labels.
            rows: dict[int, set[str]] = {}
            columns: dict[int, set[str]] = {}
            cells = self.book.sheets[name].cells.values()
            copies = Counter(cell.form for cell in cells if cell.form)
            for cell in cells:
                value = self.value_of(cell.place)
                if is_label(value) and role_of(value) and not is_unit_cell(value):
                    rows.setdefault(cell.place[1], set()).add(value)
                    if copies[cell.form] < _LABELS:  # "for 60 lb/h" in each row is no label
                        columns.setdefault(cell.place[2], set()).add(value)
            most = max(map(len, columns.values()), default=0)
            found = frozenset(at for at, texts in columns.items() if len(texts) >= _LABELS)
            if most <= max(map(len, rows.values()), default=0):
                found = frozenset()
            self._label_columns[name] = found
        return found

    def forms(self, name: str) -> list[int]:
        """First rows of forms that stand below each other on a sheet, one for each job."""
        found = self._forms.get(name)
        if found is None:
            rows: dict[str, list[int]] = {}
            for column in self._labels_in(name):
                for cell in self.book.sheets[name].columns[column]:
                    value = self.value_of(cell.place)
                    if is_label(value) and role_of(value):
                        rows.setdefault(str(value), []).append(cell.place[1])
            volumes = [r for text, r in rows.items() if role_of(text) == "required volume"]
            ends = max(volumes, key=len, default=[])
            starts = min((r for r in rows.values() if len(r) == len(ends)), default=[])
            # each form begins before its volume, and behind the volume of the one above
            between = [at for pair in zip(starts, ends, strict=True) for at in pair]
            apart = len(ends) > 1 and between == sorted(set(between))
            found = self._forms[name] = starts if apart else []
        return found

    def line_of(self, place: Place) -> tuple[str, int, int]:
        """What tells a cell's line from others: its row; its column, and its form there."""
        name, row, column = place
        if not self.sideways(name):
            return name, row, 0
        return name, column, max((at for at in self.forms(name) if at <= row), default=0)

    def beside(self, place: Place) -> list[Cell]:
        """The cells of a value's row; of its column on a sheet with labels to the left."""
        sheet = self.book.sheets[place[0]]
        if self.sideways(place[0]):
            cells = sheet.columns.get(place[2], [])
            own = self.line_of(place)
            forms = self.forms(place[0])
            return [c for c in cells if self.line_of(c.place) == own] if forms else cells
        return sheet.rows.get(place[1], [])

    def _is_heading_row(self, sheet: Sheet, row: int) -> bool:
        key = (sheet.name, row)
        known = self._heading_rows.get(key)
        if known is None:
            values = [self.value_of(cell.place) for cell in sheet.rows.get(row, [])]
            filled = [v for v in values if v not in (None, "")]
            texts = sum(is_label(v) for v in filled)
            # a job list's results begin with headings, in the cell that makes the call
            sizing = any(cell.sizes and not cell.array for cell in sheet.rows.get(row, []))
            known = bool(texts) and texts >= 0.6 * len(filled) and not sizing
            self._heading_rows[key] = known
        return known

    def _goes_on(self, sheet: Sheet, row: int) -> bool:
        """Whether a row holds a formula of the list above it, though a gap stands between."""
        key = (sheet.name, row)
        known = self._rows_that_go_on.get(key)
        if known is None:
            known = self._rows_that_go_on[key] = any(
                other.form == cell.form and other.place[1] < row - _BLANK_ROWS
                for cell in sheet.rows.get(row, [])
                if cell.form
                for other in sheet.columns.get(cell.place[2], [])
            )
        return known

    def heading_at(self, place: Place) -> tuple[str, int]:
        """(heading above a cell, row it stands in); ``("", 0)`` where there is none."""
        found = self._headings.get(place)
        if found is None:
            found = self._headings[place] = self._look_up(place)
        return found

    def _look_up(self, place: Place) -> tuple[str, int]:
        name, row, column = place
        sheet = self.book.sheets[name]
        own = sheet.cells.get((row, column))
        blank = 0
        for above in range(row - 1, max(0, row - _BACK), -1):
            if not sheet.rows.get(above):
                blank += 1
                if blank == _BLANK_ROWS and not self._goes_on(sheet, row):
                    break
                continue
            blank = 0
            cell = sheet.cells.get((above, column))
            copy = cell is None or (own is not None and cell.form and cell.form == own.form)
            value = None if copy or cell is None else self.value_of(cell.place)
            if not (is_label(value) and self._is_heading_row(sheet, above)):
                known = self._headings.get((name, above, column))
                if known is not None and known[0]:
                    return known
            else:
                over = sheet.cells.get((above - 1, column))
                over_value = self.value_of(over.place) if over is not None else None
                if is_label(over_value) and self._is_heading_row(sheet, above - 1):
                    several = len(sheet.rows[above - 1]) > 1
                    value = f"{over_value} {value}" if several else value
                return str(value), above
        return "", 0

    def heading_cell(self, place: Place) -> Place | None:
        """The cell above that says what a cell is called, None where it is not called so."""
        text, row = self.heading_at(place)
        return (place[0], row, place[2]) if row and text == self.label(place) else None

    def heading(self, place: Place) -> str:
        """The heading above a cell, ``""`` where there is none."""
        return self.heading_at(place)[0]

    def left_label(self, place: Place) -> str:
        """The nearest text to the left of a cell; a sentence only where somebody typed it there."""
        name, row, column = place
        sentence = nearest = ""
        sideways = self._labels_in(name)
        for cell in reversed(self.book.sheets[name].rows.get(row, [])):
            if cell.place[2] < column and is_label(value := self.value_of(cell.place)):
                text = str(value)
                if is_unit_cell(text):
                    continue
                if cell.place[2] in sideways and role_of(text):
                    return text
                if not is_prose(text):
                    nearest = nearest or text
                    if not sideways:
                        break
                else:
                    sentence = sentence or (text if cell.typed else "")
        return nearest or sentence

    def _is_form_row(self, place: Place) -> bool:
        """Whether the row is one of a form: a label, one value, perhaps a unit and a note."""
        name, row, _ = place
        numbers = self._numbers_in_row.get((name, row))
        if numbers is None:
            values = [self.value_of(c.place) for c in self.book.sheets[name].rows.get(row, [])]
            numbers = sum(v not in (None, "") and not is_label(v) for v in values)
            self._numbers_in_row[name, row] = numbers
        return numbers <= 1 and bool(self.left_label(place))

    def label(self, place: Place) -> str:
        """What a value is called: its label in a form, its heading in a list."""
        found = self._labels.get(place)
        if found is None:
            found = self._labels[place] = self._label(place)
        return found

    def take_roles(self, roles: Mapping[Place, str]) -> None:
        """Take what else is known of what cells are for; it wins over what is called so."""
        self._roles.update(roles)

    def role(self, place: Place) -> str:
        """What a cell is for, by its label or heading (:func:`.roles.role_of`)."""
        found = self._roles.get(place)
        if found is None:
            found = self._roles[place] = role_of(self.label(place))
        return found

    def _label(self, place: Place) -> str:
        if self._is_form_row(place):
            return self.left_label(place)
        if self.sideways(place[0]) and role_of(left := self.left_label(place)):
            return left
        return self.heading(place) or self.left_label(place)

    def unit(self, place: Place) -> Unit | None:
        """The unit that the sheet states for a cell, if it states one; else its format's."""
        return self._stated_unit(place) or self.shown_unit(place)

    def shown_unit(self, place: Place) -> Unit | None:
        """The unit that a cell's number format shows behind the number: ``0.0" kg/h"``."""
        cell = self.book.cell(place)
        first = cell.style.number_format.partition(";")[0] if cell is not None else ""
        texts = (text.strip(" []()") for text in re.findall(r'"([^"]*)"', first))
        return next((Unit(text, True) for text in texts if text and is_unit(text)), None)

    def _stated_unit(self, place: Place) -> Unit | None:
        name, row, column = place
        if self._is_form_row(place):
            beside = self.value_of((name, row, column + 1))
            if isinstance(beside, str) and is_unit(beside.strip(" []()")):
                return Unit(beside.strip(" []()"), True)
            found = unit_in(self.left_label(place))
            if found is not None:
                return found
        if self.sideways(name) and role_of(left := self.left_label(place)):
            return unit_in(left) or self._unit_between(place)
        heading = self.heading(place)
        return unit_in(heading) if heading else None

    def _unit_between(self, place: Place) -> Unit | None:
        """A unit in a cell of its own between a label and the values to its right."""
        name, row, column = place
        for cell in self.book.sheets[name].rows.get(row, []):
            value = self.value_of(cell.place)
            if cell.place[2] < column and isinstance(value, str) and is_unit(value.strip(" []()")):
                return Unit(value.strip(" []()"), True)
        return None

    def line_name(self, place: Place) -> str:
        """What a line of a list is called: the first text in its row, if that is a name.

        A sentence is one only where it was typed before the value, as in a list of checks. On a
        sheet with labels to the left it is the text beside "Job" or the like, else the sheet.
        """
        name, row, column = place
        if not self.sideways(name):
            for cell in self.beside(place):
                value = self.value_of(cell.place)
                if is_label(value) and role_of(self.heading(cell.place)) == "job":
                    return str(value)
        else:
            for cell in self.beside(place):
                value = self.value_of(cell.place)
                if is_label(value) and role_of(self.left_label(cell.place)) == "job":
                    return str(value)
            return self._on_top(place)
        sentence = ""
        for cell in self.book.sheets[name].rows.get(row, []):
            value = self.value_of(cell.place)
            if not is_label(value) or cell.sizes:
                continue
            if cell.place[2] > column and sentence:
                break
            if not is_prose(str(value)):
                return str(value)
            if cell.typed and cell.place[2] < column:
                sentence = sentence or str(value)
        return sentence

    def _on_top(self, place: Place) -> str:
        """The text above the values of a column; of a form, which has one column, its sheet."""
        name, row, column = place
        columns = {c.place[2] for c in self.book.sheets[name].rows.get(row, ())}
        if len(columns - self._labels_in(name)) > 1:
            for cell in self.book.sheets[name].columns.get(column, ()):
                value = self.value_of(cell.place)
                if cell.place[1] < row and is_label(value) and not is_unit(str(value).strip(" []")):
                    return str(value)
        return "" if len(self.book.sheets) == 1 else name

    def basis_cell(self, place: Place) -> Place | None:
        """The cell that says where a value is from: a basis column, or a word beside it."""
        name, row, column = place
        found = self._basis_owners(name, row).get(column)
        if found is not None:
            return (name, row, found)
        for step in (1, 2, 3):
            beside = (name, row, column + step)
            value = self.value_of(beside)
            if isinstance(value, (int, float)):
                break
            if origin_word(value) and not _BASIS_HEADING.search(self.heading(beside)):
                return beside
        return None

    def _basis_owners(self, name: str, row: int) -> dict[int, int]:
        """Column of a value -> column that says where it is from, for one row of a list.

        A basis column belongs to the values whose heading shares most words with its own; of
        equal ones to all that share a word such as "density", else to the nearest one before it.
        """
        known = self._owners.get((name, row))
        if known is not None:
            return known
        headings = {
            cell.place[2]: self.heading(cell.place)
            for cell in self.book.sheets[name].rows.get(row, [])
        }
        basis = [
            column
            for column, heading in headings.items()
            if _BASIS_HEADING.search(heading) and not _SHARE.search(heading)
        ]
        values = [
            column
            for column in headings
            if column not in basis and isinstance(self.value_of((name, row, column)), (int, float))
        ]
        owners: dict[int, int] = {}
        for column in basis:
            own = _words(headings[column])
            shared = {v: own & _words(headings[v]) for v in values}
            most = max((len(words) for words in shared.values()), default=0)
            best = [v for v in values if len(shared[v]) == most]
            before = [v for v in best if v < column]
            if most and any(shared[v] & _QUANTITY_WORDS for v in best):
                all_ = [v for v in best if shared[v] & _QUANTITY_WORDS]
                chosen = [v for v in all_ if v < column] or all_
            else:
                chosen = before[-1:] if most or not before or column - before[-1] <= 3 else []
            for value in chosen:
                owners.setdefault(value, column)
        self._owners[name, row] = owners
        return owners

    def stated_origin(self, place: Place) -> str:
        """The origin that the sheet states for a value, ``""`` where it states none."""
        label = origin_word(self.label(place))
        if label:
            return label
        cell = self.basis_cell(place)
        return origin_word(self.value_of(cell)) if cell is not None else ""

    def reason_in_row(self, place: Place) -> Reason:
        """A reason or remark written in a line."""
        remark = Reason("", False)
        sideways = self.sideways(place[0])
        for cell in self.beside(place):
            label = self.left_label if sideways else self.heading
            found = _REASON.search(label(cell.place))
            value = self.value_of(cell.place) if found else None
            # A reason may begin with a digit: "3 % short is fine, customer agreed".
            if found and isinstance(value, str) and value.strip() and not is_error(value):
                stated = found[1].lower().startswith(("reason", "why"))
                reason = Reason(str(value).strip(), stated, cell.typed)
                if stated:
                    return reason
                remark = remark or reason
        return remark
