"""When the sun is up, and when it shines on a face: sunrise, noon, sunset, direct sun.

Instants are unix seconds; azimuths run clockwise from north. A **day** is given by
its start in local time, which only the caller knows, and means the solar day (from
midnight to midnight by the sun) round the noon of the 24 h after that start. So no
evening is cut at a clock's midnight, and days need no order and may leave gaps.

**Two horizons, both flat.** Sunrise and sunset are those of the almanacs: the upper
edge of the sun is seen on the horizon, its centre stands at -0.833 deg. Direct sun
on a face counts while the centre stands above 0 deg: light that reaches a wall only
by refraction dries nothing. Houses, trees, eaves and hills are not known here.

References
----------
.. [1] NREL/TP-560-34302, revised January 2008, appendix A.2: refraction 0.5667 deg,
   radius 0.26667 deg, together -0.8333 deg; re-read in a public text copy of the report.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from curing.physics.solar import (
    DAY,
    SECONDS_A_RADIAN,
    Array,
    declination_and_equation_of_time,
    direction,
)

SUNRISE_ALTITUDE = -0.833
"""Height of the sun's centre at sunrise and sunset [deg]; [1]_ of this module."""

_PASSES = 4  # each makes the error some hundred times smaller, unless the sun grazes the plane
_SHORTEST = 1.0  # s; shorter pieces of a day are roundings


def solar_noon(day_starts: npt.ArrayLike, longitude: float) -> Array:
    """Instant at which the sun stands in the meridian, for each day [s].

    Parameters
    ----------
    day_starts
        Starts of local days [s].
    longitude
        [deg], east positive.

    Examples
    --------
    >>> noon = solar_noon([1782856800], 5.18)  # 2026-07-01 00:00 +02:00
    >>> divmod(round((float(noon[0]) - 1782856800) / 60), 60)
    (13, 43)
    """
    noon = _mean_noon(day_starts, longitude)
    return np.asarray(noon - declination_and_equation_of_time(noon)[1])


def sun_times(
    day_starts: npt.ArrayLike, latitude: float, longitude: float, altitude: float = SUNRISE_ALTITUDE
) -> tuple[Array, Array]:
    """Sunrise before, and sunset after, the noon of each day.

    Parameters
    ----------
    day_starts
        Starts of local days [s].
    latitude, longitude
        [deg], north and east positive.
    altitude
        Height of the sun's centre that counts as risen [deg].

    Returns
    -------
    tuple
        Rise and set [s], within half a minute; NaN where the sun does not pass the
        horizon in that half of the day. Rise is before set; in a far northern June
        the set may come after the clock's midnight.

    Examples
    --------
    >>> rise, set_ = sun_times([1782856800], 52.1, 5.18)  # 2026-07-01 00:00 +02:00
    >>> [divmod(round((float(t[0]) - 1782856800) / 60), 60) for t in (rise, set_)]
    [(5, 23), (22, 3)]
    >>> sun_times([1782856800], 80.0, 5.18)[0].tolist()
    [nan]
    """
    phi, sine = np.radians(latitude), np.sin(np.radians(altitude))

    def cosine(declination: Array) -> Array:
        return np.asarray((sine / np.cos(declination) - np.sin(phi) * np.tan(declination)) / np.cos(phi))

    noon = _mean_noon(day_starts, longitude)
    rise, rises = _crossing(noon, 0.0, -1.0, cosine)
    fall, falls = _crossing(noon, 0.0, +1.0, cosine)
    return np.where(rises, rise, np.nan), np.where(falls, fall, np.nan)


def direct_sun(day_starts: npt.ArrayLike, latitude: float, longitude: float, face_azimuth: float) -> Array:
    """Times of each day at which the sun shines on a vertical face.

    Parameters
    ----------
    day_starts
        Starts of n local days [s].
    latitude, longitude
        Of the site [deg], north and east positive.
    face_azimuth
        Direction in which the face looks [deg].

    Returns
    -------
    Array
        Shape (n, 2, 2): up to two intervals of (first, last) instant [s] a day, in
        order; NaN where there is none. Two come when the sun passes behind the face
        and back: a north face in a northern summer, morning and evening. Good to a
        minute, except where the sun moves along the very plane of the face, within
        0.2 deg of it: it hardly warms then, and does so only within a degree of the
        equator or a pole.

    Notes
    -----
    The sun crosses a plane at two hour angles that follow from its declination. They
    and the horizon's cut the day into pieces; each piece is wholly lit or wholly not.

    Examples
    --------
    >>> lit = direct_sun([1782856800], 52.1, 5.18, 0.0)  # north face, 2026-07-01 00:00 +02:00
    >>> ((lit[0] - 1782856800) / 3600).round(1).tolist()
    [[5.5, 9.0], [18.4, 21.9]]
    >>> direct_sun([1798758000], 52.1, 5.18, 0.0)[0].tolist()  # 2027-01-01
    [[nan, nan], [nan, nan]]
    """
    phi, facing = np.radians(latitude), np.radians(face_azimuth)
    noon = _mean_noon(day_starts, longitude)
    # A wall is crossed where cos(h - centre) = tan(declination) * slope.
    across, along = np.cos(facing) * np.sin(phi), np.sin(facing)
    centre = np.arctan2(along, across)
    # Facing a pole on the equator the sun crosses on two days a year only: any huge slope says so.
    slope = np.cos(facing) * np.cos(phi) / max(np.hypot(across, along), 1e-12)

    def cosine(declination: Array) -> Array:
        return np.asarray(slope * np.tan(declination))

    midnight = solar_noon(day_starts, longitude) - DAY / 2.0
    rise, fall = sun_times(day_starts, latitude, longitude, altitude=0.0)
    # A missing rise or set becomes a midnight: the piece it bounds is judged like any other.
    cuts = [
        midnight,
        np.where(np.isnan(rise), midnight, rise),
        _crossing(noon, centre, -1.0, cosine)[0],
        _crossing(noon, centre, +1.0, cosine)[0],
        np.where(np.isnan(fall), midnight + DAY, fall),
        midnight + DAY,
    ]
    edges = np.sort(np.clip(np.stack(cuts, axis=-1), midnight[..., None], midnight[..., None] + DAY), axis=-1)
    east, north, up = direction((edges[..., :-1] + edges[..., 1:]) / 2.0, latitude, longitude)
    lit = (up > 0.0) & (east * np.sin(facing) + north * np.cos(facing) > 0.0)
    return _intervals(edges, lit)


def direct_sun_hours(intervals: Array) -> Array:
    """Hours of direct sun a day [h], from the intervals of :func:`direct_sun`.

    The hours of a clear day under a flat horizon, not those of a forecast.

    Examples
    --------
    >>> lit = direct_sun([1782856800], 52.1, 5.18, 0.0)  # north face, 2026-07-01
    >>> direct_sun_hours(lit).round(1).tolist()
    [7.0]
    """
    return np.asarray(np.nansum(intervals[..., 1] - intervals[..., 0], axis=-1) / 3600.0)


def _mean_noon(day_starts: npt.ArrayLike, longitude: float) -> Array:
    """Noon of the mean sun in the 24 h after each start; true noon is within 17 minutes."""
    starts = np.asarray(day_starts, dtype=np.float64)
    return np.asarray(starts + np.mod(DAY / 2.0 - longitude * DAY / 360.0 - starts, DAY))


def _crossing(
    noon: Array, centre: float, side: float, cosine: Callable[[Array], Array]
) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Instant at which the sun crosses a plane, and whether it does.

    The hour angle is centre + side * arccos(c) with c a function of the declination
    alone. That drifts by up to 0.4 deg a day: take it anew at the instant found.
    Where c lies outside -1 to 1 the instant is that of the nearest approach.
    """
    when = noon
    crosses = np.zeros(noon.shape, dtype=np.bool_)
    for _ in range(_PASSES):
        declination, equation = declination_and_equation_of_time(when)
        c = cosine(declination)
        crosses = np.abs(c) <= 1.0
        angle = centre + side * np.arccos(np.clip(c, -1.0, 1.0))
        # Into the solar day; exactly half a turn stays on its own side of noon.
        angle = np.where(np.abs(angle) > np.pi, np.mod(angle + np.pi, 2.0 * np.pi) - np.pi, angle)
        when = noon + angle * SECONDS_A_RADIAN - equation
    return when, crosses


def _intervals(edges: Array, lit: npt.NDArray[np.bool_]) -> Array:
    """Join neighbouring lit pieces; the first and the last run of each day."""
    lit = lit.copy()
    short = np.diff(edges, axis=-1) < _SHORTEST
    lit[..., 0] &= ~short[..., 0]
    for piece in range(1, lit.shape[-1]):
        lit[..., piece] = np.where(short[..., piece], lit[..., piece - 1], lit[..., piece])
    dark = np.zeros((*lit.shape[:-1], 1), dtype=np.bool_)
    padded = np.concatenate([dark, lit, dark], axis=-1)
    starts, ends = padded[..., 1:] & ~padded[..., :-1], padded[..., :-1] & ~padded[..., 1:]
    last = starts.shape[-1] - 1
    first_run = (np.argmax(starts, axis=-1), np.argmax(ends, axis=-1))
    last_run = (last - np.argmax(starts[..., ::-1], axis=-1), last - np.argmax(ends[..., ::-1], axis=-1))
    picks = np.stack([*first_run, *last_run], axis=-1)
    runs = np.take_along_axis(edges, picks, axis=-1).reshape(*lit.shape[:-1], 2, 2)
    runs[..., 1, :][first_run[0] == last_run[0]] = np.nan
    runs[~lit.any(axis=-1)] = np.nan
    return runs
