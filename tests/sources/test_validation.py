"""What pydantic finds becomes a list of problems with places, in plain words."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Any, Literal

import pytest
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from curing.errors import FileError, Place, Problem
from curing.model.quantities import AreaM2, LengthMM, Percent
from curing.sources.validation import raise_problems, unknown, validate
from curing.sources.yaml_nodes import compose


class Side(StrEnum):
    OUT = "out"
    IN = "in"


def _side(value: Any) -> Any:
    return Side(value) if value in ("out", "in") else value


class _File(BaseModel):
    model_config = ConfigDict(strict=True, frozen=True, extra="forbid")


class Coat(_File):
    thickness: LengthMM
    passes: Annotated[int, Field(ge=1, le=3)] = 1


class Face(_File):
    side: Annotated[Side, BeforeValidator(_side)] | Literal["both"] = "both"
    bed: Literal["earth", "lath"] = "earth"
    area: AreaM2
    coats: Annotated[list[Coat], Field(min_length=1, max_length=2)] = []
    rules: dict[Annotated[str, Field(pattern="^[a-z]+[.][a-z]+$")], LengthMM] = {}
    shade: Percent | bool | None = None

    @model_validator(mode="after")
    def _not_too_thick(self) -> Face:
        if sum(coat.thickness for coat in self.coats) > 60:
            raise ValueError("the coats are thicker than 60 mm together; take one away")
        return self


class Person(_File):
    id: Annotated[str, Field(pattern="^[a-z]+$", description="small letters only", examples=["lena"])]
    name: Annotated[str, Field(min_length=1, max_length=10)]
    mists: bool = False
    reach: float = 1.0
    sides: Annotated[
        tuple[Annotated[Side, BeforeValidator(_side)], ...],
        BeforeValidator(lambda v: tuple(v) if isinstance(v, list) else v),
    ] = ()


def told(text: str, model: type[BaseModel] = Face) -> list[str]:
    """Every problem of a text whose key ``it`` holds one thing."""
    document, problems = compose(text, "f"), list[Problem]()
    made = validate(model, document.data["it"], document, ("it",), "it", problems)
    assert (made is None) == bool(problems)
    return [str(problem).removeprefix("f:") for problem in problems]


def face(more: str) -> list[str]:
    return told(f"it:\n  area: 10 m2\n  {more}\n")


def person(more: str) -> list[str]:
    return told(f"it: {{id: lena, name: Lena, {more}}}\n", Person)


def test_a_good_part_becomes_its_model() -> None:
    document, problems = compose("wall: {area: 10 m2, coats: [{thickness: 1/2 in}]}", "f"), list[Problem]()
    made = validate(Face, document.data["wall"], document, ("wall",), 'wall "3"', problems)
    assert made == Face.model_construct(area=10.0, coats=[Coat.model_construct(thickness=12.7)])
    assert problems == []


def test_every_fault_is_told_with_thing_place_and_remedy() -> None:
    text = "faces:\n- areaa: 10 m2\n  bed: laths\n  coats:\n  - thickness: 13\n  - {thickness: 8 mm, passes: 4}\n"
    document, problems = compose(text, "alder-court.yaml"), list[Problem]()
    assert validate(Face, document.data["faces"][0], document, ("faces", 0), 'wall "3", out', problems) is None
    with pytest.raises(FileError) as error:
        raise_problems(problems)
    assert str(error.value).split("\n") == [
        'alder-court.yaml:2:3: wall "3", out: "area" is missing; add "area: 10 m2"',
        'alder-court.yaml:2:3: wall "3", out: unknown key "areaa"; did you mean "area"?',
        'alder-court.yaml:3:8: wall "3", out: bed: unknown value "laths"; did you mean "lath"?',
        'alder-court.yaml:5:16: wall "3", out: coats: item 1: thickness: 13 has no unit; write "13 mm" or "1/2 in"',
        'alder-court.yaml:6:31: wall "3", out: coats: item 2: passes: 4 is more than 3; write 3 or less',
    ]


@pytest.mark.parametrize(
    ("more", "problem"),
    [
        ("side: attic", '3:9: it: side: unknown value "attic"; write one of "out", "in", "both"'),
        ("side: 3", '3:9: it: side: 3 is not allowed; write one of "out", "in", "both"'),
        ("bed:", '3:3: it: bed: nothing is not allowed; write one of "earth", "lath"'),
        ("coats: []", "3:10: it: coats: nothing is given; write at least one item"),
        ("coats: {a: 1}", '3:10: it: coats: a mapping is not a list; write a list, each item after "- "'),
        ("coats: 13 mm", '3:10: it: coats: "13 mm" is not a list; write a list, each item after "- "'),
        ("coats: [1]",
         '3:11: it: coats: item 1: 1 is not keys and values; write keys and values, each as "key: value"'),
        ("coats: [{}]", '3:11: it: coats: item 1: "thickness" is missing; add "thickness: 13 mm"'),
        ("coats: [{thickness: 8 mm}, {thickness: 8 mm}, {thickness: 8 mm}]",
         "3:10: it: coats: a list has 3 items; at most 2 are allowed; shorten it"),
        ("coats: [{thickness: 8 mm, passes: 0}]", "3:37: it: coats: item 1: passes: 0 is less than 1; write 1 or more"),
        ("coats: [{thickness: 8 mm, passes: 1.5}]",
         "3:37: it: coats: item 1: passes: 1.5 is not a whole number; write a whole number, such as 3"),
        ("coats: [{thickness: 40 mm}, {thickness: 21 mm}]",
         "2:3: it: the coats are thicker than 60 mm together; take one away"),
        ("rules: {Base: 13 mm}",
         '3:11: it: rules: Base: "Base" does not have the form ^[a-z]+[.][a-z]+$; write it like that'),
        ("rules: {base.most: 13}", '3:22: it: rules: base.most: 13 has no unit; write "13 mm" or "1/2 in"'),
        ("shade: 25",
         '3:10: it: shade: 25 has no unit; write "25 %" or "20.4 %"; or 25 is not true or false; write true or false'),
        ("colour: red", '3:3: it: unknown key "colour"; write one of "side", "bed", "area", "coats", "rules", "shade"'),
    ],
)  # fmt: skip
def test_a_fault_of_a_face(more: str, problem: str) -> None:
    assert face(more) == [problem]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("it: {id: 07, name: Lena}", '1:10: it: id: 07 is read as a number, not as text; write it in quotes: "07"'),
        ("it: {id: lena, name: true}", '1:22: it: name: true is read as true, not as text; write it in quotes: "true"'),
        ("it: {id: lena, name: }", "1:16: it: name: nothing is not text; write text"),
        ('it: {id: lena, name: ""}', "1:22: it: name: nothing is given; write text"),
        ("it: {id: lena, name: Magdalena Lena}",
         '1:22: it: name: "Magdalena Lena" has 14 characters; at most 10 are allowed; shorten it'),
        ("it: {id: Lena, name: Lena}", '1:10: it: id: "Lena" is not small letters only; write for instance "lena"'),
        ("it: {name: Lena}", '1:5: it: "id" is missing; add "id: lena"'),
        ("it: [a]", '1:5: it: a list is not keys and values; write keys and values, each as "key: value"'),
        ("it:", '1:1: it: nothing is not keys and values; write keys and values, each as "key: value"'),
    ],
)  # fmt: skip
def test_a_fault_of_a_person(text: str, problem: str) -> None:
    assert told(text + "\n", Person) == [problem]


@pytest.mark.parametrize(
    ("more", "problem"),
    [
        ("mists: yes", 'mists: "yes" is not true or false; write true or false'),
        ("reach: far", 'reach: "far" is not a number; write a number, such as 52.1'),
        ("sides: [out, inn]", 'sides: item 2: unknown value "inn"; did you mean "in"?'),
        ("sides: out", 'sides: "out" is not a list; write a list, each item after "- "'),
    ],
)
def test_a_wrong_type_is_told_in_words(more: str, problem: str) -> None:
    (fault,) = person(more)
    assert fault.endswith(f" it: {problem}")


def test_a_long_or_broken_value_is_shortened_in_the_message() -> None:
    (fault,) = face("bed: " + "x" * 5_000)
    assert len(fault) < 120


def test_what_the_reading_refused_is_not_complained_about_twice() -> None:
    document, problems = compose("it: {area: .nan, coats: *x}", "f"), list[Problem]()
    assert len(document.problems) == 2
    assert validate(Face, document.data["it"], document, ("it",), "it", problems) is None
    assert problems == []


def test_a_thing_without_a_name_is_left_out() -> None:
    document, problems = compose("area: 10", "f"), list[Problem]()
    validate(Face, document.data, document, (), "", problems)
    assert str(problems[0]) == 'f:1:7: area: 10 has no unit; write "10 m2" or "108 ft2"'


def test_a_model_without_a_schema_still_gets_its_problems() -> None:
    class Odd(BaseModel):
        model_config = ConfigDict(arbitrary_types_allowed=True, extra="forbid")
        thing: Exception
        area: AreaM2

    problems = told("it: {thing: x, area: 3, z: 1}", Odd)
    assert any(fault.startswith('1:22: it: area: 3 has no unit; write "3 m2"') for fault in problems)
    assert any('unknown key "z"' in fault for fault in problems)


def test_a_hundred_problems_are_shown_in_the_order_of_the_file() -> None:
    problems = [Problem(Place("f", line, 1), f"line {line}") for line in range(250, 0, -1)]
    with pytest.raises(FileError) as error:
        raise_problems([*problems, *problems, Problem(Place("f"), "whole")])
    shown = [str(problem) for problem in error.value.problems]
    assert shown == ["f: whole", *(f"f:{line}:1: line {line}" for line in range(1, 100)), "and 151 more"]
    raise_problems([])


def test_a_name_close_by_is_suggested() -> None:
    assert unknown("key", "hight", ["height", "area"]) == 'unknown key "hight"; did you mean "height"?'
    assert unknown("key", "AREA", ["height", "area"]) == 'unknown key "AREA"; did you mean "area"?'
    assert unknown("key", "x", []) == 'unknown key "x"; delete it'


def test_every_place_lies_on_the_key_or_value_it_is_about() -> None:
    text = "it:\n  area: 13\n  coats:\n    - thickness: 1\n      pases: 2\n    - passes: 9\n"
    document, problems = compose(text, "f"), list[Problem]()
    validate(Face, document.data["it"], document, ("it",), "it", problems)
    lines = text.split("\n")
    there: list[Any] = [(p.place, lines[p.place.line - 1][p.place.column - 1 :]) for p in problems if p.place]
    assert sorted(rest.split("\n")[0] for _, rest in there) == ["1", "13", "9", "pases: 2", "passes: 9"]
