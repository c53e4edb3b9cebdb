"""Books on both engines, made-up records, and a PostgreSQL cluster of the tests' own on this machine."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from uuid import uuid4

import pytest

from wetfoot.book.opening import Book, open_book

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parent.parent / "book"))

from sending import free_port

collect_ignore = ["coverage_guided.py"]  # a program of `make fuzz`, with an extra that the tests do without


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a PostgreSQL server that listens on loopback alone and is gone after the tests."""
    programs = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    if not programs:
        if os.environ.get("CI"):
            pytest.fail("PostgreSQL is not installed: apt-get install postgresql")
        pytest.skip("PostgreSQL is not installed (Debian: apt-get install postgresql)")
    folder = Path("/tmp" if os.geteuid() == 0 else tmp_path_factory.mktemp("postgresql")) / f"wetfoot-{uuid4()}"
    folder.mkdir()
    programs_at = programs[-1].parent
    # PostgreSQL refuses to run as root; Debian's package makes the user postgres
    ahead = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"] if os.geteuid() == 0 else []
    if ahead:
        shutil.chown(folder, "postgres", "postgres")
    data = str(folder / "data")
    quiet = {"check": True, "stdout": subprocess.DEVNULL, "cwd": "/"}
    port = free_port()
    subprocess.run([*ahead, programs_at / "initdb", "-D", data, "-U", "tester", "-A", "trust", "-N",
                    "-E", "UTF8", "--locale=C"], **quiet)  # fmt: skip
    options = f"-c listen_addresses=127.0.0.1 -c port={port} -c fsync=off -c unix_socket_directories='{folder}'"
    subprocess.run([*ahead, programs_at / "pg_ctl", "-D", data, "-w", "-l", folder / "log", "-o", options, "start"],
                   **quiet)  # fmt: skip
    try:
        yield f"postgresql://tester@127.0.0.1:{port}"
    finally:
        subprocess.run([*ahead, programs_at / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop"], **quiet)
        shutil.rmtree(folder)


def make_database(server: str, like: str = "template1") -> str:
    """Make a database, empty or with the tables of another one, and return its address."""
    import psycopg

    name = f"book_{uuid4().hex}"
    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE {like}")  # type: ignore[call-overload]
    return f"{server}/{name}"


@pytest.fixture
def new_database(server: str) -> Callable[[], str]:
    """Make empty databases."""
    return lambda: make_database(server)


@pytest.fixture(scope="session")
def with_tables(server: str) -> str:
    """The name of a database with the tables of an empty book, to be copied: that is faster than to migrate."""
    address = make_database(server)
    open_book(address).close()
    return address.rpartition("/")[2]


@pytest.fixture
def book_on_server(server: str, with_tables: str) -> Iterator[Book]:
    """An empty book on the server."""
    with open_book(make_database(server, with_tables)) as opened:
        yield opened


@pytest.fixture(params=["sqlite", "postgresql"])
def location(request: pytest.FixtureRequest, tmp_path: Path) -> str | Path:
    """Where an empty book is, on each engine."""
    if request.param == "sqlite":
        return tmp_path
    address: str = request.getfixturevalue("new_database")()
    return address
