//! Decision rule and reproducibility of a limits file.

use super::{Decision, Reproducibility};
use crate::problem::Problem;
use crate::quantity::{Measured, Millivolt, Plain, Unit};
use crate::yaml::At;

/// Largest guard band as a multiple of U.
///
/// Source: ILAC-G8:09/2019, table 1 (from memory): the widest guard band listed is 3 U.
const WIDEST_GUARD: f64 = 3.0;

/// The decision rule: a word, or `{guard: 0.5}`.
pub(super) fn decision(at: &At<'_>) -> Option<Decision> {
    if at.is_text() {
        return at.word("the decision rule (or {guard: 0.5} for a guard band of 0.5 U)", Decision::WORDS);
    }
    let mut keys = at.keys("simple, guarded or {guard: 0.5}")?;
    let guard = keys
        .need("guard", "the guard band is this multiple of the expanded uncertainty U")
        .and_then(|at| at.number::<Plain>());
    keys.finish();
    let guard = guard?;
    if guard.value > 0.0 && guard.value <= WIDEST_GUARD {
        return Some(Decision::Guarded(guard.value));
    }
    at.tell(Problem::error(
        "guard-out-of-range",
        &guard.place,
        format!("found `{}`", guard.text),
        format!("a guard band is a multiple of U above 0 and up to {WIDEST_GUARD}"),
        "write {guard: 0.5} for half of U, `guarded` for U, `simple` for none",
    ));
    None
}

/// The reproducibility: `{u: 0.5 mV, dof: 4}`.
pub(super) fn reproducibility(at: &At<'_>) -> Option<Reproducibility> {
    let mut keys = at.keys("a reproducibility like {u: 0.5 mV, dof: 4}")?;
    let why = "reproducibility is a standard uncertainty with its degrees of freedom";
    let u_mv = keys.need("u", why).and_then(|at| positive::<Millivolt>(&at, "0.5 mV"));
    let dof = keys.need("dof", why).and_then(|at| positive::<Plain>(&at, "4"));
    keys.finish();
    Some(Reproducibility { u_mv: u_mv?.value, dof: dof?.value })
}

fn positive<U: Unit>(at: &At<'_>, example: &str) -> Option<Measured<U>> {
    let typed = at.number::<U>()?;
    if typed.value > 0.0 {
        return Some(typed);
    }
    at.tell(Problem::error(
        "reproducibility-not-positive",
        &typed.place,
        format!("found `{}`", typed.text),
        "a standard uncertainty and its degrees of freedom are above zero",
        format!("write a value like {example}, or leave `reproducibility:` out (0.5 mV with 4 degrees of freedom is then assumed)"),
    ));
    None
}

#[cfg(test)]
mod tests {
    use crate::limits::tests::{error, told};

    #[test]
    fn the_rule_is_a_word_or_a_guard() {
        let of = |decision: &str| told(&format!("limits: {{name: a}}\ndecision: {decision}\n"));
        let fix = "write {guard: 0.5} for half of U, `guarded` for U, `simple` for none";
        for guard in ["0", "-1", "3.1"] {
            assert_eq!(of(&format!("{{guard: {guard}}}")), error("guard-out-of-range", 2, 19, fix), "{guard}");
        }
        assert_eq!((of("guarded"), of("{guard: 3}")), (vec![], vec![]));
        assert_eq!(of("simpel"), error("unknown-word", 2, 11, "did you mean `simple`? allowed: simple, guarded"));
        assert_eq!(of("{gaurd: 1}").iter().map(|p| p.1).collect::<Vec<_>>(), ["unknown-key"]);
    }

    #[test]
    fn a_reproducibility_is_whole_and_above_zero() {
        let of = |value: &str| told(&format!("limits: {{name: a}}\nreproducibility: {value}\n"));
        assert_eq!(of("{u: 0.5}"), error("missing-key", 2, 18, "add `dof: …`"));
        let fix = "write a value like 0.5 mV, or leave `reproducibility:` out (0.5 mV with 4 degrees of freedom is then assumed)";
        assert_eq!(of("{u: 0, dof: 4}"), error("reproducibility-not-positive", 2, 22, fix));
    }
}
