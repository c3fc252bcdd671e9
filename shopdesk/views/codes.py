"""The short code that stands for a certificate."""

import base64
import hashlib
import json
from dataclasses import asdict
from datetime import date, datetime

from shopdesk.views.certificates import CertificateFacts

_CODE_BYTES = 5
_FORM = "shopdesk certificate 1"
_LATER = frozenset({"claim", "fault", "service"})  # empty, they are no part of the code


def code(facts: CertificateFacts) -> str:
    """Eight letters and digits in two groups: 40 bits of the SHA-256 (FIPS 180-4) over the facts,
    in Base32 (RFC 4648). One letter changed on a certificate gives another code."""
    said = {key: value for key, value in asdict(facts).items() if value or key not in _LATER}
    text = json.dumps(said, sort_keys=True, ensure_ascii=False, default=_plain)
    digest = hashlib.sha256(f"{_FORM}\n{text}".encode("utf-8", "surrogatepass")).digest()
    found = base64.b32encode(digest[:_CODE_BYTES]).decode()
    return f"{found[:4]}-{found[4:]}"


def _plain(value: object) -> str:
    if isinstance(value, datetime | date):
        return value.isoformat()
    raise TypeError(type(value).__name__)
