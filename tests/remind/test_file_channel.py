"""A file for trying out: one block a message, readable, and nothing lost when several write."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest
from lines import LINK, MESSAGE

from curing.errors import UsageError
from curing.model.reminders import Channel, Kind, Message, Outcome
from curing.remind.channels import open_channels
from curing.sources.reminder_settings import Reminders


def channel(path: Path) -> Channel:
    told = {"kind": "file", "path": str(path)}
    return open_channels(Reminders.model_validate({"channels": {"try": told}}))["try"]


def test_a_block_a_message_that_a_person_can_read(tmp_path: Path) -> None:
    one = channel(tmp_path / "told.txt")
    assert [one.send("wil", MESSAGE).outcome for _ in range(2)] == [Outcome.ACCEPTED] * 2
    blocks = (tmp_path / "told.txt").read_text().split("\n\n")
    assert (len(blocks), blocks[2]) == (3, "")
    head, *rest = blocks[0].splitlines()
    assert head.endswith(" for wil by try")
    assert [line.strip() for line in rest] == [MESSAGE.subject, MESSAGE.short, LINK]
    assert (tmp_path / "told.txt").stat().st_mode & 0o077 == 0


def test_a_name_makes_no_block_of_its_own(tmp_path: Path) -> None:
    name = "x\n\n2027-05-25 06:30 for mia by try\n"
    channel(tmp_path / "told.txt").send(name, Message("k", Kind.EVE, name, name, name, "", name))
    assert (tmp_path / "told.txt").read_text().count("\n\n") == 1


def test_many_at_once_lose_nothing(tmp_path: Path) -> None:
    one = channel(tmp_path / "told.txt")
    threads = [threading.Thread(target=lambda: [one.send("wil", MESSAGE) for _ in range(20)]) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    blocks = (tmp_path / "told.txt").read_text().split("\n\n")[:-1]
    assert len(blocks) == 100
    assert len({block.partition(" for ")[2] for block in blocks}) == 1


def test_a_full_disk_and_a_pipe_nobody_reads(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "gone").mkdir()
    gone = channel(tmp_path / "gone" / "told.txt")
    (tmp_path / "gone").rmdir()
    answers = [one.send("wil", MESSAGE) for one in (channel(Path("/dev/full")), channel(tmp_path / "pipe"), gone)]
    assert [(a.outcome, a.own_fault) for a in answers] == [(Outcome.LATER, True)] * 3
    assert "no space" in answers[0].said


@pytest.mark.parametrize("path", ["nowhere/told.txt", "."])
def test_a_path_that_can_hold_nothing(path: str, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="folder"):
        channel(tmp_path / path)
