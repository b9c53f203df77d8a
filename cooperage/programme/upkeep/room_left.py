"""Whether what is typed for a vessel fits into it, said before anything is written."""

from collections.abc import Mapping

from cooperage.book import Act, Cellar, Standing
from cooperage.book.declared.acts import faces
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Quantity, Units, read_volume, show_trimmed


def too_little_room(kind: type[Act], texts: Mapping[str, str], cellar: Cellar, units: Units = DEFAULT) -> str:
    """Return that the vessel an act fills has too little room, and how much it has; empty where all fits.

    `texts` are what is typed so far, by the fields' outside names; what is not understood yet is passed over.
    """
    names = {declared.name: face.name for declared, face in faces(kind)}
    into = _vessel(texts.get(names.get(kind.fills, ""), ""), cellar)
    wanted = None if into is None else _wanted(kind, texts, cellar, units)
    if into is None or wanted is None or wanted <= into.headspace_ml:
        return ""
    room, more = (show_trimmed(Quantity.VOLUME, ml, units) for ml in (into.headspace_ml, wanted))
    return f"{into.tag} has room for {room}; {more} do not fit"


def _vessel(tag: str, cellar: Cellar) -> Standing | None:
    return cellar[tag] if tag.strip() and tag in cellar else None


def _wanted(kind: type[Act], texts: Mapping[str, str], cellar: Cellar, units: Units) -> int | None:
    """Return what is to go in [ml]: as typed, or all that is in the vessel which is emptied; None if not known."""
    typed = texts.get("volume", "").strip()
    if not typed:
        source = _vessel(texts.get("vessel", ""), cellar) if kind.draws_on == "vessel" else None
        return None if source is None else source.ml
    try:
        return read_volume(typed, units)
    except BadInput:
        return None
