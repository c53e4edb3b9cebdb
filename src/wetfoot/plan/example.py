"""The season folder that a new user starts from: a commented plan and a real year of weather to replace."""

from __future__ import annotations

import shutil
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from wetfoot.errors import refuse
from wetfoot.plan import history
from wetfoot.plan.file import PLAN_FILE, changed_text

# A typical year of Greensboro, North Carolina, that the installed package pvlib carries.
WEATHER_PACKAGE, WEATHER_RESOURCE = "pvlib", "data/723170TYA.CSV"
WEATHER_FILE = "weather.csv"

_US_BANK = {
    "board_height": "20 in",
    "valve_seat": "1/8 in",
    "float_diameter": "2 1/2 in",
    "lateral_bore": "5/8 in",
    "lateral_length": "20 ft",
    "microtube_bore": "0.16 in",
    "microtube_length": "12 in",
    "ground_per_pot": "5.5 ft2",
}
_US: dict[str, Any] = {
    "units": "US",
    "site.elevation": "897 ft",
    "goal.field_area": "1/8 acre",
    "goal.seed_rate": "1800 lb/acre",
    "goal.piece_mass": "1 3/4 oz",
    "goal.kept_back": "18 lb",
    "nests.standard.basin.bottom_diameter": "12.5 in",
    "nests.standard.basin.top_diameter": "15.5 in",
    "nests.standard.basin.height": "12 in",
    "nests.standard.pot.bottom_diameter": "11 in",
    "nests.standard.pot.top_diameter": "14 in",
    "nests.standard.pot.height": "13 in",
    "nests.standard.dome.bottom_diameter": "5.5 in",
    "nests.standard.dome.top_diameter": "7 in",
    "nests.standard.dome.height": "6 in",
    "nests.standard.wall": "0.08 in",
    "nests.standard.set_level": "2 in",
    "nests.standard.overflow_height": "2 3/4 in",
    "nests.standard.fill_height": "12 in",
    "tank.volume": "275 gal",
    "tank.water_depth": "40 in",
    "tank.base_height": "44 in",
    "tank.unusable": "5 gal",
    "supply_line.bore": "3/4 in",
    "supply_line.length": "26 ft",
    **{f"banks.{bank}.{key}": value for bank in range(4) for key, value in _US_BANK.items()},
    "solution.barrel": "5 gal",
    "solution.coldest": "41 degF",
    "crop.base_temperature": "55 degF",
    "crop.optimum_temperature": "79 degF",
    "crop.canopy_area": "2.7 ft2",
}


def example_text(units: str = "metric", title: str = "") -> str:
    """Return the commented example plan with its quantities typed in metric or US units.

    Args:
        units: metric or US.
        title: of the season; the example's if empty.

    Raises:
        WetfootError: if the units are neither.
    """
    if units not in ("metric", "US"):
        raise refuse("--units", f"{units!r} is not a system of units", "metric or US", "write --units US")
    text = files("wetfoot.plan").joinpath("example.toml").read_text("utf-8")
    changes = (_US if units == "US" else {}) | ({"title": title} if title else {})
    return changed_text(text, changes) if changes else text


def new_folder(folder: Path, units: str = "metric", title: str = "") -> tuple[Path, Path]:
    """Make a season folder with the example plan and its weather, and return the files' paths.

    Raises:
        WetfootError: if there is a plan already, or the folder cannot be made.
    """
    text = example_text(units, title)
    plan_path = folder / PLAN_FILE
    try:
        there = plan_path.exists()
    except OSError:
        there = False  # no name that a file can have: writing it is refused below, in words
    if there:
        raise refuse(str(plan_path), "there is a plan here already", "a new folder", "choose another name")
    return write_folder(folder, text)


def write_folder(folder: Path, text: str) -> tuple[Path, Path]:
    """Write a plan's text and the example's weather into a folder, made if need be; a weather file there stays.

    Raises:
        WetfootError: if the folder cannot be written.
    """
    plan_path, weather_path = folder / PLAN_FILE, folder / WEATHER_FILE
    try:
        folder.mkdir(parents=True, exist_ok=True)
        history.save(folder, text)
        if not weather_path.exists():
            with as_file(files(WEATHER_PACKAGE).joinpath(WEATHER_RESOURCE)) as source:
                shutil.copyfile(source, weather_path)
    except OSError as error:
        raise refuse(
            str(folder),
            f"cannot be written ({error.strerror})",
            "a folder that you may write",
            "choose another",
        ) from error
    return plan_path, weather_path
