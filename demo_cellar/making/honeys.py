"""The honey that came to the meadery, and the batch sheets of four lots; masses are such that the gravities agree."""

HONEY_COLUMNS = (
    "code", "mass", "producer", "floral", "harvest", "supplier_lot", "moisture", "method", "price_per_kg", "came_on",
    "hand", "written", "id",
)  # fmt: skip
BATCH_COLUMNS = (
    "lot", "water", "honeys", "juices", "yeast", "tolerance", "coolest", "warmest", "nutrient_nitrogen_mg_g", "hand",
    "written", "id",
)  # fmt: skip


def honey_rows() -> list[dict[str, str]]:
    """Return the rows of honeys.csv."""
    rows = (
        ("HB-1", "620 kg", "hives on the outer moor", "heather", "August 2025", "M-7", "18.4 %", "8.60", "2025-08-20"),
        ("HB-2", "900 kg", "hives of the harbour lime walk", "lime-blossom", "July 2025", "", "17.1 %", "7.20",
         "2025-08-01"),
        ("HB-3", "480 kg", "a beekeeper inland", "buckwheat", "August 2025", "25-31", "17.8 %", "6.10", "2025-08-22"),
        ("HB-4", "240 kg", "hives on the outer moor", "heather", "August 2026", "M-9", "18.2 %", "8.90", "2026-10-21"),
    )  # fmt: skip
    names = HONEY_COLUMNS[:7]
    return [
        dict(zip(names, row[:7], strict=True))
        | {"method": "refractometer", "price_per_kg": row[7], "came_on": row[8], "hand": "Jory"}
        | {"written": f"{row[8]}T09:00Z", "id": f"demo-honey-{nth}"}
        for nth, row in enumerate(rows, 1)
    ]


def batch_rows() -> list[dict[str, str]]:
    """Return the rows of batches.csv."""
    rows = (
        ("HE-25", "572 L", "HB-1=205000 g", "13", "2025-08-24"),
        ("LB-25", "1640 L", "HB-2=800000 g", "13", "2025-08-27"),
        ("BW-25", "630 L", "HB-3=402000 g", "14", "2025-08-30"),
        ("HE-26", "496 L", "HB-4=178000 g", "13", "2026-11-06"),
    )
    return [
        {"lot": lot, "water": water, "honeys": honeys, "yeast": "the house yeast", "tolerance": f"{bears} %"}
        | {"coolest": "14 C", "warmest": "22 C", "nutrient_nitrogen_mg_g": "90", "hand": "Jory"}
        | {"written": f"{day}T08:00Z", "id": f"demo-batch-{nth}"}
        for nth, (lot, water, honeys, bears, day) in enumerate(rows, 1)
    ]
