"""Other spellings of declared names: "KMBS" for metabisulphite, "rotten egg" for egg. Each stands beside its name."""

from collections.abc import Iterable, Mapping


def folded(text: str) -> str:
    """Return a name as it is looked up: small letters, single spaces."""
    return " ".join(text.casefold().split())


def spellings_of(declared: Mapping[str, Iterable[str]]) -> dict[str, str]:
    """Return every spelling as it is looked up, the names' own among them, with the name that it means."""
    return {folded(spelling): name for name, others in declared.items() for spelling in (name, *others)}
