"""Workbooks that hold a table: .xlsx, .xlsm and .ods by our own readers, others by calamine.

A very large .ods is read by calamine too, which loses what its cells show, and the receipt says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...cells.numbers_in_text import shown
from ...cells.values import is_blank
from ...cells.wording import counted
from ...errors import InputFileError
from ..job_cells import ClockTime, Percent, ShownWithUnit
from ..jobwords.units import is_unit
from .sources import SUMMARY_TITLE, Source
from .text_files import Hits

if TYPE_CHECKING:
    from ...workbook.sheet_rows import SheetRows

__all__ = ["workbook_sources"]

_OTHER = (".xls", ".xlsb")
_TOP = 30


def workbook_sources(path: Path, name: str, hits: Hits, sheet: str | None) -> list[Source]:
    """The sheets of a workbook that are to be read.

    Args:
        path: the file.
        name: what to call it.
        hits: counts the known headings of rows.
        sheet: a sheet's name, "all" for every sheet that looks like a list, None for the first.

    Raises:
        InputFileError: not readable, or no such sheet.
    """
    ending = path.suffix.lower()
    read = _by_calamine if ending in _OTHER else _by_package
    sheets = (_by_opendocument if ending == ".ods" else read)(path, name)
    if not sheets:
        raise InputFileError(f"{name} has no sheet with cells")
    scores = {source.sheet: hits(_top(source)) for source, _ in sheets}
    lists = [source for source, _ in sheets if scores[source.sheet] >= 2]
    states = {source.sheet: state for source, state in sheets}
    if sheet is not None and sheet.casefold() == "all":
        if not lists:
            lists = [sheets[0][0]]
        for source in lists:
            _tell_others(source, sheets, {s.sheet for s in lists}, scores, states)
        return lists
    if sheet is not None:
        chosen = [s for s, _ in sheets if s.sheet.casefold() == sheet.strip().casefold()]
        if not chosen:
            names = ", ".join(repr(s.sheet) for s, _ in sheets[:12])
            raise InputFileError(f"{name} has no sheet {sheet!r}; it has {names}")
    else:
        seen = [s for s in lists if states[s.sheet] == "visible"]
        chosen = seen[:1] or lists[:1] or [sheets[0][0]]
    _tell_others(chosen[0], sheets, {chosen[0].sheet}, scores, states)
    return chosen[:1]


def _no_rows() -> Iterator[list[Any]]:
    return iter(())


def _top(source: Source) -> list[list[Any]]:
    top = []
    for row in source.rows():
        top.append(row)
        if len(top) == _TOP:
            break
    return top


def _tell_others(
    source: Source, sheets: list[tuple[Source, str]], read: set[str], scores: dict[str, int],
    states: dict[str, str],
) -> None:  # fmt: skip
    """Note the sheets that are not read, with how many of their rows look like jobs."""
    for other, _ in sheets:
        if other.sheet in read:
            continue
        jobs = 0
        first = next(iter(_top(other)), [])[:1]
        if scores[other.sheet] >= 2 and first != [SUMMARY_TITLE]:
            jobs = sum(1 for row in other.rows() if sum(map(_is_number, row)) >= 2)
        if jobs or any(not is_blank(cell) for row in _top(other) for cell in row):
            source.other_sheets[other.sheet] = (jobs, states[other.sheet])


def _is_number(cell: Any) -> bool:
    if isinstance(cell, str):
        return cell[:1].isdigit()
    return isinstance(cell, (int, float)) and not isinstance(cell, bool)


def _fill(source: Source, rows: list[list[Any]], merged: list[tuple[int, int, int, int]]) -> None:
    """Cells merged over several rows hold for each of those rows: "Hall 1" beside five jobs."""
    from ...workbook.addresses import column_letters

    spread = []
    for top, left, down, _ in merged:
        if down < 2 or top >= len(rows) or left >= len(rows[top]):
            continue
        value = rows[top][left]
        for row in rows[top + 1 : top + down]:
            row.extend([None] * (left + 1 - len(row)))  # rows end at their last filled cell
            if row[left] is None:
                row[left] = value
        if value is not None:
            letter = column_letters(left + 1)
            spread.append(f"{letter}{top + 1}:{letter}{top + down}")
            source.shared.append((top + 1, min(top + down, len(rows)), left))
    if spread:
        more = f" and {len(spread) - 8} more" if len(spread) > 8 else ""
        source.notes.append(
            f"merged cells count for each of their rows: {', '.join(spread[:8])}{more}"
        )


def _comments(comments: dict[tuple[int, int], str]) -> list[str]:
    """What the receipt says of cell comments, which nobody reads."""
    from ...workbook.addresses import column_letters

    texts = [
        f"{column_letters(column)}{row} {shown(' '.join(text.split()))}"
        for (row, column), text in sorted(comments.items())
    ]
    more = f" and {len(texts) - 4} more" if len(texts) > 4 else ""
    return [f"comments are not read: {', '.join(texts[:4])}{more}"] if texts else []


def _take(source: Source, found: SheetRows, comments: dict[tuple[int, int], str]) -> None:
    """Take over what a sheet shows beside its values."""
    from ...workbook.addresses import column_letters

    for at_row, at in found.struck:
        source.struck.setdefault(at_row + 1, set()).add(at)
    _fill(source, found.rows, found.merged)
    source.groups = {(top, left): wide for top, left, _, wide in found.merged}
    source.formats = found.formats
    if found.without_value:
        source.notes.append(
            f"{counted(found.without_value, 'formula')} without a stored value: open the workbook "
            "in a spreadsheet program and save it"
        )
    hidden_rows = [row for row in found.hidden_rows if row < len(found.rows)]
    if hidden_rows:
        hidden = ", ".join(str(row + 1) for row in hidden_rows[:8])
        source.notes.append(f"hidden rows are read too: {hidden}")
    for (row, column), text in comments.items():
        source.comments.setdefault(row, {})[column - 1] = " ".join(text.split())
    source.notes += _comments(comments)
    width = max(map(len, found.rows), default=0)
    hidden_columns = [column for column in found.hidden_columns if column < width]
    if hidden_columns:
        hidden = ", ".join(column_letters(column + 1) for column in hidden_columns[:8])
        source.notes.append(f"hidden columns are read too: {hidden}")


def _by_opendocument(path: Path, name: str) -> list[tuple[Source, str]]:
    from ...workbook.opendocument import opendocument_sheets
    from ...workbook.sheet_rows import ShownAs

    read = opendocument_sheets(path, name, ShownAs(Percent, ClockTime, _shown_with_text))
    if read is None:
        return _by_calamine(path, name)
    found, active = read
    sheets = []
    for sheet in sorted(found, key=lambda each: each.name != active):
        source = Source(f"{name}, sheet {sheet.name}", _no_rows, sheet=sheet.name)
        rows = sheet.found.rows
        source.rows = lambda rows=rows: iter(rows)  # type: ignore[misc]
        _take(source, sheet.found, sheet.comments)
        sheets.append((source, "visible" if sheet.visible else "hidden"))
    return sheets


def _by_package(path: Path, name: str) -> list[tuple[Source, str]]:
    from ...workbook.package import Package
    from ...workbook.sheet_rows import ShownAs, sheet_rows
    from ...workbook.sheet_settings import comments_of

    package = Package(path)
    package.refuse_document_types()
    sheets = []
    order = sorted(package.sheets, key=lambda s: s.name != _active(package))
    for sheet in order:
        source = Source(f"{name}, sheet {sheet.name}", _no_rows, sheet=sheet.name, groups={})
        kept: list[Any] = []

        def load(source: Source = source, sheet: Any = sheet, kept: list[Any] = kept) -> Any:
            if not kept:
                shown_as = ShownAs(Percent, ClockTime, _shown_with_text)
                found = sheet_rows(package, source.sheet, shown_as)
                _take(source, found, comments_of(package, sheet))
                kept.append(found.rows)
            return kept[0]

        def rows(load: Any = load) -> Iterator[list[Any]]:
            return iter(load())

        source.rows = rows
        sheets.append((source, sheet.state))
    return sheets


def _shown_with_text(number: float, code: str) -> float:
    """A number whose format shows a unit behind it; the number alone where it is another text."""
    from ...workbook.sheet_rows import text_of_format

    text, divided = text_of_format(code)
    if not is_unit(text):
        return number
    return ShownWithUnit.of(number / divided, text, number, code)


def _active(package: Any) -> str:
    """Name of the sheet that was open when the workbook was saved."""
    for element in package.elements(package.workbook_part):
        if element.tag == "workbookView":
            at = element.attributes.get("activeTab", "0")
            if at.isdigit() and int(at) < len(package.sheets):
                return str(package.sheets[int(at)].name)
            break
    return str(package.sheets[0].name) if package.sheets else ""


def _by_calamine(path: Path, name: str) -> list[tuple[Source, str]]:
    import python_calamine

    try:
        book = python_calamine.CalamineWorkbook.from_path(str(path))
        metadata = {m.name: m for m in book.sheets_metadata}
        sheets = []
        for sheet_name in book.sheet_names:
            data = metadata.get(sheet_name)
            if data is not None and "WorkSheet" not in str(data.typ):
                continue
            sheet = book.get_sheet_by_name(sheet_name)
            rows = [
                [_plain(cell) for cell in row] for row in sheet.to_python(skip_empty_area=False)
            ]
            merged = [
                (top, left, bottom - top + 1, right - left + 1)
                for (top, left), (bottom, right) in sheet.merged_cell_ranges or ()
            ]
            groups = {(top, left): wide for top, left, _, wide in merged}
            source = Source(
                f"{name}, sheet {sheet_name}", _no_rows, sheet=sheet_name, groups=groups
            )
            source.rows = lambda rows=rows: iter(rows)  # type: ignore[misc]
            _fill(source, rows, merged)
            ending = path.suffix.lower()
            source.notes.append(
                f"{ending} files do not say which cells are percentages, errors or formulas "
                "without a value: such cells are read as plain numbers or blanks; nor which ones "
                "are crossed out or show a unit"
            )
            source.blank_is = "an error or a formula without a value"
            if sheet.merged_cell_ranges is None:
                source.blank_is = "an error or a merged cell"
            source.blank_is += f", which is lost in {ending} files: save the list as .xlsx"
            if ending == ".ods":
                source.notes.append("merged cells of .ods files count for their first row alone")
            source.notes.append(f"hidden rows of {ending} files are read like all others")
            visible = data is None or str(data.visible).rpartition(".")[2] == "Visible"
            sheets.append((source, "visible" if visible else "hidden"))
    except Exception as problem:
        # The library lets whatever went wrong inside a broken file escape as it is.
        reason = f"{type(problem).__name__}: {problem}"[:160]
        raise InputFileError(f"{name} is not a readable workbook ({reason})") from None
    return sheets


def _plain(cell: Any) -> Any:
    """A cell as our own model gives it: None for a blank, a duration as a clock time."""
    if cell == "" or cell is None:
        return None
    if type(cell).__name__ == "time":
        return ClockTime((cell.hour * 3600 + cell.minute * 60 + cell.second) / 86_400)
    if type(cell).__name__ == "timedelta":
        return ClockTime(cell.total_seconds() / 86_400)
    if isinstance(cell, int) and not isinstance(cell, bool):
        return float(cell)
    return cell
