"""Inputs that grow towards code nobody has run yet: coverage-guided fuzzing of what is read (libFuzzer by atheris).

    python tests/faults/coverage_guided.py plan --seconds 120

An input is read, or refused in words; anything else ends the run, with the input in a file of the working folder. It
needs the extra ``fuzz``; the bounded tests of inputs in this folder do not.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).parent))
with atheris.instrument_imports(include=["wetfoot", "tomlkit", "pvlib.iotools"]):
    from test_weather_inputs import SAMPLES

    from wetfoot.book.entries import tidy
    from wetfoot.book.exchange import PlacesKnown, import_records
    from wetfoot.book.opening import open_book
    from wetfoot.book.stock_rows import pot_code
    from wetfoot.errors import WetfootError
    from wetfoot.plan.example import example_text
    from wetfoot.plan.file import plan_from_text
    from wetfoot.quantities import parse
    from wetfoot.trial.check_character import without_check
    from wetfoot.trial.data import read_trial
    from wetfoot.weather.read import read_weather

KINDS = ("depth", "volume", "mass", "temperature", "fraction", "concentration")
Target = Callable[[Path, bytes], object]


def plan(_: Path, raw: bytes) -> object:
    """Read a plan."""
    return plan_from_text(raw.decode("utf-8", "replace"))


def weather(folder: Path, raw: bytes) -> object:
    """Read a weather file whose format is told from what stands in it."""
    return read_weather(_written(folder / "weather.txt", raw))


def records(folder: Path, raw: bytes) -> object:
    """Import a table of records into a book, which grows with the run."""
    path, now = _written(folder / "rows.csv", raw), datetime(2026, 7, 1, tzinfo=UTC)
    with open_book(folder) as book:
        return import_records(book, path, zone="UTC", places=PlacesKnown({"East": 12}, 400.0), who="tester", now=now)


def trial(folder: Path, raw: bytes) -> object:
    """Read a trial's table."""
    return read_trial(_written(folder / "trial.csv", raw))


def words(_: Path, raw: bytes) -> object:
    """Read a quantity, a pot's label and a check character from what a person typed or a camera read."""
    text = raw.decode("utf-8", "replace")
    for kind in KINDS:
        with suppress(WetfootError):
            parse(text, kind, "typed")
    with suppress(ValueError):
        without_check(text)
    return pot_code(tidy(text), "East", PlacesKnown({"East": 12}, 400.0))


TARGETS: dict[str, Target] = {each.__name__: each for each in (plan, weather, records, trial, words)}
SEEDS: dict[str, list[str]] = {
    "plan": [example_text(), example_text("US")],
    "weather": list(SAMPLES.values()),
    "records": ["date,what,place,value,unit\n2026-06-01,EC,East,1.5,mS/cm\n2026-06-01,tank,tank,400,L\n"],
    "trial": ["block,board,pieces,gutter,yield_kg,lost\n1,1,1,no,2.5,\n1,1,2,no,,died\n1,2,1,yes,3.1,\n"],
    "words": ["East 3", "3/4 in", "1 1/2 gal", "90 degF", "1,5 kg", "A1B2C3*"],
}


def _written(path: Path, raw: bytes) -> Path:
    path.write_bytes(raw)
    return path


def main() -> None:
    """Fuzz one kind of input for a bounded time."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("target", choices=TARGETS)
    asked.add_argument("--seconds", type=int, default=120)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    folder = Path(tempfile.mkdtemp(prefix=f"wetfoot-{given.target}-"))
    corpus = folder / "corpus"
    corpus.mkdir()
    for number, text in enumerate(SEEDS[given.target]):
        (corpus / str(number)).write_text(text, "utf-8")

    def one(raw: bytes) -> None:
        with suppress(WetfootError):
            TARGETS[given.target](folder, raw)

    bounds = [f"-max_total_time={given.seconds}", f"-seed={given.seed}", "-timeout=20", "-rss_limit_mb=3000"]
    atheris.Setup([sys.argv[0], str(corpus), "-print_final_stats=1", "-max_len=20000", *bounds], one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
