//! One bound of a criterion: its number, its unit, and what speaks against it by itself.

use super::criteria::Subject;
use super::{Bound, BoundWord, Criterion};
use crate::problem::Problem;
use crate::quantity::{Measured, Unit};
use crate::reference::slope_mv_per_ph;
use crate::yaml::At;

impl Subject {
    /// A bound in the unit `U`; what the number room says of it gets the names of set and field.
    pub(super) fn bound<U: Unit>(&self, at: &At<'_>, word: BoundWord) -> Option<Bound> {
        let typed = at.raw().filter(|raw| !raw.trim().is_empty());
        let refused = typed.and_then(|raw| Measured::<U>::parse(raw, &at.place()).err());
        if let Some(problem) = refused {
            let what = format!("{} ({})", problem.what, self.field);
            at.tell(Problem { what, ..problem });
            return None;
        }
        let typed = at.number::<U>()?;
        match self.objection(&typed, word) {
            None => Some(plain(&typed)),
            Some(problem) => {
                at.tell(problem);
                None
            }
        }
    }

    /// What speaks against one bound by itself.
    fn objection<U: Unit>(&self, typed: &Measured<U>, word: BoundWord) -> Option<Problem> {
        let what = format!("found `{}: {}` ({})", word.word(), typed.text, self.field);
        let error = |code, why: &str, fix: String| Some(Problem::error(code, &typed.place, &what, why, fix));
        let is_percent_of_theory = matches!(self.criterion, Criterion::Slope | Criterion::Gain);
        if is_percent_of_theory && word.is_beyond() {
            let (side, other) =
                if word.is_warn() { ("warn_below", "warn_above") } else { ("fail_below", "fail_above") };
            let why = "`beyond` bounds a magnitude around zero, and a healthy value lies near 100 %";
            return error("limit-word", why, format!("write {side} or {other}"));
        }
        if is_percent_of_theory && (0.0..=1.5).contains(&typed.value) {
            let percent = (typed.value * 1e4).round() / 100.0;
            let why = "it is due in percent and looks like a fraction";
            return error("slope-as-fraction", why, format!("write {percent} %"));
        }
        if self.criterion == Criterion::Slope && !typed.text.contains('%') && (50.0..=62.0).contains(&typed.value) {
            let percent = (typed.value / slope_mv_per_ph(25.0) * 1000.0).round() / 10.0;
            let why =
                "it is due in percent of the theoretical slope (59.16 mV per pH at 25 °C) and looks like mV per pH";
            let fix =
                format!("write {percent} % if {} mV per pH is meant, {} % if percent is meant", typed.text, typed.text);
            return error("slope-in-millivolts", why, fix);
        }
        let never_negative = word.is_beyond() || matches!(self.criterion, Criterion::Settling | Criterion::JunctionAge);
        if never_negative && typed.value <= 0.0 {
            let why = "a magnitude, a time or an age is bounded above zero";
            let positive = typed.text.trim_start_matches(['-', '\u{2212}']);
            let fix = if typed.value < 0.0 {
                format!("write {positive}")
            } else {
                "write a value above zero, or remove it".to_owned()
            };
            return error("limit-not-positive", why, fix);
        }
        None
    }
}

/// The bound with the decimals of its step: `0.10` → 2, `0.05 V` → 0.
fn plain<U: Unit>(typed: &Measured<U>) -> Bound {
    let decimals = (-typed.step.log10()).round().clamp(0.0, 12.0);
    Bound { value: typed.value, decimals: decimals as usize }
}

#[cfg(test)]
mod tests {
    use crate::limits::criteria::tests::{HEAD, assert_ph, only};
    use crate::limits::tests::valid;
    use crate::limits::{Bound, Criterion, Limit};

    #[test]
    fn a_magnitude_is_above_zero() {
        assert_ph("offset: {fail_beyond: -50 mV}", "limit-not-positive", 25, "write 50 mV");
        assert_ph(
            "as_left_error: {fail_beyond: 0}",
            "limit-not-positive",
            32,
            "write a value above zero, or remove it",
        );
        assert_ph("settling: {warn_above: -5}", "limit-not-positive", 26, "write 5");
    }

    #[test]
    fn a_slope_is_in_percent() {
        assert_ph("slope: {fail_below: 0.8}", "slope-as-fraction", 23, "write 80 %");
        assert_ph("slope: {fail_below: 0.855}", "slope-as-fraction", 23, "write 85.5 %");
        let fix = "write 98 % if 58 mV per pH is meant, 58 % if percent is meant";
        assert_ph("slope: {fail_below: 58}", "slope-in-millivolts", 23, fix);
        let limits = valid(&format!("{HEAD}pH:\n  slope: {{fail_below: 58 %}}\n"));
        let limit = Limit { fail_below: Some(Bound { value: 58.0, decimals: 0 }), ..Limit::default() };
        assert_eq!(limits.ph, [(Criterion::Slope, limit)]);
        let problem = only("pH", "slope: {fail_below: 58 mV}");
        assert_eq!((problem.code, problem.place.column), ("wrong-unit", 23));
    }

    #[test]
    fn a_slope_is_not_bounded_by_its_magnitude() {
        assert_ph("slope: {fail_beyond: 80 %}", "limit-word", 24, "write fail_below or fail_above");
        assert_ph("slope: {warn_beyond: 80 %}", "limit-word", 24, "write warn_below or warn_above");
    }

    #[test]
    fn a_limit_in_another_unit_names_set_and_field() {
        assert_ph(
            "temperature: {fail_beyond: 0.1 pH}",
            "wrong-unit",
            30,
            &only("pH", "temperature: {fail_beyond: 0.1 pH}").fix,
        );
        let problem = only("redox", "as_found_error: {fail_beyond: 0.2 pH}");
        assert_eq!((problem.code, problem.place.path.as_str()), ("wrong-unit", "redox.as_found_error.fail_beyond"));
        assert_ph("offset: {fail_beyond: .nan}", "not-finite", 25, &only("pH", "offset: {fail_beyond: .nan}").fix);
    }

    #[test]
    fn what_was_told_is_not_told_again() {
        assert_eq!(only("pH", "offset: {fail_beyond: 0,5}").code, "decimal-comma");
        assert_eq!(only("pH", "offset: {fail_beyond: ~}").code, "empty-value");
        assert_eq!(only("pH", "offset: {fail_beyond: \"\"}").code, "empty-value");
        assert_eq!(only("pH", "offset: {fail_beyond: [50]}").code, "expected-value");
    }
}
