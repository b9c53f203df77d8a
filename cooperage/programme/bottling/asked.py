"""A run that is asked for: on what, in which bottles, with which label; its risks, and opening it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from cooperage.book import Book, Cellar
from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput
from cooperage.programme.bottling.opening import open_run
from cooperage.programme.bottling.run import BottlingRun
from cooperage.programme.bottling_risks.risk import Risk
from cooperage.programme.bottling_risks.risks import risks
from cooperage.programme.bottling_risks.typed import USUAL_SIZES, read_label, read_sizes
from cooperage.units import Units, read_volume

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class AskedRun:
    """A run as it is asked for: code, vessels in the order they are drawn from, sizes [mL] with how many are wanted.

    `label` is the strength on the label [% vol], `line_loss_ml` what is expected to stay in the line; None where none
    was given.
    """

    code: str
    vessels: tuple[str, ...]
    sizes: Mapping[int, int | None]
    label: float | None = None
    line_loss_ml: int | None = None

    def risks(self, book: Book, units: Units) -> list[Risk]:
        """Return its risks as they stand now; raises NothingToBottle, NoSuchVessel."""
        return risks(book, self.vessels, self.sizes, label=self.label, units=units)

    def open(self, book: Book, found: list[Risk], reasons: Mapping[str, str], *, hand: str = "") -> BottlingRun:
        """Open it, each trouble among its risks passed with a reason. Raises what `open_run` raises."""
        return open_run(
            book,
            self.code,
            self.vessels,
            self.sizes,
            found,
            reasons,
            label=self.label,
            line_loss_ml=self.line_loss_ml,
            hand=hand,
        )


def read_asked(texts: Mapping[str, str], cellar: Cellar, units: Units) -> AskedRun:
    """Return the run that texts ask for: code, vessels, sizes, label and line-loss. Raises BadField."""
    if not texts.get("code", "").strip():
        raise BadField("code", "give the run a code, such as SALT-26")
    return AskedRun(
        texts["code"].strip(),
        _vessels(texts.get("vessels", ""), cellar),
        _read("sizes", lambda: read_sizes(texts.get("sizes") or USUAL_SIZES)),
        _read("label", lambda: read_label(texts.get("label"), units)),
        _read("line-loss", lambda: read_volume(texts["line-loss"], units) if texts.get("line-loss") else None),
    )


def _vessels(text: str, cellar: Cellar) -> tuple[str, ...]:
    tags = _parted(text, cellar)
    if not tags:
        raise BadField("vessels", "name the tank, or the barrels in the order they are drawn from")
    return _read("vessels", lambda: tuple(dict.fromkeys(cellar[tag].tag for tag in tags)))


def _parted(text: str, cellar: Cellar) -> list[str]:
    """Return the tags of a list: commas or semicolons part them, and spaces where every word is a tag."""
    tags = [each.strip() for each in text.replace(";", ",").split(",") if each.strip()]
    words = text.split()
    return words if len(tags) == 1 and len(words) > 1 and all(each in cellar for each in words) else tags


def _read(field: str, read: Callable[[], T]) -> T:
    try:
        return read()
    except BadInput as error:
        raise BadField(field, str(error)) from error
