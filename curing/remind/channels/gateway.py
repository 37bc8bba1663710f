"""A gateway for push or text messages, told by one HTTP request that the settings describe."""

from __future__ import annotations

import json
import ssl
from urllib.parse import urlencode

from curing.model.reminders import Answer, Kind, Message, Outcome
from curing.remind.channels.answers import sure
from curing.remind.channels.asking import Request, asked
from curing.remind.channels.connecting import Limits
from curing.remind.channels.filling import (
    in_header,
    in_json,
    in_markup,
    in_text,
    in_url,
    key_of,
    one_line_of,
    values_of,
)
from curing.sources.reminder_settings import Gateway

_ANY = Message("any", Kind.TRIAL, "any", "any", "any", "", "any")


class GatewayChannel:
    """Sends a message by one HTTP request."""

    def __init__(self, name: str, told: Gateway, secret: str, context: ssl.SSLContext | None, limits: Limits) -> None:
        self.name = name
        self._told = told
        self._secret = secret
        self._context = context
        self._limits = limits

    @sure
    def send(self, to: str, message: Message) -> Answer:
        """Send a message to an address; never raises."""
        if fault := self.fault(to):
            return Answer(Outcome.NEVER, f"the address {fault}")
        try:
            request = self._request(to, message)
        except ValueError as error:
            return Answer(Outcome.NEVER, f"the message {error}")
        hidden = (to, message.link, self._secret)
        told = self._told
        return asked(request, self._context, self._limits, hidden, accepted=told.accepted, refused=told.refused)

    def fault(self, to: str) -> str:
        """Return why nothing can be sent to an address, or nothing."""
        if not to.strip():
            return "is empty; write the number or name that the gateway knows"
        if one_line_of(to, len(to)) != to.strip() or len(to) > 300:
            return "has line ends or signs that are not seen, or is too long; write it anew"
        try:
            self._request(to, _ANY)
        except ValueError as error:
            return str(error)
        return ""

    def _request(self, to: str, message: Message) -> Request:
        told, values = self._told, values_of(to, message, self._secret)
        headers = {name: in_header(text, values).strip() for name, text in told.headers.items()}
        typed = next((text.lower() for name, text in headers.items() if name.lower() == "content-type"), "")
        body, own_type = None, ""
        if told.as_json is not None:
            body, own_type = json.dumps(in_json(told.as_json, values)).encode("ascii"), "application/json"
        elif told.form is not None:
            filled = {name: in_text(text, values) for name, text in told.form.items()}
            body, own_type = urlencode(filled).encode("ascii"), "application/x-www-form-urlencoded"
        elif told.body is not None:
            fill = in_markup if "xml" in typed or "html" in typed else in_text
            body, own_type = fill(told.body, values).encode("utf-8"), "text/plain; charset=utf-8"
        elif told.method != "GET":
            body = b""
        if own_type and not typed:
            headers["Content-Type"] = own_type
        headers["Idempotency-Key"] = f'"{key_of(message)}"'
        return Request(told.method, in_url(told.url, values), headers, body)
