"""Exposure by contacts in time: rules that hold for every bench, and cases worked out by hand."""

from __future__ import annotations

from datetime import date, timedelta

import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.stock.exposure import AGENTS, Contact, Passage, Stay, check, exposed, possible_sources, way_to

DAY = date(2026, 4, 1)


def on(day: int) -> date:
    return DAY + timedelta(days=day)


def in_water(pot: str, bank: str, since: int, until: int | None = None) -> Stay:
    return Stay("water", pot, bank, on(since), None if until is None else on(until))


pots = st.sampled_from([f"pot {n}" for n in range(8)])
banks = st.sampled_from(["East", "West", "South"])


@st.composite
def stays(draw: st.DrawFn) -> Stay:
    since = draw(st.integers(0, 50))
    length = draw(st.one_of(st.none(), st.integers(0, 50)))
    return in_water(draw(pots), draw(banks), since, None if length is None else since + length)


@st.composite
def passages(draw: st.DrawFn) -> Passage:
    source, target = draw(pots), draw(pots)
    return Passage(draw(st.sampled_from(["parentage", "tool"])), source, target, on(draw(st.integers(0, 100))))


contacts = st.lists(st.one_of(stays(), passages()), max_size=20)


@given(contacts, st.one_of(stays(), passages()), pots)
def test_exposure_never_shrinks_when_a_contact_is_added(there: list[Contact], more: Contact, pot: str) -> None:
    fewer, larger = exposed({pot: DAY}, there), exposed({pot: DAY}, [*there, more])
    assert set(fewer) <= set(larger)
    assert all(larger[name].since <= fewer[name].since for name in fewer)


@given(st.lists(stays(), max_size=15), pots, pots)
def test_pots_that_stood_in_one_water_at_one_time_expose_each_other(there: list[Contact], a: str, b: str) -> None:
    """Symmetric where water is shared: both in a bank on the same day."""
    together = [in_water(a, "North", 10, 30), in_water(b, "North", 20, 40)]
    assert b in exposed({a: DAY}, [*there, *together])
    assert a in exposed({b: DAY}, [*there, *together])


@given(contacts, pots, pots)
def test_looking_back_finds_what_looking_forward_reached(there: list[Contact], a: str, b: str) -> None:
    forward = b in exposed({a: DAY}, there, today=on(200))
    assert forward == (a in possible_sources(b, on(200), there))


@given(st.lists(st.tuples(pots, pots), max_size=20), pots)
def test_contacts_that_all_last_are_plain_connection(pairs: list[tuple[str, str]], pot: str) -> None:
    """Reference: connected components of the undirected graph, by networkx."""
    graph = networkx.Graph()
    graph.add_node(pot)
    there: list[Contact] = []
    for number, (a, b) in enumerate(pairs):
        graph.add_edge(a, b)
        there += [in_water(a, f"bank {number}", 0), in_water(b, f"bank {number}", 0)]
    found = {name for name in exposed({pot: DAY}, there) if name.startswith("pot")}
    assert found == networkx.node_connected_component(graph, pot)


def test_a_pot_that_moved_carries_its_exposure_along() -> None:
    there = [
        in_water("sick", "East", 0),
        in_water("mover", "East", 0, 20),
        in_water("mover", "West", 20),
        in_water("westerner", "West", 0),
        in_water("gone before", "West", 0, 19),
    ]
    found = exposed({"sick": DAY}, there)
    assert [step.what for step in way_to(found, "westerner")] == ["sick", "East", "mover", "West", "westerner"]
    assert found["westerner"].since == on(20)
    assert "gone before" not in found  # it left before the mover came


def test_a_bank_stays_suspect_after_the_sick_pot_left_until_it_is_cleaned() -> None:
    there = [in_water("sick", "East", 0, 10), in_water("next", "East", 15), in_water("later", "East, cleaned", 20)]
    found = exposed({"sick": DAY}, there)
    assert "next" in found
    assert "later" not in found


def test_what_was_sent_off_before_the_infection_came_may_be_sold() -> None:
    there = [
        in_water("sick", "East", 0),
        in_water("donor", "East", 30),
        Passage("parentage", "donor", "early lot", on(10)),
        Passage("parentage", "donor", "late lot", on(60)),
        Passage("dispatch", "late lot", "grower", on(70)),
    ]
    found = exposed({"sick": DAY}, there)
    assert "early lot" not in found
    assert found["grower"].since == on(70)
    assert "grower" not in exposed({"sick": DAY}, there, today=on(65))


def test_a_virus_takes_knives_but_not_water() -> None:
    there = [in_water("sick", "East", 0), in_water("bather", "East", 0), Stay("tool", "sick", "knife 1", on(0), on(0)),
             Stay("tool", "cut after", "knife 1", on(0), on(0))]  # fmt: skip
    assert "bather" not in exposed({"sick": DAY}, there, "virus")
    assert "cut after" in exposed({"sick": DAY}, there, "virus")
    assert "cut after" not in exposed({"sick": DAY}, there, "nematode")
    assert all(agent.ways and agent.words for agent in AGENTS.values())


@pytest.mark.parametrize(
    ("there", "word"),
    [
        ([in_water("a", "East", 0), in_water("a", "West", 5)], "two places"),
        ([in_water("a", "East", 9, 5)], "before it came"),
        ([Passage("parentage", "a", "b", DAY), Passage("parentage", "b", "a", DAY)], "descend from itself"),
        ([Passage("parentage", "a", "a", DAY)], "descend from itself"),
    ],
)
def test_what_cannot_be_is_named(there: list[Contact], word: str) -> None:
    problems = check(there)
    assert problems
    assert word in problems[0]


def test_a_pot_may_move_on_the_same_day_and_a_lot_may_have_two_parents() -> None:
    there: list[Contact] = [in_water("a", "East", 0, 5), in_water("a", "West", 5)]
    there += [Passage("parentage", "a", "c", DAY), Passage("parentage", "b", "c", DAY)]
    assert check(there) == []


def test_an_agent_that_is_not_known_is_refused() -> None:
    with pytest.raises(ValueError, match="is none of"):
        exposed({"a": DAY}, [], "flu")
