"""Moisture that wood and straw come to in air, and how fast a thick panel dries through the year.

References
----------
.. [1] Wood Handbook, FPL-GTR-190 (2010), Eq 4-5 and Table 4-2: equilibrium moisture content.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curing.physics.solar import Array

DAMPEST = 97.0
"""Humidity above which moisture is told as at this [%]; assumption: the equation is for less than saturated air."""
REFERENCE_TEMPERATURE, REFERENCE_HUMIDITY = 20.0, 60.0
"""Air that is called warm and dry [°C], [%]; assumption."""
REFERENCE_DEMAND = 1.13
"""What that air takes from a wet inside face [kg/m2 a day]; computed from the surface balance."""
ACTIVATION = 30_000.0
"""How water in the panel quickens with warmth [J/mol]; assumption, published for stone: 27-32 kJ/mol."""
WET = 30.0
"""Moisture from which a panel dries [%]; assumption."""
STRAW_SHARE = 0.45
"""Moisture of a clay-straw panel over that of wood in the same air [1]; assumption."""
_GAS = 8.314  # J/(mol K)


def equilibrium_moisture(temperature: npt.ArrayLike, humidity: npt.ArrayLike) -> Array:
    """Moisture that wood comes to in such air, by dry mass [%]; [1]_.

    Parameters
    ----------
    temperature
        [°C], -1 to 55 tabled.
    humidity
        [%]; above ``DAMPEST`` as at it.

    Examples
    --------
    >>> equilibrium_moisture(21.1, [30.0, 65.0, 90.0]).round(1).tolist()
    [6.2, 12.0, 20.5]
    """
    t = np.asarray(temperature, dtype=np.float64)
    h = np.minimum(np.asarray(humidity, dtype=np.float64), DAMPEST) / 100.0
    w = 349.0 + t * (1.29 + 0.0135 * t)
    kh = (0.805 + t * (0.000736 - 0.00000273 * t)) * h
    k1 = 6.27 - t * (0.00938 + 0.000303 * t)
    k2 = 1.91 + t * (0.0407 - 0.000293 * t)
    second = k1 * k2 * kh * kh
    return np.asarray(1800.0 / w * (kh / (1.0 - kh) + (k1 * kh + 2.0 * second) / (1.0 + k1 * kh + second)))


def inner_drying(temperature: npt.ArrayLike, humidity: npt.ArrayLike) -> Array:
    """How fast water moves out of a thick panel in such air, in its own measure.

    Examples
    --------
    >>> bool(inner_drying(20.0, 60.0) > inner_drying(5.0, 90.0))
    True
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + 273.15
    quick = np.exp(-ACTIVATION / _GAS * (1.0 / kelvin - 1.0 / 293.15))
    return np.asarray(quick * (WET - STRAW_SHARE * equilibrium_moisture(temperature, humidity)))


def season_factor(inside_demand: npt.ArrayLike, inner: npt.ArrayLike) -> Array:
    """Speed of a panel's drying over that in warm dry air [1]; an estimate, a meter decides.

    Half of the resistance is put at the surface, half within.

    Parameters
    ----------
    inside_demand
        What the air takes from a wet inside face, mean of the time [kg/m2 a day].
    inner
        Mean of :func:`inner_drying` over the same time.

    Examples
    --------
    >>> season_factor(1.13, inner_drying(20.0, 60.0)).round(2).item()
    1.0
    """
    outer = REFERENCE_DEMAND / np.asarray(inside_demand, dtype=np.float64)
    within = inner_drying(REFERENCE_TEMPERATURE, REFERENCE_HUMIDITY) / np.asarray(inner, dtype=np.float64)
    return np.asarray(1.0 / (0.5 * outer + 0.5 * within))
