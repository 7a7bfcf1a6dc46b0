//! Labels of drawings stand clear of each other and inside, whatever the figures.

use super::*;
use crate::document::fixtures::{Point, figures, firm, restored};
use crate::document::print::Print;
use crate::document::{Block, certificate};
use crate::record::{Figures, ReadingRecord, Record, RemedyRecord};

/// Made-up numbers that are the same on every run (Source: multiplier and increment of MMIX, D. E. Knuth; from memory).
struct Made(u64);

impl Made {
    fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + self.share() * (high - low)
    }

    fn below(&mut self, count: usize) -> usize {
        (self.share() * count as f64) as usize
    }
}

const BUFFERS: [(&str, f64); 6] =
    [("B4", 4.001), ("B7", 6.874), ("B7b", 7.02), ("B9", 9.228), ("B10", 10.066), ("B1", 1.68)];

/// Readings of a probe with any slope and offset.
fn set(made: &mut Made, buffers: usize, readings: usize) -> Figures {
    let (slope, offset) = (made.between(-20.0, 60.0), made.between(-150.0, 150.0));
    let points: Vec<Point> = (0..readings)
        .map(|i| {
            let (name, ph) = BUFFERS[i % buffers];
            let mv = offset + slope * (7.0 - ph) + made.between(-3.0, 3.0);
            let mv: &'static str = format!("{mv:.1}").leak();
            (name, ph, mv, "19.6", "")
        })
        .collect();
    figures(&points)
}

fn record(made: &mut Made) -> Record {
    let mut record = restored();
    let buffers = 1 + made.below(BUFFERS.len());
    let readings = buffers + made.below(13 - buffers);
    record.as_found.figures = set(made, buffers, readings);
    let left = match made.below(4) {
        0 => record.as_found.figures.clone(),
        _ => set(made, buffers, readings),
    };
    if let Some(state) = &mut record.as_left {
        state.figures = left;
    }
    let words = ["rinsed", "cleaned with detergent and soft brush", "probe replaced", "other"];
    record.remedies = (0..made.below(11))
        .map(|_| RemedyRecord {
            remedy: words[made.below(words.len())].into(),
            solution: Some("hydrochloric acid of a strength written out in many words".into()),
            after: (made.below(3) > 0).then(|| set(made, buffers, readings)),
            ..RemedyRecord::default()
        })
        .collect();
    if made.below(6) == 0 {
        record.criteria.clear();
    }
    if made.below(4) == 0 {
        redox(&mut record, made);
    }
    record
}

/// The same as a redox loop.
fn redox(record: &mut Record, made: &mut Made) {
    record.quantity = crate::record::Quantity::Redox;
    let mut turn = |figures: &mut Figures| {
        figures.slope_percent = None;
        figures.readings.iter_mut().for_each(|reading: &mut ReadingRecord| {
            let standard = made.between(-100.0, 700.0);
            let error = made.between(-60.0, 60.0);
            reading.standard_mv = Some(standard);
            reading.shown_mv = Some(standard + error);
            reading.error_mv = Some(error);
        });
    };
    turn(&mut record.as_found.figures);
    record.as_left.iter_mut().for_each(|left| turn(&mut left.figures));
    let after = record.remedies.iter_mut().filter_map(|remedy| remedy.after.as_mut());
    after.for_each(turn);
}

/// A record with the history of any number of made-up visits.
fn followed(made: &mut Made) -> Record {
    let mut record = record(made);
    let words = ["acid soak", "junction renewed", "probe replaced", "reference solution replaced"];
    let mut year_day = 0;
    let points: Vec<crate::record::Point> = (0..2 + made.below(24))
        .map(|visit| {
            let mut earlier = record.clone();
            year_day += made.below(120);
            let day = chrono::NaiveDate::from_ymd_opt(2019, 1, 1).unwrap() + chrono::Days::new(year_day as u64);
            earlier.visit.started = format!("{day} 08:{:02} +00:00", visit);
            earlier.visit.number = format!("V-{visit}");
            earlier.sources[0].sha256 = format!("{visit}");
            earlier.as_found.figures = set(made, 3, 3);
            if let Some(left) = &mut earlier.as_left {
                left.figures = set(made, 3, 3);
            }
            if earlier.quantity == crate::record::Quantity::Redox {
                redox(&mut earlier, made);
            }
            let done = (0..made.below(3)).map(|_| words[made.below(words.len())]);
            let done = done.map(|word| RemedyRecord { remedy: word.into(), ..RemedyRecord::default() });
            earlier.remedies = done.collect();
            crate::record::Point::of(&earlier)
        })
        .collect();
    crate::record::history::attach(&mut record, &points.iter().collect::<Vec<_>>());
    record
}

#[test]
fn labels_of_a_history_stand_clear_and_inside() {
    let mut made = Made(23);
    let mut drawn = 0;
    for round in 0..200 {
        let document = certificate(&followed(&mut made), &firm());
        for figure in document.parts[1..].iter().flat_map(|part| drawings(&part.blocks)) {
            let boxes = boxes(figure);
            for (i, (a, text)) in boxes.iter().enumerate() {
                let inside = a[0] > -0.5 && a[1] > -1.0 && a[2] < figure.width + 0.5 && a[3] < figure.height + 0.5;
                assert!(inside, "{round}: «{text}» leaves {} × {}: {a:?}", figure.width, figure.height);
                for (b, other) in &boxes[i + 1..] {
                    assert!(!overlap(a, b), "{round}: «{text}» covers «{other}» in {}", figure.alt);
                }
            }
            let at = figure.shapes.iter().flat_map(|shape| match shape {
                Shape::Line { points, .. } | Shape::Area { points, .. } => points.clone(),
                Shape::Circle { centre, .. } => vec![*centre],
                Shape::Label { at, .. } => vec![*at],
            });
            let inside =
                |[x, y]: [f64; 2]| (-0.5..figure.width + 0.5).contains(&x) && (-0.5..figure.height + 0.5).contains(&y);
            assert!(at.into_iter().all(inside), "{round}: something leaves the drawing");
            drawn += 1;
        }
    }
    assert!(drawn > 250, "{drawn}");
}

fn drawings(blocks: &[Block]) -> Vec<&Figure> {
    let mut out = Vec::new();
    for block in blocks {
        match block {
            Block::Figure(figure) => out.push(figure),
            Block::Columns(columns) => {
                columns.iter().for_each(|column| out.extend(drawings(&column.blocks)));
            }
            _ => {}
        }
    }
    out
}

/// Left, top, right, bottom of every label.
fn boxes(figure: &Figure) -> Vec<([f64; 4], &str)> {
    let of = |shape| match shape {
        &Shape::Label { at, anchor, ref text, size, bold, ink } => {
            let width = text_width(text, Look { size, bold, ink });
            let left = match anchor {
                Anchor::Start => at[0],
                Anchor::Middle => at[0] - width / 2.0,
                Anchor::End => at[0] - width,
            };
            let (top, bottom) = (at[1] - 0.74 * size, at[1] + 0.2 * size);
            Some(([left, top, left + width, bottom], text.as_str()))
        }
        _ => None,
    };
    figure.shapes.iter().filter_map(of).collect()
}

fn overlap(a: &[f64; 4], b: &[f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// Labels that a line or a mark runs through: drawn with nothing of paper between it and the label, or after it.
fn struck(figure: &Figure) -> Vec<String> {
    let shapes = &figure.shapes;
    let one = |at: usize| Figure { shapes: vec![shapes[at].clone()], ..figure.clone() };
    let labels = (0..shapes.len()).flat_map(|at| {
        let alone = one(at);
        boxes(&alone).into_iter().map(|(area, text)| (at, area, text.to_owned())).collect::<Vec<_>>()
    });
    let over = |area: &[f64; 4], shape: &Shape| match shape {
        Shape::Line { points, ink, .. } => {
            *ink != Ink::Grid && points.windows(2).any(|ends| crosses(area, ends[0], ends[1]))
        }
        Shape::Circle { centre: [x, y], radius, .. } => {
            overlap(area, &[x - radius, y - radius, x + radius, y + radius])
        }
        Shape::Area { .. } | Shape::Label { .. } => false,
    };
    let paper = |area: &[f64; 4], shape: &Shape| match shape {
        Shape::Area { points, fill: Some(Ink::Paper), .. } => {
            let ([left, top], [right, bottom]) = (points[0], points[2]);
            left <= area[0] + 1.0 && top <= area[1] + 1.0 && right >= area[2] - 1.0 && bottom >= area[3] - 1.0
        }
        _ => false,
    };
    let is_struck = |(at, area, _): &(usize, [f64; 4], String)| {
        let from = shapes[..*at].iter().rposition(|shape| paper(area, shape)).map_or(0, |paper| paper + 1);
        shapes[from..].iter().any(|shape| over(area, shape))
    };
    labels.filter(is_struck).map(|(_, _, text)| text).collect()
}

/// Whether a straight line enters a box (Liang and Barsky's clipping).
fn crosses([left, top, right, bottom]: &[f64; 4], from: [f64; 2], to: [f64; 2]) -> bool {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let (mut enters, mut leaves) = (0.0f64, 1.0f64);
    for (step, room) in [(-dx, from[0] - left), (dx, right - from[0]), (-dy, from[1] - top), (dy, bottom - from[1])] {
        if step == 0.0 && room <= 0.0 {
            return false;
        }
        match step {
            0.0 => {}
            _ if step < 0.0 => enters = enters.max(room / step),
            _ => leaves = leaves.min(room / step),
        }
    }
    enters < leaves
}

#[test]
fn no_line_or_mark_runs_through_a_label() {
    let mut made = Made(31);
    for round in 0..400 {
        let record = if round % 2 == 0 { record(&mut made) } else { followed(&mut made) };
        let document = certificate(&record, &firm());
        for figure in document.parts.iter().flat_map(|part| drawings(&part.blocks)) {
            assert_eq!(struck(figure), Vec::<String>::new(), "{round}: {}", figure.alt);
        }
    }
}

#[test]
fn no_label_covers_another_or_leaves_the_drawing() {
    let mut made = Made(7);
    for round in 0..600 {
        let document = certificate(&record(&mut made), &firm());
        for figure in drawings(&document.parts[0].blocks) {
            let boxes = boxes(figure);
            for (i, (a, text)) in boxes.iter().enumerate() {
                let inside = a[0] > -0.5 && a[1] > -1.0 && a[2] < figure.width + 0.5 && a[3] < figure.height + 0.5;
                assert!(inside, "{round}: «{text}» leaves {} × {}: {a:?}", figure.width, figure.height);
                for (b, other) in &boxes[i + 1..] {
                    assert!(!overlap(a, b), "{round}: «{text}» covers «{other}» in {}", figure.alt);
                }
            }
        }
    }
}

#[test]
fn every_shape_is_finite_and_every_mark_inside() {
    let mut made = Made(11);
    for _ in 0..300 {
        let document = certificate(&record(&mut made), &firm());
        for figure in drawings(&document.parts[0].blocks) {
            assert!(!figure.alt.is_empty());
            let is_large = |shape: &Shape| !matches!(shape, Shape::Label { size, .. } if *size < NORMAL);
            assert!(figure.shapes.iter().all(is_large), "too small to read: {}", figure.alt);
            for shape in &figure.shapes {
                let (points, room): (Vec<[f64; 2]>, f64) = match shape {
                    Shape::Line { points, .. } | Shape::Area { points, .. } => (points.clone(), 0.5),
                    Shape::Circle { centre, radius, .. } => (vec![*centre], -radius),
                    Shape::Label { at, .. } => (vec![*at], 0.5),
                };
                for [x, y] in points {
                    assert!(x.is_finite() && y.is_finite());
                    assert!(x >= -room.max(0.5) && x <= figure.width + 0.5, "{x} in {}", figure.alt);
                    assert!(y >= -room.max(0.5) && y <= figure.height + 0.5, "{y}");
                }
            }
        }
    }
}

#[test]
fn ticks_are_round_and_cover_the_range() {
    assert_eq!(ticks(3.1, 10.9, 6), (vec![4.0, 6.0, 8.0, 10.0], 0));
    assert_eq!(ticks(-0.4, 0.4, 4).1, 1);
    assert_eq!(round_up(0.012), (0.02, 2));
    assert_eq!(round_up(28.4), (50.0, 0));
    assert_eq!(round_up(0.01), (0.01, 2));
}

/// The scale of the largest error under two limits, in the second lane of which the value left stands.
#[test]
fn states_with_limits_of_their_own_have_lanes_of_their_own() {
    let limit = |bound: f64| LimitRecord {
        fail_low: Some(-bound),
        fail_high: Some(bound),
        decimals: 2,
        ..LimitRecord::default()
    };
    let figure = |found: f64, left: f64| {
        let facts = ScaleFacts {
            title: "Largest pH error",
            unit: "",
            values: vec![(Stage::AsFound, 0.12), (Stage::AsLeft, 0.01)],
            decimals: 2,
            limits: [Some(limit(found)), Some(limit(left))],
            same_probe: true,
            untouched: false,
            ideal: 0.0,
            signed: true,
            width: width_of(4),
        };
        scale(&Print::of(&firm(), &crate::record::ClientFacts::default()), &facts).unwrap()
    };
    let rows = |figure: &Figure| {
        let marks = figure.shapes.iter().filter_map(|shape| match shape {
            Shape::Circle { centre, .. } => Some(centre[1]),
            _ => None,
        });
        let mut rows: Vec<f64> = marks.filter(|y| *y > 15.0).collect();
        rows.dedup();
        rows.len()
    };
    assert_eq!((rows(&figure(0.2, 0.2)), rows(&figure(0.2, 0.05))), (1, 2));
    let alt = figure(0.2, 0.05).alt;
    for told in ["as found +0.12, as left +0.01", "as found: Fail limit ±0.20", "as left: Fail limit ±0.05"] {
        assert!(alt.contains(told), "{alt}");
    }
}
