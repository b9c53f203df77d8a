"""The terminal UI: one module a screen, on the cellar book. Start reading at `cooperage.tui.app`."""
