"""What came out, kept as it comes, and written for a reader."""

import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from tests.benchmarks.mutants.choosing import Trial
from tests.benchmarks.mutants.sample import Mutant
from tests.benchmarks.mutants.trials import CANNOT_BE_SWAPPED_IN


class Results:
    """What came out so far, kept in a file as it comes, so that a run can be stopped and taken up."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.by_key: dict[str, dict[str, Any]] = {}
        self.read()

    def read(self) -> None:
        """Read what is kept, also by a child."""
        self.by_key.clear()
        for line in self.path.read_text().splitlines() if self.path.exists() else ():
            self._take(json.loads(line))

    def _take(self, result: dict[str, Any]) -> None:
        before = self.by_key.get(result["key"], {"cpu_seconds": 0.0, "tests_run": 0, "passes": 0})
        cpu, tests = (round(before[name] + result[name], 2) for name in ("cpu_seconds", "tests_run"))
        has_met_tests = result["outcome"] != CANNOT_BE_SWAPPED_IN
        added = {"cpu_seconds": cpu, "tests_run": tests, "passes": before["passes"] + has_met_tests}
        self.by_key[result["key"]] = result | added

    def keep(self, trial: Trial, answer: str, cpu: float) -> None:
        """Keep one answer."""
        outcome = answer.split()[0] if answer.startswith(("killed", "survived", "uncovered")) else answer
        result = asdict(trial.mutant) | {
            "outcome": outcome,
            "killer": answer.removeprefix("killed by ") if outcome == "killed" else "",
            "tests_run": len(trial.tests),
            "tests_covering": trial.covering,
            "cpu_seconds": round(cpu, 2),
        }
        self._take(result)
        with self.path.open("a") as out:
            out.write(json.dumps(result) + "\n")
        print(f"{answer[:110]:<60} {trial.mutant.module}:{trial.mutant.line} {trial.mutant.change[:70]}", flush=True)

    def is_done(self, mutant: Mutant) -> bool:
        """Say whether a mutant has met all the tests it is to meet."""
        return int(self.by_key.get(mutant.key, {}).get("passes", 0)) > 1

    def outcome(self, mutant: Mutant) -> str:
        """How a mutant fared, or "" if it was not tried."""
        return str(self.by_key.get(mutant.key, {}).get("outcome", ""))


def table(results: Iterable[Mapping[str, Any]], lost: Sequence[str], cpu: float, earlier: Mapping[str, str]) -> str:
    """Write the result for a reader: a row for each room, then each mutant that no test noticed."""
    every = list(results)
    rooms = list(dict.fromkeys(each["room"] for each in every))
    rows = [f"{'room':<12}{'sampled':>9}{'killed':>9}{'survived':>10}{'uncovered':>11}{'killed of covered':>20}"]
    for room in [*rooms, "all"]:
        of = [each for each in every if room in (each["room"], "all")]
        by = Counter(each["outcome"] for each in of)
        share = 100 * by["killed"] / max(1, len(of) - by["uncovered"])
        rows.append(f"{room:<12}{len(of):>9}{by['killed']:>9}{by['survived']:>10}{by['uncovered']:>11}{share:>18.1f} %")
    rows += ["", f"{cpu:.0f} s of CPU for the mutants"]
    if lost:
        rows += [f"{len(lost)} of the earlier mutants are no more: {', '.join(lost)}"]
    for each in every:
        before = earlier.get(each["was"], each["outcome"])
        if before != each["outcome"]:
            rows += [f"{each['key']} (was {each['was']}) {before} before, {each['outcome']} now"]
    for room in rooms:
        left = [each for each in every if each["room"] == room and each["outcome"] != "killed"]
        rows += ["", f"{room}: {len(left)} not killed"]
        for each in sorted(left, key=lambda one: (one["module"], one["line"])):
            rows += [
                f"  {each['key']} {each['module']}:{each['line']} in {each['function']}, {each['kind']}, "
                f"{each['outcome']} ({each['tests_run']} of {each['tests_covering']} covering tests run)",
                f"      {each['change']}",
                f"      {each['text']}",
            ]
    return "\n".join(rows) + "\n"
