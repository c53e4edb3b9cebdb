"""What `make check` says of installed packages: made-up packages, each with one thing wrong."""

from __future__ import annotations

import base64
import hashlib
import importlib.util
from importlib.metadata import distributions
from pathlib import Path

import pytest

_SPEC = importlib.util.spec_from_file_location(
    "check_packages", Path(__file__).parent.parent.parent / "docs" / "check_packages.py"
)
assert _SPEC
assert _SPEC.loader
check_packages = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(check_packages)


def install(where: Path, licence: str = "License-Expression: MIT AND BSD-3-Clause") -> Path:
    """Lay a package with one module, as an installer does (PyPA specification of RECORD), and return the module."""
    module, told = where / "made_up.py", where / "made_up-1.0.dist-info"
    told.mkdir()
    module.write_text("x = 1\n")
    sum_ = base64.urlsafe_b64encode(hashlib.sha256(module.read_bytes()).digest()).rstrip(b"=").decode()
    (told / "RECORD").write_text(f"made_up.py,sha256={sum_},6\nmade_up-1.0.dist-info/RECORD,,\n")
    (told / "METADATA").write_text(f"Metadata-Version: 2.4\nName: Made_Up\nVersion: 1.0\n{licence}\n")
    return module


def said(where: Path, version: str = "1.0") -> list[str]:
    return list(check_packages.problems(distributions(path=[str(where)]), {"made-up": version}))


def test_a_package_as_it_was_installed_is_in_order(tmp_path: Path) -> None:
    install(tmp_path)
    assert said(tmp_path) == []


def test_a_version_that_is_not_the_pinned_one_is_told(tmp_path: Path) -> None:
    install(tmp_path)
    assert said(tmp_path, "1.1") == ["made-up 1.0 is installed, constraints.txt says 1.1"]


def test_a_file_that_was_changed_or_is_gone_is_told(tmp_path: Path) -> None:
    module = install(tmp_path)
    module.write_text("x = 2\n")
    assert said(tmp_path) == ["made-up: made_up.py was changed"]
    module.unlink()
    assert said(tmp_path) == ["made-up: made_up.py is gone"]


@pytest.mark.parametrize("licence", ["License: All rights reserved", "License-Expression: MIT AND Secret-1.0", "X: y"])
def test_a_licence_that_is_not_known_is_told(tmp_path: Path, licence: str) -> None:
    install(tmp_path, licence)
    (line,) = said(tmp_path)
    assert "no licence that is known here" in line
