"""Flights, blind codes, scores and what a panel's figures can show."""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.tasting.statistics.agreement import friedman as friedman
    from cooperage.tasting.statistics.agreement import icc as icc
    from cooperage.tasting.statistics.agreement import kendall_w as kendall_w
    from cooperage.tasting.statistics.carry_over import carry_over as carry_over
    from cooperage.tasting.statistics.difference.common import common_distance as common_distance
    from cooperage.tasting.statistics.difference.counts import difference_test as difference_test
    from cooperage.tasting.statistics.difference.counts import triangle_critical as triangle_critical
    from cooperage.tasting.statistics.difference.counts import triangle_test as triangle_test
    from cooperage.tasting.statistics.difference.power import tasters_needed as tasters_needed
    from cooperage.tasting.statistics.difference.thurstone import distinguished as distinguished
    from cooperage.tasting.statistics.performance import performance as performance
    from cooperage.tasting.statistics.products import analyse_products as analyse_products
    from cooperage.tasting.statistics.rank_pairs import nemenyi as nemenyi
    from cooperage.tasting.statistics.trend import page_trend as page_trend
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "statistics.agreement": ("friedman", "icc", "kendall_w"),
            "statistics.carry_over": ("carry_over",),
            "statistics.difference.common": ("common_distance",),
            "statistics.difference.counts": ("difference_test", "triangle_critical", "triangle_test"),
            "statistics.difference.power": ("tasters_needed",),
            "statistics.difference.thurstone": ("distinguished",),
            "statistics.performance": ("performance",),
            "statistics.products": ("analyse_products",),
            "statistics.rank_pairs": ("nemenyi",),
            "statistics.trend": ("page_trend",),
        },
    )
