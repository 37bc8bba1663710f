"""What a row of the outbox says of itself: why it did not go out, and whether it may have come twice."""

from __future__ import annotations

from collections.abc import Mapping

SENDING: Mapping[str, str] = {
    "sending.dropped": "not needed any more",
    "sending.next_told": "the next was told",
    "sending.left": "this person is not of the job any more",
    "sending.channel_gone": "{channel} is not set up for this person any more",
    "sending.channel_closed": "{channel} does not work now: {said}",
    "sending.channel_since": "a channel was set up since",
    "sending.nowhere": "this person has no channel that is set up",
    "sending.folded": "over before it could go out; told in one message with the others",
    "sending.folded_nowhere": "over before it could go out",
    "sending.over": "of no use any more after {tries} tries; the last answer: {said}",
    "sending.later": "{said}; tried again {when}",
    "sending.never": "{said}; not tried again on {channel}",
    "sending.patience": "{said}; {tries} tries on {channel}, now on {other}",
    "sending.useless": "{said}; after the next try it would be of no use",
    "sending.unknown": "no answer ({said}): it may have been taken",
    "sending.twice": "{said}; may have come {times} times",
    "sending.many": "more than {most} messages in an hour; told in one message with the others",
    "sending.broken": "{channel} broke ({error}), which is a fault of curing; its log says more; report it",
    "sending.no_text": "no message could be made ({error}), which is a fault of curing; its log says more; report it",
    "sending.no_address": "no address on {channel}",
    "sending.no_answer": "nothing was said",
}
