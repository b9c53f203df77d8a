"""What the law asks, by profile: figures with their sources and dates, and what a cellar has entered itself.

May know `book` and `units`. Start reading in `profile.py`, which gives the figure that holds on a day; `figures.csv`
has every figure that is shipped, `kept.py` the cellar's own. A reference, never advice: check with your authority.
"""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.programme.rules.figure import RuleFigure as RuleFigure
    from cooperage.programme.rules.figure import RuleUnknown as RuleUnknown
    from cooperage.programme.rules.profile import Profile as Profile
    from cooperage.programme.rules.profile import profile_of as profile_of
    from cooperage.programme.rules.rounding import return_volume as return_volume
    from cooperage.programme.rules.strength import tax_class as tax_class
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "figure": ("RuleFigure", "RuleUnknown"),
            "profile": ("Profile", "profile_of"),
            "rounding": ("return_volume",),
            "strength": ("tax_class",),
        },
    )
