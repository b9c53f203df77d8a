"""The orders in which the glasses of a difference test stand: all of them, equally often, by chance."""

from collections import Counter

import numpy as np
import pytest

from cooperage.tasting.difference.designs import ORDERS, drawn_orders, is_right, orders_of
from cooperage.tasting.difference.question import DifferenceQuestion

QUESTIONS = [
    (DifferenceQuestion("triangle"), 6),
    (DifferenceQuestion("duo-trio"), 4),
    (DifferenceQuestion("duo-trio", reference="A"), 2),
    (DifferenceQuestion("paired"), 2),
    (DifferenceQuestion("3-afc", asked="oak", expected="A"), 3),
    (DifferenceQuestion("tetrad"), 6),
]


def drawn(question: DifferenceQuestion, tasters: int, seed: int) -> list[tuple[str, str]]:
    rng, there = np.random.default_rng(seed), list[tuple[str, str]]()
    for taster in map(str, range(tasters)):
        there += [(taster, order) for order in drawn_orders(question, list(there), taster, rng)]
    return there


@pytest.mark.parametrize(("question", "orders"), QUESTIONS, ids=range(len(QUESTIONS)))
def test_every_order_stands_equally_often(question: DifferenceQuestion, orders: int) -> None:
    """Over any number of tasters none more than once more often; after as many as there are orders, each once."""
    assert len(orders_of(question)) == orders
    for tasters in (1, orders, orders + 1, 3 * orders - 1):
        used = Counter(order for _, order in drawn(question, tasters, tasters))
        counts = [used[order] for order in orders_of(question)]
        assert sum(counts) == tasters
        assert max(counts) - min(counts) <= 1


def test_a_taster_has_no_order_twice_while_there_are_others() -> None:
    """Six rounds of a triangle are its six orders, whatever others had."""
    there = drawn(DifferenceQuestion("triangle", rounds=6), 3, 1)
    for taster in "012":
        assert sorted(order for who, order in there if who == taster) == sorted(ORDERS["triangle"])


def test_who_gets_which_is_drawn() -> None:
    """Two flights seldom agree; the same draw gives the same."""
    question = DifferenceQuestion("triangle")
    assert drawn(question, 6, 1) == drawn(question, 6, 1)
    assert len({tuple(drawn(question, 6, seed)) for seed in range(10)}) > 8


def test_which_answer_is_right() -> None:
    """Every glass of every order of each test, against what the tests ask for."""
    right = {
        "triangle": {"AAB": [2], "ABA": [1], "BAA": [0], "BBA": [2], "BAB": [1], "ABB": [0]},
        "duo-trio": {"AAB": [1], "ABA": [2], "BAB": [2], "BBA": [1]},
        "paired": {"AB": [1], "BA": [0]},
        "3-afc": {"AAB": [2], "ABA": [1], "BAA": [0]},
    }
    for test, orders in right.items():
        question = DifferenceQuestion(test, asked="oak" if test == "3-afc" else "", expected="B" * (test == "3-afc"))
        for order, places in orders.items():
            first = 1 if test == "duo-trio" else 0
            found = [place for place in range(first, len(order)) if is_right(question, order, [place])]
            assert found == places, (test, order)
    pairs = [(i, j) for i in range(4) for j in range(i + 1, 4)]
    for order in ORDERS["tetrad"]:
        alike = [pair for pair in pairs if is_right(DifferenceQuestion("tetrad"), order, pair)]
        assert alike == [pair for pair in pairs if order[pair[0]] == order[pair[1]]]
        assert len(alike) == 2
