"""The invented book of a shop: goods, offers, orders, and what its supplier was asked to make.

make.py gives each pair its own words and writes the book in that pair's style. Money is in cents,
times are aware and in UTC. Everything follows from the seed.
"""
import random
from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

FIRST = ["Ilva", "Torben", "Maresh", "Odile", "Pell", "Quenby", "Rafe", "Sunniva", "Tamsel", "Ulric",
         "Vesna", "Wynn", "Yoric", "Zelie", "Aldous", "Brisa", "Corvin", "Dagny", "Elio", "Fenna"]
LAST = ["Abernook", "Bramlow", "Castavel", "Dunmarrow", "Eskeld", "Farrowin", "Gallendo", "Hintermoos",
        "Ivarsund", "Juniperre", "Kestrow", "Lindqvar", "Morveau", "Nettleby", "Ostrander-Vale", "Pirouel"]
# By language: how a street is written, places, and what customers note. Any other zone reads English.
LOCAL = {
    "de": ("{1} {0}", ["Talgweg", "Mühlend", "Reiherstiege", "Am Kalkofen"], ["Oberkirn", "Wexlau", "Sankt Orel"], ["bitte beim Nachbarn abgeben", "Geschenk; ohne Rechnung"]),
    "fr": ("{0} {1}", ["rue du Suif", "allée du Four", "impasse des Hérons"], ["Saint-Orel", "Vexlieu", "Harnelle"], ["à laisser chez la voisine", "cadeau, sans facture"]),
    "es": ("{1} {0}", ["Calle del Molino", "Paseo de la Garza", "Cuesta del Horno"], ["Villaplata", "San Orel", "Los Hornillos"], ["dejar en portería", "es un regalo; sin factura"]),
    "en": ("{0} {1}", ["Tallow Row", "Mill End", "Heron Steps", "Old Kiln Lane", "Lark Passage", "Cooper's Yard"],
           ["Wexlow", "Harnby", "Oberkirn", "Nordvika", "Maple Ferry"], ["please leave with neighbour", "gift, no slip"]),
}
LANGUAGE = {"Europe/Berlin": "de", "Europe/Vienna": "de", "Europe/Paris": "fr", "Europe/Madrid": "es", "America/Montevideo": "es"}


def safe(moment, zone):
    """The same moment, or two hours later where the local clock shows that time twice or never."""
    local = moment.astimezone(ZoneInfo(zone))
    if local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset():
        return moment + timedelta(hours=2)
    return moment


class Book:
    """goods: code -> (name, sizes, colours, price, cost); listings: (id, title, [good codes])."""

    def __init__(self, seed, zone, start, days, orders, first, goods, listings, names, sku, variant,
                 personal, countries, carriers, per="order", submission=None, parcel=None,
                 sometimes=0.08, promise=4, sku_prefix="", replace=False, withdrawn=False, part_parcels=True):
        self.r = r = random.Random(seed)
        self.zone, self.countries, self.carriers, self.personal = zone, countries, carriers, personal
        self.per, self.promise, self.withdrawn = per, promise, withdrawn
        self.part_parcels = part_parcels
        self.offers, self.variants, self.listings = [], [], []
        serial = 0
        for listing, title, codes in listings:
            mine = []
            for code in codes:
                good, sizes, colours, price, cost = goods[code]
                for size in sizes or [None]:
                    for colour in colours or [None]:
                        options = {}
                        if len(codes) > 1:
                            options[names[0]] = good
                        if size:
                            options[names[1]] = size
                        if colour:
                            options[names[2]] = colour
                        serial += r.choice([1, 1, 1, 2, 5])
                        extra = 300 if size and (size.startswith(("2X", "3X", "XX", "XL"))) else 0
                        v = dict(variant_id=variant(serial), sku=sku(listing, code, size, colour, serial), product=good,
                                 design=title, size=size, colour=colour, cost=cost + extra // 2,
                                 available=r.random() > 0.01, ean="200%010d" % r.randrange(10 ** 10), code=code)
                        o = dict(listing=listing, title=title, options=options, sku=v["sku"], price=price + extra,
                                 variant=v, buyable=r.random() > 0.03, good=good, n=serial)
                        self.variants.append(v)
                        mine.append(o)
            self.offers += mine
            self.listings.append(dict(listing=listing, title=title, offers=mine, goods=[goods[c][0] for c in codes]))
        self.popular = r.sample(self.offers, max(12, len(self.offers) // 3))
        others = [o for o in self.offers if o not in self.popular]
        self.unlinked = r.sample(others, max(2, len(self.offers) // 40))
        for k, o in enumerate(self.unlinked):  # nobody linked it: no SKU, or one typed wrongly
            o["variant"], o["sku"] = None, "" if k % 2 == 0 else o["sku"][:-1] + "0X"
        for o in r.sample(others, 2):
            o["buyable"] = False
        for v in r.sample(self.variants, 2):
            v["available"] = False
        self.start = datetime.fromisoformat(start).replace(tzinfo=ZoneInfo(zone)).astimezone(timezone.utc)
        self.end = self.start + timedelta(days=days, hours=18, minutes=r.randrange(50))
        self.submission = submission or (lambda n: "S%d" % n)
        self.parcel = parcel or (lambda n: "P%d" % n)
        self._orders(orders, first, days)
        self._submissions(sometimes, replace)

    def _later(self, moment, low, high):
        return safe(moment + timedelta(seconds=self.r.randrange(int(low * 3600), int(high * 3600))), self.zone)

    def _orders(self, count, first, days):
        r = self.r
        placed = sorted(safe(self.start + timedelta(days=r.randrange(days), hours=r.choice([6, 8, 9, 10, 12, 13, 16, 18, 19, 20, 21, 22]),
                                                    seconds=r.randrange(3600)), self.zone) for _ in range(count))
        street, roads, towns, notes = LOCAL[LANGUAGE.get(self.zone, "en")]
        fee = max(1, max(o["price"] for o in self.offers) // 6000)  # postage goes with the currency
        number, serial = first, r.randrange(200000, 700000)
        self.orders, line_serial = [], r.randrange(40000, 90000)
        bad = set(r.sample(range(count), max(4, round(count * 0.085))))
        lonely = set(r.sample(range(count - 6), 2))
        for i, when in enumerate(placed):
            number += r.choice([1, 1, 1, 1, 2, 3])
            serial += r.randrange(2, 40)
            paid = when + timedelta(seconds=r.randrange(20, 900)) if r.random() < 0.88 else self._later(when, 4, 70)
            fate = "paid"
            if i in bad:
                fate = r.choice(["unpaid", "cancelled", "cancelled"])
                if i in (min(bad), max(bad)):  # at least one of each
                    fate = "unpaid" if i == min(bad) else "cancelled"
            if paid > self.end:
                fate = "unpaid"
            lines = []
            for k in range(r.choices([1, 2, 3, 4, 5], [34, 32, 20, 10, 4])[0]):
                o = r.choice(self.popular if r.random() < 0.7 else self.offers)
                if k == 0 and i in lonely:
                    o = r.choice(self.unlinked)
                while any(x["offer"] is o for x in lines):
                    o = r.choice(self.offers)
                line_serial += r.randrange(1, 9)
                lines.append(dict(n=k + 1, id=line_serial, offer=o, sku=o["sku"], title=o["title"], options=o["options"],
                                  quantity=r.choices([1, 2, 3, 4], [66, 22, 9, 3])[0], price=o["price"], withdrawn=0,
                                  personal=r.choice(self.personal[1]) if r.random() < 0.2 else None))
            if self.withdrawn and fate == "paid" and len(lines) > 1 and r.random() < 0.08:
                lines[-1]["withdrawn"] = 1
            first_name, last = r.choice(FIRST), r.choice(LAST)
            goods = sum(x["price"] * x["quantity"] for x in lines)
            o = dict(i=i, number=number, serial=serial, placed=when, paid=None if fate == "unpaid" else paid, fate=fate,
                     lines=lines, country=r.choices(self.countries, [70] + [30 // max(1, len(self.countries) - 1)] * (len(self.countries) - 1))[0],
                     name=first_name + " " + last, mail=(first_name[0] + "." + last).lower().replace(" ", "") + "@example.com",
                     street=street.format(r.randrange(1, 140), r.choice(roads)), town=r.choice(towns), post="%05d" % r.randrange(10000, 99999),
                     phone="+00 555 01%02d" % r.randrange(100), shipping=r.choice([0, 390, 490, 690]) * fee, goods=goods,
                     invoice=number * 3 % 9000 + 10000 + i, customer=r.randrange(3000, 9999), note=r.choice([""] * 4 + notes),
                     method=r.choice(["card", "card", "transfer", "wallet"]), shipped=None, cancelled=None,
                     promised=when + timedelta(days=self.promise + (2 if when.weekday() > 3 else 0)))
            o["total"] = goods + o["shipping"]
            o["tax"] = round(o["total"] / 6)
            if fate == "cancelled":
                o["cancelled"] = self._later(paid, 1, 40)
                if o["cancelled"] > self.end:
                    o["cancelled"] = paid + timedelta(minutes=9)
            self.orders.append(o)

    def _submissions(self, sometimes, replace):
        r, work = self.r, []
        for o in self.orders:
            if not o["paid"]:
                continue
            items = [dict(order=o, line=x, variant=x["offer"]["variant"], quantity=x["quantity"] - x["withdrawn"]) for x in o["lines"]
                     if x["offer"]["variant"] and x["quantity"] > x["withdrawn"]]
            when = self._later(o["paid"], 0.1, 14)
            if when > self.end or not items:
                continue
            if o["fate"] == "cancelled":
                if r.random() < 0.5:
                    work.append((when, o, items, "cancelled"))
                continue
            if r.random() < sometimes:
                what = r.choice(["part", "part", "unsent", "double", "wrong", "wrong"])
                if what == "unsent" or (what == "part" and len(items) == 1):
                    continue
                if what == "part":
                    items.pop(r.randrange(len(items)))
                if what == "wrong":
                    k = r.choice(items)
                    same = [v for v in self.variants if v["product"] == k["variant"]["product"] and v is not k["variant"]]
                    k["variant"] = r.choice(same or self.variants)
                if what == "double":
                    again = self._later(when, 0.2, 6)
                    if again < self.end:
                        work.append((again, o, [dict(x) for x in items], None))
            work.append((when, o, items, None))
        work.sort(key=lambda w: (w[0], w[1]["number"]))
        groups = []
        if self.per == "line":
            groups = [(w[0], [x], w[3]) for w in work for x in w[2]]
        elif self.per == "order":
            groups = [(w[0], w[2], w[3]) for w in work]
        else:  # a batch each second morning, with what came in since
            zone, days = ZoneInfo(self.zone), {}
            for when, _, items, fate in work:
                day = (when.astimezone(zone) + timedelta(days=1)).date()
                day += timedelta(days=day.toordinal() % 2)
                for x in items:
                    x["gone"] = fate
                days.setdefault(day, []).extend(items)
            for day, items in sorted(days.items()):
                at = datetime(day.year, day.month, day.day, 7, 5 + r.randrange(40), tzinfo=zone).astimezone(timezone.utc)
                if at < self.end:
                    groups.append((at, items, None))
        number, parcel, line = r.randrange(11000, 60000), r.randrange(200000, 800000), r.randrange(3000, 9000)
        self.submissions, self.parcels = [], []
        for when, items, fate in groups:
            number += r.randrange(1, 6)
            s = dict(id=self.submission(number), items=items, received=when, status="received", dispatched=None, replaces=None,
                     tracking=None, carrier=None, parcels=[], updated=when, started=None,
                     order=items[0]["order"] if self.per != "batch" else None)
            for k, x in enumerate(items):
                line += r.randrange(1, 4)
                x.update(n=k + 1, id=line, gone=x.get("gone"))
            self.submissions.append(s)
            if fate:
                s["status"], s["updated"] = fate, self._later(when, 1, 20)
                continue
            if self.per != "batch" and r.random() < 0.012:
                s["status"], s["updated"] = "rejected", self._later(when, 0.2, 2)
                continue
            if self.per != "batch" and r.random() < 0.02:
                s["status"], s["updated"] = "held", self._later(when, 0.2, 2)
                continue
            started, out = self._later(when, 5, 30), self._later(when, 34, 130)
            if out < self.end:
                s["status"], s["dispatched"], s["updated"], s["started"] = "dispatched", out, out, started
                s["carrier"] = r.choice(self.carriers)
                s["tracking"] = "%s%09d" % (s["carrier"][:2].upper(), r.randrange(10 ** 9))
                live = [x for x in items if not x["gone"]]
                halves = [live]
                if self.part_parcels and self.per == "order" and len(live) > 1 and r.random() < 0.18:
                    cut = r.randrange(1, len(live))
                    halves = [live[:cut], live[cut:]]
                for h, half in enumerate(halves):
                    parcel += r.randrange(1, 9)
                    gone = out if h == 0 else self._later(out, 3, 40)
                    if gone > self.end:
                        s["status"] = "making"
                        continue
                    track = s["tracking"] if h == 0 else s["tracking"][:2] + "%09d" % r.randrange(10 ** 9)
                    p = dict(id=self.parcel(parcel), submission=s, at=gone, carrier=s["carrier"], tracking=track,
                             items=[(x, x["quantity"]) for x in half])
                    s["updated"] = max(s["updated"], gone)
                    s["parcels"].append(p)
                    self.parcels.append(p)
            elif started < self.end:
                s["status"], s["updated"], s["started"] = "making", started, started
        if replace:
            done = [s for s in self.submissions if s["status"] == "dispatched" and s["dispatched"] < self.end - timedelta(days=6)]
            for old in r.sample(done, min(3, len(done))):
                number += 3
                when = self._later(old["dispatched"], 60, 130)
                x = dict(old["items"][0], n=1, id=line + 7)
                line += 9
                self.submissions.append(dict(id=self.submission(number), items=[x], received=when, status="making", dispatched=None,
                                             replaces=old["id"], tracking=None, carrier=None, parcels=[], updated=when, started=when,
                                             order=old["order"]))
            self.submissions.sort(key=lambda s: s["received"])
        for s in self.submissions:
            s["updated"] = min(s["updated"], self.end)
        for o in self.orders:
            mine = [s for s in self.submissions if any(x["order"] is o for x in s["items"]) and not s["replaces"]]
            live = [s for s in mine if s["status"] not in ("cancelled", "rejected")]
            o["status"] = {"unpaid": "unpaid", "cancelled": "cancelled", "paid": "open"}[o["fate"]]
            if o["fate"] == "paid" and live and all(s["status"] == "dispatched" for s in live):
                at = self._later(max(s["updated"] for s in live), 0.3, 9)
                if at < self.end:
                    o["shipped"], o["status"] = at, "dispatched"
            o["updated"] = max(t for t in (o["placed"], o["paid"], o["shipped"], o["cancelled"]) if t)
