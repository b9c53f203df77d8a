"""Flights, blind codes, scores and what a panel's figures can show."""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.tasting.statistics.agreement import friedman as friedman
    from cooperage.tasting.statistics.agreement import icc as icc
    from cooperage.tasting.statistics.agreement import kendall_w as kendall_w
    from cooperage.tasting.statistics.difference.counts import triangle_critical as triangle_critical
    from cooperage.tasting.statistics.difference.counts import triangle_test as triangle_test
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "statistics.agreement": ("friedman", "icc", "kendall_w"),
            "statistics.difference.counts": ("triangle_critical", "triangle_test"),
        },
    )
