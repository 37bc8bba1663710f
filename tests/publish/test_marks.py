"""Marks: well-formed, one ink, silent beside their word; and the rules that every drawing keeps."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from curing.publish.marks import MARKS, mark

STYLES = Path(__file__).parents[2] / "templates" / "pages" / "curing.css"


@pytest.mark.parametrize("name", MARKS)
def test_a_mark_is_drawn_in_the_ink_of_its_word_and_says_nothing(name: str) -> None:
    drawing = ElementTree.fromstring(mark(name))
    assert drawing.get("aria-hidden") == "true"
    inks = {one.get(key) for one in drawing.iter() for key in ("fill", "stroke")}
    assert inks <= {"currentColor", "none", None}
    assert "style" not in mark(name)
    assert "<text" not in mark(name)


@pytest.mark.parametrize("name", MARKS)
def test_a_mark_lies_on_its_grid(name: str) -> None:
    for path in re.findall(r'd="([^"]+)"', mark(name)):
        if not re.search("[a-z]", path):  # absolute coordinates only
            assert all(0 <= float(one) <= 24 for one in re.findall(r"-?\d+\.?\d*", path)), path


def test_no_two_marks_are_alike() -> None:
    assert len({mark(name) for name in MARKS}) == len(MARKS)


def test_an_unknown_mark_is_refused() -> None:
    with pytest.raises(KeyError):
        mark("nothing")


# -- the stylesheet ---------------------------------------------------------------------------


def _luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.2."""
    channels = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    red, green, blue = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    ("text", "ground", "least"),
    [
        ("ink", "lime-white", 7),
        ("ink", "ochre", 7),
        ("ink", "sand", 7),
        ("soft-ink", "lime-white", 4.5),
        ("soft-ink", "sand", 4.5),
        ("white", "clay", 4.5),
        ("white", "clay-deep", 4.5),
        ("white", "ink", 7),
        ("water", "lime-white", 4.5),
        ("water", "sand", 4.5),
    ],
)
def test_words_stand_out_from_their_ground(text: str, ground: str, least: float) -> None:
    named = dict(re.findall(r"--([a-z-]+): (#[0-9A-F]{6});", STYLES.read_text("utf-8").split("@media print")[0]))
    assert _contrast(named[text], named[ground]) >= least


def test_the_stylesheet_needs_nothing_from_elsewhere_and_moves_nothing() -> None:
    styles = STYLES.read_text("utf-8")
    for word in ("@import", "url(", "http:", "https:", "animation", "transition", "@keyframes", ":hover"):
        assert word not in styles, word
    assert styles.count("{") == styles.count("}")


CLASSES = """top job clock band caution quiet broken walls wall next done waits missed off edge number name does soft
hold go way ways plainlink fields field choice error kept bar here badge figures chart was now due foot"""


@pytest.mark.parametrize("name", CLASSES.split())
def test_each_class_of_the_pages_is_styled_and_told_at_the_top(name: str) -> None:
    told, _, styles = STYLES.read_text("utf-8").partition("*/")
    assert re.search(rf"\b{name}\b", told)
    assert re.search(rf"\.{name}\b", styles)
