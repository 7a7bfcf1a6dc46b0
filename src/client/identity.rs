//! The identity of a loop: read alike in the roster of a client file and in a loop of a visit.

use super::{Device, Identity, LoopQuantity, OutputSignal, Probe};
use crate::problem::{Fact, Problem};
use crate::quantity::{Measured, MicrosiemensPerCm, Millivolt, Ph, Plain, Unit};
use crate::reference::electrodes::ReferenceElectrode;
use crate::yaml::{At, Keys, Text, nearest};
use std::marker::PhantomData;

/// Ends of an output range beyond which a pH range is a slip.
///
/// Source: common practice, no source: analysers are set within −2 pH to 16 pH.
const PH_RANGE: [f64; 2] = [-2.0, 16.0];
/// The same for redox, mV.
///
/// Source: common practice, no source: analysers are set within −2000 mV to 2000 mV.
const REDOX_RANGE_MV: [f64; 2] = [-2000.0, 2000.0];

/// Reads `quantity`, `location`, `range`, `output`, `analyser` and `probe`. The mapping `process` is left to the caller,
/// who has further keys in it: see [`usual_process`].
///
/// # Errors
/// Booked in the tree: `range-empty`, `range-implausible`, `same-serial`, `unknown-reference-electrode`.
pub fn identity(keys: &mut Keys<'_>) -> Identity {
    let quantity = keys.get("quantity").and_then(|at| at.word("the quantity of the loop", LoopQuantity::WORDS));
    let location = keys.get("location").and_then(|at| at.text());
    let range = keys.get("range").and_then(|at| range(&at, quantity));
    let output = keys.get("output").and_then(|at| at.word("the output signal", OutputSignal::WORDS));
    let analyser = keys.get("analyser").and_then(|at| analyser(&at));
    let probe = keys.get("probe").and_then(|at| probe(&at));
    if let Some(problem) = same_serial(analyser.as_ref(), probe.as_ref()) {
        keys.at().tell(problem);
    }
    Identity { quantity, location, range, output, analyser, probe, usual: None, conductivity: None }
}

/// Reads `usual` and `conductivity` of a mapping `process` into the identity.
///
/// # Errors
/// Booked in the tree: `usual-reversed`, `conductivity-not-positive`.
pub fn usual_process(process: &mut Keys<'_>, identity: &mut Identity) {
    identity.usual = process.get("usual").and_then(|at| usual(&at, identity.quantity));
    identity.conductivity = process.get("conductivity").and_then(|at| conductivity(&at));
}

fn conductivity(at: &At<'_>) -> Option<Measured<MicrosiemensPerCm>> {
    let value = at.number::<MicrosiemensPerCm>()?;
    if value.value > 0.0 {
        return Some(value);
    }
    at.tell(Problem::error(
        "conductivity-not-positive",
        &value.place,
        format!("found `{}`", value.text),
        "every water conducts a little: its conductivity is above zero",
        "write it as measured, in µS/cm or with its unit: `900 µS/cm`, `1.2 mS/cm`; or leave the key out",
    ));
    None
}

/// A value in the quantity of the loop: pH, or mV in a redox loop. Where the quantity is not known (it stands in the
/// roster), the unit that was typed tells.
pub fn process_value(at: &At<'_>, quantity: Option<LoopQuantity>) -> Option<Measured<Plain>> {
    match quantity.or_else(|| typed_quantity(at)) {
        Some(LoopQuantity::Ph) => at.number::<Ph>().map(without_unit),
        Some(LoopQuantity::Redox) => at.number::<Millivolt>().map(without_unit),
        None => at.number::<Plain>(),
    }
}

/// Two values in the quantity of the loop, see [`process_value`].
fn process_pair(at: &At<'_>, quantity: Option<LoopQuantity>, what: &str) -> Option<[Measured<Plain>; 2]> {
    let typed = || at.is_list().then(|| at.list(what)?.iter().find_map(typed_quantity)).flatten();
    match quantity.or_else(typed) {
        Some(LoopQuantity::Ph) => at.pair::<Ph>(what).map(|pair| pair.map(without_unit)),
        Some(LoopQuantity::Redox) => at.pair::<Millivolt>(what).map(|pair| pair.map(without_unit)),
        None => at.pair::<Plain>(what),
    }
}

fn typed_quantity(at: &At<'_>) -> Option<LoopQuantity> {
    let typed = at.raw()?.trim();
    if typed.starts_with("pH") || typed.ends_with("pH") {
        return Some(LoopQuantity::Ph);
    }
    typed.ends_with('V').then_some(LoopQuantity::Redox)
}

fn without_unit<U: Unit>(typed: Measured<U>) -> Measured<Plain> {
    Measured { value: typed.value, step: typed.step, text: typed.text, place: typed.place, unit: PhantomData }
}

fn range(at: &At<'_>, quantity: Option<LoopQuantity>) -> Option<[Measured<Plain>; 2]> {
    let [low, high] = process_pair(at, quantity, "the values at the two ends of the output")?;
    if low.value == high.value {
        at.tell(Problem::error(
            "range-empty",
            &at.place(),
            format!("found [{}, {}]", low.text, high.text),
            "a range between equal ends has no span: the output could not follow the value",
            "write the two ends as set in the analyser, like [0, 14]; a reversed range is written with the higher end first",
        ));
        return None;
    }
    let (bounds, unit) = match quantity {
        Some(LoopQuantity::Ph) => (PH_RANGE, "pH"),
        Some(LoopQuantity::Redox) => (REDOX_RANGE_MV, "mV"),
        None => return Some([low, high]),
    };
    if [low.value, high.value].iter().any(|end| !(bounds[0]..=bounds[1]).contains(end)) {
        at.tell(
            Problem::warning(
                "range-implausible",
                &at.place(),
                format!("found [{}, {}]", low.text, high.text),
                format!("analysers are set within {} {unit} and {} {unit}", bounds[0], bounds[1]),
                format!("write the ends of the output range in {unit}, as set in the analyser"),
            )
            .about([("low", Fact::typed(&low.text)), ("high", Fact::typed(&high.text))]),
        );
    }
    Some([low, high])
}

fn usual(at: &At<'_>, quantity: Option<LoopQuantity>) -> Option<[Measured<Plain>; 2]> {
    let [low, high] = process_pair(at, quantity, "the lowest and the highest usual process value")?;
    if low.value > high.value {
        at.tell(Problem::error(
            "usual-reversed",
            &at.place(),
            format!("found [{}, {}]", low.text, high.text),
            "the lowest usual value comes first",
            format!("write [{}, {}]", high.text, low.text),
        ));
        return None;
    }
    Some([low, high])
}

fn analyser(at: &At<'_>) -> Option<Device> {
    let mut keys = at.keys("the analyser (make, model, serial)")?;
    let device = device(&mut keys);
    keys.finish();
    Some(device)
}

fn device(keys: &mut Keys<'_>) -> Device {
    Device {
        make: keys.get("make").and_then(|at| at.text()),
        model: keys.get("model").and_then(|at| at.text()),
        serial: keys.get("serial").and_then(|at| at.name()),
    }
}

/// Reads a probe: the bare serial from its plate, or a mapping with what is known of it.
///
/// # Errors
/// Booked in the tree: `unknown-reference-electrode`. Whether a serial must be there is the caller's to say.
pub fn probe(at: &At<'_>) -> Option<Probe> {
    if at.is_text() {
        let device = Device { serial: Some(at.name()?), ..Device::default() };
        return Some(Probe { device, ..Probe::default() });
    }
    let mut keys = at.keys("the serial of the probe, or a probe like {make: …, serial: …},")?;
    let probe = Probe {
        device: device(&mut keys),
        reference: keys.get("reference").and_then(|at| reference(&at)),
        temperature_element: keys.get("temperature_element").and_then(|at| at.text()),
        installed: keys.get("installed").and_then(|at| at.date()),
        junction_renewed: keys.get("junction_renewed").and_then(|at| at.date()),
        condition: keys.get("condition").and_then(|at| at.text()),
    };
    keys.finish();
    Some(probe)
}

/// The reference electrode as typed. One that is not known is a warning: a pH loop does without, a redox loop does not.
fn reference(at: &At<'_>) -> Option<Text> {
    let typed = at.name()?;
    if ReferenceElectrode::from_name(&typed.text).is_none() {
        at.tell(Problem::warning(
            "unknown-reference-electrode",
            &typed.place,
            format!("found `{}`", typed.text),
            "it is kept as typed, but a redox value can be converted only for a reference electrode with a published potential",
            electrode_fix(&typed.text),
        ).about([("electrode", Fact::text(&typed.text))]));
    }
    Some(typed)
}

/// The names that may be meant, else all of them.
pub(crate) fn electrode_fix(typed: &str) -> String {
    let names = || ReferenceElectrode::ALL.into_iter().map(ReferenceElectrode::name);
    let meant: Vec<&str> = ReferenceElectrode::suggested(typed).into_iter().map(ReferenceElectrode::name).collect();
    match (meant.is_empty(), nearest(typed, names())) {
        (false, _) => format!("write {}", meant.join(" or ")),
        (true, Some(name)) => format!("write {name}"),
        (true, None) => format!("write one of: {}", names().collect::<Vec<_>>().join(" \u{b7} ")),
    }
}

/// The warning that probe and analyser have one serial: it was typed from the wrong plate.
pub fn same_serial(analyser: Option<&Device>, probe: Option<&Probe>) -> Option<Problem> {
    let (analyser, probe) = (analyser?.serial.as_ref()?, probe?.device.serial.as_ref()?);
    (analyser.text == probe.text).then(|| {
        Problem::warning(
            "same-serial",
            &probe.place,
            format!("found `{}` as serial of the probe and of the analyser", probe.text),
            "two devices have two plates: one of the serials was typed from the wrong one",
            "read both plates and correct the one that is wrong",
        )
        .about([("serial", Fact::text(&probe.text))])
    })
}

#[cfg(test)]
mod tests {
    use crate::client::tests::{Told, error, read, valid, warning};
    use crate::client::{Identity, LoopQuantity};

    /// One loop `{tag: A, …}` on line 3; columns counted from its brace (1).
    fn of_loop(rest: &str) -> Vec<Told> {
        let (_, told) = read(&format!("client: {{name: A}}\nloops:\n  - {{tag: A, {rest}}}\n"));
        told.into_iter().map(|(severity, code, line, column, fix)| (severity, code, line, column - 4, fix)).collect()
    }

    fn identity_of(rest: &str) -> Identity {
        let client = valid(&format!("client: {{name: A}}\nloops:\n  - {{tag: A, {rest}}}\n"));
        client.loops[0].identity.clone()
    }

    #[test]
    fn a_range_has_two_ends() {
        let fix = "write the two ends as set in the analyser, like [0, 14]; a reversed range is written with the higher end first";
        assert_eq!(of_loop("range: [7, 7.0]"), error("range-empty", 3, 17, fix));
        let reversed = identity_of("range: [14, 0]").range.expect("a range");
        assert_eq!((reversed[0].value, reversed[1].value), (14.0, 0.0));
    }

    #[test]
    fn a_range_is_in_the_quantity_of_the_loop() {
        assert_eq!(identity_of("quantity: redox, range: [0, 1 V]").range.map(|r| r[1].value), Some(1000.0));
        assert_eq!(identity_of("range: [0 mV, 1 V]").range.map(|r| r[1].value), Some(1000.0));
        assert_eq!(of_loop("quantity: pH, range: [0 mV, 500 mV]")[0].1, "wrong-unit");
        let told = of_loop("quantity: pH, range: [0, 1000]");
        let fix = "write the ends of the output range in pH, as set in the analyser";
        assert_eq!(told, warning("range-implausible", 3, 31, fix));
        assert_eq!(of_loop("quantity: redox, range: [0, 1000]"), []);
    }

    #[test]
    fn decimal_commas_in_a_range_are_told() {
        assert_eq!(of_loop("range: [4,5, 8,5]"), error("expected-pair", 3, 17, "decimal commas? write [4.5, 8.5]"));
    }

    #[test]
    fn usual_values_rise() {
        assert_eq!(of_loop("process: {usual: [8.5, 6.5]}"), error("usual-reversed", 3, 27, "write [6.5, 8.5]"));
        let usual = identity_of("quantity: redox, process: {usual: [-0.1 V, 720]}").usual.expect("values");
        assert_eq!((usual[0].value, usual[1].value, usual[0].text.as_str()), (-100.0, 720.0, "-0.1 V"));
    }

    #[test]
    fn a_conductivity_is_above_zero() {
        let fix = "write it as measured, in µS/cm or with its unit: `900 µS/cm`, `1.2 mS/cm`; or leave the key out";
        for value in ["0", "-900 µS/cm"] {
            let told = of_loop(&format!("process: {{conductivity: {value}}}"));
            assert_eq!(told, error("conductivity-not-positive", 3, 34, fix), "{value}");
        }
        assert_eq!(of_loop("process: {conductivity: 0.055}"), []);
    }

    #[test]
    fn quantity_and_output_are_words() {
        let told = of_loop("quantity: ORP");
        assert_eq!(told, error("unknown-word", 3, 20, "did you mean `redox`? allowed: pH, redox"));
        let told = of_loop("output: 4-20mA");
        assert_eq!(told, error("unknown-word", 3, 18, "did you mean `4-20 mA`? allowed: 4-20 mA, 20-4 mA"));
        assert_eq!(identity_of("quantity: redox").quantity, Some(LoopQuantity::Redox));
    }

    #[test]
    fn a_bare_probe_is_its_serial_as_typed() {
        let probe = identity_of("probe: 00123").probe.expect("a probe");
        assert_eq!(probe.device.serial.map(|s| s.text).as_deref(), Some("00123"));
        let whole = "probe: {make: M, model: G, serial: 1e3, reference: Ag/AgCl saturated, temperature_element: Pt1000, installed: 2025-06-03, junction_renewed: 2025-09-01, condition: clean}";
        let probe = identity_of(whole).probe.expect("a probe");
        assert_eq!(probe.device.serial.map(|s| s.text).as_deref(), Some("1e3"));
        assert_eq!(probe.junction_renewed.map(|d| d.text).as_deref(), Some("2025-09-01"));
    }

    #[test]
    fn one_serial_on_two_plates_is_a_warning() {
        let told = of_loop("analyser: {serial: K2-88}, probe: K2-88");
        let fix = "read both plates and correct the one that is wrong";
        assert_eq!(told, warning("same-serial", 3, 44, fix));
    }

    #[test]
    fn an_unknown_reference_electrode_is_kept_and_told() {
        let told = of_loop("probe: {serial: a, reference: SCE}");
        assert_eq!(told, warning("unknown-reference-electrode", 3, 40, "write calomel saturated"));
        let told = of_loop("probe: {serial: a, reference: Ag/AgCl 3mol/L}");
        assert_eq!(told, warning("unknown-reference-electrode", 3, 40, "write Ag/AgCl 3 mol/L"));
    }
}
