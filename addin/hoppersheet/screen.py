"""What reaches the screen: text without signs that would steer a terminal.

A sheet's name, a zip part's name or a job's name may hold escape sequences that move the cursor,
hide a line or rename the window. They are cleaned here, in one place, whoever prints them.
"""

from __future__ import annotations

import json
import math
import re
from typing import Any, TextIO

__all__ = ["LONGEST_LINE", "Screen", "cleaned", "json_text", "one_line"]

# Control signs but tab and line feed, and the marks that turn the direction of writing.
_STEERING = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
#: Longer error lines are cut: a list of a thousand files helps nobody.
LONGEST_LINE = 600


def cleaned(text: str) -> str:
    """``text`` with every sign that steers a terminal replaced."""
    return _STEERING.sub("\ufffd", text)


def one_line(text: str) -> str:
    """A message as one line that can be read at once."""
    line = " ".join(text.split())
    return line if len(line) <= LONGEST_LINE else f"{line[: LONGEST_LINE - 4]} ..."


class Screen:
    """Standard output or standard error, with everything cleaned that is written to it."""

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        # Here rich, which cleans its cells itself, finds the terminal for its colors.
        self.rich_proxied_file: Any = stream if stream.isatty() else self

    def write(self, text: str) -> int:
        """Write text; as :meth:`io.TextIOBase.write`."""
        return self.stream.write(cleaned(text))

    def __getattr__(self, name: str) -> Any:
        if name in ("buffer", "raw"):
            raise AttributeError(name)  # else click might write past this
        return getattr(self.stream, name)


def _finite(value: Any) -> Any:
    """JSON knows no infinity: such numbers become texts."""
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    return value


def json_text(content: Any) -> str:
    """For machines: one JSON object (RFC 8259), every control sign in it escaped."""
    text = json.dumps(_finite(content), indent=1, ensure_ascii=False, default=str, allow_nan=False)
    return _STEERING.sub(lambda sign: f"\\u{ord(sign[0]):04x}", text)
