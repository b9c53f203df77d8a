"""Who is in the demo cellar: rooms, vessels, lots and people. Every name is invented."""

from dataclasses import dataclass
from datetime import date
from random import Random

HANDS = ("Maren", "Jory", "Tove", "Iko")


@dataclass(frozen=True)
class Room:
    """A room: how much of a 225 L barrel leaves it in a year [fraction], and how summer changes that."""

    name: str
    yearly_loss: float
    summer: float
    strength_drift: float  # [% vol in a year]: dry air takes water, damp air takes spirit


ROOMS = {
    room.name: room
    for room in (Room("Low", 0.020, 0.15, -0.06), Room("Long", 0.034, 0.30, 0.02), Room("Loft", 0.055, 0.50, 0.14))
}


@dataclass(frozen=True)
class Lot:
    """A batch of mead, as its hydrometer and its lab slip show it."""

    code: str
    name: str
    honey: str
    original_sg: float
    final_sg: float
    abv: float
    ta: float
    ph: float
    cost_per_l: float
    received: date
    litres: int
    tank: str


LOTS = (
    Lot("HE-24", "Heather", "heather", 1.088, 0.998, 11.8, 5.4, 3.52, 6.80, date(2024, 11, 22), 2500, "T-1"),
    Lot("LB-24", "Lime-blossom", "lime-blossom", 1.112, 1.022, 12.0, 5.9, 3.41, 6.20, date(2024, 11, 25), 1550, "T-2"),
    Lot("BW-24", "Buckwheat", "buckwheat", 1.132, 1.034, 13.2, 5.1, 3.66, 5.40, date(2024, 12, 2), 2300, "T-3"),
    Lot("SC-24", "Sour-cherry", "lime-blossom", 1.113, 1.018, 12.7, 7.4, 3.34, 8.10, date(2024, 12, 9), 2350, "T-4"),
    Lot("BC-24", "Blackcurrant", "heather", 1.110, 1.020, 12.1, 7.9, 3.27, 8.60, date(2024, 12, 16), 2300, "T-5"),
    Lot("QU-25", "Quince", "lime-blossom", 1.095, 1.005, 12.0, 6.6, 3.38, 7.20, date(2025, 1, 13), 2350, "T-6"),
    Lot("HE-25", "Heather", "heather", 1.090, 1.000, 11.9, 5.5, 3.50, 7.00, date(2025, 11, 28), 700, "T-1"),
    Lot("LB-25", "Lime-blossom", "lime-blossom", 1.116, 1.024, 12.2, 5.8, 3.42, 6.50, date(2025, 12, 1), 2150, "T-2"),
    Lot("BW-25", "Buckwheat", "buckwheat", 1.138, 1.040, 13.3, 5.0, 3.68, 5.60, date(2025, 12, 4), 900, "T-3"),
)
FAMILIES = ("HE", "LB", "BW", "SC", "BC", "QU")
TANKS = (*((f"T-{number}", 3000) for number in range(1, 7)), ("T-7", 2000))
KEGS = tuple(f"K-0{number}" for number in range(1, 7))
TANK_OF = dict(zip(FAMILIES, (tag for tag, _ in TANKS), strict=False))
KEG_OF = dict(zip(FAMILIES, KEGS, strict=True))


@dataclass(frozen=True)
class Past:
    """A kind of barrel as it can be bought: its wood and what it held before."""

    wood: str
    forest: str
    cooper: str
    past_life: str
    past_kind: str
    litres: int
    fills: tuple[int, ...]
    toast: str
    cost: int
    char: int | None = None
    spirit: float = 0.0  # [% vol] that the wood can give a first fill


PASTS = {
    "new": Past("pedunculate oak", "Lower Varn", "Two Adzes", "new", "none", 225, (0,), "medium", 690),
    "white": Past("sessile oak", "Osk hills", "The Ninth Hoop", "white wine", "wine", 225, (1, 2, 3, 4), "light", 160),
    "red": Past("sessile oak", "Osk hills", "Two Adzes", "red wine", "wine", 225, (2, 3, 4, 5), "medium plus", 140),
    "fortified": Past(
        "white oak", "Ember ridge", "Saltgate staves", "fortified wine", "fortified", 500, (1, 2, 3), "medium", 310
    ),
    "whiskey": Past("white oak", "Ember ridge", "Saltgate staves", "whiskey", "spirit", 200, (1, 2), "", 150, 3, 0.85),
    "rum": Past("white oak", "Ember ridge", "Saltgate staves", "rum", "spirit", 200, (1, 2), "", 170, 2, 0.6),
    "apple": Past(
        "sessile oak", "Osk hills", "The Ninth Hoop", "apple spirit", "spirit", 225, (3, 4), "light", 190, None, 0.4
    ),
    "stout": Past("white oak", "Ember ridge", "Two Adzes", "stout", "beer", 200, (2, 3), "", 90, 3),
    "cider": Past("chestnut", "Thirlmark", "The Ninth Hoop", "cider", "other", 225, (1, 3), "light", 120),
    "maple": Past("white oak", "Ember ridge", "Saltgate staves", "maple syrup", "other", 110, (1, 2), "medium", 130),
    "acacia": Past("acacia", "Thirlmark", "Two Adzes", "new", "none", 225, (0,), "light", 420),
    "cherry": Past("cherry", "Lower Varn", "The Ninth Hoop", "new", "none", 110, (0,), "light", 260),
    "mulberry": Past("mulberry", "Thirlmark", "The Ninth Hoop", "white wine", "wine", 110, (1, 2), "medium", 240),
}
BOUGHT = (
    ("Low", "AB", 5, ("white", "red", "new", "acacia", "white", "cider", "apple", "fortified", "red", "white")),
    ("Long", "AB", 5, ("whiskey", "red", "new", "rum", "stout", "white", "whiskey", "cider", "fortified", "red")),
    ("Loft", "A", 6, ("maple", "cherry", "mulberry", "rum", "maple", "white", "cherry", "whiskey", "acacia", "stout")),
)
UNKNOWN_FILLS = ("B-011", "B-029", "B-046")
FROM_2025 = ("B-008", "B-016", "B-024", "B-032", "B-038", "B-045", "B-050", "B-051")
ONLY_WHEN_OPENED = ("B-009", "B-026")


@dataclass
class Barrel:
    """A barrel as bought: where it lies, what it is, and which family of mead it is meant for."""

    tag: str
    past: Past
    room: Room
    row: str
    bay: int
    tier: int
    capacity_ml: int
    capacity_how: str
    fills_before: int | None
    year: int | None
    family: str
    first_fill: date
    tightness: float
    toast_heads: str = ""


def barrels(rng: Random) -> list[Barrel]:
    """Buy 52 barrels and lay them in their rooms, in walking order."""
    bought: list[Barrel] = []
    for room, rows, bays, pasts in BOUGHT:
        places = [(row, bay, tier) for row in rows for bay in range(1, bays + 1) for tier in (1, 2)]
        for place, (row, bay, tier) in enumerate(places):
            bought.append(
                _barrel(len(bought) + 1, PASTS[pasts[place % len(pasts)]], ROOMS[room], (row, bay, tier), rng)
            )
    return bought


def _barrel(number: int, past: Past, room: Room, place: tuple[str, int, int], rng: Random) -> Barrel:
    tag = f"B-{number:03d}"
    is_measured = rng.random() < 0.4
    off_nominal = round(rng.gauss(0, 0.006) * past.litres * 10) * 100 if is_measured else 0
    how = "measured" if is_measured else "unknown" if tag == "B-011" else "nominal"
    family = FAMILIES[(number - 1) % len(FAMILIES)]
    fills = None if tag in UNKNOWN_FILLS else rng.choice(past.fills)
    year = None if rng.random() < 0.12 else 2024 - (fills or 0) * 2 - rng.randrange(2)
    heads = rng.choice(("", "", past.toast, "untoasted")) if past.toast else ""
    return Barrel(
        tag, past, room, *place, past.litres * 1000 + off_nominal, how, fills, year, family,
        _first_fill(tag, family, rng), max(0.6, rng.gauss(1.0, 0.14)), heads,
    )  # fmt: skip


def _first_fill(tag: str, family: str, rng: Random) -> date:
    """Fill most barrels in the first winter, and those bought in 2025 with what remains or the new lots."""
    if tag in FROM_2025:
        return date(2025, 12, 9 + rng.randrange(5))
    received = next(lot.received for lot in LOTS if lot.code.startswith(family))
    return date.fromordinal(received.toordinal() + 3 + rng.randrange(12))
