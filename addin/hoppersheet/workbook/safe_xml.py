"""The XML of an office package, read safely, with the byte offset of everything found.

The standard library's expat is driven directly for one reason: it tells where in the file each
tag stands, so that a value can be replaced without touching another byte. A document type
declaration is refused, and with it every entity and every external file; ECMA-376 part 2 (XML
usage) allows none in a package.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from xml.parsers import expat

from ..errors import InputFileError

__all__ = [
    "NOT_IN_XML",
    "Element",
    "as_utf8",
    "elements",
    "escape",
    "escaped",
    "quoteattr",
    "spliced",
    "start_tag_end",
    "walk",
]

#: Signs that no XML may hold (XML 1.0, production 2).
NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
#: A start tag; an attribute's value may hold a ``>``.
_START_TAG = re.compile(rb"""<(?:[^>"']|"[^"]*"|'[^']*')*>""")
_DECLARED = re.compile(rb"""^<\?xml[^>]*?encoding\s*=\s*["']([\w.-]+)["']""")


def escape(text: str) -> str:
    """Text for XML. That of the standard library loads its web client, which takes longer than
    many a command.
    """
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def quoteattr(text: str) -> str:
    """An attribute's value for XML, in its quotes; the ends of lines stay what they are."""
    written = escape(text)
    for sign, code in (('"', "&quot;"), ("\n", "&#10;"), ("\r", "&#13;"), ("\t", "&#9;")):
        written = written.replace(sign, code)
    return f'"{written}"'


def as_utf8(data: bytes, part: str) -> tuple[bytes, str]:
    """The part in UTF-8, and the encoding to give it back in.

    A package's XML is in UTF-8 or UTF-16 (ECMA-376 part 2, XML usage).
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in data[:4]:
        encoding = "utf-16"
        if data[:2] not in (b"\xff\xfe", b"\xfe\xff"):
            encoding = "utf-16-le" if data[1:2] == b"\0" else "utf-16-be"
        try:
            return data.decode(encoding).encode("utf-8"), encoding
        except UnicodeDecodeError:
            raise InputFileError(f"{part} is neither UTF-8 nor UTF-16") from None
    declared = _DECLARED.match(data.removeprefix(b"\xef\xbb\xbf"))
    if declared and declared[1].lower() not in (b"utf-8", b"utf8", b"us-ascii", b"ascii"):
        raise InputFileError(
            f"{part} is encoded in {declared[1].decode()}; a workbook's parts are in UTF-8 or "
            "UTF-16"
        )
    return data, "utf-8"


def walk(
    data: bytes,
    part: str,
    on_start: Callable[[str, dict[str, str], int], None],
    on_end: Callable[[str, int], None],
    on_text: Callable[[str], None],
) -> None:
    """Run through UTF-8 XML and report what is met.

    Args:
        data: the XML, see :func:`as_utf8`.
        part: its name in the package, for messages.
        on_start: called with the tag (without its namespace), its attributes and the offset of
            its ``<``.
        on_end: called with the tag and the offset of the ``<`` of its end tag; for an empty
            element ``<v/>`` that is the offset of the element itself.
        on_text: called with text as it is met, in one piece or several.

    Raises:
        InputFileError: not well-formed, or with a document type declaration.
    """
    parser = expat.ParserCreate("utf-8", " ")
    parser.buffer_text = True

    def refuse(*_: object) -> None:
        raise InputFileError(f"{part} holds a document type declaration, which no workbook does")

    opened = -1  # offset of the start tag that was met last, if nothing was closed since

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal opened
        opened = parser.CurrentByteIndex
        on_start(tag.rpartition(" ")[2], attributes, opened)

    def end(tag: str) -> None:
        nonlocal opened
        at = parser.CurrentByteIndex
        # For <v/> expat gives the offset behind it.
        if opened >= 0 and data[at - 2 : at] == b"/>" and start_tag_end(data, opened) == at:
            at = opened
        opened = -1
        on_end(tag.rpartition(" ")[2], at)

    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = on_text
    try:
        parser.Parse(data, True)
    except expat.ExpatError as problem:
        raise InputFileError(f"{part} is damaged: {problem}") from None


@dataclass
class Element:
    """One element, for parts that are small enough to hold as a list.

    Attributes:
        tag: without its namespace.
        attributes: an attribute of a namespace is called ``"namespace name"``.
        text: its own text and that of the elements in it.
        start, inner, inner_end, end: byte offsets of ``<``, of its content and behind it.
        inside: tags of the elements around it, outermost first.
    """

    tag: str
    attributes: Mapping[str, str]
    start: int
    inside: tuple[str, ...]
    text: str = ""
    inner: int = 0
    inner_end: int = 0
    end: int = 0
    _texts: list[str] = field(default_factory=list, repr=False)


def elements(data: bytes, part: str) -> list[Element]:
    """Every element of UTF-8 XML in document order."""
    found: list[Element] = []
    open_: list[Element] = []

    def on_start(tag: str, attributes: dict[str, str], at: int) -> None:
        element = Element(tag, attributes, at, tuple(e.tag for e in open_))
        found.append(element)
        open_.append(element)

    def on_end(tag: str, at: int) -> None:
        element = open_.pop()
        element.text = "".join(element._texts)
        element.inner = start_tag_end(data, element.start)
        if at == element.start:
            element.inner_end = element.end = element.inner
        else:
            element.inner_end, element.end = at, start_tag_end(data, at)
        if open_:
            open_[-1]._texts.append(element.text)

    def on_text(text: str) -> None:
        if open_:
            open_[-1]._texts.append(text)

    walk(data, part, on_start, on_end, on_text)
    return found


def start_tag_end(data: bytes, at: int) -> int:
    """The offset behind the ``>`` of the tag that begins at ``at``."""
    tag = _START_TAG.match(data, at)
    assert tag is not None, "expat has read a tag here"
    return tag.end()


def escaped(text: str) -> bytes:
    """Text as it stands in XML, as little changed as XML allows."""
    return escape(text).replace("\r", "&#13;").encode("utf-8")


def spliced(data: bytes, edits: Mapping[tuple[int, int], bytes]) -> bytes:
    """``data`` with the bytes from start to end of each ``(start, end)`` replaced."""
    return b"".join(_pieces(data, edits))


def _pieces(data: bytes, edits: Mapping[tuple[int, int], bytes]) -> Iterator[bytes]:
    done = 0
    for (start, end), new in sorted(edits.items()):
        assert start >= done, "two edits overlap"
        yield data[done:start]
        yield new
        done = end
    yield data[done:]
