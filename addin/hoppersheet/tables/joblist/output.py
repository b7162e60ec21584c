"""Write a sized list to the file that is named, by its ending."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ...errors import InputFileError
from ...files import replacing
from .book_output import write_books
from .formulas_output import write_formulas
from .sizing import SizedList
from .text_output import write_text

__all__ = ["OUTPUT_ENDINGS", "check_out", "write_lists"]

OUTPUT_ENDINGS = (".csv", ".tsv", ".xlsx")


def check_out(
    path: str,
    others: dict[str, str | None],
    formulas: bool = False,
    endings: Sequence[str] = OUTPUT_ENDINGS,
) -> None:
    """Refuse an output that cannot be written, before any work is done.

    Args:
        path: what is to be written.
        others: what each file that is read is called -> its path; a customer's workbook would lose
            its other sheets and its looks, so it is never written over.
        formulas: whether live formulas are wanted.
        endings: those that are possible.

    Raises:
        InputFileError: unknown ending, a file that is read, or formulas in a text file.
    """
    for what, read in others.items():
        if read and read != "-" and Path(path).resolve() == Path(read).resolve():
            raise InputFileError(f"--out {path} is the {what} itself; choose another name")
    ending = Path(path).suffix.lower()
    if ending not in endings:
        raise InputFileError(f"--out {path}: the ending must be {', '.join(endings)}")
    if formulas and ending != ".xlsx":
        raise InputFileError(f"--formulas needs --out with the ending .xlsx, not {path}")


def write_lists(
    lists: Sequence[SizedList], path: str, catalog_name: str, units: str, formulas: bool = False
) -> None:
    """Write ``path``; reads the rows of each list through.

    Args:
        lists: one list, or several sheets of one workbook.
        path: .csv, .tsv or .xlsx.
        catalog_name: what to call the catalog.
        units: the unit system that the user states, or AS_LISTED.
        formulas: write the results as one live HOPPER_SIZE_JOBS formula over a catalog sheet.

    Raises:
        InputFileError: the file cannot be written; nothing is left half done.
    """
    ending = Path(path).suffix.lower()
    if len(lists) > 1 and (formulas or ending != ".xlsx"):
        raise InputFileError(
            f"{path}: {len(lists)} sheets go into one .xlsx without --formulas, or one by one with "
            "--sheet"
        )
    with replacing(path) as temporary:
        if formulas:
            write_formulas(lists[0], temporary, path, units)
        elif ending == ".xlsx":
            write_books(lists, temporary, path, catalog_name)
        else:
            write_text(lists[0], temporary)
