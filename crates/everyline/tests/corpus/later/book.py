"""An invented book of orders: what was bought, what the supplier was asked for, what was dispatched.

Knows nothing about files. `build(cfg)` returns a Book; the same cfg gives the same book.
Money is in whole minor units, times carry the shop's zone.
"""
import random
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo


@dataclass
class Line:
    line_id: str
    listing_id: str
    sku: str
    title: str
    choices: list          # [(name, value)], the true choices
    text: str              # what the customer typed, or ''
    quantity: int
    cancelled: int
    price: int
    offer: object = None


@dataclass
class Order:
    order_id: str
    n: int
    placed: datetime
    paid: object
    status: str
    promised: datetime
    country: str
    person: dict
    lines: list
    shipping: int
    fault: str
    updated: datetime = None
    dispatched: object = None
    cancelled: object = None

    @property
    def goods_total(self):
        return sum(l.price * l.quantity for l in self.lines)

    @property
    def total(self):
        return self.goods_total + self.shipping


@dataclass
class SubLine:
    line_id: str
    variant: object
    quantity: int
    status: str = ''
    order_ref: str = ''
    order_line_ref: str = ''


@dataclass
class Parcel:
    parcel_id: str
    dispatched: datetime
    carrier: str
    tracking: str
    lines: list = field(default_factory=list)


@dataclass
class Sub:
    submission_id: str
    order: Order
    received: datetime
    lines: list
    status: str = ''
    replaces: str = ''
    dispatched: object = None
    updated: datetime = None
    parcels: list = field(default_factory=list)


@dataclass
class Variant:
    variant_id: str
    sku: str
    product: str
    design: str
    choices: list          # [(kind, value)], kind 'size' or 'colour', in the supplier's words
    cost: int
    available: bool


@dataclass
class Offer:
    listing_id: str
    sku: str
    title: str
    choices: list
    price: int
    buyable: bool
    variant: object


@dataclass
class Book:
    orders: list
    subs: list
    variants: list
    offers: list
    exported: datetime
    rng: random.Random


def build(cfg):
    rng = random.Random(cfg['seed'])
    zone = ZoneInfo(cfg['zone'])
    start = datetime.fromisoformat(cfg['start']).replace(tzinfo=zone)
    exported = (start + timedelta(days=cfg['days'])).replace(hour=7, minute=30)
    variants, offers = catalogue(cfg, rng)
    good = [o for o in offers if o.variant and o.buyable]
    bad = [o for o in offers if not o.variant]
    rng.shuffle(good)
    weights = [1 / (1 + i / 25) for i in range(len(good))]

    moments = []
    for _ in range(cfg['orders']):
        day = start + timedelta(days=rng.randrange(cfg['days']))
        moments.append(day.replace(hour=rng.randrange(7, 23), minute=rng.randrange(60), second=rng.randrange(60)))
    moments = sorted(set(moments))
    cases = deal_cases(rng, len(moments))

    orders, n, line_no = [], cfg['first_order'], cfg.get('first_line', 1)
    for i, placed in enumerate(moments):
        n += rng.choice([1, 1, 1, 2, 3])
        fault = cases[i]
        count = rng.choices([1, 2, 3, 4], [30, 34, 23, 13])[0]
        if fault in ('unlinked', 'partial'):
            count = max(2, count)
        picked = []
        while len(picked) < count:
            o = rng.choices(good, weights)[0]
            if o not in picked:
                picked.append(o)
        if fault == 'unlinked':
            picked[rng.randrange(count)] = rng.choice(bad)
        if fault == 'all-unlinked':
            picked = [rng.choice(bad)]
        lines = []
        for k, o in enumerate(picked):
            line_id = {'global': str(line_no), 'ordinal': str(k + 1),
                       'under': f"{cfg['order_id'](n)}-{k + 1}"}[cfg['line_ids']]
            line_no += rng.choice([1, 1, 2])
            text = rng.choice(cfg['texts']) if rng.random() < cfg['text_rate'] else ''
            qty = rng.choices([1, 2, 3, 5], [68, 22, 8, 2])[0]
            cx = 1 if cfg.get('cancels_units') and qty > 1 and rng.random() < 0.15 else 0
            lines.append(Line(line_id, o.listing_id, o.sku, o.title, o.choices, text, qty, cx, o.price, o))
        paid = None if fault in ('unpaid', 'cancelled-unpaid') else placed + timedelta(
            seconds=rng.choice([rng.randrange(20, 400), rng.randrange(20, 400), rng.randrange(3600, 90000)]))
        if paid and paid > exported:
            paid = placed + timedelta(seconds=40)
        orders.append(Order(cfg['order_id'](n), n, placed, paid, 'open', workdays(placed, cfg['promise_days']),
                            rng.choices(*zip(*cfg['countries']))[0], person(cfg, rng), lines,
                            rng.choice(cfg['shipping']), fault))
    subs = submit(cfg, rng, orders, good, exported)
    settle(cfg, rng, orders, subs, exported)
    truncate(cfg, orders, subs)
    return Book(orders, subs, variants, offers, exported, rng)


def deal_cases(rng, n):
    faults = ['unlinked', 'partial', 'unsent', 'double', 'wrong', 'unlinked', 'all-unlinked', 'short']
    idle = ['cancelled', 'unpaid', 'cancelled-unpaid', 'cancelled', 'unpaid']
    k = max(4, round(n * 0.075))
    cases = [idle[i % len(idle)] for i in range(k)]
    rest = n - k
    f = max(5, round(rest * 0.10))
    cases += [faults[i % len(faults)] for i in range(f)]
    cases += ['full'] * (rest - f)
    rng.shuffle(cases)
    return cases


def workdays(t, n):
    while n:
        t += timedelta(days=1)
        if t.weekday() < 5:
            n -= 1
    return t.replace(hour=18, minute=0, second=0)


def catalogue(cfg, rng):
    variants, offers = [], []
    v_no, l_no = cfg.get('first_variant', 1), cfg.get('first_listing', 1)
    names = cfg['option_names']
    for d_code, design in cfg['designs']:
        multi_id = None
        for g in cfg['goods']:
            if rng.random() < cfg.get('skip_good', 0.0):
                continue
            if cfg['listing'] == 'single' or multi_id is None:
                multi_id = cfg['listing_id'](l_no)
                l_no += rng.choice([1, 2, 5])
            title = design if cfg['listing'] == 'multi' else cfg['title'](design, g['name'])
            for size in g['sizes'] or ['']:
                for c_code, colour, s_colour in g['colours']:
                    sku = cfg['sku'](d_code, g['code'], size, c_code)
                    dear = cfg.get('dear', 300) if size in ('XL', '2XL', '3XL') else 0
                    kinds = []
                    if size:
                        kinds.append(('size', size))
                    if colour:
                        kinds.append(('colour', s_colour))
                    v = Variant(cfg['variant_id'](v_no, d_code), cfg['variant_sku'](sku), g['made_as'], design, kinds,
                                g['cost'] + dear // 2, rng.random() > 0.04)
                    v_no += rng.choice([1, 1, 3])
                    variants.append(v)
                    choices = []
                    if cfg['listing'] == 'multi':
                        choices.append((names['good'], g['name']))
                    if size:
                        choices.append((names['size'], cfg.get('size_words', {}).get(size, size)))
                    if colour:
                        choices.append((names['colour'], colour))
                    r = rng.random()
                    o = Offer(multi_id, sku, title, choices, g['price'] + dear, rng.random() > 0.03, v)
                    if r < 0.025:
                        o.sku, o.variant, o.buyable = '', None, True
                    elif r < 0.05:
                        o.sku, o.variant, o.buyable = cfg['stray_sku'](sku), None, True
                    offers.append(o)
    return variants, offers


def person(cfg, rng):
    first, last = rng.choice(cfg['first_names']), rng.choice(cfg['last_names'])
    return {'first': first, 'last': last, 'name': f'{first} {last}',
            'mail': f"{ascii_only(first)}.{ascii_only(last)}{rng.randrange(10, 99)}@{rng.choice(['example.com', 'example.org', 'example.net'])}",
            'street': f"{rng.choice(cfg['streets'])} {rng.randrange(1, 180)}",
            'city': rng.choice(cfg['cities']), 'zip': str(rng.randrange(10000, 99999)),
            'phone': f'+00 555 {rng.randrange(1000, 9999)}', 'no': rng.randrange(1000, 9000)}


def ascii_only(s):
    return ''.join(c for c in s.lower() if c.isascii() and c.isalpha())


def submit(cfg, rng, orders, good, exported):
    subs = []

    def send(o, lines, after):
        received = after + timedelta(seconds=rng.randrange(120, 14000))
        if received < exported and lines:
            subs.append(Sub('', o, received, [SubLine('', v, q, order_line_ref=ref) for v, q, ref in lines]))
            return subs[-1]

    for o in orders:
        if o.fault in ('unpaid', 'cancelled-unpaid', 'unsent'):
            continue
        parts = [(l.offer.variant, l.quantity - l.cancelled, l.line_id) for l in o.lines if l.offer.variant]
        parts = [p for p in parts if p[1]]
        if o.fault == 'partial':
            parts.pop(rng.randrange(len(parts)))
        if o.fault == 'short':
            o.lines[0].quantity, o.lines[0].cancelled = 2, 0
            parts[0] = (parts[0][0], 1, parts[0][2])
        if o.fault == 'wrong':
            v = parts[0][0]
            near = [g.variant for g in good if g.variant.product == v.product and g.variant is not v
                    and g.variant.design == v.design]
            near = near or [g.variant for g in good if g.variant.product == v.product and g.variant is not v]
            parts[0] = (rng.choice(near),) + parts[0][1:]
        if o.fault == 'full' and len(parts) > 2 and rng.random() < 0.12:
            send(o, parts[:1], o.paid)
            send(o, parts[1:], o.paid)
            continue
        if o.fault == 'full' and cfg.get('rejects') and rng.random() < 0.03:
            first = send(o, parts, o.paid)
            if first:
                first.status = 'rejected'
                send(o, parts, first.received + timedelta(hours=3))
            continue
        s = send(o, parts, o.paid)
        if o.fault == 'double' and s:
            send(o, parts, s.received + timedelta(hours=1))
        if o.fault == 'cancelled' and s and rng.random() < 0.7:
            s.status = 'cancelled'
    return subs


def settle(cfg, rng, orders, subs, exported):
    for s in subs:
        s.updated = s.received + timedelta(seconds=rng.randrange(30, 3000))
        if s.status in ('cancelled', 'rejected'):
            continue
        d = s.received + timedelta(days=rng.choice([1, 2, 2, 3, 3, 4, 5]))
        while d.weekday() > 4:
            d += timedelta(days=1)
        d = d.replace(hour=rng.randrange(10, 17), minute=rng.randrange(60), second=rng.randrange(60))
        if d < exported:
            s.status, s.dispatched, s.updated = 'dispatched', d, d + timedelta(minutes=rng.randrange(1, 30))
        elif exported - s.received > timedelta(hours=26):
            s.status = 'making'
            s.updated = min(s.received + timedelta(hours=20, seconds=rng.randrange(3000)), exported - timedelta(hours=1))
        else:
            s.status = 'received'
    waiting = [s for s in subs if s.status in ('making', 'received')]
    if waiting and cfg.get('holds', True):
        waiting[len(waiting) // 2].status = 'held'
    gone = [s for s in subs if s.dispatched and s.dispatched < exported - timedelta(days=7)]
    for s in rng.sample(gone, cfg.get('remakes', 0)):
        r = s.dispatched + timedelta(days=2, hours=3)
        again = Sub('', s.order, r, [SubLine('', s.lines[0].variant, 1, order_line_ref=s.lines[0].order_line_ref)], 'making', s, None, r + timedelta(hours=5))
        d = r + timedelta(days=2)
        while d.weekday() > 4:
            d += timedelta(days=1)
        if d < exported:
            again.status, again.dispatched, again.updated = 'dispatched', d, d + timedelta(minutes=7)
        subs.append(again)
    subs.sort(key=lambda s: s.received)
    line_no = cfg.get('first_sub_line', 1)
    n = cfg['first_sub']
    for s in subs:
        n += rng.choice([1, 2, 3, 4])
        s.submission_id = cfg['sub_id'](n)
        for k, l in enumerate(s.lines):
            l.line_id = cfg['sub_line_id'](line_no, k)
            l.order_ref = s.order.order_id
            line_no += 1
        if s.dispatched:
            carrier = rng.choice(cfg['carriers'])
            boxes = 2 if cfg.get('two_boxes') and len(s.lines) > 2 and rng.random() < 0.4 else 1
            for b in range(boxes):
                number = cfg['tracking'](rng)
                at = s.dispatched + timedelta(minutes=3 * b)
                s.parcels.append(Parcel(number, at, carrier, number))
    for s in subs:
        s.replaces = s.replaces.submission_id if s.replaces else ''
    for o in orders:
        mine = [s for s in subs if s.order is o and s.status not in ('cancelled', 'rejected') and not s.replaces]
        last = o.paid or o.placed
        if o.fault == 'unpaid':
            o.status = 'unpaid'
        elif o.fault in ('cancelled', 'cancelled-unpaid'):
            o.status = 'cancelled'
            o.cancelled = min(last + timedelta(hours=rng.randrange(2, 30), seconds=rng.randrange(3000)),
                              exported - timedelta(minutes=20))
            last = max(last, o.cancelled)
        elif mine and all(s.status == 'dispatched' for s in mine):
            o.status = 'dispatched'
            o.dispatched = min(max(s.dispatched for s in mine) + timedelta(seconds=rng.randrange(60, 4000)),
                               exported - timedelta(minutes=5))
            last = max(last, o.dispatched)
        o.updated = last + timedelta(seconds=rng.randrange(1, 50))


def truncate(cfg, orders, subs):
    def cut(t):
        return t.replace(second=0) if t else t
    if cfg.get('store_minutes'):
        for o in orders:
            o.placed, o.paid, o.updated = cut(o.placed), cut(o.paid), cut(o.updated)
            o.dispatched, o.cancelled = cut(o.dispatched), cut(o.cancelled)
    if cfg.get('supplier_minutes'):
        for s in subs:
            s.received, s.dispatched, s.updated = cut(s.received), cut(s.dispatched), cut(s.updated)
            for p in s.parcels:
                p.dispatched = cut(p.dispatched)
