"""Write the dossier of a season: nine sheets as PDF, the calendar, and the days as tables."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from wetfoot.answers.dossier import Dossier
from wetfoot.sheets.build import build
from wetfoot.sheets.cautions import cautions
from wetfoot.sheets.daily import daily_csv, daily_xlsx
from wetfoot.sheets.files import write_whole
from wetfoot.sheets.log import log
from wetfoot.sheets.materials import materials
from wetfoot.sheets.mixing import mixing
from wetfoot.sheets.odds import odds
from wetfoot.sheets.press import Sheet, press
from wetfoot.sheets.summary import summary
from wetfoot.sheets.trace import trace
from wetfoot.sheets.visits import visits
from wetfoot.sheets.visits_calendar import visits_ics

SHEETS: dict[str, Callable[[Dossier], Sheet]] = {
    "1-summary.pdf": summary,
    "2-build.pdf": build,
    "3-mixing.pdf": mixing,
    "4-visits.pdf": visits,
    "5-log.pdf": log,
    "6-materials.pdf": materials,
    "7-cautions.pdf": cautions,
    "8-trace.pdf": trace,
    "9-odds.pdf": odds,
}
FILES: dict[str, Callable[[Dossier], bytes]] = {
    "visits.ics": visits_ics,
    "daily.csv": daily_csv,
    "daily.xlsx": daily_xlsx,
}


def write_sheets(dossier: Dossier, folder: Path, progress: Callable[[str], None] | None = None) -> tuple[Path, ...]:
    """Write the dossier into the folder ``sheets`` of a season's folder, and return what was written.

    Args:
        dossier: the season's answers.
        folder: the season's folder.
        progress: called with the name of each file once it is written.

    Raises:
        WetfootError: if a file cannot be written; those before it are new, the others as they were.
    """
    written = []
    for name in (*SHEETS, *FILES):
        path = folder / "sheets" / name
        write_whole(path, made(dossier, name))
        written.append(path)
        if progress:
            progress(name)
    return tuple(written)


def made(dossier: Dossier, name: str) -> bytes:
    """Return one file of the dossier.

    Args:
        dossier: the season's answers.
        name: of the file, a key of `SHEETS` or `FILES`.
    """
    return press(SHEETS[name](dossier), dossier.plan) if name in SHEETS else FILES[name](dossier)
