"""The cellar's own vocabulary: attributes that are scored and tasting words, shipped ones and its own.

What is shipped (`starter`) stands in the book only once the cellar changed or used it, so every lookup lays the book's
rows over it. A term keeps its id when it is renamed: figures of an attribute stay one line through time, and a word
that was written under its former name still counts as it.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Connection, insert, select

from cooperage.book import Book
from cooperage.book.declared.allowed import LONGEST_CODE, check_text
from cooperage.book.declared.spelling import folded
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.tables import TERM
from cooperage.errors import BadInput, did_you_mean
from cooperage.tasting.flights import starter
from cooperage.tasting.flights.scales import OVERALL, scale_named

PARTS = ("look", "nose", "palate", "finish", "overall")
"""The parts of a tasting, in the order in which a glass is tasted."""
ATTRIBUTE, WORD = "attribute", "word"
KINDS_OF_TERM = (ATTRIBUTE, WORD)
_APART = re.compile(r"[;,=]")  # they stand between terms, and between an attribute and its figure
_COLUMNS = ("score", "words", "verdict", "glass", "taster", "flight", "place", OVERALL)
"""What an attribute cannot be called: columns of a score sheet."""


class NoSuchTerm(BadInput):
    """A name that is no attribute, or no word, of the vocabulary."""

    def __init__(self, kind: str, name: str, known: Iterable[str]) -> None:
        self.name = name
        hint = did_you_mean(name, known, f"; `cooperage taste words` lists them, `taste words add {kind}` adds one")
        super().__init__(f"there is no {kind} '{name}' in the vocabulary{hint}")


@dataclass(frozen=True, slots=True)
class Term:
    """An attribute or a tasting word. `part` and `scale` are an attribute's; `formerly` are its names of the past."""

    id: str
    kind: str
    name: str
    family: str = ""
    part: str = ""
    scale: str = ""
    is_fault: bool = False
    formerly: tuple[str, ...] = ()
    retired_at: datetime | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Every name it is found by, the present one first."""
        return (self.name, *self.formerly)


def shipped() -> list[Term]:
    """List the terms that come with the program."""
    attributes = [
        Term(f"{ATTRIBUTE}-{name.replace(' ', '-')}", ATTRIBUTE, name, family, part, scale)
        for name, part, family, scale in starter.attributes()
    ]
    words = [
        Term(f"{WORD}-{name.replace(' ', '-')}", WORD, name, family, is_fault=is_fault)
        for name, family, is_fault in starter.words()
    ]
    return attributes + words


def vocabulary_in(connection: Connection) -> list[Term]:
    """List every term, retired ones too: attributes as a glass is tasted, then words by family."""
    own = {row["id"]: _term(dict(row)) for row in connection.execute(select(TERM).order_by(TERM.c.name)).mappings()}
    terms = [own.pop(term.id, term) for term in shipped()] + list(own.values())
    families = list(dict.fromkeys(term.family for term in terms))
    return sorted(
        terms,
        key=lambda term: (
            KINDS_OF_TERM.index(term.kind),
            PARTS.index(term.part) if term.part in PARTS else len(PARTS),
            families.index(term.family),
        ),
    )


def vocabulary(book: Book, *, with_retired: bool = False) -> list[Term]:
    """List the terms in use; with the retired ones where asked for."""
    with book.reading() as connection:
        return [term for term in vocabulary_in(connection) if with_retired or term.retired_at is None]


def _term(row: dict[str, object]) -> Term:
    return Term(**row | {"is_fault": bool(row["is_fault"]), "formerly": tuple(row["formerly"])})  # type: ignore[arg-type]


def find_term(terms: Sequence[Term], kind: str, name: str) -> Term:
    """Find a term by its name, or one it had before; one in use before a retired one. Raises NoSuchTerm."""
    wanted = folded(name)
    of_kind = sorted((term for term in terms if term.kind == kind), key=lambda term: term.retired_at is not None)
    by_name = [term for term in of_kind if folded(term.name) == wanted]
    by_name += [term for term in of_kind if wanted in map(folded, term.formerly)]
    if by_name:
        return by_name[0]
    raise NoSuchTerm(kind, name, [term.name for term in of_kind if term.retired_at is None])


def suggested(terms: Iterable[Term], beginning: str, most: int = 8) -> list[str]:
    """Return the tasting words in use that begin as typed, then those of which a later word does."""
    wanted = folded(beginning)
    names = [term.name for term in terms if term.kind == WORD and term.retired_at is None]
    first = [name for name in names if wanted and folded(name).startswith(wanted)]
    later = [name for name in names if name not in first and wanted and f" {wanted}" in folded(name)]
    return (first + later)[:most]


def words_of(terms: Iterable[Term], text: str) -> list[Term | str]:
    """Return what a text of tasting words holds, parted by commas: terms of the vocabulary, or free words as typed."""
    by_name = {folded(name): term for term in terms if term.kind == WORD for name in reversed(term.names)}
    parts = [part.strip() for part in text.split(",")]
    return [by_name.get(folded(part), part) for part in parts if part]


def checked_term(term: Term) -> Term:
    """Return a term as it is kept; raises BadInput."""
    name = check_text(" ".join(term.name.split()), f"the {term.kind}'s name", LONGEST_CODE)
    if not name or _APART.search(name) or not name[0].isalpha():
        raise BadInput(f"'{term.name}' cannot be a name; begin with a letter and leave out , ; and =")
    family = check_text(term.family.strip(), "the family", LONGEST_CODE)
    if term.kind == WORD:
        return replace(term, name=name, family=family, part="", scale="")
    if folded(name) in _COLUMNS:
        raise BadInput(f"'{name}' is what a score sheet calls something else; give the attribute another name")
    if term.part not in PARTS:
        raise BadInput(f"'{term.part}' is no part of a tasting; give one of {', '.join(PARTS)}")
    return replace(term, name=name, family=family, scale=scale_named(term.scale), is_fault=False)


def keep_term(connection: Connection, term: Term) -> None:
    """Write a term as it is now, in a transaction of the caller's."""
    row = {name: getattr(term, name) for name in Term.__slots__}
    row |= {"is_fault": int(term.is_fault), "formerly": list(term.formerly)}
    there = connection.execute(select(TERM.c.id).where(TERM.c.id == term.id)).first()
    if there is None:
        connection.execute(insert(TERM), row)
    else:
        connection.execute(TERM.update().where(TERM.c.id == term.id).values(row))


def _refuse_if_there(terms: Sequence[Term], term: Term) -> None:
    if any(
        other.kind == term.kind and other.id != term.id and folded(other.name) == folded(term.name) for other in terms
    ):
        raise AlreadyThere(term.kind, term.name)


def add_term(
    book: Book,
    kind: str,
    name: str,
    *,
    family: str = "",
    part: str = "palate",
    scale: str = starter.INTENSITY,
    is_fault: bool = False,
) -> Term:
    """Add an attribute or a word; one that was retired is in use again, as it is given now.

    Raises AlreadyThere, NotAScale, BadInput.
    """
    with book.writing() as session:
        terms = vocabulary_in(session.connection)
        new = checked_term(Term(session.new_id(), kind, name, family, part, scale, is_fault))
        retired = [
            term for term in terms if term.kind == kind and folded(term.name) == folded(new.name) and term.retired_at
        ]
        if retired:
            new = replace(new, id=retired[0].id, formerly=retired[0].formerly)
        _refuse_if_there(terms, new)
        keep_term(session.connection, new)
        return new


def rename_term(book: Book, kind: str, name: str, new_name: str) -> Term:
    """Give an attribute or a word another name, everywhere; it is still found by the old one.

    Raises NoSuchTerm, AlreadyThere, BadInput.
    """
    with book.writing() as session:
        terms = vocabulary_in(session.connection)
        term = find_term(terms, kind, name)
        renamed = checked_term(replace(term, name=new_name))
        formerly = dict.fromkeys((term.name, *term.formerly))
        renamed = replace(renamed, formerly=tuple(each for each in formerly if each != renamed.name))
        _refuse_if_there(terms, renamed)
        keep_term(session.connection, renamed)
        return renamed


def retire_term(book: Book, kind: str, name: str) -> Term:
    """Take an attribute or a word out of use; what was scored and said with it stays. Raises NoSuchTerm."""
    with book.writing() as session:
        term = find_term(vocabulary_in(session.connection), kind, name)
        retired = replace(term, retired_at=term.retired_at or session.now)
        keep_term(session.connection, retired)
        return retired
