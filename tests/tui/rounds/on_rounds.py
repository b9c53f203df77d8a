"""What tests read off the page of the rounds."""

from typing import Any

from textual.pilot import Pilot

from cooperage.tui.rounds.walk_line import WalkLine
from cooperage.tui.shared.bars import StatusLine


def shown(pilot: Pilot[Any], selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


def said(pilot: Pilot[Any]) -> str:
    return shown(pilot, StatusLine)


def line(pilot: Pilot[Any]) -> WalkLine:
    return pilot.app.screen.query_one(WalkLine)


def here(pilot: Pilot[Any]) -> str:
    """The tag before the line."""
    return shown(pilot, "#prompt").split(" ")[0]
