"""Which blends a trial tries: by lattice, centroid, corners of the region, or D-optimal, and in which sessions."""

import numpy as np

from cooperage.blending.mixture.designs import simplex_centroid, simplex_lattice
from cooperage.blending.mixture.scheffe import scheffe_terms
from cooperage.blending.stocks.pool import Floats
from cooperage.blending.trials.region import Region
from cooperage.blending.trials.trial import CENTROID, DEGREES, LATTICE, VERTICES
from cooperage.errors import Refused
from cooperage.units import counted

MOST_A_SESSION = 8
"""The most glasses that a taster scores well at one sitting (common practice, no source)."""
MOST_GLASSES = 60


class DesignDoesNotFit(Refused):
    """A design that these stocks, bounds or numbers do not allow."""


def usual_design(region: Region) -> str:
    """Return the simplest design that fits a region."""
    return CENTROID if region.is_simplex and len(region.low) <= _MOST_IN_CENTROID else VERTICES


_MOST_IN_CENTROID = 4


def design_points(design: str, region: Region, degree: int) -> Floats:
    """Return the blends of a design once each, of shape (points, q). Raises DesignDoesNotFit, NoSuchDesign."""
    if design in (LATTICE, CENTROID) and not region.is_simplex:
        raise DesignDoesNotFit(
            f"a {design} needs every blend above the least shares; upper bounds or limits cut these: leave --design out"
        )
    count = len(region.low)
    if design == VERTICES:
        points = _corners_and_middle(region)
    else:
        simplex = simplex_lattice(count, degree) if design == LATTICE else simplex_centroid(count)
        points = region.low + (1.0 - region.low.sum()) * simplex
    check_separates(points, degree)
    return points


def _corners_and_middle(region: Region) -> Floats:
    corners = region.corners()
    return np.vstack([corners, corners.mean(axis=0)]) if len(corners) > 1 else corners


def check_separates(points: Floats, degree: int) -> None:
    """Refuse blends that cannot tell the terms of a model apart; raises DesignDoesNotFit."""
    matrix = np.column_stack(list(scheffe_terms(points, degree).values()))
    if np.linalg.matrix_rank(matrix) < matrix.shape[1]:
        blends = counted(len(np.unique(np.round(points, 9), axis=0)), "blend")
        raise DesignDoesNotFit(
            f"{blends} cannot fit a {DEGREES[degree]} model, which has {matrix.shape[1]} terms; "
            "widen the bounds, ask for another --design, or take a lower --degree"
        )


def sessions_of(points: Floats, repeats: int, sessions: int) -> list[int]:
    """Return the session, from 1, of each glass of a design poured `repeats` times, all of the first time first.

    Each time goes to a session of its own where there are so many; else glasses are dealt out in turn.
    """
    if sessions == repeats:
        return [time for time in range(1, repeats + 1) for _ in points]
    return [at % sessions + 1 for at in range(len(points) * repeats)]
