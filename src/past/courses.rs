//! The course of each loop and probe that is asked for.
//!
//! Comes in: the roll and the archive. Goes out: one [`Course`] after the other, so that memory does not grow with their
//! number. Next: [`crate::commands`].

use super::roll::{Counting, Roll};
use crate::firm::{self, Firm};
use crate::record::{Course, Kept, Quantity, Told};
use crate::register::{Opened, SourceEntry, Trouble, View};
use crate::visit::open_kept;
use crate::yaml::Shelf;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

/// What is asked for; nothing: every loop.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wanted {
    /// Tags of loops.
    pub tags: Vec<String>,
    /// Serials of probes.
    pub serials: Vec<String>,
}

/// A document whose record cannot be had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lost {
    /// Its number.
    pub number: String,
    /// Why.
    pub why: String,
}

/// Gives `take` every course asked for: loops in the order of clients and tags, then probes in the order asked for. Visits
/// whose record is lost are left out and told.
pub fn courses(view: &View, roll: &Roll, wanted: &Wanted, mut take: impl FnMut(Course)) -> Vec<Lost> {
    let mut lost = BTreeMap::new();
    let is_every_loop = wanted.tags.is_empty() && wanted.serials.is_empty();
    for ((_, tag), visits) in &roll.loops {
        if is_every_loop || wanted.tags.contains(tag) {
            let told = visits.iter().filter_map(|visit| told(view, visit, &mut lost)).collect();
            Course::of_loop(told).into_iter().for_each(&mut take);
        }
    }
    for serial in &wanted.serials {
        for told in of_probe(view, roll, serial, &mut lost) {
            Course::of_probe(serial, told).into_iter().for_each(&mut take);
        }
    }
    lost.into_values().collect()
}

/// The visits of a probe, by client and quantity.
fn of_probe(view: &View, roll: &Roll, serial: &str, lost: &mut BTreeMap<String, Lost>) -> Vec<Vec<Told>> {
    let mut found: BTreeMap<(&str, bool), Vec<Told>> = BTreeMap::new();
    for ((client, _), visits) in &roll.loops {
        let mut before = None;
        for visit in visits {
            let left = visit.serial.as_deref();
            // A line names the probe left. Another one was found only where it changed, or where no visit before tells.
            if left == Some(serial) || before != Some(left) {
                let kept = told(view, visit, lost).filter(|(_, kept)| is_about(kept, serial));
                if let Some(told) = kept {
                    let quantity = told.1.point.quantity == Quantity::Redox;
                    found.entry((client, quantity)).or_default().push(told);
                }
            }
            before = Some(left);
        }
    }
    found.into_values().collect()
}

fn is_about(kept: &Kept, serial: &str) -> bool {
    [&kept.point.serial, &kept.point.serial_left].into_iter().any(|of| of.as_deref() == Some(serial))
}

/// A visit with what its record tells.
fn told(view: &View, visit: &Counting, lost: &mut BTreeMap<String, Lost>) -> Option<Told> {
    match kept(view, visit) {
        Ok(kept) => Some((visit.document.clone(), kept)),
        Err(gone) => {
            lost.insert(gone.number.clone(), gone);
            None
        }
    }
}

/// The record of a visit, read back.
pub(super) fn kept(view: &View, visit: &Counting) -> Result<Kept, Lost> {
    let lost = |why: String| Lost { number: visit.document.number.clone(), why };
    let bytes = view.archive.bytes(&visit.record).map_err(|error| {
        lost(format!(
            "its record cannot be had from the archive ({}): {error}",
            view.archive.path(&visit.record).display()
        ))
    })?;
    Kept::read(&bytes).map_err(|error| lost(format!("its record cannot be read: {error}")))
}

/// The line of a document.
///
/// # Errors
/// [`Trouble`].
pub fn line_of(view: &View, number: &str) -> Result<Option<(Opened, u64)>, Trouble> {
    Ok(view.document(number)?.map(|viewed| (viewed.opened, viewed.entry)))
}

/// The firm that issued a document, as its file was then; a plain one where none is to be had.
pub fn firm_of(view: &View, opened: &Opened) -> Firm {
    let place = |entry: &SourceEntry| (entry.name.clone(), view.archive.path(&entry.sha256));
    let kept: BTreeMap<String, PathBuf> = opened.sources.iter().map(place).collect();
    match opened.sources.first() {
        Some(visit) => open_kept(&visit.name, &kept, &Arc::new(Shelf::default())).firm,
        None => firm::plain(),
    }
}
