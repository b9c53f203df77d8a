"""The one door where text becomes quantities and times, and where they become text again.

Inside the house each quantity has one canonical unit (see `Quantity`). Volumes are whole millilitres, exact; what
instruments read is float. May know `liquid`. Start reading in `scales.py`, where every unit is declared; `reading.py`
and `showing.py` go in and out, `times.py` does the same for dates and times.
"""

from cooperage.units.chosen import DEFAULT as DEFAULT
from cooperage.units.chosen import Units as Units
from cooperage.units.chosen import UnknownChoice as UnknownChoice
from cooperage.units.currencies import MINOR_UNITS as MINOR_UNITS
from cooperage.units.currencies import decimals_of as decimals_of
from cooperage.units.reading import NotAQuantity as NotAQuantity
from cooperage.units.reading import read as read
from cooperage.units.reading import read_bottles as read_bottles
from cooperage.units.reading import read_spread as read_spread
from cooperage.units.reading import read_volume as read_volume
from cooperage.units.scales import BOTTLE_ML as BOTTLE_ML
from cooperage.units.scales import CHOICES as CHOICES
from cooperage.units.scales import IMPERIAL_GALLON_ML as IMPERIAL_GALLON_ML
from cooperage.units.scales import INCH_MM as INCH_MM
from cooperage.units.scales import POUND_G as POUND_G
from cooperage.units.scales import US_GALLON_ML as US_GALLON_ML
from cooperage.units.scales import Quantity as Quantity
from cooperage.units.showing import counted as counted
from cooperage.units.showing import digits_kept as digits_kept
from cooperage.units.showing import show as show
from cooperage.units.showing import show_at_length as show_at_length
from cooperage.units.showing import show_band as show_band
from cooperage.units.showing import show_exact as show_exact
from cooperage.units.showing import show_short as show_short
from cooperage.units.showing import show_signed as show_signed
from cooperage.units.showing import show_spread as show_spread
from cooperage.units.showing import show_steps as show_steps
from cooperage.units.showing import show_trimmed as show_trimmed
from cooperage.units.showing import show_worth as show_worth
from cooperage.units.showing import steps_shown as steps_shown
from cooperage.units.showing import unit_written as unit_written
from cooperage.units.showing import volume_unit as volume_unit
from cooperage.units.times import ALWAYS as ALWAYS
from cooperage.units.times import WHENS as WHENS
from cooperage.units.times import EndsTooSoon as EndsTooSoon
from cooperage.units.times import NotADay as NotADay
from cooperage.units.times import NotATime as NotATime
from cooperage.units.times import Span as Span
from cooperage.units.times import ago_words as ago_words
from cooperage.units.times import calendar_days as calendar_days
from cooperage.units.times import local_day as local_day
from cooperage.units.times import midnight as midnight
from cooperage.units.times import next_month as next_month
from cooperage.units.times import read_day as read_day
from cooperage.units.times import read_span as read_span
from cooperage.units.times import read_when as read_when
from cooperage.units.times import show_ago as show_ago
from cooperage.units.times import show_clock as show_clock
from cooperage.units.times import show_date as show_date
from cooperage.units.times import show_day as show_day
from cooperage.units.times import show_moment as show_moment
from cooperage.units.times import show_month as show_month
from cooperage.units.times import show_span as show_span
from cooperage.units.times import show_when as show_when
from cooperage.units.times import show_zone as show_zone
