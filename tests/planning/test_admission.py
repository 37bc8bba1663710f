"""What may not go into the record, each with the sentence that the user reads.

A sentence says which thing, what, the limit and what to do. Lines of the command line that lack something
are read by :class:`Reader` before an entry is made of them; what they say is tried here as well.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from court import at, face, wall
from court_record import Court, probe, recorded_job

from curing.errors import CuringError
from curing.model.record import RecordEntry
from curing.sources.log_line import read_line
from curing.sources.spoken_time import instant_at
from curing.workflow.log_entries import Reader

NOW = at(5, 20, "12:00")
MINUTE = timedelta(minutes=1)
AMSTERDAM = ZoneInfo("Europe/Amsterdam")


@pytest.fixture
def court() -> Court:
    """Return a court on 20 May: 1-out has its base of 3 May; 2-out is bare; the panels were filled on 5 January."""
    inside = {"side": "in", "area": "10 m2", "height": "2.7 m", "system": "clay-lime"}
    panel = {"thickness": "300 mm", "filled": "2027-01-05"}
    made = Court(
        recorded_job(
            wall("1", face(start="2027-05-03"), inside, panel=panel),
            wall("2", face(facing="E"), panel=panel),
            wall("3", face(facing="W", done={"base": "2027-05-04 15:00"}), panel=panel),
        ),
        NOW,
    )
    made.finish("1-out", "base", at(5, 3, "14:50"))
    return made


def line(court: Court, what: str, *words: str, by: str = "bo", at: str | None = None) -> list[Any]:
    return Reader(court.desk(), court.plan, by, at).read(read_line(what, words))


def line_refused(court: Court, what: str, *words: str, **more: Any) -> str:
    with pytest.raises(CuringError) as error:
        line(court, what, *words, **more)
    return "\n".join(problem.text for problem in error.value.problems)


def tick(day: str = "2027-05-05", slot: str = "early", coat: str = "base") -> dict[str, str]:
    return {"coat": coat, "day": day, "slot": slot}


# ------------------------------------------------------------------------------------ readings


def test_a_reading_without_its_basis(court: Court) -> None:
    text = line_refused(court, "reading", "2-out", "low=18.5", "depth=100mm", "meter=either")
    assert "18.5 % has no basis; 20 % of wet weight is 25 % of dry weight" in text
    data = {"value": 18.5, "band": "low", "depth": 100.0, "meter": "probe"}
    assert "basis" in court.refusal("reading", "2-out", "bo", data)


def test_a_reading_without_its_height(court: Court) -> None:
    assert "the bottom dries last, so say low=, middle= and top=" in line_refused(
        court, "reading", "2-out", "depth=100mm", "meter=probe"
    )
    data = {"value": 18.5, "basis": "wet", "depth": 100.0, "meter": "probe"}
    assert "band" in court.refusal("reading", "2-out", "bo", data)


def test_a_reading_without_its_depth(court: Court) -> None:
    assert '"depth=" is not said' in line_refused(court, "reading", "2-out", "low=18.5", "meter=probe")
    data = {"value": 18.5, "basis": "wet", "band": "low", "meter": "probe"}
    assert "depth" in court.refusal("reading", "2-out", "bo", data)


@pytest.mark.parametrize(("value", "fine"), [(5.9, False), (6.0, True), (40.0, True), (40.1, False)])
def test_outside_the_range_of_its_meter(court: Court, value: float, fine: bool) -> None:
    faults = court.desk().faults(court.entry("reading", "2-out", "bo", probe(value)))
    assert (faults == []) is fine
    if not fine:
        assert f'{value:g} %: outside what meter "probe" reads, 6 to 40 %' in faults[0]
        assert "read again, or with another meter" in faults[0]


def test_with_a_meter_nobody_knows(court: Court) -> None:
    text = court.refusal("reading", "2-out", "bo", probe(18.0, meter="stick"))
    assert 'meter "stick": not in the job file; it has probe, either; add under meters:' in text


def test_on_another_basis_than_the_meter_has(court: Court) -> None:
    # 24 % dry would be 19.4 % wet and pass; but the job file says that this meter shows the wet basis.
    text = court.refusal("reading", "2-out", "bo", probe(24.0, basis="dry"))
    assert 'meter "probe" shows wet basis (job file, meters), not dry' in text
    assert court.desk().faults(court.entry("reading", "2-out", "bo", probe(24.0, basis="dry", meter="either"))) == []


def test_before_the_panel_was_filled(court: Court) -> None:
    text = court.refusal("reading", "2-out", "bo", probe(18.0), at=at(1, 4, "23:59"))
    assert 'on 2027-01-04: wall "2" was filled on 2027-01-05' in text
    assert court.desk().faults(court.entry("reading", "2-out", "bo", probe(18.0), at=at(1, 5, "08:00"))) == []
    weight = {"weight": 231.0, "wall": "2"}
    assert "was filled on 2027-01-05" in court.refusal("reading", None, "bo", weight, at=at(1, 4))


def test_deeper_than_the_panel(court: Court) -> None:
    text = court.refusal("reading", "2-out", "bo", probe(18.0, depth=310.0))
    assert "310 mm deep, but the panel is 300 mm thick" in text


def test_through_a_coat(court: Court) -> None:
    assert "no probe goes through a coat" in court.refusal("reading", "1-out", "bo", probe(18.0))
    assert "no probe goes through a coat" in court.refusal("reading", "3-out", "bo", probe(18.0))
    assert court.desk().faults(court.entry("reading", "1-in", "bo", probe(18.0))) == []


def test_a_bare_side_without_coats_in_the_job_may_be_read(court: Court) -> None:
    assert court.desk().faults(court.entry("reading", "2-in", "bo", probe(18.0))) == []


# --------------------------------------------------------------------------------------- times


@pytest.mark.parametrize(("minutes", "fine"), [(0, True), (10, True), (11, False), (24 * 60, False)])
def test_a_phone_may_be_ten_minutes_ahead(court: Court, minutes: int, fine: bool) -> None:
    court.now = at(5, 5, "07:30")
    faults = court.desk().faults(court.entry("misted", "1-out", "near", tick(), at=court.now + minutes * MINUTE))
    assert (faults == []) is fine
    if not fine:
        assert "lies ahead (it is 2027-05-05 07:30), by more than 10 minutes" in faults[0]
        assert "enter it when it has happened, or mend the phone's clock" in faults[0]


def test_hours_late_is_early_enough(court: Court) -> None:
    assert court.desk().faults(court.entry("misted", "1-out", "near", tick(), at=at(5, 5, "07:30"))) == []


def test_no_visit_is_ticked_before_its_day(court: Court) -> None:
    court.now = at(5, 4, "18:00")
    text = court.refusal("misted", "1-out", "near", tick("2027-05-05"), at=court.now)
    assert "the visit of 2027-05-05 can't have been on 2027-05-04 18:00" in text


def test_a_late_round_may_end_after_midnight_but_not_two_days_later(court: Court) -> None:
    assert court.desk().faults(court.entry("misted", "1-out", "near", tick(slot="late"), at=at(5, 6, "00:20"))) == []
    text = court.refusal("misted", "1-out", "near", tick(slot="late"), at=at(5, 7, "00:20"))
    assert "can't have been on 2027-05-07 00:20; give the day it was" in text


def test_a_tick_older_than_its_coat(court: Court) -> None:
    text = court.refusal("misted", "1-out", "near", tick("2027-05-03"), at=at(5, 3, "14:49"))
    assert "2027-05-03 14:49 is before its base was closed (2027-05-03 14:50)" in text
    text = court.refusal("misted", "1-out", "near", tick("2027-05-03", "late"), at=at(5, 3, "18:00"))
    assert "its visits begin the day after, so none is due on 2027-05-03" in text


def test_a_tick_of_a_coat_that_nobody_laid(court: Court) -> None:
    text = court.refusal("misted", "2-out", "near", tick(), at=at(5, 5, "07:30"))
    assert "2-out: base is not recorded as finished, so there is nothing to mist; enter that first" in text


def test_a_tick_of_a_coat_that_is_covered(court: Court) -> None:
    court.finish("1-out", "finish", at(5, 18, "15:00"))
    text = court.refusal("misted", "1-out", "near", tick("2027-05-19"), at=at(5, 19, "07:30"))
    assert "1-out: finish was laid over its base by then" in text


@pytest.mark.parametrize(
    ("said", "reads"),
    [
        # Clocks in Amsterdam go forward on 28 March 2027 at 02:00 and back on 31 October at 03:00 (2000/84/EC).
        ("2027-03-28 02:30", "does not exist: the clocks go forward over it that night"),
        ("2027-10-31 02:30", "comes twice: the clocks go back that night; say which with its offset: "
         "2027-10-31T02:30+02:00 or 2027-10-31T02:30+01:00"),
        ("2027-05-32 12:00", "is not a time"),
        ("25:00", "is not a time"),
        ("noon", "is not a time"),
    ],
)  # fmt: skip
def test_a_time_that_is_none_or_two(court: Court, said: str, reads: str) -> None:
    court.now = at(11, 1, "12:00")
    assert reads in line_refused(court, "note", "x", at=said)


def test_a_time_that_comes_twice_may_be_said_with_its_offset() -> None:
    first, second = (instant_at(f"2027-10-31T02:30+0{hour}:00", AMSTERDAM, date(2027, 11, 1)) for hour in (2, 1))
    assert second - first == timedelta(hours=1)


# ------------------------------------------------------------------------------ faces and coats


def test_of_another_job(court: Court) -> None:
    text = court.refusal("misted", "9-out", "near", tick(), at=at(5, 5))
    assert '"9-out": no wall of this job; its faces are 1-out, 1-in, 2-out, 3-out' in text


def test_of_a_side_without_coats(court: Court) -> None:
    assert "that side has no coats in this job" in court.refusal("misted", "2-in", "near", tick(), at=at(5, 5))
    assert "name one that has coats" in court.refusal("finished", "2-in", "bo", {"task": "base"})


def test_of_a_coat_it_has_not(court: Court) -> None:
    text = court.refusal("finished", "2-out", "bo", {"task": "stipple"})
    assert 'no coat is called "stipple"; its coats are base, finish, paint-1, paint-2' in text


def test_finished_twice(court: Court) -> None:
    text = court.refusal("finished", "1-out", "ida", {"task": "base"})
    assert "1-out: base was finished 2027-05-03 14:50, entry 1 by bo; a coat is finished once" in text
    assert "correct that entry if it is wrong" in text
    text = court.refusal("finished", "3-out", "ida", {"task": "base"})
    assert "the job file has base done on 2027-05-04; a coat is finished once" in text
    assert "a coat is finished once" in court.refusal("started", "1-out", "ida", {"task": "base"})


def test_finished_again_after_it_was_taken_back(court: Court) -> None:
    court.correct(court.record[0], "bo")
    court.finish("1-out", "base", at(5, 4, "15:00"))
    assert court.evidence().done["1-out.base"].at == at(5, 4, "15:00")


def test_a_coat_over_one_that_is_not_there(court: Court) -> None:
    text = court.refusal("finished", "2-out", "bo", {"task": "finish"})
    assert "2-out: base under it is not recorded as finished; enter that first, with its true time" in text


def test_a_coat_before_the_one_under_it(court: Court) -> None:
    text = court.refusal("finished", "1-out", "bo", {"task": "finish"}, at=at(5, 3, "14:50"))
    assert "base under it was closed 2027-05-03 14:50; finish comes after it" in text


def test_a_coat_laid_too_soon_is_taken_since_it_happened(court: Court) -> None:
    court.finish("1-out", "finish", at(5, 6, "15:00"))


def test_could_not_without_why(court: Court) -> None:
    assert "why is not said" in court.refusal("could-not", "1-out", "near", tick(), at=at(5, 5))


# -------------------------------------------------------------------------------------- people


def test_by_nobody(court: Court) -> None:
    with pytest.raises(ValueError, match="needs a key and a person"):
        court.entry("note", None, "", {"text": "x"})


def test_by_somebody_who_is_not_of_the_job(court: Court) -> None:
    text = court.refusal("note", None, "eve", {"text": "x"})
    assert 'by "eve": nobody of this job has that id; one of near, ida, bo, ines, owner' in text


def test_by_a_client(court: Court) -> None:
    assert "a client reads and enters nothing" in court.refusal("note", None, "owner", {"text": "x"})


@pytest.mark.parametrize("by", ["bo", "near"])
def test_a_hold_by_who_may_not(court: Court, by: str) -> None:
    text = court.refusal("hold-met", None, by, {"hold": "roof-gutter", "wall": "1"})
    assert f'1.roof-gutter: "{by}" is neither lead nor architect' in text
    assert "let ida or ines say it" in text


def test_anybody_who_works_there_may_refuse_a_hold(court: Court) -> None:
    court.say("hold-refused", None, "near", {"hold": "panel-dry", "wall": "1"})


@pytest.mark.parametrize(
    ("kind", "by", "data"),
    [
        ("assign", "bo", {"to": "near", "first": date(2027, 5, 22), "last": date(2027, 5, 22)}),
        ("keep", "near", {"face": "1-out", "coat": "finish", "day": date(2027, 5, 25), "why": "x"}),
        ("move", "bo", {"face": "1-out", "coat": "finish", "day": date(2027, 5, 25), "why": "x"}),
    ],
)
def test_a_decision_by_who_may_not(court: Court, kind: str, by: str, data: dict[str, Any]) -> None:
    court.replan()
    assert f'by "{by}": is neither lead nor architect, and only these {kind}' in court.decision_refused(
        kind, by, **data
    )


def test_a_decision_without_a_reason(court: Court) -> None:
    court.replan()
    text = court.decision_refused("move", "ida", face="1-out", coat="finish", day=date(2027, 5, 25))
    assert "no reason is given" in text


def test_rounds_for_who_does_not_mist_or_is_away(court: Court) -> None:
    sunday = {"first": date(2027, 5, 23), "last": date(2027, 5, 23)}
    assert '"ines": does not mist' in court.decision_refused("assign", "ida", to="ines", **sunday)
    court.data["people"][0]["away"] = ["2027-05-23..2027-05-24"]
    assert '"near": is away from 2027-05-23 to 2027-05-24' in court.decision_refused(
        "assign", "ida", to="near", **sunday
    )
    passed = {"to": "near", "first": "2027-05-23", "last": "2027-05-23"}
    assert 'to "near": is away' in court.refusal("passed-on", None, "bo", passed)
    assert "nobody passes a round on to himself" in court.refusal("passed-on", None, "near", passed)
    assert "has no round to pass on" in court.refusal("passed-on", None, "ines", {**passed, "to": "bo"})


HANDOVER = {
    "first": "2027-05-22",
    "last": "2027-05-30",
    "walked": "2027-05-20",
    "walked_with": "ida",
    "signed": "N. Near",
    "kit": ["sprayer", "water", "goggles", "gloves", "cards", "thermometer"],
}


def test_a_handover_is_taken_from_who_mists_was_shown_and_has_the_kit(court: Court) -> None:
    assert court.say("note", None, "near", HANDOVER).seq
    for other, told in (
        ({"kit": HANDOVER["kit"][:5]}, "kit: not ticked: thermometer"),
        ({"walked": "2027-05-21"}, "lies ahead (it is 2027-05-20)"),
        ({"walked_with": "near"}, "nobody shows a round to himself"),
        ({"walked_with": "owner"}, "is a client"),
        ({"walked_with": "jan"}, "nobody of this job has that id"),
        ({"last": "2027-05-21"}, "lies before 2027-05-22"),
        ({"first": "2027-05-10", "last": "2027-05-19"}, "is over (it is 2027-05-20)"),
        ({"last": "2027-07-21"}, "more than 60 days"),  # 22 May to 20 July are 10 + 30 + 20 days
        ({"signed": " "}, "no name is typed"),
    ):
        assert told in court.refusal("note", None, "near", {**HANDOVER, **other})
    assert court.say("note", None, "near", {**HANDOVER, "last": "2027-07-20"}).seq
    assert "does not mist" in court.refusal("note", None, "ines", HANDOVER)
    assert "not of one face" in court.refusal("note", "1-out", "near", HANDOVER)
    near = next(person for person in court.data["people"] if person["id"] == "near")
    near["away"] = ["2027-05-29..2027-06-02"]
    assert "is away from 2027-05-29" in court.refusal("note", None, "near", HANDOVER)


def test_a_handover_gives_nobody_a_round_by_itself(court: Court) -> None:
    court.say("note", None, "near", HANDOVER)
    assert court.desk().evidence.turns == {}


# ------------------------------------------------------------------------------------- holds


def test_a_hold_that_is_not_there(court: Court) -> None:
    assert 'hold "roof": not there' in court.refusal("hold-met", None, "ida", {"hold": "roof", "wall": "1"})
    assert "recorded once a wall, face or job" in court.refusal("hold-met", None, "ida", {"hold": "panel-dry"})


def test_a_test_that_was_not_made(court: Court) -> None:
    text = court.refusal("hold-met", "1-out", "ida", {"hold": "base-dry"})
    assert "1-out.base-dry: not recorded as passed: hollows; try them and log them" in text


def test_a_hold_of_a_coat_that_is_not_there(court: Court) -> None:
    text = court.refusal("hold-met", "2-out", "ida", {"hold": "base-dry"})
    assert "judges the base, which is not recorded as finished by then" in text


def test_paint_is_not_judged_by_a_drop_on_the_base(court: Court) -> None:
    # The finish is of the job file; the tests were made on the base, before it was laid.
    for name in ("water-drop", "dusting"):
        court.say("test", "3-out", "bo", {"test": name, "passed": True, "coat": "base"}, at=at(5, 10))
    court.data["walls"][2]["faces"][0]["done"]["finish"] = "2027-05-18 15:00"
    text = court.refusal("hold-met", "3-out", "ida", {"hold": "paint-tests"})
    assert "not recorded as passed: water-drop, dusting" in text


# -------------------------------------------------------------------------------- corrections


def correction(court: Court, corrects: str, by: str = "bo", key: str = "c", **more: Any) -> RecordEntry:
    return court.entry("correction", "1-out", by, {"corrects": corrects, **more}, key=key)


def test_of_nothing(court: Court) -> None:
    (text,) = court.desk().faults(correction(court, "nowhere"))
    assert '"nowhere": no such entry to correct; look up its number with curing record' in text
    assert "there is no entry 77" in line_refused(court, "correct", "77", "withdrawn")


def test_of_itself(court: Court) -> None:
    (text,) = court.desk().faults(correction(court, "c"))
    assert "a correction names an earlier entry, not itself" in text


def test_of_one_corrected_already(court: Court) -> None:
    first = court.correct(court.record[0], "bo")
    (text,) = court.desk().faults(correction(court, court.record[0].key))
    assert f"entry 1 was corrected already, by entry {first.seq}; correct that one" in text


def test_of_somebody_elses_entry(court: Court) -> None:
    (text,) = court.desk().faults(correction(court, court.record[0].key, "near"))
    assert 'by "near": entry 1 is by "bo"; who said it corrects it, or ida or ines' in text
    assert court.desk().faults(correction(court, court.record[0].key, "ines")) == []


def test_with_what_would_not_be_taken_itself(court: Court) -> None:
    new = {"kind": "finished", "at": at(6, 3).isoformat(), "face": "1-out", "data": {"task": "base"}}
    assert "lies ahead" in court.desk().faults(correction(court, court.record[0].key, instead=new))[0]
    new = {"kind": "hold-met", "at": NOW.isoformat(), "data": {"hold": "roof-gutter", "wall": "1"}}
    assert "neither lead nor architect" in court.desk().faults(correction(court, court.record[0].key, instead=new))[0]
    new = {"kind": "correction", "at": NOW.isoformat(), "data": {"corrects": "k2"}}
    assert "correction in a correction" in court.desk().faults(correction(court, court.record[0].key, instead=new))[0]


def test_with_a_time_that_has_no_zone(court: Court) -> None:
    new = {"kind": "finished", "at": "2027-05-04T15:00", "face": "1-out", "data": {"task": "base"}}
    (text,) = court.desk().faults(correction(court, court.record[0].key, instead=new))
    assert "instead.at" in text


def test_of_a_correction_with_a_third_time(court: Court) -> None:
    def finish(clock: datetime) -> dict[str, Any]:
        return {"kind": "finished", "at": clock.isoformat(), "face": "1-out", "data": {"task": "base"}}

    second = court.correct(court.record[0], "bo", finish(at(5, 3, "15:30")))
    third = court.correct(second, "bo", finish(at(5, 3, "16:10")))
    done = court.evidence().done["1-out.base"]
    assert (done.at, done.cause.key) == (at(5, 3, "16:10"), third.key)
    court.correct(third, "bo")
    assert court.evidence().done["1-out.base"].at == at(5, 3, "15:30")


def test_of_a_coat_on_which_another_stands(court: Court) -> None:
    over = court.finish("1-out", "finish", at(5, 18, "15:00"))
    (text,) = court.desk().faults(correction(court, court.record[0].key))
    assert f"1-out.finish, closed 2027-05-18 15:00 (entry {over.seq}), stands on it; correct that first" in text
    later = {"kind": "finished", "at": at(5, 19).isoformat(), "face": "1-out", "data": {"task": "base"}}
    assert "stands on it" in court.desk().faults(correction(court, court.record[0].key, instead=later))[0]
    sooner = {"kind": "finished", "at": at(5, 4).isoformat(), "face": "1-out", "data": {"task": "base"}}
    assert court.desk().faults(correction(court, court.record[0].key, instead=sooner)) == []


def test_of_a_correction_that_would_bring_back_a_second_finish(court: Court) -> None:
    withdrawn = court.correct(court.record[0], "bo")
    again = court.finish("1-out", "base", at(5, 4, "15:00"))
    (text,) = court.desk().faults(correction(court, withdrawn.key, key="d"))
    assert f"(entry {again.seq})" in text
