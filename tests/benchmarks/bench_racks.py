"""The racks of 10,000 barrels against those of the demo, in one run: `python tests/benchmarks/bench_racks.py`.

Milliseconds of work from a key to the drawn screen, at 80x24 and 140x40: arrows, jumps, a filter typed letter by
letter, a scanned tag, lifting; and opening the screen. What costs no more than on the demo does not depend on the
number of barrels. `--barrels N` and `--moves M` for other sizes.
"""

import argparse
import asyncio
import tempfile
import time
from collections.abc import Awaitable, Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import bindparam, update
from textual.pilot import Pilot

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.store.tables import BARREL, VESSEL
from cooperage.exchange import import_folder, shift_to_yesterday
from cooperage.resources import demo_folder
from cooperage.settings import Settings
from cooperage.tui.app import CooperageApp
from cooperage.tui.racks.screen import RacksScreen

if TYPE_CHECKING:
    from tests.benchmarks.bench_book import large_book
else:
    from bench_book import large_book

KEYS = {
    "right": ["right"] * 20,
    "down": ["down"] * 20,
    "page down": ["pagedown"] * 5,
    "end, home": ["end", "home"] * 3,
    "next rack": ["tab"] * 10,
    "filter, a letter": ["q", *"past"],
    "filter, more": [*" rum", "space", *"fill", "space", "1"],
    "show all": ["escape"],
    "lift, put back": ["m", "escape"],
    "scanned tag": [],
}
"""Keys in the order they are pressed; a filter is typed once and taken away again."""


def racked(path: Path, barrels: int, moves: int) -> Book:
    """Make a large book whose barrels lie in rooms of ten rows of fifty bays, two high, of six pasts."""
    book = large_book(path, barrels, moves)
    pasts = ("rum", "red wine", "white wine", "stout", "whiskey", None)
    with book.writing() as session:
        ids = [vessel.id for vessel in session.registry.load() if vessel.is_barrel]
        rows: list[dict[str, object]] = [
            {
                "at": id_,
                "room": f"Room {n // 1000 + 1}",
                "row": "ABCDEFGHIJ"[n // 100 % 10],
                "bay": n % 100 // 2 + 1,
                "tier": n % 2 + 1,
                "past_life": pasts[n % 6],
            }
            for n, id_ in enumerate(ids)
        ]
        place: dict[str, Any] = {name: bindparam(f"new_{name}") for name in ("room", "row", "bay", "tier")}
        session.connection.execute(
            update(VESSEL).where(VESSEL.c.id == bindparam("at")).values(**place),
            [{"at": row["at"]} | {f"new_{name}": row[name] for name in place} for row in rows],
        )
        session.connection.execute(
            update(BARREL).where(BARREL.c.id == bindparam("at")).values(past_life=bindparam("p")),
            [{"at": row["at"], "p": row["past_life"]} for row in rows],
        )
    book.write(acts.Treat(vessel="B-00001", treatment="taste"))  # the first entry finds no states kept, and keeps all
    return book


async def worked(what: Callable[[], Awaitable[object]]) -> float:
    """Return the milliseconds of work that something takes, waiting left out."""
    began = time.process_time()
    await what()
    return 1000 * (time.process_time() - began)


async def settle(pilot: Pilot[None]) -> None:
    """Wait until all is reckoned and drawn."""
    await pilot.pause()
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()


async def measured(book: Book, tag: str, size: tuple[int, int]) -> dict[str, float]:
    """Return milliseconds of work for a key of each sort."""
    app = CooperageApp(book, Settings())
    found: dict[str, float] = {}
    async with app.run_test(size=size) as pilot:
        await settle(pilot)

        async def opened() -> None:
            await app.switch_mode("racks")
            while not isinstance(app.screen, RacksScreen):
                await pilot.pause()
            await pilot.pause()

        found["open, first draw"] = await worked(opened)
        found["open, all reckoned"] = found["open, first draw"] + await worked(lambda: settle(pilot))
        for name, keys in KEYS.items():
            pressed = keys or [*tag, "enter"]
            pressed = [{" ": "space", "-": "minus"}.get(key, key) for key in pressed]
            found[name] = await worked(partial(pilot.press, *pressed)) / len(pressed)
            await settle(pilot)
    return found


def main() -> None:
    """Measure both and print the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--barrels", type=int, default=10_000)
    parser.add_argument("--moves", type=int, default=100_000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        demo = Book.create(str(Path(folder) / "demo.db"))
        import_folder(demo, demo_folder(), shift_days=shift_to_yesterday(demo_folder(), demo.now()))
        large = racked(Path(folder) / "large.db", asked.barrels, asked.moves)
        for size in ((80, 24), (140, 40)):
            print(f"{size[0]}x{size[1]}, ms of work a key{'':<4} {'demo':>8} {asked.barrels:>8}   ratio")
            few = asyncio.run(measured(demo, "B-012", size))
            many = asyncio.run(measured(large, f"B-{asked.barrels // 2:05}", size))
            for name, ms in few.items():
                print(f"  {name:<26} {ms:8.1f} {many[name]:8.1f} {many[name] / ms:7.2f}")


if __name__ == "__main__":
    main()
