"""What commands share that write a file: the path is only named here, and looked at by `cooperage.outfile`."""

from pathlib import Path

import click

from cooperage.cli.shared.command import option


class NewFile(click.Path):
    """The path of a file to be written, or of a folder of files; one that is there is replaced with --force alone."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)


force_option = option("--force", is_flag=True, help="Replace a file that is there (never a cellar).")
