"""The same act on several vessels as a form shows it: a line a vessel, what is refused of it, what would be written.

Nothing is written: what is meant is rehearsed by the writer itself, on states that no one else sees.
"""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from cooperage.book import Act, Book, Cellar, Standing, Written
from cooperage.book.declared.acts import KINDS, faces, figure_of
from cooperage.book.declared.from_text import BadField, read_fields
from cooperage.book.declared.places import OUTSIDE, OUTSIDE_IDS, Outside
from cooperage.book.not_written import wanted_words
from cooperage.book.writing.rehearsal import Rehearsal
from cooperage.book.writing.write import words_of
from cooperage.errors import AskedBack, CooperageError
from cooperage.programme.several.dealt import dealt
from cooperage.programme.several.moved import expected_words, main_ml, own_figure
from cooperage.programme.several.named import shown_tags
from cooperage.programme.several.proposed import Meant, meant_by
from cooperage.programme.several.wanted import Ground, Wanted, list_field, vessels_of
from cooperage.programme.together import AskedTogether, write_one
from cooperage.units import DEFAULT, Quantity, Units, counted, show

_MOST_FIGURES = 4
BY_HAND = "left out"
"""Why a vessel is left out that the person took off the list."""


@dataclass(frozen=True, slots=True)
class ActLine:
    """One vessel: its figure as it is shown, why it is left out, why it is refused; each empty where there is none."""

    tag: str
    figure: str = ""
    left_out: str = ""
    refused: str = ""


@dataclass(frozen=True, slots=True)
class ActSheet:
    """All of it: its lines in order, and the words for what writing it would do.

    `missing` is a field that is still needed or is not understood, `refused` what stands against all of it, `asked`
    the question that comes back. `meant` is what would be written; None where nothing can be.
    """

    lines: tuple[ActLine, ...] = ()
    announced: str = ""
    missing: BadField | None = None
    refused: str = ""
    asked: str = ""
    meant: Meant | None = None

    @property
    def refused_at(self) -> int | None:
        """The first line that is refused."""
        return next((nth for nth, line in enumerate(self.lines) if line.refused), None)

    @property
    def first_words(self) -> str:
        """What a person should read first: what is refused, what is missing, or what would be written."""
        at = self.refused_at
        if at is not None:
            words, tag = self.lines[at].refused, self.lines[at].tag
            return words if tag in words else f"{tag}: {words}"
        return self.refused or (f"{self.missing.field}: {self.missing.reason}" if self.missing else self.announced)


def sheet_of(
    book: Book, wanted: Wanted, cellar: Cellar, ground: Ground, out: Collection[str] = (), units: Units = DEFAULT
) -> ActSheet:
    """Return the sheet of what is wanted, without the vessels that are `out`; words are in `units`.

    `cellar` is as it stood when it was done. Nothing is raised that `meant_by` or the book refuses: it is shown.
    """
    try:
        tags = [standing.tag for standing in vessels_of(wanted, cellar, ground)]
    except BadField as error:
        return ActSheet(missing=error)
    except CooperageError as error:
        return ActSheet(refused=error.words(units))
    return _Making(book, wanted, cellar, ground, units, tags, out).sheet()


class _Making:
    """One sheet as it comes about."""

    def __init__(  # one value for each thing that a sheet is made of
        self,
        book: Book,
        wanted: Wanted,
        cellar: Cellar,
        ground: Ground,
        units: Units,
        tags: Sequence[str],
        out: Collection[str],
    ) -> None:
        self._book, self._cellar, self._ground, self._units = book, cellar, ground, units
        self._wanted, self._out = wanted, out
        self._lines = {tag: ActLine(tag, left_out=BY_HAND if tag in out else "") for tag in tags}

    def sheet(self) -> ActSheet:
        there = [tag for tag, line in self._lines.items() if not line.left_out]
        if not there:
            return self._with(refused="every vessel is left out; take one in again, or close")
        try:
            wanted = dealt(without(self._wanted, self._out, self._cellar), there)
            if self._misread(wanted):
                return self._with()
            meant = meant_by(wanted, self._cellar, self._ground, always=True)
        except BadField as error:
            return self._with(missing=error)
        except CooperageError as error:
            return self._with(refused=error.words(self._units))
        for tag, why in meant.left_out.items():
            self._change(tag, left_out=why)
        return self._rehearsed(meant)

    def _with(self, **found: object) -> ActSheet:
        return ActSheet(tuple(self._lines.values()), **found)  # type: ignore[arg-type] # fields of a sheet, by name

    def _change(self, tag: str, **found: str) -> None:
        self._lines[tag] = replace(self._lines[tag], **found)

    def _misread(self, wanted: Wanted) -> bool:
        """Read what is typed for single vessels, so that what is not understood is shown at its line."""
        figure, is_any = figure_of(KINDS[wanted.kind]), False
        for tag, own in wanted.each.items():
            try:
                if not (figure and "/" in own.get(figure.name, "")):
                    read_fields(wanted.kind, {**wanted.texts, **own}, self._ground.units)
            except BadField as error:
                if figure is None or error.field != figure.name:
                    continue  # a field of all, which is shown as such
                self._change(tag, refused=error.reason)
                is_any = True
        return is_any

    def _rehearsed(self, meant: Meant) -> ActSheet:
        """Try what is meant, all of it one after the other; what is refused is shown at its line."""
        if any(act.at is not None for act in meant.acts.values()):
            for tag, act in meant.acts.items():
                self._change(tag, figure=own_figure(act, units=self._units))
            return self._with(announced=self._announced(meant, {}, None), meant=meant)  # of the past: the writer checks
        written: dict[str, Written] = {}
        asked: list[AskedBack] = list(meant.doubts)
        try:
            with self._book.reading() as connection:
                rehearsal = Rehearsal(connection, self._book.now(), self._book.cellar_in(connection))
                self._try(rehearsal, meant, written, asked)
                after = rehearsal.cellar()
        except CooperageError as error:
            return self._with(refused=error.words(self._units))
        question = AskedTogether(asked).question(self._units) if asked else ""
        return self._with(announced=self._announced(meant, written, after), asked=question, meant=meant)

    def _try(self, rehearsal: Rehearsal, meant: Meant, written: dict[str, Written], asked: list[AskedBack]) -> None:
        for tag, act in meant.acts.items():
            mark = rehearsal.mark()
            try:
                written[tag] = write_one(rehearsal, self._book, act, asked)
            except CooperageError as error:
                rehearsal.go_back(mark)
                self._change(tag, refused=error.words(self._units))
            else:
                self._change(tag, figure=own_figure(act, written[tag], self._units))

    def _announced(self, meant: Meant, written: Mapping[str, Written], after: Cellar | None) -> str:
        """Return what would be written: "fill 8 barrels, 1790.0 L from T-1, which keeps 210.0 L"."""
        done = list(meant.acts.values())
        head = f"{done[0].label} {_counted([self._cellar[tag] for tag in meant.acts])}"
        moved = [ml for each in written.values() if (ml := main_ml(each)) is not None] or _volumes(done)
        ends = _ends(done)
        if moved and ends is not None:
            litres = show(Quantity.VOLUME, sum(moved), self._units)
            left = "" if after is None else f", {_keeps(ends, after, self._units)}"
            return f"{head}, {litres} {ends[0]} {ends[1]}{left}{_besides(written, self._units)}"
        return _same_to_all(done, written, self._units) or head


def _besides(written: Mapping[str, Written], units: Units) -> str:
    """Return what leaves the vessels besides, under its name: ", 5.3 L as gauging difference"."""
    lost: Counter[str] = Counter()
    for each in written.values():
        for move in each.moves:
            if move.destination in OUTSIDE_IDS and move.ml != main_ml(each):
                lost[OUTSIDE[Outside(move.destination)].label] += move.ml
    return "".join(f", {show(Quantity.VOLUME, ml, units)} as {label}" for label, ml in lost.items())


def without(wanted: Wanted, out: Collection[str], cellar: Cellar) -> Wanted:
    """Return what is wanted without some of its vessels, which are named by their tags."""
    name = list_field(wanted, cellar)
    there = [tag for tag in wanted.texts.get(name, "").split(",") if tag not in out]
    each = {tag: own for tag, own in wanted.each.items() if tag not in out}
    return replace(wanted, texts={**wanted.texts, name: ",".join(there)}, each=each)


def _counted(standings: Sequence[Standing]) -> str:
    if len(standings) == 1:
        return standings[0].tag
    return counted(len(standings), "barrel" if all(s.vessel.is_barrel for s in standings) else "vessel")


def _ends(done: Sequence[Act]) -> tuple[str, str] | None:
    """Return the one vessel that all of it comes from, or goes to: ("from", "T-1")."""
    kind = type(done[0])
    for preposition, name in (("from", kind.draws_on), ("to", kind.fills)):
        places = {getattr(act, name) for act in done} if name and name != "vessel" else set()
        if len(places) == 1:
            return preposition, str(places.pop())
    if kind.draws_on == "vessel" and len({getattr(act, "vessel", "") for act in done}) == 1:
        return "from", str(getattr(done[0], "vessel", ""))
    return None


def _volumes(done: Sequence[Act]) -> list[int]:
    """Return what acts that were not tried move by their own figures [ml]; nothing where one of them leaves it open."""
    volumes = [getattr(act, type(act).proposed, None) for act in done]
    return [ml for ml in volumes if isinstance(ml, int)] if all(isinstance(ml, int) for ml in volumes) else []


def _keeps(ends: tuple[str, str], after: Cellar, units: Units) -> str:
    preposition, tag = ends
    if tag not in after:
        return "which is not in the cellar any more"
    litres = show(Quantity.VOLUME, after[tag].ml, units)
    return f"which keeps {litres}" if preposition == "from" else f"which then holds {litres}"


def _same_to_all(done: Sequence[Act], written: Mapping[str, Written], units: Units) -> str:
    """Return what is done to all of them alike, the vessels by their tags; with each figure where they differ."""
    kind = type(done[0])
    tags = shown_tags([str(getattr(act, "vessel", "")) for act in done])
    figures = sorted({expected_words(each, units) or own_figure(each.act, each, units) for each in written.values()})
    said = [{name: value for name, value in words_of(act).items() if name != "vessel"} for act in done]
    if all(each == said[0] for each in said):
        return wanted_words(kind.kind, said[0], tags, units)
    alike = {
        face.label: str(said[0][declared.name])
        for declared, face in faces(kind)
        if face.choices and said[0].get(declared.name)
    }
    parts = [*alike.values(), *([] if len(figures) > _MOST_FIGURES else figures)]
    return f"{kind.label} {tags}{': ' if parts else ''}{', '.join(parts)}"
