"""What cells show: errors, blanks, text, whole columns, arrays, tables."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from hoppersheet.functions import all_functions
from hoppersheet.hosts.calc import profiles, programs
from hoppersheet.hosts.calc.cell_values import comes_as_text
from hoppersheet.hosts.calc.office import Office
from hoppersheet.hosts.calc.worker_link import WorkerLink
from hoppersheet.registry import REQUIRED

pytestmark = pytest.mark.calc


def cell(office: Office, formula: str, cells: dict[str, Any] | None = None) -> Any:
    return office.evaluate(cells or {}, {"Z1": formula})["Z1"]


# --- errors -------------------------------------------------------------------------------

ERRORS = {
    "=HOPPER_HELD_MASS(16;0.55)": ("#NUM!", 6.0),
    '=HOPPER_HELD_MASS(16;"0.55 lb")': ("#VALUE!", 3.0),
    "=HOPPER_NEXT_SIZE(900;{10;16})": ("#N/A", 7.0),
}


@pytest.mark.parametrize("formula", ERRORS)
def test_an_error_is_the_exact_error_value(office: Office, formula: str) -> None:
    code, error_type = ERRORS[formula]
    values = office.evaluate(
        {},
        {
            "A1": formula,
            "A2": "=ISERROR(A1)",
            "A3": "=ISNA(A1)",
            "A4": "=IFERROR(A1;-7)",
            # Numbers of the errors: OpenDocument 1.2 part 2, 6.13.11 ERROR.TYPE.
            "A5": "=ERROR.TYPE(A1)",
            "A6": "=SUM(A1;5)",
        },
    )
    assert values == {
        "A1": code,
        "A2": 1.0,
        "A3": 1.0 if code == "#N/A" else 0.0,
        "A4": -7.0,
        "A5": error_type,
        "A6": code,
    }


@pytest.mark.parametrize(
    "error", ["#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A"]
)
def test_an_error_in_a_single_cell_comes_out_the_same(office: Office, error: str) -> None:
    assert cell(office, "=HOPPER_HELD_MASS(A1;36.5)", {"A1": error}) == error


def test_an_error_in_a_range_of_numbers_is_an_error_like_any_other(office: Office) -> None:
    # Calc does not call a function with such a range and shows Err:504, whatever the error was.
    cells = {"A1": 0.5, "A2": 0.5, "B1": 34, "B2": "#N/A"}
    values = office.evaluate(
        cells,
        {
            "C1": "=HOPPER_BLEND_DENSITY(A1:A2;B1:B2)",
            "C2": "=ISERROR(C1)",
            "C3": "=IFERROR(C1;-7)",
            "C4": "=ISERROR(SUM(C1;5))",
        },
    )
    assert values == {"C1": "#VALUE!", "C2": 1.0, "C3": -7.0, "C4": 1.0}


def test_an_error_in_a_computed_array_comes_out_the_same(office: Office) -> None:
    cells = {"A1": 10, "A2": "#DIV/0!"}
    value = office.evaluate(cells, {"C1:C2": "=HOPPER_NEXT_SIZE(5;A1:A2*1)"})["C1:C2"]
    assert value == [["#DIV/0!"], ["#DIV/0!"]]


def test_an_error_in_a_catalog_column_harms_only_its_own_row(office: Office) -> None:
    cells = {"A1": 10, "A2": 16, "B1": "#NUM!", "B2": "B-16"}
    assert cell(office, "=HOPPER_CATALOG_ENTRY(16;A1:A2;B1:B2)", cells) == "B-16"
    assert cell(office, "=HOPPER_CATALOG_ENTRY(10;A1:A2;B1:B2)", cells) == "#NUM!"


# --- blanks, text, logical values ---------------------------------------------------------


def test_a_blank_single_cell_is_refused_where_zero_is_impossible(office: Office) -> None:
    assert cell(office, "=HOPPER_HELD_MASS(A1;36.5)") == "#NUM!"
    assert cell(office, '=HOPPER_HELD_MASS("";36.5)') == "#VALUE!"


#: Calls with a blank cell for each number that may be 0: the cell is A1.
MAY_BE_ZERO = {
    "straight_height": "=HOPPER_SHAPE_VOLUME(2;A1;60;0.5)",
    "outlet_diameter": "=HOPPER_SHAPE_VOLUME(2;3;60;A1)",
    "empty_mass": "=HOPPER_LOADED_MASS(A1;16;36.5)",
    "from_temperature": "=HOPPER_HEAT(100;0.5;A1;150)",
    "to_temperature": "=HOPPER_HEAT(100;0.5;-20;A1)",
    "temperature": "=HOPPER_AIR_MOISTURE(A1;0.5)",
    "temperature of HOPPER_DEW_POINT": "=HOPPER_DEW_POINT(A1;0.5)",
    "value": '=HOPPER_CONVERT(A1;"lb";"kg")',
}


def test_every_number_that_may_be_zero_is_listed_here() -> None:
    named = {name.partition(" ")[0] for name in MAY_BE_ZERO}
    assert named == {
        a.name for f in all_functions().values() for a in f.arguments if comes_as_text(a)
    }


@pytest.mark.parametrize("formula", MAY_BE_ZERO.values())
def test_a_blank_single_cell_is_no_zero_where_zero_is_possible(
    office: Office, formula: str
) -> None:
    values = office.evaluate(
        {"B1": 0, "C1": "#N/A"},
        {
            "Z1": formula,
            "Z2": formula.replace("A1", "IF(TRUE();A1)"),
            "Z3": formula.replace("A1", "B1"),
            "Z4": formula.replace("A1", "0"),
            "Z5": formula.replace("A1", "C1"),
        },
    )
    assert (values["Z1"], values["Z2"], values["Z5"]) == ("#VALUE!", "#VALUE!", "#N/A")
    assert isinstance(values["Z3"], float) and values["Z3"] == values["Z4"]


def test_a_blank_optional_cell_is_the_default_where_zero_is_possible(office: Office) -> None:
    # It could not be left out if blank and 0 were told apart; every such default is 0.
    for formula in ("HOPPER_REQUIRED_VOLUME(100;4;36.5;#)", "HOPPER_NEXT_SIZE(15;{10;16};#)"):
        blank, omitted = formula.replace("#", "A1"), formula.replace(";#", "")
        values = office.evaluate({}, {"Z1": f"={blank}", "Z2": f"={omitted}"})
        assert values["Z1"] == values["Z2"]
    optional = [
        argument
        for function in all_functions().values()
        for argument in function.arguments
        if argument.kind == "number" and not argument.required
    ]
    may_be_zero = [a for a in optional if comes_as_text(a._replace(default=REQUIRED))]
    assert len(may_be_zero) == 4 and {a.default for a in may_be_zero} == {0}


def test_numbers_that_come_as_text_keep_their_value(office: Office) -> None:
    # 15 digits are what a spreadsheet shows and stores at most.
    numbers = [20.5, -40, 1e-7, 1 / 3, 123456789.125, 1.5e21, "20.5", "20.5 ", True]
    formulas = {f"Z{i}": f'=HOPPER_CONVERT(A{i};"lb";"lb")' for i in range(1, len(numbers) + 1)}
    values = office.evaluate({f"A{i}": n for i, n in enumerate(numbers, 1)}, formulas)
    assert list(values.values()) == [pytest.approx(float(n), rel=1e-14) for n in numbers]
    assert cell(office, '=HOPPER_CONVERT(A1;"lb";"lb")', {"A1": "1,234"}) == "#VALUE!"


def test_numbers_that_come_as_text_with_a_decimal_comma(tmp_path: Path) -> None:
    """An office whose language writes 1,5 makes such texts of numbers."""
    profile = profiles.copy_prepared(programs.find(), tmp_path / "profile")
    settings = profile / "user" / "registrymodifications.xcu"
    german = (
        '<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" '
        'oor:op="fuse"><value>de-DE</value></prop></item></oor:items>'
    )
    settings.write_text(settings.read_text("utf-8").replace("</oor:items>", german), "utf-8")
    link = WorkerLink(programs.find(), 60)
    try:
        link.start(profile)
        values = link.ask(
            "evaluate",
            cells={"A1": 1.125, "A2": -1234.5, "A3": 0, "A5": "1,125"},
            formulas={
                "Z10": '="x"&1.5',
                **{f"Z{i}": f'=HOPPER_CONVERT(A{i};"lb";"lb")' for i in range(1, 6)},
            },
        )
    finally:
        link.close()
    # The last number was text, and in this language it is one and an eighth.
    assert list(values.values()) == [1.125, -1234.5, 0.0, "#VALUE!", 1.125, "x1,5"]


def test_explain_says_that_it_sees_a_blank_as_zero(office: Office) -> None:
    told = cell(office, '=HOPPER_EXPLAIN("hopper_loaded_mass";A1;16;36.5)')
    assert "If the cell of empty_mass is empty, hopper_loaded_mass itself gives #VALUE!" in told
    told = cell(office, '=HOPPER_EXPLAIN("HOPPER_LOADED_MASS";300;16;36.5)')
    assert "empty" not in told.replace("empty_mass", "")


def test_a_missing_argument_is_not_a_zero(office: Office) -> None:
    assert cell(office, "=HOPPER_HELD_MASS(;36.5)") == "#VALUE!"
    assert cell(office, "=HOPPER_HELD_MASS(16)") == "#VALUE!"
    assert cell(office, "=HOPPER_LOADED_MASS(;16;36.5)") == "#VALUE!"


def test_blanks_in_a_range_are_skipped_in_pairs_only(office: Office) -> None:
    cells = {"A1": 0.5, "A3": 0.5, "B1": 48, "B3": 25, "B5": 20}
    # Half and half by volume of 48 and 25: common practice, no source.
    assert cell(office, "=HOPPER_BLEND_DENSITY(A1:A4;B1:B4)", cells) == 36.5
    assert cell(office, "=HOPPER_BLEND_DENSITY(A1:A5;B1:B5)", cells) == "#VALUE!"


def test_whole_columns_are_read_in_seconds(office: Office) -> None:
    cells = {"A1": 0.5, "A2": 0.5, "B1": 48, "B2": 25, "C1": 10, "C7": 16}
    assert cell(office, "=HOPPER_BLEND_DENSITY(A:A;B:B)", cells) == 36.5
    assert cell(office, "=HOPPER_NEXT_SIZE(12;C:C)", cells) == 16.0
    assert cell(office, "=HOPPER_BLEND_DENSITY(A:A;B1:B1048575)", cells) == "#VALUE!"


def test_text_with_a_unit_is_converted_inside_the_office(office: Office) -> None:
    # NIST SP 811 (2008) appendix B.8: 1 ft3 = 28.31685 L.
    assert cell(office, '=HOPPER_SIZE_MARGIN("28.31685 L";1)') == pytest.approx(0, abs=2e-7)
    cells = {"A1": "16 ft3", "A2": "36,5 lb/ft3"}
    assert cell(office, "=HOPPER_HELD_MASS(A1;A2)", cells) == 584.0


def test_unequal_ranges_are_refused(office: Office) -> None:
    cells = {"A1": 0.5, "A2": 0.5, "B1": 34}
    assert cell(office, "=HOPPER_BLEND_DENSITY(A1:A2;B1)", cells) == "#VALUE!"


def test_arrays_typed_into_the_formula_are_ranges_too(office: Office) -> None:
    assert cell(office, "=HOPPER_BLEND_DENSITY({0.5|0.5};{48|25})") == 36.5
    assert cell(office, "=HOPPER_NEXT_SIZE(12;{10;16;25})") == 16.0


def test_too_many_arguments_are_an_error(office: Office) -> None:
    assert cell(office, '=HOPPER_HELD_MASS(16;36.5;"US";4)') == "#VALUE!"


# --- explain ------------------------------------------------------------------------------


def test_explain_takes_ranges_and_gives_the_reason(office: Office) -> None:
    cells = {"A1": 0.5, "A2": 0.4, "B1": 48, "B2": 25}
    told = cell(office, '=HOPPER_EXPLAIN("HOPPER_BLEND_DENSITY";A1:A2;B1:B2)', cells)
    assert "#NUM!" in told
    assert "sum to 0.9" in told
    cells["A2"] = 0.5
    told = cell(office, '=HOPPER_EXPLAIN("HOPPER_BLEND_DENSITY";A1:A2;B1:B2;"mass")', cells)
    assert "32.88 lb/ft3" in told  # 1 / (0.5/48 + 0.5/25), arithmetic identity


def test_explain_tells_a_gap_from_a_value(office: Office) -> None:
    told = cell(office, '=HOPPER_EXPLAIN("HOPPER_REQUIRED_VOLUME";100;4;36.5;;"US")')
    assert "Default taken: reserve 0" in told


# --- a job list as an array formula -------------------------------------------------------

_JOBS: dict[str, Any] = {
    "A1": "job", "B1": "throughput", "C1": "drying hours", "D1": "virgin density",
    "A2": "first", "B2": 100, "C2": 4, "D2": 36.5,
    "A3": "broken", "B3": 100, "C3": 4, "D3": "#N/A",
    "A4": "last", "B4": 200, "C4": 4, "D4": 36.5,
    "F1": 10, "F2": 16, "F3": 40,
}  # fmt: skip


def test_a_job_list_has_errors_only_in_the_row_that_has_no_answer(office: Office) -> None:
    formulas = {
        "A10:L13": "=HOPPER_SIZE_JOBS(A1:D4;F1:F3)",
        "A20": "=SUM(F11;F13)",
        "A21": "=ISERROR(F12)",
        "A22": "=INDEX(HOPPER_SIZE_JOBS(A1:D4;F1:F3);4;1)",
    }
    values = office.evaluate(_JOBS, formulas)
    heading, first, broken, last = values["A10:L13"]
    next_size = next(i for i, text in enumerate(heading) if text.startswith("next size"))
    assert next_size == 5
    assert (first[0], first[next_size]) == ("first", 16.0)
    assert (broken[0], broken[next_size]) == ("broken", "#N/A")
    assert (last[0], last[next_size]) == ("last", 40.0)
    assert "virgin density" in broken[-1]
    assert (values["A20"], values["A21"], values["A22"]) == (56.0, 1.0, "last")


def test_a_job_list_waits_for_cells_that_are_calculated_later(office: Office) -> None:
    # The list's cells are formulas that stand below and depend on one another.
    sheet = dict(_JOBS)
    del sheet["B2"], sheet["B4"], sheet["D3"]
    formulas = {
        "A10:L13": "=HOPPER_SIZE_JOBS(A1:D4;F1:F3)",
        "B2": "=B30/2",
        "B4": "=B2*2",
        "D3": "=D30",
        "B30": "=B31*10",
        "D30": "=D31+0.5",
        "B31": "=20",
        "D31": "=25",
    }
    values = office.evaluate(sheet, formulas)
    assert [row[5] for row in values["A10:L13"][1:]] == [16.0, 16.0, 40.0]


def test_text_in_a_table_must_be_joined_before_it_compares(office: Office) -> None:
    # Calc 7.4 and 25.2 do not enter the texts of an add-in's array into their table of texts.
    # Should this fail with a newer Calc, the README's paragraph on it can go.
    formulas = {
        "A10:L13": "=HOPPER_SIZE_JOBS(A1:D4;F1:F3)",
        "L1": '=A11="first"',
        "L2": '=A11&""="first"',
        "L3": '=INDEX(HOPPER_SIZE_JOBS(A1:D4;F1:F3);2;1)="first"',
        "L4": '=HOPPER_CATALOG_ENTRY(16;F1:F3;A1:A3)="first"',
    }
    values = office.evaluate(_JOBS, formulas)
    assert [values[f"L{i}"] for i in range(1, 5)] == [0.0, 1.0, 1.0, 1.0]


def test_a_plain_formula_shows_the_first_cell_of_a_table(office: Office) -> None:
    assert cell(office, "=HOPPER_SIZE_JOBS(A1:D4;F1:F3)", _JOBS) == "job"
