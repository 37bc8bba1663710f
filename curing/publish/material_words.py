"""Sentences of the catalogue: materials, what is ordered, made or done ahead, and the table of them.

``note.ACT_by`` and ``note.ACT_late`` are what heads a plan when something is due; their answers
stand with them as ``terminal.answer.ACT_by``.
"""

from __future__ import annotations

from collections.abc import Mapping

_AT_HAND = "when it is there, at the head of the job file: at_hand: {{ {fill}: DATE }}"

DUE: Mapping[str, str] = {
    "note.order_by": "order {what} by {day}, for {coat} on {for_day}",
    "note.order_late.one": "order {what}: due {day}, {days} day ago, for {coat} on {for_day}",
    "note.order_late.many": "order {what}: due {day}, {days} days ago, for {coat} on {for_day}",
    "note.make_by": "make ready {what} by {day}, for {coat} on {for_day}",
    "note.make_late.one": "make ready {what}: due {day}, {days} day ago, for {coat} on {for_day}",
    "note.make_late.many": "make ready {what}: due {day}, {days} days ago, for {coat} on {for_day}",
    "note.do_by": "by {day}, for {coat} on {for_day}: {what}",
    "note.do_late.one": "due {day}, {days} day ago, for {coat} on {for_day}: {what}",
    "note.do_late.many": "due {day}, {days} days ago, for {coat} on {for_day}: {what}",
    "terminal.answer.order_by": _AT_HAND,
    "terminal.answer.order_late": _AT_HAND,
    "terminal.answer.make_by": _AT_HAND,
    "terminal.answer.make_late": _AT_HAND,
    "terminal.answer.do_by": _AT_HAND,
    "terminal.answer.do_late": _AT_HAND,
}

PAGE: Mapping[str, str] = {
    "terminal.materials.now": "as planned now, not saved",
    "terminal.materials.estimates": (
        "Estimates for the coats still to be laid, waste in. A trial batch, the sample panel and the maker's data "
        "sheet come first."
    ),
    "terminal.materials.none": "No coats are left to be laid: nothing to buy.",
    "terminal.materials.old": 'This plan was saved without amounts: "curing plan" works them out.',
    "terminal.head.by": "BY",
    "terminal.head.do": "ORDER, MAKE, DO",
    "terminal.head.first_needed": "FIRST NEEDED FOR",
    "terminal.head.goods": "GOODS",
    "terminal.head.in_all": "IN ALL",
    "terminal.head.packs": "TO BUY",
    "terminal.head.there": "",
    "terminal.head.coat_takes": "COAT",
    "terminal.head.takes": "TAKES",
    "terminal.head.week": "WEEK",
    "terminal.head.monday": "FROM",
    "terminal.head.laying": "LAYING",
    "terminal.head.rounds": "ROUNDS",
    "terminal.head.misting": "MISTING",
    "terminal.materials.order": "order {what}",
    "terminal.materials.make": "make ready {what}",
    "terminal.materials.do": "{what}",
    "terminal.materials.for": "{coat}, {day}",
    "terminal.materials.late": "! {day}",
    "terminal.materials.due": "  {day}",
    "terminal.materials.legend.late": "! its day is over: order, make or do it at once, or expect the coat later",
    "terminal.materials.pack.bag.one": "{number} bag of {size}",
    "terminal.materials.pack.bag.many": "{number} bags of {size}",
    "terminal.materials.pack.tub.one": "{number} tub of {size}",
    "terminal.materials.pack.tub.many": "{number} tubs of {size}",
    "terminal.materials.pack.tin.one": "{number} tin of {size}",
    "terminal.materials.pack.tin.many": "{number} tins of {size}",
    "terminal.materials.pack.roll.one": "{number} roll of {size}",
    "terminal.materials.pack.roll.many": "{number} rolls of {size}",
    "terminal.materials.loose": "{size} loose",
    "terminal.materials.begun": "in use",
    "terminal.materials.again": "at one time",
    "terminal.materials.all": "all",
    "terminal.materials.at_hand": "there since {day}",
    "terminal.materials.coming": "there from {day}",
    "terminal.materials.coat": "{system} {coat}",
    "terminal.materials.amount": "{what} {amount}",
    "terminal.materials.what.mortar": "mortar",
    "terminal.materials.what.paint": "paint",
    "terminal.materials.what.labour": "laying",
    "terminal.materials.what.misting": "misting water",
    "terminal.materials.bought_begun": (
        "in use: some is in the wall already, and the amount is what is still to come; look what is left"
    ),
    "terminal.materials.weeks": "Hours of people; rounds and misting from today on, also for coats that are laid.",
    "terminal.materials.notes": "HOW",
    "terminal.materials.note": "{what}: {note}",
    "terminal.materials.figures": (
        "Every figure with its source: curing systems ID, or --csv. Another figure: rules: {{ base.lime: 1.5 parts, "
        "lime.bag: 20 kg, putty.age: 90 d }} in the job file."
    ),
    "terminal.written.csv": "written {path}",
}

SYSTEM: Mapping[str, str] = {
    "terminal.head.ahead": "AHEAD",
    "terminal.head.lead": "WHEN",
    "terminal.head.does": "WHAT IS DONE",
    "terminal.head.how": "HOW",
    "terminal.systems.take": "{goods} {amount}",
    "terminal.systems.ahead": "{lead} before {coat}",
}

MATERIALS: Mapping[str, str] = {**DUE, **PAGE, **SYSTEM}
