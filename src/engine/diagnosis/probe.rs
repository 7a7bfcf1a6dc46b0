//! Rules over a pH probe in its buffers: slope, offset, response, repeats, resistances.

use super::effect::{On, Outcome, effect};
use super::{Answer, Evidence, Figure, Severity, State, Step, figures, weighed};
use crate::visit::RemedyKind;
use std::collections::BTreeMap;

/// Slopes from here on are good, percent. Source: common practice, no source: a new probe gives at least 90 %.
pub(super) const GOOD_FROM_PERCENT: f64 = 90.0;
/// Below this slope service is due, percent. Source: common practice, no source.
const SERVICE_BELOW_PERCENT: f64 = 80.0;
/// Below this slope the loop is no better than 0.1 pH, percent. Source: common practice, no source.
const POOR_BELOW_PERCENT: f64 = 70.0;
/// Slopes beyond come from a buffer, percent. Source: common practice, no source (102 % of a common laboratory rule).
const HIGH_ABOVE_PERCENT: f64 = 102.0;
/// … and ask for attention. Source: USP <791>: slope 90.0 % to 105.0 % (second hand).
const HIGH_ATTENTION_PERCENT: f64 = 105.0;
/// … and are beyond any probe. Source: common practice, no source.
const HIGH_SERIOUS_PERCENT: f64 = 115.0;
/// Below this magnitude a probe gives about the same in every buffer, percent.
///
/// Source: ASTM D1287 (extract): a cracked electrode reads about the same in both buffers; the figure is common practice.
const SAME_WITHIN_PERCENT: f64 = 10.0;
/// Halves of the slope farther apart disagree, percent points. Source: common practice, no source.
const HALVES_WITHIN_PERCENT: f64 = 5.0;
/// Offsets within are usual, mV. Source: USP <791>: 0 ± 30 mV (second hand).
pub(super) const OFFSET_USUAL_MV: f64 = 30.0;
/// Offsets beyond are serious, mV. Source: common practice, no source: in pH 7 within ±50 mV.
const OFFSET_SERIOUS_MV: f64 = 50.0;
/// Offsets farther from the stored one have moved, mV.
///
/// Source: common practice, no source: about 0.2 pH, the error commonly allowed as found.
pub(super) const OFFSET_MOVED_MV: f64 = 12.0;
/// The same potential everywhere within this of 0 mV is a short or a crack; farther off, an open circuit.
///
/// Source: common practice, no source: twice the offset any probe may have.
const NEAR_ZERO_MV: f64 = 100.0;
/// No buffer gives a potential beyond, mV.
///
/// Source: 7 pH at the theoretical slope of 100 °C (74 mV) and an offset of 50 mV make 568 mV.
const OFF_SCALE_MV: f64 = 570.0;
/// Waiting longer for a buffer is slow, s. Source: common practice, no source: T95 below 1 min is usual, three times that told.
const SLOW_WAIT_S: f64 = 170.0;
/// A time to within 0.01 pH beyond is slow, s. Source: the built-in warn limit of settling, common practice.
const SLOW_SETTLING_S: f64 = 120.0;
/// Drift beyond has not settled, mV/min. Source: common practice, no source: 0.02 pH/min.
const DRIFT_MV_PER_MIN: f64 = 1.2;
/// Scatter of a trace beyond is noise, mV. Source: common practice, no source.
const NOISE_MV: f64 = 1.0;
/// Readings of one buffer farther apart differ, mV.
///
/// Source: European Pharmacopoeia 11.0, 2.2.3: a meter discriminates 0.05 pH or 3 mV; ASTM D1287 asks for 0.05 pH (extract).
const REPEAT_WITHIN_MV: f64 = 3.0;
/// Glass below is cracked or bridged by moisture, MΩ, at 25 °C. Source: common practice, no source (1 to 5 MΩ, from memory).
const GLASS_LOW_MOHM: f64 = 5.0;
/// Glass above is dry or open, MΩ, at 25 °C. Source: common practice, no source (1 to 2 GΩ, from memory).
const GLASS_HIGH_MOHM: f64 = 1000.0;
/// … and certainly open. Source: as [`GLASS_HIGH_MOHM`].
const GLASS_OPEN_MOHM: f64 = 2000.0;
/// Warming that halves the resistance of glass, °C. Source: common practice, no source (7 to 10 °C, from memory).
const GLASS_HALVES_PER_C: f64 = 8.0;
/// A reference above is rising, kΩ. Source: common practice, no source (new 1 to 10 kΩ, warned from 20 to 50 kΩ, from memory).
const REFERENCE_TOLD_KOHM: f64 = 20.0;
/// … and blocked. Source: as [`REFERENCE_TOLD_KOHM`].
const REFERENCE_BLOCKED_KOHM: f64 = 50.0;
/// So many remedies that gained nothing are enough.
///
/// Source: common practice, no source: after two honest attempts stop and replace.
const HONEST_ATTEMPTS: usize = 2;

/// What two buffers at the ends give and what they should: potentials read and due, mV, and the pH of the ends.
fn ends(state: &State) -> Vec<Figure> {
    let points = || state.readings.iter().filter_map(|r| Some((r.theoretical_mv?, r.mv?, r.value)));
    let low = points().min_by(|a, b| a.2.total_cmp(&b.2).then(a.1.total_cmp(&b.1)));
    let high = points().max_by(|a, b| a.2.total_cmp(&b.2).then(a.1.total_cmp(&b.1)));
    let both = Option::zip(low, high).filter(|(low, high)| high.2 - low.2 >= 1.0);
    figures([
        ("low_end_ph", both.map(|(low, _)| low.2)),
        ("high_end_ph", both.map(|(_, high)| high.2)),
        ("span_mv", both.map(|(low, high)| low.1 - high.1)),
        ("due_mv", both.map(|(low, high)| low.0 - high.0)),
    ])
}

fn with_ends(state: &State, mut own: Vec<Figure>) -> Vec<Figure> {
    own.extend(ends(state));
    own
}

fn low_slope(slope: f64) -> Option<Severity> {
    weighed(-slope, -GOOD_FROM_PERCENT, -SERVICE_BELOW_PERCENT, -POOR_BELOW_PERCENT)
}

/// How far the offset moved from the stored one, mV.
fn moved(state: &State) -> Option<f64> {
    Some(state.offset_mv? - state.stored_offset_mv?)
}

fn offset_is_off(state: &State) -> bool {
    let beyond = |value: Option<f64>, bound: f64| value.is_some_and(|value| value.abs() > bound);
    beyond(state.offset_mv, OFFSET_USUAL_MV) || beyond(moved(state), OFFSET_MOVED_MV)
}

/// Low slope; `moved` says whether the offset went with it.
fn low(state: &State, with_offset: bool) -> Answer {
    let Some(slope) = state.slope_percent else { return Answer::Unknown };
    let severity = low_slope(slope).filter(|_| offset_is_off(state) == with_offset);
    let halves = Option::zip(state.acid_percent, state.alkaline_percent);
    let halves = halves.filter(|(acid, alkaline)| (acid - alkaline).abs() <= HALVES_WITHIN_PERCENT);
    Answer::of(severity.map(|severity| {
        let own = figures([
            ("slope_percent", Some(slope)),
            ("offset_mv", state.offset_mv),
            ("stored_offset_mv", state.stored_offset_mv),
            ("acid_percent", halves.map(|(acid, _)| acid)),
            ("alkaline_percent", halves.map(|(_, alkaline)| alkaline)),
            ("slow_wait_s", state.longest_wait_s().filter(|wait| *wait > SLOW_WAIT_S)),
            ("poor_percent", Some(slope).filter(|slope| *slope < POOR_BELOW_PERCENT)),
        ]);
        (severity, with_ends(state, own))
    }))
}

/// Low slope with a usual offset: glass, connector, temperature.
pub(super) fn slope_low(_: &Evidence, state: &State) -> Answer {
    low(state, false)
}

/// Low slope and a moved offset: the reference.
pub(super) fn slope_and_offset(_: &Evidence, state: &State) -> Answer {
    low(state, true)
}

/// One half low while the other is good.
fn half(low: Option<f64>, good: Option<f64>) -> Answer {
    let Some((low, good)) = Option::zip(low, good) else { return Answer::Unknown };
    let disagree = good - low > HALVES_WITHIN_PERCENT && good >= GOOD_FROM_PERCENT;
    let severity = low_slope(low).unwrap_or(Severity::Note);
    let own = || figures([("half_percent", Some(low)), ("other_half_percent", Some(good))]);
    Answer::of(disagree.then(|| (severity, own())))
}

/// Acid half low, alkaline half good.
pub(super) fn acid_half(_: &Evidence, state: &State) -> Answer {
    half(state.acid_percent, state.alkaline_percent)
}

/// Alkaline half low, acid half good.
pub(super) fn alkaline_half(_: &Evidence, state: &State) -> Answer {
    half(state.alkaline_percent, state.acid_percent)
}

/// A slope that no probe gives.
pub(super) fn slope_high(_: &Evidence, state: &State) -> Answer {
    let Some(slope) = state.slope_percent else { return Answer::Unknown };
    let severity = weighed(slope, HIGH_ABOVE_PERCENT, HIGH_ATTENTION_PERCENT, HIGH_SERIOUS_PERCENT);
    Answer::of(severity.map(|severity| (severity, with_ends(state, figures([("slope_percent", Some(slope))])))))
}

/// A new probe below what a new probe gives.
pub(super) fn new_probe_low(_: &Evidence, state: &State) -> Answer {
    let Some(slope) = state.slope_percent.filter(|_| state.new_probe) else { return Answer::Unknown };
    let low = slope < GOOD_FROM_PERCENT;
    Answer::of(low.then(|| (Severity::Attention, with_ends(state, figures([("slope_percent", Some(slope))])))))
}

/// Large or moved offset with a good slope.
pub(super) fn offset_off(_: &Evidence, state: &State) -> Answer {
    let Some((slope, offset)) = Option::zip(state.slope_percent, state.offset_mv) else { return Answer::Unknown };
    let severity = if offset.abs() > OFFSET_SERIOUS_MV { Severity::Serious } else { Severity::Attention };
    let own = || {
        figures([
            ("offset_mv", Some(offset)),
            ("slope_percent", Some(slope)),
            ("offset_moved_mv", moved(state)),
            ("reference_kohm", state.reference_kohm),
        ])
    };
    Answer::of((slope >= GOOD_FROM_PERCENT && offset_is_off(state)).then(|| (severity, own())))
}

/// Acid is negative against neutral.
pub(super) fn reversed(_: &Evidence, state: &State) -> Answer {
    let Some(slope) = state.slope_percent else { return Answer::Unknown };
    let own = || with_ends(state, figures([("slope_percent", Some(slope))]));
    Answer::of((slope <= -SAME_WITHIN_PERCENT).then(|| (Severity::Serious, own())))
}

/// The least and the greatest potential where the probe gives about the same in every buffer.
fn same_everywhere(state: &State) -> Option<(f64, f64)> {
    state.slope_percent.filter(|slope| slope.abs() < SAME_WITHIN_PERCENT)?;
    let potentials = || state.readings.iter().filter_map(|reading| reading.mv);
    Option::zip(potentials().reduce(f64::min), potentials().reduce(f64::max))
}

/// About 0 mV in every buffer: crack or short.
pub(super) fn no_response(evidence: &Evidence, state: &State) -> Answer {
    if state.slope_percent.is_none() {
        return Answer::Unknown;
    }
    let same = same_everywhere(state).filter(|(low, high)| low.abs() <= NEAR_ZERO_MV && high.abs() <= NEAR_ZERO_MV);
    Answer::of(same.map(|(low, high)| {
        let own = [
            ("least_mv", Some(low)),
            ("most_mv", Some(high)),
            ("slope_percent", state.slope_percent),
            ("glass_mohm", state.glass.map(|(mohm, _)| mohm)),
            ("wiring_step", wiring_step(evidence)),
        ];
        (Severity::Serious, with_ends(state, figures(own)))
    }))
}

/// Off scale, or stuck far from 0 mV: open circuit.
pub(super) fn off_scale(_: &Evidence, state: &State) -> Answer {
    let potentials = || state.readings.iter().filter_map(|reading| reading.mv);
    if potentials().next().is_none() {
        return Answer::Unknown;
    }
    let greatest = potentials().reduce(|a, b| if b.abs() > a.abs() || (b.abs() == a.abs() && b > a) { b } else { a });
    let beyond = greatest.filter(|mv| mv.abs() > OFF_SCALE_MV);
    let stuck = same_everywhere(state).filter(|(low, high)| low.abs() > NEAR_ZERO_MV || high.abs() > NEAR_ZERO_MV);
    let own = figures([
        ("beyond_mv", beyond),
        ("least_mv", stuck.filter(|_| beyond.is_none()).map(|(low, _)| low)),
        ("most_mv", stuck.filter(|_| beyond.is_none()).map(|(_, high)| high)),
    ]);
    Answer::of((beyond.is_some() || stuck.is_some()).then_some((Severity::Serious, own)))
}

/// Slow: the longest wait, or the settling time of a trace.
pub(super) fn slow(_: &Evidence, state: &State) -> Answer {
    let settling = state.readings.iter().filter_map(|reading| reading.time_to_0_01_ph_s).reduce(f64::max);
    let (wait, slope) = (state.longest_wait_s(), state.slope_percent);
    if settling.is_none() && wait.is_none() {
        return Answer::Unknown;
    }
    let slow = settling.filter(|settling| *settling > SLOW_SETTLING_S);
    let long = wait.filter(|wait| *wait > SLOW_WAIT_S);
    let severity = if slow.is_some() { Severity::Attention } else { Severity::Note };
    let own = figures([("settling_s", slow), ("wait_s", long), ("slope_percent", slope)]);
    Answer::of((slow.is_some() || long.is_some()).then_some((severity, own)))
}

/// Read before it had settled.
pub(super) fn not_settled(_: &Evidence, state: &State) -> Answer {
    let open = state.readings.iter().filter(|reading| reading.settled != Some(true));
    let drift = open.filter_map(|reading| reading.drift_mv_per_min);
    let drift = drift.reduce(|a, b| if b.abs() > a.abs() || (b.abs() == a.abs() && b > a) { b } else { a });
    let unsettled = state.readings.iter().filter(|reading| reading.settled == Some(false)).count();
    if drift.is_none() && state.readings.iter().all(|reading| reading.settled.is_none()) {
        return Answer::Unknown;
    }
    let drifts = drift.filter(|drift| drift.abs() > DRIFT_MV_PER_MIN);
    let own =
        figures([("unsettled_readings", (unsettled > 0).then_some(unsettled as f64)), ("drift_mv_per_min", drifts)]);
    Answer::of((unsettled > 0 || drifts.is_some()).then_some((Severity::Attention, own)))
}

/// Readings of one buffer: pH, spread in mV and how many, the widest spread first.
fn widest_repeat(state: &State) -> Option<(f64, f64, usize)> {
    let mut standards: BTreeMap<usize, (f64, f64, f64, usize)> = BTreeMap::new();
    for reading in &state.readings {
        let Some((mv, theoretical_mv)) = Option::zip(reading.mv, reading.theoretical_mv) else { continue };
        let off = mv - theoretical_mv;
        let (value, low, high, count) = standards.entry(reading.standard).or_insert((reading.value, off, off, 0));
        (*value, *low, *high, *count) = (value.max(reading.value), low.min(off), high.max(off), *count + 1);
    }
    let repeated = standards.into_values().filter(|(_, _, _, count)| *count > 1);
    let spread = repeated.map(|(value, low, high, count)| (value, high - low, count));
    spread.max_by(|a, b| a.1.total_cmp(&b.1).then(a.0.total_cmp(&b.0)))
}

/// A buffer measured twice differs: drift or carry-over.
pub(super) fn repeat(_: &Evidence, state: &State) -> Answer {
    let Some((value, spread, count)) = widest_repeat(state) else { return Answer::Unknown };
    let own = || figures([("repeat_ph", Some(value)), ("apart_mv", Some(spread))]);
    Answer::of((count == 2 && spread > REPEAT_WITHIN_MV).then(|| (Severity::Attention, own())))
}

/// Noise on a trace, or three and more readings of one buffer that jump.
pub(super) fn noisy(_: &Evidence, state: &State) -> Answer {
    let noise = state.readings.iter().filter_map(|reading| reading.noise_mv).reduce(f64::max);
    let repeat = widest_repeat(state).filter(|(_, _, count)| *count > 2);
    if noise.is_none() && repeat.is_none() {
        return Answer::Unknown;
    }
    let noise = noise.filter(|noise| *noise > NOISE_MV);
    let jumps = repeat.filter(|(_, spread, _)| *spread > REPEAT_WITHIN_MV);
    let own = figures([
        ("noise_mv", noise),
        ("jumps_mv", jumps.map(|(_, spread, _)| spread)),
        ("jumps_ph", jumps.map(|(value, _, _)| value)),
    ]);
    Answer::of((noise.is_some() || jumps.is_some()).then_some((Severity::Attention, own)))
}

/// Resistance of the glass brought to 25 °C, MΩ.
fn glass_at_25(glass: (f64, Option<f64>)) -> f64 {
    glass.0 * 2f64.powf((glass.1.unwrap_or(25.0) - 25.0) / GLASS_HALVES_PER_C)
}

/// Glass near zero: crack or moisture.
pub(super) fn glass_low(evidence: &Evidence, state: &State) -> Answer {
    let Some(glass) = state.glass else { return Answer::Unknown };
    let own = || {
        figures([
            ("glass_mohm", Some(glass.0)),
            ("slope_percent", state.slope_percent),
            ("wiring_step", wiring_step(evidence)),
        ])
    };
    Answer::of((glass_at_25(glass) < GLASS_LOW_MOHM).then(|| (Severity::Serious, own())))
}

/// Glass far too high: dry or open.
pub(super) fn glass_high(_: &Evidence, state: &State) -> Answer {
    let Some(glass) = state.glass else { return Answer::Unknown };
    let at_25 = glass_at_25(glass);
    let severity = weighed(at_25, GLASS_HIGH_MOHM, GLASS_HIGH_MOHM, GLASS_OPEN_MOHM);
    Answer::of(
        severity.map(|severity| (severity, figures([("glass_mohm", Some(glass.0)), ("glass_25c_mohm", Some(at_25))]))),
    )
}

/// Reference rising: blocked junction or drying out.
pub(super) fn reference_high(_: &Evidence, state: &State) -> Answer {
    let Some(kohm) = state.reference_kohm else { return Answer::Unknown };
    let severity = weighed(kohm, REFERENCE_TOLD_KOHM, REFERENCE_BLOCKED_KOHM, f64::INFINITY);
    let own = || figures([("reference_kohm", Some(kohm)), ("offset_mv", state.offset_mv)]);
    Answer::of(severity.map(|severity| (severity, own())))
}

/// Work on what lies between probe and analyser.
fn is_wiring(kind: RemedyKind) -> bool {
    matches!(kind, RemedyKind::ConnectorDried | RemedyKind::CableReplaced | RemedyKind::WiringCorrected)
}

/// The first step of work on the wiring that did not help, counted from 1.
fn wiring_step(evidence: &Evidence) -> Option<f64> {
    let idle = |step: &Step| effect(step).is_some_and(|effect| !effect.outcome.helped());
    let position = evidence.steps.iter().position(|step| is_wiring(step.kind) && idle(step))?;
    Some(position as f64 + 1.0)
}

/// Honest attempts gained nothing and the slope is still low: wiring once more, then condemn.
pub(super) fn remedies_failed(evidence: &Evidence, state: &State) -> Answer {
    let Some(slope) = state.slope_percent else { return Answer::Unknown };
    let of_this_probe = evidence.steps.iter().take_while(|step| step.kind != RemedyKind::ProbeReplaced);
    let tried: Vec<_> = of_this_probe.filter_map(|step| Some((step, effect(step)?))).collect();
    let idle = tried
        .iter()
        .filter(|(step, effect)| effect.on == On::Slope && !effect.outcome.helped() && !is_wiring(step.kind));
    let (idle, worse) = (idle.clone().count(), idle.filter(|(_, effect)| effect.outcome == Outcome::Worse).count());
    let helped = tried.iter().any(|(_, effect)| effect.outcome.helped());
    let last = tried.iter().filter_map(|(step, _)| step.after.slope_percent).next_back();
    let failed = slope < GOOD_FROM_PERCENT && !state.new_probe && idle >= HONEST_ATTEMPTS && !helped;
    let own = || {
        figures([
            ("slope_percent", Some(slope)),
            ("last_slope_percent", last),
            ("attempts", Some(idle as f64)),
            ("worse_attempts", (worse > 0).then_some(worse as f64)),
            ("wiring_step", wiring_step(evidence)),
        ])
    };
    Answer::of(failed.then(|| (Severity::Serious, own())))
}
