//! The terms of schema.org that are read, by the class on which they stand.
//!
//! What is not named here is not read at all: customers, their addresses and names among it. Start reading at [`TERMS`].
//! Source: schema.org release 30.0; `tests/schema_org` compares it with the published list.

/// The classes of which something is read, and which of their properties are, those of `Thing` among them.
pub(super) const TERMS: &[(&str, &[&str])] = &[
    (
        "Order",
        &[
            "orderNumber",
            "confirmationNumber",
            "identifier",
            "orderDate",
            "orderStatus",
            "orderedItem",
            "acceptedOffer",
            "orderDelivery",
        ],
    ),
    ("OrderItem", &["orderItemNumber", "orderQuantity", "orderItemStatus", "orderedItem", "orderDelivery"]),
    (
        "Product",
        &[
            "name",
            "sku",
            "productID",
            "isVariantOf",
            "inProductGroupWithID",
            "color",
            "size",
            "material",
            "pattern",
            "additionalProperty",
        ],
    ),
    ("ProductGroup", &["name", "productGroupID", "variesBy", "hasVariant"]),
    ("ProductModel", &["name", "productID"]),
    ("Service", &["name"]),
    (
        "Offer",
        &["name", "sku", "price", "priceCurrency", "priceSpecification", "itemOffered", "eligibleQuantity"],
    ),
    ("UnitPriceSpecification", &["price", "priceCurrency", "referenceQuantity"]),
    ("QuantitativeValue", &["value", "unitCode", "unitText"]),
    ("PropertyValue", &["name", "propertyID", "value", "unitText"]),
    ("DefinedTerm", &["name", "termCode"]),
    ("SizeSpecification", &["name"]),
    ("ParcelDelivery", &["partOfOrder", "deliveryAddress"]),
    ("PostalAddress", &["addressCountry"]),
    ("Country", &["name"]),
    // What orders stand in.
    ("ItemList", &["itemListElement"]),
    ("ListItem", &["item"]),
    ("DataFeed", &["dataFeedElement"]),
    ("DataFeedItem", &["item"]),
    ("Invoice", &["referencesOrder"]),
];

/// The properties in which orders may stand.
pub(super) const AROUND: [&str; 4] = ["itemListElement", "item", "dataFeedElement", "referencesOrder"];

/// The properties whose values are members of an enumeration, or names of properties.
pub(super) const WORDS: [&str; 3] = ["orderStatus", "orderItemStatus", "variesBy"];

/// The properties of a product that are options by themselves.
pub(super) const OPTIONS: [&str; 4] = ["color", "size", "material", "pattern"];

/// A term that is read, by its name.
pub(super) fn known(name: &str) -> Option<&'static str> {
    TERMS.iter().flat_map(|(_, terms)| *terms).find(|term| **term == name).copied()
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use serde::Deserialize;

    use super::*;
    use crate::schema_org::{CANCELLED, MAPPING, STATUSES};

    /// What is published: classes with their properties, and what each property takes.
    #[derive(Deserialize)]
    struct Published {
        classes: Classes,
        #[serde(default)]
        members: BTreeMap<String, BTreeSet<String>>,
    }

    /// Of each class, what each of its properties takes.
    type Classes = BTreeMap<String, BTreeMap<String, Vec<String>>>;

    /// The classes of schema.org, and the members of its enumerations. The file names the source of each part.
    fn published() -> (Classes, BTreeSet<String>) {
        let text = include_str!("../../tests/schema_org/terms.json");
        let parts: BTreeMap<String, Published> = serde_json::from_str(text).unwrap();
        let members = parts["published"].members["OrderStatus"].clone();
        (parts.into_values().flat_map(|part| part.classes).collect(), members)
    }

    /// What a property of a class takes; `None` where the class has no such property.
    fn takes(class: &str, term: &str) -> Option<Vec<String>> {
        let (classes, _) = published();
        let own = |class: &str| classes.get(class).and_then(|terms| terms.get(term)).cloned();
        own(class).or_else(|| own("Thing"))
    }

    #[test]
    fn every_term_is_a_property_of_its_class() {
        let (classes, _) = published();
        for (class, terms) in TERMS {
            assert!(classes.contains_key(*class), "{class}");
            for term in *terms {
                assert!(takes(class, term).is_some(), "{class} has no {term}");
            }
        }
        // Proof that this can fail.
        assert_eq!(takes("Order", "orderNo"), None);
        assert_eq!(takes("OrderItem", "acceptedOffer"), None);
    }

    /// The places of the mapping, table by table.
    fn places() -> Vec<(String, String)> {
        fn texts(value: &toml::Value, into: &mut Vec<String>) {
            match value {
                toml::Value::String(text) if text.starts_with('$') => into.push(text.clone()),
                toml::Value::Array(several) => several.iter().for_each(|value| texts(value, into)),
                toml::Value::Table(keys) => keys.values().for_each(|value| texts(value, into)),
                _ => {}
            }
        }
        let mapping: toml::Table = toml::from_str(MAPPING).unwrap();
        let mut places = Vec::new();
        for (table, keys) in &mapping {
            let mut found = Vec::new();
            texts(&keys["fields"], &mut found);
            places.extend(found.into_iter().map(|place| (table.clone(), place)));
        }
        places
    }

    /// The names in a regular record that are no terms, and those of the order that stand at its line.
    fn is_of_the_regular_form(table: &str, term: &str) -> bool {
        table == "order_lines" && ["options", CANCELLED].contains(&term)
    }

    #[test]
    fn every_place_of_the_mapping_follows_the_vocabulary() {
        let places = places();
        assert!(places.len() > 15, "{}", places.len());
        for (table, place) in places {
            let mut classes: BTreeSet<String> =
                BTreeSet::from([if table == "orders" { "Order" } else { "OrderItem" }.to_owned()]);
            for term in place.trim_start_matches("$.").split('.') {
                // The id of a thing, whatever it is.
                let term = match term.split_once("['@id']") {
                    Some(("$" | "", _)) => continue,
                    Some((term, _)) => term,
                    None => term,
                };
                if is_of_the_regular_form(&table, term) {
                    continue;
                }
                // An offer is its order's, and stands at the line that it is of.
                if table == "order_lines" && term == "acceptedOffer" {
                    classes = BTreeSet::from(["Order".to_owned()]);
                }
                // A ProductGroup is a Product.
                if classes.contains("Product") {
                    classes.insert("ProductGroup".to_owned());
                }
                let next: BTreeSet<String> =
                    classes.iter().filter_map(|class| takes(class, term)).flatten().collect();
                assert!(!next.is_empty(), "{place}: none of {classes:?} has {term}");
                assert!(known(term).is_some(), "{place}: {term} is not read");
                classes = next;
            }
        }
    }

    #[test]
    fn every_member_of_order_status_has_a_meaning_and_nothing_else_has() {
        let (_, members) = published();
        assert_eq!(members.len(), 8);
        let mapping: toml::Table = toml::from_str(MAPPING).unwrap();
        let words = mapping["orders"]["fields"]["status"]["words"].as_table().unwrap();
        let meant: BTreeSet<String> = words.keys().cloned().collect();
        assert_eq!(meant, members);
        assert_eq!(STATUSES.map(str::to_owned).into_iter().collect::<BTreeSet<_>>(), members);
    }

    #[test]
    fn nobody_and_no_place_where_somebody_lives_is_read() {
        for term in [
            "customer",
            "billingAddress",
            "broker",
            "seller",
            "provider",
            "streetAddress",
            "postalCode",
            "addressLocality",
            "email",
            "telephone",
            "givenName",
            "description",
            "paymentMethodId",
        ] {
            assert_eq!(known(term), None, "{term}");
        }
    }

    #[test]
    fn words_ids_and_options_are_terms_that_are_read() {
        for term in AROUND.into_iter().chain(WORDS).chain(OPTIONS) {
            assert!(known(term).is_some(), "{term}");
        }
    }
}
