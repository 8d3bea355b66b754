"""Proves the corpus: every place of each truth exists, and each export, read by its truth, says what exchange/ says.

It shares nothing with make.py. It also counts, looks for the faults that each pair must have, and for what must not be there.
"""
import csv, glob, io, json, os, re, sys
from collections import Counter
from datetime import datetime, timezone
from decimal import Decimal
from zoneinfo import ZoneInfo

HERE = os.path.dirname(os.path.abspath(__file__))
KEYS = {"orders": ["order_id"], "order_lines": ["order_id", "line_id"], "offers": ["listing_id", "options"], "variants": ["supplier", "variant_id"], "submissions": ["supplier", "submission_id"],
        "submission_lines": ["supplier", "submission_id", "line_id"], "parcels": ["supplier", "parcel_id"], "parcel_lines": ["supplier", "parcel_id", "submission_line_id"]}
MONEY = {"unit_price", "price", "unit_cost"}
STRONG = {"cancelled": 3, "unpaid": 2, "dispatched": 1, "open": 0}
MEAN = {"orders.status": set(STRONG), "submissions.status": {"received", "held", "making", "dispatched", "cancelled", "rejected"}}
MEAN["submission_lines.status"] = MEAN["submissions.status"]
problems = []


def bad(*what):
    problems.append(what)
    if len(problems) < 40: print("  PROBLEM", *what)


def table_of(path):
    if path.endswith(".xlsx"):
        import openpyxl
        g = [list(r) for r in openpyxl.load_workbook(path).active.iter_rows(values_only=True)]
    else:
        b = open(path, "rb").read()
        try: t = b.decode("utf-8-sig")
        except UnicodeDecodeError: t = b.decode("cp1252")
        first = t.splitlines()[0]
        g = list(csv.reader(io.StringIO(t, newline=""), delimiter=max(",;\t", key=first.count)))
    if len(set(g[0])) != len(g[0]): bad(path, "two columns of one name")
    for r in g[1:]:
        if len(r) != len(g[0]): bad(path, "a row of another length", r)
    return [dict(zip(g[0], r)) for r in g[1:]]


def prefix(at): return at[:at.rfind("[*]") + 3] if "[*]" in at else ""


class Missing(Exception): pass


def down(node, keys):
    for k in keys.split("."):
        if not k: continue
        if node is None: return None
        if not isinstance(node, dict) or k not in node: raise Missing(k)
        node = node[k]
    return node


def walk(node, steps, ctx, at=""):
    """Each innermost record, with the records around it by their list's place."""
    if not steps: yield ctx; return
    at += steps[0] + "[*]"
    inner = down(node, steps[0])
    if not isinstance(inner, list): raise Missing(at)
    for x in inner: yield from walk(x, steps[1:], {**ctx, at: x}, at)


def records(path, fields):
    """Functions from a place to its value, one for each record."""
    if not path.endswith((".json", ".jsonl")):
        for r in table_of(path): yield lambda a, r=r: r[a]
        return
    text = open(path, encoding="utf-8").read()
    docs = [json.loads(x) for x in text.splitlines()] if path.endswith(".jsonl") else [json.loads(text)]
    lists = {prefix(a) for f in fields for a in f["at"]}
    deep = max(lists, key=len)
    for l in lists:
        if not deep.startswith(l): bad(path, "lists beside each other", l, deep)
    for doc in docs:
        for ctx in walk(doc, deep.split("[*]")[:-1], {"": doc}):
            yield lambda a, ctx=ctx: down(ctx[prefix(a)], a[len(prefix(a)):])


def when(v, zone, forms):
    if v in (None, ""): return ""
    if isinstance(v, bool): raise ValueError(v)
    if isinstance(v, datetime): return utc(v.replace(tzinfo=zone))
    if isinstance(v, int): return utc(datetime.fromtimestamp(v / (1000 if forms["times"] == "epoch milliseconds" else 1), timezone.utc))
    if re.fullmatch(r"\d{4}-\d\d-\d\d", v): return v
    if re.match(r"\d{4}-", v):
        t = datetime.fromisoformat(v)
        return utc(t if t.tzinfo else t.replace(tzinfo=zone))
    day = forms["dates"]
    if len(v) <= 10: return datetime.strptime(v, day).date().isoformat()
    return utc(datetime.strptime(v, day + " %H:%M").replace(tzinfo=zone))


def utc(t): return t.astimezone(timezone.utc).isoformat()


def money(v, forms):
    if v in (None, ""): return ""
    if isinstance(v, int):
        if forms.get("money") != "minor units": raise ValueError(v)
        return str(Decimal(v).scaleb(-2))
    return str(Decimal(str(v).replace(",", ".")).quantize(Decimal("0.01")))


def options(v, f, vals, names, name):
    if len(f["at"]) > 1: v = {re.split(r"[.\]]", a)[-1] if "[*]" in a else a: y for a, y in zip(f["at"], vals)}
    elif isinstance(v, list): v = dict(list(y.values())[:2] for y in v)
    elif not isinstance(v, dict): v = dict(re.split(r": | = ", p, maxsplit=1) for p in re.split(r" \| |; (?=\w+ = )", v or "") if p)
    if any(k not in names for k in v): TYPED.add(name)
    return {k: str(y) for k, y in v.items() if k in names and y not in (None, "")}


TYPED = set()


def text(v): return "" if v is None else str(v).lower() if isinstance(v, bool) else str(v)


def read(d, key, truth, name):
    side = truth[key]; forms = side.get("forms", {}); zone = ZoneInfo(truth["zone"])
    folder = os.path.join(d, "storefront" if key == "storefront" else "supplier")
    groups, out, seen = {}, {}, {}
    for f in side["fields"]: groups.setdefault((f["table"], f["file"]), []).append(f)
    if len({t for t, _ in groups}) != len(groups): bad(name, "a table of two files")
    used = {f for _, f in groups}
    if used != set(os.listdir(folder)): bad(name, key, "files without a field", set(os.listdir(folder)) ^ used)
    shown = Counter()
    for (table, file), fs in groups.items():
        rows, counts = out.setdefault(table, {}), Counter()
        recs = list(records(os.path.join(folder, file), fs))
        if not recs: bad(name, file, "no records of", table)
        for f in fs:
            for a in f["at"]:
                for g in recs:
                    try: g(a)
                    except (KeyError, Missing): bad(name, file, "no such place", a); break
                if not any(g(a) not in (None, "") for g in recs): bad(name, file, "nothing at", a)
        for g in recs:
            x = {}
            for f in fs:
                c, full = f["column"], f"{table}.{f['column']}"
                vals = [g(a) for a in f["at"]]; v = vals[0]
                if c == "options": v = json.dumps(options(v, f, vals, side["options"][table], name), sort_keys=True, ensure_ascii=False)
                elif c.endswith("_at") or c == "promised_by":
                    if f.get("all"): v = " ".join(y for y in vals if y)
                    v = when(v, zone, forms)
                elif c == "status" and f.get("all"):
                    w = []
                    for a, y in zip(f["at"], vals):
                        seen.setdefault(f"{full}@{a}", set()).add(text(y)); w.append(side["words"][f"{full}@{a}"][text(y)])
                    v = max(w, key=STRONG.get)
                elif full in side["words"]:
                    seen.setdefault(full, set()).add(text(v)); v = side["words"][full][text(v)]
                elif c in MONEY: v = money(v, forms)
                else: v = text(v)
                if c in ("sku", "order_ref") and key == "supplier_source" and v:
                    cut = side[c]
                    if not (v.startswith(cut["prefix"]) and v.endswith(cut["suffix"])): bad(name, "not trimmed", c, v)
                    v = v[len(cut["prefix"]):len(v) - len(cut["suffix"])]
                x[c] = v
                if v not in ("", "{}"): shown[full] += 1
            if key == "supplier_source": x["supplier"] = truth["supplier"]
            owner = {"order_lines": "order_id", "submission_lines": "submission_id"}.get(table)
            if owner and "line_id" not in x: counts[x[owner]] += 1; x["line_id"] = str(counts[x[owner]])
            if not all(x[k] for k in KEYS[table] if k != "options"):
                if table not in ("parcels", "parcel_lines"): bad(name, table, "a record without its key", x)
                continue
            k = tuple(x[c] for c in KEYS[table])
            if rows.setdefault(k, x) != x: bad(name, table, "one key, two records", rows[k], x)
    for f in side["fields"]:
        if not shown[f"{f['table']}.{f['column']}"]: bad(name, "never a value", f["table"], f["column"])
    for k, m in side["words"].items():
        if set(m) != seen.get(k, set()): bad(name, "words", k, "in truth", sorted(m), "in the export", sorted(seen.get(k, ())))
        base = k.split("@")[0]
        if base in MEAN and not set(m.values()) <= MEAN[base]: bad(name, "meaning", m)
    return out


def exchange(d):
    out = {}
    for f in glob.glob(d + "/exchange/*.csv"):
        t = os.path.basename(f)[:-4]; out[t] = {}
        for w in csv.DictReader(open(f, encoding="utf-8", newline="")):
            for c in w:
                if c.endswith("_at") and len(w[c]) > 10:
                    m = datetime.fromisoformat(w[c])
                    if not m.tzinfo: bad(d, t, "no offset", w[c])
                    w[c] = utc(m)
                if c == "options": w[c] = json.dumps(json.loads(w[c]), sort_keys=True, ensure_ascii=False)
            k = tuple(w[c] for c in KEYS[t])
            if k in out[t]: bad(d, t, "double key", k)
            out[t][k] = w
    return out


def faults(x):
    """Counts orders part-sent, unsent, over-sent and cancelled, by SKU alone."""
    of_variant = {v["variant_id"]: v.get("sku", "") for v in x.get("variants", {}).values()}
    ref = {k[1]: s for k, s in x["submissions"].items()}
    sent = {}
    for l in x["submission_lines"].values():
        s = ref[l["submission_id"]]
        if s["status"] in ("cancelled", "rejected") or l.get("status") == "cancelled" or s.get("replaces"): continue
        sku = l.get("sku") or of_variant[l["variant_id"]]
        sent.setdefault(s["order_ref"], Counter())[sku] += int(l["quantity"])
    n = Counter()
    for (i,), o in x["orders"].items():
        if o["status"] == "cancelled": n["cancelled"] += 1
        if o["status"] == "unpaid": n["unpaid"] += 1
        if o["status"] not in ("open", "dispatched"): continue
        need = Counter()
        for l in x["order_lines"].values():
            if l["order_id"] == i: need[l["sku"]] += int(l["quantity"]) - int(l.get("cancelled_quantity") or 0)
        need = +need; got = sent.get(i, Counter())
        if need and not got: n["unsent"] += 1
        elif any(not got[s] for s in need) and any(got[s] for s in need): n["part-sent"] += 1
        if any(got[s] > need[s] for s in got): n["over-sent"] += 1
    return n


def main():
    pairs = sorted(glob.glob(os.path.join(HERE, "[0-9][0-9]-*")))
    if len(pairs) != 12: bad("pairs", len(pairs))
    for d in pairs:
        name = os.path.basename(d); truth = json.load(open(os.path.join(d, "truth.json"), encoding="utf-8"))
        before = len(problems)
        got = {**read(d, "storefront", truth, name), **read(d, "supplier_source", truth, name)}
        want = exchange(d)
        if set(got) != set(want): bad(name, "tables", set(got) ^ set(want))
        for t in want:
            g = got.get(t, {})
            for k in sorted(set(want[t]) | set(g)):
                a, b = want[t].get(k), g.get(k)
                if a != b: bad(name, t, k, "exchange and export", {c: (a.get(c), b.get(c)) for c in {**a, **b} if a.get(c) != b.get(c)} if a and b else (a, b))
        lines, n = len(want["order_lines"]), faults(want)
        for s in ("storefront", "supplier"):
            if not 1 <= len(os.listdir(os.path.join(d, s))) <= 3: bad(name, s, "files")
        titles = {l["title"] for l in want["order_lines"].values()}
        if not 25 <= len(want["orders"]) <= 60: bad(name, "orders")
        if not 30 <= lines <= 90: bad(name, "lines")
        if not 2 <= len(titles) <= 4: bad(name, "listings", titles)
        for f in ("part-sent", "unsent", "over-sent", "cancelled", "unpaid"):
            if not n[f]: bad(name, "has none", f)
        orphans = [s["order_ref"] for s in want["submissions"].values() if (s["order_ref"],) not in want["orders"]]
        if orphans: bad(name, "references to no order", orphans)
        keyed = {l["line_id"] for l in want["order_lines"].values()}
        if any(l["order_line_ref"] not in keyed for l in want["submission_lines"].values() if "order_line_ref" in l): bad(name, "references to no line")
        parts = {(l["submission_id"], l["line_id"]) for l in want["submission_lines"].values()}
        of = {p["parcel_id"]: p["submission_id"] for p in want["parcels"].values()}
        if any((of[l["parcel_id"]], l["submission_line_id"]) not in parts for l in want.get("parcel_lines", {}).values()): bad(name, "parcel lines of no line")
        used = {s["status"] for s in want["submissions"].values()}
        raw = b"".join(open(f, "rb").read() for f in glob.glob(d + "/**/*", recursive=True) if os.path.isfile(f) and not f.endswith("xlsx"))
        if b"@" in re.sub(rb'"(orders|submissions|submission_lines)\.status@', b"", raw): bad(name, "an at sign: a mail address?")
        for host in set(re.findall(rb"https?://([^/\"]+)", raw)):
            if not host.endswith(b"example.com"): bad(name, "host", host)
        print(name, "ok" if len(problems) == before else "BAD", len(want["orders"]), "orders", lines, "lines", dict(n), "|", len(want["submissions"]), "supplier orders,", len(used), "states,", len(want["parcels"]), "parcels", "| typed options" if name in TYPED else "")
    print("problems", len(problems))
    return 1 if problems else 0


if __name__ == "__main__": sys.exit(main())
