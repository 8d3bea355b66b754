//! The customers: names, mail and street addresses and words of their own, all invented, none to be kept.
//!
//! They are in the answers so that a reader can be shown to leave them there. Must not know orders. Start
//! reading at [`Person::draw`].

use crate::random::Random;

const GIVEN: [&str; 12] = [
    "Aldwen", "Brinna", "Corvane", "Dessa", "Elowick", "Fjolna", "Gwethin", "Hestrel", "Ivarra", "Jorunde",
    "Kestia", "Lommard",
];

const FAMILY: [&str; 14] = [
    "Quillmere",
    "Tarnwick",
    "Osprelund",
    "Fennholt",
    "Marlgate",
    "Sundrevik",
    "Thrussell-Ødd",
    "Wickenby",
    "Pellaroe",
    "Ravnestad",
    "Yarrowsen",
    "Zandermoor",
    "Ebbingdal",
    "Coombewater",
];

const STREETS: [&str; 8] = [
    "Teasel Row",
    "Old Ropewalk Lane",
    "Skerrygata",
    "Plover Steps",
    "Saltpan Close",
    "Tangveien",
    "Rue des Bécassines",
    "Lantern Brae",
];

/// ISO 3166-1 codes with a place in each.
const PLACES: [(&str, &str); 6] = [
    ("NO", "7731 Vågnestangen"),
    ("IE", "Ballyquern"),
    ("GB", "Thornmouth TQ0 0ZZ"),
    ("DE", "09999 Möwenrode"),
    ("FR", "99123 Saint-Goéland"),
    ("IS", "999 Lundahöfn"),
];

/// Free text that customers type beside their choice, under the name of the option.
const TYPED: [(&str, [&str; 3]); 2] = [
    ("Name to print", ["For Morwinna, with love", "Captain Åsmunde", "“Nonna” Bruschelle"]),
    (
        "Gift note",
        ["Happy sixtieth, Uncle Torvane!", "Get well soon, dear Pipwick", "Takk for alt, Sigrunna"],
    ),
];

const NOTES: [&str; 3] = [
    "Please ring at the blue door, the dog is called Bramblewick.",
    "It is a surprise for Lisbetta: no invoice in the parcel, please.",
    "Leave it with the Haverstocks next door.",
];

/// A customer, as the storefront and the suppliers know them.
#[derive(Clone, Debug)]
pub(super) struct Person {
    pub(super) name: String,
    pub(super) mail: String,
    pub(super) street: String,
    pub(super) place: &'static str,
    /// ISO 3166-1.
    pub(super) country: &'static str,
}

impl Person {
    /// Customer number so-and-so.
    pub(super) fn draw(random: &mut Random, number: usize) -> Self {
        let given = GIVEN[random.index(GIVEN.len())];
        let family = FAMILY[random.index(FAMILY.len())];
        let (country, place) = PLACES[random.weighted(&[8, 5, 4, 3, 2, 1])];
        Self {
            name: format!("{given} {family}"),
            mail: format!("{}.{number}@post.example", given.to_lowercase()),
            street: street(random),
            place,
            country,
        }
    }

    /// The same person at another address of the same place.
    pub(super) fn moved(&self, random: &mut Random) -> Self {
        let mut moved = self.clone();
        while moved.street == self.street {
            moved.street = street(random);
        }
        moved
    }

    /// All that must not be kept.
    pub(super) fn texts(&self) -> [String; 4] {
        [self.name.clone(), self.mail.clone(), self.street.clone(), self.place.to_owned()]
    }
}

fn street(random: &mut Random) -> String {
    let name = STREETS[random.index(STREETS.len())];
    format!("{name} {}", random.between(1, 240))
}

/// An option that holds what a customer typed: its name and the text.
pub(super) fn typed(random: &mut Random) -> (&'static str, &'static str) {
    let (name, texts) = TYPED[random.index(TYPED.len())];
    (name, texts[random.index(texts.len())])
}

/// A remark on an order.
pub(super) fn note(random: &mut Random) -> &'static str {
    NOTES[random.index(NOTES.len())]
}
