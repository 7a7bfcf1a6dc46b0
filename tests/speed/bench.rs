//! Size and speed of a warm batch on one processor: `cargo bench`.
//!
//! Prints per document the time from the text of the visit file to both painted files, apart by step, and the bytes. The
//! project asks for at most 2 ms a visit with one loop and 80 KB a PDF of two pages; nothing is asserted here, since a
//! busy machine would fail a test for no reason.

use halfcell::paint::pdf::Press;
use halfcell::requirements::review;
use halfcell::visit::{Given, open};
use halfcell::{document, issue, paint};
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

/// As in the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// So many that a tick of the clock, 4 ms on some machines, is a small part of them.
const ROUNDS: u32 = 200;

/// Time that this thread has had a processor, so that what else runs on the machine does not count; elsewhere than on
/// Linux the time of day.
fn processor_time(begin: Instant) -> f64 {
    let times = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let nanoseconds = times.split(' ').next().and_then(|time| time.parse::<f64>().ok());
    nanoseconds.map_or_else(|| begin.elapsed().as_secs_f64() * 1e3, |time| time / 1e6)
}

/// Best mean time of a step in ms over several rounds, after a warm-up.
fn timed<T>(mut step: impl FnMut() -> T) -> f64 {
    let begin = Instant::now();
    black_box(step());
    let mut round = || {
        let before = processor_time(begin);
        for _ in 0..ROUNDS {
            black_box(step());
        }
        (processor_time(begin) - before) / f64::from(ROUNDS)
    };
    (0..5).map(|_| round()).fold(f64::INFINITY, f64::min)
}

fn main() {
    let press = Press::new();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/visits");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    println!(
        "{:<44}{:>6}{:>9}{:>9}{:>9}{:>9}{:>9}{:>9}{:>9}",
        "visit", "docs", "read", "review", "compose", "html", "pdf", "ms/doc", "KB/pdf"
    );
    for file in files {
        let given = Given::default();
        let reviewed = review(open(&file, &given));
        let Some(visit) = reviewed.visit.as_ref().filter(|_| !reviewed.records.is_empty()) else {
            println!("{}: not issued", file.display());
            continue;
        };
        let records = issue::numbered(&reviewed, visit, issue::default_issue_time(visit));
        let composed = issue::documents(visit, &reviewed.firm, &records, &press).unwrap();
        let sheets = issue::sheets(&composed, &press);
        let whole = timed(|| {
            let reviewed = review(open(&file, &given));
            let visit = reviewed.visit.as_ref().unwrap();
            let records = issue::numbered(&reviewed, visit, issue::default_issue_time(visit));
            issue::sheets(&issue::documents(visit, &reviewed.firm, &records, &press).unwrap(), &press)
        });
        let read = timed(|| open(&file, &given));
        let both = timed(|| review(open(&file, &given)));
        let compose =
            timed(|| records.records.iter().map(|r| document::certificate(r, &reviewed.firm)).collect::<Vec<_>>());
        let html = timed(|| composed.iter().map(paint::html::paint).collect::<Vec<_>>());
        let pdf = timed(|| composed.iter().map(|document| paint::pdf::paint(document, &press)).collect::<Vec<_>>());
        let bytes = sheets.iter().map(|sheet| sheet.pdf.len()).max().unwrap_or(0);
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        println!(
            "{name:<44}{:>6}{read:>9.3}{:>9.3}{compose:>9.3}{html:>9.3}{pdf:>9.3}{:>9.3}{:>9.1}",
            sheets.len(),
            both - read,
            whole / sheets.len() as f64,
            bytes as f64 / 1024.0,
        );
    }
}
