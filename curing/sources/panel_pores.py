"""Whether the water put into a straw-clay mix has room in it."""

from __future__ import annotations

from collections.abc import Iterator

from curing.errors import Problem
from curing.model.job import Mix
from curing.model.quantities import show
from curing.sources.job_draft import Draft

STRAW, CLAY = 1500.0, 2650.0
"""Density of the solid in straw and in clay, without pores [kg/m3] (from memory, unverified)."""

WATER = 1000.0
"""[kg/m3]"""


def pore_water(mix: Mix) -> float:
    r"""Return the most water that the pores of a mix hold [kg in a cubic metre of panel].

    The solid of dry density :math:`\rho` takes
    :math:`\rho\,(s/\rho_{straw} + (1-s)/\rho_{clay})` of a cubic metre; the rest
    are pores. Negative where the mix is denser than its solid.

    Examples
    --------
    >>> mix = Mix.model_validate({"dry_density": "660 kg/m3", "straw": "15 %"})
    >>> round(pore_water(mix))
    722
    """
    share = mix.straw / 100
    return WATER * (1 - mix.dry_density * (share / STRAW + (1 - share) / CLAY))


def check_panels(draft: Draft) -> Iterator[Problem]:
    """Yield panels that are denser than their solid, or wetter than their pores allow (panel.pores)."""
    for wall in draft.walls:
        mix = wall.it.panel.mix if wall.it.panel else None
        if mix is None:
            continue
        steps, most, units = (*wall.steps, "panel", "mix"), pore_water(mix), draft.head.units
        dry, straw = show(mix.dry_density, "density_kg_m3", units), show(mix.straw, "percent", units)
        if most <= 0:
            text = f"a dry density of {dry} leaves no pores at {straw} straw (rule panel.pores); correct it"
            yield draft.problem((*steps, "dry_density"), f"{wall.label}: panel: {text}")
        elif mix.water is not None and mix.water > most:
            water = show(mix.water, "density_kg_m3", units, limits=[most])
            room = show(most, "density_kg_m3", units, limits=[mix.water])
            text = (
                f"{water} of water exceeds {room}, all that the pores hold at {dry} dry and {straw} straw "
                "(rule panel.pores); correct water, dry_density or straw"
            )
            yield draft.problem((*steps, "water"), f"{wall.label}: panel: {text}")
