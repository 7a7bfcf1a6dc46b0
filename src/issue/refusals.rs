//! What is told when a number cannot be given.

use super::follow::Kind;
use super::ready::Ready;
use super::tickets::{Ticket, Way};
use crate::problem::Problem;
use crate::register::{Opened, SourceEntry};
use crate::yaml::{few, nearest};
use std::path::Path;

/// The number belongs to a document that was issued from other sources.
pub(super) fn taken(ready: &Ready, number: &str, opened: &Opened) -> Problem {
    let changes = differences(&opened.sources, &ready.sources, opened.wording == ready.wording);
    Problem::error(
        "number-issued-already",
        &ready.visit.number.place,
        format!("the document {number} was issued {} from other files: {changes}", opened.issued),
        "an issued document is never overwritten, and a number is never used twice",
        format!(
            "put back what was changed by mistake; a corrected visit is issued with `--amend --reason … --by …` and replaces \
             {number}; where only the limits changed, use `rejudge`"
        ),
    )
}

/// The number belongs to another file of the same run.
pub(super) fn given(ready: &Ready, number: &str, file: &str) -> Problem {
    Problem::error(
        "number-used-twice",
        &ready.visit.number.place,
        format!("the number {number} is given by {file} already"),
        "every document has its own number, never used twice",
        "correct the `number` of one of the two visits, or leave out the file that does not hold",
    )
}

/// The number belongs to a document that could not be finished.
pub(super) fn void(ready: &Ready, number: &str, reason: &str) -> Problem {
    Problem::error(
        "number-void",
        &ready.visit.number.place,
        format!("the number {number} is void: {reason}"),
        "a number is never used twice, not even where its document could not be finished",
        "give the visit another `number`",
    )
}

/// Nothing was issued under the number that is to be replaced.
pub(super) fn unknown<'n>(ready: &Ready, number: &str, known: impl Iterator<Item = &'n str>) -> Problem {
    let near = nearest(number, known).map_or_else(String::new, |near| format!("; the nearest is {near}"));
    Problem::error(
        "replaces-unknown",
        &ready.visit.number.place,
        format!("no document {number} was issued{near}"),
        "only an issued document can be replaced",
        "correct the `number` of the visit; where the number or the tag itself was wrong, name the document to be replaced with \
         `--replaces NUMBER`; or issue the visit without `--amend`",
    )
}

/// A draft is no document that could be replaced.
pub(super) fn follows_draft(ready: &Ready, number: &str) -> Problem {
    Problem::error(
        "replaces-draft",
        &ready.visit.number.place,
        format!("{number} is a draft"),
        "a draft has not been handed over as a certificate: the corrected visit simply gets another draft, or stands",
        "issue the visit without `--amend`",
    )
}

/// Another run is at work on the document.
pub(super) fn at_work(ready: &Ready, number: &str) -> Problem {
    Problem::error(
        "replaces-pending",
        &ready.visit.number.place,
        format!("{number} is being issued by another run, or was left open by one that broke off"),
        "only an issued document can be replaced",
        "run this again when no other run is at work",
    )
}

/// What the document was made from cannot be had.
pub(super) fn lost(ready: &Ready, number: &str, why: &str) -> Problem {
    Problem::error(
        "replaces-lost",
        &ready.visit.number.place,
        format!("{number} cannot be compared with: {why}"),
        "a document that replaces another must show what changed",
        "put the archive of the register back from a backup; `halfcell verify` names what is missing",
    )
}

/// The document in force is not what was issued.
pub(super) fn altered(ready: &Ready, number: &str, path: &Path) -> Problem {
    Problem::error(
        "replaces-altered",
        &ready.visit.number.place,
        format!("{} of {number} is not as it was issued", path.display()),
        "a document that was changed must be seen to before another replaces it",
        "`halfcell verify` tells what was changed; move the file elsewhere, and `issue` paints the one that was issued",
    )
}

/// The document in force was judged by limits that the files do not name.
pub(super) fn other_limits(ready: &Ready, opened: &Opened, limits: &str) -> Problem {
    let file = limits.trim_end_matches(" (--limits)");
    Problem::error(
        "amends-re-evaluation",
        &ready.visit.number.place,
        format!("{} in force was judged by {file}, and this run judges by other limits", opened.number),
        "an amendment corrects the visit; limits are changed by `rejudge`, so that one document shows one kind of change",
        format!("give the limits in force with `--limits {file}`"),
    )
}

/// Two documents of a run would replace one.
pub(super) fn replaced_twice(ready: &Ready, number: &str) -> Problem {
    Problem::error(
        "replaced-twice",
        &ready.visit.number.place,
        format!("{number} would be replaced by two documents of this run"),
        "of the documents that follow one another only the last is in force",
        "leave out the file that does not hold; `--replaces` is for a single loop whose number or tag was wrong",
    )
}

/// Nothing is to be replaced: every document says the same already.
pub(super) fn unchanged(ready: &Ready, tickets: &[Ticket]) -> Option<Problem> {
    let is_amendment = ready.follow.as_ref().is_some_and(|follow| follow.kind == Kind::Amendment);
    let is_known = tickets.iter().all(|ticket| ticket.way == Way::Known);
    // An amendment made from these very files is «already issued».
    let is_made = tickets.iter().any(|ticket| ticket.facts.kind == Kind::Amendment.word());
    (is_amendment && is_known && !is_made).then(|| {
        let numbers: Vec<&str> = tickets.iter().map(|ticket| ticket.number.as_str()).collect();
        Problem::error(
            "nothing-to-amend",
            &ready.visit.number.place,
            format!(
                "{} say{} the same as these files",
                few(numbers.iter().copied()),
                if numbers.len() == 1 { "s" } else { "" }
            ),
            "an amendment must show what changed",
            "correct the file first; notes behind `#` and layout are no change",
        )
    })
}

/// Which files differ, by name.
fn differences(before: &[SourceEntry], now: &[SourceEntry], same_words: bool) -> String {
    let hash = |list: &[SourceEntry], name: &str| {
        list.iter().find(|entry| entry.name == name).map(|entry| entry.sha256.clone())
    };
    let changed = now.iter().filter_map(|entry| match hash(before, &entry.name) {
        Some(old) if old == entry.sha256 => None,
        Some(_) => Some(format!("{} is another", entry.name)),
        None => Some(format!("{} is new", entry.name)),
    });
    let gone = before.iter().filter(|entry| hash(now, &entry.name).is_none());
    let gone = gone.map(|entry| format!("{} is missing", entry.name));
    let words = (!same_words).then(|| "the words of the program are others".to_owned());
    let all: Vec<String> = changed.chain(gone).chain(words).collect();
    match all.is_empty() {
        true => "their order is another".to_owned(),
        false => all.join(", "),
    }
}
