//! One mapping being read: which keys were asked for, which are left.

use super::answer::check_characters;
use super::at::shortened;
use super::{At, Content, Entry, Text, Tree, levels, nearest};
use crate::problem::{Place, Problem};

/// One mapping being read; remembers which keys were asked for.
#[derive(Debug, Clone)]
pub struct Keys<'t> {
    at: At<'t>,
    asked: Vec<&'static str>,
    all_asked: bool,
}

impl<'t> Keys<'t> {
    pub(super) fn new(at: At<'t>) -> Self {
        Keys { at, asked: Vec::new(), all_asked: false }
    }

    /// The mapping itself.
    pub fn at(&self) -> &At<'t> {
        &self.at
    }

    /// The value of an optional key.
    pub fn get(&mut self, key: &'static str) -> Option<At<'t>> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        self.at.entries().iter().find(|entry| entry.key == key).map(|entry| self.at.child(entry))
    }

    /// The value of a key that must be there; `why` says why. Books `missing-key` at the mapping.
    pub fn need(&mut self, key: &'static str, why: &str) -> Option<At<'t>> {
        let found = self.get(key);
        if found.is_none() {
            self.at.tell(Problem::error(MISSING, &self.at.place(), missing(key), why, format!("add `{key}: …`")));
        }
        found
    }

    /// All entries not yet asked for, for mappings keyed by names (standards, people, sites); `x-` keys are left.
    /// Books `hidden-character` for names with characters that cannot be seen.
    pub fn entries(&mut self) -> Vec<(Text, At<'t>)> {
        self.all_asked = true;
        let mut found = Vec::new();
        for entry in self.at.entries() {
            if self.asked.contains(&entry.key.as_str()) || entry.key.starts_with("x-") {
                continue;
            }
            let place = self.place_of(entry);
            match check_characters(&entry.key, &place) {
                Ok(()) => found.push((Text { text: entry.key.clone(), place }, self.at.child(entry))),
                Err(problem) => self.at.tell(problem),
            }
        }
        found
    }

    /// Books `unknown-key` for every key that nobody asked for, with the key that was probably meant or the level
    /// where it belongs; gives the `x-` keys with their values as text. A needed key that is there, but misspelt, is one
    /// slip: its `missing-key` is withdrawn.
    pub fn finish(self) -> Vec<(String, String)> {
        let mut private = Vec::new();
        // A key that is here already cannot be the one that was meant.
        let is_here = |asked: &&'static str| self.at.entries().iter().any(|entry| entry.key == **asked);
        let free: Vec<&'static str> = self.asked.iter().copied().filter(|asked| !is_here(asked)).collect();
        for entry in self.at.entries() {
            if entry.key.starts_with("x-") {
                let mut text = String::new();
                write_out(self.at.tree(), entry.value, true, &mut text);
                private.push((entry.key.clone(), text));
            } else if !self.all_asked && !self.asked.contains(&entry.key.as_str()) && !self.at.tree().is_full() {
                self.unknown(entry, &free);
            }
        }
        private
    }

    fn unknown(&self, entry: &Entry, free: &[&'static str]) {
        let key = entry.key.as_str();
        let meant = nearest(key, free.iter().copied());
        if let Some(meant) = meant {
            let (path, what) = (self.at.path(), missing(meant));
            self.at.withdraw_where(|told| told.code == MISSING && told.place.path == path && told.what == what);
        }
        let fix = match (levels::belongs(key), meant) {
            (None, Some(meant)) => format!("did you mean `{meant}`?"),
            (Some(place), None) => format!("`{key}` belongs to {place}"),
            (Some(place), Some(meant)) => {
                format!("did you mean `{meant}`? `{key}` belongs to {place}")
            }
            (None, None) if self.asked.is_empty() => "delete it; a note of your own begins with x-".to_owned(),
            (None, None) => {
                format!("delete it, or use one of: {}; a note of your own begins with x-", self.asked.join(", "))
            }
        };
        let what = format!("the key `{}` is not known here", shortened(key));
        self.at.tell(Problem::error(
            "unknown-key",
            &self.place_of(entry),
            what,
            "nothing in these files is ignored",
            fix,
        ));
    }

    fn place_of(&self, entry: &Entry) -> Place {
        Place { line: entry.line, column: entry.column, path: self.at.path_to(&entry.key), ..self.at.place() }
    }
}

/// Code of the problem that a key is missing.
const MISSING: &str = "missing-key";

fn missing(key: &str) -> String {
    format!("the key `{key}` is missing")
}

/// A value on one line: texts as typed, lists and mappings in brackets and braces.
fn write_out(tree: &Tree, node: usize, is_top: bool, text: &mut String) {
    match &tree.nodes[node].content {
        Content::Leaf { text: leaf, .. } if is_top => text.push_str(leaf),
        Content::Leaf { text: leaf, .. } => {
            let is_plain = !leaf.is_empty() && !leaf.contains([',', ':', '[', ']', '{', '}', '#', '"', '\'', '\n']);
            text.push_str(&if is_plain { leaf.clone() } else { super::scan::quoted(leaf) });
        }
        Content::List(children) => {
            text.push('[');
            for (count, child) in children.iter().enumerate() {
                text.push_str(if count == 0 { "" } else { ", " });
                write_out(tree, *child, false, text);
            }
            text.push(']');
        }
        Content::Mapping(entries) => {
            text.push('{');
            for (count, entry) in entries.iter().enumerate() {
                text.push_str(if count == 0 { "" } else { ", " });
                text.push_str(&entry.key);
                text.push_str(": ");
                write_out(tree, entry.value, false, text);
            }
            text.push('}');
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::yaml::{Keys, read};

    fn ask(text: &str, question: impl Fn(Keys<'_>)) -> Vec<(&'static str, u32, u32, String, String)> {
        let tree = read("visit.yaml", text.as_bytes()).expect("a tree");
        question(tree.root().keys("a file").expect("keys"));
        let told = |problem: crate::problem::Problem| {
            (problem.code, problem.place.line, problem.place.column, problem.place.path, problem.fix)
        };
        tree.problems().into_iter().map(told).collect()
    }

    #[test]
    fn unknown_keys_get_the_nearest_key() {
        let problems = ask("tag: x\nas-found: y\n", |mut keys| {
            assert!(keys.get("tag").is_some() && keys.get("as_found").is_none());
            keys.finish();
        });
        assert_eq!(problems, [("unknown-key", 2, 1, "as-found".to_owned(), "did you mean `as_found`?".to_owned())]);
    }

    #[test]
    fn a_key_at_the_wrong_level_is_sent_home() {
        let problems = ask("tag: x\nlot: y\n", |mut keys| {
            keys.get("tag");
            keys.finish();
        });
        assert_eq!(problems[0].4, "`lot` belongs to an entry of `standards:`");
        let problems = ask("tag: x\ncolour: y\n", |mut keys| {
            keys.get("tag");
            keys.finish();
        });
        assert_eq!(problems[0].4, "delete it, or use one of: tag; a note of your own begins with x-");
    }

    #[test]
    fn a_missing_key_is_told_at_its_mapping() {
        let problems = ask("visit:\n  site: works\n", |mut keys| {
            let mut visit = keys.need("visit", "").and_then(|at| at.keys("a visit")).expect("a visit");
            assert!(visit.need("number", "every document is numbered after it").is_none());
        });
        assert_eq!(problems, [("missing-key", 2, 3, "visit".to_owned(), "add `number: …`".to_owned())]);
    }

    #[test]
    fn a_misspelt_key_is_not_told_as_missing_too() {
        let problems = ask("visit:\n  nummber: A\n", |mut keys| {
            let mut visit = keys.need("visit", "").and_then(|at| at.keys("a visit")).expect("a visit");
            assert!(visit.need("number", "").is_none() && visit.need("started", "").is_none());
            visit.finish();
        });
        let told: Vec<(&str, &str)> = problems.iter().map(|problem| (problem.0, problem.4.as_str())).collect();
        assert_eq!(told, [("missing-key", "add `started: …`"), ("unknown-key", "did you mean `number`?")]);
    }

    #[test]
    fn private_keys_are_kept_as_text() {
        let problems = ask("x-workorder: 0077\nx-more: {a: [1, ~, 'b, c'], d: }\ntag: x\n", |mut keys| {
            keys.get("tag");
            let private = keys.finish();
            assert_eq!(private[0], ("x-workorder".to_owned(), "0077".to_owned()));
            assert_eq!(private[1], ("x-more".to_owned(), "{a: [1, ~, \"b, c\"], d: \"\"}".to_owned()));
        });
        assert!(problems.is_empty(), "{problems:?}");
    }

    #[test]
    fn names_as_keys_come_with_their_places() {
        let problems = ask("x-a: 1\nB4: {lot: k}\nB\u{200b}7: {lot: m}\n", |mut keys| {
            let entries = keys.entries();
            assert_eq!(entries.len(), 1);
            assert_eq!((entries[0].0.text.as_str(), entries[0].0.place.line, entries[0].1.path()), ("B4", 2, "B4"));
            keys.finish();
        });
        assert_eq!((problems[0].0, problems[0].1), ("hidden-character", 3));
    }
}
