//! Where things stand in the lists of a client, so that a visit of many loops finds each at once.

use super::{RosterLoop, Site, look_alike};
use std::collections::HashMap;

/// Positions by name, in file order where a name stands several times.
type Positions = HashMap<String, Vec<usize>>;

/// Positions in [`super::Client::sites`] and [`super::Client::loops`].
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Index {
    sites: Positions,
    tags: Positions,
    likenesses: Positions,
    serials: Positions,
}

impl Index {
    pub(super) fn new(sites: &[Site], loops: &[RosterLoop]) -> Index {
        let serial = |entry: &RosterLoop| Some(entry.serial()?.text.clone());
        Index {
            sites: positions(sites.iter().map(|site| Some(site.key.clone()))),
            tags: positions(loops.iter().map(|entry| Some(entry.tag.text.clone()))),
            likenesses: positions(loops.iter().map(|entry| Some(look_alike(&entry.tag.text)))),
            serials: positions(loops.iter().map(serial)),
        }
    }

    pub(super) fn of_site(&self, key: &str) -> Option<usize> {
        self.sites.get(key)?.first().copied()
    }

    pub(super) fn of_tag(&self, tag: &str) -> &[usize] {
        found(&self.tags, tag)
    }

    pub(super) fn of_likeness(&self, likeness: &str) -> &[usize] {
        found(&self.likenesses, likeness)
    }

    pub(super) fn of_serial(&self, serial: &str) -> &[usize] {
        found(&self.serials, serial)
    }
}

fn positions(names: impl Iterator<Item = Option<String>>) -> Positions {
    let mut positions = Positions::new();
    for (position, name) in names.enumerate() {
        if let Some(name) = name {
            positions.entry(name).or_default().push(position);
        }
    }
    positions
}

fn found<'p>(positions: &'p Positions, name: &str) -> &'p [usize] {
    positions.get(name).map_or(&[], Vec::as_slice)
}
