"""Whatever comes in by HTTP: refused in words, never a fault of the server; every route, also those to come."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote, quote_plus

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from raw_asking import FORM, HOST, OWN, SHORT, Heard, ask, field_names, form, forms, path_of, routes, served, token_of
from serving import Site, drawn_key, words
from test_replays import forms_of, with_meter

LONG = settings.get_current_profile_name() == "new draws"
NAMES = field_names()


@pytest.fixture(scope="module")
def site(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    with served(with_meter(made, tmp_path_factory.mktemp("bad"))) as one:
        yield one


@pytest.fixture(scope="module")
def token(site: Site) -> str:
    return token_of(site)


def refused(heard: Heard, *statuses: int) -> str:
    """Return in which words something was refused."""
    assert heard.broke is None, heard.broke
    assert 400 <= heard.status < 500, heard.status
    if statuses:
        assert heard.status in statuses, (heard.status, heard.text[:300])
    text = heard.text if heard.headers["content-type"].startswith("application/json") else words(heard.text)
    assert "Traceback" not in text
    assert len(text) < 20_000, len(text)
    assert re.search(r"[a-z]+ [a-z]+ [a-z]+", text), text
    return text


def test_every_route_that_takes_a_form_is_tried(site: Site, token: str) -> None:
    found = forms(site, token)
    assert len(found) >= 15
    assert f"/s/{token}/tick" in found


BODIES = {
    "too large": (b"note=" + b"x" * 65_536, 413, "larger than 64 kB"),
    "too many fields": (b"&".join(b"f%d=1" % number for number in range(401)), 400, "can't be read"),
    "no UTF-8": (b"visit=%ff%fe&what=misted", 400, "can't be read"),
    "half a sign": (b"visit=%c3&what=misted", 400, "can't be read"),
    "bytes as they are": ("visit=ü".encode(), 400, "can't be read"),
    "nothing": (b"", 0, ""),
    "no form": (b"{'a': 1}", 0, ""),
    "percent alone": (b"visit=%&what=%zz", 0, ""),
}


@pytest.mark.long
@pytest.mark.parametrize("name", BODIES)
@pytest.mark.parametrize("short", [False, True])
def test_a_body_that_is_no_form(site: Site, token: str, name: str, short: bool) -> None:
    body, status, told = BODIES[name]
    for path in forms(site, token):
        heard = form(site, path, body, headers=[SHORT] if short else [])
        text = refused(heard, *([status] if status else []))
        assert told in html.unescape(text), path
        kept_by_script = short and path.startswith("/s/")
        assert heard.headers["content-type"].startswith("application/json" if kept_by_script else "text/html"), path


@pytest.mark.parametrize("kind", [b"multipart/form-data; boundary=x", b"application/json", b"text/plain", b"", b"\xff"])
def test_a_form_of_another_kind(site: Site, token: str, kind: bytes) -> None:
    for path in forms(site, token):
        headers = [HOST, OWN, *([(b"content-type", kind)] if kind else [])]
        assert "not a form" in refused(ask(site, path, method="POST", headers=headers, body=b"a=1"), 415)


VALUES = [
    "\x00",
    "a\x00b",
    "x" * 60_000,
    "²",
    "9999-12-31",
    "0001-01-01",
    "nan",
    "-1",
    "999999999",
    "‮abc",
    "\u2028",
    "'\"><b>",
]


@pytest.mark.long
@pytest.mark.parametrize("value", VALUES)
def test_every_field_with_a_value_that_it_can_not_have(site: Site, token: str, value: str) -> None:
    """Each field of a form that is meant well, one after another; then all fields of all forms at once."""
    turn = VALUES.index(value)
    for one in forms_of():
        path = f"/s/{token_of(site, one.who)}/{one.page}"
        names = [*one.fields, "clock", "day", "until", "ago", "waited", "depth", "note", "seconds"]
        for number, name in enumerate(names):
            if not LONG and (number + turn) % 12:
                continue  # in a plain run each field gets some of the values
            heard = form(site, path, {**one.fields, "key": drawn_key(), name: value}, headers=[SHORT])
            assert heard.broke is None, (one.page, name, heard.broke)
            assert heard.status < 500, (one.page, name)
    if len(value) < 100:
        packed = quote_plus(value)
        everything = "&".join(f"{name}={packed}" for name in NAMES)
        for path in forms(site, token) if LONG else forms(site, token)[turn % 3 :: 3]:
            refused(form(site, path, everything.encode()))


@pytest.mark.parametrize(
    "headers",
    [
        [],
        [(b"origin", b"https://elsewhere.example")],
        [(b"origin", b"null")],
        [(b"sec-fetch-site", b"cross-site")],
        [(b"sec-fetch-site", b"same-site")],
        [(b"sec-fetch-site", b"cross-site"), (b"origin", b"http://walls.example.org")],
        [(b"origin", b"http://[")],
        [(b"origin", b"\xff")],
        [(b"sec-fetch-site", b"")],
        [(b"origin", b"http://walls.example.org.elsewhere.example")],
    ],
)
def test_a_form_from_elsewhere_is_refused_and_changes_nothing(
    site: Site, token: str, headers: list[tuple[bytes, bytes]]
) -> None:
    before = site.job.store.heads()
    for path in forms(site, token):
        heard = ask(site, path, method="POST", headers=[HOST, FORM, *headers], body=b"what=misted")
        assert "not sent from one of our pages" in refused(heard, 403)
    assert site.job.store.heads() == before


@pytest.mark.parametrize("host", [[], [(b"host", b"")]])
def test_a_form_of_no_host_at_all_is_not_ours(site: Site, token: str, host: list[tuple[bytes, bytes]]) -> None:
    heard = ask(site, f"/s/{token}/tick", method="POST", headers=[*host, FORM, (b"origin", b"null")], body=b"a=1")
    refused(heard, 400, 403)


def test_a_form_of_our_own_pages_is_taken_by_origin_where_a_browser_says_nothing_else(site: Site, token: str) -> None:
    headers = [HOST, FORM, (b"origin", b"http://walls.example.org")]
    heard = ask(site, f"/s/{token}/units", method="POST", headers=headers, body=b"units=us")
    assert heard.status == 303


ODD_HOSTS = [
    b'"><b>',
    b"[",
    b"a b",
    b"a/b",
    b"a@b",
    b"a,b",
    b"x" * 5000,
    b"[::1",
    b"\xff",
    b"a:99999999",
    b"a?b",
    b"#",
    b"a:b:c",
    b"javascript:alert(1)//",
]


@pytest.mark.parametrize("host", ODD_HOSTS)
def test_a_host_that_is_none_is_refused_before_a_link_is_made_of_it(site: Site, token: str, host: bytes) -> None:
    for path in (
        f"/s/{token}/calendar",
        f"/s/{token}/calendar.ics",
        f"/s/{token}",
        "/",
        "/nothing",
        f"/s/{token}/people/noor",
    ):
        refused(ask(site, path, headers=[(b"host", host)]), 400)
    refused(ask(site, f"/s/{token}/units", method="POST", headers=[(b"host", host), FORM, OWN], body=b"units=us"), 400)


@pytest.mark.parametrize(
    "host",
    [
        b"walls.example.org",
        b"192.0.2.7:8000",
        b"[2001:db8::1]:8000",
        b"LOCALHOST",
        b"my_yard.lan:1",
        b"xn--bcher-kva.example",
        b"walls.example.org.",
    ],
)
def test_a_host_that_is_one_is_in_the_links(site: Site, token: str, host: bytes) -> None:
    page = ask(site, f"/s/{token}/calendar", headers=[(b"host", host)])
    assert page.status == 200
    assert f"http://{host.decode()}/s/{token}/calendar.ics" in page.text
    feed = ask(site, f"/s/{token}/calendar.ics", headers=[(b"host", host)]).text.replace("\r\n ", "")
    assert f"http://{host.decode()}/s/{token}/day/" in feed


def test_a_client_that_hangs_up_in_the_middle_of_its_form_breaks_nothing(site: Site, token: str) -> None:
    before = site.job.store.heads()
    for path in forms(site, token):
        heard = ask(site, path, method="POST", headers=[HOST, FORM, OWN], body=b"visit=1-out.fin", hangs_up=True)
        assert heard.broke is None
    assert site.job.store.heads() == before


def test_methods_that_no_page_knows_are_refused_in_words(site: Site, token: str) -> None:
    for route in routes(site):
        path = path_of(route, token)
        for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "x"):
            heard = ask(site, path, method=method, headers=[HOST, FORM, OWN], body=b"what=misted")
            assert heard.broke is None
            assert heard.status == 405, (path, method)


def test_the_script_is_told_shortly_also_where_no_page_is(site: Site, token: str) -> None:
    """A phone keeps what gets no such answer, and would send it for ever."""
    for path in (f"/s/{token}/long-gone", "/nothing", f"/s/{'A' * 43}/tick", f"/s/{token}/today"):
        heard = form(site, path, {"what": "misted"}, headers=[SHORT])
        assert heard.status in (404, 405)
        assert '"kept": false' in refused(heard), path


WELL = {
    "visit": [
        "1-out.finish.2027-05-24.early",
        "2-out.finish.2027-05-23.late",
        "9-out.base.2027-05-24.early",
        "3-out.base.0001-01-01.late",
    ],
    "what": [
        "misted",
        "damp",
        "rain",
        "could-not",
        "started",
        "finished",
        "sound",
        "unsound",
        "up",
        "down",
        "met",
        "refused",
        "keep",
        "move",
        "assign",
    ],
    "booking": ["3-out.base", "4-out.finish", "3-out", "x", "3-out."],
    "hold": ["7.panel-dry", "panel-dry", "3-out.base-dry", "7"],
    "coat": ["3-out.base", "4-out.finish", "x"],
    "face": ["3-out", "2-in", "7-out", "x"],
    "to": ["noor", "saar", "owners", "x"],
    "slot": ["early", "midday", "late", "x"],
    "at": ["2027-05-24T07:08:00+02:00", "2000-01-01T00:00:00-23:59", "2199-12-31T23:59:59.999999+23:59", "2027-05-24"],
    "clock": ["06:05", "23:59", "00:00", "24:00", "6", "3pm"],
    "ago": ["10", "1440", "0"],
    "waited": ["0", "2592000", "-2592000"],
    "key": ["0123456789abcdef", "0" * 64, "-" * 16],
    "weight": ["10", "10,5", "1e400", "nan kg", "-3 kg", "9" * 400],
    "units": ["us", "metric", "x"],
    "entry": ["0123456789abcdef", "x"],
    "page": ["today", "../..//elsewhere.example", "//elsewhere.example", "wall/3", "https:elsewhere.example", "moved"],
    "generation": ["0", "1", "1000000"],
}
DAYS = ["2027-05-24", "2027-05-31", "0001-01-01", "9999-12-31", "2027-W21-1", "20270524", "2100-02-30"]
ANY = [
    "",
    "10",
    "10 %",
    "17,5",
    "-1",
    "nan",
    "inf",
    "1e400",
    "²",
    "\x00",
    "a\r\nb",
    "‮",
    "🏗",
    "<b>",
    "=1+1",
    "x" * 3000,
    "passed",
    "failed",
]


def value_of(name: str) -> st.SearchStrategy[str]:
    usual = WELL.get(
        name, DAYS if name in ("day", "first", "last", "until", "walked") else ["10", "passed", "noor", "lead"]
    )
    return st.one_of(
        st.sampled_from(usual),
        st.sampled_from(usual),
        st.sampled_from(ANY),
        st.sampled_from(DAYS),
        st.text(max_size=40),
    )


@st.composite
def filled(draw: st.DrawFn) -> list[tuple[str, str]]:
    names = draw(st.lists(st.sampled_from(NAMES), max_size=12))
    fields = [(name, draw(value_of(name))) for name in names]
    for name in ("key", "at", "what", "visit", "booking", "face", "hold", "first", "last", "to"):
        if draw(st.integers(0, 3)) and name not in names:
            fields.append((name, draw(value_of(name))))
    return fields


def encoded(fields: list[tuple[str, str]]) -> bytes:
    return "&".join(f"{quote_plus(n)}={quote_plus(v.encode('utf-8', 'surrogatepass'))}" for n, v in fields).encode()


@settings(max_examples=4000 if LONG else 25, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_forms_drawn_at_random_never_break_it(site: Site, token: str, data: st.DataObject) -> None:
    path = data.draw(st.sampled_from(forms(site, token)))
    heard = form(site, path, encoded(data.draw(filled())), headers=data.draw(st.sampled_from([[], [SHORT]])))
    assert heard.broke is None
    assert heard.status < 500, heard.text
    assert "elsewhere.example" not in heard.headers.get("location", "").partition("/s/")[0]


ODD = st.one_of(
    st.sampled_from(
        [
            "..",
            ".",
            "%00",
            "%2e%2e%2f",
            "1-out",
            "3",
            "noor",
            "2027-05-24",
            "9999-12-31",
            "0001-01-01",
            "%ff",
            "%",
            "%0d%0a",
            "=1+1",
            "<b>",
            "%F0%9F%8F%97",
            "x" * 2000,
            "'",
            "*",
            "//",
        ]
    ),
    st.text(max_size=12).map(lambda text: quote(text.encode("utf-8", "surrogatepass"), safe="")),
)
HEADER = st.sampled_from(
    [
        (b"cookie", b"units=us"),
        (b"cookie", b"units=\xff; a=b;;="),
        (b"cookie", b"x" * 4000),
        (b"accept", b"application/json"),
        (b"if-none-match", b"*"),
        (b"if-none-match", b'W/"x", "'),
        (b"accept-encoding", b"gzip;q=0"),
        (b"range", b"bytes=0-1"),
        (b"x-forwarded-proto", b"https"),
        (b"content-length", b"-1"),
        (b"accept", b"\xff"),
        (b"if-modified-since", b"x"),
    ]
)


@settings(max_examples=2000 if LONG else 25, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_addresses_drawn_at_random_never_break_it(site: Site, token: str, data: st.DataObject) -> None:
    route = data.draw(st.sampled_from(list(routes(site))))
    places = {part: data.draw(ODD) for part in re.findall(r"\{(\w+)", route.path)}
    path = path_of(route, data.draw(st.sampled_from([token, token, token, places.get("token", "x")])), places)
    query = data.draw(st.sampled_from(["", "?", "?a=%ff", "?" + "a=1&" * 500, "?day=x&page=%00"]))
    headers = [HOST, *data.draw(st.lists(HEADER, max_size=3))]
    target = (path + query).encode("ascii", "ignore")
    heard = ask(site, target, method=data.draw(st.sampled_from(["GET", "GET", "HEAD"])), headers=headers)
    assert heard.broke is None, target
    assert heard.status < 500, target
