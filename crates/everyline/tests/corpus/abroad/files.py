"""Writes the files of a pair, the same bytes each time, and collects where each field stands. Knows no layout. Start at `Pair`."""
import csv, io, json, os, re, shutil, zipfile
from datetime import date, datetime, timezone
from xml.sax.saxutils import escape

HERE = os.path.dirname(os.path.abspath(__file__))


def dec(c): return f"{c // 100}.{c % 100:02d}"
def com(c): return dec(c).replace(".", ",")
def zulu(t): return t.astimezone(timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ") if t else None
def secs(t): return int(t.timestamp()) if t else None
def mils(t): return int(t.timestamp()) * 1000 if t else None
def flip(words): return {v: k for k, v in words.items()}
def slug(s): return re.sub(r"[^a-z0-9]+", "-", s.lower().translate(str.maketrans("äöüåéèêàçñíóúáâôãõ", "aouaeeeacniouaaoao"))).strip("-")


class Pair:
    def __init__(self, name, zone, supplier):
        self.name, self.supplier, self.days, self.pairing = name, supplier, set(), []
        self.dir = os.path.join(HERE, name)
        shutil.rmtree(self.dir, ignore_errors=True)
        for d in ("storefront", "supplier", "exchange"): os.makedirs(os.path.join(self.dir, d))
        self.shop = {"fields": [], "words": {}, "options": {}, "forms": {}, "files": {}, "notes": ""}
        self.made = {"fields": [], "words": {}, "options": {}, "order_ref": {"prefix": "", "suffix": ""}, "sku": {"prefix": "", "suffix": ""}, "forms": {}, "files": {}, "notes": ""}
        self.truth = {"zone": zone, "supplier": supplier, "storefront": self.shop, "supplier_source": self.made}

    def side(self, folder): return self.shop if folder == "storefront" else self.made

    def put(self, folder, file, data):
        with open(os.path.join(self.dir, folder, file), "wb") as f: f.write(data)

    def csv(self, folder, file, rows, delimiter=",", encoding="utf-8", eol="\r\n", quoting=csv.QUOTE_MINIMAL, head=None):
        head = head or list(rows[0])
        text = io.StringIO(newline="")
        w = csv.writer(text, delimiter=delimiter, lineterminator=eol, quoting=quoting)
        w.writerow(head)
        for row in rows: w.writerow(["" if row[h] is None else row[h] for h in head])
        self.put(folder, file, text.getvalue().encode(encoding))
        if folder != "exchange": self.side(folder)["files"][file] = {"separator": delimiter, "encoding": encoding}

    def json(self, folder, file, value, indent=None):
        self.put(folder, file, (json.dumps(value, indent=indent, ensure_ascii=False) + "\n").encode())

    def jsonl(self, folder, file, rows):
        self.put(folder, file, "".join(json.dumps(r, ensure_ascii=False, separators=(",", ":")) + "\n" for r in rows).encode())

    def xlsx(self, folder, file, rows, sheet, shown="dd/mm/yyyy hh:mm", shown_day="dd/mm/yyyy"):
        import openpyxl
        book = openpyxl.Workbook()
        page = book.active
        page.title = sheet
        page.append(list(rows[0]))
        for row in rows: page.append([None if v == "" else v for v in row.values()])
        for row in page.iter_rows():
            for c in row:
                if isinstance(c.value, datetime): c.number_format = shown
                elif isinstance(c.value, date): c.number_format = shown_day
        path = os.path.join(self.dir, folder, file)
        book.save(path)
        with zipfile.ZipFile(path) as z: members = [(i.filename, z.read(i)) for i in z.infolist()]
        fixed = lambda name, data: re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2026-01-01T00:00:00Z", data) if name == "docProps/core.xml" else data
        self.put(folder, file, archive([(n, fixed(n, d)) for n, d in members]))

    def ods(self, folder, file, rows, sheet):
        def cell(v):
            if v in ("", None): return "<table:table-cell/>"
            if isinstance(v, datetime): kind, shown = f'date" office:date-value="{v.isoformat()}', v.strftime("%d/%m/%Y %H:%M")
            elif isinstance(v, date): kind, shown = f'date" office:date-value="{v.isoformat()}', v.strftime("%d/%m/%Y")
            elif isinstance(v, (int, float)): kind, shown = f'float" office:value="{v}', str(v).replace(".", ",")
            else: kind, shown = "string", str(v)
            return f'<table:table-cell office:value-type="{kind}"><text:p>{escape(shown)}</text:p></table:table-cell>'
        grid = [list(rows[0])] + [list(r.values()) for r in rows]
        body = "".join("<table:table-row>" + "".join(map(cell, r)) + "</table:table-row>" for r in grid)
        names = "".join(f' xmlns:{k}="urn:oasis:names:tc:opendocument:xmlns:{v}:1.0"' for k, v in (("office", "office"), ("table", "table"), ("text", "text")))
        head = '<?xml version="1.0" encoding="UTF-8"?>\n'
        content = f'{head}<office:document-content{names} office:version="1.2"><office:body><office:spreadsheet><table:table table:name="{sheet}"><table:table-column table:number-columns-repeated="{len(grid[0])}"/>{body}</table:table></office:spreadsheet></office:body></office:document-content>'
        kind = "application/vnd.oasis.opendocument.spreadsheet"
        manifest = f'{head}<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.2"><manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/><manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>'
        self.put(folder, file, archive([("mimetype", kind.encode()), ("content.xml", content.encode()), ("META-INF/manifest.xml", manifest.encode())]))

    def fields(self, folder, file, table, **places):
        """Of each column a place; a list of places that say the same, or of options; a tuple of places that say it together."""
        for column, at in places.items():
            field = {"table": table, "column": column, "file": file, "at": [at] if isinstance(at, str) else list(at)}
            if isinstance(at, tuple): field["all"] = True
            self.side(folder)["fields"].append(field)

    def done(self, B):
        """Writes the exchange tables, with those columns that the exports have, and the truth."""
        columns = {}
        for side in (self.shop, self.made):
            for f in side["fields"]: columns.setdefault(f["table"], []).append(f["column"])
        moment = lambda table, column, t: B.day(t) if f"{table}.{column}" in self.days else B.iso(t)
        us = self.supplier
        jobs = [(j, l) for j in B.jobs for l in j.lines]
        line_key = lambda table, l: l.key if "line_id" in columns[table] else l.i
        every = {
            "orders": [dict(order_id=o.key, placed_at=o.placed, paid_at=o.paid, status=o.status, currency=B.currency, promised_by=str(o.due), ship_to_country=o.country, updated_at=o.updated) for o in B.orders],
            "order_lines": [dict(order_id=o.key, line_id=line_key("order_lines", l), listing_id=l.offer.page.key, sku=l.offer.sku, title=l.offer.page.title, options=l.offer.options, quantity=l.qty, cancelled_quantity=l.gone, unit_price=dec(l.offer.price)) for o in B.orders for l in o.lines],
            "offers": [dict(listing_id=f.page.key, sku=f.sku, title=f.page.title, options=f.options, price=dec(f.price), currency=B.currency, buyable=f.buyable) for f in B.offers],
            "variants": [dict(supplier=us, variant_id=v.key, sku=v.sku, product=v.product, options=v.options, unit_cost=dec(v.cost), currency=B.currency, available=v.available) for v in B.variants],
            "links": [dict(supplier=us, sku=sku, variant_id=v.key) for sku, v in self.pairing],
            "submissions": [dict(supplier=us, submission_id=j.key, order_ref=j.ref, status=j.status, received_at=j.received, replaces=j.replaces, updated_at=j.updated) for j in B.jobs],
            "submission_lines": [dict(supplier=us, submission_id=j.key, line_id=line_key("submission_lines", l), order_line_ref=l.of.key if l.of else "", variant_id=l.variant.key, sku=l.variant.sku, quantity=l.qty, status=l.status, unit_cost=dec(l.variant.cost)) for j, l in jobs],
            "parcels": [dict(supplier=us, parcel_id=p.key, submission_id=j.key, dispatched_at=p.at, carrier=p.carrier, tracking_number=p.track) for j in B.jobs for p in j.parcels],
            "parcel_lines": [dict(supplier=us, parcel_id=p.key, submission_line_id=l.key, quantity=q) for j in B.jobs for p in j.parcels for l, q in p.lines]}
        keys = {"order_lines": ["order_id", "line_id"], "submission_lines": ["supplier", "submission_id", "line_id"]}
        for table, rows in every.items():
            if table not in columns: continue
            lead = keys.get(table, [] if table in ("orders", "offers") else ["supplier"])
            head = list(dict.fromkeys(lead + columns[table]))
            out = []
            for row in rows:
                for c, v in row.items():
                    if c.endswith("_at"): row[c] = moment(table, c, v)
                    elif c == "options": row[c] = json.dumps(v, ensure_ascii=False)
                    elif isinstance(v, bool): row[c] = str(v).lower()
                out.append(row)
            self.csv("exchange", table + ".csv", out, eol="\n", head=head)
        used = {"submissions.status": {j.status for j in B.jobs}, "submission_lines.status": {l.status for _, l in jobs}, "orders.status": {o.status for o in B.orders}}
        for side in (self.shop, self.made):
            for key, meant in used.items():
                if key in side["words"]: side["words"][key] = {w: m for w, m in side["words"][key].items() if m in meant}
            for part in ("forms", "files"):
                if not side[part]: del side[part]
        self.put(".", "truth.json", (json.dumps(self.truth, indent=1, ensure_ascii=False) + "\n").encode())
        print(self.name, len(B.orders), "orders", sum(len(o.lines) for o in B.orders), "lines", len(B.jobs), "supplier orders", sum(len(j.parcels) for j in B.jobs), "parcels", sorted({o.fault for o in B.orders} - {""}))


def archive(members):
    """A zip archive without the time of its making."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as z:
        for name, data in members:
            i = zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0))
            i.compress_type = zipfile.ZIP_STORED if name == "mimetype" else zipfile.ZIP_DEFLATED
            z.writestr(i, data)
    return out.getvalue()


def reference(job, prefix="", suffix=""):
    """What the supplier wrote down as the shop's order; a sample's word stands as it was written."""
    return prefix + job.ref + suffix if job.is_key else job.ref
