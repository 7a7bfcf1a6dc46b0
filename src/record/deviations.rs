//! Deviations: what a reader must know that departs from the procedure or could not be done.

use super::*;
use crate::visit::Visit;

/// What the record itself shows; remarks of the check step are put before it by [`crate::requirements`].
pub fn list(
    visit: &Visit,
    as_found: &StateRecord,
    as_left: Option<&StateRecord>,
) -> Vec<Deviation> {
    let mut deviations = Vec::new();
    let states = [(Stage::AsFound, Some(as_found)), (Stage::AsLeft, as_left)];
    for (stage, state) in states
        .into_iter()
        .filter_map(|(stage, state)| Some((stage, state?)))
    {
        if let Some(reason) = &state.not_obtained {
            deviations.push(said(stage, "not-obtained", String::new(), reason));
        }
        for (check, reason) in &state.checks.not_done {
            deviations.push(said(stage, "check-not-done", check.clone(), reason));
        }
        readings(&mut deviations, stage, &state.figures.readings);
    }
    if visit.kit.instruments.is_empty() {
        deviations.push(Deviation {
            code: "no-instruments-listed".to_owned(),
            what: String::new(),
            reason: None,
        });
    }
    deviations
}

fn readings(deviations: &mut Vec<Deviation>, stage: Stage, readings: &[ReadingRecord]) {
    for reading in readings {
        if let Some(reason) = &reading.temperature_assumed {
            deviations.push(said(
                stage,
                "temperature-assumed",
                reading.standard.clone(),
                reason,
            ));
        }
        if let Some(reason) = &reading.excluded {
            deviations.push(said(
                stage,
                "reading-excluded",
                reading.standard.clone(),
                reason,
            ));
        }
    }
}

/// A deviation that the record shows: `code` with the stage before it, what it concerns, the reason given.
fn said(stage: Stage, code: &str, what: String, reason: &str) -> Deviation {
    let stage = match stage {
        Stage::AsFound => "as-found",
        Stage::AsLeft => "as-left",
    };
    Deviation {
        code: format!("{stage}-{code}"),
        what,
        reason: Some(reason.to_owned()),
    }
}
