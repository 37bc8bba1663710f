"""Where the parts of a YAML text stand: offsets and lines of every entry, with the comments that belong to it.

The text is one that :func:`curing.sources.yaml_nodes.compose` found nothing wrong with: no anchors,
tags, directives or second documents, lines that end in ``\\n``.

An entry is an item of a list or a key with its value. In block style it takes whole lines, and the
comments straight below it that are indented deeper are its own; so are those straight above an item,
as far in as its dash.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from itertools import accumulate
from typing import NamedTuple

from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from curing.sources.yaml_nodes import Steps

_COMMENT = re.compile(r"( *)#")


class OddPlaceError(ValueError):
    """A place written in a way that can be read, but not changed from outside without harm."""


class Lines(NamedTuple):
    """First line and the one after the last, from 0."""

    first: int
    end: int


class Layout:
    """A composed text.

    Parameters
    ----------
    text
        As above.

    Examples
    --------
    >>> layout = Layout("walls:\\n  # by the road\\n  - id: 1   # low\\n    # no gutter\\n  - id: 2\\n")
    >>> layout.lines_of(("walls", 0)), layout.with_comment(layout.lines_of(("walls", 0)), 2)
    (Lines(first=2, end=4), Lines(first=1, end=4))
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.lines = text.split("\n")
        self.starts = [0, *accumulate(len(line) + 1 for line in self.lines)]
        self.root: Node = YAML(typ="safe", pure=True).compose(text)

    def node(self, steps: Steps) -> Node:
        """Return the node at these steps; KeyError where there is none."""
        found = self.root
        for step in steps:
            found = self._child(found, step)[1]
        return found

    def _child(self, node: Node, step: str | int) -> tuple[Node | None, Node]:
        if isinstance(node, MappingNode) and isinstance(step, str):
            for key, value in node.value:
                if key.value == step:
                    return key, value
        elif isinstance(node, SequenceNode) and isinstance(step, int) and 0 <= step < len(node.value):
            return None, node.value[step]
        raise KeyError(step)

    def pair(self, steps: Steps) -> tuple[Node | None, Node]:
        """Return the key (None in a list) and the value at these steps."""
        return self._child(self.node(steps[:-1]), steps[-1])

    def start(self, node: Node) -> int:
        """Return the offset at which a node begins."""
        return int(node.start_mark.index)

    def end(self, key: Node | None, node: Node) -> int:
        """Return the offset after the last sign of a value, comments not counted."""
        if is_empty(node):
            if key is None:
                raise OddPlaceError("an item without a value")
            colon = self.colon(key)
            return int(key.end_mark.index) if colon is None else colon + 1
        if plain(node):
            start, end = self.start(node), int(node.end_mark.index)
            return start + len(self.text[start:end].rstrip())
        last = node.value[-1]
        return self.end(*last) if isinstance(last, tuple) else self.end(None, last)

    def colon(self, key: Node) -> int | None:
        """Return the offset of the colon behind a key; None where there is none on its line."""
        after = int(key.end_mark.index)
        match = re.compile(r" *:").match(self.text, after)
        return match.end() - 1 if match else None

    def line(self, offset: int) -> int:
        """Return the line of an offset, from 0."""
        return bisect_right(self.starts, offset) - 1

    def column(self, steps: Steps) -> int:
        """Return how far in the dash or the key of a block entry stands."""
        key, _ = self.pair(steps)
        outer = self.node(steps[:-1])
        column: int = outer.start_mark.column if key is None else key.start_mark.column
        return column

    def lines_of(self, steps: Steps) -> Lines:
        """Return the lines of a block entry, with the deeper comments straight below it."""
        key, node = self.pair(steps)
        column, last = self.column(steps), self.line(self.end(key, node) - 1)
        first = self.line(self.start(key)) if key is not None else self._dash_line(node, column)
        before = self.lines[first][:column]
        if before.strip(" ") not in ("", "-"):
            raise OddPlaceError("more than one thing on a line")
        end = last + 1
        while end < len(self.lines) and (match := _COMMENT.match(self.lines[end])) and len(match[1]) > column:
            end += 1
        return Lines(first, end)

    def _dash_line(self, node: Node, column: int) -> int:
        number = self.line(self.start(node))
        while number >= 0:
            line = self.lines[number]
            if line[column : column + 1] == "-" and not line[:column].strip(" "):
                return number
            number -= 1
        raise OddPlaceError("an item without a dash on its line")

    def with_comment(self, lines: Lines, column: int) -> Lines:
        """Return lines with the comments straight above that are as far in."""
        first = lines.first
        while first and (match := _COMMENT.match(self.lines[first - 1])) and len(match[1]) == column:
            first -= 1
        return Lines(first, lines.end)

    def commented_out(self, key: str, lines: Lines, column: int) -> int | None:
        """Return the line of a comment that shows how a key would be written, ``# days: [...]``."""
        pattern = re.compile(rf" {{{column}}}# ?{re.escape(key)}:")
        return next(
            (n for n in range(lines.first, min(lines.end, len(self.lines))) if pattern.match(self.lines[n])), None
        )

    def replaced(self, start: int, end: int, new: str) -> str:
        """Return the text with something else between two offsets; a comment behind it keeps its column."""
        rest = self.text[end:]
        gap = re.match(r" {2,}(?=#)", rest)
        if gap and "\n" not in new and "\n" not in self.text[start:end]:
            rest = " " * max(1, gap.end() + (end - start) - len(new)) + rest[gap.end() :]
        return self.text[:start] + new + rest

    def with_lines(self, lines: Lines, new: list[str]) -> str:
        """Return the text with other lines in the place of some."""
        return "\n".join([*self.lines[: lines.first], *new, *self.lines[lines.end :]])


def plain(node: Node) -> bool:
    """Tell whether a node is a list or mapping in brackets, or a scalar."""
    return not isinstance(node, MappingNode | SequenceNode) or bool(node.flow_style)


def is_empty(node: Node) -> bool:
    """Tell whether nothing stands where a value would."""
    return isinstance(node, ScalarNode) and node.style is None and not node.value
