//! One loop of a visit.

use super::files::Files;
use super::head::Head;
use super::limits_of::{Named, Sets};
use super::readings::{self, state};
use super::{
    Accepted, AsFound, AsLeft, Hold, Loop, NextDue, Obtained, Outcome, Photo, Process, Remedy, Standardised, State,
    identity, plausible, remedies, times,
};
use crate::client::{LoopQuantity, Probe, process_value};
use crate::problem::Problem;
use crate::quantity::{Date, Measured, Plain};
use crate::reference::electrodes::ReferenceElectrode;
use crate::yaml::{At, Keys, Text};
use std::cell::{Cell, RefCell};

/// Where a check stands: the visit's head and what is known of the loop.
pub(super) struct Here<'a> {
    pub(super) head: &'a Head,
    pub(super) files: &'a Files,
    /// The visit file's name relative to its folder.
    pub(super) visit: &'a str,
    pub(super) tag: String,
    /// `None` when it could not be read: nothing that depends on it is judged then.
    pub(super) quantity: Option<LoopQuantity>,
    /// Reference electrode of the probe, where it is one with published potentials.
    pub(super) reference: Option<ReferenceElectrode>,
    pub(super) adjusted: bool,
    /// Whether as found is behind: what is read now was read after the work.
    pub(super) worked_on: Cell<bool>,
    path: String,
    kept: RefCell<Vec<(String, String)>>,
}

impl Here<'_> {
    /// Ends the reading of a mapping; its private keys are kept with their path inside the loop.
    pub(super) fn finish(&self, keys: Keys<'_>) {
        let path = keys.at().path().to_owned();
        let inside = path.strip_prefix(&self.path).unwrap_or(&path).trim_start_matches('.');
        let dot = if inside.is_empty() { "" } else { "." };
        let named = |(key, text)| (format!("{inside}{dot}{key}"), text);
        let own = keys.finish().into_iter().map(named);
        self.kept.borrow_mut().extend(own);
    }

    /// A value that the analyser or another instrument of the loop shows: pH or mV.
    pub(super) fn shown(&self, at: &At<'_>) -> Option<Measured<Plain>> {
        let value = process_value(at, Some(self.quantity?))?;
        plausible::shown(at, &value, self.quantity?);
        Some(value)
    }
}

/// What was done to the loop, as far as it could be read.
pub(super) struct Work {
    pub(super) as_found: Option<Obtained<State>>,
    pub(super) remedies: Vec<Remedy>,
    pub(super) adjusted: Option<bool>,
    pub(super) as_left: Option<Obtained<State>>,
    pub(super) outcome: Option<Outcome>,
    pub(super) last_good: Option<Date>,
    pub(super) next_due: Option<NextDue>,
    pub(super) remarks: Option<Text>,
}

impl Work {
    pub(super) fn found(&self) -> Option<&State> {
        self.as_found.as_ref()?.obtained()
    }

    pub(super) fn left(&self) -> Option<&State> {
        self.as_left.as_ref()?.obtained()
    }
}

/// Limits and where they come from, for one loop after another.
pub(super) struct LimitsFrom<'a> {
    pub(super) sets: Sets,
    pub(super) firm: Option<&'a Named>,
}

/// Checks one loop. Gives what it accepts also when the loop is refused.
pub(super) fn check(
    at: &At<'_>,
    head: &Head,
    files: &Files,
    visit: &str,
    from: &mut LimitsFrom<'_>,
) -> (Option<Loop>, Vec<Accepted>) {
    let Some(mut keys) = at.keys("a loop") else {
        return (None, Vec::new());
    };
    let tag = keys.need("tag", "a loop is known by the tag of its measuring point").and_then(|at| at.name());
    let mut found = identity::check(&mut keys, tag.as_ref(), head);
    let mut here = Here {
        head,
        files,
        visit,
        tag: tag.as_ref().map_or_else(String::new, |tag| tag.text.clone()),
        quantity: found.identity.quantity,
        reference: identity::electrode(&found.probe),
        adjusted: false,
        worked_on: Cell::new(false),
        path: at.path().to_owned(),
        kept: RefCell::default(),
    };
    let process_at = keys.get("process");
    let process = process_at.map_or_else(Process::default, |at| process(&at, &mut found.identity, &here));
    let limits = limits(&mut keys, &here, found.roster_limits.take(), from);
    let by = keys.get("by").and_then(|at| head.technician(&at));
    let hold = keys.get("hold").and_then(|at| hold(&at, &here));
    let work = work(&mut keys, &found.probe, &mut here);
    let standardised = keys.get("standardised").and_then(|at| standardised(&at, &here));
    let accepted = keys.get("accepted").map_or_else(Vec::new, |at| accepted(&at, &here));
    let photos = keys.get("photos").map_or_else(Vec::new, |at| photos(&at, &here));
    here.finish(keys);
    plausible::whole_loop(at, &work, &found.identity, head);
    times::of_loop(&work, found.probe.as_ref(), head, files);
    let extensions = here.kept.into_inner();
    let quantity = here.quantity;
    let complete = || {
        Some(Loop {
            place: at.place(),
            tag: tag?,
            quantity: quantity?,
            identity: found.identity,
            probe: found.probe?,
            by,
            hold,
            process,
            last_good: work.last_good,
            as_found: AsFound(work.as_found?),
            remedies: work.remedies,
            adjusted: work.adjusted?,
            as_left: work.as_left.map(AsLeft),
            standardised,
            outcome: work.outcome?,
            next_due: work.next_due,
            accepted: accepted.clone(),
            photos,
            remarks: work.remarks,
            limits: limits?,
            extensions,
        })
    };
    (complete(), accepted)
}

/// As found, remedies, adjustment, as left, outcome.
fn work(keys: &mut Keys<'_>, probe: &Option<Probe>, here: &mut Here<'_>) -> Work {
    let adjusted = keys
        .need("adjusted", "as-left readings are due when slope or offset stored in the analyser was changed")
        .and_then(|at| at.yes_no());
    here.adjusted = adjusted == Some(true);
    let as_found = keys
        .need("as_found", "what the loop was like before anything was done is the first thing a client asks")
        .and_then(|at| obtained(&at, here));
    here.worked_on.set(true);
    let remedies_at = keys.get("remedies");
    let remedies = remedies_at.map_or_else(Vec::new, |at| remedies::check(&at, probe, here));
    let outcome = keys
        .need("outcome", "the record says what became of the loop")
        .and_then(|at| at.word("an outcome", Outcome::WORDS));
    let as_left_at = keys.get("as_left");
    if as_left_at.is_none() {
        as_left_missing(keys, here.adjusted, !remedies.is_empty(), outcome);
    }
    Work {
        as_found,
        remedies,
        adjusted,
        as_left: as_left_at.and_then(|at| obtained(&at, here)),
        outcome,
        last_good: keys.get("last_good").and_then(|at| at.date()),
        next_due: keys.get("next_due").and_then(|at| next_due(&at, here)),
        remarks: keys.get("remarks").and_then(|at| at.text()),
    }
}

fn limits(
    keys: &mut Keys<'_>,
    here: &Here<'_>,
    roster: Option<Named>,
    from: &mut LimitsFrom<'_>,
) -> Option<crate::limits::Limits> {
    let own = keys.get("limits");
    if let (Some(at), Some(roster)) = (&own, &roster) {
        identity::given_twice(at, "limits", &roster.path.place);
    }
    let head = here.head;
    let client = head.client.as_ref().zip(head.client_file.as_ref());
    let order = [
        own.and_then(|at| Named::at(&at, here.visit)),
        roster,
        head.limits.clone(),
        client.and_then(|(client, file)| Some(Named::of(client.limits.as_ref()?, file))),
        from.firm.cloned(),
    ];
    from.sets.choose(order, here.files, head.started.as_ref())
}

/// A state, or the reason why it was not obtained.
fn obtained(at: &At<'_>, here: &Here<'_>) -> Option<Obtained<State>> {
    let mut keys = at.keys("a state")?;
    let Some(reason) = keys.get("not_obtained") else {
        let state = state(keys, here);
        return state.map(Obtained::Yes);
    };
    let reason = readings::reason(&reason);
    here.finish(keys);
    Some(Obtained::Not(reason?))
}

/// As-left is due when something was done to the loop and it went back into service.
fn as_left_missing(keys: &Keys<'_>, adjusted: bool, remedied: bool, outcome: Option<Outcome>) {
    let cause = match (adjusted, remedied) {
        (false, false) => return,
        (true, false) => "the analyser was adjusted",
        (false, true) => "remedies were performed",
        (true, true) => "the analyser was adjusted and remedies were performed",
    };
    match outcome {
        Some(Outcome::Returned) => {}
        Some(Outcome::OutOfService | Outcome::Condemned) | None => return,
    }
    let at = keys.at();
    at.tell(Problem::error(
        "as-left-missing",
        &at.place(),
        format!("{cause}, and there is no `as_left`"),
        "a loop goes back into service with readings that show how it was left",
        "give the readings under `as_left:`, or say why there are none: `as_left: {not_obtained: reason}`, \
         or another outcome: left out of service, condemned",
    ));
}

fn process(at: &At<'_>, identity: &mut crate::client::Identity, here: &Here<'_>) -> Process {
    let Some(mut keys) = at.keys("process values") else {
        return Process::default();
    };
    identity::process(&mut keys, identity, here.head, &here.tag);
    plausible::conductivity(&keys, identity);
    let process = Process {
        before_cleaning: keys.get("before_cleaning").and_then(|at| here.shown(&at)),
        after_cleaning: keys.get("after_cleaning").and_then(|at| here.shown(&at)),
        back_in_service: keys.get("back_in_service").and_then(|at| here.shown(&at)),
    };
    here.finish(keys);
    process
}

fn hold(at: &At<'_>, here: &Here<'_>) -> Option<Hold> {
    let mut keys = at.keys("the hold {from: …, to: …}")?;
    let from = keys
        .need("from", "the plant marks its data from the begin of the hold")
        .and_then(|at| here.head.moment(&at, here.files));
    let to = keys.get("to").and_then(|at| here.head.moment(&at, here.files));
    here.finish(keys);
    let hold = Hold { from: from?, to };
    times::hold(at, &hold);
    Some(hold)
}

fn standardised(at: &At<'_>, here: &Here<'_>) -> Option<Standardised> {
    let mut keys = at.keys("a process standardisation")?;
    let shown = keys.need("shown", "what the analyser showed before").and_then(|at| here.shown(&at));
    let set_to = keys.need("set_to", "what it was set to").and_then(|at| here.shown(&at));
    here.finish(keys);
    at.tell(Problem::warning(
        "standardised-to-sample",
        &at.place(),
        "the analyser was set to a sample",
        "this is a process standardisation: it moves the offset and says nothing about the slope, and is never called a calibration",
        "nothing to correct: it is printed so; adjust in buffers where a calibration is due",
    ));
    Some(Standardised { shown: shown?, set_to: set_to? })
}

fn next_due(at: &At<'_>, here: &Here<'_>) -> Option<NextDue> {
    let mut keys = at.keys("the next due date")?;
    let date = keys.need("date", "the day that was agreed").and_then(|at| at.date());
    let agreed_by = keys
        .need("agreed_by", "a due date is printed only because somebody agreed to it (ISO/IEC 17025:2017, 7.8.4.3)")
        .and_then(|at| at.text());
    here.finish(keys);
    Some(NextDue { date: date?, agreed_by: agreed_by? })
}

fn accepted(at: &At<'_>, here: &Here<'_>) -> Vec<Accepted> {
    let entries = at.list("accepted warnings").unwrap_or_default();
    let entry = |at: &At<'_>| {
        let mut keys = at.keys("a warning taken knowingly")?;
        let code = keys.need("code", "the code stands in brackets in the message").and_then(|at| at.text());
        let reason = keys.need("reason", "it is printed with the deviation").and_then(|at| at.text());
        here.finish(keys);
        Some(Accepted { code: code?, reason: reason? })
    };
    entries.iter().filter_map(entry).collect()
}

/// Largest photo that is looked at, in bytes. Our own choice: four times what a camera phone writes.
const MAX_PHOTO_BYTES: u64 = 40_000_000;

fn photos(at: &At<'_>, here: &Here<'_>) -> Vec<Photo> {
    let entries = at.list("photos").unwrap_or_default();
    let entry = |at: &At<'_>| {
        let mut keys = at.keys("a photo")?;
        let file_at = keys.need("file", "a photo is named by its path");
        let file = file_at.as_ref().and_then(|at| at.text());
        let shows = keys.get("shows").and_then(|at| at.text());
        here.finish(keys);
        let file = file?;
        let seen = here.files.folder.see(here.visit, &file.text, MAX_PHOTO_BYTES, &file.place);
        if let Err(problem) = seen {
            at.tell(problem);
        }
        Some(Photo { file, shows })
    };
    entries.iter().filter_map(entry).collect()
}
