"""What leaves a level surface of free water, by the rules of concrete: a second opinion, no limit for lime.

The alarms of these rules (0.5 and 1.0 kg/m2h) are rates at which concrete bleeds. They hold only while a
film of water covers a level surface; the wind is that at 0.5 m.

References
----------
.. [1] P. Uno, Plastic shrinkage cracking and evaporation formulas, ACI Materials Journal 95-M34 (1998);
   its coefficients as in public code.
.. [2] C. Menzel, 1954. From memory, unverified; agrees with the chart of Lerch (1957) as remembered.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curing.physics.psychrometrics import vapour_pressure
from curing.physics.solar import Array

KMH = 3.6
"""Kilometres an hour in a metre a second."""


def uno(surface: npt.ArrayLike, air: npt.ArrayLike, humidity: npt.ArrayLike, wind: npt.ArrayLike) -> Array:
    """Evaporation [kg/m2h]; [1]_.

    Parameters
    ----------
    surface, air
        Temperatures [°C], above -18.
    humidity
        [%].
    wind
        At 0.5 m [m/s].

    Examples
    --------
    >>> float(uno(31.0, 27.0, 50.0, 19.0 / 3.6).round(2))
    1.15
    """
    water = (np.asarray(surface, dtype=np.float64) + 18.0) ** 2.5
    held = np.asarray(humidity, dtype=np.float64) / 100.0 * (np.asarray(air, dtype=np.float64) + 18.0) ** 2.5
    return np.asarray(5e-6 * (water - held) * (KMH * np.asarray(wind, dtype=np.float64) + 4.0))


def menzel(surface: npt.ArrayLike, air: npt.ArrayLike, humidity: npt.ArrayLike, wind: npt.ArrayLike) -> Array:
    """Evaporation [kg/m2h]; [2]_. Better than :func:`uno` for cold air over a warm surface.

    Examples
    --------
    >>> float(menzel(31.0, 27.0, 50.0, 19.0 / 3.6).round(2))
    1.19
    """
    held = np.asarray(humidity, dtype=np.float64) / 100.0 * vapour_pressure(air)
    kilopascal = (vapour_pressure(surface) - held) / 1000.0
    return np.asarray(0.315 * kilopascal * (0.253 + 0.060 * KMH * np.asarray(wind, dtype=np.float64)))
