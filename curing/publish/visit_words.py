"""What the weather makes of a visit, in words: short beside the visit, and whole with its figures."""

from __future__ import annotations

from collections.abc import Mapping

VISITS: Mapping[str, str] = {
    "visit.short.extra": "one more at midday: dry air takes {value}",
    "visit.short.shade": "cloth up first: dry air takes {value}",
    "visit.short.midday": "mist before noon: frost tonight",
    "visit.short.midday.look": "look first, then mist before noon: frost tonight",
    "visit.short.look": "look and feel first",
    "visit.short.frost": "no water tonight: frost; look only",
    "visit.short.cold": "no water below {limit}: look only, cover it",
    "visit.whole.extra": (
        "One more at midday: the air takes {value} from it {span}; from {limit} on, mists early and late do not last."
    ),
    "visit.whole.shade": (
        "Cloth up first: the air takes {value} from it {span}; from {limit} on, water alone does not keep up."
    ),
    "visit.whole.midday": "Mist before noon: {value} {span}, so no water tonight.",
    "visit.whole.midday.look": "Mist before noon: {value} {span}, so no water tonight. Look first: dark, leave it.",
    "visit.whole.look": (
        "Look and feel first: the air takes only {value} from it {span}, less than {limit}. Dark and cool: leave it, "
        "and tick that it is still damp."
    ),
    "visit.whole.frost": "No water tonight, look only: down to {value} {span}, and a wet face freezes. Cover it.",
    "visit.whole.cold": "No water, look only: {value} {span}, and none below {limit}. Cover it; the cure rests.",
    "visit.no_water": "NO WATER: {text}",
    "visit.dry.frost": "frost tonight",
    "visit.dry.cold": "below {limit}",
}
