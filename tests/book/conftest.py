from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from wetfoot.book.records import Book, open_book


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of an empty book, to be copied where a test needs many."""
    folder = tmp_path_factory.mktemp("empty")
    open_book(folder).close()
    return folder / "book.db"


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with open_book(tmp_path) as opened:
        yield opened
