//! The operators of a page.
//!
//! Comes in: what stands on a page. Goes out: printpdf operators and the characters used. Next: [`super::finish`].

use super::flow::Line;
use super::page::Page;
use super::slab::Drawn;
use crate::document::{Anchor, Ink, Shape};
use crate::paint::colours::colour;
use crate::paint::fonts::{Face, bundled};
use printpdf::{
    Color, FontId, LineDashPattern, LinePoint, Op, PaintMode, PdfFontHandle, Point, Polygon,
    PolygonRing, Pt, Rgb, TextItem, WindingOrder,
};
use std::borrow::Cow;
use std::collections::BTreeSet;

/// Distance of the hatch lines of a fail zone in pt.
const HATCH: f64 = 3.4;

/// The operators of one page, made one by one.
#[derive(Debug)]
pub struct Content {
    /// Operators.
    pub ops: Vec<Op>,
    /// Slices and characters used.
    pub used: BTreeSet<(u8, char)>,
    height: f64,
    accent: [u8; 3],
    fill: Option<Ink>,
    stroke: Option<Ink>,
    width: f32,
    dashed: bool,
}

/// How a drawing lies on the page.
#[derive(Clone, Copy)]
struct Placed {
    x: f64,
    y: f64,
    scale: f64,
}

impl Content {
    /// An empty page of a height in pt.
    pub fn new(height: f64, accent: [u8; 3]) -> Content {
        Content {
            ops: Vec::new(),
            used: BTreeSet::new(),
            height,
            accent,
            fill: None,
            stroke: None,
            width: 1.0,
            dashed: false,
        }
    }

    /// Paints a whole page in reading order.
    pub fn page(&mut self, page: &Page) {
        for drawn in page.header.iter().chain(&page.body).chain(&page.footer) {
            self.drawn(drawn);
        }
    }

    fn drawn(&mut self, drawn: &Drawn) {
        match drawn {
            Drawn::Text {
                x,
                y,
                size,
                ink,
                line,
            } => self.text(*x, *y, *size, *ink, line),
            Drawn::Shapes {
                x,
                y,
                scale,
                shapes,
            } => {
                let placed = Placed {
                    x: *x,
                    y: *y,
                    scale: *scale,
                };
                shapes.iter().for_each(|shape| self.shape(shape, placed));
            }
            Drawn::Logo {
                x,
                y,
                width,
                height,
            } => self.logo(*x, *y, *width, *height),
        }
    }

    /// A line as one text object, so that it is read back as one line.
    fn text(&mut self, x: f64, y: f64, size: f64, ink: Ink, line: &Line) {
        if line.runs.iter().all(|run| run.text.is_empty()) {
            return;
        }
        self.fill(ink);
        self.ops.push(Op::StartTextSection);
        let mut placed = false;
        for run in &line.runs {
            for (slice, text) in self.by_slice(run.face, &run.text) {
                let font = FontId(bundled().slices[usize::from(slice)].resource.to_string());
                self.ops.push(Op::SetFont {
                    font: PdfFontHandle::External(font),
                    size: Pt(size as f32),
                });
                if !placed {
                    self.ops.push(Op::SetTextCursor {
                        pos: self.point([x, y]),
                    });
                    placed = true;
                }
                self.ops.push(Op::ShowText {
                    items: vec![TextItem::Text(text.to_string())],
                });
            }
        }
        self.ops.push(Op::EndTextSection);
    }

    /// Cuts a text where the slice changes; a space stays with what is before it.
    fn by_slice<'t>(&mut self, face: Face, text: &'t str) -> Vec<(u8, &'t str)> {
        let mut parts: Vec<(u8, &str)> = Vec::new();
        let mut begin = 0;
        let mut current = None;
        for (at, character) in text.char_indices() {
            let Some(glyph) = bundled().glyph(face, character) else {
                continue;
            };
            let blank = matches!(character, ' ' | '\u{a0}');
            let slice = if blank {
                current.unwrap_or(glyph.slice)
            } else {
                glyph.slice
            };
            if let Some(before) = current.filter(|&before| before != slice) {
                parts.push((before, &text[begin..at]));
                begin = at;
            }
            current = Some(slice);
            self.used.insert((slice, character));
        }
        parts.extend(current.map(|slice| (slice, &text[begin..])));
        parts
    }

    fn logo(&mut self, x: f64, y: f64, width: f64, height: f64) {
        let name = printpdf::DictItem::Name(super::finish::LOGO.into());
        let matrix = [width, 0.0, 0.0, height, x, self.height - y - height].map(rounded);
        self.ops.push(Op::SaveGraphicsState);
        self.ops.push(Op::SetTransformationMatrix {
            matrix: printpdf::CurTransMat::Raw(matrix),
        });
        self.ops.push(Op::Unknown {
            key: "Do".to_string(),
            value: vec![name],
        });
        self.ops.push(Op::RestoreGraphicsState);
    }

    fn shape(&mut self, shape: &Shape, placed: Placed) {
        match shape {
            Shape::Line {
                points,
                ink,
                width,
                dash,
            } => {
                self.stroke(*ink, width * placed.scale);
                self.dash(dash, placed.scale);
                let points = points
                    .iter()
                    .map(|&point| LinePoint {
                        p: self.at(point, placed),
                        bezier: false,
                    })
                    .collect();
                self.ops.push(Op::DrawLine {
                    line: printpdf::Line {
                        points,
                        is_closed: false,
                    },
                });
            }
            Shape::Area {
                points,
                fill,
                stroke,
                width,
            } => {
                let ring: Vec<LinePoint> = points
                    .iter()
                    .map(|&point| LinePoint {
                        p: self.at(point, placed),
                        bezier: false,
                    })
                    .collect();
                let hatched = *fill == Some(Ink::FailZone);
                self.ring(
                    ring.clone(),
                    *fill,
                    if hatched { None } else { *stroke },
                    width * placed.scale,
                );
                if hatched {
                    self.hatch(ring.clone());
                    self.ring(ring, None, *stroke, width * placed.scale);
                }
            }
            Shape::Circle {
                centre,
                radius,
                fill,
                stroke,
                width,
            } => {
                let ring = self.circle(*centre, *radius, placed);
                self.ring(ring, *fill, *stroke, width * placed.scale);
            }
            Shape::Label {
                at,
                anchor,
                text,
                size,
                bold,
                ink,
            } => {
                let face = if *bold { Face::SemiBold } else { Face::Regular };
                let line = Line::of(face, Cow::Borrowed(text.as_str()));
                let size = size * placed.scale;
                let back = match anchor {
                    Anchor::Start => 0.0,
                    Anchor::Middle => line.width(size) / 2.0,
                    Anchor::End => line.width(size),
                };
                self.text(
                    placed.x + at[0] * placed.scale - back,
                    placed.y + at[1] * placed.scale,
                    size,
                    *ink,
                    &line,
                );
            }
        }
    }

    fn ring(&mut self, points: Vec<LinePoint>, fill: Option<Ink>, stroke: Option<Ink>, width: f64) {
        let mode = match (fill, stroke) {
            (None, None) => return,
            (Some(_), None) => PaintMode::Fill,
            (None, Some(_)) => PaintMode::Stroke,
            (Some(_), Some(_)) => PaintMode::FillStroke,
        };
        if let Some(ink) = fill {
            self.fill(ink);
        }
        if let Some(ink) = stroke {
            self.stroke(ink, width);
            self.dash(&[], 1.0);
        }
        self.polygon(points, mode);
    }

    fn polygon(&mut self, points: Vec<LinePoint>, mode: PaintMode) {
        let rings = vec![PolygonRing { points }];
        self.ops.push(Op::DrawPolygon {
            polygon: Polygon {
                rings,
                mode,
                winding_order: WindingOrder::NonZero,
            },
        });
    }

    /// Thin slanting lines over an area, so that a fail zone shows without colour.
    fn hatch(&mut self, ring: Vec<LinePoint>) {
        let (xs, ys): (Vec<f64>, Vec<f64>) = ring
            .iter()
            .map(|one| (f64::from(one.p.x.0), f64::from(one.p.y.0)))
            .unzip();
        let least = |of: &[f64]| of.iter().copied().fold(f64::INFINITY, f64::min);
        let most = |of: &[f64]| of.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (left, right, low, high) = (least(&xs), most(&xs), least(&ys), most(&ys));
        self.stroke(Ink::Fail, 0.25);
        self.dash(&[], 1.0);
        self.ops.push(Op::SaveGraphicsState);
        self.polygon(ring, PaintMode::Clip);
        let count = ((right - left + high - low) / HATCH).ceil() as u32;
        for step in 1..count.min(2000) {
            let x = left - (high - low) + f64::from(step) * HATCH;
            let ends = [[x, low], [x + high - low, high]];
            let points = ends.map(|[x, y]| LinePoint {
                p: Point {
                    x: Pt(rounded(x)),
                    y: Pt(rounded(y)),
                },
                bezier: false,
            });
            self.ops.push(Op::DrawLine {
                line: printpdf::Line {
                    points: points.to_vec(),
                    is_closed: false,
                },
            });
        }
        self.ops.push(Op::RestoreGraphicsState);
    }

    /// A circle as four cubic Béziers.
    fn circle(&self, centre: [f64; 2], radius: f64, placed: Placed) -> Vec<LinePoint> {
        // Distance of the handles for a quarter circle: 4/3·(√2 − 1).
        let handle = radius * 4.0 / 3.0 * (2.0_f64.sqrt() - 1.0);
        let mut points = vec![(radius, 0.0, false)];
        let (mut x, mut y) = (radius, 0.0);
        for _ in 0..4 {
            let (next_x, next_y) = (-y, x);
            let lean = handle / radius;
            points.push((x - y * lean, y + x * lean, true));
            points.push((next_x + next_y * lean, next_y - next_x * lean, true));
            points.push((next_x, next_y, false));
            (x, y) = (next_x, next_y);
        }
        let place = |(x, y, bezier)| LinePoint {
            p: self.at([centre[0] + x, centre[1] + y], placed),
            bezier,
        };
        points.into_iter().map(place).collect()
    }

    fn at(&self, [x, y]: [f64; 2], placed: Placed) -> Point {
        self.point([placed.x + x * placed.scale, placed.y + y * placed.scale])
    }

    fn point(&self, [x, y]: [f64; 2]) -> Point {
        Point {
            x: Pt(rounded(x)),
            y: Pt(rounded(self.height - y)),
        }
    }

    fn fill(&mut self, ink: Ink) {
        if self.fill != Some(ink) {
            self.fill = Some(ink);
            self.ops.push(Op::SetFillColor {
                col: self.colour(ink),
            });
        }
    }

    fn stroke(&mut self, ink: Ink, width: f64) {
        if self.stroke != Some(ink) {
            self.stroke = Some(ink);
            self.ops.push(Op::SetOutlineColor {
                col: self.colour(ink),
            });
        }
        if self.width != rounded(width) {
            self.width = rounded(width);
            self.ops
                .push(Op::SetOutlineThickness { pt: Pt(self.width) });
        }
    }

    fn dash(&mut self, dash: &[f64], scale: f64) {
        if !dash.is_empty() || self.dashed {
            self.dashed = !dash.is_empty();
            let pattern: Vec<f32> = dash.iter().map(|part| rounded(part * scale)).collect();
            self.ops.push(Op::SetLineDashPattern {
                dash: LineDashPattern::new(0.0, &pattern),
            });
        }
    }

    fn colour(&self, ink: Ink) -> Color {
        let [r, g, b] = colour(ink, self.accent)
            .map(|part| (f32::from(part) / 255.0 * 1000.0).round() / 1000.0);
        Color::Rgb(Rgb {
            r,
            g,
            b,
            icc_profile: None,
        })
    }
}

/// Hundredths of a point are enough on paper.
fn rounded(value: f64) -> f32 {
    ((value * 100.0).round() / 100.0) as f32
}
