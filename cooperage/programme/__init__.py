"""What the book implies: rounds, loss rates, readiness, retirement, costs."""

from cooperage.programme.losses.pooling import pool_rates

__all__ = ["pool_rates"]
