"""The pages themselves: short, linked, in plain words, and naming no key, command or file that is not there."""

import re
import shlex
import tomllib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from cooperage.blending.brief.brief import read_brief
from cooperage.cli import main
from cooperage.guide.pages import FOLDER, TOPICS, NoSuchTopic, guide_page, guide_pages
from cooperage.programme.walk.stop_line import NothingTyped, parse_stop_line
from cooperage.programme.walk.stops import Stop
from cooperage.settings import load_settings
from cooperage.tui.app import PAGES
from cooperage.tui.guide.screen import TOPIC_OF
from cooperage.tui.keys import TABLE, key_words

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
MOST_BYTES, MOST_COLUMNS = 8000, 76
KEYS = {key_words(key) for row in TABLE.values() for key in row.key.split(",")}
LIKE_A_KEY = re.compile(r"F\d+|(?:Ctrl|Alt|Shift)\+\S+|Esc|Enter|Tab|Space|PgUp|PgDn|Home|End|[a-z/?+*\-←→↑↓]")
topics = pytest.mark.parametrize("topic", TOPICS)
MANNERED = re.compile(
    r"\b(?:told|tells?|telling|says?|saying|said|hears?|heard|spoken|speaks?|anew|reckon\w*|nobody|somebody|drinks?|"
    r"shall|heeds?|please|error)\b|!(?!\[)",
    re.IGNORECASE,
)


def prose(text: str) -> str:
    """What a page has besides its fences."""
    return re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)


def named_keys(text: str) -> set[str]:
    """The keys that a page names: what stands in bold."""
    return {key.replace("\\", "") for key in re.findall(r"\*\*(\S+?)\*\*(?!\*)", prose(text))}


def test_every_file_is_a_page_and_every_page_a_file() -> None:
    """None is forgotten in the list."""
    assert sorted(TOPICS) == sorted(path.stem for path in FOLDER.glob("*.md"))


@topics
def test_a_page_is_short_and_has_a_title_a_sentence_and_sections(topic: str) -> None:
    """A long one would open slowly, and its examples would not fit on 80 columns."""
    page = guide_page(topic)
    assert len(page.text.encode()) < MOST_BYTES
    assert page.text.startswith(f"# {page.title}\n\n{page.about[:20]}")
    assert page.about.endswith(".")
    assert page.sections
    shown = [
        line
        for fence in fences(topic, "console")
        for line in fence.splitlines()
        if not line.startswith(("$ ", "cooperage: "))
    ]
    assert not [line for line in shown if len(line) > MOST_COLUMNS]


@topics
def test_a_page_is_in_plain_words(topic: str) -> None:
    """As on the screens."""
    assert not MANNERED.findall(prose(guide_page(topic).text))


@topics
def test_every_key_a_page_names_is_in_the_table(topic: str) -> None:
    """Bold is for keys, and for nothing else."""
    assert named_keys(guide_page(topic).text) <= KEYS


def test_every_key_the_readme_names_is_in_the_table() -> None:
    """There a key stands between backticks, as other words do; under Changes old ones are named too."""
    text = prose(README.read_text(encoding="utf-8")).split("\n## Changes")[0]
    named = {word for word in re.findall(r"`([^`\s]+)`", text) if LIKE_A_KEY.fullmatch(word)}
    assert named - {"-"} <= KEYS
    assert len(named) > 20


@topics
def test_every_link_leads_to_a_page(topic: str) -> None:
    """To one of the guide: nothing is fetched."""
    for linked in re.findall(r"\]\(([^)]*)\)", guide_page(topic).text):
        assert linked.removesuffix(".md") in TOPICS


def commands_in(text: str) -> Iterator[str]:
    """Every call of the program that a text shows, in fences and between backticks; but those it shows refused."""
    text = re.sub(r"^.*   # refused$", "", text, flags=re.MULTILINE)
    yield from re.findall(r"(?:^|\| |&& |\$ |bin/)(cooperage(?: [^\n`#|&]+)?)", text, re.MULTILINE)
    yield from re.findall(r"`(cooperage [^`]+)`", " ".join(text.split()))


def is_a_command(call: str) -> bool:
    """Return True if the words of a call lead to a command, and all its options are that command's."""
    words = shlex.split(call)[1:]
    context = click.Context(main, info_name="cooperage")
    command: click.Command | None = main
    options = {"--help"}
    while isinstance(command, click.Group):
        options |= _options_of(command)
        words = words[2:] if words[:1] == ["--cellar"] else words
        if not words or words[0].startswith("-"):
            break
        command = command.get_command(context, words.pop(0))
    if command is None:
        return False
    return {word for word in words if re.match("--[a-z]", word)} <= options | _options_of(command)


def _options_of(command: click.Command) -> set[str]:
    return {name for each in command.params for name in each.opts}


@pytest.mark.parametrize("path", [README, *(guide_page(topic).file for topic in TOPICS)], ids=lambda path: path.stem)
def test_every_command_that_is_named_exists_with_its_options(path: Path) -> None:
    """Those too that no example runs."""
    text = path.read_text(encoding="utf-8").split("\n## Changes")[0].replace("...", "")
    assert not [call for call in commands_in(text) if not is_a_command(call)]


def test_a_command_that_does_not_exist_is_found() -> None:
    """And so is an option."""
    assert list(commands_in("see `cooperage walk\n--now`")) == ["cooperage walk --now"]
    assert not is_a_command("cooperage walk")
    assert not is_a_command("cooperage rounds --tomorrow")
    assert is_a_command("cooperage --cellar new.db log top B-001 --from K-01")


def fences(topic: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", guide_page(topic).text, re.MULTILINE | re.DOTALL)


def test_the_briefs_and_settings_that_are_shown_are_read(tmp_path: Path) -> None:
    """By what reads them from a file."""
    (brief,) = fences("blend", "toml")
    assert read_brief(tomllib.loads(brief)).draws.never == ("B-028",)
    (settings,) = fences("units", "toml")
    path = tmp_path / "settings.toml"
    path.write_text(settings, encoding="utf-8")
    read = load_settings({"COOPERAGE_CONFIG": str(path)})
    assert (read.hand, read.units.volume, read.theme) == ("Maren", "gal", "light")


def lines_of_a_stop() -> list[str]:
    """What the guide's page on the walk and the README give as lines to be typed at a stop."""
    walk = guide_page("walk").text.partition("## The line")[2].partition("While nothing is typed")[0]
    readme = README.read_text(encoding="utf-8").partition("in the same line:")[2].partition("hold from there on")[0]
    return re.findall(r"`([^`]+)`", walk + readme)


@pytest.mark.parametrize("line", lines_of_a_stop())
def test_every_line_for_a_stop_is_understood(line: str) -> None:
    """By the parser of the rounds; one that holds only a time stands beside something that was done."""
    now = datetime(2026, 11, 26, 8, tzinfo=UTC)
    stop = Stop("B-041", ("Loft", "A", 1, 1))
    try:
        parse_stop_line(stop, line, {"from": "K-05"}, now)
    except NothingTyped:
        assert parse_stop_line(stop, f"weeping; {line}", {"from": "K-05"}, now).acts


def test_every_screen_has_its_page() -> None:
    """F1 opens it there."""
    assert TOPIC_OF.keys() == {page.name for page in PAGES}
    assert set(TOPIC_OF.values()) <= set(TOPICS)


def test_the_command_lists_and_prints_the_pages() -> None:
    """A topic in any case, its words with spaces or hyphens; a misspelt one is answered with the nearest."""
    listed = CliRunner().invoke(main, ["guide"])
    assert all(page.topic in listed.output and page.title in listed.output for page in guide_pages())
    assert CliRunner().invoke(main, ["guide", "First", "day"]).output == guide_page("first-day").shown
    missed = CliRunner().invoke(main, ["guide", "wlak"])
    assert (missed.exit_code, "did you mean walk" in missed.output) == (2, True)
    with pytest.raises(NoSuchTopic, match="choose from first-day, morning"):
        guide_page("nothing like it")


def test_a_terminal_gets_the_page_set_and_without_marks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paragraphs are filled, keys have no asterisks, and no control character is written."""
    from cooperage.cli.look.guide import _set_for_a_terminal

    shown = _set_for_a_terminal(guide_page("walk").text)
    assert "**" not in shown
    assert "\x1b" not in shown
    assert "F3" in shown
    assert "A walk" in shown
