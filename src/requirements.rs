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
use crate::problem::{Place, Problem, Severity};
use crate::record::{Deviation, Point, Record, compute, history::attach};
use crate::visit::{Concern, Concerns, Loop, Opened, Visit};
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
    /// The problems of a visit that is refused; empty where there is a visit.
    refused: Vec<Problem>,
}

/// Computes the records of an opened visit and completes its problems.
///
/// Of a visit that is refused, the loops that could be read without an error are questioned as well, so that everything
/// comes in one run; nothing is asked that an error told already may explain, and there are no records.
pub fn weigh(opened: Opened) -> Weighed {
    let Opened { visit, fragment, firm, problems, accepted: _ } = opened;
    let Some(visit) = visit else {
        let refused = match fragment {
            Some(fragment) => in_part(fragment, &firm, problems),
            None => problems,
        };
        return Weighed { visit: None, firm, records: Vec::new(), found: Vec::new(), refused };
    };
    let records = records(&visit);
    let found = found(&visit, &records, problems, &firm, true);
    Weighed { visit: Some(visit), firm, records, found, refused: Vec::new() }
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
        let refused = self.refused.iter().filter(|problem| problem.severity == Severity::Error).count();
        match self.found.iter().filter(open).count() + refused {
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
    let Weighed { visit, firm, mut records, mut found, refused } = weighed;
    let Some(visit) = visit else {
        return Reviewed { visit: None, records: Vec::new(), firm, problems: refused };
    };
    let mut told = Vec::new();
    for (index, record) in records.iter_mut().enumerate() {
        told.extend(history::problems(&visit, index, record, points));
        attach(record, points);
    }
    found.extend(placed(&visit, told));
    let by_loop = by_loop(&found, visit.loops.len());
    let unmet = (0..visit.loops.len()).flat_map(|index| meets_nothing(&visit, index, &found, &by_loop[index]));
    let unmet: Vec<Problem> = unmet.take(MAX_TOLD).collect();
    for (index, record) in records.iter_mut().enumerate() {
        let mut remarks = remarks(&visit.loops[index], &found, &by_loop[index]);
        // What the record tells with its reason is not told again without it.
        remarks.retain(|new| new.reason.is_some() || record.deviations.iter().all(|own| own.code != new.code));
        record.deviations.splice(0..0, remarks);
    }
    found.retain(|found| !accepted(&visit, found));
    let problems = in_order(&visit, found.into_iter().map(|found| found.problem).chain(unmet).collect());
    if has_error(&problems) {
        records.clear();
    }
    Reviewed { visit: Some(visit), records, firm, problems }
}

/// The problems of a refused visit, with those of the loops that can be judged.
fn in_part(mut visit: Visit, firm: &Firm, problems: Vec<Problem>) -> Vec<Problem> {
    let concerns = Concerns::new(&visit);
    let refused: Vec<Concern> = problems.iter().filter(|it| it.refuses()).map(|it| concerns.of(it)).collect();
    let mut is_sound = vec![true; visit.loops.len()];
    for concern in &refused {
        if let Concern::Loops(loops) = concern {
            loops.iter().for_each(|&index| is_sound[index] = false);
        }
    }
    let mut sound = is_sound.into_iter();
    visit.loops.retain(|_| sound.next() == Some(true));
    let records = records(&visit);
    let mut found = found(&visit, &records, problems, firm, !refused.contains(&Concern::Visit));
    // Whether the loops that are missing here accept it too is not known.
    found.retain(|found| found.concern == Concern::Visit || !accepted(&visit, found));
    in_order(&visit, found.into_iter().map(|found| found.problem).collect())
}

fn records(visit: &Visit) -> Vec<Record> {
    (0..visit.loops.len()).map(|index| compute(visit, index)).collect()
}

/// A problem with whom it concerns.
#[derive(Debug)]
struct Found {
    problem: Problem,
    concern: Concern,
    /// Positions of the loops that are concerned.
    loops: Vec<usize>,
}

/// The problems of the files and those that figures and regimes add, as grave as the regimes say; of the visit as a whole
/// only if `asks_of_visit`.
fn found(
    visit: &Visit,
    records: &[Record],
    mut problems: Vec<Problem>,
    firm: &Firm,
    asks_of_visit: bool,
) -> Vec<Found> {
    for (index, record) in records.iter().enumerate() {
        problems.extend(plausible::problems(visit, index, record));
        problems.extend(regimes::missing(visit, index, firm, asks_of_visit));
        problems.extend(regimes::undecided(visit, index, record));
    }
    placed(visit, problems)
}

/// Problems with whom they concern, as severe as the strictest regime that they concern makes them.
fn placed(visit: &Visit, problems: Vec<Problem>) -> Vec<Found> {
    if problems.is_empty() {
        return Vec::new();
    }
    let concerns = Concerns::new(visit);
    let found = problems.into_iter().map(|mut problem| {
        let concern = concerns.of(&problem);
        let loops = concerns.loops(&concern);
        regimes::raise(&mut problem, strictest(visit, &loops));
        Found { problem, concern, loops }
    });
    found.collect()
}

/// For each loop the positions in `found` of what concerns it.
fn by_loop(found: &[Found], loops: usize) -> Vec<Vec<usize>> {
    let mut by_loop = vec![Vec::new(); loops];
    for (position, found) in found.iter().enumerate() {
        found.loops.iter().for_each(|&index| by_loop[index].push(position));
    }
    by_loop
}

/// Problems of a visit beyond which no more are listed.
const MAX_TOLD: usize = 1000;

/// Sorted by place, with their lines; the list has an end.
fn in_order(visit: &Visit, mut problems: Vec<Problem>) -> Vec<Problem> {
    problems.sort_by(|a, b| place_order(a).cmp(&place_order(b)));
    if problems.len() > MAX_TOLD {
        problems.truncate(MAX_TOLD);
        let place = Place::whole(&visit.number.place.file);
        let what = format!("the visit has more than {MAX_TOLD} problems; the others are not listed");
        problems.push(Problem::error("too-many-problems", &place, what, "", "check that this is the right file"));
    }
    let lines: Vec<&str> = visit.lines().collect();
    let is_bare = |it: &Problem| it.excerpt.is_empty() && it.place.file == visit.number.place.file && it.place.line > 0;
    let excerpt = |it: Problem| match lines.get(it.place.line.saturating_sub(1) as usize) {
        Some(line) if is_bare(&it) => it.with_excerpt(line),
        Some(_) | None => it,
    };
    problems.into_iter().map(excerpt).collect()
}

/// Whether a visit can be issued in spite of these problems.
pub fn has_error(problems: &[Problem]) -> bool {
    problems.iter().any(|problem| problem.severity == Severity::Error)
}

fn place_order(problem: &Problem) -> (&str, u32, u32) {
    (&problem.place.file, problem.place.line, problem.place.column)
}

/// The strictest regime of the loops that a problem concerns.
fn strictest(visit: &Visit, loops: &[usize]) -> Regime {
    let regimes = loops.iter().map(|&index| visit.loops[index].limits.requirements);
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
    !found.loops.is_empty() && found.loops.iter().all(by)
}

/// Warnings about the look and the numbers of documents: they say nothing about the work, so no reader of it need know.
const OF_THE_FIRM: [&str; 2] = ["accent-contrast", "numbering-without-visit"];

/// What the readers of a loop must know: warnings, and errors that were accepted with a reason.
fn remarks(subject: &Loop, found: &[Found], concerning: &[usize]) -> Vec<Deviation> {
    let concerning = concerning.iter().map(|&position| &found[position]);
    let of_the_work = concerning.filter(|found| !OF_THE_FIRM.contains(&found.problem.code));
    let told = of_the_work.filter_map(|Found { problem, .. }| {
        let reason = reason(subject, problem);
        (problem.severity == Severity::Warning || reason.is_some()).then(|| Deviation {
            code: problem.code.to_owned(),
            what: problem.what.clone(),
            reason: reason.map(|reason| reason.text.clone()),
            facts: problem.facts.clone(),
        })
    });
    told.collect()
}

/// A problem for each acceptance of loop `index` that meets nothing.
fn meets_nothing(visit: &Visit, index: usize, found: &[Found], concerning: &[usize]) -> Vec<Problem> {
    let open: Vec<&Problem> = concerning.iter().map(|&position| &found[position].problem).collect();
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
