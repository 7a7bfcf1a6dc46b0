//! Which limits hold for a loop: command line, loop, visit, client, firm, built in – the first that is given.

use super::files::{Files, Kind};
use crate::limits::{self, Limits};
use crate::problem::{Fact, Problem};
use crate::quantity::Moment;
use crate::yaml::{At, Text, Tree};
use std::rc::Rc;

/// Limits named as a path in a file.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Named {
    /// The path as typed.
    pub(super) path: Text,
    /// The file in which it stands, relative to the visit's folder, or to the folder of a firm file that was given.
    pub(super) from: String,
    /// Whether it stands in a firm file given on the command line.
    pub(super) given: bool,
}

impl Named {
    /// The path at a node.
    pub(super) fn at(at: &At<'_>, from: &str) -> Option<Named> {
        Some(Named::of(&at.text()?, from))
    }

    /// A path that another check has read.
    pub(super) fn of(path: &Text, from: &str) -> Named {
        Named { path: path.clone(), from: from.to_owned(), given: false }
    }
}

/// Limits by the path that names them; each file is read and checked once.
#[derive(Debug, Default)]
pub(super) struct Sets {
    /// Limits given on the command line: they override all others. The inner `None`: they cannot be used.
    given: Option<Option<Limits>>,
    read: Vec<(Named, Option<Limits>)>,
}

impl Sets {
    /// The limits of the command line.
    pub(super) fn given(tree: Option<&Rc<Tree>>) -> Sets {
        Sets { given: Some(tree.and_then(|tree| limits::check(&tree.root()))), read: Vec::new() }
    }

    /// The limits of a loop; `order` names candidates, the strongest first. `None` when they cannot be used.
    pub(super) fn choose(
        &mut self,
        order: [Option<Named>; 5],
        files: &Files,
        started: Option<&Moment>,
    ) -> Option<Limits> {
        if let Some(given) = &self.given {
            return given.clone();
        }
        let Some(named) = order.into_iter().flatten().next() else {
            return Some(limits::built_in());
        };
        let same = |other: &Named| other.from == named.from && other.path.text == named.path.text;
        if let Some((_, known)) = self.read.iter().find(|(other, _)| same(other)) {
            return known.clone();
        }
        let limits = files.load_named(Kind::Limits, &named).and_then(|(_, tree)| {
            let limits = limits::check(&tree.root());
            if let (Some(limits), Some(started)) = (&limits, started) {
                in_force(limits, started, &tree);
            }
            limits
        });
        self.read.push((named, limits.clone()));
        limits
    }
}

/// Limits that come into force after the work do not hold for it.
fn in_force(limits: &Limits, started: &Moment, tree: &Tree) {
    let Some(effective) = &limits.effective else {
        return;
    };
    if effective.date > started.instant.date_naive() {
        let problem = Problem::error(
            "limits-not-yet-in-force",
            &effective.place,
            format!("limits `{}` hold from {}", limits.name, effective.text),
            format!("the work was done on {}, before they came into force", started.instant.date_naive()),
            "name the limits that were in force on that day, or correct the date",
        )
        .about([
            ("limits", Fact::text(&limits.name)),
            ("effective", Fact::time(effective.date.to_string())),
            ("day", Fact::time(started.instant.date_naive().to_string())),
        ]);
        tree.root().tell(problem.acceptable());
    }
}
