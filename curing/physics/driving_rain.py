"""Rain that the wind drives onto a wall.

Arrays in, arrays out; NaN stays NaN, but for a direction that is not known.

References
----------
.. [1] ISO 15927-3:2009, hourly driving rain: (2/9) v r^(8/9) cos(D - A), positive terms only, and
   wall factors C_R, C_T, O, W. As quoted in public code of the standard.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curing.physics.bearing import towards, wind_vector
from curing.physics.solar import Array

SHELTERED, ORDINARY, EXPOSED = 0.10, 0.30, 0.50
"""Share of the free driving rain that meets a wall, C_R C_T O W together [1]; assumption within [1]_'s factors."""
KEPT = 0.7
"""Share of the rain on a wall that stays there, the rest splashes off [1]; published, common in wall models."""
UNKNOWN_DIRECTION = 1.0 / np.pi
"""Mean of the positive cosine over a whole turn: for wind whose direction is not told [1]; arithmetic."""
TERRAIN = {1: (0.17, 0.01, 2.0), 2: (0.19, 0.05, 4.0), 3: (0.22, 0.3, 8.0), 4: (0.24, 1.0, 16.0)}
"""Terrain category → factor [1], roughness [m], least height [m]; published, [1]_: 1 open, 4 town."""
_HALF, _ROUNDING = np.sqrt(0.5), 1e-9


def driving_rain(wind: npt.ArrayLike, rain: npt.ArrayLike) -> Array:
    """Rain through an upright plane square to the wind [L/m2 in the hour]; [1]_.

    Parameters
    ----------
    wind
        [m/s] at 10 m.
    rain
        [mm] in the hour.

    Examples
    --------
    >>> float(driving_rain(10.0, 1.0).round(4))
    2.2222
    """
    speed, fell = np.asarray(wind, dtype=np.float64), np.asarray(rain, dtype=np.float64)
    return np.asarray(2.0 / 9.0 * speed * fell ** (8.0 / 9.0))


def squareness(ahead: Array) -> Array:
    """How squarely rain meets a face: the positive cosine between wind and face, 0 in the lee.

    Parameters
    ----------
    ahead
        Cosine between wind and face, from :func:`curing.physics.bearing.towards`; NaN: not known.

    Examples
    --------
    >>> squareness(towards(wind_vector([180.0, 225.0, 0.0, np.nan]), 180.0)[0]).round(3).tolist()
    [1.0, 0.707, 0.0, 0.318]
    """
    return np.asarray(np.where(np.isnan(ahead), UNKNOWN_DIRECTION, np.maximum(ahead, 0.0)))


def worst_squareness(ahead: Array, aside: Array) -> Array:
    """Return the greatest of three: the wind as told, and 45 deg to either side (eddies, a wrong forecast).

    Parameters
    ----------
    ahead, aside
        Cosine and sine of the angle between wind and face; NaN: not known.

    Examples
    --------
    >>> worst_squareness(*towards(wind_vector([225.0, 300.0, 0.0, np.nan]), 180.0)).round(3).tolist()
    [1.0, 0.259, 0.0, 0.318]
    """
    swung = _HALF * (ahead + np.abs(aside))  # cos(x - 45) or cos(x + 45), the greater
    return squareness(np.maximum(ahead, np.where(swung < _ROUNDING, 0.0, swung)))


def rain_on_face(
    wind: npt.ArrayLike,
    rain: npt.ArrayLike,
    direction: npt.ArrayLike,
    azimuth: float,
    *,
    share: float = ORDINARY,
    worst: bool = False,
) -> Array:
    """Rain that meets a face [L/m2 in the hour]; of it about ``KEPT`` stays.

    Parameters
    ----------
    wind, rain
        As for :func:`driving_rain`.
    direction
        From which the wind blows [deg]; NaN: not known.
    azimuth
        To which the face looks [deg].
    share
        Of the free driving rain that meets the wall [1]: its shelter.
    worst
        Whether the wind may be 45 deg off.

    Examples
    --------
    >>> rain_on_face(5.0, 2.0, [180.0, 0.0], 180.0, share=1.0).round(4).tolist()
    [2.0575, 0.0]
    """
    ahead, aside = towards(wind_vector(direction), azimuth)
    square = worst_squareness(ahead, aside) if worst else squareness(ahead)
    return np.asarray(share * driving_rain(wind, rain) * square)


def terrain_factor(height: float, terrain: int) -> float:
    """Wind at a height over that at 10 m in the open [1]; C_R of [1]_.

    Parameters
    ----------
    height
        Above ground [m].
    terrain
        Category, 1 to 4.

    Raises
    ------
    ValueError
        For a category that the standard does not know.

    Examples
    --------
    >>> round(terrain_factor(5.0, 3), 3)
    0.722
    """
    if terrain not in TERRAIN:
        raise ValueError(f"terrain {terrain}: categories are 1 (open) to 4 (town)")
    factor, roughness, least = TERRAIN[terrain]
    return float(factor * np.log(max(height, least) / roughness))
