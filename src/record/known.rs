//! What is known of the standards and instruments of a loop, and the uncertainties that follow from it.

use super::states::Bench;
use super::*;
use crate::engine::uncertainty::{
    ASSUMED_POTENTIAL_MV, ASSUMED_REDOX_MV, ASSUMED_REFERENCE_BUFFER_PH, ASSUMED_TECHNICAL_BUFFER_PH,
    ASSUMED_TEMPERATURE_C, BudgetLine, Declared, Effect, ErrorOfShown, FitUncertainty, Sighting, Uncertainty,
    error_of_output, error_of_redox, error_of_shown, error_of_temperature, gain_percent, of_line, rectangular,
};
use crate::engine::{redox, uncertainty};
use crate::kit::{Instrument, Measurand, Standard, StandardKind};
use crate::limits::{Limits, Reproducibility};
use crate::quantity::{Celsius, Measured, Plain};
use crate::reference::buffers::BufferValue;
use crate::visit::{OutputCheck, Reading, TemperatureCheck};

/// Coverage factor of a declared expanded uncertainty where none is declared with it; printed as assumed.
///
/// Source: JCGM 100:2008 (GUM) 6.2.1 and 6.3.3: k = 2 for a level of confidence of about 95 %, the usual declaration.
pub(super) const ASSUMED_COVERAGE_FACTOR: f64 = 2.0;

/// Reproducibility where the limits declare none; printed as assumed.
///
/// Source: common practice, no source: 0.5 mV, known to about a third (JCGM 100:2008, G.4.2, gives 4 degrees of freedom).
const ASSUMED_REPRODUCIBILITY: ReproducibilityFacts = ReproducibilityFacts { u_mv: 0.5, dof: 4.0, assumed: true };

/// The reproducibility that the limits declare, else the assumed one.
pub(super) fn reproducibility(limits: &Limits) -> ReproducibilityFacts {
    let declared = limits.reproducibility;
    let facts = |known: Reproducibility| ReproducibilityFacts { u_mv: known.u_mv, dof: known.dof, assumed: false };
    declared.map_or(ASSUMED_REPRODUCIBILITY, facts)
}

/// Standard uncertainty that a certificate declares, in its unit.
fn declared(expanded: &Option<Measured<Plain>>, factor: &Option<Measured<Plain>>) -> Option<f64> {
    let factor = factor.as_ref().map_or(ASSUMED_COVERAGE_FACTOR, |factor| factor.value);
    expanded.as_ref().map(|expanded| expanded.value / factor)
}

/// Standard uncertainty of a standard, pH or mV.
fn of_standard(standard: &Standard) -> f64 {
    let assumed = match &standard.kind {
        StandardKind::Buffer(BufferValue::Published { buffer, .. }) if buffer.is_reference() => {
            ASSUMED_REFERENCE_BUFFER_PH
        }
        StandardKind::Buffer(_) => ASSUMED_TECHNICAL_BUFFER_PH,
        StandardKind::Redox(_) => ASSUMED_REDOX_MV,
    };
    declared(&standard.expanded_uncertainty, &standard.coverage_factor).unwrap_or(assumed / ASSUMED_COVERAGE_FACTOR)
}

impl Bench<'_> {
    /// The instrument that measured a quantity: the one a reading names, else the only one that measures it; of
    /// several the least certain. With its standard uncertainty, where its certificate declares one.
    fn instrument(&self, measures: Measurand, named: Option<usize>) -> Option<(usize, Option<f64>)> {
        let of = |(index, it): (usize, &Instrument)| {
            (it.measures == measures).then(|| (index, declared(&it.expanded_uncertainty, &it.coverage_factor)))
        };
        let instruments = &self.visit.kit.instruments;
        let named = named.and_then(|index| of((index, &instruments[index])));
        let certain = |known: &Option<f64>| known.unwrap_or(f64::INFINITY);
        let worst =
            || instruments.iter().enumerate().filter_map(of).max_by(|a, b| certain(&a.1).total_cmp(&certain(&b.1)));
        named.or_else(worst)
    }

    /// Key and standard uncertainty (°C) of the thermometer.
    fn thermometer(&self, named: Option<usize>) -> (Option<usize>, f64) {
        let found = self.instrument(Measurand::Temperature, named);
        let known = found.and_then(|(_, u)| u).unwrap_or(rectangular(ASSUMED_TEMPERATURE_C));
        (found.map(|(key, _)| key), known)
    }

    /// Key and standard uncertainty (mV) of what measured the potential.
    fn voltmeter(&self, named: Option<usize>) -> (Option<usize>, f64) {
        let found = self.instrument(Measurand::Potential, named);
        let known = found.and_then(|(_, u)| u).unwrap_or(rectangular(ASSUMED_POTENTIAL_MV));
        (found.map(|(key, _)| key), known)
    }

    /// A reading of the fit with what is known of it.
    pub(super) fn sighting(&self, reading: &Reading) -> Option<Sighting> {
        let standard = &self.visit.kit.standards[reading.standard];
        let StandardKind::Buffer(buffer) = &standard.kind else {
            return None;
        };
        Some(Sighting {
            point: self.point(reading)?,
            mv_step: reading.mv.as_ref()?.step,
            temperature_step_c: reading.temperature.step,
            dph_dt: buffer.dph_dt(reading.temperature.value).ok()?,
            standard: reading.standard,
            standard_u_ph: of_standard(standard),
            voltmeter: self.voltmeter(reading.with),
            thermometer: self.thermometer(reading.with),
        })
    }

    /// Uncertainty of the line through the readings of a state.
    pub(super) fn of_line(&self, readings: &[Reading]) -> Option<FitUncertainty> {
        let used = readings.iter().filter(|reading| reading.excluded.is_none());
        let known = reproducibility(&self.subject.limits);
        let sightings: Vec<Sighting> = used.filter_map(|reading| self.sighting(reading)).collect();
        of_line(&sightings, Declared { u_mv: known.u_mv, dof: known.dof })
    }

    /// What is known of a value shown in a standard.
    fn shown_in(
        &self,
        standard: usize,
        shown_step: f64,
        temperature: &Measured<Celsius>,
        with: Option<usize>,
    ) -> Option<ErrorOfShown> {
        let of = &self.visit.kit.standards[standard];
        let per_degree = match &of.kind {
            StandardKind::Buffer(value) => value.dph_dt(temperature.value).ok()?,
            StandardKind::Redox(value) => value.mv_per_degree(temperature.value, self.electrode?).ok()?,
        };
        Some(ErrorOfShown {
            step: shown_step,
            standard_u: of_standard(of),
            per_degree,
            thermometer_u_c: self.thermometer(with).1,
            temperature_step_c: temperature.step,
        })
    }

    /// Uncertainty of the error of a value shown in a standard, pH or mV.
    pub(super) fn of_error(
        &self,
        standard: usize,
        shown_step: f64,
        temperature: &Measured<Celsius>,
        with: Option<usize>,
    ) -> Option<Uncertainty> {
        let known = self.shown_in(standard, shown_step, temperature, with)?;
        match &self.visit.kit.standards[standard].kind {
            StandardKind::Buffer(_) => Some(error_of_shown(&known)),
            StandardKind::Redox(value) => Some(error_of_redox(&known, Some(value.against()) != self.electrode)),
        }
    }

    /// Uncertainty of the gain over the readings of a redox state.
    pub(super) fn of_gain(&self, readings: &[Reading]) -> Option<Uncertainty> {
        let counted = readings.iter().filter(|reading| reading.excluded.is_none()).filter_map(|reading| {
            let typed = reading.shown.as_ref().map(|shown| (shown.value, shown.step));
            let (mv, step) = typed.or_else(|| reading.mv.as_ref().map(|mv| (mv.value, mv.step)))?;
            let standard_mv = self.redox_mv(reading.standard, reading.temperature.value)?;
            let known = self.shown_in(reading.standard, step, &reading.temperature, reading.with)?;
            Some((redox::Reading { mv, standard_mv }, reading.standard, known))
        });
        gain_percent(&counted.collect::<Vec<_>>())
    }

    /// Uncertainty of the error of a shown temperature, °C.
    pub(super) fn of_temperature(&self, check: &TemperatureCheck) -> Option<Uncertainty> {
        let shown = check.shown.as_ref()?;
        Some(error_of_temperature(self.thermometer(None).1, check.reference.step, shown.step))
    }

    /// Uncertainty of an output's error, percent of span; `None` where no instrument with a declared uncertainty
    /// measured the current.
    pub(super) fn of_output(&self, check: &OutputCheck) -> Option<Uncertainty> {
        let instrument = self.instrument(Measurand::Current, None)?.1?;
        let [low, high] = self.subject.identity.range.as_ref()?;
        let span = (high.value - low.value).abs();
        Some(error_of_output(instrument, check.ma.as_ref()?.step, 100.0 * check.shown.step / span))
    }

    /// The budget as the record tells it.
    pub(super) fn budget(&self, of: &FitUncertainty) -> Vec<BudgetRecord> {
        of.budget.iter().map(|line| self.budget_line(of, line)).collect()
    }

    fn budget_line(&self, of: &FitUncertainty, line: &BudgetLine) -> BudgetRecord {
        let share = |figure: usize, total: Uncertainty| ShareRecord {
            sensitivity: line.sensitivity[figure],
            share_percent: 100.0 * (line.contribution[figure] / total.standard).powi(2),
        };
        let (source, unit, name, assumed) = self.source(line.effect);
        BudgetRecord {
            source: source.to_owned(),
            of: name,
            standard_uncertainty: line.u,
            unit: unit.to_owned(),
            dof: finite(line.dof),
            assumed,
            slope_percent: share(0, of.slope_percent),
            offset_mv: share(1, of.offset_mv),
            zero_point_ph: of.zero_point_ph.map(|total| share(2, total)),
        }
    }

    /// Word, unit, name in the kit, and whether the standard uncertainty was assumed.
    fn source(&self, effect: Effect) -> (&'static str, &'static str, Option<String>, bool) {
        let kit = &self.visit.kit;
        let name = |key: Option<usize>| key.map(|key| kit.instruments[key].name.text.clone());
        let assumed = |key: Option<usize>| key.is_none_or(|key| kit.instruments[key].expanded_uncertainty.is_none());
        match effect {
            Effect::Resolution => ("resolution", "mV", None, false),
            Effect::Repeatability => ("repeatability", "mV", None, false),
            Effect::Reproducibility => ("reproducibility", "mV", None, self.subject.limits.reproducibility.is_none()),
            Effect::InstrumentOffset(key) => ("instrument offset", "mV", name(key), assumed(key)),
            Effect::InstrumentGain(key) => ("instrument gain", "mV", name(key), assumed(key)),
            Effect::Standard(key) => {
                let standard = &kit.standards[key];
                ("standard", "pH", Some(standard.name.text.clone()), standard.expanded_uncertainty.is_none())
            }
            Effect::Thermometer(key) => ("thermometer", "°C", name(key), assumed(key)),
            Effect::TemperatureResolution => ("temperature resolution", "°C", None, false),
        }
    }
}

/// Uncertainties of the figures as the record tells them.
pub(super) fn uncertainty_record(of: &FitUncertainty) -> FigureUncertainties {
    FigureUncertainties {
        slope_percent: Some(of.slope_percent.into()),
        offset_mv: Some(of.offset_mv.into()),
        zero_point_ph: of.zero_point_ph.map(Into::into),
        gain_percent: None,
    }
}

/// Expanded uncertainties of what a remedy gained: slope in percent points, offset in mV.
pub(super) fn of_gained(after: &Option<FitUncertainty>, before: &Option<FitUncertainty>) -> [Option<f64>; 2] {
    match Option::zip(after.as_ref(), before.as_ref()) {
        Some((after, before)) => uncertainty::difference(after, before).map(|u| Some(u.expanded)),
        None => [None, None],
    }
}

fn finite(dof: f64) -> Option<f64> {
    dof.is_finite().then_some(dof)
}

impl From<Uncertainty> for UncertaintyRecord {
    fn from(of: Uncertainty) -> Self {
        UncertaintyRecord {
            standard: of.standard,
            expanded: of.expanded,
            coverage_factor: of.coverage_factor,
            effective_dof: finite(of.effective_dof),
        }
    }
}
