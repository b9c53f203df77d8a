"""A cellar in which every danger lies somewhere."""

from datetime import UTC, datetime, timedelta

from cooperage.book import Barrel, Book, Lot, Upkeep, Vessel
from cooperage.book.declared import acts

NOW = datetime.now(UTC)

LONG_AGO = NOW - timedelta(days=90)

WINE, SPIRIT = Barrel(past_kind="wine", past_life="wine", fills_before=2), Barrel(past_kind="spirit", past_life="rum")

VESSELS = (
    Vessel("", "FULL", "barrel", 225_000, position=("Low", "A", 1, 1), barrel=WINE),
    Vessel("", "PART", "barrel", 225_000, position=("Low", "A", 2, 1), barrel=WINE),
    Vessel("", "LAST", "barrel", 225_000, position=("Low", "A", 3, 1), barrel=SPIRIT),
    Vessel("", "WORKS", "barrel", 225_000, position=("Low", "A", 4, 1), barrel=WINE),
    Vessel("", "THIRST", "barrel", 225_000, position=("Low", "A", 5, 1), barrel=WINE, upkeep=Upkeep(top_from="K-96")),
    Vessel("", "RUM", "barrel", 200_000, position=("Low", "B", 1, 1), barrel=SPIRIT),
    Vessel("", "WHO", "barrel", 200_000, position=("Low", "B", 2, 1), barrel=Barrel()),
    Vessel("", "SULPH", "barrel", 225_000, position=("Low", "B", 3, 1), barrel=WINE),
    Vessel("", "LYE", "barrel", 225_000, position=("Low", "B", 4, 1), barrel=WINE),
    Vessel("", "DRY", "barrel", 225_000, position=("Low", "B", 5, 1), barrel=WINE),
    Vessel("", "T-1", "tank", 3_000_000),
    Vessel("", "T-2", "tank", 3_000_000),
    Vessel("", "T-LYE", "tank", 3_000_000),
    Vessel("", "K-1", "keg", 50_000),
    Vessel("", "K-96", "keg", 50_000),
)


def build(book: Book) -> None:
    """Write a cellar in which every danger lies somewhere."""
    at = LONG_AGO
    with book.writing() as w:
        for vessel in VESSELS:
            w.add_vessel(vessel)
        w.add_lot(Lot("", "SWEET", "sweet heather", abv=12.0, final_sg=1.03))
        w.add_lot(Lot("", "SPIRIT", "honey spirit", abv=60.0, final_sg=0.91))
        w.write(acts.Receive(lot="SWEET", vessel="T-1", volume=2_500_000, at=at))
        w.write(acts.Receive(lot="SPIRIT", vessel="K-96", volume=45_000, at=at))
        w.write(acts.Rack(vessel="T-1", destination="K-1", volume=45_000, at=at))
        for tag in ("FULL", "LAST", "WORKS", "THIRST"):
            w.write(acts.Fill(vessel=tag, source="T-1", volume=225_000, at=at))
        w.write(acts.Fill(vessel="PART", source="T-1", volume=100_000, at=at))
        for tag in ("RUM", "SULPH"):
            w.write(acts.Fill(vessel=tag, source="T-1", volume=100_000, at=at))
            w.write(acts.Rack(vessel=tag, destination="T-1", at=at))
        for tag, treatment in (("RUM", "rinse"), ("SULPH", "so2 gas"), ("LYE", "caustic"), ("T-LYE", "caustic")):
            w.write(acts.Treat(vessel=tag, treatment=treatment, at=at, sure=True))
        for name, value in (("free_so2_mg_l", 2.0), ("ph", 3.6)):
            w.write(acts.Reading(vessel="FULL", property=name, value=value, at=at, sure=True))
        for week, sg in enumerate((1.030, 1.026, 1.021, 1.015, 1.008)):
            w.write(acts.Reading(vessel="WORKS", property="sg", value=sg, at=at + timedelta(weeks=2 * week), sure=True))
            for tag in ("FULL", "LAST", "THIRST"):
                w.write(
                    acts.Reading(vessel=tag, property="sg", value=1.03, at=at + timedelta(weeks=2 * week), sure=True)
                )
