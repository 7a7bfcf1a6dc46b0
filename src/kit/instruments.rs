//! Instruments of the kit: what measures, how well, until when.

use super::{Instrument, Measurand, coverage_factor, expanded_uncertainty};
use crate::problem::Problem;
use crate::quantity::{CelsiusDifference, Date, Measured, Milliampere, Millivolt, Ohm, Ph, Plain};
use crate::yaml::{At, Keys, Text};

/// Reads the mapping `instruments`: the valid ones, and the short names of the others.
pub(super) fn check(at: &At<'_>) -> (Vec<Instrument>, Vec<String>) {
    let Some(mut keys) = at.keys("instruments by short name like `T88: {measures: temperature, …}`") else {
        return Default::default();
    };
    let entries = keys.entries();
    keys.finish();
    let (mut instruments, mut faulty) = (Vec::new(), Vec::new());
    for (name, at) in entries {
        match instrument(&name, &at) {
            Some(instrument) => instruments.push(instrument),
            None => faulty.push(name.text),
        }
    }
    (instruments, faulty)
}

fn instrument(name: &Text, at: &At<'_>) -> Option<Instrument> {
    let mut keys = at.keys("an instrument (measures, make, serial, certificate, calibrated, due …)")?;
    let measures = keys
        .need("measures", "readings and checks take the uncertainty of the instrument that measures them")
        .and_then(|at| at.word("what the instrument measures", Measurand::WORDS));
    let make = keys.get("make").and_then(|at| at.text());
    let model = keys.get("model").and_then(|at| at.text());
    let serial = keys.get("serial").and_then(|at| at.text());
    let certificate = keys.get("certificate").and_then(|at| at.text());
    let calibrated = keys.get("calibrated").and_then(|at| at.date());
    let due = keys.get("due").and_then(|at| due(&at, calibrated.as_ref()));
    let expanded_uncertainty = uncertainty(&mut keys, measures);
    let coverage_factor = coverage_factor(&mut keys);
    keys.finish();
    Some(Instrument {
        name: name.clone(),
        measures: measures?,
        make,
        model,
        serial,
        certificate,
        calibrated,
        due,
        expanded_uncertainty,
        coverage_factor,
    })
}

/// The uncertainty in the unit of what is measured; not judged where that is not known.
fn uncertainty(keys: &mut Keys<'_>, measures: Option<Measurand>) -> Option<Measured<Plain>> {
    match measures {
        Some(Measurand::Temperature) => expanded_uncertainty::<CelsiusDifference>(keys),
        Some(Measurand::Potential) => expanded_uncertainty::<Millivolt>(keys),
        Some(Measurand::Current) => expanded_uncertainty::<Milliampere>(keys),
        Some(Measurand::Resistance) => expanded_uncertainty::<Ohm>(keys),
        Some(Measurand::Ph) => expanded_uncertainty::<Ph>(keys),
        None => keys.get("expanded_uncertainty").and(None),
    }
}

fn due(at: &At<'_>, calibrated: Option<&Date>) -> Option<Date> {
    let due = at.expiry()?;
    let Some(calibrated) = calibrated.filter(|calibrated| due.date < calibrated.date) else {
        return Some(due);
    };
    at.tell(Problem::error(
        "due-before-calibrated",
        &due.place,
        format!("found due {}, calibrated {}", due.text, calibrated.text),
        "a calibration cannot end before it was made",
        "write both dates as on the certificate, year first",
    ));
    None
}

#[cfg(test)]
mod tests {
    use crate::kit::Kit;
    use crate::kit::tests::{Told, read, refused};

    fn of_instrument(instrument: &str) -> (Kit, Vec<Told>) {
        let (kit, problems) = read(&format!("instruments:\n  T: {instrument}\n"));
        let shift = |(severity, code, line, column, fix): Told| (severity, code, line, column.saturating_sub(5), fix);
        (kit, problems.into_iter().map(shift).collect())
    }

    #[test]
    fn due_before_calibrated_is_refused() {
        let (_, told) = of_instrument("{measures: current, calibrated: 2026-01-11, due: 2025-01-11}");
        assert_eq!(told, refused("due-before-calibrated", 50, "write both dates as on the certificate, year first"));
        let (_, told) = of_instrument("{measures: current, calibrated: 2026-01-11, due: 2026-01-11}");
        assert_eq!(told, []);
    }

    #[test]
    fn what_it_measures_must_be_known() {
        let (_, told) = of_instrument("{measures: temprature}");
        let fix = "did you mean `temperature`? allowed: temperature, potential, current, resistance, pH";
        assert_eq!(told, refused("unknown-word", 12, fix));
        let (_, told) = of_instrument("{make: Wexmarl}");
        assert_eq!(told, refused("missing-key", 1, "add `measures: …`"));
    }

    #[test]
    fn the_uncertainty_has_the_unit_of_what_is_measured() {
        for (measures, typed, value) in [
            ("temperature", "0.36 °F", 0.2),
            ("potential", "0.0002 V", 0.2),
            ("current", "10e-6 A", 0.01),
            ("resistance", "0.1 ohm", 0.1),
            ("pH", "0.03 pH", 0.03),
        ] {
            let (kit, told) = of_instrument(&format!("{{measures: {measures}, expanded_uncertainty: {typed}}}"));
            assert_eq!(told, [], "{measures}");
            let read = kit.instruments[0].expanded_uncertainty.as_ref().expect("an uncertainty");
            assert!((read.value - value).abs() < 1e-9, "{measures}: {}", read.value);
        }
        let (_, told) = of_instrument("{measures: potential, expanded_uncertainty: 0.2 °C}");
        assert_eq!((told[0].1, told[0].3), ("wrong-unit", 45));
    }
}
