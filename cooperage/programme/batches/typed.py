"""Honeys and batch sheets from what is typed, in the person's units."""

import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from cooperage.book.declared.allowed import tidied
from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput
from cooperage.programme.batches.sheet import Batch, Honey, HoneyUsed, Juice
from cooperage.programme.upkeep.asking import Asked, allowed_of, value_of
from cooperage.units import DEFAULT, Quantity, Units, midnight, read, read_day, read_volume, show, show_exact

OF_HONEY: tuple[Asked, ...] = (
    Asked("code", "code", "code", "Code of the honey, such as HB-9.", "CODE", needed=True, example="HB-9"),
    Asked("grams", "mass", "how much came", "How much came in, such as 420 kg.", "MASS", needed=True, example="420 kg"),
    Asked("producer", "producer", "from", "Who it is from: producer or apiary.", "TEXT", example="our own hives"),
    Asked("floral", "flowers", "flowers", "What it is of, such as heather.", "TEXT", example="heather"),
    Asked("harvest", "harvest", "harvest", "When it was harvested, such as 'August 2026'.", "TEXT",
          example="August 2026"),
    Asked("supplier_lot", "supplier-lot", "the producer's lot", "The producer's own lot number.", "TEXT",
          example="M-7"),
    Asked("moisture", "moisture", "moisture", "Water in the honey, by mass.", "PERCENT", Quantity.PERCENT),
    Asked("method", "index", "or refractive index", "Refractive index, in place of --moisture.", "NUMBER",
          example="1.4935"),
    Asked("celsius", "at", "measured at", "Temperature of honey and prism (default: 20 °C).", "TEMPERATURE",
          Quantity.TEMPERATURE),
    Asked("price_per_kg", "price", "price of a kilogram", "What a kilogram cost.", "MONEY", Quantity.MONEY),
    Asked("came_on", "came", "came on", "The day it came.", "DATE", example="yesterday"),
)  # fmt: skip
"""What is asked of a honey beside its note."""

OF_BATCH: tuple[Asked, ...] = (
    Asked("lot", "lot", "lot", "Code of the lot, registered with `add lot`.", "LOT", needed=True, example="HEATHER-26"),
    Asked("water_ml", "water", "water", "Water in the batch.", "VOLUME", Quantity.VOLUME, needed=True),
    Asked("honeys", "with-honey", "honey", "A honey and how much of it; repeat it for each.", "CODE=MASS",
          example="HB-9=150kg; HB-2=20kg", several=True),
    Asked("others", "juice", "juice", "Another fermentable; repeat it for each.", "NAME=VOLUME at GRAVITY",
          example="sour cherry=50L at 14 Bx", several=True),
    Asked("yeast", "yeast", "yeast", "The yeast it was pitched with.", "TEXT", example="the house yeast"),
    Asked("tolerance", "tolerance", "gives up at", "Strength at which the yeast gives up.", "STRENGTH",
          Quantity.STRENGTH),
    Asked("coolest", "coolest", "works from", "Lowest temperature at which the yeast works.", "TEMPERATURE",
          Quantity.TEMPERATURE),
    Asked("warmest", "warmest", "works to", "Highest temperature at which the yeast works.", "TEMPERATURE",
          Quantity.TEMPERATURE),
    Asked("nutrient_n", "nutrient-nitrogen", "nitrogen in nutrient", "Nitrogen in the nutrient, by mass.", "PERCENT",
          Quantity.PERCENT),
)  # fmt: skip
"""What is asked of a batch sheet beside its note."""

_JUICE = re.compile(r"(?P<volume>.+?)\s+at\s+(?P<sugar>.+)")


def _parted(text: str, example: str) -> tuple[str, str]:
    name, equals, amount = (part.strip() for part in text.partition("="))
    if not equals or not name or not amount:
        raise BadInput(f"'{text}' is not understood; write it as '{example}'")
    return name, amount


_BARE = re.compile(r"[\d.,\s]+")


def honey_grams(text: str, units: Units = DEFAULT) -> int:
    """Return a mass of honey [g]; raises BadInput, for a bare number too: grams, kilograms and pounds are all usual."""
    if _BARE.fullmatch(text):
        raise BadInput(f"'{text}' of honey has no unit; write it as {text.strip()}kg or {text.strip()}lb")
    return round(read(Quantity.MASS, text, units))


def parse_honeys(texts: Iterable[str], units: Units = DEFAULT) -> tuple[HoneyUsed, ...]:
    """Return the honeys of texts such as `HB-1=150kg`; raises BadInput."""
    found = []
    for text in texts:
        code, amount = _parted(text, "HB-1=150 kg")
        found.append(HoneyUsed(code, honey_grams(amount, units)))
    return tuple(found)


def parse_juices(texts: Iterable[str], units: Units = DEFAULT) -> tuple[Juice, ...]:
    """Return the juices of texts such as `sour cherry=120 L at 14 Bx`; raises BadInput."""
    found = []
    for text in texts:
        name, amount = _parted(text, "sour cherry=120 L at 14 Bx")
        parts = _JUICE.fullmatch(amount)
        if parts is None:
            raise BadInput(f"'{text}' has no gravity; write it as '{name}={amount} at 14 Bx'")
        sg = float(read(Quantity.GRAVITY, parts["sugar"], units))
        found.append(Juice(name, read_volume(parts["volume"], units), sg))
    return tuple(found)


def moisture_of(
    moisture: str, refractive_index: str, celsius: str, *, units: Units = DEFAULT
) -> tuple[float | None, str | None]:
    """Return the moisture of a honey [g per 100 g] and how it was found, from what was typed; raises BadInput.

    A refractive index at a temperature (20 °C where none is given) is turned into moisture by Wedmore's formula.
    """
    if moisture and refractive_index:
        raise BadInput("the moisture and the refractive index were both given; give one of them")
    if moisture:
        return float(read(Quantity.PERCENT, moisture, units)), "as given"
    if not refractive_index:
        return None, None
    from cooperage.liquid import honey_moisture  # brings NumPy, so only when it is needed

    index = float(read(Quantity.NUMBER, refractive_index, units))
    degrees = float(read(Quantity.TEMPERATURE, celsius, units)) if celsius else 20.0
    return round(float(honey_moisture(index, degrees)), 2), f"refractive index {index:.4f} at {degrees:g} °C"


def parse_honey(texts: Mapping[str, str], now: datetime, units: Units = DEFAULT) -> Honey:
    """Return the honey that texts by outside name mean; raises BadField. Blanks stay unknown."""
    own = {
        "grams": lambda text: honey_grams(text, units),
        "came_on": lambda text: midnight(read_day(text, now)),
    }
    values = _values(OF_HONEY, texts, units, own)
    del values["celsius"]
    try:
        typed = (texts.get(name, "").strip() for name in ("moisture", "index", "at"))
        values["moisture"], values["method"] = moisture_of(*typed, units=units)
    except BadInput as error:
        raise BadField("index", error.words(units)) from error
    return allowed_of(OF_HONEY, tidied, Honey("", note=texts.get("note", ""), **values))


def parse_batch(texts: Mapping[str, str], units: Units = DEFAULT) -> Batch:
    """Return the batch sheet that texts by outside name mean; raises BadField.

    Several honeys or juices have semicolons between them.
    """
    own = {
        "honeys": lambda text: parse_honeys(_each(text), units),
        "others": lambda text: parse_juices(_each(text), units),
    }
    values = _values(OF_BATCH, texts, units, own)
    percent = values["nutrient_n"]
    values["nutrient_n"] = None if percent is None else 10.0 * percent
    values |= {name: values[name] or () for name in own}
    return allowed_of(OF_BATCH, tidied, Batch("", note=texts.get("note", ""), **values))


def _values(asked: Iterable[Asked], texts: Mapping[str, str], units: Units, own: Mapping[str, Any]) -> dict[str, Any]:
    return {each.field: value_of(each, texts, units, own.get(each.field)) for each in asked}


def _each(text: str) -> list[str]:
    return [part.strip() for part in text.split(";") if part.strip()]


def batch_texts(batch: Batch, units: Units = DEFAULT) -> dict[str, str]:
    """Return a batch sheet as the texts that `parse_batch` reads, in the person's units."""
    figures = {
        "tolerance": (Quantity.STRENGTH, batch.tolerance),
        "coolest": (Quantity.TEMPERATURE, batch.coolest),
        "warmest": (Quantity.TEMPERATURE, batch.warmest),
        "nutrient-nitrogen": (Quantity.PERCENT, None if batch.nutrient_n is None else batch.nutrient_n / 10.0),
    }
    shown = {name: show(quantity, value, units) for name, (quantity, value) in figures.items() if value is not None}
    juices = (
        f"{each.name}={show_exact(each.ml, units)} at {show(Quantity.GRAVITY, each.sg, units, digits=5)}"
        for each in batch.others
    )
    return shown | {
        "lot": batch.lot,
        "water": show_exact(batch.water_ml, units),
        "with-honey": "; ".join(f"{each.code}={_mass_text(each.grams)}" for each in batch.honeys),
        "juice": "; ".join(juices),
        "yeast": batch.yeast or "",
        "note": batch.note,
    }


def _mass_text(grams: int) -> str:
    """Return a mass as `honey_grams` reads it back, to the gram."""
    return f"{grams} g" if grams % 1000 else f"{grams // 1000} kg"
