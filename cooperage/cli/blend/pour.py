"""`cooperage blend pour`: briefs solved over the cellar and written into the book, all of them or none."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from cooperage.blending.answer.answer import Answer
from cooperage.book.errors import ID_LETTERS
from cooperage.cli.blend import given
from cooperage.cli.blend.words import print_answer, print_programme
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import TAGS
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    note_option,
    print_cautions,
    print_json,
    settings,
    sure_option,
    when_option,
)
from cooperage.cli.shared.paste import parse_moment
from cooperage.units import DEFAULT


@command("pour", "cooperage blend pour --brief demo_cellar/briefs/winter_bottling.toml --into T-4 --sure")
@given.briefs_option
@option(
    "--into",
    required=True,
    multiple=True,
    metavar="TAG",
    shell_complete=TAGS,
    help="Vessel the blend goes into; one for each brief, in the same order.",
)
@hand_option
@note_option
@when_option
@sure_option
@given.time_option
@json_option
@click.pass_context
def pour_command(
    ctx: click.Context,
    brief_paths: tuple[Path, ...],
    into: tuple[str, ...],
    hand: str | None,
    note: str,
    when: str | None,
    sure: bool,
    time_limit: float,
    as_json: bool,
) -> None:
    """Solve briefs over the cellar and write the blends into the book, all of them or none."""
    from cooperage.blending.pour.tank import Pour, pour_all, pour_cautions, pour_words

    briefs, answers = _answers(ctx, brief_paths, into, time_limit, as_json=as_json)
    book = given.opened(ctx)
    before = book.cellar()
    tags = dict(zip(briefs, into, strict=True))
    pours = [Pour(answer, tags[name], briefs[name], note) for name, answer in answers.items()]
    cautions = pour_cautions(pours, before, settings().units)
    written = pour_all(
        book,
        pours,
        hand=hand or settings().hand,
        at=parse_moment(when, book.now()),
        sure=sure,
        also=lambda: print_cautions(cautions, err=True),
    )
    after = book.cellar()
    units = DEFAULT if as_json else settings().units
    words = list(dict.fromkeys(line for entry in written for line in pour_words(entry, before, after, units)))
    if as_json:
        held = {each.into: after[each.into].litres for each in pours}
        first = {"id": written[0].id, "answer": pours[0].answer.to_json(), "litres": held, "words": words}
        poured = [{"id": entry.id, "into": each.into} for entry, each in zip(written, pours, strict=True)]
        body = first | {"cautions": cautions} | ({"poured": poured} if len(written) > 1 else {})
        print_json(body, to_the_unit=False)
        return
    for entry, each in zip(written, pours, strict=True):
        print_answer(each.answer)
        click.echo(f"written: blend {entry.id[:ID_LETTERS]} into {each.into}")
    for line in words:
        click.echo(f"  {line}")


def _answers(
    ctx: click.Context, paths: Sequence[Path], into: Sequence[str], time_limit: float, *, as_json: bool
) -> tuple[dict[str, dict[str, Any]], dict[str, Answer]]:
    """Solve the briefs; where they cannot be met, print why and leave with the answer's exit status."""
    briefs, stocks = given.load_briefs(paths), given.stocks_of(ctx, None)
    if len(briefs) != len(into):
        raise given.WrongCall(
            f"{len(into)} --into for {len(briefs)} --brief; give each brief its own vessel, in the same order"
        )
    if len(briefs) > 1:
        programme = given.solved_together(briefs, stocks, time_limit)
        if programme.exit_status:
            _print_instead(programme, print_programme, as_json=as_json)
            ctx.exit(programme.exit_status)
        return briefs, dict(programme.bottlings)
    import numpy as np

    name, brief = next(iter(briefs.items()))
    answer = given.solved(stocks, brief, time_limit)
    if any(draw.stock.upper() == into[0].upper() for draw in answer.draws):
        others = np.array([str(name).upper() != into[0].upper() for name in stocks.names])
        answer = given.solved(stocks.take(others), brief, time_limit)  # nothing is poured from a vessel into itself
    if answer.exit_status:
        _print_instead(answer, print_answer, as_json=as_json)
        ctx.exit(answer.exit_status)
    return briefs, {name: answer}


def _print_instead(found: Any, printed: Any, *, as_json: bool) -> None:  # noqa: ANN401 - an Answer or a Programme
    """Print what was found in place of a plan."""
    if as_json:
        print_json(found.to_json(), to_the_unit=False)
    else:
        printed(found)
