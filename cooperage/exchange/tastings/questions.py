"""What a difference test asks, in the cells of `flights.csv` that a scored flight leaves blank."""

from typing import Any

from sqlalchemy import Connection, select

from cooperage.book.store.tables import DIFFERENCE
from cooperage.errors import BadInput
from cooperage.exchange.tables.sheets import Row
from cooperage.tasting.difference.question import DifferenceQuestion, checked_question

OF_A_TEST = tuple(DifferenceQuestion.__slots__)
"""The fields of a question, which are columns too."""


def question_in(row: Row, values: dict[str, Any]) -> DifferenceQuestion | None:
    """Take what a test asks out of the values of a flight's row; None where it is scored. Raises BadCell."""
    given = {name: values.pop(name) for name in OF_A_TEST if name in values}
    if not given:
        return None
    if "test" not in given:
        raise row.bad(f"is of a difference test, which the column test does not name ({next(iter(given))})", "test")
    try:
        return checked_question(DifferenceQuestion(**given))
    except BadInput as error:
        raise row.placed(error, "test") from error


def questions_in(connection: Connection) -> dict[str, DifferenceQuestion]:
    """Return what every difference test of the book asks, by the id of its flight."""
    rows = connection.execute(select(DIFFERENCE)).mappings()
    return {row["flight_id"]: DifferenceQuestion(**{name: row[name] for name in OF_A_TEST}) for row in rows}
