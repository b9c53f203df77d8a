"""Physics and chemistry of water, ethanol, extract, sulphite and wood. Arrays in, arrays out; no state.

A scalar in gives a `numpy.float64` out; NaN means unknown and passes through; a figure outside the range that a
function documents raises `OutsideFormula` (an `OutOfRange`) with one line that says so.
"""

from cooperage.liquid._inside import (
    DipTooDeep,
    HeadsWiderThanBung,
)
from cooperage.liquid._ranges import (
    NotANumber,
    OutsideFormula,
)
from cooperage.liquid._tabarie import (
    NoSuchLiquid,
)
from cooperage.liquid.dosing import (
    OutOfReach,
    dose_for_abv,
    dose_for_extract,
    honey_kg_for_extract,
)
from cooperage.liquid.ethanol import (
    abv_at_basis,
    abv_from_density,
    abv_from_mass_fraction,
    ethanol_water_density,
    mass_fraction_at_basis,
    mass_fraction_from_abv,
)
from cooperage.liquid.evaporation import (
    Evaporated,
    RunsDry,
    balance_humidity,
    evaporation,
    fitted_permeability,
)
from cooperage.liquid.fermentation import (
    FermentedAway,
    GravitiesCrossed,
    abv_from_gravities,
    balling_original_extract,
    final_sg,
    original_sg,
)
from cooperage.liquid.fermented import (
    GravityContradictsStrength,
    density_of,
    extract_g_l,
    sg_from_density,
    strength_from_density,
    tabarie_documented,
    tabarie_uncertainty,
)
from cooperage.liquid.geometry import (
    BarrelShape,
    barrel_area_m2,
    barrel_litres,
    barrel_shape,
    cap_ullage_litres,
    headspace_mm,
    ullage_litres,
)
from cooperage.liquid.honey import (
    HoneyStream,
    honey_density,
    honey_moisture,
    honey_stream,
)
from cooperage.liquid.hydrometer import (
    TooHotForStrength,
    correct_alcoholometer,
    correct_hydrometer,
    correct_us_proof,
)
from cooperage.liquid.mixing import (
    Mixture,
    mix,
)
from cooperage.liquid.refractometer import (
    brix_from_refractive_index,
    correct_refractometer,
)
from cooperage.liquid.scales import (
    apparent_sg,
    baume_from_sg_60_60,
    oechsle_from_sg,
    potential_abv,
    sg_20_4_from_sg,
    sg_60_60_from_baume,
    sg_from_oechsle,
    sg_from_sg_20_4,
    true_sg,
)
from cooperage.liquid.standing import (
    standing_litres,
    tank_litres,
)
from cooperage.liquid.sucrose import (
    brix_from_density,
    brix_from_sg,
    brix_from_sugar_g_l,
    sg_at_basis,
    sg_from_brix,
    sucrose_density,
    sugar_g_l_from_brix,
    water_density,
)
from cooperage.liquid.sulphite import (
    StrengthNeeded,
    SulphiteDose,
    bound_share_measured,
    free_so2_for,
    molecular_so2,
    so2_pk,
    sulphite_dose,
)
from cooperage.liquid.uncertainty import (
    Estimate,
    Spread,
    UnknownDistribution,
    effective_degrees_of_freedom,
    first_order,
    monte_carlo,
    standard_uncertainty,
)
from cooperage.liquid.vapour import (
    Activity,
    VapourPressures,
    activity_coefficients,
    ethanol_vapour_pressure,
    henry_ethanol,
    partial_pressures,
    water_vapour_pressure,
)
from cooperage.liquid.wood import (
    Extraction,
    Scale,
    UnknownMarker,
    wood_extraction,
    wood_scale,
)

__all__ = [
    "Activity",
    "BarrelShape",
    "DipTooDeep",
    "Estimate",
    "Evaporated",
    "Extraction",
    "FermentedAway",
    "GravitiesCrossed",
    "GravityContradictsStrength",
    "HeadsWiderThanBung",
    "HoneyStream",
    "Mixture",
    "NoSuchLiquid",
    "NotANumber",
    "OutOfReach",
    "OutsideFormula",
    "RunsDry",
    "Scale",
    "Spread",
    "StrengthNeeded",
    "SulphiteDose",
    "TooHotForStrength",
    "UnknownDistribution",
    "UnknownMarker",
    "VapourPressures",
    "abv_at_basis",
    "abv_from_density",
    "abv_from_gravities",
    "abv_from_mass_fraction",
    "activity_coefficients",
    "apparent_sg",
    "balance_humidity",
    "balling_original_extract",
    "barrel_area_m2",
    "barrel_litres",
    "barrel_shape",
    "baume_from_sg_60_60",
    "bound_share_measured",
    "brix_from_density",
    "brix_from_refractive_index",
    "brix_from_sg",
    "brix_from_sugar_g_l",
    "cap_ullage_litres",
    "correct_alcoholometer",
    "correct_hydrometer",
    "correct_refractometer",
    "correct_us_proof",
    "density_of",
    "dose_for_abv",
    "dose_for_extract",
    "effective_degrees_of_freedom",
    "ethanol_vapour_pressure",
    "ethanol_water_density",
    "evaporation",
    "extract_g_l",
    "final_sg",
    "first_order",
    "fitted_permeability",
    "free_so2_for",
    "headspace_mm",
    "henry_ethanol",
    "honey_density",
    "honey_kg_for_extract",
    "honey_moisture",
    "honey_stream",
    "mass_fraction_at_basis",
    "mass_fraction_from_abv",
    "mix",
    "molecular_so2",
    "monte_carlo",
    "oechsle_from_sg",
    "original_sg",
    "partial_pressures",
    "potential_abv",
    "sg_20_4_from_sg",
    "sg_60_60_from_baume",
    "sg_at_basis",
    "sg_from_brix",
    "sg_from_density",
    "sg_from_oechsle",
    "sg_from_sg_20_4",
    "so2_pk",
    "standard_uncertainty",
    "standing_litres",
    "strength_from_density",
    "sucrose_density",
    "sugar_g_l_from_brix",
    "sulphite_dose",
    "tabarie_documented",
    "tabarie_uncertainty",
    "tank_litres",
    "true_sg",
    "ullage_litres",
    "water_density",
    "water_vapour_pressure",
    "wood_extraction",
    "wood_scale",
]
