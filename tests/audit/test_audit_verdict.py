"""What an audit says of itself: what was looked at, what not, and what somebody has accepted."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from audit.audit_books import at, clean_book, set_stored, stored
from audit.planted.faults import FAULTS
from audit.planted.styles import Quote, build, save
from hoppersheet.audit import Audit, audit_book
from hoppersheet.audit.accepted import apply, read_accepted
from hoppersheet.audit.chosen_size import CHOSEN_RULES, Candidate, chosen_of
from hoppersheet.audit.outputs.report import write_report
from hoppersheet.errors import InputFileError
from hoppersheet.workbook.formulas import address


def audited(quote: Quote, folder: Path, **options: Any) -> Audit:
    return audit_book(save(quote, folder / "book.xlsx"), "core", **options)


# --- coverage ---------------------------------------------------------------------------------


@pytest.mark.parametrize("style", ["rows", "columns", "plain", "sheets"])
def test_nothing_found_stands_only_where_all_was_examined(style: str, tmp_path: Path) -> None:
    audit = audited(build(style), tmp_path)
    assert audit.status == 0 and audit.coverage.complete
    assert "Nothing found, and all was looked at" in audit.verdict
    assert audit.coverage.worked_out == 6 and audit.coverage.total
    assert audit.sign_off.total == pytest.approx(audit.sign_off.right_total, abs=0.01)


def test_a_book_without_our_functions_and_without_sizing(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["A1"], book.active["A2"] = 3, "=A1*2"
    audit = audit_book(stored(book, tmp_path / "book.xlsx"), "core")
    assert audit.status == 1 and audit.findings == []
    assert audit.verdict.startswith("Nothing was examined: no cell calls")


def test_a_form_that_nobody_has_filled_in(tmp_path: Path) -> None:
    book = clean_book()
    for row in book["Sizing"].iter_rows(min_row=4, max_row=11):
        for cell in row:
            if cell.data_type == "f":
                cell.value = f'=IF($A{cell.row}="","",{cell.value[1:]})'
            else:
                cell.value = None
    audit = audit_book(stored(book, tmp_path / "book.xlsx"), "core")
    assert audit.status == 1 and audit.verdict.startswith("Nothing was examined: the workbook has")


def test_what_could_not_be_computed_is_named_and_never_called_fine(tmp_path: Path) -> None:
    quote = build("rows")
    volume = quote.put(2, "required", "=NOBODYKNOWS(J6)", twin=9.0)
    audit = audited(quote, tmp_path)
    found = [f for f in audit.findings if f.kind in ("not computed", "typed over", "odd formula")]
    assert (found[0].sheet, found[0].cell) == volume and audit.status == 1
    assert "Nothing found" not in audit.verdict and not audit.coverage.complete


def test_a_volume_that_was_not_recognized_is_not_called_examined(tmp_path: Path) -> None:
    quote = build("plain")
    for line in range(6):  # by a rule of somebody's own, from nothing that a heading explains
        quote.put(line, "required", f"={quote.at(line, 'quantity')[1]}*7+3")
    audit = audited(quote, tmp_path)
    not_examined = audit.coverage.not_examined
    assert {quote.at(line, "required")[1] for line in range(6)} == {
        address(*place[1:]) for place, why in not_examined.items()
        if why == "a plain formula that was not recognized by its headings"
    }  # fmt: skip
    assert audit.status == 1 and "Nothing found" not in audit.verdict


def test_json_carries_what_was_looked_at(tmp_path: Path) -> None:
    path = save(build("plain metric"), tmp_path / "book.xlsx")
    done = subprocess.run(
        [sys.executable, "-m", "hoppersheet", "audit", str(path), "--json", "--engine", "core"],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    report = json.loads(done.stdout)
    assert done.returncode == report["status"] == 0 and report["coverage"]["complete"]
    assert report["coverage"]["recognized"] == {
        "density": 6, "required volume": 6, "held hours": 6,
    }  # fmt: skip
    assert [line["job"] for line in report["sign_off"]["lines"]][:2] == ["Bezel", "Cover"]
    assert report["sign_off"]["lines"][0]["verdict"] == "holds"


# --- the quote worked out again ---------------------------------------------------------------


def test_the_total_is_worked_out_again_with_its_amount(tmp_path: Path) -> None:
    quote = build("rows")
    quote.put(1, "price", 5000.0)  # 18 ft3 lists at 5,510: 510 less, 3 % order discount: 494.70
    audit = audited(quote, tmp_path)
    assert audit.sign_off.right_total == pytest.approx(53_928.90, abs=0.01)
    assert "the workbook says 53,434.20 (494.70 less)" in audit.verdict


def test_findings_stand_in_the_order_of_what_is_at_stake(tmp_path: Path) -> None:
    quote = build("rows")
    quote.put(1, "price", 5000.0)
    quote.put(4, "price", 2710.0)  # 38 ft3 list at 7,710; two of them, 5 % off: 9,500 less
    money = [found.money for found in audited(quote, tmp_path).findings]
    assert money == sorted(money, reverse=True) and money[0] == pytest.approx(9500)


@pytest.mark.parametrize(
    ("sums", "right"),
    [
        ("=SUM({a}:{c})+SUM({d}:{f})", True),
        ("=SUM({a}:{c},{d}:{f})", True),
        ("=SUMPRODUCT({a}:{f}*1)", True),
        ('=SUMIF({a}:{f},">0")', True),
        ("=SUM({a}:{c})+SUM({e}:{f})", False),
        ("=SUM({a}:{d})+SUM({d}:{f})", False),
    ],
)
def test_a_total_counts_each_line_once_however_it_adds_up(
    sums: str, right: bool, tmp_path: Path
) -> None:
    quote = build("rows")
    cells = {name: quote.at(line, "net")[1] for line, name in enumerate("abcdef")}
    where = quote.put("sum", "net", sums.format(**cells))
    audit = audited(quote, tmp_path)
    assert [(f.kind, (f.sheet, f.cell)) for f in audit.findings] == (
        [] if right else [("total skips lines", where)]
    )
    assert audit.sign_off.right_total == pytest.approx(53_928.90, abs=0.01)


def test_two_values_edited_by_hand_are_both_told(tmp_path: Path) -> None:
    path = stored(clean_book(), tmp_path / "book.xlsx")
    set_stored(path, "Sizing", at("required", 0), 8.0)
    set_stored(path, "Sizing", at("total", 0), 1.0)
    found = {f.cell for f in audit_book(path, "core").findings if f.kind == "stale value"}
    assert found == {at("required", 0), at("total", 0)}


@pytest.mark.parametrize(
    ("line", "reason", "severity", "status"),
    [
        (1, "customer agreed", "warning", 1),  # PC hydrolyzes
        (4, "customer agreed", "note", 0),  # SAN does not
        (4, "3 % short is fine, customer agreed", "note", 0),
        (4, None, "error", 1),
    ],
)
def test_how_grave_a_size_too_small_is(
    line: int, reason: str | None, severity: str, status: int, tmp_path: Path
) -> None:
    quote = build("plain")
    for each in range(6):  # the column is chosen by hand, so that nothing is typed over
        quote.put(each, "chosen", (24, 18, 10, 14, 38, 30)[each])
    quote.put(line, "chosen", {1: 14, 4: 30}[line])
    quote.put(line, "reason", reason)
    audit = audited(quote, tmp_path)
    assert [(f.kind, f.severity) for f in audit.findings] == [("undersized", severity)]
    assert audit.status == status


# --- which size was chosen --------------------------------------------------------------------


def candidate(at_row: int, **said: Any) -> Candidate:
    return Candidate(("S", at_row, 1), **said)


@pytest.mark.parametrize(
    ("winner", "loser"),
    [
        (candidate(9, role="chosen size"), candidate(1, readers={"model", "list price"})),
        (candidate(9, readers={"model"}), candidate(1, role="size", typed=True)),
        (candidate(9, role="size", typed=True), candidate(1, readers={"HOPPER_SIZE_MARGIN"})),
        (candidate(9, readers={"held hours"}), candidate(1, role="size")),
        (candidate(9, role="size"), candidate(1, given_by="HOPPER_NEXT_SIZE")),
        (candidate(9, given_by="HOPPER_NEXT_SIZE"), candidate(1, given_by="HOPPER_SIZE_BELOW")),
        (
            candidate(9, role="chosen size", typed=True),
            candidate(1, role="chosen size", readers={"model", "list price"}),
        ),
        (
            candidate(9, readers={"model"}),
            candidate(1, readers={"model", "list price"}, given_by="HOPPER_NEXT_SIZE"),
        ),
    ],
)
def test_the_rules_by_which_a_size_is_the_chosen_one(winner: Candidate, loser: Candidate) -> None:
    assert chosen_of([loser, winner]) is winner and chosen_of([winner, loser]) is winner


def test_without_a_size_none_is_chosen() -> None:
    assert chosen_of([candidate(1, role="throughput")]) is None
    assert len({name for name, _ in CHOSEN_RULES}) == len(CHOSEN_RULES)


# --- accepted findings ------------------------------------------------------------------------


def _signed(report: Path, by: str = "A. Sample") -> None:
    """Somebody signs the first finding of a report."""
    book = openpyxl.load_workbook(report)
    sheet = book["Findings"]
    headings = [cell.value for cell in sheet[4]]
    for name, value in (("Accepted by", by), ("Why", "agreed by mail"), ("When", "2026-11-20")):
        sheet.cell(5, headings.index(name) + 1, value)
    book.save(report)


def test_what_was_accepted_is_not_open_until_it_changes(tmp_path: Path) -> None:
    quote = build("rows")
    quote.put(1, "discount", 0.5)
    audit = audited(quote, tmp_path)
    report = tmp_path / "report.xlsx"
    write_report(audit, report)
    assert audit.status == 1
    _signed(report)
    again = audit_book(audit.path, "core", accepted=read_accepted(report))
    assert again.status == 0 and "1 finding accepted earlier" in again.verdict
    assert again.findings[0].accepted == "accepted by A. Sample on 2026-11-20: agreed by mail"
    write_report(again, tmp_path / "second.xlsx")
    assert len(read_accepted(tmp_path / "second.xlsx")) == 1  # it stays accepted
    quote.put(1, "discount", 0.6)
    changed = audited(quote, tmp_path, accepted=read_accepted(report))
    assert changed.status == 1
    assert "the cell has changed since, it held 0.5" in changed.findings[0].message


def test_an_accepted_finding_that_is_gone_or_whose_cell_changed_is_told(tmp_path: Path) -> None:
    quote = build("rows")
    quote.put(1, "discount", 0.5)
    report = tmp_path / "report.xlsx"
    write_report(audited(quote, tmp_path), report)
    _signed(report)
    quote.put(1, "discount", 0.0)
    audit = audited(quote, tmp_path, accepted=read_accepted(report))
    (one,) = audit.gone
    assert (one.cell, one.by) == (f"Quote!{quote.at(1, 'discount')[1]}", "A. Sample")
    write_report(audit, tmp_path / "second.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "second.xlsx")["Sign-off"]
    texts = [str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value]
    assert "Accepted earlier, no longer found" in texts
    assert audit.status == 0 and audit.as_dict()["accepted_and_gone"][0]["why"] == "agreed by mail"


def test_an_acceptance_is_of_what_the_cell_held(tmp_path: Path) -> None:
    quote = build("rows")
    quote.put(1, "discount", 0.5)
    audit = audited(quote, tmp_path)
    write_report(audit, tmp_path / "report.xlsx")
    _signed(tmp_path / "report.xlsx")
    (one,) = read_accepted(tmp_path / "report.xlsx")
    assert one.content == ("0.5", "")
    (other,) = apply(audit.findings, [replace(one, content=("0.4", ""))])
    assert not other.accepted and "the cell has changed since, it held 0.4" in other.message


def test_an_acceptance_needs_a_name_a_reason_and_a_date(tmp_path: Path) -> None:
    quote = build("rows")
    quote.put(1, "discount", 0.5)
    audit = audited(quote, tmp_path)
    write_report(audit, tmp_path / "report.xlsx")
    _signed(tmp_path / "report.xlsx", by="")
    again = audit_book(audit.path, "core", accepted=read_accepted(tmp_path / "report.xlsx"))
    assert again.status == 1 and "Accepted without a name" in again.findings[0].message


def test_acceptances_may_stand_in_a_text_file(tmp_path: Path) -> None:
    path = tmp_path / "accepted.csv"
    with path.open("w", newline="") as file:
        csv.writer(file).writerows(
            [
                ["Kind", "Cell", "Accepted by", "Why", "When"],
                ["outside typical range", "Quote!T5", "A. Sample", "by mail", "2026-11-20"],
            ]
        )
    quote = build("rows")
    quote.put(1, "discount", 0.5)
    assert audited(quote, tmp_path, accepted=read_accepted(path)).status == 0
    path.write_text("nothing,of,this\n1,2,3\n")
    with pytest.raises(InputFileError, match="no row with the headings"):
        read_accepted(path)


# --- one cause, one finding -------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "rates in kg/h read as lb/h", "basis not stated", "prices one row off everywhere",
        "a factor of 0.9 in every volume",
    ],
)  # fmt: skip
def test_one_cause_is_one_finding(name: str, tmp_path: Path) -> None:
    quote = build("rows")
    FAULTS[name].plant(quote)
    assert len(audited(quote, tmp_path).findings) == 1
