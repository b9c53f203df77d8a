"""What instruments read of the mead now in each barrel, oldest first, as the states remember it: the latest few."""

from cooperage.book import Cellar, Standing
from cooperage.book.replay.rereads import Reread
from cooperage.programme.signs.trends import Point


def readings(standing: Standing, name: str) -> list[Reread]:
    """Return the remembered readings of a property in this fill."""
    state = standing.state
    return [each for each in state.rereads.get(name, []) if each.fill == state.fills] if state.ml else []


def histories(cellar: Cellar, name: str) -> dict[str, list[Point]]:
    """Return, by tag, the readings of a property as points, of every barrel that has any of the mead now in it."""
    found = {standing.tag: readings(standing, name) for standing in cellar.barrels}
    return {tag: [(each.at, each.value, each.uncertainty) for each in read] for tag, read in found.items() if read}
