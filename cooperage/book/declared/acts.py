"""What was done in the cellar: one small frozen value per kind of entry.

An act is all that a screen, a command or an import has to make; `book.write` does the rest. Each field declares
how it is asked for, so forms, command options and CSV columns always agree. Volumes are integer millilitres; tags
are as written on the vessel.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from cooperage.book.declared.act import Act as Act
from cooperage.book.declared.act import faces as faces
from cooperage.book.declared.act import figure_of as figure_of
from cooperage.book.declared.act import is_about_a_vessel as is_about_a_vessel
from cooperage.book.declared.allowed import LONGEST_CODE, LONGEST_NOTE
from cooperage.book.declared.bottle_acts import PourBack as PourBack
from cooperage.book.declared.bottle_acts import Remove as Remove
from cooperage.book.declared.bottle_acts import Stocktake as Stocktake
from cooperage.book.declared.bottle_acts import Stow as Stow
from cooperage.book.declared.bottle_acts import TakeBack as TakeBack
from cooperage.book.declared.counts import Counts
from cooperage.book.declared.fields import Holds, field_spec
from cooperage.book.declared.looks import BUNGS, LEVELS, canonical_bung, canonical_level, canonical_smells
from cooperage.book.declared.places import GAP_CAUSES, OUTSIDE, Outside, canonical_destination
from cooperage.book.declared.properties import PROPERTIES, canonical_property
from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS, canonical_substance, canonical_treatment
from cooperage.book.declared.verdicts import VERDICTS, canonical_verdict, parted_verdict
from cooperage.units import Quantity


def _outside(place: str) -> str:
    return OUTSIDE[Outside(place)].label


def _property(name: str) -> str:
    return PROPERTIES[name].label


def _substance(name: str) -> str:
    return SUBSTANCES[name].label


def _treatment(name: str) -> str:
    return TREATMENTS[name].label


@dataclass(frozen=True, slots=True, kw_only=True)
class Receive(Act):
    """Receive a lot of mead into a tank. Register the lot with `add lot` first."""

    kind = "receive"
    label = "receive a lot"
    done = "received"
    examples = (
        "cooperage log receive HE-24 T-4 50l",
        "cooperage log receive HE-24 T-4 50l --when yesterday --json",
    )
    fills = "vessel"
    lot: str = field_spec("lot", Holds.LOT, argument=True, moved=True)
    vessel: str = field_spec("into", Holds.TAG, argument=True)
    volume: int = field_spec("volume", Quantity.VOLUME, argument=True, moved=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill(Act):
    """Fill a barrel from another vessel; without a volume, to the bung."""

    kind = "fill"
    brief = "fill {vessel}[ with {figure}] from {source}"
    label = "fill"
    done = "filled"
    examples = ("cooperage log fill B-037 --from T-1", "cooperage log fill B-034 20l --from T-1 --sure --json")
    fills = "vessel"
    draws_on = "source"
    counts_as = (Counts.TOPPED, Counts.OPENED, Counts.SEEN_FULL, Counts.VISITED)
    proposed = "volume"
    vessel: str = field_spec("barrel", Holds.TAG, argument=True)
    source: str = field_spec("from", Holds.TAG, name="from", moved=True)
    volume: int | None = field_spec("volume", Quantity.VOLUME, argument=True, moved=True, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Top(Act):
    """Top a barrel to the bung.

    Topping to the bung also records how much was missing; that volume is written off as evaporated (or soaked, in new
    wood) unless --cause names another place. An empty barrel is filled with `log fill`; a topping that leaves it short
    is --not-full.
    """

    kind = "top"
    brief = "top {vessel}[ with {figure}] from {source}"
    label = "top"
    done = "topped"
    examples = (
        "cooperage log top B-001 1.4l --from K-01",
        "cooperage log top B-041 0.3l --from K-05 --not-full --hand Maren",
    )
    draws_on = "source"
    needs_mead = True
    replays_fields = True
    counts_as = (Counts.TOPPED, Counts.OPENED, Counts.SEEN_FULL, Counts.VISITED)
    proposed = "volume"
    vessel: str = field_spec("barrel", Holds.TAG, argument=True)
    volume: int = field_spec("volume", Quantity.VOLUME, argument=True, usual_up_to=4999, moved=True)
    source: str = field_spec("from", Holds.TAG, name="from", moved=True)
    not_full: bool = field_spec("not filled to the bung", Holds.FLAG, name="not-full", default=False)
    cause: str = field_spec(
        "loss recorded as", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default=""
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rack(Act):
    """Rack from one vessel to another (or pour away), leaving lees behind; without a volume, all of it."""

    kind = "rack"
    brief = "rack [{figure} of ]{vessel} to {destination}"
    label = "rack"
    done = "racked"
    examples = ("cooperage log rack B-010 --to T-4 --lees 2l", "cooperage log rack K-01 5l --to 'poured away' --json")
    fills = "destination"
    draws_on = "vessel"
    needs_mead = True
    proposed = "volume"
    vessel: str = field_spec("out of", Holds.TAG, argument=True)
    destination: str = field_spec("to", Holds.PLACE, name="to", moved=True, canonical=canonical_destination)
    volume: int | None = field_spec("volume", Quantity.VOLUME, argument=True, moved=True, default=None)
    lees: int = field_spec("lees", Quantity.VOLUME, moved=True, default=0)
    empties: bool = field_spec("leaves the vessel empty", Holds.FLAG, default=False)
    cause: str = field_spec(
        "remainder recorded as", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default=""
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge(Act):
    """Record what a dip, a sight glass or a scale shows; the difference from the book is put down to a cause."""

    kind = "gauge"
    brief = "dip or gauge {vessel}"
    label = "dip or gauge"
    done = "gauged"
    examples = ("cooperage log gauge B-041 109l", "cooperage log gauge B-041 --headspace 20mm --cause leak --sure")
    over_the_rim = True
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    volume: int | None = field_spec("volume found", Quantity.VOLUME, argument=True, phrase="{} found", default=None)
    headspace: float | None = field_spec("headspace", Quantity.LENGTH, default=None)
    cause: str = field_spec(
        "difference recorded as", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default=""
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample(Act):
    """Pull a sample."""

    kind = "sample"
    brief = "pull [{figure} of ]<a sample of >{vessel}"
    label = "pull a sample"
    done = "sampled"
    examples = ("cooperage log sample B-001 100ml",)
    needs_mead = True
    over_the_rim = True
    counts_as = (Counts.OPENED, Counts.TASTED)
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    volume: int = field_spec("volume", Quantity.VOLUME, argument=True, usual_up_to=1500, moved=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Act):
    """Record what an instrument or a laboratory read: value, uncertainty and method."""

    kind = "reading"
    brief = "measure {property} of {vessel}"
    label = "add a reading"
    examples = (
        "cooperage log reading B-001 ph 3.42",
        "cooperage log reading B-001 sg 1.012 --give-or-take 0.001 --how hydrometer --sure --json",
    )
    sentence = "{property} {value}"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    property: str = field_spec(
        "property",
        Holds.CHOICE,
        choices=lambda: tuple(PROPERTIES),
        argument=True,
        named=_property,
        canonical=canonical_property,
    )
    value: float = field_spec("value", Holds.VALUE, argument=True)
    uncertainty: float | None = field_spec(
        "± (uncertainty)", Holds.SPREAD, name="give-or-take", phrase="give or take {}", default=None
    )
    method: str = field_spec("method", Holds.TEXT, name="how", phrase="{}", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition(Act):
    """Add a substance: sulphite, acid, honey, water, spirit, a fining."""

    kind = "addition"
    brief = "add [{figure} of ]{substance} to {vessel}"
    label = "add a substance"
    done = "added"
    examples = (
        "cooperage log addition B-001 metabisulphite 8g",
        "cooperage log addition B-001..B-004 metabisulphite '2 g/hL' --but B-003=3g --json",
    )
    needs_mead = True
    replays_fields = True
    brings_substances = True
    sentence = "{amount} of {substance}"
    proposed = "amount"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    substance: str = field_spec(
        "substance",
        Holds.CHOICE,
        choices=lambda: tuple(SUBSTANCES),
        argument=True,
        named=_substance,
        canonical=canonical_substance,
    )
    amount: float = field_spec("amount", Holds.AMOUNT, argument=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Treat(Act):
    """Record barrel work that moves no mead: rinse, steam, sniff, stir, repair."""

    kind = "treat"
    brief = "treat {vessel}: {treatment}"
    label = "note barrel work"
    examples = (
        "cooperage log treat B-034 sniff",
        "cooperage log treat B-001 stir --note 'lees well settled'",
        "cooperage log treat empty sniff",
    )
    over_the_rim = True
    replays_fields = True
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    treatment: str = field_spec(
        "treatment",
        Holds.CHOICE,
        choices=lambda: tuple(TREATMENTS),
        argument=True,
        phrase="{}",
        named=_treatment,
        canonical=canonical_treatment,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Look(Act):
    """Record what was seen and smelled (sound, vinegar, solvent, egg, mould, horse, flat)."""

    kind = "look"
    brief = "look at {vessel}"
    label = "note what was seen"
    examples = ("cooperage log look B-001 --bung weeping --smell vinegar",)
    over_the_rim = True
    replays_fields = True
    counts_as = (Counts.VISITED,)
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    level: str = field_spec("level", Holds.CHOICE, choices=lambda: LEVELS, canonical=canonical_level, default="")
    bung: str = field_spec("bung", Holds.CHOICE, choices=lambda: BUNGS, canonical=canonical_bung, default="")
    smell: str = field_spec("smells", Holds.TEXT, phrase="smells of {}", canonical=canonical_smells, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge(Act):
    """Record what was decided about a vessel after tasting it: keep, look again, ready, blend, move, quarantine.

    'look again 8 weeks' (or --weeks 8): the vessel is due for tasting then, whatever its interval is. 'quarantine'
    keeps its mead out of bottles, blends and other vessels' mead until another verdict lifts it; racked into an empty
    vessel, it is in quarantine there too.
    """

    kind = "judge"
    brief = "judge {vessel}[: {verdict}]"
    label = "judge"
    done = "judged:"
    examples = (
        "cooperage log judge B-012 'look again 8 weeks'",
        "cooperage log judge B-028 quarantine --tasting F-4 --note 'two tasters found vinegar' --json",
    )
    stays_closed = True
    replays_fields = True
    counts_as = (Counts.TASTED,)
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    verdict: str = field_spec(
        "verdict", Holds.CHOICE, choices=lambda: VERDICTS, argument=True, phrase="{}", canonical=canonical_verdict
    )
    weeks: int | None = field_spec(
        "weeks until the next look",
        Holds.COUNT,
        name="weeks",
        phrase="in {} weeks",
        phrase_of_one="in {} week",
        default=None,
    )
    flight: str = field_spec("flight", Holds.TEXT, name="tasting", phrase="flight {}", longest=LONGEST_CODE, default="")

    @classmethod
    def parted(cls, texts: Mapping[str, str]) -> Mapping[str, str]:
        """Return the texts with the weeks of "look again 8 weeks" in their own field, where that is blank."""
        word, weeks = parted_verdict(texts.get("verdict", ""))
        if not weeks or texts.get("weeks", "").strip():
            return texts
        return {**texts, "verdict": word, "weeks": weeks}


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate(Act):
    """Record the air of a room, as its thermometer and hygrometer show it."""

    kind = "climate"
    label = "note a room's climate"
    examples = ("cooperage log climate Low 12c 82%",)
    sentence = "{room} {temperature}, {humidity}"
    room: str = field_spec("room", Holds.TEXT, argument=True)
    temperature: float = field_spec("temperature", Quantity.TEMPERATURE, argument=True)
    humidity: float = field_spec("relative humidity", Quantity.PERCENT, argument=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCost(Act):
    """Record what a lot has cost by the litre, once that is known; the last one stands for all of the lot.

    From its day on the cost is in every value, wherever the lot's mead is by then.
    """

    kind = "lotcost"
    label = "cost of a lot"
    word = "cost of a lot"
    examples = ("cooperage log lotcost HE-24 7.20 --note 'invoices of the spring'",)
    sentence = "{lot} {cost_per_l} by the litre"
    lot: str = field_spec("lot", Holds.LOT, argument=True)
    cost_per_l: float = field_spec("cost by the litre", Quantity.MONEY, argument=True, name="cost")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotEnd(Act):
    """Record that a lot has finished fermenting: on the day of the entry, with its final gravity where it was read.

    The last one stands for the lot, before what was registered. Strengths worked out as it was received stay.
    """

    kind = "lotend"
    label = "end of a lot's fermentation"
    word = "end of a lot"
    done = "finished fermenting:"
    examples = ("cooperage log lotend HE-24 --gravity 1.022 --when yesterday",)
    sentence = "{lot}"
    lot: str = field_spec("lot", Holds.LOT, argument=True)
    final_sg: float | None = field_spec(
        "final gravity", Quantity.GRAVITY, name="gravity", phrase="at a gravity of {}", default=None
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift(Act):
    """Record that a vessel was moved to another position."""

    kind = "shift"
    brief = "move {vessel} to {room}[ {row}.{bay}.{tier}]"
    label = "move"
    word = "move"
    done = "moved"
    examples = ("cooperage log shift K-01 --room Loft --row Z --bay 9 --tier 1",)
    sentence = "to {room} {row}.{bay}.{tier}"
    stays_closed = True
    lifts = True
    replays_fields = True
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    room: str = field_spec("room", Holds.TEXT, phrase="to {}")
    row: str = field_spec("row", Holds.TEXT, default="")
    bay: int | None = field_spec("bay", Holds.COUNT, default=None)
    tier: int | None = field_spec("tier", Holds.COUNT, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Blend(Act):
    """Record draws from several vessels that meet in one. `blend pour` solves a brief and records it.

    The mixed volume is a little less than the sum of the draws.
    """

    kind = "blend"
    label = "pour a blend"
    done = "blended"
    examples = ("cooperage log blend T-4 'B-041=20l; B-042=30l'",)
    fills = "vessel"
    draws_on = "draws"
    one_at_a_time = True
    brings_substances = True
    vessel: str = field_spec("into", Holds.TAG, argument=True)
    draws: tuple[tuple[str, int], ...] = field_spec("draws", Holds.DRAWS, argument=True, moved=True)
    doses: tuple[tuple[str, float], ...] = field_spec(
        "doses", Holds.DRAWS, phrase="{}", canonical=canonical_substance, default=()
    )
    plan: str = field_spec("brief and plan", Holds.TEXT, is_document=True, longest=LONGEST_NOTE, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottle(Act):
    """Bottle a vessel. --loss is what stayed in the line and filter."""

    kind = "bottle"
    brief = "bottle {vessel}[: {bottles} bottles][ as {code}]"
    label = "bottle"
    done = "bottled"
    examples = ("cooperage log bottle T-1 TRIAL-26 120 --bottle 750ml --loss 1.5l",)
    draws_on = "vessel"
    needs_mead = True
    replays_fields = True
    sentence = "{bottles} bottles of {bottle} as {code}"
    one_at_a_time = True
    vessel: str = field_spec("out of", Holds.TAG, argument=True)
    code: str = field_spec("bottling", Holds.TEXT, argument=True, longest=LONGEST_CODE)
    bottles: int = field_spec("bottles", Holds.BOTTLES, argument=True)
    bottle: int = field_spec("bottle holds", Quantity.VOLUME, default=750)
    loss: int = field_spec("lost on the line", Quantity.VOLUME, moved=True, default=0)
    empties: bool = field_spec("leaves the vessel empty", Holds.FLAG, default=False)
    cause: str = field_spec(
        "remainder recorded as", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default=""
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Retire(Act):
    """Retire a vessel; its tag is not reused. It must be empty.

    What became of it is in your own words; what it was sold for is a sum, left out where it is not known.
    """

    kind = "retire"
    label = "retire"
    done = "retired:"
    examples = (
        "cooperage log retire B-034 --reason 'stave split'",
        "cooperage log retire B-017 --reason 'neutral wood' --disposition 'sold to a gardener' --received 45",
    )
    stays_closed = True
    lifts = True
    scraps = True
    replays_fields = True
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    reason: str = field_spec("reason", Holds.TEXT, phrase="{}")
    disposition: str = field_spec("what became of it", Holds.TEXT, phrase="{}", default="")
    received: float | None = field_spec("sum received", Quantity.MONEY, phrase="{} received", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike(Act):
    """Strike (cancel) an entry by its reverse; it is dated when the struck entry was.

    With 'last' it is the newest entry that is not struck yet. If that one was not written by you today, or a strike was
    the last thing written, you are asked first; --sure strikes without asking.
    """

    kind = "strike"
    label = "strike"
    examples = (
        "cooperage log sample B-001 100ml && cooperage log strike last --sure",
        "cooperage log sample B-001..B-003 100ml && cooperage log strike last --together --sure",
    )
    entry: str = field_spec("entry", Holds.ENTRY, argument=True, phrase="cancels {}")


KINDS: dict[str, type[Act]] = {
    act.kind: act
    for act in (
        Receive,
        Fill,
        Top,
        Rack,
        Gauge,
        Sample,
        Reading,
        Addition,
        Treat,
        Look,
        Judge,
        Climate,
        LotCost,
        LotEnd,
        Shift,
        Blend,
        Bottle,
        Stow,
        Remove,
        TakeBack,
        Stocktake,
        PourBack,
        Retire,
        Strike,
    )
}
"""Every kind of entry, by name."""


def that_count_as(what: Counts) -> tuple[str, ...]:
    """List the kinds of entry and the treatments that count as something, by the names that states remember."""
    kinds = [name for name, kind in KINDS.items() if what in kind.counts_as]
    return (*kinds, *(name for name, treatment in TREATMENTS.items() if what in treatment.counts_as))


POURED_AWAY: str = Outside.POURED_AWAY.value
