"""Programs that are killed in the middle of their work, and how they are started and killed."""

from __future__ import annotations

import multiprocessing
import os
import resource
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from uuid import uuid4

from sqlalchemy import Engine, event

from wetfoot.book.backup import back_up
from wetfoot.book.entries import Reading
from wetfoot.book.exchange import PlacesKnown, import_records
from wetfoot.book.records import add, open_book
from wetfoot.book.restoring import restore
from wetfoot.errors import WetfootError
from wetfoot.plan import history

AT = datetime(2026, 6, 1, 8, tzinfo=UTC)
SERVER = multiprocessing.get_context("forkserver")
SERVER.set_forkserver_preload(["wetfoot.book.restoring", "wetfoot.book.exchange", "wetfoot.plan.history"])
Say = Callable[[str], None]
PLACES = PlacesKnown({"East": 12}, 400.0)


def reading(value: float = 1.6, **more: str) -> Reading:
    return Reading(at=AT, zone="Pacific/Honolulu", who="tester", kind="ec", value=value, place="East", **more)  # type: ignore[arg-type]


def rows_file(path: Path, count: int) -> Path:
    rows = (f"{uuid4()},2026-06-01,08:00,EC,East,1.{number % 10},mS/cm" for number in range(count))
    path.write_text("id,date,time,what,place,value,unit\n" + "\n".join(rows) + "\n", "utf-8")
    return path


@dataclass
class Victim:
    """A process that works, and what it says."""

    process: BaseProcess
    ear: Connection

    def says(self) -> str:
        """Wait for the next thing that it says."""
        line: str = self.ear.recv() if self.ear.poll(30) else ""
        return line

    def says_until(self, words: str) -> list[str]:
        """Wait until it says something with these words, and return all that it said until then."""
        heard = [self.says()]
        while words not in heard[-1]:
            assert heard[-1], f"silent behind {heard[-2:]}"
            heard.append(self.says())
        return heard

    def killed_after(self, count: int, seconds: float) -> list[str]:
        """Wait until it said so many things and a while more, kill it, and return all that it had said."""
        heard = [self.says() for _ in range(count)]
        time.sleep(seconds)
        os.kill(self.process.pid or 0, signal.SIGKILL)
        self.process.join()
        assert self.process.exitcode == -signal.SIGKILL, "it ended before it was killed"
        with suppress(EOFError, OSError):
            while True:
                heard.append(self.ear.recv())
        return heard


@contextmanager
def started(work: Callable[..., None], *arguments: str | Path | int) -> Iterator[Victim]:
    """Run one of the works below in a process of its own; whatever happens it is dead afterwards."""
    ear, mouth = SERVER.Pipe(duplex=False)
    process = SERVER.Process(target=work, args=(mouth.send, *arguments), daemon=True)
    process.start()
    mouth.close()
    try:
        yield Victim(process, ear)
    finally:
        process.kill()
        process.join()


def write_readings(say: Say, location: str | Path) -> None:
    """Write readings for ever, and say the id of each once it is in the book."""
    while True:
        with open_book(location) as book:
            (written,) = add(book, reading())
        say(written.id)


def import_files(say: Say, folder: Path) -> None:
    """Import one file after the other, each of 300 rows, and say its name once it is in the book."""
    for number in range(10_000):
        path = rows_file(folder / f"in{number}.csv", 300)
        say("begins")
        with open_book(folder) as book:
            import_records(book, path, zone="Pacific/Honolulu", places=PLACES, who="tester", now=AT)
        say(path.name)


def back_up_often(say: Say, folder: Path) -> None:
    """Make backups for ever, and say the name of each that is complete."""
    for number in range(10_000):
        say("begins")
        say(back_up(folder, folder / "backups" / f"{number:04}.db").file.name)


def save_plans(say: Say, folder: Path) -> None:
    """Save the plan for ever, each time with another number in a comment at its end, and say the number."""
    path = folder / "season.toml"
    text = path.read_text("utf-8")
    for number in range(1_000_000):
        history.save(folder, f"{text}\n# saved {number}\n")
        say(str(number))


def restore_often(say: Say, folder: Path, backup: Path) -> None:
    """Put a backup back for ever."""
    for _ in range(1000):
        say(restore(folder, backup, force=True).book)


def fill_disk(say: Say, folder: Path, limit_bytes: int) -> None:
    """Write readings until no file may grow any more, and say each id, then what the refusal said."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit_bytes, limit_bytes))
    try:
        while True:
            with open_book(folder) as book:
                for written in add(book, *(reading() for _ in range(50))):
                    say(written.id)
    except WetfootError as refused:
        say(f"refused: {refused}")
    with suppress(WetfootError):
        back_up(folder, folder / "backups")
    say(f"backups: {len(list(folder.glob('backups/*')))}")


def save_plan_on_full_disk(say: Say, folder: Path) -> None:
    """Save a longer plan where no file may grow beyond 100 bytes, and say what the refusal said."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    text = (folder / "season.toml").read_text("utf-8")
    resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))
    try:
        history.save(folder, text + "# longer\n")
    except WetfootError as refused:
        say(f"refused: {refused}")


def bring_up_to_date(say: Say, location: str | Path, wait_behind: str = "") -> None:
    """Open an old book, say each step of the change of its tables, then that it is done, and wait to be killed.

    Args:
        say: tells whoever listens.
        location: the book.
        wait_behind: words of the step behind which to wait before anything is made good; without them, behind none.
    """

    def tell(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        if not statement.lstrip().startswith(("CREATE", "UPDATE alembic_version")):
            return
        say(statement.strip()[:60])
        if wait_behind and wait_behind in statement:
            time.sleep(600)

    event.listen(Engine, "after_cursor_execute", tell)
    open_book(location).close()
    say("done")
    time.sleep(600)


def write_stocks_often(say: Say, folder: Path) -> None:
    """Write two sets of stocks into the plan in turn, as 'wetfoot solution stocks --write' does, and say the fold."""
    from wetfoot.answers.stocks import stocks, write_stocks
    from wetfoot.plan.file import read_plan

    found = [stocks(read_plan(folder), fold=fold) for fold in (100.0, 50.0)]
    for number in range(1_000_000):
        write_stocks(found[number % 2], folder)
        say(f"{found[number % 2].design.fold:g}")


def edit_on_page(say: Say, folder: Path) -> None:
    """Save the plan on its page for ever, each time with another number in a comment at its end, and say the number."""
    from starlette.testclient import TestClient

    from wetfoot.web.access import open_access
    from wetfoot.web.app import create_app
    from wetfoot.web.season import OpenSeason

    access = open_access(folder)
    session = access.session("plan")
    more = {"Cookie": f"wetfoot_session={access.cookie(session)}", "X-Form-Token": access.form_token(session)}
    text = (folder / "season.toml").read_text("utf-8")
    app = create_app(OpenSeason(folder, runs=10), access)
    with TestClient(app, base_url="http://localhost", client=("127.0.0.1", 50000), follow_redirects=False) as client:
        for number in range(1_000_000):
            answer = client.post(
                "/plan", data={"action": "astext", "text": f"{text}\n# saved {number}\n"}, headers=more
            )
            say(str(number) if answer.status_code == 303 else f"answered {answer.status_code}")
