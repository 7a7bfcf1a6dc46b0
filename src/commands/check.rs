//! `check`: validate, compute, show.

use super::arguments::{Check, Common, Format};
use super::earlier::Earlier;
use super::progress::Progress;
use super::{DONE, MISUSE, REFUSED, files, print, table, tell};
use crate::issue::{self, Workers};
use crate::paint::pdf::Press;
use crate::problem::Problem;
use crate::record::Record;
use crate::requirements::{Reviewed, Weighed, has_error};
use crate::rounding::DecimalSign;
use crate::wording::english;
use serde::Serialize;
use std::io::IsTerminal;
use std::ops::ControlFlow;
use std::path::Path;

/// Runs `check`.
pub fn run(order: &Check) -> u8 {
    let common = &order.common;
    let given = match files::given(common) {
        Ok(given) => given,
        Err(lost) => {
            tell_lost(&[lost]);
            return MISUSE;
        }
    };
    let (visits, lost) = files::visits(&common.paths);
    let style = table::Style::of_terminal(std::io::stdout().is_terminal());
    let mut refused = 0;
    let press = Press::new();
    let earlier = Earlier::among(&visits, &given);
    let workers = Workers::new(common.jobs.map_or(0, usize::from));
    let finish = |file: &Path, weighed: Weighed| issuable(earlier.reviewed(file, weighed).0, &press);
    let chunk = 4 * workers.count();
    let mut progress = Progress::begin("check", visits.len(), "visits", is_for_people(common));
    let done = |reviewed: Vec<(&Path, Reviewed)>| {
        for (file, reviewed) in reviewed {
            let is_refused = has_error(&reviewed.problems);
            progress.step(1, usize::from(is_refused));
            refused += usize::from(is_refused);
            tell_problems(&reviewed.problems, common);
            if !common.quiet {
                show(file, &reviewed, common.format, style);
            }
        }
        ControlFlow::Continue(())
    };
    files::each(&visits, &workers, chunk, |file| earlier.weighed(file), finish, done);
    drop(progress);
    tell_problems(&earlier.clashes(), common);
    earlier.tell_left_out();
    tell_lost(&lost);
    if !common.quiet && common.format == Format::Text && visits.len() > 1 {
        print(&format!("\n{} checked, {refused} refused\n", counted(visits.len(), "visit")));
    }
    exit_code(refused > 0, !lost.is_empty())
}

/// The same, refused where its documents could not be issued: what `check` lets pass, `issue` issues.
fn issuable(mut reviewed: Reviewed, press: &Press) -> Reviewed {
    let Some(visit) = reviewed.visit.as_ref().filter(|_| !reviewed.records.is_empty()) else {
        return reviewed;
    };
    let numbered = issue::numbered(&reviewed, visit, issue::default_issue_time(visit));
    if let Err(hindrances) = issue::documents(visit, &reviewed.firm, &numbered, press) {
        reviewed.problems.extend(hindrances);
        reviewed.records.clear();
    }
    reviewed
}

/// Whether somebody may watch: text is wanted, and no silence.
pub fn is_for_people(common: &Common) -> bool {
    !common.quiet && common.format == Format::Text
}

/// No access outweighs refused.
pub fn exit_code(refused: bool, no_access: bool) -> u8 {
    match (no_access, refused) {
        (true, _) => MISUSE,
        (false, true) => REFUSED,
        (false, false) => DONE,
    }
}

/// `1 visit`, `3 visits`.
pub fn counted(number: usize, what: &str) -> String {
    match number {
        1 => format!("1 {what}"),
        _ => format!("{number} {what}s"),
    }
}

/// Tells every problem on the error stream.
pub fn tell_problems(problems: &[Problem], common: &Common) {
    for problem in problems {
        match common.brief {
            true => tell(&(problem.one_line() + "\n")),
            false => tell(&(problem.long() + "\n")),
        }
    }
}

/// Tells the paths that could not be worked on.
pub fn tell_lost(lost: &[files::NoAccess]) {
    for files::NoAccess { path, why } in lost {
        tell(&format!("halfcell: {}: {why}\n", path.display()));
    }
}

/// A record with the file it came from, as `--format json` gives it.
#[derive(Serialize)]
struct Line<'a> {
    file: String,
    #[serde(flatten)]
    record: &'a Record,
}

/// Shows the records of a visit.
pub fn show(file: &Path, reviewed: &Reviewed, format: Format, style: table::Style) {
    match format {
        Format::Text => print(&table::visit(file, reviewed, style)),
        Format::Json => reviewed.records.iter().for_each(|record| print(&json(file, record))),
    }
}

/// One record as one line of JSON, with the sentences that the stored record does not hold.
pub fn json(file: &Path, record: &Record) -> String {
    let mut said = record.clone();
    for slip in &mut said.slips {
        slip.said = Some(english().slip(slip, DecimalSign::Point));
    }
    for finding in &mut said.findings {
        finding.sentences = Some(english().finding(record, finding, DecimalSign::Point));
    }
    let line = Line { file: file.display().to_string(), record: &said };
    let text = serde_json::to_string(&line).expect("a record has text keys and finite numbers only");
    format!("{text}\n")
}
