#!/usr/bin/env python3
"""Writes twelve invented pairs of a storefront's and a supplier's exports, each with the truth beside it.

Usage: make.py [FOLDER]. The same script writes the same bytes. The book and the writers are in book.py.
"""
import datetime as dt
import os
import random
import sys
from decimal import Decimal
from types import SimpleNamespace as NS

from book import (Fields, Words, cents, comma, finish, into_runs, make_book, money, put_csv, put_json, put_jsonl, put_ods,
                  put_xlsx)

ROOT = sys.argv[1] if len(sys.argv) > 1 else os.path.dirname(os.path.abspath(__file__))


def shop(name, supplier, zone, start, days, orders, seed, **more):
    base = dict(name=name, supplier=supplier, zone=zone, start=start, days=days, orders=orders, by_design=False,
                made_size={}, made_colour={}, title="{design} {good}", product="{good}", lost_sku="OLD-17",
                store_precision="s", supplier_precision="s", prefix="", suffix="", countries=["GB"], methods=["card"], notes=[""],
                typed=["Robin"], withdrawals=False, piecework=False, remakes=False, rejects=0, holds=True, split=False,
                carriers=["Fennway", "Heron Parcels"], first_number=1000, first_line=30000, first_sub=500, first_subline=80000,
                first_parcel=4000, order_id=lambda o: str(o.number), line_id=lambda x, r: str(r), listing_id=lambda k: f"L{k + 1}",
                sub_id=lambda s: str(s.number), subline_id=lambda x, r: str(r), parcel_id=lambda p: p.tracking,
                tracking=lambda r, rng: f"{rng.randint(10**11, 10**12 - 1)}")
    base.update(more)
    c = NS(**base)
    return c, random.Random(seed)


def good(name, made_as, sizes, colours, price, cost):
    return dict(name=name, made_as=made_as, sizes=sizes, colours=colours, price=price, cost=cost)


def form(**more):
    base = dict(store_time="offset", supplier_time="offset", currency="", line_ids=False, subline_ids=False, parcel_day=False,
                line_options=lambda x: x.options, variant_options=lambda v: {}, offer_title=lambda x: x.listing.title)
    base.update(more)
    return NS(**base)


def named(size, colour):
    """What a variant's options are called at the supplier."""
    return lambda v: {k: w for k, w in ((size, v.made_size), (colour, v.made_colour)) if w}


def slashed(header):
    return lambda x: {header: " / ".join(x.options.values())}


def at(c, *parts):
    return os.path.join(ROOT, c.name, *parts)


def us(m):
    """Month first, a twelve-hour clock, no leading zeros."""
    return f"{m.month}/{m.day}/{m.year} {m.hour % 12 or 12}:{m.minute:02d} {'AM' if m.hour < 12 else 'PM'}" if m else ""


def local(m, how):
    return m.strftime(how) if m else ""


def epoch(m, times=1):
    return int(m.timestamp()) * times if m else None


# 01: a bakery's till roll; a printer's job tickets ---------------------------------------------------------------------

def pair_01():
    c, rng = shop(
        "01-kneadwell", "plumb-lane-press", "Europe/London", "2026-03-04", 34, 62, 9101, store_precision="m", remakes=True,
        designs=["Rising Dough", "Crumb & Co", "Rye Moon", "Proving Time"], axes=(None, "Size", "Colour"),
        goods=[good("Baker's Apron", "Bib apron, twill", ["Small", "Large"], ["Flour", "Rust", "Slate"], "26.00", "11.40"),
               good("Tea Towel", "Towel, half linen", [""], ["Flour", "Moss", "Rust"], "11.50", "4.15"),
               good("Work Shirt", "Shirt, heavy jersey", ["S", "M", "L", "XL"], ["Slate", "Moss"], "24.00", "9.80")],
        order_id=lambda o: str(20300 + o.number), listing_id=lambda k: f"P{k}", sku=lambda v: str(40100 + v.k * 3),
        variant_id=lambda v: f"PL{v.good['made_as'][:1]}-{7000 + v.k * 7}", lost_sku="49999", first_number=100,
        sub_id=lambda s: f"JT-{s.number:04d}", prefix="Slip ", first_sub=870, subline_id=lambda x, r: str(x.n),
        tracking=lambda r, rng: f"FW{rng.randint(10**8, 10**9 - 1)}GB",
        typed=["Happy 40th Bram", "Dad's kitchen", "Best baker in town", "For Wren, love Gran"],
        notes=["collect after 3", "no nuts", "regular"], methods=["CARD", "CASH", "TAB"], countries=["GB"])
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    state = {"open": ["settled"], "dispatched": ["sent on"], "cancelled": ["void"], "unpaid": ["on the slate"]}
    rows = []
    for o in b.orders:
        for x in o.lines:
            first = x.n == 1
            head = [o.id, local(o.placed, "%d/%m/%Y"), local(o.placed, "%H:%M"), rng.choice(["Jo", "Mim"]),
                    ws.put("orders.status", rng.choice(state[o.status]), o.status), f"£{money(o.total)}", o.method]
            tail = [f"£{money(o.shipping)}", "2", o.who.name, o.who.mail, f"{o.who.street}, {o.who.town}", o.note]
            blank = [""] * 7
            rows.append((head if first else blank) +
                        [x.sku, x.title, " / ".join(x.options.values()), x.typed, x.qty, f"£{money(x.price)}", f"£{money(x.total)}", "Z"] +
                        (tail if first else [""] * 6))
    put_csv(at(c, "storefront", "till-roll.csv"),
            ["Slip", "Rung Up", "Clock", "Served By", "Slip State", "Slip Sum", "Tender", "PLU", "Read-Out", "Choice", "Iced Message",
             "Pcs", "Each", "Row Sum", "VAT Mark", "Carriage", "Till", "Account Name", "Mail", "Deliver To", "Counter Note"],
            rows, encoding="cp1252")
    s.add("till-roll.csv", "orders", order_id="Slip", placed_at=("Rung Up", "Clock"), status="Slip State")
    s.add("till-roll.csv", "order_lines", order_id="Slip", sku="PLU", title="Read-Out", options="Choice", quantity="Pcs", unit_price="Each")
    stage = {"received": ["in the tray"], "making": ["plates up", "on press"], "dispatched": ["boxed and gone"],
             "cancelled": ["scrapped"], "held": ["wants artwork"]}
    tickets = []
    for u in b.subs:
        tickets.append({
            "ticket": u.id, "desk": "walk-in web", "customer": {"id": 31, "name": "Kneadwell"}, "job_for": u.ref,
            "came_in": u.received.isoformat(), "plates_due": (u.received + dt.timedelta(days=1)).date().isoformat(),
            "stage": wp.put("submissions.status", rng.choice(stage[u.status]), u.status), "redo_of": u.replaces, "ink_notes": None,
            "pulls": [{"pull": x.n, "art": x.variant.id, "wording": f"{x.variant.design} on {x.variant.product}", "copies": x.qty,
                       "rate": money(x.cost), "sum": money(x.total)} for x in u.lines],
            "ticket_sum": money(u.total),
            "sent": {"with": u.parcels[0].carrier, "label": u.parcels[0].tracking, "at": u.dispatched.isoformat()} if u.dispatched else None})
    put_json(at(c, "supplier", "job-tickets.json"), {"press": "Plumb Lane", "drawer": "2026-03/04", "tickets": tickets}, indent=1)
    f = "job-tickets.json"
    p.add(f, "submissions", "tickets[*].", submission_id="ticket", order_ref="job_for", status="stage", received_at="came_in", replaces="redo_of")
    p.add(f, "submission_lines", "tickets[*].pulls[*].", submission_id="^tickets[*].ticket", line_id="pull", variant_id="art",
          quantity="copies", unit_cost="rate")
    p.add(f, "parcels", "tickets[*].", parcel_id="sent.label", submission_id="ticket", dispatched_at="sent.at", carrier="sent.with",
          tracking_number="sent.label")
    put_csv(at(c, "supplier", "stock-book.csv"), ["Art", "Your Code", "Article", "Motif", "Cut", "Shade", "Rate", "Grams"],
            [[v.id, "KW" + v.sku, v.product, v.design, v.made_size, v.made_colour, money(v.cost), v.weight] for v in b.variants])
    p.add("stock-book.csv", "variants", variant_id="Art", sku="Your Code", product="Article", options=["Cut", "Shade"], unit_cost="Rate")
    finish(ROOT, b, form(subline_ids=True, line_options=slashed("Choice"), variant_options=named("Cut", "Shade")), s, p, ws, wp,
           {"order_lines": ["Choice"]}, {"variants": ["Cut", "Shade"]},
           ["A slip's columns stand on its first row only; date and clock are two columns; 'on the slate' means not paid yet, which nobody "
            "outside this shop could know; PLU looks like a number.",
            "The reference begins with a word and a blank; the pull's number repeats in every ticket; the catalogue's code bears KW before the PLU."],
           sku_prefix="KW")


# 02: an accountant's journal and its items; a weaver's order book ------------------------------------------------------

def pair_02():
    c, rng = shop(
        "02-grauwacke", "hollergrund-weberei", "Europe/Vienna", "2026-01-19", 38, 55, 9202, store_precision="m", supplier_precision="m",
        designs=["Steinbock", "Enzian", "Gipfelkreuz", "Almrausch"], axes=(None, "Größe", "Farbton"), title="{good} {design}",
        goods=[good("Hüttenpolster", "Kissenhülle 40er", ["40 cm", "50 cm"], ["Moos", "Granit", "Lehm"], "34.90", "14.20"),
               good("Wandertuch", "Tuch Leinwand", [""], ["Moos", "Lehm"], "19.90", "7.60"),
               good("Strickmütze", "Mütze doppelt", ["Kind", "Damen", "Herren"], ["Granit", "Moos", "Beere"], "27.50", "10.90")],
        order_id=lambda o: str(o.number), first_number=7180, listing_id=lambda k: f"A{k}", lost_sku="ALT.004",
        sku=lambda v: f"{v.good['name'][:2].upper()}.{v.design[:3].upper()}.{v.k + 11:03d}", variant_id=lambda v: f"{610400 + v.k * 13}",
        line_id=lambda x, r: str(x.n), sub_id=lambda s: f"LA{s.number}", first_sub=26110, suffix="/1", subline_id=lambda x, r: str(x.n * 10),
        countries=["AT", "AT", "DE", "IT"], methods=["Überweisung", "Karte", "Nachnahme"], typed=["Familie Zielke", "Opa Franz", "Hüttenwirt 2026"],
        notes=["bitte als Geschenk", "Rechnung an Firma"], carriers=["Bergbote", "Talpost"],
        tracking=lambda r, rng: f"BB{rng.randint(10**9, 10**10 - 1)}")
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    heads, items = [], []
    day = "%d.%m.%Y %H:%M"
    for o in b.orders:
        cancelled = o.status == "cancelled"
        if cancelled and o.paid:
            pay = ws.put("orders.status@Zahlstand", "rückerstattet", "cancelled")
        elif o.paid:
            pay = ws.put("orders.status@Zahlstand", "beglichen", "open")
        else:
            pay = ws.put("orders.status@Zahlstand", "offen", "unpaid")
        away = ws.put("orders.status@Lieferstand", *(("außer Haus", "dispatched") if o.status == "dispatched" else ("liegt", "open")))
        void = ws.time("orders.status@Storno am", local(o.cancelled_at, day) if cancelled else "", "cancelled", "open")
        net = (o.total / Decimal("1.2")).quantize(Decimal("0.01"))
        heads.append([local(o.placed, day), "AR", f"R26-{o.invoice}", o.id, 20000 + o.i * 7, o.who.name, o.who.town, o.country, comma(net),
                      comma(o.total - net), comma(o.shipping), comma(o.total), "EUR", o.method, local(o.paid, day), pay, away, void, "4000", ""])
        for x in o.lines:
            items.append([o.id, x.id, x.sku, x.title, x.options.get("Größe", ""), x.options.get("Farbton", ""), x.typed, x.qty,
                          comma(x.price), comma(x.total), "4010", "20"])
    rng.shuffle(items)
    items.sort(key=lambda r: r[3])
    put_csv(at(c, "storefront", "journal.csv"),
            ["Buchungstag", "Belegart", "Rechnung", "Vorgang", "Debitor", "Name", "Ort", "Land", "Netto", "USt", "Fracht", "Brutto", "Währung",
             "Zahlweg", "Zahlung am", "Zahlstand", "Lieferstand", "Storno am", "Erlöskonto", "Kostenstelle"], heads, ";", "cp1252")
    put_csv(at(c, "storefront", "journal_posten.csv"),
            ["Vorgang", "Posten", "Artikelnr", "Bezeichnung", "Größe", "Farbton", "Stickname", "Menge", "Einzel", "Summe", "Konto", "USt %"],
            items, ";", "cp1252")
    s.add("journal.csv", "orders", order_id="Vorgang", placed_at="Buchungstag", paid_at="Zahlung am",
          status=("Zahlstand", "Lieferstand", "Storno am"), currency="Währung", ship_to_country="Land")
    s.add("journal_posten.csv", "order_lines", order_id="Vorgang", line_id="Posten", sku="Artikelnr", title="Bezeichnung",
          options=["Größe", "Farbton"], quantity="Menge", unit_price="Einzel")
    words = {"received": "angenommen", "making": "am Webstuhl", "dispatched": "abgeholt", "cancelled": "gestrichen", "held": "ruht"}
    sheet = [["Weberei Hollergrund, Auftragsbuch"], ["Kunde 118 (Grauwacke)", None, None, "alle Beträge netto"], [],
             ["Lieferauftrag", "Eingang", "Ihr Zeichen", "Zeile", "Webnummer", "Ware", "Stück", "EK", "EK gesamt", "Stand", "Abgang",
              "Sendung", "Bote"]]
    for u in b.subs:
        for x in u.lines:
            sheet.append([u.id, u.received.replace(tzinfo=None), u.ref, int(x.id), int(x.variant.id), x.variant.product, x.qty, x.cost, x.total,
                          wp.put("submissions.status", words[u.status], u.status), u.dispatched.replace(tzinfo=None) if u.dispatched else None,
                          u.parcels[0].tracking if u.parcels else None, u.parcels[0].carrier if u.parcels else None])
    put_xlsx(at(c, "supplier", "auftragsbuch.xlsx"), sheet, "Aufträge")
    stock = [["Webnummer", "Eure Nr", "Ware", "Muster", "Maß", "Farbe", "EK", "Bestand"]]
    stock += [[int(v.id), v.sku, v.product, v.design, v.made_size or None, v.made_colour, v.cost, rng.randint(0, 90)] for v in b.variants]
    put_xlsx(at(c, "supplier", "musterliste.xlsx"), stock, "Muster")
    f = "auftragsbuch.xlsx"
    p.add(f, "submissions", submission_id="Lieferauftrag", order_ref="Ihr Zeichen", status="Stand", received_at="Eingang")
    p.add(f, "submission_lines", submission_id="Lieferauftrag", line_id="Zeile", variant_id="Webnummer", quantity="Stück", unit_cost="EK")
    p.add(f, "parcels", parcel_id="Sendung", submission_id="Lieferauftrag", dispatched_at="Abgang", carrier="Bote", tracking_number="Sendung")
    p.add("musterliste.xlsx", "variants", variant_id="Webnummer", sku="Eure Nr", product="Ware", options=["Maß", "Farbe"], unit_cost="EK")
    finish(ROOT, b, form(currency="EUR", line_ids=True, subline_ids=True, variant_options=named("Maß", "Farbe")), s, p, ws, wp,
           {"order_lines": ["Größe", "Farbton"]}, {"variants": ["Maß", "Farbe"]},
           ["The items are in a file of their own, not in the order of the journal; payment, delivery and cancellation are three columns; the "
            "invoice's number stands before the order's; 'Konto' and 'USt %' are constants beside 'Menge'.",
            "Two lines of title and an empty one above the header; ids and times are typed cells; '/1' follows the order's number; 'Bestand' is a stock."])


# 03: a programmer's first API, keyed by id; a queue in JSON Lines -----------------------------------------------------

def pair_03():
    c, rng = shop(
        "03-tinlantern", "dunvale-queue", "Pacific/Auckland", "2026-02-26", 42, 66, 9303,
        designs=["Tin Lantern", "Fog Bell", "Night Ferry", "Kelp", "Lamp Keeper"], axes=("kind", "size", "colour"), by_design=True,
        goods=[good("Tee", "tee-180", ["XS", "S", "M", "L", "XL"], ["Ink", "Fog"], "38.00", "15.20"),
               good("Tote", "tote-heavy", [""], ["Ink", "Raw"], "27.00", "9.10"),
               good("Mug", "mug-enamel", ["300 ml", "500 ml"], ["White"], "29.00", "11.75")],
        order_id=lambda o: str(o.number), first_number=5100, listing_id=lambda k: str(80 + k * 4), prefix="TL", lost_sku="temp",
        sku=lambda v: f"{v.design.split()[0].lower()}-{v.good['name'].lower()}-{(v.size.split()[0] + '-').lower() if v.size else ''}{v.colour.lower()}",
        variant_id=lambda v: str(90400 + v.k), sub_id=lambda s: f"q-{s.number}", first_sub=3300, subline_id=lambda x, r: str(r),
        countries=["NZ", "NZ", "AU"], methods=["card", "bank"], typed=["for my dad", "SIGNE", "est. 1998"], notes=["leave at gate", "hi!"],
        rejects=2, tracking=lambda r, rng: f"DV{rng.randint(10**7, 10**8 - 1)}")
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    base = "data.orders[*]."
    out = {}
    for o in b.orders:
        paid = o.paid is not None
        out[o.id] = {
            "id": int(o.id), "when": epoch(o.placed, 1000), "whenPaid": epoch(o.paid, 1000), "whenTouched": epoch(o.updated, 1000),
            "paid": ws.put(f"orders.status@{base}paid", paid, "open" if paid else "unpaid"),
            "gone": ws.put(f"orders.status@{base}gone", *((True, "dispatched") if o.status == "dispatched" else (False, "open"))),
            "scrapped": ws.put(f"orders.status@{base}scrapped", *((True, "cancelled") if o.status == "cancelled" else (False, "open"))),
            "who": {"id": 700 + o.i * 3, "name": o.who.name, "mail": o.who.mail, "where": {"street": o.who.street, "town": o.who.town, "cc": o.country}},
            "stuff": [{"id": int(x.id), "thing": int(x.listing.id), "code": x.sku or None, "what": x.title, "picked": dict(x.options),
                       "theirWords": x.typed, "howMany": x.qty, "cents": cents(x.price), "centsAll": cents(x.total)} for x in o.lines],
            "money": {"stuffCents": cents(o.goods), "postCents": cents(o.shipping), "allCents": cents(o.total), "how": o.method},
            "debug": False}
    put_json(at(c, "storefront", "getOrders.json"), {"success": True, "msg": "", "took": 41, "data": {"count": len(out), "orders": out}}, indent=1)
    things = {}
    for t in b.listings:
        things[t.id] = {"id": int(t.id), "name": t.title, "words": "Made when you ask for it.", "show": True, "versions": [
            {"picked": dict(x.options), "code": x.sku or None, "cents": cents(x.price), "canBuy": x.buyable} for x in t.offers]}
    put_json(at(c, "storefront", "getThings.json"), {"success": True, "msg": "", "data": {"things": things}}, indent=1)
    s.add("getOrders.json", "orders", base, order_id="id", placed_at="when", paid_at="whenPaid", updated_at="whenTouched",
          status=("paid", "gone", "scrapped"), ship_to_country="who.where.cc")
    s.add("getOrders.json", "order_lines", base + "stuff[*].", order_id="^" + base + "id", line_id="id", listing_id="thing", sku="code", title="what",
          options="picked", quantity="howMany", unit_price="cents")
    s.add("getThings.json", "offers", "data.things[*].versions[*].", listing_id="^data.things[*].id", title="^data.things[*].name", sku="code",
          options="picked", price="cents", buyable="canBuy")
    words = {"received": ["queued"], "making": ["inking", "curing"], "dispatched": ["out the door"], "cancelled": ["killed"],
             "held": ["parked"], "rejected": ["bounced"]}
    jobs = []
    for u in b.subs:
        jobs.append({"job": u.id, "state": wp.put("submissions.status", rng.choice(words[u.status]), u.status), "got": epoch(u.received),
                     "order": u.ref, "prio": 0, "items": [{"n": int(x.id), "variant": int(x.variant.id), "code": x.sku, "count": x.qty,
                                                         "c": cents(x.cost), "t": cents(x.total)} for x in u.lines],
                     "left": epoch(u.dispatched), "track": u.parcels[0].tracking if u.parcels else None})
    put_jsonl(at(c, "supplier", "queue.jsonl"), jobs)
    p.add("queue.jsonl", "submissions", submission_id="job", order_ref="order", status="state", received_at="got")
    p.add("queue.jsonl", "submission_lines", "items[*].", submission_id="^job", line_id="n", variant_id="variant", sku="code", quantity="count", unit_cost="c")
    p.add("queue.jsonl", "parcels", parcel_id="track", submission_id="job", dispatched_at="left", tracking_number="track")
    finish(ROOT, b, form(store_time="Z", supplier_time="Z", line_ids=True, subline_ids=True), s, p, ws, wp,
           {"order_lines": ["kind", "size", "colour"], "offers": ["kind", "size", "colour"]}, {},
           ["Orders and listings are objects keyed by id, and the id stands inside too; the state is three booleans; `id` occurs at three levels; "
            "no currency anywhere; times are milliseconds.",
            "Short names: `n` is the line's id and not a number of pieces, `c` and `t` are cost and total in minor units; times are seconds."])


# 04: a workshop's wide sheet; a printer's slips with decimal commas ---------------------------------------------------

def pair_04():
    c, rng = shop(
        "04-rive-ardente", "serigraphie-du-vallon", "Europe/Paris", "2026-04-13", 30, 58, 9404, store_precision="m", split=True,
        designs=["Héron", "Marée basse", "Genêt", "Petit phare"], axes=(None, "Taille", "Teinte"), title="{good} « {design} »",
        goods=[good("Marinière", "Maillot rayé lourd", ["S", "M", "L", "XL"], ["Encre", "Brique"], "46.00", "18.90"),
               good("Tablier", "Tablier bavette", ["Enfant", "Adulte"], ["Encre", "Mousse", "Lin"], "32.50", "12.35"),
               good("Torchon", "Torchon métis", [""], ["Lin", "Mousse"], "14.90", "5.05")],
        order_id=lambda o: str(o.number), first_number=3090, listing_id=lambda k: f"F{k}", prefix="RA/", lost_sku="A-REVOIR",
        sku=lambda v: f"{v.good['name'][:3]}{v.design[:2]}{(v.size or 'U')[:1]}{v.colour[:2]}{v.k:02d}".upper().replace("È", "E").replace("É", "E"),
        variant_id=lambda v: f"VAL.{v.k // 9 + 1}.{v.k % 9 + 1:02d}", sub_id=lambda s: f"BF-{s.number}", first_sub=2190,
        subline_id=lambda x, r: str(x.n), parcel_id=lambda p: f"C{p.number}", countries=["FR", "FR", "BE", "CH"],
        methods=["carte", "virement", "chèque"], typed=["Chez Mamie", "Léon, 7 ans", "À table !"], notes=["sonner deux fois", "c'est un cadeau"],
        carriers=["Courrier du Cap", "Relais Vertou"], tracking=lambda r, rng: f"{rng.randint(10, 99)}R{rng.randint(10**8, 10**9 - 1)}")
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    most = max(len(o.lines) for o in b.orders)
    state = {"open": "à préparer", "dispatched": "partie", "cancelled": "annulée", "unpaid": "règlement attendu"}
    header = ["N° facture", "Commande", "Passée le", "Encaissée le", "État", "Prénom", "Nom", "Courriel", "Rue", "Ville", "Pays"]
    for n in range(1, most + 1):
        header += [f"Réf {n}", f"Désignation {n}", f"Taille {n}", f"Teinte {n}", f"Broderie {n}", f"Qté {n}", f"P.U. {n}", f"Montant {n}"]
    header += ["Port", "Total TTC", "dont TVA", "Règlement", "Mot du client"]
    rows = []
    for o in b.orders:
        row = [f"FA{o.invoice}", o.id, local(o.placed, "%d/%m/%Y %H:%M"), local(o.paid, "%d/%m/%Y %H:%M"),
               ws.put("orders.status", state[o.status], o.status), o.who.given, o.who.family, o.who.mail, o.who.street, o.who.town, o.country]
        for x in o.lines:
            row += [x.sku, x.title, x.options.get("Taille", ""), x.options.get("Teinte", ""), x.typed, x.qty, comma(x.price) + " €", comma(x.total) + " €"]
        row += [""] * 8 * (most - len(o.lines))
        vat = (o.total / 6).quantize(Decimal("0.01"))
        rows.append(row + [comma(o.shipping) + " €", comma(o.total) + " €", comma(vat) + " €", o.method, o.note])
    put_csv(at(c, "storefront", "commandes_atelier.tsv"), header, rows, "\t", "utf-16")
    f = "commandes_atelier.tsv"
    many = lambda name: [f"{name} {n}" for n in range(1, most + 1)]
    s.add(f, "orders", order_id="Commande", placed_at="Passée le", paid_at="Encaissée le", status="État", ship_to_country="Pays")
    s.add(f, "order_lines", order_id="Commande", sku=many("Réf"), title=many("Désignation"),
          options=[h for n in range(1, most + 1) for h in (f"Taille {n}", f"Teinte {n}")], quantity=many("Qté"), unit_price=many("P.U."))
    words = {"received": ["reçu"], "making": ["écran prêt", "en tirage"], "dispatched": ["parti"], "cancelled": ["déchiré"], "held": ["en souffrance"]}
    slips = []
    for u in b.subs:
        slips.append({
            "bon": u.id, "recu_le": u.received.isoformat(), "pour": u.ref, "etape": wp.put("submissions.status", rng.choice(words[u.status]), u.status),
            "lignes": [{"rang": x.n, "cliche": x.variant.id, "libelle": x.variant.product, "tirage": x.qty, "cout": comma(x.cost), "montant": comma(x.total)}
                       for x in u.lines],
            "sous_total": comma(u.total), "remise": "0,00",
            "colis": [{"colis": q.id, "parti_le": q.dispatched.isoformat(), "porteur": q.carrier, "suivi": q.tracking, "poids_g": q.weight,
                       "dedans": [{"rang": x.n, "tirage": n} for x, n in q.lines]} for q in u.parcels]})
    put_json(at(c, "supplier", "bons.json"), {"atelier": "Sérigraphie du Vallon", "client": {"no": 77, "nom": "Rive Ardente"}, "bons": slips}, indent=1)
    put_json(at(c, "supplier", "clicheotheque.json"), {"cliches": [
        {"cliche": v.id, "votre_ref": v.sku, "support": v.product, "dessin": v.design, "gabarit": v.made_size or None, "encre_fond": v.made_colour,
         "cout": comma(v.cost), "disponible": v.available} for v in b.variants]}, indent=None)
    f = "bons.json"
    p.add(f, "submissions", "bons[*].", submission_id="bon", order_ref="pour", status="etape", received_at="recu_le")
    p.add(f, "submission_lines", "bons[*].lignes[*].", submission_id="^bons[*].bon", line_id="rang", variant_id="cliche", quantity="tirage", unit_cost="cout")
    p.add(f, "parcels", "bons[*].colis[*].", parcel_id="colis", submission_id="^bons[*].bon", dispatched_at="parti_le", carrier="porteur", tracking_number="suivi")
    p.add(f, "parcel_lines", "bons[*].colis[*].dedans[*].", parcel_id="^bons[*].colis[*].colis", submission_line_id="rang", quantity="tirage")
    p.add("clicheotheque.json", "variants", "cliches[*].", variant_id="cliche", sku="votre_ref", product="support", options=["gabarit", "encre_fond"],
          unit_cost="cout", available="disponible")
    finish(ROOT, b, form(subline_ids=True, variant_options=named("gabarit", "encre_fond")), s, p, ws, wp,
           {"order_lines": ["Taille", "Teinte"]}, {"variants": ["gabarit", "encre_fond"]},
           ["Up to four lines side by side in numbered columns, most of them empty; UTF-16 with tabs; the invoice's number comes first; "
            "'Broderie' is typed by customers and stands between the choices.",
            "Costs are strings with a decimal comma; 'colis' names the list and the id within; the contents name lines by their rank in the slip."])


# 05: deep JSON with several ids; runs at the supplier that hold many orders -------------------------------------------

def pair_05():
    c, rng = shop(
        "05-cinderpath", "gantry-street-transfers", "America/Chicago", "2026-05-07", 34, 70, 9505, store_precision="m", supplier_precision="m",
        withdrawals=True, split=True, holds=False, designs=["Mile Nine", "Cinder Dog", "Last Lap", "Gravel Choir", "Slow Club"], axes=("Gear", "Size", "Color"), by_design=True,
        goods=[good("Singlet", "Singlet mesh", ["XS", "S", "M", "L"], ["Coal", "Citrus"], "31.00", "11.20"),
               good("Crewneck", "Crew fleece 300", ["S", "M", "L", "XL", "2XL"], ["Coal", "Oat"], "48.00", "21.35"),
               good("Bandana", "Bandana 22in", [""], ["Citrus", "Coal"], "12.00", "3.40")],
        order_id=lambda o: str(61000 + o.number), listing_id=lambda k: f"P-{k + 11}", prefix="CP#", lost_sku="TBD", first_number=20,
        sku=lambda v: f"C{v.k + 200}{v.colour[:1]}{v.size or 'U'}", variant_id=lambda v: f"FRM{v.k * 11 + 1405}", line_id=lambda x, r: f"r-{r}", first_line=8800,
        first_sub=118, subline_id=lambda x, r: str(r), parcel_id=lambda p: f"CTN{p.number}", countries=["US"], methods=["card", "gift card"],
        typed=["BIB 204", "Go Piet!", "Coach, class of '09"], notes=["porch ok"], carriers=["Ridgeline Freight", "Postal Blue"],
        tracking=lambda r, rng: f"{rng.randint(10**11, 10**12 - 1)}")
    b = make_book(c, rng)
    into_runs(b, lambda run: f"R-{run.number}")
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    base = "entries[*].sale."
    entries = []
    for o in b.orders:
        cancelled = o.status == "cancelled"
        bill = ("reversed", "cancelled") if cancelled and o.paid else ("cleared", "open") if o.paid else ("due", "unpaid")
        road = ("called off", "cancelled") if cancelled else ("out", "dispatched") if o.status == "dispatched" else ("waiting", "open")
        entries.append({
            "id": f"{rng.getrandbits(64):016x}", "kind": "sale", "sale": {
                "id": int(o.id), "ref": rng.choice(["", "", "team order", "PO 4471"]), "date": us(o.placed),
                "bill": {"number": f"INV-{o.invoice}", "date": us(o.paid), "status": ws.put(f"orders.status@{base}bill.status", *bill),
                         "total": money(o.total), "tender": o.method},
                "delivery": {"status": ws.put(f"orders.status@{base}delivery.status", *road), "fee": money(o.shipping),
                             "to": {"name": o.who.name, "line": o.who.street, "town": o.who.town, "zip": o.who.post, "country": o.country}},
                "basket": {"pieces": sum(x.qty for x in o.lines), "rows": [
                    {"id": x.id, "item": {"page": x.listing.id, "name": x.title, "stock_code": x.sku},
                     "picks": [{"name": k, "value": v} for k, v in x.options.items()] + ([{"name": "Back print", "value": x.typed}] if x.typed else []),
                     "units": {"bought": x.qty, "withdrawn": x.cancelled_qty}, "money": {"price": money(x.price), "total": money(x.total)}} for x in o.lines]}}})
    put_json(at(c, "storefront", "book-page-1.json"), {"page": {"no": 1, "of": 1, "size": 100}, "entries": entries}, indent=None)
    pages = [{"id": t.id, "name": t.title, "prices_in": "USD", "shown": True, "choices": [
        {"stock_code": x.sku, "picks": [{"name": k, "value": v} for k, v in x.options.items()], "price": money(x.price), "for_sale": x.buyable}
        for x in t.offers]} for t in b.listings]
    put_json(at(c, "storefront", "pages.json"), {"pages": pages}, indent=None)
    f = "book-page-1.json"
    s.add(f, "orders", base, order_id="id", placed_at="date", paid_at="bill.date", status=("bill.status", "delivery.status"),
          ship_to_country="delivery.to.country")
    s.add(f, "order_lines", base + "basket.rows[*].", order_id="^" + base + "id", line_id="id", listing_id="item.page", sku="item.stock_code",
          title="item.name", options="picks", quantity="units.bought", cancelled_quantity="units.withdrawn", unit_price="money.price")
    s.add("pages.json", "offers", "pages[*].choices[*].", listing_id="^pages[*].id", title="^pages[*].name", currency="^pages[*].prices_in",
          sku="stock_code", options="picks", price="price", buyable="for_sale")
    words = {"received": "ganged", "making": "on the heat press", "dispatched": "run closed"}
    runs = []
    for u in b.subs:
        cells = []
        for x in u.lines:
            mark = None
            if x.status:
                mark = wp.put("submission_lines.status", "peeled", "cancelled")
            cells.append({"cell": x.id, "for": x.ref, "form": x.variant.id, "copies": x.qty, "unit": money(x.cost), "sum": money(x.total), "mark": mark})
        runs.append({"run": u.id, "film": f"22in x {rng.randint(40, 180)}in", "opened": us(u.received), "stage": wp.put("submissions.status", words[u.status], u.status),
                     "cells": cells})
    put_json(at(c, "supplier", "runs.json"), {"plant": "Gantry Street", "runs": runs}, indent=1)
    rows = [[q.id, q.sub.id, x.id, n, us(q.dispatched), q.carrier, q.tracking, q.weight] for q in b.parcels for x, n in q.lines]
    put_csv(at(c, "supplier", "cartons.csv"), ["Carton", "Run", "Cell", "Copies", "Off Dock", "Hauler", "Pro No", "Grams"], rows, end="\n")
    put_csv(at(c, "supplier", "forms.csv"), ["Form", "Shop Code", "Garment", "Art", "Cut", "Dye", "Unit", "Lead Days"],
            [[v.id, v.sku, v.product, v.design, v.made_size, v.made_colour, "$" + money(v.cost), 3] for v in b.variants], end="\n")
    p.add("runs.json", "submissions", "runs[*].", submission_id="run", status="stage", received_at="opened")
    p.add("runs.json", "submission_lines", "runs[*].cells[*].", submission_id="^runs[*].run", line_id="cell", order_ref="for", variant_id="form",
          quantity="copies", unit_cost="unit", status="mark")
    p.add("cartons.csv", "parcels", parcel_id="Carton", submission_id="Run", dispatched_at="Off Dock", carrier="Hauler", tracking_number="Pro No")
    p.add("cartons.csv", "parcel_lines", parcel_id="Carton", submission_line_id="Cell", quantity="Copies")
    p.add("forms.csv", "variants", variant_id="Form", sku="Shop Code", product="Garment", options=["Cut", "Dye"], unit_cost="Unit")
    finish(ROOT, b, form(currency="USD", line_ids=True, subline_ids=True, variant_options=named("Cut", "Dye")), s, p, ws, wp,
           {"order_lines": ["Gear", "Size", "Color"], "offers": ["Gear", "Size", "Color"]}, {"variants": ["Cut", "Dye"]},
           ["`id` at three levels, `date` and `status` at two, `total` beside `price`; `ref` is the customer's; the number is the invoice's; "
            "times month first with a twelve-hour clock; the currency stands at the listing only.",
            "A run holds many orders, and each cell names its own; a cell may be called back while its run goes on."])


# 06: a pottery's orders and rows; a workshop's sheet with SKUs of its own spelling ------------------------------------

def pair_06():
    c, rng = shop(
        "06-alfar-de-luz", "taller-xiloca", "Europe/Madrid", "2026-02-09", 36, 60, 9606, supplier_precision="m", by_design=True,
        designs=["Golondrina", "Higuera", "Luna llena", "Azulejo"], axes=("Prenda", "Talla", "Color"), title="{design}: {good}",
        goods=[good("Delantal", "Delantal loneta", ["Niño", "Adulto"], ["Arcilla", "Musgo", "Añil"], "28.50", "10.70"),
               good("Bolsa", "Bolsa algodón", [""], ["Arcilla", "Añil"], "16.00", "5.80"),
               good("Camiseta", "Camiseta manga corta", ["S", "M", "L", "XL"], ["Añil", "Hueso"], "22.00", "8.45")],
        order_id=lambda o: str(o.number), first_number=2030, listing_id=lambda k: f"H{k}", prefix="ALZ-", lost_sku="PENDIENTE",
        sku=lambda v: f"{v.good['name'][0]}{v.design[:2].upper()}{v.k * 2 + 301}", variant_id=lambda v: f"X{v.k + 51:04d}", line_id=lambda x, r: str(r), first_line=11200,
        sub_id=lambda s: f"{s.number}", first_sub=9140, countries=["ES", "ES", "PT"], methods=["tarjeta", "transferencia", "contra reembolso"],
        typed=["Lucía", "Bar El Puerto", "para la abuela", "Nico y Sol"], notes=["llamar antes", "portería"],
        tracking=lambda r, rng: f"G{rng.randint(10**9, 10**10 - 1)}")
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    when = "%d/%m/%Y %H:%M:%S"
    heads, rows = [], []
    for o in b.orders:
        paid = ws.time("orders.status@Cobrado el", local(o.paid, when), "open", "unpaid")
        gone = ws.time("orders.status@Salió el", local(o.gone, when), "dispatched", "open")
        void = ws.time("orders.status@Anulado el", local(o.cancelled_at, when), "cancelled", "open")
        heads.append([9000 + o.i, o.id, f"A/{o.invoice}", local(o.placed, when), paid, gone, void, o.who.name, o.who.mail, o.who.street, o.who.town,
                      o.country, o.method, comma(o.shipping), comma(o.total), "21%", "tienda", ""])
        for x in o.lines:
            text = ", ".join(f"{k}: {v}" for k, v in x.options.items()) + (f", Bordado: {x.typed}" if x.typed else "")
            rows.append([o.id, x.id, x.sku, x.title, text, x.qty, comma(x.price), comma(x.total), o.who.family])
    put_csv(at(c, "storefront", "pedidos.csv"),
            ["Id", "Pedido", "Factura", "Fecha", "Cobrado el", "Salió el", "Anulado el", "Cliente", "Correo", "Calle", "Localidad", "País", "Forma de pago",
             "Portes", "Importe", "IVA", "Canal", "Observaciones"], heads, ";", "utf-8-sig")
    put_csv(at(c, "storefront", "renglones.csv"), ["Pedido", "Renglón", "Código", "Descripción", "Detalle", "Cant.", "P. unit.", "Importe", "Apellido"],
            rows, ";", "utf-8-sig")
    s.add("pedidos.csv", "orders", order_id="Pedido", placed_at="Fecha", paid_at="Cobrado el", status=("Cobrado el", "Salió el", "Anulado el"), ship_to_country="País")
    s.add("renglones.csv", "order_lines", order_id="Pedido", line_id="Renglón", sku="Código", title="Descripción", options="Detalle", quantity="Cant.",
          unit_price="P. unit.")
    words = {"received": ["apuntado"], "making": ["en bastidor", "secando"], "dispatched": ["entregado al correo"], "cancelled": ["tachado"], "held": ["en pausa"]}
    sheet = [["Encargo", "Entrada", "Albarán", "Ref. cliente", "Clave", "Uds", "Coste", "Coste total", "Situación", "Salida", "Guía"]]
    for u in b.subs:
        word = wp.put("submissions.status", rng.choice(words[u.status]), u.status)
        for x in u.lines:
            sheet.append([int(u.id), u.received.replace(tzinfo=None), f"AB{rng.randint(1000, 9999)}", u.ref, "TX-" + x.sku, x.qty, x.cost, x.total, word,
                          u.dispatched.replace(tzinfo=None) if u.dispatched else None, u.parcels[0].tracking if u.parcels else None])
    put_ods(at(c, "supplier", "encargos.ods"), sheet, "Encargos")
    put_csv(at(c, "supplier", "tarifa.csv"), ["Molde", "Clave", "Género", "Dibujo", "Medida", "Tinte", "Coste", "Mín."],
            [[v.id, "TX-" + v.sku, v.product, v.design, v.made_size, v.made_colour, comma(v.cost), 1] for v in b.variants], ";")
    f = "encargos.ods"
    p.add(f, "submissions", submission_id="Encargo", order_ref="Ref. cliente", status="Situación", received_at="Entrada")
    p.add(f, "submission_lines", submission_id="Encargo", sku="Clave", quantity="Uds", unit_cost="Coste")
    p.add(f, "parcels", parcel_id="Guía", submission_id="Encargo", dispatched_at="Salida", tracking_number="Guía")
    p.add("tarifa.csv", "variants", variant_id="Molde", sku="Clave", product="Género", options=["Medida", "Tinte"], unit_cost="Coste")
    finish(ROOT, b, form(line_ids=True, variant_options=named("Medida", "Tinte")), s, p, ws, wp,
           {"order_lines": ["Prenda", "Talla", "Color"]}, {"variants": ["Medida", "Tinte"]},
           ["No status at all: it follows from three times; the order's number is the second id; choices and the customer's embroidery are one text; "
            "'Importe' is the order's in one file and the line's in the other.",
            "'Clave' has TX- before the shop's code and is known by the price list, whose own id is 'Molde'; 'Albarán' is the workshop's paper."], sku_prefix="TX-")


# 07: documents in JSON Lines; piecework, one record for each line ------------------------------------------------------

def pair_07():
    c, rng = shop(
        "07-mossgate", "loom-and-needle", "Europe/Dublin", "2026-04-20", 38, 64, 9707, supplier_precision="m", piecework=True, suffix="-W",
        designs=["Static", "Longwave", "Test Card", "Shipping News", "Dawn Chorus"], axes=(None, "Fit", "Shade"),
        goods=[good("Jumper", "Knit 7g", ["Slim", "Regular", "Roomy"], ["Peat", "Gorse", "Heather"], "68.00", "30.10"),
               good("Scarf", "Scarf 180", [""], ["Peat", "Heather"], "34.00", "13.25"),
               good("Socks", "Sock pair", ["36-40", "41-45"], ["Gorse", "Peat"], "14.50", "5.15")],
        order_id=lambda o: f"MG{o.number}", first_number=1080, listing_id=lambda k: f"pg_{k * 5 + 21:03d}", lost_sku="mg-xx",
        sku=lambda v: f"mg-{v.design.split()[0][:4].lower()}-{v.good['name'][:2].lower()}{v.k:02d}", variant_id=lambda v: f"{v.good['made_as'][:1]}{v.k * 17 + 3301}",
        line_id=lambda x, r: f"{x.order.id}.{x.n}", sub_id=lambda s: f"PW{s.number}", first_sub=15510, countries=["IE", "IE", "GB", "FR"], methods=["card", "transfer"],
        typed=["Nollaig shona!", "For the night shift", "M.V."], notes=["gift"], tracking=lambda r, rng: f"HP {rng.randint(100, 999)} {rng.randint(1000, 9999)} {r}")
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    phase = {"open": ["taken"], "dispatched": ["away"], "cancelled": ["withdrawn"], "unpaid": ["money_awaited"]}
    z = lambda m: m.astimezone(dt.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ") if m else None
    docs = []
    for o in b.orders:
        docs.append({
            "doc": "order", "rev": rng.randint(1, 6), "key": o.id, "phase": ws.put("orders.status", rng.choice(phase[o.status]), o.status), "at": z(o.placed),
            "settled_at": z(o.paid), "touched_at": z(o.updated), "ship_before": o.promised.isoformat(), "cur": "EUR",
            "to": {"name": o.who.name, "mail": o.who.mail, "street": o.who.street, "cc": o.country},
            "items": [{"key": x.id, "page_key": x.listing.id, "sku": x.sku, "label": x.title,
                       "choices": {**x.options, **({"Dedication": x.typed} if x.typed else {})}, "n": x.qty, "unit": cents(x.price), "sum": cents(x.total)} for x in o.lines],
            "carriage": cents(o.shipping), "sum": cents(o.total), "tags": []})
    put_jsonl(at(c, "storefront", "orders.jsonl"), docs)
    put_jsonl(at(c, "storefront", "pages.jsonl"), [
        {"doc": "page", "key": t.id, "label": t.title, "cur": "EUR", "forms": [{"sku": x.sku, "choices": x.options, "unit": cents(x.price), "live": x.buyable} for x in t.offers]}
        for t in b.listings])
    s.add("orders.jsonl", "orders", order_id="key", placed_at="at", paid_at="settled_at", updated_at="touched_at", status="phase", promised_by="ship_before",
          currency="cur", ship_to_country="to.cc")
    s.add("orders.jsonl", "order_lines", "items[*].", order_id="^key", line_id="key", listing_id="page_key", sku="sku", title="label", options="choices", quantity="n",
          unit_price="unit")
    s.add("pages.jsonl", "offers", "forms[*].", listing_id="^key", title="^label", currency="^cur", sku="sku", options="choices", price="unit", buyable="live")
    words = {"received": ["logged"], "making": ["on the needles", "pressing"], "dispatched": ["in the van"], "cancelled": ["unpicked"], "held": ["query"]}
    rows = []
    for u in b.subs:
        x = u.lines[0]
        rows.append([u.id, "31", local(u.received, "%Y-%m-%d %H:%M"), u.ref, x.variant.id, f"{x.variant.product} {x.variant.made_colour}", x.qty, money(x.cost),
                     money(x.total), wp.put("submissions.status", rng.choice(words[u.status]), u.status), local(u.dispatched, "%Y-%m-%d %H:%M"),
                     u.parcels[0].tracking if u.parcels else "", ""])
    put_csv(at(c, "supplier", "piecework.csv"), ["Piece", "Acct", "In", "Wanted For", "Pattern", "Reads", "Count", "Price", "Amount", "Progress", "Out", "Consignment", "Remarks"],
            rows, end="\n")
    f = "piecework.csv"
    p.add(f, "submissions", submission_id="Piece", order_ref="Wanted For", status="Progress", received_at="In")
    p.add(f, "submission_lines", submission_id="Piece", variant_id="Pattern", quantity="Count", unit_cost="Price")
    p.add(f, "parcels", parcel_id="Consignment", submission_id="Piece", dispatched_at="Out", tracking_number="Consignment")
    put_csv(at(c, "supplier", "pairing.csv"), ["Shop SKU", "Pattern", "Per Unit", "Paired By"], [[v.sku, v.id, 1, rng.choice(["jo", "import"])] for v in b.variants], end="\n")
    p.add("pairing.csv", "links", sku="Shop SKU", variant_id="Pattern", units="Per Unit")
    finish(ROOT, b, form(store_time="Z", currency="EUR", line_ids=True), s, p, ws, wp,
           {"order_lines": ["Fit", "Shade"], "offers": ["Fit", "Shade"]}, {},
           ["`key` is the order's, the line's and the page's; three times and a dispatch-by date; a dedication stands among the choices; money is minor units, `n` the quantity.",
            "Each record is one line of an order, with its own consignment; no catalogue, but a file that pairs the shop's SKU with the pattern; the reference ends in -W."])


# 08: a club's kit sheet; a plant's flat tables ---------------------------------------------------------------------------

def pair_08():
    c, rng = shop(
        "08-north-oar", "spindle-works", "America/Toronto", "2026-05-11", 44, 57, 9808, store_precision="m", split=True, prefix="NO-", suffix="-R",
        designs=["Coxless", "Headrace", "Blade", "Slack Water"], axes=(None, "Sz", "Clr"), title="{good} {design}",
        goods=[good("Splash Jacket", "SHELL 2L", ["Yth M", "Yth L", "S", "M", "L", "XL"], ["Navy", "Cedar"], "74.00", "33.60"),
               good("Cap", "CAP 6P", [""], ["Navy", "Cedar", "Stone"], "22.00", "8.15"),
               good("Unisuit", "SUIT LYCRA", ["S", "M", "L"], ["Navy"], "89.00", "41.20")],
        order_id=lambda o: str(o.number), first_number=8790, listing_id=lambda k: f"K{k}", lost_sku="KIT-???",
        sku=lambda v: f"NOR/{v.good['name'][:2].upper()}/{v.k + 101}", variant_id=lambda v: f"{v.good['made_as'].split()[0]}-{v.k * 3 + 217}",
        sub_id=lambda s: str(770000 + s.number), first_sub=412, first_subline=1904000, parcel_id=lambda p: f"BX{p.number}", countries=["CA", "CA", "US"],
        methods=["e-transfer", "club account", "card"], typed=["HARTNOLL", "STROKE", "Bow #2"], notes=["deliver to boathouse"],
        carriers=["Lakehead Express", "Shieldline"], tracking=lambda r, rng: f"LX{rng.randint(10**8, 10**9 - 1)}CA")
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    sheet = [["North Oar kit desk, orders for the season"], [],
             ["Ord", "Ord Dt", "Mbr", "E-Mail", "Crew", "Pmt", "Pmt Dt", "Ful", "Kit Cd", "Kit Desc", "Sz", "Clr", "Nm On Back", "Qty", "Unit", "Ext", "Frt", "Ord Tot",
              "Cur", "Ctry", "Treas Init"]]
    for o in b.orders:
        crew = rng.choice(["Novice", "Masters", "8+"])
        cancelled = o.status == "cancelled"
        pay = ws.put("orders.status@Pmt", *(("Rev", "cancelled") if cancelled and o.paid else ("Rcvd", "open") if o.paid else ("Owing", "unpaid")))
        ful = ws.put("orders.status@Ful", *(("X", "cancelled") if cancelled else ("Done", "dispatched") if o.status == "dispatched" else ("Open", "open")))
        for x in o.lines:
            sheet.append([int(o.id), us(o.placed), o.who.name, o.who.mail, crew, pay, us(o.paid) or None, ful, x.sku or None, x.title,
                          x.options.get("Sz"), x.options.get("Clr"), x.typed or None, x.qty, x.price, x.total, o.shipping, o.total, "CAD", o.country, None])
    put_xlsx(at(c, "storefront", "kit-desk.xlsx"), sheet, "Season")
    f = "kit-desk.xlsx"
    s.add(f, "orders", order_id="Ord", placed_at="Ord Dt", paid_at="Pmt Dt", status=("Pmt", "Ful"), currency="Cur", ship_to_country="Ctry")
    s.add(f, "order_lines", order_id="Ord", sku="Kit Cd", title="Kit Desc", options=["Sz", "Clr"], quantity="Qty", unit_price="Unit")
    words = {"received": ["slotted"], "making": ["cutting", "sewing"], "dispatched": ["trucked"], "cancelled": ["struck"], "held": ["short of cloth"]}
    jobs, lines, boxes, inside = [], [], [], []
    for u in b.subs:
        jobs.append({"job": int(u.id), "acct": "NOAR", "po": u.ref, "booked": epoch(u.received), "prog": wp.put("submissions.status", rng.choice(words[u.status]), u.status),
                     "changed": epoch(u.updated), "value": money(u.total)})
        for x in u.lines:
            lines.append({"job": int(u.id), "ln": int(x.id), "part": x.variant.id, "cust_part": x.sku, "dsc": x.variant.product, "pcs": x.qty, "ea": money(x.cost), "ext": money(x.total)})
        for q in u.parcels:
            boxes.append({"box": q.id, "job": int(u.id), "line": q.carrier, "waybill": q.tracking, "trucked": epoch(q.dispatched), "kg": round(q.weight / 1000, 2)})
            inside += [{"box": q.id, "ln": int(x.id), "pcs": n} for x, n in q.lines]
    for name, rows in (("jobs", jobs), ("job_lines", lines), ("boxes", boxes), ("box_lines", inside)):
        put_json(at(c, "supplier", name + ".json"), {"table": name, "n": len(rows), "rows": rows}, indent=None)
    r = "rows[*]."
    p.add("jobs.json", "submissions", r, submission_id="job", order_ref="po", status="prog", received_at="booked", updated_at="changed")
    p.add("job_lines.json", "submission_lines", r, submission_id="job", line_id="ln", variant_id="part", sku="cust_part", quantity="pcs", unit_cost="ea")
    p.add("boxes.json", "parcels", r, parcel_id="box", submission_id="job", dispatched_at="trucked", carrier="line", tracking_number="waybill")
    p.add("box_lines.json", "parcel_lines", r, parcel_id="box", submission_line_id="ln", quantity="pcs")
    finish(ROOT, b, form(supplier_time="Z", currency="CAD", subline_ids=True), s, p, ws, wp, {"order_lines": ["Sz", "Clr"]}, {},
           ["A title and an empty row above the header; everything abbreviated; payment and fulfilment are two columns; 'X' is a cancellation; times are text, month first.",
            "Four flat tables joined by job, line and box; `line` in the boxes is the carrier; the order's number stands between NO- and -R."])


# 09: a museum's two flat lists; a tab-separated work list ----------------------------------------------------------------

def pair_09():
    c, rng = shop(
        "09-almanac-house", "tide-mill-editions", "Europe/Copenhagen", "2026-06-08", 37, 61, 9909, rejects=1,
        designs=["Comet Chart", "Herbarium", "Whale Survey", "Barometer"], axes=(None, "Format", "Tone"), title="{design} ({good})",
        goods=[good("Print", "GICLEE", ["A4", "A3", "A2"], ["Sepia", "Indigo"], "180.00", "62.00"),
               good("Notebook", "NOTEBK", ["Plain", "Ruled"], ["Moss", "Indigo", "Sand"], "95.00", "33.50"),
               good("Shawl", "SHAWL", [""], ["Moss", "Sepia"], "420.00", "171.00")],
        order_id=lambda o: f"AH{o.number}", first_number=30400, listing_id=lambda k: str(210 + k * 3), prefix="web ", lost_sku="n/a yet",
        sku=lambda v: f"{v.design[:2]}{v.good['name'][:1]}-{v.k * 5 + 1002}".upper(), variant_id=lambda v: f"{v.good['made_as']}.{v.k + 31}",
        line_id=lambda x, r: str(r), first_line=55100, sub_id=lambda s: f"W{s.number}", first_sub=6630, subline_id=lambda x, r: str(x.n),
        countries=["DK", "DK", "SE", "NO"], methods=["invoice", "card"], typed=["To Signe from the staff", "No. 12 of 50", "Ekholt"], notes=["cloakroom", "member discount"],
        tracking=lambda r, rng: f"{rng.randint(10**12, 10**13 - 1)}", carriers=["SKERRY", "MOLE"])
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    sales, rows = [], []
    for o in b.orders:
        cancelled = o.status == "cancelled"
        pay = ("returned", "cancelled") if cancelled and o.paid else ("settled", "open") if o.paid else ("awaited", "unpaid")
        hand = ("struck off", "cancelled") if cancelled else ("left the house", "dispatched") if o.status == "dispatched" else ("on the shelf", "open")
        sales.append({"id": 9000 + o.i * 2, "number": f"F-2026-{o.invoice}", "sale_no": o.id, "ref": rng.choice([None, None, "Friends' evening", "school visit"]),
                      "date": epoch(o.placed), "date_due": epoch(o.placed + dt.timedelta(days=14)), "date_paid": epoch(o.paid), "date_changed": epoch(o.updated),
                      "status": ws.put("orders.status@[*].status", *pay), "handover": ws.put("orders.status@[*].handover", *hand), "name": o.who.name, "email": o.who.mail,
                      "country": o.country, "postage": float(o.shipping), "total": float(o.total), "currency": "DKK"})
        for x in o.lines:
            rows.append({"id": int(x.id), "sale_no": o.id, "work": int(x.listing.id), "number": x.sku, "name": x.title, "variant": " / ".join(x.options.values()),
                         "inscription": x.typed or None, "amount": x.qty, "price": float(x.price), "total": float(x.total), "vat": 25})
    put_json(at(c, "storefront", "sales.json"), sales, indent=1)
    put_json(at(c, "storefront", "sale_rows.json"), rows, indent=1)
    s.add("sales.json", "orders", "[*].", order_id="sale_no", placed_at="date", paid_at="date_paid", updated_at="date_changed", status=("status", "handover"),
          currency="currency", ship_to_country="country")
    s.add("sale_rows.json", "order_lines", "[*].", order_id="sale_no", line_id="id", listing_id="work", sku="number", title="name", options="variant", quantity="amount", unit_price="price")
    words = {"received": "RCD", "making": "PRF", "dispatched": "DSP", "cancelled": "CXL", "held": "HLD", "rejected": "REJ"}
    when = "%Y-%m-%d %H:%M:%S"
    out = []
    for u in b.subs:
        for x in u.lines:
            out.append([u.id, x.id, u.ref, x.variant.id, x.sku, x.qty, money(x.cost), money(x.total), local(u.received, when), wp.put("submissions.status", words[u.status], u.status),
                        local(u.dispatched, when), u.parcels[0].carrier if u.parcels else "", u.parcels[0].tracking if u.parcels else "", "TM1"])
    put_csv(at(c, "supplier", "worklist.tsv"), ["WO", "LN", "CREF", "PLATE", "CITM", "CPY", "UCST", "XCST", "RCV", "STG", "DSP", "CAR", "TRK", "SITE"], out, "\t", end="\n")
    f = "worklist.tsv"
    p.add(f, "submissions", submission_id="WO", order_ref="CREF", status="STG", received_at="RCV")
    p.add(f, "submission_lines", submission_id="WO", line_id="LN", variant_id="PLATE", sku="CITM", quantity="CPY", unit_cost="UCST")
    p.add(f, "parcels", parcel_id="TRK", submission_id="WO", dispatched_at="DSP", carrier="CAR", tracking_number="TRK")
    finish(ROOT, b, form(store_time="Z", currency="DKK", line_ids=True, subline_ids=True, line_options=slashed("variant")), s, p, ws, wp,
           {"order_lines": ["variant"]}, {},
           ["`number` is the invoice's in one file and the SKU in the other; `amount` is a quantity; `variant` is the chosen text and no id; `status` is the payment's; "
            "four dates in seconds; `ref` is the customer's.",
            "Headers and status words of three letters; 'DSP' is both a header and a word; the reference begins with 'web '."])


# 10: a charity bazaar's sheet; a printer's slips filled in once ---------------------------------------------------------

def pair_10():
    c, rng = shop(
        "10-turmfalke", "druckstube-erlengrund", "Europe/Berlin", "2026-03-16", 29, 54, 9010, store_precision="m", supplier_precision="m",
        designs=["Turmfalke", "Dohle", "Glockenstuhl", "Mauersegler"], axes=(None, "Maß", "Farbe"), title="{good} {design}",
        goods=[good("Kapuzenpulli", "Hoodie schwer", ["128", "140", "S", "M", "L"], ["Schiefer", "Ziegel"], "39.00", "17.80"),
               good("Brotbeutel", "Beutel Halbleinen", [""], ["Natur", "Ziegel"], "12.00", "4.30"),
               good("Lätzchen", "Latz Frottee", [""], ["Natur", "Salbei", "Schiefer"], "9.50", "3.20")],
        order_id=lambda o: f"B{o.number:04d}", first_number=390, listing_id=lambda k: f"S{k}", prefix="Basar ", lost_sku="folgt",
        sku=lambda v: f"{v.good['name'][:1]}{v.k + 1:02d}-{v.design[:2]}{v.colour[:1]}", variant_id=lambda v: f"V{v.k // 8 + 1}/{v.k % 8 + 1}",
        sub_id=lambda s: f"{s.number}-E", first_sub=2040, countries=["DE"], methods=["Überweisung", "bar", "Lastschrift"],
        typed=["Ida", "Chor St. Anna", "Oma Hedda", "Für Bram / zur Taufe"], notes=["Abholung Pfarrhaus", "Spende extra"], carriers=["Botendienst Elster"],
        tracking=lambda r, rng: f"EL{rng.randint(10**7, 10**8 - 1)}")
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    state = {"open": "Geld ist da", "dispatched": "verschickt", "cancelled": "abgesagt", "unpaid": "Geld fehlt"}
    sheet = [["Türmerbasar: was bestellt wurde", None, None, "gepflegt von Elke"],
             ["Bestell-Nr", "Bestellt", "Bezahlt", "Wie es steht", "Was", "Kürzel", "Ausführung", "Wunschtext", "Anz.", "Preis", "Betrag", "Spende", "Wer", "Mail", "PLZ", "Wie bezahlt", "Vermerk"]]
    for o in b.orders:
        gift = Decimal(rng.choice(("0.00", "5.00")))
        for x in o.lines:
            sheet.append([o.id, o.placed.replace(tzinfo=None), o.paid.replace(tzinfo=None) if o.paid else None, ws.put("orders.status", state[o.status], o.status), x.title,
                          x.sku, " / ".join(x.options.values()), x.typed, x.qty, x.price, x.total, gift, o.who.name, o.who.mail, o.who.post,
                          o.method, o.note])
    put_ods(at(c, "storefront", "basar.ods"), sheet, "Bestellt")
    f = "basar.ods"
    s.add(f, "orders", order_id="Bestell-Nr", placed_at="Bestellt", paid_at="Bezahlt", status="Wie es steht")
    s.add(f, "order_lines", order_id="Bestell-Nr", sku="Kürzel", title="Was", options="Ausführung", quantity="Anz.", unit_price="Preis")
    words = {"received": ["Zettel liegt vor"], "making": ["Sieb belichtet", "wird gedruckt"], "dispatched": ["Paket weg"], "cancelled": ["zerrissen"], "held": ["Rückfrage"]}
    rows = []
    when = "%d.%m.%y %H:%M"
    for u in b.subs:
        word = wp.put("submissions.status", rng.choice(words[u.status]), u.status)
        for x in u.lines:
            first = x.n == 1
            rows.append(([u.id, local(u.received, when), "Türmerbasar", u.ref, word] if first else [""] * 5) +
                        [x.variant.id, f"{x.variant.product}, {x.variant.design}", x.qty, comma(x.cost), comma(x.total)] +
                        ([local(u.dispatched, when), u.parcels[0].tracking if u.parcels else "", comma(u.total)] if first else [""] * 3))
    put_csv(at(c, "supplier", "druckzettel.csv"), ["Zettel", "Angelegt", "Besteller", "Für", "Stufe", "Vorlage", "Text", "Stk", "je", "zus.", "Abgang", "Paketnr", "Zettelwert"],
            rows, ";", everything=True)
    put_csv(at(c, "supplier", "vorlagen.csv"), ["Vorlage", "Kürzel Kunde", "Träger", "Motiv", "Größe", "Grundfarbe", "je"],
            [[v.id, v.sku, v.product, v.design, v.made_size, v.made_colour, comma(v.cost)] for v in b.variants], ";", everything=True)
    f = "druckzettel.csv"
    p.add(f, "submissions", submission_id="Zettel", order_ref="Für", status="Stufe", received_at="Angelegt")
    p.add(f, "submission_lines", submission_id="Zettel", variant_id="Vorlage", quantity="Stk", unit_cost="je")
    p.add(f, "parcels", parcel_id="Paketnr", submission_id="Zettel", dispatched_at="Abgang", tracking_number="Paketnr")
    p.add("vorlagen.csv", "variants", variant_id="Vorlage", sku="Kürzel Kunde", product="Träger", options=["Größe", "Grundfarbe"], unit_cost="je")
    finish(ROOT, b, form(line_options=slashed("Ausführung"), variant_options=named("Größe", "Grundfarbe")), s, p, ws, wp,
           {"order_lines": ["Ausführung"]}, {"variants": ["Größe", "Grundfarbe"]},
           ["A title above the header; statuses are everyday sentences; the wish text may hold a slash as the choices do; times are typed cells.",
            "A slip's columns stand on its first row only; years have two digits; headers such as 'je' and 'zus.'; every cell is quoted."])


# 11: a bookbinder's API in camelCase; work orders with their dispatches inside ----------------------------------------

def pair_11():
    c, rng = shop(
        "11-quillfeather", "saltbox-bindery", "America/Halifax", "2026-02-20", 46, 59, 9011, split=True,
        designs=["Puffin Row", "Ebb", "Wintering", "Fogcatcher", "Salt Hay"], axes=(None, "size", "shade"), title="{good}, {design}",
        goods=[good("Logbook", "bound-log", ["pocket", "desk"], ["kelp", "oxblood", "chalk"], "32.00", "12.60"),
               good("Smock", "smock-duck", ["child", "small", "medium", "large"], ["kelp", "chalk"], "58.00", "24.45"),
               good("Satchel", "satchel-wax", [""], ["oxblood", "kelp"], "84.00", "37.30")],
        made_size={"small": "S", "medium": "M", "large": "L", "child": "K"},
        order_id=lambda o: f"QF-{o.number}", first_number=70200, listing_id=lambda k: f"sh{k * 7 + 140}", lost_sku="none-yet",
        sku=lambda v: f"{v.good['name'][:3]}{v.k + 11}{v.colour[:1]}".upper(), variant_id=lambda v: f"it_{v.k * 19 + 4007}",
        line_id=lambda x, r: f"ln{r}", first_line=400, sub_id=lambda s: f"wo{s.number}", first_sub=3300, subline_id=lambda x, r: f"en{r}", first_subline=9000,
        parcel_id=lambda p: f"dp{p.number}", countries=["CA", "US", "CA"], methods=["card", "cheque"], typed=["Log of the Wren", "Property of Yara", "2026, the long summer"], notes=["no rush"],
        carriers=["Fundy Post", "Barachois Courier"], tracking=lambda r, rng: f"FP{rng.randint(10**9, 10**10 - 1)}")
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    iso = lambda m: m.isoformat() if m else None
    docs = []
    for o in b.orders:
        key = "orders.status@[*]."
        docs.append({
            "docId": f"{rng.getrandbits(40):010x}", "orderCode": o.id, "openedAt": iso(o.placed), "changedAt": iso(o.updated),
            "settlement": {"at": ws.time(key + "settlement.at", iso(o.paid), "open", "unpaid"), "by": o.method, "sum": float(o.total)},
            "posting": {"handBy": o.promised.isoformat(), "at": ws.time(key + "posting.at", iso(o.gone), "dispatched", "open"), "fee": float(o.shipping),
                        "person": o.who.name, "lane": o.who.street, "countryCode": o.country},
            "withdrawnAt": ws.time(key + "withdrawnAt", iso(o.cancelled_at), "cancelled", "open"),
            "lines": [{"lineId": x.id, "shelfId": x.listing.id, "itemCode": x.sku or None, "heading": x.title, **x.options, "stampedText": x.typed or None, "pieces": x.qty,
                       "rate": float(x.price), "extended": float(x.total)} for x in o.lines],
            "currencyCode": "CAD", "noteFromBuyer": o.note or None})
    put_json(at(c, "storefront", "orders.json"), docs, indent=1)
    put_json(at(c, "storefront", "shelf.json"), {"asked": "shelf", "shelf": [
        {"shelfId": t.id, "heading": t.title, "blurb": "Bound by hand.", "sorts": [{"itemCode": x.sku or None, **x.options, "rate": float(x.price), "onShow": x.buyable} for x in t.offers]}
        for t in b.listings]}, indent=1)
    s.add("orders.json", "orders", "[*].", order_id="orderCode", placed_at="openedAt", paid_at="settlement.at", updated_at="changedAt", promised_by="posting.handBy",
          status=("settlement.at", "posting.at", "withdrawnAt"), currency="currencyCode", ship_to_country="posting.countryCode")
    s.add("orders.json", "order_lines", "[*].lines[*].", order_id="^[*].orderCode", line_id="lineId", listing_id="shelfId", sku="itemCode", title="heading", options=["size", "shade"],
          quantity="pieces", unit_price="rate")
    s.add("shelf.json", "offers", "shelf[*].sorts[*].", listing_id="^shelf[*].shelfId", title="^shelf[*].heading", sku="itemCode", options=["size", "shade"], price="rate", buyable="onShow")
    words = {"received": ["lodged"], "making": ["folding", "inPress"], "dispatched": ["handedOver"], "cancelled": ["revoked"], "held": ["awaitingProof"]}
    orders = []
    for u in b.subs:
        orders.append({
            "workOrderId": u.id, "clientNote": u.ref, "lodgedAt": iso(u.received), "bench": rng.choice(["A", "B"]), "stage": wp.put("submissions.status", rng.choice(words[u.status]), u.status),
            "entries": [{"entryId": x.id, "clientLine": x.line.id, "itemId": x.variant.id, "clientItem": x.sku, "pieces": x.qty, "unitRate": money(x.cost), "extended": money(x.total)} for x in u.lines],
            "dispatches": [{"dispatchId": q.id, "sentAt": iso(q.dispatched), "via": q.carrier, "trackingCode": q.tracking,
                            "packed": [{"entryId": x.id, "pieces": n} for x, n in q.lines]} for q in u.parcels]})
    put_json(at(c, "supplier", "workOrders.json"), {"result": {"workOrders": orders, "next": None}}, indent=None)
    base = "result.workOrders[*]."
    f = "workOrders.json"
    p.add(f, "submissions", base, submission_id="workOrderId", order_ref="clientNote", status="stage", received_at="lodgedAt")
    p.add(f, "submission_lines", base + "entries[*].", submission_id="^" + base + "workOrderId", line_id="entryId", order_line_ref="clientLine", variant_id="itemId", sku="clientItem",
          quantity="pieces", unit_cost="unitRate")
    p.add(f, "parcels", base + "dispatches[*].", parcel_id="dispatchId", submission_id="^" + base + "workOrderId", dispatched_at="sentAt", carrier="via", tracking_number="trackingCode")
    p.add(f, "parcel_lines", base + "dispatches[*].packed[*].", parcel_id="^" + base + "dispatches[*].dispatchId", submission_line_id="entryId", quantity="pieces")
    finish(ROOT, b, form(currency="CAD", line_ids=True, subline_ids=True), s, p, ws, wp,
           {"order_lines": ["size", "shade"], "offers": ["size", "shade"]}, {},
           ["No status word: settlement, posting and withdrawal each have a time; the choices are keys of the line itself, beside a stamped text; an inner document id comes first.",
            "The order's code stands bare in a note; the entries name the shop's lines; dispatches with their contents are inside the work order."])


# 12: a beachwear desk's rows and price list; dockets with numbered codes ----------------------------------------------

def pair_12():
    c, rng = shop(
        "12-harbourlight", "kudu-street-embroidery", "Africa/Johannesburg", "2026-07-13", 31, 56, 9012, supplier_precision="m", prefix="HL ", store_precision="s",
        designs=["Kelp Forest", "Lighthouse", "Trawler", "Cormorant"], axes=("Garment", "Size", "Tone"), by_design=True, title="{good}: {design}",
        goods=[good("Windcheater", "WC", ["S", "M", "L", "XL"], ["Sand", "Deep"], "649.00", "288.00"),
               good("Beanie", "BN", [""], ["Sand", "Deep", "Coral"], "199.00", "74.50"),
               good("Towel", "TW", ["Hand", "Beach"], ["Coral", "Sand"], "329.00", "131.00")],
        order_id=lambda o: f"{o.number}", first_number=11520, listing_id=lambda k: f"PG{k + 3}", lost_sku="??",
        sku=lambda v: f"HB{v.good['made_as']}{v.k * 2 + 100}", variant_id=lambda v: f"-{v.k}", line_id=lambda x, r: str(r), first_line=66010,
        sub_id=lambda s: f"D{s.number}", first_sub=4480, countries=["ZA", "ZA", "NA"], methods=["EFT", "card"], typed=["Skipper", "Amadou & Liv", "EST 1974"], notes=["beach hut 9"],
        tracking=lambda r, rng: f"KS{rng.randint(10**6, 10**7 - 1)}ZA")
    b = make_book(c, rng)
    s, p, ws, wp = Fields(), Fields(), Words(), Words()
    stage = {"open": ["to make"], "dispatched": ["couriered"], "cancelled": ["let go"], "unpaid": ["EFT pending"]}
    when = "%Y/%m/%d %H:%M:%S"
    rows = []
    for o in b.orders:
        word = ws.put("orders.status", rng.choice(stage[o.status]), o.status)
        for x in o.lines:
            rows.append([x.id, o.id, local(o.placed, when), local(o.paid, when), word, o.who.name, o.who.phone, o.who.town, o.country, x.listing.id, x.sku, x.title,
                         x.options.get("Garment", ""), x.options.get("Size", ""), x.options.get("Tone", ""), x.typed, x.qty, f"R {money(x.price)}", f"R {money(x.total)}",
                         f"R {money(o.shipping)}", f"R {money(o.total)}", o.note])
    put_csv(at(c, "storefront", "desk.csv"), ["Row", "Basket", "Opened", "Money In", "Stage", "Guest", "Phone", "Town", "Land", "Page", "Code", "Reads", "Garment", "Size", "Tone",
                                               "Stitch Text", "How Many", "Asking", "Row Value", "Courier Fee", "Basket Value", "Said"], rows)
    put_csv(at(c, "storefront", "asking.csv"), ["Page", "Heading", "Code", "Garment", "Size", "Tone", "Asking"],
            [[x.listing.id, x.listing.title, x.sku, x.options.get("Garment", ""), x.options.get("Size", ""), x.options.get("Tone", ""), f"R {money(x.price)}"] for x in b.offers])
    s.add("desk.csv", "orders", order_id="Basket", placed_at="Opened", paid_at="Money In", status="Stage", ship_to_country="Land")
    s.add("desk.csv", "order_lines", order_id="Basket", line_id="Row", listing_id="Page", sku="Code", title="Reads", options=["Garment", "Size", "Tone"], quantity="How Many", unit_price="Asking")
    s.add("asking.csv", "offers", listing_id="Page", title="Heading", sku="Code", options=["Garment", "Size", "Tone"], price="Asking")
    words = {"received": ["pinned up"], "making": ["hooped", "trimming"], "dispatched": ["collected"], "cancelled": ["unpinned"], "held": ["thread short"]}
    most = max(len(u.lines) for u in b.subs)
    header = ["Docket", "Logged", "Client Ref", "Standing"]
    for n in range(1, most + 1):
        header += [f"Code {n}", f"Pcs {n}", f"Each {n}"]
    sheet = [header + ["Docket Value", "Left", "Waybill", "Operator"]]
    for u in b.subs:
        row = [u.id, u.received.replace(tzinfo=None), u.ref, wp.put("submissions.status", rng.choice(words[u.status]), u.status)]
        for x in u.lines:
            row += [x.sku, x.qty, x.cost]
        row += [None] * 3 * (most - len(u.lines))
        sheet.append(row + [u.total, u.dispatched.date().isoformat() if u.dispatched else None, u.parcels[0].tracking if u.parcels else None, "NV"])
    put_xlsx(at(c, "supplier", "dockets.xlsx"), sheet, "Dockets")
    f = "dockets.xlsx"
    many = lambda name: [f"{name} {n}" for n in range(1, most + 1)]
    p.add(f, "submissions", submission_id="Docket", order_ref="Client Ref", status="Standing", received_at="Logged")
    p.add(f, "submission_lines", submission_id="Docket", sku=many("Code"), quantity=many("Pcs"), unit_cost=many("Each"))
    p.add(f, "parcels", parcel_id="Waybill", submission_id="Docket", dispatched_at="Left", tracking_number="Waybill")
    finish(ROOT, b, form(line_ids=True, parcel_day=True), s, p, ws, wp,
           {"order_lines": ["Garment", "Size", "Tone"], "offers": ["Garment", "Size", "Tone"]}, {},
           ["The row's id comes before the order's; money has R and a blank before it; years come first, with slashes; 'Land' is a country and 'Town' is not.",
            "A docket's lines stand side by side in numbered columns and have a SKU only, with no catalogue; the day it left has no clock time."])


if __name__ == "__main__":
    for make in (pair_01, pair_02, pair_03, pair_04, pair_05, pair_06, pair_07, pair_08, pair_09, pair_10, pair_11, pair_12):
        make()
