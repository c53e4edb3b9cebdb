from pathlib import Path

import pytest

from wetfoot.answers.dossier import season_dossier
from wetfoot.cli.printing import print_answers
from wetfoot.plan.file import plan_path


def test_of_many_banks_the_worst_are_printed(season_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = plan_path(season_folder)
    text = plan.read_text("utf-8")
    start, end = text.index('[[banks]]\nname = "South"'), text.index("[solution]")
    more = "".join(text[start:end].replace('"South"', f'"Row {row}"') for row in range(6))
    tilted = more.replace('board_slope = "0 %"', 'board_slope = "0.3 %"', 1)
    plan.write_text(text[:start] + text[start:end] + tilted + text[end:], "utf-8")
    print_answers(season_dossier(season_folder, 10))
    printed = capsys.readouterr().out
    assert printed.count("keep its level?") == 4
    assert "[watch] Does every pot of bank Row 0 keep its level?" in printed
    assert "6 more banks do no worse" in printed
