"""The sheet of what decides: verdicts, main numbers, charts of the bank that is worst off, what may go wrong."""

from __future__ import annotations

from typing import Any

from wetfoot.answers.dossier import Dossier
from wetfoot.answers.trace import Answer, Number, worst
from wetfoot.drawing.chart_parts import Size
from wetfoot.drawing.charts import chart_svg, ec_chart, level_chart, supply_chart, tank_chart
from wetfoot.sheets.press import LONGEST_CELL, Sheet, short
from wetfoot.sheets.visits import date_text

CHART = Size(height=150.0)
MAIN_NUMBERS = {
    "pots needed",
    "pots on the bench",
    "clean seed from this bench",
    "own seed to plant the pots",
    "days that a full tank lasts",
    "highest draw of the bench",
    "solution drawn in the season",
    "draw of a pot on its thirstiest day",
    "lowest level of the mean pot",
    "depth in the near pot",
    "depth in the far pot",
    "largest daily rise by wicking",
    "suction at the top",
    "air above the water line",
    "until plants go short without supply",
    "lost if a basin splits",
    "full tank empty if a basin splits",
    "full tank empty if a float sticks open",
    "hottest roots, edge row",
    "hottest roots, inner row",
    "stock A, and as much of B, for a full tank",
    "stock A, and as much of B, in the season",
    "days below the band",
    "days above the band",
    "chance of a dry-out as planned",
    "cost of visits and tank as planned",
    "visit every",
    "tank",
    "cost of clean seed",
    "margin of a pot",
}
BANK_NUMBERS = (
    "depth in the near pot",
    "depth in the far pot",
    "lowest level of the mean pot",
    "spilled per pot in the season",
)


def summary(dossier: Dossier) -> Sheet:
    """Return the sheet of what decides."""
    tank, *banks = dossier.water
    weakest = worst_bank(dossier)
    shown = (
        dossier.supply.answer,
        tank,
        banks[weakest],
        dossier.frontier.answer,
        dossier.leaks.answer,
        *dossier.wicking_answers,
        *dossier.heat,
        *((dossier.money.answer,) if dossier.money else ()),
        dossier.mix.answer,
    )
    says = {
        "title": dossier.plan.title,
        "about": _about(dossier),
        "answers": [_answer(dossier, answer) for answer in shown],
        "banks": [_bank_row(dossier, index) for index in range(len(banks))],
        "weakest": short(dossier.plan.banks[weakest].name, LONGEST_CELL),
        "warnings": dossier.warnings,
        "computed": _computed(dossier),
    }
    return Sheet("summary.typ", "Summary", says, _charts(dossier, weakest))


def worst_bank(dossier: Dossier) -> int:
    """Return the index of the bank that is worst off: by verdict, thirsty days, and how low its far pot stands."""
    plan, thirsty = dossier.plan, dossier.ensemble.totals.stress_days.mean(axis=0)

    def badness(index: int) -> tuple[int, float, float]:
        answer, level_m = dossier.water[1 + index], plan.nests[plan.banks[index].nest].set_level_m
        far_m = number_named(answer, "depth in the far pot").value
        return ("yes", "watch", "no").index(answer.state), float(thirsty[index]), -far_m / level_m

    return max(range(len(plan.banks)), key=badness)


def number_named(answer: Answer, name: str) -> Number:
    """Return the number of an answer that has this name.

    Raises:
        KeyError: if the answer has none such.
    """
    return {number.name: number for number in answer.numbers}[name]


def _answer(dossier: Dossier, answer: Answer) -> dict[str, Any]:
    system = dossier.plan.units
    numbers = [[number.name, number.text(system)] for number in answer.numbers if number.name in MAIN_NUMBERS]
    return {
        "question": answer.question,
        "state": answer.state,
        "words": answer.words,
        "numbers": numbers,
        "warnings": answer.warnings,
    }


def _bank_row(dossier: Dossier, index: int) -> list[str]:
    answer, system = dossier.water[1 + index], dossier.plan.units
    numbers = [number_named(answer, name).text(system) for name in BANK_NUMBERS]
    return [answer.state, short(dossier.plan.banks[index].name, LONGEST_CELL), *numbers]


def _about(dossier: Dossier) -> str:
    plan = dossier.plan
    banks = f"{len(plan.banks)} banks" if len(plan.banks) > 1 else "one bank"
    days = f"{date_text(plan.crop.planting, plan.units)} to {date_text(plan.crop.harvest, plan.units)}"
    state = worst([answer.state for answer in dossier.answers])
    ends = {"yes": "It holds.", "watch": "It can work, with care: see WATCH.",
            "no": "It falls short: see NO."}  # fmt: skip
    return f"{plan.site.name}. {plan.pots} pots of {plan.crop.name} in {banks}, {days}. {ends[state]}"


def _computed(dossier: Dossier) -> list[list[str]]:
    trace = dossier.trace()
    years = [str(year) for year in trace["weather years"]]
    known = f"{years[0]} to {years[-1]} ({len(years)} seasons)" if len(years) > 3 else ", ".join(years)
    return [
        ["weather", trace["weather"]],
        ["weather years", "one typical year, put together from several" if trace["composed year"] else known],
        ["runs and seed", f"{trace['runs']} runs, seed {trace['seed']}; ranges hold 8 runs in 10"],
        ["readings compared", f"{dossier.readings.count} from the book"],
        ["computed by", f"Wetfoot {trace['wetfoot']}"],
    ]


def _charts(dossier: Dossier, bank: int) -> dict[str, str]:
    plan, runs, system, supply = dossier.plan, dossier.ensemble, dossier.plan.units, dossier.supply
    name, read = plan.banks[bank].name, dossier.readings
    charts = {
        "supply": supply_chart(supply.pots_high_yield, supply.pots_expected, supply.pots_low_yield, plan.pots),
        "tank": tank_chart(runs, plan, system, read.tank_l, CHART),
        "level": level_chart(runs, plan, bank, system, read.level_m.get(name, ()), CHART),
        "ec": ec_chart(runs, plan, bank, system, read.ec_ms_cm.get(name, ()), CHART),
    }
    return {key: chart_svg(chart) for key, chart in charts.items()}
