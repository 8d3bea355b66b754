"""Proves the corpus: each export, read by its truth alone, says what exchange/ says, and each pair has the faults that it should.

It shares nothing with make.py. Start reading at `main`.
"""
import csv, glob, io, json, os, re, sys
from collections import Counter
from datetime import date, datetime, timedelta, timezone
from decimal import Decimal
from zoneinfo import ZoneInfo

HERE = os.path.dirname(os.path.abspath(__file__))
KEYS = {"orders": ["order_id"], "order_lines": ["order_id", "line_id"], "offers": ["listing_id", "options"], "variants": ["supplier", "variant_id"], "links": ["supplier", "sku", "variant_id"],
        "submissions": ["supplier", "submission_id"], "submission_lines": ["supplier", "submission_id", "line_id"], "parcels": ["supplier", "parcel_id"], "parcel_lines": ["supplier", "parcel_id", "submission_line_id"]}
REQUIRED = {"orders": {"order_id", "placed_at", "status"}, "order_lines": {"quantity"}, "offers": {"listing_id", "options"}, "variants": {"variant_id"}, "links": {"sku", "variant_id"}, "submissions": {"submission_id", "status", "received_at"},
            "submission_lines": {"quantity"}, "parcels": {"parcel_id", "submission_id", "dispatched_at"}, "parcel_lines": {"parcel_id", "submission_line_id", "quantity"}}
STRENGTH = ["open", "dispatched", "unpaid", "cancelled"]
MEANINGS = {"orders.status": set(STRENGTH), "submissions.status": {"received", "held", "making", "dispatched", "cancelled", "rejected"}}
MEANINGS["submission_lines.status"] = MEANINGS["submissions.status"]
problems = []


def problem(*what):
    problems.append(what)
    if len(problems) <= 40: print("  PROBLEM", *what)


class Nowhere(Exception):
    """A place that a record does not have."""


# Files into records: each record is a function from a place to its value.

def sheet(path):
    if path.endswith(".xlsx"):
        import openpyxl
        return [["" if v is None else v for v in row] for row in openpyxl.load_workbook(path).active.iter_rows(values_only=True)]
    from odf import opendocument, table
    grid = []
    for row in opendocument.load(path).spreadsheet.getElementsByType(table.TableRow):
        cells = []
        for c in row.getElementsByType(table.TableCell):
            kind = c.getAttribute("valuetype")
            if kind == "date": v = datetime.fromisoformat(c.getAttribute("datevalue"))
            elif kind == "float": v = float(c.getAttribute("value")); v = int(v) if v == int(v) else v
            else: v = str(c)
            cells.append(v)
        grid.append(cells)
    return grid


def table_of(path, said):
    if path.endswith((".xlsx", ".ods")): grid = sheet(path)
    else:
        text = open(path, "rb").read().decode(said["encoding"])
        grid = list(csv.reader(io.StringIO(text, newline=""), delimiter=said["separator"]))
    head = grid[0]
    if len(set(head)) != len(head): problem(path, "two columns of one name")
    for row in grid[1:]:
        if len(row) != len(head): problem(path, "a row of another length", row)
    return [dict(zip(head, row)) for row in grid[1:]]


def into(node, path):
    for key in filter(None, path.split(".")):
        if node is None: return None
        if not isinstance(node, dict) or key not in node: raise Nowhere(key)
        node = node[key]
    return node


def inner(place): return place[:place.rfind("[*]") + 3] if "[*]" in place else ""


def members(node, steps, around, at=""):
    if not steps:
        yield around
        return
    held = into(node, steps[0])
    if not isinstance(held, (list, dict)): raise Nowhere(at + steps[0])
    at += steps[0] + "[*]"
    for one in held if isinstance(held, list) else held.values():
        yield from members(one, steps[1:], {**around, at: one}, at)


def records(path, fields, side):
    name = os.path.basename(path)
    if not path.endswith((".json", ".jsonl")):
        for row in table_of(path, side.get("files", {}).get(name)):
            yield lambda at, row=row: row[at]
        return
    text = open(path, encoding="utf-8").read()
    roots = [json.loads(x) for x in text.splitlines()] if path.endswith(".jsonl") else [json.loads(text)]
    lists = {inner(at) for f in fields for at in f["at"]}
    deepest = max(lists, key=len)
    for l in lists:
        if not deepest.startswith(l): problem(path, "lists beside each other in one table", l, deepest)
    for root in roots:
        for around in members(root, deepest.split("[*]")[:-1], {"": root}):
            yield lambda at, around=around: into(around[inner(at)], at[len(inner(at)):].lstrip("."))


# Values.

def utc(t): return t.astimezone(timezone.utc).isoformat()


def moment(v, zone, forms, day_alone):
    if v in ("", None): return ""
    if isinstance(v, bool): raise ValueError(v)
    if isinstance(v, datetime): return v.date().isoformat() if day_alone else utc(v.replace(tzinfo=zone))
    if isinstance(v, date): return v.isoformat()
    if isinstance(v, int): return utc(datetime.fromtimestamp(v / {"epoch seconds": 1, "epoch milliseconds": 1000}[forms["times"]], timezone.utc))
    if re.fullmatch(r"\d{4}-\d\d-\d\d", v): return v
    if re.match(r"\d{4}-\d\d-\d\d[T ]", v):
        t = datetime.fromisoformat(v)
        return utc(t if t.tzinfo else t.replace(tzinfo=zone))
    if " " not in v: return datetime.strptime(v, forms["dates"]).date().isoformat()
    return utc(datetime.strptime(v, forms["dates"] + " " + forms.get("clock", "%H:%M")).replace(tzinfo=zone))


def money(v, forms):
    if v in ("", None): return ""
    if forms.get("money") == "minor units": return str(Decimal(int(v)).scaleb(-2))
    return str(Decimal(str(v).lstrip("$").replace(",", ".")).quantize(Decimal("0.01")))


def plain(v): return "" if v is None else str(v).lower() if isinstance(v, bool) else str(v)


def choices(places, values, names, name):
    v = values[0]
    if len(places) > 1: v = {at.split(".")[-1].split("[*]")[-1].lstrip("."): x for at, x in zip(places, values)}
    elif isinstance(v, list): v = dict(list(x.values()) for x in v)
    elif isinstance(v, str): v = dict(re.split(r": |=", part, maxsplit=1) for part in re.split(r", |; | \| ", v) if part) if re.search(r"\w(: |=)\w", v) else {places[0]: v}
    if set(v) - set(names): TYPED.add(name)
    return json.dumps({k: str(x) for k, x in v.items() if k in names and x not in ("", None)}, sort_keys=True, ensure_ascii=False)


TYPED = set()


def read(folder, key, truth, name):
    side = truth[key]
    forms, zone = side.get("forms", {}), ZoneInfo(truth["zone"])
    groups, out, met, shown = {}, {}, {}, Counter()
    for f in side["fields"]: groups.setdefault((f["table"], f["file"]), []).append(f)
    if len({t for t, _ in groups}) != len(groups): problem(name, "a table of two files")
    strange = {f for _, f in groups} ^ set(os.listdir(folder))
    if strange: problem(name, key, "files and fields differ", strange)
    for (table, file), fields in groups.items():
        rows, counted = out.setdefault(table, {}), Counter()
        got = list(records(os.path.join(folder, file), fields, side))
        columns = {f["column"] for f in fields}
        if REQUIRED[table] - columns: problem(name, table, "required and nowhere", REQUIRED[table] - columns)
        for f in fields:
            for at in f["at"]:
                try:
                    if not any(g(at) not in ("", None) for g in got): problem(name, file, "nothing at", at)
                except (KeyError, Nowhere) as e: problem(name, file, "no such place", at, repr(e)); return out
        for g in got:
            if file in forms.get("filled_down", []) and table == "orders" and all(g(f["at"][0]) in ("", None) for f in fields if f["column"] != "order_id"): continue
            row = {}
            for f in fields:
                column, full, together = f["column"], f"{table}.{f['column']}", f.get("all")
                values = [g(at) for at in f["at"]]
                v = values[0]
                if column == "options": v = choices(f["at"], values, side["options"][table], name)
                elif column.endswith("_at") or column == "promised_by":
                    v = moment(" ".join(x for x in values if x) if together else v, zone, forms, column == "promised_by")
                elif column == "status" and together:
                    meant = []
                    for at, x in zip(f["at"], values):
                        met.setdefault(f"{full}@{at}", set()).add(plain(x))
                        meant.append(side["words"][f"{full}@{at}"][plain(x)])
                    v = max(meant, key=STRENGTH.index)
                elif full in side["words"]:
                    met.setdefault(full, set()).add(plain(v))
                    v = side["words"][full][plain(v)]
                elif column in ("unit_price", "price", "unit_cost"): v = money(v, forms)
                else: v = plain(v)
                if key == "supplier_source" and column in ("sku", "order_ref") and table != "links":
                    cut = side[column]
                    if v.startswith(cut["prefix"]) and v.endswith(cut["suffix"]): v = v[len(cut["prefix"]):len(v) - len(cut["suffix"])]
                    elif column == "sku": problem(name, "not trimmed", v)
                row[column] = v
                if v not in ("", "{}"): shown[full] += 1
            if key == "supplier_source": row["supplier"] = truth["supplier"]
            owner = {"order_lines": "order_id", "submission_lines": "submission_id"}.get(table)
            if owner and "line_id" not in row:
                counted[row[owner]] += 1
                row["line_id"] = str(counted[row[owner]])
            if not all(row[k] for k in KEYS[table]):
                if table not in ("parcels", "parcel_lines"): problem(name, table, "a record without its key", row)
                continue
            k = tuple(row[c] for c in KEYS[table])
            if rows.setdefault(k, row) != row: problem(name, table, "one key, two records", rows[k], row)
    for f in side["fields"]:
        if not shown[f"{f['table']}.{f['column']}"]: problem(name, "never a value", f["table"], f["column"])
    for key, words in side["words"].items():
        if set(words) != met.get(key, set()): problem(name, "words", key, "of the truth", sorted(words), "of the export", sorted(met.get(key, ())))
        base = key.split("@")[0]
        if base in MEANINGS and not set(words.values()) <= MEANINGS[base]: problem(name, "no such meaning", words)
    return out


def exchange(folder):
    out = {}
    for path in glob.glob(folder + "/*.csv"):
        table = os.path.basename(path)[:-4]
        rows = out.setdefault(table, {})
        for row in csv.DictReader(open(path, encoding="utf-8", newline="")):
            for c, v in row.items():
                if c.endswith("_at") and len(v) > 10:
                    if not datetime.fromisoformat(v).tzinfo: problem(path, "no offset", v)
                    row[c] = utc(datetime.fromisoformat(v))
                if c == "options": row[c] = json.dumps(json.loads(v), sort_keys=True, ensure_ascii=False)
            k = tuple(row[c] for c in KEYS[table])
            if k in rows: problem(path, "double key", k)
            rows[k] = row
    return out


def faults(x, zone):
    """Counts by SKU alone what an audit would find; it is no audit."""
    sku_of = {v["variant_id"]: v.get("sku", "") for v in x.get("variants", {}).values()}
    sku_of.update({l["variant_id"]: l["sku"] for l in x.get("links", {}).values()})
    jobs = {j["submission_id"]: j for j in x["submissions"].values()}
    moments = [v for t in x.values() for r in t.values() for c, v in r.items() if c.endswith("_at") and len(v) > 10]
    today = datetime.fromisoformat(max(moments)).astimezone(zone).date()
    sent, done = {}, {}
    for l in x["submission_lines"].values():
        j = jobs[l["submission_id"]]
        if j["status"] in ("cancelled", "rejected") or j.get("replaces"): continue
        sent.setdefault(j["order_ref"], Counter())[l.get("sku") or sku_of[l["variant_id"]]] += int(l["quantity"])
        done.setdefault(j["order_ref"], set()).add(j["status"])
    n = Counter(stray=sum(1 for j in jobs.values() if (j["order_ref"],) not in x["orders"]), held=sum(j["status"] == "held" for j in jobs.values()))
    for (key,), o in x["orders"].items():
        if o["status"] in ("cancelled", "unpaid"):
            n[o["status"]] += 1
            n["sent after cancel"] += o["status"] == "cancelled" and bool(sent.get(key))
            continue
        need = Counter()
        for l in x["order_lines"].values():
            if l["order_id"] == key: need[l["sku"]] += int(l["quantity"]) - int(l.get("cancelled_quantity") or 0)
        need, got = +need, sent.get(key, Counter())
        strange = [s for s in got if s not in {l["sku"] for l in x["order_lines"].values() if l["order_id"] == key}]
        missing = [s for s in need if got[s] < need[s]]
        if need and not got: n["unsent"] += 1
        elif strange and missing: n["wrong or by hand"] += 1
        elif missing: n["part-sent"] += 1
        if any(got[s] > need[s] for s in got if s not in strange): n["over-sent"] += 1
        if o.get("promised_by") and date.fromisoformat(o["promised_by"]) < today and (missing or done.get(key, {"none"}) != {"dispatched"}): n["late"] += 1
    return n


def main():
    pairs = sorted(glob.glob(os.path.join(HERE, "[0-9][0-9]-*")))
    if len(pairs) != 12: problem("pairs", len(pairs))
    for d in pairs:
        name, before = os.path.basename(d), len(problems)
        truth = json.load(open(os.path.join(d, "truth.json"), encoding="utf-8"))
        got = {**read(os.path.join(d, "storefront"), "storefront", truth, name), **read(os.path.join(d, "supplier"), "supplier_source", truth, name)}
        want = exchange(os.path.join(d, "exchange"))
        if set(got) != set(want): problem(name, "tables", set(got) ^ set(want))
        for table in want:
            for k in sorted(set(want[table]) | set(got.get(table, {}))):
                a, b = want[table].get(k), got.get(table, {}).get(k)
                if a != b: problem(name, table, k, "exchange and export:", {c: (a.get(c), b.get(c)) for c in {**a, **b} if a.get(c) != b.get(c)} if a and b else (a, b))
        n = faults(want, ZoneInfo(truth["zone"]))
        for f in ("part-sent", "unsent", "over-sent", "wrong or by hand", "late", "cancelled", "unpaid"):
            if not n[f]: problem(name, "has none", f)
        if not 15 <= len(want["orders"]) <= 40: problem(name, "orders", len(want["orders"]))
        lines = {l["line_id"] for l in want["order_lines"].values()}
        if any(l.get("order_line_ref") and l["order_line_ref"] not in lines for l in want["submission_lines"].values()): problem(name, "references to no line")
        owned = {(l["submission_id"], l["line_id"]) for l in want["submission_lines"].values()}
        job = {p["parcel_id"]: p["submission_id"] for p in want["parcels"].values()}
        if any((job[l["parcel_id"]], l["submission_line_id"]) not in owned for l in want.get("parcel_lines", {}).values()): problem(name, "parcel lines of no line")
        if any((p["submission_id"],) not in {(j["submission_id"],) for j in want["submissions"].values()} for p in want["parcels"].values()): problem(name, "parcels of no order")
        units = Counter()
        for l in want.get("parcel_lines", {}).values(): units[job[l["parcel_id"]], l["submission_line_id"]] += int(l["quantity"])
        for l in want["submission_lines"].values():
            if units[l["submission_id"], l["line_id"]] > int(l["quantity"]): problem(name, "more in parcels than asked for", l)
        raw = b"".join(open(f, "rb").read() for f in glob.glob(d + "/*/*") if not f.endswith((".xlsx", ".ods")))
        if b"@" in raw: problem(name, "an at sign: a mail address?")
        for host in set(re.findall(rb"https?://([^/\"]+)", raw)):
            if not host.endswith(b"example.com"): problem(name, "a host", host)
        print(name, "ok" if len(problems) == before else "BAD", len(want["orders"]), "orders", len(want["order_lines"]), "lines", len(want["submissions"]), "supplier orders", len(want["parcels"]), "parcels", dict(sorted(n.items())), "typed options" if name in TYPED else "")
    print("problems", len(problems))
    return 1 if problems else 0


if __name__ == "__main__": sys.exit(main())
