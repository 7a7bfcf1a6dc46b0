//! Times, remedies, outcome and signatures.

use crate::base::{Acceptable, Case, Error, VISIT, Warning, check, edit, opened};

#[test]
fn times() {
    check(&[
        Case {
            number: "40 last good check after the visit",
            from: "last_good: 2026-01-20",
            to: "last_good: 2026-10-20",
            class: Error,
            code: "date-after-visit",
            mark: "last_good: |2026-10-20",
            fix: "correct the date",
        },
        Case {
            number: "41 a day that does not exist",
            from: "last_good: 2026-01-20",
            to: "last_good: 2026-02-30",
            class: Error,
            code: "impossible-date",
            mark: "|2026-02-30",
            fix: "write the day as year-month-day",
        },
        Case {
            number: "41 a time that does not exist",
            from: "from: 08:50",
            to: "from: 24:30",
            class: Error,
            code: "impossible-time",
            mark: "|24:30",
            fix: "from 00 to 23",
        },
        Case {
            number: "41 a leap second",
            from: "finished: 2026-04-17T12:15",
            to: "finished: 2026-04-17T23:59:60",
            class: Error,
            code: "impossible-time",
            mark: "|2026-04-17T23:59:60",
            fix: "23:59:59",
        },
        Case {
            number: "43 a time without offset",
            from: "started: 2026-04-17T08:40+01:00",
            to: "started: 2026-04-17T08:40",
            class: Error,
            code: "time-without-offset",
            mark: "started: |2026",
            fix: "2026-04-17T08:40+01:00",
        },
        Case {
            number: "47 the visit ends before it begins",
            from: "finished: 2026-04-17T12:15+01:00",
            to: "finished: 2026-04-17T12:15+06:00",
            class: Error,
            code: "finished-before-started",
            mark: "finished: |2026",
            fix: "correct one of the two times",
        },
        Case {
            number: "47 as left earlier than as found",
            from: "shown: 4.00, at: 10:05",
            to: "shown: 4.00, at: 08:55",
            class: Error,
            code: "time-order",
            mark: "at: |08:55",
            fix: "order of the remedies",
        },
        Case {
            number: "47 a remedy before as found",
            from: "lasted: 20 min, at: 09:20",
            to: "lasted: 20 min, at: 08:50",
            class: Warning,
            code: "remedy-before-as-found",
            mark: "at: |08:50",
            fix: "not_obtained",
        },
        Case {
            number: "47 a hold that ends before it starts",
            from: "to: 10:20",
            to: "to: 08:20",
            class: Error,
            code: "hold-ends-before-start",
            mark: "to: |08:20",
            fix: "correct one",
        },
        Case {
            number: "a reading outside the visit",
            from: "shown: 4.00, at: 10:05",
            to: "shown: 4.00, at: 13:05",
            class: Error,
            code: "time-outside-visit",
            mark: "at: |13:05",
            fix: "begin and end",
        },
        Case {
            number: "50 signed before the end",
            from: "signed: 2026-04-17T12:20+01:00",
            to: "signed: 2026-04-17T12:20+02:00",
            class: Error,
            code: "signed-before-end",
            mark: "signed: |2026-04-17T12:20",
            fix: "correct the time",
        },
        Case {
            number: "50 authorised before performed",
            from: "signed: 2026-04-18T09:00+01:00",
            to: "signed: 2026-04-17T12:18+01:00",
            class: Warning,
            code: "signature-order",
            mark: "signed: |2026-04-17T12:18",
            fix: "correct",
        },
        Case {
            number: "a probe installed after the visit",
            from: "installed: 2025-06-03",
            to: "installed: 2026-06-03",
            class: Error,
            code: "date-after-visit",
            mark: "installed: |2026",
            fix: "remedies",
        },
        Case {
            number: "due before the visit",
            from: "date: 2026-07-17",
            to: "date: 2025-07-17",
            class: Error,
            code: "due-before-visit",
            mark: "date: |2025",
            fix: "correct",
        },
    ]);
}

#[test]
fn a_visit_of_days_is_told() {
    let text = "visit: {number: 1, started: 2026-04-17T08:40Z, finished: 2026-05-17T12:15Z, client: {name: C}, technicians: [T]}\nloops: []\n";
    let told: Vec<_> = opened(text).problems.iter().map(|it| (it.code, it.place.line, it.place.column)).collect();
    assert_eq!(told, [("visit-long", 1, 58), ("no-loop", 2, 8)]);
}

#[test]
fn a_visit_may_cross_midnight() {
    let text = VISIT
        .replace("started: 2026-04-17T08:40", "started: 2026-04-16T22:40")
        .replace("from: 08:50, to: 10:20", "from: 2026-04-16T22:50+01:00, to: 2026-04-17T01:20+01:00")
        .replace("taken: 08:45, measured: 08:55, ", "");
    let text = ["09:00", "09:05", "09:20", "09:45", "10:00", "10:05"]
        .iter()
        .fold(text, |text, time| text.replace(&format!("at: {time}"), &format!("at: 2026-04-17T{time}+01:00")));
    let opened = opened(text);
    assert!(opened.problems.is_empty(), "47 overnight: {:?}", opened.problems);
}

#[test]
fn remedies() {
    check(&[
        Case {
            number: "a misspelt remedy",
            from: "{remedy: acid soak",
            to: "{remedy: acid bath",
            class: Error,
            code: "unknown-word",
            mark: "remedy: |acid bath",
            fix: "acid soak",
        },
        Case {
            number: "other without a note",
            from: "{remedy: rinsed,",
            to: "{remedy: other,",
            class: Error,
            code: "missing-key",
            mark: "- |{remedy: other",
            fix: "add `note: …`",
        },
        Case {
            number: "79 replaced by the same serial",
            from: "{remedy: rinsed,",
            to: "{remedy: probe replaced, probe: K2-88,",
            class: Error,
            code: "replaced-by-itself",
            mark: "probe: |K2-88",
            fix: "remove this remedy",
        },
        Case {
            number: "79 replaced without a serial",
            from: "{remedy: rinsed,",
            to: "{remedy: probe replaced,",
            class: Error,
            code: "replacement-without-serial",
            mark: "- |{remedy: probe replaced",
            fix: "`probe: {serial: …}`",
        },
        Case {
            number: "79 a serial without replacement",
            from: "{remedy: rinsed,",
            to: "{remedy: rinsed, probe: K2-99,",
            class: Error,
            code: "probe-without-replacement",
            mark: "probe: |K2-99",
            fix: "probe replaced",
        },
        Case {
            number: "82 bleach directly after acid",
            from: "{remedy: rinsed,",
            to: "{remedy: disinfected with bleach,",
            class: Warning,
            code: "acid-and-bleach",
            mark: "- |{remedy: disinfected",
            fix: "rinsed",
        },
        Case {
            number: "82 hydrofluoric acid",
            from: "solution: 0.1 mol/L HCl",
            to: "solution: ammonium bifluoride paste",
            class: Warning,
            code: "hydrofluoric-acid",
            mark: "solution: |ammonium",
            fix: "medical help",
        },
        Case {
            number: "82 strong ammonia",
            from: "solution: 0.1 mol/L HCl",
            to: "solution: 25 % ammonia",
            class: Warning,
            code: "ammonia-used",
            mark: "solution: |25",
            fix: "safety data sheet",
        },
        Case {
            number: "polished glass",
            from: "{remedy: rinsed,",
            to: "{remedy: metal polished,",
            class: Acceptable,
            code: "glass-polished",
            mark: "remedy: |metal polished",
            fix: "antimony",
        },
        Case {
            number: "an agent lasting a negative time",
            from: "{remedy: acid soak, solution: 0.1 mol/L HCl, lasted: 20 min",
            to: "{remedy: acid soak, solution: 0.1 mol/L HCl, lasted: -20 min",
            class: Error,
            code: "negative-time",
            mark: "lasted: |-20 min",
            fix: "`2 min`",
        },
    ]);
    let with_hcl_kept = opened(edit(VISIT, "solution: 0.1 mol/L HCl", "solution: 5 % HF"));
    let visit = with_hcl_kept.visit.expect("the fact is kept");
    assert_eq!(visit.loops[0].remedies[0].solution.as_ref().expect("a solution").text, "5 % HF");
}

const AS_LEFT: &str = "    as_left:
      readings:
        - {in: B7, mv: 2.1, temperature: 21.7, after: 60 s, shown: 7.01, at: 10:00}
        - {in: B4, mv: 174.9, temperature: 21.8, after: 60 s, shown: 4.00, at: 10:05}
      checks:
        standard: {in: X9, shown: 9.20, temperature: 22.0}
";
const REDOX_FOUND: &str = "    as_found:
      readings:
        - {in: R1, shown: 222, mv: 224, temperature: 22.0}
";

#[test]
fn outcome_and_states() {
    check(&[
        Case {
            number: "76 as left missing",
            from: AS_LEFT,
            to: "",
            class: Error,
            code: "as-left-missing",
            mark: "  - |tag: AIT-2104",
            fix: "`as_left: {not_obtained: reason}`, or another outcome: left out of service",
        },
        Case {
            number: "76 as left not obtained",
            from: AS_LEFT,
            to: "    as_left: {not_obtained: the plant wanted the loop back}\n",
            class: Warning,
            code: "as-left-not-obtained",
            mark: "not_obtained: |the plant",
            fix: "printed",
        },
        Case {
            number: "77 as found not obtained",
            from: REDOX_FOUND,
            to: "    as_found: {not_obtained: new installation}\n",
            class: Warning,
            code: "as-found-not-obtained",
            mark: "not_obtained: |new installation",
            fix: "printed",
        },
        Case {
            number: "23 a state without a reason",
            from: REDOX_FOUND,
            to: "    as_found: {not_obtained: no}\n",
            class: Error,
            code: "reason-missing",
            mark: "not_obtained: |no",
            fix: "say why",
        },
        Case {
            number: "a state without readings",
            from: REDOX_FOUND,
            to: "    as_found: {readings: []}\n",
            class: Error,
            code: "no-readings",
            mark: "readings: |[]",
            fix: "not_obtained",
        },
        Case {
            number: "83 set to a sample",
            from: "    outcome: returned to service\nsignatures",
            to: "    standardised: {shown: 231, set_to: 226}\n    outcome: returned to service\nsignatures",
            class: Warning,
            code: "standardised-to-sample",
            mark: "standardised: |{shown: 231",
            fix: "printed",
        },
        Case {
            number: "a misspelt outcome",
            from: "    outcome: returned to service\n    next_due",
            to: "    outcome: returned to servise\n    next_due",
            class: Error,
            code: "unknown-word",
            mark: "|returned to servise",
            fix: "did you mean `returned to service`?",
        },
        Case {
            number: "a due date nobody agreed to",
            from: ", agreed_by: the works manager}",
            to: "}",
            class: Error,
            code: "missing-key",
            mark: "next_due: |{",
            fix: "add `agreed_by: …`",
        },
    ]);
    let condemned = edit(VISIT, "    outcome: returned to service\nsignatures", "    outcome: condemned\nsignatures");
    let told: Vec<_> = opened(condemned).problems.iter().map(|it| it.code).collect();
    assert_eq!(told, ["condemned-without-reason"]);
    let out_of_service = edit(VISIT, AS_LEFT, "");
    let out_of_service = edit(
        &out_of_service,
        "outcome: returned to service\n    next_due",
        "outcome: left out of service\n    next_due",
    );
    assert!(opened(out_of_service).problems.is_empty(), "76 a loop left out of service needs no as-left");
}

#[test]
fn signatures() {
    check(&[
        Case {
            number: "98 a signature without meaning",
            from: "{role: authorised, name",
            to: "{name",
            class: Error,
            code: "missing-key",
            mark: "- |{name: 佐藤",
            fix: "add `role: …`",
        },
        Case {
            number: "98 signed twice",
            from: "{role: authorised, name: 佐藤,",
            to: "{role: performed, name: Åsa Żółć,",
            class: Error,
            code: "signed-twice",
            mark: "{role: performed, name: |Åsa Żółć, signed: 2026-04-18",
            fix: "remove one",
        },
        Case {
            number: "98 performed by somebody else",
            from: "{role: performed, name: Åsa Żółć,",
            to: "{role: performed, name: A. Stranger,",
            class: Error,
            code: "unknown-technician",
            mark: "name: |A. Stranger",
            fix: "technicians:",
        },
        Case {
            number: "a misspelt role",
            from: "role: authorised",
            to: "role: authorized",
            class: Error,
            code: "unknown-word",
            mark: "|authorized",
            fix: "did you mean `authorised`?",
        },
    ]);
    let unsigned = VISIT.split("signatures:").next().unwrap_or_default();
    assert!(opened(unsigned).problems.is_empty(), "98 no signature is a draft, not a problem");
}
