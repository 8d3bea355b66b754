//! The vocabulary's colours against the published list of named colours.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use std::collections::BTreeSet;
use std::sync::LazyLock;

use links::{Vocabulary, read_options};
use model::{Options, Reading};

/// The named colours of CSS Color Module Level 4 (W3C), section 6.1; 148 names.
const CSS: &str = "
    aliceblue antiquewhite aqua aquamarine azure beige bisque black blanchedalmond blue blueviolet brown
    burlywood cadetblue chartreuse chocolate coral cornflowerblue cornsilk crimson cyan darkblue darkcyan
    darkgoldenrod darkgray darkgreen darkgrey darkkhaki darkmagenta darkolivegreen darkorange darkorchid
    darkred darksalmon darkseagreen darkslateblue darkslategray darkslategrey darkturquoise darkviolet
    deeppink deepskyblue dimgray dimgrey dodgerblue firebrick floralwhite forestgreen fuchsia gainsboro
    ghostwhite gold goldenrod gray green greenyellow grey honeydew hotpink indianred indigo ivory khaki
    lavender lavenderblush lawngreen lemonchiffon lightblue lightcoral lightcyan lightgoldenrodyellow
    lightgray lightgreen lightgrey lightpink lightsalmon lightseagreen lightskyblue lightslategray
    lightslategrey lightsteelblue lightyellow lime limegreen linen magenta maroon mediumaquamarine
    mediumblue mediumorchid mediumpurple mediumseagreen mediumslateblue mediumspringgreen mediumturquoise
    mediumvioletred midnightblue mintcream mistyrose moccasin navajowhite navy oldlace olive olivedrab
    orange orangered orchid palegoldenrod palegreen paleturquoise palevioletred papayawhip peachpuff peru
    pink plum powderblue purple rebeccapurple red rosybrown royalblue saddlebrown salmon sandybrown seagreen
    seashell sienna silver skyblue slateblue slategray slategrey snow springgreen steelblue tan teal thistle
    tomato turquoise violet wheat white whitesmoke yellow yellowgreen
";

fn read(value: &str) -> Reading {
    static VOCABULARY: LazyLock<Vocabulary> = LazyLock::new(Vocabulary::built_in);
    let options = Options::from_pairs([("Option", value)]).unwrap();
    read_options(&VOCABULARY, Some(&options), None)
}

#[test]
fn every_css_colour_name_is_read_as_a_colour_and_nothing_else() {
    assert_eq!(CSS.split_whitespace().count(), 148);
    for name in CSS.split_whitespace() {
        let reading = read(name);
        let colour = Reading { colour: reading.colour.clone(), ..Reading::default() };
        assert!(reading.colour.is_some() && reading == colour, "{name}: {reading:?}");
    }
}

/// Names that CSS keeps apart stay apart, but for the two spellings of grey.
#[test]
fn css_colours_with_different_names_are_different_colours() {
    let names: BTreeSet<String> = CSS.split_whitespace().map(|name| name.replace("gray", "grey")).collect();
    let mut read_so_far = BTreeSet::new();
    for name in &names {
        let colour = read(name).colour.unwrap();
        // Common practice, no published source: on goods lime is lime green.
        assert!(read_so_far.insert(colour) || name == "limegreen", "{name}");
    }
}
