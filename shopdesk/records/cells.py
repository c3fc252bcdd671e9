"""A text as a cell of CSV: no spreadsheet that opens the file reckons with it."""

FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""First signs of what a spreadsheet takes for a formula (OWASP, "CSV Injection")."""


def as_text(cell: str) -> str:
    """With an apostrophe before it where a spreadsheet would take it for a formula."""
    return f"'{cell}" if cell.startswith(FORMULA) else cell
