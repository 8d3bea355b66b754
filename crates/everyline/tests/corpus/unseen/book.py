"""The invented book of a shop: what was ordered, what was sent on to the supplier, what was dispatched.

Everything follows from a seed. Times are whole seconds in the shop's zone.
"""
import random
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo


@dataclass
class Variant:
    listing: str
    title: str
    good: str
    size: str
    colour: str
    sku: str          # the code that shop and supplier share
    variant_id: str   # the supplier's own id
    price: int        # minor units
    cost: int
    shop_sku: str = ""  # what the shop has entered: the code, nothing, or a wrong one


@dataclass
class Line:
    number: int
    variant: Variant
    quantity: int
    cancelled: int = 0
    typed: str = ""
    id: str = ""


@dataclass
class Order:
    id: str
    serial: int
    placed: datetime
    paid: datetime | None
    cancelled: datetime | None
    state: str
    country: str
    person: dict
    promised: datetime
    lines: list = field(default_factory=list)
    shipping: int = 0
    discount: int = 0
    dispatched: datetime | None = None
    updated: datetime | None = None
    note: str = ""

    @property
    def goods(self):
        return sum(line.variant.price * line.quantity for line in self.lines)

    @property
    def total(self):
        return self.goods + self.shipping - self.discount


@dataclass
class SubLine:
    number: int
    variant: Variant
    quantity: int
    source: Line


@dataclass
class Submission:
    order: Order
    received: datetime
    status: str
    dispatched: datetime | None
    lines: list
    id: str = ""
    tracking: str = ""
    carrier: str = ""
    updated: datetime | None = None
    replaces: str = ""
    due: datetime | None = None


PEOPLE = {
    "de": (["Hedda", "Jorin", "Mathilde", "Lenz", "Friedel", "Ottilie", "Klaas", "Wiebke", "Arno", "Gesine", "Jürgen", "Käthe"],
           ["Tannhof", "Brückmoser", "Lindwurz", "Ehrenfurt", "Quastl", "Haselau", "Mühlrath", "Sommerkorn", "Voßkamp"],
           ["Am Ziegelteich", "Lerchenstieg", "Obere Gasse", "Mühlweg", "Hinterm Hag"], ["Ahornstedt", "Weidenrode", "Kieselbrück", "Oberlauken"]),
    "fr": (["Solène", "Maël", "Capucine", "Anatole", "Édith", "Gaspard", "Noémie", "Théodule", "Léontine", "Aubin"],
           ["Valbrune", "Tresset", "Mirandol", "Fauquenot", "Lespinoy", "Garrigal", "Désormel", "Ruisselot"],
           ["rue des Tilleuls", "chemin du Lavoir", "impasse de l'Écluse", "place du Puits"], ["Saint-Orval", "Brélieu", "Montaigrette", "Vaucreux"]),
    "es": (["Jacinta", "Eloy", "Marisol", "Fermín", "Begoña", "Tadeo", "Rocío", "Íñigo", "Candela", "Ulises"],
           ["Robledal", "Cañizal", "Montesino", "Urdaneja", "Peñarroja", "Salvatella", "Quiñero", "Arbizuela"],
           ["calle del Olmo", "travesía Alta", "plaza del Trigo", "camino Viejo"], ["Villardela", "Peñalmar", "Arroyuelo", "Torrecima"]),
    "en": (["Maribel", "Otis", "Hattie", "Rowan", "Delphine", "Amos", "Greta", "Silas", "Winnie", "Tobias"],
           ["Farrowby", "Pinkstone", "Ashgrove", "Tillerman", "Quickfall", "O'Brannan", "Merriwell", "Holloway-Dunn"],
           ["Larkspur Ln", "Old Mill Rd", "Juniper St, Apt 4", "Quarry Ct"], ["Cedar Hollow", "Larkton", "Bell Fork", "Greyrock"]),
}


def person(rng, languages):
    language = rng.choice(languages)
    first, last, streets, towns = PEOPLE[language]
    a, b = rng.choice(first), rng.choice(last)
    plain = (a + "." + b).lower()
    for x, y in zip("äöüßéèñíìçôóë' ", ["ae", "oe", "ue", "ss", "e", "e", "n", "i", "i", "c", "o", "o", "e", "", ""]):
        plain = plain.replace(x, y)
    house = rng.randint(1, 99)
    street = rng.choice(streets)
    return {"first": a, "last": b, "name": a + " " + b, "mail": plain + "@example.com", "language": language,
            "street": f"{house} {street}" if language in ("en", "fr") else f"{street} {house}",
            "post": f"{rng.randint(10000, 98999)}", "town": rng.choice(towns),
            "phone": f"555 0{rng.randint(100, 999)} {rng.randint(10, 99)}", "id": str(rng.randint(2000, 9400))}


class Book:
    """c: seed, zone, start, days, orders, first, order_id, languages, countries, variants, typed, typed_share, ..."""

    def __init__(self, **c):
        rng = self.rng = random.Random(c["seed"])
        self.zone_name = c["zone"]
        zone = self.zone = ZoneInfo(c["zone"])
        seconds = c.get("seconds", False)
        start = datetime.fromisoformat(c["start"])
        self.end = (start + timedelta(days=c["days"], hours=20)).replace(tzinfo=zone)
        self.variants = c["variants"]
        weight = {}
        popular = rng.sample(self.variants, min(len(self.variants), c.get("popular", 55)))
        for v in popular:
            v.shop_sku = v.sku
            weight[id(v)] = rng.choice([1, 1, 2, 3, 5])
        for v in self.variants:
            v.shop_sku = v.sku
        for n, v in enumerate(rng.sample(popular, c.get("unlinked", 3))):
            v.shop_sku = c["wrong_sku"](v, rng) if n % 2 and c.get("wrong_sku") else ""
            weight[id(v)] = 1

        moments = []
        for _ in range(c["orders"]):
            day = start + timedelta(days=rng.randrange(c["days"]))
            t = day.replace(hour=rng.choice([7, 8, 9, 10, 11, 12, 13, 14, 16, 17, 18, 19, 20, 20, 21, 21, 22]), minute=rng.randrange(60),
                            second=rng.randrange(60) if seconds else 0)
            moments.append(t)
        moments.sort()
        self.orders, self.submissions = [], []
        serial, line_serial = c["first"], c.get("first_line", 1)
        states = ["unpaid", "cancelled"] * round(len(moments) * 0.038) + ["live"]
        states = states + ["live"] * (len(moments) - len(states))
        rng.shuffle(states)
        for t, state in zip(moments, states):
            serial += rng.choice([1, 1, 1, 2, 3])
            placed = t.replace(tzinfo=zone)
            slow = rng.random() < c.get("slow_payment", 0.2)
            paid = self.after(placed, rng.randint(14, 70) * 60 if slow else rng.randint(1, 9), seconds)
            cancelled = None
            if state == "unpaid":
                paid = None
            if state == "cancelled":
                if rng.random() < 0.35:
                    paid = None
                cancelled = self.after(paid or placed, rng.randint(30, 2800), seconds)
            if cancelled and cancelled > self.end:
                state, cancelled = "live", None
            if paid and paid > self.end:
                paid = None
                state = "unpaid" if state == "live" else state
            order = Order(c["order_id"](serial), serial, placed, paid, cancelled,
                          {"live": "open"}.get(state, state), rng.choice(c["countries"]), person(rng, c["languages"]),
                          (paid or placed) + timedelta(days=c.get("promise_days", 7)))
            order.shipping = rng.choice(c.get("shipping", [390, 490, 690]))
            order.note = rng.choice(c["notes"]) if rng.random() < 0.2 else ""
            count = rng.choice(c.get("line_counts", [1, 1, 2, 2, 2, 3, 3, 4]))
            listing = None
            chosen = []
            while len(chosen) < count:
                pool = [v for v in popular if v not in chosen and (listing is None or v.listing == listing)]
                if not pool or rng.random() < 0.5:
                    pool = [v for v in popular if v not in chosen]
                v = rng.choices(pool, [weight[id(x)] for x in pool])[0]
                listing = v.listing
                chosen.append(v)
            for n, v in enumerate(chosen, 1):
                typed = rng.choice(c["typed"]) if c.get("typed") and rng.random() < c.get("typed_share", 0.3) else ""
                line = Line(n, v, rng.choice([1, 1, 1, 1, 2, 2, 3]), 0, typed, str(line_serial))
                line_serial += rng.choice([1, 1, 2])
                if c.get("part_cancel") and line.quantity > 1 and order.state == "open" and rng.random() < 0.06:
                    line.cancelled = 1
                order.lines.append(line)
            if rng.random() < 0.12:
                order.discount = order.goods // 10
            self.orders.append(order)

        self.carriers = c["carriers"]
        self.due_days = c.get("due_days", 5)
        live = [o for o in self.orders if o.state == "open" and o.paid < self.end]
        odd = rng.sample(live, 5)
        fate = {o.id: "" for o in live}
        for o, f in zip(odd, ["unsent", "doubled", "wrong", "dropped", "again" if c.get("replaces") else "short"]):
            fate[o.id] = f
        splits = c.get("split", 0.07)
        for order in live:
            f = fate[order.id]
            sent = [l for l in order.lines if l.variant.shop_sku == l.variant.sku and l.quantity > l.cancelled]
            if f == "dropped" and len(sent) > 1:
                sent.pop(rng.randrange(len(sent)))
            if f == "unsent" or not sent:
                continue
            groups = [sent]
            if len(sent) > 1 and rng.random() < splits:
                groups = [sent[:1], sent[1:]]
            if f == "doubled":
                groups.append(list(sent))
            if c.get("single"):
                groups = [[l] for g in groups for l in g]
            received = self.after(order.paid, rng.randint(4, 600), seconds)
            for n, group in enumerate(groups):
                lines = []
                for k, l in enumerate(group, 1):
                    v, q = l.variant, l.quantity - l.cancelled
                    if f == "wrong" and k == 1 and n == 0:
                        v = rng.choice([x for x in self.variants if x.good == v.good and x.listing == v.listing and x is not v])
                    if f == "short" and q > 1:
                        q -= 1
                    lines.append(SubLine(k, v, q, l))
                self.send(order, received + timedelta(minutes=n * c.get("split_minutes", 3) + (400 if f == "doubled" and n else 0)), lines, seconds)
            if f == "again" and c.get("replaces"):
                last = self.submissions[-1]
                self.send(order, last.received + timedelta(days=6), last.lines[:1], seconds)
                self.submissions[-1].replaces = last  # becomes an id when ids are given
        for order in self.orders:
            if order.state == "cancelled" and order.paid and order.cancelled - order.paid > timedelta(hours=5):
                sent = [l for l in order.lines if l.variant.shop_sku == l.variant.sku]
                if sent:
                    groups = [[l] for l in sent] if c.get("single") else [sent]
                    for n, g in enumerate(groups):
                        self.send(order, self.after(order.paid, 200 + n, seconds), [SubLine(k, l.variant, l.quantity, l) for k, l in enumerate(g, 1)], seconds,
                                  cancelled=self.rng.random() < 0.7)
        self.submissions = [s for s in self.submissions if s.received < self.end]
        self.submissions.sort(key=lambda s: (s.received, s.order.serial))
        number = c["first_submission"]
        for s in self.submissions:
            number += rng.choice([1, 2, 2, 3, 5])
            s.id = c["submission_id"](number)
        for s in self.submissions:
            s.replaces = s.replaces.id if s.replaces else ""
            if s.dispatched:
                s.tracking = c["tracking"](rng)
                s.carrier = rng.choice(c["carriers"])
        used = c.get("statuses", ["received", "making"])
        open_ones = [s for s in self.submissions if s.status == "making"]
        for s in open_ones:
            if "held" in used and rng.random() < 0.2:
                s.status = "held"
            elif self.end - s.received < timedelta(days=2) and rng.random() < 0.7:
                s.status = "received"
        if "held" in used and len(open_ones) > 1:
            open_ones[1].status = "held"
        if "rejected" in used and open_ones:
            open_ones[0].status = "rejected"
        for order in self.orders:
            own = [s for s in self.submissions if s.order is order and s.status not in ("cancelled", "rejected")]
            if order.state == "open" and own and all(s.dispatched for s in own):
                order.state = "dispatched"
                order.dispatched = max(s.dispatched for s in own)
            stops = [t for t in (order.placed, order.paid, order.cancelled, order.dispatched) if t]
            order.updated = min(self.after(max(stops), rng.randint(0, 40), seconds), self.end)

    def after(self, moment, minutes, seconds):
        t = (moment.astimezone(ZoneInfo("UTC")) + timedelta(minutes=minutes, seconds=self.rng.randrange(60) if seconds else 0)).astimezone(self.zone)
        if t.fold or t.hour in (0, 1, 2, 3):  # keeps out of the hour that a clock change repeats
            t = (t.astimezone(ZoneInfo("UTC")) + timedelta(hours=5)).astimezone(self.zone)
        return t

    def send(self, order, received, lines, seconds, cancelled=False):
        received = self.after(received, 0, seconds)
        rng = self.rng
        done = received + timedelta(days=rng.choice([1, 2, 2, 3, 3, 4, 5, 6, 8]))
        done = self.after(done.replace(hour=rng.choice([11, 13, 14, 15, 16, 17]), minute=rng.randrange(60)), 0, seconds)
        while done.weekday() > 4:
            done += timedelta(days=1)
        status, dispatched = ("dispatched", done) if done < self.end else ("making", None)
        if cancelled:
            status, dispatched = "cancelled", None
        s = Submission(order, received, status, dispatched, lines)
        s.updated = self.after(dispatched, 3, seconds) if dispatched else self.after(received, rng.randint(5, 90), seconds)
        s.due = received + timedelta(days=self.due_days)
        self.submissions.append(s)


def rfc(moment):
    if moment is None:
        return ""
    text = moment.isoformat()
    return text[:-6] + "Z" if text.endswith("+00:00") else text


def day(moment):
    return moment.strftime("%Y-%m-%d") if moment else ""


def money(minor):
    return f"{minor // 100}.{minor % 100:02d}"
