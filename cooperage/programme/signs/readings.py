"""What instruments read of the mead now in each barrel, oldest first, and what sulphite was added in between."""

from dataclasses import dataclass, field

from cooperage.book import Book, Cellar
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.replay.events import events
from cooperage.programme.signs.trends import Point

FREE_SO2 = "free_so2_mg_l"


@dataclass(slots=True)
class SinceFill:
    """One barrel since its fill: readings by property, and how much free SO2 [mg/L] each addition should have made."""

    filled_at: float
    litres: float
    read: dict[str, list[Point]] = field(default_factory=dict)
    doses: list[tuple[float, float]] = field(default_factory=list)


def since_filled(book: Book, cellar: Cellar) -> dict[str, SinceFill]:
    """Gather, by tag, the readings of every barrel that holds mead, from its fill on."""
    tags = {standing.vessel.id: standing.tag for standing in cellar}
    found = {
        standing.tag: SinceFill(standing.state.filled_at, standing.litres)
        for standing in cellar.barrels
        if standing.state.filled_at is not None
    }
    with book.reading() as connection:
        for event in events(connection, until=cellar.at):
            for read in event.readings:
                since = found.get(tags[read.vessel])
                if since is not None and event.at >= since.filled_at:
                    since.read.setdefault(read.property, []).append((event.at, read.value, read.uncertainty))
            since = found.get(tags.get(event.vessel or "", ""))
            if event.kind == "addition" and since is not None and event.at >= since.filled_at:
                rise = _free_rise(event.said or {}, since.litres)
                since.doses += [(event.at, rise)] if rise else []
    return found


def _free_rise(values: dict[str, object], litres: float) -> float:
    raises = dict(SUBSTANCES[str(values["substance"])].raises)
    return raises.get(FREE_SO2, 0.0) * float(str(values["amount"])) / litres if litres else 0.0
