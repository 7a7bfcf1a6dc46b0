//! A document as one self-contained HTML page.
