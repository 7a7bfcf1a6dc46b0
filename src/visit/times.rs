//! The order of times and dates, judged on instants and never on clock text.

use super::files::Files;
use super::head::Head;
use super::loops::Work;
use super::{Hold, Reading, State};
use crate::client::Probe;
use crate::problem::{Fact, Problem};
use crate::quantity::{Date, Moment};
use crate::yaml::{At, Keys};

/// A visit this long has a wrong date more often than not. Our own choice.
const LONG_VISIT_HOURS: i64 = 72;

/// Begin and end of the visit. An end that cannot be is dropped: nothing is judged by it.
pub(super) fn visit(head: &mut Head, keys: &Keys<'_>) {
    let (Some(started), Some(finished)) = (&head.started, &head.finished) else {
        return;
    };
    let hours = (finished.instant - started.instant).num_hours();
    if finished.instant < started.instant {
        keys.at().tell(Problem::error(
            "finished-before-started",
            &finished.place,
            format!("finished {}, started {}", finished.print(), started.print()),
            "a visit ends after it begins",
            "correct one of the two times (date and offset included)",
        ));
        head.finished = None;
    } else if hours > LONG_VISIT_HOURS {
        keys.at().tell(
            Problem::warning(
                "visit-long",
                &finished.place,
                format!("started {}, finished {}: {hours} hours", started.print(), finished.print()),
                "a visit is judged on the day it started; was a date mistyped?",
                "correct the date, or make a visit file for each day",
            )
            .about([
                ("started", Fact::time(started.print())),
                ("finished", Fact::time(finished.print())),
                ("hours", Fact::number(hours as f64, 0, "h")),
            ]),
        );
    }
}

/// A hold ends after it begins.
pub(super) fn hold(at: &At<'_>, hold: &Hold) {
    if let Some(to) = hold.to.as_ref().filter(|to| to.instant < hold.from.instant) {
        at.tell(Problem::error(
            "hold-ends-before-start",
            &to.place,
            format!("held from {} to {}", hold.from.print(), to.print()),
            "the hold ends before it begins",
            "correct one of the two times",
        ));
    }
}

/// Dates and times of a loop.
pub(super) fn of_loop(of: &Work, probe: Option<&Probe>, head: &Head, files: &Files) {
    dates(of, probe, head, files);
    let steps = steps(of);
    for step in &steps {
        inside(step, head, files);
    }
    order(&steps, files);
}

fn dates(of: &Work, probe: Option<&Probe>, head: &Head, files: &Files) {
    let Some(started) = &head.started else {
        return;
    };
    let day = started.instant.date_naive();
    let past: [(&str, Option<&Date>); 3] = [
        ("last good check", of.last_good.as_ref()),
        ("installation of the probe", probe.and_then(|probe| probe.installed.as_ref())),
        ("renewal of the junction", probe.and_then(|probe| probe.junction_renewed.as_ref())),
    ];
    for (what, date) in past {
        if let Some(date) = date.filter(|date| date.date > day) {
            files.tell(Problem::error(
                "date-after-visit",
                &date.place,
                format!("{what} on {}, the visit on {day}", date.text),
                "it lies in the past of the visit",
                "correct the date; what was done in this visit stands under `remedies:`",
            ));
        }
    }
    if let Some(due) = of.next_due.as_ref().filter(|due| due.date.date < day) {
        files.tell(Problem::error(
            "due-before-visit",
            &due.date.place,
            format!("next due on {}, the visit was on {day}", due.date.text),
            "the next check lies after this one",
            "correct the date",
        ));
    }
}

/// Something that was done at a time, with its rank in the order of work.
struct Step<'l> {
    rank: usize,
    what: String,
    /// The remedy, where it is one.
    remedy: Option<&'static str>,
    time: &'l Moment,
}

fn steps(of: &Work) -> Vec<Step<'_>> {
    let mut steps = readings_at(0, "a reading as found", readings(of.found()));
    for (position, remedy) in of.remedies.iter().enumerate() {
        let word = remedy.kind.word();
        let rank = 1 + 2 * position;
        let what = format!("the remedy `{word}`");
        steps.extend(remedy.at.as_ref().map(|time| Step { rank, what, remedy: Some(word), time }));
        steps.extend(readings_at(rank + 1, &format!("a reading after `{word}`"), &remedy.readings));
    }
    if let Some(left) = of.left() {
        let rank = 1 + 2 * of.remedies.len();
        steps.extend(readings_at(rank, "a reading as left", readings(Some(left))));
    }
    steps
}

fn readings(state: Option<&State>) -> &[Reading] {
    state.map_or(&[], |state| &state.readings)
}

fn readings_at<'l>(rank: usize, what: &str, readings: &'l [Reading]) -> Vec<Step<'l>> {
    let times = readings.iter().filter_map(|reading| reading.at.as_ref());
    times.map(|time| Step { rank, what: what.to_owned(), remedy: None, time }).collect()
}

fn inside(step: &Step<'_>, head: &Head, files: &Files) {
    let before = head.started.as_ref().filter(|started| step.time.instant < started.instant);
    let after = head.finished.as_ref().filter(|finished| step.time.instant > finished.instant);
    let (bound, relation) = match (before, after) {
        (Some(started), _) => (started, "before the visit started"),
        (None, Some(finished)) => (finished, "after the visit finished"),
        (None, None) => return,
    };
    files.tell(Problem::error(
        "time-outside-visit",
        &step.time.place,
        format!("{} at {}, {relation} ({})", step.what, step.time.print(), bound.print()),
        "the work was done inside the visit",
        "correct the time, or begin and end of the visit",
    ));
}

/// As found, then each remedy with its readings, then as left. Cleaning before as found is told, not refused: it happens.
fn order(steps: &[Step<'_>], files: &Files) {
    let mut latest: Option<&Step<'_>> = None;
    for group in steps.chunk_by(|step, next| step.rank == next.rank) {
        if let Some(earlier) = latest {
            group.iter().for_each(|later| in_order(earlier, later, files));
        }
        latest = latest.into_iter().chain(group).max_by_key(|step| step.time.instant);
    }
}

/// `earlier` is the latest step of a lower rank.
fn in_order(earlier: &Step<'_>, later: &Step<'_>, files: &Files) {
    if later.time.instant >= earlier.time.instant {
        return;
    }
    let what = format!("{} at {}, {} at {}", later.what, later.time.print(), earlier.what, earlier.time.print());
    let place = &later.time.place;
    let problem = if let Some(remedy) = later.remedy.filter(|_| earlier.rank == 0) {
        Problem::warning(
            "remedy-before-as-found",
            place,
            what,
            "what was read after the remedy is not the state in which the loop was found",
            "correct the time; if it was cleaned first, `as_found: {not_obtained: reason}` says so",
        )
        .about([
            ("remedy", Fact::word("remedy", remedy)),
            ("time", Fact::time(later.time.print())),
            ("found", Fact::time(earlier.time.print())),
        ])
    } else {
        let why = "as found comes before the remedies, as left after them";
        Problem::error("time-order", place, what, why, "correct the times, or the order of the remedies")
    };
    files.tell(problem);
}
