"""Squares that put every treatment once on every board and once in every position along the boards."""

from __future__ import annotations

from wetfoot.trial.random_stream import RandomStream

Square = list[list[int]]


def cyclic_square(n: int) -> Square:
    """Return the n x n Latin square whose rows are 0 ... n - 1, each moved on by one.

    Source: the standard cyclic square, Fisher & Yates 1963, Statistical Tables (from memory).

    Raises:
        ValueError: if n is below 2.
    """
    _check_order(n)
    return [[(row + column) % n for column in range(n)] for row in range(n)]


def neighbour_rows(n: int) -> Square:
    """Return rows in which all treatments have each other as neighbours equally often, and stand once in each column.

    For even n they are one square, each ordered pair being left-right neighbours once; for odd n they are two squares
    (the second is the first mirrored), each ordered pair being neighbours twice.

    Source: Williams 1949, Australian Journal of Scientific Research A2:149-168 (from memory): the first row is
    0, 1, n-1, 2, n-2, ..., and row i adds i modulo n.

    Args:
        n: how many treatments.

    Returns:
        rows of treatment numbers 0 ... n - 1: n of them for even n, 2 n for odd n.

    Raises:
        ValueError: if n is below 2.
    """
    _check_order(n)
    first = [(place + 1) // 2 if place % 2 else (n - place // 2) % n for place in range(n)]
    rows = [[(each + step) % n for each in first] for step in range(n)]
    return rows if n % 2 == 0 else rows + [row[::-1] for row in rows]


def random_latin_rows(n: int, stream: RandomStream) -> Square:
    """Return a random Latin square: the cyclic one with columns, rows and treatments shuffled.

    Every treatment has the same chance of every place and every two treatments of every two places, which is what a
    valid analysis needs; not all Latin squares can come out.
    """
    base = cyclic_square(n)
    columns = stream.shuffled(range(n))
    rows = stream.shuffled([[row[column] for column in columns] for row in base])
    return _relabelled(rows, stream)


def random_neighbour_rows(n: int, stream: RandomStream) -> Square:
    """Return a random neighbour-balanced square, or pair for odd n; columns stay, or balance would be lost."""
    return _relabelled(stream.shuffled(neighbour_rows(n)), stream)


def _relabelled(rows: Square, stream: RandomStream) -> Square:
    labels = stream.shuffled(range(len(rows[0])))
    return [[labels[each] for each in row] for row in rows]


def _check_order(n: int) -> None:
    if n < 2:
        raise ValueError(f"n = {n}: a square needs at least 2 treatments")
