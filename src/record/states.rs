//! The figures of each state of a loop: fit, errors, checks, and what each remedy gained.

use super::gather::{done, probe_facts, typed, written};
use super::known::{of_gained, uncertainty_record};
use super::*;
use crate::client::{LoopQuantity, OutputSignal, Probe};
use crate::engine::fit::{Fit, Point, fit};
use crate::engine::output::{Direction, Scale, Signal};
use crate::engine::stated::TypedPoint;
use crate::engine::uncertainty::{FitUncertainty, Uncertainty};
use crate::engine::{Agreement, Typed, output, redox, shown, stated, temperature};
use crate::kit::StandardKind;
use crate::quantity::{Measured, Unit};
use crate::reference::buffers::BufferValue;
use crate::reference::electrodes::ReferenceElectrode;
use crate::reference::platinum::{self, PlatinumElement};
use crate::rounding::decimals_typed;
use crate::visit::{Check, Checks, Loop, Obtained, Reading, Remedy, RemedyKind, State, Stated, Stored, Visit};

/// What every reading of a loop is computed with.
pub struct Bench<'a> {
    pub(super) visit: &'a Visit,
    pub(super) subject: &'a Loop,
    /// The probe in the loop when it was read.
    probe: &'a Probe,
    pub(super) electrode: Option<ReferenceElectrode>,
}

impl<'a> Bench<'a> {
    /// The bench of one loop of a visit.
    pub fn new(visit: &'a Visit, subject: &'a Loop) -> Self {
        Bench::with(visit, subject, &subject.probe)
    }

    fn with(visit: &'a Visit, subject: &'a Loop, probe: &'a Probe) -> Self {
        let electrode = probe.reference.as_ref().and_then(|name| ReferenceElectrode::from_name(&name.text));
        Bench { visit, subject, probe, electrode }
    }

    /// The bench after these remedies: what is read after a replacement is read with the new probe.
    fn after(&self, remedies: &'a [Remedy]) -> Self {
        let replaced = remedies.iter().rev().filter(|remedy| remedy.kind == RemedyKind::ProbeReplaced);
        let probe = replaced.filter_map(|remedy| remedy.probe.as_ref()).next();
        Bench::with(self.visit, self.subject, probe.unwrap_or(self.probe))
    }

    /// pH of a buffer at a temperature; the check step refuses temperatures outside its range.
    fn ph(&self, standard: usize, temperature_c: f64) -> Option<f64> {
        buffer(self.visit, standard)?.ph(temperature_c).ok()
    }

    /// Potential of a redox solution against the probe's reference.
    pub(super) fn redox_mv(&self, standard: usize, temperature_c: f64) -> Option<f64> {
        match &self.visit.kit.standards[standard].kind {
            StandardKind::Redox(value) => value.mv(temperature_c, self.electrode?).ok(),
            StandardKind::Buffer(_) => None,
        }
    }

    fn name(&self, standard: usize) -> String {
        self.visit.kit.standards[standard].name.text.clone()
    }

    /// A reading as a point of the fit, where it is one.
    pub(super) fn point(&self, reading: &Reading) -> Option<Point> {
        let temperature_c = reading.temperature.value;
        Some(Point { mv: reading.mv.as_ref()?.value, temperature_c, ph: self.ph(reading.standard, temperature_c)? })
    }
}

/// The value of a standard that is a buffer.
pub(super) fn buffer(visit: &Visit, standard: usize) -> Option<&BufferValue> {
    match &visit.kit.standards[standard].kind {
        StandardKind::Buffer(value) => Some(value),
        StandardKind::Redox(_) => None,
    }
}

/// The fit over the readings of a pH loop that have a potential and are not excluded.
pub fn fit_of(bench: &Bench<'_>, readings: &[Reading]) -> Option<Fit> {
    if bench.subject.quantity == LoopQuantity::Redox {
        return None;
    }
    fit(&readings
        .iter()
        .filter(|reading| reading.excluded.is_none())
        .filter_map(|r| bench.point(r))
        .collect::<Vec<_>>())
}

/// The state before anything was done.
pub fn as_found(bench: &Bench<'_>) -> StateRecord {
    state(bench, &bench.subject.as_found.0)
}

/// The state in which the loop was left.
pub fn as_left(bench: &Bench<'_>) -> Option<StateRecord> {
    let bench = bench.after(&bench.subject.remedies);
    bench.subject.as_left.as_ref().map(|left| state(&bench, &left.0))
}

fn state(bench: &Bench<'_>, obtained: &Obtained<State>) -> StateRecord {
    match obtained {
        Obtained::Not(reason) => StateRecord { not_obtained: Some(reason.text.clone()), ..StateRecord::default() },
        Obtained::Yes(state) => StateRecord {
            figures: figures(bench, &state.readings),
            checks: checks(bench, &state.checks),
            stored: state.stored.as_ref().map(|held| stored(bench, held, &state.readings)),
            stated: state.stated.as_ref().map_or_else(Vec::new, |said| stated_figures(bench, said, &state.readings)),
            ..StateRecord::default()
        },
    }
}

/// Remedies in order, each with the figures after it and what it gained over the last readings before it.
pub fn remedies(bench: &Bench<'_>, as_found: &StateRecord) -> Vec<RemedyRecord> {
    let mut before = as_found.figures.clone();
    let found = bench.subject.as_found.0.obtained();
    let mut uncertain_before = found.and_then(|state| bench.of_line(&state.readings));
    let mut records = Vec::with_capacity(bench.subject.remedies.len());
    for (step, remedy) in (1..).zip(&bench.subject.remedies) {
        let bench = bench.after(&bench.subject.remedies[..step]);
        let (after, uncertain_after) = match remedy.readings.is_empty() {
            true => (None, None),
            false => {
                let (figures, known) = known_figures(&bench, &remedy.readings);
                (Some(figures), known)
            }
        };
        let [slope_gained_uncertainty, offset_moved_uncertainty] = of_gained(&uncertain_after, &uncertain_before);
        let gained = |of: fn(&Figures) -> Option<f64>| Some(of(after.as_ref()?)? - of(&before)?);
        records.push(RemedyRecord {
            remedy: remedy.kind.word().to_owned(),
            solution: written(&remedy.solution),
            lasted: typed(&remedy.lasted),
            at: remedy.at.as_ref().map(|moment| moment.print()),
            note: written(&remedy.note),
            by: written(&remedy.by),
            probe: remedy.probe.as_ref().map(probe_facts),
            old_probe: remedy.old_probe.map(|old| old.word().to_owned()),
            reason: written(&remedy.reason),
            slope_gained_percent: gained(|figures| figures.slope_percent),
            slope_gained_uncertainty,
            offset_moved_mv: gained(|figures| figures.offset_mv),
            offset_moved_uncertainty,
            after: after.clone(),
            effect: None,
        });
        if let Some(after) = after {
            (before, uncertain_before) = (after, uncertain_after);
        }
    }
    records
}

/// The figures of one set of readings.
pub fn figures(bench: &Bench<'_>, readings: &[Reading]) -> Figures {
    known_figures(bench, readings).0
}

/// The figures of one set of readings, with the uncertainty of the line as it is carried to a difference.
fn known_figures(bench: &Bench<'_>, readings: &[Reading]) -> (Figures, Option<FitUncertainty>) {
    let fit = fit_of(bench, readings);
    let mut rows: Vec<ReadingRecord> = readings.iter().map(|r| reading_record(bench, r)).collect();
    super::settling::hang(&mut rows, readings, fit.as_ref().and_then(|fit| fit.slope_percent));
    let Some(fit) = fit else {
        return (redox_figures(bench, rows, readings), None);
    };
    let uncertain = bench.of_line(readings);
    let fitted = rows.iter_mut().zip(readings).filter(|(_, r)| r.excluded.is_none() && bench.point(r).is_some());
    for ((row, _), point) in fitted.zip(&fit.points) {
        row.fitted_mv = point.fitted_mv;
        row.residual_ph = point.residual_ph;
    }
    let figures = Figures {
        slope_percent: fit.slope_percent,
        slope_mv_per_ph_25c: fit.slope_mv_per_ph_25c,
        slope_mv_per_ph: fit.slope_mv_per_ph,
        mean_temperature_c: Some(fit.mean_temperature_c),
        offset_mv: fit.offset_mv,
        zero_point_ph: fit.zero_point_ph,
        residual_sd_mv: fit.residual_sd_mv,
        correlation: fit.correlation,
        gain_percent: None,
        readings: rows,
        segments: fit
            .segments
            .iter()
            .map(|s| SegmentRecord { from_ph: s.from_ph, to_ph: s.to_ph, slope_percent: s.slope_percent })
            .collect(),
        uncertainty: uncertain.as_ref().map(uncertainty_record),
        budget: uncertain.as_ref().map_or_else(Vec::new, |of| bench.budget(of)),
    };
    (figures, uncertain)
}

fn redox_figures(bench: &Bench<'_>, rows: Vec<ReadingRecord>, readings: &[Reading]) -> Figures {
    let counted: Vec<redox::Reading> = rows
        .iter()
        .filter(|row| row.excluded.is_none())
        .filter_map(|row| Some(redox::Reading { mv: row.shown_mv.or(row.mv)?, standard_mv: row.standard_mv? }))
        .collect();
    let mean = rows.iter().map(|row| row.temperature_c).sum::<f64>() / rows.len() as f64;
    let gain_percent = redox::gain_percent(&counted);
    let uncertain = gain_percent.and_then(|_| bench.of_gain(readings));
    let told = |u: Uncertainty| FigureUncertainties { gain_percent: Some(u.into()), ..Default::default() };
    Figures {
        mean_temperature_c: (!rows.is_empty()).then_some(mean),
        gain_percent,
        uncertainty: uncertain.map(told),
        readings: rows,
        ..Figures::default()
    }
}

fn reading_record(bench: &Bench<'_>, reading: &Reading) -> ReadingRecord {
    let temperature_c = reading.temperature.value;
    let buffer_ph = bench.ph(reading.standard, temperature_c);
    let standard_mv = bench.redox_mv(reading.standard, temperature_c);
    let mv = reading.mv.as_ref().map(|mv| mv.value);
    let shown_value = reading.shown.as_ref().map(|shown| shown.value);
    let is_ph = bench.subject.quantity == LoopQuantity::Ph;
    let read = reading.mv.as_ref().filter(|_| !is_ph).map(|mv| mv.step);
    let step = reading.shown.as_ref().map(|shown| shown.step).or(read);
    let uncertainty = step.and_then(|step| bench.of_error(reading.standard, step, &reading.temperature, reading.with));
    let error_uncertainty = uncertainty.map(|u| u.expanded);
    ReadingRecord {
        standard: bench.name(reading.standard),
        mv,
        mv_typed: typed(&reading.mv),
        temperature_c,
        temperature_typed: reading.temperature.text.clone(),
        temperature_assumed: written(&reading.temperature_assumed),
        buffer_ph: buffer_ph.filter(|_| is_ph),
        nernst_mv_per_ph: is_ph.then(|| crate::reference::slope_mv_per_ph(temperature_c)),
        shown_ph: shown_value.filter(|_| is_ph),
        error_ph: Option::zip(shown_value, buffer_ph).map(|(shown, buffer)| shown - buffer).filter(|_| is_ph),
        error_uncertainty_ph: error_uncertainty.filter(|_| is_ph),
        shown_mv: shown_value.filter(|_| !is_ph),
        shown_typed: typed(&reading.shown),
        shown_decimals: reading.shown.as_ref().map(|shown| decimals_typed(&shown.text)),
        standard_mv,
        error_mv: Option::zip(shown_value.or(mv), standard_mv)
            .map(|(mv, standard_mv)| redox::error_mv(redox::Reading { mv, standard_mv })),
        error_uncertainty_mv: error_uncertainty.filter(|_| !is_ph),
        after_typed: typed(&reading.after),
        at: reading.at.as_ref().map(|moment| moment.print()),
        excluded: written(&reading.excluded),
        with: reading.with.map(|index| bench.visit.kit.instruments[index].name.text.clone()),
        note: written(&reading.note),
        ..ReadingRecord::default()
    }
}

/// What the analyser holds, laid beside what it showed.
fn stored(bench: &Bench<'_>, held: &Stored, readings: &[Reading]) -> StoredRecord {
    let agreements: Vec<Agreement> = Option::zip(held.slope.as_ref(), held.offset.as_ref())
        .map(|(slope, offset)| shown::Stored { slope_percent: step(slope), offset_mv: step(offset) })
        .map_or_else(Vec::new, |held| readings.iter().filter_map(|r| agrees_with_stored(bench, held, r)).collect());
    let worst = agreements.iter().map(|a| a.difference).max_by(|a, b| a.abs().total_cmp(&b.abs()));
    StoredRecord {
        slope_percent: held.slope.as_ref().map(|slope| slope.value),
        slope_typed: typed(&held.slope),
        offset_mv: held.offset.as_ref().map(|offset| offset.value),
        offset_typed: typed(&held.offset),
        compensation: held.compensation.map(|compensation| compensation.word().to_owned()),
        largest_disagreement_ph: worst,
        agrees: worst.map(|_| agreements.iter().all(|agreement| agreement.agrees)),
    }
}

fn agrees_with_stored(bench: &Bench<'_>, held: shown::Stored, reading: &Reading) -> Option<Agreement> {
    if bench.subject.quantity == LoopQuantity::Redox {
        return None;
    }
    let shown = shown::Shown {
        mv: step(reading.mv.as_ref()?),
        temperature_c: step(&reading.temperature),
        ph: step(reading.shown.as_ref()?),
    };
    shown::agrees(held, shown)
}

/// A typed figure with its step, as the engine takes it.
pub(super) fn step<U: Unit>(number: &Measured<U>) -> Typed {
    Typed { value: number.value, step: number.step }
}

/// Stated figures beside what the readings give.
fn stated_figures(bench: &Bench<'_>, said: &Stated, readings: &[Reading]) -> Vec<StatedRecord> {
    let points: Vec<TypedPoint> = readings.iter().filter_map(|reading| typed_point(bench, reading)).collect();
    let record = |figure: &str, unit: &str, number: (Typed, String), agreement: Option<Agreement>| StatedRecord {
        figure: figure.to_owned(),
        between: None,
        unit: unit.to_owned(),
        stated: number.0.value,
        stated_typed: number.1,
        computed: agreement.map(|agreement| agreement.computed),
        agrees: agreement.map(|agreement| agreement.agrees),
    };
    let slope = said.slope.as_ref().map(|slope| {
        record("slope", "%", (step(slope), slope.text.clone()), stated::slope_percent(step(slope), &points))
    });
    let offset = said.offset.as_ref().map(|offset| {
        record("offset", "mV", (step(offset), offset.text.clone()), stated::offset_mv(step(offset), &points))
    });
    let difference = said.difference.as_ref().map(|difference| {
        let number = (step(&difference.mv), difference.mv.text.clone());
        let in_standard = |standard: usize| potentials(readings, standard);
        let agreement = stated::difference_mv(number.0, &in_standard(difference.from), &in_standard(difference.to));
        StatedRecord {
            between: Some(format!("{} → {}", bench.name(difference.from), bench.name(difference.to))),
            ..record("difference", "mV", number, agreement)
        }
    });
    [slope, offset, difference].into_iter().flatten().collect()
}

fn potentials(readings: &[Reading], standard: usize) -> Vec<Typed> {
    let counted = readings.iter().filter(|reading| reading.standard == standard && reading.excluded.is_none());
    counted.filter_map(|reading| reading.mv.as_ref()).map(step).collect()
}

fn typed_point(bench: &Bench<'_>, reading: &Reading) -> Option<TypedPoint> {
    if reading.excluded.is_some() {
        return None;
    }
    let dph_dt = buffer(bench.visit, reading.standard)?.dph_dt(reading.temperature.value).ok()?;
    Some(TypedPoint {
        point: bench.point(reading)?,
        mv_step: reading.mv.as_ref()?.step,
        temperature_step_c: reading.temperature.step,
        dph_dt,
    })
}

fn checks(bench: &Bench<'_>, checks: &Checks) -> ChecksRecord {
    let mut not_done = Vec::new();
    let mut note = |name: &str, reason: Option<String>| not_done.extend(reason.map(|reason| (name.to_owned(), reason)));
    note("standard", reason_not_done(&checks.standard));
    note("temperature", reason_not_done(&checks.temperature));
    note("output", reason_not_done(&checks.output));
    note("sample", reason_not_done(&checks.sample));
    note("glass_resistance", reason_not_done(&checks.glass_resistance));
    note("reference_resistance", reason_not_done(&checks.reference_resistance));
    ChecksRecord {
        standard: done(&checks.standard).and_then(|check| standard_check(bench, check)),
        temperature: done(&checks.temperature)
            .map_or_else(Vec::new, |checks| checks.iter().map(|check| temperature_check(bench, check)).collect()),
        output: done(&checks.output)
            .map_or_else(Vec::new, |checks| checks.iter().map(|check| output_check(bench, check)).collect()),
        sample: done(&checks.sample).map(|check| sample_check(bench, check)),
        glass_resistance: done(&checks.glass_resistance).map(resistance),
        reference_resistance: done(&checks.reference_resistance).map(resistance),
        not_done,
    }
}

fn reason_not_done<T>(check: &Option<Check<T>>) -> Option<String> {
    match check {
        Some(Check::NotDone(reason)) => Some(reason.text.clone()),
        Some(Check::Done(_)) | None => None,
    }
}

fn standard_check(bench: &Bench<'_>, check: &crate::visit::StandardCheck) -> Option<StandardCheckRecord> {
    let temperature_c = check.temperature.value;
    let expected = match bench.subject.quantity {
        LoopQuantity::Ph => bench.ph(check.standard, temperature_c),
        LoopQuantity::Redox => bench.redox_mv(check.standard, temperature_c),
    }?;
    Some(StandardCheckRecord {
        standard: bench.name(check.standard),
        shown: check.shown.value,
        shown_typed: check.shown.text.clone(),
        temperature_c,
        temperature_typed: check.temperature.text.clone(),
        expected,
        error: check.shown.value - expected,
        error_uncertainty: bench
            .of_error(check.standard, check.shown.step, &check.temperature, None)
            .map(|u| u.expanded),
        decimals: decimals_typed(&check.shown.text),
    })
}

fn temperature_check(bench: &Bench<'_>, check: &crate::visit::TemperatureCheck) -> TemperatureCheckRecord {
    let element = bench.probe.temperature_element.as_ref().and_then(|e| PlatinumElement::from_name(&e.text));
    let element = element.filter(|_| check.resistance.is_some());
    let reference_c = check.reference.value;
    let read = Option::zip(element, check.resistance.as_ref());
    let means = read.and_then(|(element, resistance)| element.temperature_c(resistance.value).ok());
    let element_error = read
        .and_then(|(element, resistance)| temperature::element_error_c(element, resistance.value, reference_c).ok());
    let shown_c = check.shown.as_ref().map(|shown| shown.value);
    let error_c = shown_c.map(|shown| temperature::error_c(shown, check.reference.value));
    let is_ph = bench.subject.quantity == LoopQuantity::Ph;
    TemperatureCheckRecord {
        reference_c: check.reference.value,
        reference_typed: check.reference.text.clone(),
        shown_c,
        shown_typed: typed(&check.shown),
        error_c,
        error_uncertainty_c: bench.of_temperature(check).map(|u| u.expanded),
        decimals: check.shown.as_ref().map_or(1, |shown| decimals_typed(&shown.text)),
        resistance_ohm: check.resistance.as_ref().map(|resistance| resistance.value),
        resistance_typed: typed(&check.resistance),
        resistance_means_c: means,
        expected_ohm: element.and_then(|element| element.resistance_ohm(reference_c).ok()),
        element_error_c: element_error,
        class_b_tolerance_c: element.map(|_| platinum::class_b_tolerance_c(reference_c)),
        cost_at_ph_4: error_c.filter(|_| is_ph).map(|error| temperature::cost_ph(4.0, error, check.reference.value)),
    }
}

fn output_check(bench: &Bench<'_>, check: &crate::visit::OutputCheck) -> OutputCheckRecord {
    let direction = match bench.subject.identity.output {
        Some(OutputSignal::TwentyToFour) => Direction::Reversed,
        Some(OutputSignal::FourToTwenty) | None => Direction::Normal,
    };
    let range = bench.subject.identity.range.as_ref();
    let scale = range.and_then(|[low, high]| Scale::new(low.value, high.value, direction));
    let shown = check.shown.value;
    let ma = check.ma.as_ref().map(|ma| ma.value);
    let control_room = check.control_room.as_ref().map(|value| value.value);
    OutputCheckRecord {
        shown,
        shown_typed: check.shown.text.clone(),
        ma,
        ma_typed: typed(&check.ma),
        expected_ma: scale.as_ref().map(|scale| scale.expected_ma(shown)),
        error_percent: Option::zip(scale.as_ref(), ma).map(|(scale, ma)| scale.error_percent(ma, shown)),
        error_uncertainty_percent: bench.of_output(check).map(|u| u.expanded),
        control_room,
        control_room_typed: typed(&check.control_room),
        control_room_error_percent: Option::zip(scale.as_ref(), control_room)
            .map(|(scale, value)| scale.control_room_error_percent(value, shown)),
        fault_current: ma.and_then(fault_word).map(str::to_owned),
        simulated: check.simulated,
    }
}

fn fault_word(ma: f64) -> Option<&'static str> {
    match output::Signal::of(ma) {
        Signal::FailureLow => Some("fault low"),
        Signal::SaturatedLow => Some("saturated low"),
        Signal::Measurement => None,
        Signal::SaturatedHigh => Some("saturated high"),
        Signal::FailureHigh => Some("fault high"),
    }
}

/// Longest time between taking a pH sample and measuring it, for permit reporting, in minutes.
///
/// Source: 40 CFR Part 136, Table II, hydrogen ion (pH): analyse within 15 minutes.
pub const HOLDING_TIME_MINUTES: f64 = 15.0;

fn sample_check(bench: &Bench<'_>, check: &crate::visit::SampleCheck) -> SampleCheckRecord {
    let minutes = Option::zip(check.taken.as_ref(), check.measured.as_ref())
        .map(|(taken, measured)| (measured.instant - taken.instant).num_seconds() as f64 / 60.0);
    SampleCheckRecord {
        shown: check.shown.value,
        shown_typed: check.shown.text.clone(),
        reference: check.reference.value,
        reference_typed: check.reference.text.clone(),
        difference: check.shown.value - check.reference.value,
        decimals: decimals_typed(&check.shown.text).max(decimals_typed(&check.reference.text)),
        taken: check.taken.as_ref().map(|moment| moment.print()),
        measured: check.measured.as_ref().map(|moment| moment.print()),
        minutes,
        within_holding_time: minutes
            .filter(|_| bench.subject.quantity == LoopQuantity::Ph)
            .map(|minutes| (0.0..=HOLDING_TIME_MINUTES).contains(&minutes)),
        by: written(&check.by),
        method: written(&check.method),
        source: written(&check.source),
    }
}

fn resistance(check: &crate::visit::ResistanceCheck) -> ResistanceRecord {
    ResistanceRecord {
        ohm: check.value.value,
        typed: check.value.text.clone(),
        temperature_c: check.temperature.as_ref().map(|temperature| temperature.value),
        temperature_typed: typed(&check.temperature),
    }
}
