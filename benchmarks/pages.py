"""The pages' median server time over a book of 50,000 records, beside a bare page of the same framework; their weight.

    python benchmarks/pages.py [RECORDS] [REPEATS]

Each request goes through the whole application in this process, with no network and no other server between (ASGI);
the bare page is a FastAPI application with one route that answers a line of HTML, asked in turn with each page. The
records are invented: readings, visits, top-ups, events and planting stock of three seasons, one of them the plan's.
The weight is what a browser loads for the page from an empty cache: page, style and scripts, packed as they are sent;
the part of it that is drawings is named apart.
"""

from __future__ import annotations

import gzip
import re
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from fastapi import FastAPI
from fastapi.responses import HTMLResponse
from starlette.testclient import TestClient

from wetfoot.answers.demo import demo_folder
from wetfoot.answers.readings import season_span
from wetfoot.book.entries import TANK, Event, Reading, Record, TopUp, Visit
from wetfoot.book.records import add, open_book
from wetfoot.book.stock_entries import StoreCheck
from wetfoot.plan.file import read_plan
from wetfoot.plan.model import Plan
from wetfoot.web.access import open_access
from wetfoot.web.app import create_app
from wetfoot.web.rendering import PAGES
from wetfoot.web.season import OpenSeason

GOAL, GOAL_BYTES = 20.0, 100_000
OTHERS = ("/visit", "/records?page=40", "/records?find=east", "/stock/records", "/stock/exposed", "/stock/store")
SEASONS, SEED = 3, 8
VISIT_EVERY_D = 2
PART = 5000


def made_up(plan: Plan, count: int) -> list[Record]:
    """Return records spread evenly over the visits of the plan's season, up to now, and of the two before it."""
    begin, _ = season_span(plan)
    days = range(1, plan.crop.season_d, VISIT_EVERY_D)
    mornings = [
        begin - timedelta(days=365 * year) + timedelta(days=day, hours=8) for year in range(SEASONS) for day in days
    ]
    each = -(-count // len(mornings))
    random = np.random.default_rng(SEED)
    return [record for at in mornings for record in a_visit(plan, at, each, random)][:count]


def a_visit(plan: Plan, at: datetime, count: int, random: np.random.Generator) -> Iterator[Record]:
    """Yield what one visit writes down: the tank, then EC and level pot by pot, and something of the store."""
    shared: dict[str, Any] = {"at": at, "zone": plan.site.zone, "who": "invented"}
    full = plan.tank.volume_l
    yield Visit(**shared, note="an invented visit")
    left = float(random.uniform(0.6, 0.8) * full)
    yield Reading(**shared, kind="tank_volume", place=TANK, value=left)
    yield Reading(**shared, kind="ec", place=TANK, value=float(random.uniform(1.6, 1.9)))
    yield TopUp(**shared, place=TANK, water_l=full - left)
    yield Event(**shared, kind="other", note="invented")
    yield StoreCheck(**shared, lot="G1 2026", kg=float(random.uniform(1, 2)), rot_kg=0.0)
    for n in range(count - 6):
        bank = plan.banks[n % len(plan.banks)]
        pot, ec = n // 2 % bank.pots + 1, n % 2 == 0
        value = random.uniform(1.5, 2.0) if ec else random.normal(plan.nests[bank.nest].set_level_m, 0.001)
        yield Reading(**shared, kind="ec" if ec else "level", place=bank.name, pot=pot, value=float(value))


def a_season(folder: Path, count: int) -> OpenSeason:
    """Return a season with that many records, computed."""
    demo_folder(folder)
    plan = read_plan(folder)
    records = made_up(plan, count)
    with open_book(folder) as book:
        for at in range(0, len(records), PART):
            add(book, *records[at : at + PART], now=max(record.at for record in records))
    season = OpenSeason(folder, runs=20)
    season.compute()
    season.wait()
    assert season.work.state == "done", season.work
    time.sleep(3)  # until the plan's file has lain still
    return season


def bare() -> TestClient:
    app = FastAPI()

    @app.get("/", response_class=HTMLResponse)
    def page() -> str:
        return "<!doctype html><title>Bare</title><p>A line."

    return TestClient(app)


def seconds(client: TestClient, address: str) -> float:
    start = time.perf_counter()
    answer = client.get(address)
    taken = time.perf_counter() - start
    assert answer.status_code == 200, (address, answer.status_code)
    return taken


def weight(client: TestClient, address: str) -> tuple[int, int]:
    """Return the packed bytes of a page with its style and scripts but without drawings; and of its drawings."""
    text = client.get(address).text
    plain = re.sub(r"<svg.*?</svg>", "", text, flags=re.DOTALL)
    files = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', text))
    loaded = sum(packed(client.get(file).content) for file in files)
    return packed(plain.encode()) + loaded, packed(text.encode()) - packed(plain.encode())


def packed(raw: bytes) -> int:
    return min(len(raw), len(gzip.compress(raw)))


def main() -> None:
    count, repeats = (int(word) for word in sys.argv[1:3]) if len(sys.argv) > 2 else (50_000, 15)
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "season"
        season = a_season(folder, count)
        here = TestClient(create_app(season, open_access(folder)), base_url="http://localhost", client=("127.0.0.1", 1))
        empty = bare()
        print(f"{count:,} records of {SEASONS} seasons; {repeats} requests a page after the first; in process (ASGI)\n")
        print("| page | first, ms | median, ms | range, ms | bare, ms | times bare (range) | kB | drawings, kB |")
        print("|---|---|---|---|---|---|---|---|")
        slow = [page for page in [*(address for address, _ in PAGES), *OTHERS] if not row(here, empty, page, repeats)]
    print(f"\nOver {GOAL:.0f} times the bare page or {GOAL_BYTES // 1000} kB: {', '.join(slow) or 'none'}.")


def row(here: TestClient, empty: TestClient, page: str, repeats: int) -> bool:
    first = 1e3 * seconds(here, page)
    seconds(empty, "/")
    pairs = [(1e3 * seconds(here, page), 1e3 * seconds(empty, "/")) for _ in range(repeats)]
    ours, theirs = zip(*pairs, strict=True)
    middle, beside = statistics.median(ours), statistics.median(theirs)
    ratios = sorted(each / beside for each in ours)
    plain, drawn = weight(here, page)
    print(f"| {page} | {first:.0f} | {middle:.1f} | {min(ours):.1f} to {max(ours):.1f} | {beside:.2f} | "
          f"{middle / beside:.1f} ({ratios[0]:.1f} to {ratios[-1]:.1f}) | {plain / 1e3:.1f} | {drawn / 1e3:.1f} |",
          flush=True)  # fmt: skip
    return middle <= GOAL * beside and plain < GOAL_BYTES


if __name__ == "__main__":
    main()
