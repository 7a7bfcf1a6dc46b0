//! What earlier visits of a loop say against this one: another probe than the one that was left, a last good check that is
//! not the last, one visit in two files.

use crate::problem::{Fact, Problem};
use crate::record::history::{Earlier, earlier};
use crate::record::{Point, Record, Verdict, is_other_probe};
use crate::visit::{Loop, Visit};

/// Problems of loop `index` that the points of other visits show.
pub fn problems(visit: &Visit, index: usize, record: &Record, points: &[&Point]) -> Vec<Problem> {
    if points.is_empty() {
        return Vec::new();
    }
    let subject = &visit.loops[index];
    let own = Point::of(record);
    let Earlier { visits, doubtful, before: _ } = earlier(&own, points);
    let mut found: Vec<Problem> = twice(subject, &own, points).into_iter().collect();
    found.extend(doubtful.iter().map(|files| earlier_twice(subject, files)));
    found.extend(visits.last().and_then(|last| other_probe(subject, &own, last)));
    found.extend(not_the_last_good(subject, &visits));
    found
}

/// Another visit of this loop, in a file that differs, begins at the same moment or carries the same number.
fn twice(subject: &Loop, own: &Point, points: &[&Point]) -> Option<Problem> {
    let is_twin = |point: &&&Point| {
        (point.instant == own.instant || point.visit == own.visit)
            && point.source.sha256 != own.source.sha256
            && point.is_same_loop(own)
    };
    let twins: Vec<&&Point> = points.iter().filter(is_twin).collect();
    let first = twins.iter().min_by_key(|point| (&point.source.name, &point.source.sha256))?;
    let more = match twins.len() - 1 {
        0 => String::new(),
        more => format!(" (and {more} more)"),
    };
    Some(Problem::warning(
        "visit-twice",
        &subject.tag.place,
        format!("{}{more} holds visit {} to this loop too, begun {}", first.source.name, first.visit, first.started),
        "two visits of one loop cannot have one number or begin at one moment: is it the same visit, or a wrong date?",
        "correct number or begin of one of them; if one file replaces the other, move the old one elsewhere",
    )
    .about([
        ("file", Fact::text(&first.source.name)),
        ("visit", Fact::text(&first.visit)),
        ("started", Fact::time(&first.started)),
    ]))
}

/// An earlier visit stands in two files that differ: neither counts.
fn earlier_twice(subject: &Loop, [a, b]: &[&Point; 2]) -> Problem {
    let mut names = [&a.source.name, &b.source.name];
    names.sort();
    let what = format!(
        "the earlier visit {} to this loop stands in two files that differ: {} and {}",
        a.visit, names[0], names[1]
    );
    Problem::warning(
        "earlier-visit-twice",
        &subject.tag.place,
        what,
        "nobody can tell which of them holds, so neither counts in the history of this loop",
        "move the file that does not hold elsewhere, or correct its number",
    )
    .about([("visit", Fact::text(&a.visit)), ("file", Fact::text(names[0])), ("other", Fact::text(names[1]))])
}

/// Another probe than the one that was left, and nothing says who changed it.
fn other_probe(subject: &Loop, own: &Point, last: &Point) -> Option<Problem> {
    let day = |text: &str| text.get(..10).unwrap_or_default().to_owned();
    let changed_since = own.installed.as_deref().is_some_and(|date| day(date) > day(&last.started));
    if !is_other_probe(last, own) || changed_since {
        return None;
    }
    let (left, found) = (last.serial_left.as_deref()?, own.serial.as_deref()?);
    let place = subject.probe.device.serial.as_ref().map_or(&subject.place, |serial| &serial.place);
    Some(
        Problem::warning(
            "probe-changed-between-visits",
            place,
            format!("the probe found is `{found}`; visit {} left `{left}` on {}", last.visit, day(&last.started)),
            "a probe is the same from visit to visit unless somebody replaced it: by whom, or was the plate misread?",
            "read the plate again; if it was replaced, write `installed:` with the day at the probe",
        )
        .about([
            ("serial", Fact::text(found)),
            ("visit", Fact::text(&last.visit)),
            ("left", Fact::text(left)),
            ("day", Fact::time(day(&last.started))),
        ]),
    )
}

/// A last good check that an earlier visit contradicts.
fn not_the_last_good(subject: &Loop, before: &[&Point]) -> Option<Problem> {
    let said = subject.last_good.as_ref()?;
    let is_good = |point: &&&Point| matches!(point.verdict, Some(Verdict::Pass | Verdict::ConditionalPass));
    let later = before.iter().rev().find(|point| point.day().is_some_and(|day| day > said.date) && is_good(point));
    let on_the_day: Vec<&&Point> = before.iter().filter(|point| point.day() == Some(said.date)).collect();
    let (case, that) = match (later, on_the_day.last()) {
        (Some(later), _) => ("later", *later),
        (None, Some(that)) if !on_the_day.iter().any(is_good) => ("not-good", **that),
        (None, _) => return None,
    };
    let (visit, day) = (&that.visit, &that.started[..10]);
    let what = match case {
        "later" => format!("last good check on {}, but visit {visit} left the loop good on {day}", said.text),
        _ => format!("last good check on {}, but visit {visit} of that day did not leave the loop good", said.text),
    };
    Some(
        Problem::warning(
            "last-good-contradicted",
            &said.place,
            what,
            "the plant assesses its results back to this day after a failed check",
            "correct the day; if another check is meant, accept `last-good-contradicted` with what it was",
        )
        .about_case(
            case,
            [("said", Fact::time(said.date.to_string())), ("visit", Fact::text(visit)), ("day", Fact::time(day))],
        ),
    )
}
