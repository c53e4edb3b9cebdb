"""The sheets of a trial's report: one page for the grower, and the pages for whoever checks it."""

from __future__ import annotations

from datetime import date
from typing import Any

from wetfoot.answers.trial_answers import answers
from wetfoot.answers.trial_proceedings import proceedings
from wetfoot.answers.trial_report import Report
from wetfoot.answers.trial_report_tables import tables
from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.trial_charts import net_chart, position_chart, residual_chart, response_chart, split_chart
from wetfoot.sheets.press import Head, Sheet, head_of

DATED = date(2000, 1, 1)  # of sheets without a plan, so that the same report always gives the same bytes
NO_SEASON = "no season named"
MOST_ROWS = 120  # of a table on paper; the workbook has all


def advice_sheet(made: Report) -> Sheet | None:
    """Return the page for the grower; None if the trial did not test numbers of pieces."""
    advice, found = made.recommendation, made.findings
    if advice is None:
        return None
    drawings = {
        "response": chart_svg(response_chart(found, made.units)),
        "net": chart_svg(net_chart(advice.choices, made.units)),
    }
    says = {
        "headline": advice.headline,
        "lines": [list(line) for line in advice.lines],
        "tables": [_table(table) for table in advice.tables(made.units)],
        "suggestion": advice.suggestion.words if advice.suggestion else "",
    }
    return Sheet("trial_advice.typ", "Recommendation from the trial", says, drawings)


def report_sheet(made: Report) -> Sheet:
    """Return the pages for whoever checks the trial: answers, the table of proceedings, figures, all tables."""
    found = made.findings
    drawings = {name: chart_svg(chart) for name, chart in _charts(made).items() if chart is not None}
    plan = made.plan
    paper = proceedings(found, plan.site.name if plan else "", plan.crop.name if plan else "")
    says = {
        "about": f"{', '.join(found.table.sources)}: {len(found.table.y)} pots. Analysis: {found.analysis.method}.",
        "guessed": list(found.table.said),
        "answers": [
            {"question": a.question, "state": a.state, "words": a.words, "warnings": list(a.warnings)}
            for a in answers(found)
        ],
        "proceedings": {
            "title": paper.title,
            "heads": list(paper.heads),
            "blocks": [{"name": name, "rows": [list(row) for row in rows]} for name, rows in paper.blocks],
            "footnotes": list(paper.footnotes),
        },
        "figures": list(drawings),
        "tables": [_table(table) for table in tables(found) if table.rows],
    }
    return Sheet("trial_report.typ", "Trial report", says, drawings)


def _charts(made: Report) -> dict[str, Any]:
    found = made.findings
    charts: dict[str, Any] = {}
    if found.pieces:
        charts["response"] = response_chart(found, made.units)
    if made.recommendation:
        charts["net"] = net_chart(made.recommendation.choices, made.units)
    if found.splits:
        charts["split"] = split_chart(found.splits, found.confidence)
    charts["residual"] = residual_chart(found)
    charts["position"] = position_chart(found)
    return charts


def _table(table: Any) -> dict[str, Any]:
    shown = table.shown
    more = f" {len(shown) - MOST_ROWS} more rows are in the workbook." if len(shown) > MOST_ROWS else ""
    return {"title": table.title, "heads": list(table.heads), "rows": shown[:MOST_ROWS], "from": table.first_number,
            "note": table.note + more}  # fmt: skip


def report_head(made: Report) -> Head:
    """Return the head of a trial's sheets: the plan's if there is one, else the names of the tables."""
    if made.plan is not None:
        return head_of(made.plan)
    return Head(made.title, NO_SEASON, "metric", DATED, "invented" in made.title.casefold())
