"""The vocabulary of tasting that is shipped: attributes to score and tasting words (common practice, no source).

A cellar adds its own, renames these or retires them; see `vocabulary`.
"""

from collections.abc import Iterator, Mapping

_ATTRIBUTES: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "look": {"appearance": ("clarity", "colour")},
    "nose": {
        "honey": ("honey",),
        "fruit": ("fruit",),
        "oak": ("oak",),
        "spirit": ("spirit",),
        "fermentation": ("yeast",),
        "faults": ("faults",),
    },
    "palate": {
        "sweetness": ("sweetness",),
        "acidity": ("acidity",),
        "structure": ("tannin", "body", "heat"),
    },
    "finish": {"structure": ("length",)},
    "overall": {"structure": ("balance",), "liking": ("liking",)},
}
"""The attributes by part of the tasting and family; each on the scale of intensity, but for those below."""
_OTHER_SCALES = {"liking": "1-9 hedonic"}
_WORDS: Mapping[str, tuple[str, ...]] = {
    "honey": (
        *("floral", "blossom", "heather", "lime blossom", "clover", "buckwheat", "beeswax", "citrus honey"),
        *("molasses", "herbal", "hay"),
    ),
    "fruit": ("apple", "pear", "stone fruit", "dried fruit", "sour cherry", "blackcurrant", "quince", "citrus"),
    "fermentation": ("bread", "yeast"),
    "oak": (
        *("vanilla", "coconut", "caramel", "butterscotch", "clove", "cinnamon", "toast", "coffee", "smoke", "cedar"),
        *("raw wood", "soft wood", "sawdust", "dill", "leather"),
    ),
    "spirit": ("whiskey", "rum", "brandy", "port-like"),
    "sweetness": ("dry", "off-dry", "sweet"),
    "acidity": ("bright", "sharp", "flat"),
    "structure": ("tannic", "round", "thin", "full", "hot", "long", "short"),
}
_FAULTS = (
    *("vinegar", "pricked", "nail varnish", "sherry", "bruised apple", "rotten egg", "cabbage", "mouse", "band-aid"),
    *("barnyard", "musty", "cardboard", "geranium", "wet dog", "smoke taint", "green wood"),
)
INTENSITY = "0-10"
"""The usual scale of an attribute."""


def attributes() -> Iterator[tuple[str, str, str, str]]:
    """Yield every attribute: name, part of the tasting, family, usual scale."""
    for part, families in _ATTRIBUTES.items():
        for family, names in families.items():
            for name in names:
                yield name, part, family, _OTHER_SCALES.get(name, INTENSITY)


def words() -> Iterator[tuple[str, str, bool]]:
    """Yield every tasting word: word, family, whether it is a fault."""
    for family, names in _WORDS.items():
        for name in names:
            yield name, family, False
    for name in _FAULTS:
        yield name, "faults", True
