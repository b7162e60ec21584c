"""The .xlam: structure and content, judged by readers that are not ours (oletools, olefile)."""

from __future__ import annotations

import difflib
import io
import random
import struct
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import olefile
import pytest
from oletools.olevba import VBA_Parser, decompress_stream

from hoppersheet.errors import HostError
from hoppersheet.functions import all_functions
from hoppersheet.hosts.excel import addin_file, compound_file, descriptions, vba_text
from hoppersheet.hosts.excel.vba_project import VbaProject, compress, decompress
from hoppersheet.registry import Argument, CellFunction

VBA = "xl/vbaProject.bin"


@pytest.fixture(scope="module")
def addin(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("addin") / "hoppersheet.xlam"
    path.write_bytes(addin_file.build())
    return path


def part(path: Path, name: str) -> bytes:
    with zipfile.ZipFile(path) as archive:
        return archive.read(name)


def modules_by_olevba(path: Path) -> dict[str, str]:
    parser = VBA_Parser(str(path))
    found = {
        name.rpartition(".")[0]: code.replace("\r\n", "\n")
        for _, _, name, code in parser.extract_macros()
    }
    parser.close()
    return found


def test_olevba_reads_our_module_back_identically(addin: Path) -> None:
    modules = modules_by_olevba(addin)
    assert set(modules) == {
        "ThisWorkbook", "Dictionary", "Sheet2", "xlwings", "hoppersheet_functions",
    }  # fmt: skip
    assert modules["hoppersheet_functions"] == vba_text.module_text()
    lines = modules["hoppersheet_functions"].splitlines()
    functions = [x.split("(")[0].split()[1] for x in lines if x.startswith("Function ")]
    assert sorted(functions) == sorted(all_functions())


def test_the_module_of_xlwings_changes_in_these_lines_only(addin: Path) -> None:
    before, after = modules_by_olevba(addin_file.template()), modules_by_olevba(addin)
    for name in ("ThisWorkbook", "Dictionary", "Sheet2"):
        assert after[name] == before[name]
    old, new = before["xlwings"].splitlines(), after["xlwings"].splitlines()
    changes = [line for line in difflib.ndiff(old, new) if line[:1] in "+-"]
    added = [line[2:].strip() for line in changes if line[0] == "+"]
    assert len(changes) == 11 and [line[:60] for line in added] == [
        "Option Private Module",
        'Public Const PROJECT_NAME As String = "hoppersheet"',
        'PYTHONPATH = AddExcelDir & ";;;" & GetConfig("ONEDRIVE_CONSU',
        'tail = " -P -B -c ""import sys, os;" & LicenseKeyEnvString &',
        'If source = "sheet" Then',
        'If source = "directory" Then',
    ]


def test_nothing_in_a_workbook_decides_which_program_runs(addin: Path) -> None:
    # A sheet named hoppersheet.conf, or a file of that name beside a workbook that somebody sent,
    # could otherwise name the interpreter; the name of the workbook would be in the command.
    text = modules_by_olevba(addin)["xlwings"]
    command = text[text.index("Function XLPyCommand()") : text.index("Private Sub XLPyLoadDLL")]
    excel = command[: command.index("' Other office apps")]
    assert "FullName" not in excel and ".Path" not in excel
    reading = text[text.index("Function GetConfig(") : text.index("Function SaveConfigToFile")]
    assert reading.count('If source = ""') == 1
    assert 'If source = "" Or source = "user" Then' in reading
    # The settings that start Python are asked for without a source, so only the user's counts.
    assert 'GetConfig("INTERPRETER_WIN", "")' in command


def test_untouched_parts_are_byte_identical(addin: Path) -> None:
    touched = {VBA, "xl/_rels/workbook.xml.rels"}
    with zipfile.ZipFile(addin_file.template()) as old, zipfile.ZipFile(addin) as new:
        assert new.testzip() is None
        assert set(new.namelist()) - set(old.namelist()) == {"customXml/item1.xml"}
        assert set(old.namelist()) <= set(new.namelist())
        for name in set(old.namelist()) - touched:
            assert new.read(name) == old.read(name), name


def test_no_foreign_ribbon_button_and_no_sample_macro(addin: Path) -> None:
    with zipfile.ZipFile(addin) as archive:
        assert not [name for name in archive.namelist() if "customUI" in name]
        assert b"ui/extensibility" not in archive.read("_rels/.rels")
    project = part(addin, VBA)
    with olefile.OleFileIO(io.BytesIO(project)) as ole:
        text = ole.openstream("PROJECT").read().decode("cp1252")
    assert 'Name="Hoppersheet"' in text and "MyAddin" not in text and "Module1" not in text
    assert text.count("hoppersheet_functions") == 2  # the module, and its window


def test_the_compound_file_is_strictly_well_formed(addin: Path) -> None:
    # olefile raises on anything it deems incorrect at this level, down to [MS-CFB] details.
    data = part(addin, VBA)
    with olefile.OleFileIO(io.BytesIO(data), raise_defects=olefile.DEFECT_POTENTIAL) as ole:
        assert not ole.parsing_issues
        streams = {"/".join(path): ole.openstream(path).read() for path in ole.listdir()}
    assert len(data) % 512 == 0
    assert streams == compound_file.read_streams(data)
    assert streams["VBA/_VBA_PROJECT"] == bytes.fromhex("CC61FFFF000000")  # [MS-OVBA] 2.3.4.1
    directory = bytes(decompress_stream(bytearray(streams["VBA/dir"])))
    count = directory.index(b"\x0f\x00\x02\x00\x00\x00") + 6
    assert struct.unpack_from("<H", directory, count)[0] == 5


def tree_is_valid(data: bytes) -> None:
    """[MS-CFB] 2.6.4: siblings form an ordered red-black tree; every black path is equal."""
    entries = compound_file._Reader(data).entries

    def name(i: int) -> tuple[int, str]:
        text = entries[i][0][: entries[i][1] - 2].decode("utf-16-le")
        return len(text), text.upper()

    def black_height(i: int, low: object, high: object, parent_red: bool) -> int:
        if i == 0xFFFFFFFF:
            return 0
        assert (low is None or low < name(i)) and (high is None or name(i) < high)  # type: ignore[operator]
        red = entries[i][3] == 0
        assert not (red and parent_red)
        left = black_height(entries[i][4], low, name(i), red)
        assert left == black_height(entries[i][5], name(i), high, red)
        return left + (not red)

    for entry in entries:
        if entry[2] in (1, 5):
            black_height(entry[6], None, None, False)


@pytest.mark.parametrize("count", [1, 2, 3, 6, 7, 12, 40])
def test_written_streams_read_back_by_olefile(count: int) -> None:
    source = random.Random(count)
    sizes = [0, 1, 63, 64, 65, 4095, 4096, 4097, 70_000]
    streams = {
        f"{'VBA/' if i % 3 else ''}stream{i}": source.randbytes(source.choice(sizes))
        for i in range(count)
    }
    data = compound_file.write_streams(streams)
    tree_is_valid(data)
    with olefile.OleFileIO(io.BytesIO(data), raise_defects=olefile.DEFECT_POTENTIAL) as ole:
        back = {"/".join(path): ole.openstream(path).read() for path in ole.listdir()}
    assert back == streams == compound_file.read_streams(data)


def test_the_template_itself_is_read_as_olefile_reads_it() -> None:
    data = part(addin_file.template(), VBA)
    with olefile.OleFileIO(io.BytesIO(data)) as ole:
        expected = {"/".join(path): ole.openstream(path).read() for path in ole.listdir()}
    assert compound_file.read_streams(data) == expected


def test_the_worked_example_of_the_specification() -> None:
    # [MS-OVBA] 3.2.2, "Normal Compression Example", transcribed from memory; oletools agrees.
    plain = b"#aaabcdefaaaaghijaaaaaklaaamnopqaaaaaaaaaaaarstuvwxyzaaa"
    packed = bytes.fromhex(
        "01 2F B0 00 23 61 61 61 62 63 64 65 82 66 00 70 61 67 68 69 6A 01 38 08 61 6B 6C 00 30"
        "6D 6E 6F 70 06 71 02 70 04 10 72 73 74 75 76 10 77 78 79 7A 00 3C"
    )
    assert bytes(decompress_stream(bytearray(packed))) == plain
    assert decompress(packed) == plain


@pytest.mark.parametrize("size", [0, 1, 2, 3, 100, 4095, 4096, 4097, 9000])
@pytest.mark.parametrize("letters", ["a", "ab ", "end function\r\n"])
def test_compressed_text_is_read_back_by_oletools(size: int, letters: str) -> None:
    source = random.Random(size)
    data = "".join(source.choices(letters, k=size)).encode()
    packed = compress(data)
    assert bytes(decompress_stream(bytearray(packed))) == data == decompress(packed)


def test_a_full_chunk_that_does_not_compress_is_stored_raw() -> None:
    data = random.Random(1).randbytes(4096)
    assert bytes(decompress_stream(bytearray(compress(data)))) == data == decompress(compress(data))
    # A shorter one cannot be stored so; text never comes to this.
    with pytest.raises(HostError, match="cannot be compressed"):
        compress(data[:-1])


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"PK\x03\x04" + bytes(600), "not a compound file"),
        (b"", "not a compound file"),
        (compound_file.write_streams({"VBA/dir": b"abc"}), "does not begin with 1"),
        (compound_file.write_streams({"other": b"abc"}), "no VBA project"),
    ],
)
def test_something_else_than_a_project_is_refused(data: bytes, says: str) -> None:
    with pytest.raises(HostError, match=says):
        VbaProject(data)


def test_the_file_knows_what_it_was_built_for(addin: Path) -> None:
    import xlwings

    assert addin_file.xlwings_version_in(addin) == xlwings.__version__
    assert addin_file.text_in(addin) == vba_text.module_text()


def test_two_builds_are_equal() -> None:
    assert addin_file.build() == addin_file.build()


# --- the VBA text -------------------------------------------------------------------------


def test_no_text_of_an_error_is_left_and_every_line_is_one_that_vba_takes() -> None:
    text = vba_text.module_text()
    code = "\n".join(x for x in text.splitlines() if not x.lstrip().startswith("'"))
    for left in ("Err.Description", "Application.Caller", "ActiveWorkbook"):
        assert left not in code
    # Limits of VBA: 1023 characters a line, 24 continuations, 64 kB a procedure.
    assert max(map(len, text.splitlines())) <= 1023
    assert text.isascii()
    runs = [0]
    for line in text.splitlines():
        runs.append(runs[-1] + 1 if line.endswith(" _") else 0)
    assert max(runs) <= 24
    assert max(map(len, text.split("\nEnd "))) < 60_000


def test_no_argument_has_a_name_that_vba_refuses() -> None:
    assert vba_text.reserved_names() == []


@pytest.mark.parametrize("name", ["scale", "Date", "len", "i", "given", "1st", "a b", "HOPPER_X"])
def test_the_lint_sees_a_refused_name(name: str) -> None:
    record = CellFunction(
        name="HOPPER_X", function=len, summary="", question="", arguments=(Argument(name, ""),),
        result=None, equation="", assumptions="", source="", example=None, topic="",
    )  # fmt: skip
    assert vba_text.reserved_names({"HOPPER_X": record}) == [f"HOPPER_X.{name}"]


def test_the_texts_reach_excel() -> None:
    text = vba_text.module_text()
    for record in all_functions().values():
        summary = record.summary.replace('"', '""')
        assert f'Attribute {record.name}.VB_Description = "{summary}"\n' in text
        if record.arguments:
            assert f'    Describe "{record.name}", "{summary}", Array( _\n' in text
        for argument in record.arguments:
            doubled = argument.text.replace('"', '""')
            assert f'        "{doubled}"' in text


def test_the_tooltips_name_every_function_and_argument(addin: Path) -> None:
    root = ElementTree.fromstring(part(addin, "customXml/item1.xml"))
    space = f"{{{descriptions.TOOLTIPS_NAMESPACE}}}"
    assert root.tag == f"{space}IntelliSense"
    found = {
        function.get("Name"): [a.get("Description") for a in function.iter(f"{space}Argument")]
        for function in root.iter(f"{space}Function")
    }
    assert found == {n: [a.text for a in f.arguments] for n, f in all_functions().items()}
    relations = part(addin, "xl/_rels/workbook.xml.rels").decode()
    assert 'Target="../customXml/item1.xml"' in relations
