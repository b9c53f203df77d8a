"""The words of the day at a glance, the same on the screen and on the command line."""

from cooperage.programme.signs.sign import Sign
from cooperage.programme.today.glance import RoomWork, Today
from cooperage.units import Quantity, Units, counted, show

_SURE = 0.995


def sure_column(sign: Sign) -> str:
    """Return how sure a sign is, in per cent; empty where it is no matter of chance, or not known."""
    if sign.sure is None:
        return ""
    return ">99 %" if sign.sure > _SURE else f"{100 * sign.sure:.0f} %"


def besides_words(work: RoomWork) -> str:
    """Return what a room asks for besides topping: "3 sulphite, 1 taste"."""
    return ", ".join(f"{count} {task.value}" for task, count in work.besides.items())


def kegs_words(today: Today, units: Units) -> str:
    """Return what each keg must give and what it holds, in one line; empty where nothing is to be topped."""
    if not today.kegs:
        return ""
    kegs = [
        f"{keg.tag} {show(Quantity.VOLUME, keg.gives_ml, units, with_unit=False)} of "
        f"{show(Quantity.VOLUME, keg.holds_ml, units)}{' (short)' if keg.gives_ml > keg.holds_ml else ''}"
        for keg in today.kegs
    ]
    return f"Kegs give: {', '.join(kegs)}"


def carry_words(today: Today, units: Units) -> str:
    """Return what sulphite to carry for what is under its floor; empty where nothing is."""
    if not today.sulphite_g:
        return ""
    grams = show(Quantity.MASS, today.sulphite_g, units)
    barrels = today.low[0] if len(today.low) == 1 else counted(len(today.low), "barrel")
    return f"Carry: {grams} of metabisulphite for {barrels}, and a kit to measure before it goes in"
