"""Physics and chemistry of water, ethanol, extract, sulphite and wood. Arrays in, arrays out; no state.

A scalar in gives a `numpy.float64` out; NaN means unknown and passes through; a figure outside the range that a
function documents raises `OutsideFormula` (an `OutOfRange`) with one line of the reason.
"""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.liquid._inside import DipTooDeep as DipTooDeep
    from cooperage.liquid._inside import HeadsWiderThanBung as HeadsWiderThanBung
    from cooperage.liquid._ranges import NotANumber as NotANumber
    from cooperage.liquid._ranges import OutsideFormula as OutsideFormula
    from cooperage.liquid._tabarie import NoSuchLiquid as NoSuchLiquid
    from cooperage.liquid.angels_share import Evaporated as Evaporated
    from cooperage.liquid.angels_share import RunsDry as RunsDry
    from cooperage.liquid.angels_share import balance_humidity as balance_humidity
    from cooperage.liquid.angels_share import evaporation as evaporation
    from cooperage.liquid.angels_share import fitted_permeability as fitted_permeability
    from cooperage.liquid.dosing import OutOfReach as OutOfReach
    from cooperage.liquid.dosing import dose_for_abv as dose_for_abv
    from cooperage.liquid.dosing import dose_for_extract as dose_for_extract
    from cooperage.liquid.dosing import honey_kg_for_extract as honey_kg_for_extract
    from cooperage.liquid.ethanol import abv_at_basis as abv_at_basis
    from cooperage.liquid.ethanol import abv_from_density as abv_from_density
    from cooperage.liquid.ethanol import abv_from_mass_fraction as abv_from_mass_fraction
    from cooperage.liquid.ethanol import ethanol_water_density as ethanol_water_density
    from cooperage.liquid.ethanol import mass_fraction_at_basis as mass_fraction_at_basis
    from cooperage.liquid.ethanol import mass_fraction_from_abv as mass_fraction_from_abv
    from cooperage.liquid.fermentation import FermentedAway as FermentedAway
    from cooperage.liquid.fermentation import GravitiesCrossed as GravitiesCrossed
    from cooperage.liquid.fermentation import abv_from_gravities as abv_from_gravities
    from cooperage.liquid.fermentation import balling_original_extract as balling_original_extract
    from cooperage.liquid.fermentation import final_sg as final_sg
    from cooperage.liquid.fermentation import original_sg as original_sg
    from cooperage.liquid.fermented import GravityContradictsStrength as GravityContradictsStrength
    from cooperage.liquid.fermented import density_of as density_of
    from cooperage.liquid.fermented import extract_g_l as extract_g_l
    from cooperage.liquid.fermented import sg_from_density as sg_from_density
    from cooperage.liquid.fermented import strength_from_density as strength_from_density
    from cooperage.liquid.fermented import tabarie_documented as tabarie_documented
    from cooperage.liquid.fermented import tabarie_uncertainty as tabarie_uncertainty
    from cooperage.liquid.geometry import BarrelShape as BarrelShape
    from cooperage.liquid.geometry import barrel_area_m2 as barrel_area_m2
    from cooperage.liquid.geometry import barrel_litres as barrel_litres
    from cooperage.liquid.geometry import barrel_shape as barrel_shape
    from cooperage.liquid.geometry import cap_ullage_litres as cap_ullage_litres
    from cooperage.liquid.geometry import headspace_mm as headspace_mm
    from cooperage.liquid.geometry import ullage_litres as ullage_litres
    from cooperage.liquid.honey import HoneyStream as HoneyStream
    from cooperage.liquid.honey import honey_density as honey_density
    from cooperage.liquid.honey import honey_moisture as honey_moisture
    from cooperage.liquid.honey import honey_stream as honey_stream
    from cooperage.liquid.hydrometer import TooHotForStrength as TooHotForStrength
    from cooperage.liquid.hydrometer import correct_alcoholometer as correct_alcoholometer
    from cooperage.liquid.hydrometer import correct_hydrometer as correct_hydrometer
    from cooperage.liquid.hydrometer import correct_us_proof as correct_us_proof
    from cooperage.liquid.mixing import Mixture as Mixture
    from cooperage.liquid.mixing import mix as mix
    from cooperage.liquid.refractometer import brix_from_refractive_index as brix_from_refractive_index
    from cooperage.liquid.refractometer import correct_refractometer as correct_refractometer
    from cooperage.liquid.scales import apparent_sg as apparent_sg
    from cooperage.liquid.scales import baume_from_sg_60_60 as baume_from_sg_60_60
    from cooperage.liquid.scales import oechsle_from_sg as oechsle_from_sg
    from cooperage.liquid.scales import potential_abv as potential_abv
    from cooperage.liquid.scales import sg_20_4_from_sg as sg_20_4_from_sg
    from cooperage.liquid.scales import sg_60_60_from_baume as sg_60_60_from_baume
    from cooperage.liquid.scales import sg_from_oechsle as sg_from_oechsle
    from cooperage.liquid.scales import sg_from_sg_20_4 as sg_from_sg_20_4
    from cooperage.liquid.scales import true_sg as true_sg
    from cooperage.liquid.standing import standing_litres as standing_litres
    from cooperage.liquid.standing import tank_litres as tank_litres
    from cooperage.liquid.sucrose import brix_from_density as brix_from_density
    from cooperage.liquid.sucrose import brix_from_sg as brix_from_sg
    from cooperage.liquid.sucrose import brix_from_sugar_g_l as brix_from_sugar_g_l
    from cooperage.liquid.sucrose import sg_at_basis as sg_at_basis
    from cooperage.liquid.sucrose import sg_from_brix as sg_from_brix
    from cooperage.liquid.sucrose import sucrose_density as sucrose_density
    from cooperage.liquid.sucrose import sugar_g_l_from_brix as sugar_g_l_from_brix
    from cooperage.liquid.sucrose import water_density as water_density
    from cooperage.liquid.sulphite import StrengthNeeded as StrengthNeeded
    from cooperage.liquid.sulphite import SulphiteDose as SulphiteDose
    from cooperage.liquid.sulphite import bound_share_measured as bound_share_measured
    from cooperage.liquid.sulphite import free_so2_for as free_so2_for
    from cooperage.liquid.sulphite import molecular_so2 as molecular_so2
    from cooperage.liquid.sulphite import so2_pk as so2_pk
    from cooperage.liquid.sulphite import sulphite_dose as sulphite_dose
    from cooperage.liquid.uncertainty import Estimate as Estimate
    from cooperage.liquid.uncertainty import Spread as Spread
    from cooperage.liquid.uncertainty import UnknownDistribution as UnknownDistribution
    from cooperage.liquid.uncertainty import effective_degrees_of_freedom as effective_degrees_of_freedom
    from cooperage.liquid.uncertainty import first_order as first_order
    from cooperage.liquid.uncertainty import monte_carlo as monte_carlo
    from cooperage.liquid.uncertainty import standard_uncertainty as standard_uncertainty
    from cooperage.liquid.vapour import Activity as Activity
    from cooperage.liquid.vapour import VapourPressures as VapourPressures
    from cooperage.liquid.vapour import activity_coefficients as activity_coefficients
    from cooperage.liquid.vapour import ethanol_vapour_pressure as ethanol_vapour_pressure
    from cooperage.liquid.vapour import henry_ethanol as henry_ethanol
    from cooperage.liquid.vapour import partial_pressures as partial_pressures
    from cooperage.liquid.vapour import water_vapour_pressure as water_vapour_pressure
    from cooperage.liquid.wood import Extraction as Extraction
    from cooperage.liquid.wood import Scale as Scale
    from cooperage.liquid.wood import UnknownMarker as UnknownMarker
    from cooperage.liquid.wood import WoodLeft as WoodLeft
    from cooperage.liquid.wood import wood_drawn as wood_drawn
    from cooperage.liquid.wood import wood_extraction as wood_extraction
    from cooperage.liquid.wood import wood_left as wood_left
    from cooperage.liquid.wood import wood_scale as wood_scale
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "_inside": ("DipTooDeep", "HeadsWiderThanBung"),
            "_ranges": ("NotANumber", "OutsideFormula"),
            "_tabarie": ("NoSuchLiquid",),
            "dosing": ("OutOfReach", "dose_for_abv", "dose_for_extract", "honey_kg_for_extract"),
            "ethanol": (
                "abv_at_basis",
                "abv_from_density",
                "abv_from_mass_fraction",
                "ethanol_water_density",
                "mass_fraction_at_basis",
                "mass_fraction_from_abv",
            ),
            "angels_share": ("Evaporated", "RunsDry", "balance_humidity", "evaporation", "fitted_permeability"),
            "fermentation": (
                "FermentedAway",
                "GravitiesCrossed",
                "abv_from_gravities",
                "balling_original_extract",
                "final_sg",
                "original_sg",
            ),
            "fermented": (
                "GravityContradictsStrength",
                "density_of",
                "extract_g_l",
                "sg_from_density",
                "strength_from_density",
                "tabarie_documented",
                "tabarie_uncertainty",
            ),
            "geometry": (
                "BarrelShape",
                "barrel_area_m2",
                "barrel_litres",
                "barrel_shape",
                "cap_ullage_litres",
                "headspace_mm",
                "ullage_litres",
            ),
            "honey": ("HoneyStream", "honey_density", "honey_moisture", "honey_stream"),
            "hydrometer": ("TooHotForStrength", "correct_alcoholometer", "correct_hydrometer", "correct_us_proof"),
            "mixing": ("Mixture", "mix"),
            "refractometer": ("brix_from_refractive_index", "correct_refractometer"),
            "scales": (
                "apparent_sg",
                "baume_from_sg_60_60",
                "oechsle_from_sg",
                "potential_abv",
                "sg_20_4_from_sg",
                "sg_60_60_from_baume",
                "sg_from_oechsle",
                "sg_from_sg_20_4",
                "true_sg",
            ),
            "standing": ("standing_litres", "tank_litres"),
            "sucrose": (
                "brix_from_density",
                "brix_from_sg",
                "brix_from_sugar_g_l",
                "sg_at_basis",
                "sg_from_brix",
                "sucrose_density",
                "sugar_g_l_from_brix",
                "water_density",
            ),
            "sulphite": (
                "StrengthNeeded",
                "SulphiteDose",
                "bound_share_measured",
                "free_so2_for",
                "molecular_so2",
                "so2_pk",
                "sulphite_dose",
            ),
            "uncertainty": (
                "Estimate",
                "Spread",
                "UnknownDistribution",
                "effective_degrees_of_freedom",
                "first_order",
                "monte_carlo",
                "standard_uncertainty",
            ),
            "vapour": (
                "Activity",
                "VapourPressures",
                "activity_coefficients",
                "ethanol_vapour_pressure",
                "henry_ethanol",
                "partial_pressures",
                "water_vapour_pressure",
            ),
            "wood": (
                "Extraction",
                "Scale",
                "UnknownMarker",
                "WoodLeft",
                "wood_drawn",
                "wood_extraction",
                "wood_left",
                "wood_scale",
            ),
        },
    )
