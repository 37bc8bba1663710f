"""The part ``reminders:`` of the settings file: when summaries go out, and the channels people are reached on.

It holds no secret: passwords and keys are named by their files.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Any, Literal, TypeVar

from pydantic import AfterValidator, BeforeValidator, Field, field_validator, model_validator

from curing.model.mailbox import named_mailbox
from curing.model.people import FileModel, ShortId
from curing.model.quantities import clip
from curing.model.times import TimeOfDay
from curing.sources.settings_values import (
    PLACEHOLDERS,
    File,
    asks_for,
    checked_marks,
    checked_url,
    is_here,
    is_host,
)
from curing.sources.validation import unknown

PORTS = {"starttls": 587, "tls": 465, "none": 25}
"""Ports of mail servers, by how the line is kept safe: RFC 6409, RFC 8314, RFC 5321."""
OURS = ("host", "content-length", "transfer-encoding", "connection", "idempotency-key")
"""Headers that are set for every request."""
_TOKEN = re.compile(r"[A-Za-z0-9!#$%&'*+.^_`|~-]+")

Model = TypeVar("Model", bound=FileModel)
Url = Annotated[str, AfterValidator(checked_url), Field(max_length=2000, examples=["https://push.example.org/send"])]
Line = Annotated[str, Field(min_length=1, max_length=200, pattern=r"^[^\x00-\x1f\x7f]*$")]


class Email(FileModel):
    """A mail server that takes messages for everybody."""

    kind: Literal["email"]
    host: Annotated[str, Field(examples=["mail.example.org"])]
    port: Annotated[int, Field(ge=1, le=65535)] | None = None
    security: Literal["starttls", "tls", "none"] = "starttls"
    user: Annotated[str, Field(min_length=1, max_length=200, pattern=r"^[ -~]+$", examples=["walls"])] | None = None
    password_file: File | None = None
    sender: Annotated[str, Field(alias="from", max_length=300, examples=["Walls <walls@example.org>"])]
    ca_file: File | None = None
    """Trusted instead of the certificate authorities of this machine, PEM."""

    @field_validator("host")
    @classmethod
    def _host(cls, value: str) -> str:
        if not is_host(value):
            raise ValueError(f'"{clip(value)}" is no name of a mail server; write it like mail.example.org')
        return value

    @field_validator("sender")
    @classmethod
    def _sender(cls, value: str) -> str:
        try:
            named_mailbox(value)
        except ValueError as fault:
            raise ValueError(f'"{clip(value)}" {fault}') from None
        return value

    @model_validator(mode="after")
    def _together(self) -> Email:
        faults = []
        if self.security == "none" and not is_here(self.host):
            faults.append(
                f'security: none sends links and password in clear to "{clip(self.host)}"; it is for a mail server on '
                "this machine alone; write starttls or tls"
            )
        if (self.user is None) is not (self.password_file is None):
            faults.append("user and password_file belong together; write both, or neither")
        return _told(self, faults)

    @property
    def at_port(self) -> int:
        """The port, or the one that belongs to the security."""
        return self.port or PORTS[self.security]


class Webhook(FileModel):
    """A program of one's own that takes signed JSON."""

    kind: Literal["webhook"]
    url: Annotated[Url, Field(repr=False)]
    secret_file: File
    ca_file: File | None = None

    @field_validator("url")
    @classmethod
    def _no_marks(cls, value: str) -> str:
        return without_marks(value)


class Gateway(FileModel):
    """Any gateway for push or text messages that takes one HTTP request a message."""

    kind: Literal["http"]
    url: Annotated[Url, AfterValidator(checked_marks), Field(repr=False)]
    method: Literal["POST", "PUT", "GET"] = "POST"
    headers: Annotated[Mapping[str, Any], Field(default_factory=dict, max_length=30, repr=False)]
    body: Annotated[Annotated[str, AfterValidator(checked_marks)] | None, Field(max_length=10_000, repr=False)] = None
    form: Annotated[Mapping[str, Any] | None, Field(repr=False)] = None
    as_json: Annotated[Mapping[str, Any] | None, Field(alias="json", repr=False)] = None
    secret_file: File | None = None
    accepted: Line | None = None
    """Must stand in the answer of a gateway that says 200 for everything."""
    refused: Line | None = None
    """Must not stand in it."""
    ca_file: File | None = None

    @field_validator("headers")
    @classmethod
    def _headers(cls, value: Mapping[str, Any]) -> Mapping[str, Any]:
        faults = []
        for name, text in _texts(value).items():
            if not _TOKEN.fullmatch(name):
                faults.append(f'"{clip(name)}" is no name of a header; write it like X-Priority')
            elif name.lower() in OURS:
                faults.append(f"{name} is set for every request; delete it")
            elif not re.fullmatch(r"[ -~]*", text):
                faults.append(f"{name} has signs that a header can't have; write it in ASCII, on one line")
            elif name.lower() in ("authorization", "proxy-authorization") and not asks_for("secret", text):
                faults.append(f'{name} holds a secret; put it into secret_file and write "{{secret}}" in its stead')
            else:
                checked_marks(text)
        if len({name.lower() for name in value}) < len(value):
            faults.append("a header stands twice; delete one")
        if faults:
            raise ValueError("; ".join(faults))
        return value

    @field_validator("form")
    @classmethod
    def _form(cls, value: Mapping[str, Any] | None) -> Mapping[str, Any] | None:
        for text in _texts(value or {}).values():
            checked_marks(text)
        return value

    @field_validator("as_json")
    @classmethod
    def _json(cls, value: Mapping[str, Any] | None) -> Mapping[str, Any] | None:
        _marks_inside(value)
        return value

    @model_validator(mode="after")
    def _together(self) -> Gateway:
        faults = []
        given = {"body": self.body, "form": self.form, "json": self.as_json}
        kinds = [name for name, value in given.items() if value is not None]
        if len(kinds) > 1:
            faults.append(f"{' and '.join(kinds)} can't go together; keep one of them")
        if kinds and self.method == "GET":
            faults.append(f"GET sends no {kinds[0]}; write method: POST, or put it into the url")
        wanted = any(asks_for("secret", value) for value in (self.url, self.headers, *given.values()))
        if wanted and self.secret_file is None:
            faults.append('"{secret}" is asked for, but no secret_file is named; add "secret_file: gateway.secret"')
        if self.secret_file is not None and not wanted:
            faults.append('a secret_file is named, but nothing asks for it; write "{secret}" where it belongs')
        return _told(self, faults + _type_faults(self.headers, kinds[:1]))


class ToFile(FileModel):
    """A file to which every message is added, for trying out."""

    kind: Literal["file"]
    path: File


KINDS = ("email", "webhook", "http", "file")
AnyChannel = Email | Webhook | Gateway | ToFile


def _known_kind(value: Any) -> Any:
    if not isinstance(value, dict):
        raise ValueError('a channel is a mapping; write "kind: email" and what belongs to it under its name')
    if "kind" not in value:
        raise ValueError('"kind" is missing; add "kind: email"')
    if value["kind"] not in KINDS:
        raise ValueError(unknown("kind", str(value["kind"]), KINDS))
    return value


OneChannel = Annotated[AnyChannel, Field(discriminator="kind"), BeforeValidator(_known_kind)]


class Reminders(FileModel):
    """When summaries go out, which address is asked while all is well, and the channels."""

    evening: TimeOfDay = 18 * 60 + 30
    """[min after midnight] Of the summary, and of what is due tomorrow; local time of the job."""
    morning: TimeOfDay = 7 * 60
    """[min after midnight] From then on matters of a whole day are told."""
    alive: Annotated[Url | None, Field(repr=False)] = None
    """Asked every few minutes while all is well, for a watch at another place that calls when it is not asked."""
    channels: Annotated[Mapping[ShortId, OneChannel], Field(max_length=20)] = Field(default_factory=dict)
    """By the name that people's ``tell:`` in the job files uses."""

    @field_validator("alive")
    @classmethod
    def _no_marks(cls, value: str | None) -> str | None:
        return without_marks(value) if value else value


def without_marks(value: str) -> str:
    """Return an address that asks for nothing to be filled in.

    Raises
    ------
    ValueError
        It has a brace.
    """
    if "{" in value or "}" in value:
        raise ValueError("nothing is filled into this address; write it without braces")
    return value


def _texts(value: Mapping[str, Any]) -> Mapping[str, str]:
    """Return a mapping of which every value is text."""
    for name, one in value.items():
        if not isinstance(one, str):
            raise ValueError(f'"{clip(name)}" is not text; put it in quotes, as in {clip(name)}: "{{to}}"')
    return value


def _marks_inside(value: Any) -> None:
    if isinstance(value, Mapping):
        for name, one in value.items():
            if one is None and name in PLACEHOLDERS and len(value) == 1:
                raise ValueError(f'{{{name}}} is read as a mapping; put it in quotes: "{{{name}}}"')
            _marks_inside(one)
    elif isinstance(value, list | tuple):
        for one in value:
            _marks_inside(one)
    elif isinstance(value, str):
        checked_marks(value)


def _type_faults(headers: Mapping[str, str], kinds: list[str]) -> list[str]:
    """Return what is wrong with a Content-Type: text filled in is escaped for the form that is sent."""
    said = next((text.lower() for name, text in headers.items() if name.lower() == "content-type"), None)
    if said is None or not kinds:
        return []
    if kinds == ["json"] and "json" not in said:
        return [f'json is not sent as "{clip(said)}"; delete the header Content-Type']
    if kinds == ["form"] and "x-www-form-urlencoded" not in said:
        return [f'form is not sent as "{clip(said)}"; delete the header Content-Type']
    if kinds == ["body"] and not (said.startswith("text/") or "xml" in said):
        better = "json:" if "json" in said else "form:" if "form" in said else "body: with text/plain"
        return [f'text filled into a body can\'t be made safe for "{clip(said)}"; write {better} in its stead']
    return []


def _told(model: Model, faults: list[str]) -> Model:
    if faults:
        raise ValueError("; ".join(faults))
    return model
