"""A trial's table from a file: nothing dropped, every doubt told."""

from collections import Counter
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trial_made_up import layout

from wetfoot.errors import WetfootError
from wetfoot.trial.data import read_trial

DATA = Path(__file__).parent / "data"
LOST_A = ["P009", "P010", "P028", "P045", "P058", "P060"]  # trial handbook 1


def table(tmp_path, text):
    (tmp_path / "t.csv").write_text(text, encoding="utf-8")
    return tmp_path / "t.csv"


def weights(drawn, pot=lambda plot: plot.label):
    """Invented weights for every pot of a layout, by plot number."""
    return {plot.number: [pot(plot), f"{1500 + plot.number}"] for plot in drawn.recorded}


def written(tmp_path, rows, head="pot code,weight (g)"):
    return table(tmp_path, "\n".join([head, *(",".join(row) for row in rows.values())]))


def test_case_a_is_read_as_the_handbook_has_it():
    found = read_trial(DATA / "trial_case_A.csv")
    assert len(found.y) == 64
    assert np.nansum(found.y) == 108659  # trial handbook 1
    assert [pot for pot, state in zip(found.pot, found.state, strict=True) if state == "lost"] == LOST_A
    assert found.factors == ("gutter", "pieces", "pot")
    assert found.on_boards == ("gutter",)
    assert found.on_pots == ("pieces", "pot")
    assert found.levels("pieces") == ("1", "2", "3", "4")
    assert (len(found.levels("block")), len(found.levels("board")), found.levels("year")) == (4, 8, ("2021",))
    assert found.codes("gutter").sum() == 32
    assert {doubt.pot for doubt in found.doubts} == set(LOST_A)
    assert {doubt.done for doubt in found.doubts} == {"counted as lost"}


def test_case_a_before_the_loss_has_the_sum_of_the_handbook():
    found = read_trial(DATA / "trial_case_A.csv", names={"response": "w_complete"})
    assert found.y.sum() == 119260  # trial handbook 1
    assert found.doubts == ()


def test_case_c_has_six_lost_pots_too():
    found = read_trial(DATA / "trial_case_C_singular.csv")
    assert Counter(found.state) == {"used": 58, "lost": 6}  # head of the trial handbook


def test_what_was_guessed_is_said_and_what_is_named_is_taken():
    found = read_trial(DATA / "trial_case_A.csv", names={"response": "stems"}, factors=["pieces"])
    assert found.factors == ("pieces",)
    assert found.response == "stems"
    assert "column 'pot_id' taken as pot" in found.said
    assert not any("stems" in text for text in found.said)


def test_a_table_without_pots_and_blocks_is_read():
    found = read_trial(DATA / "plantgrowth.csv")
    assert found.factors == ("group",)
    assert found.block is None
    assert len(found.y) == 30
    assert found.pot[0] == "row 2"


@pytest.mark.parametrize(
    ("head", "cells", "grams"),
    [
        ("weight (kg)", ["1.5", "2", "1.5 lb"], [1500, 2000, 680.388555]),  # NIST SP 811
        ("weight [lb]", ["1", "2", "16 oz"], [453.59237, 907.18474, 453.59237]),
        ("weight_g", ["1500", "2000", "1.2 kg"], [1500, 2000, 1200]),
        ("weight in oz", ["16", "32", "1"], [453.59237, 907.18474, 28.349523125]),
    ],
)
def test_units_in_the_head_or_cell_give_grams(tmp_path, head, cells, grams):
    rows = "\n".join(f"a{i},{'xy'[i % 2]},{cell}" for i, cell in enumerate(cells))
    found = read_trial(table(tmp_path, f"id,level,{head}\n{rows}\n"))
    assert found.unit == "g"
    assert found.y == pytest.approx(grams, rel=1e-9)


def test_a_bare_number_among_typed_masses_is_left_out(tmp_path):
    found = read_trial(table(tmp_path, "id,level,weight\na,x,2 kg\nb,y,3\nc,x,1 lb\n"))
    assert found.state == ("used", "left out", "used")
    assert "no unit" in found.doubts[0].what


@pytest.mark.parametrize(
    ("cell", "state", "what"),
    [
        ("-5", "left out", "negative"),
        ("0", "left out", "loss code"),
        ("99000", "left out", "above 50,000 g"),
        ("2,160", "left out", "thousands or decimals"),
        ("1,234.5", "used", "read as 1234.5"),
        ("abc", "left out", "neither a number"),
        ("", "lost", "no loss code"),
        ("stolen", "lost", None),
        ("9000", "used", "robust SD above"),
    ],
)
def test_each_doubtful_weight_is_told(tmp_path, cell, state, what):
    rows = [f"p{i},{i % 2},{1500 + 37 * (i * 7 % 11)}" for i in range(24)] + [f'odd,1,"{cell}"']
    found = read_trial(table(tmp_path, "\n".join(["id,level,weight (g)", *rows])))
    assert len(found.y) == 25
    assert found.state[-1] == state
    assert np.isfinite(found.y[-1]) == (state == "used")
    told = [doubt.what for doubt in found.doubts if doubt.pot == "odd"]
    assert told == [] if what is None else what in " ".join(told)
    assert [doubt for doubt in found.doubts if doubt.pot != "odd"] == []


def test_losses_are_told_apart_and_split_pots_stay_weighed(tmp_path):
    text = "id,level,weight (g),loss\na,x,,dead\nb,y,1500,pot split & drained\nc,x,,label lost\n"
    text += "d,y,1400,stolen\ne,x,1300,\nf,y,1,hail"
    found = read_trial(table(tmp_path, text))
    assert found.lost == ("dead", "split and drained", "label lost", "stolen", "", "not said")
    assert found.state == ("lost", "used", "lost", "left out", "used", "left out")
    assert found.lost_by_treatment == ("a: dead", "b: split and drained", "f: not said")


def test_levels_are_spelled_one_way_and_a_slip_is_left_out(tmp_path):
    rows = [f"p{i},{['std', 'air', 'STD'][i % 3]},{i % 4 + 1}.0,{1500 + i}" for i in range(24)]
    rows += ["q,sdt,2,1500", "r,air,3,1501", "s,,3,1501"]
    found = read_trial(table(tmp_path, "\n".join(["id,pot type,pieces,weight", *rows])))
    assert found.factors == ("pot type", "pieces")
    assert found.state[-3:] == ("left out", "used", "left out")
    used = np.array(found.state) == "used"
    assert set(found.labels["pieces"][used].tolist()) == {"1.0", "2.0", "3.0", "4.0"}
    assert len(set(found.labels["pot type"][used].tolist())) == 2
    y, labels = found.readable()
    assert len(y) == len(labels["pieces"]) == 26


def test_a_number_is_one_level_however_it_is_written(tmp_path):
    rows = [f"p{i},{i % 2 + 1}{['', '.0'][i > 13]},{1500 + i}" for i in range(20)]
    found = read_trial(table(tmp_path, "\n".join(["id,pieces,weight", *rows])))
    assert found.levels("pieces") == ("1", "2")
    assert {doubt.what for doubt in found.doubts} == {"taken as '1'", "taken as '2'"}


def test_levels_that_are_not_allowed_are_left_out():
    found = read_trial(DATA / "trial_case_A.csv", levels={"pieces": ["1", "2", "3"]})
    fours = found.labels["pieces"] == "4"
    assert fours.sum() == 16
    assert set(np.array(found.state)[fours].tolist()) == {"left out"}


def test_duplicates_are_told(tmp_path):
    text = "id,level,weight\na,x,1\na,x,1\nb,y,2\nb,y,3\nc,x,4\n"
    found = read_trial(table(tmp_path, text))
    assert found.state == ("used", "left out", "left out", "left out", "used")
    assert [doubt.row for doubt in found.doubts] == [3, 4, 5]


def test_with_a_layout_every_pot_gets_its_treatment(tmp_path):
    drawn = layout(blind=True)
    for pot in (
        lambda plot: plot.label,
        lambda plot: plot.pot,
        lambda plot: f"{plot.number}",
        lambda p: p.label.lower(),
    ):
        found = read_trial(written(tmp_path, weights(drawn, pot)), layout=drawn)
        assert found.doubts == ()
        assert found.pot == tuple(plot.pot for plot in drawn.recorded)
        assert found.labels["pieces"].tolist() == drawn.levels("pieces")
        assert found.on_boards == ("gutter",)
        assert found.y.tolist() == [1500 + plot.number for plot in drawn.recorded]


def test_check_characters_in_a_column_of_their_own_are_checked(tmp_path):
    drawn = layout()
    rows = {p.number: [p.pot, p.label[-1], f"{1500 + p.number}"] for p in drawn.recorded}
    rows[102][1] = "7" if rows[102][1] != "7" else "8"
    found = read_trial(written(tmp_path, rows, "pot,check,weight (g)"), layout=drawn)
    assert [(doubt.row, doubt.what.split(":")[0]) for doubt in found.doubts if doubt.row] == [
        (3, "the check character does not fit")
    ]
    assert found.pot[0] == drawn.recorded[0].pot


def test_with_a_layout_misread_unknown_and_missing_pots_are_told(tmp_path):
    drawn = layout(guards=1)
    rows = weights(drawn)
    rows[101][0] = rows[101][0][:-3] + "Z" + rows[101][0][-2:]  # one character misread
    rows[102][0] = "99B9L01"  # a code that no label has
    rows[103][0] = "21B1L01"  # a guard pot
    del rows[104]
    found = read_trial(written(tmp_path, rows), layout=drawn)
    by_row = {doubt.row: doubt.what for doubt in found.doubts if doubt.row}
    assert "check character" in by_row[2]
    assert "no pot of the layout" in by_row[3]
    assert "guard pot" in by_row[4]
    missing = [doubt.pot for doubt in found.doubts if doubt.row == 0]
    assert missing == [plot.pot for plot in drawn.recorded[:4]]
    assert Counter(found.state) == {"used": 60, "left out": 3, "lost": 4}
    assert len(found.readable()[0]) == 64


def test_where_file_and_layout_differ_the_layout_is_taken_and_told(tmp_path):
    drawn = layout()
    rows = {plot.number: [plot.pot, f"{1000 + plot.number}", plot.treatment[1]] for plot in drawn.recorded}
    rows[101][2] = "4" if rows[101][2] != "4" else "1"
    found = read_trial(written(tmp_path, rows, "pot code,weight (g),pieces"), layout=drawn)
    (doubt,) = found.doubts
    assert "which was taken" in doubt.what
    assert found.labels["pieces"].tolist() == drawn.levels("pieces")


def test_check_characters_are_seen_without_a_layout(tmp_path):
    rows = [f"{plot.label},{plot.treatment[1]},{1500 + plot.number}" for plot in layout().recorded]
    rows[5] = "X" + rows[5][1:]
    found = read_trial(table(tmp_path, "\n".join(["label,pieces,weight", *rows])))
    (doubt,) = found.doubts
    assert doubt.row == 7
    assert "check character" in doubt.what
    assert found.pot[0] == layout().recorded[0].pot


def test_a_workbook_is_read_like_text(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "notes"
    sheet = book.create_sheet("harvest")
    for row in [["Pot code", "Pieces", "Weight (kg)"], ["a", 1, 1.5], ["b", 2, 2], ["c", 1, None], ["d", 2, "3 lb"]]:
        sheet.append(row)
    book.save(tmp_path / "t.xlsx")
    found = read_trial(tmp_path / "t.xlsx")
    assert "worksheet 'harvest' read" in found.said
    assert found.y[[0, 1, 3]].tolist() == pytest.approx([1500, 2000, 1360.77711])  # NIST SP 811
    assert found.levels("Pieces") == ("1", "2")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("id,level\na,x\n", "no column found for response"),
        ("id,weight,weight\na,1,2\n", "twice"),
        ("id,weight,Weight\na,1,2\n", "could both be meant"),
        ("id,weight\n", "no row"),
        ("id,weight\na,1,2\n", "empty"),
        ("", "nothing in it"),
    ],
)
def test_a_table_that_cannot_be_understood_is_refused(tmp_path, text, said):
    with pytest.raises(WetfootError, match=said):
        read_trial(table(tmp_path, text))


def test_a_named_column_must_be_there():
    with pytest.raises(WetfootError, match="no column 'mass'"):
        read_trial(DATA / "trial_case_A.csv", names={"response": "mass"})
    with pytest.raises(WetfootError, match="no such role"):
        read_trial(DATA / "trial_case_A.csv", names={"colour": "w"})


cells = st.text(st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters='",;'), max_size=8)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(cells, cells, cells, cells), min_size=1, max_size=12))
def test_no_row_is_ever_dropped_and_what_is_not_used_has_a_reason(tmp_path_factory, rows):
    folder = tmp_path_factory.mktemp("any")
    body = "\n".join('"' + '","'.join(["k", *row]) + '"' for row in rows)
    found = read_trial(table(folder, f"mark,id,level,weight,loss\n{body}\n"), factors=["level"])
    assert found.row == tuple(range(2, len(rows) + 2))
    told = {doubt.row for doubt in found.doubts}
    for row, y, state, lost in zip(found.row, found.y, found.state, found.lost, strict=True):
        assert np.isfinite(y) == (state == "used")
        assert state == "used" or row in told or (state == "lost" and lost)
