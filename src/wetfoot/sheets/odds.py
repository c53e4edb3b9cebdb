"""The sheet of odds and money: how often to come, what each change buys, what clean seed costs."""

from __future__ import annotations

from typing import Any

from wetfoot.answers.dossier import Dossier
from wetfoot.answers.odds import HEADS, lever_rows, safeguard_rows
from wetfoot.answers.trace import Answer
from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.element_charts import SHEET, element_chart
from wetfoot.drawing.frontier import frontier_svg
from wetfoot.sheets.press import Sheet


def odds(dossier: Dossier) -> Sheet:
    """Return the sheet of odds and money."""
    plan, paid = dossier.plan, dossier.money
    shown = [dossier.frontier.answer, dossier.odds.answer, dossier.enough, dossier.bank_size]
    says = {
        "answers": [_answer(dossier, answer) for answer in shown],
        "heads": ["", *HEADS[1:]],
        "levers": lever_rows(plan, dossier.odds),
        "safeguards": safeguard_rows(plan, dossier.odds),
        "money": [_answer(dossier, paid.answer)] if paid else [],
        "currency": plan.costs.currency,
        "items": [[name, f"{value:,.2f}"] for name, value in paid.items.items()] if paid else [],
        "pieces": [
            [
                step.option.name,
                f"{step.option.cost:,.2f}",
                f"{step.option.benefit:,.2f}",
                f"{step.margin:,.2f}",
                "" if step.marginal_return is None else f"{100 * step.marginal_return:.0f} %",
            ]
            for step in (paid.pieces if paid else ())
        ],
        "swings": [
            [swing.name, f"{min(swing.at_low, swing.at_high):,.2f}", f"{max(swing.at_low, swing.at_high):,.2f}"]
            for swing in (paid.swings if paid else ())
        ],
    }
    drawings = {
        "frontier": frontier_svg(dossier.frontier, plan),
        "elements": chart_svg(element_chart(dossier.ensemble, plan, 0, plan.units, SHEET, across=4)),
    }
    return Sheet("odds.typ", "Odds and money", says, drawings)


def _answer(dossier: Dossier, answer: Answer) -> dict[str, Any]:
    system = dossier.plan.units
    numbers = [[number.name, number.text(system)] for number in answer.numbers]
    return {"question": answer.question, "state": answer.state, "words": answer.words, "numbers": numbers}
