"""The season that the pages show: its folder, what was computed of it last, and the computing under way."""

from __future__ import annotations

import hashlib
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from wetfoot.answers.dossier import Dossier, season_dossier
from wetfoot.answers.readings import book_location
from wetfoot.book.opening import FILE_NAME
from wetfoot.errors import Problem, WetfootError
from wetfoot.plan.file import plan_path, read_plan
from wetfoot.plan.model import Plan

State = Literal["none", "running", "done", "refused", "failed", "stopped"]
RUNS = 200


class Stopped(Exception):  # noqa: N818 (it is no error: a person pressed stop)
    """A person stopped the computing."""


@dataclass(frozen=True)
class Work:
    """How far the computing is in percent, how it ended, what was refused, and the seconds it took."""

    state: State = "none"
    percent: int = 0
    problems: tuple[Problem, ...] = ()
    seconds: float = 0.0


class OpenSeason:
    """A season's folder with the last dossier; computing runs beside the pages, one at a time.

    Attributes:
        folder: the season's folder.
        runs: how often the season is computed, for its spread.
    """

    def __init__(self, folder: Path, runs: int = RUNS) -> None:
        self.folder = plan_path(folder).parent
        self.runs = runs
        self._lock = threading.Lock()
        self._work = Work()
        self._dossier: Dossier | None = None
        self._computed_from = ""
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None

    def plan(self) -> Plan:
        """Return the plan as it stands in the folder.

        Raises:
            WetfootError: with everything wrong in it.
        """
        return read_plan(self.folder)

    @property
    def work(self) -> Work:
        """How far the computing is."""
        with self._lock:
            return self._work

    @property
    def dossier(self) -> Dossier | None:
        """What was computed last, be it of an older plan."""
        with self._lock:
            return self._dossier

    @property
    def stale(self) -> bool:
        """Whether plan, weather or book changed since the dossier was computed."""
        with self._lock:
            computed_from = self._computed_from
        return computed_from != self._inputs()

    def compute(self) -> None:
        """Begin to compute, unless it is under way."""
        with self._lock:
            if self._work.state == "running":
                return
            self._work = Work("running")
            self._stop.clear()
            self._thread = threading.Thread(target=self._run, name="wetfoot-season", daemon=True)
            self._thread.start()

    def stop(self) -> None:
        """Stop computing at the next run; what was computed before stays."""
        self._stop.set()

    def wait(self, timeout_s: float | None = None) -> None:
        """Wait until the computing ended."""
        if self._thread:
            self._thread.join(timeout_s)

    def _run(self) -> None:
        started, inputs = time.monotonic(), self._inputs()
        try:
            found = season_dossier(self.folder, self.runs, progress=lambda run: self._progress(50 * run / self.runs))
            found.compare(lambda share: self._progress(50 + 50 * share))
        except Stopped:
            self._end(started, "stopped")
        except WetfootError as refused:
            self._end(started, "refused", tuple(refused.problems))
        except Exception as fault:  # the pages must go on and say so
            self._end(started, "failed", (Problem("computing", f"{type(fault).__name__}: {fault}"),))
        else:
            with self._lock:
                self._dossier, self._computed_from = found, inputs
            self._end(started, "done")

    def _progress(self, percent: float) -> None:
        if self._stop.is_set():
            raise Stopped
        with self._lock:
            self._work = Work("running", round(percent))

    def _end(self, started: float, state: State, problems: tuple[Problem, ...] = ()) -> None:
        with self._lock:
            self._work = Work(state, self._work.percent, problems, time.monotonic() - started)

    def _inputs(self) -> str:
        """Return a mark of everything that a dossier is computed from."""
        mark = hashlib.sha256()
        try:
            plan = self.plan()
            mark.update(plan_path(self.folder).read_bytes())
            location = book_location(plan, self.folder)
            book = location / FILE_NAME if isinstance(location, Path) else None
            for path in (self.folder / plan.site.weather, book):
                for each in (path, path.with_name(path.name + "-wal")) if path else ():
                    if each.is_file():
                        stat = each.stat()
                        mark.update(f"{each.name}|{stat.st_mtime_ns}|{stat.st_size}".encode())
        except (WetfootError, OSError) as error:
            mark.update(f"cannot be read: {error}".encode())
        return mark.hexdigest()
