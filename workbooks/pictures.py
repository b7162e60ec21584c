"""Picture every sheet of the demo quote and the report of its audit again:
``.venv/bin/python workbooks/pictures.py``.

Prints the workbooks with LibreOffice and turns their pages into PNGs in ``pictures/``, cut to
what is on them. Needs pdftoppm and pdftotext (Debian: poppler-utils), and a font with the widths
of Arial (Debian: fonts-liberation2).
"""

from __future__ import annotations

import re
import struct
import subprocess
import sys
import zlib
from pathlib import Path
from tempfile import TemporaryDirectory

from hoppersheet.errors import HostError
from hoppersheet.hosts.calc.office import Office

FOLDER = Path(__file__).parent
BOOK = FOLDER / "demo_quote.xlsx"
#: Pages of the audit's report that are pictured; the register is cut to its first lines.
_REPORT_PAGES = {"sign_off": 0.0, "assumptions": 4.4}
#: The sheet's name in the footer of a page.
_QUOTE_FOOTER = (
    rf"(?:Internal: |{BOOK.name}, )([^\n]*?)\s+(?:Page )?\d+ of \d+|(Quote)\s+Page \d+ of \d+"
)
#: Sheets that only work behind the others.
_BEHIND = ("Line checks", "Page plan", "Curves")
#: Lines of text of a page that shows headings and prepared rows alone.
_HEADINGS = 4
_REPORT_FOOTER = r"report\.xlsx, ([\w-]+)\s+Page"
DOTS = 110  # per inch
_FOOT = 0.75  # inches at the lower edge: the footer is not part of the picture
_EDGE = 8  # dots of white around what is cut out


def _run(*command: str) -> bytes:
    try:
        return subprocess.run(command, check=True, stdout=subprocess.PIPE, timeout=120).stdout
    except (OSError, subprocess.SubprocessError) as problem:
        raise HostError(f"{command[0]} does not work here: {problem}") from None


def pages(pdf: Path, footer: str) -> dict[int, str]:
    """Page number -> name of the picture, from the sheet's name in the footer."""
    text = _run("pdftotext", "-layout", str(pdf), "-").decode()
    names: dict[int, str] = {}
    for number, page in enumerate(text.split("\f")[:-1], 1):
        found = list(re.finditer(footer, page))
        body = page[: found[-1].start()] if found else page
        if len([line for line in body.splitlines() if line.strip()]) <= _HEADINGS:
            continue  # nothing but prepared rows
        sheet = next((name for name in found[-1].groups() if name), "") if found else "Quote"
        if sheet in _BEHIND:
            continue
        stem = sheet.strip().lower().replace(" ", "_").replace("-", "_")
        part = sum(name.rpartition("-")[0] == stem for name in names.values()) + 1
        names[number] = f"{stem}-{part}"
    alone = [n for n in names.values() if n.endswith("-1") and f"{n[:-1]}2" not in names.values()]
    # The README shows the first page of the quote, and Sizing by the parts that it prints in.
    alone = [n for n in [*alone, "quote-1"] if n != "sizing-1"]
    return {page: name[:-2] if name in alone else name for page, name in names.items()}


def _box(pdf: Path, page: int) -> tuple[int, int, int, int]:
    """Left, top, width and height in dots of what is on the page, without the footer."""
    raw = _run("pdftoppm", "-r", str(DOTS), "-gray", "-f", str(page), "-l", str(page), str(pdf))
    magic, width, height, _, pixels = re.split(rb"\s", raw, maxsplit=4)
    assert magic == b"P5"
    wide, high = int(width), int(height)
    rows = [pixels[y * wide : (y + 1) * wide] for y in range(high - int(_FOOT * DOTS))]
    used = [y for y, row in enumerate(rows) if row.strip(b"\xff")]
    left = min(wide - len(rows[y].lstrip(b"\xff")) for y in used)
    right = max(len(rows[y].rstrip(b"\xff")) for y in used)
    top, bottom = used[0], used[-1] + 1
    x, y = max(0, left - _EDGE), max(0, top - _EDGE)
    return x, y, min(wide, right + _EDGE) - x, min(high, bottom + _EDGE) - y


def _png(raw: bytes) -> bytes:
    """A raw color picture (P6) as a small PNG: 52 steps per color are enough for flat colors."""
    magic, width, height, _, pixels = re.split(rb"\s", raw, maxsplit=4)
    assert magic == b"P6"
    wide, high = int(width), int(height)
    steps = bytes((value + 2) // 5 * 5 for value in range(256))
    pixels = pixels.translate(steps)
    lines = b"".join(b"\0" + pixels[y * wide * 3 : (y + 1) * wide * 3] for y in range(high))

    def chunk(kind: bytes, content: bytes) -> bytes:
        check = zlib.crc32(kind + content)
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", check)

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    parts = (chunk(b"IHDR", head), chunk(b"IDAT", zlib.compress(lines, 9)), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def _write(pdf: Path, page: int, high: float, path: Path) -> Path:
    """Write what is on a page; ``high``: no more than so many inches of it, 0 for all."""
    x, y, width, height = _box(pdf, page)
    if high:
        height = min(height, int(high * DOTS))
    cut = ("-x", str(x), "-y", str(y), "-W", str(width), "-H", str(height))
    only = ("-f", str(page), "-l", str(page))
    path.write_bytes(_png(_run("pdftoppm", "-r", str(DOTS), *only, *cut, str(pdf))))
    return path


def picture(folder: Path) -> list[Path]:
    """Write the pictures into ``folder``; returns them in the order of the pages."""
    folder.mkdir(exist_ok=True)
    made = []
    with TemporaryDirectory() as work:
        pdf, report, report_pdf = (Path(work, n) for n in ("book.pdf", "report.xlsx", "report.pdf"))
        # As a user makes it; notes alone give 0, findings 1.
        command = (sys.executable, "-m", "hoppersheet", "audit", str(BOOK), "--out", str(report))
        assert subprocess.run(command, stdout=subprocess.DEVNULL).returncode in (0, 1)
        with Office() as office:
            office.convert(BOOK, pdf)
            office.convert(report, report_pdf)
        for page, name in pages(pdf, _QUOTE_FOOTER).items():
            made.append(_write(pdf, page, 0.0, folder / f"{name}.png"))
        for page, name in pages(report_pdf, _REPORT_FOOTER).items():
            sheet, _, part = name.partition("-")
            if sheet in _REPORT_PAGES and part in ("", "1"):
                made.append(
                    _write(report_pdf, page, _REPORT_PAGES[sheet], folder / f"audit_{sheet}.png")
                )
    return made


if __name__ == "__main__":
    for path in picture(Path(sys.argv[1]) if sys.argv[1:] else FOLDER / "pictures"):
        print(path, f"{path.stat().st_size // 1000} kB")
