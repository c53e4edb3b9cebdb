"""What tests/book/test_book_import.py asks of a book holds on PostgreSQL too."""

from __future__ import annotations

import pytest
import test_book_import
from other_engine import needing_a_book

from wetfoot.book.opening import Book

globals().update(needing_a_book(test_book_import))


@pytest.fixture
def book(book_on_server: Book) -> Book:
    return book_on_server
