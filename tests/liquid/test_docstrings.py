"""Every public function says its shapes, units, ranges and source, shows an example that runs, and means all of it."""

import doctest
import inspect
import re
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from typing import Any, TypeAlias

import numpy as np
import pytest

import cooperage.liquid as liquid
from cooperage.errors import CooperageError, OutOfRange

Function: TypeAlias = Callable[..., Any]

PUBLIC: list[str] = vars(liquid)["__all__"]  # made at run time, so that no type checker knows it
FUNCTIONS: dict[str, Function] = {
    name: getattr(liquid, name) for name in PUBLIC if inspect.isfunction(getattr(liquid, name))
}
SECTIONS = re.compile(r"^(\w+)\n-+\n", re.MULTILINE)
PARAMETER = re.compile(r"^(\w+) : (.+)\n    \[(.+?)\](.*(?:\n    .*)*)", re.MULTILINE)
NUMBER = r"(-?[\d.]+(?:e-?\d+)?|inf)"
RANGE = re.compile(rf", {NUMBER} (?:to {NUMBER}|or more)")
LARGEST = np.finfo(float).max
MAY_BE_UNKNOWN = {"capacity_l"}  # NaN there means: by the dimensions


def sections(function: Function) -> dict[str, str]:
    """Split a docstring at its underlined headings."""
    text = inspect.getdoc(function)
    assert text is not None
    parts = SECTIONS.split(text)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def parameters(function: Function) -> dict[str, tuple[str, str, tuple[float, float] | None]]:
    """Map each documented parameter to its kind, unit, and range (None where none is stated)."""
    found: dict[str, tuple[str, str, tuple[float, float] | None]] = {}
    for name, kind, unit, rest in PARAMETER.findall(sections(function)["Parameters"]):
        stated = RANGE.search(rest)
        limits = (float(stated[1]), float(stated[2]) if stated[2] else LARGEST) if stated else None
        found[name] = (kind, unit, limits)
    return found


@cache
def example_call(function: Function) -> tuple[list[inspect.BoundArguments], doctest.TestResults]:
    """Run the docstring's examples and return the arguments of the first call to the function itself."""
    calls: list[inspect.BoundArguments] = []

    def recorder(*args: Any, **kwargs: Any) -> Any:
        calls.append(inspect.signature(function).bind(*args, **kwargs))
        calls[-1].apply_defaults()
        return function(*args, **kwargs)

    globs = {**vars(liquid), "np": np, function.__name__: recorder}
    assert function.__doc__ is not None
    test = doctest.DocTestParser().get_doctest(function.__doc__, globs, function.__name__, None, 0)
    result = doctest.DocTestRunner(verbose=False).run(test)
    return calls, result


def called_with(function: Function, name: str, value: Any) -> Any:
    """Repeat the example with one argument changed."""
    first = example_call(function)[0][0]
    bound = inspect.BoundArguments(first.signature, type(first.arguments)(first.arguments | {name: value}))
    return function(*bound.args, **bound.kwargs)


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=FUNCTIONS)
def test_parameters_are_told_with_kind_and_unit(function: Function) -> None:
    """Names and order match the signature; a kind with a shape and a bracketed unit for each."""
    result = parameters(function)
    assert list(result) == list(inspect.signature(function).parameters)
    for kind, unit, _ in result.values():
        assert re.search(r"shape|broadcast|str|callable|sequence", kind)
        assert unit


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=FUNCTIONS)
def test_returns_source_and_errors_are_told(function: Function) -> None:
    """A shape and a unit for what comes out, the errors by name, and where the figures come from."""
    result = sections(function)
    assert "shape" in result["Returns"]
    assert re.search(r"\[.+?\]", result["Returns"])
    assert len(result["Source"].strip()) > 10
    for name in re.findall(r"^(\w+)(?:, (\w+))?(?:, (\w+))?\n    ", result["Raises"], re.MULTILINE):
        assert all(issubclass(getattr(liquid, each), CooperageError) for each in name if each)


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=FUNCTIONS)
def test_the_example_runs(function: Function) -> None:
    """And calls the function it explains."""
    calls, result = example_call(function)
    assert calls
    assert result.failed == 0


STATED = [
    (
        function,
        name,
        limit,
        f"{limits[0]:g} or more" if limits[1] >= LARGEST else f"between {limits[0]:g} and {limits[1]:g}",
    )
    for function in FUNCTIONS.values()
    for name, (kind, _, limits) in parameters(function).items()
    if limits and not kind.startswith("sequence")
    for limit in (np.nextafter(limits[0], -np.inf), float(limits[1]) * (1 + 1e-9) + 1e-9)
    if limits[1] < np.inf or limit < limits[0]
]


@pytest.mark.parametrize(
    ("function", "name", "beyond", "limits"),
    STATED,
    ids=[f"{f.__name__}-{name}-{beyond:g}" for f, name, beyond, _ in STATED],
)
def test_the_stated_range_is_kept(function: Function, name: str, beyond: float, limits: str) -> None:
    """A hair outside either end is refused, in one line that names the range, or the figures that do not agree."""
    with pytest.raises(OutOfRange) as refusal:
        called_with(function, name, beyond)
    assert "\n" not in str(refusal.value)
    assert limits in str(refusal.value) or not isinstance(refusal.value, liquid.OutsideFormula)


def test_every_number_has_a_stated_range() -> None:
    """Only names, functions, seeds and lists of values go without."""
    without = {
        (function.__name__, name)
        for function in FUNCTIONS.values()
        for name, (kind, _, limits) in parameters(function).items()
        if limits is None and kind.startswith(("array", "float", "int"))
    }
    assert without == {("monte_carlo", "seed")}


ARRAYS = [
    (function, name)
    for function in FUNCTIONS.values()
    for name, (kind, *_) in parameters(function).items()
    if kind.startswith(("array, any", "array, broadcast", "float")) and name not in MAY_BE_UNKNOWN
]


@pytest.mark.parametrize(("function", "name"), ARRAYS, ids=[f"{f.__name__}-{name}" for f, name in ARRAYS])
def test_unknown_in_unknown_out(function: Function, name: str) -> None:
    """NaN passes every check, warns of nothing, and what hangs on it is NaN (or, for a question, no)."""
    result = called_with(function, name, np.nan)
    fields = [each for each in (result if isinstance(result, tuple) else (result,)) if not isinstance(each, str)]
    assert any(np.isnan(each).any() for each in fields) or fields == [np.False_]


SINGLE = {
    name: function
    for name, function in FUNCTIONS.items()
    if all(np.ndim(each) == 0 for each in example_call(function)[0][0].arguments.values() if each is not None)
}


@pytest.mark.parametrize("function", SINGLE.values(), ids=SINGLE)
def test_one_figure_in_one_figure_out(function: Function) -> None:
    """Not an array of no dimensions, which prints and compares oddly."""
    bound = example_call(function)[0][0]
    result = function(*bound.args, **bound.kwargs)
    for each in result if isinstance(result, tuple) else (result,):
        assert isinstance(each, float | np.float64 | np.bool_ | str)


def test_importing_brings_numpy_and_nothing_heavy() -> None:
    """Start-up stays light."""
    code = "import sys, cooperage.liquid; print(*{m.split('.')[0] for m in sys.modules})"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert not {"scipy", "pandas", "textual", "sqlalchemy"} & set(loaded)


def uncertain(function: Function) -> dict[str, float]:
    """List the numbers of the example that lie inside their range, and give each an uncertainty of 0.1 per mille."""
    arguments = example_call(function)[0][0].arguments
    inside = {}
    for name, (kind, _, limits) in parameters(function).items():
        if kind.startswith("array") and arguments[name] is not None:
            assert limits is not None, name
            if limits[0] < arguments[name] < limits[1]:
                inside[name] = float(arguments[name])
    return inside


UNCERTAIN = {name: function for name, function in SINGLE.items() if uncertain(function)}


@pytest.mark.slow
@pytest.mark.parametrize("function", UNCERTAIN.values(), ids=UNCERTAIN)
def test_an_uncertainty_goes_through_every_function(function: Function) -> None:
    """First order and drawing agree on each figure that comes out, to 10 %: five times the noise of 1500 draws."""
    inside, bound = uncertain(function), example_call(function)[0][0]

    def figure(place: int | slice) -> Function:
        def of(*given: Any) -> Any:
            bound.arguments.update(zip(inside, given, strict=True))
            result = function(*bound.args, **bound.kwargs)
            return result[place] if isinstance(result, tuple) else result

        return of

    found = figure(slice(None))(*inside.values())
    numbers = [i for i, each in enumerate(found) if not isinstance(each, str)] if isinstance(found, tuple) else [0]
    values, spread = list(inside.values()), [1e-4 * abs(value) for value in inside.values()]
    for place in numbers:
        first = liquid.first_order(figure(place), values, spread).standard_uncertainty
        drawn = liquid.monte_carlo(figure(place), values, spread, draws=1500).standard_uncertainty
        assert drawn == pytest.approx(first, rel=0.1, abs=1e-12)
