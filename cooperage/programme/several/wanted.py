"""What a person wants done to one vessel or several, as texts: those for all, and those typed for one of them."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from cooperage.book import Act, Book, Cellar, Standing
from cooperage.book.declared.acts import KINDS, POURED_AWAY, faces, figure_of
from cooperage.book.declared.fields import FieldSpec
from cooperage.book.declared.from_text import BadField, Texts, exact_texts
from cooperage.errors import BadInput
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import Level, level_now
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.search.marks import Marks, marks_of
from cooperage.programme.several.named import names_several, shown_tags, vessels_named
from cooperage.units import DEFAULT, Units


class TwoLists(BadInput):
    """Several vessels on both sides of one act."""

    def __init__(self) -> None:
        super().__init__("several vessels stand on both sides; name one vessel where it comes from, or where it goes")


class OneAtATime(BadInput):
    """An act that is done to one vessel at a time."""

    def __init__(self, kind: type[Act], tags: list[str]) -> None:
        super().__init__(f"{shown_tags(tags)}: to {kind.label} takes one vessel at a time; do one after the other")


class NotAmongThem(BadInput):
    """Something typed for a vessel that is not one of those named."""

    def __init__(self, tag: str) -> None:
        super().__init__(f"{tag} is none of the vessels that are named; name it too, or leave it out here")


@dataclass(frozen=True, slots=True)
class Wanted:
    """A kind of entry, the texts of its fields by outside name, and those typed for one vessel by its tag."""

    kind: str
    texts: Texts
    each: Mapping[str, Texts] = field(default_factory=dict)


class Ground:
    """What is worked out of a cellar for several vessels, each only when it is asked for.

    Texts are read in `units`, and questions put in those that are `shown`, by default the same.
    """

    def __init__(self, book: Book, cellar: Cellar, units: Units = DEFAULT, shown: Units | None = None) -> None:
        self.units, self.shown = units, shown or units
        self._book, self._cellar = book, cellar
        self._marks: Marks | None = None
        self._rates: Mapping[str, LossRate] | None = None

    def marks(self) -> Marks:
        """Return what is due at each vessel and what it holds by now, for the words that look for vessels."""
        if self._marks is None:
            self._marks = marks_of(self._book, self._cellar, self.units)
        return self._marks

    def level(self, standing: Standing) -> Level:
        """Return what a vessel holds by now, by the loss rate that the cellar has shown of it."""
        if self._rates is None:
            self._rates = loss_rates(self._book, self._cellar)
        return level_now(standing, self._rates.get(standing.tag))


def list_field(wanted: Wanted, cellar: Cellar) -> str:
    """Return the field, by outside name, in which several vessels are named; by default the vessel it is about.

    Where mead goes may be several too. Raises TwoLists.
    """
    named = _lists(wanted, cellar)
    if len(named) > 1:
        raise TwoLists
    return named[0] if named else "vessel"


def is_about_several(wanted: Wanted, cellar: Cellar) -> bool:
    """Return True if texts name more than one vessel, or words that may."""
    return bool(wanted.each) or bool(_lists(wanted, cellar))


def _lists(wanted: Wanted, cellar: Cellar) -> list[str]:
    """List the fields in which several vessels are named."""
    kind = KINDS[wanted.kind]
    may = (face for declared, face in faces(kind) if declared.name in ("vessel", kind.fills))
    return [face.name for face in may if _names_several(face, wanted.texts.get(face.name, ""), cellar)]


def _names_several(face: FieldSpec, text: str, cellar: Cellar) -> bool:
    is_away = face.canonical is not None and face.canonical(text) == POURED_AWAY
    return not is_away and names_several(text, cellar)


def vessels_of(wanted: Wanted, cellar: Cellar, ground: Ground) -> list[Standing]:
    """List the vessels that an act is wanted on.

    Raises what `vessels_named` does, TwoLists, OneAtATime, NotAmongThem.
    """
    kind = KINDS[wanted.kind]
    name = list_field(wanted, cellar)
    text = wanted.texts.get(name, "")
    if not text.strip():
        raise BadField(name, f"is needed to {kind.label}; give a vessel, or several")
    found = vessels_named(text, cellar, ground.marks, ground.units)
    if kind.one_at_a_time and len(found) > 1:
        raise OneAtATime(kind, [s.tag for s in found])
    _check_each(wanted.each, cellar, {s.tag for s in found})
    return found


def _check_each(each: Mapping[str, Texts], cellar: Cellar, tags: set[str]) -> None:
    for tag in each:
        if cellar[tag].tag not in tags:
            raise NotAmongThem(cellar[tag].tag)


def with_vessels(wanted: Wanted, standings: list[Standing], cellar: Cellar) -> Wanted:
    """Return what is wanted with the vessels by their tags, in place of a series or words."""
    name = list_field(wanted, cellar)
    return replace(wanted, texts={**wanted.texts, name: ",".join(standing.tag for standing in standings)})


def rate_in(kind: str, texts: Texts) -> str:
    """Return a dose by what each vessel holds, such as "20 g/hL", as it was typed; empty where there is none."""
    text = texts.get(KINDS[kind].proposed, "").strip()
    return text if "/" in text else ""


def exact_given(kind: str, given: Texts, among: Texts, units: Units) -> dict[str, str]:
    """Return fields that are given, `among` others of the act, as they are understood in any units.

    A blank stays blank, and a dose by what each vessel holds as it was typed. Raises BadField.
    """
    figure, whole = KINDS[kind].proposed, {**among, **given}
    if rate_in(kind, whole):
        whole[figure] = ""
    exact = exact_texts(kind, whole, units)
    kept = {name: exact.get(name, "") for name in given}
    return kept | ({figure: rate_in(kind, given)} if rate_in(kind, given) else {})


def typed_for_one(kind: str, text: str) -> dict[str, dict[str, str]]:
    """Read "B-001=20 L; B-004=18 L": the figure of single vessels, by tag. Raises BadField."""
    figure, each = figure_of(KINDS[kind]), dict[str, dict[str, str]]()
    for part in filter(None, (part.strip() for part in text.split(";"))):
        tag, sign, value = (piece.strip() for piece in part.partition("="))
        if figure is None:
            raise BadField("but", f"to {KINDS[kind].label} takes no figure; do that vessel by itself")
        if not sign or not tag or not value:
            raise BadField("but", f"'{part}' is not TAG=FIGURE; write them as B-001=20 L; B-004=18 L")
        each[tag] = {figure.name: value}
    return each
