"""The fourth to the eighth pair."""
from datetime import timedelta
from book import Book, Pair, com, dec, drop_empty
import make


def market_stall():
    """A Spanish sheet, one row per order with numbered columns; a supplier that keeps one record per line."""
    P = Pair("04-market-stall", "Europe/Madrid", "alder-and-ink")
    col = [("Musgo", "moss"), ("Teja", "terracotta"), ("Añil", "indigo"), ("Crudo", "ecru")]
    B = Book(4404, "Europe/Madrid", "2026-02-09", 33, 63, [
        ("Delantal Golondrina", [(None, "apron", [("adulto", "adult"), ("niño", "child")], col, 2650, 890)]),
        ("Sudadera Faro", [(None, "sweatshirt", ["S", "M", "L", "XL"], col[:3], 3900, 1580)]),
        ("Bolsa Limonero", [(None, "tote bag", None, col, 1450, 430)]),
        ("Lámina Azulejo", [(None, "art print", ["20x30", "30x40", "50x70"], None, 1800, 510)]),
        ("Pañuelo Marea", [(None, "bandana", None, col[:3], 1250, 390)])],
        ("Artículo", "Talla", "Color"), sku=lambda li, g, s, c, k: f"{['DEL','SUD','BOL','LAM','PAN'][li]}{s}{c}{k:03d}", vid=lambda k, li, g, s, c, r: f"v{r.randrange(16**6):06x}",
        order_id=lambda n: f"{n}", first_no=3187, sub_id=lambda n, t: str(880400 + n), line_id=lambda n, i, r: "", sub_line_id=lambda s, i, n: "1", parcel_id=lambda n, s: "",
        track=lambda r: f"AV-{r.randint(10**8, 10**9 - 1)}", carriers=["Correo Ave", "Mensaje 24"], countries=["ES", "ES", "ES", "PT", "FR"], listing_id=lambda i, r: f"F{i * 4 + 12}", per_line=True, text=.15)
    euro = lambda c: com(c) + " €"
    sit = {"open": "Cobrado, en taller", "dispatched": "Entregado a correos", "unpaid": "Pendiente de cobro", "cancelled": "Anulado"}
    rows, n = [], 4
    for o in B.orders:
        w = o["who"]
        x = {"Albarán": f"A-{o['n'] + 41}/26", "Pedido": int(o["id"]), "Fecha": B.loc(o["placed"], "%d/%m/%Y %H:%M"), "Situación": sit[o["status"]], "Fecha cobro": B.loc(o["paid"], "%d/%m/%Y %H:%M"), "Clienta/e": w["name"], "Correo": w["mail"], "Teléfono": w["phone"],
             "C.P.": w["zip"], "Destino": o["country"], "Portes": euro(o["post"]), "Total": euro(o["total"]), "Observaciones": "", "Canal": "web"}
        for i, l in enumerate(o["lines"], 1):
            f = l["offer"]; d = ", ".join([f"{k}: {v}" for k, v in f["options"].items()] + ([f"Texto: {l['text'].replace(', ', ' ')}"] if l["text"] else []))
            x |= {f"Artículo {i}": f["listing"]["title"], f"Cód. {i}": f["sku"], f"Detalle {i}": d, f"Uds. {i}": l["qty"], f"Precio {i}": euro(f["price"])}
        rows.append(x)
    head = ["Albarán", "Pedido", "Fecha", "Situación", "Fecha cobro", "Clienta/e", "Correo", "Teléfono", "C.P.", "Destino", "Canal"] + [f"{h} {i}" for i in range(1, n + 1) for h in ("Artículo", "Cód.", "Detalle", "Uds.", "Precio")] + ["Portes", "Total", "Observaciones"]
    P.ods("storefront", "pedidos.ods", head, rows, [["Puesto Alondra: pedidos de la web"], ["del 9 de febrero en adelante"]], "Pedidos")
    P.json("storefront", "fichas.json", {"fichas": [{"ficha": L["id"], "titulo": L["title"], "fotos": 3, "combinaciones": [{"cod": f["sku"], "atributos": [{"atributo": k, "valor": v} for k, v in f["options"].items()], "pvp": com(f["price"]), "a_la_venta": f["buyable"]} for f in L["offers"]]} for L in B.listings]}, 1)
    st = {"received": "new", "held": "parked", "making": "printing", "dispatched": "posted", "cancelled": "dropped", "rejected": "bounced"}
    e = lambda t: int(t.timestamp())
    rows = []
    for s in B.subs:
        l = s["lines"][0]; p = s["parcels"][0] if s["parcels"] else None
        rows.append({"job": int(s["id"]), "shop": "alondra", "shop_ref": f"AL-{s['order']['id']}/26", "made": e(s["received"]), "phase": st[s["status"]], "vcode": l["v"]["id"], "art_no": "AL." + l["v"]["sku"], "pcs": l["qty"], "rate": dec(l["v"]["cost"]), "amount": dec(l["v"]["cost"] * l["qty"]),
                     "posted": e(p["at"]) if p else None, "label": p["track"] if p else None, "courier": p["carrier"] if p else None, "moved": e(s["updated"]), "rush": False})
    P.jsonl("supplier", "jobs.jsonl", rows)
    P.json("supplier", "range.json", [{"vcode": v["id"], "art_no": "AL." + v["sku"], "article": v["product"], "dim": drop_empty({"size": v["size"], "colour": v["colour"]}), "rate": dec(v["cost"]), "state": "live" if v["available"] else "resting"} for v in B.variants], 1)
    num = lambda h: [f"{h} {i}" for i in range(1, n + 1)]
    f = "pedidos.ods"
    P.fields("storefront", f, "orders", order_id="Pedido", placed_at="Fecha", paid_at="Fecha cobro", status="Situación", ship_to_country="Destino")
    P.fields("storefront", f, "order_lines", order_id="Pedido", sku=num("Cód."), title=num("Artículo"), options=num("Detalle"), quantity=num("Uds."), unit_price=num("Precio"))
    c = "fichas[*].combinaciones[*]."
    P.fields("storefront", "fichas.json", "offers", listing_id="fichas[*].ficha", title="fichas[*].titulo", sku=c + "cod", options=c + "atributos", price=c + "pvp", buyable=c + "a_la_venta")
    s = P.truth["storefront"]; s["words"] = {"orders.status": {v: k for k, v in sit.items()}}; s["options"] = {"order_lines": ["Talla", "Color"], "offers": ["Talla", "Color"]}
    s["notes"] = "Four lines in numbered columns under two title rows; Albarán is the delivery note; Texto in the detail is typed by customers. Decimal commas in JSON strings in the second file."
    t = "jobs.jsonl"
    P.fields("supplier", t, "submissions", submission_id="job", order_ref="shop_ref", status="phase", received_at="made", updated_at="moved")
    P.fields("supplier", t, "submission_lines", submission_id="job", variant_id="vcode", sku="art_no", quantity="pcs", unit_cost="rate")
    P.fields("supplier", t, "parcels", parcel_id="label", submission_id="job", dispatched_at="posted", carrier="courier", tracking_number="label")
    q = "[*]."
    P.fields("supplier", "range.json", "variants", variant_id=q + "vcode", sku=q + "art_no", product=q + "article", options=q + "dim", unit_cost=q + "rate", available=q + "state")
    s = P.truth["supplier_source"]; s["order_ref"] = {"prefix": "AL-", "suffix": "/26"}; s["sku"]["prefix"] = "AL."; s["options"] = {"variants": ["size", "colour"]}
    s["words"] = {"submissions.status": {v: k for k, v in st.items()}, "variants.available": {"live": "true", "resting": "false"}}
    s["notes"] = "A record is one line; an order has several. made, posted and moved are times in seconds; posted is a word of phase too."
    make.exchange(P, B, ["order_id", "placed_at", "paid_at", "status", "ship_to_country"], ["sku", "title", "options", "quantity", "unit_price"], lambda f: f["options"], ["listing_id", "sku", "title", "options", "price", "buyable"],
                  ["variant_id", "sku", "product", "options", "unit_cost", "available"], lambda v: drop_empty({"size": v["size"], "colour": v["colour"]}), ["order_ref", "status", "received_at", "updated_at"],
                  ["variant_id", "sku", "quantity", "unit_cost"], ["dispatched_at", "carrier", "tracking_number"], by_track=True)
    P.done(B)


def trunk():
    """A French API several objects deep with decimal commas in strings; a supplier's four abbreviated tables."""
    P = Pair("05-trunk", "Europe/Paris", "kiln-lane-prints")
    col = [("Ardoise", "slate"), ("Safran", "saffron"), ("Lavande", "lavender"), ("Olive", "olive")]
    B = Book(5505, "Europe/Paris", "2026-04-01", 29, 55, [
        ("Marinière Mouette", [("Adulte", "Striped LS", ["XS", "S", "M", "L", "XL"], col[:2], 4200, 1660), ("Enfant", "Striped LS Kids", [("4 ans", "4Y"), ("6 ans", "6Y"), ("8 ans", "8Y")], col[:2], 3100, 1220)]),
        ("Torchon Artichaut", [(None, "Tea Towel", None, col, 1390, 380)]),
        ("Trousse Boussole", [(None, "Zip Pouch", [("petite", "SM"), ("grande", "LG")], col, 1690, 520)]),
        ("Mug Phare", [(None, "Mug", None, None, 1450, 490)]),
        ("Coussin Hirondelle", [(None, "Cushion", ["40x40", "50x50"], col[1:], 3200, 1150)])],
        ("Modèle", "Taille", "Coloris"), sku=lambda li, g, s, c, k: f"MP-{['mar','tor','tro','mug','cou'][li]}{g or ''}-{s}{c}", vid=lambda k, li, g, s, c, r: f"{300 + li * 20 + g * 7}-{s + 1}{'ABCD'[c]}",
        order_id=lambda n: f"MP{n}", first_no=5120, sub_id=lambda n, t: f"{61200 + n}", line_id=lambda n, i, r: str(90210 + n), sub_line_id=lambda s, i, n: f"{i:02d}", parcel_id=lambda n, s: f"C{8800 + n}",
        track=lambda r: f"{letters(r)}{r.randint(10**8, 10**9 - 1)}", carriers=["GULLPOST", "HARE"], countries=["FR", "FR", "FR", "BE", "CH"], listing_id=lambda i, r: f"fiche-{i + 31}", res=60, split=.2, promise=9, text=.13)
    pay = lambda o: "réglé" if o["paid"] else "en attente"
    exp = {"open": "à faire", "unpaid": "à faire", "dispatched": "expédiée", "cancelled": "à faire"}
    def line(l):
        f = l["offer"]
        return {"id": int(l["id"]), "article": {"fiche": f["listing"]["id"], "intitule": f["listing"]["title"], "code": f["sku"]}, "choix": [{"libelle": k, "valeur": v} for k, v in f["options"].items()] + ([{"libelle": "Texte à imprimer", "valeur": l["text"]}] if l["text"] else []),
                "nombre": l["qty"], "prix": {"unitaire": com(f["price"]), "total": com(f["price"] * l["qty"]), "tva": "20,00"}}
    P.json("storefront", "commandes.json", {"reponse": {"statut": "ok", "page": {"no": 1, "sur": 1}, "liste": [{"commande": {"entete": {"id": 410000 + o["n"] * 7, "numero": o["id"], "reference": f"{o['who']['last'][:4].upper()}{o['n']}", "creee": B.iso(o["placed"]), "modifiee": B.iso(o["updated"]), "date": B.loc(o["placed"] + timedelta(days=1), "%Y-%m-%d")},
        "acheteur": {"nom": o["who"]["last"], "prenom": o["who"]["first"], "courriel": o["who"]["mail"], "adresse": {"rue": o["who"]["street"], "cp": o["who"]["zip"], "pays": o["country"]}}, "reglement": {"statut": pay(o), "le": B.iso(o["paid"]) or None, "moyen": "carte", "montant": com(o["total"])},
        "envoi": {"statut": exp[o["status"]], "au_plus_tard": str(o["promise"]), "frais": com(o["post"])}, "annulee_le": B.iso(o["cancelled"]) or None, "corps": {"lignes": [line(l) for l in o["lines"]]}, "devise": "EUR"}} for o in B.orders]}})
    st = {"received": "RCV", "held": "HLD", "making": "WIP", "dispatched": "SHP", "cancelled": "CXL", "rejected": "REJ"}
    naive = lambda t: t.astimezone(B.zone).replace(tzinfo=None)
    P.xlsx("supplier", "JOBS.xlsx", ["Job#", "Acct", "CustRef", "RcvDt", "DueDt", "Stat", "Prty", "Via", "Ttl"], [{"Job#": int(s["id"]), "Acct": "MALLE", "CustRef": s["order"]["id"] + "-LMP", "RcvDt": naive(s["received"]), "DueDt": naive(s["received"] + timedelta(days=5)).replace(hour=0, minute=0), "Stat": st[s["status"]], "Prty": 5, "Via": "STD",
        "Ttl": sum(l["v"]["cost"] * l["qty"] for l in s["lines"]) / 100} for s in B.subs], sheet="JOBS")
    P.csv("supplier", "JOBLN.CSV", ["Job#", "Ln", "Var", "Descr", "Qty", "UC", "ExtC", "Wt"], [[s["id"], l["id"], l["v"]["id"], l["v"]["product"].upper(), l["qty"], dec(l["v"]["cost"]), dec(l["v"]["cost"] * l["qty"]), "0.2"] for s in B.subs for l in s["lines"]])
    P.csv("supplier", "CTN.CSV", ["Ctn#", "Job#", "OutDt", "Carr", "Trk#", "Ln", "Qty"], [[p["id"], s["id"], B.loc(p["at"], "%d/%m/%Y %H:%M"), p["carrier"], p["track"], a, n] for s in B.subs for p in s["parcels"] for a, n in p["lines"]])
    P.csv("supplier", "VAR.CSV", ["Var", "CustItm", "Prod", "Sz", "Clr", "UC", "Avl", "Upd"], [[v["id"], v["sku"], v["product"], v["size"], v["colour"], dec(v["cost"]), "Y" if v["available"] else "N", "01/03/2026"] for v in B.variants])
    f, q = "commandes.json", "reponse.liste[*].commande."; k = q + "corps.lignes[*]."
    P.fields("storefront", f, "orders", order_id=q + "entete.numero", placed_at=q + "entete.creee", paid_at=q + "reglement.le", status=(q + "reglement.statut", q + "envoi.statut", q + "annulee_le"), currency=q + "devise", promised_by=q + "envoi.au_plus_tard", ship_to_country=q + "acheteur.adresse.pays", updated_at=q + "entete.modifiee")
    P.fields("storefront", f, "order_lines", order_id=q + "entete.numero", line_id=k + "id", listing_id=k + "article.fiche", sku=k + "article.code", title=k + "article.intitule", options=k + "choix", quantity=k + "nombre", unit_price=k + "prix.unitaire")
    s = P.truth["storefront"]; s["options"] = {"order_lines": ["Modèle", "Taille", "Coloris"]}
    s["words"] = {f"orders.status@{q}reglement.statut": {"réglé": "open", "en attente": "unpaid"}, f"orders.status@{q}envoi.statut": {"à faire": "open", "expédiée": "dispatched"}, f"orders.status@{q}annulee_le": {"*": "cancelled", "": "open"}}
    s["notes"] = "statut stands three times, the first is the answer's own; id and reference are not what the supplier quotes, numero is; date is the invoice's day. Texte à imprimer among the choices is typed."
    P.fields("supplier", "JOBS.xlsx", "submissions", submission_id="Job#", order_ref="CustRef", status="Stat", received_at="RcvDt")
    P.fields("supplier", "JOBLN.CSV", "submission_lines", submission_id="Job#", line_id="Ln", variant_id="Var", quantity="Qty", unit_cost="UC")
    P.fields("supplier", "CTN.CSV", "parcels", parcel_id="Ctn#", submission_id="Job#", dispatched_at="OutDt", carrier="Carr", tracking_number="Trk#")
    P.fields("supplier", "CTN.CSV", "parcel_lines", parcel_id="Ctn#", submission_line_id="Ln", quantity="Qty")
    P.fields("supplier", "VAR.CSV", "variants", variant_id="Var", sku="CustItm", product="Prod", options=["Sz", "Clr"], unit_cost="UC", available="Avl")
    s = P.truth["supplier_source"]; s["order_ref"]["suffix"] = "-LMP"; s["options"] = {"variants": ["Sz", "Clr"]}
    used = {x["status"] for x in B.subs}
    s["words"] = {"submissions.status": {v: k for k, v in st.items() if k in used}, "variants.available": {"Y": "true", "N": "false"}}
    s["notes"] = "Abbreviations throughout; DueDt beside RcvDt; times are cells of a sheet in one file and day-first text in another; a carton has a row per line in it."
    make.exchange(P, B, ["order_id", "placed_at", "paid_at", "status", "currency", "promised_by", "ship_to_country", "updated_at"], ["listing_id", "sku", "title", "options", "quantity", "unit_price"], lambda f: f["options"],
                  variants=["variant_id", "sku", "product", "options", "unit_cost", "available"], vopts=lambda v: drop_empty({"Sz": v["size"], "Clr": v["colour"]}), subs=["order_ref", "status", "received_at"], slines=["variant_id", "quantity", "unit_cost"],
                  parcels=["dispatched_at", "carrier", "tracking_number"], plines=True, currency="EUR", line_no=False)
    P.done(B)


def letters(r): return "".join(r.choice("GHKLPT") for _ in range(2))


def wide_text():
    """UTF-16 tables of heads and lines joined by order number; dockets in JSON, variants under their products."""
    P = Pair("06-wide-text", "Europe/London", "tannery-street-works")
    col = [("Bracken", "BRK"), ("Slate", "SLT"), ("Heather", "HTR")]
    B = Book(6606, "Europe/London", "2026-03-16", 40, 66, [
        ("Kite Over Fell", [("Fleece", "Half-zip fleece", ["S", "M", "L", "XL"], col, 4600, 1900), ("Long sleeve", "Long sleeve top", ["S", "M", "L", "XL"], col, 3200, 1250)]),
        ("Cobble Map", [(None, "Tea tray", [("Round", "RND"), ("Oblong", "OBL")], None, 2800, 1180)]),
        ("Drystone Socks", [(None, "Socks", ["4-7", "8-11"], col, 1150, 390)]),
        ("Peel Tower", [("Coaster set", "Coasters x4", None, None, 1600, 560), ("Bookmark", "Bookmark", None, None, 500, 110)]),
        ("Curlew Bag", [(None, "Canvas bag", None, col, 1750, 520)])],
        ("Made as", "Size", "Colour"), sku=lambda li, g, s, c, k: f"{['KOF','COB','DRY','PEE','CUR'][li]}/{k:03d}", vid=lambda k, li, g, s, c, r: str(50010 + k * 3), order_id=lambda n: f"CK-{n}", first_no=930,
        sub_id=lambda n, t: f"{t:%y%m}{n + 40:04d}", line_id=lambda n, i, r: str(i), sub_line_id=lambda s, i, n: f"{700000 + n * 11}", parcel_id=lambda n, s: f"{s['id']}.{letters(s_rng)}{n}", track=lambda r: f"LB{r.randint(10**8, 10**9 - 1)}GB",
        carriers=["Longbarrow", "Wren Mail"], countries=["GB", "GB", "GB", "IE"], listing_id=lambda i, r: str(2200 + i * 9), split=.2, text=.12, remakes=2)
    gbp = lambda c: "£" + dec(c)
    def text(f, t=""): return "; ".join([f"{k}: {v}" for k, v in f["options"].items()] + ([f"Wording: {t}"] if t else []))
    yn = lambda x: "Yes" if x else "No"
    P.csv("storefront", "heads.csv", ["number", "order", "ref", "placed", "date", "paid?", "money in", "gone?", "void?", "name", "email", "town", "cc", "carriage", "total", "how heard", "memo"],
          [[f"{o['n'] + 5001}", o["id"], f"{o['who']['last'][:3]}-{o['n'] * 17 % 89}" if o["n"] % 3 == 0 else "", B.loc(o["placed"], "%d/%m/%Y %H:%M"), B.loc(o["placed"], "%d/%m/%Y"), yn(o["paid"]), B.loc(o["paid"], "%d/%m/%Y %H:%M"), yn(o["gone"]), yn(o["cancelled"]), o["who"]["name"], o["who"]["mail"], o["who"]["town"],
            o["country"], gbp(o["post"]), gbp(o["total"]), ["friend", "fair", "search"][o["n"] % 3], ""] for o in B.orders], ",", "utf-16")
    P.csv("storefront", "lines.csv", ["order", "n", "page", "stock code", "page name", "chosen", "how many", "each", "total"], [[o["id"], i, l["offer"]["listing"]["id"], l["offer"]["sku"], l["offer"]["listing"]["title"], text(l["offer"], l["text"]), l["qty"], gbp(l["offer"]["price"]), gbp(l["offer"]["price"] * l["qty"])]
          for o in B.orders for i, l in enumerate(o["lines"], 1)], ",", "utf-16")
    P.csv("storefront", "pages.csv", ["page", "page name", "chosen", "stock code", "each", "on sale"], [[f["listing"]["id"], f["listing"]["title"], text(f), f["sku"], gbp(f["price"]), yn(f["buyable"])] for f in B.offers], ",", "utf-16")
    st = {"received": "logged", "held": "query", "making": "bench", "dispatched": "van", "cancelled": "withdrawn", "rejected": "returned unmade"}
    P.json("supplier", "dockets.json", [{"docket": {"id": s["id"], "account": {"id": 77, "name": "Cobble and Kite"}, "reference": "order " + s["order"]["id"], "made_again_for": s["replaces"] or None, "where": st[s["status"]], "clock": {"in": B.iso(s["received"].astimezone(B.zone)), "last": B.iso(s["updated"]), "due": B.iso(s["received"] + timedelta(days=5))}},
        "items": [{"id": int(l["id"]), "variant": {"id": int(l["v"]["id"]), "code": "TS:" + l["v"]["sku"]}, "count": l["qty"], "pence": {"each": l["v"]["cost"], "all": l["v"]["cost"] * l["qty"]}} for l in s["lines"]],
        "parcels": [{"id": p["id"], "left": B.iso(p["at"]), "carrier": {"name": p["carrier"], "barcode": p["track"]}, "contents": [{"item": int(a), "count": n} for a, n in p["lines"]]} for p in s["parcels"]]} for s in B.subs])
    groups = {}
    for v in B.variants: groups.setdefault(v["product"], []).append(v)
    P.json("supplier", "goods.json", {"goods": [{"id": 10 + i, "name": g, "material": "various", "variants": [{"id": int(v["id"]), "code": "TS:" + v["sku"], "size": v["size"] or None, "colour": v["colour"] or None, "pence": v["cost"], "made": v["available"]} for v in vs]} for i, (g, vs) in enumerate(groups.items())]}, 1)
    P.fields("storefront", "heads.csv", "orders", order_id="order", placed_at="placed", paid_at="money in", status=("paid?", "gone?", "void?"), ship_to_country="cc")
    P.fields("storefront", "lines.csv", "order_lines", order_id="order", line_id="n", listing_id="page", sku="stock code", title="page name", options="chosen", quantity="how many", unit_price="each")
    P.fields("storefront", "pages.csv", "offers", listing_id="page", title="page name", options="chosen", sku="stock code", price="each", buyable="on sale")
    s = P.truth["storefront"]; names = ["Made as", "Size", "Colour"]; s["options"] = {"order_lines": names, "offers": names}
    s["words"] = {"orders.status@paid?": {"Yes": "open", "No": "unpaid"}, "orders.status@gone?": {"Yes": "dispatched", "No": "open"}, "orders.status@void?": {"Yes": "cancelled", "No": "open"}, "offers.buyable": {"Yes": "true", "No": "false"}}
    s["notes"] = "number is the invoice's, ref the customer's, date the invoice's day; n counts lines, how many is the quantity; three columns of Yes and No make the status; Wording within the choice is typed."
    q, k, g = "[*].docket.", "[*].items[*].", "[*].parcels[*]."
    P.fields("supplier", "dockets.json", "submissions", submission_id=q + "id", order_ref=q + "reference", replaces=q + "made_again_for", status=q + "where", received_at=q + "clock.in", updated_at=q + "clock.last")
    P.fields("supplier", "dockets.json", "submission_lines", submission_id=q + "id", line_id=k + "id", variant_id=k + "variant.id", sku=k + "variant.code", quantity=k + "count", unit_cost=k + "pence.each")
    P.fields("supplier", "dockets.json", "parcels", parcel_id=g + "id", submission_id=q + "id", dispatched_at=g + "left", carrier=g + "carrier.name", tracking_number=g + "carrier.barcode")
    P.fields("supplier", "dockets.json", "parcel_lines", parcel_id=g + "id", submission_line_id=g + "contents[*].item", quantity=g + "contents[*].count")
    v = "goods[*].variants[*]."
    P.fields("supplier", "goods.json", "variants", variant_id=v + "id", sku=v + "code", product="goods[*].name", options=[v + "size", v + "colour"], unit_cost=v + "pence", available=v + "made")
    s = P.truth["supplier_source"]; s["order_ref"]["prefix"] = "order "; s["sku"]["prefix"] = "TS:"; s["options"] = {"variants": ["size", "colour"]}; s["words"] = {"submissions.status": {v: k for k, v in st.items()}}
    s["notes"] = "id at five levels; the reference is a phrase; the docket's number begins with year and month; made_again_for names an earlier docket; products and their variants are nested in the catalogue."
    make.exchange(P, B, ["order_id", "placed_at", "paid_at", "status", "ship_to_country"], ["listing_id", "sku", "title", "options", "quantity", "unit_price"], lambda f: f["options"], ["listing_id", "sku", "title", "options", "price", "buyable"],
                  ["variant_id", "sku", "product", "options", "unit_cost", "available"], lambda v: drop_empty({"size": v["size"], "colour": v["colour"]}), ["order_ref", "status", "received_at", "replaces", "updated_at"], ["variant_id", "sku", "quantity", "unit_cost"],
                  ["dispatched_at", "carrier", "tracking_number"], True)
    P.done(B)


def terse():
    """One-letter JSON Lines; a German supplier's two tables joined by order number, a SKU alone in the lines."""
    P = Pair("07-terse", "Europe/Stockholm", "druckhof-ost")
    col = [("lingon", "LIN"), ("tjära", "TJA"), ("dimma", "DIM")]
    B = Book(7725, "Europe/Stockholm", "2026-05-04", 31, 70, [
        ("Nettle crew", [(None, "Pullover", ["XS", "S", "M", "L", "XL"], col, 54900, 19800)]), ("Elk apron", [(None, "Schürze", None, col, 32900, 9900)]),
        ("Pine cone print", [(None, "Druck", ["A5", "A4", "A3"], None, 18900, 4900)]), ("Birch tray", [(None, "Tablett", ["27x20", "43x22"], col[:2], 27900, 10900)]), ("Fox cub romper", [(None, "Strampler", ["56", "62", "68", "74"], col[1:], 29900, 11200)])],
        ("kind", "sz", "cl"), sku=lambda li, g, s, c, k: f"{'NEPBF'[li]}{k:03d}{'xyz'[c]}", vid=lambda k, li, g, s, c, r: "", order_id=lambda n: f"N{n}", first_no=8805, sub_id=lambda n, t: f"DO{n + 1890}", line_id=lambda n, i, r: f"{n:x}".zfill(4),
        sub_line_id=lambda s, i, n: str(i * 10), parcel_id=lambda n, s: "", track=lambda r: f"{r.randint(10**13, 10**14 - 1)}", carriers=["Kranichpost", "Hofbote"], countries=["SE", "SE", "NO", "FI", "DK"], listing_id=lambda i, r: f"p{i + 3}", res=1, text=.1)
    for s in B.subs: s["received"] = s["received"].replace(second=0)
    for s in B.subs:
        for p in s["parcels"]: p["at"] = p["at"].replace(second=0)
    e = lambda t: int(t.timestamp()) if t else None
    st = {"open": "pd", "dispatched": "sh", "unpaid": "nw", "cancelled": "cx"}
    P.jsonl("storefront", "o.jsonl", [{"k": 40000 + o["n"], "o": o["id"], "t": e(o["placed"]), "pt": e(o["paid"]), "ct": e(o["cancelled"]), "m": e(o["updated"]), "s": st[o["status"]], "c": {"k": 900 + o["n"] * 5, "n": o["who"]["name"], "e": o["who"]["mail"], "cc": o["country"]}, "cur": "SEK", "tot": o["total"], "fr": o["post"],
        "l": [{"k": l["id"], "p": l["offer"]["listing"]["id"], "n": l["offer"]["listing"]["title"], "sku": l["offer"]["sku"], "v": {**l["offer"]["options"], **({"tx": l["text"]} if l["text"] else {})}, "q": l["qty"], "pr": l["offer"]["price"], "st": l["offer"]["price"] * l["qty"]} for l in o["lines"]]} for o in B.orders])
    P.jsonl("storefront", "p.jsonl", [{"p": L["id"], "n": L["title"], "t": 1767225600, "vs": [{"sku": f["sku"], "v": f["options"], "pr": f["price"], "on": int(f["buyable"])} for f in L["offers"]]} for L in B.listings])
    sw = {"received": "eingegangen", "held": "Rückfrage", "making": "in Fertigung", "dispatched": "versendet", "cancelled": "storniert", "rejected": "abgelehnt"}
    p0 = lambda s: s["parcels"][0] if s["parcels"] else {"at": None, "track": "", "carrier": ""}
    P.csv("supplier", "Auftragskopf.csv", ["Auftrags-Nr.", "Kd.-Nr.", "Ihr Zeichen", "Angenommen", "Stand", "Rechnung", "Netto", "Ausgang", "Versender", "Paketnummer", "Vermerk"],
          [[s["id"], "10488", s["order"]["id"] + " (Nettle)", B.loc(s["received"], "%d.%m.%Y, %H:%M"), sw[s["status"]], f"RG{3000 + i}" if s["parcels"] else "", com(sum(l["v"]["cost"] * l["qty"] for l in s["lines"])), B.loc(p0(s)["at"], "%d.%m.%Y, %H:%M"), p0(s)["carrier"], p0(s)["track"], ""] for i, s in enumerate(B.subs)], ";", "cp1252")
    P.csv("supplier", "Auftragszeilen.csv", ["Auftrags-Nr.", "Zeile", "Sachnummer", "Text", "Stück", "Einzel", "Gesamt"], [[s["id"], l["id"], l["v"]["sku"], l["v"]["product"], l["qty"], com(l["v"]["cost"]), com(l["v"]["cost"] * l["qty"])] for s in B.subs for l in s["lines"]], ";", "cp1252")
    k = "l[*]."
    P.fields("storefront", "o.jsonl", "orders", order_id="o", placed_at="t", paid_at="pt", status="s", currency="cur", ship_to_country="c.cc", updated_at="m")
    P.fields("storefront", "o.jsonl", "order_lines", order_id="o", line_id=k + "k", listing_id=k + "p", sku=k + "sku", title=k + "n", options=k + "v", quantity=k + "q", unit_price=k + "pr")
    P.fields("storefront", "p.jsonl", "offers", listing_id="p", title="n", sku="vs[*].sku", options="vs[*].v", price="vs[*].pr", buyable="vs[*].on")
    s = P.truth["storefront"]; s["options"] = {"order_lines": ["sz", "cl"], "offers": ["sz", "cl"]}; s["words"] = {"orders.status": {v: k for k, v in st.items()}, "offers.buyable": {"1": "true", "0": "false"}}
    s["notes"] = "Keys of one or two letters, k at three levels; four times in seconds; money in minor units; tx is typed; nobody can tell pd, nw, cx for sure."
    P.fields("supplier", "Auftragskopf.csv", "submissions", submission_id="Auftrags-Nr.", order_ref="Ihr Zeichen", status="Stand", received_at="Angenommen")
    P.fields("supplier", "Auftragskopf.csv", "parcels", parcel_id="Paketnummer", submission_id="Auftrags-Nr.", dispatched_at="Ausgang", carrier="Versender", tracking_number="Paketnummer")
    P.fields("supplier", "Auftragszeilen.csv", "submission_lines", submission_id="Auftrags-Nr.", line_id="Zeile", sku="Sachnummer", quantity="Stück", unit_cost="Einzel")
    s = P.truth["supplier_source"]; s["order_ref"]["suffix"] = " (Nettle)"; s["words"] = {"submissions.status": {v: k for k, v in sw.items()}}
    s["notes"] = "Only a SKU (Sachnummer) and no catalogue; a comma between day and time; Rechnung is rising too; the customer number is constant."
    make.exchange(P, B, ["order_id", "placed_at", "paid_at", "status", "currency", "ship_to_country", "updated_at"], ["listing_id", "sku", "title", "options", "quantity", "unit_price"], lambda f: f["options"], ["listing_id", "sku", "title", "options", "price", "buyable"],
                  subs=["order_ref", "status", "received_at"], slines=["sku", "quantity", "unit_cost"], parcels=["dispatched_at", "carrier", "tracking_number"], currency="SEK", line_no=False, by_track=True)
    P.done(B)


def flat():
    """Flat JSON in two files joined by order number, a payment's status; a Spanish sheet, a row per line."""
    P = Pair("08-flat", "America/Monterrey", "imprenta-del-cerro")
    col = [("Agave", "agave"), ("Cactus bloom", "flor de nopal"), ("Adobe", "adobe")]
    B = Book(8808, "America/Monterrey", "2026-06-08", 36, 62, [
        ("Roadrunner tee", [(None, "Playera", ["S", "M", "L", "XL", "2XL"], col, 2600, 980)]), ("Desert bloom tumbler", [(None, "Termo", ["12oz", "20oz"], col[:2], 2800, 1120)]), ("Mesa blanket", [(None, "Cobija", [("Throw", "chica"), ("Queen", "grande")], col, 6200, 2850)]),
        ("Lizard sticker sheet", [(None, "Planilla", None, None, 700, 150)]), ("Saltmarsh visor", [(None, "Visera", None, col, 2100, 760)])],
        ("type", "size", "color"), sku=lambda li, g, s, c, k: f"{4000 + k * 11}", vid=lambda k, li, g, s, c, r: f"IC-{r.randrange(36**3):05d}-{k}", order_id=lambda n: str(n), first_no=15400, sub_id=lambda n, t: f"OP-{n + 2290}", line_id=lambda n, i, r: str(7740000 + n * 9),
        sub_line_id=lambda s, i, n: str(i), parcel_id=lambda n, s: "", track=lambda r: f"GU{r.randint(10**9, 10**10 - 1)}", carriers=["Paloma Express"], countries=["MX", "MX", "US", "GT"], listing_id=lambda i, r: str(r.randint(510000, 590000)), res=1, partial=True, text=.12)
    for s in B.subs: s["received"] = s["received"].replace(second=0)
    z = lambda t: t.strftime("%Y-%m-%dT%H:%M:%SZ") if t else None
    pay = {"open": "captured", "dispatched": "captured", "unpaid": "awaiting"}
    def pst(o): return "awaiting" if not o["paid"] else "captured" if not o["cancelled"] else "returned"
    dis = {"open": "packing_queue", "unpaid": "packing_queue", "dispatched": "handed_over", "cancelled": "called_off"}
    P.json("storefront", "orders.json", [{"id": 330000 + o["n"] * 41, "order_number": int(o["id"]), "customer_id": 8000 + o["n"], "reference": None if o["n"] % 3 else f"gift {o['n']}", "created": z(o["placed"]), "paid": z(o["paid"]), "modified": z(o["updated"]), "invoice_date": z(o["placed"] + timedelta(days=2)), "status": pst(o), "delivery_status": dis[o["status"]],
        "currency": "USD", "country": o["country"], "email": o["who"]["mail"], "full_name": o["who"]["name"], "phone": o["who"]["phone"], "subtotal": dec(o["goods"]), "shipping": dec(o["post"]), "discount": "0.00", "total": dec(o["total"]), "tags": []} for o in B.orders])
    P.json("storefront", "order_items.json", [{"id": int(l["id"]), "order_number": int(o["id"]), "product_id": int(l["offer"]["listing"]["id"]), "sku": l["offer"]["sku"], "product": l["offer"]["listing"]["title"], "size": l["offer"]["options"].get("size"), "color": l["offer"]["options"].get("color"), "engraving": l["text"] or None, "ordered": l["qty"], "withdrawn": l["gone"],
        "price": dec(l["offer"]["price"]), "total": dec(l["offer"]["price"] * l["qty"]), "weight": 0.25, "number": i} for o in B.orders for i, l in enumerate(o["lines"], 1)])
    sw = {"received": "Recibida", "held": "En pausa", "making": "En máquina", "dispatched": "Salió", "cancelled": "Cancelada", "rejected": "No procede"}
    rows = []
    for s in B.subs:
        p = s["parcels"][0] if s["parcels"] else None
        for l in s["lines"]:
            rows.append({"Orden": s["id"], "Su pedido": f"SM{s['order']['id']}", "Su partida": int(l["of"]["id"]), "Entrada": B.loc(s["received"], "%d-%m-%Y %H:%M"), "Renglón": int(l["id"]), "Clave variante": l["v"]["id"], "Código": "SMS_" + l["v"]["sku"], "Prenda": l["v"]["product"], "Medida": l["v"]["size"], "Tono": l["v"]["colour"], "Piezas": l["qty"], "Costo": "$ " + dec(l["v"]["cost"]),
                         "Importe": "$ " + dec(l["v"]["cost"] * l["qty"]), "Avance": sw[s["status"]], "Salida": B.loc(p["at"], "%d-%m-%Y") if p else "", "Guía": p["track"] if p else "", "Entrega estimada": B.loc(s["received"] + timedelta(days=6), "%d-%m-%Y"), "Notas": "", "Sucursal": "Centro"})
    P.ods("supplier", "reporte.ods", list(rows[0]), rows, [["Imprenta del Cerro"], ["Reporte de órdenes", "", "cliente: Saltmarsh"], [""]], "Reporte")
    q = "[*]."
    P.fields("storefront", "orders.json", "orders", order_id=q + "order_number", placed_at=q + "created", paid_at=q + "paid", status=(q + "status", q + "delivery_status"), currency=q + "currency", ship_to_country=q + "country", updated_at=q + "modified")
    P.fields("storefront", "order_items.json", "order_lines", order_id=q + "order_number", line_id=q + "id", listing_id=q + "product_id", sku=q + "sku", title=q + "product", options=[q + "size", q + "color"], quantity=q + "ordered", cancelled_quantity=q + "withdrawn", unit_price=q + "price")
    s = P.truth["storefront"]; s["options"] = {"order_lines": ["size", "color"]}
    s["words"] = {"orders.status@[*].status": {"captured": "open", "awaiting": "unpaid", "returned": "cancelled"}, "orders.status@[*].delivery_status": {"packing_queue": "open", "handed_over": "dispatched", "called_off": "cancelled"}}
    s["notes"] = "status is the payment's; id is not what joins the files or what the supplier quotes, order_number is; number counts lines within the order (id is unique over all); SKUs are digits only."
    f = "reporte.ods"
    P.fields("supplier", f, "submissions", submission_id="Orden", order_ref="Su pedido", status="Avance", received_at="Entrada")
    P.fields("supplier", f, "submission_lines", submission_id="Orden", line_id="Renglón", order_line_ref="Su partida", variant_id="Clave variante", sku="Código", quantity="Piezas", unit_cost="Costo")
    P.fields("supplier", f, "parcels", parcel_id="Guía", submission_id="Orden", dispatched_at="Salida", tracking_number="Guía")
    s = P.truth["supplier_source"]; s["order_ref"]["prefix"] = "SM"; s["sku"]["prefix"] = "SMS_"; s["words"] = {"submissions.status": {v: k for k, v in sw.items()}}
    s["notes"] = "Three title rows; Entrega estimada is no dispatch; the order's columns are repeated; no catalogue, but each line carries the supplier's variant key; Su partida is the shop's line."
    make.exchange(P, B, ["order_id", "placed_at", "paid_at", "status", "currency", "ship_to_country", "updated_at"], ["listing_id", "sku", "title", "options", "quantity", "cancelled_quantity", "unit_price"], lambda f: f["options"],
                  subs=["order_ref", "status", "received_at"], slines=["order_line_ref", "variant_id", "sku", "quantity", "unit_cost"], parcels=["dispatched_at", "tracking_number"], day_dispatch=True, currency="USD", line_no=False, by_track=True)
    P.done(B)


import random
s_rng = random.Random(66)
PAIRS = [market_stall, trunk, wide_text, terse, flat]
