"""What the book implies: rounds, loss rates, readiness, retirement, costs."""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.programme.losses.pooling import pool_rates as pool_rates
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "losses.pooling": ("pool_rates",),
        },
    )
