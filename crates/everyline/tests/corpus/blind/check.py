#!/usr/bin/env python3
"""Reads every source by its truth.json with ordinary libraries and compares what comes out with exchange/.

Usage: check.py [FOLDER]. Ends with 1 where anything differs. What truth.json does not say (how a time or an amount is
spelled, which rows are filled in once) stands in HINTS.
"""
import csv
import datetime as dt
import io
import json
import os
import re
import sys
from decimal import Decimal
from zoneinfo import ZoneInfo

HERE = os.path.dirname(os.path.abspath(__file__))
SUPPLIER_TABLES = ("variants", "links", "submissions", "submission_lines", "parcels", "parcel_lines")
PARENT = {"order_lines": "order_id", "submission_lines": "submission_id"}
KEY = {"orders": ["order_id"], "order_lines": ["order_id", "line_id"], "offers": ["listing_id", "options"], "variants": ["variant_id"],
       "links": ["sku", "variant_id"], "submissions": ["submission_id"], "submission_lines": ["submission_id", "line_id"],
       "parcels": ["parcel_id"], "parcel_lines": ["parcel_id", "submission_line_id"]}
TIMES = ("placed_at", "paid_at", "received_at", "dispatched_at", "updated_at")
MONEY = ("unit_price", "price", "unit_cost")
PRECEDENCE = ["cancelled", "rejected", "dispatched", "held", "making", "unpaid", "open", "received"]
ENCODING = {"till-roll.csv": "cp1252", "journal.csv": "cp1252", "journal_posten.csv": "cp1252", "commandes_atelier.tsv": "utf-16"}
FILLED_ONCE = {"till-roll.csv": 7, "druckzettel.csv": 5}
MINOR = {"getOrders.json", "getThings.json", "queue.jsonl", "orders.jsonl", "pages.jsonl"}
FORMS = {"till-roll.csv": "%d/%m/%Y %H:%M", "journal.csv": "%d.%m.%Y %H:%M", "commandes_atelier.tsv": "%d/%m/%Y %H:%M", "book-page-1.json": "%m/%d/%Y %I:%M %p",
         "runs.json": "%m/%d/%Y %I:%M %p", "cartons.csv": "%m/%d/%Y %I:%M %p", "pedidos.csv": "%d/%m/%Y %H:%M:%S", "piecework.csv": "%Y-%m-%d %H:%M",
         "kit-desk.xlsx": "%m/%d/%Y %I:%M %p", "worklist.tsv": "%Y-%m-%d %H:%M:%S", "druckzettel.csv": "%d.%m.%y %H:%M", "desk.csv": "%Y/%m/%d %H:%M:%S"}


def sheet_rows(path):
    if path.endswith(".xlsx"):
        import openpyxl
        return [list(r) for r in openpyxl.load_workbook(path).active.iter_rows(values_only=True)]
    if path.endswith(".ods"):
        from odf.opendocument import load
        from odf.table import TableCell, TableRow
        from odf import teletype
        rows = []
        for row in load(path).spreadsheet.getElementsByType(TableRow):
            cells = []
            for cell in row.getElementsByType(TableCell):
                kind = cell.getAttribute("valuetype")
                cells.append(dt.datetime.fromisoformat(cell.getAttribute("datevalue")) if kind == "date"
                             else Decimal(cell.getAttribute("value")) if kind == "float" else teletype.extractText(cell) or None)
            rows.append(cells)
        return rows
    name = os.path.basename(path)
    text = open(path, "rb").read().decode(ENCODING.get(name, "utf-8-sig"))
    first = text.split("\n", 1)[0]
    mark = max(",;\t", key=first.count)
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=mark))


def records_of_table(path, headers):
    name, rows = os.path.basename(path), sheet_rows(path)
    top = next(i for i, r in enumerate(rows) if set(headers) <= set(r))
    head, out, last = rows[top], [], []
    assert len([h for h in head if h]) == len({h for h in head if h}), (path, "headers repeat")
    for r in rows[top + 1:]:
        r = list(r) + [None] * (len(head) - len(r))
        once = FILLED_ONCE.get(name, 0)
        if once and r[0] in (None, ""):
            r = [last[i] if i < once or (v in ("", None) and head[i] in ("Carriage", "Abgang", "Paketnr")) else v for i, v in enumerate(r)]
        last = r
        out.append(dict(zip(head, r)))
    return out


def members(value):
    return list(value.values()) if isinstance(value, dict) else value or []


def walk(value, path):
    """The value at a path without [*], or None."""
    for key in [k for k in path.split(".") if k]:
        value = value.get(key) if isinstance(value, dict) else None
    return value


def records_of_json(path, places):
    """One record for each member of the deepest list that the places go through: place -> value."""
    text = open(path, encoding="utf-8").read()
    tops = [json.loads(l) for l in text.splitlines()] if path.endswith(".jsonl") else [json.loads(text)]
    deepest = max(places, key=lambda p: p.count("[*]"))
    steps = deepest.split("[*]")[:-1]
    chains = [[t] for t in tops]
    for step in steps:
        chains = [c + [m] for c in chains for m in members(walk(c[-1], step.lstrip(".")))]
    out = []
    for c in chains:
        record = {}
        for p in places:
            parts = p.split("[*]")
            assert parts[:-1] == steps[:len(parts) - 1], (path, p, deepest)
            record[p] = walk(c[len(parts) - 1], parts[-1].lstrip("."))
        out.append(record)
    return out


def as_time(value, file, zone):
    if value in (None, ""):
        return ""
    if isinstance(value, int):
        return dt.datetime.fromtimestamp(value / 1000 if value > 10**11 else value, dt.timezone.utc)
    if isinstance(value, dt.datetime):
        return value.replace(tzinfo=zone)
    if file in FORMS:
        return dt.datetime.strptime(value, FORMS[file]).replace(tzinfo=zone)
    when = dt.datetime.fromisoformat(value)
    return when if when.tzinfo else when.replace(tzinfo=zone)


def as_money(value, file):
    if value in (None, ""):
        return ""
    if isinstance(value, (int, float, Decimal)):
        d = Decimal(str(value))
        return str((d / 100 if file in MINOR else d).quantize(Decimal("0.01")))
    text = re.sub(r"[^0-9.,]", "", value)
    return str(Decimal(text.replace(",", ".")).quantize(Decimal("0.01")))


def as_options(values, names):
    """What the true choices say, from the places of the options: place -> value."""
    found = {}
    for place, value in values.items():
        last = re.sub(r" \d+$", "", re.split(r"[.\]]", place)[-1] if "." in place and "[*]" in place else place)
        if isinstance(value, dict):
            found.update(value)
        elif isinstance(value, list):
            found.update({o["name"]: o["value"] for o in value})
        elif value in (None, ""):
            continue
        elif last in names:
            found[last] = value
        else:
            for part in re.split(r", (?=[^,:]+: )", value):
                name, _, said = part.partition(": ")
                found[name] = said
    return json.dumps({k: v for k, v in sorted(found.items()) if k in names and v not in (None, "")}, ensure_ascii=False)


def plain(value):
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (float, Decimal)) and value == int(value):
        value = int(value)
    return str(value)


def read_status(table, record, field, words, said):
    key = f"{table}.status"
    answers = []
    for place in field["at"]:
        value = plain(record[place])
        own = words.get(f"{key}@{place}")
        if own is None:
            if value:
                said.add((key, value))
            answers.append(words[key][value] if value else "")
        else:
            spelled = value if value in own else "*"
            said.add((f"{key}@{place}", spelled))
            answers.append(own[spelled])
    answers = [a for a in answers if a]
    return min(answers, key=PRECEDENCE.index) if answers else ""


def read_side(folder, side, truth, zone, tables, said):
    here = truth["storefront" if side == "storefront" else "supplier_source"]
    by_table = {}
    for f in here["fields"]:
        by_table.setdefault(f["table"], []).append(f)
    for table, fields in by_table.items():
        files = {f["file"] for f in fields}
        assert len(files) == 1, (table, files)
        file = files.pop()
        path = os.path.join(folder, side, file)
        places = [p for f in fields for p in f["at"]]
        records = records_of_json(path, places) if "json" in file else records_of_table(path, places)
        numbered = [f for f in fields if len(f["at"]) > 1 and not f.get("all") and re.search(r" \d+$", f["at"][0])]
        rows, counts = [], {}
        for record in records:
            most = max([int(re.search(r"\d+$", p).group()) for f in numbered for p in f["at"]], default=0)
            for n in range(1, most + 1) if numbered else [None]:
                row = {"supplier": truth["supplier"]} if table in SUPPLIER_TABLES else {}
                for f in fields:
                    c, at = f["column"], f["at"]
                    if f in numbered:
                        at = [p for p in at if p.endswith(f" {n}")]
                    values = {p: record[p] for p in at}
                    value = next(iter(values.values()))
                    if c == "options":
                        row[c] = as_options(values, here["options"][table])
                    elif c == "status":
                        row[c] = read_status(table, record, f, here["words"], said)
                    elif c in TIMES:
                        row[c] = as_time(" ".join(values.values()) if f.get("all") else value, file, zone)
                    elif c in MONEY:
                        row[c] = as_money(value, file)
                    else:
                        row[c] = plain(value)
                if numbered and not row["quantity"]:
                    continue
                if table == "parcels" and not row["parcel_id"]:
                    continue
                if side == "supplier":
                    for c, rule in (("order_ref", here["order_ref"]), ("sku", here["sku"])):
                        if row.get(c):
                            assert row[c].startswith(rule["prefix"]) and row[c].endswith(rule["suffix"]), (table, c, row[c])
                            row[c] = row[c][len(rule["prefix"]):len(row[c]) - len(rule["suffix"])]
                if table in PARENT and "line_id" not in row:
                    whole = row[PARENT[table]]
                    counts[whole] = counts.get(whole, 0) + 1
                    row["line_id"] = str(counts[whole])
                rows.append(row)
        tables[table] = rows


def comparable(row):
    out = {}
    for k, v in row.items():
        if k in TIMES and v:
            v = dt.datetime.fromisoformat(v) if isinstance(v, str) and "T" in v else v
            if isinstance(v, str):
                v = dt.date.fromisoformat(v)
        elif k == "options":
            v = json.dumps(dict(sorted(json.loads(v).items())), ensure_ascii=False) if v else "{}"
        out[k] = v
    return out


def check(folder):
    truth = json.load(open(os.path.join(folder, "truth.json"), encoding="utf-8"))
    zone = ZoneInfo(truth["zone"])
    tables, said, wrong = {}, set(), []
    for side in ("storefront", "supplier"):
        read_side(folder, side, truth, zone, tables, said)
    written = {n[:-4] for n in os.listdir(os.path.join(folder, "exchange"))}
    if written != set(tables):
        wrong.append(f"tables differ: {written ^ set(tables)}")
    for table in sorted(written & set(tables)):
        with open(os.path.join(folder, "exchange", table + ".csv"), encoding="utf-8", newline="") as f:
            there = [comparable(r) for r in csv.DictReader(f)]
        keys = [tuple(r[k] for k in KEY[table]) for r in there]
        if len(set(keys)) != len(keys):
            wrong.append(f"{table}: keys repeat")
        here = []
        for r in (comparable(r) for r in tables[table]):
            for k in TIMES:
                if k in r and isinstance(r[k], dt.datetime) and there and not isinstance(there[0][k], (dt.datetime, str)):
                    r[k] = r[k].date()
            if r not in here:
                here.append(r)
        if here and there and set(here[0]) != set(there[0]):
            wrong.append(f"{table}: columns differ: {set(here[0]) ^ set(there[0])}")
        order = lambda rows: sorted(rows, key=lambda r: tuple(str(r[k]) for k in KEY[table]))
        for a, z in zip(order(here), order(there)):
            if a != z:
                wrong.append(f"{table}: {[(k, a[k], z.get(k)) for k in a if a[k] != z.get(k)]}")
        if len(here) != len(there):
            wrong.append(f"{table}: {len(here)} read, {len(there)} written")
    words = {(k, w) for s in ("storefront", "supplier_source") for k, m in truth[s]["words"].items() for w in m}
    if words != said:
        wrong.append(f"words differ: {words ^ said}")
    sense(tables, wrong)
    counts = " ".join(f"{t}={len(r)}" for t, r in tables.items())
    print(f"{os.path.basename(folder)}: {'agrees' if not wrong else 'DIFFERS'}  {counts}")
    for w in wrong[:8]:
        print("   ", w)
    return not wrong


def sense(tables, wrong):
    """What holds in life: rising numbers, payment after the order, dispatch after receipt, no row without its parent."""
    orders = {r["order_id"]: r for r in tables["orders"]}
    subs = {r["submission_id"]: r for r in tables["submissions"]}
    numbers = [int(re.sub(r"\D", "", k)) for k in orders]
    placed = [r["placed_at"] for r in orders.values()]
    if numbers != sorted(numbers) or placed != sorted(placed):
        wrong.append("order numbers do not rise with time")
    for r in orders.values():
        if r.get("paid_at") and r["paid_at"] < r["placed_at"]:
            wrong.append(f"paid before placed: {r['order_id']}")
    for r in tables["parcels"]:
        s = subs[r["submission_id"]]
        if r["dispatched_at"] < s["received_at"]:
            wrong.append(f"dispatched before received: {r['submission_id']}")
    sent = {}
    for r in tables["submission_lines"]:
        whole = subs[r["submission_id"]]
        ref = r.get("order_ref") or whole.get("order_ref")
        if ref not in orders:
            wrong.append(f"no such order: {ref}")
        elif whole["received_at"] < orders[ref]["placed_at"]:
            wrong.append(f"sent before placed: {ref}")
        sent.setdefault(ref, 0)
    known = {r["variant_id"] for r in tables.get("variants", [])}
    skus = [r["sku"] for r in tables.get("variants", [])]
    if len(set(skus)) != len(skus):
        wrong.append("two variants share a SKU")
    for r in tables["submission_lines"]:
        if known and r.get("variant_id") and r["variant_id"] not in known:
            wrong.append(f"unknown variant {r['variant_id']}")
    for r in tables["order_lines"]:
        if r["order_id"] not in orders:
            wrong.append(f"line without order {r['order_id']}")


if __name__ == "__main__":
    root = sys.argv[1] if len(sys.argv) > 1 else HERE
    good = [check(os.path.join(root, n)) for n in sorted(os.listdir(root)) if re.match(r"\d\d-", n)]
    sys.exit(0 if good and all(good) else 1)
