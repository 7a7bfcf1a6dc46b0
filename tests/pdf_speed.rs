//! How long a page takes: run with `cargo test --release --test pdf_speed -- --ignored --nocapture`.

mod sample_document;

use halfcell::paint::pdf::{Press, paint};
use std::time::Instant;

#[test]
#[ignore = "a measurement, not a check"]
fn milliseconds_a_document() {
    let press = Press::new();
    for (name, document) in [
        ("sample", sample_document::sample()),
        ("long", sample_document::long()),
    ] {
        let began = Instant::now();
        let size = paint(&document, &press).len();
        println!(
            "{name}: first {:.2} ms, {size} bytes",
            began.elapsed().as_secs_f64() * 1e3
        );
        let mut best = f64::INFINITY;
        for _ in 0..10 {
            let began = Instant::now();
            for _ in 0..100 {
                std::hint::black_box(paint(std::hint::black_box(&document), &press));
            }
            best = best.min(began.elapsed().as_secs_f64() * 10.0);
        }
        println!("{name}: {best:.3} ms a document when warm");
    }
}
