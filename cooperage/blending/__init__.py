"""The blend desk: from a brief to litres in the tank, with reasons."""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.blending.answer.answer import Answer as Answer
    from cooperage.blending.mixture.best import best_blend as best_blend
    from cooperage.blending.mixture.candidates import candidate_points as candidate_points
    from cooperage.blending.mixture.d_optimal import allocate as allocate
    from cooperage.blending.mixture.d_optimal import d_optimal as d_optimal
    from cooperage.blending.mixture.degree import choose_degree as choose_degree
    from cooperage.blending.mixture.designs import extreme_vertices as extreme_vertices
    from cooperage.blending.mixture.designs import simplex_centroid as simplex_centroid
    from cooperage.blending.mixture.designs import simplex_lattice as simplex_lattice
    from cooperage.blending.mixture.precision import precision_of as precision_of
    from cooperage.blending.mixture.process import ProcessModel as ProcessModel
    from cooperage.blending.mixture.process import fit_in_plots as fit_in_plots
    from cooperage.blending.mixture.process import fit_process as fit_process
    from cooperage.blending.mixture.region import Region as Region
    from cooperage.blending.mixture.scheffe import ScheffeFit as ScheffeFit
    from cooperage.blending.mixture.scheffe import blends_to_add as blends_to_add
    from cooperage.blending.mixture.scheffe import fit_scheffe as fit_scheffe
    from cooperage.blending.mixture.surfaces import draw_surfaces as draw_surfaces
    from cooperage.blending.others import alternatives as alternatives
    from cooperage.blending.solving import solve as solve
    from cooperage.blending.together import Programme as Programme
    from cooperage.blending.together import solve_together as solve_together
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "answer.answer": ("Answer",),
            "mixture.best": ("best_blend",),
            "mixture.candidates": ("candidate_points",),
            "mixture.d_optimal": ("allocate", "d_optimal"),
            "mixture.degree": ("choose_degree",),
            "mixture.designs": ("extreme_vertices", "simplex_centroid", "simplex_lattice"),
            "mixture.precision": ("precision_of",),
            "mixture.process": ("ProcessModel", "fit_in_plots", "fit_process"),
            "mixture.region": ("Region",),
            "mixture.scheffe": ("ScheffeFit", "blends_to_add", "fit_scheffe"),
            "mixture.surfaces": ("draw_surfaces",),
            "others": ("alternatives",),
            "solving": ("solve",),
            "together": ("Programme", "solve_together"),
        },
    )
