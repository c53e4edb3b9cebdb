"""Many sites, designs and years at once: computed by many processes, kept one by one, told as one table."""

from __future__ import annotations

import csv
import json
import os
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from hashlib import sha256
from importlib import import_module
from io import StringIO
from pathlib import Path
from typing import Any

from wetfoot import __version__
from wetfoot.answers.computed_log import LOG_FILE, Computed, code_sha256, log_computed, sha256_of_file, versions
from wetfoot.answers.site_season import compute_site, site_inputs
from wetfoot.answers.site_task import REFUSED, SiteResult, SiteRow, SiteTask
from wetfoot.answers.site_workers import on_processes, on_scheduler
from wetfoot.answers.sites_table import read_sites
from wetfoot.answers.trace import SEED
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.plan.file import plan_path

RUNS = 50
SITES_FOLDER, KEPT_FOLDER = "sites", "kept"
PARQUET_FILE, CSV_FILE, REFUSED_FILE = "sites.parquet", "sites.csv", "refused.csv"


@dataclass
class Sites:
    """What the sites came to, in the order of the table.

    Attributes:
        folder: where the results are.
        rows: a row of key numbers for each site and design; a refused one has only its names and its verdict.
        refused: problems by row number, of the rows that were refused.
        computed, kept: how many were computed now, and how many were there from before.
        seconds: of computing that the ones computed now took together.
        files: what was written.
    """

    folder: Path
    rows: list[dict[str, Any]]
    refused: dict[int, tuple[dict[str, str], ...]] = field(default_factory=dict)
    computed: int = 0
    kept: int = 0
    seconds: float = 0.0
    files: tuple[Path, ...] = ()

    @property
    def verdicts(self) -> dict[str, int]:
        """How many sites came to each verdict."""
        counts = dict.fromkeys(("yes", "watch", "no", REFUSED), 0)
        for row in self.rows:
            counts[row["verdict"]] += 1
        return counts

    def record(self) -> dict[str, Any]:
        """Return it for machines; the units are in the names."""
        return {
            "answer": {"verdicts": self.verdicts, "sites": self.rows},
            "units": "in the names",
            "trace": {"computed": self.computed, "kept": self.kept, "seconds": self.seconds, "versions": versions()},
            "warnings": [problem for problems in self.refused.values() for problem in problems],
            "files": [str(path) for path in self.files],
        }


def plan_sites(
    folder: Path,
    table: Path,
    runs: int = RUNS,
    seed: int = SEED,
    processes: int | None = None,
    scheduler: str = "",
    progress: Callable[[int, int], None] | None = None,
) -> Sites:
    """Compute every site and design of a table, and write the results beside the season.

    Each is kept as soon as it is finished, so that a second call after an interrupt, a crash or a mended row computes
    only what is not there or whose inputs (plan, cells, weather, runs, seed, program) have changed.

    Args:
        folder: the season's folder, whose plans the table changes.
        table: as in `sites_table.read_sites`.
        runs: seasons computed for each, over its weather's years.
        seed: of the random numbers, the same for each.
        processes: of this machine that work at once; as many as there are processors if it is not given.
        scheduler: address of a Dask scheduler whose workers compute instead.
        progress: called with the number done and the number of all.

    Raises:
        WetfootError: if the table or the scheduler cannot be used, or no single site could be computed.
    """
    home = plan_path(folder).parent
    rows = read_sites(table, home)
    _need_parquet()
    found = Sites(home / SITES_FOLDER, [{} for _ in rows])
    at = {row.number: index for index, row in enumerate(rows)}
    tell = progress or (lambda _done, _all: None)
    tell(0, len(rows))
    waiting = _not_kept([SiteTask(row, str(home.resolve()), runs, seed) for row in rows], found, at, tell)
    with closing(_runner(waiting, processes, scheduler)) as finished:
        for task, result in finished:
            _same_program(result)
            _keep(found.folder, task.row, result)
            _take(found, at[task.row.number], task.row, result)
            found.computed, found.seconds = found.computed + 1, found.seconds + result.seconds
            tell(found.computed + found.kept, len(rows))
    if len(found.refused) == len(rows):
        raise WetfootError(Problem(**problem) for problems in found.refused.values() for problem in problems)
    found.refused = dict(sorted(found.refused.items()))
    found.files = _write(found)
    return found


def _runner(tasks: Iterator[SiteTask], processes: int | None, scheduler: str) -> Any:
    return on_scheduler(tasks, compute_site, scheduler) if scheduler else on_processes(tasks, compute_site, processes)


def _not_kept(
    tasks: list[SiteTask], found: Sites, at: dict[int, int], tell: Callable[[int, int], None]
) -> Iterator[SiteTask]:
    """Yield the tasks that must be computed; take those that are kept."""
    for task in tasks:
        result = _kept(found.folder, task)
        if result is None:
            yield task
            continue
        _take(found, at[task.row.number], task.row, result)
        found.kept += 1
        tell(found.computed + found.kept, len(tasks))


def _take(found: Sites, index: int, row: SiteRow, result: SiteResult) -> None:
    found.rows[index] = {**result.row, "row": row.number, "inputs_sha256": result.inputs_sha256}
    if result.problems:
        found.refused[row.number] = result.problems


def _same_program(result: SiteResult) -> None:
    """Refuse what a worker with another version computed: the table must not mix two programs."""
    theirs = result.inputs.get("code_sha256", code_sha256())
    if theirs != code_sha256():
        what = f"a worker has another program than this {__version__} (code {theirs[:12]}, not {code_sha256()[:12]})"
        raise refuse("worker", what, "the same version everywhere", "install the same version, and start it anew")


def kept_path(folder: Path, row: SiteRow) -> Path:
    """Return where a site's result is kept: by the hash of its names, so that any name makes a safe file."""
    name = sha256(json.dumps([row.site, row.design]).encode()).hexdigest()
    return folder / KEPT_FOLDER / name[:2] / f"{name[:24]}.json"


def _kept(folder: Path, task: SiteTask) -> SiteResult | None:
    """Return the kept result of a site, if it is whole and its inputs are still the same."""
    try:
        kept = json.loads(kept_path(folder, task.row).read_text("utf-8"))
        result = SiteResult(kept["inputs"], kept["row"], tuple(kept["problems"]), kept["seconds"])
        same = kept["inputs_sha256"] == result.inputs_sha256 and result.inputs == site_inputs(task)
    except (OSError, ValueError, KeyError, TypeError):
        return None
    # what a row is told about hangs on where it stands in the table
    return result if same and (not result.problems or result.row.get("row") == task.row.number) else None


def _keep(folder: Path, row: SiteRow, result: SiteResult) -> None:
    """Keep a result in one step, so that a crash leaves the old file or the new, and note what it came from."""
    if not result.kept or row.problems:
        return
    path = kept_path(folder, row)
    kept = result._asdict() | {"inputs_sha256": result.inputs_sha256, "versions": versions()}
    _replace(path, json.dumps(kept, ensure_ascii=False, indent=1).encode())
    seeds = {"runs": result.inputs["seed"], "weather years": result.inputs["weather_seed"]}
    told = tuple(f"{problem['where']}: {problem['what']}" for problem in result.problems)
    what = " / ".join(part for part in ("site season", row.site, row.design) if part)
    outputs = {path.relative_to(folder).as_posix(): sha256_of_file(path)}
    log_computed(folder / LOG_FILE, Computed(what, result.inputs, seeds, result.seconds, outputs, told))


def _replace(path: Path, content: bytes) -> None:
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise refuse(str(path), f"cannot be written ({error.strerror})", "a folder you may write to") from error


def _need_parquet() -> None:
    """Refuse before hours of computing, not after them."""
    try:
        import_module("pyarrow.parquet")
    except ImportError as error:
        fix = "pip install 'wetfoot[sites]'"
        raise refuse("--sites", "the package 'pyarrow' is not installed", "the extra 'sites'", fix) from error


def _write(found: Sites) -> tuple[Path, ...]:
    """Write the table as Parquet and CSV, and the refused rows with their problems."""
    pa: Any = import_module("pyarrow")
    parquet: Any = import_module("pyarrow.parquet")
    arrow_csv: Any = import_module("pyarrow.csv")
    columns = list(dict.fromkeys(name for row in found.rows for name in row))
    table = pa.table({name: [row.get(name) for row in found.rows] for name in columns})
    files = tuple(found.folder / name for name in (PARQUET_FILE, CSV_FILE, REFUSED_FILE))
    sink = pa.BufferOutputStream()
    parquet.write_table(table.replace_schema_metadata({"wetfoot": __version__}), sink)
    _replace(files[0], sink.getvalue().to_pybytes())
    sink = pa.BufferOutputStream()
    arrow_csv.write_csv(table, sink)
    _replace(files[1], sink.getvalue().to_pybytes())
    _replace(files[2], _refused_csv(found))
    return files


def _refused_csv(found: Sites) -> bytes:
    text = StringIO()
    writer = csv.DictWriter(text, ("row", "where", "what", "allowed", "fix"))
    writer.writeheader()
    for number, problems in found.refused.items():
        writer.writerows({"row": number, **problem} for problem in problems)
    return text.getvalue().encode()
