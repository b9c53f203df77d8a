"""Which blends a trial tries: by lattice, centroid, corners of the region, or D-optimal, and in which sessions."""

import numpy as np

from cooperage.blending.mixture.candidates import candidate_points
from cooperage.blending.mixture.d_optimal import allocate, d_optimal
from cooperage.blending.mixture.designs import simplex_centroid, simplex_lattice
from cooperage.blending.mixture.region import Region
from cooperage.blending.mixture.terms import model_matrix
from cooperage.blending.stocks.pool import Floats
from cooperage.blending.trials.region import is_simplex
from cooperage.blending.trials.trial import CENTROID, D_OPTIMAL, DEGREES, LATTICE, VERTICES
from cooperage.errors import Refused
from cooperage.units import counted

MOST_A_SESSION = 8
"""The most glasses that a taster scores well at one sitting (common practice, no source)."""
MOST_GLASSES = 60
_BEYOND_THE_MODEL = 3
"""Blends of a D-optimal design that check the model, where no number is given (common practice, no source)."""
_MOST_IN_CENTROID = 4


class DesignDoesNotFit(Refused):
    """A design that these stocks, bounds or numbers do not allow."""


def usual_design(region: Region, blends: int | None = None) -> str:
    """Return the simplest design that fits a region; where a number of `blends` is wanted, the one that takes it."""
    fits = blends is None and is_simplex(region) and region.components <= _MOST_IN_CENTROID
    return CENTROID if fits else D_OPTIMAL


def design_points(design: str, region: Region, degree: int, blends: int | None = None) -> Floats:
    """Return the blends of a design once each, of shape (points, q); only a D-optimal one takes a number of `blends`.

    Raises DesignDoesNotFit, NoSuchDesign.
    """
    if design == D_OPTIMAL:
        return _d_optimal(region, degree, blends)
    if blends is not None:
        raise DesignDoesNotFit(f"a {design} has as many blends as it has; ask for {D_OPTIMAL} to choose how many")
    if design in (LATTICE, CENTROID) and not is_simplex(region):
        raise DesignDoesNotFit(
            f"a {design} needs every blend above the least shares; upper bounds or limits cut these: leave --design out"
        )
    points = _corners_and_middle(region) if design == VERTICES else _simplex_points(design, region, degree)
    check_separates(points, degree)
    return points


def _simplex_points(design: str, region: Region, degree: int) -> Floats:
    count = region.components
    simplex = simplex_lattice(count, degree) if design == LATTICE else simplex_centroid(count)
    points: Floats = region.lower + (1.0 - region.lower.sum()) * simplex
    return points


def _corners_and_middle(region: Region) -> Floats:
    corners = region.vertices()
    return np.vstack([corners, corners.mean(axis=0)]) if len(corners) > 1 else corners


def _d_optimal(region: Region, degree: int, blends: int | None) -> Floats:
    """Choose among corners, edges, faces and inner points; the middle of all is in it, to check the model."""
    candidates = candidate_points(region)
    middle = candidates.of("centre")[:1]
    terms = model_matrix(candidates.points, degree).shape[1]
    there = len(candidates.points)
    wanted = min(terms + _BEYOND_THE_MODEL, there) if blends is None else blends
    others = candidates.points[[kind != "centre" for kind in candidates.kinds]] if len(middle) else candidates.points
    check_separates(candidates.points, degree)
    if not terms <= wanted <= there:
        raise DesignDoesNotFit(
            f"a {DEGREES[degree]} model takes {terms} different blends, and between these bounds there are {there} to "
            f"try, not {wanted}; --repeats pours them again"
        )
    return d_optimal(others, wanted, degree, fixed=middle if len(middle) else None, repeats=False).points


def check_separates(points: Floats, degree: int) -> None:
    """Refuse blends that cannot separate the terms of a model; raises DesignDoesNotFit."""
    matrix = model_matrix(points, degree)
    if np.linalg.matrix_rank(matrix) < matrix.shape[1]:
        blends = counted(len(np.unique(np.round(points, 9), axis=0)), "blend")
        raise DesignDoesNotFit(
            f"{blends} cannot fit a {DEGREES[degree]} model, which has {matrix.shape[1]} terms; "
            "widen the bounds, ask for another --design, or take a lower --degree"
        )


def sessions_of(points: Floats, degree: int, sessions: int) -> list[int]:
    """Return the session, from 1, of each glass, so that what differs between sessions hides as little as can be."""
    count = len(points)
    most = count - model_matrix(points, degree).shape[1] + 1
    if not 1 <= sessions <= max(1, most):
        glasses, many = counted(count, "glass", "glasses"), "1 session" if most <= 1 else f"1 to {most} sessions"
        why = "" if sessions < 1 else ", where the model is still fitted"
        raise DesignDoesNotFit(f"{glasses} make {many}{why}, not {sessions}; --repeats gives more glasses")
    sizes = [count // sessions + (at < count % sessions) for at in range(sessions)]
    return [int(each) + 1 for each in allocate(points, sizes, degree)]
