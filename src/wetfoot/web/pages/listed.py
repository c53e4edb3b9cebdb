"""All pages, in the order in which they are looked up."""

from __future__ import annotations

from wetfoot.web.pages import (
    computing,
    entering,
    exposure,
    odds,
    plan,
    records,
    sheets,
    solution,
    stock,
    today,
    trial,
    visit,
    water,
)

ALL_PAGES = (
    today.router,
    plan.router,
    water.router,
    solution.router,
    odds.router,
    trial.router,
    stock.router,
    exposure.router,
    records.router,
    visit.router,
    sheets.router,
    computing.router,
    entering.router,
)
