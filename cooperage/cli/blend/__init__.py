"""`cooperage blend`: solve briefs over a pool file or the cellar, scale them to the bench and back, pour them.

Each file has a command of its own, over what `given` reads and in what `words` prints. Start with `solve`.
"""

from cooperage.cli.blend.pour import pour_command
from cooperage.cli.blend.solve import solve_command
from cooperage.cli.blend.trial import scale_command, trial_command
from cooperage.cli.shared.command import CommandGroup

blend_command = CommandGroup(
    "blend",
    help="Compose a blend from the stocks at hand.",
    commands=[solve_command, trial_command, scale_command, pour_command],
    examples=("cooperage blend solve --brief demo_cellar/briefs/winter_bottling.toml",),
)
