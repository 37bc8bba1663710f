"""Water vapour in air: its pressure over water and ice, dew point, deficit, wet bulb.

Arrays in, arrays out. Temperatures in °C, pressures in Pa, humidity in % relative to
saturation over water, as stations and forecasts tell it below freezing too. NaN stays NaN.

References
----------
.. [1] FAO Irrigation and Drainage Paper 56 (1998), Eq 11, 12, 13, 19. From memory, unverified;
   agrees with the paper's Table 2.3 as remembered and with [2]_ within 2e-3 from 0 to 50 °C.
.. [2] ASHRAE Handbook of Fundamentals 2017, ch. 1, Eq 5 (Hyland and Wexler, over ice), as quoted
   in a public library of that chapter.
.. [3] R. Stull, Wet-bulb temperature from relative humidity and air temperature, Journal of
   Applied Meteorology and Climatology 50 (2011) 2267. From memory, unverified.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curing.physics.solar import Array

AT_ZERO = 610.8
"""Vapour pressure over water at 0 °C [Pa]; published, [1]_ Eq 11."""
FACTOR, OFFSET = 17.27, 237.3
"""Of the same equation [1], [°C]; published, [1]_ Eq 11."""
DRIEST = 1.0
"""Least humidity for which a dew point is told [%]; assumption: drier air is told as this."""

# Over ice, T in kelvin: c0/T + c1 + c2 T + c3 T^2 + c4 T^3 + c5 T^4 + c6 ln T; [2]_.
_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)


def vapour_pressure(temperature: npt.ArrayLike) -> Array:
    """Vapour pressure [Pa] of saturated air over water (below 0 °C: water still liquid).

    Parameters
    ----------
    temperature
        [°C], -60 to 60.

    Examples
    --------
    >>> vapour_pressure([10.0, 20.0]).round().tolist()
    [1228.0, 2338.0]
    """
    t = np.asarray(temperature, dtype=np.float64)
    return np.asarray(AT_ZERO * np.exp(FACTOR * t / (t + OFFSET)))


def slope(temperature: npt.ArrayLike) -> Array:
    """By how much the saturated pressure grows with temperature [Pa/K]; [1]_ Eq 13.

    Examples
    --------
    >>> float(slope(20.0).round(1))
    144.7
    """
    t = np.asarray(temperature, dtype=np.float64)
    return np.asarray(vapour_pressure(t) * (FACTOR * OFFSET) / (t + OFFSET) ** 2)


def vapour_pressure_over_ice(temperature: npt.ArrayLike) -> Array:
    """Vapour pressure [Pa] of air saturated over ice, -100 to 0 °C; [2]_.

    Examples
    --------
    >>> float(vapour_pressure_over_ice(-20.0).round(1))
    103.3
    """
    t = np.asarray(temperature, dtype=np.float64) + 273.15
    c = _ICE
    powers = c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5])))
    return np.asarray(np.exp(c[0] / t + powers + c[6] * np.log(t)))


def vapour(temperature: npt.ArrayLike, humidity: npt.ArrayLike) -> Array:
    """Vapour pressure of air [Pa].

    Parameters
    ----------
    temperature
        [°C].
    humidity
        [%], 0 to 100, over water.

    Examples
    --------
    >>> float(vapour(18.0, 82.0).round(-1))
    1690.0
    """
    return np.asarray(vapour_pressure(temperature) * np.asarray(humidity, dtype=np.float64) / 100.0)


def deficit(temperature: npt.ArrayLike, humidity: npt.ArrayLike) -> Array:
    """How much vapour the air still takes before it is saturated [Pa].

    Examples
    --------
    >>> float(deficit(20.0, 100.0))
    0.0
    """
    return np.asarray(vapour_pressure(temperature) * (1.0 - np.asarray(humidity, dtype=np.float64) / 100.0))


def dew_point(temperature: npt.ArrayLike, humidity: npt.ArrayLike) -> Array:
    """Temperature at which the air's own vapour would saturate it, over water [°C].

    Examples
    --------
    >>> float(dew_point(20.0, 50.0).round(1))
    9.3
    """
    t = np.asarray(temperature, dtype=np.float64)
    share = np.maximum(np.asarray(humidity, dtype=np.float64), DRIEST) / 100.0
    x = np.log(share) + FACTOR * t / (t + OFFSET)
    return np.asarray(OFFSET * x / (FACTOR - x))


def wet_bulb(temperature: npt.ArrayLike, humidity: npt.ArrayLike) -> Array:
    """Wet-bulb temperature [°C] at sea level, in closed form; [3]_.

    Good to -1 to +0.65 K for 5 to 99 % and -20 to 50 °C, save cold and dry together.

    Examples
    --------
    >>> float(wet_bulb(20.0, 50.0).round(1))
    13.7
    """
    t, h = np.asarray(temperature, dtype=np.float64), np.asarray(humidity, dtype=np.float64)
    return np.asarray(
        t * np.arctan(0.151977 * np.sqrt(h + 8.313659))
        + np.arctan(t + h)
        - np.arctan(h - 1.676331)
        + 0.00391838 * h**1.5 * np.arctan(0.023101 * h)
        - 4.686035
    )
