"""What Enter would write, before it is written: every act of a line and every figure in it, in a person's units."""

from cooperage.book import Cellar
from cooperage.book.not_written import act_words
from cooperage.programme.walk.stop_line import StopActs
from cooperage.units import DEFAULT, Units, show_when


def announced(stop_acts: StopActs, cellar: Cellar, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return what a line would write, act by act, then by whom and when if the line names them.

    What is not in it is not written.
    """
    if stop_acts.left:
        return (stop_acts.left,)
    parts = [act_words(act, cellar, units) for act in stop_acts.acts]
    if not stop_acts.acts and stop_acts.keg:
        parts.append(f"topping from {stop_acts.keg} from here on")
    if stop_acts.hand:
        parts.append(f"by {stop_acts.hand}" + ("" if stop_acts.acts else " from here on"))
    times = dict.fromkeys(show_when(act.at) for act in stop_acts.acts if act.at is not None)
    return (*parts, *(f"on {time}" for time in times))
