//! Pictures of figures over time, as SVG that takes its colours, its dashes and its letters from the style sheet.
//!
//! The plotting library writes colours as attributes, which a style sheet overrides: each colour here is a name, of which
//! page.css says what it looks like, in the light and in the dark. Lines are told apart by their dashes, by the shapes of their
//! points and by what stands at their ends. Must not know what is drawn, or any text from outside: only numbers, dates and
//! words of ours are letters of a picture. Start reading at [`curve`] and [`bars`].

use std::ops::Range;

use maud::{Markup, PreEscaped, html};
use plotters::chart::{ChartBuilder, ChartContext};
use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::{
    Cartesian2d, Circle, Color as _, DrawingArea, EmptyElement, IntoDrawingArea as _, IntoFont as _,
    LineSeries, PathElement, RGBColor, Rectangle, SVGBackend, Text, TextStyle,
};
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// Width and height in the picture's own units, three of which are a pixel on a small telephone: places are whole numbers.
const SIZE: (u32, u32) = (1080, 600);

/// What is kept free around a curve: above, below for dates, to the left for numbers; to the right what lines are called needs.
const FREE: (u32, u32, u32) = (40, 70, 120);

/// So wide a letter is at most, on the average; and so far from the curve the first one stands.
const LETTER: (u32, u32) = (21, 70);

/// The height of letters, as page.css has it.
const LETTERS: i32 = 34;

/// More points than these have no shapes: they would touch.
const SHAPED: usize = 30;

/// Names of what page.css says how to draw.
mod called {
    use plotters::prelude::RGBColor;

    /// The first line, and bars.
    pub const FIRST: RGBColor = RGBColor(0, 0, 1);
    /// The second line, which is dashed.
    pub const SECOND: RGBColor = RGBColor(0, 0, 2);
    /// Lines by which heights are read.
    pub const GRID: RGBColor = RGBColor(0, 0, 3);
    /// Letters.
    pub const LETTERS: RGBColor = RGBColor(0, 0, 4);
    /// The ground on which it stands.
    pub const GROUND: RGBColor = RGBColor(0, 0, 5);
    /// The inside of a hollow shape.
    pub const HOLLOW: RGBColor = RGBColor(0, 0, 6);
    /// What is not known.
    pub const GAP: RGBColor = RGBColor(0, 0, 7);
}

/// A curve, or two.
pub struct Curve<'a> {
    /// What tells it from all others on the page.
    pub key: &'a str,
    /// What it shows.
    pub title: String,
    /// The same in a sentence or two, for whoever does not see it.
    pub told: String,
    /// One line or two.
    pub lines: Vec<Line>,
    /// Places of which nothing is known.
    pub gaps: Vec<bool>,
    /// From where to where heights go.
    pub heights: Range<f64>,
    /// Heights that are named.
    pub named: Vec<(f64, String)>,
    /// Places that are named.
    pub places: Vec<(usize, String)>,
}

/// A line of a curve.
pub struct Line {
    /// What stands at its end.
    pub name: String,
    /// Its heights, from left to right.
    pub values: Vec<Option<f64>>,
    /// Places with a hollow shape.
    pub hollow: Vec<usize>,
}

type Picture<'s> = DrawingArea<SVGBackend<'s>, Shift>;
type Chart<'s> = ChartContext<'s, SVGBackend<'s>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// Draws it; `None` where there is too little of it: a curve goes from one point to another at least.
pub fn curve(curve: &Curve<'_>) -> Option<Markup> {
    if curve.lines.iter().all(|line| line.values.iter().flatten().count() < 2) {
        return None;
    }
    let mut drawn = String::new();
    draw_curve(&mut drawn, curve)?;
    Some(framed("plot", SIZE, (curve.key, &curve.title, &curve.told), &drawn))
}

/// Bars side by side, of which the highest could be `most`; where nothing is known there is none, and a broken line.
pub fn bars(key: &str, title: &str, told: &str, values: &[Option<u64>], most: u64) -> Option<Markup> {
    let mut drawn = String::new();
    draw_bars(&mut drawn, values, most)?;
    Some(framed("bars", BARS, (key, title, told), &drawn))
}

/// The picture with its name and what it tells. What the library writes around it is taken off: the size comes from the page.
fn framed(
    class: &str,
    (width, height): (u32, u32),
    (key, title, told): (&str, &str, &str),
    drawn: &str,
) -> Markup {
    let inner =
        drawn.split_once('>').and_then(|(_, rest)| rest.rsplit_once("</svg>")).map_or("", |(inner, _)| inner);
    html! {
        svg.(class) viewBox=(format!("0 0 {width} {height}")) role="img" aria-labelledby=(format!("{key}-title {key}-told"))
            focusable="false" {
            title id=(format!("{key}-title")) { (title) }
            desc id=(format!("{key}-told")) { (told) }
            (PreEscaped(inner))
        }
    }
}

fn letters(anchor: Pos) -> TextStyle<'static> {
    ("sans-serif", LETTERS).into_font().color(&called::LETTERS).pos(anchor)
}

fn draw_curve(into: &mut String, curve: &Curve<'_>) -> Option<()> {
    let picture: Picture<'_> = SVGBackend::with_string(into, SIZE).into_drawing_area();
    let (above, below, left) = FREE;
    let longest = curve.lines.iter().map(|line| line.name.chars().count()).max()?;
    let right = LETTER.1 + LETTER.0 * u32::try_from(longest.min(16)).unwrap_or(16);
    let places = curve.lines.iter().map(|line| line.values.len()).max()?;
    let last = places.saturating_sub(1).max(1) as f64;
    let mut chart: Chart<'_> = ChartBuilder::on(&picture)
        .margin_top(above)
        .margin_bottom(below)
        .margin_left(left)
        .margin_right(right)
        .build_cartesian_2d(0.0..last, curve.heights.clone())
        .ok()?;
    let at = |chart: &Chart<'_>, place: f64, height: f64| chart.backend_coord(&(place, height));
    let (bottom, top) = (at(&chart, 0.0, curve.heights.start).1, at(&chart, 0.0, curve.heights.end).1);
    let (begin, end) = (at(&chart, 0.0, curve.heights.start).0, at(&chart, last, curve.heights.start).0);

    let half = (f64::from(end - begin) / last / 2.0).ceil() as i32;
    for (place, _) in curve.gaps.iter().enumerate().filter(|(_, is_gap)| **is_gap) {
        let x = at(&chart, place as f64, curve.heights.start).0;
        let band = [((x - half).max(begin), top), ((x + half).min(end), bottom)];
        picture.draw(&Rectangle::new(band, called::GAP.filled())).ok()?;
    }
    for (height, name) in &curve.named {
        let y = at(&chart, 0.0, *height).1;
        picture.draw(&PathElement::new(vec![(begin, y), (end, y)], called::GRID.stroke_width(2))).ok()?;
        let style = letters(Pos::new(HPos::Right, VPos::Center));
        picture.draw(&Text::new(name.clone(), (begin - 14, y), style)).ok()?;
    }
    picture
        .draw(&PathElement::new(vec![(begin, bottom), (end, bottom)], called::GROUND.stroke_width(6)))
        .ok()?;
    for (place, name) in &curve.places {
        let x = at(&chart, *place as f64, curve.heights.start).0;
        picture
            .draw(&PathElement::new(vec![(x, bottom), (x, bottom + 12)], called::GROUND.stroke_width(3)))
            .ok()?;
        let style = letters(Pos::new(HPos::Center, VPos::Top));
        picture.draw(&Text::new(name.clone(), (x, bottom + 20), style)).ok()?;
    }
    for (number, line) in curve.lines.iter().enumerate() {
        draw_line(&mut chart, &picture, number, line)?;
    }
    // What lines are called stands at their ends, and never one on the other.
    let ends = curve.lines.iter().enumerate().filter_map(|(number, line)| {
        let (place, height) =
            line.values.iter().enumerate().rev().find_map(|(place, value)| Some((place, (*value)?)))?;
        Some((at(&chart, place as f64, height).1, number, line))
    });
    let mut ends: Vec<(i32, usize, &Line)> = ends.collect();
    ends.sort_by_key(|(y, number, _)| (*y, *number));
    let room = LETTERS + 10;
    let mut free_from = top;
    let mut bottommost = bottom - room * i32::try_from(ends.len()).unwrap_or(0) + room / 2;
    for (y, number, line) in ends {
        let y = y.max(free_from).min(bottommost);
        (free_from, bottommost) = (y + room, bottommost + room);
        draw_shape(&picture, number, false, (end + 34, y))?;
        let style = letters(Pos::new(HPos::Left, VPos::Center));
        picture.draw(&Text::new(line.name.clone(), (end + 56, y), style)).ok()?;
    }
    picture.present().ok()
}

fn colour(number: usize) -> RGBColor {
    if number == 0 { called::FIRST } else { called::SECOND }
}

/// A line, which ends where nothing is known and begins again behind that.
fn draw_line(chart: &mut Chart<'_>, picture: &Picture<'_>, number: usize, line: &Line) -> Option<()> {
    let points: Vec<(usize, f64)> =
        line.values.iter().enumerate().filter_map(|(place, value)| Some((place, (*value)?))).collect();
    for piece in points.chunk_by(|(before, _), (place, _)| before + 1 == *place) {
        let piece = piece.iter().map(|(place, height)| (*place as f64, *height));
        chart.draw_series(LineSeries::new(piece, colour(number).stroke_width(6))).ok()?;
    }
    let is_shaped = points.len() <= SHAPED;
    for (at, (place, height)) in points.iter().enumerate() {
        let is_alone = (at == 0 || points[at - 1].0 + 1 < *place)
            && points.get(at + 1).is_none_or(|(next, _)| place + 1 < *next);
        let is_hollow = line.hollow.contains(place);
        if is_shaped || is_alone || is_hollow || at + 1 == points.len() {
            let spot = chart.backend_coord(&(*place as f64, *height));
            draw_shape(picture, number, is_hollow, spot)?;
        }
    }
    Some(())
}

/// The shape of a point: of the first line round, of the second square and hollow.
fn draw_shape(picture: &Picture<'_>, number: usize, is_hollow: bool, spot: (i32, i32)) -> Option<()> {
    if number == 0 {
        let inside = if is_hollow { called::HOLLOW } else { called::FIRST };
        let shape = EmptyElement::at(spot)
            + Circle::new((0, 0), 12, inside.filled())
            + Circle::new((0, 0), 12, called::FIRST.stroke_width(4));
        picture.draw(&shape).ok()
    } else {
        let shape = EmptyElement::at(spot)
            + Rectangle::new([(-11, -11), (11, 11)], called::HOLLOW.filled())
            + Rectangle::new([(-11, -11), (11, 11)], called::SECOND.stroke_width(5));
        picture.draw(&shape).ok()
    }
}

/// Width and height of a row of bars.
const BARS: (u32, u32) = (780, 90);

fn draw_bars(into: &mut String, values: &[Option<u64>], most: u64) -> Option<()> {
    let picture: Picture<'_> = SVGBackend::with_string(into, BARS).into_drawing_area();
    let (width, bottom) = (BARS.0 as f64, BARS.1 as i32 - 8);
    let number = values.len().max(1) as f64;
    let gap = if values.len() > 20 { 3 } else { 10 };
    for (place, value) in values.iter().enumerate() {
        let x = |place: usize| (width * place as f64 / number).round() as i32;
        let (from, to) = (x(place), x(place + 1) - gap);
        let ground = if value.is_some() { called::GROUND } else { called::GAP };
        picture.draw(&PathElement::new(vec![(from, bottom), (to, bottom)], ground.stroke_width(4))).ok()?;
        if let Some(value) = value.filter(|value| *value > 0) {
            // However few, they are seen.
            let high = (f64::from(bottom - 4) * value as f64 / most.max(1) as f64).round().max(4.0) as i32;
            picture
                .draw(&Rectangle::new([(from, bottom - high), (to, bottom)], called::FIRST.filled()))
                .ok()?;
        }
    }
    picture.present().ok()
}

/// Heights that are worth a name, from nothing to at least `most`: four steps at most, of one, two or five times a power of ten.
pub fn steps(most: f64) -> Vec<f64> {
    let most = most.max(1.0);
    let power = 10_f64.powf(most.log10().floor() - 1.0);
    let step = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0].iter().map(|times| times * power);
    let step = step.into_iter().find(|step| *step >= 1.0 && most / step <= 4.0).unwrap_or(most);
    (0..=4).map(|times| f64::from(times) * step).take_while(|height| *height < most + step).collect()
}

/// Places that are named: the first, the last, and some between, all as far apart as they can be.
pub fn places(names: &[String]) -> Vec<(usize, String)> {
    let number = names.len();
    let named = number.min(3);
    let place = |at: usize| (number - 1) * at / (named - 1).max(1);
    (0..named).map(place).map(|place| (place, names[place].clone())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(name: &str, values: &[Option<f64>]) -> Line {
        Line { name: name.to_owned(), values: values.to_vec(), hollow: Vec::new() }
    }

    fn drawn(lines: Vec<Line>) -> Option<String> {
        let curve = Curve {
            key: "k",
            title: "T".to_owned(),
            told: "D <&".to_owned(),
            lines,
            gaps: Vec::new(),
            heights: 0.0..10.0,
            named: vec![(10.0, "10".to_owned())],
            places: vec![(0, "1 Nov".to_owned())],
        };
        super::curve(&curve).map(|markup| markup.0)
    }

    #[test]
    fn a_line_ends_where_nothing_is_known_and_one_point_is_no_curve() {
        let whole = drawn(vec![line("a", &[Some(1.0), Some(2.0), Some(3.0)])]).unwrap();
        assert_eq!(whole.matches("stroke=\"#000001\" stroke-width=\"6\"").count(), 1, "{whole}");
        let broken = drawn(vec![line("a", &[Some(1.0), Some(2.0), None, Some(3.0), Some(4.0)])]).unwrap();
        assert_eq!(broken.matches("stroke=\"#000001\" stroke-width=\"6\"").count(), 2, "{broken}");
        assert!(drawn(vec![line("a", &[Some(1.0), None, None])]).is_none());
        assert!(drawn(vec![]).is_none());
    }

    #[test]
    fn it_has_a_name_and_nothing_of_its_own_style() {
        let svg =
            drawn(vec![line("a", &[Some(1.0), Some(2.0)]), line("b", &[Some(1.0), Some(2.0)])]).unwrap();
        assert!(svg.starts_with(
            "<svg class=\"plot\" viewBox=\"0 0 1080 600\" role=\"img\" aria-labelledby=\"k-title k-told\""
        ));
        assert!(svg.contains("<desc id=\"k-told\">D &lt;&amp;</desc>"));
        assert_eq!(svg.matches("<svg").count(), 1);
        for bad in [" style=", "http", "<style"] {
            assert!(!svg.contains(bad), "{bad}: {svg}");
        }
        // Both ends are at one height, and their names are not.
        let heights: Vec<&str> = svg
            .split("<text ")
            .filter(|text| {
                text.ends_with("a\n</text>\n") || text.contains(">\na\n") || text.contains(">\nb\n")
            })
            .filter_map(|text| text.split(" y=\"").nth(1)?.split('"').next())
            .collect();
        assert_eq!(heights.len(), 2, "{svg}");
        assert_ne!(heights[0], heights[1]);
    }

    #[test]
    fn steps_are_few_round_and_reach_the_top() {
        for (most, want) in [
            (0.0, vec![0.0, 1.0]),
            (3.0, vec![0.0, 1.0, 2.0, 3.0]),
            (7.0, vec![0.0, 2.0, 4.0, 6.0, 8.0]),
            (31.0, vec![0.0, 10.0, 20.0, 30.0, 40.0]),
            (1_900.0, vec![0.0, 500.0, 1_000.0, 1_500.0, 2_000.0]),
        ] {
            assert_eq!(steps(most), want, "{most}");
        }
        for most in 1..5_000 {
            let steps = steps(f64::from(most));
            assert!(steps.len() <= 5 && *steps.last().unwrap() >= f64::from(most), "{most}: {steps:?}");
        }
    }

    #[test]
    fn few_places_are_named_the_first_and_the_last_always() {
        let names: Vec<String> = (0..10).map(|number| number.to_string()).collect();
        let of = |number: usize| places(&names[..number]).iter().map(|(place, _)| *place).collect::<Vec<_>>();
        assert_eq!(
            (of(0), of(1), of(2), of(3), of(10)),
            (vec![], vec![0], vec![0, 1], vec![0, 1, 2], vec![0, 4, 9])
        );
    }
}
