//! A file as plain data: texts as typed, lists and mappings, without places. For comparing two versions of a file.

use super::{Content, Tree};

/// A value of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outline {
    /// A text as typed, without its quotes.
    Text(String),
    /// A list.
    List(Vec<Outline>),
    /// A mapping, in the order of the file.
    Mapping(Vec<(String, Outline)>),
}

impl Tree {
    /// The whole file as plain data.
    pub fn outline(&self) -> Outline {
        self.outline_of(0)
    }

    fn outline_of(&self, node: usize) -> Outline {
        match &self.nodes[node].content {
            Content::Leaf { text, .. } => Outline::Text(text.clone()),
            Content::List(items) => Outline::List(items.iter().map(|&item| self.outline_of(item)).collect()),
            Content::Mapping(entries) => {
                Outline::Mapping(entries.iter().map(|it| (it.key.clone(), self.outline_of(it.value))).collect())
            }
        }
    }
}

impl Outline {
    /// The value under a key of a mapping.
    pub fn get(&self, key: &str) -> Option<&Outline> {
        match self {
            Outline::Mapping(entries) => entries.iter().find(|(name, _)| name == key).map(|(_, value)| value),
            Outline::Text(_) | Outline::List(_) => None,
        }
    }

    /// The text, where it is one.
    pub fn text(&self) -> Option<&str> {
        match self {
            Outline::Text(text) => Some(text),
            Outline::List(_) | Outline::Mapping(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_its_texts_as_typed() {
        let tree =
            super::super::read("v.yaml", b"visit: {number: \"V-1\"}\nloops:\n  - tag: A\n    mv: 7.10\n").unwrap();
        let outline = tree.outline();
        assert_eq!(outline.get("visit").and_then(|it| it.get("number")).and_then(Outline::text), Some("V-1"));
        let Some(Outline::List(loops)) = outline.get("loops") else { panic!("{outline:?}") };
        assert_eq!(loops[0].get("mv").and_then(Outline::text), Some("7.10"));
    }
}
