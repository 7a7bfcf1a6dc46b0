//! One mapping being read: which keys were asked for, which are left.

use super::{At, Text};

/// One mapping being read; remembers which keys were asked for.
#[derive(Debug, Clone)]
pub struct Keys<'t> {
    at: At<'t>,
    #[allow(dead_code)]
    asked: Vec<&'static str>,
}

impl<'t> Keys<'t> {
    pub(super) fn new(at: At<'t>) -> Self {
        Keys {
            at,
            asked: Vec::new(),
        }
    }

    /// The mapping itself.
    pub fn at(&self) -> &At<'t> {
        &self.at
    }

    /// The value of an optional key.
    pub fn get(&mut self, key: &'static str) -> Option<At<'t>> {
        let _ = key;
        unimplemented!("next commit")
    }

    /// The value of a key that must be there; `why` says why.
    pub fn need(&mut self, key: &'static str, why: &str) -> Option<At<'t>> {
        let _ = (key, why);
        unimplemented!("next commit")
    }

    /// All entries not yet asked for, for mappings keyed by names (standards, people, sites).
    pub fn entries(&mut self) -> Vec<(Text, At<'t>)> {
        unimplemented!("next commit")
    }

    /// Books every key that nobody asked for; gives the `x-` keys with their text.
    pub fn finish(self) -> Vec<(String, String)> {
        unimplemented!("next commit")
    }
}
