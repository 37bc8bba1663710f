"""Data written as YAML in the way job files are: short things in brackets on a line, others a line each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from curing.model.file_text import scalar
from curing.model.kinds import COMPASS

WIDTH = 100
"""Signs of a line, beyond which what is in brackets is written a line each."""


def flow(value: Any) -> str:
    """Return a value on one line.

    Examples
    --------
    >>> flow({"met": "2027-04-12", "by": "ines"}), flow(["lead", "no"]), flow(52.1), flow(False)
    ('{ met: 2027-04-12, by: ines }', '[lead, "no"]', '52.1', 'false')
    """
    if isinstance(value, Mapping):
        inner = ", ".join(f"{scalar(key, flow=True)}: {flow(one)}" for key, one in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(flow(one) for one in value)}]"
    return _scalar(value, within=True)


def _scalar(value: Any, *, within: bool = False) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    return value if value in COMPASS else scalar(str(value), flow=within)


def inline(value: Any) -> str:
    """Return a value as it stands behind a key on the same line."""
    return flow(value) if isinstance(value, Mapping | list | tuple) else _scalar(value)


def entry_lines(key: str, value: Any, column: int, dash: int = 2) -> list[str]:
    """Return the lines of a key with its value.

    Parameters
    ----------
    key, value
        What to write.
    column
        How far in the key stands.
    dash
        How much further in the dashes of a list under it stand.

    Examples
    --------
    >>> print(*entry_lines("faces", [{"side": "out", "facing": "N"}], 4), sep="\\n")
        faces:
          - side: out
            facing: N
    """
    head = f"{' ' * column}{scalar(key, flow=True)}:"
    line = f"{head} {inline(value)}"
    if fits_brackets(value) and (not isinstance(value, Mapping | list | tuple) or len(line) <= WIDTH):
        return [line]
    if isinstance(value, Mapping):
        return [head, *(line for inner, one in value.items() for line in entry_lines(inner, one, column + 2, dash))]
    return [head, *(line for one in value for line in item_lines(one, column + dash, dash))]


def item_lines(item: Any, column: int, dash: int = 2) -> list[str]:
    """Return the lines of an item of a list; ``column`` is that of its dash."""
    if not isinstance(item, Mapping) or not item:
        return [f"{' ' * column}- {inline(item)}"]
    first, *rest = (line for key, one in item.items() for line in entry_lines(key, one, column + 2, dash))
    return [f"{' ' * column}- {first[column + 2 :]}", *rest]


def fits_brackets(value: Any) -> bool:
    """Tell whether something may stand on one line: words, a list of them, keys with words or such keys."""
    if isinstance(value, Mapping):
        return all(not isinstance(one, list | tuple) for one in value.values())
    return not isinstance(value, list | tuple) or not any(isinstance(one, Mapping | list | tuple) for one in value)
