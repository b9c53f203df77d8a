"""A trial across barrels as it is typed into the fields of a form."""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime

from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput
from cooperage.programme.compared.planning import MOST_GLASSES, AskedOfTrial
from cooperage.programme.compared.trial import TrialTreatment
from cooperage.tasting.flights.scales import OVERALL
from cooperage.units import DEFAULT, Quantity, Units, read, read_day

_APART = re.compile(r"[;,\n]")


def typed_barrel_trial(texts: Mapping[str, str], now: datetime, units: Units = DEFAULT) -> AskedOfTrial:
    """Read the texts of a form's fields; a blank one is as usual. Raises BadField naming one."""
    return AskedOfTrial(
        question=texts["question"],
        code=texts["code"],
        treatments=_treatments(texts["treatments"]),
        by=texts["by"],
        given=_given(texts["given"]),
        block_by=_parts(texts["blocks"]),
        measure=texts["measure"].strip() or OVERALL,
        days=_days(texts["days"], now),
        tasters=_parts(texts["tasters"]),
        glasses=_glasses(texts["glasses"], units),
        difference=texts["difference"],
    )


def _parts(text: str) -> list[str]:
    return [part.strip() for part in _APART.split(text) if part.strip()]


def _treatments(text: str) -> list[TrialTreatment]:
    """Read "weekly=topped every 7 days; monthly": semicolons part them where what is done has a comma in it."""
    parts = text.split(";") if ";" in text else _parts(text)
    named = [part.partition("=") for part in parts if part.strip()]
    return [TrialTreatment(name.strip(), words.strip()) for name, _, words in named]


def _given(text: str) -> dict[str, str]:
    given = {}
    for part in _parts(text):
        tag, equals, name = part.partition("=")
        if not equals or not name.strip():
            raise BadField("given", f"'{part}' is no barrel and treatment; write {tag.strip() or 'B-001'}=heavy")
        given[tag.strip()] = name.strip()
    return given


def _days(text: str, now: datetime) -> list[date]:
    with _at("days", DEFAULT):
        return [read_day(part, now) for part in _parts(text)]


def _glasses(text: str, units: Units) -> int:
    with _at("glasses", units):
        return int(read(Quantity.COUNT, text, units)) if text.strip() else MOST_GLASSES


@contextmanager
def _at(field: str, units: Units) -> Iterator[None]:
    """Give what is wrong with a text the name of its field."""
    try:
        yield
    except BadInput as error:
        raise BadField(field, error.words(units)) from error
