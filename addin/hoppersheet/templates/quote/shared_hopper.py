"""Sheet *Shared hopper*: several jobs on one hopper, in turn or at once.

A hopper of *Sizing* is shown here with all that its changes need to know, or jobs are tried before
they are quoted. What is quoted stands on *Sizing* alone: the jobs of one hopper have its name there
(``line_columns``, "shared"), the first of them has the hopper and its price.

In turn: the job with the largest needed volume decides the size; every other job is held longer and
may be over-dried, and at each change the hopper runs empty. At once: presses draw the same resin
from one hopper, and their rates add up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..layout import Column, Table, has_unit, unit_name
from ..validation import Rule, a_text, a_whole, one_of, quantity
from . import resins
from .grid import landscape, letters_between, new_sheet, write_grid
from .line_checks import SIZING
from .line_checks import TABLE as BEHIND
from .line_columns import ALMOST, SHARED_NAMES, TURNS, number
from .rows import highlight_errors, highlight_glyphs

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["SHEET", "TABLE", "write"]

SHEET = "Shared hopper"


def _live(formula: str) -> str:
    return f'IF({{begun}}=0,"",{formula})'


def _sized(formula: str) -> str:
    """Needs a hopper."""
    return _live(f'IF(ISNUMBER(shared_size),{formula},"")')


def _of(table: Table, key: str) -> str:
    return f"INDEX({table.range(key)},{{line_used}})"


def _used(key: str, typed: str, name: str) -> str:
    """From the line of Sizing, or as typed."""
    return _live(
        f'IF({{line_used}}<>"",{_of(SIZING, key)},IF({{{typed}}}="","",'
        f"{number('{' + typed + '}', name)}))"
    )


def _resin_value(key: str) -> str:
    return _live(resins.value_of(key, "{own_row}", "{table_row}"))


#: The place on Sizing of the job of this row, among those of the hopper that is looked at.
_PICKED = (
    f"SUMPRODUCT(({SIZING.range('shared')}=shared_pick)*({BEHIND.range('with_number')}="
    f"ROWS({{line:down}}))*{BEHIND.range('place')})"
)

TABLE = Table(
    SHEET, first_row=14, rows=12,
    columns=(
        Column("line", "line of\nSizing", "input", show="whole", width=50, align="center",
               group="Job: typed", unit="or blank",
               rule=a_whole(1, SIZING.reach, "Takes the job from that line. Blank: typed here.")),
        Column("job", "job", "input", width=84, group="Job: typed", wrap=True,
               rule=a_text(60)),
        Column("resin", "resin", "input", width=54, group="Job: typed", wrap=True,
               rule=Rule("list", "resin_list", says="a resin of the list", style="warning",
                         prompt="Own resins first.")),
        Column("density", "density", "input", "bulk density", width=46, group="Job: typed",
               rule=quantity("bulk density", "Of what is in the hopper: the blend.")),
        Column("rate", "rate", "input", "throughput", width=44, group="Job: typed",
               rule=quantity("throughput", "What the press really uses.")),
        Column("hours", "dry for", "input", show="hours typed", width=42, align="right",
               group="Job: typed", unit="h",
               rule=quantity("drying hours", "Hours as a number. The resin maker's data sheet "
                             "governs.")),
        Column("longest", "at most", "input", show="hours typed", width=54, align="right",
               group="Job: typed", unit="or table",
               rule=quantity("drying hours", "Longest time at drying temperature without harm.")),
        Column("line_used", "line", show="whole", width=28, group="Used", align="center",
               formula=f'IF(shared_pick="",IF({{line}}="","",{{line}}),IF({_PICKED}=0,"",{_PICKED}))'),
        Column("begun", "begun", show="whole", width=40, group="Used", fold=True,
               formula='IF(IF(shared_pick="",SUMPRODUCT(--({line}:{longest}<>"")),'
                       'LEN({line_used}))>0,1,0)'),
        Column("name", "job", width=84, group="Used", wrap=True,
               formula=_live(f'IF({{line_used}}<>"",{_of(SIZING, "job")},{{job}})&""')),
        Column("resin_used", "resin", width=50, group="Used", wrap=True,
               formula=_live(f'IF({{line_used}}<>"",{_of(SIZING, "resin")},{{resin}})&""')),
        Column("key", "resin without signs", width=70, group="Used", fold=True,
               formula=_live(resins.key_of("{resin_used}"))),
        *resins.bare_columns("{resin_used}", "Used"),
        Column("lookup", "resin as looked up", width=70, group="Used", fold=True,
               formula=_live(resins.lookup_of("{key}", "{bare}"))),
        Column("own_row", "own row", show="whole", width=50, group="Used", fold=True,
               formula=_live(resins.row_of("{lookup}", own=True))),
        Column("table_row", "built-in row", show="whole", width=50, group="Used", fold=True,
               formula=_live(resins.row_of("{lookup}", own=False))),
        Column("table_name", "its name", width=70, group="Used", fold=True,
               formula=_live(f'IF({{own_row}}+{{table_row}}=0,"",INDEX('
                             f"{resins.TABLE.range('resin')},MAX({{table_row}},"
                             "IF({table_row}=0,{own_row},0))))")),
        Column("apart", "must never meet", width=80, group="Used", fold=True,
               formula=_resin_value("apart")),
        Column("density_used", "density", quantity="bulk density", width=46, align="right",
               group="Used", formula=_used("blend", "density", "bulk density")),
        Column("heavy", "density for load", quantity="bulk density", width=70, align="right",
               group="Used", fold=True,
               formula=_live(f'IF({{line_used}}<>"",{_of(SIZING, "heavy")},'
                             'IF({density_used}="","",'
                             "MAX({density_used},N({table_high}),IF({table_high}=\"\","
                             "{density_used}*(1+load_allowance),0))))")),
        Column("table_high", "high density", quantity="bulk density", width=70, align="right",
               group="Used", fold=True, formula=_resin_value("density_high")),
        Column("feed", "rate", quantity="throughput", width=44, align="right", group="Used",
               formula=_used("rate_used", "rate", "throughput")),
        Column("through", "rate through the hopper", quantity="throughput", width=56,
               align="right", group="Used", fold=True,
               formula=_live('IF(shared_turn="at once",shared_rate,{feed})')),
        Column("hours_used", "dry for", show="hours typed", width=42, align="right",
               group="Used", unit="h",
               formula=_live(f'IF({{line_used}}<>"",IF({_of(SIZING, "hours")}="","",'
                             f'{_of(SIZING, "hours")}),IF({{hours}}="","",{{hours}}))')),
        Column("longest_used", "at most", show="hours typed", width=48, align="right",
               group="Used", unit="h",
               formula=_live('IF({longest}<>"",{longest},'
                             + resins.value_of("hours_high", "{own_row}", "{table_row}") + ")")),
        Column("needs", "needs", quantity="volume", width=44, align="right", group="Size",
               bold=True,
               formula=_live('IF(OR({feed}="",{hours_used}="",{density_used}=""),"",'
                             f"HOPPER_REQUIRED_VOLUME({{through}},{{hours_used}},{{density_used}},"
                             f'IF({{line_used}}="",0,{_of(SIZING, "reserve_used")}),'
                             "unit_system))")),
        Column("held", "held, full", show="hours held", width=52, align="right",
               group="In this hopper", unit="h",
               formula=_sized("HOPPER_HELD_HOURS(shared_size*shared_split,{density_used},"
                              "{through},unit_system)")),
        Column("contents", "contents", quantity="mass", width=52, align="right",
               group="In this hopper",
               formula=_sized("HOPPER_HELD_MASS(shared_size*shared_split,{density_used},unit_system)")),
        Column("first", "first dry\npart", show="hours typed", width=50, align="right",
               group="At a change", unit="h, filled",
               formula=_sized("{hours_used}")),
        Column("out", "runs\nout in", show="hours held", width=44, align="right",
               group="At a change", unit="h", formula=_sized("{held}")),
        Column("fill", "fill at\nmost", show="whole share", width=52, align="right",
               group="At a change", unit="not over",
               formula=_sized('IF({longest_used}="","",MIN(1,{longest_used}/{held}))')),
        Column("short", "short", show="whole", width=40, group="State", fold=True,
               formula=_sized(f"IF({{held}}<{{hours_used}}*{ALMOST},1,0)")),
        Column("over", "over-dried", show="whole", width=40, group="State", fold=True,
               formula=_sized(f'IF({{longest_used}}="",0,IF({{held}}*{ALMOST}>{{longest_used}},1,0))')),
        Column("apart_there", "a hopper of its own on Sizing", show="whole", width=40,
               group="State", fold=True,
               formula=_live(f'IF({{line_used}}="",0,IF({_of(SIZING, "shared")}="",1,0))')),
        Column(
            "meets", "meets", show="whole", width=40, group="State", fold=True,
            formula=_live(
                'IF({apart}="",0,SUMPRODUCT(({table_name:all}<>"")*ISNUMBER(SEARCH(", "&'
                '{table_name:all}&",",", "&{apart}&","))))'
            ),
        ),
        Column(
            "state", "state", "check", width=122, group="State", wrap=True,
            formula=_live(
                'IF(ISERROR({needs}),"■ in error: density, rate or hours",'
                'IF({needs}="","○ unfinished: density, rate or hours",'
                'IF({meets}>0,"■ must never meet "&{apart},'
                'IF(N({short})=1,"▼ short of "&{hours_used}&" h",'
                'IF(N({over})=1,"▲ full, it is over-dried: fill less",'
                'IF({longest_used}="","▲ longest time not known","● held"))))))'
            ),
        ),
    ),
)  # fmt: skip


def _t(key: str) -> str:
    return TABLE.range(key)


def _as_quoted(key: str, otherwise: str) -> str:
    """What Sizing has of the hopper that is looked at, or what is typed here."""
    quoted = f"INDEX({SIZING.range(key)},INDEX({_t('line_used')},1))"
    return f'IF(OR(shared_pick="",shared_jobs=0),{otherwise},{quoted})'


_TYPED = f"$A${TABLE.first_row}:${TABLE.letter('longest')}${TABLE.last_row}"
_MODEL = _as_quoted("model", 'shared_model&""')
_FIELDS = (
    ("Hopper of Sizing", "shared_pick", None,
     one_of(*SHARED_NAMES, prompt="Shows the lines of Sizing that share this hopper. Blank: the "
            "jobs typed below."), "", "General",
     '=IF(shared_pick="","Blank: jobs typed below, to try.",'
     'IF(shared_jobs=0,"No line of Sizing shares this hopper.","As quoted on Sizing"&'
     f'IF(SUMPRODUCT(--({_TYPED}<>""))>0,"; jobs below do not count.",".")))'),
    ("Jobs run", "shared_mode", None,
     one_of(*TURNS, prompt="Blank: in turn, one after the other, empty between. at once: "
            "presses with the same resin."), "", "General",
     "at once: one resin, and the rates add up."),
    ("Hopper", "shared_model", None,
     Rule("list", "catalog_models", says="a model of the Catalog", prompt="Blank: the next size."),
     "", "General", "Blank: the next size up."),
    ("Jobs", "shared_jobs", f"=SUM({_t('begun')})", None, "", "0_)", ""),
    ("They run", "shared_turn",
     "=IF(" + _as_quoted("at_once", 'IF(shared_mode="at once",1,0)') + '=1,"at once","in turn")',
     None, "", "General", ""),
    ("Hoppers, one rate", "shared_split", "=" + _as_quoted("split_used", "1"), None, "",
     "0_)", ""),
    ("Rate of all", "shared_rate",
     f'=IF(COUNT({_t("feed")})<shared_jobs,"",SUM({_t("feed")}))', None, "throughput",
     "[<100]0.0_);#,##0_)", ""),
    ("Needed volume", "shared_required",
     f'=IF(shared_jobs=0,"",IF(COUNT({_t("needs")})<shared_jobs,"",MAX({_t("needs")})))', None,
     "volume", "[<100]0.0_);#,##0_)", ""),
    ("Decided by", "shared_by",
     f'=IF(shared_required="","",IF(shared_turn="at once","all of them",INDEX({_t("name")},'
     f'MATCH(shared_required,{_t("needs")},0))))',
     None, "", "General", ""),
    ("Usable size", "shared_size",
     f'=IF(shared_required="","",IF({_MODEL}="",IF(MAX(catalog_volumes)*shared_split<'
     f'shared_required*{ALMOST},"none",HOPPER_NEXT_SIZE(shared_required/shared_split,'
     "catalog_volumes,0,unit_system)),"
     f"INDEX(catalog_volumes,MATCH({_MODEL},catalog_models,0))))", None, "volume",
     "[<100]0.0_);#,##0_)", ""),
    ("Model", "shared_model_used",
     '=IF(ISNUMBER(shared_size),HOPPER_CATALOG_ENTRY(shared_size,catalog_volumes,catalog_models,'
     'unit_system),shared_size&"")', None, "", "General", ""),
    ("Loaded, heaviest", "shared_load",
     "=IF(ISNUMBER(shared_size),HOPPER_LOADED_MASS(INDEX(catalog_empty_masses,"
     "MATCH(shared_model_used,catalog_models,0)),INDEX(catalog_gross,"
     f'MATCH(shared_model_used,catalog_models,0)),MAX({_t("heavy")}),unit_system),"")', None,
     "mass", "#,##0_)", "A throat, stand or mezzanine is for a licensed engineer."),
    ("Different resins", "shared_resins",
     f'=IF(shared_jobs=0,0,SUMPRODUCT(({_t("key")}<>"")/COUNTIF({_t("key")},{_t("key")}&"")))',
     None, "", "0_)", '=IF(AND(shared_turn="at once",shared_resins>1.5),'
     '"STOP: one hopper holds one resin at a time","")'),
)  # fmt: skip

#: So many of them stand on the left.
_LEFT = 6

_COUNTS = (
    ("Must never meet", "shared_meets",
     f'=SUM({_t("meets")})+IF(AND(shared_turn="at once",shared_resins>1.5),1,0)'),
    ("Errors", "shared_errors", f'=SUMPRODUCT(--ISERROR({_t("needs")}))+ISERROR(shared_size)'),
    ("Held too short", "shared_short", f'=SUM({_t("short")})'),
    ("May be over-dried", "shared_over", f'=SUM({_t("over")})'),
    ("Sold apart on Sizing", "shared_apart",
     f'=IF(OR(shared_pick<>"",COUNT({_t("line")})<2),0,SUM({_t("apart_there")}))'),
)  # fmt: skip


def write(book: Workbook, units: str) -> None:
    """Add the sheet."""
    sheet, pen = new_sheet(
        book, SHEET, "Shared hopper: several jobs, one hopper",
        "In turn: it runs empty between two resins, and is cleaned. Held: all resin moves at one "
        "pace (plug flow).",
    )  # fmt: skip
    write_grid(sheet, TABLE, row_px=29)
    # What is picked and how it runs on the left, what follows from it beside it.
    right = [TABLE.letter(key) for key in ("resin_used", "feed", "hours_used", "needs", "held")]
    for n, (label, name, formula, rule, measure, fmt, note) in enumerate(_FIELDS):
        row = 4 + (n if n < _LEFT else n - _LEFT)
        at, value, end, beside = (
            ("A", "C", "D", "E") if n < _LEFT else (right[0], right[2], right[3], right[4])
        )
        text = f'="{label}, "&{unit_name(measure)}' if has_unit(measure) else label
        pen.put(f"{at}{row}", text, "label")
        where = f"{value}{row}:{end}{row}"
        if rule is not None:
            pen.typed(where, rule, label, formula, fmt, name=name, at="left")
        else:
            pen.put(where, formula, "calc", fmt, at="left" if fmt == "General" else "right")
            pen.name(f"{value}{row}", name)
        pen.put(f"{beside}{row}", note or None, "note", wrap=False, up="center", indent=1)
    letter = TABLE.letter("state")
    for row, (label, name, formula) in enumerate(_COUNTS, 4):
        pen.put(f"{TABLE.letter('first')}{row}", label, "label")
        pen.put(f"{letter}{row}", formula, "calc", "0_)", at="right")
        pen.name(f"{letter}{row}", name)
    state = TABLE.letter("state")
    highlight_glyphs(sheet, f"{state}{TABLE.first_row}:{state}{TABLE.last_row}")
    first = TABLE.letter("density_used")
    highlight_errors(sheet, f"{first}{TABLE.first_row}:{TABLE.letter('fill')}{TABLE.last_row}")
    landscape(sheet, f"A1:{state}{TABLE.last_row}", letters_between("A", state), units, margin=0.2)
