"""The figures of a card beside a list are those of the vessel's page, under one another on the point."""

from cooperage.book import Book
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.page.figures import page_figures
from cooperage.tui.shared.gauges import figure_rows
from cooperage.units import DEFAULT

NAMES = ("abv", "ph", "free_so2_mg_l", "va_g_l")


def test_a_card_has_the_figures_of_the_page(book: Book) -> None:
    """With the mark of what is calculated, the band and the age; what is not known has no row."""
    standing = cellar_now(book)["B-001"]
    page = {row.short: row for row in page_figures(standing)}
    rows = list(figure_rows(standing, (*NAMES, "total_so2_mg_l"), DEFAULT, is_short=True))
    assert [label.strip() for label, _, _ in rows] == ["strength", "pH", "free SO2", "VA"]
    for label, value, rest in rows:
        of = page[label.strip()]
        assert [value.strip(), *rest.split()] == [of.value, *of.band.split(), *of.unit.split(), *of.age.split()]
    assert len({len(label) + value.index(".") for label, value, _ in rows if "." in value}) == 1
    assert not list(figure_rows(cellar_now(book)["B-012"], NAMES, DEFAULT))
