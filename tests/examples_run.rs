//! The examples tell the stories that README says, with the figures worked out by hand from their readings (least squares
//! in a spreadsheet's way, rounded to one decimal; buffers from the published equations).

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

fn records() -> BTreeMap<String, Value> {
    let visits = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/visits");
    let checked =
        Command::new(env!("CARGO_BIN_EXE_halfcell")).args(["check", "--format", "json"]).arg(visits).output().unwrap();
    assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stderr));
    let record = |line: &str| {
        let record: Value = serde_json::from_str(line).unwrap();
        let name = |value: &Value| value.as_str().unwrap().to_owned();
        (format!("{} {}", name(&record["visit"]["number"]), name(&record["tag"])), record)
    };
    String::from_utf8(checked.stdout).unwrap().lines().map(record).collect()
}

/// Number and tag, as found (verdict, slope, offset), as left (the same), condition.
type Story<'a> = (&'a str, (&'a str, f64, f64), Option<(&'a str, f64, f64)>, &'a str);

const STORIES: &[Story] = &[
    ("HM-2024-088 AT-118", ("pass", 98.6, -1.6), None, "fit"),
    ("HM-2025-012 AT-118", ("pass", 94.6, -5.4), Some(("pass", 97.0, -5.0)), "fit"),
    ("HM-2025-047 AT-118", ("fail", 87.8, -20.3), Some(("pass", 97.1, -7.4)), "fit"),
    ("HM-2025-083 AT-118", ("pass", 92.5, -9.8), Some(("pass", 94.2, -9.5)), "fit"),
    ("HM-2026-009 AT-118", ("pass", 89.3, -11.6), Some(("pass", 90.6, -11.2)), "fit"),
    ("HM-2026-046 AT-118", ("pass", 86.3, -13.9), Some(("pass", 87.7, -13.6)), "fit"),
    ("HM-2026-014 PH-1", ("pass", 96.7, -8.6), None, "fit"),
    ("HM-2026-038 QT-40", ("pass", 95.6, -11.2), None, "fit"),
    ("HM-2026-061 AT-140", ("pass", 97.2, -5.5), None, "fit"),
    ("HM-2026-062 QT-41", ("fail", 70.2, -34.0), Some(("pass", 94.1, -9.2)), "fit"),
    ("HM-2026-063 AT-101", ("fail", 74.0, 21.8), Some(("pass", 95.9, 5.5)), "fit"),
    ("HM-2026-064 QT-31", ("fail", 21.0, -41.0), Some(("pass", 99.2, -1.5)), "fit"),
    ("HM-2026-069 QT-24", ("fail", 89.0, -17.4), Some(("pass", 95.4, -10.5)), "fit"),
    ("HM-2026-072 AT-120", ("pass", 93.2, -14.0), Some(("pass", 93.2, -14.0)), "fit"),
    ("HM-2026-074 AT-113", ("fail", 1.2, -2.1), None, "unfit"),
    ("HM-2026-077 AT-101", ("pass", 95.7, 4.8), None, "fit"),
    ("HM-2026-077 AT-112", ("fail", 89.9, -20.1), Some(("pass", 95.9, -13.4)), "fit"),
    ("HM-2026-077 AT-120", ("pass", 93.1, -14.5), None, "fit"),
    ("HM-2026-077 AT-131", ("pass", 93.4, -7.7), Some(("pass", 97.4, -4.5)), "fit"),
    ("HM-2026-077 AT-140", ("pass", 97.0, -5.8), None, "fit"),
    ("HM-2026-077 AT-150", ("fail", 81.1, -24.3), Some(("pass", 94.3, -10.9)), "fit"),
    ("HM-2026-077 AT-160", ("pass", 94.6, -13.4), None, "fit"),
];

fn is_state(name: &str, state: &Value, (verdict, slope, offset): (&str, f64, f64)) {
    assert_eq!(state["verdict"], verdict, "{name}");
    for (key, expected) in [("slope_percent", slope), ("offset_mv", offset)] {
        let found = state[key].as_f64().unwrap();
        assert!((found - expected).abs() <= 0.15, "{name} {key}: {found}, by hand {expected}");
    }
}

#[test]
fn each_example_tells_its_story() {
    let records = records();
    for (name, found, left, condition) in STORIES {
        let record = &records[*name];
        is_state(&format!("{name} as found"), &record["as_found"], *found);
        assert_eq!(left.is_some(), !record["as_left"].is_null(), "{name}");
        if let Some(left) = left {
            is_state(&format!("{name} as left"), &record["as_left"], *left);
        }
        assert_eq!(record["condition"], *condition, "{name}");
    }
    assert_eq!(records.len(), 26);
}

#[test]
fn redox_loops_are_told_by_their_errors() {
    let records = records();
    let errors = |record: &Value, state: &str| -> Vec<f64> {
        record[state]["readings"].as_array().unwrap().iter().map(|r| r["error_mv"].as_f64().unwrap()).collect()
    };
    let polished = &records["HM-2026-066 AT-142"];
    let near = |found: Vec<f64>, expected: [f64; 2]| {
        assert!(found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 0.6), "{found:?} {expected:?}");
    };
    near(errors(polished, "as_found"), [-27.4, -24.1]);
    near(errors(polished, "as_left"), [2.0, 3.2]);
    assert_eq!((&polished["as_found"]["verdict"], &polished["as_left"]["verdict"]), (&"fail".into(), &"pass".into()));
    assert!((polished["as_left"]["gain_percent"].as_f64().unwrap() - 99.2).abs() < 0.2);
    assert!(polished["as_found"]["slope_percent"].is_null());
}

#[test]
fn the_special_cases_are_there() {
    let records = records();
    let dead = &records["HM-2026-064 QT-31"];
    assert_ne!(dead["loop"]["probe"]["serial"], dead["loop"]["probe_left"]["serial"]);
    let stated = records["HM-2026-038 QT-40"]["as_found"]["stated"].as_array().unwrap();
    assert!(stated.iter().all(|figure| figure["agrees"] == false));
    assert!(records["HM-2026-074 AT-113"]["verdict"].is_null());
    let replaced = &records["HM-2026-077 AT-113"];
    assert!(replaced["as_found"]["not_obtained"].is_string() && replaced["as_found"]["verdict"].is_null());
    let code = |record: &Value, code: &str| record["deviations"].as_array().unwrap().iter().any(|d| d["code"] == code);
    assert!(code(&records["HM-2026-077 AT-150"], "lot-expired"));
    assert!(code(&records["HM-2026-077 AT-160"], "temperature-assumed"));
    assert!(code(&records["HM-2026-077 AT-160"], "sample-late"));
    assert!(code(&records["HM-2026-077 AT-120"], "reading-excluded"));
    assert_eq!(records["HM-2026-069 QT-24"]["limits"]["name"], "curdlewick-product");
}

/// Expected: `scipy.optimize.curve_fit` of SciPy 1.17.1 on the traces, E∞, A and τ 139.180 mV, −139.91 mV, 25.007 s as found
/// and 157.394 mV, −119.89 mV, 6.999 s as left; τ·ln(|A|/w), w = 0.01 pH by the slopes of the stories, 0.521 and 0.560 mV.
#[test]
fn a_clogged_junction_is_slow_and_a_clean_one_is_not() {
    let slow = &records()["HM-2026-069 QT-24"];
    for (state, final_mv, seconds) in [("as_found", 139.180, 139.8), ("as_left", 157.394, 37.6)] {
        let traced = &slow[state]["readings"][1];
        assert!((traced["settling"]["final_mv"].as_f64().unwrap() - final_mv).abs() < 0.001, "{state}");
        assert!((traced["settling"]["time_to_0_01_ph_s"].as_f64().unwrap() - seconds).abs() < 0.1, "{state}");
        assert_eq!(traced["settled"], true);
        assert!(slow[state]["readings"][0]["settled"].is_null());
    }
    let criteria = slow["criteria"].as_array().unwrap().iter().filter(|criterion| criterion["name"] == "settling");
    let outcomes: Vec<&Value> = criteria.map(|criterion| &criterion["outcome"]).collect();
    assert_eq!(outcomes, ["warn", "pass"]);
}

/// A finding that a person expects: code, whether it is gone as left, and words of what is told.
type Expected = (&'static str, bool, &'static str);

/// Number and tag with the findings of the story.
const EXPECTED: &[(&str, &[Expected])] = &[
    ("HM-2025-047 AT-118", &[("slope-low-offset-moved", true, "The reference solution was the cause")]),
    (
        "HM-2026-009 AT-118",
        &[("slope-low", false, "With the offset in its place"), ("fouling", true, "it is not drift")],
    ),
    (
        "HM-2026-046 AT-118",
        &[("slope-low", false, "With the offset in its place"), ("fouling", true, "it is not drift")],
    ),
    ("HM-2026-062 QT-41", &[("slope-low-offset-moved", true, "The reference solution was the cause")]),
    ("HM-2026-063 AT-101", &[("slope-low-offset-moved", true, "The glass had dried out")]),
    ("HM-2026-064 QT-31", &[("remedies-failed", true, "The old probe was at its end.")]),
    (
        "HM-2026-066 AT-142",
        &[("redox-off", true, "A coat on the metal was the cause"), ("fouling", true, "it is not drift")],
    ),
    ("HM-2026-069 QT-24", &[("slope-low", true, "A film on the glass was the cause")]),
    ("HM-2026-074 AT-113", &[("glass-resistance-low", false, "the bulb is cracked")]),
    ("HM-2026-077 AT-112", &[("slope-low", true, "A film on the glass"), ("fouling", true, "it is not drift")]),
    ("HM-2026-077 AT-150", &[("slope-low-offset-moved", true, "The reference solution was the cause")]),
];

#[test]
fn findings_are_those_that_a_person_expects_and_healthy_loops_have_none() {
    for (name, record) in &records() {
        let expected = EXPECTED.iter().find(|(expected, _)| expected == name).map_or(&[][..], |(_, findings)| findings);
        let findings = record["findings"].as_array().unwrap();
        let codes: Vec<&str> = findings.iter().map(|finding| finding["code"].as_str().unwrap()).collect();
        assert_eq!(codes, expected.iter().map(|(code, ..)| *code).collect::<Vec<_>>(), "{name}");
        for (finding, (code, gone, words)) in findings.iter().zip(expected) {
            assert_eq!(finding["resolved"], *gone, "{name} {code}");
            let what = finding["what"].as_str().unwrap();
            assert!(what.contains(words), "{name} {code}: {what}");
            for field in ["evidence", "advice"] {
                assert!(!finding[field].as_str().unwrap().is_empty(), "{name} {code} {field}");
            }
            assert_eq!(finding["caution"].is_null(), *gone, "{name} {code}");
        }
    }
}

#[test]
fn remedies_are_confronted_with_what_they_did() {
    let records = records();
    let effects = |name: &str| -> Vec<String> {
        let remedies = records[name]["remedies"].as_array().unwrap();
        let effects = remedies.iter().map(|remedy| remedy["effect"]["outcome"].as_str().unwrap_or("–").to_owned());
        effects.collect()
    };
    assert_eq!(effects("HM-2026-062 QT-41"), ["no effect", "worked"]);
    assert_eq!(effects("HM-2026-063 AT-101"), ["helped", "worked", "–"]);
    assert_eq!(effects("HM-2026-064 QT-31"), ["no effect", "no effect", "worse", "worked"]);
    assert_eq!(effects("HM-2026-066 AT-142"), ["helped", "worked"]);
    assert_eq!(effects("HM-2026-074 AT-113"), ["no effect"]);
    assert_eq!(records["HM-2026-077 AT-112"]["remedies"][1]["effect"]["together_with"], 1);
}

/// The line through 97.1, 94.2, 90.6 and 87.7 % after 0, 119, 245 and 364 days, worked out in a spreadsheet: −0.0261 % a day from
/// 97.13 % on, which is 80 % after 657 days, on 2027-04-05.
#[test]
fn the_sixth_visit_tells_when_the_probe_is_due() {
    let records = records();
    let last = &records["HM-2026-046 AT-118"];
    assert_eq!(last["history"].as_array().unwrap().len(), 9);
    let breaks = last["trend"]["breaks"].as_array().unwrap();
    assert_eq!(
        (breaks.len(), &breaks[0]["date"], &breaks[0]["what"]),
        (2, &"2025-06-17".into(), &"reference solution replaced".into())
    );
    let slope = &last["trend"]["figures"][0];
    let ageing = &slope["ageing"];
    assert!((ageing["per_day"].as_f64().unwrap() + 0.0261).abs() < 0.0002, "{ageing}");
    assert!((ageing["at_break"].as_f64().unwrap() - 97.13).abs() < 0.1, "{ageing}");
    assert_eq!(ageing["warn_on"].as_str().unwrap().get(..7), Some("2027-04"));
    assert!(ageing["fail_on"].is_null(), "70 % lies beyond twice the span");
    assert_eq!(slope["fouling"].as_array().unwrap().len(), 5);
    let offset = &last["trend"]["figures"][1]["ageing"];
    assert!(offset["has_direction"].as_bool().unwrap() && offset["warn_on"].is_null(), "{offset}");
    assert!(records["HM-2026-077 AT-101"]["trend"].is_null(), "two visits are no history");
}
