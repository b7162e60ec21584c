"""Planted faults, one per kind and in combination: exactly those cells are found.

The numbers in the expected messages are plain arithmetic, shown beside each; the judgments (what
counts as unusual, as oversized) are common practice, no source.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName

from audit.audit_books import COLUMN, FIRST, LINES, SIZES, at, clean_book, set_stored, stored
from hoppersheet.audit import KINDS, Audit, audit_book
from hoppersheet.carried.book import VERSION_NAME, version_text
from hoppersheet.carried.lambdas import names_needed
from hoppersheet.carried.stored import stored as stored_form
from hoppersheet.errors import InputFileError


@dataclass
class Fault:
    """A way to spoil the clean book, what must be found, and part of what must be said."""

    spoil: Callable[[Any], None]
    found: set[tuple[str, str]]
    says: tuple[str, ...] = ()
    value: Any = None
    severity: str = "error"


def put(**cells: Any) -> Callable[[Any], None]:
    """Put values into cells of the list."""

    def spoil(book: Any) -> None:
        for cell, value in cells.items():
            book["Sizing"][cell] = value

    return spoil


def bringing(**changed: str | None) -> Callable[[Any], None]:
    """The functions brought along, some of them with another text or left out."""
    used = ["BLEND_DENSITY", "REQUIRED_VOLUME", "NEXT_SIZE", "CATALOG_ENTRY", "LOADED_MASS"]
    names = names_needed([f"HOPPER_{name}" for name in used])
    texts = {name: stored_form(text) for name, text in names.items()}

    def spoil(book: Any) -> None:
        for name, text in {**texts, VERSION_NAME: version_text(), **changed}.items():
            if text is not None:
                book.defined_names[name] = DefinedName(name, attr_text=text)

    return spoil


def only(key: str, line: int, value: Any) -> Callable[[Any], None]:
    return put(**{at(key, line): value})


def _heading(key: str, text: str) -> Callable[[Any], None]:
    return put(**{f"{COLUMN[key]}{FIRST - 1}": text})


def _hide_row(book: Any) -> None:
    book["Catalog"].row_dimensions[4].hidden = True


def _hide_column(book: Any) -> None:
    book["Sizing"].column_dimensions[COLUMN["hours"]].hidden = True


def _hide_sheet(book: Any) -> None:
    book["Catalog"].sheet_state = "hidden"


def _whole_column(key: str, formula: Callable[[int], str]) -> Callable[[Any], None]:
    def spoil(book: Any) -> None:
        for line in range(LINES):
            book["Sizing"][at(key, line)] = formula(line)

    return spoil


def _each(kind: str, key: str) -> set[tuple[str, str]]:
    return {(kind, at(key, line)) for line in range(LINES)}


def _total(first: int, last: int) -> Callable[[Any], None]:
    cell = f"{COLUMN['total']}{FIRST + LINES + 1}"
    return put(**{cell: f"=SUM({at('total', first)}:{at('total', last)})"})


TOTAL = f"{COLUMN['total']}{FIRST + LINES + 1}"

FAULTS = {
    # 0.5 x 36 + 0.5 x 20 = 28 lb/ft3; typed 31.5: 28 / 31.5 - 1 = -11.1 %
    "typed over": Fault(
        only("blend", 0, 31.5), {("typed over", at("blend", 0))}, ("11.1 % too small", "28")
    ),
    "typed over in the last line": Fault(
        only("blend", LINES - 1, 40.0), {("typed over", at("blend", LINES - 1))}, ("too small",)
    ),
    # 4 h x 72 lb/h / 29.08 lb/ft3 = 9.904 ft3; with 3 h: 25 % less
    "odd formula": Fault(
        only(
            "required", 1,
            f"=HOPPER_REQUIRED_VOLUME({at('rate', 1)},{at('hours', 1)},{at('blend', 0)})",
        ),
        {("odd formula", at("required", 1))},
        ("unlike its neighbors",),
    ),
    # 10 % more hours: +10 %
    "number in formula": Fault(
        _whole_column(
            "required",
            lambda i: f"=HOPPER_REQUIRED_VOLUME({at('rate', i)},4,{at('blend', i)})",
        ),
        _each("number in formula", "required"),
        ("4 is typed into HOPPER_REQUIRED_VOLUME as drying_hours", "+10 %"),
        severity="warning",
    ),
    # regrind 10 % lower: 28 -> 27 lb/ft3, 3.7 % more volume
    "estimated density": Fault(
        only("regrind", 0, f"=HOPPER_REGRIND_DENSITY({at('virgin', 0)})"),
        {("estimated density", at("regrind", 0))},
        # 0.5 x 36 + 0.5 x 18 = 27; 18 -> 16.2: 26.1; 27 / 26.1 - 1 = 3.45 %
        ("3.45 % more volume",),
        severity="note",
    ),
    "estimated by hand": Fault(
        only("regrind", 0, f"={at('virgin', 0)}*0.5"),
        {("estimated density", at("regrind", 0))},
        severity="note",
    ),
    "estimated, says the sheet": Fault(
        only("origin", 2, "estimated"),
        {("estimated density", at("virgin", 2)), ("estimated density", at("regrind", 2))},
        severity="note",
    ),
    # by volume 28, by mass 1 / (0.5/36 + 0.5/20) = 25.71: 28 / 25.71 - 1 = 8.89 %
    "basis not stated": Fault(
        _whole_column(
            "blend",
            lambda i: f"=HOPPER_BLEND_DENSITY({at('virgin_share', i)}:{at('regrind_share', i)},"
            f"{at('virgin', i)}:{at('regrind', i)})",
        ),
        _each("basis not stated", "blend"),
        ("8.89 % larger",),
        severity="warning",
    ),
    "basis from a blank cell": Fault(
        lambda book: (
            _whole_column(
                "blend",
                lambda i: f"=HOPPER_BLEND_DENSITY({at('virgin_share', i)}:{at('regrind_share', i)},"
                f'{at("virgin", i)}:{at("regrind", i)},IF({at("basis", i)}="","volume",'
                f"{at('basis', i)}))",
            )(book),
            only("basis", 3, None)(book),
        )[0],
        {("basis not stated", at("blend", 3))},
        severity="warning",
    ),
    # 0.5 + 0.4 = 0.9
    "shares": Fault(
        only("regrind_share", 0, 0.4),
        {
            ("shares", at("virgin_share", 0)),
            ("typed over", at("regrind_share", 0)),
            ("shares", at("blend", 0)),
        },
        ("0.9",),
    ),
    "shares of another basis": Fault(
        lambda book: (_heading("virgin_share", "Virgin share by mass")(book))
        or _heading("regrind_share", "Regrind share by mass")(book),
        _each("shares", "blend"),
        ("says shares by mass", "8.16 % lower", "8.16 % too small"),
    ),
    # 110 lb/ft3 is more than 950 kg/m3 = 59.3 lb/ft3
    "outside typical range": Fault(
        only("virgin", 0, 62.0),
        {("outside typical range", at("virgin", 0))},
        ("62 lb/ft3 is outside the usual",),
        severity="warning",
    ),
    "unit mismatch with a heading": Fault(
        _heading("rate", "Throughput [kg/h]"),
        _each("unit mismatch", "required")
        | _each("unit mismatch", "rate")
        | {("unit mismatch", f"{COLUMN['rate']}{FIRST - 1}")},
        # read as lb/h what is kg/h: 1 / 2.2046 - 1 = -54.6 %
        ("54.6 % too small",),
    ),
    "unit mismatch of a result": Fault(
        _heading("loaded", "Loaded mass (kg)"), _each("unit mismatch", "loaded"), ("says kg",)
    ),
    "one call in the other system": Fault(
        only(
            "required", 4,
            f'=HOPPER_REQUIRED_VOLUME({at("rate", 4)},{at("hours", 4)},{at("blend", 4)}&" lb/ft3",,'
            f'"metric")',
        ),
        {
            ("odd formula", at("required", 4)),
            ("unit mismatch", at("required", 4)),
            ("unit mismatch", at("rate", 4)),
            ("unit mismatch", f"{COLUMN['rate']}{FIRST - 1}"),
            ("unit mismatch", at("next", 4)),
            ("error value", at("next", 4)),
            ("error value", at("required", 4)),
        },
    ),
    # 8.57 ft3 required, 8 chosen: 6.66 % short, 3.73 h of 4 h
    "undersized": Fault(
        only("chosen", 0, 8), {("undersized", at("chosen", 0)), ("typed over", at("chosen", 0))},
        ("6.67 % too small", "3.73 h of the 4 h", "no reason is stated"),
    ),
    "undersized with a reason": Fault(
        lambda book: put(**{at("chosen", 0): 8, at("reason", 0): "machine runs 5 days"})(book),
        {("undersized", at("chosen", 0)), ("typed over", at("chosen", 0))},
        ("machine runs 5 days",),
    ),
    # 14 chosen, 10 is enough: two sizes above
    "oversized": Fault(
        only("chosen", 1, 14), {("oversized", at("chosen", 1)), ("typed over", at("chosen", 1))},
        ("2 catalog sizes above 10 ft3",),
    ),
    "not in catalog": Fault(
        only("chosen", 1, 11),
        {
            ("not in catalog", at("chosen", 1)),
            ("typed over", at("chosen", 1)),
            ("error value", at("chosen", 1)),
            ("error value", at("model", 1)),
            ("error value", at("price", 1)),
        },
        ("11 ft3 is not a catalog size",),
    ),
    # Model 10 lists at 1500
    "price differs": Fault(
        only("price", 0, 1350.0), {("price differs", at("price", 0))}, ("150 (10 %) below list",)
    ),
    "error value": Fault(
        only("hours", 5, 0.1667),
        {("error value", at("required", 5)), ("error value", at("hours", 5))},
        ("#NUM!", "clock time"),
    ),
    "error turned into a number": Fault(
        lambda book: (
            _whole_column(
                "required",
                lambda i: f"=IFERROR(HOPPER_REQUIRED_VOLUME({at('rate', i)},{at('hours', i)},"
                f"{at('blend', i)}),10)",
            )(book)
            or only("hours", 5, 0.1667)(book)
        ),
        {("error value", at("required", 5))},
        ("#NUM!", "shows 10 instead"),
    ),
    "total leaves out the last line": Fault(
        _total(0, LINES - 2),
        {("total skips lines", TOTAL), ("total skips lines", at("total", LINES - 1))},
        ("does not take 1 line",),
    ),
    "total over a text": Fault(
        only("total", 2, "on request"),
        {("total skips lines", TOTAL), ("typed over", at("total", 2))},
    ),
    "external link": Fault(
        only("rate", 0, "=[prices.xlsx]Rates!B2"), {("external link", at("rate", 0))},
        severity="warning",
    ),
    "hidden row": Fault(
        _hide_row, {("hidden", "A4")}, ("Row 4 of 'Catalog' is hidden",), severity="warning"
    ),
    "hidden column": Fault(
        _hide_column, {("hidden", at("hours", 0))}, (f"Column {COLUMN['hours']}",),
        severity="warning",
    ),
    "hidden sheet": Fault(_hide_sheet, {("hidden", "A2")}, severity="warning"),
    # 10 ft3 x 28 lb/ft3 x 10 % = 28 lb
    "load from low density": Fault(
        _whole_column(
            "loaded",
            lambda i: f"=HOPPER_LOADED_MASS({at('empty', i)},{at('chosen', i)},{at('blend', i)})",
        ),
        _each("load from low density", "loaded"),
        ("28 lb more than shown",),
        severity="warning",
    ),
    "blank read as 0": Fault(
        only("empty", 0, "=Z99"), {("blank read as 0", "Z99")}, ("a formula makes a 0",)
    ),
    # 1000 + 50 x 10 = 1500 and more of the kind; 8 lines: checked below against the formula's sum
    "typed over total": Fault(
        put(**{TOTAL: 9000}), {("typed over", TOTAL)}, ("Total 9000 is typed", "the column above")
    ),
    "own check": Fault(
        put(Z20="The rate is below 50 lb/h", AA20=2, AB20='=IF(AA20=0,"pass","fail")'),
        {("own check", "AB20")},
        ("'The rate is below 50 lb/h' says 'fail' (2 cases)",),
    ),
    "redefined": Fault(
        bringing(HOPPER_LOADED_MASS="_xlfn.LAMBDA(_xlpm.one,_xlpm.two,_xlpm.three,0)"),
        {("redefined", at("loaded", 0))},
        ("redefines HOPPER_LOADED_MASS", "what that formula gives"),
    ),
    "not carried": Fault(
        bringing(HOPPER_LOADED_MASS=None),
        {("not carried", at("loaded", 0))},
        ("not HOPPER_LOADED_MASS", "#NAME?"),
        severity="warning",
    ),
    # The resin table: PC 3 to 8 h.
    "caution": Fault(
        put(**{f"Z{FIRST - 1}": "Resin", f"Z{FIRST}": "PC", at("hours", 0): 10}),
        {("caution", at("hours", 0))},
        ("Longer than usual for PC: 10 h, usual 3 to 8 h", "longest time"),
        severity="note",
    ),
    "version": Fault(
        put(A1="Made with hoppersheet 0.0.1"), {("version", "A1")}, ("0.0.1",), severity="warning"
    ),
}  # fmt: skip


def audited(book: Any, folder: Path, **options: Any) -> Audit:
    return audit_book(stored(book, folder / "book.xlsx"), "core", **options)


def found_in(audit: Audit) -> set[tuple[str, str]]:
    """(kind, cell) of all findings, with every cell that one finding names."""
    return {
        (found.kind, cell)
        for found in audit.findings
        for cell in (found.cell, *(named.rpartition("!")[2] for named in found.cells))
    }


def test_a_clean_book_gives_no_finding(tmp_path: Path) -> None:
    audit = audited(clean_book(), tmp_path)
    assert audit.findings == []
    assert (audit.cells, audit.lines) == (6 * LINES, LINES)
    assert audit.never_calculated == 0 and audit.coverage.complete


@pytest.mark.parametrize("name", FAULTS)
def test_exactly_the_planted_fault_is_found(name: str, tmp_path: Path) -> None:
    fault = FAULTS[name]
    book = clean_book()
    fault.spoil(book)
    path = tmp_path / "book.xlsx"
    # What another workbook holds nobody can calculate here.
    known = {("Sizing", at("rate", 0)): 60.0} if "external" in name else None
    audit = audit_book(stored(book, path, known), "core")
    assert found_in(audit) == fault.found
    kind = name if name in KINDS else next(k for k in KINDS if k in {f for f, _ in fault.found})
    main = [f for f in audit.findings if f.kind in {k for k, _ in fault.found}]
    said = " ".join(f.message for f in main)
    for part in fault.says:
        assert part in said
    for found in main:
        assert found.message.endswith(".") and found.sheet in ("Sizing", "Catalog")
    if len({k for k, _ in fault.found}) == 1:
        assert {f.severity for f in main} == {fault.severity}, kind


def test_four_faults_at_once_are_exactly_those_four_cells(tmp_path: Path) -> None:
    book = clean_book()
    sheet = book["Sizing"]
    sheet[at("blend", 2)] = 31.0  # a density typed over
    sheet[at("required", 4)] = (  # one formula changed
        f"=HOPPER_REQUIRED_VOLUME({at('rate', 4)},{at('hours', 4)},{at('blend', 4)})*1"
    )
    sheet[at("price", 5)] = 1700.0  # one price edited
    path = stored(book, tmp_path / "book.xlsx")
    set_stored(path, "Sizing", at("total", 6), 1.0)  # one stored value edited by hand
    audit = audit_book(path, "core")
    assert found_in(audit) == {
        ("typed over", at("blend", 2)),
        ("odd formula", at("required", 4)),
        ("price differs", at("price", 5)),
        ("stale value", at("total", 6)),
    }


@pytest.mark.parametrize(
    ("reason", "key", "severity"),
    [
        (None, "blend", "error"),
        ("machine runs 5 days", "blend", "error"),  # nobody knows what it is about
        ('="next"&" size up"', "blend", "error"),  # a rule for the size excuses no density
        ("machine runs 5 days", "chosen", "note"),
        ('="next"&" size up"', "chosen", "error"),
    ],
)
def test_what_excuses_a_value_typed_over(
    reason: str | None, key: str, severity: str, tmp_path: Path
) -> None:
    book = clean_book()
    put(**{at(key, 1): {"blend": 31.0, "chosen": 10}[key], at("reason", 1): reason})(book)
    found = [f for f in audited(book, tmp_path).findings if f.kind == "typed over"]
    assert [(f.cell, f.severity) for f in found] == [(at(key, 1), severity)]


@pytest.mark.parametrize(
    ("label", "value", "severity"),
    [
        ("Total", 9000, "error"),
        ("Total:", "right", "warning"),
        ("Tax", 7, None),  # a rate in percent
        ("Total hours", 9000, None),  # something else
    ],
)
def test_which_typed_number_is_a_total(
    label: str, value: Any, severity: str | None, tmp_path: Path
) -> None:
    book = clean_book()
    right = audited(clean_book(), tmp_path).context.value(  # type: ignore[union-attr]
        ("Sizing", FIRST + LINES + 1, list(COLUMN).index("total") + 1)
    )
    value = right if value == "right" else value
    put(**{TOTAL: value, f"{COLUMN['quantity']}{FIRST + LINES + 1}": label})(book)
    found = [f for f in audited(book, tmp_path).findings if f.kind == "typed over"]
    assert [(f.cell, f.severity) for f in found] == ([(TOTAL, severity)] if severity else [])
    assert all(f.expected == right for f in found)


def test_a_remark_is_no_reason_for_a_size_too_small(tmp_path: Path) -> None:
    book = clean_book()
    put(**{at("chosen", 0): 8, at("reason", 0): "see drawing"})(book)
    _heading("reason", "Remark")(book)
    (found,) = [f for f in audited(book, tmp_path).findings if f.kind == "undersized"]
    assert found.severity == "warning" and "the line's remark is 'see drawing'" in found.message


def test_long_formulas_are_shown_where_they_differ(tmp_path: Path) -> None:
    long = "+".join(f"0*{at('rate', i)}" for i in range(LINES))
    fixed = re.sub(r"([A-Z]+)(\d+)", r"$\1$\2", long)
    book = clean_book()
    _whole_column("total", lambda i: f"={fixed}+{at('price', i)}*{at('quantity', i)}")(book)
    book["Sizing"][at("total", 3)] = f"={fixed}+{at('price', 3)}*{at('quantity', 3)}*0.9"
    (found,) = audited(book, tmp_path).findings
    assert found.kind == "odd formula" and f"{at('quantity', 3)}*0.9' is unlike" in found.message
    assert "10 % too low" in found.message


def test_a_value_edited_by_hand_is_named_with_what_is_right(tmp_path: Path) -> None:
    path = stored(clean_book(), tmp_path / "book.xlsx")
    set_stored(path, "Sizing", at("required", 0), 8.0)
    (found,) = audit_book(path, "core").findings
    # 60 lb/h x 4 h / 28 lb/ft3 = 8.5714 ft3; 8 / 8.5714 - 1 = -6.67 %
    assert found.expected == pytest.approx(240 / 28, rel=1e-12)
    assert found.value == 8.0 and "6.67 % too low" in found.message


def test_the_register_says_how_much_each_input_matters(tmp_path: Path) -> None:
    audit = audited(clean_book(), tmp_path)
    first = {a.input: a for a in audit.assumptions if a.line_cell == at("required", 0)}
    rate, virgin = first["Throughput"], first["Virgin density"]
    assert (rate.value, rate.unit, rate.origin) == (60.0, "lb/h", "typed")
    assert rate.swing_percent == pytest.approx(10.0)  # the volume is proportional to it
    # the chosen 10 ft3 hold 10 x 28 / 4 = 70 lb/h
    assert rate.holds_until == pytest.approx(70.0, rel=1e-9)
    assert (virgin.unit, virgin.origin) == ("lb/ft3", "measured")
    # 10 % more virgin: 0.5 x 39.6 + 10 = 29.8; 28 / 29.8 - 1 = -6.04 %
    assert virgin.swing_percent == pytest.approx((28 / 29.8 - 1) * 100, abs=1e-5)
    # 240 / 10 = 24 lb/ft3 still fit: (24 - 10) / 0.5 = 28
    assert virgin.holds_until == pytest.approx(28.0, rel=1e-8)
    assert first["Share basis"].value == "volume"


def test_leaving_an_argument_out_is_an_assumption(tmp_path: Path) -> None:
    book = clean_book()
    only("regrind", 0, f"=HOPPER_REGRIND_DENSITY({at('virgin', 0)})")(book)
    audit = audited(book, tmp_path)
    taken = [a for a in audit.assumptions if a.note.startswith("left out")]
    ratio = next(a for a in taken if a.input == "ratio")
    assert (ratio.value, ratio.origin, ratio.cell) == (0.5, "estimated by rule", at("regrind", 0))
    # 0.5 x 36 + 0.5 x 18 = 27 -> 27.9
    assert ratio.swing_percent == pytest.approx((27 / 27.9 - 1) * 100, abs=1e-5)
    assert {a.value for a in taken if a.input == "reserve"} == {0}


def form_book() -> Any:
    """One hopper as a form: label, value, unit, where from."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "One hopper"
    rows = [
        ("Throughput", 220, "lb/h", "customer"),
        ("Drying time", 3.5, "h", "data sheet"),
        ("Virgin density", 40, "lb/ft3", "measured"),
        ("Regrind density", 28, "lb/ft3", "estimated"),
        ("Share of virgin", 0.7, "", ""),
        ("Share of regrind", 0.3, "", ""),
        ("Blend density", '=HOPPER_BLEND_DENSITY(B5:B6,B3:B4,"volume")', "lb/ft3", ""),
        ("Required volume", "=HOPPER_REQUIRED_VOLUME(B1,B2,B7)", "ft3", ""),
    ]
    for row in rows:
        sheet.append(row)
    return book


def test_a_form_is_read_by_its_labels(tmp_path: Path) -> None:
    audit = audited(form_book(), tmp_path)
    assert found_in(audit) == {("estimated density", "B4")}
    origins = {a.input: (a.origin, a.unit) for a in audit.assumptions}
    assert origins["Throughput"] == ("stated", "lb/h")
    assert origins["Drying time"] == ("data sheet", "h")
    assert origins["Virgin density"] == ("measured", "lb/ft3")
    assert origins["Regrind density"] == ("estimated by rule", "lb/ft3")


def test_a_unit_beside_the_value_is_compared_with_the_call(tmp_path: Path) -> None:
    book = form_book()
    book.active["C3"] = "kg/L"
    audit = audited(book, tmp_path)
    assert ("unit mismatch", "B7") in found_in(audit)


def test_names_and_tables_are_followed(tmp_path: Path) -> None:
    from openpyxl.workbook.defined_name import DefinedName
    from openpyxl.worksheet.table import Table

    book = clean_book()
    book.defined_names["sizes"] = DefinedName("sizes", attr_text=SIZES)
    book["Catalog"].add_table(Table(displayName="Hoppers", ref="A1:C9"))
    for line in range(LINES):
        book["Sizing"][at("next", line)] = f"=HOPPER_NEXT_SIZE({at('required', line)},sizes)"
        book["Sizing"][at("price", line)] = (
            f"=HOPPER_CATALOG_ENTRY({at('chosen', line)},sizes,Hoppers[Price])"
        )
    assert audited(book, tmp_path).findings == []


def test_headings_with_escaped_signs_are_followed(tmp_path: Path) -> None:
    """Brackets, hashes and apostrophes of a table's heading stand behind a ' in a formula.

    Rules: Microsoft, "Using structured references with Excel tables", special characters.
    """
    from openpyxl.worksheet.table import Table

    book = clean_book()
    catalog = book["Catalog"]
    catalog["A1"], catalog["B1"], catalog["C1"] = "Size\n[ft3]", "Model #", "Maker's price"
    catalog.add_table(Table(displayName="Hoppers", ref="A1:C9"))
    sizes = ("Hoppers[Size\n'[ft3']]", "Hoppers[[Size '[ft3']]]", "Hoppers[[#Data],[Size '[ft3']]]")
    for line in range(LINES):
        size = sizes[0 if line < 7 else 1]
        sheet = book["Sizing"]
        sheet[at("next", line)] = f"=HOPPER_NEXT_SIZE({at('required', line)},{size})"
        for key, column in (("model", "Model '#"), ("price", "Maker''s price")):
            sheet[at(key, line)] = (
                f"=HOPPER_CATALOG_ENTRY({at('chosen', line)},{sizes[0]},Hoppers[{column}])"
            )
    book["Sizing"]["Z1"] = f"=HOPPER_NEXT_SIZE({at('required', 0)},{sizes[2]})"
    audit = audited(book, tmp_path)
    assert audit.coverage.complete and audit.context is not None
    assert found_in(audit) == {("odd formula", at("next", 7))}
    assert audit.context.value(("Sizing", 1, 26)) == 10.0  # 60 x 4 / 28 = 8.57 ft3
    assert [len(line.sizes) for line in audit.context.lines] == [8] * LINES


def test_the_register_shows_numbers_that_can_be_read(tmp_path: Path) -> None:
    book = clean_book()
    put(**{at("virgin", 0): 36.123456789, at("hours", 0): "4 h"})(book)
    registered = [a.as_dict() for a in audited(book, tmp_path).assumptions]
    assert {a["value"] for a in registered} >= {36.123456789, "4 h"}  # typed ones as they are
    worked_out = [a[n] for a in registered for n in ("holds_until", "holds_until_percent")]
    shown = [repr(abs(x)) for x in worked_out if x is not None]
    assert len(shown) > LINES
    assert all(len(s.replace(".", "").lstrip("0")) <= 7 for s in shown), shown  # 100000.0 too


def test_an_unusual_density_of_several_is_named_in_the_singular_and_once(tmp_path: Path) -> None:
    """What only follows from it is not said again; common practice: 12.5 to 59.3 lb/ft3."""
    book = clean_book()
    sheet = book["Sizing"]
    sheet[at("virgin", 0)] = 68.0
    sheet["Z20"] = f"={at('virgin', 0)}*0.99"
    sheet["Z21"] = f"=HOPPER_REQUIRED_VOLUME({at('rate', 0)},{at('hours', 0)},Z20)"
    (found,) = [f for f in audited(book, tmp_path).findings if f.kind == "outside typical range"]
    assert found.cell == at("virgin", 0)
    assert found.message.startswith("The bulk density 68 lb/ft3 is outside the usual")


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "hoppersheet", "audit", *arguments],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip


def test_the_command_says_what_it_found(tmp_path: Path) -> None:
    book = clean_book()
    only("price", 0, 1350.0)(book)
    path = stored(book, tmp_path / "book.xlsx")
    done = run(str(path), "--engine", "core")
    assert done.returncode == 1 and done.stderr == ""
    assert f"Sizing!{at('price', 0)}: The list price" in done.stdout
    done = run(str(path), "--engine", "core", "--json")
    report = json.loads(done.stdout)
    assert report["cells"] == 6 * LINES - 1
    assert set(report["findings"][0]) == {
        "kind", "severity", "sheet", "cell", "message", "formula", "value", "expected", "cells",
        "money", "hours", "accepted",
    }  # fmt: skip
    assert report["assumptions"][0]["line_sheet"] == "Sizing"


def test_a_foreign_workbook_and_no_workbook(tmp_path: Path) -> None:
    foreign = openpyxl.Workbook()
    foreign.active["A1"] = "=SUM(B1:B3)"
    foreign.save(tmp_path / "foreign.xlsx")
    done = run(str(tmp_path / "foreign.xlsx"), "--engine", "core")
    assert done.returncode == 1 and "Nothing was examined: no cell calls" in done.stdout
    clean = stored(clean_book(), tmp_path / "clean.xlsx")
    assert run(str(clean), "--engine", "core").returncode == 0
    (tmp_path / "text.xlsx").write_text("not a workbook")
    done = run(str(tmp_path / "text.xlsx"))
    assert done.returncode == 2 and done.stdout == ""
    assert len(done.stderr.splitlines()) == 1 and "Traceback" not in done.stderr
    with pytest.raises(InputFileError):
        audit_book(tmp_path / "missing.xlsx")


@pytest.mark.parametrize(
    ("out", "said"), [("book.xlsx", "is also the input file"), ("r.pdf", ".xlsx")]
)
def test_a_report_never_replaces_the_book(out: str, said: str, tmp_path: Path) -> None:
    book = tmp_path / "book.xlsx"
    shutil.copy(Path(__file__).parents[2] / "workbooks" / "demo_quote.xlsx", book)
    before = book.read_bytes()
    done = run(str(book), "--out", str(tmp_path / out))
    assert done.returncode == 2 and said in done.stderr
    assert book.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["book.xlsx"]
