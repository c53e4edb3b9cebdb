"""What is tried at every door, and how often."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

CASES = int(os.environ.get("WETFOOT_FUZZ_CASES", "3"))
HOSTILE = (
    "", " ", "0", "-1", "1e400", "nan", "inf", "9" * 400, "1,5", "5 %", "95 %", "1.6 mS/cm", "400 L", "3/4 in", "5 cm",
    "East", "tank", "true", "\x00", "\r\nSet-Cookie: a=b", "../../etc/passwd", "..\\..\\x", "%00", "%2e%2e%2f", "雨🌱",
    "<script>alert(1)</script>", "{{7*7}}", "${7*7}", "'; DROP TABLE readings; --", '"', "=1+1", "a" * 20_000,
    "2026-06-01", "0000-00-00", "9999-12-31", "25:61", "00000000-0000-0000-0000-000000000000", "save", "astext",
    "more x", "[[[[", "a.b.c", "banks.0.pots", "banks.-1.pots", "tank.volume", "plan", "look",
)  # fmt: skip
texts = st.one_of(st.sampled_from(HOSTILE), st.text(st.characters(exclude_categories=["Cs"]), max_size=40))
bounded = settings(max_examples=CASES, deadline=None, database=None, derandomize="CI" in os.environ,
                   suppress_health_check=list(HealthCheck))  # fmt: skip
