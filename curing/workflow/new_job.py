"""``curing new``: from answers to a job file that is written whole, or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date
from pathlib import Path
from uuid import uuid4

from curing import clock
from curing.errors import CuringError, FileError, OutputError, Place, Problem, UsageError
from curing.model.answers import JobAnswers, short_id
from curing.model.quantities import Units
from curing.model.system import System
from curing.publish.job_text import job_text
from curing.publish.new_summary import next_page, summary_page
from curing.publish.terminal_layout import wrap
from curing.publish.words import Words
from curing.sources.jobfile import read_job
from curing.sources.systemfile import OWN_FOLDER, find_systems, load_systems
from curing.sources.typed_answers import read_yes
from curing.sources.wall_schedule import read_schedule
from curing.workflow.interview import Interview, Talk, hold
from curing.workflow.kept_answers import KeptAnswers, job_files_begun, place_of, read_kept
from curing.workflow.new_judge import Judge
from curing.workflow.new_people import ask_people
from curing.workflow.new_questions import Asking, ask_job, ask_name
from curing.workflow.new_table import ask_all_walls
from curing.workflow.new_walls import ask_done, ask_start
from curing.workflow.opening import EASTERNMOST

SUFFIXES = (".yaml", ".yml")


@dataclass
class NewJob:
    """A job that is being asked for.

    Parameters
    ----------
    file
        Its file; None: named after the job.
    walls
        A wall schedule to take the walls from.
    units
        Where they need not be asked for.
    from_file
        Whether the answers come from a file that holds all of them: then what is kept is that file.
    """

    file: Path | None
    walls: Path | None = None
    units: Units | None = None
    from_file: bool = False
    memory: KeptAnswers = field(default_factory=lambda: KeptAnswers(None))
    words: Words = field(default_factory=Words)

    def run(self, talk: Talk) -> Path:
        """Ask, write the job file, and return it.

        Raises
        ------
        UsageError, FileError, OutputError
            What can't be begun or written: a file that stands there already, a table with faults.
        WrongAnswerError, EOFError
            As :func:`curing.workflow.interview.hold`; what was answered is kept.
        """
        self.file = self._file()
        if self.file is not None:
            self._begin(self.file, talk)
        asking = self._asking(self.file.parent if self.file else Path(), talk)
        self._try_table(asking)
        talk.show(_opening(self.file, self.words))
        if self.memory.answers:
            talk.say(self.words.count("new.resumed", len(self.memory.answers)))
            talk.say(self.words.say("new.resumed.afresh", kept=self.memory.path))
        if self.file is None:
            self.file = self._named(asking, talk)
        path = self.file
        answers = hold(lambda: self._interview(asking, path), talk, self.memory, self.words)
        write_job(path, job_text(answers, str(uuid4()), self.words), asking.today)
        self.memory.forget()
        talk.show(next_page(str(path), answers, replace_units(self.words, answers)))
        return path

    def _file(self) -> Path | None:
        """Return the file that was named, or the one whose answers are kept here if it is the only one."""
        if self.file is not None:
            return self.file if self.file.suffix in SUFFIXES else self.file.with_name(f"{self.file.name}.yaml")
        begun = job_files_begun(Path()) if not self.from_file else []
        if len(begun) > 1:
            names = ", ".join(str(path) for path in begun)
            raise UsageError(
                f"answers of {len(begun)} new jobs are kept here ({names}); say which: curing new {begun[0]}"
            )
        return begun[0] if begun else None

    def _begin(self, path: Path, talk: Talk) -> None:
        refuse_if_there(path)
        kept = read_kept(path)
        if self.from_file and kept.answers:
            raise UsageError(
                f"{place_of(path)}: answers from before are kept there; go on with them without --answers, or delete it"
            )
        self.memory = kept

    def _asking(self, folder: Path, talk: Talk) -> Asking:
        today: date = (clock.now().astimezone(UTC) + EASTERNMOST).date()
        return Asking(
            words=self.words,
            judge=Judge(folder, today, self.words),
            systems=systems_at_hand(folder),
            units=self.units,
            table=str(self.walls) if self.walls else "",
            interactive=talk.patient,
        )

    def _try_table(self, asking: Asking) -> None:
        """Tell what is wrong with a table before anything is asked."""
        if asking.table:
            sides = {one: system.sides for one, system in asking.systems.items()}
            read_schedule(Path(asking.table), systems=sides, meant={} if asking.interactive else None)

    def _named(self, asking: Asking, talk: Talk) -> Path:
        """Ask for the name first, to know where the answers are kept."""
        first = KeptAnswers(None)

        def question() -> Interview[str]:
            inner = ask_name(asking, "")
            one = next(inner)
            name: str = yield replace(
                one,
                judge=lambda text: fault_of_file(file_of(text)),
                effect=lambda text: self.words.say("new.effect.file", file=file_of(text)),
            )
            return name

        path = file_of(hold(question, talk, first, self.words))
        self._begin(path, talk)
        if not self.memory.answers:
            self.memory.answers = first.answers
            self.memory.keep()
        return path

    def _interview(self, asking: Asking, path: Path) -> Interview[JobAnswers]:
        answers = yield from ask_job(asking, _proposed(path))
        if answers.units != asking.words.units:
            words = replace_units(asking.words, answers)
            asking = replace(asking, words=words, judge=replace(asking.judge, words=words))
        start = yield from ask_start(asking)
        answers = yield from ask_people(asking, answers)
        answers, lead = yield from ask_all_walls(asking, answers, start)
        answers = yield from ask_done(asking, answers, lead)
        yield asking.question(
            "write",
            _only_yes,
            default="yes",
            section="write",
            lead=tuple(summary_page(answers, asking.words)),
            pause=True,
            file=path,
        )
        return answers


def replace_units(words: Words, answers: JobAnswers) -> Words:
    """Return words in the units of a job."""
    return Words("us" if answers.units == "us" else "metric", words.language)


def _only_yes(text: str) -> bool:
    if not read_yes(text):
        raise ValueError('nothing is written; "back" changes the last answers, Ctrl-C leaves and keeps them')
    return True


def _opening(path: Path | None, words: Words) -> list[str]:
    first = words.say("new.begin", file=path) if path else words.say("new.begin.unnamed")
    return [*wrap(first), *wrap(words.say("new.keys"))]


def _proposed(path: Path) -> str:
    """Return a name for the job made from that of its file."""
    return " ".join(word.capitalize() for word in path.stem.replace("-", " ").replace("_", " ").split())


def file_of(name: str) -> Path:
    """Return the job file of a job without one, in the present folder.

    Examples
    --------
    >>> file_of("Alder Court")
    PosixPath('alder-court.yaml')
    """
    return Path(f"{short_id(name, (), 40, stem='job')}.yaml")


def fault_of_file(path: Path) -> str:
    """Return why a job file can't be begun there, or nothing."""
    try:
        refuse_if_there(path)
    except CuringError as error:
        return error.problems[0].text
    return ""


def refuse_if_there(path: Path) -> None:
    """Refuse a job file that stands there already, or a folder that is not there."""
    if path.is_symlink() or path.exists():
        what = f"{path}: stands there already and is not written over; give another name"
        raise UsageError(f"{what}, or change it in an editor and check it: curing check {path}")
    if not path.parent.is_dir():
        raise UsageError(f"{path}: there is no folder {path.parent}; make it, or name another")


def systems_at_hand(folder: Path) -> Mapping[str, System]:
    """Return the coat systems at hand; one with faults is left to whoever names it."""
    own = (folder / OWN_FOLDER,)
    found: dict[str, System] = {}
    for name in sorted(find_systems(own)):
        try:
            found |= load_systems([name], own)[0]
        except FileError:
            continue
    return found


def write_job(path: Path, text: str, today: date) -> None:
    """Write a job file whole, after reading it back; one that stands there stays as it is.

    Raises
    ------
    FileError
        The job would not be read without a fault; nothing is written.
    OutputError
        The folder can't be written, or a file of that name came to be.
    """
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".yaml", dir=path.parent)
    except OSError as error:
        raise OutputError(f"{path}: can't be written ({error.strerror}); free some space") from None
    aside = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(aside, 0o644)
        _read_back(aside, path, today)
        _place(aside, path)
    except OSError as error:
        raise OutputError(f"{path}: can't be written ({error.strerror}); free some space") from None
    finally:
        aside.unlink(missing_ok=True)


def _read_back(aside: Path, path: Path, today: date) -> None:
    try:
        read_job(aside, years=range(today.year, today.year + 2), today=today)
    except FileError as error:
        first = Problem(None, f"{path}: not written, because it would not be read without a fault:")
        faults = (Problem(_renamed(problem.place, aside, path), problem.text) for problem in error.problems)
        raise FileError([first, *faults]) from None


def _renamed(place: Place | None, aside: Path, path: Path) -> Place | None:
    return replace(place, file=str(path)) if place is not None and place.file == str(aside) else place


def _place(aside: Path, path: Path) -> None:
    """Give the file its name, unless one of that name has come to be."""
    try:
        os.link(aside, path)
    except FileExistsError:
        raise OutputError(
            f"{path}: has come to be in the meantime and is not written over; move it away and run this again"
        ) from None
    except OSError:  # a disk without hard links
        if path.exists():
            raise OutputError(f"{path}: stands there already and is not written over; move it away") from None
        os.rename(aside, path)
