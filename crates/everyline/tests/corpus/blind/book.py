"""The invented book behind each pair: goods, orders, supplier orders, parcels; and the writers of files.

Everything comes from a seeded generator that is handed in; nothing here reads a clock.
"""
import csv
import datetime as dt
import io
import json
import os
import re
import unicodedata
import zipfile
from decimal import Decimal
from types import SimpleNamespace as NS
from zoneinfo import ZoneInfo

UTC = dt.timezone.utc
FIXED = (2026, 1, 1, 0, 0, 0)

GIVEN = ["Orla", "Benno", "Sanne", "Mirek", "Tilde", "Amadou", "Inés", "Yara", "Piet", "Liv", "Corin", "Hedda", "Noor",
         "Ruben", "Elke", "Matteo", "Signe", "Bram", "Odile", "Farid", "Greta", "Ivo", "Maren", "Lucho", "Wren"]
FAMILY = ["Aldermoor", "Brückenhof", "Castelnau", "Dunmore", "Ekholt", "Fairweather", "Gálvez", "Hartnoll", "Ibbetson",
          "Jorvik", "Kestrelby", "Lindqvist", "Moorcroft", "Nanterre", "Oakhanger", "Peverell", "Quistrup", "Rosales",
          "Summerhay", "Thornbury", "Undermill", "Vasseur", "Wetherlam", "Yarrow", "Zielke"]
STREETS = ["Mill Rise", "Quarry Row", "Lantern Hill", "Old Ferry Way", "Rook Lane", "Saltern Close", "Plum Yard"]
TOWNS = ["Hollowbridge", "Aschenfeld", "Saint-Orme", "Villaluz", "Port Wenna", "Kirkmoss", "Lindau-Nord", "Tarn Mouth"]


class Words:
    """The status words that were really written, with what each means."""

    def __init__(self):
        self.map = {}

    def put(self, key, word, means):
        said = self.map.setdefault(key, {})
        spelled = "true" if word is True else "false" if word is False else str(word)
        assert said.get(spelled, means) == means, (key, spelled, means)
        said[spelled] = means
        return word

    def time(self, key, shown, there, nothing):
        """A place that holds a time or nothing."""
        self.map.setdefault(key, {})["" if shown in (None, "") else "*"] = nothing if shown in (None, "") else there
        return shown


class Fields:
    """Where each column of everyline's tables stands in the source."""

    def __init__(self):
        self.list = []

    def add(self, file, table, base="", **columns):
        for column, where in columns.items():
            entry = {"table": table, "column": column, "file": file}
            together = isinstance(where, tuple)
            places = list(where) if isinstance(where, (list, tuple)) else [where]
            entry["at"] = [p[1:] if p.startswith("^") else base + p for p in places]
            if together:
                entry["all"] = True
            self.list.append(entry)

    def columns(self, table):
        return [e["column"] for e in self.list if e["table"] == table]


def money(value):
    return f"{value:.2f}"


def comma(value):
    return money(value).replace(".", ",")


def cents(value):
    return int(value * 100)


def floor(moment, precision):
    return moment.replace(microsecond=0, **({"second": 0} if precision == "m" else {}))


def person(rng):
    given, family = rng.choice(GIVEN), rng.choice(FAMILY)
    plain = unicodedata.normalize("NFKD", f"{given}.{family}".lower().replace("ü", "ue"))
    mail = re.sub(r"[^a-z.]", "", plain) + "@example." + rng.choice(["com", "net", "org"])
    return NS(given=given, family=family, name=f"{given} {family}", mail=mail,
              street=f"{rng.randint(1, 180)} {rng.choice(STREETS)}", town=rng.choice(TOWNS),
              post=f"{rng.randint(10000, 98999)}", phone=f"+00 555 {rng.randint(100000, 999999)}")


def working(moment):
    """The same moment, or the next one in the supplier's hours."""
    while moment.weekday() >= 5 or not 7 <= moment.hour < 18:
        if moment.hour >= 18 or moment.weekday() >= 5:
            moment = (moment + dt.timedelta(days=1)).replace(hour=7, minute=moment.minute)
        else:
            moment = moment.replace(hour=7)
    return moment


def make_book(c, rng):
    zone = ZoneInfo(c.zone)
    b = NS(c=c, zone=zone, orders=[], lines=[], variants=[], offers=[], listings=[], subs=[], sublines=[], parcels=[])
    start = dt.datetime.fromisoformat(c.start)
    now = (start + dt.timedelta(days=c.days)).replace(hour=19)
    b.now = now.replace(tzinfo=zone)

    # What is on sale, and what the supplier makes.
    for d, design in enumerate(c.designs):
        goods = [g for k, g in enumerate(c.goods) if (k + d) % len(c.goods) != 0 or len(c.goods) < 3]
        for k, good in enumerate(goods):
            if c.by_design and k:
                listing = b.listings[-1]
            else:
                listing = NS(k=len(b.listings), offers=[], good=good, design=design,
                             title=design if c.by_design else c.title.format(design=design, good=good["name"]))
                listing.id = c.listing_id(listing.k)
                b.listings.append(listing)
            for size in good["sizes"]:
                for colour in good["colours"]:
                    v = NS(k=len(b.variants), design=design, good=good, size=size, colour=colour,
                           cost=Decimal(good["cost"]) + (Decimal("1.10") if size in ("XL", "2XL") else 0),
                           available=rng.random() > 0.04, weight=rng.randint(60, 480))
                    v.product = c.product.format(design=design, good=good["made_as"])
                    v.made_size = c.made_size.get(size, size)
                    v.made_colour = c.made_colour.get(colour, colour)
                    v.id, v.sku = c.variant_id(v), None
                    v.sku = c.sku(v)
                    b.variants.append(v)
                    options = {}
                    for axis, value in zip(c.axes, (good["name"], size, colour)):
                        if axis and value:
                            options[axis] = value
                    price = Decimal(good["price"]) + (Decimal("2.00") if size in ("XL", "2XL") else 0)
                    o = NS(listing=listing, variant=v, sku=v.sku, options=options, price=price,
                           buyable=rng.random() > 0.05, linked=True,
                           title=c.title.format(design=design, good=good["name"]))
                    listing.offers.append(o)
                    b.offers.append(o)
    lost = rng.sample(b.offers, 3)
    for o, sku in zip(lost, ("", c.lost_sku, "")):  # the third is not bought
        o.sku, o.linked, o.buyable = sku, False, True

    # What customers bought.
    moments = []
    while len(moments) < c.orders:
        day = rng.random()  # a sale day, the last days, or any day
        day = c.days // 2 if day < 0.12 else c.days - rng.randint(1, 4) if day < 0.28 else rng.randrange(c.days - 1)
        m = start + dt.timedelta(days=day, hours=rng.randint(6, 22), minutes=rng.randrange(60),
                                 seconds=rng.randrange(60))
        if m not in moments:
            moments.append(m)
    moments.sort()
    number, running = c.first_number, c.first_line
    missing = [lost[0], lost[1]]
    picks = rng.sample(range(c.orders), c.orders)
    picks = [p for p in picks if p < c.orders * 0.9] + [p for p in picks if p >= c.orders * 0.9]
    unpaid, cancelled = set(picks[:2]), set(picks[2:2 + max(2, c.orders // 18)])
    sent_then_cancelled = picks[2]
    rest = [p for p in picks if p not in unpaid | cancelled and p < c.orders * 0.9]
    kind = {}
    for name, many in (("part", 2), ("unsent", 1), ("doubled", 1), ("wrong", 1), ("lost", 2)):
        for _ in range(many):
            kind[rest.pop()] = name
    if c.remakes:
        for _ in range(2):
            kind[rest.pop()] = "remade"
    for i, m in enumerate(moments):
        number += rng.choice((1, 1, 1, 2, 3))
        who = person(rng)
        o = NS(i=i, number=number, placed=floor(m, c.store_precision).replace(tzinfo=zone), who=who,
               kind="cancelled" if i in cancelled else "unpaid" if i in unpaid else kind.get(i, "full"), lines=[],
               country=rng.choice(c.countries), paid=None, cancelled_at=None, gone=None, invoice=f"{number * 3 % 9000 + 400}",
               shipping=Decimal(rng.choice(("3.90", "4.90", "0.00", "6.50"))), method=rng.choice(c.methods),
               note=rng.choice(c.notes) if rng.random() < 0.2 else "", subs=[])
        o.id = c.order_id(o)
        if o.kind != "unpaid" and not (o.kind == "cancelled" and i != sent_then_cancelled and rng.random() < 0.4):
            wait = dt.timedelta(seconds=rng.randint(61, 400)) if rng.random() < 0.8 else dt.timedelta(hours=rng.randint(2, 30))
            o.paid = floor(m + wait, c.store_precision)
            if o.paid > now:
                o.paid = floor(m + dt.timedelta(seconds=90), c.store_precision)
            if o.paid.hour < 6:
                o.paid = o.paid.replace(hour=8)
            o.paid = o.paid.replace(tzinfo=zone)
        o.promised = (m + dt.timedelta(days=7)).date()
        many = rng.choice((1, 1, 2, 2, 2, 3, 3, 4))
        if o.kind in ("part", "wrong", "lost"):
            many = max(2, many)
        good_offers = [x for x in b.offers if x.buyable and x.linked]
        chosen = rng.sample(good_offers, many)
        if o.kind == "lost":
            chosen[rng.randrange(many)] = missing.pop()
        for n, offer in enumerate(chosen, 1):
            running += rng.choice((1, 1, 1, 4))
            line = NS(order=o, n=n, offer=offer, sku=offer.sku, title=offer.title, options=offer.options,
                      qty=rng.choice((1, 1, 1, 1, 2, 2, 3)), cancelled_qty=0, price=offer.price, listing=offer.listing,
                      variant=offer.variant, typed=rng.choice(c.typed) if rng.random() < 0.18 else "")
            line.id = c.line_id(line, running)
            if c.withdrawals and line.qty > 1 and o.kind == "full" and rng.random() < 0.15:
                line.cancelled_qty = 1
            line.total = line.price * line.qty
            o.lines.append(line)
            b.lines.append(line)
        o.goods = sum((x.total for x in o.lines), Decimal(0))
        o.total = o.goods + o.shipping
        b.orders.append(o)

    # What the supplier was asked to make.
    wanted = []
    for o in b.orders:
        if o.kind in ("unsent", "unpaid") or (o.kind == "cancelled" and o.i != sent_then_cancelled and (o.paid is None or rng.random() < 0.4)):
            if o.kind == "cancelled":
                o.cancelled_at = (o.paid or o.placed) + dt.timedelta(hours=rng.randint(1, 5))
            continue
        send = [x for x in o.lines if x.offer.linked]
        if o.kind == "part":
            send = send[:-1]
        if not send:
            continue
        naive = o.paid.replace(tzinfo=None) + dt.timedelta(minutes=rng.randint(6, 500))
        wanted.append((floor(working(naive), c.supplier_precision), o, send, None))
        if o.kind == "doubled":
            wanted.append((floor(working(naive + dt.timedelta(minutes=rng.randint(3, 90))), c.supplier_precision), o, send, None))
        if o.kind == "remade":
            wanted.append((floor(working(naive + dt.timedelta(days=8)), c.supplier_precision), o, send[:1], "first"))
    wanted = [w for w in wanted if w[0] < now]
    wanted.sort(key=lambda w: (w[0], w[1].i))
    number, running = c.first_sub, c.first_subline
    held = rejected = 0
    for received, o, send, again in wanted:
        per_sub = [[x] for x in send] if c.piecework else [send]
        for part in per_sub:
            number += rng.choice((1, 1, 2, 5))
            s = NS(k=len(b.subs), number=number, order=o, received=received.replace(tzinfo=zone), lines=[], parcels=[],
                   replaces=None, dispatched=None, made=None)
            s.id = c.sub_id(s)
            s.ref = c.prefix + o.id + c.suffix
            if again:
                s.replaces = o.subs[0].id
            age = now - received
            work = dt.timedelta(days=rng.choice((2, 3, 3, 4, 5)), hours=rng.randint(0, 6), minutes=rng.randrange(60))
            leaves = floor(working(received + work), c.supplier_precision)
            if o.kind == "cancelled":
                s.status = "cancelled"
                o.cancelled_at = (received + dt.timedelta(hours=1)).replace(tzinfo=zone)
            elif leaves < now - dt.timedelta(hours=1):
                s.status, s.dispatched = "dispatched", leaves.replace(tzinfo=zone)
            elif age > dt.timedelta(days=1):
                s.status = "making"
                if c.holds and (held < 1 or held < 2 and rng.random() < 0.25):
                    s.status, held = "held", held + 1
            else:
                s.status = "received"
            if s.status == "dispatched" and o.kind == "full" and rejected < c.rejects and rng.random() < 0.08:
                s.status, s.dispatched, rejected = "rejected", None, rejected + 1
            if s.status in ("making", "dispatched"):
                made = floor(received + (leaves - received) / 2, c.supplier_precision)
                s.made = min(made, floor(now - dt.timedelta(minutes=5), c.supplier_precision)).replace(tzinfo=zone)
            s.updated = s.dispatched or s.made or s.received
            for n, line in enumerate(part, 1):
                running += rng.choice((1, 1, 2))
                v = line.variant
                if o.kind == "wrong" and line is send[-1]:
                    v = rng.choice([x for x in b.variants if x.good is v.good and x.design == v.design and x is not v])
                x = NS(sub=s, n=n, line=line, variant=v, sku=v.sku, qty=line.qty - line.cancelled_qty, cost=v.cost, status="")
                x.id = c.subline_id(x, running)
                x.total = x.cost * x.qty
                s.lines.append(x)
                b.sublines.append(x)
            s.total = sum((x.total for x in s.lines), Decimal(0))
            o.subs.append(s)
            b.subs.append(s)

    # What left the supplier, and what the shop made of it.
    running = c.first_parcel
    for s in b.subs:
        if s.dispatched is None:
            continue
        heaps = [s.lines]
        if c.split and len(s.lines) > 1 and rng.random() < 0.3:
            heaps = [s.lines[:1], s.lines[1:]]
        for n, heap in enumerate(heaps):
            running += rng.randint(1, 9)
            p = NS(sub=s, number=running, carrier=rng.choice(c.carriers), lines=[(x, x.qty) for x in heap],
                   tracking=c.tracking(running, rng), weight=sum(x.variant.weight * x.qty for x in heap),
                   dispatched=s.dispatched)
            if len(heaps) > 1 and n == 0:
                earlier = s.dispatched - dt.timedelta(hours=2)
                p.dispatched = max(earlier, s.received)
            p.id = c.parcel_id(p)
            s.parcels.append(p)
            b.parcels.append(p)
    for o in b.orders:
        o.status = "unpaid" if o.kind == "unpaid" else "cancelled" if o.kind == "cancelled" else "open"
        if o.status == "cancelled" and o.cancelled_at is None:
            o.cancelled_at = (o.paid or o.placed) + dt.timedelta(hours=1)
        live = [s for s in o.subs if s.replaces is None and s.status not in ("cancelled", "rejected")]
        if o.status == "open" and live and all(s.status == "dispatched" for s in live):
            o.status = "dispatched"
            o.gone = floor(max(s.dispatched for s in live) + dt.timedelta(minutes=7), c.store_precision)
        if o.cancelled_at:
            o.cancelled_at = floor(o.cancelled_at, c.store_precision)
        o.updated = o.gone or o.cancelled_at or o.paid or o.placed
    return b


def into_runs(b, name):
    """Puts supplier orders of one day together: a run whose lines name the shop's orders."""
    days = {}
    for s in b.subs:
        days.setdefault(s.received.date(), []).append(s)
    runs, parcels = [], []
    for k, (day, subs) in enumerate(sorted(days.items())):
        run = NS(k=k, number=b.c.first_sub + k, lines=[], parcels=[], replaces=None)
        run.id = name(run)
        run.received = max(s.received for s in subs)
        gone = [s for s in subs if s.dispatched]
        leaves = max((s.dispatched for s in gone), default=None)
        keep = [s for s in subs if s.status != "cancelled"]
        run.status = "dispatched" if gone and len(gone) == len(keep) else "making" if gone or any(
            s.status == "making" for s in keep) else "received"
        run.dispatched = leaves if run.status == "dispatched" else None
        for s in subs:
            for x in s.lines:
                x.sub, x.n = run, len(run.lines) + 1
                x.ref, x.status = s.ref, "cancelled" if s.status == "cancelled" else ""
                x.id = f"{run.id}/{x.n:02d}"
                run.lines.append(x)
            for p in s.parcels:
                p.sub = run
                run.parcels.append(p)
                parcels.append(p)
        runs.append(run)
    b.subs, b.parcels = runs, parcels
    for run in runs:
        run.order = NS(id="")


# Writers of files ----------------------------------------------------------------------------------------------------

def put(path, data):
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "wb") as f:
        f.write(data)


def put_json(path, value, indent=2):
    put(path, (json.dumps(value, ensure_ascii=False, indent=indent) + "\n").encode())


def put_jsonl(path, values):
    put(path, "".join(json.dumps(v, ensure_ascii=False) + "\n" for v in values).encode())


def put_csv(path, header, rows, delimiter=",", encoding="utf-8", end="\r\n", everything=False):
    out = io.StringIO()
    w = csv.writer(out, delimiter=delimiter, lineterminator=end, quoting=csv.QUOTE_ALL if everything else csv.QUOTE_MINIMAL)
    w.writerow(header)
    w.writerows([["" if v is None else v for v in r] for r in rows])
    put(path, out.getvalue().encode(encoding))


def same_bytes(path):
    """Packs an archive again without the time at which it was written."""
    with zipfile.ZipFile(path) as z:
        parts = [(i.filename, i.compress_type, z.read(i.filename)) for i in z.infolist()]
    with zipfile.ZipFile(path, "w") as z:
        for name, how, data in parts:
            if name.endswith(("core.xml", "meta.xml")):
                data = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?", b"2026-01-01T00:00:00", data)
            info = zipfile.ZipInfo(name, FIXED)
            info.compress_type = how
            z.writestr(info, data)


def put_xlsx(path, rows, sheet):
    import openpyxl
    book = openpyxl.Workbook()
    ws = book.active
    ws.title = sheet
    for r in rows:
        ws.append([v if not isinstance(v, Decimal) else float(v) for v in r])
    os.makedirs(os.path.dirname(path), exist_ok=True)
    book.save(path)
    same_bytes(path)


def put_ods(path, rows, sheet):
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P
    doc = OpenDocumentSpreadsheet()
    table = Table(name=sheet)
    for r in rows:
        row = TableRow()
        for v in r:
            if v in (None, ""):
                cell = TableCell()
            elif isinstance(v, (int, Decimal)):
                cell = TableCell(valuetype="float", value=str(v))
                cell.addElement(P(text=str(v)))
            elif isinstance(v, dt.datetime):
                cell = TableCell(valuetype="date", datevalue=v.strftime("%Y-%m-%dT%H:%M:%S"))
                cell.addElement(P(text=v.strftime("%d.%m.%Y %H:%M")))
            else:
                cell = TableCell(valuetype="string")
                cell.addElement(P(text=v))
            row.addElement(cell)
        table.addElement(row)
    doc.spreadsheet.addElement(table)
    os.makedirs(os.path.dirname(path), exist_ok=True)
    doc.save(path)
    same_bytes(path)


# The exchange tables ---------------------------------------------------------------------------------------------------

def stamp(moment, way):
    if moment is None:
        return ""
    if isinstance(moment, dt.datetime):
        if way == "Z":
            return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        return moment.isoformat(timespec="seconds")
    return moment.isoformat()


def options_text(options):
    return json.dumps(options, ensure_ascii=False) if options else ""


def exchange_rows(b, table, form):
    """All that the book says for a table; the caller keeps the columns that the source has."""
    st, su = form.store_time, form.supplier_time
    cur = form.currency
    if table == "orders":
        for o in b.orders:
            yield dict(order_id=o.id, placed_at=stamp(o.placed, st), paid_at=stamp(o.paid, st), status=o.status, currency=cur,
                       promised_by=o.promised.isoformat(), ship_to_country=o.country, updated_at=stamp(o.updated, st))
    elif table == "order_lines":
        for x in b.lines:
            yield dict(order_id=x.order.id, line_id=x.id if form.line_ids else str(x.n), listing_id=x.listing.id, sku=x.sku,
                       title=x.title, options=options_text(form.line_options(x)), quantity=x.qty,
                       cancelled_quantity=x.cancelled_qty, unit_price=money(x.price))
    elif table == "offers":
        for x in b.offers:
            yield dict(listing_id=x.listing.id, sku=x.sku, title=form.offer_title(x), options=options_text(form.line_options(x)),
                       price=money(x.price), currency=cur, buyable="true" if x.buyable else "false")
    elif table == "variants":
        for v in b.variants:
            yield dict(supplier=b.c.supplier, variant_id=v.id, sku=v.sku, product=v.product,
                       options=options_text(form.variant_options(v)), unit_cost=money(v.cost), currency=cur,
                       available="true" if v.available else "false")
    elif table == "links":
        for v in b.variants:
            yield dict(sku=v.sku, supplier=b.c.supplier, variant_id=v.id, units=1)
    elif table == "submissions":
        for s in b.subs:
            yield dict(supplier=b.c.supplier, submission_id=s.id, order_ref=s.order.id, status=s.status,
                       received_at=stamp(s.received, su), replaces=s.replaces or "", updated_at=stamp(getattr(s, "updated", None), su))
    elif table == "submission_lines":
        for s in b.subs:
            for x in s.lines:
                yield dict(supplier=b.c.supplier, submission_id=s.id, line_id=x.id if form.subline_ids else str(x.n),
                           order_ref=x.line.order.id, order_line_ref=x.line.id, variant_id=x.variant.id, sku=x.sku,
                           quantity=x.qty, status=x.status, unit_cost=money(x.cost))
    elif table == "parcels":
        for p in b.parcels:
            when = p.dispatched.date() if form.parcel_day else p.dispatched
            yield dict(supplier=b.c.supplier, parcel_id=p.id, submission_id=p.sub.id, dispatched_at=stamp(when, su),
                       carrier=p.carrier, tracking_number=p.tracking)
    elif table == "parcel_lines":
        for p in b.parcels:
            for x, n in p.lines:
                yield dict(supplier=b.c.supplier, parcel_id=p.id, submission_line_id=x.id if form.subline_ids else str(x.n), quantity=n)


OPTIONS = ("order_lines", "offers", "variants")
TABLES = ("orders", "order_lines", "offers", "variants", "links", "submissions", "submission_lines", "parcels", "parcel_lines")
KEYS = {"order_lines": ("line_id",), "submission_lines": ("line_id",)}


def finish(root, b, form, store, supplier, store_words, supplier_words, store_options, supplier_options, notes, sku_prefix=""):
    """Writes exchange/ and truth.json: a table for each that has fields, a column for each field."""
    c = b.c
    folder = os.path.join(root, c.name)
    for table in TABLES:
        columns = store.columns(table) + supplier.columns(table)
        if not columns:
            continue
        for key in reversed(KEYS.get(table, ())):
            if key not in columns:
                columns.insert(1, key)
        if table in ("variants", "links", "submissions", "submission_lines", "parcels", "parcel_lines"):
            columns.insert(0, "supplier")
        rows, seen = [], set()
        for r in exchange_rows(b, table, form):
            row = tuple(r[k] for k in columns)
            if row not in seen:
                seen.add(row)
                rows.append(row)
        put_csv(os.path.join(folder, "exchange", table + ".csv"), columns, rows, end="\n")
    truth = {"zone": c.zone, "supplier": c.supplier,
             "storefront": {"fields": store.list, "words": store_words.map, "options": store_options, "notes": notes[0]},
             "supplier_source": {"fields": supplier.list, "words": supplier_words.map, "options": supplier_options, "notes": notes[1],
                                 "order_ref": {"prefix": c.prefix, "suffix": c.suffix}, "sku": {"prefix": sku_prefix, "suffix": ""}}}
    put_json(os.path.join(folder, "truth.json"), truth)
