//! Which documents belong in the dossier.
//!
//! Comes in: a register and a selection. Goes out: the numbers of the documents in the order in which they were opened, and what
//! the rest of the register says of their loops: when each was looked at before.

use crate::register::{Opened, Selection, Status, Trouble, View, Viewed};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

/// A loop: its client in small letters, and its tag.
pub type LoopName = (String, String);

/// A certificate in force of a loop.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Look {
    /// Day of the work.
    pub day: NaiveDate,
    /// Number of the certificate.
    pub number: String,
    /// Serial of the probe that was left.
    pub serial: Option<String>,
}

/// What is chosen.
#[derive(Debug, Default)]
pub struct Plan {
    /// Numbers by the line that opened them.
    pub numbers: BTreeMap<u64, String>,
    /// Certificates in force of each loop of the chosen clients, of any period, by day.
    pub looks: BTreeMap<LoopName, Vec<Look>>,
    /// Every client of the register.
    pub clients: BTreeSet<String>,
    /// Every tag of the chosen clients.
    pub tags: BTreeSet<String>,
}

/// The loop of a document; none for a summary.
pub fn loop_of(opened: &Opened) -> Option<LoopName> {
    Some((opened.client.to_lowercase(), opened.tag.clone()?))
}

/// Chooses the documents that the selection takes, and whatever of the same clients they replace or are replaced by, also where a
/// correction moved it out of the period or to another tag.
///
/// # Errors
/// [`Trouble`] with the register.
pub fn plan(view: &View, selection: &Selection) -> Result<Plan, Trouble> {
    let of_clients = Selection { clients: selection.clients.clone(), ..Selection::default() };
    let (mut plan, mut follows) = (Plan::default(), Vec::new());
    view.documents(|Viewed { opened, entry, status, .. }| {
        plan.clients.insert(opened.client.clone());
        if !of_clients.takes(&opened) {
            return ControlFlow::Continue(());
        }
        plan.tags.extend(opened.tag.clone());
        if let (Status::InForce, Some(name), Some(day)) = (status, loop_of(&opened), opened.day()) {
            let look = Look { day, number: opened.number.clone(), serial: opened.serial.clone() };
            plan.looks.entry(name).or_default().push(look);
        }
        if let Some(predecessor) = &opened.predecessor {
            follows.push((entry, opened.number.clone(), predecessor.clone()));
        }
        if selection.takes(&opened) {
            plan.numbers.insert(entry, opened.number);
        }
        ControlFlow::Continue(())
    })?;
    plan.looks.values_mut().for_each(|looks| looks.sort());
    add_relatives(view, &follows, &of_clients, &mut plan)?;
    Ok(plan)
}

/// Adds what the chosen documents replace and what replaces them, until nothing more comes of it.
fn add_relatives(
    view: &View,
    follows: &[(u64, String, String)],
    of_clients: &Selection,
    plan: &mut Plan,
) -> Result<(), Trouble> {
    let mut known: BTreeSet<String> = plan.numbers.values().cloned().collect();
    // A document follows one that was opened before it: back from the last, then on from the first.
    for (entry, number, predecessor) in follows.iter().rev() {
        if known.contains(number)
            && !known.contains(predecessor)
            && let Some(viewed) = view.document(predecessor)?
            && of_clients.takes(&viewed.opened)
        {
            debug_assert!(viewed.entry < *entry);
            known.insert(predecessor.clone());
            plan.numbers.insert(viewed.entry, predecessor.clone());
        }
    }
    for (entry, number, predecessor) in follows {
        if known.contains(predecessor) && known.insert(number.clone()) {
            plan.numbers.insert(*entry, number.clone());
        }
    }
    Ok(())
}

impl Plan {
    /// The certificate of the same loop before a day.
    pub fn before(&self, name: &LoopName, day: NaiveDate) -> Option<&Look> {
        self.looks.get(name)?.iter().rev().find(|look| look.day < day)
    }

    /// The last certificate of a loop.
    pub fn last(&self, name: &LoopName) -> Option<&Look> {
        self.looks.get(name)?.last()
    }
}
