"""What holds of any reminders, whatever was ticked, whoever is there and quiet, whatever span is looked at."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import cache
from random import Random

from court import WORDS
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import invent

from curing.model.evidence import Cause, Closed, Evidence, Tick, Turn
from curing.model.plan import Booking, Change, Kind, Moment, Notice, Reason, Slot, State
from curing.model.record import RecordKind
from curing.model.reminders import Kind as Told
from curing.planning.expand import identify
from curing.planning.reminding import Scene, falls_due
from curing.planning.roots import roots_of
from curing.planning.worktime import zone_of
from curing.workflow.planning import next_plan

SEEDS = st.integers(0, 10**6)


@cache
def planned(number: int) -> Scene:
    """Return the scene of one of a few invented jobs, planned once, with nothing said."""
    made = invent(number, 6)
    job = made.job()
    plan, _ = next_plan(job, None, made.now, WORDS)
    return Scene(job, roots_of(job, identify(job, None)), plan, Evidence(), ())


def drawn(seed: int) -> Scene:
    """Return a scene with coats laid and visits ticked at random, other quiet hours, people gone, and changes."""
    rng = Random(seed)
    scene = planned(rng.randrange(4))
    plan = scene.plan
    cause = Cause("k", "misted", plan.as_of, "x")
    done = {b.id: Closed(b.end, None, cause) for b in plan.bookings if b.kind is Kind.COAT and rng.random() < 0.8}
    share = rng.choice([0.0, 0.5, 0.9])
    visits = {v.id: v for walk in plan.rounds for v in walk.visits if rng.random() < share}
    kinds = [RecordKind.MISTED, RecordKind.COULD_NOT]
    ticks = {id_: Tick(rng.choice(kinds), plan.as_of, cause) for id_ in visits}
    rounds = tuple(replace(one, who=()) if rng.random() < 0.1 else one for one in plan.rounds)
    people = [
        one.model_copy(update={"quiet": quiet(rng), "notice": float(rng.choice([0, 30, 90, 720]))})
        for one in scene.job.file.people
        if rng.random() < 0.9 or one is scene.job.file.people[0]
    ]
    crews = tuple(
        crew.model_copy(update={"people": kept})
        for crew in scene.job.file.crews
        if (kept := tuple(one for one in crew.people if one in {p.id for p in people}))
    )
    file = scene.job.file.model_copy(update={"people": tuple(people), "crews": crews or scene.job.file.crews})
    if not crews:
        return replace(scene, evidence=Evidence(done=done, visits=ticks))
    listed = rng.sample(list(plan.everything()), min(20, len(plan.everything())))
    changes = tuple(
        Change(b.id, b.uid, b.kind, b.faces, b.zone, Moment(b.start, b.end, State.FIRM, b.who), None, Reason("r", "r"))
        for b in listed
    )
    saved = min(b.start for b in listed) - timedelta(hours=rng.randrange(30))
    return replace(
        scene,
        job=scene.job.model_copy(update={"file": file}),
        plan=replace(plan, rounds=rounds),
        evidence=Evidence(done=done, visits=ticks, turns=turned(rng, scene, rounds)),
        moved=((2, saved, changes),),
        warnings=(Notice("r", "too_late", {}, (), urgent=True),) if rng.random() < 0.3 else (),
        weather_read=plan.as_of if rng.random() < 0.3 else None,
    )


def turned(rng: Random, scene: Scene, rounds: tuple[Booking, ...]) -> dict[tuple[date, Slot], tuple[Turn, ...]]:
    """Return walks that were passed on, or given by decision, also by and to people who left."""
    people = [one.id for one in scene.job.file.people]
    found: dict[tuple[date, Slot], tuple[Turn, ...]] = {}
    for walk in rounds:
        if walk.slot is not None and rng.random() < 0.2:
            cause = Cause("k", "passed-on", walk.start + timedelta(hours=rng.randrange(-30, 3)), "x")
            by = rng.choice(["", *walk.who])
            day = walk.start.astimezone(zone_of(walk.zone)).date()
            found[day, walk.slot] = (Turn(rng.choice(people), "X", by, cause),)
    return found


def quiet(rng: Random) -> tuple[int, int]:
    return rng.choice(
        [(1260, 360), (0, 0), (240, 1439), (1080, 600), (600, 1080), (780, 720), (1110, 420), (300, 1440)]
    )


def span(rng: Random, scene: Scene) -> tuple[datetime, datetime]:
    first = scene.plan.as_of + timedelta(minutes=rng.randrange(0, 60 * 24 * 60))
    return first, first + timedelta(minutes=rng.randrange(1, 6 * 24 * 60))


def inside_quiet(start: int, end: int, minute: float) -> bool:
    """Tell by hand whether a minute of the day lies within quiet hours; their own edges do not."""
    if start == end:
        return False
    return start < minute < end if start < end else minute > start or minute < end


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_what_holds_of_every_occasion(seed: int):
    rng, scene = Random(seed), drawn(seed)
    first, last = span(rng, scene)
    found = falls_due(scene, first, last)
    assert len({(one.key, one.person) for one in found}) == len(found), "nobody is told twice"
    people = {scene.roots.people[one.id]: one for one in scene.job.file.people}
    for one in found:
        assert first < one.due <= last
        assert one.due < one.until
        assert one.due.utcoffset() == timedelta(0)
        person = people[one.person]
        here = one.due.astimezone(zone_of(str(one.values["zone"])))
        minute = here.hour * 60 + here.minute + here.second / 60 + here.microsecond / 6e7
        if not one.rings_in_quiet:
            assert not inside_quiet(*person.quiet, minute), (one.key, person.quiet, here)
        if one.kind in (Told.ROUND, Told.MISSED, Told.NOBODY):
            assert one.about
            assert not set(one.about) & scene.evidence.visits.keys(), "it has an answer"
        if one.kind is Told.MISSED and not one.values["lead"]:
            here = one.until.astimezone(zone_of(str(one.values["zone"]))) - timedelta(microseconds=1)
            assert here.date().isoformat() == one.values["day"], "what was left out on a day rings on that day"
        if one.kind is Told.MISSED:
            coats = {visit.rpartition(".")[0].rpartition(".")[0] for visit in one.about}
            assert coats <= scene.evidence.done.keys(), "nothing was laid"


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_two_spans_that_meet_tell_what_both_together_tell(seed: int):
    rng, scene = Random(seed), drawn(seed)
    first, last = span(rng, scene)
    whole = falls_due(scene, first, last)
    # Where something falls due, and a microsecond before it, are the hardest places to cut.
    cuts = [first + (last - first) * rng.random(), *(one.due for one in rng.sample(whole, min(2, len(whole))))]
    cut = rng.choice(cuts) - timedelta(microseconds=rng.randrange(2))
    assert (*falls_due(scene, first, cut), *falls_due(scene, cut, last)) == whole


@settings(max_examples=15, deadline=None)
@given(SEEDS)
def test_a_tick_takes_away_and_adds_nothing_but_the_summary(seed: int):
    rng, scene = Random(seed), drawn(seed)
    first, last = span(rng, scene)
    before = {(one.key, one.person, one.due) for one in falls_due(scene, first, last) if one.kind is not Told.SUMMARY}
    cause = Cause("k", "misted", first, "x")
    walk = rng.choice(scene.plan.rounds)
    ticks = {one.id: Tick(RecordKind.MISTED, first, cause) for one in walk.visits}
    evidence = replace(scene.evidence, visits={**scene.evidence.visits, **ticks})
    after = falls_due(replace(scene, evidence=evidence), first, last)
    assert {(one.key, one.person, one.due) for one in after if one.kind is not Told.SUMMARY} <= before
    assert not any(visit in one.about for one in after for visit in ticks)
