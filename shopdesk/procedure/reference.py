"""The reference page of the format, as it is shown by ``shopdesk procedure format``."""

from importlib.resources import files


def reference_text() -> str:
    """The page as Markdown: every kind of line with every field, and examples that load."""
    return (files("shopdesk.procedure") / "REFERENCE.md").read_text(encoding="utf-8")
