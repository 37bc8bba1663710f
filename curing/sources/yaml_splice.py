"""One change of a YAML text: only the lines of what is changed are touched, all others stay byte for byte."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from ruamel.yaml.nodes import MappingNode, Node, SequenceNode

from curing.sources.yaml_layout import Layout, Lines, OddPlaceError, is_empty, plain
from curing.sources.yaml_lines import entry_lines, fits_brackets, flow, inline, item_lines
from curing.sources.yaml_nodes import Steps

_GAP = re.compile(r"(?:[ \n]|#[^\n]*\n)*")
"""Between two things in brackets: spaces, line ends, comments."""


def replaced(text: str, steps: Steps, value: Any) -> str:
    """Return a text with another value at steps where there is one."""
    layout = Layout(text)
    key, node = layout.pair(steps)
    within = _within_brackets(layout, steps)
    end = layout.end(key, node)
    if not within and not fits_brackets(value):
        return _replaced_by_lines(layout, steps, value)
    new = flow(value) if within else inline(value)
    start = layout.start(node)
    if key is not None and (is_empty(node) or not plain(node)):
        colon = layout.colon(key)
        if colon is None:
            raise OddPlaceError("a key without a colon on its line")
        start, new = colon + 1, f" {new}"
    return layout.replaced(start, end, new)


def _replaced_by_lines(layout: Layout, steps: Steps, value: Any) -> str:
    key, node = layout.pair(steps)
    lines, column, end = layout.lines_of(steps), layout.column(steps), layout.end(key, node)
    content = Lines(lines.first, layout.line(end - 1) + 1)
    if key is None:
        new = item_lines(value, column)
    else:
        head, *rest = entry_lines(str(steps[-1]), value, column, _dash(layout, steps[:-1]))
        new = [layout.lines[content.first][:column] + head[column:], *rest]
    if beside := re.compile(r" +#[^\n]*").match(layout.text, end):
        new[0] += beside[0]
    return layout.with_lines(content, new)


def _dash(layout: Layout, steps: Steps) -> int:
    """Return how much further in than their key the dashes of this file's lists stand."""
    for count in (len(steps), 0):
        node = layout.node(steps[:count])
        for key, value in node.value if isinstance(node, MappingNode) else ():
            if isinstance(value, SequenceNode) and not value.flow_style:
                return int(value.start_mark.column) - int(key.start_mark.column)
    return 2


def _within_brackets(layout: Layout, steps: Steps) -> bool:
    return any(plain(layout.node(steps[:count])) for count in range(len(steps)))


def with_key(text: str, steps: Steps, value: Any, after: Sequence[str] = ()) -> str:
    """Return a text with a new key in a mapping that is there.

    Parameters
    ----------
    text
        What is changed.
    steps
        To the new key.
    value
        What it says.
    after
        Keys it stands behind: the last of them that is there; none of them, the first place.
    """
    layout, outer, name = Layout(text), steps[:-1], str(steps[-1])
    mapping = layout.node(outer)
    keys = [key.value for key, _ in mapping.value]
    place = max((keys.index(key) + 1 for key in after if key in keys), default=0)
    if _within_brackets(layout, steps):
        return _into_brackets(layout, mapping, place, f"{flow({name: value})[2:-2]}")
    column = layout.column((*outer, keys[0]))
    new = entry_lines(name, value, column, _dash(layout, outer))
    span = Lines(layout.lines_of((*outer, keys[0])).first, _end_of(layout, outer, keys))
    shown = layout.commented_out(name, span, column)
    if shown is not None:
        return layout.with_lines(Lines(shown + 1, shown + 1), new)
    first = layout.lines_of((*outer, keys[0]))
    if not place and "-" in layout.lines[first.first][:column]:
        place = 1
    if not place:
        at = first.first
        return layout.with_lines(Lines(at, at), new)
    at = layout.lines_of((*outer, keys[place - 1])).end
    if not column and len(new) > 1:
        new = ["", *new] if at and layout.lines[at - 1].strip() else new
    return _inserted(layout, at, new)


def _end_of(layout: Layout, outer: Steps, keys: list[str]) -> int:
    """Return the line behind a mapping and the comments and empty lines after it."""
    end = layout.lines_of((*outer, keys[-1])).end
    while end < len(layout.lines) and (not layout.lines[end].strip() or layout.lines[end].lstrip().startswith("#")):
        end += 1
    return end


def _inserted(layout: Layout, at: int, new: list[str]) -> str:
    """Return the text with lines before a line; the file's last line is ended first."""
    if at >= len(layout.lines):
        return "\n".join([*layout.lines, *new, ""])
    return layout.with_lines(Lines(at, at), new)


def without(text: str, steps: Steps) -> str:
    """Return a text without an entry of a list or mapping that has others."""
    layout = Layout(text)
    key, node = layout.pair(steps)
    if _within_brackets(layout, steps):
        return _out_of_brackets(layout, layout.node(steps[:-1]), steps)
    column, lines = layout.column(steps), layout.lines_of(steps)
    if key is None:
        return _without_item(layout, steps, layout.with_comment(lines, column))
    if "-" not in layout.lines[lines.first][:column]:
        return layout.with_lines(lines, [])
    follows = layout.node(steps[:-1]).value[1][0]
    between = layout.text[layout.end(key, node) : layout.start(follows)]
    if re.search(r"\n *#", between):
        raise OddPlaceError("a comment behind the first key of an item")
    return layout.text[: layout.start(key)] + layout.text[layout.start(follows) :]


def _without_item(layout: Layout, steps: Steps, lines: Lines) -> str:
    """Return the text without an item, and without one of the empty lines round it."""
    first, end = lines
    above = first == 0 or not layout.lines[first - 1].strip()
    if above and end < len(layout.lines) - 1 and not layout.lines[end].strip():
        end += 1
    elif above and first and end >= len(layout.lines) - 1:
        first -= 1
    return layout.with_lines(Lines(first, end), [])


def with_item(text: str, steps: Steps, value: Any) -> str:
    """Return a text with a new item in a list that has some; the last step is its place."""
    layout, outer, place = Layout(text), steps[:-1], int(steps[-1])
    items = layout.node(outer)
    if _within_brackets(layout, steps):
        return _into_brackets(layout, items, place, flow(value))
    column = layout.column((*outer, 0))
    blocks = [layout.with_comment(layout.lines_of((*outer, n)), column) for n in range(len(items.value))]
    apart = any(not layout.lines[block.first - 1].strip() for block in blocks[1:])
    apart = apart or (len(blocks) == 1 and outer == ("walls",))
    new = item_lines(value, column, _dash(layout, (*outer, 0)))
    if place < len(blocks):
        at = blocks[place].first
        return layout.with_lines(Lines(at, at), [*new, ""] if apart else new)
    return _inserted(layout, blocks[-1].end, ["", *new] if apart else new)


def swapped(text: str, steps: Steps) -> str:
    """Return a text in which an item of a list and the one after it have changed places."""
    layout, outer, place = Layout(text), steps[:-1], int(steps[-1])
    if _within_brackets(layout, steps):
        both = (layout.node(steps), layout.node((*outer, place + 1)))
        (a, b), (c, d) = ((layout.start(node), layout.end(None, node)) for node in both)
        old = layout.text
        return old[:a] + old[c:d] + old[b:c] + old[a:b] + old[d:]
    column = layout.column(steps)
    one, other = (layout.with_comment(layout.lines_of((*outer, n)), column) for n in (place, place + 1))
    lines = layout.lines
    return layout.with_lines(
        Lines(one.first, other.end),
        [*lines[other.first : other.end], *lines[one.end : other.first], *lines[one.first : one.end]],
    )


# What stands in brackets.


def _spans(layout: Layout, node: Node) -> list[tuple[int, int]]:
    """Return where each thing in brackets begins and ends."""
    if isinstance(node, MappingNode):
        return [(layout.start(key), layout.end(key, value)) for key, value in node.value]
    return [(layout.start(one), layout.end(None, one)) for one in node.value]


def _into_brackets(layout: Layout, node: Node, place: int, new: str) -> str:
    spans, text = _spans(layout, node), layout.text
    if not spans:
        return layout.replaced(
            layout.start(node), layout.end(None, node), f"[{new}]" if isinstance(node, SequenceNode) else f"{{ {new} }}"
        )
    if place < len(spans):
        return layout.replaced(spans[place][0], spans[place][0], f"{new}, ")
    at = spans[-1][1]
    return text[:at] + f", {new}" + _closer(text[at:], len(new) + 2)


def _closer(rest: str, longer: int) -> str:
    """Return the rest of a line that has grown, its comment still at its column where there is room."""
    match = re.match(r"([^\n#'\"]*?)( {2,})(#)", rest)
    if not match:
        return rest
    return match[1] + " " * max(1, len(match[2]) - longer) + rest[match.end(2) :]


def _out_of_brackets(layout: Layout, node: Node, steps: Steps) -> str:
    """Return the text without one of several things in brackets, and without the comma beside it."""
    names = [key.value for key, _ in node.value] if isinstance(node, MappingNode) else []
    place = names.index(str(steps[-1])) if names else int(steps[-1])
    spans, text = _spans(layout, node), layout.text
    start, end = spans[place]
    gap = _GAP.match(text, end)
    comma = gap.end() if gap else end
    if place + 1 < len(spans):
        if text[comma : comma + 1] != ",":
            raise OddPlaceError("no comma where one belongs")
        after = re.compile(r"\n? *").match(text, comma + 1) if not text[:start].rstrip(" ").endswith("\n") else None
        rest = text[after.end() if after and "\n" not in after[0] else comma + 1 :]
        return text[:start] + text[end:comma].strip(" ") + rest
    before = spans[place - 1][1]
    gap = _GAP.match(text, before)
    comma = gap.end() if gap else before
    if text[comma : comma + 1] != ",":
        raise OddPlaceError("no comma where one belongs")
    return text[:comma].rstrip(" ") + text[comma + 1 : start].rstrip(" ") + text[end:]
