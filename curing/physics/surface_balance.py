"""The balance of a wet surface: what the air takes from it, and how cold that keeps it.

Arrays in, arrays out; NaN stays NaN. At temperature Ts of the surface, per square metre:

    gain - e s Ts^4 - h (Ts - Ta) - L b (p(Ts) - p_air) = 0

with the gain of radiation, the heat h and vapour b that the air carries, the latent heat L.

References
----------
.. [1] H. Kuenzel, Simultaneous heat and moisture transport in building components, 1995: b = 7e-9 h
   kg/(m2 s Pa). From memory, unverified; 6.75e-9 by the Lewis relation at 20 C.
.. [2] Latent heat 2.501e6 - 2361 T J/kg; FAO Irrigation and Drainage Paper 56, annex 3.
   From memory, unverified.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from curing.physics import psychrometrics
from curing.physics.solar import Array

VAPOUR_PER_HEAT = 7e-9
"""Vapour carried for the heat carried, b / h [kg K/(J Pa)]; published, [1]_."""
GLOW = 0.9
"""Emissivity of a wet plaster face [1]; common in tables."""
LATENT, LATENT_FALL = 2.501e6, 2361.0
"""Heat that takes a kilogram of water into the air at 0 °C [J/kg], and its fall for each K; published, [2]_."""
STEFAN_BOLTZMANN = 5.670374e-8
"""[W/m2K4]; published (CODATA)."""
STEPS = 2
"""After the closed form; off by 1e-5 kg/m2h in 999 hours of 1000, by 5e-4 at most in seven years of one station."""
BLOCK = 4096
"""Hours worked on at once, so that they stay in the core's own cache."""

# p(T) = _PRESSURE exp(-_EXPONENT / (kelvin - _OFFSET)), the same curve as in psychrometrics.
_OFFSET = 273.15 - psychrometrics.OFFSET
_EXPONENT = psychrometrics.FACTOR * psychrometrics.OFFSET
_PRESSURE = psychrometrics.AT_ZERO * np.exp(psychrometrics.FACTOR)
# Latent heat times vapour per heat, [K/Pa]: _RATIO - _FALL kelvin.
_FALL = VAPOUR_PER_HEAT * LATENT_FALL
_RATIO = VAPOUR_PER_HEAT * LATENT + _FALL * 273.15


@dataclass(frozen=True, slots=True, eq=False)
class MoistAir:
    """What the balance needs of the air, the same for all faces of a place.

    Parameters
    ----------
    kelvin
        Temperature [K].
    vapour
        Vapour pressure [Pa].
    taken
        Heat drawn by water leaving a surface at air temperature, over the heat to the air for each K [K].
    stiffness
        How that and the heat to the air grow with the surface's temperature [1].
    cube, fourth
        Four times the cube of the temperature [K3]; its fourth power [K4].
    """

    kelvin: Array
    vapour: Array
    taken: Array
    stiffness: Array
    cube: Array
    fourth: Array

    def part(self, hours: slice) -> MoistAir:
        """Return some of the hours."""
        return MoistAir(*(getattr(self, name)[hours] for name in MoistAir.__slots__))


def moist_air(temperature: npt.ArrayLike, humidity: npt.ArrayLike) -> MoistAir:
    """Prepare the air for :func:`wet_surface`.

    Parameters
    ----------
    temperature, humidity
        [°C], [%].

    Examples
    --------
    >>> float(moist_air([20.0], [60.0]).vapour[0].round())
    1403.0
    """
    air = np.asarray(temperature, dtype=np.float64)
    vapour = psychrometrics.vapour(air, humidity)
    kelvin = air + 273.15
    ratio = _RATIO - _FALL * kelvin
    cube = kelvin * kelvin * kelvin
    return MoistAir(
        kelvin,
        vapour,
        ratio * (psychrometrics.vapour_pressure(air) - vapour),
        1.0 + ratio * psychrometrics.slope(air),
        4.0 * cube,
        cube * kelvin,
    )


def wet_surface(air: MoistAir, gain: npt.ArrayLike, heat: npt.ArrayLike, *, steps: int = STEPS) -> tuple[Array, Array]:
    """Solve the balance of a wet surface, hour by hour.

    Parameters
    ----------
    air
        From :func:`moist_air`.
    gain
        Radiation taken up, of sun and heat [W/m2].
    heat
        Heat to the air [W/m2K].
    steps
        Of Newton's method after the closed form; 0 gives the closed form alone.

    Returns
    -------
    tuple
        What the air takes [kg/m2h], negative where dew falls, and the temperature of the
        surface [°C].

    Examples
    --------
    >>> takes, surface = wet_surface(moist_air([20.0], [60.0]), 365.4, 12.5)
    >>> takes.round(3).tolist(), surface.round(1).tolist()
    ([0.104], [15.3])
    """
    gains, heats = (np.broadcast_to(np.asarray(x, dtype=np.float64), air.kelvin.shape) for x in (gain, heat))
    takes, surface = np.empty(air.kelvin.size), np.empty(air.kelvin.size)
    for at in range(0, takes.size, BLOCK):
        hours = slice(at, at + BLOCK)
        solve_block(air.part(hours), gains[hours], heats[hours], takes[hours], surface[hours], steps)
    return takes, surface


def solve_block(air: MoistAir, gain: Array, heat: Array, takes: Array, surface: Array, steps: int = STEPS) -> None:
    """Solve the balance for some hours that fit the cache, into `takes` and `surface`.

    Everything is counted in heat over the heat to the air for each K, so that the surface's warmth
    over the air's, x, solves  gain' - glow' (Ta + x)^4 - x - r (p(Ts) - p_air) = 0  with r near the
    psychrometer's constant, whatever the wind.
    """
    share = 1.0 / heat
    gain, glow = gain * share, share * (STEFAN_BOLTZMANN * GLOW)
    # Newton's first step from air temperature is the closed form.
    warmer = gain - glow * air.fourth
    warmer -= air.taken
    step = warmer / (glow * air.cube + air.stiffness)
    warmer = step
    pressure, growth = air.vapour, air.stiffness
    for _ in range(steps):
        kelvin = air.kelvin + warmer
        near = 1.0 / (kelvin - _OFFSET)
        pressure = np.exp(near * -_EXPONENT)
        pressure *= _PRESSURE
        near *= near
        near *= _EXPONENT
        growth = near  # of the pressure, relative
        short = pressure - air.vapour
        ratio = _RATIO - _FALL * kelvin
        cube = kelvin * kelvin
        cube *= kelvin
        cube *= glow
        rest = gain - cube * kelvin
        rest -= warmer
        rest -= ratio * short
        ratio *= pressure
        ratio *= growth
        cube *= 4.0
        cube += ratio
        cube += 1.0
        short *= _FALL
        cube -= short
        step = rest / cube
        warmer = warmer + step
    np.add(air.kelvin, warmer, out=surface)
    surface -= 273.15
    if steps:
        # The last pressure, carried on: the step is small by now, and an exponential costs most here.
        growth *= step
        growth *= 1.0 + 0.5 * growth
        pressure *= 1.0 + growth
        np.subtract(pressure, air.vapour, out=takes)
    else:
        ratio = _RATIO - _FALL * air.kelvin
        np.divide(air.taken + (air.stiffness - 1.0) * step, ratio, out=takes)
    takes *= heat
    takes *= 3600.0 * VAPOUR_PER_HEAT
