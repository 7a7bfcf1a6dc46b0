//! A trace tells when a reading had settled; what it does not tell is not said, and a reading taken too early is questioned.

use halfcell::client::LANGUAGES;
use halfcell::problem::{Problem, Severity};
use halfcell::record::{Condition, OutcomeWord, ReadingRecord, Record, Verdict};
use halfcell::requirements::{Reviewed, review};
use halfcell::rounding::DecimalSign;
use halfcell::visit::{Given, open};
use halfcell::wording::Wording;

const VISIT: &str = "\
visit:
  number: V-1
  started: 2026-04-17T08:40+01:00
  client: { name: Invented client, contact: desk@client.example.com }
  site: Works
  technicians: [A. Name]
  procedure: { name: P-1, revision: '1' }
  limits: limits.yaml
  standards:
    B7: { buffer: phosphate, lot: L7, expires: 2027-01 }
    B4: { buffer: phthalate, lot: L4, expires: 2027-01 }
    R1: { redox: zobell, lot: LR, expires: 2027-01 }
loops:
  - tag: AIT-1
    quantity: pH
    location: Outlet
    analyser: { serial: A-1 }
    probe: P-1
    as_found:
      readings:
        - { in: B7, mv: 8.3, temperature: 25.0, shown: 6.88 }
        - { in: B4, mv: 168.4, temperature: 25.0, shown: 4.01, trace: [] }
    adjusted: false
    outcome: returned to service
signatures:
  - { role: performed, name: A. Name, signed: 2026-04-17T09:45+01:00 }
";

const LIMITS: &str = "limits: {name: own}
pH: {slope: {fail_below: 70 %}, offset: {fail_beyond: 50 mV}, as_found_error: {fail_beyond: 0.2 pH}, settling: {}}
redox: {as_found_error: {fail_beyond: 20 mV}, settling: {warn_beyond: 60 s}}
";

/// Level and amplitude in mV, τ in s: an approach read to 0.1 mV every 5 s up to `to`.
fn approach(level: f64, amplitude: f64, tau: f64, to: u32) -> String {
    let points = (1..=to / 5).map(|i| 5 * i).map(|t| {
        let mv = level + amplitude * (-f64::from(t) / tau).exp();
        format!("[{t}, {mv:.1}]")
    });
    format!("[{}]", points.collect::<Vec<_>>().join(", "))
}

fn reviewed(limit: &str, edits: &[(&str, &str)]) -> Reviewed {
    let mut text = VISIT.to_owned();
    for (from, to) in edits {
        assert_eq!(text.matches(from).count(), 1, "«{from}» must stand there once");
        text = text.replace(from, to);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("v.yaml");
    std::fs::write(folder.path().join("limits.yaml"), LIMITS.replace("settling: {}", limit)).unwrap();
    std::fs::write(&path, &text).unwrap();
    let reviewed = review(open(&path, &Given::default()));
    reviewed.problems.iter().filter(|problem| !problem.refuses()).for_each(is_said_on_documents);
    reviewed
}

/// Whatever may be printed as a deviation has a sentence in every language that its facts fill.
fn is_said_on_documents(problem: &Problem) {
    for (language, tag) in LANGUAGES {
        let said = Wording::of(Some(tag)).deviation(problem.code, &problem.facts, &[], DecimalSign::Comma);
        assert!(said.is_some(), "{language}, {}: {:?}", problem.code, problem.facts);
    }
}

fn record(limit: &str, trace: &str) -> (Record, Vec<Problem>) {
    let given = reviewed(limit, &[("trace: []", &format!("trace: {trace}"))]);
    let told: Vec<String> = given.problems.iter().map(Problem::one_line).collect();
    (given.records.into_iter().next().unwrap_or_else(|| panic!("refused: {told:#?}")), given.problems)
}

fn traced(record: &Record) -> &ReadingRecord {
    &record.as_found.figures.readings[1]
}

fn settling(record: &Record) -> (OutcomeWord, Option<f64>, Option<&str>) {
    let judged = record.criteria.iter().find(|criterion| criterion.name == "settling").unwrap();
    (judged.outcome, judged.value.map(f64::round), judged.reason.as_deref())
}

const WARN: &str = "settling: {warn_beyond: 60 s}";
const FAIL: &str = "settling: {fail_beyond: 60 s}";

/// By hand: slope 160.1/177.477/(2.860/3) = 94.6 %, so 0.01 pH is 0.560 mV; 10 s · ln(100/0.560) = 51.9 s.
#[test]
fn a_settled_reading_has_its_times_and_passes() {
    let (record, problems) = record(WARN, &approach(168.4, -100.0, 10.0, 90));
    let row = traced(&record);
    let told = row.settling.as_ref().unwrap();
    assert_eq!((row.settled, told.told.as_deref(), told.by_theoretical_slope), (Some(true), None, false));
    assert!((told.final_mv.unwrap() - 168.4).abs() < 0.05 && (told.within_mv - 0.560).abs() < 0.001, "{told:?}");
    assert!((told.time_to_0_01_ph_s.unwrap() - 51.9).abs() < 0.3 && told.time_to_1_mv_s.is_none(), "{told:?}");
    assert!((told.time_to_90_s.unwrap() - 23.0).abs() < 0.1, "{told:?}");
    assert_eq!((row.trace[1], row.trace_typed[1].clone()), ([10.0, 131.6], ["10".to_owned(), "131.6".to_owned()]));
    assert_eq!(settling(&record), (OutcomeWord::Pass, Some(52.0), None));
    assert_eq!((record.condition, problems.len()), (Some(Condition::Fit), 0));
    assert_eq!(record.as_found.figures.readings[0].settled, None);
}

#[test]
fn a_slow_probe_is_warned_of_or_fails_and_its_condition_says_so() {
    let slow = approach(168.4, -100.0, 16.0, 120);
    let (warned, _) = record(WARN, &slow);
    assert_eq!(settling(&warned), (OutcomeWord::Warn, Some(83.0), None));
    assert_eq!((warned.verdict, warned.condition), (Some(Verdict::Pass), Some(Condition::NeedsService)));
    let (failed, _) = record(FAIL, &slow);
    assert_eq!((failed.verdict, failed.condition), (Some(Verdict::Fail), Some(Condition::Unfit)));
}

/// Times have no uncertainty: whatever the rule of the set, the simple one.
#[test]
fn settling_is_judged_simply_under_guarded_limits() {
    let trace = approach(168.4, -100.0, 16.0, 120);
    let given = reviewed(&format!("{FAIL}}}\ndecision: {{guard: 1.0"), &[("trace: []", &format!("trace: {trace}"))]);
    assert_eq!(settling(&given.records[0]).0, OutcomeWord::Fail);
}

#[test]
fn without_a_trace_nothing_is_judged_and_nothing_is_settled() {
    let given = reviewed(WARN, &[(", trace: []", ", after: 20 s")]);
    let record = &given.records[0];
    assert_eq!(settling(record), (OutcomeWord::NotJudged, None, Some("no-trace")));
    assert_eq!((traced(record).settled, &traced(record).settling), (None, &None));
    assert_eq!(given.problems.iter().map(|problem| problem.code).collect::<Vec<_>>(), ["waited-short"]);
}

#[test]
fn a_reading_taken_too_early_is_questioned_at_its_place() {
    let trace = approach(171.0, -100.0, 16.0, 120);
    let (early, problems) = record(WARN, &trace);
    assert_eq!(traced(&early).settled, Some(false));
    let told = problems.iter().find(|problem| problem.code == "not-settled").unwrap();
    assert_eq!((told.severity, told.place.line, told.acceptable), (Severity::Warning, 22, true));
    assert!(told.what.contains("as found, B4: read 2.6 mV away from the final value 171.0 mV"), "{}", told.what);
    assert!(told.why.contains("0.01 pH, here 0.56 mV") && told.fix.contains("`excluded: reason`"), "{}", told.long());
    assert!(early.deviations.iter().any(|deviation| deviation.code == "not-settled"));
    // Excluded with its reason it is not asked again; its trace still tells how slow the probe is.
    let excluded = format!("trace: {trace}, excluded: not settled");
    let again = format!("{excluded} }}\n        - {{ in: B4, mv: 170.9, temperature: 25.0, shown: 3.97");
    let given = reviewed(WARN, &[("trace: []", &again)]);
    assert!(given.problems.iter().all(|problem| problem.code != "not-settled"), "{:?}", given.problems);
    assert_eq!(settling(&given.records[0]).0, OutcomeWord::Warn);
}

#[test]
fn a_trace_that_ends_on_its_way_is_judged_only_where_the_limit_is_passed_already() {
    let unfinished = approach(190.0, -100.0, 80.0, 90);
    let (longer, problems) = record(WARN, &unfinished);
    let told = traced(&longer).settling.as_ref().unwrap();
    assert_eq!((told.final_mv, told.told.as_deref(), told.longer_than_s), (None, Some("still-changing"), Some(90.0)));
    assert_eq!(settling(&longer), (OutcomeWord::Warn, Some(90.0), None));
    let told = problems.iter().find(|problem| problem.code == "not-settled").unwrap();
    assert!(told.what.contains("still on its way, which moves by +2"), "{}", told.what);
    let (open, _) = record("settling: {warn_beyond: 120 s}", &unfinished);
    assert_eq!(settling(&open), (OutcomeWord::NotJudged, None, Some("settling-not-told")));
}

/// With a dead probe 0.01 pH is next to nothing in mV: the theoretical slope is taken, and said.
#[test]
fn a_dead_probe_is_settled_by_the_theoretical_slope() {
    let trace = approach(10.0, -30.0, 10.0, 90);
    let given = reviewed(
        WARN,
        &[(
            "mv: 168.4, temperature: 25.0, shown: 4.01, trace: []",
            &format!("mv: 10.0, temperature: 25.0, shown: 6.8, trace: {trace}"),
        )],
    );
    let told: Vec<&str> = given.problems.iter().map(|problem| problem.code).collect();
    assert!(!told.contains(&"not-settled"), "{told:?}");
    let told = traced(&given.records[0]).settling.as_ref().unwrap();
    assert!(told.by_theoretical_slope && (told.within_mv - 0.592).abs() < 0.001);
}

/// By hand: 12 s · ln(80/1) = 52.6 s.
#[test]
fn a_redox_probe_settles_to_one_millivolt() {
    let trace = approach(218.0, -80.0, 12.0, 120);
    let redox = [
        ("quantity: pH", "quantity: redox"),
        ("probe: P-1", "probe: { serial: P-1, reference: Ag/AgCl 3 mol/L }"),
        ("        - { in: B7, mv: 8.3, temperature: 25.0, shown: 6.88 }\n", ""),
        (
            "{ in: B4, mv: 168.4, temperature: 25.0, shown: 4.01, trace: [] }",
            &format!("{{ in: R1, mv: 218, temperature: 25.0, shown: 218, trace: {trace} }}"),
        ),
    ];
    let given = reviewed(WARN, &redox);
    let told: Vec<String> = given.problems.iter().map(Problem::one_line).collect();
    let record = given.records.first().unwrap_or_else(|| panic!("{told:#?}"));
    let row = &record.as_found.figures.readings[0];
    let told = row.settling.as_ref().unwrap();
    assert_eq!((told.within_mv, told.time_to_0_01_ph_s, row.settled), (1.0, None, Some(true)));
    assert!((told.time_to_1_mv_s.unwrap() - 52.6).abs() < 0.3, "{told:?}");
    assert_eq!(settling(record), (OutcomeWord::Pass, Some(53.0), None));
}
