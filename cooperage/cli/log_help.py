"""The help of the fields of `cooperage log`, where there is more to it than the label that is declared with the act."""

from cooperage.book.declared.fields import FieldSpec
from cooperage.book.declared.places import OUTSIDE

PLACES = ", ".join(place.value for place in OUTSIDE)


FIELD_HELP: dict[str, tuple[str, str]] = {
    "receive.vessel": ("TAG", "Tank that takes it, such as T-1."),
    "fill.vessel": ("BARREL", "Tag of the barrel, such as B-001."),
    "top.vessel": ("BARREL", "Tag of the barrel, such as B-001."),
    "rack.vessel": ("TAG", "Vessel it comes out of, such as B-010."),
    "blend.vessel": ("TAG", "Vessel the blend goes into, such as T-4."),
    "bottle.vessel": ("TAG", "Vessel that is bottled, such as T-1."),
    "retire.reason": ("TEXT", "Why it is retired, such as 'stave split'."),
    "disposition": ("TEXT", "What became of it, such as 'sold to a gardener'."),
    "received": ("MONEY", "What it was sold for; leave it out if unknown."),
    "fill.volume": ("VOLUME", "How much goes in (default: to the bung)."),
    "rack.volume": ("VOLUME", "How much is racked (default: all of it)."),
    "gauge.volume": ("VOLUME", "How much is in the vessel, such as 109 L."),
    "climate.room": ("ROOM", "Room, as `barrels` shows it."),
    "vessel": ("TAG", "Tag of a vessel, such as B-001."),
    "lot": ("LOT", "Code of the lot, such as HE-24."),
    "volume": ("VOLUME", "How much, such as 1.4 L, 40 mL or 0.4 gal."),
    "source": ("TAG", "Keg or tank it is topped from."),
    "destination": ("PLACE", f"Vessel, or an outside place: {PLACES}."),
    "not_full": ("", "Leaves the barrel short of full."),
    "cause": ("CAUSE", "Place that what is missing is put down to"),
    "lees": ("VOLUME", "What stayed behind as lees."),
    "empties": ("", "Leaves the vessel empty."),
    "headspace": ("LENGTH", "Dry depth under the bung, such as 40 mm."),
    "property": ("PROPERTY", "What was read"),
    "value": ("VALUE", "Figure that was read, in the property's unit."),
    "uncertainty": ("VALUE", "Uncertainty (±) of the figure, such as 0.02."),
    "method": ("TEXT", "Method, such as hydrometer or lab."),
    "substance": ("SUBSTANCE", "What was added"),
    "amount": ("AMOUNT", "How much, such as 8 g, 2 kg or 5 L."),
    "treatment": ("TREATMENT", "What was done"),
    "verdict": ("VERDICT", "What was decided"),
    "weeks": ("NUMBER", "Weeks until it is tasted again, with 'look again'."),
    "flight": ("FLIGHT", "Flight in which it was tasted, such as F-4."),
    "level": ("LEVEL", "Height of the mead"),
    "bung": ("STATE", "State of the bung"),
    "smell": ("TEXT", "What it smells of, such as sound, vinegar or mould."),
    "room": ("ROOM", "Room it is in now."),
    "row": ("ROW", "Row in the room, such as A."),
    "bay": ("NUMBER", "Place along the row, counted from 1."),
    "tier": ("NUMBER", "Height in the stack, 1 at the floor."),
    "temperature": ("TEMPERATURE", "On the thermometer, such as 12 °C."),
    "humidity": ("PERCENT", "Relative humidity, such as 82 %."),
    "draws": ("DRAWS", "Vessels and volumes, as 'B-041=20 L; B-042=30 L'."),
    "doses": ("DOSES", "Substances and amounts, as 'honey=2 kg'."),
    "plan": ("TEXT", "Stores the brief and the solved plan with the entry."),
    "code": ("CODE", "Code of the bottling, such as SALT-25."),
    "bottles": ("NUMBER", "How many bottles, loose or in cases: 48, 4x12, 4x12+3."),
    "bottle": ("VOLUME", "Size of a bottle (default: 750 mL)."),
    "loss": ("VOLUME", "What stayed in the line and filter."),
    "pourback.vessel": ("TAG", "Vessel they are poured into, such as T-4."),
    "pourback.loss": ("VOLUME", "What was spilled, or left in the bottles."),
    "bottle.bottles": ("NUMBER", "How many bottles were filled, also in cases, as 4x12."),
    "stocktake.bottles": ("NUMBER", "How many bottles were found, also in cases, as 4x12."),
    "stow.source": ("STORE", "Store they come from, where there are several."),
    "remove.source": ("STORE", "Store they come from, where there are several."),
    "pourback.source": ("STORE", "Store they come from, where there are several."),
    "stow.store": ("STORE", "Store they go to, in your own words, such as Loft."),
    "store": ("STORE", "Store they are in, such as Loft; left out, they are in no named store."),
    "went": ("WHAT", "What became of them"),
    "party": ("WHO", "Who has them now, or had them."),
    "document": ("TEXT", "Number of the invoice or of the paper that goes with them."),
    "reason": ("TEXT", "Why, in a few words."),
    "entry": ("ENTRY", "Id of the entry as `report book` shows it, or 'last'."),
}
"""What a field takes and its help, by its name or by kind and name; the choices of a field follow by themselves."""


def field_help(kind: str, field: str, face: FieldSpec) -> tuple[str, str]:
    """Return what a field of a kind takes, and its help; where nothing is written here, by its declaration."""
    declared = (face.holds.name, f"{face.label[:1].upper()}{face.label[1:]}{'' if face.choices else '.'}")
    return FIELD_HELP.get(f"{kind}.{field}") or FIELD_HELP.get(field, declared)
