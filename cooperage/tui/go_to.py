"""The list of screens, for terminals that keep the function keys to themselves."""

from cooperage.tui.shared.desk import Page
from cooperage.tui.shared.dialogs import Pick


class GoTo(Pick):
    """Choose a screen by its digit or letter, or with the arrows."""

    def __init__(self, pages: tuple[Page, ...], current: str) -> None:
        super().__init__("Go to", [(page.name, f"{page.letter}  {page.name}") for page in pages], current)
        for page in pages:
            self._bindings.bind(page.letter, f"dismiss('{page.name}')", page.name, show=False)
