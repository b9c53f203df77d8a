"""From a dip to litres: the headspace of a barrel in the book, by its capacity."""

from collections.abc import Sequence

from cooperage import liquid
from cooperage.book.errors import NotABarrel
from cooperage.book.store.registry import Vessel


def volume_at_headspace(vessel: Vessel, dry_mm: float) -> int:
    """Return the volume [ml] in a lying barrel whose dry dip under the bung is `dry_mm` [mm].

    Raises NotABarrel, since a tank's litres follow from its own scale, and OutOfRange for a dip deeper than the barrel.
    """
    if vessel.barrel_ml is None:
        raise NotABarrel(vessel.tag, vessel.kind)
    return ml_at_headspace(vessel.barrel_ml, dry_mm)


def ml_at_headspace(capacity_ml: int, dry_mm: float) -> int:
    """Return the same for a barrel of this capacity [ml]; raises OutOfRange."""
    capacity_l = capacity_ml / 1000
    shape = liquid.barrel_shape(capacity_l)
    return capacity_ml - round(1000 * float(liquid.ullage_litres(dry_mm, *shape, capacity_l)))


def expected_headspace(vessel: Vessel, ml: int) -> float:
    """Return the dry dip [mm] to expect in a barrel that holds `ml`."""
    return expected_headspaces(vessel, [ml])[0]


def expected_headspaces(vessel: Vessel, volumes: Sequence[int]) -> list[float]:
    """Return the dry dip [mm] to expect at each of several volumes [ml] of a barrel."""
    capacity_l = vessel.capacity_ml / 1000
    missing_l = [capacity_l - ml / 1000 for ml in volumes]
    found: list[float] = liquid.headspace_mm(missing_l, *liquid.barrel_shape(capacity_l), capacity_l).tolist()
    return found
