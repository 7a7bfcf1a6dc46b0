//! The limits that hold where nobody gave others.

use super::{Bound, Criterion, Decision, Limit, Limits, Regime};

/// The built-in limits, named so on the page. They judge the probe and the shown values; nothing is said about checks,
/// settling and ages, which only a client or a procedure can demand.
///
/// - pH: slope warn below 80 %, fail below 70 % or above 105 %; offset warn beyond 30 mV, fail beyond 50 mV; shown values
///   fail beyond 0.2 pH as found and 0.1 pH as left.
/// - redox: shown values fail beyond 20 mV as found and 10 mV as left.
///
/// Source: common practice, no source. The offset of 30 mV and the slope of at most 105 % are those of USP <791>; published
/// field procedures ask a redox loop to meet its standard within 10 mV (from memory).
pub fn built_in() -> Limits {
    let whole = |value: f64| Some(Bound { value, decimals: 0 });
    let tenth = |value: f64| Some(Bound { value, decimals: 1 });
    let slope =
        Limit { warn_below: whole(80.0), fail_below: whole(70.0), fail_above: whole(105.0), ..Limit::default() };
    let offset = Limit { warn_beyond: whole(30.0), fail_beyond: whole(50.0), ..Limit::default() };
    let beyond = |fail_beyond| Limit { fail_beyond, ..Limit::default() };
    Limits {
        name: "built-in".to_owned(),
        revision: None,
        effective: None,
        approved_by: None,
        basis: None,
        built_in: true,
        requirements: Regime::Plain,
        decision: Decision::Simple,
        reproducibility: None,
        keep: None,
        ph: vec![
            (Criterion::Slope, slope),
            (Criterion::Offset, offset),
            (Criterion::AsFoundError, beyond(tenth(0.2))),
            (Criterion::AsLeftError, beyond(tenth(0.1))),
        ],
        redox: vec![(Criterion::AsFoundError, beyond(whole(20.0))), (Criterion::AsLeftError, beyond(whole(10.0)))],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limits::{Judgement, judge};

    fn outcome(criterion: Criterion, value: f64) -> Judgement {
        let limits = built_in();
        let (_, limit) = limits.ph.iter().find(|(c, _)| *c == criterion).expect("a built-in criterion");
        judge(value, limit, limits.decision, None).expect("a judged value").outcome
    }

    #[test]
    fn slope_and_offset_are_judged_as_documented() {
        for (value, expected) in [
            (105.1, Judgement::Fail),
            (105.0, Judgement::Pass),
            (80.0, Judgement::Pass),
            (79.9, Judgement::Warn),
            (70.0, Judgement::Warn),
            (69.9, Judgement::Fail),
        ] {
            assert_eq!(outcome(Criterion::Slope, value), expected, "{value} %");
        }
        for (value, expected) in
            [(-30.0, Judgement::Pass), (-30.1, Judgement::Warn), (50.0, Judgement::Warn), (-50.1, Judgement::Fail)]
        {
            assert_eq!(outcome(Criterion::Offset, value), expected, "{value} mV");
        }
    }

    #[test]
    fn nothing_is_said_about_ages_and_checks() {
        let limits = built_in();
        let words: Vec<&str> = limits.ph.iter().chain(&limits.redox).map(|(c, _)| c.word()).collect();
        assert_eq!(words, ["slope", "offset", "as_found_error", "as_left_error", "as_found_error", "as_left_error"]);
        assert!(limits.built_in && limits.name == "built-in");
    }
}
