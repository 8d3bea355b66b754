"""An invented book of orders, and the writers of files that the pairs share."""
import csv, io, json, os, random, re, shutil, zipfile
from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

HERE = os.path.dirname(os.path.abspath(__file__))
FIRST = "Ada Bruno Calla Dorrit Emeric Fenna Gilda Hollis Ines Jorun Kester Lioba Marek Nuria Odile Perrin Quirin Rosalba Sunniva Tibor Ulla Vasco Wenda Yorick Zelda".split()
LAST = "Amberlow Birkenau Corvane Dunmarsh Eskerby Fallowden Grimshore Haverstock Ilmental Juncal Kranewitt Lindqvarn Moorfell Nettlau Ostrova Pellerin Quastrow Rivenhall Sorbier Tannwald Umberfeld Vellacort".split()
STREET = "Hazel Row,Old Quay,Linden Court,Mill Bend,Ash Lane,Tin Street,Weir Path,Lark Rise".split(",")
WORDS = ["For Mum", "Team Otter '26", "Ilse & Tom", "No. 7", "Happy 40th, Bo!", "the best aunt", "Oma", "MAX", "keep calm, bake on", "Size L please, not M", "in blue if you can"]


def person(r):
    f, l = r.choice(FIRST), r.choice(LAST)
    return {"name": f"{f} {l}", "first": f, "last": l, "mail": f"{f}.{l}@example.com".lower(),
            "street": f"{r.randint(1, 99)} {r.choice(STREET)}", "zip": str(r.randint(10000, 99999)),
            "phone": f"555 01{r.randint(10, 99)}", "town": r.choice(["Elderby", "Nordhagen", "Sankt Veitl", "Port Maren", "Vallserra"])}


def dec(c): return f"{c // 100}.{c % 100:02d}"
def com(c): return f"{c // 100},{c % 100:02d}"


class Book:
    """Offers, orders, supplier orders and parcels of one shop, with faults in them."""

    def __init__(self, seed, zone, start, days, n, listings, names, sku, vid, order_id, sub_id, line_id,
                 sub_line_id, parcel_id, track, carriers, countries, listing_id, res=60, text=0.12,
                 per_line=False, batch=False, split=0.0, promise=None, partial=False, first_no=1000, remakes=0):
        r = self.r = random.Random(seed)
        self.zone, self.res, self.names = ZoneInfo(zone), res, names
        self.offers, self.orders, self.subs, self.listings = [], [], [], []
        k = 0
        for li, (title, goods) in enumerate(listings):
            L = {"id": listing_id(li, r), "title": title, "offers": []}
            self.listings.append(L)
            for gi, (label, product, sizes, colours, price, cost) in enumerate(goods):
                for si, s in enumerate(sizes or [None]):
                    for ci, c in enumerate(colours or [None]):
                        k += 1
                        opts = {}
                        if label: opts[names[0]] = label
                        if s: opts[names[1]] = s if isinstance(s, str) else s[0]
                        if c: opts[names[2]] = c if isinstance(c, str) else c[0]
                        up = 200 if si >= 3 else 0
                        true = sku(li, gi, si, ci, k)
                        v = {"id": vid(k, li, gi, si, ci, r), "sku": true, "product": product,
                             "size": (s if isinstance(s, str) else s[1]) if s else "",
                             "colour": (c if isinstance(c, str) else c[1]) if c else "",
                             "cost": cost + up // 2, "available": r.random() > 0.04}
                        o = {"listing": L, "options": opts, "sku": true, "price": price + up, "v": v,
                             "buyable": r.random() > 0.05, "linked": True}
                        x = r.random()
                        if x < 0.035: o["sku"], o["linked"] = "", False
                        elif x < 0.065: o["sku"], o["linked"] = "old-" + str(100 + k), False
                        L["offers"].append(o); self.offers.append(o)
        self.variants = [o["v"] for o in self.offers]
        t0 = datetime.fromisoformat(start).replace(tzinfo=self.zone)
        times = sorted(self.t(t0 + timedelta(days=r.randrange(days) if r.random() < .85 else days - 1 - r.randrange(4), hours=7 + 15 * r.random())) for _ in range(n))
        for i in range(1, n):
            if times[i] <= times[i - 1]: times[i] = times[i - 1] + timedelta(minutes=3)
        self.asof = asof = times[-1] + timedelta(hours=9)
        no, ln = first_no, 0
        dull = r.sample(range(n), max(7, n // 9))
        faults = {}
        for j, i in enumerate(r.sample([i for i in range(n) if i not in dull], max(8, n // 8))):
            faults[i] = ["part", "unsent", "double", "wrong", "part", "wrong", "by-hand"][j % 7]
        for i, at in enumerate(times):
            no += 1 + (r.random() < 0.12)
            o = {"no": no, "id": order_id(no), "n": i, "placed": at, "who": person(r), "country": r.choice(countries),
                 "lines": [], "cancelled": None, "paid": self.t(at + timedelta(minutes=r.choice([1, 2, 3, 6, 14, 55, 300])))}
            if i in dull:
                kind = dull.index(i) % 4
                if kind < 2: o["paid"] = None
                if kind == 1 or kind == 2 or (kind == 3 and i < n - 4):
                    o["cancelled"] = min(self.t(at + timedelta(hours=r.randint(7, 40))), self.t(asof - timedelta(minutes=40)))
            m = r.choices([1, 2, 3, 4], [38, 34, 18, 10])[0]
            for _ in range(m):
                L = r.choices(self.listings, [3 + len(x["offers"]) ** .5 for x in self.listings])[0]
                off = r.choice(L["offers"])
                if any(x["offer"] is off for x in o["lines"]) and r.random() < .7: continue
                ln += 1
                o["lines"].append({"offer": off, "id": line_id(ln, len(o["lines"]) + 1, r), "qty": r.choices([1, 2, 3, 6], [62, 24, 12, 2])[0],
                                   "text": r.choice(WORDS) if r.random() < text else "", "gone": 0})
            if partial and len(o["lines"]) and r.random() < 0.05:
                o["lines"][-1]["gone"] = 1
            o["promise"] = (at + timedelta(days=promise)).date() if promise else None
            o["goods"] = sum(x["qty"] * x["offer"]["price"] for x in o["lines"])
            o["post"] = r.choice([390, 490, 690]); o["total"] = o["goods"] + o["post"]
            self.orders.append(o)
        todo = []
        for i, o in enumerate(self.orders):
            if not o["paid"]: continue
            f = faults.get(i)
            if o["cancelled"] and r.random() < .4: continue
            if f == "unsent": continue
            want = [(l, l["offer"]["v"]) for l in o["lines"] if l["offer"]["linked"] or f == "by-hand"]
            if f == "part" and len(want) > 1: want.pop(r.randrange(len(want)))
            if f == "wrong" and want:
                l, v = want[0]
                others = [x["v"] for x in l["offer"]["listing"]["offers"] if x["v"] is not v]
                if others: want[0] = (l, r.choice(others))
            if not want: continue
            for copy in range(2 if f == "double" else 1):
                got = self.t(o["paid"] + timedelta(minutes=r.randint(9, 200) + 700 * copy))
                if got < asof:
                    todo += [(got, o, [w]) for w in want] if per_line else [(got, o, want)]
        again = [(self.t(x[0] + timedelta(days=8, minutes=77)), x[1], x[2][:1], True) for x in todo[3:3 + 7 * remakes:7]]
        todo = sorted(todo + again, key=lambda x: x[0])
        ids = 0
        if batch:
            runs = {}
            for got, o, want, *_ in todo:
                day = (got.astimezone(self.zone) + timedelta(days=1)).date()
                runs.setdefault(day, []).append((o, want))
            jobs = [(self.t(datetime(d.year, d.month, d.day, 5, 30, tzinfo=self.zone)), w) for d, w in sorted(runs.items())]
            jobs = [(at, w) for at, w in jobs if at < asof]
        else:
            jobs = [(got, [(o, want)], *more) for got, o, want, *more in todo]
        parcels, lines = 0, 0
        for j, (got, parts, *more) in enumerate(jobs):
            ids += 1 + (r.random() < .3)
            s = {"id": sub_id(ids, got), "received": got, "order": None if batch else parts[0][0], "lines": [], "parcels": [], "replaces": ""}
            if more: s["replaces"] = next(x["id"] for x in self.subs if x["order"] is parts[0][0])
            out = (got + timedelta(hours=40 + 90 * r.random())).astimezone(self.zone)
            out = self.t(out.replace(hour=r.randint(14, 17), minute=r.randint(0, 59)))
            age = asof - got
            s["status"] = "dispatched" if out < asof else "making" if age > timedelta(hours=26) else "received"
            if s["status"] != "dispatched" and r.random() < .2: s["status"] = "held"
            o0 = parts[0][0]
            if not batch and (o0["cancelled"] and r.random() < .7 or j % 37 == 19): s["status"] = "cancelled"
            if not batch and j % 41 == 28: s["status"] = "rejected"
            for o, want in parts:
                mine = []
                for l, v in want:
                    lines += 1
                    x = {"id": sub_line_id(s, len(s["lines"]) + 1, lines), "v": v, "qty": l["qty"], "order": o, "of": l}
                    s["lines"].append(x); mine.append(x)
                if s["status"] == "dispatched" or (split and s["status"] == "making" and len(mine) > 1 and r.random() < .6):
                    groups = [mine]
                    if len(mine) > 1 and r.random() < split: groups = [mine[:1], mine[1:]]
                    if s["status"] == "making": groups = [mine[:1]]
                    for g, grp in enumerate(groups):
                        parcels += 1
                        t = out if s["status"] == "dispatched" else min(self.t(got + timedelta(hours=24)), self.t(asof - timedelta(hours=1)))
                        s["parcels"].append({"id": parcel_id(parcels, s), "track": track(r), "carrier": r.choice(carriers),
                                             "at": self.t(t - timedelta(hours=5 * (len(groups) - 1 - g))), "lines": [(x["id"], x["qty"]) for x in grp]})
            self.subs.append(s)
        done = {}
        for s in self.subs:
            for x in s["lines"] if not s["replaces"] else []: done.setdefault(x["order"]["id"], []).append(s)
        for o in self.orders:
            ss = done.get(o["id"], [])
            o["gone"] = None
            if o["cancelled"]: o["status"] = "cancelled"
            elif not o["paid"]: o["status"] = "unpaid"
            elif ss and all(s["status"] == "dispatched" for s in ss):
                o["status"] = "dispatched"
                o["gone"] = max(p["at"] for s in ss for p in s["parcels"])
            else: o["status"] = "open"
            o["updated"] = max(t for t in (o["placed"], o["paid"], o["cancelled"], o["gone"]) if t)
        for s in self.subs:
            s["updated"] = max([min(asof, s["received"] + (timedelta(hours=3) if s["status"] != "received" else timedelta(0)))] + [p["at"] for p in s["parcels"]])

    def t(self, x):
        e = int(x.timestamp()); return datetime.fromtimestamp(e - e % self.res, timezone.utc)

    def loc(self, t, f): return t.astimezone(self.zone).strftime(f) if t else ""
    def iso(self, t): return t.astimezone(self.zone).isoformat() if t else ""
    def day(self, t):
        """The beginning of the day, where a source has the day alone."""
        return t.astimezone(self.zone).replace(hour=0, minute=0, second=0).isoformat() if t else ""


class Pair:
    """The folder of one pair; collects fields and tables, and writes them."""

    def __init__(self, name, zone, supplier):
        self.name, self.supplier = name, supplier
        self.dir = os.path.join(HERE, name)
        shutil.rmtree(self.dir, ignore_errors=True)
        for d in ("storefront", "supplier", "exchange"): os.makedirs(os.path.join(self.dir, d))
        self.truth = {"zone": zone, "supplier": supplier, "storefront": {"fields": [], "words": {}, "options": {}, "notes": ""},
                      "supplier_source": {"fields": [], "words": {}, "options": {}, "order_ref": {"prefix": "", "suffix": ""},
                                          "sku": {"prefix": "", "suffix": ""}, "notes": ""}}

    def p(self, side, f): return os.path.join(self.dir, side, f)

    def csv(self, side, f, head, rows, delim=",", enc="utf-8", eol="\r\n", quote=csv.QUOTE_MINIMAL):
        b = io.StringIO(newline="")
        w = csv.writer(b, delimiter=delim, lineterminator=eol, quoting=quote)
        w.writerow(head)
        for x in rows: w.writerow([x.get(h, "") for h in head] if isinstance(x, dict) else x)
        data = b.getvalue()
        with open(self.p(side, f), "wb") as h:
            h.write(b"\xff\xfe" + data.encode("utf-16-le") if enc == "utf-16" else data.encode(enc))

    def json(self, side, f, v, indent=None, ascii=False):
        with open(self.p(side, f), "w", encoding="utf-8") as h:
            h.write(json.dumps(v, indent=indent, ensure_ascii=ascii, separators=None if indent else (",", ":")) + "\n")

    def jsonl(self, side, f, rows):
        with open(self.p(side, f), "w", encoding="utf-8") as h:
            for x in rows: h.write(json.dumps(x, ensure_ascii=False) + "\n")

    def xlsx(self, side, f, head, rows, titles=(), sheet="Sheet"):
        import openpyxl
        wb = openpyxl.Workbook(); ws = wb.active; ws.title = sheet
        for t in titles: ws.append(t)
        ws.append(head)
        for x in rows: ws.append([None if x.get(h, "") == "" else x[h] for h in head])
        for row in ws.iter_rows():
            for c in row:
                if isinstance(c.value, datetime): c.number_format = "yyyy-mm-dd hh:mm"
        wb.save(self.p(side, f)); settle(self.p(side, f))

    def ods(self, side, f, head, rows, titles=(), sheet="Hoja1"):
        from odf.opendocument import OpenDocumentSpreadsheet
        from odf.table import Table, TableRow, TableCell
        from odf.text import P
        doc = OpenDocumentSpreadsheet(); t = Table(name=sheet)
        for row in [*titles, head, *[[x.get(h, "") for h in head] for x in rows]]:
            tr = TableRow()
            for v in row:
                if v == "" or v is None: tr.addElement(TableCell())
                elif isinstance(v, (int, float)):
                    c = TableCell(valuetype="float", value=str(v)); c.addElement(P(text=str(v))); tr.addElement(c)
                else:
                    c = TableCell(valuetype="string"); c.addElement(P(text=v)); tr.addElement(c)
            t.addElement(tr)
        doc.spreadsheet.addElement(t); doc.save(self.p(side, f)); settle(self.p(side, f))

    def fields(self, side, f, table, **at):
        key = "storefront" if side == "storefront" else "supplier_source"
        for col, a in at.items():
            whole = isinstance(a, tuple)
            x = {"table": table, "column": col, "file": f, "at": [a] if isinstance(a, str) else list(a)}
            if whole: x["all"] = True
            self.truth[key]["fields"].append(x)

    def table(self, name, rows):
        """Writes one exchange table; the columns are those of its fields (and what is counted)."""
        head = []
        for x in rows:
            for k in x:
                if k not in head: head.append(k)
        for x in rows:
            if isinstance(x.get("options"), dict): x["options"] = json.dumps(x["options"], ensure_ascii=False)
        self.csv("exchange", name + ".csv", head, rows, eol="\n")

    def done(self, book=None):
        if book:
            used, m = {x["status"] for x in book.subs}, self.truth["supplier_source"]["words"]
            m["submissions.status"] = {k: v for k, v in m["submissions.status"].items() if v in used}
        with open(os.path.join(self.dir, "truth.json"), "w", encoding="utf-8") as h:
            h.write(json.dumps(self.truth, indent=1, ensure_ascii=False) + "\n")


def settle(path):
    """Writes an archive again with fixed times, so that the same script gives the same bytes."""
    with zipfile.ZipFile(path) as z: parts = [(i, z.read(i)) for i in z.infolist()]
    with zipfile.ZipFile(path, "w") as z:
        for i, d in parts:
            if i.filename == "docProps/core.xml": d = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2026-01-01T00:00:00Z", d)
            n = zipfile.ZipInfo(i.filename, (2026, 1, 1, 0, 0, 0)); n.compress_type = i.compress_type
            z.writestr(n, d)


def drop_empty(d): return {k: v for k, v in d.items() if v}
