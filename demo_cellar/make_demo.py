"""Write the demo cellar's CSV files anew: always the same, byte for byte.

    python demo_cellar/make_demo.py [FOLDER]

An invented meadery on a cold coast, from the autumn of 2024 to 20 November 2026. The files are in the import format
and go in through the same import as anybody's own. `making/` holds who is there, what really happens in the wood, and
what the hands write of it; it shares no code with the package, so the demo is no proof of itself.
"""

import sys
from pathlib import Path
from random import Random

from making.cast import FROM_2025, KEG_OF, ONLY_WHEN_OPENED, TANKS, Barrel, barrels
from making.diary import COLUMNS, Diary, in_written_order, write_csv
from making.honeys import BATCH_COLUMNS, HONEY_COLUMNS, batch_rows, honey_rows
from making.must import lot_row, must_rows, tank_row
from making.orders import COLUMNS as ORDER_COLUMNS
from making.orders import order_rows
from making.prices import CURRENCY, PRICE_COLUMNS, price_rows
from making.senses import sensed
from making.shop import shop_rows
from making.story import Story, plan_the_ordinary
from making.trials import COLUMNS as TRIAL_COLUMNS
from making.trials import poured_rows, trial_rows
from making.truth import Cask
from making.turns import Tastings, lots_rows, plan_the_turns

SEED = 20_241_121
VESSEL_COLUMNS = (
    "tag", "kind", "capacity", "capacity_how", "room", "row", "bay", "tier", "cooper", "wood", "forest",
    "seasoning_months", "toast_staves", "toast_heads", "char", "year", "acquired_on", "cost", "past_life", "past_kind",
    "fills_before", "topping", "top_every_days", "top_below", "taste_every_days", "sulphite_every_days",
    "sniff_every_days", "molecular_so2_floor_mg_l", "va_ceiling_g_l", "top_from", "note",
)  # fmt: skip
DAYS_BETWEEN = {"Low": 35, "Long": 28, "Loft": 28}


def barrel_row(barrel: Barrel) -> dict[str, str]:
    """Return a barrel's row of vessels.csv."""
    past, is_new = barrel.past, barrel.past.past_life == "new"
    is_opened_only = barrel.tag in ONLY_WHEN_OPENED
    return {
        "tag": barrel.tag,
        "kind": "barrel",
        "capacity": f"{barrel.capacity_ml / 1000:g} L",
        "capacity_how": barrel.capacity_how,
        "room": barrel.room.name,
        "row": barrel.row,
        "bay": str(barrel.bay),
        "tier": str(barrel.tier),
        "cooper": past.cooper,
        "wood": past.wood,
        "forest": past.forest,
        "seasoning_months": "30" if is_new else "",
        "toast_staves": past.toast,
        "toast_heads": barrel.toast_heads,
        "char": "" if past.char is None else str(past.char),
        "year": "" if barrel.year is None else str(barrel.year),
        "acquired_on": "2025-11-04" if barrel.tag in FROM_2025 else "2024-11-12",
        "cost": "" if barrel.fills_before is None else f"{past.cost}",
        "past_life": past.past_life,
        "past_kind": past.past_kind,
        "fills_before": "" if barrel.fills_before is None else str(barrel.fills_before),
        "topping": "opened" if is_opened_only else "interval",
        "top_every_days": "" if is_opened_only else str(DAYS_BETWEEN[barrel.room.name]),
        "taste_every_days": "120",
        "sulphite_every_days": "95",
        "sniff_every_days": "35",
        "molecular_so2_floor_mg_l": "0.4",
        "va_ceiling_g_l": "0.8 g/L",
        "top_from": KEG_OF[barrel.family],
    }


def vessel_rows(bought: list[Barrel]) -> list[dict[str, str]]:
    """Return the rows of vessels.csv."""
    rows = [barrel_row(barrel) for barrel in bought]
    for bay, (tag, size) in enumerate(TANKS, 1):
        rows.append({"tag": tag, "kind": "tank", "capacity": f"{size} L", "capacity_how": "measured", "room": "Press"})
        rows[-1] |= {"row": "T", "bay": str(bay)}
    rows.append(tank_row())
    for bay, (family, tag) in enumerate(KEG_OF.items(), 1):
        rows.append({"tag": tag, "kind": "keg", "capacity": "50 L", "capacity_how": "nominal", "room": "Low"})
        rows[-1] |= {"row": "K", "bay": str(bay), "note": f"tops the {family} barrels"}
    demijohn = {"kind": "demijohn", "capacity": "25 L", "capacity_how": "nominal", "room": "Press"}
    return rows + [{"tag": tag} | demijohn for tag in ("D-1", "D-2")]


def make(folder: Path) -> dict[str, int]:
    """Write all files and return the rows of each."""
    rng = Random(SEED)
    bought = barrels(rng)
    story = Story({barrel.tag: Cask(barrel) for barrel in bought}, Diary(rng), rng)
    tastings = Tastings(story, SEED + 2)
    plan_the_ordinary(story)
    plan_the_turns(story, tastings)
    story.run()
    chance = Random(SEED + 3)
    flight, scores, servings = poured_rows(chance)
    score_columns = (
        *("flight", "glass", "position", "vessel", "taster", "score", "marks", "words", "verdict", "weeks", "written"),
        "what",
    )
    flight_columns = ("code", "name", "scale", "poured", "revealed", "revealed_by", "attributes")
    lots = [*lots_rows(), lot_row()]
    beside = [*sensed(SEED + 1), *shop_rows(SEED + 4), *must_rows(SEED + 5)]
    tables = {
        "facts": (
            ("fact", "value"),
            [
                {"fact": "name", "value": "Oskmouth meadery"},
                {"fact": "currency", "value": CURRENCY},
            ],
        ),
        "vessels": (VESSEL_COLUMNS, vessel_rows(bought)),
        "lots": (tuple(lots[0]), lots),
        "entries": (COLUMNS, in_written_order([*story.diary.rows, *beside, *tastings.judged.rows])),
        "flights": (flight_columns, sorted([*tastings.flights, flight], key=lambda row: row["poured"])),
        "scores": (score_columns, [*tastings.scores, *scores]),
        "servings": (("flight", "taster", "place", "glasses", "drawn"), [*tastings.servings, *servings]),
        "orders": (ORDER_COLUMNS, order_rows()),
        "trials": (TRIAL_COLUMNS, trial_rows(chance)),
        "prices": (PRICE_COLUMNS, price_rows()),
        "honeys": (HONEY_COLUMNS, honey_rows()),
        "batches": (BATCH_COLUMNS, batch_rows()),
    }
    for name, (columns, rows) in tables.items():
        write_csv(folder / f"{name}.csv", columns, rows)
    return {name: len(rows) for name, (_, rows) in tables.items()}


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    print(", ".join(f"{count} {name}" for name, count in make(target).items()))
