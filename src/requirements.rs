//! What a regime demands of visit and limits together, what the engine finds implausible in the readings, and what the
//! technician accepted knowingly.
//!
//! Comes in: an [`Opened`] visit. Goes out: its records and every problem; warnings, and errors accepted with a reason, hang
//! on the records as deviations; a regime has turned some warnings into errors. Next: [`crate::document`].

mod plausible;
mod regimes;

use crate::firm::Firm;
use crate::limits::Regime;
use crate::problem::{Problem, Severity};
use crate::record::{Deviation, Record, compute};
use crate::visit::{Loop, Opened, Visit};
use crate::yaml::{Text, nearest};

/// A visit with its records, or without where an error forbids them, and every problem to tell.
#[derive(Debug)]
pub struct Reviewed {
    /// The visit; none where a file could not be read at all.
    pub visit: Option<Visit>,
    /// One record a loop; empty where an error forbids a certificate.
    pub records: Vec<Record>,
    /// The issuing firm.
    pub firm: Firm,
    /// Problems in the order of their places, without those that were accepted with a reason.
    pub problems: Vec<Problem>,
}

/// Computes the records of an opened visit, completes its problems and hangs remarks on the records as deviations.
pub fn review(opened: Opened) -> Reviewed {
    let Opened {
        visit,
        firm,
        mut problems,
    } = opened;
    let Some(visit) = visit else {
        return Reviewed {
            visit: None,
            records: Vec::new(),
            firm,
            problems,
        };
    };
    let mut records: Vec<Record> = (0..visit.loops.len())
        .map(|index| compute(&visit, index))
        .collect();
    for (index, record) in records.iter().enumerate() {
        problems.extend(plausible::problems(&visit, index, record));
        problems.extend(regimes::missing(&visit, index, &firm));
    }
    for problem in &mut problems {
        regimes::raise(problem, regime_of(problem, &visit));
    }
    let unmet: Vec<Problem> = visit
        .loops
        .iter()
        .enumerate()
        .flat_map(|(i, l)| meets_nothing(l, i, &problems))
        .collect();
    for (index, record) in records.iter_mut().enumerate() {
        record
            .deviations
            .splice(0..0, remarks(&visit.loops[index], index, &problems));
    }
    problems.retain(|problem| !accepted(&visit, problem));
    problems.extend(unmet);
    problems.sort_by(|a, b| place_order(a).cmp(&place_order(b)));
    if has_error(&problems) {
        records.clear();
    }
    Reviewed {
        visit: Some(visit),
        records,
        firm,
        problems,
    }
}

/// Whether a visit can be issued in spite of these problems.
pub fn has_error(problems: &[Problem]) -> bool {
    problems
        .iter()
        .any(|problem| problem.severity == Severity::Error)
}

fn place_order(problem: &Problem) -> (&str, u32, u32) {
    (
        &problem.place.file,
        problem.place.line,
        problem.place.column,
    )
}

/// The regime that a problem falls under: its loop's, else the strictest of the visit.
fn regime_of(problem: &Problem, visit: &Visit) -> Regime {
    let regime = |subject: &Loop| subject.limits.requirements;
    match loop_index(problem).and_then(|index| visit.loops.get(index)) {
        Some(subject) => regime(subject),
        None => visit
            .loops
            .iter()
            .map(regime)
            .max_by_key(|regime| strictness(*regime))
            .unwrap_or_default(),
    }
}

fn strictness(regime: Regime) -> u8 {
    match regime {
        Regime::Plain => 0,
        Regime::Permit => 1,
        Regime::Laboratory => 2,
        Regime::Gmp => 3,
    }
}

/// The loop that a problem concerns, by its path; none where it concerns the whole visit.
fn loop_index(problem: &Problem) -> Option<usize> {
    let rest = problem.place.path.strip_prefix("loops[")?;
    rest.split_once(']')?.0.parse().ok()
}

fn concerns(problem: &Problem, index: usize) -> bool {
    loop_index(problem).is_none_or(|of| of == index)
}

/// The reason given in a loop for a problem that may be accepted.
fn reason<'a>(subject: &'a Loop, index: usize, problem: &Problem) -> Option<&'a Text> {
    let entry = subject
        .accepted
        .iter()
        .find(|accepted| accepted.code.text == problem.code)?;
    (problem.acceptable && concerns(problem, index)).then_some(&entry.reason)
}

/// Whether every loop that a problem concerns accepted it.
fn accepted(visit: &Visit, problem: &Problem) -> bool {
    let mut concerned = visit
        .loops
        .iter()
        .enumerate()
        .filter(|(index, _)| concerns(problem, *index))
        .peekable();
    concerned.peek().is_some()
        && concerned.all(|(index, subject)| reason(subject, index, problem).is_some())
}

/// What the readers of loop `index` must know: warnings, and errors that were accepted with a reason.
fn remarks(subject: &Loop, index: usize, problems: &[Problem]) -> Vec<Deviation> {
    let concerning = problems.iter().filter(|problem| concerns(problem, index));
    let told = concerning.filter_map(|problem| {
        let reason = reason(subject, index, problem);
        (problem.severity == Severity::Warning || reason.is_some()).then(|| Deviation {
            code: problem.code.to_owned(),
            what: problem.what.clone(),
            reason: reason.map(|reason| reason.text.clone()),
        })
    });
    told.collect()
}

/// A problem for each acceptance of loop `index` that meets nothing.
fn meets_nothing(subject: &Loop, index: usize, problems: &[Problem]) -> Vec<Problem> {
    let open: Vec<&Problem> = problems
        .iter()
        .filter(|problem| concerns(problem, index))
        .collect();
    let acceptable = || {
        open.iter()
            .filter(|problem| problem.acceptable)
            .map(|problem| problem.code)
    };
    let told = |code: &Text| {
        if acceptable().any(|known| known == code.text) {
            return None;
        }
        let closed = open.iter().any(|problem| problem.code == code.text);
        let why = match closed {
            true => {
                "a problem with this code stands here, but it cannot be accepted: it must be mended"
            }
            false => "nothing in this loop has this code, so there is nothing to accept",
        };
        let fix = match (closed, nearest(&code.text, acceptable())) {
            (true, _) => "remove this entry and mend the problem".to_owned(),
            (false, Some(near)) => format!("write `{near}`"),
            (false, None) => {
                "remove this entry, or copy the code from the message it answers".to_owned()
            }
        };
        let what = format!("`accepted` names the code `{}`", code.text);
        Some(Problem::error(
            "nothing-to-accept",
            &code.place,
            what,
            why,
            fix,
        ))
    };
    subject
        .accepted
        .iter()
        .filter_map(|accepted| told(&accepted.code))
        .collect()
}
