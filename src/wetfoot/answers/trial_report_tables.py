"""The tables of a trial's report, the same in the terminal, on the page, on paper and in the workbook."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from wetfoot.answers.trial_analysis import Findings
from wetfoot.answers.trial_cells import Cell, ReportTable, stars
from wetfoot.trial.means import MeansTable


def main_tables(found: Findings) -> list[ReportTable]:
    """Return the tables that a terminal shows first: tests, main means, the curve, splits, margins, years."""
    means = [table for table in means_tables(found) if "and" not in table.title.rsplit(" by ", 1)[-1]]
    return [terms_table(found), *means, *pieces_tables(found), *_splits(found), *_margins(found), *_years(found)]


def tables(found: Findings) -> list[ReportTable]:
    """Return all tables of a report, the main ones first."""
    return [
        terms_table(found),
        *means_tables(found),
        *pairs_tables(found),
        *_shape(found),
        differences_table(found),
        *pieces_tables(found),
        *_splits(found),
        *_margins(found),
        *_years(found),
        *_counts(found),
        losses_table(found),
        components_table(found),
        *_randomised(found),
        checks_table(found),
        *_doubts(found),
    ]


def terms_table(found: Findings) -> ReportTable:
    """Return every term with the stratum whose error judges it."""
    a = found.analysis
    checked = a.components.get("board", 0.0) < 0 and not found.is_exact
    rows: list[tuple[Cell, ...]] = []
    for t in a.terms:
        held = a.bounded_tests[t.term].p if t.term in a.bounded_tests else None
        rows.append((t.term, t.stratum, t.df, t.df_error, t.f, t.p, stars(t.p), *((held,) if checked else ())))
    exact = "Analysis of variance by strata; nothing is lost, so it is exact."
    reml = (
        "REML with blocks fixed and boards random, the variance of boards free to fall below zero; Kenward-Roger F and "
        "degrees of freedom."
    )
    note = exact if found.is_exact else reml
    if checked:
        note += " Last column: a check with that variance held at zero or above."
    if any(t.f is None for t in a.terms):
        note += " Without F: the trial has no error to judge it by."
    heads = ("term", "stratum", "df", "error df", "F", "p", "", *(("p, held at 0",) if checked else ()))
    kinds = ("text", "text", "df", "df", "f", "p", "text", *(("p",) if checked else ()))
    return ReportTable(f"Tests of {found.table.response_name}", heads, tuple(rows), kinds, note)


def means_tables(found: Findings) -> list[ReportTable]:
    """Return the means of main effects and of pairs of factors, with letters for the main effects."""
    return [_means(found, table) for table in found.analysis.means if len(table.factors) <= 2]


def _means(found: Findings, table: MeansTable) -> ReportTable:
    letters = _letters(found, table.factors)
    d = table.estimates
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (*cell, float(d.value[i]), float(d.se[i]), float(d.df[i]), float(table.low[i]), float(table.high[i]),
         letters.get(cell, ""))
        for i, cell in enumerate(table.cells)
    )  # fmt: skip
    return ReportTable(
        f"Means of {found.table.response_words} by {' and '.join(table.factors)}",
        (*table.factors, "mean", "SE", "df", f"{found.confidence} from", "to", "letters"), rows,
        (*(["text"] * len(table.factors)), "n", "n", "df", "n", "n", "text"),
        f"SE is that of a mean in these blocks. Letters: means that share none differ (Tukey, {found.wish.alpha:g}).",
    )  # fmt: skip


def _letters(found: Findings, factors: tuple[str, ...]) -> dict[tuple[str, ...], str]:
    """Return the letters of each cell: over everything, or within the first factor."""
    result: dict[tuple[str, ...], str] = {}
    for each in found.analysis.comparisons:
        if len(factors) == 1 and each.factor == factors[0] and not each.within:
            result |= {(level,): text for level, text in zip(each.levels, each.letters_tukey, strict=True)}
        elif len(factors) == 2 and each.factor == factors[1] and each.within.startswith(f"{factors[0]} "):
            outer = each.within.removeprefix(f"{factors[0]} ")
            result |= {(outer, level): text for level, text in zip(each.levels, each.letters_tukey, strict=True)}
    return result


def pairs_tables(found: Findings) -> list[ReportTable]:
    """Return all pairs of levels, over everything and within those that a factor interacts with."""
    tables = {("", name): pair for name, pair in found.pairs.items()}
    tables |= {(each.within, each.factor): each for each in found.analysis.comparisons}
    rows: list[tuple[Cell, ...]] = []
    for (within, factor), each in tables.items():
        for k, (i, j) in enumerate(each.pairs):
            d = each.differences
            rows.append((factor, within, f"{each.levels[i]} less {each.levels[j]}", float(d.value[k]), float(d.se[k]),
                         float(d.df[k]), float(each.low[k]), float(each.high[k]), float(d.p[k]),
                         float(each.p_tukey[k])))  # fmt: skip
    heads = ("factor", "within", "pair", "difference", "SE", "df", f"{found.confidence} from", "to", "p", "p, Tukey")
    kinds = ("text", "text", "text", "n", "n", "df", "n", "n", "p", "p")
    note = "Intervals and the first p are not adjusted for the number of pairs."
    title = f"Differences of {found.table.response_words}"
    return [ReportTable(title, heads, tuple(rows), kinds, note)] if rows else []


def _shape(found: Findings) -> Iterator[ReportTable]:
    rows = tuple((c.term, c.degree, c.test.df, c.test.df_error, c.test.f, c.test.p) for c in found.analysis.contrasts)
    if rows:
        heads = ("term", "part", "df", "error df", "F", "p")
        yield ReportTable("Shape over the numbers, true spacing", heads, rows, ("text", "text", "df", "df", "f", "p"))


def differences_table(found: Findings) -> ReportTable:
    """Return the standard error of a difference for each kind of comparison."""
    rows = tuple((d.what, d.sed, d.df, d.lsd, d.hsd) for d in found.analysis.differences)
    level = f"{100 * found.wish.alpha:g} %"
    heads = ("two means that differ in", "SED", "df", f"LSD {level}", f"HSD {level}")
    note = f"Coefficient of variation between pots {100 * found.analysis.cv:.1f} %."
    title = f"Standard errors of a difference, {found.table.response_words}"
    return ReportTable(title, heads, rows, ("text", "n", "df", "n", "n"), note)


def pieces_tables(found: Findings) -> list[ReportTable]:
    """Return the curve over the number of pieces, over everything and within years or other factors."""
    if not found.pieces:
        return []
    rows: list[tuple[Cell, ...]] = []
    for each in found.pieces:
        best, curve = each.best, each.curve
        if curve is None or best is None:
            rows.append((each.where or "all", None, None, None, None, None, None, "", None))
            continue
        kept = ", ".join(str(number) for number in best.not_worse)
        rows.append((each.where or "all", 1 / curve.a, 1 / curve.b if curve.b > 0 else float("inf"), best.pieces,
                     best.interval[0], best.interval[1], best.best_tested, kept, each.lack_p))  # fmt: skip
    heads = ("where", "lone piece, g", "ceiling, g", "best number", f"{found.confidence} from", "to",
             "best tested", "not worse", "p of misfit")  # fmt: skip
    note = (
        f"Y = p / (a + b p) through the estimated means; a piece counts as {found.wish.seed_g:.3g} g of harvest. "
        "A best number outside the tested range is not recommended."
    )
    kinds = ("text", "n", "n", "n", "n", "n", "df", "text", "p")
    return [ReportTable("Competition of pieces in a pot", heads, tuple(rows), kinds, note)]


def _splits(found: Findings) -> Iterator[ReportTable]:
    s = found.splits
    if s is None:
        return
    rows = tuple(
        (level, int(s.pots[i]), int(s.split[i]), 100 * float(s.split[i] / s.pots[i]), 100 * float(s.low[i]),
         100 * float(s.high[i]))
        for i, level in enumerate(s.levels)
    )  # fmt: skip
    columns = (s.factor, "pots", "split", "%", f"{found.confidence} from", "to")
    yield ReportTable("Pots that split", columns, rows, ("text", "df", "df", "n", "n", "n"), s.words)
    effects = tuple((e.what, e.odds_ratio, e.low, e.high, e.p) for e in s.effects)
    if effects:
        sd = f" Boards differ by {s.board_sd:.2g} on the log-odds scale beyond that." if isfinite(s.board_sd) else ""
        note = f"Firth's logistic regression, profile intervals.{sd}"
        heads, kinds = ("what", "times", "from", "to", "p"), ("text", "n", "n", "n", "p")
        yield ReportTable("What multiplies the odds of splitting", heads, effects, kinds, note)


def _margins(found: Findings) -> Iterator[ReportTable]:
    rows = tuple(
        (f"{m.margin.factor} {m.margin.level} against {m.against}", m.difference, m.standard_error, m.df, -m.bearable,
         m.verdict.lower, m.verdict.verdict, m.verdict.p_value)
        for m in found.margins
    )  # fmt: skip
    if rows:
        heads = ("what", "difference", "SE", "df", "agreed", "at least", "verdict", "p, one-sided")
        yield ReportTable("Agreed margins", heads, rows, ("text", "n", "n", "df", "n", "n", "text", "p"))


def _years(found: Findings) -> Iterator[ReportTable]:
    years = found.analysis.years
    if years is None:
        return
    rows = tuple((term, test.df, test.df_error, test.f, test.p) for term, test in years.random_tests.items())
    note = f"Years taken as a sample of years: {years.note}."
    even = years.evenness
    if even:
        note += f" Error variance, largest year over smallest: {even.ratio:.1f} (Bartlett p = {even.p:.2g})."
    yield ReportTable("Does it hold in years like these?", ("term", "df", "error df", "F", "p"), rows,
                      ("text", "df", "df", "f", "p"), note)  # fmt: skip


def _counts(found: Findings) -> Iterator[ReportTable]:
    for each in found.counts:
        if each.tests:
            note = f"Quasi-Poisson regression, blocks taken off; scale {each.scale:.2f} (1: even as by chance)."
            yield ReportTable(f"Counts of {each.column}", ("factor", "F", "p"), each.tests, ("text", "f", "p"), note)


def losses_table(found: Findings) -> ReportTable:
    """Return the pots without a value, each with why."""
    table = found.table
    rows = tuple(
        (table.pot[i], *(str(table.factors[name][i]) for name in table.roles.treatments), table.lost[i] or "left out")
        for i in found.analysis.lost
    )
    heads = ("pot", *table.roles.treatments, "why")
    return ReportTable("Pots without a value", heads, rows, ("text",) * len(heads), losses_words(found))


def losses_words(found: Findings) -> str:
    """Return what was lost and how it was treated, in words."""
    lost, total = len(found.analysis.lost), len(found.table.y)
    if found.is_exact and not lost:
        return f"All {total} pots have a value; the strata apply exactly."
    how = "Strata no longer apply, so" if not found.is_exact else "The strata still apply exactly; otherwise"
    return (
        f"{lost} of {total} pots have no value. {how} all pots that are left are analysed together (REML, "
        "blocks fixed, boards random) with Kenward-Roger tests; no value is made up for a lost pot."
    )


def components_table(found: Findings) -> ReportTable:
    """Return the variance components, as fitted and held at zero, and the tests under the latter as a check."""
    a = found.analysis
    parts = a.components.items()
    rows: list[tuple[Cell, ...]] = [(f"variance of {n}s", v, a.bounded.get(n), None, None, None) for n, v in parts]
    rows += [(f"test of {term}", None, None, t.df_error, t.f, t.p) for term, t in a.bounded_tests.items()]
    heads = ("what", "as fitted", "held at or above 0", "error df", "F", "p")
    note = "The tests here are those with variances held at or above zero: a check, not the result."
    return ReportTable("Variances, and a check", heads, tuple(rows), ("text", "n", "n", "df", "f", "p"), note)


def _randomised(found: Findings) -> Iterator[ReportTable]:
    rows = tuple((t.term, t.p, t.smallest_p, t.shuffles, "all" if t.exact else "drawn") for t in found.randomised)
    if rows:
        note = "The share of arrangements that the lots could have given with an F as large."
        heads = ("term", "p", "smallest possible p", "arrangements", "")
        yield ReportTable("Tests by the lots alone", heads, rows, ("text", "p", "p", "df", "text"), note)


def checks_table(found: Findings) -> ReportTable:
    """Return the tests of the assumptions."""
    rows = tuple((c.name, c.statistic, c.p, "in doubt" if c.doubtful else "") for c in found.analysis.checks)
    return ReportTable("Assumptions", ("test", "statistic", "p", ""), rows, ("text", "n", "p", "text"))


def _doubts(found: Findings) -> Iterator[ReportTable]:
    rows = tuple((file, d.row or None, d.pot, d.column, d.value, d.what, d.done) for file, d in found.table.doubts)
    if rows:
        heads = ("file", "row", "pot", "column", "value", "what is doubtful", "what was done")
        yield ReportTable("Doubtful values", heads, rows, ("text", "df", "text", "text", "text", "text", "text"))
