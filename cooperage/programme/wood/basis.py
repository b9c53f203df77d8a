"""By what the cellar itself calculates the cost of barrels: its facts, and its price of an hour of work."""

from cooperage.book import Book
from cooperage.book.facts import Facts, facts_of
from cooperage.book.prices import HOUR, PriceList, prices_in
from cooperage.programme.wood.cost import CostBasis, Spread
from cooperage.units import decimals_of


def cost_basis(book: Book) -> CostBasis:
    """Return by what costs are calculated now; work is not counted without its minutes and price."""
    with book.reading() as connection:
        facts = facts_of(connection)
        prices = PriceList(prices_in(connection), facts.currency)
    return basis_of(facts, _day_cost(facts, prices, book.now().timestamp()))


def basis_of(facts: Facts, day_cost: float | None = None) -> CostBasis:
    """Return by what costs are calculated where a day's work at a barrel costs so much."""
    spread: Spread = "effect" if facts.spread_by_effect else "straight"
    return CostBasis(spread, facts.barrel_fills, day_cost, decimals_of(facts.currency))


def _day_cost(facts: Facts, prices: PriceList, at: float) -> float | None:
    rate = prices.rate(HOUR, at)
    return None if rate is None or not facts.work_minutes else float(rate) * facts.work_minutes / 60
