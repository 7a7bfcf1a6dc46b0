//! `issue`: check, compute, enter in the register, paint, write; a bad file does not stop the others and is named at the end.

use super::arguments::{Format, Issue};
use super::check::{counted, exit_code, is_for_people, json, tell_lost, tell_problems};
use super::earlier::Earlier;
use super::fates::{Tally, Teller, errors, now, tell_torn, tell_trouble, told};
use super::progress::Progress;
use super::{MISUSE, files, print, signing, tell};
use crate::issue::{Desk, Follow, Hindrance, Kind, Outcome, Prints, Ready, Replaced, Workers, ready};
use crate::paint::pdf::Press;
use crate::problem::{Place, Problem};
use crate::quantity::Moment;
use crate::record::Point;
use crate::register::{Register, Trouble};
use crate::requirements::Weighed;
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::path::Path;

/// Visits issued at once. The same for any number of jobs: the chain of the register, and with it what is printed, depends on
/// it.
const AT_ONCE: usize = 32;

/// A visit, or why it has no documents: it could not be read, or its problems.
type Checked = Result<Ready, Vec<Problem>>;

/// Runs `issue`.
pub fn run(order: &Issue) -> u8 {
    let key = match signing::private(order.sign.as_deref()) {
        Ok(key) => key,
        Err(code) => return code,
    };
    let now = now();
    let issued = match order.issued.as_deref().map(|text| Moment::parse(text, &Place::whole("--issued"))).transpose() {
        Ok(issued) => issued.unwrap_or_else(|| now.clone()),
        Err(problem) => {
            tell(&(problem.long() + "\n"));
            return MISUSE;
        }
    };
    let given = match files::given(&order.common) {
        Ok(given) => given,
        Err(lost) => {
            tell_lost(&[lost]);
            return MISUSE;
        }
    };
    let follow = follow(order);
    let (visits, lost) = files::visits(&order.common.paths);
    let (press, prints) = (Press::new(), Prints::default());
    let workers = Workers::new(order.common.jobs.map_or(0, usize::from));
    let folder = order.register.clone().unwrap_or_else(|| order.out.join("register"));
    let (register, is_alone) = match Register::open(&folder) {
        Ok(opened) => opened,
        Err(trouble) => return tell_trouble(&trouble),
    };
    let (out, press, prints, workers) = (order.out.as_path(), &press, &prints, &workers);
    let mut desk = Desk { register, out, press, prints, workers, shelf: given.shelf.clone(), given: BTreeMap::new() };
    let mut tally = Tally::default();
    let teller = Teller::new(out, order.common.quiet, order.common.format);
    let mut stopped = teller.begin(&mut desk, is_alone, &mut tally).err();
    if stopped.is_none() {
        let earlier = Earlier::among(&visits, &given);
        let check = |file: &Path, weighed: Weighed| checked(&earlier, file, weighed, &issued, prints, follow.as_ref());
        let mut progress = Progress::begin("issue", visits.len(), "visits", is_for_people(&order.common));
        let done = |chunk: Vec<(&Path, Checked)>| {
            let (visits, failed) = (chunk.len(), tally.not_issued.len());
            let flow = chunk_done(order, &mut desk, chunk, &mut tally).unwrap_or_else(|trouble| {
                stopped = Some(trouble);
                ControlFlow::Break(())
            });
            progress.step(visits, tally.not_issued.len() - failed);
            flow
        };
        files::each(&visits, workers, AT_ONCE, |file| earlier.weighed(file), check, done);
        drop(progress);
        tell_problems(&earlier.clashes(), &order.common);
        earlier.tell_left_out();
    }
    if stopped.is_none() {
        stopped = teller.sign(&mut desk, key.as_ref(), &now).err();
    }
    tell_lost(&lost);
    conclude(order, &tally, visits.len(), &desk);
    let code = exit_code(tally.refused || !tally.not_issued.is_empty(), tally.no_access || !lost.is_empty());
    match stopped {
        Some(trouble) => tell_trouble(&trouble).max(code),
        None => code,
    }
}

/// What an amendment says of itself.
fn follow(order: &Issue) -> Option<Follow> {
    let (Some(reason), Some(by)) = (&order.reason, &order.by) else { return None };
    let replaces = match &order.replaces {
        Some(number) => Replaced::Number(number.clone()),
        None => Replaced::ByPattern,
    };
    let (reason, by) = (reason.clone(), by.clone());
    order.amend.then_some(Follow { kind: Kind::Amendment, reason, by, authorised: None, replaces })
}

/// Everything about one visit that needs no register.
fn checked(
    earlier: &Earlier<'_>,
    file: &Path,
    weighed: Weighed,
    issued: &Moment,
    prints: &Prints,
    follow: Option<&Follow>,
) -> Checked {
    let (reviewed, points) = earlier.reviewed(file, weighed);
    let points: Vec<&Point> = points.iter().map(AsRef::as_ref).collect();
    ready(reviewed, &points, issued, prints, follow.cloned())
}

/// Issues a chunk and tells what became of it, in file order.
fn chunk_done(
    order: &Issue,
    desk: &mut Desk<'_>,
    chunk: Vec<(&Path, Checked)>,
    tally: &mut Tally,
) -> Result<ControlFlow<()>, Trouble> {
    let (mut sound, mut refused) = (Vec::new(), BTreeMap::new());
    let files: Vec<&Path> = chunk.iter().map(|(file, _)| *file).collect();
    for (at, (file, checked)) in chunk.into_iter().enumerate() {
        match checked {
            Ok(ready) => sound.push((file.display().to_string(), ready)),
            Err(problems) => drop(refused.insert(at, problems)),
        }
    }
    let outcomes = desk.issue(&sound);
    tell_torn(desk);
    let mut outcomes = sound.iter().zip(outcomes?);
    tally.worked_on += files.len();
    for (at, file) in files.into_iter().enumerate() {
        if let Some(problems) = refused.get(&at) {
            tell_problems(problems, &order.common);
            tally.not_issued.push((file.to_owned(), counted(errors(problems), "error")));
        } else if let Some(((_, ready), outcome)) = outcomes.next() {
            finish(order, file, ready, outcome, tally);
        }
    }
    Ok(if tally.no_access { ControlFlow::Break(()) } else { ControlFlow::Continue(()) })
}

fn finish(order: &Issue, file: &Path, ready: &Ready, outcome: Outcome, tally: &mut Tally) {
    tell_problems(&ready.problems, &order.common);
    let teller = Teller::new(&order.out, order.common.quiet, order.common.format);
    for done in &outcome.done {
        tally.count(done);
        teller.show(done);
    }
    for hindrance in &outcome.hindrances {
        if let Hindrance::Refused(problems) = hindrance {
            tell_problems(problems, &order.common);
        }
        let why = told(hindrance, tally);
        tally.not_issued.push((file.to_owned(), why));
    }
    if outcome.hindrances.is_empty() && !order.common.quiet && order.common.format == Format::Json {
        outcome.records.iter().for_each(|record| print(&json(file, record)));
    }
}

/// What the run came to.
fn conclude(order: &Issue, tally: &Tally, visits: usize, desk: &Desk<'_>) {
    let mut parts = tally.said();
    if !tally.not_issued.is_empty() {
        parts.push(format!("{} not issued", counted(tally.not_issued.len(), "visit file")));
    }
    if !order.common.quiet && order.common.format == Format::Text {
        let (out, register) = (order.out.display(), desk.register.folder().display());
        print(&format!("{} (PDF and HTML in {out}, entered in {register})\n", parts.join(", ")));
    }
    for (file, why) in &tally.not_issued {
        tell(&format!("not issued: {}: {why}\n", file.display()));
    }
    if tally.worked_on < visits {
        tell(&format!("not worked on: {}\n", counted(visits - tally.worked_on, "visit file")));
    }
}
