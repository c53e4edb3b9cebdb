"""The plan is changed on its page: verdicts beside fields, nothing saved that cannot be built, undo."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from page_forms import token_on
from starlette.testclient import TestClient

from wetfoot.plan.example import example_text
from wetfoot.plan.file import plan_from_text
from wetfoot.web.plan_form import changed_by_form, sections, with_one_less, with_one_more


def send(here: TestClient, folder: Path, action: str, **fields: str) -> str:
    data = {
        "form_token": token_on(here, "/plan"),
        "text": (folder / "season.toml").read_text("utf-8"),
        "action": action,
    }
    return here.post("/plan", data={**data, **{name.replace("__", "."): value for name, value in fields.items()}}).text


def test_every_value_of_the_plan_has_a_field_with_its_comment() -> None:
    found = {field.path: field for section in sections(example_text()) for field in section.fields}
    assert found["tank.volume"].value == "1000 L"
    assert "full tank" in found["tank.water_depth"].hint
    assert "tonne" in next(section.hint for section in sections(example_text()) if section.path == "tank")
    assert found["banks.1.pots"].kind == "number"
    assert found["nests.standard.basin.height"].value == "30 cm"
    assert found["crop.planting"].kind == "date"
    assert found["visits.feed_banks"].kind == "yes"


def test_a_form_sent_back_unchanged_changes_nothing() -> None:
    text = example_text()
    form = {
        f.path: f.value for section in sections(text) for f in section.fields if f.kind != "yes" or f.value == "true"
    }
    asked = {f"{f.path}.asked": "1" for section in sections(text) for f in section.fields if f.kind == "yes"}
    assert changed_by_form(text, {**form, **asked}) == text


def test_a_saved_change_keeps_the_comments_and_can_be_undone(here: TestClient, folder: Path) -> None:
    before = (folder / "season.toml").read_text("utf-8")
    send(here, folder, "save", tank__volume="800 L")
    after = (folder / "season.toml").read_text("utf-8")
    assert 'volume = "800 L"' in after
    assert "see the sheet of cautions" in after
    here.post("/plan/undo", data={"form_token": token_on(here, "/plan")})
    assert (folder / "season.toml").read_text("utf-8") == before


def test_impossible_physics_is_told_beside_its_field_and_not_saved(here: TestClient, folder: Path) -> None:
    before = (folder / "season.toml").read_text("utf-8")
    told = send(here, folder, "save", nests__standard__set_level="9 cm", tank__volume="a lot")
    assert 'id="w-tank.volume"' in told
    assert "overflow" in told
    assert (folder / "season.toml").read_text("utf-8") == before


def test_trying_redraws_without_saving(here: TestClient, folder: Path) -> None:
    before = (folder / "season.toml").read_text("utf-8")
    told = send(here, folder, "try", nests__standard__set_level="6 cm")
    assert "set level 6 cm" in told
    assert (folder / "season.toml").read_text("utf-8") == before


def test_banks_are_added_and_taken_away() -> None:
    text = with_one_more(example_text(), "banks.1")
    names = [bank.name for bank in plan_from_text(text).banks]
    assert names == ["East", "Middle", "Middle 2", "West", "South"]
    assert [bank.name for bank in plan_from_text(with_one_less(text, "banks.0")).banks] == names[1:]


def test_the_plan_as_text_is_saved_only_if_it_can_be_built(here: TestClient, folder: Path) -> None:
    data = {"form_token": token_on(here, "/plan"), "action": "astext", "text": "this = is not [a plan"}
    assert here.post("/plan", data=data).status_code == 422
    good = (folder / "season.toml").read_text("utf-8").replace('"1000 L"', '"900 L"')
    assert here.post("/plan", data={**data, "text": good}).status_code == 200
    assert '"900 L"' in (folder / "season.toml").read_text("utf-8")


@settings(deadline=None)
@given(st.text(max_size=60))
def test_any_text_in_a_field_is_kept_as_text_or_named(typed: str) -> None:
    text = changed_by_form(example_text(), {"site.name": typed})
    kept = next(f.value for s in sections(text) for f in s.fields if f.path == "site.name")
    assert kept == typed.strip() or not typed.strip().isprintable()
