"""Reads and writes the compound file that holds a VBA project ([MS-CFB], version 3).

Only what a VBA project of some ten streams needs: no more than one level of folders when
writing, and files small enough that the header lists every sector of the allocation table
(about 7 MB).
"""

from __future__ import annotations

import struct

from ...errors import HostError

__all__ = ["read_streams", "write_streams"]

_MAGIC = bytes.fromhex("D0CF11E0A1B11AE1")
_FREE, _END, _TABLE = 0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD
_SECTOR, _MINI_SECTOR, _CUTOFF = 512, 64, 4096
_FOLDER, _STREAM, _ROOT = 1, 2, 5
_IN_HEADER = 109  # sectors of the allocation table that the header can list
# One directory entry: name, its length, kind, color, left, right, first child, class, state,
# two times, first sector, size.
_ENTRY = struct.Struct("<64sHBBIII16sIQQIQ")


class _Reader:
    def __init__(self, data: bytes) -> None:
        if data[:8] != _MAGIC or len(data) < _SECTOR:
            raise HostError("the VBA project is not a compound file")
        major, _, shift, mini_shift = struct.unpack_from("<HHHH", data, 26)
        if (major, shift, mini_shift) != (3, 9, 6):
            raise HostError(f"compound file version {major} is not supported")
        self.data = data
        table_sectors, first_entry = struct.unpack_from("<II", data, 44)
        cutoff, first_mini, _, _, more = struct.unpack_from("<IIIII", data, 56)
        if table_sectors > _IN_HEADER or more or cutoff != _CUTOFF:
            raise HostError("the VBA project is larger than expected")
        self.next: list[int] = []
        for number in struct.unpack_from(f"<{table_sectors}I", data, 76):
            self.next += struct.unpack("<128I", self.sector(number))
        self.mini_next = self._numbers(first_mini)
        self.entries = list(_ENTRY.iter_unpack(self.chain(first_entry)))
        self.mini = self.chain(self.entries[0][11])

    def _numbers(self, first: int) -> list[int]:
        raw = self.chain(first)
        return list(struct.unpack(f"<{len(raw) // 4}I", raw))

    def sector(self, number: int) -> bytes:
        start = (number + 1) * _SECTOR
        return self.data[start : start + _SECTOR].ljust(_SECTOR, b"\0")

    def chain(self, number: int) -> bytes:
        """All sectors from ``number`` on."""
        parts: list[bytes] = []
        while number != _END and number != _FREE:
            if number >= len(self.next) or len(parts) > len(self.next):
                raise HostError("the VBA project is damaged: a chain of sectors has no end")
            parts.append(self.sector(number))
            number = self.next[number]
        return b"".join(parts)

    def _mini_chain(self, number: int) -> bytes:
        parts: list[bytes] = []
        while number != _END:
            if number >= len(self.mini_next) or len(parts) > len(self.mini_next):
                raise HostError("the VBA project is damaged: a chain of sectors has no end")
            parts.append(self.mini[number * _MINI_SECTOR : (number + 1) * _MINI_SECTOR])
            number = self.mini_next[number]
        return b"".join(parts)

    def walk(self, number: int, folder: str) -> dict[str, bytes]:
        """The streams of the tree of siblings at entry ``number``, in stored order."""
        if number == _FREE:
            return {}
        name, length, kind, _, left, right, child, _, _, _, _, first, size = self.entries[number]
        path = folder + name[: length - 2].decode("utf-16-le")
        found = self.walk(left, folder)
        if kind == _FOLDER:
            found.update(self.walk(child, f"{path}/"))
        elif kind == _STREAM:
            chain = self.chain(first) if size >= _CUTOFF else self._mini_chain(first)
            found[path] = (chain if size else b"")[:size]
        return {**found, **self.walk(right, folder)}


def read_streams(data: bytes) -> dict[str, bytes]:
    """Path (``"VBA/dir"``) -> content of every stream.

    Raises:
        HostError: not a compound file, damaged, or of a kind that a VBA project never is.
    """
    reader = _Reader(data)
    return reader.walk(reader.entries[0][6], "")


class _Entry:
    def __init__(self, name: str, kind: int, content: bytes = b"") -> None:
        self.name, self.kind, self.content = name, kind, content
        self.children: list[int] = []
        self.left = self.right = self.child = _FREE
        self.black = True
        self.first = 0 if kind == _FOLDER else _END

    def packed(self) -> bytes:
        name = self.name.encode("utf-16-le")
        return _ENTRY.pack(
            name, len(name) + 2, self.kind, self.black, self.left, self.right, self.child,
            bytes(16), 0, 0, 0, self.first, len(self.content),
        )  # fmt: skip


def _entries(streams: dict[str, bytes]) -> list[_Entry]:
    entries = [_Entry("Root Entry", _ROOT)]
    folders = {"": 0}
    for path, content in streams.items():
        folder, _, name = path.rpartition("/")
        if folder not in folders:
            folders[folder] = len(entries)
            entries[0].children.append(len(entries))
            entries.append(_Entry(folder, _FOLDER))
        entries[folders[folder]].children.append(len(entries))
        entries.append(_Entry(name, _STREAM, content))
    for entry in entries:
        # Siblings are ordered by length of the name, then by its upper-case form (2.6.4).
        entry.children.sort(key=lambda i: (len(entries[i].name), entries[i].name.upper()))
        deepest = max(len(entry.children).bit_length() - 1, 0)
        entry.child = _balance(entries, entry.children, 0, deepest)
    return entries


def _balance(entries: list[_Entry], ids: list[int], depth: int, deepest: int) -> int:
    """A red-black tree of sorted siblings: balanced, its lowest level red. Returns its root."""
    if not ids:
        return _FREE
    middle = len(ids) // 2
    entry = entries[ids[middle]]
    entry.black = depth != deepest or depth == 0
    entry.left = _balance(entries, ids[:middle], depth + 1, deepest)
    entry.right = _balance(entries, ids[middle + 1 :], depth + 1, deepest)
    return ids[middle]


class _Sectors:
    """The sectors of the file and, for each, the number of the next one."""

    def __init__(self) -> None:
        self.content = bytearray()
        self.next: list[int] = []

    def add(self, data: bytes, size: int = _SECTOR, filler: bytes = b"\0") -> int:
        """Append ``data`` as a chain; returns its first sector."""
        if not data:
            return _END
        first = len(self.next)
        count = -(-len(data) // size)
        self.next += [*range(first + 1, first + count), _END]
        self.content += data.ljust(count * size, filler)
        return first


def write_streams(streams: dict[str, bytes]) -> bytes:
    """A compound file with ``streams`` (path -> content, at most one folder deep)."""
    entries = _entries(streams)
    sectors, minis = _Sectors(), _Sectors()
    for entry in entries:
        if entry.kind == _STREAM:
            small = len(entry.content) < _CUTOFF
            entry.first = (
                minis.add(entry.content, _MINI_SECTOR) if small else sectors.add(entry.content)
            )
    # The root's content is the file's own store of small streams.
    entries[0].content = bytes(minis.content)
    entries[0].first = sectors.add(entries[0].content)
    first_mini = sectors.add(struct.pack(f"<{len(minis.next)}I", *minis.next), filler=b"\xff")
    mini_tables = -(-len(minis.next) * 4 // _SECTOR)

    directory = b"".join(entry.packed() for entry in entries)
    unused = _ENTRY.pack(b"", 0, 0, 0, _FREE, _FREE, _FREE, bytes(16), 0, 0, 0, 0, 0)
    directory += unused * (-len(entries) % (_SECTOR // _ENTRY.size))
    first_entry = sectors.add(directory)

    tables = 1
    while tables * 128 < len(sectors.next) + tables:
        tables += 1
    if tables > _IN_HEADER:
        raise HostError("the VBA project is too large")
    first_table = len(sectors.next)
    sectors.next += [_TABLE] * tables
    sectors.next += [_FREE] * (tables * 128 - len(sectors.next))
    sectors.content += struct.pack(f"<{len(sectors.next)}I", *sectors.next)

    listed = [first_table + i if i < tables else _FREE for i in range(_IN_HEADER)]
    header = _MAGIC + bytes(16) + struct.pack("<HHHHH6x", 0x3E, 3, 0xFFFE, 9, 6)
    header += struct.pack(
        "<IIIIIIIII", 0, tables, first_entry, 0, _CUTOFF, first_mini, mini_tables, _END, 0
    )
    return header + struct.pack(f"<{_IN_HEADER}I", *listed) + bytes(sectors.content)
