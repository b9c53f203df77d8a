"""Briefs on file."""

from pathlib import Path

import pytest

from cooperage.blending.brief.brief import BadBrief, BriefFileUnusable, load_brief
from cooperage.blending.brief.saved import save_brief
from cooperage.outfile import NotWritten, ThereAlready
from cooperage.resources import demo_folder

BRIEF = {
    "litres": {"min": 390, "max": 410.5},
    "mixing": "liquid",
    "objective": ["least_cost", "highest:score"],
    "limits": {"abv": {"min": 13.4}, "sugar_g_l": {"target": 60, "within": 2}},
    "share": {"group:new oak": {"max": 0.3}, 'a "quoted" one': {"min": 0.1}},
    "draws": {"whole": False, "max_stocks": 6, "must": ["B-003"]},
}


def test_a_brief_that_was_saved_is_read_back(tmp_path: Path) -> None:
    """Every kind of value there is in a brief, group names with blanks and quotes among them."""
    save_brief(tmp_path / "brief.toml", BRIEF)
    assert load_brief(tmp_path / "brief.toml") == BRIEF


@pytest.mark.parametrize("path", sorted((demo_folder() / "briefs").glob("*.toml")), ids=lambda path: path.stem)
def test_the_demo_s_briefs_survive_saving(path: Path, tmp_path: Path) -> None:
    """Read, written and read again, each is the same."""
    brief = load_brief(path)
    save_brief(tmp_path / path.name, brief)
    assert load_brief(tmp_path / path.name) == brief


def test_a_file_that_is_no_brief_gets_one_clear_line(tmp_path: Path) -> None:
    """Not there, not TOML, a key that is none, a folder that is none: each names what is wrong."""
    (tmp_path / "torn.toml").write_text("litres = [")
    (tmp_path / "odd.toml").write_text("litres = 4\ncolour = 'gold'")
    with pytest.raises(BriefFileUnusable, match="cannot be read: no such file"):
        load_brief(tmp_path / "none.toml")
    with pytest.raises(BriefFileUnusable, match="is not a TOML file"):
        load_brief(tmp_path / "torn.toml")
    with pytest.raises(BadBrief, match="colour"):
        load_brief(tmp_path / "odd.toml")
    with pytest.raises(NotWritten, match="cannot be written"):
        save_brief(tmp_path / "odd.toml" / "brief.toml", BRIEF)


def test_a_brief_is_replaced_only_when_asked(tmp_path: Path) -> None:
    """A file that is there stays, whatever it is, until its owner says otherwise."""
    (tmp_path / "brief.toml").write_text("litres = 4")
    with pytest.raises(ThereAlready):
        save_brief(tmp_path / "brief.toml", BRIEF)
    assert load_brief(tmp_path / "brief.toml") == {"litres": 4}
    save_brief(tmp_path / "brief.toml", BRIEF, force=True)
    assert load_brief(tmp_path / "brief.toml") == BRIEF
