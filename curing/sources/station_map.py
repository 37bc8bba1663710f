"""What the columns of a station's table mean: a small YAML file, or one of the forms that are known.

::

    curing_station: 1
    time: time_end_utc          # column of the time; with "hour: HH" beside it, of the day alone
    marks: end                  # whether the time is the start or the end of its hour
    zone: UTC                   # or +01:00, without summer time
    columns:
      temperature: { column: temp_c, unit: °C }
      humidity: { column: rh_pct, unit: "%" }
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import timedelta
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from curing.model.people import FileModel
from curing.model.quantities import clip
from curing.sources.forecasts.units import UNITS, change, known
from curing.sources.validation import read_model, unknown

MAP_FORMAT = 1
Text = Annotated[str, Field(min_length=1, max_length=100)]


def _zone(value: Any) -> Any:
    """Return minutes east of UTC."""
    if not isinstance(value, str):
        raise ValueError('a zone is text; write "UTC", or "+01:00" in quotes')
    if value.upper() in ("UTC", "Z", "GMT"):
        return 0
    found = re.fullmatch(r"([+-])([01][0-9]):?([0-5][0-9])", value)
    if not found:
        raise ValueError(
            f'"{clip(value)}" is no fixed zone; write UTC, or +01:00: a station keeps one clock all the year, '
            "and a table in local time with summer time is to be saved anew in UTC"
        )
    minutes = int(found[2]) * 60 + int(found[3])
    return -minutes if found[1] == "-" else minutes


class StationColumn(FileModel):
    """One column: its name in the header, and its unit."""

    column: Text
    unit: Annotated[str, Field(min_length=1, max_length=40, examples=["°C"])]
    optional: bool = False
    """Whether a table may lack it."""


class StationMap(FileModel):
    """What the columns of a station's table mean."""

    curing_station: Annotated[int, Field(ge=MAP_FORMAT, le=MAP_FORMAT)] = MAP_FORMAT
    time: Annotated[Text, Field(examples=["time_end_utc"])]
    hour: Text | None = None
    """Column of the hour, 0-24, where ``time`` holds the day alone."""
    form: Annotated[Text, Field(examples=["%d.%m.%Y %H:%M"])] | None = None
    """Form of the time as ``strptime`` takes it; None: ISO 8601, or 20270503 beside ``hour``."""
    marks: Annotated[Literal["start", "end"], Field(examples=["end"])]
    zone: Annotated[int, BeforeValidator(_zone), Field(examples=["UTC"])]
    """[min] East of UTC."""
    columns: Annotated[Mapping[str, StationColumn], Field(examples=["{ temperature: { column: temp_c, unit: °C } }"])]
    """By variable."""
    attribution: Annotated[str, Field(max_length=200)] = ""
    """What must stand wherever the data are shown."""

    @model_validator(mode="after")
    def _together(self) -> StationMap:
        faults = [unknown("variable", name, UNITS) for name in self.columns if name not in UNITS]
        faults += [
            f'{name}: the unit "{clip(one.unit)}" is not known; write one of {known(name)}'
            for name, one in self.columns.items()
            if name in UNITS and change(name, one.unit) is None
        ]
        if "temperature" not in self.columns:
            faults.append('no column of the temperature; add "temperature: { column: ..., unit: °C }"')
        if faults:
            raise ValueError("; ".join(faults))
        return self

    @property
    def offset(self) -> timedelta:
        """What is taken from a time of the table for UTC."""
        return timedelta(minutes=self.zone)


KNOWN: Mapping[str, StationMap] = {
    "hourly table, end of the hour, UTC": StationMap.model_validate(
        {
            "time": "time_end_utc",
            "marks": "end",
            "zone": "UTC",
            "columns": {
                "temperature": {"column": "temp_c", "unit": "°C"},
                "dew_point": {"column": "dewpoint_c", "unit": "°C", "optional": True},
                "humidity": {"column": "rh_pct", "unit": "%"},
                "radiation": {"column": "ghi_wm2", "unit": "W/m2", "optional": True},
                "wind": {"column": "wind_ms", "unit": "m/s"},
                "direction": {"column": "wind_dir_deg", "unit": "°", "optional": True},
                "rain": {"column": "precip_mm", "unit": "mm", "optional": True},
                "cloud": {"column": "cloud_pct", "unit": "%", "optional": True},
            },
        }
    ),
}
"""Forms of tables that need no map, by what they are."""


def known_map(header: Sequence[str]) -> StationMap | None:
    """Return the map of a table in a known form, by its header.

    Examples
    --------
    >>> known_map(["time_end_utc", "temp_c", "rh_pct", "wind_ms"]).marks, known_map(["date", "t"])
    ('end', None)
    """
    for one in KNOWN.values():
        needed = {one.time, *(column.column for column in one.columns.values() if not column.optional)}
        if one.time in header and len(needed & set(header)) > 1:
            return one
    return None


def read_station_map(path: Path) -> StationMap:
    """Read a column map.

    Raises
    ------
    FileError
        Everything that is wrong with it, each with its place.
    """
    return read_model(StationMap, path)
