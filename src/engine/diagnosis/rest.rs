//! Rules over the rest of the loop: temperature, output, process, stored calibration, check standard, fouling.

use super::{Answer, Evidence, OutputCheck, Severity, State, TemperatureCheck, figures, is_redox, weighed};
use crate::visit::RemedyKind;

/// Temperature errors beyond are told, °C. Source: common practice, no source (±0.5 °C in the field, from memory).
const TEMPERATURE_TOLD_C: f64 = 0.5;
/// … ask for attention. Source: common practice, no source.
const TEMPERATURE_ATTENTION_C: f64 = 1.0;
/// … are serious: 0.05 pH at pH 4. Source: common practice, no source.
const TEMPERATURE_SERIOUS_C: f64 = 5.0;
/// An element whose resistance means the true temperature within this is right, °C.
///
/// Source: IEC 60751:2008, class B: ±(0.30 + 0.005·|t|) °C, rounded up for the reading of the resistance.
const ELEMENT_WITHIN_C: f64 = 0.5;
/// Output errors beyond are told, percent of span. Source: common practice, no source.
const OUTPUT_TOLD_PERCENT: f64 = 0.5;
/// … ask for attention. Source: common practice, no source.
const OUTPUT_ATTENTION_PERCENT: f64 = 1.0;
/// … are serious. Source: common practice, no source.
const OUTPUT_SERIOUS_PERCENT: f64 = 5.0;
/// Currents within this of the mirrored one belong to a reversed range, mA. Source: common practice, no source: 0.5 % of span.
const REVERSED_WITHIN_MA: f64 = 0.08;
/// Middle of the current range, mA. Source: IEC 60381-1:1982, 4 mA to 20 mA.
const MIDDLE_MA: f64 = 12.0;
/// Near the middle a reversed range does not show, mA. Source: our own choice.
const REVERSED_SHOWS_MA: f64 = 0.5;
/// Differences to a sample beyond are told, pH.
///
/// Source: common practice, no source (±0.2 pH of end checks and monitors, from memory).
const SAMPLE_TOLD_PH: f64 = 0.2;
/// … in a redox loop, mV. Source: common practice, no source.
const SAMPLE_TOLD_MV: f64 = 20.0;
/// Buffers that good clear probe and calibration, pH. Source: a public operator training page: within ±0.1 pH in all buffers.
const BUFFERS_GOOD_PH: f64 = 0.1;
/// Solutions that good clear a redox probe, mV. Source: common practice, no source.
const SOLUTIONS_GOOD_MV: f64 = 10.0;
/// Older samples do not speak for the process, minutes. Source: 40 CFR Part 136, Table II: pH within 15 minutes.
const SAMPLE_WITHIN_MIN: f64 = 15.0;
/// Shown values farther from what the stored calibration gives are told, pH. Source: common practice, no source.
const STORED_TOLD_PH: f64 = 0.1;
/// … ask for attention. Source: common practice, no source.
const STORED_ATTENTION_PH: f64 = 0.2;
/// A check standard farther off is told, pH. Source: a public operator training page: third buffer within 0.1 pH or repeat.
const CHECK_TOLD_PH: f64 = 0.1;
/// Cleaning that moves the process value by more is told, pH.
///
/// Source: common practice, no source (USGS corrects a record from 0.2 pH of fouling and drift, from memory; half of it).
const FOULING_TOLD_PH: f64 = 0.1;
/// … asks for attention. Source: as [`FOULING_TOLD_PH`].
const FOULING_ATTENTION_PH: f64 = 0.2;
/// Cleaning that moves a redox value by more is told, mV. Source: common practice, no source.
const FOULING_TOLD_MV: f64 = 10.0;
/// … asks for attention. Source: common practice, no source.
const FOULING_ATTENTION_MV: f64 = 30.0;

/// The temperature shown is off.
pub(super) fn temperature(_: &Evidence, state: &State) -> Answer {
    let error = |check: &TemperatureCheck| check.error_c.map_or(0.0, f64::abs);
    let known = state.temperature.iter().filter(|check| check.error_c.is_some());
    let Some(worst) = known.max_by(|a, b| error(a).total_cmp(&error(b))) else { return Answer::Unknown };
    let severity = weighed(error(worst), TEMPERATURE_TOLD_C, TEMPERATURE_ATTENTION_C, TEMPERATURE_SERIOUS_C);
    let right = worst.element_error_c.filter(|error| error.abs() <= ELEMENT_WITHIN_C);
    let wrong = worst.element_error_c.filter(|error| error.abs() > ELEMENT_WITHIN_C);
    Answer::of(severity.map(|severity| {
        let own = figures([
            ("temperature_error_c", worst.error_c),
            ("cost_at_ph_4_ph", worst.cost_at_ph_4),
            ("right_element_error_c", right),
            ("wrong_element_error_c", wrong),
        ]);
        (severity, own)
    }))
}

fn outputs(state: &State) -> impl Iterator<Item = &OutputCheck> {
    state.output.iter().filter(|check| check.error_percent.is_some())
}

/// The output check with the largest of a kind of error.
fn worst(state: &State, of: fn(&OutputCheck) -> Option<f64>) -> Option<&OutputCheck> {
    let known = state.output.iter().filter(|check| of(check).is_some());
    known.max_by(|a, b| of(a).map_or(0.0, f64::abs).total_cmp(&of(b).map_or(0.0, f64::abs)))
}

fn weight(percent: f64) -> Option<Severity> {
    weighed(percent.abs(), OUTPUT_TOLD_PERCENT, OUTPUT_ATTENTION_PERCENT, OUTPUT_SERIOUS_PERCENT)
}

/// The current is that of a fault or of a saturated output.
pub(super) fn output_fault(_: &Evidence, state: &State) -> Answer {
    if state.output.iter().all(|check| check.ma.is_none()) {
        return Answer::Unknown;
    }
    let faulty = state.output.iter().filter(|check| check.fault).filter_map(|check| check.ma);
    let faulty = faulty.max_by(|a, b| (a - MIDDLE_MA).abs().total_cmp(&(b - MIDDLE_MA).abs()));
    Answer::of(faulty.map(|ma| (Severity::Serious, figures([("fault_ma", Some(ma))]))))
}

/// Every current is that of the range turned round.
pub(super) fn output_reversed(_: &Evidence, state: &State) -> Answer {
    let pairs = || state.output.iter().filter_map(|check| Option::zip(check.expected_ma, check.ma));
    if pairs().next().is_none() {
        return Answer::Unknown;
    }
    let mirrored = |(expected, ma): (f64, f64)| (ma - (2.0 * MIDDLE_MA - expected)).abs() <= REVERSED_WITHIN_MA;
    let telling = pairs().max_by(|a, b| (a.0 - MIDDLE_MA).abs().total_cmp(&(b.0 - MIDDLE_MA).abs()));
    let telling = telling.filter(|(expected, _)| (expected - MIDDLE_MA).abs() > REVERSED_SHOWS_MA);
    let found = telling.filter(|_| pairs().all(mirrored)).map(|(expected, ma)| {
        (Severity::Serious, figures([("output_ma", Some(ma)), ("output_expected_ma", Some(expected))]))
    });
    Answer::of(found)
}

/// The current is not that of the shown value.
pub(super) fn output_off(_: &Evidence, state: &State) -> Answer {
    let Some(check) = worst(state, |check| check.error_percent) else { return Answer::Unknown };
    let error = check.error_percent.unwrap_or_default();
    Answer::of(weight(error).map(|severity| {
        let own = figures([
            ("output_ma", check.ma),
            ("output_expected_ma", check.expected_ma),
            ("output_error_percent", Some(error)),
            ("several_outputs", Some(outputs(state).count() as f64).filter(|count| *count > 1.0)),
        ]);
        (severity, own)
    }))
}

/// The control room shows another value.
pub(super) fn control_room(_: &Evidence, state: &State) -> Answer {
    let Some(check) = worst(state, |check| check.control_room_error_percent) else { return Answer::Unknown };
    let error = check.control_room_error_percent.unwrap_or_default();
    Answer::of(weight(error).map(|severity| {
        let own = figures([
            ("control_room_error_percent", Some(error)),
            ("good_output_error_percent", check.error_percent.filter(|error| weight(*error).is_none())),
        ]);
        (severity, own)
    }))
}

/// Off in the process while the buffers are right.
pub(super) fn process_offset(evidence: &Evidence, state: &State) -> Answer {
    let (told, good) = match is_redox(evidence) {
        true => (SAMPLE_TOLD_MV, SOLUTIONS_GOOD_MV),
        false => (SAMPLE_TOLD_PH, BUFFERS_GOOD_PH),
    };
    let usable = state.sample.filter(|sample| sample.minutes.is_none_or(|m| (0.0..=SAMPLE_WITHIN_MIN).contains(&m)));
    let Some((sample, error)) = Option::zip(usable, state.worst_error()) else { return Answer::Unknown };
    let cleaned = evidence.steps.iter().filter(|step| cleans(step.kind)).count();
    let (difference, is_off) = (sample.difference, sample.difference.abs() > told && error.abs() <= good);
    let own = || match is_redox(evidence) {
        true => figures([("sample_difference_mv", Some(difference)), ("in_solution_error_mv", Some(error))]),
        false => figures([
            ("sample_difference_ph", Some(difference)),
            ("in_buffer_error_ph", Some(error)),
            ("cleaning_steps", (cleaned > 0).then_some(cleaned as f64)),
        ]),
    };
    Answer::of(is_off.then(|| (Severity::Attention, own())))
}

/// Whether a remedy cleans, which does not cure what shows in the process only.
fn cleans(kind: RemedyKind) -> bool {
    use RemedyKind::*;
    match kind {
        Rinsed | Wiped | Detergent | AcidSoak | PepsinSoak | Bleach | MetalPolished => true,
        RehydratedInBuffer | StorageSoak | BubbleRemoved | ElectrolyteToppedUp | ReferenceSolutionReplaced => false,
        JunctionCleaned | JunctionRenewed | ConnectorDried | CableReplaced | WiringCorrected => false,
        EarthingCorrected | TemperatureElementReplaced | AnalyserReplaced | OutputRescaled | ProbeReplaced => false,
        Other => false,
    }
}

/// The analyser shows what its stored calibration does not give.
pub(super) fn stored(_: &Evidence, state: &State) -> Answer {
    let Some(off) = state.shown_off_stored_ph else { return Answer::Unknown };
    let severity = weighed(off.abs(), STORED_TOLD_PH, STORED_ATTENTION_PH, f64::INFINITY);
    Answer::of(severity.map(|severity| (severity, figures([("shown_off_ph", Some(off))]))))
}

/// The independent standard disagrees while the buffers of the calibration agree.
pub(super) fn check_standard(_: &Evidence, state: &State) -> Answer {
    let Some((check, error)) = Option::zip(state.check_standard_error, state.worst_error()) else {
        return Answer::Unknown;
    };
    let is_off = check.abs() > CHECK_TOLD_PH && error.abs() <= BUFFERS_GOOD_PH;
    let own = || figures([("check_error_ph", Some(check)), ("in_buffer_error_ph", Some(error))]);
    Answer::of(is_off.then(|| (Severity::Attention, own())))
}

/// Cleaning moved the value in the process.
pub(super) fn fouling(evidence: &Evidence, state: &State) -> Answer {
    let Some(moved) = evidence.moved_by_cleaning else { return Answer::Unknown };
    let redox = is_redox(evidence);
    let severity = match redox {
        true => weighed(moved.abs(), FOULING_TOLD_MV, FOULING_ATTENTION_MV, f64::INFINITY),
        false => weighed(moved.abs(), FOULING_TOLD_PH, FOULING_ATTENTION_PH, f64::INFINITY),
    };
    Answer::of(severity.filter(|_| !state.cleaned).map(|severity| {
        let own =
            figures([("fouling_ph", Some(moved).filter(|_| !redox)), ("fouling_mv", Some(moved).filter(|_| redox))]);
        (severity, own)
    }))
}
