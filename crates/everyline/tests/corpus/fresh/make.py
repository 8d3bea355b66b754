"""Makes eight pairs of invented exports, each with the same book in exchange tables and the truth beside it.

Run `python3 make.py`, then `python3 check.py`.
"""
from datetime import timedelta
from book import Book, Pair, com, dec, drop_empty

ST = ["open", "dispatched", "unpaid", "cancelled"]


def letters(n, abc="BCDFGHJKMNPQRSTVWXZ"):
    s = ""
    while n or not s: s, n = abc[n % len(abc)] + s, n // len(abc)
    return s


def exchange(P, B, orders, lines, opts, offers=None, variants=None, vopts=None, subs=(), slines=(), parcels=None,
             plines=False, day_dispatch=False, currency="", line_no=True, links=False, by_track=False):
    """Writes the exchange tables with the columns named."""
    when = B.day if day_dispatch else B.iso
    o = {"order_id": lambda o: o["id"], "placed_at": lambda o: B.iso(o["placed"]), "paid_at": lambda o: B.iso(o["paid"]),
         "status": lambda o: o["status"], "currency": lambda o: currency, "promised_by": lambda o: str(o["promise"]),
         "ship_to_country": lambda o: o["country"], "updated_at": lambda o: B.iso(o["updated"])}
    P.table("orders", [{c: o[c](x) for c in orders} for x in B.orders])
    rows = []
    for x in B.orders:
        for i, l in enumerate(x["lines"], 1):
            f = l["offer"]
            v = {"listing_id": f["listing"]["id"], "sku": f["sku"], "title": f["listing"]["title"], "options": opts(f),
                 "quantity": l["qty"], "cancelled_quantity": l["gone"], "unit_price": dec(f["price"]), "updated_at": B.iso(x["updated"])}
            rows.append({"order_id": x["id"], "line_id": str(i) if line_no else l["id"], **{c: v[c] for c in lines}})
    P.table("order_lines", rows)
    if offers:
        v = {"listing_id": lambda f: f["listing"]["id"], "sku": lambda f: f["sku"], "title": lambda f: f["listing"]["title"], "options": opts,
             "price": lambda f: dec(f["price"]), "currency": lambda f: currency, "buyable": lambda f: str(f["buyable"]).lower()}
        P.table("offers", [{c: v[c](f) for c in offers} for f in B.offers])
    if variants:
        v = {"variant_id": lambda v: v["id"], "sku": lambda v: v["sku"], "product": lambda v: v["product"], "options": vopts,
             "unit_cost": lambda v: dec(v["cost"]), "currency": lambda v: currency, "available": lambda v: str(v["available"]).lower()}
        P.table("variants", [{"supplier": P.supplier, **{c: v[c](x) for c in variants}} for x in B.variants])
    if links:
        P.table("links", [{"sku": x["sku"], "supplier": P.supplier, "variant_id": x["id"], "units": 1} for x in B.variants])
    v = {"order_ref": lambda s: s["order"]["id"], "status": lambda s: s["status"], "replaces": lambda s: s["replaces"], "received_at": lambda s: B.iso(s["received"]),
         "updated_at": lambda s: B.iso(s["updated"])}
    P.table("submissions", [{"supplier": P.supplier, "submission_id": s["id"], **{c: v[c](s) for c in subs}} for s in B.subs])
    rows = []
    for s in B.subs:
        for l in s["lines"]:
            v = {"order_ref": l["order"]["id"], "order_line_ref": l["of"]["id"], "variant_id": l["v"]["id"], "sku": l["v"]["sku"],
                 "quantity": l["qty"], "unit_cost": dec(l["v"]["cost"])}
            rows.append({"supplier": P.supplier, "submission_id": s["id"], "line_id": l["id"], **{c: v[c] for c in slines}})
    P.table("submission_lines", rows)
    if parcels:
        pr, pl = [], []
        for s in B.subs:
            for p in s["parcels"]:
                v = {"dispatched_at": when(p["at"]), "carrier": p["carrier"], "tracking_number": p["track"]}
                i = p["track"] if by_track else p["id"]
                pr.append({"supplier": P.supplier, "parcel_id": i, "submission_id": s["id"], **{c: v[c] for c in parcels}})
                pl += [{"supplier": P.supplier, "parcel_id": i, "submission_line_id": a, "quantity": q} for a, q in p["lines"]]
        P.table("parcels", pr)
        if plines: P.table("parcel_lines", pl)


def till():
    """A till's journal in German; a printer's job tickets in JSON with boxes and their contents."""
    P = Pair("01-till", "Europe/Vienna", "lettern-und-lack")
    col = [("Moos", "moss green"), ("Ziegel", "brick"), ("Nacht", "midnight"), ("Natur", "undyed")]
    B = Book(1101, "Europe/Vienna", "2026-01-12", 38, 58, [
        ("Schürze Roggenähre", [("Schürze groß", "bib apron, tall", None, col, 3490, 1120), ("Schürze kurz", "waist apron", None, col[:3], 2690, 880)]),
        ("Pulli Sauerteig", [(None, "crewneck sweater", ["S", "M", "L", "XL", "XXL"], col[:3], 4990, 1890)]),
        ("Brotbeutel Krume", [(None, "drawstring bread bag", ["klein", "mittel", "groß"], col[3:] + col[:1], 1490, 410)]),
        ("Geschirrtuch Backplan", [(None, "tea towel", None, None, 1290, 350)]),
        ("Kinderpulli Semmel", [(None, "kids sweater", ["98", "110", "122", "134"], col[:2], 3290, 1340)]),
        ("Topflappen Kornblume", [(None, "pot holder", None, col, 990, 270)])],
        ("Stück", "Größe", "Farbe"),
        sku=lambda li, g, s, c, k: f"{11 + li}{g}.{s + 1}{c + 1}", vid=lambda k, li, g, s, c, r: f"K{4400 + 7 * k}-{letters(li + 3)}",
        order_id=lambda n: f"{n}", first_no=20770, sub_id=lambda n, t: f"T{30000 + n}", line_id=lambda n, i, r: str(i),
        sub_line_id=lambda s, i, n: str(i), parcel_id=lambda n, s: f"kiste {n + 611}", track=lambda r: f"PW{r.randint(10**9, 10**10 - 1)}",
        carriers=["Postwagen", "Postwagen", "Radbote"], countries=["AT", "AT", "AT", "DE", "IT"], listing_id=lambda i, r: f"S{i + 1:02d}", split=.15)
    text = lambda f: " / ".join(f["options"].values())
    opts = lambda f: drop_empty({"Ausführung": text(f)})
    euro = lambda c: com(c) + " €"
    head = ["Bon-Nr", "Datum", "Uhrzeit", "Kassa", "Bestellung", "Kunde", "E-Mail", "PLZ", "Ort", "Land", "Zahlart", "Bez. am", "Storno am", "Verschickt am",
            "Pos", "Art.-Nr.", "Bezeichnung", "Ausführung", "Widmung", "Menge", "EP", "GP", "Versand", "Bonsumme", "USt 20 %", "Bem."]
    rows = []
    for o in B.orders:
        w = o["who"]
        for i, l in enumerate(o["lines"], 1):
            f = l["offer"]
            x = {"Bestellung": o["id"], "Pos": i, "Art.-Nr.": f["sku"], "Bezeichnung": f["listing"]["title"], "Ausführung": text(f), "Widmung": l["text"],
                 "Menge": l["qty"], "EP": euro(f["price"]), "GP": euro(f["price"] * l["qty"])}
            if i == 1:
                x |= {"Bon-Nr": 880100 + o["n"], "Datum": B.loc(o["placed"], "%d.%m.%Y"), "Uhrzeit": B.loc(o["placed"], "%H:%M"), "Kassa": "Netz", "Kunde": w["name"],
                      "E-Mail": w["mail"], "PLZ": w["zip"][:4], "Ort": w["town"], "Land": o["country"], "Zahlart": ["Karte", "Vorkasse", "Rechnung"][o["n"] % 3],
                      "Bez. am": B.loc(o["paid"], "%d.%m.%Y %H:%M"), "Storno am": B.loc(o["cancelled"], "%d.%m.%Y"), "Verschickt am": B.loc(o["gone"], "%d.%m.%Y"),
                      "Versand": euro(o["post"]), "Bonsumme": euro(o["total"]), "USt 20 %": euro(o["total"] // 6)}
            rows.append(x)
    P.csv("storefront", "Kassajournal.csv", head, rows, ";", "cp1252")
    P.csv("storefront", "Sortiment.csv", ["Seite", "Titel", "Art.-Nr.", "Ausführung", "VK brutto", "Steuersatz", "bestellbar"],
          [[f["listing"]["id"], f["listing"]["title"], f["sku"], text(f), euro(f["price"]), "20", "ja" if f["buyable"] else "nein"] for f in B.offers], ";", "cp1252")
    st = {"received": "in tray", "held": "waiting for client", "making": "on press", "dispatched": "gone out", "cancelled": "torn up", "rejected": "refused"}
    P.json("supplier", "tickets.json", {"printed": B.iso(B.asof), "for_account": "MEHL+MASCHE", "tickets": [
        {"ticket": s["id"], "number": 5500 + i, "client_order": "M+M " + s["order"]["id"], "stage": st[s["status"]], "in": B.iso(s["received"]), "touched": B.iso(s["updated"]),
         "ink": {"plates": 1 + i % 3, "proof": None}, "pieces": [{"pos": l["id"], "blank": l["v"]["id"], "motif": l["v"]["product"], "copies": l["qty"],
          "each": {"eur": dec(l["v"]["cost"])}, "sum": dec(l["v"]["cost"] * l["qty"])} for l in s["lines"]],
         "boxes": [{"box": p["id"], "out": B.iso(p["at"]), "by": p["carrier"], "track": p["track"], "grams": 180 * len(p["lines"]),
                    "holds": [{"pos": a, "copies": q} for a, q in p["lines"]]} for p in s["parcels"]]} for i, s in enumerate(B.subs)]}, 1)
    P.json("supplier", "blanks.json", {"valid": "2026-01", "blanks": [{"blank": v["id"], "your_code": v["sku"], "kind": v["product"],
        "cut": drop_empty({"size": v["size"], "shade": v["colour"]}), "eur": dec(v["cost"]), "to_be_had": v["available"]} for v in B.variants]}, 1)
    a = "Kassajournal.csv"
    P.fields("storefront", a, "orders", order_id="Bestellung", placed_at=("Datum", "Uhrzeit"), paid_at="Bez. am", status=("Bez. am", "Storno am", "Verschickt am"), ship_to_country="Land")
    P.fields("storefront", a, "order_lines", order_id="Bestellung", line_id="Pos", sku="Art.-Nr.", title="Bezeichnung", options="Ausführung", quantity="Menge", unit_price="EP")
    P.fields("storefront", "Sortiment.csv", "offers", listing_id="Seite", title="Titel", sku="Art.-Nr.", options="Ausführung", price="VK brutto", buyable="bestellbar")
    s = P.truth["storefront"]
    s["words"] = {"orders.status@Bez. am": {"*": "open", "": "unpaid"}, "orders.status@Storno am": {"*": "cancelled", "": "open"},
                  "orders.status@Verschickt am": {"*": "dispatched", "": "open"}, "offers.buyable": {"ja": "true", "nein": "false"}}
    s["options"] = {"order_lines": ["Ausführung"], "offers": ["Ausführung"]}
    s["notes"] = "Bon-Nr is the receipt, Bestellung the order; columns of the order stand on its first row only, but for its number. No status word at all: three times say it. The option text has no names."
    t = "tickets.json"; q = "tickets[*]."
    P.fields("supplier", t, "submissions", submission_id=q + "ticket", order_ref=q + "client_order", status=q + "stage", received_at=q + "in", updated_at=q + "touched")
    P.fields("supplier", t, "submission_lines", submission_id=q + "ticket", line_id=q + "pieces[*].pos", variant_id=q + "pieces[*].blank", quantity=q + "pieces[*].copies", unit_cost=q + "pieces[*].each.eur")
    P.fields("supplier", t, "parcels", parcel_id=q + "boxes[*].box", submission_id=q + "ticket", dispatched_at=q + "boxes[*].out", carrier=q + "boxes[*].by", tracking_number=q + "boxes[*].track")
    P.fields("supplier", t, "parcel_lines", parcel_id=q + "boxes[*].box", submission_line_id=q + "boxes[*].holds[*].pos", quantity=q + "boxes[*].holds[*].copies")
    b = "blanks[*]."
    P.fields("supplier", "blanks.json", "variants", variant_id=b + "blank", sku=b + "your_code", product=b + "kind", options=b + "cut", unit_cost=b + "eur", available=b + "to_be_had")
    s = P.truth["supplier_source"]
    s["words"] = {"submissions.status": {v: k for k, v in st.items()}}
    s["options"] = {"variants": ["size", "shade"]}; s["order_ref"]["prefix"] = "M+M "
    s["notes"] = "pos counts within a ticket, in the pieces and again in the boxes; number is a running number of no use; the pieces have no SKU, the catalogue has it."
    exchange(P, B, ["order_id", "placed_at", "paid_at", "status", "ship_to_country"], ["sku", "title", "options", "quantity", "unit_price"], opts,
             ["listing_id", "sku", "title", "options", "price", "buyable"], ["variant_id", "sku", "product", "options", "unit_cost", "available"],
             lambda v: drop_empty({"size": v["size"], "shade": v["colour"]}), ["order_ref", "status", "received_at", "updated_at"],
             ["variant_id", "quantity", "unit_cost"], ["dispatched_at", "carrier", "tracking_number"], True)
    P.done(B)


def first_api():
    """A programmer's first API, keyed by id, in milliseconds and cents; a French workshop's tab-separated list."""
    P = Pair("02-first-api", "Europe/Brussels", "atelier-brume")
    col = [("Fog", "Brouillard"), ("Rust", "Rouille"), ("Pine", "Sapin"), ("Plum", "Prune")]
    B = Book(2202, "Europe/Brussels", "2026-02-02", 30, 52, [
        ("Heron at Dusk", [("Sweatshirt", "Sweat col rond", ["XS", "S", "M", "L", "XL"], col[:3], 4400, 1750), ("Tote", "Sac en toile", None, col[:2], 1900, 560)]),
        ("Lantern Moth", [("Baby suit", "Body bébé", [("0-3 months", "0-3 mois"), ("3-6 months", "3-6 mois"), ("6-12 months", "6-12 mois")], col[1:], 2200, 830), ("Bib", "Bavoir", None, col[1:], 1200, 340)]),
        ("Tide Table Poster", [(None, "Affiche mate", ["A4", "A3", "A2"], None, 1600, 420)]),
        ("Reed Cap", [(None, "Casquette", None, col, 2500, 910)]),
        ("Peat Notebook", [(None, "Carnet", [("lined", "ligné"), ("plain", "uni")], None, 1100, 310)])],
        ("Thing", "Size", "Colour"), sku=lambda li, g, s, c, k: f"{['hd','lm','tt','rc','pn'][li]}{g}{s}{c}x{k * 37 % 97:02d}",
        vid=lambda k, li, g, s, c, r: f"{li + 2}{g}0{s}{c}.{k:03d}", order_id=lambda n: str(n), first_no=611, sub_id=lambda n, t: f"26-{n + 85:04d}",
        line_id=lambda n, i, r: f"row_{letters(n * 7919)}", sub_line_id=lambda s, i, n: str(i), parcel_id=lambda n, s: "", res=1,
        track=lambda r: f"BR{r.randint(10**7, 10**8 - 1)}FR", carriers=["Coursier du Nord", "La Malle-Poste"], countries=["BE", "FR", "NL", "LU", "DE"],
        listing_id=lambda i, r: f"thing_{letters(r.randrange(10**5, 10**6))}", text=.14)
    B.res = 1
    for s in B.subs:
        s["received"] = s["received"].replace(second=0)
    ms = lambda t: int(t.timestamp()) * 1000 if t else None
    st = {"open": "PAYED", "dispatched": "SENT", "unpaid": "WAITING_MONEY", "cancelled": "KILLED"}
    def row(o, l):
        f = l["offer"]
        return {"id": l["id"], "thing": {"id": f["listing"]["id"], "name": f["listing"]["title"]}, "code": f["sku"] or None, "picked": {**f["options"], **({"Words to print": l["text"]} if l["text"] else {})},
                "amount": l["qty"], "cents": f["price"], "centsTotal": f["price"] * l["qty"], "giftWrap": False}
    P.json("storefront", "getOrders.json", {"ok": True, "count": len(B.orders), "time": ms(B.asof), "orders": {
        f"o{71 + 13 * o['n']:05d}": {"id": f"o{71 + 13 * o['n']:05d}", "nr": int(o["id"]), "state": st[o["status"]], "madeAt": ms(o["placed"]), "payedAt": ms(o["paid"]), "changedAt": ms(o["updated"]),
            "user": {"id": 300 + o["n"] * 3, "name": o["who"]["name"], "email": o["who"]["mail"], "since": ms(o["placed"] - timedelta(days=90))},
            "sendTo": {"street": o["who"]["street"], "zip": o["who"]["zip"], "cc": o["country"]}, "money": {"cur": "EUR", "goods": o["goods"], "shipping": o["post"], "all": o["total"]},
            "rows": [row(o, l) for l in o["lines"]], "debug": {"v": 3, "ip": "192.0.2.7"}} for o in B.orders}})
    P.json("storefront", "getThings.json", {"ok": True, "things": {L["id"]: {"id": L["id"], "name": L["title"], "madeAt": 1751328000000, "kinds": [
        {"code": f["sku"] or None, "picked": f["options"], "cents": f["price"], "canBuy": f["buyable"]} for f in L["offers"]]} for L in B.listings}}, 1)
    sw = {"received": "Reçu", "held": "En attente client", "making": "En atelier", "dispatched": "Parti", "cancelled": "Annulé", "rejected": "Refusé"}
    rows = []
    for s in B.subs:
        p = s["parcels"][0] if s["parcels"] else None
        for l in s["lines"]:
            rows.append({"Dossier": s["id"], "V/Réf.": "FL" + s["order"]["id"], "Facture": f"F{s['id'][3:]}" if p else "", "Entré le": B.loc(s["received"], "%d/%m/%Y %H:%M"), "Avancement": sw[s["status"]],
                         "Lig.": l["id"], "Déclinaison": l["v"]["id"], "Libellé": l["v"]["product"], "Taille": l["v"]["size"], "Teinte": l["v"]["colour"], "Nb": l["qty"], "P.U. HT": com(l["v"]["cost"]), "Montant HT": com(l["v"]["cost"] * l["qty"]),
                         "Parti le": B.loc(p["at"], "%d/%m/%Y") if p else "", "Porteur": p["carrier"] if p else "", "Suivi": p["track"] if p else "", "Rem.": "0"})
    P.csv("supplier", "dossiers.tsv", ["Dossier", "V/Réf.", "Facture", "Entré le", "Avancement", "Lig.", "Déclinaison", "Libellé", "Taille", "Teinte", "Nb", "P.U. HT", "Montant HT", "Rem.", "Parti le", "Porteur", "Suivi", "Obs."], rows, "\t", "utf-8-sig", "\n")
    P.csv("supplier", "tarif.tsv", ["Déclinaison", "Code client", "Modèle", "Taille", "Teinte", "Tarif HT", "Dispo", "Grammage"],
          [[v["id"], v["sku"], v["product"], v["size"], v["colour"], com(v["cost"]), "oui" if v["available"] else "non", "180"] for v in B.variants], "\t", "utf-8-sig", "\n")
    f, q = "getOrders.json", "orders[*]."
    P.fields("storefront", f, "orders", order_id=q + "nr", placed_at=q + "madeAt", paid_at=q + "payedAt", status=q + "state", currency=q + "money.cur", ship_to_country=q + "sendTo.cc", updated_at=q + "changedAt")
    P.fields("storefront", f, "order_lines", order_id=q + "nr", line_id=q + "rows[*].id", listing_id=q + "rows[*].thing.id", sku=q + "rows[*].code", title=q + "rows[*].thing.name", options=q + "rows[*].picked",
             quantity=q + "rows[*].amount", unit_price=q + "rows[*].cents")
    k = "things[*].kinds[*]."
    P.fields("storefront", "getThings.json", "offers", listing_id="things[*].id", title="things[*].name", sku=k + "code", options=k + "picked", price=k + "cents", buyable=k + "canBuy")
    s = P.truth["storefront"]; names = ["Thing", "Size", "Colour"]
    s["words"] = {"orders.status": {v: k for k, v in st.items()}}; s["options"] = {"order_lines": names, "offers": names}
    s["notes"] = "Orders are members of an object, by an id that the supplier never sees: it writes nr. amount is the quantity; id stands at four levels; Words to print is typed by customers."
    t = "dossiers.tsv"
    P.fields("supplier", t, "submissions", submission_id="Dossier", order_ref="V/Réf.", status="Avancement", received_at="Entré le")
    P.fields("supplier", t, "submission_lines", submission_id="Dossier", line_id="Lig.", variant_id="Déclinaison", quantity="Nb", unit_cost="P.U. HT")
    P.fields("supplier", t, "parcels", parcel_id="Suivi", submission_id="Dossier", dispatched_at="Parti le", carrier="Porteur", tracking_number="Suivi")
    P.fields("supplier", "tarif.tsv", "variants", variant_id="Déclinaison", sku="Code client", product="Modèle", options=["Taille", "Teinte"], unit_cost="Tarif HT", available="Dispo")
    s = P.truth["supplier_source"]; s["order_ref"]["prefix"] = "FL"; s["options"] = {"variants": ["Taille", "Teinte"]}
    s["words"] = {"submissions.status": {v: k for k, v in sw.items()}, "variants.available": {"oui": "true", "non": "false"}}
    s["notes"] = "Facture looks like a reference; a parcel is a day, a carrier and a tracking number on each row of its dossier; the SKU stands in the price list alone."
    exchange(P, B, ["order_id", "placed_at", "paid_at", "status", "currency", "ship_to_country", "updated_at"], ["listing_id", "sku", "title", "options", "quantity", "unit_price"], lambda f: f["options"],
             ["listing_id", "sku", "title", "options", "price", "buyable"], ["variant_id", "sku", "product", "options", "unit_cost", "available"],
             lambda v: drop_empty({"Taille": v["size"], "Teinte": v["colour"]}), ["order_ref", "status", "received_at"], ["variant_id", "quantity", "unit_cost"],
             ["dispatched_at", "carrier", "tracking_number"], day_dispatch=True, currency="EUR", line_no=False, by_track=True)
    P.done(B)


def ledger():
    """An accountant's sheet, month first; a supplier's daily runs, whose plates name the orders, and cartons."""
    P = Pair("03-ledger", "America/Halifax", "spindrift-press")
    col = [("Kelp", "KELP"), ("Sand", "SAND"), ("Ink", "INK"), ("Coral", "CORAL")]
    B = Book(3303, "America/Halifax", "2026-03-02", 26, 60, [
        ("Lighthouse Hoodie", [(None, "Hoodie", ["S", "M", "L", "XL", "2XL"], col, 5800, 2300)]),
        ("Gull Enamel Cup", [(None, "Enamel cup", ["8 oz", "12 oz"], col[:2], 1850, 640)]),
        ("Harbour Map Cushion", [(None, "Cushion cover", ["16 in", "20 in"], col[1:], 2900, 1090)]),
        ("Knot Chart Tea Towel", [(None, "Tea towel", None, None, 1500, 420)]),
        ("Fog Horn Beanie", [(None, "Beanie", None, col, 2400, 870)]),
        ("Youth Lobster Tee", [(None, "Youth tee", ["6", "8", "10", "12"], col[:3], 2600, 940)])],
        ("Item", "Size", "Colour"), sku=lambda li, g, s, c, k: f"{['HOOD','CUP','CUSH','TOWEL','BEAN','YTEE'][li]}-{['A','B','C','D','E'][s]}{c + 1}",
        vid=lambda k, li, g, s, c, r: str(9120000 + k * 31), order_id=lambda n: str(n), first_no=44018, sub_id=lambda n, t: f"run-{t:%m%d}",
        line_id=lambda n, i, r: str(i * 10), sub_line_id=lambda s, i, n: f"{s['id'][4:]}/{i:02d}", parcel_id=lambda n, s: f"CTN{70000 + n * 3}",
        track=lambda r: f"{r.randint(10**11, 10**12 - 1)}", carriers=["Blue Heron Freight", "Parcel Dory"], countries=["CA", "CA", "US", "GB"], listing_id=lambda i, r: "", batch=True, partial=False)
    L = []
    pay = {"open": "Settled", "dispatched": "Settled", "unpaid": "Outstanding"}
    go = {"open": "To Fulfil", "unpaid": "To Fulfil", "dispatched": "Fulfilled", "cancelled": "Voided"}
    for o in B.orders:
        w = o["who"]
        for l in o["lines"]:
            f = l["offer"]
            L.append({"Document No": f"INV{2600 + o['n']}", "Document Date": o["placed"].astimezone(B.zone).replace(tzinfo=None, hour=0, minute=0), "Sales Order": int(o["id"]), "Entered": B.loc(o["placed"], "%m/%d/%Y %I:%M %p"),
                      "Customer": w["name"], "Customer Ref": f"PO {w['zip'][:3]}" if o["n"] % 4 == 0 else "", "Dest": o["country"], "Ccy": "CAD", "Status": "Settled" if o["paid"] else "Outstanding", "Receipt Posted": B.loc(o["paid"], "%m/%d/%Y %I:%M %p"),
                      "Fulfilment": go[o["status"]], "Line": int(l["id"]), "Stock Code": f["sku"], "Description": f["listing"]["title"], "Size": f["options"].get("Size", ""), "Colour": f["options"].get("Colour", ""), "Imprint": l["text"],
                      "Qty": l["qty"], "Rate": f["price"] / 100, "Net": f["price"] * l["qty"] / 100, "Freight": o["post"] / 100, "Tax 15%": round(o["total"] * .15) / 100, "Order Total": o["total"] / 100, "GL Account": 4010, "Cost Centre": ""})
    head = list(L[0])
    P.xlsx("storefront", "sales register.xlsx", head, L, [["Quillharbour Goods - Sales register"], ["Period", "2026-03", None, "prepared by T. Umberfeld"], []], "Register")
    st = {"received": "counted in", "making": "curing", "held": "stopped", "dispatched": "all gone"}
    P.jsonl("supplier", "runs.jsonl", [{"run": s["id"], "kind": "daily", "opened": B.iso(s["received"]), "progress": st[s["status"]], "plates": [
        {"plate": l["id"], "for": "QHG#" + l["order"]["id"], "vid": int(l["v"]["id"]), "code": l["v"]["sku"], "n": l["qty"], "cost": {"minor": l["v"]["cost"], "in": "CAD"}, "cost_all": l["v"]["cost"] * l["qty"]} for l in s["lines"]]} for s in B.subs])
    P.jsonl("supplier", "cartons.jsonl", [{"carton": p["id"], "run": s["id"], "closed": B.iso(p["at"]), "with": p["carrier"], "waybill": p["track"], "kg": round(.3 * len(p["lines"]), 1),
        "inside": [{"plate": a, "n": n} for a, n in p["lines"]]} for s in B.subs for p in s["parcels"]])
    P.json("supplier", "pairings.json", {"account": "QHG", "pairings": [{"your_code": v["sku"], "our_vid": int(v["id"]), "times": 1} for v in B.variants]}, 1)
    f = "sales register.xlsx"
    P.fields("storefront", f, "orders", order_id="Sales Order", placed_at="Entered", paid_at="Receipt Posted", status=("Status", "Fulfilment"), currency="Ccy", ship_to_country="Dest")
    P.fields("storefront", f, "order_lines", order_id="Sales Order", line_id="Line", sku="Stock Code", title="Description", options=["Size", "Colour"], quantity="Qty", unit_price="Rate")
    s = P.truth["storefront"]; s["options"] = {"order_lines": ["Size", "Colour"]}
    s["words"] = {"orders.status@Status": {"Settled": "open", "Outstanding": "unpaid"}, "orders.status@Fulfilment": {"To Fulfil": "open", "Fulfilled": "dispatched", "Voided": "cancelled"}}
    s["notes"] = "Status is the payment's; Document No and Document Date are the invoice's; titles and an empty row stand above the headers. A file with no listing: offers are not known."
    q = "plates[*]."
    P.fields("supplier", "runs.jsonl", "submissions", submission_id="run", status="progress", received_at="opened")
    P.fields("supplier", "runs.jsonl", "submission_lines", submission_id="run", line_id=q + "plate", order_ref=q + "for", variant_id=q + "vid", sku=q + "code", quantity=q + "n", unit_cost=q + "cost.minor")
    P.fields("supplier", "cartons.jsonl", "parcels", parcel_id="carton", submission_id="run", dispatched_at="closed", carrier="with", tracking_number="waybill")
    P.fields("supplier", "cartons.jsonl", "parcel_lines", parcel_id="carton", submission_line_id="inside[*].plate", quantity="inside[*].n")
    P.fields("supplier", "pairings.json", "links", sku="pairings[*].your_code", variant_id="pairings[*].our_vid", units="pairings[*].times")
    s = P.truth["supplier_source"]; s["order_ref"]["prefix"] = "QHG#"
    used = {x["status"] for x in B.subs}; s["words"] = {"submissions.status": {v: k for k, v in st.items() if k in used}}
    s["notes"] = "A run is a day's batch for many orders; only its plates name them. n is a quantity, vid the supplier's variant. cost is in minor units, which no key says but minor."
    exchange(P, B, ["order_id", "placed_at", "paid_at", "status", "currency", "ship_to_country"], ["sku", "title", "options", "quantity", "unit_price"], lambda f: {k: v for k, v in f["options"].items()},
             subs=["status", "received_at"], slines=["order_ref", "variant_id", "sku", "quantity", "unit_cost"], parcels=["dispatched_at", "carrier", "tracking_number"], plines=True, currency="CAD", line_no=False, links=True)
    P.done(B)


PAIRS = [till, first_api, ledger]
if __name__ == "__main__":
    import pairs2
    for f in PAIRS + pairs2.PAIRS: f(); print(f.__name__)
