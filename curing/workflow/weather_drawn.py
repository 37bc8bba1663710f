"""Faces' next days drawn into files, each written aside and renamed."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from curing.errors import OutputError, UsageError
from curing.model.quantities import clip
from curing.publish.chart_weather import face_chart
from curing.publish.weather_parts import FacePart, SitePart, WeatherPart
from curing.publish.words import Words
from curing.workflow.exporting import write_file

_XML = '<svg xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" '


def draw(view: WeatherPart, words: Words, where: str) -> list[str]:
    """Draw a face into a file (``day.svg:3-out``), or all faces into a folder; return the paths written.

    Raises
    ------
    UsageError
        There is no such face, or no weather to draw.
    OutputError
        A file can't be written.
    """
    faces = {face.face: (site, face) for site in view.sites for face in site.faces}
    if not faces:
        raise UsageError("--svg: no weather is kept, so there is nothing to draw; add --fetch or --forecast FILE")
    path, colon, face_id = where.rpartition(":")
    if colon and face_id in faces:
        return [_write(Path(path), *faces[face_id], words, view.now)]
    if where.endswith(".svg") or (colon and path.endswith(".svg")):
        named = ", ".join(list(faces)[:12])
        asked = face_id if colon else ""
        raise UsageError(
            f'--svg: "{clip(asked)}" is no face of this job; write FILE:FACE with one of {named}, or name a folder'
        )
    folder = Path(where)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder}: can't be made ({error.strerror or error}); name another folder") from None
    return [_write(folder / f"{one}.svg", *faces[one], words, view.now) for one in faces]


def _write(path: Path, site: SitePart, face: FacePart, words: Words, now: datetime) -> str:
    chart = face_chart(face, site, words, now)
    assert chart is not None  # a face is there only with its hours
    write_file(path, (chart.svg.replace("<svg ", _XML, 1) + "\n").encode())
    return str(path)
