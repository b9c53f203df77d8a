"""Labels: a card for a vessel or a bottling, with a QR code that a scanner types as its tag."""

from io import BytesIO

import segno

from cooperage.book import Book, Standing
from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import before_vessel
from cooperage.book.replay.state import moment
from cooperage.book.trace import share_words
from cooperage.book.vessel_words import fill_words, lot_shares, wood_words
from cooperage.units import Quantity, Units, counted, show, show_ago, show_day


def card_lines(book: Book, code: str, units: Units) -> list[str]:
    """Return what a card has of a vessel, or of a bottling or lot; raises NothingToTrace for neither."""
    cellar = book.cellar()
    if code in cellar:
        return _vessel_lines(cellar[code], units)
    found = book.trace(code)
    lines = [found.code, found.kind]
    if found.at is not None:
        lines.append(show_day(found.at))
    if found.bottles:
        lines.append(f"{counted(found.bottles, 'bottle')}, {show(Quantity.VOLUME, round(1000 * found.litres), units)}")
    return [*lines, *(f"{share.name} {share_words(share.fraction, units)}" for share in found.lots)]


def _vessel_lines(standing: Standing, units: Units) -> list[str]:
    vessel = standing.vessel
    lines = [vessel.tag, f"{vessel.kind}, {show(Quantity.VOLUME, vessel.capacity_ml, units)}"]
    if vessel.is_barrel:
        lines.append(f"{wood_words(standing)}, {fill_words(standing)}")
    lines += lot_shares(standing) or ["empty"]
    filled = moment(standing.state.filled_at)
    if filled is not None and standing.days_in_wood is not None:
        lines.append(f"filled {show_ago(filled, standing.at)}")
    lines += [f"{_LOUD.get(each.danger, 'CAUTION')}: {each.line}" for each in cautions(before_vessel(standing, units))]
    return [*lines, f"as of {show_day(standing.at)}"]


_LOUD = {"flame near spirit": "NO OPEN FLAME"}
"""What stands in capitals before a caution on a card, where it is not simply CAUTION."""


def qr_text(code: str) -> str:
    """Return the code as a QR symbol in block characters, for a terminal or a plain printer."""
    rows = [[bool(cell) for cell in row] for row in segno.make_qr(code, error="m").matrix_iter(border=2)]
    if len(rows) % 2:
        rows.append([False] * len(rows[0]))
    halves = {(True, True): "█", (True, False): "▀", (False, True): "▄", (False, False): " "}
    return "\n".join(
        "".join(halves[top, bottom] for top, bottom in zip(upper, lower, strict=True)).rstrip()
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    )


def qr_svg(code: str) -> bytes:
    """Return the code as a QR symbol in SVG."""
    out = BytesIO()
    segno.make_qr(code, error="m").save(out, kind="svg", scale=8)
    return out.getvalue()
