"""The season that the pages show: its folder, what was computed of it last, and the computing under way."""

from __future__ import annotations

import contextlib
import hashlib
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, wait
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeVar
from uuid import UUID, uuid4

from wetfoot.answers.computing import compute_season
from wetfoot.answers.dossier import Dossier
from wetfoot.answers.readings import book_location
from wetfoot.book.entries import tidy
from wetfoot.book.looking import count_records
from wetfoot.book.opening import FILE_NAME, open_book
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.plan.example import new_folder
from wetfoot.plan.file import plan_path, read_plan
from wetfoot.plan.model import Plan

State = Literal["none", "running", "done", "refused", "failed", "stopped"]
RUNS = 200
# A file that changed within this time may change again without its time showing it (FAT counts in steps of 2 s).
SETTLED_NS = 2_500_000_000
MOST_KEPT = 40
PATIENCE_S = 1.5
ID_FILE = "season-id.txt"
OWN_FILES = (ID_FILE, "access.json", "https-")  # as their names begin
LONGEST_TITLE = 100
T = TypeVar("T")


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
        id: tells it from every other season, so that a phone keeps what it wrote down for each apart.
        runs: how often the season is computed, for its spread.
        patience_s: how long a page waits for a part of it that is still worked out.
    """

    def __init__(self, folder: Path, runs: int = RUNS, patience_s: float = PATIENCE_S) -> None:
        self.folder = plan_path(folder).parent
        self.id = _id_in(self.folder, self.begun)
        self.runs = runs
        self.patience_s = patience_s
        self._lock = threading.Lock()
        self._work = Work()
        self._dossier: Dossier | None = None
        self._computed_from = ""
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._plan: tuple[str, Plan] | None = None
        self._kept: dict[str, tuple[tuple[object, ...], object]] = {}
        self._begun: dict[str, tuple[tuple[object, ...], Future[object]]] = {}

    @property
    def begun(self) -> bool:
        """Whether there is a plan at all."""
        return plan_path(self.folder).is_file()

    def other_files(self) -> list[str]:
        """Return what is in the folder that is not Wetfoot's own, by name."""
        found = self.folder.iterdir() if self.folder.is_dir() else ()
        return sorted(path.name for path in found if not path.name.startswith(OWN_FILES))

    def begin(self, title: str, units: str) -> None:
        """Write the commented plan and its weather into the folder, made if need be.

        Raises:
            WetfootError: for a title or units that cannot be, or if there is a plan already or no place to write.
        """
        title = tidy(title)
        if not 1 <= len(title) <= LONGEST_TITLE:
            raise refuse("title", f"it has {len(title)} letters", f"1 to {LONGEST_TITLE}", "write another")
        new_folder(self.folder, units, title)
        with contextlib.suppress(OSError), (self.folder / ID_FILE).open("x", encoding="ascii") as file:
            file.write(self.id)

    def plan(self) -> Plan:
        """Return the plan as it stands in the folder, the same object as long as nothing in it changed.

        Raises:
            WetfootError: with everything wrong in it.
        """
        path, before = plan_path(self.folder), self._plan
        mark = _mark(path)
        # a weather file that is missing is a fault of the plan: such a plan is never taken from memory
        if before and mark and before[0] == mark and (self.folder / before[1].site.weather).is_file():
            return before[1]
        plan = read_plan(self.folder)
        if before and before[1] == plan:
            plan = before[1]
        self._plan = (mark if _settled(path) else "", plan)
        return plan

    def kept(self, name: str, of: tuple[object, ...], make: Callable[[], T]) -> T:
        """Return what was made before of the very same things, or make it now.

        Args:
            name: of what is made; under a name only the last is kept.
            of: everything that it is made of: plan and dossier as this season gives them, and texts.
            make: makes it.
        """
        before = self._kept_of(name, of)
        if before:
            return before[1]  # type: ignore[return-value]  # the name tells what it is
        made = make()
        with self._lock:
            self._kept.pop(name, None)
            self._kept[name] = (of, made)
            while len(self._kept) > MOST_KEPT:
                del self._kept[next(iter(self._kept))]
        return made

    def kept_soon(self, name: str, of: tuple[object, ...], make: Callable[[], T]) -> T | None:
        """Return what `kept` returns; None while it is still made, beside the pages, one of a name at a time.

        Args:
            name, of, make: as of `kept`; what `make` raises is raised here, once.
        """
        before = self._kept_of(name, of)
        if before:
            return before[1]  # type: ignore[return-value]  # the name tells what it is
        with self._lock:
            begun = self._begun.get(name)
            if begun is None or (begun[1].done() and not _all_same(begun[0], of)):
                begun = self._begun[name] = (of, Future())
                threading.Thread(target=self._make, args=(name, *begun, make), daemon=True).start()
        wait([begun[1]], self.patience_s)
        if not begun[1].done() or not _all_same(begun[0], of):
            return None
        with self._lock:
            if self._begun.get(name) is begun:
                del self._begun[name]
        return begun[1].result()  # type: ignore[return-value]  # the name tells what it is

    def _kept_of(self, name: str, of: tuple[object, ...]) -> tuple[tuple[object, ...], object] | None:
        """Return what was made before under a name, if it was of the very same things."""
        with self._lock:
            before = self._kept.get(name)
        return before if before and _all_same(before[0], of) else None

    def _make(self, name: str, of: tuple[object, ...], told: Future[object], make: Callable[[], object]) -> None:
        try:
            told.set_result(self.kept(name, of, make))
        except BaseException as error:  # whoever waits for it says so
            told.set_exception(error)

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
        return computed_from != self.inputs()

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
        started, inputs = time.monotonic(), self.inputs()
        try:
            found = compute_season(self.folder, self.runs, progress=self._progress)
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

    def inputs(self) -> str:
        """Return a mark of everything that a dossier is computed from; it changes when any of that does."""
        mark = hashlib.sha256()
        try:
            plan = self.plan()
            location = book_location(plan, self.folder)
            mark.update(plan_path(self.folder).read_bytes())
            mark.update(_mark(self.folder / plan.site.weather).encode())
            mark.update(_book_mark(location).encode())
        except (WetfootError, OSError) as error:
            mark.update(f"cannot be read: {error}".encode())
        return mark.hexdigest()


def _book_mark(location: str | Path) -> str:
    """Return a mark of a book that changes with each record: of its file, or of a server's how many it has."""
    if not isinstance(location, Path):
        with open_book(location) as book:
            return str(count_records(book, superseded=True))
    path, log = location / FILE_NAME, location / f"{FILE_NAME}-wal"
    # an empty log is made and taken away by whoever merely reads
    return _mark(path) + (_mark(log) if log.is_file() and log.stat().st_size else "")


def _id_in(folder: Path, begun: bool) -> str:
    """Return the id of a season's folder, made when it is first opened; without a place to write, for this time."""
    path, id = folder / ID_FILE, str(uuid4())
    if not begun and not path.exists():
        return id  # nothing is written before somebody began
    try:
        with path.open("x", encoding="ascii") as file:
            file.write(id)
    except FileExistsError:
        with contextlib.suppress(OSError, ValueError):
            return str(UUID(path.read_text("ascii").strip()))
    except OSError:
        pass
    return id


def _mark(path: Path) -> str:
    """Return a mark of a file that changes when the file does; nothing if there is none."""
    try:
        stat = path.stat()
    except OSError:
        return ""
    return f"{path.name}|{stat.st_ino}|{stat.st_size}|{stat.st_mtime_ns}|{stat.st_ctime_ns}"


def _settled(path: Path) -> bool:
    return path.is_file() and time.time_ns() - path.stat().st_mtime_ns > SETTLED_NS


def _all_same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    return len(one) == len(other) and all(map(_same, one, other))


def _same(one: object, other: object) -> bool:
    return one is other or (isinstance(one, str | int) and one == other)
