"""The brief and the plan that are kept with a blend in the book, as sentences in the person's units."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from cooperage.blending.brief.figures import figure_name, show_figure, unit_words
from cooperage.blending.brief.values import BadBrief
from cooperage.blending.typed_brief import AIMS, format_brief
from cooperage.plaintext import visible
from cooperage.units import DEFAULT, Units

_RULES = {
    "must": "always drawn: {}",
    "never": "never drawn: {}",
    "max_stocks": "at most {} stocks",
    "ready": "barrels ready with {} at least",
}


def plan_words(plan: str, units: Units = DEFAULT) -> list[str]:
    """Return what was asked of a blend and what was planned, a line each; a plan of another make as it stands."""
    try:
        kept = json.loads(plan)
        brief, answer = dict(kept["brief"]), dict(kept["answer"])
        lines = [f"asked for: {'; '.join(_asked(brief, units))}", f"planned: {', '.join(_planned(answer, units))}"]
    except (ValueError, LookupError, TypeError, AttributeError, BadBrief):
        return [f"brief and plan: {visible(plan)}"]
    return [visible(line) for line in lines]


def _asked(brief: Mapping[str, Any], units: Units) -> Iterator[str]:
    texts, limits = format_brief(brief, units), brief.get("limits", {})
    yield f"{texts.pop('litres')} {unit_words('litres', units)}"
    for name in limits:
        if text := texts.get(name):
            yield f"{figure_name(name)} {text} {unit_words(name, units)}".rstrip()
    called = dict(AIMS)
    yield from (called.get(aim, aim.replace(":", " ").replace("_", " ")) for aim in brief.get("objective", ()))
    if texts["whole"] == "yes":
        yield "barrels drained whole"
    yield from (words.format(texts[rule]) for rule, words in _RULES.items() if texts[rule])


def _planned(answer: Mapping[str, Any], units: Units) -> Iterator[str]:
    for name, value in answer["blend"].items():
        if value is not None:
            yield f"{'' if name == 'litres' else figure_name(name) + ' '}{show_figure(name, value, units)}"
