//! Which readings and standards a loop uses, and which loops a problem concerns.

use super::{Check, Loop, Obtained, Reading, State, Visit};
use crate::client::Site;
use crate::problem::{Place, Problem};
use std::collections::HashMap;

/// Every standard that a loop uses, for readings or for a check, each once, as positions in the kit.
pub fn standards_used(of: &Loop) -> Vec<usize> {
    let left = of.as_left.as_ref().map(|left| &left.0);
    let states = [Some(&of.as_found.0), left].into_iter().flatten().filter_map(|state| state.obtained());
    let checks = states.filter_map(|state| match &state.checks.standard {
        Some(Check::Done(check)) => Some(check.standard),
        Some(Check::NotDone(_)) | None => None,
    });
    let mut used: Vec<usize> = readings_of(of).iter().map(|reading| reading.standard).chain(checks).collect();
    used.sort_unstable();
    used.dedup();
    used
}

/// Every reading of a loop: as found, after each remedy, as left.
pub fn readings_of(of: &Loop) -> Vec<&Reading> {
    let found = of.as_found.0.obtained();
    let left = of.as_left.as_ref().and_then(|left| left.0.obtained());
    fn readings(state: Option<&State>) -> &[Reading] {
        state.map_or(&[], |state| &state.readings)
    }
    let after = of.remedies.iter().flat_map(|remedy| &remedy.readings);
    readings(found).iter().chain(after).chain(readings(left)).collect()
}

impl Visit {
    /// The site of a loop: the visit's, else that of its roster entry.
    pub fn site_of<'a>(&'a self, of: &Loop) -> Option<&'a Site> {
        let listed = || self.client.roster_loop(&of.tag.text, None)?.site.as_ref();
        self.site.as_ref().or_else(|| self.client.site(&listed()?.text))
    }
}

impl<T> Obtained<T> {
    /// What was obtained.
    pub fn obtained(&self) -> Option<&T> {
        match self {
            Obtained::Yes(obtained) => Some(obtained),
            Obtained::Not(_) => None,
        }
    }
}

/// Whom a problem concerns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Concern {
    /// Loops, by their positions in [`Visit::loops`]: the loop in which it stands; for a standard the loops that use it;
    /// for an entry of the roster the loop of that tag. Empty where that loop could not be read.
    Loops(Vec<usize>),
    /// The visit as a whole, and with it every loop.
    Visit,
}

/// Tells whom problems concern.
pub struct Concerns<'v> {
    visit: &'v Visit,
    /// Loops by file and path of what they stand in or use.
    owners: HashMap<(&'v str, &'v str), Vec<usize>>,
}

impl<'v> Concerns<'v> {
    /// Looks up once what each loop of a visit stands in and uses.
    pub fn new(visit: &'v Visit) -> Self {
        let mut owners: HashMap<(&str, &str), Vec<usize>> = HashMap::new();
        let entries: HashMap<&str, Vec<&Place>> = visit.client.loops.iter().fold(HashMap::new(), |mut map, entry| {
            map.entry(entry.tag.text.as_str()).or_insert_with(Vec::new).push(&entry.tag.place);
            map
        });
        for (position, of) in visit.loops.iter().enumerate() {
            let mut own = |place: &'v Place| {
                let path = place.path.strip_suffix(".tag").unwrap_or(&place.path);
                owners.entry((place.file.as_str(), path)).or_default().push(position);
            };
            own(&of.place);
            entries.get(of.tag.text.as_str()).into_iter().flatten().for_each(|place| own(place));
            standards_used(of).into_iter().for_each(|standard| own(&visit.kit.standards[standard].name.place));
        }
        Concerns { visit, owners }
    }

    /// Whom a problem concerns.
    pub fn of(&self, problem: &Problem) -> Concern {
        let path = problem.place.path.as_str();
        let ends = path.match_indices(['.', '[']).map(|(end, _)| end).chain([path.len()]);
        let mut owned = ends.filter_map(|end| self.owners.get(&(problem.place.file.as_str(), &path[..end])));
        if let Some(loops) = owned.next() {
            return Concern::Loops(loops.clone());
        }
        let of_few = ["loops[", "standards.", "visit.standards."].iter().any(|start| path.starts_with(start));
        if of_few { Concern::Loops(Vec::new()) } else { Concern::Visit }
    }

    /// The positions of all loops that are concerned.
    pub fn loops(&self, concern: &Concern) -> Vec<usize> {
        match concern {
            Concern::Loops(loops) => loops.clone(),
            Concern::Visit => (0..self.visit.loops.len()).collect(),
        }
    }
}
