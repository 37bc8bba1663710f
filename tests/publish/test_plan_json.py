"""The written plan: comes back as it was, says where it is wrong, and is as its schema says."""

from __future__ import annotations

import copy
import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sample_plans import NOW, any_plans, booking, plan, walk

from curing.errors import FileError
from curing.model.plan import Absence, Notice, Plan, Reason
from curing.publish.calendar import feeds
from curing.publish.plan_json import dump, load, plan_schema, text
from curing.publish.words import CATALOGUE, Words

WORDS = Words()
SLOW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


def sample() -> Plan:
    start = datetime(2027, 5, 3, 5, 0, tzinfo=UTC)
    coat = booking(
        "3-out.finish",
        start,
        thickness=8,
        ready=date(2027, 5, 2),
        until=start + timedelta(hours=9, seconds=1),
        absent=(Absence("tom", start, start + timedelta(minutes=30)),),
        limits={"finish.air_least": 8.0},
        reason=Reason("job.start", "start", {"day": "2027-05-03", "none": None, "yes": True, "n": 3, "x": 1.5}),
    )
    warning = Notice("plan.nobody", "nobody", {"day": "2027-05-03"}, ("3-out",), urgent=True)
    return plan([coat], [walk(["3-out"], start + timedelta(hours=11))], warnings=(warning,))


def written() -> dict[str, Any]:
    return dump(sample(), WORDS)


def faults(data: Any, file: str = "plan.json") -> str:
    with pytest.raises(FileError) as caught:
        load(data, file)
    return str(caught.value)


def test_instants_stand_in_utc_and_in_local_time() -> None:
    found = written()["bookings"][0]
    assert found["start"] == {"utc": "2027-05-03T05:00:00Z", "local": "2027-05-03T07:00+02:00"}
    assert found["until"] == {"utc": "2027-05-03T14:00:01Z", "local": "2027-05-03T16:00:01+02:00"}
    assert found["absent"][0]["end"]["local"] == "2027-05-03T07:30+02:00"
    assert written()["as_of"] == "2026-06-09T04:45:00Z"


def test_local_time_follows_the_change_of_the_clock() -> None:
    days = [datetime(2027, 10, 30, 5, 30, tzinfo=UTC), datetime(2027, 10, 31, 6, 30, tzinfo=UTC)]
    data = dump(plan([], [walk(["3-out"], day) for day in days]), WORDS)
    assert [one["start"]["local"] for one in data["rounds"]] == ["2027-10-30T07:30+02:00", "2027-10-31T07:30+01:00"]


def test_the_sentence_of_a_reason_stands_beside_its_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(CATALOGUE, "why.test_start", "The job file says not before {day}.")  # type: ignore[attr-defined]
    made = booking("3-out.base", NOW, reason=Reason("job.start", "test_start", {"day": "2027-05-03"}))
    found = dump(plan([made]), WORDS)["bookings"][0]["reason"]
    assert found["rule"] == "job.start"
    assert found["text"] == "The job file says not before Mon 3 May."
    assert found["values"] == {"day": "2027-05-03"}


def test_a_sentence_this_version_lacks_is_told_by_its_rule() -> None:
    made = booking("3-out.base", NOW, reason=Reason("own.rule", "a sentence nobody knows"))
    assert dump(plan([made]), WORDS)["bookings"][0]["reason"]["text"] == "rule own.rule"


def test_equal_plans_have_equal_bytes_whatever_the_order_of_their_tables() -> None:
    one = replace(sample(), inputs={"b": "2", "a": "1"})
    other = replace(sample(), inputs={"a": "1", "b": "2"}, bookings=(replace(one.bookings[0], thickness=8.0),))
    assert text(dump(one, WORDS)) == text(dump(other, WORDS))
    # A store may give the names back in another order.
    shuffled = json.loads(json.dumps(dump(one, WORDS), sort_keys=True))
    assert text(shuffled) == text(dump(one, WORDS))


def test_the_text_is_one_that_people_can_read_and_compare() -> None:
    lines = text(dump(replace(sample(), name="Süd"), WORDS))
    assert lines.endswith("}\n")
    assert '\n "name": "Süd",\n' in lines
    with pytest.raises(ValueError):
        text({"x": float("nan")})


@settings(SLOW, max_examples=40)
@given(any_plans())
def test_any_plan_comes_back_exactly(made: Plan) -> None:
    data = dump(made, WORDS)
    again = load(json.loads(text(data)))
    assert again == made
    assert text(dump(again, WORDS)) == text(data)


# -- faults --------------------------------------------------------------------------------


def test_a_newer_plan_is_refused_with_what_to_do() -> None:
    assert faults({**written(), "format": 2}, "old/plan.json") == (
        "old/plan.json: format: 2 is newer than 1, the newest that can be read; install a newer curing"
    )
    assert "newer" in faults({**written(), "format": 10**5000})


@pytest.mark.parametrize("data", [None, [], "plan", 3, {}, {"bookings": []}])
def test_what_is_no_plan_is_called_so(data: Any) -> None:
    assert "this is no written plan" in faults(data)


@pytest.mark.parametrize("number", [0, -1, True, "1", 1.0, None])
def test_a_format_that_never_was_is_refused(number: Any) -> None:
    assert "format" in faults({**written(), "format": number})


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        (("bookings", 0, "start", "utc"), "2027-05-03 05:00", "bookings[0].start.utc: "),
        (("bookings", 0, "start", "utc"), "2027-02-30T05:00:00Z", "bookings[0].start.utc: "),
        (("bookings", 0, "start", "utc"), "1999-12-31T05:00:00Z", "bookings[0].start.utc: "),
        (("bookings", 0, "start", "local"), "2027-05-03T08:00+02:00", "is not the local time of 2027-05-03T05:00:00Z"),
        (("bookings", 0, "start"), "2027-05-03T05:00:00Z", "bookings[0].start: "),
        (("bookings", 0, "ready"), "3 May", '"3 May" is not a day such as 2027-05-03'),
        (("bookings", 0, "kind"), "coffee", '"coffee" is not one of coat, look, reading, test, cover, round'),
        (("bookings", 0, "thickness"), float("nan"), "bookings[0].thickness: this number is not a number"),
        (("bookings", 0, "thickness"), True, "bookings[0].thickness: true is not a number"),
        (("bookings", 0, "faces"), "3-out", "bookings[0].faces: "),
        (("bookings", 0, "faces", 0), "9-out", '"9-out" is not a face of this plan'),
        (("bookings", 0, "site"), "moon", '"moon" is not a site of this plan'),
        (("bookings", 0, "zone"), "Europe/Nowhere", '"Europe/Nowhere" is not a time zone'),
        (("bookings", 0, "reason", "values", "day"), ["x"], "bookings[0].reason.values.day: a list is not"),
        (("bookings", 0, "reason", "values", "n"), 10**400, "this number is not"),
        (("bookings", 0, "colour"), "red", "bookings[0].colour: no field of a plan is called so"),
        (("rounds", 0, "visits", 0, "day"), 1.5, "rounds[0].visits[0].day: 1.5 is not a whole number"),
        (("rounds", 0, "visits", 0, "face"), "9-out", '"9-out" is not a face of this plan'),
        (("name",), "half a sign \ud800", "name: "),
        (("name",), None, "name: nothing is not text"),
        (("people",), {}, "people: a table is not a list"),
        (("inputs",), [], "inputs: a list is not a table"),
    ],
)  # fmt: skip
def test_a_fault_is_told_with_its_place(path: tuple[Any, ...], value: Any, says: str) -> None:
    data = written()
    place: Any = data
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    told = faults(data)
    assert says in told
    assert told.startswith("plan.json: ")
    assert "write the plan again" in told
    assert "\n" not in told


def test_what_is_missing_is_named_and_what_has_a_default_may_be() -> None:
    data = written()
    del data["rounds"][0]["end"]
    assert "rounds[0].end: is missing" in faults(data)
    data = written()
    del data["bookings"][0]["limits"], data["warnings"]
    assert load(data).warnings == ()


def test_two_events_with_one_uid_are_refused() -> None:
    data = written()
    data["rounds"][0]["uid"] = data["bookings"][0]["uid"]
    assert "stands twice" in faults(data)


def test_an_end_before_its_start_is_refused() -> None:
    data = written()
    data["rounds"][0]["end"] = {"utc": "2020-01-01T00:00:00Z"}
    assert "rounds[0].end: it is before start" in faults(data)


def test_many_faults_are_told_together_and_not_without_end() -> None:
    data = written()
    data["faces"] = [3] * 1000
    lines = faults(data).splitlines()
    assert len(lines) == 21
    assert "980 more faults" in lines[-1]


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=5), inner, max_size=2),
    max_leaves=4,
)


@SLOW
@given(st.data())
def test_a_damaged_plan_never_ends_in_a_traceback(data: st.DataObject) -> None:
    damaged: Any = copy.deepcopy(written())
    for _ in range(data.draw(st.integers(1, 3))):
        place: Any = damaged
        while True:
            keys = list(place) if isinstance(place, dict) else list(range(len(place)))
            key = data.draw(st.sampled_from(keys)) if keys else None
            if key is None or not isinstance(place[key], dict | list) or data.draw(st.integers(0, 4)) == 0:
                break
            place = place[key]
        what = data.draw(st.sampled_from(["change", "drop", "add"]))
        if key is None or what == "add":
            new = data.draw(json_values)
            place.update({data.draw(st.text(max_size=5)): new}) if isinstance(place, dict) else place.append(new)
        elif what == "drop":
            del place[key]
        else:
            place[key] = data.draw(json_values)
    try:
        made = load(damaged)
    except FileError:
        return
    # What can be read can also be shown.
    dump(made, WORDS)
    feeds(made, WORDS, NOW)


@given(json_values)
def test_any_json_is_read_or_refused(data: Any) -> None:
    assert "plan.json: " in faults({**data, "format": 1} if isinstance(data, dict) else data)


# -- schema --------------------------------------------------------------------------------


def unlike(value: Any, schema: Any, whole: dict[str, Any], path: str = "") -> list[str]:
    """Where a value differs from a JSON Schema: the few words of draft 2020-12 that are used."""
    if "$ref" in schema:
        return unlike(value, whole["$defs"][schema["$ref"].removeprefix("#/$defs/")], whole, path)
    if "anyOf" in schema:
        found = [unlike(value, one, whole, path) for one in schema["anyOf"]]
        return [] if [] in found else min(found, key=len)
    if "enum" in schema and value not in schema["enum"]:
        return [f"{path}: {value!r}"]
    if "const" in schema:
        return [] if value == schema["const"] else [f"{path}: {value!r}"]
    names = schema.get("type", [])
    kinds: dict[str, Any] = {"string": str, "object": dict, "array": list, "boolean": bool, "null": type(None)}
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    fits = {"number": is_number, "integer": is_number and isinstance(value, int)}
    fits |= {name: isinstance(value, kind) for name, kind in kinds.items()}
    if names and not any(fits[name] for name in ([names] if isinstance(names, str) else names)):
        return [f"{path}: {value!r}"]
    if "pattern" in schema and not re.search(schema["pattern"], value):
        return [f"{path}: {value!r}"]
    wrong = []
    if isinstance(value, list):
        wrong += [w for k, one in enumerate(value) for w in unlike(one, schema["items"], whole, f"{path}[{k}]")]
    if isinstance(value, dict):
        known, other = schema.get("properties", {}), schema.get("additionalProperties")
        wrong += [f"{path}.{name} missing" for name in schema.get("required", []) if name not in value]
        for name, one in value.items():
            if name in known or other:
                wrong += unlike(one, known.get(name, other), whole, f"{path}.{name}")
            else:
                wrong.append(f"{path}.{name} unknown")
    return wrong


@settings(SLOW, max_examples=25)
@given(any_plans())
def test_every_written_plan_is_as_the_schema_says(made: Plan) -> None:
    schema = plan_schema()
    assert unlike(json.loads(text(dump(made, WORDS))), schema, schema) == []


def test_the_schema_names_every_field_that_is_written() -> None:
    schema, data = plan_schema(), written()
    assert set(schema["properties"]) == set(data)
    later = {"under"}  # left out while it is empty
    assert set(schema["$defs"]["Booking"]["properties"]) - later == set(data["bookings"][0])
    assert schema["properties"]["format"] == {"const": 1}
    json.dumps(schema)


@pytest.mark.parametrize(
    ("group", "field", "value"),
    [("bookings", "start", "2027-05-03"), ("bookings", "kind", "x"), ("rounds", "colour", 1), ("rounds", "slot", 3)],
)
def test_the_schema_refuses_what_load_refuses(group: str, field: str, value: Any) -> None:
    data = written()
    data[group][0][field] = value
    schema = plan_schema()
    assert unlike(data, schema, schema)
    faults(data)
