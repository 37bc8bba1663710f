"""The rules that a coat system may hold: what each is called, its kind of quantity, and what it means.

A rule id is ``group.rule``: a coat of the system, one of :data:`GROUPS`, or one of its goods, then one of
:data:`RULES`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from curing.model.kinds import KindName


@dataclass(frozen=True, slots=True)
class RuleKind:
    """What a rule may hold: kind of quantity, and what it means."""

    kind: KindName
    meaning: str
    high: float | None = None
    """Greatest value a file may give, where it is not that of the kind."""
    zero: bool = True
    """Whether 0 means something: no wait does, no output in a day does not."""
    group: Literal["coat", "panel", "visit", "weather", "goods"] = "coat"
    """What stands before the point: a coat of the system, one of :data:`GROUPS`, or one of its goods."""


RULES: Mapping[str, RuleKind] = {
    "thickness": RuleKind("length_mm", "thickness of the coat", zero=False),
    "one_pass": RuleKind("length_mm", "most that may be laid in one pass", zero=False),
    "labour": RuleKind(
        "labour_h_per_m2", "person-hours a square metre, preparation and after-care included", zero=False
    ),
    "wet_edge": RuleKind("output_m2_per_day", "most one person keeps wet-edged in a day", zero=False),
    "least_wait": RuleKind("days", "least days after laying the coat before"),
    "least_wait_per_mm": RuleKind("days_per_mm", "least days for each millimetre of the coat before"),
    "greatest_wait": RuleKind(
        "days", "most days after laying the coat before; beyond it: re-key, dust off, damp", zero=False
    ),
    "dry_days": RuleKind("days", "whole days without water after the last visit before this coat"),
    "warn_age": RuleKind("days", "age of the last plaster coat under which this coat is warned about"),
    "warn_age_per_mm": RuleKind("days_per_mm", "the same, for each millimetre of all plaster coats together"),
    "twice_to": RuleKind("days", "last day with two visits; day 1 follows the laying day"),
    "once_to": RuleKind("days", "last day with one visit"),
    "hours": RuleKind("duration_h", "hours that make the cure"),
    "cure_least": RuleKind("temperature_c", "lowest air temperature of an hour that counts for the cure"),
    "damp_most": RuleKind(
        "volume_l_per_m2", "most that the air may take since the last wetting with the coat still damp", zero=False
    ),
    "fresh_water": RuleKind("density_kg_m3", "water in the fresh mortar: a thin coat is damp for less", zero=False),
    "look_from": RuleKind("duration_h", "laying-day look: first, after closing the coat"),
    "look_to": RuleKind("duration_h", "laying-day look: last, after closing the coat"),
    "look_minutes": RuleKind("duration_min", "laying-day look: how long", zero=False),
    "cloth_to": RuleKind("days", "last day with wet cloth standing on a sunny face"),
    "cloth_sun": RuleKind("duration_h", "direct sun in a day beyond which a face is a sunny face"),
    "air_least": RuleKind("temperature_c", "lowest air temperature for laying"),
    "air_most": RuleKind("temperature_c", "highest air temperature for laying"),
    "waste": RuleKind("percent", "waste added to material"),
    "spread": RuleKind("volume_l_per_m2", "material a square metre, for what has no thickness", zero=False),
    "yield": RuleKind(
        "percent", "mortar that comes of its parts, as a share of their loose volumes together", zero=False
    ),
    # the weather an open coat asks for
    "window": RuleKind("duration_h", "least hours in a row that a day gives for laying", zero=False),
    "rain_before": RuleKind("duration_h", "hours without rain on the face before laying"),
    "rain_after": RuleKind("duration_h", "hours without rain on the face after closing"),
    "air_spare": RuleKind("difference_k", "so far above the lowest, the air may be falling"),
    "humid_most": RuleKind("percent", "most humidity of the air while laying", zero=False),
    "frost_sure": RuleKind("days", "days from laying without frost, even if the forecast is off by its margin"),
    "frost_to": RuleKind("days", "days from laying without frost in the forecast as told"),
    "frost_cover": RuleKind("days", "last day on which it is covered on frost nights"),
    "demand_most": RuleKind(
        "volume_l_per_m2", "most that the air may take from a bare face in 24 h from laying", zero=False
    ),
    "sun_most": RuleKind("irradiance_w_m2", "most direct sun on the face while it is fresh"),
    "sun_after": RuleKind("duration_h", "hours after closing until the sun may come on it"),
    # the panel
    "drying": RuleKind(
        "days_per_mm", "days of drying for each millimetre of the infill's whole thickness", zero=False,
        group="panel",
    ),
    "likely_late": RuleKind(
        "percent", "likely-late drying as a share of the estimate", high=1000, zero=False, group="panel"
    ),
    "wettest": RuleKind(
        "percent", "most moisture, wet basis, at every reading on both sides", zero=False, group="panel"
    ),
    "lapse": RuleKind("days", "days for which a pass counts", zero=False, group="panel"),
    "meter_within": RuleKind(
        "percent", "most by which a meter may differ from a dried sample, in points of moisture", group="panel"
    ),
    "least_density": RuleKind(
        "density_kg_m3", "dry density under which mould is warned about", group="panel"
    ),
    # a visit
    "setup": RuleKind("duration_min", "minutes a face before the work of a visit", group="visit"),
    "rate": RuleKind("rate_m2_per_min", "how fast a face is misted", zero=False, group="visit"),
    "water": RuleKind("volume_l_per_m2", "water a visit", group="visit"),
    "ground_reach": RuleKind("length_m", "highest face that is misted from the ground", group="visit"),
    "extra_from": RuleKind(
        "volume_l_per_m2", "what the air takes in 24 h from which a visit is added", zero=False, group="visit"
    ),
    "shade_from": RuleKind(
        "volume_l_per_m2", "what the air takes in 24 h from which shade comes first", zero=False, group="visit"
    ),
    "look_under": RuleKind(
        "volume_l_per_m2", "what the air takes in 24 h under which two visits a day begin with a look", group="visit"
    ),
    "look_under_once": RuleKind("volume_l_per_m2", "the same, where there is one visit a day", group="visit"),
    "rain_kept": RuleKind("percent", "share of the rain on a face that stays on it", group="visit"),
    "water_least": RuleKind("temperature_c", "lowest air temperature for water on a face", group="visit"),
    "frost_night": RuleKind("temperature_c", "a night that falls to this takes no water in the evening", group="visit"),
    "frost_clear": RuleKind("temperature_c", "the same, where the sky is clear", group="visit"),
    # the weather itself
    "dry_under": RuleKind(
        "volume_l_per_m2", "less rain on a face than this in a dry time is none", zero=False, group="weather"
    ),
    "frost": RuleKind("temperature_c", "colder air than this is frost", group="weather"),
    "margin_first": RuleKind("difference_k", "margin of a forecast of frost on its first day", group="weather"),
    "margin_last": RuleKind("difference_k", "margin of a forecast of frost on its seventh day", group="weather"),
    "clear_under": RuleKind("percent", "less cloud than this is a clear night", group="weather"),
    "wind_most": RuleKind(
        "speed_m_s", "mean wind of an hour at which sheets and cloth come down", zero=False, group="weather"
    ),
    # what is bought or made
    "bag": RuleKind("mass_kg", "what a bag holds", zero=False, group="goods"),
    "tub": RuleKind("mass_kg", "what a tub holds", zero=False, group="goods"),
    "tin": RuleKind("volume_l", "what a tin holds", zero=False, group="goods"),
    "roll": RuleKind("area_m2", "what a roll holds", zero=False, group="goods"),
    "density": RuleKind("density_kg_m3", "weight as it lies loose in the bucket", zero=False, group="goods"),
    "order": RuleKind("days", "days to order ahead of its use, or of making something of it", group="goods"),
    "age": RuleKind("days", "days to make it ahead of its use: putty ripens, clay soaks", group="goods"),
}  # fmt: skip

GROUPS = ("panel", "visit", "weather")
