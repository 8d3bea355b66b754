// Invented shops as folders of tables: a quiet one whose cause of trouble comes and goes, and one whose texts are hostile.
import { mkdir, rename, writeFile } from "node:fs/promises";
import { join } from "node:path";

const HOUR = 3_600_000;

const ago = (hours) => new Date(Date.now() - hours * HOUR).toISOString();

const cell = (value) => {
  const text = value === undefined || value === null ? "" : typeof value === "object" ? JSON.stringify(value) : String(value);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
};

/** Rows as CSV; the columns are those that occur. */
function csv(rows) {
  const columns = [...new Set(rows.flatMap((row) => Object.keys(row)))];
  const lines = [columns, ...rows.map((row) => columns.map((column) => row[column]))];
  return lines.map((line) => line.map(cell).join(",") + "\r\n").join("");
}

/** Puts tables into a folder, each at once: nobody reads half of one. */
export async function put(folder, tables) {
  await mkdir(folder, { recursive: true });
  for (const [name, rows] of Object.entries(tables)) {
    const beside = join(folder, `.${name}.new`);
    await writeFile(beside, csv(rows));
    await rename(beside, join(folder, `${name}.csv`));
  }
}

const SUPPLIER = "alder-print";

const variant = (size, colour) => ({
  supplier: SUPPLIER, variant_id: `v-${size}-${colour}`.toLowerCase(), sku: `ALDER-${size}-${colour}`.toUpperCase(),
  product: "Apron", options: { Size: size, Colour: colour }, unit_cost: "9.00", currency: "EUR",
});

const VARIANTS = ["S", "L"].flatMap((size) => ["Moss", "Plum"].map((colour) => variant(size, colour)));

/**
 * The quiet shop. `isSold`: somebody buys an offer without a SKU; `isUnsent`: an earlier order was not sent at all; `isLinked`:
 * the storefront has the SKU; `isMade`: the supplier has the rest of both orders too.
 */
export function quiet({ isSold, isUnsent, isLinked, isMade } = {}) {
  const offer = (size, colour, sku) => ({
    listing_id: "KL-30", sku, title: "Wagtail apron", options: { Size: size, Colour: colour }, price: "24.00", currency: "EUR",
  });
  const missing = isLinked ? "ALDER-L-PLUM" : "";
  const order = (id, hours) => ({
    order_id: id, placed_at: ago(hours), paid_at: ago(hours), status: "open", currency: "EUR", promised_by: ago(-96),
  });
  const line = (order_id, line_id, size, colour, sku) => ({
    order_id, line_id, listing_id: "KL-30", sku, title: "Wagtail apron", options: { Size: size, Colour: colour }, quantity: 1,
    unit_price: "24.00",
  });
  const sent = (id, order_ref, hours) => ({
    supplier: SUPPLIER, submission_id: id, order_ref, status: "received", received_at: ago(hours),
  });
  const part = (submission_id, line_id, order_line_ref, size, colour) => ({
    supplier: SUPPLIER, submission_id, line_id, order_line_ref, variant_id: `v-${size}-${colour}`.toLowerCase(),
    sku: `ALDER-${size}-${colour}`.toUpperCase(), quantity: 1, unit_cost: "9.00",
  });
  return {
    variants: VARIANTS,
    offers: [
      offer("S", "Moss", "ALDER-S-MOSS"), offer("L", "Moss", "ALDER-L-MOSS"), offer("S", "Plum", "ALDER-S-PLUM"),
      ...(isSold ? [offer("L", "Plum", missing)] : []),
    ],
    orders: [order("KK-301", 6), ...(isSold ? [order("KK-302", 5)] : []), ...(isUnsent ? [order("KK-300", 9)] : [])],
    order_lines: [
      line("KK-301", "1", "S", "Moss", "ALDER-S-MOSS"),
      ...(isSold ? [line("KK-302", "1", "L", "Moss", "ALDER-L-MOSS"), line("KK-302", "2", "L", "Plum", missing)] : []),
      ...(isUnsent ? [line("KK-300", "1", "S", "Plum", "ALDER-S-PLUM")] : []),
    ],
    submissions: [
      sent("A-1", "KK-301", 5.9), ...(isSold ? [sent("A-2", "KK-302", 4.9)] : []),
      ...(isMade ? [sent("A-3", "KK-302", 0.1), sent("A-4", "KK-300", 0.1)] : []),
    ],
    submission_lines: [
      part("A-1", "1", "1", "S", "Moss"),
      ...(isSold ? [part("A-2", "1", "1", "L", "Moss")] : []),
      ...(isMade ? [part("A-3", "1", "2", "L", "Plum"), part("A-4", "1", "1", "S", "Plum")] : []),
    ],
  };
}

/** Texts by which somebody would like more than a text to become of them. `marked` is what each would do where it ran. */
export const HOSTILE = [
  `<script>window.marked = 1</script>`,
  `"><img src=x onerror="window.marked = 2">`,
  `'-alert(3)-'`,
  `<svg/onload=window.marked=4><style>body{display:none}</style>`,
  `javascript:window.marked=5`,
  `</title><base href="http://evil.example/"><meta http-equiv="refresh" content="0;url=http://evil.example/">`,
  `<form action="http://evil.example/"><button>Sign in again</button></form>`,
  `gro\u202essap \u2066evil\u2069 \u200b\u200f`,
  `${"Wagtailonthesillbehindthegarden".repeat(14)}`,
  `\u0645\u0631\u064a\u0644\u0629 \u0627\u0644\u0637\u0627\u0626\u0631 (S)`,
  `Käse – 順番 – 👩‍🍳 Z\u0351\u036b\u0343a\u0300\u0301\u0302\u0303l`,
  `{{7*7}} \${7*7} %00 %0d%0aSet-Cookie:a=b &lt;b&gt; &#60;i&#62;`,
  `../../etc/passwd?a=1&b=2#c`,
];

/** A shop of which every text is hostile, with something wrong in each order. */
export function hostile() {
  const tables = {
    variants: [], offers: [], links: [], orders: [], order_lines: [], submissions: [], submission_lines: [], parcels: [],
    parcel_lines: [], listing_products: [],
  };
  HOSTILE.forEach((text, place) => {
    // Ids are compared byte by byte, and may be anything too.
    const id = `${place}-${text}`;
    const supplier = place % 2 ? `press ${text}` : SUPPLIER;
    const options = (size) => ({ [`Size ${text}`]: `${size} ${text}`, Colour: text });
    for (const size of ["S", "L"]) {
      tables.variants.push({
        supplier, variant_id: `v-${size}-${id}`, sku: `${size} ${id}`, product: `Apron ${text}`, options: options(size),
        unit_cost: "9.00", currency: "EUR",
      });
      tables.offers.push({
        listing_id: `L-${id}`, sku: size === "S" ? `${size} ${id}` : "", title: `Apron ${text}`, options: options(size),
        price: size === "S" ? "8.00" : "24.00", currency: "EUR",
      });
    }
    tables.links.push({ sku: `gone ${id}`, supplier, variant_id: `none-${id}`, units: 1 });
    tables.orders.push({
      order_id: `O-${id}`, placed_at: ago(5), paid_at: ago(5), status: "open", currency: "EUR", ship_to_country: "NO",
      promised_by: ago(-48),
    });
    ["S", "L"].forEach((size, line) => tables.order_lines.push({
      order_id: `O-${id}`, line_id: `${line + 1} ${text}`, listing_id: `L-${id}`, sku: size === "S" ? `${size} ${id}` : "",
      title: `Apron ${text}`, options: options(size), quantity: 2, unit_price: "24.00",
    }));
    tables.submissions.push(
      { supplier, submission_id: `S-${id}`, order_ref: `O-${id}`, status: "dispatched", received_at: ago(4) },
      { supplier, submission_id: `stray-${id}`, order_ref: `unknown ${text}`, status: "received", received_at: ago(3) },
    );
    tables.submission_lines.push(
      {
        supplier, submission_id: `S-${id}`, line_id: `1 ${text}`, variant_id: `v-${place % 3 ? "S" : "L"}-${id}`,
        sku: `${place % 3 ? "S" : "L"} ${id}`, quantity: 2, unit_cost: "9.00",
      },
      { supplier, submission_id: `stray-${id}`, line_id: "1", variant_id: `v-S-${id}`, sku: `S ${id}`, quantity: 1 },
    );
    tables.parcels.push({
      supplier, parcel_id: `P-${id}`, submission_id: `S-${id}`, dispatched_at: ago(1), carrier: text,
      tracking_number: `T ${text}`,
    });
    tables.parcel_lines.push({ supplier, parcel_id: `P-${id}`, submission_line_id: `1 ${text}`, quantity: 1 });
    tables.listing_products.push({ listing_id: `L-${id}`, supplier, product: `Apron ${text}` });
  });
  return tables;
}

/** Two exports of an invented shop, as a till and a supplier in Germany may write them; of the second, one word is not known. */
export const GERMAN = {
  "bestellungen.csv": [
    "Bestellnr.;Bestelldatum;Bezahlt am;Status;Position;Artikel;Größe;Farbe;Artikelnummer;Menge;Einzelpreis",
    "B-1007;24.11.2026 10:02;24.11.2026 10:03;bezahlt;1;Schürze Bachstelze;L;Moos;SB-L-MOOS;1;24,00 €",
    "B-1007;24.11.2026 10:02;24.11.2026 10:03;bezahlt;2;Schürze Bachstelze;S;Pflaume;SB-S-PFLAUME;2;24,00 €",
    "B-1008;24.11.2026 11:40;24.11.2026 11:41;bezahlt;1;Schürze Bachstelze;S;Moos;SB-S-MOOS;1;24,00 €",
    "B-1009;24.11.2026 12:15;;offen;1;Schürze Bachstelze;L;Moos;SB-L-MOOS;1;24,00 €",
    "",
  ].join("\r\n"),
  "auftraege.csv": [
    "Auftragsnr.;Ihre Bestellnr.;Eingang;Stand;Pos.;Artikelnummer;Bezeichnung;Stück;Preis netto",
    "A-501;B-1007;24.11.2026 10:30;Walze;1;SB-L-MOOS;Schürze L Moos;1;9,00 €",
    "A-502;B-1008;24.11.2026 12:00;in Arbeit;1;SB-S-MOOS;Schürze S Moos;1;9,00 €",
    "A-503;B-1001;23.11.2026 09:00;versendet;1;SB-S-MOOS;Schürze S Moos;1;9,00 €",
    "",
  ].join("\r\n"),
};
