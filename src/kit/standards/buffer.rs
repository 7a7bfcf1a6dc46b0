//! What `buffer:` says: a published buffer, shifted to a certified value or not, or the bottle's own table.

use super::super::{Certified, StandardKind, table, without_unit};
use super::Told;
use crate::problem::{Fact, Problem};
use crate::quantity::{Celsius, Measured, Ph};
use crate::reference::OutOfRange;
use crate::reference::buffers::{Buffer, BufferValue};
use crate::yaml::{At, Text, nearest};

/// A certified value farther from the published one is told.
///
/// Source: common practice, no source: makers of buffers made to a published recipe certify within 0.02 to 0.05 pH.
const FAR_PH: f64 = 0.1;
/// A certified value still farther belongs to another buffer.
///
/// Source: our own choice: half the distance between neighbouring buffers of a usual set.
const OTHER_PH: f64 = 0.5;

/// Reads `buffer` with `value` and `at` beside it.
pub(super) fn read(buffer: &At<'_>, value: Option<&At<'_>>, value_at: Option<&At<'_>>) -> Option<Told> {
    if buffer.is_text() {
        return published(&buffer.name()?, buffer, value, value_at);
    }
    let mut keys = buffer.keys("the name of a buffer, or the bottle's {name: …, table: [[°C, pH], …]},")?;
    let label = keys.need("name", "the certificate names the bottle").and_then(|at| at.text());
    let rows = keys
        .need("table", "the pH of a bottle's own buffer is taken from its table, at the temperature of each reading")
        .and_then(|at| table::rows::<Ph>(&at, &table::PH));
    keys.finish();
    if let Some(extra) = value.or(value_at) {
        extra.tell(Problem::error(
            "certified-value-with-table",
            &extra.place(),
            "found a certified value beside the bottle's table",
            "a certified value shifts a published equation; a bottle's table already carries its own values",
            "remove `value:` and `at:`, or write the published buffer's name in place of the table",
        ));
        return None;
    }
    let kind = StandardKind::Buffer(BufferValue::bottle(&rows?).ok()?);
    Some(Told { kind, label: Some(label?), certified: None, quinhydrone_in: None })
}

fn published(name: &Text, at: &At<'_>, value: Option<&At<'_>>, value_at: Option<&At<'_>>) -> Option<Told> {
    let buffer = Buffer::from_name(&name.text);
    if buffer.is_none() {
        at.tell(unknown(name));
    }
    let certified = match (value, value_at) {
        (None, None) => None,
        (Some(value), Some(at)) => {
            let (value, at) = (value.number::<Ph>(), at.number::<Celsius>());
            Some((value?, at?))
        }
        (Some(given), None) => return half(given, "value", "at", "at: 25 °C"),
        (None, Some(given)) => return half(given, "at", "value", "value: 4.010"),
    };
    let Some((value, value_at)) = certified else {
        let kind = StandardKind::Buffer(BufferValue::published(buffer?));
        return Some(Told { kind, label: None, certified: None, quinhydrone_in: None });
    };
    let kind = StandardKind::Buffer(shifted(buffer?, &value, &value_at, at)?);
    let certified = Some(Certified { value: without_unit(value), at: value_at });
    Some(Told { kind, label: None, certified, quinhydrone_in: None })
}

fn half(given: &At<'_>, there: &str, missing: &str, example: &str) -> Option<Told> {
    given.tell(Problem::error(
        "certified-value-half",
        &given.place(),
        format!("found `{there}:` without `{missing}:`"),
        "a certified value holds at one temperature: both are needed, or neither",
        format!("add `{example}` as on the certificate of the lot, or remove `{there}:`"),
    ));
    None
}

/// The published buffer shifted to the certified value, which must be near.
fn shifted(buffer: Buffer, value: &Measured<Ph>, value_at: &Measured<Celsius>, at: &At<'_>) -> Option<BufferValue> {
    let published = match buffer.ph(value_at.value) {
        Ok(published) => published,
        Err(out_of_range) => {
            at.tell(outside(buffer, value_at, out_of_range));
            return None;
        }
    };
    let distance = (value.value - published).abs();
    let what = format!("found `{}` at `{}`; {} has {published:.3} there", value.text, value_at.text, buffer.name());
    if distance > OTHER_PH {
        let why = "a value so far away is that of another buffer, or a digit is wrong";
        at.tell(Problem::error(
            "certified-value-other-buffer",
            &value.place,
            what,
            why,
            other_buffers(value, value_at),
        ));
        return None;
    }
    if distance > FAR_PH {
        let why = format!("lots of a published buffer are certified within {FAR_PH} pH of it");
        let fix =
            "compare with the certificate of the lot; for a buffer of another composition give the bottle's table";
        at.tell(Problem::warning("certified-value-far", &value.place, what, why, fix).about([
            ("value", Fact::typed(&value.text)),
            ("temperature", Fact::typed(&value_at.text)),
            ("buffer", Fact::word("standard", buffer.name())),
            ("published", Fact::number(published, 3, "")),
        ]));
    }
    BufferValue::certified(buffer, value.value, value_at.value).ok()
}

fn outside(buffer: Buffer, value_at: &Measured<Celsius>, refused: OutOfRange) -> Problem {
    let range = refused.range;
    Problem::error(
        "certified-temperature-out-of-range",
        &value_at.place,
        format!("found `{}`", value_at.text),
        format!("the published values of {} hold from {} °C to {} °C", buffer.name(), range.from_c, range.to_c),
        "write the temperature at which the lot's value was certified, usually 25 °C",
    )
}

/// The buffers whose published value is near the certified one.
fn other_buffers(value: &Measured<Ph>, value_at: &Measured<Celsius>) -> String {
    let near = |buffer: &Buffer| buffer.ph(value_at.value).is_ok_and(|ph| (ph - value.value).abs() <= FAR_PH);
    let near: Vec<&str> = Buffer::ALL.into_iter().filter(near).map(Buffer::name).collect();
    if near.is_empty() {
        return "compare with the certificate of the lot".to_owned();
    }
    format!("write `buffer: {}` if that is on the bottle, or correct the value", near.join("` or `buffer: "))
}

fn unknown(name: &Text) -> Problem {
    let all = || Buffer::ALL.into_iter().map(Buffer::name);
    let meant: Vec<&str> = Buffer::suggested(&name.text).into_iter().map(Buffer::name).collect();
    let table = format!("{{name: \"{}\", table: [[°C, pH], …]}}", name.text);
    let fix = match (meant.as_slice(), nearest(&name.text, all())) {
        ([], Some(near)) => format!("write {near}"),
        ([], None) => format!(
            "write one of: {} \u{b7} or the bottle's own table: {table}",
            all().collect::<Vec<_>>().join(" \u{b7} ")
        ),
        ([one], _) => format!("write {one}, or the bottle's own table: {table}"),
        (several, _) => {
            format!("write {}, whichever the bottle names, or the bottle's own table: {table}", several.join(" or "))
        }
    };
    Problem::error(
        "unknown-buffer",
        &name.place,
        format!("found `{}`", name.text),
        "a buffer is named by its composition: one figure on a label stands for recipes that differ at other temperatures",
        fix,
    )
}

#[cfg(test)]
mod tests {
    use crate::kit::tests::{of_standard, refused, warned};

    fn fix_of(buffer: &str) -> String {
        let told = of_standard(&format!("{{buffer: {buffer}}}"));
        assert_eq!((told.len(), told[0].1, told[0].3), (1, "unknown-buffer", 10), "{buffer}");
        told[0].4.clone()
    }

    #[test]
    fn a_misspelt_buffer_gets_the_nearest_name() {
        assert_eq!(fix_of("phtalate"), "write phthalate");
        assert_eq!(fix_of("tetroxolate"), "write tetroxalate");
        assert_eq!(
            fix_of("calcium hydroxid"),
            "write calcium hydroxide, or the bottle's own table: {name: \"calcium hydroxid\", table: [[°C, pH], …]}"
        );
    }

    #[test]
    fn a_label_is_told_which_names_mean_it() {
        let table = |label: &str| format!("or the bottle's own table: {{name: \"{label}\", table: [[°C, pH], …]}}");
        assert_eq!(fix_of("4.01"), format!("write phthalate, {}", table("4.01")));
        assert_eq!(
            fix_of("pH 7"),
            format!("write phosphate or technical 7.00, whichever the bottle names, {}", table("pH 7"))
        );
        assert_eq!(fix_of("10.01"), format!("write carbonate, {}", table("10.01")));
        assert_eq!(fix_of("Phthalate"), format!("write phthalate, {}", table("Phthalate")));
        let unknown = fix_of("9.00");
        assert!(unknown.starts_with("write one of: tetroxalate \u{b7} tartrate"), "{unknown}");
        assert!(unknown.ends_with(&table("9.00")), "{unknown}");
    }

    #[test]
    fn a_certified_value_needs_its_temperature() {
        let fix = "add `at: 25 °C` as on the certificate of the lot, or remove `value:`";
        assert_eq!(of_standard("{buffer: phthalate, value: 4.010}"), refused("certified-value-half", 28, fix));
        let fix = "add `value: 4.010` as on the certificate of the lot, or remove `at:`";
        assert_eq!(of_standard("{buffer: phthalate, at: 25 °C}"), refused("certified-value-half", 25, fix));
    }

    #[test]
    fn a_certified_value_is_near_the_published_one() {
        let of = |value: &str| of_standard(&format!("{{buffer: phthalate, value: {value}, at: 25 °C}}"));
        assert_eq!((of("4.010"), of("4.10")), (vec![], vec![]));
        let fix =
            "compare with the certificate of the lot; for a buffer of another composition give the bottle's table";
        assert_eq!(of("4.11"), warned("certified-value-far", 28, fix));
        let fix = "write `buffer: phosphate` if that is on the bottle, or correct the value";
        assert_eq!(of("6.87"), refused("certified-value-other-buffer", 28, fix));
        assert_eq!(of("40.1"), refused("certified-value-other-buffer", 28, "compare with the certificate of the lot"));
    }

    #[test]
    fn a_certified_value_holds_inside_the_published_range() {
        let told = of_standard("{buffer: carbonate, value: 10.01, at: 60 °C}");
        let fix = "write the temperature at which the lot's value was certified, usually 25 °C";
        assert_eq!(told, refused("certified-temperature-out-of-range", 39, fix));
    }

    #[test]
    fn a_table_takes_no_certified_value() {
        let told = of_standard("{buffer: {name: X, table: [[20, 7.02], [25, 7.00]]}, value: 7.00, at: 25}");
        let fix = "remove `value:` and `at:`, or write the published buffer's name in place of the table";
        assert_eq!(told, refused("certified-value-with-table", 61, fix));
    }

    #[test]
    fn a_bottle_has_a_name_and_a_table() {
        let told = of_standard("{buffer: {}}");
        let fixes: Vec<&str> = told.iter().map(|p| p.4.as_str()).collect();
        assert_eq!(fixes, ["add `name: …`", "add `table: …`"]);
        assert_eq!(of_standard("{buffer: [4.01]}")[0].1, "expected-mapping");
    }
}
