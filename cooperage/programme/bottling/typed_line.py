"""What is typed of a run in one line: "4x12; reject 2; sample 200ml", and what it would write.

A bare number is bottles that were filled; everything else has its word first. Parts stand between semicolons, and are
written as one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from cooperage.book import Book
from cooperage.errors import BadInput, did_you_mean
from cooperage.programme.bottling.errors import NoSuchLine
from cooperage.programme.bottling.run import BottlingRun, RunLine, RunLineKind
from cooperage.programme.bottling.words import bottle_words
from cooperage.programme.bottling.writing import size_of, write_lines
from cooperage.programme.bottling_risks.fill import volume_from_level
from cooperage.units import Quantity, Units, counted, read, read_bottles, read_volume, show

HOW = "bottles (48, 4x12), or first one of: reject, sample, loss, check, closure, stop, note, strike"
HINT = "48 · 4x12 · reject 2 · sample 200ml · loss 1l · check · closure · stop · note"
"""Examples for one row of a narrow terminal."""
WORDS: Mapping[str, RunLineKind] = MappingProxyType(
    {
        "filled": RunLineKind.FILLED,
        "rejects": RunLineKind.REJECTS,
        "rejected": RunLineKind.REJECTS,
        "reject": RunLineKind.REJECTS,
        "sample": RunLineKind.SAMPLE,
        "loss": RunLineKind.LOSS,
        "check": RunLineKind.CHECK,
        "closure": RunLineKind.CLOSURE,
        "stop": RunLineKind.STOP,
        "note": RunLineKind.NOTE,
        "strike": RunLineKind.STRUCK,
    }
)
"""The word that begins a part, and the kind of line that it writes."""
_PROPOSED = tuple({kind: word for word, kind in WORDS.items()}.values())
"""One word of each kind, the last of its spellings."""


class NotALine(BadInput):
    """A part of a line that is not understood."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """Full bottles as they were measured: grams with what a bottle weighs empty (`tare_g`), or millilitres without.

    With the bore of the neck (`neck_mm`) they are millimetres above the mark of the nominal level, below it negative.
    """

    figures: tuple[float, ...]
    tare_g: float | None = None
    neck_mm: float | None = None
    celsius: float | None = None
    gravity: float | None = None

    @property
    def how(self) -> str:
        """How they were measured."""
        return "by level" if self.neck_mm is not None else "by volume" if self.tare_g is None else "by weight"

    def volumes(self, book: Book, run: BottlingRun, bottle_ml: int) -> list[float]:
        """Return the volumes at 20 °C [ml] of bottles of a size; raises MeadNotKnown, NotALine."""
        from cooperage.programme.bottling.fills import volumes_at_20c, volumes_by_weight

        if self.tare_g is None:
            as_they_are = self.figures
            if self.neck_mm is not None:
                as_they_are = tuple(volume_from_level(bottle_ml, each, self.neck_mm) for each in self.figures)
            found = volumes_at_20c(book, run, as_they_are, self.celsius)
        else:
            found = volumes_by_weight(book, run, self.figures, self.tare_g, celsius=self.celsius, gravity=self.gravity)
        if min(found) <= 0:
            raise NotALine("a bottle that holds nothing is no fill; correct the figures or the tare")
        return found


@dataclass(frozen=True, slots=True)
class TypedPart:
    """One part of a line: what it would write, but for the volumes of bottles that were `weighed`."""

    line: RunLine
    weighed: Weighed | None = None


def parse_run_line(text: str, run: BottlingRun, units: Units) -> list[TypedPart]:
    """Return the parts of a line as they would be written. Raises BadInput."""
    parts = [_part(each.strip(), run, units) for each in text.split(";") if each.strip()]
    if not parts:
        raise NotALine(f"type {HOW}")
    return parts


def _part(text: str, run: BottlingRun, units: Units) -> TypedPart:
    first, _, rest = text.partition(" ")
    kind, rest = WORDS.get(first.casefold()), rest.strip()
    if kind is None:
        if not first[:1].isdecimal():
            raise _unknown(first)
        kind, rest = RunLineKind.FILLED, text
    if not rest:
        raise NotALine(f"“{first}” needs what follows it: {_NEEDS[kind]}")
    match kind:
        case RunLineKind.FILLED | RunLineKind.REJECTS:
            count, size = _bottles(rest, run, units)
            return TypedPart(RunLine("", 0, kind, size, count))
        case RunLineKind.SAMPLE | RunLineKind.LOSS:
            return TypedPart(RunLine("", 0, kind, ml=read_volume(rest, units)))
        case RunLineKind.CHECK:
            size, weighed = _weighed(rest, run, units)
            return TypedPart(RunLine("", 0, kind, size), weighed)
        case RunLineKind.STRUCK:
            return TypedPart(_strike(rest, run))
        case _:
            return TypedPart(RunLine("", 0, kind, words=rest))


_NEEDS = {
    RunLineKind.FILLED: "bottles, such as 4x12",
    RunLineKind.REJECTS: "bottles, such as 3",
    RunLineKind.SAMPLE: "how much, such as 200ml",
    RunLineKind.LOSS: "how much, such as 1.5l",
    RunLineKind.CHECK: "grams, 1255 1254 tare 512; or 750.2 749.8 ml; or mm from the mark, -2 0 1 neck 18.5",
    RunLineKind.CLOSURE: "the lot of the closures",
    RunLineKind.STOP: "why the line stood",
    RunLineKind.NOTE: "the note",
    RunLineKind.STRUCK: "the number of the line",
}


def _unknown(word: str) -> NotALine:
    meant = did_you_mean(word.casefold(), _PROPOSED, ".")
    return NotALine(f"“{word}” is no word of a run{meant} Type {HOW}")


def _bottles(text: str, run: BottlingRun, units: Units) -> tuple[int, int]:
    """Return how many bottles of which size were typed: "48", "4x12 375ml"."""
    count, _, size = text.partition(" ")
    try:
        return read_bottles(text, units), size_of(run, None)
    except BadInput:
        if not size:
            raise
    try:
        ml = read_volume(size)
    except BadInput as error:
        raise NotALine(
            f"“{size}” is no size of a bottle; type one such as 4x12 750ml, and a semicolon before what else was done"
        ) from error
    return read_bottles(count, units), size_of(run, ml)


def _weighed(text: str, run: BottlingRun, units: Units) -> tuple[int, Weighed]:
    words, figures, named = iter(text.split()), [], {}
    is_volume = False
    for word in words:
        low = word.casefold()
        if low in _NAMED:
            named[low] = next(words, "")
        elif low == "ml":
            is_volume = True
        elif low != "level":
            is_volume |= low.endswith("ml")
            figures.append(signed_number(low.removesuffix("ml").removesuffix("g").removesuffix("mm"), units))
    size = size_of(run, read_volume(named["size"]) if "size" in named else None)
    tare, neck, celsius, gravity = (_named(named, name, units) for name in ("tare", "neck", "at", "gravity"))
    if not figures or [is_volume, tare is not None, neck is not None].count(True) != 1:
        raise NotALine(f"a check is {_NEEDS[RunLineKind.CHECK]}")
    return size, Weighed(tuple(figures), tare, neck, celsius, gravity)


def signed_number(text: str, units: Units) -> float:
    """Return a figure that may be below zero, as a level is."""
    sign, number = (-1.0, text[1:]) if text[:1] in ("-", "−") else (1.0, text.removeprefix("+"))
    return sign * float(read(Quantity.NUMBER, number, units))


_NAMED = {
    "tare": Quantity.NUMBER,
    "neck": Quantity.NUMBER,
    "at": Quantity.TEMPERATURE,
    "gravity": Quantity.GRAVITY,
    "size": Quantity.VOLUME,
}


def _named(given: Mapping[str, str], name: str, units: Units) -> float | None:
    if name not in given:
        return None
    text = given[name].removesuffix("mm").removesuffix("g") if name in ("tare", "neck") else given[name]
    return float(read(_NAMED[name], text, units))


def _strike(text: str, run: BottlingRun) -> RunLine:
    number, _, why = text.partition(" ")
    if not number.isdecimal() or int(number) not in {line.number for line in run.standing}:
        raise NoSuchLine(run.code, number)
    return RunLine("", 0, RunLineKind.STRUCK, words=why.strip(), strikes=int(number))


def announced(parts: Sequence[TypedPart], run: BottlingRun, units: Units) -> str:
    """Return what a line would write: "48 bottles of 750 mL filled, 528 in all · sample 0.2 L"."""
    return " · ".join(_part_words(each, run, units) for each in parts)


def _part_words(part: TypedPart, run: BottlingRun, units: Units) -> str:
    line = part.line
    if part.weighed is not None:
        bottles = counted(len(part.weighed.figures), "bottle")
        return f"fill check of {bottles} of {line.bottle_ml} mL, {part.weighed.how}"
    if line.bottles is not None and line.bottle_ml is not None:
        in_all = line.bottles + run.bottles(line.kind).get(line.bottle_ml, 0)
        done = "filled" if line.kind is RunLineKind.FILLED else "rejected"
        return f"{bottle_words(line.bottles, line.bottle_ml)} {done}, {in_all} in all"
    if line.ml is not None:
        return f"{line.kind.value} {show(Quantity.VOLUME, line.ml, units)}"
    if line.strikes is not None:
        struck = next(each for each in run.lines if each.number == line.strikes)
        return f"strikes line {line.strikes}, {struck.kind.value}" + (f": {line.words}" if line.words else "")
    return f"{line.kind.value}: {line.words}"


def write_typed(
    book: Book, run: BottlingRun, parts: Sequence[TypedPart], *, hand: str = "", sure: bool = True
) -> tuple[BottlingRun, list[RunLine]]:
    """Write a typed line as one, bottles that were weighed as volumes at 20 °C. Raises as `write_lines` does."""
    lines = [each.line if each.weighed is None else _checked(each.line, each.weighed, book, run) for each in parts]
    return write_lines(book, run.code, lines, hand=hand, sure=sure)


def _checked(line: RunLine, weighed: Weighed, book: Book, run: BottlingRun) -> RunLine:
    size = size_of(run, line.bottle_ml)
    return RunLine("", 0, line.kind, size, volumes_ml=tuple(weighed.volumes(book, run, size)))
