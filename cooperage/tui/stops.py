"""The stops of a walk, as the screens know them; the rules are the programme's."""

from cooperage.programme.stops import ASKS, Ask, Stop, fulfilled_by, index_of_tag, next_open, stops_of

__all__ = ["ASKS", "Ask", "Stop", "fulfilled_by", "index_of_tag", "next_open", "stops_of"]
