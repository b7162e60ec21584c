"""A workbook's file as the package of parts that it is: read safely, patched part by part.

No library is asked to load and save the book, because each of them drops what it does not know
(themes, charts, form controls, macros). Here a part that is not named is copied byte for byte.
"""

from __future__ import annotations

import io
import lzma
import os
import posixpath
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import unquote

from ..errors import InputFileError
from ..files import replacing
from .addresses import cell_count
from .safe_xml import Element, as_utf8, elements

__all__ = ["Archive"]

#: Limits against a package made to exhaust the machine. Real sheets of repeated rows pack up to
#: about 100 to 1; the packing method itself ends near 1000 to 1.
MOST_BYTES = 512 * 2**20
MOST_PARTS = 20_000
MOST_RATIO = 300
_SMALL = 8 * 2**20  # below this a ratio does not matter
#: Parts that every reader takes in whole and slowly; the largest real ones have about 5 MB.
MOST_BYTES_OF_SETTINGS = 16 * 2**20
_SETTINGS = re.compile(r"(?:styles|workbook|theme\d*|\[content_types\])\.xml\Z|\.rels\Z")
_BLOCK = 2**20
_DECLARATIONS = (b"<!DOCTYPE", b"<!ENTITY")
MOST_MERGED = 2_000_000
_MERGED = re.compile(rb"""mergeCell\s[^>]{0,80}?\bref\s*=\s*["']([^"'>]{1,40})""")
_LONGEST_TAG = 160

#: Stamped on added parts, so that the same work gives the same bytes.
_ADDED_AT = (2026, 1, 1, 0, 0, 0)

#: What the zip and packing modules raise about damaged files.
_DAMAGE = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError, OSError,
    NotImplementedError,
)  # fmt: skip

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


class Archive:
    """The package at ``path``, as it was when it was opened.

    Raises:
        InputFileError: not a workbook of this kind, damaged, protected by a password, or made
            to exhaust the machine; one sentence that begins with the file's name.
    """

    def __init__(self, path: str | os.PathLike[str], data: bytes | None = None) -> None:
        self.path = Path(path)
        if data is None:
            try:
                if self.path.exists() and not (self.path.is_file() or self.path.is_dir()):
                    raise self._refused("is a device or a pipe, not a file")
                if self.path.is_file() and self.path.stat().st_size > MOST_BYTES:
                    raise self._refused(f"is larger than {MOST_BYTES >> 20} MB")
                data = self.path.read_bytes()
            except OSError as problem:
                raise self._refused(f"cannot be read: {problem.strerror or problem}") from None
        self._data = data
        self._zip = self._open()
        self._changed: dict[str, bytes] = {}
        self._added: list[str] = []

    # --- parts ----------------------------------------------------------------------------

    def _refused(self, why: str) -> InputFileError:
        return InputFileError(f"{self.path}: {why}")

    def _open(self) -> zipfile.ZipFile:
        if not self._data:
            raise self._refused("the file is empty")
        if self._data.startswith(_OLE):
            raise self._refused(
                "is protected by a password, or an old .xls; save it as .xlsx without a password"
            )
        try:
            package = zipfile.ZipFile(io.BytesIO(self._data))
        except (*_DAMAGE, ValueError, OverflowError) as problem:
            kind = "is damaged or cut short" if self._data.startswith(b"PK") else "is not an .xlsx"
            raise self._refused(f"{kind} ({str(problem).lower()})") from None
        self._check_limits(package.infolist())
        return package

    def _check_limits(self, infos: list[zipfile.ZipInfo]) -> None:
        seen: set[str] = set()
        if len(infos) > MOST_PARTS:
            raise self._refused(f"holds {len(infos)} parts; at most {MOST_PARTS} are read")
        total = 0
        for info in infos:
            name = info.filename.lower()
            if name in seen:
                raise self._refused(f"holds the part {info.filename} twice")
            seen.add(name)
            if info.flag_bits & 1:
                raise self._refused("is protected by a password")
            total += info.file_size
            if total > MOST_BYTES:
                raise self._refused(f"unpacks to more than {MOST_BYTES >> 20} MB")
            if info.file_size > MOST_BYTES_OF_SETTINGS and _SETTINGS.search(name):
                raise self._refused(f"the part {info.filename} is {info.file_size >> 20} MB large")
            if info.file_size > _SMALL and info.file_size > MOST_RATIO * info.compress_size:
                raise self._refused(
                    f"the part {info.filename} unpacks to {info.file_size >> 20} MB, more than "
                    f"{MOST_RATIO} times its packed size"
                )
        if "mimetype" in seen:
            raise self._refused("is an OpenDocument file; save it as .xlsx")
        if "[content_types].xml" not in seen:
            raise self._refused("is a zip file, but not a workbook")

    @property
    def parts(self) -> list[str]:
        """Names of all parts, in the order of the file; added ones last."""
        stored = [info.filename for info in self._zip.infolist() if not info.is_dir()]
        return stored + self._added

    def read(self, part: str) -> bytes:
        """The bytes of a part, as stored or as patched.

        Raises:
            InputFileError: there is no such part, or it is damaged.
        """
        if part in self._changed:
            return self._changed[part]
        return self._stored(part)

    def _stored(self, part: str) -> bytes:
        with self._naming_damage(part):
            return self._zip.read(part)

    @contextmanager
    def _naming_damage(self, part: str) -> Iterator[None]:
        try:
            yield
        except KeyError:
            raise self._refused(f"the part {part} is missing") from None
        except (*_DAMAGE, ValueError) as problem:
            raise self._refused(f"the part {part} is damaged: {problem}") from None

    def replace(self, part: str, data: bytes) -> None:
        """Give a part new bytes; they reach a file with :meth:`save`."""
        assert part in self.parts, part
        self._changed[part] = data

    def add(self, part: str, data: bytes) -> None:
        """Put a new part into the package; whoever adds it also makes its relation and type."""
        assert part.lower() not in {known.lower() for known in self.parts}, part
        self._added.append(part)
        self._changed[part] = data

    @property
    def changed(self) -> list[str]:
        """Parts that were given bytes other than the stored ones, or were added."""
        return [
            part
            for part, data in self._changed.items()
            if part in self._added or data != self._stored(part)
        ]

    def save(self, out: str | os.PathLike[str]) -> None:
        """Write the package to ``out``, whole or not at all; parts keep order, time and packing.

        Raises:
            InputFileError: see :func:`~hoppersheet.files.replacing`.
        """
        with replacing(Path(out)) as temporary, zipfile.ZipFile(temporary, "w") as package:
            package.comment = self._zip.comment
            for info in self._zip.infolist():
                # A new record: the old one may carry sizes that no longer hold.
                new = zipfile.ZipInfo(info.filename, info.date_time)
                stored = info.compress_type == zipfile.ZIP_STORED
                new.compress_type = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
                new.external_attr, new.create_system = info.external_attr, info.create_system
                package.writestr(new, self.read(info.filename))
            for part in self._added:
                new = zipfile.ZipInfo(part, _ADDED_AT)
                new.compress_type, new.external_attr = zipfile.ZIP_DEFLATED, 0o600 << 16
                package.writestr(new, self.read(part))

    # --- XML and relations ---------------------------------------------------------------

    def xml(self, part: str) -> bytes:
        """A part's XML in UTF-8.

        Raises:
            InputFileError: see :meth:`read`; names the file.
        """
        with self.naming_file():
            return as_utf8(self.read(part), part)[0]

    def elements(self, part: str) -> list[Element]:
        """Every element of a part, see :func:`~hoppersheet.workbook.safe_xml.elements`."""
        with self.naming_file():
            return elements(self.xml(part), part)

    def replace_xml(self, part: str, utf8: bytes) -> None:
        """Give a part new XML, kept in the encoding the part had."""
        encoding = as_utf8(self.read(part), part)[1]
        data = utf8 if encoding == "utf-8" else utf8.decode("utf-8").encode(encoding)
        self.replace(part, data)

    @contextmanager
    def naming_file(self) -> Iterator[None]:
        """An InputFileError from within that does not begin with the file's name gets it."""
        try:
            yield
        except InputFileError as problem:
            if str(problem).startswith(f"{self.path}: "):
                raise
            raise self._refused(str(problem)) from None

    def _find(self, name: str) -> str:
        """The part called ``name``; part names are compared without regard to case."""
        names = {part.lower(): part for part in self.parts}
        return names.get(name.lower(), name)

    def relations(self, part: str) -> dict[str, tuple[str, str]]:
        """Id -> (kind, part) of the relations of a part (``""``: of the package) to other parts.

        The kind is the last word of the relation's type, such as ``"worksheet"``; the target of
        an external relation is given as it stands.
        """
        folder, name = posixpath.split(part)
        rels = self._find(posixpath.join(folder, "_rels", f"{name}.rels"))
        if rels not in self.parts:
            return {}
        found = {}
        for element in self.elements(rels):
            if element.tag != "Relationship":
                continue
            values = element.attributes
            target = values.get("Target", "")
            if values.get("TargetMode") != "External":
                target = unquote(target)
                target = posixpath.normpath(
                    target.lstrip("/") if target.startswith("/") else posixpath.join(folder, target)
                )
                target = self._find(target)
            kind = values.get("Type", "").rpartition("/")[2]
            found[values.get("Id", "")] = (kind, target)
        return found

    # --- traps for other readers -------------------------------------------------------------

    def refuse_document_types(self) -> None:
        """Make sure that no part tricks another reader with entities or files of its own, or
        with merged cells by the million, each of which such a reader would make.

        Raises:
            InputFileError: a part has a document type declaration, or merges too much.
        """
        for part in self.parts:
            if part.lower().endswith((".xml", ".rels", ".vml")):
                self._look_for_traps(part)

    def _look_for_traps(self, part: str) -> None:
        before, merged = b"", 0
        for block in self._blocks(part):
            text = before + block.replace(b"\0", b"")  # UTF-16, as far as these words go
            if any(word in text for word in _DECLARATIONS):
                raise self._refused(f"{part} holds a document type declaration")
            for match in _MERGED.finditer(text):
                merged += cell_count(match[1].decode("ascii", "replace"))
            if merged > MOST_MERGED:
                raise self._refused(f"{part} merges {merged} cells; at most {MOST_MERGED} are read")
            before = text[-_LONGEST_TAG:]

    def _blocks(self, part: str) -> Iterator[bytes]:
        """A part in pieces, for a look through that needs no more memory than one."""
        if part in self._changed:
            yield self._changed[part]
            return
        with self._naming_damage(part), self._zip.open(part) as stream:
            while block := stream.read(_BLOCK):
                yield block
