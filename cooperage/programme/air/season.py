"""How a room's losses go with the year: a season as it was learned, ready to be asked at any time of any year.

How it is learned is in `harmonic`, and in `first_year` until most of a year has been seen.
"""

import math
from dataclasses import dataclass
from types import ModuleType
from typing import TYPE_CHECKING, Any, overload

from cooperage.book.replay.state import DAY

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

LEAST = 0.2
"""A season of which little is known takes no more than this from the loss [multiple of the mean]."""
_TURN = 2 * math.pi / (365.25 * DAY)
_USUAL_DOUBT = 0.4  # share of the loss, while nothing at all was seen of a season (common practice, no source)


@dataclass(frozen=True, slots=True)
class Season:
    """Loss rate as a multiple of its yearly mean: 1 + cosine x cos + sine x sin of the time of year.

    Until it is known, of its mean over the time that was seen: `centre` is the mean of cos and sin over that time, and
    `spread` the covariance of level, cosine and sine, shape (3, 3), where it is known.
    """

    cosine: float = 0.0
    sine: float = 0.0
    is_known: bool = True
    centre: tuple[float, float] = (0.0, 0.0)
    spread: tuple[tuple[float, ...], ...] | None = None

    def mean(self, began: float, ended: float) -> float:
        """Return the mean multiple between two moments [seconds since 1970]."""
        multiple = self.multiple(*mean_waves(began, ended))
        return multiple if self.is_known else max(multiple, LEAST)

    @overload
    def multiple(self, cosine: float, sine: float) -> float: ...
    @overload
    def multiple(self, cosine: "Floats", sine: "Floats") -> "Floats": ...
    def multiple(self, cosine: Any, sine: Any) -> Any:
        """Return the multiple where cos and sin of the time of year have these means."""
        return 1.0 + self.cosine * (cosine - self.centre[0]) + self.sine * (sine - self.centre[1])

    def doubt(self, began: float, ended: float) -> float:
        """Return one standard deviation of the mean multiple between two moments [seconds since 1970]."""
        if self.spread is None:
            return 0.0 if self.is_known else _USUAL_DOUBT
        waves = (1.0, *mean_waves(began, ended))
        variance = sum(a * b * self.spread[i][j] for i, a in enumerate(waves) for j, b in enumerate(waves))
        return math.sqrt(max(0.0, variance))


NO_SEASON = Season()
UNKNOWN_SEASON = Season(is_known=False)


@overload
def mean_waves(began: float, ended: float) -> tuple[float, float]: ...
@overload
def mean_waves(began: "Floats", ended: "Floats", maths: ModuleType) -> tuple["Floats", "Floats"]: ...
def mean_waves(began: Any, ended: Any, maths: ModuleType = math) -> tuple[Any, Any]:
    """Return the means of cos and sin of the time of year between two moments; `maths` is NumPy for arrays of them."""
    a, b = _TURN * began, _TURN * ended
    across = b - a + (b == a) * 1e-12
    return (maths.sin(b) - maths.sin(a)) / across, (maths.cos(a) - maths.cos(b)) / across
