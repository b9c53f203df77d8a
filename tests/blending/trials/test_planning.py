"""How many blends and sessions a trial may have: what is asked for is given, or the bound is shown."""

import numpy as np
import pytest

from cooperage.blending.mixture.region import Region
from cooperage.blending.trials.design import DesignDoesNotFit, design_points, sessions_of
from cooperage.blending.trials.trial import D_OPTIMAL


def test_as_many_different_blends_as_are_asked_for() -> None:
    """Each once; more than there are, or too few for the model, are refused with how many there are."""
    region = Region.whole(3)
    for wanted in (6, 7, 10):
        points = design_points(D_OPTIMAL, region, 2, wanted)
        assert len(np.unique(np.round(points, 9), axis=0)) == len(points) == wanted
    for wanted in (40, 11, 5, 0, -1):
        with pytest.raises(DesignDoesNotFit, match=f"takes 6 different blends, .* there are 10 to try, not {wanted};"):
            design_points(D_OPTIMAL, region, 2, wanted)


@pytest.mark.parametrize("sessions", [0, -1, 3, 99])
def test_sessions_have_one_bound(sessions: int) -> None:
    """From one to as many as leave the model its terms: seven glasses, six terms."""
    points = design_points("centroid", Region.whole(3), 2)
    assert sorted(set(sessions_of(points, 2, 2))) == [1, 2]
    with pytest.raises(DesignDoesNotFit, match=f"7 glasses make 1 to 2 sessions.*, not {sessions};"):
        sessions_of(points, 2, sessions)
