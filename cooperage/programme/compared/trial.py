"""A trial across barrels as it is planned and kept, and what can be wrong with it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from cooperage.errors import BadInput, Refused, did_you_mean
from cooperage.programme.compared.layout import BarrelLayout, numbered
from cooperage.programme.compared.power import BarrelSpread
from cooperage.tasting.withdrawal import Withdrawal


class NoSuchBarrelTrial(BadInput):
    """A code that no trial across barrels has."""

    def __init__(self, code: str, known: Iterable[str]) -> None:
        hint = did_you_mean(code, known, "; `cooperage trial barrels list` shows them")
        super().__init__(f"there is no trial {code}{hint}")


class BarrelTrialWithdrawn(Refused):
    """Something asked of a trial that was withdrawn."""

    def __init__(self, code: str, why: str) -> None:
        super().__init__(f"trial {code} was withdrawn: {why}; plan another")


class NothingLeftToPour(Refused):
    """A trial of which every planned flight was poured, or that is read and not tasted."""

    def __init__(self, code: str, *, is_tasted: bool) -> None:
        poured = (
            "every planned flight of it was poured; once they are revealed, `cooperage trial barrels results` has its "
            "answer"
        )
        read = "it is answered by readings, so nothing is poured; write them with `cooperage log reading`"
        super().__init__(f"trial {code}: {poured if is_tasted else read}")


class InATrialAlready(Refused):
    """Barrels that another trial has, which is not over."""

    def __init__(self, tags: Sequence[str], code: str) -> None:
        super().__init__(
            f"{', '.join(tags)}: in trial {code}, which is not over; leave {'it' if len(tags) == 1 else 'them'} out, "
            "or withdraw that trial"
        )


class NothingSeenYet(Refused):
    """A trial of which no flight is revealed, or nothing was read, so that there is no answer yet."""

    def __init__(self, code: str, *, is_tasted: bool) -> None:
        what = "none of its flights is revealed" if is_tasted else "nothing was read since it began"
        super().__init__(f"trial {code} has no answer yet: {what}")


@dataclass(frozen=True, slots=True)
class TrialTreatment:
    """A treatment: its short name, and a line on what is done."""

    name: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class TrialBarrel:
    """A barrel of a trial: its tag, its block, and the number of its treatment, from 0."""

    vessel: str
    block: str
    treatment: int


@dataclass(frozen=True, slots=True)
class Sitting:
    """Which blocks are tasted together, or read, and on which day."""

    day: date
    blocks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StatedBefore:
    """What was stated before a trial began: the spread expected, its power for the difference asked about, the least.

    `power` is None where no difference was named; `least` is found in 8 of 10 such trials.
    """

    spread: BarrelSpread
    power: float | None
    least: float


@dataclass(frozen=True, slots=True)
class PouredSitting:
    """The flight that was poured for a sitting, numbered from 1; whether it is still blind."""

    sitting: int
    flight: str
    is_blind: bool


@dataclass(frozen=True, slots=True)
class BarrelTrial:
    """A trial across barrels. `measure` is overall, an attribute, or a property that is read: then `scale` is empty.

    `seed` is what treatments were drawn with, None where they were not drawn. `difference` is what it is asked to find,
    in points or in the property's unit; `level` how sure a difference is that it finds.
    """

    id: str
    code: str
    question: str
    measure: str
    scale: str
    treatments: tuple[TrialTreatment, ...]
    barrels: tuple[TrialBarrel, ...]
    blocked_by: tuple[str, ...]
    seed: int | None
    sittings: tuple[Sitting, ...]
    tasters: tuple[str, ...]
    difference: float | None
    level: float
    stated: StatedBefore
    hand: str
    written_at: datetime
    poured: tuple[PouredSitting, ...] = ()
    withdrawn: Withdrawal | None = field(default=None)

    @property
    def is_tasted(self) -> bool:
        """Return True if it is answered by scores, False by readings."""
        return bool(self.scale)

    @property
    def is_blind(self) -> bool:
        """Return True while a flight of it is poured and not revealed: then no barrel's treatment is shown."""
        return any(each.is_blind for each in self.poured)

    @property
    def layout(self) -> BarrelLayout:
        """Which barrel gets which treatment, in which block."""
        blocks = numbered([each.block for each in self.barrels])
        return BarrelLayout(tuple(each.treatment for each in self.barrels), blocks, len(self.treatments))

    def at_sitting(self, number: int) -> list[str]:
        """Return the tags of the barrels of a sitting, numbered from 1."""
        blocks = self.sittings[number - 1].blocks
        return [each.vessel for each in self.barrels if each.block in blocks]

    @property
    def to_pour(self) -> list[int]:
        """The numbers of sittings for which nothing was poured yet, from 1; none where it is read or withdrawn."""
        poured = {each.sitting for each in self.poured}
        is_open = self.is_tasted and self.withdrawn is None
        return [number for number in range(1, len(self.sittings) + 1) if is_open and number not in poured]

    def is_over(self, today: date) -> bool:
        """Return True once it was withdrawn, or every flight is revealed, or the last day of readings is past."""
        if self.withdrawn is not None:
            return True
        if self.is_tasted:
            return not self.to_pour and not self.is_blind
        return all(each.day < today for each in self.sittings)

    def treatment_of(self, tag: str) -> TrialTreatment | None:
        """Return the treatment of a barrel; None while a flight is blind, and of a barrel that is not in it."""
        found = [each for each in self.barrels if each.vessel == tag]
        return self.treatments[found[0].treatment] if found and not self.is_blind else None

    def by_treatment(self) -> Mapping[str, list[str]]:
        """Return the tags of each treatment's barrels by its name."""
        return {
            treatment.name: [each.vessel for each in self.barrels if each.treatment == at]
            for at, treatment in enumerate(self.treatments)
        }
