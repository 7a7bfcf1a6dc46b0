//! Where a chain of lines is broken, and what was probably done to it.
//!
//! Comes in: the lines as they stand in the file, and what does not fit between them. Goes out: one [`Broken`] for each place,
//! named for what explains it. Next: [`super::Ledger`].

use super::Broken;
use crate::register::{Fault, Span};
use std::collections::{BTreeMap, BTreeSet};

/// A line as it stands in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    /// Number of the line in the file, from 1.
    pub line: u64,
    /// Number that it gives itself.
    pub entry: u64,
    /// SHA-256 of its text.
    pub hash: String,
    /// Hash of the line before, as it says.
    pub previous: String,
    /// Where it stands.
    pub span: Span,
}

/// What does not fit between lines, explained; and the lines that begin a stretch: none of them follows the one before it.
pub(super) fn broken(lines: &[Seen], faults: Vec<Fault>) -> (Vec<Broken>, Vec<u64>) {
    let mut numbered = BTreeMap::new();
    let mut unchained = BTreeSet::new();
    let mut broken = Vec::new();
    for fault in faults {
        match fault {
            Fault::Numbered { line, entry, due } => drop(numbered.insert(line, (entry, due))),
            Fault::Unchained { line } => drop(unchained.insert(line)),
            Fault::Unreadable { line, why } => broken.push(Broken::Unreadable { line, why }),
            Fault::OutOfTurn { line, number } => broken.push(Broken::OutOfTurn { line, number }),
            Fault::Forked { line, number, predecessor } => {
                broken.push(Broken::Forked { line, number, predecessor });
            }
            Fault::Shortened => {}
        }
    }
    let unreadable: BTreeSet<u64> = broken.iter().filter_map(unreadable).collect();
    let breaks: BTreeSet<u64> = numbered.keys().copied().chain(unchained.iter().copied()).collect();
    let mut explained = Explained { lines, places: places(lines), breaks: &breaks, blamed: unreadable, found: broken };
    for (at, seen) in lines.iter().enumerate().filter(|(_, seen)| breaks.contains(&seen.line)) {
        explained.explain(at, numbered.get(&seen.line).copied(), unchained.contains(&seen.line));
    }
    let mut found = explained.found;
    // A line that does not belong where it stands is out of turn for that reason.
    let misplaced: BTreeSet<u64> = found.iter().filter(|it| !is_of_turn(it)).filter_map(Broken::line).collect();
    found.retain(|it| !is_of_turn(it) || it.line().is_none_or(|line| !misplaced.contains(&line)));
    found.sort_by_key(Broken::line);
    (found, breaks.into_iter().collect())
}

fn unreadable(broken: &Broken) -> Option<u64> {
    match broken {
        Broken::Unreadable { line, .. } => Some(*line),
        _ => None,
    }
}

/// Whether a line is blamed for what it says of a document, not for where it stands.
fn is_of_turn(broken: &Broken) -> bool {
    matches!(broken, Broken::OutOfTurn { .. } | Broken::Forked { .. })
}

/// The first line with each hash.
fn places(lines: &[Seen]) -> BTreeMap<&str, u64> {
    let mut places = BTreeMap::new();
    for seen in lines {
        places.entry(seen.hash.as_str()).or_insert(seen.line);
    }
    places
}

struct Explained<'l> {
    lines: &'l [Seen],
    places: BTreeMap<&'l str, u64>,
    breaks: &'l BTreeSet<u64>,
    /// Lines that explain why the next does not fit.
    blamed: BTreeSet<u64>,
    found: Vec<Broken>,
}

impl Explained<'_> {
    fn explain(&mut self, at: usize, numbered: Option<(u64, u64)>, is_unchained: bool) {
        let seen = &self.lines[at];
        let line = seen.line;
        let first = self.places[seen.hash.as_str()];
        let before = self.places.get(seen.previous.as_str()).copied();
        let is_after_blamed = self.blamed.contains(&(line - 1));
        if first < line {
            self.blamed.insert(line);
            return self.found.push(Broken::Repeated { line, of: first });
        }
        if !is_unchained {
            let Some((entry, due)) = numbered.filter(|_| !is_after_blamed) else { return };
            return self.found.push(Broken::Misnumbered { line, entry, due });
        }
        match before {
            // What stands before it does not belong here, and was told; this line would fit without it.
            Some(before) if before + 2 == line && is_after_blamed => drop(self.blamed.insert(line)),
            Some(before) if before + 2 == line && !self.breaks.contains(&(line - 1)) => {
                self.found.push(Broken::Inserted { line: line - 1 });
            }
            Some(before) => {
                self.blamed.insert(line);
                self.found.push(Broken::Moved { line, behind: before });
            }
            None if self.is_start(seen) && line > 1 => {
                self.found.push(Broken::Restarted { line });
            }
            None if is_after_blamed => {}
            None => self.found.push(match numbered {
                Some((entry, due)) if entry > due => Broken::Removed { line, from: due, to: entry - 1 },
                Some(_) | None => Broken::Edited { line: line.saturating_sub(1).max(1), noticed: line },
            }),
        }
    }

    /// Whether a line says that it is the first of a register.
    fn is_start(&self, seen: &Seen) -> bool {
        seen.previous.bytes().all(|byte| byte == b'0')
    }
}

/// The stretch of lines without a break that a line stands in: its first line. Every line of it up to `line` is fixed by the
/// hash of `line`.
pub(super) fn stretch(breaks: &[u64], line: u64) -> u64 {
    breaks.iter().copied().take_while(|start| *start <= line).last().unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::register::{Book, Entry, Opened};
    use std::path::Path;

    fn six(folder: &Path) -> Vec<String> {
        let (mut held, _) = Book::new(folder).hold().unwrap();
        let opened = |number: &str| Entry::Opened(Box::new(Opened { number: number.into(), ..Opened::default() }));
        held.add(["A", "B", "C", "D", "E", "F"].map(opened)).unwrap();
        std::fs::read_to_string(folder.join("register.jsonl")).unwrap().lines().map(str::to_owned).collect()
    }

    fn seen(folder: &Path, lines: &[String]) -> Vec<Broken> {
        let text: String = lines.iter().map(|line| format!("{line}\n")).collect();
        std::fs::write(folder.join("register.jsonl"), text).unwrap();
        let (mut seen, mut faults) = (Vec::new(), Vec::new());
        let read = Book::new(folder).read(|read| match read {
            Ok(found) => seen.push(Seen {
                line: found.number,
                entry: found.line.entry,
                hash: found.hash.to_owned(),
                previous: found.line.previous,
                span: found.span,
            }),
            Err(fault) => faults.push(fault),
        });
        read.unwrap();
        broken(&seen, faults).0
    }

    #[test]
    fn every_change_is_named_for_what_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let folder = folder.path();
        let six = six(folder);
        let changed = |change: fn(&mut Vec<String>)| {
            let mut lines = six.clone();
            change(&mut lines);
            seen(folder, &lines)
        };
        assert_eq!(changed(|_| {}), []);
        let edited = [Broken::Edited { line: 2, noticed: 3 }];
        assert_eq!(changed(|lines| lines[1] = lines[1].replace("\"B\"", "\"X\"")), edited);
        assert_eq!(changed(|lines| drop(lines.remove(2))), [Broken::Removed { line: 3, from: 3, to: 3 }]);
        assert_eq!(changed(|lines| drop(lines.drain(..2))), [Broken::Removed { line: 1, from: 1, to: 2 }]);
        assert_eq!(changed(|lines| lines.swap(1, 2)), [Broken::Moved { line: 2, behind: 3 }]);
        let repeated = [Broken::Repeated { line: 5, of: 2 }];
        assert_eq!(changed(|lines| lines.insert(4, lines[1].clone())), repeated);
        assert_eq!(changed(|lines| lines.insert(2, lines[1].clone())), [Broken::Repeated { line: 3, of: 2 }]);
        let put_in = changed(|lines| lines.insert(2, lines[2].replace("\"C\"", "\"X\"")));
        assert_eq!(put_in, [Broken::Inserted { line: 3 }]);
        let unread = changed(|lines| lines[3].truncate(30));
        assert!(matches!(unread[..], [Broken::Unreadable { line: 4, .. }]), "{unread:?}");
        let moved = [Broken::Moved { line: 2, behind: 6 }, Broken::Moved { line: 6, behind: 1 }];
        let to_the_end = |lines: &mut Vec<String>| {
            let line = lines.remove(1);
            lines.push(line);
        };
        assert_eq!(changed(to_the_end), moved);
        assert_eq!(changed(|lines| lines.extend(lines.clone())).first(), Some(&Broken::Repeated { line: 7, of: 1 }));
    }

    #[test]
    fn a_stretch_begins_at_the_last_break() {
        assert_eq!([1, 4, 5, 9].map(|line| stretch(&[5, 7], line)), [1, 1, 5, 7]);
    }
}
