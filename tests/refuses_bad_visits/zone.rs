//! Times against the time zone of the client's site.

use crate::base::{Class, Error, Folder, Warning, class};
use halfcell::visit::{Given, open};

/// A loop that was worked on at a moment of a visit at a site in London.
fn at_site(started: &str, finished: &str, hold: &str) -> Vec<(Class, &'static str, u32, u32, String)> {
    let folder = Folder::new();
    folder.write(
        "visits/client.yaml",
        "client: {name: Harrow Valley Water}\nsites: {works: {name: Works, time_zone: Europe/London}}\n",
    );
    let text = format!(
        "visit:
  number: KL-2026-016
  started: {started}
  finished: {finished}
  client: client.yaml
  site: works
  technicians: [A. Marsh]
loops:
  - tag: QT-01
    quantity: pH
    probe: S-01
    hold: {{from: {hold}}}
    as_found: {{not_obtained: the pump was off}}
    adjusted: no
    outcome: left out of service
"
    );
    let opened = open(&folder.write("visits/visit.yaml", text), &Given::default());
    let others = opened.problems.into_iter().filter(|it| it.code != "as-found-not-obtained");
    others.map(|it| (class(&it), it.code, it.place.line, it.place.column, it.fix)).collect()
}

#[test]
fn offsets_of_the_sites_zone_have_no_problem() {
    assert_eq!(at_site("2026-04-17T08:40+01:00", "2026-04-17T12:00+01:00", "09:00"), []);
    assert_eq!(at_site("2026-01-16T08:40Z", "2026-01-16T12:00+00:00", "09:00"), []);
    // The night in which clocks go back: each hour of the two has its offset.
    let night = at_site("2026-10-25T00:30+01:00", "2026-10-25T03:00Z", "2026-10-25T01:30+01:00");
    assert_eq!(night, []);
    assert_eq!(at_site("2026-10-25T00:30+01:00", "2026-10-25T03:00Z", "2026-10-25T01:30Z"), []);
}

/// Case 46.
#[test]
fn an_offset_that_the_zone_does_not_have_is_told_once() {
    let fix = "write `2026-04-17T08:40+01:00` if the clock there showed this time, `2026-04-17T09:40+01:00` if the offset \
               is right";
    let winter = at_site("2026-04-17T08:40Z", "2026-04-17T12:00+01:00", "09:00");
    assert_eq!(winter, [(Warning, "offset-not-of-site", 3, 12, fix.to_owned())]);
    let summer = at_site("2026-01-16T08:40Z", "2026-01-16T12:00Z", "2026-01-16T10:00+01:00");
    let fix = "write `2026-01-16T10:00+00:00` if the clock there showed this time, `2026-01-16T09:00+00:00` if the offset \
               is right";
    assert_eq!(summer, [(Warning, "offset-not-of-site", 12, 18, fix.to_owned())]);
    // Clocks go forward at 01:00: 01:30 is left out.
    let left_out = at_site("2026-03-29T00:30Z", "2026-03-29T04:00+01:00", "01:30");
    let fix = "write `2026-03-29T02:30+01:00`";
    assert_eq!(left_out, [(Warning, "offset-not-of-site", 12, 18, fix.to_owned())]);
}

/// Case 44.
#[test]
fn a_clock_time_in_the_hour_that_comes_twice_asks_for_its_offset() {
    let told = at_site("2026-10-25T00:30+01:00", "2026-10-25T03:00Z", "01:30");
    let fix = "write the day and the offset too: `2026-10-25T01:30+01:00` or `2026-10-25T01:30+00:00`";
    assert_eq!(told, [(Error, "clock-time-twice", 12, 18, fix.to_owned())]);
}
