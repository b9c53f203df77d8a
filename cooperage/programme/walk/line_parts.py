"""A line typed at a stop, taken apart: its litres, and what each named word is and is followed by.

A bare figure is always the litres of a topping; every other figure stands after its name. Commas and semicolons part,
in any order. After a semicolon, words that are none of the walk's are a note; a word that is nearly one of them is
taken for a slip and refused, wherever it stands.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial

from cooperage.book.declared.from_text import BadField
from cooperage.book.declared.properties import PROPERTIES, with_named_unit
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.errors import BadInput
from cooperage.programme.walk.line_tokens import FIGURE, Token, tokens_of
from cooperage.programme.walk.slips import NotAWord, is_foreign, nearest, refuse_slips
from cooperage.programme.walk.vocabulary import Family, Word, longest_substance, longest_word
from cooperage.units import DEFAULT, Quantity, Units, read, read_when


@dataclass(slots=True)
class LineParts:
    """A line in parts, as typed: texts that `parse_act` still has to understand.

    `read` is (spelling, figure) by property, `work` the words after each kind of barrel work, `doses` pairs of
    substance and amount, `air` temperature and humidity.
    """

    figure: str = ""
    read: dict[str, tuple[str, str]] = field(default_factory=dict)
    level: str = ""
    bung: str = ""
    smells: list[str] = field(default_factory=list)
    work: dict[str, str] = field(default_factory=dict)
    doses: list[tuple[str, str]] = field(default_factory=list)
    air: tuple[str, str] | None = None
    source: str = ""
    hand: str = ""
    when: str = ""
    not_full: bool = False
    notes: list[str] = field(default_factory=list)


def parts_of(line: str, now: datetime, units: Units = DEFAULT) -> LineParts:
    """Take a line apart; raises NotAWord for a word that is not known, BadField for one that is not in its place."""
    return _Reader(line, now, units).read()


_CLOCK = re.compile(r"\d{1,2}:\d{2}")
_DAY = re.compile(r"today|yesterday|\d{4}-\d{2}-\d{2}\S*", re.IGNORECASE)
_MOST_OF_A_FIGURE, _MOST_OF_A_TIME = 4, 4  # "3 x 500 ml", "3 Oct 2026 14:30"
_MAY_BE_TASTED = (Family.SMELL, Family.LEAD)
_HUMIDITY = ("%", "rh", "% rh")


class _Reader:
    """Reads a line from left to right, always at the first token that is not understood yet."""

    def __init__(self, line: str, now: datetime, units: Units) -> None:
        self._line, self._now, self._units = line, now, units
        self._tokens = tokens_of(line)
        self._at = 0
        self._after_semicolon = False
        self._tasting = False
        self._parts = LineParts()

    def read(self) -> LineParts:
        is_at_start = True
        while self._at < len(self._tokens):
            token = self._tokens[self._at]
            if token.is_sign:
                self._at += 1
                self._after_semicolon |= token.text == ";"
                self._tasting &= token.text != ";"
            elif token.is_note:
                self._take(1)
                self._parts.notes.append(token.text)
            elif not (is_at_start and self._take_plain_note()):
                self._take_next()
            is_at_start = token.is_sign
        return self._parts

    # --- the words ahead --------------------------------------------------------------------------------------------

    def _piece(self) -> list[Token]:
        """Return the words from here to the next sign or quoted note."""
        ahead = self._tokens[self._at :]
        ends = next((nth for nth, token in enumerate(ahead) if token.is_sign or token.is_note), len(ahead))
        return ahead[:ends]

    def _ahead(self) -> list[str]:
        return [token.text for token in self._piece()]

    def _take(self, count: int) -> str:
        """Go on by some words; returns them as they were typed."""
        taken = self._tokens[self._at : self._at + count]
        self._at += count
        return self._line[taken[0].place[0] : taken[-1].place[1]] if taken else ""

    def _take_figure(self, spelling: str, quantity: Quantity, name: str, example: str) -> str:
        """Take a figure with the longest unit that can be read; what cannot be read is left for `parse_act`."""
        words = self._ahead()[:_MOST_OF_A_FIGURE]
        if not words or not FIGURE.match(words[0]):
            raise BadField(name, f"give the figure after it, such as {name} {example}")
        counts = range(len(words), 0, -1)
        return self._take(next((n for n in counts if self._reads(quantity, spelling, " ".join(words[:n]))), 1))

    def _reads(self, quantity: Quantity, spelling: str, text: str) -> bool:
        try:
            read(quantity, with_named_unit(spelling, text), self._units)
        except BadInput:
            return False
        return True

    # --- one thing after another ------------------------------------------------------------------------------------

    def _take_next(self) -> None:
        words = self._ahead()
        known = longest_word(words)
        if known is not None:
            self._take_word(*known)
        elif self._take_when(words):
            self._tasting = False
        elif FIGURE.match(words[0]):
            self._tasting = False
            self._take_litres()
        elif self._tasting:
            self._take_taste()
        else:
            raise self._unknown()

    def _take_word(self, count: int, word: Word) -> None:
        spelling = self._take(count)
        if word.family is not Family.LEAD:
            self._tasting = False
        take: dict[Family, Callable[[str, str], None]] = {
            Family.READING: self._take_reading,
            Family.LEVEL: partial(self._take_look, "level"),
            Family.BUNG: partial(self._take_look, "bung"),
            Family.SMELL: self._take_smell,
            Family.WORK: self._take_work,
            Family.ADD: self._take_dose,
            Family.AIR: self._take_air,
            Family.FROM: self._take_source,
            Family.BY: self._take_hand,
            Family.NOTE: self._take_note,
            Family.NOT_FULL: self._take_not_full,
            Family.LEAD: self._check_lead,
        }
        take[word.family](spelling, word.name)

    def _take_litres(self) -> None:
        figure = self._take_figure("", Quantity.VOLUME, "volume", "1.1")
        if self._parts.figure:
            raise BadField("figure", f"“{self._parts.figure}” and “{figure}”: name what each is, such as dip 30, 1.8")
        self._parts.figure = figure

    def _take_reading(self, spelling: str, name: str) -> None:
        declared = PROPERTIES[name]
        if name in self._parts.read:
            raise BadField(spelling, f"{declared.label} is given twice; give it once")
        figure = self._take_figure(spelling, declared.quantity, spelling, "24")
        self._parts.read[name] = (spelling, figure)

    def _take_look(self, where: str, _spelling: str, word: str) -> None:
        had = getattr(self._parts, where)
        if had and had != word:
            raise BadField(where, f"“{had}” and “{word}” cannot both be right; keep one of them")
        setattr(self._parts, where, word)

    def _take_smell(self, _spelling: str, name: str) -> None:
        if name not in self._parts.smells:
            self._parts.smells.append(name)

    def _take_not_full(self, _spelling: str, _name: str) -> None:
        self._parts.not_full = True

    def _take_source(self, spelling: str, _name: str) -> None:
        self._parts.source = self._one(spelling, self._parts.source, "K-02")

    def _take_hand(self, spelling: str, _name: str) -> None:
        self._parts.hand = self._one(spelling, self._parts.hand, "Tove") + self._rest_of_a_name()

    def _take_work(self, _spelling: str, name: str) -> None:
        self._parts.work.setdefault(name, "")
        if name == "taste":
            self._tasting = True
            if self._piece():
                self._take_taste()

    def _take_taste(self) -> None:
        """Take the words after a tasting, to the next sign or the next word that a figure or a name follows."""
        words, taken = self._ahead(), 0
        while taken < len(words):
            known = longest_word(words[taken:])
            if known is not None and known[1].family in (Family.LEVEL, Family.BUNG):
                where, word = known[1].family.name.lower(), known[1].name
                raise BadField("taste", f"is “{word}” the {where}? Put a comma before it; a taste may stand in quotes")
            if FIGURE.match(words[taken]) or (known is not None and known[1].family not in _MAY_BE_TASTED):
                break
            taken += 1 if known is None else known[0]
        if taken:
            refuse_slips(self._piece()[:taken], is_alone=False)
            self._parts.work["taste"] = ", ".join(filter(None, (self._parts.work["taste"], self._take(taken))))

    def _take_dose(self, spelling: str, _name: str) -> None:
        """Take an amount and a substance, in either order."""
        words = self._ahead()
        found = longest_substance(words)
        name = self._take_substance(spelling) if found is not None else ""
        quantity = SUBSTANCES[name].quantity if name else self._quantity_of_dose()
        amount = self._take_figure("", quantity, spelling, "13 g kmbs")
        self._parts.doses.append((name or self._take_substance(spelling), amount))

    def _quantity_of_dose(self) -> Quantity:
        """Return whether an amount is one of mass or of volume, by the substance that follows it."""
        words = self._ahead()
        named = (longest_substance(words[nth:]) for nth in range(1, len(words)))
        return next((SUBSTANCES[each[1]].quantity for each in named if each is not None), Quantity.MASS)

    def _take_substance(self, spelling: str) -> str:
        words = self._ahead()
        if words and words[0].casefold() == "of":
            self._take(1)
            words = words[1:]
        found = longest_substance(words)
        if found is None:
            raise BadField(spelling, f"name what is added, such as {spelling} 13 g kmbs")
        self._take(found[0])
        return found[1]

    def _take_air(self, _spelling: str, _name: str) -> None:
        words = self._ahead()
        if sum(bool(FIGURE.match(word)) for word in words) < 2:
            raise BadField("air", "give the temperature and the humidity, such as air 13.5 78")
        if self._parts.air is not None:
            raise BadField("air", "the air is given twice; give it once")
        celsius = self._take_figure("", Quantity.TEMPERATURE, "air", "13.5 78")
        humidity = self._take_figure("", Quantity.PERCENT, "air", "13.5 78")
        while self._ahead()[:1] and self._ahead()[0].casefold() in _HUMIDITY:
            self._take(1)
        self._parts.air = (celsius, humidity)

    def _one(self, spelling: str, had: str, example: str) -> str:
        if not self._piece():
            raise BadField(spelling, f"give the name after it, such as {spelling} {example}")
        if had:
            raise BadField(spelling, "is given twice; give it once")
        return self._take(1)

    def _rest_of_a_name(self) -> str:
        """Take the other names of a hand: words with a capital that mean nothing else."""
        taken = ""
        while (words := self._ahead()) and words[0][:1].isupper() and longest_word(words) is None:
            taken += f" {self._take(1)}"
        return taken

    def _take_when(self, words: Sequence[str]) -> bool:
        """Take a day, a time of day or both, if one stands here."""
        skipped = int(words[0].casefold() == "at" and len(words) > 1)
        words = words[skipped : skipped + _MOST_OF_A_TIME]
        for count in range(len(words), 0, -1):
            text = " ".join(words[:count])
            text = f"today {text}" if _CLOCK.fullmatch(text) else text
            if (count > 1 or _CLOCK.fullmatch(words[0]) or _DAY.fullmatch(text)) and self._is_time(text):
                if self._parts.when:
                    raise BadField("when", f"“{self._parts.when}” and “{text}”; give one time")
                self._take(skipped + count)
                self._parts.when = text
                return True
        return False

    def _is_time(self, text: str) -> bool:
        try:
            read_when(text, self._now)
        except BadInput:
            return False
        return True

    def _check_lead(self, spelling: str, wanted: str) -> None:
        """Refuse a lead that does not stand before the word it belongs to."""
        words = self._ahead()
        known = longest_word(words)
        if not wanted or (known is not None and known[1].family is Family.LEAD and words):
            return
        if not words:
            raise BadField(spelling, _LEADS_TO[wanted])
        if wanted == "FIGURE" and FIGURE.match(words[0]):
            return
        if known is None and not FIGURE.match(words[0]):
            raise self._unknown()
        if known is None or known[1].family.name != wanted:
            raise BadField(spelling, _LEADS_TO[wanted])

    # --- notes and slips --------------------------------------------------------------------------------------------

    def _take_note(self, spelling: str, _name: str) -> None:
        """Take everything up to the next semicolon, as it was typed."""
        ahead = self._tokens[self._at :]
        ends = (nth for nth, token in enumerate(ahead) if token.is_sign and token.text == ";")
        note = self._take(next(ends, len(ahead)))
        if not note:
            raise BadField(spelling, f"give the words after it, such as {spelling} hoop rusty")
        self._parts.notes.append(note)

    def _take_plain_note(self) -> bool:
        """Take a piece after a semicolon in which nothing is a word of the walk or a figure; refuse a slip in it."""
        piece = self._piece()
        if not self._after_semicolon or self._tasting or not is_foreign([token.text for token in piece]):
            return False
        refuse_slips(piece, is_alone=len(piece) == 1)
        note = self._take(len(piece))
        before = self._tokens[self._at - len(piece) - 1]
        if before.text == "," and self._parts.notes and self._line_has_note_before(before):
            self._parts.notes[-1] += f", {note}"
        else:
            self._parts.notes.append(note)
        return True

    def _line_has_note_before(self, comma: Token) -> bool:
        return self._line[: comma.place[0]].rstrip().endswith(self._parts.notes[-1])

    def _unknown(self) -> NotAWord:
        """Return the refusal of the word that stands here, with the nearest one, or its piece as a note in quotes."""
        piece = self._piece()
        count, name = nearest([token.text for token in piece])
        place = piece[0].place[0], piece[count - 1].place[1]
        signs = (token.place[1] for token in self._tokens[: self._at] if token.is_sign or token.is_note)
        note = self._line[max(signs, default=0) : piece[-1].place[1]].strip()
        return NotAWord(self._line[slice(*place)], place, name, note)


_LEADS_TO = {
    "LEVEL": "name it, such as level low; a dip is dip 30",
    "BUNG": "name what it does, such as bung weeping",
    "SMELL": "name the smell, such as smells of vinegar",
    "FIGURE": "give the litres after it, such as top 1.1",
}
