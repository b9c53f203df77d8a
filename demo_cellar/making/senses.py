"""What instruments on the wall and noses at the bung said: the rooms' air every Monday, and looks at a few barrels."""

import math
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from making.cast import HANDS
from making.diary import Diary

FIRST_MONDAY, LAST_DAY = date(2025, 1, 6), date(2026, 11, 20)
AIR = {"Low": (11.0, 1.5, 84.0), "Long": (12.5, 3.5, 75.0), "Loft": (13.5, 6.0, 66.0)}
"""Each room's temperature [°C], how far summer and winter are from it, and relative humidity [%]."""
LOOKS = (
    (date(2025, 6, 16), "B-046", {"smell": "egg", "note": "stirred; look again"}),
    (date(2025, 7, 14), "B-046", {"smell": "sound"}),
    (date(2025, 9, 8), "B-016", {"bung": "weeping", "note": "silicone worn, changed it"}),
    (date(2026, 3, 9), "B-016", {"bung": "tight"}),
    (date(2026, 8, 17), "B-025", {"bung": "tight", "note": "floor damp under the lower chime"}),
    (date(2026, 9, 14), "B-025", {"level": "very low", "note": "chime wet again"}),
    (date(2026, 11, 16), "B-028", {"smell": "vinegar"}),
)


def sensed(seed: int) -> list[dict[str, str]]:
    """Return the rows of all climate entries and looks; they draw on chance of their own."""
    rng = Random(seed)
    diary = Diary(rng)
    monday = FIRST_MONDAY
    while monday <= LAST_DAY:
        for minute, (room, air) in enumerate(AIR.items()):
            when = datetime.combine(monday, time(7, 40 + 5 * minute), UTC)
            _read_air(diary, when, room, air, rng)
        monday += timedelta(days=7)
    for place, (day, tag, seen) in enumerate(LOOKS):
        when = datetime.combine(day, time(16, 20 + place), UTC)
        diary.write(when, "look", rng.choice(HANDS), vessel=tag, **seen)
    return diary.rows


def _read_air(diary: Diary, when: datetime, room: str, air: tuple[float, float, float], rng: Random) -> None:
    mean, swing, humidity = air
    celsius = mean + swing * math.cos(2 * math.pi * (when.timetuple().tm_yday - 205) / 365) + rng.gauss(0, 0.4)
    damp = humidity - 0.8 * (celsius - mean) + rng.gauss(0, 2)
    shown = {"temperature": f"{celsius:.1f} C", "humidity": f"{damp:.0f} %"}
    diary.write(when, "climate", rng.choice(HANDS), room=room, **shown)
