"""An invented shop's book: what was bought, what was asked of the supplier, what went out, and what went wrong.

It knows nothing of how an export looks; that is the business of make.py. Start reading at `Book`.
"""
import random
from datetime import datetime, timedelta, timezone
from types import SimpleNamespace as Thing
from zoneinfo import ZoneInfo

HOUR = timedelta(hours=1)
SENT, MAKING, RECEIVED, HELD, CANCELLED, REJECTED = "dispatched", "making", "received", "held", "cancelled", "rejected"


class Book:
    """Listings, orders, supplier orders and parcels of one shop, always the same for one seed.

    `sorts` of a listing: (kind as shown or None, the supplier's product, sizes or None, colours or None, price, cost), money in minor
    units; a size or colour is a text, or what the shop shows and what the supplier says. `codes` makes the numbers and codes.
    """

    def __init__(self, seed, zone, start, days, count, listings, names, made_names, codes, countries, carriers, currency, *,
                 second=60, promise=6, texts=(), text=.12, split=.3, halves=True, pieces=False, shared=0.0, remakes=0, strays=(), reduced=.06):
        self.r, self.zone, self.second, self.currency = random.Random(seed), ZoneInfo(zone), second, currency
        self.names, self.made_names, self.codes = names, made_names, codes
        self.halves = halves
        self.put_up(listings)
        self.sell(datetime.fromisoformat(start).replace(tzinfo=self.zone), days, count, countries, promise, texts, text, reduced)
        self.go_wrong(promise)
        self.ask(shared, remakes, strays)
        self.send(carriers, split, pieces)
        self.mark()

    def put_up(self, listings):
        r, code = self.r, self.codes
        self.listings, self.offers = [], []
        for place, (title, sorts) in enumerate(listings):
            page = Thing(key=code["listing"](place), title=title, place=place, offers=[])
            self.listings.append(page)
            for sort, (kind, product, sizes, colours, price, cost) in enumerate(sorts):
                for i, size in enumerate(sizes or [None]):
                    for j, colour in enumerate(colours or [None]):
                        n = len(self.offers) + 1
                        dearer = 150 * max(0, i - 2)
                        sku = code["sku"](place, sort, i, j, n)
                        made = {k: v for k, v in zip(self.made_names, (theirs(size), theirs(colour))) if v}
                        variant = Thing(key=code["variant"](place, sort, i, j, n), sku=sku, product=product, size=theirs(size), colour=theirs(colour), options=made, cost=cost + dearer // 2, available=True, n=n)
                        shown = {k: v for k, v in zip(self.names, (kind, ours(size), ours(colour))) if v}
                        offer = Thing(page=page, sku=sku, options=shown, price=price + dearer, buyable=True, variant=variant, linked=True, n=n)
                        page.offers.append(offer)
                        self.offers.append(offer)
        self.variants = [o.variant for o in self.offers]
        for v in r.sample(self.variants, 2): v.available = False
        for o in r.sample(self.offers, 2): o.buyable = False
        self.loose = r.sample(self.offers, max(2, len(self.offers) // 11))
        for i, o in enumerate(self.loose):
            o.linked = False
            o.sku = code["stale"](o.n) if i % 2 else ""

    def sell(self, start, days, count, countries, promise, texts, text, reduced):
        r, code = self.r, self.codes
        moments = [start + timedelta(days=(i * days) // count, hours=7 + 15 * r.random()) for i in range(count - 4)]
        moments += [start + timedelta(days=days - 1, hours=7 + 12 * r.random()) for _ in range(4)]
        moments = sorted(self.whole(m, self.second) for m in moments)
        for i in range(1, count):
            moments[i] = max(moments[i], moments[i - 1] + timedelta(minutes=3))
        self.asof = moments[-1] + 9 * HOUR
        self.orders, number, lines = [], 0, 0
        dull = r.sample(range(2, count - 1), 5)
        for n, placed in enumerate(moments):
            number += 1 + (r.random() < .12)
            o = Thing(n=n, number=number, key=code["order"](number), uid=code["uid"](number, r), placed=placed, country=r.choice(countries), buyer=3000 + n * 41 % 83, lines=[], fault="", cancelled=None)
            o.paid = self.whole(placed + timedelta(minutes=r.choice([1, 2, 4, 6, 15, 50, 190])), self.second)
            if n in dull:
                way = dull.index(n)
                if way in (0, 1): o.paid = None
                if way in (1, 2, 3, 4): o.cancelled = min(self.whole(placed + HOUR * r.randint(4, 28), self.second), self.asof - HOUR)
            wanted = r.choices([1, 2, 3, 4], [44, 34, 16, 6])[0]
            while len(o.lines) < wanted:
                offer = r.choice(self.loose) if r.random() < .04 else r.choice(r.choice(self.listings).offers)
                if any(l.offer is offer for l in o.lines): break
                lines += 1
                o.lines.append(Thing(key=code["line"](lines, len(o.lines) + 1), i=len(o.lines) + 1, n=lines, offer=offer, qty=r.choices([1, 2, 3, 4], [60, 26, 10, 4])[0], gone=0, text=r.choice(texts) if texts and r.random() < text else ""))
            o.due = (placed.astimezone(self.zone) + timedelta(days=promise)).date()
            o.goods = sum(l.qty * l.offer.price for l in o.lines)
            o.post = 0 if o.goods > 8000 else r.choice([390, 490, 690])
            o.total = o.goods + o.post
            o.tax = o.total - round(o.total / 1.2)
            self.orders.append(o)
        for o in self.orders:
            if o.paid and not o.cancelled and r.random() < reduced: o.lines[-1].gone = 1

    def go_wrong(self, promise):
        """Gives some orders that are paid and old enough one fault each."""
        r = self.r
        def old(days): return [o for o in self.orders if o.paid and not o.cancelled and not o.fault and not any(l.gone for l in o.lines) and self.asof - o.placed > timedelta(days=days)]
        def tied(o): return [l for l in o.lines if l.offer.linked]
        wishes = [("late", promise + 2, lambda o: tied(o)), ("part", 3, lambda o: len(tied(o)) > 1), ("unsent", 3, lambda o: tied(o)), ("twice", 3, lambda o: tied(o)),
                  ("wrong", 3, lambda o: tied(o) and len(tied(o)[0].offer.page.offers) > 1), ("short", 3, lambda o: any(l.qty > 1 for l in tied(o))),
                  ("stuck", promise + 2, lambda o: tied(o)), ("by hand", 3, lambda o: len(tied(o)) < len(o.lines)), ("more", 3, lambda o: tied(o))]
        if self.halves: wishes.insert(2, ("half", 6, lambda o: len(tied(o)) > 1))
        for name, days, fits in wishes:
            fit = [o for o in old(days) if fits(o)]
            if fit: r.choice(fit).fault = name
        fit = [o for o in old(5) if tied(o)]
        if fit: r.choice(fit).fault = "unmarked"

    def ask(self, shared, remakes, strays):
        r = self.r
        asked = []
        for o in self.orders:
            if not o.paid or o.fault == "unsent": continue
            if o.cancelled and o.n % 2: continue
            want = [[l, l.offer.variant, l.qty - (l.gone if o.n % 2 else 0)] for l in o.lines if l.offer.linked or o.fault == "by hand"]
            want = [w for w in want if w[2] > 0]
            if o.fault == "part": want.pop(r.randrange(len(want)))
            if o.fault == "wrong": want[0][1] = r.choice([x.variant for x in want[0][0].offer.page.offers if x.variant is not want[0][1]])
            if o.fault == "more": want[0][2] *= 2
            if o.fault == "short": next(w for w in want if w[2] > 1)[2] -= 1
            if not want: continue
            parts = [want[:1], want[1:]] if len(want) > 1 and not o.fault and r.random() < shared else [want]
            for again in range(2 if o.fault == "twice" else 1):
                for part in parts:
                    asked.append(Thing(at=self.whole(o.paid + timedelta(minutes=r.randint(9, 150) + 700 * again), 60), order=o, ref=o.key, is_key=True, want=part, of=None))
        whole = [a for a in asked if not a.order.fault and not a.order.cancelled]
        for a in whole[1:1 + 4 * remakes:4]:
            asked.append(Thing(at=self.whole(a.at + timedelta(days=6, minutes=80), 60), order=a.order, ref=a.ref, is_key=True, want=a.want[:1], of=a))
        for i, (ref, is_key) in enumerate(strays):
            at = self.whole(self.orders[2 + 5 * i].placed + timedelta(minutes=35), 60)
            asked.append(Thing(at=at, order=None, ref=ref, is_key=is_key, want=[[None, r.choice(self.variants), 1 + i]], of=None))
        asked = [a for a in asked if a.at < self.asof]
        asked.sort(key=lambda a: (a.at, a.ref))
        plain = [a for a in asked if a.order and not a.order.fault and not a.order.cancelled and not a.of and a.at < self.asof - 72 * HOUR]
        off, refused = plain[len(plain) // 2], plain[len(plain) // 3]
        self.jobs, number, lines = [], 0, 0
        for a in asked:
            number += 1 + (r.random() < .35)
            j = Thing(n=len(self.jobs), key=self.codes["job"](number, a.at), order=a.order, ref=a.ref, is_key=a.is_key, received=a.at, lines=[], parcels=[], replaces=a.of.job.key if a.of else "", status=None)
            a.job = j
            j.due = (a.at.astimezone(self.zone) + timedelta(days=4)).date()
            if a is off or a.order and a.order.cancelled and a.order.n % 4 == 0: j.status = CANCELLED
            if a is refused: j.status = REJECTED
            for l, v, qty in a.want:
                lines += 1
                j.lines.append(Thing(key=self.codes["job line"](j, len(j.lines) + 1, lines), i=len(j.lines) + 1, n=lines, variant=v, qty=qty, of=l, status=None, sent=[]))
            self.jobs.append(j)

    def send(self, carriers, split, pieces):
        r, number = self.r, 0
        waiting = [j for j in self.jobs if j.received > self.asof - 60 * HOUR and not j.status]
        for j in self.jobs:
            fault = j.order.fault if j.order else ""
            out = (j.received + HOUR * (26 + 60 * r.random())).astimezone(self.zone)
            out = self.whole(out.replace(hour=r.randint(13, 17), minute=r.randint(0, 59)), 60)
            if not j.status:
                if fault in ("late", "half"): j.status = MAKING
                elif fault == "stuck": j.status = HELD if self.halves else RECEIVED
                elif out < self.asof: j.status = SENT
                elif self.asof - j.received > 30 * HOUR: j.status = MAKING
                else: j.status = RECEIVED
            if waiting and j is waiting[-1]: j.status = RECEIVED
            if len(waiting) > 2 and j is waiting[-2]: j.status, fault = HELD, ""
            whole = [(l, l.qty) for l in j.lines]
            loads = []
            if j.status == SENT:
                loads = [whole]
                if r.random() < split and len(whole) > 1: loads = [whole[:1], whole[1:]]
                elif pieces and whole[0][1] > 1 and r.random() < split + .3: loads = [[(whole[0][0], 1)], [(whole[0][0], whole[0][1] - 1)] + whole[1:]]
            elif fault == "half" and j.status == MAKING: loads = [whole[:1]]
            for k, load in enumerate(loads):
                number += 1
                p = Thing(key=self.codes["parcel"](number, j), n=number, track=self.codes["track"](r), carrier=r.choice(carriers), at=out - 3 * HOUR * (len(loads) - 1 - k), lines=load)
                j.parcels.append(p)
                for l, qty in load: l.sent.append((p, qty))
            for l in j.lines: l.status = SENT if l.sent else j.status
            last = max([p.at for p in j.parcels], default=None)
            morning = (j.received + 16 * HOUR).astimezone(self.zone)
            begun = self.whole(morning.replace(hour=9 + j.n % 3), 60)
            j.printed = None if j.status in (RECEIVED, HELD, CANCELLED, REJECTED) else min(begun, last) if last else begun
            looked = None if j.status == RECEIVED else min(self.asof, j.received + timedelta(minutes=90))
            j.updated = max(x for x in (j.received, j.printed, last, looked) if x)

    def mark(self):
        by_order = {}
        for j in self.jobs:
            if j.order and not j.replaces: by_order.setdefault(j.order.n, []).append(j)
        for o in self.orders:
            jobs, o.gone = by_order.get(o.n, []), None
            if o.cancelled: o.status = CANCELLED
            elif not o.paid: o.status = "unpaid"
            elif jobs and o.fault != "unmarked" and all(j.status == SENT for j in jobs):
                o.status, o.gone = SENT, max(p.at for j in jobs for p in j.parcels)
            else: o.status = "open"
            o.updated = max(t for t in (o.placed, o.paid, o.cancelled, o.gone) if t)

    def whole(self, moment, seconds):
        at = int(moment.timestamp())
        return datetime.fromtimestamp(at - at % seconds, timezone.utc)

    def local(self, moment, form): return moment.astimezone(self.zone).strftime(form) if moment else ""
    def iso(self, moment): return moment.astimezone(self.zone).isoformat() if moment else ""
    def day(self, moment): return moment.astimezone(self.zone).strftime("%Y-%m-%d") if moment else ""
    def cell(self, moment): return moment.astimezone(self.zone).replace(tzinfo=None) if moment else ""


def ours(x): return x[0] if isinstance(x, tuple) else x
def theirs(x): return x[1] if isinstance(x, tuple) else x or ""
