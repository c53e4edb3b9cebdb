import importlib.util
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"
SPEC = importlib.util.spec_from_file_location("make_reference", DOCS / "make_reference.py")
assert SPEC
assert SPEC.loader
MODULE = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(MODULE)


@pytest.mark.parametrize("name", sorted(MODULE.PAGES))
def test_a_generated_page_is_fresh(name: str) -> None:
    assert (DOCS / name).read_text("utf-8") == MODULE.PAGES[name](), "run: make docs"
