"""E-mail by a mail server, one recipient a message, never in clear where it was to be kept safe.

References
----------
RFC 5321 (SMTP), RFC 3207 (STARTTLS), RFC 4954 (AUTH), RFC 3834 (Auto-Submitted), RFC 5322 (the message).
"""

from __future__ import annotations

import re
import smtplib
import socket
import ssl
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from typing import Any

from curing import clock
from curing.model.mailbox import ascii_mailbox, named_mailbox
from curing.model.reminders import Answer, Message, Outcome
from curing.remind.channels.answers import Stage, answer, not_reached, one_line, smtp_verdict, sure
from curing.remind.channels.connecting import Deadline, Limits, NotReached, kept_safe, reach, unsafe
from curing.remind.channels.filling import key_of, one_line_of, seen
from curing.sources.reminder_settings import Email

MOST_REPLY = 64 * 1024
"""[bytes] Of all that a mail server says between two steps of TLS."""


class MailChannel:
    """Sends a message by a mail server."""

    def __init__(
        self, name: str, told: Email, password: str | None, context: ssl.SSLContext | None, limits: Limits
    ) -> None:
        self.name = name
        self._told = told
        self._password = password
        self._context = context
        self._limits = limits
        self._from = named_mailbox(told.sender)

    @sure
    def send(self, to: str, message: Message) -> Answer:
        """Send a message to one mailbox; never raises."""
        if fault := self.fault(to):
            return Answer(Outcome.NEVER, f"the address {fault}")
        mailbox = ascii_mailbox(to.strip())
        hidden = (to, mailbox, message.link, self._password or "", self._told.user or "")
        with Deadline(self._limits.whole) as deadline:
            return self._sent(mailbox, self._written(mailbox, message), hidden, deadline)

    def fault(self, to: str) -> str:
        """Return why nothing can be sent to an address, or nothing."""
        try:
            ascii_mailbox(to.strip())
        except ValueError as fault:
            return str(fault)
        return ""

    def _written(self, to: str, message: Message) -> bytes:
        """Return a message as it goes over the line."""
        name, mailbox = self._from
        mail = EmailMessage(policy=SMTP)
        mail["From"] = Address(one_line_of(name), addr_spec=mailbox)
        mail["To"] = Address(addr_spec=to)
        mail["Subject"] = one_line_of(message.subject)
        mail["Date"] = format_datetime(clock.now())
        mail["Message-ID"] = f"<{key_of(message)}@{mailbox.partition('@')[2]}>"
        mail["Auto-Submitted"] = "auto-generated"
        # Quoted-printable: no line is longer than servers take, and none is changed on the way.
        mail.set_content(seen(message.text), cte="quoted-printable")
        if message.html:
            mail.add_alternative(seen(message.html), subtype="html", cte="quoted-printable")
        return mail.as_bytes()

    def _sent(self, to: str, mail: bytes, hidden: tuple[str, ...], deadline: Deadline) -> Answer:
        stage, line = Stage.GREETING, _Line(self._told, self._context, self._limits, deadline)

        def judged(code: int, said: bytes | str) -> Answer:
            text = said.decode("utf-8", "replace") if isinstance(said, bytes) else said
            return answer(smtp_verdict(code, stage), code, text, hidden)

        try:
            code, said = line.connect(self._told.host, self._told.at_port)
            if code != 220:
                return judged(code, said)
            line.ehlo_or_helo_if_needed()
            if self._told.security == "starttls":
                stage = Stage.KEEPING_SAFE
                line.keep_safe()
                line.ehlo_or_helo_if_needed()
            if self._told.user is not None:
                stage = Stage.LOGIN
                line.login(self._told.user, self._password or "")
            steps = (
                (Stage.SENDER, f"FROM:<{self._from[1]}>", "MAIL", 250),
                (Stage.ADDRESS, f"TO:<{to}>", "RCPT", 250),
                (Stage.MESSAGE, "", "DATA", 354),
            )
            for step, words, command, wanted in steps:
                # DATA itself is answered before the message is given: till then nothing can have been taken.
                stage = Stage.ADDRESS if step is Stage.MESSAGE else step
                code, said = line.docmd(command, words)
                if code != wanted and not (step is Stage.ADDRESS and code == 251):
                    return judged(code if code // 100 in (4, 5) else 0, said)
            stage = Stage.MESSAGE
            line.send(re.sub(rb"(?m)^\.", b"..", _in_lines(mail)) + b".\r\n")
            return judged(*line.getreply())
        except NotReached as fault:
            return not_reached(one_line(str(fault), hidden))
        except smtplib.SMTPResponseException as error:
            return judged(error.smtp_code, error.smtp_error)
        except smtplib.SMTPServerDisconnected:
            return _broken(stage, deadline.passed)
        except smtplib.SMTPException:
            return not_reached("the mail server offers no way to log in that is known here; check port and security")
        except OSError as error:
            return _broken(stage, deadline.passed or isinstance(error, TimeoutError))
        finally:
            line.leave()


def _broken(stage: Stage, slow: bool) -> Answer:
    """Return what it means that the line broke, or that nothing came."""
    what = "no answer in time" if slow else "the line broke"
    if stage is Stage.MESSAGE:
        return Answer(Outcome.UNKNOWN, f"{what} after the message was given; it may have been taken")
    return Answer(Outcome.LATER, f"{what} at {stage}", None, stage is Stage.KEEPING_SAFE and not slow)


def _in_lines(mail: bytes) -> bytes:
    """Return a message in which every line ends as mail servers take it, so that none ends it early."""
    return re.sub(rb"\r\n|\r|\n", b"\r\n", mail if mail.endswith(b"\n") else mail + b"\n")


class _Line(smtplib.SMTP):
    """A line to a mail server under a deadline, with an end to what it may say."""

    def __init__(self, told: Email, context: ssl.SSLContext | None, limits: Limits, deadline: Deadline) -> None:
        # A name of its own, because the search for this machine's full name may take minutes.
        super().__init__(local_hostname=named_mailbox(told.sender)[1].partition("@")[2])
        self._told = told
        self._context = context
        self._limits = limits
        self._deadline = deadline

    def _get_socket(self, host: str, port: int, timeout: float) -> socket.socket:
        line = reach(host, port, self._deadline, self._limits)
        if self._told.security == "tls":
            assert self._context is not None
            return kept_safe(line, host, self._context)
        return line

    def keep_safe(self) -> None:
        """Go on under TLS; where that can't be, nothing goes on.

        Raises
        ------
        NotReached
            It is not offered, or the certificate is not to be trusted.
        """
        host = self._told.host
        if not self.has_extn("starttls"):
            raise NotReached(f"{host} offers no STARTTLS, so nothing is sent; check port and security")
        code, said = self.docmd("STARTTLS")
        if code != 220:
            raise smtplib.SMTPResponseException(code, said)
        assert self.sock is not None
        assert self._context is not None
        try:
            self.sock = self._context.wrap_socket(self.sock, server_hostname=host)
        except (OSError, ValueError) as error:
            raise NotReached(unsafe(host, error)) from None
        # What was said in clear counts for nothing any more (RFC 3207, section 4.2).
        self.file = None
        self.helo_resp = self.ehlo_resp = None
        self.esmtp_features = {}
        self.does_esmtp = False

    def getreply(self) -> tuple[int, bytes]:
        """Return the answer to what was asked last."""
        if self.file is None and self.sock is not None:
            self.file = _Counted(self.sock.makefile("rb"))
        return super().getreply()

    def leave(self) -> None:
        """Say good-bye without waiting for an answer."""
        try:
            if self.sock is not None:
                self.sock.settimeout(1.0)
                self.putcmd("quit")
        except (smtplib.SMTPException, OSError, ValueError):
            pass
        finally:
            self.close()


class _Counted:
    """What a mail server says, to its end or to the most that is read."""

    def __init__(self, inner: Any) -> None:
        self._inner = inner
        self._left = MOST_REPLY

    def readline(self, most: int) -> bytes:
        found: bytes = self._inner.readline(min(most, max(self._left, 0)))
        self._left -= len(found)
        # As if the line had broken: what is said without an end is no answer.
        return found if found.endswith(b"\n") and self._left > 0 else b""

    def close(self) -> None:
        self._inner.close()
