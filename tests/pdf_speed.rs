//! How long a page takes: run with `cargo test --release --test pdf_speed -- --ignored --nocapture`.

mod sample_document;

use halfcell::paint::pdf::{Press, paint};
use std::time::Duration;

#[test]
#[ignore = "a measurement, not a check"]
fn milliseconds_a_document() {
    let press = Press::new();
    for (name, document) in [("sample", sample_document::sample()), ("long", sample_document::long())] {
        let began = processor_time();
        let size = paint(&document, &press).len();
        println!("{name}: first {:?}, {size} bytes", processor_time() - began);
        let run = |_| {
            let began = processor_time();
            for _ in 0..50 {
                std::hint::black_box(paint(std::hint::black_box(&document), &press));
            }
            (processor_time() - began) / 50
        };
        let best = (0..10).map(run).min().unwrap_or_default();
        println!("{name}: {best:?} a document when warm");
    }
}

/// Time that this thread has had a processor: what else runs on the machine does not count. Linux only.
fn processor_time() -> Duration {
    let times = std::fs::read_to_string("/proc/thread-self/schedstat").expect("measured on Linux");
    let nanoseconds = times.split(' ').next().and_then(|time| time.parse().ok());
    Duration::from_nanos(nanoseconds.expect("the first field is a number"))
}
