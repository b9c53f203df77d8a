"""What a walk came to, as the screens know it; the sums are the programme's."""

from cooperage.programme.walk_summary import WalkSummary, summarise

__all__ = ["WalkSummary", "summarise"]
