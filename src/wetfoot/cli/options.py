"""What many commands take: the season's folder, and the wish for a result that machines read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Folder = Annotated[Path, typer.Argument(help="The season's folder, with its season.toml.", show_default=False)]
Json = Annotated[bool, typer.Option("--json", help="Print the result for machines.")]
