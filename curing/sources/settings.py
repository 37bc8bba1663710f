"""The settings file of the server: where it listens, its certificate, which jobs it serves.

It holds no secret: keys and certificates are named by their files.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal
from urllib.parse import urlsplit

from pydantic import BaseModel, ConfigDict, Field

from curing.errors import UsageError
from curing.model.quantities import clip
from curing.sources.reminder_settings import Reminders
from curing.sources.settings_values import File, counted_from
from curing.sources.validation import read_model
from curing.sources.weather_settings import WeatherSettings

SETTINGS_FORMAT = 1


class Settings(BaseModel):
    """What ``curing serve`` may be told in a file; options of the command line win over it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    curing_settings: Annotated[int, Field(ge=SETTINGS_FORMAT, le=SETTINGS_FORMAT)] = SETTINGS_FORMAT
    """Form of this file."""
    jobs: tuple[File, ...] = ()
    """Job files; a path counts from the folder of the settings file."""
    host: str = "127.0.0.1"
    port: Annotated[int, Field(ge=0, le=65535)] = 8000
    address: str = ""
    """Address by which phones reach it, behind a proxy: ``https://walls.example.org``."""
    tls_cert: File | None = None
    tls_key: File | None = None
    http_port: Annotated[int, Field(ge=1, le=65535)] | None = None
    log: Literal["text", "json"] = "text"
    reminders: Reminders | None = None
    """None: nobody is reminded by this server."""
    weather: WeatherSettings | None = None
    """None: no weather service is asked."""

    def checked_address(self) -> str:
        """Return the address without a slash at its end.

        Raises
        ------
        UsageError
            It is none that a phone can open.
        """
        if not self.address:
            return ""
        parts = urlsplit(self.address)
        if (
            parts.scheme not in ("http", "https")
            or not parts.hostname
            or parts.query
            or parts.fragment
            or parts.path.strip("/")
        ):
            raise UsageError(
                f'address "{clip(self.address)}": is none that a phone can open; write it like '
                "https://walls.example.org, without a path"
            )
        return f"{parts.scheme}://{parts.netloc}"


def read_settings(path: Path) -> Settings:
    """Read a settings file.

    Raises
    ------
    FileError
        Everything that is wrong with it, each with its place.
    """
    return counted_from(read_model(Settings, path), path.parent)
