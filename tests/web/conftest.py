"""A season's pages, asked as a browser on this machine or a phone on the network would."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from wetfoot.plan.example import new_folder
from wetfoot.web.access import open_access
from wetfoot.web.app import create_app
from wetfoot.web.season import OpenSeason

sys.path.insert(0, str(Path(__file__).parent))

from page_forms import PHONE


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    new_folder(tmp_path / "season")
    return tmp_path / "season"


@pytest.fixture
def season(folder: Path) -> OpenSeason:
    return OpenSeason(folder, runs=10, patience_s=60)


@pytest.fixture
def here(folder: Path, season: OpenSeason) -> TestClient:
    """A browser on the machine itself."""
    app = create_app(season, open_access(folder))
    return TestClient(app, base_url="http://localhost", client=("127.0.0.1", 50000))


@pytest.fixture
def phone(folder: Path, season: OpenSeason) -> Callable[[str], TestClient]:
    """A phone that came in with the passcode of a role."""

    def open_phone(role: str) -> TestClient:
        access = open_access(folder)
        access.set_passcode(role, f"passcode of {role}")  # type: ignore[arg-type]
        app = create_app(season, access, lan=True)
        client = TestClient(app, base_url="http://192.0.2.1", client=PHONE)
        client.post("/enter", data={"passcode": f"passcode of {role}"})
        return client

    return open_phone
