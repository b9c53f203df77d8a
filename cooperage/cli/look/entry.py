"""An entry of the book as scripts read it: each figure with its unit in its key, or beside it where that varies."""

from collections.abc import Iterator, Mapping
from typing import Any

from cooperage.book import KINDS
from cooperage.book.declared.acts import faces
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.log import Entry
from cooperage.book.words import entry_words
from cooperage.cli.shared.desk import plain
from cooperage.cli.shared.unit_keys import unit_key
from cooperage.units import Quantity, unit_written


def entry_row(entry: Entry) -> dict[str, Any]:
    """Return an entry: what was said, its moves [L] and its readings."""
    moves = [
        {
            "source": m.source,
            "destination": m.destination,
            "volume_l": m.ml / 1000,
            "lot": m.lot,
            "substance": m.substance,
        }
        for m in entry.moves
    ]
    readings = [
        {
            "vessel": read.vessel,
            "property": read.property,
            "value": read.value,
            "unit": unit_written(PROPERTIES[read.property].quantity),
            "uncertainty": read.uncertainty,
            "method": read.method,
        }
        for read in entry.readings
    ]
    said = dict(_said(entry.kind, entry.said))
    row: dict[str, Any] = plain(entry)
    return row | {"said": said, "moves": moves, "readings": readings, "text": entry_words(entry)}


def _said(kind: str, said: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for field, face in faces(KINDS[kind]):
        name, value = field.name, said.get(field.name)
        match face.holds:
            case Holds.DRAWS if name == "draws":
                yield name, [{"vessel": vessel, "volume_l": ml / 1000} for vessel, ml in value or ()]
            case Holds.DRAWS:
                yield name, [{"substance": substance, **_amount(substance, much)} for substance, much in value or ()]
            case Holds.AMOUNT:
                yield from _amount(said["substance"], float(said["amount"])).items()
            case Holds.VALUE:
                yield name, value
                yield "unit", unit_written(PROPERTIES[said["property"]].quantity)
            case Quantity.VOLUME:
                yield unit_key(name, face.holds), None if value is None else value / 1000
            case _:
                yield unit_key(name, face.holds), value


def _amount(substance: str, amount: float) -> dict[str, Any]:
    quantity = SUBSTANCES[substance].quantity
    in_unit = amount / 1000 if quantity is Quantity.VOLUME else amount
    return {"amount": in_unit, "unit": unit_written(quantity)}
