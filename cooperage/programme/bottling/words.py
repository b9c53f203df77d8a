"""Words for runs and their lines."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from cooperage.programme.bottling.run import BottlingRun, RunLine, RunLineKind
from cooperage.units import Quantity, Units, counted, show, show_when

RUN_HEAD = ("run", "opened", "vessels", "label", "filled", "state")
LINE_HEAD = ("no.", "when", "what", "bottles", "volume", "words", "by")


def run_cells(run: BottlingRun, bottlings: list[str], units: Units) -> tuple[str, ...]:
    """Return a run as a row of a table."""
    label = "" if run.label is None else show(Quantity.STRENGTH, run.label, units)
    state = "open" if run.is_open else f"closed into {', '.join(bottlings)}" if bottlings else "closed"
    return run.code, show_when(run.opened_at), ", ".join(run.vessels), label, filled_words(run), state


def bottle_words(bottles: int, bottle_ml: int) -> str:
    """Return bottles of a size: "48 bottles of 750 mL"."""
    return f"{counted(bottles, 'bottle')} of {bottle_ml} mL"


def filled_words(run: BottlingRun) -> str:
    """Return how many bottles were filled: "1180 of 750 mL, 96 of 375 mL"."""
    filled = run.bottles(RunLineKind.FILLED)
    return ", ".join(f"{count} of {size} mL" for size, count in filled.items()) or "none"


def line_cells(run: BottlingRun, line: RunLine, units: Units) -> tuple[str, ...]:
    """Return a line of a run as a row of a table."""
    bottles = "" if line.bottles is None else f"{line.bottles} of {line.bottle_ml} mL"
    words = line.words
    if line.strikes is not None:
        words = f"line {line.strikes}" + (f": {words}" if words else "")
    if line.volumes_ml:
        bottles = f"{len(line.volumes_ml)} of {line.bottle_ml} mL"
        words = " ".join(show(Quantity.NUMBER, each, units, digits=1) for each in line.volumes_ml)
    volume = "" if line.ml is None else show(Quantity.VOLUME, line.ml, units)
    kind = f"({line.kind.value})" if line.number in run.struck else line.kind.value
    when = "" if line.at is None else show_when(line.at)
    return str(line.number), when, kind, bottles, volume, words, line.hand


def line_words(run: BottlingRun, line: RunLine, units: Units) -> str:
    """Return a line of a run in one line of text: "3  27 Nov 10:05  filled  48 of 750 mL  Ada"."""
    number, *cells = line_cells(run, line, units)
    return "  ".join(filter(None, (f"{number:>3}", *cells)))


def expected_words(run: BottlingRun, units: Units) -> str:
    """Return how many bottles are expected, with the range they lie in 90 times of 100.

    Those of which so many are wanted come first; the rest is of the first size without a number.
    """
    wanted = {size: count for size, count in run.sizes.items() if count is not None}
    used = sum(size * count for size, count in wanted.items())
    given = [f"{count} of {size} mL" for size, count in wanted.items()]
    size = next((size for size, count in run.sizes.items() if count is None), None)
    if size is not None:
        low, value, high = (max(0, ml - used) // size for ml in _expected(run))
        given.append(f"{value} of {size} mL ({low} to {high})")
    low_ml, ml, high_ml = (show(Quantity.VOLUME, ml, units) for ml in _expected(run))
    loss = show(Quantity.VOLUME, run.expected.loss_ml, units)
    return f"expected: {', '.join(given)}; {ml} to fill ({low_ml} to {high_ml}), {loss} left in the line"


def _expected(run: BottlingRun) -> tuple[int, int, int]:
    return run.expected.low_ml, run.expected.fill_ml, run.expected.high_ml


def so_far_words(run: BottlingRun, units: Units) -> str:
    """Return in a line what the run has come to so far."""
    parts = [f"filled {filled_words(run)}"]
    rejects, sampled = run.bottles(RunLineKind.REJECTS), run.volume(RunLineKind.SAMPLE)
    if rejects:
        parts.append("rejected " + ", ".join(f"{count} of {size} mL" for size, count in rejects.items()))
    if sampled:
        parts.append(f"{show(Quantity.VOLUME, sampled, units)} sampled")
    if lost := run.volume(RunLineKind.LOSS):
        parts.append(f"{show(Quantity.VOLUME, lost, units)} left in the line")
    return f"{run.code}: {'; '.join(parts)}"


def yield_words(run: BottlingRun, units: Units) -> Iterator[str]:
    """Yield what a closed run came to, and how that is beside what was expected."""
    if run.closed is not None:
        yield from came_to_words(run, run.closed.came_to, units)


def came_to_words(run: BottlingRun, came: Mapping[str, Any], units: Units) -> Iterator[str]:
    """Yield what a run came to, or would (`came_to` of its closing), and how that is beside what was expected."""
    named = (
        ("filled", "filled_ml"),
        ("rejected", "rejects_ml"),
        ("left in the line", "line_loss_ml"),
        ("sampled", "samples_ml"),
    )
    parts = [f"{show(Quantity.VOLUME, came[key], units)} {word}" for word, key in named if came[key]]
    left = show(Quantity.VOLUME, came["left_ml"], units)
    rest = {"stays": "left where it was", "lost": "left and written off"}.get(
        came["rest"], f"left, into {came['rest']}"
    )
    parts += [f"{left} {rest}"] if came["left_ml"] else []
    yield f"of {show(Quantity.VOLUME, came['there_ml'], units)}: {', '.join(parts)}"
    low, value, high = _expected(run)
    where = "within what was" if low <= came["filled_ml"] <= high else "outside what was"
    shown = [show(Quantity.VOLUME, ml, units) for ml in (value, low, high)]
    part = show(Quantity.PERCENT, 100 * came["filled_ml"] / came["there_ml"], units)
    yield f"yield {part}; {where} expected, {shown[0]} ({shown[1]} to {shown[2]})"


def open_words(runs: Iterable[BottlingRun]) -> str:
    """Return that runs are open: "SALT-26 on T-1 since 27 Nov 10:05, filled 480 of 750 mL"; empty where none is."""
    return "; ".join(
        f"{run.code} on {', '.join(run.vessels)} is open since {show_when(run.opened_at)}, filled {filled_words(run)}"
        for run in runs
    )


def open_briefly(runs: Iterable[BottlingRun]) -> str:
    """Return that runs are open in a few words: "run SALT-26 is open"; empty where none is."""
    return ", ".join(f"run {run.code} is open" for run in runs)


def run_row(run: BottlingRun, bottlings: list[str]) -> dict[str, Any]:
    """Return a run as scripts read it."""
    return {
        "run": run.code,
        "vessels": list(run.vessels),
        "sizes": [{"bottle_ml": size, "wanted": count} for size, count in run.sizes.items()],
        "label_strength_percent": run.label,
        "expected_fill_ml": run.expected.fill_ml,
        "expected_fill_low_ml": run.expected.low_ml,
        "expected_fill_high_ml": run.expected.high_ml,
        "expected_line_loss_ml": run.expected.loss_ml,
        "risks_id": run.risks_id,
        "opened_at": run.opened_at,
        "hand": run.hand,
        "filled": _counts(run, RunLineKind.FILLED),
        "rejects": _counts(run, RunLineKind.REJECTS),
        "samples_ml": run.volume(RunLineKind.SAMPLE),
        "line_loss_ml": run.volume(RunLineKind.LOSS),
        "lines": [_line_row(run, line) for line in run.lines],
        "is_open": run.is_open,
        "closed": None if run.closed is None else run.closed.came_to | {"at": run.closed.at, "hand": run.closed.hand},
        "entries": [] if run.closed is None else run.closed.entries,
        "bottlings": bottlings,
    }


def _counts(run: BottlingRun, kind: RunLineKind) -> list[dict[str, int]]:
    return [{"bottle_ml": size, "bottles": count} for size, count in run.bottles(kind).items()]


def _line_row(run: BottlingRun, line: RunLine) -> dict[str, Any]:
    return {
        "number": line.number,
        "kind": line.kind.value,
        "bottle_ml": line.bottle_ml,
        "bottles": line.bottles,
        "ml": line.ml,
        "volumes_ml": list(line.volumes_ml),
        "words": line.words,
        "strikes": line.strikes,
        "is_struck": line.number in run.struck,
        "hand": line.hand,
        "at": line.at,
    }
