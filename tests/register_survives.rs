//! Whatever happens to a run – killed at any instant, beside others, on a full disk, without the right to write – no number is
//! used twice, the chain is whole, no document stands without its line, and the next run finishes what was begun.

mod registers;

use registers::{chained, command, err, files, halfcell, hash, lines, out, round, sound};
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::{Duration, Instant, SystemTime};

/// Times that a run is killed. `HALFCELL_KILLS` sets another number, for a long test at the desk.
fn kills() -> usize {
    std::env::var("HALFCELL_KILLS").ok().and_then(|text| text.parse().ok()).unwrap_or(24)
}

/// Times after which a new register is begun, so that a test of many hundreds does not slow down.
const KILLS_OF_A_REGISTER: usize = 8;

/// Visits of a run that is killed, three documents each.
const VISITS: usize = 4;

const ISSUE: [&str; 7] = ["issue", ".", "--quiet", "--out", "../done", "--register", "../register"];

fn places(work: &Path) -> [PathBuf; 2] {
    [work.join("register"), work.join("done")]
}

/// Numbers from 0 to 1 without order.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

#[test]
fn a_run_killed_at_any_instant_is_finished_by_the_next() {
    let seed = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap().as_nanos() as u64 | 1;
    let mut chance = Chance(seed);
    let mut unfinished = 0;
    for begun in (0..kills()).step_by(KILLS_OF_A_REGISTER) {
        let work = tempfile::tempdir().unwrap();
        let visits = work.path().join("visits");
        round(&visits, 0, VISITS);
        let started = Instant::now();
        assert!(halfcell(&ISSUE, &visits).status.success());
        let whole = started.elapsed();
        for number in begun + 1..=kills().min(begun + KILLS_OF_A_REGISTER) {
            let instant = whole.mul_f64(1.1 * chance.next());
            unfinished += usize::from(killed(work.path(), number, instant, &format!("kill {number}, seed {seed}")));
        }
    }
    eprintln!("{} kills, {unfinished} of them between opened and issued", kills());
}

/// Kills a run and sees that the next makes everything good. Whether it was killed between `opened` and `issued`.
fn killed(work: &Path, number: usize, instant: Duration, told: &str) -> bool {
    let [register, done] = places(work);
    let visits = work.join("visits");
    std::fs::remove_dir_all(&visits).unwrap();
    round(&visits, number, VISITS);
    let mut run = command(&ISSUE, &visits).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    std::thread::sleep(instant);
    run.kill().unwrap();
    run.wait().unwrap();
    let is_open = chained(&register).values().any(Option::is_none);
    let left = files(&done);
    // The working files may be gone: what was opened is finished from the archive.
    let other = work.join("other");
    round(&other, 1000 + number, 1);
    let next = halfcell(&ISSUE, if number.is_multiple_of(2) { &visits } else { &other });
    assert!(next.status.success(), "{told}: {}", err(&next));
    sound(&register, &done);
    let now = files(&done);
    for (name, bytes) in left.iter().filter(|(name, _)| !name.starts_with('.')) {
        assert!(now[name] == *bytes, "{told}: {name} was half written");
    }
    for folder in [&visits, &other] {
        let again = halfcell(&ISSUE, folder);
        assert!(again.status.success(), "{told}: {}", err(&again));
    }
    let runs = number % KILLS_OF_A_REGISTER;
    let runs = if runs == 0 { KILLS_OF_A_REGISTER } else { runs };
    assert_eq!(sound(&register, &done), 3 * (VISITS + runs * (VISITS + 1)), "{told}");
    is_open
}

#[test]
fn runs_beside_each_other_never_fork_the_chain() {
    let work = tempfile::tempdir().unwrap();
    let [register, done] = places(work.path());
    let (same, other) = (work.path().join("same"), work.path().join("other"));
    round(&same, 1, 8);
    round(&other, 2, 8);
    let run = |folder: &Path| command(&ISSUE, folder).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
    let runs = [run(&same), run(&other), run(&same), run(&other)];
    for run in runs {
        let ended = run.wait_with_output().unwrap();
        assert!(ended.status.success(), "{}", err(&ended));
    }
    assert_eq!(sound(&register, &done), 48);
}

#[test]
fn different_visits_of_one_number_beside_each_other_get_it_once() {
    for _ in 0..3 {
        let work = tempfile::tempdir().unwrap();
        let [register, done] = places(work.path());
        let folders = ["a", "b"].map(|name| work.path().join(name));
        for (folder, slope) in folders.iter().zip([160.0, 150.0]) {
            round(folder, 1, 0);
            std::fs::write(folder.join("v.yaml"), registers::visit("V-1", "2026-04-17", slope)).unwrap();
        }
        let runs = folders
            .each_ref()
            .map(|folder| command(&ISSUE, folder).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap());
        let ended = runs.map(|run| run.wait_with_output().unwrap());
        let mut codes = ended.each_ref().map(|ended| ended.status.code().unwrap());
        codes.sort_unstable();
        assert_eq!(codes, [0, 1], "{}{}", err(&ended[0]), err(&ended[1]));
        assert_eq!(sound(&register, &done), 3);
    }
}

#[test]
fn a_torn_last_line_is_told_and_put_aside() {
    let work = tempfile::tempdir().unwrap();
    let [register, done] = places(work.path());
    let visits = work.path().join("visits");
    round(&visits, 1, 1);
    assert!(halfcell(&ISSUE, &visits).status.success());
    let path = register.join("register.jsonl");
    let whole = std::fs::read_to_string(&path).unwrap();
    let torn = &whole[..whole.len() - 40];
    std::fs::write(&path, torn).unwrap();
    let next = halfcell(&["issue", ".", "--out", "../done", "--register", "../register"], &visits);
    assert!(next.status.success(), "{}", err(&next));
    assert!(err(&next).contains("the last line was torn by a crash"), "{}", err(&next));
    assert!(out(&next).contains("finished, left open by a run that broke off  ../done/V-1-0.pdf"), "{}", out(&next));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), whole, "the same line again");
    let aside = std::fs::read_to_string(register.join("register.torn")).unwrap();
    assert!(torn.ends_with(aside.trim_end()));
    assert_eq!(sound(&register, &done), 3);
}

#[test]
fn what_cannot_be_finished_is_void_with_its_reason() {
    let work = tempfile::tempdir().unwrap();
    let [register, done] = places(work.path());
    let visits = work.path().join("visits");
    round(&visits, 1, 1);
    assert!(halfcell(&ISSUE, &visits).status.success());
    // As after a crash: opened, nothing written; and the archive has lost the kit.
    let path = register.join("register.jsonl");
    let opened: String = lines(&register).iter().take(3).map(|line| format!("{line}\n")).collect();
    std::fs::write(&path, opened).unwrap();
    std::fs::remove_dir_all(&done).unwrap();
    let kit = hash(registers::KIT.as_bytes());
    std::fs::remove_file(register.join("archive").join(&kit[..2]).join(&kit)).unwrap();
    round(&visits, 2, 1);
    let next = halfcell(&ISSUE, &visits);
    assert_eq!(next.status.code(), Some(1), "{}", err(&next));
    assert!(err(&next).contains("V-1-0 was left open by a run that broke off and is void now"), "{}", err(&next));
    let void: Vec<String> = lines(&register).into_iter().filter(|line| line.contains("\"line\":\"void\"")).collect();
    assert_eq!(void.len(), 3);
    assert!(void[0].contains("kit.yaml cannot be had from the archive"), "{}", void[0]);
    assert_eq!(files(&done).len(), 6, "the new visit is issued all the same");
    round(&visits, 1, 1);
    let again = halfcell(&ISSUE, &visits);
    assert_eq!(again.status.code(), Some(1));
    assert!(err(&again).contains("error[number-void]"), "{}", err(&again));
}

fn copied(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let there = to.join(path.file_name().unwrap());
        match path.is_dir() {
            true => copied(&path, &there),
            false => drop(std::fs::copy(&path, &there).unwrap()),
        }
    }
}

/// The examples with their histories, logo and limits; the firm beside them, or with limits, logo and a font in a folder of its
/// own, or other limits for all.
#[test]
fn documents_are_finished_from_the_archive_alone() {
    let project = Path::new(env!("CARGO_MANIFEST_DIR"));
    for flags in [&[][..], &["--firm", "head/firm.yaml"], &["--limits", "head/limits/hurdlemere.yaml"]] {
        let work = tempfile::tempdir().unwrap();
        let [register, done] = places(work.path());
        copied(&project.join("examples"), &work.path().join("office"));
        copied(&project.join("examples"), &work.path().join("head"));
        let firm = work.path().join("head/firm.yaml");
        std::fs::copy(project.join("fonts/HalfcellSans-Regular-latin.ttf"), work.path().join("head/own.ttf")).unwrap();
        let text = std::fs::read_to_string(&firm).unwrap() + "fonts: [own.ttf]\n";
        std::fs::write(&firm, text.replace("Hurdlemere Loop Service", "Hurdlemere head office")).unwrap();
        let to = ["--out", "done", "--register", "register"];
        let first = halfcell(&[&["issue", "office/visits", "--quiet"], &to[..], flags].concat(), work.path());
        assert!(first.status.success(), "{}", err(&first));
        let (whole, before) = (lines(&register), files(&done));
        let opened: Vec<&String> = whole.iter().filter(|line| line.contains("\"line\":\"opened\"")).collect();
        assert_eq!((opened.len(), before.len()), (27, 54));
        // As a crash leaves it before anything was painted; and all working files are gone.
        let text: String = opened.iter().map(|line| format!("{line}\n")).collect();
        std::fs::write(register.join("register.jsonl"), text).unwrap();
        for folder in [&done, &work.path().join("office"), &work.path().join("head")] {
            std::fs::remove_dir_all(folder).unwrap();
        }
        let visits = work.path().join("visits");
        round(&visits, 1, 1);
        let next = halfcell(&[&["issue", "visits"], &to[..]].concat(), work.path());
        assert!(next.status.success(), "{}", err(&next));
        assert!(out(&next).contains("3 documents issued, 27 finished"), "{flags:?}: {}", out(&next));
        assert_eq!(sound(&register, &done), 30);
        let now = files(&done);
        assert!(before.iter().all(|(name, bytes)| now[name] == *bytes), "{flags:?}: the same bytes");
    }
}

/// Files up to 20 kB can be written: sources, records and lines, but no PDF.
#[cfg(unix)]
#[test]
fn a_write_that_fails_leaves_no_half_document() {
    let work = tempfile::tempdir().unwrap();
    let [register, done] = places(work.path());
    let visits = work.path().join("visits");
    round(&visits, 1, 2);
    let limited = "trap '' XFSZ; ulimit -f 40; exec \"$0\" \"$@\"";
    let failed = std::process::Command::new("sh")
        .args(["-c", limited, env!("CARGO_BIN_EXE_halfcell")])
        .args(ISSUE)
        .current_dir(&visits)
        .output()
        .unwrap();
    assert_eq!(failed.status.code(), Some(2), "{}", err(&failed));
    assert!(err(&failed).contains("File too large"), "{}", err(&failed));
    assert!(files(&done).keys().all(|name| !name.ends_with(".pdf") && !name.starts_with('.')));
    assert!(chained(&register).values().all(Option::is_none));
    let next = halfcell(&ISSUE, &visits);
    assert!(next.status.success(), "{}", err(&next));
    assert_eq!(sound(&register, &done), 6);
}

/// A small file system of its own, where this user may mount one.
struct SmallDisk(PathBuf);

impl SmallDisk {
    fn mounted(at: PathBuf, size: &str) -> Option<SmallDisk> {
        std::fs::create_dir_all(&at).unwrap();
        let options = format!("size={size}");
        let mount =
            std::process::Command::new("mount").args(["-t", "tmpfs", "-o", &options, "tmpfs"]).arg(&at).output();
        mount.is_ok_and(|done| done.status.success()).then_some(SmallDisk(at))
    }

    fn remount(&self, options: &str) {
        let options = format!("remount,{options}");
        let done = std::process::Command::new("mount").args(["-o", &options]).arg(&self.0).output().unwrap();
        assert!(done.status.success(), "{}", err(&done));
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = std::process::Command::new("umount").arg(&self.0).output();
    }
}

#[test]
fn a_full_disk_is_told_and_made_good_when_there_is_room() {
    let work = tempfile::tempdir().unwrap();
    let visits = work.path().join("visits");
    round(&visits, 1, 6);
    let mut stages = std::collections::BTreeSet::new();
    for size in ["16k", "40k", "120k", "200k", "400k", "700k"] {
        let Some(disk) = SmallDisk::mounted(work.path().join(size), size) else {
            eprintln!("no file system can be mounted here: a full disk was not tried");
            return;
        };
        let [register, done] = places(&disk.0);
        let [at, to] = [&register, &done].map(|path| path.to_string_lossy().into_owned());
        let arguments = ["issue", ".", "--quiet", "--out", &to, "--register", &at];
        let failed = halfcell(&arguments, &visits);
        assert_eq!(failed.status.code(), Some(2), "{size}: {}", err(&failed));
        assert!(err(&failed).contains("No space left on device"), "{size}: {}", err(&failed));
        assert!(files(&done).keys().all(|name| !name.starts_with('.')), "{size}");
        stages.insert((chained(&register).is_empty(), files(&done).is_empty()));
        disk.remount("size=50m");
        let next = halfcell(&arguments, &visits);
        assert!(next.status.success(), "{size}: {}", err(&next));
        assert_eq!(sound(&register, &done), 18, "{size}");
    }
    assert!(stages.len() >= 2, "before and after the lines: {stages:?}");
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_is_told() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    let work = tempfile::tempdir().unwrap();
    let visits = work.path().join("visits");
    round(&visits, 1, 1);
    // Who may do everything is nobody for this test.
    let is_root = std::fs::metadata(work.path()).unwrap().uid() == 0;
    let program = work.path().join("halfcell");
    std::fs::copy(env!("CARGO_BIN_EXE_halfcell"), &program).unwrap();
    let mode = |path: &Path, mode| std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    mode(work.path(), 0o755);
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(&program);
        command.args(arguments).current_dir(&visits);
        if is_root {
            command.uid(65534).gid(65534);
        }
        command.output().unwrap()
    };
    let (closed, open) = (work.path().join("closed"), work.path().join("open"));
    for folder in [&closed, &open] {
        std::fs::create_dir(folder).unwrap();
    }
    mode(&open, 0o777);
    mode(&closed, 0o555);
    let [in_closed, in_open] = [&closed, &open].map(|path| path.to_string_lossy().into_owned());
    let cases = [
        (format!("{in_closed}/register"), format!("{in_open}/done"), "closed/register"),
        (format!("{in_open}/register"), format!("{in_closed}/done"), "closed/done"),
    ];
    for (register, done, told) in &cases {
        let refused = run(&["issue", ".", "--quiet", "--register", register, "--out", done]);
        assert_eq!(refused.status.code(), Some(2), "{}", err(&refused));
        assert!(err(&refused).contains(told), "{}", err(&refused));
        assert!(err(&refused).contains("Permission denied"), "{}", err(&refused));
        assert!(lines(Path::new(register)).is_empty(), "nothing was opened");
        assert!(files(Path::new(done)).is_empty());
    }
    // A register that stands but may not be written.
    assert!(run(&["issue", ".", "--quiet", "--register", &cases[1].0, "--out", &cases[0].1]).status.success());
    let register = Path::new(&cases[1].0);
    let before = std::fs::read(register.join("register.jsonl")).unwrap();
    mode(&register.join("register.jsonl"), 0o444);
    round(&visits, 2, 1);
    let refused = run(&["issue", ".", "--quiet", "--register", &cases[1].0, "--out", &cases[0].1]);
    assert_eq!(refused.status.code(), Some(2), "{}", err(&refused));
    assert_eq!(std::fs::read(register.join("register.jsonl")).unwrap(), before);
}
