"""The files beside the sheets: calendar (RFC 5545), days as CSV (RFC 4180) and as a workbook, how they are written."""

import csv
import json
import re
from dataclasses import replace
from datetime import timedelta
from io import BytesIO, StringIO

import numpy as np
import pytest
from icalendar import Calendar
from openpyxl import load_workbook
from sheet_reading import HOSTILE_BANKS, season

from wetfoot.errors import WetfootError
from wetfoot.season import columns as c
from wetfoot.season.ensemble import Band
from wetfoot.sheets.daily import daily_csv, daily_xlsx, heads
from wetfoot.sheets.dossier import FILES, SHEETS, write_sheets
from wetfoot.sheets.press import INVENTED
from wetfoot.sheets.visits_calendar import visits_ics


@pytest.mark.parametrize("names", ["metric", "odd"])
def test_the_calendar_reads_back_with_every_day(names, request):
    dossier = request.getfixturevalue(names)
    events = list(Calendar.from_ical(visits_ics(dossier)).walk("VEVENT"))
    assert len(events) == len(dossier.calendar)
    assert len({str(event["uid"]) for event in events}) == len(events)
    for event, entry in zip(events, dossier.calendar, strict=True):
        assert event.decoded("dtstart") == entry.on
        assert event.decoded("dtend") == entry.on + timedelta(
            days=1
        )  # the end is not part of the event: RFC 5545, 3.6.1
        assert str(event["summary"]) == f"{entry.title}: {dossier.plan.title}"
        assert entry.words in str(event["description"])
        assert INVENTED in str(event["description"])


def test_calendar_lines_are_as_the_standard_wants_them(odd):
    lines = visits_ics(odd).split(b"\r\n")
    assert max(map(len, lines)) <= 75  # RFC 5545, 3.1: octets of a line, its break not counted
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert any(line.startswith(b"PRODID:-//Wetfoot//") for line in lines)


def test_the_calendar_can_be_made_again_to_the_letter(metric, tmp_path):
    assert visits_ics(metric) == visits_ics(season(tmp_path))


def test_days_have_a_row_a_day_and_bank(metric):
    found = list(csv.DictReader(StringIO(daily_csv(metric).decode())))
    days = (metric.plan.crop.harvest - metric.plan.crop.planting).days
    assert len(found) == days * len(metric.plan.banks)
    assert found[0]["date"] == metric.plan.crop.planting.isoformat()
    assert [row["bank"] for row in found[:3]] == [bank.name for bank in metric.plan.banks][:3]


def test_days_hold_the_simulation_in_the_units_of_the_heads(metric, us):
    for dossier, litre, metre, volume, depth in (
        (metric, 1.0, 100.0, "L", "cm"),
        (us, 1 / 3.785412, 1 / 0.0254, "gal", "in"),
    ):
        found = list(csv.DictReader(StringIO(daily_csv(dossier).decode())))
        banks = len(dossier.plan.banks)
        for day, bank in ((0, 0), (100, 1), (200, 2)):
            row = found[day * banks + bank]
            expected = dossier.ensemble.expected.banks[day, bank]
            rain = float(row[f"rain per pot, expected run ({volume})"])
            assert rain == pytest.approx(expected[c.RAIN_L] * litre, rel=1e-3, abs=1e-6)
            level = float(row[f"lowest level of the day, middle ({depth})"])
            assert level == pytest.approx(dossier.ensemble.level_m.middle[day, bank] * metre, rel=1e-3)
            tank = float(row[f"least in the tank, middle ({volume})"])
            assert tank == pytest.approx(dossier.ensemble.tank_l.middle[day] * litre, rel=1e-3)


def test_every_head_but_the_names_carries_a_unit(metric):
    plain = [head for head in heads(metric) if not re.search(r"\((cm|L|mS/cm)\)$", head)]
    assert plain == ["date", "bank", "note"]


def test_no_text_of_the_csv_starts_a_formula(odd):
    for row in csv.reader(StringIO(daily_csv(odd).decode())):
        for cell in row:
            assert not cell.startswith(("=", "@", "+")), cell


def test_the_workbook_holds_the_same_days_and_no_formula(odd):
    book = load_workbook(BytesIO(daily_xlsx(odd)))
    rows = list(book["days"].iter_rows())
    assert len(rows) == 1 + len(odd.ensemble.dates) * len(odd.plan.banks)
    assert {cell.data_type for row in rows for cell in row} <= {"s", "n", "d"}
    assert {row[1].value for row in rows[1:]} == set(HOSTILE_BANKS)
    assert [cell.value for cell in rows[0]] == heads(odd)


def test_a_day_without_free_solution_is_left_blank(metric):
    values = metric.ensemble.ec_free_ms_cm.values.copy()
    values[:, 5, 0] = np.nan
    dry = replace(metric, ensemble=replace(metric.ensemble, ec_free_ms_cm=Band(values)))
    found = list(csv.DictReader(StringIO(daily_csv(dry).decode())))
    assert found[5 * len(metric.plan.banks)]["EC of free solution, middle (mS/cm)"] == ""
    assert float(found[5 * len(metric.plan.banks) + 1]["EC of free solution, middle (mS/cm)"]) > 0


def test_the_whole_dossier_is_written_and_named(metric, tmp_path):
    told: list[str] = []
    written = write_sheets(metric, tmp_path, told.append)
    assert [path.name for path in written] == told == [*SHEETS, *FILES]
    assert sorted(path.name for path in (tmp_path / "sheets").iterdir()) == sorted(told)  # nothing half-written stays
    assert all(path.stat().st_size > 1000 for path in written)


def test_a_file_that_cannot_be_written_is_named_and_the_old_one_stays(metric, tmp_path):
    blocked = tmp_path / "sheets" / "1-summary.pdf"
    blocked.mkdir(parents=True)  # a folder stands where the file should be: fails for every user, root too
    with pytest.raises(WetfootError) as caught:
        write_sheets(metric, tmp_path)
    (problem,) = caught.value.problems
    assert problem.where == str(blocked)
    assert "viewer" in problem.fix
    assert list((tmp_path / "sheets").iterdir()) == [blocked]


def test_a_folder_that_is_a_file_is_refused(metric, tmp_path):
    (tmp_path / "sheets").write_text("not a folder", "utf-8")
    with pytest.raises(WetfootError, match="cannot be written"):
        write_sheets(metric, tmp_path)


def test_what_is_printed_is_plain_data(metric):
    for sheet in SHEETS.values():
        json.dumps(sheet(metric).says)
