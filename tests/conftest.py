"""What several tests share: the example plan, a season folder, and real weather that installed packages carry."""

from __future__ import annotations

from pathlib import Path

import pytest

from wetfoot.plan.example import example_text, new_folder
from wetfoot.plan.file import plan_from_text
from wetfoot.plan.model import Plan


@pytest.fixture(scope="session")
def example_plan() -> Plan:
    return plan_from_text(example_text())


@pytest.fixture
def season_folder(tmp_path: Path) -> Path:
    folder = tmp_path / "season"
    new_folder(folder)
    return folder
