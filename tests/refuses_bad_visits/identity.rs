//! Who, what, where: texts, names, tags, serials, standards by name.

use crate::base::{Case, Error, VISIT, Warning, check, edit, line_of, opened};

#[test]
fn texts_and_names() {
    check(&[
        Case {
            number: "31 a direction override",
            from: "tag: AIT-2105",
            to: "tag: AIT\u{202e}-2105",
            class: Error,
            code: "hidden-character",
            mark: "tag: |AIT\u{202e}",
            fix: "type the text anew",
        },
        Case {
            number: "32 tags alike but for the dash",
            from: "tag: AIT-2105",
            to: "tag: ait\u{2013}2104",
            class: Warning,
            code: "tag-looks-alike",
            mark: "tag: |ait",
            fix: "one way",
        },
        Case {
            number: "32 a tag twice",
            from: "tag: AIT-2105",
            to: "tag: AIT-2104",
            class: Error,
            code: "tag-twice",
            mark: "  - tag: |AIT-2104\n    quantity: redox",
            fix: "one entry",
        },
        Case {
            number: "34 a blank text",
            from: "AIT-2105",
            to: "\"   \"",
            class: Error,
            code: "blank-text",
            mark: "|\"   \"",
            fix: "write the text, or delete the key",
        },
        Case {
            number: "34 a placeholder",
            from: "treatment works",
            to: "TBD",
            class: Warning,
            code: "placeholder-text",
            mark: "|TBD",
            fix: "delete the key",
        },
        Case {
            number: "an unknown technician",
            from: "    by: Åsa Żółć",
            to: "    by: Asa Żółć",
            class: Error,
            code: "unknown-technician",
            mark: "by: |Asa",
            fix: "did you mean `Åsa Żółć`?",
        },
        Case {
            number: "an unknown technician at a remedy",
            from: "by: Ελένη Marou",
            to: "by: Somebody Else",
            class: Error,
            code: "unknown-technician",
            mark: "by: |Somebody",
            fix: "technicians:",
        },
        Case {
            number: "no technician",
            from: "[Åsa Żółć, {name: Ελένη Marou, qualification: field metrologist}]",
            to: "[]",
            class: Error,
            code: "no-technician",
            mark: "technicians: |[]",
            fix: "`technicians: [A. Name]`",
        },
        Case {
            number: "a technician twice",
            from: "{name: Ελένη Marou, qualification: field metrologist}",
            to: "Ελένη Marou, Åsa Żółć",
            class: Error,
            code: "technician-twice",
            mark: "Marou, |Åsa",
            fix: "remove one",
        },
        Case {
            number: "a client that is neither name nor file",
            from: "{name: Harrow Valley Water, address: 4 Mill Lane / Harrow Valley}",
            to: "Harrow Valley Water",
            class: Error,
            code: "not-a-path",
            mark: "client: |Harrow",
            fix: "`client: {name: Harrow Valley Water}`",
        },
        Case {
            number: "a client without a name",
            from: "{name: Harrow Valley Water, ",
            to: "{",
            class: Error,
            code: "missing-key",
            mark: "client: |{",
            fix: "add `name: …`",
        },
        Case {
            number: "no number",
            from: "  number: KL-2026-014\n",
            to: "",
            class: Error,
            code: "missing-key",
            mark: "  |started: 2026",
            fix: "add `number: …`",
        },
        Case {
            number: "no probe",
            from: "    probe: {serial: R-7, reference: Ag/AgCl 3 mol/L}\n",
            to: "",
            class: Error,
            code: "missing-key",
            mark: "  - |tag: AIT-2105",
            fix: "add `probe: …`",
        },
        Case {
            number: "a probe without serial",
            from: "{serial: K2-88, ",
            to: "{",
            class: Error,
            code: "probe-without-serial",
            mark: "probe: |{reference: Ag/AgCl 3 mol/L, installed",
            fix: "serial",
        },
        Case {
            number: "no quantity",
            from: "    quantity: redox\n",
            to: "",
            class: Error,
            code: "missing-key",
            mark: "  - |tag: AIT-2105",
            fix: "add `quantity: …`",
        },
    ]);
}

#[test]
fn serials() {
    check(&[
        Case {
            number: "37 serial of the analyser",
            from: "{serial: K2-88",
            to: "{serial: 00123",
            class: Warning,
            code: "same-serial",
            mark: "{serial: |00123",
            fix: "read both plates",
        },
        Case {
            number: "37 one serial in two loops",
            from: "{serial: R-7",
            to: "{serial: K2-88",
            class: Warning,
            code: "serial-repeated",
            mark: "probe: {serial: |K2-88, reference: Ag/AgCl 3 mol/L}",
            fix: "read both plates",
        },
    ]);
}

#[test]
fn standards_by_name() {
    check(&[
        Case {
            number: "an instrument for something else",
            from: "{measures: temperature, serial: 0x1F, calibrated: 2026-01-11, due: 2027-01-11, expanded_uncertainty: 0.2 °C}",
            to: "{measures: current}",
            class: Error,
            code: "wrong-instrument",
            mark: "with: |T88",
            fix: "correct what the instrument",
        },
        Case {
            number: "38 a redox solution in a pH loop",
            from: "{in: B4, mv: 168.4",
            to: "{in: R1, mv: 168.4",
            class: Error,
            code: "wrong-standard",
            mark: "{in: |R1, mv: 168.4",
            fix: "name a pH buffer: B4, B7, X9",
        },
        Case {
            number: "38 a buffer in a redox loop",
            from: "{in: R1, shown: 222",
            to: "{in: B4, shown: 222",
            class: Error,
            code: "wrong-standard",
            mark: "{in: |B4, shown: 222",
            fix: "name a redox solution: R1, R2",
        },
        Case {
            number: "62 a lot that is not declared",
            from: "{in: B4, mv: 174.9",
            to: "{in: QQ77, mv: 174.9",
            class: Error,
            code: "unknown-standard",
            mark: "{in: |QQ77",
            fix: "`standards:`",
        },
        Case {
            number: "62 a lot by one letter differently",
            from: "{in: B4, mv: 174.9",
            to: "{in: b4, mv: 174.9",
            class: Error,
            code: "unknown-standard",
            mark: "{in: |b4",
            fix: "did you mean `B4`?",
        },
        Case {
            number: "an instrument that is not declared",
            from: "with: T88",
            to: "with: T89",
            class: Error,
            code: "unknown-instrument",
            mark: "with: |T89",
            fix: "did you mean `T88`?",
        },
        Case {
            number: "a misspelt buffer",
            from: "buffer: phthalate",
            to: "buffer: phtalate",
            class: Error,
            code: "unknown-buffer",
            mark: "buffer: |phtalate",
            fix: "phthalate",
        },
        Case {
            number: "a check in a standard of the readings",
            from: "standard: {in: X9, shown: 9.20",
            to: "standard: {in: B7, shown: 7.02",
            class: Warning,
            code: "check-not-independent",
            mark: "standard: {in: |B7",
            fix: "another standard",
        },
    ]);
    let two = edit(VISIT, "  instruments:\n", "  instruments:\n    T89: {measures: temperature}\n");
    let two = edit(&two, ", with: T88", "");
    let told: Vec<_> = opened(two).problems.iter().map(|it| (it.code, it.place.path.clone())).collect();
    let due = [0, 1].map(|it| ("instrument-not-named", format!("loops[{it}].as_found.readings[0]")));
    assert_eq!(told, due);
    let text = edit(VISIT, "{in: B4, mv: 168.4", "{in: R1, mv: 168.4");
    let problem = opened(text).problems.remove(0);
    for part in ["R1", "lot Z-17", "AIT-2104", "pH loop"] {
        assert!(problem.what.contains(part), "38 names lot and loop: {}", line_of(&problem));
    }
}

#[test]
fn redox_probes_name_their_reference() {
    check(&[
        Case {
            number: "no reference electrode",
            from: "{serial: R-7, reference: Ag/AgCl 3 mol/L}",
            to: "R-7",
            class: Error,
            code: "reference-missing",
            mark: "probe: |R-7",
            fix: "Ag/AgCl 3 mol/L",
        },
        Case {
            number: "a glass resistance",
            from: "        - {in: R1, shown: 222, mv: 224, temperature: 22.0}",
            to: "        - {in: R1, shown: 222, mv: 224, temperature: 22.0}\n      checks: {glass_resistance: {value: 90 MΩ}}",
            class: Error,
            code: "glass-in-redox",
            mark: "|{value: 90 MΩ}",
            fix: "pH loop",
        },
    ]);
    let unknown = edit(VISIT, "{serial: R-7, reference: Ag/AgCl 3 mol/L}", "{serial: R-7, reference: Ag/AgCl 3M}");
    let codes: Vec<_> = opened(unknown).problems.iter().map(|it| (it.code, it.fix.clone())).collect();
    assert!(
        codes.iter().any(|(code, fix)| *code == "reference-unknown" && fix.contains("Ag/AgCl 3 mol/L")),
        "{codes:?}"
    );
}
