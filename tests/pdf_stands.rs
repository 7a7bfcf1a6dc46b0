//! The PDF stands: its bytes, its text and its pages, judged by tools that share no code with the painter.

mod sample_document;

use halfcell::paint::pdf::{Press, paint};

#[test]
fn write() {
    let press = Press::new();
    for (name, document) in [
        ("sample", sample_document::sample()),
        ("draft", sample_document::draft()),
        ("long", sample_document::long()),
    ] {
        let bytes = paint(&document, &press);
        println!("{name} {}", bytes.len());
        std::fs::write(std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.pdf")), bytes).unwrap();
    }
}
