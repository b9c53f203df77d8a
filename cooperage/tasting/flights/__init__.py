"""Flights: samples tasted together, blind-coded, scored alone in an order of one's own, revealed at the end.

May know the book and what a panel's figures show. Start with `shape`, then `pouring`, `scoring` and `closing`.
"""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.tasting.flights.closing import PanelVerdict as PanelVerdict
    from cooperage.tasting.flights.closing import judge_flight as judge_flight
    from cooperage.tasting.flights.closing import panel_verdicts as panel_verdicts
    from cooperage.tasting.flights.closing import peek as peek
    from cooperage.tasting.flights.closing import reveal as reveal
    from cooperage.tasting.flights.errors import AlreadyRevealed as AlreadyRevealed
    from cooperage.tasting.flights.errors import EmptyFlight as EmptyFlight
    from cooperage.tasting.flights.errors import NoSuchFlight as NoSuchFlight
    from cooperage.tasting.flights.errors import NoSuchGlass as NoSuchGlass
    from cooperage.tasting.flights.errors import NotAllIn as NotAllIn
    from cooperage.tasting.flights.errors import NotInThisFlight as NotInThisFlight
    from cooperage.tasting.flights.errors import StillBlind as StillBlind
    from cooperage.tasting.flights.line import TypedScore as TypedScore
    from cooperage.tasting.flights.line import announced as announced
    from cooperage.tasting.flights.line import parse_glass_line as parse_glass_line
    from cooperage.tasting.flights.orders import order_for as order_for
    from cooperage.tasting.flights.outcome import GlassResult as GlassResult
    from cooperage.tasting.flights.outcome import Results as Results
    from cooperage.tasting.flights.outcome import all_results as all_results
    from cooperage.tasting.flights.outcome import results as results
    from cooperage.tasting.flights.outcome import score_table_of as score_table_of
    from cooperage.tasting.flights.pouring import pour_flight as pour_flight
    from cooperage.tasting.flights.pouring import start_flight as start_flight
    from cooperage.tasting.flights.scales import SCALES as SCALES
    from cooperage.tasting.flights.scales import NotAScale as NotAScale
    from cooperage.tasting.flights.scales import OffTheScale as OffTheScale
    from cooperage.tasting.flights.scales import bounds as bounds
    from cooperage.tasting.flights.scales import share_of_scale as share_of_scale
    from cooperage.tasting.flights.scoring import add_score as add_score
    from cooperage.tasting.flights.scoring import score as score
    from cooperage.tasting.flights.shape import Attribute as Attribute
    from cooperage.tasting.flights.shape import Flight as Flight
    from cooperage.tasting.flights.shape import Glass as Glass
    from cooperage.tasting.flights.shape import Peek as Peek
    from cooperage.tasting.flights.shape import Score as Score
    from cooperage.tasting.flights.stored import flight as flight
    from cooperage.tasting.flights.stored import flights as flights
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "closing": ("PanelVerdict", "judge_flight", "panel_verdicts", "peek", "reveal"),
            "errors": (
                *("AlreadyRevealed", "EmptyFlight", "NoSuchFlight", "NoSuchGlass", "NotAllIn", "NotInThisFlight"),
                "StillBlind",
            ),
            "shape": ("Attribute", "Flight", "Glass", "Peek", "Score"),
            "line": ("TypedScore", "announced", "parse_glass_line"),
            "orders": ("order_for",),
            "pouring": ("pour_flight", "start_flight"),
            "outcome": ("GlassResult", "Results", "all_results", "results", "score_table_of"),
            "scales": ("SCALES", "NotAScale", "OffTheScale", "bounds", "share_of_scale"),
            "scoring": ("add_score", "score"),
            "stored": ("flight", "flights"),
        },
    )
