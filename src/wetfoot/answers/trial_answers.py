"""A trial's findings as answers to a grower's and a biometrician's questions, in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from wetfoot import __version__
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.answers.trial_analysis import Findings
from wetfoot.answers.trial_cells import decimals, p_words, rounded
from wetfoot.answers.trial_pieces import CURVE_SOURCE, Pieces
from wetfoot.answers.trial_report_tables import losses_words, tables
from wetfoot.answers.trial_splits import SPLIT_SOURCE
from wetfoot.trial.analysis import interacting
from wetfoot.trial.fitting import Trial
from wetfoot.trial.result import TermTest

STRATA_SOURCE = "analysis of variance by strata (Bailey 2008, ch. 10)"
KR_SOURCE = "REML with Kenward-Roger F and degrees of freedom (Kenward & Roger 1997)"


def answers(found: Findings) -> list[Answer]:
    """Return the answers, the factors first."""
    result = [_factor(found, name) for name in found.table.roles.treatments if name in found.pairs]
    result += [_pieces(found, found.pieces[0])] if found.pieces else []
    result += _splits(found)
    result += [
        Answer(
            f"Does {m.margin.factor} {m.margin.level} cost no more than agreed?",
            {"not inferior": "yes", "undecided": "watch", "inferior": "no"}[m.verdict.verdict],  # type: ignore[arg-type]
            m.verdict.words,
            (Number("difference", m.difference, f"standard error {m.standard_error:.4g} on {m.df:.3g} df",
                    _source(found), unit=found.table.unit),
             Number("loss that was agreed to be bearable", m.bearable, m.margin.amount, "agreed before the trial",
                    unit=found.table.unit)),
        )
        for m in found.margins
    ]  # fmt: skip
    result += _years(found)
    return [*result, Answer("What was lost, and how was that treated?", _lost_state(found), losses_words(found), (),
                            found.analysis.warnings)]  # fmt: skip


def record(found: Findings) -> dict[str, Any]:
    """Return all findings for machines: answer, units, trace, warnings."""
    answer = {
        "method": found.analysis.method,
        "response": found.table.response,
        "unit": found.table.unit,
        "questions": [each.record("metric") for each in answers(found)],
        "tables": {t.title: [dict(zip(_keys(t.heads), row, strict=True)) for row in t.rows] for t in tables(found)},
        "terms": [vars(term) for term in found.analysis.terms],
        "lost_pots": [found.table.pot[i] for i in found.analysis.lost],
    }
    trace = {"files": list(found.table.sources), "guessed": list(found.table.said), "wetfoot": __version__}
    return {"answer": _finite(answer), "units": "metric", "trace": trace, "warnings": list(found.analysis.warnings)}


def _keys(heads: tuple[str, ...]) -> list[str]:
    """Return heads that are all different and not empty."""
    return [head or "mark" for head in heads] if len(set(heads)) == len(heads) else [
        f"{head} {at}" if heads.count(head) > 1 else head for at, head in enumerate(heads)
    ]  # fmt: skip


def _finite(value: Any) -> Any:
    """Return a result in which no number is infinite or not a number, which JSON does not have."""
    if isinstance(value, float):
        return value if value - value == 0 else None
    if isinstance(value, dict):
        return {key: _finite(each) for key, each in value.items()}
    return [_finite(each) for each in value] if isinstance(value, (list, tuple)) else value


def _source(found: Findings) -> str:
    return STRATA_SOURCE if found.is_exact else KR_SOURCE


def test_words(test: TermTest) -> str:
    """Return a test as it is written in a text."""
    if test.f is None or test.p is None or test.df_error is None:
        return "no test: the trial has no error to judge it by"
    df = f"{test.df_error:.0f}" if abs(test.df_error - round(test.df_error)) < 1e-6 else f"{test.df_error:.2f}"
    return f"F({test.df}, {df}) = {test.f:.2f}, p {p_words(test.p)}, judged by {test.stratum}s"


def _factor(found: Findings, name: str) -> Answer:
    """Return whether a factor changes the response, and by how much."""
    test, pair, table = found.analysis.term(name), found.pairs[name], found.table
    unit = f" {table.unit}" if table.unit else ""
    apart = interacting(Trial(table.y, table.factors, table.roles), found.analysis.terms, name, found.wish.alpha)
    shown = test.p is not None and test.p < found.wish.alpha
    state: State = "watch" if apart else "yes" if shown else "no"
    d = pair.differences
    means = ", ".join(
        f"{level}: {rounded(mean, float(d.se.max()))}{unit}"
        for level, mean in zip(pair.levels, pair.means, strict=True)
    )
    words = f"{'Yes' if shown else 'Not shown'}. Means {means}; {test_words(test)}."
    if len(pair.levels) == 2:
        places = decimals(float(d.se[0]))
        words += (
            f" {name} {pair.levels[1]} less {pair.levels[0]}: {-d.value[0]:+.{places}f}{unit} ({found.confidence} from "
            f"{-pair.high[0]:+.{places}f} to {-pair.low[0]:+.{places}f})."
        )
    parts = [c for c in found.analysis.contrasts if c.term == name]
    if parts:
        words += " Over its numbers: " + ", ".join(f"{c.degree} p {p_words(c.test.p)}" for c in parts) + "."
    if not shown and test.p is not None:
        words += " That no difference was shown does not mean that there is none: look at its interval."
    if apart:
        words += f" It depends on {' and '.join(apart)}: read it within each."
    numbers = tuple(
        Number(f"{name} {pair.levels[j]} less {pair.levels[i]}", -float(d.value[k]),
               f"standard error {d.se[k]:.4g}, {d.df[k]:.3g} df; {found.confidence} interval {-pair.high[k]:.4g} to "
               f"{-pair.low[k]:.4g}; p {p_words(float(d.p[k]))}, for all pairs "
               f"(Tukey) {p_words(float(pair.p_tukey[k]))}",
               _source(found), unit=table.unit)
        for k, (i, j) in enumerate(pair.pairs)
    )  # fmt: skip
    return Answer(f"Does {table.response_name} differ by {name}?", state, words, numbers)


def _pieces(found: Findings, pieces: Pieces) -> Answer:
    """Return how many pieces, by the curve."""
    question = "How many pieces in a pot?"
    best = pieces.best
    if best is None:
        return Answer(question, "watch", "The means do not follow the law of competition; no curve was drawn.", ())
    words = best.words
    if not pieces.follows:
        words = f"The means do not follow the curve (p of misfit {p_words(pieces.lack_p)}): read the means. {words}"
    state: State = "watch" if best.beyond_tested or not pieces.follows else "yes"
    numbers = [
        Number("best number of pieces", best.pieces, f"{found.confidence} interval {best.interval[0]:.2f} to "
               f"{best.interval[1]:.2f}; a piece counts as {pieces.seed_g:.3g} g of harvest", CURVE_SOURCE),
        *(Number(f"what piece {int(high)} adds", float(step[0]),
                 f"difference of means; {found.confidence} interval {step[1]:.4g} to {step[2]:.4g}", _source(found),
                 unit=found.table.unit)
          for high, step in zip(pieces.pieces[1:], pieces.step, strict=True)),
    ]  # fmt: skip
    return Answer(question, state, words, tuple(numbers))


def _splits(found: Findings) -> Iterator[Answer]:
    s = found.splits
    if s is None:
        if found.table.split is not None and not (found.table.split == 1).any():
            yield Answer("Do pots split?", "yes", "No pot split.", ())
        return
    numbers = tuple(
        Number(f"odds, {e.what}", e.odds_ratio,
               f"times; {found.confidence} interval {e.low:.3g} to {e.high:.3g}, p {p_words(e.p)}", SPLIT_SOURCE)
        for e in s.effects
    )  # fmt: skip
    yield Answer("Do pots split?", "watch", s.words, numbers)


def _years(found: Findings) -> Iterator[Answer]:
    years = found.analysis.years
    if years is None or not years.random_tests:
        return
    year = found.table.roles.year
    holds = [f"{term} (p {p_words(test.p)})" for term, test in years.random_tests.items() if test.p < found.wish.alpha]
    changes = [
        term.term for term in found.analysis.terms
        if term.term.startswith(f"{year}:") and term.p is not None and term.p < found.wish.alpha
    ]  # fmt: skip
    words = (
        f"All tests above are about these {len(found.table.years)} years. Taken as a sample of years, what holds is: "
        f"{', '.join(holds) or 'nothing that can be shown with so few years'}."
    )
    if changes:
        words += f" The years differ in {', '.join(changes)}: read the means year by year."
    yield Answer("Does it hold beyond these years?", "yes" if holds and not changes else "watch", words, ())


def _lost_state(found: Findings) -> State:
    return "watch" if found.analysis.lost or found.table.left_out else "yes"
