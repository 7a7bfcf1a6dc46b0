//! The roll: which document counts for each visit of each loop.
//!
//! Comes in: every line of a register, one after the other. Goes out: a small entry a visit. Next: [`super::courses`],
//! [`super::due`].

use crate::engine::interval::{self, Check};
use crate::problem::Place;
use crate::quantity::Moment;
use crate::record::CountingDocument;
use crate::register::{NextDue, Opened, Selection, Status, Trouble, View, Viewed};
use chrono::{DateTime, FixedOffset, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

/// The document that counts for a visit of a loop.
#[derive(Debug, Clone, PartialEq)]
pub struct Counting {
    /// Number, kind, and whether it awaits signatures.
    pub document: CountingDocument,
    /// Number of the visit.
    pub visit: String,
    /// When the work began, as printed.
    pub started: String,
    /// Serial of the probe left.
    pub serial: Option<String>,
    /// SHA-256 of its record.
    pub record: String,
    /// When the loop is due, where somebody agreed to it.
    pub next_due: Option<NextDue>,
    /// How the check as found came out by its line; none: the line does not tell.
    pub check: Option<Check>,
    instant: Option<DateTime<FixedOffset>>,
}

/// Every visit of every loop that was asked for.
#[derive(Debug, Default)]
pub struct Roll {
    /// By client and tag; visits in the order of time.
    pub loops: BTreeMap<(String, String), Vec<Counting>>,
    /// Every client of the register.
    pub clients: BTreeSet<String>,
    /// Every tag.
    pub tags: BTreeSet<String>,
    /// Every serial of a probe that was left in a loop.
    pub serials: BTreeSet<String>,
}

impl Counting {
    fn of(opened: Opened) -> Counting {
        let check = opened.found_error.map(|error| interval::check(Some(error.value), error.limit));
        Counting {
            document: CountingDocument { number: opened.number, kind: opened.kind, draft: opened.draft },
            instant: Moment::parse(&opened.started, &Place::default()).ok().map(|moment| moment.instant),
            visit: opened.visit,
            started: opened.started,
            serial: opened.serial,
            record: opened.record,
            next_due: opened.next_due,
            check,
        }
    }

    /// Day of the work.
    pub fn day(&self) -> Option<NaiveDate> {
        self.started.get(..10)?.parse().ok()
    }
}

/// Reads the roll. A document in force counts before a draft of the same visit, a later one before an earlier one; what was
/// replaced, void or left open does not count.
///
/// # Errors
/// [`Trouble`].
pub fn roll(view: &View, selection: &Selection) -> Result<Roll, Trouble> {
    let mut roll = Roll::default();
    view.documents(|viewed| {
        roll.enter(viewed, selection);
        ControlFlow::Continue(())
    })?;
    for visits in roll.loops.values_mut() {
        // Of each visit the last in this order: drafts stand before what is in force, and the order of opening is kept.
        visits.sort_by(|a, b| (&a.visit, !a.document.draft).cmp(&(&b.visit, !b.document.draft)));
        visits.reverse();
        visits.dedup_by(|next, kept| next.visit == kept.visit);
        visits.sort_by(|a, b| (a.instant, &a.visit).cmp(&(b.instant, &b.visit)));
    }
    Ok(roll)
}

impl Roll {
    fn enter(&mut self, viewed: Viewed, selection: &Selection) {
        let Viewed { opened, status, .. } = viewed;
        let Some(tag) = opened.tag.clone() else { return };
        let counts = match status {
            Status::InForce => true,
            Status::Draft { is_settled } => !is_settled,
            Status::Replaced { .. } | Status::Pending | Status::Void => false,
        };
        if !counts {
            return;
        }
        remember(&mut self.clients, &opened.client);
        remember(&mut self.tags, &tag);
        opened.serial.iter().for_each(|serial| remember(&mut self.serials, serial));
        if selection.takes(&opened) {
            self.loops.entry((opened.client.clone(), tag)).or_default().push(Counting::of(opened));
        }
    }
}

fn remember(known: &mut BTreeSet<String>, name: &str) {
    if !known.contains(name) {
        known.insert(name.to_owned());
    }
}
