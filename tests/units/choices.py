"""Choices of units for the tests."""

from hypothesis import strategies as st

from cooperage.units import CHOICES, Units

US = Units(volume="gal", gravity="brix", temperature="f")

UNITS = st.builds(Units, **{key: st.sampled_from(choices) for key, choices in CHOICES.items()})
