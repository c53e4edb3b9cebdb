"""The table of many sites: which rows can be used, and what is said of those that cannot. All sites are invented."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wetfoot.answers.sites_table import plan_of_row, plan_text, read_sites
from wetfoot.errors import WetfootError
from wetfoot.plan.model import Plan

HEADS = "name,latitude,longitude,elevation,zone,weather"
HILL = "Hill,36.5,-80.1,350 m,America/New_York,weather.csv"


def rows(folder: Path, *lines: str):
    table = folder / "table.csv"
    table.write_text("\n".join(lines), "utf-8")
    return read_sites(table, folder)


def plan(folder: Path, *lines: str) -> Plan:
    row = rows(folder, *lines)[0]
    return plan_of_row(row, plan_text(folder, row.plan_file), folder)


def refusals(folder: Path, *lines: str) -> list[str]:
    with pytest.raises(WetfootError) as caught:
        plan(folder, *lines)
    return [problem.where for problem in caught.value.problems]


def test_a_row_changes_the_plan_and_nothing_else(season_folder: Path, example_plan: Plan) -> None:
    found = plan(season_folder, f"{HEADS},tank.volume,banks.1.pots,crop.planting,visits.feed_banks",
                 f"{HILL},300 gal,12,2027-04-12,false")  # fmt: skip
    assert (found.site.name, found.site.latitude_deg, found.site.elevation_m) == ("Hill", 36.5, 350.0)
    assert found.tank.volume_l == pytest.approx(300 * 3.785411784)  # US liquid gallon, NIST SP 811
    assert (found.banks[1].pots, found.banks[0].pots) == (12, example_plan.banks[0].pots)
    assert found.crop.planting.isoformat() == "2027-04-12"
    assert not found.visits.feed_banks
    assert found.goal == example_plan.goal
    assert found.nests == example_plan.nests


def test_an_empty_cell_leaves_the_plans_value(season_folder: Path, example_plan: Plan) -> None:
    assert plan(season_folder, f"{HEADS},tank.volume", f"{HILL},").tank == example_plan.tank


def test_semicolons_and_a_byte_order_mark_as_spreadsheets_write_them(season_folder: Path) -> None:
    lines = [line.replace(",", ";") for line in (HEADS, HILL)]
    assert rows(season_folder, "\ufeff" + lines[0], lines[1])[0].cells["site.latitude"] == "36.5"


def test_another_plan_of_the_folder(season_folder: Path) -> None:
    text = plan_text(season_folder, "season.toml").replace('volume = "1000 L"', 'volume = "600 L"')
    (season_folder / "small.toml").write_text(text, "utf-8")
    assert plan(season_folder, f"{HEADS},plan", f"{HILL},small.toml").tank.volume_l == 600.0


def test_all_that_is_wrong_in_a_row_is_told_at_once_by_column(season_folder: Path) -> None:
    line = "Hill,ninety,,350,Mars/Here,none.csv,1000,lots"
    found = refusals(season_folder, f"{HEADS},tank.volume,banks.0.pots", line)
    columns = {where.rsplit("column ")[-1] for where in found}
    assert columns == {"latitude", "longitude", "elevation", "zone", "weather", "tank.volume", "banks.0.pots"}
    assert all(where.startswith("table.csv, row 2 (Hill)") for where in found)


def test_two_rows_of_one_name_and_design(season_folder: Path) -> None:
    first, _, third = rows(season_folder, f"{HEADS},design", f"{HILL},", f"{HILL},wide", f"{HILL},")
    assert not first.problems
    assert [problem.what for problem in third.problems] == ["row 2 has the same name and design"]


def test_a_name_that_is_a_formula_to_a_spreadsheet(season_folder: Path) -> None:
    row = rows(season_folder, HEADS, HILL.replace("Hill", "=1+1"))[0]
    assert "formula" in row.problems[0].what


def test_a_row_of_the_wrong_length(season_folder: Path) -> None:
    assert "7 cells" in rows(season_folder, HEADS, f"{HILL},more")[0].problems[0].what


def test_headings_that_are_wrong_are_all_told(season_folder: Path) -> None:
    with pytest.raises(WetfootError) as caught:
        rows(season_folder, "name,latitude,latitude,elevation,zone,wether,site.name", HILL)
    told = str(caught.value)
    for words in ("'longitude' is missing", "'weather' is missing", "column latitude: it stands there 2 times",
                  "did you mean 'weather'", "use 'name'"):  # fmt: skip
        assert words in told


def test_a_key_that_no_plan_has(season_folder: Path) -> None:
    with pytest.raises(WetfootError, match=r"did you mean 'tank\.volume'"):
        rows(season_folder, f"{HEADS},tank.volum", f"{HILL},900 L")


@pytest.mark.parametrize("name", ["none.toml", "../season.toml"])
def test_a_plan_that_is_not_in_the_folder(season_folder: Path, name: str) -> None:
    with pytest.raises(WetfootError, match="there is no plan"):
        rows(season_folder, f"{HEADS},plan", f"{HILL},{name}")


@pytest.mark.parametrize("lines", [(), (HEADS,), (HEADS, "", ",,,,,")])
def test_a_table_without_a_site(season_folder: Path, lines: tuple[str, ...]) -> None:
    with pytest.raises(WetfootError):
        rows(season_folder, *lines)


def test_a_table_that_is_not_text(season_folder: Path) -> None:
    table = season_folder / "table.csv"
    table.write_bytes(b"\xff\xfe\x00name")
    with pytest.raises(WetfootError, match="cannot be read"):
        read_sites(table, season_folder)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda text: f"{HEADS}\n{text}".encode("utf-8", "ignore")))
def test_any_bytes_are_read_or_refused(season_folder: Path, content: bytes) -> None:
    table = season_folder / "table.csv"
    table.write_bytes(content)
    try:
        found = read_sites(table, season_folder)
    except WetfootError as error:
        assert error.problems
    else:
        assert all(row.number >= 2 for row in found)
