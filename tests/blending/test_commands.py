"""`cooperage blend` over a pool file, with no cellar at all, and several bottlings poured from one."""

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import CliRunner

from cooperage.blending import solve_together
from cooperage.blending.from_cellar import pool_of
from cooperage.blending.pour.tank import Pour, StockChanged, pour_all
from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.cli import main

Command: TypeAlias = Callable[..., tuple[int, str]]

POOL = """stock,litres,abv,abv_u,sugar_g_l,cost_per_l,wood
dry,200,12,0.1,0,2,acacia
sweet,200,12,0.1,100,3,robur
strong,100,16,0.2,0,5,robur
"""
BRIEF = """litres = 100
mixing = "plain"
objective = ["least_cost"]
[limits]
sugar_g_l = { min = 30 }
"""


@pytest.fixture
def files(tmp_path: Path) -> Path:
    """Return the paths of a pool and two briefs."""
    (tmp_path / "POOL.csv").write_text(POOL, encoding="utf-8")
    (tmp_path / "table.toml").write_text(BRIEF, encoding="utf-8")
    (tmp_path / "sweet.toml").write_text(BRIEF.replace("30", "60"), encoding="utf-8")
    return tmp_path


@pytest.fixture
def cooperage(files: Path) -> Command:
    """Return a runner of `cooperage blend` on the files: (exit status, what it printed)."""

    def run(*words: str, briefs: Sequence[str] = ("table",), pool: bool = True) -> tuple[int, str]:
        named = [part for brief in briefs for part in ("--brief", str(files / f"{brief}.toml"))]
        from_pool = ["--pool", str(files / "POOL.csv")] if pool else []
        done = CliRunner().invoke(main, ["blend", *words, *named, *from_pool], standalone_mode=True)
        return done.exit_code, done.stdout + done.stderr

    return run


def test_solve_needs_no_cellar(cooperage: Command) -> None:
    """70 L of dry and 30 L of sweet: 2.3 a litre, 133 bottles of 750 ml at 1.72."""
    status, printed = cooperage("solve")
    assert status == 0
    assert "133 bottles of 750 mL, 1.72 each" in printed
    assert "one g/L less sugar allowed would save 0.01 per litre" in printed


def test_others_follow_the_best(cooperage: Command) -> None:
    """As JSON under `others`, and in words."""
    result = json.loads(cooperage("solve", "--others", "2", "--within", "40", "--json")[1])
    assert result["status"] == "optimal"
    assert len(result["others"]) >= 1
    assert all(other["objective"] <= 1.4 * result["objective"] + 1e-6 for other in result["others"])
    assert "Alternative 1:" in cooperage("solve", "--others", "2", "--within", "40")[1]


def test_two_briefs_are_one_programme(cooperage: Command) -> None:
    """Told by the names of their files; the sweet barrel gives 30 and 60 L."""
    result = json.loads(cooperage("solve", "--json", briefs=("table", "sweet"))[1])
    assert result["status"] == "optimal"
    assert list(result["bottlings"]) == ["table", "sweet"]
    sweet = [
        draw["litres"] for each in result["bottlings"].values() for draw in each["draws"] if draw["stock"] == "sweet"
    ]
    assert sum(sweet) == pytest.approx(90)
    assert "Together: best plan found" in cooperage("solve", briefs=("table", "sweet"))[1]


def test_a_trial_has_glasses_and_a_control(cooperage: Command) -> None:
    """The first plan's rows stand where scripts look for them; every glass has its code."""
    result = json.loads(cooperage("trial", "--step", "5", "--json")[1])
    assert {row["stock"]: row["millilitres"] for row in result["rows"]} == {"dry": 70.0, "sweet": 30.0}
    assert [glass["what"] for glass in result["glasses"]] == ["table", "control"]
    assert result["glasses"][0]["predicted"]["sugar_g_l"] == pytest.approx(30, abs=0.01)
    printed = cooperage("trial", "--control", "strong")[1]
    assert all(glass in printed for glass in ("table", "control", "strong"))


def test_a_glass_is_scaled_to_litres(files: Path) -> None:
    """70 and 30 ml are 140 and 60 L in 200."""
    words = ["blend", "scale", "dry=70", "sweet=30", "--litres", "200", "--pool", str(files / "POOL.csv")]
    assert json.loads(CliRunner().invoke(main, [*words, "--json"]).stdout)["draws_l"] == {"dry": 140.0, "sweet": 60.0}
    assert "140" in CliRunner().invoke(main, words).stdout


@pytest.mark.parametrize(
    ("words", "briefs", "says"),
    [
        (("solve", "--others", "2"), ("table", "sweet"), "--others is for one brief at a time"),
        (("solve",), ("table", "table"), "two briefs have the same file name"),
        (("pour", "--into", "T-1"), ("table", "sweet"), "1 --into for 2 --brief"),
        (("trial", "--control", "B-99"), ("table",), "the pool has no stock 'B-99'"),
    ],
)
def test_what_does_not_go_together_is_one_line(
    cooperage: Command,
    words: tuple[str, ...],
    briefs: tuple[str, ...],
    says: str,
    empty_cellar: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Exit status 2 and one line that says what to do."""
    monkeypatch.setenv("COOPERAGE_CELLAR", str(empty_cellar))
    status, printed = cooperage(*words, briefs=briefs, pool=words[0] != "pour")
    assert status == 2
    assert says in printed
    assert printed.count("\n") == 1


def test_a_glass_that_is_no_glass(files: Path) -> None:
    """What cannot be read is quoted."""
    done = CliRunner().invoke(main, ["blend", "scale", "dry", "--litres", "9", "--pool", str(files / "POOL.csv")])
    assert (done.exit_code, "'dry' is not STOCK=ML" in done.stderr) == (2, True)


def test_two_blends_are_poured_together_or_not_at_all(cellar_book: Book) -> None:
    """Both entries are written, in order; if anything changed since the solve, neither is."""
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=225_000))
    cellar_book.write(acts.Fill(vessel="B-2", source="T-2"))
    brief = {"litres": 100, "objective": ["least_cost"], "limits": {"abv": {"min": 12.4, "max": 12.6}}}
    before = cellar_book.cellar()
    programme = solve_together(pool_of(before, {}), {"one": brief, "two": brief})
    assert programme.status == "optimal"
    each, two = (
        Pour(answer, into, brief) for answer, into in zip(programme.bottlings.values(), ("T-2", "B-3"), strict=True)
    )
    with pytest.raises(StockChanged):
        pour_all(cellar_book, [two, each])
    assert [vessel.ml for vessel in cellar_book.cellar()] == [vessel.ml for vessel in before]
    pour_all(cellar_book, [each, two])
    after = cellar_book.cellar()
    assert after["T-2"].litres == pytest.approx(100, abs=0.005)
    assert after["B-3"].litres == pytest.approx(100, abs=0.005)
    assert not any(finding.broken for finding in cellar_book.check())


def test_shares_by_every_label_of_the_cellar(cellar_book: Book) -> None:
    """Stock, lot, group, wood, past life and fill: each can be asked for by share, from the cellar's own pool."""
    pool = pool_of(cellar_book.cellar(), {})
    place = list(pool.names).index("B-1")
    for key in ("B-1", *(f"{label}:{words[place]}" for label, words in pool.labels.items())):
        programme = solve_together(pool, {"a": {"litres": 50, "share": {key: {"min": 0.3}}}})
        assert programme.status == "optimal", key
    assert list(pool.labels) == ["group", "lot", "wood", "past_life", "fill"]
