"""What can hurt somebody is never written from the command line without its caution."""

from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import Work
from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


HARMLESS = {"sniff", "rinse", "stir", "fine", "filter", "sterile filter", "repair", "inspect", "taste"}
"""What hurts nobody by itself; what the vessel holds or held may."""
DANGEROUS = [name for name in TREATMENTS if cautions(Work("treat", treatment=name))]
HARMLESS_SUBSTANCES = {"sorbate", "tartaric acid", "citric acid", "bentonite", "tannin", "nutrient", "water"}


@pytest.fixture
def small(demo: "Cooperage") -> Any:
    """The demo with two empty barrels more: one that held wine, one that held spirit."""
    for tag, kind in (("X-1", "wine"), ("X-2", "spirit")):
        demo.run("add", "vessel", tag, "--capacity", "225 L", "--past-kind", kind, "--past-life", kind)
    return demo


def test_what_is_dangerous_is_declared_so() -> None:
    """Whatever is not named here as harmless has its caution, treatments and substances alike."""
    assert set(DANGEROUS) == set(TREATMENTS) - HARMLESS
    dosed = {
        name: Work("addition", substances=(name,), sweetens=bool(SUBSTANCES[name].sugar_g_l)) for name in SUBSTANCES
    }
    assert {name for name, work in dosed.items() if cautions(work)} == set(SUBSTANCES) - HARMLESS_SUBSTANCES


@pytest.mark.parametrize("treatment", DANGEROUS)
def test_every_dangerous_treatment_tells_its_caution(small: Any, treatment: Any) -> None:
    """On standard error, beside what was written."""
    tag = "X-1" if TREATMENTS[treatment].of_empty else "B-041"
    done = small.run("log", "treat", tag, treatment, "--sure")
    assert done.exit_code == 0, done.stderr
    assert all(each.text in done.stderr for each in cautions(Work("treat", treatment=treatment)) if not each.seen)
    assert "local rules" in done.stderr or "licensed practice" in done.stderr


def test_a_shift_tells_how_heavy_it_is(demo: "Cooperage") -> None:
    """Lifting is the one danger without a chemical in it."""
    done = demo.run("log", "shift", "B-042", "--room", "Low")
    assert done.exit_code == 0
    assert "B-042 holds 110.0 L, far too heavy for hands" in done.stderr


def test_a_place_that_is_taken_is_asked_back(demo: "Cooperage") -> None:
    """As on the racks: two barrels in one place is a slip, unless the other is about to be carried away."""
    place = ("--room", "Low", "--row", "A", "--bay", "5", "--tier", "1")
    status, line = demo.refuses("log", "shift", "B-041", *place)
    assert (status, "B-009 stands there by the book" in line) == (1, True)
    assert demo.run("log", "shift", "B-009", *place).exit_code == 0
    assert demo.run("log", "shift", "B-041", *place, "--sure").exit_code == 0


def test_a_flame_near_spirit_is_asked_back_with_the_reason(small: Any) -> None:
    """Refused until somebody says that they are sure, and the line says why; wine leaves no such vapour."""
    status, line = small.refuses("log", "treat", "X-2", "sulphur wick")
    assert (status, "X-2 held spirit" in line, "vapour can explode" in line) == (1, True, True)
    assert "repeat the command with --sure" in line
    assert small.run("log", "treat", "X-1", "sulphur wick").exit_code == 0


def test_a_past_of_which_nobody_noted_the_kind_is_not_called_spirit(demo: "Cooperage") -> None:
    """A barrel that held wine is cautioned about only because its kind is not known, and the words say so."""
    demo.run("add", "vessel", "X-3", "--capacity", "225 L", "--past-life", "red wine")
    result = demo.run("label", "X-3").stdout
    assert "X-3 held red wine, not noted whether that is spirit" in result
