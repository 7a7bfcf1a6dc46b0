//! When each loop is due: the dates that somebody agreed to, and what the firm's interval would suggest.
//!
//! Comes in: the roll, the last records of each loop, the firm files in the archive. Goes out: one [`Due`] a loop. Next: the
//! command `due`. A suggestion is never a date that anybody agreed to, and stands on no certificate.

use super::courses::{Lost, firm_of, kept, line_of};
use super::roll::{Counting, Roll};
use crate::engine::interval::{self, Check, Why, suggested};
use crate::record::Kept;
use crate::register::{Opened, Trouble, View};
use chrono::{Days, NaiveDate};
use serde::Serialize;
use std::collections::BTreeMap;

/// When a loop is due.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct Due {
    pub client: String,
    pub tag: String,
    pub location: Option<String>,
    /// Serial of the probe left.
    pub serial: Option<String>,
    /// Day of the last visit whose document is in force.
    pub last_visit: String,
    /// Number of that document.
    pub document: String,
    /// `returned to service`, `left out of service`, `condemned` at that visit.
    pub outcome: Option<String>,
    /// Null where nobody agreed to a date at that visit.
    pub agreed: Option<Agreed>,
    /// Null without an interval in the firm's file, and where the loop is out of service.
    pub suggested: Option<Suggested>,
    /// Number of a later document that still awaits signatures.
    pub later_draft: Option<String>,
}

/// A date somebody agreed to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[allow(missing_docs)]
pub struct Agreed {
    pub date: String,
    pub by: String,
}

/// What the firm's interval suggests: nobody agreed to it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[allow(missing_docs)]
pub struct Suggested {
    pub date: String,
    /// Days from the last visit to that date.
    pub interval_days: u32,
    /// The interval of the firm's file, as archived with the last document.
    pub firm_interval_days: u32,
    #[serde(skip)]
    pub why: Why,
    /// Why, in words.
    pub reason: String,
}

impl Due {
    /// Whether the loop was out of service after the last visit.
    pub fn is_out_of_service(&self) -> bool {
        self.outcome.as_deref().is_some_and(|outcome| outcome != "returned to service")
    }

    /// The day agreed to.
    pub fn agreed_day(&self) -> Option<NaiveDate> {
        self.agreed.as_ref()?.date.parse().ok()
    }

    /// The day suggested.
    pub fn suggested_day(&self) -> Option<NaiveDate> {
        self.suggested.as_ref()?.date.parse().ok()
    }
}

/// When every loop of the roll is due, and the documents whose record is lost: their loops are told as far as their lines go.
///
/// # Errors
/// [`Trouble`].
pub fn due(view: &View, roll: &Roll) -> Result<(Vec<Due>, Vec<Lost>), Trouble> {
    let (mut dues, mut lost, mut intervals) = (Vec::new(), Vec::new(), BTreeMap::new());
    for ((client, tag), visits) in &roll.loops {
        let in_force: Vec<&Counting> = visits.iter().filter(|visit| !visit.document.draft).collect();
        let Some((last, earlier)) = in_force.split_last() else { continue };
        let interval = match line_of(view, &last.document.number)? {
            Some((opened, _)) => interval_of(view, &opened, &mut intervals),
            None => None,
        };
        let kept = kept(view, last).map_err(|gone| lost.push(gone)).ok();
        let mut due = Due {
            client: client.clone(),
            tag: tag.clone(),
            location: kept.as_ref().and_then(|kept| kept.location.clone()),
            serial: last.serial.clone(),
            last_visit: last.started.get(..10).unwrap_or_default().to_owned(),
            document: last.document.number.clone(),
            outcome: kept.as_ref().map(|kept| kept.outcome.clone()),
            agreed: last.next_due.as_ref().map(|due| Agreed { date: due.date.clone(), by: due.agreed_by.clone() }),
            suggested: None,
            later_draft: visits.last().filter(|it| it.document.draft).map(|it| it.document.number.clone()),
        };
        if !due.is_out_of_service() {
            let before = earlier.last().copied();
            due.suggested = interval.and_then(|days| suggestion(view, days, last, kept.as_ref(), before));
        }
        dues.push(due);
    }
    Ok((dues, lost))
}

/// The interval of the firm file that a document was made with. Each file is read once.
fn interval_of(view: &View, opened: &Opened, known: &mut BTreeMap<String, Option<u32>>) -> Option<u32> {
    let is_firm = |name: &str| name.ends_with(" (--firm)") || name.rsplit('/').next() == Some("firm.yaml");
    let file = opened.sources.iter().find(|entry| is_firm(&entry.name))?;
    if let Some(interval) = known.get(&file.sha256) {
        return *interval;
    }
    let interval = firm_of(view, opened).interval_days;
    known.insert(file.sha256.clone(), interval);
    interval
}

fn suggestion(
    view: &View,
    days: u32,
    last: &Counting,
    record: Option<&Kept>,
    before: Option<&Counting>,
) -> Option<Suggested> {
    // Lines written before 0.2.0 do not tell the error found: their records do.
    let by_record = |kept: &Kept| {
        let error = kept.found_error.as_ref();
        interval::check(error.map(|error| error.value), error.and_then(|error| error.limit))
    };
    let check = |visit: &Counting, record: Option<&Kept>| {
        visit.check.or_else(|| record.map(by_record)).or_else(|| kept(view, visit).ok().as_ref().map(by_record))
    };
    let now = check(last, record).unwrap_or(Check::NotJudged);
    // The check before counts only beside a good one.
    let earlier = before.filter(|_| now == Check::Good);
    let mut checks: Vec<Check> = earlier.and_then(|visit| check(visit, None)).into_iter().collect();
    checks.push(now);
    let step = suggested(days, &checks)?;
    let day = last.day()?.checked_add_days(Days::new(u64::from(step.days)))?;
    Some(Suggested {
        date: day.to_string(),
        interval_days: step.days,
        firm_interval_days: days,
        why: step.why,
        reason: reason(step.why, days, step.days, last, before),
    })
}

/// `as found failed on 2026-10-06: half of 90 days, in whole weeks`.
fn reason(why: Why, before_days: u32, days: u32, last: &Counting, before: Option<&Counting>) -> String {
    let on = |visit: &Counting| visit.started.get(..10).unwrap_or_default().to_owned();
    let last_on = on(last);
    let changed = |how: &str| match before_days == days {
        true => format!("{before_days} days stay as they are, at the end of the range"),
        false => format!("{how} {before_days} days, in whole weeks"),
    };
    match why {
        Why::Failed => format!("as found failed on {last_on}: {}", changed("half of")),
        Why::TwiceGood => {
            let both = before.map_or_else(String::new, |before| format!("{} and ", on(before)));
            format!("as found within half the limit on {both}{last_on}: {}", changed("1.25 times"))
        }
        Why::OnceGood => format!("as found within half the limit once, on {last_on}: {before_days} days unchanged"),
        Why::Passed => format!("as found within the limit on {last_on}: {before_days} days unchanged"),
        Why::NotJudged => format!("error as found not judged on {last_on}: {before_days} days unchanged"),
    }
}
