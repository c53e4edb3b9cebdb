"""Look at the installed packages without a network: pinned, unchanged since they were installed, licences known.

It ends with code 1 and says why if a package is not in constraints.txt with its version, if a file of a package is not
the one whose SHA-256 its wheel brought (PyPA specifications, "Recording installed projects"), or if a package has no
licence that is known here. It knows nothing of published weaknesses: for these, see docs/security.md.
"""

from __future__ import annotations

import base64
import csv
import hashlib
import re
import sys
from collections.abc import Iterable, Iterator, Mapping
from importlib.metadata import Distribution, distributions
from pathlib import Path

CONSTRAINTS = Path(__file__).parent.parent / "constraints.txt"
OF_THE_ENVIRONMENT = {"pip", "setuptools", "wheel", "wetfoot"}
# SPDX identifiers and the words that older packages use; none of them asks anything of those who only use a package
LICENCES = re.compile(
    r"MIT|MIT-0|MIT-CMU|BSD|[23]-clause BSD|BSD[ -][23]-Clause( License)?|0BSD|ISC( License)?|Apache[ -]2\.0|Zlib|"
    r"CC0-1\.0|PSF-2\.0|MPL-2\.0|LGPL-3\.0-only|LGPL|Apache-2\.0 WITH LLVM-exception|"
    r"(MIT|BSD|ISC|Apache Software) License( \(ISCL\))?|Mozilla Public License 2\.0 \(MPL 2\.0\)|"
    r"GNU Lesser General Public License v2 or later \(LGPLv2\+\)"
)
READ_BY_HAND = {
    "atheris": "Apache-2.0, as the licence file in its wheel says",
    "axe-playwright-python": "MIT, as the licence file in its wheel says",
}


def name_of(found: Distribution) -> str:
    """Return a package's name in the normal form of PEP 503."""
    return re.sub(r"[-_.]+", "-", found.metadata["Name"]).lower()


def pinned() -> dict[str, str]:
    """Return the version of each package that constraints.txt names."""
    lines = (line.partition("==") for line in CONSTRAINTS.read_text("utf-8").splitlines() if "==" in line)
    return {re.sub(r"[-_.]+", "-", name).lower(): version.strip() for name, _, version in lines}


def licence_of(found: Distribution) -> list[str]:
    """Return the licences that a package says it has."""
    said = found.metadata.get_all("License-Expression")
    if said:
        return [part.strip(" ()") for part in re.split(r"\bAND\b|\bOR\b", said[0])]
    classes = [line.split(" :: ")[-1] for line in found.metadata.get_all("Classifier") or [] if "License :: " in line]
    return classes or (found.metadata.get_all("License") or [""])[:1]


def changed_files(found: Distribution) -> Iterator[str]:
    """Yield each file of a package that is gone, or is not the one that was installed."""
    # RECORD itself, as `files` leaves out what is gone
    for name, recorded, _ in csv.reader((found.read_text("RECORD") or "").splitlines()):
        if not recorded:
            continue
        method, _, wanted = recorded.partition("=")
        path = Path(str(found.locate_file(name)))
        if not path.is_file():
            yield f"{name} is gone"
            continue
        with path.open("rb") as opened:
            digest = hashlib.file_digest(opened, method).digest()
        if base64.urlsafe_b64encode(digest).rstrip(b"=").decode() != wanted:
            yield f"{name} was changed"


def problems(installed: Iterable[Distribution], wanted: Mapping[str, str]) -> Iterator[str]:
    """Yield everything that is wrong with the installed packages, given the version that each should have."""
    for found in installed:
        name = name_of(found)
        if name in OF_THE_ENVIRONMENT:
            continue
        if wanted.get(name) != found.version:
            yield f"{name} {found.version} is installed, constraints.txt says {wanted.get(name, 'nothing')}"
        licences = licence_of(found)
        if name not in READ_BY_HAND and not all(LICENCES.fullmatch(each) for each in licences):
            yield f"{name}: no licence that is known here, but {', '.join(licences) or 'none'}"
        yield from (f"{name}: {said}" for said in changed_files(found))


def main() -> int:
    """Print what is wrong, and return the exit code."""
    said = sorted(problems(distributions(), pinned()))
    count = len({name_of(found) for found in distributions()} - OF_THE_ENVIRONMENT)
    print("\n".join(said) or f"{count} packages: pinned, unchanged since they were installed, licences known")
    return 1 if said else 0


if __name__ == "__main__":
    sys.exit(main())
