"""What went from where to where, laid out as a tree: forward from where it begins, back from where it ended."""

from collections.abc import Mapping

from cooperage.book.tracing.flows import Edge, Edges
from cooperage.book.tracing.names import Names
from cooperage.programme.recall.found import RecallBranch

_Ends = tuple[str, str]


def laid_out(
    edges: Edges, roots: Mapping[str, float], names: Names, whole: float, *, is_back: bool = False
) -> list[RecallBranch]:
    """Lay edges out as a tree, the larger first; what is reached a second time is not unfolded again.

    `roots` are where it begins, and how much [ml]; `whole` is all that is traced [ml]; `is_back` is against the edges.
    """
    below = _below(edges, is_back=is_back)
    lines: list[RecallBranch] = []
    shown: set[str] = set()
    ahead: list[tuple[int, str, _Ends | None]] = [(0, root, None) for root in reversed(list(roots))]
    while ahead:
        depth, place, ends = ahead.pop()
        edge = edges[ends] if ends is not None else Edge(ml=roots[place])
        is_above = place in shown and place in below
        lines.append(_branch(depth, place, edge, names, whole, is_above=is_above))
        if not is_above:
            shown.add(place)
            ahead += [(depth + 1, child, each) for child, each in reversed(below.get(place, []))]
    return lines


def _below(edges: Edges, *, is_back: bool) -> dict[str, list[tuple[str, _Ends]]]:
    found: dict[str, list[tuple[str, _Ends]]] = {}
    for ends in sorted(edges, key=lambda ends: (-edges[ends].ml, ends)):
        parent, child = ends[::-1] if is_back else ends
        found.setdefault(parent, []).append((child, ends))
    return found


def _branch(depth: int, place: str, edge: Edge, names: Names, whole: float, *, is_above: bool) -> RecallBranch:
    return RecallBranch(
        depth,
        names.of(place),
        edge.ml,
        edge.first,
        tuple(sorted(edge.hands)),
        is_above,
        names.kind(place),
        edge.ml / whole if whole else 0.0,
        edge.last,
    )
