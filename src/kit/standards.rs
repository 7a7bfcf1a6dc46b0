//! Standards of the kit: one lot of a buffer or redox solution each.

mod buffer;
mod redox;

use super::{Certified, Standard, StandardKind, coverage_factor, expanded_uncertainty};
use crate::problem::{Fact, Problem};
use crate::quantity::{Date, Measured, Millivolt, Ph, Plain};
use crate::reference::buffers::BufferValue;
use crate::yaml::{At, Keys, Text};

/// What a standard is: the part of it that `buffer:` or `redox:` tells.
struct Told {
    kind: StandardKind,
    label: Option<Text>,
    certified: Option<Certified>,
    quinhydrone_in: Option<Text>,
}

/// A short name of the file and what it stands for.
type Declared<'a> = (&'a str, Entry<'a>);

/// What a short name stands for when quinhydrone names it.
enum Entry<'a> {
    /// A buffer.
    Buffer(&'a BufferValue),
    /// A redox solution.
    Redox,
    /// An entry with problems, told at its own place.
    Faulty,
}

/// Reads the mapping `standards`: the valid ones, and the short names of the others.
pub(super) fn check(at: &At<'_>) -> (Vec<Standard>, Vec<String>) {
    let Some(mut keys) = at.keys("standards by short name like `B7: {buffer: phosphate, lot: …}`") else {
        return Default::default();
    };
    let entries = keys.entries();
    keys.finish();
    // Quinhydrone is stirred into a buffer of the kit, which may stand below it: it is read after the others.
    let first: Vec<Option<Standard>> =
        entries.iter().map(|(name, at)| if waits(at) { None } else { standard(name, at, &[]) }).collect();
    let pairs = entries.iter().zip(&first);
    let declared: Vec<Declared> =
        pairs.map(|((name, at), read)| (name.text.as_str(), entry(at, read.as_ref()))).collect();
    let (mut standards, mut faulty) = (Vec::new(), Vec::new());
    for ((name, at), read) in entries.iter().zip(&first) {
        let valid = if waits(at) { standard(name, at, &declared) } else { read.clone() };
        match valid {
            Some(standard) => standards.push(standard),
            None => faulty.push(name.text.clone()),
        }
    }
    (standards, faulty)
}

/// Whether the entry is quinhydrone in a buffer.
fn waits(at: &At<'_>) -> bool {
    let redox = at.is_mapping().then(|| at.keys("a standard")?.get("redox")).flatten();
    redox.is_some_and(|redox| redox.raw() == Some("quinhydrone"))
}

fn entry<'a>(at: &At<'_>, read: Option<&'a Standard>) -> Entry<'a> {
    match read.map(|standard| &standard.kind) {
        Some(StandardKind::Buffer(buffer)) => Entry::Buffer(buffer),
        Some(StandardKind::Redox(_)) => Entry::Redox,
        None if waits(at) => Entry::Redox,
        None => Entry::Faulty,
    }
}

fn standard(name: &Text, at: &At<'_>, declared: &[Declared<'_>]) -> Option<Standard> {
    let mut keys = at.keys("a standard (buffer or redox, maker, lot, expires …)")?;
    let told = told(&mut keys, declared);
    let is_redox = keys.get("redox").is_some();
    let maker = keys.get("maker").and_then(|at| at.text());
    let lot = keys.get("lot").and_then(|at| at.text());
    let expires = keys.get("expires").and_then(|at| at.expiry());
    let opened = keys.get("opened").and_then(|at| opened(&at, expires.as_ref()));
    let certificate = keys.get("certificate").and_then(|at| at.text());
    let expanded_uncertainty: Option<Measured<Plain>> = match is_redox {
        true => expanded_uncertainty::<Millivolt>(&mut keys),
        false => expanded_uncertainty::<Ph>(&mut keys),
    };
    let coverage_factor = coverage_factor(&mut keys);
    keys.finish();
    let Told { kind, label, certified, quinhydrone_in } = told?;
    Some(Standard {
        name: name.clone(),
        kind,
        label,
        certified,
        quinhydrone_in,
        maker,
        lot,
        expires,
        opened,
        certificate,
        expanded_uncertainty,
        coverage_factor,
    })
}

/// Reads `buffer` or `redox` and the keys that belong to it.
fn told(keys: &mut Keys<'_>, declared: &[Declared<'_>]) -> Option<Told> {
    let (buffer, redox) = (keys.get("buffer"), keys.get("redox"));
    let (value, value_at, inside) = (keys.get("value"), keys.get("at"), keys.get("in"));
    match (buffer, redox) {
        (Some(buffer), None) => {
            if let Some(inside) = inside {
                inside.tell(misplaced(
                    &inside,
                    "in",
                    "names the buffer that quinhydrone is stirred into; this standard is a buffer",
                ));
            }
            buffer::read(&buffer, value.as_ref(), value_at.as_ref())
        }
        (None, Some(redox)) => {
            for (key, at) in [("value", value), ("at", value_at)] {
                let Some(at) = at else { continue };
                let why =
                    "stands inside `redox: {name: …, value: …, at: …, against: …}`, for a bottle with its own value";
                at.tell(misplaced(&at, key, why));
            }
            redox::read(&redox, inside.as_ref(), declared)
        }
        (Some(_), Some(redox)) => {
            redox.tell(Problem::error(
                "buffer-and-redox",
                &redox.place(),
                "found `buffer:` and `redox:` in one standard",
                "a bottle is a pH buffer or a redox solution",
                "keep the one that it is; quinhydrone names its buffer with `in:`, like {redox: quinhydrone, in: B7}",
            ));
            None
        }
        (None, None) if keys.at().holds("buffer") || keys.at().holds("redox") => None,
        (None, None) => {
            keys.at().tell(Problem::error(
                "standard-without-kind",
                &keys.at().place(),
                "found neither `buffer:` nor `redox:`",
                "the value of a standard at the temperature of a reading follows from what it is",
                "add `buffer: phosphate` (or another buffer), or `redox: zobell` (or another solution)",
            ));
            None
        }
    }
}

fn misplaced(at: &At<'_>, key: &str, why: &str) -> Problem {
    let found = at.raw().map_or_else(|| format!("found `{key}:`"), |raw| format!("found `{key}: {raw}`"));
    Problem::error("standard-key", &at.place(), found, format!("`{key}` {why}"), format!("remove `{key}:` here"))
}

fn opened(at: &At<'_>, expires: Option<&Date>) -> Option<Date> {
    let opened = at.date()?;
    if let Some(expires) = expires.filter(|expires| opened.date > expires.date) {
        at.tell(
            Problem::warning(
                "opened-after-expiry",
                &opened.place,
                format!("found opened {}, expires {}", opened.text, expires.text),
                "the lot was past its date when it was opened, or one of the dates is wrong",
                "write both dates as on the bottle, year first",
            )
            .about([
                ("opened", Fact::time(opened.date.to_string())),
                ("expires", Fact::time(expires.date.to_string())),
            ]),
        );
    }
    Some(opened)
}

#[cfg(test)]
mod tests {
    use crate::kit::tests::{of_standard, refused, warned};

    #[test]
    fn a_standard_is_a_buffer_or_a_redox_solution() {
        let fix = "keep the one that it is; quinhydrone names its buffer with `in:`, like {redox: quinhydrone, in: B7}";
        assert_eq!(of_standard("{buffer: borax, redox: light}"), refused("buffer-and-redox", 24, fix));
        let fix = "add `buffer: phosphate` (or another buffer), or `redox: zobell` (or another solution)";
        assert_eq!(of_standard("{lot: a}"), refused("standard-without-kind", 1, fix));
    }

    #[test]
    fn keys_of_the_other_kind_are_told() {
        assert_eq!(of_standard("{buffer: borax, in: B7}"), refused("standard-key", 21, "remove `in:` here"));
        assert_eq!(of_standard("{redox: zobell, in: B7}"), refused("standard-key", 21, "remove `in:` here"));
        let told = of_standard("{redox: zobell, value: 428 mV, at: 25 °C}");
        let codes: Vec<_> = told.iter().map(|p| (p.1, p.3, p.4.as_str())).collect();
        assert_eq!(codes, [("standard-key", 24, "remove `value:` here"), ("standard-key", 36, "remove `at:` here")]);
    }

    #[test]
    fn opened_after_expiry_is_a_warning() {
        let told = of_standard("{buffer: borax, expires: 2026-03, opened: 2026-04-01}");
        assert_eq!(told, warned("opened-after-expiry", 43, "write both dates as on the bottle, year first"));
        assert_eq!(of_standard("{buffer: borax, expires: 2026-03, opened: 2026-03-31}"), []);
    }

    #[test]
    fn a_misspelt_key_is_told_with_the_key_meant() {
        let told = of_standard("{buffer: borax, batch: 7, lott: 7}");
        assert_eq!((told[0].1, told[0].3), ("unknown-key", 17));
        assert_eq!((told[1].1, told[1].3, told[1].4.as_str()), ("unknown-key", 27, "did you mean `lot`?"));
    }
}
