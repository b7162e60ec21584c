"""Cell comments put into a package in place: no other byte of the workbook changes.

A comment is two things (ECMA-376 part 1, 18.7, and part 4, 19.4 for the drawing): its text in the
sheet's comments part, and the box that shows it in a VML drawing. Both are added to the parts
that the sheet has, or to new ones. A cell that has a comment keeps it; the new text follows.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping

from .addresses import row_column
from .package import Package, Sheet
from .safe_xml import Element, elements, escaped, spliced, start_tag_end, walk

__all__ = ["LONGEST", "add_comments"]

#: A comment holds no more characters than a cell.
LONGEST = 32_000

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
_COMMENTS_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.comments+xml"
_VML_TYPE = "application/vnd.openxmlformats-officedocument.vmlDrawing"
_XML = b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'

#: What may follow ``legacyDrawing`` in a worksheet (ECMA-376 part 1, 18.3.1.99).
_AFTER_DRAWING = frozenset(
    ("legacyDrawingHF", "drawingHF", "picture", "oleObjects", "controls", "webPublishItems",
     "tableParts", "extLst")
)  # fmt: skip

_NAMESPACES = (
    b'xmlns:v="urn:schemas-microsoft-com:vml" xmlns:o="urn:schemas-microsoft-com:office:office" '
    b'xmlns:x="urn:schemas-microsoft-com:office:excel"'
)
_VML = (
    b"<xml "
    + _NAMESPACES
    + (b'><o:shapelayout v:ext="edit"><o:idmap v:ext="edit" data="1"/></o:shapelayout></xml>')
)
_BOX_TYPE = (
    b'<v:shapetype id="_x0000_t202" coordsize="21600,21600" o:spt="202" '
    b'path="m,l,21600r21600,l21600,xe"><v:stroke joinstyle="miter"/>'
    b'<v:path gradientshapeok="t" o:connecttype="rect"/></v:shapetype>'
)
_WIDE = 5  # columns of a box
_PER_LINE = 52  # characters of a line in it


def add_comments(
    package: Package, comments: Mapping[str, Mapping[str, str]], author: str = "hoppersheet"
) -> int:
    """Put comments into cells.

    Args:
        package: changed in memory.
        comments: sheet -> cell address -> text.
        author: whom the comments are from.

    Returns:
        The number of comments.

    Raises:
        InputFileError: a part of the package is damaged.
    """
    count = 0
    for sheet in package.sheets:
        texts = comments.get(sheet.name)
        if texts:
            _into_sheet(package, sheet, texts, author)
            count += len(texts)
    return count


def _into_sheet(package: Package, sheet: Sheet, texts: Mapping[str, str], author: str) -> None:
    relations = package.relations(sheet.part)
    kinds = {kind: part for kind, part in relations.values() if part in package.parts}
    part = kinds.get("comments") or _new_comments(package, sheet)
    boxes = _write_texts(package, part, texts, author)
    drawing = _drawing_of(package, sheet) or _new_drawing(package, sheet)
    _write_boxes(package, drawing, boxes)


# --- texts ----------------------------------------------------------------------------------


def _write_texts(
    package: Package, part: str, texts: Mapping[str, str], author: str
) -> dict[str, str]:
    """Write the texts; cell -> text of those that need a box, because the cell had no comment."""
    data = package.xml(part)
    found = package.elements(part)
    authors = [e for e in found if e.tag == "author"]
    edits: dict[tuple[int, int], bytes] = {}
    prefix = _prefix(data, found[0])
    number = next((i for i, e in enumerate(authors) if e.text == author), len(authors))
    if number == len(authors):
        new = b"<%bauthor>%b</%bauthor>" % (prefix, escaped(author), prefix)
        _append(data, next(e for e in found if e.tag == "authors"), new, edits)
    old = {e.attributes.get("ref"): e for e in found if e.tag == "comment"}
    new_texts = b""
    boxes = {}
    for ref, text in sorted(texts.items(), key=lambda item: row_column(item[0])):
        existing = old.get(ref)
        if existing is None:
            boxes[ref] = text
            new_texts += (
                b'<%bcomment ref="%b" authorId="%d"><%btext><%br><%bt xml:space="preserve">%b'
                b"</%bt></%br></%btext></%bcomment>"
                % (prefix, ref.encode(), number, prefix, prefix, prefix, escaped(text[:LONGEST]),
                   prefix, prefix, prefix, prefix)
            )  # fmt: skip
            continue
        last = [
            e for e in found if e.tag == "t" and existing.start < e.start and e.end <= existing.end
        ]
        if last and last[-1].inner_end > last[-1].start:
            at = last[-1].inner_end
            edits[at, at] = escaped("\n\n" + text[:LONGEST])
    if new_texts:
        _append(data, next(e for e in found if e.tag == "commentList"), new_texts, edits)
    package.replace_xml(part, spliced(data, edits))
    return boxes


def _append(data: bytes, element: Element, new: bytes, edits: dict[tuple[int, int], bytes]) -> None:
    """Put ``new`` at the end of an element's content; an empty element is opened."""
    if element.inner_end != element.end or data[element.end - 2 : element.end] != b"/>":
        edits[element.inner_end, element.inner_end] = new
        return
    tag = data[element.start : element.end - 2].rstrip()
    name = tag.split()[0].lstrip(b"<")
    edits[element.start, element.end] = tag + b">" + new + b"</" + name + b">"


def _prefix(data: bytes, root: Element) -> bytes:
    """Namespace prefix of a part's elements with its colon, or nothing."""
    name = re.match(rb"<([^\s/>]+)", data[root.start :])
    assert name is not None
    before, colon, _ = name[1].rpartition(b":")
    return before + colon


# --- boxes ----------------------------------------------------------------------------------


def _box(number: int, ref: str, text: str) -> bytes:
    row, column = row_column(ref)
    lines = sum(1 + len(line) // _PER_LINE for line in text.split("\n"))
    bottom = row - 1 + min(40, lines + 1)
    return (
        b'<v:shape %b id="_x0000_s%d" type="#_x0000_t202" style="position:absolute;'
        b'margin-left:60pt;margin-top:2pt;width:320pt;height:%dpt;z-index:1;visibility:hidden" '
        b'fillcolor="#fbf7e6" o:insetmode="auto"><v:fill color2="#fbf7e6"/>'
        b'<v:path o:connecttype="none"/><v:textbox style="mso-direction-alt:auto"/>'
        b'<x:ClientData ObjectType="Note"><x:MoveWithCells/><x:SizeWithCells/>'
        b"<x:Anchor>%d, 15, %d, 4, %d, 15, %d, 4</x:Anchor><x:AutoFill>False</x:AutoFill>"
        b"<x:Row>%d</x:Row><x:Column>%d</x:Column></x:ClientData></v:shape>"
        % (_NAMESPACES, number, 14 * (lines + 1), column, max(0, row - 2), column + _WIDE, bottom,
           row - 1, column - 1)
    )  # fmt: skip


def _write_boxes(package: Package, part: str, boxes: Mapping[str, str]) -> None:
    data = package.read(part)
    end = data.rstrip().rfind(b"</")
    numbers = [int(m[1]) for m in re.finditer(rb"_x0000_s(\d+)", data)]
    number = max(numbers, default=1024)
    new = b"" if b'"_x0000_t202"' in data else _BOX_TYPE.replace(
        b"<v:shapetype", b"<v:shapetype " + _NAMESPACES
    )  # fmt: skip
    for ref, text in boxes.items():
        number += 1
        new += _box(number, ref, text)
    package.replace(part, data[:end] + new + data[end:])


# --- parts ----------------------------------------------------------------------------------


def _drawing_of(package: Package, sheet: Sheet) -> str | None:
    """The VML drawing in which the sheet keeps the boxes of its comments."""
    data = package.xml(sheet.part)
    wanted = ""

    def on_start(tag: str, attributes: dict[str, str], _at: int) -> None:
        nonlocal wanted
        if tag == "legacyDrawing":
            wanted = next((v for k, v in attributes.items() if k.rpartition(" ")[2] == "id"), "")

    walk(data, sheet.part, on_start, lambda *_: None, lambda _: None)
    kind, part = package.relations(sheet.part).get(wanted, ("", ""))
    return part if kind == "vmlDrawing" and part in package.parts else None


def _free(package: Package, folder: str, pattern: str) -> str:
    known = {part.lower() for part in package.parts}
    number = 1
    while (name := posixpath.join(folder, pattern.format(number))).lower() in known:
        number += 1
    return name


def _new_comments(package: Package, sheet: Sheet) -> str:
    part = _free(
        package, posixpath.dirname(posixpath.dirname(sheet.part)) or "xl", "comments{}.xml"
    )
    package.add(
        part,
        _XML + b'<comments xmlns="%b"><authors/><commentList/></comments>' % _MAIN.encode(),
    )
    _declare(package, f'<Override PartName="/{part}" ContentType="{_COMMENTS_TYPE}"/>')
    _relate(package, sheet, part, "comments")
    return part


def _new_drawing(package: Package, sheet: Sheet) -> str:
    folder = posixpath.dirname(posixpath.dirname(sheet.part)) or "xl"
    part = _free(package, f"{folder}/drawings", "vmlDrawing{}.vml")
    package.add(part, _VML)
    if not re.search(rb'Extension\s*=\s*"vml"', package.xml("[Content_Types].xml"), re.IGNORECASE):
        _declare(package, f'<Default Extension="vml" ContentType="{_VML_TYPE}"/>', first=True)
    key = _relate(package, sheet, part, "vmlDrawing")
    _refer(package, sheet, key)
    return part


def _declare(package: Package, entry: str, first: bool = False) -> None:
    """Add an entry to the content types."""
    part = "[Content_Types].xml"
    data = package.xml(part)
    root = elements(data, part)[0]
    prefix = _prefix(data, root).decode()
    new = entry.replace("<", f"<{prefix}", 1).encode()
    at = root.inner if first else root.inner_end
    package.replace_xml(part, spliced(data, {(at, at): new}))


def _relate(package: Package, sheet: Sheet, target: str, kind: str) -> str:
    """Relate a sheet to a part; the new relation's id."""
    folder, name = posixpath.split(sheet.part)
    rels = posixpath.join(folder, "_rels", f"{name}.rels")
    rels = next((p for p in package.parts if p.lower() == rels.lower()), rels)
    if rels not in package.parts:
        package.add(rels, _XML + b'<Relationships xmlns="%b"></Relationships>' % _PACKAGE.encode())
    taken = set(package.relations(sheet.part))
    number = 1
    while f"rId{number}" in taken:
        number += 1
    data = package.xml(rels)
    root = elements(data, rels)[0]
    # Seen from the sheet, as nearly every program writes it; some readers know no other form.
    entry = (
        f'<{_prefix(data, root).decode()}Relationship Id="rId{number}" '
        f'Type="{_OFFICE}/{kind}" Target="{posixpath.relpath(target, folder)}"/>'
    ).encode()
    edits: dict[tuple[int, int], bytes] = {}
    _append(data, root, entry, edits)
    package.replace_xml(rels, spliced(data, edits))
    return f"rId{number}"


def _refer(package: Package, sheet: Sheet, key: str) -> None:
    """Name the drawing in the sheet, at the place that the schema gives it."""
    data = package.xml(sheet.part)
    depth = 0
    at = -1
    root_at = -1

    def on_start(tag: str, _attributes: dict[str, str], offset: int) -> None:
        nonlocal depth, at, root_at
        if depth == 0:
            root_at = offset
        # mc:AlternateContent stands for what it holds: controls or objects
        if depth == 1 and at < 0 and tag in (*_AFTER_DRAWING, "AlternateContent"):
            at = offset
        depth += 1

    def on_end(_tag: str, offset: int) -> None:
        nonlocal depth, at
        depth -= 1
        if depth == 0 and at < 0:
            at = offset

    walk(data, sheet.part, on_start, on_end, lambda _: None)
    name = re.match(rb"<([^\s/>]+)", data[root_at : start_tag_end(data, root_at)])
    assert name is not None
    before, colon, _ = name[1].rpartition(b":")
    entry = b'<%blegacyDrawing xmlns:r="%b" r:id="%b"/>' % (
        before + colon, _OFFICE.encode(), key.encode(),
    )  # fmt: skip
    package.replace_xml(sheet.part, spliced(data, {(at, at): entry}))
