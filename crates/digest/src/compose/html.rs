//! A document as a page of HTML for a mail program: no script, no picture, nothing from elsewhere.
//!
//! Must not know what it is about. The markup says what a thing is, so that the page reads well where its style is left out;
//! the same words stand in it as in the text. Start reading at [`written`].

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::document::{Bar, Block, Document, Item, Tone};
use crate::clean::{END_OF_ISOLATE, ISOLATE};

/// Two sets of colours of our own, light and dark; the contrast of each text with its ground is 7 to 1 or more
/// (WCAG 2.2, success criterion 1.4.6), measured in a test.
const STYLE: &str = "\
:root{color-scheme:light dark}\
body{margin:0;background:#f6f4ee;color:#20282b;font:16px/1.5 Georgia,'Times New Roman',serif}\
main{max-width:40rem;margin:0 auto;padding:1.25rem 1rem 2.5rem;overflow-wrap:anywhere}\
h1{font-size:1rem;font-weight:400;margin:0 0 .25rem;color:#485356}\
.lead{font-size:1.35rem;line-height:1.35;margin:0 0 1.25rem}\
h2{font-size:1.05rem;margin:2rem 0 .75rem;padding-bottom:.25rem;border-bottom:2px solid #20282b}\
h2 span{font-weight:400;color:#485356}\
.item{margin:0 0 1.1rem;padding:.1rem 0 .1rem .8rem}\
.item p{margin:.2rem 0}\
.when{font-weight:700}\
.head{font-size:1.05rem}\
.now{border-left:6px solid #9a3412}.now .when{color:#8a2c0d}\
.repair{border-left:6px double #5b2a78}.repair .when{color:#5b2a78}\
.watch{border-left:2px dotted #2f5662}.watch .when{color:#2a4d58}\
blockquote{margin:.4rem 0;padding:.5rem .75rem;background:#ebe7dc;border-radius:.25rem}\
ul{padding-left:1.1rem;margin:.5rem 0}li{margin:.25rem 0}\
table{border-collapse:collapse;margin:.5rem 0}\
th{font-weight:400;text-align:left;padding:.15rem 1.5rem .15rem 0}\
td{text-align:right;font-variant-numeric:tabular-nums}\
tr.sum th,tr.sum td{border-top:2px solid #20282b;font-weight:700}\
.shares{width:100%;table-layout:fixed}\
.shares th,.shares td{text-align:left;vertical-align:top;padding:.35rem .75rem .35rem 0}\
.shares p{margin:0}\
.shares .track{width:100%;margin:.4rem 0 .2rem;border-collapse:collapse}\
.shares .track td{padding:0;height:.6rem;line-height:0;font-size:0;background:#d9d4c5}\
.shares .track .full{background:#2f5662}\
a{color:#1c4a58}\
@media (prefers-color-scheme:dark){\
body{background:#15191a;color:#ece8de}\
h1,h2 span{color:#b4bdbf}\
h2,tr.sum th,tr.sum td{border-color:#ece8de}\
.now{border-color:#f2a97e}.now .when{color:#f5b48d}\
.repair{border-color:#cdb2e6}.repair .when{color:#d5bdec}\
.watch{border-color:#9fc9d6}.watch .when{color:#a9d0dc}\
blockquote{background:#242a2c}\
.shares .track td{background:#3a4245}.shares .track .full{background:#9fc9d6}\
a{color:#a9d8e6}}\
@media (max-width:30rem){main{padding:1rem .75rem 2rem}.lead{font-size:1.2rem}}";

/// The document as a page.
pub(super) fn written(document: &Document, subject: &str) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" dir="ltr" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (subject) }
                style { (PreEscaped(STYLE)) }
            }
            body { main { @for block in &document.blocks { (block_written(block)) } } }
        }
    };
    page.into_string()
}

/// A text, with what is isolated in an element that does so. Source: HTML, section 4.5.24, the `bdi` element.
pub fn shown(text: &str) -> Markup {
    let pieces = text.split(ISOLATE).map(|piece| piece.split_once(END_OF_ISOLATE).unwrap_or(("", piece)));
    html! {
        @for (isolated, rest) in pieces {
            @if !isolated.is_empty() { bdi { (isolated) } }
            (rest)
        }
    }
}

fn block_written(block: &Block) -> Markup {
    match block {
        Block::Title(text) => html! { h1 { (shown(text)) } },
        Block::Lead(text) => html! { p.lead { (shown(text)) } },
        Block::Heading { text, count } => html! {
            h2 { (shown(text)) @if !count.is_empty() { span { " - " (count) } } }
        },
        Block::Text(text) => html! { p { (shown(text)) } },
        Block::Item(item) => item_written(item),
        Block::List(lines) => html! { ul { @for line in lines { li { (shown(line)) } } } },
        Block::Sum(parts) => html! {
            table {
                @for (index, (name, number)) in parts.iter().enumerate() {
                    tr.sum[index + 1 == parts.len()] { th scope="row" { (name) } td { (number) } }
                }
            }
        },
        Block::Shares(shares) => html! {
            table.shares {
                tr { td {} @for column in &shares.columns { th scope="col" { (column) } } }
                @for (name, bars) in &shares.rows {
                    tr { th scope="row" { (name) } @for bar in bars { td { (bar_written(bar)) } } }
                }
            }
        },
    }
}

fn item_written(item: &Item) -> Markup {
    let tone = match item.tone {
        Tone::Now => "item now",
        Tone::Repair => "item repair",
        Tone::Watch => "item watch",
    };
    html! {
        div class=(tone) {
            @if let Some(when) = &item.when { p.when { (shown(when)) } }
            p.head { (shown(&item.head)) }
            @for line in &item.lines { p { (shown(line)) } }
            @if let Some((before, quote)) = &item.quote { p { (shown(before)) } blockquote { (shown(quote)) } }
            @for (words, address) in &item.links { p { a href=(address) { (shown(words)) } } }
        }
    }
}

/// A table of two cells: mail programs that leave out styles still draw it by its attributes.
fn bar_written(bar: &Bar) -> Markup {
    let share = bar.per_cent.unwrap_or(0);
    html! {
        // The number is said below; a bar of no length would be drawn with some.
        table.track role="presentation" aria-hidden="true" width="100%" cellspacing="0" {
            tr {
                @if share > 0 { td.full width=(format!("{share}%")) height="10" bgcolor="#2f5662" {} }
                @if share < 100 { td width=(format!("{}%", 100 - share)) height="10" bgcolor="#d9d4c5" {} }
            }
        }
        p { (bar.said) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: WCAG 2.2, 'relative luminance' and 'contrast ratio'.
    fn contrast(one: &str, other: &str) -> f64 {
        let luminance = |colour: &str| {
            let channel = |at: usize| {
                let value = u8::from_str_radix(&colour[at..at + 2], 16).unwrap();
                let value = f64::from(value) / 255.0;
                if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
        };
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    #[test]
    fn every_text_stands_out_from_its_ground_in_light_and_in_dark() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 0.001);
        for (ground, texts) in [
            ("#f6f4ee", &["#20282b", "#485356", "#8a2c0d", "#5b2a78", "#2a4d58", "#1c4a58"][..]),
            ("#ebe7dc", &["#20282b"]),
            ("#15191a", &["#ece8de", "#b4bdbf", "#f5b48d", "#d5bdec", "#a9d0dc", "#a9d8e6"]),
            ("#242a2c", &["#ece8de"]),
        ] {
            for text in texts {
                assert!(
                    STYLE.contains(ground) && STYLE.contains(&format!("color:{text}")),
                    "{ground} {text}"
                );
                let contrast = contrast(ground, text);
                assert!(contrast >= 7.0, "{text} on {ground}: {contrast:.2}");
            }
        }
    }
}
