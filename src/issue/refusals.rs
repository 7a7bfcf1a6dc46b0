//! What is told when a number cannot be given.

use super::ready::Ready;
use crate::problem::Problem;
use crate::register::{Opened, SourceEntry};

/// The number belongs to a document that was issued from other sources.
pub(super) fn taken(ready: &Ready, number: &str, opened: &Opened) -> Problem {
    let changes = differences(&opened.sources, &ready.sources, opened.wording == ready.wording);
    Problem::error(
        "number-issued-already",
        &ready.visit.number.place,
        format!("the document {number} was issued {} from other files: {changes}", opened.issued),
        "an issued document is never overwritten, and a number is never used twice",
        format!(
            "put back what was changed by mistake; a correction will be made with `issue --amend`, which does not exist yet: \
             until then give the corrected visit a `number` of its own and say in `remarks` that it replaces {number}"
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
