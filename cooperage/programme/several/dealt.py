"""Several figures typed in one field, "200 220": dealt out to the vessels in the order in which they are named."""

import re
from collections.abc import Sequence
from dataclasses import replace

from cooperage.book.declared.acts import KINDS, figure_of
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.programme.several.named import shown_tags
from cooperage.programme.several.wanted import Wanted
from cooperage.units import Quantity, counted

_FIGURES = (Holds.AMOUNT, Holds.VALUE, Holds.COUNT)
_APART = re.compile(r"[;\s]+|,\s+")
_NUMBER = re.compile(r"[+\-−]?[0-9.,]*[0-9]")
_TIMES = re.compile(r"[xX×*]")


def dealt(wanted: Wanted, tags: Sequence[str]) -> Wanted:
    """Return what is wanted with a list of figures dealt out to its vessels; with one figure or none, as it is.

    A figure typed for a single vessel wins over that of the list. Raises BadField where the list has more figures than
    there are vessels, or fewer.
    """
    figure = figure_of(KINDS[wanted.kind])
    if figure is None or not (isinstance(figure.holds, Quantity) or figure.holds in _FIGURES):
        return wanted
    found = figures_in(wanted.texts.get(figure.name, ""))
    if len(found) < 2:
        return wanted
    if len(found) != len(tags):
        number = counted(len(tags), "vessel")
        raise BadField(
            figure.name,
            f"has {len(found)} figures for {number} ({shown_tags(list(tags))}); type one for all, or one for each",
        )
    each = {tag: {figure.name: text} for tag, text in zip(tags, found, strict=True)}
    for typed, own in wanted.each.items():
        tag = next((tag for tag in each if tag.casefold() == typed.casefold()), typed)
        each[tag] = each.get(tag, {}) | dict(own)
    return replace(wanted, texts={**wanted.texts, figure.name: ""}, each=each)


def figures_in(text: str) -> list[str]:
    """Part a text into figures with their units; what is no list, such as "3 x 500 ml" or "2 g/100 L", stays whole.

    A unit after the last figure alone is that of all: "50 55 gal". A comma parts only before a space, for it may be the
    decimal mark.
    """
    found: list[str] = []
    for piece in filter(None, _APART.split(text.strip().rstrip(","))):
        if _TIMES.fullmatch(piece):
            return [text]
        if _NUMBER.match(piece) and not (found and found[-1].endswith("/")):
            found.append(piece)
        elif not found:
            return [text]
        else:
            found[-1] = f"{found[-1]} {piece}"
    return _with_the_last_unit(found) if len(found) > 1 else [text]


def _with_the_last_unit(found: list[str]) -> list[str]:
    bare = [_NUMBER.fullmatch(each) is not None for each in found]
    number = _NUMBER.match(found[-1])
    if not all(bare[:-1]) or bare[-1] or number is None:
        return found
    return [*(f"{each} {found[-1][number.end() :].strip()}" for each in found[:-1]), found[-1]]
