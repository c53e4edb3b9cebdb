"""Parse what people type ('5 cm', '2.5 gal', '3/4 in', '90 degF') and print what they read.

Everything below this module works on plain floats in the base unit of each kind; only here do
values meet units, so a mistake of units can be made in one place only.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

from wetfoot.errors import WetfootError, refuse

if TYPE_CHECKING:
    import pint

System = Literal["metric", "US"]
LITRES_PER_GALLON = 3.785411784  # US liquid gallon, exact (NIST SP 811)


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its base unit and how it is printed in each system of units."""

    base: str
    metric: str
    us: str
    examples: str


KINDS: dict[str, Kind] = {
    "depth": Kind("m", "cm", "in", "'5 cm' or '2 in'"),
    "bore": Kind("m", "mm", "in", "'16 mm' or '5/8 in'"),
    "distance": Kind("m", "m", "ft", "'12 m' or '40 ft'"),
    "rain": Kind("mm", "mm", "in", "'12 mm' or '1/2 in'"),
    "volume": Kind("liter", "L", "gal", "'1000 L' or '264 gal'"),
    "small_volume": Kind("liter", "mL", "fl oz", "'250 mL' or '8 fl oz'"),
    "mass": Kind("kg", "kg", "lb", "'40 kg' or '90 lb'"),
    "small_mass": Kind("kg", "g", "oz", "'50 g' or '1.8 oz'"),
    "fine_mass": Kind("kg", "g", "g", "'5 g' or '0.2 oz'"),
    "area": Kind("m**2", "m²", "sq ft", "'0.3 m2' or '3 ft2'"),
    "field_area": Kind("m**2", "ha", "acre", "'0.5 ha' or '1.2 acre'"),
    "seed_rate": Kind("kg/m**2", "kg/ha", "lb/acre", "'2000 kg/ha' or '1800 lb/acre'"),
    "temperature": Kind("degC", "°C", "°F", "'25 degC' or '77 degF'"),
    "conductivity": Kind("mS/cm", "mS/cm", "mS/cm", "'1.8 mS/cm' or '1800 uS/cm'"),
    "suction": Kind("kPa", "kPa", "kPa", "'5 kPa' or '50 hPa'"),
    "flow": Kind("liter/hour", "L/h", "gal/h", "'40 L/h' or '10 gal/h'"),
    "concentration": Kind("mg/liter", "mg/L", "mg/L", "'40 mg/L' or '40 ppm'"),
    "density": Kind("g/liter", "g/L", "lb/gal", "'100 g/L' or '0.8 lb/gal'"),
    "fraction": Kind("dimensionless", "%", "%", "'15 %' or 0.15"),
    "duration": Kind("day", "days", "days", "'7 days' or 7"),
}

# What people write, as pint spells it.
_SPELLINGS = {
    "°C": "degC",
    "°F": "degF",
    "deg C": "degC",
    "deg F": "degF",
    "C": "degC",
    "F": "degF",
    "m²": "m**2",
    "m2": "m**2",
    "ft2": "ft**2",
    "sq ft": "ft**2",
    "sqft": "ft**2",
    "sq m": "m**2",
    "fl oz": "fluid_ounce",
    "floz": "fluid_ounce",
    "'": "ft",
    '"': "in",
    "%": "percent",
    "µS/cm": "uS/cm",
    "acres": "acre",
    "in.": "in",
    "lbs": "lb",
}
_NUMBER = r"[+-]?(?:\d+\s+\d+/\d+|\d+/\d+|\d+\.?\d*(?:[eE][+-]?\d+)?|\.\d+)"
_TERM = re.compile(rf"\s*({_NUMBER})\s*([^\d\s+-][^\d]*?(?:\d(?!\d)(?=\s*$|/))?(?:/[A-Za-z]+\d?)?)\s*(?=[+-]?\d|$)")


def parse(typed: object, kind: str, where: str = "value") -> float:
    """Return what was typed, as a float in the base unit of its kind.

    Text needs a number and a unit; fractions ('3/4 in', '1 1/2 in') and sums ('5 ft 3 in') are read.
    A bare number is taken only for kinds without a unit, and for days.

    Raises:
        WetfootError: if there is no unit, an unknown unit, or a unit of another kind.

    >>> round(parse("3/4 in", "bore"), 5)
    0.01905
    >>> round(parse("90 degF", "temperature"), 3)
    32.222
    >>> parse("15 %", "fraction")
    0.15
    """
    wanted = KINDS[kind]
    allowed = f"a number with a unit, such as {wanted.examples}"
    if isinstance(typed, bool) or not isinstance(typed, (str, int, float)):
        raise refuse(where, f"{typed!r} is not a quantity", allowed, f"write {wanted.examples}")
    if isinstance(typed, (int, float)):
        if kind not in ("fraction", "duration"):
            raise refuse(where, f"{typed!r} has no unit", allowed, f"write {wanted.examples}, in quotes")
        return _finite(float(typed), typed, where, allowed)
    text = typed.strip()
    if "," in text:
        raise refuse(where, f"{typed!r} has a comma in it", allowed, "write 2.5 or 1000, without a comma")
    if kind in ("fraction", "duration") and re.fullmatch(_NUMBER, text):
        return _finite(_number(text), typed, where, allowed)
    terms = _terms(text)
    if not terms:
        raise refuse(where, f"{typed!r} is not a number with a unit", allowed, f"write {wanted.examples}")
    total = 0.0
    for number, unit in terms:
        total += _to_base(number, unit, wanted, where, typed)
    return _finite(total, typed, where, allowed)


def parse_day(typed: str, where: str) -> date:
    """Return a day typed as 2027-05-01.

    Raises:
        WetfootError: if it is none.
    """
    try:
        return date.fromisoformat(typed)
    except ValueError as error:
        raise refuse(where, f"{typed!r} is not a date", "a date such as 2027-05-01", "correct it") from error


def _finite(value: float, typed: object, where: str, allowed: str) -> float:
    if not math.isfinite(value):
        raise refuse(where, f"{typed!r} is not a finite number", allowed, "write an ordinary number")
    return value


def _terms(text: str) -> list[tuple[float, str]]:
    """Split '5 ft 3 in' into [(5, 'ft'), (3, 'in')]; an empty list if any part does not fit."""
    terms: list[tuple[float, str]] = []
    at = 0
    while at < len(text):
        match = _TERM.match(text, at)
        if match is None:
            return []
        terms.append((_number(match[1]), match[2].strip()))
        at = match.end()
    return terms


def _number(text: str) -> float:
    """Return '1 1/2' or '3/4' or '2.5' as a float; not-a-number for a fraction of nothing, such as '3/0'."""
    sign = -1.0 if text.startswith("-") else 1.0
    total = 0.0
    for part in text.lstrip("+-").split():
        top, _, bottom = part.partition("/")
        divisor = float(bottom) if bottom else 1.0
        total += float(top) / divisor if divisor else math.nan
    return sign * total


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def _to_base(number: float, unit: str, wanted: Kind, where: str, typed: object) -> float:
    spelled = _SPELLINGS.get(unit, unit)
    if spelled == "ppm" and wanted.base == "mg/liter":
        return number  # a litre of dilute solution weighs a kilogram
    if spelled == "ppm" and wanted.base == "mS/cm":
        raise _ppm_of_a_meter(number, where, typed)
    if spelled in ("degC", "degF") and wanted.base != "degC":
        spelled = unit  # 'F' and 'C' mean a temperature only where one is wanted
    try:
        factor, offset = _linear(spelled, wanted.base)
        return number * factor + offset
    except Exception as error:
        # pint raises many kinds of error, tokenizer ones included: all mean the same to a person
        mismatch = type(error).__name__ == "DimensionalityError"
        what = f"{typed!r} is in a unit of another kind" if mismatch else f"{unit!r} in {typed!r} is not a unit"
        allowed = f"a number with a unit, such as {wanted.examples}"
        raise refuse(where, what, allowed, f"write {wanted.examples}") from error


def _ppm_of_a_meter(number: float, where: str, typed: object) -> WetfootError:
    """Return the refusal of ppm where EC is asked: meters make ppm from EC by two factors, so nobody can tell."""
    by_500, by_700 = (f"'{number_text(number / scale)} mS/cm'" for scale in (500.0, 700.0))
    return refuse(
        where,
        f"{typed!r} is not a conductivity; meters show ppm by one of two scales",
        "EC in mS/cm or uS/cm",
        f"write {by_500} if your meter's scale is 500 (marked NaCl or 0.5), {by_700} if it is 700 (marked 442 or 0.7)",
    )


@lru_cache(maxsize=512)
def _linear(unit: str, to: str) -> tuple[float, float]:
    """Return (factor, offset) between two units in pint's spelling."""
    registry = _registry()
    source, target = registry.parse_units(unit), registry.parse_units(to)
    zero, one = (float(registry.Quantity(value, source).to(target).magnitude) for value in (0.0, 1.0))
    return one - zero, zero


def unit_label(kind: str, system: System = "metric") -> str:
    """Return the unit in which a kind is printed, e.g. 'cm' or 'in'."""
    return KINDS[kind].us if system == "US" else KINDS[kind].metric


def convert(value: Any, kind: str, system: System = "metric") -> Any:
    """Return a float or array, given in the base unit, in the unit that `unit_label` names."""
    label = unit_label(kind, system)
    factor, offset = _linear(KINDS[kind].base, _SPELLINGS.get(label, label))
    return value * factor + offset


def volume_kind(litres: float, system: System = "metric") -> str:
    """Return the kind in which a volume reads best: small below a litre, or below a gallon."""
    return "small_volume" if abs(float(convert(litres, "volume", system))) < 1.0 else "volume"


def mass_kind(kg: float, system: System = "metric") -> str:
    """Return the kind in which a mass reads best: kilograms or pounds, grams or ounces, always grams below an ounce."""
    if abs(kg) < 0.02835:
        return "fine_mass"
    return "small_mass" if abs(float(convert(kg, "mass", system))) < 1.0 else "mass"


def show(value: float, kind: str, system: System = "metric") -> str:
    """Return a value in the base unit as a person reads it, with its unit.

    >>> show(0.05, "depth")
    '5 cm'
    >>> show(0.05, "depth", "US")
    '1.97 in'
    >>> show(1000.0, "volume", "US")
    '264 gal'
    """
    if not math.isfinite(value):
        return number_text(value)
    space = "" if kind == "temperature" else " "
    return f"{number_text(float(convert(value, kind, system)))}{space}{unit_label(kind, system)}"


def number_text(value: float, digits: int = 3) -> str:
    """Return a number with about three significant digits, without exponents.

    >>> [number_text(x) for x in (12345.6, 0.04567, 5.0, 0.0, 99.96)]
    ['12,346', '0.0457', '5', '0', '100']
    """
    if not math.isfinite(value):
        return "never" if value == math.inf else "not known"
    if value == 0:
        return "0"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:,.{min(decimals, 9)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
