from pathlib import Path

from wetfoot.answers.dossier import season_dossier
from wetfoot.sheets.build import _bench_drawing


def test_of_many_banks_the_one_with_the_weak_point_is_drawn(season_folder: Path) -> None:
    plan = season_folder / "season.toml"
    text = plan.read_text("utf-8")
    start, end = text.index('[[banks]]\nname = "South"'), text.index("[solution]")
    more = "".join(text[start:end].replace('"South"', f'"Row {row}"') for row in range(4))
    head, tail = more.split('name = "Row 3"')
    tilted = head + 'name = "Tilted"' + tail.replace('board_slope = "0 %"', 'board_slope = "0.3 %"', 1)
    plan.write_text(text[:end] + tilted + text[end:], "utf-8")
    drawn = _bench_drawing(season_dossier(season_folder, 10))
    assert ">Tilted<" in drawn
    assert "Row 2" not in drawn
