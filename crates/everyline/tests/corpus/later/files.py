"""Writes tables and JSON in the dialects of the sources, and the truth and exchange files beside them."""
import csv
import io
import json
import os
import re
import zipfile
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

STILL = (2020, 1, 1, 0, 0, 0)      # one time for every zip entry, so that the same seed gives the same bytes


def path(folder, name):
    os.makedirs(folder, exist_ok=True)
    return os.path.join(folder, name)


def write_json(folder, name, value, indent=None):
    with open(path(folder, name), 'w', encoding='utf-8', newline='\n') as f:
        json.dump(value, f, ensure_ascii=False, indent=indent)
        f.write('\n')


def write_jsonl(folder, name, records, ascii_only=False):
    with open(path(folder, name), 'w', encoding='utf-8', newline='\n') as f:
        for r in records:
            f.write(json.dumps(r, ensure_ascii=ascii_only, separators=(',', ':')) + '\n')


def write_csv(folder, name, header, rows, sep=',', encoding='utf-8', quote=csv.QUOTE_MINIMAL, eol='\r\n'):
    text = io.StringIO()
    w = csv.writer(text, delimiter=sep, quoting=quote, lineterminator=eol)
    w.writerow(header)
    w.writerows(rows)
    with open(path(folder, name), 'wb') as f:
        f.write(text.getvalue().encode(encoding))


def still(name):
    """Rewrites a zip with fixed times."""
    with zipfile.ZipFile(name) as z:
        parts = [(i.filename, z.read(i.filename)) for i in z.infolist()]
    with zipfile.ZipFile(name, 'w') as z:
        for n, data in parts:
            if n == 'docProps/core.xml':
                data = re.sub(rb'\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ', b'2020-01-01T00:00:00Z', data)
            info = zipfile.ZipInfo(n, STILL)
            info.compress_type = zipfile.ZIP_STORED if n == 'mimetype' else zipfile.ZIP_DEFLATED
            z.writestr(info, data)


def naive(v):
    return v.replace(tzinfo=None) if isinstance(v, datetime) else v


def write_xlsx(folder, name, header, rows, title=(), sheet='Sheet1', more=None, formats=None):
    from openpyxl import Workbook
    from openpyxl.styles import Font
    book = Workbook()
    page = book.active
    page.title = sheet
    for t in title:
        page.append([naive(v) for v in t])
    page.append(header)
    for c in page[page.max_row]:
        c.font = Font(bold=True)
    for r in rows:
        page.append([naive(v) for v in r])
        for head, form in (formats or {}).items():
            page.cell(page.max_row, header.index(head) + 1).number_format = form
    for title_, lines in (more or {}).items():
        extra = book.create_sheet(title_)
        for l in lines:
            extra.append(l)
    book.save(path(folder, name))
    still(path(folder, name))


def write_ods(folder, name, header, rows, title=(), sheet='Hoja1'):
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P
    doc = OpenDocumentSpreadsheet()
    table = Table(name=sheet)

    def cell(v):
        if v is None or v == '':
            return TableCell()
        if isinstance(v, datetime):
            c, shown = TableCell(valuetype='date', datevalue=naive(v).isoformat()), f'{v:%d/%m/%Y %H:%M}'
        elif isinstance(v, date):
            c, shown = TableCell(valuetype='date', datevalue=v.isoformat()), f'{v:%d/%m/%Y}'
        elif isinstance(v, (int, Decimal)):
            c, shown = TableCell(valuetype='float', value=str(v)), str(v).replace('.', ',')
        else:
            c, shown = TableCell(valuetype='string'), str(v)
        c.addElement(P(text=shown))
        return c

    for r in list(title) + [header] + rows:
        row = TableRow()
        for v in r:
            row.addElement(cell(v))
        if not r:
            row.addElement(TableCell())
        table.addElement(row)
    doc.spreadsheet.addElement(table)
    doc.save(path(folder, name))
    still(path(folder, name))


# money, from whole minor units

def dec(m):
    return f'{m / 100:.2f}'


def comma(m):
    return dec(m).replace('.', ',')


def num(m):
    return int(m / 100) if m % 100 == 0 else m / 100


def iso(t):
    return t.isoformat() if t else None


def zulu(t):
    return t.astimezone(ZoneInfo('UTC')).strftime('%Y-%m-%dT%H:%M:%SZ') if t else None


def secs(t):
    return int(t.timestamp()) if t else None


def millis(t):
    return secs(t) * 1000 if t else None


def loc(t, form):
    return t.strftime(form) if t else ''


class Words:
    """Our word -> the source's, remembering which occurred."""

    def __init__(self, ours_to_theirs):
        self.map, self.seen = ours_to_theirs, {}

    def __call__(self, ours):
        theirs = self.map[ours]
        if theirs not in (None, ''):
            self.seen[json.dumps(theirs) if isinstance(theirs, bool) else theirs] = ours
        return theirs


class At:
    """Where a field stands. `form` says how its value is written; `more` are further keys of the truth."""

    def __init__(self, *at, form=None, all=False, **more):
        self.at, self.form, self.all, self.more = list(at), form, all, more


class Side:
    def __init__(self, notes):
        self.fields, self.words, self.options, self.extra, self.notes = [], {}, {}, {}, notes

    def put(self, table, file, base='', **columns):
        for column, at in columns.items():
            at = at if isinstance(at, At) else At(at)
            f = {'table': table, 'column': column, 'file': file, 'at': [base + a for a in at.at]}
            if at.all:
                f['all'] = True
            if at.form:
                f['form'] = at.form
            for k, v in at.more.items():
                f[k] = {base + a: w for a, w in v.items()} if isinstance(v, dict) else v
            self.fields.append(f)

    def say(self, name, *words):
        seen = {}
        for w in words:
            for theirs, ours in w.seen.items():
                assert seen.get(theirs, ours) == ours, (name, theirs)
                seen[theirs] = ours
        self.words[name] = seen

    def json(self):
        return {'fields': self.fields, 'words': self.words, 'options': self.options, **self.extra, 'notes': self.notes}


KEYS = ['order_id', 'line_id', 'listing_id', 'supplier', 'variant_id', 'submission_id', 'parcel_id']


def write_truth(folder, zone, supplier, store, source):
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, 'truth.json'), 'w', encoding='utf-8') as f:
        head = {'zone': zone, 'supplier': supplier}
        f.write('{' + ', '.join(f'{json.dumps(k)}: {json.dumps(v)}' for k, v in head.items()))
        for name, side in (('storefront', store), ('supplier_source', source)):
            f.write(f',\n {json.dumps(name)}: {{\n  "fields": [\n')
            f.write(',\n'.join('   ' + json.dumps(x, ensure_ascii=False) for x in side.fields))
            f.write('\n  ]')
            for k, v in side.json().items():
                if k != 'fields':
                    f.write(f',\n  {json.dumps(k)}: {json.dumps(v, ensure_ascii=False)}')
            f.write('\n }')
        f.write('\n}\n')


def write_exchange(folder, supplier, store, source, tables):
    """Of each table the columns that a source has, from rows that hold all columns."""
    forms = {(f['table'], f['column']): f.get('form', '') for f in store.fields + source.fields}
    for table in dict.fromkeys(t for t, _ in forms):
        columns = [c for t, c in forms if t == table]
        if table.endswith('_lines') and table != 'parcel_lines' and 'line_id' not in columns:
            columns.insert(1, 'line_id')
        if (table, 'supplier') not in forms and table not in ('orders', 'order_lines', 'offers'):
            columns.insert(0, 'supplier')
        rows, seen = [], set()
        for r in tables[table]:
            out = []
            for c in columns:
                v = supplier if c == 'supplier' else r.get(c)
                if isinstance(v, datetime):
                    v = v.date().isoformat() if 'date' in forms[table, c] else v.isoformat()
                elif isinstance(v, bool):
                    v = 'true' if v else 'false'
                elif isinstance(v, list):
                    v = json.dumps(dict(v), ensure_ascii=False)
                out.append('' if v is None else str(v))
            if tuple(out) not in seen:
                seen.add(tuple(out))
                rows.append(out)
        write_csv(folder, table + '.csv', columns, rows, eol='\n')


def tables(cfg, book, subs=None):
    """The whole book as rows of the exchange tables."""
    t = {k: [] for k in ('orders', 'order_lines', 'offers', 'variants', 'submissions', 'submission_lines', 'parcels')}
    for o in book.orders:
        t['orders'].append({'order_id': o.order_id, 'placed_at': o.placed, 'paid_at': o.paid, 'status': o.status,
                            'currency': cfg['currency'], 'promised_by': o.promised, 'ship_to_country': o.country,
                            'updated_at': o.updated})
        for l in o.lines:
            t['order_lines'].append({'order_id': o.order_id, 'line_id': l.line_id, 'listing_id': l.listing_id,
                                     'sku': l.sku, 'title': l.title, 'options': l.choices, 'quantity': l.quantity,
                                     'cancelled_quantity': l.cancelled, 'unit_price': dec(l.price)})
    for f in book.offers:
        t['offers'].append({'listing_id': f.listing_id, 'sku': f.sku, 'title': f.title, 'options': f.choices,
                            'price': dec(f.price), 'currency': cfg['currency'], 'buyable': f.buyable})
    heads = cfg.get('variant_options', {})
    for v in book.variants:
        t['variants'].append({'variant_id': v.variant_id, 'sku': v.sku, 'product': v.product,
                              'options': [(heads[k], x) for k, x in v.choices] if heads else [],
                              'unit_cost': dec(v.cost), 'currency': cfg['currency'], 'available': v.available})
    for s in book.subs if subs is None else subs:
        t['submissions'].append({'submission_id': s.submission_id, 'order_ref': s.order.order_id, 'status': s.status,
                                 'received_at': s.received, 'replaces': s.replaces, 'updated_at': s.updated})
        for l in s.lines:
            t['submission_lines'].append({'submission_id': s.submission_id, 'line_id': l.line_id,
                                          'variant_id': l.variant.variant_id, 'sku': l.variant.sku,
                                          'quantity': l.quantity, 'status': l.status, 'unit_cost': dec(l.variant.cost),
                                          'order_ref': l.order_ref, 'order_line_ref': l.order_line_ref})
        for p in s.parcels:
            t['parcels'].append({'parcel_id': p.parcel_id, 'submission_id': s.submission_id,
                                 'dispatched_at': p.dispatched, 'carrier': p.carrier, 'tracking_number': p.tracking})
    return t
