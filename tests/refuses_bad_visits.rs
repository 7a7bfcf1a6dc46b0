//! Promise: what is wrong with a visit is refused, all at once, with its place and its fix.
//!
//! Each case edits one good visit in one place and says which problem is due, where, and with which fix.

#[path = "refuses_bad_visits/anything.rs"]
mod anything;
#[path = "refuses_bad_visits/base.rs"]
mod base;
#[path = "refuses_bad_visits/file.rs"]
mod file;
#[path = "refuses_bad_visits/identity.rs"]
mod identity;
#[path = "refuses_bad_visits/in_part.rs"]
mod in_part;
#[path = "refuses_bad_visits/named_files.rs"]
mod named_files;
#[path = "refuses_bad_visits/one_slip.rs"]
mod one_slip;
#[path = "refuses_bad_visits/readings.rs"]
mod readings;
#[path = "refuses_bad_visits/roster.rs"]
mod roster;
#[path = "refuses_bad_visits/work.rs"]
mod work;
#[path = "refuses_bad_visits/zone.rs"]
mod zone;

#[test]
fn the_good_visit_has_no_problem() {
    let opened = base::opened(base::VISIT);
    let told: Vec<_> = opened.problems.iter().map(base::line_of).collect();
    assert!(told.is_empty(), "{}", told.join("\n"));
    assert_eq!(opened.visit.expect("a visit").loops.len(), 2);
}
