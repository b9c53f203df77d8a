"""What the lead has ordered for the days after the story ends: one is late, one cannot be done as it stands."""

import json
from datetime import date

COLUMNS = ("number", "day", "place", "kind", "fields", "of_each", "note", "hand", "written", "state", "id")
_WRITTEN = "2026-11-18T16:{:02}Z"
_ID = "01a1eb{:026x}"
_ORDERS: tuple[tuple[date, str, dict[str, str], str, str], ...] = (
    (
        date(2026, 11, 19),
        "addition",
        {"vessel": "B-033", "substance": "metabisulphite", "amount": "13.0 g"},
        "stir it in; measure again next week",
        "Tove",
    ),
    (
        date(2026, 11, 21),
        "rack",
        {"vessel": "B-005", "to": "T-5", "lees": "2.0 L", "empties": "yes"},
        "the wood is neutral by now",
        "Jory",
    ),
    (
        date(2026, 11, 21),
        "fill",
        {"vessel": "B-034", "from": "T-4", "volume": "200.0 L"},
        "sniff it first",
        "Jory",
    ),
    (
        date(2026, 11, 21),
        "shift",
        {"vessel": "B-044", "room": "Low", "row": "C", "bay": "1", "tier": "1"},
        "the loft dries it out",
        "Iko",
    ),
    (
        date(2026, 11, 22),
        "sample",
        {"vessel": "B-001,B-002,B-007", "volume": "0.1 L"},
        "for the next flight",
        "Maren",
    ),
    (
        date(2026, 11, 24),
        "bottle",
        {"vessel": "T-6", "bottles": "300", "code": "QUINCE-26"},
        "",
        "Maren",
    ),
)


def order_rows() -> list[dict[str, str]]:
    """Return the rows of orders.csv, in the sequence in which they are to be done."""
    return [
        {
            "number": str(number),
            "day": day.isoformat(),
            "place": str(number),
            "kind": kind,
            "fields": json.dumps(fields),
            "of_each": "{}",
            "note": note,
            "hand": hand,
            "written": _WRITTEN.format(number),
            "state": "open",
            "id": _ID.format(number),
        }
        for number, (day, kind, fields, note, hand) in enumerate(_ORDERS, 1)
    ]
