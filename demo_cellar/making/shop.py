"""Where the bottles went: into stores, to who bought them; some tasted, some broken, and one case came back."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from making.diary import Diary

CAGE, LIBRARY = "Cage", "Library"
STOWED = (
    (date(2025, 12, 13), "SALT-25", "1384", CAGE),
    (date(2025, 12, 13), "SALT-25", "48", LIBRARY),
    (date(2026, 7, 11), "DUSK-26", "2056", CAGE),
    (date(2026, 7, 11), "DUSK-26", "48", LIBRARY),
)
SOLD_FROM = (("SALT-25", date(2026, 1, 14)), ("DUSK-26", date(2026, 8, 5)))
CUSTOMERS = (("Harbour inn", 4), ("Ferry shop", 3), ("Lantern kitchen", 2), ("Saltgate market", 5))
"""Who buys, and how many cases of twelve at a time, give or take one."""
EVERY, LAST_SALE, FIRST_INVOICE = timedelta(days=21), date(2026, 11, 18), 2601
BESIDE = (
    (date(2025, 12, 20), "remove", {"code": "SALT-25", "bottles": "6", "out_of": LIBRARY, "went": "tasted",
                                    "note": "first look, all four of us"}),
    (date(2026, 2, 17), "remove", {"code": "SALT-25", "bottles": "3", "out_of": CAGE, "went": "broken",
                                   "note": "case dropped on the ramp"}),
    (date(2026, 5, 12), "takeback", {"code": "SALT-25", "bottles": "12", "were": "sold", "in_": CAGE,
                                     "whose": "Harbour inn", "document": "2601", "note": "labels torn on the way"}),
    (date(2026, 6, 30), "remove", {"code": "SALT-25", "bottles": "120", "out_of": CAGE, "went": "in bond elsewhere",
                                   "to": "Osk bonded store", "document": "B-14"}),
    (date(2026, 7, 18), "remove", {"code": "DUSK-26", "bottles": "6", "out_of": LIBRARY, "went": "tasted"}),
    (date(2026, 10, 6), "remove", {"code": "DUSK-26", "bottles": "2", "out_of": CAGE, "went": "given away",
                                   "note": "harvest supper"}),
)  # fmt: skip
"""What happened to bottles beside what was stowed and sold."""
COUNTED_ON, MISSING = date(2026, 9, 30), {"SALT-25": 1, "DUSK-26": 0}
"""The autumn's count of the cage, and the bottles it did not find."""


def shop_rows(seed: int) -> list[dict[str, str]]:
    """Return the rows of all that happened to bottles; they draw on chance of their own."""
    rng = Random(seed)
    diary = Diary(rng)
    stowed = [
        (day, "stow", {"code": code, "bottles": count, "store": store, "hand": "Iko"})
        for day, code, count, store in STOWED
    ]
    done = sorted([*stowed, *BESIDE, *_sales(rng)], key=lambda each: each[0])
    done = sorted([*done, *_counts(done)], key=lambda each: each[0])
    for place, (day, kind, cells) in enumerate(done):
        when = datetime.combine(day, time(15, place % 60), UTC)
        diary.write(when, kind, **{"hand": "Tove"} | cells)
    return diary.rows


def _counts(done: list[tuple[date, str, dict[str, str]]]) -> Iterator[tuple[date, str, dict[str, str]]]:
    """Yield the autumn's count of the cage: what came in less what went out, and what was not found."""
    for code, missing in MISSING.items():
        moved = [cells for day, _, cells in done if day < COUNTED_ON and cells["code"] == code]
        came = sum(int(cells["bottles"]) for cells in moved if CAGE in (cells.get("store"), cells.get("in_")))
        went = sum(int(cells["bottles"]) for cells in moved if cells.get("out_of") == CAGE)
        yield COUNTED_ON, "stocktake", {"code": code, "bottles": f"{came - went - missing}", "in_": CAGE}


def _sales(rng: Random) -> Iterator[tuple[date, str, dict[str, str]]]:
    """Yield a sale every three weeks or so of each bottling, invoices numbered as the days go."""
    days = sorted(
        (first + EVERY * nth, code) for code, first in SOLD_FROM for nth in range((LAST_SALE - first) // EVERY + 1)
    )
    for nth, (day, code) in enumerate(days):
        customer, cases = CUSTOMERS[nth % len(CUSTOMERS)]
        sold = cases + rng.choice((-1, 0, 0, 1))
        cells = {"code": code, "bottles": f"{12 * sold}", "out_of": CAGE, "went": "sold", "to": customer}
        yield day, "remove", cells | {"document": f"{FIRST_INVOICE + nth}"}
