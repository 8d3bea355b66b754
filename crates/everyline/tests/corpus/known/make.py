#!/usr/bin/env python3
"""Writes the pairs of this corpus: python3 make.py [FOLDER]. Needs openpyxl and odfpy.

Every shop, supplier, person, product and number is invented. The same run gives the same bytes.
"""
import json
import os
import sys
import unicodedata

from lib import (CellDay, CellTime, Day, Epoch, Good, Local, M, Money, Rfc, Source, m, make_book, pairs, write_pair)

ROOT = sys.argv[1] if len(sys.argv) > 1 else os.path.dirname(os.path.abspath(__file__))


def folk(names, streets, places, phone):
    out = []
    for i, n in enumerate(names.split(';')):
        n = n.strip()
        s = streets.split(';')[i % len(streets.split(';'))].strip()
        p = places.split(';')[(i * 5) % len(places.split(';'))].strip()
        plain = unicodedata.normalize('NFKD', n.lower().replace('ø', 'o').replace('ß', 'ss').replace(' ', '.'))
        mail = ''.join(c for c in plain if c.isascii() and c != "'") + '@example.' + ('com', 'net', 'org')[i % 3]
        code, _, town = p.partition(' ')
        out.append(dict(id=4400 + i * 37, name=n, street=f'{s} {i * 7 % 61 + 1}', code=code, town=town, mail=mail,
                        phone=phone % (100 + i * 3)))
    return out


EN = 'Ottilie Marsh; Bram Hollowell; Suki Attenby; Percy Wainfleet; Dilys Oakhanger; Rowan Tisbury; Imke Farrant; ' \
     'Jonty Quillfeather; Maud Sallowby; Corin Treadlow; Ada Penhallick; Silas Birdwhistle; Nell Garraway; Tobin Ashlock; ' \
     'Wren Castellow; Hester Lumley-Poole; Anders O\'Dunmore; Faye Kettlebury'
DE = 'Lina Moosbacher; Jörg Tannhövel; Käthe Ellerbusch; Sören Wiesenhaupt; Änne Birkholt; Malte Quendel; Frieda Storchner; ' \
     'Ruprecht Haselhoff; Ilse Großkreuz-Aal; Theo Mühlenfeld; Wanda Espenlaub; Kuno Rehbein-Otte'
FR = 'Maëlle Ormeval; Gaspard Tillevigne; Océane Brisfleur; Anselme Corvaux; Léonie Haudrecourt; Firmin Pasquelin; ' \
     'Zélie Montbruyère; Côme Valserre; Inès d\'Aubrac-Lys; Théophile Narbuisson'
ES = 'Nuria Olmareda; Íñigo Valdecierzo; Begoña Ruipino; Damián Castroviejo Luz; Lucía Arroyuelo; Mateo Peñasalba; ' \
     'Ximena Tordehumo; Álvaro Cantizal; Rocío Brezmediano; Saúl Ontañar'
NO = 'Ingeborg Haldvikstø; Åsmund Brenngard; Sunniva Torvløkken; Eirik Sjåholmen; Ragna Vestrelia; Øyvind Krokmyr; ' \
     'Tuva Steinrabben; Jens Olav Fjøsmo; Marit Bekkesvaa; Håkon Granlisæter'


def number_lines(b, step=1):
    """The supplier numbers the lines within each of its orders."""
    for s in b.submissions:
        for y in s.lines:
            y.id = str(y.n * step)


def line_total(x):
    return x.qty * x.price


# ---------------------------------------------------------------- 01

def pair01():
    zone = 'Europe/Oslo'
    people = folk(NO, 'Tangveien; Lyngstien; Sjøbua; Furulia', '4891 Grimnes; 5943 Holmevik; 7130 Brekkstø', '+47 555 01 %d')
    goods = [Good('TEE', 'Long-sleeved top', 'Top long sleeve 190', 34900, 14200, pairs('S M L XL 2XL'),
                  pairs('MOS=Moss SAN=Sand NIG=Night_blue'), 210, 2000),
             Good('APR', 'Apron', 'Bib apron cotton', 39900, 16650, pairs('STD=One_size KID=Children'),
                  pairs('SAN=Sand RUS=Rust'), 300),
             Good('TOT', 'Tote bag', 'Tote heavy', 22900, 8300, (), pairs('NAT=Natural NIG=Night_blue'), 140)]
    b = make_book('01-kelp-bight', zone, 'NOK', '2026-03-09', 33, 58, goods,
                  [('KLP', 'Kelp forest'), ('HRN', 'Herring moon'), ('LGT', 'Lighthouse, sleeping'), ('EID', 'Eider pair')],
                  [('goods', 'Item'), ('size', 'Size'), ('colour', 'Colour')],
                  lambda d, g, s, c: '-'.join(x for x in (d, g, s, c) if x), 4107, str,
                  lambda r, n: f'HX{20900 + n}', people, ['NO', 'NO', 'NO', 'SE', 'DK'], ['Nordkist', 'Havpost Lilla'],
                  personal=('Name on the back', .14, ['Ragna', 'Team Åse, 2026', 'Size doesn\'t matter', 'M + L = love', 'Øy-kaptein']),
                  multi=True, parcels='full', ship_cost=7900)
    b.parcel_by_tracking = False
    st, su = Source('storefront'), Source('supplier')
    T, K = Rfc(zone), Money('minor')
    pay = {'unpaid': 'awaiting_payment', 'open': 'paid', 'dispatched': 'sent', 'cancelled': 'called_off'}
    tree = []
    for o in b.orders:
        p = o.person
        tree.append({
            'id': o.iid, 'order_number': m(o.no, 'orders.order_id order_lines.order_id'), 'channel': 'web',
            'created': m(o.placed, 'orders.placed_at', T), 'changed': m(o.updated, 'orders.updated_at', T),
            'state': st.st('orders.status', pay[o.status], o.status),
            'buyer': {'id': p['id'], 'name': p['name'], 'mail': p['mail'], 'phone': p['phone'], 'language': 'nb'},
            'payment': {'id': f'p_{o.iid * 17 % 999983:06d}', 'method': 'transfer' if o.bank else 'card',
                        'settled_at': m(o.paid, 'orders.paid_at', T), 'amount': o.total if o.paid else 0},
            'bill_to': {'country': o.bill_country},
            'deliver_to': {'name': p['name'], 'street': p['street'], 'postcode': p['code'], 'town': p['town'],
                           'country': m(o.country, 'orders.ship_to_country')},
            'dispatch_before': m(o.promised, 'orders.promised_by', Day('%Y-%m-%d', zone)),
            'currency': m('NOK', 'orders.currency'),
            'goods_total': o.goods, 'shipping': o.ship, 'discount': o.discount, 'grand_total': o.total,
            'lines': [{
                'id': m(int(x.lid), 'order_lines.line_id'),
                'listing': {'id': m(int(x.listing), 'order_lines.listing_id'), 'title': m(x.title, 'order_lines.title')},
                'sku': m(x.sku or None, 'order_lines.sku'), 'count': m(x.qty, 'order_lines.quantity'),
                'price': m(x.price, 'order_lines.unit_price', K), 'sum': line_total(x),
                'choices': m(dict(x.opts, **({'Name on the back': x.text} if x.text else {})), 'order_lines.options'),
            } for x in o.lines],
            'note': 'Leave at the door' if o.gift else None})
    st.json('orders.json', {'asked': '2026-04-11T05:00:00Z', 'page': {'number': 1, 'of': 1, 'size': 250},
                            'result': {'count': len(tree), 'orders': tree}}, compact=True)
    st.options_names = {'order_lines': ['Item', 'Size', 'Colour']}
    st.notes = ('`id` stands at the order, the buyer, the payment, the line and the listing. The supplier refers to '
                '`order_number`, not to the order\'s `id`; from the storefront alone either could be the order id. '
                '"Name on the back" stands among the choices and is typed by customers. Two countries; delivery is meant.')
    number_lines(b)
    E, C = Epoch('ms'), Money('number')
    word = {'received': 'RECEIVED', 'held': 'ON_HOLD', 'making': 'IN_WORK', 'dispatched': 'GONE', 'cancelled': 'WITHDRAWN',
            'rejected': 'REFUSED'}
    jobs = []
    for s in b.submissions:
        jobs.append({'job': {
            'key': m(s.sid, 'submissions.submission_id submission_lines.submission_id parcels.submission_id'),
            'client': {'id': 311, 'clientRef': m('KB-' + s.ref, 'submissions.order_ref')},
            'state': su.st('submissions.status', word[s.status], s.status),
            'times': {'arrivedOn': m(s.received, 'submissions.received_at', E),
                      'touchedOn': m(s.updated, 'submissions.updated_at', E)},
            'pieces': [{'pieceNo': m(y.n, 'submission_lines.line_id'), 'article': {
                        'key': m(int(y.vid), 'submission_lines.variant_id'), 'sku': m(y.sku, 'submission_lines.sku'),
                        'label': f'{y.v.product} / {y.v.colour}' + (f' / {y.v.size}' if y.v.size else '')},
                        'amount': m(y.qty, 'submission_lines.quantity'),
                        'cost': {'each': m(y.cost, 'submission_lines.unit_cost', C), 'all': C.src(y.cost * y.qty)}}
                       for y in s.lines],
            'boxes': [{'boxId': m(int(p.pid), 'parcels.parcel_id parcel_lines.parcel_id'),
                       'leftOn': m(p.at, 'parcels.dispatched_at', E), 'carrier': m(p.carrier, 'parcels.carrier'),
                       'track': m(p.track, 'parcels.tracking_number'), 'grams': sum(y.v.weight * q for y, q in p.lines),
                       'holds': [{'piece': m(y.n, 'parcel_lines.submission_line_id'), 'amount': m(q, 'parcel_lines.quantity')}
                                 for y, q in p.lines]} for p in s.parcels],
            'costTotal': C.src(sum(y.cost * y.qty for y in s.lines) + 4500)}})
    su.json('jobs.json', {'payload': {'client': 'Kelp Bight', 'jobs': jobs}})
    su.extra = {'order_ref': {'prefix': 'KB-', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = ('Times are epoch milliseconds with a part of a second. `amount` is a quantity, `cost.all` the line\'s total. '
                'The parcel\'s lines name the piece by its number within the job.')
    write_pair(ROOT, '01-kelp-bight', b, st, su, 'hexelby-print')


# ---------------------------------------------------------------- 02

def pair02():
    zone = 'Europe/Berlin'
    people = folk(DE, 'Ahornweg; Am Dorfteich; Lindenstraße; Große Bleiche', '10997 Berlinchen; 37213 Witzenau; 99084 Ehrfurt',
                  '+49 555 01%d')
    goods = [Good('TS', 'T-Shirt', 'Shirt Rundhals 180', 2490, 935, pairs('S M L XL XXL'),
                  pairs('MO=Moos TE=Teer SA=Sand'), 180, 200),
             Good('KI', 'Kinder-Shirt', 'Shirt Kinder 160', 1990, 810, pairs('104=98/104 116=110/116 128=122/128'),
                  pairs('MO=Moos SO=Sonnengelb'), 110),
             Good('BE', 'Beutel', 'Stoffbeutel lang', 1490, 520, (), pairs('NA=Natur TE=Teer'), 120)]
    b = make_book('02-moosgasse', zone, 'EUR', '2026-05-04', 28, 62, goods,
                  [('101', 'Kranich'), ('104', 'Pilzkreis'), ('117', 'Nachtzug'), ('122', 'Drei Dohlen')],
                  [('size', 'Größe'), ('colour', 'Farbe')],
                  lambda d, g, s, c: f'{g}{d}.{c}' + (f'.{s}' if s else ''), 5021, str,
                  lambda r, n: f'{26}-{3300 + n}', people, ['DE', 'DE', 'DE', 'AT'], ['Paketmeise', 'Botenbund'],
                  personal=('Wunschtext', .1, ['Für Oma', 'L wie Lina', 'Moos & Meer', 'Größe zeigen!']), promise_days=7)
    b.parcel_by_tracking = True
    st, su = Source('storefront'), Source('supplier')
    T, D, K = Local('%d.%m.%Y %H:%M', zone), Day('%d.%m.%Y', zone), Money('comma')
    word = {'unpaid': 'Zahlung offen', 'open': 'Bezahlt', 'dispatched': 'Versendet', 'cancelled': 'Storniert'}
    rows = []
    for o, x in b.lines:
        p = o.person
        rows.append({
            'Rechnungsnummer': f'RE{o.invoice}', 'Bestellnr.': m(o.oid, 'orders.order_id order_lines.order_id'),
            'Rechnungsdatum': D.src(o.paid or o.placed), 'Bestellt am': m(o.placed, 'orders.placed_at', T),
            'Zahlungseingang': m(o.paid, 'orders.paid_at', T), 'Versand bis': m(o.promised, 'orders.promised_by', D),
            'Status': st.st('orders.status', word[o.status], o.status), 'Kundennr.': p['id'], 'Name': p['name'],
            'E-Mail': p['mail'], 'Straße': p['street'], 'PLZ': p['code'], 'Ort': p['town'],
            'Land': m(o.country, 'orders.ship_to_country'), 'Art.-Nr.': m(x.sku, 'order_lines.sku'),
            'Bezeichnung': m(x.title, 'order_lines.title'), 'Größe': m(x.opts.get('Größe', ''), 'order_lines.options'),
            'Farbe': m(x.opts.get('Farbe', ''), 'order_lines.options'), 'Wunschtext': x.text,
            'Menge': m(x.qty, 'order_lines.quantity'), 'Einzelpreis': m(x.price, 'order_lines.unit_price', K),
            'Gesamtpreis': K.src(line_total(x)), 'MwSt. %': '19', 'Versandkosten': K.src(o.ship), 'Rabatt': K.src(o.discount),
            'Rechnungsbetrag': K.src(o.total), 'Währung': m('EUR', 'orders.currency'),
            'Zahlart': 'Überweisung' if o.bank else 'Karte', 'Bemerkung': '', 'Gutscheincode': ''})
    st.all.add('order_lines.options')
    st.table('bestellungen.csv', rows, delimiter=';', encoding='cp1252')
    st.options_names = {'order_lines': ['Größe', 'Farbe']}
    st.notes = ('The first number is the invoice\'s. Three dates before the status. "Wunschtext" is typed by customers. '
                'A cancelled order has no time of its own.')
    number_lines(b)
    R, C = CellTime(zone), Money('number')
    sw = {'received': 'neu', 'held': 'angehalten', 'making': 'in Druck', 'dispatched': 'raus', 'cancelled': 'storniert',
          'rejected': 'abgelehnt'}
    rows = []
    for s in b.submissions:
        par = s.parcels[0] if s.parcels else None
        for y in s.lines:
            rows.append({
                'Auftrag': m(s.sid, 'submissions.submission_id submission_lines.submission_id parcels.submission_id'),
                'Eingang': m(s.received, 'submissions.received_at', R), 'Ihre Referenz': m(s.ref + '/1', 'submissions.order_ref'),
                'Pos.': m(y.n, 'submission_lines.line_id'), 'Artikel': y.v.product, 'Motiv': y.v.design,
                'Art.-Nr. Kunde': m(y.sku, 'submission_lines.sku'), 'Unsere Art.-Nr.': m(int(y.vid), 'submission_lines.variant_id'),
                'Größe': y.v.size, 'Farbe': y.v.colour, 'Stück': m(y.qty, 'submission_lines.quantity'),
                'Preis/Stück': m(y.cost, 'submission_lines.unit_cost', C), 'Betrag': C.src(y.cost * y.qty),
                'Stand': su.st('submissions.status', sw[s.status], s.status),
                'Versandt am': m(par and par.at, 'parcels.dispatched_at', R),
                'Sendungsnr.': m(par and par.track, 'parcels.parcel_id parcels.tracking_number'),
                'Gewicht (g)': y.v.weight * y.qty})
    su.table('auftragsliste.xlsx', rows, title=[['Weberknecht Druck', None, None, 'Auftragsliste Moosgasse'],
                                                ['Stand: 01.06.2026'], []], sheet='Aufträge')
    su.extra = {'order_ref': {'prefix': '', 'suffix': '/1'}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = ('Three rows stand above the header. Times are date cells, local. "Pos." counts within the order. Two numbers '
                'per article: ours and the customer\'s.')
    write_pair(ROOT, '02-moosgasse', b, st, su, 'weberknecht-druck')


# ---------------------------------------------------------------- 03

def pair03():
    zone = 'Europe/Paris'
    people = folk(FR, 'rue des Tilleuls; quai du Héron; impasse Basse; allée des Saules', '29770 Brumeville; 63120 Orcelles; 84220 Lavasson',
                  '+33 555 01 %d')
    goods = [Good('TSH', 'T-shirt', 'Tee bio 180', 2700, 1010, pairs('S M L XL'), pairs('MS=Mousse CR=Craie NU=Nuit'), 180),
             Good('AFF', 'Affiche', 'Affiche mate', 1850, 540, pairs('A4 A3 50=50_x_70_cm'), (), 90, 0),
             Good('TAB', 'Tablier', 'Tablier coton', 3400, 1380, (), pairs('CR=Craie OC=Ocre'), 310)]
    b = make_book('03-atelier-brume', zone, 'EUR', '2026-01-12', 40, 66, goods,
                  [('PH', 'Le phare'), ('GR', 'Grues en vol'), ('SA', 'Sardines, trois'), ('MI', 'Midi')],
                  [('size', 'Taille'), ('colour', 'Couleur')],
                  lambda d, g, s, c: '_'.join(x for x in (g, d, c, s) if x).lower(), 733, str,
                  lambda r, n: f'OF{1180 + n}', people, ['FR', 'FR', 'BE', 'CH'], ['Colicygne', 'Rapidoie'],
                  personal=('Prénom', .15, ['Ana', 'Pour Côme, avec amour', 'Taille fine', 'Léo : le grand']), parcels='full',
                  strays=('échantillon salon', ''), ship_cost=490)
    b.parcel_by_tracking = False
    st, su = Source('storefront'), Source('supplier')
    T, D, K = Local('%d/%m/%Y %H:%M', zone), Day('%d/%m/%Y', zone), Money('comma', after=' €')
    rows = []
    for o, x in b.lines:
        p = o.person
        paid = 'oui' if o.paid and o.status != 'cancelled' else 'non' if o.status == 'unpaid' else \
            'remboursée' if o.paid else 'annulée'
        sent = 'oui' if o.status == 'dispatched' else 'non'
        st.combo('orders.status', o.status, paid, sent)
        text = ', '.join(f'{k} : {v}' for k, v in x.opts.items()) + (f', Prénom : {x.text}' if x.text else '')
        rows.append({
            'N° facture': f'F26-{o.invoice}', 'N° commande': m(o.oid, 'orders.order_id order_lines.order_id'),
            'Date': m(o.placed, 'orders.placed_at', T), 'Date de paiement': m(o.paid, 'orders.paid_at', T),
            'Payée': m(paid, 'orders.status'), 'Expédiée': m(sent, 'orders.status'),
            'À expédier avant le': m(o.promised, 'orders.promised_by', D), 'Client': p['name'], 'Réf. client': o.po,
            'Courriel': p['mail'], 'Adresse': p['street'], 'CP': p['code'], 'Ville': p['town'],
            'Pays': m(o.country, 'orders.ship_to_country'), 'Port': K.src(o.ship), 'Remise': K.src(o.discount),
            'Total TTC': K.src(o.total), 'Réf.': m(x.sku, 'order_lines.sku'), 'Désignation': m(x.title, 'order_lines.title'),
            'Détail': m(text, 'order_lines.options'), 'Qté': m(x.qty, 'order_lines.quantity'),
            'P.U.': m(x.price, 'order_lines.unit_price', K), 'Total ligne': K.src(line_total(x)), 'Code-barres': ''})
    order_columns = set('N° facture;Date;Date de paiement;Payée;Expédiée;À expédier avant le;Client;Réf. client;Courriel;'
                        'Adresse;CP;Ville;Pays;Port;Remise;Total TTC;N° commande'.split(';'))
    st.table('commandes.txt', rows, delimiter='\t', encoding='utf-16', first_only=order_columns, group='N° commande')
    st.options_names = {'order_lines': ['Taille', 'Couleur']}
    st.notes = ('UTF-16 with a mark, tabs, a .txt name. The order\'s columns stand on its first row only, the order number too. '
                'Paid and sent are two columns. One text holds the options, a customer\'s first name last, which can hold commas and '
                'colons. No currency but the sign.')
    L, C = Local('%Y-%m-%d %H:%M:%S', zone), Money('comma')
    sw = {'received': 'reçu', 'held': 'en attente', 'making': 'en fabrication', 'dispatched': 'expédié', 'cancelled': 'annulé',
          'rejected': 'refusé'}
    rows, boxes, inside = [], [], []
    for s in b.submissions:
        for y in s.lines:
            rows.append({
                'num_of': m(s.sid, 'submissions.submission_id submission_lines.submission_id'),
                'reference': m('commande ' + s.ref if s.order else s.ref, 'submissions.order_ref'),
                'recu_le': m(s.received, 'submissions.received_at', L), 'maj_le': m(s.updated, 'submissions.updated_at', L),
                'etat': su.st('submissions.status', sw[s.status], s.status), 'id_ligne': m(y.id, 'submission_lines.line_id'),
                'article': m(y.vid, 'submission_lines.variant_id'), 'ref_client': m(y.sku, 'submission_lines.sku'),
                'libelle': f'{y.v.product} {y.v.design}', 'taille': y.v.size, 'couleur': y.v.colour,
                'qte': m(y.qty, 'submission_lines.quantity'), 'cout_unitaire': m(y.cost, 'submission_lines.unit_cost', C),
                'cout_ligne': C.src(y.cost * y.qty), 'devise': 'EUR'})
        for p in s.parcels:
            boxes.append({'id_colis': m(p.pid, 'parcels.parcel_id'), 'num_of': m(s.sid, 'parcels.submission_id'),
                          'expedie_le': m(p.at, 'parcels.dispatched_at', L), 'transporteur': m(p.carrier, 'parcels.carrier'),
                          'num_suivi': m(p.track, 'parcels.tracking_number'), 'poids_g': sum(y.v.weight * q for y, q in p.lines)})
            for y, q in p.lines:
                inside.append({'id_colis': m(p.pid, 'parcel_lines.parcel_id'), 'id_ligne': m(y.id, 'parcel_lines.submission_line_id'),
                               'qte': m(q, 'parcel_lines.quantity')})
    su.table('fabrication.csv', rows, delimiter=';', encoding='utf-8-sig')
    su.table('colis.csv', boxes, delimiter=';', encoding='utf-8-sig', row='parcel')
    su.table('colis_lignes.csv', inside, delimiter=';', encoding='utf-8-sig', row='parcel line')
    su.extra = {'order_ref': {'prefix': 'commande ', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = ('A free reference: "commande 733" mostly, one sample and one empty. `ref_client` is the SKU, not the order\'s reference.')
    write_pair(ROOT, '03-atelier-brume', b, st, su, 'presse-du-guebas')


# ---------------------------------------------------------------- 04

def pair04():
    zone = 'America/New_York'
    people = folk(EN, 'Larkspur Ln; Old Mill Rd; Quarry St; Nettle Ct', '05851 Fernquill; 12009 Altamere; 01354 Gilling', '+1 555 01%d')
    goods = [Good('CREW', 'Crewneck', 'Fleece crew 280', 4600, 2130, pairs('S M L XL 2XL'), pairs('MOS=Moss OAT=Oat INK=Ink'), 420, 300),
             Good('TEE', 'Tee', 'Ring tee 160', 2600, 990, pairs('S M L XL 2XL'), pairs('MOS=Moss OAT=Oat INK=Ink RED=Brick'), 160, 200),
             Good('MUG', 'Camp Mug', 'Enamel mug', 1800, 705, pairs('12=12_oz'), pairs('WHT=White'), 210)]
    b = make_book('04-fernquill-hollow', zone, 'USD', '2026-02-02', 44, 74, goods,
                  [('BEAR', 'Sleepy Bear'), ('PINE', 'Nine Pines'), ('LAKE', 'Still Lake')],
                  [('colour', 'Color'), ('size', 'Size')],
                  lambda d, g, s, c: f'{d}-{g}-{c}-{s}', 1042, str, lambda r, n: f'{770 + n * 3:06d}', people, ['US', 'US', 'US', 'US', 'CA'],
                  ['Dovecart', 'Plainline'], personal=('Custom Text', .1, ['GO BEARS!!', 'Est. 2026', '"Nana"', 'Moss / L']),
                  per_line=True, ship_cost=600, promise_days=8, sup_opt={'size': 'size', 'colour': 'color', 'design': 'art'},
                  tracking=lambda r, i: f'DC{840000 + i * 31}US')
    b.parcel_by_tracking = True
    st, su = Source('storefront'), Source('supplier')
    T, D, K = Local('%m/%d/%Y %I:%M %p', zone), Day('%m/%d/%Y', zone), Money('decimal', before='$')
    word = {'unpaid': 'Pending', 'open': 'Ready to Make', 'dispatched': 'On Its Way', 'cancelled': 'Canceled'}
    most = max(len(o.lines) for o in b.orders)
    rows = []
    for o in b.orders:
        p = o.person
        row = {'Invoice Number': f'{o.invoice}', 'Order Number': m(o.oid, 'orders.order_id order_lines.order_id'),
               'Ordered (Eastern)': m(o.placed, 'orders.placed_at', T), 'Paid (Eastern)': m(o.paid, 'orders.paid_at', T),
               'Ship By': m(o.promised, 'orders.promised_by', D), 'Progress': st.st('orders.status', word[o.status], o.status),
               'Buyer': p['name'], 'Buyer Mail': p['mail'], 'Street': p['street'], 'Town': p['town'], 'Zip': p['code'],
               'Country': m(o.country, 'orders.ship_to_country'), 'Gift?': 'Y' if o.gift else '', 'Items': sum(x.qty for x in o.lines)}
        for i in range(most):
            x = o.lines[i] if i < len(o.lines) else None
            n = i + 1
            row[f'Item {n}'] = m(x.title if x else '', 'order_lines.title')
            row[f'SKU {n}'] = m(x.sku if x else '', 'order_lines.sku')
            row[f'Variant {n}'] = m(' / '.join(x.opts.values()) if x else '', 'order_lines.options')
            row[f'Custom Text {n}'] = x.text if x else ''
            row[f'Qty {n}'] = m(x.qty if x else '', 'order_lines.quantity')
            row[f'Price {n}'] = m(x.price if x else None, 'order_lines.unit_price', K)
            row[f'Amount {n}'] = K.src(line_total(x)) if x else ''
        row.update({'Subtotal': K.src(o.goods), 'Postage': K.src(o.ship), 'Discount': K.src(o.discount), 'Total': K.src(o.total),
                    'Paid With': 'transfer' if o.bank else 'card'})
        rows.append(row)
    for k in ('title', 'sku', 'options', 'quantity', 'unit_price'):
        st.all.add('order_lines.' + k)
    st.options_of = lambda x: {'Variant': ' / '.join(x.opts.values())}
    st.table('orders.csv', rows, row='order', numbered=most)
    st.options_names = {'order_lines': ['Variant']}
    st.extra = {'unnamed_options': {'Variant': ['Color', 'Size']}}
    st.notes = ('Lines stand in numbered columns. The options are one text without names ("Moss / L"): in the exchange they are one '
                'option with the column\'s name (its number left off) and the text as it stands; that the parts are colour and size, '
                'no header says. One customer typed "Moss / L" as a custom text. Month first.')
    E, C = Epoch('s'), Money('minor')
    sw = {'received': 'queued', 'held': 'paused', 'making': 'printing', 'dispatched': 'shipped', 'cancelled': 'scrubbed', 'rejected': 'bounced'}
    jobs = []
    for s in b.submissions:
        y = s.lines[0]
        p = s.parcels[0] if s.parcels else None
        jobs.append({'job_no': m(s.sid, 'submissions.submission_id submission_lines.submission_id parcels.submission_id'),
                     'po': m('FH#' + s.ref, 'submissions.order_ref'), 'shop': 'fernquill-hollow',
                     'queued_at': m(s.received, 'submissions.received_at', E),
                     'stage': su.st('submissions.status', sw[s.status], s.status),
                     'blank_art_id': m(y.vid, 'submission_lines.variant_id'), 'sku': m('QB-' + y.sku, 'submission_lines.sku'),
                     'what': f'{y.v.product} {y.v.colour} {y.v.size}', 'pcs': m(y.qty, 'submission_lines.quantity'),
                     'cost_cents': m(y.cost, 'submission_lines.unit_cost', C), 'total_cents': y.cost * y.qty,
                     'out_at': m(p and p.at, 'parcels.dispatched_at', E),
                     'tracking': m(p and p.track, 'parcels.parcel_id parcels.tracking_number'),
                     'rush': False, 'weight_oz': round(y.v.weight * y.qty / 28.35, 1)})
    su.jsonl('jobs.jsonl', jobs)
    su.jsonl('catalog.jsonl', [{'blank_art_id': m(v.vid, 'variants.variant_id'), 'sku': m('QB-' + v.sku, 'variants.sku'),
                                'product': m(v.product, 'variants.product'), 'features': m(v.opts, 'variants.options'),
                                'cost_cents': m(v.cost, 'variants.unit_cost', C), 'cur': m('USD', 'variants.currency'),
                                'stocked': st_bool(su, v)} for v in b.variants])
    su.options_names = {'variants': ['size', 'color', 'art']}
    su.extra = {'order_ref': {'prefix': 'FH#', 'suffix': ''}, 'sku': {'prefix': 'QB-', 'suffix': ''}}
    su.notes = ('A record is one line: a supplier order of its own. The supplier\'s SKUs carry "QB-", in both files; the exchange has '
                'them without. `job_no` has leading zeros. `po` is the shop\'s order.')
    write_pair(ROOT, '04-fernquill-hollow', b, st, su, 'quarterbolt')


def st_bool(su, v):
    su.word('variants.available', v.available, 'true' if v.available else 'false')
    return M(v.available, 'variants.available')


# ---------------------------------------------------------------- 05

def pair05():
    zone = 'Europe/Madrid'
    people = folk(ES, 'calle del Olmo; plaza Chica; camino Hondo; ronda del Río', '28931 Móstales; 46133 Melianares; 11380 Tarifeña',
                  '+34 555 01 %d')
    goods = [Good('CAM', 'Camiseta', 'Camiseta 170', 2290, 880, pairs('S M L XL'), pairs('ARE=Arena MUS=Musgo NEG=Negro'), 170),
             Good('SUD', 'Sudadera', 'Sudadera capucha 300', 4190, 1960, pairs('S M L XL'), pairs('MUS=Musgo NEG=Negro'), 520),
             Good('TAZ', 'Taza', 'Taza 330 ml', 1290, 430, (), pairs('BLA=Blanco AZU=Azul_cobalto'), 340)]
    b = make_book('05-casa-lagartuela', zone, 'EUR', '2026-06-01', 38, 70, goods,
                  [('L1', 'Lagarto al sol'), ('L2', 'Higuera'), ('L3', 'Vencejos'), ('L4', 'Siesta')],
                  [('size', 'Talla'), ('colour', 'Color')],
                  lambda d, g, s, c: f'{d}{g}{c}{s}', 2210, str, lambda r, n: f'T-{510 + n}', people, ['ES', 'ES', 'ES', 'PT'],
                  ['Mensajo', 'Cigüeña Exprés'], personal=('Texto', .12, ['¡Viva!', 'Talla única', 'Para Rocío', 'Color esperanza']),
                  parcels='full', ship_cost=450)
    b.parcel_by_tracking = False
    st, su = Source('storefront'), Source('supplier')
    T, K = Local('%d-%m-%Y %H:%M', zone), Money('number')
    heads = []
    for o in b.orders:
        p = o.person
        paid, sent = 'Sí' if o.paid else 'No', 'Sí' if o.status == 'dispatched' else 'No'
        st.combo('orders.status', o.status, paid, sent, o.cancelled)
        heads.append({
            'Nº pedido': m(o.no, 'orders.order_id'), 'Fecha': m(o.placed, 'orders.placed_at', T),
            'Fecha factura': Day('%d-%m-%Y', zone).src(o.paid), 'Nº factura': f'26/{o.invoice}' if o.paid else None,
            'Pagado': m(paid, 'orders.status'), 'Fecha de pago': m(o.paid, 'orders.paid_at', T), 'Enviado': m(sent, 'orders.status'),
            'Anulado el': m(o.cancelled, 'orders.status', T), 'Cliente': p['name'], 'Correo': p['mail'], 'Teléfono': p['phone'],
            'Dirección': p['street'], 'C.P.': p['code'], 'Localidad': p['town'], 'País': m(o.country, 'orders.ship_to_country'),
            'Artículos': K.src(o.goods), 'Gastos de envío': K.src(o.ship), 'Descuento': K.src(o.discount), 'Importe': K.src(o.total),
            'Divisa': m('EUR', 'orders.currency'), 'Forma de pago': 'transferencia' if o.bank else 'tarjeta', 'Observaciones': None})
    rows = [{'Pedido': m(o.no, 'order_lines.order_id'), 'Línea': m(i + 1, 'order_lines.line_id'),
             'Ficha': m(int(x.listing), 'order_lines.listing_id'), 'Descripción': m(x.title, 'order_lines.title'),
             'Talla': m(x.opts.get('Talla'), 'order_lines.options'), 'Color': m(x.opts.get('Color'), 'order_lines.options'),
             'Texto': x.text or None, 'Referencia': m(x.sku or None, 'order_lines.sku'), 'Cantidad': m(x.qty, 'order_lines.quantity'),
             'Precio': m(x.price, 'order_lines.unit_price', K), 'Total': K.src(line_total(x)), 'Peso': None}
            for o in b.orders for i, x in enumerate(o.lines)]
    for o in b.orders:
        for i, x in enumerate(o.lines):
            x.lid = str(i + 1)
    st.all.add('order_lines.options')
    st.table('pedidos.xlsx', heads, title=[['Casa Lagartuela — pedidos del 01-06-2026 al 08-07-2026 (hora de Madrid)'], []], row='order',
             sheet='Pedidos')
    st.table('lineas.xlsx', rows, title=[['Casa Lagartuela — líneas de pedido'], []], sheet='Líneas')
    st.options_names = {'order_lines': ['Talla', 'Color']}
    st.notes = ('A title stands above both header rows. The status is spread over paid, sent and a cancellation time. "Referencia" is the '
                'SKU. "Fecha" is the order\'s, beside the invoice\'s.')
    number_lines(b)
    L, C = Local('%d/%m/%y %H:%M', zone), Money('comma')
    sw = {'received': 'ENT', 'held': 'RET', 'making': 'FAB', 'dispatched': 'ENV', 'cancelled': 'ANU', 'rejected': 'REC'}
    heads, rows, boxes = [], [], []
    for s in b.submissions:
        heads.append({'n_ped': m(s.sid, 'submissions.submission_id'), 'ref': m(f'PED {s.ref} (web)', 'submissions.order_ref'),
                      'f_ent': m(s.received, 'submissions.received_at', L), 'f_mod': m(s.updated, 'submissions.updated_at', L),
                      'est': su.st('submissions.status', sw[s.status], s.status), 'uds': sum(y.qty for y in s.lines),
                      'imp': C.src(sum(y.qty * y.cost for y in s.lines)), 'obs': ''})
        for y in s.lines:
            rows.append({'n_ped': m(s.sid, 'submission_lines.submission_id'), 'n_lin': m(y.n, 'submission_lines.line_id'),
                         'cod': m(y.vid, 'submission_lines.variant_id'), 'sku_cli': m(y.sku, 'submission_lines.sku'),
                         'desc': f'{y.v.product} {y.v.colour} {y.v.size}'.strip(), 'cant': m(y.qty, 'submission_lines.quantity'),
                         'c_ud': m(y.cost, 'submission_lines.unit_cost', C), 'c_tot': C.src(y.qty * y.cost)})
        for p in s.parcels:
            boxes.append({'bulto': m(p.pid, 'parcels.parcel_id'), 'n_ped': m(s.sid, 'parcels.submission_id'),
                          'f_sal': m(p.at, 'parcels.dispatched_at', L), 'transp': m(p.carrier, 'parcels.carrier'),
                          'seguim': m(p.track, 'parcels.tracking_number')})
    su.table('taller_pedidos.tsv', heads, delimiter='\t', row='submission', newline='\n')
    su.table('taller_lineas.tsv', rows, delimiter='\t', newline='\n')
    su.table('taller_bultos.tsv', boxes, delimiter='\t', row='parcel', newline='\n')
    for f in su.shape:
        su.shape[f]['format'] = 'csv'
    su.extra = {'order_ref': {'prefix': 'PED ', 'suffix': ' (web)'}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = 'Abbreviated Spanish headers and states of three letters; years of two digits, day first. Amounts with a decimal comma.'
    write_pair(ROOT, '05-casa-lagartuela', b, st, su, 'taller-zarza')


# ---------------------------------------------------------------- 06

def pair06():
    zone = 'Europe/London'
    people = folk(EN, 'Saltmarsh Row; Weir Lane; The Staithe; Cobble Hill', 'NR99 Ternby; YO99 Quayside; PL99 Polwenna', '+44 5550 1%d')
    goods = [Good('SW', 'Sweatshirt', 'Sweat 300', 3800, 1720, pairs('XS S M L XL'), pairs('SEA=Sea_grey SHE=Shell'), 450, 200),
             Good('TW', 'Tea towel', 'Tea towel linen mix', 1250, 410, (), pairs('WHI=White FLX=Flax'), 90),
             Good('NB', 'Notebook', 'Notebook stitched', 950, 335, pairs('A6 A5'), (), 140),
             Good('CU', 'Cushion', 'Cushion cover', 2600, 1090, pairs('40=40_x_40_cm 50=50_x_50_cm'), pairs('FLX=Flax SEA=Sea_grey'), 260)]
    b = make_book('06-tern-and-tallow', zone, 'GBP', '2026-09-07', 30, 60, goods,
                  [('TER', 'Tern, diving'), ('BOA', 'Coble boats'), ('SAL', 'Salt hare')],
                  [('size', 'Size'), ('colour', 'Colour')],
                  lambda d, g, s, c: '/'.join(x for x in (d, g, c, s) if x), 100231, str,
                  lambda r, n: f'wo_{r.randrange(16**6):06x}{n:03d}', people, ['GB', 'GB', 'GB', 'IE'], ['Curlew Parcels', 'Bracken Post'],
                  personal=('Engraving', .13, ['For Maud, from all of us', 'A5', 'White horses', '1926–2026', 'Colour: none']),
                  parcels='full', remakes=2, ship_cost=395, sup_opt={'size': 'Size', 'colour': 'Shade', 'design': 'Print'},
                  number_step=(1, 2, 3, 5), sup_word={'Sea grey': 'Seagrey', 'Flax': 'Natural flax'})
    b.parcel_by_tracking = False
    st, su = Source('storefront'), Source('supplier')
    E, K = Epoch('ms'), Money('decimal')
    heads, rows = [], []
    for o in b.orders:
        p = o.person
        pay = 'pending' if o.status == 'unpaid' else 'paid' if o.status != 'cancelled' else 'refunded' if o.paid else 'voided'
        stage = 'sent' if o.status == 'dispatched' else 'waiting'
        st.combo('orders.status', o.status, pay, stage)
        heads.append({
            'id': m(o.no, 'orders.order_id'), 'number': f'INV-{o.invoice}', 'date': E.src((o.paid or o.placed)), 'status': m(pay, 'orders.status'),
            'ref': o.po or None, 'customer': {'id': p['id'], 'fullName': p['name'], 'mail': p['mail']},
            'createdDate': m(o.placed, 'orders.placed_at', E), 'paidDate': m(o.paid, 'orders.paid_at', E),
            'lastTouched': m(o.updated, 'orders.updated_at', E),
            'sending': {'stage': m(stage, 'orders.status'), 'dueDate': m(o.promised, 'orders.promised_by', Day('%Y-%m-%d', zone)),
                        'sentDate': E.src(o.dispatched), 'to': {'line': p['street'], 'place': p['town'], 'code': p['code'],
                                                               'countryCode': m(o.country, 'orders.ship_to_country')}},
            'totals': {'currency': m('GBP', 'orders.currency'), 'goods': K.src(o.goods), 'carriage': K.src(o.ship),
                       'off': K.src(o.discount), 'total': K.src(o.total)}})
        for x in o.lines:
            opts = [{'name': k, 'value': v} for k, v in x.opts.items()] + ([{'name': 'Engraving', 'value': x.text}] if x.text else [])
            rows.append({'id': m(int(x.lid), 'order_lines.line_id'), 'orderId': m(o.no, 'order_lines.order_id'),
                         'listingId': m(int(x.listing), 'order_lines.listing_id'), 'description': m(x.title, 'order_lines.title'),
                         'code': m(x.sku, 'order_lines.sku'), 'picked': m(opts, 'order_lines.options'),
                         'quantity': m(x.qty, 'order_lines.quantity'), 'price': m(x.price, 'order_lines.unit_price', K),
                         'total': K.src(line_total(x)), 'taxRate': 0.2})
    st.json('orders.json', {'orders': heads, 'more': False})
    st.json('lines.json', {'lines': rows, 'more': False}, compact=True)
    offers = []
    for f in b.offers:
        st.word('offers.buyable', f.buyable, 'true' if f.buyable else 'false')
        offers.append({'listingId': m(int(f.listing), 'offers.listing_id'), 'title': m(f.title, 'offers.title'), 'code': m(f.sku, 'offers.sku'),
                       'choices': m([{'name': k, 'value': v} for k, v in f.opts.items()], 'offers.options'),
                       'price': m(f.price, 'offers.price', K), 'currency': m('GBP', 'offers.currency'),
                       'onSale': M(f.buyable, 'offers.buyable'), 'stockLevel': 999})
    st.json('listings.json', {'listings': offers}, compact=True)
    st.options_names = {'order_lines': ['Size', 'Colour'], 'offers': ['Size', 'Colour']}
    st.notes = ('`status` is the payment\'s; dispatch stands in `sending.stage`; refunded and voided mean cancelled. `number` is the invoice\'s, '
                '`ref` the customer\'s, `date` the invoice\'s. "Engraving" is typed by customers. `code` is the SKU. That `id` is what the '
                'supplier refers to, only the supplier\'s file shows.')
    Z, C = Rfc(), Money('number')
    sw = {'received': 'accepted', 'held': 'query', 'making': 'in-production', 'dispatched': 'complete', 'cancelled': 'cancelled', 'rejected': 'declined'}
    orders, boxes = [], []
    for s in b.submissions:
        orders.append({
            'id': m(s.sid, 'submissions.submission_id submission_lines.submission_id'), 'customerRef': m('TT-' + s.ref, 'submissions.order_ref'),
            'accepted': m(s.received, 'submissions.received_at', Z), 'modified': m(s.updated, 'submissions.updated_at', Z),
            'state': su.st('submissions.status', sw[s.status], s.status), 'remakeOf': m(s.replaces or None, 'submissions.replaces'),
            'items': [{'id': m(int(y.id), 'submission_lines.line_id'),
                       'yourLine': m(int(y.line.lid), 'submission_lines.order_line_ref'), 'itemCode': m(y.vid, 'submission_lines.variant_id'),
                       'sku': m(y.sku, 'submission_lines.sku'), 'qty': m(y.qty, 'submission_lines.quantity'),
                       'each': m(y.cost, 'submission_lines.unit_cost', C), 'sum': C.src(y.qty * y.cost)} for y in s.lines]})
        for p in s.parcels:
            boxes.append({'id': m(int(p.pid), 'parcels.parcel_id parcel_lines.parcel_id'), 'workOrder': m(s.sid, 'parcels.submission_id'),
                          'left': m(p.at, 'parcels.dispatched_at', Z), 'by': m(p.carrier, 'parcels.carrier'),
                          'label': m(p.track, 'parcels.tracking_number'),
                          'contents': [{'item': m(int(y.id), 'parcel_lines.submission_line_id'), 'qty': m(q, 'parcel_lines.quantity')}
                                       for y, q in p.lines]})
    su.json('workorders.json', orders)
    su.json('parcels.json', {'parcels': boxes})
    su.json('items.json', [{'itemCode': m(v.vid, 'variants.variant_id'), 'sku': m(v.sku, 'variants.sku'), 'product': m(v.product, 'variants.product'),
                            'spec': m(v.opts, 'variants.options'), 'cost': m(v.cost, 'variants.unit_cost', C),
                            'currency': m('GBP', 'variants.currency'), 'available': st_bool(su, v)} for v in b.variants], compact=True)
    su.options_names = {'variants': ['Size', 'Shade', 'Print']}
    su.extra = {'order_ref': {'prefix': 'TT-', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = ('The work orders are a list at the top. `id` is the work order\'s, the item\'s and the parcel\'s. Two work orders make an earlier '
                'one again (`remakeOf`). The catalogue calls colours otherwise than the shop.')
    write_pair(ROOT, '06-tern-and-tallow', b, st, su, 'gannetry-works')


# ---------------------------------------------------------------- 07

def pair07():
    zone = 'America/Toronto'
    people = folk(EN, 'Portage Ave; Birch Cres; Loonwater Rd; Third Line', 'K0L Larderlake; P0T Loonbay; N0H Spruceton', '+1 555 01%d')
    goods = [Good('H', 'Hoodie', 'Pullover hood 320', 6200, 2890, pairs('S M L XL 2XL 3XL'), pairs('MO=Moss CH=Charcoal CR=Cream'), 560, 300),
             Good('T', 'Tee', 'Classic tee 180', 3200, 1240, pairs('S M L XL 2XL 3XL'), pairs('MO=Moss CH=Charcoal CR=Cream'), 180, 200),
             Good('S', 'Sticker sheet', 'Sticker sheet A6', 700, 190, pairs('A6'), (), 20)]
    b = make_book('07-loon-and-larder', zone, 'CAD', '2026-04-13', 26, 52, goods, [('01', 'Loon call'), ('02', 'Beaver works'), ('03', 'Woodpile')],
                  [('size', 'Size'), ('colour', 'Colour')],
                  lambda d, g, s, c: f'{g}{d}{c}{s}', 88, lambda n: f'{n:05d}', lambda r, n: str(61500 + n), people, ['CA', 'CA', 'CA', 'US'],
                  ['Snowgoose', 'Trillium Haul'], personal=('Text', .12, ['LOONATIC', 'for Dad, always', 'Size: huge', 'Cottage crew \'26']),
                  line_counts=[30, 30, 22, 12, 6], ship_cost=950)
    b.parcel_by_tracking = True
    st, su = Source('storefront'), Source('supplier')
    E, K = Epoch('s'), Money('minor')
    code = {'unpaid': 'N', 'open': 'P', 'dispatched': 'S', 'cancelled': 'X'}
    recs = []
    for o in b.orders:
        p = o.person
        recs.append({
            'inv': o.invoice, 'ord': m(o.oid, 'orders.order_id order_lines.order_id'), 'ts': m(o.placed, 'orders.placed_at', E),
            'pd_ts': m(o.paid, 'orders.paid_at', E) if o.paid else m(0, 'orders.paid_at'),
            'upd_ts': m(o.updated, 'orders.updated_at', E), 'st': st.st('orders.status', code[o.status], o.status),
            'cur': m('CAD', 'orders.currency'),
            'cust': {'no': p['id'], 'nm': p['name'], 'em': p['mail'], 'ph': p['phone'], 'ad': [p['street'], p['town'], p['code']],
                     'ctry': m(o.country, 'orders.ship_to_country')},
            'ln': [{'sku': m(x.sku, 'order_lines.sku'), 'dsc': m(x.title, 'order_lines.title'),
                    'opt': m(', '.join(f'{k}: {v}' for k, v in x.opts.items()), 'order_lines.options'), 'txt': x.text,
                    'qty': m(x.qty, 'order_lines.quantity'), 'prc': m(x.price, 'order_lines.unit_price', K), 'ext': line_total(x)} for x in o.lines],
            'sub': o.goods, 'shp': o.ship, 'dsc': o.discount, 'tot': o.total, 'src': 'w', 'v': 3})
    st.jsonl('orders.jsonl', recs)
    st.options_names = {'order_lines': ['Size', 'Colour']}
    st.notes = ('Abbreviated keys and one-letter states, whose meaning only the shop can tell for sure. `dsc` is the title at a line and the '
                'discount at an order. An unpaid order has 0 as its payment time, which is no time. Order numbers have leading zeros. '
                'Lines have no id. Option text stands apart from what customers typed.')
    L, C = Local('%Y-%m-%d %H:%M', zone), Money('decimal', after=' CAD')
    sw = {'received': 'Received', 'held': 'On Hold', 'making': 'In Production', 'dispatched': 'Shipped Out', 'cancelled': 'Cancelled', 'rejected': 'Rejected'}
    rows = []
    for s in b.submissions:
        p = s.parcels[0] if s.parcels else None
        for y in s.lines:
            rows.append({'Date In': m(s.received, 'submissions.received_at', L),
                         'Job': m(int(s.sid), 'submissions.submission_id submission_lines.submission_id parcels.submission_id'),
                         'Customer PO': m(s.ref + '-LL', 'submissions.order_ref'), 'State': su.st('submissions.status', sw[s.status], s.status),
                         'Stock Code': m(y.sku, 'submission_lines.sku'), 'Article No': m(int(y.vid), 'submission_lines.variant_id'),
                         'Description': f'{y.v.product}, {y.v.design}', 'Size': y.v.size, 'Shade': y.v.colour,
                         'Pieces': m(y.qty, 'submission_lines.quantity'), 'Unit': m(y.cost, 'submission_lines.unit_cost', C),
                         'Extended': C.src(y.cost * y.qty), 'Date Out': m(p and p.at, 'parcels.dispatched_at', L),
                         'Carrier': m(p and p.carrier, 'parcels.carrier'),
                         'Tracking': m(p and p.track, 'parcels.parcel_id parcels.tracking_number'), 'Approved By': None, 'Plant': 'East'})
    su.table('jobs.ods', rows, sheet='Jobs')
    su.extra = {'order_ref': {'prefix': '', 'suffix': '-LL'}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = 'Row per line, the job\'s columns repeated; no number for the line. Money is text with the currency\'s code. Times are text.'
    write_pair(ROOT, '07-loon-and-larder', b, st, su, 'sprucewater-ink')


# ---------------------------------------------------------------- 08

def pair08():
    zone = 'Europe/Vienna'
    people = folk(DE, 'Nußallee; Hinterhof; Alte Färberei; Kirschgasse', '1079 Wiental; 8019 Grazing; 5029 Salzach', '+43 555 01 %d')
    goods = [Good('HO', 'Hoodie', 'Kapuzenpulli 300', 4900, 2240, pairs('S M L XL XXL'), pairs('mo=Moos na=Nachtblau'), 540, 300),
             Good('SH', 'Shirt', 'Shirt 170', 2600, 990, pairs('S M L XL XXL'), pairs('mo=Moos na=Nachtblau we=Weiß'), 170, 200),
             Good('HF', 'Häferl', 'Tasse 0,3 l', 1500, 480, pairs('03=0,3_l'), pairs('we=Weiß'), 330)]
    b = make_book('08-hinterhof-neun', zone, 'EUR', '2026-10-05', 36, 64, goods, [('Am', 'Amsel'), ('Ka', 'Kastanie'), ('Ra', 'Radl'), ('Sp', 'Spatzenchor')],
                  [('size', 'Größe'), ('colour', 'Farbe')],
                  lambda d, g, s, c: f'{d}-{g}-{c}-{s}', 812, lambda n: f'2026-{n:04d}', lambda r, n: f'A{45000 + n}', people, ['AT', 'AT', 'DE'],
                  ['Dachsbote', 'Blitzigel'], personal=('Aufdruck hinten', .12, ['Opa Radl', 'Chor-Probe: Freitag', 'XL', 'Moos, nicht Moor']),
                  per_line=True, promise_days=7, ship_cost=520)
    b.parcel_by_tracking = True
    st, su = Source('storefront'), Source('supplier')
    T, K = CellTime(zone), Money('number')
    rows = []
    for o, x in b.lines:
        p = o.person
        st.combo('orders.status', o.status, o.paid, o.dispatched, o.cancelled)
        text = ', '.join(f'{k}: {v}' for k, v in x.opts.items()) + (f', Aufdruck hinten: {x.text}' if x.text else '')
        rows.append({'Bestellung': m(o.oid, 'orders.order_id order_lines.order_id'), 'Rechnung Nr.': o.invoice,
                     'Datum': m(o.placed, 'orders.placed_at', T), 'bezahlt am': m(o.paid, 'orders.paid_at orders.status', T),
                     'versendet am': m(o.dispatched, 'orders.status', T), 'storniert am': m(o.cancelled, 'orders.status', T),
                     'Kunde': p['name'], 'Mail': p['mail'], 'Anschrift': f"{p['street']}, {p['code']} {p['town']}",
                     'Land': m(o.country, 'orders.ship_to_country'), 'Porto': K.src(o.ship), 'Summe': K.src(o.total),
                     'Artikel': m(x.title, 'order_lines.title'), 'Artikelnummer': m(x.sku, 'order_lines.sku'),
                     'Ausführung': m(text, 'order_lines.options'), 'Anzahl': m(x.qty, 'order_lines.quantity'),
                     'Stückpreis': m(x.price, 'order_lines.unit_price', K), 'Preis': K.src(line_total(x)), 'Notiz': None})
    st.table('verkauf.ods', rows, title=[['Hinterhof Neun, Verkäufe Herbst 2026'], ['alle Zeiten Wien']],
             first_only=set('Bestellung;Rechnung Nr.;Datum;bezahlt am;versendet am;storniert am;Kunde;Mail;Anschrift;Land;Porto;Summe'.split(';')),
             group='Bestellung', sheet='Verkauf')
    st.options_names = {'order_lines': ['Größe', 'Farbe']}
    st.notes = ('No status column: it follows from three times (paid, sent, cancelled). A title above; the order\'s cells on its first row only. '
                '"Preis" is the line\'s total, "Stückpreis" the unit\'s. A customer\'s text stands last in the options text; one size is "0,3 l", '
                'with a comma. The clock goes back within the span.')
    L, C = Local('%d.%m.%y %H:%M', zone), Money('comma')
    sw = {'received': '10', 'held': '15', 'making': '20', 'dispatched': '30', 'cancelled': '90', 'rejected': '95'}
    rows = []
    for s in b.submissions:
        y = s.lines[0]
        p = s.parcels[0] if s.parcels else None
        rows.append({'AuftrNr': m(s.sid, 'submissions.submission_id submission_lines.submission_id parcels.submission_id'), 'KdNr': '3051',
                     'KdRef': m('H9/' + s.ref, 'submissions.order_ref'), 'Eing': m(s.received, 'submissions.received_at', L),
                     'ArtNr': m(y.vid, 'submission_lines.variant_id'), 'KdArtNr': m(y.sku, 'submission_lines.sku'),
                     'ArtBez': f'{y.v.product} {y.v.design}', 'Gr': y.v.size, 'Fb': y.v.colour, 'Mge': m(y.qty, 'submission_lines.quantity'),
                     'EK': m(y.cost, 'submission_lines.unit_cost', C), 'EKGes': C.src(y.qty * y.cost),
                     'Sts': su.st('submissions.status', sw[s.status], s.status), 'VersDat': m(p and p.at, 'parcels.dispatched_at', L),
                     'SdgNr': m(p and p.track, 'parcels.parcel_id parcels.tracking_number'), 'Zust': m(p and p.carrier, 'parcels.carrier'), 'Bem': ''})
    su.table('auftraege.csv', rows, delimiter=';', encoding='cp1252')
    su.extra = {'order_ref': {'prefix': 'H9/', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = ('Each row is a supplier order of one line. The states are numbers, whose meaning nobody can tell from the sample but that 30 goes '
                'with a dispatch date. "KdNr" is constant.')
    write_pair(ROOT, '08-hinterhof-neun', b, st, su, 'siebdruck-elster')


# ---------------------------------------------------------------- 09

def pair09():
    zone = 'Australia/Melbourne'
    people = folk(EN, 'Wattle St; Banksia Pde; Gully Track; Ironbark Ave', '3999 Wrenfield; 3988 Mallee; 3977 Gippswater', '+61 555 01%d')
    goods = [Good('T', 'Tee', 'Tee 180 organic', 4200, 1655, pairs('S M L XL'), pairs('EUC=Eucalypt CLA=Clay BON=Bone'), 180),
             Good('C', 'Kids Tee', 'Tee junior 150', 3400, 1390, pairs('2=2_yrs 4=4_yrs 6=6_yrs 8=8_yrs'), pairs('EUC=Eucalypt BON=Bone'), 110),
             Good('B', 'Tote', 'Tote canvas', 2600, 980, (), pairs('BON=Bone CLA=Clay'), 180)]
    b = make_book('09-wattle-and-wren', zone, 'AUD', '2026-03-16', 35, 68, goods, [('WAT', 'Wattle day'), ('WRE', 'Blue wren'), ('QUO', 'Quoll'), ('EMU', 'Emu run')],
                  [('size', 'Size'), ('colour', 'Colour')],
                  lambda d, g, s, c: f'WW.{d}.{g}{s}.{c}', 90410, str, lambda r, n: f'{12000 + n}', people, ['AU', 'AU', 'AU', 'NZ'], ['Galah Freight', 'Roo Route'],
                  personal=('Gift message', .1, ['Happy 4th, Bindi!', 'Love, Nan and Pop', 'Size up!', 'From the Mallee mob']), cancel_some=True, ship_cost=900)
    b.parcel_by_tracking = True
    st, su = Source('storefront'), Source('supplier')
    T, K = Rfc(zone), Money('decimal')
    word = {'unpaid': 'Unpaid', 'open': 'To Do', 'dispatched': 'Done', 'cancelled': 'Cancelled'}
    heads = []
    for o in b.orders:
        p = o.person
        heads.append({'Number': f'WI{o.invoice}', 'Id': m(o.oid, 'orders.order_id'), 'Ref': o.po, 'Date': m(o.placed, 'orders.placed_at', T),
                      'Invoice Date': (o.paid or o.placed).date().isoformat(), 'Paid Date': m(o.paid, 'orders.paid_at', T),
                      'Dispatch By': m(o.promised, 'orders.promised_by', Day('%Y-%m-%d', zone)), 'Changed': m(o.updated, 'orders.updated_at', T),
                      'Status': st.st('orders.status', word[o.status], o.status), 'Currency': m('AUD', 'orders.currency'), 'Contact': p['name'],
                      'Contact Email': p['mail'], 'Deliver To': f"{p['street']}, {p['town']} {p['code']}", 'Deliver To Country': m(o.country, 'orders.ship_to_country'),
                      'Billing Country': o.bill_country, 'Lines': len(o.lines), 'Price': K.src(o.goods), 'Freight': K.src(o.ship),
                      'Discount': K.src(o.discount), 'Total': K.src(o.total), 'GST Included': K.src(o.total // 11), 'Campaign': ''})
    rows = [{'Id': m(x.lid, 'order_lines.line_id'), 'Order Id': m(o.oid, 'order_lines.order_id'), 'Listing Id': m(x.listing, 'order_lines.listing_id'),
             'Name': m(x.title, 'order_lines.title'), 'SKU': m(x.sku, 'order_lines.sku'),
             'Options': m(json.dumps(dict(x.opts, **({'Gift message': x.text} if x.text else {}))), 'order_lines.options'),
             'Quantity': m(x.qty, 'order_lines.quantity'), 'Quantity Cancelled': m(x.cancelled, 'order_lines.cancelled_quantity'),
             'Price': m(x.price, 'order_lines.unit_price', K), 'Total': K.src(line_total(x)), 'Status': 'ok'} for o, x in b.lines]
    st.table('orders.csv', heads, encoding='utf-8-sig', row='order')
    st.table('order-lines.csv', rows, encoding='utf-8-sig')
    st.options_names = {'order_lines': ['Size', 'Colour']}
    st.notes = ('`Number` is the invoice\'s, `Ref` the customer\'s, `Id` stands in both files for different things, `Price` of an order is its goods, `Total` of a '
                'line its quantity times price, `Status` of a line is constant noise. Options are JSON in a cell, a customer\'s text among them. '
                'Four dates. The clock goes back within the span, the offset changes.')
    L, C = Local('%d/%m/%Y %I:%M %p', zone), Money('minor')
    sw = {'received': 'In', 'held': 'Stop', 'making': 'Press', 'dispatched': 'Away', 'cancelled': 'Void', 'rejected': 'No go'}
    most = max(len(s.lines) for s in b.submissions)
    rows = []
    for s in b.submissions:
        p = s.parcels[0] if s.parcels else None
        row = {'Ticket': m(int(s.sid), 'submissions.submission_id submission_lines.submission_id parcels.submission_id'),
               'Client Order': m(int(s.ref), 'submissions.order_ref'), 'Came In': m(s.received, 'submissions.received_at', L),
               'Where It Is': su.st('submissions.status', sw[s.status], s.status)}
        for i in range(most):
            y = s.lines[i] if i < len(s.lines) else None
            n = i + 1
            row[f'Piece {n} Code'] = m(y and y.sku, 'submission_lines.sku')
            row[f'Piece {n} Blank'] = y and f'{y.v.product} {y.v.size} {y.v.colour}'.replace('  ', ' ')
            row[f'Piece {n} Count'] = m(y and y.qty, 'submission_lines.quantity')
            row[f'Piece {n} Cents'] = m(y and y.cost, 'submission_lines.unit_cost', C)
        row.update({'Cents Total': sum(y.qty * y.cost for y in s.lines), 'Went Out': m(p and p.at, 'parcels.dispatched_at', L),
                    'Con Note': m(p and p.track, 'parcels.parcel_id parcels.tracking_number'), 'Kilos': round(sum(y.v.weight * y.qty for y in s.lines) / 1000, 2)})
        rows.append(row)
    for k in ('sku', 'quantity', 'unit_cost'):
        su.all.add('submission_lines.' + k)
    su.table('tickets.xlsx', rows, row='submission', numbered=most, sheet='Tickets', legend=('Legend', [
        ['Where It Is', 'Means'], ['In', 'came in, not started'], ['Press', 'being made'], ['Stop', 'waits for an answer'], ['Away', 'sent'], ['Void', 'cancelled'],
        ['No go', 'we cannot make it'], ['Times', 'Melbourne']]))
    su.extra = {'order_ref': {'prefix': '', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = ('A row per supplier order, its lines in numbered columns with the number in the middle of the header. No variant ids, SKUs alone. Costs in cents. '
                'A second sheet explains the states.')
    write_pair(ROOT, '09-wattle-and-wren', b, st, su, 'bowergrass-press')


# ---------------------------------------------------------------- 10

def pair10():
    zone = 'Europe/Dublin'
    people = folk(EN, 'Bog Road; Plover Terrace; Turf Quay; Heather Grove', 'D99 Peatstown; H99 Ballyplover; T99 Corkan', '+353 555 01%d')
    goods = [Good('JUM', 'Jumper', 'Jumper brushed 320', 5400, 2510, pairs('S M L XL'), pairs('PEA=Peat HEA=Heather OAT=Oat'), 520),
             Good('TEE', 'T-shirt', 'T-shirt 175', 2800, 1060, pairs('S M L XL'), pairs('PEA=Peat HEA=Heather OAT=Oat'), 175),
             Good('PRI', 'Print', 'Giclee matt', 2200, 690, pairs('A4 A3 A2'), (), 80),
             Good('BAB', 'Babygrow', 'Babygrow 190', 2100, 905, pairs('03=0-3_months 36=3-6_months'), pairs('OAT=Oat'), 80)]
    b = make_book('10-peat-and-plover', zone, 'EUR', '2026-07-06', 31, 50, goods, [('PL', 'Golden plover'), ('CU', 'Curlew hour'), ('HA', 'Bog hare')],
                  [('goods', 'Kind'), ('size', 'Size'), ('colour', 'Colour')],
                  lambda d, g, s, c: '-'.join(x for x in (g, d, s, c) if x), 3301, lambda n: f'P{n}', lambda r, n: f'{r.randrange(16**4):04x}-{700 + n}', people,
                  ['IE', 'IE', 'GB', 'DE'], ['Wicklow Wheels', 'Turf Post'],
                  personal=('inscription', .12, ['Oat so lovely', 'Baby Fiadh', 'Kind regards', 'Size 0, born 2026']), multi=True, parcels='full', strays=('fair stock', ''),
                  vid=lambda r, i: f'bp{i * 11 % 997:03d}{"abcdefgh"[i % 8]}', ship_cost=600)
    b.parcel_by_tracking = False
    st, su = Source('storefront'), Source('supplier')
    Z, K = Rfc(), Money('number')
    word = {'unpaid': 'awaiting', 'open': 'ready', 'dispatched': 'posted', 'cancelled': 'dropped'}
    found = []
    for o in b.orders:
        p = o.person
        found.append({
            'head': {'no': m(o.oid, 'orders.order_id order_lines.order_id'), 'uid': f'{o.iid * 7919 % 16**8:08x}', 'made': {'at': m(o.placed, 'orders.placed_at', Z), 'via': 'web'},
                     'edited': {'at': m(o.updated, 'orders.updated_at', Z), 'by': 'system'}, 'stage': {'now': st.st('orders.status', word[o.status], o.status), 'flag': 0}},
            'party': {'who': {'name': p['name'], 'contact': {'mail': p['mail'], 'phone': p['phone']}},
                      'where': {'ship': {'street': p['street'], 'town': p['town'], 'eir': p['code'], 'land': m(o.country, 'orders.ship_to_country')},
                                'bill': {'land': o.bill_country}}},
            'money': {'unit': m('EUR', 'orders.currency'), 'sum': {'net': K.src(o.goods), 'post': K.src(o.ship), 'off': K.src(o.discount), 'gross': K.src(o.total)},
                      'settled': {'at': m(o.paid, 'orders.paid_at', Z), 'how': 'transfer' if o.bank else 'card', 'no': o.invoice} if o.paid else None},
            'basket': {'rows': [{'row': {'key': m(x.lid, 'order_lines.line_id'), 'page': {'key': m(x.listing, 'order_lines.listing_id'), 'name': m(x.title, 'order_lines.title')},
                                         'code': m(x.sku or None, 'order_lines.sku'),
                                         'pick': {'options': m(x.opts, 'order_lines.options'), 'inscription': x.text or None},
                                         'num': m(x.qty, 'order_lines.quantity'), 'price': {'one': m(x.price, 'order_lines.unit_price', K), 'all': K.src(line_total(x))}}}
                                for x in o.lines]}})
    st.json('orders.json', {'answer': {'ok': True, 'set': {'size': len(found), 'found': found}}}, compact=True)
    by_listing = {}
    for f in b.offers:
        by_listing.setdefault(f.listing, []).append(f)
    pages = []
    for key, fs in by_listing.items():
        cells = []
        for f in fs:
            st.word('offers.buyable', 'live' if f.buyable else 'hidden', 'true' if f.buyable else 'false')
            cells.append({'code': m(f.sku or None, 'offers.sku'), 'options': m(f.opts, 'offers.options'), 'price': m(f.price, 'offers.price', K),
                          'shown': M('live' if f.buyable else 'hidden', 'offers.buyable')})
        pages.append({'key': m(key, 'offers.listing_id'), 'name': m(fs[0].title, 'offers.title'), 'unit': m('EUR', 'offers.currency'), 'cells': cells})
    st.json('pages.json', {'answer': {'ok': True, 'set': {'size': len(pages), 'pages': pages}}}, compact=True)
    st.options_names = {'order_lines': ['Kind', 'Size', 'Colour'], 'offers': ['Kind', 'Size', 'Colour']}
    st.notes = ('Everything stands several objects deep, each line inside an object of its own. `no` is the order\'s and, in `settled`, the invoice\'s; `key` the line\'s and the '
                'listing\'s; `at` three times. `settled` is null where nothing was paid. Two countries.')
    L, C = Local('%d %b %Y %H:%M', zone), Money('decimal')
    sw = {'received': 'new', 'held': 'hold', 'making': 'wip', 'dispatched': 'gone', 'cancelled': 'cancel', 'rejected': 'nogo'}
    jobs, pieces, boxes, links = [], [], [], []
    for s in b.submissions:
        jobs.append({'job_id': m(s.sid, 'submissions.submission_id'), 'shop_id': 58, 'reference': m('Plover ' + s.ref if s.order else s.ref, 'submissions.order_ref'),
                     'date_in': m(s.received, 'submissions.received_at', L), 'status': su.st('submissions.status', sw[s.status], s.status),
                     'total': C.src(sum(y.qty * y.cost for y in s.lines))})
        for y in s.lines:
            pieces.append({'id': m(int(y.id), 'submission_lines.line_id'), 'job_id': m(s.sid, 'submission_lines.submission_id'),
                           'pattern': m(y.vid, 'submission_lines.variant_id'), 'text': f'{y.v.product} {y.v.colour} {y.v.size}'.replace('  ', ' '),
                           'n': m(str(y.qty), 'submission_lines.quantity'), 'unit': m(y.cost, 'submission_lines.unit_cost', C), 'total': C.src(y.qty * y.cost)})
        for p in s.parcels:
            boxes.append({'id': m(int(p.pid), 'parcels.parcel_id'), 'job_id': m(s.sid, 'parcels.submission_id'), 'date_out': m(p.at, 'parcels.dispatched_at', L),
                          'carrier': m(p.carrier, 'parcels.carrier'), 'barcode': m(p.track, 'parcels.tracking_number')})
    su.json('jobs.json', {'jobs': jobs})
    su.json('pieces.json', {'pieces': pieces}, compact=True)
    su.json('sendings.json', {'sendings': boxes})
    rows = []
    for f in b.offers:
        if f.sku and f.sku == f.variant.sku:
            rows.append({'shop_sku': m(f.sku, 'links.sku'), 'pattern': m(f.variant.vid, 'links.variant_id'), 'per_unit': m(1, 'links.units'), 'added': '2026-05-02'})
            links.append(dict(sku=f.sku, variant_id=f.variant.vid, units=1))
    su.table('assignments.csv', rows, row='link', newline='\n')
    su.extra = {'order_ref': {'prefix': 'Plover ', 'suffix': ''}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = ('The supplier keeps no SKU at its lines, only its own `pattern`; a CSV ties the shop\'s SKUs to them. Quantities are strings. `reference` is free: mostly "Plover P3301", '
                'one text, one empty. Month names in English. `status` is the job\'s; `id` stands in two files.')
    write_pair(ROOT, '10-peat-and-plover', b, st, su, 'bogcotton-print', links)


# ---------------------------------------------------------------- 11

def pair11():
    zone = 'Europe/Zurich'
    people = folk(DE, 'Seeweg; Milanstrasse; Chilegass; Obere Matte', '8999 Rotmatt; 3999 Bärnau; 6999 Luzerna', '+41 555 01 %d')
    goods = [Good('PUL', 'Pullover', 'sweater_300', 6900, 2950, pairs('XS S M L XL'), pairs('ro=Rost mo=Moos sc=Schiefer'), 480, 300),
             Good('SHI', 'Shirt', 'tshirt_180', 3900, 1370, pairs('XS S M L XL'), pairs('ro=Rost mo=Moos sc=Schiefer'), 180, 200),
             Good('KAR', 'Kartenset', 'card_set', 1600, 420, pairs('5=5_Stk 10=10_Stk'), (), 70)]
    b = make_book('11-rotmilanerei', zone, 'CHF', '2026-08-03', 41, 78, goods, [('M1', 'Rotmilan'), ('M2', 'Steinbock'), ('M3', 'Arve'), ('M4', 'Nebelmeer')],
                  [('colour', 'Farbe'), ('size', 'Grösse')],
                  lambda d, g, s, c: f'{d}{g}' + (f'-{c}' if c else '') + f'-{s}', 1042, str, lambda r, n: f'MW{2026000 + n}', people, ['CH', 'CH', 'CH', 'LI'],
                  ['Gemspost', 'Murmel Kurier'], personal=('Gravur', .1, ['Grüezi!', 'Für s Mami', '5 Jahre Arve']), parcels='full', ship_cost=850,
                  sup_opt={'size': 'size', 'colour': 'colour'}, sup_word={'Rost': 'rust', 'Moos': 'moss', 'Schiefer': 'slate', '5 Stk': 'pack of 5', '10 Stk': 'pack of 10'},
                  line_counts=[44, 32, 16, 8, 0], working=(3, 8), promise_days=10)
    b.parcel_by_tracking = False
    st, su = Source('storefront'), Source('supplier')
    T, D, K = Local('%-d.%-m.%Y, %H:%M', zone), Day('%-d.%-m.%Y', zone), Money('decimal', before='CHF ')
    word = {'unpaid': 'wartet auf Zahlung', 'open': 'in Bearbeitung', 'dispatched': 'verschickt', 'cancelled': 'annulliert'}
    most = max(len(o.lines) for o in b.orders)
    rows = []
    for o in b.orders:
        p = o.person
        row = {'Auftragsnr': m(o.oid, 'orders.order_id order_lines.order_id'), 'Eingang': m(o.placed, 'orders.placed_at', T),
               'Zustand': st.st('orders.status', word[o.status], o.status), 'Kunde': p['name'], 'Mail': p['mail'], 'Adresse': f"{p['street']}, {p['code']} {p['town']}",
               'Land': m(o.country, 'orders.ship_to_country')}
        for i in range(most):
            x = o.lines[i] if i < len(o.lines) else None
            n = i + 1
            row[f'Anzahl {n}'] = m(x.qty if x else '', 'order_lines.quantity')
            row[f'Artikel {n}'] = m(x.title if x else '', 'order_lines.title')
            row[f'Auswahl {n}'] = m(' | '.join(f'{k}: {v}' for k, v in list(x.opts.items()) + ([('Gravur', x.text)] if x.text else [])) if x else '', 'order_lines.options')
            row[f'Artikelcode {n}'] = m(x.sku if x else '', 'order_lines.sku')
            row[f'Preis {n}'] = m(x.price if x else None, 'order_lines.unit_price', K)
        row.update({'Zwischensumme': K.src(o.goods), 'Versand': K.src(o.ship), 'Rabatt': K.src(o.discount), 'Total': K.src(o.total), 'Zahlungsart': 'Rechnung' if o.bank else 'Karte',
                    'Bezahlt': m(o.paid, 'orders.paid_at', T), 'Versandtermin': m(o.promised, 'orders.promised_by', D), 'Bewertung': ''})
        rows.append(row)
    for k in ('title', 'sku', 'options', 'quantity', 'unit_price'):
        st.all.add('order_lines.' + k)
    st.table('auftraege.csv', rows, delimiter=';', row='order', numbered=most, newline='\n')
    st.options_names = {'order_lines': ['Farbe', 'Grösse']}
    st.notes = ('Numbered columns in Swiss German spelling, the quantity before the article, no leading zeros in dates. "Gravur" is typed by customers and stands in the '
                'same text as the choices. "Versandtermin" is the promise, not when it was sent; when an order was cancelled stands nowhere.')
    R, C = Rfc(zone), Money('decimal')
    sw = {'received': 'received', 'held': 'on hold', 'making': 'in production', 'dispatched': 'shipped', 'cancelled': 'cancelled', 'rejected': 'rejected'}
    heads, rows, boxes = [], [], []
    for s in b.submissions:
        heads.append({'work_order': m(s.sid, 'submissions.submission_id'), 'customer_reference': m(f'RM{s.ref}/1', 'submissions.order_ref'), 'invoice_no': 'MI' + s.sid[2:],
                      'received': m(s.received, 'submissions.received_at', R), 'invoiced': s.received.date().isoformat(),
                      'status': su.st('submissions.status', sw[s.status], s.status), 'line_count': len(s.lines), 'net_total': C.src(sum(y.qty * y.cost for y in s.lines))})
        for y in s.lines:
            rows.append({'work_order': m(s.sid, 'submission_lines.submission_id'), 'line_no': m(y.n * 10, 'submission_lines.line_id'),
                         'item_id': m(y.vid, 'submission_lines.variant_id'), 'customer_sku': m('RMI_' + y.sku, 'submission_lines.sku'),
                         'qty_ordered': m(y.qty, 'submission_lines.quantity'), 'qty_printed': y.qty if s.status == 'dispatched' else 0,
                         'unit_cost': m(y.cost, 'submission_lines.unit_cost', C), 'line_total': C.src(y.qty * y.cost), 'currency': 'CHF'})
        for p in s.parcels:
            boxes.append({'parcel': m(p.pid, 'parcels.parcel_id'), 'work_order': m(s.sid, 'parcels.submission_id'), 'handed_over': m(p.at, 'parcels.dispatched_at', R),
                          'carrier': m(p.carrier, 'parcels.carrier'), 'tracking': m(p.track, 'parcels.tracking_number')})
        for y in s.lines:
            y.id = str(y.n * 10)
    su.table('work_orders.csv', heads, row='submission', newline='\n')
    su.table('work_order_lines.csv', rows, newline='\n')
    su.table('parcels.csv', boxes, row='parcel', newline='\n')
    cat = []
    for v in b.variants:
        w = 'yes' if v.available else 'no'
        su.word('variants.available', w, 'true' if v.available else 'false')
        cat.append({'item_id': m(v.vid, 'variants.variant_id'), 'customer_sku': m('RMI_' + v.sku, 'variants.sku'), 'product': m(v.product, 'variants.product'), 'print': v.design,
                    'size': m(v.opts.get('size', ''), 'variants.options'), 'colour': m(v.opts.get('colour', ''), 'variants.options'),
                    'list_price': C.src(v.cost * 13 // 10), 'your_price': m(v.cost, 'variants.unit_cost', C), 'currency': m('CHF', 'variants.currency'),
                    'in_stock': M(w, 'variants.available')})
    su.all.add('variants.options')
    su.table('catalogue.csv', cat, row='variant', newline='\n')
    su.options_names = {'variants': ['size', 'colour']}
    su.extra = {'order_ref': {'prefix': 'RM', 'suffix': '/1'}, 'sku': {'prefix': 'RMI_', 'suffix': ''}}
    su.notes = ('A prefix and a suffix around the order number; SKUs with a prefix; two quantities, two prices in the catalogue. Whether the catalogue\'s `print` is an option, '
                'nobody can tell; here it is left out. A doubled supplier order bears the same reference.')
    write_pair(ROOT, '11-rotmilanerei', b, st, su, 'murgelwerk')


# ---------------------------------------------------------------- 12

def pair12():
    zone = 'America/Chicago'
    people = folk(EN, 'Prairie Ave; Cinderwick Creek Rd; County Road F; Elm St', '53599 Cinder; 60999 Cicadia; 55199 Millbluff', '+1 555 01%d')
    goods = [Good('LS', 'Long Sleeve', 'Long sleeve 200', 3800, 1610, pairs('Y-S=Youth_S Y-M=Youth_M S M L XL'), pairs('ASH=Ash PIN=Pine BRK=Brick'), 220),
             Good('TE', 'T-Shirt', 'Tee 180', 2800, 1090, pairs('S M L XL'), pairs('ASH=Ash PIN=Pine BRK=Brick'), 180),
             Good('TB', 'Tote Bag', 'Tote 12 oz', 2200, 790, (), pairs('NAT=Natural'), 200)]
    b = make_book('12-cinderwick-creek', zone, 'USD', '2026-10-12', 43, 84, goods, [('CRK', 'Creek Bend'), ('OWL', 'Barred Owl'), ('CIC', 'Cicada Summer'), ('BIK', 'Gravel Bike')],
                  [('goods', 'Garment'), ('size', 'Size'), ('colour', 'Color')],
                  lambda d, g, s, c: ' '.join(x for x in (d, g, c, s) if x), 20610, str, lambda r, n: f'S{880 + n}', people, ['US'], ['Dovecart', 'Buckboard'],
                  personal=('Personalization', .14, ['COACH K', 'Size M please!', 'Pine Ridge 5K 2026', '#7', 'Happy Birthday, Wren']), multi=True, parcels='full',
                  strays=('', 'press test', ''), ship_cost=700, line_counts=[48, 30, 13, 6, 3])
    b.parcel_by_tracking = False
    st, su = Source('storefront'), Source('supplier')
    T, K = Local('%-m/%-d/%y %-I:%M %p', zone), Money('number')
    rows = []
    for o, x in b.lines:
        p = o.person
        paid, sent = 'Yes' if o.paid else 'No', 'Yes' if o.status == 'dispatched' else 'No'
        st.combo('orders.status', o.status, paid, sent, o.cancelled)
        rows.append({'Sold On': m(o.placed, 'orders.placed_at', T), 'Slip #': m(o.no, 'orders.order_id order_lines.order_id'), 'Store': 'Cinderwick Creek', 'Shopper': p['name'],
                     'Shopper Mail': p['mail'], 'Ship Street': p['street'], 'Ship Town': p['town'], 'Ship Zip': p['code'], 'Description': m(x.title, 'order_lines.title'),
                     'Garment': m(x.opts.get('Garment'), 'order_lines.options'), 'Size': m(x.opts.get('Size'), 'order_lines.options'),
                     'Color': m(x.opts.get('Color'), 'order_lines.options'), 'Personalization': x.text or None, 'Stock Code': m(x.sku or None, 'order_lines.sku'),
                     'Units': m(x.qty, 'order_lines.quantity'), 'Unit Price': m(x.price, 'order_lines.unit_price', K), 'Line Total': K.src(line_total(x)),
                     'Shipping': K.src(o.ship), 'Discount': K.src(o.discount), 'Order Total': K.src(o.total), 'Tender': 'check' if o.bank else 'card',
                     'Paid?': m(paid, 'orders.status'), 'Shipped?': m(sent, 'orders.status'), 'Cancelled On': m(o.cancelled, 'orders.status', T),
                     'Est. Delivery': Day('%-m/%-d/%y', zone).src(o.promised), 'Warehouse': None, 'Currency': m('USD', 'orders.currency')})
    st.all.add('order_lines.options')
    st.table('sales.xlsx', rows, sheet='Sales')
    st.options_names = {'order_lines': ['Garment', 'Size', 'Color']}
    st.notes = ('The status is spread over "Paid?", "Shipped?" and a cancellation time; no time of payment. "Est. Delivery" is the customer\'s, no dispatch-by date. '
                '"Personalization" is typed. Month first, two-digit years, as text. The clock goes back within the span.')
    Z, C = Rfc(), Money('decimal')
    sw = {'received': 'submitted', 'held': 'needsAttention', 'making': 'printing', 'dispatched': 'handedOver', 'cancelled': 'cancelledByShop', 'rejected': 'refusedByUs'}
    recs = []
    for s in b.submissions:
        recs.append({
            'orderKey': m(s.sid, 'submissions.submission_id submission_lines.submission_id parcels.submission_id'),
            'reference': m(f'Order #{s.ref} for Cinderwick Creek' if s.order else s.ref, 'submissions.order_ref'),
            'submittedAt': m(s.received, 'submissions.received_at', Z), 'updatedAt': m(s.updated, 'submissions.updated_at', Z), 'promisedAt': None,
            'progress': {'code': su.st('submissions.status', sw[s.status], s.status), 'since': m(s.updated, 'submissions.updated_at', Z)},
            'garments': [{'lineKey': m(y.id, 'submission_lines.line_id'), 'sku': m(y.sku, 'submission_lines.sku'), 'garmentKey': m(y.vid, 'submission_lines.variant_id'),
                          'style': y.v.product, 'howMany': m(y.qty, 'submission_lines.quantity'), 'costEach': m(y.cost, 'submission_lines.unit_cost', C),
                          'costLine': C.src(y.qty * y.cost), 'proofs': []} for y in s.lines],
            'cartons': [{'cartonKey': m(p.pid, 'parcels.parcel_id parcel_lines.parcel_id'), 'handedOverAt': m(p.at, 'parcels.dispatched_at', Z),
                         'hauler': m(p.carrier, 'parcels.carrier'), 'tracking': m(p.track, 'parcels.tracking_number'),
                         'packed': [{'lineKey': m(y.id, 'parcel_lines.submission_line_id'), 'howMany': m(q, 'parcel_lines.quantity')} for y, q in p.lines]} for p in s.parcels],
            'shipTo': {'name': s.order.person['name'] if s.order else 'Cinderwick Creek', 'town': s.order.person['town'] if s.order else 'Cinder'}})
    su.jsonl('orders.jsonl', recs)
    su.extra = {'order_ref': {'prefix': 'Order #', 'suffix': ' for Cinderwick Creek'}, 'sku': {'prefix': '', 'suffix': ''}}
    su.notes = ('The order number stands inside a sentence in `reference`; three submissions are for no order (two empty, one "press test"). `lineKey` stands twice, once in the parcel. '
                'Several lists are empty in many records.')
    write_pair(ROOT, '12-cinderwick-creek', b, st, su, 'blackhaw-threads')


for make in (pair01, pair02, pair03, pair04, pair05, pair06, pair07, pair08, pair09, pair10, pair11, pair12):
    make()
