"""Whatever stands in a brief's file: it is a brief, or one line that says what is wrong."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.blending.brief.brief import _READERS, load_brief
from cooperage.blending.brief.saved import toml_of
from cooperage.errors import BadInput

BRIEF = 'litres = 400\nobjective = ["least_cost"]\n[limits]\nabv = { min = 13.4 }\n[draws]\nmax_stocks = 6\n'

SCALARS = (
    st.integers()
    | st.integers(10**18, 10**400)
    | st.floats()
    | st.booleans()
    | st.text(max_size=5)
    | st.sampled_from(["B-1", "least_cost", "nearest:abv=1", "highest:", "16 % vol", "liquid"])
)
KEYS = st.sampled_from([*_READERS, "min", "max", "target", "within", "abv", "must", "never", "honey", "moisture"])
NAMES = KEYS | st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=4)
VALUES = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=3), max_leaves=8
)
PIECES = st.sampled_from([*BRIEF, *_READERS, "[", "{", '"', "'''", "=", "1e999", "inf", "nan", "0x", "1979-05-27"])


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("briefs") / "brief.toml"


def read(path: Path, content: bytes) -> str:
    """Load what the file holds; a refusal must be one line, and no longer than a person reads."""
    path.write_bytes(content)
    try:
        load_brief(path)
    except BadInput as error:
        message = str(error)
    else:
        message = ""
    assert len(message.splitlines()) <= 1
    assert len(message) < 700 + len(str(path))
    return message


@pytest.mark.slow
@given(table=st.dictionaries(KEYS, VALUES, max_size=4), with_litres=st.booleans())
def test_any_values_under_any_keys(file: Path, table: dict[str, Any], with_litres: bool) -> None:
    """Numbers beyond all floats, tables in lists in tables, keys with line breaks."""
    text = toml_of({"litres": 400, **table} if with_litres else table)
    read(file, text.encode("utf-8", "replace"))


@given(at=st.integers(0, len(BRIEF)), gone=st.integers(0, 6), put=st.lists(PIECES, max_size=4))
def test_any_slip_of_the_pen(file: Path, at: int, gone: int, put: list[str]) -> None:
    """Letters struck out of a good brief, and others put in."""
    read(file, (BRIEF[:at] + "".join(put) + BRIEF[at + gone :]).encode())


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"litres = " + b"[" * 100_000, "is not a TOML file: tables or lists in each other without end"),
        (b"litres" + b".a" * 50_000 + b" = 1", "is not a TOML file: a key of more than 32 parts"),
        (b'[litres . "a"' + b" . 'b'" * 50_000 + b"]", "is not a TOML file: a key of more than 32 parts"),
        (b"draws.whole" + b".a" * 30 + b" = 1", "draws.whole: must be true or false, not {'a': {'a': {...}}}"),
        (b"litres = 1" + b"0" * 400, "brief, litres: must be a number"),
        (b"litres = 1" + b"0" * 5000, "is not a TOML file: Exceeds the limit"),
        (b'mixing = "' + b"x" * 10_000 + b'"', 'brief, mixing: must be "liquid" or "plain", not \'xxx'),
        (b'litres = 4\n[limits]\n"a\\nb" = 3', "brief, limits: it holds a line break"),
        (b"#" * 1_000_001, "is longer than 1 MB"),
        (b"\x00\xff", "is not a TOML file"),
    ],
)
def test_what_no_hand_would_write_is_told_in_a_line_too(file: Path, content: bytes, says: str) -> None:
    """Depth, length and size without end."""
    assert says in read(file, content)


def test_a_name_that_begins_with_a_tilde_is_a_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`~brief.toml` is a file of that name where no person is called so."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "~no-such-hand.toml").write_text(BRIEF)
    assert load_brief(Path("~no-such-hand.toml"))["litres"] == 400
