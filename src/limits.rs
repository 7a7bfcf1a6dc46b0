//! The limits file: what is demanded, by whom, under which decision rule; and the judging of one value.
//!
//! Comes in: the tree of a limits file. Goes out: [`Limits`] and every problem; [`judge`] says how a value stands
//! against one [`Limit`]. Next: [`crate::record`].

mod bound;
mod built_in;
mod criteria;
mod judge;
mod rule;
mod words;

pub use built_in::built_in;
pub use judge::{Judged, Judgement, judge};

use crate::quantity::{Date, Span};
use crate::yaml::{At, Text};

/// A named, dated set of limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// Name; the built-in set is called `built-in`.
    pub name: String,
    /// Revision as typed.
    pub revision: Option<String>,
    /// First day on which it holds.
    pub effective: Option<Date>,
    /// Who approved it.
    pub approved_by: Option<Text>,
    /// What it rests on.
    pub basis: Option<Text>,
    /// Whether it is the built-in set.
    pub built_in: bool,
    /// Regime: what must be present.
    pub requirements: Regime,
    /// Decision rule.
    pub decision: Decision,
    /// Reproducibility of taking a probe from buffer to buffer: standard uncertainty in mV, degrees of freedom.
    pub reproducibility: Option<Reproducibility>,
    /// How long documents judged by them are kept at least.
    pub keep: Option<Span>,
    /// Limits for pH loops.
    pub ph: Vec<(Criterion, Limit)>,
    /// Limits for redox loops.
    pub redox: Vec<(Criterion, Limit)>,
}

/// Declared reproducibility.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reproducibility {
    /// Standard uncertainty in mV.
    pub u_mv: f64,
    /// Degrees of freedom.
    pub dof: f64,
}

/// What must be present and which warnings become errors.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Regime {
    /// Plain industrial client.
    #[default]
    Plain,
    /// Drinking- or waste-water permit.
    Permit,
    /// Pharmaceutical GMP.
    Gmp,
    /// Laboratory working to ISO/IEC 17025.
    Laboratory,
}

/// Decision rule.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Decision {
    /// Simple acceptance: a value on the limit is inside.
    #[default]
    Simple,
    /// Guard band of this multiple of the expanded uncertainty.
    Guarded(f64),
}

/// What is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Criterion {
    /// Slope in percent of theoretical.
    Slope,
    /// Offset in mV of the fit at pH 7.
    Offset,
    /// Error of each shown value as found, pH or mV.
    AsFoundError,
    /// Error of each shown value as left, pH or mV.
    AsLeftError,
    /// Redox gain in percent.
    Gain,
    /// Error at a standard that was not used to calibrate, pH or mV.
    CheckStandard,
    /// Error of the shown temperature, °C.
    Temperature,
    /// Error of the output and of the control room in percent of span.
    Output,
    /// Difference to a sample, pH or mV.
    Sample,
    /// Time to within 0.01 pH, s.
    Settling,
    /// Age of the junction in months.
    JunctionAge,
}

/// One bound with the digits as typed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// Value in the unit of the criterion.
    pub value: f64,
    /// Digits after the decimal point as typed (`0.10` → 2).
    pub decimals: usize,
}

/// The bounds of one criterion. `beyond` bounds the magnitude.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limit {
    /// Warn below.
    pub warn_below: Option<Bound>,
    /// Warn above.
    pub warn_above: Option<Bound>,
    /// Warn when the magnitude is larger.
    pub warn_beyond: Option<Bound>,
    /// Fail below.
    pub fail_below: Option<Bound>,
    /// Fail above.
    pub fail_above: Option<Bound>,
    /// Fail when the magnitude is larger.
    pub fail_beyond: Option<Bound>,
}

/// How a bound is written: `warn_` or `fail_` with `below`, `above` or `beyond`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum BoundWord {
    WarnBelow,
    WarnAbove,
    WarnBeyond,
    FailBelow,
    FailAbove,
    FailBeyond,
}

impl Limit {
    /// The bound of this word.
    pub fn bound(&self, word: BoundWord) -> Option<Bound> {
        match word {
            BoundWord::WarnBelow => self.warn_below,
            BoundWord::WarnAbove => self.warn_above,
            BoundWord::WarnBeyond => self.warn_beyond,
            BoundWord::FailBelow => self.fail_below,
            BoundWord::FailAbove => self.fail_above,
            BoundWord::FailBeyond => self.fail_beyond,
        }
    }

    /// Lowest and highest value that does not fail.
    pub fn fail_interval(&self) -> [Option<f64>; 2] {
        interval(self.fail_below, self.fail_above, self.fail_beyond)
    }

    /// Lowest and highest value that does not warn.
    pub fn warn_interval(&self) -> [Option<f64>; 2] {
        interval(self.warn_below, self.warn_above, self.warn_beyond)
    }
}

/// The tighter of `below` and −`beyond`, and of `above` and `beyond`.
fn interval(below: Option<Bound>, above: Option<Bound>, beyond: Option<Bound>) -> [Option<f64>; 2] {
    let value = |bound: Option<Bound>| bound.map(|bound| bound.value);
    let magnitude = value(beyond);
    let low = value(below).into_iter().chain(magnitude.map(|m| -m)).reduce(f64::max);
    let high = value(above).into_iter().chain(magnitude).reduce(f64::min);
    [low, high]
}

/// Whether a file with these top keys is a limits file.
pub fn is_kind(top_keys: &[&str]) -> bool {
    const OWN: [&str; 6] = ["limits", "requirements", "decision", "reproducibility", "pH", "redox"];
    const OTHERS: [&str; 6] = ["visit", "loops", "client", "firm", "standards", "instruments"];
    OWN.iter().any(|key| top_keys.contains(key)) && !OTHERS.iter().any(|key| top_keys.contains(key))
}

/// Reads a limits file; `at` is its root.
///
/// # Errors
/// Booked in the tree: `missing-key`, `guard-out-of-range`, `reproducibility-not-positive`, `limit-word`,
/// `limit-not-positive`, `limit-reversed`, `warn-never-reached`, `limit-empty`, `criterion-of-other-quantity`,
/// `slope-as-fraction`, `slope-in-millivolts` and those of a number. `None` without a name.
pub fn check(at: &At<'_>) -> Option<Limits> {
    let mut keys = at.keys("a limits file with `limits:`, `pH:` and `redox:`")?;
    let mut head = keys
        .need("limits", "a verdict names the set of limits and its revision (ISO/IEC 17025:2017, 7.8.6.2 b)")
        .and_then(|at| head(&at));
    let requirements = keys.get("requirements").and_then(|at| at.word("the regime", Regime::WORDS));
    let decision = keys.get("decision").and_then(|at| rule::decision(&at));
    let reproducibility = keys.get("reproducibility").and_then(|at| rule::reproducibility(&at));
    let keep = keys.get("keep").and_then(|at| at.span());
    let set = head.as_ref().map_or_else(|| "these limits".to_owned(), Limits::title);
    let ph = keys.get("pH").map(|at| criteria::ph(&at, &set)).unwrap_or_default();
    let redox = keys.get("redox").map(|at| criteria::redox(&at, &set)).unwrap_or_default();
    keys.finish();
    if let Some(limits) = head.as_mut() {
        limits.requirements = requirements.unwrap_or_default();
        limits.decision = decision.unwrap_or_default();
        (limits.reproducibility, limits.keep) = (reproducibility, keep);
        (limits.ph, limits.redox) = (ph, redox);
    }
    head
}

impl Limits {
    /// As named in messages: ``limits `effluent-ph`, revision 3``.
    pub fn title(&self) -> String {
        let revision = self.revision.as_ref().map(|revision| format!(", revision {revision}"));
        format!("limits `{}`{}", self.name, revision.unwrap_or_default())
    }
}

/// The mapping `limits`: name, revision and whence.
fn head(at: &At<'_>) -> Option<Limits> {
    let mut keys = at.keys("the set of limits (name, revision, effective, approved_by, basis)")?;
    let name =
        keys.need("name", "a verdict names the set of limits (ISO/IEC 17025:2017, 7.8.6.2 b)").and_then(|at| at.text());
    let revision = keys.get("revision").and_then(|at| at.text());
    let effective = keys.get("effective").and_then(|at| at.date());
    let approved_by = keys.get("approved_by").and_then(|at| at.text());
    let basis = keys.get("basis").and_then(|at| at.text());
    keys.finish();
    Some(Limits {
        name: name?.text,
        revision: revision.map(|revision| revision.text),
        effective,
        approved_by,
        basis,
        built_in: false,
        requirements: Regime::default(),
        decision: Decision::default(),
        reproducibility: None,
        keep: None,
        ph: Vec::new(),
        redox: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Problem;
    use crate::problem::Severity;

    /// Every problem as severity, code, line, column, fix.
    pub(super) type Told = (Severity, &'static str, u32, u32, String);

    pub(super) fn problems(text: &str) -> Vec<Problem> {
        let tree = crate::yaml::read("limits/effluent.yaml", text.as_bytes()).expect("a tree");
        check(&tree.root());
        tree.problems()
    }

    pub(super) fn told(text: &str) -> Vec<Told> {
        let told = |p: Problem| (p.severity, p.code, p.place.line, p.place.column, p.fix);
        problems(text).into_iter().map(told).collect()
    }

    pub(super) fn valid(text: &str) -> Limits {
        let tree = crate::yaml::read("limits/effluent.yaml", text.as_bytes()).expect("a tree");
        let limits = check(&tree.root());
        assert_eq!(tree.problems(), [], "{text}");
        limits.expect("limits")
    }

    pub(super) fn error(code: &'static str, line: u32, column: u32, fix: &str) -> Vec<Told> {
        vec![(Severity::Error, code, line, column, fix.to_owned())]
    }

    #[test]
    fn a_whole_set_is_read() {
        let limits = valid(
            "limits: {name: effluent-ph, revision: 1.10, effective: 2026-01-01, approved_by: M. Orrisby, basis: permit}
requirements: permit
decision: {guard: 0.5}
reproducibility: {u: 0.0005 V, dof: 4}
keep: 10 years
pH:
  slope:          {warn_below: 80 %, fail_below: 70 %, fail_above: 105 %}
  offset:         {warn_beyond: 30 mV, fail_beyond: 0.05 V}
  as_found_error: {fail_beyond: 0.20 pH}
  settling:       {warn_beyond: 2 min}
  junction_age:   {warn_beyond: 1 year}
redox:
  as_found_error: {fail_beyond: 20 mV}
  gain:           {fail_below: 90 %, fail_above: 110 %}
",
        );
        assert_eq!((limits.name.as_str(), limits.revision.as_deref()), ("effluent-ph", Some("1.10")));
        assert_eq!((limits.requirements, limits.decision), (Regime::Permit, Decision::Guarded(0.5)));
        assert_eq!(limits.reproducibility, Some(Reproducibility { u_mv: 0.5, dof: 4.0 }));
        assert_eq!(limits.keep.as_ref().map(Span::text).as_deref(), Some("10 years"));
        let bound = |criterion, word| limits.ph.iter().find(|(c, _)| *c == criterion)?.1.bound(word);
        let slope = bound(Criterion::Slope, BoundWord::FailBelow);
        assert_eq!(slope, Some(Bound { value: 70.0, decimals: 0 }));
        assert_eq!(bound(Criterion::Offset, BoundWord::FailBeyond), Some(Bound { value: 50.0, decimals: 0 }));
        assert_eq!(bound(Criterion::AsFoundError, BoundWord::FailBeyond), Some(Bound { value: 0.2, decimals: 2 }));
        assert_eq!(bound(Criterion::Settling, BoundWord::WarnBeyond).map(|b| b.value), Some(120.0));
        assert_eq!(bound(Criterion::JunctionAge, BoundWord::WarnBeyond).map(|b| b.value), Some(12.0));
        assert_eq!(limits.redox.len(), 2);
        assert!(!limits.built_in);
    }

    #[test]
    fn a_set_has_a_name() {
        assert_eq!(told("limits: {revision: 3}"), error("missing-key", 1, 9, "add `name: …`"));
        assert_eq!(told("decision: simple"), error("missing-key", 1, 1, "add `limits: …`"));
    }

    #[test]
    fn how_long_documents_are_kept_is_a_length_of_time() {
        let fix = "write it like 10 years, 18 months or 90 days";
        assert_eq!(told("limits: {name: a}\nkeep: 0 years\n"), error("span-not-whole", 2, 7, fix));
        assert_eq!(told("limits: {name: a, keep: 3 years}\n").iter().map(|p| p.1).collect::<Vec<_>>(), ["unknown-key"]);
    }

    #[test]
    fn the_regime_is_a_word() {
        let fix = "did you mean `gmp`? allowed: plain, permit, gmp, laboratory";
        assert_eq!(told("limits: {name: a}\nrequirements: GMP\n"), error("unknown-word", 2, 15, fix));
    }

    #[test]
    fn a_limits_file_is_recognised() {
        assert!(is_kind(&["limits", "pH"]) && is_kind(&["redox"]));
        assert!(!is_kind(&["client", "limits"]) && !is_kind(&["firm", "limits"]) && !is_kind(&["visit"]));
    }
}
