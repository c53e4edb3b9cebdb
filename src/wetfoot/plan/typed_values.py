"""What may be typed into a plan: each quantity with its kind and the range in which it makes sense."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from wetfoot.errors import WetfootError
from wetfoot.quantities import parse, show


def typed(kind: str, low: str, high: str) -> BeforeValidator:
    """Return a reader of typed quantities that refuses values outside [low, high], both typed as a person would."""

    def read(typed: Any) -> float:
        try:
            value = parse(typed, kind)
            least, most = parse(low, kind), parse(high, kind)
        except WetfootError as error:
            problem = error.problems[0]
            context = {"what": problem.what, "allowed": problem.allowed, "fix": problem.fix}
            raise PydanticCustomError("quantity", "{what}", context) from error
        if not least <= value <= most:
            raise PydanticCustomError(
                "quantity",
                "{what}",
                {
                    "what": f"{typed!r} is out of range",
                    "allowed": f"{low} to {high}",
                    "fix": _nearest(value, kind, least, most),
                },
            )
        return value

    return BeforeValidator(read)


def _nearest(value: float, kind: str, least: float, most: float) -> str:
    """Return what may have been meant: a thousand times off is a slip of the unit's prefix."""
    for meant in (value / 1000.0, value * 1000.0):
        if kind == "conductivity" and least < meant <= most:
            return f"did you mean '{show(meant, kind)}'? check the unit that your meter shows"
    return "check the number and its unit"


VesselSize = Annotated[float, typed("depth", "1 cm", "2 m")]
Wall = Annotated[float, typed("depth", "0 mm", "2 cm")]
Depth = Annotated[float, typed("depth", "0 cm", "1 m")]
Bore = Annotated[float, typed("bore", "0.5 mm", "110 mm")]
BoardHeight = Annotated[float, typed("bore", "-50 cm", "50 cm")]
TubeLength = Annotated[float, typed("distance", "1 cm", "1000 m")]
Height = Annotated[float, typed("distance", "0 m", "20 m")]
Elevation = Annotated[float, typed("distance", "-430 m", "6000 m")]
Spacing = Annotated[float, typed("distance", "2 cm", "5 m")]
TankVolume = Annotated[float, typed("volume", "1 L", "100000 L")]
Volume = Annotated[float, typed("volume", "0 L", "100000 L")]
PieceMass = Annotated[float, typed("small_mass", "1 g", "1 kg")]
Mass = Annotated[float, typed("mass", "0 kg", "1000000 kg")]
FieldArea = Annotated[float, typed("field_area", "0 ha", "10000 ha")]
Ground = Annotated[float, typed("area", "0.005 m2", "10 m2")]
SeedRate = Annotated[float, typed("seed_rate", "100 kg/ha", "20000 kg/ha")]
Conductivity = Annotated[float, typed("conductivity", "0 mS/cm", "10 mS/cm")]
Concentration = Annotated[float, typed("concentration", "0 mg/L", "5000 mg/L")]
BarrelVolume = Annotated[float, typed("volume", "1 L", "2000 L")]
Density = Annotated[float, typed("density", "0 g/L", "1500 g/L")]
Suction = Annotated[float, typed("suction", "0 kPa", "10000 kPa")]
Temperature = Annotated[float, typed("temperature", "-10 degC", "50 degC")]
Loss = Annotated[float, typed("fraction", "0 %", "95 %")]
Share = Annotated[float, typed("fraction", "0 %", "100 %")]
Spread = Annotated[float, typed("fraction", "0 %", "150 %")]
Survival = Annotated[float, typed("fraction", "5 %", "100 %")]
Slope = Annotated[float, typed("fraction", "-10 %", "10 %")]
Days = Annotated[int, typed("duration", "0 days", "400 days")]
Interval = Annotated[int, typed("duration", "1 day", "60 days")]
Price = Annotated[float, Field(ge=0, le=1e9)]
