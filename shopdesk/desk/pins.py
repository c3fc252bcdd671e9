"""PINs: hashed with a memory-hard function (scrypt, RFC 7914), compared in constant time."""

import hashlib
import hmac
import os

from shopdesk.rules import people

COST = 2**13  # with r = 8: 8 MiB of memory a try
_R, _P = 8, 1


def hashed(pin: str, *, cost: int = COST) -> str:
    """The PIN as "cost$salt$key". Raises BadInput for anything but 4 to 12 digits."""
    salt = os.urandom(16)
    return f"{cost}${salt.hex()}${_key(people.pin(pin), salt, cost).hex()}"


def matches(pin: str, stored: str | None) -> bool:
    if not stored or stored.count("$") != 2 or len(pin) > 64:
        return False
    cost, salt, key = stored.split("$")
    return hmac.compare_digest(_key(pin, bytes.fromhex(salt), int(cost)), bytes.fromhex(key))


def _key(pin: str, salt: bytes, cost: int) -> bytes:
    return hashlib.scrypt(pin.encode(), salt=salt, n=cost, r=_R, p=_P, dklen=32)
