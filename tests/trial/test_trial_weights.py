"""What a cell of a weight says."""

import math

import pytest

from wetfoot.trial.weights import AT_RANDOM, LOSSES, loss_named, read_response


@pytest.mark.parametrize(
    ("cell", "grams"),
    [  # NIST SP 811 appendix B: 1 lb = 453.59237 g exactly, 1 oz = 28.349523125 g
        ("2 lb", 907.18474),
        ("1 lb 4 oz", 453.59237 + 4 * 28.349523125),
        ("3/4 lb", 340.1942775),
        ("16 oz", 453.59237),
        ("1.5 kg", 1500.0),
        ("850 g", 850.0),
        ("850g", 850.0),
        ("2,5 kg", 2500.0),
    ],
)
def test_typed_masses_are_read_in_grams(cell, grams):
    found = read_response(cell)
    assert found.value == pytest.approx(grams, rel=1e-12)
    assert found.typed


@pytest.mark.parametrize(
    ("cell", "value"), [("2160", 2160.0), ("-3", -3.0), ("1e3", 1000.0), ("1,234.5", 1234.5), ("2,5", 2.5)]
)
def test_bare_numbers_are_read_and_commas_told(cell, value):
    found = read_response(cell)
    assert found.value == value
    assert not found.typed
    assert bool(found.note) == ("," in cell)


@pytest.mark.parametrize("cell", ["2,160", "2,160 g", "1,2,3", "heavy", "5 cm", "1e999", "12 13", "1O5", "five g"])
def test_what_cannot_be_read_surely_is_not_read(cell):
    found = read_response(cell)
    assert math.isnan(found.value)
    assert found.wrong


def test_every_loss_code_is_known_and_the_last_three_are_at_random():
    # trial handbook 1
    assert LOSSES == ("dead", "split and drained", "board leak", "stolen", "label lost", "not weighed")
    assert AT_RANDOM == ("stolen", "label lost", "not weighed")
    for loss in LOSSES:
        assert loss_named(loss.upper().replace(" ", "_")) == loss
        assert read_response(loss).loss == loss
    assert loss_named("hail") is None
    assert loss_named("ok") == ""
