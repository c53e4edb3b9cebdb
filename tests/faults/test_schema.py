"""Every address, asked by schemathesis with what its own schema allows and with what it does not (OpenAPI 3.1)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import schemathesis
from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.routing import APIRoute
from hostile import CASES, bounded
from hypothesis import given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.core.result import Ok
from starlette.testclient import TestClient

from wetfoot.plan.example import new_folder
from wetfoot.web.access import Access, open_access
from wetfoot.web.app import create_app
from wetfoot.web.pages.listed import ALL_PAGES
from wetfoot.web.season import OpenSeason

COMPUTES = "/season/compute"  # begins minutes of computing


def schema() -> dict[str, object]:
    """Return the OpenAPI schema of all pages; the program itself shows none, so the tests take in each route."""
    described = FastAPI()
    for router in ALL_PAGES:
        for route in router.routes:
            if isinstance(route, APIRoute) and route.path != COMPUTES:
                described.add_api_route(route.path, route.endpoint, methods=sorted(route.methods or ()))
    return get_openapi(title="the pages", version="1", routes=described.routes)


SCHEMA = schemathesis.openapi.from_dict(schema())
_FOUND = [each.ok() for each in SCHEMA.get_all_operations() if isinstance(each, Ok)]
OPERATIONS = {f"{each.method.upper()} {each.path}": each for each in _FOUND}


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Access]]:
    folder = tmp_path_factory.mktemp("schema") / "season"
    new_folder(folder)
    access = open_access(folder)
    app = create_app(OpenSeason(folder, runs=10), access)
    with TestClient(app, base_url="http://localhost", client=("127.0.0.1", 50000), raise_server_exceptions=False,
                    follow_redirects=False) as client:  # fmt: skip
        yield client, access


# any text is a valid path or question here: what the schema forbids can only be sent in a body
TRIED = [(name, mode) for name, each in OPERATIONS.items() for mode in GenerationMode
         if mode is GenerationMode.POSITIVE or each.body]  # fmt: skip


@pytest.mark.parametrize(("name", "mode"), TRIED)
@settings(bounded, max_examples=CASES)
@given(data=st.data())
def test_each_address_answers_what_its_schema_allows_and_what_it_does_not(
    pages: tuple[TestClient, Access], name: str, mode: GenerationMode, data: st.DataObject
) -> None:
    client, access = pages
    case = data.draw(OPERATIONS[name].as_strategy(generation_mode=mode))
    session = access.session("plan")
    client.cookies.clear()
    sent = case.as_transport_kwargs(base_url="http://localhost")
    sent["headers"] = {
        **{key: value for key, value in dict(sent.get("headers") or {}).items() if key.lower() != "cookie"},
        "Cookie": f"wetfoot_session={access.cookie(session)}", "X-Form-Token": access.form_token(session),
    }  # fmt: skip
    sent.pop("cookies", None)
    answer = client.request(**sent)
    assert answer.status_code < 500, (name, answer.text[-400:])
    assert "Traceback" not in answer.text
