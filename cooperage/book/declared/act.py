"""What every act has: its own fields, and what is declared of its kind."""

from collections.abc import Mapping
from dataclasses import Field, dataclass, fields
from datetime import datetime
from typing import Any, ClassVar

from cooperage.book.declared.counts import Counts
from cooperage.book.declared.fields import FieldSpec, face_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """The fields of every act: when it was done (None: just now), by whom, a note, and 'sure' to skip questions.

    `sentence` puts fields of the kind together in an entry's words: "{amount} of {substance}". `word` is what people
    call the kind where that is not its name in the book, and `done` what a hand did, before the rest of its words
    ("topped"); without it, the rest is all.
    `brief` is what is to be done on one short line: "rack [{figure} of ]{vessel} to {destination}"; what stands in
    brackets is left out where a figure in it is not known, for what is in <>.
    `expected` is what its vessel was expected to hold just before [ml, at least and at most], as the caller
    calculated it: a volume that agrees with it is not asked back.

    `fills` and `draws_on` name the fields of the vessels that mead goes into and comes from (a topping only makes
    good what is missing: it fills none). An act `needs_mead` where its vessel must hold some; it `stays_closed` where
    nothing is opened, `lifts` the vessel itself, `scraps` where the wood may be sawn or burned next, and is done
    `over_the_rim` where a face may come over an open tank. `replays_fields`: the replay reads its fields, beyond its
    moves and readings. What `brings_substances` may add them to the mead.
    """

    kind: ClassVar[str]
    label: ClassVar[str]
    word: ClassVar[str] = ""
    done: ClassVar[str] = ""
    sentence: ClassVar[str] = ""
    brief: ClassVar[str] = ""
    examples: ClassVar[tuple[str, ...]] = ()
    fills: ClassVar[str] = ""
    draws_on: ClassVar[str] = ""
    needs_mead: ClassVar[bool] = False
    stays_closed: ClassVar[bool] = False
    lifts: ClassVar[bool] = False
    scraps: ClassVar[bool] = False
    over_the_rim: ClassVar[bool] = False
    replays_fields: ClassVar[bool] = False
    one_at_a_time: ClassVar[bool] = False
    brings_substances: ClassVar[bool] = False
    proposed: ClassVar[str] = ""
    counts_as: ClassVar[tuple[Counts, ...]] = ()

    at: datetime | None = None
    hand: str = ""
    note: str = ""
    sure: bool = False
    expected: tuple[int, int] | None = None

    @classmethod
    def parted(cls, texts: Mapping[str, str]) -> Mapping[str, str]:
        """Return the texts of its fields, by their outside names, where one that is typed holds another's too."""
        return texts


_FACES: dict[type[Act], list[tuple[Field[Any], FieldSpec]]] = {}  # every write needs it several times


def faces(kind: type[Act]) -> list[tuple[Field[Any], FieldSpec]]:
    """List the fields that are the kind's own, each with its declaration."""
    if kind not in _FACES:
        _FACES[kind] = [(declared, face_of(declared)) for declared in fields(kind) if "spec" in declared.metadata]
    return _FACES[kind]


def figure_of(kind: type[Act]) -> FieldSpec | None:
    """Return the figure that each of several vessels may have its own of: the last that is given by position.

    That is a volume, a value, an amount, a treatment; None where there is none.
    """
    given = [face for declared, face in faces(kind) if face.argument and declared.name != "vessel"]
    return given[-1] if given else None


def is_about_a_vessel(kind: type[Act]) -> bool:
    """Return True if a kind is done to a vessel; the air of a room is not, nor is a strike."""
    return any(declared.name == "vessel" for declared, _ in faces(kind))
