//! What a remedy did, judged on what it can act on.

use super::probe::{GOOD_FROM_PERCENT, OFFSET_MOVED_MV, OFFSET_USUAL_MV};
use super::redox::ERROR_TOLD_MV;
use super::{Snapshot, Step};
use crate::visit::RemedyKind;
use serde::Serialize;

/// Smallest telling gain in slope, percent points, where the uncertainty of the gain is not known.
///
/// Source: common practice, no source: two readings taken twice in the same buffers seldom differ by more.
pub(super) const TELLING_SLOPE_PERCENT: f64 = 2.0;
/// Smallest telling move of the offset, mV, where its uncertainty is not known.
///
/// Source: European Pharmacopoeia 11.0, 2.2.3: a meter discriminates 0.05 pH or 3 mV; taken as what tells two readings apart.
const TELLING_OFFSET_MV: f64 = 3.0;
/// Smallest telling change of a redox error, mV.
///
/// Source: common practice, no source: half of the check criterion of ±10 mV.
const TELLING_REDOX_MV: f64 = 5.0;
/// A response is faster when the longest wait fell to this part of what it was …
///
/// Source: common practice, no source.
const FASTER_PART: f64 = 0.5;
/// … and was at least so long before, s.
///
/// Source: common practice, no source: a minute a buffer is usual.
const WAIT_TELLS_FROM_S: f64 = 90.0;

/// What a remedy was judged on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum On {
    /// Slope, percent points.
    Slope,
    /// Offset at pH 7, mV.
    Offset,
    /// Waiting time, s.
    Response,
    /// Redox: largest error, mV.
    Error,
}

/// How it came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Outcome {
    /// The figure is good afterwards.
    #[serde(rename = "worked")]
    Worked,
    /// It moved the right way, and not far enough.
    #[serde(rename = "helped")]
    Helped,
    /// It did not move by more than chance.
    #[serde(rename = "no effect")]
    NoEffect,
    /// It moved the wrong way.
    #[serde(rename = "worse")]
    Worse,
    /// The remedy does not act on what was wrong, and did not.
    #[serde(rename = "does not act")]
    DoesNotAct,
}

impl Outcome {
    /// Whether it moved the right way.
    pub fn helped(self) -> bool {
        match self {
            Outcome::Worked | Outcome::Helped => true,
            Outcome::NoEffect | Outcome::Worse | Outcome::DoesNotAct => false,
        }
    }
}

/// What a remedy did.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// How it came out.
    pub outcome: Outcome,
    /// What it was judged on.
    pub on: On,
    /// Before it, in the unit of `on`; of offset the distance from its place, of error the magnitude.
    pub before: f64,
    /// After it.
    pub after: f64,
    /// How many remedies before it without readings of their own share the gain.
    pub together: usize,
}

impl Effect {
    /// After minus before; less is better but for the slope.
    pub fn gain(&self) -> f64 {
        self.after - self.before
    }
}

/// Outcome, what it was judged on, before and after.
type Judged = (On, Outcome, f64, f64);

/// What a step did; `None` where readings are missing or nothing was wrong and nothing changed.
pub fn effect(step: &Step) -> Option<Effect> {
    let judged = [on_slope(step), on_error(step), on_offset(step), on_response(step)];
    let told = judged.iter().flatten().find(|(_, outcome, ..)| *outcome != Outcome::NoEffect);
    let (on, outcome, before, after) = *told.or(judged.iter().flatten().next())?;
    let outcome = match outcome {
        Outcome::NoEffect if !acts_on(step.kind, on) => Outcome::DoesNotAct,
        outcome => outcome,
    };
    Some(Effect { outcome, on, before, after, together: step.unmeasured_before })
}

/// What a remedy can act on in a standard.
///
/// After common practice, no source: a clogged junction slows the response and moves the offset and does not lower the
/// slope; a spent reference solution does both; earthing shows in the process only.
fn acts_on(kind: RemedyKind, on: On) -> bool {
    use RemedyKind::*;
    match kind {
        JunctionCleaned | JunctionRenewed => matches!(on, On::Offset | On::Response),
        EarthingCorrected | TemperatureElementReplaced | OutputRescaled => false,
        MetalPolished => matches!(on, On::Error | On::Response),
        Rinsed | Wiped | Detergent | AcidSoak | PepsinSoak | Bleach | RehydratedInBuffer | StorageSoak => true,
        BubbleRemoved | ElectrolyteToppedUp | ReferenceSolutionReplaced => true,
        ConnectorDried | CableReplaced | WiringCorrected | AnalyserReplaced | ProbeReplaced | Other => true,
    }
}

/// What is known before and after.
fn both(step: &Step, of: fn(&Snapshot) -> Option<f64>) -> Option<(f64, f64)> {
    Option::zip(of(&step.before), of(&step.after))
}

/// The slope where it was low, or changed.
fn on_slope(step: &Step) -> Option<Judged> {
    let (before, after) = both(step, |snapshot| snapshot.slope_percent)?;
    let (gain, telling) = (after - before, step.slope_gained_uncertainty.unwrap_or(TELLING_SLOPE_PERCENT));
    let was_low = before < GOOD_FROM_PERCENT;
    let outcome = match gain {
        gain if gain >= telling && after >= GOOD_FROM_PERCENT => Outcome::Worked,
        gain if gain >= telling => Outcome::Helped,
        gain if gain <= -telling => Outcome::Worse,
        _ if was_low => Outcome::NoEffect,
        _ => return None,
    };
    Some((On::Slope, outcome, before, after))
}

/// How far an offset is from where it belongs: from the stored one where that is known, else from 0.
fn off_place(step: &Step, offset: f64) -> f64 {
    (offset - step.stored_offset_mv.unwrap_or(0.0)).abs()
}

/// The offset where it had moved away.
fn on_offset(step: &Step) -> Option<Judged> {
    let (before, after) = both(step, |snapshot| snapshot.offset_mv)?;
    let telling = step.offset_moved_uncertainty.unwrap_or(TELLING_OFFSET_MV);
    let good = if step.stored_offset_mv.is_some() { OFFSET_MOVED_MV } else { OFFSET_USUAL_MV };
    let was_beyond = before.abs() > OFFSET_USUAL_MV;
    let (before, after) = (off_place(step, before), off_place(step, after));
    let (gain, was_off) = (after - before, before > good || was_beyond);
    let outcome = match gain {
        _ if !was_off && gain < good => return None,
        gain if gain <= -telling && after <= good => Outcome::Worked,
        gain if gain <= -telling => Outcome::Helped,
        gain if gain >= telling => Outcome::Worse,
        _ => Outcome::NoEffect,
    };
    Some((On::Offset, outcome, before, after))
}

/// The waiting time where it was long.
fn on_response(step: &Step) -> Option<Judged> {
    let (before, after) = both(step, |snapshot| snapshot.waited_s)?;
    let faster = before >= WAIT_TELLS_FROM_S && after <= FASTER_PART * before;
    faster.then_some((On::Response, Outcome::Worked, before, after))
}

/// Redox: the largest error where it was large.
fn on_error(step: &Step) -> Option<Judged> {
    let (before, after) = both(step, |snapshot| snapshot.worst_error_mv)?;
    let (before, after) = (before.abs(), after.abs());
    let gain = after - before;
    let outcome = match gain {
        _ if before <= ERROR_TOLD_MV && gain.abs() < TELLING_REDOX_MV => return None,
        gain if gain <= -TELLING_REDOX_MV && after <= ERROR_TOLD_MV => Outcome::Worked,
        gain if gain <= -TELLING_REDOX_MV => Outcome::Helped,
        gain if gain >= TELLING_REDOX_MV => Outcome::Worse,
        _ => Outcome::NoEffect,
    };
    Some((On::Error, outcome, before, after))
}
