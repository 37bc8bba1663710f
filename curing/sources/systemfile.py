"""Coat systems from files: built-in ones, and a job's own copies, which win over them.

A system is asked for by its id. A job keeps its own in a folder ``systems``
beside the job file; file names do not matter, except that a file without a
readable id is taken for the system it is named after, so that its faults are told.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from hashlib import sha256
from importlib.resources import files
from itertools import chain
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from curing.errors import FileError, Place, Problem
from curing.model.goods import Ahead, Goods
from curing.model.system import SYSTEM_FORMAT, Coat, HoldPoint, Rule, System, Work
from curing.sources.composed import composed
from curing.sources.goods_checks import check_goods
from curing.sources.rule_checks import read_own_rule as read_own_rule
from curing.sources.system_checks import Draft, check, ids_of
from curing.sources.validation import raise_problems, unknown, validate
from curing.sources.yaml_nodes import Document, compose, read_text

Part = TypeVar("Part", bound=BaseModel)

OWN_FOLDER = "systems"
"""Folder beside a job file with its own coat systems."""

_ID = re.compile(r"""^id:[ \t]*["']?([A-Za-z0-9-]+)""", re.M)
_STAND_IN = Coat(id="x", name="x", title="x", work=Work.PLASTER)


def built_in_folder() -> Path:
    """Return the folder of the coat systems that come with the program."""
    return Path(str(files("curing.templates") / "systems"))


def find_systems(own_folders: Iterable[Path] = ()) -> dict[str, tuple[Path, ...]]:
    """Return the id of every coat system at hand, with the file that holds it.

    Only the line with the id is read. More than one file: they stand in the same
    folder, and :func:`load_systems` refuses that id.

    Parameters
    ----------
    own_folders
        Folders that win over the built-in one, earlier ones over later; a
        missing folder holds nothing.

    Examples
    --------
    >>> sorted(find_systems())
    ['clay-inside', 'clay-lime', 'hydraulic-lime']
    """
    found: dict[str, tuple[Path, ...]] = {}
    for folder in (*own_folders, built_in_folder()):
        here: dict[str, tuple[Path, ...]] = {}
        for path in sorted(p for p in folder.glob("*") if p.suffix in (".yaml", ".yml")):
            name = _id_in(path)
            here[name] = (*here.get(name, ()), path)
        found = {**here, **found}
    return found


def _id_in(path: Path) -> str:
    try:
        match = _ID.search(read_text(path))
    except FileError:
        match = None
    return match[1] if match else path.stem


def load_systems(ids: Iterable[str], own_folders: Iterable[Path] = ()) -> tuple[dict[str, System], dict[str, str]]:
    """Read the coat systems of a job.

    Parameters
    ----------
    ids
        Ids of the systems that faces ask for.
    own_folders
        As in :func:`find_systems`; of a job: its folder / ``systems``.

    Returns
    -------
    systems, digests
        By id: the system, and the SHA-256 of its file's bytes in hexadecimal.

    Raises
    ------
    FileError
        Unknown ids, an id in two files, and all problems of all the files.

    Examples
    --------
    >>> systems, digests = load_systems(["clay-lime"])
    >>> systems["clay-lime"].rule("finish.twice_to").value, len(digests["clay-lime"])
    (14.0, 64)
    """
    at_hand = find_systems(own_folders)
    systems: dict[str, System] = {}
    digests: dict[str, str] = {}
    problems: list[Problem] = []
    for name in dict.fromkeys(ids):
        paths = at_hand.get(name, ())
        if len(paths) == 1:
            try:
                systems[name] = _named(name, paths[0])
                digests[name] = sha256(paths[0].read_bytes()).hexdigest()
            except FileError as error:
                problems += error.problems
        else:
            problems.append(_not_one(name, paths, at_hand))
    if problems:
        raise FileError(problems)
    return systems, digests


def _named(name: str, path: Path) -> System:
    system = read_system(path)
    if system.id != name:
        text = f'the job asks for "{name}", but this says "id: {system.id}"; write "id: {name}"'
        raise FileError(Problem(Place(str(path)), text))
    return system


def _not_one(name: str, paths: tuple[Path, ...], at_hand: Mapping[str, tuple[Path, ...]]) -> Problem:
    if not paths:
        for other, (path, *_) in at_hand.items():
            if path.stem == name:
                text = f'this says "id: {other}", and the job asks for "{name}"; let one of them say the same'
                return Problem(Place(str(path)), text)
        hint = f'your own stand in a folder "{OWN_FOLDER}" beside the job file'
        return Problem(None, f"{unknown('coat system', name, sorted(at_hand))} ({hint})")
    others = ", ".join(path.name for path in paths[1:])
    text = f'"id: {name}" also stands in {others}, in the same folder; give one of them another id'
    return Problem(Place(str(paths[0])), text)


def read_system(path: Path | str, text: str | None = None) -> System:
    """Read one coat system.

    Parameters
    ----------
    path
        The file, also the name shown in places.
    text
        What the file says, where that is already read.

    Raises
    ------
    FileError
        All problems of the file, each with line and column, in the order of the file.
    """
    return _read(str(path), read_text(path) if text is None else text)


@lru_cache(maxsize=64)
def _read(path: str, text: str) -> System:
    """Read a coat system once, however many jobs, answers and pages ask for it; it is frozen."""
    built_in = Path(path).parent == built_in_folder()
    document = composed(text, path) if built_in else compose(text, path)
    problems = document.problems
    form = _form(document)
    if form is not None:
        problems.append(form)
        version = document.data.get("curing")
        if isinstance(version, int) and version > SYSTEM_FORMAT:
            raise FileError(form)  # what else looks wrong may be right in that form
    rules = _parts(Rule, "rules", "rule", document, problems)
    holds = _parts(HoldPoint, "holds", "hold point", document, problems)
    coats = _parts(Coat, "coats", "coat", document, problems)
    goods = _parts(Goods, "goods", "goods", document, problems)
    ahead = _parts(Ahead, "ahead", "ahead", document, problems)
    found: dict[str, Mapping[int, BaseModel]] = {"rules": rules, "holds": holds, "coats": coats}
    found |= {"goods": goods, "ahead": ahead}
    whole = {**document.data, "curing": SYSTEM_FORMAT}
    for key, parts in found.items():
        if isinstance(whole.get(key), list):
            whole[key] = list(parts.values())
    if document.data.get("coats") and whole["coats"] == []:
        whole["coats"] = [_STAND_IN]  # none is missing: each has been told what is wrong with it
    system = validate(System, whole, document, (), "", problems)
    ids = {key: ids_of(document.data.get(key)) for key in found}
    draft = Draft(document, rules, holds, coats, goods, ahead, ids)
    problems.extend(chain(check(draft), check_goods(draft)))
    raise_problems(problems)
    if system is None:
        raise FileError(Problem(Place(document.file), "this is no coat system; copy a built-in one and change it"))
    return system


def _form(document: Document) -> Problem | None:
    """Return what is wrong with the version of the file's form."""
    if "curing" not in document.data:
        text = f'"curing" is missing; add "curing: {SYSTEM_FORMAT}", the form of this file'
        return Problem(Place(document.file, 1, 1), text)
    version, place = document.data["curing"], document.place(("curing",))
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        return Problem(place, f'curing: the form of this file is a whole number; write "curing: {SYSTEM_FORMAT}"')
    if version > SYSTEM_FORMAT:
        text = f"curing: form {version} is newer than {SYSTEM_FORMAT}, the newest that can be read here"
        return Problem(place, f"{text}; install a newer curing, or copy a built-in system of this one")
    return None


def _parts(model: type[Part], key: str, what: str, document: Document, problems: list[Problem]) -> dict[int, Part]:
    """Return the parts of a list that are without fault, by their place in it."""
    parts: Any = document.data.get(key)
    good: dict[int, Part] = {}
    for index, data in enumerate(parts if isinstance(parts, list) else ()):
        name = data.get("id") if isinstance(data, dict) else None
        thing = f'{what} "{name}"' if isinstance(name, str) and name else f"{what} {index + 1}"
        part = validate(model, data, document, (key, index), thing, problems)
        if part is not None:
            good[index] = part
    return good
