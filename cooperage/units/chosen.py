"""The units that a person has chosen to type and read in."""

from dataclasses import dataclass, replace
from functools import cache

from cooperage.errors import BadInput, choose_from
from cooperage.units.currencies import MINOR_UNITS, decimals_of
from cooperage.units.scales import CHOICES, SCALES, Quantity, Unit


class UnknownChoice(BadInput):
    """A unit or a decimal mark that cannot be chosen."""

    def __init__(self, key: str, chosen: object) -> None:
        self.key, self.chosen, self.choices = key, chosen, _choices(key)
        super().__init__(f"{key} cannot be '{chosen}'{choose_from(str(chosen), self.choices)}")


@dataclass(frozen=True, slots=True)
class Units:
    """The units in which a person types and reads; `CHOICES` lists what each may be, in capitals or not.

    The `currency` is no choice of a person: it is the cellar's, by its code, and empty where the cellar has none.

    Raises: UnknownChoice.
    """

    volume: str = "L"
    gravity: str = "sg"
    temperature: str = "c"
    decimal: str = "."
    currency: str = ""

    def __post_init__(self) -> None:
        for key in (*CHOICES, "currency"):
            chosen = getattr(self, key)
            meant = [choice for choice in _choices(key) if choice.casefold() == str(chosen).casefold()]
            if not meant:
                raise UnknownChoice(key, chosen)
            object.__setattr__(self, key, meant[0])  # "l" for L, "F" for f

    def find(self, quantity: Quantity, spelled: str) -> Unit | None:
        """Find a unit by one of its spellings; of a sum of money that is the currency alone."""
        if quantity is Quantity.MONEY and self.currency:
            return self.usual(quantity) if spelled.strip().upper() == self.currency else None
        return SCALES[quantity].find(spelled)

    def usual(self, quantity: Quantity) -> Unit:
        """Return the unit in which a bare number of this quantity is meant and shown."""
        scale = SCALES[quantity]
        if quantity is Quantity.MONEY and self.currency:
            return _of_currency(self.currency)
        chosen = getattr(self, quantity.value, scale.units[0].name)
        return next(unit for unit in scale.units if unit.name == chosen)


@cache
def _of_currency(code: str) -> Unit:
    return replace(
        SCALES[Quantity.MONEY].units[0], name=code, label=code, called=f"a sum in {code}", digits=decimals_of(code)
    )


def _choices(key: str) -> tuple[str, ...]:
    return ("", *MINOR_UNITS) if key == "currency" else CHOICES[key]


DEFAULT = Units()
