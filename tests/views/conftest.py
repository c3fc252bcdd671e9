"""The sample shop with a thousand closed jobs behind it, once a module on each database."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.benchmarks.big_shop import grow
from tests.fixtures_sample import (
    sample_copy,
    sample_pattern,
    sample_template,
)

__all__ = ["sample_pattern", "sample_template"]

JOBS = 1000


@pytest.fixture(scope="module")
def grown_sqlite(sample_pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("grown") / "shop.db"
    shutil.copyfile(sample_pattern, path)
    grow(f"sqlite:///{path}", JOBS)
    return f"sqlite:///{path}"


@pytest.fixture(scope="module")
def grown_postgresql(sample_template: str) -> Iterator[str]:
    with sample_copy(sample_template) as url:
        grow(url, JOBS)
        yield url
