"""The sheet of a lot in lines, in the person's units."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from cooperage.book import Lot
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS
from cooperage.programme.batches.curve import Banded
from cooperage.programme.batches.kept import honey_named
from cooperage.programme.batches.lot_sheet import FermentCourse, HoneyNow, LotSheet
from cooperage.programme.batches.past import FORECAST_DAY, PastEnd
from cooperage.programme.batches.sheet import KEEPS_AT, Batch, Honey
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_date

NO_SHEET = "No batch sheet yet; `cooperage lot batch` writes one."
_SHOWN = 14
_NITROGEN = "Bisson and Butzke, Am. J. Enol. Vitic. 51:168 (2000), of grape must; from memory"
_STABILISERS = ("sorbate", "metabisulphite", "so2 gas")


def mass_words(grams: int, units: Units = DEFAULT) -> str:
    """Return the mass of honey as it is bought: in kilograms, with the person's decimal mark."""
    return f"{show(Quantity.NUMBER, grams / 1000, units, digits=1)} kg"


def honey_words(honey: Honey, units: Units = DEFAULT) -> str:
    """Return whose honey it is, of what and when, and its moisture."""
    about = ", ".join(each for each in (honey.floral, honey.producer, honey.harvest) if each)
    lot = f", lot {honey.supplier_lot}" if honey.supplier_lot else ""
    water = show(Quantity.PERCENT, honey.moisture, units)
    return f"{about or '?'}{lot}; moisture {water}"


def honey_cautions(honey: Honey, units: Units = DEFAULT) -> list[str]:
    """Return what to mind of a honey: one too moist to keep."""
    if honey.moisture is None or honey.moisture <= KEEPS_AT:
        return []
    most, water = (show(Quantity.PERCENT, value, units) for value in (KEEPS_AT, honey.moisture))
    return [f"{honey.code}: {water} of water, over the {most} of Codex Stan 12-1981; it may ferment by itself"]


def honey_row(each: HoneyNow, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return a honey as a row under `HONEY_HEAD`."""
    honey = each.honey
    price = show(Quantity.MONEY, honey.price_per_kg, units)
    water = show(Quantity.PERCENT, honey.moisture, units)
    came, left = mass_words(honey.grams, units), mass_words(each.left, units)
    return honey.code, honey.floral or "?", honey.producer or "?", honey.harvest or "?", water, price, came, left


HONEY_HEAD = ("honey", "flowers", "producer", "harvest", "moisture", "price/kg", "came", "left")


def sheet_lines(sheet: LotSheet, at: datetime, units: Units = DEFAULT) -> list[str]:
    """Return the whole sheet of a lot, line by line."""
    return [*_finished_lines(sheet.lot, at, units), *going_lines(sheet, at, units), *made_lines(sheet, at, units)]


def _finished_lines(lot: Lot, at: datetime, units: Units) -> Iterator[str]:
    """Yield when a lot finished fermenting and at which gravity, where that was given."""
    if lot.finished_on is not None:
        sg = "" if lot.final_sg is None else f" at a gravity of {show(Quantity.GRAVITY, lot.final_sg, units)}"
        yield f"Finished fermenting {show_date(lot.finished_on, at).strip()}{sg}."


def going_lines(sheet: LotSheet, at: datetime, units: Units = DEFAULT) -> list[str]:
    """Return how its fermentation goes on; nothing where no gravity was read."""
    course, began = sheet.course, sheet.fermented.began
    return [] if course is None else list(course_lines(course, began, at, units))


def no_curve_words(sheet: LotSheet) -> str:
    """Return why a lot has no curve, and what would give it one."""
    if sheet.original is None:
        return "No curve: the gravity it began with is not known; read it within two days of the pitching."
    if sheet.fermented.began is None or not sheet.fermented.received_ml:
        return "No curve: nothing of it was received yet."
    return "No curve: no gravity was read while it fermented."


def made_lines(sheet: LotSheet, at: datetime, units: Units = DEFAULT) -> list[str]:
    """Return what it was made of, what was read and added, and its figures over its vessels."""
    return [
        *_batch_lines(sheet, units),
        *_gravity_lines(sheet, at, units),
        *_added_lines(sheet, at, units),
        *_spread_lines(sheet, units),
    ]


def headline(sheet: LotSheet, units: Units = DEFAULT) -> str:
    """Return a lot with its status and what is left of it, in one line."""
    held = show(Quantity.VOLUME, sheet.now.ml, units)
    where = f"{held} in {counted(len(sheet.now.holdings), 'vessel')}"
    wood = f", {show(Quantity.VOLUME, sheet.wood_ml, units)} of it in wood" if 0 < sheet.wood_ml < sheet.now.ml else ""
    return f"{sheet.lot.called}: {sheet.status.value}, {where}{wood}"


def _batch_lines(sheet: LotSheet, units: Units) -> Iterator[str]:
    batch = sheet.batch
    if batch is None:
        yield NO_SHEET
        return
    yield f"Batch: {_parts_words(batch, units)}."
    for used, honey in zip(batch.honeys, sheet.honeys, strict=True):
        yield f"  {honey.code}: {mass_words(used.grams, units)} of {honey_words(honey, units)}"
    yield target_words(batch, sheet.original, units)
    if batch.yeast or batch.tolerance is not None:
        bears = "" if batch.tolerance is None else f", gives up near {show(Quantity.STRENGTH, batch.tolerance, units)}"
        yield f"Yeast: {batch.yeast or '?'}{bears}{_warmth_words(batch, units)}."
    if sheet.honey_cost is not None:
        yield f"Honey cost {show(Quantity.MONEY, sheet.honey_cost, units)} in all."


def _parts_words(batch: Batch, units: Units) -> str:
    parts = [f"water {show(Quantity.VOLUME, batch.water_ml, units)}"]
    if batch.honeys:
        parts.append(f"honey {mass_words(batch.honey_grams, units)}")
    for each in batch.others:
        volume, sg = show(Quantity.VOLUME, each.ml, units), show(Quantity.GRAVITY, each.sg, units)
        parts.append(f"{each.name} {volume} at {sg}")
    return ", ".join(parts)


def _warmth_words(batch: Batch, units: Units) -> str:
    if batch.coolest is None and batch.warmest is None:
        return ""
    ends = {"from": batch.coolest, "up to": batch.warmest}
    known = [f"{word} {show(Quantity.TEMPERATURE, value, units)}" for word, value in ends.items() if value is not None]
    return f", works {' '.join(known)}"


def target_words(batch: Batch, original: float | None, units: Units = DEFAULT) -> str:
    """Return what was calculated of a batch, and the gravity that was reached."""
    if batch.target_sg is None or batch.target_l is None:
        return "Target gravity unknown: the moisture of a honey is not known."
    litres = show(Quantity.VOLUME, round(1000 * batch.target_l), units)
    reached = "" if original is None else f"; reached {show(Quantity.GRAVITY, original, units)}"
    target = show(Quantity.GRAVITY, batch.target_sg, units)
    ends = "" if batch.end_sg is None else f"; would end near {show(Quantity.GRAVITY, batch.end_sg, units)}"
    return f"Target gravity {target} in {litres}{reached}{ends}."


def batch_words(batch: Batch, honeys: Mapping[str, Honey], units: Units = DEFAULT) -> str:
    """Return what would be calculated of a batch that is not written yet; raises NoMust, NoSuchHoney."""
    from cooperage.programme.batches.stated import calculated  # brings NumPy, so only when it is needed

    for each in batch.honeys:
        honey_named(honeys, each.code)
    return target_words(calculated(batch, honeys), None, units)


def batch_cautions(batch: Batch, honeys: Mapping[str, Honey], units: Units = DEFAULT) -> list[str]:
    """Return what to mind of the honeys of a batch."""
    known = (honeys[each.code.upper()] for each in batch.honeys if each.code.upper() in honeys)
    return [line for honey in known for line in honey_cautions(honey, units)]


def _gravity_lines(sheet: LotSheet, at: datetime, units: Units) -> Iterator[str]:
    read = sheet.fermented.gravities
    if not read:
        yield "No gravity was read while it fermented."
        return
    which = f"the last {_SHOWN} of {len(read)} readings" if len(read) > _SHOWN else counted(len(read), "reading")
    yield f"Gravity, {which}:"
    for each in read[-_SHOWN:]:
        warm = "" if each.celsius is None else f", {show(Quantity.TEMPERATURE, each.celsius, units)}"
        sg = show(Quantity.GRAVITY, each.sg, units)
        yield f"  {show_date(each.at, at).strip():<12} {each.vessel:<6} {sg}{warm}"


def _end_day_words(began: datetime, course: FermentCourse, at: datetime) -> str:
    """Return when the end is reached: it is still to come, so never before today."""
    first, last = (max(began + timedelta(days=day), at) for day in (course.end_day.low80, course.end_day.high80))
    low, high = (show_date(each, at).strip() for each in (first, last))
    return f"That is reached between {low} and {high} (8 times of 10)."


def course_lines(course: FermentCourse, began: datetime | None, at: datetime, units: Units = DEFAULT) -> Iterator[str]:
    """Yield where a fermentation ends and when, with the bands, and whether it stands still."""
    if course.has_ended:
        yield "It has ended."
        return
    yield f"Expected end {_span_words(course.end, units)} (8 times of 10)."
    if began is not None and course.stuck is None:
        yield _end_day_words(began, course, at)
    own = counted(course.habit.lots, "own fermentation")
    yield f"By must, yeast and {own if course.habit.lots else 'common practice'}; an approximation."
    if course.past:
        yield past_words(course.past)
    if course.stuck is not None:
        yield f"Stuck? {stuck_words(course.stuck.days, course.stuck.sg, course.end.middle, units)}."


def past_words(past: Sequence[PastEnd]) -> str:
    """Return how often the bands of the cellar's other fermentations, forecast early on, held what came."""
    gravities, days = sum(each.is_sg_held for each in past), sum(each.is_day_held for each in past)
    day = round(FORECAST_DAY)
    return (
        f"Past ends: forecast on day {day}, the band of 8 in 10 held the gravity of {gravities} and the day of {days} "
        f"of {counted(len(past), 'fermentation')}."
    )


def stuck_words(days: float, sg: float, end: float, units: Units = DEFAULT) -> str:
    """Return that a fermentation stands still, and how far from its expected end."""
    stands, ends = (show(Quantity.GRAVITY, value, units) for value in (sg, end))
    return f"no fall in {counted(round(days), 'day')} at {stands}, expected end near {ends}"


def _span_words(span: Banded, units: Units) -> str:
    low, high = (show(Quantity.GRAVITY, value, units) for value in (span.low80, span.high80))
    return f"{show(Quantity.GRAVITY, span.middle, units)}, between {low} and {high}"


def _added_lines(sheet: LotSheet, at: datetime, units: Units) -> Iterator[str]:
    if sheet.nitrogen_need is not None and sheet.fermented.gravities:
        need = show(Quantity.SULPHITE, sheet.nitrogen_need, units, digits=0)
        given = show(Quantity.SULPHITE, sheet.nitrogen_given, units, digits=0)
        yield f"Nitrogen for yeast: {given} given, {need} needed ({_NITROGEN})."
    if sheet.fermented.given:
        yield "Added:"
    for each in sheet.fermented.given:
        substance = SUBSTANCES[each.substance]
        is_volume = substance.quantity is Quantity.VOLUME
        amount = show(substance.quantity, round(each.amount) if is_volume else each.amount, units)
        what = f"{amount} of {substance.label}{_by(each.hand)}"
        stays = " (stabilises)" if each.substance in _STABILISERS else ""
        yield f"  {show_date(each.at, at).strip():<12} {each.vessel:<6} {what}{stays}"
    for when, vessel, treatment, hand in sheet.fermented.treated:
        yield f"  {show_date(when, at).strip():<12} {vessel:<6} {TREATMENTS[treatment].label}{_by(hand)}"


def _by(hand: str) -> str:
    return f" by {hand}" if hand else ""


def _mostly_words(sheet: LotSheet) -> str:
    """Return over which vessels a figure is taken: those that hold little of a lot have figures of another mead."""
    there, mostly = len(sheet.now.holdings), sheet.spread[0].vessels
    if there == mostly:
        return f"Over {'its vessel' if there == 1 else f'all {there} vessels'}"
    return f"Over the {mostly} of {there} vessels that hold mostly this lot"


def _spread_lines(sheet: LotSheet, units: Units) -> Iterator[str]:
    if sheet.spread:
        yield f"{_mostly_words(sheet)}: least, middle, most"
    for each in sheet.spread:
        prop = PROPERTIES[each.name]
        low, middle, high = (show(prop.quantity, value, units) for value in (each.low, each.middle, each.high))
        known = "" if each.known == each.vessels else f"  ({each.known} known)"
        yield f"  {prop.called:<12} {low} {each.low_vessel}, {middle}, {high} {each.high_vessel}{known}"
