"""Measure how strong the tests are: change the code a little in many places, and see which changes no test notices.

    python -m tests.benchmarks.mutants --out /tmp/mutants    # sample, measure, run, write results.json and .txt
    python -m tests.benchmarks.mutants --out /tmp/later --again tests/benchmarks/mutants_of_0_1.json

The second finds the same changes again in code that has moved; that file holds what the tests of 0.1 noticed.

Each mutant is one small change of one expression. The sample is drawn by a fixed seed, room by room. One pass with
`coverage` finds which tests run which line; then each mutant meets only the tests that run its line, the quick ones
first, until one fails. Nothing is written into the tree: a mutant lives in a forked child, where it takes the place of
the function's code, or of the whole module where the code has already run while it was imported.
"""

import argparse
import json
import math
import os
import sys
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from tests.benchmarks.mutants.choosing import Trial, choose, needs_import, trials_of
from tests.benchmarks.mutants.reach import Reach, measure, read_reach
from tests.benchmarks.mutants.results import Results, table
from tests.benchmarks.mutants.sample import ROOMS, Mutant, find_again, sample
from tests.benchmarks.mutants.trials import CANNOT_BE_SWAPPED_IN, try_cold, try_warm

TESTS = (
    "tests/book",
    "tests/dangers",
    "tests/units",
    "tests/liquid",
    "tests/blending",
    "tests/programme",
    "tests/tasting",
)


def _check_harness(tree: Path, tests: Sequence[str], reach: Reach) -> None:
    """Run every test as in a trial, with no mutant, and leave out what fails; a mutant must not be blamed for that."""
    nothing = Mutant("", "", "", "", 0, "", "", "", 0)
    trial = Trial(nothing, choose(reach.names, reach.seconds, len(reach.names), math.inf), math.inf, 0)
    answers: list[str] = []
    try_warm(tree, tests, [trial], lambda _, answer, __: answers.append(answer))
    for failed in answers[0].splitlines():
        print(f"without any mutant: {failed}")
        if failed != "survived":
            del reach.seconds[failed.removeprefix("killed by ")]


def run(tree: Path, tests: Sequence[str], mutants: Sequence[Mutant], reach: Reach, results: Results) -> None:
    """Try every mutant that was not tried: first against some tests, and what survives against all."""
    for wanted in ("", "survived"):
        due = [mutant for mutant in mutants if results.outcome(mutant) == wanted]
        trials = trials_of(tree, [each for each in due if not results.is_done(each)], reach, again=bool(wanted))
        for trial in (each for each in trials if not each.tests):
            results.keep(trial, "uncovered", 0.0)
        cold = [each for each in trials if each.tests and needs_import(tree, each.mutant, reach)]
        warm = [each for each in trials if each.tests and each not in cold]
        if warm:  # in a process of its own, so that this one stays free of the program
            _apart(partial(try_warm, tree, tests, warm, results.keep))
            results.read()
        unfit = [each for each in warm if results.outcome(each.mutant) == CANNOT_BE_SWAPPED_IN]
        try_cold(tree, cold + unfit, results.keep)


def main() -> None:
    """Sample, measure, run, and write the results."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--tree", type=Path, default=Path.cwd(), help="the checkout to measure")
    asked.add_argument("--out", type=Path, required=True, help="a folder for what is measured")
    asked.add_argument("--name", default="results", help="the name of the result files")
    asked.add_argument("--per-room", type=int, default=66)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--tests", nargs="*", default=list(TESTS))
    asked.add_argument("--again", type=Path, help="results of an earlier tree, whose mutants to find again")
    asked.add_argument("--renames", type=Path, help="lines of OLD=NEW, used on the earlier tree's names")
    asked.add_argument("--only-sample", action="store_true", help="list the mutants and stop")
    given = asked.parse_args()
    tree = given.tree.resolve()
    given.out.mkdir(parents=True, exist_ok=True)
    lost: list[str] = []
    earlier: dict[str, str] = {}
    if given.again:
        pairs = given.renames.read_text().splitlines() if given.renames else []
        renames = dict(pair.split("=", 1) for pair in pairs if "=" in pair)
        before = json.loads(given.again.read_text())["mutants"]
        earlier = {each["key"]: each["outcome"] for each in before}
        mutants, lost = find_again(tree, before, renames)
    else:
        mutants = [each for room in ROOMS for each in sample(tree, room, given.per_room, given.seed)]
    if given.only_sample:
        for each in mutants:
            print(f"{each.room} {each.module}:{each.line} {each.function} {each.kind}: {each.change} | {each.text}")
        print(f"{len(mutants)} mutants, {len(lost)} of the earlier ones not found")
        return
    _settle_in(tree)
    reach_file = given.out / f"{given.name}.reach.json"
    if not reach_file.exists():
        _apart(partial(measure, tree, given.tests, reach_file))
    reach = read_reach(reach_file)
    results = Results(given.out / f"{given.name}.jsonl")
    if not results.by_key:
        _apart(partial(_check_harness_into, tree, given.tests, reach, reach_file))
        reach = read_reach(reach_file)
    run(tree, given.tests, mutants, reach, results)
    done = [results.by_key[each.key] for each in mutants]
    cpu = sum(each["cpu_seconds"] for each in done)
    (given.out / f"{given.name}.json").write_text(
        json.dumps({"seed": given.seed, "lost": lost, "mutants": done}, indent=1)
    )
    (given.out / f"{given.name}.txt").write_text(table(done, lost, cpu, earlier))
    print(table(done, lost, cpu, earlier))


def _check_harness_into(tree: Path, tests: Sequence[str], reach: Reach, path: Path) -> None:
    _check_harness(tree, tests, reach)
    kept = json.loads(path.read_text())
    path.write_text(json.dumps(kept | {"seconds": reach.seconds}))


def _apart(work: Callable[[], None]) -> None:
    """Do something in a process of its own, so that this one imports nothing of the program."""
    child = os.fork()
    if child == 0:
        work()
        sys.stdout.flush()
        os._exit(0)
    os.waitpid(child, 0)


def _settle_in(tree: Path) -> None:
    """Make the run repeatable: this tree's code, no bytecode left behind, one thread, hypothesis without chance."""
    os.chdir(tree)
    sys.path.insert(0, str(tree))
    sys.dont_write_bytecode = True
    os.environ |= {
        "CI": "true",
        "PYTHONPATH": str(tree),
        "PYTHONDONTWRITEBYTECODE": "1",
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
        "COOPERAGE_TEST_POSTGRES": "postgresql://localhost:1/none",
    }


if __name__ == "__main__":
    main()
