"""Sheet *Resins*: your own resins first, then the built-in table, written out whole.

The built-in values stand in the book as cells, in the units in which it was made, so that lines are
compared with them by plain formulas in any copy of the book. Names are looked up as HOPPER_RESIN
does: case, spaces and signs do not matter, and other names of a resin lead to its row.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from openpyxl.utils import column_index_from_string
from openpyxl.worksheet.pagebreak import Break

from ...cells.wording import in_system
from ...tables.hazards import hazards
from ...tables.resin_table import (
    COLORS,
    PROPERTIES,
    TABLE_VERSION,
    full_name,
    name_key,
    resin_names,
    stored_value,
    synonyms,
)
from ..layout import Column, Table, define_name, put, put_across, realign, text_height
from ..validation import a_text, one_of, quantity
from .grid import landscape, letters_between, new_sheet, write_grid

if TYPE_CHECKING:
    from openpyxl import Workbook

    from ...tables.hazards import Hazard

__all__ = [
    "OWN_ROWS",
    "TABLE",
    "VALUES",
    "bare_columns",
    "bare_formulas",
    "cautions",
    "key_of",
    "lookup_of",
    "row_of",
    "value_of",
    "write",
]

SHEET = "Resins"
#: Rows for the user's own resins, above the built-in ones.
OWN_ROWS = 15
_FIRST = 8
_SIGNS = " -/.+,()%"


def key_of(cell: str) -> str:
    """Formula of a resin's name without case, spaces and signs."""
    for sign in _SIGNS[:-1]:
        cell = f'SUBSTITUTE({cell},"{sign}","")'
    return f"LOWER({cell})"


def _typed(key: str, heading: str, name: str, group: str, unit: str = "") -> Column:
    show = {"drying hours": "hours", "moisture": "moisture"}.get(name, "")
    return Column(
        key, heading, "input", name, show=show or name, group=group, unit=unit,
        width={"specific heat": 66, "moisture": 54}.get(name, 48),
        rule=quantity(name, "Of your own resin. It wins over the built-in value."),
    )  # fmt: skip


#: Signs of a full name that one line of its column holds.
_ONE_LINE = 36

#: Column -> the property of the resin table that fills it.
VALUES = {
    "density_low": "bulk density low", "density": "bulk density",
    "density_high": "bulk density high", "ground_low": "regrind density low",
    "ground": "regrind density", "ground_high": "regrind density high",
    "temperature_low": "drying temperature low", "temperature": "drying temperature",
    "temperature_high": "drying temperature high", "hours_low": "drying hours low",
    "hours": "drying hours", "hours_high": "drying hours high", "moisture": "moisture limit",
    "specific_heat": "specific heat",
}  # fmt: skip


def _columns() -> tuple[Column, ...]:
    groups = {
        "density": "Virgin density", "ground": "Regrind density",
        "temperature": "Dried at", "hours": "Dried for", "moisture": "Dried to",
        "specific": "Heat",
    }  # fmt: skip
    values = []
    for key, wanted in VALUES.items():
        stem, _, end = key.partition("_")
        heading = (
            end
            if end in ("low", "high")
            else {"moisture": "water", "specific": "specific"}.get(stem, "usual")
        )
        values.append(
            _typed(key, heading, PROPERTIES[wanted], groups[stem],
                   "h" if stem == "hours" else "of mass" if stem == "moisture" else "")
        )  # fmt: skip
    return (
        Column("resin", "Resin", "input", width=110, group="Name", unit="typed",
               rule=a_text(36, "Your own resin, as you type it on a line.")),
        Column("full", "full name, form", "input", width=206, group="Name", rule=a_text(120),
               shrink=True),
        *values,
        Column(
            "wet", "hydrolyzes", "input", width=62, align="center", group="Cautions",
            unit="if wet", rule=one_of("yes", "no", prompt="yes: melted wet it loses strength."),
        ),
        Column(
            "suffers", "suffers", "input", width=54, align="center", group="Cautions",
            unit="if long",
            rule=one_of("yes", "no", prompt="yes: held long at drying temperature it yellows or "
                        "degrades."),
        ),
        Column(
            "apart", "must never meet", "input", width=100, group="Cautions", unit="resin",
            rule=a_text(80, "Resins that must never be in the same dryer or hopper."), shrink=True,
        ),
        Column(
            "softens", "softens", "input", "temperature", show="temperature", width=56,
            group="Cautions",
            rule=quantity("temperature", "From this temperature amorphous material sticks."),
        ),
        Column(
            "softens_what", "what of it", "input", width=60, group="Cautions", unit="softens",
            rule=one_of("all", "regrind"),
        ),
        Column("caution", "for the customer", "input", width=56, group="Cautions", unit="no.",
               show="whole", align="left", rule=a_text(3, "Row of the cautions below."),
               fold=True),
        Column("source", "source", "input", width=420, group="Source", rule=a_text(400),
               unit="of bulk density; drying hours"),
        Column(
            "number", "listed", show="whole", width=50, group="For the lists", fold=True,
            formula='IF({resin}="","",COUNTIF({resin:down},"?*"))',
        ),
        Column(
            "key", "name without signs", width=110, group="For the lists", fold=True,
            formula=f'IF({{resin}}="","",{key_of("{resin}")})',
        ),
        Column(
            "offered", "offered on a line", width=110, group="For the lists", fold=True,
            formula='IF(ROWS({resin:down})>MAX({number:all}),"",'
            "INDEX({resin:all},MATCH(ROWS({resin:down}),{number:all},0)))",
        ),
    )  # fmt: skip


#: The user's rows, one row between, the built-in rows.
TABLE = Table(SHEET, _columns(), _FIRST, OWN_ROWS + 1 + len(resin_names()))
_FIRST_BUILT_IN = _FIRST + OWN_ROWS + 1


def _keys() -> list[tuple[str, int]]:
    """(name without signs, row within the table) of every name that means one resin."""
    found = []
    for at_row, resin in enumerate(resin_names(), OWN_ROWS + 2):
        for key in sorted({name_key(resin), *synonyms(resin)}):
            found.append((key, at_row))
    return found


def bare_columns(resin: str, group: str) -> tuple[Column, ...]:
    """Columns that take the words for its color off a resin's name, as job lists read it.

    Args:
        resin: placeholder of the cell with the name, in a row that is begun.
        group: of the columns.
    """
    return tuple(
        Column(key, heading, width=70, group=group, fold=True,
               formula=f'IF({{begun}}=0,"",{formula})')
        for (key, heading), formula in zip(_BARE, bare_formulas(resin), strict=True)
    )  # fmt: skip


#: (key, what it is) of the cells in which a name loses its colors, one after the other.
_BARE = (("words", "resin in words"), ("one_color_less", "without one color"),
         ("bare", "resin without color"))  # fmt: skip


def bare_formulas(resin: str) -> tuple[str, str, str]:
    """Formulas for the cells ``{words}``, ``{one_color_less}`` and ``{bare}``."""
    words = f"LOWER({resin})"
    for sign in ",()":
        words = f'SUBSTITUTE({words},"{sign}"," ")'
    words = f"TRIM({words})"
    last = words
    for sign in "-/_":
        last = f'SUBSTITUTE({last},"{sign}"," ")'
    last = f'TRIM(RIGHT(SUBSTITUTE({last}," ",REPT(" ",40)),40))'
    # "ABS-black": the color behind a sign is a word too.
    apart = f'LEFT({words},MAX(0,LEN({words})-LEN({last})-1))&" "&{last}'
    split = f'" "&IF(ISNUMBER(MATCH({last},color_words,0)),TRIM({apart}),{words})&" "'

    def less(cell: str) -> str:
        which = f'SUMPRODUCT(MAX(ISNUMBER(FIND(" "&color_words&" ",{cell}))*color_numbers))'
        return f'IF({which}=0,{cell},SUBSTITUTE({cell}," "&INDEX(color_words,{which})&" "," "))'

    return split, less("{words}"), f"TRIM({less('{one_color_less}')})"


def lookup_of(key: str, bare: str) -> str:
    """Formula of the key by which a resin is looked up.

    The whole name, if a row has it; else without its color; else without the number of a grade
    behind it ("PC 2407"), as job lists do.

    Args:
        key: cell with the name without signs.
        bare: cell with the name without colors, see :func:`bare_formulas`.
    """
    own = f"{SHEET}!${TABLE.letter('key')}${_FIRST}:${TABLE.letter('key')}${_FIRST + OWN_ROWS - 1}"

    def known(one: str) -> str:
        return f"OR(ISNUMBER(MATCH({one},{own},0)),ISNUMBER(MATCH({one},resin_keys,0)))"

    bare_key = key_of(bare)
    last = f'TRIM(RIGHT(SUBSTITUTE({bare}," ",REPT(" ",40)),40))'
    plain = last
    for sign in "./-":
        plain = f'SUBSTITUTE({plain},"{sign}","")'
    # Figures only, three or more; a filler ("GF20", "20 %") is no such number.
    grade = f"AND(LEN({plain})>2,ISNUMBER(-{plain}),LEN({bare})>LEN({last}))"
    cut = key_of(f"LEFT({bare},MAX(0,LEN({bare})-LEN({last})-1))")
    return (
        f'IF({key}="","",IF({known(key)},{key},IF({known(bare_key)},{bare_key},'
        f"IF(IF(ISERROR({grade}),FALSE,{grade}),IF({known(cut)},{cut},{key}),{key}))))"
    )


def row_of(key_cell: str, own: bool) -> str:
    """Formula of the row, within the table, of the resin whose key stands in a cell; 0 for none."""
    if own:
        column = TABLE.letter("key")
        span = f"{SHEET}!${column}${_FIRST}:${column}${_FIRST + OWN_ROWS - 1}"
        return (
            f'IF({key_cell}="",0,IF(ISNA(MATCH({key_cell},{span},0)),0,MATCH({key_cell},{span},0)))'
        )
    return (
        f'IF({key_cell}="",0,IF(ISNA(MATCH({key_cell},resin_keys,0)),0,'
        f"INDEX(resin_rows,MATCH({key_cell},resin_keys,0))))"
    )


def value_of(key: str, own: str, built_in: str) -> str:
    """Formula of a resin's value: the user's own, else the built-in one, else nothing.

    Args:
        key: column of the table.
        own: cell with the row of the user's own resin, 0 for none.
        built_in: cell with the row of the built-in resin, 0 for none.
    """
    column = TABLE.range(key)
    one = f"INDEX({column},MAX({own},1))"
    other = f"INDEX({column},MAX({built_in},1))"
    return (
        f'IF(AND({own}>0,{one}<>""),{one},IF(AND({built_in}>0,{other}<>""),'
        f'{_in_book_units(other, TABLE.column(key).quantity)},""))'
    )


#: US unit -> metric unit of what the built-in table holds.
_FACTORS = {
    "bulk density": (62.4279605761446, 0.0160184633739601),
    "specific heat": (1 / 4.1868, 4.1868),
}


def _in_book_units(cell: str, name: str) -> str:
    """A value of the built-in table, which stays in the units in which the book was made."""
    if name == "temperature":
        changed = f'IF(unit_system="US",{cell}*1.8+32,({cell}-32)/1.8)'
    elif name in _FACTORS:
        to_us, to_metric = _FACTORS[name]
        changed = f'{cell}*IF(unit_system="US",{to_us!r},{to_metric!r})'
    else:
        return cell
    return f"IF(unit_system=resin_table_units,{cell},{changed})"


# --- cautions -----------------------------------------------------------------------------


@lru_cache(maxsize=2)
def cautions(units: str) -> tuple[str, ...]:
    """The different texts for the customer, in the order in which resins come."""
    texts = (_caution(resin, units) for resin in resin_names())
    return tuple(dict.fromkeys(text for text in texts if text))


def _caution(resin: str, units: str) -> str:
    text = " ".join(each.text for each in hazards(resin, units) if each.customer)
    return text.replace(" degF", " °F").replace(" degC", " °C")


def _softens(resin: str, units: str) -> Hazard | None:
    found = [each for each in hazards(resin, units) if each.temperature is not None]
    return min(found, key=lambda each: each.temperature or 0.0, default=None)


def _built_in(resin: str, units: str) -> dict[str, Any]:
    """The cells of a built-in row, in the units in which the book is made."""
    row: dict[str, Any] = {"resin": resin, "full": full_name(resin)}
    for key, wanted in VALUES.items():
        value = stored_value(resin, wanted)
        if value is not None:
            row[key] = _typed_value(value.si, PROPERTIES[wanted], units)
    sources = [stored_value(resin, wanted) for wanted in ("bulk density", "drying hours")]
    row["source"] = "; ".join(value.source for value in sources if value is not None)
    listed = hazards(resin, units)
    if any(each.kind == "hydrolyzes" for each in listed):
        row["wet"] = "yes"
    if any(each.kind == "over-dried" for each in listed):
        row["suffers"] = "yes"
    others = dict.fromkeys(name for each in listed for name in each.others)
    if others:
        row["apart"] = ", ".join(others)
    softens = _softens(resin, units)
    if softens is not None and softens.temperature is not None:
        row["softens"] = _typed_value(softens.temperature, "temperature", units)
        row["softens_what"] = softens.only or "all"
    text = _caution(resin, units)
    if text:
        row["caution"] = cautions(units).index(text) + 1
    return row


def _typed_value(si: float, name: str, units: str) -> float:
    return float(f"{in_system(si, name, units):.6g}")


# --- the sheet ----------------------------------------------------------------------------


def write(book: Workbook, units: str) -> None:
    """Add the sheet; ``units`` are those that the texts of the cautions begin with."""
    sheet, _ = new_sheet(book, SHEET, "Resins")
    pen = write_grid(sheet, TABLE)
    # In B: column A is printed beside the second page too, and a text there would be cut.
    for where, text in (
        ("B2", "Your own resins go into the straw rows; they win, value by value, over the "
         "built-in table below."),
        ("B4", "Typical values to start from: measure the density; the resin maker's data sheet "
         "governs drying."),
    ):  # fmt: skip
        pen.put(where, text, "note", wrap=False, up="center")
    pen.put("B3", "A low density is safe for volume, a high one for load.", "alarm", wrap=False)
    between = _FIRST_BUILT_IN - 1
    letters = letters_between("A", TABLE.letter("source"))
    for letter in letters:
        pen.put(f"{letter}{between}", None, "section")
    pen.put(
        f"B{between}", f"Built-in table {TABLE_VERSION}, in {units} units: type nothing below",
        "section",
    )  # fmt: skip
    pen.put("G3", "The built-in table is in the units:", "label")
    pen.put("K3", units, "calc", at="center")
    pen.name("K3", "resin_table_units")
    for column in TABLE.columns:
        if column.formula:
            sheet[f"{TABLE.letter(column.key)}{between}"].value = None
    for validation in sheet.data_validations.dataValidation:
        letter = str(validation.sqref).rstrip("0123456789").partition("$")[0]
        letter = "".join(filter(str.isalpha, str(validation.sqref).partition(":")[0]))
        validation.sqref = type(validation.sqref)(f"{letter}{_FIRST}:{letter}{between - 1}")
    for row, resin in enumerate(resin_names(), _FIRST_BUILT_IN):
        cells = _built_in(resin, units)
        for column in TABLE.inputs:
            cell = put(
                sheet, TABLE.cell(column.key, row), cells.get(column.key), "calc",
                column.number_format, align=column.alignment,
            )  # fmt: skip
            if column.key == "apart":
                realign(cell, shrink_to_fit=True)
            if column.key == "full" and len(str(cell.value)) > _ONE_LINE:
                realign(cell, wrap_text=True)
                sheet.row_dimensions[row].height = 22
    _write_lists(book, units)
    sheet.freeze_panes = f"B{_FIRST}"
    # Two pages wide: names and values, then names and cautions. The sources are read on the screen.
    values, last = TABLE.letter("specific_heat"), TABLE.letter("softens_what")
    below = TABLE.last_row + 2 + max(1, len(cautions(units)))
    # The cautions apart: they stand under the values alone.
    table, texts = f"A1:{last}{TABLE.last_row}", f"A{TABLE.last_row + 2}:{values}{below}"
    landscape(sheet, f"{table},{texts}", letters_between("A", values), units, margin=0.2)
    sheet.col_breaks.append(Break(id=column_index_from_string(values)))
    sheet.print_title_cols = "A:A"
    sheet.print_title_rows = f"{_FIRST - 3}:{_FIRST - 1}"


def _write_lists(book: Workbook, units: str) -> None:
    """Other names of the resins, and the cautions for the customer, to the right and below."""
    sheet = book[SHEET]
    column = len(TABLE.columns) + 2
    keys = _keys()
    sheet.cell(_FIRST - 1, column, "other names, without signs").style = "Hopper unit"
    sheet.cell(_FIRST - 1, column + 1, "row").style = "Hopper unit"
    for row, (key, at_row) in enumerate(keys, _FIRST):
        sheet.cell(row, column, key).style = "Hopper plain"
        sheet.cell(row, column + 1, at_row).style = "Hopper plain"
    from openpyxl.utils import get_column_letter

    for offset, name in enumerate(("resin_keys", "resin_rows")):
        letter = get_column_letter(column + offset)
        define_name(book, name, f"{SHEET}!${letter}${_FIRST}:${letter}${_FIRST + len(keys) - 1}")
    words = sorted(COLORS)
    sheet.cell(_FIRST - 1, column + 3, "words for colors").style = "Hopper unit"
    for row, word in enumerate(words, _FIRST):
        sheet.cell(row, column + 3, word).style = "Hopper plain"
        sheet.cell(row, column + 4, row - _FIRST + 1).style = "Hopper plain"
    for offset, name in enumerate(("color_words", "color_numbers"), 3):
        letter = get_column_letter(column + offset)
        define_name(book, name, f"{SHEET}!${letter}${_FIRST}:${letter}${_FIRST + len(words) - 1}")
    offered = TABLE.letter("offered")
    define_name(book, "resin_list", f"{SHEET}!${offered}${_FIRST}:${offered}${TABLE.last_row}")
    first = TABLE.last_row + 3
    put(sheet, f"A{first - 1}", "Cautions for the customer, by number", "section")
    for number, text in enumerate(cautions(units), 1):
        put(sheet, f"A{first + number - 1}", number, "plain", align="left")
        row = first + number - 1
        put_across(sheet, f"B{row}:{TABLE.letter('specific_heat')}{row}", text, "text")
        sheet.row_dimensions[row].height = text_height(text, 130, 9)
    last = first + max(1, len(cautions(units))) - 1
    define_name(book, "caution_texts", f"{SHEET}!$B${first}:$B${last}")
