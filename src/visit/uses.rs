//! Which readings and standards a loop uses, and which loops a problem concerns.

use super::{Check, Loop, Obtained, Reading, State, Visit};
use crate::client::Site;
use crate::problem::Problem;

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

impl Visit {
    /// The positions of the loops that a problem concerns: the loop it stands in; for a standard the loops that use
    /// it; for an entry of the roster the loop of that tag; else every loop.
    pub fn concerned(&self, problem: &Problem) -> Vec<usize> {
        let path = problem.place.path.as_str();
        let of_visit = problem.place.file == self.number.place.file;
        let entry = path.strip_prefix("loops[").and_then(|rest| rest.split_once(']')?.0.parse().ok());
        let all = 0..self.loops.len();
        if let Some(position) = entry.filter(|_| of_visit) {
            return all.filter(|other| *other == position).collect();
        }
        if let Some(position) = entry {
            let tag = self.client.loops.get::<usize>(position).map(|listed| &listed.tag.text);
            return all.filter(|other| Some(&self.loops[*other].tag.text) == tag).collect();
        }
        let places = |standard: &crate::kit::Standard| {
            let under = path.split("standards.").nth(1)?;
            let name = under.strip_prefix(standard.name.text.as_str())?;
            (name.is_empty() || name.starts_with(['.', '['])).then_some(())
        };
        match self.kit.standards.iter().position(|standard| places(standard).is_some()) {
            Some(standard) => all.filter(|other| standards_used(&self.loops[*other]).contains(&standard)).collect(),
            None => all.collect(),
        }
    }
}
