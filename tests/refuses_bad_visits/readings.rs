//! Readings, checks and what belongs to them: buffers, temperature, units.

use crate::base::{Acceptable, Case, Error, VISIT, Warning, check, edit, line_of, opened};

#[test]
fn temperatures() {
    check(&[
        Case {
            number: "56 no temperature",
            from: "mv: 174.9, temperature: 21.8, ",
            to: "mv: 174.9, ",
            class: Error,
            code: "missing-key",
            mark: "- |{in: B4, mv: 174.9",
            fix: "add `temperature: …`",
        },
        Case {
            number: "56 an assumption without reason",
            from: "mv: 174.9, temperature: 21.8",
            to: "mv: 174.9, temperature: {assumed: 20 °C}",
            class: Error,
            code: "missing-key",
            mark: "temperature: |{assumed",
            fix: "add `reason: …`",
        },
        Case {
            number: "58 kelvin without its unit",
            from: "mv: 168.4, temperature: 71.4 °F",
            to: "mv: 168.4, temperature: 298.15",
            class: Error,
            code: "temperature-outside-standard",
            mark: "|298.15",
            fix: "`298.15 K`",
        },
        Case {
            number: "58 below the table",
            from: "mv: 168.4, temperature: 71.4 °F",
            to: "mv: 168.4, temperature: -4",
            class: Error,
            code: "temperature-outside-standard",
            mark: "|-4, after",
            fix: "repeated with the standard at 0 °C to",
        },
        Case {
            number: "58 above the table",
            from: "mv: 224, temperature: 22.0",
            to: "mv: 224, temperature: 62 °C",
            class: Error,
            code: "temperature-outside-standard",
            mark: "|62 °C",
            fix: "at 1 °C to 30 °C",
        },
        Case {
            number: "58 °F without its unit",
            from: "mv: 224, temperature: 22.0",
            to: "mv: 224, temperature: 71.4",
            class: Error,
            code: "temperature-outside-standard",
            mark: "|71.4}",
            fix: "`71.4 °F`",
        },
        Case {
            number: "58 outside the reference electrode",
            from: "mv: 224, temperature: 22.0",
            to: "mv: 224, temperature: 4",
            class: Error,
            code: "temperature-outside-electrode",
            mark: "|4}\n    adjusted: false",
            fix: "inside it",
        },
        Case {
            number: "ambient in kelvin without its unit",
            from: "ambient: 14 °C",
            to: "ambient: 287",
            class: Error,
            code: "ambient-off-scale",
            mark: "|287",
            fix: "`287 K`",
        },
    ]);
    let kelvin = opened(edit(VISIT, "mv: 168.4, temperature: 71.4 °F", "mv: 168.4, temperature: 295.15 K"));
    assert!(kelvin.problems.is_empty(), "58 kelvin with its unit: {:?}", kelvin.problems);
    let assumed = opened(edit(
        VISIT,
        "mv: 174.9, temperature: 21.8",
        "mv: 174.9, temperature: {assumed: 20 °C, reason: thermometer broken}",
    ));
    assert!(assumed.problems.is_empty(), "56 a declared assumption: {:?}", assumed.problems);
}

#[test]
fn values() {
    check(&[
        Case {
            number: "nothing read",
            from: "{in: R1, shown: 222, mv: 224, ",
            to: "{in: R1, ",
            class: Error,
            code: "reading-empty",
            mark: "- |{in: R1, temperature",
            fix: "`mv: 8.3`",
        },
        Case {
            number: "no value shown though adjusted",
            from: "after: 60 s, shown: 4.00, ",
            to: "after: 60 s, ",
            class: Error,
            code: "shown-missing",
            mark: "- |{in: B4, mv: 174.9",
            fix: "`shown: 6.91`",
        },
        Case {
            number: "a potential as the value shown",
            from: "shown: 4.00",
            to: "shown: 168.4",
            class: Acceptable,
            code: "shown-off-scale",
            mark: "shown: |168.4",
            fix: "`mv:`",
        },
        Case {
            number: "a redox potential off scale",
            from: "mv: 224",
            to: "mv: 2240",
            class: Warning,
            code: "mv-off-scale",
            mark: "|2240",
            fix: "as read, or with its unit",
        },
        Case {
            number: "67 slope as a fraction",
            from: "slope: 92 %",
            to: "slope: 0.98",
            class: Error,
            code: "slope-not-percent",
            mark: "slope: |0.98",
            fix: "`98 %`",
        },
        Case {
            number: "67 slope in mV per pH",
            from: "slope: 97.1 %",
            to: "slope: 58",
            class: Error,
            code: "slope-not-percent",
            mark: "slope: |58",
            fix: "98.0 %",
        },
        Case {
            number: "a difference without its reading",
            from: "{from: B7, to: B4, mv: 160}",
            to: "{from: B7, to: X9, mv: 160}",
            class: Error,
            code: "difference-without-reading",
            mark: "to: |X9",
            fix: "the readings above",
        },
        Case {
            number: "70 waited 10 s",
            from: "after: 45 s",
            to: "after: 10 s",
            class: Warning,
            code: "waited-short",
            mark: "after: |10 s",
            fix: "wait",
        },
        Case {
            number: "70 excluded without reason",
            from: "at: 10:05}",
            to: "at: 10:05, excluded: yes}",
            class: Error,
            code: "reason-missing",
            mark: "excluded: |yes",
            fix: "say why",
        },
        Case {
            number: "a trace that does not rise",
            from: "at: 10:05}",
            to: "at: 10:05, trace: [[5, 120.1], [5, 138.4]]}",
            class: Error,
            code: "trace-not-rising",
            mark: "|5, 138.4",
            fix: "order taken",
        },
        Case {
            number: "a trace that begins before the change",
            from: "at: 10:05}",
            to: "at: 10:05, trace: [[-5, 120.1], [5, 138.4]]}",
            class: Error,
            code: "negative-time",
            mark: "[[|-5, 120.1",
            fix: "how long it took",
        },
        Case {
            number: "25 decimal commas in a trace",
            from: "at: 10:05}",
            to: "at: 10:05, trace: [[5, 120,1], [6, 138.4]]}",
            class: Error,
            code: "not-a-pair",
            mark: "|[5, 120,1]",
            fix: "`[5, 120.1]`",
        },
    ]);
    let copied =
        edit(VISIT, "temperature: 21.8, after: 45 s, shown: 6.91", "temperature: 25.0, after: 45 s, shown: 6.86");
    let copied = edit(
        &copied,
        "temperature: 71.4 °F, after: 2 min, shown: 4.07",
        "temperature: 25.0, after: 2 min, shown: 4.01",
    );
    let problems = opened(&copied).problems;
    assert_eq!(problems.len(), 1, "68: {:?}", problems.iter().map(line_of).collect::<Vec<_>>());
    let (line, column) = crate::base::place(&copied, "shown: |6.86");
    assert_eq!(
        (problems[0].code, problems[0].place.line, problems[0].place.column),
        ("copied-from-target", line, column)
    );
    let same = edit(
        VISIT,
        "{in: B7, mv: 2.1, temperature: 21.7, after: 60 s, shown: 7.01",
        "{in: B7, mv: 8.3, temperature: 21.7, after: 60 s, shown: 6.91",
    );
    let same = edit(
        &same,
        "{in: B4, mv: 174.9, temperature: 21.8, after: 60 s, shown: 4.00",
        "{in: B4, mv: 168.4, temperature: 21.8, after: 60 s, shown: 4.07",
    );
    let problems = opened(&same).problems;
    assert_eq!(problems.len(), 1, "68: {:?}", problems.iter().map(line_of).collect::<Vec<_>>());
    assert_eq!(problems[0].code, "as-left-copied");
}

#[test]
fn lots_and_instruments_on_the_day() {
    check(&[
        Case {
            number: "61 expired the day before",
            from: "expires: 2026-04}",
            to: "expires: 2026-04-16}",
            class: Warning,
            code: "lot-expired",
            mark: "expires: |2026-04-16",
            fix: "fresh lot",
        },
        Case {
            number: "61 a month that is over",
            from: "expires: 2026-04}",
            to: "expires: 2026-03}",
            class: Warning,
            code: "lot-expired",
            mark: "expires: |2026-03}",
            fix: "fresh lot",
        },
        Case {
            number: "62 opened after the visit",
            from: "opened: 2026-04-02",
            to: "opened: 2026-04-18",
            class: Error,
            code: "lot-opened-after-visit",
            mark: "opened: |2026-04-18",
            fix: "correct the date",
        },
        Case {
            number: "an instrument past its date",
            from: "due: 2027-01-11",
            to: "due: 2026-04-16",
            class: Warning,
            code: "instrument-past-due",
            mark: "due: |2026-04-16",
            fix: "accept",
        },
        Case {
            number: "calibrated after the visit",
            from: "calibrated: 2026-01-11",
            to: "calibrated: 2026-04-18",
            class: Error,
            code: "instrument-calibrated-after-visit",
            mark: "calibrated: |2026-04-18",
            fix: "in force",
        },
    ]);
    let last_day = opened(edit(VISIT, "expires: 2026-04}", "expires: 2026-04-17}"));
    assert!(last_day.problems.is_empty(), "61 the last day");
    let expired = opened(edit(VISIT, "expires: 2026-04}", "expires: 2026-04-16}"));
    let visit = expired.visit.expect("a visit with a warning");
    assert_eq!(visit.concerned(&expired.problems[0]), [0], "only the loop that uses the lot is concerned");
}

#[test]
fn other_checks() {
    check(&[
        Case {
            number: "71 pure water",
            from: "conductivity: 900 µS/cm",
            to: "conductivity: 3 µS/cm",
            class: Warning,
            code: "conductivity-low",
            mark: "|3 µS/cm",
            fix: "pure water",
        },
        Case {
            number: "73 a failure signal",
            from: "ma: 12.01",
            to: "ma: 3.6",
            class: Warning,
            code: "output-current",
            mark: "ma: |3.6",
            fix: "fault",
        },
        Case {
            number: "73 a failure signal above",
            from: "ma: 12.01",
            to: "ma: 22 mA",
            class: Warning,
            code: "output-current",
            mark: "ma: |22 mA",
            fix: "fault",
        },
        Case {
            number: "73 no current",
            from: "ma: 12.01",
            to: "ma: 0",
            class: Warning,
            code: "output-current",
            mark: "ma: |0,",
            fix: "fault",
        },
        Case {
            number: "73 no span",
            from: "range: [0, 14]",
            to: "range: [7, 7]",
            class: Error,
            code: "range-empty",
            mark: "range: |[7, 7]",
            fix: "write the two ends",
        },
        Case {
            number: "73 no range",
            from: "    range: [0, 14]\n",
            to: "",
            class: Warning,
            code: "output-without-range",
            mark: "output: [{shown: |7.00",
            fix: "`range: [0, 14]`",
        },
        Case {
            number: "74 measured 40 min later",
            from: "measured: 08:55",
            to: "measured: 09:25",
            class: Warning,
            code: "sample-late",
            mark: "measured: |09:25",
            fix: "correct the times",
        },
        Case {
            number: "74 measured before it was taken",
            from: "measured: 08:55",
            to: "measured: 08:40",
            class: Error,
            code: "sample-before-taken",
            mark: "measured: |08:40",
            fix: "correct one",
        },
        Case {
            number: "a process outside the buffers",
            from: "usual: [6.5, 7.3]",
            to: "usual: [6.5, 8.5]",
            class: Warning,
            code: "process-outside-buffers",
            mark: "- |{in: B7, mv: 2.1",
            fix: "both sides",
        },
        Case {
            number: "an output check of nothing",
            from: "{shown: 7.00, ma: 12.01, control_room: 7.01, simulated: yes}",
            to: "{shown: 7.00}",
            class: Error,
            code: "check-empty",
            mark: "output: [|{shown: 7.00}",
            fix: "ma: 12.01",
        },
        Case {
            number: "a temperature check of nothing",
            from: "{reference: 21.6, shown: 21.9, resistance: 1084.0 Ω}",
            to: "{reference: 21.6}",
            class: Error,
            code: "check-empty",
            mark: "temperature: [|{reference: 21.6}",
            fix: "shown",
        },
        Case {
            number: "a check not done without reason",
            from: "standard: {in: X9, shown: 9.20, temperature: 22.0}",
            to: "standard: {not_done: yes}",
            class: Error,
            code: "reason-missing",
            mark: "not_done: |yes",
            fix: "say why",
        },
        Case {
            number: "a negative resistance",
            from: "{value: 4.2 kΩ}",
            to: "{value: -4.2 kΩ}",
            class: Error,
            code: "negative-resistance",
            mark: "value: |-4.2",
            fix: "as measured",
        },
        Case {
            number: "a photo that is not there",
            from: "file: photos/bulb.jpg",
            to: "file: photos/blub.jpg",
            class: Error,
            code: "file-unreadable",
            mark: "file: |photos/blub",
            fix: "check the name",
        },
        Case {
            number: "101 a photo outside",
            from: "file: photos/bulb.jpg",
            to: "file: ../../secret.jpg",
            class: Error,
            code: "path-outside",
            mark: "file: |../../secret",
            fix: "copy",
        },
    ]);
    let reversed = opened(edit(VISIT, "range: [0, 14]", "range: [14, 0]"));
    assert!(reversed.problems.is_empty(), "73 a reversed range is accepted");
}
