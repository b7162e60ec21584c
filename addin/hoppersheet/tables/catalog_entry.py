"""HOPPER_CATALOG_ENTRY: what stands beside a size in a catalog of cells."""

from __future__ import annotations

from typing import Any

from ..cells.values import is_blank, is_error
from ..errors import ErrorIn, NoAnswer, WrongKind
from ..registry import Argument, Example, Result, cell_function
from ..sizing.catalog import IN_HAND, TOLERANCE

__all__ = ["catalog_entry"]


@cell_function(
    "HOPPER_CATALOG_ENTRY",
    question="Which model is that size, and what is its price?",
    summary="The model, price or any other column of a catalog size.",
    arguments=(
        Argument("size", "Catalog size to look up, ft3 (metric L).", "volume"),
        Argument(
            "catalog_sizes",
            "Volumes of the catalog, one cell each, ft3 (metric L); blank cells are skipped.",
            "volume",
            kind="positions",
        ),
        Argument(
            "catalog_column",
            "The column to read: models, prices or other entries beside the sizes.",
            kind="cells",
        ),
    ),
    result=Result("the entry beside that size", kind="cell"),
    equation="catalog_column where catalog_sizes is size",
    plain=(
        'IF(SUMPRODUCT(({catalog_sizes}<>"")*({catalog_sizes}>={size}*(1-1E-9))*'
        "({catalog_sizes}<={size}*(1+1E-9)))=0,#N/A,"
        'IF(INDEX({catalog_column},FIRST)="",#N/A,INDEX({catalog_column},FIRST)))'
    ).replace(
        "FIRST",
        'MATCH(SMALL({catalog_sizes},1+SUMPRODUCT(({catalog_sizes}<>"")*'
        "({catalog_sizes}<{size}*(1-1E-9)))),{catalog_sizes},0)",
    ),
    assumptions=IN_HAND + " Of equal sizes the first one counts.",
    source="common practice, no source",
    topic="catalog",
    example=Example(
        (20, ((12,), (20,), (30,), (45,)), (("A",), ("B",), ("C",), ("D",))),
        "B",
        "arithmetic identity",
    ),
    see_also=("HOPPER_NEXT_SIZE", "HOPPER_SIZE_BELOW"),
)
def catalog_entry(
    size: float, catalog_sizes: list[float | None], catalog_column: list[list[Any]]
) -> Any:
    """The raw cell beside the first catalog size that equals ``size``."""
    entries = [cell for row in catalog_column for cell in row]
    if len(entries) != len(catalog_sizes):
        raise WrongKind(
            f"the column has {len(entries)} cells, but catalog_sizes has {len(catalog_sizes)}; "
            "they must be equally long",
            "catalog_column",
        )
    if len(catalog_column) > 1 and len(entries) > len(catalog_column):
        raise WrongKind(
            f"a block of {len(entries)} cells in {len(catalog_column)} rows; give the one column "
            "to read",
            "catalog_column",
        )
    for known, entry in zip(catalog_sizes, entries):  # noqa: B905 just compared
        if known is None or abs(known - size) > TOLERANCE * size:
            continue
        if is_error(entry):
            raise ErrorIn(entry, "catalog_column")
        if is_blank(entry):
            raise NoAnswer(
                "the catalog has no entry beside the size {size}",
                "catalog_column",
                size=(size, "volume"),
            )
        return entry
    raise NoAnswer("{size} is not a catalog size", "size", size=(size, "volume"))
