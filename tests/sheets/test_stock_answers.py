"""What is asked of planting stock before a sheet is printed: what may not leave, pedigree, dispatch, inspection."""

from datetime import date
from pathlib import Path

import pytest
from stock_books import Book, new_book, two_generations

from wetfoot.answers.dispatch import dispatch
from wetfoot.answers.doubtful_stock import doubts
from wetfoot.answers.health_words import lot_words
from wetfoot.answers.inspection import inspection
from wetfoot.answers.pedigree import pedigree, pots_in_words
from wetfoot.answers.sampled_pots import sampled_pots
from wetfoot.answers.sampling import Wish
from wetfoot.answers.stock_records import stock_state
from wetfoot.book.stock_entries import Harvest, HealthTest, Hold, Lot, Planting
from wetfoot.errors import WetfootError
from wetfoot.stock.finite_pools import pools_detection

WILT = {"agent": "bacterial wilt", "method": "strip"}


@pytest.fixture
def book(tmp_path: Path) -> Book:
    made = new_book(tmp_path / "season")
    two_generations(made)
    return made


def against(book: Book, thing: str) -> str:
    return " | ".join(doubts(stock_state(book.plan, book.folder)).why_not_sent(thing))


def refusal(book: Book, lot: str = "Second", kg: float = 1.0, to: str = "invented grower", days: int = 300) -> str:
    with pytest.raises(WetfootError) as refused:
        dispatch(book.plan, book.folder, lot, to, kg, book.day(days))
    return str(refused.value)


def test_a_clean_lot_may_go_with_its_tests(book: Book) -> None:
    found = dispatch(book.plan, book.folder, "Second", " invented grower ", 2.0, book.day(300), "X-1")
    assert (found.to, found.permit, found.left_kg) == ("invented grower", "X-1", pytest.approx(12.0 - 1.5 - 2.0))
    assert lot_words(found.tests) == [
        f"bacterial wilt: not detected (limit 10 CFU/mL), {book.day(245)}, strip, 30 samples"
    ]


def test_a_lot_on_hold_is_refused_until_it_is_released(book: Book) -> None:
    book.write((260, Hold, {"kind": "hold", "lot": "Second", "cause": "label lost"}))
    assert f"Second on hold since {book.day(260)}: label lost" in refusal(book)
    book.write((261, Hold, {"kind": "release", "lot": "Second", "cause": "label found"}))
    assert dispatch(book.plan, book.folder, "Second", "x", 1.0, book.day(300)).kg == 1.0


def test_a_lot_lifted_from_a_pot_that_tested_positive_is_refused_by_the_way(book: Book) -> None:
    bank = book.plan.banks[0].name
    (alarm,) = book.write((200, HealthTest, {"pot": f"{bank} 2", "result": "positive", **WILT}))
    told = refusal(book)
    assert f"{bank} 2 tested positive for bacterial wilt on {book.day(200)}" in told
    assert "parentage" in told
    assert "it may" not in against(book, "Second")
    # what was only in the same water is exposed by it
    assert "shared water" in against(book, f"{bank} 3")
    # the lot it was planted from is no victim, but may be the source
    assert "may have come from here" in refusal(book, "First", 0.5)
    book.write((210, HealthTest, {"pot": f"{bank} 2", "result": "negative", "confirms": alarm.id, **WILT}))
    assert against(book, "Second") == ""
    assert against(book, "First") == ""


def test_a_possible_source_that_was_tested_since_may_go_and_says_so(book: Book) -> None:
    bank = book.plan.banks[0].name
    book.write((200, HealthTest, {"pot": f"{bank} 2", "result": "positive", **WILT}))
    book.write((205, HealthTest, {"lot": "First", "result": "negative", **WILT}))
    found = dispatch(book.plan, book.folder, "First", "x", 0.5, book.day(300))
    assert f"tested for it on {book.day(205)} and not detected" in found.cautions[0]


def test_a_virus_does_not_reach_by_water_and_an_unclear_result_counts(book: Book) -> None:
    bank = book.plan.banks[0].name
    book.write((200, HealthTest, {"pot": f"{bank} 9", "agent": "virus", "result": "unclear"}))
    assert against(book, "Second") == ""
    assert "tested unclear for virus" in against(book, f"{bank} 9")
    book.write((201, HealthTest, {"pot": f"{bank} 9", "agent": "some new rot", "result": "positive"}))
    assert "some new rot" in against(book, "Second")  # an agent that is not known takes every way


def test_a_positive_water_test_holds_the_pots_that_stood_in_it(book: Book) -> None:
    bank = book.plan.banks[0].name
    book.write((200, HealthTest, {"place": bank, "result": "positive", **WILT}))
    assert f"the water of {bank} tested positive" in against(book, f"{bank} 1")
    assert against(book, f"{book.plan.banks[1].name} 1") == ""


def test_all_that_is_wrong_with_a_shipment_is_said_at_once(book: Book) -> None:
    told = refusal(book, kg=99.0, to=" ", days=100)
    assert "99 kg" in told
    assert "10.5 kg" in told
    assert "nobody is named" in told
    assert "before the lot was made" in told
    assert "more than nothing" in refusal(book, kg=float("nan"))
    assert "did you mean Second" in refusal(book, lot="Secnd")


def test_the_pedigree_goes_back_to_the_source_over_pots_and_batch(book: Book) -> None:
    found = pedigree(book.plan, book.folder, "Second")
    bank = book.plan.banks[0].name
    assert [(member.key, member.steps) for member in found.members] == [
        (("lot", "Second"), 0),
        (("pots", f"{bank} 1 to 3"), 1),
        (("batch", "cut 1"), 2),
        (("lot", "First"), 3),
    ]
    tests = [[(test.subject, test.result) for test in member.tests] for member in found.members]
    assert tests == [[("Second", "negative")], [(bank, "negative")], [], [("First", "negative")]]
    assert "permit INV-77" in found.members[-1].told
    assert "dip 50 °C 10 min" in found.members[2].told
    assert found.balances["Second"].in_kg == 12.0
    assert found.gaps == ()


def test_a_pot_planted_again_does_not_lend_its_older_parents(book: Book) -> None:
    bank = book.plan.banks[0].name
    book.write(
        (260, Planting, {"lot": "First", "pot": f"{bank} 1", "place": bank, "pieces": 2, "kg": 0.1}),
        (300, Lot, {"lot": "Third", "generation": 1}),
        (300, Harvest, {"lot": "Third", "pot": f"{bank} 1", "kg": 3.0}),
    )
    found = pedigree(book.plan, book.folder, "Third")
    assert [member.name for member in found.members] == ["Third", f"{bank} 1", "First"]
    assert found.members[1].tests == ()  # the water was tested before this crop


def test_circles_of_parents_end_and_are_told(tmp_path: Path) -> None:
    book = new_book(tmp_path / "circle")
    book.write(
        (0, Lot, {"lot": "A", "parents": ("B",), "kg": 1.0}), (1, Lot, {"lot": "B", "parents": ("A",), "kg": 1.0})
    )
    found = pedigree(book.plan, book.folder, "A")
    assert {member.name for member in found.members} == {"A", "B"}
    assert any("cannot descend from itself" in gap for gap in found.gaps)


def test_codes_of_pots_are_told_shortly() -> None:
    assert pots_in_words(["B 2", "B 1", "B 10", "A 1", "x", "B 3"]) == "B 1 to 3, 10; A 1; x"
    assert pots_in_words([]) == ""


def test_the_inspection_parts_doubtful_pots_and_samples_the_others(book: Book) -> None:
    first, second = book.plan.banks[0].name, book.plan.banks[1].name
    book.write((100, HealthTest, {"pot": f"{second} 4", "result": "positive", **WILT}))
    found = inspection(book.plan, book.folder, book.day(120))
    doubtful = [pot for pot, _ in found.doubtful]
    assert doubtful[0] == f"{second} 4"  # what is doubtful itself comes first
    assert set(doubtful) == {f"{second} {pot}" for pot in range(1, 11)}
    assert [bank for bank, _ in found.banks] == [bank.name for bank in book.plan.banks if bank.name != second]
    assert found.sample
    taken = [pot for pool in found.sample.pools for pot in pool]
    assert set(taken) <= set(found.sample.pots)
    assert not set(taken) & set(doubtful)
    assert len(found.sample.pots) == 30
    # three pots of the first bank are lifted by then
    later = dict(inspection(book.plan, book.folder, book.day(241)).banks)
    assert later[first] == tuple(f"{first} {pot}" for pot in range(4, 11))


def test_before_planting_there_is_nothing_to_look_at(book: Book) -> None:
    with pytest.raises(WetfootError, match="no pot stands"):
        inspection(book.plan, book.folder, date(2020, 1, 1))


BENCH = [("East", [f"East {n}" for n in range(1, 41)]), ("West", ["West 1"])]


@pytest.mark.parametrize("pool", [1, 4, 7])
def test_the_sample_finds_what_it_promises_and_claims_no_more(pool: int) -> None:
    found = sampled_pots(BENCH, Wish(1, 0.10, 0.95, 0.9, pool), "wilt", "invented")
    sizes = [len(each) for each in found.pools]
    assert set(sizes[:-1]) <= {pool}
    assert pools_detection(sizes, 41, 4, 0.9) >= 0.95
    assert pools_detection(sizes[:-1], 41, 4, 0.9) < 0.95
    assert "You may not say: free" in found.answer.words
    assert "infected at most" in found.answer.numbers[3].name
    assert found.answer.numbers[3].value == 3
    assert found == sampled_pots(BENCH, Wish(1, 0.10, 0.95, 0.9, pool), "wilt", "invented")
    assert found.pools != sampled_pots(BENCH, Wish(1, 0.10, 0.95, 0.9, pool), "wilt", "other").pools


def test_a_bank_that_was_not_drawn_is_named() -> None:
    banks = [found.left_out for seed in range(20)
             if (found := sampled_pots(BENCH, Wish(1, 0.2, 0.95, 1.0), "wilt", f"{seed}")).left_out]  # fmt: skip
    assert banks
    assert set(banks) == {("West",)}


def test_what_no_sample_can_tell_is_said_with_what_one_can() -> None:
    found = sampled_pots([("East", ["East 1", "East 2", "East 3"])], Wish(1, 0.05), "wilt", "x")
    assert (found.pools, found.answer.state) == ((), "no")
    assert "From 66.7 % on, 2 of 3" in found.answer.words
    again = sampled_pots([("East", ["East 1", "East 2", "East 3"])], Wish(1, 0.667), "wilt", "x")
    assert len(again.pools) == 3


def test_an_infection_counts_since_the_last_negative_test_before_the_alarm(book: Book) -> None:
    bank = book.plan.banks[0].name
    book.write(
        (200, HealthTest, {"pot": f"{bank} 2", "result": "positive", **WILT}),
        (255, HealthTest, {"pot": f"{bank} 2", "result": "negative", **WILT}),  # repeats nothing, and came later
    )
    assert "tested positive" in against(book, "Second")
    book.write((260, HealthTest, {"lot": "First", "agent": "virus", "result": "positive"}))
    assert "virus" in against(book, "Second")
    book.write((-2, HealthTest, {"lot": "First", "agent": "virus", "result": "negative"}))  # after it was cut
    assert "virus" not in against(book, "Second")
    assert "virus" in against(book, "First")


def test_a_parent_that_is_written_and_planted_stands_in_the_pedigree_once(tmp_path: Path) -> None:
    book = new_book(tmp_path / "both")
    pot = f"{book.plan.banks[0].name} 1"
    book.write(
        (-9, Lot, {"lot": "A", "kg": 1.0}),
        (-9, Lot, {"lot": "Other", "kg": 1.0}),
        (0, Planting, {"lot": "A", "pot": pot, "place": book.plan.banks[0].name, "pieces": 1, "kg": 0.1}),
        (200, Lot, {"lot": "B", "parents": ("A", "Other")}),
        (200, Harvest, {"lot": "B", "pot": pot, "kg": 3.0}),
    )
    found = pedigree(book.plan, book.folder, "B")
    assert found.members[0].parents == (("pots", pot), ("lot", "Other"))
    assert [member.name for member in found.members] == ["B", pot, "Other", "A"]


@pytest.mark.parametrize(("agent", "seed"), [(" ", ""), ("w" * 101, ""), ("wilt", "s" * 101)])
def test_a_sample_for_nothing_or_with_an_endless_text_is_refused(book: Book, agent: str, seed: str) -> None:
    with pytest.raises(WetfootError, match="agent"):
        inspection(book.plan, book.folder, book.day(120), agent=agent, seed=seed)
