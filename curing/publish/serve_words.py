"""Sentences of ``curing serve`` and ``curing remind``; part of the catalogue."""

from __future__ import annotations

from collections.abc import Mapping

SERVE: Mapping[str, str] = {
    # Said by the command when pages are ready
    "serve.ready": "Ready at {address}",
    "serve.demo_reminders": (
        'Reminders go into {file}. To see a round missed, put its clock on: curing serve --demo --at "2027-05-25 08:46"'
    ),
    "remind.alone.one": "Reminding the people of {number} job. Channels: {channels}.",
    "remind.alone.many": "Reminding the people of {number} jobs. Channels: {channels}.",
    "remind.not_set_up.one": "{name}: {channels} is not set up here.",
    "remind.not_set_up.many": "{name}: {channels} are not set up here.",
    "remind.no_address": "No address of the pages is set, so messages have no link: see address in the settings.",
    "serve.demo": (
        "An invented job to try out: Alder Court, on Tuesday 25 May 2027 before the early round. What you tick stays "
        "in the folder curing-demo; take that away to begin anew."
    ),
    "serve.link": "{job}: {name} opens",
    "serve.people": "Everybody else's link is on the page People. Whoever has a link can tick in that name.",
    "serve.no_tls": (
        "Without https a phone can't open its page where there is no signal: see README, Phones and https."
    ),
}
