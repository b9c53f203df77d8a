"""`--profile`: whose rules are asked, for every command that has it."""

from cooperage.cli.shared.command import option
from cooperage.cli.shared.complete import one_of
from cooperage.programme.rules.shipped import PROFILES

profile_option = option(
    "--profile",
    metavar="PROFILE",
    shell_complete=one_of(lambda: PROFILES),
    help=f"Whose rules, {', '.join(PROFILES)} (default: those the cellar works by).",
)
