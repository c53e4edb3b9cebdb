"""What can hurt someone on such a bench, and the usual cautions; local codes and licensed people come first."""

from __future__ import annotations

from dataclasses import dataclass

from wetfoot.plan.model import Plan
from wetfoot.quantities import show

DEFER = "Local codes, the labels on the products and licensed practice come before this sheet."


@dataclass(frozen=True)
class Caution:
    """A danger and what is usually done about it."""

    title: str
    words: str


def cautions(plan: Plan) -> tuple[Caution, ...]:
    """Return the cautions for the plan's bench."""
    system, tank = plan.units, plan.tank
    weight = show(tank.volume_l, "mass", system)  # a litre of solution weighs a kilogram, near enough to lift by
    return (
        Caution(
            "The tank's weight",
            f"Full, it holds {weight} of water at {show(tank.base_height_m, 'distance', system)} above the ground. "
            "Level compacted pad, full bearing under the whole floor, strapped against tipping where storms or "
            "earthquakes occur, nobody's path or workplace below. Blocks must be rated for the load; ask someone "
            "licensed to check the stand.",
        ),
        Caution(
            "Drinking water",
            "A hose that hangs in the tank can suck feed back into the mains. Keep the outlet above the tank's rim by "
            "an air gap of at least two hose diameters and not less than 25 mm (1 in) (ASME A112.1.2, from memory), or "
            "a tested backflow preventer; the local plumbing code decides. Label tank and taps: not drinking water.",
        ),
        Caution(
            "Salts and acids",
            "Goggles and gloves. Dissolve salts in water, one after the other; never pour concentrates A and B "
            "together "
            "undiluted. Acid into water, never water into acid; never acid together with hypochlorite: it gives off "
            "chlorine. Nitrates away from fuels and organic dust, dry and locked.",
        ),
        Caution(
            "Disinfectants",
            "Household bleach and other oxidisers burn skin and eyes and poison when mixed with acids or "
            "ammonia. Follow "
            "the label, work in moving air, rinse tools and pots before planting.",
        ),
        Caution(
            "Standing water",
            "Open water breeds mosquitoes. Lids or fine screens on tank, sumps and gaps; look for larvae at "
            "every visit; "
            "follow local vector control.",
        ),
        Caution(
            "Runoff",
            "What spills at the overflows is fertiliser. Lead it to ground that can use it, away from wells, "
            "drains and "
            "pots, and never back to the tank; local rules on nutrient discharge apply.",
        ),
        Caution(
            "Lifting and heat",
            "A wet pot weighs as much as a sack: two people or a trolley. In hot weather work early, drink, rest in "
            "shade. Keep off the bench in thunderstorms.",
        ),
        Caution(
            "Clean stock",
            "Pots that ever shared water share one health status. Youngest and cleanest first on the round; "
            "clean hands, "
            "boots and knives between banks; whether a permit is needed to move plants or soil, ask your plant "
            "health service.",
        ),
    )
