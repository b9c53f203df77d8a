"""What a person chose once is kept in a small TOML file."""

import json
import os
import tomllib
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from cooperage.cli import main
from cooperage.errors import BadInput
from cooperage.settings import KEYS, BadSettings, Settings, load_settings, not_read, save_settings, settings_path
from cooperage.units import CHOICES, Units

TEXTS = st.text(st.characters(exclude_categories=["Cc", "Cf", "Cs", "Zl", "Zp", "Cn"]))
SETTINGS = st.builds(
    Settings,
    units=st.builds(Units, **{key: st.sampled_from(choices) for key, choices in CHOICES.items()}),
    hand=TEXTS,
    theme=TEXTS,
    marks=TEXTS,
    cellar=st.none() | TEXTS,
)


@pytest.fixture(scope="module")
def environ(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return an environment whose settings file lies in a folder that is not there yet."""
    return {"COOPERAGE_CONFIG": str(tmp_path_factory.mktemp("config") / "new" / "settings.toml")}


@pytest.fixture
def on_file(tmp_path: Path) -> Any:
    """Return a function that puts bytes on file and returns the environment that points there."""

    def write(content: bytes) -> dict[str, str]:
        path = tmp_path / "settings.toml"
        path.write_bytes(content)
        return {"COOPERAGE_CONFIG": str(path)}

    return write


def test_without_a_file_there_are_defaults(tmp_path: Path) -> None:
    """Litres, specific gravity, degrees Celsius, a decimal point; nothing else is chosen or written."""
    path = tmp_path / "none.toml"
    defaults = Settings(Units("l", "sg", "c", "."), hand="", theme="", cellar=None)
    assert load_settings({"COOPERAGE_CONFIG": str(path)}) == defaults
    assert not path.exists()


def test_the_file_lies_in_the_users_configuration_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Unless the environment that is handed in says otherwise; the process's own is not looked at."""
    monkeypatch.setattr("platformdirs.user_config_dir", lambda app: str(tmp_path / app))
    monkeypatch.setenv("COOPERAGE_CONFIG", "/elsewhere")
    assert settings_path({}) == tmp_path / "cooperage" / "settings.toml"
    assert settings_path({"COOPERAGE_CONFIG": ""}) == settings_path({})


@given(settings=SETTINGS)
def test_what_is_saved_is_loaded(environ: Any, settings: Any) -> None:
    """Any text survives, quotes, control characters and all."""
    path = save_settings(settings, environ)
    assert load_settings(environ) == settings
    assert [file.name for file in path.parent.iterdir()] == ["settings.toml"]


def test_the_file_is_flat_toml_that_a_hand_can_edit(environ: Any) -> None:
    """One line a key, in a fixed order; a cellar that was not chosen is not written."""
    path = save_settings(Settings(Units(volume="imp gal", decimal=","), hand="Ælf"), environ)
    assert path.read_text(encoding="utf-8").splitlines() == [
        'volume = "imp gal"',
        'gravity = "sg"',
        'temperature = "c"',
        'decimal = ","',
        'hand = "Ælf"',
        'theme = ""',
        'marks = ""',
    ]


def test_comments_and_the_order_of_lines_are_kept(on_file: Any) -> None:
    """Only changed values are another text; what is usual is not added, a cellar that is not chosen is left out."""
    environ = on_file(b'# ours\nhand = "Ada"  # signs\n\ncellar = "old.db"\nvolume = \'gal\'\n')
    path = save_settings(Settings(Units(volume="L", decimal=","), hand="Ælf"), environ)
    assert path.read_text(encoding="utf-8") == ('# ours\nhand = "Ælf"  # signs\n\nvolume = "L"\ndecimal = ","\n')


@given(before=SETTINGS, after=SETTINGS, comment=st.sampled_from(["# a # b", '# hand = "x"', "", "  "]))
def test_whatever_stood_there_what_is_saved_is_read_again(before: Any, after: Any, comment: Any) -> None:
    """One save over another, with a comment between."""
    with TemporaryDirectory() as folder:
        environ = {"COOPERAGE_CONFIG": str(Path(folder) / "settings.toml")}
        path = save_settings(before, environ)
        path.write_text(f"{comment}\n{path.read_text(encoding='utf-8')}{comment}\n", encoding="utf-8")
        save_settings(after, environ)
        assert load_settings(environ) == after
        assert path.read_text(encoding="utf-8").startswith(comment)


def test_lines_that_cannot_be_kept_are_written_new(on_file: Any) -> None:
    """A text over several lines is TOML too; it is not taken for lines of its own."""
    environ = on_file(b'hand = """\nvolume = "gal"\n"""\n')
    save_settings(Settings(hand="Ada"), environ)
    assert load_settings(environ) == Settings(hand="Ada")


def test_every_key_may_stand_alone(on_file: Any) -> None:
    """What is not on file keeps its default."""
    for key in KEYS:
        chosen = CHOICES[key][-1] if key in CHOICES else "some text"
        settings = load_settings(on_file(f'{key} = "{chosen}"'.encode()))
        assert getattr(settings.units if key in CHOICES else settings, key) == chosen


@pytest.mark.parametrize(
    ("content", "key", "why"),
    [
        (b'volume = "pins"', "volume", "volume cannot be 'pins'; choose from L, gal, imp gal"),
        (b"hand = 7", "hand", 'hand must be text in quotes: hand = "..."'),
        (
            b"[units]",
            "units",
            "there is no setting 'units'; choose from volume, gravity, temperature, decimal, hand",
        ),
        (b'volum = "gal"', "volum", "there is no setting 'volum'; did you mean volume?"),
        (b'"a\\nb" = "gal"', "a\nb", "there is no setting 'a\\nb'; choose from volume"),
        (b'volume = """gal\nlons"""', "volume", "volume cannot be 'gal lons'; choose from L"),
        (
            rb'hand = "Ada\u001b[2J"',
            "hand",
            "hand holds a control character (ESC, U+001B) after 'Ada'; type it without",
        ),
        (b"volume = gal", "volume", "put the value of volume in quotes"),
        (b"volume = " + b"[" * 100_000, None, "is not TOML text (tables or lists in each other"),
        (b"hand = " + b"9" * 5000, None, "is not TOML text (Exceeds the limit"),
        (b"hand" + b".a" * 50_000 + b" = 1", None, "is not TOML text (a key of more than 32 parts"),
        (b"#" * 1_000_001, None, "is too long for a settings file"),
        (b"hand = '\xff'", None, "is not TOML text ('utf-8' codec"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(on_file: Any, content: bytes, key: str | None, why: str) -> None:
    """The line names the file, the key and the way out."""
    environ = on_file(content)
    with pytest.raises(BadSettings) as refused:
        load_settings(environ)
    assert str(refused.value).startswith(f"settings {environ['COOPERAGE_CONFIG']}: {why}")
    assert "\n" not in str(refused.value)
    assert refused.value.key == key
    assert isinstance(refused.value, BadInput)


@pytest.mark.parametrize("spelled", ["L", "l"])
def test_a_unit_may_be_written_in_capitals_or_not(on_file: Any, spelled: str) -> None:
    """Files that say `volume = "l"` from before litres were written L are read as ever."""
    units = load_settings(on_file(f'volume = "{spelled}"\ntemperature = "F"'.encode())).units
    assert (units.volume, units.temperature) == ("L", "f")


def test_a_folder_in_the_files_place_is_refused(tmp_path: Path) -> None:
    """Neither reading nor writing ends in a traceback."""
    environ = {"COOPERAGE_CONFIG": str(tmp_path)}
    with pytest.raises(BadSettings, match="cannot be read"):
        load_settings(environ)
    with pytest.raises(BadSettings, match="cannot be written"):
        save_settings(Settings(), environ)


def test_a_pipe_in_the_files_place_is_not_waited_for(tmp_path: Path) -> None:
    """It is looked at before it is opened."""
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no named pipes")
    os.mkfifo(tmp_path / "settings.toml")
    with pytest.raises(BadSettings, match="no ordinary file"):
        load_settings({"COOPERAGE_CONFIG": str(tmp_path / "settings.toml")})


def test_a_byte_order_mark_is_no_matter(on_file: Any) -> None:
    """Some editors put one before every text."""
    assert load_settings(on_file(b'\xef\xbb\xbfhand = "Maren"')).hand == "Maren"


PIECES = st.sampled_from([*KEYS, "=", '"', "'", '"""', "[", "]", "{", "}", ".", ",", "\n", "#", "\\", "gal", "1", "-"])
CONTENTS = st.lists(PIECES | st.text(max_size=3), max_size=30).map(
    lambda parts: " ".join(parts).encode("utf-8", "replace")
)


@given(content=CONTENTS | st.binary(max_size=60))
def test_whatever_is_on_file_is_settings_or_one_line(environ: Any, content: Any) -> None:
    """Any text, any bytes: never another error, never a second line."""
    path = settings_path(environ)
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content)
    try:
        load_settings(environ)
    except BadSettings as error:
        message = str(error)
    else:
        message = ""
    assert len(message.splitlines()) <= 1
    assert len(message) < 500 + len(str(path))


@pytest.fixture
def config_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Any:
    """Return the user's configuration folder, with nothing in it."""
    monkeypatch.setattr("platformdirs.user_config_dir", lambda app: str(tmp_path / app))
    monkeypatch.delenv("COOPERAGE_CONFIG", raising=False)
    (tmp_path / "cooperage").mkdir()
    return tmp_path / "cooperage"


def test_a_file_that_looks_like_settings_and_is_not_read_is_told(config_folder: Any) -> None:
    """One line names it and the file that is read; what has nothing to do with us is passed over."""
    for name in ("settings.toml", "config.toml", "Settings.toml.txt", "cellar.db", ".hidden.toml", "settings.toml.new"):
        (config_folder / name).write_text("")
    assert not_read({}) == [
        f"{config_folder / name} is not read; settings belong in settings.toml in the same folder"
        for name in ("Settings.toml.txt", "config.toml")
    ]
    assert not_read({"COOPERAGE_CONFIG": str(config_folder / "config.toml")}) == []


def test_a_file_that_is_named_and_not_there_is_told(config_folder: Any, empty_cellar: Path) -> None:
    """One line names the variable and the file; the command goes on with the usual settings."""
    path = config_folder / "mistyped.toml"
    run = CliRunner().invoke
    done = run(main, ["--cellar", str(empty_cellar), "cellar"], env={"COOPERAGE_CONFIG": str(path)})
    line = f"cooperage: COOPERAGE_CONFIG names {path}, which is not there; the usual settings are used"
    assert (done.exit_code, done.stderr.splitlines()) == (0, [line])


@pytest.mark.parametrize("name", ["COOPERAGE_CELAR", "COOPERAGE_CELLARS", "COOPERAGE_CONFIGS"])
def test_a_misspelt_variable_is_told(config_folder: Any, name: str) -> None:
    """The nearest one is named; what is set for other ends is passed over."""
    meant = "COOPERAGE_CELLAR" if "CEL" in name else "COOPERAGE_CONFIG"
    others = {"COOPERAGE_FAULTS": "all", "COOPERAGE_TEST_POSTGRES": "x", "COOPERAGE_CELLAR": "x", "HOME": "x"}
    assert not_read(others | {name: "x"}) == [f"{name} is not read; did you mean {meant}?"]


def test_it_is_told_once_a_command_and_never_among_json(config_folder: Any, empty_cellar: Path) -> None:
    """On standard error, before anything else; a script that asked for JSON gets JSON."""
    (config_folder / "config.toml").write_text('volume = "gal"')
    run = CliRunner().invoke
    done = run(main, ["--cellar", str(empty_cellar), "cellar"])
    assert (done.exit_code, done.stderr.count("config.toml is not read"), len(done.stderr.splitlines())) == (0, 1, 1)
    done = run(main, ["--cellar", str(empty_cellar), "cellar", "--json"])
    assert (done.exit_code, done.stderr, bool(json.loads(done.stdout))) == (0, "", True)


def test_a_refused_save_leaves_the_old_settings(environ: Any) -> None:
    """Text that no file can hold changes nothing."""
    save_settings(Settings(hand="old"), environ)
    with pytest.raises(BadSettings, match="hand holds half of a character"):
        save_settings(Settings(hand="\ud800"), environ)
    assert load_settings(environ).hand == "old"


def test_a_file_that_is_no_text_is_written_new(tmp_path: Path) -> None:
    """Saved over: nothing in it could be kept."""
    path = tmp_path / "settings.toml"
    path.write_bytes(b"\x92hand")
    environ = {"COOPERAGE_CONFIG": str(path)}
    save_settings(Settings(hand="Tove"), environ)
    assert load_settings(environ).hand == "Tove"


def test_toml_is_what_the_standard_reader_reads(environ: Any) -> None:
    """An independent look at the escapes: a backslash path and a quoted name."""
    path = save_settings(Settings(hand='the "boss"', cellar="C:\\cellar"), environ)
    written = tomllib.loads(path.read_text(encoding="utf-8"))
    assert (written["hand"], written["cellar"]) == ('the "boss"', "C:\\cellar")


def test_a_value_without_quotes_is_named(tmp_path: Path) -> None:
    """The line shows how it is written right."""
    path = tmp_path / "settings.toml"
    path.write_text('hand = "Ada"\nvolume = gal  # ours\n')
    with pytest.raises(BadSettings, match='put the value of volume in quotes: volume = "gal"'):
        load_settings({"COOPERAGE_CONFIG": str(path)})
