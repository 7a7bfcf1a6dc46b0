//! What a record says of visit, client, loop, standards, instruments and limits: texts and dates as typed, nothing computed.

use super::known::{ASSUMED_COVERAGE_FACTOR, reproducibility};
use super::*;
use crate::client::{Device, Probe, Site, language_tag};
use crate::kit::{Instrument, Measurand, Standard, StandardKind};
use crate::limits::Limits;
use crate::quantity::{Measured, Unit};
use crate::reference::buffers::BufferValue;
use crate::reference::redox::RedoxValue;
use crate::visit::{Check, Loop, RemedyKind, State, Visit, readings_of, standards_used};
use crate::yaml::Text;

pub(super) fn visit_facts(visit: &Visit) -> VisitFacts {
    VisitFacts {
        number: visit.number.text.clone(),
        started: visit.started.print(),
        finished: visit.finished.as_ref().map(|moment| moment.print()),
        site: visit.site.as_ref().map(site_facts),
        order: written(&visit.order),
        technicians: visit
            .technicians
            .iter()
            .map(|person| PersonFacts { name: person.name.text.clone(), qualification: written(&person.qualification) })
            .collect(),
        procedure: visit.procedure.as_ref().map(|procedure| ProcedureFacts {
            name: procedure.name.text.clone(),
            revision: written(&procedure.revision),
        }),
        ambient_c: visit.ambient.as_ref().map(|ambient| ambient.value),
        ambient_typed: typed(&visit.ambient),
        conditions: written(&visit.conditions_note),
        signatures: visit
            .signatures
            .iter()
            .map(|signature| SignatureFacts {
                role: signature.role.word().to_owned(),
                name: signature.name.text.clone(),
                signed: signature.signed.as_ref().map(|moment| moment.print()),
            })
            .collect(),
        extensions: visit.extensions.clone(),
    }
}

fn site_facts(site: &Site) -> SiteFacts {
    SiteFacts { name: site.name.clone(), address: site.address.clone(), time_zone: written(&site.time_zone) }
}

pub(super) fn client_facts(visit: &Visit) -> ClientFacts {
    ClientFacts {
        name: visit.client.name.text.clone(),
        address: visit.client.address.clone(),
        contact: written(&visit.client.contact),
        language: visit.client.language.as_ref().and_then(|name| language_tag(&name.text)).map(str::to_owned),
    }
}

pub(super) fn loop_facts(visit: &Visit, subject: &Loop) -> LoopFacts {
    let identity = &subject.identity;
    let process = &subject.process;
    LoopFacts {
        site: visit.site_of(subject).map(site_facts),
        location: written(&identity.location),
        range: identity.range.as_ref().map(|[lo, hi]| [lo.text.clone(), hi.text.clone()]),
        output: identity.output.map(|output| output.word().to_owned()),
        analyser: identity.analyser.as_ref().map(device_facts),
        probe: probe_facts(&subject.probe),
        probe_left: subject
            .remedies
            .iter()
            .rev()
            .filter(|remedy| remedy.kind == RemedyKind::ProbeReplaced)
            .find_map(|remedy| remedy.probe.as_ref())
            .map(probe_facts),
        by: written(&subject.by),
        hold_from: subject.hold.as_ref().map(|hold| hold.from.print()),
        hold_to: subject.hold.as_ref().and_then(|hold| hold.to.as_ref()).map(|moment| moment.print()),
        process: ProcessFacts {
            usual: identity.usual.as_ref().map(|[lo, hi]| [lo.text.clone(), hi.text.clone()]),
            before_cleaning: typed(&process.before_cleaning),
            after_cleaning: typed(&process.after_cleaning),
            back_in_service: typed(&process.back_in_service),
            conductivity: typed(&identity.conductivity),
            fouling: Option::zip(process.after_cleaning.as_ref(), process.before_cleaning.as_ref())
                .map(|(after, before)| after.value - before.value),
        },
        last_good: subject.last_good.as_ref().map(|date| date.text.clone()),
        adjusted: subject.adjusted,
        standardised: subject.standardised.as_ref().map(|standardised| StandardisedFacts {
            shown: standardised.shown.text.clone(),
            set_to: standardised.set_to.text.clone(),
        }),
        outcome: subject.outcome.word().to_owned(),
        next_due: subject
            .next_due
            .as_ref()
            .map(|due| NextDueFacts { date: due.date.text.clone(), agreed_by: due.agreed_by.text.clone() }),
        photos: subject
            .photos
            .iter()
            .map(|photo| PhotoFacts { file: photo.file.text.clone(), shows: written(&photo.shows) })
            .collect(),
        remarks: written(&subject.remarks),
        extensions: subject.extensions.clone(),
    }
}

/// The standards that the readings and checks of a loop name, in the order of the kit.
pub(super) fn used_standards(visit: &Visit, subject: &Loop) -> Vec<StandardFacts> {
    let mut used = standards_used(subject);
    let stirred_into: Vec<usize> = used.iter().filter_map(|&index| buffer_of(visit, index)).collect();
    used.extend(stirred_into);
    used.sort_unstable();
    used.dedup();
    used.into_iter().map(|index| standard_facts(&visit.kit.standards[index])).collect()
}

/// The buffer that the quinhydrone of a standard is stirred into.
fn buffer_of(visit: &Visit, index: usize) -> Option<usize> {
    visit.kit.standard(&visit.kit.standards[index].quinhydrone_in.as_ref()?.text)
}

fn standard_facts(standard: &Standard) -> StandardFacts {
    let (kind, value_from) = named(standard);
    StandardFacts {
        name: standard.name.text.clone(),
        kind,
        value_from: value_from.to_owned(),
        certified: standard
            .certified
            .as_ref()
            .map(|certified| (certified.value.text.clone(), certified.at.text.clone())),
        maker: written(&standard.maker),
        lot: written(&standard.lot),
        expires: standard.expires.as_ref().map(|date| date.text.clone()),
        opened: standard.opened.as_ref().map(|date| date.text.clone()),
        certificate: written(&standard.certificate),
        expanded_uncertainty: standard.expanded_uncertainty.as_ref().map(|u| u.value),
        expanded_uncertainty_typed: typed(&standard.expanded_uncertainty),
        coverage_factor: standard.coverage_factor.as_ref().map_or(ASSUMED_COVERAGE_FACTOR, |k| k.value),
        coverage_factor_assumed: standard.coverage_factor.is_none(),
    }
}

/// What a standard is, and the word code of where its value comes from.
fn named(standard: &Standard) -> (String, &'static str) {
    let label = || standard.label.as_ref().map_or_else(String::new, |label| label.text.clone());
    match &standard.kind {
        StandardKind::Buffer(BufferValue::Published { buffer, .. }) => {
            let from = match standard.certified {
                Some(_) => "published equation shifted to the lot",
                None => "published equation",
            };
            (buffer.name().to_owned(), from)
        }
        StandardKind::Buffer(BufferValue::Bottle(_)) => (label(), "bottle's table"),
        StandardKind::Redox(RedoxValue::Zobell) => ("zobell".to_owned(), "published equation"),
        StandardKind::Redox(RedoxValue::Light) => ("light".to_owned(), "published value"),
        StandardKind::Redox(RedoxValue::Quinhydrone(_)) => {
            let buffer = standard.quinhydrone_in.as_ref().map_or("", |name| name.text.as_str());
            (format!("quinhydrone in {buffer}"), "theory")
        }
        StandardKind::Redox(RedoxValue::Table { .. }) => (label(), "bottle's table"),
        StandardKind::Redox(RedoxValue::Single { .. }) => (label(), "bottle's value"),
    }
}

/// The instruments that measured something of a loop: those named by a reading, and those that measure what was read.
pub(super) fn used_instruments(visit: &Visit, subject: &Loop) -> Vec<InstrumentFacts> {
    let readings = readings_of(subject);
    let left = subject.as_left.as_ref().and_then(|left| left.0.obtained());
    let states = || subject.as_found.0.obtained().into_iter().chain(left);
    let temperatures = || states().filter_map(|state| done(&state.checks.temperature)).flatten();
    let measured = |what: Measurand| match what {
        Measurand::Temperature => !readings.is_empty(),
        Measurand::Potential => readings.iter().any(|reading| reading.mv.is_some()),
        Measurand::Current => states().any(|state| done(&state.checks.output).is_some()),
        Measurand::Resistance => {
            let resistances = |state: &State| {
                let checks = [&state.checks.glass_resistance, &state.checks.reference_resistance];
                checks.into_iter().any(|check| done(check).is_some())
            };
            states().any(resistances) || temperatures().any(|check| check.resistance.is_some())
        }
        Measurand::Ph => states().any(|state| done(&state.checks.sample).is_some()),
    };
    let named = |index: usize| readings.iter().any(|reading| reading.with == Some(index));
    let instruments = visit.kit.instruments.iter().enumerate();
    let used = instruments.filter(|(index, instrument)| named(*index) || measured(instrument.measures));
    used.map(|(_, instrument)| instrument_facts(instrument)).collect()
}

fn instrument_facts(instrument: &Instrument) -> InstrumentFacts {
    InstrumentFacts {
        name: instrument.name.text.clone(),
        measures: instrument.measures.word().to_owned(),
        make: written(&instrument.make),
        model: written(&instrument.model),
        serial: written(&instrument.serial),
        certificate: written(&instrument.certificate),
        calibrated: instrument.calibrated.as_ref().map(|date| date.text.clone()),
        due: instrument.due.as_ref().map(|date| date.text.clone()),
        expanded_uncertainty: instrument.expanded_uncertainty.as_ref().map(|u| u.value),
        expanded_uncertainty_typed: typed(&instrument.expanded_uncertainty),
        coverage_factor: instrument.coverage_factor.as_ref().map_or(ASSUMED_COVERAGE_FACTOR, |k| k.value),
        coverage_factor_assumed: instrument.coverage_factor.is_none(),
    }
}

pub(super) fn limit_facts(limits: &Limits) -> LimitFacts {
    LimitFacts {
        name: limits.name.clone(),
        revision: limits.revision.clone(),
        effective: limits.effective.as_ref().map(|date| date.text.clone()),
        approved_by: written(&limits.approved_by),
        basis: written(&limits.basis),
        built_in: limits.built_in,
        requirements: limits.requirements.word().to_owned(),
        decision: limits.decision.word(),
        reproducibility: reproducibility(limits),
    }
}

fn device_facts(device: &Device) -> DeviceFacts {
    DeviceFacts { make: written(&device.make), model: written(&device.model), serial: written(&device.serial) }
}

/// A probe as the record shows it.
pub(super) fn probe_facts(probe: &Probe) -> ProbeFacts {
    ProbeFacts {
        make: written(&probe.device.make),
        model: written(&probe.device.model),
        serial: written(&probe.device.serial),
        reference: written(&probe.reference),
        temperature_element: written(&probe.temperature_element),
        installed: probe.installed.as_ref().map(|date| date.text.clone()),
        junction_renewed: probe.junction_renewed.as_ref().map(|date| date.text.clone()),
        condition: written(&probe.condition),
    }
}

/// A text as written.
pub(super) fn written(text: &Option<Text>) -> Option<String> {
    text.as_ref().map(|text| text.text.clone())
}

/// A number as typed.
pub(super) fn typed<U: Unit>(number: &Option<Measured<U>>) -> Option<String> {
    number.as_ref().map(|number| number.text.clone())
}

/// The check of this kind, where it was made.
pub(super) fn done<T>(check: &Option<Check<T>>) -> Option<&T> {
    match check {
        Some(Check::Done(done)) => Some(done),
        Some(Check::NotDone(_)) | None => None,
    }
}
