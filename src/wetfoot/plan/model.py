"""What a person says about the bench and the season, as frozen records in base units.

Attributes carry their unit in the name; in the file the same key stands without it (``set_level_m`` is
``set_level``), because there the unit is typed with the number.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from wetfoot.plan.typed_values import (
    BarrelVolume,
    BoardHeight,
    Bore,
    Concentration,
    Conductivity,
    Days,
    Density,
    Depth,
    Elevation,
    FieldArea,
    Ground,
    Height,
    Interval,
    Loss,
    Mass,
    PieceMass,
    Price,
    SeedRate,
    Share,
    Slope,
    Spacing,
    Spread,
    Suction,
    Survival,
    TankVolume,
    Temperature,
    TubeLength,
    VesselSize,
    Volume,
    Wall,
    typed,
)
from wetfoot.water.medium import WettingHistory
from wetfoot.water.nest import Frustum, NestShape

_UNIT_SUFFIX = re.compile(r"(?<!per)_(m|m2|mm|l|kg|kg_m2|c|ms_cm|deg|d|kpa|cm_d)$")


def _file_key(attribute: str) -> str:
    return _UNIT_SUFFIX.sub("", attribute)


class Part(BaseModel):
    """A frozen part of the plan that refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", alias_generator=_file_key)


class Site(Part):
    """Where the bench stands, the file with its weather, and how more years are made of it if any."""

    name: str
    latitude_deg: Annotated[float, Field(ge=-66, le=66)]
    longitude_deg: Annotated[float, Field(ge=-180, le=180)]
    elevation_m: Elevation
    zone: str
    weather: str
    coast: bool = False
    fill_gaps_d: Days = 0
    weather_years: Literal["record", "resampled", "generated"] = "record"
    years_in_all: Annotated[int, Field(ge=1, le=10_000)] = 100


class Goal(Part):
    """The field that must be planted with clean seed, and what is lost on the way there.

    Spreads are coefficients of variation: of pots in one season, and of seasons; ``certainty`` is the chance with
    which the seed shall be enough, ``infected_pieces`` the fraction of pieces feared infected, ``farm_factor`` what a
    grower gets of a trial's yield.
    """

    field_area_m2: FieldArea
    field_planting: date
    piece_mass_kg: PieceMass
    seed_rate_kg_m2: SeedRate | None = None
    row_spacing_m: Spacing | None = None
    in_row_spacing_m: Spacing | None = None
    kept_back_kg: Mass = 0.0
    loss_cutting: Loss
    loss_storage: Loss
    loss_culling: Loss
    pot_survival: Survival
    pot_spread: Spread = 0.20
    season_spread: Spread = 0.35
    certainty: Annotated[float, typed("fraction", "50 %", "99.9 %")] = 0.9
    infected_pieces: Annotated[float, typed("fraction", "0 %", "50 %")] = 0.001
    farm_factor: Annotated[float, typed("fraction", "50 %", "100 %")] = 0.9


class Vessel(Part):
    """A round vessel by its inside diameters, as it stands when it is used as a pot."""

    bottom_diameter_m: VesselSize
    top_diameter_m: VesselSize
    height_m: VesselSize

    @property
    def frustum(self) -> Frustum:
        """The vessel as it stands."""
        return Frustum(self.bottom_diameter_m / 2.0, self.top_diameter_m / 2.0, self.height_m)

    @property
    def upside_down(self) -> Frustum:
        """The vessel turned over, as a dome stands."""
        return Frustum(self.top_diameter_m / 2.0, self.bottom_diameter_m / 2.0, self.height_m)


class Nest(Part):
    """The vessels that stand in each other, the levels in them and the medium."""

    basin: Vessel
    pot: Vessel
    dome: Vessel | None = None
    wall_m: Wall = 0.002
    set_level_m: Depth
    overflow_height_m: Depth
    fill_height_m: VesselSize
    medium: str
    wetting: WettingHistory = "wetted from above once"

    @property
    def shape(self) -> NestShape:
        """The vessels as the physics of water wants them."""
        dome = self.dome.upside_down if self.dome else None
        return NestShape(self.basin.frustum, self.pot.frustum, dome, self.wall_m, self.fill_height_m)


class OwnMedium(Part):
    """A growing medium of which the user has measured water contents at some suctions, lowest suction first.

    ``k1_cm_d`` is the conductivity at 1 kPa in cm/day, the estimate of a common peat mix where it is not known.
    """

    suction_kpa: tuple[Suction, ...]
    water: tuple[Share, ...]
    k1_cm_d: Annotated[float, Field(gt=0, le=10_000)] = 30.0
    source: str = "own table"


class Tank(Part):
    """The raised tank: volume when full, depth of that water, height of its floor above the ground."""

    volume_l: TankVolume
    water_depth_m: VesselSize
    base_height_m: Height
    unusable_l: Volume = 0.0


class SupplyLine(Part):
    """The tube from the tank to the sumps."""

    bore_m: Bore
    length_m: TubeLength


class Bank(Part):
    """All pots fed from one sump."""

    name: str
    pots: Annotated[int, Field(ge=1, le=100_000)]
    nest: str
    board_height_m: Height
    board_slope: Slope = 0.0
    board_heights_m: tuple[BoardHeight, ...] | None = None
    valve_seat_m: Bore
    float_diameter_m: VesselSize = 0.06
    lever_ratio: Annotated[float, Field(ge=1, le=30)] = 6.0
    lateral_bore_m: Bore
    lateral_length_m: TubeLength
    microtube_bore_m: Bore
    microtube_length_m: TubeLength
    ground_per_pot_m2: Ground
    gutter_fraction: Share = 0.0
    wrap: Literal["none", "white", "shade"] = "none"


class Recipe(Part):
    """What the two stocks are worked out for: a standard solution by name, or mg/L of each element.

    A litre of each stock makes ``fold`` litres of working solution; ``shelf`` names the salts at hand, all that have
    a price if it is empty.
    """

    target: str | dict[str, Concentration]
    fold: Annotated[float, Field(ge=10, le=400)] = 100.0
    shelf: tuple[str, ...] = ()


class Solution(Part):
    """Source water, the band of EC to keep, and the two stocks in grams of each salt per litre.

    ``source_water`` is an analysis in mg/L of each ion, ``products`` are blends of one's own by the label, in mass
    fractions; ``barrel_l`` is what a stock is made up in, ``coldest_c`` the coldest night where the barrels stand.
    """

    source_ec_ms_cm: Conductivity
    source_water: dict[str, Concentration] = Field(default_factory=dict)
    ec_low_ms_cm: Conductivity
    ec_high_ms_cm: Conductivity
    barrel_l: BarrelVolume = 25.0
    coldest_c: Temperature = 5.0
    products: dict[str, dict[str, Share]] = Field(default_factory=dict)
    recipe: Recipe | None = None
    stock_a: dict[str, Density]
    stock_b: dict[str, Density]

    @property
    def target_ec_ms_cm(self) -> float:
        """The middle of the band: what the tank is mixed to."""
        return (self.ec_low_ms_cm + self.ec_high_ms_cm) / 2.0


class Crop(Part):
    """What is planted, its calendar in days after planting, and how it grows and drinks."""

    name: str
    pieces_per_pot: Annotated[int, Field(ge=1, le=20)]
    planting: date
    harvest: date
    dry_down_d: Days = 21
    emergence_d: Interval = 45
    half_cover_d: Annotated[int, typed("duration", "10 days", "300 days")] = 110
    hilling_from_d: Days = 60
    hilling_every_d: Interval = 28
    hilling_until_d: Days = 180
    base_temperature_c: Temperature = 13.0
    optimum_temperature_c: Temperature = 26.0
    canopy_area_m2: Ground = 0.25
    kc_initial: Annotated[float, Field(gt=0, le=2)] = 0.4
    kc_full: Annotated[float, Field(gt=0, le=2)] = 1.1
    exposure: Annotated[float, Field(ge=0.5, le=2)] = 1.2
    salt_uptake_fraction: Annotated[float, typed("fraction", "10 %", "150 %")] = 0.9
    yield_factor: Annotated[float, Field(gt=0, le=5)] = 1.0

    @property
    def season_d(self) -> int:
        """Days from planting to harvest."""
        return (self.harvest - self.planting).days

    @property
    def tops_cut_d(self) -> int:
        """Day after planting on which tops are cut and the supply is shut."""
        return self.season_d - self.dry_down_d


class Visits(Part):
    """How often a person comes and for how long, and whether a bank below the EC band is fed with stock."""

    every_d: Interval
    feed_banks: bool = True
    accepted_dry: Annotated[float, typed("fraction", "0.1 %", "50 %")] = 0.05
    minutes: Annotated[float, Field(ge=0, le=1440)] = 45.0


class Costs(Part):
    """Prices in one currency; what has no price is listed without one.

    ``short_per_kg`` is what a kilogram of seed too little costs (buying it, or a field not planted), ``surplus_per_kg``
    what a kilogram too much brings.
    """

    currency: str = "USD"
    pot: Price | None = None
    basin: Price | None = None
    dome: Price | None = None
    medium_per_litre: Price | None = None
    tank: Price | None = None
    supply_line_per_metre: Price | None = None
    lateral_per_metre: Price | None = None
    microtube_per_metre: Price | None = None
    float_valve: Price | None = None
    shut_off_valve: Price | None = None
    wrap_per_pot: Price | None = None
    seed_per_kg: Price | None = None
    short_per_kg: Price | None = None
    surplus_per_kg: Price | None = None
    labour_per_hour: Price | None = None
    minutes_per_pot: Annotated[float, Field(ge=0, le=600)] = 20.0
    tests_per_pot: Price = 0.0
    interest: Annotated[float, typed("fraction", "0 %", "50 %")] = 0.08
    pot_years: Annotated[float, Field(ge=1, le=50)] = 5.0
    plumbing_years: Annotated[float, Field(ge=1, le=50)] = 8.0
    salts_per_kg: dict[str, Price] = Field(default_factory=dict)


class Plan(Part):
    """A bench and a season on it."""

    format: Literal[1]
    title: str
    invented: bool = False
    units: Literal["metric", "US"] = "metric"
    book: str | None = None
    site: Site
    goal: Goal
    media: dict[str, OwnMedium] = Field(default_factory=dict)
    nests: dict[str, Nest] = Field(min_length=1)
    tank: Tank
    supply_line: SupplyLine
    banks: tuple[Bank, ...] = Field(min_length=1)
    solution: Solution
    crop: Crop
    visits: Visits
    costs: Costs = Costs()

    @property
    def pots(self) -> int:
        """Pots on the whole bench."""
        return sum(bank.pots for bank in self.banks)
