//! `issue`: check, compute, paint, write; a bad file does not stop the others and is named at the end.

use super::arguments::{Format, Issue};
use super::check::{counted, exit_code, json, tell_lost, tell_problems};
use super::earlier::Earlier;
use super::{MISUSE, files, print, tell};
use crate::issue::{self, Fate, Refused, Sheet};
use crate::paint::pdf::Press;
use crate::problem::{Place, Problem};
use crate::quantity::Moment;
use crate::record::Record;
use crate::requirements::{Reviewed, Weighed};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What became of one visit file.
struct Result {
    problems: Vec<Problem>,
    records: Vec<Record>,
    sheets: Vec<Sheet>,
}

/// What a batch came to.
#[derive(Default)]
struct Tally {
    written: usize,
    already: usize,
    not_issued: Vec<(PathBuf, String)>,
    no_access: bool,
    numbers: BTreeMap<String, PathBuf>,
}

/// Runs `issue`.
pub fn run(order: &Issue) -> u8 {
    let issued = match order.issued.as_deref().map(|text| Moment::parse(text, &Place::whole("--issued"))).transpose() {
        Ok(issued) => issued,
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
    let (visits, lost) = files::visits(&order.common.paths);
    let press = Press::new();
    let mut tally = Tally::default();
    let earlier = Earlier::among(&visits, &given);
    let make = |file: &Path, weighed: Weighed| made(earlier.reviewed(file, weighed), issued.as_ref(), &press);
    let done = |file: &Path, result| finish(order, file, result, &mut tally);
    files::each(&visits, &order.common, |file| earlier.weighed(file), make, done);
    tell_problems(&earlier.clashes(), &order.common);
    earlier.tell_left_out();
    tell_lost(&lost);
    if !order.common.quiet && order.common.format == Format::Text {
        print(&summary(&tally, order));
    }
    for (file, why) in &tally.not_issued {
        tell(&format!("not issued: {}: {why}\n", file.display()));
    }
    exit_code(!tally.not_issued.is_empty(), tally.no_access || !lost.is_empty())
}

/// Everything about one visit but the writing.
fn made(reviewed: Reviewed, issued: Option<&Moment>, press: &Press) -> Result {
    let Some(visit) = reviewed.visit.as_ref().filter(|_| !reviewed.records.is_empty()) else {
        return Result { problems: reviewed.problems, records: Vec::new(), sheets: Vec::new() };
    };
    let issued = issued.unwrap_or_else(|| issue::default_issue_time(visit));
    let records = issue::numbered(&reviewed, visit, issued);
    let mut problems = reviewed.problems.clone();
    let sheets = match issue::documents(visit, &reviewed.firm, &records, press) {
        Ok(documents) => issue::sheets(&documents, press),
        Err(more) => {
            problems.extend(more);
            Vec::new()
        }
    };
    Result { problems, records, sheets }
}

fn finish(order: &Issue, file: &Path, result: Result, tally: &mut Tally) {
    tell_problems(&result.problems, &order.common);
    if result.sheets.is_empty() {
        let errors =
            result.problems.iter().filter(|problem| problem.severity == crate::problem::Severity::Error).count();
        tally.not_issued.push((file.to_owned(), counted(errors, "error")));
        return;
    }
    if let Some((number, other)) = result.sheets.iter().find_map(|s| Some((&s.number, tally.numbers.get(&s.number)?))) {
        tally
            .not_issued
            .push((file.to_owned(), format!("the number {number} is given by {} already", other.display())));
        return;
    }
    tally.numbers.extend(result.sheets.iter().map(|sheet| (sheet.number.clone(), file.to_owned())));
    match issue::write(&order.out, &result.sheets) {
        Ok(fates) => told(order, file, &result, &fates, tally),
        Err(Refused::Different(path)) => {
            let why = format!("{} is a different document; an issued document is never overwritten", path.display());
            tally.not_issued.push((file.to_owned(), why));
        }
        Err(Refused::Unwritable(path, error)) => {
            tally.no_access = true;
            tally.not_issued.push((file.to_owned(), format!("{}: {error}", path.display())));
        }
    }
}

fn told(order: &Issue, file: &Path, result: &Result, fates: &[Fate], tally: &mut Tally) {
    for (sheet, fate) in result.sheets.iter().zip(fates) {
        let word = match fate {
            Fate::Written => {
                tally.written += 1;
                "issued"
            }
            Fate::AlreadyThere => {
                tally.already += 1;
                "already issued"
            }
        };
        if !order.common.quiet && order.common.format == Format::Text {
            print(&format!("{word}  {}\n", order.out.join(format!("{}.pdf", sheet.stem)).display()));
        }
    }
    if !order.common.quiet && order.common.format == Format::Json {
        result.records.iter().for_each(|record| print(&json(file, record)));
    }
}

fn summary(tally: &Tally, order: &Issue) -> String {
    let mut parts = vec![format!("{} issued", counted(tally.written, "document"))];
    if tally.already > 0 {
        parts.push(format!("{} already issued", tally.already));
    }
    if !tally.not_issued.is_empty() {
        parts.push(format!("{} not issued", counted(tally.not_issued.len(), "visit file")));
    }
    format!("{} (PDF and HTML in {})\n", parts.join(", "), order.out.display())
}
