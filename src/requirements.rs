//! What a regime demands of visit and limits together, what the engine finds implausible in the readings, and what the
//! technician accepted knowingly.
//!
//! Comes in: an [`Opened`] visit. Goes out: its records and every problem; warnings, and errors accepted with a reason, hang
//! on the records as deviations; a regime has turned some warnings into errors. Next: [`crate::document`].

mod history;
mod plausible;
mod presence;
mod regimes;

pub use presence::{Presence, clashes, presences};

use crate::firm::Firm;
use crate::limits::Regime;
use crate::problem::{Problem, Severity};
use crate::record::{Deviation, Point, Record, compute, history::attach};
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

/// A visit with its computed records and every problem that its own files show, before earlier visits are looked at.
#[derive(Debug)]
pub struct Weighed {
    visit: Option<Visit>,
    firm: Firm,
    records: Vec<Record>,
    found: Vec<Found>,
}

/// Computes the records of an opened visit and completes its problems.
pub fn weigh(opened: Opened) -> Weighed {
    let Opened { visit, firm, mut problems, accepted: _ } = opened;
    let Some(visit) = visit else {
        let found = problems.into_iter().map(|problem| Found { problem, concerned: Vec::new() });
        return Weighed { visit: None, firm, records: Vec::new(), found: found.collect() };
    };
    let records: Vec<Record> = (0..visit.loops.len()).map(|index| compute(&visit, index)).collect();
    for (index, record) in records.iter().enumerate() {
        problems.extend(plausible::problems(&visit, index, record));
        problems.extend(regimes::missing(&visit, index, &firm));
    }
    let found = problems.into_iter().map(|problem| placed(&visit, problem)).collect();
    Weighed { visit: Some(visit), firm, records, found }
}

impl Weighed {
    /// The visit; none where a file could not be read at all.
    pub fn visit(&self) -> Option<&Visit> {
        self.visit.as_ref()
    }

    /// What later visits need of this one, a point a loop.
    ///
    /// # Errors
    /// How many errors its files have: their figures serve no other visit.
    pub fn points(&self) -> Result<Vec<Point>, usize> {
        let open = |found: &&Found| {
            let accepted = self.visit.as_ref().is_some_and(|visit| accepted(visit, found));
            found.problem.severity == Severity::Error && !accepted
        };
        match self.found.iter().filter(open).count() {
            0 => Ok(self.records.iter().map(Point::of).collect()),
            errors => Err(errors),
        }
    }
}

/// Hangs remarks on the records of an opened visit as deviations; earlier visits are not looked at.
pub fn review(opened: Opened) -> Reviewed {
    review_among(weigh(opened), &[])
}

/// The same among the points of other visits, from which the history of each loop is taken.
pub fn review_among(weighed: Weighed, points: &[&Point]) -> Reviewed {
    let Weighed { visit, firm, mut records, mut found } = weighed;
    let Some(visit) = visit else {
        let problems = found.into_iter().map(|found| found.problem).collect();
        return Reviewed { visit: None, records: Vec::new(), firm, problems };
    };
    for (index, record) in records.iter_mut().enumerate() {
        let told = history::problems(&visit, index, record, points);
        found.extend(told.into_iter().map(|problem| placed(&visit, problem)));
        attach(record, points);
    }
    let unmet: Vec<Problem> = (0..visit.loops.len()).flat_map(|index| meets_nothing(&visit, index, &found)).collect();
    for (index, record) in records.iter_mut().enumerate() {
        let mut remarks = remarks(&visit.loops[index], index, &found);
        // What the record tells with its reason is not told again without it.
        remarks.retain(|new| new.reason.is_some() || record.deviations.iter().all(|own| own.code != new.code));
        record.deviations.splice(0..0, remarks);
    }
    found.retain(|found| !accepted(&visit, found));
    let mut problems: Vec<Problem> = found.into_iter().map(|found| found.problem).chain(unmet).collect();
    for problem in problems.iter_mut().filter(|problem| problem.excerpt.is_empty()) {
        *problem = problem.clone().with_excerpt(visit.line(&problem.place));
    }
    problems.sort_by(|a, b| place_order(a).cmp(&place_order(b)));
    if has_error(&problems) {
        records.clear();
    }
    Reviewed { visit: Some(visit), records, firm, problems }
}

/// A problem as severe as the strictest regime that it concerns makes it.
fn placed(visit: &Visit, mut problem: Problem) -> Found {
    let concerned = visit.concerned(&problem);
    regimes::raise(&mut problem, strictest(visit, &concerned));
    Found { problem, concerned }
}

/// A problem with the positions of the loops it concerns.
#[derive(Debug)]
struct Found {
    problem: Problem,
    concerned: Vec<usize>,
}

/// Whether a visit can be issued in spite of these problems.
pub fn has_error(problems: &[Problem]) -> bool {
    problems.iter().any(|problem| problem.severity == Severity::Error)
}

fn place_order(problem: &Problem) -> (&str, u32, u32) {
    (&problem.place.file, problem.place.line, problem.place.column)
}

/// The strictest regime of the loops that a problem concerns.
fn strictest(visit: &Visit, concerned: &[usize]) -> Regime {
    let regimes = concerned.iter().map(|&index| visit.loops[index].limits.requirements);
    regimes.max_by_key(|regime| strictness(*regime)).unwrap_or_default()
}

fn strictness(regime: Regime) -> u8 {
    match regime {
        Regime::Plain => 0,
        Regime::Permit => 1,
        Regime::Laboratory => 2,
        Regime::Gmp => 3,
    }
}

/// The reason given in a loop for a problem that may be accepted.
fn reason<'a>(subject: &'a Loop, problem: &Problem) -> Option<&'a Text> {
    let entry = subject.accepted.iter().find(|accepted| accepted.code.text == problem.code)?;
    problem.acceptable.then_some(&entry.reason)
}

/// Whether every loop that a problem concerns accepted it.
fn accepted(visit: &Visit, found: &Found) -> bool {
    let by = |index: &usize| reason(&visit.loops[*index], &found.problem).is_some();
    !found.concerned.is_empty() && found.concerned.iter().all(by)
}

/// What the readers of loop `index` must know: warnings, and errors that were accepted with a reason.
fn remarks(subject: &Loop, index: usize, found: &[Found]) -> Vec<Deviation> {
    let concerning = found.iter().filter(|found| found.concerned.contains(&index));
    let told = concerning.filter_map(|Found { problem, .. }| {
        let reason = reason(subject, problem);
        (problem.severity == Severity::Warning || reason.is_some()).then(|| Deviation {
            code: problem.code.to_owned(),
            what: problem.what.clone(),
            reason: reason.map(|reason| reason.text.clone()),
        })
    });
    told.collect()
}

/// A problem for each acceptance of loop `index` that meets nothing.
fn meets_nothing(visit: &Visit, index: usize, found: &[Found]) -> Vec<Problem> {
    let open: Vec<&Problem> =
        found.iter().filter(|found| found.concerned.contains(&index)).map(|found| &found.problem).collect();
    let acceptable = || open.iter().filter(|problem| problem.acceptable).map(|problem| problem.code);
    let told = |code: &Text| {
        if acceptable().any(|known| known == code.text) {
            return None;
        }
        let closed = open.iter().any(|problem| problem.code == code.text);
        let why = match closed {
            true => "a problem with this code stands here, but it cannot be accepted: it must be mended",
            false => "nothing in this loop has this code, so there is nothing to accept",
        };
        let fix = match (closed, nearest(&code.text, acceptable())) {
            (true, _) => "remove this entry and mend the problem".to_owned(),
            (false, Some(near)) => format!("write `{near}`"),
            (false, None) => "remove this entry, or copy the code from the message it answers".to_owned(),
        };
        let what = format!("`accepted` names the code `{}`", code.text);
        Some(Problem::error("nothing-to-accept", &code.place, what, why, fix))
    };
    visit.loops[index].accepted.iter().filter_map(|accepted| told(&accepted.code)).collect()
}
