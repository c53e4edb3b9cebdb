"""Seasons that are computed once for all tests of sheets."""

import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from sheet_reading import Printed, hostile, many_banks, printed, season

from wetfoot.answers.dossier import Dossier
from wetfoot.sheets.dossier import made

Sheets = Callable[[str], Printed]


@pytest.fixture(scope="session")
def metric(tmp_path_factory: pytest.TempPathFactory) -> Dossier:
    return season(tmp_path_factory.mktemp("metric"))


@pytest.fixture(scope="session")
def us(tmp_path_factory: pytest.TempPathFactory) -> Dossier:
    return season(tmp_path_factory.mktemp("us"), units="US")


@pytest.fixture(scope="session")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Dossier:
    return season(tmp_path_factory.mktemp("odd"), hostile)


@pytest.fixture(scope="session")
def sixty(tmp_path_factory: pytest.TempPathFactory) -> Dossier:
    return season(tmp_path_factory.mktemp("sixty"), many_banks)


@pytest.fixture(scope="session")
def in_metric(metric: Dossier) -> Sheets:
    return cache(lambda name: printed(made(metric, name)))


@pytest.fixture(scope="session")
def in_us(us: Dossier) -> Sheets:
    return cache(lambda name: printed(made(us, name)))


@pytest.fixture(scope="session")
def in_odd(odd: Dossier) -> Sheets:
    return cache(lambda name: printed(made(odd, name)))
