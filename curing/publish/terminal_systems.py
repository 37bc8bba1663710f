"""Coat systems in a terminal: which there are, and all rules of one with value, range and source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from curing.model.system import RULES, Rule, System
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
            _rules(system.rules, words),
            [say("terminal.systems.own_value")],
        ]
    )


def _rules(rules: Sequence[Rule], words: Words) -> list[str]:
    cells = [tuple(words.say(f"terminal.head.{name}") for name in ("rule", "value", "range", "source"))]
    cells += [(rule.id, plain(rule.written), _range(rule, words), plain(rule.source)) for rule in rules]
    least = [max(width(row[k]) for row in cells) for k in range(3)]
    return table(cells, (*least, 10))


def _range(rule: Rule, words: Words) -> str:
    kind = RULES[rule.name].kind
    least, most = ((words.figure(one, kind) if one is not None else "") for one in (rule.least, rule.most))
    if least and most:
        return words.say("terminal.systems.range", least=least, most=most)
    if least or most:
        return words.say(f"terminal.systems.{'least' if least else 'most'}", value=least or most)
    return ""
