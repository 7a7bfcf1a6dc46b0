//! Documents that replace others, when runs are killed at any instant or stand beside each other: no number is used twice, the
//! chain never forks, nothing is replaced by two documents, no half document is seen, and the next run finishes.

mod registers;

use registers::{command, err, files, halfcell, lines, round, sound};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant, SystemTime};

/// Times that a run is killed; `HALFCELL_KILLS` sets another number.
fn kills() -> usize {
    std::env::var("HALFCELL_KILLS").ok().and_then(|text| text.parse().ok()).unwrap_or(24)
}

/// Times after which a new register is begun.
const KILLS_OF_A_REGISTER: usize = 6;
/// Visits of a register, three documents each.
const VISITS: usize = 3;

const ISSUE: [&str; 7] = ["issue", ".", "--quiet", "--out", "../done", "--register", "../register"];
const AMEND: [&str; 12] = [
    "issue",
    ".",
    "--quiet",
    "--out",
    "../done",
    "--register",
    "../register",
    "--amend",
    "--reason",
    "misread",
    "--by",
    "A. Name",
];

const REJUDGE: [&str; 12] = [
    "rejudge",
    "--quiet",
    "--out",
    "../done",
    "--register",
    "../register",
    "--limits",
    "../new.yaml",
    "--issue",
    "--reason=stricter",
    "--by",
    "A. Name",
];

/// Limits that no visit was judged by before.
fn limits(work: &Path, revision: usize) {
    let text = format!(
        "limits: {{name: stricter, revision: {revision}}}\nrequirements: plain\ndecision: simple\npH:\n  slope: {{fail_below: \
         {} %}}\n",
        80 + revision
    );
    std::fs::write(work.join("new.yaml"), text).unwrap();
}

fn places(work: &Path) -> [PathBuf; 3] {
    ["register", "done", "visits"].map(|name| work.join(name))
}

/// Numbers from 0 to 1 without order.
struct Chance(u64);

impl Chance {
    fn of_now() -> Chance {
        Chance(SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap().as_nanos() as u64 | 1)
    }

    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// The same visits with another potential in one buffer.
fn corrected(visits: &Path, slope_mv: f64) {
    for count in 0..VISITS {
        let text = registers::visit(&format!("V-0-{count}"), &format!("2010-01-{:02}", 1 + count), slope_mv);
        std::fs::write(visits.join(format!("v-{count}.yaml")), text).unwrap();
    }
}

/// Nothing is replaced by two documents, what replaces names the same first original, and each line of descent is whole.
/// Gives the documents that nothing replaces.
fn descended(register: &Path) -> Vec<String> {
    let (mut followers, mut originals): (BTreeMap<String, String>, BTreeMap<String, String>) = Default::default();
    for text in lines(register) {
        let line: Value = serde_json::from_str(&text).unwrap();
        let text = |key: &str| line[key].as_str().map(str::to_owned);
        if line["line"] != "opened" {
            continue;
        }
        let number = text("number").unwrap();
        let Some(predecessor) = text("predecessor") else {
            assert_eq!(line["kind"], "original", "{number}");
            originals.insert(number.clone(), number);
            continue;
        };
        let original =
            originals.get(&predecessor).unwrap_or_else(|| panic!("{number} replaces an unknown {predecessor}"));
        assert_eq!(text("original").as_ref(), Some(original), "{number}");
        originals.insert(number.clone(), original.clone());
        let before = followers.insert(predecessor.clone(), number.clone());
        assert_eq!(before, None, "{predecessor} is replaced by two documents, one of them {number}");
    }
    originals.into_keys().filter(|number| !followers.contains_key(number)).collect()
}

fn run(arguments: &[&str], folder: &Path) -> Child {
    command(arguments, folder).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap()
}

fn killed_after(arguments: &[&str], folder: &Path, instant: Duration) {
    let mut run = run(arguments, folder);
    std::thread::sleep(instant);
    run.kill().unwrap();
    run.wait().unwrap();
}

/// A register with the visits issued, and the time that amending them takes.
fn begun(work: &Path) -> Duration {
    let [_, _, visits] = places(work);
    round(&visits, 0, VISITS);
    assert!(halfcell(&ISSUE, &visits).status.success());
    corrected(&visits, 159.5);
    let started = Instant::now();
    let amended = halfcell(&AMEND, &visits);
    assert!(amended.status.success(), "{}", err(&amended));
    started.elapsed()
}

#[test]
fn an_amendment_killed_at_any_instant_is_finished_by_the_next_run() {
    let mut chance = Chance::of_now();
    let mut open = 0;
    for first in (0..kills()).step_by(KILLS_OF_A_REGISTER) {
        let work = tempfile::tempdir().unwrap();
        let [register, done, visits] = places(work.path());
        let whole = begun(work.path());
        let mut others = 0;
        for number in 1..=KILLS_OF_A_REGISTER.min(kills() - first) {
            let told = format!("kill {} with {}", first + number, chance.0);
            corrected(&visits, 159.5 - 0.5 * number as f64);
            killed_after(&AMEND, &visits, whole.mul_f64(1.1 * chance.next()));
            open += usize::from(registers::chained(&register).values().any(Option::is_none));
            descended(&register);
            let left = files(&done);
            if number.is_multiple_of(2) {
                // The corrected files may be gone: what was opened is finished from the archive.
                let other = work.path().join("other");
                round(&other, 100 + number, 1);
                let next = halfcell(&ISSUE, &other);
                assert!(next.status.success(), "{told}: {}", err(&next));
                others += 1;
                sound(&register, &done);
            }
            let next = halfcell(&AMEND, &visits);
            assert!(next.status.success(), "{told}: {}", err(&next));
            let now = files(&done);
            for (name, bytes) in left.iter().filter(|(name, _)| !name.starts_with('.')) {
                assert!(now[name] == *bytes, "{told}: {name} was half written");
            }
            assert_eq!(sound(&register, &done), 3 * (VISITS * (number + 2) + others), "{told}");
            assert_eq!(descended(&register).len(), 3 * (VISITS + others), "{told}");
        }
    }
    eprintln!("{} kills, {open} of them between opened and issued", kills());
}

#[test]
fn a_re_evaluation_killed_at_any_instant_is_finished_by_the_next_run() {
    let mut chance = Chance::of_now();
    let mut open = 0;
    for first in (0..kills()).step_by(KILLS_OF_A_REGISTER) {
        let work = tempfile::tempdir().unwrap();
        let [register, done, visits] = places(work.path());
        round(&visits, 0, VISITS);
        assert!(halfcell(&ISSUE, &visits).status.success());
        limits(work.path(), 0);
        let started = Instant::now();
        let whole = halfcell(&REJUDGE, &visits);
        assert!(whole.status.success(), "{}", err(&whole));
        let whole = started.elapsed();
        let of_a_run = sound(&register, &done) - 3 * VISITS;
        assert!(of_a_run >= 2 * VISITS, "{of_a_run}");
        for number in 1..=KILLS_OF_A_REGISTER.min(kills() - first) {
            let told = format!("kill {} with {}", first + number, chance.0);
            limits(work.path(), number);
            killed_after(&REJUDGE, &visits, whole.mul_f64(1.1 * chance.next()));
            open += usize::from(registers::chained(&register).values().any(Option::is_none));
            descended(&register);
            let left = files(&done);
            // What was begun is finished whoever comes next, and by other limits it is not.
            let next = halfcell(&REJUDGE, &visits);
            assert!(next.status.success(), "{told}: {}", err(&next));
            let now = files(&done);
            for (name, bytes) in left.iter().filter(|(name, _)| !name.starts_with('.')) {
                assert!(now[name] == *bytes, "{told}: {name} was half written");
            }
            assert_eq!(sound(&register, &done), 3 * VISITS + of_a_run * (number + 1), "{told}");
            assert_eq!(descended(&register).len(), 3 * VISITS, "{told}");
        }
    }
    eprintln!("{} kills of a re-evaluation, {open} of them between opened and issued", kills());
}

#[test]
fn re_evaluations_beside_amendments_never_replace_one_document_twice() {
    for _ in 0..3 {
        let work = tempfile::tempdir().unwrap();
        let [register, done, visits] = places(work.path());
        begun(work.path());
        limits(work.path(), 5);
        corrected(&visits, 158.0);
        let other = work.path().join("other");
        round(&other, 50, 3);
        let runs = [run(&REJUDGE, &visits), run(&AMEND, &visits), run(&REJUDGE, &visits), run(&ISSUE, &other)];
        for run in runs {
            let ended = run.wait_with_output().unwrap();
            // Who comes second to a document that was replaced meanwhile may be refused, never more.
            assert!(matches!(ended.status.code(), Some(0 | 1)), "{}", err(&ended));
        }
        sound(&register, &done);
        assert_eq!(descended(&register).len(), 3 * (VISITS + 3));
    }
}

#[test]
fn amendments_beside_each_other_never_replace_one_document_twice() {
    for _ in 0..3 {
        let work = tempfile::tempdir().unwrap();
        let [register, done, _] = places(work.path());
        begun(work.path());
        let folders = ["a", "b", "c"].map(|name| work.path().join(name));
        for (folder, slope) in folders.iter().zip([158.0, 157.0, 158.0]) {
            round(folder, 0, 0);
            corrected(folder, slope);
        }
        let other = work.path().join("other");
        round(&other, 50, 3);
        let mut runs: Vec<Child> = folders.iter().map(|folder| run(&AMEND, folder)).collect();
        runs.push(run(&ISSUE, &other));
        for run in runs {
            let ended = run.wait_with_output().unwrap();
            // Who comes second to a document that was replaced meanwhile may be refused, never more.
            assert!(matches!(ended.status.code(), Some(0 | 1)), "{}", err(&ended));
        }
        let issued = sound(&register, &done);
        assert!(issued >= 3 * (3 * VISITS + 3), "{issued}");
        assert_eq!(descended(&register).len(), 3 * (VISITS + 3));
    }
}
