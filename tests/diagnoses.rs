//! Every rule of the diagnosis fires on its case and not on the near miss; remedies are confronted with what they did; a
//! healthy loop has no finding; sentences are whole and never propose what can maim.

#[path = "diagnoses/cases.rs"]
mod cases;
#[path = "diagnoses/sentences.rs"]
mod sentences;

use cases::{cases, found, halves, healthy, probe, redox, state, step, steps};
use halfcell::client::LoopQuantity;
use halfcell::engine::diagnosis::{
    Effect, Evidence, Finding, On, Outcome, OutputCheck, RULES, Reading, SampleCheck, Severity, Snapshot, State,
    TemperatureCheck, diagnose, effect,
};
use halfcell::reference::slope_mv_per_ph;
use halfcell::visit::RemedyKind::{self, *};

fn codes(evidence: &Evidence) -> Vec<&'static str> {
    diagnose(evidence).iter().map(|finding| finding.code).collect()
}

#[test]
fn each_rule_fires_alone_on_its_case_and_not_on_the_near_miss() {
    let cases = cases();
    for rule in RULES {
        assert_eq!(cases.iter().filter(|case| case.code == rule.code).count(), 1, "{} has one case", rule.code);
    }
    for case in &cases {
        for (number, evidence) in case.fires.iter().enumerate() {
            assert_eq!(codes(evidence), [case.code], "case {number} of {}", case.code);
        }
        assert!(!case.near_misses.is_empty());
        for (number, evidence) in case.near_misses.iter().enumerate() {
            assert!(!codes(evidence).contains(&case.code), "near miss {number} of {}", case.code);
        }
    }
}

#[test]
fn what_a_rule_explains_is_a_rule() {
    for rule in RULES {
        for code in rule.explains {
            assert!(RULES.iter().any(|rule| rule.code == *code), "{} explains {code}", rule.code);
            assert_ne!(*code, rule.code);
        }
    }
}

#[test]
fn the_order_of_readings_does_not_matter() {
    for case in cases() {
        for evidence in case.fires.iter().chain(&case.near_misses) {
            let mut turned = evidence.clone();
            for state in [&mut turned.found, &mut turned.left].into_iter().flatten() {
                state.readings.reverse();
                state.output.reverse();
            }
            assert_eq!(diagnose(evidence), diagnose(&turned), "{}", case.code);
        }
    }
}

/// Numbers of a small generator (Knuth's constants), the same in every run.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        self.0 >> 33
    }

    fn uniform(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next() as f64 / (1u64 << 31) as f64
    }

    /// About normal with this standard deviation: twelve uniforms.
    fn normal(&mut self, sd: f64) -> f64 {
        sd * ((0..12).map(|_| self.uniform(0.0, 1.0)).sum::<f64>() - 6.0)
    }

    fn odd(&mut self) -> f64 {
        const ODD: [f64; 12] = [0.0, -0.0, 1.0, -1.0, 7.0, 59.0, -177.0, 1e-308, 1e9, -1e12, f64::MAX, f64::MIN];
        ODD[self.next() as usize % ODD.len()]
    }

    fn some(&mut self) -> Option<f64> {
        if self.next().is_multiple_of(3) { None } else { Some(self.odd()) }
    }

    fn state(&mut self) -> State {
        let reading = |dice: &mut Dice| Reading {
            standard: dice.next() as usize % 3,
            value: dice.odd(),
            theoretical_mv: dice.some(),
            mv: dice.some(),
            error: dice.some(),
            waited_s: dice.some(),
            settled: Some(dice.next().is_multiple_of(2)),
            time_to_0_01_ph_s: dice.some(),
            drift_mv_per_min: dice.some(),
            noise_mv: dice.some(),
        };
        State {
            readings: (0..self.next() % 5).map(|_| reading(self)).collect(),
            slope_percent: self.some(),
            offset_mv: self.some(),
            acid_percent: self.some(),
            alkaline_percent: self.some(),
            gain_percent: self.some(),
            stored_offset_mv: self.some(),
            shown_off_stored_ph: self.some(),
            check_standard_error: self.some(),
            temperature: vec![TemperatureCheck {
                error_c: self.some(),
                element_error_c: self.some(),
                cost_at_ph_4: self.some(),
            }],
            output: vec![OutputCheck {
                expected_ma: self.some(),
                ma: self.some(),
                error_percent: self.some(),
                control_room_error_percent: self.some(),
                fault: self.next().is_multiple_of(2),
            }],
            sample: Some(SampleCheck { difference: self.odd(), minutes: self.some() }),
            glass: Some((self.odd(), self.some())),
            reference_kohm: self.some(),
            new_probe: self.next().is_multiple_of(2),
            cleaned: self.next().is_multiple_of(2),
        }
    }
}

#[test]
fn no_finite_number_makes_it_panic_and_figures_stay_finite() {
    let mut dice = Dice(7);
    for _ in 0..20_000 {
        let is_redox = dice.next().is_multiple_of(4);
        let snapshot = |dice: &mut Dice| Snapshot {
            slope_percent: dice.some(),
            offset_mv: dice.some(),
            waited_s: dice.some(),
            worst_error_mv: dice.some(),
        };
        let kind = RemedyKind::WORDS[dice.next() as usize % RemedyKind::WORDS.len()].1;
        let steps = (0..dice.next() % 4).map(|_| step(kind, snapshot(&mut dice), snapshot(&mut dice))).collect();
        let evidence = Evidence {
            quantity: if is_redox { LoopQuantity::Redox } else { LoopQuantity::Ph },
            found: Some(dice.state()),
            steps,
            left: Some(dice.state()),
            stands: false,
            moved_by_cleaning: dice.some(),
        };
        for finding in diagnose(&evidence) {
            assert!(finding.figures.iter().all(|figure| figure.value.is_finite()), "{finding:?}");
        }
    }
}

#[test]
fn honest_readings_of_healthy_probes_have_no_finding() {
    let mut dice = Dice(11);
    let visits = 4000;
    let mut with_findings = 0;
    for _ in 0..visits {
        let (slope, offset) = (dice.uniform(0.92, 1.0), dice.uniform(-20.0, 20.0));
        // Half a millivolt of reproducibility a buffer; buffers right within 0.010 pH (k = 2).
        let mut reading = |ph: f64| {
            let true_ph = ph + dice.normal(0.005);
            (ph, offset + slope * slope_mv_per_ph(25.0) * (7.0 - true_ph) + dice.normal(0.5))
        };
        let mut state = state(&[reading(6.865), reading(4.005), reading(9.18), reading(6.865)]);
        state.stored_offset_mv = Some(offset + dice.normal(2.0));
        with_findings += usize::from(!diagnose(&found(state)).is_empty());
    }
    assert!(with_findings * 200 < visits, "{with_findings} of {visits} healthy visits have a finding");
}

fn after_work(from: State, left: State, steps: Vec<halfcell::engine::diagnosis::Step>) -> Vec<Finding> {
    diagnose(&Evidence { left: Some(left), steps, stands: false, ..found(from) })
}

#[test]
fn a_finding_says_whether_it_is_gone() {
    let low = || probe(70.0, 0.0);
    let mended = after_work(low(), healthy(), steps(&[70.0, 96.0], &[AcidSoak]));
    assert_eq!((mended[0].code, mended[0].resolved, mended[0].as_found), ("slope-low", Some(true), true));
    let still = after_work(low(), probe(80.0, 0.0), steps(&[70.0, 80.0], &[AcidSoak]));
    assert_eq!((still[0].code, still[0].resolved), ("slope-low", Some(false)));
    let figure = |finding: &Finding, name: &str| finding.figures.iter().find(|f| f.name == name).map(|f| f.value);
    assert_eq!(figure(&mended[0], "helped_step"), Some(1.0));
    assert!((figure(&still[0], "left_slope_percent").unwrap() - 80.0).abs() < 1e-9);
    let unknown = diagnose(&Evidence { stands: false, ..found(low()) });
    assert_eq!(unknown[0].resolved, None);
    assert_eq!(diagnose(&found(low()))[0].resolved, Some(false));
}

#[test]
fn a_slope_that_crossed_its_threshold_by_chance_is_not_gone() {
    let resolved = |left: f64| after_work(probe(89.3, 0.0), probe(left, 0.0), Vec::new())[0].resolved;
    assert_eq!(resolved(90.6), Some(false));
    assert_eq!(resolved(91.4), Some(true));
    let replaced = State { new_probe: true, ..probe(90.6, 0.0) };
    assert_eq!(after_work(probe(89.3, 0.0), replaced, Vec::new())[0].resolved, Some(true));
}

#[test]
fn what_a_gone_cause_hid_is_told_as_left() {
    let findings = after_work(probe(-85.0, 0.0), probe(85.0, 0.0), steps(&[-85.0, 85.0], &[WiringCorrected]));
    let told: Vec<_> = findings.iter().map(|f| (f.code, f.as_found, f.resolved)).collect();
    assert_eq!(told, [("response-reversed", true, Some(true)), ("slope-low", false, Some(false))]);
}

#[test]
fn an_offset_that_was_only_adjusted_away_is_still_there() {
    let with_stored = |offset: f64| State { stored_offset_mv: Some(-5.0), ..probe(96.0, offset) };
    let evidence = Evidence { left: Some(with_stored(12.0)), stands: false, ..found(with_stored(12.0)) };
    assert_eq!(diagnose(&evidence)[0].resolved, Some(false));
    let refilled = Evidence { left: Some(with_stored(-3.0)), ..evidence };
    assert_eq!(diagnose(&refilled)[0].resolved, Some(true));
}

#[test]
fn the_most_serious_stands_first_and_what_is_gone_last() {
    let mut state = probe(96.0, -5.0);
    state.reference_kohm = Some(25.0);
    state.temperature = vec![TemperatureCheck { error_c: Some(8.0), ..TemperatureCheck::default() }];
    state.check_standard_error = Some(0.3);
    let findings = diagnose(&found(state));
    let weights: Vec<Severity> = findings.iter().map(|finding| finding.severity).collect();
    assert_eq!(weights, [Severity::Serious, Severity::Attention, Severity::Note]);
}

#[test]
fn trade_facts_weigh_a_low_slope() {
    // Common practice: new probes give at least 90 %, below 80 % service is due, below 70 % no better than 0.1 pH.
    let weight = |slope: f64| diagnose(&found(probe(slope, 0.0))).first().map(|finding| finding.severity);
    assert_eq!(weight(90.1), None);
    assert_eq!(weight(89.9), Some(Severity::Note));
    assert_eq!(weight(79.9), Some(Severity::Attention));
    assert_eq!(weight(69.9), Some(Severity::Serious));
    // 160 mV instead of 177 mV between pH 4 and 7 is 90 %.
    let by_hand = state(&[(7.0, 0.0), (4.0, 160.0)]);
    assert!((by_hand.slope_percent.unwrap() - 90.15).abs() < 0.01);
    assert!(codes(&found(by_hand)).is_empty());
    // The difference counts, not the value: the same slope with an offset has the same weight.
    assert_eq!(weight(85.0), diagnose(&found(probe(85.0, 20.0))).first().map(|f| f.severity));
}

fn on_slope(kind: RemedyKind, from: f64, to: f64) -> Option<(Outcome, On)> {
    effect(&steps(&[from, to], &[kind])[0]).map(|effect| (effect.outcome, effect.on))
}

#[test]
fn a_remedy_is_confronted_with_its_effect() {
    use Outcome::*;
    assert_eq!(on_slope(AcidSoak, 70.0, 94.0), Some((Worked, On::Slope)));
    assert_eq!(on_slope(AcidSoak, 70.0, 80.0), Some((Helped, On::Slope)));
    assert_eq!(on_slope(AcidSoak, 70.0, 71.9), Some((NoEffect, On::Slope)));
    assert_eq!(on_slope(AcidSoak, 70.0, 67.9), Some((Worse, On::Slope)));
    assert_eq!(on_slope(AcidSoak, 95.0, 95.5), None, "nothing was wrong, nothing changed");
    // A new salt bridge does not cure a low slope; nor do earthing and the output.
    for kind in [JunctionRenewed, JunctionCleaned, EarthingCorrected, OutputRescaled, TemperatureElementReplaced] {
        assert_eq!(on_slope(kind, 70.0, 70.5), Some((DoesNotAct, On::Slope)), "{kind:?}");
    }
}

#[test]
fn a_gain_is_judged_against_its_uncertainty_where_that_is_known() {
    let judged = |uncertainty: Option<f64>, gain: f64| {
        let mut step = steps(&[80.0, 80.0 + gain], &[AcidSoak])[0];
        step.slope_gained_uncertainty = uncertainty;
        effect(&step).unwrap().outcome
    };
    assert_eq!(judged(None, 2.1), Outcome::Helped);
    assert_eq!(judged(Some(3.0), 2.1), Outcome::NoEffect);
    assert_eq!(judged(Some(0.5), 0.6), Outcome::Helped);
    assert_eq!(judged(Some(0.5), -0.6), Outcome::Worse);
}

#[test]
fn offset_waiting_time_and_redox_error_are_confronted_too() {
    let offset = |mv: f64| Snapshot { slope_percent: Some(96.0), offset_mv: Some(mv), ..Snapshot::default() };
    let told = |kind, before, after| effect(&step(kind, before, after)).map(|e| (e.outcome, e.on, e.gain()));
    assert_eq!(told(JunctionCleaned, offset(40.0), offset(8.0)), Some((Outcome::Worked, On::Offset, -32.0)));
    assert_eq!(told(JunctionCleaned, offset(40.0), offset(-35.0)), Some((Outcome::Helped, On::Offset, -5.0)));
    assert_eq!(told(EarthingCorrected, offset(40.0), offset(41.0)), Some((Outcome::DoesNotAct, On::Offset, 1.0)));
    assert_eq!(told(Rinsed, offset(5.0), offset(4.0)), None);
    let wait = |s: f64| Snapshot { slope_percent: Some(96.0), waited_s: Some(s), ..Snapshot::default() };
    assert_eq!(told(JunctionRenewed, wait(180.0), wait(60.0)), Some((Outcome::Worked, On::Response, -120.0)));
    assert_eq!(told(JunctionRenewed, wait(180.0), wait(100.0)), None);
    let error = |mv: f64| Snapshot { worst_error_mv: Some(mv), ..Snapshot::default() };
    assert_eq!(told(Wiped, error(-27.0), error(-21.0)), Some((Outcome::Helped, On::Error, -6.0)));
    assert_eq!(told(MetalPolished, error(-21.0), error(3.0)), Some((Outcome::Worked, On::Error, -18.0)));
    assert_eq!(told(JunctionRenewed, error(-21.0), error(-20.0)), Some((Outcome::DoesNotAct, On::Error, -1.0)));
}

#[test]
fn remedies_without_readings_share_the_gain_of_the_next() {
    let mut step = steps(&[70.0, 94.0], &[AcidSoak])[0];
    step.unmeasured_before = 2;
    assert_eq!(
        effect(&step),
        Some(Effect { outcome: Outcome::Worked, on: On::Slope, before: 70.0, after: 94.0, together: 2 })
    );
}

#[test]
fn redox_rules_keep_out_of_ph_loops_and_the_reverse() {
    let in_ph = Evidence { quantity: LoopQuantity::Ph, ..redox(&[-40.0], Some(50.0)) };
    assert!(codes(&in_ph).is_empty(), "{:?}", codes(&in_ph));
    let in_redox = Evidence { quantity: LoopQuantity::Redox, ..found(halves(60.0, 60.0, 0.0)) };
    assert!(codes(&in_redox).is_empty());
}
