"""Photos are kept beside the record, by the names of their files: whether one is there."""

from pathlib import Path


def gone(name: str) -> str:
    """A sentence where ``name`` is a path with no file behind it, as seen from this computer; ""
    for a file that is there, and for a bare name, which says nothing of where it is kept."""
    text = name.strip().strip("\"'")
    if "/" not in text and "\\" not in text:
        return ""
    try:
        if Path(text).expanduser().is_file():
            return ""
        why = "no such file"
    except (OSError, RuntimeError, ValueError) as error:
        why = (getattr(error, "strerror", None) or "not a path of this computer").lower()
    return f"photo {text[:200]}: {why} as this terminal sees it"
