"""A wall in the weather: wind at the face, heat that the air carries, radiation that the face takes up.

Arrays in, arrays out; NaN stays NaN. **Demand** is what would leave a face kept wet: more than a damp
one really loses.

References
----------
.. [1] Convection of building physics: 4.5 + 1.6 v windward, 4.5 + 0.33 v leeward; as in a public
   boundary condition of a moisture model.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curing.physics.shading import OPEN_VIEW
from curing.physics.sky import emissivity
from curing.physics.solar import Array
from curing.physics.surface_balance import GLOW, STEFAN_BOLTZMANN, MoistAir, moist_air, wet_surface

SHELTERED, ORDINARY, EXPOSED = 0.4, 0.7, 1.0
"""Wind at a face over that at 10 m [1]; assumption, 0.7 near the terrain factor of suburbs."""
STILL, WINDWARD, LEEWARD = 4.5, 1.6, 0.33
"""Heat to the air in still air [W/m2K], and what each m/s adds, before and behind the wind; published, [1]_."""
INSIDE = 4.0
"""Heat to the air at an inside face [W/m2K]; common practice."""
ALBEDO = 0.6
"""Share of the sun that a wet lime face throws back [1]; assumption."""


def heat_transfer(wind: npt.ArrayLike, before: npt.NDArray[np.bool_], factor: float = ORDINARY) -> Array:
    """Heat that the air takes from a face [W/m2K]; [1]_.

    Parameters
    ----------
    wind
        [m/s] at 10 m.
    before
        Whether the face stands before the wind, from :func:`curing.physics.bearing.windward`.
    factor
        Wind at the face over that at 10 m [1].

    Examples
    --------
    >>> heat_transfer(5.0, np.array([True, False])).round(2).tolist()
    [10.1, 5.65]
    """
    each = np.where(before, WINDWARD * factor, LEEWARD * factor)
    return np.asarray(STILL + each * np.asarray(wind, dtype=np.float64))


def incoming_glow(
    temperature: npt.ArrayLike, dew_point: npt.ArrayLike, cloud: npt.ArrayLike, view: float = OPEN_VIEW
) -> Array:
    """Radiation of heat that a face takes up from sky and surroundings, these at air temperature [W/m2].

    Parameters
    ----------
    temperature, dew_point
        [°C].
    cloud
        Share of the sky, 0 to 1.
    view
        Share of the sky among what the face sees; 0 for an inside face.

    Examples
    --------
    >>> incoming_glow(20.0, 10.0, [0.0, 1.0]).round().tolist()
    [334.0, 370.0]
    """
    black = STEFAN_BOLTZMANN * GLOW * (np.asarray(temperature, dtype=np.float64) + 273.15) ** 4
    return np.asarray(black * (1.0 - view * (1.0 - emissivity(dew_point, cloud))))


def inside_face(temperature: npt.ArrayLike, humidity: npt.ArrayLike) -> tuple[Array, Array]:
    """What the air takes from a wet inside face of an open shell [kg/m2h], and the face's temperature [°C].

    The air is taken to be that outside; no sun, no wind, no sky.

    Parameters
    ----------
    temperature, humidity
        Of the air [°C], [%].

    Examples
    --------
    >>> (24 * inside_face([20.0], [60.0])[0]).round(2).item()
    1.13
    """
    air = moist_air(np.atleast_1d(temperature), humidity)
    return wet_surface(air, inside_glow(air), INSIDE)


def inside_glow(air: MoistAir) -> Array:
    """Heat radiation that an inside face takes up from walls at air temperature [W/m2].

    Examples
    --------
    >>> inside_glow(moist_air([20.0], [60.0])).round().tolist()
    [377.0]
    """
    return np.asarray(STEFAN_BOLTZMANN * GLOW * air.fourth)
