"""The guards: triggers of the database that keep the promises of the book, and whether they stand as they were made.

A row of the book is never changed or deleted, joins an entry only while that is being written, and a flight stands once
it is revealed: the migrations make the triggers, which hold against any other program too as long as they are there.
"""

from collections.abc import Mapping
from hashlib import sha256
from types import MappingProxyType

from sqlalchemy import Connection, text

SQLITE: Mapping[str, str] = MappingProxyType(
    {
        "entry_no_update": "80f1c68af12f4955",
        "entry_no_delete": "92f8765a37272d75",
        "entry_no_replace": "df4e39e759f8f6f3",
        "move_no_update": "4d830e8cf47a5760",
        "move_no_delete": "96ccc5a7aad6e58a",
        "move_no_replace": "d6cf1b78215ceea7",
        "reading_no_update": "d345b2789e9b6249",
        "reading_no_delete": "e6b1f23a7f9835a0",
        "reading_no_replace": "6c195d0d3f9e60f6",
        "bottling_no_update": "00ff8b6d3e141dcc",
        "bottling_no_delete": "e11096528482e945",
        "bottling_no_replace": "85ead46097905d06",
        "entry_strike_once": "95078aca248cd17c",
        "entry_opens": "68f9b83db70f0735",
        "open_entry_is_new": "fa306ae5bb3deeb1",
        "open_entry_no_update": "b899ea75732e93eb",
        "entry_struck_no_replace": "3e0ff63a31adf781",
        "move_while_written": "866ef801d6d6e5eb",
        "reading_while_written": "aeb4be83e0c74fd5",
        "bottling_while_written": "65a174674f076ef7",
        "flight_stands_insert": "0c8bc4039e896f5b",
        "flight_stands_update": "820984110826f1d7",
        "flight_stands_delete": "d940c5c541fd05c4",
        "glass_stands_insert": "b711996c005bee2b",
        "glass_stands_update": "132aa675966159b1",
        "glass_stands_delete": "0647d8858ba9021f",
        "score_stands_insert": "52c11d0ff38f11f3",
        "score_stands_update": "c1beae54121685cf",
        "score_stands_delete": "6e1049eea893710e",
        "together_no_update": "4a629db0969d85e0",
        "together_no_delete": "8b4e41a6665debfd",
        "together_no_replace": "eaab5109789e21b2",
        "together_while_written": "8267df762bdde024",
        "scored_stands_insert": "018640c22a1ea327",
        "scored_stands_update": "19d0fde858c89417",
        "scored_stands_delete": "af5dcbda3d2aa02d",
        "serving_stands_insert": "9d3750c18e2c8a88",
        "serving_stands_update": "4fc61285124d59b1",
        "serving_stands_delete": "fec3ada4f53a53ff",
        "peek_stands_insert": "9ffa1da60e6e1092",
        "peek_stands_update": "ed6f74f209ea4749",
        "peek_stands_delete": "5c3621dc96c8ecdc",
        "mark_stands_insert": "5a0b313d3535d847",
        "mark_stands_update": "bdc0af937050b3c0",
        "mark_stands_delete": "7b7ae3243f843b83",
        "peek_no_update": "c37653fbb7cc50f4",
        "peek_no_delete": "a3827431873c118f",
        "peek_no_replace": "780f6a345454fb04",
        "trial_no_update": "888745ab4721fcf2",
        "trial_no_delete": "78d9b5f78138977b",
        "trial_no_replace": "942a02b7f75c878c",
        "trial_flight_no_update": "87fa64b57ffce8b3",
        "trial_flight_no_delete": "47b8833f2d8b2467",
        "trial_flight_no_replace": "6d6794517ac02b09",
        "trial_withdrawn_no_update": "b143a268405439c8",
        "trial_withdrawn_no_delete": "6794285e54a50d95",
        "trial_withdrawn_no_replace": "4c5f060a12cf8496",
        "trial_code_no_replace": "090a49c47d1db776",
        "trial_session_no_replace": "7f09f937eeb90b08",
        "difference_stands_insert": "5759a88adbb4d99b",
        "difference_stands_update": "4dc258e20ff462e5",
        "difference_stands_delete": "d9d9a8cb30455e9b",
        "presented_stands_insert": "9da650f43e089888",
        "presented_stands_update": "b0a3fe766ec9c4c2",
        "presented_stands_delete": "0f74aaaba53e8f2d",
        "answer_stands_insert": "577d9e50a29560f1",
        "answer_stands_update": "f2ef0852bf631f1f",
        "answer_stands_delete": "eaedce9808171653",
        "departed_stands_insert": "2e567b3080ce24cb",
        "departed_stands_update": "9f2e8f6e2f4e9fc0",
        "departed_stands_delete": "cc970824837b7318",
        "barrel_trial_no_update": "694080a468f3d48d",
        "barrel_trial_no_delete": "bfb080c7c8ae0f24",
        "barrel_trial_no_replace": "15c123c531dbf7f6",
        "barrel_trial_barrel_no_update": "5a88233ad5809d07",
        "barrel_trial_barrel_no_delete": "47f21a4da5da1a42",
        "barrel_trial_barrel_no_replace": "884810ea562ad6bd",
        "barrel_trial_flight_no_update": "80cf87e82e3bc095",
        "barrel_trial_flight_no_delete": "5ea9f7dce656f318",
        "barrel_trial_flight_no_replace": "4eb9d49dc4404c31",
        "barrel_trial_withdrawn_no_update": "6fcf2c645162ebdd",
        "barrel_trial_withdrawn_no_delete": "c985ddba41317c4e",
        "barrel_trial_withdrawn_no_replace": "4c6ebc7517831c5e",
        "barrel_trial_barrel_complete": "1d7f4c9bacc34909",
        "bottle_move_no_update": "8d63657e4cce804b",
        "bottle_move_no_delete": "5fb745a0950f0527",
        "bottle_move_no_replace": "d8d0644433df64b8",
        "bottle_move_while_written": "949f70c1ff11301a",
        "price_no_update": "2b3f57d0188e1acb",
        "price_no_delete": "6777a347655b490e",
        "price_no_replace": "6ae0447e93191e40",
        "period_no_update": "81f11dffe322c3a8",
        "period_no_delete": "6a6345fba7cf4508",
        "period_no_replace": "9aada5b12c3097df",
        "filed_figure_no_update": "a334e57ce45a259f",
        "filed_figure_no_delete": "e2df03981147c7e5",
        "filed_figure_no_replace": "f7fc4398ecde7af0",
        "filed_entry_no_update": "3dad45d9338f1502",
        "filed_entry_no_delete": "7745c676216e0d77",
        "filed_entry_no_replace": "0c04bfc8657bc079",
        "filed_figure_while_filed": "fa60233b1b9fa0c1",
        "filed_entry_while_filed": "975a274b3f72e93c",
        "own_rule_no_update": "a74c58814c0bbbc0",
        "own_rule_no_delete": "187c85a5a58cabb3",
        "own_rule_no_replace": "0599490319fb8e9c",
        "risks_passed_no_update": "7af05cc5a7b2dad0",
        "risks_passed_no_delete": "51432160a9096a8b",
        "risks_passed_no_replace": "f3c2ff46ba112492",
        "honey_no_update": "7384887fdf6910ae",
        "honey_no_delete": "10230ed354ecd2f8",
        "honey_no_replace": "58e9d4b1eaf3fbf2",
        "batch_no_update": "b3e5abf6acaf3f9a",
        "batch_no_delete": "98a5bed12fede618",
        "batch_no_replace": "9098a26a0a210722",
        "run_no_update": "8da7a0af6fff2f16",
        "run_no_delete": "6d8742bd731c3e38",
        "run_no_replace": "a96f38a9043c8b86",
        "run_line_no_update": "3f3886e2666521eb",
        "run_line_no_delete": "7cfb5e9aefe8a4f2",
        "run_line_no_replace": "b00410c7217f3414",
        "run_closed_no_update": "78efe32a17695468",
        "run_closed_no_delete": "c605f9ae1e996a81",
        "run_closed_no_replace": "5fca09030ff68a7c",
    }
)
"""The digest of every guard on SQLite, by its name: of its table and of the statement that made it."""

POSTGRESQL: Mapping[str, str] = MappingProxyType(
    {
        "bottling_kept": "11c661cbf93d18c8",
        "bottling_not_emptied": "02221daf11c8b543",
        "bottling_while_written": "a7cf00d6336ddd5b",
        "entry_kept": "2b035ce2aaa6ca25",
        "entry_not_emptied": "abb635e8cae50a37",
        "entry_strike_once": "fb04e3b5702777a5",
        "entry_opens": "dd8e00199ed85936",
        "flight_not_emptied": "e778286bcc07b83b",
        "flight_stands": "4a4c9c1e1111cde4",
        "glass_not_emptied": "204fae846910c691",
        "glass_stands": "9ddcbd563edaf7ae",
        "move_kept": "cb0a0d20f91a5800",
        "move_not_emptied": "b26496d93d5800d3",
        "move_while_written": "afdb0f99b33acca9",
        "open_entry_is_new": "638ec7c26490c3be",
        "reading_kept": "eb8746da663d8e49",
        "reading_not_emptied": "206f0663e48a0832",
        "reading_while_written": "0502069fb231adbe",
        "score_not_emptied": "b4550b21feece058",
        "score_stands": "ac5092cffb3a3187",
        "together_kept": "d4a5086b10415934",
        "together_not_emptied": "7942a5b0fe0570ec",
        "together_while_written": "8ec6b51e3f2c79fb",
        "scored_stands": "ada59299bf888dbf",
        "serving_stands": "ba6bb4d983898ca6",
        "peek_stands": "c73b2880f686a1c9",
        "mark_stands": "eafd1a8e1a2b6dcf",
        "peek_kept": "51ec31ad8f2e0c15",
        "scored_not_emptied": "3599b9617e76b104",
        "serving_not_emptied": "ba271d008f6e9f09",
        "peek_not_emptied": "32df21faaeaba017",
        "mark_not_emptied": "5607cb2509e67019",
        "trial_kept": "15f0969fdaad01a6",
        "trial_not_emptied": "ef3bd7cd124df399",
        "trial_flight_kept": "d1bf40c45ec97b4b",
        "trial_flight_not_emptied": "fe63b4328a8801fe",
        "trial_withdrawn_kept": "0aa6ca7b221df522",
        "trial_withdrawn_not_emptied": "e15102eb16e5587d",
        "answer_stands": "dcc472b12efe7787",
        "answer_not_emptied": "1f46232d760cc2f1",
        "departed_stands": "a0565e270091d746",
        "departed_not_emptied": "983e8c2ae5e0f2f6",
        "difference_stands": "af1656792733d11e",
        "difference_not_emptied": "9cfc9ef01c224839",
        "presented_stands": "7fe42cdb3726e86a",
        "presented_not_emptied": "e7732dffaf4702a9",
        "barrel_trial_kept": "bb56b63fe7aa23e3",
        "barrel_trial_not_emptied": "29373aaeb9a7caec",
        "barrel_trial_barrel_kept": "eaf7c8034fe91fbc",
        "barrel_trial_barrel_not_emptied": "56d81e1608616494",
        "barrel_trial_barrel_complete": "5deca32edd357750",
        "barrel_trial_flight_kept": "402e5063dcfd91e2",
        "barrel_trial_flight_not_emptied": "61542de21d2a17ef",
        "barrel_trial_withdrawn_kept": "a20317bfe5f2289f",
        "barrel_trial_withdrawn_not_emptied": "4e10ba393c19ad36",
        "bottle_move_kept": "d21f81448dafe6c3",
        "bottle_move_not_emptied": "84d9b2e033fd8a90",
        "bottle_move_while_written": "45acfd616bee9387",
        "price_kept": "ca1f0a6cd0e13427",
        "price_not_emptied": "f4a41a649139927d",
        "filed_entry_kept": "0b8d86ba5c793a32",
        "filed_entry_not_emptied": "3c63c0590b74b685",
        "filed_entry_while_filed": "2827a5d5383bdf21",
        "filed_figure_kept": "dd4e426abfb288cd",
        "filed_figure_not_emptied": "a653fbf9dcac0791",
        "filed_figure_while_filed": "415ec3d2e3fe24a8",
        "period_kept": "d6036ab9934cbae3",
        "period_not_emptied": "bb53535c515665cd",
        "own_rule_kept": "b280d1e5f2c2baae",
        "own_rule_not_emptied": "b08aab9b739463ff",
        "risks_passed_kept": "d14fb7b3d583548b",
        "risks_passed_not_emptied": "f83dc03e67907da7",
        "honey_kept": "ff34d040a560cc90",
        "honey_not_emptied": "bdc0538317428edb",
        "batch_kept": "c1ce6067cfa268f7",
        "batch_not_emptied": "cd5c160d6c176b6b",
        "run_kept": "58436adc33e68a9d",
        "run_not_emptied": "7f402652ecbbf32e",
        "run_closed_kept": "5d69bc465d6fc3e6",
        "run_closed_not_emptied": "a8f6606fc63a3404",
        "run_line_kept": "b5b0324c0375f54d",
        "run_line_not_emptied": "731e276af8d1aba0",
    }
)
"""The digest of every guard on PostgreSQL, by its name: of its table, when it fires, and what its function does."""

_ON_SQLITE = text("SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'")
_ON_POSTGRESQL = text(
    "SELECT t.tgname, c.relname, concat_ws(' ', t.tgtype, t.tgqual IS NOT NULL, p.proname, p.prosrc), t.tgenabled "
    "FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid "
    "WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace"
)
_FIRES = ("O", "A")  # in every session but a replica's, or in all (PostgreSQL, pg_trigger.tgenabled)


def declared_guards(connection: Connection) -> Mapping[str, str]:
    """Return the digest of every guard that must stand in this database, by name."""
    return SQLITE if connection.dialect.name == "sqlite" else POSTGRESQL


def standing_guards(connection: Connection) -> dict[str, str]:
    """Return the digest of every trigger that stands in this database and is switched on, by name."""
    if connection.dialect.name == "sqlite":
        return {name: _digest(table, made) for name, table, made in connection.execute(_ON_SQLITE)}
    rows = connection.execute(_ON_POSTGRESQL)
    return {name: _digest(table, made) for name, table, made, enabled in rows if enabled in _FIRES}


def _digest(table: str, made: str) -> str:
    return sha256(f"{table} {' '.join(made.split())}".encode()).hexdigest()[:16]


def missing_guards(connection: Connection) -> list[str]:
    """Name the guards that are gone, switched off, or not as they were made."""
    standing = standing_guards(connection)
    return [name for name, digest in declared_guards(connection).items() if standing.get(name) != digest]
