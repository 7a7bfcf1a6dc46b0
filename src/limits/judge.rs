//! How one value stands against the bounds of one criterion.

use super::{Bound, BoundWord, Decision, Limit};

/// Values nearer to a limit than this, relative to a limit above 1 and absolute below, are on it: it absorbs that 0.1 and
/// 0.3 − 0.2 are different doubles.
///
/// Source: our own choice, far below any digit that is typed or printed.
const ON_THE_LIMIT: f64 = 1e-9;

/// Outcome of judging one value, from best to worst.
///
/// Source: JCGM 106:2012, clauses 8.2 and 8.3 (simple and guarded acceptance); ILAC-G8:09/2019, 4.2.3 (non-binary
/// statements); both from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Judgement {
    /// Inside every limit.
    Pass,
    /// Inside the fail limits, outside a warn limit.
    Warn,
    /// Inside the fail limits, but nearer than the guard band.
    ConditionalPass,
    /// Outside a fail limit, but nearer than the guard band.
    ConditionalFail,
    /// Outside.
    Fail,
}

/// A judged value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// The outcome: the worst over all bounds.
    pub outcome: Judgement,
    /// The bound that decided it; for a pass the nearest one.
    pub word: BoundWord,
    /// That bound.
    pub bound: Bound,
    /// Whether the guard bands of two fail limits meet, so that no value can pass.
    pub no_value_can_pass: bool,
}

/// Judges a finite value, in the unit of its criterion, by a decision rule; `expanded` is the expanded uncertainty U in
/// the same unit.
///
/// Simple: on the limit or inside is a pass. Guarded with w = r·U: pass up to limit − w, conditional pass up to the limit,
/// conditional fail up to limit + w, fail beyond. Warn limits carry no guard band. The outcome is the worst of all bounds.
/// Where 2·w is not less than the distance of two fail limits no value can pass, which is said; inside is then a
/// conditional pass.
///
/// `None`: not judged, because there is no bound, the value is not finite, or the rule needs an uncertainty for a fail
/// limit and there is none.
///
/// ```
/// use halfcell::limits::{Bound, Decision, Judgement, Limit, judge};
/// let limit = Limit { fail_beyond: Some(Bound { value: 0.10, decimals: 2 }), ..Limit::default() };
/// let judged = judge(0.08, &limit, Decision::Guarded(1.0), Some(0.04)).unwrap();
/// assert_eq!(judged.outcome, Judgement::ConditionalPass);
/// assert_eq!(judge(0.08, &limit, Decision::Simple, None).unwrap().outcome, Judgement::Pass);
/// assert_eq!(judge(0.08, &limit, Decision::Guarded(1.0), None), None);
/// ```
pub fn judge(value: f64, limit: &Limit, decision: Decision, expanded: Option<f64>) -> Option<Judged> {
    let has_fail = limit.fail_interval().iter().any(Option::is_some);
    let guard = match decision {
        Decision::Guarded(multiple) if has_fail => multiple * expanded.filter(|u| u.is_finite() && *u >= 0.0)?,
        Decision::Guarded(_) | Decision::Simple => 0.0,
    };
    if !value.is_finite() {
        return None;
    }
    let no_value_can_pass = guard_bands_meet(limit, guard);
    let bounds = BoundWord::WORDS.iter().filter_map(|(_, word)| Some((*word, limit.bound(*word)?)));
    let judged = bounds.map(|(word, bound)| {
        let excess = excess(value, word, bound);
        let best = if no_value_can_pass && !word.is_warn() { Judgement::ConditionalPass } else { Judgement::Pass };
        let outcome = against(excess, word, guard, ON_THE_LIMIT * bound.value.abs().max(1.0)).max(best);
        (excess, Judged { outcome, word, bound, no_value_can_pass })
    });
    let worse = |a: &(f64, Judged), b: &(f64, Judged)| a.1.outcome.cmp(&b.1.outcome).then(a.0.total_cmp(&b.0));
    judged.max_by(worse).map(|(_, judged)| judged)
}

/// How far a value lies outside a bound; negative inside.
fn excess(value: f64, word: BoundWord, bound: Bound) -> f64 {
    match word {
        BoundWord::WarnBelow | BoundWord::FailBelow => bound.value - value,
        BoundWord::WarnAbove | BoundWord::FailAbove => value - bound.value,
        BoundWord::WarnBeyond | BoundWord::FailBeyond => value.abs() - bound.value,
    }
}

fn against(excess: f64, word: BoundWord, guard: f64, on_it: f64) -> Judgement {
    if word.is_warn() {
        return if excess <= on_it { Judgement::Pass } else { Judgement::Warn };
    }
    if excess <= on_it - guard {
        Judgement::Pass
    } else if excess <= on_it {
        Judgement::ConditionalPass
    } else if guard > 0.0 && excess <= on_it + guard {
        Judgement::ConditionalFail
    } else {
        Judgement::Fail
    }
}

/// Whether two fail limits leave no room between their guard bands.
fn guard_bands_meet(limit: &Limit, guard: f64) -> bool {
    let [Some(low), Some(high)] = limit.fail_interval() else {
        return false;
    };
    let on_it = ON_THE_LIMIT * low.abs().max(high.abs()).max(1.0);
    guard > 0.0 && 2.0 * guard >= high - low - on_it
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limit(bounds: &[(BoundWord, f64)]) -> Limit {
        let mut limit = Limit::default();
        for (word, value) in bounds {
            let slot = match word {
                BoundWord::WarnBelow => &mut limit.warn_below,
                BoundWord::WarnAbove => &mut limit.warn_above,
                BoundWord::WarnBeyond => &mut limit.warn_beyond,
                BoundWord::FailBelow => &mut limit.fail_below,
                BoundWord::FailAbove => &mut limit.fail_above,
                BoundWord::FailBeyond => &mut limit.fail_beyond,
            };
            *slot = Some(Bound { value: *value, decimals: 2 });
        }
        limit
    }

    fn two(low: f64, high: f64) -> Limit {
        limit(&[(BoundWord::FailBelow, low), (BoundWord::FailAbove, high)])
    }

    fn outcome(value: f64, limit: &Limit, rule: Decision, u: Option<f64>) -> Judgement {
        judge(value, limit, rule, u).expect("a judged value").outcome
    }

    /// Ten cases by the formulas of JCGM 106:2012, clause 8, and ILAC-G8:09/2019, 4.2.3, with U = 2u; the numbers of the
    /// seventh are those of JCGM 106:2012, clause 7.4. Columns: value, u, lower and upper limit, guard r, outcome.
    #[test]
    fn published_decision_cases_are_met() {
        use Judgement::{ConditionalFail, ConditionalPass, Fail, Pass};
        let below = || limit(&[(BoundWord::FailBelow, 90.0)]);
        let cases = [
            (0.10, 0.02, two(-0.10, 0.10), 0.0, Pass),
            (0.06, 0.02, two(-0.10, 0.10), 1.0, Pass),
            (0.08, 0.02, two(-0.10, 0.10), 1.0, ConditionalPass),
            (0.115, 0.02, two(-0.10, 0.10), 1.0, ConditionalFail),
            (0.15, 0.02, two(-0.10, 0.10), 1.0, Fail),
            (-0.031, 0.012, two(-0.05, 0.05), 0.83, ConditionalPass),
            (13.6, 1.8, two(12.5, 16.3), 0.0, Pass),
            (-47.0, 2.5, two(-50.0, 50.0), 1.0, ConditionalPass),
            (91.2, 0.9, below(), 0.0, Pass),
            (91.2, 0.9, below(), 1.0, ConditionalPass),
        ];
        for (value, u, limit, guard, expected) in cases {
            let rule = if guard == 0.0 { Decision::Simple } else { Decision::Guarded(guard) };
            assert_eq!(outcome(value, &limit, rule, Some(2.0 * u)), expected, "{value} ± {u}, r = {guard}");
        }
    }

    #[test]
    fn a_magnitude_is_judged_as_two_limits() {
        let beyond = limit(&[(BoundWord::FailBeyond, 0.10)]);
        for (value, expected) in [
            (0.06, Judgement::Pass),
            (-0.06, Judgement::Pass),
            (-0.08, Judgement::ConditionalPass),
            (-0.115, Judgement::ConditionalFail),
            (-0.15, Judgement::Fail),
        ] {
            assert_eq!(outcome(value, &beyond, Decision::Guarded(1.0), Some(0.04)), expected, "{value}");
        }
    }

    #[test]
    fn a_value_on_the_limit_is_inside_in_decimal() {
        let beyond = limit(&[(BoundWord::FailBeyond, 0.1)]);
        let (shown, buffer) = (4.4, 4.3);
        assert!(shown - buffer > 0.1, "binary dust puts it outside");
        assert_eq!(outcome(shown - buffer, &beyond, Decision::Simple, None), Judgement::Pass);
        assert_eq!(outcome(0.1 + 1e-8, &beyond, Decision::Simple, None), Judgement::Fail);
        let offset = limit(&[(BoundWord::FailBeyond, 50.0)]);
        assert_eq!(outcome(50.0 + 4e-8, &offset, Decision::Simple, None), Judgement::Pass);
        assert_eq!(outcome(-50.0 - 6e-8, &offset, Decision::Simple, None), Judgement::Fail);
    }

    #[test]
    fn a_guard_limit_in_decimal_is_inside() {
        let guarded = std::hint::black_box(0.10) - 0.04;
        assert!(guarded > 0.06, "0.060000000000000005 in doubles");
        let rule = Decision::Guarded(1.0);
        assert_eq!(outcome(0.06, &two(-0.10, 0.10), rule, Some(0.04)), Judgement::Pass);
        assert_eq!(outcome(0.14, &two(-0.10, 0.10), rule, Some(0.04)), Judgement::ConditionalFail);
        assert_eq!(outcome(0.10, &two(-0.10, 0.10), rule, Some(0.04)), Judgement::ConditionalPass);
    }

    #[test]
    fn guard_bands_that_meet_are_said_and_pass_nothing() {
        let rule = Decision::Guarded(1.0);
        for (u, meets) in [(0.09, false), (0.10, true), (0.20, true)] {
            let judged = judge(0.0, &two(-0.10, 0.10), rule, Some(u)).expect("judged");
            let expected = if meets { Judgement::ConditionalPass } else { Judgement::Pass };
            assert_eq!((judged.no_value_can_pass, judged.outcome), (meets, expected), "U = {u}");
        }
        let far = judge(0.31, &two(-0.10, 0.10), rule, Some(0.20)).expect("judged");
        assert_eq!(far.outcome, Judgement::Fail);
    }

    #[test]
    fn a_warn_limit_has_no_guard_band() {
        let slope = limit(&[(BoundWord::WarnBelow, 80.0), (BoundWord::FailBelow, 70.0)]);
        let rule = Decision::Guarded(1.0);
        assert_eq!(outcome(80.5, &slope, rule, Some(2.0)), Judgement::Pass);
        assert_eq!(outcome(79.9, &slope, rule, Some(2.0)), Judgement::Warn);
        assert_eq!(outcome(71.0, &slope, rule, Some(2.0)), Judgement::ConditionalPass);
        let only_warn = limit(&[(BoundWord::WarnBeyond, 0.2)]);
        assert_eq!(outcome(0.3, &only_warn, rule, None), Judgement::Warn);
    }

    #[test]
    fn the_bound_that_decided_is_named() {
        let slope = limit(&[(BoundWord::WarnBelow, 80.0), (BoundWord::FailBelow, 70.0), (BoundWord::FailAbove, 105.0)]);
        for (value, word) in [
            (60.0, BoundWord::FailBelow),
            (75.0, BoundWord::WarnBelow),
            (96.0, BoundWord::FailAbove),
            (106.0, BoundWord::FailAbove),
        ] {
            assert_eq!(judge(value, &slope, Decision::Simple, None).map(|j| j.word), Some(word), "{value} %");
        }
    }

    #[test]
    fn what_cannot_be_judged_is_not() {
        let beyond = limit(&[(BoundWord::FailBeyond, 0.1)]);
        assert_eq!(judge(0.0, &beyond, Decision::Guarded(1.0), None), None);
        assert_eq!(judge(0.0, &beyond, Decision::Guarded(1.0), Some(f64::NAN)), None);
        assert_eq!(judge(f64::NAN, &beyond, Decision::Simple, None), None);
        assert_eq!(judge(0.0, &Limit::default(), Decision::Simple, None), None);
    }

    #[test]
    fn no_uncertainty_at_all_is_the_simple_rule() {
        let beyond = limit(&[(BoundWord::FailBeyond, 0.1)]);
        assert_eq!(outcome(0.1, &beyond, Decision::Guarded(1.0), Some(0.0)), Judgement::Pass);
        assert_eq!(outcome(0.11, &beyond, Decision::Guarded(1.0), Some(0.0)), Judgement::Fail);
    }

    #[test]
    fn outcomes_are_ordered_from_pass_to_fail() {
        use Judgement::{ConditionalFail, ConditionalPass, Fail, Pass, Warn};
        assert!(Pass < Warn && Warn < ConditionalPass && ConditionalPass < ConditionalFail && ConditionalFail < Fail);
    }

    /// Whatever the bounds, the rule and U: away from the middle of its limits a value never gets a better outcome.
    #[test]
    fn outcomes_are_monotone_in_the_value() {
        let steps = || (-60..=60).map(|step| f64::from(step) / 10.0);
        for rule in [Decision::Simple, Decision::Guarded(1.0), Decision::Guarded(0.5)] {
            for u in [0.0, 0.3, 0.9, 1.5, 4.0] {
                let bounds = [
                    limit(&[(BoundWord::FailBelow, -1.0), (BoundWord::WarnBelow, 0.0)]),
                    limit(&[(BoundWord::FailAbove, 1.0)]),
                    limit(&[(BoundWord::FailBeyond, 2.0), (BoundWord::WarnBeyond, 1.0)]),
                    two(-1.0, 3.0),
                ];
                for (limit, middle) in bounds.iter().zip([f64::INFINITY, f64::NEG_INFINITY, 0.0, 1.0]) {
                    let told: Vec<(f64, Judgement)> =
                        steps().map(|value| (value, outcome(value, limit, rule, Some(u)))).collect();
                    for pair in told.windows(2) {
                        let (below, above) = (pair[0], pair[1]);
                        if above.0 <= middle {
                            assert!(above.1 <= below.1, "{rule:?} {u} {pair:?}");
                        } else if below.0 >= middle {
                            assert!(below.1 <= above.1, "{rule:?} {u} {pair:?}");
                        }
                    }
                }
            }
        }
    }
}
