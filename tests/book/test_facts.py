"""Facts of the cellar: declared once, read and shown in the person's units, kept in the book."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.errors import NotPossible
from cooperage.book.facts import (
    FACTS,
    USUAL,
    NotAFact,
    fact_named,
    facts_of,
    read_fact,
    set_fact,
    show_fact,
    write_fact,
)
from cooperage.errors import BadInput
from cooperage.programme.signs.liquid import CLASS_LINES, ClassLine, class_lines
from cooperage.units import Units


def kept(book: Book) -> Any:
    with book.reading() as connection:
        return facts_of(connection)


def give(book: Book, key: Any, text: Any) -> None:
    with book.writing() as session:
        set_fact(session.connection, FACTS[key], None if text is None else read_fact(FACTS[key], text))


def test_a_new_cellar_stands_at_the_defaults(book: Book) -> None:
    """3 % of what was on hand, four class lines, 14 °C and 75 %, no name; none of them given."""
    facts = kept(book)
    assert (facts, facts.given) == (USUAL, frozenset())
    assert (facts.name, facts.allowance, facts.class_lines) == ("", 0.03, (14.0, 16.0, 21.0, 24.0))
    assert (facts.celsius, facts.humidity) == (14.0, 75.0)


def test_a_fact_is_given_changed_and_taken_back(book: Book) -> None:
    """The last one counts; None lets the default stand again, and the others are left alone."""
    give(book, "loss_allowance", "2 %")
    give(book, "loss_allowance", "2,5")
    give(book, "class_lines", "14; 8.5 % vol; 8,5")
    assert (kept(book).allowance, kept(book).class_lines) == (0.025, (8.5, 14.0))
    give(book, "loss_allowance", None)
    assert (kept(book).allowance, kept(book).given) == (0.03, {"class_lines"})


GIVEN: dict[str, Any] = {
    "name": "Cold Harbour",
    "class_lines": (8.1234567, 14.0),
    "currency": "ISK",
    "barrel_spread": "effect",
    "barrel_fills": 4,
    "written_off": ("leak", "gauging difference"),
}


@pytest.mark.parametrize("key", FACTS)
def test_every_fact_is_written_and_read_back_to_the_last_digit(book: Book, key: Any) -> None:
    """What the book keeps is what was given."""
    given = GIVEN.get(key, FACTS[key].possible[0] + 1 / 3)
    with book.writing() as session:
        set_fact(session.connection, FACTS[key], given)
    assert kept(book).values[key] == given
    assert read_fact(FACTS[key], write_fact(FACTS[key], given)) == given


def test_a_temperature_is_typed_and_shown_in_the_persons_unit() -> None:
    """59 °F are 15 °C (NIST HB 44)."""
    fahrenheit = Units(temperature="f")
    assert read_fact(FACTS["temperature"], "59", fahrenheit) == pytest.approx(15)
    assert show_fact(FACTS["temperature"], 15.0, fahrenheit) == "59.0 °F"


@pytest.mark.parametrize(
    ("key", "text", "error"),
    [
        ("loss_allowance", "30", NotPossible),
        ("humidity", "5", NotPossible),
        ("temperature", "warm", BadInput),
        ("class_lines", ";", NotAFact),
        ("class_lines", "14; lots", BadInput),
        ("name", " ", NotAFact),
        ("name", "x" * 61, NotAFact),
    ],
)
def test_what_no_fact_can_be_is_refused(key: str, text: str, error: Any) -> None:
    """One line that says what it may be."""
    with pytest.raises(error) as refused:
        read_fact(FACTS[key], text)
    assert "\n" not in str(refused.value)


def test_a_key_is_found_with_either_hyphen_or_is_named() -> None:
    """An unknown one lists what there is."""
    assert fact_named("Loss-allowance") is FACTS["loss_allowance"]
    with pytest.raises(BadInput, match="choose from name, loss_allowance"):
        fact_named("colour")


def test_the_default_lines_are_those_with_a_source(book: Book) -> None:
    """Facts and signs know the same lines; one the cellar gave itself is its own."""
    assert class_lines(USUAL) == CLASS_LINES
    give(book, "class_lines", "8.5; 16")
    assert class_lines(kept(book)) == (ClassLine(8.5, "a line", "the cellar's own"), CLASS_LINES[1])


def test_words_of_a_list_are_typed_in_any_order_and_case() -> None:
    """In capitals or not, with commas or semicolons; none of them is a word too, and what is not known is refused."""
    fact = FACTS["written_off"]
    assert read_fact(fact, "Poured Away, LEAK; leak") == ("leak", "poured away")
    assert read_fact(fact, "none") == ()
    assert show_fact(fact, ()) == "none"
    assert read_fact(FACTS["currency"], " nok ") == "NOK"
    with pytest.raises(BadInput, match="'euros' is not known"):
        read_fact(FACTS["currency"], "euros")
    with pytest.raises(BadInput, match="did you mean lees"):
        read_fact(fact, "leees")
