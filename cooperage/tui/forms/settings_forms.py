"""The forms for a person's own settings, kept in a file, and for the facts of the cellar, kept in the book."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import replace

from cooperage.book.declared.fields import Holds
from cooperage.book.facts import CHECK, FACTS, show_fact
from cooperage.programme.upkeep.cellar_facts import cellar_facts, change_facts, parse_facts
from cooperage.settings import UNIT_KEYS, Settings, save_settings, settings_path
from cooperage.tui.filters.ascii_marks import ASCII
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.shared.fields import AskedField
from cooperage.units import CHOICES, Quantity, Units

NOTHING_CHANGED = "Nothing is changed yet."
_DECIMALS = {".": "a point: 1.5", ",": "a comma: 1,5"}
_THEMES = (
    ("dark", "dark, for the cellar"),
    ("light", "light, for the office"),
    ("contrast", "high contrast"),
    ("plain", "the terminal's own"),
)
_MARKS = (("usual", "▲ ○ ✓"), (ASCII, "! o v, for a terminal that lacks the others"))


def _unit_words(key: str, choice: str) -> str:
    return _DECIMALS[choice] if key == "decimal" else Units(**{key: choice}).usual(Quantity(key)).called


class SettingsForm(AskedForm[Settings]):
    """Asks for the name, units and colours of the person at work; closes with the settings as they were saved."""

    def __init__(self) -> None:
        super().__init__("Settings: yours, in your own file")

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return the name, each unit, and the colours."""
        now = self.desk.settings
        units = [
            (_choice(key, [(each, _unit_words(key, each)) for each in CHOICES[key]]), getattr(now.units, key))
            for key in UNIT_KEYS
        ]
        hand = AskedField("hand", "your name", Holds.TEXT, example="Maren")
        colours, marks = (
            (_choice("theme", _THEMES), now.theme or "dark"),
            (_choice("marks", _MARKS), now.marks or "usual"),
        )
        return [(hand, now.hand), *units, colours, marks]

    def _typed(self, texts: Mapping[str, str]) -> Settings:
        now = self.desk.settings
        units = Units(**{key: texts[key] or getattr(now.units, key) for key in UNIT_KEYS})
        theme = now.theme if texts["theme"] == (now.theme or "dark") else texts["theme"]
        marks = now.marks if texts["marks"] == (now.marks or "usual") else texts["marks"]
        typed = replace(now, units=units, hand=texts["hand"], theme=theme, marks=marks)
        return typed.in_currency(now.units.currency)

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what changes, and where it is kept."""
        typed, now = self._typed(texts), self.desk.settings
        if typed == now:
            return f"{NOTHING_CHANGED} They are kept in {settings_path(os.environ)}."
        again = " Screens open again in the new units: what is half typed there is lost."
        return f"{self.writer} writes {settings_path(os.environ)}.{again if typed.units != now.units else ''}"

    def write(self, texts: Mapping[str, str]) -> None:
        """Save them."""
        typed = self._typed(texts)
        if typed != self.desk.settings:
            save_settings(typed, os.environ)
        self.close(typed)


def _choice(name: str, choices: Sequence[tuple[str, str]]) -> AskedField:
    return AskedField(name, "colours" if name == "theme" else name, Holds.CHOICE, needed=True, choices=tuple(choices))


class FactsForm(AskedForm[list[str]]):
    """Asks for the facts of the cellar; a blank lets the default stand. Closes with the keys that were changed."""

    def __init__(self) -> None:
        super().__init__("Settings of the cellar: for everyone who works in it")
        self._before: dict[str, str] = {}

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return every fact, with its default where the cellar has not given it."""
        facts, units = cellar_facts(self.desk.book), self.desk.units
        self._before = {
            key: show_fact(fact, facts.values[key], units) if key in facts.given else "" for key, fact in FACTS.items()
        }
        return [
            (AskedField(key, key.replace("_", " "), fact.holds, usual=_default(key, units)), self._before[key])
            for key, fact in FACTS.items()
        ]

    def _changed(self, texts: Mapping[str, str]) -> dict[str, str]:
        return {key: text for key, text in texts.items() if text != self._before[key]}

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what the field in hand is, and what Enter would change."""
        changed = self._changed(texts)
        parse_facts(changed, self.desk.units)
        fact = FACTS[self.in_hand.field.name]
        about = f"{fact.label}; {CHECK}" if fact.reference else fact.label
        does = (
            f"{self.writer} changes {', '.join(key.replace('_', ' ') for key in changed)}."
            if changed
            else NOTHING_CHANGED
        )
        return f"{about[:1].upper()}{about[1:]}. {does}"

    def write(self, texts: Mapping[str, str]) -> None:
        """Change what is changed, all of it or nothing."""
        book, changes = self.desk.book, parse_facts(self._changed(texts), self.desk.units)
        self.desk.attempt(lambda _sure: change_facts(book, changes), self.close, self.refused)


def _default(key: str, units: Units) -> str:
    return f"{show_fact(FACTS[key], FACTS[key].default, units) or 'none'} (default)"
