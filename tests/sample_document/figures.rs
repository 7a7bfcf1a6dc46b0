//! Figures of the sample: two scales, the potential chart with its residuals, the ladder, the history.

use halfcell::document::*;

pub fn slope_scale() -> Block {
    let zones = [
        (60.0, 70.0, Ink::FailZone),
        (70.0, 80.0, Ink::WarnZone),
        (80.0, 105.0, Ink::PassZone),
        (105.0, 110.0, Ink::FailZone),
    ];
    let ticks = [60.0, 70.0, 80.0, 90.0, 100.0, 110.0].map(|v| (v, format!("{v}")));
    scale(&zones, &ticks, (78.9, "as found 78.9"), (97.4, "as left 97.4"))
}

pub fn offset_scale() -> Block {
    let zones = [
        (-70.0, -50.0, Ink::FailZone),
        (-50.0, -30.0, Ink::WarnZone),
        (-30.0, 30.0, Ink::PassZone),
        (30.0, 50.0, Ink::WarnZone),
        (50.0, 70.0, Ink::FailZone),
    ];
    let ticks =
        [(-50.0, "−50"), (-30.0, "−30"), (0.0, "0"), (30.0, "30"), (50.0, "50")].map(|(v, t)| (v, t.to_string()));
    scale(&zones, &ticks, (-26.0, "as found −26.0"), (-12.8, "as left −12.8"))
}

fn scale(zones: &[(f64, f64, Ink)], ticks: &[(f64, String)], found: (f64, &str), left: (f64, &str)) -> Block {
    let (low, high) = (zones[0].0, zones[zones.len() - 1].1);
    let x = |value: f64| 6.0 + (value - low) / (high - low) * 230.0;
    let mut shapes = Vec::new();
    for &(from, to, ink) in zones {
        shapes.push(Shape::Area {
            points: vec![[x(from), 18.0], [x(to), 18.0], [x(to), 24.0], [x(from), 24.0]],
            fill: Some(ink),
            stroke: matches!(ink, Ink::FailZone).then_some(Ink::Fail),
            width: 0.5,
        });
    }
    for (value, text) in ticks {
        shapes.push(line(&[[x(*value), 24.0], [x(*value), 26.5]], Ink::Muted, 0.5, &[]));
        shapes.push(label([x(*value), 34.0], Anchor::Middle, text, 6.4, false, Ink::Muted));
    }
    shapes.push(line(&[[x(found.0), 21.0], [x(left.0), 21.0]], Ink::Text, 0.8, &[1.6, 1.4]));
    shapes.push(circle([x(found.0), 21.0], Some(Ink::Paper), Some(Ink::Text), 1.1));
    shapes.push(circle([x(left.0), 21.0], Some(Ink::Accent), Some(Ink::Accent), 0.6));
    let apart = x(left.0) - x(found.0) > 62.0;
    let anchor = if apart { Anchor::Middle } else { Anchor::End };
    shapes.push(label([x(found.0) + if apart { 0.0 } else { 4.0 }, 12.0], anchor, found.1, 7.0, false, Ink::Text));
    let anchor = if apart { Anchor::Middle } else { Anchor::Start };
    shapes.push(label([x(left.0) - if apart { 0.0 } else { 4.0 }, 12.0], anchor, left.1, 7.0, true, Ink::Accent));
    figure(242.0, 37.0, "Scale with limit zones, as found and as left", shapes)
}

pub fn potential() -> Block {
    let x = |ph: f64| 30.0 + (ph - 3.0) / 8.0 * 226.0;
    let y = |mv: f64| 8.0 + (240.0 - mv) / 480.0 * 160.0;
    let mut shapes = Vec::new();
    for (mv, text) in [(200.0, "200"), (100.0, "100"), (0.0, "0"), (-100.0, "−100"), (-200.0, "−200")] {
        shapes.push(line(&[[x(3.0), y(mv)], [x(11.0), y(mv)]], Ink::Grid, 0.5, &[]));
        shapes.push(label([x(3.0) - 4.0, y(mv) + 2.2], Anchor::End, text, 6.4, false, Ink::Muted));
    }
    for ph in [3.0, 5.0, 7.0, 9.0, 11.0] {
        shapes.push(line(&[[x(ph), y(240.0)], [x(ph), y(-240.0)]], Ink::Grid, 0.5, &[]));
        shapes.push(label([x(ph), y(-240.0) + 9.0], Anchor::Middle, &format!("{ph}"), 6.4, false, Ink::Muted));
    }
    shapes.push(label([x(3.0) + 3.0, y(240.0) + 6.0], Anchor::Start, "mV", 6.4, false, Ink::Muted));
    let fit = |slope: f64, offset: f64| [[x(3.0), y(slope * 4.0 + offset)], [x(11.0), y(-slope * 4.0 + offset)]];
    shapes.push(line(&fit(58.1, 0.0), Ink::Muted, 0.6, &[0.7, 1.5]));
    shapes.push(line(&fit(45.8, -26.0), Ink::Text, 0.8, &[3.2, 2.0]));
    shapes.push(line(&fit(56.6, -12.8), Ink::Accent, 1.1, &[]));
    for (ph, found, left) in [(4.001, 111.7, 157.2), (6.874, -20.6, -5.9), (10.066, -166.3, -186.1)] {
        shapes.push(circle([x(ph), y(found)], Some(Ink::Paper), Some(Ink::Text), 1.0));
        shapes.push(circle([x(ph), y(left)], Some(Ink::Accent), Some(Ink::Accent), 0.6));
    }
    shapes.push(label([x(3.4), y(78.0)], Anchor::Start, "as found", 6.8, false, Ink::Text));
    shapes.push(label([x(8.6), y(-60.0)], Anchor::Start, "as left", 6.8, true, Ink::Accent));
    shapes.push(label([x(4.4), y(186.0)], Anchor::Start, "theoretical, 58.1\u{a0}mV per pH", 6.4, false, Ink::Muted));
    shapes.push(label(
        [x(11.0), y(-240.0) + 18.0],
        Anchor::End,
        "pH of the buffer at its temperature",
        6.4,
        false,
        Ink::Muted,
    ));
    let strip = |r: f64| 212.0 - r / 0.1 * 12.0;
    shapes.push(label([x(3.0), 194.0], Anchor::Start, "Residual, pH", 6.8, true, Ink::Accent));
    for (r, text) in [(0.1, "+0.1"), (0.0, "0.0"), (-0.1, "−0.1")] {
        shapes.push(line(
            &[[x(3.0), strip(r)], [x(11.0), strip(r)]],
            if r == 0.0 { Ink::Muted } else { Ink::Grid },
            0.5,
            &[],
        ));
        shapes.push(label([x(3.0) - 4.0, strip(r) + 2.2], Anchor::End, text, 6.4, false, Ink::Muted));
    }
    for (ph, found, left) in [(4.001, -0.004, -0.002), (6.874, 0.008, 0.005), (10.066, -0.004, -0.002)] {
        shapes.push(circle([x(ph) - 2.4, strip(found)], Some(Ink::Paper), Some(Ink::Text), 0.9));
        shapes.push(circle([x(ph) + 2.4, strip(left)], Some(Ink::Accent), Some(Ink::Accent), 0.6));
    }
    figure(258.0, 230.0, "Potential against pH with residuals", shapes)
}

pub fn ladder() -> Block {
    let steps = [
        ("As found", "", 78.9, "78.9"),
        ("Rinsed", "", 79.3, "79.3"),
        ("Reference solution replaced", "3\u{a0}mol/L KCl", 92.6, "92.6"),
        ("Acid soak", "0.1\u{a0}mol/L HCl, 15\u{a0}min", 97.4, "97.4"),
    ];
    let x = |percent: f64| 122.0 + (percent - 65.0) / 40.0 * 100.0;
    let y = |step: usize| 10.0 + step as f64 * 24.0;
    let mut shapes = Vec::new();
    for (percent, text) in [(70.0, "70\u{a0}%"), (80.0, "80\u{a0}%"), (90.0, "90\u{a0}%"), (100.0, "100\u{a0}%")] {
        let (ink, dash): (Ink, &[f64]) = match percent as u32 {
            70 => (Ink::Fail, &[]),
            80 => (Ink::Warn, &[2.0, 1.4]),
            90.. => (Ink::Grid, &[]),
            0..=69 | 71..=79 | 81..=89 => unreachable!("four gridlines"),
        };
        shapes.push(line(&[[x(percent), 2.0], [x(percent), 92.0]], ink, 0.6, dash));
        shapes.push(label([x(percent), 101.0], Anchor::Middle, text, 6.4, false, Ink::Muted));
    }
    for step in 1..steps.len() {
        let (from, to) = (x(steps[step - 1].2), x(steps[step].2));
        shapes.push(line(&[[from, y(step - 1)], [from, y(step)], [to, y(step)]], Ink::Accent, 0.8, &[]));
    }
    for (step, (name, detail, percent, text)) in steps.iter().enumerate() {
        let (fill, stroke) = if step == 0 { (Ink::Paper, Ink::Text) } else { (Ink::Accent, Ink::Accent) };
        shapes.push(circle([x(*percent), y(step)], Some(fill), Some(stroke), 0.9));
        shapes.push(label([0.0, y(step) + 2.4], Anchor::Start, name, 7.0, true, Ink::Text));
        if !detail.is_empty() {
            shapes.push(label([0.0, y(step) + 10.4], Anchor::Start, detail, 6.4, false, Ink::Muted));
        }
        shapes.push(label([x(*percent) + 5.0, y(step) + 2.4], Anchor::Start, text, 7.0, false, Ink::Text));
    }
    figure(226.0, 104.0, "Slope after each remedy", shapes)
}

pub fn history() -> Block {
    let x = |at: usize| 22.0 + at as f64 * 27.0;
    let y = |percent: f64| 6.0 + (100.0 - percent) / 40.0 * 76.0;
    let mut shapes = Vec::new();
    shapes.push(Shape::Area {
        points: vec![[x(6), y(96.0)], [x(8), y(92.0)], [x(8), y(86.0)], [x(6), y(92.0)]],
        fill: Some(Ink::PassZone),
        stroke: None,
        width: 0.0,
    });
    for (percent, text, ink) in
        [(100.0, "100", Ink::Grid), (90.0, "90", Ink::Grid), (80.0, "80", Ink::Warn), (70.0, "70", Ink::Fail)]
    {
        shapes.push(line(
            &[[22.0, y(percent)], [240.0, y(percent)]],
            ink,
            0.6,
            if percent == 80.0 { &[2.4, 1.4] } else { &[] },
        ));
        shapes.push(label([18.0, y(percent) + 2.2], Anchor::End, text, 6.4, false, Ink::Muted));
    }
    let slopes = [99.1, 98.2, 96.0, 94.9, 92.8, 88.6, 78.9];
    let points: Vec<[f64; 2]> = slopes.iter().enumerate().map(|(at, s)| [x(at), y(*s)]).collect();
    shapes.push(line(&points, Ink::Text, 0.8, &[]));
    shapes.push(line(&[[x(6), y(78.9)], [x(6), y(97.4)]], Ink::Accent, 0.8, &[]));
    for point in points {
        shapes.push(circle(point, Some(Ink::Paper), Some(Ink::Text), 0.9));
    }
    shapes.push(circle([x(6), y(97.4)], Some(Ink::Accent), Some(Ink::Accent), 0.6));
    for (at, text) in [(0, "2025-02"), (3, "2025-09"), (6, "2026-05")] {
        shapes.push(label([x(at), 78.0], Anchor::Middle, text, 6.4, false, Ink::Muted));
    }
    figure(242.0, 82.0, "Slope over time", shapes)
}

fn line(points: &[[f64; 2]], ink: Ink, width: f64, dash: &[f64]) -> Shape {
    Shape::Line { points: points.to_vec(), ink, width, dash: dash.to_vec() }
}

fn circle(centre: [f64; 2], fill: Option<Ink>, stroke: Option<Ink>, width: f64) -> Shape {
    Shape::Circle { centre, radius: 2.6, fill, stroke, width }
}

fn label(at: [f64; 2], anchor: Anchor, text: &str, size: f64, bold: bool, ink: Ink) -> Shape {
    Shape::Label { at, anchor, text: text.into(), size, bold, ink }
}

fn figure(width: f64, height: f64, alt: &str, shapes: Vec<Shape>) -> Block {
    Block::Figure(Figure { width, height, alt: alt.into(), shapes })
}
