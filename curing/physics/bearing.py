"""Which way the wind comes to a face: before it, aside, behind.

Arrays in, arrays out. Sine and cosine of the wind's direction are worked out once for a place and
turned to each face, since a cosine costs more than all else here.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curing.physics.solar import Array

_ROUNDING = 1e-9  # a right angle that misses zero by less is one


def wind_vector(direction: npt.ArrayLike) -> tuple[Array, Array]:
    """East and north part of the direction from which the wind blows [1]; NaN where it is not known.

    Parameters
    ----------
    direction
        [deg], clockwise from north.

    Examples
    --------
    >>> east, north = wind_vector([90.0, 180.0])
    >>> east.round(3).tolist(), north.round(3).tolist()
    ([1.0, 0.0], [0.0, -1.0])
    """
    turned = np.radians(np.asarray(direction, dtype=np.float64))
    return np.asarray(np.sin(turned)), np.asarray(np.cos(turned))


def towards(vector: tuple[Array, Array], azimuth: float) -> tuple[Array, Array]:
    """Cosine and sine of the angle between wind and face; a right angle has a cosine of exactly 0.

    Parameters
    ----------
    vector
        From :func:`wind_vector`.
    azimuth
        To which the face looks [deg].

    Examples
    --------
    >>> ahead, aside = towards(wind_vector([90.0, 180.0]), 180.0)
    >>> ahead.tolist(), aside.round(3).tolist()
    ([0.0, 1.0], [-1.0, 0.0])
    """
    east, north = vector
    facing = np.radians(azimuth)
    ahead = east * np.sin(facing) + north * np.cos(facing)
    aside = east * np.cos(facing) - north * np.sin(facing)
    return np.where(np.abs(ahead) < _ROUNDING, 0.0, ahead), np.asarray(aside)


def windward(ahead: Array) -> npt.NDArray[np.bool_]:
    """Whether a face stands before the wind: within 90 deg of it, the tie included, or direction not known.

    Examples
    --------
    >>> windward(towards(wind_vector([180.0, 270.0, 0.0, np.nan]), 180.0)[0]).tolist()
    [True, True, False, True]
    """
    return np.asarray(~(ahead < 0.0))
