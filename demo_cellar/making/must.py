"""The lot that ferments while the demo is looked at: its must in a tank of its own, read every day or two."""

import math
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from making.diary import Diary

LOT, TANK, TANK_L = "HE-26", "T-8", 800
PITCHED = date(2026, 11, 6)
ORIGINAL, ENDS_NEAR = 1.0902, 0.999
READ_ON = (0, 1, 2, 3, 4, 5, 6, 7, 9, 10, 11, 13, 14)
"""Days from pitching on which its hydrometer was read: every day at first, weekends left out later."""
FED_ON = ((1, "210 g"), (3, "210 g"), (5, "140 g"))
HANDS = ("Jory", "Iko")


def lot_row() -> dict[str, str]:
    """Return its row of lots.csv: it has not finished, so it has no strength yet."""
    return {
        "code": LOT, "name": "Heather 2026", "honey": "heather", "original_sg": "1.090", "cost_per_l": "6.90",
        "pitched_on": PITCHED.isoformat(),
    }  # fmt: skip


def tank_row() -> dict[str, str]:
    """Return the row of vessels.csv of the tank it ferments in."""
    return {
        "tag": TANK, "kind": "tank", "capacity": f"{TANK_L} L", "capacity_how": "measured", "room": "Press",
        "row": "T", "bay": "8", "note": "the fermenting tank",
    }  # fmt: skip


def gravity_on(day: float) -> float:
    """Return the must's true gravity so many days from pitching: slow at first, steepest on the sixth day."""
    return ENDS_NEAR + (ORIGINAL - ENDS_NEAR) * (1 + math.exp(-5.8 / 3.4)) / (1 + math.exp((day - 5.8) / 3.4))


def must_rows(seed: int) -> list[dict[str, str]]:
    """Return the rows of its receipt, its readings and its nutrient; they draw on chance of their own."""
    rng = Random(seed)
    diary = Diary(rng)
    pitched = datetime.combine(PITCHED, time(14, 0), UTC)
    diary.write(pitched, "receive", "Jory", lot=LOT, vessel=TANK, volume="621 l", note="pitched with the house yeast")
    for day in READ_ON:
        at = datetime.combine(PITCHED + timedelta(days=day), time(16, 30), UTC)
        warmth = 17.0 + 2.6 * math.exp(-(((day - 5.5) / 3.5) ** 2)) + rng.gauss(0, 0.3)
        cells = {"property": "sg", "value": f"{gravity_on(day) + rng.gauss(0, 0.0005):.3f}"}
        diary.write(at, "reading", HANDS[day % 2], vessel=TANK, **cells)
        warm = {"property": "temperature_c", "value": f"{warmth:.1f} C"}
        diary.write(at + timedelta(minutes=2), "reading", HANDS[day % 2], vessel=TANK, **warm)
    for day, amount in FED_ON:
        at = datetime.combine(PITCHED + timedelta(days=day), time(9, 15), UTC)
        diary.write(at, "addition", "Jory", vessel=TANK, substance="nutrient", amount=amount)
    return diary.rows
