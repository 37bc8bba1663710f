"""The history of a station: hourly tables of one or more years, as one series of hours.

Gaps stay gaps; what was left out, filled or taken for granted is told in the notes, and everything that is wrong
with any of the files is told at once.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from curing.errors import FileError, Place, Problem, UsageError
from curing.model.quantities import clip
from curing.model.weather import VARIABLES, Series, Weather, of
from curing.sources.forecasts.document import Spot
from curing.sources.forecasts.hourly import humidity_at
from curing.sources.forecasts.units import change
from curing.sources.station_checks import leap_days, odd_means, wrong_half, wrong_zone
from curing.sources.station_map import StationMap, known_map
from curing.sources.station_table import StationTable, read_station_table
from curing.sources.validation import raise_problems, unknown
from curing.sources.weather_ranges import MOST_SHARE, within

H = 3600
MOST_YEARS = 200
NOTHING = ("", "-", "--", "NA", "N/A", "NaN", "nan", "null", "NULL", "None", "M", "///")
"""What stands for no value (common practice, no source)."""
FILLERS = (-999.0, -9999.0, -99.9, 9999.0, 99999.0, -99999.0)
"""Numbers that stand for no value (common practice, no source)."""
NAMED_AS = {"knmi": "Source: KNMI (CC BY 4.0)"}
"""Beginning of a file's name → what must stand wherever it is shown."""

Hours = NDArray[np.int64]
_LINE = re.compile(r"line ([0-9]+)\)")
_QUICK = {"", "Z", ":00", ":00Z"}
"""What may stand behind the minutes of times that are read all at once."""


@dataclass
class _File:
    """One file, read: the start of each row's hour [h since 1970], and its values by variable."""

    table: StationTable
    hours: Hours
    series: dict[str, Series]
    notes: list[str]


def read_station(paths: Sequence[Path], *, columns: StationMap | None = None, spot: Spot | None = None) -> Weather:
    """Read the history of one station.

    Parameters
    ----------
    paths
        Its tables, plain or ``.gz``, in any order; they may overlap where they agree.
    columns
        What the columns mean; None: the form is known from the header.
    spot
        The station's or the site's place: with it a wrong zone is found by the sun.

    Raises
    ------
    FileError
        Everything that is wrong with the files, with line and column.
    UsageError
        No file is named.
    """
    if not paths:
        raise UsageError("no table of a station is named; give at least one")
    problems: list[Problem] = []
    files = [one for path in paths if (one := _read(path, columns, problems)) is not None]
    raise_problems(problems)
    notes = [note for one in files for note in one.notes]
    hours, series = _joined(files, notes, problems)
    raise_problems(problems)
    first = int(hours[0])
    count = int(hours[-1]) - first + 1
    start = datetime.fromtimestamp(first * H, UTC)
    whole: dict[str, Series] = {}
    for name, values in series.items():
        whole[name] = np.full(count, np.nan)
        whole[name][hours - first] = values
    notes += leap_days(whole, hours, first, count)
    place = Place(files[0].table.file)
    if spot is not None and "radiation" in whole:
        fault = wrong_zone(whole["radiation"], first, spot)
        problems += [Problem(place, fault)] if fault else []
    if spot is not None and "temperature" in whole and (fault := wrong_half(whole["temperature"], first, spot)):
        problems.append(Problem(place, fault))
    faults, odd = odd_means(whole)
    problems += [Problem(place, text) for text in faults]
    raise_problems(problems)
    estimated = _humidity(whole)
    notes += odd + _gaps(whole, start)
    named = [_name(one).lower() for one in files]
    told = (columns.attribution if columns else "") or next(
        (text for file in named for begin, text in NAMED_AS.items() if file.startswith(begin)), ""
    )
    weather = of({name: whole[name] for name in VARIABLES if name in whole}, start, count, "station")
    return replace(weather, attribution=told, estimated=frozenset(estimated), notes=tuple(dict.fromkeys(notes)))


def _read(path: Path, columns: StationMap | None, problems: list[Problem]) -> _File | None:
    try:
        table = read_station_table(path)
    except FileError as error:
        problems += error.problems
        return None
    meant = columns or known_map(table.header)
    if meant is None:
        names = ", ".join(f'"{clip(name)}"' for name in table.header[:20])
        what = f"its columns are not of a form that is known ({names}); say what they mean in a column map"
        problems += [*table.problems, Problem(Place(table.file, 1, 1), what)]
        return None
    places = _places(table, meant)
    file: _File | None = None
    if places is not None and table.columns[0]:
        hours = _times(table, meant, places)
        series = {name: _numbers(table, name, meant.columns[name].unit, at) for name, at in places.items()
                  if name in meant.columns}  # fmt: skip
        lines = table.lines
        found, notes, faults = within(series, lambda row: f"line {lines[row]}", most=MOST_SHARE["station"], spikes=3)
        for text in faults:
            line = _LINE.search(text)
            at = places[text.partition(":")[0]]
            table.problems.append(Problem(Place(table.file, int(line[1]) if line else 1, at + 1), text))
        file = _File(table, hours, found, [*table.notes, *(f"{path.name}: {note}" for note in notes)])
    problems += [*table.problems, *table.rest()]
    return file


def _places(table: StationTable, meant: StationMap) -> dict[str, int] | None:
    """Return the column of each variable, counted from 0; None after telling which a table lacks."""
    found: dict[str, int] = {}
    lacking = []
    wanted = {"time": meant.time, **({"hour": meant.hour} if meant.hour else {})}
    wanted |= {name: one.column for name, one in meant.columns.items()}
    for name, column in wanted.items():
        if column in table.header:
            found[name] = table.header.index(column)
        elif not (name in meant.columns and meant.columns[name].optional):
            lacking.append(f"{name}: {unknown('column', column, table.header)}")
    table.problems += [Problem(Place(table.file, 1, 1), text) for text in lacking]
    return None if lacking else found


def _times(table: StationTable, meant: StationMap, places: dict[str, int]) -> Hours:
    """Return the start of the hour of each row [h since 1970]; a time that can't be read is told."""
    column = places["time"]
    cells = table.columns[column]
    back = (H if meant.marks == "end" else 0) + meant.zone * 60
    if (quick := _all_at_once(cells, meant)) is not None:
        quick -= back
        if not (quick % H).any():
            return quick // H
    read = _reader(meant)
    hours = table.columns[places["hour"]] if "hour" in places else None
    found = np.zeros(len(cells), dtype=np.int64)
    for row, cell in enumerate(cells):
        try:
            at = read(cell) + (timedelta(hours=_whole(hours[row])) if hours is not None else timedelta())
            seconds = _seconds(at, meant) - back
        except (ValueError, OverflowError) as error:
            reason = str(error) if str(error).startswith("its zone") else ""
            shown = clip(cell if hours is None else f"{cell} {hours[row]}")
            table.fault(row, column, f'time: "{shown}" {reason or "is none; write it like 2027-05-03 06:00"}')
            continue
        if seconds % H:
            table.fault(row, column, f'time: "{clip(cell)}" is not on the hour in UTC; make hours of the table first')
        found[row] = seconds // H
    return found


def _all_at_once(cells: Sequence[str], meant: StationMap) -> Hours | None:
    """Return plain times in seconds since 1970, as the table's clock shows them; None: they need a closer look."""
    ends = {cell[16:] for cell in cells}
    if meant.form or meant.hour or not ends <= _QUICK or (meant.zone and any("Z" in end for end in ends)):
        return None
    try:
        found: Hours = np.array([cell[:16] for cell in cells], dtype="datetime64[s]").astype(np.int64)
    except ValueError:
        return None
    return found if len(found) and found.min() > -5.4e9 and found.max() < 7.3e9 else None  # 1800 to 2200


def _reader(meant: StationMap) -> Callable[[str], datetime]:
    form = meant.form or ("%Y%m%d" if meant.hour else None)
    iso = datetime.fromisoformat

    def by_iso(cell: str) -> datetime:
        try:
            return iso(cell)
        except ValueError:
            plain = cell.strip()
            late = re.fullmatch(r"(.{8,10}[T ])24(:?00(?::?00)?.*)", plain)
            return iso(f"{late[1]}00{late[2]}") + timedelta(days=1) if late else iso(plain)

    if form is None:
        return by_iso
    return lambda cell: datetime.strptime(cell.strip(), form)  # noqa: DTZ007


def _whole(cell: str) -> int:
    value = float(cell)
    if not value.is_integer() or not 0 <= value <= 24:
        raise ValueError(cell)
    return int(value)


def _seconds(at: datetime, meant: StationMap) -> int:
    """Return seconds since 1970 as the table's clock shows them."""
    if at.tzinfo is not None:
        offset = at.utcoffset() or timedelta()
        if offset != meant.offset:
            said = f"{offset / timedelta(hours=1):+g} h"
            raise ValueError(
                f"its zone is {said}, not that of the column map ({meant.offset / timedelta(hours=1):+g} h)"
            )
        at = at.replace(tzinfo=None)
    if not 1800 <= at.year <= 2200:
        raise ValueError
    return round((at - _EPOCH) / _SECOND)


_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001
_SECOND = timedelta(seconds=1)


def _numbers(table: StationTable, name: str, unit: str, column: int) -> Series:
    """Return a column as numbers in our unit; cells that hold none are told."""
    cells = table.columns[column]
    by = change(name, unit)
    assert by is not None  # the map was checked
    try:
        values = np.array(list(map(float, cells)))
    except ValueError:
        values = _one_by_one(table, name, cells, column)
    filler = np.isin(values, FILLERS)
    if filler.any():
        table.notes.append(f"{Path(table.file).name}: {int(filler.sum()):,} times {values[filler][0]:g} under "
                           f"{clip(table.header[column])} stands for no value.")  # fmt: skip
        values[filler] = np.nan
    values[np.isinf(values)] = 1e300  # out of every range, so that it is told
    return np.round(values * by.factor + by.offset, 4)


def _one_by_one(table: StationTable, name: str, cells: Iterable[str], column: int) -> Series:
    """Return cells as numbers where some hold nothing, decimal commas, or none."""
    found, commas, points = [], 0, False
    for row, cell in enumerate(cells):
        try:
            found.append(float(cell))
            points = points or "." in cell
            continue
        except ValueError:
            plain = cell.strip()
        value = math.nan
        if re.fullmatch(r"[+-]?[0-9]+,[0-9]+", plain):
            value = float(plain.replace(",", "."))
            commas += 1
            if points:
                table.fault(row, column, f'{name}: "{clip(plain)}" has a decimal comma where others have points; '
                                         "write them alike")  # fmt: skip
        elif plain not in NOTHING:
            table.fault(row, column, f'{name}: "{clip(plain)}" is no number; write it like 12.5, or leave it empty')
        found.append(value)
    if commas:
        table.notes.append(f"{Path(table.file).name}: numbers under {clip(table.header[column])} have decimal commas.")
    return np.array(found)


def _joined(files: list[_File], notes: list[str], problems: list[Problem]) -> tuple[Hours, dict[str, Series]]:
    """Return all rows in order of time, each hour once; rows that contradict each other are told."""
    names = list(dict.fromkeys(name for one in files for name in one.series))
    hours = np.concatenate([one.hours for one in files])
    owner = np.concatenate([np.full(len(one.hours), at) for at, one in enumerate(files)])
    line = np.concatenate([np.array(one.table.lines, dtype=np.int64) for one in files])
    values = np.full((len(names), len(hours)), np.nan)
    for at, name in enumerate(names):
        values[at] = np.concatenate([one.series.get(name, np.full(len(one.hours), np.nan)) for one in files])
    for one in files:
        back = np.diff(one.hours) < 0
        if back.any():
            row = one.table.lines[int(np.argmax(back)) + 1]
            notes.append(f"{_name(one)}: rows stand in disorder, first in line {row}; they were sorted.")
    order = np.argsort(hours, kind="stable")
    hours, owner, line, values = hours[order], owner[order], line[order], values[:, order]
    again = np.flatnonzero(np.diff(hours) == 0) + 1
    if len(again):
        problems += _contradictions(files, hours, owner, line, values, again)
        for row in again.tolist():  # what one leaves open the other may tell
            values[:, row] = np.where(np.isfinite(values[:, row]), values[:, row], values[:, row - 1])
        notes.append(f"{len(again):,} hours stand twice, alike: they were taken once.")
        keep = np.append(np.diff(hours) != 0, True)
        hours, values = hours[keep], values[:, keep]
    if hours[-1] - hours[0] > MOST_YEARS * 8784:
        text = f"the times go from {_at(hours[0])} to {_at(hours[-1])}; at most {MOST_YEARS} years are read"
        problems.append(Problem(Place(files[0].table.file), text))
    return hours, dict(zip(names, values, strict=True))


def _contradictions(
    files: list[_File], hours: Hours, owner: Hours, line: Hours, values: NDArray[np.float64], again: Hours
) -> list[Problem]:
    """Return which hours stand twice with different values."""
    one, other = values[:, again], values[:, again - 1]
    differ = again[np.any((one != other) & np.isfinite(one) & np.isfinite(other), axis=0)]

    def problem(row: int, text: str) -> Problem:
        return Problem(Place(files[owner[row]].table.file, int(line[row]), 1), text)

    found: list[Problem] = []
    for row in differ[:8].tolist():
        was = f"{_name(files[owner[row - 1]])}, line {line[row - 1]}"
        text = f"time: {_at(hours[row])} stands twice with different values, first in {was}; keep one of them"
        hint = " (a clock that is put back in autumn? save the table in UTC)" if not found else ""
        found.append(problem(row, text + hint))
    if len(differ) > 8:
        more = f"and {len(differ) - 8:,} more times that stand twice with different values"
        found.append(problem(int(differ[-1]), more))
    return found


def _humidity(whole: dict[str, Series]) -> set[str]:
    """Work the humidity out from the dew point where no column tells it."""
    dew = whole.pop("dew_point", None)
    if dew is None or "humidity" in whole:
        return set()
    whole["humidity"] = humidity_at(whole["temperature"], dew)
    return {"humidity"}


def _gaps(whole: dict[str, Series], start: datetime) -> list[str]:
    """Return which variables have gaps, how many hours, and the longest."""
    notes = []
    for name in VARIABLES:
        if name not in whole:
            continue
        gone = ~np.isfinite(whole[name])
        if not gone.any():
            continue
        edges = np.flatnonzero(np.diff(np.concatenate([[0], gone.astype(np.int8), [0]])))
        lengths = edges[1::2] - edges[::2]
        longest = int(np.argmax(lengths))
        at = start + timedelta(hours=int(edges[2 * longest]))
        count = int(gone.sum())
        notes.append(
            f"{name.capitalize()} is not told for {count:,} {'hour' if count == 1 else 'hours'}; the longest gap has "
            f"{int(lengths[longest]):,} h, from {at:%Y-%m-%d %H:%M} UTC."
        )
    none = [name for name in VARIABLES if name not in whole]
    return [*notes, *([f"Not told: {', '.join(none)}."] if none else [])]


def _name(file: _File) -> str:
    return Path(file.table.file).name


def _at(hour: int) -> str:
    return f"{datetime.fromtimestamp(int(hour) * H, UTC):%Y-%m-%d %H:%M} UTC"
