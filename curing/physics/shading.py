"""What stands before the sun and the sky of a face: a skyline, and eaves above.

A **horizon** is a profile of heights round the place [deg above level], given at some azimuths and
straight between them, round the full turn. **Eaves** are a long straight edge, parallel to the wall,
so far out and so high above the point of the face that is asked about.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from curing.physics.solar import Array

Horizon = tuple[tuple[float, float], ...]
"""Pairs of azimuth and height [deg]; empty: flat."""

OPEN_VIEW = 0.5
"""Share of the sky among what an upright face sees, nothing before it [1]; geometry."""
_SIDES = 180  # directions before a wall, over which its view of the sky is summed


@dataclass(frozen=True, slots=True)
class Eaves:
    """An edge above a point of a face.

    Parameters
    ----------
    depth
        How far it stands out from the face [m], above 0.
    height
        How far it is above the point [m], above 0.
    """

    depth: float
    height: float

    def __post_init__(self) -> None:
        """Refuse an edge that is none."""
        if not (self.depth > 0.0 and self.height > 0.0):
            raise ValueError(f"eaves of depth {self.depth} m, {self.height} m above the point: both must be above 0")

    @property
    def slope(self) -> float:
        """Rise of the line of sight from the point to the edge, square to the wall [1]."""
        return self.height / self.depth


def skyline(horizon: Horizon, azimuth: npt.ArrayLike) -> Array:
    """Height of the skyline in a direction [deg].

    Parameters
    ----------
    horizon
        The profile.
    azimuth
        [deg], any turn.

    Examples
    --------
    >>> skyline(((90.0, 10.0), (270.0, 20.0)), [90.0, 180.0, 0.0]).tolist()
    [10.0, 15.0, 15.0]
    """
    where = np.asarray(azimuth, dtype=np.float64)
    if not horizon:
        return np.zeros_like(where)
    profile = np.asarray(horizon, dtype=np.float64)
    return np.asarray(np.interp(where, profile[:, 0], profile[:, 1], period=360.0))


def seen(
    east: Array, north: Array, up: Array, azimuth: float, horizon: Horizon = (), eaves: Eaves | None = None
) -> npt.NDArray[np.bool_]:
    """Whether a point of a face sees the sun that stands in this direction.

    Parameters
    ----------
    east, north, up
        Unit vector to the sun.
    azimuth
        To which the face looks [deg].
    horizon, eaves
        What stands before it.

    Examples
    --------
    >>> high, level = np.array([0.9]), np.array([0.436])
    >>> seen(0.0 * high, -level, high, 180.0, eaves=Eaves(0.5, 1.0)).tolist()  # 64 deg up
    [False]
    >>> seen(0.0 * high, -high, level, 180.0, eaves=Eaves(0.5, 1.0)).tolist()  # 26 deg up
    [True]
    """
    facing = np.radians(azimuth)
    ahead = east * np.sin(facing) + north * np.cos(facing)
    sees = (up > 0.0) & (ahead > 0.0)
    if eaves is not None:
        sees &= up <= eaves.slope * ahead
    if horizon:
        level = np.hypot(east, north)
        sees &= up > level * np.tan(np.radians(skyline(horizon, np.degrees(np.arctan2(east, north)))))
    return np.asarray(sees)


def sky_view(azimuth: float, horizon: Horizon = (), eaves: Eaves | None = None) -> float:
    """Share of an even sky among what an upright face sees [1]: 0.5 with nothing before it.

    Notes
    -----
    The view of a strip of sky from height a to b, in a direction p from the normal, is
    cos p (G(b) - G(a)) dp / pi with G(x) = x/2 + sin(2x)/4.

    Examples
    --------
    >>> sky_view(180.0)
    0.5
    >>> round(sky_view(180.0, ((0.0, 30.0),)), 3)  # 1/2 - (h + sin h cos h)/pi
    0.196
    """
    if not horizon and eaves is None:
        return OPEN_VIEW
    aside = (np.arange(_SIDES) + 0.5) * np.pi / _SIDES - np.pi / 2.0
    low = np.radians(np.clip(skyline(horizon, azimuth + np.degrees(aside)), 0.0, 90.0))
    high = np.full(_SIDES, np.pi / 2.0) if eaves is None else np.arctan(eaves.slope * np.cos(aside))
    high = np.maximum(high, low)
    strip = (high - low) / 2.0 + (np.sin(2.0 * high) - np.sin(2.0 * low)) / 4.0
    return float((np.cos(aside) * strip).sum() / _SIDES)
