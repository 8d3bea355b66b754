#!/usr/bin/env python3
"""Makes the eight pairs. Run without arguments: writes beside this file."""
import csv
import json
import random
import shutil
from datetime import timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from book import Book, Variant, day, money, rfc
from files import put_csv, put_json, put_jsonl, put_ods, put_xlsx

HERE = Path(__file__).parent
UTC = ZoneInfo("UTC")


class Words:
    """Source words for everyline's words; remembers which occur."""

    def __init__(self, **words):
        self.words, self.seen = words, {}

    def __call__(self, ours):
        word = self.words[ours]
        return self.met(word, ours)

    def met(self, word, ours):
        self.seen[word] = ours
        return word


class Truth:
    def __init__(self, zone, supplier):
        self.supplier = supplier
        self.value = {"zone": zone, "supplier": supplier,
                      "storefront": {"files": {}, "fields": [], "words": {}, "options": {}, "notes": ""},
                      "supplier_source": {"files": {}, "fields": [], "words": {}, "options": {}, "notes": "",
                                          "order_ref": {"prefix": "", "suffix": ""}, "sku": {"prefix": "", "suffix": ""}}}
        self.side = self.value["storefront"]

    def of(self, side):
        self.side = self.value[side]
        return self

    def file(self, name, **how):
        self.side["files"][name] = how

    def fields(self, table, file, **places):
        """places: column = place, list of places (each right), or a dict with at and more."""
        for column, place in places.items():
            entry = {"table": table, "column": column, "file": file}
            if isinstance(place, dict):
                entry.update(place)
                if isinstance(entry["at"], str):
                    entry["at"] = [entry["at"]]
            else:
                entry["at"] = [place] if isinstance(place, str) else place
            self.side["fields"].append(entry)

    def words(self, column, words):
        self.side["words"][column] = dict(sorted(words.items()))

    def words_of_places(self, column, places):
        """Several places decide together: the strongest of cancelled, unpaid, dispatched, open."""
        flat, clash = {}, False
        for place, words in places.items():
            self.side["words"][f"{column}@{place}"] = dict(sorted(words.items()))
            for word, ours in words.items():
                clash = clash or flat.setdefault(word, ours) != ours
        if not clash:
            self.side["words"][column] = dict(sorted(flat.items()))


def T(at, form):
    return {"at": at, "form": form}


def M(at, form):
    return {"at": at, "form": form}


def together(*at, **more):
    return {"at": list(at), "all": True, **more}


class Exchange:
    def __init__(self):
        self.tables = {}

    def row(self, table, **cells):
        self.tables.setdefault(table, []).append(cells)

    def write(self, folder):
        for name, rows in self.tables.items():
            put_csv(folder / f"{name}.csv", list(rows[0]), [[cells_text(v) for v in r.values()] for r in rows], end="\n")


def cells_text(v):
    if isinstance(v, dict):
        return json.dumps(v, ensure_ascii=False)
    return "" if v is None else str(v)


def finish(name, truth, exchange):
    folder = HERE / name
    put_json(folder / "truth.json", truth.value, indent=1)
    prefix = truth.value["supplier_source"]["sku"]["prefix"]
    for table in ("submission_lines", "variants"):
        for row in exchange.tables.get(table, []):
            row["sku"] = str(row.get("sku") or "").removeprefix(prefix)
    exchange.write(folder / "exchange")


def fresh(name):
    folder = HERE / name
    shutil.rmtree(folder, ignore_errors=True)
    return folder


def variants(designs, goods, colours, sku, own_id):
    """designs: (listing, title, code); goods: (name, code, sizes, price, cost); colours: (name, code)."""
    out = []
    for listing, title, design in designs:
        for good, gcode, sizes, price, cost in goods:
            for n, size in enumerate(sizes):
                for colour, ccode in colours:
                    extra = 200 if size in ("XL", "XXL", "2XL") else 0
                    k = len(out)
                    out.append(Variant(listing, title, good, size, colour, sku(design, gcode, size, ccode, k), own_id(design, gcode, size, ccode, k),
                                       price + extra, cost + extra // 2))
    return out


def comma(minor, sign=""):
    whole = f"{minor // 100:,}".replace(",", ".")
    return f"{whole},{minor % 100:02d}{sign}"


def dollars(minor):
    return f"${minor // 100:,}.{minor % 100:02d}"


def only(pairs):
    return {k: v for k, v in pairs.items() if v != ""}


def naive(moment):
    return moment.replace(tzinfo=None) if moment else ""


# 01: a German sewing shop; an old shop program's download, a printer's hand-kept order book

def pair_01():
    name = "01-birkenfaden"
    folder = fresh(name)
    vs = variants([("A-108", "Waldrand – Linoldruck auf Leinen", "WAR"), ("A-115", "Zaunkönig „Knirps“", "ZAK"), ("A-121", "Brombeerhecke", "BRO")],
                  [("Schürze", "SCH", ["S", "M", "L", "XL"], 3490, 1480), ("Langarmshirt", "LAS", ["XS", "S", "M", "L", "XL", "XXL"], 2990, 1215),
                   ("Beutel", "BTL", [""], 1690, 520)],
                  [("Moos", "MO"), ("Schiefer", "SF"), ("Rübenrot", "RR"), ("Natur", "NA")],
                  lambda d, g, s, c, k: "-".join(x for x in (d, g, s, c) if x), lambda d, g, s, c, k: f"{4000 + k}")
    b = Book(seed=101, zone="Europe/Berlin", start="2025-03-10", days=40, orders=66, first=20411, order_id=str, languages=["de"],
             countries=["DE", "DE", "DE", "DE", "AT", "CH"], variants=vs, typed=["Für Oma Hilde", "Lenz & Frieda, 2025", "Chefkoch: bitte nicht stören", "Käthe",
             "Für Papa; der Beste", "Größe zählt nicht"], notes=["Bitte ohne Rechnung beilegen", "Geschenk; bitte neutral verpacken", "Nachbarin nimmt an\n(2. Stock)", "eilt!"],
             wrong_sku=lambda v, r: v.sku.replace("-", "_").lower(), carriers=["Silberpfad Kurier", "Talpost"], first_submission=7701, submission_id=lambda n: f"S-{n}",
             tracking=lambda r: f"SP{r.randrange(10**9, 10**10)}DE", statuses=["received", "making", "held"])
    t = Truth(b.zone_name, "druckerei-steinlach")
    x = Exchange()
    say = Words(unpaid="wartet auf Zahlung", dispatched="verschickt", cancelled="storniert")
    stamp = "%d.%m.%Y %H:%M"
    header = ["Vorgang", "Rechnung", "Rechnungsdatum", "Eingang", "Bezahlt am", "Zahlart", "Vorgangsstand", "Kundennr", "Vorname", "Nachname", "Strasse", "PLZ", "Ort", "Land",
              "E-Mail", "Telefon", "Artikelseite", "Bestellcode", "Bezeichnung", "Auswahl", "Anzahl", "Stückpreis", "Zeilensumme", "Porto", "MwSt %", "Endbetrag", "Notiz", "Mandant",
              "Geändert", "Frei1"]
    rows = []
    invoice = 331
    for o in b.orders:
        if o.paid:
            invoice += 1
        p = o.person
        word = say(o.state) if o.state != "open" else say.met("neu" if b.end - o.placed < timedelta(days=2) else "in Arbeit", "open")
        x.row("orders", order_id=o.id, placed_at=rfc(o.placed), paid_at=rfc(o.paid), status=o.state, ship_to_country=o.country, updated_at=rfc(o.updated))
        for l in o.lines:
            v = l.variant
            picks = only({"Artikel": v.good, "Größe": v.size, "Farbe": v.colour})
            text = ", ".join(f"{k}: {w}" for k, w in {**picks, **only({"Wunschtext": l.typed})}.items())
            rows.append([o.id, f"R25-{invoice:04d}" if o.paid else "", o.paid.strftime("%d.%m.%Y") if o.paid else "", o.placed.strftime(stamp),
                         o.paid.strftime(stamp) if o.paid else "", "Vorkasse" if o.paid and (o.paid - o.placed).days else "Karte", word, p["id"], p["first"], p["last"],
                         p["street"], p["post"], p["town"], o.country, p["mail"], p["phone"], v.listing, v.shop_sku, v.title, text, l.quantity,
                         comma(v.price, " €"), comma(v.price * l.quantity, " €"), comma(o.shipping, " €"), "19", comma(o.total, " €"), o.note, "1", o.updated.strftime(stamp), ""])
            x.row("order_lines", order_id=o.id, line_id=l.number, listing_id=v.listing, sku=v.shop_sku, title=v.title, options=picks, quantity=l.quantity,
                  unit_price=money(v.price))
    f = "Bestellexport_gesamt.csv"
    put_csv(folder / "storefront" / f, header, rows, ";", "cp1252", csv.QUOTE_ALL)
    t.file(f, kind="csv", separator=";", encoding="cp1252")
    t.fields("orders", f, order_id="Vorgang", placed_at=T("Eingang", stamp), paid_at=T("Bezahlt am", stamp), status="Vorgangsstand", ship_to_country="Land",
             updated_at=T("Geändert", stamp))
    t.fields("order_lines", f, order_id="Vorgang", listing_id="Artikelseite", sku="Bestellcode", title="Bezeichnung", options=M("Auswahl", "text"), quantity="Anzahl",
             unit_price=M("Stückpreis", "decimal comma"))
    t.words("orders.status", say.seen)
    t.side["options"] = {"order_lines": ["Artikel", "Größe", "Farbe"]}
    t.side["notes"] = ("Options are one text with the customer's own words (commas and colons in them) last; 'Geändert' belongs to the order, not to the line; "
                       "two invoice columns look like an id and a date of payment. That 'neu' and 'in Arbeit' are paid follows from 'Bezahlt am' alone.")

    t.of("supplier_source")
    say = Words(received="angenommen", making="im Druck", held="Rückfrage", dispatched="raus", cancelled="gestrichen")
    header = ["Auftrag", "Pos.", "angen. am", "Ihr Zeichen", "Ware", "Art.-Nr.", "Gr.", "Farbe", "Stk", "EK netto", "Summe", "Stand", "Sendung", "raus am", "Bemerkung"]
    rows = []
    for s in b.submissions:
        x.row("submissions", supplier=t.supplier, submission_id=s.id, order_ref=s.order.id, status=s.status, received_at=rfc(s.received))
        for l in s.lines:
            v = l.variant
            rows.append([s.id, l.number, naive(s.received), "BF-" + s.order.id, v.good + " " + v.title.split(" ")[0], v.sku, v.size, v.colour, l.quantity, v.cost / 100,
                         v.cost * l.quantity / 100, say(s.status), s.tracking, s.dispatched.date() if s.dispatched else "", "Sieb nachbelichtet" if b.rng.random() < 0.05 else ""])
            x.row("submission_lines", supplier=t.supplier, submission_id=s.id, line_id=l.number, sku=v.sku, quantity=l.quantity, unit_cost=money(v.cost))
        if s.dispatched:
            x.row("parcels", supplier=t.supplier, parcel_id=s.tracking, submission_id=s.id, dispatched_at=day(s.dispatched), tracking_number=s.tracking)
    f = "Auftragsbuch Birkenfaden.xlsx"
    put_xlsx(folder / "supplier" / f, header, rows, [["Auftragsbuch – Kunde Birkenfaden"], ["Stand:", "20.04.2025", "", "geführt von: Herrn Quastl"], []], "Aufträge",
             {"angen. am": "DD.MM.YYYY HH:MM", "raus am": "DD.MM.YYYY", "EK netto": "0.00", "Summe": "0.00"})
    t.file(f, kind="xlsx", header_row=4)
    t.fields("submissions", f, submission_id="Auftrag", order_ref="Ihr Zeichen", status="Stand", received_at=T("angen. am", "date cell"))
    t.fields("submission_lines", f, submission_id="Auftrag", line_id="Pos.", sku="Art.-Nr.", quantity="Stk", unit_cost=M("EK netto", "decimal point"))
    t.fields("parcels", f, parcel_id="Sendung", submission_id="Auftrag", dispatched_at=T("raus am", "date cell, date alone"), tracking_number="Sendung")
    t.words("submissions.status", say.seen)
    t.side["order_ref"]["prefix"] = "BF-"
    t.side["notes"] = ("A hand-kept sheet with two lines of title and an empty row above the header; 'raus' is a status, 'raus am' a day without a time. "
                       "'Rückfrage' is a hold: the word alone does not say so for certain. 'Art.-Nr.' is the printer's only code: read as the SKU here.")
    finish(name, t, x)


# 02: a French studio; a hand-kept sheet with three ticks instead of a status, a works program's tabbed text

def pair_02():
    name = "02-atelier-brume"
    folder = fresh(name)
    titles = [("1", "Tablier « Brume du matin »", "BRU"), ("2", "Marinière « Petit large »", "LAR"), ("3", "Sac cabas « Bruyère »", "BRY"), ("4", "Tablier enfant « Hérisson »", "HER")]
    vs = []
    for listing, title, code in titles:
        kind = {"BRU": ("Tablier", ["S", "M", "L"], 3850, 1640), "LAR": ("Marinière", ["36", "38", "40", "42", "44"], 4500, 1990),
                "BRY": ("Cabas", [""], 1950, 610), "HER": ("Tablier enf.", ["3-5 ans", "6-8 ans"], 2600, 1105)}[code]
        vs += variants([(listing, title, code)], [(kind[0], "", kind[1], kind[2], kind[3])],
                       [("Écru", "EC"), ("Bleu nuit", "BN"), ("Mousse", "MS"), ("Brique", "BQ"), ("Cendre", "CD")],
                       lambda d, g, s, c, k: f"{d}{s.replace(' ans', '').replace('-', '')}{c}", lambda d, g, s, c, k: str(k))
    b = Book(seed=202, zone="Europe/Paris", start="2025-09-01", days=38, orders=58, first=4096, order_id=str, languages=["fr"], countries=["FR"], variants=vs,
             typed=["Mamie Jeannette", "Pour Anatole, 6 ans", "L'équipe du lavoir", "1985 - 2025"], typed_share=0.2, notes=["à emballer en cadeau", "paiement par chèque n° 118", "rappeler !!"],
             wrong_sku=lambda v, r: v.sku[:-2] + "XX", carriers=["Courrier Lavis", "Messagerie Tournesol"], first_submission=88010, submission_id=str,
             tracking=lambda r: f"{r.randrange(10**12, 10**13)}", statuses=["received", "making", "held"], single=True, popular=40, promise_days=10, seconds=False)
    t = Truth(b.zone_name, "manufacture-lespinoy")
    x = Exchange()
    header = ["N°", "Date cde", "Cliente", "Courriel", "Ville", "CP"]
    for n in (1, 2, 3, 4):
        header += [f"Article {n}", f"Code {n}", f"Taille {n}", f"Coloris {n}", f"Texte {n}", f"Nb {n}", f"PU {n}"]
    header += ["Port", "Remise", "Total TTC", "Réglé le", "Moyen", "À expédier avant", "Expédié le", "Annulée", "Remarques"]
    stamp = "%d/%m/%Y %H:%M"
    rows = []
    for o in b.orders:
        p = o.person
        row = [int(o.id), o.placed.strftime(stamp), p["name"], p["mail"], p["town"], p["post"]]
        for n in range(4):
            if n < len(o.lines):
                l = o.lines[n]
                v = l.variant
                size = int(v.size) if v.size.isdigit() else v.size
                row += [v.title, v.shop_sku, size, v.colour, l.typed, l.quantity, v.price / 100]
                x.row("order_lines", order_id=o.id, line_id=l.number, sku=v.shop_sku, title=v.title, options=only({"Taille": v.size, "Coloris": v.colour}),
                      quantity=l.quantity, unit_price=money(v.price))
            else:
                row += [""] * 7
        row += [o.shipping / 100, -o.discount / 100 if o.discount else "", o.total / 100, o.paid.date() if o.paid else "", b.rng.choice(["CB", "virement", "chèque"]) if o.paid else "",
                o.promised.date(), o.dispatched.date() if o.dispatched else "", "x" if o.state == "cancelled" else "", o.note]
        rows.append(row)
        x.row("orders", order_id=o.id, placed_at=rfc(o.placed), paid_at=day(o.paid), status=o.state, promised_by=day(o.promised))
    f = "Suivi commandes automne.ods"
    put_ods(folder / "storefront" / f, header, rows, [["Commandes – automne 2025 (ne pas trier !)"], []], "suivi")
    numbered = lambda word: [f"{word} {n}" for n in (1, 2, 3, 4)]
    t.file(f, kind="ods", header_row=3)
    t.fields("orders", f, order_id="N°", placed_at=T("Date cde", stamp), paid_at=T("Réglé le", "date cell, date alone"), status=together("Réglé le", "Expédié le", "Annulée"),
             promised_by=T("À expédier avant", "date cell, date alone"))
    t.fields("order_lines", f, order_id="N°", sku=together(*numbered("Code"), numbered=True), title=together(*numbered("Article"), numbered=True),
             options=together(*numbered("Taille"), *numbered("Coloris"), numbered=True, form="columns"), quantity=together(*numbered("Nb"), numbered=True),
             unit_price=together(*numbered("PU"), numbered=True, form="decimal point"))
    t.words_of_places("orders.status", {"Réglé le": {"*": "open", "": "unpaid"}, "Expédié le": {"*": "dispatched", "": "open"}, "Annulée": {"x": "cancelled", "": "open"}})
    t.side["options"] = {"order_lines": ["Taille", "Coloris"]}
    t.side["notes"] = ("One row per order, up to four numbered articles, of which 'Texte n' is the customer's; there is no status word: paid and dispatched follow from days filled in, "
                       "cancelled from a tick. Payment is a day alone, so it lies before the time of the order. Sizes are numbers in some cells and text in others.")

    t.of("supplier_source")
    say = Words(received="ENR", making="FAB", held="ATT", dispatched="EXP", cancelled="ANN")
    stamp2 = "%d/%m/%Y %H:%M:%S"
    header = ["NOFAB", "CDECLI", "CODCLI", "DTENR", "REFART", "LIBART", "TAI", "COL", "QTE", "PUHT", "MTHT", "TVA", "ETAT", "DTPREV", "DTEXP", "TRANSP", "NOCOLIS", "NOFACT"]
    rows = []
    for s in b.submissions:
        l = s.lines[0]
        v = l.variant
        rows.append([s.id, s.order.id + "/AB", "C0417", s.received.strftime(stamp2), "ML." + v.sku, v.good.upper(), v.size, v.colour.upper(), l.quantity, comma(v.cost),
                     comma(v.cost * l.quantity), "20,00", say(s.status), s.due.strftime("%d/%m/%Y"), s.dispatched.strftime(stamp2) if s.dispatched else "", s.carrier, s.tracking,
                     f"F{s.dispatched.strftime('%y%m')}07" if s.dispatched else ""])
        x.row("submissions", supplier=t.supplier, submission_id=s.id, order_ref=s.order.id, status=s.status, received_at=rfc(s.received))
        x.row("submission_lines", supplier=t.supplier, submission_id=s.id, line_id="1", sku="ML." + v.sku, quantity=l.quantity, unit_cost=money(v.cost))
        if s.dispatched:
            x.row("parcels", supplier=t.supplier, parcel_id=s.tracking, submission_id=s.id, dispatched_at=rfc(s.dispatched), carrier=s.carrier, tracking_number=s.tracking)
    f = "etat_fab.txt"
    put_csv(folder / "supplier" / f, header, rows, "\t", "utf-16")
    t.file(f, kind="csv", separator="\t", encoding="utf-16")
    t.fields("submissions", f, submission_id="NOFAB", order_ref="CDECLI", status="ETAT", received_at=T("DTENR", stamp2))
    t.fields("submission_lines", f, submission_id="NOFAB", sku="REFART", quantity="QTE", unit_cost=M("PUHT", "decimal comma"))
    t.fields("parcels", f, parcel_id="NOCOLIS", submission_id="NOFAB", dispatched_at=T("DTEXP", stamp2), carrier="TRANSP", tracking_number="NOCOLIS")
    t.words("submissions.status", say.seen)
    t.side["order_ref"]["suffix"] = "/AB"
    t.side["sku"]["prefix"] = "ML."
    t.side["notes"] = "Every record is one line. Three-letter words and headers, UTF-16; 'CODCLI' is the shop's customer number, 'DTPREV' a planned day. ATT could be read as 'waiting' or as a hold. REFART is the only code: read as the SKU here."
    finish(name, t, x)


# 03: a Spanish shop; two tables of an old desktop program, and a supplier's JSON answer with a catalogue

def pair_03():
    name = "03-casa-mirlo"
    folder = fresh(name)
    goods = {"CAM": ("Camiseta", ["S", "M", "L", "XL"], 2195, 890), "DEL": ("Delantal", ["Única"], 2750, 1120), "SUD": ("Sudadera niño", ["4 años", "6 años", "8 años"], 2990, 1310)}
    vs = []
    for design, code in (("Mirlo en la tapia", "MT"), ("Higuera", "HG"), ("Marea baja", "MB"), ("Farolillos", "FA")):
        for g, (good, sizes, price, cost) in goods.items():
            vs += variants([(code + g, f"{good} «{design}»", code)], [(good, g, sizes, price, cost)], [("Albero", "01"), ("Añil", "02"), ("Musgo", "03")],
                           lambda d, g, s, c, k: f"{g}{d}{c}{s.split(' ')[0][:2].upper().replace('Ú', 'U')}", lambda d, g, s, c, k: f"it_{d.lower()}{g.lower()}{k:02d}")
    b = Book(seed=303, zone="Europe/Madrid", start="2025-05-05", days=42, orders=74, first=8101, order_id=str, languages=["es"], countries=["ES", "ES", "ES", "PT"], variants=vs,
             typed=["Abuela Candela", "Equipo azul; temporada 25", "Íñigo", "¡Feliz cumple!"], typed_share=0.15, notes=["Dejar en portería", "Factura a nombre de la empresa", "Llamar antes; no hay timbre"],
             wrong_sku=lambda v, r: v.sku + "?", carriers=["Rumbo Azul", "Correría Sur"], first_submission=55102, submission_id=lambda n: f"J-{n}", part_cancel=True,
             tracking=lambda r: f"RA{r.randrange(10**8, 10**9)}", statuses=["received", "making", "held", "rejected"], seconds=True, split=0.1, line_counts=[1, 1, 2, 2, 3, 3, 4, 5])
    t = Truth(b.zone_name, "northloom-print")
    x = Exchange()
    say = Words(unpaid="PTE COBRO", open="EN CURSO", dispatched="SERVIDO", cancelled="ANULADO")
    stamp = "%d/%m/%Y %H:%M:%S"
    head, body = [], []
    invoice = 1200
    for o in b.orders:
        invoice += 1 if o.paid else 0
        p = o.person
        base = round(o.total / 1.21)
        head.append(["W", o.id, o.placed.strftime(stamp), invoice if o.paid else "", o.paid.strftime("%d/%m/%Y") if o.paid else "", "CLI" + p["id"], p["name"].upper(), p["street"], p["post"],
                     p["town"], o.country, p["mail"], p["phone"], b.rng.choice(["TARJETA", "TRANSF", "CONTADO"]), comma(base), "21,00", comma(o.total - base), comma(o.shipping), comma(o.total),
                     "EUR", o.paid.strftime(stamp) if o.paid else "", say(o.state), len(o.lines), o.note])
        x.row("orders", order_id=o.id, placed_at=rfc(o.placed), paid_at=rfc(o.paid), status=o.state, currency="EUR", ship_to_country=o.country)
        for l in o.lines:
            v = l.variant
            body.append(["W", o.id, l.number * 10, v.shop_sku, v.title, v.size, v.colour, l.typed, l.quantity, l.cancelled, comma(v.price), "0", comma(v.price * (l.quantity - l.cancelled)), "ALM1"])
            x.row("order_lines", order_id=o.id, line_id=l.number * 10, sku=v.shop_sku, title=v.title, options={"Talla": v.size, "Color": v.colour}, quantity=l.quantity,
                  cancelled_quantity=l.cancelled, unit_price=money(v.price))
    put_csv(folder / "storefront" / "PEDIDOS.CSV", ["Serie", "NumPed", "FecPed", "NumFac", "FecFac", "CodCli", "Cliente", "Domicilio", "CP", "Poblacion", "Pais", "CorreoE", "Tlf", "FPago", "Base", "PIva",
            "CuotaIva", "Portes", "Total", "Divisa", "FecCobro", "Situacion", "NLineas", "Observ"], head, ";", "utf-8-sig")
    put_csv(folder / "storefront" / "LINEAS.CSV", ["Serie", "NumPed", "NumLin", "CodArt", "Descrip", "Talla", "Color", "Bordado", "Uds", "UdsAnul", "Precio", "Dto", "Importe", "Almacen"], body, ";", "utf-8-sig")
    for f in ("PEDIDOS.CSV", "LINEAS.CSV"):
        t.file(f, kind="csv", separator=";", encoding="utf-8-sig")
    t.fields("orders", "PEDIDOS.CSV", order_id="NumPed", placed_at=T("FecPed", stamp), paid_at=T("FecCobro", stamp), status="Situacion", currency="Divisa", ship_to_country="Pais")
    t.fields("order_lines", "LINEAS.CSV", order_id="NumPed", line_id="NumLin", sku="CodArt", title="Descrip", options=together("Talla", "Color", form="columns"), quantity="Uds",
             cancelled_quantity="UdsAnul", unit_price=M("Precio", "decimal comma"))
    t.words("orders.status", say.seen)
    t.side["options"] = {"order_lines": ["Talla", "Color"]}
    t.side["notes"] = "Two tables joined by 'NumPed', beside which 'NumFac' (the invoice's) and 'CodCli' also rise; 'Bordado' is embroidery text that customers type, not a choice."

    t.of("supplier_source")
    say = Words(received="QUEUED", making="ON_PRESS", held="ON_HOLD", dispatched="GONE", cancelled="WITHDRAWN", rejected="DECLINED")
    ms = lambda m: int(m.timestamp() * 1000) if m else None
    utc = lambda m: rfc(m.astimezone(UTC)) if m else ""
    jobs, piece = [], 9000
    art = {}
    for n, v in enumerate(b.variants):
        art.setdefault(v.listing[:2], f"aw-{700 + n}")
    for s in b.submissions:
        pieces = []
        for l in s.lines:
            piece += 1
            v = l.variant
            pieces.append({"pieceId": f"P{piece}", "item": {"id": v.variant_id, "code": v.sku, "blank": {"id": "bl-" + v.good[:3].lower(), "name": v.good}, "artwork": {"id": art[v.listing[:2]]}},
                           "count": l.quantity, "each": {"amount": v.cost, "currency": "EUR"}, "sum": {"amount": v.cost * l.quantity, "currency": "EUR"}})
            x.row("submission_lines", supplier=t.supplier, submission_id=s.id, line_id=f"P{piece}", variant_id=v.variant_id, sku=v.sku, quantity=l.quantity, unit_cost=money(v.cost))
        boxes = []
        if s.dispatched:
            units = [(p, p["count"]) for p in pieces]
            split = len(units) > 2 and b.rng.random() < 0.4
            for n, part in enumerate([units[:1], units[1:]] if split else [units]):
                box = f"BX{s.id[2:]}-{n + 1}"
                trace = s.tracking if n == 0 else s.tracking + "B"
                boxes.append({"boxId": box, "leftAt": ms(s.dispatched), "by": s.carrier, "trace": trace, "grams": 180 * len(part), "holds": [{"pieceId": p["pieceId"], "count": q} for p, q in part]})
                x.row("parcels", supplier=t.supplier, parcel_id=box, submission_id=s.id, dispatched_at=utc(s.dispatched), carrier=s.carrier, tracking_number=trace)
                for p, q in part:
                    x.row("parcel_lines", supplier=t.supplier, parcel_id=box, submission_line_id=p["pieceId"], quantity=q)
        p = s.order.person
        jobs.append({"jobId": s.id, "account": {"id": "acc-311", "status": "active", "name": "Casa Mirlo"}, "stage": {"code": say(s.status), "final": s.status in ("dispatched", "cancelled", "rejected")},
                     "times": {"accepted": ms(s.received), "due": ms(s.due), "lastTouched": ms(s.updated)}, "yourRef": "Pedido " + s.order.id, "remark": s.order.note or None,
                     "deliverTo": {"name": p["name"], "street": p["street"], "place": p["town"], "postcode": p["post"], "country": s.order.country}, "pieces": pieces, "boxes": boxes})
        x.row("submissions", supplier=t.supplier, submission_id=s.id, order_ref=s.order.id, status=s.status, received_at=utc(s.received), updated_at=utc(s.updated))
    put_json(folder / "supplier" / "jobs.json", {"result": {"page": 1, "pages": 1, "total": len(jobs), "asOf": ms(b.end), "jobs": jobs}}, indent=None)
    items = []
    for v in b.variants:
        ok = b.rng.random() > 0.04
        items.append({"id": v.variant_id, "code": v.sku, "label": v.good, "attributes": {"size": v.size, "colour": v.colour}, "net": {"amount": v.cost, "currency": "EUR"}, "inStock": ok})
        x.row("variants", supplier=t.supplier, variant_id=v.variant_id, sku=v.sku, product=v.good, options={"size": v.size, "colour": v.colour}, unit_cost=money(v.cost), currency="EUR",
              available="true" if ok else "false")
    put_json(folder / "supplier" / "items.json", {"result": {"items": items}}, indent=None)
    t.file("jobs.json", kind="json")
    t.file("items.json", kind="json")
    j = "result.jobs[*]."
    f = "jobs.json"
    t.fields("submissions", f, submission_id=j + "jobId", order_ref=j + "yourRef", status=j + "stage.code", received_at=T(j + "times.accepted", "epoch milliseconds"),
             updated_at=T(j + "times.lastTouched", "epoch milliseconds"))
    t.fields("submission_lines", f, submission_id=j + "jobId", line_id=j + "pieces[*].pieceId", variant_id=j + "pieces[*].item.id", sku=j + "pieces[*].item.code", quantity=j + "pieces[*].count",
             unit_cost=M(j + "pieces[*].each.amount", "minor units"))
    t.fields("parcels", f, parcel_id=j + "boxes[*].boxId", submission_id=j + "jobId", dispatched_at=T(j + "boxes[*].leftAt", "epoch milliseconds"), carrier=j + "boxes[*].by",
             tracking_number=j + "boxes[*].trace")
    t.fields("parcel_lines", f, parcel_id=j + "boxes[*].boxId", submission_line_id=j + "boxes[*].holds[*].pieceId", quantity=j + "boxes[*].holds[*].count")
    i = "result.items[*]."
    t.fields("variants", "items.json", variant_id=i + "id", sku=i + "code", product=i + "label", options=M(i + "attributes", "object"), unit_cost=M(i + "net.amount", "minor units"),
             currency=i + "net.currency", available=i + "inStock")
    t.words("submissions.status", say.seen)
    t.side["options"] = {"variants": ["size", "colour"]}
    t.side["order_ref"]["prefix"] = "Pedido "
    t.side["notes"] = ("The order's number stands in a free reference; three 'id' inside a piece, of which only item.id is the variant with its design; account.status is constant; "
                       "'due' is the supplier's own date, not the storefront's promise.")
    finish(name, t, x)


# 04: an American shop; its order download with the order's columns on the first row, a shop-floor program's tables

def pair_04():
    name = "04-tin-lantern"
    folder = fresh(name)
    vs = variants([("77-1", "Canyon Wren Camp Shirt", "CW"), ("77-2", "Prairie Lantern Tee", "PL"), ("77-4", "Tin Lantern Hooded Pullover", "TL")],
                  [("Shirt", "", ["S", "M", "L", "XL", "2XL"], 2800, 1150)], [("Moss", "MOS"), ("Clay", "CLY"), ("Dusk Blue", "DBL"), ("Oat", "OAT")],
                  lambda d, g, s, c, k: f"{d}{c}{s}", lambda d, g, s, c, k: str(k))
    vs += variants([("80-3", "Juniper Enamel Mug", "JM")], [("Mug", "", ["11 oz", "15 oz"], 1650, 640)], [("Moss", "MOS"), ("Oat", "OAT")],
                   lambda d, g, s, c, k: f"{d}{c}{s[:2]}", lambda d, g, s, c, k: f"m{k}")
    vs += variants([("80-5", "Market Tote", "MT")], [("Tote", "", [""], 1900, 710)], [("Oat", "OAT"), ("Clay", "CLY")], lambda d, g, s, c, k: d + c, lambda d, g, s, c, k: f"t{k}")
    b = Book(seed=404, zone="America/Denver", start="2025-10-13", days=40, orders=80, first=3040, order_id=str, languages=["en"], countries=["US"], variants=vs,
             typed=["Best Dad / 2025", "Hattie", "Camp Farrowby, est. 1998", "M"], typed_share=0.12, notes=["Please gift wrap!", "Leave with neighbor, unit 5", "She said \"surprise me\""],
             wrong_sku=lambda v, r: v.sku[:2] + "-" + v.sku[2:], carriers=["Quillroad Freight", "Bluestem Express"], first_submission=61200, submission_id=lambda n: f"{n:07d}", part_cancel=False,
             tracking=lambda r: f"QR{r.randrange(10**9, 10**10)}", statuses=["received", "making", "held"], shipping=[595, 795, 1200], line_counts=[1, 1, 2, 2, 2, 3, 3, 4])
    t = Truth(b.zone_name, "mesa-stitchworks")
    x = Exchange()
    stamp = "%m/%d/%Y %I:%M %p"
    us = lambda m: m.strftime(stamp) if m else ""
    header = ["Order No.", "Placed", "Buyer", "Buyer Email", "Ship To Street", "Ship To City", "Ship To State", "Ship To ZIP", "Payment", "Paid On", "Method", "Progress", "Make By", "Item", "Item Number",
              "Variation", "Engraving", "Stock Code", "Qty", "Price", "Item Total", "Shipping", "Sales Tax", "Order Total", "Gift Note", "Source"]
    pay, progress = Words(), Words()
    rows = []
    for o in b.orders:
        p = o.person
        if o.state == "cancelled" and o.paid:
            money_word = pay.met("Refunded", "cancelled")
        elif o.paid:
            money_word = pay.met("Paid", "open")
        else:
            money_word = pay.met("Awaiting Payment", "unpaid")
        step = progress.met(*{"open": ("New", "open"), "unpaid": ("New", "open"), "dispatched": ("Shipped", "dispatched"), "cancelled": ("Cancelled", "cancelled")}[o.state])
        if o.state == "open" and any(s.order is o for s in b.submissions):
            step = progress.met("In The Works", "open")
        tax = round(o.goods * 0.0475)
        for l in o.lines:
            v = l.variant
            first = l.number == 1
            text = " / ".join(w for w in (v.colour, v.size) if w)
            row = [o.id] + ([us(o.placed), p["name"], p["mail"], p["street"], p["town"], "CO", p["post"], money_word, us(o.paid), b.rng.choice(["Card", "Gift Card"]), step,
                             o.promised.strftime("%m/%d/%Y")] if first else [""] * 12)
            row += [v.title, v.listing, text, l.typed, v.shop_sku, l.quantity, dollars(v.price), dollars(v.price * l.quantity)]
            row += [dollars(o.shipping), dollars(tax), dollars(o.total + tax), o.note, "Web"] if first else [""] * 5
            rows.append(row)
            x.row("order_lines", order_id=o.id, line_id=l.number, listing_id=v.listing, sku=v.shop_sku, title=v.title, options={"Variation": text}, quantity=l.quantity, unit_price=money(v.price))
        x.row("orders", order_id=o.id, placed_at=rfc(o.placed), paid_at=rfc(o.paid), status=o.state, promised_by=day(o.promised))
    f = "Orders 2025-11-22.csv"
    put_csv(folder / "storefront" / f, header, rows)
    live = Words()
    items = []
    for v in b.variants:
        on = b.rng.random() > 0.05
        text = " / ".join(w for w in (v.colour, v.size) if w)
        items.append([v.listing, v.title, text, v.shop_sku, dollars(v.price), live.met("Y", "true") if on else live.met("N", "false"), b.rng.randint(3, 90), ""])
        x.row("offers", listing_id=v.listing, sku=v.shop_sku, title=v.title, options={"Variation": text}, price=money(v.price), buyable="true" if on else "false")
    put_csv(folder / "storefront" / "Item List.csv", ["Item Number", "Item", "Variation", "Stock Code", "Price", "Live", "Views Last 30 Days", "Vendor"], items)
    t.file(f, kind="csv", separator=",", encoding="utf-8", filled_down=True)
    t.file("Item List.csv", kind="csv", separator=",", encoding="utf-8")
    t.fields("orders", f, order_id="Order No.", placed_at=T("Placed", stamp), paid_at=T("Paid On", stamp), status=together("Payment", "Progress"), promised_by=T("Make By", "%m/%d/%Y"))
    t.fields("order_lines", f, order_id="Order No.", listing_id="Item Number", sku="Stock Code", title="Item", options=M("Variation", "columns"), quantity="Qty", unit_price=M("Price", "decimal point"))
    t.fields("offers", "Item List.csv", listing_id="Item Number", sku="Stock Code", title="Item", options=M("Variation", "columns"), price=M("Price", "decimal point"), buyable="Live")
    t.words_of_places("orders.status", {"Payment": pay.seen, "Progress": progress.seen})
    t.words("offers.buyable", live.seen)
    t.side["options"] = {"order_lines": ["Variation"], "offers": ["Variation"]}
    t.side["notes"] = ("The order's columns stand on its first row only. 'Payment' says unpaid and refunded, 'Progress' the rest; 'New' is an unpaid order as well as a paid one. 'Variation' is one unnamed text "
                       "('Moss / L'), kept whole under its header; 'Engraving' is the customer's. Month first, twelve-hour clock, across the end of daylight saving.")

    t.of("supplier_source")
    say = Words(received="OPEN", making="ON FLOOR", held="HOLD", dispatched="SHIPPED", cancelled="VOID")
    stamp = "%m/%d/%Y %H:%M"
    heads, lines, ships = [], [], []
    for s in b.submissions:
        heads.append([s.id, "TL" + s.order.id, "10477", s.received.strftime(stamp), s.due.strftime("%m/%d/%Y"), say(s.status), "KJH", "NET 30", f"{sum(l.variant.cost * l.quantity for l in s.lines) / 100:.2f}", len(s.lines)])
        x.row("submissions", supplier=t.supplier, submission_id=s.id, order_ref=s.order.id, status=s.status, received_at=rfc(s.received))
        for l in s.lines:
            v = l.variant
            lines.append([s.id, f"{l.number:03d}", v.sku, v.title.upper()[:24], v.size.upper(), v.colour.upper(), l.quantity, money(v.cost), money(v.cost * l.quantity), ""])
            x.row("submission_lines", supplier=t.supplier, submission_id=s.id, line_id=f"{l.number:03d}", sku=v.sku, quantity=l.quantity, unit_cost=money(v.cost))
        if s.dispatched:
            box = f"B{len(ships) + 30417}"
            ships.append([box, s.id, s.dispatched.strftime(stamp), s.carrier, s.tracking, f"{b.rng.randint(4, 60) / 10:.1f}", "Y"])
            x.row("parcels", supplier=t.supplier, parcel_id=box, submission_id=s.id, dispatched_at=rfc(s.dispatched), carrier=s.carrier, tracking_number=s.tracking)
    put_csv(folder / "supplier" / "TICKETS.CSV", ["TKT", "CUSTPO", "ACCT", "RCVD", "PROMISE", "STAT", "REP", "TERMS", "TOT", "NLN"], heads)
    put_csv(folder / "supplier" / "TKTLINES.CSV", ["TKT", "LN", "STYLE", "DESCR", "SZ", "CLR", "QTY", "UCOST", "EXT", "MEMO"], lines)
    put_csv(folder / "supplier" / "SHIPLOG.CSV", ["BOX", "TKT", "SHIPDT", "VIA", "PROBILL", "LBS", "RESID"], ships)
    for f in ("TICKETS.CSV", "TKTLINES.CSV", "SHIPLOG.CSV"):
        t.file(f, kind="csv", separator=",", encoding="utf-8")
    t.fields("submissions", "TICKETS.CSV", submission_id="TKT", order_ref="CUSTPO", status="STAT", received_at=T("RCVD", stamp))
    t.fields("submission_lines", "TKTLINES.CSV", submission_id="TKT", line_id="LN", sku="STYLE", quantity="QTY", unit_cost=M("UCOST", "decimal point"))
    t.fields("parcels", "SHIPLOG.CSV", parcel_id="BOX", submission_id="TKT", dispatched_at=T("SHIPDT", stamp), carrier="VIA", tracking_number="PROBILL")
    t.words("submissions.status", say.seen)
    t.side["order_ref"]["prefix"] = "TL"
    t.side["notes"] = "Abbreviated headers in capitals; ids with leading zeros that must stay; 'PROMISE' is the supplier's date, which has no place here; STYLE is the only code: read as the SKU here."
    finish(name, t, x)


# 05: a Swiss shop in two languages; its JSON answer, a French-speaking printer's two workbooks

def pair_05():
    name = "05-quellhof"
    folder = fresh(name)
    names = {"QU": ("Quelle", "Source"), "EN": ("Enzian", "Gentiane"), "MU": ("Murmeli", "Marmotte")}
    vs = variants([("pg_7f20", "QU", "QU"), ("pg_8a11", "EN", "EN"), ("pg_91c4", "MU", "MU")],
                  [("Pullover", "PUL", ["S", "M", "L", "XL"], 5900, 2600), ("Kinderbody", "BOD", ["62/68", "74/80", "86/92"], 2450, 980), ("Tasse", "TAS", [""], 2200, 870)],
                  [("Moos", "mo"), ("Stein", "st"), ("Kirsche", "ki")],
                  lambda d, g, s, c, k: f"{d}.{g}.{s.replace('/', '')}.{c}".replace("..", ".").upper(), lambda d, g, s, c, k: f"{g}{10 + k}")
    b = Book(seed=505, zone="Europe/Zurich", start="2026-01-12", days=34, orders=62, first=3101, order_id=lambda n: f"Q-{n}", languages=["de", "fr"], countries=["CH", "CH", "CH", "LI", "FR"],
             variants=vs, typed=["Für Lenz", "Noémie ♥", "Sommerlager, Gruppe 3", "L"], notes=["Bitte klingeln", "Merci !", "Geschenk"], typed_share=0.2, first_line=51200,
             wrong_sku=lambda v, r: v.sku.replace(".", "-"), carriers=["Bergbote", "Poste du Val"], first_submission=2600, submission_id=lambda n: f"BC{n}", part_cancel=True,
             tracking=lambda r: f"99.{r.randrange(10, 99)}.{r.randrange(10**6, 10**7)}", statuses=["received", "making", "held"], seconds=True, popular=45, split=0.1)
    t = Truth(b.zone_name, "imprimerie-valbrune")
    x = Exchange()
    pay, way = Words(), Words()
    translate = {"Pullover": "Pull", "Kinderbody": "Body bébé", "Tasse": "Tasse", "Moos": "Mousse", "Stein": "Pierre", "Kirsche": "Cerise"}
    data = []
    for o in b.orders:
        p = o.person
        fr = p["language"] == "fr"
        positions = []
        for l in o.lines:
            v = l.variant
            title = f"{translate[v.good] if fr else v.good} «{names[v.title][fr]}»"
            picks = only({"Taille" if fr else "Grösse": v.size, "Couleur" if fr else "Farbe": translate[v.colour] if fr else v.colour})
            choices = [{"name": k, "value": w} for k, w in picks.items()]
            if l.typed:
                choices.insert(b.rng.randint(0, len(choices)), {"name": "Prénom à broder" if fr else "Stickname", "value": l.typed})
            positions.append({"id": int(l.id), "page": {"id": v.listing, "name": title}, "code": v.shop_sku or None, "choices": choices, "amount": l.quantity, "amountCancelled": l.cancelled,
                              "price": {"single": money(v.price), "sum": money(v.price * l.quantity), "vatRate": "8.1"}})
            x.row("order_lines", order_id=o.id, line_id=l.id, listing_id=v.listing, sku=v.shop_sku, title=title, options=picks, quantity=l.quantity, cancelled_quantity=l.cancelled,
                  unit_price=money(v.price))
        if o.state == "cancelled" and o.paid:
            pw = pay.met("returned", "cancelled")
        else:
            pw = pay.met("settled", "open") if o.paid else pay.met("awaited", "unpaid")
        ww = way.met("handedOver", "dispatched") if o.state == "dispatched" else way.met("toDo", "open")
        data.append({"id": f"{b.rng.randrange(16**8):08x}", "header": {"id": o.serial * 7 + 1000013, "number": o.id, "openedAt": rfc(o.placed), "changedAt": rfc(o.updated), "language": p["language"], "test": False},
                     "buyer": {"id": int(p["id"]), "name": p["name"], "mail": p["mail"], "phone": p["phone"], "country": b.rng.choice([o.country, o.country, "CH"])},
                     "money": {"currency": "CHF", "goods": money(o.goods), "postage": money(o.shipping), "discount": money(o.discount), "total": money(o.total),
                               "payment": {"id": f"pm-{b.rng.randrange(10**6)}", "status": pw, "date": rfc(o.paid) or None, "kind": b.rng.choice(["card", "invoice"])}},
                     "delivery": {"status": ww, "shipBefore": rfc(o.promised), "address": {"name": p["name"], "street": p["street"], "zip": p["post"], "town": p["town"], "country": o.country}},
                     "cancellation": {"date": rfc(o.cancelled), "by": b.rng.choice(["buyer", "shop"])} if o.state == "cancelled" else None, "note": o.note or None, "positions": positions})
        x.row("orders", order_id=o.id, placed_at=rfc(o.placed), paid_at=rfc(o.paid), status=o.state, currency="CHF", promised_by=rfc(o.promised), ship_to_country=o.country, updated_at=rfc(o.updated))
    put_json(folder / "storefront" / "sales.json", {"meta": {"from": "2026-01-12", "id": "rq-5b20", "date": rfc(b.end), "cursor": None, "count": len(data), "more": False}, "data": data}, indent=None)
    t.file("sales.json", kind="json")
    d, f = "data[*].", "sales.json"
    t.fields("orders", f, order_id=d + "header.number", placed_at=T(d + "header.openedAt", "RFC 3339"), paid_at=T(d + "money.payment.date", "RFC 3339"),
             status=together(d + "money.payment.status", d + "delivery.status", d + "cancellation.date"), currency=d + "money.currency", promised_by=T(d + "delivery.shipBefore", "RFC 3339"),
             ship_to_country=d + "delivery.address.country", updated_at=T(d + "header.changedAt", "RFC 3339"))
    q = d + "positions[*]."
    t.fields("order_lines", f, order_id=d + "header.number", line_id=q + "id", listing_id=q + "page.id", sku=q + "code", title=q + "page.name", options=M(q + "choices", "list of name and value"),
             quantity=q + "amount", cancelled_quantity=q + "amountCancelled", unit_price=M(q + "price.single", "decimal point"))
    t.words_of_places("orders.status", {d + "money.payment.status": pay.seen, d + "delivery.status": way.seen, d + "cancellation.date": {"*": "cancelled", "": "open"}})
    t.side["options"] = {"order_lines": ["Grösse", "Farbe", "Taille", "Couleur"]}
    t.side["notes"] = ("The order has two internal ids beside the number that the supplier is told; only the supplier's side shows which one. 'amount' is a quantity. Payment and delivery have a status each; "
                       "whether an order is cancelled without having been paid stands in cancellation alone. Choices are named in the customer's language, with typed names among them at any place.")

    t.of("supplier_source")
    say = Words(received="reçu", making="en production", held="bloqué", dispatched="parti", cancelled="annulé")
    heads, lines = [], []
    for s in b.submissions:
        cost = sum(l.variant.cost * l.quantity for l in s.lines)
        heads.append([s.id, naive(s.received), s.order.id, "Quellhof", len(s.lines), sum(l.quantity for l in s.lines), cost / 100, say(s.status), naive(s.due).date(), naive(s.dispatched), s.carrier, s.tracking, ""])
        x.row("submissions", supplier=t.supplier, submission_id=s.id, order_ref=s.order.id, status=s.status, received_at=rfc(s.received))
        for l in s.lines:
            v = l.variant
            lines.append([s.id, l.number, v.variant_id, v.sku, f"{translate[v.good]} {names[v.title][1]}", v.size, translate[v.colour], l.quantity, v.cost / 100, v.cost * l.quantity / 100])
            x.row("submission_lines", supplier=t.supplier, submission_id=s.id, line_id=l.number, variant_id=v.variant_id, sku=v.sku, quantity=l.quantity, unit_cost=money(v.cost))
        if s.dispatched:
            x.row("parcels", supplier=t.supplier, parcel_id=s.tracking, submission_id=s.id, dispatched_at=rfc(s.dispatched), carrier=s.carrier, tracking_number=s.tracking)
    forms = {"Arrivé le": "DD.MM.YYYY HH:MM:SS", "Prévu le": "DD.MM.YYYY", "Parti le": "DD.MM.YYYY HH:MM:SS"}
    put_xlsx(folder / "supplier" / "bons.xlsx", ["Bon", "Arrivé le", "Votre commande", "Client", "Positions", "Pièces", "Montant CHF", "Avancement", "Prévu le", "Parti le", "Transport", "N° de colis", "Visa"], heads, [], "Bons", forms)
    put_xlsx(folder / "supplier" / "bons_detail.xlsx", ["Bon", "Pos", "Modèle", "Référence", "Désignation", "Taille", "Teinte", "Qté", "Prix", "Montant"], lines, [], "Détail")
    t.file("bons.xlsx", kind="xlsx", header_row=1)
    t.file("bons_detail.xlsx", kind="xlsx", header_row=1)
    t.fields("submissions", "bons.xlsx", submission_id="Bon", order_ref="Votre commande", status="Avancement", received_at=T("Arrivé le", "date cell"))
    t.fields("submission_lines", "bons_detail.xlsx", submission_id="Bon", line_id="Pos", variant_id="Modèle", sku="Référence", quantity="Qté", unit_cost=M("Prix", "decimal point"))
    t.fields("parcels", "bons.xlsx", parcel_id="N° de colis", submission_id="Bon", dispatched_at=T("Parti le", "date cell"), carrier="Transport", tracking_number="N° de colis")
    t.words("submissions.status", say.seen)
    t.side["notes"] = "'Positions' and 'Pièces' are counts, not quantities of a line; 'Modèle' is the printer's own variant, 'Référence' the SKU that the shop uses; 'Visa' is empty."
    finish(name, t, x)


# 06: a Canadian shop with headers in two languages at once; a supplier's list with numbered items

def pair_06():
    name = "06-maple-and-pin"
    folder = fresh(name)
    code = random.Random(66)
    numbers = code.sample(range(310000, 389999), 400)
    vs = variants([("Ourson", "Bandana chien / Dog bandana « Ourson »", "A"), ("Fougère", "Chandail / Sweater « Fougère »", "B"), ("Canot", "Tablier / Apron « Canot »", "C")],
                  [("x", "x", ["P/S", "M", "G/L"], 3200, 1325)], [("Sapin / Pine", "p"), ("Neige / Snow", "n"), ("Baie / Berry", "b"), ("Ardoise / Slate", "a")],
                  lambda d, g, s, c, k: str(numbers[k + 40 * "ABC".index(d)]), lambda d, g, s, c, k: str(k))
    b = Book(seed=606, zone="America/Toronto", start="2025-04-07", days=36, orders=70, first=1030, order_id=str, languages=["fr", "en"], countries=["CA", "CA", "CA", "US"], variants=vs,
             typed=["Biscuit", "Capucine & Otis", "Chalet 12/24", "XL dog!"], typed_share=0.25, notes=["Laisser au voisin", "Gift – no receipt"], popular=30, unlinked=3,
             carriers=["Goéland Express", "Northgull"], first_submission=500, submission_id=lambda n: f"D{n}", tracking=lambda r: f"{r.randrange(10**10, 10**11)}",
             statuses=["received", "making"], shipping=[0, 950, 1450], split=0.12)
    t = Truth(b.zone_name, "harbour-thread-co")
    x = Exchange()
    say = Words(unpaid="En attente / Pending", open="À faire / To make", dispatched="Expédiée / Shipped", cancelled="Annulée / Cancelled")
    header = ["Commande / Order", "Facture / Invoice", "Date", "Date paiement / Paid", "Échéance / Ship by", "Client / Customer", "Courriel / Email", "Pays fact. / Bill ctry", "Adresse", "Pays livr. / Ship ctry",
              "Produit / Product", "UGS / SKU", "Taille / Size", "Couleur / Colour", "Perso", "Qté / Qty", "Prix / Price", "Sous-total / Subtotal", "Livraison / Shipping", "TPS-TVQ / Tax", "Total", "Devise / Currency",
              "État / Status"]
    rows = []
    invoice = 90210
    for o in b.orders:
        invoice += 1
        p = o.person
        bill = b.rng.choice([o.country, "CA"])
        tax = round(o.goods * 0.14975)
        x.row("orders", order_id=o.id, placed_at=rfc(o.placed), paid_at=rfc(o.paid), status=o.state, currency="CAD", promised_by=day(o.promised), ship_to_country=o.country)
        for l in o.lines:
            v = l.variant
            rows.append([int(o.id), invoice, naive(o.placed), naive(o.paid), o.promised.date(), p["name"], p["mail"], bill, f"{p['street']}, {p['town']}", o.country, v.title,
                         int(v.shop_sku) if v.shop_sku else "", v.size, v.colour, l.typed, l.quantity, v.price / 100, v.price * l.quantity / 100, o.shipping / 100, tax / 100, (o.total + tax) / 100, "CAD", say(o.state)])
            x.row("order_lines", order_id=o.id, line_id=l.number, sku=v.shop_sku, title=v.title, options={"Taille / Size": v.size, "Couleur / Colour": v.colour}, quantity=l.quantity, unit_price=money(v.price))
    f = "ventes-sales.xlsx"
    put_xlsx(folder / "storefront" / f, header, rows, [["Ventes / Sales – Maple & Pin – 2025-04-07 → 2025-05-12"]], "Ventes Sales",
             {"Date": "YYYY-MM-DD HH:MM", "Date paiement / Paid": "YYYY-MM-DD HH:MM", "Échéance / Ship by": "YYYY-MM-DD", "Prix / Price": '"$"0.00'})
    t.file(f, kind="xlsx", header_row=2)
    t.fields("orders", f, order_id="Commande / Order", placed_at=T("Date", "date cell"), paid_at=T("Date paiement / Paid", "date cell"), status="État / Status", currency="Devise / Currency",
             promised_by=T("Échéance / Ship by", "date cell, date alone"), ship_to_country="Pays livr. / Ship ctry")
    t.fields("order_lines", f, order_id="Commande / Order", sku="UGS / SKU", title="Produit / Product", options=together("Taille / Size", "Couleur / Colour", form="columns"), quantity="Qté / Qty",
             unit_price=M("Prix / Price", "decimal point"))
    t.words("orders.status", say.seen)
    t.side["options"] = {"order_lines": ["Taille / Size", "Couleur / Colour"]}
    t.side["notes"] = ("Header and words in two languages at once; order, invoice and SKU are all numbers in number cells, the invoice rises like the order and every order has one: "
                       "only the supplier's reference shows which is which. Two countries; 'Perso' is typed.")

    t.of("supplier_source")
    say = Words(received="booked", making="sewing", dispatched="sent", cancelled="pulled")
    most = max(len(s.lines) for s in b.submissions)
    header = ["Docket", "Logged", "Your PO", "Customer", "Shop status"]
    for n in range(1, most + 1):
        header += [f"Code {n}", f"Units {n}", f"Each {n}"]
    header += ["Pieces", "Invoice total", "Date sent", "Time sent", "Waybill", "Last edit"]
    rows = []
    for s in b.submissions:
        row = [s.id, s.received.strftime("%Y-%m-%d %H:%M"), s.order.id + "/1", "MAPLE & PIN", say(s.status)]
        for n in range(most):
            if n < len(s.lines):
                l = s.lines[n]
                row += [l.variant.sku, l.quantity, money(l.variant.cost)]
                x.row("submission_lines", supplier=t.supplier, submission_id=s.id, line_id=l.number, sku=l.variant.sku, quantity=l.quantity, unit_cost=money(l.variant.cost))
            else:
                row += ["", "", ""]
        done = s.dispatched
        row += [sum(l.quantity for l in s.lines), money(sum(l.quantity * l.variant.cost for l in s.lines)), done.strftime("%Y-%m-%d") if done else "", done.strftime("%H:%M") if done else "", s.tracking,
                s.updated.strftime("%Y-%m-%d %H:%M")]
        rows.append(row)
        x.row("submissions", supplier=t.supplier, submission_id=s.id, order_ref=s.order.id, status=s.status, received_at=rfc(s.received), updated_at=rfc(s.updated))
        if done:
            x.row("parcels", supplier=t.supplier, parcel_id=s.tracking, submission_id=s.id, dispatched_at=rfc(done), tracking_number=s.tracking)
    f = "dockets-maple-pin.csv"
    put_csv(folder / "supplier" / f, header, rows, ";", "cp1252", end="\n")
    numbered = lambda word: together(*[f"{word} {n}" for n in range(1, most + 1)], numbered=True)
    t.file(f, kind="csv", separator=";", encoding="cp1252")
    t.fields("submissions", f, submission_id="Docket", order_ref="Your PO", status="Shop status", received_at=T("Logged", "%Y-%m-%d %H:%M"), updated_at=T("Last edit", "%Y-%m-%d %H:%M"))
    t.fields("submission_lines", f, submission_id="Docket", sku=numbered("Code"), quantity=numbered("Units"), unit_cost={**numbered("Each"), "form": "decimal point"})
    t.fields("parcels", f, parcel_id="Waybill", submission_id="Docket", dispatched_at={"at": ["Date sent", "Time sent"], "all": True, "form": "%Y-%m-%d %H:%M"}, tracking_number="Waybill")
    t.words("submissions.status", say.seen)
    t.side["order_ref"]["suffix"] = "/1"
    t.side["notes"] = "One row per supplier order with numbered items; day and time of dispatch are two columns; the SKUs are bare numbers and the supplier's only code; 'Pieces' is the sum of the units."
    finish(name, t, x)


# 07: a Mexican shop; JSON Lines in three files, an American supplier's list by line

def pair_07():
    name = "07-barro-y-lino"
    folder = fresh(name)
    vs = variants([("MX51", "Jacaranda", "JAC"), ("MX52", "Nopal en flor", "NOP"), ("MX57", "Alebrije de papel", "ALE")],
                  [("Playera", "PLA", ["CH", "M", "G", "XG"], 34900, 14200), ("Mandil", "MAN", ["Unitalla"], 39900, 16100), ("Bolsa", "BOL", [""], 25900, 9050)],
                  [("Barro", "BA"), ("Musgo", "MU"), ("Hueso", "HU"), ("Añil", "AN")],
                  lambda d, g, s, c, k: "-".join(w for w in (g, d, c, s[:3].upper()) if w), lambda d, g, s, c, k: f"{88100 + k * 3}")
    b = Book(seed=707, zone="America/Mexico_City", start="2026-02-02", days=44, orders=84, first=5118, order_id=lambda n: f"BL-{n}", languages=["es"], countries=["MX"], variants=vs,
             typed=["Para mi jefa ❤", "Rocío y Ulises 14.02.26", "Taller: \"El Trigo\"", "M"], typed_share=0.22, notes=["Entre calle 3 y 5", "tocar fuerte"], first_line=70011, popular=50,
             wrong_sku=lambda v, r: "X" + v.sku, carriers=["Saguaro Lines", "Rápido Norteño"], first_submission=410, submission_id=lambda n: f"WO-26-{n:05d}",
             tracking=lambda r: f"SGL{r.randrange(10**9, 10**10)}", statuses=["received", "making", "held"], seconds=True, shipping=[9900, 14900], replaces=True)
    t = Truth(b.zone_name, "copper-basin-prints")
    x = Exchange()
    sec = lambda m: int(m.timestamp()) if m else None
    utc = lambda m: rfc(m.astimezone(UTC)) if m else ""
    pay, way = Words(), Words()
    sales, parts = [], []
    for o in b.orders:
        p = o.person
        if o.state == "cancelled" and o.paid:
            pw = pay.met("devuelto", "cancelled")
        else:
            pw = pay.met("acreditado", "open") if o.paid else pay.met("pendiente", "unpaid")
        ww = way.met("enviado", "dispatched") if o.state == "dispatched" else way.met("por_enviar", "open")
        sales.append({"id": 880000 + o.serial * 3, "folio": o.id, "estatus_pago": pw, "estatus_envio": ww, "cancelada_el": sec(o.cancelled) if o.state == "cancelled" else None, "creada_el": sec(o.placed),
                      "fecha_pago": sec(o.paid), "modificada_el": sec(o.updated), "moneda": "MXN", "subtotal_centavos": o.goods, "envio_centavos": o.shipping, "descuento_centavos": o.discount,
                      "total_centavos": o.total, "forma_pago": b.rng.choice(["tarjeta", "transferencia", "efectivo"]), "cliente": {"id": int(p["id"]), "nombre": p["name"], "correo": p["mail"], "tel": p["phone"]},
                      "domicilio": {"calle": p["street"], "cp": p["post"], "municipio": p["town"], "pais": "MX"}, "nota": o.note})
        x.row("orders", order_id=o.id, placed_at=utc(o.placed), paid_at=utc(o.paid), status=o.state, currency="MXN", ship_to_country="MX", updated_at=utc(o.updated))
        for l in o.lines:
            v = l.variant
            picks = only({"Prenda": v.good, "Talla": v.size, "Color": v.colour})
            parts.append({"id": int(l.id), "folio": o.id, "publicacion": v.listing, "clave": v.shop_sku, "titulo": v.title, "atributos": {**picks, **only({"Dedicatoria": l.typed})}, "cantidad": l.quantity,
                          "precio_centavos": v.price, "importe_centavos": v.price * l.quantity, "almacen": None})
            x.row("order_lines", order_id=o.id, line_id=l.id, listing_id=v.listing, sku=v.shop_sku, title=v.title, options=picks, quantity=l.quantity, unit_price=money(v.price))
    offers = []
    for v in b.variants:
        on = b.rng.random() > 0.06
        picks = only({"Prenda": v.good, "Talla": v.size, "Color": v.colour})
        offers.append({"publicacion": v.listing, "titulo": v.title, "atributos": picks, "clave": v.shop_sku, "precio_centavos": v.price, "moneda": "MXN", "activa": on, "visitas": b.rng.randint(0, 400)})
        x.row("offers", listing_id=v.listing, sku=v.shop_sku, title=v.title, options=picks, price=money(v.price), currency="MXN", buyable="true" if on else "false")
    put_jsonl(folder / "storefront" / "ventas.jsonl", sales)
    put_jsonl(folder / "storefront" / "partidas.jsonl", parts, ascii=True)
    put_jsonl(folder / "storefront" / "publicaciones.jsonl", offers)
    for f in ("ventas.jsonl", "partidas.jsonl", "publicaciones.jsonl"):
        t.file(f, kind="jsonl")
    e = "epoch seconds"
    t.fields("orders", "ventas.jsonl", order_id="folio", placed_at=T("creada_el", e), paid_at=T("fecha_pago", e), status=together("estatus_pago", "estatus_envio", "cancelada_el"), currency="moneda",
             ship_to_country="domicilio.pais", updated_at=T("modificada_el", e))
    t.fields("order_lines", "partidas.jsonl", order_id="folio", line_id="id", listing_id="publicacion", sku="clave", title="titulo", options=M("atributos", "object"), quantity="cantidad",
             unit_price=M("precio_centavos", "minor units"))
    t.fields("offers", "publicaciones.jsonl", listing_id="publicacion", sku="clave", title="titulo", options=M("atributos", "object"), price=M("precio_centavos", "minor units"), currency="moneda",
             buyable="activa")
    t.words_of_places("orders.status", {"estatus_pago": pay.seen, "estatus_envio": way.seen, "cancelada_el": {"*": "cancelled", "": "open"}})
    t.side["options"] = {"order_lines": ["Prenda", "Talla", "Color"], "offers": ["Prenda", "Talla", "Color"]}
    t.side["notes"] = ("'id' is the sale's, the customer's and the line's; the sale is known outside by its 'folio'. Status in two words and a cancellation time in epoch seconds; a cancelled sale that was never paid "
                       "shows in that time alone. A dedication stands among the attributes.")

    t.of("supplier_source")
    words = dict(received="Received", making="In Production", held="On Hold", dispatched="Shipped", cancelled="Canceled")
    say, each = Words(**words), Words(**words)
    header = ["Work Order", "Line", "Entered (UTC)", "Ref", "Order Ref", "Reprint Of", "WO Status", "Line Status", "Print ID", "SKU", "Description", "Qty", "Unit Cost", "Ext Cost", "Freight", "Ship Date", "Carrier",
              "Tracking", "Ship To Name", "Ship To City"]
    rows = []
    for s in b.submissions:
        x.row("submissions", supplier=t.supplier, submission_id=s.id, order_ref=s.order.id, status=s.status, received_at=utc(s.received), replaces=s.replaces)
        dropped = b.rng.randrange(len(s.lines)) if len(s.lines) > 1 and b.rng.random() < 0.06 else -1
        for n, l in enumerate(s.lines):
            v = l.variant
            state = "cancelled" if n == dropped else s.status
            rows.append([s.id, l.number, utc(s.received), "BARROLINO", s.order.id + "-MX", s.replaces, say(s.status), each(state), v.variant_id, "BYL/" + v.sku, f"{v.title} {v.colour}", l.quantity, dollars(v.cost),
                         dollars(v.cost * l.quantity), "$85.00" if n == 0 else "$0.00", utc(s.dispatched), s.carrier, s.tracking, s.order.person["name"], s.order.person["town"]])
            x.row("submission_lines", supplier=t.supplier, submission_id=s.id, line_id=l.number, variant_id=v.variant_id, sku="BYL/" + v.sku, quantity=l.quantity, status=state, unit_cost=money(v.cost))
        if s.dispatched:
            x.row("parcels", supplier=t.supplier, parcel_id=s.tracking, submission_id=s.id, dispatched_at=utc(s.dispatched), carrier=s.carrier, tracking_number=s.tracking)
    f = "work_order_lines.csv"
    put_csv(folder / "supplier" / f, header, rows)
    t.file(f, kind="csv", separator=",", encoding="utf-8")
    t.fields("submissions", f, submission_id="Work Order", order_ref="Order Ref", status="WO Status", received_at=T("Entered (UTC)", "RFC 3339"), replaces="Reprint Of")
    t.fields("submission_lines", f, submission_id="Work Order", line_id="Line", variant_id="Print ID", sku="SKU", quantity="Qty", status="Line Status", unit_cost=M("Unit Cost", "decimal point"))
    t.fields("parcels", f, parcel_id="Tracking", submission_id="Work Order", dispatched_at=T("Ship Date", "RFC 3339"), carrier="Carrier", tracking_number="Tracking")
    t.words("submissions.status", say.seen)
    t.words("submission_lines.status", each.seen)
    t.side["order_ref"]["suffix"] = "-MX"
    t.side["sku"]["prefix"] = "BYL/"
    t.side["notes"] = ("One row per line with the work order's columns repeated; 'Ref' is the shop's account, 'Order Ref' the order; a status for the work order and one for the line, equal in most rows; "
                       "costs carry a dollar sign and are pesos. The SKU bears a prefix that the shop's does not.")
    finish(name, t, x)


# 08: an Austrian stall's hand-kept list, a Spanish workshop's two sheets

def pair_08():
    name = "08-zirbe-und-zwirn"
    folder = fresh(name)
    vs = variants([("1", "Alpendohle", "AD"), ("2", "Zirbenzapfen", "ZZ"), ("3", "Heustadl", "HS"), ("4", "Almkuh Resi", "RE")],
                  [("T-Shirt", "T", ["S", "M", "L", "XL"], 2690, 1040), ("Kapuzenpulli", "K", ["S", "M", "L", "XL"], 4990, 2180), ("Stofftasche", "B", ["-"], 1490, 480)],
                  [("moosgrün", "g"), ("schiefer", "s"), ("natur", "n")],
                  lambda d, g, s, c, k: f"{d}{g}{s}{c}".replace("-", ""), lambda d, g, s, c, k: f"V{1000 + k * 7}")
    b = Book(seed=808, zone="Europe/Vienna", start="2026-06-01", days=33, orders=56, first=196, order_id=str, languages=["de"], countries=["AT"], variants=vs,
             typed=["Resi & Sepp", "Hüttenwirt 2026", "Für Käthe", "M & M"], typed_share=0.2, notes=["holt selbst ab?", "Tante von Gesine", "zahlt bar am Markt"], popular=45,
             wrong_sku=lambda v, r: v.sku + " neu", carriers=["Paloma Exprés"], first_submission=1405, submission_id=lambda n: f"{n}/26", statuses=["received", "making"],
             tracking=lambda r: f"PE-{r.randrange(10**6, 10**7)}", slow_payment=0.4)
    t = Truth(b.zone_name, "talleres-ventolera")
    x = Exchange()
    loose = lambda m: f"{m.day}.{m.month}.{m.year} {m.hour}:{m.minute:02d}"
    header = ["Nr", "wann", "wer", "Mail", "wohin", "bez.", "bez. am", "was", "Motiv", "Etikett", "Gr.", "Fb.", "Aufdruck", "Stk", "à", "macht", "Porto", "ges.", "weg", "Storno", "Anm.", ""]
    paid_w, gone_w, stop_w = Words(), Words(), Words()
    rows = []
    for o in b.orders:
        p = o.person
        pw = paid_w.met("ja", "open") if o.paid else paid_w.met("nein", "unpaid")
        gw = gone_w.met("ja", "dispatched") if o.state == "dispatched" else gone_w.met("", "open")
        sw = stop_w.met("x", "cancelled") if o.state == "cancelled" else stop_w.met("", "open")
        x.row("orders", order_id=o.id, placed_at=rfc(o.placed), paid_at=rfc(o.paid), status=o.state)
        for l in o.lines:
            v = l.variant
            first = l.number == 1
            row = [o.id, loose(o.placed), p["name"], p["mail"], f"{p['street']}, {p['post']} {p['town']}", pw, loose(o.paid) if o.paid else ""] if first else [""] * 7
            row += [v.good, v.title, v.shop_sku, v.size, v.colour, l.typed, l.quantity, comma(v.price), comma(v.price * l.quantity)]
            row += [comma(o.shipping), comma(o.total), gw, sw, o.note, ""] if first else [""] * 6
            rows.append(row)
            x.row("order_lines", order_id=o.id, line_id=l.number, sku=v.shop_sku, title=v.title, options={"was": v.good, "Gr.": v.size, "Fb.": v.colour}, quantity=l.quantity, unit_price=money(v.price))
    f = "Bestellungen Sommer.csv"
    put_csv(folder / "storefront" / f, header, rows, ";", "utf-8-sig")
    stamp = "%d.%m.%Y %H:%M"
    t.file(f, kind="csv", separator=";", encoding="utf-8-sig", filled_down=True)
    t.fields("orders", f, order_id="Nr", placed_at=T("wann", stamp), paid_at=T("bez. am", stamp), status=together("bez.", "weg", "Storno"))
    t.fields("order_lines", f, order_id="Nr", sku="Etikett", title="Motiv", options=together("was", "Gr.", "Fb.", form="columns"), quantity="Stk", unit_price=M("à", "decimal comma"))
    t.words_of_places("orders.status", {"bez.": paid_w.seen, "weg": gone_w.seen, "Storno": stop_w.seen})
    t.side["options"] = {"order_lines": ["was", "Gr.", "Fb."]}
    t.side["notes"] = ("Kept by hand, everyday words for headers, one without a name; all of the order's columns, its number too, on the first row only. 'ja' means paid in one column and sent in another. "
                       "'was' is the good that was chosen, 'Motiv' the listing's title: nobody could tell for certain. '-' is the size of a bag.")

    t.of("supplier_source")
    say = Words(received="recibido", making="en taller", dispatched="enviado", cancelled="anulado")
    stamp = "%d/%m/%Y %H:%M"
    rows = []
    for s in b.submissions:
        x.row("submissions", supplier=t.supplier, submission_id=s.id, order_ref=s.order.id, status=s.status, received_at=rfc(s.received))
        for l in s.lines:
            v = l.variant
            rows.append([s.id, s.received.strftime(stamp), "ZZ " + s.order.id, v.variant_id, v.sku, v.good, l.quantity, v.cost / 100, v.cost * l.quantity / 100, say(s.status),
                         s.dispatched.strftime("%d/%m/%Y") if s.dispatched else "", s.tracking])
            x.row("submission_lines", supplier=t.supplier, submission_id=s.id, line_id=l.number, variant_id=v.variant_id, sku=v.sku, quantity=l.quantity, unit_cost=money(v.cost))
        if s.dispatched:
            x.row("parcels", supplier=t.supplier, parcel_id=s.tracking, submission_id=s.id, dispatched_at=day(s.dispatched), tracking_number=s.tracking)
    f = "Encargos Zirbe.ods"
    put_ods(folder / "supplier" / f, ["Encargo", "Entrada", "Referencia suya", "Ficha", "Código", "Prenda", "Cantidad", "Coste ud.", "Importe", "Situación", "Salida", "Seguimiento"], rows,
            [["Talleres Ventolera"], ["Cliente: Zirbe und Zwirn", "", "IVA no incluido"]], "Encargos")
    has = Words()
    rows = []
    for v in b.variants:
        ok = b.rng.random() > 0.05
        size = "" if v.size == "-" else v.size
        rows.append([v.variant_id, v.sku, v.good, v.title, size, v.colour, v.cost / 100, "EUR", has.met("sí", "true") if ok else has.met("agotado", "false")])
        x.row("variants", supplier=t.supplier, variant_id=v.variant_id, sku=v.sku, product=v.good, options=only({"Talla": size, "Tinte": v.colour}), unit_cost=money(v.cost), currency="EUR",
              available="true" if ok else "false")
    g = "Tarifa 2026.ods"
    put_ods(folder / "supplier" / g, ["Ficha", "Código", "Prenda", "Dibujo", "Talla", "Tinte", "Coste ud.", "Moneda", "Disponible"], rows, [], "Tarifa")
    t.file(f, kind="ods", header_row=3)
    t.file(g, kind="ods", header_row=1)
    t.fields("submissions", f, submission_id="Encargo", order_ref="Referencia suya", status="Situación", received_at=T("Entrada", stamp))
    t.fields("submission_lines", f, submission_id="Encargo", variant_id="Ficha", sku="Código", quantity="Cantidad", unit_cost=M("Coste ud.", "decimal point"))
    t.fields("parcels", f, parcel_id="Seguimiento", submission_id="Encargo", dispatched_at=T("Salida", "%d/%m/%Y"), tracking_number="Seguimiento")
    t.fields("variants", g, variant_id="Ficha", sku="Código", product="Prenda", options=together("Talla", "Tinte", form="columns"), unit_cost=M("Coste ud.", "decimal point"), currency="Moneda",
             available="Disponible")
    t.words("submissions.status", say.seen)
    t.words("variants.available", has.seen)
    t.side["options"] = {"variants": ["Talla", "Tinte"]}
    t.side["order_ref"]["prefix"] = "ZZ "
    t.side["notes"] = "Ids that look like a fraction or a month ('1409/26'); lines without a number; day of dispatch without a time; a price list is the variants' table. Two lines of title above the header."
    finish(name, t, x)


if __name__ == "__main__":
    for make in (pair_01, pair_02, pair_03, pair_04, pair_05, pair_06, pair_07, pair_08):
        make()
