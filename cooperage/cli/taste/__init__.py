"""`cooperage taste`: flights poured blind, scored by each taster alone, revealed at the end; and the words for it.

Each file has commands of its own, over what `shown` prints of a flight. Start with `flights`.
"""

from cooperage.cli.shared.command import CommandGroup
from cooperage.cli.taste.carried import carry_over_command
from cooperage.cli.taste.closing import judge_command, peek_command, results_command, reveal_command
from cooperage.cli.taste.difference import difference_command
from cooperage.cli.taste.flights import flights_command, leave_command
from cooperage.cli.taste.scores import score_command, sheet_command
from cooperage.cli.taste.start import start_command
from cooperage.cli.taste.tasters import tasters_command
from cooperage.cli.taste.words import words_command

taste_command = CommandGroup(
    "taste",
    help="Pour blind flights, record scores, reveal them.",
    commands=[
        *(flights_command, start_command, sheet_command, score_command, peek_command, reveal_command, judge_command),
        *(results_command, leave_command, words_command),
        *(carry_over_command, difference_command, tasters_command),
    ],
    examples=("cooperage taste results F-4",),
)
