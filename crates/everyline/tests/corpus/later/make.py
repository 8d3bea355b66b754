"""Makes the eight pairs of invented sources, each with its exchange tables and its truth.

Run: python3 make.py (needs openpyxl and odfpy). Seeded: the same files every time.
Start reading at `main`; one function a pair.
"""
import csv
import os
import random
import shutil
import uuid
from collections import defaultdict
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

from book import Parcel, Sub, SubLine, build
from files import (At, Side, Words, comma, dec, iso, loc, millis, num, secs, tables, write_csv, write_exchange,
                   write_json, write_jsonl, write_ods, write_truth, write_xlsx, zulu)

HERE = os.path.dirname(os.path.abspath(__file__))

ENGLISH = {
    'first_names': ['Orla', 'Tamsin', 'Bram', 'Edda', 'Piers', 'Wilmot', 'Juno', 'Cormac', 'Hettie', 'Ansel'],
    'last_names': ['Thwaitley', 'Ormsgrove', 'Pellinore', 'Dunmarrow', 'Ashquill', 'Verrick', "O'Hanlan-Roe", 'Stubbings'],
    'streets': ['Larch Row', 'Old Weir Lane', 'Candle Street', 'Plover Close', 'The Ropewalk'],
    'cities': ['Millhaven', 'Port Aster', 'Upper Sedge', 'Kilbrannoch'],
    'texts': ['For Gran, with love', 'ADA', 'Happy 40th, Tom!', 'Team Otter 2026', 'please no full stop', 'M & J', 'Size of text: small'],
}
GERMAN = {
    'first_names': ['Jörg', 'Änne', 'Wendelin', 'Friedrun', 'Käthe', 'Ottokar', 'Lioba', 'Hanno'],
    'last_names': ['Grübelmann', 'von Strohfeld', 'Kiesewett', 'Öhmichen-Rath', 'Sandhöfer', 'Tannwald'],
    'streets': ['Am Krähenholz', 'Brunnengässchen', 'Lange Zeile', 'Mühlsteig'],
    'cities': ['Oberlauben', 'Hinterweil', 'Sankt Wendling', 'Neustädtlein'],
    'texts': ['Für Oma, die Beste', 'Jan & Mia', 'Chefkoch', 'Größe bitte nicht verwechseln', 'Danke, Team!'],
}
FRENCH = {
    'first_names': ['Maëlle', 'Théophane', 'Solène', 'Gaspard', 'Inès', 'Côme', 'Ombeline'],
    'last_names': ['Vaucresson-Lys', 'Bellegarrigue', "d'Ormeval", 'Tournemain', 'Prévôtet', 'Sanscartier'],
    'streets': ['rue des Moulinets', 'allée du Vieux Puits', 'chemin de la Forge', 'impasse Aubépine'],
    'cities': ['Saint-Orfeuil', 'Villebrune', 'Le Thoronay'],
    'texts': ['Pour Mamie', 'Léa & Hugo', "L'atelier d'Ève", 'Bonne fête, papa', 'taille normale svp'],
}
SPANISH = {
    'first_names': ['Íñigo', 'Maruxa', 'Begoña', 'Leandro', 'Ximena', 'Nuño'],
    'last_names': ['Peñafuente', 'Robledillo Sáez', 'Cantueso', 'Valdehierro', 'Monteagudín'],
    'streets': ['calle del Tamboril', 'plaza Mayorcita', 'camino de la Aceña', 'avda. Jacarandá'],
    'cities': ['Villarrocín', 'Puerto Salina', 'Alcoraya'],
    'texts': ['Para la abuela', '¡Feliz cumple, Ana!', 'Peña El Botijo', 'Lola', 'color como en la foto'],
}


def good(code, name, made_as, sizes, colours, price, cost):
    return {'code': code, 'name': name, 'made_as': made_as, 'sizes': sizes,
            'colours': [c if len(c) == 3 else (c[0], c[1], c[1]) for c in colours], 'price': price, 'cost': cost}


def digits(prefix, n, suffix=''):
    return lambda rng: prefix + ''.join(rng.choice('0123456789') for _ in range(n)) + suffix


def by_id(rng, n=8):
    return ''.join(rng.choice('0123456789abcdef') for _ in range(n))


def place(pair):
    folder = os.path.join(HERE, pair)
    shutil.rmtree(folder, ignore_errors=True)
    return folder, os.path.join(folder, 'storefront'), os.path.join(folder, 'supplier')


def finish(folder, cfg, supplier, store, source, t):
    write_exchange(os.path.join(folder, 'exchange'), supplier, store, source, t)
    write_truth(folder, cfg['zone'], supplier, store, source)


def quillmoor():
    """A terse developer: short keys, epoch seconds, minor units. Supplier: comma CSV with mark, a row per line."""
    colours = [('MO', 'Moss'), ('IN', 'Ink'), ('OA', 'Oat'), ('RU', 'Rust')]
    cfg = {**ENGLISH, 'seed': 101, 'zone': 'Europe/Dublin', 'currency': 'EUR', 'start': '2026-03-02', 'days': 38, 'orders': 72,
           'first_order': 20411, 'order_id': str, 'line_ids': 'global', 'first_line': 88104, 'text_rate': 0.18,
           'designs': [('HRN', 'Heron at Dusk'), ('FRN', 'Fern Ledger'), ('KTL', 'Kettle Weather'), ('LGT', 'Nine Lights')],
           'goods': [good('AP', 'apron', 'Bib apron 240g', [], colours[:3], 2950, 890),
                     good('LS', 'long-sleeved top', 'Long sleeve, organic', ['XS', 'S', 'M', 'L', 'XL'], colours, 3400, 1215),
                     good('TB', 'tote bag', 'Tote, long handle', [], colours[1:3], 1600, 410)],
           'listing': 'single', 'title': lambda d, g: f'{d} {g}', 'first_listing': 301, 'listing_id': lambda n: f'L-{n}',
           'option_names': {'size': 'size', 'colour': 'colour'}, 'sku': lambda d, g, s, c: '-'.join(x for x in (g, d, c, s) if x),
           'variant_sku': lambda s: s, 'stray_sku': lambda s: s + '-new', 'variant_id': lambda n, d: f'FT{n + 70210}', 'cancels_units': True,
           'countries': [('IE', 70), ('GB', 15), ('DE', 10), ('FR', 5)], 'shipping': [0, 450, 450, 695], 'promise_days': 5,
           'first_sub': 64000, 'sub_id': lambda n: f'J{n}', 'sub_line_id': lambda n, k: str(10 * (k + 1)), 'rejects': True,
           'carriers': ['Lantern Post', 'Hedgerow Carriers'], 'tracking': digits('LP', 9, 'IE'), 'supplier_minutes': True}
    book = build(cfg)
    rng = random.Random(1)
    folder, store_dir, source_dir = place('01-quillmoor')
    st = Words({'unpaid': 'NP', 'open': 'AP', 'dispatched': 'DS', 'cancelled': 'CX'})
    ls = []
    for o in book.orders:
        pos = []
        for l in o.lines:
            ch = dict(l.choices)
            if l.text:
                ch['msg'] = l.text
            pos.append({'id': int(l.line_id), 'art': {'id': l.listing_id, 'nm': l.title, 'sk': l.sku}, 'ch': ch,
                        'qt': l.quantity, 'cx': l.cancelled, 'up': l.price, 'lt': l.price * l.quantity})
        ls.append({'k': by_id(rng), 'hd': {'no': int(o.order_id), 'inv': f'QM-26-{o.n - 20300:05d}' if o.paid else None,
                                          'st': st(o.status), 'chn': 'web',
                                          'ts': {'crt': secs(o.placed), 'pay': secs(o.paid), 'due': secs(o.promised), 'mod': secs(o.updated)}},
                   'cst': {'id': o.person['no'], 'nm': o.person['name'], 'em': o.person['mail'], 'tel': o.person['phone']},
                   'dst': {'ln': o.person['street'], 'cty': o.person['city'], 'pc': o.person['zip'], 'cc': o.country},
                   'pos': pos, 'tot': {'cur': 'EUR', 'itm': o.goods_total, 'shp': o.shipping, 'vat': round(o.total * 23 / 123), 'sum': o.total},
                   'nt': rng.choice(['', '', '', 'leave with neighbour', 'gift, no invoice please'])})
    write_json(store_dir, 'sales.json', {'v': 3, 'rc': 0, 'rsp': {'pg': {'i': 1, 'of': 1, 'cnt': len(ls)}, 'ls': ls}})
    store = Side('Everything is abbreviated. Four times per order, all epoch seconds. `k` is an inner id and `inv` an invoice; the supplier '
                 'quotes `hd.no`. `cx` is the number of units taken off a line, `CX` a status. That `due` is the dispatch promise and not a '
                 'payment term cannot be told from the sample alone.')
    b = 'rsp.ls[*].'
    store.put('orders', 'sales.json', b, order_id='hd.no', placed_at=At('hd.ts.crt', form='epoch_s'), paid_at=At('hd.ts.pay', form='epoch_s'),
              status='hd.st', currency='tot.cur', promised_by=At('hd.ts.due', form='epoch_s'), ship_to_country='dst.cc',
              updated_at=At('hd.ts.mod', form='epoch_s'))
    store.put('order_lines', 'sales.json', b, order_id='hd.no', line_id='pos[*].id', listing_id='pos[*].art.id', sku='pos[*].art.sk',
              title='pos[*].art.nm', options=At('pos[*].ch', form='object'), quantity='pos[*].qt', cancelled_quantity='pos[*].cx',
              unit_price=At('pos[*].up', form='minor'))
    store.say('orders.status', st)
    store.options = {'order_lines': ['size', 'colour']}

    sw = Words({'received': 'Booked in', 'held': 'On hold', 'making': 'In print', 'dispatched': 'Despatched', 'cancelled': 'Cancelled',
                'rejected': 'Refused'})
    rows = []
    for s in reversed(book.subs):
        for l in s.lines:
            p = s.parcels[0] if s.parcels else None
            rows.append([s.submission_id, loc(s.received, '%d/%m/%Y %H:%M'), 'Quillmoor Kitchen', 'QM-' + s.order.order_id, sw(s.status),
                         l.line_id, l.variant.variant_id, l.variant.sku, f'{l.variant.product} / {l.variant.design}', l.quantity, '€' + dec(l.variant.cost),
                         '€' + dec(l.variant.cost * l.quantity), loc(s.received + timedelta(days=6), '%d/%m/%Y'),
                         loc(s.dispatched, '%d/%m/%Y %H:%M'), p.carrier if p else '', p.tracking if p else '', ''])
    write_csv(source_dir, 'jobs_export.csv',
              ['Job No', 'Booked', 'Account', 'Customer PO', 'Stage', 'Line', 'Stock Ref', 'Item Code', 'Description', 'Qty', 'Unit Cost', 'Line Cost',
               'Target Date', 'Despatched', 'Carrier', 'Consignment', 'Remarks'], rows, encoding='utf-8-sig')
    source = Side('Newest job first. Target Date is the supplier\'s aim, not the storefront\'s promise. Line counts in tens. Stock Ref is the supplier\'s variant, Item Code the shop\'s SKU. The order number '
                  'carries the prefix QM- here. Days are first, as only dates over 12 show.')
    f = 'jobs_export.csv'
    source.put('submissions', f, submission_id='Job No', order_ref='Customer PO', status='Stage', received_at=At('Booked', form='local %d/%m/%Y %H:%M'))
    source.put('submission_lines', f, submission_id='Job No', line_id='Line', variant_id='Stock Ref', sku='Item Code', quantity='Qty', unit_cost=At('Unit Cost', form='decimal'))
    source.put('parcels', f, parcel_id='Consignment', submission_id='Job No', dispatched_at=At('Despatched', form='local %d/%m/%Y %H:%M'),
               carrier='Carrier', tracking_number='Consignment')
    source.say('submissions.status', sw)
    source.extra = {'order_ref': {'prefix': 'QM-', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    finish(folder, cfg, 'fennrick-textiles', store, source, tables(cfg, book))


def sperlhof():
    """German, flat: two lists in two files, options as one text, decimal commas. Supplier: xlsx under a title, filled on first rows only."""
    colours = [('M', 'Moosgrün'), ('T', 'Tinte'), ('S', 'Sand'), ('Z', 'Ziegel')]
    cfg = {**GERMAN, 'seed': 202, 'zone': 'Europe/Berlin', 'currency': 'EUR', 'start': '2026-03-09', 'days': 33, 'orders': 64,
           'first_order': 10230, 'order_id': lambda n: f'SP{n}', 'line_ids': 'global', 'first_line': 40017, 'text_rate': 0.22,
           'designs': [('BRG', 'Bergdohle'), ('KRT', 'Kräuterbeet'), ('ZUG', 'Nachtzug'), ('PLZ', 'Pilzkunde')],
           'goods': [good('SCH', 'Schürze', 'Latzschürze Klassik', [], colours[:3], 2790, 840),
                     good('KAP', 'Kapuzenpulli', 'Hoodie Unisex', ['S', 'M', 'L', 'XL', '2XL'], colours, 4490, 1780),
                     good('BTL', 'Beutel', 'Baumwollbeutel lang', [], colours[1:], 1490, 360)],
           'listing': 'single', 'title': lambda d, g: f'{g} „{d}“', 'first_listing': 1180, 'listing_id': str,
           'option_names': {'size': 'Größe', 'colour': 'Farbe'}, 'sku': lambda d, g, s, c: f'{d}.{g}.{c}' + (f'.{s}' if s else ''),
           'variant_sku': lambda s: s, 'stray_sku': lambda s: s.replace('.', '-'), 'variant_id': lambda n, d: '',
           'countries': [('DE', 80), ('AT', 15), ('CH', 5)], 'shipping': [490, 490, 0], 'promise_days': 6,
           'first_sub': 26000, 'sub_id': lambda n: f'A-{n}', 'sub_line_id': lambda n, k: str(k + 1), 'rejects': True, 'remakes': 2,
           'carriers': ['Heidebote'], 'tracking': digits('003', 11), 'supplier_minutes': True}
    book = build(cfg)
    rng = random.Random(2)
    folder, store_dir, source_dir = place('02-sperlhof')
    pay = Words({'unpaid': 'ausstehend', 'open': 'bezahlt', 'cancelled': 'erstattet'})
    ship = Words({'open': 'nicht begonnen', 'dispatched': 'versendet'})
    heads, lines = [], []
    for i, o in enumerate(book.orders):
        stand = 'unpaid' if not o.paid else 'cancelled' if o.status == 'cancelled' else 'open'
        heads.append({'id': 5512 + 3 * i, 'bestellnummer': o.order_id, 'rechnungsnummer': f'RE-2026-{412 + i:04d}' if o.paid else None,
                      'referenz': rng.choice(['', '', 'Omas 80.', 'Verein', 'wie besprochen']),
                      'angelegtAm': iso(o.placed), 'bezahltAm': iso(o.paid), 'versendetAm': iso(o.dispatched), 'storniertAm': iso(o.cancelled),
                      'geaendertAm': iso(o.updated), 'zahlart': rng.choice(['Überweisung', 'Lastschrift', 'Karte']),
                      'zahlungsstand': pay(stand), 'versandstand': ship('dispatched' if o.status == 'dispatched' else 'open'),
                      'kunde': {'id': o.person['no'], 'vorname': o.person['first'], 'nachname': o.person['last'], 'email': o.person['mail']},
                      'lieferanschrift': {'strasse': o.person['street'], 'plz': o.person['zip'], 'ort': o.person['city'], 'land': o.country},
                      'warenwert': comma(o.goods_total), 'versandkosten': comma(o.shipping), 'gesamtbetrag': comma(o.total), 'waehrung': 'EUR'})
        for k, l in enumerate(o.lines):
            parts = [f'{n}: {v}' for n, v in l.choices] + ([f'Wunschtext: {l.text}'] if l.text else [])
            lines.append({'id': int(l.line_id), 'bestellnummer': o.order_id, 'position': k + 1, 'produktId': int(l.listing_id),
                          'produkt': l.title, 'artikelnummer': l.sku or None, 'ausfuehrung': ', '.join(parts), 'menge': l.quantity,
                          'einzelpreis': comma(l.price), 'gesamtpreis': comma(l.price * l.quantity), 'steuersatz': 19})
    write_json(store_dir, 'bestellungen.json', heads, indent=1)
    write_json(store_dir, 'positionen.json', lines, indent=1)
    store = Side('The state follows from zahlungsstand, versandstand and whether storniertAm is set: cancelled beats unpaid beats dispatched. '
                 'An unpaid order that was cancelled still says ausstehend. `id` stands at four levels and joins nothing: the files join by '
                 'bestellnummer. Options are one text in which the customer\'s wording comes last and may hold commas. `position` numbers '
                 'lines within the order, `id` names them; either could be the line\'s id, `id` is the one that is unique.')
    store.put('orders', 'bestellungen.json', '[*].', order_id='bestellnummer', placed_at=At('angelegtAm', form='rfc3339'),
              paid_at=At('bezahltAm', form='rfc3339'),
              status=At('zahlungsstand', 'versandstand', 'storniertAm', all=True, when_set={'storniertAm': 'cancelled'}),
              currency='waehrung', ship_to_country='lieferanschrift.land', updated_at=At('geaendertAm', form='rfc3339'))
    store.put('order_lines', 'positionen.json', '[*].', order_id='bestellnummer', line_id='id', listing_id='produktId', sku='artikelnummer',
              title='produkt', options=At('ausfuehrung', form='text'), quantity='menge', unit_price=At('einzelpreis', form='decimal-comma'))
    store.say('orders.status', pay, ship)
    store.options = {'order_lines': ['Größe', 'Farbe']}

    sw = Words({'received': 'eingegangen', 'held': 'angehalten', 'making': 'in Produktion', 'dispatched': 'versendet', 'cancelled': 'storniert',
                'rejected': 'abgelehnt'})
    rows = []
    for s in book.subs:
        p = s.parcels[0] if s.parcels else None
        for k, l in enumerate(s.lines):
            kinds = dict(l.variant.choices)
            head = [s.submission_id, s.received, s.order.order_id + '/1', sw(s.status), s.replaces or None]
            tail = [p.dispatched.date() if p else None, p.tracking if p else None]
            line = [int(l.line_id), l.variant.sku, l.variant.product, kinds.get('size'), kinds.get('colour'), l.quantity,
                    l.variant.cost / 100, l.variant.cost * l.quantity / 100]
            rows.append((head if k == 0 else [None] * 5) + line + (tail if k == 0 else [None] * 2))
    write_xlsx(source_dir, 'Auftragsliste.xlsx',
               ['Auftrag', 'Eingang', 'Ihre Bestellung', 'Stand', 'Ersatz für', 'Pos.', 'Artikelnr.', 'Bezeichnung', 'Größe', 'Farbe', 'Menge',
                'EK netto', 'Summe', 'Versanddatum', 'Sendungsnr.'], rows,
               title=[['Druckwerk Hohlweg - Auftragsliste'], ['Stand:', book.exported], []], sheet='Aufträge',
               more={'Hinweise': [['Abkürzung', 'Bedeutung'], ['EK', 'Einkaufspreis'], ['Pos.', 'Position im Auftrag']]},
               formats={'Eingang': 'DD.MM.YYYY HH:MM', 'Versanddatum': 'DD.MM.YYYY', 'EK netto': '#,##0.00 €', 'Summe': '#,##0.00 €'})
    source = Side('A title and an empty row stand above the header; the order\'s cells are filled on its first row only; times are date cells '
                  'without a zone, the dispatch is a day alone. A second sheet explains abbreviations. The article number is the only code of a good: the shop\'s SKU, and no id of a variant beside it. Our order number carries /1.')
    f = 'Auftragsliste.xlsx'
    source.put('submissions', f, submission_id='Auftrag', order_ref='Ihre Bestellung', status='Stand', received_at=At('Eingang', form='cell'),
               replaces='Ersatz für')
    source.put('submission_lines', f, submission_id='Auftrag', line_id='Pos.', sku='Artikelnr.', quantity='Menge', unit_cost=At('EK netto', form='decimal'))
    source.put('parcels', f, parcel_id='Sendungsnr.', submission_id='Auftrag', dispatched_at=At('Versanddatum', form='cell-date'),
               tracking_number='Sendungsnr.')
    source.say('submissions.status', sw)
    source.extra = {'rows': 'order cells on the first row only', 'order_ref': {'prefix': '', 'suffix': '/1'}, 'sku': {'prefix': '', 'suffix': ''}}
    finish(folder, cfg, 'druckwerk-hohlweg', store, source, tables(cfg, book))


def lacuzette():
    """French JSON Lines, lines in a map by position, epoch milliseconds. Supplier: Windows-1252, numbered columns, parcels and price list apart."""
    colours = [('MSS', 'Mousse', 'Vert mousse'), ('ENC', 'Encre', 'Bleu encre'), ('ECR', 'Écru', 'Écru'), ('BRQ', 'Brique', 'Rouge brique')]
    cfg = {**FRENCH, 'seed': 303, 'zone': 'Europe/Paris', 'currency': 'EUR', 'start': '2026-01-26', 'days': 30, 'orders': 58,
           'first_order': 4402, 'order_id': str, 'line_ids': 'ordinal', 'text_rate': 0.2,
           'designs': [('OLV', "Branche d'olivier"), ('CHT', 'Chat du quai'), ('MRE', 'Marée basse')],
           'goods': [good('TAB', 'Tablier', 'Tablier à bavette', [], colours[:3], 2900, 910),
                     good('MAR', 'Marinière', 'Marinière manches longues', ['36', '38', '40', '42', '44'], colours[1:], 4200, 1640),
                     good('TOR', 'Torchon', 'Torchon lin', [], colours[2:], 1450, 390)],
           'listing': 'single', 'title': lambda d, g: f'{g} – {d}', 'first_listing': 71, 'listing_id': lambda n: f'fiche-{n}',
           'option_names': {'size': 'Taille', 'colour': 'Couleur'}, 'sku': lambda d, g, s, c: f'{g}{d}{s}-{c}',
           'variant_sku': lambda s: s, 'stray_sku': lambda s: s.replace('-', '_'), 'variant_id': lambda n, d: f'BX{n + 2100}',
           'variant_options': {'size': 'Taille', 'colour': 'Coloris'},
           'countries': [('FR', 80), ('BE', 12), ('CH', 8)], 'shipping': [590, 390, 0], 'promise_days': 4,
           'first_sub': 980, 'sub_id': lambda n: f'BC{n:05d}', 'sub_line_id': lambda n, k: str(k + 1), 'two_boxes': True,
           'carriers': ['Messagerie Plume', 'Relais Mésange'], 'tracking': digits('8P', 10)}
    book = build(cfg)
    rng = random.Random(3)
    folder, store_dir, source_dir = place('03-lacuzette')
    pay = Words({'unpaid': 'en attente', 'open': 'réglée', 'cancelled': 'annulée'})
    ship = Words({'open': 'à préparer', 'dispatched': 'confiée au transporteur'})
    recs = []
    for i, o in enumerate(book.orders):
        basket = {}
        for k, l in enumerate(o.lines):
            choix = [{'libelle': n, 'valeur': v} for n, v in l.choices]
            if l.text:
                choix.insert(rng.randrange(len(choix) + 1), {'libelle': 'Texte à broder', 'valeur': l.text})
            basket[str(k + 1)] = {'fiche': l.listing_id, 'nom': l.title, 'code': l.sku, 'choix': choix, 'nombre': l.quantity,
                                  'prix': {'unitaire': {'montant': dec(l.price), 'devise': 'EUR'},
                                           'ligne': {'montant': dec(l.price * l.quantity), 'devise': 'EUR'}}}
        recs.append({'cle': 'c_' + by_id(rng, 12), 'numero': f'F26-{131 + i:04d}' if o.paid else '', 'commande': int(o.order_id),
                     'statut': pay('cancelled' if o.status == 'cancelled' else 'open' if o.paid else 'unpaid'),
                     'dates': {'facture': millis(o.paid + timedelta(minutes=2)) if o.paid else None, 'creation': millis(o.placed),
                               'reglement': millis(o.paid), 'modification': millis(o.updated)},
                     'expedition': {'etat': ship('dispatched' if o.status == 'dispatched' else 'open'), 'mode': rng.choice(['domicile', 'relais']),
                                    'avant_le': o.promised.date().isoformat(), 'le': millis(o.dispatched),
                                    'adresse': {'rue': o.person['street'], 'cp': o.person['zip'], 'ville': o.person['city'], 'pays': o.country}},
                     'client': {'cle': 'p_' + by_id(rng, 6), 'nom': o.person['name'], 'courriel': o.person['mail'], 'tel': o.person['phone'],
                                'reference': rng.choice(['', '', '', 'cadeau Jules', 'CE 2026'])},
                     'panier': basket,
                     'totaux': {'articles': dec(o.goods_total), 'port': dec(o.shipping), 'remise': '0.00', 'ttc': dec(o.total)}})
    write_jsonl(store_dir, 'commandes.jsonl', recs)
    store = Side('`statut` is the payment\'s; dispatch stands in expedition.etat; both are needed. `numero` is the invoice\'s. The lines are a '
                 'map by position, not a list. Among the choices stands the text to be embroidered, in any place. expedition.avant_le is '
                 'the dispatch promise, a day alone; dates.facture is two minutes after the payment and no field of ours.')
    f, b = 'commandes.jsonl', 'panier[*].'
    store.put('orders', f, order_id='commande', placed_at=At('dates.creation', form='epoch_ms'), paid_at=At('dates.reglement', form='epoch_ms'),
              status=At('statut', 'expedition.etat', all=True), promised_by=At('expedition.avant_le', form='date %Y-%m-%d'),
              ship_to_country='expedition.adresse.pays', updated_at=At('dates.modification', form='epoch_ms'),
              currency=At(b + 'prix.unitaire.devise', b + 'prix.ligne.devise'))
    store.put('order_lines', f, order_id='commande')
    store.put('order_lines', f, b, listing_id='fiche', sku='code', title='nom', options=At('choix', form='pairs', pair=['libelle', 'valeur']),
              quantity='nombre', unit_price=At('prix.unitaire.montant', form='decimal'))
    store.say('orders.status', pay, ship)
    store.options = {'order_lines': ['Taille', 'Couleur']}

    sw = Words({'received': 'Reçu', 'held': 'Suspendu', 'making': 'À l’atelier', 'dispatched': 'Expédié', 'cancelled': 'Annulé', 'rejected': 'Refusé'})
    most = max(len(s.lines) for s in book.subs)
    head = ['N° bon', 'Reçu le', 'Réf. client', 'État']
    for k in range(most):
        head += [f'Article {k + 1}', f'Qté {k + 1}', f'P.U. {k + 1}']
    head += ['Nb pièces', 'Total HT', 'Mise à jour', 'Commentaire']
    rows, boxes = [], []
    for s in book.subs:
        cells = []
        for l in s.lines:
            cells += [l.variant.sku, l.quantity, comma(l.variant.cost)]
        cells += [''] * (3 * (most - len(s.lines)))
        rows.append([s.submission_id, loc(s.received, '%d/%m/%Y %H:%M:%S'), 'LZ' + s.order.order_id, sw(s.status)] + cells +
                    [sum(l.quantity for l in s.lines), comma(sum(l.quantity * l.variant.cost for l in s.lines)),
                     loc(s.updated, '%d/%m/%Y %H:%M:%S'), ''])
        for p in s.parcels:
            p.parcel_id = f'K{len(boxes) + 3301}'
            boxes.append([p.parcel_id, s.submission_id, loc(p.dispatched, '%d/%m/%Y %H:%M:%S'), p.carrier, p.tracking, comma(rng.randrange(20, 180))])
    write_csv(source_dir, 'suivi_bons.csv', head, rows, sep=';', encoding='cp1252')
    write_csv(source_dir, 'colis.csv', ['N° colis', 'N° bon', 'Expédié le', 'Transporteur', 'N° de suivi', 'Poids (kg)'], boxes, sep=';', encoding='cp1252')
    write_csv(source_dir, 'tarif.csv', ['Réf. atelier', 'Votre code', 'Désignation', 'Motif', 'Taille', 'Coloris', 'Prix HT', 'Disponible'],
              [[v.variant_id, v.sku, v.product, v.design, dict(v.choices).get('size', ''), dict(v.choices).get('colour', ''), comma(v.cost),
                avail(v.available)] for avail in [Words({True: 'oui', False: 'non'})] for v in book.variants], sep=';', encoding='cp1252')
    source = Side('One row per order, its lines in numbered columns; no line has an id. Bytes are Windows-1252. Our order number carries LZ. '
                  'The colour has another name and other words than in the storefront. An order may leave in two parcels.')
    numbered = {'numbered': True}
    source.put('submissions', 'suivi_bons.csv', submission_id='N° bon', order_ref='Réf. client', status='État',
               received_at=At('Reçu le', form='local %d/%m/%Y %H:%M:%S'), updated_at=At('Mise à jour', form='local %d/%m/%Y %H:%M:%S'))
    source.put('submission_lines', 'suivi_bons.csv', submission_id='N° bon',
               sku=At(*[f'Article {k + 1}' for k in range(most)], **numbered), quantity=At(*[f'Qté {k + 1}' for k in range(most)], **numbered),
               unit_cost=At(*[f'P.U. {k + 1}' for k in range(most)], form='decimal-comma', **numbered))
    source.put('parcels', 'colis.csv', parcel_id='N° colis', submission_id='N° bon', dispatched_at=At('Expédié le', form='local %d/%m/%Y %H:%M:%S'),
               carrier='Transporteur', tracking_number='N° de suivi')
    source.put('variants', 'tarif.csv', variant_id='Réf. atelier', sku='Votre code', product='Désignation',
               options=At('Taille', 'Coloris', form='columns', all=True), unit_cost=At('Prix HT', form='decimal-comma'), available='Disponible')
    source.say('submissions.status', sw)
    source.words['variants.available'] = {'oui': 'true', 'non': 'false'}
    source.options = {'variants': ['Taille', 'Coloris']}
    source.extra = {'order_ref': {'prefix': 'LZ', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    finish(folder, cfg, 'atelier-boussereau', store, source, tables(cfg, book))


def dustwren():
    """Attributes objects and resource links, local month-first times. Supplier: UTF-16, tabs, dollar signs."""
    colours = [('SAGE', 'Sage'), ('DUSK', 'Dusk Blue'), ('BONE', 'Bone')]
    cfg = {**ENGLISH, 'seed': 404, 'zone': 'America/Denver', 'currency': 'USD', 'start': '2026-06-08', 'days': 27, 'orders': 55,
           'first_order': 31860, 'order_id': str, 'line_ids': 'global', 'first_line': 700211, 'text_rate': 0.12, 'cities': ['Arroyo Junction', 'Mesa Blanca Springs'],
           'designs': [('07', 'Canyon Wren'), ('11', 'Night Mesa'), ('14', 'Prickly Bloom'), ('19', 'Two Coyotes')],
           'goods': [good('TEE', 'Tee', 'Heavy cotton tee', ['Youth M', 'S', 'M', 'L', 'XL', '2XL'], colours, 2800, 1040),
                     good('MUG', 'Mug', 'Camp mug 12 oz', [], [('', '', '')], 1800, 575),
                     good('APR', 'Apron', 'Canvas apron', [], colours[:2], 3600, 1290)],
           'listing': 'single', 'title': lambda d, g: f'{d} {g}', 'first_listing': 220, 'listing_id': lambda n: f'p-{n}',
           'option_names': {'size': 'Size', 'colour': 'Color'},
           'sku': lambda d, g, s, c: f'DW{d}-{g}' + (f'-{c}' if c else '') + (f"-{s.replace(' ', '').upper()}" if s else ''),
           'variant_sku': lambda s: s, 'stray_sku': lambda s: 'OLD-' + s, 'variant_id': lambda n, d: f'CRP-{n + 4410:06d}',
           'countries': [('US', 92), ('CA', 8)], 'shipping': [599, 0, 899], 'promise_days': 5, 'rejects': True,
           'first_sub': 118800, 'sub_id': str, 'sub_line_id': lambda n, k: str(k + 1), 'carriers': ['Tumbleweed Parcel', 'Mesa Mail'],
           'tracking': digits('94', 12), 'store_minutes': True, 'supplier_minutes': True}
    book = build(cfg)
    rng = random.Random(4)
    folder, store_dir, source_dir = place('04-dustwren')
    st = Words({'unpaid': 'awaiting_funds', 'open': 'settled', 'dispatched': 'on_its_way', 'cancelled': 'called_off'})
    us = '%m/%d/%Y %I:%M %p'
    root = 'https://shop.example.com/api/2'
    orders, entries = [], []
    for o in book.orders:
        orders.append({'kind': 'order', 'id': o.order_id,
                       'attributes': {'state': st(o.status), 'placed': loc(o.placed, us), 'settled': loc(o.paid, us) or None,
                                      'touched': loc(o.updated, us), 'send_by': loc(o.promised, '%m/%d/%Y'), 'currency': 'USD',
                                      'amounts': {'goods': dec(o.goods_total), 'carriage': dec(o.shipping), 'tax': '0.00', 'grand': dec(o.total)},
                                      'buyer_ref': rng.choice([None, None, None, 'Birthday', 'PO 7']), 'gift': rng.random() < 0.1},
                       'deliver_to': {'kind': 'address', 'id': str(o.person['no']),
                                      'attributes': {'name': o.person['name'], 'line1': o.person['street'], 'city': o.person['city'],
                                                     'state': rng.choice(['CO', 'UT', 'NM', 'AZ']), 'zip': o.person['zip'], 'country': o.country,
                                                     'email': o.person['mail']}},
                       'links': {'self': f'{root}/orders/{o.order_id}', 'entries': f'{root}/entries?of={o.order_id}'}})
        for l in o.lines:
            sel = [{'label': n, 'choice': v} for n, v in l.choices] + ([{'label': 'Add a name', 'choice': l.text}] if l.text else [])
            entries.append({'kind': 'entry', 'id': l.line_id,
                            'attributes': {'caption': l.title, 'code': l.sku or None, 'units': l.quantity, 'each': dec(l.price),
                                           'extended': dec(l.price * l.quantity), 'selections': sel, 'ounces': rng.choice([6, 9, 14])},
                            'links': {'self': f'{root}/entries/{l.line_id}', 'order': {'id': o.order_id, 'href': f'{root}/orders/{o.order_id}'},
                                      'page': {'id': l.listing_id, 'href': f'{root}/pages/{l.listing_id}'}}})
    pages = defaultdict(list)
    for f in book.offers:
        pages[f.listing_id].append(f)
    sold = Words({True: True, False: False})
    listing = [{'kind': 'page', 'id': k, 'attributes': {'caption': fs[0].title, 'currency': 'USD', 'combos': [
        {'code': f.sku or None, 'selections': [{'label': n, 'choice': v} for n, v in f.choices], 'amount': dec(f.price), 'for_sale': sold(f.buyable)}
        for f in fs]}, 'links': {'self': f'{root}/pages/{k}'}} for k, fs in pages.items()]
    for name, data in (('orders.json', orders), ('entries.json', entries), ('pages.json', listing)):
        write_json(store_dir, name, {'links': {'self': f'{root}/{name[:-5]}?size=200', 'next': None}, 'meta': {'size': len(data)}, 'data': data})
    store = Side('Every record has kind, id, attributes and links; an order\'s address has them too, so `id` and `state` stand twice in one '
                 'record, and the address\'s `state` is a state of the country. Entries point to their order by an id beside a link. '
                 'Times are local, month first, with AM and PM. Whether send_by is the dispatch promise or a wish, the sample does not say.')
    b = 'data[*].'
    store.put('orders', 'orders.json', b, order_id='id', placed_at=At('attributes.placed', form='local ' + us),
              paid_at=At('attributes.settled', form='local ' + us), status='attributes.state', currency='attributes.currency',
              promised_by=At('attributes.send_by', form='date %m/%d/%Y'), ship_to_country='deliver_to.attributes.country',
              updated_at=At('attributes.touched', form='local ' + us))
    store.put('order_lines', 'entries.json', b, order_id='links.order.id', line_id='id', listing_id='links.page.id', sku='attributes.code',
              title='attributes.caption', options=At('attributes.selections', form='pairs', pair=['label', 'choice']), quantity='attributes.units',
              unit_price=At('attributes.each', form='decimal'))
    store.put('offers', 'pages.json', b, listing_id='id', title='attributes.caption', currency='attributes.currency')
    store.put('offers', 'pages.json', b + 'attributes.combos[*].', sku='code', options=At('selections', form='pairs', pair=['label', 'choice']),
              price=At('amount', form='decimal'), buyable='for_sale')
    store.say('orders.status', st)
    store.words['offers.buyable'] = {'true': 'true', 'false': 'false'}
    store.options = {'order_lines': ['Size', 'Color'], 'offers': ['Size', 'Color']}

    sw = Words({'received': 'Queued', 'held': 'Hold - Contact Us', 'making': 'Printing', 'dispatched': 'Shipped', 'cancelled': 'Voided', 'rejected': 'Rejected'})
    rows = []
    for s in book.subs:
        p = s.parcels[0] if s.parcels else None
        for l in s.lines:
            kinds = dict(l.variant.choices)
            rows.append([s.submission_id, loc(s.received, '%m/%d/%Y %H:%M'), 'PO#' + s.order.order_id, sw(s.status), l.variant.design,
                         l.variant.variant_id, l.variant.sku, kinds.get('size', ''), kinds.get('colour', ''), l.quantity, '$' + dec(l.variant.cost),
                         '$' + dec(l.variant.cost * l.quantity), loc(s.dispatched, '%m/%d/%Y %H:%M'), p.carrier if p else '',
                         p.tracking if p else '', loc(s.updated, '%m/%d/%Y %H:%M'), 'Net 30', ''])
    write_csv(source_dir, 'Ticket History.txt',
              ['Ticket #', 'Ticket Date', 'Your PO', 'Ticket Status', 'Artwork', 'Product Code', 'Customer SKU', 'Size', 'Color', 'Units', 'Each',
               'Extended', 'Shipped', 'Ship Via', 'Tracking #', 'Last Change', 'Terms', 'Memo'], rows, sep='\t', encoding='utf-16')
    source = Side('UTF-16 with tabs in a file named .txt. Product Code is the supplier\'s own variant and Customer SKU ours; a reader that takes '
                  'Product Code for the SKU links nothing. Month first. Our order number carries PO#. Lines have no id.')
    f = 'Ticket History.txt'
    source.put('submissions', f, submission_id='Ticket #', order_ref='Your PO', status='Ticket Status',
               received_at=At('Ticket Date', form='local %m/%d/%Y %H:%M'), updated_at=At('Last Change', form='local %m/%d/%Y %H:%M'))
    source.put('submission_lines', f, submission_id='Ticket #', variant_id='Product Code', sku='Customer SKU', quantity='Units',
               unit_cost=At('Each', form='decimal'))
    source.put('parcels', f, parcel_id='Tracking #', submission_id='Ticket #', dispatched_at=At('Shipped', form='local %m/%d/%Y %H:%M'),
               carrier='Ship Via', tracking_number='Tracking #')
    source.say('submissions.status', sw)
    source.extra = {'order_ref': {'prefix': 'PO#', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    finish(folder, cfg, 'caldera-row-prints', store, source, tables(cfg, book))


def zarzuelina():
    """Spanish, maps by id all the way down, JSON numbers for money. Supplier: two ods sheets under titles."""
    colours = [('mus', 'Musgo'), ('tin', 'Tinta'), ('are', 'Arena'), ('tej', 'Teja')]
    cfg = {**SPANISH, 'seed': 505, 'zone': 'Europe/Madrid', 'currency': 'EUR', 'start': '2026-04-13', 'days': 35, 'orders': 62,
           'first_order': 8830, 'order_id': str, 'line_ids': 'under', 'text_rate': 0.2,
           'designs': [('abu', 'Abubilla'), ('jar', 'Jara en flor'), ('far', 'Faro de invierno'), ('sar', 'Sardinas')],
           'goods': [good('del', 'delantal', 'Delantal peto', [], colours[:3], 2690, 820),
                     good('cam', 'camiseta', 'Camiseta algodón', ['XS', 'S', 'M', 'L', 'XL'], colours, 2450, 905),
                     good('bol', 'bolsa', 'Bolsa asa larga', [], colours[1:3], 1390, 345)],
           'listing': 'single', 'title': lambda d, g: f'{g.capitalize()} {d}', 'first_listing': 12, 'listing_id': str,
           'option_names': {'size': 'Talla', 'colour': 'Color'}, 'sku': lambda d, g, s, c: f'{g}_{d}_{c}' + (f'_{s.lower()}' if s else ''),
           'variant_sku': lambda s: s, 'stray_sku': lambda s: s + '_v2', 'variant_id': lambda n, d: f'TQ{n + 600}',
           'variant_options': {'size': 'Talla', 'colour': 'Tono'},
           'countries': [('ES', 85), ('PT', 10), ('FR', 5)], 'shipping': [495, 0, 350], 'promise_days': 5,
           'first_sub': 3300, 'sub_id': lambda n: f'{n}-T', 'sub_line_id': lambda n, k: str(k + 1), 'carriers': ['Correalado'],
           'tracking': digits('CV', 10), 'supplier_minutes': True}
    book = build(cfg)
    rng = random.Random(5)
    folder, store_dir, source_dir = place('05-zarzuelina')
    st = Words({'unpaid': 'pendiente', 'open': 'pagado', 'dispatched': 'enviado', 'cancelled': 'anulado'})
    orders = {}
    for i, o in enumerate(book.orders):
        arts = {}
        for l in o.lines:
            op = dict(l.choices)
            if l.text:
                op['Dedicatoria'] = l.text
            arts[l.line_id] = {'id': l.line_id, 'ficha': {'id': int(l.listing_id), 'titulo': l.title}, 'ref': l.sku, 'opciones': op,
                               'cantidad': l.quantity, 'precio': num(l.price), 'total': num(l.price * l.quantity)}
        orders[o.order_id] = {'id': o.order_id, 'ref': rng.choice(['', '', 'regalo', 'boda Marta']), 'factura': f'2026/{i + 377}' if o.paid else None,
                              'estado': st(o.status), 'fecha': iso(o.placed), 'fechas': {'pago': iso(o.paid), 'cambio': iso(o.updated),
                                                                                       'envio': iso(o.dispatched)},
                              'cliente': {'id': o.person['no'], 'nombre': o.person['name'], 'correo': o.person['mail'], 'movil': o.person['phone']},
                              'envio': {'id': rng.choice([2, 3]), 'metodo': 'estándar', 'direccion': {'calle': o.person['street'], 'cp': o.person['zip'],
                                        'poblacion': o.person['city'], 'pais': o.country}, 'precio': num(o.shipping)},
                              'articulos': arts, 'importe': {'moneda': 'EUR', 'subtotal': num(o.goods_total), 'total': num(o.total)}}
    pages = defaultdict(list)
    for f in book.offers:
        pages[f.listing_id].append(f)
    listing = {k: {'id': int(k), 'titulo': fs[0].title, 'combinaciones': {f'c{i + 1}': {'ref': f.sku, 'opciones': dict(f.choices),
               'precio': num(f.price), 'a_la_venta': f.buyable} for i, f in enumerate(fs)}} for k, fs in pages.items()}
    write_json(store_dir, 'pedidos.json', {'ok': True, 'respuesta': {'desde': iso(book.orders[0].placed), 'pedidos': orders}})
    write_json(store_dir, 'fichas.json', {'ok': True, 'respuesta': {'fichas': listing}})
    store = Side('Orders, their lines, listings and their combinations are maps by id; where the record says its id inside too, that is the place '
                 'given. `ref` is the customer\'s on the order and the SKU on the line; `id` stands at five levels; `precio` is the line\'s unit '
                 'price, and the shipping\'s elsewhere. Money is a JSON number. The customer\'s dedication stands among the options.')
    b = 'respuesta.pedidos[*].'
    store.put('orders', 'pedidos.json', b, order_id='id', placed_at=At('fecha', form='rfc3339'), paid_at=At('fechas.pago', form='rfc3339'),
              status='estado', currency='importe.moneda', ship_to_country='envio.direccion.pais', updated_at=At('fechas.cambio', form='rfc3339'))
    store.put('order_lines', 'pedidos.json', b, order_id='id', line_id='articulos[*].id', listing_id='articulos[*].ficha.id',
              sku='articulos[*].ref', title='articulos[*].ficha.titulo', options=At('articulos[*].opciones', form='object'),
              quantity='articulos[*].cantidad', unit_price=At('articulos[*].precio', form='decimal'))
    b = 'respuesta.fichas[*].'
    store.put('offers', 'fichas.json', b, listing_id='id', sku='combinaciones[*].ref', title='titulo',
              options=At('combinaciones[*].opciones', form='object'), price=At('combinaciones[*].precio', form='decimal'),
              buyable='combinaciones[*].a_la_venta')
    store.say('orders.status', st)
    store.words['offers.buyable'] = {'true': 'true', 'false': 'false'}
    store.options = {'order_lines': ['Talla', 'Color'], 'offers': ['Talla', 'Color']}

    sw = Words({'received': 'Recibido', 'held': 'En espera', 'making': 'En taller', 'dispatched': 'Despachado', 'cancelled': 'Anulado', 'rejected': 'Rechazado'})
    rows = []
    for s in reversed(book.subs):
        p = s.parcels[0] if s.parcels else None
        for l in s.lines:
            kinds = dict(l.variant.choices)
            rows.append([s.submission_id, s.received, s.order.order_id + '-ZZ', sw(s.status), l.variant.sku, f'{l.variant.product} "{l.variant.design}"',
                         ' / '.join(x for x in (kinds.get('colour'), kinds.get('size')) if x), l.quantity, Decimal(dec(l.variant.cost)),
                         Decimal(dec(l.variant.cost * l.quantity)), p.dispatched.date() if p else None, p.tracking if p else None, None])
    write_ods(source_dir, 'trabajos.ods', ['Nº trabajo', 'Entrada', 'Su pedido', 'Situación', 'Código', 'Descripción', 'Acabado', 'Cant.', 'Precio ud.',
                                           'Importe', 'Salida', 'Seguimiento', 'Observaciones'], rows,
              title=[['Taller Quintabrasa'], ['Trabajos del cliente 0417', None, 'Importes en EUR, sin IVA'], []], sheet='Trabajos')
    live = Words({True: 'Sí', False: 'Agotado'})
    write_ods(source_dir, 'catalogo.ods', ['Ref. taller', 'Código', 'Artículo', 'Motivo', 'Talla', 'Tono', 'Tarifa', 'Moneda', 'Disponible'],
              [[v.variant_id, v.sku, v.product, v.design, dict(v.choices).get('size'), dict(v.choices).get('colour'), Decimal(dec(v.cost)), 'EUR',
                live(v.available)] for v in book.variants], title=[['Catálogo y tarifa 2026']], sheet='Catálogo')
    source = Side('Two ods files with titles above the header, newest job first, date cells (dispatch is a day alone). Acabado holds colour and '
                  'size in one text and no names. Our order number carries -ZZ. Lines have no id.')
    f = 'trabajos.ods'
    source.put('submissions', f, submission_id='Nº trabajo', order_ref='Su pedido', status='Situación', received_at=At('Entrada', form='cell'))
    source.put('submission_lines', f, submission_id='Nº trabajo', sku='Código', quantity='Cant.', unit_cost=At('Precio ud.', form='decimal'))
    source.put('parcels', f, parcel_id='Seguimiento', submission_id='Nº trabajo', dispatched_at=At('Salida', form='cell-date'), tracking_number='Seguimiento')
    source.put('variants', 'catalogo.ods', variant_id='Ref. taller', sku='Código', product='Artículo', options=At('Talla', 'Tono', form='columns', all=True),
               unit_cost=At('Tarifa', form='decimal'), currency='Moneda', available='Disponible')
    source.say('submissions.status', sw)
    source.words['variants.available'] = {w: 'true' if o else 'false' for w, o in live.seen.items()}
    source.options = {'variants': ['Talla', 'Tono']}
    source.extra = {'order_ref': {'prefix': '', 'suffix': '-ZZ'}, 'sku': {'prefix': '', 'suffix': ''}}
    finish(folder, cfg, 'taller-quintabrasa', store, source, tables(cfg, book))


def tussockbay():
    """Orders under days, UTC times, cents; one listing sells several goods. Supplier: semicolons, ISO local times, an order per line."""
    colours = [('FRN', 'Fern', 'Fern Green'), ('SLT', 'Slate', 'Slate Grey'), ('SHL', 'Shell', 'Shell')]
    cfg = {**ENGLISH, 'seed': 606, 'zone': 'Pacific/Auckland', 'currency': 'NZD', 'start': '2026-03-16', 'days': 40, 'orders': 66,
           'first_order': 61190, 'order_id': str, 'line_ids': 'global', 'first_line': 1, 'text_rate': 0.1,
           'designs': [('TUI', 'Dawn Chorus'), ('KEL', 'Kelp Forest'), ('RNG', 'The Ranges'), ('BCH', 'Bach Days'), ('STR', 'Southern Stars')],
           'goods': [good('APN', 'Apron', 'Apron full bib', [], colours, 4500, 1650),
                     good('LST', 'Long sleeve tee', 'Tee LS 180', ['S', 'M', 'L', 'XL', '2XL'], colours[:2], 5200, 2140),
                     good('TWL', 'Tea towel', 'Tea towel half linen', [], [('', '', '')], 2200, 640)],
           'listing': 'multi', 'first_listing': 9001, 'listing_id': lambda n: f'{n}',
           'option_names': {'good': 'Item', 'size': 'Size', 'colour': 'Colour'},
           'size_words': {'S': 'Small', 'M': 'Medium', 'L': 'Large', 'XL': 'Extra large', '2XL': '2XL'},
           'sku': lambda d, g, s, c: d + g + (c or 'NAT') + s, 'variant_sku': lambda s: 'WL-' + s, 'stray_sku': lambda s: s[:-1] + 'X',
           'variant_id': lambda n, d: f'v{n * 7 + 3021}', 'variant_options': {'size': 'size', 'colour': 'col'},
           'countries': [('NZ', 88), ('AU', 12)], 'shipping': [650, 650, 990, 0], 'promise_days': 7,
           'first_sub': 500100, 'sub_id': str, 'sub_line_id': lambda n, k: '1', 'carriers': ['Longcloud Couriers', 'Post Shed'],
           'tracking': digits('LC', 8, 'NZ')}
    book = build(cfg)
    rng = random.Random(6)
    folder, store_dir, source_dir = place('06-tussockbay')
    paid = Words({True: True, False: False})
    why = Words({'dispatched': 'posted', 'cancelled': 'called off', 'open': None, 'unpaid': None})
    days = defaultdict(list)
    for i, o in enumerate(book.orders):
        cart = []
        for l in o.lines:
            picks = [{'k': n, 'v': v} for n, v in l.choices] + ([{'k': 'Name to print', 'v': l.text}] if l.text else [])
            cart.append({'n': int(l.line_id), 'product': {'page': int(l.listing_id), 'heading': l.title, 'stockCode': l.sku, 'picks': picks},
                         'ordered': l.quantity, 'money': {'each': {'cents': l.price, 'ccy': 'NZD'}, 'all': {'cents': l.price * l.quantity, 'ccy': 'NZD'}}})
        closed_at = o.dispatched or o.cancelled
        paid(bool(o.paid))
        days[o.placed.date().isoformat()].append(
            {'uuid': str(uuid.UUID(int=rng.getrandbits(128), version=4)), 'number': f'TB/{i + 2204}', 'ref': rng.choice([None, None, 'Mum', 'Staff gifts']),
             'checkout': {'order': int(o.order_id), 'at': zulu(o.placed), 'paid': bool(o.paid), 'paidAt': zulu(o.paid), 'via': rng.choice(['card', 'bank'])},
             'closed': {'why': why(o.status), 'at': zulu(closed_at)}, 'lastTouched': zulu(o.updated), 'postBy': o.promised.date().isoformat(),
             'customer': {'name': o.person['name'], 'email': o.person['mail'], 'phone': o.person['phone'],
                          'address': [o.person['street'], o.person['city'], o.person['zip']], 'countryCode': o.country},
             'cart': cart, 'sums': {'goods': {'cents': o.goods_total, 'ccy': 'NZD'}, 'post': {'cents': o.shipping, 'ccy': 'NZD'},
                                    'payable': {'cents': o.total, 'ccy': 'NZD'}}})
    write_json(store_dir, 'daybook.json', {'result': {'from': min(days), 'to': max(days), 'days': [
        {'date': d, 'count': len(os_), 'date_type': 'placed', 'orders': os_} for d, os_ in days.items()]}})
    store = Side('Orders stand in lists under days, whose date is local while every time is UTC. `number` is the invoice\'s and runs as even as an '
                 'order number would; `uuid` and `ref` are neither; the order\'s number is checkout.order, as only the supplier\'s file proves. The state '
                 'follows from checkout.paid and closed.why: cancelled beats unpaid beats dispatched; empty says nothing. `cart[*].n` runs on over all orders. One listing sells '
                 'several goods. Sizes are spelt out here and short at the supplier.')
    f, b = 'daybook.json', 'result.days[*].orders[*].'
    store.put('orders', f, b, order_id='checkout.order', placed_at=At('checkout.at', form='rfc3339'), paid_at=At('checkout.paidAt', form='rfc3339'),
              status=At('checkout.paid', 'closed.why', all=True), currency=At('sums.payable.ccy', 'sums.goods.ccy', 'sums.post.ccy', 'cart[*].money.each.ccy', 'cart[*].money.all.ccy'),
              promised_by=At('postBy', form='date %Y-%m-%d'), ship_to_country='customer.countryCode', updated_at=At('lastTouched', form='rfc3339'))
    store.put('order_lines', f, b, order_id='checkout.order', line_id='cart[*].n', listing_id='cart[*].product.page', sku='cart[*].product.stockCode',
              title='cart[*].product.heading', options=At('cart[*].product.picks', form='pairs', pair=['k', 'v']), quantity='cart[*].ordered',
              unit_price=At('cart[*].money.each.cents', form='minor'))
    store.say('orders.status', why)
    store.words['orders.status'].update({'true': 'open', 'false': 'unpaid'})
    store.options = {'order_lines': ['Item', 'Size', 'Colour']}

    sw = Words({'received': 'NEW', 'held': 'HOLD', 'making': 'PROD', 'dispatched': 'DESP', 'cancelled': 'CANC', 'rejected': 'REJ'})
    subs, n = [], 500100
    for s in book.subs:
        for k, l in enumerate(s.lines):
            n += rng.choice([1, 2, 5])
            t = replace(s, submission_id=str(n), lines=[replace(l, line_id='1')], parcels=[])
            if s.dispatched:
                p = s.parcels[0]
                number = cfg['tracking'](rng)
                t.dispatched = s.dispatched + timedelta(minutes=4 * k)
                t.updated = t.dispatched + timedelta(seconds=30)
                t.parcels = [Parcel(number, t.dispatched, p.carrier, number)]
            subs.append(t)
    form = '%Y-%m-%d %H:%M:%S'
    rows = []
    for s in subs:
        l, p = s.lines[0], s.parcels[0] if s.parcels else None
        rows.append([s.submission_id, loc(s.received, form), 'Tussock Bay order ' + s.order.order_id, sw(s.status), l.variant.variant_id, l.variant.sku,
                     l.quantity, dec(l.variant.cost), dec(l.variant.cost * l.quantity), loc(s.dispatched, form), p.carrier if p else '',
                     p.tracking if p else '', loc(s.updated, form), ''])
    write_csv(source_dir, 'po_lines.csv', ['po_id', 'rcvd', 'reference', 'sts', 'var', 'item', 'qty', 'uc', 'ext', 'desp', 'cour', 'con_note', 'upd', 'po_note'],
              rows, sep=';', eol='\n')
    write_csv(source_dir, 'items.csv', ['var', 'item', 'your_code', 'descr', 'art', 'size', 'col', 'uc', 'ccy', 'act'],
              [[v.variant_id, v.sku, v.sku[3:], v.product, v.design, dict(v.choices).get('size', ''), dict(v.choices).get('colour', ''), dec(v.cost), 'NZD',
                'Y' if v.available else 'N'] for v in book.variants], sep=';', eol='\n')
    source = Side('Each line is an order of its own at the supplier, with its own parcel. The order number stands in a free text after "Tussock Bay '
                  'order ". `item` is our code with WL- before it; items.csv says which code of ours is which variant, that is a link. '
                  '`var` is the supplier\'s own id of good and artwork.')
    f = 'po_lines.csv'
    source.put('submissions', f, submission_id='po_id', order_ref='reference', status='sts', received_at=At('rcvd', form='local ' + form),
               updated_at=At('upd', form='local ' + form))
    source.put('submission_lines', f, submission_id='po_id', variant_id='var', sku='item', quantity='qty', unit_cost=At('uc', form='decimal'))
    source.put('parcels', f, parcel_id='con_note', submission_id='po_id', dispatched_at=At('desp', form='local ' + form), carrier='cour', tracking_number='con_note')
    source.put('variants', 'items.csv', variant_id='var', sku='item', product='descr', options=At('size', 'col', form='columns', all=True),
               unit_cost=At('uc', form='decimal'), currency='ccy', available='act')
    source.put('links', 'items.csv', sku='your_code', variant_id='var')
    source.say('submissions.status', sw)
    source.words['variants.available'] = {'Y': 'true', 'N': 'false'}
    source.options = {'variants': ['size', 'col']}
    source.extra = {'order_ref': {'prefix': 'Tussock Bay order ', 'suffix': ''}, 'sku': {'prefix': 'WL-', 'suffix': ''}}
    t = tables(cfg, book, subs)
    t['links'] = [{'sku': v.sku[3:], 'variant_id': v.variant_id} for v in book.variants]
    finish(folder, cfg, 'wether-and-loom', store, source, t)


def gullstep():
    """A report of one flat record per line, keys that carry their type. Supplier: daily batches over many orders, four files."""
    colours = [('1', 'Tide'), ('2', 'Chalk'), ('3', 'Rosehip')]
    cfg = {**ENGLISH, 'seed': 707, 'zone': 'Europe/Lisbon', 'currency': 'EUR', 'start': '2026-05-04', 'days': 24, 'orders': 70,
           'first_order': 398, 'order_id': lambda n: f'GS7-{n:04d}', 'line_ids': 'ordinal', 'text_rate': 0.2,
           'designs': [('A', 'Gull on a Step'), ('B', 'Azulejo Cat'), ('C', 'Tram Shadow')],
           'goods': [good('AP', 'Apron', 'Apron', [], colours[:2], 2600, 780), good('SW', 'Sweatshirt', 'Sweatshirt', ['S', 'M', 'L', 'XL'], colours, 4800, 1990),
                     good('TO', 'Tote', 'Tote bag', [], colours, 1500, 380)],
           'listing': 'single', 'title': lambda d, g: f'{d} ({g})', 'first_listing': 15, 'listing_id': lambda n: f'pg{n}',
           'option_names': {'size': 's_size', 'colour': 's_colour'}, 'sku': lambda d, g, s, c: f'{g}{d}{c}{s}', 'variant_sku': lambda s: s,
           'stray_sku': lambda s: s + '?', 'variant_id': lambda n, d: f'{d.lower()}{n:03d}', 'countries': [('PT', 60), ('ES', 20), ('GB', 20)], 'shipping': [400, 0, 900],
           'promise_days': 5, 'first_sub': 1, 'sub_id': str, 'sub_line_id': lambda n, k: f'P{n:05d}', 'first_sub_line': 8120, 'holds': False,
           'carriers': ['Espuma Express', 'Postal Andorinha'], 'tracking': digits('MX', 9)}
    book = build(cfg)
    rng = random.Random(7)
    folder, store_dir, source_dir = place('07-gullstep')
    pay = Words({'unpaid': 'none', 'open': 'captured', 'cancelled': 'returned'})
    flow = Words({'open': 'bench', 'dispatched': 'gone'})
    form = '%Y-%m-%d %H:%M:%S'
    recs = []
    for i, o in enumerate(book.orders):
        for l in o.lines:
            ch = dict(l.choices)
            recs.append({'n_row': len(recs) + 1, 's_order': o.order_id, 'n_line': int(l.line_id), 'dt_order': loc(o.placed, form), 'dt_pay': loc(o.paid, form),
                         'dt_invoice': loc(o.placed, '%Y-%m-%d') if o.paid else '', 's_invoice': f'FT {i + 88}/26' if o.paid else '', 's_pay': pay('unpaid' if not o.paid else
                         'cancelled' if o.status == 'cancelled' else 'open'), 's_flow': flow('dispatched' if o.status == 'dispatched' else 'open'),
                         'dt_stop': loc(o.cancelled, form), 's_page': l.listing_id, 's_what': l.title, 's_sku': l.sku, 's_size': ch.get('s_size', ''),
                         's_colour': ch.get('s_colour', ''), 's_wording': l.text, 'n_qty': l.quantity, 'f_each': l.price / 100, 'f_line': l.price * l.quantity / 100,
                         'f_post': o.shipping / 100, 'f_order': o.total / 100, 's_who': o.person['name'], 's_mail': o.person['mail'], 's_street': o.person['street'],
                         's_town': o.person['city'], 's_land': o.country, 's_shop': 'gullstep', 's_voucher': ''})
    write_jsonl(store_dir, 'report_lines.jsonl', recs, ascii_only=True)
    store = Side('One record per line with the order\'s fields repeated; the first letters of a key are its type. n_row counts rows of the '
                 'report, n_line lines of the order. Three fields say the state: s_pay, s_flow and whether dt_stop is set (cancelled beats unpaid '
                 'beats dispatched). A choice that a good does not have is an empty text. No field says the currency; times are local without a zone.')
    f = 'report_lines.jsonl'
    store.put('orders', f, order_id='s_order', placed_at=At('dt_order', form='local ' + form), paid_at=At('dt_pay', form='local ' + form),
              status=At('s_pay', 's_flow', 'dt_stop', all=True, when_set={'dt_stop': 'cancelled'}), ship_to_country='s_land')
    store.put('order_lines', f, order_id='s_order', line_id='n_line', listing_id='s_page', sku='s_sku', title='s_what',
              options=At('s_size', 's_colour', form='columns', all=True), quantity='n_qty', unit_price=At('f_each', form='decimal'))
    store.say('orders.status', pay, flow)
    store.options = {'order_lines': ['s_size', 's_colour']}

    # Each morning's batch takes what came in since the last one.
    batches, boxes, contents = {}, [], []
    for s in book.subs:
        opened = (s.received + timedelta(days=1)).replace(hour=6, minute=30, second=0)
        while opened.weekday() > 4:
            opened += timedelta(days=1)
        if opened > book.exported:
            continue
        b = batches.setdefault(opened, Sub(f'{opened:%y%j}', None, opened, []))
        gone = max(s.dispatched, opened + timedelta(hours=30)) if s.dispatched else None
        if gone and gone.weekday() > 4:
            gone += timedelta(days=2)
        if gone and gone > book.exported:
            gone = None
        state = 'dispatched' if gone else 'making' if s.status == 'dispatched' else s.status
        for l in s.lines:
            b.lines.append(replace(l, status=state))
        if gone:
            p = s.parcels[0]
            p = Parcel(f'BX-{len(boxes) + 5007}', gone.replace(second=0), p.carrier, p.tracking)
            b.parcels.append(p)
            boxes.append([p.parcel_id, b.submission_id, loc(p.dispatched, '%d %b %Y %H:%M'), p.carrier, p.tracking, f'{rng.uniform(0.2, 2):.1f}'])
            contents += [[p.parcel_id, l.line_id, l.quantity] for l in s.lines]
    bw = Words({'received': 'Opened', 'making': 'On the press', 'dispatched': 'Finished'})
    pw = Words({'received': 'waiting', 'making': 'printed', 'dispatched': 'boxed', 'cancelled': 'dropped'})
    for b in batches.values():
        left = {l.status for l in b.lines} - {'cancelled'}
        b.status = 'dispatched' if left <= {'dispatched'} else 'received' if left == {'received'} else 'making'
    write_xlsx(source_dir, 'Batches.xlsx', ['Batch', 'Opened', 'Progress', 'Pieces', 'Value', 'Operator'],
               [[b.submission_id, b.received, bw(b.status), sum(l.quantity for l in b.lines), sum(l.quantity * l.variant.cost for l in b.lines) / 100,
                 rng.choice(['R.', 'T.'])] for b in batches.values()], sheet='Batches', formats={'Opened': 'YYYY-MM-DD HH:MM'})
    write_csv(source_dir, 'batch_pieces.csv', ['Piece', 'Batch', 'Your order', 'Your code', 'Our plate', 'What', 'Print', 'Count', 'Cost each', 'Cost', 'Piece state'],
              [[l.line_id, b.submission_id, l.order_ref, l.variant.sku, l.variant.variant_id, l.variant.product, l.variant.design, l.quantity, dec(l.variant.cost) + ' €',
                dec(l.variant.cost * l.quantity) + ' €', pw(l.status)] for b in batches.values() for l in b.lines])
    write_csv(source_dir, 'boxes.csv', ['Box', 'Batch', 'Left us', 'With', 'Tracking no', 'kg'], boxes)
    write_csv(source_dir, 'box_contents.csv', ['Box', 'Piece', 'Count'], contents)
    source = Side('A supplier order is a day\'s batch over many orders of the shop, so only the pieces say which order they are for, and each '
                  'piece has its own state. Piece ids hold over all batches. Four files join by Batch, Piece and Box. The order number stands as it is. Our plate is the variant, good and print together.')
    source.put('submissions', 'Batches.xlsx', submission_id='Batch', status='Progress', received_at=At('Opened', form='cell'))
    source.put('submission_lines', 'batch_pieces.csv', submission_id='Batch', line_id='Piece', order_ref='Your order', sku='Your code', variant_id='Our plate', quantity='Count',
               status='Piece state', unit_cost=At('Cost each', form='decimal'))
    source.put('parcels', 'boxes.csv', parcel_id='Box', submission_id='Batch', dispatched_at=At('Left us', form='local %d %b %Y %H:%M'), carrier='With',
               tracking_number='Tracking no')
    source.put('parcel_lines', 'box_contents.csv', parcel_id='Box', submission_line_id='Piece', quantity='Count')
    source.say('submissions.status', bw)
    source.say('submission_lines.status', pw)
    source.extra = {'order_ref': {'prefix': '', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    t = tables(cfg, book, [])
    for b in batches.values():
        t['submissions'].append({'submission_id': b.submission_id, 'status': b.status, 'received_at': b.received})
        t['submission_lines'] += [{'submission_id': b.submission_id, 'line_id': l.line_id, 'order_ref': l.order_ref, 'sku': l.variant.sku, 'variant_id': l.variant.variant_id,
                                   'quantity': l.quantity, 'status': l.status, 'unit_cost': dec(l.variant.cost)} for l in b.lines]
        t['parcels'] += [{'parcel_id': p.parcel_id, 'submission_id': b.submission_id, 'dispatched_at': p.dispatched, 'carrier': p.carrier,
                          'tracking_number': p.tracking} for p in b.parcels]
    t['parcel_lines'] = [{'parcel_id': b, 'submission_line_id': p, 'quantity': q} for b, p, q in contents]
    finish(folder, cfg, 'marrow-street-works', store, source, t)


def ostravine():
    """Title-case keys, envelope upon envelope, money as an object of minor units. Supplier: a summary and a detail file, month first."""
    colours = [('10', 'Spruce'), ('20', 'Harbour'), ('30', 'Birch'), ('40', 'Ember')]
    cfg = {**ENGLISH, 'seed': 808, 'zone': 'America/Toronto', 'currency': 'CAD', 'start': '2026-02-17', 'days': 36, 'orders': 68,
           'first_order': 5500100, 'order_id': str, 'line_ids': 'global', 'first_line': 12044, 'text_rate': 0.15,
           'designs': [('LOON', 'Loon Call'), ('CAB', 'Cabin Light'), ('SNW', 'First Snow'), ('PDL', 'Red Paddle')],
           'goods': [good('H', 'hoodie', 'Fleece hoodie', ['S', 'M', 'L', 'XL', '2XL'], colours, 6400, 2890),
                     good('A', 'apron', 'Chef apron', [], colours[:2], 3600, 1320), good('M', 'mug', 'Stoneware mug', ['11 oz', '15 oz'], [('', '', '')], 2200, 810)],
           'listing': 'single', 'title': lambda d, g: f'{d} {g}', 'first_listing': 640, 'listing_id': str, 'dear': 400,
           'option_names': {'size': 'Size', 'colour': 'Colour'},
           'sku': lambda d, g, s, c: f"{g}{c or '00'}-{d}-{s.replace(' ', '') or 'OS'}", 'variant_sku': lambda s: s, 'stray_sku': lambda s: s.lower() + '*',
           'variant_id': lambda n, d: f'V-{n + 1180}', 'countries': [('CA', 85), ('US', 15)], 'shipping': [995, 1250, 0], 'promise_days': 6, 'rejects': True, 'remakes': 2,
           'first_sub': 77000, 'sub_id': lambda n: f'FI{n}', 'sub_line_id': lambda n, k: str(n), 'first_sub_line': 240551, 'carriers': ['Portage Parcel'],
           'tracking': digits('PP', 10, 'CA'), 'supplier_minutes': True}
    book = build(cfg)
    rng = random.Random(8)
    folder, store_dir, source_dir = place('08-ostravine')
    pay = Words({'unpaid': 'Authorised', 'open': 'Captured', 'cancelled': 'Void'})
    ship = Words({'open': 'Pending', 'dispatched': 'HandedOver'})

    def money(m):
        return {'Minor': m, 'Exponent': 2, 'Currency': 'CAD'}

    orders = []
    for i, o in enumerate(book.orders):
        lines = [{'Id': int(l.line_id), 'Goods': {'Id': int(l.listing_id), 'Name': l.title, 'Sku': l.sku or None}, 'Selection': '; '.join(f'{n}: {v}' for n, v in l.choices),
                  'Inscription': l.text or None, 'Count': l.quantity, 'Price': {'Each': money(l.price), 'Total': money(l.price * l.quantity)}} for l in o.lines]
        orders.append({'Id': str(uuid.UUID(int=rng.getrandbits(128), version=4)),
                       'Document': {'Number': f'INV{i + 1042}', 'Date': millis(o.paid), 'Kind': 'Invoice'} if o.paid else None,
                       'Sale': {'Number': int(o.order_id), 'Status': pay('cancelled' if o.status == 'cancelled' else 'open' if o.paid else 'unpaid'), 'PlacedOn': millis(o.placed),
                                'CapturedOn': millis(o.paid), 'ChangedOn': millis(o.updated), 'Channel': 'Web'},
                       'Buyer': {'Id': o.person['no'], 'Reference': rng.choice(['', '', 'Dept 4', 'for Nan']), 'Contact': {'Name': o.person['name'], 'Email': o.person['mail']}},
                       'Dispatch': {'Status': ship('dispatched' if o.status == 'dispatched' else 'open'), 'PromisedOn': millis(o.promised), 'ActualOn': millis(o.dispatched),
                                    'Address': {'Street': o.person['street'], 'City': o.person['city'], 'PostalCode': o.person['zip'], 'Country': o.country}},
                       'Content': {'LineCount': len(lines), 'Lines': lines},
                       'Totals': {'Goods': money(o.goods_total), 'Shipping': money(o.shipping), 'Tax': money(0), 'Grand': money(o.total)}})
    write_json(store_dir, 'OrderSet.json', {'Envelope': {'Header': {'RequestId': str(uuid.UUID(int=rng.getrandbits(128), version=4)), 'GeneratedOn': millis(book.exported)},
                                                         'Body': {'OrderSet': {'Page': 1, 'Orders': orders}}}})
    store = Side('Five levels of envelope; `Id` is a GUID on the order, a number on buyer, goods and line; `Number` is the invoice\'s and the sale\'s. '
                 'Sale.Status is the payment\'s, Dispatch.Status the dispatch\'s; Void beats the rest. Document.Date equals the capture. '
                 'That Authorised means not paid yet, only the empty CapturedOn shows. Options are one text with semicolons; Inscription stands apart.')
    f, b = 'OrderSet.json', 'Envelope.Body.OrderSet.Orders[*].'
    c = 'Content.Lines[*].'
    store.put('orders', f, b, order_id='Sale.Number', placed_at=At('Sale.PlacedOn', form='epoch_ms'), paid_at=At('Sale.CapturedOn', 'Document.Date', form='epoch_ms'),
              status=At('Sale.Status', 'Dispatch.Status', all=True),
              currency=At('Totals.Grand.Currency', 'Totals.Goods.Currency', 'Totals.Shipping.Currency', 'Totals.Tax.Currency', c + 'Price.Each.Currency', c + 'Price.Total.Currency'),
              promised_by=At('Dispatch.PromisedOn', form='epoch_ms'), ship_to_country='Dispatch.Address.Country', updated_at=At('Sale.ChangedOn', form='epoch_ms'))
    store.put('order_lines', f, b, order_id='Sale.Number', line_id=c + 'Id', listing_id=c + 'Goods.Id', sku=c + 'Goods.Sku', title=c + 'Goods.Name',
              options=At(c + 'Selection', form='text'), quantity=c + 'Count', unit_price=At(c + 'Price.Each.Minor', form='minor'))
    store.say('orders.status', pay, ship)
    store.options = {'order_lines': ['Size', 'Colour']}

    sw = Words({'received': 'Submitted', 'held': 'Paused', 'making': 'In Production', 'dispatched': 'Completed', 'cancelled': 'Cancelled', 'rejected': 'Declined'})
    us = '%m/%d/%Y %I:%M %p'
    heads, details = [], []
    for s in book.subs:
        p = s.parcels[0] if s.parcels else None
        cost = sum(l.quantity * l.variant.cost for l in s.lines)
        heads.append([s.submission_id, 'OV' + s.order.order_id + '-CA', loc(s.received, us), sw(s.status), s.replaces, len(s.lines), f'{cost / 100:,.2f}', '0.00',
                      f'{cost / 100:,.2f}', loc(s.dispatched, us), p.tracking if p else '', loc(s.updated, us)])
        for l in s.lines:
            details.append([l.line_id, s.submission_id, l.order_line_ref, l.variant.variant_id, l.variant.sku, l.variant.product, ' / '.join(v for _, v in l.variant.choices), l.quantity, dec(l.variant.cost),
                            dec(l.variant.cost * l.quantity)])
    write_csv(source_dir, 'Order Summary.csv', ['Order ID', 'PO Number', 'Submitted On', 'Order Status', 'Reprint Of', 'Line Count', 'Subtotal', 'Rush Fee', 'Order Total',
                                                'Completed On', 'Waybill', 'Modified On'], heads, quote=csv.QUOTE_ALL)
    write_csv(source_dir, 'Order Detail.csv', ['Detail ID', 'Order ID', 'PO Line', 'Variant ID', 'SKU', 'Product', 'Variation', 'Quantity', 'Unit Price', 'Amount'], details, quote=csv.QUOTE_ALL)
    source = Side('Two files joined by Order ID; Unit Price is what the shop pays. Completed On is the dispatch, the waybill the only sign of a parcel. '
                  'Month first with AM and PM; every cell is quoted. Our order number stands between OV and -CA. Variation has no names. PO Line is the storefront\'s line id, Detail ID the supplier\'s.')
    f = 'Order Summary.csv'
    source.put('submissions', f, submission_id='Order ID', order_ref='PO Number', status='Order Status', received_at=At('Submitted On', form='local ' + us),
               replaces='Reprint Of', updated_at=At('Modified On', form='local ' + us))
    source.put('submission_lines', 'Order Detail.csv', submission_id='Order ID', line_id='Detail ID', order_line_ref='PO Line', variant_id='Variant ID', sku='SKU', quantity='Quantity', unit_cost=At('Unit Price', form='decimal'))
    source.put('parcels', f, parcel_id='Waybill', submission_id='Order ID', dispatched_at=At('Completed On', form='local ' + us), tracking_number='Waybill')
    source.say('submissions.status', sw)
    source.extra = {'order_ref': {'prefix': 'OV', 'suffix': '-CA'}, 'sku': {'prefix': '', 'suffix': ''}}
    finish(folder, cfg, 'fable-iron-print', store, source, tables(cfg, book))


def main():
    for pair in (quillmoor, sperlhof, lacuzette, dustwren, zarzuelina, tussockbay, gullstep, ostravine):
        pair()


if __name__ == '__main__':
    main()
