//! Standards and instruments as the readings name them, and how their lots stand on the day of the work.

use super::head::Head;
use super::loops::Here;
use crate::client::LoopQuantity;
use crate::kit::{Kit, Measurand, Standard, StandardKind};
use crate::problem::{Fact, Problem};
use crate::quantity::{Celsius, Measured};
use crate::reference::redox::RedoxError;
use crate::reference::{OutOfRange, Range};
use crate::yaml::{At, few, nearest};

/// The standard that `at` names: its position in the kit, when it is declared, valid and of the loop's quantity.
pub(super) fn named(at: &At<'_>, here: &Here<'_>) -> Option<usize> {
    let name = at.text()?;
    let kit = &here.head.kit;
    let Some(position) = kit.standard(&name.text) else {
        if here.head.kit_known && !kit.is_unusable(&name.text) && !at.is_full() {
            at.tell(undeclared(at, "standard", &name.text, kit.standards.iter().map(|s| s.name.text.as_str())));
        }
        return None;
    };
    here.head.used.borrow_mut().insert(position);
    let standard = &kit.standards[position];
    match (&standard.kind, here.quantity?) {
        (StandardKind::Buffer(_), LoopQuantity::Ph) | (StandardKind::Redox(_), LoopQuantity::Redox) => Some(position),
        (StandardKind::Buffer(_), LoopQuantity::Redox) => {
            at.tell(wrong(at, standard, here, "a pH buffer", "a redox solution"));
            None
        }
        (StandardKind::Redox(_), LoopQuantity::Ph) => {
            at.tell(wrong(at, standard, here, "a redox solution", "a pH buffer"));
            None
        }
    }
}

fn wrong(at: &At<'_>, standard: &Standard, here: &Here<'_>, is: &str, due: &str) -> Problem {
    let fitting = here.head.kit.standards.iter().filter(|other| is_buffer(other) != is_buffer(standard));
    let names = few(fitting.map(|other| other.name.text.as_str()));
    let quantity = here.quantity.map_or("", LoopQuantity::word);
    Problem::error(
        "wrong-standard",
        &at.place(),
        format!("{} is {is}, and {} is a {quantity} loop", lot(standard), here.tag),
        format!("a {quantity} loop is checked in {due}"),
        match names.is_empty() {
            true => format!("declare {due} in the kit and name it here"),
            false => format!("name {due}: {names}; or correct the quantity of the loop"),
        },
    )
}

/// A standard in a sentence: short name and lot.
pub(super) fn lot(standard: &Standard) -> String {
    match &standard.lot {
        Some(lot) => format!("`{}` (lot {})", standard.name.text, lot.text),
        None => format!("`{}`", standard.name.text),
    }
}

fn undeclared<'a>(at: &At<'_>, what: &str, name: &str, declared: impl Iterator<Item = &'a str>) -> Problem {
    let names: Vec<&str> = declared.collect();
    let all = few(names.iter().copied());
    let fix = match (nearest(name, names.iter().copied()), names.is_empty()) {
        (Some(near), _) => format!("did you mean `{near}`? Declared are: {all}"),
        (None, false) => format!("name one of {all}, or declare `{name}` under `{what}s:`"),
        (None, true) => format!("declare it under `{what}s:`, or name a kit file with `kit:`"),
    };
    Problem::error(
        match what {
            "standard" => "unknown-standard",
            _ => "unknown-instrument",
        },
        &at.place(),
        format!("no {what} `{name}` is declared"),
        "a result is traced to a lot or an instrument (capital and small letters differ)",
        fix,
    )
}

/// The instrument of a reading that `at` names: its position in the kit.
pub(super) fn instrument(at: &At<'_>, here: &Here<'_>) -> Option<usize> {
    let name = at.text()?;
    let kit = &here.head.kit;
    let Some(position) = kit.instrument(&name.text) else {
        if here.head.kit_known && !kit.is_unusable(&name.text) && !at.is_full() {
            let names = kit.instruments.iter().map(|instrument| instrument.name.text.as_str());
            at.tell(undeclared(at, "instrument", &name.text, names));
        }
        return None;
    };
    let measures = kit.instruments[position].measures;
    match measures {
        Measurand::Temperature | Measurand::Potential | Measurand::Ph => Some(position),
        Measurand::Current | Measurand::Resistance => {
            at.tell(Problem::error(
                "wrong-instrument",
                &at.place(),
                format!("`{}` measures {}", name.text, measures.word()),
                "a reading in a standard is taken with a thermometer and a potential or pH meter",
                "name one of these, or correct what the instrument `measures:`",
            ));
            None
        }
    }
}

/// Tells when a standard has no value at a temperature.
pub(super) fn temperature(at: &At<'_>, standard: usize, temperature: &Measured<Celsius>, here: &Here<'_>) {
    let standard = &here.head.kit.standards[standard];
    let t = temperature.value;
    let out = match &standard.kind {
        StandardKind::Buffer(value) => value.ph(t).err(),
        StandardKind::Redox(value) => {
            // Without a known reference electrode only the solution's own range can be asked.
            let against = here.reference.unwrap_or(value.against());
            match value.mv(t, against).err() {
                Some(RedoxError::Solution(out)) => Some(out),
                Some(RedoxError::Electrode(electrode)) => {
                    at.tell(electrode_range(temperature, electrode.electrode.name(), electrode.out_of_range.range));
                    None
                }
                // The kit file was told of it at the standard itself.
                Some(RedoxError::QuinhydroneTooAlkaline { .. }) | None => None,
            }
        }
    };
    if let Some(OutOfRange { range, .. }) = out {
        at.tell(outside(temperature, standard, range));
    }
}

fn outside(temperature: &Measured<Celsius>, standard: &Standard, range: Range) -> Problem {
    let (from, to) = (range.from_c, range.to_c);
    let inside = |t: f64| (from..=to).contains(&t);
    let t = temperature.value;
    let is_bare = temperature.text.ends_with(|c: char| c.is_ascii_digit());
    let meant = if is_bare && inside(t - 273.15) {
        format!("with its unit if it is in kelvin: `{} K`", temperature.text)
    } else if is_bare && inside((t - 32.0) / 1.8) {
        format!("with its unit if it is in °F: `{} °F`", temperature.text)
    } else if is_bare && inside(t / 10.0) && t > 0.0 {
        format!("the decimal point, if it is missing: `{}`", t / 10.0)
    } else {
        "the temperature as read, in °C".to_owned()
    };
    Problem::error(
        "temperature-outside-standard",
        &temperature.place,
        format!("`{}` in {}", temperature.text, lot(standard)),
        format!("its values are known from {from} °C to {to} °C, and none is extrapolated"),
        format!("write {meant}; a reading outside the range is repeated with the standard at {from} °C to {to} °C"),
    )
}

fn electrode_range(temperature: &Measured<Celsius>, electrode: &str, range: Range) -> Problem {
    Problem::error(
        "temperature-outside-electrode",
        &temperature.place,
        format!("`{}` with the reference electrode {electrode}", temperature.text),
        format!("its potential is published from {} °C to {} °C, and none is extrapolated", range.from_c, range.to_c),
        "write the temperature as read, in °C; a reading outside the range is repeated inside it",
    )
}

/// pH of a buffer of the kit at a temperature, where it is known.
pub(super) fn ph(kit: &Kit, standard: usize, temperature_c: f64) -> Option<f64> {
    match &kit.standards[standard].kind {
        StandardKind::Buffer(value) => value.ph(temperature_c).ok(),
        StandardKind::Redox(_) => None,
    }
}

/// How the lots in use and the instruments stand on the day of the work.
pub(super) fn on_the_day(head: &Head) -> Vec<Problem> {
    let Some(started) = &head.started else {
        return Vec::new();
    };
    let day = started.instant.date_naive();
    let mut problems = Vec::new();
    let used = head.used.borrow();
    for standard in used.iter().map(|position| &head.kit.standards[*position]) {
        let name = lot(standard);
        if let Some(expires) = standard.expires.as_ref().filter(|expires| expires.date < day) {
            problems.push(
                Problem::warning(
                    "lot-expired",
                    &expires.place,
                    format!("{name} expired on {}, before the work on {day}", expires.date),
                    "the value of a standard past its date is not assured",
                    "correct the date if it was misread; else repeat with a fresh lot, or accept it with the reason",
                )
                .about([
                    ("standard", Fact::text(&standard.name.text)),
                    ("expires", Fact::time(expires.date.to_string())),
                    ("day", Fact::time(day.to_string())),
                ]),
            );
        }
        if let Some(opened) = standard.opened.as_ref().filter(|opened| opened.date > day) {
            problems.push(Problem::error(
                "lot-opened-after-visit",
                &opened.place,
                format!("{name} was opened on {}, after the work on {day}", opened.date),
                "a bottle cannot be used before it is opened",
                "correct the date, or name the lot that was used",
            ));
        }
    }
    for instrument in &head.kit.instruments {
        let name = &instrument.name.text;
        if let Some(due) = instrument.due.as_ref().filter(|due| due.date < day) {
            problems.push(
                Problem::warning(
                    "instrument-past-due",
                    &due.place,
                    format!("the calibration of `{name}` ran out on {}, before the work on {day}", due.date),
                    "readings of an instrument past its date are not assured",
                    "correct the date, or accept it with the reason; remove an instrument that was not used",
                )
                .about([
                    ("instrument", Fact::text(name)),
                    ("due", Fact::time(due.date.to_string())),
                    ("day", Fact::time(day.to_string())),
                ]),
            );
        }
        if let Some(calibrated) = instrument.calibrated.as_ref().filter(|date| date.date > day) {
            problems.push(Problem::error(
                "instrument-calibrated-after-visit",
                &calibrated.place,
                format!("`{name}` was calibrated on {}, after the work on {day}", calibrated.date),
                "a later calibration does not vouch for an earlier reading",
                "give the calibration that was in force on the day of the work",
            ));
        }
    }
    problems
}

fn is_buffer(standard: &Standard) -> bool {
    match standard.kind {
        StandardKind::Buffer(_) => true,
        StandardKind::Redox(_) => false,
    }
}
