"""What brings each danger up: danger by danger, or why it cannot come up."""

from pathlib import Path
from typing import Any

from cooperage.blending.answer.answer import Answer, Draw
from cooperage.book import Book
from cooperage.book.dangers.dangers import DANGERS

ACTS: dict[str, tuple[str, dict[str, str]]] = {
    "flame near spirit": ("treat", {"vessel": "WHO", "treatment": "sniff"}),
    "strong spirit": ("addition", {"vessel": "T-1", "substance": "spirit", "amount": "1 L"}),
    "inside a tank": ("treat", {"vessel": "T-2", "treatment": "inspect"}),
    "sulphured barrel": ("treat", {"vessel": "SULPH", "treatment": "sniff"}),
    "sulphur dioxide": ("addition", {"vessel": "FULL", "substance": "metabisulphite", "amount": "5 g"}),
    "inert gas": ("treat", {"vessel": "PART", "treatment": "gas cover"}),
    "hot water and steam": ("treat", {"vessel": "DRY", "treatment": "steam"}),
    "caustic": ("treat", {"vessel": "DRY", "treatment": "caustic"}),
    "peracetic acid": ("treat", {"vessel": "DRY", "treatment": "peracetic acid"}),
    "ozone": ("treat", {"vessel": "DRY", "treatment": "ozone"}),
    "not rinsed": ("fill", {"vessel": "LYE", "from": "T-1", "volume": "100 L"}),
    "glass under pressure": ("bottle", {"vessel": "T-1", "code": "B-1", "bottles": "20"}),
    "keg under gas": ("top", {"vessel": "PART", "from": "K-1", "volume": "1 L", "not-full": "yes"}),
    "lifting": ("shift", {"vessel": "FULL", "room": "Loft"}),
}

STANDS_BEFORE = {
    "flame near spirit": "WHO",
    "strong spirit": "K-96",
    "inside a tank": "T-2",
    "sulphured barrel": "SULPH",
    "not rinsed": "LYE",
    "keg under gas": "K-1",
}
"""Dangers that lie in a vessel itself, and where."""

STOPS = {
    "flame near spirit": ("WHO", "sniff"),
    "strong spirit": ("THIRST", "top"),
    "sulphured barrel": ("SULPH", "sniff"),
    "not rinsed": ("LYE", "sniff"),
    "keg under gas": ("FULL", "top"),
}
"""Dangers that a stop of the rounds leads to."""

SIGNS = {
    "flame near spirit": ("RUM", "empty"),
    "sulphured barrel": ("SULPH", "empty"),
    "sulphur dioxide": ("FULL", "sulphite"),
    "inert gas": ("PART", "partial"),
    "glass under pressure": ("WORKS", "gravity"),
}
"""Dangers that the advice of a sign leads to."""

PLANS = {  # draws, doses, the vessel they go into
    "flame near spirit": ({"LAST": 225.0}, (), "T-2"),
    "strong spirit": ({"FULL": 50.0}, ("spirit",), "T-2"),
    "sulphured barrel": ({"FULL": 50.0}, (), "SULPH"),
    "sulphur dioxide": ({"LAST": 225.0}, (), "T-2"),
    "inert gas": ({"FULL": 50.0}, (), "T-2"),
    "not rinsed": ({"FULL": 50.0}, (), "T-LYE"),
    "glass under pressure": ({"FULL": 50.0}, ("honey",), "T-2"),
    "keg under gas": ({"K-1": 10.0}, (), "T-2"),
}
"""Dangers that come with a blend, in what is poured or in what it leaves behind."""

IN_THE_VESSEL_POURED_INTO = ("sulphured barrel", "not rinsed")

CALCULATED = {
    "strong spirit": ("mix", "--stream", "225l", "13.5", "60", "--stream", "10l", "96", "0"),
    "sulphur dioxide": ("dose", "225l", "--rise", "10"),
    "glass under pressure": ("honey", "--moisture", "18%", "--into", "225l", "13", "5", "--to-sugar", "40"),
}

RETIRED = {"flame near spirit": "RUM", "lifting": "RUM"}


class Why(str):
    """Why a danger cannot come up in a door."""

    __slots__ = ()


NO_SUCH_STOP = Why("no task of the rounds asks for such work")

NO_SUCH_SIGN = Why("no sign advises such work")

NOT_IN_A_BLEND = Why("no blend does that")

NOT_IN_A_FORMULA = Why("nothing that is calculated needs it")

NOT_IN_THE_VESSEL = Why("it comes with the work, not with the vessel")


def only(table: dict[str, Any], otherwise: str) -> dict[str, object]:
    """Complete a door's table: every danger has its scenario, or the reason why it has none."""
    assert set(table) <= set(DANGERS)
    return {name: table.get(name, otherwise) for name in DANGERS}


def planned(plan: tuple[dict[str, float], tuple[str, ...], str], cellar: Path) -> tuple[Answer, dict[str, Any]]:
    """Return an answer with these draws, and the brief it answers."""
    draws, doses, _ = plan
    book = Book.open(str(cellar))
    held = {tag: book.cellar()[tag].litres for tag in draws}
    book.close()
    parts = [Draw(tag, litres, held[tag] - litres) for tag, litres in draws.items()]
    parts += [Draw(name, 1.0, None) for name in doses]
    brief: dict[str, Any] = {"litres": sum(part.litres for part in parts), "dosing": {name: {} for name in doses}}
    return Answer("optimal", draws=tuple(parts), blend={"litres": brief["litres"]}), brief
