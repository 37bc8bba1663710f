"""The sky: what sun a clear one lets through, how much cloud there is, how cold it looks.

Arrays in, arrays out; hours in UTC; NaN stays NaN. Cloud from radiation and radiation from
cloud are estimates: who fills a gap with them says so.

References
----------
.. [1] B. Haurwitz, Insolation in relation to cloudiness and cloud density, Journal of
   Meteorology 2 (1945) 154; as in a public solar library.
.. [2] F. Kasten, G. Czeplak, Solar and terrestrial radiation dependent on the amount and type of
   cloud, Solar Energy 24 (1980) 177: 1 - 0.75 c^3.4. From memory, unverified.
.. [3] P. Berdahl, M. Martin, Emissivity of clear skies, Solar Energy 32 (1984) 663.
   From memory, unverified.
.. [4] M. Unsworth, J. Monteith, Long-wave radiation at the ground, Quarterly Journal of the Royal
   Meteorological Society 101 (1975) 13: (1 - 0.84 c) e + 0.84 c. From memory, unverified.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curing.physics.solar import DAY, Array

DIMMING, POWER = 0.75, 3.4
"""Share of the sun that a full cover takes, and how cloud counts [1]; published, [2]_."""
CLOUD_GLOW = 0.84
"""How far cloud brings the sky's emissivity towards one [1]; published, [4]_."""
LEAST_CLEAR = 50.0
"""Least clear-sky sum of a day from which its cloud is judged [Wh/m2]; assumption: a lower sun says nothing."""
_LOWEST = 1e-3  # cosine: below, nothing comes that can be told


def clear_radiation(cos_zenith: npt.ArrayLike) -> Array:
    """Global radiation on the level under a clear sky [W/m2]; [1]_.

    Parameters
    ----------
    cos_zenith
        Cosine of the sun's zenith angle; nothing comes where it is not positive.

    Examples
    --------
    >>> clear_radiation([1.0, 0.5, -0.1]).round(1).tolist()
    [1035.1, 487.9, 0.0]
    """
    up = np.asarray(cos_zenith, dtype=np.float64)
    lit = np.maximum(up, 0.0)  # keeps what is not known
    return np.asarray(1098.0 * lit * np.exp(-0.059 / np.maximum(lit, _LOWEST)))


def cloud_from_radiation(start: float, radiation: npt.ArrayLike, clear: npt.ArrayLike) -> Array:
    """Share of the sky under cloud, one value a UTC day, from the day's sun; an estimate.

    Parameters
    ----------
    start
        Start of the first hour [unix s].
    radiation
        Global radiation of each hour on the level [W/m2]; hours that are NaN are left out.
    clear
        What a clear sky would give in the same hours [W/m2].

    Returns
    -------
    Array
        0 to 1, the same for all hours of a UTC day; NaN where the hours known have a clear-sky
        sum below ``LEAST_CLEAR``.

    Notes
    -----
    [2]_ turned round: c = ((1 - k) / 0.75)^(1/3.4), k the day's sum over the clear one.

    Examples
    --------
    >>> clear = np.full(24, 500.0)
    >>> cloud_from_radiation(0.0, 0.25 * clear, clear)[0].round(2).item()
    1.0
    >>> cloud_from_radiation(0.0, 1.1 * clear, clear)[0].item()
    0.0
    """
    sun, whole = np.asarray(radiation, dtype=np.float64), np.asarray(clear, dtype=np.float64)
    if not sun.size:
        return sun.copy()
    day = ((start + 3600.0 * np.arange(sun.size)) // DAY).astype(np.int64)
    day -= day[0]
    known = np.isfinite(sun)
    came = np.bincount(day, np.where(known, sun, 0.0))
    could = np.bincount(day, np.where(known, whole, 0.0))
    judged = could >= LEAST_CLEAR
    k = came / np.where(judged, could, 1.0)
    cover = np.clip((1.0 - k) / DIMMING, 0.0, 1.0) ** (1.0 / POWER)
    return np.asarray(np.where(judged, cover, np.nan)[day])


def radiation_from_cloud(clear: npt.ArrayLike, cloud: npt.ArrayLike) -> Array:
    """Global radiation on the level [W/m2] under so much cloud, 0 to 1; an estimate, [2]_.

    Examples
    --------
    >>> radiation_from_cloud([800.0, 800.0], [0.0, 1.0]).tolist()
    [800.0, 200.0]
    """
    cover = np.asarray(cloud, dtype=np.float64)
    return np.asarray(np.asarray(clear, dtype=np.float64) * (1.0 - DIMMING * cover**POWER))


def emissivity(dew_point: npt.ArrayLike, cloud: npt.ArrayLike) -> Array:
    """How much a sky glows, of what a black one at air temperature would [1]; [3]_ and [4]_.

    Parameters
    ----------
    dew_point
        [°C].
    cloud
        Share of the sky, 0 to 1.

    Examples
    --------
    >>> emissivity(10.0, [0.0, 1.0]).round(3).tolist()
    [0.774, 0.964]
    """
    hundredth, cover = np.asarray(dew_point, dtype=np.float64) / 100.0, np.asarray(cloud, dtype=np.float64)
    clear = np.minimum(0.711 + hundredth * (0.56 + 0.73 * hundredth), 1.0)  # steam-bath air would glow more than black
    return np.asarray(clear + CLOUD_GLOW * cover * (1.0 - clear))


def sky_temperature(temperature: npt.ArrayLike, dew_point: npt.ArrayLike, cloud: npt.ArrayLike) -> Array:
    """Temperature of a black sky that glows as much [°C].

    Parameters
    ----------
    temperature
        Of the air [°C].
    dew_point, cloud
        As for :func:`emissivity`.

    Examples
    --------
    >>> float(sky_temperature(20.0, 10.0, 0.0).round(1))
    1.8
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + 273.15
    return np.asarray(kelvin * emissivity(dew_point, cloud) ** 0.25 - 273.15)
