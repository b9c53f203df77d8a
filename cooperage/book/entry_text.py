"""The words of one entry, part by part: its fields, its moves, its readings, in one person's units."""

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from string import Formatter
from typing import Any

from cooperage.book.declared.acts import KINDS, faces
from cooperage.book.declared.fields import FieldSpec, Holds, is_required
from cooperage.book.declared.places import OUTSIDE, Outside
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.errors import ID_LETTERS
from cooperage.book.log import Entry
from cooperage.book.replay.events import Move, Observed
from cooperage.units import Quantity, Units, show_at_length, show_exact, show_spread, show_trimmed

_SHORT_TEXT = 40
_WITHOUT_CLOSING_ZEROS = (Quantity.SULPHITE, Quantity.MASS)
_LABELS = {place.value: outside.label for place, outside in OUTSIDE.items()}


def kind_word(kind: str) -> str:
    """Return what people call a kind of entry: a shift is a move."""
    act = KINDS.get(kind)
    return kind if act is None else act.word or kind


def _of_one_bottle(pattern: str) -> str:
    """Return a sentence on bottles as it is for one."""
    return pattern.replace("{bottles} bottles", "{bottles} bottle").replace("that were", "that was")


class EntryText:
    """The words of one entry in one person's units; `of_visit` is for a line with when, who and where beside it."""

    def __init__(self, entry: Entry, units: Units, *, short: bool = False, of_visit: bool = False) -> None:
        self._entry, self._units, self._short, self._of_visit = entry, units, short or of_visit, of_visit
        self._kind = KINDS.get(entry.kind)
        self._faces, defaults = ({}, {}) if self._kind is None else _declared(entry.kind)
        self._given = {
            name: value
            for name, value in entry.said.items()
            if not is_blank(value) and (name not in defaults or value != defaults[name])
        }

    def phrases(self) -> list[str]:
        """List the parts of the one-line text: fields, moves, readings."""
        fields, moves = self.fields(flags=False), self._move_texts()
        if self._entry.strikes and moves:
            fields, moves = [f"{', '.join(fields)} ({', '.join(moves)})"], []
        return [*fields, *moves, *self._reading_texts(), *self._flags()]

    def fields(self, *, flags: bool = True) -> list[str]:
        """List the fields that were given, except those that the moves show."""
        sentence, used = self._sentence()
        words = [
            self._phrase(name, value)
            for name, value in self._given.items()
            if name not in used and not self._is_flag(name) and not self._is_shown_elsewhere(name, value)
        ]
        return [*([sentence] if sentence else []), *words, *(self._flags() if flags else [])]

    def ledger(self) -> Iterator[str]:
        """Yield each move as a line of account: exact volume, what, where from and where to."""
        for move in self._entry.moves:
            of = f" of {_substance(move.lot or move.substance)}" if move.lot or move.substance else ""
            source, destination = (_LABELS.get(place, place) for place in (move.source, move.destination))
            yield f"  {show_exact(move.ml, self._units):>10}{of}  {source} → {destination}"

    def instruments(self) -> Iterator[str]:
        """Yield each reading's uncertainty unless it was given, and the readings that no field shows."""
        is_given = any(face.holds is Holds.SPREAD and name in self._given for name, face in self._faces.items())
        for read in self._entry.readings:
            if not self._is_in_a_field(read):
                how = f", {read.method}" if read.method else ""
                yield f"  {read.vessel}: {self._reading(read)}, give or take {self._spread(read)}{how}"
            elif not is_given:
                yield f"give or take {self._spread(read)}, as is usual"

    def documents(self, word: Callable[[str, Units], list[str]] | None) -> Iterator[str]:
        """Yield the documents kept with the entry, each whole, or worded."""
        for name, face in self._documents().items():
            text = str(self._given[name])
            yield from [f"{face.label}: {text}"] if word is None else word(text, self._units)

    def _documents(self) -> dict[str, FieldSpec]:
        return {name: face for name, face in self._faces.items() if face.is_document and name in self._given}

    def _is_flag(self, name: str) -> bool:
        return name in self._faces and self._faces[name].holds is Holds.FLAG

    def _flags(self) -> list[str]:
        return [self._faces[name].label for name in self._given if self._is_flag(name)]

    def _sentence(self) -> tuple[str, set[str]]:
        """Return the kind's own sentence and the fields in it; nothing where one of them is not known."""
        pattern = "" if self._kind is None else self._kind.sentence
        names = {name for _, name, _, _ in Formatter().parse(pattern) if name}
        values = self._entry.said
        if not names or any(values.get(name) in (None, "") for name in names):
            return "", set()
        if values.get("bottles") == 1:
            pattern = _of_one_bottle(pattern)
        return pattern.format_map({name: self.shown(name, values[name]) for name in names}), names

    def _phrase(self, name: str, value: Any) -> str:  # noqa: ANN401 - whatever the field holds
        face = self._faces.get(name)
        if face is None:  # written by a program that knows more than this one
            return f"{name} {value}"
        if face.is_document:
            return f"with its {face.label}"
        return face.phrased(value, self.shown(name, value))

    # --- what moves and readings show already -----------------------------------------------------------------------

    def _is_shown_elsewhere(self, name: str, value: Any) -> bool:  # noqa: ANN401 - whatever the field holds
        face = self._faces.get(name)
        if face is None:
            return False
        if face.holds is Holds.TAG and _same(value, self._entry.vessel):
            return True
        return face.moved and self._is_moved(face, value)

    def _is_moved(self, face: FieldSpec, value: Any) -> bool:  # noqa: ANN401 - whatever the field holds
        moves = self._entry.moves
        if face.holds is Quantity.VOLUME:
            return any(move.ml == value for move in moves)
        if face.holds is Holds.DRAWS:
            return all(any(_same(tag, move.source) and move.ml == ml for move in moves) for tag, ml in value)
        if face.holds is Holds.LOT:
            return any(_same(value, move.lot) for move in moves)
        return any(_same(value, end) for move in moves for end in (move.source, move.destination))

    def _move_texts(self) -> list[str]:
        moves = self._entry.moves
        if self._entry.strikes:  # the moves of a strike are reversed; show the moves that it cancels
            moves = [move._replace(source=move.destination, destination=move.source) for move in reversed(moves)]
        moves = sorted(moves, key=lambda move: move.destination in _LABELS)  # what was done before what was lost
        return [self._move(move) for move in moves if not self._is_dose(move)]

    def _is_dose(self, move: Move) -> bool:
        """Return True if a move is the volume of a dose, which is shown beside its amount."""
        values = self._entry.said
        dosed = [name for name, _ in values.get("doses") or ()] + [values.get("substance")]
        return move.substance is not None and move.substance in dosed

    def _move(self, move: Move) -> str:
        subject = self._entry.vessel
        volume = self._volume(move.ml)
        if move.lot or move.substance:
            volume += f" of {_substance(move.lot or move.substance)}"
        from_ = "" if move.source in (subject, Outside.RECEIVED) else f" from {self._place(move.source)}"
        if move.destination == self._entry.kind:  # a sample
            return volume + from_
        if move.destination in _LABELS:
            return f"{volume}{from_} {self._place(move.destination)}"
        return volume + from_ + ("" if move.destination == subject else f" to {move.destination}")

    def _reading_texts(self) -> list[str]:
        return [self._reading(read) for read in self._entry.readings if not self._is_in_a_field(read)]

    def _is_in_a_field(self, read: Observed) -> bool:
        """Return True if a field shows what was read."""
        figures = (value for value in self._entry.said.values() if isinstance(value, float | int))
        return any(value == read.value and not isinstance(value, bool) for value in figures)

    def _reading(self, read: Observed) -> str:
        declared = PROPERTIES.get(read.property)
        name = read.property if declared is None else declared.called if self._of_visit else declared.label
        return f"{name} {self._value(read.property, read.value)}"

    def _spread(self, read: Observed) -> str:
        declared = PROPERTIES[read.property]
        return show_spread(declared.quantity, read.uncertainty, read.value, self._units)

    # --- one value as text -----------------------------------------------------------------------------------------

    def shown(self, name: str, value: Any) -> str:  # noqa: ANN401 - whatever the field holds
        """Return the value of a field."""
        face, values = self._faces[name], self._entry.said
        if self._of_visit and face.holds is Holds.CHOICE and str(value) in PROPERTIES:
            return PROPERTIES[str(value)].called
        if face.named is not None:
            return face.named(str(value))
        if isinstance(face.holds, Quantity):
            return self._quantity(face.holds, value)
        match face.holds:
            case Holds.VALUE:
                return self._value(str(values.get("property")), value)
            case Holds.SPREAD:
                read = PROPERTIES[str(values["property"])]
                return show_spread(read.quantity, value, values["value"], self._units)
            case Holds.AMOUNT:
                return self._amount(str(values.get("substance")), value)
            case Holds.DRAWS:
                return ", ".join(self._draw(part, amount) for part, amount in value)
            case Holds.PLACE:
                return self._place(str(value))
            case Holds.ENTRY:
                return f"{kind_word(self._entry.strikes_kind)} {str(value)[:ID_LETTERS]}".strip()
            case _:
                return self._text(str(value))

    def _quantity(self, quantity: Quantity, value: float) -> str:
        if quantity is Quantity.VOLUME:
            return self._volume(int(value))
        if self._of_visit and quantity in _WITHOUT_CLOSING_ZEROS:
            return show_trimmed(quantity, value, self._units)
        return show_at_length(quantity, value, self._units)

    def _volume(self, ml: int) -> str:
        if self._of_visit:
            return show_trimmed(Quantity.VOLUME, ml, self._units)
        return show_at_length(Quantity.VOLUME, ml, self._units) if self._short else show_exact(ml, self._units)

    def _value(self, name: str, value: float) -> str:
        declared = PROPERTIES.get(name)
        return str(value) if declared is None else self._quantity(declared.quantity, value)

    def _amount(self, name: str, amount: float) -> str:
        substance = SUBSTANCES.get(name)
        if substance is None:
            return str(amount)
        if substance.quantity is Quantity.VOLUME:
            return self._volume(round(amount))
        brought = [f" ({self._volume(move.ml)})" for move in self._entry.moves if move.substance == name]
        return self._quantity(substance.quantity, amount) + "".join(brought)

    def _draw(self, part: str, amount: float) -> str:
        if part in SUBSTANCES:
            return f"{self._amount(part, amount)} of {_substance(part)}"
        return f"{self._volume(int(amount))} from {part}"

    def _place(self, place: str) -> str:
        return place if self._short else _LABELS.get(place, place)

    def _text(self, text: str) -> str:
        line = " ".join(text.split())
        is_too_long = self._short and not self._of_visit and len(line) > _SHORT_TEXT
        return f"{line[: _SHORT_TEXT - 1]}…" if is_too_long else line


@cache
def _declared(kind: str) -> tuple[dict[str, FieldSpec], dict[str, Any]]:
    """Return each field's declaration and the default of those that have one, both by name."""
    own = faces(KINDS[kind])
    defaults = {declared.name: declared.default for declared, _ in own if not is_required(declared)}
    return {declared.name: face for declared, face in own}, defaults


def is_blank(value: object) -> bool:
    """Return True if nothing stands in a field."""
    return value is None or value is False or value in ("", [], ())


def _same(value: object, name: str | None) -> bool:
    """Return True if a typed value is this tag, lot or place, in either case."""
    return name is not None and str(value).strip().casefold() == name.casefold()


def _label(declared: Mapping[str, Any], name: str) -> str:
    return str(declared[name].label) if name in declared else name


def _substance(name: str | None) -> str:
    return _label(SUBSTANCES, name or "")
