"""On which faces wet cloth stands: sunny ones, but not on the side away from the equator.

A face is sunny with more than the hours of rule ``cloth_sun`` of direct sun on the laying day
(common practice, no source). A face that looks away from the equator has grazing sun early and
late in summer, too weak to ask for cloth (assumption: under 200 W/m2).
"""

from __future__ import annotations

from datetime import date

from curing.planning.expand import CoatWork, FaceWork
from curing.planning.windows import SiteSun, quadrant


def sunny(work: FaceWork, coat: CoatWork, sun: SiteSun, laid: date) -> bool:
    """Tell whether a coat laid on a day asks for cloth or shade on this face."""
    away = "N" if sun.sunny_side == 180.0 else "S"
    if not work.outside or quadrant(work.azimuth) == away:
        return False
    return sun.hours_on_face(work.azimuth, laid) > coat.cloth_sun


def cloth_stands(work: FaceWork, coat: CoatWork, sun: SiteSun, laid: date) -> bool:
    """Tell whether cloth is hung before this coat: asked for by its rules, wanted, and possible."""
    return coat.cloth_to > 0 and sunny(work, coat, sun, laid)
