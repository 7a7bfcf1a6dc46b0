//! Who was where and when, over the files of a batch: nobody works at two places at once.

use crate::problem::{Place, Problem};
use crate::visit::Visit;
use chrono::{DateTime, FixedOffset};

/// One person at one visit with begin and end.
#[derive(Debug, Clone, PartialEq)]
pub struct Presence {
    person: String,
    from: DateTime<FixedOffset>,
    to: DateTime<FixedOffset>,
    /// Client and site.
    at: (String, Option<String>),
    number: String,
    place: Place,
    line: String,
}

/// Everybody's presence at a visit; nobody's where its end is not known.
pub fn presences(visit: &Visit) -> Vec<Presence> {
    let Some(finished) = &visit.finished else {
        return Vec::new();
    };
    let at = (visit.client.name.text.clone(), visit.site.as_ref().map(|site| site.name.clone()));
    let people = visit.technicians.iter().map(|person| Presence {
        person: person.name.text.clone(),
        from: visit.started.instant,
        to: finished.instant,
        at: at.clone(),
        number: visit.number.text.clone(),
        place: person.name.place.clone(),
        line: visit.line(&person.name.place).to_owned(),
    });
    people.collect()
}

/// A warning for each presence that overlaps an earlier one of the same person at another place.
pub fn clashes(mut all: Vec<Presence>) -> Vec<Problem> {
    all.sort_by(|a, b| (&a.person, a.from, &a.number, &a.place).cmp(&(&b.person, b.from, &b.number, &b.place)));
    let mut found = Vec::new();
    let mut longest: Option<&Presence> = None;
    for presence in &all {
        let before = longest.filter(|before| before.person == presence.person);
        found.extend(before.filter(|b| presence.from < b.to && presence.at != b.at).map(|b| clash(presence, b)));
        longest = match before {
            Some(before) if before.to >= presence.to => Some(before),
            Some(_) | None => Some(presence),
        };
    }
    found
}

fn clash(presence: &Presence, before: &Presence) -> Problem {
    let time = |at: DateTime<FixedOffset>| at.format("%Y-%m-%d %H:%M %:z").to_string();
    let what = format!(
        "{} is at this visit from {} and at visit {} ({}) until {}",
        presence.person,
        time(presence.from),
        before.number,
        before.place.file,
        time(before.to)
    );
    Problem::warning(
        "technician-at-two-places",
        &presence.place,
        what,
        "nobody works at two places at once: a date, a time or a name is wrong in one of the files",
        "correct begin or end of one of the visits, or the names of who did the work",
    )
    .with_excerpt(&presence.line)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn presence(person: &str, from: &str, to: &str, site: &str, number: &str) -> Presence {
        let time = |text: &str| DateTime::parse_from_rfc3339(&format!("2026-04-17T{text}:00+01:00")).unwrap();
        Presence {
            person: person.into(),
            from: time(from),
            to: time(to),
            at: ("Ebbersand Water".into(), Some(site.into())),
            number: number.into(),
            place: Place::whole(&format!("{number}.yaml")),
            line: String::new(),
        }
    }

    #[test]
    fn one_person_at_two_places_at_once_is_told_at_the_later_begin() {
        let all = vec![
            presence("B. Ostwhile", "11:00", "12:00", "intake", "V-3"),
            presence("B. Ostwhile", "10:15", "10:30", "works", "V-2"),
            presence("B. Ostwhile", "08:00", "12:00", "works", "V-1"),
            presence("N. Tamberlow", "08:00", "12:00", "intake", "V-3"),
        ];
        let mut turned = all.clone();
        turned.reverse();
        let found = clashes(all);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].what.contains("V-1") && found[0].place.file == "V-3.yaml");
        assert_eq!(found, clashes(turned));
    }

    #[test]
    fn one_place_or_one_after_the_other_is_no_clash() {
        let all = vec![
            presence("B. Ostwhile", "08:00", "10:00", "works", "V-1"),
            presence("B. Ostwhile", "10:00", "12:00", "intake", "V-2"),
            presence("B. Ostwhile", "10:30", "11:00", "intake", "V-3"),
        ];
        assert_eq!(clashes(all), []);
    }
}
