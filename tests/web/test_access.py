"""Passcodes, sessions and form tokens hold against guessing and forging."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.errors import WetfootError
from wetfoot.web.access import FILE_NAME, SESSION_S, Access, open_access


class Clock:
    """A clock that a test moves."""

    def __init__(self) -> None:
        self.at = 1_000_000.0

    def __call__(self) -> float:
        return self.at


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def access(tmp_path: Path, clock: Clock) -> Access:
    opened = open_access(tmp_path)
    opened.now = clock
    return opened


def test_each_passcode_opens_its_role_and_no_more(access: Access) -> None:
    access.set_passcode("look", "grey heron one")
    access.set_passcode("record", "grey heron two")
    session = access.let_in("grey heron two", "phone")
    assert session is not None
    assert session.may("look")
    assert session.may("record")
    assert not session.may("plan")
    assert access.let_in("grey heron", "phone") is None


def test_passcodes_are_not_in_the_file_and_only_the_owner_reads_it(access: Access) -> None:
    access.set_passcode("plan", "marsh marigold")
    written = (access.path).read_text("utf-8")
    assert "marigold" not in written
    assert stat.S_IMODE(access.path.stat().st_mode) == 0o600
    again = open_access(access.path.parent)
    assert again.let_in("marsh marigold", "phone") is not None


def test_guessing_gets_slower_and_even_the_right_passcode_must_wait(access: Access, clock: Clock) -> None:
    access.set_passcode("record", "reed warbler")
    waits = []
    for _ in range(12):
        assert access.let_in("wrong guess", "thief") is None
        waits.append(access.wait_s("thief"))
        clock.at += waits[-1] + 0.001
    assert waits[:4] == [0.0] * 4
    assert waits == sorted(waits)
    assert waits[-1] > 60
    access.let_in("wrong guess", "thief")
    assert access.let_in("reed warbler", "thief") is None
    assert access.let_in("reed warbler", "somebody else") is not None
    clock.at += 301
    assert access.let_in("reed warbler", "thief") is not None
    assert access.wait_s("thief") == 0.0


def test_a_session_ends_in_time_and_with_a_new_passcode(access: Access, clock: Clock) -> None:
    cookie = access.cookie(access.session("plan"))
    assert access.read_cookie(cookie) is not None
    clock.at += SESSION_S + 1
    assert access.read_cookie(cookie) is None
    fresh = access.cookie(access.session("plan"))
    access.set_passcode("look", "another one")
    assert access.read_cookie(fresh) is None


@given(st.text(max_size=120))
def test_made_up_cookies_are_nobody(text: str) -> None:
    access = Access(Path("nowhere"), b"k" * 32, {})
    assert access.read_cookie(text) is None


@given(st.integers(0, 200), st.characters())
def test_a_cookie_changed_anywhere_is_nobody(at: int, letter: str) -> None:
    access = Access(Path("nowhere"), b"k" * 32, {})
    cookie = access.cookie(access.session("look"))
    changed = cookie[: at % len(cookie)] + letter + cookie[at % len(cookie) + 1 :]
    assert changed == cookie or access.read_cookie(changed) is None


def test_form_tokens_belong_to_one_session(access: Access) -> None:
    mine, other = access.session("plan"), access.session("plan")
    assert access.is_form_token(mine, access.form_token(mine))
    assert not access.is_form_token(mine, access.form_token(other))
    assert not access.is_form_token(mine, None)


@pytest.mark.parametrize("passcode", ["", "short", "x" * 500])
def test_weak_passcodes_are_refused(access: Access, passcode: str) -> None:
    with pytest.raises(WetfootError):
        access.set_passcode("look", passcode)


def test_a_spoilt_file_is_told(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_text("{}")
    with pytest.raises(WetfootError):
        open_access(tmp_path)
