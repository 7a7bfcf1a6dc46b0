//! Times of the work against the time zone of the site.

use super::files::Files;
use crate::client::Site;
use crate::problem::{Fact, Problem};
use crate::quantity::Moment;
use chrono::{DateTime, MappedLocalTime, Offset, TimeZone};
use chrono_tz::Tz;

/// The rules of a site's time zone, where its name is known.
pub(super) fn of_site(site: Option<&Site>) -> Option<Tz> {
    site?.time_zone.as_ref()?.text.parse().ok()
}

/// Whether the offset of a time is that of the site's zone then; tells when it is not, and of a clock time without offset
/// in the hour that comes twice when clocks go back.
pub(super) fn fits(zone: Tz, moment: &Moment, files: &Files) -> bool {
    let own = *moment.instant.offset();
    let due = match zone.from_local_datetime(&moment.instant.naive_local()) {
        MappedLocalTime::Single(there) => there,
        MappedLocalTime::Ambiguous(first, second) if !moment.text.contains(['-', 'T', '/']) => {
            files.tell(twice(zone, moment, &first, &second));
            return true;
        }
        MappedLocalTime::Ambiguous(_, second) if second.offset().fix() == own => second,
        MappedLocalTime::Ambiguous(first, _) => first,
        // The hour that is left out when clocks go forward: no offset of the zone fits.
        MappedLocalTime::None => moment.instant.with_timezone(&zone),
    };
    let is_due = due.offset().fix() == own;
    if !is_due {
        files.tell(another(zone, moment, &due));
    }
    is_due
}

/// As typed into a file: `2026-04-17T08:40+01:00`.
fn typed(moment: &DateTime<Tz>) -> String {
    moment.format("%Y-%m-%dT%H:%M%:z").to_string()
}

fn another(zone: Tz, moment: &Moment, due: &DateTime<Tz>) -> Problem {
    let (clock, instant) = (typed(due), typed(&moment.instant.with_timezone(&zone)));
    let fix = match clock == instant {
        true => format!("write `{clock}`"),
        false => format!("write `{clock}` if the clock there showed this time, `{instant}` if the offset is right"),
    };
    Problem::warning(
        "offset-not-of-site",
        &moment.place,
        format!("found `{}`; {zone} has the offset {} then", moment.text, due.format("%:z")),
        "the site's time zone has another offset at that time: summer time?",
        fix,
    )
    .about([
        ("time", Fact::time(moment.print())),
        ("zone", Fact::text(zone.name())),
        ("offset", Fact::text(due.format("%:z").to_string())),
    ])
}

fn twice(zone: Tz, moment: &Moment, first: &DateTime<Tz>, second: &DateTime<Tz>) -> Problem {
    Problem::error(
        "clock-time-twice",
        &moment.place,
        format!("found `{}` in the hour that comes twice in {zone}", moment.text),
        "clocks go back in that night, so that a clock time alone names two moments",
        format!("write the day and the offset too: `{}` or `{}`", typed(first), typed(second)),
    )
}
