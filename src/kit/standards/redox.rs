//! What `redox:` says: a published solution, quinhydrone in a buffer of the kit, or the bottle's own values.

use super::super::{Certified, StandardKind, table, without_unit};
use super::{Declared, Entry, Told};
use crate::client::electrode_fix;
use crate::problem::Problem;
use crate::quantity::{Celsius, Measured, Millivolt, Plain};
use crate::reference::buffers::BufferValue;
use crate::reference::electrodes::ReferenceElectrode;
use crate::reference::redox::{QUINHYDRONE_MAX_PH, RedoxSolution, RedoxValue};
use crate::yaml::{At, Keys, Text, nearest};

/// A bottle's potential nearer to zero was typed in volts.
///
/// Source: common practice, no source: redox standards lie between 85 mV and 700 mV against any usual reference.
const VOLTS_BELOW_MV: f64 = 2.0;

/// Reads `redox` with `in` beside it.
pub(super) fn read(redox: &At<'_>, inside: Option<&At<'_>>, declared: &[Declared<'_>]) -> Option<Told> {
    let solution = if redox.is_text() { Some(solution(redox)?) } else { None };
    if solution != Some(RedoxSolution::Quinhydrone)
        && let Some(inside) = inside
    {
        let why = "names the buffer that quinhydrone is stirred into; other solutions are used as they are";
        inside.tell(super::misplaced(inside, "in", why));
    }
    match solution {
        Some(RedoxSolution::Zobell) => Some(plain(RedoxValue::Zobell)),
        Some(RedoxSolution::Light) => Some(plain(RedoxValue::Light)),
        Some(RedoxSolution::Quinhydrone) => quinhydrone(redox, inside, declared),
        None => bottle(redox),
    }
}

fn plain(value: RedoxValue) -> Told {
    Told { kind: StandardKind::Redox(value), label: None, certified: None, quinhydrone_in: None }
}

fn solution(at: &At<'_>) -> Option<RedoxSolution> {
    let name = at.name()?;
    let found = RedoxSolution::from_name(&name.text);
    if found.is_none() {
        at.tell(unknown(&name));
    }
    found
}

fn unknown(name: &Text) -> Problem {
    let all = || RedoxSolution::ALL.into_iter().map(RedoxSolution::name);
    let meant: Vec<&str> = RedoxSolution::suggested(&name.text).into_iter().map(RedoxSolution::name).collect();
    let bottle = format!("{{name: \"{}\", value: … mV, at: 25 °C, against: \"Ag/AgCl 3 mol/L\"}}", name.text);
    let fix = match (meant.is_empty(), nearest(&name.text, all())) {
        (false, _) => format!("write {}", meant.join(" or ")),
        (true, Some(near)) => format!("write {near}"),
        (true, None) => format!(
            "write one of: {} \u{b7} or the bottle's own value: {bottle}",
            all().collect::<Vec<_>>().join(" \u{b7} ")
        ),
    };
    Problem::error(
        "unknown-redox-solution",
        &name.place,
        format!("found `{}`", name.text),
        "only these solutions have a published potential",
        fix,
    )
}

/// Quinhydrone in a buffer of the kit.
fn quinhydrone(redox: &At<'_>, inside: Option<&At<'_>>, declared: &[Declared<'_>]) -> Option<Told> {
    let Some(inside) = inside else {
        redox.tell(Problem::error(
            "quinhydrone-without-buffer",
            &redox.place(),
            "found quinhydrone without `in:`",
            "its potential follows from the pH of the buffer it is stirred into",
            "add `in:` with the short name of that buffer, like {redox: quinhydrone, in: B7}",
        ));
        return None;
    };
    let name = inside.name()?;
    let buffer = match declared.iter().find(|(declared, _)| *declared == name.text) {
        Some((_, Entry::Buffer(buffer))) => *buffer,
        Some((_, Entry::Faulty)) => return None,
        Some((_, Entry::Redox)) | None => {
            inside.tell(not_a_buffer(&name, declared));
            return None;
        }
    };
    if let Some(problem) = too_alkaline(&name, buffer) {
        inside.tell(problem);
        return None;
    }
    let kind = StandardKind::Redox(RedoxValue::Quinhydrone(buffer.clone()));
    Some(Told { kind, label: None, certified: None, quinhydrone_in: Some(name) })
}

fn not_a_buffer(name: &Text, declared: &[Declared<'_>]) -> Problem {
    let buffers: Vec<&str> =
        declared.iter().filter(|(_, entry)| matches!(entry, Entry::Buffer(_))).map(|(name, _)| *name).collect();
    let fix = match (buffers.is_empty(), nearest(&name.text, buffers.iter().copied())) {
        (true, _) => format!("declare the buffer under `standards:`, like `{}: {{buffer: phosphate}}`", name.text),
        (false, Some(near)) => format!("write {near}"),
        (false, None) => format!("write one of the buffers: {}", buffers.join(", ")),
    };
    Problem::error(
        "quinhydrone-buffer",
        &name.place,
        format!("found `{}`", name.text),
        "`in:` names a pH buffer among the standards",
        fix,
    )
}

fn too_alkaline(name: &Text, buffer: &BufferValue) -> Option<Problem> {
    let ph = buffer.ph(25.0).ok()?;
    (ph > QUINHYDRONE_MAX_PH).then(|| {
        Problem::error(
            "quinhydrone-too-alkaline",
            &name.place,
            format!("found `{}`, a buffer of pH {ph:.2} at 25 °C", name.text),
            format!("above pH {QUINHYDRONE_MAX_PH} quinhydrone gives no stable potential"),
            "name a buffer near pH 4 or 7",
        )
    })
}

/// A bottle with one value at one temperature, or with a table, against a reference electrode.
fn bottle(redox: &At<'_>) -> Option<Told> {
    let mut keys = redox.keys("zobell, light, quinhydrone, or the bottle's {name: …, value: …, at: …, against: …},")?;
    let label = keys.need("name", "the certificate names the bottle").and_then(|at| at.text());
    let against = keys
        .need("against", "a potential means something only against a named reference electrode")
        .and_then(|at| electrode(&at));
    let read = match keys.get("table") {
        Some(at) => from_table(&mut keys, &at),
        None => from_value(&mut keys),
    };
    keys.finish();
    let (against, read) = (against?, read?);
    let (value, certified) = match read {
        Read::Rows(rows) => (RedoxValue::bottle(&rows, against).ok()?, None),
        Read::Single(single) => {
            let value = RedoxValue::Single { mv: single.value.value, at_c: single.at.value, against };
            (value, Some(single))
        }
    };
    Some(Told { kind: StandardKind::Redox(value), label: Some(label?), certified, quinhydrone_in: None })
}

enum Read {
    Rows(Vec<[f64; 2]>),
    Single(Certified),
}

fn from_table(keys: &mut Keys<'_>, at: &At<'_>) -> Option<Read> {
    let rows = table::rows::<Millivolt>(at, &table::POTENTIAL);
    let (value, value_at) = (keys.get("value"), keys.get("at"));
    if let Some(extra) = value.or(value_at) {
        extra.tell(Problem::error(
            "redox-value-and-table",
            &extra.place(),
            "found a single value beside the table",
            "a bottle gives one value at one temperature, or a table",
            "remove `value:` and `at:`; the table serves at every temperature it covers",
        ));
        return None;
    }
    rows.map(Read::Rows)
}

fn from_value(keys: &mut Keys<'_>) -> Option<Read> {
    let value = keys
        .need("value", "without a table the bottle's potential is taken from its one value")
        .and_then(|at| potential(&at));
    let at =
        keys.need("at", "one value serves within 2 °C of its temperature only").and_then(|at| at.number::<Celsius>());
    Some(Read::Single(Certified { value: value?, at: at? }))
}

fn potential(at: &At<'_>) -> Option<Measured<Plain>> {
    let typed = at.number::<Millivolt>()?;
    let what = format!("found `{}`", typed.text);
    if typed.value.abs() < VOLTS_BELOW_MV {
        let why = "no redox standard is so near to 0 mV; was it typed in volts?";
        at.tell(Problem::error("redox-value-small", &typed.place, what, why, volts(typed.value)));
        return None;
    }
    let [low, high] = table::POTENTIAL.within;
    if !(low..=high).contains(&typed.value) {
        let why = format!("potentials in water lie between {low} mV and {high} mV");
        at.tell(Problem::error("redox-value-large", &typed.place, what, why, "write the potential of the label in mV"));
        return None;
    }
    Some(without_unit(typed))
}

/// The value with its unit, as volts.
fn volts(value: f64) -> String {
    format!("write {} mV, or {value} V, if that is on the label", (value * 1e6).round() / 1e3)
}

fn electrode(at: &At<'_>) -> Option<ReferenceElectrode> {
    let typed = at.name()?;
    let found = ReferenceElectrode::from_name(&typed.text);
    if found.is_none() {
        at.tell(Problem::error(
            "unknown-electrode",
            &typed.place,
            format!("found `{}`", typed.text),
            "the potential is converted to the probe's reference electrode, which needs a published potential of this one",
            electrode_fix(&typed.text),
        ));
    }
    found
}

#[cfg(test)]
mod tests {
    use crate::kit::tests::{of_standard, read, refused, valid};

    fn bottle(rest: &str) -> Vec<crate::kit::tests::Told> {
        of_standard(&format!("{{redox: {{name: X, {rest}}}}}"))
    }

    const AGAINST: &str = "against: \"Ag/AgCl 3 mol/L\"";

    #[test]
    fn a_misspelt_solution_gets_the_name() {
        assert_eq!(of_standard("{redox: ZoBell's}"), refused("unknown-redox-solution", 9, "write zobell"));
        assert_eq!(of_standard("{redox: ligth}"), refused("unknown-redox-solution", 9, "write light"));
        let told = of_standard("{redox: bottle}");
        assert!(told[0].4.starts_with("write one of: zobell \u{b7} light \u{b7} quinhydrone"), "{}", told[0].4);
    }

    #[test]
    fn quinhydrone_names_a_buffer_of_the_kit() {
        let fix = "add `in:` with the short name of that buffer, like {redox: quinhydrone, in: B7}";
        assert_eq!(of_standard("{redox: quinhydrone}"), refused("quinhydrone-without-buffer", 9, fix));
        let fix = "declare the buffer under `standards:`, like `B7: {buffer: phosphate}`";
        assert_eq!(of_standard("{redox: quinhydrone, in: B7}"), refused("quinhydrone-buffer", 26, fix));
        let with = |name: &str| {
            let (_, told) = read(&format!(
                "standards:\n  S: {{redox: quinhydrone, in: {name}}}\n  B4x: {{buffer: phthalate}}\n  R1: {{redox: zobell}}\n"
            ));
            told
        };
        assert_eq!(with("B4X"), refused("quinhydrone-buffer", 31, "write B4x"));
        assert_eq!(with("R1"), refused("quinhydrone-buffer", 31, "write one of the buffers: B4x"));
        assert_eq!(with("S"), refused("quinhydrone-buffer", 31, "write one of the buffers: B4x"));
        assert_eq!(with("B4x"), []);
    }

    #[test]
    fn quinhydrone_in_an_alkaline_buffer_is_refused() {
        let (kit, told) = read("standards:\n  S: {redox: quinhydrone, in: B9}\n  B9: {buffer: borax}\n");
        assert_eq!(told, refused("quinhydrone-too-alkaline", 31, "name a buffer near pH 4 or 7"));
        assert!(kit.is_unusable("S") && kit.standard("B9") == Some(0));
    }

    #[test]
    fn a_faulty_buffer_is_told_once() {
        let (kit, told) = read("standards:\n  S: {redox: quinhydrone, in: B9}\n  B9: {buffer: borex}\n");
        assert_eq!(told.iter().map(|p| (p.1, p.2)).collect::<Vec<_>>(), [("unknown-buffer", 3)]);
        assert!(kit.is_unusable("S") && kit.is_unusable("B9"));
    }

    #[test]
    fn a_bottle_says_against_what() {
        assert_eq!(bottle("value: 228, at: 25"), refused("missing-key", 9, "add `against: …`"));
        let told = bottle("value: 228, at: 25, against: Ag/AgCl 3M");
        assert_eq!(told, refused("unknown-electrode", 48, "write Ag/AgCl 3 mol/L"));
        assert_eq!(
            bottle("value: 228, at: 25, against: platinum")[0].4,
            "write one of: Ag/AgCl 3 mol/L \u{b7} Ag/AgCl 3.5 mol/L \u{b7} Ag/AgCl saturated \u{b7} calomel 0.1 mol/L \u{b7} calomel 1 mol/L \u{b7} calomel 3.5 mol/L \u{b7} calomel saturated \u{b7} hydrogen"
        );
    }

    #[test]
    fn a_bottle_has_one_value_with_its_temperature_or_a_table() {
        assert_eq!(bottle(&format!("value: 228, {AGAINST}")), refused("missing-key", 9, "add `at: …`"));
        assert_eq!(bottle(AGAINST).len(), 2);
        let told = bottle(&format!("{AGAINST}, table: [[20, 231], [25, 228]], value: 228, at: 25"));
        let fix = "remove `value:` and `at:`; the table serves at every temperature it covers";
        assert_eq!(told, refused("redox-value-and-table", 85, fix));
        let kit =
            valid(&format!("standards:\n  S: {{redox: {{name: X, table: [[20, 0.231 V], [25, 228]], {AGAINST}}}}}\n"));
        assert_eq!(kit.standards.len(), 1);
    }

    #[test]
    fn volts_without_unit_are_told() {
        let told = bottle(&format!("value: 0.228, at: 25, {AGAINST}"));
        assert_eq!(told, refused("redox-value-small", 26, "write 228 mV, or 0.228 V, if that is on the label"));
        assert_eq!(bottle(&format!("value: 0.228 V, at: 25, {AGAINST}")), []);
        let told = bottle(&format!("value: 228000, at: 25, {AGAINST}"));
        assert_eq!(told, refused("redox-value-large", 26, "write the potential of the label in mV"));
    }
}
