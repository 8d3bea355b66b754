"""Writes twelve invented pairs of a storefront and a supplier, with the truth beside them.

    python3 make.py [FOLDER]

Needs openpyxl and odfpy. The same script writes the same data each time.
"""
import csv
import io
import json
import re
import shutil
import sys
import zipfile
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from book import Book

ROOT = Path(sys.argv[1] if len(sys.argv) > 1 else Path(__file__).parent)
COLUMNS = {
    "orders": ["order_id", "placed_at", "paid_at", "status", "currency", "promised_by", "ship_to_country", "updated_at"],
    "order_lines": ["order_id", "line_id", "listing_id", "sku", "title", "options", "quantity", "cancelled_quantity", "unit_price"],
    "offers": ["listing_id", "sku", "title", "options", "price", "currency", "buyable"],
    "variants": ["supplier", "variant_id", "sku", "product", "options", "unit_cost", "currency", "available"],
    "links": ["sku", "supplier", "variant_id"],
    "submissions": ["supplier", "submission_id", "order_ref", "status", "received_at", "replaces", "updated_at"],
    "submission_lines": ["supplier", "submission_id", "line_id", "order_ref", "order_line_ref", "variant_id", "sku", "quantity", "status", "unit_cost"],
    "parcels": ["supplier", "parcel_id", "submission_id", "dispatched_at", "carrier", "tracking_number"],
    "parcel_lines": ["supplier", "parcel_id", "submission_line_id", "quantity"],
}
SUPPLIER_TABLES = ("variants", "links", "submissions", "submission_lines", "parcels", "parcel_lines")


def dec(cents, sign=""):
    return "%s%d.%02d" % (sign, cents // 100, cents % 100)


def comma(cents, sign="", thousands=""):
    whole = "%d" % (cents // 100)
    if thousands and len(whole) > 3:
        whole = whole[:-3] + thousands + whole[-3:]
    return "%s,%02d%s" % (whole, cents % 100, sign)


class Clock:
    """How one source writes a moment, and the same moment for the exchange."""

    def __init__(self, kind, zone):
        self.kind, self.zone = kind, ZoneInfo(zone)

    def src(self, t):
        if t is None:
            return None
        local = t.astimezone(self.zone)
        if self.kind == "z":
            return t.strftime("%Y-%m-%dT%H:%M:%SZ")
        if self.kind == "offset":
            return local.isoformat(timespec="seconds")
        if self.kind == "s":
            return int(t.timestamp())
        if self.kind == "ms":
            return int(t.timestamp()) * 1000
        if self.kind == "cell":
            return local.replace(tzinfo=None, second=0, microsecond=0)
        return local.strftime(self.kind)

    def ex(self, t):
        if t is None:
            return None
        if self.kind in ("z", "s", "ms"):
            return t.strftime("%Y-%m-%dT%H:%M:%SZ")
        local = t.astimezone(self.zone)
        if self.kind != "offset" and "%S" not in self.kind:
            local = local.replace(second=0)
        return local.isoformat(timespec="seconds")

    def day(self, t):
        return t.astimezone(self.zone).date().isoformat()


class Pair:
    def __init__(self, name, zone, supplier):
        self.dir = ROOT / name
        if self.dir.exists():
            shutil.rmtree(self.dir)
        for part in ("storefront", "supplier", "exchange"):
            (self.dir / part).mkdir(parents=True)
        side = lambda: {"fields": [], "words": {}, "options": {}, "notes": ""}
        self.supplier = supplier
        self.truth = {"zone": zone, "supplier": supplier, "storefront": side(), "supplier_source": side()}
        self.truth["supplier_source"].update(order_ref={"prefix": "", "suffix": ""}, sku={"prefix": "", "suffix": ""})

    def field(self, side, table, file, base="", **columns):
        """A path beginning with '^' starts at the top of the file, any other after `base`."""
        for column, at in columns.items():
            entry = {"table": table, "column": column, "file": file}
            every = False
            if isinstance(at, set):
                raise TypeError("order matters")
            if isinstance(at, list):  # a list: all of them together; a tuple: each is right
                every = True
            at = [at] if isinstance(at, str) else list(at)
            entry["at"] = [a[1:] if a.startswith("^") else base + a for a in at]
            if every:
                entry["all"] = True
            self.truth[side]["fields"].append(entry)

    def sf(self, *a, **k):
        self.field("storefront", *a, **k)

    def sp(self, *a, **k):
        self.field("supplier_source", *a, **k)

    def text(self, path, text, encoding="utf-8", newline=None):
        data = text if newline is None else text.replace("\n", newline)
        (self.dir / path).write_bytes(data.encode(encoding))

    def json(self, path, value, indent=1):
        self.text(path, json.dumps(value, ensure_ascii=False, indent=indent) + "\n")

    def jsonl(self, path, rows):
        self.text(path, "".join(json.dumps(r, ensure_ascii=False, separators=(",", ":")) + "\n" for r in rows))

    def csv(self, path, header, rows, sep=",", encoding="utf-8", quote=csv.QUOTE_MINIMAL, eol="\r\n"):
        out = io.StringIO()
        w = csv.writer(out, delimiter=sep, quoting=quote, lineterminator=eol)
        w.writerow(header)
        for r in rows:
            assert len(r) == len(header), (path, len(r), len(header))
            w.writerow(["" if c is None else c for c in r])
        (self.dir / path).write_bytes(out.getvalue().encode(encoding))

    def xlsx(self, path, sheet, header, rows, above=(), widths=None):
        import openpyxl
        book = openpyxl.Workbook()
        book.properties.created = book.properties.modified = datetime(2026, 1, 1)
        ws = book.active
        ws.title = sheet
        for line in above:
            ws.append(list(line))
        ws.append(header)
        for r in rows:
            assert len(r) == len(header), (path, len(r), len(header))
            ws.append(list(r))
        for row in ws.iter_rows():
            for c in row:
                if isinstance(c.value, datetime):
                    c.number_format = "dd/mm/yyyy hh:mm"
                elif isinstance(c.value, float):
                    c.number_format = "0.00"
        book.save(self.dir / path)
        self.settle(path)

    def ods(self, path, sheet, header, rows, above=()):
        from odf.opendocument import OpenDocumentSpreadsheet
        from odf.table import Table, TableCell, TableRow
        from odf.text import P
        doc = OpenDocumentSpreadsheet()
        table = Table(name=sheet)
        for r in list(above) + [header] + list(rows):
            tr = TableRow()
            for c in r:
                if c is None or c == "":
                    tr.addElement(TableCell())
                    continue
                if isinstance(c, datetime):
                    cell = TableCell(valuetype="date", datevalue=c.isoformat(timespec="seconds"))
                    text = c.strftime("%d/%m/%y %H:%M")
                elif isinstance(c, (int, float)) and not isinstance(c, bool):
                    cell = TableCell(valuetype="float", value=str(c))
                    text = str(c)
                else:
                    cell = TableCell(valuetype="string")
                    text = str(c)
                cell.addElement(P(text=text))
                tr.addElement(cell)
            table.addElement(tr)
        doc.spreadsheet.addElement(table)
        doc.save(str(self.dir / path))
        self.settle(path)

    def settle(self, path):
        """Takes the hour of writing out of a zipped sheet, so that each run writes the same bytes."""
        with zipfile.ZipFile(self.dir / path) as z:
            parts = [(i.filename, i.compress_type, z.read(i)) for i in z.infolist()]
        with zipfile.ZipFile(self.dir / path, "w") as z:
            for name, how, data in parts:
                data = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2026-01-01T00:00:00Z", data)
                info = zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0))
                info.compress_type = how
                z.writestr(info, data)

    def exchange(self, **tables):
        for table, rows in tables.items():
            rows = [dict(r, supplier=self.supplier) if table in SUPPLIER_TABLES else r for r in rows]
            used = {k for r in rows for k, v in r.items() if v not in (None, "")}
            unknown = {k for r in rows for k in r} - set(COLUMNS[table])
            assert not unknown, (table, unknown)
            known = [c for c in COLUMNS[table] if any(c in r for r in rows) and (c in used or c in ("sku", "options"))]
            out = io.StringIO()
            w = csv.writer(out, lineterminator="\r\n")
            w.writerow(known)
            for r in rows:
                cells = []
                for c in known:
                    v = r.get(c)
                    if isinstance(v, dict):
                        v = json.dumps(v, ensure_ascii=False)
                    elif isinstance(v, bool):
                        v = "true" if v else "false"
                    cells.append("" if v is None else v)
                w.writerow(cells)
            self.text("exchange/%s.csv" % table, out.getvalue())

    def words(self, side, key, words):
        self.truth[side]["words"][key] = words

    def done(self, storefront_options, supplier_options, storefront_notes, supplier_notes, prefix="", suffix="", sku_prefix=""):
        t = self.truth
        t["storefront"]["options"], t["supplier_source"]["options"] = storefront_options, supplier_options
        t["storefront"]["notes"], t["supplier_source"]["notes"] = storefront_notes, supplier_notes
        t["supplier_source"]["order_ref"] = {"prefix": prefix, "suffix": suffix}
        t["supplier_source"]["sku"] = {"prefix": sku_prefix, "suffix": ""}
        self.json("truth.json", t)


def only(options):
    return {k: v for k, v in options.items() if v not in (None, "")}


# ---------------------------------------------------------------------------------------------- 01

def fernhollow():
    zone = "Europe/London"
    b = Book(seed=4107, zone=zone, start="2026-09-14", days=33, orders=62, first=20498,
             goods={"AP": ("Apron", ["Child", "Adult"], ["Moss", "Flax", "Ink"], 2950, 1180),
                    "MT": ("Oven mitt", None, ["Moss", "Flax"], 1650, 610),
                    "TW": ("Tea towel", None, None, 1250, 430),
                    "SM": ("Smock", ["S", "M", "L", "XL", "2XL"], ["Moss", "Ink"], 4800, 2140)},
             listings=[("lst_204", "Fern Study", ["AP", "MT", "TW"]), ("lst_211", "Quiet Kettle", ["AP", "TW"]),
                       ("lst_219", "Harvest Hare", ["SM"]), ("lst_226", "Blackthorn Row", ["AP", "MT", "SM"]),
                       ("lst_230", "Two Wrens", ["TW"])],
             names=("Item", "Size", "Colour"), sku=lambda l, g, s, c, n: "%s%s-%s%s" % (g, l[-3:], (s or "one")[:3].upper(), "-" + c[:2].upper() if c else ""),
             variant=lambda n: "v%05d" % (40200 + n), personal=("Stitched name", ["For Nan", "Ottoline", "Chef: Bea", "Mr. P, Esq."]),
             countries=["GB", "IE", "FR"], carriers=["Postrider", "Swiftlane"], submission=lambda n: "TP-%d" % n,
             parcel=lambda n: "BX%d" % n, replace=True, withdrawn=True)
    p, z = Pair("01-fernhollow", zone, "thistle-press"), Clock("z", zone)
    pay = {"unpaid": "awaiting", "open": "settled", "dispatched": "settled", "cancelled": "reversed"}
    sales = []
    for o in b.orders:
        rows = []
        for x in o["lines"]:
            choices = [{"label": k, "picked": v} for k, v in x["options"].items()]
            if x["personal"]:
                choices.insert(len(choices) // 2, {"label": b.personal[0], "picked": x["personal"]})
            rows.append({"id": "row_%d" % x["id"], "listing": {"id": x["offer"]["listing"], "heading": x["title"]}, "stockCode": x["sku"] or None,
                         "count": x["quantity"], "withdrawn": x["withdrawn"], "choices": choices,
                         "each": {"minor": x["price"]}, "rowTotal": {"minor": x["price"] * x["quantity"]}})
        sales.append({"id": "sal_%x" % (o["serial"] * 7919), "saleNo": o["number"], "channel": "web",
                      "flow": {"payment": pay[o["status"]], "goods": {"open": "packing", "dispatched": "gone"}.get(o["status"])},
                      "clock": {"opened": z.src(o["placed"]), "settled": z.src(o["paid"]), "touched": z.src(o["updated"]), "leaveBy": z.src(o["promised"])},
                      "buyer": {"id": "byr_%d" % o["customer"], "name": o["name"], "mail": o["mail"], "phone": o["phone"]},
                      "deliverTo": {"line": o["street"], "town": o["town"], "postcode": o["post"], "land": o["country"]},
                      "sums": {"currency": "GBP", "goods": {"minor": o["goods"]}, "carriage": {"minor": o["shipping"]}, "total": {"minor": o["total"]}},
                      "slip": o["note"] or None, "rows": rows})
    p.json("storefront/sales.json", {"request": {"id": "req_71fd", "issued": z.src(b.end), "scope": "sales"}, "result": {"found": len(sales), "sales": sales}})
    p.json("storefront/listings.json", {"request": {"id": "req_71fe", "issued": z.src(b.end), "scope": "listings"}, "result": {"found": len(b.listings), "listings": [
        {"id": l["listing"], "heading": l["title"], "shelf": "Kitchen", "photos": 4, "currency": "GBP",
         "versions": [{"id": "ver_%d" % (o["n"] + 3000), "stockCode": o["sku"] or None, "picks": o["options"], "ask": {"minor": o["price"]}, "onSale": o["buyable"]} for o in l["offers"]]}
        for l in b.listings]}})
    p.sf("orders", "sales.json", "result.sales[*].", order_id="saleNo", placed_at="clock.opened", paid_at="clock.settled",
         status=["flow.payment", "flow.goods"], currency="sums.currency", promised_by="clock.leaveBy", ship_to_country="deliverTo.land", updated_at="clock.touched")
    p.sf("order_lines", "sales.json", "result.sales[*].rows[*].", order_id="^result.sales[*].saleNo", line_id="id", listing_id="listing.id", sku="stockCode",
         title="listing.heading", options="choices", quantity="count", cancelled_quantity="withdrawn", unit_price="each.minor")
    p.sf("offers", "listings.json", "result.listings[*].versions[*].", listing_id="^result.listings[*].id", title="^result.listings[*].heading",
         currency="^result.listings[*].currency", sku="stockCode", options="picks", price="ask.minor", buyable="onSale")
    p.words("storefront", "orders.status", {"awaiting": "unpaid", "settled": "open", "reversed": "cancelled", "packing": "open", "gone": "dispatched"})
    p.words("storefront", "offers.buyable", {"true": "true", "false": "false"})

    phase = {"received": "queued", "held": "on hold", "making": "in work", "dispatched": "shipped", "cancelled": "stopped", "rejected": "turned down"}
    jobs = []
    for s in b.submissions:
        jobs.append({"jobId": s["id"], "yourRef": "FH-%d" % s["order"]["number"], "phase": phase[s["status"]], "again": s["replaces"],
                     "dates": {"arrived": z.src(s["received"]), "started": z.src(s["started"]), "modified": z.src(s["updated"])},
                     "items": [{"pos": x["n"], "variantId": x["variant"]["variant_id"], "code": x["variant"]["sku"], "yourRow": "row_%d" % x["line"]["id"],
                                "pieces": x["quantity"], "unitCost": dec(x["variant"]["cost"]), "lineCost": dec(x["variant"]["cost"] * x["quantity"])} for x in s["items"]],
                     "boxes": [{"box": q["id"], "left": z.src(q["at"]), "by": q["carrier"], "trace": q["tracking"], "grams": 210 * sum(n for _, n in q["items"]),
                                "holds": [{"pos": x["n"], "pieces": n} for x, n in q["items"]]} for q in s["parcels"]]})
    p.json("supplier/jobs.json", jobs)
    p.json("supplier/catalogue.json", {"customer": "Fernhollow", "asOf": z.src(b.end), "items": [
        {"variantId": v["variant_id"], "code": v["sku"], "blank": v["product"], "print": v["design"], "make": only({"Size": v["size"], "Colour": v["colour"]}),
         "cost": {"amount": dec(v["cost"]), "currency": "GBP"}, "stocked": v["available"]} for v in b.variants]})
    p.sp("submissions", "jobs.json", "[*].", submission_id="jobId", order_ref="yourRef", status="phase", received_at="dates.arrived", replaces="again", updated_at="dates.modified")
    p.sp("submission_lines", "jobs.json", "[*].items[*].", submission_id="^[*].jobId", line_id="pos", order_line_ref="yourRow", variant_id="variantId",
         sku="code", quantity="pieces", unit_cost="unitCost")
    p.sp("parcels", "jobs.json", "[*].boxes[*].", parcel_id="box", submission_id="^[*].jobId", dispatched_at="left", carrier="by", tracking_number="trace")
    p.sp("parcel_lines", "jobs.json", "[*].boxes[*].holds[*].", parcel_id="^[*].boxes[*].box", submission_line_id="pos", quantity="pieces")
    p.sp("variants", "catalogue.json", "items[*].", variant_id="variantId", sku="code", product="blank", options="make", unit_cost="cost.amount", currency="cost.currency", available="stocked")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {phase[k]: k for k in phase if k in used})
    p.words("supplier_source", "variants.available", {"true": "true", "false": "false"})
    p.exchange(
        orders=[dict(order_id=o["number"], placed_at=z.ex(o["placed"]), paid_at=z.ex(o["paid"]), status=o["status"], currency="GBP",
                     promised_by=z.ex(o["promised"]), ship_to_country=o["country"], updated_at=z.ex(o["updated"])) for o in b.orders],
        order_lines=[dict(order_id=o["number"], line_id="row_%d" % x["id"], listing_id=x["offer"]["listing"], sku=x["sku"], title=x["title"], options=x["options"],
                          quantity=x["quantity"], cancelled_quantity=x["withdrawn"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        offers=[dict(listing_id=o["listing"], sku=o["sku"], title=o["title"], options=o["options"], price=dec(o["price"]), currency="GBP", buyable=o["buyable"]) for o in b.offers],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=only({"Size": v["size"], "Colour": v["colour"]}),
                       unit_cost=dec(v["cost"]), currency="GBP", available=v["available"]) for v in b.variants],
        submissions=[dict(submission_id=s["id"], order_ref=s["order"]["number"], status=s["status"], received_at=z.ex(s["received"]), replaces=s["replaces"],
                          updated_at=z.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["n"], order_line_ref="row_%d" % x["line"]["id"], variant_id=x["variant"]["variant_id"], sku=x["variant"]["sku"],
                               quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=q["id"], submission_id=q["submission"]["id"], dispatched_at=z.ex(q["at"]), carrier=q["carrier"], tracking_number=q["tracking"]) for q in b.parcels],
        parcel_lines=[dict(parcel_id=q["id"], submission_line_id=x["n"], quantity=n) for q in b.parcels for x, n in q["items"]])
    p.done({"order_lines": ["Item", "Size", "Colour"], "offers": ["Item", "Size", "Colour"]}, {"variants": ["Size", "Colour"]},
           "The status is spread over flow.payment and flow.goods (empty until the sale is paid); goods says more than payment where it is filled. "
           "'id' stands at four levels, and the supplier is told saleNo, none of them. A stitched name stands among the choices. Money is in minor units.",
           "yourRef is the storefront's saleNo after 'FH-'; nobody could tell the 'again' jobs (remakes) from new ones but by that key. Money is in decimals here.", prefix="FH-")


# ---------------------------------------------------------------------------------------------- 02

def brunnenkamp():
    zone = "Europe/Berlin"
    b = Book(seed=5523, zone=zone, start="2026-02-02", days=30, orders=58, first=20391,
             goods={"LS": ("Langarmshirt", ["XS", "S", "M", "L", "XL", "XXL"], ["Graphit", "Beere", "Natur"], 3490, 1560),
                    "ST": ("Stofftasche", None, ["Natur", "Schwarz"], 1590, 520), "SC": ("Schürze", ["Kind", "Erwachsen"], ["Natur", "Beere"], 2890, 1150)},
             listings=[("A-118", "Kranichzug", ["LS"]), ("A-121", "Kranichzug Tasche", ["ST"]), ("A-130", "Waldkauz", ["LS"]),
                       ("A-134", "Küchenzwiebel", ["SC"]), ("A-139", "Frühbeet", ["SC"]), ("A-142", "Löwenzahn", ["LS"])],
             names=("Artikelart", "Größe", "Farbe"), sku=lambda l, g, s, c, n: "%s.%s.%s%s" % (l[2:], g, (s + ".") if s else "", c[:3].upper()),
             variant=lambda n: "%06d" % (310400 + n * 3), personal=("Wunschtext", ["Für Omi", "Größe zählt nicht", "Käthe & Jörg", "Alles Gute zum 60.!"]),
             countries=["DE", "AT", "NL"], carriers=["Eilbote", "Gelbfuchs"], submission=lambda n: "DQ%d" % n, part_parcels=False)
    p, c, d = Pair("02-brunnenkamp", zone, "druckwerk-quarz"), Clock("%d.%m.%Y %H:%M", zone), Clock("%d.%m.%Y %H:%M:%S", zone)
    word = {"unpaid": "Neu, Zahlung offen", "open": "In Bearbeitung", "dispatched": "Versandt", "cancelled": "Storniert"}
    pay = {"unpaid": "offen", "open": "bezahlt", "dispatched": "bezahlt", "cancelled": "erstattet"}
    header = ["Rechnungsnummer", "Bestellnr.", "Datum", "Bezahlt am", "Zahlart", "Zahlungsstatus", "Bearbeitung", "Kunde", "E-Mail", "Straße", "PLZ", "Ort", "Land",
              "Pos.", "Angebot", "Bezeichnung", "Art.-Nr.", "Größe", "Farbe", "Wunschtext", "Menge", "Einzelpreis", "Summe", "Versandkosten", "Gesamtbetrag", "Gutschein", "Währung", "Bemerkung"]
    rows = []
    for o in b.orders:
        for x in o["lines"]:
            rows.append([o["invoice"] if o["paid"] else "", o["number"], c.src(o["placed"]), c.src(o["paid"]), {"card": "Karte", "transfer": "Überweisung", "wallet": "Guthaben"}[o["method"]],
                         pay[o["status"]], word[o["status"]], o["name"], o["mail"], o["street"], o["post"], o["town"], o["country"], x["n"], x["offer"]["listing"], x["title"], x["sku"],
                         x["options"].get("Größe", ""), x["options"].get("Farbe", ""), x["personal"], x["quantity"], comma(x["price"]), comma(x["price"] * x["quantity"]),
                         comma(o["shipping"]), comma(o["total"], thousands="."), "", "EUR", o["note"]])
    p.csv("storefront/Verkaeufe_Februar.csv", header, rows, ";", "cp1252")
    p.csv("storefront/Sortiment.csv", ["Angebot", "Bezeichnung", "Größe", "Farbe", "Art.-Nr.", "VK brutto", "MwSt.", "Währung", "Im Verkauf", "Lagerort"],
          [[o["listing"], o["title"], o["options"].get("Größe", ""), o["options"].get("Farbe", ""), o["sku"], comma(o["price"]), "19 %", "EUR", "ja" if o["buyable"] else "nein", ""] for o in b.offers], ";", "cp1252")
    f = "Verkaeufe_Februar.csv"
    p.sf("orders", f, order_id="Bestellnr.", placed_at="Datum", paid_at="Bezahlt am", status="Bearbeitung", currency="Währung", ship_to_country="Land")
    p.sf("order_lines", f, order_id="Bestellnr.", line_id="Pos.", listing_id="Angebot", sku="Art.-Nr.", title="Bezeichnung", options=("Größe", "Farbe"), quantity="Menge", unit_price="Einzelpreis")
    p.sf("offers", "Sortiment.csv", listing_id="Angebot", sku="Art.-Nr.", title="Bezeichnung", options=("Größe", "Farbe"), price="VK brutto", currency="Währung", buyable="Im Verkauf")
    p.words("storefront", "orders.status", {v: k for k, v in word.items()})
    p.words("storefront", "offers.buyable", {"ja": "true", "nein": "false"})
    stand = {"received": "eingegangen", "held": "angehalten", "making": "in Produktion", "dispatched": "ausgeliefert", "cancelled": "storniert", "rejected": "abgelehnt"}
    rows = []
    for s in b.submissions:
        for x in s["items"]:
            v = x["variant"]
            rows.append([s["id"], "%d/1" % s["order"]["number"], d.src(s["received"]), stand[s["status"]], d.src(s["updated"]), x["n"], v["variant_id"], v["sku"], v["product"], v["design"],
                         x["quantity"], comma(v["cost"]) + " €", comma(v["cost"] * x["quantity"]) + " €", d.src(s["dispatched"]), s["carrier"], s["tracking"], "Mustermappe 3"])
    p.csv("supplier/Auftragspositionen.csv", ["Auftrag", "Ihr Zeichen", "Eingang", "Stand", "Letzte Änderung", "Pos", "Variantennr.", "Ihre Art.-Nr.", "Artikel", "Motiv", "Stück", "EK je Stück", "EK gesamt",
                                              "Übergabe", "Dienst", "Sendung", "Ablage"], rows, ";", "utf-8-sig", csv.QUOTE_ALL)
    p.csv("supplier/Varianten.csv", ["Variantennr.", "Ihre Art.-Nr.", "Artikel", "Motiv", "Größe", "Farbe", "EK je Stück", "Lieferbar"],
          [[v["variant_id"], v["sku"], v["product"], v["design"], v["size"], v["colour"], comma(v["cost"]) + " €", "ja" if v["available"] else "nein"] for v in b.variants], ";", "utf-8-sig", csv.QUOTE_ALL)
    f = "Auftragspositionen.csv"
    p.sp("submissions", f, submission_id="Auftrag", order_ref="Ihr Zeichen", status="Stand", received_at="Eingang", updated_at="Letzte Änderung")
    p.sp("submission_lines", f, submission_id="Auftrag", line_id="Pos", variant_id="Variantennr.", sku="Ihre Art.-Nr.", quantity="Stück", unit_cost="EK je Stück")
    p.sp("parcels", f, parcel_id="Sendung", submission_id="Auftrag", dispatched_at="Übergabe", carrier="Dienst", tracking_number="Sendung")
    p.sp("variants", "Varianten.csv", variant_id="Variantennr.", sku="Ihre Art.-Nr.", product="Artikel", options=("Größe", "Farbe"), unit_cost="EK je Stück", available="Lieferbar")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {stand[k]: k for k in stand if k in used})
    p.words("supplier_source", "variants.available", {"ja": "true", "nein": "false"})
    vo = lambda v: only({"Größe": v["size"], "Farbe": v["colour"]})
    p.exchange(
        orders=[dict(order_id=o["number"], placed_at=c.ex(o["placed"]), paid_at=c.ex(o["paid"]), status=o["status"], currency="EUR", ship_to_country=o["country"]) for o in b.orders],
        order_lines=[dict(order_id=o["number"], line_id=x["n"], listing_id=x["offer"]["listing"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"],
                          unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        offers=[dict(listing_id=o["listing"], sku=o["sku"], title=o["title"], options=o["options"], price=dec(o["price"]), currency="EUR", buyable=o["buyable"]) for o in b.offers],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=vo(v), unit_cost=dec(v["cost"]), available=v["available"]) for v in b.variants],
        submissions=[dict(submission_id=s["id"], order_ref=s["order"]["number"], status=s["status"], received_at=d.ex(s["received"]), updated_at=d.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["n"], variant_id=x["variant"]["variant_id"], sku=x["variant"]["sku"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"]))
                          for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=s["tracking"], submission_id=s["id"], dispatched_at=d.ex(s["dispatched"]), carrier=s["carrier"], tracking_number=s["tracking"]) for s in b.submissions if s["dispatched"]])
    o = ["Größe", "Farbe"]
    p.done({"order_lines": o, "offers": o}, {"variants": o},
           "The invoice's number stands first and 'Zahlungsstatus' is the payment's; 'Bearbeitung' alone tells the order's state. 'Wunschtext' is what customers type. The last two columns of money belong to the order.",
           "One row per line, the order's columns repeated. 'Ihr Zeichen' is the shop's order number with '/1' behind it. Parcels are only 'Übergabe' and 'Sendung'.", suffix="/1")


# ---------------------------------------------------------------------------------------------- 03

def atelier_brumelune():
    zone = "Europe/Paris"
    b = Book(seed=6301, zone=zone, start="2026-10-01", days=27, orders=55, first=1031,
             goods={"TA": ("Tablier", ["Enfant", "Adulte"], ["Sauge", "Écru"], 3200, 1240), "SA": ("Sac cabas", None, ["Écru", "Nuit"], 1900, 640),
                    "MA": ("Marinière", ["S", "M", "L", "XL"], ["Nuit", "Brique"], 4500, 1990)},
             listings=[("x1", "Lune rousse", ["TA", "SA"]), ("x2", "Marée haute", ["MA"]), ("x3", "Le héron", ["SA"]), ("x4", "Figuier", ["TA", "MA"]), ("x5", "Nuit d'été", ["MA", "SA"])],
             names=("Article", "Taille", "Couleur"), sku=lambda l, g, s, c, n: "BRU-%s%s-%s%s" % (g, l[1], (s or "U")[0], c[0] + str(n)),
             variant=lambda n: "D-%d" % (770 + n), personal=("Prénom brodé", ["Lou", "Éloïse", "Jean-Noé", "Mamie"]),
             countries=["FR", "BE"], carriers=["Hirondelle", "Tournevent"], submission=lambda n: "IV%d" % n, parcel=lambda n: "CO-%d" % n)
    p, c, f = Pair("03-atelier-brumelune", zone, "imprimerie-volubile"), Clock("cell", zone), Clock("offset", zone)
    word = {"unpaid": "En attente de paiement", "open": "Payée", "dispatched": "Expédiée", "cancelled": "Annulée"}
    header = ["N° facture", "N° commande", "Date", "Payée le", "Date limite d'envoi", "État", "Client", "Courriel", "Adresse", "Pays", "Article", "Déclinaison", "Référence", "Qté", "Prix unitaire", "Total ligne",
              "Frais de port", "Total TTC", "Message"]
    rows = []
    for o in b.orders:
        for k, x in enumerate(o["lines"]):
            text = ", ".join("%s : %s" % kv for kv in x["options"].items())
            if x["personal"]:
                text += ", %s : %s" % (b.personal[0], x["personal"])
            head = [o["invoice"], o["number"], c.src(o["placed"]), c.src(o["paid"]), c.src(o["promised"]), word[o["status"]], o["name"], o["mail"], o["street"] + ", " + o["town"], o["country"]]
            tail = [o["shipping"] / 100, o["total"] / 100, o["note"] or None]
            rows.append((head if k == 0 else [None] * len(head)) + [x["title"], text, x["sku"] or None, x["quantity"], x["price"] / 100, x["price"] * x["quantity"] / 100] + (tail if k == 0 else [None] * 3))
    p.xlsx("storefront/Commandes octobre.xlsx", "Commandes", header, rows, above=[["Atelier Brumelune : commandes du mois"], ["Édité le", datetime(2026, 10, 28, 9, 0)], []])
    n = "Commandes octobre.xlsx"
    p.sf("orders", n, order_id="N° commande", placed_at="Date", paid_at="Payée le", status="État", promised_by="Date limite d'envoi", ship_to_country="Pays")
    p.sf("order_lines", n, order_id="N° commande", sku="Référence", title="Article", options="Déclinaison", quantity="Qté", unit_price="Prix unitaire")
    p.words("storefront", "orders.status", {v: k for k, v in word.items()})
    etat = {"received": "reçue", "held": "en attente", "making": "en fabrication", "dispatched": "partie", "cancelled": "annulée", "rejected": "refusée"}
    p.json("supplier/commandes.json", {"commandes": [
        {"id": s["id"], "reference": "BRU%d" % s["order"]["number"], "etat": etat[s["status"]], "recue_le": f.src(s["received"]), "modifiee_le": f.src(s["updated"]),
         "total_ht": comma(sum(x["variant"]["cost"] * x["quantity"] for x in s["items"])), "devise": "EUR", "atelier": "B"} for s in b.submissions]})
    p.json("supplier/lignes.json", {"lignes": [
        {"id": x["id"], "commande": s["id"], "declinaison": x["variant"]["variant_id"], "ref_client": x["variant"]["sku"], "quantite": x["quantity"],
         "cout_unitaire": comma(x["variant"]["cost"]), "cout_total": comma(x["variant"]["cost"] * x["quantity"])} for s in b.submissions for x in s["items"]]})
    p.json("supplier/colis.json", {"colis": [
        {"id": q["id"], "commande": q["submission"]["id"], "parti_le": f.src(q["at"]), "transporteur": q["carrier"], "suivi": q["tracking"], "poids_kg": comma(21 * sum(m for _, m in q["items"])),
         "contenu": [{"ligne": x["id"], "quantite": m} for x, m in q["items"]]} for q in b.parcels]})
    p.json("supplier/declinaisons.json", {"declinaisons": [
        {"id": v["variant_id"], "ref_client": v["sku"], "produit": v["product"], "motif": v["design"], "taille": v["size"], "couleur": v["colour"], "cout": comma(v["cost"]), "devise": "EUR"} for v in b.variants]})
    p.sp("submissions", "commandes.json", "commandes[*].", submission_id="id", order_ref="reference", status="etat", received_at="recue_le", updated_at="modifiee_le")
    p.sp("submission_lines", "lignes.json", "lignes[*].", submission_id="commande", line_id="id", variant_id="declinaison", sku="ref_client", quantity="quantite", unit_cost="cout_unitaire")
    p.sp("parcels", "colis.json", "colis[*].", parcel_id="id", submission_id="commande", dispatched_at="parti_le", carrier="transporteur", tracking_number="suivi")
    p.sp("parcel_lines", "colis.json", "colis[*].contenu[*].", parcel_id="^colis[*].id", submission_line_id="ligne", quantity="quantite")
    p.sp("variants", "declinaisons.json", "declinaisons[*].", variant_id="id", sku="ref_client", product="produit", options=("taille", "couleur"), unit_cost="cout", currency="devise")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {etat[k]: k for k in etat if k in used})
    p.exchange(
        orders=[dict(order_id=o["number"], placed_at=c.ex(o["placed"]), paid_at=c.ex(o["paid"]), status=o["status"], promised_by=c.ex(o["promised"]), ship_to_country=o["country"]) for o in b.orders],
        order_lines=[dict(order_id=o["number"], line_id=x["n"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=only({"taille": v["size"], "couleur": v["colour"]}), unit_cost=dec(v["cost"]), currency="EUR") for v in b.variants],
        submissions=[dict(submission_id=s["id"], order_ref=s["order"]["number"], status=s["status"], received_at=f.ex(s["received"]), updated_at=f.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["id"], variant_id=x["variant"]["variant_id"], sku=x["variant"]["sku"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"]))
                          for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=q["id"], submission_id=q["submission"]["id"], dispatched_at=f.ex(q["at"]), carrier=q["carrier"], tracking_number=q["tracking"]) for q in b.parcels],
        parcel_lines=[dict(parcel_id=q["id"], submission_line_id=x["id"], quantity=m) for q in b.parcels for x, m in q["items"]])
    p.done({"order_lines": ["Article", "Taille", "Couleur"]}, {"variants": ["taille", "couleur"]},
           "A title and a date stand above the header; the order's columns are filled on its first row only, the invoice's number first. Options are one text with ' : ', the embroidered name among them; "
           "'Article' is a column (the title) and the name of an option as well.",
           "Four flat files joined by 'commande'; decimal commas in JSON strings. 'reference' is the order number after 'BRU', which is also how the SKUs begin.", prefix="BRU")


# ---------------------------------------------------------------------------------------------- 04

def cerro_lila():
    zone = "America/Montevideo"
    b = Book(seed=7219, zone=zone, start="2026-05-04", days=36, orders=66, first=5470,
             goods={"RE": ("Remera", ["XS", "S", "M", "L", "XL", "XXL"], ["Arena", "Petróleo", "Ladrillo"], 98000, 41000), "BO": ("Bolsa", None, ["Crudo", "Negro"], 52000, 18500),
                    "DE": ("Delantal", None, ["Crudo", "Petróleo"], 79000, 30500)},
             listings=[("PUB88", "Ñandú al trote", ["RE"]), ("PUB91", "Luna y ceibo", ["RE"]), ("PUB95", "Tero", ["BO"]), ("PUB97", "Mate y siesta", ["DE"]), ("PUB99", "Río ancho", ["BO"])],
             names=("Prenda", "Talle", "Color"), sku=lambda l, g, s, c, n: "%s%s/%s%s" % (g, l[3:], (s + "/") if s else "", c[:3].upper().replace("Ó", "O")),
             variant=lambda n: n, personal=("Dedicatoria", ["Para la abuela", "Feliz día, Inés", "Vamos arriba", "Talle único: vos"]),
             countries=["UY", "AR", "CL"], carriers=["Correo Chajá", "Ruta Nueve"], per="line", submission=lambda n: "T%06d" % n, promise=6)
    p, c, h = Pair("04-cerro-lila", zone, "taller-quebracho"), Clock("%d/%m/%Y %H:%M", zone), Clock("cell", zone)
    word = {"unpaid": "Pendiente de pago", "open": "En preparación", "dispatched": "Despachado", "cancelled": "Anulado"}
    p.csv("storefront/pedidos.txt", ["Factura", "Pedido", "Fecha", "Fecha de pago", "Medio de pago", "Despachar antes del", "Estado", "Moneda", "País", "Nombre", "Correo", "Dirección", "Teléfono", "Subtotal", "Envío", "Total", "Comentario"],
          [["A-%d" % o["invoice"] if o["paid"] else "", o["number"], c.src(o["placed"]), c.src(o["paid"]), {"card": "tarjeta", "transfer": "giro", "wallet": "billetera"}[o["method"]],
            o["promised"].astimezone(c.zone).strftime("%d/%m/%Y"), word[o["status"]], "UYU", o["country"], o["name"], o["mail"], o["street"], o["phone"],
            comma(o["goods"], thousands="."), comma(o["shipping"]), comma(o["total"], thousands="."), o["note"]] for o in b.orders], "\t", "utf-16")
    p.csv("storefront/renglones.txt", ["Pedido", "Renglón", "Publicación", "Título", "Código", "Talle", "Color", "Dedicatoria", "Cantidad", "Precio", "Importe"],
          [[o["number"], x["n"], x["offer"]["listing"], x["title"], x["sku"], x["options"].get("Talle"), x["options"].get("Color"), x["personal"], x["quantity"],
            comma(x["price"], thousands="."), comma(x["price"] * x["quantity"], thousands=".")] for o in b.orders for x in o["lines"]], "\t", "utf-16")
    p.sf("orders", "pedidos.txt", order_id="Pedido", placed_at="Fecha", paid_at="Fecha de pago", status="Estado", currency="Moneda", promised_by="Despachar antes del", ship_to_country="País")
    p.sf("order_lines", "renglones.txt", order_id="Pedido", line_id="Renglón", listing_id="Publicación", sku="Código", title="Título", options=("Talle", "Color"), quantity="Cantidad", unit_price="Precio")
    p.words("storefront", "orders.status", {v: k for k, v in word.items()})
    est = {"received": "Ingresado", "held": "Detenido", "making": "En taller", "dispatched": "Entregado al correo", "cancelled": "Dado de baja", "rejected": "No se hace"}
    p.ods("supplier/trabajos.ods", "Trabajos", ["Trabajo", "Referencia", "Ingreso", "Estado", "SKU", "Descripción", "Cant.", "Costo unit.", "Costo", "Despachado el", "Empresa", "Guía", "Turno"],
          [[s["id"], "CL-%d" % s["order"]["number"], h.src(s["received"]), est[s["status"]], x["variant"]["sku"], " ".join(filter(None, [x["variant"]["product"], x["variant"]["design"], x["variant"]["size"], x["variant"]["colour"]])),
            x["quantity"], x["variant"]["cost"] / 100, x["variant"]["cost"] * x["quantity"] / 100, h.src(s["dispatched"]), s["carrier"], s["tracking"], "mañana"] for s in b.submissions for x in s["items"]])
    f = "trabajos.ods"
    p.sp("submissions", f, submission_id="Trabajo", order_ref="Referencia", status="Estado", received_at="Ingreso")
    p.sp("submission_lines", f, submission_id="Trabajo", sku="SKU", quantity="Cant.", unit_cost="Costo unit.")
    p.sp("parcels", f, parcel_id="Guía", submission_id="Trabajo", dispatched_at="Despachado el", carrier="Empresa", tracking_number="Guía")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {est[k]: k for k in est if k in used})
    p.exchange(
        orders=[dict(order_id=o["number"], placed_at=c.ex(o["placed"]), paid_at=c.ex(o["paid"]), status=o["status"], currency="UYU", promised_by=c.day(o["promised"]), ship_to_country=o["country"]) for o in b.orders],
        order_lines=[dict(order_id=o["number"], line_id=x["n"], listing_id=x["offer"]["listing"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"], unit_price=dec(x["price"]))
                     for o in b.orders for x in o["lines"]],
        submissions=[dict(submission_id=s["id"], order_ref=s["order"]["number"], status=s["status"], received_at=h.ex(s["received"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=1, sku=x["variant"]["sku"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=s["tracking"], submission_id=s["id"], dispatched_at=h.ex(s["dispatched"]), carrier=s["carrier"], tracking_number=s["tracking"]) for s in b.submissions if s["dispatched"]])
    p.done({"order_lines": ["Talle", "Color"]}, {},
           "Tabs in UTF-16, orders and lines in files of their own joined by 'Pedido'; days first, amounts with thousands points. 'Despachar antes del' is a day without a time. A dedication stands beside the options.",
           "One row is one supplier order of one line; only a SKU, no catalogue, no variant id. 'Referencia' carries 'CL-'.", prefix="CL-")


# ---------------------------------------------------------------------------------------------- 05

def saltmarsh():
    zone = "America/New_York"
    b = Book(seed=8117, zone=zone, start="2026-06-08", days=40, orders=64, first=3302,
             goods={"HD": ("Hoodie", ["S", "M", "L", "XL", "2XL", "3XL"], ["Tidal", "Oat"], 5400, 2480), "TB": ("Tote bag", None, ["Oat", "Navy"], 2200, 790),
                    "MG": ("Mug", ["11 oz", "15 oz"], None, 1800, 640), "KT": ("Kids tee", ["2T", "3T", "4T", "6", "8"], ["Tidal", "Lemon"], 2400, 980)},
             listings=[("l1", "Heron at Low Water", ["HD", "TB"]), ("l2", "Fiddler Crab", ["KT"]), ("l3", "Marsh Light", ["MG"]), ("l4", "Oyster Year", ["HD"]), ("l5", "Cordgrass", ["TB", "MG"]), ("l6", "Ferry Bell", ["KT", "HD"])],
             names=("Style", "Size", "Color"), sku=lambda l, g, s, c, n: "SMG-%s%s%s-%03d" % (g, l[1], (c or "W")[0], n),
             variant=lambda n: 880200 + n * 2, personal=("Monogram", ["ABQ", "J & K", "No. 7", "Size: big"]),
             countries=["US", "CA"], carriers=["Bluegull Freight", "Parcelhop"], submission=lambda n: 511000 + n, parcel=lambda n: n)
    p, c, s_ = Pair("05-saltmarsh", zone, "loom-and-larder"), Clock("%m/%d/%Y %I:%M %p", zone), Clock("s", zone)
    word = {"unpaid": "Awaiting Payment", "open": "Processing", "dispatched": "Shipped", "cancelled": "Canceled"}
    pay = {"unpaid": "Pending", "open": "Captured", "dispatched": "Captured", "cancelled": "Refunded"}
    top = max(len(o["lines"]) for o in b.orders)
    header = ["Invoice #", "Order #", "Order Date", "Payment Date", "Payment Status", "Order Status", "Last Modified", "Customer", "Email", "Phone", "Address", "City", "ZIP", "Country"]
    for k in range(1, top + 1):
        header += ["Item %d Name" % k, "Item %d SKU" % k, "Item %d Options" % k, "Item %d Qty" % k, "Item %d Price" % k]
    header += ["Item Count", "Subtotal", "Shipping", "Tax", "Discount", "Order Total", "Gift Message"]
    rows = []
    for o in b.orders:
        r = [o["invoice"], "%d" % o["number"], c.src(o["placed"]), c.src(o["paid"]), pay[o["status"]], word[o["status"]], c.src(o["updated"]), o["name"], o["mail"], o["phone"], o["street"], o["town"], o["post"], o["country"]]
        for x in o["lines"]:
            text = ", ".join("%s: %s" % kv for kv in x["options"].items())
            if x["personal"]:
                text += (", " if text else "") + "%s: %s" % (b.personal[0], x["personal"])
            r += [x["title"], x["sku"], text, x["quantity"], dec(x["price"], "$")]
        r += [""] * (5 * (top - len(o["lines"])))
        r += [sum(x["quantity"] for x in o["lines"]), dec(o["goods"], "$"), dec(o["shipping"], "$"), "$0.00", "", dec(o["total"], "$"), o["note"]]
        rows.append(r)
    p.csv("storefront/orders-june-july.csv", header, rows, eol="\n")
    f, each = "orders-june-july.csv", lambda t: ["Item %d %s" % (k, t) for k in range(1, top + 1)]
    p.sf("orders", f, order_id="Order #", placed_at="Order Date", paid_at="Payment Date", status="Order Status", ship_to_country="Country", updated_at="Last Modified")
    p.sf("order_lines", f, order_id="Order #", sku=each("SKU"), title=each("Name"), options=each("Options"), quantity=each("Qty"), unit_price=each("Price"))
    p.words("storefront", "orders.status", {v: k for k, v in word.items()})
    state = {"received": "accepted", "held": "paused", "making": "printing", "dispatched": "completed", "cancelled": "voided", "rejected": "declined"}
    p.jsonl("supplier/jobs.jsonl", [
        {"job_id": s["id"], "external_ref": "SM%d" % s["order"]["number"], "state": state[s["status"]], "created": s_.src(s["received"]), "modified": s_.src(s["updated"]), "due": s_.src(s["received"]) + 5 * 86400,
         "recipient": {"name": s["order"]["name"], "country": s["order"]["country"]},
         "lines": [{"line_id": x["id"], "variant_id": x["variant"]["variant_id"], "sku": x["variant"]["sku"], "qty": x["quantity"], "cost_cents": x["variant"]["cost"], "total_cents": x["variant"]["cost"] * x["quantity"]} for x in s["items"]],
         "shipments": [{"shipment_id": q["id"], "shipped": s_.src(q["at"]), "carrier": q["carrier"], "tracking": q["tracking"], "lines": [{"line_id": x["id"], "qty": m} for x, m in q["items"]]} for q in s["parcels"]]}
        for s in b.submissions])
    p.jsonl("supplier/variants.jsonl", [
        {"variant_id": v["variant_id"], "sku": v["sku"], "product": v["product"], "artwork": v["design"], "size": v["size"], "color": v["colour"], "cost_cents": v["cost"], "currency": "USD", "in_stock": v["available"], "barcode": v["ean"]} for v in b.variants])
    p.sp("submissions", "jobs.jsonl", submission_id="job_id", order_ref="external_ref", status="state", received_at="created", updated_at="modified")
    p.sp("submission_lines", "jobs.jsonl", "lines[*].", submission_id="^job_id", line_id="line_id", variant_id="variant_id", sku="sku", quantity="qty", unit_cost="cost_cents")
    p.sp("parcels", "jobs.jsonl", "shipments[*].", parcel_id="shipment_id", submission_id="^job_id", dispatched_at="shipped", carrier="carrier", tracking_number="tracking")
    p.sp("parcel_lines", "jobs.jsonl", "shipments[*].lines[*].", parcel_id="^shipments[*].shipment_id", submission_line_id="line_id", quantity="qty")
    p.sp("variants", "variants.jsonl", variant_id="variant_id", sku="sku", product="product", options=("size", "color"), unit_cost="cost_cents", currency="currency", available="in_stock")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {state[k]: k for k in state if k in used})
    p.words("supplier_source", "variants.available", {"true": "true", "false": "false"})
    p.exchange(
        orders=[dict(order_id=o["number"], placed_at=c.ex(o["placed"]), paid_at=c.ex(o["paid"]), status=o["status"], ship_to_country=o["country"], updated_at=c.ex(o["updated"])) for o in b.orders],
        order_lines=[dict(order_id=o["number"], line_id=x["n"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=only({"size": v["size"], "color": v["colour"]}), unit_cost=dec(v["cost"]), currency="USD", available=v["available"]) for v in b.variants],
        submissions=[dict(submission_id=s["id"], order_ref=s["order"]["number"], status=s["status"], received_at=s_.ex(s["received"]), updated_at=s_.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["id"], variant_id=x["variant"]["variant_id"], sku=x["variant"]["sku"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=q["id"], submission_id=q["submission"]["id"], dispatched_at=s_.ex(q["at"]), carrier=q["carrier"], tracking_number=q["tracking"]) for q in b.parcels],
        parcel_lines=[dict(parcel_id=q["id"], submission_line_id=x["id"], quantity=m) for q in b.parcels for x, m in q["items"]])
    p.done({"order_lines": ["Style", "Size", "Color"]}, {"variants": ["size", "color"]},
           "One row per order with the lines in numbered columns, most of them empty; months first with AM and PM; 'Payment Status' beside 'Order Status'. One monogram reads 'Size: big', inside an options text.",
           "Epoch seconds and cents; 'due' is a time too, and is no promise of the storefront. external_ref is 'SM' and the order number without a dash.", prefix="SM")


# ---------------------------------------------------------------------------------------------- 06

def lyngmark():
    zone = "Europe/Oslo"
    b = Book(seed=9043, zone=zone, start="2025-10-06", days=38, orders=60, first=70288,
             goods={"SW": ("Sweatshirt", ["S", "M", "L", "XL"], ["Granit", "Lyng"], 64900, 28800), "PL": ("Plakat", ["30x40", "50x70"], None, 34900, 9900),
                    "NT": ("Nett", None, ["Natur"], 22900, 7600), "BB": ("Babybody", ["56", "62", "68", "74"], ["Hvit", "Lyng"], 29900, 11900)},
             listings=[("n31", "Skogsfugl", ["SW", "PL", "NT"]), ("n34", "Tyttebær", ["BB", "NT"]), ("n38", "Elv i mars", ["PL"]), ("n42", "Rev under gran", ["SW", "BB"]), ("n47", "Isbre", ["PL", "SW"])],
             names=("Product", "Size", "Colour"), sku=lambda l, g, s, c, n: "%s-%s-%s%s" % (l, g, s or "x", ("-" + c[0]) if c else ""),
             variant=lambda n: "FT%04d" % (1000 + n), personal=("Birth text", ["Født 4.10.", "Vesle Ola", "Liv & Ask"]),
             countries=["NO", "SE", "DK"], carriers=["Fjellpost"], per="batch", submission=lambda n: "B-%d" % n, promise=9)
    p, ms, c = Pair("06-lyngmark", zone, "elvetrykk-nord"), Clock("ms", zone), Clock("%Y-%m-%d %H:%M", zone)
    word = {"unpaid": "PLACED", "open": "PAID", "dispatched": "COMPLETE", "cancelled": "VOID"}
    orders = {}
    for o in b.orders:
        lines = {}
        for x in o["lines"]:
            choice = dict(x["options"])
            if x["personal"]:
                choice[b.personal[0]] = x["personal"]
            lines["r%d" % x["n"]] = {"row": x["n"], "listingId": x["offer"]["listing"], "name": x["title"], "sku": x["sku"], "choice": choice, "pieces": x["quantity"],
                                     "unitPrice": dec(x["price"]), "sum": dec(x["price"] * x["quantity"])}
        orders[str(o["number"])] = {"orderNumber": str(o["number"]), "state": word[o["status"]], "created": ms.src(o["placed"]), "paid": ms.src(o["paid"]), "changed": ms.src(o["updated"]),
                                    "promisedDispatch": ms.src(o["promised"]), "currency": "NOK", "customer": {"number": o["customer"], "name": o["name"], "mail": o["mail"]},
                                    "delivery": {"street": o["street"], "postCode": o["post"], "place": o["town"], "country": o["country"], "fee": dec(o["shipping"])},
                                    "lines": lines, "total": dec(o["total"]), "vat": dec(o["tax"])}
    p.json("storefront/orders.json", {"shop": "lyngmark", "exported": ms.src(b.end), "orders": orders})
    p.json("storefront/listings.json", {"shop": "lyngmark", "exported": ms.src(b.end), "listings": {l["listing"]: {
        "listingId": l["listing"], "name": l["title"], "currency": "NOK", "tags": ["forest", "print"],
        "variants": [{"sku": o["sku"], "choice": o["options"], "price": dec(o["price"]), "sellable": o["buyable"]} for o in l["offers"]]} for l in b.listings}})
    p.sf("orders", "orders.json", "orders[*].", order_id="orderNumber", placed_at="created", paid_at="paid", status="state", currency="currency", promised_by="promisedDispatch", ship_to_country="delivery.country", updated_at="changed")
    p.sf("order_lines", "orders.json", "orders[*].lines[*].", order_id="^orders[*].orderNumber", line_id="row", listing_id="listingId", sku="sku", title="name", options="choice", quantity="pieces", unit_price="unitPrice")
    p.sf("offers", "listings.json", "listings[*].variants[*].", listing_id="^listings[*].listingId", title="^listings[*].name", currency="^listings[*].currency", sku="sku", options="choice", price="price", buyable="sellable")
    p.words("storefront", "orders.status", {v: k for k, v in word.items()})
    p.words("storefront", "offers.buyable", {"true": "true", "false": "false"})
    st = {"received": "Queued", "making": "On press", "dispatched": "Collected"}
    p.csv("supplier/batches.csv", ["Batch", "Sent in", "Press", "Status", "Changed", "Lines", "Pieces", "Collected at", "Carrier", "Consignment"],
          [[s["id"], c.src(s["received"]), "A2", st[s["status"]], c.src(s["updated"]), len(s["items"]), sum(x["quantity"] for x in s["items"]), c.src(s["dispatched"]), s["carrier"], s["tracking"]] for s in b.submissions])
    p.csv("supplier/batch_lines.csv", ["Batch", "Line", "Shop order", "Variant", "Shop SKU", "Design", "Pieces", "Cost each", "Cost", "Line status", "Label text"],
          [[s["id"], x["n"], "LM%d" % x["order"]["number"], x["variant"]["variant_id"], x["variant"]["sku"], x["variant"]["design"], x["quantity"], dec(x["variant"]["cost"]), dec(x["variant"]["cost"] * x["quantity"]),
            "Withdrawn" if x["gone"] else "", "%s / %s" % (x["order"]["name"].split()[0], x["order"]["post"])] for s in b.submissions for x in s["items"]])
    p.csv("supplier/variants.csv", ["Variant", "Shop SKU", "Product", "Design", "Size", "Colour", "Cost each", "Currency"],
          [[v["variant_id"], v["sku"], v["product"], v["design"], v["size"], v["colour"], dec(v["cost"]), "NOK"] for v in b.variants])
    p.sp("submissions", "batches.csv", submission_id="Batch", status="Status", received_at="Sent in", updated_at="Changed")
    p.sp("submission_lines", "batch_lines.csv", submission_id="Batch", line_id="Line", order_ref="Shop order", variant_id="Variant", sku="Shop SKU", quantity="Pieces", status="Line status", unit_cost="Cost each")
    p.sp("parcels", "batches.csv", parcel_id="Consignment", submission_id="Batch", dispatched_at="Collected at", carrier="Carrier", tracking_number="Consignment")
    p.sp("variants", "variants.csv", variant_id="Variant", sku="Shop SKU", product="Product", options=("Size", "Colour"), unit_cost="Cost each", currency="Currency")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {st[k]: k for k in st if k in used})
    if any(x["gone"] for s in b.submissions for x in s["items"]):
        p.words("supplier_source", "submission_lines.status", {"Withdrawn": "cancelled"})
    p.exchange(
        orders=[dict(order_id=o["number"], placed_at=ms.ex(o["placed"]), paid_at=ms.ex(o["paid"]), status=o["status"], currency="NOK", promised_by=ms.ex(o["promised"]), ship_to_country=o["country"], updated_at=ms.ex(o["updated"])) for o in b.orders],
        order_lines=[dict(order_id=o["number"], line_id=x["n"], listing_id=x["offer"]["listing"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        offers=[dict(listing_id=o["listing"], sku=o["sku"], title=o["title"], options=o["options"], price=dec(o["price"]), currency="NOK", buyable=o["buyable"]) for o in b.offers],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=only({"Size": v["size"], "Colour": v["colour"]}), unit_cost=dec(v["cost"]), currency="NOK") for v in b.variants],
        submissions=[dict(submission_id=s["id"], status=s["status"], received_at=c.ex(s["received"]), updated_at=c.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["n"], order_ref=x["order"]["number"], variant_id=x["variant"]["variant_id"], sku=x["variant"]["sku"], quantity=x["quantity"],
                               status="cancelled" if x["gone"] else None, unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=s["tracking"], submission_id=s["id"], dispatched_at=c.ex(s["dispatched"]), carrier=s["carrier"], tracking_number=s["tracking"]) for s in b.submissions if s["dispatched"]])
    o = ["Product", "Size", "Colour"]
    p.done({"order_lines": o, "offers": o}, {"variants": ["Size", "Colour"]},
           "Records stand in objects keyed by their id (orders, lines, listings); the id is inside too, the line's as 'row'. Times are epoch milliseconds. A birth text stands among the choices.",
           "A batch of many orders: only its lines name the shop's orders ('LM' before them), and a line's own status is filled only where it was withdrawn. 'Lines' in batches.csv is a count.", prefix="LM")


# ---------------------------------------------------------------------------------------------- 07

def tinderbrook():
    zone = "Australia/Sydney"
    b = Book(seed=1373, zone=zone, start="2026-03-16", days=34, orders=57, first=3288,
             goods={"TS": ("Tee", ["S", "M", "L", "XL", "2XL"], ["Moss", "Ember", "Ash"], 4200, 1750), "CU": ("Cushion cover", None, ["Ash", "Ember"], 3600, 1390), "BE": ("Beanie", ["Kids", "Adult"], ["Moss", "Ash"], 3300, 1270)},
             listings=[("t7", "Firewheel", ["TS"]), ("t8", "Night Parrot", ["TS"]), ("t9", "Bottlebrush Cushion", ["CU"]), ("t10", "Currawong Beanie", ["BE"]), ("t11", "Long Paddock", ["TS"])],
             names=("Type", "Size", "Colour"), sku=lambda l, g, s, c, n: "%s_%s_%s%s" % (g, l[1:], c.upper(), ("_" + s.upper()) if s else ""),
             variant=lambda n: "WG-%04d-%s" % (n * 7 % 9973, "abcdef"[n % 6]), personal=("", [""]), countries=["AU", "NZ"], carriers=["Galahfreight", "Roo Run"],
             submission=lambda n: 900000 + n, part_parcels=False)
    p, f, c = Pair("07-tinderbrook", zone, "wattlegate-works"), Clock("offset", zone), Clock("cell", zone)
    rows = []
    variation = lambda x: " / ".join(v for v in (x["options"].get("Colour"), x["options"].get("Size")) if v)
    for o in b.orders:
        rows.append({"id": "ord_%d" % o["serial"], "number": "T%d" % o["number"], "placed": f.src(o["placed"]), "is_paid": o["paid"] is not None, "paid_time": f.src(o["paid"]), "shipped_time": f.src(o["shipped"]),
                     "cancelled_time": f.src(o["cancelled"]), "currency": "AUD", "contact": {"id": o["customer"], "name": o["name"], "email": o["mail"], "phone": o["phone"]},
                     "ship_to": {"street": o["street"], "suburb": o["town"], "postcode": o["post"], "country": o["country"]},
                     "lines": [{"id": x["id"], "listing": x["offer"]["listing"], "title": x["title"], "variation": variation(x), "sku": x["sku"], "quantity": x["quantity"], "price": x["price"] / 100, "total": x["price"] * x["quantity"] / 100} for x in o["lines"]],
                     "shipping": o["shipping"] / 100, "gst": o["tax"] / 100, "total": o["total"] / 100, "note": o["note"]})
    p.jsonl("storefront/orders.jsonl", rows)
    p.sf("orders", "orders.jsonl", order_id="number", placed_at="placed", paid_at="paid_time", status=["is_paid", "shipped_time", "cancelled_time"], currency="currency", ship_to_country="ship_to.country")
    p.sf("order_lines", "orders.jsonl", "lines[*].", order_id="^number", line_id="id", listing_id="listing", sku="sku", title="title", options="variation", quantity="quantity", unit_price="price")
    p.words("storefront", "orders.status", {"true": "open", "false": "unpaid"})
    st = {"received": "In tray", "held": "Query", "making": "On the bench", "dispatched": "Gone", "cancelled": "Pulled", "rejected": "Knocked back"}
    top = max(len(s["items"]) for s in b.submissions)
    header = ["Job", "Customer PO", "Received", "Stage", "Stage Since"]
    for k in range(1, top + 1):
        header += ["Variant %d" % k, "SKU %d" % k, "Units %d" % k, "Cost Ea %d" % k]
    header += ["Job Cost", "Despatched", "Freight Co", "Con Note", "Press Notes"]
    rows = []
    for s in b.submissions:
        r = [s["id"], "T%d-TBX" % s["order"]["number"], c.src(s["received"]), st[s["status"]], c.src(s["updated"])]
        for x in s["items"]:
            r += [x["variant"]["variant_id"], x["variant"]["sku"], x["quantity"], x["variant"]["cost"] / 100]
        r += [None] * (4 * (top - len(s["items"])))
        rows.append(r + [sum(x["variant"]["cost"] * x["quantity"] for x in s["items"]) / 100, c.src(s["dispatched"]), s["carrier"], s["tracking"], None])
    p.xlsx("supplier/jobs.xlsx", "Jobs", header, rows)
    p.xlsx("supplier/range.xlsx", "Range", ["Variant", "SKU", "Garment", "Design", "Size", "Colour", "Cost Ea", "Barcode"],
           [[v["variant_id"], v["sku"], v["product"], v["design"], v["size"], v["colour"], v["cost"] / 100, v["ean"]] for v in b.variants], above=[["Wattlegate Works: range sheet for Tinderbrook Lane"], []])
    each = lambda t: ["%s %d" % (t, k) for k in range(1, top + 1)]
    p.sp("submissions", "jobs.xlsx", submission_id="Job", order_ref="Customer PO", status="Stage", received_at="Received", updated_at="Stage Since")
    p.sp("submission_lines", "jobs.xlsx", submission_id="Job", variant_id=each("Variant"), sku=each("SKU"), quantity=each("Units"), unit_cost=each("Cost Ea"))
    p.sp("parcels", "jobs.xlsx", parcel_id="Con Note", submission_id="Job", dispatched_at="Despatched", carrier="Freight Co", tracking_number="Con Note")
    p.sp("variants", "range.xlsx", variant_id="Variant", sku="SKU", product="Garment", options=("Size", "Colour"), unit_cost="Cost Ea")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {st[k]: k for k in st if k in used})
    p.exchange(
        orders=[dict(order_id="T%d" % o["number"], placed_at=f.ex(o["placed"]), paid_at=f.ex(o["paid"]), status=o["status"], currency="AUD", ship_to_country=o["country"]) for o in b.orders],
        order_lines=[dict(order_id="T%d" % o["number"], line_id=x["id"], listing_id=x["offer"]["listing"], sku=x["sku"], title=x["title"], options=only({"variation": variation(x)}), quantity=x["quantity"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=only({"Size": v["size"], "Colour": v["colour"]}), unit_cost=dec(v["cost"])) for v in b.variants],
        submissions=[dict(submission_id=s["id"], order_ref="T%d" % s["order"]["number"], status=s["status"], received_at=c.ex(s["received"]), updated_at=c.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["n"], variant_id=x["variant"]["variant_id"], sku=x["variant"]["sku"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=s["tracking"], submission_id=s["id"], dispatched_at=c.ex(s["dispatched"]), carrier=s["carrier"], tracking_number=s["tracking"]) for s in b.submissions if s["dispatched"]])
    p.done({"order_lines": ["variation"]}, {"variants": ["Size", "Colour"]},
           "No status word at all: is_paid, shipped_time and cancelled_time together say it (cancelled first, then not paid, then shipped, else open). Options are one text without names ('Moss / L'); "
           "the exchange keeps it as one option named after its key, since nobody could tell the names from the sample. 'id' of the order is not what the supplier is told.",
           "One row per supplier order, lines in numbered columns with the number behind ('Variant 1'), in xlsx; the catalogue has a title above. 'Stage Since' is the last change. '-TBX' follows the order number.", suffix="-TBX")


# ---------------------------------------------------------------------------------------------- 08

def mirabellenweg():
    zone = "Europe/Vienna"
    b = Book(seed=2459, zone=zone, start="2026-08-17", days=35, orders=61, first=1090,
             goods={"KI": ("Kissenhülle", ["40x40", "50x50"], ["Senf", "Salbei"], 2690, 1040), "GS": ("Geschirrtuch", None, ["Senf", "Leinen"], 1490, 480), "LA": ("Lätzchen", None, ["Salbei", "Leinen", "Rost"], 1390, 450), "TS": ("T-Shirt", ["S", "M", "L", "XL"], ["Salbei", "Rost"], 3290, 1420)},
             listings=[(7104, "Mirabellen", ["KI", "GS"]), (7109, "Murmeltier", ["LA", "TS"]), (7115, "Almabtrieb", ["TS"]), (7121, "Holunder", ["GS", "KI", "LA"]), (7126, "Steinbock", ["TS"])],
             names=("Ausführung", "Größe", "Farbe"), sku=lambda l, g, s, c, n: "%s%d%s%s" % (g, l % 1000, (s or "").replace("x", ""), c[:2].lower()),
             variant=lambda n: "%d-%02d" % (5000 + n, n * 3 % 97), personal=("Stickname", ["Leni", "Opa Sepp", "Größe: riesig", "Anna + Flo"]),
             countries=["AT", "DE", "CH"], carriers=["Gamsbote", "Donaufalk"], submission=lambda n: "%d" % (26000000 + n), parcel=lambda n: "PK%d" % n, promise=5)
    p, f, c = Pair("08-mirabellenweg", zone, "stoffdruck-enzian"), Clock("offset", zone), Clock("%d.%m.%y %H:%M", zone)
    stand = {"unpaid": "wartet auf Zahlung", "open": "wird gefertigt", "dispatched": "unterwegs", "cancelled": "entfällt"}
    pay = {"unpaid": "ausstehend", "open": "bezahlt", "dispatched": "bezahlt", "cancelled": "zurückgezahlt"}
    no = lambda o: "M-%d" % o["number"]
    p.json("storefront/bestellungen.json", {"anzahl": len(b.orders), "bestellungen": [
        {"id": o["serial"], "bestellnummer": no(o), "status": pay[o["status"]], "angelegt": f.src(o["placed"]), "bezahlt": f.src(o["paid"]), "geaendert": f.src(o["updated"]),
         "kunde": {"id": o["customer"], "name": o["name"], "email": o["mail"], "adresse": {"strasse": o["street"], "plz": o["post"], "ort": o["town"], "land": o["country"]}},
         "versand": {"art": "Paket", "stand": stand[o["status"]], "spaetestens": f.day(o["promised"]), "kosten": o["shipping"] / 100}, "waehrung": "EUR", "summe": o["total"] / 100, "anmerkung": o["note"] or None} for o in b.orders]})
    p.json("storefront/positionen.json", {"positionen": [
        {"id": x["id"], "bestellung": no(o), "artikel": {"id": x["offer"]["listing"], "name": x["title"]}, "artnr": x["sku"],
         "merkmale": [{"name": k, "wert": v} for k, v in x["options"].items()] + ([{"name": b.personal[0], "wert": x["personal"]}] if x["personal"] else []),
         "menge": x["quantity"], "preis": x["price"] / 100, "summe": x["price"] * x["quantity"] / 100} for o in b.orders for x in o["lines"]]})
    p.json("storefront/artikel.json", {"artikel": [
        {"id": l["listing"], "name": l["title"], "sichtbar": True, "ausfuehrungen": [
            {"artnr": o["sku"], "merkmale": [{"name": k, "wert": v} for k, v in o["options"].items()], "preis": o["price"] / 100, "bestellbar": o["buyable"]} for o in l["offers"]]} for l in b.listings]})
    p.sf("orders", "bestellungen.json", "bestellungen[*].", order_id="bestellnummer", placed_at="angelegt", paid_at="bezahlt", status="versand.stand", currency="waehrung", promised_by="versand.spaetestens", ship_to_country="kunde.adresse.land", updated_at="geaendert")
    p.sf("order_lines", "positionen.json", "positionen[*].", order_id="bestellung", line_id="id", listing_id="artikel.id", sku="artnr", title="artikel.name", options="merkmale", quantity="menge", unit_price="preis")
    p.sf("offers", "artikel.json", "artikel[*].ausfuehrungen[*].", listing_id="^artikel[*].id", title="^artikel[*].name", sku="artnr", options="merkmale", price="preis", buyable="bestellbar")
    p.words("storefront", "orders.status", {v: k for k, v in stand.items()})
    p.words("storefront", "offers.buyable", {"true": "true", "false": "false"})
    st = {"received": "EIN", "held": "HLT", "making": "FRT", "dispatched": "VSD", "cancelled": "STO", "rejected": "ABL"}
    p.csv("supplier/auftr.tsv", ["AuftrNr", "KdRef", "EingDat", "AendDat", "Sts", "Pos", "VarNr", "KdArtNr", "Bez", "Mg", "EKP", "EKSum", "Masch"],
          [[s["id"], no(s["order"]), c.src(s["received"]), c.src(s["updated"]), st[s["status"]], x["n"], x["variant"]["variant_id"], x["variant"]["sku"], x["variant"]["product"], x["quantity"], comma(x["variant"]["cost"]),
            comma(x["variant"]["cost"] * x["quantity"]), "M%d" % (x["n"] % 3 + 1)] for s in b.submissions for x in s["items"]], "\t", eol="\n")
    p.csv("supplier/pakete.tsv", ["PakNr", "AuftrNr", "AbgDat", "Dienst", "SdgNr", "Gew"],
          [[q["id"], q["submission"]["id"], c.src(q["at"]), q["carrier"], q["tracking"], 180 * sum(m for _, m in q["items"])] for q in b.parcels], "\t", eol="\n")
    p.csv("supplier/pakinhalt.tsv", ["PakNr", "Pos", "Mg"], [[q["id"], x["n"], m] for q in b.parcels for x, m in q["items"]], "\t", eol="\n")
    p.csv("supplier/var.tsv", ["VarNr", "KdArtNr", "Prod", "Motiv", "Gr", "Fb", "EKP", "Whg", "Lfb"],
          [[v["variant_id"], v["sku"], v["product"], v["design"], v["size"], v["colour"], comma(v["cost"]), "EUR", "J" if v["available"] else "N"] for v in b.variants], "\t", eol="\n")
    p.sp("submissions", "auftr.tsv", submission_id="AuftrNr", order_ref="KdRef", status="Sts", received_at="EingDat", updated_at="AendDat")
    p.sp("submission_lines", "auftr.tsv", submission_id="AuftrNr", line_id="Pos", variant_id="VarNr", sku="KdArtNr", quantity="Mg", unit_cost="EKP")
    p.sp("parcels", "pakete.tsv", parcel_id="PakNr", submission_id="AuftrNr", dispatched_at="AbgDat", carrier="Dienst", tracking_number="SdgNr")
    p.sp("parcel_lines", "pakinhalt.tsv", parcel_id="PakNr", submission_line_id="Pos", quantity="Mg")
    p.sp("variants", "var.tsv", variant_id="VarNr", sku="KdArtNr", product="Prod", options=("Gr", "Fb"), unit_cost="EKP", currency="Whg", available="Lfb")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {st[k]: k for k in st if k in used})
    p.words("supplier_source", "variants.available", {"J": "true", "N": "false"})
    p.exchange(
        orders=[dict(order_id=no(o), placed_at=f.ex(o["placed"]), paid_at=f.ex(o["paid"]), status=o["status"], currency="EUR", promised_by=f.day(o["promised"]), ship_to_country=o["country"], updated_at=f.ex(o["updated"])) for o in b.orders],
        order_lines=[dict(order_id=no(o), line_id=x["id"], listing_id=x["offer"]["listing"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        offers=[dict(listing_id=o["listing"], sku=o["sku"], title=o["title"], options=o["options"], price=dec(o["price"]), buyable=o["buyable"]) for o in b.offers],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=only({"Gr": v["size"], "Fb": v["colour"]}), unit_cost=dec(v["cost"]), currency="EUR", available=v["available"]) for v in b.variants],
        submissions=[dict(submission_id=s["id"], order_ref=no(s["order"]), status=s["status"], received_at=c.ex(s["received"]), updated_at=c.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["n"], variant_id=x["variant"]["variant_id"], sku=x["variant"]["sku"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=q["id"], submission_id=q["submission"]["id"], dispatched_at=c.ex(q["at"]), carrier=q["carrier"], tracking_number=q["tracking"]) for q in b.parcels],
        parcel_lines=[dict(parcel_id=q["id"], submission_line_id=x["n"], quantity=m) for q in b.parcels for x, m in q["items"]])
    o = ["Ausführung", "Größe", "Farbe"]
    p.done({"order_lines": o, "offers": o}, {"variants": ["Gr", "Fb"]},
           "Orders and lines in two files joined by the order number, not by 'id', which stands at three levels. 'status' is the payment's; versand.stand is the order's. The dispatch-by date is a day alone. An embroidered name stands among the features.",
           "Abbreviated headers, years of two digits, decimal commas, three-letter states. 'Pos' counts within the supplier order, so the parcels' contents need the parcel to know which.", prefix="")


# ---------------------------------------------------------------------------------------------- 09

def harbour():
    zone = "Europe/Dublin"
    b = Book(seed=3571, zone=zone, start="2026-01-12", days=31, orders=59, first=3294,
             goods={"SW": ("Sweater", ["XS", "S", "M", "L", "XL"], ["Slate", "Foam"], 5900, 2650), "SC": ("Scarf", None, ["Slate", "Rust", "Foam"], 3400, 1310), "BG": ("Shopper", None, None, 1900, 680)},
             listings=[("H1", "Lighthouse Keeper", ["SW"]), ("H2", "Slip Knot", ["SC"]), ("H3", "Puffin Parade", ["SW"]), ("H4", "Harbour Shopper", ["BG"]), ("H5", "Gannet Dive", ["SC"]), ("H6", "Rope & Anchor", ["SW"])],
             names=("Kind", "Size", "Colour"), sku=lambda l, g, s, c, n: "%s-%s%s%s" % (l, g, ("-" + s) if s else "", ("-" + c[:2].upper()) if c else ""),
             variant=lambda n: "%08x" % (n * 2654435761 % 2 ** 32), personal=("Gift Tag Text", ["Sláinte!", "To Da", "Happy 40th, Niamh"]),
             countries=["IE", "GB", "US"], carriers=["Curlew Couriers", "An Bosca"], submission=lambda n: "GAW%d" % n, parcel=lambda n: "C%d" % n)
    p, c, ms = Pair("09-harbour-hem", zone, "gannetry-works"), Clock("cell", zone), Clock("ms", zone)
    word = {"unpaid": "Not Paid", "open": "To Be Sent", "dispatched": "Sent", "cancelled": "Called Off"}
    rows = []
    for o in b.orders:
        for x in o["lines"]:
            rows.append([o["number"], x["n"], c.src(o["placed"]), c.src(o["paid"]), word[o["status"]], o["name"], o["mail"], o["street"], o["town"], o["country"], x["offer"]["listing"], x["title"], x["sku"] or None,
                         x["options"].get("Size"), x["options"].get("Colour"), x["personal"], x["quantity"], x["price"] / 100, x["price"] * x["quantity"] / 100, "EUR", o["shipping"] / 100, o["total"] / 100, c.src(o["shipped"]), None])
    p.ods("storefront/Order Lines.ods", "January", ["Order No.", "Line", "Ordered On", "Paid On", "State", "Customer Name", "Customer Email", "Street", "Town", "Ship To", "Listing", "Item Title", "Item Code", "Size", "Colour", "Gift Tag Text",
                                                    "Quantity", "Unit Price", "Line Total", "Currency", "Postage", "Order Total", "Sent On", "Return Reason"], rows,
          above=[["Harbour & Hem order lines", None, None], ["Kept by", "N. Nettleby"], []])
    f = "Order Lines.ods"
    p.sf("orders", f, order_id="Order No.", placed_at="Ordered On", paid_at="Paid On", status="State", currency="Currency", ship_to_country="Ship To")
    p.sf("order_lines", f, order_id="Order No.", line_id="Line", listing_id="Listing", sku="Item Code", title="Item Title", options=("Size", "Colour"), quantity="Quantity", unit_price="Unit Price")
    p.words("storefront", "orders.status", {v: k for k, v in word.items()})
    st = {"received": "new", "held": "blocked", "making": "producing", "dispatched": "posted", "cancelled": "withdrawn", "rejected": "refused"}
    p.json("supplier/worksheet.json", {"account": {"id": 771, "name": "Harbour & Hem"}, "worksheet": {"from": ms.src(b.start), "to": ms.src(b.end), "entries": [
        {"entry": {"no": s["id"], "state": st[s["status"]], "customerReference": "HH/%d/web" % s["order"]["number"], "invoice": "V%05d" % (k * 7 + 1200)}, "times": {"in": ms.src(s["received"]), "touched": ms.src(s["updated"])},
         "goods": [{"code": "HH." + x["variant"]["sku"], "text": x["variant"]["product"], "count": x["quantity"], "each": x["variant"]["cost"] / 100, "sum": x["variant"]["cost"] * x["quantity"] / 100} for x in s["items"]],
         "cartons": [{"carton": q["id"], "out": ms.src(q["at"]), "courier": q["carrier"], "label": q["tracking"]} for q in s["parcels"]]} for k, s in enumerate(b.submissions)]}})
    p.json("supplier/range.json", {"account": {"id": 771, "name": "Harbour & Hem"}, "range": [
        {"uid": v["variant_id"], "code": "HH." + v["sku"], "garment": v["product"], "artwork": v["design"], "attributes": [{"k": a, "v": w} for a, w in (("size", v["size"]), ("shade", v["colour"])) if w],
         "each": v["cost"] / 100, "currency": "EUR"} for v in b.variants]})
    e = "worksheet.entries[*]."
    p.sp("submissions", "worksheet.json", e, submission_id="entry.no", order_ref="entry.customerReference", status="entry.state", received_at="times.in", updated_at="times.touched")
    p.sp("submission_lines", "worksheet.json", e + "goods[*].", submission_id="^" + e + "entry.no", sku="code", quantity="count", unit_cost="each")
    p.sp("parcels", "worksheet.json", e + "cartons[*].", parcel_id="carton", submission_id="^" + e + "entry.no", dispatched_at="out", carrier="courier", tracking_number="label")
    p.sp("variants", "range.json", "range[*].", variant_id="uid", sku="code", product="garment", options="attributes", unit_cost="each", currency="currency")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {st[k]: k for k in st if k in used})
    p.exchange(
        orders=[dict(order_id=o["number"], placed_at=c.ex(o["placed"]), paid_at=c.ex(o["paid"]), status=o["status"], currency="EUR", ship_to_country=o["country"]) for o in b.orders],
        order_lines=[dict(order_id=o["number"], line_id=x["n"], listing_id=x["offer"]["listing"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=only({"size": v["size"], "shade": v["colour"]}), unit_cost=dec(v["cost"]), currency="EUR") for v in b.variants],
        submissions=[dict(submission_id=s["id"], order_ref=s["order"]["number"], status=s["status"], received_at=ms.ex(s["received"]), updated_at=ms.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["n"], sku=x["variant"]["sku"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=q["id"], submission_id=q["submission"]["id"], dispatched_at=ms.ex(q["at"]), carrier=q["carrier"], tracking_number=q["tracking"]) for q in b.parcels])
    p.done({"order_lines": ["Size", "Colour"]}, {"variants": ["size", "shade"]},
           "An ods sheet with two lines above its header, one row per line. 'Sent On' is known too, but 'State' says it. 'Listing' is the listing's id, 'Item Title' its title; some goods have neither size nor colour.",
           "The supplier puts 'HH.' before every SKU, in its lines and in its catalogue; its lines name no variant id and have no id of their own. The reference has a part before and a part behind ('HH/3301/web').",
           prefix="HH/", suffix="/web", sku_prefix="HH.")


# ---------------------------------------------------------------------------------------------- 10

def sierra_menta():
    zone = "Europe/Madrid"
    b = Book(seed=4691, zone=zone, start="2026-04-06", days=42, orders=72, first=880,
             goods={"CA": ("Camiseta", ["S", "M", "L", "XL", "XXL"], ["Menta", "Arena"], 2490, 1020), "BO": ("Bolsa de tela", None, ["Crudo", "Menta"], 1450, 490), "CO": ("Cojín", ["40 cm", "50 cm"], ["Arena"], 2790, 1090), "BA": ("Babero", None, ["Menta", "Crudo"], 1190, 380)},
             listings=[("S-501", "Cabra montés", ["CA"]), ("S-507", "Romero", ["BO"]), ("S-512", "Siesta", ["CO"]), ("S-518", "Golondrinas", ["CA"]), ("S-523", "Primer diente", ["BA"]), ("S-529", "Almendro", ["CA"])],
             names=("Tipo", "Talla", "Color"), sku=lambda l, g, s, c, n: "%s%s%s%s" % (g, l[2:], c[0], (s or "").replace(" cm", "")),
             variant=lambda n: "va-%d" % (9100 + n), personal=("Texto bordado", ["Para Nuria", "Ñoño", "Te quiero, tía"]),
             countries=["ES", "PT", "FR"], carriers=["Mensajería Tejo", "Paquetín"], submission=lambda n: "OT-%d" % n, parcel=lambda n: "BU%d" % n)
    p, c, i = Pair("10-sierra-menta", zone, "estampados-abeto"), Clock("%d-%m-%Y %H:%M", zone), Clock("%Y-%m-%dT%H:%M:%S", zone)
    pay = {"unpaid": "Pendiente", "open": "Cobrado", "dispatched": "Cobrado", "cancelled": "Devuelto"}
    send = {"unpaid": "", "open": "Preparando", "dispatched": "Enviado", "cancelled": ""}
    p.csv("storefront/pedidos.csv", ["ID", "Nº pedido", "Fecha", "Fecha cobro", "Fecha factura", "Cobro", "Envío", "Cliente", "Email", "Calle", "Localidad", "País destino", "Importe artículos", "Gastos de envío", "Total", "Observaciones"],
          [[o["serial"], o["number"], c.src(o["placed"]), c.src(o["paid"]), c.src(o["paid"]) and c.src(o["paid"])[:10], pay[o["status"]], send[o["status"]], o["name"], o["mail"], o["street"], o["town"], o["country"],
            comma(o["goods"], " €"), comma(o["shipping"], " €"), comma(o["total"], " €"), o["note"]] for o in b.orders], ";", "utf-8-sig")
    p.csv("storefront/articulos_vendidos.csv", ["Nº pedido", "Anuncio", "Artículo", "Ref.", "Talla", "Color", "Texto bordado", "Uds.", "PVP", "Total"],
          [[o["number"], x["offer"]["listing"], x["title"], x["sku"], x["options"].get("Talla"), x["options"].get("Color"), x["personal"], x["quantity"], comma(x["price"], " €"), comma(x["price"] * x["quantity"], " €")]
           for o in b.orders for x in o["lines"]], ";", "utf-8-sig")
    p.sf("orders", "pedidos.csv", order_id="Nº pedido", placed_at="Fecha", paid_at="Fecha cobro", status=["Cobro", "Envío"], ship_to_country="País destino")
    p.sf("order_lines", "articulos_vendidos.csv", order_id="Nº pedido", listing_id="Anuncio", sku="Ref.", title="Artículo", options=("Talla", "Color"), quantity="Uds.", unit_price="PVP")
    p.words("storefront", "orders.status", {"Pendiente": "unpaid", "Cobrado": "open", "Devuelto": "cancelled", "Preparando": "open", "Enviado": "dispatched"})
    st = {"received": "Recibida", "held": "Bloqueada", "making": "En máquina", "dispatched": "Servida", "cancelled": "Cancelada", "rejected": "Rechazada"}
    p.csv("supplier/ordenes.csv", ["Orden", "Su pedido", "Recibida", "Situación", "Modificada", "Líneas", "Coste total", "Taller"],
          [[s["id"], "SM.%d" % s["order"]["number"], i.src(s["received"]), st[s["status"]], i.src(s["updated"]), len(s["items"]), dec(sum(x["variant"]["cost"] * x["quantity"] for x in s["items"])), "Norte"] for s in b.submissions], ",", quote=csv.QUOTE_NONNUMERIC)
    p.csv("supplier/lineas.csv", ["Línea", "Orden", "Variante", "Su ref.", "Cantidad", "Coste ud.", "Coste línea"],
          [[x["id"], s["id"], x["variant"]["variant_id"], x["variant"]["sku"], x["quantity"], dec(x["variant"]["cost"]), dec(x["variant"]["cost"] * x["quantity"])] for s in b.submissions for x in s["items"]], ",", quote=csv.QUOTE_NONNUMERIC)
    p.csv("supplier/bultos.csv", ["Bulto", "Orden", "Línea", "Cantidad", "Salida", "Transportista", "Seguimiento"],
          [[q["id"], q["submission"]["id"], x["id"], m, i.src(q["at"]), q["carrier"], q["tracking"]] for q in b.parcels for x, m in q["items"]], ",", quote=csv.QUOTE_NONNUMERIC)
    p.csv("supplier/catalogo.csv", ["Variante", "Su ref.", "Producto", "Estampa", "Talla", "Color", "Coste ud.", "Divisa"],
          [[v["variant_id"], v["sku"], v["product"], v["design"], v["size"], v["colour"], dec(v["cost"]), "EUR"] for v in b.variants], ",", quote=csv.QUOTE_NONNUMERIC)
    p.sp("submissions", "ordenes.csv", submission_id="Orden", order_ref="Su pedido", status="Situación", received_at="Recibida", updated_at="Modificada")
    p.sp("submission_lines", "lineas.csv", submission_id="Orden", line_id="Línea", variant_id="Variante", sku="Su ref.", quantity="Cantidad", unit_cost="Coste ud.")
    p.sp("parcels", "bultos.csv", parcel_id="Bulto", submission_id="Orden", dispatched_at="Salida", carrier="Transportista", tracking_number="Seguimiento")
    p.sp("parcel_lines", "bultos.csv", parcel_id="Bulto", submission_line_id="Línea", quantity="Cantidad")
    p.sp("variants", "catalogo.csv", variant_id="Variante", sku="Su ref.", product="Producto", options=("Talla", "Color"), unit_cost="Coste ud.", currency="Divisa")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {st[k]: k for k in st if k in used})
    p.exchange(
        orders=[dict(order_id=o["number"], placed_at=c.ex(o["placed"]), paid_at=c.ex(o["paid"]), status=o["status"], ship_to_country=o["country"]) for o in b.orders],
        order_lines=[dict(order_id=o["number"], line_id=x["n"], listing_id=x["offer"]["listing"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=only({"Talla": v["size"], "Color": v["colour"]}), unit_cost=dec(v["cost"]), currency="EUR") for v in b.variants],
        submissions=[dict(submission_id=s["id"], order_ref=s["order"]["number"], status=s["status"], received_at=i.ex(s["received"]), updated_at=i.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["id"], variant_id=x["variant"]["variant_id"], sku=x["variant"]["sku"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=q["id"], submission_id=q["submission"]["id"], dispatched_at=i.ex(q["at"]), carrier=q["carrier"], tracking_number=q["tracking"]) for q in b.parcels],
        parcel_lines=[dict(parcel_id=q["id"], submission_line_id=x["id"], quantity=m) for q in b.parcels for x, m in q["items"]])
    p.done({"order_lines": ["Talla", "Color"]}, {"variants": ["Talla", "Color"]},
           "Two files joined by 'Nº pedido', not by 'ID'; three columns begin with 'Fecha'; the status is 'Cobro' and 'Envío' together, the second empty for what is not paid or paid back. Lines have no id: they are counted.",
           "Four files. 'bultos.csv' has a row per parcel and line, the parcel's columns repeated. Local times in an ISO form without an offset. 'SM.' stands before the order number.", prefix="SM.")


# ---------------------------------------------------------------------------------------------- 11

def quillfeather():
    zone = "America/Chicago"
    b = Book(seed=5813, zone=zone, start="2026-07-06", days=29, orders=58, first=5502,
             goods={"SH": ("Short sleeve", ["XS", "S", "M", "L", "XL", "2XL"], ["Sage", "Plum"], 2800, 1210), "LS": ("Long sleeve", ["S", "M", "L", "XL"], ["Sage", "Bone"], 3400, 1530), "OR": ("Ornament", None, None, 1500, 410), "BL": ("Throw blanket", ["Crib", "Full"], None, 6200, 2890)},
             listings=[(91, "Barn Owl Script", ["SH", "LS"]), (95, "Ink & Thistle", ["SH"]), (102, "First Snow", ["OR", "BL"]), (108, "Goldfinch Letter", ["LS", "OR"]), (113, "Prairie Hand", ["SH", "BL"])],
             names=("style", "size", "color"), sku=lambda l, g, s, c, n: "QF%d%s%s%s" % (l, g, (c or "")[:1], (s or "")[:3].upper()),
             variant=lambda n: 60000 + n * 11, personal=("inscription", ["Est. 2019", "Love, Gram", "Miss Odette"]), countries=["US", "CA", "MX"], carriers=["Prairie Post", "Wagonline"],
             per="line", submission=lambda n: "W%d" % n, parcel=lambda n: "K%d" % n, sometimes=0.10)
    p, c, z = Pair("11-quillfeather", zone, "bramble-mill"), Clock("%m/%d/%Y %H:%M", zone), Clock("z", zone)
    pay = {"unpaid": "pending", "open": "complete", "dispatched": "complete", "cancelled": "refunded"}
    step = {"unpaid": "waiting_for_money", "open": "in_progress", "dispatched": "on_its_way", "cancelled": "called_off"}
    out = []
    for o in b.orders:
        out.append({"kind": "purchase", "id": "evt-%d" % (o["serial"] + 11), "body": {"purchase": {
            "id": o["serial"], "number": "Q%d" % o["number"], "ref": "" if o["i"] % 4 else "PO %s" % o["name"].split()[1][:3].upper(), "date": c.src(o["placed"]), "status": pay[o["status"]],
            "payment": {"method": o["method"], "date": c.src(o["paid"]), "amount": dec(o["total"])}, "progress": {"step": step[o["status"]], "date": c.src(o["updated"])},
            "person": {"id": o["customer"], "full_name": o["name"], "email": o["mail"], "address": {"street": o["street"], "city": o["town"], "zip": o["post"], "country_code": o["country"]}},
            "basket": {"currency": "USD", "content": [
                {"entry": {"id": x["id"], "article": {"id": x["offer"]["listing"], "label": x["title"], "sku": x["sku"]},
                           "selected": dict(x["options"], **({b.personal[0]: x["personal"]} if x["personal"] else {})), "amount": x["quantity"],
                           "price": {"unit": dec(x["price"]), "total": dec(x["price"] * x["quantity"])}}} for x in o["lines"]],
                "postage": dec(o["shipping"]), "total": dec(o["total"])}}}})
    p.json("storefront/purchases.json", out)
    p.json("storefront/articles.json", [{"id": l["listing"], "label": l["title"], "currency": "USD", "combinations": [
        {"sku": o["sku"], "selected": o["options"], "price": dec(o["price"]), "state": "live" if o["buyable"] else "paused"} for o in l["offers"]]} for l in b.listings])
    e = "[*].body.purchase."
    p.sf("orders", "purchases.json", e, order_id="number", placed_at="date", paid_at="payment.date", status="progress.step", currency="basket.currency", ship_to_country="person.address.country_code", updated_at="progress.date")
    p.sf("order_lines", "purchases.json", e + "basket.content[*].entry.", order_id="^" + e + "number", line_id="id", listing_id="article.id", sku="article.sku", title="article.label", options="selected", quantity="amount", unit_price="price.unit")
    p.sf("offers", "articles.json", "[*].combinations[*].", listing_id="^[*].id", title="^[*].label", currency="^[*].currency", sku="sku", options="selected", price="price", buyable="state")
    p.words("storefront", "orders.status", {v: k for k, v in step.items()})
    p.words("storefront", "offers.buyable", {"live": "true", "paused": "false"})
    st = {"received": "logged", "held": "waiting on you", "making": "running", "dispatched": "sent out", "cancelled": "scratched", "rejected": "can't do"}
    p.json("supplier/work.json", {"mill": "bramble-mill", "period": {"from": z.src(b.start), "to": z.src(b.end)}, "work": [
        {"work_no": s["id"], "for": {"shop": "Quillfeather", "order": "Q%d-bm" % s["order"]["number"], "order_row": str(x["line"]["id"])}, "what": {"variant": x["variant"]["variant_id"], "how_many": x["quantity"],
         "unit_cost": {"cents": x["variant"]["cost"]}, "cost": {"cents": x["variant"]["cost"] * x["quantity"]}}, "where": st[s["status"]], "logged_at": z.src(s["received"]), "last_seen": z.src(s["updated"]),
         "parcel": {"id": s["parcels"][0]["id"], "left_at": z.src(s["parcels"][0]["at"]), "carrier": s["parcels"][0]["carrier"], "tracking": s["parcels"][0]["tracking"]} if s["parcels"] else None} for s in b.submissions for x in s["items"]]})
    article = lambda v: "BM/%s/%05d" % (v["code"], v["variant_id"])
    p.csv("supplier/assigned.csv", ["Shop SKU", "Mill variant", "Assigned on", "Assigned by"],
          [[o["sku"], o["variant"]["variant_id"], "06/%02d/2026" % (k % 28 + 1), "office"] for k, o in enumerate(b.offers) if o["variant"]], eol="\n")
    p.csv("supplier/mill_variants.csv", ["Variant", "Article code", "Blank", "Artwork", "Size", "Color", "Mill price", "Currency", "Can run"],
          [[v["variant_id"], article(v), v["product"], v["design"], v["size"], v["colour"], dec(v["cost"], "$"), "USD", "yes" if v["available"] else "no"] for v in b.variants], eol="\n")
    w = "work[*]."
    p.sp("submissions", "work.json", w, submission_id="work_no", order_ref="for.order", status="where", received_at="logged_at", updated_at="last_seen")
    p.sp("submission_lines", "work.json", w, submission_id="work_no", order_line_ref="for.order_row", variant_id="what.variant", quantity="what.how_many", unit_cost="what.unit_cost.cents")
    p.sp("parcels", "work.json", w, parcel_id="parcel.id", submission_id="work_no", dispatched_at="parcel.left_at", carrier="parcel.carrier", tracking_number="parcel.tracking")
    p.sp("links", "assigned.csv", sku="Shop SKU", variant_id="Mill variant")
    p.sp("variants", "mill_variants.csv", variant_id="Variant", sku="Article code", product="Blank", options=("Size", "Color"), unit_cost="Mill price", currency="Currency", available="Can run")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {st[k]: k for k in st if k in used})
    p.words("supplier_source", "variants.available", {"yes": "true", "no": "false"})
    p.exchange(
        orders=[dict(order_id="Q%d" % o["number"], placed_at=c.ex(o["placed"]), paid_at=c.ex(o["paid"]), status=o["status"], currency="USD", ship_to_country=o["country"], updated_at=c.ex(o["updated"])) for o in b.orders],
        order_lines=[dict(order_id="Q%d" % o["number"], line_id=x["id"], listing_id=x["offer"]["listing"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        offers=[dict(listing_id=o["listing"], sku=o["sku"], title=o["title"], options=o["options"], price=dec(o["price"]), currency="USD", buyable=o["buyable"]) for o in b.offers],
        variants=[dict(variant_id=v["variant_id"], sku=article(v), product=v["product"], options=only({"Size": v["size"], "Color": v["colour"]}), unit_cost=dec(v["cost"]), currency="USD", available=v["available"]) for v in b.variants],
        links=[dict(sku=o["sku"], variant_id=o["variant"]["variant_id"]) for o in b.offers if o["variant"]],
        submissions=[dict(submission_id=s["id"], order_ref="Q%d" % s["order"]["number"], status=s["status"], received_at=z.ex(s["received"]), updated_at=z.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=1, order_line_ref=x["line"]["id"], variant_id=x["variant"]["variant_id"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=q["id"], submission_id=q["submission"]["id"], dispatched_at=z.ex(q["at"]), carrier=q["carrier"], tracking_number=q["tracking"]) for q in b.parcels])
    o = ["style", "size", "color"]
    p.done({"order_lines": o, "offers": o}, {"variants": ["Size", "Color"]},
           "Orders several objects deep in a list; 'id' at five levels, 'date' three times, 'total' twice; 'status' is the payment's and progress.step the order's; 'ref' is the customer's; 'amount' is the count of a line and the money of a payment. Months first in JSON.",
           "One record is one line of work; a file says which SKU of the shop is made as which variant, and the catalogue's own code is not the shop's SKU. The order is followed by '-bm', and for.order_row is the storefront's line id. The parcel is one object, not a list.", suffix="-bm")


# ---------------------------------------------------------------------------------------------- 12

def polar_lantern():
    zone = "Europe/Helsinki"
    b = Book(seed=6947, zone=zone, start="2025-11-10", days=32, orders=70, first=4396,
             goods={"CL": ("College shirt", ["S", "M", "L", "XL", "XXL"], ["Night", "Snow"], 4900, 2150), "KB": ("Canvas bag", None, ["Snow", "Lingon"], 1800, 590), "WS": ("Wool socks", ["36-40", "41-45"], ["Night", "Lingon"], 1690, 560), "PR": ("Print", ["A4", "A3"], None, 2200, 610)},
             listings=[("u1", "Winter Swan", ["CL"]), ("u2", "Reindeer Path", ["WS"]), ("u3", "Lantern Night", ["PR"]), ("u4", "Cloudberry", ["KB"]), ("u5", "Polar Night", ["CL"]), ("u6", "Ice Fisher", ["PR"])],
             names=("Kind", "Sz", "Clr"), sku=lambda l, g, s, c, n: "PL%s%s%02d%s" % (l[1], g, n % 100, (s or "")[-2:]),
             variant=lambda n: "%d" % (7700000 + n * 13), personal=("Engr", ["Mummi", "Aino 5 v", "Hyvää joulua, Eero"]), countries=["FI", "SE", "EE"], carriers=["Hiutale", "Kettukuljetus"],
             submission=lambda n: 4400000 + n, parcel=lambda n: "pkg-%d" % n, replace=True)
    p, c, f = Pair("12-polar-lantern", zone, "revontuli-works"), Clock("%d.%m.%Y %H.%M", zone), Clock("offset", zone)
    word = {"unpaid": "Unpd", "open": "Paid", "dispatched": "Dspd", "cancelled": "Cncl"}
    header = ["Inv", "Ord", "Dt", "PdDt", "St", "Cur", "Nm", "Eml", "Adr", "Ctry", "Ln", "Itm", "Code", "Sz", "Clr", "Engr", "Qty", "UPr", "LnTot", "Shp", "VAT", "Tot", "Wt", "Memo"]
    rows = []
    for o in b.orders:
        for k, x in enumerate(o["lines"]):
            head = [o["invoice"], o["number"], c.src(o["placed"]), c.src(o["paid"]), word[o["status"]], "EUR", o["name"], o["mail"], o["street"], o["country"]]
            tail = [comma(o["shipping"]), comma(o["tax"]), comma(o["total"])]
            rows.append((head if k == 0 else [None] * len(head)) + [x["id"], x["title"], x["sku"], x["options"].get("Sz"), x["options"].get("Clr"), x["personal"], x["quantity"], comma(x["price"]), comma(x["price"] * x["quantity"])]
                        + (tail if k == 0 else [None] * 3) + [x["quantity"] * 240, o["note"] if k == 0 else None])
    p.csv("storefront/ords.tsv", header, rows, "\t")
    g = "ords.tsv"
    p.sf("orders", g, order_id="Ord", placed_at="Dt", paid_at="PdDt", status="St", currency="Cur", ship_to_country="Ctry")
    p.sf("order_lines", g, order_id="Ord", line_id="Ln", sku="Code", title="Itm", options=("Sz", "Clr"), quantity="Qty", unit_price="UPr")
    p.words("storefront", "orders.status", {v: k for k, v in word.items()})
    st = {"received": ("10", "in the queue"), "held": ("15", "needs an answer"), "making": ("30", "in production"), "dispatched": ("60", "handed over"), "cancelled": ("90", "cancelled by shop"), "rejected": ("95", "not possible")}
    p.json("supplier/production.json", {"page": 1, "pages": 1, "data": {"production_orders": [
        {"id": s["id"], "reference": "PL %d" % s["order"]["number"], "remake_of": s["replaces"], "status": {"code": st[s["status"]][0], "label": st[s["status"]][1]},
         "timestamps": {"accepted": f.src(s["received"]), "updated": f.src(s["updated"])},
         "lines": [{"id": x["id"], "variant": {"id": x["variant"]["variant_id"], "shop_code": x["variant"]["sku"]}, "quantity": x["quantity"],
                    "cost": {"each": {"value": dec(x["variant"]["cost"]), "currency": "EUR"}, "all": {"value": dec(x["variant"]["cost"] * x["quantity"]), "currency": "EUR"}}} for x in s["items"]],
         "parcels": [{"id": q["id"], "carrier": {"id": q["carrier"][:3].lower(), "name": q["carrier"]}, "tracking_code": q["tracking"], "handed_over": f.src(q["at"]),
                      "contents": [{"line": x["id"], "quantity": m} for x, m in q["items"]]} for q in s["parcels"]]} for s in b.submissions]}})
    products = {}
    for v in b.variants:
        products.setdefault((v["product"], v["design"]), []).append(v)
    p.json("supplier/catalogue.json", {"data": {"products": [
        {"id": "pr%d" % k, "name": key[0], "artwork": key[1], "variants": [
            {"id": v["variant_id"], "shop_code": v["sku"], "attributes": only({"size": v["size"], "colour": v["colour"]}), "cost": {"value": dec(v["cost"]), "currency": "EUR"}, "available": v["available"]} for v in vs]}
        for k, (key, vs) in enumerate(products.items())]}})
    e = "data.production_orders[*]."
    p.sp("submissions", "production.json", e, submission_id="id", order_ref="reference", status=("status.code", "status.label"), received_at="timestamps.accepted", replaces="remake_of", updated_at="timestamps.updated")
    p.sp("submission_lines", "production.json", e + "lines[*].", submission_id="^" + e + "id", line_id="id", variant_id="variant.id", sku="variant.shop_code", quantity="quantity", unit_cost="cost.each.value")
    p.sp("parcels", "production.json", e + "parcels[*].", parcel_id="id", submission_id="^" + e + "id", dispatched_at="handed_over", carrier="carrier.name", tracking_number="tracking_code")
    p.sp("parcel_lines", "production.json", e + "parcels[*].contents[*].", parcel_id="^" + e + "parcels[*].id", submission_line_id="line", quantity="quantity")
    p.sp("variants", "catalogue.json", "data.products[*].variants[*].", variant_id="id", sku="shop_code", product="^data.products[*].name", options="attributes", unit_cost="cost.value", currency="cost.currency", available="available")
    used = {s["status"] for s in b.submissions}
    p.words("supplier_source", "submissions.status", {w: k for k in st if k in used for w in st[k]})
    p.words("supplier_source", "variants.available", {"true": "true", "false": "false"})
    p.exchange(
        orders=[dict(order_id=o["number"], placed_at=c.ex(o["placed"]), paid_at=c.ex(o["paid"]), status=o["status"], currency="EUR", ship_to_country=o["country"]) for o in b.orders],
        order_lines=[dict(order_id=o["number"], line_id=x["id"], sku=x["sku"], title=x["title"], options=x["options"], quantity=x["quantity"], unit_price=dec(x["price"])) for o in b.orders for x in o["lines"]],
        variants=[dict(variant_id=v["variant_id"], sku=v["sku"], product=v["product"], options=only({"size": v["size"], "colour": v["colour"]}), unit_cost=dec(v["cost"]), currency="EUR", available=v["available"]) for v in b.variants],
        submissions=[dict(submission_id=s["id"], order_ref=s["order"]["number"], status=s["status"], received_at=f.ex(s["received"]), replaces=s["replaces"], updated_at=f.ex(s["updated"])) for s in b.submissions],
        submission_lines=[dict(submission_id=s["id"], line_id=x["id"], variant_id=x["variant"]["variant_id"], sku=x["variant"]["sku"], quantity=x["quantity"], unit_cost=dec(x["variant"]["cost"])) for s in b.submissions for x in s["items"]],
        parcels=[dict(parcel_id=q["id"], submission_id=q["submission"]["id"], dispatched_at=f.ex(q["at"]), carrier=q["carrier"], tracking_number=q["tracking"]) for q in b.parcels],
        parcel_lines=[dict(parcel_id=q["id"], submission_line_id=x["id"], quantity=m) for q in b.parcels for x, m in q["items"]])
    p.done({"order_lines": ["Sz", "Clr"]}, {"variants": ["size", "colour"]},
           "Abbreviated headers, hours and minutes with a point, the order's columns on its first row only; 'Ln' is an id, not a count; 'Dt' and 'PdDt'; the engraving stands between the options and the count.",
           "The state stands twice, as a code and as a label. The reference is 'PL' and a space; SKUs begin with 'PL' too. remake_of marks a remake. In the catalogue the product's name stands above its variants.", prefix="PL ")


PAIRS = [fernhollow, brunnenkamp, atelier_brumelune, cerro_lila, saltmarsh, lyngmark, tinderbrook, mirabellenweg, harbour, sierra_menta, quillfeather, polar_lantern]

if __name__ == "__main__":
    for make in PAIRS:
        make()
