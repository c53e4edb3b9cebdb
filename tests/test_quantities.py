import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.errors import WetfootError
from wetfoot.quantities import KINDS, convert, number_text, parse, show

# Exact by definition (NIST Special Publication 811, appendix B.8): 1 in = 25.4 mm, 1 US gal = 3.785411784 L,
# 1 lb = 0.45359237 kg, 1 acre = 4046.8726 m2 (US survey foot 4046.873), degF = 1.8 degC + 32.
NIST = [
    ("3/4 in", "bore", 0.01905),
    ("1 1/2 in", "bore", 0.0381),
    ("5 ft 3 in", "distance", 1.6002),
    ("5' 3\"", "distance", 1.6002),
    ("2.5 gal", "volume", 9.46352946),
    ("8 fl oz", "small_volume", 0.2365882365),
    ("10 lb", "mass", 4.5359237),
    ("1 oz", "small_mass", 0.028349523125),
    ("90 degF", "temperature", 32.2222222),
    ("32 °F", "temperature", 0.0),
    ("1 acre", "field_area", 4046.8726),
    ("3 ft2", "area", 0.27870912),
    ("1800 lb/acre", "seed_rate", 0.2017520),
    ("1500 uS/cm", "conductivity", 1.5),
    ("1.5 dS/m", "conductivity", 1.5),
    ("5 cm", "depth", 0.05),
    ("15 %", "fraction", 0.15),
    ("7 days", "duration", 7.0),
    ("1 week", "duration", 7.0),
    ("2 L/h", "flow", 2.0),
]


@pytest.mark.parametrize(("typed", "kind", "base"), NIST)
def test_what_people_type_becomes_base_units(typed: str, kind: str, base: float) -> None:
    assert parse(typed, kind) == pytest.approx(base, rel=1e-5, abs=1e-9)


@pytest.mark.parametrize(
    ("typed", "kind", "word"),
    [
        (5, "depth", "no unit"),
        ("5", "depth", "not a number with a unit"),
        ("2,5 cm", "depth", "comma"),
        ("5 kg", "depth", "another kind"),
        ("5 zorks", "depth", "not a unit"),
        ("nan cm", "depth", "not a number"),
        ("1/0 in", "bore", "not a finite number"),
        ("1e999 cm", "depth", "finite"),
        ("five cm", "depth", "not a number"),
        ("", "depth", "not a number"),
        (True, "depth", "not a quantity"),
        (None, "volume", "not a quantity"),
        ("5 __import__('os')", "depth", "not a unit"),
        ("0/0", "fraction", "not a finite number"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_words(typed: object, kind: str, word: str) -> None:
    with pytest.raises(WetfootError) as refused:
        parse(typed, kind, "field")
    problem = refused.value.problems[0]
    assert problem.where == "field"
    assert word in problem.what
    assert problem.fix


@given(st.text(max_size=30), st.sampled_from(sorted(KINDS)))
def test_any_text_is_read_or_refused(text: str, kind: str) -> None:
    try:
        assert math.isfinite(parse(text, kind))
    except WetfootError as refused:
        assert refused.problems


@given(st.floats(1e-3, 1e5), st.sampled_from(["depth", "volume", "mass", "area", "temperature", "flow"]))
def test_both_systems_show_the_same_amount(value: float, kind: str) -> None:
    for system in ("metric", "US"):
        shown = show(value, kind, system)  # type: ignore[arg-type]
        back = parse(shown.replace(",", ""), kind)
        assert back == pytest.approx(value, rel=6e-3, abs=0.06 if kind == "temperature" else 1e-8)


def test_printed_numbers_carry_units_and_few_digits() -> None:
    assert show(0.05, "depth") == "5 cm"
    assert show(1000.0, "volume", "US") == "264 gal"
    assert show(25.0, "temperature", "US") == "77°F"
    assert show(math.nan, "volume") == "not known"
    assert convert(0.0254, "bore", "US") == pytest.approx(1.0)
    assert number_text(0.000123456) == "0.000123"


def test_a_meters_ppm_is_not_guessed_but_asked_with_both_readings() -> None:
    with pytest.raises(WetfootError) as refused:
        parse("1000 ppm", "conductivity", "solution.ec_low")
    fix = refused.value.problems[0].fix
    assert "'2 mS/cm'" in fix  # scale 500
    assert "'1.43 mS/cm'" in fix  # scale 700
    assert parse("40 ppm", "concentration") == parse("40 mg/L", "concentration") == 40.0
