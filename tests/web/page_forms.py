"""What tests of pages share: the token of a page's forms, and a phone's address."""

from __future__ import annotations

import re

from starlette.testclient import TestClient

PHONE = ("192.0.2.7", 40000)  # an address for documentation (RFC 5737)


def token_on(client: TestClient, address: str) -> str:
    """Return the token that the forms of a page carry."""
    found = re.search(r'(?:name="form_token" value|data-token)="([0-9a-f]{64})"', client.get(address).text)
    assert found, address
    return found[1]
