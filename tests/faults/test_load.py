"""Fifty phones send what they have waiting at once: nothing is lost, nothing is there twice, on both engines."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from sending import free_port, send_all, serving

from wetfoot.book.entries import Reading
from wetfoot.book.records import current, open_book

PHONES, ENTRIES = 50, 2


@pytest.mark.parametrize("engine", ["sqlite", "postgresql"])
def test_fifty_phones_at_once_lose_nothing_and_double_nothing(
    season_folder: Path, request: pytest.FixtureRequest, engine: str
) -> None:
    location: str | Path = season_folder
    if engine == "postgresql":
        location = request.getfixturevalue("new_database")()
        plan = season_folder / "season.toml"
        plan.write_text(f'book = "{location}"\n{plan.read_text("utf-8")}', "utf-8")
    open_book(location).close()
    with serving(season_folder, free_port()) as address:
        seen = send_all(address, PHONES, rounds=1, entries=ENTRIES)
    assert seen.errors == Counter()
    with open_book(location) as book:
        found = Counter(each.id for each in current(book, Reading))
    assert set(found) == seen.sent
    assert len(seen.sent) == PHONES * ENTRIES
    assert set(found.values()) == {1}
    assert set(seen.acknowledged.values()) == {2}  # each was sent twice and acknowledged twice
