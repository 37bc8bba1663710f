"""The years of a station as they were read before, so that a command need not read them again.

Reading forty years of hours takes about four seconds; a plan may take three in all. What was read is kept in the
user's cache folder as plain arrays, beside a digest of the tables' bytes, their column map and the place they were
judged for: another byte, another curing or a damaged file is read anew. What is kept may be lost at any time; tables
with a fault are never kept, so every fault is told each time.
"""

from __future__ import annotations

import os
import tempfile
import zipfile
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import numpy as np

from curing import __version__
from curing.model.weather import VARIABLES, Weather
from curing.sources.composed import cache_folder
from curing.sources.forecasts.document import Spot
from curing.sources.station_csv import read_station
from curing.sources.station_map import StationMap

FORM = 1
"""Form of what is kept."""
AT_HAND = 4
"""So many stations are kept in memory as well."""
_AT_HAND: dict[str, Weather] = {}


def station_years(paths: Sequence[Path], *, columns: StationMap | None = None, spot: Spot | None = None) -> Weather:
    """Return the history of a station, from memory or the cache where the same tables were read before.

    Parameters
    ----------
    paths, columns, spot
        As for :func:`curing.sources.station_csv.read_station`.

    Raises
    ------
    FileError, UsageError
        As there.
    """
    key = _key(paths, columns, spot)
    if key in _AT_HAND:
        return _AT_HAND[key]
    folder = cache_folder() if key else None
    names = "\n".join(str(path.resolve()) for path in paths)
    kept = folder / f"station-{sha256(names.encode()).hexdigest()[:16]}.npz" if folder is not None else None
    found = _found(kept, key) if kept is not None else None
    if found is None:
        found = read_station(paths, columns=columns, spot=spot)
        if kept is not None:
            with suppress(OSError):
                _keep(kept, key, found)
    if key:
        while len(_AT_HAND) >= AT_HAND:
            _AT_HAND.pop(next(iter(_AT_HAND)))
        _AT_HAND[key] = found
    return found


def _key(paths: Sequence[Path], columns: StationMap | None, spot: Spot | None) -> str:
    """Return a digest of all that the years come from; empty where a file can't be read: then reading tells why."""
    place = (spot.latitude, spot.longitude) if spot is not None else None
    told = columns.model_dump_json() if columns is not None else ""
    digest = sha256(repr((FORM, __version__, place, told)).encode())
    try:
        for path in paths:
            digest.update(repr(path.name).encode())  # its beginning says whose the data are
            if not path.is_file():
                return ""
            digest.update(sha256(path.read_bytes()).digest())
    except (OSError, ValueError):
        return ""
    return digest.hexdigest()


def _found(kept: Path, key: str) -> Weather | None:
    """Return what is kept, None where it is of other tables or damaged."""
    damaged = (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile)
    with suppress(*damaged), np.load(kept, allow_pickle=False) as told:
        if str(told["key"]) != key:
            return None
        start = datetime.fromtimestamp(int(told["start"]), UTC)
        hours = int(told["hours"])
        gaps = np.full(hours, np.nan)
        series = {name: told.get(name, gaps) for name in VARIABLES}
        if any(one.dtype != np.float64 or one.shape != (hours,) for one in series.values()):
            return None
        texts = {name: tuple(str(one) for one in told[name]) for name in ("notes", "estimated", "attribution")}
        return Weather(
            start,
            **series,
            source="station",
            attribution=texts["attribution"][0],
            estimated=frozenset(texts["estimated"]),
            notes=texts["notes"],
        )
    return None


def _keep(kept: Path, key: str, years: Weather) -> None:
    """Write aside and rename, so that nobody reads half a file."""
    told = {name: getattr(years, name) for name in VARIABLES}
    arrays = {name: one for name, one in told.items() if np.isfinite(one).any()}
    kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, aside = tempfile.mkstemp(dir=kept.parent, prefix=f".{kept.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            np.savez(
                file,
                key=np.array(key),
                start=np.array(int(years.start.timestamp())),
                hours=np.array(len(years)),
                attribution=np.array([years.attribution]),
                notes=np.array(years.notes, dtype=np.str_),
                estimated=np.array(sorted(years.estimated), dtype=np.str_),
                **arrays,
            )
        os.replace(aside, kept)
    except OSError:
        with suppress(OSError):
            os.unlink(aside)
        raise
