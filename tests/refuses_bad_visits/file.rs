//! The file itself, and YAML's own traps, as a visit meets them.

use crate::base::{Case, Class, Error, Folder, VISIT, Warning, check, class, edit, line_of, opened, place};
use halfcell::visit::{Given, open};
use std::fmt::Write;

#[test]
fn traps_of_yaml_are_told_apart() {
    check(&[
        Case {
            number: "13 a known key at the wrong level",
            from: "    location: <",
            to: "    lot: K4\n    location: <",
            class: Error,
            code: "unknown-key",
            mark: "    |lot: K4\n",
            fix: "`lot` belongs to an entry of `standards:`",
        },
        Case {
            number: "13 a misspelt key",
            from: "    last_good:",
            to: "    last-good:",
            class: Error,
            code: "unknown-key",
            mark: "|last-good:",
            fix: "did you mean `last_good`?",
        },
        Case {
            number: "19 a hexadecimal number",
            from: "mv: 168.4",
            to: "mv: 0x1F",
            class: Error,
            code: "number-notation",
            mark: "mv: |0x1F",
            fix: "decimal",
        },
        Case {
            number: "19 an underscore in a number",
            from: "mv: 168.4",
            to: "mv: 1_000",
            class: Error,
            code: "number-notation",
            mark: "|1_000",
            fix: "1000",
        },
        Case {
            number: "19 a sexagesimal number",
            from: "mv: 168.4",
            to: "mv: 12:34:56",
            class: Error,
            code: "number-notation",
            mark: "|12:34:56",
            fix: "write one number",
        },
        Case {
            number: "22 an exponent by mistake",
            from: "mv: 168.4",
            to: "mv: 1e3",
            class: Warning,
            code: "mv-off-scale",
            mark: "|1e3",
            fix: "0.168 V",
        },
        Case {
            number: "23 not a number",
            from: "mv: 168.4",
            to: "mv: .nan",
            class: Error,
            code: "not-finite",
            mark: "|.nan",
            fix: "not_obtained",
        },
        Case {
            number: "23 infinity",
            from: "mv: 168.4",
            to: "mv: -.inf",
            class: Error,
            code: "not-finite",
            mark: "|-.inf",
            fix: "not_obtained",
        },
        Case {
            number: "23 a tilde",
            from: "mv: 168.4",
            to: "mv: ~",
            class: Error,
            code: "empty-value",
            mark: "mv: |~",
            fix: "write the value, or delete the key",
        },
        Case {
            number: "25 four numbers",
            from: "range: [0, 14]",
            to: "range: [4,01, 177,3]",
            class: Error,
            code: "expected-pair",
            mark: "range: |[4,01",
            fix: "decimal commas? write [4.01, 177.3]",
        },
        Case {
            number: "26 a decimal comma",
            from: "mv: 168.4",
            to: "mv: \"-177,3\"",
            class: Error,
            code: "decimal-comma",
            mark: "|\"-177,3\"",
            fix: "-177.3",
        },
        Case {
            number: "28 a quoted yes",
            from: "adjusted: true",
            to: "adjusted: \"true\"",
            class: Error,
            code: "quoted-yes-or-no",
            mark: "|\"true\"",
            fix: "true",
        },
        Case {
            number: "28 another word",
            from: "adjusted: true",
            to: "adjusted: partly",
            class: Error,
            code: "yes-or-no",
            mark: "|partly",
            fix: "yes",
        },
        Case {
            number: "7 readings shared by an alias",
            from: "      readings:\n        - {in: B7, mv: 2.1, temperature: 21.7, after: 60 s, shown: 7.01, at: 10:00}",
            to: "      readings:\n        - &again {in: B7, mv: 2.1, temperature: 21.7, after: 60 s, shown: 7.01}\n        - *again",
            class: Warning,
            code: "reading-shared",
            mark: "|*again",
            fix: "in full",
        },
    ]);
}

/// What it is, its bytes, the code, line and column (0: not asked), part of the fix.
type NoVisit = (&'static str, Vec<u8>, &'static str, (u32, u32), &'static str);

#[test]
fn a_file_that_is_no_visit_is_named() {
    let told = |bytes: &[u8]| {
        let opened = opened(bytes);
        assert!(opened.visit.is_none());
        opened.problems
    };
    for empty in ["", "# nothing yet\n", "---\n"] {
        let problems = told(empty.as_bytes());
        assert_eq!((problems.len(), problems[0].code), (1, "empty-file"), "1: {empty:?}");
        assert!(problems[0].fix.contains("`halfcell new`"));
    }
    let utf16: Vec<u8> = VISIT.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let cases: [NoVisit; 9] = [
        ("4 UTF-16", [&[0xff, 0xfe][..], &utf16].concat(), "text-encoding", (0, 0), "UTF-8"),
        (
            "4 Latin-1",
            VISIT.replace("dry", "d\u{e9}j\u{e0}").chars().filter_map(|c| u8::try_from(c as u32).ok()).collect(),
            "text-encoding",
            (0, 0),
            "UTF-8",
        ),
        ("5 a tab", VISIT.replace("  order:", "\torder:").into_bytes(), "yaml-tab", (7, 1), "spaces"),
        ("8 deep nesting", [b"visit: ".to_vec(), vec![b'['; 20_000]].concat(), "", (1, 0), ""),
        ("8 a long file", vec![b'#'; 2_000_000], "file-too-large", (0, 0), ""),
        ("10 two documents", format!("{VISIT}---\n{VISIT}").into_bytes(), "several-documents", (69, 1), ""),
        ("11 a list", b"- visit\n".to_vec(), "top-level-shape", (1, 1), "`visit:`"),
        ("11 a text", b"visit\n".to_vec(), "top-level-shape", (1, 1), "`visit:`"),
        ("16 cut in a list", VISIT.split("B4, mv: 174").next().unwrap_or_default().as_bytes().to_vec(), "", (0, 0), ""),
    ];
    let mut wrong = String::new();
    for (number, bytes, code, (line, column), fix) in cases {
        let problems = told(&bytes);
        let first = &problems[0];
        let at = (first.place.line, first.place.column);
        let fits =
            (code.is_empty() || first.code == code) && (line == 0 || at.0 == line) && (column == 0 || at.1 == column);
        if !fits || !first.fix.contains(fix) || problems.len() != 1 {
            writeln!(wrong, "{number}: {}", problems.iter().map(line_of).collect::<Vec<_>>().join("\n   "))
                .expect("a text");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn an_alias_bomb_is_stopped() {
    let mut bomb = "visit: &a0 [x, x, x, x, x, x, x, x, x, x]\n".to_owned();
    for level in 1..30 {
        let previous = format!("*a{}", level - 1);
        writeln!(bomb, "k{level}: &a{level} [{}]", [previous.as_str(); 10].join(", ")).expect("a text");
    }
    let problems = opened(bomb).problems;
    assert_eq!(problems[0].code, "too-many-values");
}

#[test]
fn a_visit_is_read_whatever_its_harmless_form() {
    let good = |number: &str, text: String| {
        let opened = opened(text);
        let told: Vec<_> = opened.problems.iter().map(line_of).collect();
        assert!(told.is_empty(), "{number}: {}", told.join("\n"));
        opened.visit.expect("a visit")
    };
    good("2 a byte-order mark", format!("\u{feff}{VISIT}"));
    good("CRLF line ends", VISIT.replace('\n', "\r\n"));
    let visit = good("26 a true minus sign", edit(VISIT, "mv: 8.3,", "mv: \u{2212}8.3,"));
    let state = visit.loops[0].as_found.0.obtained().expect("readings");
    assert_eq!(state.readings[0].mv.as_ref().map(|mv| mv.value), Some(-8.3));
    assert_eq!(visit.procedure.expect("a procedure").revision.expect("a revision").text, "1.10", "20");
    let analyser = visit.loops[0].identity.analyser.clone().expect("an analyser");
    assert_eq!(analyser.serial.expect("a serial").text, "00123", "19");
    assert_eq!(visit.kit.instruments[0].serial.clone().expect("a serial").text, "0x1F", "19");
    assert_eq!(visit.order.expect("an order").text, "PO 00123");
    assert_eq!(visit.extensions, [("x-workorder".to_owned(), "77".to_owned())], "14");
    assert_eq!(
        visit.loops[0].identity.location.clone().expect("a place").text,
        "<script>alert(1)</script> =HYPERLINK(\"x\") %n",
        "35"
    );
    let yes = good("28 yes", edit(VISIT, "adjusted: true", "adjusted: yes"));
    assert!(yes.loops[0].adjusted);
    good(
        "7 a modest alias",
        edit(
            &edit(VISIT, "process: {usual: [6.5, 7.3]", "process: {usual: &usual [6.5, 7.3]"),
            "range: [0, 14]",
            "range: [14, 0]",
        ),
    );
    let kept = good("14 private keys at every level", edit(VISIT, "after: 45 s,", "after: 45 s, x-beaker: 3,"));
    assert_eq!(kept.loops[0].extensions, [("as_found.readings[0].x-beaker".to_owned(), "3".to_owned())]);
}

#[test]
fn all_problems_come_in_one_run_in_file_order() {
    let text = edit(VISIT, "mv: 168.4", "mv: 168,4 mV");
    let text = edit(&text, "temperature: 21.8, after: 45 s, ", "after: 45 s, ");
    let text = edit(&text, "outcome: returned to service\n    next_due", "outcome: returned\n    next_due");
    let opened = opened(&text);
    let codes: Vec<(&str, u32)> = opened.problems.iter().map(|it| (it.code, it.place.line)).collect();
    let (reading, _) = place(&text, "|{in: B7, mv: 8.3");
    assert_eq!(codes.len(), 3, "{:?}", opened.problems.iter().map(line_of).collect::<Vec<_>>());
    assert_eq!((codes[0].0, codes[0].1, codes[1].1), ("missing-key", reading, reading + 1));
    assert_eq!(codes[2].0, "unknown-word");
    assert_eq!(opened.problems[0].place.path, "loops[0].as_found.readings[0]");
}

#[test]
fn what_is_no_file_is_named() {
    let folder = Folder::new();
    let told = |name: &str| {
        let opened = open(&folder.0.join(name), &Given::default());
        assert!(opened.visit.is_none());
        assert_eq!(opened.problems.len(), 1);
        let problem = opened.problems[0].clone();
        assert!(problem.place.file.ends_with(name), "{}", problem.place.file);
        assert_eq!(class(&problem), Class::Error);
        problem.code
    };
    assert_eq!(told("visits"), "file-unreadable", "17 a folder");
    assert_eq!(told("missing.yaml"), "file-unreadable", "17 no file");
}
