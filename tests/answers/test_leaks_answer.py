from pathlib import Path

import numpy as np
import pytest

from wetfoot.answers import leaks as leaks_module
from wetfoot.answers.dossier import season_dossier
from wetfoot.sheets.dossier import made
from wetfoot.water.network import NotConvergedError


def test_what_cannot_be_solved_is_said_and_does_not_stop_the_dossier(
    season_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stuck(*_: object, **__: object) -> None:
        raise NotConvergedError("planted", np.array([0.5]), 9.0, 3)

    monkeypatch.setattr(leaks_module, "leak_course", stuck)
    found = season_dossier(season_folder, 10)
    assert found.leaks.answer.state == "watch"
    assert "could not be computed" in found.leaks.answer.words
    assert made(found, "2-build.pdf").startswith(b"%PDF")
