"""Seasons to print, and how a printed sheet is read back."""

from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import tomlkit
from pypdf import PdfReader

from wetfoot.answers.dossier import Dossier, season_dossier
from wetfoot.plan.example import example_text, write_folder

RUNS = 20
Change = Callable[[dict[str, Any]], None]

HOSTILE_BANKS = (
    '<b>bold</b> & "quoted" #eval("1+1") $x^2$ @ref `code`',
    '=HYPERLINK("http://example.org","y")',
    "x" * 100,
    "*a* _b_ \\ // /* [#panic()] ~ ---",
)


@dataclass(frozen=True)
class Printed:
    """A PDF as a reader sees it: the text of each page, without the invisible places where a long word may break."""

    pages: list[str]
    width_pt: float
    height_pt: float

    @property
    def text(self) -> str:
        return "\n".join(self.pages)

    @property
    def flat(self) -> str:
        """The text without any white space, for what may be broken anywhere."""
        return "".join(self.text.split())


def printed(pdf: bytes) -> Printed:
    reader = PdfReader(BytesIO(pdf))
    pages = [page.extract_text().replace("\u200b", "") for page in reader.pages]
    box = reader.pages[0].mediabox
    return Printed(pages, float(box.width), float(box.height))


def hostile(plan: dict[str, Any]) -> None:
    nest = '#n "q" <' + "y" * 190 + ">"
    plan["title"] = '#eval <b> "t" $x$ @ref ' + "W" * 177
    plan["site"]["name"] = "Hof Ünö – Ωμέγα " + "longname " * 20
    plan["nests"] = {nest: plan["nests"]["standard"]}
    plan["banks"] = [{**plan["banks"][0], "name": name, "nest": nest} for name in HOSTILE_BANKS]
    plan["crop"]["name"] = "$ginger$ @x"
    plan["costs"]["currency"] = "#US$"


def many_banks(plan: dict[str, Any]) -> None:
    plan["tank"]["volume"] = "20000 L"
    plan["solution"]["barrel"] = "200 L"
    plan["banks"] = [{**plan["banks"][0], "name": f"Row {number}", "pots": 5 + number % 9} for number in range(60)]


def season(folder: Path, change: Change | None = None, units: str = "metric") -> Dossier:
    """Return the dossier of the example plan, changed, on the weather that comes with it."""
    plan = tomlkit.parse(example_text(units)).unwrap()
    if change:
        change(plan)
    write_folder(folder, tomlkit.dumps(plan))
    return season_dossier(folder, runs=RUNS)
