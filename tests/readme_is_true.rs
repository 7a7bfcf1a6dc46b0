//! README's listings are valid files, its commands run, its lists of words are those of the program.

use halfcell::reference::buffers::Buffer;
use halfcell::reference::electrodes::ReferenceElectrode;
use halfcell::visit::RemedyKind;
use std::path::Path;
use std::process::Command;

fn readme() -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap()
}

/// Fenced blocks of a kind.
fn blocks(readme: &str, kind: &str) -> Vec<String> {
    let opening = format!("\n```{kind}\n");
    readme.split(&opening).skip(1).map(|rest| rest.split("\n```").next().unwrap().to_owned()).collect()
}

/// README's five files in one folder, each under the name in its first line.
fn listed_files() -> (tempfile::TempDir, usize) {
    let folder = tempfile::tempdir().unwrap();
    let mut written = 0;
    for block in blocks(&readme(), "yaml") {
        let name = block.lines().next().unwrap().trim_start_matches("# ").to_owned();
        assert!(name.ends_with(".yaml"), "a listing begins with its file's name: {name}");
        std::fs::write(folder.path().join(name), block + "\n").unwrap();
        written += 1;
    }
    (folder, written)
}

fn halfcell(arguments: &[&str], folder: &Path) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_halfcell")).args(arguments).current_dir(folder).output().unwrap()
}

#[test]
fn the_visit_shown_whole_is_issued() {
    let (folder, written) = listed_files();
    assert_eq!(written, 5);
    let issued = halfcell(&["issue", ".", "--out", "done"], folder.path());
    let told = String::from_utf8_lossy(&issued.stderr).into_owned();
    assert!(issued.status.success(), "{told}");
    assert!(!told.contains("error["), "{told}");
    assert!(folder.path().join("done/HM-2026-081-AT-170.pdf").exists());
    assert!(folder.path().join("done/HM-2026-081-AT-171.html").exists());
}

#[test]
fn the_other_files_shown_serve_a_visit() {
    let (folder, _) = listed_files();
    let visit = "\
visit:
  number: HM-2026-090
  started: 2026-10-20T08:40+01:00
  client: client.yaml
  site: intake
  kit: kit.yaml
  limits: limits.yaml
  technicians: [N. Tamberlow]
loops:
  - tag: AT-101
    quantity: pH
    probe: G12-5501
    as_found:
      readings:
        - { in: B7, mv: -9.2, temperature: 15.1, shown: 6.91 }
        - { in: B4, mv: 154.1, temperature: 15.2, shown: 4.01 }
        - { in: B10, mv: -185.8, temperature: 15.2, shown: 10.11 }
    adjusted: no
    outcome: returned to service
";
    std::fs::remove_file(folder.path().join("visit.yaml")).unwrap();
    std::fs::write(folder.path().join("v.yaml"), visit).unwrap();
    let checked = halfcell(&["check", "--format", "json", "v.yaml"], folder.path());
    assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stderr));
    let record: serde_json::Value = serde_json::from_slice(&checked.stdout).unwrap();
    assert_eq!(record["limits"]["name"], "effluent-ph");
    assert_eq!(record["client"]["name"], "Ebbersand Water");
    assert_eq!(record["loop"]["analyser"]["serial"], "HW20-10433");
    assert_eq!(record["sources"].as_array().unwrap().len(), 5);
}

#[test]
fn the_two_commands_are_there_and_the_first_does_the_main_job() {
    let readme = readme();
    let commands = blocks(&readme, "sh").remove(0);
    let commands: Vec<&str> = commands.lines().map(|line| line.split(" #").next().unwrap().trim()).collect();
    assert_eq!(commands.len(), 2, "{commands:?}");
    assert_eq!(commands[1], "cargo test");
    let arguments: Vec<&str> = commands[0].strip_prefix("cargo run --release -- ").unwrap().split(' ').collect();
    let work = tempfile::tempdir().unwrap();
    let out = work.path().join("certificates");
    let folder = out.to_string_lossy().into_owned();
    let arguments: Vec<&str> =
        arguments.into_iter().map(|word| if word == "certificates" { folder.as_str() } else { word }).collect();
    let issued = halfcell(&arguments, Path::new(env!("CARGO_MANIFEST_DIR")));
    assert!(issued.status.success(), "{}", String::from_utf8_lossy(&issued.stderr));
    assert!(std::fs::read_dir(&out).unwrap().count() >= 40);
    assert!(out.join("register/register.jsonl").exists());
}

#[test]
fn a_problem_is_told_as_readme_shows_it() {
    let shown = blocks(&readme(), "text").remove(0);
    let line = shown.lines().nth(1).unwrap().split('|').nth(1).unwrap().trim_start().to_owned();
    let folder = tempfile::tempdir().unwrap();
    let (listed, _) = listed_files();
    let visit = std::fs::read_to_string(listed.path().join("visit.yaml")).unwrap();
    let reading = visit.lines().find(|line| line.contains("- {in: B7, mv: -21.6")).unwrap();
    let bad = visit.replace(reading, &format!("        {line}"));
    std::fs::write(folder.path().join("v.yaml"), bad).unwrap();
    let told = String::from_utf8(halfcell(&["check", "v.yaml"], folder.path()).stderr).unwrap();
    for part in shown.lines().skip(3) {
        assert!(told.contains(part.trim_end()), "«{part}» is not in\n{told}");
    }
}

#[test]
fn every_word_of_the_program_is_listed() {
    let readme = readme().replace('\n', " ");
    for (word, _) in RemedyKind::WORDS {
        assert!(readme.contains(&format!("`{word}`")), "remedy {word}");
    }
    for buffer in Buffer::ALL {
        assert!(readme.contains(&format!("`{}`", buffer.name())), "buffer {}", buffer.name());
    }
    for electrode in ReferenceElectrode::ALL {
        assert!(readme.contains(&format!("`{}`", electrode.name())), "electrode {}", electrode.name());
    }
}

#[test]
fn every_example_is_in_the_table_and_every_row_is_a_file() {
    let readme = readme();
    let visits = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/visits");
    let files = std::fs::read_dir(&visits).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let files: Vec<String> = files.collect();
    for file in &files {
        assert!(readme.contains(&format!("| `{file}` |")), "{file} is not in README's table");
    }
    assert_eq!(readme.matches("| `20").count(), files.len());
}
