"""Invented books of planting stock, written into season folders: two generations, tests, a hold, hostile names."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import tomlkit

from wetfoot.book.entries import Record
from wetfoot.book.records import add, open_book
from wetfoot.book.stock_entries import Cutting, Harvest, HealthTest, Lot, Planting, Shipment
from wetfoot.plan.example import example_text, write_folder
from wetfoot.plan.file import read_plan
from wetfoot.plan.model import Plan

LIMIT = "10 CFU/mL"
ODD_BANKS = ('<b>bold</b> & "quoted" #eval("1+1") $x^2$ @ref `code`', "x" * 90, "*a* _b_ \\ // /* [#panic()] ~ ---")
Row = tuple[int, type[Record], dict[str, Any]]


@dataclass(frozen=True)
class Book:
    plan: Plan
    folder: Path

    def day(self, days: int) -> date:
        return self.plan.crop.planting + timedelta(days=days)

    def write(self, *rows: Row) -> tuple[Record, ...]:
        """Write records of days after planting."""
        noon = datetime.combine(self.plan.crop.planting, time(12), ZoneInfo(self.plan.site.zone))
        made = [what(at=noon + timedelta(days=days), zone=self.plan.site.zone, who="invented", **own)
                for days, what, own in rows]  # fmt: skip
        with open_book(self.folder) as book:
            return add(book, *made)


def new_book(folder: Path, units: str = "metric", change: Callable[[dict[str, Any]], None] | None = None) -> Book:
    """Return a season of the example plan, changed, whose book is empty; its crop lies in the past."""
    plan = tomlkit.parse(example_text(units)).unwrap()
    plan["crop"]["planting"], plan["crop"]["harvest"] = date(2025, 4, 5), date(2025, 12, 6)
    plan["goal"]["field_planting"] = date(2026, 3, 15)
    if change:
        change(plan)
    write_folder(folder, tomlkit.dumps(plan))
    return Book(read_plan(folder), folder)


def odd_names(plan: dict[str, Any]) -> None:
    plan["title"], plan["site"]["name"] = '#eval <b> "t" $x$ @ref ' + "W" * 60, "Hof Ünö – Ωμέγα " + "longname " * 5
    plan["banks"] = [{**plan["banks"][0], "name": name} for name in ODD_BANKS]


def two_generations(book: Book, first: str = "First", second: str = "Second", to: str = "invented grower") -> None:
    """Write a lot, cut and planted into the first bank and harvested into another lot, with tests."""
    bank = book.plan.banks[0].name
    clean = {"agent": "bacterial wilt", "result": "negative", "method": "strip", "detection_limit": LIMIT}
    book.write(
        (-60, Lot, {"lot": first, "generation": 0, "species": "ginger", "cultivar": "invented yellow", "kg": 2.0,
                    "source": "invented laboratory", "permit": "INV-77"}),
        (-50, HealthTest, {"lot": first, "samples": 60, "pool_size": 5, "sensitivity": 0.9, "specificity": 0.99,
                           **clean}),
        (-5, Cutting, {"batch": "cut 1", "lot": first, "pieces": 9, "kg": 0.45, "knife": "blue",
                       "disinfectant": "10 % bleach", "dip_c": 50.0, "dip_minutes": 10.0}),
        *((0, Planting, {"batch": "cut 1", "pot": f"{bank} {pot}", "place": bank, "pieces": 3}) for pot in (1, 2, 3)),
        (90, HealthTest, {"place": bank, "samples": 1, **clean}),
        (240, Lot, {"lot": second, "generation": 1, "species": "ginger", "cultivar": "invented yellow"}),
        *((240, Harvest, {"lot": second, "pot": f"{bank} {pot}", "kg": 4.0}) for pot in (1, 2, 3)),
        (245, HealthTest, {"lot": second, "samples": 30, "lab": "invented bench", **clean}),
        (250, Shipment, {"lot": second, "kg": 1.5, "to": to}),
    )  # fmt: skip
