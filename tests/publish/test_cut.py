"""The cut through a wall and the plan of the building: what somebody would see on them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from xml.etree import ElementTree

import pytest

from curing.model.plan import Booking, CoatDates, FacePlan, Plan
from curing.publish.building_plan import Spot, building_plan
from curing.publish.cut import EDGE, Side, cut, edge
from curing.publish.layers import Fill, Layer, Standing, layers, layers_of, patterns
from curing.publish.words import Words
from tests.publish.sample_plans import booking, face, plan

SVG = "{http://www.w3.org/2000/svg}"
LAID = datetime(2026, 6, 1, 12, tzinfo=UTC)


def parsed(svg: str) -> ElementTree.Element:
    for word in ("style=", "<script", "<style", " on"):
        assert word not in svg.replace(" one", "").replace(" on ", "")
    return ElementTree.fromstring(svg)


def built(coats: str, laid: int, *, visits: int = 6) -> tuple[FacePlan, dict[str, Booking]]:
    """A face with these coats, the first so many of them laid; what is named paint has no thickness and no visits."""
    made, bookings = [], {}
    for k, name in enumerate(coats.split()):
        paint = name.startswith("paint")
        start = datetime(2026, 6, 1 + k, 7, tzinfo=UTC)
        bookings[f"1-out.{name}"] = booking(f"1-out.{name}", start, thickness=None if paint else 10.0, title=name)
        made.append(
            CoatDates(
                name, f"{name} coat", f"1-out.{name}", LAID if k < laid else None, date(2026, 6, 1 + k), None, None,
                0 if paint else visits, None, 1.0,
            )
        )  # fmt: skip
    return replace(face("1"), coats=tuple(made)), bookings


@pytest.mark.parametrize(
    ("coats", "patterns"),
    [
        ("base finish paint-1 paint-2", "dots lines solid solid"),
        ("base finish", "dots lines"),  # clay inside: no paint
        ("stipple first second finish paint-1", "dots dots dots lines solid"),
        ("one", "lines"),
        ("wash-less top paint", "dots lines solid"),
    ],
)
def test_each_coat_of_any_system_has_its_pattern(coats: str, patterns: str) -> None:
    one, bookings = built(coats, 0)
    assert [str(layer.fill) for layer in layers_of(one, bookings)] == patterns.split()


def test_a_coat_without_visits_is_no_paint_if_it_has_a_thickness() -> None:
    one, bookings = built("base finish", 0, visits=0)
    assert [layer.fill for layer in layers_of(one, bookings)] == [Fill.DOTS, Fill.LINES]


@pytest.mark.parametrize("laid", range(5))
def test_the_coat_that_comes_next_and_no_other_has_a_dashed_edge(laid: int) -> None:
    one, bookings = built("base finish paint-1 paint-2", laid)
    found = layers_of(one, bookings)
    drawing = parsed(edge(found))
    strips = [rect.get("class", "").split()[-1] for rect in drawing.iter() if rect.tag.endswith("rect")]
    assert strips == ["panel", "dots", "lines", "solid", "solid"][: laid + 1]
    dashed = [one.get("x1") for one in drawing.iter() if one.get("stroke-dasharray")]
    assert len(dashed) == (1 if laid < 4 else 0)
    rules = [float(one.get("x1", "0")) for one in drawing.iter() if one.tag.endswith("line")]
    if dashed:
        assert float(dashed[0] or 0) == max(rules)  # outside of all that is laid


def test_an_edge_is_as_wide_as_all_others_however_many_coats_there_are() -> None:
    many = [Layer(f"c{k}", "coat", Fill.DOTS, Standing.LAID) for k in range(9)]
    drawing = parsed(edge(many))
    assert drawing.get("width") == str(EDGE)
    assert drawing.get("height") == "100%"
    for rect in drawing.iter():
        if rect.tag.endswith("rect"):
            assert float(rect.get("x", "0")) + float(rect.get("width", "0")) <= EDGE


def test_a_coat_closed_since_the_plan_was_saved_counts_as_laid() -> None:
    one, bookings = built("base finish", 0)
    found = layers_of(one, bookings, done={"1-out.base"})
    assert [layer.standing for layer in found] == [Standing.LAID, Standing.NEXT]
    two = plan(list(bookings.values()), faces=[one])
    assert layers(two, {"1-out.base"})["1-out"] == found


def test_every_pattern_that_is_used_is_defined_once() -> None:
    one, bookings = built("base finish paint-1", 3)
    drawn = edge(layers_of(one, bookings))
    ids = [p.get("id") for p in parsed(patterns()).iter() if p.tag.endswith("pattern")]
    assert len(set(ids)) == len(ids)
    for name in ("cut-straw", "cut-dots", "cut-lines"):
        assert f"url(#{name})" in drawn
        assert name in ids


# -- across the wall --------------------------------------------------------------------------


def texts(svg: str) -> list[str]:
    return ["".join(one.itertext()) for one in parsed(svg).iter() if one.tag.endswith("text")]


def test_the_cut_shows_both_sides_with_what_was_read_in_each() -> None:
    one, bookings = built("base finish", 1)
    drawn = cut(Side(layers_of(one, bookings), "24 %"), Side((), "22 %"), "300 mm", Words())
    assert texts(drawn) == ["24 %", "22 %", "outside", "300 mm", "inside"]
    label = parsed(drawn).get("aria-label") or ""
    assert label == "Outside: laid base coat, next finish coat, read 24 %. Inside: no coat yet, read 22 %."


def test_a_side_that_the_job_does_not_have_stays_bare() -> None:
    one, bookings = built("base finish", 0)
    drawn = parsed(cut(None, Side(layers_of(one, bookings)), "", Words()))
    assert sum(1 for one in drawn.iter() if one.get("stroke-dasharray")) == 1
    middle = 180
    dashed = next(one for one in drawn.iter() if one.get("stroke-dasharray"))
    assert float(dashed.get("x", "0")) > middle  # inside is at the right
    assert "Outside" not in (drawn.get("aria-label") or "")


def test_readings_and_names_are_text_whatever_they_hold() -> None:
    odd = '<script>&"\x07'
    layer = Layer("base", odd, Fill.DOTS, Standing.LAID)
    drawn = cut(Side((layer,), odd), None, odd, Words())
    assert "<script" not in drawn
    assert parsed(drawn).tag.endswith("svg")


# -- the building -----------------------------------------------------------------------------


def court(*bearings: float | None) -> Plan:
    faces = [replace(face(str(k), order=k), azimuth=one) for k, one in enumerate(bearings, start=1)]
    return plan(faces=faces)


def corners(svg: str) -> dict[str, tuple[float, float]]:
    """Number of a wall -> where its number stands."""
    return {
        "".join(one.itertext()): (float(one.get("x", "0")), float(one.get("y", "0")))
        for one in parsed(svg).iter()
        if one.tag.endswith("text") and (one.text or "").isdigit()
    }


def test_walls_stand_on_the_sides_they_face_the_first_on_top() -> None:
    drawn = building_plan(court(270, 270, 0, 90, 180), Words())
    assert drawn is not None
    at = corners(drawn)
    assert at["1"][1] == at["2"][1] < at["3"][1] < at["4"][1]  # west on top, east below
    assert at["3"][0] > at["4"][0] > at["5"][0]  # so north is right, south left
    assert at["1"][0] < at["2"][0]  # and who goes on to the north walks to the right
    assert "Facing west: 1, 2. Facing north: 3. Facing east: 4. Facing south: 5." in drawn


def test_who_walks_the_other_way_round_has_the_numbers_the_other_way_round() -> None:
    drawn = building_plan(court(90, 90, 0, 270), Words())  # east, then north: to the left when east is up
    assert drawn is not None
    at = corners(drawn)
    assert at["2"][0] < at["1"][0]
    assert at["3"][0] < at["4"][0]


def test_a_building_that_stands_askew_still_has_four_sides() -> None:
    drawn = building_plan(court(32, 124, 209, 303), Words())
    assert drawn is not None
    assert len({*corners(drawn).values()}) == 4
    assert "Facing south-west: 3." in drawn  # 209 is nearer to 225 than to 180


def test_done_next_and_held_are_told_by_marks() -> None:
    spots = {"1": Spot.DONE, "2": Spot.NEXT, "3": Spot.HELD}
    drawn = building_plan(court(0, 0, 0, 180), Words(), spots=spots, sunlit=["4-out"])
    assert drawn is not None
    classes = [one.get("class") for one in parsed(drawn).iter()]
    assert [classes.count(f"spot-{one}") for one in ("done", "next", "held", "due")] == [1, 1, 1, 1]
    assert classes.count("sunny") == 1
    assert sum(1 for one in parsed(drawn).iter() if one.tag.endswith("path")) == 3  # tick, gate, the arrow


def test_there_is_no_plan_without_bearings() -> None:
    assert building_plan(court(0, None), Words()) is None
    inside = plan(faces=[replace(face("1", "in"), azimuth=None)])
    assert building_plan(inside, Words()) is None


def test_names_on_the_plan_are_text() -> None:
    one = court(0)
    odd = replace(one, sites=(replace(one.sites[0], name='<b a="1">&'),))
    drawn = building_plan(odd, Words())
    assert drawn is not None
    assert "<b" not in drawn
    assert parsed(drawn).tag.endswith("svg")
