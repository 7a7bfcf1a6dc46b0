//! The remedies of a loop, in the order performed.

use super::loops::Here;
use super::{OldProbe, Remedy, RemedyKind, identity, readings};
use crate::client::{self, LoopQuantity, Probe};
use crate::problem::{Fact, Problem};
use crate::reference::electrodes::ReferenceElectrode;
use crate::yaml::At;

/// Reads the remedies; `found` is the probe found in the loop. Later readings are those of a new probe.
pub(super) fn check(at: &At<'_>, found: &Option<Probe>, here: &mut Here<'_>) -> Vec<Remedy> {
    let entries = at.list("remedies").unwrap_or_default();
    let mut serial = found.as_ref().and_then(|probe| probe.device.serial.as_ref()).map(|text| text.text.clone());
    let mut done: Vec<Remedy> = Vec::with_capacity(entries.len());
    for at in &entries {
        let Some(remedy) = remedy(at, serial.as_deref(), here) else {
            continue;
        };
        if let Some(new) = remedy.probe.as_ref().and_then(|probe| probe.device.serial.as_ref()) {
            serial = Some(new.text.clone());
        }
        if let Some(before) = done.last() {
            acid_and_bleach(at, before, &remedy);
        }
        done.push(remedy);
    }
    done
}

fn remedy(at: &At<'_>, old_serial: Option<&str>, here: &mut Here<'_>) -> Option<Remedy> {
    let mut keys = at.keys("a remedy")?;
    let kind_at = keys.need("remedy", "the record says what was done");
    let kind = kind_at.as_ref().and_then(|at| at.word("a remedy", RemedyKind::WORDS));
    let solution = keys.get("solution").and_then(|at| at.text());
    let lasted = keys.get("lasted").and_then(|at| readings::lasted(&at));
    let time = keys.get("at").and_then(|at| here.head.moment(&at, here.files));
    let note_at = keys.get("note");
    let note = note_at.as_ref().and_then(|at| at.text());
    let by = keys.get("by").and_then(|at| here.head.technician(&at));
    let probe_at = keys.get("probe");
    let probe = probe_at.as_ref().and_then(client::probe);
    let old_at = keys.get("old_probe");
    let old_probe = old_at.as_ref().and_then(|at| at.word("the fate of the old probe", OldProbe::WORDS));
    let reason = keys.get("reason").and_then(|at| at.text());
    match kind {
        Some(RemedyKind::ProbeReplaced) => replaced(at, probe_at.as_ref(), probe.as_ref(), old_serial, here),
        Some(other) => {
            for at in [&probe_at, &old_at].into_iter().flatten() {
                at.tell(without_replacement(at, other));
            }
        }
        None => {}
    }
    if kind == Some(RemedyKind::Other) && note_at.is_none() {
        keys.need("note", "`other` says nothing by itself: the note says what was done");
    }
    if kind == Some(RemedyKind::MetalPolished) && here.quantity == Some(LoopQuantity::Ph) {
        at.tell(polished_glass(kind_at.as_ref().unwrap_or(at)));
    }
    let readings = match keys.get("readings") {
        Some(at) => readings::list(&at, false, here),
        None => Some(Vec::new()),
    };
    here.finish(keys);
    let remedy = Remedy {
        place: at.place(),
        kind: kind?,
        solution,
        lasted,
        at: time,
        note,
        by,
        probe,
        old_probe,
        reason,
        readings: readings?,
    };
    hydrofluoric(at, &remedy);
    ammonia(at, &remedy);
    Some(remedy)
}

/// A replacement names the new probe by a serial of its own; what is read later is read against its reference electrode.
fn replaced(at: &At<'_>, probe_at: Option<&At<'_>>, probe: Option<&Probe>, old: Option<&str>, here: &mut Here<'_>) {
    let serial = probe.and_then(|probe| probe.device.serial.as_ref());
    let (Some(probe), Some(serial)) = (probe, serial) else {
        if probe_at.map_or_else(|| at.holds("probe"), |at| at.holds("serial")) {
            return;
        }
        let place = probe_at.map_or_else(|| at.place(), |at| at.place());
        at.tell(Problem::error(
            "replacement-without-serial",
            &place,
            "`probe replaced` without the serial of the new probe",
            "readings after it belong to the new probe, known by its serial",
            "add the new probe: `probe: {serial: …}`",
        ));
        return;
    };
    if old == Some(&serial.text) {
        at.tell(Problem::error(
            "replaced-by-itself",
            &serial.place,
            format!("the new probe `{}` has the serial of the old one", serial.text),
            "two probes have two serials",
            "`probe:` of the loop is the probe found, this is the new one: correct the wrong one; if the probe was only \
             taken out and put back, remove this remedy",
        ));
    }
    if here.quantity == Some(LoopQuantity::Redox) {
        identity::reference_of(at, probe);
        here.reference = probe.reference.as_ref().and_then(|name| ReferenceElectrode::from_name(&name.text));
    }
}

fn without_replacement(at: &At<'_>, kind: RemedyKind) -> Problem {
    Problem::error(
        "probe-without-replacement",
        &at.place(),
        format!("a probe at the remedy `{}`", kind.word()),
        "only a replacement changes the probe of the loop",
        "write `remedy: probe replaced`, or remove the key",
    )
}

fn polished_glass(at: &At<'_>) -> Problem {
    Problem::error(
        "glass-polished",
        &at.place(),
        "`metal polished` in a pH loop",
        "only the metal of a redox probe is polished: abrasives ruin a glass membrane, which is thin and cuts when it breaks",
        "write what was done, or correct the quantity of the loop; a metal pH electrode (antimony) is accepted with the reason",
    )
    .acceptable()
}

/// Whether an acid was used: by the remedy's word or by the solution named.
fn is_acid(remedy: &Remedy) -> bool {
    matches!(remedy.kind, RemedyKind::AcidSoak | RemedyKind::PepsinSoak) || says(remedy, &["hcl", "acid", "thiourea"])
}

/// Whether a hypochlorite was used.
fn is_bleach(remedy: &Remedy) -> bool {
    remedy.kind == RemedyKind::Bleach || says(remedy, &["bleach", "hypochlorite", "naocl"])
}

fn says(remedy: &Remedy, words: &[&str]) -> bool {
    let solution = remedy.solution.as_ref().map_or_else(String::new, |text| text.text.to_lowercase());
    words.iter().any(|word| solution.contains(word))
}

/// Acid on bleach, or bleach on acid, without rinsing between.
fn acid_and_bleach(at: &At<'_>, before: &Remedy, after: &Remedy) {
    let mixes = is_acid(before) && is_bleach(after) || is_bleach(before) && is_acid(after);
    if mixes {
        at.tell(Problem::warning(
            "acid-and-bleach",
            &after.place,
            format!("`{}` directly after `{}`", after.kind.word(), before.kind.word()),
            "acid and bleach give off chlorine, which is poisonous: never mixed, never one on the rest of the other",
            "record the rinsing between if there was any (`remedy: rinsed`); the safety data sheets and the site's rules decide",
        ).about([("after", Fact::word("remedy", after.kind.word())), ("before", Fact::word("remedy", before.kind.word()))]));
    }
}

/// Hydrofluoric acid and its salts, wherever a remedy names them.
fn hydrofluoric(at: &At<'_>, remedy: &Remedy) {
    for text in [&remedy.solution, &remedy.note, &remedy.reason].into_iter().flatten() {
        if names_hydrofluoric(&text.text) {
            at.tell(Problem::warning(
                "hydrofluoric-acid",
                &text.place,
                format!("`{}` names hydrofluoric acid or a fluoride", text.text),
                "it passes the skin and harms hours later, even when dilute: for trained people on an equipped site only",
                "the fact is kept as recorded; anybody touched by it needs medical help at once; follow the safety data sheet \
                 and the site's rules",
            ).about([("text", Fact::text(&text.text))]));
            return;
        }
    }
}

/// Ammonia as an agent: kept as recorded, never advised.
fn ammonia(at: &At<'_>, remedy: &Remedy) {
    let named = says(remedy, &["ammonia", "ammonium hydroxide", "nh4oh", "nh3"]);
    if let Some(text) = remedy.solution.as_ref().filter(|_| named) {
        at.tell(Problem::warning(
            "ammonia-used",
            &text.place,
            format!("`{}` names ammonia", text.text),
            "strong ammonia harms lungs and eyes, gives off poisonous gas with bleach, and attacks glass and reference",
            "the fact is kept as recorded; detergent or dilute acid is the usual way; the safety data sheet and the site's \
             rules decide",
        ).about([("text", Fact::text(&text.text))]));
    }
}

fn names_hydrofluoric(text: &str) -> bool {
    let lower = text.to_lowercase();
    let has_word = |word: &str| text.split(|c: char| !c.is_alphanumeric()).any(|part| part == word);
    ["hydrofluoric", "bifluoride", "hydrogen fluoride", "ammonium fluoride", "sodium fluoride"]
        .iter()
        .any(|name| lower.contains(name))
        || ["HF", "NaF", "NH4F", "NH4HF2"].iter().any(|word| has_word(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hydrofluoric_acid_is_found_under_its_names() {
        for text in ["5 % HF", "ammonium bifluoride", "Hydrofluoric acid", "NH4HF2 paste", "etched (HF)"] {
            assert!(names_hydrofluoric(text), "{text}");
        }
        for text in ["0.1 mol/L HCl", "half an hour", "fluoride probe kept apart", "HFX-20 cleaner"] {
            assert!(!names_hydrofluoric(text), "{text}");
        }
    }
}
