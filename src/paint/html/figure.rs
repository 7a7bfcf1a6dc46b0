//! Figures and verdict marks as SVG within the page, coloured by the page's style.

use super::markup::text;
use super::{markup::Markup, palette};
use crate::document::{Anchor, Figure, Ink, Mark, Shape};
use crate::paint::marks;
use std::fmt::Write;
use std::sync::LazyLock;

/// Every mark with the name of its drawing.
const MARKS: [Mark; 6] =
    [Mark::Pass, Mark::Warn, Mark::ConditionalPass, Mark::ConditionalFail, Mark::Fail, Mark::NotJudged];

/// Side of the square that a mark is drawn in; its shapes come in a square of side 1.
const MARK_SIDE: f64 = 24.0;

static DRAWINGS: LazyLock<String> = LazyLock::new(|| {
    let mut out = String::new();
    for mark in MARKS {
        let name = mark_name(mark);
        // Room for the ends of thick strokes, which may leave the square by a twentieth.
        let _ = write!(out, "<symbol id=\"{name}\" viewBox=\"-1 -1 26 26\">");
        for shape in marks::shapes(mark) {
            write_shape(&mut out, &shape, MARK_SIDE);
        }
        out.push_str("</symbol>\n");
    }
    out
});

/// The marks, drawn once and used by name.
pub fn shared_drawings() -> Markup {
    Markup { markup: DRAWINGS.clone() }
}

/// Writes a mark; the word stands beside it.
pub fn write_mark(out: &mut String, mark: Mark) {
    let name = mark_name(mark);
    let _ = write!(out, "<svg class=\"mark\" aria-hidden=\"true\"><use href=\"#{name}\"/></svg>");
}

fn mark_name(mark: Mark) -> &'static str {
    match mark {
        Mark::Pass => "mark-pass",
        Mark::Warn => "mark-warn",
        Mark::ConditionalPass => "mark-conditional-pass",
        Mark::ConditionalFail => "mark-conditional-fail",
        Mark::Fail => "mark-fail",
        Mark::NotJudged => "mark-not-judged",
    }
}

/// Writes a figure; on a narrow screen it scrolls rather than become unreadable.
pub fn write_figure(out: &mut String, figure: &Figure) {
    out.push_str("<figure");
    if figure.width * LEAST_SCALE > NARROW_PX {
        out.push_str(" class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"");
        text(out, &figure.alt);
        out.push('"');
    }
    let (width, height) = (Short(figure.width), Short(figure.height));
    let (least, most) = (Short(figure.width * LEAST_SCALE), Short(figure.width * MOST_SCALE));
    let _ = write!(
        out,
        "><svg viewBox=\"0 0 {width} {height}\" style=\"min-width:{least}px;max-width:{most}px\" role=\"img\" aria-label=\""
    );
    text(out, &figure.alt);
    out.push_str("\">\n");
    for shape in &figure.shapes {
        write_shape(out, shape, 1.0);
    }
    out.push_str("</svg></figure>\n");
}

/// Least size of a point on screen in px, so that its labels can be read.
const LEAST_SCALE: f64 = 1.1;
/// Largest size of a point on screen in px.
const MOST_SCALE: f64 = 1.7;
/// Width in px that the narrowest window served, 320 px, leaves to a figure.
const NARROW_PX: f64 = 288.0;

/// Writes one shape with its coordinates times `scale`.
fn write_shape(out: &mut String, shape: &Shape, scale: f64) {
    match shape {
        Shape::Line { points, ink, width, dash } => {
            write_path(out, points, scale, false);
            write_look(out, None, Some(*ink), width * scale);
            write_dash(out, dash, scale);
            out.push_str("/>\n");
        }
        Shape::Area { points, fill, stroke, width } => {
            write_path(out, points, scale, true);
            write_look(out, *fill, *stroke, width * scale);
            out.push_str("/>\n");
        }
        Shape::Circle { centre: [x, y], radius, fill, stroke, width } => {
            let [x, y, r] = [x, y, radius].map(|part| Short(part * scale));
            let _ = write!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\"");
            write_look(out, *fill, *stroke, width * scale);
            out.push_str("/>\n");
        }
        Shape::Label { at, anchor, text, size, bold, ink } => {
            let look = Look { anchor: *anchor, bold: *bold, ink: *ink };
            write_label(out, text, at.map(|part| part * scale), size * scale, look);
        }
    }
}

/// How a label stands and looks.
struct Look {
    anchor: Anchor,
    bold: bool,
    ink: Ink,
}

fn write_label(out: &mut String, words: &str, [x, y]: [f64; 2], size: f64, look: Look) {
    let [x, y, size] = [x, y, size].map(Short);
    let ink = palette::name(look.ink);
    let anchor = match look.anchor {
        Anchor::Start => "",
        Anchor::Middle => " at-middle",
        Anchor::End => " at-end",
    };
    let bold = if look.bold { " bold" } else { "" };
    let _ = write!(out, "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" class=\"in-{ink}{anchor}{bold}\">");
    text(out, words);
    out.push_str("</text>\n");
}

fn write_path(out: &mut String, points: &[[f64; 2]], scale: f64, closed: bool) {
    out.push_str("<path d=\"");
    for (at, &[x, y]) in points.iter().enumerate() {
        let command = if at == 0 { 'M' } else { 'L' };
        let _ = write!(out, "{command}{} {}", Short(x * scale), Short(y * scale));
    }
    out.push_str(if closed { "Z\"" } else { "\"" });
}

fn write_look(out: &mut String, fill: Option<Ink>, stroke: Option<Ink>, width: f64) {
    let fill = fill.map(|ink| ("in-", palette::name(ink)));
    let line = stroke.map(|ink| ("by-", palette::name(ink)));
    out.push_str(" class=\"");
    for (at, (what, ink)) in fill.into_iter().chain(line).enumerate() {
        let between = if at == 0 { "" } else { " " };
        let _ = write!(out, "{between}{what}{ink}");
    }
    out.push('"');
    if stroke.is_some() {
        let _ = write!(out, " stroke-width=\"{}\"", Short(width));
    }
}

fn write_dash(out: &mut String, dash: &[f64], scale: f64) {
    for (at, part) in dash.iter().enumerate() {
        out.push_str(if at == 0 { " stroke-dasharray=\"" } else { " " });
        let _ = write!(out, "{}", Short(part * scale));
    }
    if !dash.is_empty() {
        out.push('"');
    }
}

/// A coordinate to a hundredth of a point, without needless digits.
struct Short(f64);

impl std::fmt::Display for Short {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        let hundredths = (self.0 * 100.0).round() as i64;
        let sign = if hundredths < 0 { "-" } else { "" };
        let (whole, part) = (hundredths.abs() / 100, hundredths.abs() % 100);
        match (part, part % 10) {
            (0, _) => write!(f, "{sign}{whole}"),
            (_, 0) => write!(f, "{sign}{whole}.{}", part / 10),
            (_, _) => write!(f, "{sign}{whole}.{part:02}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short() {
        let short = |value| Short(value).to_string();
        assert_eq!([0.0, -0.001, 12.0, 1.5, -0.05, 233.999].map(short), ["0", "0", "12", "1.5", "-0.05", "234"]);
    }

    #[test]
    fn a_label_is_escaped() {
        let label = Shape::Label {
            at: [1.0, 2.0],
            anchor: Anchor::End,
            text: "<b> & co".into(),
            size: 7.0,
            bold: true,
            ink: Ink::Muted,
        };
        let mut out = String::new();
        write_shape(&mut out, &label, 1.0);
        assert_eq!(
            out,
            "<text x=\"1\" y=\"2\" font-size=\"7\" class=\"in-muted at-end bold\">&lt;b&gt; &amp; co</text>\n"
        );
    }
}
