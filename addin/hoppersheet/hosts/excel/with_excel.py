"""The fallback: let Excel itself write the add-in file.

For a machine on which Excel does not take the file that :mod:`addin_file` writes. Excel must be
installed, closed, and trust access to VBA projects.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from ...errors import HostError
from . import addin_file
from .folders import PROJECT, Folders
from .install import check_python

__all__ = ["install_with_excel"]

#: Modules of xlwings' template that are not ours.
_FOREIGN = ("Module1", "xlwings", "Dictionary")

_TRUST = (
    "Excel does not let other programs write VBA. In Excel: File > Options > Trust Center > Trust "
    'Center Settings > Macro Settings, tick "Trust access to the VBA project object model", close '
    "Excel and run the command again. Untick it afterwards"
)


def _fill(project: Any, modules: dict[str, str]) -> None:
    """Give the open add-in's VBA project our modules and name."""
    components = project.VBComponents
    for name in _FOREIGN:
        components.Remove(components(name))
    with tempfile.TemporaryDirectory() as folder:
        for name, text in modules.items():
            path = Path(folder) / f"{name}.bas"
            path.write_bytes(text.replace("\n", "\r\n").encode("cp1252"))
            components.Import(str(path))
    project.Name = addin_file.PROJECT_NAME


def _start() -> Any:
    import xlwings

    return xlwings.App(visible=False, add_book=False)


def install_with_excel(folders: Folders, start: Callable[[], Any] = _start) -> Path:
    """Install the add-in by driving Excel; returns where Excel keeps it.

    Raises:
        HostError: Excel does not start, has the add-in open, or does not trust us with VBA; then
            no half-made add-in is left.
    """
    check_python(folders)
    modules = addin_file.modules(folders.paths)
    try:
        app = start()
    except Exception as problem:  # COM errors have no common base outside Windows
        raise HostError(f"Excel does not start: {problem}") from None
    try:
        app.display_alerts = False
        target = Path(app.startup_path) / f"{PROJECT}.xlam"
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(addin_file.template(), target)
        except OSError:
            raise HostError(
                f"cannot write {target}; close all windows of Excel and run the command again"
            ) from None
        try:
            _write(app, target, modules)
        except BaseException:
            target.unlink(missing_ok=True)
            raise
    finally:
        app.quit()
    return target


def _write(app: Any, target: Path, modules: dict[str, str]) -> None:
    book = app.books.open(str(target))
    try:
        try:
            project = book.api.VBProject
            project.VBComponents.Count  # noqa: B018 this is what Excel refuses
        except Exception:
            raise HostError(_TRUST) from None
        try:
            _fill(project, modules)
            book.save()
        except Exception as problem:
            raise HostError(f"Excel did not take the add-in: {problem}") from None
    finally:
        book.close()
