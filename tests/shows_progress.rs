//! A long run shows on a terminal how far it is, tears no line of what is printed, and leaves nothing of it behind; in pipes,
//! logs and CI there is nothing of it at all. The visits are those of the benchmark of the register.

#[path = "speed/visits.rs"]
mod visits;

use std::path::Path;
use std::process::{Command, Output};

const VISITS: usize = 72;

fn issue(more: &str) -> String {
    format!("issue 2023 2024 2025 --issued 2026-01-05T09:00Z --out done{more}")
}

/// Runs the program in a terminal of its own; none where the system has no `script`.
fn in_terminal(arguments: &str, folder: &Path, variables: &[(&str, &str)]) -> Option<String> {
    let line = format!("stty cols 160; '{}' {arguments}", env!("CARGO_BIN_EXE_halfcell"));
    let mut command = Command::new("script");
    command.args(["-qec", &line, "/dev/null"]).current_dir(folder).env_remove("CI").env("TERM", "xterm");
    command.envs(variables.iter().copied()).stdin(std::process::Stdio::null());
    match command.output() {
        Ok(Output { status, stdout, .. }) if status.success() => Some(String::from_utf8(stdout).unwrap()),
        Ok(failed) => panic!("{}", String::from_utf8_lossy(&failed.stdout)),
        Err(error) => {
            assert!(std::env::var_os("CI").is_none() || !cfg!(target_os = "linux"), "no `script` here: {error}");
            eprintln!("no `script` here: progress on a terminal was not tried ({error})");
            None
        }
    }
}

/// Both streams, as they come through pipes.
fn in_pipes(arguments: &str, folder: &Path) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfcell"));
    let run =
        command.args(arguments.split(' ')).current_dir(folder).env_remove("CI").env("TERM", "xterm").output().unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    String::from_utf8(run.stdout).unwrap() + &String::from_utf8(run.stderr).unwrap()
}

/// What stands on the screen at the end, line by line, with everything that was ever written to a line and taken away.
fn screen(text: &str) -> (Vec<String>, Vec<String>) {
    let (mut lines, mut gone, mut row, mut column) = (vec![Vec::<char>::new()], Vec::new(), 0_usize, 0_usize);
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '\r' => column = 0,
            '\n' => {
                row += 1;
                if row == lines.len() {
                    lines.push(Vec::new());
                }
            }
            '\x1b' => {
                assert_eq!(letters.next(), Some('['), "only what moves and clears");
                let mut count = String::new();
                let end = loop {
                    match letters.next().unwrap() {
                        digit if digit.is_ascii_digit() || "?;".contains(digit) => count.push(digit),
                        end => break end,
                    }
                };
                let count = count.parse().unwrap_or(1);
                match end {
                    'A' => row -= count.min(row),
                    'B' => row += count,
                    'K' => gone.push(std::mem::take(&mut lines[row]).into_iter().collect()),
                    'J' => lines.truncate(row + 1),
                    _ => {}
                }
            }
            _ => {
                let length = lines[row].len().max(column + 1);
                lines[row].resize(length, ' ');
                lines[row][column] = letter;
                column += 1;
            }
        }
    }
    let lines = lines.into_iter().map(|line| String::from_iter(line).trim_end().to_owned()).collect();
    (lines, gone)
}

fn sorted<'t>(lines: impl Iterator<Item = &'t str>) -> Vec<String> {
    let mut lines: Vec<String> = lines.map(str::trim_end).filter(|line| !line.is_empty()).map(str::to_owned).collect();
    lines.sort();
    lines
}

#[test]
fn progress_is_for_who_watches_and_tears_nothing() {
    let work = tempfile::tempdir().unwrap();
    visits::write(work.path(), VISITS, 11);
    let piped = in_pipes(&issue(""), work.path());
    assert!(!piped.contains('\x1b') && !piped.contains(" left"), "{piped}");
    assert!(piped.matches("issued  done/").count() >= VISITS, "{piped}");
    std::fs::rename(work.path().join("done"), work.path().join("first")).unwrap();
    let Some(seen) = in_terminal(&issue(""), work.path(), &[]) else { return };
    let (lines, gone) = screen(&seen);
    let plain = sorted(piped.lines());
    assert_eq!(sorted(lines.iter().map(String::as_str)), plain, "every line whole, nothing else left");
    let shown: Vec<&String> = gone.iter().filter(|line| line.contains(" of 72 visits")).collect();
    assert!(shown.iter().any(|line| line.starts_with("issue  [=") && line.contains(" left, about ")), "{gone:#?}");
    for (more, variables) in
        [(" --quiet", &[][..]), (" --format json", &[]), ("", &[("CI", "true")]), ("", &[("TERM", "dumb")])]
    {
        let seen = in_terminal(&issue(more), work.path(), variables).unwrap();
        assert!(!seen.contains(" of 72 visits") && !seen.contains("\x1b["), "{more} {variables:?}: {seen}");
    }
}

#[test]
fn what_fails_is_counted_while_it_runs() {
    let work = tempfile::tempdir().unwrap();
    visits::write(work.path(), VISITS, 11);
    for year in ["2023", "2024", "2025"] {
        for entry in std::fs::read_dir(work.path().join(year)).unwrap() {
            let path = entry.unwrap().path();
            let text = std::fs::read_to_string(&path).unwrap();
            std::fs::write(&path, text.replace("in: R1, mv: 2", "in: R1, mv: 2,")).unwrap();
        }
    }
    let run = Command::new("script").arg("--version").output();
    if run.is_err() {
        eprintln!("no `script` here: failures on a terminal were not tried");
        return;
    }
    let line = format!("'{}' check 2023 2024 2025 --brief", env!("CARGO_BIN_EXE_halfcell"));
    let mut command = Command::new("script");
    command.args(["-qec", &line, "/dev/null"]).current_dir(work.path()).env_remove("CI").env("TERM", "xterm");
    let seen = String::from_utf8(command.output().unwrap().stdout).unwrap();
    let (lines, gone) = screen(&seen);
    assert!(lines.iter().any(|line| line.starts_with("72 visits checked, ")), "{lines:#?}");
    assert!(gone.iter().any(|line| line.contains(" failed, ")), "{gone:#?}");
}

#[test]
fn the_same_seed_gives_the_same_visits_in_four_languages() {
    let folders = [(); 2].map(|()| tempfile::tempdir().unwrap());
    folders.iter().for_each(|folder| drop(visits::write(folder.path(), 40, 3)));
    let text = |folder: &tempfile::TempDir, name: &str| std::fs::read_to_string(folder.path().join(name)).unwrap();
    for entry in std::fs::read_dir(folders[0].path().join("2024")).unwrap() {
        let name = format!("2024/{}", entry.unwrap().file_name().to_string_lossy());
        assert_eq!(text(&folders[0], &name), text(&folders[1], &name));
    }
    let clients = std::fs::read_dir(folders[0].path().join("clients")).unwrap();
    let all: String = clients.map(|entry| std::fs::read_to_string(entry.unwrap().path()).unwrap()).collect();
    assert!(["English", "German", "French", "Spanish"].iter().all(|it| all.contains(&format!("language: {it}"))));
}
