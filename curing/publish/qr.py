"""A QR code as inline SVG, without styles, so that it may stand in a page that allows none."""

from __future__ import annotations

import segno


def qr(text: str, name: str) -> str:
    """Return the code of a text, level M, with half of its quiet edge (the page's box gives the rest); it takes the size of what it stands in.

    Parameters
    ----------
    text
        Link that a phone opens.
    name
        What a screen reader says instead.

    Examples
    --------
    >>> drawn = qr("https://walls.example.org/s/x/", "Link")
    >>> drawn.startswith("<svg"), "style=" in drawn
    (True, False)
    """
    made = segno.make(text, error="m", micro=False, boost_error=False)
    return made.svg_inline(omitsize=True, border=2, svgclass=None, lineclass=None, dark="#000000", title=name)
