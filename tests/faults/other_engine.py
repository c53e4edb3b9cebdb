"""Take the tests of a module that need nothing but an open book, to run them on another engine."""

from __future__ import annotations

import inspect
from types import ModuleType
from typing import Any


def needing_a_book(module: ModuleType) -> dict[str, Any]:
    """Return the fixtures of a module, and its tests that use the fixture ``book`` or one that is made of it."""
    found = {name: each for name, each in vars(module).items() if type(each).__name__ == "FixtureFunctionDefinition"}
    for name, each in vars(module).items():
        if name.startswith("test_") and inspect.isfunction(each):
            needs = set(inspect.signature(each).parameters)
            if needs & {"book", "bring"} and "empty_book" not in needs:
                found[name] = each
    assert any(name.startswith("test_") for name in found)
    return found
