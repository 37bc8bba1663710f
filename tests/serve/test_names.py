"""Names are data: whatever stands in the job file, no page or feed gets an element, header or event more."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import icalendar
import pytest
from raw_asking import HOST, ask, form, served, token_of
from ruamel.yaml import YAML
from serving import JOB, MONDAY, Site

from curing import clock
from curing.errors import CuringError, FileError
from curing.workflow.planning import plan_job

PAGE_PATHS = (
    "today",
    "day/2027-05-25",
    "day/2027-06-19",
    "walls",
    "wall/1",
    "wall/3",
    "wall/7",
    "job",
    "moved",
    "calendar",
    "reading/7",
    "client",
    "client/1-out",
    "people",
    "people/noor",
    "people/noor/renew",
    "people/noor/withdraw",
    "pass-on",
    "take-over",
)
SAAR_PATHS = ("today", "wall/1", "take-over", "pass-on", "calendar")
VOID = {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source"}


class Elements(HTMLParser):
    """What a page is made of: its elements with the names of their attributes, and its addresses."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.found: Counter[tuple[str, tuple[str, ...]]] = Counter()
        self.addresses: list[tuple[str, str, str]] = []
        self.inline: list[str] = []
        self.open: list[str] = []
        self.unbalanced: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found[tag, tuple(sorted(name for name, _ in attrs))] += 1
        for name, value in attrs:
            if name in (
                "href",
                "src",
                "action",
                "formaction",
                "data",
                "poster",
                "srcset",
                "xlink:href",
                "ping",
                "background",
            ):
                self.addresses.append((tag, name, value or ""))
            if name == "style" or name.startswith("on") or "javascript:" in (value or "").lower():
                self.inline.append(f"<{tag} {name}={value!r}>")
        if tag == "style" or (tag == "script" and not dict(attrs).get("src")):
            self.inline.append(f"<{tag}>")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.open and self.open[-1] == tag:
            self.open.pop()
        else:
            self.unbalanced.append(tag)


HARMLESS = "Plain name"
HOSTILE = {
    "markup": "<b>x</b><img src=x>",
    "script": "</script><script>alert(1)",
    "quotes": "\" onclick='a' x=`b` '",
    "entities": "&lt;i&gt; &amp; &#x3c;b&#x3e;",
    "template": "{{ 7*7 }} {% raw %} ${7*7}",
    "events": "x\\nEND:VEVENT\\nBEGIN:VEVENT",
    "parameters": 'a;b,c:d\\\\e"f',
    "formula": "=1+1",
    "right to left": "\u202eabc\u202c \u05d0\u05d1\u05d2 \u2067x",
    "signs": "🏗️👩🏽‍🔧 é \u0301\u200d",
    "comment": "--><!-- x",
    "long": "x" * 80,
    "wide": "W𐍈" * 40,
}


def named(name: str, number: Iterator[int]) -> str:
    """Return a name of its own, since a job refuses two of one name, of at most 80 signs."""
    return f"{name[:76]} {next(number)}"


def job_of(folder: Path, name: str) -> Path:
    """Write Alder Court with one name in every place where people write one."""
    yaml = YAML()
    data = yaml.load(JOB.read_text())
    number = iter(range(100))
    data["name"] = named(name, number)
    for listed in ("sites", "people", "crews"):
        for one in data[listed]:
            one["name"] = named(name, number)
    scaffolds: dict[str, str] = {}
    for wall in data["walls"]:
        wall["name"] = named(name, number)
        for hold in (wall.get("holds") or {}).values():
            if "note" in hold:
                hold["note"] = named(name, number)
        for face in wall["faces"]:
            if "scaffold" in face:
                face["scaffold"] = scaffolds.setdefault(face["scaffold"], named(name, number))
    for hold in data["holds"].values():
        if "note" in hold:
            hold["note"] = named(name, number)
    data["meters"] = [{"id": "probe", "name": named(name, number), "basis": "dry", "least": "5 %", "most": "90 %"}]
    job = folder / "court.yaml"
    with job.open("w") as out:
        yaml.dump(data, out)
    return job


def told(site: Site, name: str) -> None:
    """Write the name wherever people write freely on pages."""
    wil, saar = token_of(site), token_of(site, "saar")
    at = clock.now().isoformat()
    for number, (who, page, fields) in enumerate(
        (
            (wil, "note", {"face": "1-out", "text": name}),
            (wil, "tick", {"visit": "1-out.finish.2027-05-24.early", "what": "could-not", "why_text": name}),
            (wil, "work", {"booking": "4-out", "what": "unsound", "found": name}),
            (wil, "hold", {"hold": "4.base-dry", "what": "refused", "note": name}),
            (wil, "reading/7", {"out-low": "30", "note": name}),
            (
                saar,
                "take-over",
                {
                    "walked": "2027-05-23",
                    "walked_with": "noor",
                    "first": "2027-05-29",
                    "last": "2027-05-30",
                    "signed": name,
                    "kit": ["hose", "rose", "pump", "gloves"],
                },
            ),
        )
    ):
        heard = form(site, f"/s/{who}/{page}", {"key": f"{number:032d}", "at": at, **fields})
        assert heard.status < 500, heard.broke


def shapes(folder: Path, name: str) -> tuple[dict[str, Elements], dict[str, bytes], dict[str, dict[str, str]]]:
    job = job_of(folder, name)
    plan_job(job, as_of=MONDAY)
    with served(job) as site:
        for person in site.job.sight().job.file.people:
            token_of(site, person.id)
        told(site, name)
        pages, feeds, headers = {}, {}, {}
        for person, paths in (("wil", PAGE_PATHS), ("saar", SAAR_PATHS), ("owners", ("client", "client/1-out"))):
            token = token_of(site, person)
            for path in paths:
                heard = ask(site, f"/s/{token}/{path}")
                assert heard.broke is None, (path, heard.broke)
                assert heard.status == 200, (path, heard.status)
                pages[f"{person} {path}"] = Elements(heard.text)
                headers[f"{person} {path}"] = heard.headers
            heard = ask(site, f"/s/{token}/calendar.ics", headers=[HOST])
            feeds[person] = heard.body
            headers[f"{person} feed"] = heard.headers
    return pages, feeds, headers


@pytest.fixture(scope="module")
def harmless(
    tmp_path_factory: pytest.TempPathFactory,
) -> tuple[dict[str, Elements], dict[str, bytes], dict[str, dict[str, str]]]:
    return shapes(tmp_path_factory.mktemp("plain"), HARMLESS)


@pytest.mark.long
@pytest.mark.parametrize("kind", HOSTILE)
def test_a_name_adds_nothing_to_any_page_or_feed(
    harmless: tuple[dict[str, Elements], dict[str, bytes], dict[str, dict[str, str]]], kind: str, tmp_path: Path
) -> None:
    name = HOSTILE[kind]
    if kind == "right to left":
        with pytest.raises(FileError, match="U\\+202E, which turns the order of signs round"):
            shapes(tmp_path, name)
        return
    pages, feeds, headers = shapes(tmp_path, name)
    for path, page in pages.items():
        plain = harmless[0][path]
        # text of a drawing is broken into lines by its length
        some = {key: count for key, count in page.found.items() if key[0] not in ("tspan", "text")}
        assert some == {key: count for key, count in plain.found.items() if key[0] not in ("tspan", "text")}, path
        assert page.found.keys() <= plain.found.keys(), path
        assert page.unbalanced == plain.unbalanced == []
        assert page.open == []
        assert not page.inline
    for person, body in feeds.items():
        calendar = icalendar.Calendar.from_ical(body)
        plain_calendar = icalendar.Calendar.from_ical(harmless[1][person])
        assert Counter(one.name for one in calendar.walk()) == Counter(one.name for one in plain_calendar.walk())
        assert all(len(line) <= 75 for line in body.split(b"\r\n"))
        assert b"\n" not in body.replace(b"\r\n", b"")
        uids = [str(one["UID"]) for one in calendar.walk("VEVENT")]
        assert uids == [str(one["UID"]) for one in plain_calendar.walk("VEVENT")]
    for path, found in headers.items():
        assert found.keys() == harmless[2][path].keys()


@pytest.mark.parametrize("sign", ["\r\n", "\n", "\x00", "\x1b", "\x85", "\u2028", "\ud800"])
def test_a_name_with_a_sign_that_is_none_is_refused_or_harmless(tmp_path: Path, sign: str) -> None:
    text = JOB.read_text().replace("name: Noor", f'name: "Noor{sign.encode("unicode_escape").decode()}X-Evil: 1"')
    text = re.sub(r"\\x([0-9a-f]{2})X", r"\\x\1X", text)
    job = tmp_path / "court.yaml"
    job.write_text(text)
    refused = ""
    try:
        plan_job(job, as_of=MONDAY)
    except CuringError as error:
        refused = str(error)
    if refused:
        assert "name" in refused
        return
    with served(job) as site:
        token = token_of(site, "noor")
        page = ask(site, f"/s/{token}/today")
        feed = ask(site, f"/s/{token}/calendar.ics")
        assert (page.status, feed.status) == (200, 200)
        assert not any(line.startswith(b"X-Evil") for line in re.split(rb"[\r\n]", feed.body))
