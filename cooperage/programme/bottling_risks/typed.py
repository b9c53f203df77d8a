"""What is typed of a bottling: its bottles by size, the strength on its label, and why risks are passed."""

from collections.abc import Sequence

from cooperage.errors import BadInput
from cooperage.units import Quantity, Units, read, read_volume

LARGEST_BOTTLE_ML = 30_000
USUAL_SIZES = "750ml"
"""The sizes of a bottling that names none."""


class NotASize(BadInput):
    """A text that is no size of a bottle."""

    def __init__(self, text: str) -> None:
        super().__init__(f"'{text}' is no bottle; write sizes as 750ml, or with how many: 750ml=120,375ml=40")


def read_sizes(text: str) -> dict[int, int | None]:
    """Return how many bottles of each size [mL] are wanted; None for as many as there are. Raises NotASize."""
    found: dict[int, int | None] = {}
    for part in filter(None, (each.strip() for each in text.split(","))):
        size, equals, count = (each.strip() for each in part.partition("="))
        ml = read_volume(size)
        if not 0 < ml <= LARGEST_BOTTLE_ML or (equals and not count.isdecimal()):
            raise NotASize(part)
        found[ml] = int(count) if equals else None
    if not found:
        raise NotASize(text)
    return found


def read_label(text: str | None, units: Units) -> float | None:
    """Return the strength that is to stand on a label [% vol]; None where none was given."""
    return float(read(Quantity.STRENGTH, text, units)) if text else None


def read_reasons(passed: Sequence[str]) -> dict[str, str]:
    """Return the reasons typed as RISK=REASON, by risk."""
    return {name.strip(): reason.strip() for name, _, reason in (each.partition("=") for each in passed)}
