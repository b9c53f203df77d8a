"""One entry of the book in one line of words."""

from cooperage.book.journal import Move
from cooperage.book.log import Entry
from cooperage.book.places import OUTSIDE
from cooperage.book.properties import PROPERTIES
from cooperage.book.substances import SUBSTANCES, TREATMENTS
from cooperage.units import Quantity, Units, show, show_when

_NAMES = frozenset(place.value for place in OUTSIDE)


def entry_line(entry: Entry, units: Units, seen_from: str = "") -> str:
    """Tell when, what, and by whom: "2026-10-03 14:30  top B-017: 1.8 l from K-01  (Ada)"."""
    hand = f"  ({entry.hand})" if entry.hand else ""
    return f"{show_when(entry.happened_at)}  {entry_words(entry, units, seen_from)}{hand}"


def entry_words(entry: Entry, units: Units, seen_from: str = "") -> str:
    """Tell what was done, without when and by whom; a struck entry says so.

    Seen from a vessel's own page its tag is left out.
    """
    moves = sorted(entry.moves, key=lambda move: move.destination in _NAMES)  # what the hand did before what was lost
    parts = [*_particulars(entry, units), *(_move(move, entry.vessel, units) for move in moves)]
    parts += [_reading(entry, seq, units) for seq in range(len(entry.readings))]
    if entry.note:
        parts.append(f"“{entry.note}”")
    struck = "STRUCK: " if entry.struck_by else ""
    subject = "" if entry.vessel in (None, seen_from) else f" {entry.vessel}"
    told = ", ".join(parts)
    return f"{struck}{entry.kind}{subject}{': ' if told else ''}{told}"


def _particulars(entry: Entry, units: Units) -> list[str]:
    said = entry.said
    match entry.kind:
        case "treat":
            treatment = TREATMENTS.get(str(said.get("treatment")))
            return [treatment.label if treatment else str(said.get("treatment"))]
        case "look":
            return [f"{what} {said[what]}" for what in ("level", "bung", "smell") if said.get(what)]
        case "climate":
            air = (
                show(Quantity.TEMPERATURE, said["temperature"], units),
                show(Quantity.PERCENT, said["humidity"], units),
            )
            return [f"{said['room']} {air[0]}, {air[1]}"]
        case "addition":
            return [_addition(said.get("amount"), str(said.get("substance")), units)]
        case "bottle":
            return [f"{said.get('bottles')} bottles as {said.get('code')}"]
        case "retire":
            return [str(said.get("reason"))]
        case "shift":
            words = (f"{name} {said[name]}" for name in ("room", "row", "bay", "tier") if said.get(name))
            return [f"to {', '.join(words)}"]
        case "strike":
            return ["cancels an earlier entry"] if not entry.moves else []
    return []


def _addition(amount: float | None, name: str, units: Units) -> str:
    substance = SUBSTANCES.get(name)
    if substance is None or amount is None:
        return name
    is_volume = substance.quantity is Quantity.VOLUME
    return f"{show(substance.quantity, round(amount) if is_volume else amount, units)} of {substance.label}"


def _move(move: Move, subject: str | None, units: Units) -> str:
    litres = show(Quantity.VOLUME, move.ml, units)
    if move.destination == subject:
        return f"{litres} from {move.source}"
    origin = "" if move.source == subject or subject is None else f"from {move.source} "
    return f"{litres} {origin}{move.destination if move.destination in _NAMES else 'to ' + move.destination}"


def _reading(entry: Entry, seq: int, units: Units) -> str:
    read = entry.readings[seq]
    declared = PROPERTIES[read.property]
    return f"{declared.label} {show(declared.quantity, read.value, units)}"
