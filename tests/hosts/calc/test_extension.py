"""The extension file, and what the function wizard makes of it."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from importlib import metadata
from pathlib import Path
from xml.etree import ElementTree

import pytest

from hoppersheet import __version__
from hoppersheet.errors import HostError
from hoppersheet.functions import all_functions
from hoppersheet.hosts.calc import extension
from hoppersheet.hosts.calc.office import Office

pytestmark = pytest.mark.calc


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return extension.build(tmp_path_factory.mktemp("oxt") / extension.FILE_NAME)


def test_the_wizard_shows_every_function_and_argument(office: Office) -> None:
    shown = {entry["name"]: entry for entry in office.describe()}
    assert set(shown) == set(all_functions())
    for name, function in all_functions().items():
        assert shown[name]["text"] == function.summary
        assert [
            (a["name"], a["text"].removeprefix("Required. ")) for a in shown[name]["arguments"]
        ] == [(argument.name.replace("_", " "), argument.text) for argument in function.arguments]
        # Calc's own line calls every argument that takes a number or a text optional.
        for told, argument in zip(shown[name]["arguments"], function.arguments, strict=True):
            said = told["text"].startswith("Required. ")
            assert said == (told["optional"] and argument.required), argument.name


def test_the_wizard_shows_the_same_before_the_first_call() -> None:
    # Until the component is loaded Calc knows the arguments from the configuration alone, and
    # there it sorts them by their names.
    with Office() as fresh:
        shown = {entry["name"]: entry["arguments"] for entry in fresh.describe()}
    assert [a["name"] for a in shown["HOPPER_REQUIRED_VOLUME"]] == [
        "throughput",
        "drying hours",
        "bulk density",
        "reserve",
        "units",
    ]


def test_the_same_sources_give_the_same_bytes(package: Path, tmp_path: Path) -> None:
    again = extension.build(tmp_path / "again.oxt")
    assert again.read_bytes() == package.read_bytes()


def test_it_holds_what_it_needs_and_no_more(package: Path) -> None:
    with zipfile.ZipFile(package) as archive:
        names = archive.namelist()
        assert archive.testzip() is None
        for name in names:
            if name.endswith((".xml", ".xcu", ".components")):
                ElementTree.fromstring(archive.read(name))
        assert f'<version value="{__version__}"/>' in archive.read("description.xml").decode()
    assert names == sorted(names)
    assert package.stat().st_size < 1_000_000
    for needed in ("pint/default_en.txt", "psychrolib.py", "hoppersheet/data/resins.csv"):
        assert f"pythonpath/{needed}" in names
    for useless in ("cli.py", "commands", "testsuite", "__pycache__", "openpyxl", "tests"):
        assert not [name for name in names if f"/{useless}" in name]
    for packed in ("pint", "flexcache", "flexparser", "platformdirs", "typing_extensions"):
        assert any(name.startswith(f"licenses/{packed}/") for name in names)


#: pint and its helpers import these only where the running Python has them, which vermin cannot
#: see; typing_extensions is made of nothing else. What is hoppersheet's own, tests/run checks
#: without exceptions.
EXCEPT = [
    "--exclude-regex", "typing_extensions", "--exclude", "typing.Self", "--exclude", "typing.Never",
    "--exclude", "typing.TypeAlias", "--exclude", "typing.Unpack",
    "--exclude", "warnings.deprecated",
]  # fmt: skip


def test_all_of_it_runs_on_the_python_of_an_older_office(package: Path, tmp_path: Path) -> None:
    """Python 3.9: what LibreOffice on Windows and macOS may bring. vermin reads the syntax."""
    with zipfile.ZipFile(package) as archive:
        archive.extractall(tmp_path)
    done = subprocess.run(
        [
            sys.executable, "-c", "from vermin import main; main()", "--target=3.9-",
            "--no-tips", "--violations", "--quiet", "--processes=1", *EXCEPT, str(tmp_path),
        ],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_it_computes_with_nothing_but_its_own_packages(package: Path, tmp_path: Path) -> None:
    """The packed sources alone, on a Python without site-packages, read units and moist air."""
    with zipfile.ZipFile(package) as archive:
        archive.extractall(tmp_path)
    program = (
        "import sys; sys.path.insert(0, sys.argv[1]); import hoppersheet as h; "
        "print(h.call('HOPPER_HELD_MASS', '16 ft3', 36.5), h.call('HOPPER_DEW_POINT', 70, 0.5))"
    )
    done = subprocess.run(
        [sys.executable, "-S", "-I", "-c", program, str(tmp_path / "pythonpath")],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    mass, dew_point = map(float, done.stdout.split())
    assert mass == 584.0
    # ASHRAE psychrometric chart no. 1: 70 degF at 50 % has a dew point of about 50.5 degF (read
    # from the chart, from memory).
    assert dew_point == pytest.approx(50.5, abs=0.3)


@pytest.mark.parametrize("installed", [True, False])
def test_a_package_that_an_older_pip_installed(installed: bool, tmp_path, monkeypatch) -> None:
    # Debian 12's pip without "wheel" leaves an egg-info whose list names sources: setup.py too,
    # which is not installed.
    info = tmp_path / "PsychroLib-2.5.0.egg-info"
    info.mkdir()
    (info / "PKG-INFO").write_text("Metadata-Version: 2.1\nName: PsychroLib\nVersion: 2.5.0\n")
    (info / "SOURCES.txt").write_text("psychrolib.py\nsetup.py\n")
    if installed:
        (tmp_path / "psychrolib.py").write_text("MARK = 1\n")
    real = metadata.distribution
    monkeypatch.setattr(
        extension.metadata,
        "distribution",
        lambda name: metadata.Distribution.at(info) if name == "psychrolib" else real(name),
    )
    if not installed:
        with pytest.raises(HostError, match="psychrolib"):
            extension.contents()
        return
    packed = extension.contents()
    assert packed["pythonpath/psychrolib.py"] == b"MARK = 1\n"
    assert "pythonpath/setup.py" not in packed
