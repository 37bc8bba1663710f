"""Coat systems in a terminal: which there are, and all rules of one with value, range and source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from curing.model.goods import Figure
from curing.model.system import Rule, System
from curing.publish.event_title import plain
from curing.publish.terminal import joined, tail_of
from curing.publish.terminal_layout import table, width, wrap
from curing.publish.words import Words


def systems_page(systems: Mapping[str, System], own: Mapping[str, str], words: Words) -> list[str]:
    """Return the list of coat systems.

    Parameters
    ----------
    systems
        By id.
    own
        Files of those that do not come with the program, by id.
    words
        Language of the reader.
    """
    say = words.say
    cells = [tuple(say(f"terminal.head.{name}") for name in ("id", "sides", "coats", "system"))]
    for name, one in sorted(systems.items()):
        cells.append((name, ", ".join(one.sides), str(len(one.coats)), plain(one.name)))
    lines = table(cells, (8, 5, 5, 20), last=True)
    files = [say("terminal.systems.own", id=name, file=tail_of(plain(file), 50)) for name, file in sorted(own.items())]
    return joined([lines, files, [say("terminal.systems.one")]])


def system_page(system: System, words: Words) -> list[str]:
    """Return one coat system: its coats, its hold points, all its rules."""
    say = words.say
    title = wrap(say("terminal.systems.title", id=system.id, name=plain(system.name)), "", "  ")
    coats = [
        (plain(coat.id), plain(coat.name), say(f"terminal.systems.{coat.care}"), ", ".join(map(plain, coat.holds)))
        for coat in system.coats
    ]
    coats.insert(0, tuple(say(f"terminal.head.{name}") for name in ("coat", "name", "care", "holds")))  # type: ignore[arg-type]
    holds = [(plain(hold.id), plain(hold.text)) for hold in system.holds]
    holds.insert(0, (say("terminal.head.hold"), say("terminal.head.true")))
    return joined(
        [
            title,
            table(coats, (8, 12, 5, 24), last=True),
            table(holds, (10, 30), last=True) if system.holds else [],
            *_materials(system, words),
            _rules(tuple(system.values.values()), words),
            [say("terminal.systems.own_value")],
        ]
    )


def _materials(system: System, words: Words) -> list[list[str]]:
    """Return what the coats take, what that is, and what is done ahead, each as a table if there is any."""
    say = words.say
    names = {one.id: plain(one.name) for one in system.goods}
    mixes = [
        (
            plain(coat.id),
            ", ".join(
                say("terminal.systems.take", goods=names[take.of], amount=plain(take.amount.written))
                for take in coat.takes
            ),
        )
        for coat in system.coats
        if coat.takes
    ]
    goods = [(plain(one.id), plain(one.name), plain(f"{one.order} {one.make}".strip())) for one in system.goods]
    ahead = [
        (
            plain(one.id),
            say("terminal.systems.ahead", lead=words.figure(one.lead, "days"), coat=plain(one.before)),
            plain(one.text),
        )
        for one in system.ahead
    ]

    def headed(rows: Sequence[tuple[str, ...]], heads: Sequence[str], least: Sequence[int]) -> list[str]:
        return table([tuple(say(f"terminal.head.{one}") for one in heads), *rows], least, last=True) if rows else []

    return [
        headed(mixes, ("coat", "takes"), (8, 40)),
        headed(goods, ("id", "goods", "how"), (8, 12, 30)),
        headed(ahead, ("ahead", "lead", "does"), (10, 14, 30)),
    ]


def _rules(rules: Sequence[Rule | Figure], words: Words) -> list[str]:
    heads = tuple(words.say(f"terminal.head.{name}") for name in ("rule", "value", "range"))
    cells = [heads, *((rule.id, plain(rule.written), _range(rule, words)) for rule in rules)]
    sources = [words.say("terminal.head.source"), *(plain(rule.source) for rule in rules)]
    rows = table(cells, [max(width(row[k]) for row in cells) for k in range(3)])
    return [line for row, told in zip(rows, sources, strict=True) for line in (row, *wrap(told, "    "))]


def _range(rule: Rule | Figure, words: Words) -> str:
    least, most = ((words.figure(one, rule.kind) if one is not None else "") for one in (rule.least, rule.most))
    if least and most:
        return words.say("terminal.systems.range", least=least, most=most)
    if least or most:
        return words.say(f"terminal.systems.{'least' if least else 'most'}", value=least or most)
    return ""
