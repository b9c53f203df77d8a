"""A trial as a person types it on a form: one short text a field, in the person's units."""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from cooperage.blending.trials.planning import TrialAsked
from cooperage.blending.trials.stocks import parse_limits, parse_stock
from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Quantity, Units, read


def typed_trial(texts: Mapping[str, str], units: Units = DEFAULT) -> TrialAsked:
    """Read the texts of a form's fields: question, stocks, limits, tasters, repeats; raises BadField naming one."""
    asked: dict[str, Any] = {"question": texts.get("question", "")}
    asked["tasters"] = _parts(texts.get("tasters", ""))
    with _at("stocks", units):
        asked["stocks"] = [parse_stock(each, units) for each in _parts(texts.get("stocks", ""))]
    with _at("limits", units):
        asked["limits"] = parse_limits(_parts(texts.get("limits", "")), units)
    with _at("repeats", units):
        asked["repeats"] = int(read(Quantity.COUNT, texts.get("repeats", "").strip() or "1", units))
    return TrialAsked(**asked)


@contextmanager
def _at(field: str, units: Units) -> Iterator[None]:
    """Give what is wrong with a text the name of its field."""
    try:
        yield
    except BadInput as error:
        raise BadField(field, error.words(units)) from error


def _parts(text: str) -> list[str]:
    return [part for each in re.split(r"[;\n]|,\s", text) if (part := each.strip().rstrip(","))]
