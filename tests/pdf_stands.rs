//! The PDF stands: its bytes, its text and its pages, judged by tools that share no code with the painter.

mod sample_document;

#[test]
fn sample_has_every_block() {
    assert_eq!(sample_document::sample().parts.len(), 2);
    assert!(
        sample_document::long().parts[0].blocks.len()
            > sample_document::sample().parts[0].blocks.len()
    );
}
