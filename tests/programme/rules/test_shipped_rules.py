"""Every figure of the rules that was seen is shipped as its source has it; what was not seen is left to the person."""

import csv
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from math import sqrt
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.programme.rules.figure import CHECK, RuleMark, RuleUnknown
from cooperage.programme.rules.kept import (
    NoSource,
    NoSuchProfile,
    NoSuchRule,
    NotAValue,
    NothingOwn,
    own_figure,
    own_rules,
    profile_in_use,
    set_rule,
    use_profile,
    withdraw_rule,
)
from cooperage.programme.rules.profile import Profile, profile_of, profile_with
from cooperage.programme.rules.rounding import (
    cut,
    duty,
    duty_strength,
    half_up,
    in_unit,
    return_volume,
)
from cooperage.programme.rules.shipped import PROFILES, shipped_figures
from cooperage.programme.rules.span import NotASpan, RuleSpan, parse_span
from cooperage.programme.rules.strength import check_label, check_label_range, lines, nearest_line, tax_class, tax_lines

REFERENCE = Path(__file__).parents[2] / "reference"
TODAY = date(2026, 11, 27)


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / f"{name}.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def seen(name: str) -> Iterator[dict[str, str]]:
    """The rows of a file that were seen, first or second hand, or computed."""
    return (row for row in rows(name) if row["confidence"].startswith(("seen", "computed")))


def rules(name: str, day: date = TODAY) -> Profile:
    return profile_with([], name, day)


def test_every_figure_that_is_shipped_has_a_source_a_date_and_a_mark() -> None:
    """What was only remembered or was not found has no value, and asks for one."""
    for each in shipped_figures():
        assert each.source
        assert CHECK in each.citation
        if each.mark in (RuleMark.MEMORY, RuleMark.NOT_FOUND):
            assert each.value is None, each.name
        if each.is_known:
            assert each.as_of or each.mark is RuleMark.SECOND_HAND or each.source.startswith(("Austrian", "27"))
            assert (each.unit.startswith("bottles") and each.numbers) or each.number >= 0
        else:
            assert each.words() == "not known: enter it"
            with pytest.raises(RuleUnknown, match="rules set"):
                each.number  # noqa: B018 - asked for what it raises


def test_one_name_has_one_value_on_a_day() -> None:
    """No two figures of a name hold on one day, so nothing depends on their order."""
    for day in (date(2025, 6, 1), date(2026, 1, 31), TODAY):
        names = [
            (each.profile, each.name)
            for each in shipped_figures()
            if (each.since is None or each.since <= day) and (each.until is None or day <= each.until)
        ]
        assert len(names) == len(set(names))


def test_label_cases() -> None:
    """27 CFR 4.36 and 24.257(a)(3); Reg. (EU) 1169/2011 Annex XII row 2: pass and fail, on the edge too."""
    for row in rows("rules_label_cases"):
        place, stated, actual = row["jurisdiction"], float(row["stated"]), float(row["actual"])
        if place == "US range":
            found = check_label_range(rules("US"), stated, actual)
        else:
            found = check_label(rules(place.split()[0]), stated, actual).words
        assert found == row["expected"], row


KINDS = {
    "mead / honey wine": "mead",
    "beer <=5.5 %": "beer to 5.5 %",
    "drinks with macerated": "fruit in the bottle",
    "any other": "other drink",
}


def test_label_tolerances() -> None:
    """Points of % vol by strength and product; the Austrian food code repeats that for mead."""
    for row in seen("rules_label_tolerances"):
        place, product, points = row["jurisdiction"], row["product"], row["tolerance_points"]
        middle = (float(row["abv_from"]) + min(float(row["abv_to"]), 24)) / 2
        if place == "AT":
            assert rules("EU").find("label-tolerance", middle, "mead in Austria").number == Decimal(points)  # type: ignore[union-attr]
            continue
        kind = next((name for begins, name in KINDS.items() if product.startswith(begins)), "mead")
        rule = "label-range" if points.startswith("range") else "label-tolerance"
        at = 5.0 if "beer to" in kind else middle
        figure = rules(place).find(rule, at, kind)
        assert figure is not None
        assert figure.number == Decimal(points.removeprefix("range ")), row
        for line in filter(None, row["lines_never_crossed"].split(",")):
            assert rules(place).named(f"label-line.{line}").number == Decimal(line)


def test_a_tolerance_that_was_only_remembered_is_left_to_the_person() -> None:
    """The UK's text was not seen: no verdict, and what to enter."""
    assert check_label(rules("UK"), 13.0, 13.5).words == "tolerance not known"
    assert check_label(rules("UK"), 13.0, 13.5).is_ok is None


def _class_named(row: Mapping[str, str]) -> tuple[str, str]:
    """The day on which a line holds, and the kind of drink it is for."""
    day = row["as_of"] if len(row["as_of"]) == 10 else TODAY.isoformat()
    what = row["line"]
    kind = "sparkling" if "sparkling" in what else "carbonated" if "carbonated" in what else "still"
    return day, "low-alcohol mead" if "mead" in what else kind


TAXED = ("USD", "GBP")


def test_tax_classes_have_their_rates() -> None:
    """26 USC 5041(b), (h) (2024); UK rates of 1 Feb 2025 and 1 Feb 2026: just on the right side of each line."""
    count = 0
    for row in seen("rules_class_lines"):
        rate, _, unit = row["rate"].partition(" ")
        if not unit.startswith(TAXED):
            continue
        day, kind = _class_named(row)
        at = float(row["abv"]) + {"<": -0.1, "<=": 0.0, ">": 0.1, ">=": 0.0}[row["operator"]]
        found = tax_class(rules(row["jurisdiction"], date.fromisoformat(day)), at, kind)
        assert found is not None
        assert found.number == Decimal(rate), row
        count += 1
    assert count == 14


def test_the_other_lines() -> None:
    """Untaxed strengths, label lines, the classes of Dir. 92/83/EEC, CO2 of still wine, relief: both sides of each."""
    us, eu, uk = rules("US"), rules("EU"), rules("UK")
    assert tax_class(us, 0.4).name == "tax-class.none"  # type: ignore[union-attr]
    assert not us.named("label-line.7").limit.holds(6.9)
    assert us.named("label-line.7").limit.holds(7)
    assert us.named("label-line.14").limit.holds(14)
    assert not us.named("label-line.14").limit.holds(14.1)
    assert us.named("co2-still.limit").limit.holds(3.92)
    assert us.named("co2-still.low-mead").limit.holds(6.4)
    assert us.named("co2-still.measuring").number == Decimal("0.09")
    names = {
        (1.2, "still"): "none",
        (1.3, "still"): "fermented-10",
        (10.0, "still"): "fermented-10",
        (10.1, "still"): "fermented-15",
        (15.0, "still"): "fermented-15",
        (15.1, "still"): "intermediate-15",
        (10.1, "still, spirit added"): "intermediate-spirit",
        (22.0, "still, spirit added"): "intermediate-spirit",
        (22.1, "still"): "ethyl-alcohol",
        (13.0, "sparkling"): "sparkling-13",
        (13.1, "sparkling"): "sparkling-15",
        (13.1, "sparkling, spirit added"): "intermediate-sparkling",
    }
    for (strength, kind), name in names.items():
        assert tax_class(eu, strength, kind).name == f"tax-class.{name}"  # type: ignore[union-attr]
    assert eu.named("state-line.still").limit.holds(5.6)
    assert not eu.named("state-line.sparkling").limit.holds(8.5)
    assert not eu.named("sparkling-pressure.limit").limit.holds(3.0)
    assert tax_class(uk, 1.2).number == 0  # type: ignore[union-attr]
    assert uk.named("relief.line").limit.holds(8.4)
    assert uk.named("relief.draught-rate").number == Decimal("19.45")
    assert tax_class(uk, 12.0, "still, spirit added") == tax_class(uk, 12.0)
    assert list(tax_lines(us)) == [Decimal("0.5"), 16, 21, 24]
    assert list(lines(us)) == [Decimal("0.5"), 7, 14, 16, 21, 24]
    assert nearest_line(us, 13.96) == 14
    assert tax_class(us, 24.5).value is None  # type: ignore[union-attr] # distilled spirits


SO2 = {
    ("US", "wine"): "total-so2.wine",
    ("US", "label duty"): "sulphite-statement.line",
    ("EU", "label duty"): "sulphite-statement.line",
    ("EU grape", "red, sugar <5 g/L"): "total-so2.red-dry",
    ("EU grape", "white and rose, sugar <5 g/L"): "total-so2.white-dry",
    ("EU grape", "red, sugar >=5 g/L"): "total-so2.red-sweet",
    ("EU grape", "white and rose, sugar >=5 g/L"): "total-so2.white-sweet",
    ("EU grape", "listed sweet wines"): "total-so2.listed-sweet",
    ("EU grape", "liqueur wine, sugar <5 / >=5 g/L"): "total-so2.liqueur-dry / total-so2.liqueur-sweet",
    ("EU grape", "quality sparkling / other sparkling"): "total-so2.quality-sparkling / total-so2.other-sparkling",
    ("OIV", "red, <=4 g/L reducing sugar"): "total-so2.red-dry",
    ("OIV", "white and rose, <=4 g/L"): "total-so2.white-dry",
    ("OIV", "any colour, >4 g/L"): "total-so2.sweet",
    ("OIV", "some sweet whites"): "total-so2.some-sweet",
    ("US", "wine with no own maximum: substandard above"): "volatile-acidity.wine",
    ("US", "grape red / other"): "volatile-acidity.red / volatile-acidity.other",
    ("EU grape", "white, rose, part-fermented must"): "volatile-acidity.white",
    ("EU grape", "red"): "volatile-acidity.red",
}
OTHER = {"sorbic acid": "sorbic-acid.wine", "volatile acidity": "volatile-acidity.wine"}


def test_limits_of_sulphite_sorbic_acid_and_volatile_acidity() -> None:
    """Every limit that was seen, with its sign where it is from so much on."""
    for row in seen("rules_so2_va_limits"):
        names = SO2.get((row["jurisdiction"], row["product"])) if row["quantity"] != "sorbic acid" else None
        names = names or OTHER[row["quantity"]]
        wanted = row["maximum"]
        if "meq" in wanted:
            wanted = wanted.split("= ")[1].split()[0]
        for name, figure in zip(names.split(" / "), wanted.split(" / "), strict=True):
            found = rules(row["jurisdiction"].split()[0]).named(name)
            assert found.number == Decimal(figure), row
    assert rules("US").named("sulphite-statement.line").limit.holds(10)
    assert not rules("EU").named("sulphite-statement.line").limit.holds(10)


@pytest.mark.parametrize(
    ("profile", "rule"),
    [("EU", "total-so2"), ("EU", "sorbic-acid"), ("EU", "volatile-acidity"), ("UK", "total-so2")],
)
def test_a_limit_for_mead_that_was_not_seen_is_not_known(profile: str, rule: str) -> None:
    """A grape wine's limit is not taken for mead's."""
    found = rules(profile).find(rule)
    assert found is not None
    assert not found.is_known


def test_volatile_acidity_of_mead_falls_back_on_what_is_known() -> None:
    """27 CFR 4.21(f) was not seen, so what holds for wine without a maximum of its own stands until it is entered."""
    found = rules("US").find("volatile-acidity")
    assert found is not None
    assert found.number == Decimal("1.4")


def test_bottle_capacities() -> None:
    """Dir. 75/107/EEC, nominal and brimful."""
    for row in rows("rules_bottle_capacity_tolerance"):
        at = (float(row["vn_from_ml"]) + float(row["vn_to_ml"])) / 2
        figure = rules("EU").find("bottle-capacity", at)
        assert figure is not None
        assert (figure.number, figure.unit) == (
            (Decimal(row["plus_minus_ml"]), "mL") if row["plus_minus_ml"] else (Decimal(row["plus_minus_percent"]), "%")
        )


def test_sampling_plans() -> None:
    """Plans of Dir. 76/211/EEC Annex II and SI 2006/659 Sch. 2 as they are shipped."""
    for row in seen("rules_sampling_plans"):
        for place in ("EU", "UK") if row["jurisdiction"] == "EU and UK" else (row["jurisdiction"],):
            lot, test = float(row["lot_from"]), row["test"]
            profile = rules(place)
            if test.startswith("mean"):
                found = profile.find("mean-check", lot, "destructive" if test.endswith(" destructive") else "")
                wanted = (None if row["n"] == "all" else Decimal(row["n"]), Decimal(row["factor_on_s_printed"]))
            else:
                name = "count-single" if "single" in test else "count-double"
                name = "count-destructive" if test.endswith(" destructive") else name
                found = profile.find("count-second" if row["stage"] == "2" else name, lot)
                wanted = tuple(Decimal(row[each]) for each in ("n", "accept_max", "reject_min"))  # type: ignore[assignment]
            assert found is not None
            assert found.numbers == wanted, row
            if row["factor_on_s_computed"]:
                from scipy.stats import t

                n = int(row["n"])
                assert float(t.ppf(0.995, n - 1)) / sqrt(n) == pytest.approx(float(wanted[1]), abs=6e-4)


def _gallons(text: str) -> tuple[Decimal, Decimal | None]:
    first, _, last = text.replace(" gal", "").partition(" -> ")
    return Decimal(first.split()[0]), Decimal(last.split()[0]) if last else None


def test_rounding_of_one_figure() -> None:
    """26 USC 5041(d), 27 CFR 24.270(b), 24.300(a), 30.64; HMRC guide section 11: every case, half a step up or cut."""
    us, uk = rules("US"), rules("UK")
    tenth, done = Decimal("0.1"), 0
    for row in seen("rules_return_rounding_cases"):
        rule, given, expected = row["rule"], row["input"], row["expected"]
        done += 1
        if rule.startswith("US wine gallons"):
            assert half_up(Decimal(given), us.named("return-step.tax").number) == Decimal(expected)
        elif rule.startswith("US case factor"):
            count, size = rule.removeprefix("US case factor: ").removesuffix(" L").split(" x ")
            gallons = in_unit(us, int(Decimal(size) * 1000) * int(count))
            assert half_up(gallons, Decimal("0.00001")) == Decimal(expected.split()[0])
        elif rule.startswith("litres to wine gallons"):
            ml = int(Decimal(given.split()[0]) * 1000)
            unrounded, rounded = _gallons(expected)
            assert half_up(in_unit(us, ml), Decimal("0.00001")) == unrounded
            assert return_volume(us, ml) == rounded
        elif rule.startswith("bulk by pipeline"):
            assert half_up(Decimal(given), us.named("return-step.pipeline").number) == Decimal(expected)
        elif rule.startswith("proof gallons"):
            exact, rounded = _gallons(expected)
            assert rounded is None or half_up(exact, us.named("return-step.proof").number) == rounded
        elif rule.startswith("weight table"):
            assert half_up(Decimal(given.split()[0]) * Decimal(given.split("x ")[1]), tenth) == Decimal("22650.8")
        elif rule.startswith("UK duty strength"):
            assert duty_strength(uk, Decimal(given)) == Decimal(expected)
        elif rule.startswith("UK duty on one"):
            day = date(2025, 6, 1) if "2025" in rule else TODAY
            then = rules("UK", day)
            rate = tax_class(then, 13.5)
            assert rate is not None
            assert duty(then, rate, 750, Decimal("13.5")) == Decimal(expected)
        else:
            assert rule == "legal factor against exact"
            assert in_unit(us, 1_000_000) == Decimal("264.17")
    assert done == 25


def test_duty_is_of_what_the_return_has() -> None:
    """US: gallons to a tenth by the rate; a rate that is national is not known."""
    us, eu = rules("US"), rules("EU")
    assert duty(us, tax_class(us, 13.5), 225_000, Decimal("13.5")) == Decimal("63.5580")  # type: ignore[arg-type] # 59.4 x 1.07
    assert duty(eu, tax_class(eu, 12.0), 1000, Decimal(12)) is None  # type: ignore[arg-type]
    with pytest.raises(RuleUnknown, match="return-step"):
        return_volume(eu, 1000)


def test_cut_never_rounds_up() -> None:
    """7.59 is 7.5 and 7.5 stays."""
    assert [cut(Decimal(each), Decimal("0.1")) for each in ("7.59", "7.5", "0.09")] == [
        Decimal("7.5"),
        Decimal("7.5"),
        0,
    ]


def test_spans_are_read_and_refused() -> None:
    """A span is one or two comparisons."""
    assert parse_span(">= 7, <= 14") == RuleSpan(((">=", Decimal(7)), ("<=", Decimal(14))))
    assert parse_span("").holds(1e9)
    assert str(parse_span(">=7,<=14")) == ">= 7, <= 14"
    assert parse_span("= 750").holds(750.0)
    assert parse_span("< 1.5").holds(1.5 - 1e-6)
    assert not parse_span("< 0.3").holds(0.1 + 0.2)
    for wrong in ("7 to 14", "=< 7", "about 7"):
        with pytest.raises(NotASpan):
            parse_span(wrong)


@pytest.fixture
def book(fresh_sqlite: Callable[[], Book]) -> Book:
    return fresh_sqlite()


def test_an_own_value_stands_beside_the_shipped_one(book: Book) -> None:
    """From its day on the cellar's own value holds; before it, and once it is withdrawn, the shipped one."""
    set_rule(book, "US", "fill-each.750ml", "1.5", since=date(2026, 3, 1), source="our own", hand="Ada")
    set_rule(book, "US", "FILL-EACH.630ml", "2,5 %", since=date(2026, 3, 1), source="letter")
    withdraw_rule(book, "US", "fill-each.750ml", since=date(2026, 6, 1), why="too strict")
    with book.reading() as connection:
        every = own_rules(connection)
        held = {
            day: profile_of(connection, day).named("fill-each.750ml").number
            for day in (date(2026, 2, 28), date(2026, 3, 1), date(2026, 5, 31), date(2026, 6, 1))
        }
        assert list(held.values()) == [Decimal("2.0"), Decimal("1.5"), Decimal("1.5"), Decimal("2.0")]
        found = profile_of(connection, TODAY).find("fill-each", 630)
    assert found is not None
    assert (found.number, found.mark) == (Decimal("2.5"), RuleMark.OWN)
    assert len(every) == 3
    assert own_figure(every[0]).hand == "Ada"
    assert CHECK in own_figure(every[0]).citation
    with pytest.raises(NothingOwn):
        withdraw_rule(book, "US", "fill-each.750ml", since=date(2026, 6, 1))


def test_a_limit_can_be_entered_with_or_without_its_sign(book: Book) -> None:
    """A bare number is a maximum, but for the statement, which is from so much on."""
    for name, text, kept in (
        ("total-so2.mead", "200", "<= 200"),
        ("total-so2.mead", "< 200", "< 200"),
        ("count-double.100-500", "30/1/3", "30/1/3"),
        ("mean-check.under-100", "all/0", "all/0"),
        ("sulphite-statement.line", "10", ">= 10"),
        ("tne.1-10l", "1.5", "1.5"),
    ):
        assert set_rule(book, "EU", name, text, since=TODAY, source="read").value == kept
    for name, text in (("tne.1-10l", "little"), ("count-double.100-500", "30/1"), ("tne.1-10l", "-1")):
        with pytest.raises(NotAValue):
            set_rule(book, "EU", name, text, since=TODAY, source="read")
    with pytest.raises(NotASpan):
        set_rule(book, "EU", "total-so2.mead", "plenty", since=TODAY, source="read")
    with pytest.raises(NoSource):
        set_rule(book, "EU", "total-so2.mead", "200", since=TODAY, source=" ")
    with pytest.raises(NoSuchRule):
        set_rule(book, "EU", "total-so3", "200", since=TODAY, source="read")


def test_the_profile_in_use_is_dated(book: Book) -> None:
    """The cellar works by one profile from a day on; before it by the default."""
    use_profile(book, "uk", since=date(2026, 1, 1), hand="Ada")
    use_profile(book, "EU", since=date(2026, 7, 1))
    with book.reading() as connection:
        every = own_rules(connection)
        days = (date(2025, 12, 31), date(2026, 1, 1), TODAY)
        assert [profile_in_use(every, day)[0] for day in days] == [PROFILES[0], "UK", "EU"]
        assert profile_of(connection, TODAY).name == "EU"
    with pytest.raises(NoSuchProfile):
        use_profile(book, "OIV", since=TODAY)


def test_replacing_a_span_keeps_the_name(book: Book) -> None:
    """An own value holds for the same strengths, sizes or lots as what it stands beside."""
    made = set_rule(book, "EU", "tne.1-10l", "1.5", since=TODAY, source="read")
    assert replace(own_figure(made), mark=RuleMark.SEEN).span == parse_span("> 1000, <= 10000")
