//! What stands on a page, as a content stream.
//!
//! Comes in: a [`Page`]. Goes out: the stream, the characters used and the pieces of marked content. Next:
//! [`super::structure`] and [`super::finish`].
//!
//! Everything stands in marked content: what has a tag as a numbered piece of its element, all else as an artifact.
//!
//! Source: ISO 32000-1:2008, 14.6 (marked content), 14.8.2.2 (artifacts).

mod text;

use super::flow::Line;
use super::operators::{Operators, PathEnd};
use super::page::Page;
use super::slab::Drawn;
use super::structure::Piece;
use super::tags::Tag;
use crate::document::{Anchor, Ink, Shape};
use crate::paint::colours::colour;
use crate::paint::fonts::{Face, Fonts};
pub use text::Used;

/// Distance of the hatch lines of a fail zone in pt.
const HATCH: f64 = 3.4;
/// Name of the hatching in the resources of the pages.
pub const HATCHING: &str = "Hatch";
/// Width of the hatch lines in pt.
const HATCH_WIDTH: f64 = 0.25;

/// The content of one page, made one operator after the other.
#[derive(Debug)]
pub struct Content<'u> {
    operators: Operators,
    fonts: &'u Fonts,
    used: &'u mut Used,
    pieces: &'u mut Vec<Piece>,
    /// Which page it is, from 0.
    page: u32,
    /// Pieces on this page so far.
    count: u32,
    /// The marked content that is open.
    open: Option<Mark>,
    height: f64,
    accent: [u8; 3],
    fill: Option<Ink>,
    stroke: Option<Ink>,
    width: f64,
    dashed: bool,
    /// Slice and size of the text last shown: both outlive a text object.
    font: Option<(u8, f64)>,
}

/// The hatching of an area from its lower left corner to this width and height in pt.
pub fn hatching([width, height]: [f64; 2], accent: [u8; 3]) -> Vec<u8> {
    let mut operators = Operators::new();
    operators.stroke_colour(colour(Ink::Fail, accent));
    operators.line_width(HATCH_WIDTH);
    operators.dash(&[]);
    let lines = ((width + height) / HATCH).ceil() as u32;
    let ends = (1..lines).map(|line| f64::from(line) * HATCH - height).map(|x| [[x, 0.0], [x + height, height]]);
    operators.lines(ends);
    operators.into_bytes()
}

/// What marked content is.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Mark {
    /// A piece of an element.
    Piece(Tag),
    /// Decoration, or what repeats.
    Artifact,
    /// What stands above every page.
    Header,
    /// What stands below every page.
    Footer,
}

/// How a drawing lies on the page.
#[derive(Clone, Copy)]
struct Placed {
    x: f64,
    y: f64,
    scale: f64,
}

impl<'u> Content<'u> {
    /// An empty page (from 0) of a height in pt; the characters it uses are entered in `used`, its pieces in `pieces`.
    pub fn new(
        page: u32,
        height: f64,
        accent: [u8; 3],
        fonts: &'u Fonts,
        used: &'u mut Used,
        pieces: &'u mut Vec<Piece>,
    ) -> Content<'u> {
        Content {
            operators: Operators::new(),
            fonts,
            used,
            pieces,
            page,
            count: 0,
            open: None,
            height,
            accent,
            fill: None,
            stroke: None,
            width: 1.0,
            dashed: false,
            font: None,
        }
    }

    /// The content stream of a whole page, in reading order.
    pub fn of(mut self, page: &Page) -> Vec<u8> {
        page.header.iter().for_each(|drawn| self.drawn(drawn, Mark::Header));
        page.body.iter().for_each(|drawn| self.drawn(drawn, Mark::Artifact));
        page.footer.iter().for_each(|drawn| self.drawn(drawn, Mark::Footer));
        self.close();
        self.operators.into_bytes()
    }

    /// Draws something; what has no tag is marked as `untagged`.
    fn drawn(&mut self, drawn: &Drawn, untagged: Mark) {
        match drawn {
            Drawn::Text { x, y, size, ink, line, tag } => {
                if line.runs.iter().all(|run| run.text.is_empty()) {
                    return;
                }
                self.mark(tag.map_or(untagged, Mark::Piece), [0.0; 3]);
                self.text([*x, *y], *size, *ink, line);
            }
            Drawn::Shapes { x, y, scale, shapes, tag } => {
                self.mark(tag.map_or(untagged, Mark::Piece), [*x, *y, *scale]);
                let placed = Placed { x: *x, y: *y, scale: *scale };
                shapes.iter().for_each(|shape| self.shape(shape, placed));
            }
            Drawn::Logo { x, y, width, height } => {
                self.mark(untagged, [0.0; 3]);
                let matrix = [*width, 0.0, 0.0, *height, *x, self.height - y - height];
                self.operators.save();
                self.operators.matrix(matrix);
                self.operators.draw(super::finish::LOGO);
                self.operators.restore();
            }
        }
    }

    /// Goes on in the marked content that is open, or opens another.
    fn mark(&mut self, mark: Mark, placed: [f64; 3]) {
        if self.open == Some(mark) {
            return;
        }
        self.close();
        match mark {
            Mark::Piece(tag) => {
                self.operators.begin_piece(self.count);
                self.pieces.push(Piece { tag, page: self.page, mcid: self.count, placed });
                self.count += 1;
            }
            Mark::Artifact => self.operators.begin_artifact(""),
            Mark::Header => self.operators.begin_artifact("<</Type/Pagination/Subtype/Header>>"),
            Mark::Footer => self.operators.begin_artifact("<</Type/Pagination/Subtype/Footer>>"),
        }
        self.open = Some(mark);
    }

    fn close(&mut self) {
        if self.open.take().is_some() {
            self.operators.end_marked();
        }
    }

    fn shape(&mut self, shape: &Shape, placed: Placed) {
        match shape {
            Shape::Line { points, ink, width, dash } => {
                self.stroke(*ink, width * placed.scale);
                self.dash(dash, placed.scale);
                let points = self.all_at(points, placed);
                self.operators.path(points, PathEnd::Stroke);
            }
            Shape::Area { points, fill, stroke, width } => {
                let points = self.all_at(points, placed);
                let hatched = *fill == Some(Ink::FailZone);
                if hatched {
                    self.prepare(*fill, None, 0.0);
                    self.operators.path(points.iter().copied(), PathEnd::Fill);
                    self.hatch(&points);
                }
                let fill = fill.filter(|_| !hatched);
                if let Some(end) = self.prepare(fill, *stroke, width * placed.scale) {
                    self.operators.path(points, end);
                }
            }
            Shape::Circle { centre, radius, fill, stroke, width } => {
                let centre = self.at(*centre, placed);
                if let Some(end) = self.prepare(*fill, *stroke, width * placed.scale) {
                    self.operators.circle(centre, radius * placed.scale, end);
                }
            }
            Shape::Label { at, anchor, text, size, bold, ink } => {
                let face = if *bold { Face::SemiBold } else { Face::Regular };
                // The next label is another word.
                let line = Line { goes_on: true, ..Line::of(self.fonts, face, text.as_str()) };
                let size = size * placed.scale;
                let back = match anchor {
                    Anchor::Start => 0.0,
                    Anchor::Middle => line.width(size) / 2.0,
                    Anchor::End => line.width(size),
                };
                let [x, y] = [placed.x + at[0] * placed.scale, placed.y + at[1] * placed.scale];
                self.text([x - back, y], size, *ink, &line);
            }
        }
    }

    /// Sets colours and width for a closed path and tells how it ends; none when there is nothing to paint.
    fn prepare(&mut self, fill: Option<Ink>, stroke: Option<Ink>, width: f64) -> Option<PathEnd> {
        if let Some(ink) = fill {
            self.fill(ink);
        }
        if let Some(ink) = stroke {
            self.stroke(ink, width);
            self.dash(&[], 1.0);
        }
        match (fill, stroke) {
            (None, None) => None,
            (Some(_), None) => Some(PathEnd::Fill),
            (None, Some(_)) => Some(PathEnd::CloseStroke),
            (Some(_), Some(_)) => Some(PathEnd::FillStroke),
        }
    }

    /// Thin slanting lines over an area, so that a fail zone shows without colour. They are drawn once in a document, and
    /// looked at through the area.
    fn hatch(&mut self, points: &[[f64; 2]]) {
        let least = |axis: usize| points.iter().map(|point| point[axis]).fold(f64::INFINITY, f64::min);
        let most = |axis: usize| points.iter().map(|point| point[axis]).fold(f64::NEG_INFINITY, f64::max);
        let corner = [least(0), least(1)];
        let size = [most(0) - corner[0], most(1) - corner[1]];
        let hatched = self.used.hatched.get_or_insert(size);
        *hatched = [hatched[0].max(size[0]), hatched[1].max(size[1])];
        self.operators.save();
        self.operators.path(points.iter().copied(), PathEnd::Clip);
        self.operators.matrix([1.0, 0.0, 0.0, 1.0, corner[0], corner[1]]);
        self.operators.draw(HATCHING);
        self.operators.restore();
    }

    fn all_at(&self, points: &[[f64; 2]], placed: Placed) -> Vec<[f64; 2]> {
        points.iter().map(|&point| self.at(point, placed)).collect()
    }

    /// Where a point of a drawing lies, from the lower left of the paper.
    fn at(&self, [x, y]: [f64; 2], placed: Placed) -> [f64; 2] {
        self.up([placed.x + x * placed.scale, placed.y + y * placed.scale])
    }

    /// A point from the top left, from the lower left.
    fn up(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [x, self.height - y]
    }

    fn fill(&mut self, ink: Ink) {
        if self.fill.replace(ink) != Some(ink) {
            self.operators.fill_colour(colour(ink, self.accent));
        }
    }

    fn stroke(&mut self, ink: Ink, width: f64) {
        if self.stroke.replace(ink) != Some(ink) {
            self.operators.stroke_colour(colour(ink, self.accent));
        }
        if self.width != width {
            self.width = width;
            self.operators.line_width(width);
        }
    }

    fn dash(&mut self, dash: &[f64], scale: f64) {
        if !dash.is_empty() || self.dashed {
            self.dashed = !dash.is_empty();
            let scaled: Vec<f64> = dash.iter().map(|part| part * scale).collect();
            self.operators.dash(&scaled);
        }
    }
}
