"""Figures as a return has them: litres into its unit, rounded by the rules, in exact decimals."""

from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal

from cooperage.programme.rules.figure import RuleFigure
from cooperage.programme.rules.profile import Profile

_PER_GALLON, _PER_PURE = "USD/US gal", "GBP/L pure alcohol"


def half_up(value: Decimal, step: Decimal) -> Decimal:
    """Round to whole steps, half a step away from zero: 0.05 is 0.1 in steps of 0.1."""
    return (value / step).quantize(Decimal(1), ROUND_HALF_UP) * step


def cut(value: Decimal, step: Decimal) -> Decimal:
    """Leave out what is less than a step: 7.59 is 7.5 in steps of 0.1."""
    return (value / step).quantize(Decimal(1), ROUND_DOWN) * step


def in_unit(profile: Profile, ml: int) -> Decimal:
    """Return a volume in the unit of the profile's return, unrounded: US gallons by the legal factor, else litres."""
    litres = Decimal(ml) / 1000
    factor = profile.find("volume-factor")
    return litres if factor is None else litres * profile.named("volume-factor.wine").number


def return_step(profile: Profile) -> RuleFigure:
    """Return the step to which a return's volumes are rounded; its value may not be known."""
    return profile.named("return-step.tax" if profile.find("volume-factor") else "return-step.volume")


def return_volume(profile: Profile, ml: int) -> Decimal:
    """Return a volume as the profile's return has it: half a step goes up. Raises RuleUnknown."""
    return half_up(in_unit(profile, ml), return_step(profile).number)


def duty_strength(profile: Profile, strength: Decimal) -> Decimal:
    """Return the strength that duty is paid on [% vol]: cut to the profile's step, where it has one."""
    step = profile.find("duty-strength")
    return strength if step is None or not step.is_known else cut(strength, step.number)


def duty(profile: Profile, rate: RuleFigure, ml: int, strength: Decimal) -> Decimal | None:
    """Return the duty on a volume by its tax class, to four decimals; None where the rate or its basis is not known."""
    if not rate.is_known or rate.unit not in (_PER_GALLON, _PER_PURE):
        return None
    if rate.unit == _PER_GALLON:
        basis = return_volume(profile, ml)
    else:
        basis = Decimal(ml) / 1000 * duty_strength(profile, strength) / 100
    return half_up(basis * rate.number, Decimal("0.0001"))
