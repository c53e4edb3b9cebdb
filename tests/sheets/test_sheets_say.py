"""What each sheet says: the deciding numbers, with units, as the answers hold them."""

from datetime import date

import pytest
from sheet_reading import season

from wetfoot.answers.cautions import DEFER
from wetfoot.quantities import show
from wetfoot.sheets.mixing import BESIDE, batch_code, dose_rows, label_text, stock_rows
from wetfoot.sheets.summary import MAIN_NUMBERS, worst_bank
from wetfoot.sheets.trace import plan_values
from wetfoot.sheets.visits import date_text, day_text
from wetfoot.solution.dissolving import dissolving_order


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_summary_gives_each_verdict_and_main_number(units, request):
    dossier = request.getfixturevalue(units)
    text = " ".join(request.getfixturevalue(f"in_{units}")("1-summary.pdf").text.split())
    shown = (dossier.supply.answer, dossier.water[0], dossier.water[1 + worst_bank(dossier)], dossier.mix.answer)
    for answer in shown:
        assert answer.question in text
        assert answer.state.upper() in text
        for number in answer.numbers:
            if number.name in MAIN_NUMBERS:
                assert f"{number.name} {number.text(dossier.plan.units)}" in text
    for words in (*dossier.warnings, *(words for answer in shown for words in answer.warnings)):
        assert words in text


def test_every_main_number_is_a_number_of_the_answers(metric):
    assert {number.name for answer in metric.answers for number in answer.numbers} >= MAIN_NUMBERS


def test_the_worst_bank_has_the_worst_verdict(tmp_path):
    def tilt_the_second(plan):
        plan["banks"][1]["board_slope"] = "0.4 %"

    assert worst_bank(season(tmp_path, tilt_the_second)) == 1


def test_the_build_sheet_gives_sizes_as_the_plan_has_them(in_metric, in_us):
    text = in_metric("2-build.pdf").text
    for wanted in ("1,000 L", "1.1 m", "19 mm", "16 mm", "4 mm", "0.3 m", "3.2 mm", "60 mm", "6 to 1", "5 cm", "7 cm"):
        assert wanted in text
    in_us = in_us("2-build.pdf").text
    for wanted in (
        "275 gal",
        "3.67 ft",
        "0.625 in",
        "2 in",
        "2.75 in",
    ):  # as the US example has them typed; 44 in are 3.67 ft
        assert wanted in in_us


def test_the_build_sheet_gives_what_every_nest_holds(metric, in_metric):
    text = " ".join(in_metric("2-build.pdf").text.split())
    for number in metric.nests["standard"]:
        assert f"{number.name} {number.text('metric')}" in text


def test_the_mixing_sheet_gives_dose_meter_and_cautions(metric, in_metric):
    text = " ".join(in_metric("3-mixing.pdf").text.split())
    full = metric.mix.strength * 1000.0
    assert f"full tank, 1,000 L {full:.2f} L" in text
    assert f"100 L {100 * full:.0f} mL" in text
    assert "tank, both stocks in 1.75 mS/cm, give or take 3 %" in text
    assert f"if only A went in {show(metric.mix.only_a_ms_cm, 'conductivity')}" in text
    assert "Never pour A and B together undiluted" in text
    for name in BESIDE:
        words = next(each.words for each in metric.cautions if each.title == name)
        assert words in text


def test_a_barrel_holds_grams_per_litre_times_its_litres():
    stock = {"boric acid": 0.28, "potassium nitrate": 26.0}
    rows = stock_rows(dissolving_order(stock), stock, 25.0, "metric")
    assert rows == [["1", "potassium nitrate", "26", "650"], ["2", "boric acid", "0.28", "7"]]


def test_a_us_barrel_is_weighed_in_ounces_too():
    # US gallon 3.785412 L, avoirdupois ounce 28.34952 g: NIST SP 811, appendix B
    stock = {"potassium nitrate": 26.0}
    (row,) = stock_rows(dissolving_order(stock), stock, 5 * 3.785412, "US")
    assert float(row[3]) == pytest.approx(26.0 * 5 * 3.785412, abs=1.0)
    assert float(row[4]) == pytest.approx(26.0 * 5 * 3.785412 / 28.34952, abs=0.05)


def test_each_barrel_has_its_label_and_the_same_salts_the_same_batch(metric, in_metric):
    text = " ".join(in_metric("3-mixing.pdf").text.split())
    for stock in ("A", "B"):
        assert batch_code(metric.plan, stock) in text
    assert "Never into stock B" in text
    assert batch_code(metric.plan, "A") != batch_code(metric.plan, "B")
    told = label_text(metric.plan, "A", metric.plan.solution.stock_a)
    assert "calcium nitrate tetrahydrate 94 g/L" in told


def test_doses_grow_with_the_solution_and_end_at_the_full_tank():
    assert dose_rows(0.008, 300.0, "metric") == [
        ["10 L", "80 mL"],
        ["50 L", "400 mL"],
        ["100 L", "800 mL"],
        ["200 L", "1.6 L (1,600 mL)"],
        ["full tank, 300 L", "2.4 L (2,400 mL)"],
    ]
    # 25 gal at 1 in 128 is 25 fl oz: a US gallon holds 128 fluid ounces
    assert ["25 gal", "25 fl oz"] in dose_rows(1 / 128, 400.0, "US")


@pytest.mark.parametrize("units", ["metric", "us"])
def test_visits_hold_every_day_of_the_calendar(units, request):
    dossier = request.getfixturevalue(units)
    text = " ".join(request.getfixturevalue(f"in_{units}")("4-visits.pdf").text.split())
    for entry in dossier.calendar:
        assert day_text(entry.on, dossier.plan.units) in text
        assert entry.words in text
        assert entry.visit or f"{entry.title}." in text


def test_dates_are_written_as_each_country_reads_them():
    assert day_text(date(2027, 12, 6), "metric") == "Mon 6 Dec"  # 6 December 2027 is a Monday (ISO 8601 week 49)
    assert date_text(date(2027, 12, 6), "US") == "December 6, 2027"


def test_the_log_has_a_row_for_each_visit_and_a_place_for_each_reading(metric, in_metric):
    text = in_metric("5-log.pdf").text
    for entry in metric.calendar:
        assert not entry.visit or day_text(entry.on, "metric") in text
    for head in (
        "Before",
        "After",
        "Water",
        "Stock A",
        "Stock B",
        "Temp.",
        "Rain",
        "Notes",
        "Initials",
        "°C",
        "mL",
        "mm",
    ):
        assert head in text
    page = in_metric("5-log.pdf").pages[0]
    assert page.count("Level\n") == len(metric.plan.banks)
    for bank in metric.plan.banks:
        assert bank.name in page


def test_the_log_names_us_units(in_us):
    text = in_us("5-log.pdf").text
    for unit in ("gal", "fl oz", "°F", "Level\nin", "Rain\nin"):
        assert unit in text


def test_materials_list_each_item_and_the_total(metric, in_metric):
    text = " ".join(in_metric("6-materials.pdf").text.split())
    for item in metric.bill.items:
        assert item.name in text
        assert item.amount_text("metric") in text
    total = sum(item.price * item.amount for item in metric.bill.items if item.price is not None)
    assert f"{total:,.2f} USD" in text
    assert "; ".join(metric.bill.unpriced) in text


def test_cautions_are_all_there_under_what_comes_before_them(metric, in_metric):
    text = " ".join(in_metric("7-cautions.pdf").text.split())
    assert DEFER in text
    for caution in metric.cautions:
        assert caution.title in text
        assert caution.words in text


def test_every_number_can_be_traced(metric, in_metric):
    text = " ".join(in_metric("8-trace.pdf").text.split())
    numbers = [number for answer in metric.answers for number in answer.numbers]
    numbers += [number for nest in metric.nests.values() for number in nest]
    for number in (*numbers, metric.bill.total):
        assert number.name in text
        assert number.text("metric") in text
        assert number.how in text
        assert number.source in text
    assert "runs 20" in text
    assert "seed 20" in text
    assert metric.weather_source in text


def test_the_values_of_a_plan_are_listed_with_their_place():
    found = dict(plan_values({"tank": {"volume_l": 1000.0}, "banks": ({"pots": 3}, {"pots": 4, "note": None})}))
    assert found == {"tank.volume_l": 1000.0, "banks[0].pots": 3, "banks[1].pots": 4}
