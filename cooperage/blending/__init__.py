"""The blend desk: from a brief to litres in the tank, with reasons."""

from cooperage.blending.answer.answer import Answer
from cooperage.blending.mixture.designs import extreme_vertices, simplex_centroid, simplex_lattice
from cooperage.blending.mixture.scheffe import ScheffeFit, fit_scheffe
from cooperage.blending.others import alternatives
from cooperage.blending.solve import solve
from cooperage.blending.together import Programme, solve_together

__all__ = [
    "Answer",
    "Programme",
    "ScheffeFit",
    "alternatives",
    "extreme_vertices",
    "fit_scheffe",
    "simplex_centroid",
    "simplex_lattice",
    "solve",
    "solve_together",
]
