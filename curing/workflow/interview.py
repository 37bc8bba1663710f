"""Asking one thing at a time: answers can be taken back, explained, left and gone on with.

An interview is a generator: it yields questions and is sent what was answered, already read. It has
no memory of its own, so that taking an answer back, and going on after a lost terminal, are one and
the same thing: it is played again from the answers that are kept.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from typing import Any, Generic, Protocol, TypeVar

from curing.errors import CuringError
from curing.publish.words import Words

T = TypeVar("T")

BACK, EXPLAIN = "back", "?"


@dataclass(frozen=True)
class Question(Generic[T]):
    """One question.

    Parameters
    ----------
    key
        What it is about; an answer is kept under it.
    ask, why
        The question, and what "?" says; whole sentences from the catalogue.
    read
        Turns the answer into a value; ValueError says what is wrong and what to type.
    default
        What Enter stands for; None where an answer is needed. Empty: there is none.
    effect
        What an answer does, in a line; empty for nothing to say.
    judge
        What the whole job would make of it, where that takes its time: a fault, or nothing. Kept
        answers were judged when they were given.
    section
        Heading of the group it belongs to, shown once.
    lead
        Lines to be read before it is answered.
    pause
        Whether its answer is only for now, and not kept.
    """

    key: str
    ask: str
    why: str
    read: Callable[[str], T]
    default: str | None = None
    effect: Callable[[T], str] | None = None
    judge: Callable[[T], str] | None = None
    section: str = ""
    lead: tuple[str, ...] = ()
    pause: bool = False


Interview = Generator[Question[Any], Any, T]
"""Questions out, values in; at the end what they make up."""


class Talk(Protocol):
    """Where the questions go and the answers come from."""

    @property
    def patient(self) -> bool:
        """Whether somebody sits there who can answer again; else a wrong answer ends it."""

    def ask(self, question: Question[Any]) -> str:
        """Return the answer to a question; EOFError: nobody answers any more."""

    def say(self, text: str, *, indent: str = "", heading: bool = False) -> None:
        """Show a sentence, or several on a line each."""

    def show(self, lines: Sequence[str]) -> None:
        """Show lines as they are."""


class Memory(Protocol):
    """Where answers are kept: (key, text) in order."""

    answers: list[tuple[str, str]]

    def keep(self) -> None:
        """Keep the answers as they are now."""


class WrongAnswerError(CuringError):
    """An answer that nobody can be asked to give again."""


def hold(make: Callable[[], Interview[T]], talk: Talk, memory: Memory, words: Words) -> T:
    """Hold an interview until it is over, and return what it comes to.

    Parameters
    ----------
    make
        Begins it.
    talk
        Where questions go.
    memory
        Answers from before; every new one is kept at once.
    words
        Language.

    Raises
    ------
    WrongAnswerError
        An answer is wrong and nobody is there to give another.
    EOFError
        Nobody answers any more; what was answered is kept.
    """
    shown = ""
    while True:
        interview = make()
        try:
            question = _again(interview, talk, memory, words)
            while True:
                if question.section and question.section != shown:
                    shown = question.section
                    talk.say(shown, heading=True)
                talk.show(question.lead)
                answer = _answered(question, talk, words)
                if answer is None:
                    break
                text, value = answer
                if not question.pause:
                    memory.answers.append((question.key, text))
                    memory.keep()
                if question.effect and (effect := question.effect(value)):
                    talk.say(effect, indent="  > ")
                question = interview.send(value)
        except StopIteration as end:
            found: T = end.value
            return found
        finally:
            interview.close()
        _take_back(talk, memory, words)


def _again(interview: Interview[Any], talk: Talk, memory: Memory, words: Words) -> Question[Any]:
    """Play the kept answers and return the first question without one; what no longer fits goes."""
    question = next(interview)
    for count, (key, text) in enumerate(memory.answers):
        try:
            if key != question.key:
                raise ValueError(key)
            value = question.read(text)
        except ValueError:
            talk.say(words.count("new.unfit", len(memory.answers) - count))
            del memory.answers[count:]
            break
        question = interview.send(value)
    return question


def _take_back(talk: Talk, memory: Memory, words: Words) -> None:
    if not memory.answers:
        talk.say(words.say("new.first"), indent="  ")
        return
    memory.answers.pop()
    memory.keep()
    talk.say(words.say("new.taken_back"), indent="  ")


def _answered(question: Question[T], talk: Talk, words: Words) -> tuple[str, T] | None:
    """Return an answer that holds and its value, None where the one before is to be taken back."""
    while True:
        given = talk.ask(question).strip()
        if given.casefold() == BACK:
            return None
        if given == EXPLAIN:
            talk.say(question.why, indent="  ")
            continue
        text = _plain(given, question.default, words)
        if text is None:
            fault = words.say("new.wanted")
        else:
            try:
                value = question.read(text)
                fault = question.judge(value) if question.judge else ""
            except ValueError as error:
                fault = str(error)
        if text is not None and not fault:
            return text, value
        if not talk.patient:
            raise WrongAnswerError(f"{question.ask}: {fault}")
        talk.say(fault, indent="  ! ")


def _plain(given: str, default: str | None, words: Words) -> str | None:
    """Return an answer without its quotes; the default for none; None where one is needed."""
    if not given:
        return default
    if len(given) > 2 and given[0] == given[-1] == '"':
        return given[1:-1].strip()
    return "" if default is not None and given.casefold() == words.say("new.none") else given


def optional(read: Callable[[str], T], nothing: T) -> Callable[[str], T]:
    """Return a reader that takes no answer for an answer."""
    return lambda text: read(text) if text else nothing


def some_of(items: Sequence[str], most: int = 12) -> str:
    """Return some of many names in one line.

    Examples
    --------
    >>> some_of(["1-out", "2-out", "2-in"], 2)
    '1-out, 2-out, …'
    """
    return ", ".join(items[:most]) + (", …" if len(items) > most else "")
