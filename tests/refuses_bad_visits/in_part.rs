//! A visit that is refused is still questioned in what could be read, and never for what an error explains.

use crate::base::{Folder, VISIT, edit, place};
use halfcell::problem::Severity;
use halfcell::requirements::review;
use halfcell::visit::{Given, open};

/// Code, line, column and what of every problem but the first error's own; there are no records.
fn reviewed(visit: &str, requirements: &str) -> Vec<(Severity, &'static str, u32, u32, String)> {
    let folder = Folder::new();
    folder.write("visits/photos/bulb.jpg", "a photo");
    folder.write(
        "visits/limits.yaml",
        format!(
            "limits: {{name: own, revision: 1}}\nrequirements: {requirements}\npH: {{slope: {{fail_below: 70 %}}}}\n"
        ),
    );
    let path = folder.write("visits/visit.yaml", edit(visit, "  order: PO 00123\n", "  limits: limits.yaml\n"));
    let reviewed = review(open(&path, &Given::default()));
    assert!(reviewed.visit.is_none() && reviewed.records.is_empty(), "nothing is made of a refused visit");
    assert!(reviewed.problems.iter().all(|it| it.place.line == 0 || !it.excerpt.is_empty()));
    reviewed.problems.into_iter().map(|it| (it.severity, it.code, it.place.line, it.place.column, it.what)).collect()
}

fn codes(told: &[(Severity, &'static str, u32, u32, String)]) -> Vec<&'static str> {
    told.iter().map(|it| it.1).collect()
}

#[test]
fn figures_of_the_other_loops_are_questioned_in_the_same_run() {
    let broken = edit(VISIT, "mv: 224", "mv: 224mA");
    let told = reviewed(&broken, "plain");
    // What the good visit states wrongly, beside the wrong unit of the other loop.
    let figures = ["shown-not-as-stored", "stated-disagrees", "stated-disagrees", "one-buffer-only"];
    assert_eq!(codes(&told), [&figures[..], &["wrong-unit"]].concat(), "{told:?}");
    let (line, column) = place(&broken, "slope: |92 %");
    assert_eq!((told[1].2, told[1].3), (line, column));
}

#[test]
fn the_loop_with_the_error_is_not_asked_for_more() {
    let broken = edit(VISIT, "temperature: 71.4 °F", "temperature: 71,4 °F");
    let told = reviewed(&broken, "permit");
    let loops: Vec<_> = told.iter().filter(|it| it.1 == "required-by-regime").collect();
    assert!(loops.iter().all(|it| !it.4.contains("AIT-2104")), "{told:?}");
    // What the other loop lacks, and what the visit lacks, is told with the error.
    let analyser = "loop AIT-2105: missing: serial of the analyser";
    assert!(loops.iter().any(|it| it.4 == analyser), "{told:?}");
    assert!(loops.iter().any(|it| it.4 == "missing: name and address of the firm that did the work"), "{told:?}");
    assert!(codes(&told).contains(&"decimal-comma") && !codes(&told).contains(&"stated-disagrees"), "{told:?}");
}

#[test]
fn what_an_error_of_the_head_explains_is_not_asked() {
    let broken = edit(VISIT, "finished: 2026-04-17T12:15+01:00", "finished: 2026-04-17T12:15");
    let told = reviewed(&broken, "permit");
    let asked: Vec<&str> = told.iter().filter(|it| it.1 == "required-by-regime").map(|it| it.4.as_str()).collect();
    assert!(asked.iter().all(|what| what.starts_with("loop ")), "{told:?}");
    assert!(asked.contains(&"loop AIT-2105: missing: serial of the analyser"), "{told:?}");
    let (line, column) = place(&broken, "finished: |2026-04-17T12:15");
    assert!(told.iter().any(|it| (it.1, it.2, it.3) == ("time-without-offset", line, column)), "{told:?}");
}

#[test]
fn a_standard_with_an_error_is_not_asked_for_what_the_error_hides() {
    let broken = edit(VISIT, "lot: Z-17, expires: 2026-12-31", "lot: Z-17, expires: 31.12.2026");
    let told = reviewed(&broken, "permit");
    assert!(told.iter().all(|it| !it.4.contains("lot and expiry")), "{told:?}");
    let analyser = told.iter().filter(|it| it.4.contains("AIT-2105")).count();
    assert_eq!(analyser, 0, "the loop that uses the standard waits: {told:?}");
    assert!(codes(&told).contains(&"stated-disagrees"), "{told:?}");
}

#[test]
fn an_acceptance_is_not_called_needless_while_a_loop_is_missing() {
    let accepts = "    accepted: [{code: stated-disagrees, reason: worked out in the head}, {code: serial-repeated, reason: spare}]\n";
    let broken = edit(VISIT, "    photos:", &format!("{accepts}    photos:"));
    let broken = edit(&broken, "mv: 224", "mv: 224mA");
    let told = reviewed(&broken, "plain");
    assert_eq!(codes(&told), ["shown-not-as-stored", "one-buffer-only", "wrong-unit"], "{told:?}");
}
