"""The settings file of the server: read, paths beside it, everything wrong with it told at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from curing.errors import FileError, UsageError
from curing.sources.settings import Settings, read_settings

EXAMPLE = Path(__file__).parents[2] / "examples" / "service" / "serve.yaml"


def test_the_example_is_read_and_its_address_is_one() -> None:
    found = read_settings(EXAMPLE)
    assert found.jobs == (Path("/srv/curing/alder-court.yaml"),)
    assert (found.host, found.port, found.log) == ("127.0.0.1", 8000, "json")
    assert found.checked_address() == "https://walls.example.org"


def test_paths_count_from_the_folder_of_the_file(tmp_path: Path) -> None:
    file = tmp_path / "serve.yaml"
    file.write_text("curing_settings: 1\njobs: [jobs/court.yaml]\ntls_cert: c.pem\ntls_key: /etc/k.pem\n")
    found = read_settings(file)
    assert found.jobs == (tmp_path / "jobs" / "court.yaml",)
    assert (found.tls_cert, found.tls_key) == (tmp_path / "c.pem", Path("/etc/k.pem"))


def test_everything_that_is_wrong_is_told_with_its_place(tmp_path: Path) -> None:
    file = tmp_path / "serve.yaml"
    file.write_text("curing_settings: 2\nport: 70000\nlog: loud\nprot: 1\n")
    with pytest.raises(FileError) as told:
        read_settings(file)
    lines = [str(problem).removeprefix(str(tmp_path)) for problem in told.value.problems]
    assert [line.split(":")[1] for line in lines] == ["1", "2", "3", "4"]
    assert 'did you mean "port"' in lines[3]


@pytest.mark.parametrize(
    "address", ["walls.example.org", "ftp://x.example", "https://x.example/path", "https://?", "javascript:alert(1)"]
)
def test_an_address_that_no_phone_opens_is_refused(address: str) -> None:
    with pytest.raises(UsageError, match="none that a phone can open"):
        Settings(address=address).checked_address()
