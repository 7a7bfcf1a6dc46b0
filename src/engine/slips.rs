//! The single slip of the pen that makes an implausible set of readings plausible.
//!
//! Comes in: the readings of one state with the digits typed, the value of each standard at any temperature, what the
//! analyser holds. Goes out: whether the set is implausible, and every single change that would make everything
//! plausible at once: the line, the temperatures, and what the analyser showed for these potentials. Nothing is changed.
//! Next: [`crate::record`].
//!
//! Only implausible sets are searched. A weak or dead probe is a verdict and not a slip: what the analyser showed, and the
//! number of digits typed, must speak for a change wherever they can.

mod changes;
mod view;

use super::Typed;
use super::shown::Stored;
use crate::reference::buffers::{Buffer, BufferValue};
use changes::Change;
use view::View;

/// One reading as typed.
#[derive(Debug, Clone, Copy)]
pub struct Reading<'a> {
    /// Which standard it names; equal for readings in the same one.
    pub standard: usize,
    /// The value of that standard.
    pub value: &'a BufferValue,
    /// Potential, mV.
    pub mv: Typed,
    /// Temperature of the standard, °C.
    pub temperature_c: Typed,
    /// pH on the display.
    pub shown: Option<Typed>,
}

/// The slips that are searched for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Two standards stand for each other.
    BuffersExchanged,
    /// A sign is missing or too many, in one potential or in all.
    SignLost,
    /// Two neighbouring digits stand for each other.
    DigitsExchanged,
    /// The decimal point stands elsewhere.
    PointMoved,
    /// A temperature in °F stands for °C.
    Fahrenheit,
    /// A potential in V stands for mV.
    Volts,
    /// The bottle was another buffer than the one named.
    BufferFamily,
    /// A pH stands where the potential is due.
    PhAsMv,
    /// Readings as left repeat those as found.
    CopiedFromAsFound,
    /// Shown values repeat the values of the buffers.
    CopiedFromTarget,
    /// A stated figure that the readings do not give.
    StatedDisagrees,
}

impl Kind {
    /// Whether digits or display alone tell it.
    const fn shows_in_a_plausible_line(self) -> bool {
        matches!(self, Kind::PhAsMv | Kind::BufferFamily)
    }

    /// Code in the record, never given another meaning.
    pub const fn code(self) -> &'static str {
        match self {
            Kind::BuffersExchanged => "buffers-exchanged",
            Kind::SignLost => "sign-lost",
            Kind::DigitsExchanged => "digits-exchanged",
            Kind::PointMoved => "point-moved",
            Kind::Fahrenheit => "fahrenheit",
            Kind::Volts => "volts",
            Kind::BufferFamily => "buffer-family",
            Kind::PhAsMv => "ph-as-mv",
            Kind::CopiedFromAsFound => "copied-from-as-found",
            Kind::CopiedFromTarget => "copied-from-target",
            Kind::StatedDisagrees => "stated-disagrees",
        }
    }
}

/// The typed figure that a slip concerns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// The name of the standard.
    Standard,
    /// The potential.
    Mv,
    /// The temperature.
    Temperature,
}

/// One single slip that would explain the set, with the figures it would give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slip {
    /// Which slip.
    pub kind: Kind,
    /// The figure concerned.
    pub figure: Figure,
    /// Position of the reading; the first of them where `all` is set.
    pub row: usize,
    /// Position of the other reading, where two stand for each other.
    pub other: Option<usize>,
    /// Whether every reading of the set has the slip.
    pub all: bool,
    /// What would stand there, mV or °C; `None` where it is no number or not known.
    pub would_be: Option<Typed>,
    /// The buffer that the bottle would be.
    pub buffer: Option<Buffer>,
    /// Slope that the set would have, percent; `None` where the rest of the set has none.
    pub slope_percent: Option<f64>,
    /// Offset that the set would have, mV.
    pub offset_mv: Option<f64>,
}

/// How implausible a set is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gravity {
    /// It computes, and something in it is odd.
    Odd,
    /// No probe gives such a line.
    Impossible,
    /// The line falls where it must rise.
    Reversed,
}

/// An implausible set with every single slip that would explain it, the most plausible result first; perhaps none.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspicion {
    /// How implausible the set is as typed.
    pub gravity: Gravity,
    /// Slope as typed, percent.
    pub slope_percent: Option<f64>,
    /// Offset as typed, mV.
    pub offset_mv: Option<f64>,
    /// At most [`MOST_NAMED`].
    pub slips: Vec<Slip>,
}

/// More explanations than these say nothing.
///
/// Source: our own choice.
pub const MOST_NAMED: usize = 4;

/// Sets of more readings are not searched: every pair of readings is tried.
///
/// Source: our own choice: nobody takes more in one state.
const MOST_READINGS: usize = 100;

/// Looks at one set of readings (excluded ones left out) and what the analyser holds; `None` for a plausible set.
///
/// ```
/// use halfcell::engine::{Typed, slips::{Kind, Reading, search}};
/// use halfcell::reference::buffers::{Buffer, BufferValue};
/// let (seven, four) = (BufferValue::published(Buffer::Phosphate), BufferValue::published(Buffer::Phthalate));
/// let reading = |standard, value, mv| Reading {
///     standard, value,
///     mv: Typed { value: mv, step: 0.1 },
///     temperature_c: Typed { value: 25.0, step: 0.1 },
///     shown: None,
/// };
/// let set = [reading(0, &seven, 168.4), reading(1, &four, 8.3)];
/// let suspicion = search(&set, None).unwrap();
/// assert_eq!(suspicion.slips[0].kind, Kind::BuffersExchanged);
/// assert!((suspicion.slips[0].slope_percent.unwrap() - 94.6).abs() < 0.05);
/// ```
pub fn search(readings: &[Reading<'_>], stored: Option<Stored>) -> Option<Suspicion> {
    if readings.len() > MOST_READINGS {
        return None;
    }
    let now = View::of(readings, stored);
    let published = Buffer::ALL.map(BufferValue::published);
    let by_line = now.gravity();
    if by_line.is_none() && !changes::is_suspect(readings, &published) {
        return None;
    }
    let gravity = by_line.unwrap_or(Gravity::Odd);
    // Nothing is wrong with a plausible line but what made it suspect.
    let is_meant = |change: &Change<'_>| by_line.is_some() || change.slip.kind.shows_in_a_plausible_line();
    let mut found: Vec<(f64, Slip)> = changes::of(readings, &now, &published)
        .into_iter()
        .filter(is_meant)
        .filter_map(|change| judged(change, readings, &now, stored, gravity))
        .collect();
    found.sort_by(|(one, a), (other, b)| one.total_cmp(other).then(a.kind.cmp(&b.kind)));
    let mut slips: Vec<Slip> = Vec::new();
    for (_, slip) in found {
        // Names exchanged and potentials exchanged are told once.
        let same = |told: &Slip| {
            let pair = |slip: &Slip| slip.other.map(|other| (slip.row.min(other), slip.row.max(other)));
            told.kind == slip.kind && told.other.is_some() && pair(told) == pair(&slip)
        };
        if !slips.iter().any(same) {
            slips.push(slip);
        }
    }
    slips.truncate(MOST_NAMED);
    Some(Suspicion { gravity, slope_percent: now.slope_percent, offset_mv: now.offset_mv, slips })
}

/// A change with the figures it gives and how far they are from a good probe, where everything is plausible with it.
fn judged(
    change: Change<'_>,
    before: &[Reading<'_>],
    now: &View,
    stored: Option<Stored>,
    gravity: Gravity,
) -> Option<(f64, Slip)> {
    let view = View::of(&change.rows, stored);
    let explains = match change.slip.kind {
        // What is typed as pH cannot be taken back to mV: the rest must stand, where there is a rest.
        Kind::PhAsMv if view.slope_percent.is_none() => changes::digits_tell_ph(before, change.rows.len()),
        _ if change.slip.figure == Figure::Temperature && !view.temperatures_are_one(change.slip.kind) => false,
        _ => view.is_good(gravity) && (change.digits_fit || view.display_speaks_for(now)),
    };
    let slip = Slip { slope_percent: view.slope_percent, offset_mv: view.offset_mv, ..change.slip };
    explains.then(|| (view.distance(), slip))
}

#[cfg(test)]
mod tests;
