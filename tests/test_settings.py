"""What a person chose once is kept in a small TOML file."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.errors import BadInput
from cooperage.settings import KEYS, BadSettings, Settings, load_settings, save_settings, settings_path
from cooperage.units import CHOICES, Units

TEXTS = st.text(st.characters(exclude_categories=["Cs"]))
SETTINGS = st.builds(
    Settings,
    units=st.builds(Units, **{key: st.sampled_from(choices) for key, choices in CHOICES.items()}),
    hand=TEXTS,
    theme=TEXTS,
    cellar=st.none() | TEXTS,
)


@pytest.fixture(scope="module")
def environ(tmp_path_factory):
    """Return an environment whose settings file lies in a folder that is not there yet."""
    return {"COOPERAGE_CONFIG": str(tmp_path_factory.mktemp("config") / "new" / "settings.toml")}


@pytest.fixture
def on_file(tmp_path):
    """Return a function that puts bytes on file and returns the environment that points there."""

    def write(content: bytes) -> dict[str, str]:
        path = tmp_path / "settings.toml"
        path.write_bytes(content)
        return {"COOPERAGE_CONFIG": str(path)}

    return write


def test_without_a_file_there_are_defaults(tmp_path):
    """Litres, specific gravity, degrees Celsius, a decimal point; nothing else is chosen or written."""
    path = tmp_path / "none.toml"
    defaults = Settings(Units("l", "sg", "c", "."), hand="", theme="", cellar=None)
    assert load_settings({"COOPERAGE_CONFIG": str(path)}) == defaults
    assert not path.exists()


def test_the_file_lies_in_the_users_configuration_folder(monkeypatch, tmp_path):
    """Unless the environment that is handed in says otherwise; the process's own is not looked at."""
    monkeypatch.setattr("platformdirs.user_config_dir", lambda app: str(tmp_path / app))
    monkeypatch.setenv("COOPERAGE_CONFIG", "/elsewhere")
    assert settings_path({}) == tmp_path / "cooperage" / "settings.toml"
    assert settings_path({"COOPERAGE_CONFIG": ""}) == settings_path({})


@given(settings=SETTINGS)
def test_what_is_saved_is_loaded(environ, settings):
    """Any text survives, quotes, control characters and all."""
    path = save_settings(settings, environ)
    assert load_settings(environ) == settings
    assert [file.name for file in path.parent.iterdir()] == ["settings.toml"]


def test_the_file_is_flat_toml_that_a_hand_can_edit(environ):
    """One line a key, in a fixed order; a cellar that was not chosen is not written."""
    path = save_settings(Settings(Units(volume="imp gal", decimal=","), hand="Ælf"), environ)
    assert path.read_text(encoding="utf-8").splitlines() == [
        'volume = "imp gal"',
        'gravity = "sg"',
        'temperature = "c"',
        'decimal = ","',
        'hand = "Ælf"',
        'theme = ""',
    ]


def test_every_key_may_stand_alone(on_file):
    """What is not on file keeps its default."""
    for key in KEYS:
        chosen = CHOICES[key][-1] if key in CHOICES else "some text"
        settings = load_settings(on_file(f'{key} = "{chosen}"'.encode()))
        assert getattr(settings.units if key in CHOICES else settings, key) == chosen


@pytest.mark.parametrize(
    ("content", "key", "why"),
    [
        (b'volume = "pins"', "volume", "volume cannot be 'pins'; choose one of: l | gal | imp gal"),
        (b"hand = 7", "hand", 'hand must be text in quotes: hand = "..."'),
        (
            b"[units]",
            "units",
            "there is no setting 'units'; there are volume, gravity, temperature, decimal, hand",
        ),
        (b"volume = gal", None, "is not TOML text (Invalid value"),
        (b"hand = '\xff'", None, "is not TOML text ('utf-8' codec"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(on_file, content, key, why):
    """The line names the file, the key and the way out."""
    environ = on_file(content)
    with pytest.raises(BadSettings) as refused:
        load_settings(environ)
    assert str(refused.value).startswith(f"settings {environ['COOPERAGE_CONFIG']}: {why}")
    assert "\n" not in str(refused.value)
    assert refused.value.key == key
    assert isinstance(refused.value, BadInput)


def test_a_folder_in_the_files_place_is_refused(tmp_path):
    """Neither reading nor writing ends in a traceback."""
    environ = {"COOPERAGE_CONFIG": str(tmp_path)}
    with pytest.raises(BadSettings, match="cannot be read"):
        load_settings(environ)
    with pytest.raises(BadSettings, match="cannot be written"):
        save_settings(Settings(), environ)


def test_a_refused_save_leaves_the_old_settings(environ):
    """Text that no file can hold changes nothing."""
    save_settings(Settings(hand="old"), environ)
    with pytest.raises(BadSettings, match="cannot be written"):
        save_settings(Settings(hand="\ud800"), environ)
    assert load_settings(environ).hand == "old"


def test_toml_is_what_the_standard_reader_reads(environ):
    """An independent look at the escapes: a backslash path and a quoted name."""
    path = save_settings(Settings(hand='the "boss"', cellar="C:\\cellar\x7f"), environ)
    written = tomllib.loads(path.read_text(encoding="utf-8"))
    assert (written["hand"], written["cellar"]) == ('the "boss"', "C:\\cellar\x7f")
