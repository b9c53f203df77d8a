"""Points of a restricted region that are worth trying: corners, midpoints of edges, centroids of faces, inner points.

Source: McLean and Anderson 1966; Piepel 1988 for edges and centroids of a region with linear limits. A centroid is the
mean of the corners of its face.
"""

from dataclasses import dataclass

import numpy as np

from cooperage.blending.mixture.region import Region
from cooperage.blending.stocks.pool import Flags, Floats

MOST_CORNERS = 200


@dataclass(frozen=True)
class Candidates:
    """Points that a design may choose from, shape (n, q), and what each is.

    `kinds` are "corner", "edge" (its midpoint), "face" (its centroid), "centre" (of all corners) or "inner" (midway
    from the centre to a corner).

    >>> from cooperage.blending import Region, candidate_points
    >>> candidate_points(Region.whole(3)).kinds[:3]
    ('corner', 'corner', 'corner')
    """

    points: Floats
    kinds: tuple[str, ...]

    def of(self, *kinds: str) -> Floats:
        """Return the points of some kinds, shape (m, q)."""
        return self.points[[kind in kinds for kind in self.kinds]]


def candidate_points(region: Region) -> Candidates:
    """Return the points of a region that are worth trying, each once: as the first kind it is.

    With more than `MOST_CORNERS` corners midpoints of edges are left out: there are thousands.

    >>> from cooperage.blending import Region, candidate_points
    >>> found = candidate_points(Region.of([0.2, 0.2], [0.8, 0.8]))
    >>> found.kinds, found.points[:2].tolist()
    (('corner', 'corner', 'edge', 'inner', 'inner'), [[0.2, 0.8], [0.8, 0.2]])
    """
    corners = region.vertices()
    tight = region.tight(corners)
    centre = corners.mean(axis=0, keepdims=True)
    sets = {
        "corner": corners,
        "edge": _midpoints(corners, tight) if len(corners) <= MOST_CORNERS else corners[:0],
        "face": _face_centroids(corners, tight),
        "centre": centre,
        "inner": (corners + centre) / 2,
    }
    points = np.round(np.concatenate(list(sets.values())), 12) + 0.0
    kinds = [kind for kind, rows in sets.items() for _ in rows]
    _, first = np.unique(np.round(points, 9), axis=0, return_index=True)
    kept = np.sort(first)
    return Candidates(points[kept], tuple(kinds[at] for at in kept))


def _midpoints(corners: Floats, tight: Flags) -> Floats:
    """Return the middles of corners with an edge between: on the limits that both are on lies no third corner."""
    first, second = np.triu_indices(len(tight), 1)
    both = tight[first] & tight[second]
    off = both.astype(np.float64) @ (~tight).T.astype(np.float64)  # of those limits, how many each corner is not on
    joined = (off == 0).sum(axis=1) == 2
    middles: Floats = (corners[first[joined]] + corners[second[joined]]) / 2
    return middles


def _face_centroids(corners: Floats, tight: Flags) -> Floats:
    """Return the mean of the corners on each limit that is a face of the region."""
    across = _dimension(corners) - 1
    faces = [corners[on] for on in np.unique(tight, axis=1).T if on.any()]
    found = [face.mean(axis=0) for face in faces if 1 < across == _dimension(face)]
    return np.array(found).reshape(-1, corners.shape[1])


def _dimension(points: Floats) -> int:
    return int(np.linalg.matrix_rank(points - points.mean(axis=0), tol=1e-9))
