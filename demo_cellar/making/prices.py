"""What substances and packaging cost in the story: each price with the day it holds from."""

PRICE_COLUMNS = ("item", "bottle", "price", "currency", "from", "hand", "written")
CURRENCY = "EUR"
_BEGAN = "2024-11-01"
_PRICES = (
    ("metabisulphite", "", "9.80", _BEGAN, "Jory"),
    ("metabisulphite", "", "10.60", "2026-01-01", "Jory"),
    ("bentonite", "", "7.50", _BEGAN, "Jory"),
    ("honey", "", "6.40", _BEGAN, "Jory"),
    ("nutrient", "", "21.00", "2026-10-01", "Jory"),
    ("spirit", "", "14.00", _BEGAN, "Jory"),
    ("bottle", "750 ml", "0.58", _BEGAN, "Tove"),
    ("bottle", "500 ml", "0.44", _BEGAN, "Tove"),
    ("bottle", "500 ml", "0.47", "2026-03-01", "Tove"),
    ("closure", "", "0.0875", _BEGAN, "Tove"),
    ("label", "", "0.12", _BEGAN, "Tove"),
)


def price_rows() -> list[dict[str, str]]:
    """Return the rows of prices.csv."""
    rows = (
        (item, bottle, price, CURRENCY, since, hand, f"{since}T09:00Z") for item, bottle, price, since, hand in _PRICES
    )
    return [dict(zip(PRICE_COLUMNS, row, strict=True)) for row in rows]
