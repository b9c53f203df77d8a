"""Keys of the app under a dialog, which leaves no other key of the app: to read, to seek, to go, to sign."""

from typing import Any

from textual import events
from textual.app import App
from textual.screen import ModalScreen, SystemModalScreen

from cooperage.tui.keys import OVER_DIALOGS, TABLE

_DOES = {TABLE[word].key: action for word, action in OVER_DIALOGS.items()}


async def led_away(app: App[Any], key: events.Key) -> bool:
    """Do over a dialog what a key of `OVER_DIALOGS` does; return True if the key is one.

    The dialog waits as it stands. The guide and the sheet of keys bind them themselves; a box takes "?" for text.
    """
    action, screen, box = _DOES.get(key.key), app.screen, app.focused
    if action is None or not isinstance(screen, ModalScreen) or key.key in screen.active_bindings:
        return False
    if box is not None and box.check_consume_key(key.key, key.character):
        return False
    if isinstance(screen, SystemModalScreen):  # the palette holds nothing to come back to
        screen.dismiss()
        app.call_later(app.run_action, action)
    else:
        await app.run_action(action)
    return True
