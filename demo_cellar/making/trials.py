"""Two trials of blends: one that the panel has scored, one that is to be poured."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from itertools import combinations
from random import Random

from making.cast import HANDS
from making.diary import moment

COLUMNS = (
    "code", "question", "stocks", "limits", "design", "degree", "glasses", "step_ml", "scale", "tasters", "flights",
    "hand", "written", "withdrawn", "withdrawn_by", "why", "id",
)  # fmt: skip
GLASS_ML = 120
SCORED = ("TR-1", "how much buckwheat and quince does the heather carry?", ("T-1", "T-3", "T-6"), 0.0)
WAITING = ("TR-2", "sour-cherry for the winter blend: how much?", ("B-003", "B-004", "B-006"), 0.2)
PLANNED, WAITED = datetime(2026, 9, 28, 9, 20, tzinfo=UTC), datetime(2026, 11, 16, 10, 5, tzinfo=UTC)
POURED = datetime(2026, 9, 30, 13, 0, tzinfo=UTC)
# What the panel really likes of heather, buckwheat and quince: of each alone, and what two of them gain together.
ALONE, TOGETHER = (12.4, 11.6, 10.6), {(0, 1): 7.0, (0, 2): 3.4, (1, 2): 2.2}


def centroids(low: float) -> list[tuple[float, ...]]:
    """Return the equal blend of every set of three stocks, each stock at least `low` of it."""
    sets = [chosen for size in (1, 2, 3) for chosen in combinations(range(3), size)]
    free = 1 - 3 * low
    return [tuple(low + (free / len(chosen) if at in chosen else 0.0) for at in range(3)) for chosen in sets]


def trial_row(about: tuple[str, str, tuple[str, ...], float], written: datetime, rng: Random) -> dict[str, str]:
    """Return the row of trials.csv of a centroid design."""
    code, question, names, low = about
    stocks = [{"name": name, "vessels": [name], "low": low, "high": 1.0, "figures": {}} for name in names]
    planned = [[round(share, 12) for share in shares] for shares in centroids(low)]
    glasses = [
        {"session": 1, "planned": shares, "ml": [float(round(GLASS_ML * share)) for share in shares]}
        for shares in planned
    ]
    made = f"{int(written.timestamp() * 1000):012x}7000{(0b10 << 62) | rng.getrandbits(62):016x}"
    return {
        "code": code,
        "question": question,
        "stocks": json.dumps(stocks),
        "limits": "{}",
        "design": "centroid",
        "degree": "2",
        "glasses": json.dumps(glasses),
        "step_ml": "1",
        "scale": "0-20",
        "tasters": "; ".join(HANDS),
        "hand": "Maren",
        "written": moment(written),
        "id": made,
    }


def contents(code: str, number: int, names: Sequence[str], shares: Sequence[float]) -> str:
    """Return what is in a glass, as the bench writes it."""
    parts = [f"{round(GLASS_ML * share)} ml {name}" for name, share in zip(names, shares, strict=True) if share]
    return f"{code}/{number}: {', '.join(parts)}"


def liking(shares: Sequence[float]) -> float:
    """Return how good a blend really is, on the panel's scale."""
    alone = sum(share * each for share, each in zip(shares, ALONE, strict=True))
    return alone + sum(gain * shares[a] * shares[b] for (a, b), gain in TOGETHER.items())


def poured_rows(rng: Random) -> tuple[dict[str, str], list[dict[str, str]], list[dict[str, str]]]:
    """Return the flight of the scored trial, its scores, and the order in which each taster met the glasses."""
    code, _, names, low = SCORED
    revealed = POURED + timedelta(hours=2)
    flight = {"code": code, "name": f"trial {code}", "scale": "0-20", "poured": moment(POURED)}
    flight |= {"revealed": moment(revealed), "revealed_by": "Maren"}
    blends = list(enumerate(centroids(low), 1))
    codes = [str(each) for each in rng.sample(range(112, 989), len(blends))]
    leaning = {taster: rng.gauss(0, 0.7) for taster in HANDS}
    scores = []
    for position, (glass, (number, shares)) in enumerate(zip(codes, rng.sample(blends, len(blends)), strict=True), 1):
        for minutes, taster in enumerate(HANDS, 20):
            value = round(2 * (liking(shares) + leaning[taster] + rng.gauss(0, 0.8))) / 2
            row = {"flight": code, "glass": glass, "position": str(position), "taster": taster, "score": f"{value:g}"}
            row |= {"what": contents(code, number, names, shares)}
            scores.append(row | {"written": moment(POURED + timedelta(minutes=minutes))})
    servings = [
        {"flight": code, "taster": taster, "place": str(place), "drawn": moment(POURED)}
        | {"glasses": " ".join(rng.sample(codes, len(codes)))}
        for place, taster in enumerate(HANDS)
    ]
    return flight, scores, servings


def trial_rows(rng: Random) -> list[dict[str, str]]:
    """Return the rows of trials.csv."""
    return [
        trial_row(SCORED, PLANNED, rng) | {"flights": f"1={SCORED[0]}"},
        trial_row(WAITING, WAITED, rng),
    ]
