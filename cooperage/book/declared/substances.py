"""What can be added to mead and what can be done to a vessel: each declared once.

Usual doses are common practice (no source); they only decide when a dose is asked back.
"""

from dataclasses import dataclass

from cooperage.book.declared.counts import Counts
from cooperage.book.declared.spelling import folded, spellings_of
from cooperage.errors import BadInput, choose_from
from cooperage.units import Quantity


@dataclass(frozen=True, slots=True)
class Substance:
    """One thing that is added: its unit, the usual most per litre, and what it does; `dangers.py` has its cautions.

    `raises` is (property, its unit x litres for one unit added): a gram of metabisulphite adds 576 mg, that is 1 mg/L
    in 576 L. `ml_per_unit` is the volume one unit brings, of strength `abv` [% vol] and sugar `sugar_g_l` [g/L].
    """

    name: str
    label: str
    quantity: Quantity
    usual_per_l: float
    raises: tuple[tuple[str, float], ...] = ()
    ml_per_unit: float = 0.0
    abv: float = 0.0
    sugar_g_l: float = 0.0
    is_sulphite: bool = False
    synonyms: tuple[str, ...] = ()


# 57.6 % of potassium metabisulphite is SO2 (stoichiometry, 2 x 64.066 / 222.32). Of what is added about 40 % binds
# (common practice, no source): the free figure is calculated and should be measured again.
_KMBS_MG_PER_G = 576.0
_STAYS_FREE = 0.6
# Honey of 80 % sugar by mass, 1.42 kg/L (USDA grades of extracted honey; common practice for the density).
_HONEY_KG_PER_L, _HONEY_SUGAR = 1.42, 0.80

SUBSTANCES: dict[str, Substance] = {
    declared.name: declared
    for declared in (
        Substance(
            "metabisulphite",
            "potassium metabisulphite",
            Quantity.MASS,
            0.09,
            (("total_so2_mg_l", _KMBS_MG_PER_G), ("free_so2_mg_l", _KMBS_MG_PER_G * _STAYS_FREE)),
            is_sulphite=True,
            synonyms=(
                "potassium metabisulphite",
                "metabisulfite",
                "potassium metabisulfite",
                "KMBS",
                "k-meta",
                "k meta",
                "kmeta",
                "meta",
            ),
        ),
        Substance(
            "so2 gas",
            "sulphur dioxide gas",
            Quantity.MASS,
            0.05,
            (("total_so2_mg_l", 1000.0), ("free_so2_mg_l", 1000.0 * _STAYS_FREE)),
            is_sulphite=True,
            synonyms=("sulphur dioxide gas", "sulfur dioxide gas"),
        ),
        Substance("sorbate", "potassium sorbate", Quantity.MASS, 0.27, synonyms=("potassium sorbate",)),
        Substance("tartaric acid", "tartaric acid", Quantity.MASS, 1.5, (("ta_g_l", 1.0),)),
        Substance("citric acid", "citric acid", Quantity.MASS, 1.0, (("ta_g_l", 1.17),)),
        Substance("bentonite", "bentonite", Quantity.MASS, 1.0),
        Substance("tannin", "oak tannin", Quantity.MASS, 0.3),
        Substance("nutrient", "yeast nutrient", Quantity.MASS, 0.4),
        Substance(
            "honey",
            "honey",
            Quantity.MASS,
            120.0,
            ml_per_unit=1 / _HONEY_KG_PER_L,
            sugar_g_l=1000 * _HONEY_SUGAR * _HONEY_KG_PER_L,
        ),
        Substance("water", "water", Quantity.VOLUME, 0.1 * 1000, ml_per_unit=1.0),
        Substance(
            "spirit",
            "honey spirit, 60 % vol",
            Quantity.VOLUME,
            0.1 * 1000,
            ml_per_unit=1.0,
            abv=60.0,
        ),
    )
}


@dataclass(frozen=True, slots=True)
class Treatment:
    """One thing done to a vessel that moves no mead; `dangers/dangers.py` has its cautions.

    What `leaves_residue` is rinsed out before mead goes in; what `rinses` does that. What `sulphurs` leaves sulphur
    dioxide in an empty vessel until something `drives_sulphur_out`. What `clears` takes yeast out. `is_care`: it
    counts as a check of an empty vessel.
    """

    name: str
    label: str
    of_empty: bool = False
    near_flame: bool = False
    leaves_residue: bool = False
    rinses: bool = False
    is_care: bool = False
    sulphurs: bool = False
    drives_sulphur_out: bool = False
    scalds: bool = False
    with_tools: bool = False
    clears: bool = False
    counts_as: tuple[Counts, ...] = ()
    synonyms: tuple[str, ...] = ()


TREATMENTS: dict[str, Treatment] = {
    declared.name: declared
    for declared in (
        Treatment(
            "sniff",
            "smelled empty, found sound",
            of_empty=True,
            is_care=True,
            counts_as=(Counts.VISITED,),
            synonyms=("sniffed",),
        ),
        Treatment(
            "rinse",
            "rinsed",
            of_empty=True,
            is_care=True,
            rinses=True,
            drives_sulphur_out=True,
            synonyms=("rinsed",),
        ),
        Treatment(
            "hot water",
            "hot water",
            of_empty=True,
            is_care=True,
            rinses=True,
            drives_sulphur_out=True,
            scalds=True,
        ),
        Treatment(
            "steam",
            "steamed",
            of_empty=True,
            is_care=True,
            drives_sulphur_out=True,
            scalds=True,
            synonyms=("steamed",),
        ),
        Treatment(
            "swell",
            "swelled and leak-tested",
            of_empty=True,
            is_care=True,
            drives_sulphur_out=True,
            scalds=True,
            synonyms=("swelled",),
        ),
        Treatment(
            "caustic",
            "washed with caustic (soda ash, percarbonate, lye)",
            of_empty=True,
            leaves_residue=True,
            is_care=True,
        ),
        Treatment("peracetic acid", "sanitised with peracetic acid", of_empty=True, is_care=True, leaves_residue=True),
        Treatment(
            "holding solution",
            "holding solution (citric, sulphite)",
            of_empty=True,
            sulphurs=True,
            leaves_residue=True,
            is_care=True,
        ),
        Treatment(
            "sulphur wick",
            "sulphur burned",
            of_empty=True,
            sulphurs=True,
            is_care=True,
            near_flame=True,
            synonyms=("sulfur wick", "sulphur strip", "sulfur strip"),
        ),
        Treatment(
            "so2 gas",
            "SO2 gas on dry wood",
            of_empty=True,
            sulphurs=True,
            is_care=True,
            synonyms=("sulphur dioxide gas", "sulfur dioxide gas"),
        ),
        Treatment("ozone", "ozone", of_empty=True, is_care=True),
        Treatment("gas cover", "headspace covered with inert gas"),
        Treatment("stir", "lees stirred", synonyms=("stirred", "lees stirred")),
        Treatment("fine", "fined", synonyms=("fined",)),
        Treatment("filter", "filtered", clears=True, synonyms=("filtered",)),
        Treatment("sterile filter", "filtered sterile (0.45 µm)", clears=True),
        Treatment("repair", "repaired (hoop, spile, wax)", with_tools=True, synonyms=("repaired",)),
        Treatment(
            "inspect",
            "inspected",
            with_tools=True,
            counts_as=(Counts.SEEN_FULL, Counts.VISITED),
            synonyms=("inspected",),
        ),
        Treatment(
            "taste",
            "tasted from the thief",
            counts_as=(Counts.OPENED, Counts.TASTED),
            synonyms=("tasted", "tastes"),
        ),
    )
}


SUBSTANCE_SPELLINGS = spellings_of({name: declared.synonyms for name, declared in SUBSTANCES.items()})
TREATMENT_SPELLINGS = spellings_of({name: declared.synonyms for name, declared in TREATMENTS.items()})
"""Each spelling of a substance or a treatment, and the name that it means."""


class UnknownSubstance(BadInput):
    """A substance that is not declared."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"'{name}' is not known as an addition{choose_from(name, SUBSTANCES)}")


class UnknownTreatment(BadInput):
    """A treatment that is not declared."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"'{name}' is not known as a treatment{choose_from(name, TREATMENTS)}")


def substance_named(name: str) -> Substance:
    """Find a substance by its name or a synonym; raises UnknownSubstance."""
    try:
        return SUBSTANCES[SUBSTANCE_SPELLINGS[folded(name)]]
    except KeyError:
        raise UnknownSubstance(name) from None


def treatment_named(name: str) -> Treatment:
    """Find a treatment by its name or a synonym; raises UnknownTreatment."""
    try:
        return TREATMENTS[TREATMENT_SPELLINGS[folded(name)]]
    except KeyError:
        raise UnknownTreatment(name) from None


def canonical_substance(name: str) -> str:
    """Return the substance's own name for a synonym of it; as it is where none is meant."""
    return SUBSTANCE_SPELLINGS.get(folded(name), name)


def canonical_treatment(name: str) -> str:
    """Return the treatment's own name for a synonym of it; as it is where none is meant."""
    return TREATMENT_SPELLINGS.get(folded(name), name)
