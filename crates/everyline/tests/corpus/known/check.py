#!/usr/bin/env python3
"""Reads every source by its truth.json and compares what it says with exchange/: python3 check.py [FOLDER].

Needs openpyxl and odfpy. Knows nothing of make.py; exit 0 where every pair agrees.
"""
import csv
import io
import json
import os
import re
import sys
from collections import Counter
from datetime import date, datetime, timezone
from decimal import Decimal
from zoneinfo import ZoneInfo

ROOT = sys.argv[1] if len(sys.argv) > 1 else os.path.dirname(os.path.abspath(__file__))
KEYS = {'orders': ['order_id'], 'order_lines': ['order_id', 'line_id'], 'offers': ['listing_id', 'options'],
        'variants': ['variant_id'], 'links': ['listing_id', 'sku', 'options', 'variant_id'],
        'submissions': ['submission_id'], 'submission_lines': ['submission_id', 'line_id'],
        'parcels': ['parcel_id'], 'parcel_lines': ['parcel_id', 'submission_line_id']}
TIMES = {'placed_at', 'paid_at', 'promised_by', 'received_at', 'dispatched_at', 'updated_at'}
MONEY = {'unit_price', 'price', 'unit_cost'}


def cell_text(v):
    if v is None:
        return ''
    if isinstance(v, float) and v == int(v):
        return str(int(v))
    if isinstance(v, bool):
        return 'true' if v else 'false'
    return v if isinstance(v, (datetime, date)) else str(v)


def read_ods(path):
    from odf.opendocument import load
    from odf.table import Table, TableCell, TableRow
    from odf.teletype import extractText
    rows = []
    for tr in load(path).spreadsheet.getElementsByType(Table)[0].getElementsByType(TableRow):
        out = []
        for c in tr.getElementsByType(TableCell):
            kind = c.getAttribute('valuetype')
            if kind == 'float':
                out.append(float(c.getAttribute('value')))
            elif kind == 'date':
                out.append(datetime.fromisoformat(c.getAttribute('datevalue')))
            else:
                out.append(extractText(c) or None)
        rows.append(out)
    return rows


def load_file(path, shape):
    if shape['format'] == 'json':
        with open(path, encoding='utf-8') as f:
            return json.load(f, parse_float=Decimal)
    if shape['format'] == 'jsonl':
        with open(path, encoding='utf-8') as f:
            return [json.loads(x, parse_float=Decimal) for x in f]
    if shape['format'] == 'csv':
        with open(path, 'rb') as f:
            rows = list(csv.reader(io.StringIO(f.read().decode(shape['encoding'])), delimiter=shape['delimiter']))
    elif shape['format'] == 'xlsx':
        from openpyxl import load_workbook
        rows = [list(r) for r in load_workbook(path).worksheets[0].iter_rows(values_only=True)]
    else:
        rows = read_ods(path)
    h = shape['header_row']
    headers = rows[h - 1]
    assert len(set(headers)) == len(headers), path
    table = [dict(zip(headers, list(r) + [None] * (len(headers) - len(r)))) for r in rows[h:]]
    fill = shape.get('filled_on_first_row_only')
    if fill:
        held = None
        for r in table:
            if r[fill[0]] not in (None, ''):
                held = r
            r.update({k: held[k] for k in fill})
    return table


# ---- JSON ----

def steps(path):
    out = []
    for part in path.split('.'):
        name, stars = re.fullmatch(r'([^\[]*)((?:\[\*\])*)', part).groups()
        if name:
            out.append(name)
        out += ['*'] * (len(stars) // 3)
    return out


def walk(node, path, where):
    """Yields (indices taken, node) for each node at the path."""
    if not path:
        yield where, node
    elif path[0] == '*':
        for i, x in enumerate(node or []):
            yield from walk(x, path[1:], where + (i,))
    elif isinstance(node, dict) and node.get(path[0]) is not None:
        yield from walk(node[path[0]], path[1:], where)


def json_rows(tree, fields):
    paths = {f['column']: [steps(a) for a in f['at']] for f in fields}

    def depth(p):
        return p.count('*')
    deepest = max((p for ps in paths.values() for p in ps), key=depth)
    cut = max((i + 1 for i, s in enumerate(deepest) if s == '*'), default=0)
    values = {}
    for c, ps in paths.items():
        values[c] = [(depth(p), dict(walk(tree, p, ()))) for p in ps]
    for where, _ in walk(tree, deepest[:cut], ()):
        row = {c: [d.get(where[:n]) for n, d in vs] for c, vs in values.items()}
        yield row


# ---- tables ----

def table_rows(rows, fields, numbered):
    for r in rows:
        many = [f for f in fields if f.get('all') and len(f['at']) > 1 and all(re.search(r'\d', a) for a in f['at'])]
        if numbered and many:
            for i in range(numbered):
                if all(r[f['at'][i]] in (None, '') for f in many):
                    continue
                yield {f['column']: [r[f['at'][i]]] if f in many else [r[a] for a in f['at']] for f in fields}
        else:
            yield {f['column']: [r[a] for a in f['at']] for f in fields}


# ---- values ----

def moment(v, form, zone):
    if v is None or v == '':
        return ''
    if form == 'rfc3339':
        datetime.fromisoformat(v.replace('Z', '+00:00'))
        return v
    if form.startswith('epoch'):
        n = int(v)
        if n == 0:
            return ''
        if form == 'epoch seconds':
            return datetime.fromtimestamp(n, timezone.utc).strftime('%Y-%m-%dT%H:%M:%SZ')
        return datetime.fromtimestamp(n // 1000, timezone.utc).strftime('%Y-%m-%dT%H:%M:%S') + '.%03dZ' % (n % 1000)
    if form.startswith('date '):
        return datetime.strptime(v, form[5:]).date().isoformat()
    if form == 'cell date':
        return v.date().isoformat()
    if form.startswith('local '):
        v = datetime.strptime(v, form[6:])
    assert isinstance(v, datetime), (v, form)
    if form == 'cell time':
        v = v.replace(microsecond=0)
    return v.replace(tzinfo=ZoneInfo(zone)).isoformat()


def amount(v, form):
    if v is None or v == '':
        return ''
    if form == 'minor units':
        v = Decimal(int(v)) / 100
    else:
        s = re.sub(r'[^0-9,.\-]', '', str(v))
        v = Decimal(s.replace('.', '').replace(',', '.') if 'comma' in form else s)
    return str(v.quantize(Decimal('0.01')))


def options(values, column_names, names):
    """The true choices, from an object, a list of name and value, columns, or a text."""
    if len(column_names) > 1 and column_names[0] is not None:
        return {c: str(v) for c, v in zip(column_names, values) if v not in (None, '')}
    v = values[0]
    if isinstance(v, str) and v.startswith('{'):
        v = json.loads(v)
    if isinstance(v, list):
        v = {x['name']: x['value'] for x in v}
    if isinstance(v, str):
        if len(names) == 1:
            return {names[0]: v}
        got = {}
        for part in re.split(r'(?:, | \| )(?=[^,:|]+?\s?: )', v):
            k, _, w = part.partition(':')
            got.setdefault(k.strip(), w.strip())
        v = got
    return {k: v[k] for k in names if k in v}


def status_word(values):
    return ' | '.join('<time>' if isinstance(v, datetime) or re.fullmatch(r'\d+[-/]\d+[-/]\d+ .*', cell_text(v))
                      else cell_text(v) for v in values)


def read_side(base, side, zone):
    out = {}
    loaded = {f: load_file(os.path.join(base, f), s) for f, s in side['shape'].items()}
    tables = {}
    for f in side['fields']:
        tables.setdefault(f['table'], {}).setdefault(f['file'], []).append(f)
    ref, sku = side.get('order_ref'), side.get('sku')
    for table, files in tables.items():
        assert len(files) == 1, (table, list(files))
        (file, fields), = files.items()
        shape, data = side['shape'][file], loaded[file]
        if shape['format'] == 'jsonl':
            rows = [r for rec in [data] for r in json_rows(rec, [dict(f, at=['[*].' + a for a in f['at']]) for f in fields])]
        elif shape['format'] == 'json':
            rows = list(json_rows(data, fields))
        else:
            rows = list(table_rows(data, fields, shape.get('numbered_columns')))
        at = {f['column']: f for f in fields}
        seen, counted, result = set(), Counter(), []
        for r in rows:
            row = {}
            for c, values in r.items():
                key = f'{table}.{c}'
                form = side['forms'].get(key)
                if c == 'options':
                    heads = at[c]['at'] if at[c].get('all') and not shape.get('numbered_columns') else [None]
                    row[c] = options(values, heads, side['options'][table])
                    continue
                if key in side['words']:
                    w = status_word(values)
                    row[c] = side['words'][key][w]
                    continue
                real = [v for v in values if v is not None and v != '']
                assert len({str(v) for v in real}) <= 1, (file, key, values)
                v = real[0] if real else None
                row[c] = moment(v, form, zone) if c in TIMES else amount(v, form) if c in MONEY else cell_text(v)
                if c == 'order_ref' and row[c].startswith(ref['prefix']) and row[c].endswith(ref['suffix']) and row[c]:
                    row[c] = row[c][len(ref['prefix']):len(row[c]) - len(ref['suffix'])]
                if c == 'sku' and sku and row[c].startswith(sku['prefix']):
                    row[c] = row[c][len(sku['prefix']):]
            if table == 'parcels' and not row['parcel_id']:
                continue
            if table in ('order_lines', 'submission_lines') and 'line_id' not in row:
                owner = row['order_id' if table == 'order_lines' else 'submission_id']
                counted[owner] += 1
                row['line_id'] = str(counted[owner])
            mark = json.dumps(row, sort_keys=True, ensure_ascii=False)
            if mark not in seen:
                seen.add(mark)
                result.append(row)
        out[table] = result
    return out


def compare(pair):
    base = os.path.join(ROOT, pair)
    with open(os.path.join(base, 'truth.json'), encoding='utf-8') as f:
        truth = json.load(f)
    got, bad = {}, []
    for folder, name in (('storefront', 'storefront'), ('supplier', 'supplier_source')):
        side = truth[name]
        assert sorted(os.listdir(os.path.join(base, folder))) == sorted(side['shape']), pair
        got.update(read_side(os.path.join(base, folder), side, truth['zone']))
    files = sorted(x[:-4] for x in os.listdir(os.path.join(base, 'exchange')))
    if files != sorted(got):
        bad.append(f'tables {files} against {sorted(got)}')
    numbers = {}
    for table in files:
        with open(os.path.join(base, 'exchange', table + '.csv'), encoding='utf-8', newline='') as f:
            want = list(csv.DictReader(f))
        numbers[table] = len(want)
        have = got.get(table, [])
        columns = set(want[0]) - {'supplier'}
        if columns != set(have[0]):
            bad.append(f'{table}: columns {columns ^ set(have[0])}')
        for r in want:
            if r.pop('supplier', truth['supplier']) != truth['supplier']:
                bad.append(f'{table}: supplier')
            if r.get('options'):
                r['options'] = json.loads(r['options'])
        a = Counter(json.dumps(r, sort_keys=True, ensure_ascii=False) for r in want)
        b = Counter(json.dumps(r, sort_keys=True, ensure_ascii=False) for r in have)
        if a != b:
            bad.append(f'{table}: {sum((a - b).values())} rows only in exchange, e.g. {list(a - b)[:2]}; '
                       f'{sum((b - a).values())} only in the source, e.g. {list(b - a)[:2]}')
        keys = Counter(json.dumps([r.get(k) for k in KEYS[table]], sort_keys=True) for r in want)
        for k, n in keys.items():
            if n > 1:
                bad.append(f'{table}: key {k} {n} times')
    return numbers, bad


failed = 0
for pair in sorted(x for x in os.listdir(ROOT) if re.match(r'\d\d-', x)):
    numbers, bad = compare(pair)
    print(pair, 'agrees' if not bad else 'DIFFERS', ' '.join(f'{k}={v}' for k, v in numbers.items()))
    for x in bad:
        failed += 1
        print('   ', x[:900])
sys.exit(1 if failed else 0)
