"""Who may do what: passcodes for roles, sessions in signed cookies, tokens against forged forms, slow guessing.

On this machine itself no passcode is asked. From other machines nothing is answered until a passcode was set here.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from wetfoot.errors import refuse

Role = Literal["look", "record", "plan"]
ROLES: tuple[Role, ...] = ("look", "record", "plan")
"""What a passcode lets in for: each role may do what those before it may."""

FILE_NAME = "access.json"
SESSION_S = 30 * 24 * 3600
SHORTEST, LONGEST = 6, 200
_SCRYPT = {"n": 2**14, "r": 8, "p": 1, "dklen": 32}
_FREE_TRIES = 5
_LONGEST_WAIT_S = 300.0


@dataclass(frozen=True)
class Session:
    """Who is there: the role, an id that form tokens are made of, and until when it holds."""

    role: Role
    id: str
    until: int

    def may(self, needed: Role) -> bool:
        """Tell whether this session may do what a role may."""
        return ROLES.index(self.role) >= ROLES.index(needed)


@dataclass
class Access:
    """The passcodes of a season's folder and the key that its sessions are signed with.

    Attributes:
        path: the file, readable by its owner alone.
        key: of signatures; new ones end all sessions.
        passcodes: salt and hash by role, both hex.
        now: the clock.
    """

    path: Path
    key: bytes
    passcodes: dict[Role, tuple[str, str]]
    now: Callable[[], float] = time.time
    _failures: dict[str, tuple[int, float]] = field(default_factory=dict)

    @property
    def any_passcode(self) -> bool:
        """Whether other machines can be let in at all."""
        return bool(self.passcodes)

    def set_passcode(self, role: Role, passcode: str) -> None:
        """Set the passcode of a role; sessions that an older one let in end.

        Raises:
            WetfootError: if it is too short or too long.
        """
        if not SHORTEST <= len(passcode) <= LONGEST:
            allowed = f"{SHORTEST} to {LONGEST} characters"
            raise refuse("passcode", f"it has {len(passcode)} characters", allowed, "three unrelated words are good")
        salt = secrets.token_bytes(16)
        self.passcodes[role] = (salt.hex(), _hash(passcode, salt).hex())
        self.key = secrets.token_bytes(32)
        self._write()

    def clear(self, role: Role) -> None:
        """Take a role's passcode away; all sessions end."""
        self.passcodes.pop(role, None)
        self.key = secrets.token_bytes(32)
        self._write()

    def wait_s(self, who: str) -> float:
        """Return the seconds that an address must wait before it may try again."""
        count, last = self._failures.get(who, (0, 0.0))
        if count < _FREE_TRIES:
            return 0.0
        pause = min(2.0 ** (count - _FREE_TRIES + 1), _LONGEST_WAIT_S)
        return max(0.0, last + pause - self.now())

    def let_in(self, passcode: str, who: str) -> Session | None:
        """Return a session for the best role that a passcode opens; None, and slower tries, if it opens none."""
        if self.wait_s(who) > 0:
            return None
        opened: Role | None = None
        for role in ROLES:
            if role in self.passcodes:
                salt, wanted = (bytes.fromhex(text) for text in self.passcodes[role])
                if hmac.compare_digest(_hash(passcode[:LONGEST], salt), wanted):
                    opened = role
        if opened is None:
            count, _ = self._failures.get(who, (0, 0.0))
            self._remember(who, count + 1)
            return None
        self._failures.pop(who, None)
        return self.session(opened)

    def session(self, role: Role) -> Session:
        """Return a new session."""
        return Session(role, secrets.token_urlsafe(16), int(self.now()) + SESSION_S)

    def cookie(self, session: Session) -> str:
        """Return a session as the text of a cookie, signed."""
        body = f"{session.role}.{session.id}.{session.until}"
        return f"{body}.{self._sign('session', body)}"

    def read_cookie(self, text: str | None) -> Session | None:
        """Return the session of a cookie; None if it is forged, over, or not there."""
        body, _, signature = (text or "").rpartition(".")
        if not body or not _same(self._sign("session", body), signature):
            return None
        role, id, until = body.split(".")
        if role not in ROLES or int(until) < self.now():
            return None
        return Session(role, id, int(until))

    def form_token(self, session: Session) -> str:
        """Return what every form of a session must bring along."""
        return self._sign("form", session.id)

    def is_form_token(self, session: Session, token: str | None) -> bool:
        """Tell whether a form came from our own pages."""
        return _same(self.form_token(session), token or "")

    def _sign(self, purpose: str, text: str) -> str:
        return hmac.new(self.key, f"{purpose}|{text}".encode("utf-8", "replace"), hashlib.sha256).hexdigest()

    def _remember(self, who: str, count: int) -> None:
        if len(self._failures) > 10_000:  # an attacker with many addresses must not fill the memory
            self._failures.clear()
        self._failures[who] = (count, self.now())

    def _write(self) -> None:
        text = json.dumps({"key": self.key.hex(), "passcodes": self.passcodes})
        part = self.path.with_suffix(".part")
        try:
            part.unlink(missing_ok=True)
            with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
                file.write(text)
            part.replace(self.path)
        except OSError as error:
            what = f"the passcodes cannot be written ({error.strerror})"
            raise refuse(str(self.path.parent), what, "a season's folder that you may write", "check it") from error


def open_access(folder: Path) -> Access:
    """Return the access of a season's folder, made new where there is none.

    Raises:
        WetfootError: if its file cannot be read.
    """
    path = folder / FILE_NAME
    try:
        if not path.is_file():
            return Access(path, secrets.token_bytes(32), {})
        read = json.loads(path.read_text("utf-8"))
        passcodes: dict[Role, tuple[str, str]] = {
            role: (str(read["passcodes"][role][0]), str(read["passcodes"][role][1]))
            for role in ROLES
            if role in read["passcodes"]
        }
        return Access(path, bytes.fromhex(read["key"]), passcodes)
    except (OSError, ValueError, KeyError, TypeError, IndexError) as error:
        fix = "delete it and set the passcodes again"
        raise refuse(str(path), "the file of passcodes cannot be read", "as Wetfoot wrote it", fix) from error


def _same(one: str, other: str) -> bool:
    """Tell whether two texts are the same, in a time that does not tell where they differ."""
    return hmac.compare_digest(one.encode("utf-8", "replace"), other.encode("utf-8", "replace"))


def _hash(passcode: str, salt: bytes) -> bytes:
    return hashlib.scrypt(passcode.encode(), salt=salt, **_SCRYPT)
