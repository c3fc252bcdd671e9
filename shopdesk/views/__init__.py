"""Reads: SELECT to frozen dataclasses, one file per screenful. Nothing here writes."""
