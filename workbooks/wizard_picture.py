"""Picture Calc's function wizard on a cell of ours; run by ``sh workbooks/wizard_picture``.

A real office with windows on a virtual screen (Xvfb), the add-in installed as a user installs it,
the wizard opened with Ctrl+F2. Needs soffice, Xvfb, openbox, xdotool and ImageMagick, and the
Python that has ``uno``.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import uno

BOOK = Path(__file__).parent / "function_check.xlsx"
SHEET, CELL = "Check", "D19"  # =HOPPER_REQUIRED_VOLUME(220,3.5,36.4)
SCREEN = (1120, 786)
WIZARD = (190, 106, 900, 620)  # left, top, width, height
#: Clicked in the wizard: its list of functions, the field of the drying hours.
_CLICKS = ((54, 42), (500, 336))
_COLORS = 64  # enough for a window; keeps the picture small
_SECONDS = 60
_QUIET = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}

#: No tip of the day, no news, no request for donations: the window and nothing else.
_SETTINGS = {
    ("Setup/Product", "ooSetupLastVersion"): "99.9",
    ("Office.Common/Misc", "ShowTipOfTheDay"): "false",
    ("Office.Common/Misc", "ShowDonation"): "false",
    ("Office.Common/Misc", "FirstRun"): "false",
    ("Office.Common/Misc", "CrashReport"): "false",
}


def _settings() -> str:
    items = "".join(
        f'<item oor:path="/org.openoffice.{path}"><prop oor:name="{name}" oor:op="fuse">'
        f"<value>{value}</value></prop></item>\n"
        for (path, name), value in _SETTINGS.items()
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<oor:items xmlns:oor='
        f'"http://openoffice.org/2001/registry">\n{items}</oor:items>\n'
    )


def _until(what: str, found: Callable[[], Any]) -> Any:
    """What ``found`` gives as soon as it gives something."""
    end = time.monotonic() + _SECONDS
    while time.monotonic() < end:
        if value := found():
            return value
        time.sleep(0.2)
    sys.exit(f"wizard_picture: {what} did not come within {_SECONDS} s")


def _xdotool(*words: str | int) -> str:
    command = ["xdotool", *map(str, words)]
    # It ends with 1 where it finds no window yet.
    return subprocess.run(command, stdout=subprocess.PIPE, text=True, check=False).stdout.strip()


def _document(pipe: str) -> Any:
    """The workbook as soon as the office has loaded it, else None."""
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext(
        "com.sun.star.bridge.UnoUrlResolver", local
    )
    try:
        office = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        desktop = office.ServiceManager.createInstance("com.sun.star.frame.Desktop")
        document = desktop.getCurrentComponent()
        return document if document and document.getCurrentController() else None
    except Exception:
        return None


def _show_cell(document: Any) -> None:
    sheet = document.Sheets.getByName(SHEET)
    cell = sheet.getCellRangeByName(CELL)
    controller = document.getCurrentController()
    controller.setActiveSheet(sheet)
    controller.select(cell)
    controller.setFirstVisibleRow(cell.CellAddress.Row - 1)


def _place(window: str, left: int, top: int, wide: int, high: int) -> None:
    _xdotool("windowsize", window, wide, high)
    _xdotool("windowmove", window, left, top)
    time.sleep(2)  # until it has drawn itself


def _picture(work: Path, out: Path) -> None:
    book = work / BOOK.name
    shutil.copyfile(BOOK, book)
    profile = work / "profile"
    (profile / "user").mkdir(parents=True)
    (profile / "user" / "registrymodifications.xcu").write_text(_settings(), encoding="utf-8")
    pipe = f"wizard-{os.getpid()}"
    office = subprocess.Popen(
        [
            "soffice", "--nologo", "--norestore", "--calc", f"--accept=pipe,name={pipe};urp;",
            f"-env:UserInstallation={profile.as_uri()}", str(book),
        ],
        **_QUIET, start_new_session=True,
    )  # fmt: skip
    try:
        document = _until("the workbook", lambda: _document(pipe))
        window = _until("the window", lambda: _xdotool("search", "--name", BOOK.name)).split()[0]
        _place(window, 0, 0, *SCREEN)
        _show_cell(document)
        _xdotool("windowfocus", "--sync", window)
        _xdotool("key", "ctrl+F2")
        wizard = _until("the wizard", lambda: _xdotool("search", "--name", "^Function Wizard"))
        _place(wizard.split()[0], *WIZARD)
        for right, down in _CLICKS:
            _xdotool("mousemove", WIZARD[0] + right, WIZARD[1] + down)
            _xdotool("click", 1)
            time.sleep(1)
        _xdotool("mousemove", *SCREEN)  # out of sight
        time.sleep(2)
        few = ["-dither", "None", "-colors", str(_COLORS), "-define", "png:compression-level=9"]
        subprocess.run(
            ["import", "-window", "root", *few, "-strip", f"png8:{out}"], check=True, timeout=60
        )
    finally:
        os.killpg(office.pid, signal.SIGKILL)


def main(out: Path) -> None:
    """Write the picture to ``out``."""
    read, write = os.pipe()
    wide, high = SCREEN
    screen = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", f"{wide}x{high}x24", "-nolisten", "tcp"],
        pass_fds=(write,), stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(write)
    manager = None
    try:
        with os.fdopen(read) as numbers:
            os.environ["DISPLAY"] = ":" + numbers.readline().strip()
        os.environ["GDK_BACKEND"] = "x11"
        manager = subprocess.Popen(["openbox"], **_QUIET)
        with tempfile.TemporaryDirectory() as work:
            _picture(Path(work), out)
    finally:
        for process in (manager, screen):
            if process is not None:
                process.terminate()
                process.wait()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
