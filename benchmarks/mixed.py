"""Time of a mixed-model fit with its small-sample tests, of shuffles and of simulated trials, beside statsmodels.

Run with ``python benchmarks/mixed.py``. statsmodels is the yardstick and is measured in the same run if it is there; it
gives no small-sample degrees of freedom, so its side does less. The trial is invented: 4 blocks, 8 boards, 64 pots.
"""

from __future__ import annotations

import importlib.util
import warnings
from collections.abc import Callable

import numpy as np
from timing import middle_and_range_ms, row, seconds

from wetfoot.trial.fitting import Trial
from wetfoot.trial.kenward_roger import f_test, kenward_roger
from wetfoot.trial.mixed import reml, same_group
from wetfoot.trial.randomisation import false_alarms, randomisation_tests, shuffle_pots
from wetfoot.trial.roles import Roles
from wetfoot.trial.terms import term_name

SHUFFLES, SIMULATIONS, LOOPS = 20_000, 100_000, 20
ROLES = Roles(("gutter",), ("pieces", "pot"), "block", "board")


def invented() -> Trial:
    """Return a complete trial of 64 pots with effects of all factors."""
    rng = np.random.default_rng(64)
    block, board, pot = (a.ravel() for a in np.indices((4, 2, 8)))
    y = 1500 + 180 * (pot // 2) + 200 * board + 100 * rng.standard_normal(4)[block]
    y = y + 60 * rng.standard_normal((4, 2))[block, board] + 190 * rng.standard_normal(64)
    labels = {"gutter": board, "pieces": pot // 2 + 1, "pot": pot % 2, "block": block, "board": board + 2 * block}
    return Trial(y, labels, ROLES)


def own_fit(trial: Trial) -> Callable[[], object]:
    """Return the fit and the tests of all terms."""
    model = trial.model(trial.terms)
    random = {"board": same_group(trial.factors["board"])}

    def work() -> object:
        adjusted = kenward_roger(reml(trial.y, model.x, random))
        return [f_test(adjusted, model.selector(term)) for term in model.terms]

    return work


def statsmodels_fit(trial: Trial) -> Callable[[], object]:
    """Return the same model fitted by statsmodels, with its tests of single coefficients only."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    x = trial.model(trial.terms).x
    warnings.simplefilter("ignore")  # it warns on the way to its optimum
    return lambda: MixedLM(trial.y, x, groups=trial.factors["board"]).fit(reml=True)


def statsmodels_loop(trial: Trial, times: int) -> Callable[[], object]:
    """Return a loop of least-squares fits of shuffled pots, as one would write it with statsmodels."""
    import pandas as pd
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    rng = np.random.default_rng(1)
    table = pd.DataFrame(dict(trial.factors))

    def work() -> object:
        found = []
        for _ in range(times):
            table["y"] = rng.permuted(trial.y.reshape(8, 8), axis=1).ravel()
            found.append(anova_lm(ols("y ~ C(block) + C(gutter) * C(pieces) * C(pot)", table).fit()))
        return found

    return work


def main() -> None:
    """Print the table."""
    trial = invented()
    model = trial.model(trial.terms)
    inside = {term_name(t): model.columns(t) for t in model.terms if t != ("gutter",)}
    boards, pots = trial.strata()[1:]
    there = importlib.util.find_spec("statsmodels") is not None
    none = [float("nan")]
    their_fit = seconds(statsmodels_fit(trial)) if there else none
    their_loop = [t / LOOPS for t in seconds(statsmodels_loop(trial, LOOPS), 3)] if there else none
    per_shuffle = [
        t / SHUFFLES for t in seconds(lambda: shuffle_pots(trial.y, trial.factors["board"], inside, 1, SHUFFLES))
    ]
    simulated = [
        t / SIMULATIONS for t in seconds(lambda: false_alarms(boards, trial.factors["board"], 0.5, SIMULATIONS, 1))
    ]
    simulated_pots = [
        t / SIMULATIONS for t in seconds(lambda: false_alarms(pots, trial.factors["board"], 0.5, SIMULATIONS, 1))
    ]
    if not there:
        print("statsmodels is not installed: no ratio is measured.\n")
    print("| job | median, ms | range, ms | times faster |")
    print("|---|---|---|---|")
    if there:
        print(f"| statsmodels MixedLM, 64 pots | {' | '.join(middle_and_range_ms(their_fit))} | 1 |")
        print(f"| statsmodels formula fit of one shuffle | {' | '.join(middle_and_range_ms(their_loop))} | 1 |")
    print(
        row(
            "REML and Kenward-Roger tests of 7 terms, 64 pots", seconds(own_fit(trial), 50), float(np.median(their_fit))
        )
    )
    for name, taken, against in (
        ("one shuffle, F of 6 terms", per_shuffle, their_loop),
        ("one simulated trial, F between boards (against MixedLM)", simulated, their_fit),
        ("one simulated trial, F of 6 terms between pots (against MixedLM)", simulated_pots, their_fit),
    ):
        middle = float(np.median(taken)) * 1e3
        ends = f"{min(taken) * 1e3:.4f} to {max(taken) * 1e3:.4f}"
        print(f"| {name} | {middle:.4f} | {ends} | {float(np.median(against)) * 1e3 / middle:.0f} |")
    tests = randomisation_tests(trial, seed=1, draws=999)
    print(f"\n{tests[0].term}: p {tests[0].p:.4g}, the least possible {tests[0].smallest_p:.4g}")


if __name__ == "__main__":
    main()
