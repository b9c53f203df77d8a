"""What is proposed for each of several vessels: one pure function per kind that has a figure to work out.

A tank fills what room is left, in order, as far as it reaches; a topping is what is expected to be missing; a dose goes
by the volume in each. What is typed, for all or for one, always wins.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from cooperage.book import Act, Cellar, Standing
from cooperage.book.declared import acts
from cooperage.book.declared.acts import KINDS, faces
from cooperage.book.declared.fields import is_required
from cooperage.book.declared.from_text import BadField, parse_act
from cooperage.book.declared.substances import substance_named
from cooperage.book.errors import Implausible
from cooperage.book.writing.doubts import literal
from cooperage.errors import AskedBack, Refused
from cooperage.programme.several.dealt import dealt
from cooperage.programme.several.named import shown_tags
from cooperage.programme.several.wanted import Ground, Wanted, is_about_several, list_field, rate_in, vessels_of
from cooperage.programme.upkeep.shifting import asked_of_shifts
from cooperage.programme.upkeep.sulphite import dose
from cooperage.units import Quantity, Units, counted, read, read_volume, show, show_exact

_STEP_ML = 100
"""A topping is proposed to a tenth of a litre, as it is poured."""


class NothingToDo(Refused):
    """Vessels of which none wants what is to be done."""

    def __init__(self, kind: type[Act], why: Sequence[str]) -> None:
        super().__init__(f"there is nothing to {kind.label}: {'; '.join(why)}")


@dataclass(frozen=True, slots=True)
class Meant:
    """The acts that are meant, by the tag of their vessel, and what is asked back before the book is asked.

    `left_out` are the vessels for which nothing is proposed, with the reason.
    """

    acts: Mapping[str, Act]
    doubts: tuple[AskedBack, ...] = ()
    left_out: Mapping[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class _Draft:
    """The texts of each act as they come about, by tag; those left out with the reason, and what is to be asked."""

    wanted: Wanted
    standings: list[Standing]
    cellar: Cellar
    ground: Ground
    texts: dict[str, dict[str, str]] = field(default_factory=dict)
    left_out: dict[str, str] = field(default_factory=dict)
    estimated: str = ""
    short: str = ""

    @property
    def lists(self) -> str:
        """The field in which the vessels are named."""
        return list_field(self.wanted, self.cellar)

    @property
    def units(self) -> Units:
        return self.ground.units

    def typed(self, tag: str, name: str) -> str:
        """Return what is typed in a field for a vessel, by itself or for all."""
        return self.texts[tag].get(name, "").strip()

    def propose(self, tag: str, name: str, text: str) -> None:
        self.texts[tag][name] = text

    def leave_out(self, tag: str, why: str) -> None:
        del self.texts[tag]
        self.left_out[tag] = why

    @property
    def those_open(self) -> list[Standing]:
        """The vessels whose figure is not typed."""
        figure = _figure(self.wanted.kind)
        return [s for s in self.standings if not self.typed(s.tag, figure)]


def _figure(kind: str) -> str:
    return KINDS[kind].proposed


def meant_by(wanted: Wanted, cellar: Cellar, ground: Ground, *, always: bool = False) -> Meant:
    """Return the act on each vessel that is wanted, with the figures proposed for those that none is typed for.

    `cellar` is as it stood when it was done. For a single vessel a figure that the act needs is proposed only where
    that is asked for `always`. Raises what `vessels_of`, `dealt` and `parse_act` do,
    NothingToDo.
    """
    standings = vessels_of(wanted, cellar, ground)
    if len(standings) > 1:
        wanted = dealt(wanted, [standing.tag for standing in standings])
    draft = _draft(wanted, standings, cellar, ground)
    kind = KINDS[wanted.kind]
    if is_about_several(wanted, cellar) or rate_in(wanted.kind, wanted.texts) or (always and _needs_figure(kind)):
        _PROPOSALS.get(kind, _as_typed)(draft)
        _keep_rest_for_the_last(draft)
    if not draft.texts:
        raise NothingToDo(kind, _left_out_words(draft))
    done = {tag: parse_act(wanted.kind, texts, cellar.at, ground.units) for tag, texts in draft.texts.items()}
    return Meant(done, tuple(_doubts(draft, done)), draft.left_out)


def _needs_figure(kind: type[Act]) -> bool:
    return any(declared.name == kind.proposed and is_required(declared) for declared, _ in faces(kind))


def _as_typed(_draft: _Draft) -> None:
    """Nothing is proposed: the same is done to each."""


def _draft(wanted: Wanted, standings: list[Standing], cellar: Cellar, ground: Ground) -> _Draft:
    name, each = list_field(wanted, cellar), {cellar[tag].tag: own for tag, own in wanted.each.items()}
    texts = {s.tag: {**wanted.texts, **each.get(s.tag, {}), name: s.tag} for s in standings}
    return _Draft(wanted, standings, cellar, ground, texts)


# --- a tank that fills several --------------------------------------------------------------------------------------


def _poured(draft: _Draft, source: Standing, reserved_ml: int = 0) -> None:
    """Propose what room is left in each, in order, as far as the source reaches."""
    figure, left = _figure(draft.wanted.kind), source.ml - reserved_ml
    unreached: list[str] = []
    for standing in draft.standings:
        if typed := draft.typed(standing.tag, figure):
            left -= read_volume(typed, draft.units)
            continue
        ml = min(max(0, left), standing.headspace_ml)
        if ml:
            draft.propose(standing.tag, figure, show_exact(ml))
        elif standing.headspace_ml:
            unreached.append(standing.tag)
        else:
            draft.leave_out(standing.tag, "full by the book")
        if 0 < ml < standing.headspace_ml:
            draft.short = f"{standing.tag} gets only {show(Quantity.VOLUME, ml, draft.ground.shown)}"
        left -= ml
    for tag in unreached:
        draft.leave_out(tag, f"{source.tag} does not reach that far")


def _fill(draft: _Draft) -> None:
    source = draft.wanted.texts.get("from", "")
    if source in draft.cellar:  # else the act itself is refused
        _poured(draft, draft.cellar[source])


def _rack(draft: _Draft) -> None:
    """Out of several, all that is in each; into several, what room is left."""
    texts = draft.wanted.texts
    source = texts.get("vessel", "")
    if draft.lists == "vessel" or source not in draft.cellar:
        return
    lees = texts.get("lees", "").strip()
    _poured(draft, draft.cellar[source], read_volume(lees, draft.units) if lees else 0)


def _keep_rest_for_the_last(draft: _Draft) -> None:
    """What is done once to the one vessel that several draw on, is done with the last of them."""
    if draft.lists == "vessel":
        return
    for tag in list(draft.texts)[:-1]:
        draft.texts[tag] = {name: text for name, text in draft.texts[tag].items() if name not in _ONCE}


_ONCE = ("lees", "empties", "cause")


# --- what is missing, what a dose is --------------------------------------------------------------------------------


def _top(draft: _Draft) -> None:
    for standing in draft.those_open:
        short = draft.ground.level(standing).short_ml
        ml = round(short / _STEP_ML) * _STEP_ML
        if ml <= 0 and standing.ml:
            draft.leave_out(standing.tag, "expected to be full")
        else:
            draft.propose(standing.tag, _figure(draft.wanted.kind), show_exact(ml))
            draft.estimated = "expected to be missing"


def _addition(draft: _Draft) -> None:
    """By the litres in each where a rate is typed; of sulphite, without one, what reaches the usual target."""
    name = draft.wanted.texts.get("substance", "")
    figure = _figure(draft.wanted.kind)
    for standing in draft.standings:
        typed = draft.typed(standing.tag, figure)
        if "/" in typed:
            draft.propose(standing.tag, figure, _by_volume(typed, name, standing, draft.units))
    if draft.those_open and substance_named(name).is_sulphite:
        _sulphite(draft)


def _by_volume(text: str, substance: str, standing: Standing, units: Units) -> str:
    """Return the amount that a rate such as "20 g/hL" comes to in what a vessel holds. Raises BadField."""
    amount, _, per = text.partition("/")
    quantity = substance_named(substance).quantity
    per_ml = read_volume(f"1 {per.strip()}", units)
    return _amount(quantity, float(read(quantity, amount, units)) * standing.ml / per_ml)


def _amount(quantity: Quantity, value: float) -> str:
    return show_exact(round(value)) if quantity is Quantity.VOLUME else f"{value:.3f} g"


def _sulphite(draft: _Draft) -> None:
    figure = _figure(draft.wanted.kind)
    for standing in draft.those_open:
        wanted = dose(standing)
        if wanted.grams is None:
            raise BadField(figure, f"no dose can be calculated for {standing.tag}; measure it first, or give the grams")
        grams = round(wanted.grams, 1)
        if not grams:
            draft.leave_out(standing.tag, "has enough")
        else:
            draft.propose(standing.tag, figure, f"{grams} g")
            draft.estimated = "calculated for the usual target"


# --- a rack that moves ----------------------------------------------------------------------------------------------


def _shift(draft: _Draft) -> None:
    """Keep bays and tiers as they were to each other; a bay that is typed is the first one's."""
    texts, first = draft.wanted.texts, draft.standings[0]
    if not texts.get("row", "").strip():
        return
    begins = texts.get("bay", "").strip()
    for nth, standing in enumerate(draft.standings):
        own = draft.wanted.each.get(standing.tag, {})
        _, _, bay, tier = standing.position
        if begins and "bay" not in own:
            steps = nth if bay is None or first.position[2] is None else bay - first.position[2]
            draft.propose(standing.tag, "bay", str(int(read(Quantity.COUNT, begins, draft.units)) + steps))
        elif bay is not None and "bay" not in own:
            draft.propose(standing.tag, "bay", str(bay))
        if tier is not None and not draft.typed(standing.tag, "tier"):
            draft.propose(standing.tag, "tier", str(tier))


_PROPOSALS: Mapping[type[Act], Callable[[_Draft], None]] = {
    acts.Fill: _fill,
    acts.Top: _top,
    acts.Rack: _rack,
    acts.Addition: _addition,
    acts.Shift: _shift,
}


# --- what is asked --------------------------------------------------------------------------------------------------


def _doubts(draft: _Draft, done: Mapping[str, Act]) -> list[AskedBack]:
    """Ask back figures that no one measured, vessels that are left out, places that are taken or lie under others."""
    shifts = [act for act in done.values() if isinstance(act, acts.Shift)]
    asked = asked_of_shifts(draft.cellar, shifts)
    figure = _figure(draft.wanted.kind)
    if draft.estimated:
        each = ", ".join(f"{tag} {_shown(texts[figure], draft)}" for tag, texts in draft.texts.items())
        asked.append(Implausible(literal(f"{each}: {draft.estimated}. Is that right?")))
    left = "; ".join([*_left_out_words(draft), *([draft.short] if draft.short else [])])
    if left:
        several = counted(len(draft.texts), "vessel")
        asked.append(Implausible(literal(f"{left}. Go on with {several}?")))
    return asked


def _shown(text: str, draft: _Draft) -> str:
    """Return a figure as it is shown: a volume in the person's unit."""
    is_volume = _figure_is_volume(draft.wanted.kind)
    return show(Quantity.VOLUME, read_volume(text, draft.units), draft.ground.shown) if is_volume else text


def _figure_is_volume(kind: str) -> bool:
    return any(face.name == _figure(kind) and face.holds is Quantity.VOLUME for _, face in faces(KINDS[kind]))


def _left_out_words(draft: _Draft) -> list[str]:
    by_reason: dict[str, list[str]] = {}
    for tag, why in draft.left_out.items():
        by_reason.setdefault(why, []).append(tag)
    return [f"{shown_tags(tags)} left out: {why}" for why, tags in by_reason.items()]
