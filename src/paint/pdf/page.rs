//! Pages: what stands on each of them, and what every page bears.
//!
//! Comes in: a document. Goes out: [`Page`]s with everything in its place. Next: [`super::content`].

use super::blocks::{self, Room};
use super::flow::{Line, width, wrap, wrap_all};
use super::slab::{Drawn, LEADING, Slab, baseline, line_slabs, size, tagged};
use super::tags::{self, Tag};
use crate::document::{Document, Ink, Part, Shape};
use crate::firm::Paper;
use crate::paint::fonts::{Face, Fonts};

/// White at the left and the right edge of the paper in pt.
pub const MARGIN: f64 = 40.0;
/// White at the upper and the lower edge of the paper in pt.
const EDGE: f64 = 32.0;
/// Largest logo in pt.
const LOGO: [f64; 2] = [96.0, 28.0];
/// White between the number and what follows it in the header in pt.
const RUNNING_GAP: f64 = 8.0;
/// White between the header and the body in pt.
const AIR: f64 = 14.0;
/// White between the body and the footer, at least, in pt.
const FOOT_AIR: f64 = 10.0;

/// A page: everything on it, in reading order, in pt from the top left of the paper.
#[derive(Debug, Default)]
pub struct Page<'d> {
    /// What stands above the body.
    pub header: Vec<Drawn<'d>>,
    /// The body.
    pub body: Vec<Drawn<'d>>,
    /// What stands below the body.
    pub footer: Vec<Drawn<'d>>,
}

/// Width and height of a paper in pt.
///
/// Source: ISO 216:2007, A4 210 mm × 297 mm; ANSI/ASME Y14.1, size A 8.5 in × 11 in; 72 pt an inch of 25.4 mm.
pub fn paper_size(paper: Paper) -> [f64; 2] {
    match paper {
        Paper::A4 => [210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0],
        Paper::Letter => [612.0, 792.0],
    }
}

/// Lays a document out; `logo` is the logo's width and height in any unit.
pub fn lay_out<'d>(document: &'d Document, fonts: &'d Fonts, logo: Option<[f64; 2]>) -> Vec<Page<'d>> {
    let frame = Frame::new(document, fonts, logo);
    let page = frame.bottom - frame.first_top.max(frame.next_top);
    let room = Room { width: frame.width, fonts, page, text: size::BODY };
    let mut groups: Vec<Vec<Slab>> = Vec::new();
    let mut place = tags::FIRST;
    for part in &document.parts {
        let mut set = part_set(document, part, place, room, &frame);
        let last = groups.len().saturating_sub(1);
        match groups.last_mut() {
            Some(before) if pages_of(before, last, &frame) > 1 => {
                set.iter_mut().take(1).for_each(|first| first.above = BETWEEN_PARTS);
                before.append(&mut set);
            }
            Some(_) | None => groups.push(set),
        }
        place += part.blocks.iter().map(tags::places).sum::<u32>();
    }
    let spread = |(at, group)| spread(group, frame.bottom, frame.top(at), frame.next_top);
    let mut bodies: Vec<Vec<Drawn>> = groups.into_iter().enumerate().flat_map(spread).collect();
    if bodies.is_empty() {
        bodies.push(Vec::new());
    }
    let count = bodies.len();
    let page = |(at, body)| frame.page(at + 1, count, body);
    bodies.into_iter().enumerate().map(page).collect()
}

/// White above a part that goes on where the one before ended, because that took more than a page, in pt.
const BETWEEN_PARTS: f64 = 30.0;

/// A part as slabs. The first is set in the size of running text, in the small one where that saves a page; the others,
/// which are lists to look things up in, in the small one.
fn part_set<'d>(document: &'d Document, part: &'d Part, place: u32, room: Room<'_>, frame: &Frame) -> Vec<Slab<'d>> {
    let small = || part_slabs(document, part, place, Room { text: size::LABEL, ..room });
    if !is_first(document, part) {
        return small();
    }
    let large = part_slabs(document, part, place, room);
    let pages = pages_of(&large, 0, frame);
    let smaller = if pages > 1 { small() } else { Vec::new() };
    if !smaller.is_empty() && pages_of(&smaller, 0, frame) < pages { smaller } else { large }
}

fn is_first(document: &Document, part: &Part) -> bool {
    document.parts.first().is_some_and(|one| std::ptr::eq(one, part))
}

/// How many pages the slabs of a group of parts take at least.
fn pages_of(slabs: &[Slab], group: usize, frame: &Frame) -> usize {
    let pages = |measure| starts(slabs, measure, frame.bottom, frame.top(group), frame.next_top).len();
    MEASURES.into_iter().map(pages).min().unwrap_or_default()
}

fn part_slabs<'d>(document: &'d Document, part: &'d Part, place: u32, room: Room<'_>) -> Vec<Slab<'d>> {
    let first = is_first(document, part);
    let mut slabs = if first { title_slabs(document, room) } else { Vec::new() };
    let mut blocks = blocks::slabs(&part.blocks, room, place);
    if let (Some(block), true) = (blocks.first_mut(), first) {
        block.above = 10.0;
        block.glued = true;
    }
    slabs.append(&mut blocks);
    slabs
}

fn title_slabs<'d>(document: &'d Document, room: Room<'_>) -> Vec<Slab<'d>> {
    let title = wrap(room.fonts, Face::SemiBold, &document.title, size::TITLE, room.width);
    let mut slabs = tagged(line_slabs(title, 0.0, size::TITLE, Ink::Text), Tag::TITLE);
    let subtitle = wrap(room.fonts, Face::Regular, &document.subtitle, size::BODY, room.width);
    slabs.append(&mut tagged(line_slabs(subtitle, 0.0, size::BODY, Ink::Muted), Tag::SUBTITLE));
    let mut rule = Slab { above: 7.0, ..Slab::new(0.5) };
    rule.put_rule(0.0, room.width, 0.25, Ink::Grid, 0.6);
    slabs.push(rule);
    slabs.iter_mut().skip(1).for_each(|slab| slab.glued = true);
    slabs
}

/// White between slabs, as shares of the full measure, from the finest to the tightest.
const MEASURES: [f64; 6] = [1.0, 0.86, 0.74, 0.62, 0.52, TIGHTEST];
/// The tightest of them.
const TIGHTEST: f64 = 0.44;

/// Spreads slabs over pages between a top and the bottom, with the most white that needs no further page.
fn spread<'d>(mut slabs: Vec<Slab<'d>>, bottom: f64, first_top: f64, next_top: f64) -> Vec<Vec<Drawn<'d>>> {
    let spread = MEASURES.map(|measure| starts(&slabs, measure, bottom, first_top, next_top));
    let fewest = spread.iter().map(Vec::len).min().unwrap_or_default();
    let chosen = spread.iter().position(|starts| starts.len() == fewest).unwrap_or_default();
    slabs.iter_mut().for_each(|slab| slab.above *= MEASURES[chosen]);
    place(slabs, &spread[chosen], first_top, next_top)
}

/// The slabs that begin a page; pages break only where no slab is glued, unless nothing else helps.
fn starts(slabs: &[Slab<'_>], measure: f64, bottom: f64, first_top: f64, next_top: f64) -> Vec<usize> {
    let mut starts = vec![0];
    let mut at = 0;
    let mut y = first_top;
    while at < slabs.len() {
        let start = *starts.last().expect("it begins with one");
        let begins = at == start;
        let above = space_above(&slabs[at], begins);
        y += if begins { above } else { above * measure } + slabs[at].height;
        if y > bottom + 1e-6 && !begins {
            let last = (start + 1..=at).rev().find(|&place| !slabs[place].glued).unwrap_or(at);
            starts.push(last);
            at = last;
            y = next_top;
        } else {
            at += 1;
        }
    }
    starts
}

/// White above a slab, or the head that is repeated above it.
fn space_above(slab: &Slab, begins: bool) -> f64 {
    match (&slab.head, begins) {
        (_, false) => slab.above,
        (Some(head), true) => head.height,
        (None, true) => 0.0,
    }
}

fn place<'d>(slabs: Vec<Slab<'d>>, starts: &[usize], first_top: f64, next_top: f64) -> Vec<Vec<Drawn<'d>>> {
    let mut pages: Vec<Vec<Drawn>> = Vec::new();
    let mut y = first_top;
    for (at, slab) in slabs.into_iter().enumerate() {
        let begins = starts.get(pages.len()) == Some(&at);
        if begins {
            y = if pages.is_empty() { first_top } else { next_top };
            pages.push(Vec::new());
        }
        let page = pages.last_mut().expect("the first slab begins a page");
        if let (Some(head), true) = (&slab.head, begins) {
            page.extend(head.drawn.iter().map(|one| one.clone().moved(MARGIN, y)));
        }
        y += space_above(&slab, begins);
        page.extend(slab.drawn.into_iter().map(|one| one.moved(MARGIN, y)));
        y += slab.height;
    }
    pages
}

/// What every page bears, and where the body stands.
struct Frame<'d> {
    document: &'d Document,
    fonts: &'d Fonts,
    logo: Option<[f64; 2]>,
    width: f64,
    first_top: f64,
    next_top: f64,
    bottom: f64,
    height: f64,
}

impl<'d> Frame<'d> {
    fn new(document: &'d Document, fonts: &'d Fonts, logo: Option<[f64; 2]>) -> Frame<'d> {
        let [width, height] = paper_size(document.paper);
        let mut frame = Frame {
            document,
            fonts,
            logo,
            width: width - 2.0 * MARGIN,
            first_top: 0.0,
            next_top: 0.0,
            bottom: 0.0,
            height,
        };
        frame.first_top = EDGE + frame.header(true, frame.page_text(888, 888)).height + AIR;
        frame.next_top = EDGE + frame.header(false, frame.page_text(888, 888)).height + AIR;
        frame.bottom = height - EDGE - frame.footer().height - FOOT_AIR;
        frame
    }

    /// Where a group of parts begins on its first page.
    fn top(&self, group: usize) -> f64 {
        if group == 0 { self.first_top } else { self.next_top }
    }

    fn page(&self, number: usize, count: usize, body: Vec<Drawn<'d>>) -> Page<'d> {
        let header = self.header(number == 1, self.page_text(number, count));
        let mut footer = self.footer();
        if number < count {
            footer.untag();
        }
        let foot = self.height - EDGE - footer.height;
        Page {
            header: header.drawn.into_iter().map(|one| one.moved(MARGIN, EDGE)).collect(),
            body,
            footer: footer.drawn.into_iter().map(|one| one.moved(MARGIN, foot)).collect(),
        }
    }

    fn page_text(&self, number: usize, count: usize) -> String {
        self.document.running.page.replace("{n}", &number.to_string()).replace("{m}", &count.to_string())
    }

    /// The firm on the left, the number and the page on the right, a rule below, the draft mark below that. The first
    /// page has the logo and the address, later ones are smaller.
    fn header(&self, first: bool, page: String) -> Slab<'d> {
        let mut slab = Slab::default();
        let size = if first { size::VERDICT } else { size::BODY };
        let left = if first { self.put_logo(&mut slab) } else { 0.0 };
        let beside = self.width * if first { 0.6 } else { 0.38 } - left;
        let brand = &self.document.brand;
        let mut y =
            slab.put_lines(wrap(self.fonts, Face::SemiBold, &brand.name, size, beside), left, 0.0, size, Ink::Text);
        slab.tag(Tag::BRAND);
        if first {
            let lines = wrap_all(self.fonts, Face::Regular, &brand.lines, size::LABEL, beside);
            y = slab.put_lines(lines, left, y, size::LABEL, Ink::Muted);
        }
        slab.tag(Tag::ADDRESS);
        let right = self.put_number(&mut slab, first, page);
        slab.tag(Tag::ISSUED);
        let logo = if first && self.logo.is_some() { LOGO[1] } else { 0.0 };
        let rule = y.max(right).max(logo) + if first { 9.0 } else { 5.0 };
        slab.put_rule(0.0, self.width, rule, Ink::Accent, if first { 1.4 } else { 0.7 });
        slab.height = rule + 0.7;
        self.put_draft(&mut slab);
        slab.tag(Tag::DRAFT);
        if !first {
            slab.untag();
        }
        slab
    }

    fn put_logo(&self, slab: &mut Slab<'d>) -> f64 {
        let Some([width, height]) = self.logo else {
            return 0.0;
        };
        let scale = (LOGO[0] / width).min(LOGO[1] / height);
        let (width, height) = (width * scale, height * scale);
        slab.drawn.push(Drawn::Logo { x: 0.0, y: (LOGO[1] - height) / 2.0, width, height });
        width + 11.0
    }

    /// Number, day of issue and page; on later pages in one line where it is short.
    fn put_number(&self, slab: &mut Slab<'d>, first: bool, page: String) -> f64 {
        let beside = self.width * 0.36;
        let mut size = if first { size::VERDICT } else { size::BODY };
        let mut number = wrap(self.fonts, Face::SemiBold, &self.document.number, size, beside);
        if number.len() > 2 {
            size = size::LABEL;
            number = wrap(self.fonts, Face::SemiBold, &self.document.number, size, beside);
        }
        let running = Line::of(self.fonts, Face::Regular, format!("{} · {page}", self.document.running.issued));
        let run = running.width(size::LABEL);
        let one_line = match number.first() {
            Some(line) if number.len() == 1 => line.width(size) + RUNNING_GAP + run <= self.width * 0.6,
            Some(_) | None => false,
        };
        if !first && one_line {
            let lower = baseline(size * LEADING, size) - baseline(size::LABEL * LEADING, size::LABEL);
            let y = slab.put_lines_right(number, self.width - run - RUNNING_GAP, 0.0, size, Ink::Text);
            slab.put_lines_right(vec![running], self.width, lower, size::LABEL, Ink::Muted);
            return y;
        }
        let y = slab.put_lines_right(number, self.width, 0.0, size, Ink::Text);
        slab.tag(Tag::NUMBER);
        let lines = if run <= beside {
            vec![running]
        } else {
            let mut lines = wrap(self.fonts, Face::Regular, &self.document.running.issued, size::LABEL, beside);
            lines.push(Line::of(self.fonts, Face::Regular, page));
            lines
        };
        slab.put_lines_right(lines, self.width, y, size::LABEL, Ink::Muted)
    }

    /// The draft mark in words, in an outlined box over the whole width.
    fn put_draft(&self, slab: &mut Slab<'d>) {
        let Some(draft) = &self.document.running.draft else {
            return;
        };
        let top = slab.height + 5.0;
        let lines = wrap(self.fonts, Face::SemiBold, draft, size::BODY, self.width - 16.0);
        let bottom = top + lines.len() as f64 * size::BODY * LEADING + 4.0;
        slab.put_shapes(vec![Shape::Area {
            points: vec![[0.4, top], [self.width - 0.4, top], [self.width - 0.4, bottom], [0.4, bottom]],
            fill: None,
            stroke: Some(Ink::Fail),
            width: 0.8,
        }]);
        slab.put_lines(lines, 8.0, top + 2.0, size::BODY, Ink::Fail);
        slab.height = bottom - 3.0;
    }

    fn footer(&self) -> Slab<'d> {
        /// White between the rule and the text in pt.
        const TOP: f64 = 5.0;
        let mut slab = Slab::default();
        slab.put_rule(0.0, self.width, 0.3, Ink::Grid, 0.6);
        let right = self.document.running.footer_right.iter();
        let right = right.map(|line| width(self.fonts, Face::Regular, size::LABEL, line)).fold(0.0, f64::max);
        let left = self.width - right.min(self.width * 0.4) - 18.0;
        let lines = wrap_all(self.fonts, Face::Regular, &self.document.running.footer_left, size::LABEL, left);
        let below_left = slab.put_lines(lines, 0.0, TOP, size::LABEL, Ink::Muted);
        slab.tag(Tag::FOOT_LEFT);
        let lines =
            wrap_all(self.fonts, Face::Regular, &self.document.running.footer_right, size::LABEL, self.width * 0.4);
        let below_right = slab.put_lines_right(lines, self.width, TOP, size::LABEL, Ink::Muted);
        slab.tag(Tag::FOOT_RIGHT);
        slab.height = below_left.max(below_right);
        slab
    }
}
