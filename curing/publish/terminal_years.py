"""The season of a site by its own years, in a terminal."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from babel.dates import format_date

from curing.publish.season_parts import FrostPart, SeasonPart
from curing.publish.terminal_layout import table, wrap
from curing.publish.words import Words


def season_lines(season: SeasonPart, words: Words) -> list[str]:
    """Return frosts, lines and last days to fill a panel, none of the lines wider than 80 cells.

    Parameters
    ----------
    season
        By the years of a site.
    words
        Language and units of the reader.
    """
    say = words.say

    def day(one: date | None) -> str:
        return format_date(one, "d MMM", locale=words.language) if one is not None else say("sky.unknown")

    if season.first_year is None:
        return [*wrap(say("season.head.none")), *wrap(say("season.few", years=season.years, least=season.least))]
    lines = wrap(say("season.head", years=season.years, first=season.first_year, last=season.last_year))
    if season.why_none:
        lines += wrap(say(f"season.{season.why_none}", years=season.years, least=season.least))
    rows = [tuple(say(f"season.{one}") for one in ("frost", "middle", "tenth", "utmost"))]
    rows.append(_frost("last", "after", season.last_frost, day, say))
    rows.append(_frost("first", "before", season.first_frost, day, say))
    lines += table(rows, (14, 6, 12, 6), indent=2)
    if season.lines:
        rows = [tuple(say(f"season.{one}") for one in ("line", "from", "to", "spread"))]
        rows += [
            (
                say(f"season.coat.{one.coat}", days=one.days),
                day(one.first),
                day(one.last),
                say("season.range", low=day(one.earliest), high=day(one.latest)),
            )
            for one in season.lines
        ]
        lines += table(rows, (14, 6, 6, 16), indent=2)
        lines += wrap(say("season.legend", share=f"{season.lines[0].risk:.0%}"), "  ")
    if season.fills:
        lines += _fills(season, words, day)
    return lines


def _frost(
    which: str, side: str, frost: FrostPart, day: Callable[[date | None], str], say: Callable[..., str]
) -> tuple[str, ...]:
    none = frost.years > 0 and frost.without == frost.years
    middle = say("season.no_frost") if none else day(frost.middle)
    tenth = say(f"season.{side}", day=day(frost.tenth)) if frost.tenth is not None else say("sky.unknown")
    return say(f"season.{which}"), middle, tenth, day(frost.utmost)


def _fills(season: SeasonPart, words: Words, day: Callable[[date | None], str]) -> list[str]:
    rows = [tuple(words.say(f"season.{one}") for one in ("panel", "fill_by", "nine", "one", "base_by", "faces"))]
    for one in season.fills:
        faces = ", ".join(_face(face, words) for face in one.faces)
        thick = words.figure(one.thickness, "length_mm")
        rows.append((thick, day(one.day), day(one.early), day(one.late), day(one.base_by), faces))
    lines = table(rows, (6, 7, 7, 7, 7, 10), indent=2)
    return [*lines, *wrap(words.say("season.legend.fill"), "  ")]


def _face(face_id: str, words: Words) -> str:
    wall, _, side = face_id.rpartition("-")
    return words.say("title.face", wall=wall, side=words.say(f"title.side.{side}"))
