"""The seventh to the twelfth pair; make.py runs it. It knows nothing of what reads the exports."""
from book import Book
from files import Pair, com, dec, flip, reference, secs, slug, zulu


def mulot_savant():
    """A French answer with three lists beside each other, local times; a French table with a row for what of a line was sent."""
    P = Pair("07-mulot-savant", "Europe/Paris", "atelier-de-la-meuniere")
    tones = [("Encre", "encre"), ("Blé", "ble"), ("Garance", "rouge garance")]
    B = Book(7707, "Europe/Paris", "2026-05-11", 22, 35, [
        ("Le mulot au piano", [("T-shirt", "tee-shirt coton bio", ["S", "M", "L", "XL"], tones, 2500, 930), ("Sac", "cabas toile", None, tones[:2], 1600, 470)]),
        ("Herbier du talus", [(None, "affiche", [("30 x 40", "30x40"), ("50 x 70", "50x70")], None, 2200, 610)]),
        ("Bonnet de nuit", [(None, "bonnet", [("enfant", "E"), ("adulte", "A")], tones[1:], 1900, 720)])],
        ("support", "taille", "couleur"), ("Taille", "Coloris"),
        {"listing": lambda p: str(61 + 4 * p), "sku": lambda p, s, i, j, n: f"MUL.{'PHB'[p]}{'ts'[s]}.{i}{j}", "stale": lambda n: f"PROV.{n}", "variant": lambda p, s, i, j, n: f"{1200 + 4 * n}/{j + 1}",
         "order": lambda n: f"2026-{n + 570:04d}", "uid": lambda n, r: f"{r.randrange(16**10):010x}", "line": lambda n, i: str(20900 + n), "job": lambda n, at: f"F{n + 3390}", "job line": lambda j, i, n: str(i), "parcel": lambda n, j: f"C{n + 8070}", "track": lambda r: f"LO{r.randint(10**10, 10**11 - 1)}"},
        ["FR", "FR", "FR", "BE", "CH"], ["Messageries du Loriot", "Le Colis Bleu Nuit"], "EUR", second=1, texts=["Pour Mamie", "La fine équipe", "merci maîtresse"], split=.45, pieces=True)
    pay = lambda o: "attendu" if not o.paid else "remboursé" if o.cancelled else "encaissé"
    ship = {"open": "à préparer", "unpaid": "à préparer", "dispatched": "partie", "cancelled": "annulée"}
    t = lambda x: B.local(x, "%Y-%m-%d %H:%M:%S") or None
    P.json("storefront", "boutique.json", {"boutique": "mulot-savant", "genere_le": t(B.asof),
        "commandes": [{"id": o.uid, "num_commande": o.key, "client": o.buyer, "passee_le": t(o.placed), "reglement": pay(o), "reglee_le": t(o.paid), "livraison": ship[o.status], "a_expedier_avant": str(o.due), "pays_livraison": o.country, "devise": "EUR", "total_articles": dec(o.goods), "frais_port": dec(o.post), "total_ttc": dec(o.total), "code_avantage": "MAI" if o.n % 9 == 7 else None, "modifiee_le": t(o.updated), "num_facture": f"FA{4700 + o.n}" if o.paid else None} for o in B.orders],
        "lignes": [{"id_ligne": int(l.key), "num_commande": o.key, "id_fiche": int(l.offer.page.key), "titre": l.offer.page.title, "ref": l.offer.sku, "choix": "; ".join(f"{k}: {v}" for k, v in l.offer.options.items()), "message": l.text or None, "qte": l.qty, "qte_annulee": l.gone, "prix_unit": dec(l.offer.price), "prix_ligne": dec(l.offer.price * l.qty), "tva": "20.0"} for o in B.orders for l in o.lines],
        "declinaisons": [{"id_fiche": int(f.page.key), "titre": f.page.title, "ref": f.sku, "choix": "; ".join(f"{k}: {v}" for k, v in f.options.items()), "prix_unit": dec(f.price), "en_vente": f.buyable, "vues": 15 + f.n * 23 % 60} for f in B.offers]}, 1)
    f = "boutique.json"
    q, k, v = "commandes[*].", "lignes[*].", "declinaisons[*]."
    P.fields("storefront", f, "orders", order_id=q + "num_commande", placed_at=q + "passee_le", paid_at=q + "reglee_le", status=(q + "reglement", q + "livraison"), currency=q + "devise", promised_by=q + "a_expedier_avant", ship_to_country=q + "pays_livraison", updated_at=q + "modifiee_le")
    P.fields("storefront", f, "order_lines", order_id=k + "num_commande", line_id=k + "id_ligne", listing_id=k + "id_fiche", sku=k + "ref", title=k + "titre", options=k + "choix", quantity=k + "qte", cancelled_quantity=k + "qte_annulee", unit_price=k + "prix_unit")
    P.fields("storefront", f, "offers", listing_id=v + "id_fiche", title=v + "titre", sku=v + "ref", options=v + "choix", price=v + "prix_unit", buyable=v + "en_vente")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {f"orders.status@{q}reglement": {"encaissé": "open", "attendu": "unpaid", "remboursé": "cancelled"}, f"orders.status@{q}livraison": {"à préparer": "open", "partie": "dispatched", "annulée": "cancelled"}}
    P.shop["notes"] = "Three lists in one file, joined by num_commande; times have no offset; choix is a text of names and values, message beside it is typed; num_facture is no order's number."
    words = {"received": "reçue", "held": "bloquée", "making": "en cours", "dispatched": "expédiée", "cancelled": "annulée", "rejected": "refusée"}
    t = lambda x: B.local(x, "%d/%m/%Y %H:%M")
    rows = []
    for j in B.jobs:
        for l in j.lines:
            for p, n in l.sent or [(None, "")]:
                rows.append({"Fiche": j.key, "Réf. client": reference(j, "MS-"), "Reçue le": t(j.received), "Pour le": j.due.strftime("%d/%m/%Y"), "État": words[j.status], "Ligne": l.key, "Votre ligne": l.of.key if l.of else "", "Article": l.variant.key, "Libellé": l.variant.product, "Votre réf.": l.variant.sku, "Qté commandée": l.qty, "PU HT": com(l.variant.cost), "Montant HT": com(l.variant.cost * l.qty), "Imprimée le": t(j.printed), "Colis": p.key if p else "", "Qté expédiée": n, "Parti le": t(p.at) if p else "", "Transporteur": p.carrier if p else "", "Suivi": p.track if p else "", "Modifiée le": t(j.updated)})
    P.csv("supplier", "suivi_fabrication.csv", rows, ";", "cp1252")
    P.csv("supplier", "tarif.csv", [{"Article": x.key, "Libellé": x.product, "Taille": x.size, "Coloris": x.colour, "Votre réf.": x.sku, "PU HT": com(x.cost), "Stock": "oui" if x.available else "rupture", "Délai (j)": 3} for x in B.variants], ";", "cp1252")
    f = "suivi_fabrication.csv"
    P.fields("supplier", f, "submissions", submission_id="Fiche", order_ref="Réf. client", status="État", received_at="Reçue le", updated_at="Modifiée le")
    P.fields("supplier", f, "submission_lines", submission_id="Fiche", line_id="Ligne", order_line_ref="Votre ligne", variant_id="Article", sku="Votre réf.", quantity="Qté commandée", unit_cost="PU HT")
    P.fields("supplier", f, "parcels", parcel_id="Colis", submission_id="Fiche", dispatched_at="Parti le", carrier="Transporteur", tracking_number="Suivi")
    P.fields("supplier", f, "parcel_lines", parcel_id="Colis", submission_line_id="Ligne", quantity="Qté expédiée")
    P.fields("supplier", "tarif.csv", "variants", variant_id="Article", sku="Votre réf.", product="Libellé", options=["Taille", "Coloris"], unit_cost="PU HT", available="Stock")
    P.made["order_ref"]["prefix"] = "MS-"
    P.made["options"] = {"variants": ["Taille", "Coloris"]}
    P.made["words"] = {"submissions.status": flip(words), "variants.available": {"oui": "true", "rupture": "false"}}
    P.made["forms"] = {"dates": "%d/%m/%Y"}
    P.made["notes"] = "A row is what of a line left in a parcel: a line in two parcels stands twice, Qté commandée is not to be added up; Votre ligne is the shop's id_ligne; Pour le is when it is due."
    P.done(B)


def sauerampferia():
    """A German table, day and time apart, lines without a number; an English list with a flat record per line, in seconds."""
    P = Pair("08-sauerampferia", "Europe/Zurich", "millrace-makers")
    tones = [("Ampfer", "sorrel"), ("Kreide", "chalk"), ("Russ", "soot")]
    B = Book(7808, "Europe/Zurich", "2026-06-01", 20, 28, [
        ("Murmeltierchor", [("Hoodie", "heavy hoodie", ["S", "M", "L", "XL"], tones, 7200, 3050), ("Shirt", "light tee", ["S", "M", "L"], tones[:2], 3900, 1480)]),
        ("Seilbahn 1931", [(None, "wall print", ["A4", "A3", "A2"], None, 2800, 720)]),
        ("Wurzelgemüse", [(None, "tea towel", None, tones, 1850, 560)])],
        ("Ausführung", "Grösse", "Farbe"), ("size", "colour"),
        {"listing": lambda p: f"s{p + 1}{'krx'[p]}", "sku": lambda p, s, i, j, n: f"{['MUR', 'SEI', 'WUR'][p]}{'HS'[s]}{i}{j}", "stale": lambda n: f"ALT{n}", "variant": lambda p, s, i, j, n: f"mm_{n * 6 + 110}",
         "order": lambda n: f"S{n + 1870}", "uid": lambda n, r: 300 + n, "line": lambda n, i: "", "job": lambda n, at: str(90440 + n), "job line": lambda j, i, n: str(512000 + n), "parcel": lambda n, j: f"mb{n + 4000}", "track": lambda r: f"AD-{r.randint(10, 99)}-{r.randint(10**11, 10**12 - 1)}"},
        ["CH", "CH", "CH", "CH", "AT"], ["Alpendohle Kurier", "Steinbock Post"], "CHF", texts=["Für Gotti", "Hütte 2026"], split=.5, reduced=0)
    state = {"open": "bezahlt", "dispatched": "verschickt", "unpaid": "noch nicht bezahlt", "cancelled": "zurückgezogen"}
    P.csv("storefront", "verkaeufe.tsv", [{"Lfd": o.uid, "Bestellung": o.key, "Datum": B.local(o.placed, "%d.%m.%Y"), "Uhrzeit": B.local(o.placed, "%H:%M"), "Zahlung am": B.local(o.paid, "%d.%m.%Y"), "Stand": state[o.status], "Zahlart": ["Rechnung", "Karte"][o.n % 2], "Spätester Versand": o.due.strftime("%d.%m.%Y"), "Land": o.country, "Seite": l.offer.page.key, "Titel": l.offer.page.title, "Code": l.offer.sku, **{k: l.offer.options.get(k, "") for k in B.names}, "Namenszug": l.text, "Stk": l.qty, "Preis CHF": dec(l.offer.price), "Betrag CHF": dec(l.offer.price * l.qty), "Porto CHF": dec(o.post), "Bestellsumme CHF": dec(o.total), "Lager": "-"} for o in B.orders for l in o.lines], "\t")
    P.days = {"orders.paid_at"}
    f = "verkaeufe.tsv"
    P.fields("storefront", f, "orders", order_id="Bestellung", placed_at=("Datum", "Uhrzeit"), paid_at="Zahlung am", status="Stand", promised_by="Spätester Versand", ship_to_country="Land")
    P.fields("storefront", f, "order_lines", order_id="Bestellung", listing_id="Seite", sku="Code", title="Titel", options=list(B.names), quantity="Stk", unit_price="Preis CHF")
    P.shop["options"] = {"order_lines": list(B.names)}
    P.shop["words"] = {"orders.status": flip(state)}
    P.shop["forms"] = {"dates": "%d.%m.%Y"}
    P.shop["notes"] = "The order's cells are repeated; its lines have no number and are counted as they come; the payment says a day alone; the currency stands in the headers only; Bestellsumme is the order's; no list of offers."
    words = {"received": "accepted", "held": "awaiting artwork", "making": "printing", "dispatched": "gone", "cancelled": "withdrawn", "rejected": "turned away"}
    def row(j, l):
        p = l.sent[0][0] if l.sent else None
        return {"row": int(l.key), "docket": int(j.key), "client": 58, "client_order": reference(j, "", "-SA"), "in_ts": secs(j.received), "due_ts": secs(j.received) + 4 * 86400, "docket_state": words[j.status], "stock_id": l.variant.key, "what": " ".join(x for x in (l.variant.product, l.variant.size, l.variant.colour) if x), "client_code": l.variant.sku, "pcs": l.qty, "each_rp": l.variant.cost, "sum_rp": l.variant.cost * l.qty, "printed_ts": secs(j.printed),
                "bag": p.key if p else None, "out_ts": secs(p.at) if p else None, "sent_by": p.carrier if p else None, "trace": p.track if p else None, "changed_ts": secs(j.updated), "bench": "ab"[l.n % 2]}
    P.json("supplier", "dockets.json", {"rows": [row(j, l) for j in B.jobs for l in j.lines], "next": None})
    q = "rows[*]."
    P.fields("supplier", "dockets.json", "submissions", submission_id=q + "docket", order_ref=q + "client_order", status=q + "docket_state", received_at=q + "in_ts", updated_at=q + "changed_ts")
    P.fields("supplier", "dockets.json", "submission_lines", submission_id=q + "docket", line_id=q + "row", variant_id=q + "stock_id", sku=q + "client_code", quantity=q + "pcs", unit_cost=q + "each_rp")
    P.fields("supplier", "dockets.json", "parcels", parcel_id=q + "bag", submission_id=q + "docket", dispatched_at=q + "out_ts", carrier=q + "sent_by", tracking_number=q + "trace")
    P.made["order_ref"]["suffix"] = "-SA"
    P.made["words"] = {"submissions.status": flip(words)}
    P.made["forms"] = {"times": "epoch seconds", "money": "minor units"}
    P.made["notes"] = "A record is a line, the docket's values are repeated; bag names the parcel; four moments, of which due_ts and printed_ts are neither receipt nor dispatch; client is the shop's account; no catalogue."
    P.done(B)


def naranjo_torcido():
    """Spanish sheets of orders and lines; a Portuguese printer's four tables, volumes with what they hold."""
    P = Pair("09-naranjo-torcido", "Europe/Madrid", "oficina-da-nora")
    tones = [("Azafrán", "açafrão"), ("Pizarra", "ardósia"), ("Crudo", "cru")]
    B = Book(7909, "Europe/Madrid", "2026-04-20", 24, 40, [
        ("Burro volador", [("Camiseta", "t-shirt adulto", ["S", "M", "L", "XL"], tones, 2190, 820), ("Body", "body bebé", [("3 meses", "3M"), ("6 meses", "6M")], tones[1:], 1790, 690)]),
        ("Romero y tomillo", [(None, "pano de cozinha", None, tones, 1190, 360)]),
        ("La siesta", [(None, "almofada", [("40 cm", "40"), ("60 cm", "60")], tones[:2], 2690, 1080)])],
        ("Prenda", "Talla", "Color"), ("Tamanho", "Cor"),
        {"listing": lambda p: str(9004 + 10 * p), "sku": lambda p, s, i, j, n: f"{['burro', 'romero', 'siesta'][p]}{'-b' if s else ''}-{n:02d}", "stale": lambda n: f"sin-codigo-{n}", "variant": lambda p, s, i, j, n: f"{'TPA'[p]}{s}{i}{j}{n + 50:03d}",
         "order": lambda n: str(26200 + n), "uid": lambda n, r: f"{n + 17}-{r.randint(100, 999)}", "line": lambda n, i: str(104000 + n * 2), "job": lambda n, at: f"{n + 1633}", "job line": lambda j, i, n: str(i), "parcel": lambda n, j: f"V{n + 20050}", "track": lambda r: f"CS{r.randint(10**8, 10**9 - 1)}"},
        ["ES", "ES", "ES", "PT", "FR"], ["Transportes Garça", "Correio da Serra"], "EUR", texts=["Para la abuela", "Peña El Botijo"], split=.4, pieces=True, shared=.3, remakes=1, reduced=0)
    state = {"open": "Cobrado", "dispatched": "Enviado", "unpaid": "Pendiente de cobro", "cancelled": "Anulado"}
    P.ods("storefront", "pedidos.ods", [{"Nº interno": o.uid, "Pedido": int(o.key), "Fecha pedido": B.cell(o.placed), "Fecha cobro": B.cell(o.paid), "Estado": state[o.status], "Fecha límite envío": o.due, "País destino": o.country, "Artículos €": o.goods / 100, "Portes €": o.post / 100, "Total €": o.total / 100, "Factura": f"26/{700 + o.n}" if o.paid else "", "Bultos": 1, "Aviso": "llamar antes" if o.n % 12 == 5 else ""} for o in B.orders], "Pedidos")
    P.ods("storefront", "lineas.ods", [{"Línea": int(l.key), "Pedido": int(o.key), "Ficha": int(l.offer.page.key), "Artículo": l.offer.page.title, "Código": l.offer.sku, **{k: l.offer.options.get(k, "") for k in B.names}, "Rótulo": l.text, "Cantidad": l.qty, "Precio €": l.offer.price / 100, "Importe €": l.offer.price * l.qty / 100} for o in B.orders for l in o.lines], "Líneas")
    P.fields("storefront", "pedidos.ods", "orders", order_id="Pedido", placed_at="Fecha pedido", paid_at="Fecha cobro", status="Estado", promised_by="Fecha límite envío", ship_to_country="País destino")
    P.fields("storefront", "lineas.ods", "order_lines", order_id="Pedido", line_id="Línea", listing_id="Ficha", sku="Código", title="Artículo", options=list(B.names), quantity="Cantidad", unit_price="Precio €")
    P.shop["options"] = {"order_lines": list(B.names)}
    P.shop["words"] = {"orders.status": flip(state)}
    P.shop["notes"] = "Two sheets joined by Pedido; times are cells; Nº interno and Factura are quoted by nobody; Rótulo is typed; the currency is a sign in headers; no list of offers."
    words = {"received": "Aguarda", "held": "Suspensa", "making": "Em produção", "dispatched": "Expedida", "cancelled": "Anulada", "rejected": "Recusada"}
    t = lambda x: B.local(x, "%d/%m/%Y %H:%M")
    P.csv("supplier", "ordens.csv", [{"Ordem": j.key, "Cliente": "NARTOR", "Encomenda do cliente": reference(j, "Pedido "), "Entrada": t(j.received), "Data prevista": j.due.strftime("%d/%m/%Y"), "Situação": words[j.status], "Substitui": j.replaces, "Impressa em": t(j.printed), "Alterada em": t(j.updated), "Valor": com(sum(l.variant.cost * l.qty for l in j.lines)), "N.º linhas": len(j.lines)} for j in B.jobs], ";", "utf-8-sig")
    P.csv("supplier", "linhas.csv", [{"Ordem": j.key, "Linha": l.key, "Referência": l.variant.key, "Designação": l.variant.product, "Tamanho": l.variant.size, "Cor": l.variant.colour, "Código do cliente": "NT:" + l.variant.sku, "Qtd.": l.qty, "Custo": com(l.variant.cost), "Valor": com(l.variant.cost * l.qty), "Defeitos": 1 if l.n % 15 == 8 else 0} for j in B.jobs for l in j.lines], ";", "utf-8-sig")
    P.csv("supplier", "volumes.csv", [{"Volume": p.key, "Ordem": j.key, "Linha": l.key, "Qtd. enviada": n, "Saída": t(p.at), "Transportadora": p.carrier, "Código de envio": p.track, "Peso kg": com(25 * n)} for j in B.jobs for p in j.parcels for l, n in p.lines], ";", "utf-8-sig")
    P.csv("supplier", "catalogo.csv", [{"Referência": v.key, "Designação": v.product, "Tamanho": v.size, "Cor": v.colour, "Código do cliente": "NT:" + v.sku, "Custo": com(v.cost), "Disponível": "sim" if v.available else "esgotado", "Composição": "algodão"} for v in B.variants], ";", "utf-8-sig")
    P.fields("supplier", "ordens.csv", "submissions", submission_id="Ordem", order_ref="Encomenda do cliente", status="Situação", received_at="Entrada", replaces="Substitui", updated_at="Alterada em")
    P.fields("supplier", "linhas.csv", "submission_lines", submission_id="Ordem", line_id="Linha", variant_id="Referência", sku="Código do cliente", quantity="Qtd.", unit_cost="Custo")
    P.fields("supplier", "volumes.csv", "parcels", parcel_id="Volume", submission_id="Ordem", dispatched_at="Saída", carrier="Transportadora", tracking_number="Código de envio")
    P.fields("supplier", "volumes.csv", "parcel_lines", parcel_id="Volume", submission_line_id="Linha", quantity="Qtd. enviada")
    P.fields("supplier", "catalogo.csv", "variants", variant_id="Referência", sku="Código do cliente", product="Designação", options=["Tamanho", "Cor"], unit_cost="Custo", available="Disponível")
    P.made["order_ref"]["prefix"], P.made["sku"]["prefix"] = "Pedido ", "NT:"
    P.made["options"] = {"variants": ["Tamanho", "Cor"]}
    P.made["words"] = {"submissions.status": flip(words), "variants.available": {"sim": "true", "esgotado": "false"}}
    P.made["forms"] = {"dates": "%d/%m/%Y"}
    P.made["notes"] = "Referência is the printer's article, Código do cliente the shop's SKU behind NT:; an order may be two Ordens; Substitui names the one that is made again; Linha counts within the Ordem; Qtd. is ordered, Qtd. enviada sent."
    P.done(B)


def oxbow_and_reed():
    """An Australian envelope in camel case; a Swedish answer whose jobs stand within days, parcels without what they hold."""
    P = Pair("10-oxbow-and-reed", "Australia/Hobart", "vadsbro-tryckeri")
    tones = [("Wattle", "gul"), ("Ironbark", "mörkbrun"), ("Surf", "ljusblå")]
    B = Book(8010, "Australia/Hobart", "2026-03-02", 25, 39, [
        ("Platypus Regatta", [("Tee", "t-shirt vuxen", ["S", "M", "L", "XL"], tones, 3900, 1350), ("Kids tee", "t-shirt barn", [("4", "104"), ("6", "116"), ("8", "128")], tones[:2], 3200, 1120)]),
        ("Lighthouse Keeper", [(None, "mugg emalj", None, tones[1:], 2600, 890)]),
        ("Tide Table Year", [(None, "väggkalender", ["A3", "A4"], None, 3400, 980)])],
        ("Garment", "Size", "Colour"), ("storlek", "kulör"),
        {"listing": lambda p: f"lst_{'bqv'[p]}{p + 41}", "sku": lambda p, s, i, j, n: f"OR{['PL', 'LK', 'TT'][p]}{'AK'[s]}{i}{j}", "stale": lambda n: f"ORX{n}", "variant": lambda p, s, i, j, n: f"V-{n + 330}",
         "order": lambda n: str(5120 + n), "uid": lambda n, r: f"ord_{r.randrange(36**6):09d}", "line": lambda n, i: f"itm_{n * 37 + 10007:06d}", "job": lambda n, at: str(61000 + 2 * n), "job line": lambda j, i, n: str(i), "parcel": lambda n, j: f"{j.key}-K{len(j.parcels) + 1}", "track": lambda r: f"VX{r.randint(10**9, 10**10 - 1)}"},
        ["AU", "AU", "AU", "NZ"], ["Havsörn Logistik", "Tärnans Bud"], "AUD", second=1, texts=["Nan's favourite", "Room 5"], split=.45)
    state = {"open": "processing", "dispatched": "completed", "unpaid": "awaitingPayment", "cancelled": "cancelled"}
    money = lambda c: {"value": c / 100, "currencyCode": "AUD"}
    P.json("storefront", "orders.json", {"success": True, "data": {"orders": [{"uid": o.uid, "orderNumber": int(o.key), "orderStatus": state[o.status], "riskStatus": "low", "placedAt": zulu(o.placed), "paidAt": zulu(o.paid), "lastModifiedAt": zulu(o.updated), "dispatchBy": str(o.due), "shipTo": {"countryCode": o.country}, "currencyCode": "AUD", "itemsTotal": money(o.goods), "shippingTotal": money(o.post), "grandTotal": money(o.total), "customerRef": o.buyer, "itemCount": sum(l.qty for l in o.lines),
        "items": [{"uid": l.key, "listingUid": l.offer.page.key, "listingTitle": l.offer.page.title, "sku": l.offer.sku or None, "selectedOptions": [{"name": k, "value": v} for k, v in l.offer.options.items()], "personalMessage": l.text or None, "quantity": l.qty, "quantityCancelled": l.gone, "unitPrice": money(l.offer.price), "lineTotal": money(l.offer.price * l.qty), "taxRate": .1} for l in o.lines]} for o in B.orders]}, "paging": {"page": 1, "pages": 1}})
    P.json("storefront", "listings.json", {"success": True, "data": {"listings": [{"uid": g.key, "title": g.title, "handle": slug(g.title), "createdAt": "2025-10-02T23:11:40Z", "offers": [{"sku": f.sku or None, "selectedOptions": [{"name": k, "value": v} for k, v in f.options.items()], "price": money(f.price), "isAvailable": f.buyable} for f in g.offers]} for g in B.listings]}, "paging": {"page": 1, "pages": 1}})
    q, k, v = "data.orders[*].", "data.orders[*].items[*].", "data.listings[*].offers[*]."
    P.fields("storefront", "orders.json", "orders", order_id=q + "orderNumber", placed_at=q + "placedAt", paid_at=q + "paidAt", status=q + "orderStatus", currency=q + "currencyCode", promised_by=q + "dispatchBy", ship_to_country=q + "shipTo.countryCode", updated_at=q + "lastModifiedAt")
    P.fields("storefront", "orders.json", "order_lines", order_id=q + "orderNumber", line_id=k + "uid", listing_id=k + "listingUid", sku=k + "sku", title=k + "listingTitle", options=k + "selectedOptions", quantity=k + "quantity", cancelled_quantity=k + "quantityCancelled", unit_price=k + "unitPrice.value")
    P.fields("storefront", "listings.json", "offers", listing_id="data.listings[*].uid", title="data.listings[*].title", sku=v + "sku", options=v + "selectedOptions", price=v + "price.value", currency=v + "price.currencyCode", buyable=v + "isAvailable")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {"orders.status": flip(state)}
    P.shop["notes"] = "uid at three levels, orderNumber is what the supplier quotes; riskStatus is no status of the order; itemCount and paging are no quantities; personalMessage stands beside the options and is none."
    words = {"received": "inlagd", "held": "väntar svar", "making": "trycks", "dispatched": "levererad till frakt", "cancelled": "struken", "rejected": "ej möjlig"}
    days = {}
    for j in B.jobs: days.setdefault(B.day(j.received), []).append(j)
    P.json("supplier", "korningar.json", {"kund": {"nr": 2207, "valuta": "AUD"}, "dagar": [{"datum": d, "antal_jobb": len(jobs), "jobb": [{"jobbnr": int(j.key), "er_order": reference(j, "O&R "), "status": words[j.status], "fakturastatus": "fakturerad" if j.n % 4 == 1 else "ej fakturerad", "inkommet": B.iso(j.received), "tryckt": B.iso(j.printed) or None, "andrat": B.iso(j.updated), "beraknat_klart": str(j.due),
        "rader": [{"rad": int(l.key), "variant": l.variant.key, "benamning": l.variant.product, "er_kod": l.variant.sku, "antal": l.qty, "styckpris": dec(l.variant.cost), "radsumma": dec(l.variant.cost * l.qty)} for l in j.lines],
        "kollin": [{"kolli_id": p.key, "avgick": B.iso(p.at), "fraktbolag": p.carrier, "kollinummer": p.track, "vikt_g": 210 * len(p.lines)} for p in j.parcels]} for j in jobs]} for d, jobs in days.items()]}, 1)
    P.json("supplier", "sortiment.json", [{"variant": v.key, "benamning": v.product, "egenskaper": v.options, "er_kod": v.sku, "styckpris": dec(v.cost), "bestallbar": v.available, "lagerplats": f"H{v.n % 9}"} for v in B.variants], 1)
    q = "dagar[*].jobb[*]."
    k, x = q + "rader[*].", q + "kollin[*]."
    P.fields("supplier", "korningar.json", "submissions", submission_id=q + "jobbnr", order_ref=q + "er_order", status=q + "status", received_at=q + "inkommet", updated_at=q + "andrat")
    P.fields("supplier", "korningar.json", "submission_lines", submission_id=q + "jobbnr", line_id=k + "rad", variant_id=k + "variant", sku=k + "er_kod", quantity=k + "antal", unit_cost=k + "styckpris")
    P.fields("supplier", "korningar.json", "parcels", parcel_id=x + "kolli_id", submission_id=q + "jobbnr", dispatched_at=x + "avgick", carrier=x + "fraktbolag", tracking_number=x + "kollinummer")
    P.fields("supplier", "sortiment.json", "variants", variant_id="[*].variant", sku="[*].er_kod", product="[*].benamning", options="[*].egenskaper", unit_cost="[*].styckpris", available="[*].bestallbar")
    P.made["order_ref"]["prefix"] = "O&R "
    P.made["options"] = {"variants": ["storlek", "kulör"]}
    P.made["words"] = {"submissions.status": flip(words)}
    P.made["notes"] = "Jobs stand within the days on which they came; rad counts within the job; kolli_id is the parcel's, kollinummer its tracking number; a parcel does not say what it holds; fakturastatus is the invoice's."
    P.done(B)


def torenvalkje():
    """Orders in an object by their number, seconds and cents; a Flemish printer's tables, its codes paired with the shop's elsewhere."""
    P = Pair("11-torenvalkje", "Europe/Brussels", "drukkerij-de-wilgenhoek")
    tones = [("Petrol", "petrol"), ("Roest", "roest"), ("Wolk", "wit")]
    B = Book(8111, "Europe/Brussels", "2026-02-02", 24, 36, [
        ("Valk boven de toren", [("Hoodie", "Capuchontrui", ["S", "M", "L", "XL"], tones, 5200, 2240), ("Longsleeve", "T-shirt lange mouw", ["S", "M", "L"], tones[:2], 3400, 1290)]),
        ("Frietkot", [(None, "Schort", None, tones, 2600, 940)]),
        ("Kaartenset Abdij", [(None, "Wenskaarten", [("6 stuks", "6"), ("12 stuks", "12")], None, 1200, 340)])],
        ("model", "maat", "kleur"), ("Maat", "Kleur"),
        {"listing": lambda p: str(3310 + p), "sku": lambda p, s, i, j, n: f"TV{['VT', 'FK', 'KA'][p]}{'hl'[s]}{i}{j}", "stale": lambda n: f"TVoud{n}", "variant": lambda p, s, i, j, n: f"{2000 + 17 * n:06d}",
         "order": lambda n: f"TV-{n + 880}", "uid": lambda n, r: 70000 + 11 * n, "line": lambda n, i: str(7000 + n), "job": lambda n, at: f"W{at:%y}{n + 340:04d}", "job line": lambda j, i, n: str(10 * i), "parcel": lambda n, j: "", "track": lambda r: f"32{r.randint(10**13, 10**14 - 1)}"},
        ["BE", "BE", "BE", "NL", "LU"], ["Zwaluwpost", "De Gele Bakfiets"], "EUR", second=1, texts=["voor meter", "de chiro"], split=0, halves=False, strays=[("staal", False)])
    for j in B.jobs:
        for p in j.parcels: p.key = p.track
    flags = lambda o: {"betaald": bool(o.paid), "verzonden": o.status == "dispatched", "geannuleerd": bool(o.cancelled), "cadeau": o.n % 8 == 2}
    P.json("storefront", "bestellingen.json", {"winkel": 91, "bestellingen": {o.key: {"interne_id": o.uid, "nummer": o.key, "geplaatst": secs(o.placed), "betaald_op": secs(o.paid), "gewijzigd": secs(o.updated), "vlaggen": flags(o), "verzenden_voor": str(o.due), "land": o.country, "munt": "EUR", "bedragen": {"goederen": o.goods, "verzending": o.post, "btw": o.tax, "totaal": o.total}, "klant": o.buyer,
        "regels": [{"regel_id": int(l.key), "pagina": int(l.offer.page.key), "naam": l.offer.page.title, "code": l.offer.sku, "keuzes": l.offer.options, "opdruk": l.text or None, "aantal": l.qty, "aantal_geannuleerd": l.gone, "stukprijs": l.offer.price, "bedrag": l.offer.price * l.qty} for l in o.lines]} for o in B.orders}}, 1)
    P.json("storefront", "aanbod.json", {"aanbod": [{"pagina": int(f.page.key), "naam": f.page.title, "code": f.sku, "keuzes": f.options, "stukprijs": f.price, "te_koop": f.buyable, "bekeken": 9 + f.n * 19 % 70} for f in B.offers]}, 1)
    q, k, v = "bestellingen[*].", "bestellingen[*].regels[*].", "aanbod[*]."
    P.fields("storefront", "bestellingen.json", "orders", order_id=q + "nummer", placed_at=q + "geplaatst", paid_at=q + "betaald_op", status=(q + "vlaggen.betaald", q + "vlaggen.verzonden", q + "vlaggen.geannuleerd"), currency=q + "munt", promised_by=q + "verzenden_voor", ship_to_country=q + "land", updated_at=q + "gewijzigd")
    P.fields("storefront", "bestellingen.json", "order_lines", order_id=q + "nummer", line_id=k + "regel_id", listing_id=k + "pagina", sku=k + "code", title=k + "naam", options=k + "keuzes", quantity=k + "aantal", cancelled_quantity=k + "aantal_geannuleerd", unit_price=k + "stukprijs")
    P.fields("storefront", "aanbod.json", "offers", listing_id=v + "pagina", title=v + "naam", sku=v + "code", options=v + "keuzes", price=v + "stukprijs", buyable=v + "te_koop")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {f"orders.status@{q}vlaggen.betaald": {"true": "open", "false": "unpaid"}, f"orders.status@{q}vlaggen.verzonden": {"true": "dispatched", "false": "open"}, f"orders.status@{q}vlaggen.geannuleerd": {"true": "cancelled", "false": "open"}}
    P.shop["forms"] = {"times": "epoch seconds", "money": "minor units"}
    P.shop["notes"] = "The orders stand in an object by their number, which is also in them; three of four flags make the status; aantal_geannuleerd is how many of aantal were called off; opdruk is typed."
    words = {"received": "Nieuw", "held": "On hold", "making": "In druk", "dispatched": "Vertrokken", "cancelled": "Geannuleerd", "rejected": "Geweigerd"}
    t = lambda x: B.local(x, "%d/%m/%Y %H:%M")
    P.csv("supplier", "opdrachten.csv", [{"Opdracht": j.key, "Klant": "4417", "Bestelling klant": reference(j, "", " web"), "Ontvangen": t(j.received), "Klaar tegen": j.due.strftime("%d/%m/%Y"), "Stand": words[j.status], "Gedrukt": t(j.printed), "Vertrokken op": B.local(j.parcels[0].at, "%d/%m/%Y") if j.parcels else "", "Om": B.local(j.parcels[0].at, "%H:%M") if j.parcels else "", "Vervoerder": j.parcels[0].carrier if j.parcels else "", "Barcode": j.parcels[0].track if j.parcels else "", "Netto": dec(sum(l.variant.cost * l.qty for l in j.lines)), "Laatst gewijzigd": t(j.updated)} for j in B.jobs])
    P.csv("supplier", "opdrachtregels.csv", [{"Opdracht": j.key, "Regel": l.key, "Artikelnr": l.variant.key, "Artikel": l.variant.product, "Maat": l.variant.size, "Kleur": l.variant.colour, "Aantal": l.qty, "Prijs": dec(l.variant.cost), "Bedrag": dec(l.variant.cost * l.qty), "Pers": 1 + l.n % 2} for j in B.jobs for l in j.lines])
    P.csv("supplier", "artikels.csv", [{"Artikelnr": x.key, "Artikel": x.product, "Maat": x.size, "Kleur": x.colour, "Prijs": dec(x.cost), "Leverbaar": "J" if x.available else "N", "Leverancier": "eigen"} for x in B.variants])
    P.pairing = [(f.sku, f.variant) for f in B.offers if f.linked]
    P.csv("supplier", "koppelingen.csv", [{"Klantcode": sku, "Artikelnr": x.key, "Aangemaakt": f"{1 + x.n % 27:02d}/11/2025"} for sku, x in P.pairing])
    P.fields("supplier", "opdrachten.csv", "submissions", submission_id="Opdracht", order_ref="Bestelling klant", status="Stand", received_at="Ontvangen", updated_at="Laatst gewijzigd")
    P.fields("supplier", "opdrachten.csv", "parcels", parcel_id="Barcode", submission_id="Opdracht", dispatched_at=("Vertrokken op", "Om"), carrier="Vervoerder", tracking_number="Barcode")
    P.fields("supplier", "opdrachtregels.csv", "submission_lines", submission_id="Opdracht", line_id="Regel", variant_id="Artikelnr", quantity="Aantal", unit_cost="Prijs")
    P.fields("supplier", "artikels.csv", "variants", variant_id="Artikelnr", product="Artikel", options=["Maat", "Kleur"], unit_cost="Prijs", available="Leverbaar")
    P.fields("supplier", "koppelingen.csv", "links", sku="Klantcode", variant_id="Artikelnr")
    P.made["order_ref"]["suffix"] = " web"
    P.made["options"] = {"variants": ["Maat", "Kleur"]}
    P.made["words"] = {"submissions.status": flip(words), "variants.available": {"J": "true", "N": "false"}}
    P.made["forms"] = {"dates": "%d/%m/%Y"}
    P.made["notes"] = "The shop's codes stand in koppelingen.csv alone; article numbers begin with zeros; one parcel for an order, its barcode is its only name; day and time of it stand apart; a sample has the word staal for a reference."
    P.done(B)


def gannet_cove():
    """Canadian tables with times that say their offset and two statuses; French sheets of jobs and of parcels."""
    P = Pair("12-gannet-cove", "America/Halifax", "atelier-du-havre-bleu")
    tones = [("Lobster", "rouge"), ("Fog", "gris pâle"), ("Kelp", "vert foncé")]
    B = Book(8212, "America/Halifax", "2026-05-18", 23, 32, [
        ("Dory Race", [("Hoodie", "Chandail à capuchon", ["S", "M", "L", "XL"], tones, 6200, 2640), ("Toque", "Tuque", None, tones[:2], 2800, 1010)]),
        ("Gannet Dive", [(None, "Affiche", [("12 x 18 in", "12x18"), ("18 x 24 in", "18x24")], None, 2600, 690)]),
        ("Blueberry Barrens", [(None, "Linge à vaisselle", None, tones, 1800, 540)])],
        ("Style", "Size", "Colour"), ("Taille", "Couleur"),
        {"listing": lambda p: f"{p + 1:03d}", "sku": lambda p, s, i, j, n: f"GC-{['DR', 'GD', 'BB'][p]}{'-T' if s else ''}-{['S', 'M', 'L', 'XL'][i]}-{'LFK'[j]}", "stale": lambda n: f"GC-TMP-{n}", "variant": lambda p, s, i, j, n: f"HB{n + 610}{'RGV'[j]}",
         "order": lambda n: str(10780 + n), "uid": lambda n, r: f"{r.randrange(16**12):012x}", "line": lambda n, i: f"{n + 40400}", "job": lambda n, at: f"B-{at:%m}{n + 80}", "job line": lambda j, i, n: str(i), "parcel": lambda n, j: str(3500 + n), "track": lambda r: f"{r.randint(10**15, 10**16 - 1)}"},
        ["CA", "CA", "CA", "US"], ["Messagerie du Fou", "Transport Marée Haute"], "CAD", second=1, texts=["Happy 60th, Skipper", "Cove Crew"], split=.4, shared=.25, strays=[("10774", True), ("Échantillon", False)])
    pay = lambda o: "unpaid" if not o.paid else "refunded" if o.cancelled else "paid"
    ship = {"open": "unfulfilled", "unpaid": "unfulfilled", "dispatched": "fulfilled", "cancelled": "void"}
    P.csv("storefront", "orders.csv", [{"order_number": o.key, "token": o.uid, "created": B.iso(o.placed), "payment": pay(o), "payment_received": B.iso(o.paid), "fulfilment": ship[o.status], "promise_date": str(o.due), "destination": o.country, "currency": "CAD", "goods": dec(o.goods), "shipping": dec(o.post), "hst": dec(round(o.total * .14)), "total": dec(o.total), "line_count": len(o.lines), "packing_note": "no bubble wrap" if o.n % 9 == 1 else "", "last_touched": B.iso(o.updated)} for o in B.orders], eol="\n")
    P.csv("storefront", "order_lines.csv", [{"line": l.key, "order_number": o.key, "listing": l.offer.page.key, "listing_name": l.offer.page.title, "sku": l.offer.sku, "choices": " | ".join(f"{k}={v}" for k, v in l.offer.options.items()), "inscription": l.text, "qty": l.qty, "qty_refunded": l.gone, "unit_price": dec(l.offer.price), "line_price": dec(l.offer.price * l.qty)} for o in B.orders for l in o.lines], eol="\n")
    P.fields("storefront", "orders.csv", "orders", order_id="order_number", placed_at="created", paid_at="payment_received", status=("payment", "fulfilment"), currency="currency", promised_by="promise_date", ship_to_country="destination", updated_at="last_touched")
    P.fields("storefront", "order_lines.csv", "order_lines", order_id="order_number", line_id="line", listing_id="listing", sku="sku", title="listing_name", options="choices", quantity="qty", cancelled_quantity="qty_refunded", unit_price="unit_price")
    P.shop["options"] = {"order_lines": list(B.names)}
    P.shop["words"] = {"orders.status@payment": {"paid": "open", "unpaid": "unpaid", "refunded": "cancelled"}, "orders.status@fulfilment": {"unfulfilled": "open", "fulfilled": "dispatched", "void": "cancelled"}}
    P.shop["notes"] = "payment and fulfilment make the status; choices is a text of names and values, inscription beside it is typed; listing keeps its zeros; token is quoted by nobody; no list of offers."
    words = {"received": "À faire", "held": "En attente du client", "making": "À la presse", "dispatched": "Parti", "cancelled": "Annulé", "rejected": "Refusé"}
    P.xlsx("supplier", "Bons de travail.xlsx", [{"No bon": j.key, "Client": "Gannet Cove", "No commande client": reference(j, "GC "), "Reçu": B.cell(j.received), "Promis": j.due, "État du bon": words[j.status], "Ligne": int(l.key), "No article": l.variant.key, "Article": l.variant.product, "Taille": l.variant.size, "Couleur": l.variant.colour, "Code client": l.variant.sku, "Qté": l.qty, "Prix unit.": l.variant.cost / 100, "Prix total": l.variant.cost * l.qty / 100, "Imprimé": B.cell(j.printed), "Modifié": B.cell(j.updated), "Remarque": ""} for j in B.jobs for l in j.lines], "Bons", "yyyy-mm-dd hh:mm", "yyyy-mm-dd")
    P.xlsx("supplier", "Colis.xlsx", [{"No colis": int(p.key), "No bon": j.key, "Parti le": B.cell(p.at), "Transporteur": p.carrier, "No de repérage": p.track, "Poids (g)": 240 * len(p.lines), "Facturé": "O" if p.n % 3 else "N"} for j in B.jobs for p in j.parcels], "Colis", "yyyy-mm-dd hh:mm", "yyyy-mm-dd")
    f = "Bons de travail.xlsx"
    P.fields("supplier", f, "submissions", submission_id="No bon", order_ref="No commande client", status="État du bon", received_at="Reçu", updated_at="Modifié")
    P.fields("supplier", f, "submission_lines", submission_id="No bon", line_id="Ligne", variant_id="No article", sku="Code client", quantity="Qté", unit_cost="Prix unit.")
    P.fields("supplier", "Colis.xlsx", "parcels", parcel_id="No colis", submission_id="No bon", dispatched_at="Parti le", carrier="Transporteur", tracking_number="No de repérage")
    P.made["order_ref"]["prefix"] = "GC "
    P.made["words"] = {"submissions.status": flip(words)}
    P.made["notes"] = "The job's cells are repeated on each of its rows, one order may be two jobs; a parcel does not say what it holds; one job is for an order of before the export, one is a sample (Échantillon); Promis and Imprimé are no dispatch; no catalogue."
    P.done(B)


PAIRS = [mulot_savant, sauerampferia, naranjo_torcido, oxbow_and_reed, torenvalkje, gannet_cove]
