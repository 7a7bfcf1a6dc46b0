//! The checks of one state: standard, temperature, output, sample, resistances.

use super::loops::Here;
use super::{
    Check, Checks, OutputCheck, Reading, ResistanceCheck, SampleCheck, StandardCheck, TemperatureCheck, readings,
    standards,
};
use crate::client::LoopQuantity;
use crate::problem::{Fact, Problem};
use crate::quantity::{Celsius, Measured, Milliampere, Moment, Ohm};
use crate::yaml::{At, Keys};

/// Reads the mapping `checks`; `readings` are those of the same state.
pub(super) fn check(at: &At<'_>, readings: Option<&[Reading]>, here: &Here<'_>) -> Checks {
    let Some(mut keys) = at.keys("checks") else {
        return Checks::default();
    };
    let checks = Checks {
        standard: keys.get("standard").and_then(|at| done(&at, here, |at| standard(at, readings, here))),
        temperature: keys.get("temperature").and_then(|at| done(&at, here, |at| each(at, here, temperature))),
        output: keys.get("output").and_then(|at| done(&at, here, |at| each(at, here, output))),
        sample: keys.get("sample").and_then(|at| done(&at, here, |at| sample(at, here))),
        glass_resistance: keys.get("glass_resistance").and_then(|at| {
            no_glass(&at, here);
            done(&at, here, |at| resistance(at, here))
        }),
        reference_resistance: keys
            .get("reference_resistance")
            .and_then(|at| done(&at, here, |at| resistance(at, here))),
    };
    here.finish(keys);
    checks
}

/// A check that was made, or `{not_done: reason}`.
fn done<'t, T>(at: &At<'t>, here: &Here<'_>, read: impl FnOnce(&At<'t>) -> Option<T>) -> Option<Check<T>> {
    let not_done = match at.is_mapping() {
        true => at.keys("a check").and_then(|mut keys| keys.get("not_done").map(|reason| (keys, reason))),
        false => None,
    };
    let Some((keys, reason)) = not_done else {
        return read(at).map(Check::Done);
    };
    let reason = readings::reason(&reason);
    here.finish(keys);
    reason.map(Check::NotDone)
}

/// A list of checks of one kind, none of them empty.
fn each<T>(at: &At<'_>, here: &Here<'_>, read: fn(&At<'_>, &Here<'_>) -> Option<T>) -> Option<Vec<T>> {
    let entries = at.list("checks")?;
    if entries.is_empty() {
        at.tell(Problem::error(
            "check-empty",
            &at.place(),
            "an empty list of checks",
            "a check that was not made has a reason",
            "give the values, or `{not_done: reason}`, or leave the key out",
        ));
        return None;
    }
    if let Some(entry) = entries.iter().find(|entry| entry.is_mapping() && entry.holds("not_done")) {
        let key = at.path().rsplit('.').next().unwrap_or_default();
        let reason = entry.keys("a check").and_then(|mut keys| keys.get("not_done")?.raw()).unwrap_or("reason");
        at.tell(Problem::error(
            "not-done-in-list",
            &entry.place(),
            "`not_done` stands inside the list of checks",
            "it is said of the check as a whole, in place of the list",
            format!("write `{key}: {{not_done: {reason}}}`, without brackets; beside checks that were made, delete this entry"),
        ));
        return None;
    }
    let all: Vec<Option<T>> = entries.iter().map(|at| read(at, here)).collect();
    all.into_iter().collect()
}

fn standard(at: &At<'_>, readings: Option<&[Reading]>, here: &Here<'_>) -> Option<StandardCheck> {
    let mut keys = at.keys("a check in a standard")?;
    let in_at = keys.need("in", "the standard that was not used to calibrate");
    let standard = in_at.as_ref().and_then(|at| standards::named(at, here));
    let why = match at.holds("shown") {
        false if keys.get("mv").is_some() => {
            "the check compares the value shown with the standard; a potential (`mv`) belongs to a reading"
        }
        _ => "the check compares the value shown with the standard",
    };
    let shown = keys.need("shown", why).and_then(|at| here.shown(&at));
    let temperature_at = keys.need("temperature", "the value of a standard depends on it");
    let temperature = temperature_at.as_ref().and_then(|at| at.number::<Celsius>());
    here.finish(keys);
    if let (Some(standard), Some(value), Some(at)) = (standard, &temperature, &temperature_at) {
        standards::temperature(at, standard, value, here);
    }
    if let (Some(standard), Some(at)) = (standard, &in_at) {
        independent(at, standard, readings.unwrap_or_default(), here);
    }
    Some(StandardCheck { place: at.place(), standard: standard?, shown: shown?, temperature: temperature? })
}

/// A check standard of the same lot and kind as a calibrating one proves nothing new.
fn independent(at: &At<'_>, standard: usize, readings: &[Reading], here: &Here<'_>) {
    let kit = &here.head.kit;
    let own = &kit.standards[standard];
    let same = |other: usize| {
        let other_standard = &kit.standards[other];
        let same_lot = own.lot.is_some()
            && own.lot.as_ref().map(|lot| &lot.text) == other_standard.lot.as_ref().map(|lot| &lot.text);
        other == standard || same_lot && own.kind == other_standard.kind
    };
    if readings.iter().any(|reading| same(reading.standard)) {
        let problem = Problem::warning(
            "check-not-independent",
            &at.place(),
            format!("{} was used for the readings as well", standards::lot(own)),
            "a check in a calibrating standard repeats its error: it is not independent",
            "check in another standard, or accept it with the reason",
        );
        at.tell(problem.about([("standard", Fact::text(&own.name.text))]));
    }
}

fn temperature(at: &At<'_>, here: &Here<'_>) -> Option<TemperatureCheck> {
    let mut keys = at.keys("a temperature check")?;
    let reference = keys.need("reference", "the reference thermometer").and_then(|at| at.number());
    let shown_at = keys.get("shown");
    let resistance_at = keys.get("resistance");
    if !at.holds("shown") && !at.holds("resistance") {
        at.tell(Problem::error(
            "check-empty",
            &at.place(),
            "a temperature check with neither `shown` nor `resistance`",
            "there is nothing to compare with the reference thermometer",
            "add what the analyser shows, `shown: 21.9`, or the element's resistance, `resistance: 1084.0 Ω`",
        ));
    }
    let shown = shown_at.and_then(|at| at.number());
    let resistance = resistance_at.and_then(|at| positive_ohm(&at));
    here.finish(keys);
    Some(TemperatureCheck { reference: reference?, shown, resistance })
}

fn positive_ohm(at: &At<'_>) -> Option<Measured<Ohm>> {
    let value = at.number::<Ohm>()?;
    if value.value < 0.0 {
        at.tell(Problem::error(
            "negative-resistance",
            &value.place,
            format!("`{}`", value.text),
            "a resistance is not negative",
            "write it as measured: `1084.0 Ω`, `180 MΩ`",
        ));
        return None;
    }
    Some(value)
}

fn output(at: &At<'_>, here: &Here<'_>) -> Option<OutputCheck> {
    let mut keys = at.keys("an output check")?;
    let shown = keys.need("shown", "the output is compared with the value shown").and_then(|at| here.shown(&at));
    let ma_at = keys.get("ma");
    let room_at = keys.get("control_room");
    if !at.holds("ma") && !at.holds("control_room") {
        at.tell(Problem::error(
            "check-empty",
            &at.place(),
            "an output check with neither `ma` nor `control_room`",
            "there is nothing to compare with the value shown",
            "add the current, `ma: 12.01`, or the value in the control room, `control_room: 7.01`",
        ));
    }
    let ma = ma_at.and_then(|at| at.number::<Milliampere>());
    if let Some(ma) = &ma {
        current(at, ma);
    }
    let control_room = room_at.and_then(|at| here.shown(&at));
    let simulated = keys.get("simulated").and_then(|at| at.yes_no()).unwrap_or(false);
    here.finish(keys);
    Some(OutputCheck { shown: shown?, ma, control_room, simulated })
}

/// Currents at the ends of the measuring information, 3.8 mA and 20.5 mA, where an output saturates, and outside it; 3.6 mA
/// and less, 21.0 mA and more are failure signals.
///
/// Source: NAMUR NE 43, signal level for the failure information of digital transmitters (edition 2003), from memory.
fn current(at: &At<'_>, ma: &Measured<Milliampere>) {
    let (case, meaning) = match ma.value {
        value if value.abs() < 0.1 => ("none", "no current: the loop is open or without supply"),
        value if value <= 3.6 => ("failure", "a failure signal (NAMUR NE 43: 3.6 mA or less)"),
        value if value >= 21.0 => ("failure", "a failure signal (NAMUR NE 43: 21.0 mA or more)"),
        value if value <= 3.8 || value >= 20.5 => {
            ("saturated", "saturated: not within the measuring signal (NAMUR NE 43: 3.8 mA to 20.5 mA)")
        }
        _ => return,
    };
    at.tell(Problem::warning(
        "output-current",
        &ma.place,
        format!("an output of `{}`", ma.text),
        meaning,
        "read the current again, and clear the fault of the analyser before the check; else accept it with the reason",
    ).about_case(case, [("current", Fact::typed(&ma.text))]));
}

/// Longest time between taking and measuring a sample for pH.
///
/// Source: 40 CFR 136.3, table II: hydrogen ion (pH), analyse within 15 minutes.
const SAMPLE_MINUTES: i64 = 15;

fn sample(at: &At<'_>, here: &Here<'_>) -> Option<SampleCheck> {
    let mut keys = at.keys("a sample")?;
    let shown = keys.need("shown", "what the analyser showed when the sample was taken").and_then(|at| here.shown(&at));
    let reference = keys.need("reference", "what was measured in the sample").and_then(|at| here.shown(&at));
    let taken = keys.get("taken").and_then(|at| here.head.moment(&at, here.files));
    let measured = keys.get("measured").and_then(|at| here.head.moment(&at, here.files));
    if let (Some(taken), Some(measured)) = (&taken, &measured) {
        sample_times(at, taken, measured, here.quantity);
    }
    let sample = SampleCheck {
        place: at.place(),
        shown: shown?,
        reference: reference?,
        taken,
        measured,
        by: keys.get("by").and_then(|at| at.text()),
        method: keys.get("method").and_then(|at| at.text()),
        source: keys.get("source").and_then(|at| at.text()),
    };
    here.finish(keys);
    Some(sample)
}

/// The order of the two times; for pH their distance as well.
fn sample_times(at: &At<'_>, taken: &Moment, measured: &Moment, quantity: Option<LoopQuantity>) {
    let passed = measured.instant - taken.instant;
    let minutes = (passed.num_seconds() + 59) / 60;
    if measured.instant < taken.instant {
        at.tell(Problem::error(
            "sample-before-taken",
            &measured.place,
            format!("measured {}, taken {}", measured.print(), taken.print()),
            "a sample is taken before it is measured",
            "correct one of the two times",
        ));
    } else if quantity == Some(LoopQuantity::Ph) && minutes > SAMPLE_MINUTES {
        at.tell(
            Problem::warning(
                "sample-late",
                &measured.place,
                format!("the sample was measured {minutes} min after it was taken"),
                "pH changes in the bottle: after 15 min it is not usable for permit reporting (40 CFR 136.3, table II)",
                "correct the times, or accept it with the reason",
            )
            .about([("minutes", Fact::number(minutes as f64, 0, "min"))]),
        );
    }
}

fn resistance(at: &At<'_>, here: &Here<'_>) -> Option<ResistanceCheck> {
    let mut keys: Keys<'_> = at.keys("a resistance")?;
    let value = keys.need("value", "the resistance with its unit: `180 MΩ`").and_then(|at| positive_ohm(&at));
    let temperature = keys.get("temperature").and_then(|at| at.number());
    here.finish(keys);
    Some(ResistanceCheck { value: value?, temperature })
}

fn no_glass(at: &At<'_>, here: &Here<'_>) {
    match here.quantity {
        Some(LoopQuantity::Redox) => at.tell(Problem::error(
            "glass-in-redox",
            &at.place(),
            "a glass resistance in a redox loop",
            "a redox probe has a metal, not a glass membrane",
            "move it to the pH loop it belongs to, or remove it",
        )),
        Some(LoopQuantity::Ph) | None => {}
    }
}
