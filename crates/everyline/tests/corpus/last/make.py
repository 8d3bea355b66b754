"""Makes twelve pairs of invented exports, each with the same book in exchange tables and the truth beside it.

Run `python3 make.py`, then `python3 check.py`. It knows nothing of what reads the exports. Pairs seven to twelve are in pairs2.py.
"""
from book import Book, Pair, com, dec, flip, full, mils, secs, zulu


def lampwick():
    """A nested answer with two statuses and times in UTC; a printer's row per line, and a row per line sent."""
    P = Pair("01-lampwick-lane", "Europe/London", "hollowbrook-print-shed")
    col = [("Juniper", "JUNIPER"), ("Oat", "OAT"), ("Brick", "BRICK")]
    B = Book(4101, "Europe/London", "2026-02-09", 27, 44, [
        ("Foxglove Walk", [("T-shirt", "Organic tee", ["S", "M", "L", "XL"], col, 2400, 910), ("Jute bag", "Jute shopper", None, col[:2], 1400, 420)]),
        ("Night Train Socks", [(None, "Crew sock", [("UK 3-6", "3-6"), ("UK 7-11", "7-11")], col, 1150, 380)]),
        ("Allotment Year", [(None, "Wall calendar", ["A4", "A3"], None, 1600, 530)])],
        ("Product", "Size", "Colour"), ("Size", "Colour"),
        {"listing": lambda i, r: str(310 + 17 * i), "sku": lambda li, g, s, c, k: f"LL-{['FOX','SOK','CAL'][li]}{g or ''}-{s}{c}", "vid": lambda k, li, g, s, c, r: f"HB{20400 + 3 * k}", "order": lambda n, r: f"LL{1040 + n}", "uid": lambda n, r: 88200 + n * 7,
         "line": lambda n, i, r: str(551000 + n * 3), "sub": lambda n, t: str(70310 + n), "subline": lambda s, i, n: str(i), "parcel": lambda n, s: f"DN{9000 + n}", "track": lambda r: f"HQ{r.randint(10**8, 10**9 - 1)}GB"},
        ["GB", "GB", "GB", "IE", "FR"], ["Quickthistle Post", "Bramble Post"], "GBP", res=1, split=.35)
    pay = lambda o: "awaiting" if not o["paid"] else "refunded" if o["cancelled"] else "paid"
    dlv = {"open": "to_pack", "unpaid": "to_pack", "dispatched": "sent", "cancelled": "stopped"}
    P.json("storefront", "orders-export.json", {"exported_at": zulu(B.asof), "shop": {"id": 44, "currency": "GBP", "plan": "small"}, "order_count": len(B.orders), "orders": [
        {"id": o["uid"], "public_no": o["id"], "channel": "web", "customer_id": o["customer"], "state": {"payment": pay(o), "delivery": dlv[o["status"]]},
         "times": {"created": zulu(o["placed"]), "paid": zulu(o["paid"]), "send_by": str(o["due"]), "updated": zulu(o["updated"])},
         "totals": {"goods": dec(o["goods"]), "postage": dec(o["post"]), "vat": dec(o["tax"]), "grand": dec(o["total"])}, "destination": {"country": o["country"], "postage_zone": 1 + (o["country"] != "GB")},
         "note": "please no plastic" if o["n"] % 9 == 4 else "", "marketing_ok": o["n"] % 3 == 0,
         "basket": [{"id": int(l["id"]), "listing": {"id": int(l["offer"]["listing"]["id"]), "title": l["offer"]["listing"]["title"], "thumb": f"https://img.example.com/{l['offer']['listing']['slug']}-s.jpg"}, "sku": l["offer"]["sku"],
                     "choices": [{"name": k, "value": v} for k, v in l["offer"]["options"].items()] + ([{"name": "Words on the label", "value": l["text"]}] if l["text"] else []),
                     "count": l["qty"], "count_cancelled": l["gone"], "each": dec(l["offer"]["price"]), "line_total": dec(l["offer"]["price"] * l["qty"]), "vat_rate": "20.0", "weight_g": 180} for l in o["lines"]]} for o in B.orders]})
    P.json("storefront", "listings.json", {"listings": [{"id": int(L["id"]), "title": L["title"], "slug": L["slug"], "created": "2025-08-14T09:12:44Z", "photos": 4, "versions": [
        {"sku": f["sku"], "choices": [{"name": k, "value": v} for k, v in f["options"].items()], "price": dec(f["price"]), "on_sale": f["buyable"], "position": i} for i, f in enumerate(L["offers"])]} for L in B.listings]}, 1)
    st = {"received": "Received", "held": "On hold", "making": "In production", "dispatched": "Despatched", "cancelled": "Cancelled", "rejected": "Rejected"}
    t = lambda x: B.loc(x, "%Y-%m-%d %H:%M")
    P.csv("supplier", "jobs.csv", [{"Job": s["id"], "Job line": l["id"], "Account": "LAMPW", "Client order": s["order"]["id"], "Received": t(s["received"]), "Due out": str(s["due"]), "Status": st[s["status"]], "Item": l["v"]["id"], "Style": l["v"]["product"], "Size": l["v"]["parts"][0], "Colour": l["v"]["parts"][1],
        "Qty": l["qty"], "Spoiled": 1 if l["n"] % 17 == 5 else 0, "Unit GBP": dec(l["v"]["cost"]), "Line GBP": dec(l["v"]["cost"] * l["qty"]), "Last change": t(s["updated"]), "Priority": "normal"} for s in B.subs for l in s["lines"]])
    P.csv("supplier", "despatches.csv", [{"Despatch note": p["id"], "Job": s["id"], "Job line": l["id"], "Qty": q, "Despatched": t(p["at"]), "Carrier": p["carrier"], "Consignment": p["track"], "Boxes": 1, "Weight kg": "0.4"} for s in B.subs for p in s["parcels"] for l, q in p["lines"]])
    P.csv("supplier", "items.csv", [{"Item": v["id"], "Style": v["product"], "Size": v["parts"][0], "Colour": v["parts"][1], "Client SKU": v["sku"], "Unit GBP": dec(v["cost"]), "Live": "Y" if v["available"] else "N", "Lead days": 3} for v in B.variants])
    q = "orders[*]."; k = q + "basket[*]."
    P.fields("storefront", "orders-export.json", "orders", order_id=q + "public_no", placed_at=q + "times.created", paid_at=q + "times.paid", status=(q + "state.payment", q + "state.delivery"), promised_by=q + "times.send_by", ship_to_country=q + "destination.country", updated_at=q + "times.updated")
    P.fields("storefront", "orders-export.json", "order_lines", order_id=q + "public_no", line_id=k + "id", listing_id=k + "listing.id", sku=k + "sku", title=k + "listing.title", options=k + "choices", quantity=k + "count", cancelled_quantity=k + "count_cancelled", unit_price=k + "each")
    v = "listings[*].versions[*]."
    P.fields("storefront", "listings.json", "offers", listing_id="listings[*].id", title="listings[*].title", sku=v + "sku", options=v + "choices", price=v + "price", buyable=v + "on_sale")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {f"orders.status@{q}state.payment": {"paid": "open", "awaiting": "unpaid", "refunded": "cancelled"}, f"orders.status@{q}state.delivery": {"to_pack": "open", "sent": "dispatched", "stopped": "cancelled"}}
    P.shop["notes"] = "id is the shop's own number, public_no is what the supplier quotes; payment and delivery each have a status; Words on the label is typed by customers; count is of the line, order_count and photos are not."
    P.fields("supplier", "jobs.csv", "submissions", submission_id="Job", order_ref="Client order", status="Status", received_at="Received", updated_at="Last change")
    P.fields("supplier", "jobs.csv", "submission_lines", submission_id="Job", line_id="Job line", variant_id="Item", quantity="Qty", unit_cost="Unit GBP")
    P.fields("supplier", "despatches.csv", "parcels", parcel_id="Despatch note", submission_id="Job", dispatched_at="Despatched", carrier="Carrier", tracking_number="Consignment")
    P.fields("supplier", "despatches.csv", "parcel_lines", parcel_id="Despatch note", submission_line_id="Job line", quantity="Qty")
    P.fields("supplier", "items.csv", "variants", variant_id="Item", sku="Client SKU", product="Style", options=["Size", "Colour"], unit_cost="Unit GBP", available="Live")
    P.made["options"] = {"variants": ["Size", "Colour"]}
    P.made["words"] = {"submissions.status": flip(st), "variants.available": {"Y": "true", "N": "false"}}
    P.made["notes"] = "The job's columns are repeated on each of its lines; Job line counts within the job; Qty stands in both files; Spoiled is no quantity sent; Account is constant."
    P.done(B)


def steinkauz():
    """German heads and lines with decimal commas; kebab-case jobs whose times have no offset."""
    P = Pair("02-steinkauzerei", "Europe/Berlin", "rotkamm-werkstatt")
    col = [("Moosgrün", "moss"), ("Sand", "sand"), ("Nachtblau", "navy"), ("Rost", "rust")]
    B = Book(4202, "Europe/Berlin", "2026-03-02", 25, 47, [
        ("Kauz im Nebel", [(None, "hoodie-heavy", ["S", "M", "L", "XL", "XXL"], col[:3], 4900, 2050)]),
        ("Waldbeeren", [(None, "enamel-mug", [("300 ml", "300ml"), ("500 ml", "500ml")], col[1:3], 1690, 580)]),
        ("Pilzkunde", [(None, "cotton-pouch", [("klein", "small"), ("groß", "large")], col, 1290, 390)])],
        ("Art", "Größe", "Farbe"), ("size", "colour"),
        {"listing": lambda i, r: f"A{i * 3 + 11}", "sku": lambda li, g, s, c, k: f"{['KAU','BEE','PIL'][li]}.{s + 1}.{c + 1}", "old": lambda k: f"ALT.{k}", "vid": lambda k, li, g, s, c, r: f"rk-{r.randrange(16**5):05x}", "order": lambda n, r: str(20430 + n), "uid": lambda n, r: 6100 + 3 * n,
         "line": lambda n, i, r: str(93000 + n), "sub": lambda n, t: f"J{t:%y%m}-{n:03d}", "subline": lambda s, i, n: f"{s['id']}-{i}", "parcel": lambda n, s: f"P{40100 + 2 * n}", "track": lambda r: str(r.randint(10**11, 10**12 - 1))},
        ["DE", "DE", "DE", "AT", "CH"], ["Eilbote Krickente", "Finkenfuhre"], "EUR", text=.14, extra=3)
    pay = lambda o: "Zahlung offen" if not o["paid"] else "erstattet" if o["cancelled"] else "bezahlt"
    dlv = {"open": "in Bearbeitung", "unpaid": "in Bearbeitung", "dispatched": "versandt", "cancelled": "storniert"}
    t = lambda x: B.loc(x, "%d.%m.%Y %H:%M")
    P.csv("storefront", "Bestellungen.csv", [{"Interne ID": o["uid"], "Bestellnummer": o["id"], "Kundennummer": o["customer"], "Angelegt am": t(o["placed"]), "Zahlstatus": pay(o), "Bezahlt am": t(o["paid"]), "Lieferstatus": dlv[o["status"]], "Versand bis": o["due"].strftime("%d.%m.%Y"), "Lieferland": o["country"],
        "Warenwert": com(o["goods"]), "Versandkosten": com(o["post"]), "Gesamtbetrag": com(o["total"]), "Währung": "EUR", "MwSt. %": "19", "Geändert am": t(o["updated"]), "Newsletter": "ja" if o["n"] % 4 == 0 else "nein", "Rechnungsnr.": f"RE-{7000 + o['n']}" if o["paid"] else "", "Kundennotiz": "bitte ohne Rechnung im Paket" if o["n"] % 11 == 3 else ""} for o in B.orders], delim=";", enc="utf-8-sig")
    feat = lambda f: " | ".join(f"{k}: {v}" for k, v in f["options"].items())
    P.csv("storefront", "Positionen.csv", [{"Positions-ID": l["id"], "Bestellnummer": o["id"], "Artikelseite": l["offer"]["listing"]["id"], "Artikelnummer": l["offer"]["sku"], "Bezeichnung": l["offer"]["listing"]["title"], "Merkmale": feat(l["offer"]) + (f" | Wunschtext: {l['text']}" if l["text"] else ""), "Anzahl": l["qty"], "Einzelpreis": com(l["offer"]["price"]),
        "Gesamtpreis": com(l["offer"]["price"] * l["qty"]), "Gewicht (g)": 210, "Bild": f"https://bilder.example.com/{l['offer']['listing']['slug']}.jpg"} for o in B.orders for l in o["lines"]], delim=";", enc="utf-8-sig")
    P.csv("storefront", "Artikel.csv", [{"Artikelseite": f["listing"]["id"], "Bezeichnung": f["listing"]["title"], "Artikelnummer": f["sku"], "Merkmale": feat(f), "Preis brutto": com(f["price"]), "MwSt. %": "19", "Lieferbar": "ja" if f["buyable"] else "nein", "Aufrufe": 40 + f["n"] * 13 % 71} for f in B.offers], delim=";", enc="utf-8-sig")
    st = {"received": "booked-in", "held": "waiting-for-approval", "making": "printing", "dispatched": "shipped", "cancelled": "cancelled", "rejected": "refused"}
    n = lambda x: B.loc(x, "%Y-%m-%dT%H:%M:%S")
    P.json("supplier", "job-list.json", {"account-no": "K-0419", "generated-at": n(B.asof), "job-list": [{"job-no": s["id"], "your-reference": "Steinkauzerei " + s["order"]["id"], "job-state": st[s["status"]], "booked-at": n(s["received"]), "printed-at": n(s["printed"]) or None, "due-date": str(s["due"]), "last-changed-at": n(s["updated"]), "express": False,
        "positions": [{"position-id": l["id"], "item-code": l["v"]["id"], "your-sku": "SK/" + l["v"]["sku"], "style": l["v"]["product"], "pieces": l["qty"], "net-price": {"amount": l["v"]["cost"] / 100, "currency": "EUR"}, "net-total": l["v"]["cost"] * l["qty"] / 100} for l in s["lines"]]} for s in B.subs]}, 1)
    P.json("supplier", "parcel-list.json", {"account-no": "K-0419", "parcel-list": [{"parcel-no": p["id"], "job-no": s["id"], "handed-over-at": n(p["at"]), "carrier": {"name": p["carrier"], "service": "standard"}, "tracking-code": p["track"], "weight-kg": .35, "contents": [{"position-id": l["id"], "pieces": q} for l, q in p["lines"]]} for s in B.subs for p in s["parcels"]]}, 1)
    P.json("supplier", "item-list.json", {"item-list": [{"item-code": v["id"], "your-sku": "SK/" + v["sku"] if v["sku"] else None, "style": v["product"], "features": v["options"], "net-price": {"amount": v["cost"] / 100, "currency": "EUR"}, "in-stock": v["available"], "grammage": 280} for v in B.variants]}, 1)
    P.fields("storefront", "Bestellungen.csv", "orders", order_id="Bestellnummer", placed_at="Angelegt am", paid_at="Bezahlt am", status=("Zahlstatus", "Lieferstatus"), currency="Währung", promised_by="Versand bis", ship_to_country="Lieferland", updated_at="Geändert am")
    P.fields("storefront", "Positionen.csv", "order_lines", order_id="Bestellnummer", line_id="Positions-ID", listing_id="Artikelseite", sku="Artikelnummer", title="Bezeichnung", options="Merkmale", quantity="Anzahl", unit_price="Einzelpreis")
    P.fields("storefront", "Artikel.csv", "offers", listing_id="Artikelseite", title="Bezeichnung", sku="Artikelnummer", options="Merkmale", price="Preis brutto", buyable="Lieferbar")
    P.shop["options"] = {"order_lines": ["Größe", "Farbe"], "offers": ["Größe", "Farbe"]}
    P.shop["words"] = {"orders.status@Zahlstatus": {"bezahlt": "open", "Zahlung offen": "unpaid", "erstattet": "cancelled"}, "orders.status@Lieferstatus": {"in Bearbeitung": "open", "versandt": "dispatched", "storniert": "cancelled"}, "offers.buyable": {"ja": "true", "nein": "false"}}
    P.shop["forms"] = {"dates": "%d.%m.%Y"}
    P.shop["notes"] = "Interne ID and Rechnungsnr. rise too; the supplier quotes Bestellnummer, which also joins the files; Merkmale lists names and values, Wunschtext among them is typed; Newsletter says ja and nein as Lieferbar does."
    q = "job-list[*]."; k = q + "positions[*]."; g = "parcel-list[*]."
    P.fields("supplier", "job-list.json", "submissions", submission_id=q + "job-no", order_ref=q + "your-reference", status=q + "job-state", received_at=q + "booked-at", updated_at=q + "last-changed-at")
    P.fields("supplier", "job-list.json", "submission_lines", submission_id=q + "job-no", line_id=k + "position-id", variant_id=k + "item-code", sku=k + "your-sku", quantity=k + "pieces", unit_cost=k + "net-price.amount")
    P.fields("supplier", "parcel-list.json", "parcels", parcel_id=g + "parcel-no", submission_id=g + "job-no", dispatched_at=g + "handed-over-at", carrier=g + "carrier.name", tracking_number=g + "tracking-code")
    P.fields("supplier", "parcel-list.json", "parcel_lines", parcel_id=g + "parcel-no", submission_line_id=g + "contents[*].position-id", quantity=g + "contents[*].pieces")
    v = "item-list[*]."
    P.fields("supplier", "item-list.json", "variants", variant_id=v + "item-code", sku=v + "your-sku", product=v + "style", options=v + "features", unit_cost=v + "net-price.amount", currency=v + "net-price.currency", available=v + "in-stock")
    P.made["order_ref"]["prefix"] = "Steinkauzerei "; P.made["sku"]["prefix"] = "SK/"; P.made["options"] = {"variants": ["size", "colour"]}; P.made["words"] = {"submissions.status": flip(st)}
    P.made["notes"] = "Times without an offset are local; printed-at and due-date stand beside booked-at; some items are made for nobody yet and have no SKU of the shop."
    P.done(B)


def pluvier():
    """A French tab-separated row per line; jobs whose parcels hang on the items, lists within lists."""
    P = Pair("03-pluvier-a-pois", "Europe/Paris", "tandem-loom-house")
    col = [("Écru", "ecru"), ("Vert sauge", "sage"), ("Terracotta", "clay")]
    B = Book(4303, "Europe/Paris", "2026-02-16", 30, 41, [
        ("Marée basse", [(None, "Sweat hood", ["XS", "S", "M", "L"], col, 5200, 2210)]),
        ("Petit phoque", [(None, "Baby romper", [("3 mois", "3M"), ("6 mois", "6M"), ("12 mois", "12M")], col[:2], 2600, 980)]),
        ("Bottes jaunes", [(None, "Shopper", None, col, 1800, 510)]),
        ("Carte des vents", [(None, "Giclee print", [("21x30", "A4"), ("30x40", "30x40"), ("50x70", "50x70")], None, 2400, 760)])],
        ("Produit", "Taille", "Coloris"), ("size", "color"),
        {"listing": lambda i, r: f"fi{i + 5:03d}", "sku": lambda li, g, s, c, k: f"{['MAR','PHO','BOT','VEN'][li]}{k:02d}{'EST'[c]}", "vid": lambda k, li, g, s, c, r: f"{['HD','RO','SH','GP'][li] if li < 4 else 'XX'}{11 + s}{c}", "order": lambda n, r: f"C-{2200 + n}", "uid": lambda n, r: 15000 + n * 11,
         "line": lambda n, i, r: str(i), "sub": lambda n, t: str(500120 + 3 * n), "subline": lambda s, i, n: str(i), "parcel": lambda n, s: f"{s['id']}/{len(s['parcels']) + 1}", "track": lambda r: f"TT{r.randint(10**9, 10**10 - 1)}"},
        ["FR", "FR", "FR", "BE", "LU"], ["Colis Bergeronnette", "Besace et Grelot"], "EUR", qty_split=True, split=.4)
    st = {"open": "Payée, à préparer", "dispatched": "Expédiée", "unpaid": "En attente de paiement", "cancelled": "Annulée"}
    t = lambda x: B.loc(x, "%d/%m/%Y %H:%M")
    P.csv("storefront", "ventes.tsv", [{"Réf. interne": o["uid"], "N° commande": o["id"], "Date commande": t(o["placed"]), "Date paiement": t(o["paid"]), "Moyen de paiement": ["CB", "virement"][o["n"] % 2], "État": st[o["status"]], "Pays": o["country"], "Ligne": l["id"], "Fiche": l["offer"]["listing"]["id"], "Réf. article": l["offer"]["sku"], "Désignation": l["offer"]["listing"]["title"],
        "Taille": l["offer"]["options"].get("Taille", ""), "Coloris": l["offer"]["options"].get("Coloris", ""), "Texte à broder": l["text"], "Qté": l["qty"], "Qté annulée": l["gone"], "PU TTC": com(l["offer"]["price"]), "Total ligne": com(l["offer"]["price"] * l["qty"]), "TVA %": "20,0", "Port": com(o["post"]), "Total commande": com(o["total"]),
        "Poids (g)": 150, "Remarque": "emballage cadeau" if o["n"] % 8 == 5 else ""} for o in B.orders for l in o["lines"]], delim="\t", eol="\n")
    P.csv("storefront", "fiches.tsv", [{"Fiche": f["listing"]["id"], "Désignation": f["listing"]["title"], "Réf. article": f["sku"], "Taille": f["options"].get("Taille", ""), "Coloris": f["options"].get("Coloris", ""), "PU TTC": com(f["price"]), "En vente": "oui" if f["buyable"] else "non", "Stock": "", "Créée le": "03/11/2025"} for f in B.offers], delim="\t", eol="\n")
    w = {"received": "NEW", "held": "ON_HOLD", "making": "PRINTING", "dispatched": "SENT", "cancelled": "CANCELLED", "rejected": "REFUSED"}
    P.jsonl("supplier", "jobs.jsonl", [{"jobNumber": int(s["id"]), "clientId": 318, "clientRef": s["order"]["id"] + "/PLV", "status": w[s["status"]], "priority": 3, "createdOn": B.iso(s["received"]), "printedOn": B.iso(s["printed"]) or None, "changedOn": B.iso(s["updated"]), "totalCost": dec(sum(l["v"]["cost"] * l["qty"] for l in s["lines"])),
        "items": [{"itemNo": int(l["id"]), "styleCode": l["v"]["id"], "styleName": l["v"]["product"], "clientSku": l["v"]["sku"], "quantity": l["qty"], "costEach": dec(l["v"]["cost"]), "artworkUrl": f"https://art.example.com/{l['v']['id']}.png",
                   "sent": [{"parcel": p["id"], "quantity": q, "sentOn": B.iso(p["at"]), "carrier": p["carrier"], "trackingNumber": p["track"]} for p, q in l["sent"]]} for l in s["lines"]]} for s in B.subs])
    P.jsonl("supplier", "styles.jsonl", [{"styleCode": v["id"], "styleName": v["product"], "size": v["parts"][0] or None, "color": v["parts"][1] or None, "clientSku": v["sku"], "cost": dec(v["cost"]), "costCurrency": "EUR", "available": v["available"], "minQuantity": 1} for v in B.variants])
    P.fields("storefront", "ventes.tsv", "orders", order_id="N° commande", placed_at="Date commande", paid_at="Date paiement", status="État", ship_to_country="Pays")
    P.fields("storefront", "ventes.tsv", "order_lines", order_id="N° commande", line_id="Ligne", listing_id="Fiche", sku="Réf. article", title="Désignation", options=["Taille", "Coloris"], quantity="Qté", cancelled_quantity="Qté annulée", unit_price="PU TTC")
    P.fields("storefront", "fiches.tsv", "offers", listing_id="Fiche", title="Désignation", sku="Réf. article", options=["Taille", "Coloris"], price="PU TTC", buyable="En vente")
    P.shop["options"] = {"order_lines": ["Taille", "Coloris"], "offers": ["Taille", "Coloris"]}
    P.shop["words"] = {"orders.status": flip(st), "offers.buyable": {"oui": "true", "non": "false"}}
    P.shop["forms"] = {"dates": "%d/%m/%Y"}
    P.shop["notes"] = "The order's columns are repeated on each line; Réf. interne is not quoted by anybody; Texte à broder is typed, no option; Stock is empty."
    k = "items[*]."; g = k + "sent[*]."
    P.fields("supplier", "jobs.jsonl", "submissions", submission_id="jobNumber", order_ref="clientRef", status="status", received_at="createdOn", updated_at="changedOn")
    P.fields("supplier", "jobs.jsonl", "submission_lines", submission_id="jobNumber", line_id=k + "itemNo", variant_id=k + "styleCode", sku=k + "clientSku", quantity=k + "quantity", unit_cost=k + "costEach")
    P.fields("supplier", "jobs.jsonl", "parcels", parcel_id=g + "parcel", submission_id="jobNumber", dispatched_at=g + "sentOn", carrier=g + "carrier", tracking_number=g + "trackingNumber")
    P.fields("supplier", "jobs.jsonl", "parcel_lines", parcel_id=g + "parcel", submission_line_id=k + "itemNo", quantity=g + "quantity")
    P.fields("supplier", "styles.jsonl", "variants", variant_id="styleCode", sku="clientSku", product="styleName", options=["size", "color"], unit_cost="cost", currency="costCurrency", available="available")
    P.made["order_ref"]["suffix"] = "/PLV"; P.made["options"] = {"variants": ["size", "color"]}; P.made["words"] = {"submissions.status": flip(w)}
    P.made["notes"] = "A parcel stands under each item that is in it, with how many of them; quantity stands at two levels; one item may go in two parcels."
    P.done(B)


def agua_mansa():
    """Camel-case JSON Lines in milliseconds and minor units; three Spanish tables, dispatch by day."""
    P = Pair("04-orilla-mansa", "America/Lima", "taller-tinta-brisca")
    col = [("Charcoal", "carbón"), ("Cream", "crema"), ("Wine", "vino"), ("Sky", "cielo")]
    B = Book(4404, "America/Lima", "2026-04-06", 26, 52, [
        ("Heron Lagoon", [("Tee", "Polo manga corta", ["S", "M", "L", "XL"], col[:3], 7900, 3150), ("Cap", "Gorra", None, col[:2], 5900, 2200)]),
        ("Paper Boats", [("Bottle", "Botella térmica", [("500 ml", "500 ml"), ("750 ml", "750 ml")], col[1:], 8900, 3900)]),
        ("Sleepy Llama", [("Kids tee", "Polo niño", ["4", "6", "8"], col[1:3], 5900, 2350), ("Pillow", "Almohada", None, None, 6900, 2800)])],
        ("itemType", "size", "color"), ("Talla", "Color"),
        {"listing": lambda i, r: f"lst_{r.randrange(36**4):06d}", "sku": lambda li, g, s, c, k: f"OM{li + 1}{g}{s}{c}{k % 10}", "vid": lambda k, li, g, s, c, r: f"{'PGBXNA'[li * 2 + g] if li < 3 else 'Z'}-{100 + k * 4}", "order": lambda n, r: str(51820 + n), "uid": lambda n, r: f"ord_{r.randrange(36**5):08d}",
         "line": lambda n, i, r: f"ln_{r.randrange(36**5):08d}", "sub": lambda n, t: f"T-{3300 + n}", "subline": lambda s, i, n: str(i), "parcel": lambda n, s: f"G{600200 + 7 * n}", "track": lambda r: ""},
        ["PE", "PE", "PE", "CL", "EC"], ["Chasqui Pampero", "Ruta Vizcacha"], "PEN", res=1, text=.12)
    st = {"open": "readyToMake", "dispatched": "onItsWay", "unpaid": "waitingForPayment", "cancelled": "cancelled"}
    amt = lambda c: {"amountMinor": c, "currencyCode": "PEN"}
    P.jsonl("storefront", "orders.jsonl", [{"orderId": o["uid"], "orderNumber": int(o["id"]), "buyerNumber": o["customer"], "stage": st[o["status"]], "riskLevel": ["low", "low", "medium"][o["n"] % 3], "placedAt": mils(o["placed"]), "paidAt": mils(o["paid"]), "dispatchBefore": str(o["due"]), "lastEditedAt": mils(o["updated"]), "shipTo": {"countryCode": o["country"], "pickup": False},
        "amounts": {"goods": amt(o["goods"]), "delivery": amt(o["post"]), "grandTotal": amt(o["total"])}, "coupon": "ORILLA10" if o["n"] % 13 == 6 else None, "giftMessage": None,
        "orderedItems": [{"itemId": l["id"], "listingId": l["offer"]["listing"]["id"], "listingName": l["offer"]["listing"]["title"], "listingUrl": f"https://shop.example.com/l/{l['offer']['listing']['slug']}", "stockCode": l["offer"]["sku"] or None, "selection": {**l["offer"]["options"], **({"customText": l["text"]} if l["text"] else {})}, "unitCount": l["qty"], "unitCountCancelled": l["gone"],
                          "unitPrice": amt(l["offer"]["price"]), "subtotal": amt(l["offer"]["price"] * l["qty"]), "taxCode": "S18"} for l in o["lines"]]} for o in B.orders])
    P.jsonl("storefront", "listings.jsonl", [{"listingId": L["id"], "listingName": L["title"], "publishedAt": 1754042400000, "likes": 31 + 9 * L["n"], "offers": [{"stockCode": f["sku"] or None, "selection": f["options"], "unitPrice": amt(f["price"]), "active": f["buyable"]} for f in L["offers"]]} for L in B.listings])
    w = {"received": "Recibido", "held": "Detenido", "making": "En impresión", "dispatched": "Despachado", "cancelled": "Cancelado", "rejected": "Rechazado"}
    t = lambda x: B.loc(x, "%d/%m/%Y %H:%M")
    P.csv("supplier", "trabajos.csv", [{"Trabajo": s["id"], "Cliente": "ORILL", "Pedido del cliente": "OM" + s["order"]["id"], "Recibido": t(s["received"]), "Entrega prevista": s["due"].strftime("%d/%m/%Y"), "Situación": w[s["status"]], "Actualizado": t(s["updated"]), "Factura": f"F001-{2200 + s['n']}" if s["parcels"] else "", "Total": com(sum(l["v"]["cost"] * l["qty"] for l in s["lines"])), "Urgente": "no"} for s in B.subs], delim=";")
    P.csv("supplier", "partidas.csv", [{"Trabajo": s["id"], "Partida": l["id"], "Clave": l["v"]["id"], "Modelo": l["v"]["product"], "Talla": l["v"]["parts"][0], "Color": l["v"]["parts"][1], "Su código": l["v"]["sku"], "Cantidad": l["qty"], "Mermas": 0, "Costo unitario": com(l["v"]["cost"]), "Importe": com(l["v"]["cost"] * l["qty"]), "IGV %": "18"} for s in B.subs for l in s["lines"]], delim=";")
    P.csv("supplier", "envios.csv", [{"Guía": p["id"], "Trabajo": s["id"], "Partida": l["id"], "Cantidad enviada": q, "Fecha de salida": B.loc(p["at"], "%d/%m/%Y"), "Transportista": p["carrier"], "Bultos": 1} for s in B.subs for p in s["parcels"] for l, q in p["lines"]], delim=";")
    P.days = {"parcels.dispatched_at"}
    k = "orderedItems[*]."
    P.fields("storefront", "orders.jsonl", "orders", order_id="orderNumber", placed_at="placedAt", paid_at="paidAt", status="stage", currency=["amounts.grandTotal.currencyCode", "amounts.goods.currencyCode", "amounts.delivery.currencyCode"], promised_by="dispatchBefore", ship_to_country="shipTo.countryCode", updated_at="lastEditedAt")
    P.fields("storefront", "orders.jsonl", "order_lines", order_id="orderNumber", line_id=k + "itemId", listing_id=k + "listingId", sku=k + "stockCode", title=k + "listingName", options=k + "selection", quantity=k + "unitCount", cancelled_quantity=k + "unitCountCancelled", unit_price=k + "unitPrice.amountMinor")
    v = "offers[*]."
    P.fields("storefront", "listings.jsonl", "offers", listing_id="listingId", title="listingName", sku=v + "stockCode", options=v + "selection", price=v + "unitPrice.amountMinor", currency=v + "unitPrice.currencyCode", buyable=v + "active")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}; P.shop["words"] = {"orders.status": flip(st)}
    P.shop["forms"] = {"times": "epoch milliseconds", "money": "minor units"}
    P.shop["notes"] = "orderId and orderNumber: the supplier quotes the number; the currency stands beside each amount; riskLevel is no status of the order; customText is typed."
    P.fields("supplier", "trabajos.csv", "submissions", submission_id="Trabajo", order_ref="Pedido del cliente", status="Situación", received_at="Recibido", updated_at="Actualizado")
    P.fields("supplier", "partidas.csv", "submission_lines", submission_id="Trabajo", line_id="Partida", variant_id="Clave", sku="Su código", quantity="Cantidad", unit_cost="Costo unitario")
    P.fields("supplier", "envios.csv", "parcels", parcel_id="Guía", submission_id="Trabajo", dispatched_at="Fecha de salida", carrier="Transportista")
    P.fields("supplier", "envios.csv", "parcel_lines", parcel_id="Guía", submission_line_id="Partida", quantity="Cantidad enviada")
    P.made["order_ref"]["prefix"] = "OM"; P.made["words"] = {"submissions.status": flip(w)}; P.made["forms"] = {"dates": "%d/%m/%Y"}
    P.made["notes"] = "Three files joined by Trabajo; no catalogue; Entrega prevista is when it is due; a parcel says a day and no tracking number."
    P.done(B)


def otterbank():
    """A flat JSON list with the order repeated on each line; a sheet with a row per line and its parcel."""
    P = Pair("05-otterbank", "America/Toronto", "birchline-makers")
    col = [("Slate", "SL"), ("Butter", "BU"), ("Cranberry", "CR")]
    B = Book(4505, "America/Toronto", "2026-02-23", 28, 43, [
        ("Canoe Morning", [("Long sleeve", "LS jersey", ["S", "M", "L", "XL"], col, 4200, 1740), ("Scarf", "Woven scarf", None, col[:2], 3600, 1390)]),
        ("Beaver Lodge Puzzle", [(None, "Jigsaw", ["500 pieces", "1000 pieces"], None, 3200, 1280)]),
        ("Trillium", [(None, "Note card set", ["6 cards", "12 cards"], col[1:], 1500, 460)])],
        ("Style", "Size", "Colour"), ("Size", "Colour"),
        {"listing": lambda i, r: str(7010 + 20 * i), "sku": lambda li, g, s, c, k: f"{['CAN','BVR','TRI'][li]}{'-SC' if g else ''}-{['S','M','L','X'][s]}{c}", "old": lambda k: f"X-{k}", "vid": lambda k, li, g, s, c, r: str(118000 + 29 * k), "order": lambda n, r: f"OB-{3300 + n}", "uid": lambda n, r: f"{r.randrange(16**8):08x}",
         "line": lambda n, i, r: str(900100 + n * 2), "sub": lambda n, t: str(26000 + n), "subline": lambda s, i, n: f"{s['id']}.{i}", "parcel": lambda n, s: f"C{s['id']}-{len(s['parcels']) + 1}", "track": lambda r: str(r.randint(10**15, 10**16 - 1))},
        ["CA", "CA", "CA", "US"], ["Portage and Paddle", "Loonline"], "CAD", split=.5)
    pay = lambda o: "due" if not o["paid"] else "given back" if o["cancelled"] else "settled"
    dlv = {"open": "to make", "unpaid": "to make", "dispatched": "on the way", "cancelled": "called off"}
    P.json("storefront", "sales.json", [{"order_uid": o["uid"], "order_no": o["id"], "ordered_at": B.iso(o["placed"]), "invoice_no": 62000 + o["n"], "invoiced_on": B.day(o["placed"]), "payment": pay(o), "settled_at": B.iso(o["paid"]) or None, "delivery": dlv[o["status"]], "country": o["country"], "currency": "CAD", "order_total": o["total"] / 100, "delivery_fee": o["post"] / 100, "lines_in_order": len(o["lines"]),
        "line_uid": int(l["id"]), "listing_no": int(l["offer"]["listing"]["id"]), "listing_title": l["offer"]["listing"]["title"], "stock_code": l["offer"]["sku"], "picked": {**l["offer"]["options"], **({"Inscription": l["text"]} if l["text"] else {})}, "quantity": l["qty"], "price": l["offer"]["price"] / 100, "line_total": l["offer"]["price"] * l["qty"] / 100, "tax_code": "H13", "gift": False} for o in B.orders for l in o["lines"]], 1)
    st = {"received": "in queue", "held": "paused", "making": "in work", "dispatched": "shipped", "cancelled": "withdrawn", "rejected": "not accepted"}
    n = lambda t: t.astimezone(B.zone).replace(tzinfo=None) if t else ""
    rows = []
    for s in B.subs:
        for l in s["lines"]:
            p = l["sent"][0][0] if l["sent"] else None
            rows.append({"Work order": int(s["id"]), "Client": "Otterbank", "Client order": s["order"]["id"], "Client line": int(l["of"]["id"]), "Entered": n(s["received"]), "Wanted by": n(s["received"]).replace(hour=0, minute=0) + (s["due"] - n(s["received"]).date()), "State": st[s["status"]], "WO line": l["id"], "Product no": int(l["v"]["id"]), "Product": l["v"]["product"], "Size": l["v"]["parts"][0], "Colour": l["v"]["parts"][1],
                         "Stock code": l["v"]["sku"], "Pieces": l["qty"], "Cost each": l["v"]["cost"] / 100, "Cost": l["v"]["cost"] * l["qty"] / 100, "Printed": n(s["printed"]), "Carton": p["id"] if p else "", "Shipped": n(p["at"]) if p else "", "Carrier": p["carrier"] if p else "", "Tracking": p["track"] if p else "", "Press": 1 + s["n"] % 2, "Remarks": ""})
    P.xlsx("supplier", "work orders.xlsx", rows, "WO")
    q = "[*]."
    P.fields("storefront", "sales.json", "orders", order_id=q + "order_no", placed_at=q + "ordered_at", paid_at=q + "settled_at", status=(q + "payment", q + "delivery"), currency=q + "currency", ship_to_country=q + "country")
    P.fields("storefront", "sales.json", "order_lines", order_id=q + "order_no", line_id=q + "line_uid", listing_id=q + "listing_no", sku=q + "stock_code", title=q + "listing_title", options=q + "picked", quantity=q + "quantity", unit_price=q + "price")
    P.shop["options"] = {"order_lines": list(B.names)}
    P.shop["words"] = {"orders.status@[*].payment": {"settled": "open", "due": "unpaid", "given back": "cancelled"}, "orders.status@[*].delivery": {"to make": "open", "on the way": "dispatched", "called off": "cancelled"}}
    P.shop["notes"] = "One record is a line, the order is repeated; order_uid and invoice_no are quoted by nobody; lines_in_order is no quantity; Inscription is typed. No list of offers."
    f = "work orders.xlsx"
    P.fields("supplier", f, "submissions", submission_id="Work order", order_ref="Client order", status="State", received_at="Entered")
    P.fields("supplier", f, "submission_lines", submission_id="Work order", line_id="WO line", order_line_ref="Client line", variant_id="Product no", sku="Stock code", quantity="Pieces", unit_cost="Cost each")
    P.fields("supplier", f, "parcels", parcel_id="Carton", submission_id="Work order", dispatched_at="Shipped", carrier="Carrier", tracking_number="Tracking")
    P.made["words"] = {"submissions.status": flip(st)}
    P.made["notes"] = "The work order's cells are repeated; cells of dates are shown day first; Wanted by and Printed are no dispatch; a carton holds the lines that name it; Client line is the shop's line_uid."
    P.done(B)


def ferry():
    """Orders within days; a German nested answer with replacements."""
    P = Pair("06-ferry-and-thistle", "Europe/Zurich", "stoffdruck-lindach")
    col = [("Thistle", "distel"), ("Fog", "nebel"), ("Moss", "moos")]
    B = Book(4606, "Europe/Zurich", "2026-03-09", 29, 46, [
        ("Ferry at Six", [(None, "Kapuzenpulli", ["S", "M", "L", "XL"], col, 6900, 2890)]),
        ("Thistle Field", [("Cushion", "Kissenbezug", ["40 x 40", "50 x 50"], col[:2], 3900, 1490), ("Throw", "Wolldecke", None, col[:2], 8900, 4100)]),
        ("Goat Parade", [(None, "Kinderlätzchen", None, col, 1900, 640)])],
        ("make", "size", "shade"), ("groesse", "farbe"),
        {"listing": lambda i, r: f"{i + 1}{r.randint(100, 999)}", "sku": lambda li, g, s, c, k: f"ft{'fgp'[li]}{'ab'[g]}{s}{c}", "vid": lambda k, li, g, s, c, r: f"{4000 + k * 5}.{c + 1}", "order": lambda n, r: str(7730 + n), "uid": lambda n, r: f"{r.randrange(16**6):06x}-{n}",
         "line": lambda n, i, r: f"{r.randrange(16**6):06x}", "sub": lambda n, t: f"26/{n + 410:04d}", "subline": lambda s, i, n: str(i * 10), "parcel": lambda n, s: f"S{88000 + n}", "track": lambda r: f"99.{r.randint(10, 99)}.{r.randint(10**5, 10**6 - 1)}.{r.randint(10**7, 10**8 - 1)}"},
        ["CH", "CH", "CH", "LI", "DE"], ["Bergkrähenbote", "Gemsenpaket"], "CHF", res=1, remakes=2, extra=2)
    st = {"open": "confirmed", "dispatched": "shipped", "unpaid": "awaiting_payment", "cancelled": "cancelled"}
    days = {}
    for o in B.orders: days.setdefault(B.day(o["placed"]), []).append(o)
    P.json("storefront", "sales_by_day.json", {"from": B.day(B.orders[0]["placed"]), "to": B.day(B.asof), "days": [{"date": d, "weekday": datetime_name(d), "order_count": len(os), "turnover": dec(sum(o["total"] for o in os)), "orders": [
        {"uuid": o["uid"], "number": int(o["id"]), "state": st[o["status"]], "invoice_state": "none" if not o["paid"] else "issued", "created_at": B.iso(o["placed"]), "paid_at": B.iso(o["paid"]) or None, "changed_at": B.iso(o["updated"]), "ship_by": str(o["due"]), "ship_country": o["country"], "total": {"amount": dec(o["total"]), "currency": "CHF"}, "weight_kg": .4,
         "lines": [{"uuid": l["id"], "page": int(l["offer"]["listing"]["id"]), "heading": l["offer"]["listing"]["title"], "code": l["offer"]["sku"] or None, "options": l["offer"]["options"], "personal_text": l["text"] or None, "qty": l["qty"], "qty_cancelled": l["gone"], "unit_price": dec(l["offer"]["price"]), "vat_percent": 8.1} for l in o["lines"]]} for o in os]} for d, os in days.items()]})
    P.json("storefront", "pages.json", [{"page": int(L["id"]), "heading": L["title"], "path": "/" + L["slug"], "updated_at": "2026-01-20T10:00:00+01:00", "offers": [{"code": f["sku"] or None, "options": f["options"], "unit_price": dec(f["price"]), "for_sale": f["buyable"]} for f in L["offers"]]} for L in B.listings], 1)
    w = {"received": "angenommen", "held": "angehalten", "making": "im Druck", "dispatched": "verschickt", "cancelled": "storniert", "rejected": "zurückgewiesen"}
    P.json("supplier", "auftraege.json", {"mandant": "FT", "stand": B.iso(B.asof), "anzahl": len(B.subs), "auftraege": [{"auftragsnummer": s["id"], "kundenreferenz": f"WEB-{s['order']['id']}-FT", "ersetzt_auftrag": s["replaces"] or None, "auftragsstatus": w[s["status"]], "rechnungsstatus": "offen" if s["n"] % 3 else "beglichen", "eingegangen_am": B.iso(s["received"]), "gedruckt_am": B.iso(s["printed"]) or None, "geaendert_am": B.iso(s["updated"]), "liefertermin": str(s["due"]),
        "positionen": [{"position": int(l["id"]), "artikel": {"nummer": l["v"]["id"], "fremdnummer": l["v"]["sku"], "bezeichnung": l["v"]["product"]}, "menge": l["qty"], "einzelpreis": l["v"]["cost"] / 100, "gesamtpreis": l["v"]["cost"] * l["qty"] / 100} for l in s["lines"]],
        "versand": [{"versanddienst": c, "abholung": "täglich", "pakete": [{"paket": p["id"], "verschickt_am": B.iso(p["at"]), "sendungsnummer": p["track"], "gewicht_g": 340 * len(p["lines"]), "inhalt": [{"position": int(l["id"]), "menge": q} for l, q in p["lines"]]} for p in s["parcels"] if p["carrier"] == c]} for c in dict.fromkeys(p["carrier"] for p in s["parcels"])]} for s in B.subs]})
    P.json("supplier", "artikel.json", {"artikel": [{"nummer": v["id"], "fremdnummer": v["sku"] or None, "bezeichnung": v["product"], "merkmale": v["options"], "einzelpreis": v["cost"] / 100, "lieferbar": v["available"], "gewicht_g": 320} for v in B.variants]}, 1)
    q = "days[*].orders[*]."; k = q + "lines[*]."
    P.fields("storefront", "sales_by_day.json", "orders", order_id=q + "number", placed_at=q + "created_at", paid_at=q + "paid_at", status=q + "state", currency=q + "total.currency", promised_by=q + "ship_by", ship_to_country=q + "ship_country", updated_at=q + "changed_at")
    P.fields("storefront", "sales_by_day.json", "order_lines", order_id=q + "number", line_id=k + "uuid", listing_id=k + "page", sku=k + "code", title=k + "heading", options=k + "options", quantity=k + "qty", cancelled_quantity=k + "qty_cancelled", unit_price=k + "unit_price")
    v = "[*].offers[*]."
    P.fields("storefront", "pages.json", "offers", listing_id="[*].page", title="[*].heading", sku=v + "code", options=v + "options", price=v + "unit_price", buyable=v + "for_sale")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}; P.shop["words"] = {"orders.status": flip(st)}
    P.shop["notes"] = "Orders stand within the days on which they were placed; uuid at two levels, number is what the supplier quotes; invoice_state is not the order's; personal_text stands beside the options and is none."
    q = "auftraege[*]."; k = q + "positionen[*]."; g = q + "versand[*].pakete[*]."
    P.fields("supplier", "auftraege.json", "submissions", submission_id=q + "auftragsnummer", order_ref=q + "kundenreferenz", status=q + "auftragsstatus", received_at=q + "eingegangen_am", replaces=q + "ersetzt_auftrag", updated_at=q + "geaendert_am")
    P.fields("supplier", "auftraege.json", "submission_lines", submission_id=q + "auftragsnummer", line_id=k + "position", variant_id=k + "artikel.nummer", sku=k + "artikel.fremdnummer", quantity=k + "menge", unit_cost=k + "einzelpreis")
    P.fields("supplier", "auftraege.json", "parcels", parcel_id=g + "paket", submission_id=q + "auftragsnummer", dispatched_at=g + "verschickt_am", carrier=q + "versand[*].versanddienst", tracking_number=g + "sendungsnummer")
    P.fields("supplier", "auftraege.json", "parcel_lines", parcel_id=g + "paket", submission_line_id=g + "inhalt[*].position", quantity=g + "inhalt[*].menge")
    v = "artikel[*]."
    P.fields("supplier", "artikel.json", "variants", variant_id=v + "nummer", sku=v + "fremdnummer", product=v + "bezeichnung", options=v + "merkmale", unit_cost=v + "einzelpreis", available=v + "lieferbar")
    P.made["order_ref"] = {"prefix": "WEB-", "suffix": "-FT"}; P.made["options"] = {"variants": ["groesse", "farbe"]}; P.made["words"] = {"submissions.status": flip(w)}
    P.made["notes"] = "rechnungsstatus is the invoice's; the parcels stand within their carrier, paket is the parcel's number and sendungsnummer its tracking number; ersetzt_auftrag names the order that is made again; position counts in tens within an order."
    P.done(B)


def datetime_name(d):
    from datetime import date
    return ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"][date.fromisoformat(d).weekday()]


PAIRS = [lampwick, steinkauz, pluvier, agua_mansa, otterbank, ferry]
if __name__ == "__main__":
    import pairs2
    for f in PAIRS + pairs2.PAIRS: f()
