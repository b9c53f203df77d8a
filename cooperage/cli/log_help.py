"""The help of `cooperage log`: for each kind of entry what it is and how it is typed, for each field what to give.

The fields themselves are declared with the acts; `tests/cli/test_the_tree.py` fails where one has no help here.
"""

from typing import NamedTuple

from cooperage.book.declared.places import OUTSIDE

PLACES = ", ".join(place.value for place in OUTSIDE)


class KindHelp(NamedTuple):
    """One kind of entry: its help, and examples that run on the demo cellar."""

    about: str
    examples: tuple[str, ...]


KIND_HELP: dict[str, KindHelp] = {
    "receive": KindHelp(
        "Receive a lot of mead into a tank. Register the lot with `add lot` first.",
        ("cooperage log receive HE-24 T-4 50l", "cooperage log receive HE-24 T-4 50l --when yesterday --json"),
    ),
    "fill": KindHelp(
        "Fill a barrel from another vessel; without a volume, to the bung.",
        ("cooperage log fill B-037 --from T-1", "cooperage log fill B-034 20l --from T-1 --sure --json"),
    ),
    "top": KindHelp(
        "Top a barrel to the bung.\n\nTopping to the bung also records how much was missing; that volume is written "
        "off as evaporated (or soaked, in new wood) unless --cause names another place. An empty barrel is filled with "
        "`log fill`; a topping that leaves it short is --not-full.",
        (
            "cooperage log top B-001 1.4l --from K-01",
            "cooperage log top B-041 0.3l --from K-05 --not-full --hand Maren",
        ),
    ),
    "rack": KindHelp(
        "Rack from one vessel to another, leaving lees behind; without a volume, all of it.\n\n"
        f"Outside places, for --to and --cause: {PLACES}.",
        ("cooperage log rack B-010 --to T-4 --lees 2l", "cooperage log rack K-01 5l --to 'poured away' --json"),
    ),
    "gauge": KindHelp(
        "Record what a dip, a sight glass or a scale shows. The difference from the book goes to a named place.",
        (
            "cooperage log gauge B-041 109l",
            "cooperage log gauge B-041 --headspace 20mm --cause leak --sure",
        ),
    ),
    "sample": KindHelp("Pull a sample.", ("cooperage log sample B-001 100ml",)),
    "reading": KindHelp(
        "Record what an instrument or a laboratory read.",
        (
            "cooperage log reading B-001 ph 3.42",
            "cooperage log reading B-001 sg 1.012 --give-or-take 0.001 --how hydrometer --sure --json",
        ),
    ),
    "addition": KindHelp(
        "Add a substance: sulphite, acid, honey, water, spirit, a fining.",
        ("cooperage log addition B-001 metabisulphite 8g",),
    ),
    "treat": KindHelp(
        "Record barrel work that moves no mead: rinse, steam, sniff, stir, repair.",
        ("cooperage log treat B-034 sniff", "cooperage log treat B-001 stir --note 'lees well settled'"),
    ),
    "look": KindHelp(
        "Record what was seen and smelled.",
        ("cooperage log look B-001 --bung weeping --smell vinegar",),
    ),
    "climate": KindHelp(
        "Record the air of a room, as its thermometer and hygrometer show it.",
        ("cooperage log climate Low 12c 82%",),
    ),
    "shift": KindHelp(
        "Record that a vessel was moved to another position.",
        ("cooperage log shift K-01 --room Loft --row Z --bay 9 --tier 1",),
    ),
    "blend": KindHelp(
        "Record draws from several vessels that meet in one. `blend pour` solves a brief and records it.",
        ("cooperage log blend T-4 'B-041=20l; B-042=30l'",),
    ),
    "bottle": KindHelp(
        "Bottle a vessel. --loss is what stayed in the line and filter.",
        ("cooperage log bottle T-1 TRIAL-26 120 --bottle 750ml --loss 1.5l",),
    ),
    "retire": KindHelp(
        "Retire a vessel; its tag is not reused. It must be empty.",
        ("cooperage log retire B-034 --reason 'stave split'",),
    ),
    "strike": KindHelp(
        "Strike (cancel) an entry by its reverse; it is dated when the struck entry was.\n\nWith 'last' it is the "
        "newest entry that is not struck yet. If that one was not written by you today, or a strike was the last thing "
        "written, you are asked first; --sure strikes without asking.",
        ("cooperage log sample B-001 100ml && cooperage log strike last --sure",),
    ),
}

_CAUSE = "Put what is missing down to a place, such as evaporated or leak."

FIELD_HELP: dict[str, tuple[str, str]] = {
    "receive.vessel": ("TAG", "Tank that takes it, such as T-1."),
    "fill.vessel": ("BARREL", "Tag of the barrel, such as B-001."),
    "top.vessel": ("BARREL", "Tag of the barrel, such as B-001."),
    "rack.vessel": ("TAG", "Vessel it comes out of, such as B-010."),
    "blend.vessel": ("TAG", "Vessel the blend goes into, such as T-4."),
    "bottle.vessel": ("TAG", "Vessel that is bottled, such as T-1."),
    "retire.reason": ("TEXT", "Why it is retired, such as 'stave split'."),
    "fill.volume": ("VOLUME", "How much goes in (default: to the bung)."),
    "rack.volume": ("VOLUME", "How much is racked (default: all of it)."),
    "gauge.volume": ("VOLUME", "How much is in the vessel, such as 109 L."),
    "climate.room": ("ROOM", "Room, as `barrels` shows it."),
    "vessel": ("TAG", "Tag of a vessel, such as B-001."),
    "lot": ("LOT", "Code of the lot, such as HE-24."),
    "volume": ("VOLUME", "How much, such as 1.4 L, 40 ml or 0.4 gal."),
    "source": ("TAG", "Keg or tank it is topped from."),
    "destination": ("PLACE", f"Vessel, or an outside place: {PLACES}."),
    "not_full": ("", "Leaves the barrel short of full."),
    "cause": ("CAUSE", _CAUSE),
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
    "bottles": ("NUMBER", "How many bottles were filled."),
    "bottle": ("VOLUME", "Size of a bottle (default: 750 ml)."),
    "loss": ("VOLUME", "What stayed in the line and filter."),
    "reason": ("TEXT", "Why, in a few words."),
    "entry": ("ENTRY", "Id of the entry as `report book` shows it, or 'last'."),
}
"""What a field takes and its help, by its name or by kind and name; the choices of a field follow by themselves."""


def field_help(kind: str, field: str) -> tuple[str, str]:
    """Return what a field of a kind takes, and its help; ("", "") where nothing is written here."""
    return FIELD_HELP.get(f"{kind}.{field}") or FIELD_HELP.get(field, ("", ""))
