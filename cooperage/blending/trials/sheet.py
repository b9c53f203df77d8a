"""The bench sheet of a trial: what to pipette into each glass, what that takes of each stock, and what is there."""

from collections.abc import Iterator, Sequence
from csv import writer
from dataclasses import dataclass
from io import StringIO

from cooperage.blending.trials.trial import Trial, TrialGlass, TrialStock
from cooperage.book import Cellar
from cooperage.units import DEFAULT, Quantity, Units, show, show_worth


@dataclass(frozen=True, slots=True)
class StockTotal:
    """What a trial takes of a vessel, and what that holds [ml]; a lot is drawn from its barrels in equal parts."""

    stock: str
    vessel: str
    ml: float
    held_ml: int

    @property
    def is_short(self) -> bool:
        """Return True if the vessel holds less than is taken."""
        return self.ml > self.held_ml


@dataclass(frozen=True, slots=True)
class TrialSheet:
    """A trial's bench sheet: its glasses, or those of one session, and what each vessel gives."""

    trial: Trial
    glasses: tuple[TrialGlass, ...]
    totals: tuple[StockTotal, ...]

    @property
    def strays_by_points(self) -> float:
        """How far rounding to the pipette's step moves a share at most [points of a per cent]."""
        return 100 * max(abs(a - b) for each in self.glasses for a, b in zip(each.shares, each.planned, strict=True))


def trial_sheet(trial: Trial, cellar: Cellar, session: int | None = None) -> TrialSheet:
    """Return the bench sheet of a trial, or of one of its sessions."""
    glasses = trial.glasses if session is None else tuple(trial.of_session(session))
    taken = taken_of(trial, glasses)
    totals = [
        StockTotal(stock.name, tag, taken[tag], cellar[tag].ml) for stock in trial.stocks for tag in stock.vessels
    ]
    return TrialSheet(trial, glasses, tuple(totals))


def taken_of(trial: Trial, glasses: Sequence[TrialGlass]) -> dict[str, float]:
    """Return what glasses take of each vessel [mL], by tag; a lot is drawn from its barrels in equal parts."""
    return {
        tag: sum(glass.ml[at] for glass in glasses) / len(stock.vessels)
        for at, stock in enumerate(trial.stocks)
        for tag in stock.vessels
    }


def sheet_head(sheet: TrialSheet) -> list[str]:
    """Return the heading of the sheet's table."""
    sessions = ["session"] if len(sheet.trial.sessions) > 1 else []
    return ["glass", *sessions, *(f"{name} mL" for name in sheet.trial.names), "blend %"]


def sheet_cells(sheet: TrialSheet, units: Units = DEFAULT) -> list[list[str]]:
    """Return a row of cells for each glass, and one of what each stock gives in all."""
    trial, decimal = sheet.trial, units.decimal
    has_sessions = len(trial.sessions) > 1
    rows = [
        [
            trial.glass_name(glass),
            *([str(glass.session)] if has_sessions else []),
            *(_ml(each, units) for each in glass.ml),
            " / ".join(f"{100 * share:.1f}".replace(".", decimal) for share in glass.shares),
        ]
        for glass in sheet.glasses
    ]
    sums = [sum(glass.ml[at] for glass in sheet.glasses) for at in range(len(trial.stocks))]
    return [*rows, ["in all", *([""] if has_sessions else []), *(_ml(each, units) for each in sums), ""]]


def _ml(millilitres: float, units: Units) -> str:
    return show_worth(millilitres, 6, units) if millilitres else "-"


def total_words(sheet: TrialSheet, units: Units = DEFAULT) -> Iterator[str]:
    """Yield a line for each vessel: what it gives and what it holds."""
    for each in sheet.totals:
        of = f" (a part of {each.stock})" if each.vessel != each.stock else ""
        held = show(Quantity.VOLUME, each.held_ml, units)
        short = ": too little" if each.is_short else ""
        yield f"{each.vessel}{of} gives {_ml(each.ml, units)} mL and holds {held}{short}"


def rounding_words(sheet: TrialSheet, units: Units = DEFAULT) -> str:
    """Return what rounding to the pipette's step does."""
    step = show_worth(sheet.trial.step_ml, 6, units)
    if sheet.strays_by_points < 1e-6:
        return f"Steps of {step} mL give every blend exactly."
    strays = show_worth(sheet.strays_by_points, 2, units)
    return f"Steps of {step} mL move a share by {strays} points at most; the fit goes by what is pipetted."


def lot_words(stocks: Sequence[TrialStock]) -> Iterator[str]:
    """Yield how the stock of a lot is made up."""
    for stock in stocks:
        if len(stock.vessels) > 1:
            yield f"{stock.name}: mix {', '.join(stock.vessels)} in equal parts first"


def sheet_csv(sheet: TrialSheet) -> str:
    """Return the sheet as CSV: a line a glass, millilitres by stock."""
    out = StringIO()
    rows = writer(out, lineterminator="\r\n")
    rows.writerow(["glass", "session", *(f"{name} mL" for name in sheet.trial.names)])
    for glass in sheet.glasses:
        rows.writerow([sheet.trial.glass_name(glass), glass.session, *(f"{each:g}" for each in glass.ml)])
    return out.getvalue()
