"""A program of one's own, told by signed JSON."""

from __future__ import annotations

import json
import ssl
from urllib.parse import urlsplit

from curing import clock
from curing.model.reminders import Answer, Message
from curing.remind.channels.answers import sure
from curing.remind.channels.asking import Request, asked
from curing.remind.channels.connecting import Limits
from curing.remind.channels.filling import key_of, seen
from curing.remind.channels.signing import content_digest, signed

LABEL = "curing"
"""Name of the signature in its headers."""


class WebhookChannel:
    """Sends a message as JSON, signed by a shared secret.

    Parameters
    ----------
    name
        As the settings call it; it is the ``keyid`` of the signature.
    secret
        The bytes of the secret.
    """

    def __init__(self, name: str, url: str, secret: bytes, context: ssl.SSLContext | None, limits: Limits) -> None:
        self.name = name
        self._url = url if urlsplit(url).path else url.replace("?", "/?", 1) if "?" in url else url + "/"
        self._secret = secret
        self._context = context
        self._limits = limits

    @sure
    def send(self, to: str, message: Message) -> Answer:
        """Send a message; never raises."""
        now = clock.now()
        told = {
            "to": seen(to),
            "kind": message.kind.value,
            "subject": seen(message.subject),
            "short": seen(message.short),
            "text": seen(message.text),
            "link": seen(message.link),
            "facts": message.facts,
            "key": key_of(message),
            "sent_at": now.isoformat().replace("+00:00", "Z"),
        }
        body = json.dumps(told, default=str, allow_nan=True).encode("ascii")
        headers = {
            "Content-Type": "application/json",
            "Content-Digest": content_digest(body),
            "Idempotency-Key": f'"{key_of(message)}"',
        }
        components = [("@method", "POST"), ("@target-uri", self._url)]
        components += [(name.lower(), value) for name, value in headers.items()]
        headers |= signed(components, self._secret, LABEL, int(now.timestamp()), self.name)
        hidden = (to, message.link, self._secret.decode("utf-8", "replace"), self._url)
        return asked(Request("POST", self._url, headers, body), self._context, self._limits, hidden)

    def fault(self, to: str) -> str:
        """Return why nothing can be sent to an address, or nothing."""
        return "" if to.strip() else "is empty; write what the program knows the person by"
