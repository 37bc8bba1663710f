"""What ``curing log`` says back: what an entry did to the holds of coats that are not laid."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from cli_court import Court

Log = Callable[..., str]


@pytest.fixture
def log(planned: Court) -> Log:
    """Log a line on Fri 30 April and return what is said, the kept entries left out, as one line of text."""

    def said(clock: str, *line: str, by: str = "noor", day: str = "2027-04-30") -> str:
        lines = planned.say("log", *line, "--by", by, at=f"{day} {clock}")
        start = next((k for k, one in enumerate(lines) if one[:4] in ("  ! ", "  > ", "  - ")), len(lines))
        return " ".join(" ".join(lines[start:]).split())

    return said


def test_a_wet_reading_says_which_hold_it_shut_and_what_waits(log: Log) -> None:
    said = log("14:00", "reading", "5-out", "low=27", "depth=100mm")
    assert said.startswith(
        "! 5.panel-dry is shut: 5 out base, 5 in base must wait until it is read dry and opened again > curing plan "
    )
    # Shut is said once; after that, what is too wet still.
    said = log("14:10", "reading", "5-in", "low=26", "depth=100mm")
    assert said == "! 5.panel-dry reads too wet, out: low; in: low; let it dry and read there again"


def test_rain_on_a_bare_panel_and_setting_it_shut_its_hold(log: Log) -> None:
    assert "! 5.panel-dry is shut: 5 out base, 5 in base must wait" in log("14:00", "rain", "5-out")
    assert "! 6.panel-dry is shut" in log("14:05", "finished", "6", "set", by="wil")


def test_a_dry_reading_of_a_hold_that_is_met_says_nothing(log: Log) -> None:
    assert log("14:00", "reading", "5-out", "low=17", "depth=100mm") == ""


def test_readings_say_what_is_lacking_and_the_last_how_the_hold_is_opened(log: Log) -> None:
    # Wall 3 is 200 mm thick: 100 mm deep is mid-depth too, so three readings a side are all.
    three = ("low=19.5", "middle=17", "top=16", "depth=100mm")
    said = log("14:00", "reading", "3-out", *three)
    assert said.startswith("- 3.panel-dry: this reading counts once meter probe is found true: curing log ")
    log("14:05", "test", "meter=probe", "read=12.4", "dried=12.0")
    said = log("14:10", "reading", "3-in", "low=19", "depth=100mm")
    assert said == "- 3.panel-dry still lacks readings, in: middle, top"
    said = log("14:20", "reading", "3-in", *three)
    assert said == "> what 3.panel-dry asks for passes: curing log JOB met 3.panel-dry --by LEAD"
    assert "asks for" not in log("14:30", "met", "3.panel-dry", by="wil")
    # It rests on that meter: found false, it is shut; 3 points are more than the 2 that the rule allows.
    said = log("15:00", "test", "meter=probe", "read=12", "dried=15")
    assert said.startswith("! 3.panel-dry is shut: 3 out base must wait until it is read with a true meter and opened")


def test_the_same_line_sent_again_says_nothing_more(log: Log) -> None:
    line = ("reading", "5-out", "low=27", "depth=100mm", "--key", "a")
    assert "is shut" in log("14:00", *line)
    assert log("14:05", *line) == ""
