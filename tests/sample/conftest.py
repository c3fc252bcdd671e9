"""The one built sample for this folder's tests."""

from tests.fixtures_sample import (
    sample_database,
    sample_pattern,
    sample_postgres_url,
    sample_template,
    sample_to_read,
    sample_url,
)

__all__ = [
    "sample_database",
    "sample_pattern",
    "sample_postgres_url",
    "sample_template",
    "sample_to_read",
    "sample_url",
]
