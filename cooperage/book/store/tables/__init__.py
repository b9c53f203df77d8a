"""The tables of the cellar book, a module for each thing they hold; whoever needs one asks for it here.

All are loaded together: a table names others by their foreign keys. Start with `entries`.
"""

from cooperage.book.store.tables.batches import BATCH, HONEY
from cooperage.book.store.tables.bottles import BOTTLE_MOVE, BOTTLING, RISKS_PASSED, RUN, RUN_CLOSED, RUN_LINE
from cooperage.book.store.tables.columns import METADATA, as_json
from cooperage.book.store.tables.entries import ENTRY, MOVE, OPEN_ENTRY, READING, TOGETHER
from cooperage.book.store.tables.panel import (
    ANSWER,
    DEPARTED,
    DIFFERENCE,
    FLIGHT,
    GLASS,
    MARK,
    PEEK,
    PRESENTED,
    SCORE,
    SCORED,
    SERVING,
    TERM,
)
from cooperage.book.store.tables.periods import FILED_ENTRY, FILED_FIGURE, PERIOD
from cooperage.book.store.tables.registers import BARREL, CELLAR, LOT, PLACE, UPKEEP, VESSEL
from cooperage.book.store.tables.states import SNAPSHOT, STATE
from cooperage.book.store.tables.terms import OWN_RULE, PRICE, READINESS
from cooperage.book.store.tables.trials import (
    BARREL_TRIAL,
    BARREL_TRIAL_BARREL,
    BARREL_TRIAL_FLIGHT,
    BARREL_TRIAL_WITHDRAWN,
    TRIAL,
    TRIAL_FLIGHT,
    TRIAL_WITHDRAWN,
)
from cooperage.book.store.tables.work import ORDERS, STOP, WALK

__all__ = [
    "ANSWER",
    "BARREL",
    "BARREL_TRIAL",
    "BARREL_TRIAL_BARREL",
    "BARREL_TRIAL_FLIGHT",
    "BARREL_TRIAL_WITHDRAWN",
    "BATCH",
    "BOTTLE_MOVE",
    "BOTTLING",
    "CELLAR",
    "DEPARTED",
    "DIFFERENCE",
    "ENTRY",
    "FILED_ENTRY",
    "FILED_FIGURE",
    "FLIGHT",
    "GLASS",
    "HONEY",
    "LOT",
    "MARK",
    "METADATA",
    "MOVE",
    "OPEN_ENTRY",
    "ORDERS",
    "OWN_RULE",
    "PEEK",
    "PERIOD",
    "PLACE",
    "PRESENTED",
    "PRICE",
    "READINESS",
    "READING",
    "RISKS_PASSED",
    "RUN",
    "RUN_CLOSED",
    "RUN_LINE",
    "SCORE",
    "SCORED",
    "SERVING",
    "SNAPSHOT",
    "STATE",
    "STOP",
    "TERM",
    "TOGETHER",
    "TRIAL",
    "TRIAL_FLIGHT",
    "TRIAL_WITHDRAWN",
    "UPKEEP",
    "VESSEL",
    "WALK",
    "as_json",
]
