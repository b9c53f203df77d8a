"""What commands share that write a file: the path is only named here, and looked at by `cooperage.outfile`."""

from pathlib import Path

import click


class NewFile(click.Path):
    """The path of a file to be written, or of a folder of files; one that is there is replaced with --force alone."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)


force_option = click.option("--force", is_flag=True, help="Replace what is there (a cellar never).")
