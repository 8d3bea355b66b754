//! The colours of the page, measured: each text with each ground on which it stands.
//!
//! Source: WCAG 2.2, relative luminance and success criteria 1.4.3, 1.4.6 and 1.4.11.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use std::collections::BTreeMap;

const STYLE: &str = include_str!("../assets/page.css");

/// The colours of a block of declarations.
fn colours(block: &str) -> BTreeMap<&str, [f64; 3]> {
    let declared = block.split([';', '{', '}']).filter_map(|part| part.trim().split_once(": "));
    let colours = declared.filter_map(|(name, value)| {
        let name = name.trim().strip_prefix("--")?;
        let hex = value.trim().strip_prefix('#')?;
        let part = |at: usize| f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
        Some((name, [part(0), part(2), part(4)]))
    });
    colours.collect()
}

fn luminance(colour: [f64; 3]) -> f64 {
    let linear = |part: f64| if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) };
    let [red, green, blue] = colour.map(linear);
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

fn contrast(one: [f64; 3], other: [f64; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[test]
fn every_text_stands_out_from_its_ground_in_light_and_in_dark() {
    let mut blocks = STYLE.split(":root {").skip(1);
    let (light, dark) = (colours(blocks.next().unwrap()), colours(blocks.next().unwrap()));
    assert_eq!(light.keys().collect::<Vec<_>>(), dark.keys().collect::<Vec<_>>());
    for colours in [&light, &dark] {
        for ground in ["paper", "sheet", "sunk"] {
            for text in ["ink", "soft", "now", "repair", "watch", "good", "link"] {
                let contrast = contrast(colours[text], colours[ground]);
                assert!(contrast >= 7.0, "{text} on {ground}: {contrast:.2}");
            }
        }
        let contrast_of_edge = contrast(colours["line"], colours["paper"]);
        assert!(contrast_of_edge >= 3.0, "line on paper: {contrast_of_edge:.2}");
        assert!(contrast(colours["paper"], colours["ink"]) >= 7.0);
    }
}

#[test]
fn the_measure_is_that_of_the_source() {
    assert_eq!(contrast([0.0; 3], [1.0; 3]), 21.0);
    assert!((contrast([119.0 / 255.0; 3], [1.0; 3]) - 4.48).abs() < 0.01);
}
