"""What the weather comes to at a wall, in words: days, ages, what may be laid. Never more than a forecast is worth."""

from __future__ import annotations

from collections.abc import Mapping

SKY: Mapping[str, str] = {
    # how old, always first
    "sky.age.none": "No weather is kept. A forecast would never open a hold.",
    "sky.age": "Weather of {when}, {age} old. A forecast never opens a hold.",
    "sky.age.old": "OLD WEATHER, of {when}, {age} old. A forecast never opens a hold.",
    "sky.old": "Nothing is moved or released on old weather. Look at the sky.",
    "sky.site_age": "{site}: weather of {when}, {age} old.",
    "sky.site_none": "{site}: no weather is kept.",
    "sky.minutes": "{number} min",
    "sky.hours": "{number} h",
    "sky.days": "{number} days",
    "sky.none.do": "Ask a service (--fetch, with --settings FILE) or name a saved forecast (--forecast FILE).",
    "sky.header": "{job}  {when}",
    # where it is from
    "sky.from": "{attribution}.",
    "sky.from.file": "Told by {source}.",
    "sky.estimated": "Worked out here, not told: {what}.",
    "sky.estimated.radiation": "sun from cloud",
    "sky.estimated.cloud": "cloud from sun",
    "sky.estimated.humidity": "humidity from dew point",
    "sky.asked.new": "{site}: asked just now.",
    "sky.asked.same": "{site}: asked just now; the service has nothing newer.",
    "sky.asked.not_due": "{site}: not asked; what the service said last holds until {when}.",
    "sky.asked.not_due_yet": "{site}: not asked; what the service said last holds still.",
    "sky.trouble": "{site}: the last try at {when} brought nothing: {why}",
    "sky.instead": "{site}: the weather of {when} stays in use, {age} old.",
    "sky.instead.none": "{site}: nothing is kept that could be used instead.",
    "sky.years": "Ordinary: the middle day of that face and month in {first}-{last}, measured.",
    "sky.years.none": "What is ordinary here is left out: no years of a station are given (--station FILE).",
    # tables
    "sky.head.site": "AIR",
    "sky.head.coldest": "COLDEST",
    "sky.head.could": "COULD BE",
    "sky.head.warmest": "WARMEST",
    "sky.head.rain": "RAIN",
    "sky.head.wind": "WIND",
    "sky.head.face": "FACE",
    "sky.head.day": "DAY",
    "sky.head.sun": "SUN",
    "sky.head.takes": "AIR TAKES {unit}",
    "sky.head.rain_on": "RAIN ON IT {unit}",
    "sky.from_hour": "from {clock}",
    "sky.coldest": "{value} at {clock}",
    "sky.frost": "FROST {value}",
    "sky.sun": "{hours} h",
    "sky.takes": "{value}",
    "sky.takes.ordinary": "{value}, ordinary {ordinary}",
    "sky.takes.why": "{value}, ordinary {ordinary}: {why}",
    "sky.driver.sun": "sun",
    "sky.driver.wind": "wind",
    "sky.driver.dry": "dry air",
    "sky.rain": "{start}-{end} {amount}",
    "sky.rain.could": "{start}-{end} {amount}, up to {could}",
    "sky.rain.only_could": "{start}-{end} up to {could}",
    "sky.no_rain": "none",
    "sky.inside": "inside",
    "sky.unknown": "?",
    "sky.legend": (
        "Sun: hours with direct sun on the face. Air takes: what it would take from the face kept wet. "
        "Up to: if the wind turns by 45°."
    ),
    "sky.legend.could": "Could be: colder by as much as a forecast so far ahead may be off.",
    # what may be laid
    "sky.coats": "MAY IT BE LAID, BY THE WEATHER",
    "sky.coats.none": "No coat is planned outside in these days.",
    "sky.coat": "{face} {task}  {when}",
    "sky.coat.held": "Held all the same: a hold before it is not met, and no forecast opens it.",
    "sky.yes": "Yes.",
    "sky.yes.until": "Yes; close it by {until}.",
    "sky.no": "No.",
    "sky.not_known": "Not known.",
    "sky.not_known.old": "Not known: the weather is older than 24 h, and old weather lets nothing be laid.",
    "sky.warning": "Mind: {text}",
    "sky.kept_off": "But for the sheet or cloth: {text}",
    "sky.yes.cloth": "Yes, with wet cloth up before the sun is on it.",
    "sky.yes.cloth.until": "Yes, with wet cloth up before the sun is on it; close it by {until}.",
    "sky.rule": "{text} ({rule}).",
    # chart
    "sky.chart.title": "{face}: the next 72 hours",
    "sky.chart.summary": (
        "{sun} h of sun, the air takes {takes}, rain on the face {rain}, coldest {coldest}, could be {could}. "
        "Weather of {made}, {age} old."
    ),
    "sky.chart.sun": "sun on the face [W/m2]",
    "sky.chart.takes": "the air takes an hour [{unit}]",
    "sky.chart.rain": "rain on the face an hour [{unit}]",
    "sky.chart.air": "air, dashed: how cold it could be",
    "sky.chart.scale": "{low} to {high}",
    "sky.chart.frost": "frost",
    "sky.chart.head.time": "hour",
    "sky.chart.head.sun": "sun {unit}",
    "sky.chart.head.takes": "air takes {unit}",
    "sky.chart.head.rain": "rain {unit}",
    "sky.chart.head.air": "air {unit}",
    "sky.chart.head.could": "could be {unit}",
    "sky.written": "Written: {path}",
    # pages
    "sky.page.title": "Weather at this wall, three days",
    "sky.page.line": "Weather of {when}, {age} old: {text} {attribution}.",
    "sky.page.line.old": (
        "Weather here is of {when}, {age} old. Nothing is moved on old weather. Look at the sky."
    ),
    "sky.page.line.site": "{site}: {text}",
    "sky.page.trouble": "The last try to read the weather, {when}, brought nothing: {why}",
    "sky.page.today": "{low} to {high}, rain {rain}, wind up to {wind}.",
    "sky.page.frost": "Frost could come {when}: {value}, could be {could}.",
    "sky.page.table": "Hours as a table",
    "sky.page.coat": "{task}, {when}",
    "sky.page.unknown": "Not told.",
    "sky.page.air": "{low} at {clock} (could be {could}) to {high}. Rain {rain}. Wind up to {wind}.",
    "sky.page.air.frost": (
        "FROST could come: {low} at {clock}, could be {could}. Up to {high}. Rain {rain}. Wind up to {wind}."
    ),
    "sky.page.row": "Sun {sun}. Air takes {takes}. Rain on it {rain}.",
    "sky.page.row.dry": "Sun {sun}. Air takes {takes}. No rain on it.",
    "sky.page.row.inside": "Air takes {takes}.",
}
