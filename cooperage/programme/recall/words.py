"""A recall and the claims of a label in lines, in the person's units."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from cooperage.book.declared.places import OUTSIDE
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.trace import Share, share_words
from cooperage.programme.batches.words import mass_words
from cooperage.programme.recall.asked import BACK
from cooperage.programme.recall.claims import NEW, LabelClaims
from cooperage.programme.recall.found import HoneyBehind, Recall, RecallBranch, RecallDose, RecallRow
from cooperage.units import Quantity, Units, counted, show, show_day

_OUTSIDE = {place.value: declared.label for place, declared in OUTSIDE.items()}
_KINDS = {
    "bottling": "bottled", "vessel": "holds it now", "passed": "passed through", "lost": "lost", "lot": "comes from"
}  # fmt: skip


def head_line(found: Recall, units: Units) -> str:
    """Return what was traced, which way, how much it is, and by how many hands."""
    return f"{found.title}: {way_words(found)}, {litres_words(found.ml, units)}, {counted(len(found.hands), 'hand')}"


def way_words(found: Recall) -> str:
    """Return which way it was traced."""
    return "back to what it comes from" if found.direction == BACK else "forward to all it reached"


def stop_words(found: Recall, units: Units) -> str:
    """Return what a recall has to call back and to stop: bottles with others and in stores, what vessels hold of it."""
    held = [each for row in found.of("bottling") for each in row.holders if each.bottles > 0]
    away = sum(each.bottles for each in held if each.is_away)
    kept = sum(each.bottles for each in held if each.is_in_store)
    vessels = found.of("vessel")
    there = litres_words(sum(row.ml for row in vessels), units)
    parts = (
        f"{counted(away, 'bottle')} to call back" if away else "",
        f"{counted(kept, 'bottle')} to stop" if kept else "",
        f"{there} of it to stop in {counted(len(vessels), 'vessel')}" if vessels else "",
    )
    return ", ".join(part for part in parts if part) or "nothing of it is in a vessel or a bottle"


def kind_words(row: RecallRow, found: Recall) -> str:
    """Return what a row is: "bottled", "rested in"."""
    return "rested in" if found.direction == BACK and row.kind == "vessel" else _KINDS[row.kind]


def row_words(row: RecallRow, found: Recall, units: Units) -> str:
    """Return all of a row in a sentence's length."""
    share = share_words(row.fraction, units, digits=2)
    parts = (f"{litres_words(row.ml, units)}, {share} of it", *_more(row, units))
    return f"{place_words(row)}, {kind_words(row, found)}: {'; '.join(parts)}"


def row_lines(found: Recall, units: Units) -> list[str]:
    """Return the rows as a table: what is named, litres, share of what is traced, share of the place, when, by whom."""
    names = [place_words(row) for row in found.rows]
    width = max(map(len, names), default=0)
    lines = [head_line(found, units)]
    for row, name in zip(found.rows, names, strict=True):
        kind = kind_words(row, found)
        share = share_words(row.fraction, units, digits=2)
        more = "; ".join(_more(row, units))
        lines.append(f"  {kind:<14} {name:<{width}} {litres_words(row.ml, units):>12} {share:>9}  {more}".rstrip())
    return [*lines, *_foot(found, units)]


def place_words(row: RecallRow | RecallBranch) -> str:
    """Return the name of a place; of an outside place its label."""
    return _OUTSIDE.get(row.place, row.place)


def _more(row: RecallRow, units: Units) -> Iterator[str]:
    if row.bottles is not None:
        yield counted(row.bottles, "bottle")
    away = [f"{each.bottles} {each.words}" for each in row.holders if each.is_away]
    if away:
        yield ", ".join(away)
    if row.share_there is not None:
        yield f"{share_words(row.share_there, units)} of {'each' if row.bottles is not None else 'what it holds'}"
    if row.days is not None:
        yield f"{show(Quantity.DAYS, row.days, units)}{f' in {row.wood}' if row.wood else ''}"
    if row.first is not None and row.last is not None:
        first, last = show_day(row.first), show_day(row.last)
        yield first if first == last else f"{first} to {last}"
    if row.hands:
        yield ", ".join(hand for hand in row.hands if hand)


def _foot(found: Recall, units: Units) -> Iterator[str]:
    if found.gained_ml:
        yield f"  {litres_words(found.gained_ml, units)} of it were found by a dip, a gauge or a count."
    for each in found.honeys:
        yield f"  honey {honey_words(each, units)}"
    for dose in found.doses:
        yield f"  {dose_words(dose, units)}"
    if found.hands:
        yield f"  hands: {', '.join(found.hands)}"


def honey_words(each: HoneyBehind, units: Units) -> str:
    """Return a honey: whose it is, how much of it is in what is traced, and its share of the honey, by mass."""
    origin = ", ".join(part for part in (each.producer, each.harvest, _lot_words(each)) if part)
    parts = [f"{each.called} ({origin})" if origin else each.called, f"in {each.lot}"]
    if each.grams is not None:
        parts.append(mass_words(round(each.grams), units))
    parts.append(f"{share_words(each.of_lot, units)} of the honey of {each.lot}")
    if each.share is not None:
        parts.append(f"{share_words(each.share, units)} of all the honey")
    return ", ".join(parts)


def _lot_words(each: HoneyBehind) -> str:
    return f"lot {each.supplier_lot}" if each.supplier_lot else ""


def dose_words(dose: RecallDose, units: Units) -> str:
    """Return an addition: what, how much, where, when, by whom, and how much of it is in what is traced."""
    substance = SUBSTANCES[dose.substance]
    amount = show(substance.quantity, dose.amount, units)
    by = f" by {dose.hand}" if dose.hand else ""
    part = share_words(dose.fraction, units)
    return f"added {amount} of {substance.label} to {dose.vessel}, {show_day(dose.at)}{by}; {part} of it is in this"


def tree_lines(found: Recall, units: Units) -> list[str]:
    """Return the paths as a tree; what stands further up is not unfolded twice."""
    named = [f"{'   ' * branch.depth}{place_words(branch)}" for branch in found.tree]
    width = max(map(len, named), default=0)
    lines = [head_line(found, units)]
    for branch, name in zip(found.tree, named, strict=True):
        lines.append(f"  {name:<{width}} {litres_words(branch.ml, units):>12}  {branch_words(branch)}".rstrip())
    return lines


def branch_words(branch: RecallBranch) -> str:
    """Return when and by whose hands it went along a branch, or that it stands further up."""
    day = "" if branch.first is None else show_day(branch.first)
    parts = (day, ", ".join(hand for hand in branch.hands if hand), "(unfolded above)" if branch.is_above else "")
    return "  ".join(part for part in parts if part)


def litres_words(ml: float, units: Units) -> str:
    """Return a volume that may be a part of a millilitre."""
    return show(Quantity.VOLUME, round(ml), units)


def claim_lines(claims: LabelClaims, units: Units) -> list[str]:
    """Return the claims with what stands behind each, and the least share of each kind."""
    days = (show(Quantity.DAYS, each, units) for each in (claims.least_wood_days, claims.mean_wood_days))
    lines = [
        f"{claims.code}: what stands behind a label, {litres_words(1000 * claims.litres, units)}",
        f"  {'in barrels':<16} {'at least {}, {} on average'.format(*days)}",
        f"  {'since pitched':<16} at least {show(Quantity.DAYS, claims.least_age_days, units)}",
    ]
    if claims.never_in_wood_share:
        share = share_words(claims.never_in_wood_share, units, digits=2)
        lines.append(f"  {'in no barrel':<16} {'':<20} {share:>8}")
    lines += [f"  {'by batch sheet':<16} {honey_words(each, units)}" for each in claims.sources]
    pasts = [replace(share, name="nothing, it was new") if share.name == NEW else share for share in claims.past_lives]
    for title, parts in (("honey", claims.honeys), ("wood", claims.woods), ("last barrel held", pasts)):
        lines += _shares(title, parts, units)
    return [*lines, "Which claims are allowed: check with your authority."]


def _shares(title: str, parts: Sequence[Share], units: Units) -> Iterator[str]:
    least = LabelClaims.least(parts)
    for share in parts:
        mark = "  the least" if share is least and len(parts) > 1 else ""
        litres = litres_words(1000 * share.litres, units)
        yield f"  {title:<16} {share.name:<20} {share_words(share.fraction, units, digits=2):>8} {litres:>9}{mark}"
