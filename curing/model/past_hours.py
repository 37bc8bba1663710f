"""Hours past of a place, one by one: what is kept of the weather when the runs that told it are gone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class PastHour:
    """An hour past, as one run told it.

    Parameters
    ----------
    hour
        Its start (UTC).
    lead
        [h] From when the run was made to the hour; 0: told in it or afterwards.
    source
        Short name of who told it.
    values
        Variable → value in the units of :data:`curing.model.weather.VARIABLES`; what was not told is absent.
    """

    hour: datetime
    lead: int
    source: str
    values: Mapping[str, float]
