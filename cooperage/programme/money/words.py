"""Costs and values as text: sums with their currency, what is not known and how to set it, the lines of each door."""

from collections.abc import Iterable, Iterator, Mapping

from cooperage.book.prices import BOTTLE, ITEMS, Price
from cooperage.programme.money.angels import AngelsRow
from cooperage.programme.money.costed import Costed
from cooperage.programme.money.rows import CostBalance, ValueRow
from cooperage.programme.money.value import CellarValue
from cooperage.programme.money.worth import Gap
from cooperage.units import DEFAULT, Quantity, Units, counted, decimals_of, show, show_day, show_short
from cooperage.units.showing import volume_unit

NO_ADVICE = "A help for your books, not tax or accounting advice."
"""What stands under every cost."""
AT_LEAST = "at least "
HOW_TO_SET = {
    "price": "Set a price with `cooperage prices set ITEM PRICE`.",
    "lot": "The cost of a lot is given when it is registered.",
    "barrel": "The price of a barrel is given when it is registered.",
}
"""How what is not known comes to be known."""
NO_CURRENCY = "No currency is set; `cooperage cellar currency CODE` sets it."


def sum_words(cents: int, units: Units = DEFAULT, *, is_known: bool = True) -> str:
    """Return a sum; of what is only known in part, "at least" that."""
    text = show(Quantity.MONEY, cents / 10 ** decimals_of(units.currency), units)
    return text if is_known else f"{AT_LEAST}{text}"


def rate_words(cents: float | None, units: Units = DEFAULT, *, by_volume: bool = False) -> str:
    """Return what one bottle costs, or `by_volume` one of the person's units of volume; "?" where it is unknown."""
    if cents is None:
        return "?"
    of_one = volume_unit(units)[1] if by_volume else 1.0
    return show(Quantity.MONEY, cents * of_one / 10 ** decimals_of(units.currency), units)


def litres(ml: float, units: Units = DEFAULT) -> str:
    """Return millilitres in the person's unit."""
    return show(Quantity.VOLUME, round(ml), units)


def gap_words(value: CellarValue, gap: Gap, ml: float, units: Units = DEFAULT) -> str:
    """Return what is not known, and how much mead it concerns: "the cost of lot HE-24 (412.0 L)"."""
    kind, name = gap
    if kind == "found":
        what = "the origin of what was found in an empty vessel"
    elif kind == "price":
        what = f"the price of {_thing(name)}"
    else:
        what = f"the {'price' if kind == 'barrel' else 'cost'} of {kind} {value.name(name)}"
    return f"{what} ({litres(ml, units)})"


def _thing(name: str) -> str:
    item, _, size = name.partition(" ")
    if not size.isdecimal() or item not in ITEMS:
        return name
    return f"an empty {size} mL bottle" if item == BOTTLE else f"the {item} of a {size} mL bottle"


def gap_lines(value: CellarValue, gaps: Mapping[Gap, float], units: Units = DEFAULT) -> list[str]:
    """Return a line of what is not known, and how to set it; none where all is known."""
    if not gaps:
        return []
    ranked = sorted(gaps.items(), key=lambda item: (-item[1], item[0]))
    kinds = {kind for kind, _ in gaps}
    named = "; ".join(gap_words(value, gap, ml, units) for gap, ml in ranked)
    return [f"Not known: {named}.", *(how for kind, how in HOW_TO_SET.items() if kind in kinds)]


def closing_lines(units: Units) -> list[str]:
    """Return what stands under every cost."""
    return [NO_ADVICE] if units.currency else [NO_CURRENCY, NO_ADVICE]


VALUE_HEAD = ("what", "volume", "bottles", "value", "each")
VALUE_NUMBERS = (1, 2, 3, 4)


def value_cells(row: ValueRow, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return a line of the cellar's value: what a bottle of it had cost, else what a litre has."""
    by_bottle = row.filled_per_bottle is not None
    each = rate_words(row.filled_per_bottle if by_bottle else row.per_l, units, by_volume=not by_bottle)
    unit = "a bottle" if by_bottle else f"a {volume_unit(units)[0]}"
    return (
        row.what,
        "" if row.ml is None else litres(row.ml, units),
        "" if row.bottles is None else str(row.bottles),
        sum_words(row.cents, units, is_known=row.is_known),
        "" if row.ml is None else f"{each} {unit}",
    )


def balance_lines(balance: CostBalance, units: Units = DEFAULT) -> Iterator[tuple[str, str]]:
    """Yield what came in and what became of it: a label and its words."""
    sides = (("came in", balance.into), ("is left", balance.left), ("went out", balance.out), ("lost", balance.lost))
    for label, parts in sides:
        named = ", ".join(f"{what} {sum_words(cents, units)}" for what, cents in parts.items() if cents)
        of_which = f": {named}" if named else ""
        yield label, f"{sum_words(sum(parts.values()), units)}{of_which}"


def cost_words(value: CellarValue, each: Costed, units: Units = DEFAULT) -> Iterator[str]:
    """Yield what a code has cost, line by line."""
    yield _head(each, units)
    if each.received is not None:
        yield f"  received   {litres(each.received[0], units)}, which cost {sum_words(each.received[1], units)}"
    for line in each.lines:
        yield f"  {line.what:<10} {sum_words(line.cents, units):>14}  {line.of}".rstrip()
    yield f"  in all     {_in_all(each, units)}"
    if each.stock is not None:
        bottles, cents = each.stock
        left = sum_words(cents, units, is_known=not each.gaps)
        yield f"  in stock   {counted(bottles, 'bottle')}, {left}"
    if each.kind == "barrel":
        price = "?" if each.price is None else sum_words(each.price, units)
        left = "?" if each.left_in_books is None else sum_words(each.left_in_books, units)
        gone = "" if each.let_go is None else f"; {sum_words(each.let_go, units)} was left when it was retired"
        yield f"  barrel     its price {price}, of which {left} is left in the books{gone}"
        angels = (
            "at a cost that is not known" if each.angels is None else f"which had cost {sum_words(each.angels, units)}"
        )
        yield f"  angels     took {litres(each.angels_ml, units)}, {angels}; the rest bears it"
    yield from gap_lines(value, each.gaps, units)


def _head(each: Costed, units: Units) -> str:
    if each.bottles is not None:
        return f"{each.code}: {counted(each.bottles, 'bottle')} of {each.bottle_ml} mL, {litres(each.ml, units)}"
    return f"{each.code}: {litres(each.ml, units)}"


def _in_all(each: Costed, units: Units) -> str:
    text = sum_words(each.cents, units, is_known=not each.gaps)
    if each.per_bottle is not None:
        text += f", {rate_words(each.per_bottle, units)} a bottle"
    if each.per_l is not None:
        text += f", {rate_words(each.per_l, units, by_volume=True)} a {volume_unit(units)[0]}"
    return text


ANGELS_NUMBERS = (1, 2, 3)


def angels_head(by: str) -> tuple[str, ...]:
    """Return the heading of `angels_cells`."""
    return by, "taken", "had cost", "of unknown cost"


def angels_cells(row: AngelsRow, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return one group of what the angels took."""
    unknown = litres(row.unknown_ml, units) if row.unknown_ml else ""
    return row.what, litres(row.ml, units), sum_words(row.cents, units, is_known=not row.unknown_ml), unknown


PRICE_HEAD = ("item", "price", "per", "from", "by", "what it is")


def price_cells(price: Price, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return one price as it was written, in the currency of that day."""
    item = ITEMS[price.item]
    per = volume_unit(units)[0] if item.by_volume else item.per
    return priced_words(price), price_words(price, units), per, show_day(price.holds_from), price.hand, item.label


def price_line(price: Price, units: Units = DEFAULT) -> str:
    """Return a price in one line: "honey: 6.40 EUR a kg, from 2026-01-01 on"."""
    what, sum_, per, day, *_ = price_cells(price, units)
    return f"{what}: {sum_} a {per}, from {day} on"


def priced_words(price: Price) -> str:
    """Return what a price is of: "bottle of 750 mL", "closure, bottle of 750 mL", "honey"."""
    if price.bottle_ml is None:
        return price.item
    return f"{'' if price.item == BOTTLE else f'{price.item}, '}{BOTTLE} of {price.bottle_ml} mL"


def price_words(price: Price, units: Units = DEFAULT) -> str:
    """Return a price with all its decimals: "0.0325 EUR", and whether it is in another currency than the cellar's."""
    if price.amount is None:
        return "?"
    amount = price.amount * (volume_unit(units)[1] if ITEMS[price.item].by_volume else 1.0)
    number = max(
        (show_(Quantity.MONEY, amount, units, with_unit=False) for show_ in (show, show_short)), key=len
    )  # all its decimals, and at least those of the currency
    code = price.currency or units.currency
    not_counted = " (not counted: another currency)" if price.currency and price.currency != units.currency else ""
    return f"{number} {code}".rstrip() + not_counted


def unset_lines(names: Iterable[str]) -> list[str]:
    """Return a line of what has no price yet."""
    names = list(names)
    return [f"No price yet: {', '.join(names)}."] if names else []
