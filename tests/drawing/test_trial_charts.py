"""Charts of a trial hold the numbers of its analysis: read back from their specifications."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from wetfoot.answers.trial_report import Report, trial_report
from wetfoot.drawing.charts import chart_svg
from wetfoot.drawing.trial_charts import net_chart, position_chart, residual_chart, response_chart, split_chart

DATA = Path(__file__).parents[1] / "trial" / "data"


@pytest.fixture(scope="module")
def case_a() -> Report:
    return trial_report([DATA / "trial_case_A.csv"])


def layer_values(chart: Any, mark: str) -> list[dict[str, Any]]:
    spec = chart.to_dict()
    for layer in spec["layer"]:
        if layer["mark"]["type"] == mark:
            data = layer.get("data") or spec["data"]
            return list(data["values"] if "values" in data else spec["datasets"][data["name"]])
    raise AssertionError(mark)


def test_the_response_chart_holds_means_with_intervals(case_a: Report) -> None:
    found = case_a.findings
    values = layer_values(response_chart(found, "metric"), "rule")
    means = found.analysis.table_of_means("pieces")
    assert [v["v"] for v in values] == pytest.approx((means.estimates.value / 1000).tolist(), abs=1e-4)
    assert [v["low"] for v in values] == pytest.approx((means.low / 1000).tolist(), abs=1e-4)
    us = layer_values(response_chart(found, "US"), "rule")
    assert us[0]["v"] == pytest.approx(values[0]["v"] / 0.45359237, abs=1e-3)  # NIST: pound


def test_the_curve_stays_within_what_was_tested(case_a: Report) -> None:
    line = layer_values(response_chart(case_a.findings, "metric"), "line")
    assert (line[0]["x"], line[-1]["x"]) == (1.0, 4.0)


def test_the_split_chart_holds_counts(case_a: Report) -> None:
    splits = case_a.findings.splits
    assert splits is not None
    values = layer_values(split_chart(splits, "95 %"), "bar")
    # handbook 4.3: 0, 0, 1, 7 of 16; Wilson for 7/16 0.230987-0.668214
    assert [v["text"] for v in values] == ["0 of 16", "0 of 16", "1 of 16", "7 of 16"]
    assert (values[3]["low"], values[3]["high"]) == pytest.approx((23.0987, 66.8214), rel=1e-4)


def test_residuals_are_one_a_weighed_pot_and_sum_to_nothing(case_a: Report) -> None:
    for chart in (residual_chart(case_a.findings), position_chart(case_a.findings)):
        assert chart is not None
        values = [v["v"] for v in layer_values(chart, "point")]
        assert len(values) == 58
        assert sum(values) == pytest.approx(0.0, abs=1e-6)


def test_charts_draw(case_a: Report) -> None:
    assert case_a.recommendation is not None
    for chart in (net_chart(case_a.recommendation.choices, "US"), response_chart(case_a.findings, "US")):
        svg = chart_svg(chart)
        assert svg.startswith("<svg")
        assert "NaN" not in svg
