//! Promise: what is wrong with a visit is refused, all at once, with its place and its fix.
//!
//! Each case edits one good visit once. Numbers are those of the list of nasty inputs in DEVELOPERS.md.

#[path = "refuses_bad_visits/base.rs"]
mod base;

#[test]
fn the_good_visit_has_no_problem() {
    let opened = base::opened(base::VISIT);
    let told: Vec<_> = opened.problems.iter().map(base::line_of).collect();
    assert!(told.is_empty(), "{}", told.join("\n"));
    let visit = opened.visit.expect("a visit");
    assert_eq!(visit.loops.len(), 2);
}
