"""Reads every source by its truth with ordinary libraries and compares it with exchange/.

Run: python3 check.py (needs openpyxl and odfpy). Prints what differs and, as a hint, places that hold the
same values as a named place and are not named.
"""
import csv
import json
import os
import re
import sys
from datetime import datetime, timezone
from decimal import Decimal
from zoneinfo import ZoneInfo

HERE = os.path.dirname(os.path.abspath(__file__))
RANK = ['cancelled', 'rejected', 'unpaid', 'dispatched', 'held', 'making', 'received', 'open']
TIMES = {'placed_at', 'paid_at', 'promised_by', 'updated_at', 'received_at', 'dispatched_at'}
MONEY = {'unit_price', 'unit_cost', 'price'}
PARENT = {'orders': 'order_id', 'submissions': 'submission_id', 'parcels': 'parcel_id'}


def sheet(name):
    """Rows of cells of the first sheet."""
    if name.endswith('.xlsx'):
        from openpyxl import load_workbook
        return [list(r) for r in load_workbook(name).worksheets[0].iter_rows(values_only=True)]
    if name.endswith('.ods'):
        from odf.opendocument import load
        from odf.table import Table, TableCell, TableRow
        rows = []
        for row in load(name).spreadsheet.getElementsByType(Table)[0].getElementsByType(TableRow):
            out = []
            for c in row.getElementsByType(TableCell):
                kind, text = c.getAttribute('valuetype'), ''.join(str(p) for p in c.childNodes)
                v = {'date': lambda: datetime.fromisoformat(c.getAttribute('datevalue')),
                     'float': lambda: Decimal(c.getAttribute('value'))}.get(kind, lambda: text)()
                out.append(v)
            rows.append(out)
        return rows
    raw = open(name, 'rb').read()
    for mark, enc in ((b'\xff\xfe', 'utf-16'), (b'\xef\xbb\xbf', 'utf-8-sig')):
        if raw.startswith(mark):
            text = raw.decode(enc)
            break
    else:
        try:
            text = raw.decode('utf-8')
        except UnicodeDecodeError:
            text = raw.decode('cp1252')
    first = text.split('\n')[0]
    sep = max(',;\t', key=first.count)
    return list(csv.reader(text.splitlines(), delimiter=sep))


def flat_rows(name, heads):
    rows = sheet(name)
    i = next(i for i, r in enumerate(rows) if set(heads) <= set(r))
    head = rows[i]
    return [dict(zip(head, r + [''] * (len(head) - len(r)))) for r in rows[i + 1:]]


def walk(value, path):
    """Values at `path` with the indices chosen at each [*]."""
    if not path:
        return [((), value)]
    key, rest = path[0], path[1:]
    if key == '*':
        members = list(value.values()) if isinstance(value, dict) else value
        return [((i,) + ix, v) for i, m in enumerate(members) for ix, v in walk(m, rest)]
    if not isinstance(value, dict) or key not in value:
        return [((), None)] if '*' not in rest else []
    return walk(value[key], rest)


def tokens(path):
    return ['*' if t == '[*]' else t for t in re.findall(r'\[\*\]|[^.\[\]]+', path)]


def documents(name):
    text = open(name, encoding='utf-8').read()
    if name.endswith('.jsonl'):
        return [json.loads(l) for l in text.splitlines()]
    return [json.loads(text)]


def rows_of(folder, fields, extra):
    """One dict of place -> value for each row of the table. All fields stand in one file."""
    name = os.path.join(folder, fields[0]['file'])
    assert len({f['file'] for f in fields}) == 1, fields
    places = list(dict.fromkeys(a for f in fields for a in f['at']))
    if not name.endswith(('.json', '.jsonl')):
        rows = flat_rows(name, places)
        if extra.get('rows') and fields[0]['table'] in ('submissions', 'submission_lines', 'parcels'):
            last = None
            for r in rows:
                key = next(iter(r))
                if r[key] in (None, ''):
                    r[key] = last
                last = r[key]
        return rows
    rows = []
    lines = fields[0]['table'].endswith('lines') or fields[0]['table'] == 'offers'
    for doc in documents(name):
        got = {p: walk(doc, tokens(p)) for p in places}
        counted = {p: p.count('[*]') for p in places}
        depth = max(counted.values()) if lines else min(counted.values())
        deep = next(p for p in places if counted[p] == depth)
        index = {p: dict(v) for p, v in got.items()}
        for ix, _ in got[deep]:
            row = {}
            for p in places:
                if counted[p] <= depth:
                    row[p] = index[p].get(ix[:counted[p]])
                else:
                    below = [v for k, v in got[p] if k[:depth] == ix]
                    row[p] = below[0] if below else None
            rows.append(row)
    return rows


def text_of(v):
    if v is None:
        return ''
    if isinstance(v, bool):
        return 'true' if v else 'false'
    return str(v)


def read(v, field, truth, side, names):
    column, form = field['column'], field.get('form', '')
    zone = ZoneInfo(truth['zone'])
    if column == 'options':
        return options(v, field, names)
    if v is None or v == '':
        return ''
    if column in TIMES:
        if form == 'epoch_s':
            return datetime.fromtimestamp(v, timezone.utc)
        if form == 'epoch_ms':
            return datetime.fromtimestamp(v / 1000, timezone.utc)
        if form == 'rfc3339':
            return datetime.fromisoformat(v)
        if form.startswith('date '):
            return datetime.strptime(v, form[5:]).date().isoformat()
        if form == 'cell-date':
            return v.date().isoformat()
        if form == 'cell':
            return v.replace(tzinfo=zone)
        return datetime.strptime(v, form[6:]).replace(tzinfo=zone)
    if column in MONEY:
        if form == 'minor':
            return Decimal(v) / 100
        s = re.sub(r'[^0-9.,-]', '', str(v))
        return round(Decimal(s.replace(',', '.') if form == 'decimal-comma' else s), 2)
    words = side['words'].get(f"{field['table']}.{column}")
    v = text_of(v)
    if words is not None:
        return words[v]
    if column == 'order_ref':
        r = side['order_ref']
        assert v.startswith(r['prefix']) and v.endswith(r['suffix']), v
        return v[len(r['prefix']):len(v) - len(r['suffix'])]
    return v


def options(v, field, names):
    form = field['form']
    if form == 'object':
        return {k: v[k] for k in names if k in v}
    if form == 'pairs':
        k, w = field['pair']
        return {p[k]: p[w] for p in v if p[k] in names}
    assert form == 'text', form
    return {n: m.group(1) for n in names for m in [re.search(rf'(?:^|[,;] ){n}: ([^,;]*)', v)] if m}


def table(folder, name, truth, side):
    fields = [f for f in side['fields'] if f['table'] == name]
    names = side['options'].get(name, [])
    out, seen, counts, problems = [], set(), {}, []
    rows = rows_of(folder, fields, side)
    for row in rows:
        wide = [f for f in fields if f.get('numbered')]
        for k in range(len(wide[0]['at']) if wide else 1):
            r = {}
            for f in fields:
                at = [f['at'][k]] if f.get('numbered') else f['at']
                if f['column'] == 'options' and f['form'] == 'columns':
                    r['options'] = {a: text_of(row[a]) for a in at if row[a] not in (None, '')}
                elif f.get('all'):
                    got = []
                    for a in at:
                        if a in f.get('when_set', {}):
                            got += [f['when_set'][a]] if row[a] not in (None, '') else []
                        else:
                            w = read(row[a], f, truth, side, names)
                            got += [w] if w else []
                    r[f['column']] = min(got, key=RANK.index)
                else:
                    vals = [read(row[a], f, truth, side, names) for a in at]
                    if any(x != vals[0] for x in vals):
                        problems.append(f'{name}.{f["column"]}: {at} differ: {vals}')
                    r[f['column']] = vals[0]
            if wide and not any(r[f['column']] not in ('', None) for f in wide):
                continue
            if name in PARENT:
                key = r[PARENT[name]]
                if key == '' or (side.get('rows') and key in seen) or (name == 'submissions' and r['status'] == ''):
                    continue
                seen.add(key)
                if r in out:
                    continue
            elif name in ('order_lines', 'submission_lines') and 'line_id' not in r:
                owner = r['order_id' if name == 'order_lines' else 'submission_id']
                counts[owner] = counts.get(owner, 0) + 1
                r['line_id'] = str(counts[owner])
            out.append(r)
    return fields, rows, out, problems


def exchange(folder, name):
    out = []
    for r in csv.DictReader(open(os.path.join(folder, 'exchange', name + '.csv'), encoding='utf-8', newline='')):
        for c, v in r.items():
            if v and c in TIMES and 'T' in v:
                r[c] = datetime.fromisoformat(v)
            elif v and c in MONEY:
                r[c] = Decimal(v)
            elif c == 'options':
                r[c] = json.loads(v)
        out.append(r)
    return out


def frozen(rows):
    def one(v):
        if isinstance(v, datetime):
            return v.astimezone(timezone.utc).isoformat()
        if isinstance(v, Decimal):
            return f'{v:.2f}'
        return json.dumps(v, sort_keys=True, ensure_ascii=False) if isinstance(v, dict) else str(v)
    return sorted(tuple(sorted((k, one(v)) for k, v in r.items())) for r in rows)


def leaves(value, path=''):
    """Every scalar with its path; lists, and objects whose keys are ids, as [*]."""
    if isinstance(value, dict):
        keyed = value and all(re.match(r'c?\d', k) for k in value)
        for k, v in value.items():
            yield from leaves(v, path + '[*]' if keyed else f'{path}.{k}' if path else k)
    elif isinstance(value, list):
        for v in value:
            yield from leaves(v, path + '[*]')
    else:
        yield path, value


def twins(fields, rows, folder):
    """Unnamed places that hold, value by value, the same as a named one."""
    name = os.path.join(folder, fields[0]['file'])
    columns = {}
    if name.endswith(('.json', '.jsonl')):
        for d in documents(name):
            for p, v in leaves(d):
                columns.setdefault(p, []).append(v)
    else:
        columns = {c: [r.get(c) for r in rows] for c in rows[0]}
    for f in fields:
        for a in f['at']:
            for c, values in columns.items():
                if c not in f['at'] and values == columns.get(a) and any(v not in (None, '') for v in values):
                    yield f'{f["table"]}.{f["column"]}: {c!r} holds the same as {a!r}'


def main():
    bad = 0
    for pair in sorted(p for p in os.listdir(HERE) if p[:2].isdigit()):
        folder = os.path.join(HERE, pair)
        truth = json.load(open(os.path.join(folder, 'truth.json'), encoding='utf-8'))
        said = []
        made = {f[:-4] for f in os.listdir(os.path.join(folder, 'exchange'))}
        for key, sub in (('storefront', 'storefront'), ('supplier_source', 'supplier')):
            side = truth[key]
            where = os.path.join(folder, sub)
            listed = {f['file'] for f in side['fields']}
            if listed != set(os.listdir(where)):
                said.append(f'{sub}: files {sorted(set(os.listdir(where)) ^ listed)} are not in the truth')
            used = {k: set() for k in side['words']}
            for name in dict.fromkeys(f['table'] for f in side['fields']):
                fields, rows, got, problems = table(where, name, truth, side)
                said += problems[:3]
                made.discard(name)
                want = exchange(folder, name)
                if name not in ('orders', 'order_lines', 'offers'):
                    for r in got:
                        r['supplier'] = truth['supplier']
                a, b = frozen(got), frozen(want)
                if a != b:
                    extra = [x for x in a if x not in b][:2]
                    missing = [x for x in b if x not in a][:2]
                    said.append(f'{name}: {len(a)} read, {len(b)} in exchange; only read {extra}; only in exchange {missing}')
                for f in fields:
                    k = f"{name}.{f['column']}"
                    if k in used:
                        used[k] |= {text_of(r[p]) for r in rows for p in f['at'] if p not in f.get('when_set', {}) and r[p] not in (None, '')}
                for t in twins(fields, rows, where):
                    print('  hint', pair, t)
            for k, u in used.items():
                if u != set(side['words'][k]):
                    said.append(f'{k}: words {sorted(u ^ set(side["words"][k]))}')
        said += [f'{m}: in exchange, in no truth' for m in made]
        n = {t: len(exchange(folder, t)) for t in ('orders', 'order_lines', 'submissions', 'submission_lines')}
        print(pair, 'agrees' if not said else 'DIFFERS', n)
        for s in said:
            print('   ', s)
        bad += bool(said)
    sys.exit(bad)


if __name__ == '__main__':
    main()
