"""The molecular share of free SO2 in one liquid and its dose, by plain floats: what is asked of barrels at a start.

Arrays are asked in `sulphite`, from which this does not differ; the table and the constants of both are here.
"""

import math

from cooperage.liquid.hazards import MOST_RISE

# fmt: off
PK_ABV = (0.0, 5.0, 10.0, 15.0, 20.0)  # % vol
PK_CELSIUS = (20.0, 25.0, 30.0, 35.0, 40.0)
PK_THERMODYNAMIC = (  # OIV-MA-AS323-04C Table I: rows by strength, columns by temperature
    (1.798, 2.000, 2.219, 2.334, 2.493),
    (1.897, 2.098, 2.299, 2.397, 2.527),
    (1.997, 2.198, 2.394, 2.488, 2.606),
    (2.099, 2.301, 2.503, 2.607, 2.728),
    (2.203, 2.406, 2.628, 2.754, 2.895),
)
# fmt: on
# Debye-Hückel: A and B of plain water, ionic strength of wine (OIV-MA-AS323-04C gives 0.038 mol/L)
DEBYE_A, DEBYE_B, IONIC_STRENGTH = 0.51, 1.65, 0.038
IONIC_SHIFT = DEBYE_A * math.sqrt(IONIC_STRENGTH) / (1.0 + DEBYE_B * math.sqrt(IONIC_STRENGTH))
# SO2(aq) + H2O = HSO3- + H+: -626.22 + 322.98 + 285.83 kJ/mol (NBS Tables of Chemical Thermodynamic Properties, 1982)
ENTHALPY, GAS_CONSTANT, KELVIN = -17_410.0, 8.314462618, 273.15  # J/mol, J/(mol K), 0 °C
PER_KELVIN = ENTHALPY / (GAS_CONSTANT * math.log(10.0))
PH, STRENGTH, TEMPERATURE = (2.0, 5.0), (0.0, 20.0), (0.0, 40.0)
"""What the formulas hold for: pH, strength [% vol], temperature [°C]."""


def molecular_share(ph: float, abv: float, celsius: float) -> float:
    """Return the molecular share of free SO2 at a pH, strength [% vol at 20 °C] and temperature [°C].

    Raises OutsideFormula where `molecular_so2` does, whose convention "oiv" this is. Source: OIV-MA-AS323-04C.

    Examples
    --------
    >>> round(molecular_share(3.4, 13.5, 15.0), 4)
    0.0335

    """
    for value, (low, high) in ((ph, PH), (abv, STRENGTH), (celsius, TEMPERATURE)):
        if not low <= value <= high:
            from cooperage.liquid.sulphite import molecular_so2  # raises OutsideFormula

            return float(molecular_so2(1.0, ph, abv, celsius))
    return 1.0 / (1.0 + math.pow(10.0, ph - _pk(abv, celsius)))


def free_so2(molecular_mg_l: float, ph: float, abv: float, celsius: float) -> float:
    """Return the free SO2 [mg/L] that gives a molecular SO2 [mg/L] at a pH, strength [% vol] and temperature [°C].

    Raises OutsideFormula where `free_so2_for` does, whose convention "oiv" this is.

    Examples
    --------
    >>> round(free_so2(0.8, 3.4, 0.0, 20.0), 0)
    39.0

    """
    if not molecular_mg_l >= 0.0:
        from cooperage.liquid.sulphite import free_so2_for  # raises OutsideFormula

        return float(free_so2_for(molecular_mg_l, ph, abv, celsius))
    return molecular_mg_l / molecular_share(ph, abv, celsius)


SO2_IN_METABISULPHITE = 0.5762  # 2 M(SO2) / M(K2S2O5) = 2 x 64.064 / 222.32
MOST_BOUND = 0.9


def metabisulphite_g(litres: float, rise_mg_l: float, bound_share: float) -> float:
    """Return the metabisulphite [g] that raises free SO2 by so much [mg/L], a share of it bound.

    Raises OutsideFormula where `sulphite_dose` does.

    Examples
    --------
    >>> round(metabisulphite_g(225.0, 10.0, 0.0), 1)
    3.9

    """
    if not (litres >= 0.0 and 0.0 <= rise_mg_l <= MOST_RISE and 0.0 <= bound_share <= MOST_BOUND):
        from cooperage.liquid.sulphite import sulphite_dose  # raises OutsideFormula

        return float(sulphite_dose(litres, rise_mg_l, bound_share).metabisulphite_g)
    return litres * rise_mg_l / 1000.0 / (1.0 - bound_share) / SO2_IN_METABISULPHITE


def _pk(abv: float, celsius: float) -> float:
    row, down = _between(PK_ABV, abv)
    column, across = _between(PK_CELSIUS, max(celsius, PK_CELSIUS[0]))
    above, below = (
        (1.0 - across) * PK_THERMODYNAMIC[at][column] + across * PK_THERMODYNAMIC[at][column + 1]
        for at in (row, row + 1)
    )
    colder = 1.0 / (min(celsius, PK_CELSIUS[0]) + KELVIN) - 1.0 / (PK_CELSIUS[0] + KELVIN)
    return (1.0 - down) * above + down * below + PER_KELVIN * colder - IONIC_SHIFT


def _between(nodes: tuple[float, ...], x: float) -> tuple[int, float]:
    """Return the node below x, and how far x is on the way to the next."""
    node = max(at for at, each in enumerate(nodes[:-1]) if each <= x)
    return node, (x - nodes[node]) / (nodes[node + 1] - nodes[node])
