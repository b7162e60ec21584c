"""Sheet *Dryer*: what stands behind the hoppers, for each line and for each dryer that they share.

Room air and drying air above; below it one row per line of *Sizing* with airflow, heat and water.
What is not typed comes from *Resins*; what neither has is "not stated", and no total hides it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..layout import (
    Column,
    Field,
    Table,
    put_across,
    realign,
    start_sheet,
    unit_name,
    write_fields,
    write_table,
)
from ..styles import noticed
from ..validation import a_text, one_of, quantity
from .resins import NO_VALUE, of_line
from .resins import TABLE as RESINS
from .rows import highlight_errors, print_in_parts, when
from .sizing import TABLE as SIZING

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["LINES", "NOT_STATED", "SETTINGS", "TOTALS", "write"]

#: What a figure says when an input for it is given nowhere.
NOT_STATED = "not stated"
_FIRST_SETTING = 4


def _shown(cell: str, name: str) -> str:
    """A typed figure in the units that the book is shown in."""
    return f"HOPPER_CONVERT({cell},{unit_name(name, typed=True)},{unit_name(name)})"


def _known(*names: str) -> str:
    return "OR(" + ",".join(f'{name}=""' for name in names) + ")"


SETTINGS = (
    Field(
        "Room temperature", "room_temperature", quantity="room temperature", show="typed",
        rule=quantity("room temperature", "The room around the dryer; the resin enters so warm."),
    ),
    Field(
        "Relative humidity of the room", "room_humidity", show="share",
        rule=quantity("relative humidity", "On a humid day, 0 % to 100 %."),
    ),
    Field(
        "Altitude of the plant", "plant_altitude", quantity="altitude", show="typed",
        rule=quantity("altitude", "Above sea level. Blank: sea level."),
    ),
    Field(
        "Dew point of the drying air", "drying_dew_point", quantity="room temperature",
        show="typed",
        rule=quantity("room temperature", "As the dryer's maker states it, or as measured."),
        note="Below freezing: the frost point.",
    ),
    Field(
        "Airflow per throughput", "airflow_per_throughput", quantity="specific airflow",
        show="typed",
        rule=quantity(
            "specific airflow",
            "For lines that state none. Blank: 1 cfm per lb/h. The dryer's or resin maker's figure "
            "governs.",
        ),
        note="Blank: 1 cfm per lb/h (3.75 m3/h per kg/h), Society of Plastics Engineers, Jan 2001.",
    ),
    Field(
        "Airflows are", "airflow_is",
        rule=one_of(
            "actual", "standard",
            prompt="actual: at the temperature of the drying air. standard: at 20 degC (68 degF).",
        ),
        note="A standard flow (20 degC) is 34 % more actual flow at 120 degC: say which.",
    ),
    Field(
        "Room temperature", "room_temperature_used", "calc",
        f'=IF(room_temperature="","",{_shown("room_temperature", "room temperature")})',
        quantity="room temperature", show="temperature",
    ),
    Field(
        "Dew point of the room", "room_dew_point", "calc",
        f'=IF({_known("room_temperature", "room_humidity")},"",'
        "HOPPER_DEW_POINT(room_temperature_used,room_humidity,unit_system))",
        quantity="temperature", show="temperature", note="Frost point below freezing.",
    ),
    Field(
        "Water in the room air", "room_moisture", "calc",
        f'=IF({_known("room_temperature", "room_humidity")},"",'
        "HOPPER_AIR_MOISTURE(room_temperature_used,room_humidity,altitude_used,unit_system))",
        quantity="humidity ratio", show="humidity ratio",
    ),
    Field(
        "Water in the drying air", "drying_moisture", "calc",
        f'=IF(drying_dew_point="","",HOPPER_AIR_MOISTURE('
        f"{_shown('drying_dew_point', 'room temperature')},1,altitude_used,unit_system))",
        quantity="humidity ratio", show="humidity ratio",
    ),
    Field(
        "Room air is wetter by a factor of", "room_over_drying", "calc",
        '=IF(OR(room_moisture="",drying_moisture=""),"",room_moisture/drying_moisture)',
        show="factor", note="What reaches the resin if the drying air is not dry.",
    ),
    Field(
        "Altitude", "altitude_used", "calc",
        f'=IF(plant_altitude="",0,{_shown("plant_altitude", "altitude")})',
        quantity="altitude", show="whole",
    ),
    Field(
        "Water that open resin takes up", "", "calc", "no sourced value",
        note="Keep it closed, and measure its moisture (ISO 15512).",
    ),
)  # fmt: skip


def _live(formula: str) -> str:
    return f'IF({{line}}="","",{formula})'


def _sizing(key: str) -> str:
    return f"INDEX({SIZING.range(key)},{{line}})"


def _input(key: str, heading: str, name: str, group: str, prompt: str) -> Column:
    return Column(
        key, heading, "input", name, width=12, group=group, rule=quantity(name, prompt),
        show="moisture" if name == "moisture" else "typed",
    )  # fmt: skip


def _used(key: str, heading: str, name: str, group: str, resin_key: str, show: str) -> Column:
    """The typed figure, or else the tables' one, or else the word."""
    table = f"INDEX({RESINS.range(resin_key)},{{line}})"
    typed = _shown(f"{{{key}}}", name) if name != "moisture" else f"{{{key}}}"
    return Column(
        f"{key}_used", heading, quantity=name, show=show, width=10, align="right", group=group,
        formula=_live(
            f'IF({{{key}}}<>"",{typed},IF({table}="{NO_VALUE}","{NOT_STATED}",{table}))'
        ),
    )  # fmt: skip


def _from(key: str, group: str) -> Column:
    return Column(
        f"{key}_from", "from", width=13, align="center", group=group,
        formula=_live(
            f'IF({{{key}}}<>"","typed",IF({{{key}_used}}="{NOT_STATED}","{NOT_STATED}","Resins"))'
        ),
    )  # fmt: skip


_AIRFLOW = "{feed},{airflow_used},unit_system"
_HEAT = "{feed},{heat_used},room_temperature_used,{temperature_used},unit_system"
_WATER = "{feed},{moisture_in},{moisture_used},unit_system"

#: Row k belongs to row k of *Sizing*.
LINES = Table(
    "Dryer",
    first_row=25,
    rows=20,
    reach=200,
    columns=(
        Column(
            "line", "Line", show="whole", width=6, align="center", group="Line",
            formula=of_line("line"),
        ),
        Column(
            "job", "Job", width=27, group="Line", wrap=True,
            formula=_live(f'{_sizing("job")}&""'),
        ),
        Column(
            "resin", "Resin", width=18, group="Line", wrap=True,
            formula=_live(f'{_sizing("resin")}&""'),
        ),
        Column(
            "hoppers", "Hoppers", show="whole", width=8, align="center", group="Line",
            formula=_live(f'IF({_sizing("quantity")}="",NA(),{_sizing("quantity")})'),
        ),
        Column(
            "feed", "Throughput of all of them", quantity="throughput", width=11, group="Line",
            formula=_live(f"{_sizing('throughput_used')}*{{hoppers}}"),
        ),
        Column(
            "dryer", "Dryer\n(blank: its own)", "input", width=13, align="center", group="Air",
            rule=a_text(30, "Name of the dryer. Lines with the same name share it."),
        ),
        _input(
            "airflow", "Airflow per throughput, typed", "specific airflow", "Air",
            "Blank: the figure above.",
        ),
        Column(
            "airflow_used", "Airflow per throughput", quantity="specific airflow", width=11,
            group="Air",
            formula=_live(
                f'IF({{airflow}}<>"",{_shown("{airflow}", "specific airflow")},'
                'IF(airflow_per_throughput<>"",'
                f'{_shown("airflow_per_throughput", "specific airflow")},'
                f'HOPPER_CONVERT(1,"cfm/(lb/h)",{unit_name("specific airflow")})))'
            ),
        ),
        Column(
            "air", "Drying air", quantity="airflow", width=10, group="Air",
            formula=_live(f"HOPPER_AIRFLOW({_AIRFLOW})"),
        ),
        _input(
            "temperature", "Drying temperature, typed", "temperature", "Heat",
            "Blank: as Resins says. The resin maker's data sheet governs.",
        ),
        _used("temperature", "Drying temperature", "temperature", "Heat", "temperature",
              "temperature"),
        _from("temperature", "Heat"),
        _input(
            "heat", "Specific heat, typed", "specific heat", "Heat", "Blank: as Resins says.",
        ),
        _used("heat", "Specific heat", "specific heat", "Heat", "specific_heat", ""),
        _from("heat", "Heat"),
        Column(
            "power", "Heat to warm the resin", quantity="heat", width=13, align="right",
            group="Heat",
            formula=_live(
                f'IF(ISERROR({{temperature_used}}),{{temperature_used}},'
                f'IF(ISERROR({{heat_used}}),{{heat_used}},'
                f'IF(OR({{temperature_used}}="{NOT_STATED}",{{heat_used}}="{NOT_STATED}",'
                f'room_temperature_used=""),"{NOT_STATED}",HOPPER_HEAT({_HEAT}))))'
            ),
        ),
        _input(
            "moisture_in", "Moisture as fed", "moisture", "Water",
            "Water in the resin as it enters, of its wet mass: 0.2 % or 0.002. Measure it.",
        ),
        _input(
            "moisture", "Moisture dried, typed", "moisture", "Water",
            "Water in the dried resin, of its mass. Blank: the limit that Resins says.",
        ),
        _used("moisture", "Moisture dried", "moisture", "Water", "moisture", "moisture"),
        _from("moisture", "Water"),
        Column(
            "water", "Water removed per hour", quantity="throughput", width=11, align="right",
            show="water", group="Water",
            formula=_live(
                f'IF(ISERROR({{moisture_used}}),{{moisture_used}},'
                f'IF(OR({{moisture_in}}="",{{moisture_used}}="{NOT_STATED}"),"{NOT_STATED}",'
                f"HOPPER_WATER_REMOVED({_WATER})))"
            ),
        ),
        Column(
            "held", "Hours held", show="hours", unit="h", width=8, group="Time in hand",
            formula=_live(_sizing("hours_held")),
        ),
        Column(
            "hours", "Drying time", show="hours", unit="h", width=8, group="Time in hand",
            formula=_live(_sizing("hours")),
        ),
        Column(
            "hand", "Hours in hand", show="hours apart", unit="h", width=8, group="Time in hand",
            formula=_live("{held}-{hours}"),
        ),
        Column(
            "shared", "Shared dryer", width=11, group="State", align="center",
            formula=_live('{dryer}&""'),
        ),
        Column(
            "number", "Its number", show="whole", width=8, group="State", align="center",
            # Counts the different names so far, in the row where a name comes first.
            formula='IF(OR({line}="",{shared}=""),"",IF(COUNTIF({shared:down},{shared})>1,"",'
            'ROUND(SUMPRODUCT(({shared:down}<>"")/COUNTIF({shared:down},{shared:down}&"")),0)))',
        ),
        Column(
            "in_words", "In words: what is not stated, or what is wrong", "check", width=60,
            group="State", wrap=True,
            formula=_live(
                # A cell in error reaches no function of Calc: say where it comes from instead.
                'IF(ISERROR({feed}),"see the line on Sizing",'
                "IF(ISERROR({airflow_used}&{temperature_used}&{heat_used}&{moisture_used}),"
                '"a typed figure is not a number, or see In words on Resins",'
                f'IF(ISERROR({{air}}),HOPPER_EXPLAIN("HOPPER_AIRFLOW",{_AIRFLOW}),'
                f'IF(ISERROR({{power}}),HOPPER_EXPLAIN("HOPPER_HEAT",{_HEAT}),'
                f'IF(ISERROR({{water}}),HOPPER_EXPLAIN("HOPPER_WATER_REMOVED",{_WATER}),'
                f'IF(AND(ISNUMBER({{power}}),ISNUMBER({{water}})),"ok",'
                '"not stated: "&MID(IF(room_temperature_used="",", room temperature","")&'
                f'IF({{temperature_used}}="{NOT_STATED}",", drying temperature","")&'
                f'IF({{heat_used}}="{NOT_STATED}",", specific heat","")&'
                'IF({moisture_in}="",", moisture as fed","")&'
                f'IF({{moisture_used}}="{NOT_STATED}",", moisture dried",""),3,200)))))))'
            ),
        ),
    ),
)  # fmt: skip

_BAND = "Totals of the dryers that lines share"
_NAMES = LINES.range("shared")


def _sum(key: str) -> str:
    """Sum over the lines of the dryer; never over only some of them."""
    cells = LINES.range(key)
    mine = f"({_NAMES}={{name}})"
    return (
        f'IF({{name}}="","",IF(SUMPRODUCT({mine}*ISERROR({cells}))>0,NA(),'
        f'IF(SUMPRODUCT({mine}*ISTEXT({cells}))>0,"not all stated",'
        f"SUMIF({_NAMES},{{name}},{cells}))))"
    )


#: The named dryers in the order in which they first appear.
TOTALS = Table(
    "Dryer",
    first_row=8,
    rows=9,
    first_column=10,
    columns=(
        Column(
            "name", "Dryer", width=10, group=_BAND,
            formula=f'IF(ROWS({{name:above}})>MAX({LINES.range("number")}),"",'
            f"INDEX({_NAMES},MATCH(ROWS({{name:above}}),{LINES.range('number')},0)))",
        ),
        Column(
            "lines", "Lines", show="whole", width=9, align="center", group=_BAND,
            formula=f'IF({{name}}="","",COUNTIF({_NAMES},{{name}}))',
        ),
        Column(
            "hoppers", "Hoppers", show="whole", width=10, align="center", group=_BAND,
            formula=_sum("hoppers"),
        ),
        Column(
            "feed", "Throughput", quantity="throughput", width=10, group=_BAND,
            formula=_sum("feed"),
        ),
        Column(
            "air", "Drying air", quantity="airflow", width=9, group=_BAND, formula=_sum("air")
        ),
        Column(
            "power", "Heat to warm the resin", quantity="heat", width=13, align="right",
            group=_BAND, formula=_sum("power"),
        ),
        Column(
            "water", "Water removed per hour", quantity="throughput", show="water", width=10,
            align="right", group=_BAND, formula=_sum("water"),
        ),
        Column(
            "temperatures", "Drying temp- eratures", "check", width=10, align="center",
            group=_BAND,
            formula='IF({name}="","",IF(SUMPRODUCT('
            f"({_NAMES}={{name}})*ISNUMBER({LINES.range('temperature_used')}))<{{lines}},"
            f'"not all stated",IF(COUNTIFS({_NAMES},{{name}},{LINES.range("temperature_used")},'
            f"INDEX({LINES.range('temperature_used')},MATCH({{name}},{_NAMES},0)))={{lines}},"
            '"one","differ")))',
        ),
    ),
)  # fmt: skip


def write(book: Workbook) -> None:
    """Add the sheet."""
    last = LINES.letter(LINES.columns[-1].key)
    sheet = start_sheet(book, LINES.sheet, "Dryer", last)
    write_table(sheet, LINES, heading_height=54, row_height=27)
    write_fields(
        book, sheet, SETTINGS, _FIRST_SETTING,
        {"label": "A:B", "value": "C:D", "word": "E", "note": "F:I"},
    )  # fmt: skip
    for row in range(_FIRST_SETTING, _FIRST_SETTING + len(SETTINGS)):
        realign(sheet[f"F{row}"], vertical="center")
    widths = {
        letter: sheet.column_dimensions[letter].width
        for letter in (LINES.letter(column.key) for column in LINES.columns)
    }
    write_table(sheet, TOTALS, heading_height=40)
    for row in range(_FIRST_SETTING, _FIRST_SETTING + len(SETTINGS)):
        sheet.row_dimensions[row].height = 40 if row == TOTALS.heading_row else 24
    for letter, width in widths.items():
        sheet.column_dimensions[letter].width = width
    first, end = (TOTALS.letter(column.key) for column in (TOTALS.columns[0], TOTALS.columns[-1]))
    put_across(
        sheet, f"{first}{TOTALS.last_row + 1}:{end}{TOTALS.last_row + 2}",
        '="Airflows: "&IF(airflow_is="","not stated whether actual or standard",airflow_is)&". '
        "Heat: to warm the resin only; losses, exhaust air and evaporation come on top. Where the "
        'drying temperatures of one dryer differ, each hopper needs its own heater."', "note",
    )  # fmt: skip
    span = f"{last}{LINES.first_row}:{last}{LINES.last_row}"
    cell = span.partition(":")[0]
    when(sheet, span, f'AND({cell}<>"",{cell}<>"ok")', noticed())
    letter = LINES.letter("hand")
    cell = f"{letter}{LINES.first_row}"
    when(sheet, f"{cell}:{letter}{LINES.last_row}", f"AND(ISNUMBER({cell}),{cell}<0)", noticed())
    cell = f"{end}{TOTALS.first_row}"
    when(sheet, f"{cell}:{end}{TOTALS.last_row}", f'{cell}="differ"', noticed())
    highlight_errors(sheet, f"A{LINES.first_row}:{last}{LINES.last_row}")
    highlight_errors(sheet, f"{first}{TOTALS.first_row}:{end}{TOTALS.last_row}")
    highlight_errors(sheet, f"C{_FIRST_SETTING}:C{_FIRST_SETTING + len(SETTINGS) - 1}")
    sheet.freeze_panes = "C3"
    print_in_parts(sheet, "A:B", TOTALS.letter("temperatures"), scale=48)
