"""Text that shows as it was typed: what is refused, and how what was written before is shown."""

import json
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.errors import BadInput
from cooperage.plaintext import json_escaped, refuse_controls, visible

JOINERS = "\u200c\u200d"


def is_plain(character: str) -> bool:
    """Say by Unicode's own general categories whether a character shows as itself."""
    code = ord(character)
    is_noncharacter = 0xFDD0 <= code <= 0xFDEF or code & 0xFFFE == 0xFFFE
    return character in JOINERS or not (
        is_noncharacter or unicodedata.category(character) in ("Cc", "Cf", "Cs", "Zl", "Zp")
    )


@pytest.mark.slow
def test_what_is_refused_is_what_unicode_calls_control_format_or_separator() -> None:
    """Over all of Unicode as this Python knows it; what it does not know yet may be refused, but only there."""
    for code in range(sys.maxunicode + 1):
        character = chr(code)
        if unicodedata.category(character) == "Cn" and is_plain(character):
            continue
        assert (visible(character) == character) == is_plain(character), hex(code)


@given(st.text(st.characters(exclude_categories=[]), max_size=30), st.booleans())
def test_text_is_refused_or_shown_as_it_is(text: str, lines: bool) -> None:
    """Either a text goes through the door and shows as itself, or it is refused and its mark is plain; in one line."""
    if visible(text, lines=lines) == text:
        assert refuse_controls(text, "the note", lines=lines) == text
    else:
        with pytest.raises(BadInput) as refused:
            refuse_controls(text, "the note", lines=lines)
        assert visible(str(refused.value)) == str(refused.value)
    assert visible(visible(text)) == visible(text)


@given(st.text(st.characters(exclude_categories=[]), max_size=30))
def test_json_stays_the_same_json_and_becomes_plain(text: str) -> None:
    """What JSON leaves raw is escaped, and read back as it was."""
    written = json_escaped(json.dumps({"note": text}, ensure_ascii=False, indent=1))
    joined = text.encode("utf-16", "surrogatepass").decode("utf-16", "surrogatepass")  # JSON knows pairs, not halves
    assert json.loads(written) == {"note": joined}
    assert visible(written, lines=True) == written


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("abc\x1b[31m", "the note holds a control character (ESC, U+001B) after 'abc'; type it without"),
        ("\x07", "the note holds a control character (BEL, U+0007) at its beginning; type it without"),
        ("a\x9b", "the note holds a control character (U+009B) after 'a'; type it without"),
        ("one\ntwo", "the note holds a line break (U+000A) after 'one'; type it without"),
        ("a\u202eb", "the note holds an invisible character (U+202E) after 'a'; type it without"),
        ("a\ud800", "the note holds half of a character (U+D800) after 'a'; type it without"),
    ],
)
def test_a_refusal_names_the_character_and_where_it_stands(text: str, message: str) -> None:
    """In one line, with the code that a person can look up and the letters before it."""
    with pytest.raises(BadInput) as refused:
        refuse_controls(text, "the note")
    assert str(refused.value) == message


def test_marks_tell_which_character_it_was() -> None:
    """Old text is shown with its characters spelt out; line feeds stay where a text has lines."""
    assert visible("a\x1b[31m\x9b\u202e") == "a\\x1b[31m\\x9b<U+202E>"
    assert visible("a\nb") == "a\\x0ab"
    assert visible("a\nb", lines=True) == "a\nb"
