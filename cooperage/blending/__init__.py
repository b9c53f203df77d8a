"""The blend desk: from a brief to litres in the tank, with reasons."""

from cooperage.blending.answer import Answer
from cooperage.blending.designs import extreme_vertices, simplex_centroid, simplex_lattice
from cooperage.blending.scheffe import ScheffeFit, fit_scheffe
from cooperage.blending.solve import solve

__all__ = [
    "Answer",
    "ScheffeFit",
    "extreme_vertices",
    "fit_scheffe",
    "simplex_centroid",
    "simplex_lattice",
    "solve",
]
