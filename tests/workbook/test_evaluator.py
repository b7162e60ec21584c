"""The evaluator on what Calc 7.4 does not know or does otherwise; answers worked out by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.table import Table

from hoppersheet.workbook.book import Book, read_book
from hoppersheet.workbook.evaluator import Evaluator
from hoppersheet.workbook.precedents import Precedents
from hoppersheet.workbook.sheet_cells import ErrorText

SIZES = [(12, "EXAMPLE-12", 3100), (20, "EXAMPLE-20", 4050), (30, "EXAMPLE-30", 5200)]


def workbook(path: Path, formulas: dict[str, Any]) -> Book:
    made = openpyxl.Workbook()
    sheet = made.active
    sheet.title = "Quote"
    prices = made.create_sheet("Prices")
    prices.append(["Size", "Model", "List price"])
    for row in SIZES:
        prices.append(row)
    prices.add_table(Table(displayName="Hoppers", ref="A1:C4"))
    for name, text in {
        "rate": "Quote!$A$1",
        "sizes": "Prices!$A$2:$A$4",
        "WITH_TAX": "_xlfn.LAMBDA(_xlpm.net,_xlpm.tax,_xlpm.net*(1+_xlpm.tax))",
        "ENDLESS": "_xlfn.LAMBDA(_xlpm.x,ENDLESS(_xlpm.x))",
        "Best": "_xlfn.XLOOKUP(25,Prices!$A$2:$A$4,Prices!$B$2:$B$4,,1)",
    }.items():
        made.defined_names[name] = DefinedName(name, attr_text=text)
    for ref, value in {"A1": 220, "A2": 3.5, "A3": 36.4, "A4": "text", "A5": True}.items():
        sheet[ref] = value
    for ref, value in formulas.items():
        sheet[ref] = value
    made.save(path)
    return read_book(path)


def evaluated(path: Path, formulas: dict[str, Any]) -> Evaluator:
    values = Evaluator(workbook(path, formulas))
    values.calculate()
    return values


def one(tmp_path: Path, formula: Any, ref: str = "D1") -> Any:
    values = evaluated(tmp_path / "b.xlsx", {ref: formula})
    row, column = openpyxl.utils.cell.coordinate_to_tuple(ref)
    place = ("Quote", row, column)
    return values.unknown.get(place, values.cell_value(place))


GIVES: dict[str, Any] = {
    "MROUND(7,3)": 6.0,
    "MROUND(8,3)": 9.0,
    "DEVSQ(5)": 0.0,
    "DEVSQ(1,3)": 2.0,
    'TEXT(0.5,"h:mm AM/PM")': "12:00 PM",
    'TEXT(0.0625,"h:mm AM/PM")': "1:30 AM",
    "INDEX({10,20,30},2)": 20.0,
    "INDEX({10;20;30},2)": 20.0,
    "IFERROR(RANK(7,Prices!$A$2:$A$4),9)": 9.0,
    "SUM(_xlfn.XLOOKUP(2,{1,2},{10,20;30,40}))": 60.0,
    '1E15&""': "1000000000000000",
    'CONVERT(300,"K","C")': 300 - 273.15,
    '123456789012345&""': "123456789012345",
    '1234567890123456&""': "1.23456789012346E+15",
    '0.00000123&""': "0.00000123",
    '0.000000000000123&""': "1.23E-13",
    "ERROR.TYPE(NA())": 7.0,
    "HOUR(0.5)+MINUTE(0.5)": 12.0,
    "SECOND(0.999988426)": 59.0,
    "TIME(23,59,59)*86400": 86399.0,
    'CONVERT(1,"BTU","J")': 1055.05585262,
    'CONVERT(0,"C","K")': 273.15,
    "DAY(61)": 1.0,
    'LEN(REPT("x",40))': 40.0,
    'TEXT(1,"0""a text of more than twenty signs""")': "1a text of more than twenty signs",
    "AGGREGATE(13,6,{1;2;2})": 2.0,
    "SUBTOTAL(101,Prices!C2:C4)": 12350 / 3,
    "_xlfn.XLOOKUP(20,sizes,Prices!B2:B4)": "EXAMPLE-20",
    "_xlfn.XLOOKUP(21,sizes,Prices!B2:B4,\"larger\")": "larger",
    "_xlfn.XLOOKUP(21,sizes,Prices!B2:B4)": "#N/A",
    "_xlfn.XLOOKUP(21,sizes,Prices!B2:B4,,1)": "EXAMPLE-30",
    "_xlfn.XLOOKUP(21,sizes,Prices!B2:B4,,-1)": "EXAMPLE-20",
    "_xlfn.XLOOKUP(\"*-30\",Prices!B2:B4,Prices!C2:C4,,2)": 5200.0,
    "SUM(_xlfn.XLOOKUP(20,sizes,Prices!A2:C4))": 4070.0,
    "_xlfn.XMATCH(25,sizes,1)": 3.0,
    "_xlfn.LET(_xlpm.v,A1*A2/A3,_xlpm.v-_xlpm.v+1)": 1.0,
    "_xlfn.LET(_xlpm.a,2,_xlpm.b,_xlpm.a*3,_xlpm.a+_xlpm.b)": 8.0,
    "WITH_TAX(100,0.07)": 107.0,
    "Best": "EXAMPLE-30",
    "_xlfn.IFS(A1>300,\"high\",A1>200,\"usual\")": "usual",
    "_xlfn.IFS(A1>300,1)": "#N/A",
    "_xlfn.SWITCH(A2,4,\"four\",3.5,\"three and a half\",\"?\")": "three and a half",
    "_xlfn.TEXTJOIN(\", \",TRUE,Prices!B2:B4,\"\")": "EXAMPLE-12, EXAMPLE-20, EXAMPLE-30",
    "_xlfn.CONCAT(Prices!A2:A4)": "122030",
    "_xlfn.MAXIFS(Prices!C2:C4,sizes,\"<30\")": 4050.0,
    "_xlfn.TEXTBEFORE(\"EXAMPLE-12\",\"-\")": "EXAMPLE",
    "_xlfn.TEXTAFTER(\"a-b-c\",\"-\",-1)": "c",
    "SUM(_xlfn.SEQUENCE(3,1,10,5))": 45.0,
    "SUM(_xlfn._xlws.FILTER(Prices!C2:C4,sizes>15))": 9250.0,
    "INDEX(_xlfn._xlws.SORT(sizes,1,-1),1)": 30.0,
    # INDEX works through a formula cell by cell in any cell: the usual way to the next size.
    "INDEX(sizes,MATCH(TRUE,INDEX(sizes>A2*A2,0),0))": 20.0,
    "INDEX(sizes,MATCH(1,INDEX((sizes>=15)*(Prices!C2:C4>0),0,1),0))": 20.0,
    "MAX(INDEX((sizes<=29)*sizes,0))": 20.0,
    "ROWS(_xlfn.UNIQUE(Prices!A1:A4))": 4.0,
    "SUM(Hoppers[List price])": 12350.0,
    "COUNTA(Hoppers[#Headers])": 3.0,
    "SUM(Hoppers[[Size]:[List price]])": 12412.0,
    "SUM(Prices!A:A)": 62.0,
    "ROWS(Prices!A:A)": 1048576.0,
    "COUNTBLANK(Prices!A:A)": 1048572.0,
    "COUNTIF(Prices!A:A,\"\")": 1048572.0,
    "MATCH(1E+306,Prices!A:A)": 4.0,
    "rate*2": 440.0,
    "1=TRUE": False,
    "SUM(A1:A5)": 259.9,  # TRUE in a range is no number to Excel
    "A5&\"\"": "TRUE",
    "\"a\"<1": False,
    "SUBTOTAL(9,Prices!C2:C4)": 12350.0,
    "AGGREGATE(14,6,Prices!C2:C4/(sizes<30),1)": 4050.0,
    "ERROR.TYPE(Prices!A9/0)": 2.0,
    "ISERROR(\"#N/A\")": False,  # a text that reads like an error
    "CONVERT(220,\"lbm\",\"kg\")": 220 * 0.45359237,
    "CONVERT(1,\"ft3\",\"l\")": 28.316846592,
    "CONVERT(350,\"F\",\"C\")": (350 - 32) / 1.8,
    "CONVERT(1,\"ft\",\"kg\")": "#N/A",
    "TEXT(1234.5,\"#,##0.00 \"\"USD\"\"\")": "1,234.50 USD",
    "TEXT(0,\"0;-0;\"\"none\"\"\")": "none",
    "-2^2": 4.0,
    "0.1+0.2-0.3": 0.0,
    "HOPPER_REQUIRED_VOLUME(A1,A2,A3)-A1*A2/A3": 0.0,
}  # fmt: skip

NOT_COMPUTED = {
    "INDEX(Quote:Prices!A1,1)": "Quote:Prices!A1, which refers to several sheets",
    "[1]Other!A1+1": "[1]Other!A1, which refers to another workbook",
    "TODAY()+1": "TODAY, which gives another value at every calculation",
    "BOOKPRICE(1)": "the function BOOKPRICE",
    "nothing_called_so+1": "nothing_called_so is not a name of this workbook",
    "MATCH(2,{1;5;3})": "a list that is looked up as sorted and is not",
    '"1,234"+1': "the number in the text '1,234'",
    'VALUE("3/4")': "the number in the text '3/4'",
    'TEXT(0.75,"# ?/?")': "TEXT with the fraction '# ?/?'",
    "YEAR(12)": "a date before March 1900",
    "DATE(24,1,1)": "the year 24",
    "ROUND(1)+ROUND(1,2,3)": "ROUND with 3 arguments",
    'INDIRECT("R1C1",FALSE)': "INDIRECT in row and column numbers",
    "ENDLESS(1)": "functions of the workbook that call each other without an end",
    "IF(A1>1,OFFSET(A1,0,0,-1),2)": "OFFSET with a negative height or width",
    'CONVERT(1,"ft","cubit")': "CONVERT with the unit 'cubit'",
}


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Formula -> its value, or the reason why it has none."""
    path = tmp_path_factory.mktemp("all") / "b.xlsx"
    tried = {f"J{row}": formula for row, formula in enumerate((*GIVES, *NOT_COMPUTED), 20)}
    values = evaluated(path, {ref: f"={formula}" for ref, formula in tried.items()})
    places = {formula: ("Quote", int(ref[1:]), 10) for ref, formula in tried.items()}
    return {
        formula: values.unknown.get(place, values.cell_value(place))
        for formula, place in places.items()
    }


@pytest.mark.parametrize(("formula", "expected"), GIVES.items())
def test_what_a_formula_gives(formula: str, expected: Any, found: dict[str, Any]) -> None:
    value = found[formula]
    if isinstance(expected, float):
        assert type(value) is float and value == pytest.approx(expected, rel=1e-14, abs=0)
    else:
        assert value == expected
        assert isinstance(value, ErrorText) == str(expected).startswith("#")


@pytest.mark.parametrize(("formula", "reason"), NOT_COMPUTED.items())
def test_what_is_not_computed_says_why(formula: str, reason: str, found: dict[str, Any]) -> None:
    assert found[formula] == reason


def test_outside_of_array_formulas_a_range_is_its_cell_in_the_same_row(tmp_path: Path) -> None:
    assert one(tmp_path, "=A1:A3*2", "C2") == 7.0
    assert one(tmp_path, "=A1:A3", "C3") == 36.4
    assert one(tmp_path, "=A1:A3*2", "C9") == "#VALUE!"
    assert one(tmp_path, "=SUM(A1:A3*2)", "C9") == "#VALUE!"
    assert one(tmp_path, "=SUMPRODUCT(A1:A3*2)", "C9") == pytest.approx(519.8)


def test_array_formulas_fill_their_range(tmp_path: Path) -> None:
    values = evaluated(
        tmp_path / "b.xlsx",
        {
            "D1": ArrayFormula("D1:D4", "=A1:A3*2"),
            "E1": ArrayFormula("E1:F2", "=A1:A2"),
            "G1": ArrayFormula("G1", "=SUM(IF(A1:A3>10,1,0))"),
            "H1": "=D2+1",
        },
    )
    column = [values.cell_value(("Quote", row, 4)) for row in range(1, 5)]
    assert column == [440.0, 7.0, 72.8, "#N/A"]
    assert [values.cell_value(("Quote", 2, c)) for c in (5, 6)] == [3.5, 3.5]
    assert values.cell_value(("Quote", 1, 7)) == 2.0
    assert values.cell_value(("Quote", 1, 8)) == 8.0


def test_a_chain_of_thousands_of_cells(tmp_path: Path) -> None:
    chain = {f"D{row}": f"=D{row - 1}+1" for row in range(2, 5_001)}
    values = evaluated(tmp_path / "b.xlsx", {"D1": 1, **chain})
    assert values.cell_value(("Quote", 5_000, 4)) == 5_000.0
    assert not values.unknown


def test_cells_that_a_function_names_are_followed(tmp_path: Path) -> None:
    values = evaluated(
        tmp_path / "b.xlsx",
        {
            "B1": '=INDIRECT("C"&1)',
            "B2": "=OFFSET(C1,1,0)",
            "C1": "=C2*2",
            "C2": "=A1",
            "D1": "=B2",
        },
    )
    assert [values.cell_value(("Quote", row, 2)) for row in (1, 2)] == [440.0, 220.0]
    followers = Precedents(values).followers({("Quote", 1, 1)})
    assert followers == {
        ("Quote", r, c) for r, c in ((1, 1), (1, 2), (2, 2), (1, 3), (2, 3), (1, 4))
    }


def test_rows_that_a_filter_hides_are_not_in_a_subtotal(tmp_path: Path) -> None:
    """A row hidden by hand is left out by 109 alone, one that a filter hides by both."""
    path = tmp_path / "b.xlsx"
    workbook(path, {"D1": "=SUBTOTAL(9,Prices!C2:C4)", "D2": "=SUBTOTAL(109,Prices!C2:C4)"})
    made = openpyxl.load_workbook(path)
    for filtered, expected in ((False, [12350.0, 8300.0]), (True, [8300.0, 8300.0])):
        made["Prices"].row_dimensions[3].hidden = True
        if filtered:
            made["Prices"].auto_filter.ref = "A1:C4"
            made["Prices"].auto_filter.add_filter_column(0, ["12", "30"])
        made.save(path)
        values = Evaluator(read_book(path))
        values.calculate()
        assert [values.cell_value(("Quote", row, 4)) for row in (1, 2)] == expected


def test_what_an_array_formula_fills_is_seen_before_it_is_calculated(tmp_path: Path) -> None:
    """A file written by a library lists the first cell of it alone."""
    values = evaluated(
        tmp_path / "b.xlsx",
        {"B1": "=C6+1", "B2": "=SUM(C5:C7)", "C5": ArrayFormula("C5:C7", "=A1:A3*2")},
    )
    assert values.cell_value(("Quote", 1, 2)) == 8.0
    assert values.cell_value(("Quote", 2, 2)) == pytest.approx(519.8)
