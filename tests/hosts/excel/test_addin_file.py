"""The .xlam: structure and content, judged by readers that are not ours (oletools, olefile)."""

from __future__ import annotations

import io
import random
import struct
import zipfile
from pathlib import Path, PureWindowsPath
from xml.etree import ElementTree

import olefile
import pytest
from oletools.olevba import VBA_Parser, decompress_stream

from hoppersheet.errors import HostError
from hoppersheet.functions import all_functions
from hoppersheet.hosts.excel import addin_file, bootstrap, compound_file, descriptions, vba_text
from hoppersheet.hosts.excel.bootstrap import Paths
from hoppersheet.hosts.excel.folders import xlwings_version
from hoppersheet.hosts.excel.vba_project import VbaProject, compress, decompress
from hoppersheet.registry import Argument, CellFunction

VBA = "xl/vbaProject.bin"
PATHS = Paths(
    PureWindowsPath(r"C:\Users\José\env\Scripts\pythonw.exe"),
    PureWindowsPath(r"C:\Users\José\env"),
    xlwings_version(),
)


@pytest.fixture(scope="module")
def addin(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("addin") / "hoppersheet.xlam"
    path.write_bytes(addin_file.build(PATHS))
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
        "ThisWorkbook", "Sheet2", "hoppersheet_start", "hoppersheet_functions",
    }  # fmt: skip
    assert modules["hoppersheet_start"] == bootstrap.module_text(PATHS)
    assert modules["hoppersheet_functions"] == vba_text.module_text()
    lines = modules["hoppersheet_functions"].splitlines()
    functions = [x.split("(")[0].split()[1] for x in lines if x.startswith("Function ")]
    assert sorted(functions) == sorted(all_functions())


def test_of_xlwings_only_the_empty_modules_of_the_workbook_are_left(addin: Path) -> None:
    before, after = modules_by_olevba(addin_file.template()), modules_by_olevba(addin)
    for name in ("ThisWorkbook", "Sheet2"):
        assert after[name] == before[name]
        assert all(line.startswith("Attribute ") for line in after[name].splitlines() if line)


def test_python_is_started_directly_and_isolated(addin: Path) -> None:
    text = modules_by_olevba(addin)["hoppersheet_start"]
    # Through cmd /K, which never ends, a Python that cannot start froze Excel for a minute.
    assert "cmd" not in text.lower()
    command = next(line for line in text.splitlines() if "$(CLSID)" in line and "start =" in line)
    assert command.split(" & ", 1)[1].startswith(
        '"C:\\Users\\Jos" & ChrW(233) & "\\env\\Scripts\\p'
    )
    assert command.endswith('" -I -B -m hoppersheet.hosts.excel.server $(CLSID)"')
    # Nothing of a workbook, of a folder or of the environment decides what runs.
    for left in ("ActiveWorkbook", "ThisWorkbook", "Environ", "Open ", "CurDir", "GetConfig"):
        assert left not in text
    assert text.isascii() and max(map(len, text.splitlines())) <= 1023
    # Both kinds of Excel, each with its DLL.
    for bits in ("64", "32"):
        assert text.count(f'"xlwings{bits}-{xlwings_version()}.dll"') == 2


def test_no_library_is_referred_to(addin: Path) -> None:
    with olefile.OleFileIO(io.BytesIO(part(addin, VBA))) as ole:
        records = bytes(decompress_stream(bytearray(ole.openstream("VBA/dir").read())))
    assert b"*\\G" not in records and b"Users" not in records  # a reference, a path of somebody's


def test_a_scanner_finds_little_and_nothing_new(addin: Path) -> None:
    # What an Excel add-in that calls a DLL cannot do without; 29 with the VBA of xlwings.
    parser = VBA_Parser(str(addin))
    found = {keyword for _, keyword, _ in parser.analyze_macros()}
    parser.close()
    assert found <= {
        "Auto_Open", "call", "Lib", "ChrW", "system", "Hex Strings", "Base64 Strings",
        "pythonw.exe", "8.dll",
    }  # fmt: skip


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
    assert "xlwings" not in text and "Dictionary" not in text


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
    assert struct.unpack_from("<H", directory, count)[0] == 4


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
    found = addin_file.modules_in(addin)
    assert found == addin_file.modules(PATHS)
    assert bootstrap.xlwings_version_of(found["hoppersheet_start"]) == xlwings_version()


def test_two_builds_are_equal() -> None:
    assert addin_file.build(PATHS) == addin_file.build(PATHS)


def test_a_folder_that_windows_cannot_hand_on_is_named() -> None:
    odd = PureWindowsPath("C:/Users/\u6a39/pythonw.exe")
    with pytest.raises(HostError, match="'\u6a39', which this machine's VBA cannot hand on"):
        Paths(odd, odd.parent, "1.0")


# --- the VBA text -------------------------------------------------------------------------


def test_no_text_of_an_error_is_left_and_every_line_is_one_that_vba_takes() -> None:
    text = vba_text.module_text()
    code = "\n".join(x for x in text.splitlines() if not x.lstrip().startswith("'"))
    for left in ("Application.Caller", "ActiveWorkbook"):
        assert left not in code
    # The text of an error is noted for `excel status`, never shown in a cell.
    assert [x.strip() for x in code.splitlines() if "Err.Description" in x] == [
        "why = Err.Description",
        'Note "texts refused", functionName & ": " & Err.Number & " " & Err.Description',
    ]
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
