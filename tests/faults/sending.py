"""A server of a season's pages in a process of its own, and phones that send to it all at once."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from uuid import uuid4

import httpx

_SERVE = """
import sys
from pathlib import Path
import wetfoot.book.tables, wetfoot.web.pages.visit
from wetfoot.web.serving import serve
serve(Path(sys.argv[1]), int(sys.argv[2]), False, False, lambda line: None)
"""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def serving(folder: Path, port: int, wait_s: float = 60.0) -> Iterator[str]:
    """Serve a folder from a real server process on loopback; yield its address."""
    process = subprocess.Popen([sys.executable, "-c", _SERVE, folder, str(port)])
    address = f"http://127.0.0.1:{port}"
    try:
        end = time.monotonic() + wait_s
        while not _answers(address):
            assert process.poll() is None, "the server ended"
            assert time.monotonic() < end, "the server does not answer"
            time.sleep(0.1)
        yield address
    finally:
        process.kill()
        process.wait()


def _answers(address: str) -> bool:
    try:
        return httpx.get(f"{address}/enter", timeout=5.0).status_code == 200
    except httpx.TransportError:
        return False


@dataclass
class Sending:
    """What the phones saw: seconds of each request that was answered, errors, and the ids acknowledged."""

    seconds: list[float] = field(default_factory=list)
    errors: Counter[str] = field(default_factory=Counter)
    acknowledged: Counter[str] = field(default_factory=Counter)
    sent: set[str] = field(default_factory=set)


def rows(count: int, phone: int) -> list[dict[str, str]]:
    """Return entries that a phone has waiting; all numbers are invented."""
    return [
        {"id": str(uuid4()), "date": "2026-06-01", "time": f"{8 + number % 10:02}:{phone % 60:02}", "what": "EC",
         "place": "East", "value": f"1.{number % 10}", "unit": "mS/cm", "who": f"phone {phone}"}
        for number in range(count)
    ]  # fmt: skip


def send_all(address: str, phones: int, rounds: int, entries: int, timeout_s: float = 120.0) -> Sending:
    """Let phones send their queues at once, each part twice as after a lost answer, as fast as they can."""
    found, start = Sending(), threading.Barrier(phones)
    page = httpx.get(f"{address}/visit", timeout=timeout_s)  # all phones came in with one passcode
    token = re.search(r'data-token="([0-9a-f]{64})"', page.text)
    assert token, page.text[:200]
    cookies = dict(page.cookies)

    def phone(number: int) -> None:
        with httpx.Client(base_url=address, timeout=timeout_s, cookies=cookies) as client:
            start.wait(60)
            for _ in range(rounds):
                queue = rows(entries, number)
                found.sent.update(row["id"] for row in queue)
                for _ in range(2):
                    _send(client, queue, token[1], found)

    with ThreadPoolExecutor(phones) as pool:
        for done in [pool.submit(phone, number) for number in range(phones)]:
            done.result()
    return found


def _send(client: httpx.Client, queue: list[dict[str, str]], token: str, found: Sending) -> None:
    begun = time.perf_counter()
    try:
        answer = client.post("/api/entries", json={"entries": queue}, headers={"X-Form-Token": token})
    except httpx.TransportError as error:
        found.errors[type(error).__name__] += 1
        return
    found.seconds.append(time.perf_counter() - begun)
    if answer.status_code != 200:
        found.errors[str(answer.status_code)] += 1
        return
    for entry in answer.json()["entries"]:
        found.acknowledged[entry["id"]] += 1
        if entry["state"] == "refused":
            found.errors[f"refused: {entry['told']}"] += 1
