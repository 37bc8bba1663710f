"""A job file's bytes and its text: line ends and the mark at its head are kept as they are."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from curing.sources.yaml_nodes import decoded, read_raw

_MARK = b"\xef\xbb\xbf"
_ENDS = re.compile("\r\n|\r|\n")


@dataclass(frozen=True)
class FileText:
    """What a file holds.

    Attributes
    ----------
    raw
        Its bytes.
    text
        Their text, with ``\\n`` at the end of every line.
    """

    raw: bytes
    text: str

    @property
    def digest(self) -> str:
        """The sha256 of its bytes: another one, and the file was changed."""
        return sha256(self.raw).hexdigest()

    def with_text(self, new: str) -> bytes:
        r"""Return the bytes of another text, lines that are the same ending as they did.

        Examples
        --------
        >>> FileText(b"a: 1\r\nb: 2\r\nc: 3\n", "a: 1\nb: 2\nc: 3\n").with_text("a: 1\nb: 3\nbb: 4\nc: 3\n")
        b'a: 1\r\nb: 3\r\nbb: 4\r\nc: 3\n'
        """
        written = self.raw.removeprefix(_MARK).decode()
        ends = _ENDS.findall(written)
        usual = Counter(ends).most_common(1)[0][0] if ends else "\n"
        old, lines = self.text.split("\n"), new.split("\n")
        same = min(len(old), len(lines))
        head = next((n for n in range(same) if old[n] != lines[n]), same)
        tail = next((n for n in range(same - head) if old[-1 - n] != lines[-1 - n]), same - head)
        # The last line has no end: the tail's ends are those of its lines but the last.
        kept = ends[len(ends) - max(tail - 1, 0) :] if tail else []
        first = ends[: min(head, len(lines) - 1 - len(kept))]
        between = len(lines) - 1 - len(first) - len(kept)
        new_ends = [*first, *[usual] * between, *kept, ""] if len(old) != len(lines) else [*ends, ""]
        mark = _MARK if self.raw.startswith(_MARK) else b""
        return mark + "".join(line + end for line, end in zip(lines, new_ends, strict=True)).encode()


def read_file(path: Path) -> FileText:
    """Return what a file holds.

    Raises
    ------
    FileError
        As :func:`curing.sources.yaml_nodes.read_text`.
    """
    raw = read_raw(path)
    return FileText(raw, decoded(raw, str(path)))
