"""What a bottling run refuses."""

from collections.abc import Iterable, Sequence

from cooperage.book.errors import InVolumes
from cooperage.errors import BadInput, Refused, choose_from
from cooperage.units import Quantity, Units, show


class NoSuchRun(BadInput):
    """A code that no run has."""

    def __init__(self, code: str, codes: Iterable[str]) -> None:
        super().__init__(f"no bottling run '{code}'{choose_from(code, codes)}; `cooperage bottling list` shows them")


class NoOpenRun(BadInput):
    """No run is open, or more than one, and none was named."""

    def __init__(self, codes: Sequence[str]) -> None:
        open_ones = f"{', '.join(codes)} are open; name one" if codes else "no run is open; `cooperage bottling open`"
        super().__init__(open_ones)


class RunIsClosed(Refused):
    """A run that is closed takes no more lines, and is not closed again."""

    def __init__(self, code: str, bottlings: Sequence[str]) -> None:
        into = f" into {', '.join(bottlings)}" if bottlings else ""
        super().__init__(f"run {code} is closed{into}; strike all of its entries together to open it again")


class RunNotOpened(Refused):
    """Troubles stand that were not passed."""

    def __init__(self, code: str, names: Sequence[str]) -> None:
        why = ", ".join(names)
        super().__init__(
            f"run {code} is not opened, since this stands: {why}; settle each, or pass it with a reason: "
            f"--pass '{names[0]}=REASON'"
        )


class VesselInARun(Refused):
    """A vessel of which another run is open."""

    def __init__(self, tag: str, code: str) -> None:
        super().__init__(f"{tag} is being bottled as {code}; close that run first")


class NotASizeOfIt(BadInput):
    """A size of bottle that the run was not opened for, or none where there are several."""

    def __init__(self, code: str, sizes: Iterable[int], given: int | None) -> None:
        named = ", ".join(f"{size} mL" for size in sizes)
        why = "name the size" if given is None else f"{given} mL is no size of it"
        super().__init__(f"run {code} fills {named}; {why}")


class NoSuchLine(BadInput):
    """A line that is not there, or is a strike or struck already."""

    def __init__(self, code: str, number: int | str) -> None:
        super().__init__(
            f"run {code} has no line {number} that could be struck; `cooperage bottling show {code}` numbers them"
        )


class RunTakesMore(InVolumes):
    """The lines of a run come to more (`asked`) than its vessels hold (`there`)."""

    wording = (
        "what was filled, rejected, sampled and lost comes to {asked}, and {tag} hold {there} by the book: {over} too "
        "much; strike what is wrong, or gauge the vessels"
    )

    def __init__(self, tags: str, *, asked: int, there: int) -> None:
        super().__init__(tags, asked=asked, there=there, over=asked - there)


class NotInWholeBottles(InVolumes):
    """The last bottles would need what is left in several vessels together."""

    wording = (
        "the last {bottles} of {bottle} do not fit: {left} are left in {tag} together, and in none of them as much as "
        "a bottle; rack what is left together first"
    )

    def __init__(self, tags: str, bottles: int, *, bottle: int, left: int) -> None:
        self.bottles = bottles
        super().__init__(tags, bottle=bottle, left=left)

    def words(self, units: Units) -> str:
        """Return the refusal in the user's units."""
        shown = {name: show(Quantity.VOLUME, ml, units, digits=3) for name, ml in self.volumes_ml.items()}
        return self.wording.format(tag=self.tag, bottles=self.bottles, **shown)


class NothingInRun(Refused):
    """A run of which nothing was written is closed."""

    def __init__(self, code: str) -> None:
        super().__init__(f"run {code} has neither bottles nor anything lost or sampled; write what was filled first")


class RestIntoItself(BadInput):
    """What remains is to go into a vessel of the run."""

    def __init__(self, tag: str) -> None:
        super().__init__(f"{tag} is drawn on by the run itself; name another vessel, or 'stays' or 'lost'")


class FewerFilled(Refused):
    """More retained samples than bottles filled."""

    def __init__(self, asked: int, bottle_ml: int, filled: int) -> None:
        super().__init__(f"{asked} retained samples of {bottle_ml} mL were asked, and {filled} bottles were filled")


class MeadNotKnown(BadInput):
    """A weight of a mead whose density is not known."""

    def __init__(self) -> None:
        super().__init__(
            "strength or sugar of the mead is not known, so a weight gives no volume; measure them, give --gravity, or "
            "check by volume with --by-volume"
        )
