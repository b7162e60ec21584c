"""Sheet *Shared hopper*: several jobs take turns on one hopper; which one decides its size?

The job with the largest required volume governs. Every other job is then held longer than it
needs, and may be over-dried: its hours held are compared with the upper hours of its resin, and
the fill and the throughput at which it is neither held too short nor too long are shown.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..layout import Column, Field, Table, put_across, start_sheet, write_fields, write_table
from ..styles import failed, noticed
from ..validation import Rule, a_share, a_text, a_whole, quantity
from .resins import NO_VALUE
from .rows import highlight_errors, print_in_parts, when
from .sizing import TABLE as SIZING
from .sizing_columns import LONGEST_JOB, LONGEST_RESIN

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["SHEET", "TABLE", "write"]

SHEET = "Shared hopper"


def _live(formula: str) -> str:
    return f'IF({{number}}="","",{formula})'


def _sized(formula: str) -> str:
    """Needs a hopper."""
    return _live(f'IF(shared_size="","",{formula})')


def _of(key: str) -> str:
    return f"INDEX({SIZING.range(key)},{{line}})"


def _used(sizing: str, key: str, name: str) -> str:
    """From the line of Sizing, or as typed; #N/A while it is missing."""
    words = name.replace(" ", "_")
    return _live(
        f'IF({{line}}<>"",{_of(sizing)},IF({{{key}}}="",NA(),'
        f"HOPPER_CONVERT({{{key}}},typed_{words},unit_{words})))"
    )


_UPPER = 'HOPPER_RESIN({resin_used},"drying hours high",own_resins,unit_system)'
_VOLUME = "{feed},{hours_used},{density_used},{reserve_used},unit_system"
_HELD = "shared_size,{density_used},{feed},unit_system"

TABLE = Table(
    SHEET,
    first_row=17,
    rows=12,
    reach=60,
    columns=(
        Column(
            "number", "No.", show="whole", width=5, align="center", group="Job",
            formula="?",
        ),
        Column(
            "line", "Line of Sizing", "input", width=8, align="center", group="Job",
            rule=a_whole(1, SIZING.reach, "Takes the job from that line. Blank: typed here."),
        ),
        Column(
            "job", "Job", "input", width=24, group="Job", wrap=True, rule=a_text(LONGEST_JOB)
        ),
        Column(
            "resin", "Resin", "input", width=18, group="Job", wrap=True, rule=a_text(LONGEST_RESIN)
        ),
        Column(
            "density", "Bulk density, typed", "input", "bulk density", width=10, group="Job",
            rule=quantity(
                "bulk density", "Of what is in the hopper: the blend, where there is regrind."
            ),
        ),
        Column(
            "throughput", "Throughput, typed", "input", "throughput", width=11, group="Job",
            rule=quantity("throughput", "What the machine really uses."),
        ),
        Column(
            "hours", "Drying time, typed", "input", "drying hours", width=9, unit="h",
            group="Job",
            rule=quantity(
                "drying hours", "Hours as a number. The resin maker's data sheet governs."
            ),
        ),
        Column(
            "upper", "Upper hours, typed", "input", "drying hours", width=9, unit="h",
            group="Job",
            rule=quantity(
                "drying hours",
                "The longest time at drying temperature that the resin takes without harm. Blank: "
                "as Resins says.",
            ),
        ),
        Column(
            "reserve", "Reserve\n(blank: none)", "input", show="share", width=9, group="Job",
            rule=a_share(prompt="Extra volume on top, 0 % to 100 %. Blank: none."),
        ),
        Column(
            "job_used", "Job", width=24, group="As calculated", wrap=True,
            formula=_live(f'IF({{line}}<>"",{_of("job")},{{job}})&""'),
        ),
        Column(
            "resin_used", "Resin", width=18, group="As calculated", wrap=True,
            formula=_live(f'IF({{line}}<>"",{_of("resin")},{{resin}})&""'),
        ),
        Column(
            "density_used", "Bulk density", quantity="bulk density", width=9,
            group="As calculated", formula=_used("blend", "density", "bulk density"),
        ),
        Column(
            "feed", "Throughput", quantity="throughput", width=11, group="As calculated",
            formula=_used("throughput_used", "throughput", "throughput"),
        ),
        Column(
            "hours_used", "Drying time", show="hours", unit="h", width=8, group="As calculated",
            formula=_live(
                f'IF({{line}}<>"",IF({_of("hours")}="",NA(),{_of("hours")}),'
                'IF({hours}="",NA(),{hours}))'
            ),
        ),
        Column(
            "upper_used", "Upper hours", show="hours", unit="h", width=9, align="right",
            group="As calculated",
            formula=_live(
                f'IF({{upper}}<>"",{{upper}},IF({{resin_used}}="","{NO_VALUE}",'
                f'IF(ISNA({_UPPER}),"{NO_VALUE}",{_UPPER})))'
            ),
        ),
        Column(
            "reserve_used", "Reserve", show="share", width=8, group="As calculated",
            formula=_live(f'IF({{line}}<>"",N({_of("reserve")}),N({{reserve}}))'),
        ),
        Column(
            "required", "Required volume", quantity="volume", width=10, group="Size",
            formula=_live(f"HOPPER_REQUIRED_VOLUME({_VOLUME})"),
        ),
        Column(
            "governs", "Governs?", "check", width=10, align="center", group="Size",
            formula=_live(
                "IF(ISNUMBER(shared_required),IF({required}=shared_required,"
                '"governs",""),NA())'
            ),
        ),
        Column(
            "held", "Hours held, hopper full", show="hours", unit="h", width=9,
            group="In this hopper",
            formula=_sized(f"HOPPER_HELD_HOURS({_HELD})"),
        ),
        Column(
            "enough", "Held long enough?", "check", width=13, align="center",
            group="In this hopper",
            formula=_sized(
                'IF({held}>={hours_used}*0.999999999,"yes",'
                '"no, "&ROUND(100*(1-{held}/{hours_used}),1)&" % short")'
            ),
        ),
        Column(
            "over", "Over-dried?", "check", width=20, align="center", group="In this hopper",
            formula=_sized(
                f'IF({{upper_used}}="{NO_VALUE}","not known",'
                'IF({upper_used}<{hours_used},"upper below drying time",'
                'IF({held}<={upper_used}*1.000000001,"no",'
                '"yes, "&ROUND({held}-{upper_used},1)&" h too long")))'
            ),
        ),
        Column(
            "least_fill", "Fill at least", show="share", width=9, group="In this hopper",
            formula=_sized("{required}/shared_size"),
        ),
        Column(
            "most_fill", "Fill at most", show="share", width=9, align="right",
            group="In this hopper",
            formula=_sized(
                f'IF({{upper_used}}="{NO_VALUE}","{NO_VALUE}",MIN(1,'
                "HOPPER_REQUIRED_VOLUME({feed},{upper_used},{density_used},0,unit_system)"
                "/shared_size))"
            ),
        ),
        Column(
            "least", "Lowest throughput, full", quantity="throughput", width=11, align="right",
            group="Throughput served",
            formula=_sized(
                f'IF({{upper_used}}="{NO_VALUE}","{NO_VALUE}",'
                "HOPPER_MAX_THROUGHPUT(shared_size,{density_used},{upper_used},unit_system))"
            ),
        ),
        Column(
            "most", "Highest throughput, full", quantity="throughput", width=11,
            group="Throughput served",
            formula=_sized(
                "HOPPER_MAX_THROUGHPUT(shared_size,{density_used},{hours_used},unit_system)"
            ),
        ),
        Column(
            "in_words", "In words: the calculation, or what is wrong", "check", width=120,
            group="State", wrap=True,
            formula=_live(
                'IF(ISNUMBER({required}),IF(ISERROR({upper_used}),'
                'HOPPER_EXPLAIN("HOPPER_RESIN",{resin_used},"drying hours high",own_resins,'
                f'unit_system),HOPPER_EXPLAIN("HOPPER_REQUIRED_VOLUME",{_VOLUME})),'
                'IF({line}<>"","see the line on Sizing",'
                'IF(OR({density}="",{throughput}="",{hours}=""),"to do: "&MID('
                'IF({density}="",", bulk density","")&IF({throughput}="",", throughput","")&'
                'IF({hours}="",", drying time",""),3,99),'
                'IF(ISERROR({density_used}&{feed}&{hours_used}),"a typed figure is not a number",'
                f'HOPPER_EXPLAIN("HOPPER_REQUIRED_VOLUME",{_VOLUME})))))'
            ),
        ),
    ),
)  # fmt: skip


def _numbered(table: Table) -> Table:
    """Fill in "number": a row counts as soon as anything is typed into it."""
    typed = ",".join(f"{{{column.key}}}" for column in table.inputs)
    first = Column(
        "number", "No.", show="whole", width=5, align="center", group="Job",
        formula=f'IF(COUNTA({typed})=0,"",ROWS({{number:above}}))',
    )  # fmt: skip
    return Table(table.sheet, (first, *table.columns[1:]), table.first_row, table.rows, table.reach)


TABLE = _numbered(TABLE)
_T = TABLE.range

_FIELDS = (
    Field(
        "Hopper model (blank: next size)", "shared_model",
        rule=Rule("list", "catalog_models", says="a model of the sheet Catalog",
                  prompt="Blank: the next size for the job that governs, by the policy of Sizing."),
        note="The hopper that the jobs take turns on.",
    ),
    Field(
        "Jobs", "shared_jobs", "calc", f"=COUNT({_T('number')})", show="whole",
        note="A row counts as soon as anything is typed into it.",
    ),
    Field(
        "Required volume", "shared_required", "calc",
        '=IF(shared_jobs=0,"",IF(COUNT('
        f"{_T('required')})<shared_jobs,NA(),MAX({_T('required')})))",
        quantity="volume", show="volume",
        note='=IF(shared_jobs=0,"",IF(ISNUMBER(shared_required),"Governed by "&'
        f"INDEX({_T('job_used')},MATCH(shared_required,{_T('required')},0))&\".\","
        '"A job is incomplete: see In words."))',
    ),
    Field(
        "Hopper size", "shared_size", "calc",
        '=IF(shared_jobs=0,"",IF(shared_model="",HOPPER_NEXT_SIZE(shared_required,'
        "catalog_volumes,allowed_shortfall,unit_system),"
        "INDEX(catalog_volumes,MATCH(shared_model,catalog_models,0))))",
        quantity="volume", show="volume",
    ),
    Field(
        "Model", "shared_model_used", "calc",
        '=IF(shared_jobs=0,"",IF(shared_model<>"",shared_model,'
        "HOPPER_CATALOG_ENTRY(shared_size,catalog_volumes,catalog_models)))",
    ),
    Field(
        "Jobs held too short", "shared_short", "check",
        f'=IF(shared_jobs=0,"",COUNTIF({_T("enough")},"no*"))', show="whole",
    ),
    Field(
        "Jobs over-dried when full", "shared_over", "check",
        f'=IF(shared_jobs=0,"",COUNTIF({_T("over")},"yes*"))', show="whole",
        note="Fill the hopper only as far as Fill at most says, or lower the temperature as the "
        "resin maker advises.",
    ),
    Field(
        "Upper hours not known", "shared_unknown", "check",
        f'=IF(shared_jobs=0,"",COUNTIF({_T("over")},"not known")'
        f'+COUNTIF({_T("over")},"upper*"))', show="whole",
        note="Ask the resin maker how long the resin may stay at its drying temperature.",
    ),
)  # fmt: skip
_FIRST_FIELD = 4


def write(book: Workbook) -> None:
    """Add the sheet."""
    last = TABLE.letter(TABLE.columns[-1].key)
    sheet = start_sheet(
        book, SHEET, "Shared hopper", last,
        "Jobs that take turns on one hopper. Quote it as one line of Sizing: the job that governs.",
    )  # fmt: skip
    write_table(sheet, TABLE, heading_height=54, row_height=27)
    write_fields(
        book, sheet, _FIELDS, _FIRST_FIELD,
        {"label": "A:C", "value": "D", "word": "E", "note": "F:N"},
    )  # fmt: skip
    put_across(
        sheet, f"A{_FIRST_FIELD + len(_FIELDS)}:P{_FIRST_FIELD + len(_FIELDS)}",
        "Upper hours: the resin maker's data sheet governs. The tables' figures are the upper end "
        "of the drying time that is usually stated, not a proven limit of over-drying.", "alarm",
    )  # fmt: skip
    for key, text, look in (
        ("enough", "no", failed()), ("over", "yes", noticed()), ("over", "upper", noticed()),
        ("over", "not", noticed()),
    ):  # fmt: skip
        letter = TABLE.letter(key)
        cell = f"{letter}{TABLE.first_row}"
        when(sheet, f"{cell}:{letter}{TABLE.last_row}", f'LEFT({cell},{len(text)})="{text}"', look)
    highlight_errors(sheet, f"A{TABLE.first_row}:{last}{TABLE.last_row}")
    highlight_errors(sheet, f"D{_FIRST_FIELD}:D{_FIRST_FIELD + len(_FIELDS) - 1}")
    sheet.freeze_panes = f"B{TABLE.first_row}"
    print_in_parts(sheet, "", TABLE.letter("most"), scale=41)
