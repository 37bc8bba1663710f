"""E-mail addresses: one mailbox, as mail servers everywhere take it.

References
----------
RFC 5321, section 4.1.2 (a mailbox) and 4.5.3.1 (64 octets before the @, 255 after it); RFC 5890 (names of hosts in
other scripts have an ASCII form, ``xn--…``).
"""

from __future__ import annotations

import re

from curing.model.quantities import clip

_LOCAL = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*")
_LABEL = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?")
_NAMED = re.compile(r'(?P<name>[^<>"\\\x00-\x1f\x7f]*)<(?P<address>[^<> ]+)>')
_EXAMPLE = "write one like mia@example.org"


def ascii_mailbox(text: str) -> str:
    """Return a mailbox with its host in ASCII.

    Raises
    ------
    ValueError
        It is not one mailbox: a list, with a name beside it, with spaces, or of a form that few servers take
        (quoted, or with other signs than ASCII before the @).

    Examples
    --------
    >>> ascii_mailbox("mia@lehmbau-süd.example")
    'mia@xn--lehmbau-sd-ieb.example'
    >>> ascii_mailbox("mia@example.org, wil@example.org")
    Traceback (most recent call last):
    ...
    ValueError: is not one e-mail address; write one like mia@example.org
    """
    if re.search(r"[\s,;<>\"\x00-\x1f\x7f]", text) or text.count("@") > 1:
        raise ValueError(f"is not one e-mail address; {_EXAMPLE}")
    local, at, host = text.partition("@")
    if not at or not local or not host:
        raise ValueError(f"is no e-mail address; {_EXAMPLE}")
    if not local.isascii():
        raise ValueError("has signs before the @ that many mail servers do not take; ask for another address")
    try:
        plain = host.encode("idna").decode("ascii")
    except UnicodeError:
        plain = ""
    labels = plain.split(".")
    hosted = len(labels) > 1 or plain.lower() == "localhost"
    if not (hosted and all(_LABEL.fullmatch(label) for label in labels)) or len(plain) > 255 or plain[-1].isdigit():
        raise ValueError(f'is no e-mail address: "{clip(host)}" is no name of a mail host; {_EXAMPLE}')
    if not _LOCAL.fullmatch(local) or len(local) > 64:
        raise ValueError(f'is no e-mail address: "{clip(local)}" can\'t stand before the @; {_EXAMPLE}')
    return f"{local}@{plain}"


def named_mailbox(text: str) -> tuple[str, str]:
    """Return the name (or nothing) and the mailbox of ``Walls <walls@example.org>``.

    Raises
    ------
    ValueError
        It is not one mailbox.

    Examples
    --------
    >>> named_mailbox("Alder Court <walls@example.org>"), named_mailbox("walls@example.org")
    (('Alder Court', 'walls@example.org'), ('', 'walls@example.org'))
    """
    if found := _NAMED.fullmatch(text.strip()):
        return found["name"].strip(), ascii_mailbox(found["address"])
    return "", ascii_mailbox(text.strip())
