"""Reads every source by the places and words of its truth, with ordinary libraries, and compares with exchange/."""
import csv, glob, io, json, os, re, sys
from datetime import datetime, timezone
from decimal import Decimal
from zoneinfo import ZoneInfo

HERE = os.path.dirname(os.path.abspath(__file__))
KEYS = {"orders": ["order_id"], "order_lines": ["order_id", "line_id"], "offers": ["listing_id", "options"], "variants": ["supplier", "variant_id"],
        "links": ["sku", "supplier", "variant_id"], "submissions": ["supplier", "submission_id"], "submission_lines": ["supplier", "submission_id", "line_id"],
        "parcels": ["supplier", "parcel_id"], "parcel_lines": ["supplier", "parcel_id", "submission_line_id"]}
MONEY = {"unit_price", "price", "unit_cost"}
MONTH_FIRST = {"03-ledger"}
RANK = {"cancelled": 3, "unpaid": 2, "dispatched": 1, "open": 0}
DAY = ["%d.%m.%Y", "%d/%m/%Y", "%d-%m-%Y"]
FORMS = [d + t for d in DAY for t in ("", " %H:%M", ", %H:%M")]


def rows_of(path):
    ext = path.rsplit(".", 1)[1].lower()
    if ext in ("csv", "tsv"):
        b = open(path, "rb").read()
        if b[:2] == b"\xff\xfe": t = b.decode("utf-16")
        else:
            try: t = b.decode("utf-8-sig")
            except UnicodeDecodeError: t = b.decode("cp1252")
        first = t.splitlines()[0]
        return [dict(x) for x in csv.DictReader(io.StringIO(t, newline=""), delimiter=max(",;\t", key=first.count))]
    if ext == "xlsx":
        import openpyxl
        g = [list(r) for r in openpyxl.load_workbook(path).active.iter_rows(values_only=True)]
    else:
        from odf.opendocument import load
        from odf.table import TableRow, TableCell
        g = []
        for r in load(path).spreadsheet.getElementsByType(TableRow):
            g.append([(c.getAttribute("value") or "".join(str(p) for p in c.childNodes)) for c in r.getElementsByType(TableCell)])
    h = next(i for i, r in enumerate(g) if sum(1 for x in r if x not in (None, "")) > 5)
    return [dict(zip(g[h], r)) for r in g[h + 1:]]


def walk(node, steps, ctx, at=""):
    if not steps:
        yield ctx; return
    s, rest = steps[0], steps[1:]
    for k in s.split("."):
        if k: node = node[k] if isinstance(node, dict) and k in node else []
    at = at + s + "[*]"
    for x in (node.values() if isinstance(node, dict) else node or []):
        yield from walk(x, rest, {**ctx, at: x}, at)


def get(ctx, path):
    pre = path[:path.rfind("[*]") + 3] if "[*]" in path else ""
    node = ctx[pre]
    for k in path[len(pre):].split("."):
        if k: node = node.get(k) if isinstance(node, dict) else None
    return node


def read(d, side, truth, name):
    src = truth[side]; base = os.path.join(d, "storefront" if side == "storefront" else "supplier")
    zone = ZoneInfo(truth["zone"]); seen = {}
    groups = {}
    for f in src["fields"]: groups.setdefault((f["file"], f["table"]), []).append(f)
    out = {}
    for (file, table), fs in groups.items():
        path = os.path.join(base, file); js = file.endswith(("json", "jsonl"))
        names = src["options"].get(table, [])
        recs = []
        if js:
            docs = [json.loads(l) for l in open(path, encoding="utf-8")] if file.endswith("jsonl") else [json.load(open(path, encoding="utf-8"))]
            deepest = max((a[:a.rfind("[*]") + 3] if "[*]" in a else "" for f in fs for a in f["at"]), key=lambda p: p.count("[*]"))
            steps = deepest.split("[*]")[:-1]
            for doc in docs:
                for ctx in walk(doc, steps, {"": doc}): recs.append(lambda p, ctx=ctx: get(ctx, p))
        else:
            rs = rows_of(path)
            for f in fs:
                for a in f["at"]: assert a in rs[0], (file, a)
            numbered = [f for f in fs if len(f["at"]) > 1 and not f.get("all") and all(re.search(r" \d+$", a) for a in f["at"])]
            for r in rs:
                if numbered:
                    for i in range(len(numbered[0]["at"])):
                        m = {f["at"][0]: r.get(f["at"][i]) for f in numbered}
                        if any(v not in (None, "") for v in m.values()): recs.append(lambda p, r=r, m=m: m[p] if p in m else r.get(p))
                else: recs.append(lambda p, r=r: r.get(p))
            fs = [dict(f, at=f["at"][:1]) if f in numbered else f for f in fs]
        counts, merged = {}, out.setdefault(table, {})
        for g in recs:
            x = {}
            for f in fs:
                c, key = f["column"], f"{table}.{f['column']}"
                vals = [g(a) for a in f["at"]]
                v = vals[0]
                if c == "options":
                    if len(f["at"]) > 1: v = {a.rsplit(".", 1)[-1]: y for a, y in zip(f["at"], vals)}
                    elif isinstance(v, list): v = {list(y.values())[0]: list(y.values())[1] for y in v}
                    elif not isinstance(v, dict):
                        v = v or ""
                        v = dict(p.split(": ", 1) for p in v.split(", " if file.endswith("ods") else "; ")) if ": " in v else {f["at"][0]: v}
                    typed = [k for k in v if k not in names]
                    seen.setdefault("typed", set()).update(typed)
                    v = {k: str(y) for k, y in v.items() if k in names and y not in (None, "")}
                    v = json.dumps(v, sort_keys=True)
                elif c.endswith("_at"):
                    vals = [y for y in vals if y not in (None, "")]
                    v = " ".join(vals) if len(vals) > 1 else vals[0] if vals else ""
                    v = when(v, zone, name)
                elif c == "status" and len(f["at"]) > 1:
                    w = []
                    for a, y in zip(f["at"], vals):
                        m = src["words"][f"{key}@{a}"]; y = "" if y is None else str(y)
                        w.append(m[y] if y in m else m["*"]); seen.setdefault(f"{key}@{a}", set()).add(y if y in m else "*")
                    # a row that holds none of the order's columns says nothing about its status
                    v = "" if name == "01-till" and not g("Datum") else max(w, key=RANK.get)
                elif key in src["words"]:
                    y = "" if v is None else str(v); seen.setdefault(key, set()).add(y); v = src["words"][key][y]
                elif c in MONEY: v = money(v, js)
                else: v = "" if v is None else str(v).lower() if isinstance(v, bool) else str(v)
                if c in ("sku", "order_ref") and side == "supplier_source" and v and table != "links":
                    cut = src[c]
                    assert v.startswith(cut["prefix"]) and v.endswith(cut["suffix"]), v
                    v = v[len(cut["prefix"]):len(v) - len(cut["suffix"])]
                x[c] = v
            if side == "supplier_source": x["supplier"] = truth["supplier"]
            owner = {"order_lines": "order_id", "submission_lines": "submission_id"}.get(table)
            if owner and "line_id" not in x:
                counts[x[owner]] = counts.get(x[owner], 0) + 1; x["line_id"] = str(counts[x[owner]])
            if any(not x[k] for k in KEYS[table] if k not in ("options", "sku")): continue
            k = tuple(x[k] for k in KEYS[table])
            if k in merged:
                assert table in ("orders", "submissions", "parcels") and not js, (table, k)
                for c, v in x.items():
                    if merged[k][c] == "": merged[k][c] = v
                    elif v != "": assert merged[k][c] == v, (table, k, c, merged[k][c], v)
            else: merged[k] = x
    for key, m in src["words"].items():
        if set(m) != seen.get(key, set()): print("  words", name, key, "truth", sorted(m), "seen", sorted(seen.get(key, ())))
    return out


def when(v, zone, name):
    if v in (None, ""): return ""
    if isinstance(v, datetime): return utc(v.replace(tzinfo=zone))
    if isinstance(v, int): return utc(datetime.fromtimestamp(v / 1000 if v > 10**11 else v, timezone.utc))
    for f in (["%m/%d/%Y %I:%M %p"] if name in MONTH_FIRST else FORMS):
        try: return utc(datetime.strptime(v, f).replace(tzinfo=zone))
        except ValueError: pass
    return utc(datetime.fromisoformat(v))


def utc(t): return t.astimezone(timezone.utc).isoformat()


def money(v, js):
    if v in (None, ""): return ""
    if js and isinstance(v, int): return str(Decimal(v).scaleb(-2))
    v = re.sub(r"[^\d.,]", "", str(v)).replace(",", ".")
    return str(Decimal(v).quantize(Decimal("0.01")))


def main():
    bad, size = 0, 0
    for d in sorted(glob.glob(os.path.join(HERE, "[0-9][0-9]-*"))):
        name = os.path.basename(d); truth = json.load(open(os.path.join(d, "truth.json"), encoding="utf-8"))
        got = {**read(d, "storefront", truth, name), **read(d, "supplier_source", truth, name)}
        want = {os.path.basename(f)[:-4]: list(csv.DictReader(open(f, encoding="utf-8", newline=""))) for f in glob.glob(d + "/exchange/*.csv")}
        if set(got) != set(want): print(name, "tables", set(got) ^ set(want)); bad += 1
        for t, ws in want.items():
            for w in ws:
                for c in w:
                    if c.endswith("_at") and w[c]: w[c] = utc(datetime.fromisoformat(w[c]))
                    if c == "options": w[c] = json.dumps(json.loads(w[c]), sort_keys=True)
            a = {tuple(w[k] for k in KEYS[t]): w for w in ws}; b = got.get(t, {})
            if len(a) != len(ws): print(name, t, "double keys"); bad += 1
            for k in sorted(set(a) | set(b)):
                if a.get(k) != b.get(k):
                    bad += 1
                    if bad < 30: print(name, t, k, {c: (v, (b.get(k) or {}).get(c)) for c, v in (a.get(k) or {"": "not in exchange"}).items() if (b.get(k) or {}).get(c) != v})
        o, l = want["orders"], want["order_lines"]
        off = sum(x["status"] in ("unpaid", "cancelled") for x in o)
        print(name, len(o), "orders", len(l), "lines", off, "cancelled or unpaid", len(want["submissions"]), "supplier orders")
        for f in glob.glob(d + "/**/*", recursive=True):
            if os.path.isfile(f):
                n = os.path.getsize(f); size += n
                if n > 150_000: print("too large", f, n); bad += 1
    print("bytes", size, "differences", bad)
    return 1 if bad else 0


sys.exit(main())
