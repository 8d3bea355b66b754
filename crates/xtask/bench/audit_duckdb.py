"""Runs audit.sql in DuckDB with two threads, and writes its findings as JSON Lines.

Must not know the rule. Start reading at `main`.

    python audit_duckdb.py BOOK AS_OF ANSWER
"""

import os
import sys
from pathlib import Path

import duckdb


def main(book, as_of, answer):
    """The paths in the SQL are those of the book's folder."""
    audit = Path(__file__).with_name("audit.sql").read_text()
    answer = Path(answer).resolve()
    os.chdir(book)
    connection = duckdb.connect(config={"threads": 2, "preserve_insertion_order": False})
    connection.execute("SET VARIABLE as_of = $1::TIMESTAMPTZ", [as_of])
    connection.execute(audit)
    connection.execute("COPY finding TO $1 (FORMAT json)", [str(answer)])


if __name__ == "__main__":
    main(*sys.argv[1:])
