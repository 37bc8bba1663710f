"""Signed requests: HTTP Message Signatures by a shared secret, so that who takes one knows who sent it.

References
----------
RFC 9421 (HTTP Message Signatures; 2.5 the signature base, 3.3.3 hmac-sha256); RFC 9530 (Content-Digest); RFC 8941
(how lists, strings and bytes are written).
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from collections.abc import Sequence


def content_digest(body: bytes) -> str:
    """Return the value of Content-Digest.

    Examples
    --------
    >>> content_digest(b'{"hello": "world"}')
    'sha-256=:X48E9qOokqqrvdts8nOJRJN3OWDUoyWxBf7kbu9DBPE=:'
    """
    return f"sha-256=:{base64.b64encode(hashlib.sha256(body).digest()).decode()}:"


def signed(
    components: Sequence[tuple[str, str]],
    secret: bytes,
    label: str,
    created: int,
    keyid: str,
    alg: str | None = "hmac-sha256",
    nonce: str | None = None,
) -> dict[str, str]:
    """Return the headers Signature-Input and Signature.

    Parameters
    ----------
    components
        What is signed, in this order: names (headers in small letters, or ``@method`` and the like) and values.
    created
        [s since 1970]
    alg, nonce
        None: left out.

    Examples
    --------
    >>> signed([("@method", "POST")], b"secret", "curing", 1, "hook")["Signature-Input"]
    'curing=("@method");created=1;keyid="hook";alg="hmac-sha256"'
    """
    names = " ".join(_string(name) for name, _ in components)
    params = f"({names});created={created};keyid={_string(keyid)}"
    params += "".join(f";{name}={_string(value)}" for name, value in (("alg", alg), ("nonce", nonce)) if value)
    lines = [f"{_string(name)}: {' '.join(value.split())}" for name, value in components]
    base = "\n".join([*lines, f'"@signature-params": {params}'])
    found = hmac.new(secret, base.encode("ascii"), hashlib.sha256).digest()
    return {
        "Signature-Input": f"{label}={params}",
        "Signature": f"{label}=:{base64.b64encode(found).decode()}:",
    }


def _string(text: str) -> str:
    if not all(" " <= sign <= "~" for sign in text):
        raise ValueError("a name that is signed has other signs than ASCII")
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
