"""A difference test is poured: two samples, and for each taster sets of glasses with codes and orders of their own."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy import insert

from cooperage.book import Book, Writing
from cooperage.book.declared.spelling import folded
from cooperage.book.store.tables import DIFFERENCE, FLIGHT, PRESENTED
from cooperage.tasting.difference.designs import drawn_orders
from cooperage.tasting.difference.errors import NotAskedSo, NoTastersGiven, NotTwoSamples, TooFewAnswers
from cooperage.tasting.difference.planned import planned_test
from cooperage.tasting.difference.question import SAMPLES, DifferenceQuestion, checked_question
from cooperage.tasting.difference.shape import DifferenceFlight, PresentedSet
from cooperage.tasting.difference.stored import find_difference
from cooperage.tasting.flights.errors import AlreadyRevealed, NotAmongTheTasters
from cooperage.tasting.flights.pouring import check_poured, insert_glasses, new_codes, new_flight_code
from cooperage.tasting.flights.shape import Glass
from cooperage.tasting.kept import check_flight, check_taster
from cooperage.tasting.pulling import write_pulled

if TYPE_CHECKING:
    from cooperage.book.store.registry import Vessel

Sample = tuple[str | None, str]
"""What is poured as a sample: a vessel's tag, or None and what is in a glass from the bench."""


def start_difference(
    book: Book,
    tags: Sequence[str],
    question: DifferenceQuestion,
    tasters: Sequence[str],
    *,
    bench: Sequence[str] = (),
    code: str = "",
    name: str = "",
    each_ml: int | None = None,
    hand: str = "",
    sure: bool = False,
    rng: np.random.Generator | None = None,
) -> DifferenceFlight:
    """Pour a difference test between two samples: vessels by their tags, then glasses from the `bench`.

    The first is sample A, the second B; `expected` and `reference` of the question may name one by its tag or text.
    Of each vessel a sample of `each_ml` is written with it (None: none is). Raises NotTwoSamples, NotAskedSo,
    NotAChance, NoTastersGiven, NothingToTaste, VesselIsRetired, NoSuchVessel, AlreadyThere, and what the book
    refuses; TooFewAnswers, unless `sure`, where so few cannot answer the question.
    """
    names = list(dict.fromkeys(name.strip() for name in tasters if name.strip()))
    if not names:
        raise NoTastersGiven
    rng = rng or np.random.default_rng()
    with book.writing() as session:
        samples, vessels = _samples(session, tags, bench)
        asked = checked_question(_with_letters(question, samples))
        check_flight(code.strip(), name)
        check_poured(session, vessels)
        planned = planned_test(asked, len(names) * asked.rounds)
        if not planned.is_enough and not sure:
            raise TooFewAnswers(planned)
        code = new_flight_code(session.connection, code, session.now)
        poured = DifferenceFlight(session.new_id(), code, name, asked, session.now, None)
        row = {"id": poured.id, "code": code, "name": name, "scale": "", "poured_at": session.now}
        session.connection.execute(insert(FLIGHT), row)  # nothing is scored, so there is no scale
        session.connection.execute(insert(DIFFERENCE), {"flight_id": poured.id} | asdict(asked))
        for taster in names:
            _draw_sets(session, poured, taster, samples, rng)
        poured.named = poured.panel
        if each_ml is not None:
            write_pulled(session, dict.fromkeys(tags, each_ml), name, hand=hand, sure=sure)
    return poured


def draw_for(
    book: Book, flight_code: str, tasters: Sequence[str], *, sure: bool = False, rng: np.random.Generator | None = None
) -> tuple[DifferenceFlight, list[str]]:
    """Return a difference test in which tasters have their sets, and their names; without tasters, all of its panel.

    Sets for one who was not named are drawn, and must then be poured. Raises NoSuchFlight, NotAmongTheTasters unless
    `sure`, AlreadyRevealed.
    """
    with book.writing() as session:
        poured = find_difference(session.connection, flight_code)
        names = list(dict.fromkeys(poured.taster_named(taster) for taster in tasters or poured.panel))
        new = [name for name in names if name not in poured.panel]
        if new and not poured.is_blind:
            raise AlreadyRevealed(poured.code)
        if new and not sure:
            raise NotAmongTheTasters(poured.code, new, poured.panel)
        glasses = poured.samples
        samples = [(glasses[letter].vessel, glasses[letter].what) for letter in SAMPLES]
        for name in new:
            _draw_sets(session, poured, name, samples, rng or np.random.default_rng())
    return poured, names


def _samples(session: Writing, tags: Sequence[str], bench: Sequence[str]) -> tuple[list[Sample], list["Vessel"]]:
    """Return the two samples, and the vessels among them; raises NotTwoSamples, NoSuchVessel."""
    vessels = [session.registry.vessel(tag) for tag in tags]
    samples: list[Sample] = [(vessel.tag, "") for vessel in vessels]
    samples += [(None, what.strip()) for what in bench if what.strip()]
    if len(samples) != len(SAMPLES) or len({folded(tag or what) for tag, what in samples}) < len(SAMPLES):
        raise NotTwoSamples([tag or what for tag, what in samples])
    return samples, vessels


def _with_letters(question: DifferenceQuestion, samples: Sequence[Sample]) -> DifferenceQuestion:
    """Return the question with its samples by their letters; raises NotAskedSo."""
    by_name = {folded(tag or what): letter for letter, (tag, what) in zip(SAMPLES, samples, strict=True)}
    letters = {name: _letter(getattr(question, name), by_name) for name in ("expected", "reference")}
    return DifferenceQuestion(**asdict(question) | letters)


def _letter(name: str, by_name: dict[str, str]) -> str:
    if not name.strip():
        return ""
    if folded(name) not in by_name:
        raise NotAskedSo(f"'{name}' is neither of the two samples; name one of them")
    return by_name[folded(name)]


def _draw_sets(
    session: Writing, poured: DifferenceFlight, taster: str, samples: Sequence[Sample], rng: np.random.Generator
) -> None:
    """Draw a taster's sets: an order for each round, a code for each glass."""
    check_taster(taster)
    orders = drawn_orders(poured.question, ((each.taster, each.order) for each in poured.sets), taster, rng)
    codes = iter(new_codes(sum(map(len, orders)), [glass.code for glass in poured.glasses], rng))
    held = dict(zip(SAMPLES, samples, strict=True))
    ids = {tag: session.registry.vessel(tag).id for tag, _ in samples if tag is not None}
    for at, order in enumerate(orders, 1):
        first = len(poured.glasses) + 1
        glasses = [
            Glass(session.new_id(), next(codes), first + place, *held[letter], letter)
            for place, letter in enumerate(order)
        ]
        insert_glasses(session.connection, poured.id, glasses, ids)
        drawn = PresentedSet(session.new_id(), taster, at, [glass.code for glass in glasses], order, session.now)
        row = {"id": drawn.id, "flight_id": poured.id, "taster": taster, "round": at}
        session.connection.execute(insert(PRESENTED), row | {"glasses": drawn.codes, "drawn_at": session.now})
        poured.glasses += glasses
        poured.sets.append(drawn)
