"""The season of a site by its own years, in words."""

from __future__ import annotations

from collections.abc import Mapping

SEASON: Mapping[str, str] = {
    "season.head": "SEASON, by {years} seasons of the site's own station, {first}-{last}",
    "season.head.none": "SEASON, by the site's own station: no whole season yet",
    "season.few": (
        "{years} whole seasons; {least} make a season line, since a risk of one year in five is not seen in fewer. "
        "Dates of the job file hold."
    ),
    "season.always": "Frost is so rare that every start is safe enough: there is no line to keep.",
    "season.never": "Frost may come after any day of the year: no start is safe enough.",
    "season.frost": "FROST",
    "season.middle": "MIDDLE",
    "season.tenth": "1 YEAR IN 10",
    "season.utmost": "EVER",
    "season.last": "last of spring",
    "season.first": "first of autumn",
    "season.after": "after {day}",
    "season.before": "before {day}",
    "season.no_frost": "none",
    "season.line": "START",
    "season.from": "FROM",
    "season.to": "LINE",
    "season.spread": "IT COULD BE",
    "season.coat.finish": "finish, {days} days",
    "season.coat.base": "base, {days} days",
    "season.range": "{low} to {high}",
    "season.panel": "PANEL",
    "season.fill_by": "FILL BY",
    "season.nine": "9 YEARS IN 10",
    "season.one": "1 IN 10",
    "season.base_by": "BASE BY",
    "season.faces": "FACES",
    "season.legend": "Line: in at most {share} of the years frost came in so many days from then.",
    "season.legend.fill": "Fill by: so that the base is laid in time. An estimate: the meter decides.",
}
