"""A message to try out a person's channels, sent at once."""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from curing import clock
from curing.model.people import Person
from curing.model.reminders import Answer, Channel, Kind, Occasion, Outcome
from curing.publish.words import Words
from curing.remind.looking import Composes
from curing.remind.ways import Ways
from curing.store.outbox import TRIAL_USE
from curing.workflow.sight import Sight


def send_test(
    sight: Sight, person: Person, channels: Mapping[str, Channel], compose: Composes
) -> list[tuple[str, Answer]]:
    """Send a message on every channel of a person that is set up, and return what each answered; nothing is kept.

    Examples
    --------
    ``send_test(job.sight(), mia, channels, Scenes(job, address).compose)`` gives ``[("email", Answer(...))]``.
    """
    root, now, ways = sight.roots.people.get(person.id, person.id), clock.now(), Ways(sight, channels)
    one = Occasion(f"trial|{root}", Kind.TRIAL, root, now, now + TRIAL_USE, ways.stamp(now))
    answers = []
    for name in ways.channels(root):
        message = compose(sight, root, [one], secrets.token_hex(16), ())
        channel, address = channels[name], ways.address(root, name)
        try:
            fault = channel.fault(address)
            answer = Answer(Outcome.NEVER, fault) if fault else channel.send(address, message)
        except Exception as error:  # no channel raises; one of somebody's own might
            words = Words(sight.job.file.units)
            answer = Answer(
                Outcome.UNKNOWN, words.say("sending.broken", channel=name, error=type(error).__name__), own_fault=True
            )
        answers.append((name, answer))
    return answers
