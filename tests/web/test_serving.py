"""`wetfoot serve` tells its address once it answers there, and not before."""

from __future__ import annotations

import socket
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx
import pytest
import uvicorn

from wetfoot.errors import WetfootError
from wetfoot.web import serving
from wetfoot.web.serving import serve


def test_the_address_is_told_once_it_answers(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    servers: list[uvicorn.Server] = []
    answers: list[int] = []
    made = serving._Telling

    def kept(*given: object) -> uvicorn.Server:
        servers.append(made(*given))  # type: ignore[arg-type]
        return servers[0]

    def told(address: str) -> None:
        def ask() -> None:
            answers.append(httpx.get(address, timeout=30).status_code)
            servers[0].should_exit = True

        threading.Thread(target=ask).start()

    monkeypatch.setattr(serving, "_Telling", kept)
    with ThreadPoolExecutor(1) as pool:  # a thread of its own: a browser's tests may have left a loop in this one
        pool.submit(serve, folder, _free_port(), lan=False, https=False, told=told).result(120)
    assert answers == [200]


def test_nothing_is_told_where_the_port_is_taken(folder: Path) -> None:
    lines: list[str] = []
    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(WetfootError, match="cannot be used"):
        serve(folder, taken.getsockname()[1], lan=False, https=False, told=lines.append)
    assert lines == []


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port: int = probe.getsockname()[1]
        return port
