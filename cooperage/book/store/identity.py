"""Ids made by the writer, so that two books can be merged later."""

import secrets
from datetime import datetime


class IdMaker:
    """Makes ids that sort by time, laid out as a UUID version 7 (RFC 9562 §5.7) in 32 hexadecimal digits.

    The 12 bits after the version count within a millisecond, so ids from one maker never go backwards.
    """

    def __init__(self) -> None:
        self._stamp = 0

    def __call__(self, now: datetime) -> str:
        """Return a new id for the time `now` (aware)."""
        self._stamp = max(self._stamp + 1, int(now.timestamp() * 1000) << 12)
        millis, count = self._stamp >> 12, self._stamp & 0xFFF
        variant = (0b10 << 62) | secrets.randbits(62)
        return f"{millis:012x}7{count:03x}{variant:016x}"
