//! What was issued, judged by other limits: from the archive alone, the measurements untouched.
//!
//! Comes in: documents of the register that were made from the same files, and a limits file. Goes out: what would change, and
//! the visit ready to be issued as re-evaluations. Next: [`super::Desk`], where somebody asks for them.

use super::content::{self, Registered};
use super::follow::{Follow, Kind, Replaced};
use super::ready::{Ready, ready};
use super::restore::{files, points, program, registered};
use super::sources::Prints;
use crate::problem::{Problem, Severity};
use crate::quantity::Moment;
use crate::record::{BeforeCriterion, LimitRecord, OutcomeWord, Point, Record, Stage, Verdict};
use crate::register::{Archive, Viewed};
use crate::requirements::{Reviewed, review_among, weigh};
use crate::visit::{given_limits, is_given_limits, open_kept};
use crate::yaml::Shelf;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// By what, and for whom, documents are judged anew.
#[derive(Debug)]
pub struct Rejudging<'r> {
    /// What documents were made from.
    pub archive: &'r Archive,
    /// The limits file.
    pub limits: &'r Path,
    /// Moment of issue of re-evaluations.
    pub issued: &'r Moment,
    /// Files that several visits name, read once.
    pub shelf: &'r Arc<Shelf>,
    /// For hashing.
    pub prints: &'r Prints,
    /// Why.
    pub reason: &'r str,
    /// Who asks.
    pub by: &'r str,
    /// Who authorises the re-evaluations.
    pub authorised: Option<&'r str>,
}

/// Documents made from the same files, judged anew.
#[derive(Debug)]
pub struct Rejudged {
    /// One a loop of which a certificate was asked for.
    pub rows: Vec<Row>,
    /// The visit, to be issued as re-evaluations; none where every document was judged by these limits already.
    pub ready: Option<Ready>,
}

/// A certificate, judged anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its number.
    pub number: String,
    /// Name of the client.
    pub client: String,
    /// Tag of the loop.
    pub tag: String,
    /// Begin of the visit, as printed.
    pub started: String,
    /// Limits by which it was judged.
    pub limits: String,
    /// As found and as left, as issued.
    pub old: [Option<Verdict>; 2],
    /// The same by the other limits.
    pub new: [Option<Verdict>; 2],
    /// For each verdict that changes, the criterion that governs.
    pub governing: Vec<Governing>,
    /// Criteria whose outcome changes.
    pub outcomes_changed: usize,
    /// Whether it was judged by these limits already.
    pub is_judged: bool,
    /// What this version of the program computes otherwise, by the limits as issued.
    pub program: Vec<ProgramDifference>,
    /// Whether a verdict changes by the program alone.
    pub verdict_by_program: bool,
}

/// A criterion that decides a verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Governing {
    /// As issued.
    pub old: BeforeCriterion,
    /// By the other limits.
    pub new: BeforeCriterion,
    /// Unit of value and limits.
    pub unit: &'static str,
    /// Decimals that the value deserves.
    pub decimals: usize,
}

/// A figure that another version of the program computes otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct ProgramDifference {
    /// Where in the record.
    pub path: String,
    /// As registered.
    pub old: String,
    /// As computed now.
    pub new: String,
}

/// Differences of a record beyond which no more are told.
const MOST_TOLD: usize = 20;

/// Judges documents that were made from the same files.
///
/// # Errors
/// Why they cannot be judged, in words: a file is lost or altered, or the program refuses it with these limits.
pub fn rejudge(group: &[Viewed], by: &Rejudging<'_>) -> Result<Rejudged, String> {
    let first = group.first().ok_or("no document")?;
    let as_issued = files(&first.opened, by.archive)?;
    let points = points(&first.opened, by.archive)?;
    let points: Vec<&Point> = points.iter().collect();
    let visit = first.opened.sources.first().map(|entry| entry.name.as_str()).unwrap_or_default();
    let reviewed = reviewed(visit, &with_limits(&as_issued, by.limits), &points, by.shelf)?;
    let is_other_program = group.iter().any(|viewed| viewed.opened.program != program());
    let before = match is_other_program {
        true => Some(self::reviewed(visit, &as_issued, &points, by.shelf)?.records),
        false => None,
    };
    let mut rows = Vec::new();
    for viewed in group.iter().filter(|viewed| viewed.opened.tag.is_some()) {
        rows.push(row(viewed, &reviewed.records, before.as_deref(), by.archive)?);
    }
    if !rows.is_empty() && rows.iter().all(|row| row.is_judged) {
        return Ok(Rejudged { rows, ready: None });
    }
    let numbers = group.iter().map(|viewed| (viewed.opened.tag.clone(), viewed.opened.number.clone()));
    let follow = Follow {
        kind: Kind::ReEvaluation,
        reason: by.reason.to_owned(),
        by: by.by.to_owned(),
        authorised: by.authorised.map(str::to_owned),
        replaces: Replaced::Numbers(numbers.collect()),
    };
    let ready = ready(reviewed, &points, by.issued, by.prints, Some(follow)).map_err(|problems| told(&problems))?;
    Ok(Rejudged { rows, ready: Some(ready) })
}

/// The files of a visit with other limits over all.
fn with_limits(files: &BTreeMap<String, PathBuf>, limits: &Path) -> BTreeMap<String, PathBuf> {
    let mut files = files.clone();
    files.retain(|name, _| !is_given_limits(name));
    let name = limits.file_name().unwrap_or(limits.as_os_str()).to_string_lossy();
    files.insert(given_limits(&name), limits.to_owned());
    files
}

/// The visit of some kept files, without errors.
fn reviewed(
    visit: &str,
    files: &BTreeMap<String, PathBuf>,
    points: &[&Point],
    shelf: &Arc<Shelf>,
) -> Result<Reviewed, String> {
    let reviewed = review_among(weigh(open_kept(visit, files, shelf)), points);
    match reviewed.records.is_empty() {
        true => Err(told(&reviewed.problems)),
        false => Ok(reviewed),
    }
}

/// The first error in words.
fn told(problems: &[Problem]) -> String {
    let mut errors = problems.iter().filter(|problem| problem.severity == Severity::Error);
    let Some(first) = errors.next() else { return "its files hold no visit".to_owned() };
    let more = match errors.count() {
        0 => String::new(),
        more => format!(" (and {more} more)"),
    };
    format!("{} refuses its files: {}{more}", program(), first.one_line())
}

fn row(viewed: &Viewed, records: &[Record], before: Option<&[Record]>, archive: &Archive) -> Result<Row, String> {
    let opened = &viewed.opened;
    let tag = opened.tag.clone().unwrap_or_default();
    let of_tag = |records: &[Record]| records.iter().position(|record| record.tag == tag);
    let at = of_tag(records).ok_or_else(|| format!("its visit has no loop {tag}"))?;
    let new = &records[at];
    let document = registered(opened, archive)?;
    let old = Registered::read(&document).map_err(|error| format!("its record cannot be read: {error}"))?;
    let now = content::criteria(new);
    let changed = content::judged_otherwise(&old.criteria, &now);
    let verdicts = |record: &Record| [record.as_found.verdict, record.as_left.as_ref().and_then(|it| it.verdict)];
    let issued = [old.as_found.verdict, old.as_left.as_ref().and_then(|it| it.verdict)];
    let by_program = before.and_then(|records| Some(&records[of_tag(records)?]));
    let differences = match by_program {
        Some(record) => content::differences(&document, record, MOST_TOLD),
        None => Vec::new(),
    };
    let stages = [Stage::AsFound, Stage::AsLeft];
    let flips = stages.into_iter().enumerate().filter(|(at, _)| issued[*at] != verdicts(new)[*at]);
    let governing = flips.filter_map(|(at, stage)| {
        let is_worse = verdicts(new)[at] > issued[at];
        governing(stage, is_worse, &old.criteria, &now, new)
    });
    Ok(Row {
        governing: governing.collect(),
        number: opened.number.clone(),
        client: opened.client.clone(),
        started: opened.started.clone(),
        limits: match &old.limits.revision {
            Some(revision) => format!("{} rev. {revision}", old.limits.name),
            None => old.limits.name.clone(),
        },
        old: issued,
        new: verdicts(new),
        outcomes_changed: changed
            .iter()
            .filter(|old| find(&now, old).is_none_or(|new| new.outcome != old.outcome))
            .count(),
        is_judged: content::is_judged_so(&document, std::slice::from_ref(new)),
        verdict_by_program: by_program.is_some_and(|record| verdicts(record) != issued),
        program: differences,
        tag,
    })
}

/// The criterion that decides a verdict which changes: the worst by the new limits where it gets worse, else the worst as issued.
fn governing(
    stage: Stage,
    is_worse: bool,
    old: &[BeforeCriterion],
    new: &[BeforeCriterion],
    record: &Record,
) -> Option<Governing> {
    let decisive = content::governing(if is_worse { new } else { old }, stage)?;
    let absent = |of: &BeforeCriterion| BeforeCriterion {
        limit: LimitRecord::default(),
        outcome: OutcomeWord::NotJudged,
        ..of.clone()
    };
    let of = |list: &[BeforeCriterion]| find(list, decisive).cloned().unwrap_or_else(|| absent(decisive));
    let place = record.criteria.iter().find(|it| it.name == decisive.name);
    Some(Governing {
        old: of(old),
        new: of(new),
        unit: place.map_or("", |it| it.unit),
        decimals: place.map_or(2, |it| it.decimals),
    })
}

fn find<'c>(list: &'c [BeforeCriterion], of: &BeforeCriterion) -> Option<&'c BeforeCriterion> {
    list.iter().find(|it| it.name == of.name && it.stage == of.stage && it.of == of.of)
}
