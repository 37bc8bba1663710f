"""Where a worker may be: https by any name, and localhost; plain http by a name has none, and the page says so."""

from __future__ import annotations

import base64
import hashlib
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from asking_phone import expect, expect_done, expect_kept, open_kept, press
from stub import Running, Stub

pytestmark = pytest.mark.browser
NAME = "walls.test"


@pytest.fixture(autouse=True)
def named(faults: Any) -> None:
    faults.hosts.add(NAME)
    faults.allow_no_signal()


def test_plain_http_by_a_name_keeps_ticks_while_the_page_is_open(
    start_phone: Callable[..., Any], service: Running, stub: Stub
) -> None:
    page = start_phone(f"--host-resolver-rules=MAP {NAME} 127.0.0.1").new_page()
    page.goto(service.url(host=NAME))
    assert page.evaluate("[isSecureContext, 'serviceWorker' in navigator]") == [False, False]
    expect(page.locator("#no-worker")).to_be_visible()
    service.stop()
    press(page, "1")
    expect_kept(page, "wall 1: misted")
    press(page, "2")
    expect_kept(page, "wall 1: misted", "wall 2: misted")
    service.start()
    expect_done(page, "1", "2")
    assert len(stub.taken) == len(stub.posts) == 2


def test_plain_http_ticks_outlive_a_closed_browser(
    start_phone: Callable[..., Any], service: Running, stub: Stub
) -> None:
    rule = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
    phone = start_phone(rule)
    page = phone.new_page()
    page.goto(service.url(host=NAME))
    service.stop()
    press(page, "1")
    expect_kept(page, "wall 1: misted")
    phone.close()
    service.start()
    page = start_phone(rule).new_page()
    page.goto(service.url(host=NAME))
    expect_done(page, "1")
    assert len(stub.taken) == 1


@pytest.fixture
def certificate(tmp_path: Path) -> tuple[Path, Path]:
    """Make a certificate for the name, signed by nobody else."""
    if shutil.which("openssl") is None:
        pytest.skip("needs openssl to make a certificate")
    made, key = tmp_path / "walls.pem", tmp_path / "walls.key"
    asked = "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2"
    named = ["-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}", "-keyout", str(key), "-out", str(made)]
    subprocess.run([*asked.split(), *named], check=True, capture_output=True)
    return made, key


@pytest.fixture
def https(stub: Stub, certificate: tuple[Path, Path]) -> Iterator[Running]:
    running = Running(stub, certificate)
    yield running
    running.stop()


def test_https_by_a_name_has_its_worker(
    start_phone: Callable[..., Any], https: Running, stub: Stub, certificate: tuple[Path, Path]
) -> None:
    public = subprocess.run(
        ["openssl", "x509", "-in", certificate[0], "-noout", "-pubkey"], check=True, capture_output=True
    ).stdout
    der = subprocess.run(
        ["openssl", "pkey", "-pubin", "-outform", "der"], input=public, check=True, capture_output=True
    ).stdout
    trusted = base64.b64encode(hashlib.sha256(der).digest()).decode()
    phone = start_phone(
        f"--host-resolver-rules=MAP {NAME} 127.0.0.1", f"--ignore-certificate-errors-spki-list={trusted}"
    )
    page = phone.new_page()
    open_kept(page, https.url(host=NAME))
    expect(page.locator("#no-worker")).to_be_hidden()
    https.stop()
    press(page, "1")
    expect_kept(page, "wall 1: misted")
    page.reload()
    expect(page.locator("#copy")).to_be_visible()
    expect_kept(page, "wall 1: misted")
    https.start()
    expect_done(page, "1")
    assert len(stub.taken) == 1
