"""A brief as it is typed: every way to write a limit, other units, and back again."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.blending.brief.brief import read_brief
from cooperage.blending.brief.figures import show_figure
from cooperage.blending.typed_brief import LIMITED, format_brief, parse_brief, toggled
from cooperage.book.declared.from_text import BadField
from cooperage.units import Units


@pytest.mark.parametrize(
    ("text", "limit"),
    [
        ("13.4-13.6", {"min": 13.4, "max": 13.6}),
        ("13.4 to 13.6", {"min": 13.4, "max": 13.6}),
        ("13.4..13.6 % vol", {"min": 13.4, "max": 13.6}),
        ("13,4-13,6", {"min": 13.4, "max": 13.6}),
        ("13.5 ± 0.1", {"target": 13.5, "within": 0.1}),
        ("13.5 +- 0.1", {"target": 13.5, "within": 0.1}),
        ("13.5 within 0.1", {"target": 13.5, "within": 0.1}),
        ("max 14", {"max": 14.0}),
        ("<= 14", {"max": 14.0}),
        ("at most 14", {"max": 14.0}),
        ("min 13", {"min": 13.0}),
        (">13", {"min": 13.0}),
        ("13.5", {"target": 13.5}),
        ("27 proof", {"target": 13.5}),  # US proof is twice the % vol (27 CFR 30.11)
    ],
)
def test_a_limit_is_written_in_many_ways(text: str, limit: dict[str, Any]) -> None:
    """All of them come to the mapping that a brief's file would hold."""
    brief = parse_brief({"litres": "400", "abv": text})
    assert brief == {"litres": 400.0, "limits": {"abv": limit}}
    read_brief(brief)


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("400", 400.0),
        ("390-410", {"min": 390.0, "max": 410.0}),
        ("400 ± 10", {"min": 390.0, "max": 410.0}),
        ("4 hl", 400.0),
    ],
)
def test_litres_are_a_number_or_a_range(text: str, litres: dict[str, Any] | float) -> None:
    """Any unit of volume is understood; a give-or-take becomes a range."""
    assert parse_brief({"litres": text})["litres"] == litres


def test_bare_litres_are_meant_in_the_person_s_unit() -> None:
    """100 US gallons are 378.541 L (3785.411784 ml each, NIST Handbook 44, to the millilitre)."""
    assert parse_brief({"litres": "100"}, Units(volume="gal"))["litres"] == 378.541


@pytest.mark.parametrize(
    ("texts", "field"),
    [({}, "litres"), ({"litres": "many"}, "litres"), ({"litres": "400", "va_g_l": "little"}, "volatile acidity"),
     ({"litres": "400", "max_stocks": "2.5"}, "most stocks"), ({"litres": "400", "ready": "often"}, "ready at least"),
     ({"litres": "400", "ready": "160"}, "ready at least")],
)  # fmt: skip
def test_what_is_not_understood_names_its_field(texts: dict[str, Any], field: str) -> None:
    """The line begins with the field as it is called on the screen."""
    with pytest.raises(BadField) as refused:
        parse_brief(texts)
    assert refused.value.field == field


def test_names_may_be_typed_in_any_case() -> None:
    """They are written as the stocks are; a name that is none is left for the solve to refuse."""
    brief = parse_brief({"litres": "400", "must": "b-003, B-004", "never": "x-9"}, stocks=["B-003", "B-004"])
    assert brief["draws"] == {"must": ["B-003", "B-004"], "never": ["x-9"]}


def test_what_has_no_field_is_kept() -> None:
    """Shares, mixing and limits on other figures survive a change of the litres."""
    kept = {"litres": 1, "mixing": "liquid", "share": {"B-1": {"max": 0.5}}, "limits": {"days_in_wood": {"min": 90}}}
    assert parse_brief({"litres": "400"}, kept=kept) == kept | {"litres": 400.0}


def test_rules_without_a_field_are_kept_and_bottles_become_litres() -> None:
    """Heels and least draws survive; a brief that counts bottles is shown, and goes on, in litres."""
    kept = {"bottles": 400, "draws": {"heel_l": 5.0, "min_draw_l": 10.0, "max_stocks": 3}}
    texts = format_brief(kept)
    assert texts["litres"] == "300"
    again = parse_brief(texts, kept=kept)
    assert again == {"litres": 300.0, "draws": kept["draws"]}
    read_brief(again)


def test_a_stock_stands_under_one_rule_at_most() -> None:
    """Forced, then forbidden, then free."""
    forced = toggled({"must": "", "never": "B-9"}, "must", "B-1")
    assert (forced["must"], forced["never"]) == ("B-1", "B-9")
    forbidden = toggled(forced, "never", "B-1")
    assert (forbidden["must"], forbidden["never"]) == ("", "B-9 B-1")
    assert toggled(forbidden, "never", "B-1")["never"] == "B-9"


def test_figures_are_told_in_the_person_s_units() -> None:
    """Litres in gallons with a decimal comma; what is unknown is a question mark."""
    assert show_figure("litres", 378.541, Units(volume="gal", decimal=",")) == "100,00 gal"
    assert show_figure("abv", None) == "?"


numbers = st.floats(0.1, 999, allow_nan=False).map(lambda value: round(value, 3))
spans = st.one_of(
    st.tuples(numbers, numbers).map(lambda ends: {"min": min(ends), "max": max(ends)}),
    st.tuples(numbers, numbers).map(lambda pair: {"target": pair[0], "within": pair[1]}),
    numbers.map(lambda value: {"max": value}),
    numbers.map(lambda value: {"min": value}),
)
briefs = st.fixed_dictionaries(
    {"litres": numbers | st.tuples(numbers, numbers).map(lambda ends: {"min": min(ends), "max": max(ends)})},
    optional={
        "objective": st.lists(
            st.sampled_from(["least_cost", "highest:score", "nearest:abv=13.5"]), min_size=1, unique=True
        ),
        "limits": st.dictionaries(st.sampled_from([name for name in LIMITED if name != "abv"]), spans, min_size=1),
        "draws": st.fixed_dictionaries(
            {"max_stocks": st.integers(1, 9)},
            optional={
                "whole": st.just(True),
                "never": st.just(["B-1"]),
                "ready": st.integers(0, 1000).map(lambda tenths: tenths / 1000),
            },
        ),
    },
)


@given(briefs, st.sampled_from([".", ","]))
def test_a_brief_written_into_its_fields_is_the_brief_again(brief: dict[str, Any], decimal: str) -> None:
    """For any brief: typed as it is shown, it is the same, to the millilitre and the digit."""
    units = Units(decimal=decimal)
    assert parse_brief(format_brief(brief, units), units, kept=brief) == brief
