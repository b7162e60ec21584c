"""Sheet *Sizing*: one row per line of the quote, columns in the order of the calculation."""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.utils import column_index_from_string
from openpyxl.worksheet.pagebreak import Break

from ..cautions import CAUTIONS
from ..layout import Field, Table, put_across, realign, start_sheet, write_fields, write_table
from ..styles import noticed
from ..validation import a_share, amount, one_of
from .rows import highlight_states, when
from .sizing_columns import COLUMNS
from .steps import IN_SHORT

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["POLICIES", "SETTINGS", "TABLE", "write"]

#: The stated policy of a quote on "which of two sizes?".
POLICIES = ("always next", "below allowed")

TABLE = Table("Sizing", COLUMNS, first_row=15, rows=20, reach=200)

SETTINGS = (
    Field(
        "Figures are typed in", "typed_units", value="US",
        rule=one_of(
            "US", "metric",
            prompt="The unit system of the figures that are typed on this sheet. Changing it does "
            "not convert them: retype what is there.",
        ),
        note='="Plain numbers are densities in "&typed_bulk_density&", throughputs in "&'
        'typed_throughput&"; 45 kg/h, typed with its unit, is converted. The book shows "&'
        'unit_system&" (sheet Quote)."',
    ),
    Field(
        "Which of two sizes?", "size_policy", value=POLICIES[0],
        rule=one_of(
            *POLICIES,
            prompt="always next: the smallest size that is large enough. below allowed: the size "
            "just below where it is short by no more than the percentage underneath.",
        ),
        note="The policy of this quote; each line can still choose otherwise, with a reason.",
    ),
    Field(
        "Below allowed within", "policy_shortfall", value=0.05, show="share",
        rule=a_share(0.5, "How much smaller than required a size may be, 0 % to 50 %."),
        note="Counts only where the policy is below allowed.",
    ),
    Field(
        "Shortfall allowed", "allowed_shortfall", "calc",
        f'=IF(size_policy="{POLICIES[0]}",0,IF(size_policy="{POLICIES[1]}",'
        'IF(policy_shortfall="",NA(),policy_shortfall),NA()))', show="share",
        note="What HOPPER_NEXT_SIZE is given by the policy.",
    ),
    Field(
        "Regrind over virgin density", "regrind_ratio", value=0.5,
        rule=amount(0.1, 1.2, "Estimated regrind density over virgin density."),
        note="For lines without a regrind density. Common practice, no source: about half. "
        "Measure when it matters.",
    ),
    Field(
        "Load allowance", "load_allowance", value=0.2, show="share",
        rule=a_share(1.0, "How much denser than for volume the resin is taken for the load."),
        note="For lines without a density for load. Compare EN 1991-1-1 Annex A: PE and PS "
        "granules 653 kg/m3 as a load, about 550 for volume.",
    ),
)  # fmt: skip


def write(book: Workbook) -> None:
    """Add the sheet."""
    last = TABLE.letter(COLUMNS[-1].key)
    sheet = start_sheet(book, TABLE.sheet, "Sizing", last)
    write_fields(
        book, sheet, SETTINGS, 3, {"label": "D:F", "value": "G:H", "word": "I", "note": "J:W"}
    )
    for row in range(3, 3 + len(SETTINGS)):
        sheet.row_dimensions[row].height = 16
        realign(sheet[f"J{row}"], wrap_text=False, vertical="center")
    for row, line in enumerate(IN_SHORT, 3 + len(SETTINGS)):
        put_across(sheet, f"D{row}:W{row}", line, "note")
        realign(sheet[f"D{row}"], wrap_text=False, vertical="center")
        sheet.row_dimensions[row].height = 16
    write_table(sheet, TABLE, heading_height=54, row_height=27)
    # Beside the loaded mass, the caution that belongs to it.
    beside = f"{TABLE.letter('load_density')}8:{TABLE.letter('line_total')}10"
    put_across(sheet, beside, f"{CAUTIONS[2]} {CAUTIONS[1].split('. ', 1)[1]}", "alarm")
    highlight_states(sheet, TABLE, "state")
    for key in ("regrind_is", "holds"):
        letter = TABLE.letter(key)
        first = f"{letter}{TABLE.first_row}"
        look = "estimated" if key == "regrind_is" else "no"
        when(
            sheet, f"{first}:{letter}{TABLE.last_row}",
            f'LEFT({first},{len(look)})="{look}"', noticed(),
        )  # fmt: skip
    sheet.freeze_panes = f"C{TABLE.first_row}"
    sheet.print_title_rows = f"{TABLE.first_row - 3}:{TABLE.first_row - 1}"
    sheet.print_title_cols = "A:B"
    sheet.page_setup.orientation = "landscape"
    # Printed in parts that belong together, each with the line and the job beside it.
    sheet.sheet_properties.pageSetUpPr.fitToPage = False
    sheet.page_setup.scale = 58
    sheet.print_area = f"A1:{last}{TABLE.last_row}"
    for key in ("required", "price_next", "reason_kept", "state"):
        sheet.col_breaks.append(Break(id=column_index_from_string(TABLE.letter(key))))
