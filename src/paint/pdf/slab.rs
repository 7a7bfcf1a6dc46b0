//! Slabs: the smallest pieces of a page, each with its place to break.
//!
//! Comes in: lines and shapes. Goes out: [`Slab`]s from top to bottom. Next: [`super::page`], which spreads them over pages.

use super::flow::Line;
use super::tags::Tag;
use crate::document::{Ink, Shape};
use crate::paint::fonts::CAPITAL_HEIGHT;
use std::borrow::Cow;
use std::rc::Rc;

/// Sizes of type in pt.
pub mod size {
    /// Title of the document.
    pub const TITLE: f64 = 20.0;
    /// Verdicts, the firm's name, the number.
    pub const VERDICT: f64 = 11.5;
    /// Running text of the first part and section headings.
    pub const BODY: f64 = 8.4;
    /// Labels, table heads, footers, and everything in the parts that follow. The least size that is printed.
    pub const LABEL: f64 = 7.2;
}

/// Distance of baselines as a multiple of the size.
pub const LEADING: f64 = 1.25;

/// A piece of a page that is never split.
#[derive(Debug, Clone, Default)]
pub struct Slab<'d> {
    /// Space above in pt, dropped at the top of a page.
    pub above: f64,
    /// Height in pt.
    pub height: f64,
    /// Whether it must stand on the page of the slab before.
    pub glued: bool,
    /// What is repeated above it when it begins a page.
    pub head: Option<Rc<Slab<'d>>>,
    /// What stands on it, in reading order; coordinates in pt from its top left, y downwards.
    pub drawn: Vec<Drawn<'d>>,
}

/// Something that stands on a page.
#[derive(Debug, Clone)]
pub enum Drawn<'d> {
    /// A line of text from `x` on the baseline `y`.
    Text {
        /// Left end.
        x: f64,
        /// Baseline.
        y: f64,
        /// Size in pt.
        size: f64,
        /// Colour.
        ink: Ink,
        /// Text.
        line: Line<'d>,
        /// What it belongs to; none: it only decorates, or repeats what was said.
        tag: Option<Tag>,
    },
    /// Shapes, scaled and moved.
    Shapes {
        /// Left.
        x: f64,
        /// Top.
        y: f64,
        /// Scale.
        scale: f64,
        /// Shapes.
        shapes: Cow<'d, [Shape]>,
        /// The figure it is; none: it only decorates.
        tag: Option<Tag>,
    },
    /// The firm's logo in a box.
    Logo {
        /// Left.
        x: f64,
        /// Top.
        y: f64,
        /// Width.
        width: f64,
        /// Height.
        height: f64,
    },
}

impl<'d> Drawn<'d> {
    /// The same, moved.
    pub fn moved(mut self, right: f64, down: f64) -> Drawn<'d> {
        match &mut self {
            Drawn::Text { x, y, .. } | Drawn::Shapes { x, y, .. } | Drawn::Logo { x, y, .. } => {
                *x += right;
                *y += down;
            }
        }
        self
    }

    /// What it belongs to; none for a logo, which only decorates.
    fn tag_mut(&mut self) -> Option<&mut Option<Tag>> {
        match self {
            Drawn::Text { tag, .. } | Drawn::Shapes { tag, .. } => Some(tag),
            Drawn::Logo { .. } => None,
        }
    }
}

impl<'d> Slab<'d> {
    /// An empty slab.
    pub fn new(height: f64) -> Slab<'d> {
        Slab { height, ..Slab::default() }
    }

    /// Makes every text that belongs to nothing yet a part of `tag`.
    pub fn tag(&mut self, tag: Tag) {
        for one in &mut self.drawn {
            if let Drawn::Text { tag: of, .. } = one {
                of.get_or_insert(tag);
            }
        }
    }

    /// Makes all of it decoration: it repeats what was said.
    pub fn untag(&mut self) {
        self.drawn.iter_mut().filter_map(Drawn::tag_mut).for_each(|tag| *tag = None);
    }

    /// Puts lines at `x` from `top` downwards; gives the y below them.
    pub fn put_lines(&mut self, lines: Vec<Line<'d>>, x: f64, top: f64, size: f64, ink: Ink) -> f64 {
        let leading = size * LEADING;
        let mut y = top;
        for line in lines {
            self.drawn.push(Drawn::Text { x, y: y + baseline(leading, size), size, ink, line, tag: None });
            y += leading;
        }
        y
    }

    /// Puts lines so that they end at `right`; gives the y below them.
    pub fn put_lines_right(&mut self, lines: Vec<Line<'d>>, right: f64, top: f64, size: f64, ink: Ink) -> f64 {
        let mut y = top;
        for line in lines {
            let x = right - line.width(size);
            y = self.put_lines(vec![line], x, y, size, ink);
        }
        y
    }

    /// Puts a horizontal rule.
    pub fn put_rule(&mut self, from: f64, to: f64, y: f64, ink: Ink, width: f64) {
        let rule = Shape::Line { points: vec![[from, y], [to, y]], ink, width, dash: Vec::new() };
        self.put_shapes(vec![rule]);
    }

    /// Puts shapes that have their coordinates already.
    pub fn put_shapes(&mut self, shapes: Vec<Shape>) {
        self.drawn.push(Drawn::Shapes { x: 0.0, y: 0.0, scale: 1.0, shapes: Cow::Owned(shapes), tag: None });
    }
}

/// Where the baseline stands in a line of height `leading` so that figures and capitals stand in its middle.
pub fn baseline(leading: f64, size: f64) -> f64 {
    (leading + CAPITAL_HEIGHT * size) / 2.0
}

/// A slab for each line; the first two and the last two stay together.
pub fn line_slabs<'d>(lines: Vec<Line<'d>>, x: f64, size: f64, ink: Ink) -> Vec<Slab<'d>> {
    let count = lines.len();
    let slab = |(at, line)| {
        let mut slab = Slab::new(size * LEADING);
        slab.glued = at > 0 && (at < 2 || at + 2 > count);
        slab.put_lines(vec![line], x, 0.0, size, ink);
        slab
    };
    lines.into_iter().enumerate().map(slab).collect()
}

/// Slabs whose texts are parts of `tag`.
pub fn tagged<'d>(mut slabs: Vec<Slab<'d>>, tag: Tag) -> Vec<Slab<'d>> {
    slabs.iter_mut().for_each(|slab| slab.tag(tag));
    slabs
}

/// Height of slabs standing one below the other from the top of a page.
pub fn height(slabs: &[Slab]) -> f64 {
    let spaces: f64 = slabs.iter().skip(1).map(|slab| slab.above).sum();
    spaces + slabs.iter().map(|slab| slab.height).sum::<f64>()
}

/// Everything on slabs that stand one below the other, moved to the right by `x`.
pub fn stacked<'d>(slabs: Vec<Slab<'d>>, x: f64) -> Vec<Drawn<'d>> {
    let mut drawn = Vec::new();
    let mut y = 0.0;
    for (at, slab) in slabs.into_iter().enumerate() {
        y += if at == 0 { 0.0 } else { slab.above };
        drawn.extend(slab.drawn.into_iter().map(|one| one.moved(x, y)));
        y += slab.height;
    }
    drawn
}
