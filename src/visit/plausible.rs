//! Values that can be true but seldom are: off the scale of a probe, copied, or outside what a method is for.

use super::copied::Copied;
use super::head::Head;
use super::loops::Work;
use super::{Obtained, Outcome, Reading, State, standards};
use crate::client::{Identity, LoopQuantity};
use crate::kit::{Kit, Measurand};
use crate::problem::{Fact, Problem};
use crate::quantity::{Measured, Millivolt, Plain};
use crate::yaml::{At, Keys};

/// A glass electrode gives ±414 mV from pH 0 to 14 at 25 °C; more than this is a slip. Common practice, no source.
const PH_MV: f64 = 700.0;
/// Water sets redox potentials in it far inside ±2000 mV. Common practice, no source.
const REDOX_MV: f64 = 2000.0;
/// The scale of pH. Common practice, no source: strong acids and lyes lie a little outside.
const PH_SCALE: std::ops::RangeInclusive<f64> = 0.0..=14.0;
/// What analysers show at most in pH. Common practice, no source.
const PH_SHOWN: std::ops::RangeInclusive<f64> = -1.0..=15.0;

/// Warns of a potential that no probe gives.
pub(super) fn potential(at: &At<'_>, value: &Measured<Millivolt>, quantity: Option<LoopQuantity>) {
    let most = match quantity {
        Some(LoopQuantity::Ph) => PH_MV,
        Some(LoopQuantity::Redox) | None => REDOX_MV,
    };
    if value.value.abs() > most {
        at.tell(Problem::warning(
            "mv-off-scale",
            &value.place,
            format!("found `{}` as a potential", value.text),
            format!("the probe of such a loop stays within ±{most} mV: an exponent, a digit or another unit by mistake?"),
            "write the potential in mV as read, or with its unit: `0.168 V`; accept it with the reason if it was read so",
        ).about([("value", Fact::typed(&value.text))]));
    }
}

/// Tells of a shown value off the scale of an analyser.
pub(super) fn shown(at: &At<'_>, value: &Measured<Plain>, quantity: LoopQuantity) {
    let (on_scale, case, scale, fix) = match quantity {
        LoopQuantity::Ph => {
            let fix = "write the pH shown; a potential belongs under `mv:`";
            (PH_SHOWN.contains(&value.value), "ph", "pH −1 to 15", fix)
        }
        LoopQuantity::Redox => {
            (value.value.abs() <= REDOX_MV, "redox", "−2000 mV to 2000 mV", "write the potential shown, in mV")
        }
    };
    if !on_scale {
        let what = format!("`{}` as a value in {}", value.text, quantity.word());
        let why = format!("analysers show {scale}");
        let facts = [("value", Fact::typed(&value.text))];
        at.tell(Problem::error("shown-off-scale", &value.place, what, why, fix).about_case(case, facts).acceptable());
    } else if quantity == LoopQuantity::Ph && !PH_SCALE.contains(&value.value) {
        let what = format!("`{}` as a value in pH", value.text);
        let why = "the pH scale reaches from 0 to 14; only strong acids and lyes lie outside";
        let fix = "write the pH shown; accept it with the reason if it was shown so";
        let problem = Problem::warning("shown-off-scale", &value.place, what, why, fix);
        at.tell(problem.about_case(case, [("value", Fact::typed(&value.text))]));
    }
}

/// Least conductivity for which the usual method is written, µS/cm.
///
/// Source: ASTM D6569, on-line measurement of pH, scope: waters above 100 µS/cm; below, ASTM D5128.
const LEAST_CONDUCTIVITY: f64 = 100.0;

/// Warns of a process too pure for the usual method.
pub(super) fn conductivity(keys: &Keys<'_>, identity: &Identity) {
    let Some(conductivity) = identity.conductivity.as_ref() else {
        return;
    };
    if identity.quantity == Some(LoopQuantity::Ph) && conductivity.value < LEAST_CONDUCTIVITY {
        keys.at().tell(
            Problem::warning(
                "conductivity-low",
                &conductivity.place,
                format!("a process of `{}`", conductivity.text),
                "ASTM D6569 is for waters of 100 µS/cm and more; below, its readings are not covered (ASTM D5128)",
                "correct the conductivity or its unit, or accept it with the reason (a method for pure water)",
            )
            .about([("conductivity", Fact::typed(&conductivity.text))]),
        );
    }
}

/// Remarks that need the whole loop.
pub(super) fn whole_loop(at: &At<'_>, of: &Work, identity: &Identity, head: &Head) {
    let (found, left) = (of.found(), of.left());
    not_obtained(at, of);
    if let Some(found) = found {
        copied_from_target(at, found, false, &head.kit);
    }
    if let Some(left) = left {
        copied_from_target(at, left, of.adjusted == Some(true), &head.kit);
    }
    if let (Some(found), Some(left)) = (found, left) {
        copied_from_as_found(at, of, found, left);
    }
    if let Some(state) = left.or(found) {
        brackets(at, identity, state, &head.kit);
    }
    output_without_range(at, identity, [found, left]);
    instruments(at, of, &head.kit);
    condemned(at, of);
}

fn not_obtained(at: &At<'_>, of: &Work) {
    if let Some(Obtained::Not(reason)) = &of.as_found {
        at.tell(Problem::warning(
            "as-found-not-obtained",
            &reason.place,
            format!("as found was not obtained: {}", reason.text),
            "there is no verdict as found, and nothing can be said about the values since the last good check",
            "nothing to correct if it is so; it is printed",
        ));
    }
    if let Some(Obtained::Not(reason)) = &of.as_left {
        at.tell(Problem::warning(
            "as-left-not-obtained",
            &reason.place,
            format!("as left was not obtained: {}", reason.text),
            "there is no verdict on the state in which the loop was left",
            "nothing to correct if it is so; it is printed",
        ));
    }
}

/// All values shown equal the standards to the last digit.
fn copied_from_target(at: &At<'_>, state: &State, adjusted: bool, kit: &Kit) {
    let Some(shown) = super::copied::from_target(kit, state, adjusted) else {
        return;
    };
    at.tell(Problem::warning(
        "copied-from-target",
        &shown.place,
        "every value shown equals its buffer to the last digit",
        "an instrument seldom does that: were the values copied from the bottle?",
        "write what the analyser showed; accept it with the reason if it did show this",
    ));
}

/// As left is as found to the last digit.
fn copied_from_as_found(at: &At<'_>, of: &Work, found: &State, left: &State) {
    let worked = of.adjusted == Some(true) || !of.remedies.is_empty();
    let Some(copied) = super::copied::from_as_found(found, left, &of.remedies) else {
        return;
    };
    let (case, what, why) = match (worked, copied) {
        (_, Copied::Potentials) => (
            "potentials",
            "every potential as left equals that as found",
            "a remedy was performed, which seldom changes nothing at all",
        ),
        (true, Copied::Everything) => (
            "everything",
            "every reading as left equals that as found",
            "something was done to the loop, which seldom changes nothing at all",
        ),
        (false, Copied::Everything) => (
            "everything",
            "every reading as left equals that as found",
            "nothing was done to the loop: one set of readings is enough",
        ),
    };
    at.tell(Problem::warning(
        "as-left-copied",
        &left.readings[0].place,
        what,
        why,
        "write the readings taken afterwards; where there are none, `as_left: {not_obtained: reason}`, or nothing when \
         nothing was done",
    ).about_case(case, []));
}

/// How far a process may lie beyond the buffers and still be close to them, pH. Our own choice.
const CLOSE_PH: f64 = 0.5;

/// Buffers bracket the process, or lie close to it.
///
/// Source: US EPA method 150.1 (1982), section 7: buffers that bracket the expected pH.
fn brackets(at: &At<'_>, identity: &Identity, state: &State, kit: &Kit) {
    let (Some(LoopQuantity::Ph), Some([low, high])) = (identity.quantity, &identity.usual) else {
        return;
    };
    let values =
        || state.readings.iter().filter_map(|reading| standards::ph(kit, reading.standard, reading.temperature.value));
    let (least, most) = (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
    if least <= most && (low.value < least - CLOSE_PH || high.value > most + CLOSE_PH) {
        at.tell(
            Problem::warning(
                "process-outside-buffers",
                &state.readings[0].place,
                format!("buffers from pH {least:.2} to {most:.2}, a process from pH {} to {}", low.text, high.text),
                "a calibration holds between its buffers; outside it is extrapolated",
                "read in buffers on both sides of the process, or accept it with the reason",
            )
            .about([
                ("least", Fact::number(least, 2, "")),
                ("most", Fact::number(most, 2, "")),
                ("low", Fact::typed(&low.text)),
                ("high", Fact::typed(&high.text)),
            ]),
        );
    }
}

fn output_without_range(at: &At<'_>, identity: &Identity, states: [Option<&State>; 2]) {
    let mut keys = at.keys("a loop");
    let written = keys.as_mut().and_then(|keys| keys.get("range"));
    if identity.range.is_some() || written.is_some() {
        return;
    }
    for state in states.into_iter().flatten() {
        if let Some(super::Check::Done(checks)) = &state.checks.output {
            at.tell(Problem::warning(
                "output-without-range",
                &checks[0].shown.place,
                "an output check, and the range of the output is not known",
                "current and control room are compared in percent of the span",
                "add the range to the loop: `range: [0, 14]`",
            ));
            return;
        }
    }
}

/// Two instruments for one thing, and no reading says which was used.
fn instruments(at: &At<'_>, of: &Work, kit: &Kit) {
    let several = |measures: Measurand| kit.instruments.iter().filter(|it| it.measures == measures).count() > 1;
    let after = of.remedies.iter().flat_map(|remedy| &remedy.readings);
    let states = [of.found(), of.left()].into_iter().flatten();
    let readings: Vec<&Reading> = states.flat_map(|state| &state.readings).chain(after).collect();
    let Some(first) = readings.first() else {
        return;
    };
    let unnamed = readings.iter().all(|reading| reading.with.is_none());
    for (measures, what) in [(Measurand::Temperature, "temperature"), (Measurand::Potential, "potential")] {
        if several(measures) && unnamed {
            at.tell(
                Problem::warning(
                    "instrument-not-named",
                    &first.place,
                    format!("several instruments measure {what}, and no reading says which was used"),
                    "the uncertainty of a reading is that of its instrument",
                    "name it in the readings, `with: T88`, or leave out of the kit what was not used",
                )
                .about_case(what, []),
            );
        }
    }
}

/// A condemned loop says why.
fn condemned(at: &At<'_>, of: &Work) {
    let says_why = of.remarks.is_some() || of.remedies.iter().any(|remedy| remedy.reason.is_some());
    match of.outcome {
        Some(Outcome::Condemned) if !says_why => at.tell(Problem::warning(
            "condemned-without-reason",
            &at.place(),
            "the loop was condemned, and no reason is given",
            "who pays for a new probe wants to know why",
            "say why under `remarks:`",
        )),
        Some(Outcome::Condemned | Outcome::Returned | Outcome::OutOfService) | None => {}
    }
}
