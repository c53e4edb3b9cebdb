"""Whatever is sent to any address of the pages: it is answered in words, never by a fault of the program.

WETFOOT_FUZZ_CASES sets how many cases are tried of each address; `make fuzz` tries many more.
"""

from __future__ import annotations

import json
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

import pytest
from fastapi.routing import APIRoute
from hostile import CASES, bounded, texts
from hypothesis import given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from wetfoot.book.layout import COLUMNS, MEANINGS
from wetfoot.book.opening import open_book
from wetfoot.book.records import every
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text, new_folder
from wetfoot.plan.file import plan_from_text
from wetfoot.web.access import Access, open_access
from wetfoot.web.app import create_app
from wetfoot.web.pages.listed import ALL_PAGES
from wetfoot.web.season import OpenSeason

COMPUTES = "/season/compute"  # begins minutes of computing: its own tests are in tests/web
ROUTES = [
    (method, route)
    for router in ALL_PAGES
    for route in router.routes
    if isinstance(route, APIRoute) and route.path != COMPUTES
    for method in sorted(route.methods)
]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Access, Path]]:
    """A browser on the machine itself that is told of faults as answers, not as exceptions."""
    folder = tmp_path_factory.mktemp("fuzz") / "season"
    new_folder(folder)
    access = open_access(folder)
    app = create_app(OpenSeason(folder, runs=10), access)
    with TestClient(app, base_url="http://localhost", client=("127.0.0.1", 50000), raise_server_exceptions=False,
                    follow_redirects=False) as client:  # fmt: skip
        yield client, access, folder


def told_in_words(answer: Any, about: object) -> None:
    assert answer.status_code < 500, (about, answer.text[-400:])
    assert "Traceback" not in answer.text, about


def headers(client: TestClient, access: Access) -> dict[str, str]:
    """Return a cookie and the token of its forms, so that what is sent gets past the gate."""
    session = access.session("plan")
    client.cookies.clear()
    return {"Cookie": f"wetfoot_session={access.cookie(session)}", "X-Form-Token": access.form_token(session)}


@pytest.mark.parametrize(("method", "route"), ROUTES, ids=[f"{method} {route.path}" for method, route in ROUTES])
@bounded
@given(data=st.data())
def test_every_address_answers_whatever_is_sent(
    pages: tuple[TestClient, Access, Path], method: str, route: APIRoute, data: st.DataObject
) -> None:
    client, access, _ = pages
    known = route.dependant
    path = route.path
    for parameter in known.path_params:
        path = path.replace(f"{{{parameter.name}}}", quote(data.draw(texts)[:200] or "x", safe=""))
    query = {each.alias: data.draw(texts)[:2000] for each in known.query_params if data.draw(st.booleans())}
    form = {each.alias: data.draw(texts) for each in known.body_params if data.draw(st.integers(0, 3))}
    form |= data.draw(st.dictionaries(texts.filter(bool), texts, max_size=3)) if method == "POST" else {}
    body = urlencode(form).encode() if method == "POST" else b""
    kind = data.draw(st.sampled_from(["application/x-www-form-urlencoded"] * 4 + ["multipart/form-data", "text/plain"]))
    answer = client.request(
        method, f"{path}?{urlencode(query)}", content=body, headers={**headers(client, access), "Content-Type": kind}
    )
    told_in_words(answer, (method, path[:80], query, form))


cells = st.dictionaries(st.sampled_from([*COLUMNS, "unknown"]), texts, max_size=8)
likely = st.fixed_dictionaries(
    {"id": st.one_of(st.uuids().map(str), texts), "date": st.sampled_from(["2026-06-01", "1-1-1", "x"]),
     "what": st.one_of(st.sampled_from([meaning.word for meaning in MEANINGS]), texts), "value": texts},
    optional={"place": texts, "unit": texts, "time": texts, "pot": texts, "corrects": texts, "who": texts},
)  # fmt: skip
anything = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=12,
)
sent = st.one_of(
    st.fixed_dictionaries(
        {"entries": st.lists(likely | cells, max_size=4)},
        optional={"photos": st.dictionaries(texts, texts, max_size=2)},
    ),
    st.fixed_dictionaries({"entries": anything}, optional={"photos": anything}),
    anything,
)


@settings(bounded, max_examples=8 * CASES)
@given(body=st.one_of(sent.map(lambda each: json.dumps(each).encode()), st.binary(max_size=200)))
def test_whatever_a_phone_sends_is_answered(pages: tuple[TestClient, Access, Path], body: bytes) -> None:
    client, access, folder = pages
    answer = client.post(
        "/api/entries", content=body, headers={**headers(client, access), "Content-Type": "application/json"}
    )
    told_in_words(answer, body)
    if answer.status_code == 200:
        recorded = [each["id"] for each in answer.json()["entries"] if each["state"] == "recorded"]
        with open_book(folder) as book:
            assert set(recorded) <= {each.id for each in every(book)}


@pytest.mark.parametrize("body", [b"Infinity", b"NaN", b'{"entries": NaN}', b"[" * 100_000, b"\xff\xfe", b""])
def test_what_is_no_json_is_refused_in_words(pages: tuple[TestClient, Access, Path], body: bytes) -> None:
    client, access, _ = pages
    more = {**headers(client, access), "Content-Type": "application/json"}
    answer = client.post("/api/entries", content=body, headers=more)
    assert answer.status_code in (400, 422)
    assert answer.json()["refused"][0]["what"]


@settings(bounded, max_examples=4 * CASES)
@given(data=st.data())
def test_a_plan_with_anything_in_it_is_read_or_refused(data: st.DataObject) -> None:
    lines = example_text().splitlines()
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        key = lines[at].split("=")[0]
        lines[at] = data.draw(st.one_of(texts.map(lambda text, key=key: f"{key}= {json.dumps(text)}"), texts))  # type: ignore[misc]
    try:
        plan_from_text("\n".join(lines))
    except WetfootError as refused:
        assert all(problem.where and problem.what for problem in refused.problems)


@pytest.mark.parametrize("pots", ["1_000_000", "10" + "0" * 300, "-5", "1e6"])
def test_a_million_pots_are_refused_at_once(pots: str) -> None:
    begun = time.monotonic()
    with pytest.raises(WetfootError, match="pots"):
        plan_from_text(re.sub(r"(?m)^pots = \d+", f"pots = {pots}", example_text(), count=1))
    assert time.monotonic() - begun < 5.0


def test_what_is_too_large_is_refused_before_it_is_read(pages: tuple[TestClient, Access, Path]) -> None:
    client, access, _ = pages
    answer = client.post(
        "/records/import", content=b"x", headers={**headers(client, access), "Content-Length": "9" * 12}
    )
    assert answer.status_code == 413


@pytest.mark.parametrize(
    ("method", "address"), [("POST", "/plan"), ("GET", "/sheets/%00"), ("GET", "/sheets/" + "a" * 5000)]
)
def test_cases_that_were_faults_once_are_refused(
    pages: tuple[TestClient, Access, Path], method: str, address: str
) -> None:
    client, access, _ = pages
    more = {**headers(client, access), "Content-Type": "application/x-www-form-urlencoded"}
    assert client.request(method, address, headers=more).status_code == 422
