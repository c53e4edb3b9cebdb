"""Where things stand in the bench's elevation: the ground, and the strip of paper of each bank."""

from __future__ import annotations

from typing import NamedTuple

from wetfoot.drawing.svg import Point, text_width
from wetfoot.plan.model import Bank, Nest, Tank
from wetfoot.water.nest import radius_m

BOARD = 3.0
PIPE_ABOVE_GROUND = 6.0
RISER = 6.0
POT_GAP = 5.0
BREAK, BREAK_WIDEST = 12.0, 26.0
MOST_BEFORE_BREAK = 4
LEAST_BESIDE_COUNT = 26.0


class Stage(NamedTuple):
    """Where heights land on the paper: the ground, and units per metre."""

    ground: float
    scale: float

    def y(self, height_m: float) -> float:
        """Return the place of a height above the ground."""
        return self.ground - self.scale * height_m


class Bay(NamedTuple):
    """The strip of paper on which a bank is drawn, and how its pots stand there.

    ``sump`` is the sump's width, ``places`` are the pots' axes, the last one after a break where ``broken``;
    ``rise`` is how far the board's far end is drawn above its near end.
    """

    bank: Bank
    nest: Nest
    left: float
    width: float
    sump: float
    pot_half: float
    places: tuple[float, ...]
    broken: bool
    true_widths: bool
    rise: float

    @property
    def start(self) -> float:
        """The left edge of the sump, where the board begins."""
        return self.left + RISER + 4.0

    @property
    def end(self) -> float:
        """The right edge of the last pot."""
        return self.places[-1] + self.pot_half

    def along(self, x: float) -> float:
        """Return the share of the board that lies before a place."""
        return (x - self.start) / (self.end - self.start)

    def lift(self, x: float) -> float:
        """Return how far the board is drawn above its near end at a place."""
        return self.rise * self.along(x)


def bay(bank: Bank, nest: Nest, left: float, width: float, scale: float, rise: float) -> Bay:
    """Return how a bank is drawn: all pots in their true places if they fit, else the first and the last."""
    sump = min(max(0.2 * scale, 10.0), 0.11 * width)
    first = left + RISER + 4.0 + sump + 7.0
    room, gap = left + width - 12.0 - first, break_width(bank, nest, scale)
    half, pitch = scale * nest_half_m(nest), scale * bank.lateral_length_m / bank.pots
    true = pitch >= 2.0 * half and pitch * (bank.pots - 1) + 2.0 * half <= room
    if not true:
        half = min(half, (room - gap) / 4.0)
        pitch = 2.0 * half + POT_GAP
    if true or pitch * bank.pots - POT_GAP <= room:
        places = tuple(first + half + pitch * index for index in range(bank.pots))
        return Bay(bank, nest, left, width, sump, half, places, False, true, rise)
    before = int((room - 2.0 * half - gap + POT_GAP) / pitch)
    places = tuple(first + half + pitch * index for index in range(max(1, min(MOST_BEFORE_BREAK, before))))
    last = places[-1] + 2.0 * half + gap
    return Bay(bank, nest, left, width, sump, half, (*places, last), True, False, rise)


def break_width(bank: Bank, nest: Nest, scale: float) -> float:
    """Return the room for the number of pots left out, or for three dots where it is long or the pots are low."""
    width = text_width(f"+{bank.pots}") + 3.0
    low = scale * nest_height_m(nest) < LEAST_BESIDE_COUNT
    return BREAK if low or width > BREAK_WIDEST else width


def nest_half_m(nest: Nest) -> float:
    """Return the largest outside radius of a nest's basin and pot."""
    diameters = [d for v in (nest.basin, nest.pot) for d in (v.bottom_diameter_m, v.top_diameter_m)]
    return max(diameters) / 2.0 + nest.wall_m


def nest_height_m(nest: Nest) -> float:
    """Return the height of the taller of basin and pot."""
    return max(nest.basin.height_m, nest.pot.height_m)


def outlet_m(tank: Tank) -> float:
    """Return the height of the tank's outlet above the ground: where the unusable water ends."""
    return tank.base_height_m + tank.water_depth_m * tank.unusable_l / tank.volume_l


def tank_top_m(tank: Tank) -> float:
    """Return the height of the tank's rim as drawn, a little above the full water."""
    return tank.base_height_m + 1.06 * tank.water_depth_m


def tank_side_m(tank: Tank) -> float:
    """Return the side of an upright square tank of this volume and depth."""
    return float((tank.volume_l / 1000.0 / tank.water_depth_m) ** 0.5)


def sump_height(each: Bay, stage: Stage) -> float:
    """Return the drawn height of a sump."""
    return max(stage.scale * (each.nest.overflow_height_m + 0.08), 10.0)


def inlet_y(each: Bay, stage: Stage) -> float:
    """Return the height on paper at which a bank's supply enters its sump, above the sump's rim."""
    return min(stage.y(each.bank.board_height_m) - sump_height(each, stage) - 5.0, stage.ground - 20.0)


def shut_off_y(each: Bay, stage: Stage) -> float:
    """Return the height on paper of a bank's shut-off."""
    return (stage.ground - PIPE_ABOVE_GROUND + inlet_y(each, stage)) / 2.0


def lateral_y(each: Bay, stage: Stage, x: float) -> float:
    """Return the height on paper of the lateral at a place: under the board, but not under the ground."""
    board = stage.y(each.bank.board_height_m)
    return min(board + BOARD + 3.5 - each.lift(x), stage.ground - 1.0)


def pot_depth_m(each: Bay, place: float) -> float:
    """Return the depth in a pot at a place: the sump's level over the board, from nothing to the overflow."""
    rise_m = each.bank.board_slope * each.bank.lateral_length_m * each.along(place)
    return min(max(each.nest.set_level_m - rise_m, 0.0), each.nest.overflow_height_m)


def spill_at(each: Bay, stage: Stage) -> Point:
    """Return the overflow hole of a bank's first pot on the paper."""
    nest, place = each.nest, each.places[0]
    radius = float(radius_m(nest.basin.frustum, nest.overflow_height_m)) + nest.wall_m
    y = stage.y(each.bank.board_height_m + nest.overflow_height_m) - each.lift(place)
    return place - radius * each.pot_half / nest_half_m(nest), y


def top_y(each: Bay, stage: Stage) -> float:
    """Return the place of the highest thing on a bank."""
    pots = stage.y(each.bank.board_height_m + nest_height_m(each.nest)) - max(each.rise, 0.0)
    return min(pots, inlet_y(each, stage))
