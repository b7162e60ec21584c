"""Reading and patching the package of an .xlsx, by itself: no office, no engine.

The structure of a sheet part is that of ECMA-376 part 1, 18.3.1; openpyxl is the second reader.
"""

from __future__ import annotations

import re
import struct
import zipfile
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest

from hoppersheet.errors import InputFileError
from hoppersheet.workbook import archive
from hoppersheet.workbook.addresses import cells_of, reference, row_column
from hoppersheet.workbook.package import DefinedName, Package
from hoppersheet.workbook.sheet_cells import ErrorText
from workbook import rich_workbook

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"

PARTS = {
    "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/'
    'content-types"><Default Extension="xml" ContentType="application/xml"/>'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.'
    'relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.'
    'openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>',
    "_rels/.rels": f'<Relationships xmlns="{PACKAGE}"><Relationship Id="r1" '
    f'Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
    "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>'
    '<sheet name="One" sheetId="1" r:id="r1"/></sheets></workbook>',
    "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}">'
    f'<Relationship Id="r1" Type="{OFFICE}/worksheet" Target="worksheets/sheet1.xml"/>'
    f'<Relationship Id="r2" Type="{OFFICE}/sharedStrings" Target="/xl/Strings.xml"/>'
    "</Relationships>",
    "xl/strings.xml": f'<sst xmlns="{MAIN}"><si><t>plain</t></si><si><r><t>ri</t></r><r><rPr/>'
    "<t>ch</t></r><rPh><t>not this</t></rPh></si>"
    "<si><t>two_x000A_lines_x005F_x0041_</t></si></sst>",
}
SHEET, BOOK, RELS = "xl/worksheets/sheet1.xml", "xl/workbook.xml", "_rels/.rels"
STRINGS = "xl/strings.xml"


def sheet_xml(rows: str) -> str:
    return f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'


def make(
    path: Path, sheet: str | bytes = "", changed: dict[str, str | bytes | None] | None = None
) -> Path:
    """A smallest workbook; parts can be replaced, or left out with None."""
    parts = {**PARTS, SHEET: sheet or sheet_xml(""), **(changed or {})}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            if text is not None:
                archive.writestr(name, text)
    return path


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "book.xlsx"


# --- reading ------------------------------------------------------------------------------


def test_every_kind_of_cell(book: Path) -> None:
    rows = (
        '<row r="2"><c r="A2"><v>1.5E-3</v></c><c r="B2" t="s"><v>1</v></c>'
        '<c r="C2" t="s"><v>2</v></c><c r="D2" t="b"><v>0</v></c><c r="E2" t="e"><v>#N/A</v></c>'
        '<c r="F2" t="inlineStr"><is><r><t>in </t></r><r><t>line</t></r></is></c>'
        '<c r="G2" t="str"><f>1&amp;"a&lt;b"</f><v>1a&lt;b</v></c><c r="H2" s="4"/>'
        '<c r="I2"><f>1/2</f></c><c r="J2" t="str"><f>""</f><v></v></c></row>'
    )
    cells = Package(make(book, sheet_xml(rows))).cells("One")
    found = {ref: (cell.value, cell.formula) for ref, cell in cells.items()}
    assert found == {
        "A2": (0.0015, None),
        "B2": ("rich", None),
        "C2": ("two\nlines_x0041_", None),
        "D2": (False, None),
        "E2": ("#N/A", None),
        "F2": ("in line", None),
        "G2": ("1a<b", '1&"a<b"'),
        "I2": (None, "1/2"),
        "J2": ("", '""'),
    }
    assert isinstance(cells["E2"].value, ErrorText) and not isinstance(cells["B2"].value, ErrorText)


def test_places_that_the_file_leaves_out_are_counted(book: Path) -> None:
    rows = (
        "<row><c><v>1</v></c><c><v>2</v></c></row>"
        "<row r='5'><c r='C5'><v>3</v></c><c><v>4</v></c></row><row><c><v>5</v></c></row>"
    )
    values = Package(make(book, sheet_xml(rows))).values("One")
    assert values == {"A1": 1.0, "B1": 2.0, "C5": 3.0, "D5": 4.0, "A6": 5.0}


def test_shared_formulas_are_moved_to_each_cell(book: Path) -> None:
    rows = (
        '<row r="1"><c r="B1"><f t="shared" ref="B1:B3" si="7">A1*$D$1+HOPPER_X(A1:A2)</f>'
        "</c></row>"
        '<row r="2"><c r="B2"><f t="shared" si="7"/></c></row>'
        '<row r="3"><c r="B3"><f t="shared" si="7"/><v>2</v></c>'
        '<c r="C3"><f t="array" ref="C3:D4">A1:B2</f></c></row>'
    )
    package = Package(make(book, sheet_xml(rows)))
    cells = package.cells("One")
    assert cells["B3"].formula == "A3*$D$1+HOPPER_X(A3:A4)"
    assert cells["C3"].spill == "C3:D4"
    assert package.formula_cells("One") == ["B1", "B2", "B3", "C3", "D3", "C4", "D4"]


def test_other_spellings_of_the_same_xml(book: Path) -> None:
    """A prefix, CDATA, comments, single quotes, a ``>`` in an attribute, an end with a space."""
    xml = (
        f"<x:worksheet xmlns:x='{MAIN}' note='a > b'><x:sheetData ><x:row r='1' >"
        "<x:c r='A1' note='t=\"s\" >' ><x:f><![CDATA[1<2]]></x:f><!-- <v>9</v> -->"
        "<x:v >7</x:v ></x:c >"
        "<x:c r='B1'><x:f>A1</x:f></x:c></x:row></x:sheetData></x:worksheet>"
    )
    package = Package(make(book, xml))
    assert package.cells("One")["A1"].formula == "1<2"
    package.set_values("One", {"A1": True, "B1": 2.0, "C1": "new"})
    new = package.read(SHEET).decode()
    assert "<x:c r='A1' note='t=\"s\" >' t=\"b\">" in new
    assert "<x:f><![CDATA[1<2]]></x:f><!-- <v>9</v> --><x:v>1</x:v></x:c >" in new
    assert '<x:c r="C1" t="str"><x:v>new</x:v></x:c></x:row>' in new
    book.unlink()
    assert Package(make(book, new)).values("One") == {"A1": True, "B1": 2.0, "C1": "new"}


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-8-sig"])
def test_other_encodings_are_kept(book: Path, encoding: str) -> None:
    xml = sheet_xml('<row r="1"><c r="A1" t="str"><f>"é"&amp;B1</f><v>é</v></c></row>')
    package = Package(make(book, xml.encode(encoding)))
    assert package.cells("One")["A1"].value == "é"
    package.set_values("One", {"A1": "ß"})
    assert package.read(SHEET) == xml.replace("<v>é", "<v>ß").encode(encoding)


def test_openpyxl_reads_the_same_from_a_rich_workbook(book: Path) -> None:
    """Source of the check: openpyxl, which is not used for reading here."""
    package = Package(rich_workbook.build(book.with_suffix(".xlsm")))
    other = openpyxl.load_workbook(package.path)
    assert [(s.name, s.state) for s in package.sheets] == [
        (s.title, s.sheet_state) for s in other.worksheets
    ]
    compared = 0
    for sheet in package.sheets:
        theirs = other[sheet.name]
        for ref, cell in package.cells(sheet.name).items():
            value = theirs[ref].value
            if cell.formula is None:
                assert cell.value == value
            else:
                text = getattr(value, "text", value)
                assert text == "=" + cell.formula
                assert getattr(value, "ref", None) == cell.spill
            compared += 1
    assert compared > 60
    assert DefinedName("reserve", "Sizing!$I$1") in package.defined_names
    assert DefinedName("_xlnm.Print_Titles", "'Sizing'!$1:$1", "Sizing") in package.defined_names


def test_places() -> None:
    for text, at in {
        "A1": (1, 1),
        "Z9": (9, 26),
        "AA10": (10, 27),
        "$xfd$1048576": (1048576, 16384),
    }.items():
        assert row_column(text) == at
        assert reference(*at) == text.replace("$", "").upper()
    for text in ("", "A0", "A1048577", "XFE1", "1A", "A", "AAAA1", "A1:B2", "A-1"):
        with pytest.raises(InputFileError):
            row_column(text)
    assert list(cells_of("B2:C3")) == ["B2", "C2", "B3", "C3"]
    with pytest.raises(InputFileError, match="larger than"):
        list(cells_of("A1:XFD1048576"))


# --- writing ------------------------------------------------------------------------------


def test_only_the_value_changes(book: Path) -> None:
    rows = (
        '<row r="1" spans="1:9" x="k"><c r="A1" s="3" t="str" vm="2" ph="1"><f ca="1">B1</f>'
        "<v>old</v><extLst><ext/></extLst></c><c r=\"B1\" s='5'><f>C1</f></c></row>"
    )
    package = Package(make(book, sheet_xml(rows)))
    assert package.set_values("One", {"A1": 2.5, "B1": ErrorText("#NUM!")}) == 2
    assert package.read(SHEET).decode() == sheet_xml(
        '<row r="1" spans="1:9" x="k"><c r="A1" s="3" ph="1"><f ca="1">B1</f>'
        "<v>2.5</v><extLst><ext/></extLst></c>"
        '<c r="B1" s=\'5\' t="e"><f>C1</f><v>#NUM!</v></c></row>'
    )


@pytest.mark.parametrize(
    ("stored", "value"),
    [
        ("<c r='A1'><f>B1</f><v>0.30000000000000004</v></c>", 0.3),
        ("<c r='A1' t='n' ><f>B1</f><v>1.0</v></c>", 1.0),
        ("<c r='A1' t='b'><f>B1</f><v>1</v></c>", True),
        ("<c r='A1' t='e'><f>B1</f><v>#N/A</v></c>", ErrorText("#N/A")),
        ("<c r='A1' t='str'><f>B1</f><v/></c>", ""),
        ("<c r='A1'><f>B1</f><v></v></c>", None),
    ],
)
def test_the_same_value_changes_no_byte(book: Path, stored: str, value: object) -> None:
    xml = sheet_xml(f"<row r='1'>{stored}</row>")
    package = Package(make(book, xml))
    assert package.set_values("One", {"A1": value}) == 0  # type: ignore[dict-item]
    assert package.read(SHEET).decode() == xml
    assert package.changed == []


@pytest.mark.parametrize(
    ("value", "other"),
    [
        (1.0, True),
        ("1", 1.0),
        (ErrorText("#N/A"), "#N/A"),
        ("", None),
        (0.0, None),
        (1.0, 1.0000001),
    ],
)
def test_values_of_another_kind_are_not_the_same(book: Path, value: object, other: object) -> None:
    package = Package(make(book, sheet_xml("<row r='1'><c r='A1'><f>B1</f></c></row>")))
    for each in (value, other, value):
        package.set_values("One", {"A1": each})  # type: ignore[dict-item]
        found = package.values("One")["A1"]
        assert found == each and type(found) is type(each)


def test_cells_that_the_file_does_not_list_are_added_in_order(book: Path) -> None:
    xml = sheet_xml(
        '<row r="2"><c r="B2"><f t="array" ref="B2:D4">X</f></c><c r="E2"><v>9</v></c></row>'
        '<row r="3"/><row r="9"><c r="A9"><v>8</v></c></row>'
    )
    package = Package(make(book, xml))
    wanted = {ref: float(i) for i, ref in enumerate(cells_of("B2:D4"))}
    assert package.set_values("One", {**wanted, "AA1": "first", "A12": True}) == 11
    text = package.read(SHEET).decode()
    refs = re.findall(r'<c r="([A-Z]+\d+)"', text)
    assert refs == ["AA1", "B2", "C2", "D2", "E2", "B3", "C3", "D3", "B4", "C4", "D4", "A9", "A12"]
    assert re.findall(r'<row r="(\d+)"', text) == ["1", "2", "3", "4", "9", "12"]
    package.save(book)
    sheet = openpyxl.load_workbook(book, data_only=True)["One"]
    assert [[c.value for c in row] for row in sheet["B2:D4"]] == [[0, 1, 2], [3, 4, 5], [6, 7, 8]]


@pytest.mark.parametrize(
    "text",
    [
        "a & b < c > d \" '",
        "two\nlines\ttab",
        "\r\x01\x1f",
        "_x0041_",
        "_x",
        "  spaces  ",
        "ünï 😀",
        "]]>",
    ],
)
def test_any_text_survives(book: Path, text: str) -> None:
    package = Package(make(book, sheet_xml("<row r='1'><c r='A1'><f>B1</f></c></row>")))
    package.set_values("One", {"A1": text})
    package.save(book)
    assert Package(book).values("One")["A1"] == text
    # openpyxl undoes the same escapes (ECMA-376 part 1, 22.9.2.19) nowhere but in control signs.
    if "_x" not in text and text.isprintable():
        assert openpyxl.load_workbook(book, data_only=True)["One"]["A1"].value == text


def test_saving_keeps_order_times_packing_and_every_byte(book: Path) -> None:
    source = rich_workbook.build(book.with_suffix(".xlsm"))
    package = Package(source)
    assert package.set_values("Quote", {"A1": 16.0}) == 1
    package.save(book)
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(book) as new:
        assert new.testzip() is None
        assert old.comment == new.comment
        changed = []
        for before, after in zip(old.infolist(), new.infolist(), strict=True):
            assert (before.filename, before.date_time, before.compress_type) == (
                after.filename, after.date_time, after.compress_type,
            )  # fmt: skip
            if old.read(before) != new.read(after):
                changed.append(before.filename)
        assert changed == ["xl/worksheets/sheet3.xml"]


def test_a_failing_save_leaves_the_old_file(book: Path, tmp_path: Path) -> None:
    make(book, sheet_xml("<row r='1'><c r='A1'><v>1</v></c></row>"))
    damaged = tmp_path / "damaged.xlsx"
    data = bytearray(book.read_bytes())
    at = data.index(b"xl/strings.xml") + len("xl/strings.xml") + 3
    data[at] ^= 0xFF
    damaged.write_bytes(data)
    old = book.read_bytes()
    with pytest.raises(InputFileError, match="strings"):
        Package(damaged).save(book)
    assert book.read_bytes() == old
    assert sorted(p.name for p in tmp_path.iterdir()) == ["book.xlsx", "damaged.xlsx"]


# --- files that are not what they seem ----------------------------------------------------


def refused(path: Path, *words: str) -> None:
    """Reading everything of ``path`` gives one clear line that begins with its name."""
    with pytest.raises(InputFileError) as caught:
        package = Package(path)
        package.refuse_document_types()
        for sheet in package.sheets:
            package.cells(sheet.name)
            package.formula_cells(sheet.name)
        list(package.defined_names)
        for part in package.parts:
            package.read(part)
    message = str(caught.value)
    assert message.startswith(f"{path}: ") and "\n" not in message
    for word in words:
        assert word in message


def test_files_that_are_no_package(tmp_path: Path, book: Path) -> None:
    whole = make(tmp_path / "whole.xlsx").read_bytes()
    for name, content, word in (
        ("empty", b"", "empty"),
        ("text", b"job,throughput\n", "not an .xlsx"),
        ("old", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "password"),
        ("half", whole[: len(whole) // 2], "cut short"),
        ("tail", whole[:-10], "cut short"),
    ):
        path = tmp_path / f"{name}.xlsx"
        path.write_bytes(content)
        refused(path, word)
    refused(tmp_path / "missing.xlsx", "No such file")
    refused(tmp_path, "directory")


def test_packages_that_are_no_workbook(tmp_path: Path, book: Path) -> None:
    with zipfile.ZipFile(book, "w") as archive:
        archive.writestr("a.txt", "a")
    refused(book, "not a workbook")
    with zipfile.ZipFile(book, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
    refused(book, "OpenDocument")
    refused(make(book, changed={RELS: None}), "not a workbook")
    binary = PARTS[RELS].replace("workbook.xml", "workbook.bin")
    refused(make(book, changed={RELS: binary}), "xlsb")
    refused(make(book, changed={BOOK: f'<workbook xmlns="{MAIN}"/>'}), "lists no sheets")
    lost = PARTS["xl/_rels/workbook.xml.rels"].replace("sheet1", "sheet7")
    refused(make(book, changed={"xl/_rels/workbook.xml.rels": lost}), "sheet7.xml is missing")
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(make(book), "a") as archive:
        archive.writestr(SHEET, sheet_xml(""))
    refused(book, SHEET, "twice")


def test_a_password_on_the_archive(book: Path) -> None:
    """Bit 0 of the flags marks an encrypted entry (ZIP appnote, 4.4.4)."""
    data = bytearray(make(book).read_bytes())
    at = data.index(b"PK\x01\x02")
    data[at + 8] |= 1
    book.write_bytes(data)
    refused(book, "password")


@pytest.mark.parametrize("part", [BOOK, SHEET, RELS])
def test_entities_and_outside_files_are_never_read(book: Path, part: str, tmp_path: Path) -> None:
    (tmp_path / "secret.txt").write_text("secret")
    full = {**PARTS, SHEET: sheet_xml("<row r='1'><c r='A1' t='str'><v>&e;</v></c></row>")}
    for entity in (
        f'<!ENTITY e SYSTEM "file://{tmp_path}/secret.txt">',
        '<!ENTITY a "aaaaaaaaaa"><!ENTITY e "&a;&a;&a;&a;&a;&a;&a;&a;">',
    ):
        for encoding in ("utf-8", "utf-16"):
            xml = f"<!DOCTYPE x [{entity}]>{full[part]}".encode(encoding)
            refused(make(book, changed={**full, part: xml}), "document type")


def test_packages_that_would_exhaust_the_machine(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    zeros = bytes(20 * 2**20)
    refused(make(book, changed={STRINGS: zeros}), "strings.xml", "times its packed size")
    monkeypatch.setattr(archive, "MOST_BYTES", 3 * 2**20)
    refused(make(book, changed={STRINGS: bytes(4 * 2**20)}), "unpacks to more than 3 MB")
    monkeypatch.setattr(archive, "MOST_PARTS", 3)
    refused(make(book), "6 parts")
    monkeypatch.setattr(archive, "MOST_BYTES", 500)
    refused(make(book), "is larger than")


def test_a_size_that_is_a_lie(book: Path) -> None:
    """The sizes in the directory are what the limits see; a part is never read beyond them."""
    with zipfile.ZipFile(make(book, sheet_xml(" " * 100_000))) as archive:
        real = archive.getinfo(SHEET).file_size
    data = book.read_bytes()
    book.write_bytes(data.replace(struct.pack("<L", real), struct.pack("<L", 500)))
    refused(book, SHEET, "damaged")


@pytest.mark.parametrize(
    ("rows", "word"),
    [
        ("<row r='1'><c r='A1'><v>x</v></c></row>", "A1 holds 'x'"),
        ("<row r='1'><c r='A1' t='s'><v>77</v></c></row>", "A1 holds '77'"),
        ("<row r='1'><c r='hello'><v>1</v></c></row>", "'hello' is not a cell"),
        ("<row r='1'><c r='A2'><v>1</v></c></row>", "A2"),
        ("<row r='1'><c r='A1'><v>1</v></c><c r='A1'><v>2</v></c></row>", "A1"),
        ("<row r='0'/>", "row '0'"),
        ("<row r='1'/><row r='1'/>", "row '1'"),
        ("<row r='9999999'/>", "9999999"),
        ("<row r='1'><c r='A1'><f t='shared' si='3'/></c></row>", "A1 shares a formula"),
        ("<row r='1'><c r='A1'><f t='array' ref='A1:XFD99999'>B1</f></c></row>", "larger than"),
        ("<row r='1'><c r='A1'><v>1</c></row>", "damaged"),
        ("<row>" * 50_000, "damaged"),
    ],
)
def test_cells_that_make_no_sense(book: Path, rows: str, word: str) -> None:
    refused(make(book, sheet_xml(rows)), word)


def test_a_date_before_zip_began(book: Path) -> None:
    """Some writers leave the time of a part at zero, which is no date; it is kept."""
    data = make(book).read_bytes()
    with zipfile.ZipFile(book) as archive:
        stamp = archive.getinfo(SHEET).date_time
    packed = struct.pack(
        "<HH",
        stamp[3] << 11 | stamp[4] << 5 | stamp[5] // 2,
        (stamp[0] - 1980) << 9 | stamp[1] << 5 | stamp[2],
    )
    assert datetime(*stamp).year >= 1980 and packed in data
    book.write_bytes(data.replace(packed, bytes(4)))
    Package(book).save(book)
    assert Package(book).sheets[0].name == "One"
