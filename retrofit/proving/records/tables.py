"""How a file of records is laid out: format 1."""

from __future__ import annotations

APPLICATION = 0x52434E50
"""What marks the file as ours, in the place that SQLite's file format keeps for it."""
FORMAT = 1

TABLES = (
    "CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL)",
    """CREATE TABLE runs (
        number INTEGER PRIMARY KEY, division TEXT NOT NULL, digest TEXT NOT NULL, kind TEXT NOT NULL,
        port TEXT NOT NULL, who TEXT NOT NULL, began TEXT NOT NULL, course TEXT NOT NULL,
        state TEXT NOT NULL, ended TEXT NOT NULL DEFAULT '')""",
    """CREATE TABLE entries (
        place INTEGER PRIMARY KEY, run INTEGER NOT NULL REFERENCES runs, kind TEXT NOT NULL,
        time_us INTEGER NOT NULL, data BLOB NOT NULL)""",
    "CREATE INDEX entries_of_run ON entries (run, place)",
    """CREATE TABLE points (
        run INTEGER NOT NULL REFERENCES runs, point TEXT NOT NULL, words TEXT NOT NULL, of_group TEXT NOT NULL,
        verdict TEXT NOT NULL, strokes INTEGER NOT NULL, bounces INTEGER NOT NULL,
        longest_bounce_us INTEGER NOT NULL, shortest_on_us INTEGER, remark TEXT NOT NULL)""",
    """CREATE TABLE remarks (
        run INTEGER NOT NULL REFERENCES runs, what TEXT NOT NULL, subject TEXT NOT NULL, words TEXT NOT NULL)""",
    """CREATE TABLE readings (
        run INTEGER NOT NULL REFERENCES runs, what TEXT NOT NULL, place TEXT NOT NULL, at_visit TEXT NOT NULL,
        value REAL NOT NULL, unit TEXT NOT NULL, UNIQUE (run, what, place, at_visit))""",
)
