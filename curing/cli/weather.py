"""``curing weather``: the next three days at each face, and which coats the weather lets be laid."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from curing.cli.options import AsOf, JobFile, State
from curing.cli.printing import say_bytes, say_page
from curing.errors import UsageError
from curing.publish.terminal_weather import weather_page
from curing.publish.weather_json import weather_json
from curing.workflow.weather import view_weather

EPILOG = "Nothing here moves the plan, and no forecast opens a hold."


def weather(
    job: JobFile,
    fetch: Annotated[
        bool, typer.Option("--fetch", help="Ask the weather service of the settings first; keep what it says.")
    ] = False,
    forecast: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Take in a saved forecast first, and keep it.", show_default=False),
    ] = None,
    station: Annotated[
        list[Path] | None,
        typer.Option(metavar="FILE", help="Hourly table of the site's station, of several years.", show_default=False),
    ] = None,
    settings: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Settings file with weather:, as for curing serve.", show_default=False),
    ] = None,
    svg: Annotated[
        str | None,
        typer.Option(metavar="FILE:FACE", help="Draw a face; a folder: all of them.", show_default=False),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print it as JSON and nothing else.")] = False,
    state: State = None,
    as_of: AsOf = None,
) -> None:
    """Print the next three days at each face: sun, what the air takes, rain, frost, and what may be laid."""
    told = None
    if settings is not None:
        from curing.sources.settings import read_settings  # 0.1 s that only who names settings pays

        told = read_settings(settings).weather
    if fetch and told is None:
        where = f"{settings} has no weather:" if settings is not None else "name the settings file (--settings FILE)"
        raise UsageError(
            f"--fetch: which service is asked, and by whom, stands in the settings; {where}; add weather: with "
            "contact: office@example.org to it"
        )
    view, words = view_weather(
        job, state=state, as_of=as_of, fetch=told if fetch else None, forecast=forecast, station=station or ()
    )
    written: list[str] = []
    if svg is not None:
        from curing.workflow.weather_drawn import draw

        written = draw(view, words, svg)
    if json:
        say_bytes(weather_json(view).encode())
    else:
        say_page(weather_page(view, words, written))
