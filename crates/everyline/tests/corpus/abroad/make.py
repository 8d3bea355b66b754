"""Makes twelve pairs of invented exports, each with the same book in exchange tables and the truth beside it.

Run `python3 make.py`, then `python3 check.py`. It knows nothing of what reads the exports. Pairs seven to twelve are in more.py.
"""
from book import Book
from files import Pair, com, dec, flip, mils, reference, secs, slug, zulu


def wherry_loft():
    """An English row per line, the order's cells on its first row only; an Italian printer's sheet, a row per line."""
    P = Pair("01-wherry-loft", "Europe/London", "stamperia-del-fosso")
    tones = [("Slate", "ardesia"), ("Oatmeal", "avena"), ("Brick", "mattone")]
    B = Book(7101, "Europe/London", "2026-04-06", 22, 34, [
        ("Wherry at Dusk", [("T-shirt", "maglietta uomo", ["S", "M", "L", "XL"], tones, 2400, 880), ("Tote", "borsa tela", None, tones[:2], 1350, 390)]),
        ("Reedcutter", [(None, "tazza smaltata", [("small", "piccola"), ("large", "grande")], tones[:2], 1450, 510)]),
        ("Eel Pie Sunday", [(None, "grembiule", None, tones, 2200, 830)])],
        ("Product", "Size", "Colour"), ("Taglia", "Colore"),
        {"listing": lambda p: f"wl-page-{p + 3}", "sku": lambda p, s, i, j, n: f"WL-{['DUSK', 'REED', 'EEL'][p]}-{'TB'[s]}{i + 1}{j + 1}", "stale": lambda n: f"WL-OLD-{n}", "variant": lambda p, s, i, j, n: f"{30 + 10 * p + s}.{i}{j}.{n:03d}",
         "order": lambda n: str(10420 + n), "uid": lambda n, r: f"{r.randrange(16**8):08x}", "line": lambda n, i: str(i), "job": lambda n, at: f"L{n + 2280}", "job line": lambda j, i, n: str(i), "parcel": lambda n, j: f"DDT {n + 118}/26", "track": lambda r: f"IT{r.randint(10**8, 10**9 - 1)}"},
        ["GB", "GB", "GB", "IE", "DE"], ["Corriere Airone", "Posta della Lontra"], "GBP", texts=["For Grandad, with love", "The Crew 2026", "No. 12", "size M if you have it"], split=.4, reduced=0)
    state = {"open": "Paid", "dispatched": "Sent", "unpaid": "Awaiting payment", "cancelled": "Cancelled"}
    t = lambda x: B.local(x, "%d/%m/%Y %H:%M")
    rows = []
    for o in B.orders:
        for l in o.lines:
            head = l.i == 1
            first = lambda v: v if head else ""
            rows.append({"Order": o.key, "Placed": first(t(o.placed)), "Paid on": first(t(o.paid)), "Status": first(state[o.status]), "Dispatch by": first(o.due.strftime("%d/%m/%Y")), "Deliver to": first(o.country), "Currency": first("GBP"), "Goods": first(dec(o.goods)), "Postage": first(dec(o.post)), "Total": first(dec(o.total)),
                         "Voucher": first("SPRING10" if o.n % 9 == 4 else ""), "Receipt no": first(f"R{61200 + o.n}" if o.paid else ""), "Line": l.key, "Page": l.offer.page.key, "Item": l.offer.page.title, "Our code": l.offer.sku, "Options": ", ".join(f"{k}: {v}" for k, v in l.offer.options.items()), "Wording": l.text, "Qty": l.qty, "Price each": dec(l.offer.price), "Line total": dec(l.offer.price * l.qty), "Shelf": f"{'ABC'[l.offer.page.place]}{1 + l.offer.n % 4}"})
    P.csv("storefront", "orders.csv", rows)
    P.shop["forms"] = {"dates": "%d/%m/%Y", "filled_down": ["orders.csv"]}
    P.fields("storefront", "orders.csv", "orders", order_id="Order", placed_at="Placed", paid_at="Paid on", status="Status", currency="Currency", promised_by="Dispatch by", ship_to_country="Deliver to")
    P.fields("storefront", "orders.csv", "order_lines", order_id="Order", line_id="Line", listing_id="Page", sku="Our code", title="Item", options="Options", quantity="Qty", unit_price="Price each")
    P.shop["options"] = {"order_lines": list(B.names)}
    P.shop["words"] = {"orders.status": flip(state)}
    P.shop["notes"] = "The order's number stands on each row, its other cells on the first row only; Line counts within the order; Wording is typed by customers; Receipt no rises like an order's number and is quoted by nobody; no list of offers."
    words = {"received": "Da fare", "held": "Sospeso", "making": "In stampa", "dispatched": "Spedito", "cancelled": "Annullato", "rejected": "Rifiutato"}
    rows = []
    for j in B.jobs:
        for l in j.lines:
            p = l.sent[0][0] if l.sent else None
            rows.append({"Lavoro": j.key, "Cliente": "WHERRY", "Vs. ordine": reference(j, "Wherry "), "Arrivato il": B.cell(j.received), "Consegna prevista": j.due, "Stato": words[j.status], "Riga": int(l.key), "Articolo": l.variant.key, "Descrizione": l.variant.product, "Taglia": l.variant.size, "Colore": l.variant.colour, "Vs. codice": l.variant.sku, "Q.tà": l.qty, "Prezzo": l.variant.cost / 100, "Importo": l.variant.cost * l.qty / 100,
                         "Stampato il": B.cell(j.printed), "Macchina": 1 + j.n % 3, "Bolla": p.key if p else "", "Spedito il": B.cell(p.at) if p else "", "Corriere": p.carrier if p else "", "Tracciatura": p.track if p else "", "Note": "fragile" if l.variant.product.startswith("tazza") else ""})
    P.xlsx("supplier", "lavori aprile.xlsx", rows, "lavori")
    f = "lavori aprile.xlsx"
    P.fields("supplier", f, "submissions", submission_id="Lavoro", order_ref="Vs. ordine", status="Stato", received_at="Arrivato il")
    P.fields("supplier", f, "submission_lines", submission_id="Lavoro", line_id="Riga", variant_id="Articolo", sku="Vs. codice", quantity="Q.tà", unit_cost="Prezzo")
    P.fields("supplier", f, "parcels", parcel_id="Bolla", submission_id="Lavoro", dispatched_at="Spedito il", carrier="Corriere", tracking_number="Tracciatura")
    P.made["order_ref"]["prefix"] = "Wherry "
    P.made["words"] = {"submissions.status": flip(words)}
    P.made["notes"] = "The job's cells are repeated on each of its rows; times are cells; Bolla is the delivery note that names the parcel; Stampato il and Consegna prevista are no dispatch."
    P.done(B)


def cantuccio():
    """An Italian nested answer with two statuses; a German printer's heads, positions and articles, a parcel on the head."""
    P = Pair("02-cantuccio-di-carta", "Europe/Rome", "druckstube-erlenbruch")
    tones = [("salvia", "Salbei"), ("ruggine", "Rost"), ("panna", "Creme")]
    B = Book(7202, "Europe/Rome", "2026-03-09", 24, 36, [
        ("Gatto sul tetto", [("Quaderno", "Notizheft", ["A5", "A4"], tones, 1290, 410), ("Agenda", "Taschenkalender", None, tones[:2], 1890, 690)]),
        ("Mercato di marzo", [(None, "Poster", ["30x40", "50x70"], None, 2100, 640)]),
        ("Fico d'India", [("Felpa", "Kapuzenpulli", ["S", "M", "L", "XL"], tones[:2], 4500, 1980)])],
        ("Articolo", "Formato", "Colore"), ("Größe", "Farbe"),
        {"listing": lambda p: str(812 + 6 * p), "sku": lambda p, s, i, j, n: f"{['gatto', 'mercato', 'fico'][p]}-{'qa'[s]}{i}{j}", "stale": lambda n: f"vecchio-{n}", "variant": lambda p, s, i, j, n: str(480100 + 7 * n),
         "order": lambda n: f"CC-{2040 + n}", "uid": lambda n, r: 51000 + 3 * n, "line": lambda n, i: str(70220 + 2 * n), "job": lambda n, at: f"26-{n + 515:05d}", "job line": lambda j, i, n: str(10 * i), "parcel": lambda n, j: f"{j.key}", "track": lambda r: f"{r.randint(10**11, 10**12 - 1)}"},
        ["IT", "IT", "IT", "SM", "CH"], ["Dachsbote", "Haselhuhn Express"], "EUR", second=1, texts=["Alla nonna", "Classe 4B", "buon compleanno!"], split=0, halves=False)
    for j in B.jobs:
        for p in j.parcels: p.key = p.track
    pay = lambda o: "in attesa" if not o.paid else "rimborsato" if o.cancelled else "pagato"
    ship = {"open": "da evadere", "unpaid": "da evadere", "dispatched": "evaso", "cancelled": "annullato"}
    P.json("storefront", "ordini.json", {"negozio": {"id": 318, "nome": "Cantuccio di carta"}, "esportato_il": B.iso(B.asof), "ordini": [
        {"id": o.uid, "numero": o.key, "cliente_id": o.buyer, "creato_il": B.iso(o.placed), "modificato_il": B.iso(o.updated), "pagamento": {"stato": pay(o), "metodo": ["carta", "bonifico"][o.n % 2], "ricevuto_il": B.iso(o.paid) or None}, "evasione": {"stato": ship[o.status], "entro_il": str(o.due)}, "destinazione": {"nazione": o.country, "zona": 1 if o.country == "IT" else 2},
         "totali": {"valuta": "EUR", "articoli": o.goods / 100, "spedizione": o.post / 100, "iva": o.tax / 100, "totale": o.total / 100}, "nota": "citofonare due volte" if o.n % 8 == 3 else "", "fattura_richiesta": o.n % 5 == 0,
         "righe": [{"id": int(l.key), "scheda_id": int(l.offer.page.key), "titolo": l.offer.page.title, "codice": l.offer.sku, "scelte": {**l.offer.options, **({"Dedica": l.text} if l.text else {})}, "quantita": l.qty, "quantita_annullata": l.gone, "prezzo": l.offer.price / 100, "totale_riga": l.offer.price * l.qty / 100, "aliquota": 22} for l in o.lines]} for o in B.orders]}, 1)
    P.json("storefront", "schede.json", {"schede": [{"id": int(g.key), "titolo": g.title, "indirizzo": "/" + slug(g.title), "aggiornata_il": "2026-02-11T09:00:00+01:00", "foto": 5, "combinazioni": [{"codice": f.sku, "scelte": f.options, "prezzo": f.price / 100, "acquistabile": f.buyable} for f in g.offers]} for g in B.listings]}, 1)
    q, k, v = "ordini[*].", "ordini[*].righe[*].", "schede[*].combinazioni[*]."
    P.fields("storefront", "ordini.json", "orders", order_id=q + "numero", placed_at=q + "creato_il", paid_at=q + "pagamento.ricevuto_il", status=(q + "pagamento.stato", q + "evasione.stato"), currency=q + "totali.valuta", promised_by=q + "evasione.entro_il", ship_to_country=q + "destinazione.nazione", updated_at=q + "modificato_il")
    P.fields("storefront", "ordini.json", "order_lines", order_id=q + "numero", line_id=k + "id", listing_id=k + "scheda_id", sku=k + "codice", title=k + "titolo", options=k + "scelte", quantity=k + "quantita", cancelled_quantity=k + "quantita_annullata", unit_price=k + "prezzo")
    P.fields("storefront", "schede.json", "offers", listing_id="schede[*].id", title="schede[*].titolo", sku=v + "codice", options=v + "scelte", price=v + "prezzo", buyable=v + "acquistabile")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {f"orders.status@{q}pagamento.stato": {"pagato": "open", "in attesa": "unpaid", "rimborsato": "cancelled"}, f"orders.status@{q}evasione.stato": {"da evadere": "open", "evaso": "dispatched", "annullato": "cancelled"}}
    P.shop["notes"] = "id is the shop's own number, numero what the supplier quotes; payment and dispatch each have a status; Dedica among the choices is typed; fattura_richiesta is no status."
    words = {"received": "eingegangen", "held": "wartet auf Freigabe", "making": "in Produktion", "dispatched": "versendet", "cancelled": "storniert", "rejected": "abgelehnt"}
    t = lambda x: B.local(x, "%d.%m.%Y %H:%M")
    P.csv("supplier", "Auftraege.csv", [{"Auftrag": j.key, "Kundennr.": "10377", "Kundenreferenz": reference(j, "", " Cantuccio"), "Eingang": t(j.received), "Wunschtermin": j.due.strftime("%d.%m.%Y"), "Auftragsstatus": words[j.status], "Rechnungsnr.": f"R26{3100 + j.n}" if j.parcels else "", "Netto": com(sum(l.variant.cost * l.qty for l in j.lines)), "Gedruckt am": t(j.printed),
        "Versandt am": t(j.parcels[0].at) if j.parcels else "", "Versender": j.parcels[0].carrier if j.parcels else "", "Sendungsnummer": j.parcels[0].track if j.parcels else "", "Pakete": 1 if j.parcels else 0, "Letzte Änderung": t(j.updated)} for j in B.jobs], ";", "cp1252")
    P.csv("supplier", "Auftragspositionen.csv", [{"Auftrag": j.key, "Pos.": l.key, "Artikelnr.": l.variant.key, "Bezeichnung": l.variant.product, "Größe": l.variant.size, "Farbe": l.variant.colour, "Kundenartikel": l.variant.sku, "Menge": l.qty, "Ausschuss": 1 if l.n % 13 == 4 else 0, "EP netto": com(l.variant.cost), "GP netto": com(l.variant.cost * l.qty)} for j in B.jobs for l in j.lines], ";", "cp1252")
    P.csv("supplier", "Artikel.csv", [{"Artikelnr.": v.key, "Bezeichnung": v.product, "Größe": v.size, "Farbe": v.colour, "Kundenartikel": v.sku, "EP netto": com(v.cost), "Lieferbar": "ja" if v.available else "nein", "Mindestmenge": 1} for v in B.variants], ";", "cp1252")
    P.fields("supplier", "Auftraege.csv", "submissions", submission_id="Auftrag", order_ref="Kundenreferenz", status="Auftragsstatus", received_at="Eingang", updated_at="Letzte Änderung")
    P.fields("supplier", "Auftraege.csv", "parcels", parcel_id="Sendungsnummer", submission_id="Auftrag", dispatched_at="Versandt am", carrier="Versender", tracking_number="Sendungsnummer")
    P.fields("supplier", "Auftragspositionen.csv", "submission_lines", submission_id="Auftrag", line_id="Pos.", variant_id="Artikelnr.", sku="Kundenartikel", quantity="Menge", unit_cost="EP netto")
    P.fields("supplier", "Artikel.csv", "variants", variant_id="Artikelnr.", sku="Kundenartikel", product="Bezeichnung", options=["Größe", "Farbe"], unit_cost="EP netto", available="Lieferbar")
    P.made["order_ref"]["suffix"] = " Cantuccio"
    P.made["options"] = {"variants": ["Größe", "Farbe"]}
    P.made["words"] = {"submissions.status": flip(words), "variants.available": {"ja": "true", "nein": "false"}}
    P.made["forms"] = {"dates": "%d.%m.%Y"}
    P.made["notes"] = "One parcel for an order, in its head; the tracking number is its only name; Pakete is a count; Ausschuss is no quantity sent; Rechnungsnr. and Gedruckt am are the supplier's own matter."
    P.done(B)


def klaproosdijk():
    """Three Dutch tables with options in columns; an English answer, a line in JSON per job, each line with its shipment."""
    P = Pair("03-klaproosdijk", "Europe/Amsterdam", "lockgate-prints")
    tones = [("Klaproos", "poppy"), ("Zand", "sand"), ("Nacht", "midnight")]
    B = Book(7303, "Europe/Amsterdam", "2026-05-04", 23, 38, [
        ("Reiger in het riet", [("Trui", "crew sweat", ["S", "M", "L", "XL"], tones, 5400, 2290), ("Muts", "beanie", None, tones[1:], 2400, 870)]),
        ("Fietsbel", [(None, "sock pair", [("36-40", "36/40"), ("41-46", "41/46")], tones[:2], 1295, 420)]),
        ("Dijkschaap", [(None, "kids tee", ["92", "104", "116"], tones[:2], 1995, 760)])],
        ("Uitvoering", "Maat", "Kleur"), ("size", "colour"),
        {"listing": lambda p: f"K{40 + p}", "sku": lambda p, s, i, j, n: f"{['RR', 'FB', 'DS'][p]}{s}{i}{j}{n:02d}", "stale": lambda n: f"X{n:04d}", "variant": lambda p, s, i, j, n: f"{['cs', 'sp', 'kt'][p] if not s else 'bn'}-{['s', 'm', 'l', 'xl'][i]}-{['pop', 'san', 'mid'][j]}-{n}",
         "order": lambda n: str(202600310 + n), "uid": lambda n, r: 4410 + n, "line": lambda n, i: str(88100 + n), "job": lambda n, at: f"LG{n + 7040}", "job line": lambda j, i, n: str(i), "parcel": lambda n, j: f"{j.key}/{len(j.parcels) + 1}", "track": lambda r: f"RB{r.randint(10**10, 10**11 - 1)}"},
        ["NL", "NL", "NL", "BE"], ["Roodhals Bezorgt", "Kanaalkoerier"], "EUR", texts=["voor Opa", "juf bedankt", "de liefste juf"], split=.45, reduced=0, strays=[("SAMPLE", False)])
    pay = lambda o: "Open" if not o.paid else "Terugbetaald" if o.cancelled else "Betaald"
    ship = {"open": "Nog te verzenden", "unpaid": "Nog te verzenden", "dispatched": "Verzonden", "cancelled": "Geannuleerd"}
    t = lambda x: B.local(x, "%d-%m-%Y %H:%M")
    opt = lambda f: {k: f.options.get(k, "") for k in B.names}
    P.csv("storefront", "bestellingen.csv", [{"Volgnr": o.uid, "Bestelnummer": o.key, "Klantnummer": o.buyer, "Besteld op": t(o.placed), "Betaalstatus": pay(o), "Betaald op": t(o.paid), "Betaalwijze": ["bank", "kaart", "achteraf"][o.n % 3], "Verzendstatus": ship[o.status], "Verzenden voor": o.due.strftime("%d-%m-%Y"), "Land": o.country, "Subtotaal": com(o.goods), "Verzendkosten": com(o.post), "Totaal": com(o.total), "Valuta": "EUR", "Factuurnummer": f"F{2026100 + o.n}" if o.paid else "", "Aantal regels": len(o.lines), "Opmerking": "bij de buren afgeven" if o.n % 10 == 2 else "", "Gewijzigd op": t(o.updated)} for o in B.orders], ";", "utf-8-sig")
    P.csv("storefront", "bestelregels.csv", [{"Regelnummer": l.key, "Bestelnummer": o.key, "Artikelpagina": l.offer.page.key, "Artikelcode": l.offer.sku, "Omschrijving": l.offer.page.title, **opt(l.offer), "Tekst op label": l.text, "Aantal": l.qty, "Prijs": com(l.offer.price), "Regeltotaal": com(l.offer.price * l.qty), "Btw": "21%"} for o in B.orders for l in o.lines], ";", "utf-8-sig")
    P.csv("storefront", "artikelen.csv", [{"Artikelpagina": f.page.key, "Omschrijving": f.page.title, "Artikelcode": f.sku, **opt(f), "Prijs": com(f.price), "Te bestellen": "ja" if f.buyable else "nee", "Bekeken": 30 + f.n * 17 % 90} for f in B.offers], ";", "utf-8-sig")
    P.fields("storefront", "bestellingen.csv", "orders", order_id="Bestelnummer", placed_at="Besteld op", paid_at="Betaald op", status=("Betaalstatus", "Verzendstatus"), currency="Valuta", promised_by="Verzenden voor", ship_to_country="Land", updated_at="Gewijzigd op")
    P.fields("storefront", "bestelregels.csv", "order_lines", order_id="Bestelnummer", line_id="Regelnummer", listing_id="Artikelpagina", sku="Artikelcode", title="Omschrijving", options=list(B.names), quantity="Aantal", unit_price="Prijs")
    P.fields("storefront", "artikelen.csv", "offers", listing_id="Artikelpagina", title="Omschrijving", sku="Artikelcode", options=list(B.names), price="Prijs", buyable="Te bestellen")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {"orders.status@Betaalstatus": {"Betaald": "open", "Open": "unpaid", "Terugbetaald": "cancelled"}, "orders.status@Verzendstatus": {"Nog te verzenden": "open", "Verzonden": "dispatched", "Geannuleerd": "cancelled"}, "offers.buyable": {"ja": "true", "nee": "false"}}
    P.shop["forms"] = {"dates": "%d-%m-%Y"}
    P.shop["notes"] = "Volgnr and Factuurnummer rise too, the files are joined by Bestelnummer; options stand in columns, Tekst op label is typed; Open means that the payment is; Aantal regels is no quantity."
    words = {"received": "queued", "held": "query", "making": "on press", "dispatched": "shipped", "cancelled": "void", "rejected": "declined"}
    P.jsonl("supplier", "jobs.jsonl", [{"job": j.key, "account": "KLAPR", "client_ref": reference(j, "KD"), "status": words[j.status], "booked": secs(j.received), "ship_target": str(j.due), "last_event": secs(j.updated), "batch": 300 + j.n // 4, "net_cents": sum(l.variant.cost * l.qty for l in j.lines),
        "lines": [{"no": int(l.key), "article": l.variant.key, "product": l.variant.product, "client_sku": l.variant.sku, "ordered": l.qty, "unit_cents": l.variant.cost, "shipment": {"parcel": l.sent[0][0].key, "at": secs(l.sent[0][0].at), "carrier": l.sent[0][0].carrier, "tracking": l.sent[0][0].track} if l.sent else None} for l in j.lines]} for j in B.jobs])
    P.jsonl("supplier", "articles.jsonl", [{"article": v.key, "product": v.product, "size": v.size or None, "colour": v.colour or None, "client_sku": v.sku, "unit_cents": v.cost, "can_make": v.available, "grams": 180 + v.n} for v in B.variants])
    s = "lines[*].shipment."
    P.fields("supplier", "jobs.jsonl", "submissions", submission_id="job", order_ref="client_ref", status="status", received_at="booked", updated_at="last_event")
    P.fields("supplier", "jobs.jsonl", "submission_lines", submission_id="job", line_id="lines[*].no", variant_id="lines[*].article", sku="lines[*].client_sku", quantity="lines[*].ordered", unit_cost="lines[*].unit_cents")
    P.fields("supplier", "jobs.jsonl", "parcels", parcel_id=s + "parcel", submission_id="job", dispatched_at=s + "at", carrier=s + "carrier", tracking_number=s + "tracking")
    P.fields("supplier", "articles.jsonl", "variants", variant_id="article", sku="client_sku", product="product", options=["size", "colour"], unit_cost="unit_cents", available="can_make")
    P.made["order_ref"]["prefix"] = "KD"
    P.made["options"] = {"variants": ["size", "colour"]}
    P.made["words"] = {"submissions.status": flip(words)}
    P.made["forms"] = {"times": "epoch seconds", "money": "minor units"}
    P.made["notes"] = "Each line names its shipment, or none; a shipment may stand on several lines; ship_target is the due day; a sample has the word SAMPLE for a reference; batch is the press's."
    P.done(B)


def fjallsippan():
    """Swedish lines of JSON, milliseconds and minor units; a Swedish list as a spreadsheet saves text, tabs and UTF-16."""
    P = Pair("04-fjallsippan", "Europe/Stockholm", "myrviks-textiltryck")
    tones = [("Mossa", "MOS"), ("Granit", "GRA"), ("Hjortron", "HJO")]
    B = Book(7404, "Europe/Stockholm", "2026-02-16", 24, 33, [
        ("Lodjur i motljus", [("T-tröja", "T-tröja vuxen", ["S", "M", "L", "XL"], tones, 29900, 10400), ("Barntröja", "T-tröja barn", ["98", "110", "122"], tones[:2], 22900, 8700)]),
        ("Kaffe vid tjärnen", [(None, "Kåsa", [("2 dl", "20"), ("4 dl", "40")], None, 24900, 9100)]),
        ("Norrsken", [(None, "Halsduk", None, tones, 34900, 13900)])],
        ("modell", "storlek", "färg"), ("Storlek", "Färg"),
        {"listing": lambda p: str(5501 + 11 * p), "sku": lambda p, s, i, j, n: f"FS{n:03d}{'LKN'[p]}{i}{j}", "stale": lambda n: f"FS-G{n}", "variant": lambda p, s, i, j, n: f"{['TV', 'KÅ', 'HD'][p] if not s else 'TB'}{i + 1}{j + 1}-{700 + n}",
         "order": lambda n: f"F{3070 + n}", "uid": lambda n, r: 990100 + 9 * n, "line": lambda n, i: str(64000 + 3 * n), "job": lambda n, at: f"{at:%y%m}-{n + 210}", "job line": lambda j, i, n: f"{j.key}:{i}", "parcel": lambda n, j: f"K{n + 5510}", "track": lambda r: f"{r.randint(10**9, 10**10 - 1)}"},
        ["SE", "SE", "SE", "NO", "FI"], ["Järvpaket", "Lavskrikan Frakt"], "SEK", second=1, texts=["Grattis mormor", "Klass 2A"], split=.5)
    state = {"open": "betald", "dispatched": "skickad", "unpaid": "väntar på betalning", "cancelled": "makulerad"}
    P.jsonl("storefront", "ordrar.jsonl", [{"orderId": o.uid, "orderNr": o.key, "läge": state[o.status], "lagdMs": mils(o.placed), "betaldMs": mils(o.paid), "ändradMs": mils(o.updated), "skickasSenast": str(o.due), "mottagarland": o.country, "valuta": "SEK", "summaÖre": o.goods, "fraktÖre": o.post, "totaltÖre": o.total, "momsÖre": o.tax, "kundNr": o.buyer, "presentinslagning": o.n % 6 == 1, "rader": [
        {"radId": int(l.key), "annonsId": int(l.offer.page.key), "rubrik": l.offer.page.title, "artikelkod": l.offer.sku or None, "val": [{"namn": k, "värde": v} for k, v in l.offer.options.items()] + ([{"namn": "egen text", "värde": l.text}] if l.text else []), "antal": l.qty, "varavAnnullerat": l.gone, "prisÖre": l.offer.price, "radsummaÖre": l.offer.price * l.qty, "viktGram": 200} for l in o.lines]} for o in B.orders])
    P.jsonl("storefront", "annonser.jsonl", [{"annonsId": int(f.page.key), "rubrik": f.page.title, "artikelkod": f.sku or None, "val": [{"namn": k, "värde": v} for k, v in f.options.items()], "prisÖre": f.price, "valuta": "SEK", "köpbar": f.buyable, "visningar": 20 + f.n * 31 % 80} for f in B.offers])
    k = "rader[*]."
    P.fields("storefront", "ordrar.jsonl", "orders", order_id="orderNr", placed_at="lagdMs", paid_at="betaldMs", status="läge", currency="valuta", promised_by="skickasSenast", ship_to_country="mottagarland", updated_at="ändradMs")
    P.fields("storefront", "ordrar.jsonl", "order_lines", order_id="orderNr", line_id=k + "radId", listing_id=k + "annonsId", sku=k + "artikelkod", title=k + "rubrik", options=k + "val", quantity=k + "antal", cancelled_quantity=k + "varavAnnullerat", unit_price=k + "prisÖre")
    P.fields("storefront", "annonser.jsonl", "offers", listing_id="annonsId", title="rubrik", sku="artikelkod", options="val", price="prisÖre", currency="valuta", buyable="köpbar")
    P.shop["options"] = {"order_lines": list(B.names), "offers": list(B.names)}
    P.shop["words"] = {"orders.status": flip(state)}
    P.shop["forms"] = {"times": "epoch milliseconds", "money": "minor units"}
    P.shop["notes"] = "orderId is the shop's own, orderNr is quoted; varavAnnullerat is how many of antal were called off; egen text among the choices is typed; amounts in öre."
    words = {"received": "Mottagen", "held": "Pausad", "making": "I tryck", "dispatched": "Skickad", "cancelled": "Avbruten", "rejected": "Nekad"}
    t = lambda x: B.local(x, "%Y-%m-%d %H:%M")
    rows = []
    for j in B.jobs:
        for l in j.lines:
            p = l.sent[0][0] if l.sent else None
            rows.append({"Jobb": j.key, "Kundens order": reference(j, "", "/FS"), "Inkom": t(j.received), "Önskat klart": str(j.due), "Jobbstatus": words[j.status], "Rad-id": l.key, "Art.nr": l.variant.key, "Benämning": l.variant.product, "Kundens kod": l.variant.sku, "Beställt": l.qty, "Kassation": 1 if l.n % 11 == 6 else 0, "À-pris": com(l.variant.cost), "Summa": com(l.variant.cost * l.qty), "Radstatus": words[l.status], "Tryckt": t(j.printed), "Kolli": p.key if p else "", "Avgick": t(p.at) if p else "", "Fraktbolag": p.carrier if p else "", "Sändningsnr": p.track if p else "", "Senast ändrad": t(j.updated)})
    P.csv("supplier", "produktionslista.txt", rows, "\t", "utf-16")
    P.csv("supplier", "artiklar.txt", [{"Art.nr": v.key, "Benämning": v.product, "Storlek": v.size, "Färg": v.colour, "Kundens kod": v.sku, "À-pris": com(v.cost), "Aktiv": "ja" if v.available else "nej", "Ledtid dagar": 3} for v in B.variants], "\t", "utf-16")
    f = "produktionslista.txt"
    P.fields("supplier", f, "submissions", submission_id="Jobb", order_ref="Kundens order", status="Jobbstatus", received_at="Inkom", updated_at="Senast ändrad")
    P.fields("supplier", f, "submission_lines", submission_id="Jobb", line_id="Rad-id", variant_id="Art.nr", sku="Kundens kod", quantity="Beställt", status="Radstatus", unit_cost="À-pris")
    P.fields("supplier", f, "parcels", parcel_id="Kolli", submission_id="Jobb", dispatched_at="Avgick", carrier="Fraktbolag", tracking_number="Sändningsnr")
    P.fields("supplier", "artiklar.txt", "variants", variant_id="Art.nr", sku="Kundens kod", product="Benämning", options=["Storlek", "Färg"], unit_cost="À-pris", available="Aktiv")
    P.made["order_ref"]["suffix"] = "/FS"
    P.made["options"] = {"variants": ["Storlek", "Färg"]}
    P.made["words"] = {"submissions.status": flip(words), "submission_lines.status": flip(words), "variants.available": {"ja": "true", "nej": "false"}}
    P.made["notes"] = "Jobbstatus is the whole's, Radstatus the line's; Tryckt is when it was printed; Kassation counts misprints; the year comes first in dates."
    P.done(B)


def andorinha():
    """A Portuguese sheet with a row per line and yes-or-no columns; a Spanish nested answer with what each sending holds."""
    P = Pair("05-andorinha-de-papel", "Europe/Lisbon", "taller-dos-veredas")
    tones = [("azul-mar", "azul"), ("areia", "arena"), ("terracota", "teja")]
    B = Book(7505, "Europe/Lisbon", "2026-03-23", 21, 30, [
        ("Elétrico amarelo", [("Camisola", "Sudadera", ["S", "M", "L", "XL"], tones, 4200, 1790), ("Saco", "Bolsa", None, tones[:2], 1500, 460)]),
        ("Sardinhas", [(None, "Delantal", [("criança", "infantil"), ("adulto", "adulto")], tones[1:], 2300, 880)]),
        ("Farol do Cabo", [(None, "Lámina", ["A4", "A3"], None, 1600, 420)])],
        ("Modelo", "Tamanho", "Cor"), ("talla", "color"),
        {"listing": lambda p: f"AP{p + 12}", "sku": lambda p, s, i, j, n: f"{['ELE', 'SAR', 'FAR'][p]}{'-S' if s else ''}-{i + 1}{'ABC'[j]}", "stale": lambda n: f"ANT-{n}", "variant": lambda p, s, i, j, n: str(60210 + 13 * n),
         "order": lambda n: str(3300 + n), "uid": lambda n, r: 880 + n, "line": lambda n, i: f"{15000 + n}", "job": lambda n, at: f"OT-{n + 940}", "job line": lambda j, i, n: f"{j.key}-{i}", "parcel": lambda n, j: f"EX{n + 2201}", "track": lambda r: f"PQ{r.randint(10**8, 10**9 - 1)}"},
        ["PT", "PT", "PT", "ES", "FR"], ["Mensajería Vencejo", "Tres Alforjas"], "EUR", texts=["Feliz dia, Mãe", "Turma do 3.º A"], split=.5, pieces=True, reduced=0)
    yes = lambda x: "Sim" if x else "Não"
    P.xlsx("storefront", "Encomendas.xlsx", [{"N.º encomenda": int(o.key), "Data": B.cell(o.placed), "Pago": yes(o.paid), "Pago em": B.cell(o.paid), "Enviado": yes(o.status == "dispatched"), "Anulado": yes(o.cancelled), "Enviar até": o.due, "País": o.country, "N.º fatura": f"FT 2026/{o.uid}" if o.paid else "", "Linha": int(l.key), "Página": l.offer.page.key, "Artigo": l.offer.page.title, "Referência": l.offer.sku, "Modelo": l.offer.options.get("Modelo", ""), "Tamanho": l.offer.options.get("Tamanho", ""), "Cor": l.offer.options.get("Cor", ""), "Personalização": l.text, "Quantidade": l.qty, "Preço": l.offer.price / 100, "Total da linha": l.offer.price * l.qty / 100, "Portes": o.post / 100, "Total": o.total / 100, "Moeda": "EUR", "Embrulho": yes(o.n % 7 == 3)} for o in B.orders for l in o.lines], "Folha1")
    f = "Encomendas.xlsx"
    P.fields("storefront", f, "orders", order_id="N.º encomenda", placed_at="Data", paid_at="Pago em", status=("Pago", "Enviado", "Anulado"), currency="Moeda", promised_by="Enviar até", ship_to_country="País")
    P.fields("storefront", f, "order_lines", order_id="N.º encomenda", line_id="Linha", listing_id="Página", sku="Referência", title="Artigo", options=list(B.names), quantity="Quantidade", unit_price="Preço")
    P.shop["options"] = {"order_lines": list(B.names)}
    P.shop["words"] = {"orders.status@Pago": {"Sim": "open", "Não": "unpaid"}, "orders.status@Enviado": {"Sim": "dispatched", "Não": "open"}, "orders.status@Anulado": {"Sim": "cancelled", "Não": "open"}}
    P.shop["notes"] = "The order's cells are repeated on each row; three columns of Sim and Não make the status, Embrulho is a fourth that does not; Total is the order's; no list of offers."
    words = {"received": "recibida", "held": "en espera", "making": "en producción", "dispatched": "enviada", "cancelled": "anulada", "rejected": "rechazada"}
    P.json("supplier", "ordenes.json", {"cliente": {"codigo": "C-0518"}, "generado": zulu(B.asof), "totalOrdenes": len(B.jobs), "ordenes": [{"ordenId": j.key, "pedidoCliente": reference(j, "AP#"), "situacion": words[j.status], "facturada": j.n % 3 == 0, "recibidaEn": zulu(j.received), "impresaEn": zulu(j.printed), "actualizadaEn": zulu(j.updated), "entregaPrevista": str(j.due),
        "piezas": [{"piezaId": l.key, "articulo": l.variant.key, "descripcion": l.variant.product, "codigoCliente": l.variant.sku, "lineaCliente": int(l.of.key) if l.of else None, "unidades": l.qty, "costeUnitario": dec(l.variant.cost), "costeTotal": dec(l.variant.cost * l.qty)} for l in j.lines],
        "expediciones": [{"expedicionId": p.key, "salida": zulu(p.at), "agencia": p.carrier, "seguimiento": p.track, "bultos": 1, "contenido": [{"piezaId": l.key, "unidades": n} for l, n in p.lines]} for p in j.parcels]} for j in B.jobs]}, 1)
    P.json("supplier", "articulos.json", {"articulos": [{"articulo": v.key, "descripcion": v.product, "atributos": v.options, "codigoCliente": v.sku, "costeUnitario": dec(v.cost), "moneda": "EUR", "disponible": v.available, "gramaje": 240} for v in B.variants]}, 1)
    q, k, x, v = "ordenes[*].", "ordenes[*].piezas[*].", "ordenes[*].expediciones[*].", "articulos[*]."
    P.fields("supplier", "ordenes.json", "submissions", submission_id=q + "ordenId", order_ref=q + "pedidoCliente", status=q + "situacion", received_at=q + "recibidaEn", updated_at=q + "actualizadaEn")
    P.fields("supplier", "ordenes.json", "submission_lines", submission_id=q + "ordenId", line_id=k + "piezaId", order_line_ref=k + "lineaCliente", variant_id=k + "articulo", sku=k + "codigoCliente", quantity=k + "unidades", unit_cost=k + "costeUnitario")
    P.fields("supplier", "ordenes.json", "parcels", parcel_id=x + "expedicionId", submission_id=q + "ordenId", dispatched_at=x + "salida", carrier=x + "agencia", tracking_number=x + "seguimiento")
    P.fields("supplier", "ordenes.json", "parcel_lines", parcel_id=x + "expedicionId", submission_line_id=x + "contenido[*].piezaId", quantity=x + "contenido[*].unidades")
    P.fields("supplier", "articulos.json", "variants", variant_id=v + "articulo", sku=v + "codigoCliente", product=v + "descripcion", options=v + "atributos", unit_cost=v + "costeUnitario", currency=v + "moneda", available=v + "disponible")
    P.made["order_ref"]["prefix"] = "AP#"
    P.made["options"] = {"variants": ["talla", "color"]}
    P.made["words"] = {"submissions.status": flip(words)}
    P.made["notes"] = "lineaCliente is the shop's Linha; unidades stands in the order and in what a sending holds; a piece may leave in two sendings; facturada and impresaEn are no status."
    P.done(B)


def gopher_and_gale():
    """American tables, month first, with one unnamed choice; work orders kept by their number, and a list of shipments."""
    P = Pair("06-gopher-and-gale", "America/Denver", "tallgrass-thread-shop")
    tones = [("Clay", "CLY"), ("Pine", "PIN"), ("Bone", "BON")]
    B = Book(7606, "America/Denver", "2026-01-12", 23, 37, [
        ("Prairie Weather Tee", [(None, "unisex tee", ["S", "M", "L", "XL", "2XL"], tones, 2600, 980)]),
        ("Gopher Library Tote", [(None, "canvas tote", None, tones, 1900, 610)]),
        ("Hailstone Mug", [(None, "stoneware mug", ["11 oz", "15 oz"], tones[1:], 1700, 640)])],
        ("", "size", "color"), ("size", "color"),
        {"listing": lambda p: str(20417 + 88 * p), "sku": lambda p, s, i, j, n: f"{['PWT', 'GLT', 'HSM'][p]}-{i}{'CPB'[j]}", "stale": lambda n: f"TEMP{n}", "variant": lambda p, s, i, j, n: f"{['UT', 'CT', 'SM'][p]}{2000 + 3 * n}",
         "order": lambda n: f"GG{7100 + n}", "uid": lambda n, r: 1 + n, "line": lambda n, i: str(330000 + 7 * n), "job": lambda n, at: str(51800 + n), "job line": lambda j, i, n: str(9000 + n), "parcel": lambda n, j: str(770100 + n), "track": lambda r: f"BX{r.randint(10**11, 10**12 - 1)}"},
        ["US", "US", "US", "CA"], ["Burrow Express", "Meadowlark Freight"], "USD", texts=["Go Hens!", "Class of '26"], split=.45, pieces=True, remakes=1)
    for o in B.offers:
        both = [x for x in (o.options.get("size"), o.options.get("color")) if x]
        o.options = {"Variant": " / ".join(both)}
    state = {"open": "Paid", "dispatched": "Shipped", "unpaid": "Payment pending", "cancelled": "Canceled"}
    t = lambda x: B.local(x, "%m/%d/%Y %I:%M %p")
    usd = lambda c: "$" + dec(c)
    P.csv("storefront", "orders.csv", [{"ID": o.uid, "Order #": o.key, "Order date": t(o.placed), "Date paid": t(o.paid), "Order status": state[o.status], "Ship by": o.due.strftime("%m/%d/%Y"), "Ship country": o.country, "Items": sum(l.qty for l in o.lines), "Subtotal": usd(o.goods), "Shipping": usd(o.post), "Sales tax": usd(o.tax), "Order total": usd(o.total), "Coupon": "HELLO" if o.n % 8 == 5 else "", "Gift?": "N", "Last modified": t(o.updated)} for o in B.orders])
    P.csv("storefront", "order_items.csv", [{"Item ID": l.key, "Order #": o.key, "Product ID": l.offer.page.key, "Product name": l.offer.page.title, "Variant": l.offer.options["Variant"], "SKU": l.offer.sku, "Custom text": l.text, "Quantity": l.qty, "Quantity canceled": l.gone, "Unit price": usd(l.offer.price), "Total price": usd(l.offer.price * l.qty), "Taxable": "Y"} for o in B.orders for l in o.lines])
    P.csv("storefront", "products.csv", [{"Product ID": f.page.key, "Product name": f.page.title, "Variant": f.options["Variant"], "SKU": f.sku, "Unit price": usd(f.price), "For sale": "Y" if f.buyable else "N", "Photo": f"https://img.example.com/{slug(f.page.title)}.jpg"} for f in B.offers])
    P.fields("storefront", "orders.csv", "orders", order_id="Order #", placed_at="Order date", paid_at="Date paid", status="Order status", promised_by="Ship by", ship_to_country="Ship country", updated_at="Last modified")
    P.fields("storefront", "order_items.csv", "order_lines", order_id="Order #", line_id="Item ID", listing_id="Product ID", sku="SKU", title="Product name", options="Variant", quantity="Quantity", cancelled_quantity="Quantity canceled", unit_price="Unit price")
    P.fields("storefront", "products.csv", "offers", listing_id="Product ID", title="Product name", sku="SKU", options="Variant", price="Unit price", buyable="For sale")
    P.shop["options"] = {"order_lines": ["Variant"], "offers": ["Variant"]}
    P.shop["words"] = {"orders.status": flip(state), "offers.buyable": {"Y": "true", "N": "false"}}
    P.shop["forms"] = {"dates": "%m/%d/%Y", "clock": "%I:%M %p"}
    P.shop["notes"] = "Variant is the choice, without names; ID is a running number, Items a count of pieces; no currency but the sign."
    words = {"received": "new", "held": "hold", "making": "in production", "dispatched": "shipped", "cancelled": "canceled", "rejected": "rejected"}
    P.json("supplier", "work_orders.json", {"as_of": B.iso(B.asof), "work_orders": {j.key: {"work_order": int(j.key), "customer_po": reference(j, "PO "), "stage": words[j.status], "priority": "standard", "entered_at": B.iso(j.received), "printed_at": B.iso(j.printed) or None, "updated_at": B.iso(j.updated), "due": str(j.due), "remake_of": int(j.replaces) if j.replaces else None,
        "pieces": [{"piece_id": int(l.key), "item_no": l.variant.key, "item": l.variant.product, "customer_sku": "gg_" + l.variant.sku, "qty": l.qty, "unit_cost": l.variant.cost / 100, "extended": l.variant.cost * l.qty / 100} for l in j.lines]} for j in B.jobs}})
    P.json("supplier", "shipments.json", [{"shipment": int(p.key), "work_order": int(j.key), "shipped_at": B.iso(p.at), "carrier": p.carrier, "tracking_number": p.track, "weight_oz": 6 + p.n % 9, "contents": [{"piece_id": int(l.key), "qty": n} for l, n in p.lines]} for j in B.jobs for p in j.parcels], 1)
    P.json("supplier", "items.json", [{"item_no": v.key, "item": v.product, "size": v.size or None, "color": v.colour, "customer_sku": "gg_" + v.sku, "unit_cost": v.cost / 100, "in_stock": v.available, "shelf": f"B{v.n % 7}"} for v in B.variants], 1)
    q, k = "work_orders[*].", "work_orders[*].pieces[*]."
    P.fields("supplier", "work_orders.json", "submissions", submission_id=q + "work_order", order_ref=q + "customer_po", status=q + "stage", received_at=q + "entered_at", replaces=q + "remake_of", updated_at=q + "updated_at")
    P.fields("supplier", "work_orders.json", "submission_lines", submission_id=q + "work_order", line_id=k + "piece_id", variant_id=k + "item_no", sku=k + "customer_sku", quantity=k + "qty", unit_cost=k + "unit_cost")
    P.fields("supplier", "shipments.json", "parcels", parcel_id="[*].shipment", submission_id="[*].work_order", dispatched_at="[*].shipped_at", carrier="[*].carrier", tracking_number="[*].tracking_number")
    P.fields("supplier", "shipments.json", "parcel_lines", parcel_id="[*].shipment", submission_line_id="[*].contents[*].piece_id", quantity="[*].contents[*].qty")
    P.fields("supplier", "items.json", "variants", variant_id="[*].item_no", sku="[*].customer_sku", product="[*].item", options=["[*].size", "[*].color"], unit_cost="[*].unit_cost", available="[*].in_stock")
    P.made["order_ref"]["prefix"], P.made["sku"]["prefix"] = "PO ", "gg_"
    P.made["options"] = {"variants": ["size", "color"]}
    P.made["words"] = {"submissions.status": flip(words)}
    P.made["notes"] = "Work orders stand in an object by their number; remake_of names the one that is made again; qty stands in the pieces and in the shipments; printed_at is no dispatch."
    P.done(B)


PAIRS = [wherry_loft, cantuccio, klaproosdijk, fjallsippan, andorinha, gopher_and_gale]
if __name__ == "__main__":
    import more
    for pair in PAIRS + more.PAIRS: pair()
