"""Adds and drops modules of a VBA project without Excel ([MS-OVBA]).

The project is written without its performance cache (version 0xFFFF, section 2.3.4.1): a host
then compiles the source texts, which is what most files that xlwings ships make it do already.
"""

from __future__ import annotations

import re
import struct
from dataclasses import dataclass

from ...errors import HostError
from .compound_file import read_streams, write_streams

__all__ = ["VbaProject", "compress", "decompress"]

_CODE_PAGE = "cp1252"
_CHUNK = 4096
# Records of the stream "dir" (section 2.3.4.2).
_PROJECT_NAME, _VERSION, _COUNT, _COOKIE, _END = 0x04, 0x09, 0x0F, 0x13, 0x10
_MODULE, _MODULE_UNICODE, _STREAM, _STREAM_UNICODE = 0x19, 0x47, 0x1A, 0x32
_TEXT, _TEXT_UNICODE, _OFFSET, _HELP, _MODULE_COOKIE = 0x1C, 0x48, 0x31, 0x1E, 0x2C
_PROCEDURAL, _MODULE_END = 0x21, 0x2B
# References to type libraries (2.3.4.2.2): a name, its Unicode, and what is referred to.
_REFERENCES = frozenset((0x16, 0x3E, 0x0D, 0x0E, 0x2F, 0x30, 0x33))


def _copy_bits(position: int) -> int:
    """How many bits of a copy token hold the offset, at ``position`` in a chunk (2.4.1.3.19.1)."""
    return max(4, (position - 1).bit_length())


def decompress(data: bytes) -> bytes:
    """The text or records in a compressed container (section 2.4.1.3.1)."""
    if data[:1] != b"\x01":
        raise HostError("the VBA project is damaged: a compressed part does not begin with 1")
    out = bytearray()
    at = 1
    while at < len(data):
        (header,) = struct.unpack_from("<H", data, at)
        end = min(at + (header & 0x0FFF) + 3, len(data))
        at += 2
        start = len(out)
        if not header & 0x8000:
            out += data[at : at + _CHUNK]
            at += _CHUNK
            continue
        while at < end:
            flags = data[at]
            at += 1
            for bit in range(8):
                if at >= end:
                    break
                if not flags >> bit & 1:
                    out.append(data[at])
                    at += 1
                    continue
                (token,) = struct.unpack_from("<H", data, at)
                at += 2
                length_bits = 16 - _copy_bits(len(out) - start)
                offset = (token >> length_bits) + 1
                if offset > len(out) - start:
                    raise HostError("the VBA project is damaged: a copy reaches before its chunk")
                for _ in range((token & ((1 << length_bits) - 1)) + 3):
                    out.append(out[-offset])
    return bytes(out)


def _longest_copy(chunk: bytes, at: int, seen: dict[bytes, list[int]]) -> tuple[int, int]:
    """(offset, length) of the longest earlier occurrence of what stands ``at`` in the chunk."""
    most = (0xFFFF >> _copy_bits(at)) + 3
    best = offset = 0
    # The nearest 64 places are enough: VBA text repeats itself close by.
    for start in reversed(seen.get(chunk[at : at + 3], ())[-64:]):
        length = 0
        while (
            length < most
            and at + length < len(chunk)
            and chunk[start + length] == chunk[at + length]
        ):
            length += 1
        if length > best:
            best, offset = length, at - start
    return offset, best


def _compress_chunk(chunk: bytes) -> bytes:
    body = bytearray()
    seen: dict[bytes, list[int]] = {}
    at = 0
    while at < len(chunk):
        flags_at, flags = len(body), 0
        body.append(0)
        for bit in range(8):
            if at >= len(chunk):
                break
            offset, length = _longest_copy(chunk, at, seen)
            if length >= 3:
                flags |= 1 << bit
                body += struct.pack("<H", (offset - 1) << (16 - _copy_bits(at)) | (length - 3))
            else:
                length = 1
                body.append(chunk[at])
            for offset in range(at, at + length):
                seen.setdefault(chunk[offset : offset + 3], []).append(offset)
            at += length
        body[flags_at] = flags
    if len(body) < _CHUNK:
        return struct.pack("<H", 0xB000 | (len(body) - 1)) + body
    if len(chunk) < _CHUNK:
        raise HostError("a VBA text cannot be compressed")  # text always can
    return struct.pack("<H", 0x3000 | (_CHUNK - 1)) + chunk


def compress(data: bytes) -> bytes:
    """``data`` as a compressed container (section 2.4.1.3.6)."""
    chunks = (data[at : at + _CHUNK] for at in range(0, len(data), _CHUNK))
    return b"\x01" + b"".join(map(_compress_chunk, chunks))


def _record(kind: int, content: bytes) -> bytes:
    return struct.pack("<HI", kind, len(content)) + content


def _records(data: bytes) -> list[tuple[int, bytes]]:
    found = []
    at = 0
    while at < len(data):
        kind, size = struct.unpack_from("<HI", data, at)
        if kind == _VERSION:
            size = 6  # the field says 4 and means more (2.3.4.2.1.11)
        found.append((kind, data[at : at + 6 + size]))
        at += 6 + size
    return found


@dataclass
class _Module:
    name: str
    records: list[tuple[int, bytes]]

    @property
    def offset(self) -> int:
        """Where the source text begins in the module's stream."""
        raw = next(raw for kind, raw in self.records if kind == _OFFSET)
        return int.from_bytes(raw[6:], "little")


def _new_module(name: str) -> _Module:
    eight, sixteen = name.encode(_CODE_PAGE), name.encode("utf-16-le")
    content = (
        (_MODULE, eight), (_MODULE_UNICODE, sixteen), (_STREAM, eight), (_STREAM_UNICODE, sixteen),
        (_TEXT, b""), (_TEXT_UNICODE, b""), (_OFFSET, bytes(4)), (_HELP, bytes(4)),
        (_MODULE_COOKIE, b"\xff\xff"), (_PROCEDURAL, b""), (_MODULE_END, b""),
    )  # fmt: skip
    return _Module(name, [(kind, _record(kind, value)) for kind, value in content])


def _crlf(text: str) -> bytes:
    return text.replace("\r\n", "\n").replace("\n", "\r\n").encode(_CODE_PAGE)


class VbaProject:
    """A VBA project, read from the bytes of ``vbaProject.bin``.

    Raises:
        HostError: it is damaged, or not of the expected make.
    """

    def __init__(self, data: bytes) -> None:
        self.streams = {
            path: content
            for path, content in read_streams(data).items()
            if "__SRP_" not in path  # part of the performance cache
        }
        try:
            records = _records(decompress(self.streams["VBA/dir"]))
        except KeyError:
            raise HostError("the file has no VBA project inside") from None
        first = next(i for i, (kind, _) in enumerate(records) if kind == _MODULE)
        self._head, rest = records[:first], records[first:]
        self.modules: list[_Module] = []
        for kind, raw in rest:
            if kind == _MODULE:
                self.modules.append(_Module(raw[6:].decode(_CODE_PAGE), []))
            if kind != _END:
                self.modules[-1].records.append((kind, raw))

    @property
    def names(self) -> list[str]:
        """The modules."""
        return [module.name for module in self.modules]

    def source(self, name: str) -> str:
        """The text of a module, with ``\\n`` line ends."""
        module = next(m for m in self.modules if m.name == name)
        raw = decompress(self.streams[f"VBA/{name}"][module.offset :])
        return raw.decode(_CODE_PAGE).replace("\r\n", "\n")

    def replace(self, name: str, text: str) -> None:
        """Give the module ``name`` another text."""
        module = next(m for m in self.modules if m.name == name)
        module.records = [
            (kind, _record(_OFFSET, bytes(4)) if kind == _OFFSET else raw)
            for kind, raw in module.records
        ]
        self.streams[f"VBA/{name}"] = compress(_crlf(text))

    def add(self, name: str, text: str) -> None:
        """Add a standard module."""
        self.modules.append(_new_module(name))
        self.streams[f"VBA/{name}"] = compress(_crlf(text))

    def drop(self, name: str) -> None:
        """Remove a standard module, or one of a class."""
        self.modules = [m for m in self.modules if m.name != name]
        del self.streams[f"VBA/{name}"]

    def drop_references(self) -> None:
        """Remove every reference to a library; those to VBA and to Excel itself need none."""
        self._head = [(kind, raw) for kind, raw in self._head if kind not in _REFERENCES]

    def rename(self, name: str) -> None:
        """Give the project another name."""
        self._head = [
            (kind, _record(kind, name.encode(_CODE_PAGE)) if kind == _PROJECT_NAME else raw)
            for kind, raw in self._head
        ]
        self._project_name = name

    _project_name: str | None = None

    def _directory(self) -> bytes:
        head = [
            (kind, _record(_COUNT, struct.pack("<H", len(self.modules))) if kind == _COUNT else raw)
            for kind, raw in self._head
        ]
        records = [*head, *(record for module in self.modules for record in module.records)]
        return b"".join(raw for _, raw in records) + _record(_END, b"")

    def _project_text(self) -> bytes:
        """The stream PROJECT (2.3.1): which modules there are, and their windows."""
        lines = self.streams["PROJECT"].decode(_CODE_PAGE).split("\r\n")
        known = set(self.names)
        kept = []
        for line in lines:
            name = re.match(r"(?:(?:Module|Class)=(\w+)\Z|(\w+)=[-\d]+, )", line)
            if name and (name[1] or name[2]) not in known:
                continue
            if line.startswith("Name=") and self._project_name:
                line = f'Name="{self._project_name}"'
            kept.append(line)
        listed = {
            m[1] for m in (re.match(r"(?:Module|Class|Document)=(\w+)", x) for x in kept) if m
        }
        new = [name for name in self.names if name not in listed]
        at = next(i for i, line in enumerate(kept) if line.startswith("Name="))
        kept[at:at] = [f"Module={name}" for name in new]
        while kept and not kept[-1]:
            kept.pop()
        kept += [f"{name}=0, 0, 0, 0, C" for name in new]
        return ("\r\n".join(kept) + "\r\n").encode(_CODE_PAGE)

    def _names_in_unicode(self) -> bytes:
        """The stream PROJECTwm (2.3.3)."""
        pairs = (
            name.encode(_CODE_PAGE) + b"\0" + name.encode("utf-16-le") + b"\0\0"
            for name in self.names
        )
        return b"".join(pairs) + b"\0\0"

    def to_bytes(self) -> bytes:
        """The project as a new ``vbaProject.bin``."""
        streams = dict(self.streams)
        streams["VBA/dir"] = compress(self._directory())
        streams["VBA/_VBA_PROJECT"] = bytes.fromhex("CC61FFFF000000")
        streams["PROJECT"] = self._project_text()
        streams["PROJECTwm"] = self._names_in_unicode()
        return write_streams(streams)
