"""The command that writes the sheets of planting stock, over the invented season of the demo."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from wetfoot.answers.demo import demo_folder
from wetfoot.cli.app import app
from wetfoot.errors import WetfootError

RUN = CliRunner()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("stock_command") / "season"
    demo_folder(where)
    return where


def run(folder: Path, *options: str) -> str:
    result = RUN.invoke(app, ["stock", "sheets", str(folder), *options])
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.output


def written(folder: Path, output: str) -> list[str]:
    names = [Path(path).name for path in json.loads(output)["answer"]["files"]]
    for name in names:
        assert (folder / "sheets" / "stock" / name).read_bytes().startswith(b"%PDF")
    return names


def test_with_nothing_named_the_days_list_labels_and_pedigrees(folder: Path) -> None:
    told = run(folder, "--on", "2026-09-08", "--json")
    assert written(folder, told) == [
        "lot-labels.pdf",
        "pedigree-G0-plantlets.pdf",
        "pedigree-G1-2026.pdf",
        "inspection-2026-09-08.pdf",
    ]
    sample = json.loads(told)["answer"]["sample"]
    assert not any("East" in pot for pool in sample["pools"] for pot in pool)  # on hold: not among the sampled
    words = run(folder, "--on", "2026-09-08")
    assert "sample, in the order drawn: South 5" in words
    assert "You may not say: free" in " ".join(words.split())


def test_another_seed_draws_others_and_pools_are_listed(folder: Path) -> None:
    told = run(folder, "--on", "2026-09-08", "--seed", "invented", "--pool", "3", "--level", "20 %")
    assert "test 1: " in told
    assert "'invented'" in told


@pytest.mark.parametrize(
    ("options", "names"),
    [
        (("--lot", "G1 2026"), ["lot-labels.pdf", "pedigree-G1-2026.pdf"]),
        (("--suspect", "East 3", "--agent", "bacterial wilt"), ["exposure-East-3.pdf"]),
    ],
)
def test_only_what_is_named_is_written(folder: Path, options: tuple[str, ...], names: list[str]) -> None:
    assert written(folder, run(folder, *options, "--json")) == names


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--ship", "G1 2026", "--to", "invented grower", "--kg", "0.5"), "East 3 tested positive"),
        (("--ship", "G1 2026", "--to", "x", "--kg", "much"), "--kg"),
        (("--ship", "G1 2026", "--to", "x", "--kg", "25 lb"), "0.8 kg"),
        (("--lot", "G9"), "no lot of this season"),
        (("--suspect", "Eest 3"), "did you mean"),
        (("--suspect", "East 3", "--agent", "flu"), "not an agent"),
        (("--on", "yesterday"), "not a date"),
        (("--pool", "0",), "pool"),
        (("--level", "0 %",), "prevalence"),
        (("--grid", "a4-999",), "not a grid"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_its_reason(folder: Path, options: tuple[str, ...], told: str) -> None:
    with pytest.raises(WetfootError, match=told):
        run(folder, *options)
