"""The terminal UI: a folder for each screen. Start reading at `cooperage.tui.app`."""
