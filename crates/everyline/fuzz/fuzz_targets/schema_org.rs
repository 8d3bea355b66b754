//! A document in the terms of schema.org from any bytes: rows, or a misfit in words; and the same again.
//!
//! Must not know what a term means. The input is the body of an answer.

#![no_main]

use std::sync::LazyLock;

use intake::source::declare::{Declaration, Source};
use libfuzzer_sys::fuzz_target;
use serde_json::Value;

/// A source that names the vocabulary and no tables.
static SOURCE: LazyLock<Source> = LazyLock::new(|| {
    let text = "role = \"storefront\"\naddress = \"https://shop.example/\"\n[requests.orders]\npath = \"orders\"\n\
                vocabulary = \"schema.org\"\n";
    let declaration: Declaration = toml::from_str(text).expect("it is a declaration");
    declaration.check(chrono_tz::Tz::UTC).expect("it can be used")
});

fuzz_target!(|input: &[u8]| {
    let Ok(body) = serde_json::from_slice::<Value>(input) else { return };
    let request = &SOURCE.requests()[0];
    let read = || request.rows(&body, None, b"key").map(|mapped| format!("{mapped:?}"));
    let read_once = read();
    if let Err(misfit) = &read_once {
        let shown = misfit.to_string();
        assert!(shown.contains("; expected ") && shown.ends_with('.'), "{shown}");
        assert!(shown.len() < 2_000, "{shown}");
    }
    assert_eq!(read_once, read(), "read again");
});
