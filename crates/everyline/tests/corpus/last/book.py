"""An invented book of orders with faults in it, and the writers of files that the pairs share.

It knows nothing of how an export looks; make.py does. Start reading at `Book`.
"""
import csv, io, json, os, random, re, shutil, zipfile
from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

HERE = os.path.dirname(os.path.abspath(__file__))
TEXTS = ["Happy birthday!", "No. 7", "keep calm, bake on", "Team Otter '26", "best aunt ever", "in blue if you can", "size L please; not M", "1999", "home: sweet home"]


def dec(c): return f"{c // 100}.{c % 100:02d}"
def com(c): return f"{c // 100},{c % 100:02d}"
def full(d): return {k: v for k, v in d.items() if v not in ("", None)}


class Book:
    """Listings with offers, variants, orders, supplier orders and parcels of one shop."""

    def __init__(self, seed, zone, start, days, n, listings, names, vnames, code, countries, carriers, currency,
                 res=60, promise=5, text=.12, texts=TEXTS, partial=.07, split=.3, two_subs=0.0, qty_split=False, extra=0, remakes=0):
        r = self.r = random.Random(seed)
        self.zone, self.res, self.currency = ZoneInfo(zone), res, currency
        self.names, self.vnames, self.code = names, vnames, code
        self.texts = texts
        self.stock(listings, extra)
        self.sell(start, days, n, countries, promise, text, partial)
        self.spoil()
        self.make(carriers, split, two_subs, qty_split, remakes)
        self.close()

    def stock(self, listings, extra):
        r, code = self.r, self.code
        self.listings, self.offers, k = [], [], 0
        for li, (title, kinds) in enumerate(listings):
            L = {"id": code["listing"](li, r), "n": li, "title": title, "slug": re.sub(r"[^a-z]+", "-", plain(title)).strip("-"), "offers": []}
            self.listings.append(L)
            for gi, (kind, product, sizes, colours, price, cost) in enumerate(kinds):
                for si, s in enumerate(sizes or [None]):
                    for ci, c in enumerate(colours or [None]):
                        k += 1
                        shown = [kind, first(s), first(c)]
                        made = [last(s), last(c)]
                        up = 200 if si >= 3 else 0
                        sku = code["sku"](li, gi, si, ci, k)
                        v = {"id": code["vid"](k, li, gi, si, ci, r), "sku": sku, "product": product, "parts": made,
                             "options": full(dict(zip(self.vnames, made))), "cost": cost + up // 2, "available": r.random() > .05, "n": k}
                        o = {"listing": L, "parts": shown, "options": full(dict(zip(self.names, shown))), "sku": sku, "price": price + up, "v": v,
                             "buyable": r.random() > .06, "linked": True, "n": k}
                        L["offers"].append(o); self.offers.append(o)
        for i, o in enumerate(r.sample(self.offers, max(3, len(self.offers) // 11))):
            o["linked"] = False
            o["sku"] = "" if i % 2 == 0 else code.get("old", lambda k: f"OLD{k:03d}")(o["n"])
        self.variants = [o["v"] for o in self.offers]
        if all(v["available"] for v in self.variants): self.variants[len(self.variants) // 3]["available"] = False
        if all(o["buyable"] for o in self.offers): self.offers[len(self.offers) // 2]["buyable"] = False
        for i in range(extra):
            b = r.choice(self.variants); k += 1
            made = [b["parts"][0], "natural" if i % 2 else "black"]
            self.variants.append({**b, "id": code["vid"](k, 7, 0, i, 0, r), "sku": "", "product": b["product"], "parts": made, "options": full(dict(zip(self.vnames, made))), "n": k})

    def sell(self, start, days, n, countries, promise, text, partial):
        r, code = self.r, self.code
        t0 = datetime.fromisoformat(start).replace(tzinfo=self.zone)
        times = sorted(self.t(t0 + timedelta(days=r.randrange(days) if r.random() < .85 else days - 1 - r.randrange(3), hours=7 + 15 * r.random())) for _ in range(n))
        for i in range(1, n):
            if times[i] <= times[i - 1]: times[i] = times[i - 1] + timedelta(minutes=4)
        self.asof = times[-1] + timedelta(hours=10)
        no, ln, self.orders = 0, 0, []
        dull = r.sample(range(2, n - 2), max(5, n // 9))
        for i, at in enumerate(times):
            no += 1 + (r.random() < .15)
            o = {"no": no, "n": i, "id": code["order"](no, r), "uid": code["uid"](no, r), "placed": at, "country": r.choice(countries), "lines": [], "cancelled": None,
                 "paid": self.t(at + timedelta(minutes=r.choice([1, 2, 3, 5, 12, 48, 240]))), "customer": 2100 + (i * 37) % 61, "fault": None}
            if i in dull:
                kind = dull.index(i) % 4
                if kind < 2: o["paid"] = None
                if kind > 0: o["cancelled"] = min(self.t(at + timedelta(hours=r.randint(5, 30))), self.asof - timedelta(minutes=44))
            for _ in range(r.choices([1, 2, 3, 4], [50, 34, 12, 4])[0]):
                L = r.choices(self.listings, [2 + len(x["offers"]) ** .5 for x in self.listings])[0]
                off = r.choice(L["offers"])
                if any(x["offer"] is off for x in o["lines"]): continue
                ln += 1
                o["lines"].append({"offer": off, "id": code["line"](ln, len(o["lines"]) + 1, r), "qty": r.choices([1, 2, 3, 5], [60, 25, 11, 4])[0],
                                   "text": r.choice(self.texts) if r.random() < text else "", "gone": 0, "n": ln, "i": len(o["lines"]) + 1})
            o["due"] = (at.astimezone(self.zone) + timedelta(days=promise)).date()
            o["goods"] = sum(x["qty"] * x["offer"]["price"] for x in o["lines"])
            o["post"] = 0 if o["goods"] > 9000 else r.choice([350, 450, 650])
            o["total"] = o["goods"] + o["post"]
            o["tax"] = round(o["total"] * 20 / 120)
            self.orders.append(o)
        for o in self.orders:
            if o["paid"] and not o["cancelled"] and r.random() < partial: o["lines"][-1]["gone"] = 1

    def spoil(self):
        """Puts one fault each into some orders that are paid and old enough to be at the supplier."""
        r = self.r
        old = [o for o in self.orders if o["paid"] and not o["cancelled"] and self.asof - o["placed"] > timedelta(days=3)]
        linked = lambda o: [l for l in o["lines"] if l["offer"]["linked"]]
        wants = [("part", lambda o: len(linked(o)) > 1), ("unsent", lambda o: linked(o)), ("double", lambda o: linked(o)), ("part", lambda o: len(linked(o)) > 1),
                 ("more", lambda o: linked(o)), ("wrong", lambda o: linked(o) and len(linked(o)[0]["offer"]["listing"]["offers"]) > 1),
                 ("short", lambda o: any(l["qty"] > 1 for l in linked(o))), ("hand", lambda o: len(linked(o)) < len(o["lines"])), ("unsent", lambda o: linked(o))]
        for name, fits in wants:
            fit = [o for o in old if not o["fault"] and fits(o)]
            if fit: r.choice(fit)["fault"] = name

    def make(self, carriers, split, two_subs, qty_split, remakes):
        r, code, asof = self.r, self.code, self.asof
        todo, self.subs = [], []
        for o in self.orders:
            if not o["paid"] or o["fault"] == "unsent": continue
            if o["cancelled"] and o["n"] % 3 == 0: continue
            want = [[l, l["offer"]["v"], l["qty"]] for l in o["lines"] if l["offer"]["linked"] or o["fault"] == "hand"]
            if o["fault"] == "part": want.pop(r.randrange(len(want)))
            if o["fault"] == "wrong": want[0][1] = r.choice([x["v"] for x in want[0][0]["offer"]["listing"]["offers"] if x["v"] is not want[0][1]])
            if o["fault"] == "more": want[-1][2] += want[-1][2]
            if o["fault"] == "short": w = next(w for w in want if w[2] > 1); w[2] -= 1
            if not want: continue
            parts = [want[:1], want[1:]] if len(want) > 1 and r.random() < two_subs else [want]
            for copy in range(2 if o["fault"] == "double" else 1):
                for p in parts: todo.append((self.m(o["paid"] + timedelta(minutes=r.randint(8, 170) + 800 * copy)), o["n"], o, p, None))
        todo = sorted((x for x in todo if x[0] < asof), key=lambda x: x[:2])
        for i in range(remakes):
            x = todo[3 + 6 * i]
            at = self.m(x[0] + timedelta(days=7, minutes=95))
            if at < asof: todo.append((at, x[1], x[2], x[3][:1], x))
        todo.sort(key=lambda x: x[:2])
        ids, lines, packs, by = 0, 0, 0, {}
        spare = list(dict.fromkeys(x[1] for x in todo if not x[2]["fault"] and not x[2]["cancelled"]))
        reject, cancel = spare[4], spare[9]
        for x in todo:
            got, _, o, want, again = x
            ids += 1 + (r.random() < .3)
            s = {"id": code["sub"](ids, got), "n": len(self.subs), "received": got, "order": o, "lines": [], "parcels": [], "replaces": by[id(again)] if again else "", "due": (got.astimezone(self.zone) + timedelta(days=4)).date()}
            by[id(x)] = s["id"]
            out = (got + timedelta(hours=30 + 80 * r.random())).astimezone(self.zone)
            out = self.m(out.replace(hour=r.randint(13, 17), minute=r.randint(0, 59)))
            age = asof - got
            s["status"] = "dispatched" if out < asof else "making" if age > timedelta(hours=22) else "received"
            if s["status"] != "dispatched" and (r.random() < .2 or s["status"] == "making" and not any(y["status"] == "held" for y in self.subs)): s["status"] = "held"
            if s["status"] != "dispatched" and x is todo[-1]: s["status"] = "received"
            if o["cancelled"] and o["n"] % 3 == 1 or o["n"] == cancel: s["status"] = "cancelled"
            if o["n"] == reject: s["status"] = "rejected"
            for l, v, q in want:
                lines += 1
                s["lines"].append({"id": code["subline"](s, len(s["lines"]) + 1, lines), "i": len(s["lines"]) + 1, "n": lines, "v": v, "qty": q, "of": l, "status": s["status"], "sent": []})
            mine = [(y, y["qty"]) for y in s["lines"]]
            groups = []
            if s["status"] == "dispatched":
                groups = [mine]
                if r.random() < split:
                    if len(mine) > 1: groups = [mine[:1], mine[1:]]
                    elif qty_split and mine[0][1] > 1: groups = [[(mine[0][0], 1)], [(mine[0][0], mine[0][1] - 1)]]
            elif s["status"] == "making" and len(mine) > 1 and got + timedelta(hours=21) < asof: groups = [mine[:1]]
            for g, grp in enumerate(groups):
                packs += 1
                at = out if s["status"] == "dispatched" else self.m(got + timedelta(hours=20))
                p = {"id": code["parcel"](packs, s), "n": packs, "track": code["track"](r), "carrier": r.choice(carriers), "at": at - timedelta(hours=4) * (len(groups) - 1 - g), "lines": grp}
                s["parcels"].append(p)
                for y, q in grp: y["sent"].append((p, q)); y["status"] = "dispatched"
            last_at = max([p["at"] for p in s["parcels"]], default=got)
            s["printed"] = min(self.m(got + timedelta(hours=17)), last_at) if s["parcels"] else self.m(got + timedelta(hours=17)) if s["status"] == "making" else None
            s["updated"] = max(last_at, min(asof, self.m(got + timedelta(hours=2))) if s["status"] != "received" else got)
            self.subs.append(s)

    def close(self):
        done = {}
        for s in self.subs:
            if not s["replaces"]: done.setdefault(s["order"]["n"], []).append(s)
        for o in self.orders:
            ss = done.get(o["n"], [])
            o["gone"] = None
            if o["cancelled"]: o["status"] = "cancelled"
            elif not o["paid"]: o["status"] = "unpaid"
            elif ss and all(s["status"] == "dispatched" for s in ss):
                o["status"] = "dispatched"; o["gone"] = max(p["at"] for s in ss for p in s["parcels"])
            else: o["status"] = "open"
            o["updated"] = max(t for t in (o["placed"], o["paid"], o["cancelled"], o["gone"]) if t)

    def t(self, x):
        e = int(x.timestamp()); return datetime.fromtimestamp(e - e % self.res, timezone.utc)

    def m(self, x):
        e = int(x.timestamp()); return datetime.fromtimestamp(e - e % 60, timezone.utc)

    def loc(self, t, f): return t.astimezone(self.zone).strftime(f) if t else ""
    def iso(self, t): return t.astimezone(self.zone).isoformat() if t else ""
    def day(self, t): return t.astimezone(self.zone).strftime("%Y-%m-%d") if t else ""


def zulu(t, ms=False): return t.astimezone(timezone.utc).strftime("%Y-%m-%dT%H:%M:%S") + (".000Z" if ms else "Z") if t else None
def secs(t): return int(t.timestamp()) if t else None
def mils(t): return int(t.timestamp()) * 1000 if t else None
def first(x): return x if x is None or isinstance(x, str) else x[0]
def last(x): return "" if x is None else x if isinstance(x, str) else x[1]


def plain(s):
    for a, b in zip("äöüßéèêàçñíóáúâîô", ["ae", "oe", "ue", "ss", "e", "e", "e", "a", "c", "n", "i", "o", "a", "u", "a", "i", "o"]): s = s.lower().replace(a, b)
    return s


class Pair:
    """The folder of one pair; collects where each field stands, and writes it with the exchange tables."""

    def __init__(self, name, zone, supplier):
        self.name, self.supplier, self.days = name, supplier, set()
        self.dir = os.path.join(HERE, name)
        shutil.rmtree(self.dir, ignore_errors=True)
        for d in ("storefront", "supplier", "exchange"): os.makedirs(os.path.join(self.dir, d))
        self.truth = {"zone": zone, "supplier": supplier, "storefront": {"fields": [], "words": {}, "options": {}, "forms": {}, "notes": ""},
                      "supplier_source": {"fields": [], "words": {}, "options": {}, "order_ref": {"prefix": "", "suffix": ""}, "sku": {"prefix": "", "suffix": ""}, "forms": {}, "notes": ""}}

    @property
    def shop(self): return self.truth["storefront"]
    @property
    def made(self): return self.truth["supplier_source"]

    def p(self, side, f): return os.path.join(self.dir, side, f)

    def csv(self, side, f, rows, head=None, delim=",", enc="utf-8", eol="\r\n", quote=csv.QUOTE_MINIMAL):
        head = head or list(rows[0])
        b = io.StringIO(newline="")
        w = csv.writer(b, delimiter=delim, lineterminator=eol, quoting=quote)
        w.writerow(head)
        for x in rows: w.writerow(["" if x.get(h) is None else x[h] for h in head])
        with open(self.p(side, f), "wb") as h: h.write(b.getvalue().encode(enc))

    def json(self, side, f, v, indent=None):
        with open(self.p(side, f), "w", encoding="utf-8") as h:
            h.write(json.dumps(v, indent=indent, ensure_ascii=False, separators=None if indent else (",", ":")) + "\n")

    def jsonl(self, side, f, rows):
        with open(self.p(side, f), "w", encoding="utf-8") as h:
            for x in rows: h.write(json.dumps(x, ensure_ascii=False) + "\n")

    def xlsx(self, side, f, rows, sheet):
        import openpyxl
        wb = openpyxl.Workbook(); ws = wb.active; ws.title = sheet
        head = list(rows[0]); ws.append(head)
        for x in rows: ws.append([None if x[h] == "" else x[h] for h in head])
        for row in ws.iter_rows():
            for c in row:
                if isinstance(c.value, datetime): c.number_format = "dd/mm/yyyy hh:mm"
        wb.save(self.p(side, f)); settle(self.p(side, f))

    def fields(self, side, f, table, **at):
        """A place; several places of one value in a list; several places that say it together in a tuple."""
        for col, a in at.items():
            x = {"table": table, "column": col, "file": f, "at": [a] if isinstance(a, str) else list(a)}
            if isinstance(a, tuple): x["all"] = True
            (self.shop if side == "storefront" else self.made)["fields"].append(x)

    def done(self, B):
        """Writes the exchange tables with the columns that the truth names, and the truth."""
        cols, where = {}, {}
        for side in (self.shop, self.made):
            for f in side["fields"]: cols.setdefault(f["table"], []).append(f["column"])
        day = lambda table, c: B.day if f"{table}.{c}" in self.days else B.iso
        def write(table, rows, lead=()):
            if table not in cols: return
            head = [c for c in dict.fromkeys([*lead, *cols[table]])]
            out = []
            for x in rows:
                y = {c: (x[c]() if callable(x[c]) else x[c]) for c in head}
                if "options" in y: y["options"] = json.dumps(y["options"], ensure_ascii=False)
                out.append({c: str(v).lower() if isinstance(v, bool) else v for c, v in y.items()})
            self.csv("exchange", table + ".csv", out, head, eol="\n")
        write("orders", [{"order_id": o["id"], "placed_at": day("orders", "placed_at")(o["placed"]), "paid_at": day("orders", "paid_at")(o["paid"]), "status": o["status"], "currency": B.currency,
                          "promised_by": str(o["due"]), "ship_to_country": o["country"], "updated_at": day("orders", "updated_at")(o["updated"])} for o in B.orders])
        has = "line_id" in cols["order_lines"]
        write("order_lines", [{"order_id": o["id"], "line_id": l["id"] if has else l["i"], "listing_id": l["offer"]["listing"]["id"], "sku": l["offer"]["sku"], "title": l["offer"]["listing"]["title"], "options": l["offer"]["options"],
                               "quantity": l["qty"], "cancelled_quantity": l["gone"], "unit_price": dec(l["offer"]["price"])} for o in B.orders for l in o["lines"]], ("order_id", "line_id"))
        write("offers", [{"listing_id": f["listing"]["id"], "sku": f["sku"], "title": f["listing"]["title"], "options": f["options"], "price": dec(f["price"]), "currency": B.currency, "buyable": f["buyable"]} for f in B.offers])
        write("variants", [{"supplier": self.supplier, "variant_id": v["id"], "sku": v["sku"], "product": v["product"], "options": v["options"], "unit_cost": dec(v["cost"]), "currency": B.currency, "available": v["available"]} for v in B.variants], ("supplier",))
        write("submissions", [{"supplier": self.supplier, "submission_id": s["id"], "order_ref": s["order"]["id"], "status": s["status"], "received_at": day("submissions", "received_at")(s["received"]), "replaces": s["replaces"],
                               "updated_at": day("submissions", "updated_at")(s["updated"])} for s in B.subs], ("supplier",))
        has = "line_id" in cols["submission_lines"]
        write("submission_lines", [{"supplier": self.supplier, "submission_id": s["id"], "line_id": l["id"] if has else l["i"], "order_ref": s["order"]["id"], "order_line_ref": l["of"]["id"], "variant_id": l["v"]["id"], "sku": l["v"]["sku"], "quantity": l["qty"],
                                    "status": l["status"], "unit_cost": dec(l["v"]["cost"])} for s in B.subs for l in s["lines"]], ("supplier", "submission_id", "line_id"))
        every = [(s, p) for s in B.subs for p in s["parcels"]]
        write("parcels", [{"supplier": self.supplier, "parcel_id": p["id"], "submission_id": s["id"], "dispatched_at": day("parcels", "dispatched_at")(p["at"]), "carrier": p["carrier"], "tracking_number": p["track"]} for s, p in every], ("supplier",))
        write("parcel_lines", [{"supplier": self.supplier, "parcel_id": p["id"], "submission_line_id": l["id"], "quantity": q} for s, p in every for l, q in p["lines"]], ("supplier",))
        for key, of in (("submissions.status", {s["status"] for s in B.subs}), ("submission_lines.status", {l["status"] for s in B.subs for l in s["lines"]})):
            if key in self.made["words"]: self.made["words"][key] = {k: v for k, v in self.made["words"][key].items() if v in of}
        for side in (self.shop, self.made):
            if not side["forms"]: del side["forms"]
        with open(os.path.join(self.dir, "truth.json"), "w", encoding="utf-8") as h: h.write(json.dumps(self.truth, indent=1, ensure_ascii=False) + "\n")
        print(self.name, len(B.orders), "orders", sum(len(o["lines"]) for o in B.orders), "lines", len(B.subs), "supplier orders", len(every), "parcels")


def settle(path):
    """Writes an archive again with fixed times, so that the same script gives the same bytes."""
    with zipfile.ZipFile(path) as z: parts = [(i, z.read(i)) for i in z.infolist()]
    with zipfile.ZipFile(path, "w") as z:
        for i, d in parts:
            if i.filename == "docProps/core.xml": d = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2026-01-01T00:00:00Z", d)
            n = zipfile.ZipInfo(i.filename, (2026, 1, 1, 0, 0, 0)); n.compress_type = i.compress_type
            z.writestr(n, d)


def flip(words): return {v: k for k, v in words.items()}
