"""Reads every source of the pairs by its truth.json and compares what it says with exchange/.

    python3 check.py [PROGRAM]     PROGRAM: everyline, to audit each exchange folder as well

It knows nothing of make.py: only truth.json, the files, and what HINTS adds.
"""
import csv
import io
import json
import subprocess
import sys
from datetime import date, datetime, timezone
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

ROOT = Path(__file__).parent
KEYS = {"orders": ["order_id"], "order_lines": ["order_id", "line_id"], "offers": ["listing_id", "options"], "variants": ["variant_id"], "links": ["sku", "variant_id"],
        "submissions": ["submission_id"], "submission_lines": ["submission_id", "line_id"], "parcels": ["parcel_id"], "parcel_lines": ["parcel_id", "submission_line_id"]}
TIMES = {"placed_at", "paid_at", "promised_by", "updated_at", "received_at", "dispatched_at"}
MONEY = {"unit_price", "price", "unit_cost"}
STATES = {"unpaid", "open", "dispatched", "cancelled", "received", "held", "making", "rejected", "true", "false"}
# What truth.json has no place for: month-first files, money in minor units, order columns filled on
# the first row only, and how a status follows from several places (by pair).
HINTS = {
    "01": {"minor": {"sales.json", "listings.json"}, "state": lambda v, w: w.get(v[1]) or w[v[0]]},
    "03": {"filled": ("Commandes octobre.xlsx", "N° commande")},
    "05": {"month": True, "minor": {"jobs.jsonl", "variants.jsonl"}},
    "07": {"state": lambda v, w: "cancelled" if v[2] else "unpaid" if v[0] == "false" else "dispatched" if v[1] else "open"},
    "10": {"state": lambda v, w: w.get(v[1]) or w[v[0]]},
    "11": {"month": True, "minor": {"work.json"}},
    "12": {"filled": ("ords.tsv", "Ord")},
}


def text(v):
    if v is None:
        return ""
    if isinstance(v, bool):
        return "true" if v else "false"
    if isinstance(v, float) and v == int(v):
        return str(int(v))
    return v if isinstance(v, (datetime, list, dict)) else str(v)


def table(path, headers):
    """Rows as dicts; the header is the first row that has all the headers that truth.json names."""
    if path.suffix == ".xlsx":
        import openpyxl
        rows = [list(r) for r in openpyxl.load_workbook(path).active.iter_rows(values_only=True)]
    elif path.suffix == ".ods":
        rows = ods(path)
    else:
        raw = path.read_bytes()
        for code in ("utf-16", "utf-8-sig", "cp1252"):
            try:
                if code != "utf-16" or raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
                    body = raw.decode(code)
                    break
            except UnicodeError:
                pass
        first = body.split("\n")[0]
        sep = max("\t;,", key=first.count)
        rows = list(csv.reader(io.StringIO(body, newline=""), delimiter=sep))
    at = next(i for i, r in enumerate(rows) if headers <= {c for c in r if isinstance(c, str)})
    head = rows[at]
    assert len(set(h for h in head if h)) == len([h for h in head if h]), (path, "a header stands twice")
    return [dict(zip(head, map(text, r + [None] * (len(head) - len(r))))) for r in rows[at + 1:] if any(c not in (None, "") for c in r)]


def ods(path):
    from odf.opendocument import load
    from odf.table import Table, TableCell, TableRow
    out = []
    for tr in load(str(path)).spreadsheet.getElementsByType(Table)[0].getElementsByType(TableRow):
        row = []
        for c in tr.getElementsByType(TableCell):
            kind = c.getAttribute("valuetype")
            if kind == "float":
                row.append(float(c.getAttribute("value")))
            elif kind == "date":
                row.append(datetime.fromisoformat(c.getAttribute("datevalue")))
            else:
                row.append("".join(str(p) for p in c.childNodes) or None)
        out.append(row)
    return out


def walk(value, steps, path=()):
    """(place, value) for each match; place: the indexes of the lists and objects passed."""
    if not steps:
        yield path, value
    elif steps[0] == "[*]":
        children = value.values() if isinstance(value, dict) else value or []
        for i, v in enumerate(children):
            yield from walk(v, steps[1:], path + (i,))
    elif isinstance(value, dict) and value.get(steps[0]) is not None:
        yield from walk(value[steps[0]], steps[1:], path)


def steps_of(at, lines):
    steps = []
    for part in at.split("."):
        name, *stars = part.split("[*]")
        steps += ([name] if name else []) + ["[*]"] * len(stars)
    return (["[*]"] if lines else []) + steps


def records(path, fields, names):
    """One dict for each record of a table: column -> list of values, one for each place."""
    if path.suffix in (".json", ".jsonl"):
        lines = path.suffix == ".jsonl"
        data = [json.loads(x) for x in path.read_text("utf-8").splitlines()] if lines else json.loads(path.read_text("utf-8"))
        paths = {a: steps_of(a, lines) for f in fields for a in f["at"]}
        deep = max(s.count("[*]") for s in paths.values())
        found = {a: dict(walk(data, s)) for a, s in paths.items()}
        longest = max((s for s in paths.values() if s.count("[*]") == deep), key=len)
        stem = longest[:len(longest) - longest[::-1].index("[*]")] if deep else []
        places = [place for place, _ in walk(data, stem)]
        for s in paths.values():
            own = s[:len(s) - s[::-1].index("[*]")] if "[*]" in s else []
            assert stem[:len(own)] == own, (path, "paths of two lists", s, stem)
        for place in places:
            yield {f["column"]: [text(found[a].get(place[:paths[a].count("[*]")])) for a in f["at"]] for f in fields}
    else:
        for row in table(path, {a for f in fields for a in f["at"]}):
            yield row, {f["column"]: [row[a] for a in f["at"]] for f in fields}


def options(values, ats, names):
    v = values[0]
    if isinstance(v, dict):
        pairs = list(v.items())
    elif isinstance(v, list):
        pairs = [tuple(x.values()) for x in v]
        assert all(len(x) == 2 for x in pairs)
    elif len(ats) > 1 or ats[0].split(".")[-1] in names:
        pairs = [(a.split(".")[-1], x) for a, x in zip(ats, values)]
    else:
        pairs = [tuple(y.strip() for y in x.split(":", 1)) for x in v.split(", ") if ":" in x]
    out = {}
    for k, x in pairs:
        if k in names and x not in ("", None):
            assert k not in out
            out[k] = x
    return out


def moment(v, zone, month):
    if v in ("", None):
        return ""
    if isinstance(v, datetime):
        return v.replace(tzinfo=zone).astimezone(timezone.utc)
    if v.isdigit():
        return datetime.fromtimestamp(int(v) / (1000 if len(v) > 11 else 1), timezone.utc)
    forms = ["%m/%d/%Y %I:%M %p", "%m/%d/%Y %H:%M"] if month else ["%d/%m/%Y %H:%M", "%d.%m.%Y %H:%M", "%d.%m.%Y %H:%M:%S", "%d.%m.%y %H:%M", "%d-%m-%Y %H:%M", "%d.%m.%Y %H.%M"]
    try:
        if len(v) == 10:
            return date.fromisoformat(v).isoformat()
        t = datetime.fromisoformat(v)
        return (t if t.tzinfo else t.replace(tzinfo=zone)).astimezone(timezone.utc)
    except ValueError:
        pass
    if len(v) == 10:
        return datetime.strptime(v, "%d/%m/%Y").date().isoformat()
    for f in forms:
        try:
            return datetime.strptime(v, f).replace(tzinfo=zone).astimezone(timezone.utc)
        except ValueError:
            pass
    raise ValueError(v)


def money(v, minor):
    if v in ("", None):
        return ""
    v = v.replace("$", "").replace("€", "").strip()
    if "," in v:
        v = v.replace(".", "").replace(",", ".")
    return (Decimal(v) / (100 if minor else 1)).quantize(Decimal("0.01"))


def trim(v, rule):
    if rule["prefix"] and v.startswith(rule["prefix"]):
        v = v[len(rule["prefix"]):]
    if rule["suffix"] and v.endswith(rule["suffix"]):
        v = v[:-len(rule["suffix"])]
    return v


def read(pair, folder, truth, zone, hints):
    side, out, seen_words = truth[folder == "storefront" and "storefront" or "supplier_source"], {}, {}
    groups = {}
    for f in side["fields"]:
        groups.setdefault((f["table"], f["file"]), []).append(f)
    for (name, file), fields in groups.items():
        path, rows, last, count = pair / folder / file, [], {}, {}
        names = side["options"].get(name, [])
        words = lambda c: side["words"].get("%s.%s" % (name, c), {})
        for got in records(path, fields, names):
            source = None
            if isinstance(got, tuple):
                source, got = got
                if hints.get("filled", ("",))[0] == file:
                    if source[hints["filled"][1]]:
                        last = source
                    elif name == "orders":
                        continue
                    else:
                        got = {f["column"]: [source[a] or (last[a] if f["column"] == "order_id" else "") for a in f["at"]] for f in fields}
            spread = {f["column"] for f in fields if f.get("all") and f["column"] != "status"}
            units = [got]
            if spread:  # numbered columns: one record for each number
                n = max(len(got[c]) for c in spread)
                units = [{c: [v[k]] if c in spread else v for c, v in got.items()} for k in range(n)]
                units = [u for u in units if any(u[c][0] for c in spread)]
            for u in units:
                r = {}
                for f in fields:
                    c, v = f["column"], u[f["column"]]
                    if c == "options":
                        r[c] = options(v, f["at"] if c not in spread else f["at"][:1], names)
                        continue
                    if c in ("status", "buyable", "available"):
                        for x in v:
                            if x != "" and not isinstance(x, datetime):
                                seen_words.setdefault("%s.%s" % (name, c), set()).add(x)
                        if f.get("all"):
                            r[c] = hints["state"](v, words(c))
                            continue
                        v = [words(c)[x] if x else "" for x in v]
                    if c in TIMES:
                        v = [moment(x, zone, hints.get("month")) for x in v]
                    if c in MONEY:
                        v = [money(x, file in hints.get("minor", ())) for x in v]
                    assert all(x == v[0] for x in v), (path, c, v)
                    r[c] = v[0]
                if name in ("submissions", "submission_lines") and "order_ref" in r:
                    r["order_ref"] = trim(r["order_ref"], side["order_ref"])
                if "sku" in r and folder == "supplier":
                    r["sku"] = trim(r["sku"], side["sku"])
                if folder == "supplier":
                    r["supplier"] = truth["supplier"]
                if name == "parcels" and not r["parcel_id"]:
                    continue
                if name in ("order_lines", "submission_lines") and "line_id" not in r:
                    of = r["order_id" if name == "order_lines" else "submission_id"]
                    count[of] = count.get(of, 0) + 1
                    r["line_id"] = str(count[of])
                if "options" in r:
                    r["options"] = json.dumps(r["options"], ensure_ascii=False, sort_keys=True)
                rows.append(r)
        if path.suffix not in (".json", ".jsonl") or name == "parcels":
            unique = []
            for r in rows:
                if r not in unique[-60:]:
                    unique.append(r)
            rows = unique
        out[name] = rows
    for key, words in side["words"].items():
        if key == "orders.status" and "state" in hints:
            seen = {w for w in seen_words[key] if w in words}
            assert seen == set(words), (pair.name, key, seen ^ set(words))
        else:
            assert seen_words[key] == set(words), (pair.name, key, seen_words[key], set(words))
        assert set(words.values()) <= STATES
    return out


def exchange(pair):
    out = {}
    for path in sorted((pair / "exchange").glob("*.csv")):
        rows = []
        for r in csv.DictReader(io.StringIO(path.read_text("utf-8"), newline="")):
            for c in r:
                if c in TIMES and r[c]:
                    assert len(r[c]) == 10 or datetime.fromisoformat(r[c]).tzinfo
                    r[c] = r[c] if len(r[c]) == 10 else datetime.fromisoformat(r[c]).astimezone(timezone.utc)
                elif c in MONEY and r[c]:
                    r[c] = Decimal(r[c])
                elif c == "options":
                    r[c] = json.dumps(json.loads(r[c]), ensure_ascii=False, sort_keys=True)
            rows.append(r)
        out[path.stem] = rows
    return out


def sense(pair, x):
    """What holds in life, and what section 4 asks of the tables."""
    for name, rows in x.items():
        keys = [tuple(r[k] for k in KEYS[name]) for r in rows]
        assert len(set(keys)) == len(keys), (pair.name, name, "a key stands twice", [k for k in keys if keys.count(k) > 1][:3])
    orders = {r["order_id"]: r for r in x["orders"]}
    assert all(r["order_id"] in orders for r in x["order_lines"])
    assert {r["order_id"] for r in x["order_lines"]} == set(orders)
    subs = {r["submission_id"]: r for r in x["submissions"]}
    assert all(r["submission_id"] in subs for r in x["submission_lines"] + x.get("parcels", []))
    assert all((r.get("order_ref") or subs[r["submission_id"]]["order_ref"]) in orders for r in x["submission_lines"])
    assert all(not r["paid_at"] or r["paid_at"] >= r["placed_at"] for r in orders.values())
    assert all(bool(r["paid_at"]) == (r["status"] != "unpaid") for r in orders.values())
    assert all(r["dispatched_at"] > subs[r["submission_id"]]["received_at"] for r in x.get("parcels", []))
    if "variants" in x:
        known = {r["variant_id"] for r in x["variants"]}
        skus = [r["sku"] for r in x["variants"]]
        assert len(set(skus)) == len(skus), (pair.name, "two variants with one SKU")
        assert all(r["variant_id"] in known for r in x["submission_lines"] if r.get("variant_id"))
        if "variant_id" not in x["submission_lines"][0]:
            assert all(r["sku"] in skus for r in x["submission_lines"])
    placed = [r["placed_at"] for r in x["orders"]]
    assert placed == sorted(placed)


def main():
    whole, bad = 0, 0
    for pair in sorted(p for p in ROOT.iterdir() if (p / "truth.json").exists()):
        truth = json.loads((pair / "truth.json").read_text("utf-8"))
        hints, zone = HINTS.get(pair.name[:2], {}), ZoneInfo(truth["zone"])
        x = exchange(pair)
        got = dict(read(pair, "storefront", truth, zone, hints), **read(pair, "supplier", truth, zone, dict(hints, state=None)))
        assert set(got) == set(x), (pair.name, set(got) ^ set(x))
        for name in sorted(x):
            drop = lambda r: tuple(sorted((k, v) for k, v in r.items()))
            have = {c for r in got[name] for c in r if any(q.get(c) not in ("", None) for q in got[name]) or c in ("sku", "options")}
            assert set(x[name][0]) == have, (pair.name, name, set(x[name][0]) ^ have)
            a = [drop({k: v for k, v in r.items() if k in have}) for r in got[name]]
            b = [drop(r) for r in x[name]]
            if sorted(map(str, a)) != sorted(map(str, b)):
                bad += 1
                print("  DIFFERS", pair.name, name, len(a), len(b), [r for r in a if r not in b][:2], [r for r in b if r not in a][:2])
        sense(pair, x)
        size = 0
        for f in pair.rglob("*"):
            if f.is_file():
                size += f.stat().st_size
                assert f.stat().st_size <= 150_000, (f, f.stat().st_size)
        whole += size
        states = {}
        for r in x["orders"]:
            states[r["status"]] = states.get(r["status"], 0) + 1
        print(pair.name, {k: len(v) for k, v in x.items()}, states, size // 1000, "kB")
        assert 40 <= len(x["orders"]) <= 90 and 80 <= len(x["order_lines"]) <= 200
        if len(sys.argv) > 1:
            run = subprocess.run([sys.argv[1], "audit", "--from", str(pair / "exchange"), "--format", "json", "--as-of", "2030-01-01T00:00:00Z"], capture_output=True, text=True, timeout=60)
            answer = json.loads(run.stdout) if run.returncode in (0, 1) else {}
            kinds = {}
            for f in answer.get("findings", []):
                kinds[f["check"]] = kinds.get(f["check"], 0) + 1
            print("   audit", run.returncode, kinds, answer.get("totals"), run.stderr[:1500] if run.returncode not in (0, 1) else "")
            bad += run.returncode not in (0, 1)
    print(whole // 1000, "kB;", "all agree" if not bad else "%d differ" % bad)
    return 1 if bad or whole > 4_000_000 else 0


if __name__ == "__main__":
    sys.exit(main())
