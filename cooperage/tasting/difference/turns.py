"""One taster's turn at the sets of a difference test: whose turn it is, and what one typed line gives."""

from collections.abc import Sequence

from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.sheet import glasses_words
from cooperage.tasting.in_line import whole_name


def next_answer(poured: DifferenceFlight, hand: str = "") -> str:
    """Return whose turn it is: the `hand` at work if it has sets left, else who comes first; empty where none has."""
    waiting = [taster for taster, _ in poured.left_to_give()]
    here = poured.taster_named(hand) if hand else ""
    return here if here in waiting else next(iter(waiting), "")


def parted(line: str, known: Sequence[str], proposed: str = "") -> tuple[str, str]:
    """Return the taster and the codes of a line, "iko 873"; the `proposed` taster where it begins with a code."""
    words = line.split()
    first = next((at for at, word in enumerate(words) if word[:1].isdigit() or word == "-"), len(words))
    name = " ".join(words[:first])
    return whole_name(name, known) if name else proposed, " ".join(words[first:])


def is_code_begun(codes: str, poured: DifferenceFlight, taster: str) -> bool:
    """Return True if the last of some typed codes is the beginning of a code of the taster's own glasses."""
    last = (codes.split() or [""])[-1]
    own = [code for each in poured.sets_of(taster) for code in each.codes] if taster in poured.panel else []
    return bool(last) and last not in own and any(code.startswith(last) for code in own)


def set_lines(poured: DifferenceFlight, taster: str) -> list[str]:
    """Return a taster's sets as they are answered, a line each, with what was answered."""
    lines = []
    for each in poured.sets_of(taster):
        heading = f"set {each.round}   " if poured.question.rounds > 1 else ""
        given = f"   answered {' and '.join(each.answer)}" if each.answer else ""
        lines.append(f"{heading}{glasses_words(poured.question, each.codes)}{given}")
    return lines


def progress_lines(poured: DifferenceFlight) -> list[str]:
    """Return how many of their sets each taster has answered, a line each: never what."""
    lines = []
    for taster in poured.panel:
        own = poured.sets_of(taster)
        done = sum(bool(each.answer) for each in own)
        left = ", and left" if taster in poured.departed else ""
        lines.append(f"{taster} has answered {done} of {len(own)}{left}.")
    return lines
