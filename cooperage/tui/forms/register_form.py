"""The forms for new vessels and for a new lot, made from the declarations that the command reads too."""

from collections.abc import Mapping, Sequence
from typing import Any

from textual import on

from cooperage.book import Lot, Vessel
from cooperage.programme.upkeep.asking import Asked
from cooperage.programme.upkeep.registering import (
    OF_LOT,
    OF_VESSEL,
    parse_lot,
    parse_vessels,
    proposals,
    register_lot,
    register_vessels,
    vessels_words,
)
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.key_queue import Scanned
from cooperage.tui.shared.field_list import FieldList, scanned_into
from cooperage.tui.shared.fields import NOTE, AskedField, example_of
from cooperage.units import Units

_WOOD = frozenset(each.name for each in OF_VESSEL if each.of_wood)


def asked_field(each: Asked, units: Units) -> AskedField:
    """Return how a form asks for what is declared."""
    choices = tuple((choice, choice) for choice in each.choices)
    is_needed = each.needed or each.name == "kind"
    return AskedField(
        each.name, each.label, each.holds, is_needed, choices, example=each.example or example_of(each.holds, units)
    )


class VesselForm(AskedForm[list[Vessel]]):
    """Asks for a new vessel, or several by their tags in a row; what is proposed is as the last of its kind was.

    Closes with the vessels that were registered.
    """

    def __init__(self, tag: str = "") -> None:
        super().__init__("Register a vessel, or several: B-051..B-058")
        self._tag = tag
        self._proposed: dict[str, str] = {}

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked of a vessel, with what is proposed."""
        units = self.desk.units
        self._proposed = proposals(self.desk.cellar, units=units)
        texts = self._proposed | ({"tag": self._tag} if self._tag else {})
        return [*((asked_field(each, units), texts.get(each.name, "")) for each in OF_VESSEL), (NOTE, "")]

    @on(FieldList.Answered)
    def _propose(self, event: FieldList.Answered) -> None:
        """Propose for another kind what its last one had, where nothing else was typed; only a barrel is of wood."""
        if event.row.kind != "choice":
            return
        rows = self.rows
        kind = rows["kind"].text or "barrel"
        proposed = proposals(self.desk.cellar, kind, self.desk.units)
        for name in ("tag", "capacity", "wood"):
            if rows[name].text == self._proposed.get(name, ""):
                rows[name].set_text(proposed.get(name, ""))
        self._proposed = proposed
        for name in _WOOD:
            rows[name].display = kind == "barrel"
        self.announce()

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return which vessels Enter registers."""
        return f"{self.writer} registers {vessels_words(parse_vessels(texts, self.desk.units), self.desk.units)}"

    def write(self, texts: Mapping[str, str]) -> None:
        """Register them, all or none."""
        book, hand, vessels = self.desk.book, self.desk.hand, parse_vessels(texts, self.desk.units)
        self.desk.attempt(lambda sure: register_vessels(book, vessels, hand=hand, sure=sure), self.close, self.refused)

    def take_scan(self, text: str, stood: str | None) -> Scanned:  # noqa: ARG002 - as dialogs are given it
        """Take a scanned tag for the new vessel's, and go on; refuse it at a field that takes something else."""
        return _scanned_name(self, "tag", text)


class LotForm(AskedForm[Lot]):
    """Asks for a new lot; closes with the lot that was registered."""

    def __init__(self) -> None:
        super().__init__("Register a lot")

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked of a lot."""
        return [*((asked_field(each, self.desk.units), "") for each in OF_LOT), (NOTE, "")]

    def take_scan(self, text: str, stood: str | None) -> Scanned:  # noqa: ARG002 - as dialogs are given it
        """Take a scanned code for the new lot's, and go on; refuse it at a field that takes something else."""
        return _scanned_name(self, "code", text)

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return which lot Enter registers."""
        lot = parse_lot(texts, self.desk.units)
        return f"{self.writer} registers {', '.join(dict.fromkeys((lot.code, lot.name)))}"

    def write(self, texts: Mapping[str, str]) -> None:
        """Register it."""
        book, hand, lot = self.desk.book, self.desk.hand, parse_lot(texts, self.desk.units)
        self.desk.attempt(lambda _sure: register_lot(book, lot, hand=hand), self.close, self.refused)


def _scanned_name(form: AskedForm[Any], name: str, text: str) -> Scanned:
    """Take a scan in the field of this name for what is registered, if the book has none so called, and go on."""
    row, desk = form.rows[name], form.desk
    if not row.is_focused or not desk.is_like_a_tag(text):
        return scanned_into(form, desk, text)
    row.set_text(text)
    if text in desk.cellar or desk.page_of(text) is not None:
        row.complain(f"{text} is in the book already")
        return Scanned.REFUSED
    row.complain("")
    form.query_one(FieldList).action_step(1)
    return Scanned.TAKEN
