"""The season line and the scaffolds of a plan in a terminal."""

from __future__ import annotations

from curing.model.plan import FacePlan, Plan, Season
from curing.publish.event_title import plain
from curing.publish.terminal_layout import table, wrap
from curing.publish.terminal_names import Names

CLOSE = 30
"""[d] A face with fewer days to spare before the season line is told with its last days."""

COLUMNS = ("face", "wall_name", "fill_by", "panel", "base_by", "finish_by", "planned")


def season_block(plan: Plan, names: Names) -> list[str]:
    """Return the last days of faces that are near the season line, or how far all are from it."""
    bound = [(face, face.season) for face in sorted(plan.faces, key=lambda one: one.order) if face.season]
    if not bound:
        return []
    say = names.words.say
    spare = min(season.spare for _, season in bound)
    line = names.long_day(min(season.line for _, season in bound))
    early = names.words.count("terminal.season", spare, line=line)
    lines = wrap(early if spare >= 0 else say("terminal.season.over", line=line))
    source = min((season for _, season in bound), key=lambda one: one.line)
    if source.years and source.earliest is not None and source.latest is not None:
        spread = {"earliest": names.day(source.earliest), "latest": names.day(source.latest)}
        lines += wrap(say("terminal.season.years", years=source.years, **spread))
    close = [(face, season) for face, season in bound if season.spare <= CLOSE or _could_be_late(face)]
    if not close:
        return lines
    rows = [tuple(say(f"terminal.head.{name}") for name in COLUMNS)]
    rows += [_row(face, season, names) for face, season in close]
    used = [k for k, name in enumerate(COLUMNS) if name == "wall_name" or any(row[k] for row in rows[1:])]
    least = [6 if COLUMNS[k] == "wall_name" else 26 for k in used]  # dates are never cut
    return [*lines, *table([[row[k] for k in used] for row in rows], least, indent=2)]


def _row(face: FacePlan, season: Season, names: Names) -> tuple[str, ...]:
    laid = any(coat.laid for coat in face.coats)
    dry, fill = "", names.day(season.fill_by)
    if face.panel is not None:
        dry = names.words.say(
            "terminal.panel", ready=names.day(face.panel.ready), late=names.day(face.panel.likely_late)
        )
    return (
        names.face(face.id),
        names.wall(face),
        "" if laid or face.panel else fill,
        "" if laid else dry,
        "" if laid else names.day(season.base_by),
        names.day(season.line),
        names.day(season.finish),
    )


def _could_be_late(face: FacePlan) -> bool:
    laid = any(coat.laid for coat in face.coats)
    return bool(face.season and face.panel and not laid and face.panel.likely_late > face.season.base_by)


def scaffold_block(plan: Plan, names: Names) -> list[str]:
    """Return from when to when each scaffold is needed, by its first day."""
    cells = [
        (plain(one.name), names.day(one.first), names.day(one.last), names.faces(one.faces))
        for one in sorted(plan.scaffolds, key=lambda one: (one.first, one.name))
    ]
    if not cells:
        return []
    head = tuple(names.words.say(f"terminal.head.{name}") for name in ("scaffold", "from", "to", "faces"))
    return table([head, *cells], (10, 6, 6, 16))
