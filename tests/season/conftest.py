"""What the tests of the season share: real weather, the example's bench and its solution."""

from __future__ import annotations

import sys
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from wetfoot.plan.model import Plan
from wetfoot.season.bench import Bench, bench_arrays
from wetfoot.season.feed import EcScale, Feed, ec_scale, feed_of
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import Seasons, seasons

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def greensboro(example_plan: Plan) -> Seasons:
    """A typical year of Greensboro, NC (TMY3), carried by the package pvlib."""
    with as_file(files("pvlib").joinpath("data/723170TYA.CSV")) as path:
        weather = read_weather(path)
    site, crop = example_plan.site, example_plan.crop
    return seasons(weather, crop.planting, crop.season_d, site.latitude_deg, site.elevation_m)


@pytest.fixture(scope="session")
def seattle(example_plan: Plan) -> Seasons:
    """Four real years of Seattle (2012 to 2015), carried by the package vega_datasets."""
    with as_file(files("vega_datasets").joinpath("_data/seattle-weather.csv")) as path:
        weather = read_weather(path)
    crop = example_plan.crop
    return seasons(weather, crop.planting, crop.season_d, 47.45, 130.0)


@pytest.fixture(scope="session")
def bench(example_plan: Plan) -> Bench:
    return bench_arrays(example_plan)


@pytest.fixture(scope="session")
def scale(example_plan: Plan) -> EcScale:
    return ec_scale(example_plan)


@pytest.fixture(scope="session")
def known(example_plan: Plan) -> Feed:
    return feed_of(example_plan)
