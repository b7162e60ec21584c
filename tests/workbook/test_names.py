"""Plain function names again: in a formula, in every place of a workbook, and in what Calc saves.

How a binding looks in a file: Excel keeps the target in an external link part and writes its
number, ``[1]!NAME`` (ECMA-376 part 1, 18.17.2.3 external references); what a user sees and other
programs write is the path itself. ``_xll.`` and ``_xludf.`` are how Excel marks a function of an
add-in that it does not find (common knowledge, from memory).
"""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from hoppersheet.cli import cli
from hoppersheet.hosts.calc.names import programmatic_name
from hoppersheet.workbook.names import bound_to, plain, put_plain_names
from hoppersheet.workbook.package import Package
from hoppersheet.workbook.written_formulas import formulas
from workbook import rich_workbook


@pytest.mark.parametrize(
    "binding",
    [
        r"'C:\Users\a user\AppData\Roaming\Microsoft\Excel\XLSTART\hoppersheet.xlam'!",
        r"'\\server\share\it''s here\hoppersheet.xlam'!",
        "'https://example.org/add ins/hoppersheet.xlam'!",
        "[1]!",
        "[12]!",
        "hoppersheet.xlam!",
        "'hoppersheet 2.xlam'!",
        "_xll.",
        "_xludf.",
        "_xlfn._xludf.",
        "_xldudf_",
        "[1]!_xludf.",
        programmatic_name(""),
        programmatic_name("").lower(),
    ],
)
@pytest.mark.parametrize(
    "formula",
    [
        "§HOPPER_HELD_MASS(A1,36.5)",
        "1+§HOPPER_HELD_MASS(§HOPPER_NEXT_SIZE(A1,'b (2)'!C:C),36.5)*'it''s'!A1",
        "SUM({1,2},§HOPPER_VERSION())",
    ],
)
def test_a_binding_goes_and_nothing_else(formula: str, binding: str) -> None:
    bound, wanted = formula.replace("§", binding), formula.replace("§", "")
    assert plain(bound) == wanted
    assert bound_to(bound) == [binding] * formula.count("§")


def test_a_text_keeps_its_binding_and_the_registered_case_comes_back() -> None:
    text = '"[1]!HOPPER_HELD_MASS("'
    assert plain(f"IF(A1={text},-[1]!hopper_held_mass(1,2),[2]Sheet1!A1)") == (
        f"IF(A1={text},-HOPPER_HELD_MASS(1,2),[2]Sheet1!A1)"
    )


@pytest.mark.parametrize(
    "formula",
    [
        "HOPPER_HELD_MASS(A1,36.5)",
        "hopper_held_mass(1,2)",
        "'other.xlam'!SOMETHING(1)",
        "[1]!OTHER_HOPPER_HELD_MASS(1)",
        "[1]Sheet1!A1+HOPPER_VERSION()",
        "MY.HOPPER_VERSION()",
        "MYHOPPER_VERSION()",
        "'[1]HOPPER_VERSION'!A1",
        "'say \"hi\" [1]!HOPPER_VERSION(''s'!A1",
        '"[1]!HOPPER_VERSION()"&"""[1]!HOPPER_VERSION("',
        "[1]!HOPPER_VERSION",
        "",
    ],
)
def test_what_is_not_bound_stays(formula: str) -> None:
    assert plain(formula) == formula
    assert bound_to(formula) == []


def bind(part: str, xml: str) -> str:
    """Bind every function name of a part the way Excel does."""
    return (
        xml.replace("HOPPER_", "[1]!HOPPER_")
        .replace('("[1]!', '("')
        .replace("(&quot;[1]!", "(&quot;")
    )


@pytest.fixture
def bound(tmp_path: Path) -> Path:
    return rich_workbook.build(tmp_path / "bound.xlsm", bind)


def test_every_place_of_a_workbook(bound: Path, tmp_path: Path) -> None:
    plain_one = rich_workbook.build(tmp_path / "plain.xlsm")
    out = tmp_path / "out.xlsm"
    report = put_plain_names(bound, out)
    lines = report.lines()
    assert len(lines) < len(report.changed), "a few places of each sheet are named, not all"
    assert sum(line.count("!") for line in lines) < 20
    kinds = {formula.kind for formula, _ in report.changed}
    assert kinds == {"cell", "defined name", "validation", "conditional format"}
    places = [formula.where for formula, _ in report.changed]
    assert {"Sizing!H2", "Quote!A2", "one_mass", "Sizing!H2:H4"} <= set(places)
    # All is as in the workbook that never was bound, byte for byte.
    with zipfile.ZipFile(plain_one) as want, zipfile.ZipFile(out) as found:
        for name in want.namelist():
            if name != "docProps/core.xml":  # holds the time of writing
                assert found.read(name) == want.read(name), name
    assert len(formulas(Package(out))) == len(formulas(Package(plain_one)))
    assert put_plain_names(out, out).lines() == ["No name needs a repair; nothing was changed."]


def test_tables_and_limits_of_color_scales(tmp_path: Path) -> None:
    column = '<tableColumn id="3" name="price"'
    formula = "<calculatedColumnFormula>[1]!HOPPER_HELD_MASS(A2,36.5)</calculatedColumnFormula>"

    def change(part: str, xml: str) -> str:
        if part.startswith("xl/tables/"):
            assert f"{column} />" in xml
            return xml.replace(f"{column} />", f"{column}>{formula}</tableColumn>")
        return xml.replace('val="$H$2*2"', 'val="_xll.HOPPER_HELD_MASS(1,&quot;a&amp;b&quot;)"')

    book = rich_workbook.build(tmp_path / "book.xlsm", change)
    report = put_plain_names(book, book)
    found = {(formula.kind, formula.where, new) for formula, new in report.changed}
    assert found == {
        ("conditional format", "Sizing!B2:B4", 'HOPPER_HELD_MASS(1,"a&b")'),
        ("table column", "Catalog[price]", "HOPPER_HELD_MASS(A2,36.5)"),
    }
    assert (
        'val="HOPPER_HELD_MASS(1,&quot;a&amp;b&quot;)"'
        in Package(book).read("xl/worksheets/sheet1.xml").decode()
    )


def test_links_that_nothing_needs_any_more_are_named(tmp_path: Path) -> None:
    """The link part itself stays: taking it out would renumber the others."""
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"

    def change(part: str, xml: str) -> str:
        xml = bind(part, xml)
        if part == "xl/workbook.xml":
            xml = xml.replace(
                "<definedNames>", f'<externalReferences xmlns:r="{office}"><externalReference '
                'r:id="x1"/></externalReferences><definedNames>',
            )  # fmt: skip
        if part == "xl/_rels/workbook.xml.rels":
            xml = xml.replace(
                "</Relationships>", f'<Relationship Id="x1" Type="{office}/externalLink" '
                'Target="externalLinks/externalLink1.xml"/></Relationships>',
            )  # fmt: skip
        return xml

    book = rich_workbook.build(tmp_path / "book.xlsm", change)
    with zipfile.ZipFile(book, "a") as archive:
        archive.writestr("xl/externalLinks/externalLink1.xml", "<externalLink/>")
        archive.writestr(
            "xl/externalLinks/_rels/externalLink1.xml.rels",
            f'<Relationships><Relationship Id="r1" Type="{office}/externalLinkPath" '
            r'Target="file:///C:\x\hoppersheet.xlam" TargetMode="External"/></Relationships>',
        )
    out = tmp_path / "out.xlsm"
    report = put_plain_names(book, out)
    assert report.links == [r"file:///C:\x\hoppersheet.xlam"]
    assert "xl/externalLinks/externalLink1.xml" in Package(out).parts


def test_the_command(bound: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.xlsm"
    result = CliRunner().invoke(cli, ["names", str(bound), "--out", str(out)])
    assert result.exit_code == 0
    first, *rest = result.output.splitlines()
    assert first.startswith("Names repaired in ") and "1 defined name" in first
    assert "  Quote!A2: bound to [1]!" in rest
    assert Package(out).cells("Quote")["A2"].formula.startswith("HOPPER_CATALOG_ENTRY(")  # type: ignore[union-attr]


@pytest.mark.calc
def test_a_workbook_that_calc_saved(tmp_path: Path) -> None:
    from hoppersheet.hosts.calc.office import Office

    book = rich_workbook.build(tmp_path / "book.xlsm")
    saved = tmp_path / "saved.xlsx"
    with Office(timeout=120) as office:
        office.compute(book, save_as=saved)
        old = int(office.version().split(".")[0]) < 24
    report = put_plain_names(saved, saved)
    # 7.4 writes its internal names; newer versions write plain ones.
    assert bool(report.changed) == old
    before, after = Package(book), Package(saved)
    for ref in ("H2", "I2", "A6", "A7"):
        ours, theirs = before.cells("Sizing")[ref].formula, after.cells("Sizing")[ref].formula
        assert ours is not None and theirs is not None
        assert ours.replace(" ", "") == theirs.replace(" ", "")
