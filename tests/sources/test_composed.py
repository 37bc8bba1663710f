"""What the cache keeps of a coat system is what composing it gives, and may be lost or damaged at any time."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from curing.sources.composed import cache_folder, composed
from curing.sources.systemfile import built_in_folder
from curing.sources.yaml_nodes import compose

SYSTEM = built_in_folder() / "clay-inside.yaml"
TEXT = SYSTEM.read_text()


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    return tmp_path / "curing" / "clay-inside.json"


def test_the_second_time_it_is_read_from_the_cache_and_is_the_same(cache: Path) -> None:
    first = composed(TEXT, str(SYSTEM))
    assert first == compose(TEXT, str(SYSTEM))
    assert cache.exists()
    kept = json.loads(cache.read_text())
    kept["data"]["name"] = "taken from the cache"
    cache.write_text(json.dumps(kept))
    assert composed(TEXT, str(SYSTEM)).data["name"] == "taken from the cache"
    assert composed(TEXT, "elsewhere/clay-inside.yaml").place(("name",)).file == "elsewhere/clay-inside.yaml"


def test_another_text_is_composed_anew() -> None:
    composed(TEXT, str(SYSTEM))
    other = TEXT.replace("Clay base", "Loam base")
    assert composed(other, str(SYSTEM)) == compose(other, str(SYSTEM))


@pytest.mark.parametrize("damage", ["", "{", "[]", '{"digest": 3}', "\x00\xff"])
def test_what_is_damaged_counts_for_nothing(cache: Path, damage: str) -> None:
    composed(TEXT, str(SYSTEM))
    cache.write_text(damage)
    assert composed(TEXT, str(SYSTEM)) == compose(TEXT, str(SYSTEM))
    assert json.loads(cache.read_text())["digest"]


def test_without_a_home_or_where_nothing_can_be_written_it_works_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "curing").write_text("a file where the folder would be")
    assert composed(TEXT, str(SYSTEM)) == compose(TEXT, str(SYSTEM))
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.delenv("HOME")
    assert cache_folder() is None
    assert composed(TEXT, str(SYSTEM)) == compose(TEXT, str(SYSTEM))


def test_a_text_with_faults_is_not_kept(cache: Path) -> None:
    composed("id: a\nid: b\n", str(SYSTEM))
    assert not cache.exists()
