"""``hoppersheet doctor`` tries every part for real; what stands in the way is one sentence."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

from abuse.hostile import run
from hoppersheet.errors import HostError
from hoppersheet.hosts import doctor
from hoppersheet.hosts.calc import installation, programs


def in_the_way(err: str) -> list[str]:
    return [line.removeprefix("problem: ") for line in err.splitlines()]


@pytest.fixture
def no_office(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(programs.OVERRIDE, str(tmp_path / "nowhere"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


@pytest.mark.usefixtures("no_office")
def test_a_missing_office_is_named_and_the_rest_is_tried() -> None:
    done = run("doctor")
    assert done.status == 1
    (problem,) = in_the_way(done.err)
    assert problem.startswith("LibreOffice: HOPPERSHEET_SOFFICE names")
    assert done.out.count("not tried without LibreOffice") == 2
    assert "gives 21.1538: right" in done.out and "packages load" in done.out
    assert "Everything that was tried works" not in done.out


@pytest.mark.usefixtures("no_office")
def test_a_package_that_does_not_load_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    real = importlib.import_module

    def without_pint(name: str, package: str | None = None) -> object:
        if name == "pint":
            raise ImportError("broken")
        return real(name, package)

    monkeypatch.setattr(doctor.importlib, "import_module", without_pint)
    assert any("does not load: pint (ImportError" in line for line in in_the_way(run("doctor").err))


@pytest.mark.usefixtures("no_office")
def test_repair_empties_the_cache(tmp_path: Path) -> None:
    profiles = tmp_path / "cache" / "hoppersheet" / "calc-profiles"
    (profiles / "old" / "user").mkdir(parents=True)
    done = run("doctor", "--repair")
    assert "1 prepared profile deleted" in done.out and list(profiles.iterdir()) == []


@pytest.mark.calc
def test_where_all_is_well(monkeypatch: pytest.MonkeyPatch) -> None:
    """All but the user's own office, into which only the tests of installation put anything."""
    found = programs.find()
    well = installation.Status(found, "", "", {"for this user": doctor.__version__}, "=X()", 2.0, 2)
    monkeypatch.setattr(installation, "status", lambda _timeout: well)
    done = run("doctor")
    assert (done.status, done.err) == (0, ""), done
    assert "computing       the known call is right, in " in done.out
    assert done.out.endswith("Everything that was tried works.\n")

    def running(_timeout: float) -> object:
        raise HostError("LibreOffice is running; close all its windows, then try again")

    monkeypatch.setattr(installation, "status", running)
    monkeypatch.setattr(doctor, "_office", lambda: doctor.Line("LibreOffice", "7.4"))
    monkeypatch.setattr(doctor, "_computing", lambda: doctor.Line("computing", "right"))
    done = run("doctor")
    assert done.status == 1
    assert in_the_way(done.err) == [
        "add-in in Calc: LibreOffice is running; close all its windows, then try again"
    ]
