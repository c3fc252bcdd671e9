"""The bench: jobs at hand and the sheet."""
