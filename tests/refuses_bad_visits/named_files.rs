//! The files a visit names, and those that the command line gives.

use crate::base::{Error, Folder, VISIT, class, edit, line_of};
use halfcell::visit::{Concern, Concerns, Given, Opened, open};
use std::path::PathBuf;

const CLIENT: &str = include_str!("client.yaml");
const KIT: &str = include_str!("kit.yaml");
const TEN: &str = include_str!("ten_loops.yaml");

fn limits(name: &str) -> String {
    format!("limits: {{name: {name}, revision: 3, effective: 2026-01-01}}\npH:\n  slope: {{fail_below: 75 %}}\n")
}

/// The ten loops with limits named at every level: `first` is the strongest that is named.
fn bench(first: usize) -> (Folder, PathBuf) {
    let folder = Folder::new();
    for name in ["loop", "visit", "client", "firm", "given"] {
        folder.write(&format!("limits/{name}.yaml"), limits(name));
    }
    let keep = |level: usize, line: &str| {
        if level >= first { line.to_owned() } else { String::new() }
    };
    let own = keep(0, "    limits: ../limits/loop.yaml\n");
    let of_visit = keep(1, "  limits: ../limits/visit.yaml\n");
    let of_client = keep(2, "limits: ../limits/client.yaml\n");
    let of_firm = keep(3, "limits: limits/firm.yaml\n");
    let text = edit(TEN, "    probe: S-02\n", &format!("    probe: S-02\n{own}"));
    let text = edit(&text, "  site: works\n", &format!("  site: works\n{of_visit}"));
    folder.write("clients/harrow.yaml", format!("{CLIENT}{of_client}"));
    folder.write("kit.yaml", KIT);
    folder.write(
        "firm.yaml",
        format!(
            "firm: {{name: Invented Services}}\npeople: {{A. Marsh: {{qualification: field metrologist}}}}\n{of_firm}"
        ),
    );
    let path = folder.write("visits/visit.yaml", text);
    (folder, path)
}

fn limits_of_second(opened: Opened) -> (String, Vec<String>) {
    let told: Vec<_> = opened.problems.iter().map(line_of).collect();
    let visit = opened.visit.unwrap_or_else(|| panic!("{}", told.join("\n")));
    let names = visit.sources.iter().map(|source| source.name.clone()).collect();
    (visit.loops[1].limits.name.clone(), names)
}

#[test]
fn the_strongest_limits_hold() {
    for (first, name) in [(0, "loop"), (1, "visit"), (2, "client"), (3, "firm"), (4, "built-in")] {
        let (_folder, path) = bench(first);
        assert_eq!(limits_of_second(open(&path, &Given::default())).0, name);
    }
    let (folder, path) = bench(0);
    let given = Given { limits: Some(folder.0.join("limits/given.yaml")), ..Given::default() };
    let (name, sources) = limits_of_second(open(&path, &given));
    assert_eq!(name, "given");
    assert_eq!(
        sources,
        ["visit.yaml", "../clients/harrow.yaml", "../kit.yaml", "given.yaml (--limits)", "../firm.yaml"]
    );
}

#[test]
fn sources_are_listed_once_in_their_order() {
    let (_folder, path) = bench(0);
    let (_, sources) = limits_of_second(open(&path, &Given::default()));
    let due = [
        "visit.yaml",
        "../clients/harrow.yaml",
        "../kit.yaml",
        "../limits/visit.yaml",
        "../limits/loop.yaml",
        "../firm.yaml",
    ];
    assert_eq!(sources, due);
}

#[test]
fn a_firm_that_is_given_brings_its_own_limits() {
    let (folder, path) = bench(4);
    folder.write("brand/firm.yaml", "firm: {name: Another Invented Firm}\nlimits: own.yaml\n");
    folder.write("brand/own.yaml", limits("own"));
    let given = Given { firm: Some(folder.0.join("brand/firm.yaml")), ..Given::default() };
    let opened = open(&path, &given);
    assert_eq!(opened.firm.name.as_ref().expect("a name").text, "Another Invented Firm");
    let (name, sources) = limits_of_second(opened);
    assert_eq!(name, "own");
    assert_eq!(sources[3..], ["own.yaml (of --firm)", "firm.yaml (--firm)"]);
}

#[test]
fn the_firm_beside_or_above_is_found() {
    let (_folder, path) = bench(4);
    let opened = open(&path, &Given::default());
    let visit = opened.visit.expect("a visit");
    assert_eq!(opened.firm.name.expect("a name").text, "Invented Services");
    assert_eq!(visit.technicians[0].qualification.as_ref().expect("from the firm").text, "field metrologist");
    let folder = Folder::new();
    folder.write("visits/photos/bulb.jpg", "a photo");
    let lone = open(&folder.write("visits/visit.yaml", VISIT), &Given::default());
    assert_eq!(lone.firm, halfcell::firm::plain());
    assert!(lone.visit.expect("a visit").loops[0].limits.built_in);
}

#[test]
fn a_name_that_is_nearly_one_of_the_firm_is_told() {
    let (folder, path) = bench(4);
    let text = TEN.replace("A. Marsh", "A. Marsch");
    folder.write("visits/visit.yaml", text);
    let problems = open(&path, &Given::default()).problems;
    assert_eq!(problems.iter().map(|it| it.code).collect::<Vec<_>>(), ["person-misspelt"]);
    assert!(problems[0].fix.contains("`A. Marsh`"));
}

#[test]
fn limits_that_come_later_do_not_hold() {
    let (folder, path) = bench(1);
    folder.write("limits/visit.yaml", limits("visit").replace("2026-01-01", "2026-05-01"));
    let problems = open(&path, &Given::default()).problems;
    assert_eq!(problems.len(), 1, "{:?}", problems.iter().map(line_of).collect::<Vec<_>>());
    assert_eq!(
        (problems[0].code, problems[0].place.line, problems[0].acceptable),
        ("limits-not-yet-in-force", 1, true)
    );
    assert!(problems[0].place.file.ends_with("limits/visit.yaml"));
}

#[test]
fn problems_of_all_files_come_in_one_run() {
    let (folder, path) = bench(1);
    folder.write("visits/visit.yaml", TEN.replace("tag: QT-03", "tag: QT-03\n    colour: red"));
    folder.write("clients/harrow.yaml", CLIENT.replace("location: basin 4", "locaton: basin 4"));
    folder.write("kit.yaml", KIT.replace("buffer: phthalate", "buffer: phtalate"));
    let opened = open(&path, &Given::default());
    assert!(opened.visit.is_none());
    let found: Vec<(&str, String)> = opened
        .problems
        .iter()
        .map(|it| (it.code, it.place.file.rsplit('/').next().unwrap_or_default().to_owned()))
        .collect();
    let due = [("unknown-key", "visit.yaml"), ("unknown-key", "harrow.yaml"), ("unknown-buffer", "kit.yaml")];
    assert_eq!(found, due.map(|(code, file)| (code, file.to_owned())));
    assert!(opened.problems.iter().all(|it| !it.excerpt.is_empty()));
}

#[test]
fn a_file_of_another_kind_is_told_what_it_is() {
    let (folder, _) = bench(4);
    for (name, word) in
        [("clients/harrow.yaml", "client"), ("kit.yaml", "kit"), ("limits/firm.yaml", "limits"), ("firm.yaml", "firm")]
    {
        let opened = open(&folder.0.join(name), &Given::default());
        assert!(opened.visit.is_none());
        let problem = &opened.problems[0];
        assert_eq!((opened.problems.len(), problem.code, class(problem)), (1, "not-a-visit", Error));
        assert_eq!((problem.place.line, problem.what.as_str()), (1, format!("this is a {word} file").as_str()));
    }
}

#[test]
fn a_given_file_that_is_missing_is_named() {
    let (folder, path) = bench(4);
    for given in [
        Given { firm: Some(folder.0.join("no.yaml")), ..Given::default() },
        Given { limits: Some(folder.0.join("no.yaml")), ..Given::default() },
    ] {
        let opened = open(&path, &given);
        assert!(opened.visit.is_none());
        let problem = &opened.problems[0];
        assert_eq!((opened.problems.len(), problem.code), (1, "file-unreadable"));
        assert_eq!(problem.place.file, folder.0.join("no.yaml").to_string_lossy());
    }
}

#[test]
fn what_a_loop_accepts_is_known_even_when_the_visit_is_refused() {
    let folder = Folder::new();
    folder.write("visits/photos/bulb.jpg", "a photo");
    let text =
        edit(VISIT, "    photos:", "    accepted: [{code: lot-expired, reason: no other lot in the van}]\n    photos:");
    let text = edit(&text, "mv: 168.4", "mv: 168,4 mV");
    let opened = open(&folder.write("visits/visit.yaml", text), &Given::default());
    assert!(opened.visit.is_none());
    assert_eq!(opened.accepted.len(), 2);
    assert_eq!(opened.accepted[0][0].code.text, "lot-expired");
}

#[test]
fn a_problem_of_a_roster_concerns_its_loop() {
    let (folder, path) = bench(4);
    let client = CLIENT.replace(
        "reference: Ag/AgCl 3 mol/L}\n    process: {usual: [6.5, 7.2]}\n  - tag: QT-03",
        "reference: gel}\n    process: {usual: [6.5, 7.2]}\n  - tag: QT-03",
    );
    assert_ne!(client, CLIENT);
    folder.write("clients/harrow.yaml", client);
    let opened = open(&path, &Given::default());
    assert_eq!(opened.problems.len(), 1, "{:?}", opened.problems);
    let visit = opened.visit.expect("a visit");
    assert_eq!(Concerns::new(&visit).of(&opened.problems[0]), Concern::Loops(vec![1]));
}

#[cfg(unix)]
#[test]
fn a_symbolic_link_that_leads_out_is_refused() {
    let (folder, path) = bench(4);
    let outside = Folder::new();
    let secret = outside.write("kit.yaml", KIT);
    std::fs::remove_file(folder.0.join("kit.yaml")).expect("the kit");
    std::os::unix::fs::symlink(secret, folder.0.join("kit.yaml")).expect("a link");
    let opened = open(&path, &Given::default());
    let problem = &opened.problems[0];
    assert_eq!(
        (opened.problems.len(), problem.code, problem.place.line, problem.place.column),
        (1, "path-outside", 7, 8)
    );
}
