"""The blend desk: from a brief to litres in the tank, with reasons."""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.blending.answer.answer import Answer as Answer
    from cooperage.blending.mixture.designs import extreme_vertices as extreme_vertices
    from cooperage.blending.mixture.designs import simplex_centroid as simplex_centroid
    from cooperage.blending.mixture.designs import simplex_lattice as simplex_lattice
    from cooperage.blending.mixture.scheffe import ScheffeFit as ScheffeFit
    from cooperage.blending.mixture.scheffe import fit_scheffe as fit_scheffe
    from cooperage.blending.others import alternatives as alternatives
    from cooperage.blending.solving import solve as solve
    from cooperage.blending.together import Programme as Programme
    from cooperage.blending.together import solve_together as solve_together
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "answer.answer": ("Answer",),
            "mixture.designs": ("extreme_vertices", "simplex_centroid", "simplex_lattice"),
            "mixture.scheffe": ("ScheffeFit", "fit_scheffe"),
            "others": ("alternatives",),
            "solving": ("solve",),
            "together": ("Programme", "solve_together"),
        },
    )
