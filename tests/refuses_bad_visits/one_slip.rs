//! One slip is told once: what follows from it is not told as a second problem.

use crate::base::{Case, Error, check};

#[test]
fn one_slip_is_told_once() {
    check(&[
        Case {
            number: "a needed key of the visit misspelt",
            from: "  number: KL",
            to: "  nummber: KL",
            class: Error,
            code: "unknown-key",
            mark: "|nummber",
            fix: "did you mean `number`?",
        },
        Case {
            number: "a reading's potential misspelt",
            from: "{in: B7, mv: 3.1, temperature: 21.9",
            to: "{in: B7, mV: 3.1, temperature: 21.9",
            class: Error,
            code: "unknown-key",
            mark: "B7, |mV",
            fix: "did you mean `mv`?",
        },
        Case {
            number: "the serial misspelt",
            from: "probe: {serial: K2-88",
            to: "probe: {seral: K2-88",
            class: Error,
            code: "unknown-key",
            mark: "|seral",
            fix: "did you mean `serial`?",
        },
        Case {
            number: "the kind of a standard misspelt",
            from: "R2: {redox:",
            to: "R2: {redux:",
            class: Error,
            code: "unknown-key",
            mark: "|redux",
            fix: "did you mean `redox`?",
        },
        Case {
            number: "the current misspelt",
            from: "{shown: 7.00, ma: 12.01, control_room: 7.01",
            to: "{shown: 7.00, mA: 12.01",
            class: Error,
            code: "unknown-key",
            mark: "7.00, |mA",
            fix: "did you mean `ma`?",
        },
        Case {
            number: "an unknown reference electrode of a redox probe",
            from: "{serial: R-7, reference: Ag/AgCl 3 mol/L}",
            to: "{serial: R-7, reference: SCE}",
            class: Error,
            code: "reference-unknown",
            mark: "reference: |SCE",
            fix: "write calomel saturated",
        },
        Case {
            number: "a point alone as a trace",
            from: "temperature: 71.4 °F, after: 2 min",
            to: "temperature: 71.4 °F, trace: [5, 120.1]",
            class: Error,
            code: "not-a-pair",
            mark: "trace: |[5",
            fix: "`[[5, 120.1], [10, 138.4]]`",
        },
        Case {
            number: "an empty trace",
            from: "temperature: 71.4 °F, after: 2 min",
            to: "temperature: 71.4 °F, trace: []",
            class: Error,
            code: "not-a-pair",
            mark: "trace: |[]",
            fix: "delete the key",
        },
        Case {
            number: "a temperature with its unit outside the range",
            from: "mv: 168.4, temperature: 71.4 °F",
            to: "mv: 168.4, temperature: 96 °C",
            class: Error,
            code: "temperature-outside-standard",
            mark: "|96 °C",
            fix: "write the temperature as read",
        },
        Case {
            number: "67 a stated slope in mV per pH",
            from: "stated: {slope: 92 %",
            to: "stated: {slope: 57.5 mV/pH",
            class: Error,
            code: "slope-not-percent",
            mark: "slope: |57.5 mV/pH",
            fix: "write 97.2 % (at 25 °C)",
        },
    ]);
}

#[test]
fn standards_beside_a_misspelt_visit_are_not_told() {
    let told = crate::base::opened("vist: {number: A}\nstandards: {}\nloops: []\n").problems;
    let codes: Vec<(&str, &str)> = told.iter().map(|problem| (problem.code, problem.fix.as_str())).collect();
    assert_eq!(codes[0], ("unknown-key", "did you mean `visit`?"));
    assert!(codes.iter().all(|told| told.0 != "missing-key" && !told.1.contains("standards")), "{codes:?}");
}
