//! The sentences of a finding, from its code and figures.
//!
//! A key of the catalogue is `code field`, or `code field figure` for a sentence that is told only where the finding has
//! that figure; `shared` stands for every code.

use super::Wording;
use crate::engine::diagnosis::{Hazard, On, RULES};
use crate::record::{EffectRecord, FindingRecord, Quantity, Record, RemedyRecord, Sentences};
use crate::rounding::{DecimalSign, beside, change, fixed, signed, with_unit};

/// Slopes are printed so that they never contradict these, percent.
///
/// Source: the thresholds that the sentences name (common practice, no source).
const SAID_PERCENT: [f64; 2] = [70.0, 90.0];

/// Figures whose absence has something to say.
///
/// Source: the keys of the catalogue; a test holds that there are no others.
const WITHOUT: [&str; 3] = ["wiring_step", "other_error_mv", "several_outputs"];

impl Wording {
    /// The name of a finding.
    pub fn finding_title(&self, code: &str) -> &str {
        self.label(&format!("finding {code} title"))
    }

    /// What it means, its evidence, advice and caution, as sentences.
    pub fn finding(&self, record: &Record, finding: &FindingRecord, sign: DecimalSign) -> Sentences {
        let fill = filled(finding, sign);
        let told = |field: &str| self.field(finding, field, &fill).join(" ");
        let [cause, _] = causes(record, finding);
        let mut evidence = vec![told("evidence")];
        evidence.extend(self.helped(record, finding, sign));
        let is_gone = finding.resolved == Some(true);
        if finding.resolved == Some(false) && finding.figures.get("left_slope_percent").is_some() {
            evidence.push(self.of_finding("shared left-slope", &fill));
        }
        let advice = match (is_gone, cause) {
            (false, _) => told("advice"),
            (true, Some("probe")) if record.quantity == Quantity::Redox => {
                self.of_finding("cause probe redox advice", &fill)
            }
            (true, Some(cause)) => self.of_finding(&format!("cause {cause} advice"), &fill),
            (true, None) => {
                let own = told("resolved");
                if own.is_empty() { self.of_finding("shared resolved", &fill) } else { own }
            }
        };
        let caution = (!is_gone).then(|| self.cautions(&hazards(finding.code))).flatten();
        let what = self.finding_cause(record, finding).unwrap_or_else(|| told("what"));
        Sentences { what, evidence: evidence.join(" "), advice, caution }
    }

    /// What the remedies say was the cause, and what took its part in it, where it is gone.
    pub fn finding_cause(&self, record: &Record, finding: &FindingRecord) -> Option<String> {
        let [first, second] = causes(record, finding).map(|cause| cause.filter(|_| finding.resolved == Some(true)));
        let main = self.of_finding(&format!("cause {}", first?), &[]);
        let too = second.map(|cause| self.of_finding(&format!("cause {cause} too"), &[]));
        Some([Some(main), too].into_iter().flatten().collect::<Vec<_>>().join(" "))
    }

    /// Cautions before what the advice may hurt; none where nothing can be hurt.
    pub fn cautions(&self, hazards: &[Hazard]) -> Option<String> {
        let key = |hazard: &Hazard| match hazard {
            Hazard::Acid => "caution acid",
            Hazard::Glass => "caution glass",
            Hazard::Wiring => "caution wiring",
            Hazard::Solutions => "caution solutions",
            Hazard::Control => "caution control",
        };
        let keys = hazards.iter().map(key).chain(["caution defer"]);
        let said: Vec<String> = keys.map(|key| self.of_finding(key, &[])).collect();
        (!hazards.is_empty()).then(|| said.join(" "))
    }

    /// The sentence of a field, then those of its figures, in the order of the figures, then those of figures it lacks.
    fn field(&self, finding: &FindingRecord, field: &str, fill: &[(String, String)]) -> Vec<String> {
        let code = finding.code;
        let of_figure = |(name, _): (&str, f64)| {
            let keys = [format!("{code} {field} {name}"), format!("shared {field} {name}")];
            keys.into_iter().find(|key| self.has_finding(key))
        };
        let lacking = WITHOUT.iter().filter(|name| finding.figures.get(name).is_none());
        let lacking = lacking.map(|name| format!("{code} {field} without {name}")).filter(|key| self.has_finding(key));
        let base = Some(format!("{code} {field}")).filter(|key| self.has_finding(key));
        let keys = base.into_iter().chain(finding.figures.iter().filter_map(of_figure)).chain(lacking);
        keys.map(|key| self.of_finding(&key, fill)).collect()
    }

    fn has_finding(&self, key: &str) -> bool {
        let key = format!("finding {key}");
        self.labels.contains_key(&key) || self.sentences.has_template(&key)
    }

    fn of_finding(&self, key: &str, fill: &[(String, String)]) -> String {
        let key = format!("finding {key}");
        if let Some(label) = self.labels.get(&key) {
            return label.clone();
        }
        let fill: Vec<(&str, &str)> = fill.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        self.say(&key, &fill)
    }

    /// Which remedies helped, and by how much.
    fn helped(&self, record: &Record, finding: &FindingRecord, sign: DecimalSign) -> Vec<String> {
        let said = |figure: &str| {
            let (step, remedy, effect) = helper(record, finding, figure)?;
            let (on, change) = changed(&effect, sign);
            let fill = [
                ("step".to_owned(), step.to_string()),
                ("remedy".to_owned(), self.word("remedy", &remedy.remedy).to_owned()),
                ("change".to_owned(), change),
            ];
            Some(self.of_finding(&format!("shared helped {on}"), &fill))
        };
        ["helped_step", "helped_too_step"].into_iter().filter_map(said).collect()
    }
}

/// What the advice of a finding may hurt.
pub fn hazards(code: &str) -> Vec<Hazard> {
    RULES.iter().find(|rule| rule.code == code).map_or_else(Vec::new, |rule| rule.hazards.to_vec())
}

/// The remedy that a figure of a finding numbers, with its effect.
fn helper<'a>(
    record: &'a Record,
    finding: &FindingRecord,
    figure: &str,
) -> Option<(usize, &'a RemedyRecord, EffectRecord)> {
    let step = finding.figures.get(figure)? as usize;
    let remedy = record.remedies.get(step.checked_sub(1)?)?;
    Some((step, remedy, remedy.effect?))
}

/// Key and text of what a remedy changed.
fn changed(effect: &EffectRecord, sign: DecimalSign) -> (&'static str, String) {
    let (on, decimals, unit) = match effect.on {
        On::Slope => ("slope", 1, "%"),
        On::Offset => ("offset", 1, "mV"),
        On::Response => ("response", 0, "s"),
        On::Error => ("error", 0, "mV"),
    };
    let change = change(effect.before, effect.after, decimals);
    let text = match effect.on {
        On::Slope => signed(change, decimals, sign),
        On::Offset | On::Response | On::Error => fixed(change.abs(), decimals, sign),
    };
    (on, with_unit(&text, unit))
}

/// What the remedies that helped say of the cause: the first and, where it is another, the second. A glass that gained
/// from a soak had dried out, whatever cleaned it after. Remedies without readings between them tell only what they share.
fn causes(record: &Record, finding: &FindingRecord) -> [Option<&'static str>; 2] {
    let both = ["helped_step", "helped_too_step"].map(|figure| {
        let (step, remedy, effect) = helper(record, finding, figure)?;
        let shared = &record.remedies[step.saturating_sub(1 + effect.together_with)..step];
        let cause = cause(&remedy.remedy, record.quantity);
        cause.filter(|_| shared.iter().all(|other| self::cause(&other.remedy, record.quantity) == cause))
    });
    match both {
        [Some("film"), Some("dry")] | [Some("dry"), Some("film")] => [Some("dry"), None],
        [first, second] if first == second => [first, None],
        [None, second] => [second, None],
        both => both,
    }
}

/// What a remedy that helped says of the cause, by its word in the record.
fn cause(remedy: &str, quantity: Quantity) -> Option<&'static str> {
    let cause = match remedy {
        "rinsed"
        | "wiped"
        | "cleaned with detergent and soft brush"
        | "acid soak"
        | "pepsin soak"
        | "disinfected with bleach" => "film",
        "rehydrated in buffer" | "storage solution soak" => "dry",
        "bubble removed" | "electrolyte topped up" | "reference solution replaced" => "reference",
        "junction cleaned" | "junction renewed" => "junction",
        "metal polished" => "metal",
        "connector dried" | "cable replaced" | "wiring corrected" | "analyser replaced" => "wiring",
        "probe replaced" => "probe",
        _ => return None,
    };
    match (quantity, cause) {
        (Quantity::Redox, "film") => Some("metal"),
        (Quantity::Redox, "dry") => None,
        (Quantity::Redox | Quantity::Ph, cause) => Some(cause),
    }
}

/// Every figure as text, with its unit.
fn filled(finding: &FindingRecord, sign: DecimalSign) -> Vec<(String, String)> {
    finding.figures.iter().map(|(name, value)| (name.to_owned(), figure(name, value, sign))).collect()
}

/// Names of figures that carry their sign.
const SIGNED: [&str; 7] = ["error", "moved", "difference", "fouling", "shown_off", "drift", "cost"];

/// A figure as text; the end of its name is its unit.
fn figure(name: &str, value: f64, sign: DecimalSign) -> String {
    let number = |decimals: usize| match SIGNED.iter().any(|part| name.contains(part)) {
        true => signed(value, decimals, sign),
        false => fixed(value, decimals, sign),
    };
    let resistance = |unit: &str| with_unit(&number(usize::from(value.abs() < 10.0)), unit);
    match name.rsplit_once('_').map_or(name, |(_, unit)| unit) {
        "percent" if name.contains("output") || name.contains("room") => with_unit(&number(2), "%"),
        "percent" => with_unit(&number(beside(value, 1, &SAID_PERCENT)), "%"),
        "min" => with_unit(&number(1), "mV/min"),
        "mv" if name.starts_with("fouling") => with_unit(&number(0), "mV"),
        "mv" => with_unit(&number(1), "mV"),
        "ph" if name.starts_with("cost") => number(3),
        "ph" => number(2),
        "c" => with_unit(&number(1), "°C"),
        "s" if value >= 120.0 => with_unit(&number_of_minutes(value, sign), "min"),
        "s" => with_unit(&number(0), "s"),
        "ma" => with_unit(&number(2), "mA"),
        "mohm" if value.abs() >= 1000.0 => with_unit(&fixed(value / 1000.0, 1, sign), "GΩ"),
        "mohm" => resistance("MΩ"),
        "kohm" => resistance("kΩ"),
        _ => number(0),
    }
}

fn number_of_minutes(seconds: f64, sign: DecimalSign) -> String {
    let minutes = seconds / 60.0;
    fixed(minutes, usize::from((minutes - minutes.round()).abs() > 0.05), sign)
}
