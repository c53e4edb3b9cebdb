"""The table of a trial as proceedings print it: means with letters, errors of differences, and a block of tests."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from wetfoot import __version__
from wetfoot.answers.trial_analysis import Findings
from wetfoot.answers.trial_cells import decimals, p_text, rounded, stars
from wetfoot.answers.trial_report_tables import losses_words
from wetfoot.trial.means import MeansTable


@dataclass(frozen=True)
class Proceedings:
    """A table in blocks: title, heads, blocks of rows (each with a heading, may be empty), and footnotes."""

    title: str
    heads: tuple[str, ...]
    blocks: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]
    footnotes: tuple[str, ...]


def proceedings(found: Findings, place: str = "", crop: str = "") -> Proceedings:
    """Return the table for proceedings.

    Content after Kramer, Paparozzi & Stroup 2019, HortScience 54(9):1605; the layout is common practice, no source.

    Args:
        found: the findings.
        place: where the trial stood.
        crop: what was grown.
    """
    table = found.table
    years = f", {', '.join(table.years)}" if table.years else ""
    where = f" at {place}" if place else ""
    pots = len(table.y) - len(found.analysis.lost)
    title = (
        f"{crop + ': ' if crop else ''}{table.response_name} of pots by {', '.join(table.roles.treatments)}"
        f"{where}{years} (n = {pots} weighed pots of {len(table.y)})"
    )
    blocks = [*_means(found), *_errors(found), ("Significance (p)", tuple(_tests(found)))]
    return Proceedings(title, ("", table.response_words, "", "pots split"), tuple(blocks), tuple(_footnotes(found)))


def _means(found: Findings) -> Iterator[tuple[str, tuple[tuple[str, ...], ...]]]:
    """Yield the main effects, then the interactions of two factors that are significant or hold a factor on boards."""
    terms = {term.term: term for term in found.analysis.terms}
    year = found.table.roles.year
    for means in found.analysis.means:
        if len(means.factors) == 1:
            yield means.factors[0], tuple(_rows(found, means))
    for means in found.analysis.means:
        if len(means.factors) == 2 and year not in means.factors:
            p = terms[":".join(means.factors)].p if ":".join(means.factors) in terms else None
            if (p is not None and p < found.wish.alpha) or set(means.factors) & set(found.table.roles.board_factors):
                yield " x ".join(means.factors), tuple(_rows(found, means))


def _rows(found: Findings, means: MeansTable) -> Iterator[tuple[str, ...]]:
    letters = _letters(found, means)
    for at, cell in enumerate(means.cells):
        value, se = float(means.estimates.value[at]), float(means.estimates.se[at])
        yield ", ".join(cell), rounded(value, se), letters.get(cell, ""), _split(found, means.factors, cell)


def _letters(found: Findings, means: MeansTable) -> dict[tuple[str, ...], str]:
    """Return the letters of a main effect, or of the second factor within the first."""
    *outer, inner = means.factors
    return {
        (*((each.within.removeprefix(f"{outer[0]} "),) if outer else ()), level): text
        for each in found.analysis.comparisons
        if each.factor == inner and (each.within.startswith(f"{outer[0]} ") if outer else not each.within)
        for level, text in zip(each.levels, each.letters_tukey, strict=True)
    }


def _split(found: Findings, factors: tuple[str, ...], cell: tuple[str, ...]) -> str:
    s = found.splits
    if s is None or factors != (s.factor,):
        return ""
    at = s.levels.index(cell[0])
    return f"{int(s.split[at])}/{int(s.pots[at])}"


def _errors(found: Findings) -> Iterator[tuple[str, tuple[tuple[str, ...], ...]]]:
    level = f"{100 * found.wish.alpha:g} %"
    rows = [
        (f"SED / LSD {level}, {each.what}", _both(each.sed, each.lsd), "", "")
        for each in found.analysis.differences
    ]  # fmt: skip
    rows.append(("CV between pots, %", f"{100 * found.analysis.cv:.1f}", "", ""))
    yield "Errors of differences", tuple(rows)


def _both(sed: float, lsd: float) -> str:
    return f"{sed:.{decimals(sed)}f} / {lsd:.{decimals(sed)}f}"


def _tests(found: Findings) -> Iterator[tuple[str, ...]]:
    parts: dict[str, list[tuple[str, float]]] = {}
    for contrast in found.analysis.contrasts:
        parts.setdefault(contrast.term, []).append((contrast.degree, contrast.test.p))
    numeric, year = found.table.roles.quantitative, found.table.roles.year
    for term in found.analysis.terms:
        p = term.p
        yield term.term.replace(":", " x "), "–" if p is None else p_text(p), stars(p), ""
        shape = len(term.term.split(":")) <= 2 and year not in term.term.split(":") and numeric
        for degree, p_degree in parts.get(term.term, []) if shape else ():
            yield f"{term.term.replace(':', ' x ')}, {degree}", p_text(p_degree), stars(p_degree), ""


def _footnotes(found: Findings) -> Iterator[str]:
    roles = found.table.roles
    design = "Split plot" if roles.board and roles.board_factors else "Pots"
    blocks = f" in {len(set(found.table.factors[roles.block].tolist()))} blocks" if roles.block else ""
    each = " in each year" if roles.year and blocks else ""
    on = (
        f": {', '.join(roles.board_factors)} on boards, {', '.join(roles.pot_factors)} on pots"
        if roles.board_factors
        else ""
    )
    yield f"{design}{blocks}{each}{on}."
    yield f"Means that share a letter do not differ (Tukey, {found.wish.alpha:g}); of a pair, within its first factor."
    yield losses_words(found)
    how = (
        "analysis of variance by strata"
        if found.is_exact
        else "Kenward-Roger F on the degrees of freedom of table 'Tests'"
    )
    yield f"Tests: {how}; ns, *, **, ***: p not below 0.05, below 0.05, 0.01, 0.001."
    yield f"Not transformed. Computed by Wetfoot {__version__}."
