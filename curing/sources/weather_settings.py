"""The part ``weather:`` of the settings file: which service is asked, by whom, how often.

It holds no secret: a key is named by its file.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator

from curing.errors import FileError, Place, Problem
from curing.model.mailbox import ascii_mailbox
from curing.model.people import FileModel
from curing.model.quantities import Quantity, clip
from curing.sources.settings_values import File, checked_url

ServiceName = Literal["met-norway", "nws", "open-meteo"]
_OFTEN = 30.0
_SELDOM = 24 * 60.0
_KEY = re.compile(r"[!-~]{1,200}")


def _contact(value: str) -> str:
    """Return who can be told if this program asks a service amiss."""
    if re.fullmatch(r"https?://[!-~]+", value):
        return checked_url(value)
    try:
        return ascii_mailbox(value)
    except ValueError as fault:
        raise ValueError(f'"{clip(value)}" {fault}; or write the address of a page, https://example.org') from None


def _base(value: str) -> str:
    found = checked_url(value)
    if "?" in found or "{" in found:
        raise ValueError(f'"{clip(found)}" has more than host and path; write it like https://weather.example.org')
    return found.rstrip("/")


class WeatherSettings(FileModel):
    """Which weather service is asked."""

    service: ServiceName = "met-norway"
    contact: Annotated[
        str, AfterValidator(_contact), Field(min_length=1, max_length=200, examples=["office@example.org"])
    ]
    """Sent with every question: services refuse who does not say how to reach them."""
    base_url: Annotated[str, AfterValidator(_base), Field(max_length=300)] | None = None
    """Another host that speaks like the service: a server of one's own, or one for customers."""
    key_file: File | None = None
    every: Annotated[float, Quantity("duration_min", low=_OFTEN, high=_SELDOM), Field(examples=["6 h"])] = 360.0
    """[min] Between questions; a service that wants to be asked less often is asked less often."""

    @model_validator(mode="after")
    def _together(self) -> WeatherSettings:
        if self.key_file is not None and self.service != "open-meteo":
            raise ValueError(f"{self.service} wants no key; delete key_file, or name service: open-meteo")
        return self

    @property
    def for_non_commercial_use_alone(self) -> bool:
        """Whether the service that is asked may not be used by firms: then its notice stands wherever it is named."""
        return self.service == "open-meteo" and self.key_file is None and self.base_url is None


def read_key(path: Path) -> str:
    """Return the key in a file.

    Raises
    ------
    FileError
        It can't be read, or holds more or less than one key.
    """
    place = Place(str(path))
    try:
        with open(path, "rb") as source:
            text = source.read(1000).decode("ascii").strip()
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", None) or "it is no text").lower()
        what = f"the key of the weather service can't be read: {why}; check key_file and its permissions"
        raise FileError(Problem(place, what)) from None
    if not _KEY.fullmatch(text):
        raise FileError(Problem(place, "it holds no key of a weather service; write the key on one line, alone"))
    return text
