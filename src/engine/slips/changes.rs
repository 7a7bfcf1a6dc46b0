//! The small set of single slips that a person makes, each as the readings would be without it.

use super::super::Typed;
use super::view::{USUAL_C, View};
use super::{Figure, Kind, Reading, Slip};
use crate::reference::buffers::{Buffer, BufferValue};

/// The sign of a potential smaller than this says nothing, mV.
///
/// Source: our own choice.
const SIGN_TELLS_MV: f64 = 10.0;
/// A bottle is mistaken for one whose pH is this near, and not so near that nothing tells.
///
/// Source: common practice, no source: borax and carbonate lie 0.83 apart; two buffers nearer than 0.3 differ by less than
/// a probe's offset.
const FAMILY_APART_PH: std::ops::RangeInclusive<f64> = 0.3..=1.0;
/// A display that shows every buffer within this much, one of them only under another name, tells the name.
///
/// Source: our own choice: an adjusted analyser.
const SHOWN_WITHIN_PH: f64 = 0.04;
/// A number nearer to the buffer's pH may be a pH.
///
/// Source: our own choice, the largest error of display that goes with it.
const NEAR_PH: f64 = 0.5;
/// A pH has two decimals; potentials of pH loops are read to 0.1 mV or 1 mV.
///
/// Source: common practice, no source.
const PH_STEP: f64 = 0.01;

/// The readings as they would be, and the slip that made them what they are.
pub(super) struct Change<'a> {
    pub slip: Slip,
    pub rows: Vec<Reading<'a>>,
    /// Whether the number of digits typed speaks for the change.
    pub digits_fit: bool,
}

/// Every single change of a set.
pub(super) fn of<'a>(readings: &[Reading<'a>], now: &View, published: &'a [BufferValue]) -> Vec<Change<'a>> {
    let mut changes = Vec::new();
    exchanged(readings, &mut changes);
    every_potential(readings, &mut changes);
    (0..readings.len()).for_each(|row| potential(readings, row, &mut changes));
    ph_as_mv(readings, &mut changes);
    families(readings, now, published, &mut changes);
    if now.temperatures_are_odd() {
        temperatures(readings, &mut changes);
    }
    changes
}

/// Whether a set whose line is plausible is questioned all the same: a display right under another buffer's name only, or
/// a potential that repeats the pH shown, digit by digit.
pub(super) fn is_suspect(readings: &[Reading<'_>], published: &[BufferValue]) -> bool {
    let repeats = |reading: &Reading<'_>| {
        let shown = reading.shown.is_some_and(|shown| shown == reading.mv);
        shown && reading.mv.step <= PH_STEP + 1e-9 && looks_like_ph(reading)
    };
    readings.iter().any(repeats)
        || (0..readings.len()).any(|row| published.iter().any(|other| shows(readings, row, other)))
}

fn slip(kind: Kind, figure: Figure, row: usize) -> Slip {
    let (other, would_be, buffer) = (None, None, None);
    Slip { kind, figure, row, other, all: false, would_be, buffer, slope_percent: None, offset_mv: None }
}

fn exchanged<'a>(readings: &[Reading<'a>], changes: &mut Vec<Change<'a>>) {
    let mut push = |first: usize, second: usize, figure: Figure, rows: Vec<Reading<'a>>| {
        let slip = Slip { other: Some(second), ..slip(Kind::BuffersExchanged, figure, first) };
        changes.push(Change { slip, rows, digits_fit: true });
    };
    for first in 0..readings.len() {
        for second in first + 1..readings.len() {
            let (a, b) = (readings[first], readings[second]);
            if a.standard == b.standard {
                continue;
            }
            let named = |reading: &Reading<'a>, as_other: &Reading<'a>| Reading {
                standard: as_other.standard,
                value: as_other.value,
                ..*reading
            };
            let mut rows = readings.to_vec();
            (rows[first], rows[second]) = (named(&a, &b), named(&b, &a));
            push(first, second, Figure::Standard, rows);
            let mut rows = readings.to_vec();
            (rows[first].mv, rows[second].mv) = (b.mv, a.mv);
            push(first, second, Figure::Mv, rows);
            let is_first = |row: usize| readings[..row].iter().all(|before| before.standard != readings[row].standard);
            if is_first(first) && is_first(second) && readings.len() > 2 {
                let bottles = readings.iter().map(|reading| match reading.standard {
                    standard if standard == a.standard => named(reading, &b),
                    standard if standard == b.standard => named(reading, &a),
                    _ => *reading,
                });
                push(first, second, Figure::Standard, bottles.collect());
            }
        }
    }
}

/// Slips that go through the whole set: every sign, volts throughout.
fn every_potential<'a>(readings: &[Reading<'a>], changes: &mut Vec<Change<'a>>) {
    let mut push = |kind: Kind, factor: f64, digits_fit: bool| {
        let rows = readings.iter().map(|reading| Reading { mv: scaled(reading.mv, factor), ..*reading }).collect();
        changes.push(Change { slip: Slip { all: true, ..slip(kind, Figure::Mv, 0) }, rows, digits_fit });
    };
    push(Kind::SignLost, -1.0, true);
    push(Kind::Volts, 1000.0, readings.iter().all(|reading| reading.mv.step <= 0.001 + 1e-9));
}

/// Slips in the potential of one reading.
fn potential<'a>(readings: &[Reading<'a>], row: usize, changes: &mut Vec<Change<'a>>) {
    let typed = readings[row].mv;
    let mut push = |kind: Kind, would_be: Typed, digits_fit: bool| {
        let mut rows = readings.to_vec();
        rows[row].mv = would_be;
        let slip = Slip { would_be: Some(would_be), ..slip(kind, Figure::Mv, row) };
        changes.push(Change { slip, rows, digits_fit });
    };
    if typed.value.abs() >= SIGN_TELLS_MV {
        push(Kind::SignLost, scaled(typed, -1.0), true);
    }
    neighbours(typed).into_iter().for_each(|would_be| push(Kind::DigitsExchanged, would_be, true));
    let scales = [(Kind::PointMoved, 10.0), (Kind::PointMoved, 0.1), (Kind::PointMoved, 100.0), (Kind::Volts, 1000.0)];
    for (kind, factor) in scales {
        let would_be = scaled(typed, factor);
        push(kind, would_be, steps_fit(readings, row, would_be.step));
    }
}

/// Whether a step is that of the other potentials and the one typed was not: a moved point leaves a digit too many or too
/// few behind it.
fn steps_fit(readings: &[Reading<'_>], row: usize, step: f64) -> bool {
    let others = || readings.iter().enumerate().filter(|(at, _)| *at != row).map(|(_, reading)| reading.mv.step);
    let same = |a: f64, b: f64| (a - b).abs() <= 1e-6 * a.abs().max(b.abs());
    others().next().is_some() && others().all(|other| same(other, step))
}

/// A number with each pair of neighbouring digits exchanged.
fn neighbours(typed: Typed) -> Vec<Typed> {
    let whole = (typed.value.abs() / typed.step).round();
    // Beyond nine digits it is no reading; an exact figure has no digits to exchange.
    if !(whole.is_finite() && (10.0..1e9).contains(&whole)) {
        return Vec::new();
    }
    let digits = format!("{whole:.0}").into_bytes();
    let mut out = Vec::new();
    for at in 1..digits.len() {
        let mut swapped = digits.clone();
        swapped.swap(at - 1, at);
        let number = swapped.iter().fold(0.0, |number, digit| 10.0 * number + f64::from(digit - b'0'));
        if swapped != digits {
            out.push(Typed { value: tidy(typed.value.signum() * number * typed.step), step: typed.step });
        }
    }
    out
}

fn scaled(typed: Typed, factor: f64) -> Typed {
    Typed { value: tidy(typed.value * factor), step: tidy(typed.step * factor.abs()) }
}

/// Takes the binary dust off a number moved by powers of ten: to nine decimals.
fn tidy(value: f64) -> f64 {
    let tidy = (value * 1e9).round() / 1e9;
    if tidy.is_finite() { tidy } else { value }
}

fn looks_like_ph(reading: &Reading<'_>) -> bool {
    let ph = reading.value.ph(reading.temperature_c.value);
    ph.is_ok_and(|ph| (reading.mv.value - ph).abs() <= NEAR_PH)
}

/// Potentials that are a pH, taken out: the rest must stand.
fn ph_as_mv<'a>(readings: &[Reading<'a>], changes: &mut Vec<Change<'a>>) {
    let tells = |reading: &Reading<'_>| {
        let shown = reading.shown.is_some_and(|shown| shown == reading.mv);
        looks_like_ph(reading) && (shown || reading.mv.step <= PH_STEP + 1e-9)
    };
    let is_ph: Vec<usize> = (0..readings.len()).filter(|&row| tells(&readings[row])).collect();
    if let Some(&row) = is_ph.first() {
        let rest: Vec<Reading<'a>> =
            (0..readings.len()).filter(|row| !is_ph.contains(row)).map(|row| readings[row]).collect();
        let all = rest.is_empty();
        changes.push(Change {
            slip: Slip { all, ..slip(Kind::PhAsMv, Figure::Mv, row) },
            rows: rest,
            digits_fit: true,
        });
    }
}

/// Where no line is left to judge: whether the digits alone tell a pH, because all are alike or the others have fewer.
pub(super) fn digits_tell_ph(readings: &[Reading<'_>], left: usize) -> bool {
    let fine = readings.iter().filter(|reading| reading.mv.step <= PH_STEP + 1e-9).count();
    fine > 0 && (left == 0 || fine + left == readings.len())
}

/// Another buffer in the bottle, in every reading that names it.
fn families<'a>(readings: &[Reading<'a>], now: &View, published: &'a [BufferValue], changes: &mut Vec<Change<'a>>) {
    for (row, reading) in readings.iter().enumerate() {
        if readings[..row].iter().any(|before| before.standard == reading.standard) {
            continue;
        }
        for (value, buffer) in published.iter().zip(Buffer::ALL) {
            if !is_near(reading, value) || !(now.gravity().is_some() || shows(readings, row, value)) {
                continue;
            }
            let in_bottle = |other: &Reading<'a>| match other.standard == reading.standard {
                true => Reading { value, ..*other },
                false => *other,
            };
            let slip = Slip { buffer: Some(buffer), ..slip(Kind::BufferFamily, Figure::Standard, row) };
            changes.push(Change { slip, rows: readings.iter().map(in_bottle).collect(), digits_fit: true });
        }
    }
}

fn is_near(reading: &Reading<'_>, value: &BufferValue) -> bool {
    let t = reading.temperature_c.value;
    let apart = Option::zip(reading.value.ph(t).ok(), value.ph(t).ok());
    apart.is_some_and(|(named, other)| FAMILY_APART_PH.contains(&(named - other).abs()))
}

/// Whether the display is right in every buffer when the one of `row` is another, and wrong there as named.
fn shows(readings: &[Reading<'_>], row: usize, value: &BufferValue) -> bool {
    let is_right = |reading: &Reading<'_>| {
        let of = if reading.standard == readings[row].standard { value } else { reading.value };
        let ph = of.ph(reading.temperature_c.value).ok();
        Option::zip(reading.shown, ph).is_some_and(|(shown, ph)| (shown.value - ph).abs() <= SHOWN_WITHIN_PH)
    };
    is_near(&readings[row], value) && readings.len() > 1 && readings.iter().all(is_right)
}

/// Slips in temperatures: °F throughout or once, digits exchanged, the point moved.
fn temperatures<'a>(readings: &[Reading<'a>], changes: &mut Vec<Change<'a>>) {
    let celsius = |typed: Typed| Typed { value: (typed.value - 32.0) / 1.8, step: typed.step };
    if readings.iter().all(|reading| !USUAL_C.contains(&reading.temperature_c.value)) {
        let rows = readings
            .iter()
            .map(|reading| Reading { temperature_c: celsius(reading.temperature_c), ..*reading })
            .collect();
        let would_be = readings.first().map(|reading| celsius(reading.temperature_c));
        let slip = Slip { all: true, would_be, ..slip(Kind::Fahrenheit, Figure::Temperature, 0) };
        changes.push(Change { slip, rows, digits_fit: true });
    }
    for (row, reading) in readings.iter().enumerate() {
        let typed = reading.temperature_c;
        let mut push = |kind: Kind, would_be: Typed| {
            let mut rows = readings.to_vec();
            rows[row].temperature_c = would_be;
            let slip = Slip { would_be: Some(would_be), ..slip(kind, Figure::Temperature, row) };
            changes.push(Change { slip, rows, digits_fit: true });
        };
        push(Kind::Fahrenheit, celsius(typed));
        push(Kind::PointMoved, scaled(typed, 10.0));
        push(Kind::PointMoved, scaled(typed, 0.1));
        neighbours(typed).into_iter().for_each(|would_be| push(Kind::DigitsExchanged, would_be));
    }
}
