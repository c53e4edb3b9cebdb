"""The cautions, to hang at the tank."""

from __future__ import annotations

from wetfoot.answers.cautions import DEFER
from wetfoot.answers.dossier import Dossier
from wetfoot.sheets.press import Sheet


def cautions(dossier: Dossier) -> Sheet:
    """Return the sheet of cautions."""
    says = {"defer": DEFER, "cautions": [[each.title, each.words] for each in dossier.cautions]}
    return Sheet("cautions.typ", "Cautions", says)
