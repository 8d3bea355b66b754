//! What columns, keys and status words are called, in four languages: the data of `data/names.json`, ready for look-up.
//!
//! Must not know values. Start reading at [`Lexicon`]; `words` makes the normal form of a name.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::LazyLock;

use serde::Deserialize;

/// A meaning by its name in the data file: `order_id`, `email`.
pub(super) type Meaning = &'static str;

/// The data, read once.
pub(super) static LEXICON: LazyLock<Lexicon> = LazyLock::new(Lexicon::built_in);

const DATA: &str = include_str!("../../data/names.toml");

#[derive(Deserialize)]
struct Names {
    #[serde(default)]
    strong: Vec<String>,
    #[serde(default)]
    weak: Vec<String>,
}

#[derive(Deserialize)]
struct Data {
    status: BTreeMap<String, BTreeMap<String, Vec<String>>>,
    #[serde(flatten)]
    meanings: BTreeMap<String, toml::Value>,
}

/// What names mean.
pub(super) struct Lexicon {
    strong: HashMap<String, Vec<Meaning>>,
    weak: HashMap<String, Vec<Meaning>>,
    /// By family (`order`, `payment`, `dispatch`, `submission`, `flag`) and word: what it means.
    status: BTreeMap<String, HashMap<String, String>>,
    /// Likewise by the stems of the words; nothing where words of one stem mean different things.
    status_stems: BTreeMap<String, HashMap<String, Option<String>>>,
    longest: usize,
}

/// How well a name fits a meaning.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Fit {
    /// From 0 (not at all) to 6 (says so).
    pub(super) score: f64,
    /// Whether the name says so alone, as a whole.
    pub(super) is_exact: bool,
}

impl Lexicon {
    fn built_in() -> Self {
        let data: Data =
            toml::from_str(DATA).unwrap_or_else(|error| unreachable!("the data file is checked: {error}"));
        let mut lexicon = Self {
            strong: HashMap::new(),
            weak: HashMap::new(),
            status: BTreeMap::new(),
            status_stems: BTreeMap::new(),
            longest: 1,
        };
        for (meaning, value) in data.meanings {
            let Ok(names) = value.try_into::<Names>() else { continue };
            let meaning: Meaning = Box::leak(meaning.into_boxed_str());
            for (list, into) in [(names.strong, &mut lexicon.strong), (names.weak, &mut lexicon.weak)] {
                for name in list {
                    let name = words(&name).join(" ");
                    lexicon.longest = lexicon.longest.max(name.split(' ').count());
                    let known: &mut Vec<Meaning> = into.entry(name).or_default();
                    if !known.contains(&meaning) {
                        known.push(meaning);
                    }
                }
            }
        }
        for (family, meanings) in data.status {
            let known = lexicon.status.entry(family).or_default();
            for (meaning, list) in meanings {
                for word in list {
                    known.entry(words(&word).join(" ")).or_insert_with(|| meaning.clone());
                }
            }
        }
        for (family, known) in &lexicon.status {
            let by_stem = lexicon.status_stems.entry(family.clone()).or_default();
            for (word, meaning) in known {
                let words: Vec<String> = word.split(' ').map(str::to_owned).collect();
                let stem = by_stem.entry(stems(&words)).or_insert_with(|| Some(meaning.clone()));
                if stem.as_ref() != Some(meaning) {
                    *stem = None;
                }
            }
        }
        lexicon
    }

    /// What a status word means in a family, where it is known.
    pub(super) fn status(&self, family: &str, word: &str) -> Option<&str> {
        let known = self.status.get(family)?;
        let own = words(word);
        let exact = known.get(&own.join(" "));
        exact.or_else(|| self.status_stems.get(family)?.get(&stems(&own))?.as_ref()).map(String::as_str)
    }

    /// The status words of a family, and what each means.
    pub(super) fn status_words(&self, family: &str) -> impl Iterator<Item = (&str, &str)> {
        let known = self.status.get(family).into_iter().flatten();
        known.map(|(word, meaning)| (word.as_str(), meaning.as_str()))
    }

    /// Every meaning that a name may have, by how well it fits. `around` are the names around it, the outermost first.
    pub(super) fn fits(&self, name: &str, around: &[String]) -> BTreeMap<Meaning, Fit> {
        self.fits_of(name, around, None)
    }

    /// Likewise, of something that is part of a thing that nothing names: what is said together with that is no word of
    /// the source's own.
    pub(super) fn fits_of(&self, name: &str, around: &[String], of: Option<&str>) -> BTreeMap<Meaning, Fit> {
        let own = words(name);
        let mut phrases: Vec<(Vec<String>, f64)> = vec![(own.clone(), 0.0)];
        if let Some(last) = end_of_path(name) {
            phrases.push((words(last), -0.2));
        }
        if let Some((one, other)) = name.split_once(" / ").or_else(|| name.split_once(" | ")) {
            // The same said in two languages: `Taille / Size`.
            phrases.extend([one, other].map(|half| (words(half), -0.1)));
        }
        phrases.extend(spelt_otherwise(&own).map(|phrase| (phrase, -0.1)));
        phrases.extend(without_currency(&own).map(|phrase| (phrase, -0.2)));
        if let Some(of) = of {
            let mut phrase = words(of);
            phrase.extend(own.iter().cloned());
            phrases.push((phrase, IMPLIED));
        }
        for (index, outer) in around.iter().rev().enumerate() {
            let mut phrase = words(outer);
            phrase.retain(|word| !NOT_TELLING.contains(&word.as_str()));
            if phrase.is_empty() {
                continue;
            }
            if let Some(last) = phrase.last_mut() {
                *last = one_of(last);
            }
            phrase.extend(own.iter().cloned());
            // The nearer the name around it, the more it says; its own says the most.
            phrases.push((phrase, if index == 0 { -0.3 } else { -0.5 }));
        }
        let mut fits: BTreeMap<Meaning, Fit> = BTreeMap::new();
        let mut note = |meaning: Meaning, score: f64, is_exact: bool| {
            let fit = fits.entry(meaning).or_insert(Fit { score, is_exact });
            if score > fit.score {
                fit.score = score;
            }
            fit.is_exact |= is_exact;
        };
        for (phrase, more) in &phrases {
            let whole = phrase.join(" ");
            let squeezed = phrase.concat();
            for text in [&whole, &squeezed] {
                for meaning in self.strong.get(text).into_iter().flatten() {
                    note(meaning, 6.0 + more, *more > IMPLIED);
                }
                for meaning in self.weak.get(text).into_iter().flatten() {
                    note(meaning, 2.5 + more.max(-0.3), false);
                }
            }
            let count = phrase.len();
            if count < 2 || *more <= IMPLIED {
                continue;
            }
            for length in (1..count.min(self.longest + 1)).rev() {
                for (start, part) in phrase.windows(length).enumerate() {
                    let part = part.join(" ");
                    let share = length as f64 / count as f64;
                    // Names say what they are at their end in English and German, in French and Spanish at their start.
                    let at_an_end = start == 0 || start + length == count;
                    let share = if at_an_end { share } else { share * 0.7 };
                    for meaning in self.strong.get(&part).into_iter().flatten() {
                        note(meaning, 4.8 * share, false);
                    }
                    for meaning in self.weak.get(&part).into_iter().flatten() {
                        note(meaning, 2.0 * share, false);
                    }
                }
            }
        }
        fits
    }
}

/// Of a name that is a path, as of a document made flat, its end: `items.0.sku`.
fn end_of_path(name: &str) -> Option<&str> {
    let is_name = |part: &str| {
        part == "#"
            || part.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_')
                && part.starts_with(|first: char| first.is_ascii_lowercase() || first.is_ascii_digit())
    };
    let (front, end) = name.rsplit_once('.')?;
    (front.split('.').all(is_name) && is_name(end) && end.len() > 1).then_some(end)
}

/// German without its letters of its own: `geaendert`, `stueck`.
fn spelt_otherwise(words: &[String]) -> Option<Vec<String>> {
    let plain = |word: &String| word.replace("ae", "a").replace("oe", "o").replace("ue", "u");
    let other: Vec<String> = words.iter().map(plain).collect();
    (other != words).then_some(other)
}

/// A name that says the currency of what it is: `Unit GBP` is a price.
fn without_currency(words: &[String]) -> Option<Vec<String>> {
    let (last, front) = words.split_last()?;
    let is_currency = last.len() == 3 && last.to_ascii_uppercase().parse::<model::Currency>().is_ok();
    if !is_currency || front.is_empty() {
        return None;
    }
    let mut words = front.to_vec();
    if !words.iter().any(|word| PRICES.contains(&word.as_str())) {
        words.push("price".to_owned());
    }
    Some(words)
}

/// Words of which one is enough.
const PRICES: &[&str] = &[
    "price", "cost", "total", "preis", "summe", "betrag", "prix", "cout", "precio", "coste", "costo",
    "importe", "net", "netto", "amount", "value", "tax", "vat", "postage", "prezzo", "prijs", "preco",
    "cena", "line", "ext", "fee",
];

/// How much less is said together with a word that the source does not have.
const IMPLIED: f64 = -1.6;

/// Names around others that say nothing of what these are.
const NOT_TELLING: &[&str] = &[
    "data",
    "attributes",
    "attribute",
    "attrs",
    "result",
    "results",
    "response",
    "records",
    "record",
    "rows",
    "row",
    "body",
    "payload",
    "node",
    "nodes",
    "edges",
    "content",
    "contents",
    "values",
    "value",
    "export",
    "list",
    "page",
    "embedded",
    "entries",
    "entry",
    "resource",
    "resources",
    "meta",
    "info",
    "details",
    "detail",
    "head",
    "header",
];

/// Short forms of words in names. Common practice, no published source.
const SHORT: &[(&str, &str)] = &[
    ("no", "number"),
    ("nr", "number"),
    ("num", "number"),
    ("nbr", "number"),
    ("numero", "number"),
    ("nummer", "number"),
    ("identifier", "id"),
    ("ident", "id"),
    ("uid", "id"),
    ("uuid", "id"),
    ("guid", "id"),
    ("ord", "order"),
    ("dt", "date"),
    ("ts", "time"),
    ("timestamp", "time"),
    ("qty", "quantity"),
    ("qnty", "quantity"),
    ("amt", "amount"),
    ("cust", "customer"),
    ("addr", "address"),
    ("ctry", "country"),
    ("curr", "currency"),
    ("ccy", "currency"),
    ("desc", "description"),
    ("descr", "description"),
    ("prod", "product"),
    ("art", "article"),
    ("ref", "reference"),
    ("shp", "ship"),
    ("trk", "tracking"),
    ("stat", "status"),
    ("colour", "color"),
    ("canceled", "cancelled"),
    ("upd", "updated"),
    ("pd", "paid"),
    ("dsc", "description"),
    ("crt", "created"),
    ("cre", "created"),
    ("disp", "dispatched"),
    ("recd", "received"),
    ("rcvd", "received"),
    ("rec", "received"),
    ("kd", "kunde"),
    ("kdn", "kunde"),
    ("eing", "eingang"),
    ("vers", "versand"),
    ("dat", "datum"),
    ("auftr", "auftrag"),
    ("best", "bestell"),
    ("sdg", "sendung"),
    ("zust", "zusteller"),
    ("seguim", "seguimiento"),
    ("transp", "transportista"),
    ("est", "estado"),
    ("ped", "pedido"),
    ("lin", "linea"),
    ("sts", "status"),
    ("st", "status"),
    ("f", "fecha"),
    ("con", "consignment"),
    ("grp", "group"),
    ("pc", "piece"),
    ("lbl", "label"),
    ("nm", "name"),
    ("val", "value"),
    ("typ", "type"),
    ("cat", "category"),
    ("tot", "total"),
    ("pkg", "package"),
    ("trck", "tracking"),
    ("mod", "modified"),
    ("chg", "changed"),
    ("exp", "expedition"),
    ("fab", "fabrication"),
    ("liv", "livraison"),
    ("subm", "submission"),
    ("pos", "position"),
    ("prog", "progress"),
    ("pmt", "payment"),
    ("pte", "pendiente"),
    ("pdte", "pendiente"),
    ("fec", "fecha"),
    ("fch", "fecha"),
    ("cod", "codigo"),
    ("anul", "anulado"),
    ("descrip", "description"),
    ("angen", "angenommen"),
    ("enr", "enregistrement"),
    ("consgt", "consignment"),
    ("cli", "client"),
    ("pcs", "pieces"),
    ("cde", "commande"),
    ("cmde", "commande"),
    ("qte", "quantite"),
    ("cant", "cantidad"),
    ("bez", "bezahlt"),
    ("n", "number"),
    ("sit", "situacion"),
];

/// A word in the singular, roughly: of a list `orders`, one is an `order`.
fn one_of(word: &str) -> String {
    let cut = |end: &str, with: &str| word.strip_suffix(end).map(|stem| format!("{stem}{with}"));
    match word {
        "address" | "status" | "addresses" => word.to_owned(),
        _ if word.len() < 4 => word.to_owned(),
        _ => cut("ies", "y")
            .or_else(|| cut("sses", "ss"))
            .or_else(|| cut("s", "").filter(|_| !word.ends_with("ss")))
            .unwrap_or_else(|| word.to_owned()),
    }
}

/// The words of a name: lower case, no accents, `camelCase` and `snake_case` taken apart, short forms written out.
pub(super) fn words(name: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut word = String::new();
    if let Some(whole) = put_together(name) {
        return whole;
    }
    let letters: Vec<char> = without_kind(name).chars().collect();
    for (at, letter) in letters.iter().enumerate() {
        let before = at.checked_sub(1).map(|at| letters[at]);
        let after = letters.get(at + 1);
        let begins = match before {
            Some(before) if before.is_lowercase() && letter.is_uppercase() => true,
            Some(before) if before.is_uppercase() && letter.is_uppercase() => {
                after.is_some_and(|after| after.is_lowercase())
            }
            Some(before) => {
                before.is_alphabetic() && letter.is_numeric() || before.is_numeric() && letter.is_alphabetic()
            }
            None => false,
        };
        if begins || !letter.is_alphanumeric() {
            push(&mut words, &mut word);
        }
        if letter.is_alphanumeric() {
            plain(*letter, &mut word);
        }
    }
    push(&mut words, &mut word);
    words
}

/// Letters before a name that say of which kind its values are, and nothing of what they mean. Common practice, no
/// published source.
const KINDS: &[&str] = &[
    "str", "txt", "int", "lng", "byt", "dbl", "sng", "cur", "dtm", "dat", "bln", "bool", "mem", "num", "tbl",
];

/// A name without the letters before it that say the kind of its values: `strSize`, `intUnits`.
fn without_kind(name: &str) -> &str {
    let rest = |kind: &&&str| {
        name.strip_prefix(**kind).filter(|rest| rest.starts_with(|first: char| first.is_uppercase()))
    };
    KINDS.iter().find_map(|kind| rest(&kind)).unwrap_or(name)
}

/// Beginnings and ends of names of five or six letters that fields of old systems have: `ORDQT`, `LINNO`. Common practice,
/// no published source.
const FRONTS: &[(&str, &str)] = &[
    ("ord", "order"),
    ("lin", "line"),
    ("stk", "stock"),
    ("itm", "item"),
    ("art", "article"),
    ("prd", "product"),
    ("unt", "unit"),
    ("siz", "size"),
    ("col", "color"),
    ("cus", "customer"),
    ("cst", "customer"),
    ("can", "cancelled"),
    ("cnl", "cancelled"),
    ("pay", "paid"),
    ("pmt", "payment"),
    ("amd", "changed"),
    ("chg", "changed"),
    ("upd", "updated"),
    ("crt", "created"),
    ("rcv", "received"),
    ("acc", "accepted"),
    ("req", "required"),
    ("shp", "ship"),
    ("dsp", "dispatched"),
    ("del", "delivery"),
    ("dlv", "delivery"),
    ("trk", "tracking"),
    ("car", "carrier"),
    ("inv", "invoice"),
    ("des", "description"),
    ("sup", "supplier"),
    ("cur", "currency"),
    ("job", "job"),
    ("pcl", "parcel"),
];
const ENDS: &[(&str, &str)] = &[
    ("no", "number"),
    ("nr", "number"),
    ("num", "number"),
    ("id", "id"),
    ("cd", "code"),
    ("cod", "code"),
    ("dt", "date"),
    ("dte", "date"),
    ("tm", "time"),
    ("tim", "time"),
    ("qt", "quantity"),
    ("qty", "quantity"),
    ("pr", "price"),
    ("prc", "price"),
    ("st", "status"),
    ("sts", "status"),
    ("nm", "name"),
    ("nam", "name"),
    ("fl", "flag"),
    ("flg", "flag"),
    ("am", "amount"),
    ("amt", "amount"),
    ("val", "value"),
];

/// A name that is nothing but two short forms.
fn put_together(name: &str) -> Option<Vec<String>> {
    if !(5..=6).contains(&name.len()) || !name.bytes().all(|byte| byte.is_ascii_alphabetic()) {
        return None;
    }
    let name = name.to_ascii_lowercase();
    let (_, front) = FRONTS.iter().find(|(short, _)| name.starts_with(short))?;
    let (_, end) = ENDS.iter().find(|(short, _)| name[3..] == **short)?;
    Some(vec![(*front).to_owned(), (*end).to_owned()])
}

fn push(words: &mut Vec<String>, word: &mut String) {
    if !word.is_empty() {
        // German puts words together: `Variantennr`, `Bestellnummer`.
        for end in ["nummer", "nr"] {
            if let Some(front) = word.strip_suffix(end).filter(|front| front.len() > 2) {
                let mut front = front.to_owned();
                push(words, &mut front);
                *word = end.to_owned();
                break;
            }
        }
        let long = SHORT.iter().find(|(short, _)| short == word).map(|(_, long)| (*long).to_owned());
        words.push(long.unwrap_or_else(|| word.clone()));
        word.clear();
    }
}

/// Words without the ends that say gender and number: `servida` and `servidos` are one.
fn stems(words: &[String]) -> String {
    let stem = |word: &String| {
        let stem = word.trim_end_matches(['a', 'e', 'o', 's']);
        if stem.len() >= 4 { stem.to_owned() } else { word.clone() }
    };
    words.iter().map(stem).collect::<Vec<_>>().join(" ")
}

/// A letter without its accent, in lower case.
fn plain(letter: char, into: &mut String) {
    match letter {
        'à'..='å' | 'À'..='Å' | 'ā' => into.push('a'),
        'è'..='ë' | 'È'..='Ë' | 'ē' => into.push('e'),
        'ì'..='ï' | 'Ì'..='Ï' => into.push('i'),
        'ò'..='ö' | 'Ò'..='Ö' | 'ø' | 'Ø' => into.push('o'),
        'ù'..='ü' | 'Ù'..='Ü' => into.push('u'),
        'ç' | 'Ç' => into.push('c'),
        'ñ' | 'Ñ' => into.push('n'),
        'ý' | 'ÿ' => into.push('y'),
        'ß' => into.push_str("ss"),
        'æ' | 'Æ' => into.push_str("ae"),
        'œ' | 'Œ' => into.push_str("oe"),
        'º' | '°' => {}
        _ => into.extend(letter.to_lowercase()),
    }
}

/// All meanings that the data file has.
pub(super) fn meanings() -> BTreeSet<Meaning> {
    LEXICON.strong.values().chain(LEXICON.weak.values()).flatten().copied().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_come_apart_into_words() {
        for (name, want) in [
            ("orderId", "order id"),
            ("ORDER_NO", "order number"),
            ("Größe", "grosse"),
            ("N° de commande", "number de commande"),
            ("unitPriceEUR", "unit price eur"),
            ("HTTPCode", "http code"),
            ("Item 12", "item 12"),
            ("qty2", "quantity 2"),
            ("Bestell-Nr.", "bestell number"),
            ("ORDQT", "order quantity"),
            ("strSize", "size"),
            ("strength", "strength"),
        ] {
            assert_eq!(words(name).join(" "), want, "{name}");
        }
    }

    #[test]
    fn a_name_fits_what_it_says_best() {
        let best = |name: &str, around: &[&str]| {
            let around: Vec<String> = around.iter().map(|name| (*name).to_owned()).collect();
            let fits = LEXICON.fits(name, &around);
            fits.into_iter().max_by(|a, b| a.1.score.total_cmp(&b.1.score)).map(|(meaning, _)| meaning)
        };
        for (name, around, want) in [
            ("placed_on", &[][..], "placed_at"),
            ("id", &["customer"], "customer_id"),
            ("email", &["billing"], "email"),
            ("Menge", &[], "quantity"),
            ("quantité", &[], "quantity"),
        ] {
            assert_eq!(best(name, around), Some(want), "{name} {around:?}");
        }
    }
}
