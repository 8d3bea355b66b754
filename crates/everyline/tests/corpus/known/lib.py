"""The book of an invented shop, and the writing of sources with the truth beside them.

`make_book` builds orders and what a supplier was asked to make of them. `Source` writes files in
which marked values (`m`) register where each field of the exchange tables stands. Everything is
drawn from a seed that is the pair's name; no clock is read.
"""
import csv
import io
import json
import os
import re
import zipfile
from datetime import date, datetime, timedelta, timezone
from random import Random
from zoneinfo import ZoneInfo

UTC = timezone.utc


# ---- forms: how a value stands in a source, and how it reads in the exchange tables ----

class Rfc:
    """RFC 3339, in the given zone or in UTC with a Z."""
    def __init__(self, zone=None):
        self.zone, self.name = zone, 'rfc3339'

    def src(self, v):
        return None if v is None else stamp(v, self.zone)

    ex = src


class Epoch:
    def __init__(self, unit='s'):
        self.unit = unit
        self.name = 'epoch seconds' if unit == 's' else 'epoch milliseconds'

    def src(self, v):
        if v is None:
            return None
        ms = int(v.timestamp()) * 1000 + v.microsecond // 1000
        return ms // 1000 if self.unit == 's' else ms

    def ex(self, v):
        if v is None:
            return None
        s = stamp(v, None)
        if self.unit == 'ms':
            s = s[:-1] + '.%03dZ' % (v.microsecond // 1000)
        return s


class Local:
    """A local time as text, by the pattern, in the shop's zone."""
    def __init__(self, pattern, zone):
        self.pattern, self.zone, self.name = pattern, zone, 'local ' + pattern.replace('%-', '%')

    def src(self, v):
        return None if v is None else v.astimezone(ZoneInfo(self.zone)).strftime(self.pattern)

    def ex(self, v):
        if v is None:
            return None
        if '%S' not in self.pattern:
            v = v.replace(second=0)
        return stamp(v, self.zone)


class Day:
    """A date alone, as text; it stays a date in the exchange tables."""
    def __init__(self, pattern, zone):
        self.pattern, self.zone, self.name = pattern, zone, 'date ' + pattern.replace('%-', '%')

    def src(self, v):
        return None if v is None else local_day(v, self.zone).strftime(self.pattern)

    def ex(self, v):
        return None if v is None else local_day(v, self.zone).isoformat()


class CellTime:
    """A date-and-time cell of a spreadsheet, local, whole minutes."""
    name = 'cell time'

    def __init__(self, zone):
        self.zone = zone

    def src(self, v):
        if v is None:
            return None
        return v.astimezone(ZoneInfo(self.zone)).replace(tzinfo=None, second=0, microsecond=0)

    def ex(self, v):
        return None if v is None else stamp(v.replace(second=0), self.zone)


class CellDay:
    name = 'cell date'

    def __init__(self, zone):
        self.zone = zone

    def src(self, v):
        return None if v is None else local_day(v, self.zone)

    def ex(self, v):
        return None if v is None else local_day(v, self.zone).isoformat()


def stamp(v, zone):
    v = v.replace(microsecond=0)
    if zone is None:
        return v.astimezone(UTC).strftime('%Y-%m-%dT%H:%M:%SZ')
    return v.astimezone(ZoneInfo(zone)).isoformat()


def local_day(v, zone):
    return v if type(v) is date else v.astimezone(ZoneInfo(zone)).date()


class Money:
    """kind: 'minor', 'number' (24.9), 'decimal' ('24.90'), 'comma' ('24,90'); with a sign around it."""
    def __init__(self, kind, before='', after=''):
        self.kind, self.before, self.after = kind, before, after
        self.name = {'minor': 'minor units', 'number': 'decimal number', 'decimal': 'decimal',
                     'comma': 'decimal comma'}[kind] + (' with a currency sign' if before or after else '')

    def src(self, v):
        if v is None:
            return None
        if self.kind == 'minor':
            return v
        if self.kind == 'number':
            return v / 100 if v % 100 else v // 100
        s = '%d.%02d' % divmod(v, 100)
        if self.kind == 'comma':
            s = s.replace('.', ',')
        return self.before + s + self.after

    @staticmethod
    def ex(v):
        return None if v is None else '%d.%02d' % divmod(v, 100)


class M:
    """A marked value: it is where the fields `keys` stand."""
    def __init__(self, value, keys, form=None):
        self.value, self.keys, self.form = value, keys.split(), form


def m(value, keys, form=None):
    if form is not None:
        value = form.src(value)
    return M(value, keys, form)


# ---- sources ----

class Source:
    def __init__(self, side, money=None):
        self.side = side
        self.files, self.shape = {}, {}
        self.at, self.forms, self.words, self.all = {}, {}, {}, set()
        self.options_names = {}
        self.options_of = lambda line: line.opts
        self.notes = ''
        self.extra = {}

    def st(self, key, word, canonical):
        """A status word, marked, with its meaning."""
        self.word(key, word, canonical)
        return M(word, key)

    def word(self, key, word, canonical):
        word = {True: 'true', False: 'false', None: ''}.get(word, word) if not isinstance(word, str) else word
        had = self.words.setdefault(key, {}).setdefault(word, canonical)
        assert had == canonical, (key, word, had, canonical)

    def combo(self, key, canonical, *parts):
        """A status that follows from several places, in the order in which they stand."""
        self.all.add(key)
        text = []
        for p in parts:
            if isinstance(p, (datetime, date)):
                text.append('<time>')
            elif isinstance(p, bool):
                text.append('true' if p else 'false')
            else:
                text.append('' if p is None else str(p))
        self.word(key, ' | '.join(text), canonical)

    def note(self, mark, file, path):
        for key in mark.keys:
            places = self.at.setdefault(key, {}).setdefault(file, [])
            if path not in places:
                places.append(path)
            if mark.form is not None and not key.endswith('.status'):
                self.forms.setdefault(key, mark.form)

    def strip(self, v, file, path):
        if isinstance(v, M):
            self.note(v, file, path)
            v = v.value
        if isinstance(v, dict):
            return {k: self.strip(x, file, path + '.' + k if path else k) for k, x in v.items()}
        if isinstance(v, list):
            return [self.strip(x, file, path + '[*]') for x in v]
        return v

    def json(self, file, tree, compact=False):
        tree = self.strip(tree, file, '')
        if compact:
            text = json.dumps(tree, ensure_ascii=False, separators=(',', ':'))
        else:
            text = json.dumps(tree, ensure_ascii=False, indent=1)
        self.files[file] = text.encode() + b'\n'
        self.shape[file] = {'format': 'json'}

    def jsonl(self, file, records):
        lines = [json.dumps(self.strip(r, file, ''), ensure_ascii=False) for r in records]
        self.files[file] = ('\n'.join(lines) + '\n').encode()
        self.shape[file] = {'format': 'jsonl'}

    def table(self, file, rows, delimiter=',', encoding='utf-8', title=(), row='line', first_only=None,
              group=None, numbered=0, sheet='Sheet1', legend=None, newline='\r\n'):
        """Rows are dicts with the same headers. `first_only`: headers filled on a group's first row only."""
        headers = list(rows[0])
        out, last = [], object()
        for r in rows:
            assert list(r) == headers, (file, set(r) ^ set(headers))
            cells = []
            for h in headers:
                v = r[h]
                if isinstance(v, M):
                    self.note(v, file, h)
                    v = v.value
                cells.append(v)
            if first_only:
                g = cells[headers.index(group)]
                if g == last:
                    cells = [None if h in first_only else c for h, c in zip(headers, cells)]
                last = g
            out.append(cells)
        shape = {'format': file.rsplit('.', 1)[1], 'header_row': len(title) + 1, 'row': row}
        if first_only:
            shape['filled_on_first_row_only'] = [h for h in headers if h in first_only]
        if numbered:
            shape['numbered_columns'] = numbered
        if file.endswith('.xlsx'):
            self.files[file] = xlsx(title, headers, out, sheet, legend)
        elif file.endswith('.ods'):
            self.files[file] = ods(title, headers, out, sheet)
        else:
            shape.update(format='csv', delimiter=delimiter, encoding=encoding)
            f = io.StringIO()
            w = csv.writer(f, delimiter=delimiter, lineterminator=newline)
            for t in title:
                w.writerow(t)
            w.writerow(headers)
            w.writerows([['' if c is None else c for c in cells] for cells in out])
            self.files[file] = f.getvalue().encode(encoding)
        self.shape[file] = shape

    def truth(self):
        fields = []
        for key in sorted(self.at, key=field_rank):
            table, column = key.split('.')
            for file, places in self.at[key].items():
                f = {'table': table, 'column': column, 'file': file, 'at': places}
                if key in self.all:
                    f['all'] = True
                fields.append(f)
        t = {'fields': fields, 'words': self.words, 'options': self.options_names,
             'forms': {k: self.forms[k].name for k in sorted(self.forms, key=field_rank)},
             'shape': self.shape, 'notes': self.notes}
        t.update(self.extra)
        return t


TABLES = {
    'orders': 'order_id placed_at paid_at status currency promised_by ship_to_country updated_at'.split(),
    'order_lines': 'order_id line_id listing_id sku title options quantity cancelled_quantity unit_price '
                   'updated_at'.split(),
    'offers': 'listing_id sku title options price currency buyable'.split(),
    'variants': 'supplier variant_id sku product options unit_cost currency available'.split(),
    'links': 'listing_id sku options supplier variant_id units in_force'.split(),
    'submissions': 'supplier submission_id order_ref status received_at replaces updated_at'.split(),
    'submission_lines': 'supplier submission_id line_id order_ref order_line_ref variant_id sku quantity '
                        'status unit_cost updated_at'.split(),
    'parcels': 'supplier parcel_id submission_id dispatched_at carrier tracking_number'.split(),
    'parcel_lines': 'supplier parcel_id submission_line_id quantity'.split(),
}
ALWAYS = {'order_lines': ['line_id'], 'submission_lines': ['line_id'], 'variants': ['supplier'],
          'links': ['supplier'], 'submissions': ['supplier'], 'parcels': ['supplier'],
          'parcel_lines': ['supplier']}
ALWAYS['submission_lines'].append('supplier')


def field_rank(key):
    table, column = key.split('.')
    return (list(TABLES).index(table), TABLES[table].index(column))


def fixed_zip(data):
    """The same archive with fixed times, so that two runs give the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as a, zipfile.ZipFile(out, 'w', zipfile.ZIP_DEFLATED) as b:
        for n in a.namelist():
            body = a.read(n)
            if n in ('docProps/core.xml', 'meta.xml'):
                body = re.sub(rb'\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ?', b'2026-01-01T00:00:00Z', body)
            info = zipfile.ZipInfo(n, (2026, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_STORED if n == 'mimetype' else zipfile.ZIP_DEFLATED
            b.writestr(info, body)
    return out.getvalue()


def xlsx(title, headers, rows, sheet, legend):
    from openpyxl import Workbook
    wb = Workbook()
    wb.properties.creator = 'office'
    ws = wb.active
    ws.title = sheet
    for t in title:
        ws.append(list(t))
    ws.append(headers)
    for r in rows:
        ws.append(r)
        for c, v in zip(ws[ws.max_row], r):
            if isinstance(v, datetime):
                c.number_format = 'dd.mm.yyyy hh:mm'
            elif isinstance(v, date):
                c.number_format = 'dd.mm.yyyy'
            elif isinstance(v, float):
                c.number_format = '0.00'
    if legend:
        ws2 = wb.create_sheet(legend[0])
        for t in legend[1]:
            ws2.append(list(t))
    f = io.BytesIO()
    wb.save(f)
    return fixed_zip(f.getvalue())


def ods(title, headers, rows, sheet):
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P
    doc = OpenDocumentSpreadsheet()
    t = Table(name=sheet)
    for r in [*[list(x) for x in title], headers, *rows]:
        tr = TableRow()
        for v in r:
            if v is None or v == '':
                c = TableCell()
            elif isinstance(v, datetime):
                c = TableCell(valuetype='date', datevalue=v.strftime('%Y-%m-%dT%H:%M:%S'))
                c.addElement(P(text=v.strftime('%d.%m.%Y %H:%M')))
            elif isinstance(v, date):
                c = TableCell(valuetype='date', datevalue=v.isoformat())
                c.addElement(P(text=v.strftime('%d.%m.%Y')))
            elif isinstance(v, (int, float)):
                c = TableCell(valuetype='float', value=v)
                c.addElement(P(text=str(v)))
            else:
                c = TableCell(valuetype='string')
                c.addElement(P(text=v))
            tr.addElement(c)
        t.addElement(tr)
    doc.spreadsheet.addElement(t)
    f = io.BytesIO()
    doc.save(f)
    return fixed_zip(f.getvalue())


# ---- the book ----

class Rec:
    def __init__(self, **k):
        self.__dict__.update(k)


class Good:
    """One good: sizes and colours as (code, word) of the shop's language; money in minor units."""
    def __init__(self, code, name, product, price, cost, sizes=(), colours=(), weight=200, up=0):
        self.code, self.name, self.product, self.price, self.cost = code, name, product, price, cost
        self.sizes, self.colours, self.weight, self.up = sizes, colours, weight, up


def pairs(text):
    """'S=Small M=Medium' or 'S M L' as (code, word); an underscore stands for a blank."""
    out = []
    for part in text.split():
        code, _, word = part.partition('=')
        out.append((code, (word or code).replace('_', ' ')))
    return out


def make_book(name, zone, currency, start, days, orders, goods, designs, opt, sku, first_no, oid,
              sid, people, countries, carriers, personal=None, multi=False, per_line=False,
              parcels='simple', faults=None, remakes=0, strays=(), promise_days=6, bank=0.2,
              number_step=(1, 1, 1, 1, 2), sup_opt=None, sup_word=None, cancel_some=False,
              vid=None, ship_cost=590, line_counts=None, tracking=None, working=(2, 6)):
    r = Random('everyline corpus ' + name)
    tz = ZoneInfo(zone)
    b = Rec(name=name, zone=zone, currency=currency, r=r, people=people, sup_opt=sup_opt or {})
    vid = vid or (lambda r, i: str(40310 + i * 7 + r.randint(0, 5)))
    sup_word = sup_word or {}

    # variants and offers
    b.variants, b.offers = [], []
    for di, (dcode, dname) in enumerate(designs):
        for g in goods:
            for si, (sc, sw) in enumerate(g.sizes or [('', '')]):
                for cc, cw in g.colours or [('', '')]:
                    opts = {}
                    for kind, label in opt:
                        word = {'goods': g.name, 'size': sw, 'colour': cw}[kind]
                        if word:
                            opts[label] = word
                    so = {}
                    for kind, label in (sup_opt or {}).items():
                        word = {'size': sw, 'colour': cw, 'design': dname}[kind]
                        if word:
                            so[label] = sup_word.get(word, word)
                    listing = str(71200 + di * 13) if multi else str(71200 + di * 13 + goods.index(g) * 101)
                    title = dname if multi else f'{dname} {g.name}'
                    up = g.up * max(0, si - 3)
                    v = Rec(vid=vid(r, len(b.variants)), sku=sku(dcode, g.code, sc, cc), product=g.product,
                            design=dname, size=sw, colour=cw, opts=so, cost=g.cost + up // 2,
                            available=True, weight=g.weight, good=g)
                    b.variants.append(v)
                    b.offers.append(Rec(listing=listing, title=title, opts=opts, sku=v.sku, price=g.price + up,
                                        variant=v, buyable=True, good=g))
    for v in r.sample(b.variants, max(1, len(b.variants) // 60)):
        v.available = False
    bad = r.sample(b.offers, 5)
    for i, o in enumerate(bad):
        o.sku = '' if i % 2 == 0 else o.sku + ('-OLD' if i == 1 else 'X')
    good_offers = [o for o in b.offers if o.variant and o not in bad]
    favourites = r.sample(good_offers, min(30, len(good_offers)))
    for o in r.sample(good_offers, 3):
        if o not in favourites:
            o.buyable = False
    sellable = [o for o in good_offers if o.buyable]

    # orders
    begin = datetime.fromisoformat(start).replace(tzinfo=tz)
    moments = []
    while len(moments) < orders:
        d = begin + timedelta(days=r.randrange(days))
        hour = r.choices(range(6, 24), weights=[1, 2, 3, 4, 5, 5, 6, 5, 4, 4, 4, 5, 6, 7, 8, 7, 5, 2])[0]
        t = d.replace(hour=hour, minute=r.randrange(60), second=r.randrange(60))
        t = t.astimezone(UTC) + timedelta(milliseconds=r.randrange(1000))
        moments.append(t)
    moments.sort()
    b.as_of = (begin + timedelta(days=days)).replace(hour=7).astimezone(UTC)
    n, line_no, b.orders = first_no, 300417, []
    iid = 918200
    for i, placed in enumerate(moments):
        iid += r.randint(3, 60)
        p = r.choice(people)
        ref = r.random() < bank
        paid = placed + (timedelta(hours=r.uniform(3, 44)) if ref else timedelta(seconds=r.randint(4, 240)))
        o = Rec(no=n, oid=oid(n), iid=iid, invoice=20000 + i * 3 + r.randint(0, 2), placed=placed, paid=paid,
                status='open', cancelled=None, dispatched=None, promised=(placed.astimezone(tz) +
                timedelta(days=promise_days)).date(), person=p, bank=ref, lines=[], fault=None,
                country=r.choice(countries), ship=r.choice([ship_cost, ship_cost, ship_cost + 300, 0]),
                discount=0, po=f'PO {r.randint(100, 999)}' if r.random() < .3 else '',
                gift=r.random() < .1, note='')
        o.bill_country = r.choice(countries) if r.random() < .12 else o.country
        if o.paid > b.as_of:
            o.paid = None
            o.status = 'unpaid'
        n += r.choice(number_step)
        for k in range(r.choices(range(1, 6), weights=line_counts or [36, 30, 20, 9, 5])[0]):
            f = r.choice(favourites if r.random() < .6 else sellable)
            line_no += r.randint(1, 9)
            o.lines.append(new_line(r, f, line_no, personal))
        b.orders.append(o)
    settled = [o for o in b.orders if o.status == 'open']
    for o in r.sample([o for o in settled if o.placed < b.as_of - timedelta(days=1)], max(2, orders // 22)):
        o.status = 'cancelled'
        o.cancelled = min(o.paid + timedelta(hours=r.uniform(.5, 30)), b.as_of - timedelta(hours=1))
        if r.random() < .35:
            o.paid = None
            o.cancelled = o.placed + timedelta(hours=r.uniform(5, 30))
    for o in r.sample([o for o in settled if o.status == 'open'], max(1, orders // 30)):
        o.status, o.paid = 'unpaid', None

    live = [o for o in b.orders if o.status == 'open']
    faults = faults or ['unlinked', 'unlinked', 'part', 'unsent', 'double', 'wrong'] + \
        (['part', 'unlinked'] if orders > 65 else [])
    several = [o for o in live if len(o.lines) > 1]
    for kind in faults:
        pool = several if kind in ('part', 'unlinked') and several else live
        o = r.choice([x for x in pool if x.fault is None])
        o.fault = kind
        if kind == 'unlinked':
            old = r.choice(o.lines)
            f = r.choice(bad)
            line = new_line(r, f, int(old.lid), personal)
            o.lines[o.lines.index(old)] = line
    if cancel_some:
        for o in r.sample([x for x in several if x.fault is None], 2):
            x = r.choice(o.lines)
            x.cancelled = x.qty if r.random() < .5 else 1
    for o in b.orders:
        o.goods = sum(x.qty * x.price for x in o.lines)
        if r.random() < .08:
            o.discount = o.goods // 10
        o.total = o.goods + o.ship - o.discount

    # what the supplier was asked to make
    b.submissions, raw = [], []
    for o in b.orders:
        if o.paid is None or o.fault == 'unsent':
            continue
        if o.status == 'cancelled' and r.random() < .25:
            continue
        wanted = []
        for x in o.lines:
            if x.offer in bad:
                continue
            q = x.qty - x.cancelled
            if q:
                wanted.append([x, x.offer.variant, q])
        if o.fault == 'part' and len(wanted) > 1:
            wanted.remove(r.choice(wanted))
        if o.fault == 'wrong' and wanted:
            w = r.choice(wanted)
            near = [v for v in b.variants if v.good is w[1].good and v.design == w[1].design and v is not w[1]]
            w[1] = r.choice(near or b.variants)
        if not wanted:
            continue
        at = o.paid + timedelta(seconds=r.randint(60, 4 * 3600))
        raw.append(Rec(order=o, at=at, wanted=wanted, replaces=None, text=None))
        if o.fault == 'double':
            raw.append(Rec(order=o, at=at + timedelta(minutes=r.randint(9, 900)), wanted=wanted, replaces=None,
                           text=None))
    for text in strays:
        at = b.as_of - timedelta(days=r.randint(2, days - 2), seconds=r.randrange(30000))
        raw.append(Rec(order=None, at=at, wanted=[[None, r.choice(b.variants), 1]], replaces=None, text=text))
    for k in range(remakes):
        s = r.choice([x for x in raw if x.order and x.replaces is None
                      and x.at < b.as_of - timedelta(days=9)])
        raw.append(Rec(order=s.order, at=s.at + timedelta(days=7, minutes=r.randint(1, 700)),
                       wanted=s.wanted[:1], replaces=s, text=None))
    raw = [s for s in raw if s.at < b.as_of]
    if per_line:
        raw = [Rec(order=s.order, at=s.at, wanted=[w], replaces=s.replaces, text=s.text)
               for s in raw for w in s.wanted]
    raw.sort(key=lambda s: s.at)
    sn, ln, pn = 0, 88000, 0
    tracking = tracking or (lambda r, i: 'NP%09d' % (512000341 + i * 977 + r.randint(0, 900)))
    packed = {}
    for s in raw:
        sn += r.choice([1, 1, 2, 3, 5])
        ship_at = s.at
        need = r.randint(*working)
        while need:
            ship_at += timedelta(days=1)
            if ship_at.weekday() < 5:
                need -= 1
        ship_at = ship_at.astimezone(tz).replace(hour=r.randint(9, 17), minute=r.randrange(60),
                                                 second=r.randrange(60)).astimezone(UTC)
        sub = Rec(sid=sid(r, sn), order=s.order, ref=s.order.oid if s.order else (s.text or ''), text=s.text,
                  received=s.at, lines=[], parcels=[], replaces='', raw=s)
        s.sub = sub
        if s.replaces is not None:
            sub.replaces = s.replaces.sub.sid
        for k, (x, v, q) in enumerate(s.wanted):
            ln += r.randint(1, 4)
            sub.lines.append(Rec(n=k + 1, id=str(ln), line=x, v=v, qty=q, cost=v.cost, sku=v.sku, vid=v.vid))
        o = s.order
        if o and o.status == 'cancelled':
            sub.status = 'cancelled'
            sub.updated = max(sub.received, o.cancelled) + timedelta(minutes=r.randint(2, 200))
            if r.random() < .4 and ship_at < b.as_of:
                sub.status = 'dispatched'
        elif ship_at < b.as_of:
            sub.status = 'dispatched'
        elif s.at < b.as_of - timedelta(hours=26):
            sub.status = 'held' if r.random() < .06 else 'making'
            sub.updated = s.at + timedelta(hours=r.uniform(1, 20))
        else:
            sub.status = 'received'
            sub.updated = s.at
        if sub.status == 'dispatched':
            sub.updated = ship_at
            groups = [sub.lines]
            if parcels == 'full' and len(sub.lines) > 1 and r.random() < .25:
                groups = [sub.lines[:1], sub.lines[1:]]
            carrier = r.choice(carriers)
            for k, g in enumerate(groups):
                pn += 1
                at = ship_at + timedelta(hours=22 * k)
                if at > b.as_of:
                    sub.status = 'making'
                    continue
                sub.parcels.append(Rec(pid='%d' % (6600 + pn * 3), at=at, carrier=carrier,
                                       track=tracking(r, pn), lines=[(y, y.qty) for y in g]))
                sub.updated = at
            if o:
                packed.setdefault(id(o), []).append(sub)
        b.submissions.append(sub)
    double = [s for s in b.submissions if s.order and s.order.fault == 'double' and s.status != 'dispatched']
    if double:
        double[-1].status = 'rejected'

    for o in b.orders:
        mine = [s for s in b.submissions if s.order is o]
        done = [s for s in mine if s.status == 'dispatched']
        if o.status == 'open' and mine and done and all(s.status in ('dispatched', 'rejected') for s in mine):
            at = max(p.at for s in done for p in s.parcels) + timedelta(minutes=r.randint(5, 240))
            if at < b.as_of:
                o.dispatched, o.status = at, 'dispatched'
        o.updated = max(t for t in (o.placed, o.paid, o.cancelled, o.dispatched) if t)
    b.parcels = [(s, p) for s in b.submissions for p in s.parcels]
    b.lines = [(o, x) for o in b.orders for x in o.lines]
    return b


def new_line(r, f, lid, personal):
    text = ''
    if personal and r.random() < personal[1]:
        text = r.choice(personal[2])
    q = r.choices([1, 2, 3, 4, 6], weights=[68, 20, 8, 3, 1])[0]
    return Rec(lid=str(lid), offer=f, listing=f.listing, sku=f.sku, title=f.title, opts=f.opts, text=text, qty=q,
               cancelled=0, price=f.price)


# ---- the exchange tables and the truth ----

def exchange(b, st, su, supplier, links=()):
    subs = b.submissions
    rows = {
        'orders': [dict(order_id=o.oid, placed_at=o.placed, paid_at=o.paid, status=o.status, currency=b.currency,
                        promised_by=o.promised, ship_to_country=o.country, updated_at=o.updated)
                   for o in b.orders],
        'order_lines': [dict(order_id=o.oid, line_id=x.lid if 'order_lines.line_id' in st.at else str(i + 1),
                             listing_id=x.listing, sku=x.sku, title=x.title, options=st.options_of(x),
                             quantity=x.qty, cancelled_quantity=x.cancelled, unit_price=x.price,
                             updated_at=o.updated)
                        for o in b.orders for i, x in enumerate(o.lines)],
        'offers': [dict(listing_id=f.listing, sku=f.sku, title=f.title, options=st.options_of(f), price=f.price,
                        currency=b.currency, buyable='true' if f.buyable else 'false') for f in b.offers],
        'variants': [dict(supplier=supplier, variant_id=v.vid, sku=v.sku, product=v.product, options=v.opts,
                          unit_cost=v.cost, currency=b.currency, available='true' if v.available else 'false')
                     for v in b.variants],
        'links': [dict(k, supplier=supplier) for k in links],
        'submissions': [dict(supplier=supplier, submission_id=s.sid, order_ref=s.ref, status=s.status,
                             received_at=s.received, replaces=s.replaces, updated_at=s.updated) for s in subs],
        'submission_lines': [dict(supplier=supplier, submission_id=s.sid,
                                  line_id=y.id if 'submission_lines.line_id' in su.at else str(y.n),
                                  order_ref=s.ref, order_line_ref=y.line.lid if y.line else '',
                                  variant_id=y.vid, sku=y.sku, quantity=y.qty, status=s.status,
                                  unit_cost=y.cost, updated_at=s.updated)
                             for s in subs for y in s.lines],
        'parcels': [dict(supplier=supplier, parcel_id=p.track if b.parcel_by_tracking else p.pid,
                         submission_id=s.sid, dispatched_at=p.at, carrier=p.carrier, tracking_number=p.track)
                    for s, p in b.parcels],
        'parcel_lines': [dict(supplier=supplier, parcel_id=p.pid, submission_line_id=y.id
                              if 'submission_lines.line_id' in su.at else str(y.n), quantity=q)
                         for s, p in b.parcels for y, q in p.lines],
    }
    out = {}
    for table, columns in TABLES.items():
        cols = [c for c in columns if f'{table}.{c}' in st.at or f'{table}.{c}' in su.at]
        if not cols:
            continue
        cols = [c for c in columns if c in cols or c in ALWAYS.get(table, [])]
        body = []
        for row in rows[table]:
            cells = []
            for c in cols:
                v = row[c]
                key = f'{table}.{c}'
                form = st.forms.get(key) or su.forms.get(key)
                if form is not None:
                    v = form.ex(v)
                elif isinstance(v, dict):
                    v = json.dumps(v, ensure_ascii=False)
                assert not isinstance(v, (datetime, date)), (key, v)
                cells.append('' if v is None else str(v))
            body.append(cells)
        f = io.StringIO()
        w = csv.writer(f, lineterminator='\r\n')
        w.writerow(cols)
        w.writerows(body)
        out[table + '.csv'] = f.getvalue().encode()
    return out


def write_pair(root, name, b, st, su, supplier, links=()):
    base = os.path.join(root, name)
    for sub, files in (('storefront', st.files), ('supplier', su.files),
                       ('exchange', exchange(b, st, su, supplier, links))):
        os.makedirs(os.path.join(base, sub), exist_ok=True)
        for f, body in files.items():
            with open(os.path.join(base, sub, f), 'wb') as h:
                h.write(body)
    truth = {'zone': b.zone, 'supplier': supplier, 'storefront': st.truth(), 'supplier_source': su.truth()}
    with open(os.path.join(base, 'truth.json'), 'w', encoding='utf-8') as h:
        json.dump(truth, h, ensure_ascii=False, indent=1)
        h.write('\n')
