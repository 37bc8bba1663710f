"""Nobody without the link sees a site: wrong, withdrawn and foreign links, and where a link could leak."""

from __future__ import annotations

import base64
import io
import json
import logging
import re
import stat
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from raw_asking import HOST, SHORT, Heard, ask, form, forms, path_of, routes, served, token_of
from serving import Site, copied, court
from test_names import PAGE_PATHS, Elements

from curing import clock
from curing.model.links import digest
from curing.serve.app import Options
from curing.serve.logs import begin_logging
from curing.workflow.planning import plan_job

TELLTALE = ("Alder", "Wil", "road side", "Render crew", "court")
"""What nobody without a link may read."""


@pytest.fixture(scope="module")
def site(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    with served(copied(made, tmp_path_factory.mktemp("links"))) as one:
        yield one


@pytest.fixture(scope="module")
def token(site: Site) -> str:
    return token_of(site)


def nothing_told(heard: Heard, *statuses: int) -> None:
    assert heard.status in statuses
    assert heard.broke is None
    whole = heard.text + json.dumps(heard.headers)
    for word in TELLTALE:
        assert word not in whole, word


def test_links_that_open_nothing_tell_nothing(site: Site, token: str) -> None:
    other = "A" if token[5] != "A" else "B"
    wrong = [
        token[:-1],
        token + "A",
        token[:5] + other + token[6:],
        token.swapcase(),
        token.lower(),
        token.upper(),
        "A" * 43,
        "%00" * 43,
        digest(token),
        f"{token}%0a",
        f"{token}=",
        f"%20{token}",
    ]
    for secret in wrong:
        for route in routes(site):
            if "{token}" not in route.path:
                continue
            path = path_of(route, secret)
            if "GET" in (route.methods or {"GET"}):
                nothing_told(ask(site, path), 404)
            if "POST" in (route.methods or ()):
                nothing_told(form(site, path, {"what": "misted"}), 404)
                nothing_told(form(site, path, {"what": "misted"}, headers=[SHORT]), 404)


def test_a_withdrawn_link_is_gone_for_pages_forms_and_calendars(site: Site) -> None:
    root = site.job.sight().roots.people["tijn"]
    old = token_of(site, "tijn")
    assert ask(site, f"/s/{old}/calendar.ics").status == 200
    site.job.revoke_link(root, clock.now())
    for path in (f"/s/{old}/today", f"/s/{old}/calendar.ics", f"/s/{old}/"):
        nothing_told(ask(site, path), 410)
    for path in forms(site, old):
        if path.startswith("/s/"):
            nothing_told(form(site, path, {"what": "misted"}), 410)
    new = site.job.give_link(root, clock.now())
    assert new != old
    assert ask(site, f"/s/{new}/today").status == 200
    nothing_told(ask(site, f"/s/{old}/today"), 410)
    feed = ask(site, f"/s/{new}/calendar.ics").text.replace("\r\n ", "")
    assert new in feed
    assert old not in feed


def test_the_link_of_one_job_opens_nothing_of_another(made: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "birch.yaml").write_text(
        made.read_text().replace("3f6b0a52", "aaaa0a52").replace("Alder Court", "Birch Yard")
    )
    plan_job(other / "birch.yaml", as_of="2027-05-24 06:00")
    with served(copied(made, tmp_path / "one"), other / "birch.yaml") as both:
        first, second = (one.job.give_link(one.job.sight().roots.people["wil"], clock.now()) for one in both.house.jobs)
        assert "Birch" not in ask(both, f"/s/{first}/today").text
        assert "Alder" not in ask(both, f"/s/{second}/today").text
        assert "Alder" not in ask(both, f"/s/{second}/calendar.ics").text
    with served(copied(made, tmp_path / "alone")) as alone:
        nothing_told(ask(alone, f"/s/{second}/today"), 404)


def test_a_person_who_left_the_job_opens_nothing(made: Path, tmp_path: Path) -> None:
    job = copied(made, tmp_path)
    with served(job) as site:
        link = token_of(site, "owners")
        assert ask(site, f"/s/{link}/client").status == 200
        text = job.read_text()
        job.write_text(re.sub(r"  - id: owners\n.*\n.*\n", "", text))
        assert site.job.reread()
        assert not site.job.sight().trouble
        for page in ("client", "calendar.ics", ""):
            nothing_told(ask(site, f"/s/{link}/{page}"), 410)


def test_the_key_is_its_owners_alone(site: Site) -> None:
    file = site.job.state / "links.key"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_no_link_stands_in_the_state_or_in_the_plan(site: Site, tmp_path: Path) -> None:
    for person in ("wil", "noor", "saar", "ines", "owners"):
        link = token_of(site, person)
        ask(site, f"/s/{link}/calendar.ics")
        form(
            site,
            f"/s/{link}/note",
            {"key": "k" * 16 + person, "face": "1-out", "text": "hm", "at": clock.now().isoformat()},
        )
        site.job.keep_fetched()
        raw = link.encode(), base64.urlsafe_b64decode(link + "="), link.encode("utf-16-le")
        for file in [*site.job.state.iterdir(), site.job.job_file]:
            body = file.read_bytes()
            for secret in raw:
                assert secret not in body, file.name
            assert file.name == "links.key" or (site.job.state / "links.key").read_bytes() not in body
    plan_job(site.job.job_file, out=tmp_path)
    for file in tmp_path.rglob("*"):
        if file.is_file():
            assert b"/s/" not in file.read_bytes(), file


def test_links_are_looked_up_by_their_digest_alone(site: Site, token: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """How long it takes to compare two secrets then tells nothing of either (a dictionary of digests)."""
    seen: list[str] = []

    class Watched(dict):  # type: ignore[type-arg]
        def get(self, name: str, default: object = None) -> object:
            seen.append(name)
            return super().get(name, default)

    monkeypatch.setattr(site.job, "_links", Watched(site.job._links))
    assert site.house.visitor(token) is not None
    assert site.house.visitor(token[:-1] + ("A" if token[-1] != "A" else "E")) is None
    assert all(re.fullmatch("[0-9a-f]{64}", one) for one in seen)
    assert token not in seen


@pytest.mark.long
@pytest.mark.parametrize("form_of_log", ["text", "json"])
def test_no_link_is_ever_in_the_log_also_where_something_breaks(
    site: Site, token: str, form_of_log: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = logging.getLogger()
    before = root.handlers[:], root.level
    written = io.StringIO()
    monkeypatch.setattr(sys, "stderr", written)
    try:
        begin_logging(form_of_log)  # type: ignore[arg-type]
        for route in routes(site):
            ask(site, path_of(route, token))
        logging.getLogger("uvicorn.error").error("broken at /s/%s/today", token)
        try:
            raise ValueError(f"http://x/s/{token}/today")
        except ValueError:
            logging.getLogger("asyncio").exception("Task exception: %r", {"path": f"/s/{token}/"})
            logging.getLogger("curing.serve").exception(
                "broken", extra={"path": f"/s/{token}/tick", "deep": {"a": [token]}}
            )
    finally:
        root.handlers[:], root.level = before[0], before[1]
    text = written.getvalue()
    assert text.count("\n") > 10
    assert "ValueError" in text
    assert token not in text
    assert token[:30] not in text
    assert token[-30:] not in text


def test_a_fault_of_the_server_is_told_in_words_with_the_headers_of_every_page(
    site: Site, token: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(type(site.job), "sight", lambda _: 1 / 0)
    monkeypatch.setattr(type(site.job), "enter", lambda *_: 1 / 0)
    heard = ask(site, f"/s/{token}/today")
    assert heard.status == 500
    assert isinstance(heard.broke, ZeroDivisionError)
    assert "Something broke" in heard.text
    assert "ZeroDivision" not in heard.text
    kept_to_itself(heard)
    fields = {
        "visit": "1-out.finish.2027-05-24.early",
        "what": "misted",
        "key": "5" * 32,
        "at": clock.now().isoformat(),
    }
    short = form(site, f"/s/{token}/tick", fields, headers=[SHORT])
    assert (short.status, json.loads(short.text)["kept"]) == (500, False)


POLICY = {
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self'",
    "connect-src 'self'",
    "manifest-src 'self'",
    "worker-src 'self'",
    "form-action 'self'",
    "base-uri 'none'",
    "frame-ancestors 'none'",
}


def kept_to_itself(heard: Heard) -> None:
    """Check the headers that every answer carries."""
    assert {part.strip() for part in heard.headers["content-security-policy"].split(";")} == POLICY
    assert heard.headers["referrer-policy"] in ("same-origin", "no-referrer")
    assert heard.headers["x-content-type-options"] == "nosniff"
    assert heard.headers["x-robots-tag"] in ("noindex, nofollow", "none")
    assert heard.headers["cross-origin-resource-policy"] == "same-origin"
    assert "server" not in heard.headers
    assert "access-control-allow-origin" not in heard.headers


@pytest.mark.long
def test_every_kind_of_answer_keeps_itself_to_itself(site: Site, token: str) -> None:
    seen = set()
    for route in routes(site):
        for secret in (token, "A" * 43):
            for method in ("GET", "HEAD", "POST", "PUT"):
                heard = ask(site, path_of(route, secret), method=method)
                kept_to_itself(heard)
                seen.add(heard.status)
                private = "{token}" in route.path
                cache = heard.headers["cache-control"]
                if private and not route.path.endswith("calendar.ics"):
                    assert cache == "no-store", route.path
                assert not private or "public" not in cache
    for path in (f"/s/{token}", "/nothing", f"/s/{token}/today/", "/favicon.ico", "//", "/s/", "/static/x/../../y"):
        heard = ask(site, path)
        kept_to_itself(heard)
        seen.add(heard.status)
    heard = ask(site, f"/s/{token}", headers=[(b"host", b"[")])
    kept_to_itself(heard)
    assert {200, 303, 307, 400, 403, 404, 405} <= seen | {heard.status}


def test_a_browser_that_came_by_https_stays_with_it(made: Path, tmp_path: Path) -> None:
    with served(copied(made, tmp_path), options=Options(secure=True)) as site:
        assert "max-age" in ask(site, "/").headers["strict-transport-security"]
    with served(copied(made, tmp_path / "plain")) as plain:
        assert "strict-transport-security" not in ask(plain, "/").headers


@pytest.mark.long
def test_nothing_of_anybody_else_is_on_any_page(site: Site, token: str) -> None:
    token_of(site, "noor")
    for path in PAGE_PATHS:
        heard = ask(site, f"/s/{token}/{path}")
        assert heard.status == 200, path
        page = Elements(heard.text)
        for tag, name, value in page.addresses:
            own = value.startswith(
                ("/", "#", f"http://{HOST[1].decode()}/s/{token}/", f"webcal://{HOST[1].decode()}/s/{token}/")
            )
            assert own, (path, tag, name, value)
            assert not value.startswith("//")
        assert not page.inline, (path, page.inline)
        assert "http-equiv" not in heard.text


def test_robots_may_fetch_calendars_and_list_nothing(site: Site, token: str) -> None:
    heard = ask(site, "/robots.txt")
    assert heard.status == 200
    assert "Disallow" not in heard.text
    assert ask(site, f"/s/{token}/calendar.ics").headers["x-robots-tag"] == "none"
    assert ask(site, f"/s/{token}/today").headers["x-robots-tag"] == "noindex, nofollow"


def test_who_asks_too_often_waits_and_nobody_else_does(made: Path, tmp_path: Path) -> None:
    with served(copied(made, tmp_path), limited=True, options=Options(feed_limit=(5, 0.001))) as site:
        wil, noor = token_of(site, "wil"), token_of(site, "noor")
        found = [ask(site, f"/s/{wil}/calendar.ics") for _ in range(8)]
        assert [one.status for one in found] == [200] * 5 + [429] * 3
        assert int(found[-1].headers["retry-after"]) > 0
        assert ask(site, f"/s/{noor}/calendar.ics").status == 200
        pages = []
        for _ in range(400):
            pages.append(ask(site, f"/s/{wil}/nothing-of-this-name"))
            pages.append(form(site, f"/s/{wil}/units", {"units": "us"}))
            if pages[-1].status == 429:
                break
        assert pages[-1].status == 429
        assert int(pages[-1].headers["retry-after"]) > 0
        assert "wait a few seconds" in pages[-1].text
        assert form(site, f"/s/{noor}/units", {"units": "us"}).status == 303
        short = form(site, f"/s/{wil}/tick", {"what": "misted"}, headers=[SHORT])
        assert (short.status, json.loads(short.text)["kept"]) == (429, False)


def test_the_first_plan_of_a_new_folder_makes_a_key_that_is_no_other_folders(tmp_path: Path) -> None:
    keys = []
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        with served(court(tmp_path / name)) as site:
            keys.append((site.job.state / "links.key").read_bytes())
    assert keys[0] != keys[1]
    assert min(len(set(key)) for key in keys) > 16
