//! The known name that somebody may have meant by an unknown one.

/// How alike two names must be, 1 being the same. Found by trying: it takes `Order ID`, `palced_at` and `order`
/// (for `orders`), and leaves `customer` and `notes` alone.
const ALIKE: f64 = 0.7;

/// Longer names are like none that is known, and comparing costs their length.
const COMPARED_BYTES: usize = 64;

/// The known name most like `name`, if one is alike; the first of several that are equally alike.
pub(crate) fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if name.len() > COMPARED_BYTES {
        return None;
    }
    let plain = name.trim().to_lowercase().replace(['-', ' '], "_");
    let mut best: Option<(f64, &str)> = None;
    for candidate in known {
        let alike = strsim::normalized_damerau_levenshtein(&plain, candidate);
        if alike >= ALIKE && best.is_none_or(|(so_far, _)| alike > so_far) {
            best = Some((alike, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_name_near_a_known_one_is_recognised_and_another_is_not() {
        let known = ["order_id", "placed_at", "paid_at", "orders"];
        for (name, want) in [
            ("Order ID", Some("order_id")),
            ("order-id", Some("order_id")),
            ("palced_at", Some("placed_at")),
            (" paid_at", Some("paid_at")),
            ("order", Some("orders")),
            ("customer", None),
            ("notes", None),
            ("", None),
        ] {
            assert_eq!(nearest(name, known), want, "{name:?}");
        }
    }
}
