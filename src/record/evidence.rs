//! What a diagnosis of one loop rests on, gathered from the figures computed already.

use super::*;
use crate::engine::diagnosis::{
    self, Effect, Evidence, OutputCheck, Reading, SampleCheck, State, Step, TemperatureCheck, diagnose, effect,
};
use crate::engine::fit::ISOPOTENTIAL_PH;
use crate::visit::{self, Loop, Obtained, Outcome, RemedyKind};

/// Findings of a loop; what each remedy did is put into its record.
pub fn findings(
    subject: &Loop,
    as_found: &StateRecord,
    remedies: &mut [RemedyRecord],
    as_left: Option<&StateRecord>,
) -> Vec<FindingRecord> {
    let evidence = evidence(subject, as_found, remedies, as_left);
    for (remedy, step) in remedies.iter_mut().zip(&evidence.steps) {
        remedy.effect = effect(step).map(effect_record);
    }
    diagnose(&evidence).into_iter().map(finding_record).collect()
}

/// The numbers of one loop.
fn evidence(
    subject: &Loop,
    as_found: &StateRecord,
    remedies: &[RemedyRecord],
    as_left: Option<&StateRecord>,
) -> Evidence {
    let stored_mv = as_found.stored.as_ref().and_then(|stored| stored.offset_mv);
    let replaced = subject.remedies.iter().any(|remedy| remedy.kind == RemedyKind::ProbeReplaced);
    let obtained = |record: &StateRecord| record.not_obtained.is_none();
    let found = obtained(as_found)
        .then(|| State { stored_offset_mv: stored_mv, ..state(as_found, readings_of(&subject.as_found.0)) });
    let left = as_left.filter(|left| obtained(left)).map(|left| State {
        stored_offset_mv: stored_mv.filter(|_| !replaced),
        new_probe: replaced,
        cleaned: true,
        ..state(left, subject.as_left.as_ref().map_or(&[], |left| readings_of(&left.0)))
    });
    let nothing_done = !subject.adjusted && subject.standardised.is_none() && remedies.is_empty();
    Evidence {
        quantity: subject.quantity,
        steps: steps(subject, remedies, found.as_ref(), left.as_ref(), stored_mv),
        stands: left.is_none() && (subject.outcome != Outcome::Returned || nothing_done),
        moved_by_cleaning: Option::zip(
            subject.process.after_cleaning.as_ref(),
            subject.process.before_cleaning.as_ref(),
        )
        .map(|(after, before)| after.value - before.value),
        found,
        left,
    }
}

/// Remedies with the readings before and after; those of the last one may be the readings as left.
fn steps(
    subject: &Loop,
    remedies: &[RemedyRecord],
    found: Option<&State>,
    left: Option<&State>,
    stored_mv: Option<f64>,
) -> Vec<Step> {
    let quantity = subject.quantity;
    let mut before = found.map(|found| found.snapshot(quantity)).unwrap_or_default();
    let mut stored_offset_mv = stored_mv;
    let mut unmeasured_before = 0;
    let mut steps = Vec::with_capacity(remedies.len());
    for (position, (remedy, record)) in subject.remedies.iter().zip(remedies).enumerate() {
        let is_last = position + 1 == remedies.len();
        let own = record.after.as_ref().map(|after| of_readings(after, &remedy.readings).snapshot(quantity));
        let after = own.or_else(|| left.filter(|_| is_last).map(|left| left.snapshot(quantity)));
        stored_offset_mv = stored_offset_mv.filter(|_| remedy.kind != RemedyKind::ProbeReplaced);
        steps.push(Step {
            kind: remedy.kind,
            before,
            after: after.unwrap_or_default(),
            unmeasured_before,
            stored_offset_mv,
            slope_gained_uncertainty: record.slope_gained_uncertainty,
            offset_moved_uncertainty: record.offset_moved_uncertainty,
        });
        unmeasured_before = if after.is_some() { 0 } else { unmeasured_before + 1 };
        before = after.unwrap_or(before);
    }
    steps
}

/// Readings and checks of a state.
fn state(record: &StateRecord, readings: &[visit::Reading]) -> State {
    let checks = &record.checks;
    let stored = record.stored.as_ref();
    State {
        shown_off_stored_ph: stored.and_then(|stored| match stored.agrees? {
            true => Some(0.0),
            false => stored.largest_disagreement_ph,
        }),
        check_standard_error: checks.standard.as_ref().map(|check| check.error),
        temperature: checks.temperature.iter().map(temperature).collect(),
        output: checks.output.iter().map(output).collect(),
        sample: checks
            .sample
            .as_ref()
            .map(|sample| SampleCheck { difference: sample.difference, minutes: sample.minutes }),
        glass: checks.glass_resistance.as_ref().map(|glass| (glass.ohm / 1e6, glass.temperature_c)),
        reference_kohm: checks.reference_resistance.as_ref().map(|reference| reference.ohm / 1e3),
        ..of_readings(&record.figures, readings)
    }
}

/// The readings of a state; none where it was not obtained.
fn readings_of(state: &Obtained<visit::State>) -> &[visit::Reading] {
    state.obtained().map_or(&[], |state| &state.readings)
}

/// Readings with their fit.
fn of_readings(figures: &Figures, readings: &[visit::Reading]) -> State {
    let rows = figures.readings.iter().zip(readings).filter(|(row, _)| row.excluded.is_none());
    let half = |is_of: fn(&SegmentRecord) -> bool| {
        let slopes: Vec<f64> = figures.segments.iter().filter(|s| is_of(s)).map(|s| s.slope_percent).collect();
        (!slopes.is_empty()).then(|| slopes.iter().sum::<f64>() / slopes.len() as f64)
    };
    State {
        readings: rows.map(|(row, reading)| reading_of(row, reading)).collect(),
        slope_percent: figures.slope_percent,
        offset_mv: figures.offset_mv,
        acid_percent: half(|segment| segment.from_ph + segment.to_ph <= 2.0 * ISOPOTENTIAL_PH),
        alkaline_percent: half(|segment| segment.from_ph + segment.to_ph > 2.0 * ISOPOTENTIAL_PH),
        gain_percent: figures.gain_percent,
        ..State::default()
    }
}

fn reading_of(row: &ReadingRecord, reading: &visit::Reading) -> Reading {
    let theoretical = Option::zip(row.nernst_mv_per_ph, row.buffer_ph);
    let settling = row.settling.as_ref();
    Reading {
        standard: reading.standard,
        value: row.buffer_ph.or(row.standard_mv).unwrap_or_default(),
        theoretical_mv: theoretical.map(|(slope, ph)| slope * (ISOPOTENTIAL_PH - ph)),
        mv: row.mv,
        error: row.error_ph.or(row.error_mv),
        waited_s: reading.after.as_ref().map(|after| after.value),
        settled: row.settled,
        time_to_0_01_ph_s: settling.and_then(|settling| settling.time_to_0_01_ph_s),
        drift_mv_per_min: settling.and_then(|settling| settling.drift_mv_per_min),
        noise_mv: settling.and_then(|settling| settling.noise_mv),
    }
}

fn temperature(check: &TemperatureCheckRecord) -> TemperatureCheck {
    TemperatureCheck {
        error_c: check.error_c,
        element_error_c: check.resistance_means_c.map(|means| means - check.reference_c),
        cost_at_ph_4: check.cost_at_ph_4,
    }
}

fn output(check: &OutputCheckRecord) -> OutputCheck {
    OutputCheck {
        expected_ma: check.expected_ma,
        ma: check.ma,
        error_percent: check.error_percent,
        control_room_error_percent: check.control_room_error_percent,
        fault: check.fault_current.is_some(),
    }
}

fn finding_record(finding: diagnosis::Finding) -> FindingRecord {
    FindingRecord {
        code: finding.code,
        severity: finding.severity,
        stage: if finding.as_found { Stage::AsFound } else { Stage::AsLeft },
        resolved: finding.resolved,
        figures: finding.figures.into_iter().map(|figure| (figure.name, figure.value)).collect(),
        sentences: None,
    }
}

fn effect_record(effect: Effect) -> EffectRecord {
    let Effect { outcome, on, before, after, together } = effect;
    EffectRecord { outcome, on, before, after, together_with: together }
}
