"""Check characters: the handbook's vectors, and the errors that ISO 7064 promises to find."""

import random

import pytest

from wetfoot.trial.check_character import LETTERS, check_character, with_check, without_check


@pytest.mark.parametrize(("code", "check"), [("21B1L3", "B"), ("G123489654321", "Y")])
def test_check_characters_are_those_of_the_handbook(code, check):
    # trial handbook 9; the second is the example of ISO/IEC 7064 for blood bag numbers, from memory
    assert check_character(code) == check


def test_the_check_follows_the_formula_of_the_standard():
    # ISO/IEC 7064 MOD 37-2 by its congruence: sum of value x 2^place is 1 modulo 37
    alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
    made = random.Random(7)
    for _ in range(200):
        code = with_check("".join(made.choices("0123456789" + LETTERS, k=made.randint(1, 15))))
        assert sum(alphabet.index(each) << place for place, each in enumerate(reversed(code))) % 37 == 1


def test_no_single_error_or_swap_is_missed():
    # scope of ISO 7064; trial handbook 9: 0 substitutions, 0 swaps, 0 swaps over one missed in six-character codes
    made = random.Random(11)
    for _ in range(40):
        code = with_check("".join(made.choices("0123456789" + LETTERS, k=6)))
        wrong = {code[:i] + other + code[i + 1 :] for i in range(7) for other in "0123456789" + LETTERS}
        for step in (1, 2):
            for i in range(7 - step):
                swapped = list(code)
                swapped[i], swapped[i + step] = swapped[i + step], swapped[i]
                wrong.add("".join(swapped))
        assert [each for each in wrong - {code} if without_check(each)] == []


def test_case_and_dashes_are_not_minded():
    assert without_check(" 21b1-l3 b ") == "21B1L3"
    assert without_check("") is None


@pytest.mark.parametrize("code", ["", "21B1O3", "I1", "ab", "21 B"])
def test_letters_that_are_misread_are_refused(code):
    with pytest.raises(ValueError, match="code = "):
        check_character(code)
