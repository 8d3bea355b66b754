#!/usr/bin/env python3
"""Reads every source by its truth.json with ordinary libraries and compares with exchange/. Knows nothing of make.py."""
import csv
import io
import json
import re
import sys
from collections import Counter, defaultdict
from datetime import date, datetime, timezone
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import openpyxl
from odf.opendocument import load
from odf.table import Table, TableCell, TableRow
from odf.text import P

HERE = Path(__file__).parent
MONEY = {"unit_price", "price", "unit_cost"}
TIMES = {"placed_at", "paid_at", "promised_by", "updated_at", "received_at", "dispatched_at"}
KEYS = {"orders": ["order_id"], "order_lines": ["order_id", "line_id"], "offers": ["listing_id", "options"], "variants": ["variant_id"], "submissions": ["submission_id"],
        "submission_lines": ["submission_id", "line_id"], "parcels": ["parcel_id"], "parcel_lines": ["parcel_id", "submission_line_id"]}
LINES = {"order_lines": "order_id", "submission_lines": "submission_id"}
STRENGTH = ["open", "dispatched", "unpaid", "cancelled"]


def table(path, how):
    if how["kind"] == "csv":
        rows = list(csv.reader(io.StringIO(path.read_bytes().decode(how["encoding"]), newline=""), delimiter=how["separator"]))
        header = rows[0]
        rows = rows[1:]
    elif how["kind"] == "xlsx":
        rows = [list(r) for r in openpyxl.load_workbook(path).active.iter_rows(values_only=True)]
        header, rows = rows[how["header_row"] - 1], rows[how["header_row"]:]
    else:
        rows = []
        for row in load(path).spreadsheet.getElementsByType(Table)[0].getElementsByType(TableRow):
            cells = []
            for c in row.getElementsByType(TableCell):
                kind = c.getAttribute("valuetype")
                if kind == "date":
                    v = c.getAttribute("datevalue")
                    cells.append(datetime.fromisoformat(v) if "T" in v else date.fromisoformat(v))
                elif kind == "float":
                    cells.append(Decimal(c.getAttribute("value")))
                else:
                    cells.append("".join(str(p) for p in c.getElementsByType(P)))
            rows.append(cells)
        header, rows = rows[how["header_row"] - 1], rows[how["header_row"]:]
    assert all(len(r) == len(header) for r in rows), path
    return [dict(zip(header, r)) for r in rows]


def text(v):
    if v is None:
        return ""
    if isinstance(v, bool):
        return "true" if v else "false"
    if isinstance(v, (float, Decimal)) and v == int(v):
        return str(int(v))
    return str(v)


def moment(v, form, zone):
    if v in (None, ""):
        return None
    if form == "RFC 3339":
        return datetime.fromisoformat(v)
    if form == "epoch seconds":
        return datetime.fromtimestamp(v, timezone.utc)
    if form == "epoch milliseconds":
        return datetime.fromtimestamp(v / 1000, timezone.utc)
    if form == "date cell, date alone":
        return v.date() if isinstance(v, datetime) else v
    if form == "date cell":
        return v.replace(tzinfo=zone)
    d = datetime.strptime(v, form)
    return d.replace(tzinfo=zone) if "%H" in form or "%I" in form else d.date()


def amount(v, form):
    if v in (None, ""):
        return None
    if form == "minor units":
        return Decimal(v) / 100
    if isinstance(v, (int, float, Decimal)):
        return Decimal(str(v))
    v = re.sub(r"[^\d.,-]", "", v)
    v = v.replace(".", "").replace(",", ".") if form == "decimal comma" else v.replace(",", "")
    return Decimal(v)


def contexts(data, row):
    """All places of the deepest list: a list of {prefix: value}."""
    out = [{"": data}]
    for n, part in enumerate(row.split("[*]")[:-1]):
        prefix = "[*]".join(row.split("[*]")[:n]) + ("[*]" if n else "")
        grown = []
        for c in out:
            for item in walk(c[prefix], part.lstrip(".")) or []:
                grown.append({**c, prefix + part + "[*]": item})
        out = grown
    return out


def walk(v, keys):
    for k in filter(None, keys.split(".")):
        v = v.get(k) if isinstance(v, dict) else None
    return v


def get(context, path):
    prefix = max((p for p in context if path.startswith(p)), key=len)
    rest = path[len(prefix):]
    assert "[*]" not in rest, (path, prefix)
    return walk(context[prefix], rest.lstrip("."))


def options(values, form, names, at):
    if form == "columns":
        return {name: text(v) for name, v in zip(at, values) if text(v)}
    v = values[0]
    if form == "object":
        return {k: w for k, w in v.items() if k in names}
    if form == "list of name and value":
        return {c["name"]: c["value"] for c in v if c["name"] in names}
    out = {}
    for name in names:  # 'Name: value, Name: value, ...', each name once, true choices first
        m = re.search(rf"(?:^|, ){re.escape(name)}: (.*?)(?=, [^,:]+: |$)", v)
        if m:
            out.setdefault(name, m.group(1))
    return out


def read_side(folder, side, zone, supplier):
    truth_words, result, met = side["words"], {}, defaultdict(set)
    by_table = defaultdict(list)
    for f in side["fields"]:
        by_table[f["table"]].append(f)
    for name, fields in by_table.items():
        file = fields[0]["file"]
        assert all(f["file"] == file for f in fields)
        how = side["files"][file]
        if how["kind"] in ("json", "jsonl"):
            raw = (folder / file).read_text("utf-8")
            if how["kind"] == "json":
                lists = {a[:a.rindex("[*]") + 3] for f in fields for a in f["at"]}
                rows = contexts(json.loads(raw), max(lists, key=len))
            else:
                rows = [{"": json.loads(line)} for line in raw.splitlines()]
            take = get
        else:
            rows = table(folder / file, how)
            take = lambda row, at: row[at]
            if how.get("filled_down"):
                columns = {a for f in side["fields"] if f["file"] == file and f["table"] == "orders" for a in f["at"]}
                last = {}
                key = next(f["at"][0] for f in side["fields"] if f["table"] == "orders" and f["column"] == "order_id")
                for n, row in enumerate(rows):
                    first = row[key] and row[key] != last.get(key)
                    if first:
                        last = row
                    for c in columns:
                        row[c] = last[c]
        numbered = max((len(f["at"]) // (len(side["options"]["order_lines"]) if f["column"] == "options" else 1) for f in fields if f.get("numbered")), default=0)
        out, seen, counts = [], set(), Counter()
        for row in rows:
            for n in range(numbered or 1):
                record = {}
                for f in fields:
                    at, column, form = f["at"], f["column"], f.get("form")
                    if f.get("numbered"):
                        at = [a for a in at if a.endswith(f" {n + 1}")]
                    values = [take(row, a) for a in at]
                    if column == "options":
                        record[column] = options(values, form, side["options"][name], [re.sub(r" \d$", "", a) if f.get("numbered") else a for a in at])
                    elif column in TIMES:
                        v = " ".join(values).strip() if f.get("all") else values[0]
                        record[column] = moment(v, form, zone)
                    elif column in MONEY:
                        record[column] = amount(values[0], form)
                    elif f"{name}.{column}@{at[0]}" in truth_words:
                        said = []
                        for a, v in zip(at, values):
                            words = truth_words[f"{name}.{column}@{a}"]
                            w = text(v)
                            w = "*" if w and "*" in words else w
                            met[f"{name}.{column}@{a}"].add(w)
                            said.append(words[w])
                        record[column] = max(said, key=STRENGTH.index)
                    elif f"{name}.{column}" in truth_words:
                        met[f"{name}.{column}"].add(text(values[0]))
                        record[column] = truth_words[f"{name}.{column}"][text(values[0])]
                    else:
                        record[column] = text(values[0])
                        if column == "order_ref":
                            p, s = side["order_ref"]["prefix"], side["order_ref"]["suffix"]
                            assert record[column].startswith(p) and record[column].endswith(s)
                            record[column] = record[column][len(p):len(record[column]) - len(s)]
                        if column == "sku" and "sku" in side and record[column].startswith(side["sku"]["prefix"]):
                            record[column] = record[column][len(side["sku"]["prefix"]):]
                if numbered and not record["quantity"] or name == "parcels" and not record["parcel_id"]:
                    continue
                if name in LINES and "line_id" not in record:
                    counts[record[LINES[name]]] += 1
                    record["line_id"] = str(counts[record[LINES[name]]])
                mark = json.dumps(record, default=str, sort_keys=True)
                if mark in seen:
                    continue
                seen.add(mark)
                out.append(record)
        result[name] = out
    for key, words in met.items():
        extra = set(truth_words[key]) - words
        assert not extra, (key, "words that do not occur", extra)
    return result


def exchange(path):
    rows = list(csv.DictReader(path.open(encoding="utf-8", newline="")))
    for r in rows:
        for k, v in list(r.items()):
            if k in MONEY:
                r[k] = Decimal(v) if v else None
            elif k == "options":
                r[k] = json.loads(v)
            elif k in TIMES:
                r[k] = None if not v else date.fromisoformat(v) if len(v) == 10 else datetime.fromisoformat(v)
    return rows


def key(name, row):
    return tuple(json.dumps(row[k], sort_keys=True) for k in KEYS[name])


def main():
    bad = 0
    for folder in sorted(p for p in HERE.iterdir() if (p / "truth.json").exists()):
        truth = json.loads((folder / "truth.json").read_text("utf-8"))
        zone = ZoneInfo(truth["zone"])
        got = {**read_side(folder / "storefront", truth["storefront"], zone, None), **read_side(folder / "supplier", truth["supplier_source"], zone, truth["supplier"])}
        want = {p.stem: exchange(p) for p in (folder / "exchange").glob("*.csv")}
        faults = [f"tables {set(got) ^ set(want)}"] if set(got) != set(want) else []
        for name, rows in want.items():
            mine = got.get(name, [])
            for r in rows:
                if r.pop("supplier", truth["supplier"]) != truth["supplier"]:
                    faults.append("supplier")
            a, b = {key(name, r): r for r in mine}, {key(name, r): r for r in rows}
            if len(a) != len(mine) or len(b) != len(rows):
                faults.append(f"{name}: keys repeat {len(mine) - len(a)} {len(rows) - len(b)}")
            if a != b:
                wrong = [k for k in a.keys() | b.keys() if a.get(k) != b.get(k)]
                faults.append(f"{name}: {len(wrong)} rows differ, as {a.get(wrong[0])} / {b.get(wrong[0])}")
        o = {r["order_id"]: r for r in want["orders"]}
        states = Counter(r["status"] for r in o.values())
        for r in want["order_lines"]:
            if r["order_id"] not in o:
                faults.append("line without order")
        subs = {r["submission_id"]: r for r in want["submissions"]}
        for r in want["submissions"]:
            if r["order_ref"] not in o:
                faults.append("unknown order " + r["order_ref"])
        print(folder.name, "ok" if not faults else "WRONG", f"{len(o)} orders {dict(states)}, {len(want['order_lines'])} lines, "
              f"{sum(not r['sku'] for r in want['order_lines'])} without SKU, {len(subs)} submissions {dict(Counter(r['status'] for r in subs.values()))}, "
              f"{len(want['submission_lines'])} of their lines")
        for f in faults[:8]:
            print("   ", f)
        bad += len(faults)
        for p in folder.rglob("*"):
            if p.is_file() and p.stat().st_size > 150_000:
                print("    too large:", p)
                bad += 1
    sys.exit(1 if bad else 0)


main()
