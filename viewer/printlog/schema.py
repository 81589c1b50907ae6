"""The tables of the store, as SQL."""

from typing import Final

MIGRATIONS: Final = (
    """
    CREATE TABLE card (
        id INTEGER PRIMARY KEY, text TEXT NOT NULL UNIQUE
    );
    CREATE TABLE spool (
        id INTEGER PRIMARY KEY, label TEXT NOT NULL UNIQUE, filament TEXT NOT NULL,
        full_g REAL NOT NULL CHECK (full_g > 0), tare_g REAL CHECK (tare_g >= 0), begun TEXT NOT NULL, emptied TEXT
    );
    CREATE TABLE weighing (
        id INTEGER PRIMARY KEY, spool_id INTEGER NOT NULL REFERENCES spool ON DELETE CASCADE,
        at TEXT NOT NULL, gross_g REAL NOT NULL CHECK (gross_g >= 0)
    );
    CREATE TABLE print (
        id INTEGER PRIMARY KEY, uid TEXT NOT NULL UNIQUE, program TEXT NOT NULL, sha256 TEXT NOT NULL,
        printer TEXT NOT NULL, filament TEXT NOT NULL,
        printer_card_id INTEGER REFERENCES card, filament_card_id INTEGER REFERENCES card,
        computed_s REAL NOT NULL, parts_s TEXT NOT NULL, computed_g REAL NOT NULL,
        started TEXT NOT NULL, ended TEXT NOT NULL,
        outcome TEXT NOT NULL CHECK (outcome IN ('done', 'stopped', 'failed')),
        layer INTEGER, reason TEXT NOT NULL, words TEXT NOT NULL, weight_g REAL,
        spool_id INTEGER REFERENCES spool ON DELETE SET NULL,
        charge REAL, currency TEXT NOT NULL, for_whom TEXT NOT NULL, note TEXT NOT NULL, invented INTEGER NOT NULL
    );
    CREATE INDEX print_started ON print (started);
    CREATE INDEX print_printer ON print (printer, started);
    CREATE INDEX print_sha256 ON print (sha256);
    CREATE INDEX print_spool ON print (spool_id);
    """,
)
"""What leads from each version of the schema to the next; the version is kept in the file (PRAGMA user_version)."""

SELECT_PRINTS: Final = """
    SELECT print.*, spool.label AS spool, p.text AS printer_card, f.text AS filament_card FROM print
    LEFT JOIN spool ON spool.id = print.spool_id
    LEFT JOIN card AS p ON p.id = print.printer_card_id LEFT JOIN card AS f ON f.id = print.filament_card_id
"""

SELECT_ENTRIES: Final = """
    SELECT print.id, started, ended, program, printer, print.filament, computed_s, COALESCE(weight_g, computed_g),
    outcome, layer, reason, words, spool.label, charge, currency, for_whom, note, invented FROM print
    LEFT JOIN spool ON spool.id = print.spool_id ORDER BY started DESC, print.id DESC LIMIT ?
"""
"""The columns of `rows.Entry`, in its order."""
