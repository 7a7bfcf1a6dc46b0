//! Figures and verdict marks as SVG within the page, coloured by the page's style.

use super::markup::text;
use super::{markup::Markup, palette};
use crate::document::{Anchor, Figure, Ink, Mark, Shape};
use crate::paint::marks;
use crate::paint::short::Short;
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

/// Writes a figure, told in words to who cannot see it; where a window is too narrow for labels that can be read, it
/// scrolls, which a keyboard reaches.
pub fn write_figure(out: &mut String, figure: &Figure) {
    let (least, most) = (figure.width * least_scale(figure), figure.width * MOST_SCALE);
    out.push_str("<figure role=\"img\"");
    match (figure.width > BROAD_PT, most > PHONE_PX) {
        (true, _) => out.push_str(" class=\"wide broad\""),
        (false, true) => out.push_str(" class=\"wide\""),
        (false, false) => {}
    }
    if least > NARROW_PX {
        out.push_str(" tabindex=\"0\"");
    }
    out.push_str(" aria-label=\"");
    text(out, &figure.alt);
    numbers(out, &[("\"><svg aria-hidden=\"true\" viewBox=\"0 0 ", figure.width), (" ", figure.height)]);
    numbers(out, &[("\" style=\"min-width:", least), ("px;max-width:", most)]);
    out.push_str("px\">\n");
    for shape in &figure.shapes {
        write_shape(out, shape, 1.0);
    }
    out.push_str("</svg></figure>\n");
}

/// Least size of a label on screen in px.
const LEAST_LABEL_PX: f64 = 11.0;
/// What labels are enlarged by where a figure stands small (in `page.css`).
const ENLARGED: f64 = 1.1;
/// Size in px of what a label's `1em` is (in `page.css`).
const EM: f64 = 10.0;
/// Largest size of a point on screen in px.
const MOST_SCALE: f64 = 1.7;
/// Width in px of a common phone's window: a figure that would be wider there runs into the margins (in `page.css`).
const PHONE_PX: f64 = 390.0;
/// Width in pt beyond which a figure takes a page's whole width: its labels are enlarged in most windows (in `page.css`).
const BROAD_PT: f64 = 400.0;
/// Width in px that the narrowest window served, 320 px, leaves to a figure.
const NARROW_PX: f64 = 312.0;

/// Least size of a point on screen in px, so that the smallest label can be read.
fn least_scale(figure: &Figure) -> f64 {
    let size = |shape: &Shape| match shape {
        Shape::Label { size, .. } => Some(*size),
        Shape::Line { .. } | Shape::Area { .. } | Shape::Circle { .. } => None,
    };
    let smallest = figure.shapes.iter().filter_map(size).fold(f64::INFINITY, f64::min);
    (LEAST_LABEL_PX / (ENLARGED * smallest)).clamp(0.1, MOST_SCALE)
}

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
            numbers(out, &[("<circle cx=\"", x * scale), ("\" cy=\"", y * scale), ("\" r=\"", radius * scale)]);
            out.push('"');
            write_look(out, *fill, *stroke, width * scale);
            out.push_str("/>\n");
        }
        Shape::Label { at, anchor, text, size, bold, ink } => {
            let look = Look { anchor: *anchor, bold: *bold, ink: *ink };
            write_label(out, text, at.map(|part| part * scale), size * scale, look);
        }
    }
}

/// Writes numbers, each after what stands before it.
fn numbers(out: &mut String, numbers: &[(&str, f64)]) {
    for (before, number) in numbers {
        out.push_str(before);
        out.push_str(Short::new(*number).as_str());
    }
}

/// How a label stands and looks.
struct Look {
    anchor: Anchor,
    bold: bool,
    ink: Ink,
}

fn write_label(out: &mut String, words: &str, [x, y]: [f64; 2], size: f64, look: Look) {
    let ink = palette::name(look.ink);
    let anchor = match look.anchor {
        Anchor::Start => "",
        Anchor::Middle => " at-middle",
        Anchor::End => " at-end",
    };
    let bold = if look.bold { " bold" } else { "" };
    numbers(out, &[("<text x=\"", x), ("\" y=\"", y), ("\" font-size=\"", size / EM)]);
    ["em\" class=\"in-", ink, anchor, bold, "\">"].into_iter().for_each(|part| out.push_str(part));
    text(out, words);
    out.push_str("</text>\n");
}

fn write_path(out: &mut String, points: &[[f64; 2]], scale: f64, closed: bool) {
    out.push_str("<path d=\"");
    for (at, &[x, y]) in points.iter().enumerate() {
        numbers(out, &[(if at == 0 { "M" } else { "L" }, x * scale), (" ", y * scale)]);
    }
    out.push_str(if closed { "Z\"" } else { "\"" });
}

fn write_look(out: &mut String, fill: Option<Ink>, stroke: Option<Ink>, width: f64) {
    let fill = fill.map(|ink| ("in-", palette::name(ink)));
    let line = stroke.map(|ink| ("by-", palette::name(ink)));
    out.push_str(" class=\"");
    for (at, (what, ink)) in fill.into_iter().chain(line).enumerate() {
        let between = if at == 0 { "" } else { " " };
        [between, what, ink].into_iter().for_each(|part| out.push_str(part));
    }
    out.push('"');
    if stroke.is_some() {
        numbers(out, &[(" stroke-width=\"", width)]);
        out.push('"');
    }
}

fn write_dash(out: &mut String, dash: &[f64], scale: f64) {
    for (at, part) in dash.iter().enumerate() {
        numbers(out, &[(if at == 0 { " stroke-dasharray=\"" } else { " " }, part * scale)]);
    }
    if !dash.is_empty() {
        out.push('"');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
            "<text x=\"1\" y=\"2\" font-size=\"0.7em\" class=\"in-muted at-end bold\">&lt;b&gt; &amp; co</text>\n"
        );
    }
}
