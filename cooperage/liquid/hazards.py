"""What is published of the hazards of what a cellar handles: limits and cautions, plain figures and words."""

STRONG_ABV = 24.0
"""Above this [% vol] an alcoholic beverage is carried as a flammable liquid (UN Model Regulations, special provision
144; from memory)."""
MOST_RISE = 350.0
"""No dose raises free SO2 [mg/L] by more: above the total any law in view allows, so surely a slip of units."""
SO2_SHORT = "sulphur dioxide harms lungs and eyes and can set off asthma; keep your face away and the air moving"
SO2_MORE = (
    "Wear gloves and goggles, never lean into a vessel, and measure free and total SO2 again afterwards. The product's "
    "sheet, your local rules and licensed practice come first."
)
CAUTION = f"{SO2_SHORT[0].upper()}{SO2_SHORT[1:]}. {SO2_MORE}"
"""The one caution for sulphur dioxide and sulphite. NIOSH Pocket Guide to Chemical Hazards: 2 ppm over a working day,
5 ppm for 15 minutes, immediately dangerous at 100 ppm."""
DECLARED_FROM = (
    "Labels (for reference, no advice): thresholds for naming sulphites differ; total SO2 of more than 10 mg/kg or "
    "10 mg/L (Regulation (EU) No 1169/2011, Annex II, point 12), 10 ppm or more (27 CFR 4.32(e)); check with your "
    "authority."
)
"""A reference with its source, no advice on labelling."""
