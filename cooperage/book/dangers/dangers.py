"""What can hurt people: each danger declared once, with the work or the state that calls for it and its caution.

Every door (command, form, walk, sheet of paper, card) asks `cautions` for the work that is about to be done and shows
what it returns before anything is written. A caution gives the usual advice and defers to the product's sheet, local
rules and licensed practice; it certifies nothing. To add a danger, declare it in `DANGERS`; `tests/dangers`
fails until it is shown in every door.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from cooperage.book.cellar import Standing
from cooperage.book.dangers.lingering import (
    SULPHITES,
    YEAST_GIVES_UP_ABV,
    can_referment,
    is_strong,
    residue_in,
    spirit_in_wood,
    sulphured_at,
)
from cooperage.book.dangers.work import Work
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.replay.state import VesselState
from cooperage.liquid.hazards import SO2_MORE, SO2_SHORT, STRONG_ABV
from cooperage.units import Quantity, show, show_ago

SHEET_FIRST = "The product's sheet, your local rules and licensed practice come first."
RULES_FIRST = "Your local rules and licensed practice come first."
RULES_IN_ROW = "Local rules, licensed practice first."
COMMON_PRACTICE = "common practice, no source"
_POCKET_GUIDE = "NIOSH Pocket Guide to Chemical Hazards"


@dataclass(frozen=True, slots=True)
class Danger:
    """One danger: what in a work calls for it, what to do in a few words, and the rest that belongs to it.

    `seen_in` returns None where the work has nothing of it, else what it sees there ("B-034 sulphured 12 days
    ago"), or nothing but "" where the work itself is the danger. `source` is the published source of its facts. A
    danger that comes up all day has what to do `in_row` too, for a row of a screen that is full.
    """

    name: str
    seen_in: Callable[[Work], str | None]
    short: str
    more: str
    source: str
    in_row: str = ""

    def caution(self, seen: str = "") -> "Caution":
        """Return the caution for what was seen."""
        line = f"{seen}: {self.short}" if seen else self.short
        line = line[:1].upper() + line[1:]
        return Caution(self.name, seen, line, f"{line}. {self.more}", self.source)


@dataclass(frozen=True, slots=True)
class Caution:
    """A danger as it is shown for one work: what was seen, in one line with what to do, and all of it."""

    danger: str
    seen: str
    line: str
    text: str
    source: str


def cautions(work: Work) -> tuple[Caution, ...]:
    """Return the cautions that a work calls for, the gravest danger first."""
    found = ((danger, danger.seen_in(work)) for danger in DANGERS.values())
    return tuple(danger.caution(seen) for danger, seen in found if seen is not None)


def short_lines(found: Sequence[Caution]) -> list[str]:
    """Return cautions for little room: one in full; of several what to do, a line each, and the sheet first."""
    if len(found) == 1:
        return [found[0].text]
    return [*(f"{each.line}." for each in found), SHEET_FIRST] if found else []


def row_lines(found: Sequence[Caution]) -> list[str]:
    """Return cautions for the least room: one of every day in a row of its own, any other as for little room."""
    in_row = DANGERS[found[0].danger].in_row if len(found) == 1 else ""
    return [f"{found[0].seen}: {in_row}. {RULES_IN_ROW}"] if in_row else short_lines(found)


def by_danger(found: Iterable[Caution]) -> tuple[Caution, ...]:
    """Return the cautions of several works, each danger once with all that was seen, the gravest first."""
    seen: dict[str, dict[str, None]] = {}
    for each in found:
        seen.setdefault(each.danger, {})[each.seen] = None
    return tuple(DANGERS[name].caution(_together(seen[name])) for name in DANGERS if name in seen)


def _together(seen: Iterable[str]) -> str:
    """Put what was seen of several vessels into one line, those of which the same was seen together."""
    alike: dict[str, list[str]] = {}
    for tag, _, rest in (each.partition(" ") for each in seen if each):
        alike.setdefault(rest, []).append(tag)
    return "; ".join(f"{_named(tags)} {rest}".rstrip() for rest, tags in alike.items())


def _named(tags: Sequence[str]) -> str:
    """Return tags with commas between, and one colon after all where each had one."""
    colon = ":" if tags[-1].endswith(":") else ""
    return ", ".join(tag.removesuffix(":") for tag in tags) + colon


# --- what is seen in a work -----------------------------------------------------------------------------------------


def _treats(name: str) -> Callable[[Work], str | None]:
    return lambda work: "" if work.treatment == name else None


def _scalds(work: Work) -> str | None:
    return "" if work.treated is not None and work.treated.scalds else None


def _tags(standings: Sequence[Standing]) -> str:
    return ", ".join(standing.tag for standing in standings)


def _flame(work: Work) -> str | None:
    near = [standing for standing in _open_wood(work) if spirit_in_wood(standing.vessel, standing.state)]
    if len(near) > 1:
        return f"{_tags(near)} held spirit, or may have"
    if near:
        return f"{near[0].tag} {spirit_in_wood(near[0].vessel, near[0].state)}"
    return "a burning wick is a flame" if work.treated is not None and work.treated.near_flame else None


def _open_wood(work: Work) -> list[Standing]:
    """List the barrels whose wood is open to a flame: empty ones worked on, and those that a person stands at."""
    if work.kind == "blend":
        return work.left_empty
    act, vessel = work.act, work.vessel
    if vessel is None or (act is not None and (act.fills == "vessel" or (act.stays_closed and not act.scraps))):
        return []
    with_tools = work.treated is not None and work.treated.with_tools
    return [vessel] if act is None or act.scraps or vessel.ml == 0 or with_tools else []


def _strong(work: Work) -> str | None:
    at_hand = [*work.abv, *(SUBSTANCES[name].abv for name in work.substances if name in SUBSTANCES)]
    if strong := [abv for abv in at_hand if is_strong(abv)]:
        return f"spirit of {show(Quantity.STRENGTH, max(strong), work.units)}"
    held = [standing for standing in work.touched if standing.ml and is_strong(standing.value("abv"))]
    return f"{_tags(held)}, more than {STRONG_ABV:g} % vol" if held and work.kind != "shift" else None


def _inside_a_tank(work: Work) -> str | None:
    tank = work.vessel
    is_leaned_into = tank is not None and tank.vessel.kind == "tank" and (work.act is None or work.act.over_the_rim)
    return f"tank {tank.tag}" if tank is not None and is_leaned_into else None


def _sulphured(work: Work) -> str | None:
    """Return the vessels touched that hold sulphur dioxide: smelling, rinsing or filling releases it."""
    seen = [
        f"{standing.tag} sulphured {show_ago(datetime.fromtimestamp(at, UTC), standing.at)}"
        for standing in work.touched
        if (at := sulphured_at(standing.state)) is not None and not work.stays_closed
    ]
    return "; ".join(seen) or None


def _residue(work: Work) -> str | None:
    if work.stays_closed:
        return None
    seen = (residue_words(standing.tag, standing.state, standing.at) for standing in work.touched)
    return "; ".join(filter(None, seen)) or None


def residue_words(tag: str, state: VesselState, at: datetime) -> str:
    """Return what was left in a vessel and how long ago; empty where nothing was."""
    left = residue_in(state)
    if left is None:
        return ""
    return f"{tag} had {left.name} in it {show_ago(datetime.fromtimestamp(left.at, UTC), at)}, not rinsed since"


def _so2(work: Work) -> str | None:
    if (work.treated is not None and work.treated.sulphurs) or any(name in SULPHITES for name in work.substances):
        return ""
    empties = work.left_empty if work.kind == "blend" else []
    return f"{_tags(empties)}, left empty, may be sulphured" if empties else None


def _gas(work: Work) -> str | None:
    if work.treatment == "gas cover":
        return ""
    partial = work.left_partly_full if work.kind == "blend" else []
    return f"{_tags(partial)}, left partly full, may be gassed" if partial else None


def _refermenting(work: Work) -> str | None:
    """Look at mead that is bottled, or sweetened; of a liquid that stands in no vessel only its strength is known."""
    if work.kind == "bottle" and work.vessel is not None and work.vessel.ml:
        why = can_referment(work.vessel.state, work.units)
        return why and f"{work.vessel.tag}: {why}"
    if not work.sweetens or (work.abv and work.abv[0] >= YEAST_GIVES_UP_ABV):
        return None
    if work.vessel is None or work.vessel.ml == 0:
        return "sugar feeds whatever yeast is left"
    why = can_referment(work.vessel.state, work.units, sweetened=True)
    return why and f"{work.vessel.tag}: {why}"


def _keg(work: Work) -> str | None:
    kegs = [standing for standing in work.touched if standing.vessel.kind == "keg"]
    return f"{_tags(kegs)} may be under gas" if kegs and work.kind != "shift" else None


def _lifted(work: Work) -> str | None:
    if work.act is None or not work.act.lifts or work.vessel is None:
        return None
    if work.vessel.ml == 0:
        return f"{work.vessel.tag} is empty and still heavy enough to crush"
    held = show(Quantity.VOLUME, work.vessel.ml, work.units)
    return f"{work.vessel.tag} holds {held}, far too heavy for hands"


# --- the dangers, the gravest first ---------------------------------------------------------------------------------

DANGERS: dict[str, Danger] = {
    declared.name: declared
    for declared in (
        Danger(
            "flame near spirit",
            _flame,
            "no flame, spark or hot tool near a barrel that held spirit, for its vapour can explode",
            f"Use sulphite solution or SO2 gas in place of a wick. {RULES_FIRST}",
            f"HSL/2003/08, explosions of evaporating ethanol (Health and Safety Laboratory, 2003); {_POCKET_GUIDE}: "
            "ethyl alcohol burns in air from 3.3 %",
        ),
        Danger(
            "strong spirit",
            _strong,
            "its vapour burns; no flame, spark or hot surface near it, and keep the air moving",
            f"Pour slowly, earth metal vessels and pumps, and wipe up spills at once. {SHEET_FIRST}",
            f"{_POCKET_GUIDE}: ethyl alcohol burns in air from 3.3 to 19 %; 24 % vol by the UN Model Regulations, "
            "special provision 144 (from memory)",
        ),
        Danger(
            "inside a tank",
            _inside_a_tank,
            "never lean in or go in alone; gas collects there and kills without a warning",
            "Going in takes a permit, measured air (oxygen at least 19.5 %) and a second person watching outside. "
            + RULES_FIRST,
            "29 CFR 1910.146 (permit-required confined spaces; oxygen-deficient below 19.5 %)",
        ),
        Danger(
            "sulphured barrel",
            _sulphured,
            "do not put your nose to the bung, fan the air to you",
            f"What goes in drives the gas out at you: stand aside and keep the air moving. {RULES_FIRST}",
            f"{_POCKET_GUIDE}: sulphur dioxide, 5 ppm for 15 minutes, immediately dangerous at 100 ppm",
        ),
        Danger(
            "sulphur dioxide",
            _so2,
            SO2_SHORT,
            SO2_MORE,
            f"{_POCKET_GUIDE}: sulphur dioxide, 2 ppm over a working day, 5 ppm for 15 minutes",
        ),
        Danger(
            "inert gas",
            _gas,
            "carbon dioxide, nitrogen and argon suffocate without warning; keep the air moving and measure it",
            f"Low places fill first; never lean into a vessel. {SHEET_FIRST}",
            f"{_POCKET_GUIDE}: carbon dioxide, 5,000 ppm over a working day, immediately dangerous at 40,000 ppm; "
            "29 CFR 1910.146: oxygen-deficient below 19.5 %",
        ),
        Danger(
            "hot water and steam",
            _scalds,
            "it scalds, and a closed barrel can burst or be sucked in; bung loose, vent open, away from the heads",
            f"Let it cool before the bung is driven home; no cold water into a hot barrel. {RULES_FIRST}",
            COMMON_PRACTICE,
        ),
        Danger(
            "caustic",
            _treats("caustic"),
            "caustic burns skin and blinds; goggles, gloves and sleeves, powder into cold water, never water onto it",
            "Never with acid, nor on aluminium; leave the bung open, for percarbonate gives off gas. Rinse until the "
            f"water is neutral. {SHEET_FIRST}",
            f"{_POCKET_GUIDE}: sodium hydroxide, never more than 2 mg/m3 in the air; the rest is common practice, no "
            "source",
        ),
        Danger(
            "peracetic acid",
            _treats("peracetic acid"),
            "it burns skin and eyes and its vapour bites the lungs; goggles, gloves, moving air",
            f"Never with caustic, chlorine or sulphite; keep it cool and vented. {SHEET_FIRST}",
            "threshold limit 0.4 ppm for 15 minutes (ACGIH, from memory); the rest is common practice, no source",
        ),
        Danger(
            "ozone",
            _treats("ozone"),
            "ozone harms lungs from 0.1 ppm; measure it, and keep out until it has gone",
            f"Never with anybody in the room, and let the barrel stand open before it is smelled. {SHEET_FIRST}",
            f"{_POCKET_GUIDE}: ozone, never more than 0.1 ppm, immediately dangerous at 5 ppm",
        ),
        Danger(
            "not rinsed",
            _residue,
            "rinse it until the water tests clean before mead goes in",
            f"Wear gloves and goggles while you rinse. {SHEET_FIRST}",
            COMMON_PRACTICE,
        ),
        Danger(
            "glass under pressure",
            _refermenting,
            "it can ferment again, and a closed bottle can burst and cut",
            "Stabilise it (sorbate with sulphite), filter it sterile, or watch its gravity for some weeks first; wear "
            f"goggles and gloves with doubtful bottles. {RULES_FIRST}",
            "extension note FS-56-W (below 2 g/L no noticeable refermentation; 24 g/L come to 5 or 6 bar); 18 % vol is "
            "common practice, no source",
        ),
        Danger(
            "keg under gas",
            _keg,
            "let the pressure off before you open it",
            f"Only with a regulator and a relief valve made for it. {RULES_FIRST}",
            COMMON_PRACTICE,
            in_row="vent it",
        ),
        Danger(
            "lifting",
            _lifted,
            "use gear rated for the load and keep everybody from under it",
            f"Block it against rolling and strap what is stacked. {RULES_FIRST}",
            COMMON_PRACTICE,
        ),
    )
}
"""Every danger, by name."""
