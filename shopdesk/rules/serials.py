"""Serials as they are compared."""


def key(serial: str) -> str:
    """Capital letters and digits alone: "K-204 18" and "k20418" are one unit."""
    return "".join(sign for sign in serial.upper() if sign.isalnum())
