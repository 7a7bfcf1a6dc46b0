//! The regimes: what must be present under each, and which warnings become errors.

use crate::client::LoopQuantity;
use crate::firm::{Firm, Role};
use crate::limits::Regime;
use crate::problem::{Place, Problem, Severity};
use crate::record::Record;
use crate::visit::{Check, Checks, Loop, Obtained, State, Visit};

/// One thing that a regime demands of each loop.
struct Demand {
    /// Regimes that demand it.
    by: &'static [Regime],
    /// Where it belongs.
    key: &'static str,
    /// What it is.
    what: &'static str,
    /// Rule it follows from.
    rule: &'static str,
    /// Whether it is there.
    met: fn(&Visit, &Loop, &Firm) -> bool,
}

const PERMIT_UP: &[Regime] = &[Regime::Permit, Regime::Gmp, Regime::Laboratory];
const GMP_AND_LABORATORY: &[Regime] = &[Regime::Gmp, Regime::Laboratory];
const GMP: &[Regime] = &[Regime::Gmp];
const LABORATORY: &[Regime] = &[Regime::Laboratory];
const PERMIT: &[Regime] = &[Regime::Permit];

/// What must be present.
///
/// Source: ISO/IEC 17025:2017 7.8.2.1 and 7.8.4.1, 40 CFR 122.41(j)(3), 40 CFR 136, 21 CFR 11.50 and 820.72 (text that held
/// until 2026); read in excerpts, the grading by regime is ours.
const DEMANDS: &[Demand] = &[
    Demand {
        by: PERMIT_UP,
        key: "firm.yaml: firm: {name, address}",
        what: "name and address of the firm that did the work",
        rule: "ISO/IEC 17025 7.8.2.1 b",
        met: |_, _, firm| firm.name.is_some() && !firm.address.is_empty(),
    },
    Demand {
        by: PERMIT_UP,
        key: "client: {contact: …} or client: {address: …}",
        what: "contact of the client",
        rule: "ISO/IEC 17025 7.8.2.1 e",
        met: |visit, _, _| visit.client.contact.is_some() || !visit.client.address.is_empty(),
    },
    Demand {
        by: PERMIT_UP,
        key: "visit: {site: …}",
        what: "site where the work was done",
        rule: "ISO/IEC 17025 7.8.2.1 c; 40 CFR 122.41(j)(3)(i)",
        met: |visit, subject, _| visit.site_of(subject).is_some(),
    },
    Demand {
        by: PERMIT_UP,
        key: "loops: [{location: …}]",
        what: "location of the measuring point",
        rule: "ISO/IEC 17025 7.8.2.1 c; 40 CFR 122.41(j)(3)(i)",
        met: |_, subject, _| subject.identity.location.is_some(),
    },
    Demand {
        by: PERMIT_UP,
        key: "visit: {finished: …}",
        what: "end of the work",
        rule: "40 CFR 122.41(j)(3)(i); ISO/IEC 17025 7.8.2.1 i",
        met: |visit, _, _| visit.finished.is_some(),
    },
    Demand {
        by: PERMIT_UP,
        key: "visit: {procedure: {name: …, revision: …}}",
        what: "procedure with its revision",
        rule: "ISO/IEC 17025 7.8.2.1 f; 40 CFR 122.41(j)(3)(v)",
        met: |visit, _, _| visit.procedure.as_ref().is_some_and(|procedure| procedure.revision.is_some()),
    },
    Demand {
        by: PERMIT_UP,
        key: "loops: [{analyser: {serial: …}}]",
        what: "serial of the analyser",
        rule: "ISO/IEC 17025 7.8.2.1 g",
        met: |_, subject, _| subject.identity.analyser.as_ref().is_some_and(|analyser| analyser.serial.is_some()),
    },
    Demand {
        by: PERMIT_UP,
        key: "standards: {NAME: {lot: …, expires: …}}",
        what: "lot and expiry of every standard used",
        rule: "ISO/IEC 17025 7.8.4.1 c; 40 CFR 136.7",
        met: |visit, subject, _| {
            standards(subject).all(|index| {
                let standard = &visit.kit.standards[index];
                standard.lot.is_some() && standard.expires.is_some()
            })
        },
    },
    Demand {
        by: PERMIT_UP,
        key: "as_left (or as_found): {checks: {standard: {in: …, shown: …, temperature: …}}}",
        what: "check in a standard that was not used to calibrate, or the reason why not (`not_done`)",
        rule: "40 CFR 136.7; USP <791>",
        met: |_, subject, _| {
            subject.quantity == LoopQuantity::Redox || checks(subject).any(|checks| checks.standard.is_some())
        },
    },
    Demand {
        by: PERMIT,
        key: "checks: {sample: {taken: …, measured: …}}",
        what: "times at which the sample was taken and measured",
        rule: "40 CFR 136 Table II (pH: 15 minutes)",
        met: |_, subject, _| {
            checks(subject).all(|checks| match &checks.sample {
                Some(Check::Done(sample)) => sample.taken.is_some() && sample.measured.is_some(),
                Some(Check::NotDone(_)) | None => true,
            })
        },
    },
    Demand {
        by: PERMIT_UP,
        key: "signatures: [{role: performed, name: …, signed: …}]",
        what: "signature of who did the work, with date and time",
        rule: "40 CFR 122.41(j)(3)(ii); ISO/IEC 17025 7.5.1; 21 CFR 11.50",
        met: |visit, _, _| visit.signatures.iter().any(|s| s.role == Role::Performed && s.signed.is_some()),
    },
    Demand {
        by: GMP_AND_LABORATORY,
        key: "instruments: {NAME: {measures: temperature, serial: …, certificate: …, due: …}}",
        what: "reference thermometer with certificate and due date",
        rule: "ISO/IEC 17025 7.8.4.1 c; 21 CFR 820.72(b)(1)",
        met: |visit, _, _| {
            visit.kit.instruments.iter().any(|instrument| {
                instrument.measures == crate::kit::Measurand::Temperature
                    && instrument.certificate.is_some()
                    && instrument.due.is_some()
            })
        },
    },
    Demand {
        by: GMP,
        key: "as_found: {stored: {compensation: automatic}}",
        what: "mode of temperature compensation",
        rule: "ASTM D6569 (summary); good practice for compensated loops",
        met: |_, subject, _| {
            subject.quantity == LoopQuantity::Redox
                || states(subject).any(|s| s.stored.as_ref().is_some_and(|stored| stored.compensation.is_some()))
        },
    },
    Demand {
        by: GMP,
        key: "signatures: [{role: authorised, name: …, signed: …}]",
        what: "authorisation by somebody who did not do the work",
        rule: "21 CFR 11.50; EU GMP Annex 11 section 14",
        met: |visit, _, _| {
            let performed =
                |name: &str| visit.signatures.iter().any(|s| s.role == Role::Performed && s.name.text == name);
            let mut release = visit.signatures.iter().filter(|s| matches!(s.role, Role::Authorised | Role::Reviewed));
            release.all(|s| !performed(&s.name.text))
        },
    },
    Demand {
        by: GMP_AND_LABORATORY,
        key: "signatures: [{role: …, name: …, signed: …}]",
        what: "date and time of every signature",
        rule: "21 CFR 11.50",
        met: |visit, _, _| visit.signatures.iter().all(|signature| signature.signed.is_some()),
    },
    Demand {
        by: LABORATORY,
        key: "visit: {conditions: {ambient: …}}",
        what: "ambient temperature",
        rule: "ISO/IEC 17025 7.8.4.1 b",
        met: |visit, _, _| visit.ambient.is_some(),
    },
    Demand {
        by: LABORATORY,
        key: "standards: {NAME: {expanded_uncertainty: …}}",
        what: "uncertainty of every standard used",
        rule: "ISO/IEC 17025 7.8.4.1 a",
        met: |visit, subject, _| {
            standards(subject).all(|index| visit.kit.standards[index].expanded_uncertainty.is_some())
        },
    },
];

/// Where a demand belongs to the visit as a whole, so that it is told once and not for every loop.
const OF_VISIT: [&str; 5] = ["visit:", "firm.yaml:", "client:", "signatures:", "instruments:"];

/// What a guarded rule could not judge for want of an uncertainty, where a laboratory must judge it.
///
/// Source: ISO/IEC 17025:2017 7.8.6.1 (a decision rule that takes account of the risk), read in excerpts.
pub fn undecided(visit: &Visit, index: usize, record: &Record) -> Option<Problem> {
    let subject = &visit.loops[index];
    let open = record.criteria.iter().filter(|criterion| criterion.reason.as_deref() == Some("no-uncertainty"));
    let names: Vec<&str> = open.map(|criterion| criterion.name).collect();
    (subject.limits.requirements == Regime::Laboratory && !names.is_empty()).then(|| {
        Problem::error(
            "guarded-without-uncertainty",
            &subject.place,
            format!("the guarded rule could not judge: {}", names.join(", ")),
            "a guard band is a multiple of the uncertainty, and none is known for these",
            "list the instrument with its `expanded_uncertainty`, take the criterion out of the limits, or use `decision: simple`",
        )
    })
}

/// What the regime of loop `index` demands and the files do not hold; what the whole visit lacks is told with the first
/// loop that demands it, and only if `asks_of_visit`: an error there is told already, and may be why it lacks.
pub fn missing(visit: &Visit, index: usize, firm: &Firm, asks_of_visit: bool) -> Vec<Problem> {
    let subject = &visit.loops[index];
    let regime = subject.limits.requirements;
    let lacks = |demand: &Demand, subject: &Loop| {
        demand.by.contains(&subject.limits.requirements) && !(demand.met)(visit, subject, firm)
    };
    let of_visit = |demand: &Demand| OF_VISIT.iter().any(|key| demand.key.starts_with(key));
    let is_told = |demand: &Demand| {
        of_visit(demand) && (!asks_of_visit || visit.loops[..index].iter().any(|other| lacks(demand, other)))
    };
    DEMANDS
        .iter()
        .filter(|demand| lacks(demand, subject) && !is_told(demand))
        .map(|demand| {
            let (place, whose) = match of_visit(demand) {
                true => (Place { path: "visit".to_owned(), ..visit.number.place.clone() }, String::new()),
                false => (subject.place.clone(), format!("loop {}: ", subject.tag.text)),
            };
            Problem::error(
                "required-by-regime",
                &place,
                format!("{whose}missing: {}", demand.what),
                format!("the limits «{}» demand the regime `{}` ({})", subject.limits.name, regime.word(), demand.rule),
                format!("add it at `{}`", demand.key),
            )
        })
        .collect()
}

/// Warnings that are errors under some regimes; they stay open to acceptance with a reason.
const RAISED: &[(&str, &[Regime])] = &[("lot-expired", GMP), ("instrument-past-due", GMP_AND_LABORATORY)];

/// Makes a warning an error where the regime says so.
pub fn raise(problem: &mut Problem, regime: Regime) {
    if RAISED.iter().any(|(code, by)| *code == problem.code && by.contains(&regime)) {
        problem.severity = Severity::Error;
    }
}

fn states(subject: &Loop) -> impl Iterator<Item = &State> {
    let left = subject.as_left.as_ref().map(|left| &left.0);
    [Some(&subject.as_found.0), left].into_iter().flatten().filter_map(|obtained| match obtained {
        Obtained::Yes(state) => Some(state),
        Obtained::Not(_) => None,
    })
}

fn checks(subject: &Loop) -> impl Iterator<Item = &Checks> {
    states(subject).map(|state| &state.checks)
}

fn standards(subject: &Loop) -> impl Iterator<Item = usize> {
    let after_remedies = subject.remedies.iter().flat_map(|remedy| &remedy.readings);
    states(subject).flat_map(|state| &state.readings).chain(after_remedies).map(|reading| reading.standard)
}

#[cfg(test)]
mod tests {
    #[test]
    fn what_is_raised_is_a_code_that_exists() {
        for (raised, _) in super::RAISED {
            assert!(crate::problem::CODES.iter().any(|(code, _)| code == raised), "{raised}");
        }
    }
}
