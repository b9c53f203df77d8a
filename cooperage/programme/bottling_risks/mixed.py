"""The figures of what is bottled: of one vessel as they are now, of several those of their mix by litres."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from cooperage.book import Standing
from cooperage.book.cellar import CELLAR_CELSIUS
from cooperage.programme.ageing.aged import AgedCellar
from cooperage.programme.ageing.models import AGEINGS

BAND_Z = NormalDist().inv_cdf(0.95)
"""Bands hold in 90 of 100."""


@dataclass(frozen=True, slots=True)
class Mixed:
    """One figure now: value, one standard deviation, age of its oldest reading in calendar days, and if it was read.

    Unknown, and without an age where it was never read, is None.
    """

    value: float | None
    sd: float | None
    age_days: int | None
    is_read: bool

    @property
    def band(self) -> tuple[float | None, float | None]:
        """Between what it lies in 90 of 100; None where that is not known."""
        if self.value is None or self.sd is None:
            return None, None
        return max(0.0, self.value - BAND_Z * self.sd), self.value + BAND_Z * self.sd

    def chance(self, limit: float, sign: int) -> float | None:
        """Return the chance that it is really above (`sign` 1) or below (-1) a limit; None where it is unknown."""
        if self.value is None:
            return None
        if not self.sd:
            return float(sign * (self.value - limit) > 0)
        return NormalDist().cdf(sign * (self.value - limit) / self.sd)


def mixed_figure(cellar: AgedCellar, standings: Sequence[Standing], name: str) -> Mixed:
    """Return a figure of the mix of some vessels, by litres; pH so too, which is approximate.

    Unknown where it is unknown of any. Their doubts are taken together, with what the errors have in common.
    """
    figures = [each.figure(name) for each in standings]
    ages = [figure.calendar_days for figure in figures]
    age = None if None in ages else max(day for day in ages if day is not None)
    if len(figures) == 1:
        return Mixed(figures[0].value, figures[0].uncertainty, age, figures[0].how == "read")
    values = [figure.value for figure in figures if figure.value is not None]
    if len(values) < len(figures):
        return Mixed(None, None, age, is_read=False)
    litres = [each.litres for each in standings]
    parts = [each / sum(litres) for each in litres]
    value = sum(part * each for part, each in zip(parts, values, strict=True))
    return Mixed(value, _doubt(cellar, standings, name, parts), age, is_read=False)


def _doubt(cellar: AgedCellar, standings: Sequence[Standing], name: str, parts: list[float]) -> float | None:
    """Return one standard deviation of a mean by parts (JCGM 100:2008, 5.2.2)."""
    if name not in AGEINGS:
        sds = [each.figure(name).uncertainty for each in standings]
        return None if None in sds else sum(part * sd for part, sd in zip(parts, sds, strict=True) if sd is not None)
    doubts = cellar.doubts([each.tag for each in standings], name)
    common = doubts.common
    own = doubts.sd**2 - (common**2).sum(axis=1)
    together = sum(
        float(sum(part * moved for part, moved in zip(parts, column, strict=True))) ** 2 for column in common.T
    )
    alone = sum(part**2 * float(each) for part, each in zip(parts, own, strict=True))
    return sqrt(max(0.0, alone + together))


def mixed_molecular(cellar: AgedCellar, standings: Sequence[Standing]) -> Mixed:
    """Return molecular SO2 [mg/L] of the mix at its temperature; its doubt is that of free SO2 and pH."""
    if len(standings) == 1 and isinstance(standings[0], Standing):
        figure = standings[0].molecular_figure()
        return Mixed(figure.value, figure.uncertainty, figure.calendar_days, is_read=False)
    free, ph, abv, warm = (
        mixed_figure(cellar, standings, name) for name in ("free_so2_mg_l", "ph", "abv", "temperature_c")
    )
    if free.value is None or ph.value is None or abv.value is None:
        return Mixed(None, None, free.age_days, is_read=False)
    share = _share(ph.value, abv.value, warm.value)
    by_free, by_ph = share * (free.sd or 0.0), 2.302585 * free.value * share * (ph.sd or 0.0)
    return Mixed(free.value * share, sqrt(by_free**2 + by_ph**2), free.age_days, is_read=False)


def _share(ph: float, abv: float, celsius: float | None) -> float:
    from cooperage.liquid._molecular import TEMPERATURE, molecular_share

    warm = CELLAR_CELSIUS if celsius is None else min(max(celsius, TEMPERATURE[0]), TEMPERATURE[1])
    return molecular_share(ph, min(abv, 20.0), warm)
