//! The second reading: another parser, which shares no code with the first, must find the same keys and texts.
//!
//! A certificate carries its sources; whoever opens them later, with whatever reads YAML, must see the same figures.

use super::lines::Lines;
use super::{Content, Entry, Node, scan};
use crate::problem::{Place, Problem};
use serde::Deserializer;
use serde::de::{DeserializeSeed, Error, MapAccess, SeqAccess, Visitor};
use std::cell::Cell;
use std::fmt;

/// Compares the raw tree with what `serde_yaml` reads.
pub(super) fn agrees(file: &str, lines: &Lines, nodes: &[Node]) -> Result<(), Problem> {
    let differing = Cell::new(None);
    let top = Same { nodes, index: 0, differing: &differing };
    let Err(error) = top.deserialize(serde_yaml::Deserializer::from_str(lines.text())) else {
        return Ok(());
    };
    let place = |line: u32, column: u32| Place { line, column, ..Place::whole(file) };
    if let Some(&line) = scan::tab_lines(lines).first() {
        let what = "a tab indents this line";
        let why = "tabs are of no fixed width, so YAML does not indent by them";
        return Err(Problem::error("yaml-tab", &place(line, 1), what, why, "use spaces").with_excerpt(lines.line(line)));
    }
    let number = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
    let (line, column) = match (differing.get(), error.location()) {
        (Some(index), _) => (nodes[index].line, nodes[index].column),
        (None, Some(location)) => (number(location.line()), number(location.column())),
        (None, None) => (1, 1),
    };
    if let Some(problem) =
        differing.get().is_none().then(|| scan::begins_specially(file, lines, line, column)).flatten()
    {
        return Err(problem);
    }
    let what = match differing.get() {
        Some(_) => format!("a second YAML reader understands this place in another way: {error}"),
        None => "a second YAML reader cannot read this place".to_owned(),
    };
    let why = "the file travels with the certificate, and every reader must find the same figures in it";
    let fix = "put the text into quotes, or write it in a plainer way";
    Err(Problem::error("readings-differ", &place(line, column), what, why, fix).with_excerpt(lines.line(line)))
}

/// One node that must be found again.
#[derive(Clone, Copy)]
struct Same<'t> {
    nodes: &'t [Node],
    index: usize,
    differing: &'t Cell<Option<usize>>,
}

impl<'t> Same<'t> {
    fn child(self, index: usize) -> Self {
        Same { index, ..self }
    }

    fn differs<E: Error>(self, what: impl fmt::Display) -> E {
        self.differing.set(Some(self.index));
        E::custom(what)
    }
}

impl<'de> DeserializeSeed<'de> for Same<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        match &self.nodes[self.index].content {
            Content::Leaf { .. } => deserializer.deserialize_str(self),
            Content::List(_) => deserializer.deserialize_seq(self),
            Content::Mapping(_) => deserializer.deserialize_map(self),
        }
    }
}

impl<'de> Visitor<'de> for Same<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match &self.nodes[self.index].content {
            Content::Leaf { .. } => "one value",
            Content::List(_) => "a list",
            Content::Mapping(_) => "keys with values",
        })
    }

    fn visit_str<E: Error>(self, found: &str) -> Result<(), E> {
        match &self.nodes[self.index].content {
            Content::Leaf { text, .. } if text == found => Ok(()),
            Content::Leaf { .. } | Content::List(_) | Content::Mapping(_) => {
                Err(self.differs(format_args!("`{found}`")))
            }
        }
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut found: A) -> Result<(), A::Error> {
        let Content::List(children) = &self.nodes[self.index].content else {
            return Err(self.differs("a list"));
        };
        for child in children {
            if found.next_element_seed(self.child(*child))?.is_none() {
                return Err(self.differs("a shorter list"));
            }
        }
        match found.next_element::<serde::de::IgnoredAny>()? {
            None => Ok(()),
            Some(_) => Err(self.differs("a longer list")),
        }
    }

    fn visit_map<A: MapAccess<'de>>(self, mut found: A) -> Result<(), A::Error> {
        let Content::Mapping(entries) = &self.nodes[self.index].content else {
            return Err(self.differs("keys"));
        };
        for entry in entries {
            if found.next_key_seed(SameKey { at: self, entry })?.is_none() {
                return Err(self.differs("fewer keys"));
            }
            found.next_value_seed(self.child(entry.value))?;
        }
        match found.next_key::<serde::de::IgnoredAny>()? {
            None => Ok(()),
            Some(_) => Err(self.differs("more keys")),
        }
    }
}

/// One key that must be found again.
struct SameKey<'t> {
    at: Same<'t>,
    entry: &'t Entry,
}

impl<'de> DeserializeSeed<'de> for SameKey<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_str(self)
    }
}

impl<'de> Visitor<'de> for SameKey<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the key `{}`", self.entry.key)
    }

    fn visit_str<E: Error>(self, found: &str) -> Result<(), E> {
        if self.entry.key == found {
            Ok(())
        } else {
            Err(self.at.child(self.entry.value).differs(format_args!("the key `{found}`")))
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::yaml::lines::Lines;

    /// The tree of `first` against a reading of `second`.
    fn compare(first: &str, second: &str) -> Result<(), String> {
        let lines = Lines::new(first.to_owned());
        let (nodes, _) = crate::yaml::build::build("visit.yaml", &lines).map_err(|problem| problem.what)?;
        super::agrees("visit.yaml", &Lines::new(second.to_owned()), &nodes).map_err(|problem| problem.what)
    }

    #[test]
    fn the_same_text_agrees() {
        let text =
            "a: 'x'\nb: [1, ~, {c: 0x1F}]\nd: |\n  two\n  lines\ne: >-\n  one\n  line\n&k f: &n {g: yes}\nh: *n\n";
        assert_eq!(compare(text, text), Ok(()));
    }

    #[test]
    fn every_difference_is_found() {
        let text = "a: 1.10\nb: [1, 2]\nc: {d: e}\n";
        for other in [
            "a: 1.1\nb: [1, 2]\nc: {d: e}\n",
            "a: 1.10\nb: [1]\nc: {d: e}\n",
            "a: 1.10\nb: [1, 2, 3]\nc: {d: e}\n",
            "a: 1.10\nb: [1, 2]\nc: {x: e}\n",
            "a: 1.10\nb: [1, 2]\nc: {d: e, f: g}\n",
            "a: 1.10\nb: [1, 2]\n",
            "a: 1.10\nb: [1, 2]\nc: d\n",
            "a: [1.10]\nb: [1, 2]\nc: {d: e}\n",
        ] {
            assert!(compare(text, other).is_err(), "{other}");
        }
    }
}
