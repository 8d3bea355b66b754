# Serves an SQLite file with datasette on a free port of loopback, or fills one, or changes a row of it. A server ends when
# its standard input does, so that it outlives nobody who started it.
import json
import os
import sqlite3
import sys
import threading

command, database = sys.argv[1:3]
if command == "serve":

    def leave():
        sys.stdin.read()
        os._exit(0)

    threading.Thread(target=leave, daemon=True).start()
    sys.argv = ["datasette", "serve", database, "--host", "127.0.0.1", "--port", "0"]
    from datasette.cli import cli

    cli()
else:
    told = json.load(sys.stdin)
    with sqlite3.connect(database) as opened:
        quoted = lambda name: '"' + name.replace('"', '""') + '"'
        if command == "fill":
            for table, rows in told.items():
                columns = list(rows[0])
                listed = ", ".join(map(quoted, columns))
                opened.execute(f"create table {quoted(table)} ({listed})")
                places = ", ".join("?" * len(columns))
                values = [[row.get(column) for column in columns] for row in rows]
                opened.executemany(f"insert into {quoted(table)} values ({places})", values)
        else:
            changes = ", ".join(f"{quoted(name)} = ?" for name in told["become"])
            where = " and ".join(f"{quoted(name)} = ?" for name in told["where"])
            values = [*told["become"].values(), *told["where"].values()]
            done = opened.execute(f"update {quoted(told['table'])} set {changes} where {where}", values)
            assert done.rowcount == 1, done.rowcount
