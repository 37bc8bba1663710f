"""Dates of a job file that can't be: work done in the future or out of order, seasons turned round."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from curing.errors import Problem
from curing.model.job import Panel
from curing.model.quantities import clip
from curing.model.times import MONTHS
from curing.sources.job_draft import Draft, FaceEntry
from curing.sources.validation import unknown

LEAST_FACTOR, MOST_FACTOR = 0.05, 2.0
"""Season factors of panel drying beyond these are slips of the pen (common practice, no source)."""


def check_dates(draft: Draft, today: date) -> Iterator[Problem]:
    """Yield what can't have been, or can't come, on the dates given; ``today`` ends the past."""
    yield from _season(draft)
    for face in draft.faces:
        if face.it.start is not None and face.it.ended is not None and face.it.start > face.it.ended:
            text = f"start {face.it.start} is after its end, {face.it.ended} (ended); correct one of them"
            yield draft.problem((*face.steps, "start"), f"{face.label}: {text}")
        yield from _done(draft, face, today)


def _season(draft: Draft) -> Iterator[Problem]:
    season = draft.head.season
    if season is None:
        return
    if season.resumes is not None and season.resumes <= season.finish_by:
        text = f"resumes {season.resumes} is not after finish_by {season.finish_by}; it is the next season's first day"
        yield draft.problem(("season", "resumes"), f"season: {text}, correct it")
    for month, factor in season.drying.items():
        steps = ("season", "drying", month)
        if month not in MONTHS:
            yield draft.problem(steps, f"season: drying: {unknown('month', month, MONTHS)}", key=True)
        elif not LEAST_FACTOR <= factor <= MOST_FACTOR:
            limits = f"a season factor lies between {LEAST_FACTOR:g} and {MOST_FACTOR:g}"
            yield draft.problem(steps, f"season: drying: {month}: {factor:g}; {limits}, 1 being warm and dry")


def _done(draft: Draft, face: FaceEntry, today: date) -> Iterator[Problem]:
    """Yield faults of the coats that a face says are done."""
    done, system = face.it.done, draft.system_of(face)
    filled = face.wall.it.panel if face.wall else None
    known = [coat.id for coat in system.coats] if system else list(done)
    for coat, moment in done.items():
        steps, thing = (*face.steps, "done", coat), f'{face.label}: done: "{clip(coat)}"'
        if coat not in known:
            fault = unknown("coat", coat, known)
            yield draft.problem(steps, f"{face.label}: done: {fault}", key=True)
            continue
        if moment.date() > today:
            text = f"{moment:%Y-%m-%d %H:%M} is after today ({today}); a coat is done when it has been laid"
            yield draft.problem(steps, f"{thing}: {text}, correct or delete it")
        yield from _before_filling(draft, face, coat, filled)
    order = [coat for coat in known if coat in done] if system else []
    for number, coat in enumerate(order):
        steps, thing = (*face.steps, "done", coat), f'{face.label}: done: "{clip(coat)}"'
        before = known[: known.index(coat)]
        missing = [other for other in before if other not in done]
        if missing:
            text = f'is done, but "{missing[-1]}" is not, which lies under it; add when that was laid'
            yield draft.problem(steps, f"{thing} {text}", key=True)
        elif number and done[coat] <= done[before[-1]]:
            under = f'"{before[-1]}" under it, {done[before[-1]]:%Y-%m-%d %H:%M}'
            text = f"{done[coat]:%Y-%m-%d %H:%M} is not after {under}; correct one of them"
            yield draft.problem(steps, f"{thing}: {text}")


def _before_filling(draft: Draft, face: FaceEntry, coat: str, panel: Panel | None) -> Iterator[Problem]:
    if panel is not None and panel.filled is not None and face.it.done[coat].date() < panel.filled:
        laid = f"{face.it.done[coat]:%Y-%m-%d}"
        text = f"{laid} is before the panel was filled ({panel.filled}); correct one of them"
        yield draft.problem((*face.steps, "done", coat), f'{face.label}: done: "{clip(coat)}": {text}')
