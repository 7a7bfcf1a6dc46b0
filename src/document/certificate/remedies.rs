//! What was done: the ladder of what it gained, every remedy in full, and the caution where one can be hurt.

use super::{Sheet, assessment};
use crate::document::Block;
use crate::document::chart::{LadderFacts, Rung, ladder as draw, limit_of};
use crate::document::print::{ended, joined, led, plain};
use crate::engine::diagnosis::Hazard;
use crate::record::{Figures, Quantity, RemedyRecord, Stage};
use crate::rounding::prose;

/// Heading with the ladder, or with words where no figure is known.
pub(super) fn ladder(sheet: &Sheet) -> Vec<Block> {
    if sheet.is_untouched() {
        return Vec::new();
    }
    let facts = ladder_facts(sheet);
    let measured = facts.rungs.iter().filter(|rung| rung.value.is_some()).count();
    let figure = match measured > 1 {
        true => draw(&sheet.print, &facts),
        false => None,
    };
    if let Some(figure) = figure {
        return vec![sheet.heading("done-and-gained"), Block::Figure(figure)];
    }
    let mut done: Vec<_> = sheet
        .record
        .remedies
        .iter()
        .map(|remedy| {
            let detail = detail(sheet, remedy);
            led(word(sheet, remedy), detail)
        })
        .collect();
    if sheet.record.measuring_loop.adjusted {
        done.push(plain(sheet.label("adjusted-sentence")));
    }
    if sheet.record.measuring_loop.standardised.is_some() {
        done.push(plain(sheet.label("set-sentence")));
    }
    vec![sheet.heading("done"), Block::List(done)]
}

fn word(sheet: &Sheet, remedy: &RemedyRecord) -> String {
    sheet.print.word("remedy", &remedy.remedy)
}

/// With what and how long; for `other` the note says what it was.
fn detail(sheet: &Sheet, remedy: &RemedyRecord) -> String {
    let solution = remedy.solution.as_deref().map(prose);
    let lasted = remedy.lasted.as_ref().map(|lasted| sheet.print.typed(lasted, "s"));
    let serial = remedy.probe.as_ref().and_then(|probe| probe.serial.as_ref());
    let serial = serial.map(|serial| sheet.print.say("serial", &[("serial", serial)]));
    let note = remedy.note.as_deref().filter(|_| remedy.remedy == "other");
    joined([note.map(prose), solution, lasted, serial])
}

fn ladder_facts(sheet: &Sheet) -> LadderFacts {
    let record = sheet.record;
    let found = Rung {
        word: sheet.label("state-found-title"),
        detail: match record.as_found.not_obtained {
            Some(_) => sheet.label("not-obtained"),
            None => String::new(),
        },
        value: value(sheet, &record.as_found.figures),
        new_probe: false,
        stage: Stage::AsFound,
    };
    let mut rungs = vec![found];
    // A new probe stays new until it is first read.
    let mut new_probe = false;
    for remedy in &record.remedies {
        new_probe |= remedy.probe.is_some();
        let value = remedy.after.as_ref().and_then(|after| value(sheet, after));
        rungs.push(Rung {
            word: word(sheet, remedy),
            detail: detail(sheet, remedy),
            value,
            new_probe,
            stage: Stage::AsLeft,
        });
        new_probe &= value.is_none();
    }
    let left = record.as_left.as_ref().and_then(|left| value(sheet, &left.figures));
    let last = rungs.iter().rev().find_map(|rung| rung.value);
    let is_news = match (left, last) {
        (Some(left), Some(last)) => (left - last).abs() > 1e-9,
        (left, _) => left.is_some(),
    };
    if is_news {
        rungs.push(Rung {
            word: sheet.label("state-left-title"),
            detail: match record.measuring_loop.adjusted {
                true => sheet.label("after-adjustment"),
                false => String::new(),
            },
            value: left,
            new_probe,
            stage: Stage::AsLeft,
        });
    }
    let (unit, criterion) = match record.quantity {
        Quantity::Ph => ("%", "slope"),
        Quantity::Redox => ("mV", "as_left_error"),
    };
    LadderFacts {
        rungs,
        unit,
        decimals: usize::from(sheet.is_ph()),
        limit: limit_of(record, criterion),
        signed: !sheet.is_ph(),
        title: sheet.label(match record.quantity {
            Quantity::Ph => "ladder-slope",
            Quantity::Redox => "ladder-error",
        }),
    }
}

/// pH: slope in percent. Redox: the largest error in mV.
fn value(sheet: &Sheet, figures: &Figures) -> Option<f64> {
    match sheet.record.quantity {
        Quantity::Ph => figures.slope_percent,
        Quantity::Redox => {
            let errors = figures.readings.iter().filter_map(|reading| reading.error_mv);
            errors.max_by(|a, b| a.abs().total_cmp(&b.abs()))
        }
    }
}

/// Remedies about which there is more to say than the first part shows: what they did, and what was written down.
pub(super) fn in_full(sheet: &Sheet) -> Vec<Block> {
    let more = |remedy: &RemedyRecord| {
        let texts = [&remedy.note, &remedy.at, &remedy.by, &remedy.old_probe, &remedy.reason];
        remedy.effect.is_some() || texts.into_iter().any(Option::is_some)
    };
    if !sheet.record.remedies.iter().any(more) {
        return Vec::new();
    }
    let told = |(step, remedy): (usize, &RemedyRecord)| {
        let print = &sheet.print;
        let by = remedy.by.as_ref().map(|by| print.say("by-whom", &[("name", by)]));
        let old = remedy.old_probe.as_ref().map(|word| print.word("old-probe", word));
        let note = remedy.note.as_deref().filter(|_| remedy.remedy != "other");
        let text = joined([
            assessment::effect(sheet, remedy),
            Some(detail(sheet, remedy)),
            remedy.at.as_ref().map(|at| print.clock(at)),
            by,
            old,
            remedy.reason.as_deref().map(prose),
            note.map(prose),
        ]);
        led(format!("{step} {}", word(sheet, remedy)), ended(text))
    };
    let list = (1..).zip(&sheet.record.remedies).filter(|(_, remedy)| more(remedy)).map(told).collect();
    vec![sheet.heading("done-in-full"), Block::List(list)]
}

/// One caution where acid, bleach, glass or wiring was handled, or advice that is still open speaks of them; it defers to
/// data sheet, site rules and licensed practice.
pub(super) fn caution(sheet: &Sheet) -> Option<Block> {
    let did = |words: &[&str]| {
        let mut remedies = sheet.record.remedies.iter();
        remedies.any(|remedy| words.contains(&remedy.remedy.as_str()))
    };
    let with = |words: &[&str]| {
        let solutions = sheet.record.remedies.iter().filter_map(|remedy| remedy.solution.as_deref());
        let mut solutions = solutions.map(str::to_lowercase);
        solutions.any(|solution| words.iter().any(|word| solution.contains(word)))
    };
    let advised = assessment::advised(sheet);
    let may = |hazard: Hazard| advised.contains(&hazard);
    let standard = |kind: &str| sheet.record.standards.iter().any(|standard| standard.kind.starts_with(kind));
    let acid =
        did(&["acid soak", "pepsin soak"]) || with(&["acid", "hcl", "hno3", "h2so4", "h3po4"]) || may(Hazard::Acid);
    let bleach = did(&["disinfected with bleach"]) || with(&["bleach", "hypochlorite", "naocl"]);
    let glass = did(&["cleaned with detergent and soft brush", "wiped", "probe replaced"]) || may(Hazard::Glass);
    let wiring = did(&[
        "cable replaced",
        "wiring corrected",
        "earthing corrected",
        "analyser replaced",
        "temperature element replaced",
    ]);
    let sentences = [
        (acid, "caution-acid"),
        (bleach, "caution-bleach"),
        (acid || bleach || glass, "caution-glass"),
        (standard("zobell") || may(Hazard::Solutions), "caution-zobell"),
        (standard("light") || may(Hazard::Solutions), "caution-light"),
        (wiring || may(Hazard::Wiring), "caution-wiring"),
        (may(Hazard::Control), "caution-control"),
    ];
    let sentences = sentences.into_iter().filter(|(applies, _)| *applies);
    let mut text: Vec<String> = sentences.map(|(_, key)| sheet.label(key)).collect();
    if text.is_empty() {
        return None;
    }
    text.push(sheet.label("caution-defer"));
    Some(Block::Caution(led(sheet.label("caution"), text.join(" "))))
}
