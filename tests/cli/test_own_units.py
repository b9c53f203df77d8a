"""Every command speaks the person's units and words, from the first table to the last foot."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import pytest

from cooperage.cli import main
from cooperage.exchange.reports.reports import REPORTS
from cooperage.programme.losses.ledger import GROUPINGS
from cooperage.programme.money.angels import ANGELS_BY
from cooperage.programme.money.rows import VALUE_BY
from cooperage.resources import demo_folder

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


BRIEFS = {path.stem: str(path) for path in (demo_folder() / "briefs").glob("*.toml")}
PLACE = ("--room", "Low", "--row", "Z", "--bay", "77", "--tier", "1")
PASSED = ("--pass", "living yeast=sterile filtered", "--pass", "strength=measured")

Calls = dict[str, list[tuple[str, ...]]]
"""The words after each command, call by call."""

# Every command with sensible arguments, each group in the order in which it can be called on one cellar. A refusal is
# told in words too, so some calls are to be refused. Words in braces are filled in.
LOOKING: Calls = {
    "report": [(name,) for name in REPORTS] + [("operations", "--since", "30 days ago", "--until", "yesterday")],
    "rounds": [(), ("--by", "2099-01-01"), ("--worth",)],
    "barrels": [(), ("--kind", "any", "--retired"), ("--as-of", "90 days ago")],
    "barrel": [("B-001",), ("B-025",), ("T-1",), ("K-01",)],
    "signs": [()],
    "prices set": [("honey", "6.40"), ("bottle", "0.58", "--bottle", "750ml"), ("botle", "1"), ("bottle", "1")],
    "prices list": [(), ("--past",)],
    "value": [*(("--per", per) for per in VALUE_BY), ("--as-of", "90 days ago")],
    "cost": [("B-001",), ("SALT-25",), ("LB-24",), ("B-025",), ("B-1",)],
    "angels": [("--per", per) for per in ANGELS_BY],
    "wood": [(), ("B-001", "B-025"), ("--need",), ("--assign",), ("--assign", "HE-25=59/wood", "--same-room")],
    "today": [()],
    "guide": [()],
    "find": [("B-0",), ("vinegar",), ("topped",)],
    "losses": [*(("--per", by) for by in GROUPINGS), ("--since", "yesterday"), ("--since", "365 days ago")],
    "bottles": [(), ("SALT-25", "--as-of", "30 days ago")],
    "trace": [
        *(("SALT-25",), ("LB-24",), ("B-001",)),
        *(("HE-24", "--forward"), ("HE-24", "--tree"), ("SALT-25", "--back"), ("SALT-25", "--claims")),
        *(("K-01", "--list"), ("K-01", "--list", "--html"), ("--hand", "Jory", "--since", "30 days ago")),
    ],
    "label": [("B-001",), ("SALT-25",), ("LB-24",)],
    "forecast": [(), ("B-041",)],
    "sulphite": [()],
    "upkeep": [(), ("B-001", "--below", "0.5", "--topping", "level"), ("B-001",)],
    "cellar": [(), ("temperature", "60"), ("temperature",)],
    "climate": [(), ("{climate}", "--room", "Low", "--dry-run")],
    "check": [()],
    "retire": [()],
    "bottling risks": [
        ("B-021", "B-027", "--label", "13.5"),
        ("T-1", "--sizes", "much"),
    ],
    "bottling open": [
        ("NIGHT-26", "B-021", "B-027", "--sizes", "750ml,375ml=96", *PASSED, "--line-loss", "1"),
        ("NIGHT-27", "B-013"),
    ],
    "bottling filled": [("NIGHT-26", "4x12", "--size", "750ml"), ("NIGHT-26", "2", "--size", "500ml")],
    "bottling reject": [("NIGHT-26", "2", "--size", "750ml")],
    "bottling sample": [("NIGHT-26", "0.1")],
    "bottling loss": [("NIGHT-26", "0.5")],
    "bottling closure": [("NIGHT-26", "cork 12")],
    "bottling stop": [("NIGHT-26", "jam")],
    "bottling note": [("NIGHT-26", "clear")],
    "bottling check": [("NIGHT-26", "1271", "1269", "--tare", "512", "--size", "750ml", "--temperature", "55")],
    "bottling strike": [("NIGHT-26", "1")],
    "bottling list": [()],
    "bottling close": [("NIGHT-26", "--rest", "B-027"), ("NIGHT-26", "--retained", "600"), ("NIGHT-26", "--sure")],
    "bottling show": [("NIGHT-26",)],
    "rules list": [(), ("tax-class", "--profile", "UK")],
    "rules show": [("fill-each.500ml",)],
    "rules set": [
        ("fill-each.500ml", "2", "--source", "a letter"),
        ("fill-each.500ml", "much", "--source", "a letter"),
    ],
    "rules withdraw": [("fill-each.500ml",), ("fill-each.500ml",)],
    "rules use": [("US",)],
    "ready define": [("overall at least 14; gravity at most 1.06; va at most 0.7",), ("gravity perhaps 1.06",)],
    "ready definitions": [()],
    "ready withdraw": [(), ()],
    "taste flights": [()],
    "taste results": [("{flight}",)],
    "taste carry-over": [("{flight}",)],
    "taste tasters": [(), ("honey",)],
    "taste difference": [("triangle", "9", "--of", "15"), ("paired", "2", "--of", "3", "--alpha", "0.2")],
    "trial list": [()],
    "trial plan": [("B-003", "B-004=20-60", "--limit", "abv=max 13.5"), ("B-003", "B-004", "--limit", "abv=max 5")],
    "trial results": [("TR-1",), ("TR-2",)],
    "period list": [()],
    "period show": [(), ("last month",), ("2026",), ("2026-07-01..2026-07-20",)],
    "period differences": [()],
    "trial barrels list": [()],
    "trial barrels plan": [
        (
            "is it fresher?",
            "--barrels",
            "lot QU-25",
            "--treatment",
            "a",
            "--treatment",
            "b",
            "--trial",
            "NEW",
            "--keep",
        ),
        ("is it fresher?", "--barrels", "B-041", "--compare", "toast"),
    ],
    "trial barrels show": [("NEW",)],
    "trial barrels flight": [("NEW",)],
    "trial barrels results": [("NEW",)],
    "trial barrels withdraw": [("NEW", "--why", "two barrels leak")],
    "trial hand-over": [("TR-1", "--out", "{best.toml}")],
    "trial sheet": [("TR-2",)],
    "taste words list": [(), ("--kind", "word", "--retired")],
}
TASTING: Calls = {
    "trial pour": [("TR-2",), ("TR-2",)],
    "trial withdraw": [("TR-2", "--why", "too few tasters")],
    "taste start": [("B-001", "B-002", "B-003", "--code", "TRY-1", "--attribute", "oak", "--taster", "Iko")],
    "taste sheet": [("TRY-1",), ("TRY-1", "--csv")],
    "taste score": [("TRY-1", "{glass}", "Iko", "7"), ("TRY-1", "{glass}", "Iko", "--line", "6 7 oak; keep")],
    "taste leave": [("TRY-1", "Iko")],
    "taste peek": [("TRY-1",)],
    "taste reveal": [("TRY-1",), ("TRY-1", "--sure")],
    "taste judge": [("TRY-1", "--proposed", "B-001=look again 8 weeks"), ("TRY-1",)],
    "taste words add": [("word", "salt air", "--family", "nose"), ("attribute", "oak")],
    "taste words rename": [("word", "salt air", "sea air")],
    "taste words retire": [("word", "sea air")],
}
BLENDING: Calls = {
    "blend solve": [
        *(("--brief", path) for path in BRIEFS.values()),
        ("--brief", BRIEFS["winter_bottling"], "--others", "1", "--rules"),
        ("--brief", BRIEFS["winter_bottling"], "--brief", BRIEFS["best_barrels"]),
    ],
    "blend trial": [("--brief", BRIEFS["winter_bottling"], "--flight")],
    "blend scale": [("B-003=40", "B-004=60", "--litres", "400"), ("B-003=40", "B-004=60", "--litres", "4000")],
    "blend pour": [("--brief", BRIEFS["winter_bottling"], "--into", "{tank}")],
}
WRITING: Calls = {
    "count": [("{count}", "--since", "90 days ago"), ("{count}", "--write", "--sure")],
    "period count": [("last month", "{count}"), ("last month", "{count}", "--leave-unread")],
    "period close": [("last month", "--sure"), ("last month", "--sure")],
    "lab": [("{slip}", "--dry-run"), ("{slip}", "--sure")],
    "sheet": [("{sheet}", "--dry-run")],
    "add lot": [("NEW-26", "--name", "New", "--original-gravity", "26", "--final-gravity", "3", "--strength", "13")],
    "add vessel": [("X-1", "--capacity", "59", *PLACE), ("X-2", "--kind", "tank", "--capacity", "100")],
    "lot honey": [("NEW-H", "420kg", "--index", "1.4935", "--at", "70", "--price", "3")],
    "lot honeys": [()],
    "lot batch": [
        ("NEW-26", "--water", "90", "--with-honey", "NEW-H=20kg", "--juice", "pear=9 at 14", "--warmest", "72")
    ],
    "lot show": [("NEW-26",)],
    "lot curve": [("NEW-26",)],
    "lots": [()],
    "log receive": [("NEW-26", "X-2", "90"), ("NEW-26", "X-2", "90")],
    "log fill": [("X-1", "--from", "X-2"), ("X-1", "1", "--from", "X-2")],
    "log top": [("B-041", "30", "--from", "X-2"), ("B-041", "0.1", "--from", "X-2", "--not-full")],
    "log gauge": [("X-2",), ("X-2", "10"), ("X-2", "10", "--sure"), ("B-041", "--headspace", "120 mm", "--sure")],
    "log sample": [("X-2", "50 ml"), ("X-2", "9"), ("X-2", "900", "--sure")],
    "log rack": [("X-1", "900", "--to", "X-2"), ("X-1", "9", "--to", "X-2", "--lees", "0.5")],
    "log reading": [("X-1", "sg", "5"), ("X-1", "sg", "40"), ("X-1", "va_g_l", "3"), ("X-1", "temperature_c", "58")],
    "log addition": [("X-2", "honey", "500"), ("X-2", "honey", "50000"), ("X-2", "water", "50")],
    "log blend": [("X-2", "B-041=5; B-042=4"), ("X-2", "B-041=500")],
    "log climate": [("Low", "58", "70"), ("Low", "150", "70")],
    "log judge": [("X-1", "look again", "--weeks", "8"), ("X-1", "look again 8 weeks"), ("X-1", "look again")],
    "log look": [("X-1", "--level", "low"), ("X-1",)],
    "log treat": [("X-1", "stir"), ("X-1", "steam")],
    "log lotcost": [("NEW-26", "7.20")],
    "log lotend": [("NEW-26", "--gravity", "1.022"), ("NEW-26",)],
    "log shift": [("X-1", "--room", "Loft")],
    "log bottle": [("X-1", "RUN-1", "10", "--loss", "0.2")],
    "log stow": [("SALT-25", "12", "Loft"), ("SALT-25", "9999", "Loft")],
    "log remove": [("SALT-25", "2", "sold")],
    "log takeback": [("SALT-25", "2")],
    "log stocktake": [("SALT-25", "1400")],
    "log pourback": [("SALT-25", "2", "X-2", "--loss", "0.01"), ("SALT-25", "9", "X-2")],
    "log retire": [("X-1", "--reason", "spent")],
    "log strike": [("last",)],
}
ORDERING: Calls = {
    "order receive": [("HE-24", "T-7", "9")],
    "order pourback": [("SALT-25", "2", "T-7")],
    "order fill": [("B-034", "--from", "T-1"), ("B-017,B-034", "--from", "T-1", "--but", "B-017=1")],
    "order top": [("B-041", "--from", "K-05"), ("B-041..B-043", "0.5", "--from", "K-05")],
    "order gauge": [("T-7",), ("T-7", "10")],
    "order sample": [("T-1", "50 ml"), ("T-1", "9")],
    "order rack": [("B-010..B-012", "--to", "T-7"), ("T-1", "900", "--to", "B-017,B-034")],
    "order reading": [("B-001", "sg", "5"), ("B-001", "temperature_c", "58"), ("B-001", "sg")],
    "order addition": [("B-001,B-002", "honey", "0.1 lb/gal"), ("B-001", "water", "5")],
    "order blend": [("T-7", "B-041=5; B-042=4"), ("T-7", "B-041=500")],
    "order judge": [("B-001", "keep")],
    "order look": [("B-001", "--level", "low")],
    "order treat": [("B-001", "stir")],
    "order shift": [("B-001", "--room", "Loft")],
    "order bottle": [("T-1", "RUN-1", "10", "--loss", "0.2"), ("T-1", "RUN-2")],
    "order retire": [("B-001", "--reason", "spent")],
    "orders do": [("2", "volume=20"), ("2", "volume=20", "--sure"), ("4", "--sure"), ("1", "to=nowhere")],
    "orders move": [("1", "--after", "2")],
    "orders print": [(), ("--for", "tomorrow")],
    "orders withdraw": [("1", "--why", "spent"), ("1", "--why", "spent")],
}
RECKONING: Calls = {
    "calc adjust": [("100", "12", "90", "--with", "water", "--to-strength", "11")],
    "calc alcoholometer": [("55", "--at", "60")],
    "calc dose": [("100", "--rise", "20")],
    "calc evaporation": [
        ("59", "--strength", "13", "--sugar", "60", "--days", "365", "--at", "58", "--humidity", "75")
    ],
    "calc fill": [
        ("750ml", "--varies", "2", "--lot-size", "1200", "--profile", "EU"),
        ("750ml", "748.1", "746.2", "--averages", "750 751 752 750 749 750"),
        ("750ml",),
    ],
    "calc label": [("13.5", "--strength", "12.9"), ("12-15", "--strength", "12.9"), ("much", "--strength", "12")],
    "calc headspace": [("2 in", "--capacity", "59"), ("--missing", "1", "--capacity", "59")],
    "calc honey": [
        ("--moisture", "17.5", "--mass", "10 lb", "--into", "50"),
        ("--moisture", "17", "--into", "50", "--to-sugar", "200"),
    ],
    "calc hydrometer": [("12", "--at", "75")],
    "calc mix": [("--stream", "100", "12", "60", "--stream", "5", "60", "0")],
    "calc refractometer": [("12", "--at", "75")],
    "calc so2": [("--free", "28", "--ph", "3.4", "--strength", "13", "--at", "60")],
    "calc strength": [("--original", "26", "--final", "3")],
    "calc sugar": [("26",)],
    "calc tank": [("40 in", "--diameter", "30 in")],
    "calc wood": [("--days", "200", "--fill", "2", "--capacity", "59")],
}
FILES: Calls = {
    "export": [("{out}",)],
    "import": [("{out}", "--dry-run"), ("{missing}",)],
    "backup": [("{backup.db}",)],
    "restore": [("{backup.db}",)],
    "copy": [("--to", "{copied.db}")],
    "demo": [("--no-ui", "--path", "{copied.db}")],
    "serve": [("--port", "abc")],
    "completion": [("bash",)],
    "help": [("rounds",)],
}
GROUPS = (LOOKING, TASTING, BLENDING, WRITING, ORDERING, RECKONING, FILES)
# A calculator of gravities tells every scale there is, each with its name, and sources name their own temperatures; a
# pipette is graduated in ml anywhere, and so is the cylinder for a stock solution.
LET_PASS: dict[str, tuple[str, ...]]
LET_PASS = {f"calc {name}": ("specific gravity",) for name in ("sugar", "hydrometer", "strength", "refractometer")}
LET_PASS |= {"blend trial": ("millilitres",), "calc dose": ("millilitres",), "calc so2": ("degrees Celsius",)}
# Rules stand in the units of their source, and bottles are named in ml everywhere.
LET_PASS |= {f"rules {name}": ("litres", "millilitres", "too many digits") for name in ("list", "show", "set", "use")}
LET_PASS |= {f"rules {name}": ("litres", "millilitres") for name in ("withdraw",)}
LET_PASS |= {f"bottling {name}": ("millilitres", "litres", "degrees Celsius") for name in ("open", "check", "show")}
_LINES = ("filled", "reject", "sample", "loss", "closure", "stop", "note", "strike", "list", "close")
LET_PASS |= {f"bottling {name}": ("millilitres",) for name in _LINES}
LET_PASS["calc fill"] = ("millilitres",)
LET_PASS["bottling risks"] = ("millilitres", "litres", "degrees Celsius")
LET_PASS["calc sugar"] += ("degrees Celsius",)
LET_PASS["calc refractometer"] += ("degrees Celsius",)


def commands(group: click.Group, *before: str) -> Iterator[str]:
    """Walk every command there is."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        if isinstance(command, click.Group):
            yield from commands(command, *before, name)
        else:
            yield " ".join((*before, name))


def test_every_command_is_called_here() -> None:
    """A new command is asked for its units too."""
    assert sorted(commands(main)) == sorted(command for group in GROUPS for command in group)


class American:
    """The demo cellar in the hands of somebody who reads gallons, Brix and °F."""

    def __init__(self, demo: "Cooperage", folder: Path, settings: Path) -> None:
        self.demo, self.env = demo, {"COOPERAGE_CONFIG": str(settings)}
        texts = {
            "count": "B-041 25\nB-042 58\n",
            "slip": "B-041 free 24 pH 3.41\nB-042 va 0.4\n",
            "sheet": "B-041 0.5 weeping\nB-042 0.4\n",
            "climate": "when,temperature,humidity\n2026-11-01 12:00,14.5,70\n",
        }
        self.words = {name: str(folder / f"{name}.csv") for name in texts}
        for name, text in texts.items():
            Path(self.words[name]).write_text(text)
        self.words |= {name: str(folder / name) for name in ("out", "missing", "backup.db", "copied.db", "best.toml")}
        tanks = demo.json("barrels", "--kind", "tank")
        self.words["tank"] = next(v["tag"] for v in tanks if v["litres"] == 0 and v["capacity_l"] >= 900)
        self.words["flight"] = demo.json("taste", "flights")[0]["code"]

    def told(self, command: str, words: tuple[str, ...]) -> str:
        """Return all that a call says, whatever comes of it; but it is never our own fault."""
        if "{glass}" in words:
            self.words["glass"] = self.demo.json("taste", "flights")[0]["glasses"][0]["code"]
        filled = [self.words.get(each.strip("{}"), each) for each in words]
        done = self.demo.run(*command.split(), *filled, env=self.env)
        assert done.exit_code in (0, 1, 2, 3), (command, filled, done.output)
        return done.stdout + done.stderr


@pytest.mark.slow
@pytest.mark.parametrize(
    "calls", GROUPS, ids=["looking", "tasting", "blending", "writing", "ordering", "reckoning", "files"]
)
def test_every_command_speaks_the_persons_units(
    demo: "Cooperage", tmp_path: Path, american_settings: Path, foreign: Callable[..., list[str]], calls: Any
) -> None:
    """With gallons, Brix and °F set no litre, no °C, no SG is told; nor a raw key, "1 glasses", or eight digits."""
    american = American(demo, tmp_path, american_settings)
    wrong = []
    for command, variants in calls.items():
        for words in variants:
            result = american.told(command, words)
            found = foreign(result, *LET_PASS.get(command, ()))
            wrong += [f"{command} {' '.join(words)}: {line}" for line in found]
    assert not wrong, "\n".join(wrong)
