"""What a label states of a strength, a figure or a range, against what it really is; and the words for it."""

import re
from dataclasses import dataclass

from cooperage.programme.rules.figure import with_decimal
from cooperage.programme.rules.profile import Profile
from cooperage.programme.rules.strength import check_label, check_label_range
from cooperage.units import Quantity, Units, read, show

_BETWEEN = re.compile(r"\s*(?:[-–]|\bto\b)\s*")


@dataclass(frozen=True, slots=True)
class LabelHeld:
    """What was found: `is_ok` is None where the rules do not have it, or its value is not known here."""

    is_ok: bool | None
    lines: tuple[str, ...]


def read_stated(text: str, units: Units) -> tuple[float, float]:
    """Return the strengths between which a label states it [% vol], the same twice for one figure: "13.5", "12-14"."""
    low, *high = (float(read(Quantity.STRENGTH, each, units)) for each in _BETWEEN.split(text.strip(), maxsplit=1))
    return low, high[0] if high else low


def label_words(profile: Profile, low: float, high: float, actual: float, units: Units) -> LabelHeld:
    """Hold a stated strength, or a range where the two differ, against the actual one [% vol]."""
    real = show(Quantity.STRENGTH, actual, units)
    if low == high:
        check = check_label(profile, low, actual)
        known = check.tolerance if check.tolerance is not None and check.tolerance.is_known else None
        limit = "not known" if known is None else f"{known.words(units)}; {known.citation}"
        stated = show(Quantity.STRENGTH, low, units)
        verdict = with_decimal(check.words, units)
        return LabelHeld(check.is_ok, (f"{stated} stated, {real} found: {verdict}", f"tolerance {limit}"))
    found = check_label_range(profile, low, high)
    stated = f"{show(Quantity.STRENGTH, low, units, with_unit=False)} to {show(Quantity.STRENGTH, high, units)}"
    rule, is_inside = profile.find("label-range", high), low <= actual <= high
    is_ok = None if found == "not known here" else found == "ok" and is_inside
    where = "inside it" if is_inside else "outside it"
    limit = "not known" if rule is None or not rule.is_known else f"{rule.words(units)}; {rule.citation}"
    verdict = with_decimal(found, units)
    return LabelHeld(is_ok, (f"{stated} stated: {verdict}; {real} found, {where}", f"widest range {limit}"))
