"""Phones that send what they have waiting, all at once, to one server on loopback: times, errors, nothing lost.

    python benchmarks/load.py [--phones 50] [--rounds 4] [--entries 5] [--postgresql ADDRESS_OF_AN_EMPTY_DATABASE]

Each request is sent twice, as after an answer that was lost on the way. All readings are invented. The server and
the phones share this machine, so the times are those of a machine that does both.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "tests" / "faults"))

from sending import Sending, free_port, send_all, serving

from wetfoot.book.entries import Reading
from wetfoot.book.records import current, open_book
from wetfoot.plan.example import new_folder


def run(name: str, location: str | None, phones: int, rounds: int, entries: int) -> bool:
    """Print one line of the table; return whether all that was sent is in the book once, without an error."""
    with tempfile.TemporaryDirectory(prefix="wetfoot-load-") as made:
        folder = Path(made) / "season"
        new_folder(folder)
        if location:
            plan = folder / "season.toml"
            plan.write_text(f'book = "{location}"\n{plan.read_text("utf-8")}', "utf-8")
        open_book(location or folder).close()
        with serving(folder, free_port()) as address:
            begun = time.perf_counter()
            seen = send_all(address, phones, rounds, entries, timeout_s=300.0)
            took = time.perf_counter() - begun
        with open_book(location or folder) as book:
            found = [each.id for each in current(book, Reading)]
    lost, doubled = len(seen.sent - set(found)), len(found) - len(set(found))
    print(_line(name, seen, took, lost, doubled), flush=True)
    return not (lost or doubled or seen.errors)


def _line(name: str, seen: Sending, took: float, lost: int, doubled: int) -> str:
    middle, high = np.percentile(seen.seconds, (50, 95))
    errors = sum(seen.errors.values())
    return (
        f"| {name} | {len(seen.seconds)} | {len(seen.sent)} | {took:.1f} | {middle:.2f} | {high:.2f} | "
        f"{errors} | {lost} | {doubled} |"
    )


def main() -> None:
    reader = argparse.ArgumentParser()
    for name, standard in (("phones", 50), ("rounds", 4), ("entries", 5)):
        reader.add_argument(f"--{name}", type=int, default=standard)
    reader.add_argument("--postgresql", default=None)
    given = reader.parse_args()
    print(f"{given.phones} phones at once; {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} before\n")
    print("| engine | requests | readings | took, s | p50, s | p95, s | errors | lost | doubled |")
    print("|---|---|---|---|---|---|---|---|---|")
    good = run("SQLite", None, given.phones, given.rounds, given.entries)
    if given.postgresql:
        good &= run("PostgreSQL", given.postgresql, given.phones, given.rounds, given.entries)
    raise SystemExit(0 if good else 1)


if __name__ == "__main__":
    main()
