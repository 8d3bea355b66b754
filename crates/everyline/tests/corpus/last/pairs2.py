"""The seventh to the twelfth pair. It knows nothing of what reads the exports; make.py runs it."""
from book import Book, Pair, com, dec, flip, full, mils, secs, zulu


def barca():
    """A Spanish row per line with three yes-or-no columns and days alone; jobs grouped under the client's order."""
    P = Pair("07-barca-de-hojalata", "Europe/Madrid", "wolfsbane-weft-works")
    col = [("Mostaza", "mustard"), ("Ceniza", "ash"), ("Coral", "coral")]
    B = Book(4707, "Europe/Madrid", "2026-02-02", 28, 40, [
        ("Camiseta Faro Viejo", [(None, "Unisex T-shirt", ["S", "M", "L", "XL"], col, 2290, 870)]),
        ("Taza Erizo", [(None, "Stoneware mug", [("pequeña", "small"), ("grande", "large")], None, 1590, 560)]),
        ("Fular Olas", [(None, "Cotton wrap", None, col, 2750, 1010)]),
        ("Puzle Mercado", [(None, "Wooden puzzle", [("24 piezas", "24"), ("48 piezas", "48")], None, 1990, 740)])],
        ("Modelo", "Talla", "Color"), ("size", "colour"),
        {"listing": lambda i, r: f"P{60 + i * 2}", "sku": lambda li, g, s, c, k: f"{['CF','TE','FO','PM'][li]}{k:04d}", "old": lambda k: f"V{k}", "vid": lambda k, li, g, s, c, r: f"WW.{['tsh','mug','wrp','puz'][li]}.{s}{c}", "order": lambda n, r: f"2026-{400 + n:04d}", "uid": lambda n, r: 33000 + n,
         "line": lambda n, i, r: str(i), "sub": lambda n, t: f"{t:%m%d}{n:03d}", "subline": lambda s, i, n: f"p{n}", "parcel": lambda n, s: f"box-{5000 + n}", "track": lambda r: f"ES{r.randint(10**10, 10**11 - 1)}"},
        ["ES", "ES", "ES", "PT"], ["Gaviota Tuerta", "El Recado Azul"], "EUR", two_subs=.5, res=60)
    sn = lambda x: "Sí" if x else "No"
    d = lambda t: B.loc(t, "%d/%m/%Y")
    P.csv("storefront", "ventas.csv", [{"Nº pedido": o["id"], "Fecha": d(o["placed"]), "Cobrado": sn(o["paid"]), "Fecha de cobro": d(o["paid"]), "Enviado": sn(o["status"] == "dispatched"), "Anulado": sn(o["cancelled"]), "Factura": f"FV{o['uid']}" if o["paid"] else "", "País": o["country"], "Divisa": "EUR", "Enviar antes de": o["due"].strftime("%d/%m/%Y"), "Renglón": l["id"], "Página": l["offer"]["listing"]["id"], "Referencia": l["offer"]["sku"], "Producto": l["offer"]["listing"]["title"],
        "Talla": l["offer"]["options"].get("Talla", ""), "Color": l["offer"]["options"].get("Color", ""), "Dedicatoria": l["text"], "Unidades": l["qty"], "Precio unidad": com(l["offer"]["price"]), "Importe": com(l["offer"]["price"] * l["qty"]), "IVA": "21 %", "Gastos de envío": com(o["post"]), "Total pedido": com(o["total"]), "Regalo": sn(o["n"] % 6 == 2), "Nota": "sin factura en la caja" if o["n"] % 10 == 7 else ""} for o in B.orders for l in o["lines"]], enc="cp1252")
    P.days = {"orders.placed_at", "orders.paid_at"}
    w = {"received": "queued", "held": "paused", "making": "printing", "dispatched": "dispatched", "cancelled": "void", "rejected": "declined"}
    groups = {}
    for s in B.subs: groups.setdefault(s["order"]["id"], []).append(s)
    P.json("supplier", "client-orders.json", {"client": {"number": 204, "plan": "weekly invoice"}, "createdAt": zulu(B.asof), "clientOrders": [{"clientOrderNumber": k, "jobs": [
        {"jobNumber": s["id"], "jobStatus": w[s["status"]], "receivedAt": zulu(s["received"]), "printedAt": zulu(s["printed"]), "changedAt": zulu(s["updated"]), "promisedOn": str(s["due"]), "netTotal": sum(l["v"]["cost"] * l["qty"] for l in s["lines"]),
         "pieces": [{"pieceId": l["id"], "article": l["v"]["id"], "articleName": l["v"]["product"], "size": l["v"]["parts"][0] or None, "colour": l["v"]["parts"][1] or None, "clientCode": l["v"]["sku"], "amountOrdered": l["qty"], "netPriceCents": l["v"]["cost"], "netTotalCents": l["v"]["cost"] * l["qty"]} for l in s["lines"]],
         "boxes": [{"boxId": p["id"], "leftAt": zulu(p["at"]), "courier": p["carrier"], "trackingId": p["track"], "pieces": [{"pieceId": l["id"], "amountPacked": q} for l, q in p["lines"]]} for p in s["parcels"]]} for s in ss]} for k, ss in groups.items()]})
    P.json("supplier", "articles.json", [{"article": v["id"], "articleName": v["product"], "attributes": [{"attribute": a, "value": b} for a, b in v["options"].items()], "clientCode": v["sku"], "netPriceCents": v["cost"], "orderable": v["available"], "photoUrl": f"https://cdn.example.com/{v['n']}.jpg"} for v in B.variants], 1)
    f = "ventas.csv"
    P.fields("storefront", f, "orders", order_id="Nº pedido", placed_at="Fecha", paid_at="Fecha de cobro", status=("Cobrado", "Enviado", "Anulado"), currency="Divisa", promised_by="Enviar antes de", ship_to_country="País")
    P.fields("storefront", f, "order_lines", order_id="Nº pedido", line_id="Renglón", listing_id="Página", sku="Referencia", title="Producto", options=["Talla", "Color"], quantity="Unidades", unit_price="Precio unidad")
    P.shop["options"] = {"order_lines": ["Talla", "Color"]}
    P.shop["words"] = {"orders.status@Cobrado": {"Sí": "open", "No": "unpaid"}, "orders.status@Enviado": {"Sí": "dispatched", "No": "open"}, "orders.status@Anulado": {"Sí": "cancelled", "No": "open"}}
    P.shop["forms"] = {"dates": "%d/%m/%Y"}
    P.shop["notes"] = "Three columns of Sí and No make the status, Regalo is a fourth that does not; the days have no time; the order's number begins with the year; Dedicatoria is typed."
    g = "clientOrders[*]."; q = g + "jobs[*]."; k = q + "pieces[*]."; b = q + "boxes[*]."
    P.fields("supplier", "client-orders.json", "submissions", submission_id=q + "jobNumber", order_ref=g + "clientOrderNumber", status=q + "jobStatus", received_at=q + "receivedAt", updated_at=q + "changedAt")
    P.fields("supplier", "client-orders.json", "submission_lines", submission_id=q + "jobNumber", line_id=k + "pieceId", variant_id=k + "article", sku=k + "clientCode", quantity=k + "amountOrdered", unit_cost=k + "netPriceCents")
    P.fields("supplier", "client-orders.json", "parcels", parcel_id=b + "boxId", submission_id=q + "jobNumber", dispatched_at=b + "leftAt", carrier=b + "courier", tracking_number=b + "trackingId")
    P.fields("supplier", "client-orders.json", "parcel_lines", parcel_id=b + "boxId", submission_line_id=b + "pieces[*].pieceId", quantity=b + "pieces[*].amountPacked")
    P.fields("supplier", "articles.json", "variants", variant_id="[*].article", sku="[*].clientCode", product="[*].articleName", options="[*].attributes", unit_cost="[*].netPriceCents", available="[*].orderable")
    P.made["options"] = {"variants": ["size", "colour"]}; P.made["words"] = {"submissions.status": flip(w)}; P.made["forms"] = {"money": "minor units"}
    P.made["notes"] = "Jobs stand under the client's order, which is said once above them; an order may have two jobs; pieces stand twice, in the job and in its boxes."
    P.done(B)


def fernweka():
    """Three files of JSON Lines joined by order code, states as true and false, seconds; one tab-separated row per line sent."""
    P = Pair("08-fernweka", "Pacific/Auckland", "southspool-print")
    col = [("Kelp", "Dark green"), ("Shell", "Off white"), ("Dusk", "Slate blue")]
    abc = "BCDFGHJKLMNPQRSTVWXZ23456789"
    B = Book(4808, "Pacific/Auckland", "2026-05-04", 27, 45, [
        ("Petrel Crossing", [("Crew", "Sweatshirt", ["S", "M", "L", "XL"], col, 8900, 3900), ("Beanie", "Knit beanie", None, col[1:], 3900, 1450)]),
        ("Rockpool Chart", [(None, "Poster", ["A3", "A2", "A1"], None, 3500, 900)]),
        ("Little Weka", [(None, "Toddler tee", ["1", "2", "4"], col[:2], 3400, 1350)])],
        ("garment", "size", "colour"), ("Size", "Colour"),
        {"listing": lambda i, r: f"{r.choice(abc)}{r.choice(abc)}{i}{r.choice(abc)}", "sku": lambda li, g, s, c, k: f"{['petrel','rockpool','weka'][li]}-{['a','b'][g]}{s}{c}", "vid": lambda k, li, g, s, c, r: f"{5100 + 100 * li + 40 * g + s * 4 + c}", "order": lambda n, r: "".join(r.choice(abc) for _ in range(3)) + "-" + "".join(r.choice(abc) for _ in range(3)), "uid": lambda n, r: 4000 + n,
         "line": lambda n, i, r: str(71000 + n * 5), "sub": lambda n, t: f"SP{18800 + n}", "subline": lambda s, i, n: f"{i:03d}", "parcel": lambda n, s: f"{s['id']}-B{len(s['parcels']) + 1}", "track": lambda r: f"NZ{r.randint(10**8, 10**9 - 1)}"},
        ["NZ", "NZ", "NZ", "AU"], ["Tussock Couriers", "Southern Wekaline"], "NZD", res=1, qty_split=True, split=.5, partial=0)
    P.jsonl("storefront", "orders.jsonl", [{"row": o["uid"], "order_code": o["id"], "visit": 900000 + o["n"] * 77, "placed_ts": secs(o["placed"]), "paid_ts": secs(o["paid"]), "edited_ts": secs(o["updated"]), "paid": bool(o["paid"]), "sent": o["status"] == "dispatched", "called_off": bool(o["cancelled"]), "gift": o["n"] % 7 == 3, "ship_cc": o["country"], "ccy": "NZD",
        "goods_total": dec(o["goods"]), "freight": dec(o["post"]), "gst": dec(round(o["total"] * 3 / 23)), "total": dec(o["total"]), "buyer_note": "leave at the gate" if o["n"] % 9 == 1 else None, "opt_in": o["n"] % 2 == 0} for o in B.orders])
    P.jsonl("storefront", "order_rows.jsonl", [{"row_id": int(l["id"]), "order_code": o["id"], "listing_code": l["offer"]["listing"]["id"], "listing_name": l["offer"]["listing"]["title"], "sku": l["offer"]["sku"] or None, "option_values": l["offer"]["options"], "custom_text": l["text"] or None, "qty": l["qty"], "unit_price": dec(l["offer"]["price"]), "row_total": dec(l["offer"]["price"] * l["qty"]), "gst_rate": 15, "grams": 240} for o in B.orders for l in o["lines"]])
    P.jsonl("storefront", "offers.jsonl", [{"listing_code": f["listing"]["id"], "listing_name": f["listing"]["title"], "sku": f["sku"] or None, "option_values": f["options"], "unit_price": dec(f["price"]), "ccy": "NZD", "live": f["buyable"], "featured": f["n"] % 5 == 0, "views": 12 + f["n"] * 7} for f in B.offers])
    w = {"received": "Entered", "held": "Held", "making": "Making up", "dispatched": "Gone", "cancelled": "Cancelled", "rejected": "Declined"}
    t = lambda x: B.loc(x, "%d/%m/%Y %H:%M")
    rows = []
    for s in B.subs:
        for l in s["lines"]:
            for p, q in l["sent"] or [(None, "")]:
                rows.append({"Docket": s["id"], "Your order": "FW order " + s["order"]["id"], "Date in": t(s["received"]), "Required": s["due"].strftime("%d/%m/%Y"), "Docket status": w[s["status"]], "Line": l["id"], "Prod code": l["v"]["id"], "Product": l["v"]["product"], "Size": l["v"]["parts"][0], "Colour": l["v"]["parts"][1], "Your SKU": l["v"]["sku"], "Ordered": l["qty"], "Unit $": dec(l["v"]["cost"]), "Ext $": dec(l["v"]["cost"] * l["qty"]),
                             "Box": p["id"] if p else "", "Packed in box": q, "Date out": t(p["at"]) if p else "", "Carrier": p["carrier"] if p else "", "Ticket": p["track"] if p else "", "Rep": "02", "Comments": ""})
    P.csv("supplier", "docket_listing.tsv", rows, delim="\t")
    P.csv("supplier", "price_list.tsv", [{"Prod code": v["id"], "Product": v["product"], "Size": v["parts"][0], "Colour": v["parts"][1], "Your SKU": v["sku"], "Unit $": dec(v["cost"]), "Status": "current" if v["available"] else "out of stock", "Pack": 1} for v in B.variants], delim="\t")
    P.fields("storefront", "orders.jsonl", "orders", order_id="order_code", placed_at="placed_ts", paid_at="paid_ts", status=("paid", "sent", "called_off"), currency="ccy", ship_to_country="ship_cc", updated_at="edited_ts")
    P.fields("storefront", "order_rows.jsonl", "order_lines", order_id="order_code", line_id="row_id", listing_id="listing_code", sku="sku", title="listing_name", options="option_values", quantity="qty", unit_price="unit_price")
    P.fields("storefront", "offers.jsonl", "offers", listing_id="listing_code", title="listing_name", sku="sku", options="option_values", price="unit_price", currency="ccy", buyable="live")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {"orders.status@paid": {"true": "open", "false": "unpaid"}, "orders.status@sent": {"true": "dispatched", "false": "open"}, "orders.status@called_off": {"true": "cancelled", "false": "open"}}
    P.shop["forms"] = {"times": "epoch seconds"}
    P.shop["notes"] = "The order's code is random, row and visit are running numbers that nobody quotes; three of four flags make the status, gift does not; custom_text is no option."
    f = "docket_listing.tsv"
    P.fields("supplier", f, "submissions", submission_id="Docket", order_ref="Your order", status="Docket status", received_at="Date in")
    P.fields("supplier", f, "submission_lines", submission_id="Docket", line_id="Line", variant_id="Prod code", sku="Your SKU", quantity="Ordered", unit_cost="Unit $")
    P.fields("supplier", f, "parcels", parcel_id="Box", submission_id="Docket", dispatched_at="Date out", carrier="Carrier", tracking_number="Ticket")
    P.fields("supplier", f, "parcel_lines", parcel_id="Box", submission_line_id="Line", quantity="Packed in box")
    P.fields("supplier", "price_list.tsv", "variants", variant_id="Prod code", sku="Your SKU", product="Product", options=["Size", "Colour"], unit_cost="Unit $", available="Status")
    P.made["order_ref"]["prefix"] = "FW order "; P.made["options"] = {"variants": ["Size", "Colour"]}; P.made["words"] = {"submissions.status": flip(w), "variants.available": {"current": "true", "out of stock": "false"}}; P.made["forms"] = {"dates": "%d/%m/%Y"}
    P.made["notes"] = "A row is what of a line is in a box: a line in two boxes stands twice, its Ordered is not to be added up; lines not sent have no box."
    P.done(B)


def lune_grivelee():
    """A French nested answer with numbers for money and a day for the payment; two French tables with date and time apart."""
    P = Pair("09-lune-grivelee", "Europe/Brussels", "imprimerie-du-saule-tordu")
    col = [("Encre", "ENC"), ("Paille", "PAI"), ("Brique", "BRI")]
    B = Book(4909, "Europe/Brussels", "2026-04-13", 26, 42, [
        ("Chouette de nuit", [("T-shirt", "TS manches courtes", ["S", "M", "L", "XL"], col, 2500, 940), ("Gourde", "Gourde inox", None, col[:2], 2900, 1220)]),
        ("Jardin de poche", [("Carte à planter", "Carte ensemencée", ["lot de 4", "lot de 8"], None, 1100, 330)]),
        ("Vélo rouge", [(None, "Chaussettes", [("36-40", "T1"), ("41-45", "T2")], col[1:], 1200, 410)])],
        ("support", "taille", "couleur"), ("taille", "couleur"),
        {"listing": lambda i, r: str(180 + 7 * i), "sku": lambda li, g, s, c, k: f"{['CHO','JAR','VEL'][li]}-{g}{s}{c}", "old": lambda k: f"ANC-{k}", "vid": lambda k, li, g, s, c, r: f"{['TS','JP','CH'][li]}{'' if not g else 'G'}{s}{['E','P','B'][c]}", "order": lambda n, r: str(1180 + n), "uid": lambda n, r: 90000 + 17 * n,
         "line": lambda n, i, r: str(4400 + n), "sub": lambda n, t: f"BT{n + 620}", "subline": lambda s, i, n: str(i), "parcel": lambda n, s: f"BL-{3100 + n}", "track": lambda r: f"{r.randint(10**9, 10**10 - 1)}"},
        ["BE", "BE", "FR", "LU"], ["Transport Mésangette", "Poste du Vieux Canal"], "EUR", res=60, extra=0)
    st = {"open": "à préparer", "dispatched": "expédiée", "unpaid": "en attente de paiement", "cancelled": "annulée"}
    P.json("storefront", "commandes.json", {"page": 1, "pages": 1, "total": len(B.orders), "commandes": [{"id": o["uid"], "numero": int(o["id"]), "client_id": o["customer"], "statut": st[o["status"]], "statut_facture": "émise" if o["paid"] else "brouillon", "date_commande": B.iso(o["placed"]), "date_paiement": B.day(o["paid"]) or None, "date_modification": B.iso(o["updated"]), "date_limite_envoi": str(o["due"]), "pays": o["country"], "devise": "EUR",
        "montants": {"articles": o["goods"] / 100, "port": o["post"] / 100, "remise": 0.0, "total": o["total"] / 100}, "commentaire": "ne pas plier" if o["n"] % 8 == 2 else None, "code_promo": None,
        "articles": [{"ligne_id": int(l["id"]), "fiche_id": int(l["offer"]["listing"]["id"]), "titre": l["offer"]["listing"]["title"], "vignette": f"https://img.example.com/v/{l['offer']['listing']['slug']}.webp", "reference": l["offer"]["sku"], "declinaison": [{"attribut": k, "valeur": v} for k, v in l["offer"]["options"].items()] + ([{"attribut": "votre texte", "valeur": l["text"]}] if l["text"] else []), "quantite": l["qty"], "quantite_annulee": l["gone"], "prix_unitaire": l["offer"]["price"] / 100, "prix_total": l["offer"]["price"] * l["qty"] / 100, "taux_tva": 21.0} for l in o["lines"]]} for o in B.orders]}, 1)
    P.days = {"orders.paid_at"}
    w = {"received": "Enregistré", "held": "Suspendu", "making": "En fabrication", "dispatched": "Expédié", "cancelled": "Annulé", "rejected": "Refusé"}
    rows = []
    for s in B.subs:
        for l in s["lines"]:
            rows.append({"Bon": s["id"], "Votre commande": "Cde " + s["order"]["id"], "Reçu le": B.loc(s["received"], "%d.%m.%Y"), "Heure": B.loc(s["received"], "%H:%M"), "Délai": s["due"].strftime("%d.%m.%Y"), "Statut du bon": w[s["status"]], "Poste": l["id"], "Code produit": l["v"]["id"], "Produit": l["v"]["product"], "Taille": l["v"]["parts"][0], "Couleur": l["v"]["parts"][1], "Votre référence": l["v"]["sku"],
                         "Quantité": l["qty"], "Prix unitaire HT": com(l["v"]["cost"]), "Total HT": com(l["v"]["cost"] * l["qty"]), "Imprimé le": B.loc(s["printed"], "%d.%m.%Y"), "Presse": ["1", "2"][l["n"] % 2]})
    P.csv("supplier", "bons.csv", rows, delim=";", enc="cp1252")
    P.csv("supplier", "livraisons.csv", [{"N° BL": p["id"], "Bon": s["id"], "Votre commande": "Cde " + s["order"]["id"], "Expédié le": B.loc(p["at"], "%d.%m.%Y"), "Heure": B.loc(p["at"], "%H:%M"), "Transporteur": p["carrier"], "N° de suivi": p["track"], "Colis": 1, "Poids (kg)": "0,45", "Facturé": "oui" if s["n"] % 2 else "non"} for s in B.subs for p in s["parcels"]], delim=";", enc="cp1252")
    q = "commandes[*]."; k = q + "articles[*]."
    P.fields("storefront", "commandes.json", "orders", order_id=q + "numero", placed_at=q + "date_commande", paid_at=q + "date_paiement", status=q + "statut", currency=q + "devise", promised_by=q + "date_limite_envoi", ship_to_country=q + "pays", updated_at=q + "date_modification")
    P.fields("storefront", "commandes.json", "order_lines", order_id=q + "numero", line_id=k + "ligne_id", listing_id=k + "fiche_id", sku=k + "reference", title=k + "titre", options=k + "declinaison", quantity=k + "quantite", cancelled_quantity=k + "quantite_annulee", unit_price=k + "prix_unitaire")
    P.shop["options"] = {"order_lines": list(B.names)}; P.shop["words"] = {"orders.status": flip(st)}
    P.shop["notes"] = "articles is a list of lines and, under montants, an amount; statut_facture is the invoice's; the payment says a day alone; votre texte among the choices is typed. No list of offers."
    P.fields("supplier", "bons.csv", "submissions", submission_id="Bon", order_ref="Votre commande", status="Statut du bon", received_at=("Reçu le", "Heure"))
    P.fields("supplier", "bons.csv", "submission_lines", submission_id="Bon", line_id="Poste", variant_id="Code produit", sku="Votre référence", quantity="Quantité", unit_cost="Prix unitaire HT")
    P.fields("supplier", "livraisons.csv", "parcels", parcel_id="N° BL", submission_id="Bon", dispatched_at=("Expédié le", "Heure"), carrier="Transporteur", tracking_number="N° de suivi")
    P.made["order_ref"]["prefix"] = "Cde "; P.made["words"] = {"submissions.status": flip(w)}; P.made["forms"] = {"dates": "%d.%m.%Y"}
    P.made["notes"] = "Day and time stand apart in both files; Délai and Imprimé le have a day alone; a delivery does not say which lines it carries; Colis is a count."
    P.done(B)


def junipero():
    """Kebab-case with milliseconds of zero; a supplier's four tables in one file, in seconds, with the shop's line quoted."""
    P = Pair("10-marrow-and-pine", "America/Chicago", "gristmoor-garments")
    col = [("Clay", "clay"), ("Fir", "fir green"), ("Cloud", "white")]
    B = Book(5010, "America/Chicago", "2026-03-16", 27, 48, [
        ("Prairie Storm", [("Adult tee", "Ringspun tee", ["S", "M", "L", "XL", "2XL"], col, 2600, 990), ("Youth tee", "Ringspun tee youth", ["YS", "YM", "YL"], col[:2], 2200, 840)]),
        ("Barn Owl", [(None, "Travel tumbler", ["12 oz", "20 oz"], col[1:], 2900, 1240)]),
        ("Corn Maze", [(None, "Bandana", None, col, 1300, 380)])],
        ("fit", "size", "color"), ("size", "color"),
        {"listing": lambda i, r: f"page-{i + 4}", "sku": lambda li, g, s, c, k: f"{[['PS','PY'],['BO'],['CM']][li][g]}{s}{'CFW'[c]}", "old": lambda k: f"tmp{k}", "vid": lambda k, li, g, s, c, r: str(7200 + k * 13), "order": lambda n, r: str(600410 + n), "uid": lambda n, r: f"o{r.randrange(36**5):08d}",
         "line": lambda n, i, r: f"i{r.randrange(36**5):08d}", "sub": lambda n, t: str(41200 + n), "subline": lambda s, i, n: str(99000 + n * 4), "parcel": lambda n, s: str(15500 + n), "track": lambda r: f"PP{r.randint(10**9, 10**10 - 1)}US"},
        ["US", "US", "US", "CA"], ["Prairie Quail Post", "Redtail Wagonry"], "USD", res=1, remakes=1, split=.45)
    pay = lambda o: "pending" if not o["paid"] else "refunded" if o["cancelled"] else "paid"
    ost = {"open": "new", "unpaid": "new", "dispatched": "complete", "cancelled": "cancelled"}
    z = lambda t: zulu(t, True)
    P.json("storefront", "orders.json", {"status": "ok", "result": {"count": len(B.orders), "next": None, "orders": [{"order-uid": o["uid"], "order-no": int(o["id"]), "order-status": ost[o["status"]], "payment": {"status": pay(o), "method": "card", "received-at": z(o["paid"])}, "placed-at": z(o["placed"]), "changed-at": z(o["updated"]), "exported-at": z(B.asof), "ship-to": {"country-code": o["country"]},
        "totals": {"currency": "USD", "items": dec(o["goods"]), "shipping": dec(o["post"]), "tax": dec(o["tax"]), "total": dec(o["total"])}, "shopper-note": "" if o["n"] % 7 else "please no invoice inside", "is-gift": False,
        "items": [{"item-uid": l["id"], "page-key": l["offer"]["listing"]["id"], "page-title": l["offer"]["listing"]["title"], "item-sku": l["offer"]["sku"], "chosen-options": full({"fit": l["offer"]["options"].get("fit"), "size": l["offer"]["options"].get("size"), "color": l["offer"]["options"].get("color"), "lettering": l["text"]}), "ordered-quantity": l["qty"], "cancelled-quantity": l["gone"], "price-each": dec(l["offer"]["price"]), "price-total": dec(l["offer"]["price"] * l["qty"]), "tax-group": "standard"} for l in o["lines"]]} for o in B.orders]}})
    P.json("storefront", "pages.json", {"status": "ok", "result": {"pages": [{"page-key": L["id"], "page-title": L["title"], "page-slug": L["slug"], "choices": [{"item-sku": f["sku"], "chosen-options": f["options"], "price-each": dec(f["price"]), "can-order": f["buyable"]} for f in L["offers"]]} for L in B.listings]}})
    w = {"received": "accepted", "held": "on_hold", "making": "in_production", "dispatched": "shipped", "cancelled": "cancelled", "rejected": "rejected"}
    every = [(s, p) for s in B.subs for p in s["parcels"]]
    P.json("supplier", "export.json", {"format": 3, "made_at": secs(B.asof), "jobs": [{"job_id": int(s["id"]), "shop_id": 12, "shop_order": "#" + s["order"]["id"], "remake_of": int(s["replaces"]) if s["replaces"] else None, "state": w[s["status"]], "created_at": secs(s["received"]), "printed_at": secs(s["printed"]), "due_at": secs(s["received"]) + 345600, "modified_at": secs(s["updated"]), "pieces_total": sum(l["qty"] for l in s["lines"])} for s in B.subs],
        "job_lines": [{"job_line_id": int(l["id"]), "job_id": int(s["id"]), "shop_item": l["of"]["id"], "blank_id": int(l["v"]["id"]), "shop_sku": "mp:" + l["v"]["sku"], "description": f"{l['v']['product']} {' '.join(full(dict(enumerate(l['v']['parts']))).values())}", "pieces": l["qty"], "cents_each": l["v"]["cost"], "cents_total": l["v"]["cost"] * l["qty"]} for s in B.subs for l in s["lines"]],
        "cartons": [{"carton_id": int(p["id"]), "job_id": int(s["id"]), "shipped_at": secs(p["at"]), "carrier": p["carrier"], "tracking": p["track"], "ounces": 14} for s, p in every],
        "carton_lines": [{"carton_id": int(p["id"]), "job_line_id": int(l["id"]), "pieces": q} for s, p in every for l, q in p["lines"]]}, 1)
    P.json("supplier", "blanks.json", {"blanks": [{"blank_id": int(v["id"]), "garment": v["product"], "size": v["parts"][0] or None, "color": v["parts"][1] or None, "shop_sku": "mp:" + v["sku"], "cents": v["cost"], "currency": "USD", "available": int(v["available"])} for v in B.variants]}, 1)
    q = "result.orders[*]."; k = q + "items[*]."
    P.fields("storefront", "orders.json", "orders", order_id=q + "order-no", placed_at=q + "placed-at", paid_at=q + "payment.received-at", status=(q + "order-status", q + "payment.status"), currency=q + "totals.currency", ship_to_country=q + "ship-to.country-code", updated_at=q + "changed-at")
    P.fields("storefront", "orders.json", "order_lines", order_id=q + "order-no", line_id=k + "item-uid", listing_id=k + "page-key", sku=k + "item-sku", title=k + "page-title", options=k + "chosen-options", quantity=k + "ordered-quantity", cancelled_quantity=k + "cancelled-quantity", unit_price=k + "price-each")
    v = "result.pages[*].choices[*]."
    P.fields("storefront", "pages.json", "offers", listing_id="result.pages[*].page-key", title="result.pages[*].page-title", sku=v + "item-sku", options=v + "chosen-options", price=v + "price-each", buyable=v + "can-order")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {f"orders.status@{q}order-status": {"new": "open", "complete": "dispatched", "cancelled": "cancelled"}, f"orders.status@{q}payment.status": {"paid": "open", "pending": "unpaid", "refunded": "cancelled"}}
    P.shop["notes"] = "status stands at the answer and at the payment, the order's is order-status; exported-at is the same everywhere; items is a list of lines and, under totals, an amount; lettering is typed."
    P.fields("supplier", "export.json", "submissions", submission_id="jobs[*].job_id", order_ref="jobs[*].shop_order", status="jobs[*].state", received_at="jobs[*].created_at", replaces="jobs[*].remake_of", updated_at="jobs[*].modified_at")
    j = "job_lines[*]."
    P.fields("supplier", "export.json", "submission_lines", submission_id=j + "job_id", line_id=j + "job_line_id", order_line_ref=j + "shop_item", variant_id=j + "blank_id", sku=j + "shop_sku", quantity=j + "pieces", unit_cost=j + "cents_each")
    c = "cartons[*]."
    P.fields("supplier", "export.json", "parcels", parcel_id=c + "carton_id", submission_id=c + "job_id", dispatched_at=c + "shipped_at", carrier=c + "carrier", tracking_number=c + "tracking")
    c = "carton_lines[*]."
    P.fields("supplier", "export.json", "parcel_lines", parcel_id=c + "carton_id", submission_line_id=c + "job_line_id", quantity=c + "pieces")
    b = "blanks[*]."
    P.fields("supplier", "blanks.json", "variants", variant_id=b + "blank_id", sku=b + "shop_sku", product=b + "garment", options=[b + "size", b + "color"], unit_cost=b + "cents", currency=b + "currency", available=b + "available")
    P.made["order_ref"]["prefix"] = "#"; P.made["sku"]["prefix"] = "mp:"; P.made["options"] = {"variants": ["size", "color"]}; P.made["words"] = {"submissions.status": flip(w), "variants.available": {"1": "true", "0": "false"}}
    P.made["forms"] = {"times": "epoch seconds", "money": "minor units"}
    P.made["notes"] = "Four tables stand in one file, joined by ids; shop_item is the shop's item-uid; pieces stands in lines and in cartons, pieces_total in jobs; due_at and printed_at beside created_at."
    P.done(B)


def kornrade():
    """A German camel-case answer with day and time in two members; three English tables, day first."""
    P = Pair("11-kornradenhof", "Europe/Vienna", "cobalt-yard-press")
    col = [("Ocker", "ochre"), ("Tanne", "pine"), ("Kreide", "chalk")]
    B = Book(5111, "Europe/Vienna", "2026-04-07", 28, 43, [
        ("Hase im Klee", [("Sweater", "crew sweat", ["S", "M", "L", "XL"], col, 5400, 2300), ("Stirnband", "headband", None, col[:2], 1900, 620)]),
        ("Gipfelbuch", [(None, "hardcover book", [("liniert", "ruled"), ("kariert", "squared"), ("blanko", "blank")], None, 1700, 590)]),
        ("Ameisenstraße", [(None, "kids leggings", [("92", "92"), ("104", "104"), ("116", "116")], col[:2], 2300, 880)])],
        ("Ausführung", "Größe", "Farbe"), ("size", "shade"),
        {"listing": lambda i, r: f"KR{i * 10 + 10}", "sku": lambda li, g, s, c, k: f"{10 + li}{g}{s + 1}{c + 1}", "old": lambda k: f"9{k:03d}", "vid": lambda k, li, g, s, c, r: f"{'CGK'[li] if li < 3 else 'Z'}{g}-{['S','M','L','X'][s]}-{c}", "order": lambda n, r: f"B2026-{210 + n:05d}", "uid": lambda n, r: 7000 + n * 9,
         "line": lambda n, i, r: f"{n:05d}", "sub": lambda n, t: f"CY{n + 930:05d}", "subline": lambda s, i, n: str(i), "parcel": lambda n, s: f"M{n * 3 + 2000}", "track": lambda r: f"{r.randint(10**12, 10**13 - 1)}"},
        ["AT", "AT", "DE", "DE", "IT"], ["Donaureiherpost", "Haubenlerchenpaket"], "EUR", split=.4, res=60, text=.1)
    st = {"open": "Bezahlt", "dispatched": "Verschickt", "unpaid": "Warten auf Zahlung", "cancelled": "Storniert"}
    dt = lambda t: {"datum": B.loc(t, "%d.%m.%Y"), "uhrzeit": B.loc(t, "%H:%M")} if t else {"datum": None, "uhrzeit": None}
    P.json("storefront", "bestellungen.json", {"anzahlBestellungen": len(B.orders), "erstelltAm": B.iso(B.asof), "bestellungen": [{"bestellId": o["uid"], "bestellNummer": o["id"], "kundenNummer": o["customer"], "bestellStatus": st[o["status"]], "mahnStufe": 0 if o["paid"] or o["cancelled"] else 1, "aufgegeben": dt(o["placed"]), "bezahlt": dt(o["paid"]), "lieferLand": o["country"], "waehrung": "EUR", "zahlArt": ["Karte", "Vorkasse"][o["n"] % 2],
        "summen": {"waren": com(o["goods"]), "versand": com(o["post"]), "gesamt": com(o["total"]), "steuerSatz": "20,00"}, "anmerkung": "Geschenk, bitte ohne Preis" if o["n"] % 9 == 6 else "", "werbungErlaubt": o["n"] % 2 == 1,
        "positionen": [{"positionsId": l["id"], "artikelId": l["offer"]["listing"]["id"], "artikelName": l["offer"]["listing"]["title"], "artikelNummer": l["offer"]["sku"], "auswahl": [{"merkmal": k, "wert": v} for k, v in l["offer"]["options"].items()], "wunschText": l["text"] or None, "menge": l["qty"], "mengeStorniert": l["gone"], "einzelPreis": com(l["offer"]["price"]), "gesamtPreis": com(l["offer"]["price"] * l["qty"]), "gewichtGramm": 220} for l in o["lines"]]} for o in B.orders]}, 1)
    P.json("storefront", "artikel.json", {"artikel": [{"artikelId": L["id"], "artikelName": L["title"], "kurzName": L["slug"], "angelegtAm": "12.09.2025", "angebote": [{"artikelNummer": f["sku"], "auswahl": [{"merkmal": k, "wert": v} for k, v in f["options"].items()], "preis": com(f["price"]), "bestellbar": f["buyable"]} for f in L["offers"]]} for L in B.listings]}, 1)
    w = {"received": "Open", "held": "Waiting for you", "making": "Being printed", "dispatched": "Posted", "cancelled": "Cancelled", "rejected": "Turned down"}
    t = lambda x: B.loc(x, "%d/%m/%Y %H:%M")
    P.csv("supplier", "orders.csv", [{"Our order": s["id"], "Customer": "KORNR", "Your order": s["order"]["id"] + " (shop)", "Date received": t(s["received"]), "Date due": s["due"].strftime("%d/%m/%Y"), "Date printed": t(s["printed"]), "Progress": w[s["status"]], "Invoice": f"INV{880 + s['n']}" if s["parcels"] else "", "Net EUR": dec(sum(l["v"]["cost"] * l["qty"] for l in s["lines"])), "No of lines": len(s["lines"]), "Last updated": t(s["updated"])} for s in B.subs])
    P.csv("supplier", "order_items.csv", [{"Our order": s["id"], "Item": l["id"], "Article": l["v"]["id"], "Article name": l["v"]["product"], "Size": l["v"]["parts"][0], "Shade": l["v"]["parts"][1], "Your article": l["v"]["sku"], "Quantity": l["qty"], "Price EUR": dec(l["v"]["cost"]), "Net EUR": dec(l["v"]["cost"] * l["qty"]), "Mail bag": l["sent"][0][0]["id"] if l["sent"] else ""} for s in B.subs for l in s["lines"]])
    P.csv("supplier", "mail_bags.csv", [{"Mail bag": p["id"], "Our order": s["id"], "Date posted": t(p["at"]), "Carrier": p["carrier"], "Tracking no": p["track"], "Grams": 230 * len(p["lines"]), "Postage EUR": "3.20"} for s in B.subs for p in s["parcels"]])
    q = "bestellungen[*]."; k = q + "positionen[*]."
    P.fields("storefront", "bestellungen.json", "orders", order_id=q + "bestellNummer", placed_at=(q + "aufgegeben.datum", q + "aufgegeben.uhrzeit"), paid_at=(q + "bezahlt.datum", q + "bezahlt.uhrzeit"), status=q + "bestellStatus", currency=q + "waehrung", ship_to_country=q + "lieferLand")
    P.fields("storefront", "bestellungen.json", "order_lines", order_id=q + "bestellNummer", line_id=k + "positionsId", listing_id=k + "artikelId", sku=k + "artikelNummer", title=k + "artikelName", options=k + "auswahl", quantity=k + "menge", cancelled_quantity=k + "mengeStorniert", unit_price=k + "einzelPreis")
    v = "artikel[*].angebote[*]."
    P.fields("storefront", "artikel.json", "offers", listing_id="artikel[*].artikelId", title="artikel[*].artikelName", sku=v + "artikelNummer", options=v + "auswahl", price=v + "preis", buyable=v + "bestellbar")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}; P.shop["words"] = {"orders.status": flip(st)}; P.shop["forms"] = {"dates": "%d.%m.%Y"}
    P.shop["notes"] = "Day and time are two members of an object, twice; SKUs are digits alone; artikelId is the page, artikelNummer the SKU; wunschText is no option; mahnStufe is no status of the order."
    P.fields("supplier", "orders.csv", "submissions", submission_id="Our order", order_ref="Your order", status="Progress", received_at="Date received", updated_at="Last updated")
    P.fields("supplier", "order_items.csv", "submission_lines", submission_id="Our order", line_id="Item", variant_id="Article", sku="Your article", quantity="Quantity", unit_cost="Price EUR")
    P.fields("supplier", "mail_bags.csv", "parcels", parcel_id="Mail bag", submission_id="Our order", dispatched_at="Date posted", carrier="Carrier", tracking_number="Tracking no")
    P.made["order_ref"]["suffix"] = " (shop)"; P.made["words"] = {"submissions.status": flip(w)}; P.made["forms"] = {"dates": "%d/%m/%Y"}
    P.made["notes"] = "Our order is the supplier's, Your order the shop's; Net EUR is a total in both files; No of lines is no quantity; no catalogue."
    P.done(B)


def saltlark():
    """Flat tables in one camel-case file, minor units; a Spanish row per line with a state of its own for each line."""
    P = Pair("12-saltlark", "Europe/Dublin", "telares-abubilla")
    col = [("Heath", "brezo"), ("Peat", "turba"), ("Foam", "espuma")]
    B = Book(5212, "Europe/Dublin", "2026-05-11", 25, 45, [
        ("Currach", [("Jumper", "Jersey punto", ["S", "M", "L", "XL"], col, 6400, 2750), ("Tote", "Bolsa lona", None, col[:2], 1700, 520)]),
        ("Rain Counting", [(None, "Manta", [("throw", "sofá"), ("double", "doble")], col[1:], 7200, 3200)]),
        ("Puffin Post", [("Pencil case", "Estuche", None, col, 1400, 450), ("Sticker sheet", "Pegatinas", None, None, 450, 110)])],
        ("Item", "Size", "Colour"), ("Talla", "Color"),
        {"listing": lambda i, r: str(52 + 3 * i), "sku": lambda li, g, s, c, k: f"SL-{['CUR','RAI','PUF'][li]}-{'JT'[g]}{s}{c}", "vid": lambda k, li, g, s, c, r: f"{k * 3 + 400:05d}", "order": lambda n, r: str(8100 + n), "uid": lambda n, r: f"{r.randrange(16**10):010x}",
         "line": lambda n, i, r: str(30700 + n), "sub": lambda n, t: f"{t:%y}-{n + 1550}", "subline": lambda s, i, n: str(i), "parcel": lambda n, s: f"ALB{7000 + n}", "track": lambda r: f"TN{r.randint(10**8, 10**9 - 1)}"},
        ["IE", "IE", "GB", "US"], ["Cierzo y Mulas", "Rápidos Abubilla"], "EUR", res=1, split=.5, text=.1)
    live = [s for s in B.subs if s["status"] in ("dispatched", "making", "received") and len(s["lines"]) > 1 and any(not l["sent"] for l in s["lines"])]
    for s in live[-2:]: next(l for l in s["lines"] if not l["sent"])["status"] = "cancelled"
    pay = lambda o: "paid" if o["paid"] and not o["cancelled"] else "refunded" if o["paid"] else "cancelled" if o["cancelled"] else "awaitingPayment"
    dlv = {"open": "notSent", "unpaid": "notSent", "dispatched": "sent", "cancelled": "notSent"}
    P.json("storefront", "shop-export.json", {"exportVersion": "2.1", "exportedAt": zulu(B.asof), "orders": [{"orderUid": o["uid"], "orderNumber": int(o["id"]), "orderedAt": zulu(o["placed"]), "paidAt": zulu(o["paid"]), "modifiedAt": zulu(o["updated"]), "sendBy": str(o["due"]), "paymentStatus": pay(o), "deliveryStatus": dlv[o["status"]], "destinationCountry": o["country"], "currency": "EUR", "goodsCents": o["goods"], "deliveryCents": o["post"], "totalCents": o["total"], "note": None if o["n"] % 8 else "hide the price please", "emailsAllowed": o["n"] % 3 != 0} for o in B.orders],
        "orderLines": [{"lineNumber": int(l["id"]), "orderNumber": int(o["id"]), "listingNumber": int(l["offer"]["listing"]["id"]), "listingTitle": l["offer"]["listing"]["title"], "sku": l["offer"]["sku"], "options": "; ".join(f"{k} = {v}" for k, v in l["offer"]["options"].items()), "personalisation": l["text"] or None, "quantity": l["qty"], "quantityCancelled": l["gone"], "unitPriceCents": l["offer"]["price"], "lineTotalCents": l["offer"]["price"] * l["qty"], "vatCode": "STD"} for o in B.orders for l in o["lines"]],
        "offers": [{"listingNumber": int(f["listing"]["id"]), "listingTitle": f["listing"]["title"], "sku": f["sku"], "options": "; ".join(f"{k} = {v}" for k, v in f["options"].items()), "priceCents": f["price"], "currency": "EUR", "onSale": f["buyable"], "timesSold": f["n"] * 5 % 23} for f in B.offers]}, 1)
    w = {"received": "pendiente", "held": "parado", "making": "en taller", "dispatched": "enviado", "cancelled": "anulado", "rejected": "rechazado"}
    t = lambda x: B.loc(x, "%d-%m-%Y %H:%M")
    rows = []
    for s in B.subs:
        for l in s["lines"]:
            p = l["sent"][0][0] if l["sent"] else None
            rows.append({"Parte": s["id"], "Cliente": "0077", "Pedido cliente": s["order"]["id"], "Entrada": t(s["received"]), "Plazo": s["due"].strftime("%d-%m-%Y"), "Estado del parte": w[s["status"]], "Fila": l["id"], "Artículo": l["v"]["id"], "Descripción": l["v"]["product"], "Talla": l["v"]["parts"][0], "Color": l["v"]["parts"][1], "Ref. cliente": l["v"]["sku"], "Uds.": l["qty"], "Precio €": com(l["v"]["cost"]), "Total €": com(l["v"]["cost"] * l["qty"]), "Dto. %": "0,00",
                         "Estado de la fila": w[l["status"]], "Estampado": t(s["printed"]), "Albarán": p["id"] if p else "", "Salida": t(p["at"]) if p else "", "Agencia": p["carrier"] if p else "", "Seguimiento": p["track"] if p else "", "Observaciones": ""})
    P.csv("supplier", "partes.csv", rows, delim=";", enc="utf-8-sig")
    P.csv("supplier", "tarifa.csv", [{"Artículo": v["id"], "Descripción": v["product"], "Talla": v["parts"][0], "Color": v["parts"][1], "Ref. cliente": v["sku"], "Precio €": com(v["cost"]), "Disponible": "sí" if v["available"] else "agotado", "Composición": "algodón"} for v in B.variants], delim=";", enc="utf-8-sig")
    q, k, v = "orders[*].", "orderLines[*].", "offers[*]."
    f = "shop-export.json"
    P.fields("storefront", f, "orders", order_id=q + "orderNumber", placed_at=q + "orderedAt", paid_at=q + "paidAt", status=(q + "paymentStatus", q + "deliveryStatus"), currency=q + "currency", promised_by=q + "sendBy", ship_to_country=q + "destinationCountry", updated_at=q + "modifiedAt")
    P.fields("storefront", f, "order_lines", order_id=k + "orderNumber", line_id=k + "lineNumber", listing_id=k + "listingNumber", sku=k + "sku", title=k + "listingTitle", options=k + "options", quantity=k + "quantity", cancelled_quantity=k + "quantityCancelled", unit_price=k + "unitPriceCents")
    P.fields("storefront", f, "offers", listing_id=v + "listingNumber", title=v + "listingTitle", sku=v + "sku", options=v + "options", price=v + "priceCents", currency=v + "currency", buyable=v + "onSale")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {f"orders.status@{q}paymentStatus": {"paid": "open", "awaitingPayment": "unpaid", "refunded": "cancelled", "cancelled": "cancelled"}, f"orders.status@{q}deliveryStatus": {"notSent": "open", "sent": "dispatched"}}
    P.shop["forms"] = {"money": "minor units"}
    P.shop["notes"] = "Three tables in one file; options is a text of names and values; personalisation beside it is none; only the payment's status says that an order is off (refunded, cancelled)."
    f = "partes.csv"
    P.fields("supplier", f, "submissions", submission_id="Parte", order_ref="Pedido cliente", status="Estado del parte", received_at="Entrada")
    P.fields("supplier", f, "submission_lines", submission_id="Parte", line_id="Fila", variant_id="Artículo", sku="Ref. cliente", quantity="Uds.", status="Estado de la fila", unit_cost="Precio €")
    P.fields("supplier", f, "parcels", parcel_id="Albarán", submission_id="Parte", dispatched_at="Salida", carrier="Agencia", tracking_number="Seguimiento")
    P.fields("supplier", "tarifa.csv", "variants", variant_id="Artículo", sku="Ref. cliente", product="Descripción", options=["Talla", "Color"], unit_cost="Precio €", available="Disponible")
    P.made["options"] = {"variants": ["Talla", "Color"]}; P.made["words"] = {"submissions.status": flip(w), "submission_lines.status": flip(w), "variants.available": {"sí": "true", "agotado": "false"}}; P.made["forms"] = {"dates": "%d-%m-%Y"}
    P.made["notes"] = "Estado del parte is the whole's, Estado de la fila the line's; Albarán names the parcel of a line; Estampado is when it was printed; leading zeros belong to the article's number."
    P.done(B)


PAIRS = [barca, fernweka, lune_grivelee, junipero, kornrade, saltlark]
