"""Packs the add-in into one file that LibreOffice installs: ``hoppersheet-<version>.oxt``.

An office brings its own Python and no pip, so the pure-Python packages that hoppersheet needs for
units and moist air travel inside, with their licenses. The same sources give the same bytes.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path, PurePosixPath

from ..._version import __version__
from ...errors import HostError
from ...files import replacing
from . import declarations

__all__ = ["FILE_NAME", "PACKED_DISTRIBUTIONS", "build", "contents", "fingerprint", "packed"]

FILE_NAME = f"hoppersheet-{__version__}.oxt"

#: What cell functions need at run time; what these need in turn is listed too.
PACKED_DISTRIBUTIONS = (
    "pint", "flexcache", "flexparser", "platformdirs", "typing_extensions", "psychrolib",
)  # fmt: skip

_PACKAGE = Path(__file__).parents[2]
_HERE = Path(__file__).parent

#: Top-level modules of hoppersheet that no cell function needs.
_NOT_IN_OFFICE = frozenset(
    ("__main__.py", "cli.py", "existing.py", "files.py", "screen.py", "vectors.py")
)

# Files of this folder that run inside the office: those that it loads by itself, the others.
_COMPONENTS = ("component.py", "load_job.py")
_MODULES = ("__init__.py", "answers.py", "cell_values.py", "names.py")

# The zip format's earliest date: a build must not depend on the clock.
_DATE = (1980, 1, 1, 0, 0, 0)


def _own_files() -> Iterator[tuple[str, Path]]:
    """(path below pythonpath/hoppersheet, file) of what the functions need."""
    for file in _PACKAGE.glob("*.py"):
        if file.name not in _NOT_IN_OFFICE:
            yield file.name, file
    for folder in ("cells", "sizing", "tables", "data"):
        for file in (_PACKAGE / folder).rglob("*"):
            inside = file.relative_to(_PACKAGE)
            if file.is_file() and not {"__pycache__", "vectors", "joblist"} & set(inside.parts):
                yield inside.as_posix(), file
    for file in (_PACKAGE / "hosts" / "__init__.py", *(_HERE / n for n in _MODULES)):
        yield file.relative_to(_PACKAGE).as_posix(), file


def _distribution_files(name: str) -> Iterator[tuple[str, Path]]:
    """(path inside the extension, file) of an installed pure-Python distribution."""
    try:
        distribution = metadata.distribution(name)
    except metadata.PackageNotFoundError:
        raise HostError(
            f"the package {name} is not installed; install hoppersheet again with pip"
        ) from None
    # An older pip leaves no record of what it installed but the list of the sources, of which
    # some (setup.py) were never meant to be installed.
    lists_sources = distribution.read_text("RECORD") is None
    for entry in distribution.files or ():
        path = PurePosixPath(entry.as_posix())
        if "testsuite" in path.parts or "__pycache__" in path.parts or ".." in path.parts:
            continue
        file = Path(str(distribution.locate_file(entry)))
        if lists_sources and not file.is_file():
            continue
        if path.parts[0].endswith(".dist-info"):
            if path.name.upper().startswith(("LICENSE", "LICENCE", "COPYING", "AUTHORS")):
                yield f"licenses/{name}/{path.name}", file
        elif path.suffix in (".py", ".txt"):
            yield f"pythonpath/{path}", file


def contents() -> dict[str, bytes]:
    """Path inside the extension -> its bytes."""
    found: dict[str, bytes] = {
        path: text.encode("utf-8") for path, text in declarations.files().items()
    }
    for name in _COMPONENTS:
        found[name] = (_HERE / name).read_bytes()
    for path, file in _own_files():
        found[f"pythonpath/hoppersheet/{path}"] = file.read_bytes()
    for distribution in PACKED_DISTRIBUTIONS:
        files = dict(_distribution_files(distribution))
        if not any(path.endswith(".py") for path in files):
            raise HostError(
                f"no module of the package {distribution} was found; install hoppersheet again "
                "with pip"
            )
        for path, file in files.items():
            found[path] = file.read_bytes()
    return found


def fingerprint() -> bytes:
    """The same for the same contents; packing them takes longer.

    Raises:
        HostError: a package to be packed is not installed.
    """
    hashed = hashlib.sha256()
    for path, data in sorted(contents().items()):
        hashed.update(f"{path} {len(data)} ".encode())
        hashed.update(data)
    return hashed.digest()


def packed() -> bytes:
    """The extension file.

    Raises:
        HostError: a package to be packed is not installed.
    """
    files, whole = contents(), io.BytesIO()
    with zipfile.ZipFile(whole, "w") as archive:
        for path in sorted(files):
            entry = zipfile.ZipInfo(path, _DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, files[path])
    return whole.getvalue()


def build(target: Path) -> Path:
    """Write the extension to ``target``, replacing a file of that name at once.

    Raises:
        HostError: a package to be packed is not installed.
        InputFileError: the target cannot be written.
    """
    data = packed()
    with replacing(target) as temporary:
        temporary.write_bytes(data)
    return target
