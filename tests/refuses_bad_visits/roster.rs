//! Loops on client and kit files: what the roster says and what the plate says.

use crate::base::{Acceptable, Case, Error, Warning, check_on, edit, line_of};

/// The good visit on a client and a kit file.
fn on_files(text: &str) -> halfcell::visit::Opened {
    let folder = crate::base::Folder::new();
    let path = folder.write("visits/visit.yaml", text);
    folder.write("clients/harrow.yaml", CLIENT);
    folder.write("kit.yaml", KIT);
    halfcell::visit::open(&path, &Default::default())
}

const CLIENT: &str = include_str!("client.yaml");
const KIT: &str = include_str!("kit.yaml");
const TEN: &str = include_str!("ten_loops.yaml");

#[test]
fn ten_loops_on_client_and_kit_files_have_no_problem() {
    let opened = on_files(TEN);
    let told: Vec<_> = opened.problems.iter().map(line_of).collect();
    assert!(told.is_empty(), "{}", told.join("\n"));
    let visit = opened.visit.expect("a visit");
    assert_eq!(visit.loops.len(), 10);
    let names: Vec<&str> = visit.sources.iter().map(|source| source.name.as_str()).collect();
    assert_eq!(names, ["visit.yaml", "../clients/harrow.yaml", "../kit.yaml"]);
    assert_eq!(visit.site.expect("a site").name, "Harrow treatment works");
    assert_eq!(visit.loops[3].identity.location.as_ref().expect("a place").text, "basin 4");
}

#[test]
fn loops_and_probes_of_elsewhere_are_told() {
    let farm = on_files(&edit(TEN, "site: works", "site: farm"));
    assert_eq!(farm.problems.len(), 10);
    assert!(farm.problems.iter().all(|it| it.code == "loop-of-another-site" && it.acceptable));
    let moved = on_files(&edit(TEN, "probe: S-02", "probe: S-09"));
    let codes: Vec<_> = moved.problems.iter().map(|it| (it.code, it.place.path.as_str())).collect();
    let due = [
        ("serial-of-another-loop", "loops[1].probe"),
        ("serial-differs", "loops[1].probe"),
        ("serial-repeated", "loops[8].probe"),
    ];
    assert_eq!(codes, due);
    assert!(moved.visit.is_some(), "all of them may be accepted");
}

#[test]
fn a_roster_is_compared_with_the_plate() {
    check_on(
        TEN,
        on_files,
        &[
            Case {
                number: "a tag that the roster does not know",
                from: "tag: QT-05",
                to: "tag: QT-50",
                class: Error,
                code: "tag-not-in-roster",
                mark: "tag: |QT-50",
                fix: "did you mean `QT-05`, whose probe it is?",
            },
            Case {
                number: "another serial than the roster's",
                from: "probe: S-02",
                to: "probe: S-20",
                class: Acceptable,
                code: "serial-differs",
                mark: "probe: |S-20",
                fix: "correct the roster",
            },
            Case {
                number: "37 serial known under another tag",
                from: "probe: S-02",
                to: "probe: {serial: S-12}",
                class: Acceptable,
                code: "serial-differs",
                mark: "serial: |S-12",
                fix: "accept",
            },
            Case {
                number: "no serial read",
                from: "    probe: S-02\n",
                to: "",
                class: Warning,
                code: "serial-not-read",
                mark: "  - |tag: QT-02",
                fix: "`probe: S-02`",
            },
            Case {
                number: "a key in both places",
                from: "    probe: S-02\n",
                to: "    probe: S-02\n    location: basin 2\n",
                class: Error,
                code: "given-in-both-places",
                mark: "location: |basin 2",
                fix: "remove it here",
            },
            Case {
                number: "the probe contradicts the roster",
                from: "probe: S-02",
                to: "probe: {serial: S-02, reference: calomel saturated}",
                class: Error,
                code: "probe-contradicts-roster",
                mark: "reference: |calomel",
                fix: "the one that is wrong",
            },
            Case {
                number: "the quantity contradicts the roster",
                from: "    probe: S-02\n",
                to: "    probe: S-02\n    quantity: redox\n",
                class: Error,
                code: "quantity-contradicts-roster",
                mark: "quantity: |redox",
                fix: "correct the roster",
            },
            Case {
                number: "a new loop that the roster does not know",
                from: "tag: QT-09\n    probe: S-09\n",
                to: "tag: NEW-1\n    quantity: pH\n    probe: N-1\n",
                class: Acceptable,
                code: "tag-not-in-roster",
                mark: "tag: |NEW-1",
                fix: "QT-09, QT-10), or add the new loop",
            },
            Case {
                number: "kit and standards",
                from: "  kit: ../kit.yaml\n",
                to: "  kit: ../kit.yaml\n  standards: {B7: {buffer: phosphate}}\n",
                class: Error,
                code: "given-in-both-places",
                mark: "standards: |{B7",
                fix: "keep one",
            },
            Case {
                number: "a misspelt site",
                from: "site: works",
                to: "site: work",
                class: Acceptable,
                code: "site-misspelt",
                mark: "site: |work",
                fix: "write `works`",
            },
            Case {
                number: "101 a path that climbs",
                from: "kit: ../kit.yaml",
                to: "kit: ../../secret/kit.yaml",
                class: Error,
                code: "path-outside",
                mark: "kit: |../../secret",
                fix: "copy the file",
            },
            Case {
                number: "101 a web address",
                from: "kit: ../kit.yaml",
                to: "kit: https://example.com/kit.yaml",
                class: Error,
                code: "path-form",
                mark: "kit: |https",
                fix: "relative",
            },
            Case {
                number: "101 an absolute path",
                from: "kit: ../kit.yaml",
                to: "kit: /etc/kit.yaml",
                class: Error,
                code: "path-form",
                mark: "kit: |/etc",
                fix: "relative",
            },
            Case {
                number: "101 a home path",
                from: "kit: ../kit.yaml",
                to: "kit: ~/kit.yaml",
                class: Error,
                code: "path-form",
                mark: "kit: |~",
                fix: "relative",
            },
            Case {
                number: "a client file as the kit",
                from: "kit: ../kit.yaml",
                to: "kit: ../clients/harrow.yaml",
                class: Error,
                code: "wrong-kind-of-file",
                mark: "kit: |../clients",
                fix: "name the kit file",
            },
        ],
    );
}
