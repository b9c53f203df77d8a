"""In which orders the glasses of a difference test may stand, who gets which, and which answer is right.

A triangle has six orders (ISO 4120), a duo-trio with its reference first four, or two where one sample is always the
reference (ISO 10399), a paired test two (ISO 5495), a 3-AFC three, a tetrad six. A set is given an order that was used
least so far, of those one that its taster had least, and of these one by chance: over any number of sets no order
stands more than once more often than another, and the next cannot be worked out from those before.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from cooperage.tasting.difference.question import DifferenceQuestion

if TYPE_CHECKING:
    import numpy as np

ORDERS: Mapping[str, tuple[str, ...]] = {
    "triangle": ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB"),
    "duo-trio": ("AAB", "ABA", "BAB", "BBA"),
    "paired": ("AB", "BA"),
    "3-afc": ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB"),
    "tetrad": ("AABB", "ABAB", "ABBA", "BBAA", "BABA", "BAAB"),
}


def orders_of(question: DifferenceQuestion) -> tuple[str, ...]:
    """Return the orders in which a question's glasses may stand, as letters of the samples."""
    every = ORDERS[question.test]
    if question.test == "3-afc":  # the one that is expected to have more stands once, against two of the other
        return tuple(order for order in every if order.count(question.expected) == 1)
    if question.reference:
        return tuple(order for order in every if order.startswith(question.reference))
    return every


def drawn_orders(
    question: DifferenceQuestion, there: Iterable[tuple[str, str]], taster: str, rng: "np.random.Generator"
) -> list[str]:
    """Return an order for each round of a taster; `there` are taster and order of every set drawn before."""
    used, own = Counter[str](), Counter[str]()
    for who, order in there:
        used[order] += 1
        own[order] += who == taster
    drawn = []
    for _ in range(question.rounds):
        order = _least_used(orders_of(question), used, own, rng)
        used[order] += 1
        own[order] += 1
        drawn.append(order)
    return drawn


def _least_used(orders: Sequence[str], used: Counter[str], own: Counter[str], rng: "np.random.Generator") -> str:
    fewest = min((used[order], own[order]) for order in orders)
    return str(rng.choice([order for order in orders if (used[order], own[order]) == fewest]))


def is_right(question: DifferenceQuestion, order: str, places: Sequence[int]) -> bool:
    """Return True if an answer counts: it is right, or where no sample was expected, it chose the second, B.

    `places`, from 0, are those of the glasses that were named among the set's own.
    """
    named = [order[place] for place in places]
    if question.test == "triangle":
        return order.count(named[0]) == 1
    if question.test == "duo-trio":
        return named[0] == order[0]
    if question.test == "tetrad":
        return named[0] == named[1]
    return named[0] == (question.expected or "B")
