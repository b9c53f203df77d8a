"""A scanner types a tag and Enter faster than any hand: it lands or is refused where it was typed."""

from itertools import cycle
from typing import Any, cast

import pytest
from textual.screen import ModalScreen
from textual.widgets import Input

from cooperage.book import Book, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.fields import Holds
from cooperage.tui.app import PAGES
from cooperage.tui.bottling.open_form import OpenForm
from cooperage.tui.forms.import_form import ImportForm
from cooperage.tui.forms.papers import SaveForm, SpanForm
from cooperage.tui.forms.path_dialog import PathDialog
from cooperage.tui.forms.ready_form import ReadyForm
from cooperage.tui.forms.register_form import LotForm, VesselForm
from cooperage.tui.forms.settings_forms import FactsForm, SettingsForm
from cooperage.tui.forms.upkeep_form import UpkeepForm
from cooperage.tui.racks.shift_form import ShiftForm
from cooperage.tui.rounds.sheet_forms import When
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.bars import FindBox, StatusLine
from cooperage.tui.shared.dialogs import Confirm, Pick
from cooperage.tui.shared.field_list import FieldList
from cooperage.tui.shared.fields import FieldRow
from cooperage.tui.tasting.new_flight import NewFlight
from tests.examples import crossed

pytestmark = [pytest.mark.scanned, pytest.mark.slow, pytest.mark.usefixtures("scanner")]


def field(pilot: Any, name: str) -> Any:
    return cast(FieldRow, cast(Any, pilot.app.screen).rows[name])


async def pause(monkeypatch: pytest.MonkeyPatch, pilot: Any) -> None:
    """Let the next key be a hand's."""
    pilot.app._typed._burst.last = float("-inf")
    pilot.app._typed._burst.letters = []


async def test_a_scan_goes_to_its_barrel_and_the_next_replaces_a_refused_one(opened: Any, press: Any) -> None:
    """Right, wrong, right in one burst: the wrong one is refused and gone, never part of the next."""
    async with opened(page="racks") as pilot:
        await press(pilot, "B-009", "enter", "B-777", "enter", "B-003", "enter")
        assert pilot.app.desk.tag == "B-003"
        assert pilot.app.screen.query_one(FindBox).value == ""


async def test_a_tag_in_small_letters_starts_no_act(opened: Any, press: Any, book: Book, newest: Any) -> None:
    """Where letters act, the burst waits for its end: k does not rack, and the vessel is found."""
    with book.writing() as w:
        w.add_vessel(Vessel(id="", tag="keg-77", kind="keg", capacity_ml=20_000))
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, *"keg-77", "enter")
        assert pilot.app.desk.tag == "keg-77"
        assert not isinstance(pilot.app.screen, ActForm)
    assert newest()[0].id == before


async def test_carriage_return_and_line_feed_are_one_enter(opened: Any, press: Any) -> None:
    """The second does not act on the page that the scan has opened."""
    async with opened(page="racks") as pilot:
        await press(pilot, "B-009", "enter", "ctrl+j")
        assert pilot.app.current_mode == "barrel"
        assert pilot.app.desk.tag == "B-009"


async def test_a_scan_into_a_form_lands_in_a_tag_field_and_writes_nothing(opened: Any, press: Any, newest: Any) -> None:
    """The keg is scanned into its field; the Enter of the scanner goes on to the next field instead of writing."""
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, "t")
        await pause(pytest.MonkeyPatch(), pilot)
        field(pilot, "volume").set_text("1.5")
        field(pilot, "from").set_text("")
        field(pilot, "from").take_focus()
        await press(pilot, "K-02", "enter")
        assert isinstance(pilot.app.screen, ActForm)
        assert (field(pilot, "from").text, field(pilot, "volume").text) == ("K-02", "1.5")
    assert newest()[0].id == before


async def test_a_scan_into_another_field_is_refused_there_and_what_stood_stays(
    opened: Any, press: Any, newest: Any
) -> None:
    """A tag is no volume: it is lifted out again."""
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, "t")
        field(pilot, "volume").set_text("1.5")
        field(pilot, "volume").take_focus()
        box = pilot.app.focused
        assert isinstance(box, Input)
        box.cursor_position = 3
        await pause(pytest.MonkeyPatch(), pilot)
        await press(pilot, "B-003", "enter")
        assert field(pilot, "volume").text == "1.5"
        assert "B-003 was scanned" in field(pilot, "volume").complaint
    assert newest()[0].id == before


async def test_a_scan_in_the_palette_closes_it_and_goes_there(opened: Any, press: Any) -> None:
    """Whatever the palette has found by then."""
    async with opened(page="racks") as pilot:
        await press(pilot, "ctrl+p")
        await pause(pytest.MonkeyPatch(), pilot)
        await press(pilot, "B-009", "enter")
        assert pilot.app.desk.tag == "B-009"
        assert pilot.app.current_mode == "barrel"


async def test_words_typed_fast_are_no_scan(opened: Any, press: Any) -> None:
    """What does not look like a tag stays where it was typed."""
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "whiskey", "enter")
        assert "1 of 15 vessels" in str(pilot.app.screen.query_one("#count").render())
        assert not str(pilot.app.screen.query_one(StatusLine).render()).strip()


# --- on every page, and in every kind of dialog ---------------------------------------------------------------------

ENDS = {"CR": ("enter",), "LF": ("ctrl+j",), "CR LF": ("enter", "ctrl+j"), "Tab": ("tab",)}
ends = pytest.mark.parametrize("end", ENDS.values(), ids=list(ENDS))
RIGHT, WRONG, NEXT = "B-009", "B-777", "B-003"


@pytest.mark.parametrize(("page", "end"), crossed([page.name for page in PAGES], [*ENDS.values()]))
async def test_a_burst_on_a_page_lands_at_its_last_vessel(
    opened: Any, press: Any, newest: Any, page: Any, end: Any, blending: Any
) -> None:
    """Right, wrong, right: the wrong one is refused in the line, and the next takes its place; nothing is written."""
    before = newest()[0].id
    async with opened(page=page) as pilot:
        await press(pilot, WRONG, *end)
        assert f"'{WRONG}'" in str(pilot.app.screen.query_one(StatusLine).render()) or page == "rounds"
        assert pilot.app.current_mode == page
        await press(pilot, NEXT, *end)
        await press(pilot, RIGHT, *end, WRONG, *end, NEXT, *end)
        assert not isinstance(pilot.app.screen, ModalScreen)
        assert pilot.app.desk.tag == NEXT or page in ("rounds", "blend", "recall")  # they have a place of their own
        assert page != "recall" or pilot.app.screen.asked.question.code == NEXT
        assert all(WRONG not in box.value for box in pilot.app.screen.query(Input))
    assert newest()[0].id == before


def forms(desk: Any, folder: Any) -> dict[str, Any]:
    """Each kind of dialog with boxes to type into."""
    standing = desk.cellar["B-001"]
    return {
        **{kind: ActForm(acts.KINDS[kind], {}) for kind in ("top", "rack", "reading", "receive", "bottle")},
        "shift": ShiftForm(standing),
        "upkeep": UpkeepForm(standing),
        "vessel": VesselForm(),
        "lot": LotForm(),
        "settings": SettingsForm(),
        "facts": FactsForm(),
        "ready": ReadyForm(),
        "import": ImportForm(),
        "span": SpanForm("book"),
        "save": SaveForm("stock", str(folder / "stock.txt"), {".txt": lambda: b"stock"}),
        "brief": PathDialog("Open a brief", str(folder / "brief.toml"), "a TOML file"),
        "when": When("When was it?"),
        "flight": NewFlight(),
        "run": OpenForm({}),
    }


FORMS = (
    "top", "rack", "reading", "receive", "bottle", "shift", "upkeep", "vessel", "lot", "settings", "facts", "import",
    "ready", "span", "save", "brief", "when", "flight", "run",
)  # fmt: skip


def places(dialog: Any) -> list[tuple[Input, FieldRow | None]]:
    """Where typing may go in a dialog: each box, and in a list of fields each field."""
    boxes = [box for box in dialog.query(Input) if box.can_focus and box.display and not box.disabled]
    return [(box, row) for box in boxes for row in (box.shown if isinstance(box, FieldList) else [None])]


def put(dialog: Any, box: Input, row: FieldRow | None) -> None:
    """Let typing go there."""
    dialog.set_focus(box)
    if row is not None:
        row.take_focus()


def answer(box: Input, row: FieldRow | None) -> str:
    """What stands there."""
    return box.value if row is None else row.typed


def asks_for_scans(form: str, row: FieldRow) -> bool:
    """Whether a field takes a scan: any that asks for a vessel or a lot, and the name of a new one."""
    is_new = (form, row.field.name) in (("lot", "code"), ("vessel", "tag"))
    return is_new or row.field.holds in (Holds.TAG, Holds.PLACE, Holds.LOT)


@pytest.mark.parametrize("name", FORMS)
async def test_a_burst_into_each_box_of_a_dialog_lands_or_is_refused_there(
    opened: Any, press: Any, newest: Any, name: Any, tmp_path: Any
) -> None:
    """A box for a tag has the last right one; in any other what stood stays. The dialog stays, nothing is written.

    The endings take turns from box to box.
    """
    before = newest()[0].id
    async with opened(page="book") as pilot:
        dialog = forms(pilot.app.desk, tmp_path)[name]
        pilot.app.push_screen(dialog)
        await press(pilot)
        for (box, row), end in zip(places(dialog), cycle(ENDS.values()), strict=False):
            takes = box.id == "tag" if row is None else asks_for_scans(name, row)
            for scanned in (RIGHT, WRONG, NEXT) if takes else (RIGHT,):
                put(dialog, box, row)
                await press(pilot)
                stood = answer(box, row)
                await pause(pytest.MonkeyPatch(), pilot)
                await press(pilot, scanned, *end)
                assert pilot.app.screen is dialog, (row and row.field.name, box)
                assert takes or answer(box, row) == stood, (row and row.field.name, answer(box, row))
            if takes and row is not None:
                assert answer(box, row) == NEXT
        assert not list(tmp_path.glob("*.t*"))
    assert newest()[0].id == before


@ends
async def test_a_burst_in_a_list_chooses_or_is_refused(opened: Any, press: Any, end: Any) -> None:
    """A wrong tag is named and gone; the next chooses its line."""
    async with opened(page="book") as pilot:
        chosen: list[Any] = []
        pilot.app.push_screen(Pick("Which vessel?", [(tag, f"{tag} barrel") for tag in (RIGHT, NEXT)]), chosen.append)
        await press(pilot, WRONG, *end)
        assert "no line has" in str(pilot.app.screen.query_one("#typed").render())
        await press(pilot, NEXT, *end)
        assert chosen == [NEXT]


@ends
async def test_a_burst_answers_no_question(opened: Any, press: Any, end: Any) -> None:
    """Only + and - as a hand types them do: the hyphen of a tag is no answer."""
    async with opened(page="book") as pilot:
        answers: list[Any] = []
        pilot.app.push_screen(Confirm("Is it so?"), answers.append)
        await press(pilot, RIGHT, *end, WRONG, *end, NEXT, *end)
        assert not answers
        assert isinstance(pilot.app.screen, Confirm)
