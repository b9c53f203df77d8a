"""A taster's sheet of a difference test: codes in the order they are tasted, what is asked, never what is in them."""

from collections.abc import Iterator, Sequence
from textwrap import wrap

from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.flights.sheet import WIDTH

_BLANK = "____"
COLUMNS = ("flight", "taster", "round", "glasses", "answer")
"""The columns of a table of answers: a line a set, its codes in the order they are tasted."""


def answer_rows(poured: DifferenceFlight, taster: str) -> Iterator[list[str]]:
    """Yield a taster's rows of a table of answers; the answer is blank."""
    for each in poured.sets_of(taster):
        yield [poured.code, each.taster, str(each.round), " ".join(each.codes), ""]


def answer_sheet(poured: DifferenceFlight, taster: str) -> list[str]:
    """Return a taster's sheet, line by line."""
    question, title = poured.question, f"{poured.code}  {poured.name}".rstrip()
    lines = [f"{title}{taster:>{max(2, WIDTH - len(title))}}", ""]
    lines += wrap(f"Taste from left to right. {question.words}", WIDTH)
    lines += wrap("Write its code. Always name one, by a guess if need be; taste and write alone.", WIDTH)
    for each in poured.sets_of(taster):
        heading = f"set {each.round}   " if question.rounds > 1 else ""
        lines += ["", f"  {heading}{glasses_words(question, each.codes)}"]
        lines += [f"  {'':{len(heading)}}answer   {'   '.join([_BLANK] * question.named)}"]
    return lines


def glasses_words(question: DifferenceQuestion, codes: Sequence[str]) -> str:
    """Return a set's codes as they are tasted, a known reference named as one."""
    if question.test == "duo-trio":
        return f"reference {codes[0]}   {'   '.join(codes[1:])}"
    return "   ".join(codes)
