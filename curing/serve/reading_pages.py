"""A reading: the meter's probe at three heights on both sides, or a weight."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from curing.errors import CuringError
from curing.model.job import Wall
from curing.model.quantities import parse
from curing.model.record import RecordEntry
from curing.model.record_data import Probe, said
from curing.planning.effective import effective
from curing.publish.record_text import percent_text
from curing.serve.call import Call, Desk, short, wants_json
from curing.serve.forms import Form, FormError
from curing.serve.times import when
from curing.serve.today_pages import kept
from curing.serve.wall_pages import known_wall
from curing.sources.log_line import Line

BANDS = ("low", "middle", "top", "mid")
"""Places of a side, in the order in which they are read."""
DEPTH = 100.0
"""[mm] How deep the three heights are read unless another depth is said."""
DROP = 8.0
"""[points] A reading so far below the last one there is asked about (screens.md; common practice, no source)."""
RECENT = timedelta(days=10)
SAW = ("shoots", "musty", "dark")


@dataclass(frozen=True)
class Asked:
    """One field of the form: a place of a side, and what was written into it."""

    side: str
    band: str
    text: str

    @property
    def name(self) -> str:
        """Name of the field."""
        return f"{self.side}-{self.band}"


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/reading/{wall}", desk.shows(_page), methods=["GET"]),
        Route("/s/{token}/reading/{wall}", desk.takes(_read), methods=["POST"]),
        Route("/s/{token}/weigh/{wall}", desk.takes(_weigh), methods=["POST"]),
    ]


def _page(call: Call) -> Response:
    return _shown(call, known_wall(call))


def _shown(
    call: Call,
    wall_id: str,
    values: Mapping[str, str] | None = None,
    errors: Mapping[str, str] | None = None,
    *,
    head: tuple[str, ...] = (),
    drops: tuple[str, ...] = (),
    status: int = 200,
) -> Response:
    if status != 200 and wants_json(call.request):
        return short(False, " ".join(dict.fromkeys([*head, *(errors or {}).values(), *drops])), status)
    sight = call.sight
    wall = _wall(call, wall_id)
    coated = {side for side in ("out", "in") if _coated(call, f"{wall_id}-{side}")}
    meters = sight.job.file.meters
    return call.page(
        "reading.html",
        status,
        wall=wall,
        sides=("out", "in"),
        bands=BANDS,
        coated=coated,
        meters=meters,
        basis=meters[0].basis if len(meters) == 1 else None,
        values=values or {},
        errors=errors or {},
        head=head,
        drops=drops,
        depth=call.words.figure(DEPTH, "length_mm"),
        at=call.now.astimezone(call.zone).isoformat(),
        here="walls",
    )


def _wall(call: Call, wall_id: str) -> Wall:
    return next(one for one in call.sight.job.file.walls if one.id == wall_id)


def _coated(call: Call, face_id: str) -> bool:
    """Tell whether a coat lies on a side: no probe goes through it."""
    face = next((one for id_, _, one in call.sight.job.faces() if id_ == face_id), None)
    return face is not None and (bool(face.done) or any(c.startswith(f"{face_id}.") for c in call.sight.evidence.done))


def _read(call: Call, form: Form) -> Response:
    wall_id = known_wall(call)
    values = {name: " ".join(found) if name == "saw" else found[0] for name, found in form.fields.items() if found}
    asked = [
        Asked(side, band, text)
        for side in ("out", "in")
        for band in BANDS
        if (text := (form.maybe(f"{side}-{band}") or "").strip())
    ]
    if not asked:
        return _shown(call, wall_id, values, head=(call.words.say("page.reading.empty"),), status=422)
    errors: dict[str, str] = {}
    figures: dict[str, float] = {}
    for one in asked:
        try:
            text = one.text.replace(",", ".")
            figures[one.name] = float(parse(text if "%" in text else f"{text} %", "percent"))
        except ValueError as error:
            errors[one.name] = str(error)
    depth = _depth(call, form, errors)
    if errors:
        return _shown(call, wall_id, values, errors, status=422)
    at, key = when(form, call.now, call.zone), form.key()
    saw = [call.words.say(f"page.reading.saw.{one}") for one in SAW if one in form.every("saw")]
    note = ", ".join([*saw, *filter(None, [form.text("note", 500)])])
    lines = list(_lines(wall_id, asked, figures, depth, form))
    try:
        made = [entry for one in call.job.entries_of(lines, call.person.id, at, key, call.now, note) for entry in one]
    except CuringError as error:
        return _shown(call, wall_id, values, head=tuple(p.text for p in error.problems), status=422)
    head: list[str] = []
    for entry in made:
        for text in call.job.faults(entry, call.now):
            name = _field(entry)
            errors[name] = text
            head += [text] if not name else []
    if errors:
        return _shown(call, wall_id, values, errors, head=tuple(dict.fromkeys(head)), status=422)
    drops = tuple(_drops(call, made, at)) if form.maybe("twice") is None else ()
    if drops:
        return _shown(call, wall_id, values, drops=drops, status=422)
    logged = call.job.tell(made, call.now)
    return kept(call, form, list(logged.entries), "")


def _depth(call: Call, form: Form, errors: dict[str, str]) -> float:
    text = (form.maybe("depth") or "").strip()
    if not text:
        return DEPTH
    try:
        if text.replace(".", "").replace(",", "").isdigit():
            text = f"{text.replace(',', '.')} {'in' if call.words.units == 'us' else 'mm'}"
        return float(parse(text, "length_mm"))
    except ValueError as error:
        errors["depth"] = str(error)
        return DEPTH


def _lines(wall: str, asked: list[Asked], figures: Mapping[str, float], depth: float, form: Form) -> Iterator[Line]:
    """Yield the lines of the log: for each side the three heights at one depth, then mid-depth."""
    common = {name: text for name in ("meter", "basis") if (text := form.maybe(name))}
    for side in ("out", "in"):
        heights = {one.band: figures[one.name] for one in asked if one.side == side and one.band != "mid"}
        if heights:
            yield Line("reading", (f"{wall}-{side}",), {**heights, "depth": depth, **common})
        mid = next((figures[one.name] for one in asked if one.side == side and one.band == "mid"), None)
        if mid is not None:
            yield Line("reading", (f"{wall}-{side}",), {"low": mid, "depth": "mid", **common})


def _field(entry: RecordEntry) -> str:
    data = said(entry)
    if not isinstance(data, Probe) or entry.face is None:
        return ""
    return f"{entry.face.rpartition('-')[2]}-{'mid' if data.mid else data.band}"


def _drops(call: Call, made: list[RecordEntry], at: datetime) -> Iterator[str]:
    """Yield readings that lie so far below the last ones there that a slip is likelier than drying."""
    last: dict[tuple[str | None, str], tuple[float, datetime]] = {}
    for entry in effective(call.sight.said.record).entries:
        data = said(entry)
        if isinstance(data, Probe) and at - RECENT <= entry.at <= at:
            last[entry.face, _field(entry)] = (data.wet, entry.at)
    for entry in made:
        data = said(entry)
        before = last.get((entry.face, _field(entry)))
        if isinstance(data, Probe) and before is not None and before[0] - data.wet > DROP:
            side, _, band = _field(entry).partition("-")
            place = f"{call.words.say(f'page.side.{side}')}, {call.words.say(f'page.reading.{band}')}"
            yield call.words.say(
                "page.reading.drop",
                place=place,
                value=percent_text(data.wet, call.words),
                drop=f"{before[0] - data.wet:.0f}",
                day=call.words.day(before[1].astimezone(call.zone).date()),
            )


def _weigh(call: Call, form: Form) -> Response:
    wall_id = known_wall(call)
    text = form.one("weight").strip().replace(",", ".")
    if text.replace(".", "").isdigit():
        text = f"{text} {'lb' if call.words.units == 'us' else 'kg'}"
    of = form.one("of")
    if of not in ("panel", "block"):
        raise FormError("of: a panel or a block is weighed", field="of")
    at = when(form, call.now, call.zone)
    try:
        logged = call.job.log(Line("weighing", (wall_id, text), {"of": of}), call.person.id, at, form.key(), call.now)
    except CuringError as error:
        values = {name: found[0] for name, found in form.fields.items() if found}
        return _shown(call, wall_id, values, {"weight": error.problems[0].text}, status=422)
    return kept(call, form, list(logged.entries), "")
