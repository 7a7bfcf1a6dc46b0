//! What the engine finds implausible is told with place and fix; verdicts follow the rules; what is accepted is printed.
//!
//! Every case is one good visit with textual edits, so that it reads as what a person typed.

use halfcell::client::LANGUAGES;
use halfcell::problem::{Problem, Severity};
use halfcell::record::{Condition, OutcomeWord, Record, Stage, Verdict};
use halfcell::requirements::{Reviewed, review};
use halfcell::rounding::DecimalSign;
use halfcell::visit::{Given, open};
use halfcell::wording::Wording;

const GOOD: &str = "\
visit:
  number: V-1
  started: 2026-04-17T08:40+01:00
  finished: 2026-04-17T09:40+01:00
  client: { name: Invented client, contact: desk@client.example.com }
  site: Works
  technicians: [A. Name]
  procedure: { name: P-1, revision: '1' }
  standards:
    B7: { buffer: phosphate, lot: L7, expires: 2027-01 }
    B4: { buffer: phthalate, lot: L4, expires: 2027-01 }
    B9: { buffer: borax, lot: L9, expires: 2027-01 }
    N7: { buffer: technical 7.00, lot: N7, expires: 2027-01 }
loops:
  - tag: AIT-1
    quantity: pH
    location: Outlet
    analyser: { serial: A-1 }
    probe: P-1
    as_found:
      readings:
        - { in: B7, mv: 8.3, temperature: 25.0, shown: 6.88 }
        - { in: B4, mv: 168.4, temperature: 25.0, shown: 4.01 }
        # third
    adjusted: false
    outcome: returned to service
signatures:
  - { role: performed, name: A. Name, signed: 2026-04-17T09:45+01:00 }
";

fn reviewed(edits: &[(&str, &str)]) -> (String, Reviewed) {
    let mut text = GOOD.to_owned();
    for (from, to) in edits {
        assert_eq!(text.matches(from).count(), 1, "«{from}» must stand there once");
        text = text.replace(from, to);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("v.yaml");
    std::fs::write(&path, &text).unwrap();
    let reviewed = review(open(&path, &Given::default()));
    reviewed.problems.iter().filter(|problem| !problem.refuses()).for_each(is_said_on_documents);
    (text, reviewed)
}

/// Whatever may be printed as a deviation has a sentence in every language that its facts fill.
fn is_said_on_documents(problem: &Problem) {
    for (language, tag) in LANGUAGES {
        let said = Wording::of(Some(tag)).deviation(problem.code, &problem.facts, &[], DecimalSign::Comma);
        assert!(said.is_some(), "{language}, {}: {:?}", problem.code, problem.facts);
    }
}

/// The problem with this code, checked to stand where `snippet` begins (or at the line that holds it).
fn problem(edits: &[(&str, &str)], code: &str, snippet: &str) -> Problem {
    let (text, reviewed) = reviewed(edits);
    let told: Vec<String> = reviewed.problems.iter().map(Problem::one_line).collect();
    let found = reviewed.problems.iter().find(|problem| problem.code == code);
    let problem = found.unwrap_or_else(|| panic!("no {code} among {told:#?}")).clone();
    let at = text.find(snippet).unwrap();
    let line = text[..at].matches('\n').count() as u32 + 1;
    assert_eq!(problem.place.line, line, "{}", problem.one_line());
    assert!(problem.place.column > 0 && problem.excerpt.contains(snippet.trim()), "{}", problem.long());
    assert!(!problem.why.is_empty() && !problem.fix.is_empty());
    problem
}

fn record(edits: &[(&str, &str)]) -> Record {
    let (_, reviewed) = reviewed(edits);
    let told: Vec<String> = reviewed.problems.iter().map(Problem::one_line).collect();
    reviewed.records.into_iter().next().unwrap_or_else(|| panic!("refused: {told:#?}"))
}

#[test]
fn a_good_visit_has_no_problem() {
    let (_, reviewed) = reviewed(&[]);
    assert_eq!(reviewed.problems, []);
    assert_eq!(reviewed.records[0].verdict, Some(Verdict::Pass));
    assert_eq!(reviewed.records[0].condition, Some(Condition::Fit));
}

// Edge case 52: two identical buffers, or 6.86 and 7.00 only.
#[test]
fn two_buffers_of_nearly_one_ph_are_refused() {
    let told = problem(
        &[("in: B4, mv: 168.4", "in: N7, mv: 1.4"), ("shown: 4.01", "shown: 7.00")],
        "buffers-too-close",
        "- { in: N7",
    );
    assert_eq!(told.severity, Severity::Error);
    assert!(told.what.contains("0.13 pH") && told.fix.contains("the other buffer"), "{}", told.one_line());
}

// Edge case 53: one point only.
#[test]
fn one_buffer_gives_no_slope_and_no_verdict_on_it() {
    let edits = [("        - { in: B4, mv: 168.4, temperature: 25.0, shown: 4.01 }\n", "")];
    problem(&edits, "one-buffer-only", "- { in: B7, mv");
    let record = record(&edits);
    assert_eq!(record.as_found.figures.slope_percent, None);
    assert_eq!(record.as_found.figures.offset_mv, None);
    let slope = record.criteria.iter().find(|criterion| criterion.name == "slope").unwrap();
    assert_eq!((slope.outcome, slope.reason.as_deref()), (OutcomeWord::NotJudged, Some("one-buffer-only")));
    assert_eq!(record.condition, None);
    assert!(record.deviations.iter().any(|deviation| deviation.code == "one-buffer-only"));
}

// Edge case 55: halves disagree.
#[test]
fn halves_that_disagree_are_both_told() {
    let third = ("        # third\n", "        - { in: B9, mv: -107, temperature: 25.0, shown: 9.10 }\n");
    let told = problem(&[third], "halves-disagree", "- { in: B9");
    assert!(told.what.contains("94.6 % from pH 4.00 to 6.87, 84.2 % from pH 6.87 to 9.18"), "{}", told.what);
    assert!(told.why.contains("carbon dioxide"));
    assert_eq!(record(&[third]).as_found.figures.segments.len(), 2);
    let straight = ("        # third\n", "        - { in: B9, mv: -121.4, temperature: 25.0, shown: 9.18 }\n");
    assert!(reviewed(&[straight]).1.problems.iter().all(|problem| problem.code != "halves-disagree"));
}

// Edge case 64: every sign turned.
#[test]
fn a_reversed_response_is_refused_and_can_be_confirmed() {
    let turned = [("mv: 8.3", "mv: -8.3"), ("mv: 168.4", "mv: -168.4")];
    let told = problem(&turned, "response-reversed", "- { in: B7, mv");
    assert_eq!(told.severity, Severity::Error);
    assert!(told.fix.contains("with every sign turned") && told.fix.contains("leads exchanged"), "{}", told.fix);
    let accepted = (
        "    adjusted: false\n",
        "    adjusted: false\n    accepted: [{code: response-reversed, reason: seen twice}]\n",
    );
    let record = record(&[turned[0], turned[1], accepted]);
    assert_eq!(record.as_found.verdict, Some(Verdict::Fail));
    let deviation = record.deviations.iter().find(|deviation| deviation.code == "response-reversed").unwrap();
    assert_eq!(deviation.reason.as_deref(), Some("seen twice"));
}

// Edge case 65: one sign turned; two buffers exchanged. The single change is shown, and not made.
#[test]
fn a_lost_sign_is_named() {
    let edits = [("        # third\n", "        - { in: B9, mv: 121.4, temperature: 25.0, shown: 9.18 }\n")];
    let told = problem(&edits, "one-slip-explains", "- { in: B9");
    assert!(told.fix.contains("with the sign of 121.4 mV in `B9` turned: slope 9"), "{}", told.fix);
    assert!(reviewed(&edits).1.records.is_empty());
}

#[test]
fn exchanged_buffers_are_named() {
    let told = problem(
        &[("in: B7, mv: 8.3", "in: B7, mv: 168.4"), ("in: B4, mv: 168.4", "in: B4, mv: 8.3")],
        "response-reversed",
        "- { in: B7, mv",
    );
    assert!(told.fix.contains("with `B7` and `B4` exchanged: slope 94.6 %, offset 0."), "{}", told.fix);
}

#[test]
fn a_dead_probe_is_a_verdict_and_not_a_problem() {
    let (_, dead) = reviewed(&[("mv: 168.4", "mv: 11.0"), ("shown: 4.01", "shown: 6.82")]);
    assert_eq!(dead.problems, []);
    assert_eq!(dead.records[0].as_found.verdict, Some(Verdict::Fail));
    assert_eq!(dead.records[0].condition, Some(Condition::Unfit));
}

#[test]
fn temperatures_far_apart_leave_the_slope_unjudged() {
    let near = [("mv: 168.4, temperature: 25.0", "mv: 168.4, temperature: 28.0")];
    problem(&near, "temperatures-differ", "- { in: B4");
    let far = [("mv: 168.4, temperature: 25.0", "mv: 168.4, temperature: 36.0")];
    problem(&far, "temperatures-too-far-apart", "- { in: B4");
    let slope = record(&far).criteria.into_iter().find(|criterion| criterion.name == "slope").unwrap();
    assert_eq!(slope.outcome, OutcomeWord::NotJudged);
}

#[test]
fn a_stated_figure_that_the_readings_do_not_give_is_told() {
    let stated = (
        "        # third\n",
        "        # third\n      stated: { slope: 95 %, difference: { from: B7, to: B4, mv: 150 } }\n",
    );
    let (_, told) = reviewed(&[stated]);
    let disagreeing: Vec<&Problem> =
        told.problems.iter().filter(|problem| problem.code == "stated-disagrees").collect();
    assert_eq!(disagreeing.len(), 1, "95 % is right, 150 mV is not: {disagreeing:#?}");
    assert!(disagreeing[0].what.contains("150") && disagreeing[0].what.contains("160.1 mV"), "{}", disagreeing[0].what);
    let figures = &told.records[0].as_found.stated;
    assert_eq!(figures.iter().map(|figure| figure.agrees).collect::<Vec<_>>(), [Some(true), Some(false)]);
}

#[test]
fn an_analyser_that_does_not_show_what_it_holds_is_told() {
    let holds = |slope: &str| {
        ("        # third\n", format!("        # third\n      stored: {{ slope: {slope}, offset: 0.7 mV }}\n"))
    };
    let (from, text) = holds("94.7 %");
    assert!(
        reviewed(&[(from, &text), ("shown: 6.88", "shown: 6.87")])
            .1
            .problems
            .iter()
            .all(|problem| problem.code != "shown-not-as-stored")
    );
    let (from, text) = holds("90.0 %");
    problem(&[(from, &text), ("shown: 6.88", "shown: 6.87")], "shown-not-as-stored", "- { in: B7, mv");
}

#[test]
fn an_acceptance_must_meet_a_problem() {
    let accepts = |code: &str| format!("    adjusted: false\n    accepted: [{{code: {code}, reason: known}}]\n");
    let edits = accepts("lot-expired");
    let told = problem(&[("    adjusted: false\n", &edits)], "nothing-to-accept", "accepted:");
    assert_eq!(told.severity, Severity::Error);
    let third = ("        # third\n", "        - { in: B9, mv: -107, temperature: 25.0, shown: 9.10 }\n");
    let edits = accepts("halves-disagre");
    let told = problem(&[third, ("    adjusted: false\n", &edits)], "nothing-to-accept", "accepted:");
    assert!(told.fix.contains("`halves-disagree`"), "{}", told.fix);
}

#[test]
fn nothing_done_gives_one_state_and_its_verdict() {
    let record = record(&[]);
    assert!(record.as_left.is_none());
    assert_eq!(record.verdict, record.as_found.verdict);
    assert!(
        record.criteria.iter().all(|criterion| criterion.stage == Stage::AsFound && criterion.name != "as_left_error")
    );
}

#[test]
fn without_shown_values_only_a_fail_can_be_told() {
    let silent = [(", shown: 6.88", ""), (", shown: 4.01", "")];
    let unjudged = record(&silent);
    assert_eq!(unjudged.as_found.verdict, None, "probe judged, indication not judged");
    assert_eq!(unjudged.condition, Some(Condition::Fit));
    let weak = record(&[silent[0], silent[1], ("mv: 168.4", "mv: 110.0")]);
    assert_eq!(weak.as_found.verdict, Some(Verdict::Fail));
}

#[test]
fn a_warning_does_not_turn_a_pass_into_a_fail() {
    let record = record(&[("mv: 168.4", "mv: 138.0"), ("mv: 8.3", "mv: 6.3")]);
    let slope = record.criteria.iter().find(|criterion| criterion.name == "slope").unwrap();
    assert_eq!(slope.outcome, OutcomeWord::Warn, "{:?}", slope.value);
    assert_eq!(record.as_found.verdict, Some(Verdict::Pass));
    assert_eq!(record.condition, Some(Condition::NeedsService));
}

#[test]
fn a_loop_left_out_of_service_has_no_overall_verdict() {
    let record = record(&[("outcome: returned to service", "outcome: left out of service")]);
    assert_eq!(record.verdict, None);
    assert_eq!(record.as_found.verdict, Some(Verdict::Pass));
}

#[test]
fn a_regime_says_what_is_missing_and_by_which_rule() {
    let folder = tempfile::tempdir().unwrap();
    let limits = "limits: {name: permit limits, revision: 1}\nrequirements: permit\npH: {slope: {fail_below: 70 %}}\n";
    std::fs::write(folder.path().join("limits.yaml"), limits).unwrap();
    std::fs::write(folder.path().join("v.yaml"), GOOD.replace("  site: Works\n", "  limits: limits.yaml\n")).unwrap();
    let told = review(open(&folder.path().join("v.yaml"), &Given::default()));
    let missing: Vec<&str> = told
        .problems
        .iter()
        .filter(|problem| problem.code == "required-by-regime")
        .map(|problem| problem.what.as_str())
        .collect();
    assert_eq!(missing.len(), 3, "{missing:#?}");
    assert!(missing.iter().any(|what| what.contains("site")), "{missing:#?}");
    assert!(missing.iter().any(|what| what.contains("firm")), "{missing:#?}");
    assert!(missing.iter().any(|what| what.contains("not used to calibrate")), "{missing:#?}");
}

#[test]
fn what_the_whole_visit_lacks_is_told_once_for_all_loops() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("limits.yaml"), "limits: {name: strict}\nrequirements: laboratory\n").unwrap();
    let (start, end) = (GOOD.find("  - tag").unwrap(), GOOD.find("signatures").unwrap());
    let second = GOOD[start..end].replace("AIT-1", "AIT-2").replace("P-1", "P-2").replace("    location: Outlet\n", "");
    let instrument = "  instruments: {T9: {measures: temperature, serial: a, due: 2026-01-01}}\nloops:";
    let text = GOOD.replace("  site: Works\n", "  limits: limits.yaml\n").replace("loops:", instrument);
    let end = text.find("signatures").unwrap();
    std::fs::write(folder.path().join("v.yaml"), text[..end].to_owned() + &second + &text[end..]).unwrap();
    let told = review(open(&folder.path().join("v.yaml"), &Given::default())).problems;
    let count = |what: &str| told.iter().filter(|problem| problem.what.ends_with(what)).count();
    assert_eq!((count("site where the work was done"), count("certificate and due date")), (1, 1), "{told:#?}");
    assert_eq!(count("loop AIT-2: missing: location of the measuring point"), 1);
    assert_eq!(count("uncertainty of every standard used"), 2);
    let past = told.iter().find(|problem| problem.code == "instrument-past-due").unwrap();
    assert_eq!(past.severity, Severity::Error, "past due is an error for a laboratory");
}

/// The visit of the other tests, its sample compared, under limits of its own.
fn under(limits: &str) -> Reviewed {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("limits.yaml"), limits).unwrap();
    let sample = "        # third\n      checks: { sample: { shown: 7.31, reference: 7.26 } }\n";
    let visit = GOOD.replace("  site: Works\n", "  limits: limits.yaml\n").replace("        # third\n", sample);
    std::fs::write(folder.path().join("v.yaml"), visit).unwrap();
    review(open(&folder.path().join("v.yaml"), &Given::default()))
}

fn guarded(decision: &str, bounds: &str) -> halfcell::record::CriterionRecord {
    let told = under(&format!("limits: {{name: own}}\ndecision: {decision}\npH: {{slope: {{{bounds}}}}}\n"));
    told.records[0].criteria[0].clone()
}

/// Source: ILAC-G8:09/2019, 4.2.3 (non-binary statement, w = U; from memory).
#[test]
fn guarded_limits_have_four_outcomes() {
    let slope = guarded("guarded", "fail_below: 70 %");
    let (value, u) = (slope.value.unwrap(), slope.expanded_uncertainty.unwrap());
    assert!(u > 0.0 && slope.probability_of_conformity.unwrap() > 0.999);
    for (away, outcome) in [
        (-2.0, OutcomeWord::Pass),
        (-0.5, OutcomeWord::ConditionalPass),
        (0.5, OutcomeWord::ConditionalFail),
        (2.0, OutcomeWord::Fail),
    ] {
        let judged = guarded("guarded", &format!("fail_below: {:.4} %", value + away * u));
        assert_eq!(judged.outcome, outcome, "{away}");
    }
    // Half the guard band, and none.
    assert_eq!(guarded("{guard: 0.4}", &format!("fail_below: {:.4} %", value - 0.5 * u)).outcome, OutcomeWord::Pass);
    let on_it = guarded("simple", &format!("fail_below: {:.4} %", value - 0.01 * u));
    assert_eq!(on_it.outcome, OutcomeWord::Pass);
    assert!((on_it.probability_of_conformity.unwrap() - 0.5).abs() < 0.02);
}

#[test]
fn where_guard_bands_meet_nothing_can_pass_and_far_out_still_fails() {
    let slope = guarded("guarded", "fail_below: 70 %");
    let (value, u) = (slope.value.unwrap(), slope.expanded_uncertainty.unwrap());
    let between = |low: f64, high: f64| {
        guarded("guarded", &format!("fail_below: {:.4} %, fail_above: {:.4} %", value + low * u, value + high * u))
    };
    let inside = between(-0.5, 0.5);
    assert_eq!((inside.outcome, inside.guard_bands_meet), (OutcomeWord::ConditionalPass, true));
    let outside = between(1.5, 2.5);
    assert_eq!((outside.outcome, outside.guard_bands_meet), (OutcomeWord::Fail, true));
    assert!(!between(-3.0, 3.0).guard_bands_meet);
}

#[test]
fn guarded_limits_without_uncertainty_are_not_judged() {
    let limits = "limits: {name: own}\ndecision: guarded\npH: {sample: {fail_beyond: 0.2 pH}}\n";
    let told = under(limits);
    let sample = &told.records[0].criteria[0];
    assert_eq!((sample.outcome, sample.reason.as_deref()), (OutcomeWord::NotJudged, Some("no-uncertainty")));
    assert_eq!(told.records[0].verdict, None);
    let told = under(&format!("{limits}requirements: laboratory\n"));
    let problem = told.problems.iter().find(|problem| problem.code == "guarded-without-uncertainty").unwrap();
    assert!(problem.what.contains("sample") && told.records.is_empty(), "{problem:?}");
}

#[test]
fn readings_as_left_without_work_are_questioned() {
    let left = "    adjusted: false\n    as_left: { readings: [{ in: B7, mv: 8.1, temperature: 25.0, shown: 6.88 }, { in: B4, mv: 168.3, temperature: 25.0, shown: 4.01 }] }\n";
    let edits = [("    adjusted: false\n", left)];
    let told = problem(&edits, "as-left-without-work", "- tag: AIT-1");
    assert!(told.fix.contains("`adjusted: yes`"));
    assert_eq!(record(&edits).verdict, record(&edits).as_found.verdict);
}

/// A check of the temperature in the state as found, and what it gives.
fn with_check(check: &str, element: &str) -> Reviewed {
    let probe = format!("probe: {{ serial: P-1, temperature_element: {element} }}");
    let checks = format!("        # third\n      checks: {{ {check} }}\n");
    let (_, reviewed) = reviewed(&[("probe: P-1", &probe), ("        # third\n", &checks)]);
    assert!(!reviewed.records.is_empty(), "{:#?}", reviewed.problems);
    reviewed
}

fn of<'a>(record: &'a Record, name: &str) -> &'a halfcell::record::CriterionRecord {
    record.criteria.iter().find(|criterion| criterion.name == name).unwrap()
}

// Source: IEC 60751, table: Pt1000 has 1077.94 Ω at 20 °C and 1097.35 Ω at 25 °C; class B ± (0.30 + 0.005·t) °C.
#[test]
fn an_element_is_compared_with_the_reference_and_judged_where_nothing_was_shown() {
    let limits = "limits: {name: own}\npH: {temperature: {fail_beyond: 1.0 °C}, output: {fail_beyond: 0.5 %}}\n";
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("limits.yaml"), limits).unwrap();
    let record = |check: &str, element: &str| {
        let probe = format!("probe: {{ serial: P-1, temperature_element: {element} }}");
        let checks = format!("        # third\n      checks: {{ {check} }}\n");
        let text = GOOD.replace("probe: P-1", &probe).replace("        # third\n", &checks);
        let text = text.replace("  site: Works\n", "  limits: limits.yaml\n");
        std::fs::write(folder.path().join("v.yaml"), text).unwrap();
        let reviewed = review(open(&folder.path().join("v.yaml"), &Given::default()));
        assert!(!reviewed.records.is_empty(), "{:#?}", reviewed.problems);
        reviewed.records.into_iter().next().unwrap()
    };
    let element = record("temperature: [{ reference: 20.0, resistance: 1097.35 Ω }]", "Pt1000");
    let row = &element.as_found.checks.temperature[0];
    assert!((row.element_error_c.unwrap() - 5.0).abs() < 0.002 && (row.expected_ohm.unwrap() - 1077.94).abs() < 0.006);
    assert!((row.class_b_tolerance_c.unwrap() - 0.40).abs() < 1e-9);
    let judged = of(&element, "temperature");
    assert_eq!((judged.of.as_deref(), judged.outcome), (Some("element"), OutcomeWord::Fail));
    let shown = record("temperature: [{ reference: 20.0, shown: 20.1, resistance: 1097.35 Ω }]", "Pt1000");
    let judged = of(&shown, "temperature");
    assert_eq!((judged.of.as_deref(), judged.outcome), (None, OutcomeWord::Pass));
    let unknown = record("temperature: [{ reference: 20.0, resistance: 1097.35 Ω }]", "NTC 10k");
    assert_eq!(of(&unknown, "temperature").reason.as_deref(), Some("element-unknown"));
    assert_eq!(of(&unknown, "output").reason.as_deref(), Some("check-not-done"));
    let no_range = record("output: [{ shown: 7.00, ma: 12.0 }]", "Pt1000");
    assert_eq!(of(&no_range, "output").reason.as_deref(), Some("range-unknown"));
}

// Source: IEC 60751: a Pt100 has 390.48 Ω at 850 °C, a Pt1000 185.20 Ω at −200 °C; beyond there is none.
#[test]
fn a_resistance_that_no_temperature_gives_is_questioned() {
    for (ohm, element) in [("1077.9 Ω", "Pt100"), ("107.8 Ω", "Pt1000"), ("0 Ω", "Pt100")] {
        let reviewed =
            with_check(&format!("temperature: [{{ reference: 20.0, shown: 20.1, resistance: {ohm} }}]"), element);
        let told = reviewed.problems.iter().find(|problem| problem.code == "element-resistance").unwrap();
        assert!(told.what.contains(ohm) && told.severity == Severity::Warning, "{}", told.one_line());
    }
    for (ohm, element) in [("107.8 Ω", "Pt100"), ("1077.9 Ω", "Pt1000"), ("5 kΩ", "NTC 10k")] {
        let reviewed =
            with_check(&format!("temperature: [{{ reference: 20.0, shown: 20.1, resistance: {ohm} }}]"), element);
        assert!(reviewed.problems.iter().all(|problem| problem.code != "element-resistance"), "{ohm} {element}");
    }
}

// Source: 40 CFR 136.3, table II: pH within 15 minutes; NAMUR NE 43: 3.8 mA to 20.5 mA.
#[test]
fn the_fifteen_minutes_and_the_levels_of_the_current_have_their_borders() {
    let has = |check: &str, code: &str| with_check(check, "Pt1000").problems.iter().any(|problem| problem.code == code);
    let sample =
        |to: &str| format!("sample: {{ shown: 7.31, reference: 7.26, taken: 2026-04-17T08:45+01:00, measured: {to} }}");
    assert!(!has(&sample("2026-04-17T09:00+01:00"), "sample-late"));
    assert!(has(&sample("2026-04-17T09:00:30+01:00"), "sample-late"));
    for (ma, told) in [("3.8", true), ("3.81", false), ("20.49", false), ("20.5", true)] {
        assert_eq!(has(&format!("output: [{{ shown: 7.00, ma: {ma} }}]"), "output-current"), told, "{ma} mA");
    }
}

// Source: 40 CFR 136.3, table II names pH; a redox potential is no parameter of it.
#[test]
fn a_redox_sample_has_no_fifteen_minutes() {
    let redox = [
        ("quantity: pH", "quantity: redox"),
        ("probe: P-1", "probe: { serial: P-1, reference: Ag/AgCl 3 mol/L }"),
        ("    N7: { buffer: technical 7.00, lot: N7", "    R1: { redox: zobell, lot: R1"),
        ("        - { in: B7, mv: 8.3, temperature: 25.0, shown: 6.88 }\n", ""),
        ("{ in: B4, mv: 168.4, temperature: 25.0, shown: 4.01 }", "{ in: R1, mv: 218, temperature: 25.0, shown: 218 }"),
        (
            "        # third\n",
            "      checks: { sample: { shown: 310, reference: 306, taken: 2026-04-17T08:45+01:00, measured: 2026-04-17T09:25+01:00 } }\n",
        ),
    ];
    let (_, reviewed) = reviewed(&redox);
    assert!(reviewed.problems.iter().all(|problem| problem.code != "sample-late"));
    let sample = reviewed.records[0].as_found.checks.sample.as_ref().unwrap();
    assert_eq!((sample.minutes, sample.within_holding_time), (Some(40.0), None));
}

// Source: USGS A6.5 and Sawyer, Sobkowiak, Roberts 1995 at 25 °C: ZoBell 428 mV, Ag/AgCl 3 mol/L 209 mV, calomel 244 mV.
#[test]
fn after_a_replacement_the_new_reference_electrode_counts() {
    let reading = |mv: i32| format!("{{ in: R1, mv: {mv}, temperature: 25.0, shown: {mv} }}");
    let remedy = format!(
        "    remedies:\n      - remedy: probe replaced\n        probe: {{ serial: P-2, reference: calomel saturated }}\n\
         \x20       old_probe: condemned\n        reason: crack\n        readings: [{}]\n\
         \x20   as_left: {{ readings: [{}] }}\n    adjusted: false\n",
        reading(185),
        reading(184)
    );
    let (_, reviewed) = reviewed(&[
        ("quantity: pH", "quantity: redox"),
        ("probe: P-1", "probe: { serial: P-1, reference: Ag/AgCl 3 mol/L }"),
        ("    N7: { buffer: technical 7.00, lot: N7", "    R1: { redox: zobell, lot: R1"),
        ("        - { in: B7, mv: 8.3, temperature: 25.0, shown: 6.88 }\n", ""),
        ("{ in: B4, mv: 168.4, temperature: 25.0, shown: 4.01 }", &reading(218)),
        ("    adjusted: false\n", &remedy),
    ]);
    let told: Vec<String> = reviewed.problems.iter().map(Problem::one_line).collect();
    let record = reviewed.records.first().unwrap_or_else(|| panic!("refused: {told:#?}"));
    let standard = |figures: &halfcell::record::Figures| figures.readings[0].standard_mv.unwrap().round();
    assert_eq!(standard(&record.as_found.figures), 219.0);
    assert_eq!(standard(record.remedies[0].after.as_ref().unwrap()), 184.0);
    assert_eq!(standard(&record.as_left.as_ref().unwrap().figures), 184.0);
}

// A slip that leaves a line that computes: told, printed, and taken knowingly.
#[test]
fn a_suspected_slip_is_printed_unless_it_is_mended() {
    let third = ("        # third\n", "        - { in: B9, mv: -121.4, temperature: 25.0, shown: 9.16 }\n");
    let edits = [("mv: 168.4", "mv: 186.4"), third];
    let told = problem(&edits, "slip-suspected", "- { in: B4, mv: 186.4");
    assert_eq!(told.severity, Severity::Warning);
    assert_eq!(told.place.path, "loops[0].as_found.readings[1].mv");
    assert!(told.what.contains("`186.4` in `B4` as 168.4 mV (two digits exchanged): slope 94.7 %"), "{}", told.what);
    let printed = record(&edits);
    let slip = &printed.slips[0];
    assert_eq!((slip.code, slip.figures.row, slip.figures.would_be), ("digits-exchanged", Some(1), Some(168.4)));
    assert_eq!(slip.said, None, "the stored record holds no sentence");
    assert_eq!(printed.as_found.figures.readings[1].mv, Some(186.4), "data are never changed");
    assert!(printed.deviations.iter().any(|deviation| deviation.code == "slip-suspected"));
    let accepted =
        ("    adjusted: false\n", "    adjusted: false\n    accepted: [{code: slip-suspected, reason: seen twice}]\n");
    let record = record(&[edits[0], edits[1], accepted]);
    let deviation = record.deviations.iter().find(|deviation| deviation.code == "slip-suspected").unwrap();
    assert_eq!(deviation.reason.as_deref(), Some("seen twice"));
    assert!(reviewed(&[third]).1.records[0].slips.is_empty());
}

#[test]
fn a_temperature_in_fahrenheit_is_told_at_the_temperature() {
    let edits = [("mv: 168.4, temperature: 25.0", "mv: 168.4, temperature: 77")];
    let told = problem(&edits, "slip-suspected", "- { in: B4");
    assert_eq!(told.place.path, "loops[0].as_found.readings[1].temperature");
    assert!(told.what.contains("`77` in `B4` in °F (25 °C)"), "{}", told.what);
}

#[test]
fn stated_figures_and_copies_are_slips_of_the_record() {
    let stated = ("        # third\n", "        # third\n      stated: { slope: 90 % }\n");
    let left = "    adjusted: true\n    as_left: { readings: [{ in: B7, mv: 8.3, temperature: 25.0, shown: 6.88 }, { in: B4, mv: 168.4, temperature: 25.0, shown: 4.01 }] }\n";
    let record = record(&[stated, ("    adjusted: false\n", left)]);
    let codes: Vec<&str> = record.slips.iter().map(|slip| slip.code).collect();
    assert_eq!(codes, ["stated-disagrees", "copied-from-as-found"]);
    assert_eq!(record.slips[0].figures.typed.as_deref(), Some("90 %"));
}

#[test]
fn a_dead_probe_a_little_below_zero_is_not_reversed() {
    let (_, dead) = reviewed(&[("mv: 168.4", "mv: 6.9"), ("shown: 4.01", "shown: 6.90")]);
    assert_eq!(dead.problems, []);
    assert_eq!(dead.records[0].as_found.verdict, Some(Verdict::Fail));
}

/// Until when a document is kept, by which rule, for how long.
fn kept(limits: &str, client: &str, edits: &[(&str, &str)]) -> Option<(String, String, String)> {
    let inline = "client: { name: Invented client, contact: desk@client.example.com }";
    let mut text =
        GOOD.replace(inline, "client: client.yaml\n  limits: limits.yaml").replace("site: Works", "site: works");
    for (from, to) in edits {
        assert_eq!(text.matches(from).count(), 1, "«{from}» must stand there once");
        text = text.replace(from, to);
    }
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    write("limits.yaml", &format!("limits: {{name: l, revision: 1}}\n{limits}"));
    write("client.yaml", &format!("client: {{name: C}}\nsites: {{works: {{name: W, address: A}}}}\n{client}"));
    write("v.yaml", &text);
    // What else a regime demands is another matter.
    let opened = open(&folder.path().join("v.yaml"), &Given::default());
    let told: Vec<String> = opened.problems.iter().map(Problem::one_line).collect();
    let visit = opened.visit.unwrap_or_else(|| panic!("refused: {told:#?}"));
    halfcell::record::compute(&visit, 0).keep.map(|keep| (keep.until, keep.rule, keep.span))
}

#[test]
fn a_document_is_kept_as_long_as_the_longest_rule_asks() {
    let rule = |until: &str, rule: &str, span: &str| Some((until.to_owned(), rule.to_owned(), span.to_owned()));
    for regime in ["plain", "gmp", "laboratory"] {
        assert_eq!(kept(&format!("requirements: {regime}\n"), "", &[]), None, "nothing is invented for {regime}");
    }
    let permit = "requirements: permit\n";
    let three_years = rule("2029-04-17", "permit", "3 years");
    assert_eq!(kept(permit, "", &[]), three_years);
    assert_eq!(kept(permit, "keep: 90 days\n", &[]), three_years);
    assert_eq!(kept("requirements: permit\nkeep: 3 years\n", "", &[]), three_years);
    assert_eq!(kept("requirements: permit\nkeep: 37 months\n", "", &[]), rule("2029-05-17", "limits", "37 months"));
    assert_eq!(kept("keep: 5 years\n", "keep: 10 years\n", &[]), rule("2036-04-17", "client", "10 years"));
    assert_eq!(kept("decision: simple\n", "keep: 1 year\n", &[]), rule("2027-04-17", "client", "1 year"));
    // From the last day of the work; a day that the month does not have is the first of the next.
    let overnight = [
        ("finished: 2026-04-17T09:40+01:00", "finished: 2026-04-18T00:10+01:00"),
        ("signed: 2026-04-17T09:45+01:00", "signed: 2026-04-18T09:45+01:00"),
    ];
    assert_eq!(kept(permit, "", &overnight), rule("2029-04-18", "permit", "3 years"));
    let leap = [
        ("started: 2026-04-17T08:40+01:00", "started: 2024-02-29T08:40+01:00"),
        ("finished: 2026-04-17T09:40+01:00", "finished: 2024-02-29T09:40+01:00"),
        ("signed: 2026-04-17T09:45+01:00", "signed: 2024-02-29T09:45+01:00"),
    ];
    assert_eq!(kept(permit, "", &leap), rule("2027-03-01", "permit", "3 years"));
}
