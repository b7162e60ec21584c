"""What a workbook would fetch or read from outside itself, taken out of a working copy.

An office that loads or prints a workbook fetches its linked pictures, whatever its settings for
links say: the server learns who opened the file, and a local file may end in a customer's PDF. The
user's file keeps all of it; only the copy that an office opens does not have it.

A link to another workbook is computed from the values that the file keeps for it. Where it keeps
none, an office computes 0, so a cell with such a formula keeps its stored value.
"""

from __future__ import annotations

import contextlib
import gzip
import posixpath
import re
import zlib
from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass

from ..cells.wording import counted
from ..errors import InputFileError
from .addresses import row_column
from .package import Package
from .safe_xml import spliced, start_tag_end

__all__ = ["Outside", "neutralize", "outside_words", "without_cache"]

LINKED_PICTURE = "linked picture"
REACHING_PICTURE = "picture that names files outside itself"
LINKED_WORKBOOK = "link to another workbook"
LINKED_OBJECT = "link to an outside object"
WEB_QUERY = "query of another program's data"
_PLURALS = {
    REACHING_PICTURE: "pictures that name files outside themselves",
    LINKED_WORKBOOK: "links to other workbooks",
    LINKED_OBJECT: "links to outside objects",
    WEB_QUERY: "queries of other programs' data",
}

#: Where a link to another workbook leads in the working copy: nowhere.
_NOWHERE = "file:///hoppersheet-looks-at-no-other-file/{}.xlsx"
_HAS_A_SCHEME = re.compile(r"[a-zA-Z][a-zA-Z0-9+.-]*:|//|\\\\")
_TARGET = re.compile(rb"""\bTarget\s*=\s*(?:"[^"]*"|'[^']*')""")

#: An address inside a picture that is neither in the picture itself nor a plain bitmap in it. A
#: picture within a picture may name files again.
_REACHES_OUT = re.compile(
    r"""(?:href|src)\s*=\s*["']\s*(?!\#|data:image/[\w.+-]+;base64,\s*(?:iVBORw0KGgo|/9j/|R0lGOD))"""
    r"""|url\(\s*["']?\s*(?!\#)|@import|<!ENTITY|<\?xml-stylesheet|<script|<foreignObject""",
    re.IGNORECASE,
)
_DOCTYPE = re.compile(r"<!DOCTYPE[^\[>]*>")
_BLANK = b'<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1"/>'
_MOST_BYTES_OF_A_PICTURE = 16 * 2**20
_HEAD = 4096
_NOT_PICTURES = (".xml", ".rels", ".vml", ".bin")


@dataclass(frozen=True)
class Outside:
    """One thing outside that a part of the workbook asks for."""

    kind: str
    part: str
    target: str


def outside_words(found: Collection[Outside]) -> str:
    """``"1 linked picture, 2 links to other workbooks"``."""
    kinds = Counter(each.kind for each in found)
    return ", ".join(
        f"{number} {_PLURALS[kind]}" if number > 1 and kind in _PLURALS else counted(number, kind)
        for kind, number in kinds.items()
    )


def neutralize(work: Package) -> list[Outside]:
    """Take out of a working copy, in memory, all that would make an office reach outside.

    Returns:
        What was taken out. The user's file is not touched by this.

    Raises:
        InputFileError: a part is damaged.
    """
    found = []
    for part in work.parts:
        if part.lower().endswith(".rels"):
            found += _relations(work, part)
    for part in _pictures(work):
        found += _picture(work, part)
    for part in work.parts:
        if posixpath.basename(part).lower().startswith("connections") and part.endswith(".xml"):
            found += _connections(work, part)
    return found


def _relations(work: Package, rels: str) -> list[Outside]:
    """Take the relations to the outside out of one part of relations."""
    data, found, edits = work.xml(rels), [], {}
    folder, name = posixpath.split(rels)
    owner = posixpath.join(posixpath.dirname(folder), name[: -len(".rels")])
    for element in work.elements(rels):
        values = element.attributes
        target = values.get("Target", "")
        if element.tag != "Relationship":
            continue
        if values.get("TargetMode") != "External" and not _HAS_A_SCHEME.match(target):
            continue
        kind = values.get("Type", "").rpartition("/")[2]
        if kind == "hyperlink" and _only_clicked(work, owner, values.get("Id", "")):
            continue
        if kind.startswith("externalLink"):
            # The values that the file keeps are found by this relation: it stays.
            found.append(Outside(LINKED_WORKBOOK, owner, target))
            end = start_tag_end(data, element.start)
            tag = data[element.start : end]
            nowhere = _NOWHERE.format(len(found)).encode()
            edits[element.start, end] = _TARGET.sub(b'Target="%b"' % nowhere, tag, count=1)
            continue
        picture = kind in ("image", "hyperlink")
        found.append(Outside(LINKED_PICTURE if picture else LINKED_OBJECT, owner, target))
        edits[element.start, element.end] = b""
    if edits:
        work.replace_xml(rels, spliced(data, edits))
    return found


def _only_clicked(work: Package, owner: str, key: str) -> bool:
    """Whether a relation is a link to click on, and nothing shows what it leads to."""
    if owner not in work.parts:
        return False
    return all(
        element.tag in ("hyperlink", "hlinkClick", "hlinkHover")
        for element in work.elements(owner)
        if key in element.attributes.values()
    )


def _pictures(work: Package) -> list[str]:
    """The parts that are pictures, or may be: an office looks at what is in them, not at names."""
    sheets = {sheet.part for sheet in work.sheets}
    found = []
    for part in work.parts:
        if not part.lower().endswith(_NOT_PICTURES):
            found.append(part)
        elif part not in sheets and not part.lower().endswith(".rels"):
            head = work.read(part)[:_HEAD].replace(b"\0", b"").lower()
            if b"<svg" in head or b":svg" in head or head.startswith(b"\x1f\x8b"):
                found.append(part)
    return found


def _picture(work: Package, part: str) -> list[Outside]:
    data = work.read(part)
    packed = data[:2] == b"\x1f\x8b"
    if packed:
        try:
            unpacker = zlib.decompressobj(wbits=31)
            data = unpacker.decompress(data, _MOST_BYTES_OF_A_PICTURE)
        except zlib.error:
            data = b"<"  # whoever can read it may find anything in it
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text = data.decode("utf-16", "replace")
    else:
        text = data.decode("utf-8", "replace")
    start = text[:_HEAD].lstrip("\ufeff \t\r\n")
    if not (start.startswith("<") or "<svg" in start.lower()):
        return []  # a bitmap
    shown = _DOCTYPE.sub("", text, count=1)
    reaches = _REACHES_OUT.search(shown) or "<!DOCTYPE" in shown or (packed and len(data) < 2)
    if len(data) >= _MOST_BYTES_OF_A_PICTURE or reaches:
        work.replace(part, gzip.compress(_BLANK, mtime=0) if packed else _BLANK)
        return [Outside(REACHING_PICTURE, part, "")]
    if shown != text and not packed:
        work.replace(part, shown.encode("utf-8"))  # a document type names a file, too
    return []


def _connections(work: Package, part: str) -> list[Outside]:
    """Take the addresses out of queries: an office may run one while it loads the file."""
    data, edits, found = work.xml(part), {}, []
    for element in work.elements(part):
        if element.tag == "connection":
            edits[element.start, element.end] = b""
            found.append(Outside(WEB_QUERY, part, element.attributes.get("name", "")))
    if edits:
        work.replace_xml(part, spliced(data, edits))
    return found


# --- links to other workbooks ---------------------------------------------------------------

# A text is stepped over. A link is [1] and a sheet, both perhaps in quotes, and then a cell, a
# range or a name; or an address written out.
_LINK = re.compile(
    r'''"(?:[^"]|"")*"'''
    r"""|(?P<sheet>'(?:[^'\[]*\[[^\]]+\](?:[^']|'')*)'|\[\d+\][^\s!'"()+\-*/^&=<>,;:]*)!"""
    r"""(?P<area>\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)?"""
    r"""|(?P<calc>'[a-z]+:[^']*'\#)""",
    re.IGNORECASE,
)
_BOOK = re.compile(r"\[(\d+)\]")
_TEXT = re.compile(r'"(?:[^"]|"")*"')
_WHY = "its link to another workbook has no kept value"


def without_cache(package: Package) -> dict[str, dict[str, str]]:
    """Formula cells that follow from an outside value that the workbook does not keep.

    Returns:
        Sheet -> cell -> why, of cells that have a stored value.
    """
    if not _may_link(package):
        return {}
    kept = _kept(package)
    names = [n.name for n in package.defined_names if _misses(n.formula, kept)]
    word = re.compile(rf"(?<![\w.])(?:{'|'.join(map(re.escape, names))})(?![\w.(])", re.IGNORECASE)
    found: dict[str, dict[str, str]] = {}
    for sheet in package.sheets:
        for ref, cell in package.cells(sheet.name).items():
            text = cell.formula
            if text is None or cell.value is None:
                continue
            if _misses(text, kept) or (names and word.search(_TEXT.sub('""', text))):
                found.setdefault(sheet.name, {})[ref] = _WHY
    return found


def _may_link(package: Package) -> bool:
    """Whether a formula may hold a link: each form has a bracket, or an address in quotes."""
    texts = [defined.formula for defined in package.defined_names]
    for sheet in package.sheets:
        texts += [c.formula.text for c in package.scan(sheet.name).cells.values() if c.formula]
    return any("[" in text or "'#" in text for text in texts)


def _kept(package: Package) -> list[dict[str, set[tuple[int, int]]]]:
    """For each linked workbook, in order: sheet, lower case -> cells with a kept value."""
    relations = package.relations(package.workbook_part)
    books = []
    for reference in package.elements(package.workbook_part):
        if reference.tag != "externalReference":
            continue
        keys = [key for name, key in reference.attributes.items() if name.endswith(" id")]
        _, part = relations.get(keys[0] if keys else "", ("", ""))
        books.append(_kept_in(package, part) if part in package.parts else {})
    return books


def _kept_in(package: Package, part: str) -> dict[str, set[tuple[int, int]]]:
    names: list[str] = []
    found: dict[str, set[tuple[int, int]]] = {}
    cells: set[tuple[int, int]] = set()
    for element in package.elements(part):
        values = element.attributes
        if element.tag == "sheetName":
            names.append(values.get("val", "").lower())
        elif element.tag == "sheetData":
            at, cells = values.get("sheetId", ""), set()
            if at.isdecimal() and int(at) < len(names):
                found[names[int(at)]] = cells
        elif element.tag == "cell" and element.text.strip():
            with contextlib.suppress(InputFileError):
                cells.add(row_column(values.get("r", "")))
    return found


def _misses(formula: str, kept: list[dict[str, set[tuple[int, int]]]]) -> bool:
    """Whether a formula asks another workbook for what is not kept."""
    if "[" not in formula and ":" not in formula:
        return False
    for link in _LINK.finditer(formula):
        if link["calc"]:
            return True
        if link["sheet"] is None:
            continue
        number = _BOOK.search(link["sheet"])
        if number is None or not 1 <= int(number[1]) <= len(kept) or link["area"] is None:
            return True  # an address written out, or a name in the other workbook
        sheet = link["sheet"].strip("'").rpartition("]")[2].replace("''", "'").lower()
        cells = kept[int(number[1]) - 1].get(sheet, set())
        first, _, last = link["area"].replace("$", "").partition(":")
        (top, left), (bottom, right) = row_column(first), row_column(last or first)
        if not any(top <= row <= bottom and left <= column <= right for row, column in cells):
            return True
    return False
