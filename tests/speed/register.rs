//! Time, memory and disk of a register as it grows: `cargo bench --bench register [-- VISITS…]`.
//!
//! Writes the visits of an invented office, runs the program on them and prints the table of DEVELOPERS.md. Fails where a
//! run takes more than 150 MB of memory: that a busy machine cannot excuse. `HALFCELL_BENCH=FOLDER` keeps what was written.

#[path = "visits.rs"]
mod visits;

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};
use std::time::Instant;
use visits::Office;

/// Visits where none are asked for.
const VISITS: [usize; 3] = [1000, 3000, 10_000];
/// Most memory that a run may take, MB.
const MOST_MB: f64 = 150.0;

/// What a run took.
struct Taken {
    seconds: f64,
    processor_seconds: f64,
    memory_mb: f64,
}

fn main() -> ExitCode {
    let asked: Vec<usize> = std::env::args().skip(1).filter_map(|argument| argument.parse().ok()).collect();
    let asked = if asked.is_empty() { VISITS.to_vec() } else { asked };
    // Not where temporary files stand: that is memory on many systems, and nothing waits for a disk there.
    let folder = std::env::var_os("HALFCELL_BENCH").map_or_else(
        || tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).map(Folder::Passing),
        |folder| Ok(Folder::Kept(folder.into())),
    );
    let folder = folder.expect("there is a folder to write to");
    println!("| visits | command | s | ms a visit | processor s | memory MB | files MB |");
    println!("|---|---|---|---|---|---|---|");
    let mut too_much = false;
    for count in asked {
        let work = folder.path().join(count.to_string());
        std::fs::create_dir_all(&work).expect("a folder can be made");
        let office = visits::write(&work, count, 5);
        for (name, arguments) in commands(&office) {
            if !has(&arguments[0]) {
                continue;
            }
            let taken = run(&work, &arguments);
            let files = ["certificates", "again", "dossier"].iter().map(|name| bytes(&work.join(name))).sum::<u64>();
            println!(
                "| {count} | {name} | {:.1} | {:.2} | {:.1} | {:.0} | {:.0} |",
                taken.seconds,
                1000.0 * taken.seconds / count as f64,
                taken.processor_seconds,
                taken.memory_mb,
                files as f64 / 1e6
            );
            too_much |= taken.memory_mb > MOST_MB;
        }
    }
    if too_much {
        eprintln!("a run took more than {MOST_MB} MB of memory");
        return ExitCode::FAILURE;
    }
    ExitCode::SUCCESS
}

enum Folder {
    Kept(PathBuf),
    Passing(tempfile::TempDir),
}

impl Folder {
    fn path(&self) -> &Path {
        match self {
            Folder::Kept(path) => path,
            Folder::Passing(folder) => folder.path(),
        }
    }
}

/// What an office does with a register, in order.
fn commands(office: &Office) -> Vec<(&'static str, Vec<String>)> {
    let of = |words: &str| words.split_whitespace().map(str::to_owned).collect::<Vec<String>>();
    let folders = office.folders.iter().map(|folder| folder.display().to_string());
    let issue = || [of("issue --quiet --brief"), folders.clone().collect()].concat();
    let stricter = office.stricter.display().to_string();
    let rejudge = |more: &[&str]| {
        let year = of("rejudge --quiet --from 2025-01-01 --to 2025-12-31 --limits");
        [year, vec![stricter.clone()], more.iter().map(|&word| word.to_owned()).collect()].concat()
    };
    vec![
        ("check all", [of("check --quiet --brief"), folders.clone().collect()].concat()),
        ("issue all", issue()),
        ("issue all again", issue()),
        ("re-evaluate a year", rejudge(&["--issue", "--reason", "limit raised to 85 %", "--by", "M. Orrisby"])),
        ("verify all", of("verify --quiet certificates")),
        (
            "dossier of a client",
            [of("dossier --quiet --out dossier --client"), vec![office.client.to_owned()]].concat(),
        ),
    ]
}

/// Whether this program has a command.
fn has(command: &str) -> bool {
    let help = Command::new(env!("CARGO_BIN_EXE_halfcell")).arg(command).arg("--help").output();
    help.is_ok_and(|help| help.status.success())
}

/// Runs the program. What it tells stands in a file beside the visits; a run that refuses something is named.
fn run(work: &Path, arguments: &[String]) -> Taken {
    let told = std::fs::File::create(work.join(format!("{}.txt", arguments[0]))).expect("a file can be made");
    let begun = Instant::now();
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfcell"));
    command.args(arguments).current_dir(work).stdout(Stdio::null()).stderr(told);
    let child = command.spawn().expect("the program runs");
    let (code, processor_seconds, memory_mb) = waited(child);
    if code != 0 {
        println!("`{}` ended with {code}", arguments[0]);
    }
    Taken { seconds: begun.elapsed().as_secs_f64(), processor_seconds, memory_mb }
}

/// Waits for a child. Gives its exit code, its time on the processors in s and its most memory in MB.
#[cfg(unix)]
fn waited(child: std::process::Child) -> (i32, f64, f64) {
    let mut status = 0;
    // SAFETY: both are written to by the call, and all zeros is a valid value of the second.
    let usage = unsafe {
        let mut usage: libc::rusage = std::mem::zeroed();
        libc::wait4(child.id() as i32, &raw mut status, 0, &raw mut usage);
        usage
    };
    let seconds = |time: libc::timeval| time.tv_sec as f64 + time.tv_usec as f64 / 1e6;
    // Kilobytes, but bytes on a Mac.
    let unit = if cfg!(target_os = "macos") { 1.0 } else { 1024.0 };
    let memory_mb = usage.ru_maxrss as f64 * unit / 1e6;
    (libc::WEXITSTATUS(status), seconds(usage.ru_utime) + seconds(usage.ru_stime), memory_mb)
}

/// Elsewhere only the time of day is known.
#[cfg(not(unix))]
fn waited(mut child: std::process::Child) -> (i32, f64, f64) {
    let code = child.wait().expect("the program ends").code().unwrap_or(-1);
    (code, f64::NAN, f64::NAN)
}

fn bytes(folder: &Path) -> u64 {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    entries
        .map(
            |entry| {
                if entry.path().is_dir() { bytes(&entry.path()) } else { entry.metadata().map_or(0, |it| it.len()) }
            },
        )
        .sum()
}
