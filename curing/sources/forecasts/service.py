"""What every weather service is asked with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Request:
    """An address, and the headers that belong to this service alone; the address may hold a key."""

    url: str
    headers: Mapping[str, str] = field(default_factory=dict)


def degrees(value: float) -> str:
    """Return degrees with at most four digits after the point and no zeros behind: services refuse, or send on, others.

    Examples
    --------
    >>> degrees(52.123456), degrees(5.2), degrees(-0.00001), degrees(100.0)
    ('52.1235', '5.2', '0', '100')
    """
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
