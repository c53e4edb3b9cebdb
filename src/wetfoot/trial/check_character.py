"""Check characters behind the codes of pots, so that a misread label is noticed."""

from __future__ import annotations

import re

from stdnum.iso7064 import mod_37_2

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""What codes are made of besides digits: I and O are left out, being read as 1 and 0 (common practice)."""

_PAYLOAD = re.compile(f"[0-9{LETTERS}]+")


def check_character(code: str) -> str:
    """Return the check character of a code: 0-9, A-Z or an asterisk.

    Source: ISO/IEC 7064:2003, system MOD 37-2: from p = 0, p = 2 (p + value) modulo 37 for each character; the check
    character is (1 - p) modulo 37.

    Raises:
        ValueError: if the code has anything but digits and capital letters other than I and O.

    >>> check_character("21B1L3")
    'B'
    """
    if not _PAYLOAD.fullmatch(code):
        raise ValueError(f"code = {code!r}: digits and capital letters without I and O are needed")
    return str(mod_37_2.calc_check_digit(code))


def with_check(code: str) -> str:
    """Return a code with its check character behind it, as a label's QR holds it."""
    return code + check_character(code)


def without_check(text: str) -> str | None:
    """Return the code within what was read from a label, or None if the check character does not fit.

    Case, spaces, dashes, dots and slashes are not minded.

    >>> without_check("21b1l3 b"), without_check("21B1L8B")
    ('21B1L3', None)
    """
    plain = tidy(text)
    if not _PAYLOAD.fullmatch(plain[:-1]):
        return None
    return plain[:-1] if plain == with_check(plain[:-1]) else None


def tidy(text: str) -> str:
    """Return a code as typed or scanned, in capitals, without spaces, dashes, dots and slashes."""
    return re.sub(r"[\s\-./·]+", "", text).upper()
