//! A checked visit to the record of one of its loops, step by step as the written procedure goes.

use super::gather;
use super::judge::Judging;
use super::states::{self, Bench};
use super::*;
use crate::client::LoopQuantity;
use crate::visit::Visit;

/// The record of loop `index` (from 0) of a valid visit, before it has a number.
///
/// Order: figures of each state → remedies with what they gained → findings → criteria → verdicts → condition → deviations.
pub fn compute(visit: &Visit, index: usize) -> Record {
    let subject = &visit.loops[index];
    let bench = Bench::new(visit, subject);
    let as_found = states::as_found(&bench);
    let mut remedies = states::remedies(&bench, &as_found);
    let as_left = states::as_left(&bench);
    let findings = evidence::findings(subject, &as_found, &mut remedies, as_left.as_ref());
    let judging = Judging { visit, subject, as_found: &as_found, remedies: &remedies, as_left: as_left.as_ref() };
    let criteria = judging.criteria();
    let verdicts = judging.verdicts(&criteria);
    let condition = judging.condition(&criteria);
    let deviations = deviations::list(visit, &as_found, &remedies, as_left.as_ref());
    let slips = slips::list(visit, subject, &as_found, as_left.as_ref());
    Record {
        tag: subject.tag.text.clone(),
        quantity: match subject.quantity {
            LoopQuantity::Ph => Quantity::Ph,
            LoopQuantity::Redox => Quantity::Redox,
        },
        visit: gather::visit_facts(visit),
        client: gather::client_facts(visit),
        measuring_loop: gather::loop_facts(visit, subject),
        standards: gather::used_standards(visit, subject),
        instruments: gather::used_instruments(visit, subject),
        limits: gather::limit_facts(&subject.limits),
        program: format!("{} {}", env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION")),
        sources: visit
            .sources
            .iter()
            .map(|source| SourceFacts { name: source.name.clone(), sha256: source.sha256.clone() })
            .collect(),
        certificate: CertificateFacts { kind: "original".to_owned(), ..CertificateFacts::default() },
        keep: keep::until(visit, &subject.limits),
        verdict: verdicts.overall,
        as_found: StateRecord { verdict: verdicts.as_found, ..as_found },
        as_left: as_left.map(|state| StateRecord { verdict: verdicts.as_left, ..state }),
        remedies,
        condition,
        criteria,
        slips,
        findings,
        deviations,
        history: Vec::new(),
        trend: None,
    }
}
