"""The figures of a vessel's page: each with its band, in lines of 80 columns."""

from typing import Any

import pytest

from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.tui.barrel.words import figure_rows
from cooperage.units import Units

_COLUMNS = 80 - 3 - 20 - 12  # what margins, label and value leave


@pytest.mark.parametrize("units", [Units(), Units(temperature="f")])
def test_molecular_so2_says_at_what_temperature_it_is(book: Any, units: Units) -> None:
    """The temperature has a row of its own, never read as it was, and its band; all of it fits a narrow terminal."""
    tag = next(standing.tag for standing in cellar_now(book).barrels if standing.ml)
    for name, value in (("free_so2_mg_l", 25.0), ("ph", 3.4)):
        book.write(acts.Reading(vessel=tag, property=name, value=value, sure=True))
    rows = {label: words for label, *words in figure_rows(cellar_now(book)[tag], units)}
    temperature, source = rows["temperature"]
    assert source.endswith("; not measured in this fill")
    molecular = rows["molecular SO2"][1]
    assert f"; at {temperature} (all bands: 90 %)" in molecular
    assert len(molecular) <= _COLUMNS
